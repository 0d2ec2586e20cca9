//! Claims proved or refuted.
//!
//! Must not know: how forces are found.

pub mod computed;
mod travels;
mod wording;

use crate::base::{JointId, MemberId};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::Dimension;
use crate::statics::solve::push;
use crate::statics::{CaseResult, Side, Solution, Subject, Verdict, VerdictKind, ZERO_SHARE, diagram, spans};
use crate::structure::{
    Claim, ClaimKind, ClaimPlace, ClaimedValue, Passage, Polarity, Structure, SupportKind, Under, ValueClaim,
    VectorTolerance,
};
use crate::syntax::tree::{ClaimWhat, Relation, Sense};

use super::words;
use wording::{claimed_words, component_words, sentence, subject_words, tolerance_words, vector_words};

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
        if let Under::Travel(id) = claim.under {
            // A train beyond the limits has a finding of its own.
            let result = solution.travels.iter().find(|result| result.travel == id);
            found.extend(result.and_then(|result| travels::judge(structure, claim, value, result)));
            continue;
        }
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
        (ClaimPlace::Members { path, at }, ClaimWhat::Shear | ClaimWhat::Moment) => {
            bending(structure, claim, path, at.as_ref(), result)
        }
        (place, ClaimWhat::Deflection) => deflection(structure, claim, place, result),
        (ClaimPlace::Joint(joint), ClaimWhat::Rotation) => rotation(structure, claim, *joint, result),
        _ => Outcome::Holds,
    }
}

/// The member a place along a chain falls on, and the distance from the
/// member's own first-named joint; `side` tells which of two at a joint.
fn place_on(
    structure: &Structure,
    path: &[(MemberId, Passage)],
    at: f64,
    side: Side,
) -> Option<(MemberId, Passage, f64)> {
    let mut passed = 0.0;
    for (index, (member, passage)) in path.iter().enumerate() {
        let length = structure.member_length(*member);
        let (end, near) = (passed + length, 1e-12 * length);
        let on = match side {
            Side::Before => at <= end + near,
            Side::After => at < end - near,
        };
        if on || index + 1 == path.len() {
            let local = (at - passed).clamp(0.0, length);
            return Some((*member, *passage, if *passage == Passage::Forward { local } else { length - local }));
        }
        passed = end;
    }
    None
}

/// A moment's sign from the claim's sense word for a member passed this way;
/// positive is tension on the right-hand side looking along the member as the
/// structure names it.
fn moment_sign(structure: &Structure, sense: Option<Sense>, member: MemberId, passage: Passage) -> f64 {
    let [dx, dy] = structure.member_vector(member);
    // The right-hand side of the member, as named in the structure.
    let right = [dy, -dx];
    let towards = |x: f64, y: f64| if right[0] * x + right[1] * y >= 0.0 { 1.0 } else { -1.0 };
    match sense {
        Some(Sense::TensionBelow | Sense::Sagging) => towards(0.0, -1.0),
        Some(Sense::TensionAbove | Sense::Hogging) => towards(0.0, 1.0),
        Some(Sense::TensionLeft) => towards(-1.0, 0.0),
        Some(Sense::TensionRight) => towards(1.0, 0.0),
        _ if passage == Passage::Backward => -1.0,
        _ => 1.0,
    }
}

fn bending(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    at: Option<&crate::quantity::Number>,
    result: &CaseResult,
) -> Outcome {
    let is_moment = claim.what == ClaimWhat::Moment;
    let dimension = if is_moment { Dimension::MOMENT } else { Dimension::FORCE };
    // Naming the member the other way turns the moment's sign, not the shear's.
    let sign = |member, passage| if is_moment { moment_sign(structure, claim.sense, member, passage) } else { 1.0 };
    let words = |value: f64, member: MemberId| {
        let size = words::quantity(structure, value.abs(), dimension);
        if is_moment {
            format!("{size} {}", tension_side(structure, member, value))
        } else {
            words::quantity(structure, value, dimension)
        }
    };
    let noise = noise_of(structure, result, dimension);
    let Some(at) = at else {
        // Without a place the claim holds everywhere: the extremes decide.
        for (member, passage) in path {
            let diagram = result.diagram(structure, *member);
            let quantity = if is_moment { diagram::Quantity::Moment } else { diagram::Quantity::Shear };
            for extreme in diagram.extremes(quantity) {
                let value = extreme.value * sign(*member, *passage);
                if !bounded(claim, value, noise) {
                    let at = words::quantity(structure, extreme.at, Dimension::LENGTH);
                    let name = structure.joint_name(structure.member(*member).map_or(JointId(0), |m| m.start));
                    return Outcome::Fails(format!("{} at {at} from {name}", words(extreme.value, *member)));
                }
            }
        }
        return Outcome::Holds;
    };
    let mut first = None;
    for side in [Side::Before, Side::After] {
        let Some((member, passage, place)) = place_on(structure, path, at.to_f64(), side) else { continue };
        let facing = match (side, passage) {
            (Side::Before, Passage::Forward) | (Side::After, Passage::Backward) => Side::Before,
            _ => Side::After,
        };
        let section = result.diagram(structure, member).at(place, facing);
        let raw = if is_moment { section.moment } else { section.shear };
        // At a jump the claim may be about either side.
        if bounded(claim, raw * sign(member, passage), noise) {
            return Outcome::Holds;
        }
        first.get_or_insert_with(|| words(raw, member));
    }
    Outcome::Fails(first.unwrap_or_default())
}

