//! Peeling: the part of a matrix whose rank and solution need no fill.
//!
//! Rows that hang on exactly as many columns as they are, by a nonsingular
//! square, leave together with those columns; so do columns that only few rows
//! can answer. What comes out is a block lower triangular order
//!
//! ```text
//!            forward  core  backward
//! forward  [    L                    ]
//! core     [    ×      Y             ]
//! backward [    ×      ×       L     ]
//! ```
//!
//! with small nonsingular diagonal squares in both L, so that
//! rank B = (peeled rows) + rank Y exactly, and the same order serves the exact
//! null vectors and the floating solve. It takes time linear in the entries.
//!
//! Where nothing more hangs on few enough columns, a few columns are set aside
//! as if they were known, as reactions are found before the joints of a simple
//! truss. If peeling then runs to the end, as many rows as columns were set
//! aside are left over, and the small square that is left for them once the
//! steps are eliminated settles the rank. The columns set aside are the core
//! then, and may reach up into the forward steps: a border.
//!
//! Must not know: what the rows and columns stand for.

mod border;
mod search;

use super::error::NumericError;
use super::field::Field;
use super::sparse::{Blocks, Sparse};
use search::Peeler;

/// A list of small squares: step `t` takes rows and columns alike in number.
#[derive(Clone, Debug, Default)]
pub struct Steps {
    starts: Vec<u32>,
    rows: Vec<u32>,
    columns: Vec<u32>,
}

impl Steps {
    pub fn len(&self) -> usize {
        self.starts.len()
    }

    pub fn is_empty(&self) -> bool {
        self.starts.is_empty()
    }

    /// The number of rows, and of columns, in all steps.
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// The rows and the columns of a step, pivots paired.
    pub fn step(&self, step: usize) -> (&[u32], &[u32]) {
        let start = self.starts[step] as usize;
        let end = self.starts.get(step + 1).map_or(self.rows.len(), |&end| end as usize);
        (&self.rows[start..end], &self.columns[start..end])
    }

    /// Keeps the first steps; the rows and columns of the others.
    fn cut(&mut self, keep: usize) -> (Vec<u32>, Vec<u32>) {
        let at = self.starts.get(keep).map_or(self.rows.len(), |&start| start as usize);
        self.starts.truncate(keep);
        (self.rows.split_off(at), self.columns.split_off(at))
    }

    #[allow(clippy::cast_possible_truncation)]
    fn push(&mut self, pairs: &[(u32, u32)]) {
        self.starts.push(self.rows.len() as u32);
        self.rows.extend(pairs.iter().map(|&(row, _)| row));
        self.columns.extend(pairs.iter().map(|&(_, column)| column));
    }
}

/// The outcome of peeling.
#[derive(Clone, Debug, Default)]
pub struct Peel {
    /// Squares whose rows have no column left but these and those of earlier forward steps. Solved first.
    pub forward: Steps,
    /// Squares whose columns had no row left but these, in the order they left. Solved last, in reverse.
    pub backward: Steps,
    /// The rows left over, ascending, those without an entry included.
    pub core_rows: Vec<u32>,
    /// The columns left over, ascending, those without an entry included.
    pub core_columns: Vec<u32>,
    /// Present where columns were set aside. The core then is as many rows as columns, and what is left of it once the
    /// forward steps are eliminated is a nonsingular square: the whole has full rank.
    pub border: Option<Border>,
}

/// How many steps were peeled before columns were set aside. The core columns reach up into the forward steps after.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Border {
    pub forward: usize,
    pub backward: usize,
}

/// Squares larger than this are left to the core.
pub const LARGEST_SQUARE: usize = 8;
/// After so many failed squares a block is left to the core, so that a hub costs linear time.
const MOST_FAILURES: u8 = 8;
/// So many columns are set aside at most.
const MOST_SET_ASIDE: usize = 6;

impl Peel {
    /// Peels nothing: all rows and columns are core.
    #[allow(clippy::cast_possible_truncation)]
    pub fn nothing(rows: usize, columns: usize) -> Self {
        Peel { core_rows: (0..rows as u32).collect(), core_columns: (0..columns as u32).collect(), ..Peel::default() }
    }

    /// Peels `matrix`, trying the squares that `blocks` suggest and single rows and columns.
    pub fn of<F: Field>(matrix: &Sparse<F>, blocks: &Blocks) -> Result<Self, NumericError> {
        if blocks.rows() != matrix.rows() {
            return Err(NumericError::Mismatch { expected: matrix.rows(), found: blocks.rows() });
        }
        let peel = Peeler::new(matrix, blocks).run();
        Ok(if border::closes(matrix, &peel) { peel } else { peel.without_border() })
    }

    /// The number of rows, and of columns, whose rank is settled: those peeled off, and with a border the core.
    pub fn rank(&self) -> usize {
        let core = if self.border.is_some() { self.core_rows.len() } else { 0 };
        self.forward.rows() + self.backward.rows() + core
    }

