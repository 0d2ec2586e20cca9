//! LU and Cholesky factors: dense while small, sparse beyond.
//!
//! Must not know: where the matrices come from. Scaling, refinement and rank are its callers' business; a factor
//! that exists is no proof of anything.

use super::error::NumericError;
use super::sparse::Sparse;
use faer::MatMut;
use faer::linalg::solvers::{ShapeCore, Solve};
use faer::sparse::linalg::solvers::{Llt, Lu as SparseLu, SymbolicLlt, SymbolicLu};
use faer::sparse::linalg::{LltError, LuError};
use faer::sparse::{SparseColMat, SymbolicSparseColMat};
use nalgebra::{DMatrix, DMatrixViewMut, Dyn};

/// Up to so many unknowns a matrix is factored dense.
const DENSE: usize = 48;

/// Which system to solve: A x = b or Aᵀ x = b.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Straight,
    Transposed,
}

/// LU with partial pivoting of a square matrix.
#[derive(Debug)]
pub enum Lu {
    Empty,
    /// Of the matrix and of its transpose.
    Dense(Box<[nalgebra::LU<f64, Dyn, Dyn>; 2]>),
    Sparse(Box<SparseLu<u32, f64>>),
}

impl Lu {
    /// `Singular` where a pivot is exactly zero, which not every singular matrix shows.
    pub fn new(matrix: &Sparse<f64>) -> Result<Self, NumericError> {
        let n = matrix.rows();
        if matrix.columns() != n || (0..n).any(|column| matrix.starts()[column] == matrix.starts()[column + 1]) {
            return Err(NumericError::Singular);
        }
        if n == 0 {
            return Ok(Lu::Empty);
        }
        if n <= DENSE {
            let dense = dense(matrix);
            let both = [dense.transpose().lu(), dense.lu()];
            if both.iter().any(|lu| !lu.is_invertible()) {
                return Err(NumericError::Singular);
            }
            let [transposed, straight] = both;
            return Ok(Lu::Dense(Box::new([straight, transposed])));
        }
        let matrix = borrowed(matrix);
        let symbolic = SymbolicLu::try_new(matrix.symbolic()).map_err(|_| NumericError::OutOfMemory)?;
        let lu = SparseLu::try_new_with_symbolic(symbolic, matrix.as_ref()).map_err(|fault| match fault {
            LuError::Generic(_) => NumericError::OutOfMemory,
            LuError::SymbolicSingular { .. } => NumericError::Singular,
        })?;
        Ok(Lu::Sparse(Box::new(lu)))
    }

    /// Solves in place for one or more right sides, one after the other in `b`.
    pub fn solve(&self, b: &mut [f64], side: Side) -> Result<(), NumericError> {
        match (self, side) {
            (Lu::Empty, _) => {}
            (Lu::Dense(both), side) => {
                let lu = &both[usize::from(side == Side::Transposed)];
                let n = lu.lu_internal().nrows();
                if !lu.solve_mut(&mut DMatrixViewMut::from_slice(b, n, b.len() / n)) {
                    return Err(NumericError::Singular);
                }
            }
            (Lu::Sparse(lu), Side::Straight) => lu.solve_in_place(columns(b, lu.nrows())),
            (Lu::Sparse(lu), Side::Transposed) => lu.solve_transpose_in_place(columns(b, lu.nrows())),
        }
        Ok(())
    }
}

/// Cholesky of a symmetric positive definite matrix.
#[derive(Debug)]
pub enum Cholesky {
    Empty,
    Dense(Box<nalgebra::Cholesky<f64, Dyn>>),
    Sparse(Box<Llt<u32, f64>>),
}

impl Cholesky {
    /// From the lower triangle; entries above the diagonal are not read. `Singular` where a pivot is not positive.
    pub fn new(lower: &Sparse<f64>) -> Result<Self, NumericError> {
        let n = lower.rows();
        if n == 0 {
            return Ok(Cholesky::Empty);
        }
        if n <= DENSE {
            let factor = nalgebra::Cholesky::new(dense(lower)).ok_or(NumericError::Singular)?;
            return Ok(Cholesky::Dense(Box::new(factor)));
        }
        let matrix = borrowed(lower);
        let symbolic =
            SymbolicLlt::try_new(matrix.symbolic(), faer::Side::Lower).map_err(|_| NumericError::OutOfMemory)?;
        let factor =
            Llt::try_new_with_symbolic(symbolic, matrix.as_ref(), faer::Side::Lower).map_err(|fault| match fault {
                LltError::Generic(_) => NumericError::OutOfMemory,
                LltError::Numeric(_) => NumericError::Singular,
            })?;
        Ok(Cholesky::Sparse(Box::new(factor)))
    }

    /// Solves in place for one or more right sides, one after the other in `b`.
    pub fn solve(&self, b: &mut [f64]) {
        match self {
            Cholesky::Empty => {}
            Cholesky::Dense(factor) => {
                let n = factor.l_dirty().nrows();
                factor.solve_mut(&mut DMatrixViewMut::from_slice(b, n, b.len() / n));
            }
            Cholesky::Sparse(factor) => factor.solve_in_place(columns(b, factor.nrows())),
        }
    }
}

fn columns(b: &mut [f64], n: usize) -> MatMut<'_, f64> {
    let count = b.len() / n;
    MatMut::from_column_major_slice_mut(b, n, count)
}

/// The lower triangle of M Mᵀ.
pub fn gram(matrix: &Sparse<f64>) -> Result<Sparse<f64>, NumericError> {
    let by_rows = matrix.transpose();
    let mut builder = super::sparse::SparseBuilder::new(matrix.rows()).with_capacity(matrix.rows(), 8 * matrix.rows());
    for row in 0..matrix.rows() {
        for (column, factor) in by_rows.column(row) {
            for (other, value) in matrix.column(column).filter(|&(other, _)| other >= row) {
                // Rows are below `MAX_DIMENSION`, far inside 32 bits.
                #[allow(clippy::cast_possible_truncation)]
                builder.entry(other as u32, factor * value);
            }
        }
        builder.end_column();
    }
    builder.finish()
}

fn dense(matrix: &Sparse<f64>) -> DMatrix<f64> {
    let mut dense = DMatrix::zeros(matrix.rows(), matrix.columns());
    for column in 0..matrix.columns() {
        for (row, value) in matrix.column(column) {
            dense[(row, column)] = value;
        }
    }
    dense
}

#[allow(clippy::cast_possible_truncation)]
fn borrowed(matrix: &Sparse<f64>) -> SparseColMat<u32, f64> {
    let starts: Vec<u32> = matrix.starts().iter().map(|&start| start as u32).collect();
    let indices = matrix.indices().to_vec();
    let symbolic = SymbolicSparseColMat::new_checked(matrix.rows(), matrix.columns(), starts, None, indices);
    SparseColMat::new(symbolic, matrix.values().to_vec())
}
