//! Claims on what a moving load causes: about the extremes over all positions
//! of the train.
//!
//! `<=` has to hold in every position; `>=` and `:` are about the largest size
//! reached, on the side a sense word, a direction or a minus sign names.
//!
//! Must not know: how extremes are found.

use crate::base::{MemberId, SupportId};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::Dimension;
use crate::statics::diagram::Quantity;
use crate::statics::travel::{BendingRange, Peak};
use crate::statics::{Probe, Range, Side, TravelResult, ZERO_SHARE, residual};
use crate::structure::{
    Claim, ClaimPlace, ClaimedValue, ComponentWord, Passage, Polarity, Structure, ValueClaim, VectorForm,
    VectorTolerance,
};
use crate::syntax::tree::{ClaimWhat, Relation, Sense};

use super::{Judgement, claimed_words, subject_words, tolerance_words, unknown_label};
use crate::check::outcome::{SLACK, bounded, moment_sign, place_on, tension_side};
use crate::check::words;

/// What a claim meets.
struct Met {
    holds: bool,
    /// The extreme in words, with its place on the member.
    is: String,
    peak: Peak,
}

pub(super) fn judge(
    structure: &Structure,
    index: usize,
    claim: &Claim,
    value: &ValueClaim,
    result: &TravelResult,
) -> Judgement {
    let name = structure.travel_name(result.travel);
    let subject = subject_words(structure, value);
    let Some(met) = meet(structure, value, result) else {
        let told = Diagnostic::new(Slug::ClaimFails, format!("{subject} under {name} is not known"))
            .label(claim.origin, unknown_label(structure, claim, value))
            .why("Moving loads are followed in their reactions, forces and bending; not in the movements they cause.")
            .help("state the position that matters as a `case` and claim the movement there");
        return Judgement::not_known(index, format!("not known under {name}"), told);
    };
    let is_zero = met.peak.train.is_none();
    let computed = if is_zero { "zero in every position" } else { met.is.trim_end_matches(',') }.to_owned();
    match (claim.polarity, met.holds) {
        (Polarity::Holds, true) | (Polarity::IsRefuted, false) => Judgement::right(index, computed),
        (Polarity::Holds, false) => {
            let reaches = if is_zero { "is zero in every position" } else { "reaches" };
            let is = if is_zero { String::new() } else { format!(" {}", met.is) };
            let mut told = Diagnostic::new(Slug::ClaimFails, format!("{subject} {reaches}{is} under {name}"))
                .label(claim.origin, format!("claims {}", claimed_words(structure, value)));
            if let Some(train) = met.peak.train {
                let position = words::train(structure, result.travel, train);
                told = told.why(format!("So it is with the {position}."));
            }
            match value.relation {
                Relation::AtMost => {}
                _ => told = told.why("Under a moving load such a claim is about the largest value the train causes."),
            }
            if let Some(text) = tolerance_words(structure, value) {
                told = told.why(text);
            }
            Judgement::wrong(index, computed, told)
        }
        (Polarity::IsRefuted, true) => {
            let told = Diagnostic::new(Slug::ClaimNotRefuted, format!("{subject} holds after all under {name}"))
                .label(claim.origin, format!("{} is claimed not to hold, and holds", claimed_words(structure, value)));
            Judgement::wrong(index, computed, told)
        }
    }
}

/// `None` for what a moving load is not followed in.
fn meet(structure: &Structure, claim: &ValueClaim, result: &TravelResult) -> Option<Met> {
    match (&claim.place, claim.what) {
        (ClaimPlace::Joint(joint), ClaimWhat::Reaction) => {
            let (support, _) = structure.support_at(*joint)?;
            Some(reaction(structure, claim, support, result))
        }
        (ClaimPlace::Members { path, at }, ClaimWhat::Force | ClaimWhat::Shear | ClaimWhat::Moment) => match at {
            None => Some(anywhere(structure, claim, path, result)),
            Some(at) => at_place(structure, claim, path, at.to_f64(), result),
        },
        _ => None,
    }
}

/// The end of a range that a claim is about, as [`bounded`] takes it.
fn wanted(claim: &ValueClaim, range: Range, is_sided: bool) -> (f64, Peak) {
    let claims_negative = claim.relation == Relation::Equals
        && matches!(&claim.value, ClaimedValue::Scalar { value, .. } if value.is_negative());
    if is_sided {
        (range.most.value, range.most)
    } else if claims_negative {
        (range.least.value, range.least)
    } else {
        let peak = range.largest();
        (peak.value.abs(), peak)
    }
}

