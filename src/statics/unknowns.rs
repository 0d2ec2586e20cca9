//! The unknowns of the equations by what they belong to: axial forces, end
//! moments, reactions.
//!
//! Must not know: how the equations are solved.

use crate::base::SupportId;
use crate::structure::{Structure, SupportKind};

use super::equilibrium::{Component, End, Equilibrium, Unknown};
use super::results::Reaction;

/// The unknowns by what they belong to.
pub struct Sorted {
    pub axial: Vec<f64>,
    pub moments: Vec<[f64; 2]>,
    pub reactions: Vec<Reaction>,
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
    let mut axial = vec![0.0; structure.members.len()];
    let has_beams = equilibrium.unknowns.iter().any(|unknown| matches!(unknown, Unknown::EndMoment(..)));
    let mut moments = if has_beams { vec![[0.0; 2]; structure.members.len()] } else { Vec::new() };
    let mut reactions = vec![Reaction::default(); structure.supports.len()];
    for (unknown, value) in equilibrium.unknowns.iter().zip(unknowns) {
        // Adding zero turns -0 into 0.
        let value = *value + 0.0;
        match unknown {
            Unknown::Axial(member) => {
                if let Some(slot) = axial.get_mut(member.index()) {
                    *slot = value;
                }
            }
            Unknown::EndMoment(member, end) => {
                if let Some([start, finish]) = moments.get_mut(member.index()) {
                    *(match end {
                        End::Start => start,
                        End::Finish => finish,
                    }) = value;
                }
            }
            Unknown::Reaction(support, component) => {
                let Some(slot) = reactions.get_mut(support.index()) else { continue };
                match component {
                    Component::X => slot.fx = Some(value),
                    Component::Y => slot.fy = Some(value),
                    Component::Normal => add_normal(structure, *support, value, slot),
                    Component::Turn => slot.m = Some(value),
                }
            }
        }
    }
    Sorted { axial, moments, reactions }
}

fn add_normal(structure: &Structure, support: SupportId, value: f64, slot: &mut Reaction) {
    let normal = match structure.supports.get(support.index()).map(|support| &support.kind) {
        Some(SupportKind::Roller(roller)) => &roller.normal,
        Some(SupportKind::Guide { normal }) => normal,
        _ => return,
    };
    let [x, y] = normal;
    let (nx, ny) = (x.to_f64(), y.to_f64());
    let length = nx.hypot(ny);
    if nx != 0.0 {
        slot.fx = Some(value * nx / length + 0.0);
    }
    if ny != 0.0 {
        slot.fy = Some(value * ny / length + 0.0);
    }
}

/// The columns of each member's unknowns.
pub fn member_columns(structure: &Structure, equilibrium: &Equilibrium) -> Vec<MemberColumns> {
    let mut columns = vec![MemberColumns::default(); structure.members.len()];
    for (column, unknown) in equilibrium.unknowns.iter().enumerate() {
        match unknown {
            Unknown::Axial(member) => {
                if let Some(slot) = columns.get_mut(member.index()) {
                    slot.axial = column;
                }
            }
            Unknown::EndMoment(member, end) => {
                if let Some(MemberColumns { moments: [start, finish], .. }) = columns.get_mut(member.index()) {
                    *(if *end == End::Start { start } else { finish }) = Some(column);
                }
            }
            Unknown::Reaction(..) => {}
        }
    }
    columns
}

/// The columns of each support's reaction.
pub fn support_columns(structure: &Structure, equilibrium: &Equilibrium) -> Vec<SupportColumns> {
    let mut columns = vec![SupportColumns::default(); structure.supports.len()];
    for (column, unknown) in equilibrium.unknowns.iter().enumerate() {
        let Unknown::Reaction(support, component) = unknown else { continue };
        let Some(slot) = columns.get_mut(support.index()) else { continue };
        match component {
            Component::X => slot.fx = Some(vec![(column, 1.0)]),
            Component::Y => slot.fy = Some(vec![(column, 1.0)]),
            Component::Turn => slot.m = Some(vec![(column, 1.0)]),
            Component::Normal => {
                let normal = match structure.supports.get(support.index()).map(|support| &support.kind) {
                    Some(SupportKind::Roller(roller)) => &roller.normal,
                    Some(SupportKind::Guide { normal }) => normal,
                    _ => continue,
                };
                let [x, y] = normal.each_ref().map(|part| part.to_f64());
                let length = x.hypot(y);
                slot.fx = (x != 0.0).then(|| vec![(column, x / length)]);
                slot.fy = (y != 0.0).then(|| vec![(column, y / length)]);
                slot.push = Some(vec![(column, 1.0)]);
            }
        }
    }
    columns
}
