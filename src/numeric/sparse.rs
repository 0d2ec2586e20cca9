//! Sparse matrices by columns, and the partition of rows into blocks.
//!
//! Must not know: what a row or a column stands for.

use super::error::NumericError;
use super::field::Scalar;

/// A matrix by columns. Within a column the rows ascend, no row comes twice and no stored entry is zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Sparse<T> {
    rows: usize,
    starts: Vec<usize>,
    indices: Vec<u32>,
    values: Vec<T>,
}

/// Collects a matrix column by column.
#[derive(Clone, Debug)]
pub struct SparseBuilder<T> {
    matrix: Sparse<T>,
    open: Vec<(u32, T)>,
    fault: Option<NumericError>,
}

impl<T: Scalar> SparseBuilder<T> {
    /// A matrix of so many rows and, for now, no columns.
    pub fn new(rows: usize) -> Self {
        let matrix = Sparse { rows, starts: vec![0], indices: Vec::new(), values: Vec::new() };
        SparseBuilder { matrix, open: Vec::new(), fault: None }
    }

    /// Makes room for so many columns and entries.
    #[must_use]
    pub fn with_capacity(mut self, columns: usize, entries: usize) -> Self {
        self.matrix.starts.reserve(columns);
        self.matrix.indices.reserve(entries);
        self.matrix.values.reserve(entries);
        self
    }

    /// Adds an entry to the open column. Entries at the same row add up; zeros vanish.
    pub fn entry(&mut self, row: u32, value: T) {
        self.open.push((row, value));
    }

    /// Closes the open column and opens the next. An untouched column is a zero column.
    #[allow(clippy::cast_possible_truncation)]
    pub fn end_column(&mut self) {
        let column = (self.matrix.starts.len() - 1) as u32;
        if !self.open.is_sorted_by_key(|&(row, _)| row) {
            self.open.sort_by_key(|&(row, _)| row);
        }
        let mut entries = self.open.iter().copied().peekable();
        while let Some((row, mut value)) = entries.next() {
            while let Some((_, more)) = entries.next_if(|&(next, _)| next == row) {
                value = value.add(more);
            }
            if row as usize >= self.matrix.rows {
                self.fault.get_or_insert(NumericError::RowOutOfRange { row, column });
            } else if !value.is_proper() {
                self.fault.get_or_insert(NumericError::NotFinite { row, column });
            } else if value != T::ZERO {
                self.matrix.indices.push(row);
                self.matrix.values.push(value);
            }
        }
        self.open.clear();
        self.matrix.starts.push(self.matrix.indices.len());
    }

    /// The matrix without the checks of [`finish`](Self::finish), for parts of a matrix that passed them.
    pub(super) fn into_matrix(self) -> Sparse<T> {
        self.matrix
    }

    /// The matrix, or the first fault met while building it. Limits: [`MAX_DIMENSION`], [`MAX_ENTRIES`].
    pub fn finish(self) -> Result<Sparse<T>, NumericError> {
        if let Some(fault) = self.fault {
            return Err(fault);
        }
        let size = self.matrix.rows.max(self.matrix.columns());
        if size > MAX_DIMENSION || self.matrix.entries() > MAX_ENTRIES {
            return Err(NumericError::TooLarge { entries: size.max(self.matrix.entries()) as u64 });
        }
        Ok(self.matrix)
    }
}

/// The most rows, or columns, a matrix may have.
pub const MAX_DIMENSION: usize = 100_000_000;
/// The most entries a matrix may store.
pub const MAX_ENTRIES: usize = 1_000_000_000;

impl<T: Scalar> Sparse<T> {
    /// A matrix from its columns, each a list of `(row, value)`.
    pub fn from_columns<I>(rows: usize, columns: impl IntoIterator<Item = I>) -> Result<Self, NumericError>
    where
        I: IntoIterator<Item = (u32, T)>,
    {
        let mut builder = SparseBuilder::new(rows);
        for column in columns {
            for (row, value) in column {
                builder.entry(row, value);
            }
            builder.end_column();
        }
        builder.finish()
    }

    pub fn rows(&self) -> usize {
        self.rows
    }

    pub fn columns(&self) -> usize {
        self.starts.len() - 1
    }

    pub fn entries(&self) -> usize {
        self.indices.len()
    }

