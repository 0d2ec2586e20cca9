//! The exact rank of a sparse matrix, which rows depend on one another and
//! which columns do. No tolerance anywhere.
//!
//! Peel first; factor what is left as Y D Yᵀ = L D' Lᵀ over a prime field with
//! random D. The pivots that are not zero count the rank of Y modulo the prime
//! from below, the null vectors found and checked count it from above, so the
//! rank modulo the prime is certain. It never exceeds the rational rank: full
//! rank is a proof, and a deficiency is repeated modulo a second prime. Large
//! matrices are first tried modulo a small prime, which is several times faster
//! and proves full rank as well as any.
//!
//! Must not know: structures; that a left null vector is a motion.

use super::analysis::Analysis;
use super::error::NumericError;
use super::field::{Field, Prime, Prime2, Rng};
use super::front::Keep;
use super::groups::{Cutter, Group, MOST_MEMBERS, blocks_within};
use super::peel::Peel;
use super::small::Small;
use super::sparse::{Blocks, Sparse};

/// A matrix with rational entries, which can be had modulo any prime.
pub trait ExactMatrix {
    /// The matrix over `F`. Same shape for every field.
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError>;
}

/// The verdict on a matrix.
#[derive(Clone, Debug)]
pub struct Rank {
    pub rows: usize,
    pub columns: usize,
    pub rank: usize,
    /// The rows that some left null vector touches, in groups no column joins. Each null vector
    /// is a sum of null vectors of single groups.
    pub row_groups: Vec<Group>,
    /// The columns that some right null vector touches, in groups no row joins.
    pub column_groups: Vec<Group>,
    /// A random left null vector modulo the large prime, one residue a row, where it came up on the way: on a row group
    /// of degree one it is the null vector of that group. Empty where it did not.
    pub row_residues: Vec<Prime>,
    /// The peeling the verdict used; it serves the floating solve too.
    pub peel: Peel,
}

/// From so many rows a small prime is asked first.
const QUICK_FROM: usize = 10_000;
/// New weights are drawn so many times before giving up.
const ATTEMPTS: u64 = 4;

impl Rank {
    /// rows − rank: the number of independent left null vectors.
    pub fn row_deficiency(&self) -> usize {
        self.rows - self.rank
    }

    /// columns − rank: the number of independent right null vectors.
    pub fn column_deficiency(&self) -> usize {
        self.columns - self.rank
    }

    /// The left null vector of a row group of degree one, one residue a member, where it came up on the way.
    pub fn residues_of(&self, group: &Group) -> Option<Vec<Prime>> {
        let residue = |row: &u32| self.row_residues.get(*row as usize).copied();
        if group.degree == 1 { group.members.iter().map(residue).collect() } else { None }
    }
}

/// The exact rank of a matrix and its dependent rows and columns. Same seed, same answer.
///
/// `blocks` says which rows belong together; it guides the order, never the result. Full rank is proven; that a
/// deficiency is real has a chance of error below (rows + columns) / 2^60. Fails with `Mismatch` where the blocks do
/// not cover the rows, `TooLarge` beyond the limits of [`analysis`](super::analysis) and [`order`](super::order), and
/// with whatever `matrix` fails with.
pub fn exact_rank<M: ExactMatrix>(matrix: &M, blocks: &Blocks, seed: u64) -> Result<Rank, NumericError> {
    if blocks.rows() >= QUICK_FROM
        && let Some(rank) = quick_rank(matrix, blocks, seed)?
    {
        return Ok(rank);
    }
    let (mut first, vector) = rank_over(&matrix.over::<Prime>()?, blocks, seed)?;
    first.row_residues = vector;
    if first.rank == first.rows.min(first.columns) {
        return Ok(first);
    }
    let (second, _) = rank_over(&matrix.over::<Prime2>()?, blocks, seed ^ 0x5eed)?;
    // Reduction modulo a prime can only lose rank.
    Ok(if second.rank > first.rank { second } else { first })
}

