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
//! Must not know: what the rows and columns stand for.

use super::error::NumericError;
use super::field::{Field, Scalar};
use super::sparse::{Blocks, Sparse};

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
}

/// Squares larger than this are left to the core.
const LARGEST_SQUARE: usize = 8;
/// After so many failed squares a block is left to the core, so that a hub costs linear time.
const MOST_FAILURES: u8 = 8;

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
        Ok(Peeler::new(matrix, blocks).run())
    }

    /// The number of rows, and of columns, peeled off.
    pub fn rank(&self) -> usize {
        self.forward.rows() + self.backward.rows()
    }

    /// Whether all its rows and columns exist in a matrix of this size.
    pub fn is_within(&self, rows: usize, columns: usize) -> bool {
        let below = |list: &[u32], end: usize| list.iter().all(|&i| (i as usize) < end);
        [&self.forward.rows, &self.backward.rows, &self.core_rows].iter().all(|list| below(list, rows))
            && [&self.forward.columns, &self.backward.columns, &self.core_columns].iter().all(|l| below(l, columns))
    }

    /// Solves the forward steps of `B x = b`: fills their items of `x` and takes their share off `b` everywhere.
    pub fn solve_forward<T: Scalar>(&self, matrix: &Sparse<T>, b: &mut [T], x: &mut [T]) -> Result<(), NumericError> {
        (0..self.forward.len()).try_for_each(|step| substitute(matrix, self.forward.step(step), b, x))
    }

    /// Solves the backward steps of `B x = b`, once the core's share has been taken off `b`.
    pub fn solve_backward<T: Scalar>(&self, matrix: &Sparse<T>, b: &mut [T], x: &mut [T]) -> Result<(), NumericError> {
        (0..self.backward.len()).rev().try_for_each(|step| substitute(matrix, self.backward.step(step), b, x))
    }

    /// Solves the backward steps of `Bᵀ z = g`, which come first in the transposed system. `z` starts as zeros.
    pub fn solve_transposed_backward<T: Scalar>(
        &self,
        matrix: &Sparse<T>,
        g: &[T],
        z: &mut [T],
    ) -> Result<(), NumericError> {
        (0..self.backward.len()).try_for_each(|step| substitute_transposed(matrix, self.backward.step(step), g, z))
    }

    /// Solves the forward steps of `Bᵀ z = g`, once `z` holds the core's items.
    pub fn solve_transposed_forward<T: Scalar>(
        &self,
        matrix: &Sparse<T>,
        g: &[T],
        z: &mut [T],
    ) -> Result<(), NumericError> {
        (0..self.forward.len()).rev().try_for_each(|step| substitute_transposed(matrix, self.forward.step(step), g, z))
    }
}

/// Entry of `matrix` at (row, column).
fn entry<T: Scalar>(matrix: &Sparse<T>, row: u32, column: u32) -> T {
    let range = matrix.starts()[column as usize]..matrix.starts()[column as usize + 1];
    let rows = &matrix.indices()[range.clone()];
    let place = if rows.len() <= 8 { rows.iter().position(|&r| r == row) } else { rows.binary_search(&row).ok() };
    place.map_or(T::ZERO, |place| matrix.values()[range.start + place])
}

