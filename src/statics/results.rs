//! What a solve gives: reactions, member forces, displacements, the residual,
//! for each case and combination.
//!
//! Must not know: how they were found, how they are shown.

use crate::base::{CaseId, ComboId, JointId, MemberId, SupportId};

/// A load case or a combination.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    Case(CaseId),
    Combo(ComboId),
}

/// The answers of one case or combination.
#[derive(Clone, Debug)]
pub struct CaseResult {
    pub subject: Subject,
    /// One for each support, in the structure's order.
    pub reactions: Vec<Reaction>,
    /// Newtons, tension positive: one for each member, in the structure's order.
    pub axial: Vec<f64>,
    pub residual: Residual,
    /// The largest force in play: loads, reactions and member forces, newtons.
    pub largest: f64,
    pub slack: Vec<MemberId>,
    pub lifted: Vec<SupportId>,
}

/// What a support does to the structure. A component it cannot give is absent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Reaction {
    /// Newtons.
    pub fx: Option<f64>,
    pub fy: Option<f64>,
    /// Newton-metres, counterclockwise positive.
    pub m: Option<f64>,
}

/// The worst sum that should be zero, from the result alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// The worst of all, relative to the largest force in play (moments:
    /// times the size of the structure).
    pub relative: f64,
    pub worst: Place,
    /// The largest force left over, newtons.
    pub force: f64,
    /// The largest moment left over, newton-metres.
    pub moment: f64,
    /// The sums over the whole structure: Fx, Fy (newtons) and M about
    /// `about` (newton-metres), loads and reactions apart.
    pub whole: WholeSums,
}

/// Where a sum was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    Structure,
    Joint(JointId),
    Member(MemberId),
}

/// Loads and reactions added up over the whole structure.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WholeSums {
    pub loads: [f64; 3],
    pub reactions: [f64; 3],
    /// The support about which moments are taken.
    pub about: Option<JointId>,
}

impl CaseResult {
    /// Whether the result can be what happens: no cable pushes, no one-way
    /// roller pulls.
    pub fn holds(&self) -> bool {
        self.slack.is_empty() && self.lifted.is_empty()
    }
}

impl Reaction {
    /// The force as a vector, absent components as zero.
    pub fn force(&self) -> [f64; 2] {
        [self.fx.unwrap_or(0.0), self.fy.unwrap_or(0.0)]
    }
}
