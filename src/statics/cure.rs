//! What would stop a mechanism: a bar between two joints, or a support.
//!
//! Candidates come from the motion; the caller verifies them in exact
//! arithmetic.
//!
//! Must not know: words for people.

use crate::base::{IdVec, JointId, Lists};
use crate::numeric::Scalar;
use crate::quantity::Number;
use crate::structure::{Member, Structure};

use super::equilibrium::{Equilibrium, Restraint};
use super::motion::{ExactMotion, Motion};

/// One thing to add.
#[derive(Clone, Debug)]
pub enum Cure {
    /// A bar between two joints.
    Bar(JointId, JointId),
    /// A roller that has to become a pin.
    RollerToPin { joint: JointId, along: [Number; 2] },
    /// A roller that has to push along another direction.
    TurnedRoller { joint: JointId, along: [Number; 2] },
    /// A roller at a joint, its reaction along a direction.
    Roller { joint: JointId, along: [Number; 2] },
}

impl Cure {
    pub fn restraint(&self) -> Restraint {
        match self {
            Cure::Bar(a, b) => Restraint::Bar(*a, *b),
            Cure::RollerToPin { joint, along }
            | Cure::TurnedRoller { joint, along }
            | Cure::Roller { joint, along } => Restraint::Line(*joint, Box::new(along.clone())),
        }
    }
}

/// Pairs of joints looked at for one cure.
const MOST_LOOKED: usize = 50_000_000;
/// A bar must take up at least this share of the largest displacement, or of
/// what the best of all bars takes up where that is less.
const LEAST_HOLD: f64 = 0.05;

/// One mechanism, as far as it was worked out.
#[derive(Clone, Copy)]
pub struct Moves<'a> {
    /// The joints that move.
    pub moving: &'a [JointId],
    /// How far they go; absent where it would take too long to say.
    pub motion: Option<&'a Motion>,
    /// What decides whether a bar is strained at all.
    pub exact: &'a ExactMotion,
}

/// The likeliest bar, else a support, that would resist a motion.
pub fn find_cure(
    structure: &Structure,
    equilibrium: &Equilibrium,
    neighbours: &Neighbours,
    moves: Moves<'_>,
) -> Option<Cure> {
    let search = Search { structure, equilibrium, neighbours };
    let resists = |a: JointId, b: JointId| !moves.exact.strain(equilibrium, &Restraint::Bar(a, b)).is_zero();
    let Some(motion) = moves.motion else {
        return search.best_bar(moves.moving, &|a, b| f64::from(u8::from(resists(a, b))));
    };
    let mut displacements = IdVec::filled(&structure.joints, [0.0; 2]);
    motion.joints.iter().for_each(|(joint, moved)| displacements[*joint] = *moved);
    let hold = |a: JointId, b: JointId| {
        let ([dx, dy], [ax, ay], [bx, by]) =
            (equilibrium.points().difference(a, b), displacements[a], displacements[b]);
        let length = dx.hypot(dy);
        let hold = ((bx - ax) * dx + (by - ay) * dy).abs() / length;
        // What another cure has stopped already is no longer strained.
        if hold > 0.0 && resists(a, b) { hold } else { 0.0 }
    };
    search.best_bar(moves.moving, &hold).or_else(|| support(structure, motion))
}

/// Of two bars the one that closes a panel is the likelier, then the shorter.
struct Candidate {
    pair: (JointId, JointId),
    common: usize,
    length: f64,
}

impl Candidate {
    fn is_better_than(&self, other: &Candidate) -> bool {
        let order = self.common.cmp(&other.common).then(other.length.total_cmp(&self.length));
        order.then_with(|| other.pair.cmp(&self.pair)).is_gt()
    }
}

struct Search<'a> {
    structure: &'a Structure,
    equilibrium: &'a Equilibrium,
    neighbours: &'a Neighbours,
}

