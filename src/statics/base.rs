//! Redundant equations, factored one way or the other: by the force method
//! where redundancies are few, which takes a choice of unknowns to leave out
//! so that what remains is determinate; else through a stiffness.
//!
//! Must not know: loads, words for people.

use crate::numeric::{
    Condition, Flexibility, MOST_SPARE, NumericError, Rank, Redundant, RedundantFactor, SpareFactor, Sparse, exact_rank,
};

use super::equilibrium::Equilibrium;
use super::verdict::{SEED, Verdict};

/// From so many rows on the force method is tried first: a stiffness squares
/// the condition, which grows with the size.
const LONG: usize = 2_000;
/// Beyond this condition of a stiffness the force method is tried as well.
const DOUBTFUL: f64 = 1e8;
/// Spare unknowns are exchanged so many times for such as make a better base.
const EXCHANGES: usize = 2;

/// Redundant equations, ready for any number of right sides.
pub(super) struct Yielding {
    way: Way,
    condition: Condition,
    /// Rows and columns.
    pub size: (usize, usize),
}

enum Way {
    Stiffness(Box<RedundantFactor>),
    Forces(Box<SpareFactor>),
}

impl Yielding {
    /// Factors a stable redundant structure of which nothing rigid is redundant
    /// among itself. `Singular` where double precision fails both ways.
    pub fn of(
        equilibrium: &Equilibrium,
        verdict: &Verdict,
        matrix: &Sparse<f64>,
        flexibility: &Flexibility,
    ) -> Result<Yielding, NumericError> {
        let size = (matrix.rows(), matrix.columns());
        let forces = || -> Result<Option<Yielding>, NumericError> {
            let factor = by_forces(equilibrium, verdict, matrix, flexibility)?;
            Ok(factor.map(|factor| Yielding {
                condition: factor.condition(),
                way: Way::Forces(Box::new(factor)),
                size,
            }))
        };
        if equilibrium.rows.len() >= LONG
            && let Some(found) = forces()?
        {
            return Ok(found);
        }
        match RedundantFactor::new(matrix, &equilibrium.blocks(), flexibility) {
            Ok(factor) => {
                let condition = factor.condition();
                let better = if condition.number > DOUBTFUL { forces()? } else { None };
                let better = better.filter(|other| other.condition.number < condition.number);
                Ok(better.unwrap_or_else(|| Yielding { condition, way: Way::Stiffness(Box::new(factor)), size }))
            }
            Err(NumericError::Singular) => forces()?.ok_or(NumericError::Singular),
            Err(other) => Err(other),
        }
    }

    pub fn condition(&self) -> Condition {
        self.condition
    }

    /// `B f = b`, `F f − Bᵀ u = g`.
    pub fn solve(&self, b: &[f64], g: &[f64]) -> Result<Redundant, NumericError> {
        self.solve_many(&[(b, g)])?.pop().ok_or(NumericError::Singular)
    }

    pub fn solve_many(&self, right: &[(&[f64], &[f64])]) -> Result<Vec<Redundant>, NumericError> {
        match &self.way {
            Way::Stiffness(factor) => factor.solve_many(right),
            Way::Forces(factor) => factor.solve_many(right),
        }
    }
}

/// Factors by the force method; `None` where there are too many redundancies
/// for it, or no base that doubles can tell from a mechanism.
fn by_forces(
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