/// Noise in a quantity: a billionth of the largest force, or of its moment
/// over the size of the structure.
fn noise_of(structure: &Structure, result: &CaseResult, dimension: Dimension) -> f64 {
    let force = ZERO_SHARE * result.largest;
    if dimension == Dimension::FORCE {
        return force;
    }
    let points: Vec<[f64; 2]> = structure.joints.iter().map(|joint| [joint.x.to_f64(), joint.y.to_f64()]).collect();
    force * crate::statics::residual::extent(&points)
}

/// A signed value against a claim whose sense has been taken into its sign.
fn bounded(claim: &ValueClaim, value: f64, noise: f64) -> bool {
    match &claim.value {
        ClaimedValue::Zero => value.abs() <= noise,
        ClaimedValue::Scalar { value: claimed, tolerance, .. } => {
            let claimed = claimed.to_f64();
            match (claim.relation, claim.sense) {
                (Relation::Equals, _) => (value - claimed).abs() <= tolerance.0 * SLACK + noise * 1e-3,
                (Relation::AtMost, Some(_)) => value <= claimed.abs() * SLACK,
                (Relation::AtMost, None) => value.abs() <= claimed.abs() * SLACK,
                (Relation::AtLeast, Some(_)) => value * SLACK >= claimed.abs(),
                (Relation::AtLeast, None) => value.abs() * SLACK >= claimed.abs(),
            }
        }
        ClaimedValue::Vector { .. } => false,
    }
}

/// `sagging`, `hogging`, or the side in tension of a member that stands.
pub fn tension_side(structure: &Structure, member: MemberId, moment: f64) -> &'static str {
    let [dx, dy] = structure.member_vector(member);
    let right = [dy * moment.signum(), -dx * moment.signum()];
    if dx.abs() * 1e6 > dy.abs() {
        if right[1] < 0.0 { "sagging" } else { "hogging" }
    } else if right[0] > 0.0 {
        "with tension on the right"
    } else {
        "with tension on the left"
    }
}

/// What a claim on a movement meets where some stiffness is not given.
const UNKNOWN_MOVEMENT: &str = "not known: it takes the stiffness of every member";

fn deflection(structure: &Structure, claim: &ValueClaim, place: &ClaimPlace, result: &CaseResult) -> Outcome {
    let Some(displacements) = &result.displacements else { return Outcome::Fails(UNKNOWN_MOVEMENT.to_owned()) };
    let vector = match place {
        ClaimPlace::Joint(joint) => displacements.get(joint.index()).map(|moved| [moved.dx, moved.dy]),
        ClaimPlace::Members { path, at: Some(at) } => place_on(structure, path, at.to_f64(), Side::Before)
            .and_then(|(member, _, place)| movement_at(structure, result, member, place)),
        ClaimPlace::Members { path, at: None } => return largest_movement(structure, claim, path, result),
    };
    let Some([x, y]) = vector else { return Outcome::Fails(UNKNOWN_MOVEMENT.to_owned()) };
    moved(structure, claim, [x, y])
}

/// A claim on how a point moves, metres.
fn moved(structure: &Structure, claim: &ValueClaim, [x, y]: [f64; 2]) -> Outcome {
    if let Some(component) = &claim.component {
        let [dx, dy] = component.direction.each_ref().map(|part| part.to_f64());
        let along = (x * dx + y * dy) / dx.hypot(dy);
        let right = match &claim.value {
            ClaimedValue::Zero => along.abs() <= ZERO_MOVEMENT,
            ClaimedValue::Scalar { value, tolerance, .. } => match claim.relation {
                Relation::Equals => (along - value.to_f64()).abs() <= tolerance.0 * SLACK,
                // `down <= 10 mm` bounds the part that way.
                Relation::AtMost => along <= value.to_f64().abs() * SLACK,
                Relation::AtLeast => along * SLACK >= value.to_f64().abs(),
            },
            ClaimedValue::Vector { .. } => false,
        };
        let is = format!(
            "{} {}",
            words::deflection(structure, along.abs()),
            words::direction([dx * along.signum(), dy * along.signum()])
        );
        return if right { Outcome::Holds } else { Outcome::Fails(is) };
    }
    let size = x.hypot(y);
    let right = match &claim.value {
        ClaimedValue::Zero => size <= ZERO_MOVEMENT,
        ClaimedValue::Scalar { .. } => bounded(claim, size, 0.0),
        ClaimedValue::Vector { value: [cx, cy], tolerance, .. } => {
            let (cx, cy) = (cx.to_f64(), cy.to_f64());
            let length = cx.hypot(cy);
            let along = if length > 0.0 { (x * cx + y * cy) / length } else { 0.0 };
            match (claim.relation, tolerance) {
                (Relation::Equals, VectorTolerance::Components([tx, ty])) => {
                    (x - cx).abs() <= tx * SLACK && (y - cy).abs() <= ty * SLACK
                }
                (Relation::Equals, VectorTolerance::Length(within)) => (x - cx).hypot(y - cy) <= within * SLACK,
                (Relation::AtMost, _) => along <= length * SLACK,
                (Relation::AtLeast, _) => along * SLACK >= length,
            }
        }
    };
    let is = || format!("{} {}", words::deflection(structure, size), words::direction([x, y]));
    if right { Outcome::Holds } else { Outcome::Fails(is()) }
}

