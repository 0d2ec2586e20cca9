//! A matrix over one field, peeled and factored: its rank, its null vectors and what they touch.
//!
//! Must not know: which field is trusted with what.

use crate::base::memory;

use super::error::NumericError;
use super::field::{Field, Rng};
use super::front::{Keep, Ldl};
use super::groups::{Cutter, Group, blocks_within, connected};
use super::order::{self, Graph, Shape};
use super::peel::Peel;
use super::sparse::{Blocks, Sparse};

/// The most numbers a factor may hold, whatever the budget of memory.
pub const MAX_FACTOR: u64 = 250_000_000;
/// What a number of a factor takes, bytes: itself, and its like in the front it comes from.
const BYTES_OF_NUMBER: usize = 16;
/// The most multiplications a factorisation may take: about a minute and a half modulo a large prime.
pub const MAX_PRODUCTS: f64 = 2e11;
/// Blocks of more rows than this do not guide the order.
const LARGEST_GROUP: usize = 8;

/// A peeled and factored matrix.
pub struct Analysis<'a, F> {
    matrix: &'a Sparse<F>,
    blocks: &'a Blocks,
    pub peel: Peel,
    zero_rows: Vec<u32>,
    zero_columns: Vec<u32>,
    /// The rows of the factored part, in the order of elimination, and its columns.
    rows: Vec<u32>,
    columns: Vec<u32>,
    core: Sparse<F>,
    weights: Vec<F>,
    ldl: Ldl<F>,
}

impl<'a, F: Field> Analysis<'a, F> {
    /// Peels and factors. Null vectors need [`Keep::Factor`].
    pub fn of(matrix: &'a Sparse<F>, blocks: &'a Blocks, rng: &mut Rng, keep: Keep) -> Result<Self, NumericError> {
        let peel = Peel::of(matrix, blocks)?;
        // A border settles the core along with the rest.
        let Core { rows, columns, zero_rows, zero_columns } = Core::of(matrix, &peel);
        let (rows, shape) = order_core(matrix, blocks, &rows, &columns)?;
        let room = u64::try_from(memory::room_for(BYTES_OF_NUMBER)).unwrap_or(u64::MAX);
        if shape.entries > MAX_FACTOR.min(room) || shape.products > MAX_PRODUCTS {
            return Err(NumericError::TooLarge { entries: shape.entries });
        }
        let core = matrix.part(&rows, &columns);
        let mut weights: Vec<F> = columns.iter().map(|_| F::random(rng)).collect();
        let ldl = Ldl::factor(shape, &core, &mut weights, rng, keep)?;
        Ok(Analysis { matrix, blocks, peel, zero_rows, zero_columns, rows, columns, core, weights, ldl })
    }

    pub fn rank(&self) -> usize {
        self.peel.rank() + self.ldl.rank()
    }

    /// The rows at which a left null vector can be chosen freely; the choice determines it.
    fn free_rows(&self) -> Vec<u32> {
        let pivots = self.ldl.zero_pivots.iter().map(|&k| self.rows[k as usize]);
        self.zero_rows.iter().copied().chain(pivots).collect()
    }

    /// The left null vector with the given values at the free rows, in their order. Checked against every column.
    fn left_vector(&self, free: impl Iterator<Item = F>) -> Result<Vec<F>, NumericError> {
        let mut z = vec![F::ZERO; self.matrix.rows()];
        let mut core = vec![F::ZERO; self.rows.len()];
        for (k, value) in free.enumerate() {
            match k.checked_sub(self.zero_rows.len()) {
                None => z[self.zero_rows[k] as usize] = value,
                Some(k) => core[self.ldl.zero_pivots[k] as usize] = value,
            }
        }
        self.ldl.solve_upper(&mut core);
        for (&row, &value) in self.rows.iter().zip(&core) {
            z[row as usize] = value;
        }
        let zeros = vec![F::ZERO; self.matrix.columns()];
        self.peel.solve_transposed_forward(self.matrix, &zeros, &mut z)?;
        if self.matrix.transpose_times(&z).iter().any(|sum| !sum.is_zero()) {
            return Err(NumericError::Unlucky);
        }
        Ok(z)
    }

