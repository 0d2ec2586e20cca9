//! The structure divided into what moves as one: rigid bodies, links that
//! carry one force along themselves, and joints where links alone meet.
//!
//! Beams rigidly joined are one body; bodies that share two joints, or three
//! that share one pairwise and not in a line, are one (how trusses are put
//! together, common practice).
//!
//! Must not know: loads' sizes, the order in which anything is solved.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::ids::typed_id;
use crate::base::{DisjointSets, IdVec, JointId, MemberId};
use crate::statics::equilibrium::{End, Points, hinged_joints, holds_moment};
use crate::structure::Structure;

use super::part::Acting;

typed_id!(BodyId);

/// Pieces that do not move in themselves, and what acts on them.
#[derive(Clone, Debug)]
pub struct Body {
    /// Ascending.
    pub joints: Vec<JointId>,
    pub members: Vec<MemberId>,
    pub form: Form,
    pub part: Vec<Acting>,
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
pub enum Division {
    /// Not at all.
    Whole,
    /// What its members make rigid stays one.
    Assemblies,
    /// Only beams rigidly joined stay one.
    Beams,
    /// Every joint of a truss by itself.
    Joints,
}

/// What bears on members between their joints, and on joints as a couple.
#[derive(Default)]
pub struct Loaded {
    pub members: BTreeSet<MemberId>,
    pub turned: BTreeSet<JointId>,
}

/// Divides a structure.
pub fn divide(structure: &Structure, division: Division, loaded: &Loaded) -> Vec<Body> {
    let of = |joints, members, form| Body { joints, members, form, part: Vec::new() };
    let ends = |member: MemberId| [structure.members[member].start, structure.members[member].end];
    match division {
        Division::Whole => return vec![of(structure.joints.ids().collect(), Vec::new(), Form::Rigid)],
        Division::Joints => {
            let pins = structure.joints.ids().map(|joint| of(vec![joint], Vec::new(), Form::Pin));
            let link = |member| of(ends(member).to_vec(), vec![member], Form::Link(member));
            return pins.chain(structure.members.ids().map(link)).collect();
        }
        Division::Assemblies | Division::Beams => {}
    }
    let mut sets = rigid_beams(structure);
    if division == Division::Assemblies {
        let points = Points::of(structure);
        while merge_once(&mut sets, &points) {}
    }
    let hinged = hinged_joints(structure);
    let is_turned = |joint| {
        loaded.turned.contains(&joint)
            || structure.support_at(joint).is_some_and(|(_, support)| support.holds_rotation())
    };
    let is_link = |id: MemberId| {
        let member = &structure.members[id];
        let is_held = |end, joint| holds_moment(member, end, &hinged) && is_turned(joint);
        !loaded.members.contains(&id) && !is_held(End::Start, member.start) && !is_held(End::Finish, member.end)
    };
    let body = |(joints, members): Set| {
        let form = match members.as_slice() {
            [only] if is_link(*only) => Form::Link(*only),
            _ => Form::Rigid,
        };
        of(joints.into_iter().collect(), members, form)
    };
    let mut bodies: Vec<Body> = sets.into_iter().map(body).collect();
    let rigid = bodies.iter().filter(|body| body.form == Form::Rigid);
    let held: BTreeSet<JointId> = rigid.flat_map(|body| body.joints.iter().copied()).collect();
    let loose = structure.joints.ids().filter(|joint| !held.contains(joint));
    bodies.extend(loose.map(|joint| of(vec![joint], Vec::new(), Form::Pin)));
    bodies.sort_by_key(|body| (body.form != Form::Rigid, body.joints.clone()));
    bodies
}

type Set = (BTreeSet<JointId>, Vec<MemberId>);

/// Each member, with the beams it is rigidly joined to.
fn rigid_beams(structure: &Structure) -> Vec<Set> {
    let hinged = hinged_joints(structure);
    let mut joined = DisjointSets::new(structure.members.len());
    let mut first_at: IdVec<JointId, Option<MemberId>> = IdVec::filled(&structure.joints, None);
    for (id, member) in structure.members.entries() {
        for (end, joint) in [(End::Start, member.start), (End::Finish, member.end)] {
            if holds_moment(member, end, &hinged) {
                let first = *first_at[joint].get_or_insert(id);
                joined.join(first.index(), id.index());
            }
        }
    }
    // In the order of their first members.
    let mut sets: BTreeMap<u32, Set> = BTreeMap::new();
    for ((id, member), root) in structure.members.entries().zip(joined.into_roots()) {
        let (joints, members) = sets.entry(root).or_default();
        joints.extend([member.start, member.end]);
        members.push(id);
    }
    sets.into_values().collect()
}

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
