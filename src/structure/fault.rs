//! What can be wrong with the statements of a file, as data: names,
//! dimensions, values, statements that do not fit their place.
//!
//! Must not know: the words in which a fault is told.

use crate::base::Origin;
use crate::diagnostic::Slug;
use crate::quantity::Dimension;
use crate::syntax::tree::{Axis, LintAction, Measure, Relation};

/// A fault and, inside a `for`, the turn in which it was met first.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    pub at: Origin,
    pub kind: FaultKind,
    /// `i = 3, j = 2`
    pub turn: Option<String>,
    /// The lets and joints named at the place of a fault of values: the slip
    /// may be in one of them.
    pub reads: Vec<Read>,
}

/// A name that an expression reads, and where it is declared.
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    pub name: String,
    pub declared: Origin,
    /// `None` for a joint.
    pub dimension: Option<Dimension>,
}

/// What a name was wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Wanted {
    Joint,
    Value,
    Case,
    Section,
    Material,
}

/// The known names told beside an unknown one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Near {
    /// All equally near; may be empty.
    Alike(Vec<String>),
    /// Every joint, none of them near.
    All(Vec<String>),
    /// The name is missing in the last turn of a loop alone: `i = 6`.
    PastLastTurn(String),
}

/// What a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Named {
    Joint,
    Let,
    LoopVariable,
    Case,
    Combination,
    Travel,
    Section,
    Material,
}

/// Why a used file could not be taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UseRefusal {
    /// `use "missing.kp"`
    Unreadable(String),
    /// `use "../../other.kp"`
    Outside,
    /// `use "/etc/loads.kp"`
    Absolute,
    /// More files than the limit.
    TooMany,
    /// The files together are larger than the limit.
    TooLarge,
    /// More lets are set than the limit.
    TooManySet,
}