fn quantity_of(what: ClaimWhat) -> (Quantity, Dimension) {
    match what {
        ClaimWhat::Moment => (Quantity::Moment, Dimension::MOMENT),
        ClaimWhat::Shear => (Quantity::Shear, Dimension::FORCE),
        _ => (Quantity::Axial, Dimension::FORCE),
    }
}

/// The sign a claim's sense gives to a force in a member passed this way.
fn sign(structure: &Structure, claim: &ValueClaim, member: MemberId, passage: Passage) -> f64 {
    match (claim.what, claim.sense) {
        (ClaimWhat::Moment, sense) => moment_sign(structure, sense, member, passage),
        (_, Some(Sense::Compression)) => -1.0,
        _ => 1.0,
    }
}

fn noise(structure: &Structure, result: &TravelResult, dimension: Dimension) -> f64 {
    let force = ZERO_SHARE * result.largest;
    if dimension == Dimension::FORCE {
        return force;
    }
    let points: Vec<[f64; 2]> = structure.joints.iter().map(|joint| [joint.x.to_f64(), joint.y.to_f64()]).collect();
    force * residual::extent(&points)
}

/// Without a place a claim is about all of the chain.
fn anywhere(structure: &Structure, claim: &ValueClaim, path: &[(MemberId, Passage)], result: &TravelResult) -> Met {
    let (quantity, dimension) = quantity_of(claim.what);
    let mut best: Option<(f64, Met)> = None;
    for (member, passage) in path {
        let Some(range) = result.members.get(member.index()) else { continue };
        let bending = range.bending.unwrap_or(BendingRange::default());
        let range = match quantity {
            Quantity::Axial => range.axial,
            Quantity::Shear => bending.shear,
            Quantity::Moment => bending.moment,
        };
        let sign = sign(structure, claim, *member, *passage);
        let (value, peak) = wanted(claim, range.times(sign), claim.sense.is_some());
        let is_larger = |known: f64| if value < 0.0 { value < known } else { value > known };
        if best.as_ref().is_none_or(|(known, _)| is_larger(*known)) {
            let size = words_of(structure, claim.what, *member, peak.value * sign);
            let holds = bounded(claim, value, noise(structure, result, dimension));
            let whose = if path.len() > 1 { format!("in {}, ", structure.member_name(*member)) } else { String::new() };
            let is = format!("{size}, {whose}{},", words::member_place(structure, *member, peak.at));
            best = Some((value, Met { holds, is, peak }));
        }
    }
    best.map_or(Met { holds: true, is: String::new(), peak: Peak::default() }, |(_, met)| met)
}

fn at_place(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    at: f64,
    result: &TravelResult,
) -> Option<Met> {
    let (quantity, dimension) = quantity_of(claim.what);
    let mut first = None;
    let mut before = None;
    for side in [Side::Before, Side::After] {
        let Some((member, passage, local)) = place_on(structure, path, at, side) else { continue };
        if before == Some(member) {
            continue;
        }
        before = Some(member);
        let sign = sign(structure, claim, member, passage);
        let range = result.range(structure, Probe::Section(member, local, quantity)).times(sign);
        let (value, peak) = wanted(claim, range, claim.sense.is_some());
        let holds = bounded(claim, value, noise(structure, result, dimension));
        let met = Met { holds, is: words_of(structure, claim.what, member, peak.value * sign), peak };
        // At a joint a value may be about either side; a limit holds on both.
        if holds == (claim.relation == Relation::Equals) {
            return Some(met);
        }
        first.get_or_insert(met);
    }
    first
}

