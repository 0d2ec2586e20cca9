//! The force method, for systems with few columns to spare:
//!
//! ```text
//! B f = b        F f − Bᵀ u = g
//! ```
//!
//! with F symmetric, positive semidefinite and almost diagonal. As many columns as there are to spare are left out, and
//! the square base that remains is factored as it stands. Each spare column with what the base answers it by is a state
//! of its own stress, f = f₀ + N x, and the few x follow from Nᵀ (F f − g) = 0. Unlike K = B F⁻¹ Bᵀ nothing squares the
//! condition of B, so that layouts of any length can be solved. (The classical method of Maxwell, 1864, and Müller-Breslau;
//! in matrices, for example, Przemieniecki, *Theory of Matrix Structural Analysis*, 1968, chapter 8.)
//!
//! Must not know: that f are forces and u displacements; how the spare columns were chosen.

use super::error::NumericError;
use super::peel::Peel;
use super::precise::{Condition, check_right, residual};
use super::redundant::{Flexibility, Redundant};
use super::solve::Factor;
use super::sparse::Sparse;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// A factored system with few columns to spare, ready for any number of right sides.
#[derive(Debug)]
pub struct SpareFactor {
    matrix: Sparse<f64>,
    flexibility: Flexibility,
    base: Factor,
    /// The columns of the base, ascending.
    kept: Vec<u32>,
    /// One state of self-stress a spare column, one item a column; one at the spare column itself.
    states: Vec<Vec<f64>>,
    /// Nᵀ F N with rows and columns scaled to a diagonal of one, and the scales.
    small: Cholesky<f64, Dyn>,
    scale: Vec<f64>,
    /// The condition of the small matrix.
    spread: f64,
}

/// The most columns to spare: the small matrix is dense, and each costs a solve.
pub const MOST_SPARE: usize = 8;
/// The share of a state in a base column, beside one in its own, from which on that column had better be the spare one.
const OUTWEIGHS: f64 = 4.0;

impl SpareFactor {
    /// Factors a system, given the columns to spare and the peel of the exact matrix without them. `Singular` where
    /// doubles cannot tell the base, or what decides the spare columns' shares, from singular.
    pub fn new(
        matrix: Sparse<f64>,
        flexibility: Flexibility,
        spare: &[u32],
        peel: &Peel,
    ) -> Result<Self, NumericError> {
        let columns = matrix.columns();
        if flexibility.diagonal.len() != columns {
            return Err(NumericError::Mismatch { expected: columns, found: flexibility.diagonal.len() });
        }
        let kept: Vec<u32> = (0u32..).take(columns).filter(|column| !spare.contains(column)).collect();
        let rows: Vec<u32> = (0u32..).take(matrix.rows()).collect();
        let base = Factor::new(&matrix.part(&rows, &kept), peel)?;
        let against: Vec<Vec<f64>> = spare
            .iter()
            .map(|&column| {
                let mut right = vec![0.0; matrix.rows()];
                matrix.column(column as usize).for_each(|(row, value)| right[row] = -value);
                right
            })
            .collect();
        let mut states = Vec::with_capacity(spare.len());
        for (&column, answer) in spare.iter().zip(base.solve_many(&against)?) {
            let mut state = spread_out(columns, &kept, &answer);
            state[column as usize] = 1.0;
            states.push(state);
        }
        let strains: Vec<Vec<f64>> = states.iter().map(|state| flexibility.times(state)).collect();
        let gram = DMatrix::from_fn(spare.len(), spare.len(), |i, j| dot(&states[i], &strains[j]));
        let scale: Vec<f64> = (0..spare.len()).map(|i| 1.0 / gram[(i, i)].sqrt()).collect();
        let scaled = DMatrix::from_fn(spare.len(), spare.len(), |i, j| gram[(i, j)] * scale[i] * scale[j]);
        if !scaled.iter().all(|x| x.is_finite()) {
            return Err(NumericError::Singular);
        }
        // Nothing to spare has nothing to tell apart.
        let values = if spare.is_empty() { DVector::zeros(0) } else { scaled.clone().symmetric_eigenvalues() };
        let (least, most) = values.iter().fold((f64::INFINITY, 0.0f64), |(l, m), x| (l.min(*x), m.max(*x)));
        let spread = if values.is_empty() { 1.0 } else { most / least };
        let small = Cholesky::new(scaled).filter(|_| spread > 0.0).ok_or(NumericError::Singular)?;
        Ok(SpareFactor { matrix, flexibility, base, kept, states, small, scale, spread })
    }

