//! How the joints of one mechanism move: the null vector of its rows in
//! floating point, and the rigid parts that move in it.
//!
//! Must not know: words for people. Decides nothing: which joints move was
//! settled exactly before.

use nalgebra::DMatrix;
use rustc_hash::FxHashMap;

use crate::base::JointId;
use crate::numeric::peel::Peel;
use crate::numeric::{Factor, SparseBuilder};
use crate::quantity::Number;

use super::equilibrium::{Equilibrium, Restraint};
use super::parts::{Part, rigid_parts};

/// Motions of more rows than this are told by their joints alone.
pub const MOST_ROWS: usize = 100_000;
/// Motions of up to so many rows are found by a dense decomposition.
const DENSE_ROWS: usize = 120;
/// A null vector that lengthens a member by more than this share of the
/// largest displacement is not believed.
const LARGEST_STRETCH: f64 = 1e-6;

/// A small motion of some joints.
#[derive(Clone, Debug)]
pub struct Motion {
    /// Displacements, the largest of length 1, by ascending joint.
    pub joints: Vec<(JointId, [f64; 2])>,
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

    /// The joints that move, those at which parts meet that move differently first.
    pub fn ends(&self) -> Vec<JointId> {
        let mut parts_at: FxHashMap<JointId, u32> = FxHashMap::default();
        for joint in self.parts.iter().flat_map(|part| &part.joints) {
            *parts_at.entry(*joint).or_default() += 1;
        }
        let mut joints: Vec<JointId> = self.joints.iter().map(|(joint, _)| *joint).collect();
        joints.sort_by_key(|joint| (parts_at.get(joint).is_none_or(|parts| *parts < 2), *joint));
        joints
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
    let vector = if rows.len() <= DENSE_ROWS { dense(rows.len(), &entries) } else { sparse(rows.len(), &entries) }?;
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
    let parts = rigid_parts(equilibrium, &joints);
    Some(Motion { joints, shape, parts })
}

/// The left null vector of a small matrix given by the entries of its columns.
fn dense(rows: usize, entries: &[Vec<(usize, f64)>]) -> Option<Vec<f64>> {
    // Zero columns at the right make sure there are as many as rows, so that
    // the decomposition gives every left vector.
    let mut matrix = DMatrix::<f64>::zeros(rows, entries.len().max(rows));
    for (column, column_entries) in entries.iter().enumerate() {
        for (row, value) in column_entries {
            if let Some(slot) = matrix.get_mut((*row, column)) {
                *slot += *value;
            }
        }
    }
    let decomposition = matrix.try_svd(true, false, f64::EPSILON, 1_000)?;
    let (least, _) = decomposition.singular_values.iter().enumerate().min_by(|(_, a), (_, b)| a.total_cmp(b))?;
    Some(decomposition.u?.column(least).iter().copied().collect())
}

/// The same for a large sparse one: with `K = B Bᵀ` and `K z = 0`, the matrix
/// `K + e eᵀ` for one row of `z` that is not zero is regular, and takes `z` to
/// a multiple of `e`.
fn sparse(rows: usize, entries: &[Vec<(usize, f64)>]) -> Option<Vec<f64>> {
    let mut products: Vec<FxHashMap<usize, f64>> = vec![FxHashMap::default(); rows];
    for column in entries {
        for (row, value) in column {
            let products = products.get_mut(*row)?;
            for (other, factor) in column {
                *products.entry(*other).or_default() += value * factor;
            }
        }
    }
    let largest = |z: &[f64]| {
        let size = |(_, a): &(usize, &f64), (_, b): &(usize, &f64)| a.abs().total_cmp(&b.abs());
        z.iter().enumerate().max_by(size).map(|(at, value)| (at, value.abs()))
    };
    let mut lead = 0;
    let mut z = Vec::new();
    // The second round leans on the row that moves most.
    for _ in 0..2 {
        let mut builder = SparseBuilder::new(rows);
        for (column, products) in products.iter().enumerate() {
            let mut ordered: Vec<(usize, f64)> = products.iter().map(|(row, value)| (*row, *value)).collect();
            ordered.sort_unstable_by_key(|(row, _)| *row);
            for (row, value) in ordered {
                let lean = if row == lead && column == lead { 1.0 } else { 0.0 };
                builder.entry(u32::try_from(row).ok()?, value + lean);
            }
            builder.end_column();
        }
        let factor = Factor::new(&builder.finish().ok()?, &Peel::nothing(rows, rows)).ok()?;
        let mut unit = vec![0.0; rows];
        *unit.get_mut(lead)? = 1.0;
        z = factor.solve(&unit).ok()?;
        lead = largest(&z)?.0;
    }
    let (_, size) = largest(&z)?;
    let stretch = |column: &Vec<(usize, f64)>| {
        column.iter().map(|(row, value)| z.get(*row).map_or(0.0, |z| z * value)).sum::<f64>().abs()
    };
    let is_null = entries.iter().all(|column| stretch(column) <= LARGEST_STRETCH * size);
    is_null.then_some(z)
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