    /// Where each column starts among the entries, with the end as a last item.
    pub fn starts(&self) -> &[usize] {
        &self.starts
    }

    /// The row of each entry, column after column.
    pub fn indices(&self) -> &[u32] {
        &self.indices
    }

    pub fn values(&self) -> &[T] {
        &self.values
    }

    /// The `(row, value)` pairs of a column, rows ascending.
    pub fn column(&self, column: usize) -> impl Iterator<Item = (usize, T)> + '_ {
        let range = self.starts[column]..self.starts[column + 1];
        self.indices[range.clone()].iter().map(|&r| r as usize).zip(self.values[range].iter().copied())
    }

    /// Aᵀ.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)]
    pub fn transpose(&self) -> Self {
        let mut starts = vec![0usize; self.rows + 1];
        for &row in &self.indices {
            starts[row as usize + 1] += 1;
        }
        for row in 0..self.rows {
            starts[row + 1] += starts[row];
        }
        let mut next = starts.clone();
        let mut indices = vec![0u32; self.entries()];
        let mut values = vec![T::ZERO; self.entries()];
        for column in 0..self.columns() {
            for (row, value) in self.column(column) {
                indices[next[row]] = column as u32;
                values[next[row]] = value;
                next[row] += 1;
            }
        }
        Sparse { rows: self.columns(), starts, indices, values }
    }

    /// Replaces each entry by a function of (row, column, entry) that is never zero.
    pub(super) fn rescale(&mut self, f: impl Fn(usize, usize, T) -> T) {
        for (column, pair) in self.starts.windows(2).enumerate() {
            let range = pair[0]..pair[1];
            for (&row, value) in self.indices[range.clone()].iter().zip(&mut self.values[range]) {
                *value = f(row as usize, column, *value);
            }
        }
    }

    /// A·x. Entries of `x` beyond the columns are ignored, missing ones count as zero.
    pub fn times(&self, x: &[T]) -> Vec<T> {
        let mut y = vec![T::ZERO; self.rows];
        for (column, &x) in x.iter().enumerate().take(self.columns()) {
            if x != T::ZERO {
                for (row, value) in self.column(column) {
                    y[row] = y[row].add(value.mul(x));
                }
            }
        }
        y
    }

    /// Aᵀ·y. `y` must have as many items as there are rows; missing ones count as zero.
    pub fn transpose_times(&self, y: &[T]) -> Vec<T> {
        (0..self.columns())
            .map(|column| {
                self.column(column).fold(T::ZERO, |sum, (row, value)| match y.get(row) {
                    Some(&y) => sum.add(value.mul(y)),
                    None => sum,
                })
            })
            .collect()
    }

    /// The matrix with these rows and columns only, renumbered in the given order.
    /// Indices out of range are left out.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)]
    pub fn part(&self, rows: &[u32], columns: &[u32]) -> Self {
        let mut place = vec![u32::MAX; if columns.is_empty() { 0 } else { self.rows }];
        for (new, &old) in rows.iter().enumerate() {
            if let Some(place) = place.get_mut(old as usize) {
                *place = new as u32;
            }
        }
        let columns = || columns.iter().map(|&column| column as usize).filter(|&column| column < self.columns());
        let entries = columns().map(|column| self.starts[column + 1] - self.starts[column]).sum();
        let mut part = Sparse {
            rows: rows.len(),
            starts: Vec::with_capacity(columns().count() + 1),
            indices: Vec::with_capacity(entries),
            values: Vec::with_capacity(entries),
        };
        part.starts.push(0);
        for column in columns() {
            let start = part.indices.len();
            for (row, value) in self.column(column).filter(|&(row, _)| place[row] != u32::MAX) {
                part.indices.push(place[row]);
                part.values.push(value);
            }
            sort_together(&mut part.indices[start..], &mut part.values[start..]);
            part.starts.push(part.indices.len());
        }
        part
    }
}

/// Sorts a column's entries by row; most columns have four.
fn sort_together<T: Scalar>(indices: &mut [u32], values: &mut [T]) {
    if indices.len() > 32 {
        let mut pairs: Vec<(u32, T)> = indices.iter().copied().zip(values.iter().copied()).collect();
        pairs.sort_unstable_by_key(|&(row, _)| row);
        for ((index, value), (row, entry)) in indices.iter_mut().zip(values).zip(pairs) {
            (*index, *value) = (row, entry);
        }
        return;
    }
    for i in 1..indices.len() {
        let mut at = i;
        while at > 0 && indices[at - 1] > indices[at] {
            indices.swap(at - 1, at);
            values.swap(at - 1, at);
            at -= 1;
        }
    }
}

