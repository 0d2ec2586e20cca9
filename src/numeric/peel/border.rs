//! What the columns set aside leave of the rows left over: exactly, by carrying
//! them along through the forward steps.
//!
//! Must not know: how the columns were chosen.

use super::super::field::Field;
use super::super::sparse::Sparse;
use super::{LARGEST_SQUARE, Peel, entry, solve_small};

/// Whether a peel needs no border, or its core comes to a nonsingular square once the forward steps are eliminated.
pub(super) fn closes<F: Field>(matrix: &Sparse<F>, peel: &Peel) -> bool {
    peel.border.is_none() || complement(matrix, peel).is_some_and(|square| is_nonsingular(square, peel.core_rows.len()))
}

/// The Schur complement of the forward steps in the core, by rows.
fn complement<F: Field>(matrix: &Sparse<F>, peel: &Peel) -> Option<Vec<F>> {
    let width = peel.core_columns.len();
    let from = peel.border?.forward;
    // One item a row and a core column: what the core columns ask of the row.
    let mut asked = vec![F::ZERO; matrix.rows() * width];
    for (k, &column) in peel.core_columns.iter().enumerate() {
        matrix.column(column as usize).for_each(|(row, value)| asked[row * width + k] = value);
    }
    let inverses = inverse_determinants(matrix, peel, from)?;
    let mut share = vec![F::ZERO; LARGEST_SQUARE * width];
    for (step, &inverse) in (from..peel.forward.len()).zip(&inverses) {
        let (rows, columns) = peel.forward.step(step);
        answer(matrix, (rows, columns), inverse, &asked, &mut share)?;
        for (&column, share) in columns.iter().zip(share.chunks(width)) {
            for (row, value) in matrix.column(column as usize) {
                let asked = &mut asked[row * width..(row + 1) * width];
                asked.iter_mut().zip(share).for_each(|(asked, &share)| *asked = asked.sub(value.mul(share)));
            }
        }
    }
    let rows = peel.core_rows.iter().map(|&row| row as usize * width);
    Some(rows.flat_map(|start| asked[start..start + width].iter().copied()).collect())
}

/// The inverse determinants of the squares of one or two rows from a step on, and one for others: one division in all.
fn inverse_determinants<F: Field>(matrix: &Sparse<F>, peel: &Peel, from: usize) -> Option<Vec<F>> {
    let determinant = |step: usize| match peel.forward.step(step) {
        (&[row], &[column]) => entry(matrix, row, column),
        (&[r0, r1], &[c0, c1]) => {
            let [a, b, c, d] = [(r0, c0), (r0, c1), (r1, c0), (r1, c1)].map(|(r, c)| entry(matrix, r, c));
            a.mul(d).sub(b.mul(c))
        }
        _ => F::ONE,
    };
    let determinants: Vec<F> = (from..peel.forward.len()).map(determinant).collect();
    let mut product = F::ONE;
    let mut inverses = Vec::with_capacity(determinants.len());
    for &determinant in &determinants {
        inverses.push(product);
        product = product.mul(determinant);
    }
    let mut rest = product.inverse()?;
    for (inverse, &determinant) in inverses.iter_mut().zip(&determinants).rev() {
        *inverse = inverse.mul(rest);
        rest = rest.mul(determinant);
    }
    Some(inverses)
}

/// What a step's columns have to take of each core column: one row of `share` a column of the step.
fn answer<F: Field>(
    matrix: &Sparse<F>,
    (rows, columns): (&[u32], &[u32]),
    inverse: F,
    asked: &[F],
    share: &mut [F],
) -> Option<()> {
    let n = rows.len();
    let width = share.len() / LARGEST_SQUARE;
    let of = |i: usize, k: usize| asked[rows[i] as usize * width + k];
    match (rows, columns) {
        (&[_], &[_]) => (0..width).for_each(|k| share[k] = of(0, k).mul(inverse)),
        (&[r0, r1], &[c0, c1]) => {
            let [a, b, c, d] = [(r0, c0), (r0, c1), (r1, c0), (r1, c1)].map(|(r, c)| entry(matrix, r, c));
            for k in 0..width {
                let (x, y) = (of(0, k), of(1, k));
                share[k] = d.mul(x).sub(b.mul(y)).mul(inverse);
                share[width + k] = a.mul(y).sub(c.mul(x)).mul(inverse);
            }
        }
        _ => {
            for k in 0..width {
                let mut square: Vec<F> = rows
                    .iter()
                    .flat_map(|&row| columns.iter().map(move |&column| entry(matrix, row, column)))
                    .collect();
                let mut right: Vec<F> = (0..n).map(|i| of(i, k)).collect();
                solve_small(&mut square, &mut right).ok()?;
                right.iter().enumerate().for_each(|(j, &value)| share[j * width + k] = value);
            }
        }
    }
    Some(())
}

fn is_nonsingular<F: Field>(mut square: Vec<F>, n: usize) -> bool {
    solve_small(&mut square, &mut vec![F::ZERO; n]).is_ok()
}
