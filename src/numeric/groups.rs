//! Dependent rows, or columns, sorted into groups that have nothing to do with one another.
//!
//! Must not know: how dependence is found.

use crate::base::DisjointSets;

use super::field::Field;
use super::sparse::{Blocks, Sparse, SparseBuilder};

/// Rows, or columns, that depend on one another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// Ascending.
    pub members: Vec<u32>,
    /// The number of independent null vectors within the group.
    pub degree: usize,
    /// Smallest dependent sets, each the support of a null vector of which no part is dependent, the shortest
    /// first; together they span all null vectors of the group. A group of degree one is such a set itself. Empty
    /// for groups beyond [`MOST_SETS`] or [`MOST_MEMBERS`].
    pub sets: Vec<Vec<u32>>,
}

/// A group of a higher degree is given as a whole, not in smallest sets.
pub const MOST_SETS: usize = 32;
/// A group of more members and of a degree above one is given as a whole.
pub const MOST_MEMBERS: usize = 20_000;

impl Group {
    /// Whether smallest sets are worth looking for.
    pub fn deserves_sets(&self) -> bool {
        self.degree > 1 && self.degree <= MOST_SETS && self.members.len() <= MOST_MEMBERS
    }

    /// A group of degree one is its own smallest set.
    pub fn settle(&mut self) {
        if self.degree == 1 {
            self.sets = vec![self.members.clone()];
        }
    }

    /// The group of a part of a matrix, under the names of the whole.
    #[must_use]
    pub fn renamed(mut self, names: &[u32]) -> Self {
        let rename = |item: &mut u32| *item = names.get(*item as usize).copied().unwrap_or(u32::MAX);
        self.members.iter_mut().for_each(rename);
        self.sets.iter_mut().flatten().for_each(rename);
        self
    }
}

/// The touched places in groups that the lists join, by first member; and the group of each place, or `u32::MAX`.
#[allow(clippy::cast_possible_truncation)]
pub fn connected<I: Iterator<Item = u32>>(touched: &[bool], lists: impl Iterator<Item = I>) -> (Vec<Group>, Vec<u32>) {
    let mut sets = DisjointSets::new(touched.len());
    for list in lists {
        let mut last = None;
        for i in list.filter(|&i| touched[i as usize]) {
            if let Some(last) = last {
                sets.join(last as usize, i as usize);
            }
            last = Some(i);
        }
    }
    let roots = sets.into_roots();
    let mut groups: Vec<Group> = Vec::new();
    let mut group_of = vec![u32::MAX; touched.len()];
    for i in (0..touched.len() as u32).filter(|&i| touched[i as usize]) {
        // The least place is the root, so groups come in the order of their first members.
        let root = roots[i as usize] as usize;
        if group_of[root] == u32::MAX {
            group_of[root] = groups.len() as u32;
            groups.push(Group { members: Vec::new(), degree: 0, sets: Vec::new() });
        }
        group_of[i as usize] = group_of[root];
        if let Some(group) = groups.get_mut(group_of[root] as usize) {
            group.members.push(i);
        }
    }
    (groups, group_of)
}

/// The blocks restricted to the given rows, which ascend and are renumbered.
pub fn blocks_within(blocks: &Blocks, rows: &[u32]) -> Blocks {
    let mut sizes: Vec<u32> = Vec::new();
    let mut end = 0;
    for &row in rows {
        if row >= end {
            end = blocks.end_of_block_at(row);
            sizes.push(0);
        }
        if let Some(size) = sizes.last_mut() {
            *size += 1;
        }
    }
    Blocks::from_sizes(sizes)
}

/// Cuts columns out of a matrix together with the rows they touch, in time that depends on the part alone.
pub struct Cutter<'a, F> {
    matrix: &'a Sparse<F>,
    place: Vec<u32>,
    rows: Vec<u32>,
}

impl<'a, F: Field> Cutter<'a, F> {
    pub fn new(matrix: &'a Sparse<F>) -> Self {
        Cutter { matrix, place: vec![u32::MAX; matrix.rows()], rows: Vec::new() }
    }

    /// The rows of the last part, ascending.
    pub fn rows(&self) -> &[u32] {
        &self.rows
    }

    /// These columns, in their order, and the rows they touch, renumbered.
    #[allow(clippy::cast_possible_truncation)]
    pub fn part(&mut self, columns: &[u32]) -> Sparse<F> {
        self.rows.clear();
        for &column in columns {
            for (row, _) in self.matrix.column(column as usize) {
                if self.place[row] == u32::MAX {
                    self.place[row] = 0;
                    self.rows.push(row as u32);
                }
            }
        }
        self.rows.sort_unstable();
        for (new, &row) in self.rows.iter().enumerate() {
            self.place[row as usize] = new as u32;
        }
        let mut builder = SparseBuilder::new(self.rows.len());
        for &column in columns {
            for (row, value) in self.matrix.column(column as usize) {
                builder.entry(self.place[row], value);
            }
            builder.end_column();
        }
        for &row in &self.rows {
            self.place[row as usize] = u32::MAX;
        }
        builder.into_matrix()
    }
}
