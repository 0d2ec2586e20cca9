//! The unknowns of the equations by what they belong to: axial forces, end
//! moments, reactions.
//!
//! Must not know: how the equations are solved.

use crate::base::{IdVec, MemberId, SupportId};
use crate::structure::Structure;

use super::equilibrium::{Component, Equilibrium, Unknown};
use super::results::Reaction;

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

/// The columns of each member's unknowns.
pub fn member_columns(structure: &Structure, equilibrium: &Equilibrium) -> IdVec<MemberId, MemberColumns> {
    let mut columns = IdVec::filled(&structure.members, MemberColumns::default());
    for (column, unknown) in equilibrium.unknowns.iter().enumerate() {
        match unknown {
            Unknown::Axial(member) => columns[*member].axial = column,
            Unknown::EndMoment(member, end) => columns[*member].moments[*end as usize] = Some(column),
            Unknown::Reaction(..) => {}
        }
    }
    columns
}

/// The columns of each support's reaction.
pub fn support_columns(structure: &Structure, equilibrium: &Equilibrium) -> IdVec<SupportId, SupportColumns> {
    let mut columns = IdVec::filled(&structure.supports, SupportColumns::default());
    for (column, unknown) in equilibrium.unknowns.iter().enumerate() {
        let Unknown::Reaction(support, component) = unknown else { continue };
        let slot: &mut SupportColumns = &mut columns[*support];
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
    columns
}
