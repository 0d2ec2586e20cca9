//! Blocks of rows held by columns that do not yield, turned so that what they
//! hold drops out of the system exactly.
//!
//! Must not know: structures, the system around the blocks.

use super::error::NumericError;
use super::sparse::{Blocks, Sparse};
use nalgebra::{DMatrix, DVector};

/// Blocks with more rows than this are not turned; their stiff columns stay in the mixed system.
const LARGEST_HOLD: usize = 32;

/// A block held by columns that do not yield: N = Q₁ R, Q = [Q₁ Q₂] orthogonal.
#[derive(Debug)]
pub(super) struct Hold {
    pub rows: Vec<u32>,
    pub columns: Vec<u32>,
    pub q: DMatrix<f64>,
    pub r: DMatrix<f64>,
    /// The reduced unknown of the first column of Q₂.
    pub place: u32,
}

impl Hold {
    /// The columns of Q₂.
    pub fn free(&self) -> std::ops::Range<usize> {
        self.columns.len()..self.rows.len()
    }

    /// R⁻¹ x.
    pub fn solve(&self, x: Vec<f64>) -> Vec<f64> {
        let mut x = DVector::from_vec(x);
        self.r.solve_upper_triangular_mut(&mut x);
        x.data.into()
    }

    /// R⁻ᵀ x.
    pub fn solve_transposed(&self, x: Vec<f64>) -> Vec<f64> {
        let mut x = DVector::from_vec(x);
        self.r.tr_solve_upper_triangular_mut(&mut x);
        x.data.into()
    }
}

/// Finds the blocks that stiff columns of their own hold; gives the holds and the stiff columns left.
pub(super) fn hold_blocks(
    matrix: &Sparse<f64>,
    blocks: &Blocks,
    stiff: Vec<u32>,
) -> Result<(Vec<Hold>, Vec<u32>), NumericError> {
    let block_of = blocks.of_rows();
    let own_block = |column: u32| {
        let mut blocks = matrix.column(column as usize).map(|(row, _)| block_of[row]);
        let first = blocks.next()?;
        blocks.all(|block| block == first).then_some(first)
    };
    let mut held: Vec<(u32, u32)> = Vec::new();
    let mut left = Vec::new();
    for column in stiff {
        match own_block(column) {
            Some(block) if blocks.range(block as usize).len() <= LARGEST_HOLD => held.push((block, column)),
            _ => left.push(column),
        }
    }
    held.sort_unstable();
    let holds = held.chunk_by(|a, b| a.0 == b.0).map(|columns| {
        let range = blocks.range(columns[0].0 as usize);
        let mut normal = DMatrix::zeros(range.len(), columns.len());
        for (k, &(_, column)) in columns.iter().enumerate() {
            matrix.column(column as usize).for_each(|(row, value)| normal[(row - range.start, k)] = value);
        }
        let (q, r) = orthogonal(normal)?;
        #[allow(clippy::cast_possible_truncation)]
        let rows = range.map(|row| row as u32).collect();
        Ok(Hold { rows, columns: columns.iter().map(|&(_, column)| column).collect(), q, r, place: 0 })
    });
    Ok((holds.collect::<Result<_, _>>()?, left))
}

/// The full Q and the square R of a tall matrix of full column rank, by Householder reflections. Written out, for what
/// it does not touch stays zero to the last bit: a held joint does not move by a rounding.
fn orthogonal(mut a: DMatrix<f64>) -> Result<(DMatrix<f64>, DMatrix<f64>), NumericError> {
    let (m, n) = a.shape();
    if n > m {
        return Err(NumericError::Singular);
    }
    let mut q = DMatrix::identity(m, m);
    for k in 0..n {
        let size = (k..m).map(|i| a[(i, k)] * a[(i, k)]).sum::<f64>().sqrt();
        if size == 0.0 || !size.is_finite() {
            return Err(NumericError::Singular);
        }
        let mut v: Vec<f64> = (k..m).map(|i| a[(i, k)]).collect();
        v[0] += if v[0] < 0.0 { -size } else { size };
        let square = v.iter().map(|v| v * v).sum::<f64>();
        for j in k..n {
            let share = 2.0 * (k..m).map(|i| v[i - k] * a[(i, j)]).sum::<f64>() / square;
            (k..m).for_each(|i| a[(i, j)] -= share * v[i - k]);
        }
        for i in 0..m {
            let share = 2.0 * (k..m).map(|j| q[(i, j)] * v[j - k]).sum::<f64>() / square;
            (k..m).for_each(|j| q[(i, j)] -= share * v[j - k]);
        }
    }
    Ok((q, a.rows(0, n).into_owned()))
}

/// Numbers the reduced unknowns: rows that are not held, and the free directions of those that are, in row order.
#[allow(clippy::cast_possible_truncation)]
pub(super) fn place_rows(rows: usize, holds: &mut [Hold]) -> (Vec<u32>, usize) {
    let mut places = vec![u32::MAX; rows];
    let mut next = 0u32;
    let mut row = 0u32;
    for hold in holds {
        let (Some(&first), Some(&last)) = (hold.rows.first(), hold.rows.last()) else { continue };
        for row in row..first {
            places[row as usize] = next;
            next += 1;
        }
        hold.place = next;
        next += hold.free().len() as u32;
        row = last + 1;
    }
    for place in places.iter_mut().skip(row as usize) {
        *place = next;
        next += 1;
    }
    (places, next as usize)
}
