//! Slips that the sheet itself contradicts: an answer on it is right that the
//! slip would have made wrong, or its reactions add up to all of the load, and
//! with the slip they would not.
//!
//! Must not know: how a slip is tried, words for people.

use crate::base::SupportId;
use crate::statics::ZERO_SHARE;
use crate::structure::{ResultOf, Structure, ValueClaim, unit};

use super::Asked;
use super::group::Axis;
use super::kinds::{LoadSlip, Slip};
use super::sheet::{Key, Tried};

/// The slips among those that give a wrong claim's number that others on its
/// sheet contradict, by their place among those tried.
pub fn contradicted(structure: &Structure, asked: &[Asked<'_>], own: &Asked<'_>) -> Vec<usize> {
    let of_sheet: Vec<&Asked> = asked.iter().filter(|other| other.file == own.file).collect();
    let is_of_problem = |tried: &Tried| !tried.slip.is_of_answer() && own.inquiry.aim.matches(tried.numbers);
    let tried = own.inquiry.tried.iter().enumerate().filter(|(_, tried)| is_of_problem(tried));
    let refuted = tried.filter(|(_, tried)| {
        let spared = spared(structure, own, tried.slip);
        by_a_right_answer(structure, &of_sheet, own, &tried.key, spared)
            || by_the_sum(structure, &of_sheet, own, &tried.key, spared)
    });
    refuted.map(|(index, _)| index).collect()
}

fn by_a_right_answer(
    structure: &Structure,
    sheet: &[&Asked<'_>],
    own: &Asked<'_>,
    key: &Key,
    spared: Option<Axis>,
) -> bool {
    sheet.iter().filter(|other| other.claimed.is_none()).any(|other| {
        let is_spared = spared.is_some_and(|axis| {
            Reaction::of(structure, &other.claim).is_some_and(|reaction| reaction.is_along(axis, &other.claim))
        });
        // A slip with a case or a support is made in each result anew.
        let is_same = matches!(key, Key::Load(..) | Key::Loads(_)) || other.result.subject == own.result.subject;
        let with = other.inquiry.with(key);
        is_same && !is_spared && !other.inquiry.aim.matches(with) && !other.inquiry.aim.is_right(with)
    })
}

/// Whether the reactions claimed in one direction carry all of the load, and
/// would not with the slip.
fn by_the_sum(structure: &Structure, sheet: &[&Asked<'_>], own: &Asked<'_>, key: &Key, spared: Option<Axis>) -> bool {
    let of_result: Vec<(&Asked, Reaction)> = sheet
        .iter()
        .filter(|other| other.result.subject == own.result.subject)
        .filter_map(|other| Some((*other, Reaction::of(structure, &other.claim)?)))
        .collect();
    let noise = ZERO_SHARE * own.result.largest;
    [Axis::X, Axis::Y].into_iter().filter(|axis| spared != Some(*axis)).any(|axis| {
        let parts: Vec<(SupportId, [f64; 2], &Asked)> = of_result
            .iter()
            .filter_map(|(other, reaction)| Some((reaction.support, reaction.part(axis)?, *other)))
            .collect();
        let is_claimed = own.result.reactions.entries().all(|(id, reaction)| {
            let claims = parts.iter().filter(|(support, ..)| *support == id).count();
            claims == 1 || claims == 0 && axis.of(reaction.force()).abs() <= noise
        });
        let sum = |of: fn(&Asked, &Key) -> [f64; 2]| -> f64 {
            let dot = |[wx, wy]: [f64; 2], [x, y]: [f64; 2]| wx * x + wy * y;
            parts.iter().map(|(_, weights, other)| dot(*weights, of(other, key))).sum()
        };
        let claimed = sum(|other, _| other.inquiry.aim.claimed);
        let right = sum(|other, _| other.inquiry.aim.right);
        let slipped = sum(|other, key| other.inquiry.with(key));
        let within = parts.iter().map(|(_, [wx, wy], other)| {
            let [x, y] = other.inquiry.aim.within;
            wx.abs() * x + wy.abs() * y
        });
        let within: f64 = within.sum();
        is_claimed && (claimed - right).abs() <= within && (slipped - right).abs() > within
    })
}

/// The axis of a load's component that a slip leaves out, where the claim is a
/// reaction perpendicular to it: it may be left out of the moment equation alone.
fn spared(structure: &Structure, own: &Asked<'_>, slip: Slip) -> Option<Axis> {
    let Slip::Load(LoadSlip::PartOut(axis), _) = slip else { return None };
    Reaction::of(structure, &own.claim)?.is_along(axis.other(), &own.claim).then_some(axis)
}

/// A claim on a reaction: what its two numbers count for along each axis.
struct Reaction {
    support: SupportId,
    x: Option<[f64; 2]>,
    y: Option<[f64; 2]>,
}

impl Reaction {
    fn of(structure: &Structure, claim: &ValueClaim) -> Option<Reaction> {
        let subject = &claim.subject;
        let ResultOf::Reaction(support) = subject.of else { return None };
        let (x, y) = match (subject.vector, &subject.component, structure.supports[support].roller()) {
            (Some(_), ..) => (Some([1.0, 0.0]), Some([0.0, 1.0])),
            (None, Some(component), _) => {
                let [x, y] = unit(&component.direction);
                ((y == 0.0).then_some([x, 0.0]), (x == 0.0).then_some([y, 0.0]))
            }
            (None, None, Some(line)) => {
                let [x, y] = unit(line);
                (Some([x, 0.0]), Some([y, 0.0]))
            }
            (None, None, None) => return None,
        };
        Some(Reaction { support, x, y })
    }

    fn part(&self, axis: Axis) -> Option<[f64; 2]> {
        if axis == Axis::X { self.x } else { self.y }
    }

    /// Whether it is claimed to act along this axis alone.
    fn is_along(&self, axis: Axis, claim: &ValueClaim) -> bool {
        let [x, y] = claim.claimed();
        let size = |part: Option<[f64; 2]>| part.map_or(0.0, |[wx, wy]| (wx * x + wy * y).abs());
        let (own, other) = (size(self.part(axis)), size(self.part(axis.other())));
        own > 0.0 && other <= ZERO_SHARE * own
    }
}
