//! A part cut free: what acts on it, and sums of forces or moments of it.
//!
//! Must not know: how a structure is divided into parts.

use crate::base::ids::typed_id;
use crate::base::tolerances::{ELIMINATED, ROUNDED, SAME};
use crate::base::{IdVec, JointId, MemberId, SupportId};
use crate::statics::Component;
use crate::structure::LoadPoint;

use super::problem::{Direction, Problem, arm};

typed_id!(
    /// A force or couple to be found.
    UnknownId,
);

/// What is to be found.
#[derive(Clone, Copy, Debug)]
pub struct Unknown {
    pub name: Name,
    /// Newtons or newton-metres, once found.
    pub value: Option<f64>,
}

pub type Unknowns = IdVec<UnknownId, Unknown>;

/// Which force or couple it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Name {
    Reaction(SupportId, Component),
    /// Along an axis at a hinge, where so many before it have the joint's name.
    Hinge(JointId, Component, usize),
    /// The force in a bar, assumed to pull.
    Bar(MemberId),
}

impl Name {
    pub fn is_couple(self) -> bool {
        matches!(self, Name::Reaction(_, Component::Turn))
    }

    /// A value of it, nothing where that is rounding noise.
    pub fn quiet(self, problem: &Problem<'_>, value: f64) -> f64 {
        if self.is_couple() { problem.quiet_moment(value) } else { problem.quiet(value) }
    }
}

/// Something that acts on a part.
#[derive(Clone, Copy, Debug)]
pub struct Acting {
    pub size: Size,
    pub kind: Kind,
    /// Metres.
    pub at: [f64; 2],
    pub place: Place,
}

/// Where something acts.
pub type Place = LoadPoint<f64>;

#[derive(Clone, Copy, Debug)]
pub enum Size {
    /// Newtons along the direction, or newton-metres counterclockwise; as it
    /// was given.
    Load(f64),
    /// The same, computed on the way.
    Found(f64),
    /// So many times an unknown: a couple of it turns in the sense that the
    /// page counts as positive.
    Unknown(UnknownId, f64),
}

impl Size {
    /// What is known without solving anything.
    pub const fn known(self) -> Option<f64> {
        match self {
            Size::Load(size) | Size::Found(size) => Some(size),
            Size::Unknown(..) => None,
        }
    }

    /// What is known once some unknowns are found.
    pub fn value(self, unknowns: &Unknowns) -> Option<f64> {
        match self {
            Size::Load(size) | Size::Found(size) => Some(size),
            Size::Unknown(id, share) => unknowns[id].value.map(|value| value * share),
        }
    }