    /// The left null vector, scaled by whatever comes out, where there is exactly one.
    pub fn only_left_vector(&self) -> Result<Vec<F>, NumericError> {
        if self.free_rows().len() == 1 {
            self.left_vector(std::iter::once(F::ONE))
        } else {
            Err(NumericError::Singular)
        }
    }

    /// Independent left null vectors, at most so many.
    pub fn left_vectors(&self, most: usize) -> Result<Vec<Vec<F>>, NumericError> {
        let free = self.free_rows().len();
        let unit = |k: usize| (0..free).map(move |i| if i == k { F::ONE } else { F::ZERO });
        (0..free.min(most)).map(|k| self.left_vector(unit(k))).collect()
    }

    /// A random right null vector. Checked against every row.
    fn right_vector(&self, rng: &mut Rng) -> Result<Vec<F>, NumericError> {
        let mut f = vec![F::ZERO; self.matrix.columns()];
        for &column in &self.zero_columns {
            f[column as usize] = F::random(rng);
        }
        if self.ldl.rank() < self.columns.len() {
            let g: Vec<F> = self.columns.iter().map(|_| F::random(rng)).collect();
            let mut x = self.core.times(&g);
            self.ldl.solve(&mut x)?;
            let correction = self.core.transpose_times(&x);
            for (i, &column) in self.columns.iter().enumerate() {
                f[column as usize] = g[i].sub(self.weights[i].mul(correction[i]));
            }
        }
        let mut b: Vec<F> = self.matrix.times(&f).into_iter().map(F::neg).collect();
        self.peel.solve_backward(self.matrix, &mut b, &mut f)?;
        if self.matrix.times(&f).iter().any(|sum| !sum.is_zero()) {
            return Err(NumericError::Unlucky);
        }
        Ok(f)
    }

    /// The rows that left null vectors touch, in groups that no column joins, with degrees but without sets; and a
    /// random left null vector.
    pub fn row_groups(&self, rng: &mut Rng) -> Result<(Vec<Group>, Vec<F>), NumericError> {
        let free = self.free_rows();
        let mut touched = vec![false; self.matrix.rows()];
        let mut z = Vec::new();
        for _ in 0..F::DRAWS {
            z = self.left_vector(free.iter().map(|_| F::random(rng)))?;
            touched.iter_mut().zip(&z).for_each(|(touched, z)| *touched |= !z.is_zero());
        }
        let lists = (0..self.matrix.columns()).map(|c| self.matrix.column(c).map(|(row, _)| row as u32));
        let (mut groups, group_of) = connected(&touched, lists);
        for row in free {
            if let Some(group) = groups.get_mut(group_of[row as usize] as usize) {
                group.degree += 1;
            }
        }
        groups.iter_mut().for_each(Group::settle);
        Ok((groups, z))
    }

    /// The columns that right null vectors touch, in groups that no row joins, with degrees but without sets.
    pub fn column_groups(&self, rng: &mut Rng) -> Result<Vec<Group>, NumericError> {
        let mut touched = vec![false; self.matrix.columns()];
        for _ in 0..F::DRAWS {
            let f = self.right_vector(rng)?;
            touched.iter_mut().zip(&f).for_each(|(touched, f)| *touched |= !f.is_zero());
        }
        let by_rows = self.matrix.transpose();
        let lists = (0..by_rows.columns()).map(|r| by_rows.column(r).map(|(column, _)| column as u32));
        let (mut groups, _) = connected(&touched, lists);
        // The largest group has what the others leave, so that it need not be factored again.
        let largest = (0..groups.len()).max_by_key(|&i| groups[i].members.len());
        let mut left = self.matrix.columns() - self.rank();
        let mut cutter = Cutter::new(self.matrix);
        for (_, group) in groups.iter_mut().enumerate().filter(|&(i, _)| Some(i) != largest) {
            let part = cutter.part(&group.members);
            let blocks = blocks_within(self.blocks, cutter.rows());
            let analysis = Analysis::of(&part, &blocks, rng, Keep::Count)?;
            group.degree = part.columns() - analysis.rank();
            left = left.checked_sub(group.degree).ok_or(NumericError::Unlucky)?;
        }
        if let Some(group) = largest.and_then(|i| groups.get_mut(i)) {
            group.degree = left;
        }
        groups.iter_mut().for_each(Group::settle);
        if groups.iter().any(|group| group.degree == 0) { Err(NumericError::Unlucky) } else { Ok(groups) }
    }

