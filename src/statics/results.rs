//! What a solve gives: reactions, member forces, displacements, the residual,
//! for each case and combination.
//!
//! Must not know: how they were found, how they are shown.

use crate::base::tolerances::ZERO_SHARE;
use crate::base::{CaseId, CombinationId, IdVec, JointId, MemberId, SupportId};
use crate::quantity::Number;
use crate::structure::{Hold, Member, Structure, Support};
use crate::syntax::tree::MemberKind;

use super::diagram::{Deflection, Diagram};
use super::equilibrium::{Component, Equilibrium, Unknown};
use super::spans::Spans;
use super::{flexibility, spans};

/// A load case or a combination.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    Case(CaseId),
    Combination(CombinationId),
}

impl Subject {
    /// The cases it is made of, with their factors.
    pub fn factors(self, structure: &Structure) -> Vec<(CaseId, Number)> {
        match self {
            Subject::Case(id) => vec![(id, Number::ONE)],
            Subject::Combination(id) => structure.combinations[id].factors.clone(),
        }
    }
}

/// The results that count for the structure: of every combination, and of a
/// case that no combination uses.
pub fn judged<'r>(
    structure: &Structure,
    results: impl Iterator<Item = &'r CaseResult>,
) -> impl Iterator<Item = &'r CaseResult> {
    let combined = structure.combined_cases();
    results.filter(move |result| match result.subject {
        Subject::Combination(_) => true,
        Subject::Case(id) => !combined.contains(&id),
    })
}

/// The answers of one case or combination.
#[derive(Clone, Debug)]
pub struct CaseResult {
    pub subject: Subject,
    /// One for each support, in the structure's order.
    pub reactions: IdVec<SupportId, Reaction>,
    /// Newtons, tension positive: one for each member, in the structure's
    /// order. Of a beam loaded along itself, the mean along its length.
    pub axial: IdVec<MemberId, f64>,
    /// Moments at the two ends of each member, newton-metres; empty where the
    /// structure has no beams.
    pub moments: IdVec<MemberId, [f64; 2]>,
    /// Loads on members between their joints.
    pub spans: Spans,
    /// One for each joint; absent where some stiffness is not known.
    pub displacements: Option<IdVec<JointId, Displacement>>,
    pub residual: Residual,
    /// The largest force in play: loads, reactions and member forces, newtons.
    pub largest: f64,
    pub slack: Vec<MemberId>,
    pub lifted: Vec<SupportId>,
}

/// How a joint moves: metres, and radians counterclockwise where it has a
/// rotation of its own.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Displacement {
    pub dx: f64,
    pub dy: f64,
    pub turn: Option<f64>,
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

    /// The moments at a member's two ends; zero where the structure has no beams.
    pub fn end_moments(&self, member: MemberId) -> [f64; 2] {
        if self.moments.is_empty() { [0.0; 2] } else { self.moments[member] }
    }

    /// Axial force, shear and moment along a member.
    pub fn diagram(&self, structure: &Structure, member: MemberId) -> Diagram {
        let moments = self.end_moments(member);
        let loads = self.spans.get(&member).map_or(&[][..], Vec::as_slice);
        Diagram::of(structure.member_length(member), self.axial[member], moments, loads)
    }

    /// How a member moves along its length; absent where stiffness is not known.
    pub fn deflection(&self, structure: &Structure, member: MemberId) -> Option<Vec<Deflection>> {
        let displacements = self.displacements.as_ref()?;
        let Member { start, end, .. } = structure.members[member];
        let ends = [start, end].map(|joint| {
            let moved = displacements[joint];
            spans::local(structure, member, [moved.dx, moved.dy])
        });
        // Hinged at both ends a beam moves its joints without its bending, which may be unknown.
        let diagram = self.diagram(structure, member);
        let is_straight = diagram.stretches.iter().all(|stretch| stretch.moment == [0.0; 4]);
        let bending = if is_straight { 0.0 } else { flexibility::bending(structure, member).known()? };
        // An even axial force lengthens evenly, which the ends show.
        let is_even = matches!(diagram.stretches.as_slice(), [only] if only.axial[1..] == [0.0; 2]);
        let axial = if is_even { 0.0 } else { flexibility::axial(structure, member).known()? };
        Some(diagram.deflection(ends, [axial, bending]))
    }
}

impl Reaction {
    /// The force as a vector, absent components as zero.
    pub fn force(&self) -> [f64; 2] {
        [self.fx.unwrap_or(0.0), self.fy.unwrap_or(0.0)]
    }
}

