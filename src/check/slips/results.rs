//! Slips in writing down an answer, and in putting cases together.
//!
//! Must not know: loads.

use crate::base::tolerances::SAME;
use crate::base::{CaseId, MemberId, SupportId};
use crate::quantity::{Dimension, Number, UnitSystem};
use crate::statics::{CaseResult, Solution, Subject, Wanted};
use crate::structure::{Inside, ResultOf, Structure};

use super::group::Axis;
use super::kinds::Slip;
use super::teller::axis_of;
use super::trial::{Change, Trial};

/// Standard gravity as it is used at a board, m/s².
const GRAVITY: f64 = 9.81;

/// Factors are exchanged in combinations of no more cases.
const MOST_EXCHANGED: usize = 4;

/// What the right result becomes by a slip in writing it down.
pub fn of_result(structure: &Structure, trial: &Trial, result: &CaseResult) -> Vec<(Slip, Change)> {
    let mut found = vec![(Slip::SenseReversed, trial.times(-1.0))];
    match &trial.claim.subject.of {
        ResultOf::Reaction(support) | ResultOf::Couple(support) => {
            found.extend(of_reaction(trial));
            found.extend(exchanged(structure, trial, *support, result));
        }
        ResultOf::Inside(Inside::Axial, chain) => {
            found.extend(chain.path.first().into_iter().flat_map(|(member, _)| of_member(structure, trial, *member)));
        }
        ResultOf::Inside(Inside::Shear | Inside::Moment, _)
        | ResultOf::Movement(_)
        | ResultOf::Deflection(_)
        | ResultOf::Rotation(_) => {}
    }
    found.extend(of_units(structure, trial));
    found
}

/// Slips between the components of a reaction and its size.
fn of_reaction(trial: &Trial) -> Vec<(Slip, Change)> {
    let [fx, fy] = *trial.truth.as_slice() else { return Vec::new() };
    if let Some([nx, ny]) = trial.pushes() {
        let push = fx * nx + fy * ny;
        if nx.abs().min(ny.abs()) < SAME {
            return Vec::new();
        }
        let part = |axis: Axis| (Slip::PartAlone(axis), trial.pushing(push * axis.of([nx, ny]).abs()));
        return vec![part(Axis::X), part(Axis::Y)];
    }
    if fx.abs().min(fy.abs()) <= SAME * fx.hypot(fy) {
        return Vec::new();
    }
    let with = |slip, values: [f64; 2]| (slip, Change { values: values.to_vec(), spans: Vec::new() });
    // Along one axis: its whole size, or its other component, with the sense of the right one.
    if let Some(axis) = axis_of(&trial.claim.subject) {
        let (own, other) = (axis.of([fx, fy]), axis.other().of([fx, fy]));
        let mut found = vec![
            with(Slip::WholeForPart(axis), axis.only(fx.hypot(fy) * own.signum())),
            with(Slip::PartsExchanged, axis.only(other.abs() * own.signum())),
        ];
        if trial.claim.subject.component.is_none() {
            found.push(with(Slip::PartAlone(axis), axis.only(own)));
        }
        return found;
    }
    if trial.claim.subject.component.is_some() {
        return Vec::new();
    }
    vec![
        with(Slip::PartAlone(Axis::Y), [0.0, fy]),
        with(Slip::PartAlone(Axis::X), [fx, 0.0]),
        with(Slip::PartReversed(Axis::X), [-fx, fy]),
        with(Slip::PartReversed(Axis::Y), [fx, -fy]),
        with(Slip::PartsExchanged, [fy, fx]),
    ]
}

/// The reaction at the other of two supports.
fn exchanged(structure: &Structure, trial: &Trial, own: SupportId, result: &CaseResult) -> Option<(Slip, Change)> {
    if structure.supports.len() != 2 {
        return None;
    }
    let (id, other) = structure.supports.entries().find(|(id, _)| *id != own)?;
    let there = |wanted: &Wanted| match wanted {
        Wanted::Reaction(_, part) => Wanted::Reaction(id, *part).of(result),
        _ => 0.0,
    };
    let values: Vec<f64> = trial.wanted.iter().map(there).collect();
    let change = match (trial.pushes(), values.as_slice()) {
        (Some(_), [x, y]) => trial.pushing(x.hypot(*y)),
        _ => Change { values, spans: Vec::new() },
    };
    Some((Slip::SupportsExchanged(other.joint), change))
}

