//! What acts on a structure in one case or combination, as it is drawn: forces
//! and couples on joints, loads along members, and words for the rest.
//!
//! Must not know: how it is drawn.

use std::collections::BTreeMap;

use crate::base::{CaseId, JointId, MemberId};
use crate::check::words;
use crate::quantity::{Dimension, format};
use crate::statics::spans::{SpanLoad, actions};
use crate::statics::{Equilibrium, Subject};
use crate::structure::{LoadKind, Structure};

/// Loads of one case or combination, factors taken in.
#[derive(Clone, Debug, Default)]
pub struct Loads {
    /// Newtons in x and y, newton-metres counterclockwise; only joints with any.
    pub joints: Vec<(JointId, [f64; 2], f64)>,
    /// On members between their joints; spread loads over one stretch are one.
    pub spans: BTreeMap<MemberId, Vec<SpanLoad>>,
    /// What cannot be drawn as an arrow: `C settles 40 mm down`.
    pub notes: Vec<String>,
}

impl Loads {
    pub fn of(structure: &Structure, subject: Option<Subject>) -> Loads {
        let factors = factors(structure, subject);
        if factors.is_empty() {
            return Loads::default();
        }
        let rows = Equilibrium::of(structure).rows;
        let mut direct = vec![0.0; rows.len()];
        let mut spans: BTreeMap<MemberId, Vec<SpanLoad>> = BTreeMap::new();
        let mut notes = Vec::new();
        for (case, factor) in factors {
            let acting = actions(structure, &rows, case);
            direct.iter_mut().zip(&acting.direct).for_each(|(sum, part)| *sum += part * factor);
            for (member, loads) in acting.spans {
                let known = spans.entry(member).or_default();
                loads.iter().for_each(|load| add_span(known, load.times(factor)));
            }
            notes.extend(imposed(structure, case, factor));
        }
        let largest = direct.iter().fold(0.0_f64, |largest, part| largest.max(part.abs()));
        let part =
            |row: u32| direct.get(row as usize).copied().filter(|part| part.abs() > 1e-12 * largest).unwrap_or(0.0);
        let joints = (0..structure.joints.len()).map(JointId::new).filter_map(|joint| {
            let row = rows.force(joint);
            let force = [part(row), part(row + 1)];
            let couple = rows.moment(joint).map_or(0.0, part);
            (force != [0.0; 2] || couple != 0.0).then_some((joint, force, couple))
        });
        let joints = joints.collect();
        spans.retain(|_, loads| {
            loads.retain(|load| !is_nothing(load));
            !loads.is_empty()
        });
        Loads { joints, spans, notes }
    }

    pub fn is_empty(&self) -> bool {
        self.joints.is_empty() && self.spans.is_empty()
    }
}

fn factors(structure: &Structure, subject: Option<Subject>) -> Vec<(CaseId, f64)> {
    match subject {
        None => Vec::new(),
        Some(Subject::Case(case)) => vec![(case, 1.0)],
        Some(Subject::Combo(combo)) => structure.combos.get(combo.index()).map_or_else(Vec::new, |combo| {
            combo.factors.iter().map(|(case, factor)| (*case, factor.to_f64())).collect()
        }),
    }
}

fn is_nothing(load: &SpanLoad) -> bool {
    match *load {
        SpanLoad::Spread { along, across, .. } => along == [0.0; 2] && across == [0.0; 2],
        SpanLoad::Point { along, across, .. } => along == 0.0 && across == 0.0,
        SpanLoad::Couple { moment, .. } => moment == 0.0,
    }
}

/// Spread loads over one stretch, and forces at one place, are one to the eye.
fn add_span(known: &mut Vec<SpanLoad>, new: SpanLoad) {
    let plus = |[a, b]: [f64; 2], [c, d]: [f64; 2]| [a + c, b + d];
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (1.0 + a.abs());
    for old in known.iter_mut() {
        match (&mut *old, new) {
            (
                SpanLoad::Spread { from, to, along, across },
                SpanLoad::Spread { from: new_from, to: new_to, along: new_along, across: new_across },
            ) if near(*from, new_from) && near(*to, new_to) => {
                (*along, *across) = (plus(*along, new_along), plus(*across, new_across));
                return;
            }
            (
                SpanLoad::Point { at, along, across },
                SpanLoad::Point { at: new_at, along: new_along, across: new_across },
            ) if near(*at, new_at) => {
                (*along, *across) = (*along + new_along, *across + new_across);
                return;
            }
            _ => {}
        }
    }
    known.push(new);
}

/// Settlements, heat and misfits in words.
fn imposed(structure: &Structure, case: CaseId, factor: f64) -> Vec<String> {
    let name = |joint: JointId| structure.joint_name(joint);
    let loads = structure.cases.get(case.index()).map_or(&[][..], |case| case.loads.as_slice());
    let said = loads.iter().filter_map(|load| match &load.kind {
        LoadKind::Settlement { joint, by: [x, y] } => {
            let by = [x.to_f64() * factor, y.to_f64() * factor];
            let size = words::deflection(structure, by[0].hypot(by[1]));
            Some(format!("{} settles {size} {}", name(*joint), words::direction(by)))
        }
        LoadKind::SupportTurn { joint, by } => {
            let by = by.to_f64() * factor;
            let sense = if by > 0.0 { "counterclockwise" } else { "clockwise" };
            Some(format!("{} turns {} rad {sense}", name(*joint), format::trimmed(by.abs(), 4)))
        }
        LoadKind::Heat { member, rise } => {
            let rise = rise.to_f64() * factor;
            let way = if rise < 0.0 { "cooler" } else { "warmer" };
            Some(format!("{} {} K {way}", structure.member_name(*member), format::trimmed(rise.abs(), 4)))
        }
        LoadKind::Misfit { member, amount } => {
            let amount = amount.to_f64() * factor;
            let way = if amount < 0.0 { "short" } else { "long" };
            Some(format!("{} {} {way}", structure.member_name(*member), words::deflection(structure, amount.abs())))
        }
        _ => None,
    });
    said.collect()
}

/// `5 kN`, `2.4 kN/m`, `1.8 kN·m`: sizes, in the file's units.
pub fn quantity(structure: &Structure, si: f64, dimension: Dimension) -> String {
    let unit = words::units(structure).display_unit(dimension);
    format::with_symbol(&format::trimmed(unit.convert(si.abs()), 4), &unit.symbol)
}