fn substitute<T: Scalar>(
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

fn substitute_transposed<T: Scalar>(
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

/// Solves a small dense square by rows, in place, with partial pivoting.
fn solve_small<T: Scalar>(a: &mut [T], b: &mut [T]) -> Result<(), NumericError> {
    let n = b.len();
    for k in 0..n {
        let (mut best, mut size) = (k, 0.0);
        for i in k..n {
            if a[i * n + k].pivot_size() > size {
                (best, size) = (i, a[i * n + k].pivot_size());
            }
        }
        if size == 0.0 {
            return Err(NumericError::Singular);
        }
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

/// The live counts that tell which square to try next. A count of one comes with
/// the exclusive-or of the live indices, which then is the index itself.
struct Peeler<'a, F> {
    matrix: &'a Sparse<F>,
    blocks: &'a Blocks,
    block_of: Vec<u32>,
    /// The entries by rows: for each row the range in `by_row` of (column, entry).
    row_starts: Vec<u32>,
    by_row: Vec<(u32, u32)>,
    row_alive: Vec<bool>,
    row_count: Vec<u32>,
    row_xor: Vec<u32>,
    column_alive: Vec<bool>,
    column_count: Vec<u32>,
    column_xor: Vec<u32>,
    column_blocks: Vec<u32>,
    column_block_xor: Vec<u32>,
    /// For each entry the first entry of its column in the same block, and there the live entries of the pair.
    pair_of: Vec<u32>,
    pair_count: Vec<u32>,
    block_rows: Vec<u32>,
    block_columns: Vec<u32>,
    block_singles: Vec<u32>,
    failures: Vec<u8>,
    queued: Vec<bool>,
    block_queue: Vec<u32>,
    row_queue: Vec<u32>,
    column_queue: Vec<u32>,
    peel: Peel,
}

impl<'a, F: Field> Peeler<'a, F> {
    #[allow(clippy::cast_possible_truncation)]
    fn new(matrix: &'a Sparse<F>, blocks: &'a Blocks) -> Self {
        let (rows, columns, entries) = (matrix.rows(), matrix.columns(), matrix.entries());
        let block_of = blocks.of_rows();
        let mut row_starts = vec![0u32; rows + 1];
        for &row in matrix.indices() {
            row_starts[row as usize + 1] += 1;
        }
        for row in 0..rows {
            row_starts[row + 1] += row_starts[row];
        }
        let mut next = row_starts.clone();
        let mut by_row = vec![(0u32, 0u32); entries];
        let mut peeler = Peeler {
            matrix,
            blocks,
            row_starts,
            by_row: Vec::new(),
            row_alive: vec![true; rows],
            row_count: vec![0; rows],
            row_xor: vec![0; rows],
            column_alive: vec![true; columns],
            column_count: vec![0; columns],
            column_xor: vec![0; columns],
            column_blocks: vec![0; columns],
            column_block_xor: vec![0; columns],
            pair_of: vec![0; entries],
            pair_count: vec![0; entries],
            block_rows: (0..blocks.len()).map(|block| blocks.range(block).len() as u32).collect(),
            block_columns: vec![0; blocks.len()],
            block_singles: vec![0; blocks.len()],
            failures: vec![0; blocks.len()],
            queued: vec![true; blocks.len()],
            block_queue: (0..blocks.len() as u32).rev().collect(),
            row_queue: Vec::new(),
            column_queue: Vec::new(),
            peel: Peel::default(),
            block_of,
        };
        for column in 0..columns {
            let (mut pair, mut pair_block) = (0, u32::MAX);
            for at in matrix.starts()[column]..matrix.starts()[column + 1] {
                let row = matrix.indices()[at] as usize;
                by_row[next[row] as usize] = (column as u32, at as u32);
                next[row] += 1;
                peeler.row_count[row] += 1;
                peeler.row_xor[row] ^= column as u32;
                peeler.column_count[column] += 1;
                peeler.column_xor[column] ^= row as u32;
                let block = peeler.block_of[row];
                if block != pair_block {
                    (pair, pair_block) = (at, block);
                    peeler.block_columns[block as usize] += 1;
                    peeler.column_blocks[column] += 1;
                    peeler.column_block_xor[column] ^= block;
                }
                peeler.pair_of[at] = pair as u32;
                peeler.pair_count[pair] += 1;
            }
            if peeler.column_blocks[column] == 1 {
                peeler.block_singles[peeler.column_block_xor[column] as usize] += 1;
            }
            if peeler.column_count[column] == 1 {
                peeler.column_queue.push(column as u32);
            }
        }
        peeler.row_queue.extend((0..rows as u32).filter(|&row| peeler.row_count[row as usize] == 1));
        peeler.by_row = by_row;
        peeler
    }

    #[allow(clippy::cast_possible_truncation)]
    fn run(mut self) -> Peel {
        loop {
            if let Some(column) = self.column_queue.pop() {
                if self.column_alive[column as usize] && self.column_count[column as usize] == 1 {
                    let row = self.column_xor[column as usize];
                    self.peel.backward.push(&[(row, column)]);
                    self.remove(&[(row, column)]);
                }
            } else if let Some(row) = self.row_queue.pop() {
                if self.row_alive[row as usize] && self.row_count[row as usize] == 1 {
                    let column = self.row_xor[row as usize];
                    self.peel.forward.push(&[(row, column)]);
                    self.remove(&[(row, column)]);
                }
            } else if let Some(block) = self.block_queue.pop() {
                self.queued[block as usize] = false;
                self.try_block(block as usize);
            } else {
                break;
            }
        }
        let alive = |alive: &[bool]| (0..alive.len() as u32).filter(|&i| alive[i as usize]).collect();
        self.peel.core_rows = alive(&self.row_alive);
        self.peel.core_columns = alive(&self.column_alive);
        self.peel
    }

    /// Peels the block if its live columns, or the live columns of no other block, make a nonsingular square.
    fn try_block(&mut self, block: usize) {
        let (rows, columns) = (self.block_rows[block] as usize, self.block_columns[block] as usize);
        if rows == 0 || columns == 0 || rows > LARGEST_SQUARE || self.failures[block] >= MOST_FAILURES {
            return;
        }
        let hangs = columns <= rows;
        if !hangs && (self.block_singles[block] as usize) < rows {
            return;
        }
        let live_rows: Vec<u32> =
            self.blocks.range(block).map(|r| r as u32).filter(|&r| self.row_alive[r as usize]).collect();
        let mut live_columns: Vec<u32> = Vec::with_capacity(columns);
        for &row in &live_rows {
            for &(column, _) in self.row(row) {
                let c = column as usize;
                if self.column_alive[c] && (hangs || self.column_blocks[c] == 1) {
                    live_columns.push(column);
                }
            }
        }
        live_columns.sort_unstable();
        live_columns.dedup();
        let pairs = pivots(self.matrix, &live_rows, &live_columns);
        if hangs && pairs.len() == live_columns.len() {
            self.peel.forward.push(&pairs);
        } else if !hangs && pairs.len() == rows {
            self.peel.backward.push(&pairs);
        } else {
            self.failures[block] += 1;
            return;
        }
        self.remove(&pairs);
    }

    fn row(&self, row: u32) -> &[(u32, u32)] {
        &self.by_row[self.row_starts[row as usize] as usize..self.row_starts[row as usize + 1] as usize]
    }

    fn remove(&mut self, pairs: &[(u32, u32)]) {
        for &(_, column) in pairs {
            self.remove_column(column);
        }
        for &(row, _) in pairs {
            self.remove_row(row);
        }
    }

    fn remove_column(&mut self, column: u32) {
        let c = column as usize;
        self.column_alive[c] = false;
        for at in self.matrix.starts()[c]..self.matrix.starts()[c + 1] {
            let row = self.matrix.indices()[at] as usize;
            if self.row_alive[row] {
                self.row_count[row] -= 1;
                self.row_xor[row] ^= column;
                if self.row_count[row] == 1 {
                    self.row_queue.push(row as u32);
                }
            }
            if self.pair_count[at] > 0 {
                let block = self.block_of[row] as usize;
                self.block_columns[block] -= 1;
                if self.column_blocks[c] == 1 {
                    self.block_singles[block] -= 1;
                }
                self.queue(block);
            }
        }
    }

    fn remove_row(&mut self, row: u32) {
        let block = self.block_of[row as usize];
        self.row_alive[row as usize] = false;
        self.block_rows[block as usize] -= 1;
        for at in self.row_starts[row as usize] as usize..self.row_starts[row as usize + 1] as usize {
            let (column, entry) = self.by_row[at];
            let c = column as usize;
            if !self.column_alive[c] {
                continue;
            }
            self.column_count[c] -= 1;
            self.column_xor[c] ^= row;
            if self.column_count[c] == 1 {
                self.column_queue.push(column);
            }
            let pair = self.pair_of[entry as usize] as usize;
            self.pair_count[pair] -= 1;
            if self.pair_count[pair] == 0 {
                self.block_columns[block as usize] -= 1;
                self.column_blocks[c] -= 1;
                self.column_block_xor[c] ^= block;
                match self.column_blocks[c] {
                    0 => self.block_singles[block as usize] -= 1,
                    1 => {
                        let last = self.column_block_xor[c] as usize;
                        self.block_singles[last] += 1;
                        self.queue(last);
                    }
                    _ => {}
                }
            }
        }
        self.queue(block as usize);
    }

    #[allow(clippy::cast_possible_truncation)]
    fn queue(&mut self, block: usize) {
        if !self.queued[block] {
            self.queued[block] = true;
            self.block_queue.push(block as u32);
        }
    }
}

/// Gaussian elimination on a part of a matrix: the (row, column) pairs of its pivots.
fn pivots<F: Field>(matrix: &Sparse<F>, rows: &[u32], columns: &[u32]) -> Vec<(u32, u32)> {
    if let (&[r0, r1], &[c0, c1]) = (rows, columns) {
        let [a, b, c, d] = [(r0, c0), (r0, c1), (r1, c0), (r1, c1)].map(|(r, c)| entry(matrix, r, c));
        if a.mul(d) != b.mul(c) {
            return vec![(r0, c0), (r1, c1)];
        }
    }
    let mut left: Vec<u32> = rows.to_vec();
    let mut done: Vec<(u32, Vec<F>)> = Vec::new();
    let mut pairs = Vec::new();
    for &column in columns {
        if left.is_empty() {
            break;
        }
        // Each column is reduced by the pivots found so far, in their order.
        let mut values: Vec<F> = rows.iter().map(|&row| entry(matrix, row, column)).collect();
        for (pivot, multipliers) in &done {
            let Some(at) = rows.iter().position(|row| row == pivot) else { continue };
            let lead = values[at];
            if !lead.is_zero() {
                for (value, &multiplier) in values.iter_mut().zip(multipliers) {
                    *value = value.sub(multiplier.mul(lead));
                }
            }
        }
        let pivot = rows.iter().zip(&values).find(|&(row, value)| left.contains(row) && !value.is_zero());
        if let Some((&row, &lead)) = pivot
            && let Some(inverse) = lead.inverse()
        {
            left.retain(|&other| other != row);
            let multipliers = rows
                .iter()
                .zip(&values)
                .map(|(other, value)| if left.contains(other) { value.mul(inverse) } else { F::ZERO })
                .collect();
            done.push((row, multipliers));
            pairs.push((row, column));
        }
    }
    pairs
}