/// The unknowns by what they belong to.
pub struct Sorted {
    pub axial: IdVec<MemberId, f64>,
    pub moments: IdVec<MemberId, [f64; 2]>,
    pub reactions: IdVec<SupportId, Reaction>,
}

/// A sum of unknowns, each with a factor.
pub type Sum = Vec<(usize, f64)>;

/// The unknowns of a member.
#[derive(Clone, Copy, Debug, Default)]
pub struct MemberColumns {
    pub axial: usize,
    pub moments: [Option<usize>; 2],
}

/// A reaction's components as sums of unknowns.
#[derive(Clone, Debug, Default)]
pub struct SupportColumns {
    pub fx: Option<Sum>,
    pub fy: Option<Sum>,
    pub m: Option<Sum>,
    pub push: Option<Sum>,
}

/// Gives each unknown to its member or support.
pub fn sort_out(structure: &Structure, equilibrium: &Equilibrium, unknowns: &[f64]) -> Sorted {
    let mut axial = IdVec::filled(&structure.members, 0.0);
    let has_beams = equilibrium.unknowns.iter().any(|unknown| matches!(unknown, Unknown::EndMoment(..)));
    let mut moments = if has_beams { IdVec::filled(&structure.members, [0.0; 2]) } else { IdVec::default() };
    let mut reactions = IdVec::filled(&structure.supports, Reaction::default());
    for (unknown, value) in equilibrium.unknowns.iter().zip(unknowns) {
        // Adding zero turns -0 into 0.
        let value = *value + 0.0;
        match unknown {
            Unknown::Axial(member) => axial[*member] = value,
            Unknown::EndMoment(member, end) => moments[*member][*end as usize] = value,
            Unknown::Reaction(support, component) => {
                let slot: &mut Reaction = &mut reactions[*support];
                if *component == Component::Turn {
                    slot.m = Some(value);
                } else {
                    let along = |part: f64| (part != 0.0).then_some(value * part + 0.0);
                    let [x, y] = structure.supports[*support].unit(*component).map(along);
                    (slot.fx, slot.fy) = (x.or(slot.fx), y.or(slot.fy));
                }
            }
        }
    }
    Sorted { axial, moments, reactions }
}

/// The columns of each member's unknowns, and of each support's reaction.
#[derive(Clone, Debug)]
pub struct Columns {
    pub members: IdVec<MemberId, MemberColumns>,
    pub supports: IdVec<SupportId, SupportColumns>,
}

impl Columns {
    pub fn of(structure: &Structure, equilibrium: &Equilibrium) -> Columns {
        let mut members = IdVec::filled(&structure.members, MemberColumns::default());
        let mut supports = IdVec::filled(&structure.supports, SupportColumns::default());
        for (column, unknown) in equilibrium.unknowns.iter().enumerate() {
            match unknown {
                Unknown::Axial(member) => members[*member].axial = column,
                Unknown::EndMoment(member, end) => members[*member].moments[*end as usize] = Some(column),
                Unknown::Reaction(support, component) => {
                    let slot: &mut SupportColumns = &mut supports[*support];
                    if *component == Component::Turn {
                        slot.m = Some(vec![(column, 1.0)]);
                        continue;
                    }
                    let along = |part: f64| (part != 0.0).then(|| vec![(column, part)]);
                    let [x, y] = structure.supports[*support].unit(*component).map(along);
                    slot.fx = x.or(slot.fx.take());
                    slot.fy = y.or(slot.fy.take());
                    if *component == Component::Normal {
                        slot.push = Some(vec![(column, 1.0)]);
                    }
                }
            }
        }
        Columns { members, supports }
    }
}

/// The cables that would have to push: `least` is the least axial force of each.
pub(super) fn slack_cables(structure: &Structure, least: impl Fn(MemberId) -> f64, largest: f64) -> Vec<MemberId> {
    let is_slack =
        |(id, member): &(MemberId, &Member)| member.kind == MemberKind::Cable && least(*id) < -ZERO_SHARE * largest;
    structure.members.entries().filter(is_slack).map(|(id, _)| id).collect()
}

/// The rollers that only push and would have to pull: `least` is the least push of each.
pub(super) fn lifted_rollers(
    structure: &Structure,
    least: impl Fn(SupportId) -> Option<f64>,
    largest: f64,
) -> Vec<SupportId> {
    let is_lifted = |(id, support): &(SupportId, &Support)| {
        support.held.hold == Hold::LiftsOff && least(*id).is_some_and(|push| push < -ZERO_SHARE * largest)
    };
    structure.supports.entries().filter(is_lifted).map(|(id, _)| id).collect()
}
