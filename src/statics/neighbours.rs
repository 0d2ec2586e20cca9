//! Which joints members join, each joint's in one list.
//!
//! Must not know: how anything moves.

use crate::base::{JointId, Lists};
use crate::structure::{Member, Structure};

/// Structures up to so many joints are small: any two joints are near.
const SMALL: usize = 60;
/// Neighbours of neighbours looked at from one joint.
const MOST_PARTNERS: usize = 400;

pub struct Neighbours {
    others: Lists<JointId>,
}

impl Neighbours {
    pub fn of(structure: &Structure) -> Neighbours {
        let ends = |member: &Member| [(member.start.index(), member.end), (member.end.index(), member.start)];
        Neighbours { others: Lists::of(structure.joints.len(), || structure.members.iter().flat_map(ends)) }
    }

    pub fn list(&self, joint: JointId) -> &[JointId] {
        self.others.list(joint.index())
    }

    /// Joints that a bar from this one might go to: two members away, or any
    /// in a small structure. May name a joint more than once.
    pub fn partners(&self, joint: JointId) -> impl Iterator<Item = JointId> + '_ {
        let joints = self.others.len();
        let all = if joints <= SMALL { joints } else { 0 };
        let two_away = self.list(joint).iter().flat_map(|near| self.list(*near)).copied();
        (0..all).map(JointId::new).chain(two_away.take(if all == 0 { MOST_PARTNERS } else { 0 }))
    }

    pub fn are_joined(&self, a: JointId, b: JointId) -> bool {
        let (a, b) = if self.list(a).len() <= self.list(b).len() { (a, b) } else { (b, a) };
        self.list(a).contains(&b)
    }

    /// How many joints both are joined to, counted up to two.
    pub fn common(&self, a: JointId, b: JointId) -> usize {
        self.list(a).iter().take(MOST_PARTNERS).filter(|joint| self.are_joined(**joint, b)).take(2).count()
    }
}