    /// The same peel without the steps that came after columns were set aside.
    #[must_use]
    pub fn without_border(mut self) -> Self {
        if let Some(border) = self.border.take() {
            for (steps, keep) in [(&mut self.forward, border.forward), (&mut self.backward, border.backward)] {
                let (rows, columns) = steps.cut(keep);
                self.core_rows.extend(rows);
                self.core_columns.extend(columns);
            }
            self.core_rows.sort_unstable();
            self.core_columns.sort_unstable();
        }
        self
    }

    /// Solves the backward steps of `B x = b`, once the core's share has been taken off `b`.
    pub fn solve_backward<T: Field>(&self, matrix: &Sparse<T>, b: &mut [T], x: &mut [T]) -> Result<(), NumericError> {
        (0..self.backward.len()).rev().try_for_each(|step| substitute(matrix, self.backward.step(step), b, x))
    }

    /// Solves the forward steps of `Bᵀ z = g`, once `z` holds the core's items.
    pub fn solve_transposed_forward<T: Field>(
        &self,
        matrix: &Sparse<T>,
        g: &[T],
        z: &mut [T],
    ) -> Result<(), NumericError> {
        (0..self.forward.len()).rev().try_for_each(|step| substitute_transposed(matrix, self.forward.step(step), g, z))
    }
}

/// Entry of `matrix` at (row, column).
fn entry<T: Field>(matrix: &Sparse<T>, row: u32, column: u32) -> T {
    let range = matrix.starts()[column as usize]..matrix.starts()[column as usize + 1];
    let rows = &matrix.indices()[range.clone()];
    let place = if rows.len() <= 8 { rows.iter().position(|&r| r == row) } else { rows.binary_search(&row).ok() };
    place.map_or(T::ZERO, |place| matrix.values()[range.start + place])
}

fn substitute<T: Field>(
    matrix: &Sparse<T>,
    (rows, columns): (&[u32], &[u32]),
    b: &mut [T],
    x: &mut [T],
) -> Result<(), NumericError> {
    let n = rows.len();
    let (mut square, mut right) = ([T::ZERO; LARGEST_SQUARE * LARGEST_SQUARE], [T::ZERO; LARGEST_SQUARE]);
    for i in 0..n {
        right[i] = b[rows[i] as usize];
        for j in 0..n {
            square[i * n + j] = entry(matrix, rows[i], columns[j]);
        }
    }
    solve_small(&mut square[..n * n], &mut right[..n])?;
    for (j, &column) in columns.iter().enumerate() {
        x[column as usize] = right[j];
        for (row, value) in matrix.column(column as usize) {
            b[row] = b[row].sub(value.mul(right[j]));
        }
    }
    for &row in rows {
        b[row as usize] = T::ZERO;
    }
    Ok(())
}

fn substitute_transposed<T: Field>(
    matrix: &Sparse<T>,
    (rows, columns): (&[u32], &[u32]),
    g: &[T],
    z: &mut [T],
) -> Result<(), NumericError> {
    let n = rows.len();
    let (mut square, mut right) = ([T::ZERO; LARGEST_SQUARE * LARGEST_SQUARE], [T::ZERO; LARGEST_SQUARE]);
    for (j, &column) in columns.iter().enumerate() {
        let mut sum = g[column as usize];
        for (row, value) in matrix.column(column as usize) {
            match rows.iter().position(|&r| r as usize == row) {
                Some(i) => square[j * n + i] = value,
                None => sum = sum.sub(value.mul(z[row])),
            }
        }
        right[j] = sum;
    }
    solve_small(&mut square[..n * n], &mut right[..n])?;
    for (i, &row) in rows.iter().enumerate() {
        z[row as usize] = right[i];
    }
    Ok(())
}

/// Solves a small dense square by rows, in place.
fn solve_small<T: Field>(a: &mut [T], b: &mut [T]) -> Result<(), NumericError> {
    let n = b.len();
    for k in 0..n {
        let best = (k..n).find(|i| !a[i * n + k].is_zero()).ok_or(NumericError::Singular)?;
        if best != k {
            b.swap(best, k);
            for j in k..n {
                a.swap(best * n + j, k * n + j);
            }
        }
        for i in k + 1..n {
            if a[i * n + k].is_zero() {
                continue;
            }
            let factor = a[i * n + k].div(a[k * n + k]).ok_or(NumericError::Singular)?;
            for j in k + 1..n {
                a[i * n + j] = a[i * n + j].sub(factor.mul(a[k * n + j]));
            }
            b[i] = b[i].sub(factor.mul(b[k]));
        }
    }
    for k in (0..n).rev() {
        let mut sum = b[k];
        for j in k + 1..n {
            sum = sum.sub(a[k * n + j].mul(b[j]));
        }
        b[k] = sum.div(a[k * n + k]).ok_or(NumericError::Singular)?;
    }
    Ok(())
}