/// Slips with the slope of a member.
fn of_member(structure: &Structure, trial: &Trial, member: MemberId) -> Vec<(Slip, Change)> {
    let [dx, dy] = structure.member_vector(member).map(f64::abs);
    let length = dx.hypot(dy);
    if dx.min(dy) <= SAME * length {
        return Vec::new();
    }
    let part = |axis: Axis| (Slip::MemberPart(axis), trial.times(axis.of([dx, dy]) / length));
    let mut found = vec![part(Axis::X), part(Axis::Y)];
    if (dx - dy).abs() > SAME * length {
        found.extend([dx / dy, dy / dx].map(|factor| (Slip::MemberSlope, trial.times(factor))));
    }
    found
}

fn of_units(structure: &Structure, trial: &Trial) -> Vec<(Slip, Change)> {
    let mut factors = vec![(Slip::ThousandTooLarge, 1000.0), (Slip::ThousandTooSmall, 1e-3)];
    let has_feet = |units: &UnitSystem| matches!(units.length.symbol.as_str(), "ft" | "in" | "yd");
    let dimension = trial.claim.subject.of.dimension();
    if structure.units.as_ref().is_some_and(has_feet) {
        if matches!(dimension, Dimension::MOMENT | Dimension::LENGTH) {
            factors.extend([(Slip::TwelveTooLarge, 12.0), (Slip::TwelveTooSmall, 1.0 / 12.0)]);
        }
    } else if !matches!(dimension, Dimension::LENGTH | Dimension::ANGLE) {
        factors.extend([(Slip::MassForForce, 1.0 / GRAVITY), (Slip::ForceForMass, GRAVITY)]);
    }
    factors.into_iter().map(|(slip, factor)| (slip, trial.times(factor))).collect()
}

/// Factors forgotten, or a case left out.
pub fn of_combination(
    structure: &Structure,
    trial: &Trial,
    solution: &Solution,
    subject: Subject,
) -> Vec<(Slip, Change)> {
    let Subject::Combination(id) = subject else { return Vec::new() };
    let part = |(case, factor): &(CaseId, Number)| {
        let own = solution.results.iter().find(|result| result.subject == Subject::Case(*case))?;
        Some((*case, factor.to_f64(), trial.part_of(own)))
    };
    let parts: Vec<(CaseId, f64, Change)> = structure.combinations[id].factors.iter().filter_map(part).collect();
    let mut found = Vec::new();
    let mut forgotten = trial.unchanged();
    let mut others = 0;
    for (case, factor, own) in &parts {
        if (factor - 1.0).abs() > SAME {
            forgotten = forgotten.plus(1.0 - factor, own);
            others += 1;
            found.push((Slip::FactorForgotten(*case), trial.unchanged().plus(1.0 - factor, own)));
        }
        if parts.len() > 1 && has_several(structure, *case) {
            found.push((Slip::CaseOut(*case), trial.unchanged().plus(-factor, own)));
        }
    }
    if others > 1 {
        found.push((Slip::FactorsForgotten, forgotten));
    }
    if parts.len() <= MOST_EXCHANGED {
        for (index, (first, factor, own)) in parts.iter().enumerate() {
            for (second, other, its) in parts.iter().skip(index + 1) {
                let change = trial.unchanged().plus(other - factor, own).plus(factor - other, its);
                found.push((Slip::FactorsExchanged(*first, *second), change));
            }
        }
    }
    found
}

/// Whether leaving out a case is more than leaving out its one load.
fn has_several(structure: &Structure, case: CaseId) -> bool {
    let loads = &structure.cases[case].loads;
    loads.iter().any(|load| Some(load.origin) != loads.first().map(|first| first.origin))
}
