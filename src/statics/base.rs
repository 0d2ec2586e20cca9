//! The force method's choice: which few unknowns to leave out so that what
//! remains is determinate, and the factor of the whole that follows.
//!
//! Must not know: loads, words for people.

use crate::numeric::{Flexibility, MOST_SPARE, NumericError, Rank, SpareFactor, Sparse, exact_rank};

use super::equilibrium::Equilibrium;
use super::verdict::{SEED, Verdict};

/// Spare unknowns are exchanged so many times for such as make a better base.
const EXCHANGES: usize = 2;

/// Factors by the force method; `None` where there are too many redundancies
/// for it, or no base that doubles can tell from a mechanism.
pub fn factor(
    equilibrium: &Equilibrium,
    verdict: &Verdict,
    matrix: &Sparse<f64>,
    flexibility: &Flexibility,
) -> Result<Option<SpareFactor>, NumericError> {
    if verdict.redundancy == 0 || verdict.redundancy > MOST_SPARE {
        return Ok(None);
    }
    let Some((mut spare, mut base)) = choose(equilibrium, verdict)? else { return Ok(None) };
    let build =
        |spare: &[u32], base: &Rank| match SpareFactor::new(matrix.clone(), flexibility.clone(), spare, &base.peel) {
            Ok(factor) => Ok(Some(factor)),
            Err(NumericError::Singular) => Ok(None),
            Err(other) => Err(other),
        };
    let mut factor = build(&spare, &base)?;
    for _ in 0..EXCHANGES {
        let Some((out, into)) = factor.as_ref().and_then(|factor| factor.better_spare(&spare)) else { break };
        let exchanged: Vec<u32> = spare.iter().map(|column| if *column == out { into } else { *column }).collect();
        let rank = without(equilibrium, &exchanged)?;
        if rank.row_deficiency() > 0 {
            break;
        }
        (spare, base) = (exchanged, rank);
        factor = build(&spare, &base)?;
    }
    Ok(factor)
}

/// Leaves out one unknown of each group of redundancies until none is left:
/// the unknowns left out and the verdict on the rest.
fn choose(equilibrium: &Equilibrium, verdict: &Verdict) -> Result<Option<(Vec<u32>, Rank)>, NumericError> {
    let middle = |members: &[u32]| members.get(members.len() / 2).copied();
    let mut spare: Vec<u32> = verdict.rank.column_groups.iter().filter_map(|group| middle(&group.members)).collect();
    loop {
        spare.sort_unstable();
        let rank = without(equilibrium, &spare)?;
        if rank.row_deficiency() > 0 || spare.len() > verdict.redundancy {
            return Ok(None);
        }
        if rank.column_deficiency() == 0 {
            return Ok(Some((spare, rank)));
        }
        let kept: Vec<u32> = (0u32..).take(equilibrium.columns().len()).filter(|c| !spare.contains(c)).collect();
        let more = rank.column_groups.iter().filter_map(|group| middle(&group.members));
        spare.extend(more.filter_map(|column| kept.get(column as usize).copied()));
    }
}

fn without(equilibrium: &Equilibrium, spare: &[u32]) -> Result<Rank, NumericError> {
    let left = |column: usize| !spare.iter().any(|spare| *spare as usize == column);
    exact_rank(&equilibrium.only(left), &equilibrium.blocks(), SEED)
}
