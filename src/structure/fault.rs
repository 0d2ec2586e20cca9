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
}

/// Each variant's comment is the smallest input that triggers it.
#[derive(Clone, Debug, PartialEq)]
pub enum FaultKind {
    /// `use "missing.kp"`
    Use { at: Origin, path: String, refusal: UseRefusal },
    /// `load Z: 1 kN down` with no joint Z
    UnknownName {
        at: Origin,
        name: String,
        wanted: Wanted,
        /// Known names it may be a slip for, all equally near.
        near: Vec<String>,
    },
    /// `let a = 2 m` and `bar a-B`
    WrongKindOfName { at: Origin, name: String, found: Named, wanted: Wanted, declared: Origin },
    /// `joint A: (0, 0)` twice
    DuplicateName { at: Origin, name: String, what: Named, first: Origin, first_what: Named },
    /// `let a = b` and `let b = a`
    Cycle { chain: Vec<(String, Origin)> },
    /// `bar L[1/2]-B`; without a value where the index is no pure number.
    IndexNotWhole { at: Origin, value: Option<f64> },
    /// `bar L[0-1]-B`
    IndexNegative { at: Origin, value: i64 },
    /// `units m, kN` twice
    DuplicateUnits { at: Origin, first: Origin },
    /// `title "a"` twice
    DuplicateTitle { at: Origin, first: Origin },
    /// `moments cw` and `moments ccw`
    DuplicateMoments { at: Origin, first: Origin },
    /// `figures 3` and `figures 4`
    DuplicateFigures { at: Origin, first: Origin },
    /// `figures 40`
    FiguresOutOfRange { at: Origin, value: f64 },
    /// `units kN, m`
    UnitsOfWrongKind { at: Origin, wanted: Dimension, found: Dimension },
    /// `load A: 5 kilos down`
    UnknownUnit { at: Origin, unit: String, similar: Option<String> },
    /// `load A: 5 ton down`
    AmbiguousTon { at: Origin },
    /// `let p = 5 bar`
    BarAsUnit { at: Origin },
    /// `load A: 5 lb down`
    PoundAsForce { at: Origin },
    /// `load A: 5 kg down`
    MassAsLoad { at: Origin, wanted: Dimension, text: String },
    /// `joint A: (2 kN, 0)`
    WrongDimension { at: Origin, role: &'static str, wanted: Dimension, found: Dimension, text: String },
    /// `let a = 2 m + 3 kN`
    MixedDimensions { at: Origin, left: (Origin, Dimension), right: (Origin, Dimension) },
    /// `joint A: (2, 3)` in a file without `units`
    BareNumber { at: Origin, wanted: Dimension, text: String },
    /// `material steel: E = 29000`
    UnitMissing {
        at: Origin,
        wanted: Dimension,
        text: String,
        /// The property it is given for.
        property: Option<String>,
        /// The unit it is usually stated in; may be empty.
        unit: String,
    },
    /// `let h = 2` in a file in metres, `joint A: (h, 0)` in one in feet
    PureLetElsewhere { at: Origin, name: String, declared: Origin, here: String, there: String },
    /// `let pi = 3`
    ReservedName { at: Origin, name: String, what: Named },
    /// `moment B: 5 kN*m` where another file states `moments cw`
    TurnUnsaid { at: Origin, text: String, stated: Origin },
    /// `load A: 5 kN @ 30`
    BareAngle { at: Origin, text: String },
    /// `joint A: 3 m`
    VectorWanted { at: Origin, role: &'static str },
    /// `let a = sqrt((1, 2))`
    ScalarWanted { at: Origin, role: &'static str },
    /// `load A: 5 kN`
    DirectionMissing { at: Origin, text: String },
    /// `load A: (3, 4) kN down`
    DirectionTwice { at: Origin },
    /// `load A-B: 5 kN toward C at 1 m`
    TowardWithoutJoint { at: Origin },
    /// `load A: 5 kN @ (0, 0)`
    ZeroDirection { at: Origin },
    /// `let a = 1/0`
    DivisionByZero { at: Origin },
    /// `let a = sqrt(0-1)`
    OutsideDomain { at: Origin, function: &'static str },
    /// `let a = sqrt(2 m)`
    RootOfDimension { at: Origin, found: Dimension, text: String },
    /// `let a = 10^400`
    NotFinite { at: Origin },
    /// `let a = 2 m ^ 0.5`
    PowerNotWhole { at: Origin },
    /// `let a = 6 in 4 ft`
    NeighbourOrder { at: Origin },
    /// `let a = 25%`
    ShareHere { at: Origin },
    /// `let a = min()`
    ArgumentCount { at: Origin, function: &'static str, found: usize },
    /// `let a = (1, 2) m + 3 m`
    ScalarAndVector { at: Origin, vector: Origin, scalar: Origin },
    /// `let a = (1, 2) * (3, 4)`
    VectorProduct { at: Origin },
    /// `let a = span.x` where span is a length
    FieldOfScalar { at: Origin, axis: Axis },
    /// `for i from 0 to 1/2 { }`; without a value where the bound is no pure number.
    BoundNotWhole { at: Origin, value: Option<f64> },
    /// `for i from 0 to 5 by 0 { }`
    StepZero { at: Origin },
    /// `for i from 0 to 1e12 { joint L[i]: (i, 0) }`
    TooManyStatements { at: Origin, limit: usize },
    /// `case wind { joint A: (0, 0) }`
    NotInCase { at: Origin, keyword: &'static str },
    /// `for i from 0 to 1 { units m, kN }`
    NotInBlock { at: Origin, keyword: &'static str },
    /// `bar A-A`
    MemberOnItself { at: Origin, joint: String },
    /// `bar A-B` and `bar B-A`
    DuplicateMember { at: Origin, name: String, first: Origin },
    /// `beam A-B: hinged at C`
    HingedElsewhere { at: Origin, joint: String },
    /// `pin A` and `roller A`
    DuplicateSupport { at: Origin, joint: String, first: Origin },
    /// `section s: A = 2 cm^2, width = 3 cm`
    UnknownProperty {
        at: Origin,
        name: String,
        of: &'static str,
        known: &'static [&'static str],
        similar: Option<String>,
    },
    /// `section s: A = 2 cm^2, A = 3 cm^2`
    DuplicateProperty { at: Origin, name: String, first: Origin },
    /// `section s: A = 0-2 cm^2`
    NotPositive { at: Origin, name: String },
    /// `section s: A = rigid`
    NotRigid { at: Origin, name: String },
    /// `load A-C: 1 kN/m down` with no member A-C
    NoSuchMember {
        at: Origin,
        a: String,
        b: String,
        /// The chain of members that leads straight from one to the other, if there is one.
        way: Vec<String>,
    },
    /// `load A-B: 5 kN down at 9 m` on a member of 4 m
    PositionOutside { at: Origin, length: f64, value: f64 },
    /// `load A-B: 5 kN/m down from 3 m to 1 m`
    StretchReversed { at: Origin },
    /// `load A-B: 5 kN down`
    PositionMissing { at: Origin, text: String },
    /// `load A: 5 kN down at 2 m`
    ClauseNotForJoint { at: Origin, clause: &'static str },
    /// `load A-B: 5 kN down per run at 2 m`
    ClausesClash { at: Origin, clause: &'static str, with: &'static str },
    /// `weigh A-B` with no weight given for A-B
    NoWeight { at: Origin, member: String, missing: Missing, lacking: Origin },
    /// `heat A-B: 20 K` with no expansion given
    NoExpansion { at: Origin, member: String, lacking: Origin },
    /// `settle B: 2 mm down` where B has no support
    SettleWithoutSupport { at: Origin, joint: String },
    /// `settle B: 2 mm right` on `roller B`, `settle B: 0.01 rad cw` on `pin B`
    SettleNotHeld { at: Origin, joint: String, support: &'static str, freedom: Freedom, stated: Origin },
    /// `settle B: (1, -3) mm` on `roller B`
    SettlePartFree { at: Origin, joint: String, support: &'static str, part: Axis, stated: Origin },
    /// `roller B: along up, lifts off`; the angles in degrees at which its
    /// track may push.
    LiftSideUnsaid { at: Origin, joint: String, sides: [f64; 2] },
    /// `moment A-B-C: 5 kN*m ccw at 4 m` where B, at 4 m, is a hinge
    CoupleAtHinge { at: Origin, joint: String, before: String, after: String, hinge: Origin },
    /// `load A-B: 2 kN/m down per run` where A-B is upright
    NoProjection { at: Origin, chain: String, measure: Measure },
    /// `travel crane: 4 kN, 6 kN along A-B`, or three spacings for two loads
    SpacingCount { at: Origin, loads: usize, spacings: usize },
    /// `travel crane: 4 kN, 6 kN spaced 0-3 m along A-B`
    SpacingNegative { at: Origin },
    /// `travel crane: 4 kN along A-B-A`
    PathDoublesBack { at: Origin, member: String },
    /// `combo a: b` and `combo b: a`
    ComboCycle { chain: Vec<(String, Origin)> },
    /// `expect reaction B: 2 kN up` where B has no support
    ClaimWithoutSupport { at: Origin, joint: String },
    /// `expect force A: 2 kN tension`
    ClaimPlace { at: Origin, what: &'static str, wanted: &'static str },
    /// `expect force A-B: 2 kN cw`
    ClaimSense { at: Origin, sense: &'static str, what: &'static str, allowed: &'static str },
    /// `expect moment A-B: 2 kN*m tension left` of a level member; or
    /// `sagging` of an upright one.
    ClaimSide { at: Origin, sense: &'static str, member: String, is_level: bool },
    /// `expect reaction A.x: 2 kN up`; `expect force A-B tension: 2 kN compression`
    ClaimSensesDiffer { at: Origin, sense: String, place: &'static str },
    /// `expect reaction A.y >= -2 kN`: the word for what acts the other way, if
    /// there is one.
    ClaimLimitNegative { at: Origin, relation: Relation, opposite: Option<&'static str> },
    /// `expect reaction A <= (2, 3) kN`
    ClaimRelationOfVector { at: Origin },
    /// `expect force A-B: 2 kN tension` with two cases
    ClaimCaseUnsaid { at: Origin, names: Vec<String>, total: usize },
    /// `case a { expect force A-B: 2 kN tension under b }`
    ClaimCaseTwice { at: Origin },
    /// `expect indeterminate 1.5`
    DegreeNotWhole { at: Origin, value: f64 },
    /// `deny nonsense`
    UnknownSlug { at: Origin, slug: String },
    /// `allow no-support`
    NotSwitchable { at: Origin, slug: Slug, action: LintAction },
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
    /// Where it is.
    pub fn place(&self) -> Option<Origin> {
        use FaultKind as F;
        Some(match self {
            F::Cycle { chain } | F::ComboCycle { chain } => return chain.first().map(|(_, at)| *at),
            F::Use { at, .. }
            | F::UnknownName { at, .. }
            | F::WrongKindOfName { at, .. }
            | F::DuplicateName { at, .. }
            | F::IndexNotWhole { at, .. }
            | F::IndexNegative { at, .. }
            | F::DuplicateUnits { at, .. }
            | F::DuplicateTitle { at, .. }
            | F::DuplicateMoments { at, .. }
            | F::DuplicateFigures { at, .. }
            | F::FiguresOutOfRange { at, .. }
            | F::UnitsOfWrongKind { at, .. }
            | F::UnknownUnit { at, .. }
            | F::AmbiguousTon { at }
            | F::BarAsUnit { at }
            | F::ScalarAndVector { at, .. }
            | F::VectorProduct { at }
            | F::PoundAsForce { at }
            | F::MassAsLoad { at, .. }
            | F::WrongDimension { at, .. }
            | F::MixedDimensions { at, .. }
            | F::BareNumber { at, .. }
            | F::BareAngle { at, .. }
            | F::UnitMissing { at, .. }
            | F::PureLetElsewhere { at, .. }
            | F::ReservedName { at, .. }
            | F::TurnUnsaid { at, .. }
            | F::SettlePartFree { at, .. }
            | F::LiftSideUnsaid { at, .. }
            | F::CoupleAtHinge { at, .. }
            | F::NoProjection { at, .. }
            | F::VectorWanted { at, .. }
            | F::ScalarWanted { at, .. }
            | F::DirectionMissing { at, .. }
            | F::DirectionTwice { at }
            | F::TowardWithoutJoint { at }
            | F::ZeroDirection { at }
            | F::DivisionByZero { at }
            | F::OutsideDomain { at, .. }
            | F::RootOfDimension { at, .. }
            | F::NotFinite { at }
            | F::PowerNotWhole { at }
            | F::NeighbourOrder { at }
            | F::ShareHere { at }
            | F::ArgumentCount { at, .. }
            | F::FieldOfScalar { at, .. }
            | F::BoundNotWhole { at, .. }
            | F::StepZero { at }
            | F::TooManyStatements { at, .. }
            | F::NotInCase { at, .. }
            | F::NotInBlock { at, .. }
            | F::MemberOnItself { at, .. }
            | F::DuplicateMember { at, .. }
            | F::HingedElsewhere { at, .. }
            | F::DuplicateSupport { at, .. }
            | F::UnknownProperty { at, .. }
            | F::DuplicateProperty { at, .. }
            | F::NotPositive { at, .. }
            | F::NotRigid { at, .. }
            | F::NoSuchMember { at, .. }
            | F::PositionOutside { at, .. }
            | F::StretchReversed { at }
            | F::PositionMissing { at, .. }
            | F::ClauseNotForJoint { at, .. }
            | F::ClausesClash { at, .. }
            | F::NoWeight { at, .. }
            | F::NoExpansion { at, .. }
            | F::SpacingCount { at, .. }
            | F::SpacingNegative { at }
            | F::PathDoublesBack { at, .. }
            | F::SettleWithoutSupport { at, .. }
            | F::SettleNotHeld { at, .. }
            | F::ClaimWithoutSupport { at, .. }
            | F::ClaimPlace { at, .. }
            | F::ClaimSense { at, .. }
            | F::ClaimSide { at, .. }
            | F::ClaimSensesDiffer { at, .. }
            | F::ClaimLimitNegative { at, .. }
            | F::ClaimRelationOfVector { at }
            | F::ClaimCaseUnsaid { at, .. }
            | F::ClaimCaseTwice { at }
            | F::DegreeNotWhole { at, .. }
            | F::NotSwitchable { at, .. }
            | F::UnknownSlug { at, .. } => *at,
        })
    }
}
