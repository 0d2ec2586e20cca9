//! The equations factored: those that statics alone solves, and redundant ones
//! one way or the other: by the force method where redundancies are few, which
//! takes a choice of unknowns to leave out so that what remains is determinate;
//! else through a stiffness.
//!
//! Must not know: loads, words for people.

use crate::base::{JointId, MemberId};
use crate::numeric::{
    Condition, Factor, Flexibility, MOST_SPARE, NumericError, Rank, Redundant, RedundantFactor, SpareFactor, Sparse,
    exact_rank,
};
use crate::structure::Structure;

use super::equilibrium::{Equilibrium, Unknown};
use super::flexibility::{self, flexibilities};
use super::verdict::{SEED, Verdict};

/// From so many rows on the force method is tried first: a stiffness squares
/// the condition, which grows with the size.
const LONG: usize = 2_000;
/// Beyond this condition of a stiffness the force method is tried as well.
const DOUBTFUL: f64 = 1e8;
/// Spare unknowns are exchanged so many times for such as make a better base.
const EXCHANGES: usize = 2;

/// Why there are no forces.
#[derive(Debug, PartialEq)]
pub enum SolveError {
    Numeric(NumericError),
    /// Beyond [`super::solve::LARGEST_CONDITION`].
    TooSensitive {
        condition: f64,
        /// As [`super::Solution::weakest`].
        weakest: Option<JointId>,
    },
    /// Members whose share in a redundancy depends on a stiffness not given.
    StiffnessMissing {
        members: Vec<MemberId>,
    },
    /// Rigid members or supports that are redundant among themselves.
    RigidRedundancy,
}

impl From<NumericError> for SolveError {
    fn from(error: NumericError) -> Self {
        SolveError::Numeric(error)
    }
}

/// The equations factored, with what gives where it is known.
pub(super) struct Factored {
    pub equations: Equations,
    pub flexibilities: Option<Flexibility>,
    /// Whether every stiffness is known, so that joints' movements follow.
    pub all_known: bool,
}

/// The factored equations.
pub(super) enum Equations {
    /// Statics alone gives the forces.
    Determinate(Box<Factor>),
    /// Flexibility joins in.
    Redundant(RedundantSolver),
}

/// Factors the equations of a stable structure.
pub(super) fn factor(
    structure: &Structure,
    equilibrium: &Equilibrium,
    verdict: &Verdict,
) -> Result<Factored, SolveError> {
    let all_known = flexibility::all_known(structure, equilibrium);
    let matrix = equilibrium.floating()?;
    let flexibilities = (all_known || verdict.redundancy > 0).then(|| flexibilities(structure, equilibrium));
    let equations = if let (Some(flexibilities), 1..) = (&flexibilities, verdict.redundancy) {
        let members = missing_stiffness(structure, equilibrium, verdict);
        if !members.is_empty() {
            return Err(SolveError::StiffnessMissing { members });
        }
        if rigid_redundancy(equilibrium, &flexibilities.diagonal)? {
            return Err(SolveError::RigidRedundancy);
        }
        // What is rigid is not redundant among itself: a singular factor is a matter of doubles alone.
        Equations::Redundant(RedundantSolver::of(equilibrium, verdict, &matrix, flexibilities)?)
    } else {
        Equations::Determinate(Box::new(Factor::new(&matrix, &verdict.rank.peel)?))
    };
    Ok(Factored { equations, flexibilities, all_known })
}

/// A unit action.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Asked {
    /// A force of one newton, by the row it acts on.
    Load(u32),
    /// A free deformation of one, by its column.
    Deformation(u32),
}

