//! A square matrix of doubles laid out in the order of its peel, so that
//! substitution runs through memory from end to end: rows and columns scaled
//! by powers of two and put in the order of elimination, the small squares on
//! the diagonal inverted.
//!
//! Must not know: how the core is factored, what is refined against what.

use std::ops::Range;

use super::error::NumericError;
use super::factors::Side;
use super::peel::{LARGEST_SQUARE, Peel};
use super::precise::reciprocal_power;
use super::sparse::Sparse;

/// The matrix by places: place `p` stands for a row and for a column of the original.
#[derive(Debug)]
pub struct Layout {
    /// Scaled. Apart from the border no column reaches above its own step.
    pub matrix: Sparse<f64>,
    /// Place → row, and its scale.
    rows: Vec<u32>,
    row_scale: Vec<f64>,
    /// Place → column, and its scale.
    columns: Vec<u32>,
    column_scale: Vec<f64>,
    /// The sizes of the forward steps and, after those, of the backward steps in the order they are solved.
    sizes: Vec<u8>,
    forward_steps: usize,
    /// The inverse of each step's square, by rows, step after step.
    inverses: Vec<f64>,
    /// Where in `inverses` the backward steps begin.
    backward_inverses: usize,
    /// The places of the core.
    pub core: Range<usize>,
    /// The first place that core columns may have entries in, where that is above the core.
    pub border: Option<usize>,
}

impl Layout {
    /// Lays out a square matrix. A peel that does not fit it counts as [`Peel::nothing`]. `Singular` where a square
    /// that should not be singular is so in doubles.
    pub fn of(matrix: &Sparse<f64>, peel: &Peel) -> Result<Self, NumericError> {
        match Layout::in_order(matrix, peel)? {
            Some(layout) => Ok(layout),
            None => {
                let nothing = Peel::nothing(matrix.rows(), matrix.columns());
                Layout::in_order(matrix, &nothing)?.ok_or(NumericError::Singular)
            }
        }
    }

    /// The number of places.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The row at a place.
    pub fn row_at(&self, place: usize) -> Option<usize> {
        self.rows.get(place).map(|&row| row as usize)
    }

    #[allow(clippy::cast_possible_truncation)]
    pub fn core_places(&self) -> Vec<u32> {
        (self.core.start as u32..self.core.end as u32).collect()
    }

    /// The order and the scales of the right sides of a system; the other side's are those of its solutions.
    fn in_places(&self, side: Side) -> (&[u32], &[f64]) {
        match side {
            Side::Straight => (&self.rows, &self.row_scale),
            Side::Transposed => (&self.columns, &self.column_scale),
        }
    }

    /// A right side in places, scaled.
    pub fn right_side(&self, b: &[f64], side: Side) -> Vec<f64> {
        let (order, scale) = self.in_places(side);
        order.iter().zip(scale).map(|(&at, scale)| b[at as usize] * scale).collect()
    }

    /// A solution by columns, or by rows of the transposed system, from one in places.
    pub fn solution(&self, x: &[f64], side: Side) -> Vec<f64> {
        let (order, scale) = self.in_places(if side == Side::Straight { Side::Transposed } else { Side::Straight });
        let mut ordered = vec![0.0; order.len()];
        for ((&at, scale), value) in order.iter().zip(scale).zip(x) {
            ordered[at as usize] = value * scale;
        }
        ordered
    }

    /// Forward steps in place: right sides become unknowns, and their share leaves
    /// all later places.
    pub fn forward(&self, b: &mut [f64]) {
        self.substitute(0..self.forward_steps, 0, 0, b);
    }

    /// Takes the core unknowns' share off the places after the core.
    pub fn after_core(&self, b: &mut [f64]) {
        for place in self.core.clone() {
            self.take_share(place, self.core.end, b);
        }
    }

    /// Backward steps in place, once the core's share is taken off.
    pub fn backward(&self, b: &mut [f64]) {
        self.substitute(self.forward_steps..self.sizes.len(), self.core.end, self.backward_inverses, b);
    }

    /// The transposed backward steps, which come first.
    pub fn transposed_backward(&self, u: &mut [f64]) {
        self.substitute_transposed(self.forward_steps..self.sizes.len(), self.len(), self.inverses.len(), u);
    }

    /// Takes off the core's transposed right sides what later places have of them.
    pub fn before_core(&self, u: &mut [f64]) {
        for place in self.core.clone() {
            u[place] -= self.share_below(place, self.core.end, u);
        }
    }

    /// The transposed forward steps, once the core is solved.
    pub fn transposed_forward(&self, u: &mut [f64]) {
        self.substitute_transposed(0..self.forward_steps, self.core.start, self.backward_inverses, u);
    }

