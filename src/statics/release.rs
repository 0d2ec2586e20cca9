//! Which forces of a redundancy can be freed together so that nothing comes
//! loose: ends of beams hinged, pins turned into rollers.
//!
//! Must not know: loads, words for people.

use crate::numeric::exact_rank_only;
use crate::structure::Structure;

use super::equilibrium::{Component, Equilibrium, Unknown};
use super::verdict::{Redundancy, SEED, Verdict};

/// Larger structures are not tried, nor more of a redundancy's forces.
const MOST_ROWS: usize = 2_000;
const MOST_TRIED: usize = 24;
/// More at once are no advice.
const MOST_FREED: usize = 6;

/// As many forces of a stable structure's redundancy as it has too many, such
/// that without them the rank is what it was. `None` where none were found.
pub fn releases(
    structure: &Structure,
    equilibrium: &Equilibrium,
    verdict: &Verdict,
    redundancy: &Redundancy,
) -> Option<Vec<Unknown>> {
    if verdict.mechanisms > 0 || equilibrium.rows.len() > MOST_ROWS || redundancy.degree > MOST_FREED {
        return None;
    }
    let rank_of = |unknown: &Unknown| match unknown {
        // A hinge at a support leaves the fewest members changed.
        Unknown::EndMoment(member, end) => {
            Some(u8::from(structure.support_at(end.joint(&structure.members[*member])).is_none()))
        }
        Unknown::Reaction(support, component) => {
            let is_pin = structure.supports[*support].is_pin();
            match component {
                Component::X if is_pin => Some(2),
                Component::Y if is_pin => Some(3),
                _ => None,
            }
        }
        Unknown::Axial(_) => None,
    };
    let mut candidates: Vec<(u8, Unknown)> =
        redundancy.among.iter().filter_map(|unknown| Some((rank_of(unknown)?, *unknown))).collect();
    candidates.sort_by_key(|(rank, _)| *rank);
    let blocks = equilibrium.blocks();
    let mut freed: Vec<Unknown> = Vec::new();
    for (_, candidate) in candidates.into_iter().take(MOST_TRIED) {
        if freed.len() == redundancy.degree {
            break;
        }
        let is_kept = |index: usize| {
            equilibrium.unknowns.get(index).is_some_and(|unknown| *unknown != candidate && !freed.contains(unknown))
        };
        let rank = exact_rank_only(&equilibrium.only(is_kept), &blocks, SEED).ok()?;
        if rank == verdict.rank.rank {
            freed.push(candidate);
        }
    }
    (freed.len() == redundancy.degree).then_some(freed)
}
