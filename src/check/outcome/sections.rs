//! What a result says of a claim on what varies along a beam: its bending, its
//! shear, and its axial force where loads act along it.
//!
//! Must not know: claims on reactions, bars or movements.

use crate::base::MemberId;
use crate::quantity::Dimension;
use crate::statics::{CaseResult, Side, diagram};
use crate::structure::{ClaimPlace, ClaimedValue, Passage, Structure, ValueClaim};
use crate::syntax::tree::{ClaimWhat, Relation, Sense};

use super::{Found, Met, SLACK, bounded, is_bar, noise_of};

/// The member a place along a chain falls on, and the distance from the
/// member's own first-named joint; `side` tells which of two at a joint.
pub fn place_on(
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
pub fn moment_sign(structure: &Structure, sense: Option<Sense>, member: MemberId, passage: Passage) -> f64 {
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

/// The sign by which a section's value is compared: naming the member the
/// other way turns the moment's sign, not the shear's.
fn section_sign(structure: &Structure, claim: &ValueClaim, member: MemberId, passage: Passage) -> f64 {
    match claim.what {
        ClaimWhat::Moment => moment_sign(structure, claim.sense, member, passage),
        _ if claim.sense == Some(Sense::Compression) => -1.0,
        _ => 1.0,
    }
}

const fn quantity_of(what: ClaimWhat) -> diagram::Quantity {
    match what {
        ClaimWhat::Moment => diagram::Quantity::Moment,
        ClaimWhat::Force => diagram::Quantity::Axial,
        _ => diagram::Quantity::Shear,
    }
}

/// Whether the axial force in a member varies along it.
pub fn is_axial_varying(structure: &Structure, member: MemberId, result: &CaseResult) -> bool {
    if is_bar(structure, member) || !result.spans.contains_key(&member) {
        return false;
    }
    let [most, least] = result.diagram(structure, member).extremes(diagram::Quantity::Axial);
    most.value - least.value > noise_of(structure, result, Dimension::FORCE)
}

fn section_noise(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> f64 {
    let dimension = if claim.what == ClaimWhat::Moment { Dimension::MOMENT } else { Dimension::FORCE };
    noise_of(structure, result, dimension)
}

/// A computed value is met to this share of itself.
const COMPUTED_SHARE: f64 = 1e-6;

/// Which of the extremes a claim without a place is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Extreme {
    /// The largest on the side the sense word names.
    Most,
    /// The largest on the side a minus names.
    Least,
    /// The largest in size.
    Largest,
}

impl Extreme {
    fn of(claim: &ValueClaim) -> Extreme {
        let claims_negative = claim.relation == Relation::Equals
            && matches!(&claim.value, ClaimedValue::Scalar { value, .. } if value.is_negative());
        match (&claim.value, claim.sense) {
            (ClaimedValue::Zero, _) => Extreme::Largest,
            _ if claims_negative => Extreme::Least,
            (_, Some(_)) => Extreme::Most,
            (_, None) => Extreme::Largest,
        }
    }

    /// How far a signed value is one of these, and what it is compared as.
    fn measure(self, value: f64) -> (f64, f64) {
        match self {
            Extreme::Most => (value, value),
            Extreme::Least => (-value, value),
            Extreme::Largest => (value.abs(), value.abs()),
        }
    }
}

/// Without a place a limit holds everywhere, and a value is about the largest.
pub(super) fn bending_anywhere(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    result: &CaseResult,
) -> Met {
    let noise = section_noise(structure, claim, result);
    let all = || along(structure, claim, path, result);
    let found = |(member, extreme): (MemberId, diagram::Extreme)| Found::Section {
        what: claim.what,
        member,
        value: extreme.value,
        at: Some(extreme.at),
        beyond: None,
        noise,
    };
    let Some((compared, member, extreme)) = governing_extreme(structure, claim, path, result) else {
        return Met::not_known("not known");
    };
    let holds = bounded(claim, compared, noise);
    let told = if let Some(other) = turned_round(claim, all()).filter(|_| !holds) {
        other
    } else if Extreme::of(claim) == Extreme::Largest || extreme.value.abs() > noise {
        (member, extreme)
    } else {
        // Where nothing is on the side that is named, the other side tells more.
        let largest = all().max_by(|(a, ..), (b, ..)| a.abs().total_cmp(&b.abs()));
        largest.map_or((member, extreme), |(_, member, extreme)| (member, extreme))
    };
    Met::of(holds, found(told))
}

/// The value of the claimed size on the other side: what a claim with the
/// wrong side or sign speaks of.
fn turned_round(
    claim: &ValueClaim,
    mut all: impl Iterator<Item = (f64, MemberId, diagram::Extreme)>,
) -> Option<(MemberId, diagram::Extreme)> {
    let ClaimedValue::Scalar { value, .. } = &claim.value else { return None };
    if claim.relation != Relation::Equals || Extreme::of(claim) == Extreme::Largest {
        return None;
    }
    let claimed = value.to_f64();
    let within = claim.figures.map_or(0.0, |[own, _]| own).max(claimed.abs() * COMPUTED_SHARE) * SLACK;
    let (_, member, extreme) = all.find(|(signed, ..)| (signed + claimed).abs() <= within)?;
    Some((member, extreme))
}

/// The extremes of each member of a chain, in the claim's sense and as found.
fn along<'a>(
    structure: &'a Structure,
    claim: &'a ValueClaim,
    path: &'a [(MemberId, Passage)],
    result: &'a CaseResult,
) -> impl Iterator<Item = (f64, MemberId, diagram::Extreme)> + 'a {
    let quantity = quantity_of(claim.what);
    path.iter().flat_map(move |(member, passage)| {
        let sign = section_sign(structure, claim, *member, *passage);
        let extremes = result.diagram(structure, *member).extremes(quantity);
        extremes.map(|extreme| (extreme.value * sign, *member, extreme))
    })
}