fn reaction(structure: &Structure, claim: &ValueClaim, support: SupportId, result: &TravelResult) -> Met {
    let ranges = result.reactions.get(support.index()).copied().unwrap_or_default();
    let force_noise = noise(structure, result, Dimension::FORCE);
    if matches!(claim.value, ClaimedValue::Scalar { dimension: Dimension::MOMENT, .. }) {
        let sign = if claim.sense == Some(Sense::Clockwise) { -1.0 } else { 1.0 };
        let (value, peak) = wanted(claim, ranges.m.unwrap_or_default().times(sign), claim.sense.is_some());
        let turn = if peak.value * sign < 0.0 { "cw" } else { "ccw" };
        let is = format!("{} {turn}", words::quantity(structure, peak.value.abs(), Dimension::MOMENT));
        return Met { holds: bounded(claim, value, noise(structure, result, Dimension::MOMENT)), is, peak };
    }
    let along = |direction: [f64; 2]| result.range(structure, Probe::Reaction(support, direction));
    let component = claim.component.as_ref().map(|component| {
        let [x, y] = component.direction.each_ref().map(|part| part.to_f64());
        ([x, y], matches!(component.word, ComponentWord::Cardinal(_) | ComponentWord::Other))
    });
    match (&claim.value, component) {
        (ClaimedValue::Vector { value, tolerance, form, .. }, component) => {
            let [x, y] = value.each_ref().map(|part| part.to_f64());
            let within = match tolerance {
                VectorTolerance::Components([tx, ty]) => tx.max(*ty),
                VectorTolerance::Length(length) => *length,
            };
            if *form == VectorForm::Components && component.is_none() {
                return whole(structure, support, result, ([x, y], tolerance));
            }
            // The claim has its own direction: the largest part that way.
            let direction = match component {
                None => [x, y],
                Some((line, _)) => {
                    let part = x * line[0] + y * line[1];
                    if part < 0.0 { line.map(|part| -part) } else { line }
                }
            };
            let claimed = (x * direction[0] + y * direction[1]) / direction[0].hypot(direction[1]);
            let peak = along(direction).most;
            let holds = match claim.relation {
                Relation::Equals => (peak.value - claimed).abs() <= within * SLACK + force_noise,
                Relation::AtMost => peak.value <= claimed * SLACK,
                Relation::AtLeast => peak.value * SLACK >= claimed,
            };
            Met { holds, is: part_words(structure, peak.value, direction), peak }
        }
        (_, Some((direction, is_sided))) => {
            let (value, peak) = wanted(claim, along(direction), is_sided);
            Met { holds: bounded(claim, value, force_noise), is: part_words(structure, peak.value, direction), peak }
        }
        (_, None) => {
            let range = ranges.push.unwrap_or(Range { least: Peak::default(), most: ranges.size });
            let (value, peak) = wanted(claim, range, false);
            let train = peak.train;
            let force = train.map_or([0.0; 2], |train| result.reaction(support, train).force());
            let is = part_words(structure, force[0].hypot(force[1]), clean(force, force_noise));
            Met { holds: bounded(claim, value, force_noise), is, peak }
        }
    }
}

/// A claim of both components: about the position of the largest reaction.
fn whole(
    structure: &Structure,
    support: SupportId,
    result: &TravelResult,
    ([x, y], tolerance): ([f64; 2], &VectorTolerance),
) -> Met {
    let peak = result.reactions.get(support.index()).copied().unwrap_or_default().size;
    let [fx, fy] = peak.train.map_or([0.0; 2], |train| result.reaction(support, train).force());
    let noise = noise(structure, result, Dimension::FORCE);
    let holds = match tolerance {
        VectorTolerance::Components([tx, ty]) => {
            (fx - x).abs() <= tx * SLACK + noise && (fy - y).abs() <= ty * SLACK + noise
        }
        VectorTolerance::Length(length) => (fx - x).hypot(fy - y) <= length * SLACK + noise,
    };
    Met { holds, is: words::vector(structure, clean([fx, fy], noise), Dimension::FORCE), peak }
}

fn clean(force: [f64; 2], noise: f64) -> [f64; 2] {
    force.map(|part| if part.abs() <= noise { 0.0 } else { part })
}

/// `12.5 kN up`, for a part along a direction that may be negative.
fn part_words(structure: &Structure, value: f64, direction: [f64; 2]) -> String {
    let sense = direction.map(|part| if value < 0.0 { -part } else { part });
    format!("{} {}", words::quantity(structure, value.abs(), Dimension::FORCE), words::way(structure, sense))
}

fn words_of(structure: &Structure, what: ClaimWhat, member: MemberId, value: f64) -> String {
    match what {
        ClaimWhat::Moment => {
            let size = words::quantity(structure, value.abs(), Dimension::MOMENT);
            format!("{size} {}", tension_side(structure, member, value))
        }
        ClaimWhat::Shear => words::quantity(structure, value, Dimension::FORCE),
        _ => {
            let size = words::quantity(structure, value.abs(), Dimension::FORCE);
            format!("{size} {}", if value < 0.0 { "compression" } else { "tension" })
        }
    }
}
