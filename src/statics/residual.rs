//! The independent check: all forces added up again from the printed result
//! and the source's own coordinates, without the solver's matrix.
//!
//! Must not know: the equilibrium matrix.

use crate::base::{JointId, MemberId};
use crate::structure::Structure;

use super::results::{Place, Reaction, Residual, WholeSums};

/// Above this the result is refused.
pub const LARGEST_RESIDUAL: f64 = 1e-9;

/// The forces of one result that are to balance.
#[derive(Clone, Copy, Debug)]
pub struct Forces<'a> {
    /// Two entries a joint, newtons: what the loads bring to the joints.
    pub joint_forces: &'a [f64],
    /// Fx, Fy, M of the loads about `about`, from the loads themselves.
    pub resultant: [f64; 3],
    pub reactions: &'a [Reaction],
    pub axial: &'a [f64],
    /// The largest force in play, newtons.
    pub largest: f64,
}

/// The point about which moments are taken: the first support, or the first joint.
pub fn moment_centre(structure: &Structure) -> (Option<JointId>, [f64; 2]) {
    let joint = structure.supports.first().map(|support| support.joint);
    let at = joint.and_then(|joint| structure.joint(joint)).or_else(|| structure.joints.first());
    (joint, at.map_or([0.0; 2], |joint| [joint.x.to_f64(), joint.y.to_f64()]))
}

/// Adds everything up.
pub fn residual(structure: &Structure, forces: Forces<'_>) -> Residual {
    let points: Vec<[f64; 2]> = structure.joints.iter().map(|joint| [joint.x.to_f64(), joint.y.to_f64()]).collect();
    let point = |joint: JointId| points.get(joint.index()).copied().unwrap_or([0.0; 2]);
    let (about, [cx, cy]) = moment_centre(structure);
    let size = extent(&points);
    let scale = if forces.largest > 0.0 { forces.largest } else { 1.0 };

    let mut sums: Vec<[f64; 2]> = forces.joint_forces.chunks_exact(2).map(|xy| match xy {
        [x, y] => [*x, *y],
        _ => [0.0; 2],
    }).collect();
    let mut add = |joint: JointId, x: f64, y: f64| {
        if let Some([sx, sy]) = sums.get_mut(joint.index()) {
            *sx += x;
            *sy += y;
        }
    };
    for (member, axial) in structure.members.iter().zip(forces.axial) {
        let ([ax, ay], [bx, by]) = (point(member.start), point(member.end));
        let (dx, dy) = (bx - ax, by - ay);
        let length = dx.hypot(dy);
        let (x, y) = (axial * dx / length, axial * dy / length);
        add(member.start, x, y);
        add(member.end, -x, -y);
    }
    let mut reactions = [0.0; 3];
    for (support, reaction) in structure.supports.iter().zip(forces.reactions) {
        let [fx, fy] = reaction.force();
        add(support.joint, fx, fy);
        let [x, y] = point(support.joint);
        let [sx, sy, sm] = &mut reactions;
        *sx += fx;
        *sy += fy;
        *sm += (x - cx) * fy - (y - cy) * fx + reaction.m.unwrap_or(0.0);
    }

    let whole = WholeSums { loads: forces.resultant, reactions, about };
    let [wx, wy, wm] = whole.sum();
    let mut residual = Residual {
        relative: (wx.hypot(wy) / scale).max(wm.abs() / (scale * size)),
        worst: Place::Structure,
        force: wx.hypot(wy),
        moment: wm.abs(),
        whole,
    };
    for (index, [x, y]) in sums.into_iter().enumerate() {
        let left = x.hypot(y);
        residual.force = residual.force.max(left);
        // A NaN must not slip through a comparison.
        if left / scale > residual.relative || left.is_nan() {
            residual.relative = left / scale;
            residual.worst = Place::Joint(JointId::new(index));
        }
    }
    for (index, axial) in forces.axial.iter().enumerate() {
        if !axial.is_finite() {
            residual.relative = f64::NAN;
            residual.worst = Place::Member(MemberId::new(index));
        }
    }
    residual
}

impl WholeSums {
    /// Fx, Fy, M: loads and reactions together.
    pub fn sum(&self) -> [f64; 3] {
        let ([lx, ly, lm], [rx, ry, rm]) = (self.loads, self.reactions);
        [lx + rx, ly + ry, lm + rm]
    }
}

impl Residual {
    /// Whether the result may be quoted.
    pub fn is_small(&self) -> bool {
        self.relative <= LARGEST_RESIDUAL
    }
}

/// The larger side of the box around all points, metres; 1 for a single point.
pub fn extent(points: &[[f64; 2]]) -> f64 {
    let range = |axis: fn(&[f64; 2]) -> f64| {
        let (low, high) = points.iter().map(axis).fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)));
        high - low
    };
    let size = range(|[x, _]| *x).max(range(|[_, y]| *y));
    if size > 0.0 { size } else { 1.0 }
}