/// A partition of the rows into runs that belong together, one run a joint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Blocks {
    starts: Vec<u32>,
}

impl Blocks {
    /// Blocks of the given sizes, in row order.
    pub fn from_sizes(sizes: impl IntoIterator<Item = u32>) -> Self {
        let mut starts = vec![0u32];
        let mut end = 0u32;
        for size in sizes {
            end = end.saturating_add(size);
            starts.push(end);
        }
        Blocks { starts }
    }

    /// Blocks of one size; the last may be shorter.
    #[allow(clippy::cast_possible_truncation)]
    pub fn uniform(rows: usize, size: usize) -> Self {
        let size = size.max(1);
        Blocks { starts: (0..rows).step_by(size).chain([rows]).map(|row| row as u32).collect() }
    }

    pub fn len(&self) -> usize {
        self.starts.len() - 1
    }

    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The number of rows in all blocks.
    pub fn rows(&self) -> usize {
        self.starts.last().map_or(0, |&end| end as usize)
    }

    /// The rows of a block.
    pub fn range(&self, block: usize) -> std::ops::Range<usize> {
        self.starts[block] as usize..self.starts[block + 1] as usize
    }

    /// The end of the block that holds a row.
    pub fn end_of_block_at(&self, row: u32) -> u32 {
        let after = self.starts.partition_point(|&start| start <= row);
        self.starts.get(after).copied().unwrap_or(u32::MAX)
    }

    /// The block of every row.
    #[allow(clippy::cast_possible_truncation)]
    pub fn of_rows(&self) -> Vec<u32> {
        let mut of = Vec::with_capacity(self.rows());
        for block in 0..self.len() {
            of.extend(self.range(block).map(|_| block as u32));
        }
        of
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::*;

    fn sample() -> Sparse<f64> {
        Sparse::from_columns(3, [vec![(2, 1.0), (0, 2.0)], vec![], vec![(1, 3.0), (1, 4.0), (0, 5.0), (2, 0.0)]])
            .unwrap()
    }

    #[test]
    fn columns_are_sorted_summed_and_free_of_zeros() {
        let a = sample();
        assert_eq!((a.rows(), a.columns(), a.entries()), (3, 3, 4));
        assert_eq!(a.column(0).collect::<Vec<_>>(), [(0, 2.0), (2, 1.0)]);
        assert_eq!(a.column(2).collect::<Vec<_>>(), [(0, 5.0), (1, 7.0)]);
        assert_eq!(a.times(&[1.0, 1.0, 2.0]), [12.0, 14.0, 1.0]);
        assert_eq!(a.transpose().times(&[1.0, 2.0, 3.0]), a.transpose_times(&[1.0, 2.0, 3.0]));
        assert_eq!(a.transpose().transpose(), a);
        assert_eq!(a.part(&[1, 0], &[2]).column(0).collect::<Vec<_>>(), [(0, 7.0), (1, 5.0)]);
    }

    #[test]
    fn faults_are_values() {
        let outside = Sparse::from_columns(2, [vec![(2, 1.0)]]);
        assert_eq!(outside, Err(NumericError::RowOutOfRange { row: 2, column: 0 }));
        let nan = Sparse::from_columns(2, [vec![], vec![(1, f64::NAN)]]);
        assert_eq!(nan, Err(NumericError::NotFinite { row: 1, column: 1 }));
        let empty = Sparse::<f64>::from_columns(0, Vec::<Vec<_>>::new()).unwrap();
        assert_eq!((empty.rows(), empty.columns(), empty.times(&[])), (0, 0, vec![]));
        assert_eq!(empty.transpose(), empty);
    }

    #[test]
    fn blocks_partition_rows() {
        let blocks = Blocks::from_sizes([2, 0, 3]);
        assert_eq!((blocks.len(), blocks.rows()), (3, 5));
        assert_eq!(blocks.of_rows(), [0, 0, 2, 2, 2]);
        assert_eq!(Blocks::uniform(5, 2), Blocks::from_sizes([2, 2, 1]));
        assert!(Blocks::uniform(0, 2).is_empty());
    }
}
