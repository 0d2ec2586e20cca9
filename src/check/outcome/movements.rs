//! What a result says of a claim on a movement.
//!
//! Must not know: claims on forces.

use crate::base::{JointId, MemberId};
use crate::statics::{CaseResult, Side, diagram, spans};
use crate::structure::{ClaimPlace, ClaimedValue, Passage, Structure, ValueClaim};
use crate::syntax::tree::Relation;

use super::{
    Found, Met, SLACK, UNKNOWN_MOVEMENT, UNKNOWN_ROTATION, bounded, direction_of, place_on, turned, vector_holds,
};

/// Movements below a millionth of a millimetre are none.
const ZERO_MOVEMENT: f64 = 1e-9;

pub(super) fn deflection(structure: &Structure, claim: &ValueClaim, place: &ClaimPlace, result: &CaseResult) -> Met {
    movement(structure, claim, place, result).map_or(Met::not_known(UNKNOWN_MOVEMENT), |vector| moved(claim, vector))
}

/// How the claimed place moves, metres; `None` where stiffness is not known.
pub(super) fn movement(
    structure: &Structure,
    claim: &ValueClaim,
    place: &ClaimPlace,
    result: &CaseResult,
) -> Option<[f64; 2]> {
    let displacements = result.displacements.as_ref()?;
    match place {
        ClaimPlace::Joint(joint) => displacements.get(joint.index()).map(|moved| [moved.dx, moved.dy]),
        ClaimPlace::Members { path, at: Some(at) } => place_on(structure, path, at.to_f64(), Side::Before)
            .and_then(|(member, _, place)| movement_at(structure, result, member, place)),
        ClaimPlace::Members { path, at: None } => largest_movement(structure, claim, path, result),
    }
}

/// A claim on how a point moves, metres.
fn moved(claim: &ValueClaim, [x, y]: [f64; 2]) -> Met {
    if let Some([dx, dy]) = direction_of(claim) {
        let along = x * dx + y * dy;
        let holds = match &claim.value {
            ClaimedValue::Zero => along.abs() <= ZERO_MOVEMENT,
            ClaimedValue::Scalar { value, tolerance, .. } => match claim.relation {
                Relation::Equals => (along - value.to_f64()).abs() <= tolerance.0 * SLACK,
                // `down <= 10 mm` bounds the part that way.
                Relation::AtMost => along <= value.to_f64().abs() * SLACK,
                Relation::AtLeast => along * SLACK >= value.to_f64().abs(),
            },
            ClaimedValue::Vector { .. } => false,
        };
        return Met::of(holds, Found::MovementAlong { along, direction: [dx, dy] });
    }
    let size = x.hypot(y);
    let holds = match &claim.value {
        ClaimedValue::Zero => size <= ZERO_MOVEMENT,
        ClaimedValue::Scalar { .. } => bounded(claim, size, 0.0),
        ClaimedValue::Vector { value, tolerance, .. } => vector_holds(claim.relation, [x, y], value, tolerance, 0.0),
    };
    Met::of(holds, Found::Movement([x, y]))
}

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
) -> Option<[f64; 2]> {
    let direction = direction_of(claim);
    let measure = |[x, y]: [f64; 2]| direction.map_or(x.hypot(y), |[dx, dy]| x * dx + y * dy);
    let mut largest = [0.0; 2];
    for (member, _) in path {
        let curves = result.deflection(structure, *member)?;
        let peak = diagram::largest_deflection(&curves);
        for place in [0.0, peak.at, structure.member_length(*member)] {
            let Some([x, y]) = movement_at(structure, result, *member, place) else { continue };
            if measure([x, y]) > measure(largest) || largest == [0.0; 2] {
                largest = [x, y];
            }
        }
    }
    Some(largest)
}

pub(super) fn rotation(claim: &ValueClaim, joint: JointId, result: &CaseResult) -> Met {
    let turn = result.displacements.as_ref().and_then(|moved| moved.get(joint.index())).and_then(|moved| moved.turn);
    let Some(turn) = turn else { return Met::not_known(UNKNOWN_ROTATION) };
    let holds = match &claim.value {
        ClaimedValue::Zero => turn.abs() <= ZERO_MOVEMENT,
        _ => bounded(claim, turned(claim, turn), 0.0),
    };
    Met::of(holds, Found::Rotation(turn))
}
