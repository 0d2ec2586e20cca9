//! The rigid parts of a motion: members that meet and turn at one rate move
//! as one piece.
//!
//! Must not know: words for people. Decides nothing: floats will do.

use rustc_hash::FxHashMap;

use crate::base::tolerances::OF_MOTION;
use crate::base::{DisjointSets, JointId};
use crate::syntax::tree::Turn;

use super::equilibrium::{Equilibrium, Restraint};

/// Joints that keep their distances while they move.
#[derive(Clone, Debug)]
pub struct Part {
    /// Two at least, ascending, with those about which the part turns.
    pub joints: Vec<JointId>,
    pub moves: RigidMotion,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RigidMotion {
    /// Along a unit vector.
    Slides { along: [f64; 2] },
    /// About its instant centre, metres.
    Turns { about: [f64; 2], sense: Turn },
}

struct Bar {
    ends: [JointId; 2],
    length: f64,
    /// Radians, counterclockwise, while the largest displacement is one metre.
    rate: f64,
}

/// The parts that move, the one with most joints first. `displacements` by
/// ascending joint, the largest of length 1.
pub fn rigid_parts(equilibrium: &Equilibrium, displacements: &[(JointId, [f64; 2])]) -> Vec<Part> {
    let moves: FxHashMap<JointId, [f64; 2]> = displacements.iter().copied().collect();
    let of = |joint: JointId| moves.get(&joint).copied().unwrap_or([0.0; 2]);
    let mut bars: Vec<Bar> = Vec::new();
    for column in equilibrium.columns() {
        let Restraint::Bar(a, b) = column else { continue };
        if of(*a) == [0.0; 2] && of(*b) == [0.0; 2] {
            continue;
        }
        let ([dx, dy], [ax, ay], [bx, by]) = (equilibrium.points().difference(*a, *b), of(*a), of(*b));
        let square = dx * dx + dy * dy;
        let rate = (dx * (by - ay) - dy * (bx - ax)) / square;
        bars.push(Bar { ends: [*a, *b], length: square.sqrt(), rate });
    }
    let mut found: Vec<Part> = pieces(&bars).iter().filter_map(|piece| part(equilibrium, piece, &of)).collect();
    found.sort_by(|a, b| b.joints.len().cmp(&a.joints.len()).then(a.joints.cmp(&b.joints)));
    found
}

/// Bars that meet and turn alike, together.
fn pieces(bars: &[Bar]) -> Vec<Vec<&Bar>> {
    let mut meeting: FxHashMap<JointId, Vec<usize>> = FxHashMap::default();
    for (index, bar) in bars.iter().enumerate() {
        for end in bar.ends {
            meeting.entry(end).or_default().push(index);
        }
    }
    let mut sets = DisjointSets::new(bars.len());
    for indices in meeting.values_mut() {
        let rate = |index: &usize| bars.get(*index).map_or(0.0, |bar| bar.rate);
        indices.sort_by(|a, b| rate(a).total_cmp(&rate(b)));
        for pair in indices.windows(2) {
            let [a, b] = pair else { continue };
            if let (Some(first), Some(second)) = (bars.get(*a), bars.get(*b))
                && (first.rate - second.rate).abs() * first.length.max(second.length) < OF_MOTION
            {
                sets.join(*a, *b);
            }
        }
    }
    let mut by_root: FxHashMap<u32, Vec<&Bar>> = FxHashMap::default();
    for (bar, root) in bars.iter().zip(sets.into_roots()) {
        by_root.entry(root).or_default().push(bar);
    }
    by_root.into_values().collect()
}

fn part(equilibrium: &Equilibrium, bars: &[&Bar], of: &impl Fn(JointId) -> [f64; 2]) -> Option<Part> {
    let mut joints: Vec<JointId> = bars.iter().flat_map(|bar| bar.ends).collect();
    joints.sort_unstable();
    joints.dedup();
    // The longest bar tells the rate best.
    let longest = bars.iter().max_by(|a, b| a.length.total_cmp(&b.length))?;
    let (rate, joint) = (longest.rate, longest.ends[0]);
    let [ux, uy] = of(joint);
    if rate.abs() * longest.length < OF_MOTION {
        let size = ux.hypot(uy);
        return (size > 0.0).then(|| Part { joints, moves: RigidMotion::Slides { along: [ux / size, uy / size] } });
    }
    let still = joints.iter().find(|joint| of(**joint) == [0.0; 2]);
    let about = match still {
        Some(joint) => equilibrium.point(*joint),
        // u = ω k × (x − c)
        None => {
            let [x, y] = equilibrium.point(joint);
            [x - uy / rate, y + ux / rate]
        }
    };
    let sense = if rate > 0.0 { Turn::Counterclockwise } else { Turn::Clockwise };
    Some(Part { joints, moves: RigidMotion::Turns { about, sense } })
}
