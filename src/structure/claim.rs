//! Claims: what is claimed, and the result it is about, by its name.
//!
//! Must not know: whether a claim is true.

use crate::base::{CaseId, CombinationId, JointId, MemberId, Origin, SupportId, TravelId};
use crate::quantity::{Dimension, NamedUnit, Number};
use crate::syntax::tree::{Cardinal, Relation, Sense, Turn};

#[derive(Clone, Debug)]
pub struct Claim {
    pub kind: ClaimKind,
    pub polarity: Polarity,
    pub origin: Origin,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    Holds,
    /// `expect not`
    IsRefuted,
}

#[derive(Clone, Debug)]
pub enum ClaimKind {
    Determinate,
    Indeterminate(Option<i64>),
    Unstable,
    Value(Box<ValueClaim>),
}

/// A claimed value, in SI units.
#[derive(Clone, Debug)]
pub struct ValueClaim {
    pub subject: ClaimSubject,
    pub relation: Relation,
    /// Of one number the second is zero. A `zero` is within a billionth of the
    /// largest result of its kind.
    pub numbers: [Number; 2],
    pub tolerance: Tolerance,
    /// Half a unit of the last figure as written, in SI units, for a value or
    /// the components of a vector; a value of fewer than three figures counts
    /// as one of three. `None` for a computed value.
    pub figures: Option<[f64; 2]>,
    /// `None` for a computed value.
    pub written: Option<AsWritten>,
}

/// A result by its name: `WHAT WHERE [component] [at P] [under CASE]`, and the
/// sense in which it counts.
#[derive(Clone, Debug)]
pub struct ClaimSubject {
    pub of: ResultOf,
    /// The line of a reaction or a movement that counts; in limits the
    /// direction in which it counts, wherever that is written.
    pub component: Option<ClaimComponent>,
    /// Wherever it is written.
    pub sense: Option<Sense>,
    /// The turning sense that is positive where `sense` names none.
    pub positive: Turn,
    /// How both components are named; `None` where one number is.
    pub vector: Option<VectorForm>,
    pub under: Under,
}

/// What a result is of.
#[derive(Clone, Debug)]
pub enum ResultOf {
    Reaction(SupportId),
    /// A reaction's couple.
    Couple(SupportId),
    Movement(JointId),
    Rotation(JointId),
    Inside(Inside, Chain),
    Deflection(Chain),
}

/// An internal force.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inside {
    Axial,
    Shear,
    Moment,
}

/// One member, or several end to end, with a place along them in metres from
/// the joint named first.
#[derive(Clone, Debug)]
pub struct Chain {
    pub path: Vec<(MemberId, Passage)>,
    pub at: Option<Number>,
}

/// Which way a chain passes a member.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Passage {
    Forward,
    Backward,
}

impl ResultOf {
    /// The members it is along; none for a joint.
    pub const fn chain(&self) -> Option<&Chain> {
        match self {
            ResultOf::Inside(_, chain) | ResultOf::Deflection(chain) => Some(chain),
            ResultOf::Reaction(_) | ResultOf::Couple(_) | ResultOf::Movement(_) | ResultOf::Rotation(_) => None,
        }
    }

    pub fn path(&self) -> &[(MemberId, Passage)] {
        self.chain().map_or(&[], |chain| &chain.path)
    }

    /// Of its numbers.
    pub const fn dimension(&self) -> Dimension {
        match self {
            ResultOf::Reaction(_) | ResultOf::Inside(Inside::Axial | Inside::Shear, _) => Dimension::FORCE,
            ResultOf::Couple(_) | ResultOf::Inside(Inside::Moment, _) => Dimension::MOMENT,
            ResultOf::Movement(_) | ResultOf::Deflection(_) => Dimension::LENGTH,
            ResultOf::Rotation(_) => Dimension::ANGLE,
        }
    }

    /// The word of the notation.
    pub const fn word(&self) -> &'static str {
        match self {
            ResultOf::Reaction(_) | ResultOf::Couple(_) => "reaction",
            ResultOf::Inside(Inside::Axial, _) => "force",
            ResultOf::Inside(Inside::Shear, _) => "shear",
            ResultOf::Inside(Inside::Moment, _) => "moment",
            ResultOf::Movement(_) | ResultOf::Deflection(_) => "deflection",
            ResultOf::Rotation(_) => "rotation",
        }
    }

    /// Whether it turns one way or the other. Bending has senses of its own.
    pub const fn turns(&self) -> bool {
        matches!(self, ResultOf::Rotation(_) | ResultOf::Couple(_))
    }
}

impl ClaimSubject {
    /// Whether a limit on it is about the effect in one sense, and not about the size.
    pub fn has_sense(&self) -> bool {
        let is_directed = |word| matches!(word, ComponentWord::Cardinal(_) | ComponentWord::Other);
        self.sense.is_some() || self.component.as_ref().is_some_and(|component| is_directed(component.word))
    }

    /// Whether it is the largest moment or shear along a chain.
    pub const fn is_largest_along(&self) -> bool {
        matches!(self.of, ResultOf::Inside(Inside::Shear | Inside::Moment, Chain { at: None, .. }))
    }
}

impl ValueClaim {
    /// In its own sense, as a result's numbers are compared with them.
    pub fn claimed(&self) -> [f64; 2] {
        self.numbers.each_ref().map(Number::to_f64)
    }
}

/// A literal as the source has it.
#[derive(Clone, Debug)]
pub struct AsWritten {
    /// `32.60 kN`, `(-4.91, 1.27) kN`: on one line, with the file's unit where
    /// it has none of its own.
    pub text: String,
    pub unit: NamedUnit,
}

#[derive(Clone, Debug)]
pub struct ClaimComponent {
    /// Any length.
    pub direction: [Number; 2],
    pub word: ComponentWord,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ComponentWord {
    X,
    Y,
    Cardinal(Cardinal),
    Other,
}

/// How far off a value may be; absolute, in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tolerance {
    /// Each number by its own figures.
    Each([f64; 2]),
    /// The length of the difference.
    Length(f64),
}

/// How a vector was written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum VectorForm {
    Components,
    /// `65.9 kN up`: a size along one of the four directions.
    Cardinal(Cardinal),
    /// `90 lbf @ 30°`: a size along a line, of any length.
    Directed([f64; 2]),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Under {
    /// Not said: right where there is one case or combination only.
    Unsaid,
    All,
    Case(CaseId),
    Combination(CombinationId),
    /// In every position of the train.
    Travel(TravelId),
}
