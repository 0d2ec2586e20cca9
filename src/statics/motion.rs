//! How the joints of one mechanism move: the null vector of its rows in
//! floating point, and what kind of motion that is.
//!
//! Must not know: words for people. Decides nothing: which joints move was
//! settled exactly before.

use nalgebra::DMatrix;
use rustc_hash::FxHashMap;

use crate::base::JointId;
use crate::quantity::Number;

use super::equilibrium::{Equilibrium, Restraint};

/// Motions of more rows than this are told by their joints alone.
pub const MOST_ROWS: usize = 240;

/// A small motion of some joints.
#[derive(Clone, Debug)]
pub struct Motion {
    /// Displacements, the largest of length 1, by ascending joint.
    pub joints: Vec<(JointId, [f64; 2])>,
    pub shape: Shape,
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

/// The motion whose non-zero rows are exactly `rows`; `None` for more than
/// [`MOST_ROWS`] rows.
pub fn motion_of(equilibrium: &Equilibrium, rows: &[u32]) -> Option<Motion> {
    if rows.is_empty() || rows.len() > MOST_ROWS {
        return None;
    }
    let place: FxHashMap<u32, usize> = rows.iter().enumerate().map(|(at, row)| (*row, at)).collect();
    let mut entries: Vec<Vec<(usize, f64)>> = Vec::new();
    for column in equilibrium.columns() {
        let mut column_entries = Vec::new();
        let mut add = |joint: JointId, [x, y]: [f64; 2]| {
            for (row, value) in [(joint.0 * 2, x), (joint.0 * 2 + 1, y)] {
                if let Some(at) = place.get(&row) {
                    column_entries.push((*at, value));
                }
            }
        };
        match column {
            Restraint::Bar(a, b) => {
                if !touches(&place, *a) && !touches(&place, *b) {
                    continue;
                }
                let [dx, dy] = equilibrium.points().difference(*a, *b);
                let length = dx.hypot(dy);
                add(*a, [dx / length, dy / length]);
                add(*b, [-dx / length, -dy / length]);
            }
            Restraint::Line(joint, [x, y]) => {
                let (x, y) = (x.to_f64(), y.to_f64());
                let length = x.hypot(y);
                add(*joint, [x / length, y / length]);
            }
        }
        if !column_entries.is_empty() {
            entries.push(column_entries);
        }
    }
    // Zero columns at the right make sure there are as many as rows, so that
    // the decomposition gives every left vector.
    let mut matrix = DMatrix::<f64>::zeros(rows.len(), entries.len().max(rows.len()));
    for (column, column_entries) in entries.iter().enumerate() {
        for (row, value) in column_entries {
            if let Some(slot) = matrix.get_mut((*row, column)) {
                *slot += *value;
            }
        }
    }
    let decomposition = matrix.try_svd(true, false, f64::EPSILON, 1_000)?;
    let (least, _) = decomposition.singular_values.iter().enumerate().min_by(|(_, a), (_, b)| a.total_cmp(b))?;
    let left = decomposition.u?;
    let vector = left.column(least);
    let mut joints: Vec<(JointId, [f64; 2])> = Vec::new();
    for (row, value) in rows.iter().zip(vector.iter()) {
        let joint = Equilibrium::joint_of_row(*row);
        if joints.last().map(|(joint, _)| *joint) != Some(joint) {
            joints.push((joint, [0.0; 2]));
        }
        if let Some((_, [x, y])) = joints.last_mut() {
            *(if row % 2 == 0 { x } else { y }) = *value;
        }
    }
    let largest = joints.iter().map(|(_, [x, y])| x.hypot(*y)).fold(0.0, f64::max);
    // The sense is free: let the joint that moves most go right, or else up.
    let lead = joints.iter().find(|(_, [x, y])| x.hypot(*y) > 0.999_999 * largest).map_or([1.0, 0.0], |(_, u)| *u);
    let sense =
        if lead[0] < -1e-9 * largest || (lead[0].abs() <= 1e-9 * largest && lead[1] < 0.0) { -1.0 } else { 1.0 };
    for (_, [x, y]) in &mut joints {
        for part in [x, y] {
            let scaled = *part * sense / largest;
            *part = if scaled.abs() < 1e-12 { 0.0 } else { scaled };
        }
    }
    let shape = shape_of(equilibrium, &joints);
    Some(Motion { joints, shape })
}

fn touches(place: &FxHashMap<u32, usize>, joint: JointId) -> bool {
    place.contains_key(&(joint.0 * 2)) || place.contains_key(&(joint.0 * 2 + 1))
}

/// Looks for one translation or one rotation that explains all joints.
fn shape_of(equilibrium: &Equilibrium, joints: &[(JointId, [f64; 2])]) -> Shape {
    const NEAR: f64 = 1e-7;
    let Some((first, [fx, fy])) = joints.first().copied() else { return Shape::Parts };
    let same = |(_, [x, y]): &(JointId, [f64; 2])| (x - fx).hypot(y - fy) < NEAR;
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
        (x - (fx - omega * ay)).hypot(y - (fy + omega * ax)) < NEAR
    };
    if omega.abs() < 1e-12 || !joints.iter().all(follows) {
        return Shape::Parts;
    }
    let [cx, cy] = [-fy / omega, fx / omega];
    let [px, py] = equilibrium.point(first);
    Shape::Turns { about: [px + cx, py + cy] }
}

/// A displacement as an exact direction, for building a restraint along it.
pub fn direction(of: [f64; 2]) -> [Number; 2] {
    of.map(Number::from_f64)
}