impl Equations {
    /// All unknowns under each of some unit actions.
    pub fn answers(&self, asked: &[Asked]) -> Result<Vec<Vec<f64>>, NumericError> {
        let (rows, columns) = match self {
            Equations::Determinate(factor) => (factor.len(), factor.len()),
            Equations::Redundant(factor) => factor.size,
        };
        let unit = |length: usize, at: Option<u32>| {
            let mut vector = vec![0.0; length];
            if let Some(at) = at {
                vector[at as usize] = -1.0;
            }
            vector
        };
        let right: Vec<(Vec<f64>, Vec<f64>)> = asked
            .iter()
            .map(|what| match *what {
                Asked::Load(row) => (unit(rows, Some(row)), unit(columns, None)),
                Asked::Deformation(column) => (unit(rows, None), unit(columns, Some(column))),
            })
            .collect();
        match self {
            Equations::Determinate(factor) => {
                let loads: Vec<&[f64]> = right.iter().map(|(load, _)| load.as_slice()).collect();
                factor.solve_many(&loads)
            }
            Equations::Redundant(factor) => {
                let pairs: Vec<(&[f64], &[f64])> =
                    right.iter().map(|(load, free)| (load.as_slice(), free.as_slice())).collect();
                Ok(factor.solve_many(&pairs)?.into_iter().map(|answer| answer.columns).collect())
            }
        }
    }

    /// Whether free deformations make forces.
    pub fn is_redundant(&self) -> bool {
        matches!(self, Equations::Redundant(_))
    }
}

/// Whether what does not give is redundant among itself: exactly, because
/// rounding hides it from the factor. Supports alone never are, one to a joint.
fn rigid_redundancy(equilibrium: &Equilibrium, flexibility: &[f64]) -> Result<bool, NumericError> {
    let is_rigid = |column: usize| flexibility.get(column) == Some(&0.0);
    let is_member = |unknown: &Unknown| !matches!(unknown, Unknown::Reaction(..));
    if !equilibrium.unknowns.iter().enumerate().any(|(column, unknown)| is_member(unknown) && is_rigid(column)) {
        return Ok(false);
    }
    let rigid = equilibrium.only(is_rigid);
    Ok(exact_rank(&rigid, &rigid.blocks(), SEED)?.column_deficiency() > 0)
}

/// Members that share in a redundancy and lack the stiffness their share
/// depends on, each once.
pub fn missing_stiffness(structure: &Structure, equilibrium: &Equilibrium, verdict: &Verdict) -> Vec<MemberId> {
    let redundant = verdict.rank.column_groups.iter().flat_map(|group| &group.members);
    let unknowns = redundant.map(|column| &equilibrium.unknowns[*column as usize]);
    let mut members: Vec<MemberId> = unknowns
        .filter(|unknown| !flexibility::is_known(structure, unknown))
        .filter_map(|unknown| match unknown {
            Unknown::Axial(member) | Unknown::EndMoment(member, _) => Some(*member),
            Unknown::Reaction(..) => None,
        })
        .collect();
    members.sort_unstable();
    members.dedup();
    members
}

/// Redundant equations, ready for any number of right sides.
pub(super) struct RedundantSolver {
    way: Way,
    condition: Condition,
    /// Rows and columns.
    pub size: (usize, usize),
}

enum Way {
    Stiffness(Box<RedundantFactor>),
    Forces(Box<SpareFactor>),
}

impl RedundantSolver {
    /// Factors a stable redundant structure of which nothing rigid is redundant
    /// among itself. `Singular` where double precision fails both ways.
    pub fn of(
        equilibrium: &Equilibrium,
        verdict: &Verdict,
        matrix: &Sparse<f64>,
        flexibility: &Flexibility,
    ) -> Result<RedundantSolver, NumericError> {
        let size = (matrix.rows(), matrix.columns());
        let forces = || -> Result<Option<RedundantSolver>, NumericError> {
            let factor = by_forces(equilibrium, verdict, matrix, flexibility)?;
            Ok(factor.map(|factor| RedundantSolver {
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
                Ok(better.unwrap_or_else(|| RedundantSolver { condition, way: Way::Stiffness(Box::new(factor)), size }))
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
