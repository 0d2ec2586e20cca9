//! Claims proved or refuted.
//!
//! Must not know: how forces are found.

use crate::base::{JointId, MemberId};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::Dimension;
use crate::quantity::format::trimmed;
use crate::statics::solve::push;
use crate::statics::{CaseResult, Solution, Subject, Verdict, VerdictKind, ZERO_SHARE};
use crate::structure::{
    Claim, ClaimKind, ClaimPlace, ClaimedValue, ComponentWord, Passage, Polarity, Structure, SupportKind, Under,
    ValueClaim, VectorForm, VectorTolerance,
};
use crate::syntax::tree::{ClaimWhat, Relation, Sense};

use super::words;

/// The most figures a claimed value is repeated with.
const CLAIMED_FIGURES: usize = 6;
/// Rounding in the claim's own tolerance is not held against it.
const SLACK: f64 = 1.0 + 1e-9;

/// What became of one claim under one case.
enum Outcome {
    Holds,
    /// What was computed, in words.
    Fails(String),
    /// The same, of one member of the chain that is claimed of.
    FailsIn(String, (MemberId, Passage)),
}

/// A failure under one case or combination.
struct Failure {
    subject: Subject,
    /// The member of a chain in which it fails.
    member: Option<(MemberId, Passage)>,
    is: String,
}

/// Judges the claims on the verdict itself.
pub fn check_verdict_claims(structure: &Structure, verdict: &Verdict) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for claim in &structure.claims {
        let holds = match claim.kind {
            ClaimKind::Determinate => verdict.kind == VerdictKind::Determinate,
            ClaimKind::Unstable => verdict.kind == VerdictKind::Unstable,
            ClaimKind::Indeterminate(degree) => {
                let right = degree.is_none_or(|degree| usize::try_from(degree) == Ok(verdict.redundancy));
                verdict.kind == VerdictKind::Indeterminate && right
            }
            ClaimKind::Value(_) => continue,
        };
        let claimed = match claim.kind {
            ClaimKind::Determinate => "determinate".to_owned(),
            ClaimKind::Unstable => "unstable".to_owned(),
            ClaimKind::Indeterminate(Some(degree)) => format!("indeterminate {degree}"),
            _ => "indeterminate".to_owned(),
        };
        if let Some(diagnostic) = judge(claim, holds, &claimed, &verdict_words(verdict)) {
            found.push(diagnostic);
        }
    }
    found
}

fn judge(claim: &Claim, holds: bool, claimed: &str, is: &str) -> Option<Diagnostic> {
    match (claim.polarity, holds) {
        (Polarity::Holds, true) | (Polarity::IsRefuted, false) => None,
        (Polarity::Holds, false) => Some(
            Diagnostic::new(Slug::ClaimFails, format!("the structure is {is}, not {claimed}"))
                .label(claim.origin, format!("claims {claimed}")),
        ),
        (Polarity::IsRefuted, true) => Some(
            Diagnostic::new(Slug::ClaimNotRefuted, format!("the structure is {claimed} after all"))
                .label(claim.origin, "is claimed not to hold, and holds"),
        ),
    }
}

/// `determinate`, `2 times indeterminate`, `unstable`.
pub fn verdict_words(verdict: &Verdict) -> String {
    match verdict.kind {
        VerdictKind::Determinate => "determinate".to_owned(),
        VerdictKind::Indeterminate => format!("indeterminate {}", verdict.redundancy),
        VerdictKind::Unstable => format!("unstable ({})", words::counted(verdict.mechanisms, "independent motion")),
    }
}

