//! What would stop a mechanism: a bar between two joints, or a support.
//!
//! Finding is guided by the motion; whether it cures is verified by whoever
//! asks, in exact arithmetic.
//!
//! Must not know: words for people.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::base::JointId;
use crate::quantity::Number;
use crate::structure::{Structure, SupportKind};

use super::equilibrium::{Equilibrium, Restraint};
use super::motion::Motion;

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
            | Cure::Roller { joint, along } => Restraint::Line(*joint, along.clone()),
        }
    }
}

/// Moving joints looked at as one end of a new bar.
const MOST_ENDS: usize = 48;
/// Joints looked at as the other end, from each.
const MOST_PARTNERS: usize = 400;
/// A bar must take up at least this share of the largest displacement.
const LEAST_HOLD: f64 = 0.05;

/// The likeliest bar, else a support, that would resist a motion and is not
/// among those `taken` for another.
pub fn find_cure(
    structure: &Structure,
    equilibrium: &Equilibrium,
    motion: &Motion,
    taken: &FxHashSet<(JointId, JointId)>,
) -> Option<Cure> {
    best_bar(structure, equilibrium, motion, taken).or_else(|| support(structure, motion))
}

struct Candidate {
    pair: (JointId, JointId),
    common: usize,
    length: f64,
}

fn best_bar(
    structure: &Structure,
    equilibrium: &Equilibrium,
    motion: &Motion,
    taken: &FxHashSet<(JointId, JointId)>,
) -> Option<Cure> {
    let mut ends = motion.ends();
    ends.truncate(MOST_ENDS);
    let neighbours = Neighbours::near(structure, &ends);
    let mut seen = taken.clone();
    let mut best: Option<Candidate> = None;
    for a in &ends {
        let ua = motion.of(*a);
        for b in neighbours.partners(structure, *a) {
            let pair = (*a.min(&b), *a.max(&b));
            if *a == b || !seen.insert(pair) || structure.find_member(*a, b).is_some() {
                continue;
            }
            let ub = motion.of(b);
            let [dx, dy] = equilibrium.points().difference(*a, b);
            let length = dx.hypot(dy);
            let hold = ((ub[0] - ua[0]) * dx + (ub[1] - ua[1]) * dy).abs() / length;
            if length == 0.0 || hold < LEAST_HOLD || both_held(structure, *a, b) {
                continue;
            }
            let common = neighbours.common(*a, b).min(2);
            let candidate = Candidate { pair, common, length };
            let better = best.as_ref().is_none_or(|known| {
                let order = known.common.cmp(&candidate.common).then(candidate.length.total_cmp(&known.length));
                order.then_with(|| candidate.pair.cmp(&known.pair)).is_lt()
            });
            if better && !runs_through(structure, equilibrium, pair) {
                best = Some(candidate);
            }
        }
    }
    best.map(|candidate| Cure::Bar(candidate.pair.0, candidate.pair.1))
}

/// A bar between two supports that already hold both ways does nothing.
fn both_held(structure: &Structure, a: JointId, b: JointId) -> bool {
    let held = |joint| {
        structure
            .support_at(joint)
            .is_some_and(|(_, support)| matches!(support.kind, SupportKind::Pin | SupportKind::Fixed))
    };
    held(a) && held(b)
}

/// Whether a bar would pass through a joint it does not use.
fn runs_through(structure: &Structure, equilibrium: &Equilibrium, (a, b): (JointId, JointId)) -> bool {
    const LARGEST_LOOK: usize = 20_000;
    if structure.joints.len() > LARGEST_LOOK {
        return false;
    }
    (0..structure.joints.len()).map(JointId::new).any(|joint| {
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
            && let SupportKind::Roller(roller) = &support.kind
        {
            let [nx, ny] = &roller.normal;
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

/// Which joints members join, around the moving ones.
struct Neighbours {
    of: FxHashMap<JointId, Vec<JointId>>,
    whole: bool,
}

impl Neighbours {
    /// Structures up to this size are looked at whole: any two joints may be joined.
    const SMALL: usize = 60;

    fn near(structure: &Structure, ends: &[JointId]) -> Self {
        // Two rounds: the neighbours of the moving joints, and theirs.
        let mut wanted: FxHashSet<JointId> = ends.iter().copied().collect();
        let mut of: FxHashMap<JointId, Vec<JointId>> = FxHashMap::default();
        for round in 0..2 {
            of.clear();
            for member in &structure.members {
                for (a, b) in [(member.start, member.end), (member.end, member.start)] {
                    if wanted.contains(&a) {
                        of.entry(a).or_default().push(b);
                    }
                }
            }
            if round == 0 {
                wanted.extend(of.values().flatten().copied());
            }
        }
        Neighbours { of, whole: structure.joints.len() <= Self::SMALL }
    }

    fn list(&self, joint: JointId) -> &[JointId] {
        self.of.get(&joint).map_or(&[], Vec::as_slice)
    }

    fn partners(&self, structure: &Structure, joint: JointId) -> Vec<JointId> {
        if self.whole {
            return (0..structure.joints.len()).map(JointId::new).collect();
        }
        let mut found: Vec<JointId> =
            self.list(joint).iter().flat_map(|near| self.list(*near)).copied().take(MOST_PARTNERS).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    fn common(&self, a: JointId, b: JointId) -> usize {
        self.list(a).iter().filter(|joint| self.list(b).contains(joint)).count()
    }
}
