//! What gives: each unknown's flexibility, and the deformations that loads,
//! heat, misfits and settlements would cause if it carried nothing.
//!
//! The deformation that goes with an unknown is `e = F f + e0`, and joints move
//! so that `e = -Bᵀu`: for an axial force the lengthening, for an end moment
//! the turn of the end against the chord, for a reaction the movement of the
//! support against its sense.
//!
//! Must not know: how the equations are solved.

use std::collections::BTreeMap;

use crate::base::{CaseId, IdVec, JointId, MemberId};
use crate::numeric::Flexibility;
use crate::structure::{Imposed, Section, Stiffness, Structure};

use super::diagram::Diagram;
use super::equilibrium::{End, Equilibrium, Restraint, Unknown};
use super::spans::{Piece, Spans};

/// One over a stiffness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Compliance {
    Unknown,
    Rigid,
    /// Per newton, or per newton square metre.
    Value(f64),
}

impl Compliance {
    pub const fn is_known(self) -> bool {
        !matches!(self, Compliance::Unknown)
    }

    /// Zero for a rigid member.
    pub fn known(self) -> Option<f64> {
        match self {
            Compliance::Unknown => None,
            Compliance::Rigid => Some(0.0),
            Compliance::Value(value) => Some(value),
        }
    }
}

fn compliance(
    structure: &Structure,
    section: &Section,
    given: Option<&Stiffness>,
    property: Option<&crate::quantity::Number>,
) -> Compliance {
    match given {
        Some(Stiffness::Rigid) => return Compliance::Rigid,
        Some(Stiffness::Value(value)) => return Compliance::Value(1.0 / value.to_f64()),
        None => {}
    }
    let material = section.material.map(|id| &structure.materials[id]);
    match (property, material.and_then(|material| material.elasticity.as_ref())) {
        (Some(property), Some(elasticity)) => Compliance::Value(1.0 / (property.to_f64() * elasticity.to_f64())),
        _ => Compliance::Unknown,
    }
}

/// 1/EA.
pub fn axial(structure: &Structure, member: MemberId) -> Compliance {
    structure.section_of(member).map_or(Compliance::Unknown, |section| {
        compliance(structure, section, section.axial_stiffness.as_ref(), section.area.as_ref())
    })
}

/// 1/EI.
pub fn bending(structure: &Structure, member: MemberId) -> Compliance {
    structure.section_of(member).map_or(Compliance::Unknown, |section| {
        compliance(structure, section, section.bending_stiffness.as_ref(), section.second_moment.as_ref())
    })
}

/// Whether the flexibility that goes with an unknown is known.
pub fn is_known(structure: &Structure, unknown: &Unknown) -> bool {
    match unknown {
        Unknown::Axial(member) => axial(structure, *member).is_known(),
        Unknown::EndMoment(member, _) => bending(structure, *member).is_known(),
        Unknown::Reaction(..) => true,
    }
}

/// Whether every member's stiffness is known, so that joints' movements follow.
pub fn all_known(structure: &Structure, equilibrium: &Equilibrium) -> bool {
    equilibrium.unknowns.iter().all(|unknown| is_known(structure, unknown))
}

/// The flexibility of every column.
///
/// Unknown flexibilities are filled in with some of a likely size: they have
/// no influence where statics alone gives the force, and are refused elsewhere.
pub fn flexibilities(structure: &Structure, equilibrium: &Equilibrium) -> Flexibility {
    let likely = structure
        .members
        .iter()
        .enumerate()
        .find_map(|(index, _)| match axial(structure, MemberId::new(index)) {
            Compliance::Value(value) => Some(value),
            _ => None,
        })
        .unwrap_or(1e-7);
    let mut diagonal = Vec::with_capacity(equilibrium.unknowns.len());
    let mut coupled = Vec::new();
    let mut start_column: Option<(MemberId, u32)> = None;
    for (column, unknown) in equilibrium.unknowns.iter().enumerate() {
        let column = u32::try_from(column).unwrap_or(u32::MAX);
        let value = match unknown {
            Unknown::Axial(member) => {
                axial(structure, *member).known().unwrap_or(likely) * structure.member_length(*member)
            }
            Unknown::EndMoment(member, end) => {
                let length = structure.member_length(*member);
                // A section about as deep as a twentieth of its length.
                let per_moment = bending(structure, *member).known().unwrap_or(likely * 1200.0 / (length * length));
                match (end, start_column) {
                    (End::Start, _) => start_column = Some((*member, column)),
                    (End::Finish, Some((other, start))) if other == *member => {
                        coupled.push((start, column, length / 6.0 * per_moment));
                    }
                    _ => {}
                }
                length / 3.0 * per_moment
            }
            Unknown::Reaction(support, component) => {
                let stiffness = structure.supports[*support].stiffness(*component);
                stiffness.map_or(0.0, |stiffness| 1.0 / stiffness.to_f64())
            }
        };
        diagonal.push(value);
    }
    coupled.retain(|(_, _, value)| *value != 0.0);
    Flexibility { diagonal, coupled }
}