/// Movements below a millionth of a millimetre are none.
const ZERO_MOVEMENT: f64 = 1e-9;

/// How a point of a member moves, metres.
fn movement_at(structure: &Structure, result: &CaseResult, member: MemberId, place: f64) -> Option<[f64; 2]> {
    let curves = result.deflection(structure, member)?;
    let length = structure.member_length(member);
    let curve = curves.iter().find(|curve| place <= curve.to + 1e-12 * length).or(curves.last())?;
    let across = curve.at(place);
    let displacements = result.displacements.as_ref()?;
    let ends = structure.member(member).map(|m| (m.start, m.end))?;
    let along = |joint: JointId| {
        displacements.get(joint.index()).map(|moved| spans::local(structure, member, [moved.dx, moved.dy])[0])
    };
    let share = place / length;
    let along = along(ends.0)? * (1.0 - share) + along(ends.1)? * share;
    Some(spans::global(structure, member, [along, across]))
}

/// Without a place a claim is about the largest movement along the chain.
fn largest_movement(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    result: &CaseResult,
) -> Outcome {
    let mut largest = [0.0; 2];
    for (member, _) in path {
        let Some(curves) = result.deflection(structure, *member) else {
            return Outcome::Fails(UNKNOWN_MOVEMENT.to_owned());
        };
        let peak = diagram::largest_deflection(&curves);
        for place in [0.0, peak.at, structure.member_length(*member)] {
            let Some([x, y]) = movement_at(structure, result, *member, place) else { continue };
            let measure = |[x, y]: [f64; 2]| match &claim.component {
                Some(component) => {
                    let [dx, dy] = component.direction.each_ref().map(|part| part.to_f64());
                    (x * dx + y * dy) / dx.hypot(dy)
                }
                None => x.hypot(y),
            };
            if measure([x, y]) > measure(largest) || largest == [0.0; 2] {
                largest = [x, y];
            }
        }
    }
    moved(structure, claim, largest)
}

fn rotation(structure: &Structure, claim: &ValueClaim, joint: JointId, result: &CaseResult) -> Outcome {
    let turn = result.displacements.as_ref().and_then(|moved| moved.get(joint.index())).and_then(|moved| moved.turn);
    let Some(turn) = turn else {
        return Outcome::Fails(
            "not known: it takes a beam end held at the joint and the stiffness of every member".to_owned(),
        );
    };
    let signed = if claim.sense == Some(Sense::Clockwise) { -turn } else { turn };
    let right = match &claim.value {
        ClaimedValue::Zero => turn.abs() <= ZERO_MOVEMENT,
        _ => bounded(claim, signed, 0.0),
    };
    let sense = if turn < 0.0 { "cw" } else { "ccw" };
    let _ = structure;
    if right {
        Outcome::Holds
    } else {
        Outcome::Fails(format!("{} rad {sense}", crate::quantity::format::significant(turn.abs(), 4)))
    }
}

/// A reaction couple.
fn couple(structure: &Structure, claim: &ValueClaim, moment: Option<f64>, result: &CaseResult) -> Outcome {
    let noise = noise_of(structure, result, Dimension::MOMENT);
    let moment = moment.unwrap_or(0.0);
    let signed = if claim.sense == Some(Sense::Clockwise) { -moment } else { moment };
    if bounded(claim, signed, noise) {
        return Outcome::Holds;
    }
    let sense = if moment < 0.0 { "cw" } else { "ccw" };
    let size = words::quantity(structure, moment.abs(), Dimension::MOMENT);
    Outcome::Fails(if moment.abs() <= noise { "zero".to_owned() } else { format!("{size} {sense}") })
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
    if matches!(claim.value, ClaimedValue::Scalar { dimension: Dimension::MOMENT, .. }) {
        return couple(structure, claim, reaction.m, result);
    }
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