    /// Finds the smallest sets of row groups that deserve them.
    pub fn find_row_sets(&self, groups: &mut [Group], rng: &mut Rng) -> Result<(), NumericError> {
        if !groups.iter().any(Group::deserves_sets) {
            return Ok(());
        }
        let by_rows = self.matrix.transpose();
        let mut cutter = Cutter::new(&by_rows);
        for group in groups.iter_mut().filter(|group| group.deserves_sets()) {
            let part = cutter.part(&group.members).transpose();
            let blocks = blocks_within(self.blocks, &group.members);
            let analysis = Analysis::of(&part, &blocks, rng, Keep::Factor)?;
            group.sets = named(analysis.left_sets()?, &group.members);
        }
        Ok(())
    }

    /// Finds the smallest sets of column groups that deserve them.
    pub fn find_column_sets(&self, groups: &mut [Group], rng: &mut Rng) -> Result<(), NumericError> {
        let mut cutter = Cutter::new(self.matrix);
        for group in groups.iter_mut().filter(|group| group.deserves_sets()) {
            let part = cutter.part(&group.members);
            let blocks = blocks_within(self.blocks, cutter.rows());
            let analysis = Analysis::of(&part, &blocks, rng, Keep::Factor)?;
            group.sets = named(analysis.right_sets(group.degree, rng)?, &group.members);
        }
        Ok(())
    }

    /// The support of the null vector of each free row. Each has a free row to itself, so none contains another.
    fn left_sets(&self) -> Result<Vec<Vec<u32>>, NumericError> {
        let mut sets: Vec<_> = self.left_vectors(usize::MAX)?.iter().map(|vector| support(vector)).collect();
        sets.sort_by_key(Vec::len);
        Ok(sets)
    }

    /// The supports of a reduced basis of right null vectors.
    fn right_sets(&self, degree: usize, rng: &mut Rng) -> Result<Vec<Vec<u32>>, NumericError> {
        let mut basis = (0..degree).map(|_| self.right_vector(rng)).collect::<Result<Vec<_>, _>>()?;
        reduce(&mut basis)?;
        let mut sets: Vec<_> = basis.iter().map(|vector| support(vector)).collect();
        sets.sort_by_key(Vec::len);
        Ok(sets)
    }
}

/// What peeling leaves, apart from rows and columns without entries.
#[derive(Default)]
struct Core {
    rows: Vec<u32>,
    columns: Vec<u32>,
    zero_rows: Vec<u32>,
    zero_columns: Vec<u32>,
}

impl Core {
    fn of<F: Field>(matrix: &Sparse<F>, peel: &Peel) -> Self {
        if peel.border.is_some() {
            return Core::default();
        }
        let mut in_core = vec![false; matrix.rows()];
        let mut touched = vec![false; matrix.rows()];
        for &row in &peel.core_rows {
            in_core[row as usize] = true;
        }
        let has_entry = |&column: &u32| {
            let mut any = false;
            for (row, _) in matrix.column(column as usize) {
                if in_core[row] {
                    touched[row] = true;
                    any = true;
                }
            }
            any
        };
        let (columns, zero_columns) = peel.core_columns.iter().copied().partition(has_entry);
        let (rows, zero_rows) = peel.core_rows.iter().copied().partition(|&row| touched[row as usize]);
        Core { rows, columns, zero_rows, zero_columns }
    }
}