fn governing_extreme(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    result: &CaseResult,
) -> Option<(f64, MemberId, diagram::Extreme)> {
    let wanted = Extreme::of(claim);
    let mut governing: Option<(f64, (f64, MemberId, diagram::Extreme))> = None;
    for (signed, member, extreme) in along(structure, claim, path, result) {
        let (size, compared) = wanted.measure(signed);
        // Of two equal ones the first along the chain.
        if governing.as_ref().is_none_or(|(largest, _)| size > *largest) {
            governing = Some((size, (compared, member, extreme)));
        }
    }
    governing.map(|(_, found)| found)
}

/// The extreme a claim without a place is about, compared in its sense.
pub(super) fn governing(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    result: &CaseResult,
) -> f64 {
    governing_extreme(structure, claim, path, result).map_or(f64::NEG_INFINITY, |(compared, ..)| compared)
}

pub(super) fn bending_at(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    at: f64,
    result: &CaseResult,
) -> Met {
    let noise = section_noise(structure, claim, result);
    let sides = sections(structure, claim, path, at, result);
    let mut each = sides.iter().map(|(signed, ..)| bounded(claim, *signed, noise));
    // At a jump a value may be about either side; a limit holds on both.
    let holds = if claim.relation == Relation::Equals { each.any(|holds| holds) } else { each.all(|holds| holds) };
    let [Some((_, member, value)), other] = [0, 1].map(|index| sides.get(index).copied()) else {
        return Met::not_known("not known");
    };
    // Both sides of a jump are told.
    let beyond = other.filter(|(.., beyond)| (beyond - value).abs() > noise).map(|(_, member, value)| (member, value));
    Met::of(holds, Found::Section { what: claim.what, member, value, at: None, beyond, noise })
}

/// The values on both sides of a place, compared in the claim's sense and as
/// found.
pub(super) fn sections(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    at: f64,
    result: &CaseResult,
) -> Vec<(f64, MemberId, f64)> {
    let side = |side| {
        let (member, passage, place) = place_on(structure, path, at, side)?;
        let facing = match (side, passage) {
            (Side::Before, Passage::Forward) | (Side::After, Passage::Backward) => Side::Before,
            _ => Side::After,
        };
        let section = result.diagram(structure, member).at(place, facing);
        let value = match quantity_of(claim.what) {
            diagram::Quantity::Moment => section.moment,
            diagram::Quantity::Axial => section.axial,
            diagram::Quantity::Shear => section.shear,
        };
        Some((value * section_sign(structure, claim, member, passage), member, value))
    };
    [Side::Before, Side::After].into_iter().filter_map(side).collect()
}

/// Whether a claim is about the largest moment or shear along a chain.
pub fn is_largest_along(claim: &ValueClaim) -> bool {
    matches!(claim.place, ClaimPlace::Members { at: None, .. })
        && matches!(claim.what, ClaimWhat::Moment | ClaimWhat::Shear)
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