    /// For a spare column whose state is much larger in another column: the two. The base is better conditioned with
    /// that other one to spare.
    pub fn better_spare(&self, spare: &[u32]) -> Option<(u32, u32)> {
        spare.iter().zip(&self.states).find_map(|(&column, state)| {
            let heaviest = (0u32..).zip(state).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
            heaviest.filter(|(_, value)| value.abs() > OUTWEIGHS).map(|(other, _)| (column, other))
        })
    }

    /// Solves for pairs of b (one item a row) and g (one item a column). Finite, or `Singular`.
    pub fn solve_many(&self, right: &[(&[f64], &[f64])]) -> Result<Vec<Redundant>, NumericError> {
        for &(_, g) in right {
            check_right(g, self.matrix.columns())?;
        }
        let loads: Vec<&[f64]> = right.iter().map(|&(b, _)| b).collect();
        let starts = self.base.solve_many(&loads)?;
        starts.into_iter().zip(right).map(|(start, &(b, g))| self.complete(&start, b, g)).collect()
    }

    /// The answer from what the base alone would carry.
    fn complete(&self, start: &[f64], b: &[f64], g: &[f64]) -> Result<Redundant, NumericError> {
        let mut f = spread_out(self.matrix.columns(), &self.kept, start);
        // A large share of a state of self-stress leaves rounding in balance and compatibility; a second pass takes it off.
        for pass in 0..2 {
            if pass > 0 {
                let off = self.base.solve(&residual(&self.matrix, &f, b))?;
                self.kept.iter().zip(off).for_each(|(&column, off)| f[column as usize] += off);
            }
            let gap = self.gap(&f, g);
            let ask = self.states.iter().zip(&self.scale).map(|(state, scale)| -dot(state, &gap) * scale);
            let mut shares = DVector::from_iterator(self.states.len(), ask);
            self.small.solve_mut(&mut shares);
            for ((state, scale), share) in self.states.iter().zip(&self.scale).zip(shares.iter()) {
                f.iter_mut().zip(state).for_each(|(f, state)| *f += state * scale * share);
            }
        }
        let gap = self.gap(&f, g);
        let stretch: Vec<f64> = self.kept.iter().map(|&column| gap[column as usize]).collect();
        let rows = self.base.solve_transposed(&stretch)?;
        let finite = f.iter().all(|x| x.is_finite());
        if finite { Ok(Redundant { columns: f, rows }) } else { Err(NumericError::Singular) }
    }

    /// F f − g.
    fn gap(&self, f: &[f64], g: &[f64]) -> Vec<f64> {
        let mut gap = self.flexibility.times(f);
        gap.iter_mut().zip(g).for_each(|(gap, g)| *gap -= g);
        gap
    }

    /// The worse of two condition numbers: that of the base, estimated in the 1-norm, and that of the small matrix.
    pub fn condition(&self) -> Condition {
        let Condition { number, row } = self.base.condition();
        Condition { number: number.max(self.spread), row }
    }
}

fn spread_out(columns: usize, kept: &[u32], values: &[f64]) -> Vec<f64> {
    let mut all = vec![0.0; columns];
    kept.iter().zip(values).for_each(|(&column, value)| all[column as usize] = *value);
    all
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
