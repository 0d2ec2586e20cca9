//! The independent check: all forces added up again from the printed result
//! and the source's own coordinates, without the solver's matrix.
//!
//! Must not know: the equilibrium matrix.

use crate::base::tolerances::BALANCE;
use crate::base::{IdVec, JointId, MemberId};
use crate::structure::{Joint, Structure, extent};

use super::equilibrium::Rows;
use super::results::{Place, Reaction, Residual, WholeSums};
use super::spans::{SpanLoad, Spans};

/// The forces of one result that are to balance.
#[derive(Clone, Copy, Debug)]
pub struct Forces<'a> {
    /// What acts on the joints themselves, by rows: newtons, newton-metres.
    pub direct: &'a [f64],
    pub rows: &'a Rows,
    /// Loads on members between their joints.
    pub spans: &'a Spans,
    /// Fx, Fy, M of the loads about the moment centre, from the loads themselves.
    pub resultant: [f64; 3],
    pub reactions: &'a [Reaction],
    pub axial: &'a IdVec<MemberId, f64>,
    pub moments: &'a IdVec<MemberId, [f64; 2]>,
    /// The largest force in play, newtons.
    pub largest: f64,
}

/// The point about which moments are taken: the first support, or the first joint.
pub fn moment_centre(structure: &Structure) -> (Option<JointId>, [f64; 2]) {
    let joint = structure.supports.first().map(|support| support.joint);
    let at = joint.or((!structure.joints.is_empty()).then_some(JointId(0)));
    (joint, at.map_or([0.0; 2], |joint| structure.point(joint)))
}

/// Adds everything up.
pub fn residual(structure: &Structure, forces: Forces<'_>) -> Residual {
    let points: IdVec<JointId, [f64; 2]> = structure.joints.iter().map(Joint::point).collect();
    let (about, [cx, cy]) = moment_centre(structure);
    let size = extent(points.iter().copied());
    let scale = if forces.largest > 0.0 { forces.largest } else { 1.0 };

    let of_joint = |joint| {
        let ([x, y], moment) = forces.rows.of_joint(joint, forces.direct);
        [x, y, moment.unwrap_or(0.0)]
    };
    let mut sums: IdVec<JointId, [f64; 3]> = structure.joints.ids().map(of_joint).collect();
    let mut add = |joint: JointId, x: f64, y: f64, m: f64| {
        let [sx, sy, sm] = &mut sums[joint];
        *sx += x;
        *sy += y;
        *sm += m;
    };
    let mut within: Option<(MemberId, f64, f64)> = None;
    for (id, member) in structure.members.entries() {
        let ([ax, ay], [bx, by]) = (points[member.start], points[member.end]);
        let (dx, dy) = (bx - ax, by - ay);
        let length = dx.hypot(dy);
        let (c, s) = (dx / length, dy / length);
        let [start, end] = if forces.moments.is_empty() { [0.0; 2] } else { forces.moments[id] };
        let loads = forces.spans.get(&id).map_or(&[][..], Vec::as_slice);
        let mut ends = Ends { axial: [forces.axial[id]; 2], shear: [(end - start) / length; 2], moment: [start, end] };
        if !loads.is_empty() {
            let (along, left) = ends.load(length, loads);
            let worst = along.abs().max(left.abs() / length);
            if within.is_none_or(|(_, known, _)| worst > known) {
                within = Some((id, worst, left.abs()));
            }
        }
        // A section pulls its joint towards the member and shears it across.
        let ([n0, n1], [v0, v1], [m0, m1]) = (ends.axial, ends.shear, ends.moment);
        add(member.start, n0 * c + v0 * s, n0 * s - v0 * c, m0);
        add(member.end, -n1 * c - v1 * s, -n1 * s + v1 * c, -m1);
    }
    let mut reactions = [0.0; 3];
    for (support, reaction) in structure.supports.iter().zip(forces.reactions) {
        let [fx, fy] = reaction.force();
        add(support.joint, fx, fy, reaction.m.unwrap_or(0.0));
        let [x, y] = points[support.joint];
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
    for (joint, &[x, y, m]) in sums.entries() {
        let left = x.hypot(y);
        // Without a rotation of its own nothing at the joint takes a moment.
        let turn = if forces.rows.moment(joint).is_some() { m.abs() } else { 0.0 };
        residual.force = residual.force.max(left);
        residual.moment = residual.moment.max(turn);
        let relative = (left / scale).max(turn / (scale * size));
        // A NaN must not slip through a comparison.
        if relative > residual.relative || relative.is_nan() {
            residual.relative = relative;
            residual.worst = Place::Joint(joint);
        }
    }
    if let Some((member, worst, moment)) = within {
        residual.moment = residual.moment.max(moment);
        if worst / scale > residual.relative || worst.is_nan() {
            residual.relative = worst / scale;
            residual.worst = Place::Member(member);
        }
    }
    for (id, axial) in forces.axial.entries() {
        if !axial.is_finite() {
            residual.relative = f64::NAN;
            residual.worst = Place::Member(id);
        }
    }
    residual
}

/// The forces on the outermost sections of a member.
struct Ends {
    axial: [f64; 2],
    shear: [f64; 2],
    moment: [f64; 2],
}

impl Ends {
    /// Adds what the loads between the joints do to the end sections, and
    /// gives what is left of the member's own balance: force along it
    /// (newtons) and moment about its end (newton-metres), from the loads
    /// added up one by one against the end sections.
    fn load(&mut self, length: f64, loads: &[SpanLoad]) -> (f64, f64) {
        for load in loads {
            let [[ai, ci], [aj, cj]] = load.shares(length);
            let ([n0, n1], [v0, v1]) = (&mut self.axial, &mut self.shear);
            *n0 += ai;
            *n1 -= aj;
            *v0 -= ci;
            *v1 += cj;
        }
        let ([n0, n1], [v0, _], [m0, m1]) = (self.axial, self.shear, self.moment);
        let (mut along, mut about_end) = (n1 - n0, m1 - m0 - v0 * length);
        for load in loads {
            match *load {
                SpanLoad::Spread { from, to, along: [a, b], across: [c, d] } => {
                    let span = to - from;
                    along += (a + b) / 2.0 * span;
                    about_end -= c * span * (length - from - span / 2.0);
                    about_end -= (d - c) / 2.0 * span * (length - from - span * 2.0 / 3.0);
                }
                SpanLoad::Point { at, along: a, across } => {
                    along += a;
                    about_end -= across * (length - at);
                }
                SpanLoad::Couple { moment, .. } => about_end += moment,
            }
        }
        (along, about_end)
    }
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
        self.relative <= BALANCE
    }
}
