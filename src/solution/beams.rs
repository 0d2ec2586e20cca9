//! The beams of a frame: in which order their ends can be worked out, and what
//! acts on a joint besides one of them.
//!
//! Must not know: how reactions and redundants were found.

use std::collections::BTreeSet;

use crate::base::{JointId, MemberId};
use crate::statics::{CaseResult, End};
use crate::syntax::tree::MemberKind;

use super::loads::Loads;
use super::part::{Acting, Kind, Place, Size};
use super::problem::{Direction, Problem};

/// The beams in the order in which they can be worked out, each with the end
/// at which all others are known before it; none where there is no such end.
pub fn in_order(problem: &Problem<'_>, beams: &[MemberId]) -> Vec<(MemberId, Option<End>)> {
    let members = &problem.structure.members;
    let mut left: BTreeSet<MemberId> = beams.iter().copied().collect();
    let mut order = Vec::new();
    while let Some(first) = left.first().copied() {
        let is_next = |beam: MemberId, joint: JointId| {
            let at_joint = |other: &MemberId| members[*other].start == joint || members[*other].end == joint;
            !left.iter().any(|other| *other != beam && at_joint(other))
        };
        let ends = |beam: MemberId| [(End::Start, members[beam].start), (End::Finish, members[beam].end)];
        let next = left.iter().find_map(|beam| {
            let (end, _) = ends(*beam).into_iter().find(|(_, joint)| is_next(*beam, *joint))?;
            Some((*beam, Some(end)))
        });
        let (beam, end) = next.unwrap_or((first, None));
        left.remove(&beam);
        order.push((beam, end));
    }
    order
}

/// Everything on a joint but one beam: loads, reactions, bars, other beams.
pub fn on_joint(
    problem: &Problem<'_>,
    loads: &Loads,
    result: &CaseResult,
    joint: JointId,
    without: MemberId,
) -> Vec<Acting> {
    let force = |direction, size| Acting::at_joint(problem, joint, Kind::Force(direction), size);
    let couple = |moment| Acting::at_joint(problem, joint, Kind::Couple, Size::Found(moment));
    let mut part: Vec<Acting> =
        loads.each.iter().filter(|acting| acting.place == Place::Joint(joint)).copied().collect();
    if let Some((id, _)) = problem.structure.support_at(joint) {
        let reaction = &result.reactions[id];
        let [fx, fy] = reaction.force();
        part.extend([force(Direction::X, Size::Found(fx)), force(Direction::Y, Size::Found(fy))]);
        part.extend(reaction.m.map(couple));
    }
    for (id, member) in problem.structure.members.entries() {
        if id == without || (member.start != joint && member.end != joint) {
            continue;
        }
        if member.kind != MemberKind::Beam {
            let other = if member.start == joint { member.end } else { member.start };
            part.push(force(problem.between(joint, other), Size::Found(result.axial[id])));
            continue;
        }
        let diagram = result.diagram(problem.structure, id);
        let along = problem.between(member.start, member.end);
        let (section, sign) = if member.start == joint { (diagram.start(), 1.0) } else { (diagram.end(), -1.0) };
        part.push(force(along, Size::Found(sign * section.axial)));
        part.push(force(along.left(), Size::Found(-sign * section.shear)));
        part.push(couple(sign * section.moment));
    }
    part.retain(|acting| {
        let size = acting.size.known().unwrap_or(0.0);
        match acting.kind {
            Kind::Force(_) => problem.quiet(size) != 0.0,
            Kind::Couple => problem.quiet_moment(size) != 0.0,
        }
    });
    part
}