/// The force that what a case imposes (settlements, heat, misfits) would cause
/// where nothing gave way to it, newtons: the scale of the rounding left over
/// where everything does.
pub fn imposed_force(structure: &Structure, case: CaseId) -> f64 {
    let members = (0..structure.members.len()).map(MemberId::new);
    let (mut stiffest, mut longest) = (0.0_f64, 0.0_f64);
    for member in members {
        let length = structure.member_length(member);
        longest = longest.max(length);
        if let Compliance::Value(compliance) = axial(structure, member) {
            stiffest = stiffest.max(1.0 / (compliance * length));
        }
    }
    let imposed = Piece::imposed(structure, case).map(|piece| match piece {
        Piece::Longer { by, .. } => by.abs(),
        Piece::Settles { by: Imposed::Move([x, y]), .. } => x.hypot(y),
        Piece::Settles { by: Imposed::Turn(by), .. } => by.abs() * longest,
        Piece::Force(..) | Piece::Couple(..) | Piece::Spread(_) => 0.0,
    });
    stiffest * imposed.fold(0.0, f64::max)
}

/// Deformations without forces: heat and misfits lengthen, loads between the
/// joints bend, supports settle. Unknown stiffness counts as rigid here; its
/// results are refused elsewhere.
pub fn free_deformation(structure: &Structure, equilibrium: &Equilibrium, case: CaseId, spans: &Spans) -> Vec<f64> {
    let mut lengthenings: Vec<(MemberId, f64)> = Vec::new();
    let mut settlements: Vec<(JointId, [f64; 3])> = Vec::new();
    for piece in Piece::imposed(structure, case) {
        match piece {
            Piece::Longer { member, by, .. } => lengthenings.push((member, by)),
            Piece::Settles { joint, by: Imposed::Move([x, y]) } => settlements.push((joint, [x, y, 0.0])),
            Piece::Settles { joint, by: Imposed::Turn(by) } => settlements.push((joint, [0.0, 0.0, by])),
            Piece::Force(..) | Piece::Couple(..) | Piece::Spread(_) => {}
        }
    }
    // Added in an order that depends on their sizes only, not on their lines.
    lengthenings.sort_unstable_by_key(|(member, amount)| (*member, amount.to_bits()));
    let mut lengthening = IdVec::filled(&structure.members, 0.0);
    for (member, amount) in lengthenings {
        lengthening[member] += amount;
    }
    settlements.sort_unstable_by_key(|(joint, by)| (*joint, by.map(f64::to_bits)));
    let mut settled: BTreeMap<JointId, [f64; 3]> = BTreeMap::new();
    for (joint, by) in settlements {
        settled.entry(joint).or_default().iter_mut().zip(by).for_each(|(sum, by)| *sum += by);
    }
    let turns: BTreeMap<MemberId, [f64; 2]> = spans
        .iter()
        .map(|(member, loads)| {
            let diagram = Diagram::of(structure.member_length(*member), 0.0, [0.0; 2], loads);
            let bending = bending(structure, *member).known().unwrap_or(0.0);
            (*member, diagram.end_turns().map(|turn| turn * bending))
        })
        .collect();
    let restraints = equilibrium.columns().iter();
    equilibrium
        .unknowns
        .iter()
        .zip(restraints)
        .map(|(unknown, restraint)| match (unknown, restraint) {
            (Unknown::Axial(member), _) => lengthening[*member],
            (Unknown::EndMoment(member, end), _) => turns.get(member).map_or(0.0, |[start, finish]| match end {
                End::Start => *start,
                End::Finish => *finish,
            }),
            (Unknown::Reaction(..), Restraint::Line(joint, line)) => {
                let [x, y] = line.as_ref();
                let Some([dx, dy, _]) = settled.get(joint) else { return 0.0 };
                let (x, y) = (x.to_f64(), y.to_f64());
                -(dx * x + dy * y) / x.hypot(y)
            }
            (Unknown::Reaction(..), Restraint::Turn(joint)) => settled.get(joint).map_or(0.0, |[_, _, turn]| -turn),
            (Unknown::Reaction(..), _) => 0.0,
        })
        .collect()
}