/// The left null vector on a set of rows that carries exactly one, modulo the large prime: one residue a row, none of
/// them zero if the set is a smallest one. A further column c ends the dependence if and only if Σ zᵢ cᵢ is not zero,
/// so that many candidates can be tried without a rank. `Singular` where the set carries none or several.
pub fn null_residues<M: ExactMatrix>(matrix: &M, rows: &[u32], seed: u64) -> Result<Vec<Prime>, NumericError> {
    on_rows(matrix, rows, seed, |analysis| analysis.only_left_vector())
}

/// Independent left null vectors on a set of rows, at most so many, modulo the large prime: one residue a row.
pub fn null_basis<M: ExactMatrix>(
    matrix: &M,
    rows: &[u32],
    most: usize,
    seed: u64,
) -> Result<Vec<Vec<Prime>>, NumericError> {
    on_rows(matrix, rows, seed, |analysis| analysis.left_vectors(most))
}

fn on_rows<M: ExactMatrix, T>(
    matrix: &M,
    rows: &[u32],
    seed: u64,
    ask: impl Fn(&Analysis<'_, Prime>) -> Result<T, NumericError>,
) -> Result<T, NumericError> {
    let whole = matrix.over::<Prime>()?;
    if let Some(&row) = rows.iter().find(|&&row| row as usize >= whole.rows()) {
        return Err(NumericError::RowOutOfRange { row, column: 0 });
    }
    let part = Cutter::new(&whole.transpose()).part(rows).transpose();
    let blocks = Blocks::uniform(part.rows(), 1);
    with_luck(seed, |rng| ask(&Analysis::of(&part, &blocks, rng, Keep::Factor)?))
}

/// The exact rank alone, several times cheaper than [`exact_rank`] where rows or columns depend on one another.
pub fn exact_rank_only<M: ExactMatrix>(matrix: &M, blocks: &Blocks, seed: u64) -> Result<usize, NumericError> {
    with_luck(seed, |rng| {
        if blocks.rows() >= QUICK_FROM {
            let small = matrix.over::<Small>()?;
            let rank = settled(Analysis::of(&small, blocks, rng, Keep::Count))?.map_or(0, |analysis| analysis.rank());
            if rank == small.rows().min(small.columns()) {
                return Ok(rank);
            }
        }
        Ok(Analysis::of(&matrix.over::<Prime>()?, blocks, rng, Keep::Count)?.rank())
    })
}

/// The verdict by way of a small prime, which finds the rank from below and where dependences live; a large prime then
/// confirms those on their own rows and columns, which bounds the rank from above. `None` where it does not confirm.
pub fn quick_rank<M: ExactMatrix>(matrix: &M, blocks: &Blocks, seed: u64) -> Result<Option<Rank>, NumericError> {
    let small = matrix.over::<Small>()?;
    let (rows, columns) = (small.rows(), small.columns());
    let rng = &mut Rng::new(seed);
    // A square matrix is probably of full rank; any other surely has dependences to look for.
    let keep = if rows == columns { Keep::Count } else { Keep::Factor };
    let Some(mut analysis) = settled(Analysis::of(&small, blocks, rng, keep))? else { return Ok(None) };
    let rank = analysis.rank();
    let (mut row_groups, mut column_groups, mut row_residues) = (Vec::new(), Vec::new(), Vec::new());
    if rank < rows || rank < columns {
        if keep == Keep::Count {
            drop(analysis);
            let Some(kept) = settled(Analysis::of(&small, blocks, rng, Keep::Factor))? else { return Ok(None) };
            analysis = kept;
        }
        if analysis.rank() != rank {
            return Ok(None);
        }
        let large = matrix.over::<Prime>()?;
        if rank < rows {
            let Some((groups, _)) = settled(analysis.row_groups(rng))? else { return Ok(None) };
            let Some(confirmed) = confirm_rows(&large, blocks, groups, seed)? else { return Ok(None) };
            (row_groups, row_residues) = confirmed;
        }
        if rank < columns {
            let Some(groups) = settled(analysis.column_groups(rng))? else { return Ok(None) };
            let Some(groups) = confirm_columns(&large, blocks, groups, seed)? else { return Ok(None) };
            column_groups = groups;
        }
    }
    Ok(Some(Rank { rows, columns, rank, row_groups, column_groups, row_residues, peel: analysis.peel }))
}

/// Bad luck is no fault: it only means that another way must be tried.
fn settled<T>(outcome: Result<T, NumericError>) -> Result<Option<T>, NumericError> {
    match outcome {
        Ok(value) => Ok(Some(value)),
        Err(NumericError::Unlucky) => Ok(None),
        Err(fault) => Err(fault),
    }
}

/// Groups of rows that depend on one another, and a left null vector.
type Dependent<F> = (Vec<Group>, Vec<F>);

/// The groups of these rows over another field, if they are as deficient there, and a left null vector.
fn confirm_rows<F: Field>(
    matrix: &Sparse<F>,
    blocks: &Blocks,
    groups: Vec<Group>,
    seed: u64,
) -> Result<Option<Dependent<F>>, NumericError> {
    let members = members_of(&groups);
    let part = Cutter::new(&matrix.transpose()).part(&members).transpose();
    let (rank, residues) = rank_over(&part, &blocks_within(blocks, &members), seed)?;
    if rank.row_deficiency() != groups.iter().map(|group| group.degree).sum::<usize>() {
        return Ok(None);
    }
    let mut vector = vec![F::ZERO; matrix.rows()];
    members.iter().zip(residues).for_each(|(&row, residue)| vector[row as usize] = residue);
    Ok(Some((rank.row_groups.into_iter().map(|group| group.renamed(&members)).collect(), vector)))
}

/// The groups of these columns over another field, if they are as redundant there. Large groups of a degree above one
/// stay as they are: their number follows from the rank.
fn confirm_columns<F: Field>(
    matrix: &Sparse<F>,
    blocks: &Blocks,
    groups: Vec<Group>,
    seed: u64,
) -> Result<Option<Vec<Group>>, NumericError> {
    let (mut large, others): (Vec<Group>, Vec<Group>) =
        groups.into_iter().partition(|group| group.members.len() > MOST_MEMBERS);
    let members = members_of(&others);
    let mut cutter = Cutter::new(matrix);
    let part = cutter.part(&members);
    let (rank, _) = rank_over(&part, &blocks_within(blocks, cutter.rows()), seed)?;
    if rank.column_deficiency() != others.iter().map(|group| group.degree).sum::<usize>() {
        return Ok(None);
    }
    large.extend(rank.column_groups.into_iter().map(|group| group.renamed(&members)));
    large.sort_by_key(|group| group.members.first().copied());
    Ok(Some(large))
}

fn members_of(groups: &[Group]) -> Vec<u32> {
    let mut members: Vec<u32> = groups.iter().flat_map(|group| group.members.iter().copied()).collect();
    members.sort_unstable();
    members
}

/// The rank over one field, with dependent rows and columns; and a random left null vector where there is one.
pub fn rank_over<F: Field>(matrix: &Sparse<F>, blocks: &Blocks, seed: u64) -> Result<(Rank, Vec<F>), NumericError> {
    with_luck(seed, |rng| {
        let analysis = Analysis::of(matrix, blocks, rng, Keep::Factor)?;
        let (rows, columns, rank) = (matrix.rows(), matrix.columns(), analysis.rank());
        let (mut row_groups, vector) = if rank < rows { analysis.row_groups(rng)? } else { Default::default() };
        let mut column_groups = if rank < columns { analysis.column_groups(rng)? } else { Vec::new() };
        analysis.find_row_sets(&mut row_groups, rng)?;
        analysis.find_column_sets(&mut column_groups, rng)?;
        let row_residues = Vec::new();
        Ok((Rank { rows, columns, rank, row_groups, column_groups, row_residues, peel: analysis.peel }, vector))
    })
}

/// Draws anew where random numbers conspire.
fn with_luck<T>(seed: u64, draw: impl Fn(&mut Rng) -> Result<T, NumericError>) -> Result<T, NumericError> {
    for attempt in 0..ATTEMPTS {
        match draw(&mut Rng::new(seed.wrapping_add(attempt.wrapping_mul(0x9e37)))) {
            Err(NumericError::Unlucky) => {}
            other => return other,
        }
    }
    Err(NumericError::Unlucky)
}
