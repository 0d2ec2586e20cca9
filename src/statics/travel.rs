//! Moving loads: what a train of loads causes at most, wherever it stands on
//! its path, driven either way.
//!
//! Nothing is sampled. Between two places where a load passes a joint, every
//! force is a polynomial of the train's position: linear in a determinate
//! structure, cubic in a redundant one, one degree more for the moment under a
//! moving load. It comes from the answers to unit loads and unit end turns
//! along the path (influence lines), and its extremes lie at the ends of such
//! a stretch or where its derivative vanishes. Over the member the moment has
//! its extremes under a load or at an end, for it is linear in between.
//!
//! Positions beyond the path act on nothing. Before the train arrives all is
//! zero, so every range holds zero.
//!
//! Must not know: words for people, cases.

mod balance;
mod influence;
mod sweep;

use crate::base::{IdVec, MemberId, SupportId, TravelId};
use crate::numeric::NumericError;
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::diagram::Quantity;
use super::equations::Equations;
use super::equilibrium::Equilibrium;
use super::results::{Reaction, Residual, lifted_rollers, slack_cables};

pub use influence::Influence;

/// Numbers kept for one train: answers to unit loads along its path.
pub const MOST_NUMBERS: u128 = 1 << 24;
/// Steps of one sweep: positions between breakpoints × loads and forces followed.
pub const MOST_STEPS: u128 = 1 << 30;

/// Which way the train runs, its leading load in front.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heading {
    /// From the path's first joint to its last.
    Onward,
    Back,
}

/// Where a train stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrainPosition {
    /// The leading load, metres along the path from its first joint; negative
    /// or more than the path where it has left.
    pub front: f64,
    pub heading: Heading,
    /// The loads on the path, first and last, by their place in the train.
    /// Tells on which side of a joint at the path's end a load is.
    pub on: [usize; 2],
}

/// A largest or smallest value of a range.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Peak {
    /// Newtons or newton-metres.
    pub value: f64,
    /// Metres from the member's first-named joint; zero for reactions.
    pub at: f64,
    /// `None` with the train away from the structure.
    pub train: Option<TrainPosition>,
}

/// From the least to the most a train causes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Range {
    pub least: Peak,
    pub most: Peak,
}

/// What a support does to the structure. A component it cannot give is absent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ReactionRange {
    pub fx: Option<Range>,
    pub fy: Option<Range>,
    pub m: Option<Range>,
    /// Along a roller's line, positive where it pushes.
    pub push: Option<Range>,
    /// The largest force, whatever its direction.
    pub size: Peak,
}

/// The forces in a member, wherever along it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MemberRange {
    /// Tension positive.
    pub axial: Range,
    /// Absent for bars and cables.
    pub bending: Option<BendingRange>,
}

/// Signs as in [`super::diagram`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BendingRange {
    pub shear: Range,
    pub moment: Range,
    /// At the member's first-named joint, and at the other.
    pub ends: [Range; 2],
}

/// The answers of one travelling load.
#[derive(Clone, Debug)]
pub struct TravelResult {
    pub travel: TravelId,
    /// One for each support, in the structure's order.
    pub reactions: IdVec<SupportId, ReactionRange>,
    /// One for each member, in the structure's order.
    pub members: IdVec<MemberId, MemberRange>,
    /// The largest force in play: loads, reactions and member forces, newtons.
    pub largest: f64,
    /// Cables that would have to push in some position.
    pub slack: Vec<MemberId>,
    /// Rollers that only push and would have to pull in some position.
    pub lifted: Vec<SupportId>,
    /// The worst of the residuals of the governing positions, each added up
    /// as a case of its own.
    pub residual: Residual,
    /// How many positions were added up.
    pub checked: usize,
    influence: Influence,
}

/// A force that a claim follows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Probe {
    /// The part of a reaction along a direction, of any length.
    Reaction(SupportId, [f64; 2]),
    /// At a place of a member, metres from its first-named joint.
    Section(MemberId, f64, Quantity),
}

/// Why a travelling load was not followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooLong {
    pub travel: TravelId,
    /// What this one takes, what those followed before it took, and the limit
    /// that both together go beyond.
    pub size: u128,
    pub before: u128,
    pub limit: u128,
}

/// What following the trains of a structure has taken so far: the limits are
/// for all of them together.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Spent {
    pub numbers: u128,
    pub steps: u128,
}

/// Follows one train; `Ok(Err(_))` where it is beyond the limits.
pub(super) fn follow(
    structure: &Structure,
    equilibrium: &Equilibrium,
    equations: &Equations,
    id: TravelId,
    spent: &mut Spent,
) -> Result<Result<TravelResult, TooLong>, NumericError> {
    let influence = match Influence::of(structure, equilibrium, equations, id, spent)? {
        Ok(influence) => influence,
        Err(refused) => return Ok(Err(refused)),
    };
    let (reactions, members) = sweep::ranges(structure, &influence);
    let largest = largest(&influence, &reactions, &members);
    let positions = balance::governing(&reactions, &members);
    let residual = balance::worst(structure, equilibrium, &influence, &positions, largest);
    let reactions: IdVec<SupportId, ReactionRange> = reactions.into();
    let members: IdVec<MemberId, MemberRange> = members.into();
    let slack = slack_cables(structure, |id| members[id].axial.least.value, largest);
    let lifted = lifted_rollers(structure, |id| Some(reactions[id].push?.least.value), largest);
    let checked = positions.len();
    Ok(Ok(TravelResult { travel: id, reactions, members, largest, slack, lifted, residual, checked, influence }))
}

fn largest(influence: &Influence, reactions: &[ReactionRange], members: &[MemberRange]) -> f64 {
    let loads = influence.loads().iter().map(|[x, y]| x.hypot(*y));
    let supports = reactions.iter().map(|reaction| reaction.size.value);
    let forces = members.iter().flat_map(|member| {
        let shear = member.bending.map_or(0.0, |bending| bending.shear.largest().value.abs());
        [member.axial.largest().value.abs(), shear]
    });
    loads.chain(supports).chain(forces).fold(0.0, f64::max)
}

impl Range {
    /// The end of larger size.
    pub fn largest(&self) -> Peak {
        if -self.least.value > self.most.value { self.least } else { self.most }
    }

    /// The same force seen along a line on which it measures `factor` times.
    #[must_use]
    pub fn times(&self, factor: f64) -> Range {
        let scaled = |peak: Peak| Peak { value: peak.value * factor + 0.0, ..peak };
        let (least, most) = (scaled(self.least), scaled(self.most));
        if factor < 0.0 { Range { least: most, most: least } } else { Range { least, most } }
    }
}

impl TravelResult {
    /// The range of a force at a place or along a direction.
    pub fn range(&self, structure: &Structure, probe: Probe) -> Range {
        sweep::range(structure, &self.influence, probe)
    }

    /// What a support does with the train at one position.
    pub fn reaction(&self, support: SupportId, train: TrainPosition) -> Reaction {
        self.influence.reaction(support, train)
    }
}

/// Whether a member can carry a load between its joints.
fn bends(structure: &Structure, member: MemberId) -> bool {
    structure.members[member].kind == MemberKind::Beam
}