    pub const fn unknown(self) -> Option<UnknownId> {
        match self {
            Size::Unknown(id, _) => Some(id),
            Size::Load(_) | Size::Found(_) => None,
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub enum Kind {
    Force(Direction),
    Couple,
}

impl Acting {
    /// A force on a joint.
    pub fn at_joint(problem: &Problem<'_>, joint: JointId, kind: Kind, size: Size) -> Acting {
        Acting { size, kind, at: problem.at(joint), place: Place::Joint(joint) }
    }

    pub const fn direction(&self) -> Option<Direction> {
        match self.kind {
            Kind::Force(direction) => Some(direction),
            Kind::Couple => None,
        }
    }
}

/// What is summed up.
#[derive(Clone, Copy, Debug)]
pub enum Sum {
    /// The components along a direction.
    Along([f64; 2]),
    /// The moments about a point.
    About([f64; 2], Centre),
}

/// What a point has for a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Centre {
    Joint(JointId),
    /// No joint is there.
    Free,
    /// Nor there, beside another without a joint.
    SecondFree,
}

impl Sum {
    pub const X: Sum = Sum::Along([1.0, 0.0]);
    pub const Y: Sum = Sum::Along([0.0, 1.0]);

    /// About a joint.
    pub fn about(problem: &Problem<'_>, joint: JointId) -> Sum {
        Sum::About(problem.at(joint), Centre::Joint(joint))
    }

    pub const fn centre(&self) -> Option<Centre> {
        match self {
            Sum::Along(_) => None,
            Sum::About(_, centre) => Some(*centre),
        }
    }

    /// How much one unit of it counts.
    fn coefficient(&self, acting: &Acting) -> f64 {
        match (self, acting.kind) {
            (Sum::Along([x, y]), Kind::Force(Direction { unit: [ux, uy], .. })) => ux * x + uy * y,
            (Sum::Along(_), Kind::Couple) => 0.0,
            (Sum::About(centre, _), Kind::Force(direction)) => arm(*centre, acting.at, direction.unit),
            (Sum::About(..), Kind::Couple) => 1.0,
        }
    }

    /// Nothing where a coefficient is rounding.
    fn quiet(&self, problem: &Problem<'_>, coefficient: f64) -> f64 {
        match self {
            Sum::About(..) => problem.quiet_length(coefficient),
            Sum::Along(_) if coefficient.abs() < SAME => 0.0,
            Sum::Along(_) => coefficient,
        }
    }
}

/// One term of a sum.
#[derive(Clone, Copy, Debug)]
pub struct Term {
    pub acting: Acting,
    /// What one unit of it counts, in the sense that the page counts as positive.
    pub coefficient: f64,
    /// Its size, where that is known.
    pub value: Option<f64>,
}

/// One sum, with what it says about the unknowns.
#[derive(Clone, Debug)]
pub struct Balance {
    pub sum: Sum,
    /// What is looked for, then what is known; zero ones left out.
    pub terms: Vec<Term>,
    /// The unknowns not yet found, with their coefficients.
    pub open: Vec<(UnknownId, f64)>,
    /// All that is known, added up.
    pub known: f64,
    /// The largest known term.
    largest: f64,
}

impl Balance {
    pub fn of(problem: &Problem<'_>, unknowns: &Unknowns, part: &[Acting], sum: Sum) -> Balance {
        let sign = if matches!(sum, Sum::About(..)) { problem.structure.turning_sign() } else { 1.0 };
        let mut balance = Balance { sum, terms: Vec::new(), open: Vec::new(), known: 0.0, largest: 0.0 };
        let mut known = Vec::new();
        for acting in part {
            let coefficient = sum.quiet(problem, sum.coefficient(acting)) * sign;
            if coefficient == 0.0 {
                continue;
            }
            let mut term = Term { acting: *acting, coefficient, value: None };
            match (acting.size, acting.size.value(unknowns)) {
                (_, Some(size)) => {
                    let size = match acting.kind {
                        Kind::Couple => problem.quiet_moment(size),
                        Kind::Force(_) => problem.quiet(size),
                    };
                    if size != 0.0 {
                        term.value = Some(size);
                        balance.known += coefficient * size;
                        balance.largest = balance.largest.max((coefficient * size).abs());
                        known.push(term);
                    }
                }
                (Size::Unknown(id, share), None) => {
                    balance.terms.push(term);
                    match balance.open.iter_mut().find(|(known, _)| *known == id) {
                        Some((_, sum)) => *sum += coefficient * share,
                        None => balance.open.push((id, coefficient * share)),
                    }
                }
                (_, None) => {}
            }
        }
        balance.terms.append(&mut known);
        balance.open.retain(|(_, coefficient)| sum.quiet(problem, *coefficient) != 0.0);
        if balance.known.abs() <= ELIMINATED * balance.largest {
            balance.known = 0.0;
        }
        balance
    }

    /// The one unknown left, and its value.
    pub fn alone(&self, problem: &Problem<'_>, unknowns: &Unknowns) -> Option<(UnknownId, f64)> {
        let [(id, coefficient)] = *self.open.as_slice() else { return None };
        Some((id, unknowns[id].name.quiet(problem, -self.known / coefficient)))
    }

    /// How much one unit of an unknown counts.
    pub fn coefficient(&self, id: UnknownId) -> f64 {
        self.open.iter().find(|(own, _)| *own == id).map_or(0.0, |(_, value)| *value)
    }

    /// The direction in which an unknown of this sum is drawn.
    pub fn direction_of(&self, id: UnknownId) -> Option<Direction> {
        self.terms.iter().find(|term| term.acting.size.unknown() == Some(id))?.acting.direction()
    }

    /// What is left of the known terms where they should add up to nothing, as
    /// a share of the largest.
    pub fn left_over(&self) -> f64 {
        self.known.abs() / self.largest.max(f64::MIN_POSITIVE)
    }
}

/// Whether a factor is 1 but for rounding.
pub fn is_one(factor: f64) -> bool {
    (factor.abs() - 1.0).abs() < ROUNDED
}
