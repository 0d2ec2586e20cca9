//! Places along a chain, and the sense in which a force inside a member counts.
//!
//! Must not know: claims on reactions or movements.

use crate::base::MemberId;
use crate::statics::diagram::Quantity;
use crate::statics::{CaseResult, Side, ZERO_SHARE};
use crate::structure::{Passage, Structure, ValueClaim};
use crate::syntax::tree::{ClaimWhat, MemberKind, Sense};

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

/// The sign by which a section's value is compared: naming the member the
/// other way turns the moment's sign, not the shear's.
pub fn section_sign(structure: &Structure, claim: &ValueClaim, member: MemberId, passage: Passage) -> f64 {
    match claim.what {
        ClaimWhat::Moment => moment_sign(structure, claim.sense, member, passage),
        _ if claim.sense == Some(Sense::Compression) => -1.0,
        _ => 1.0,
    }
}

pub const fn quantity_of(what: ClaimWhat) -> Quantity {
    match what {
        ClaimWhat::Moment => Quantity::Moment,
        ClaimWhat::Force => Quantity::Axial,
        _ => Quantity::Shear,
    }
}

/// A bar or a cable: it carries a force along itself and nothing else.
pub fn is_bar(structure: &Structure, member: MemberId) -> bool {
    structure.member(member).is_some_and(|member| member.kind != MemberKind::Beam)
}

/// Whether the axial force in a member varies along it.
pub fn is_axial_varying(structure: &Structure, member: MemberId, result: &CaseResult) -> bool {
    if is_bar(structure, member) || !result.spans.contains_key(&member) {
        return false;
    }
    let [most, least] = result.diagram(structure, member).extremes(Quantity::Axial);
    most.value - least.value > ZERO_SHARE * result.largest
}
