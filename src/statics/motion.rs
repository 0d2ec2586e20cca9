//! How the joints of one mechanism move: the null vector of its rows in
//! floating point, and the rigid parts that move in it.
//!
//! Must not know: words for people. Decides nothing: which joints move was
//! settled exactly before.

use rustc_hash::FxHashMap;

use crate::base::tolerances::{OF_MOTION, ROUNDED, SAME};
use crate::base::{DisjointSets, IdVec, JointId};
use crate::numeric::{Field, Prime, Scalar, Sparse, null_direction};
use crate::syntax::tree::Turn;

use super::equilibrium::{Balance, Equilibrium, Restraint, in_field};

/// Motions of more rows than this are told by their joints alone.
pub const MOST_ROWS: usize = 100_000;

/// A small motion of some joints.
#[derive(Clone, Debug)]
pub struct Motion {
    /// Displacements, the largest of length 1, by ascending joint.
    pub joints: Vec<(JointId, [f64; 2])>,
    /// Turns of joints that have a rotation of their own, counterclockwise, in
    /// the same measure (per metre).
    pub turns: Vec<(JointId, f64)>,
    pub shape: Shape,
    /// The rigid parts that move, the one with most joints first.
    pub parts: Vec<Part>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// All moving joints go the same way, a unit vector.
    Slides { along: [f64; 2] },
    /// All moving joints turn about one point, metres, as one piece.
    Turns { about: [f64; 2] },
    /// Parts move differently.
    Parts,
}

impl Motion {
    pub fn of(&self, joint: JointId) -> [f64; 2] {
        match self.joints.binary_search_by_key(&joint, |(joint, _)| *joint) {
            Ok(at) => self.joints.get(at).map_or([0.0; 2], |(_, u)| *u),
            Err(_) => [0.0; 2],
        }
    }
}

/// The exact motion of a mechanism of any size, modulo a prime: enough to say
/// which distances change, not how far anything goes.
pub struct ExactMotion {
    /// One for each joint.
    displacements: IdVec<JointId, [Prime; 2]>,
}

impl ExactMotion {
    /// The motion with these residues at these rows.
    pub fn of(equilibrium: &Equilibrium, rows: &[u32], residues: &[Prime]) -> ExactMotion {
        let mut displacements: IdVec<JointId, _> = vec![[Prime::ZERO; 2]; equilibrium.rows.joints()].into();
        for (row, value) in rows.iter().zip(residues) {
            let (joint, balance) = equilibrium.rows.joint_of(*row);
            let [x, y] = &mut displacements[joint];
            match balance {
                Balance::X => *x = *value,
                Balance::Y => *y = *value,
                Balance::Moment => {}
            }
        }
        ExactMotion { displacements }
    }

    /// What a restraint would have to give way by: not zero if it stops the motion.
    pub fn strain(&self, equilibrium: &Equilibrium, restraint: &Restraint) -> Prime {
        let along = |[x, y]: [Prime; 2], [dx, dy]: [Prime; 2]| x.mul(dx).add(y.mul(dy));
        match restraint {
            Restraint::Bar(a, b) => {
                let ([ax, ay], [bx, by]) = (self.displacements[*a], self.displacements[*b]);
                let vector = equilibrium.points().exact_difference::<Prime>(*a, *b);
                vector.map_or(Prime::ZERO, |vector| along([bx.sub(ax), by.sub(ay)], vector))
            }
            Restraint::Line(joint, line) => match line.each_ref().map(in_field) {
                [Some(x), Some(y)] => along(self.displacements[*joint], [x, y]),
                _ => Prime::ZERO,
            },
            Restraint::Moment(..) | Restraint::Turn(_) => Prime::ZERO,
        }
    }

    /// Takes out as much of another motion as a restraint that stops that one
    /// requires: what is left moves with the restraint in place.
    pub fn held_by(&mut self, equilibrium: &Equilibrium, other: &ExactMotion, restraint: &Restraint) {
        let share = self.strain(equilibrium, restraint).div(other.strain(equilibrium, restraint));
        let Some(share) = share.filter(|share| !share.is_zero()) else { return };
        for ([x, y], [ox, oy]) in self.displacements.iter_mut().zip(&other.displacements) {
            *x = x.sub(share.mul(*ox));
            *y = y.sub(share.mul(*oy));
        }
    }
}

