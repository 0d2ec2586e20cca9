//! Loads as the equilibrium equations take them: forces on joints, in newtons,
//! from everything a case holds.
//!
//! Must not know: the equilibrium matrix.

use crate::base::{CaseId, JointId, MemberId};
use crate::structure::{Delivery, Distributed, LoadKind, Structure};
use crate::syntax::tree::Measure;

/// Forces on joints, two entries a joint (x, y), newtons.
///
/// Loads are added in an order that depends on their places and sizes only,
/// so that moving a line in the source changes no bit of the result.
pub fn joint_forces(structure: &Structure, case: CaseId) -> Vec<f64> {
    let mut parts: Vec<(u32, [f64; 2])> = Vec::new();
    if let Some(case) = structure.cases.get(case.index()) {
        for load in &case.loads {
            match &load.kind {
                LoadKind::JointForce { joint, force: [x, y] } => parts.push((joint.0, [x.to_f64(), y.to_f64()])),
                LoadKind::Distributed(load) if load.delivery == Delivery::AtJoints => {
                    parts.extend(delivered_at_joints(structure, load));
                }
                LoadKind::Weight { member } => {
                    let half = weight(structure, *member) / 2.0;
                    if let Some(member) = structure.member(*member) {
                        parts.push((member.start.0, [0.0, -half]));
                        parts.push((member.end.0, [0.0, -half]));
                    }
                }
                _ => {}
            }
        }
    }
    let key = |(joint, [x, y]): &(u32, [f64; 2])| (*joint, x.to_bits(), y.to_bits());
    if !parts.is_sorted_by_key(key) {
        parts.sort_unstable_by_key(key);
    }
    let mut forces = vec![0.0; structure.joints.len() * 2];
    for (joint, [x, y]) in parts {
        if let Some([fx, fy]) = forces.get_mut(joint as usize * 2..).and_then(|rest| rest.first_chunk_mut::<2>()) {
            *fx += x;
            *fy += y;
        }
    }
    forces
}

/// A member's own weight in newtons; zero where section or material lack what
/// it takes (which the reading has reported).
pub fn weight(structure: &Structure, member: MemberId) -> f64 {
    let section = structure.member(member).and_then(|m| m.section).and_then(|id| structure.sections.get(id.index()));
    let material = section.and_then(|s| s.material).and_then(|id| structure.materials.get(id.index()));
    match (section.and_then(|s| s.area.as_ref()), material.and_then(|m| m.weight.as_ref())) {
        (Some(area), Some(weight)) => area.to_f64() * weight.to_f64() * structure.member_length(member),
        _ => 0.0,
    }
}

/// Force per length of member at the two ends of a distributed load's
/// stretch, and the stretch in metres from the member's first-named joint.
pub fn intensities(structure: &Structure, load: &Distributed) -> ([f64; 2], [f64; 2], f64, f64) {
    let [dx, dy] = structure.member_vector(load.member);
    let length = dx.hypot(dy);
    let share = match load.measure {
        None => 1.0,
        Some(Measure::PerRun) => dx.abs() / length,
        Some(Measure::PerRise) => dy.abs() / length,
    };
    let scaled = |[x, y]: &[crate::quantity::Number; 2]| [x.to_f64() * share, y.to_f64() * share];
    (scaled(&load.start), scaled(&load.end), load.from.to_f64(), load.to.to_f64())
}

/// The two end forces of a simple span under a distributed load.
fn delivered_at_joints(structure: &Structure, load: &Distributed) -> [(u32, [f64; 2]); 2] {
    let (a, b, from, to) = intensities(structure, load);
    let length = structure.member_length(load.member);
    let span = to - from;
    let shares = |wa: f64, wb: f64| {
        let total = (wa + wb) / 2.0 * span;
        // First moment of a trapezoid about the member's start.
        let moment = wa * span * (from + span / 2.0) + (wb - wa) * span / 2.0 * (from + span * 2.0 / 3.0);
        let end = if length > 0.0 { moment / length } else { 0.0 };
        (total - end, end)
    };
    let ([ax, ay], [bx, by]) = (a, b);
    let ((start_x, end_x), (start_y, end_y)) = (shares(ax, bx), shares(ay, by));
    let (start, end) = structure.member(load.member).map_or((JointId(0), JointId(0)), |m| (m.start, m.end));
    [(start.0, [start_x, start_y]), (end.0, [end_x, end_y])]
}

/// The resultant of everything a case holds, straight from its loads and not
/// by way of the joints: Fx, Fy in newtons and the moment about a point in
/// newton-metres. The second value is the largest single force among them.
pub fn resultant(structure: &Structure, case: CaseId, about: [f64; 2]) -> ([f64; 3], f64) {
    let mut sum = [0.0; 3];
    let mut largest = 0.0_f64;
    let mut add = |[x, y]: [f64; 2], [fx, fy]: [f64; 2]| {
        let [ax, ay] = about;
        let [sx, sy, sm] = &mut sum;
        *sx += fx;
        *sy += fy;
        *sm += (x - ax) * fy - (y - ay) * fx;
        largest = largest.max(fx.hypot(fy));
    };
    let point = |joint: JointId| structure.joint(joint).map_or([0.0; 2], |j| [j.x.to_f64(), j.y.to_f64()]);
    let mut couples = 0.0;
    for load in structure.cases.get(case.index()).map_or(&[][..], |case| case.loads.as_slice()) {
        let on_member = |member: MemberId, share: f64| {
            let start = structure.member(member).map_or([0.0; 2], |m| point(m.start));
            let [dx, dy] = structure.member_vector(member);
            let [x, y] = start;
            [x + dx * share, y + dy * share]
        };
        let along = |member: MemberId, at: f64| {
            let length = structure.member_length(member);
            on_member(member, if length > 0.0 { at / length } else { 0.0 })
        };
        match &load.kind {
            LoadKind::JointForce { joint, force: [x, y] } => add(point(*joint), [x.to_f64(), y.to_f64()]),
            LoadKind::JointMoment { moment, .. } | LoadKind::MemberMoment { moment, .. } => couples += moment.to_f64(),
            LoadKind::MemberForce { member, force: [x, y], at } => {
                add(along(*member, at.to_f64()), [x.to_f64(), y.to_f64()]);
            }
            LoadKind::Weight { member } => add(on_member(*member, 0.5), [0.0, -weight(structure, *member)]),
            LoadKind::Distributed(load) => {
                let ([ax, ay], [bx, by], from, to) = intensities(structure, load);
                let span = to - from;
                // A trapezoid as a rectangle and a triangle.
                add(along(load.member, from + span / 2.0), [ax * span, ay * span]);
                let (tx, ty) = ((bx - ax) * span / 2.0, (by - ay) * span / 2.0);
                add(along(load.member, from + span * 2.0 / 3.0), [tx, ty]);
            }
            LoadKind::Heat { .. }
            | LoadKind::Misfit { .. }
            | LoadKind::Settlement { .. }
            | LoadKind::SupportTurn { .. } => {}
        }
    }
    let [x, y, m] = sum;
    ([x, y, m + couples], largest)
}