/// Orders the core's rows for little fill: the rows in the order of elimination, and the factor's shape.
#[allow(clippy::cast_possible_truncation)]
fn order_core<F: Field>(
    matrix: &Sparse<F>,
    blocks: &Blocks,
    rows: &[u32],
    columns: &[u32],
) -> Result<(Vec<u32>, Shape), NumericError> {
    if rows.is_empty() {
        return Ok((Vec::new(), Shape::of(&Graph::from_cliques(0, std::iter::empty())?, Vec::new(), &[])));
    }
    let block_of = blocks.of_rows();
    let mut group_of = vec![u32::MAX; matrix.rows()];
    let patterns = row_patterns(matrix, columns);
    let mut starts = vec![0usize];
    for (i, &row) in rows.iter().enumerate() {
        let block = block_of[row as usize] as usize;
        let alone = i == 0 || block_of[rows[i - 1] as usize] as usize != block || {
            // Rows with the same columns fill alike; others are better apart.
            patterns[row as usize] != patterns[rows[i - 1] as usize] || blocks.range(block).len() > LARGEST_GROUP
        };
        if alone && i > 0 {
            starts.push(i);
        }
        group_of[row as usize] = starts.len() as u32 - 1;
    }
    starts.push(rows.len());
    let widths: Vec<u32> = starts.windows(2).map(|pair| (pair[1] - pair[0]) as u32).collect();
    let (mut clique_starts, mut cliques) = (vec![0usize], Vec::with_capacity(2 * columns.len()));
    for &column in columns {
        let start = cliques.len();
        for (row, _) in matrix.column(column as usize) {
            let group = group_of[row];
            if group != u32::MAX && cliques[start..].last() != Some(&group) {
                cliques.push(group);
            }
        }
        clique_starts.push(cliques.len());
    }
    let graph = Graph::from_cliques(widths.len(), clique_starts.windows(2).map(|pair| &cliques[pair[0]..pair[1]]))?;
    let order = order::minimum_degree(&graph)?;
    let shape = Shape::of(&graph, order, &widths);
    let in_order = |&group: &u32| rows[starts[group as usize]..starts[group as usize + 1]].iter().copied();
    Ok((shape.order.iter().flat_map(in_order).collect(), shape))
}

/// A hash of the set of columns each row has entries in.
fn row_patterns<F: Field>(matrix: &Sparse<F>, columns: &[u32]) -> Vec<u64> {
    let mut patterns = vec![0u64; matrix.rows()];
    let mut rng = Rng::new(0);
    for &column in columns {
        let mark = rng.next_u64();
        for (row, _) in matrix.column(column as usize) {
            patterns[row] = patterns[row].wrapping_add(mark);
        }
    }
    patterns
}

fn named(mut sets: Vec<Vec<u32>>, names: &[u32]) -> Vec<Vec<u32>> {
    sets.iter_mut().flatten().for_each(|item| *item = names[*item as usize]);
    sets
}

fn support<F: Field>(vector: &[F]) -> Vec<u32> {
    (0u32..).zip(vector).filter(|(_, value)| !value.is_zero()).map(|(i, _)| i).collect()
}

/// Reduced row echelon form of a few long vectors.
fn reduce<F: Field>(basis: &mut [Vec<F>]) -> Result<(), NumericError> {
    for k in 0..basis.len() {
        let lead = basis[k].iter().position(|value| !value.is_zero()).ok_or(NumericError::Unlucky)?;
        let inverse = basis[k][lead].inverse().ok_or(NumericError::Unlucky)?;
        let row: Vec<F> = basis[k].iter().map(|value| value.mul(inverse)).collect();
        for (i, other) in basis.iter_mut().enumerate() {
            let factor = other[lead];
            if i != k && !factor.is_zero() {
                for (value, &lead) in other.iter_mut().zip(&row) {
                    *value = value.sub(factor.mul(lead));
                }
            }
        }
        basis[k] = row;
    }
    Ok(())
}