/// The motion whose non-zero rows are exactly `rows`; `None` for more than
/// [`MOST_ROWS`] rows or where doubles do not give it. `matrix` is the
/// floating form of `equilibrium`.
pub fn motion_of(equilibrium: &Equilibrium, matrix: &Sparse<f64>, rows: &[u32]) -> Option<Motion> {
    if rows.is_empty() || rows.len() > MOST_ROWS {
        return None;
    }
    let vector = null_direction(matrix, rows).ok()?;
    let mut joints: Vec<(JointId, [f64; 2])> = Vec::new();
    let mut turns: Vec<(JointId, f64)> = Vec::new();
    for (row, value) in rows.iter().zip(vector) {
        let (joint, balance) = equilibrium.rows.joint_of(*row);
        if balance == Balance::Moment {
            turns.push((joint, value));
            continue;
        }
        if joints.last().map(|(joint, _)| *joint) != Some(joint) {
            joints.push((joint, [0.0; 2]));
        }
        if let Some((_, [x, y])) = joints.last_mut() {
            *(if balance == Balance::X { x } else { y }) = value;
        }
    }
    let largest = joints.iter().map(|(_, [x, y])| x.hypot(*y)).fold(0.0, f64::max);
    // A joint that only turns in place gives no length to measure by.
    let measure = if largest > 0.0 { largest } else { turns.iter().map(|(_, turn)| turn.abs()).fold(0.0, f64::max) };
    // The sense is free: let the joint that moves most go right, or else up.
    let lead = joints.iter().find(|(_, [x, y])| x.hypot(*y) > 0.999_999 * largest).map_or([1.0, 0.0], |(_, u)| *u);
    let backwards = lead[0] < -SAME * largest || (lead[0].abs() <= SAME * largest && lead[1] < 0.0);
    let factor = if backwards { -1.0 / measure } else { 1.0 / measure };
    let clean = |value: &mut f64| {
        let scaled = *value * factor;
        *value = if scaled.abs() < ROUNDED { 0.0 } else { scaled };
    };
    for (_, [x, y]) in &mut joints {
        clean(x);
        clean(y);
    }
    turns.iter_mut().for_each(|(_, turn)| clean(turn));
    let shape = match shape_of(equilibrium, &joints) {
        // Joints with a rotation of their own have to turn with the piece.
        Shape::Slides { .. } if turns.iter().any(|(_, turn)| turn.abs() > OF_MOTION) => Shape::Parts,
        Shape::Turns { .. } if turns.windows(2).any(differ) => Shape::Parts,
        shape => shape,
    };
    let parts = rigid_parts(equilibrium, &joints);
    Some(Motion { joints, turns, shape, parts })
}

fn differ(pair: &[(JointId, f64)]) -> bool {
    matches!(pair, [(_, a), (_, b)] if (a - b).abs() > OF_MOTION * a.abs().max(b.abs()))
}

/// Looks for one translation or one rotation that explains all joints.
fn shape_of(equilibrium: &Equilibrium, joints: &[(JointId, [f64; 2])]) -> Shape {
    let Some((first, [fx, fy])) = joints.first().copied() else { return Shape::Parts };
    let same = |(_, [x, y]): &(JointId, [f64; 2])| (x - fx).hypot(y - fy) < OF_MOTION;
    if joints.iter().all(same) {
        let length = fx.hypot(fy);
        return Shape::Slides { along: [fx / length, fy / length] };
    }
    let arm = |joint: JointId| equilibrium.points().difference(first, joint);
    let far = joints.iter().max_by(|(a, _), (b, _)| {
        let length = |joint: JointId| arm(joint)[0].hypot(arm(joint)[1]);
        length(*a).total_cmp(&length(*b))
    });
    let Some((other, [ox, oy])) = far.copied() else { return Shape::Parts };
    // u = ω k × (x − c): differences of displacements give ω.
    let [ax, ay] = arm(other);
    let square = ax * ax + ay * ay;
    if square == 0.0 {
        return Shape::Parts;
    }
    let omega = ((oy - fy) * ax - (ox - fx) * ay) / square;
    let follows = |(joint, [x, y]): &(JointId, [f64; 2])| {
        let [ax, ay] = arm(*joint);
        (x - (fx - omega * ay)).hypot(y - (fy + omega * ax)) < OF_MOTION
    };
    if omega.abs() < ROUNDED || !joints.iter().all(follows) {
        return Shape::Parts;
    }
    let [cx, cy] = [-fy / omega, fx / omega];
    let [px, py] = equilibrium.point(first);
    Shape::Turns { about: [px + cx, py + cy] }
}

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
    /// About its instantaneous centre, metres.
    Turns { about: [f64; 2], sense: Turn },
}

struct Bar {
    ends: [JointId; 2],
    length: f64,
    /// Radians, counterclockwise, while the largest displacement is one metre.
    rate: f64,
}

/// The parts that move, the one with most joints first: members that meet and
/// turn at one rate are one piece, for which floats will do. `displacements` by
/// ascending joint, the largest of length 1.
fn rigid_parts(equilibrium: &Equilibrium, displacements: &[(JointId, [f64; 2])]) -> Vec<Part> {
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