/// Judges the claims on reactions and forces.
pub fn check_claims(structure: &Structure, solution: &Solution) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for claim in &structure.claims {
        let ClaimKind::Value(value) = &claim.kind else { continue };
        let results: Vec<&CaseResult> =
            solution.results.iter().filter(|result| is_under(claim.under, result.subject)).collect();
        let failed: Vec<Failure> = results
            .iter()
            .filter_map(|result| {
                let (is, member) = match outcome(structure, value, result) {
                    Outcome::Holds => return None,
                    Outcome::Fails(is) => (is, None),
                    Outcome::FailsIn(is, member) => (is, Some(member)),
                };
                Some(Failure { subject: result.subject, member, is })
            })
            .collect();
        match (claim.polarity, failed.first()) {
            (Polarity::Holds, Some(first)) => {
                let mut diagnostic = Diagnostic::new(Slug::ClaimFails, sentence(structure, value, first))
                    .label(claim.origin, format!("claims {}", claimed_words(structure, value)));
                if failed.len() > 1 {
                    let others: Vec<String> = failed
                        .iter()
                        .skip(1)
                        .map(|failure| format!("{}{}", failure.is, super::loads::under(structure, failure.subject)))
                        .collect();
                    diagnostic = diagnostic.why(format!("Nor does it hold elsewhere: {}.", words::list(&others)));
                }
                if let Some(text) = tolerance_words(structure, value) {
                    diagnostic = diagnostic.why(text);
                }
                found.push(diagnostic);
            }
            (Polarity::IsRefuted, None) if !results.is_empty() => found.push(
                Diagnostic::new(Slug::ClaimNotRefuted, format!("{} holds after all", subject_words(structure, value)))
                    .label(
                        claim.origin,
                        format!("{} is claimed not to hold, and holds", claimed_words(structure, value)),
                    ),
            ),
            _ => {}
        }
    }
    found
}

fn is_under(under: Under, subject: Subject) -> bool {
    match (under, subject) {
        (Under::All | Under::Unsaid, _) => true,
        (Under::Case(id), Subject::Case(own)) => id == own,
        (Under::Combo(id), Subject::Combo(own)) => id == own,
        _ => false,
    }
}

/// `reaction G is 33.2 kN up under snow`
fn sentence(structure: &Structure, claim: &ValueClaim, failure: &Failure) -> String {
    let subject = match failure.member {
        Some(member) => format!("{} {}", what_word(claim.what), passed_name(structure, member)),
        None => subject_words(structure, claim),
    };
    format!("{subject} is {}{}", failure.is, super::loads::under(structure, failure.subject))
}

/// A member's name as a chain passes it.
fn passed_name(structure: &Structure, (id, passage): (MemberId, Passage)) -> String {
    match (structure.member(id), passage) {
        (Some(member), Passage::Backward) => {
            format!("{}-{}", structure.joint_name(member.end), structure.joint_name(member.start))
        }
        _ => structure.member_name(id),
    }
}

fn subject_words(structure: &Structure, claim: &ValueClaim) -> String {
    let what = what_word(claim.what);
    match &claim.place {
        ClaimPlace::Joint(joint) => {
            let component = match claim.component.as_ref().map(|component| component.word) {
                Some(ComponentWord::X) => ".x",
                Some(ComponentWord::Y) => ".y",
                _ => "",
            };
            format!("{what} {}{component}", structure.joint_name(*joint))
        }
        ClaimPlace::Members { path, .. } => {
            let names: Vec<String> = path.iter().map(|member| passed_name(structure, *member)).collect();
            format!("{what} {}", words::list(&names))
        }
    }
}

/// The word of the notation.
pub const fn what_word(what: ClaimWhat) -> &'static str {
    match what {
        ClaimWhat::Reaction => "reaction",
        ClaimWhat::Force => "force",
        ClaimWhat::Shear => "shear",
        ClaimWhat::Moment => "moment",
        ClaimWhat::Deflection => "deflection",
        ClaimWhat::Rotation => "rotation",
    }
}

fn claimed_words(structure: &Structure, claim: &ValueClaim) -> String {
    let relation = match claim.relation {
        Relation::Equals => "",
        Relation::AtMost => "at most ",
        Relation::AtLeast => "at least ",
    };
    let units = words::units(structure);
    let value = match &claim.value {
        ClaimedValue::Zero => "zero".to_owned(),
        ClaimedValue::Scalar { value, dimension, .. } => {
            units.show(&crate::quantity::Quantity::new(value.clone(), *dimension))
        }
        ClaimedValue::Vector { value: [x, y], dimension, form, .. } => match form {
            VectorForm::Cardinal(_) => {
                let unit = units.display_unit(*dimension);
                let size = trimmed(unit.convert(x.to_f64().hypot(y.to_f64())), CLAIMED_FIGURES);
                format!("{size} {} {}", unit.symbol, words::direction([x.to_f64(), y.to_f64()]))
            }
            _ => {
                let unit = units.display_unit(*dimension);
                let [x, y] = [x, y].map(|part| trimmed(unit.convert(part.to_f64()), CLAIMED_FIGURES));
                format!("({x}, {y}) {}", unit.symbol)
            }
        },
    };
    let sense = claim.sense.map_or(String::new(), |sense| format!(" {}", sense_word(sense)));
    format!("{relation}{value}{sense}")
}

