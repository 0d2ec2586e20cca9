//! The direction of a null vector in doubles, once exact arithmetic has said where it lives.
//!
//! Must not know: that the rows move.

use crate::base::tolerances::SAME;

use super::error::NumericError;
use super::factors::{Cholesky, gram};
use super::precise::residual;
use super::sparse::Sparse;

/// A row that moves so many times less than another is not held.
const FAINT: f64 = 100.0;

/// The z with zᵀ B = 0 that lives on these rows, one value a row, the largest exactly ±1 and the first that is
/// not tiny positive.
///
/// `rows` must be the support of a null vector that is alone on it: a set of a group, or the members of a group of
/// degree one. For right null vectors pass the transposed matrix and the columns. `Singular` where double precision
/// cannot tell the vector from others.
pub fn null_direction(matrix: &Sparse<f64>, rows: &[u32]) -> Result<Vec<f64>, NumericError> {
    if let Some(&row) = rows.iter().find(|&&row| row as usize >= matrix.rows()) {
        return Err(NumericError::RowOutOfRange { row, column: 0 });
    }
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    let touched: Vec<u32> = touched_columns(matrix, rows);
    let part = matrix.part(rows, &touched);
    let mut z = with_fixed(&part, 0)?;
    // A row that hardly moves is a poor one to hold at one: then the one that moves most is held.
    let best = largest(&z);
    if z[best].abs() > FAINT {
        z = with_fixed(&part, best)?;
    }
    let (best, size) = (largest(&z), z.iter().fold(0.0f64, |m, z| m.max(z.abs())));
    if !size.is_finite() || size == 0.0 {
        return Err(NumericError::Singular);
    }
    let sign = z.iter().find(|z| z.abs() > SAME * size).map_or(1.0, |z| z.signum());
    z.iter_mut().for_each(|z| *z *= sign / size);
    z[best] = z[best].signum();
    Ok(z)
}

fn touched_columns(matrix: &Sparse<f64>, rows: &[u32]) -> Vec<u32> {
    let mut chosen = vec![false; matrix.rows()];
    rows.iter().for_each(|&row| chosen[row as usize] = true);
    (0u32..)
        .take(matrix.columns())
        .filter(|&column| matrix.column(column as usize).any(|(row, _)| chosen[row]))
        .collect()
}

fn largest(z: &[f64]) -> usize {
    z.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).map_or(0, |(i, _)| i)
}

/// The null vector with item `fixed` at one: the normal equations, corrected twice with exact residuals
/// (Björck, *Numerical Methods for Least Squares Problems*, 1996, section 6.6).
#[allow(clippy::cast_possible_truncation)]
fn with_fixed(part: &Sparse<f64>, fixed: usize) -> Result<Vec<f64>, NumericError> {
    let others: Vec<u32> = (0..part.rows() as u32).filter(|&row| row as usize != fixed).collect();
    let all: Vec<u32> = (0..part.columns() as u32).collect();
    let free = part.part(&others, &all);
    let factor = Cholesky::new(&gram(&free)?)?;
    let turned = part.transpose();
    let mut z = vec![0.0; part.rows()];
    z[fixed] = 1.0;
    for _ in 0..4 {
        let off = residual(&turned, &z, &vec![0.0; part.columns()]);
        let mut correction = free.times(&off);
        factor.solve(&mut correction);
        for (&row, correction) in others.iter().zip(correction) {
            z[row as usize] += correction;
        }
    }
    if z.iter().all(|z| z.is_finite()) { Ok(z) } else { Err(NumericError::Singular) }
}
