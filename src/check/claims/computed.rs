//! What was computed for a claim, whether it holds or not, in the words a
//! failing claim would have.
//!
//! Must not know: how forces are found.

use super::{Outcome, check_verdict_claims, is_under, outcome, travels, verdict_words};
use crate::base::MemberId;
use crate::check::loads::under;
use crate::check::words;
use crate::quantity::{Dimension, Number};
use crate::statics::diagram::{Extreme, Quantity};
use crate::statics::{CaseResult, Solution, Verdict};
use crate::structure::{
    Claim, ClaimKind, ClaimPlace, ClaimedValue, Polarity, Structure, Tolerance, Under, ValueClaim, VectorForm,
    VectorTolerance,
};
use crate::syntax::tree::{ClaimWhat, Relation};

/// A claim judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Judged {
    Right {
        computed: String,
    },
    Wrong {
        computed: String,
    },
    /// Errors stand in the way of the forces it is about.
    Waits,
}

/// Judges one claim and says what was computed. Under several cases it is the
/// one that fails, else the one with the largest value.
pub fn judge_one(
    structure: &Structure,
    verdict: Option<&Verdict>,
    solution: Option<&Solution>,
    claim: &Claim,
) -> Judged {
    let ClaimKind::Value(value) = &claim.kind else {
        let Some(verdict) = verdict else { return Judged::Waits };
        let alone = Structure { claims: vec![claim.clone()], ..Structure::default() };
        let is_right = check_verdict_claims(&alone, verdict).is_empty();
        return judged(is_right, verdict_words(verdict));
    };
    let Some(solution) = solution else { return Judged::Waits };
    if let Under::Travel(id) = claim.under {
        let Some(result) = solution.travels.iter().find(|result| result.travel == id) else { return Judged::Waits };
        return match travels::meet(structure, value, result) {
            Some(met) => judged(met.holds == (claim.polarity == Polarity::Holds), met.is),
            None => judged(claim.polarity == Polarity::IsRefuted, "not known".to_owned()),
        };
    }
    let results: Vec<&CaseResult> =
        solution.results.iter().filter(|result| is_under(claim.under, result.subject)).collect();
    let fails = |result: &&&CaseResult| !matches!(outcome(structure, value, result), Outcome::Holds);
    let failing = results.iter().find(fails);
    let is_right = failing.is_none() == (claim.polarity == Polarity::Holds);
    let size = |result: &CaseResult| size_of(structure, value, result);
    let told = failing.or_else(|| results.iter().max_by(|a, b| size(a).total_cmp(&size(b))));
    let Some(told) = told else { return Judged::Waits };
    let under = if results.len() > 1 { under(structure, told.subject) } else { String::new() };
    judged(is_right, format!("{}{under}", computed_words(structure, value, told)))
}

fn judged(is_right: bool, computed: String) -> Judged {
    if is_right { Judged::Right { computed } } else { Judged::Wrong { computed } }
}

/// The size of what a claim is about, for telling which case says most.
fn size_of(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> f64 {
    match (&claim.place, claim.what) {
        (ClaimPlace::Joint(joint), ClaimWhat::Reaction) => {
            let reaction = structure.support_at(*joint).and_then(|(id, _)| result.reactions.get(id.index()));
            reaction.map_or(0.0, |reaction| reaction.force()[0].hypot(reaction.force()[1]))
        }
        (ClaimPlace::Joint(joint), _) => {
            let moved = result.displacements.as_ref().and_then(|moved| moved.get(joint.index()));
            moved.map_or(0.0, |moved| moved.dx.hypot(moved.dy))
        }
        (ClaimPlace::Members { .. }, ClaimWhat::Force | ClaimWhat::Shear | ClaimWhat::Moment) => {
            largest(structure, claim, result).map_or(0.0, |(_, extreme)| extreme.value.abs())
        }
        _ => 0.0,
    }
}

/// The largest axial force, shear or moment along the chain of a claim.
fn largest(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> Option<(MemberId, Extreme)> {
    let ClaimPlace::Members { path, .. } = &claim.place else { return None };
    let quantity = match claim.what {
        ClaimWhat::Shear => Quantity::Shear,
        ClaimWhat::Moment => Quantity::Moment,
        _ => Quantity::Axial,
    };
    let extremes = path.iter().flat_map(|(member, _)| {
        result.diagram(structure, *member).extremes(quantity).map(|extreme| (*member, extreme))
    });
    extremes.max_by(|(_, a), (_, b)| a.value.abs().total_cmp(&b.value.abs()))
}

fn computed_words(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> String {
    match &claim.place {
        ClaimPlace::Members { path, at: None } if matches!(claim.what, ClaimWhat::Shear | ClaimWhat::Moment) => {
            let Some((member, extreme)) = largest(structure, claim, result) else { return String::new() };
            let place = words::member_place(structure, member, extreme.at);
            let within = if path.len() > 1 { format!("in {}, ", structure.member_name(member)) } else { String::new() };
            let value = if claim.what == ClaimWhat::Moment {
                let size = words::quantity(structure, extreme.value.abs(), Dimension::MOMENT);
                format!("{size} {}", super::tension_side(structure, member, extreme.value))
            } else {
                words::quantity(structure, extreme.value, Dimension::FORCE)
            };
            format!("{value} {within}{place}")
        }
        ClaimPlace::Members { path, .. } if claim.what == ClaimWhat::Force && path.len() > 1 => {
            let Some((member, _)) = largest(structure, claim, result) else { return String::new() };
            let passed = path.iter().copied().filter(|(id, _)| *id == member).collect();
            let alone = ValueClaim { place: ClaimPlace::Members { path: passed, at: None }, ..claim.clone() };
            format!("{} in {}", refused_words(structure, &alone, result), structure.member_name(member))
        }
        _ => refused_words(structure, claim, result),
    }
}

/// What the claim would be told if it claimed what nothing is.
fn refused_words(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> String {
    let beyond = || Number::from_f64(1e300);
    let value = match (&claim.value, claim.what) {
        (ClaimedValue::Vector { dimension, .. }, _) => ClaimedValue::Vector {
            value: [beyond(), beyond()],
            dimension: *dimension,
            tolerance: VectorTolerance::Length(0.0),
            form: VectorForm::Components,
        },
        (ClaimedValue::Scalar { dimension, .. }, _) => {
            ClaimedValue::Scalar { value: beyond(), dimension: *dimension, tolerance: Tolerance(0.0) }
        }
        (ClaimedValue::Zero, what) => {
            let dimension = match what {
                ClaimWhat::Moment => Dimension::MOMENT,
                ClaimWhat::Deflection => Dimension::LENGTH,
                ClaimWhat::Rotation => Dimension::ANGLE,
                _ => Dimension::FORCE,
            };
            ClaimedValue::Scalar { value: beyond(), dimension, tolerance: Tolerance(0.0) }
        }
    };
    let refused = ValueClaim { value, relation: Relation::Equals, ..claim.clone() };
    match outcome(structure, &refused, result) {
        // `0 kN·m sagging` says no more than that.
        Outcome::Fails(is) | Outcome::FailsIn(is, _) if is.starts_with("0 ") => "zero".to_owned(),
        Outcome::Fails(is) | Outcome::FailsIn(is, _) => is,
        Outcome::Holds => String::new(),
    }
}
