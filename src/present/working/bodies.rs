//! The structure divided into what moves as one: rigid bodies, links that
//! carry one force along themselves, and joints where links alone meet.
//!
//! Beams rigidly joined are one body; bodies that share two joints, or three
//! that share one pairwise and not in a line, are one (how trusses are put
//! together, common practice).
//!
//! Must not know: loads' sizes, the order in which anything is solved.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::{JointId, MemberId};
use crate::statics::equilibrium::{End, Points, hinged_joints, holds_moment};
use crate::structure::{Structure, SupportKind};

/// Pieces that do not move in themselves.
#[derive(Clone, Debug)]
pub struct Body {
    /// Ascending.
    pub joints: Vec<JointId>,
    pub members: Vec<MemberId>,
    pub form: Form,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Rigid,
    /// Two joints, nothing between them: one force along the line of both.
    Link(MemberId),
    /// A joint at which links alone meet.
    Pin,
}

/// How far a structure is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grain {
    /// What its members make rigid stays one.
    Assemblies,
    /// Only beams rigidly joined stay one.
    Beams,
}

/// Divides a structure. `is_loaded` tells members that carry loads between
/// their joints.
pub fn divide(
    structure: &Structure,
    grain: Grain,
    is_loaded: &dyn Fn(MemberId) -> bool,
    couples: &BTreeSet<JointId>,
) -> Vec<Body> {
    let points = Points::of(structure);
    let mut sets: Vec<(BTreeSet<JointId>, Vec<MemberId>)> = rigid_beams(structure);
    while grain == Grain::Assemblies && merge_once(&mut sets, &points) {}
    let hinged = hinged_joints(structure);
    let turns_held = |joint: JointId| {
        couples.contains(&joint)
            || structure.support_at(joint).is_some_and(|(_, support)| {
                matches!(
                    support.kind,
                    SupportKind::Fixed | SupportKind::Guide { .. } | SupportKind::Spring { turn: Some(_), .. }
                )
            })
    };
    let is_held = |member: &crate::structure::Member| {
        let holds = |end, joint| holds_moment(member, end, &hinged) && turns_held(joint);
        holds(End::Start, member.start) || holds(End::Finish, member.end)
    };
    let is_link = |members: &[MemberId]| match members {
        [only] if !is_loaded(*only) => structure.member(*only).is_some_and(|member| !is_held(member)),
        _ => false,
    };
    let mut bodies: Vec<Body> = sets
        .into_iter()
        .map(|(joints, members)| {
            let form = match members.as_slice() {
                [only] if is_link(&members) => Form::Link(*only),
                _ => Form::Rigid,
            };
            Body { joints: joints.into_iter().collect(), members, form }
        })
        .collect();
    let held: BTreeSet<JointId> =
        bodies.iter().filter(|body| body.form == Form::Rigid).flat_map(|body| body.joints.iter().copied()).collect();
    for joint in (0..structure.joints.len()).map(JointId::new).filter(|joint| !held.contains(joint)) {
        bodies.push(Body { joints: vec![joint], members: Vec::new(), form: Form::Pin });
    }
    bodies.sort_by_key(|body| (body.form != Form::Rigid, body.joints.clone()));
    bodies
}

/// Each member, with the beams it is rigidly joined to.
fn rigid_beams(structure: &Structure) -> Vec<(BTreeSet<JointId>, Vec<MemberId>)> {
    let hinged = hinged_joints(structure);
    let mut at: BTreeMap<JointId, Vec<usize>> = BTreeMap::new();
    for (index, member) in structure.members.iter().enumerate() {
        for (end, joint) in [(End::Start, member.start), (End::Finish, member.end)] {
            if holds_moment(member, end, &hinged) {
                at.entry(joint).or_default().push(index);
            }
        }
    }
    let mut of: Vec<usize> = (0..structure.members.len()).collect();
    for joined in at.values() {
        let Some(first) = joined.first().and_then(|first| of.get(*first)).copied() else { continue };
        let others: BTreeSet<usize> = joined.iter().filter_map(|index| of.get(*index).copied()).collect();
        of.iter_mut().filter(|own| others.contains(own)).for_each(|own| *own = first);
    }
    let mut sets: BTreeMap<usize, (BTreeSet<JointId>, Vec<MemberId>)> = BTreeMap::new();
    for (index, (member, own)) in structure.members.iter().zip(of).enumerate() {
        let (joints, members) = sets.entry(own).or_default();
        joints.extend([member.start, member.end]);
        members.push(MemberId::new(index));
    }
    sets.into_values().collect()
}

type Set = (BTreeSet<JointId>, Vec<MemberId>);

/// Joins bodies that hold each other; whether any did.
fn merge_once(sets: &mut Vec<Set>, points: &Points) -> bool {
    let mut at: BTreeMap<JointId, Vec<usize>> = BTreeMap::new();
    for (index, (joints, _)) in sets.iter().enumerate() {
        for joint in joints {
            at.entry(*joint).or_default().push(index);
        }
    }
    for (first, (joints, _)) in sets.iter().enumerate() {
        // Who shares which joint with this body.
        let mut met: BTreeMap<usize, JointId> = BTreeMap::new();
        for joint in joints {
            for other in at.get(joint).into_iter().flatten().copied().filter(|other| *other != first) {
                if met.insert(other, *joint).is_some_and(|before| before != *joint) {
                    join(sets, &[first, other]);
                    return true;
                }
            }
        }
        for (second, shared) in &met {
            let Some((seconds, _)) = sets.get(*second) else { continue };
            for apex in seconds.iter().filter(|joint| *joint != shared) {
                for third in at.get(apex).into_iter().flatten() {
                    let Some(other) = met.get(third).filter(|_| third != second) else { continue };
                    if other != shared && !points.turn(*shared, *other, *apex).is_eq() {
                        let all = [first, *second, *third];
                        join(sets, &all);
                        return true;
                    }
                }
            }
        }
    }
    false
}

fn join(sets: &mut Vec<Set>, which: &[usize]) {
    let mut whole: Set = Set::default();
    for index in which {
        if let Some((joints, members)) = sets.get_mut(*index) {
            whole.0.append(joints);
            whole.1.append(members);
        }
    }
    whole.1.sort_unstable();
    sets.retain(|(joints, _)| !joints.is_empty());
    sets.push(whole);
}