impl Search<'_> {
    /// Two sweeps over all bars between near joints: how much the best takes
    /// up, then the likeliest of those that take up enough.
    fn best_bar(&self, moving: &[JointId], hold: &dyn Fn(JointId, JointId) -> f64) -> Option<Cure> {
        let pairs = || {
            let from = |a: &JointId| {
                let a = *a;
                self.neighbours.partners(a).map(move |b| (a, b))
            };
            moving.iter().flat_map(from).take(MOST_LOOKED)
        };
        let mut largest = 0.0_f64;
        for (a, b) in pairs() {
            largest = largest.max(hold(a, b));
            // More than this makes no difference below.
            if largest >= 1.0 {
                break;
            }
        }
        if largest == 0.0 {
            return None;
        }
        let least = LEAST_HOLD * largest.min(1.0);
        let mut best: Option<Candidate> = None;
        for (a, b) in pairs() {
            let pair = (a.min(b), a.max(b));
            let [dx, dy] = self.equilibrium.points().difference(a, b);
            let length = dx.hypot(dy);
            // What is cheap to know is asked first; no more than two common neighbours are counted.
            let could_be = Candidate { pair, common: 2, length };
            if a == b || best.as_ref().is_some_and(|known| !could_be.is_better_than(known)) {
                continue;
            }
            let candidate = Candidate { common: self.neighbours.common(a, b), ..could_be };
            if best.as_ref().is_none_or(|known| candidate.is_better_than(known))
                && !self.neighbours.are_joined(a, b)
                && hold(a, b) >= least
                && !both_held(self.structure, a, b)
                && !runs_through(self.structure, self.equilibrium, pair)
            {
                best = Some(candidate);
            }
        }
        best.map(|candidate| Cure::Bar(candidate.pair.0, candidate.pair.1))
    }
}

/// A bar between two supports that already hold both ways does nothing.
fn both_held(structure: &Structure, a: JointId, b: JointId) -> bool {
    let held = |joint| structure.support_at(joint).is_some_and(|(_, support)| support.is_pin() || support.is_fixed());
    held(a) && held(b)
}

/// Whether a bar would pass through a joint it does not use.
fn runs_through(structure: &Structure, equilibrium: &Equilibrium, (a, b): (JointId, JointId)) -> bool {
    const LARGEST_LOOK: usize = 20_000;
    if structure.joints.len() > LARGEST_LOOK {
        return false;
    }
    structure.joints.ids().any(|joint| {
        joint != a && joint != b && equilibrium.points().turn(a, b, joint).is_eq() && {
            let ([ux, uy], [vx, vy]) =
                (equilibrium.points().difference(a, b), equilibrium.points().difference(a, joint));
            let share = (ux * vx + uy * vy) / (ux * ux + uy * uy);
            (0.0..=1.0).contains(&share)
        }
    })
}

/// A roller that would resist the motion if it were a pin, or a new roller
/// under the joint that moves most.
fn support(structure: &Structure, motion: &Motion) -> Option<Cure> {
    for (joint, [ux, uy]) in &motion.joints {
        if let Some((_, support)) = structure.support_at(*joint)
            && let Some([nx, ny]) = support.roller()
        {
            let along = [ny.negated(), nx.clone()];
            let hold = along[0].to_f64() * ux + along[1].to_f64() * uy;
            if hold.abs() > LEAST_HOLD * along[0].to_f64().hypot(along[1].to_f64()) {
                return Some(Cure::RollerToPin { joint: *joint, along });
            }
        }
    }
    let (joint, [ux, uy]) = motion.joints.iter().find(|(_, [x, y])| x.hypot(*y) > 0.999)?;
    let upright = uy.abs() > LEAST_HOLD;
    let along = if upright { [Number::ZERO, Number::ONE] } else { [Number::ONE, Number::ZERO] };
    (upright || ux.abs() > LEAST_HOLD).then_some(Cure::Roller { joint: *joint, along })
}

/// Structures up to so many joints are small: any two joints are near.
const SMALL: usize = 60;
/// Neighbours of neighbours looked at from one joint.
const MOST_PARTNERS: usize = 400;

/// Which joints members join, each joint's in one list.
pub struct Neighbours {
    others: Lists<JointId>,
}

impl Neighbours {
    pub fn of(structure: &Structure) -> Neighbours {
        let ends = |member: &Member| [(member.start.index(), member.end), (member.end.index(), member.start)];
        Neighbours { others: Lists::of(structure.joints.len(), || structure.members.iter().flat_map(ends)) }
    }

    fn list(&self, joint: JointId) -> &[JointId] {
        self.others.list(joint.index())
    }

    /// Joints that a bar from this one might go to: two members away, or any
    /// in a small structure. May name a joint more than once.
    fn partners(&self, joint: JointId) -> impl Iterator<Item = JointId> + '_ {
        let joints = self.others.len();
        let all = if joints <= SMALL { joints } else { 0 };
        let two_away = self.list(joint).iter().flat_map(|near| self.list(*near)).copied();
        (0..all).map(JointId::new).chain(two_away.take(if all == 0 { MOST_PARTNERS } else { 0 }))
    }

    fn are_joined(&self, a: JointId, b: JointId) -> bool {
        let (a, b) = if self.list(a).len() <= self.list(b).len() { (a, b) } else { (b, a) };
        self.list(a).contains(&b)
    }

    /// How many joints both are joined to, counted up to two.
    fn common(&self, a: JointId, b: JointId) -> usize {
        self.list(a).iter().take(MOST_PARTNERS).filter(|joint| self.are_joined(**joint, b)).take(2).count()
    }
}