    fn substitute(&self, steps: Range<usize>, mut place: usize, mut inverse: usize, b: &mut [f64]) {
        for &size in &self.sizes[steps] {
            let n = usize::from(size);
            let end = place + n;
            multiply_in_place(&self.inverses[inverse..inverse + n * n], &mut b[place..end], Side::Straight);
            for column in place..end {
                self.take_share(column, end, b);
            }
            (place, inverse) = (end, inverse + n * n);
        }
    }

    fn substitute_transposed(&self, steps: Range<usize>, mut end: usize, mut inverse: usize, u: &mut [f64]) {
        for &size in self.sizes[steps].iter().rev() {
            let n = usize::from(size);
            let (place, start) = (end - n, inverse - n * n);
            for column in place..end {
                u[column] -= self.share_below(column, end, u);
            }
            multiply_in_place(&self.inverses[start..inverse], &mut u[place..end], Side::Transposed);
            (end, inverse) = (place, start);
        }
    }

    /// b −= column · b[column], from a place on.
    fn take_share(&self, column: usize, from: usize, b: &mut [f64]) {
        let x = b[column];
        self.matrix.column(column).filter(|&(row, _)| row >= from).for_each(|(row, value)| b[row] -= value * x);
    }

    /// column · u, from a place on.
    fn share_below(&self, column: usize, from: usize, u: &[f64]) -> f64 {
        self.matrix.column(column).filter(|&(row, _)| row >= from).map(|(row, value)| value * u[row]).sum()
    }

    /// `None` where the peel does not fit the matrix.
    fn in_order(matrix: &Sparse<f64>, peel: &Peel) -> Result<Option<Self>, NumericError> {
        let n = matrix.rows();
        let backward = || (0..peel.backward.len()).rev().map(|step| peel.backward.step(step));
        let forward = || (0..peel.forward.len()).map(|step| peel.forward.step(step));
        let (mut rows, mut columns) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let mut take = |(r, c): (&[u32], &[u32])| {
            rows.extend_from_slice(r);
            columns.extend_from_slice(c);
        };
        forward().for_each(&mut take);
        take((&peel.core_rows, &peel.core_columns));
        backward().for_each(&mut take);
        if !is_permutation(&rows, n) || !is_permutation(&columns, n) {
            return Ok(None);
        }
        let core = peel.forward.rows()..peel.forward.rows() + peel.core_rows.len();
        let border = peel.border.map(|border| forward().take(border.forward).map(|(rows, _)| rows.len()).sum());
        #[allow(clippy::cast_possible_truncation)]
        let sizes: Vec<u8> = forward().chain(backward()).map(|(rows, _)| rows.len() as u8).collect();
        let (matrix, row_scale, column_scale) = equilibrate(matrix.part(&rows, &columns));
        let mut layout = Layout {
            matrix,
            rows,
            row_scale,
            columns,
            column_scale,
            forward_steps: peel.forward.len(),
            sizes,
            inverses: Vec::new(),
            backward_inverses: 0,
            core,
            border,
        };
        if !layout.is_block_triangular() {
            return Ok(None);
        }
        layout.invert_squares()?;
        Ok(Some(layout))
    }

    fn is_block_triangular(&self) -> bool {
        let top = |column: usize| match self.matrix.starts() {
            starts if starts[column] < starts[column + 1] => self.matrix.indices()[starts[column]] as usize,
            _ => usize::MAX,
        };
        let from = self.border.unwrap_or(self.core.start);
        let mut place = 0;
        for (step, &size) in self.sizes.iter().enumerate() {
            if step == self.forward_steps {
                place = self.core.end;
            }
            let end = place + usize::from(size);
            if (place..end).any(|column| top(column) < place) {
                return false;
            }
            place = end;
        }
        self.core.clone().all(|column| top(column) >= from)
    }

    fn invert_squares(&mut self) -> Result<(), NumericError> {
        self.inverses.reserve(self.sizes.iter().map(|&n| usize::from(n) * usize::from(n)).sum());
        let mut place = 0;
        for (step, &size) in self.sizes.iter().enumerate() {
            if step == self.forward_steps {
                (place, self.backward_inverses) = (self.core.end, self.inverses.len());
            }
            let n = usize::from(size);
            let mut square = [0.0; LARGEST_SQUARE * LARGEST_SQUARE];
            for j in 0..n {
                for (row, value) in self.matrix.column(place + j).filter(|&(row, _)| row < place + n) {
                    square[(row - place) * n + j] = value;
                }
            }
            invert(&mut square[..n * n], n)?;
            self.inverses.extend_from_slice(&square[..n * n]);
            place += n;
        }
        if self.forward_steps == self.sizes.len() {
            self.backward_inverses = self.inverses.len();
        }
        Ok(())
    }
}

fn is_permutation(order: &[u32], n: usize) -> bool {
    let mut seen = vec![false; n];
    order.len() == n
        && order.iter().all(|&i| seen.get_mut(i as usize).is_some_and(|seen| !std::mem::replace(seen, true)))
}