const fn sense_word(sense: Sense) -> &'static str {
    match sense {
        Sense::Tension => "tension",
        Sense::Compression => "compression",
        Sense::Clockwise => "cw",
        Sense::Counterclockwise => "ccw",
        Sense::Sagging => "sagging",
        Sense::Hogging => "hogging",
        Sense::TensionAbove => "tension above",
        Sense::TensionBelow => "tension below",
        Sense::TensionLeft => "tension left",
        Sense::TensionRight => "tension right",
    }
}

fn tolerance_words(structure: &Structure, claim: &ValueClaim) -> Option<String> {
    if claim.relation != Relation::Equals {
        return None;
    }
    let amount = match &claim.value {
        ClaimedValue::Scalar { tolerance, dimension, .. } => (tolerance.0, *dimension),
        ClaimedValue::Vector { tolerance: VectorTolerance::Length(length), dimension, .. } => (*length, *dimension),
        ClaimedValue::Vector { tolerance: VectorTolerance::Components([x, y]), dimension, .. } => {
            (x.max(*y), *dimension)
        }
        ClaimedValue::Zero => return None,
    };
    let text = words::units(structure).display_unit(amount.1).show(amount.0, 2);
    Some(format!("As written the claim is held to ±{text}."))
}

fn outcome(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> Outcome {
    match (&claim.place, claim.what) {
        (ClaimPlace::Joint(joint), ClaimWhat::Reaction) => reaction(structure, claim, *joint, result),
        (ClaimPlace::Members { path, .. }, ClaimWhat::Force) => {
            for (member, passage) in path {
                if let Some(axial) = result.axial.get(member.index())
                    && let Outcome::Fails(is) = force(structure, claim, *axial, result.largest)
                {
                    return Outcome::FailsIn(is, (*member, *passage));
                }
            }
            Outcome::Holds
        }
        // What is not solved yet has been reported as that.
        _ => Outcome::Holds,
    }
}

/// A number against a claim: `Some(true)` when it is right.
fn is_right(claim: &ValueClaim, computed: f64, largest: f64) -> bool {
    match &claim.value {
        ClaimedValue::Zero => computed.abs() <= ZERO_SHARE * largest,
        ClaimedValue::Scalar { value, tolerance, .. } => {
            let claimed = value.to_f64();
            let noise = ZERO_SHARE * largest;
            match claim.relation {
                Relation::Equals => (computed - claimed).abs() <= tolerance.0 * SLACK + noise * f64::EPSILON,
                Relation::AtMost => computed.abs() <= claimed.abs() * SLACK,
                Relation::AtLeast => computed.abs() * SLACK >= claimed.abs(),
            }
        }
        ClaimedValue::Vector { .. } => false,
    }
}

fn force(structure: &Structure, claim: &ValueClaim, axial: f64, largest: f64) -> Outcome {
    let is = || {
        if axial.abs() <= ZERO_SHARE * largest {
            return "zero".to_owned();
        }
        let size = words::quantity(structure, axial.abs(), Dimension::FORCE);
        format!("{size} {}", if axial > 0.0 { "tension" } else { "compression" })
    };
    let signed = match claim.sense {
        Some(Sense::Compression) => -axial,
        _ => axial,
    };
    let right = match (claim.relation, claim.sense) {
        // A bound with a sense bounds the size on that side: a force of the
        // other sense is below any bound and above none.
        (Relation::AtMost, Some(_)) => signed <= 0.0 || is_right(claim, signed, largest),
        (Relation::AtLeast, Some(_)) => signed >= 0.0 && is_right(claim, signed, largest),
        _ => is_right(claim, signed, largest),
    };
    if right { Outcome::Holds } else { Outcome::Fails(is()) }
}

fn reaction(structure: &Structure, claim: &ValueClaim, joint: JointId, result: &CaseResult) -> Outcome {
    let Some((id, support)) = structure.support_at(joint) else { return Outcome::Holds };
    let Some(reaction) = result.reactions.get(id.index()) else { return Outcome::Holds };
    let [fx, fy] = reaction.force();
    let noise = ZERO_SHARE * result.largest;
    let is = || {
        if fx.hypot(fy) <= noise {
            return "zero".to_owned();
        }
        let flat = fx.abs() <= noise || fy.abs() <= noise;
        if flat {
            let size = words::quantity(structure, fx.hypot(fy), Dimension::FORCE);
            let straight = if fx.abs() <= noise { [0.0, fy] } else { [fx, 0.0] };
            format!("{size} {}", words::direction(straight))
        } else {
            vector_words(structure, [fx, fy], Dimension::FORCE)
        }
    };
    if let Some(component) = &claim.component {
        let [dx, dy] = component.direction.each_ref().map(|part| part.to_f64());
        let along = (fx * dx + fy * dy) / dx.hypot(dy);
        let right = match &claim.value {
            ClaimedValue::Vector { value: [x, y], tolerance, .. } => {
                // `reaction A.x: 5 kN right`: the claim has its own direction.
                let claimed = (x.to_f64() * dx + y.to_f64() * dy) / dx.hypot(dy);
                let within = match tolerance {
                    VectorTolerance::Components([tx, ty]) => tx.max(*ty),
                    VectorTolerance::Length(length) => *length,
                };
                match claim.relation {
                    Relation::Equals => (along - claimed).abs() <= within * SLACK,
                    Relation::AtMost => along.abs() <= claimed.abs() * SLACK,
                    Relation::AtLeast => along * claimed.signum() * SLACK >= claimed.abs(),
                }
            }
            // A bound on a direction is a bound on the part that way.
            _ if claim.relation == Relation::AtLeast => along >= 0.0 && is_right(claim, along, result.largest),
            _ => is_right(claim, along, result.largest),
        };
        return if right { Outcome::Holds } else { Outcome::Fails(component_words(structure, claim, along, noise)) };
    }
    let right = match &claim.value {
        ClaimedValue::Vector { value: [x, y], tolerance, form, .. } => {
            let (x, y) = (x.to_f64(), y.to_f64());
            match (claim.relation, form) {
                (Relation::Equals, _) => match tolerance {
                    VectorTolerance::Components([tx, ty]) => {
                        (fx - x).abs() <= tx * SLACK + noise && (fy - y).abs() <= ty * SLACK + noise
                    }
                    VectorTolerance::Length(length) => (fx - x).hypot(fy - y) <= length * SLACK,
                },
                (relation, _) => {
                    let size = x.hypot(y);
                    let along = if size > 0.0 { (fx * x + fy * y) / size } else { 0.0 };
                    match relation {
                        Relation::AtMost => along <= size * SLACK,
                        _ => along * SLACK >= size,
                    }
                }
            }
        }
        _ => {
            // A size without a direction: what a roller pushes, or the resultant.
            let size = match &support.kind {
                SupportKind::Roller(roller) => push(roller, reaction),
                _ => fx.hypot(fy),
            };
            is_right(claim, size, result.largest)
        }
    };
    if right { Outcome::Holds } else { Outcome::Fails(is()) }
}

fn component_words(structure: &Structure, claim: &ValueClaim, along: f64, noise: f64) -> String {
    if along.abs() <= noise {
        return "zero that way".to_owned();
    }
    let Some(component) = &claim.component else { return String::new() };
    let [dx, dy] = component.direction.each_ref().map(|part| part.to_f64() * along.signum());
    format!("{} {}", words::quantity(structure, along.abs(), Dimension::FORCE), words::direction([dx, dy]))
}

/// `(74.6, 283.0) lbf`
fn vector_words(structure: &Structure, [x, y]: [f64; 2], dimension: Dimension) -> String {
    let unit = words::units(structure).display_unit(dimension);
    let column = crate::quantity::format::Column::of(&[unit.convert(x), unit.convert(y)], 4, 0.0);
    format!("({}, {}) {}", column.cell(unit.convert(x)), column.cell(unit.convert(y)), unit.symbol)
}
