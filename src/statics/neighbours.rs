//! Which joints members join, each joint's in one list.
//!
//! Must not know: how anything moves.

use crate::base::JointId;
use crate::structure::Structure;

/// Structures up to so many joints are small: any two joints are near.
const SMALL: usize = 60;
/// Neighbours of neighbours looked at from one joint.
const MOST_PARTNERS: usize = 400;

pub struct Neighbours {
    /// Where each joint's list begins, with the end as a last item.
    starts: Vec<u32>,
    others: Vec<JointId>,
}

impl Neighbours {
    pub fn of(structure: &Structure) -> Neighbours {
        let mut starts = vec![0; structure.joints.len() + 1];
        let ends =
            || structure.members.iter().flat_map(|member| [(member.start, member.end), (member.end, member.start)]);
        for (joint, _) in ends() {
            if let Some(count) = starts.get_mut(joint.index()) {
                *count += 1;
            }
        }
        let mut total = 0;
        for start in &mut starts {
            total += *start;
            *start = total;
        }
        let mut others = vec![JointId(0); total as usize];
        // Filled from the end, so that each list begins where it is last written.
        for (joint, other) in ends() {
            let Some(start) = starts.get_mut(joint.index()) else { continue };
            *start -= 1;
            if let Some(slot) = others.get_mut(*start as usize) {
                *slot = other;
            }
        }
        Neighbours { starts, others }
    }

    pub fn list(&self, joint: JointId) -> &[JointId] {
        let range = self.starts.get(joint.index()..).and_then(|rest| rest.first_chunk::<2>());
        range.and_then(|[start, end]| self.others.get(*start as usize..*end as usize)).unwrap_or(&[])
    }

    /// Joints that a bar from this one might go to: two members away, or any
    /// in a small structure. May name a joint more than once.
    pub fn partners(&self, joint: JointId) -> impl Iterator<Item = JointId> + '_ {
        let joints = self.starts.len().saturating_sub(1);
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