/// Each variant's comment is the smallest input that triggers it.
#[derive(Clone, Debug, PartialEq)]
pub enum FaultKind {
    /// `use "missing.kp"`
    Use { path: String, refusal: UseRefusal },
    /// `use "base.kp" with Q = 1 kN` where no file that it takes in has a let Q;
    /// `file` is `None` for `--set`.
    NoSuchLet { name: String, file: Option<String>, lets: Vec<String>, total: usize, near: Vec<String> },
    /// `use "base.kp" with P = 1 kN` and `use "base.kp"`
    SetTwice { name: String, first: Origin },
    /// `load Z: 1 kN down` with no joint Z
    UnknownName {
        name: String,
        wanted: Wanted,
        /// Known names it may be a slip for, all equally near; of a joint with none so near, all joints, if they
        /// are few.
        near: Near,
    },
    /// `let a = 2 m` and `bar a-B`
    WrongKindOfName { name: String, found: Named, wanted: Wanted, declared: Origin },
    /// `joint A: (0, 0)` twice
    DuplicateName { name: String, what: Named, first: Origin, first_what: Named },
    /// `let a = b` and `let b = a`
    Cycle { chain: Vec<(String, Origin)> },
    /// `bar L[1/2]-B`; without a value where the index is no pure number.
    IndexNotWhole { value: Option<f64> },
    /// `bar L[0-1]-B`
    IndexNegative { value: i64 },
    /// `units m, kN` twice
    DuplicateUnits { first: Origin },
    /// `title "a"` twice
    DuplicateTitle { first: Origin },
    /// `moments cw` and `moments ccw`
    DuplicateMoments { first: Origin },
    /// `figures 3` and `figures 4`
    DuplicateFigures { first: Origin },
    /// `figures 40`
    FiguresOutOfRange { value: f64 },
    /// `units kN, m`
    UnitsOfWrongKind { wanted: Dimension, found: Dimension },
    /// `load A: 5 kilos down`
    UnknownUnit { unit: String, similar: Option<String> },
    /// `load A: 5 ton down`
    AmbiguousTon,
    /// `let p = 5 bar`
    BarAsUnit,
    /// `load A: 5 lb down`
    PoundAsForce,
    /// `load A: 5 kg down`
    MassAsLoad { wanted: Dimension, text: String },
    /// `joint A: (2 kN, 0)`
    WrongDimension { role: &'static str, wanted: Dimension, found: Dimension, text: String },
    /// `let a = 2 m + 3 kN`
    MixedDimensions { left: (Origin, Dimension), right: (Origin, Dimension) },
    /// `joint A: (2, 3)` in a file without `units`
    BareNumber { wanted: Dimension, text: String },
    /// `material steel: E = 29000`
    UnitMissing {
        wanted: Dimension,
        text: String,
        /// The property it is given for.
        property: Option<String>,
        /// The unit it is usually stated in; may be empty.
        unit: String,
    },
    /// `let h = 2` in a file in metres, `joint A: (h, 0)` in one in feet
    PureLetElsewhere { name: String, declared: Origin, here: String, there: String },
    /// `let pi = 3`
    ReservedName { name: String, what: Named },
    /// `moment B: 5 kN*m` where another file states `moments cw`
    TurnUnsaid { text: String, stated: Origin },
    /// `load A: 5 kN @ 30`
    BareAngle { text: String },
    /// `joint A: 3 m`
    VectorWanted { role: &'static str },
    /// `let a = sqrt((1, 2))`
    ScalarWanted { role: &'static str },
    /// `load A: 5 kN`
    DirectionMissing { text: String },
    /// `load A: (3, 4) kN down`
    DirectionTwice,
    /// `load A-B: 5 kN toward C at 1 m`
    TowardWithoutJoint,
    /// `load A: 5 kN @ (0, 0)`
    ZeroDirection,
    /// `let a = 1/0`
    DivisionByZero,
    /// `let a = sqrt(0-1)`
    OutsideDomain { function: &'static str },
    /// `let a = sqrt(2 m)`
    RootOfDimension { found: Dimension, text: String },
    /// `let a = 10^400`
    NotFinite,
    /// `let a = 2 m ^ 0.5`
    PowerNotWhole,
    /// `let a = 6 in 4 ft`
    NeighbourOrder,
    /// `let a = 25%`
    ShareHere,
    /// `let a = min()`
    ArgumentCount { function: &'static str, found: usize },
    /// `let a = (1, 2) m + 3 m`
    ScalarAndVector { vector: Origin, scalar: Origin },
    /// `let a = (1, 2) * (3, 4)`
    VectorProduct,
    /// `let a = span.x` where span is a length
    FieldOfScalar { axis: Axis },
    /// `for i from 0 to 1/2 { }`; without a value where the bound is no pure number.
    BoundNotWhole { value: Option<f64> },
    /// `for i from 0 to 5 by 0 { }`
    StepZero,
    /// `for i from 0 to 1e12 { joint L[i]: (i, 0) }`
    TooManyStatements { limit: usize },
    /// `case wind { joint A: (0, 0) }`
    NotInCase { keyword: &'static str },
    /// `for i from 0 to 1 { units m, kN }`
    NotInBlock { keyword: &'static str },
    /// `bar A-A`
    MemberOnItself { joint: String },
    /// `bar A-B` and `bar B-A`
    DuplicateMember { name: String, first: Origin },
    /// `beam A-B: hinged at C`
    HingedElsewhere { joint: String },
    /// `pin A` and `roller A`
    DuplicateSupport { joint: String, first: Origin },
    /// `section s: A = 2 cm^2, width = 3 cm`
    UnknownProperty { name: String, of: &'static str, known: &'static [&'static str], similar: Option<String> },
    /// `section s: A = 2 cm^2, A = 3 cm^2`
    DuplicateProperty { name: String, first: Origin },
    /// `section s: A = 0-2 cm^2`
    NotPositive { name: String },
    /// `section s: A = rigid`
    NotRigid { name: String },
    /// `load A-C: 1 kN/m down` with no member A-C
    NoSuchMember {
        a: String,
        b: String,
        /// The chain of members that leads straight from one to the other, or that of beams, if there is one.
        way: Vec<String>,
        /// The members that meet each of the two, if they are few.
        met: [Vec<String>; 2],
    },
    /// `load A-B: 5 kN down at 9 m` on a member of 4 m
    PositionOutside { length: f64, value: f64 },
    /// `load A-B: 5 kN/m down from 3 m to 1 m`
    StretchReversed,
    /// `load A-B: 5 kN down`
    PositionMissing { text: String },
    /// `load A: 5 kN down at 2 m`
    ClauseNotForJoint { clause: &'static str },
    /// `load A-B: 5 kN down per run at 2 m`
    ClausesClash { clause: &'static str, with: &'static str },
    /// `weigh A-B` with no weight given for A-B
    NoWeight { member: String, missing: Missing, lacking: Origin },
    /// `heat A-B: 20 K` with no expansion given
    NoExpansion { member: String, lacking: Origin },
    /// `settle B: 2 mm down` where B has no support
    SettleWithoutSupport { joint: String },
    /// `settle B: 2 mm right` on `roller B`, `settle B: 0.01 rad cw` on `pin B`
    SettleNotHeld { joint: String, support: &'static str, freedom: Freedom, stated: Origin },
    /// `settle B: (1, -3) mm` on `roller B`
    SettlePartFree { joint: String, support: &'static str, part: Axis, stated: Origin },
    /// `roller B: along up, lifts off`; the angles in degrees at which its
    /// track may push.
    LiftSideUnsaid { joint: String, sides: [f64; 2] },
    /// `moment A-B-C: 5 kN*m ccw at 4 m` where B, at 4 m, is a hinge
    CoupleAtHinge { joint: String, before: String, after: String, hinge: Origin },
    /// `load A-B: 2 kN/m down per run` where A-B is upright
    NoProjection { chain: String, measure: Measure },
    /// `travel crane: 4 kN, 6 kN along A-B`, or three spacings for two loads
    SpacingCount { loads: usize, spacings: usize },
    /// `travel crane: 4 kN, 6 kN spaced 0-3 m along A-B`
    SpacingNegative,
    /// `travel crane: 4 kN along A-B-A`
    PathDoublesBack { member: String },
    /// `combination a: b` and `combination b: a`
    CombinationCycle { chain: Vec<(String, Origin)> },
    /// `expect reaction B: 2 kN up` where B has no support
    ClaimWithoutSupport { joint: String },
    /// `expect force A: 2 kN tension`
    ClaimPlace { what: &'static str, wanted: &'static str },
    /// `expect force A-B: 2 kN cw`
    ClaimSense { sense: &'static str, what: &'static str, allowed: &'static str },
    /// `expect moment A-B: 2 kN*m tension left` of a level member; or
    /// `sagging` of an upright one.
    ClaimSide { sense: &'static str, member: String, is_level: bool },
    /// `expect reaction A.x: 2 kN up`; `expect force A-B tension: 2 kN compression`
    ClaimSensesDiffer { sense: String, place: &'static str },
    /// `expect reaction A.y >= -2 kN`: the word for what acts the other way, if
    /// there is one.
    ClaimLimitNegative { relation: Relation, opposite: Option<&'static str> },
    /// `expect reaction A <= (2, 3) kN`
    ClaimRelationOfVector,
    /// `expect force A-B: 2 kN tension` with two cases
    ClaimCaseUnsaid { names: Vec<String>, total: usize },
    /// `case a { expect force A-B: 2 kN tension under b }`
    ClaimCaseTwice,
    /// `expect indeterminate 1.5`
    DegreeNotWhole { value: f64 },
    /// `deny nonsense`
    UnknownSlug { slug: String },
    /// `allow no-support`
    NotSwitchable { slug: Slug, action: LintAction },
}

/// What a support leaves free, so that it cannot be imposed there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Freedom {
    Turn,
    Move,
}

/// What a member lacks to have a weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Missing {
    Section,
    Area,
    Material,
    MaterialWeight,
}

impl FaultKind {
    /// The fault of this kind at a place.
    pub fn at(self, at: Origin) -> Fault {
        Fault { at, kind: self, turn: None, reads: Vec::new() }
    }
}
