//! The search for squares to peel, and for the few columns to set aside where
//! none is left.
//!
//! Must not know: what the columns set aside come to; that is the border's
//! business.

use crate::base::Lists;

use super::super::field::Field;
use super::super::sparse::{Blocks, Sparse};
use super::{Border, LARGEST_SQUARE, MOST_FAILURES, MOST_SET_ASIDE, Peel, entry};

/// The live counts that tell which perpendicular to try next. A count of one comes with
/// the exclusive-or of the live indices, which then is the index itself.
pub(super) struct Peeler<'a, F> {
    matrix: &'a Sparse<F>,
    blocks: &'a Blocks,
    block_of: Vec<u32>,
    /// The entries by rows: (column, entry).
    by_row: Lists<(u32, u32)>,
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
    /// Blocks beside something that left.
    touched: Vec<bool>,
    live_columns: usize,
    block_queue: Vec<u32>,
    row_queue: Vec<u32>,
    column_queue: Vec<u32>,
    peel: Peel,
}

impl<'a, F: Field> Peeler<'a, F> {
    #[allow(clippy::cast_possible_truncation)]
    pub(super) fn new(matrix: &'a Sparse<F>, blocks: &'a Blocks) -> Self {
        let (rows, columns, entries) = (matrix.rows(), matrix.columns(), matrix.entries());
        let block_of = blocks.of_rows();
        let of_column = |column: usize| {
            let range = matrix.starts()[column]..matrix.starts()[column + 1];
            range.map(move |at| (matrix.indices()[at] as usize, (column as u32, at as u32)))
        };
        let mut peeler = Peeler {
            matrix,
            blocks,
            by_row: Lists::of(rows, || (0..columns).flat_map(of_column)),
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
            touched: vec![false; blocks.len()],
            live_columns: columns,
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
        peeler
    }

    /// Peels all it can; where that leaves something, sets a few columns aside and goes on, with a border if nothing
    /// but those is left in the end.
    #[allow(clippy::cast_possible_truncation)]
    pub(super) fn run(mut self) -> Peel {
        self.exhaust();
        let border = Border { forward: self.peel.forward.len(), backward: self.peel.backward.len() };
        let mut aside = Vec::new();
        // Only a square matrix can close.
        while self.live_columns > 0 && aside.len() < MOST_SET_ASIDE && self.row_alive.len() == self.column_alive.len() {
            let Some(column) = self.column_to_set_aside() else { break };
            aside.push(column);
            self.remove_column(column);
            self.exhaust();
        }
        let alive = |alive: &[bool]| (0..alive.len() as u32).filter(|&i| alive[i as usize]).collect::<Vec<u32>>();
        self.peel.core_rows = alive(&self.row_alive);
        self.peel.core_columns = alive(&self.column_alive);
        let closed = self.live_columns == 0 && self.peel.core_rows.len() == aside.len();
        self.peel.core_columns.append(&mut aside);
        self.peel.core_columns.sort_unstable();
        self.peel.border = Some(border);
        if closed && !self.peel.core_columns.is_empty() { self.peel } else { self.peel.without_border() }
    }

    fn exhaust(&mut self) {
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
    }

    /// A column of the block that is nearest to hanging on its columns: beside what has left already, so that one front
    /// moves on and no second one opens; and if it can be a column that touches no other block.
    fn column_to_set_aside(&self) -> Option<u32> {
        let mut best: Option<(u32, bool, usize)> = None;
        for block in 0..self.blocks.len() {
            let (rows, columns) = (self.block_rows[block], self.block_columns[block]);
            if rows == 0 || columns <= rows || rows as usize > LARGEST_SQUARE {
                continue;
            }
            let key = (columns - rows, !self.touched[block], block);
            if best.is_none_or(|best| key < best) {
                best = Some(key);
            }
        }
        let (_, _, block) = best?;
        let rows = self.blocks.range(block).filter(|&row| self.row_alive[row]);
        let columns = rows.flat_map(|row| self.by_row.list(row)).map(|&(column, _)| column);
        columns
            .filter(|&column| self.column_alive[column as usize])
            .min_by_key(|&column| (self.column_blocks[column as usize], column))
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
            for &(column, _) in self.by_row.list(row as usize) {
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
        self.live_columns -= 1;
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
        for at in 0.. {
            let Some(&(column, entry)) = self.by_row.list(row as usize).get(at) else { break };
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
        self.touched[block] = true;
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
