//! Slips in writing down an answer, and in putting cases together.
//!
//! Must not know: loads.

use crate::base::{CaseId, JointId, MemberId};
use crate::quantity::{Dimension, UnitSystem};
use crate::statics::{CaseResult, Solution, Subject, Wanted};
use crate::structure::{ClaimPlace, ClaimedValue, ComponentWord, Structure, VectorForm};
use crate::syntax::tree::{Cardinal, ClaimWhat};

use super::Candidate;
use super::kinds::{Axis, Slip, UnitSlip};
use super::trial::{Change, Trial};

/// Standard gravity as it is used at a board, m/s².
const GRAVITY: f64 = 9.81;

/// Factors are exchanged in combinations of no more cases.
const MOST_EXCHANGED: usize = 4;

/// What the right result becomes by a slip in writing it down.
pub fn of_result(structure: &Structure, trial: &Trial, result: &CaseResult) -> Vec<Candidate> {
    let mut found = vec![Candidate { slip: Slip::SenseReversed, change: trial.times(-1.0) }];
    match (&trial.claim().place, trial.claim().what) {
        (ClaimPlace::Joint(joint), ClaimWhat::Reaction) => {
            found.extend(of_reaction(trial));
            found.extend(exchanged(structure, trial, *joint, result));
        }
        (ClaimPlace::Members { path, .. }, ClaimWhat::Force) => {
            if let Some((member, _)) = path.first() {
                found.extend(of_member(structure, trial, *member));
            }
        }
        _ => {}
    }
    found.extend(of_units(structure, trial));
    found
}

/// Slips between the components of a reaction and its size.
fn of_reaction(trial: &Trial) -> Vec<Candidate> {
    if let (Some([nx, ny]), [fx, fy]) = (trial.pushes(), trial.truth()) {
        let push = fx * nx + fy * ny;
        if nx.abs().min(ny.abs()) < 1e-9 {
            return Vec::new();
        }
        let part = |axis, share: f64| Candidate { slip: Slip::PartAlone(axis), change: trial.pushing(push * share) };
        return vec![part(Axis::X, nx.abs()), part(Axis::Y, ny.abs())];
    }
    let [fx, fy] = *trial.truth() else { return Vec::new() };
    if fx.abs().min(fy.abs()) <= 1e-9 * fx.hypot(fy) {
        return Vec::new();
    }
    let whole = of_whole(trial, [fx, fy]);
    if trial.claim().component.is_some() || !whole.is_empty() {
        return whole;
    }
    let with =
        |slip, values: [f64; 2]| Candidate { slip, change: Change { values: values.to_vec(), spans: Vec::new() } };
    vec![
        with(Slip::PartAlone(Axis::Y), [0.0, fy]),
        with(Slip::PartAlone(Axis::X), [fx, 0.0]),
        with(Slip::PartReversed(Axis::X), [-fx, fy]),
        with(Slip::PartReversed(Axis::Y), [fx, -fy]),
        with(Slip::PartsExchanged, [fy, fx]),
    ]
}

/// Where a reaction is claimed along one axis: its whole size, or its other
/// component, with the sense of the right one.
fn of_whole(trial: &Trial, [fx, fy]: [f64; 2]) -> Vec<Candidate> {
    let claim = trial.claim();
    let axis = match (claim.component.as_ref().map(|component| component.word), &claim.value) {
        (Some(ComponentWord::X | ComponentWord::Cardinal(Cardinal::Left | Cardinal::Right)), _) => Axis::X,
        (Some(ComponentWord::Y | ComponentWord::Cardinal(Cardinal::Up | Cardinal::Down)), _) => Axis::Y,
        (None, ClaimedValue::Vector { form: VectorForm::Cardinal(Cardinal::Left | Cardinal::Right), .. }) => Axis::X,
        (None, ClaimedValue::Vector { form: VectorForm::Cardinal(_), .. }) => Axis::Y,
        _ => return Vec::new(),
    };
    let size = fx.hypot(fy);
    let (whole, other, own) = match axis {
        Axis::X => ([size * fx.signum(), 0.0], [fy.abs() * fx.signum(), 0.0], [fx, 0.0]),
        Axis::Y => ([0.0, size * fy.signum()], [0.0, fx.abs() * fy.signum()], [0.0, fy]),
    };
    let with =
        |slip, values: [f64; 2]| Candidate { slip, change: Change { values: values.to_vec(), spans: Vec::new() } };
    let mut found = vec![with(Slip::WholeForPart(axis), whole), with(Slip::PartsExchanged, other)];
    if claim.component.is_none() {
        found.push(with(Slip::PartAlone(axis), own));
    }
    found
}

/// The reaction at the other of two supports.
fn exchanged(structure: &Structure, trial: &Trial, joint: JointId, result: &CaseResult) -> Option<Candidate> {
    let [first, second] = structure.supports.as_slice() else { return None };
    let other = if first.joint == joint { second.joint } else { first.joint };
    let (id, _) = structure.support_at(other)?;
    let values: Vec<f64> = trial
        .wanted()
        .iter()
        .map(|wanted| match wanted {
            Wanted::Reaction(_, part) => Wanted::Reaction(id, *part).of(result),
            _ => 0.0,
        })
        .collect();
    let change = match (trial.pushes(), values.as_slice()) {
        (Some(_), [x, y]) => trial.pushing(x.hypot(*y)),
        _ => Change { values, spans: Vec::new() },
    };
    Some(Candidate { slip: Slip::SupportsExchanged(other), change })
}