/// The square times `b`, or its transpose times `b`.
fn multiply_in_place(square: &[f64], b: &mut [f64], side: Side) {
    match (square, &mut *b) {
        (&[a], [x]) => *x *= a,
        (&[a, b, c, d], [x, y]) => {
            let (b, c) = if side == Side::Straight { (b, c) } else { (c, b) };
            (*x, *y) = (a * *x + b * *y, c * *x + d * *y);
        }
        _ => {
            let n = b.len();
            let mut right = [0.0; LARGEST_SQUARE];
            right[..n].copy_from_slice(b);
            let at = |i: usize, j: usize| if side == Side::Straight { i * n + j } else { j * n + i };
            for (i, x) in b.iter_mut().enumerate() {
                *x = right[..n].iter().enumerate().map(|(j, b)| square[at(i, j)] * b).sum();
            }
        }
    }
}

/// Inverts a small square by rows, in place: Gauss and Jordan with partial pivoting.
fn invert(a: &mut [f64], n: usize) -> Result<(), NumericError> {
    match a {
        [x] if *x != 0.0 => {
            *x = 1.0 / *x;
            return Ok(());
        }
        &mut [p, q, r, s] => {
            let determinant = p * s - q * r;
            // Cancellation is left to pivoting.
            if determinant.abs() > 1e-3 * (p * s).abs().max((q * r).abs()) {
                a.copy_from_slice(&[s / determinant, -q / determinant, -r / determinant, p / determinant]);
                return Ok(());
            }
        }
        _ => {}
    }
    let mut inverse = [0.0; LARGEST_SQUARE * LARGEST_SQUARE];
    (0..n).for_each(|i| inverse[i * n + i] = 1.0);
    for k in 0..n {
        let size = |i: &usize| a[*i * n + k].abs();
        let best = (k..n).max_by(|i, j| size(i).total_cmp(&size(j))).unwrap_or(k);
        let pivot = a[best * n + k];
        if pivot == 0.0 || !pivot.is_finite() {
            return Err(NumericError::Singular);
        }
        for j in 0..n {
            a.swap(best * n + j, k * n + j);
            inverse.swap(best * n + j, k * n + j);
        }
        for j in 0..n {
            a[k * n + j] /= pivot;
            inverse[k * n + j] /= pivot;
        }
        for i in (0..n).filter(|&i| i != k) {
            let factor = a[i * n + k];
            for j in 0..n {
                a[i * n + j] -= factor * a[k * n + j];
                inverse[i * n + j] -= factor * inverse[k * n + j];
            }
        }
    }
    a.copy_from_slice(&inverse[..n * n]);
    Ok(())
}

/// Scales rows, then columns, by powers of two so that the largest entry of each is about one.
fn equilibrate(mut matrix: Sparse<f64>) -> (Sparse<f64>, Vec<f64>, Vec<f64>) {
    let (mut rows, mut columns) = (vec![1.0f64; matrix.rows()], vec![1.0f64; matrix.columns()]);
    let mut largest = vec![0.0f64; rows.len()];
    for _ in 0..2 {
        largest.fill(0.0);
        for (column, scale) in columns.iter().enumerate() {
            for (row, value) in matrix.column(column) {
                largest[row] = largest[row].max(value.abs() * scale);
            }
        }
        rows.iter_mut().zip(&largest).for_each(|(scale, &size)| *scale = reciprocal_power(size));
        for (column, scale) in columns.iter_mut().enumerate() {
            *scale =
                reciprocal_power(matrix.column(column).fold(0.0f64, |m, (row, value)| m.max(value.abs() * rows[row])));
        }
    }
    matrix.rescale(|row, column, value| value * rows[row] * columns[column]);
    (matrix, rows, columns)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::super::field::Rng;
    use super::*;

    #[test]
    fn inverses_undo_their_squares() {
        let mut rng = Rng::new(2);
        for round in 0..300 {
            let n = 1 + round % LARGEST_SQUARE;
            let square: Vec<f64> = (0..n * n).map(|_| rng.below(2001) as f64 / 1000.0 - 1.0).collect();
            let mut inverse = square.clone();
            if invert(&mut inverse, n).is_err() {
                continue;
            }
            let size = inverse.iter().fold(1.0f64, |m, x| m.max(x.abs()));
            for i in 0..n {
                for j in 0..n {
                    let product: f64 = (0..n).map(|k| square[i * n + k] * inverse[k * n + j]).sum();
                    assert!((product - f64::from(u8::from(i == j))).abs() < 1e-13 * size * n as f64, "{square:?}");
                }
            }
        }
        assert_eq!(invert(&mut [0.0], 1), Err(NumericError::Singular));
        assert_eq!(invert(&mut [1.0, 2.0, 2.0, 4.0], 2), Err(NumericError::Singular));
    }
}