/// Slips with the slope of a member.
fn of_member(structure: &Structure, trial: &Trial, member: MemberId) -> Vec<Candidate> {
    let [dx, dy] = structure.member_vector(member).map(f64::abs);
    let length = dx.hypot(dy);
    if dx.min(dy) <= 1e-9 * length {
        return Vec::new();
    }
    let with = |slip, factor| Candidate { slip, change: trial.times(factor) };
    let mut found = vec![with(Slip::MemberPart(Axis::X), dx / length), with(Slip::MemberPart(Axis::Y), dy / length)];
    if (dx - dy).abs() > 1e-9 * length {
        found.push(with(Slip::MemberSlope, dx / dy));
        found.push(with(Slip::MemberSlope, dy / dx));
    }
    found
}

fn of_units(structure: &Structure, trial: &Trial) -> Vec<Candidate> {
    let mut factors = vec![(UnitSlip::ThousandTooLarge, 1000.0), (UnitSlip::ThousandTooSmall, 1e-3)];
    let is_customary = structure.units.as_ref().is_some_and(has_feet);
    let what = trial.claim().what;
    if is_customary {
        if matches!(what, ClaimWhat::Moment | ClaimWhat::Deflection) || is_couple(trial) {
            factors.extend([(UnitSlip::TwelveTooLarge, 12.0), (UnitSlip::TwelveTooSmall, 1.0 / 12.0)]);
        }
    } else if !matches!(what, ClaimWhat::Deflection | ClaimWhat::Rotation) {
        factors.extend([(UnitSlip::MassForForce, 1.0 / GRAVITY), (UnitSlip::ForceForMass, GRAVITY)]);
    }
    factors
        .into_iter()
        .map(|(unit, factor)| Candidate { slip: Slip::Unit(unit), change: trial.times(factor) })
        .collect()
}

fn is_couple(trial: &Trial) -> bool {
    matches!(trial.claim().value, ClaimedValue::Scalar { dimension: Dimension::MOMENT, .. })
}

fn has_feet(units: &UnitSystem) -> bool {
    matches!(units.length.symbol.as_str(), "ft" | "in" | "yd")
}

/// Factors forgotten, or a case left out.
pub fn of_combination(trial: &Trial, structure: &Structure, solution: &Solution, subject: Subject) -> Vec<Candidate> {
    let Subject::Combo(id) = subject else { return Vec::new() };
    let Some(combo) = structure.combos.get(id.index()) else { return Vec::new() };
    let parts: Vec<_> = combo
        .factors
        .iter()
        .filter_map(|(case, factor)| {
            let own = |result: &&CaseResult| result.subject == Subject::Case(*case);
            Some((*case, factor.to_f64(), solution.results.iter().find(own)?))
        })
        .collect();
    let mut found = Vec::new();
    let mut forgotten = trial.unchanged();
    let mut others = 0;
    for (case, factor, result) in &parts {
        if (factor - 1.0).abs() > 1e-12 {
            let mut change = trial.unchanged();
            add(trial, &mut change, result, 1.0 - factor);
            add(trial, &mut forgotten, result, 1.0 - factor);
            others += 1;
            found.push(Candidate { slip: Slip::FactorForgotten(*case), change });
        }
        if parts.len() > 1 && has_several(structure, *case) {
            let mut change = trial.unchanged();
            add(trial, &mut change, result, -factor);
            found.push(Candidate { slip: Slip::CaseOut(*case), change });
        }
    }
    if others > 1 {
        found.push(Candidate { slip: Slip::FactorsForgotten, change: forgotten });
    }
    if parts.len() <= MOST_EXCHANGED {
        for (index, (first, own, result)) in parts.iter().enumerate() {
            for (second, other, its) in parts.iter().skip(index + 1) {
                let mut change = trial.unchanged();
                add(trial, &mut change, result, other - own);
                add(trial, &mut change, its, own - other);
                found.push(Candidate { slip: Slip::FactorsExchanged(*first, *second), change });
            }
        }
    }
    found
}

/// Whether leaving out a case is more than leaving out its one load.
fn has_several(structure: &Structure, case: CaseId) -> bool {
    let mut origins =
        structure.cases.get(case.index()).into_iter().flat_map(|case| &case.loads).map(|load| load.origin);
    let first = origins.next();
    origins.any(|origin| Some(origin) != first)
}

/// Adds so many times one case's results.
fn add(trial: &Trial, change: &mut Change, result: &CaseResult, factor: f64) {
    for (value, wanted) in change.values.iter_mut().zip(trial.wanted()) {
        *value += factor * wanted.of(result);
    }
    let inside = result.spans.iter().filter(|(member, _)| trial.is_about_inside(**member));
    change.spans.extend(inside.flat_map(|(member, loads)| loads.iter().map(|load| (*member, load.times(factor)))));
}
