//! The exact rank of a sparse matrix, which rows depend on one another and
//! which columns do. No tolerance anywhere.
//!
//! Peel first; factor what is left as Y D Yᵀ = L D' Lᵀ over a prime field with
//! random D. The pivots that are not zero count the rank of Y modulo the prime
//! from below, the null vectors found and checked count it from above, so the
//! rank modulo the prime is certain. It never exceeds the rational rank: full
//! rank is a proof, and a deficiency is repeated modulo a second prime. Large
//! matrices are first tried modulo a small prime, which is several times faster
//! and proves full rank as well as any.
//!
//! Must not know: structures; that a left null vector is a motion.

use super::error::NumericError;
use super::field::{Field, Prime, Prime2, Rng};
use super::front::{Keep, Ldl};
use super::order::{self, Graph, Shape};
use super::peel::Peel;
use super::small::Small;
use super::sparse::{Blocks, Sparse, SparseBuilder};

/// A matrix with rational entries, which can be had modulo any prime.
pub trait ExactMatrix {
    /// The matrix over `F`. Same shape for every field.
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError>;
}

/// The verdict on a matrix.
#[derive(Clone, Debug)]
pub struct Rank {
    pub rows: usize,
    pub columns: usize,
    pub rank: usize,
    /// The rows that some left null vector touches, in groups no column joins. Each null vector
    /// is a sum of null vectors of single groups.
    pub row_groups: Vec<Group>,
    /// The columns that some right null vector touches, in groups no row joins.
    pub column_groups: Vec<Group>,
    /// The peeling the verdict used; it serves the floating solve too.
    pub peel: Peel,
}

/// Rows, or columns, that depend on one another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// Ascending.
    pub members: Vec<u32>,
    /// The number of independent null vectors within the group.
    pub degree: usize,
    /// Smallest dependent sets, each the support of a null vector of which no part is dependent, the shortest
    /// first; together they span all null vectors of the group. Empty when the degree exceeds [`MOST_SETS`].
    pub sets: Vec<Vec<u32>>,
}

/// A group of a higher degree is given as a whole, not in smallest sets.
pub const MOST_SETS: usize = 32;
/// The most numbers a factor may hold (8 bytes each).
pub const MAX_FACTOR: u64 = 600_000_000;
/// Smallest sets are sought while members × degree of the group stay below this.
const MOST_SET_WORK: usize = 2_000_000;
/// Blocks of more rows than this do not guide the order.
const LARGEST_GROUP: usize = 8;
/// From so many rows a small prime is asked first.
const QUICK_FROM: usize = 10_000;
/// New weights are drawn so many times before giving up.
const ATTEMPTS: u64 = 4;

impl Rank {
    /// rows − rank: the number of independent left null vectors.
    pub fn row_deficiency(&self) -> usize {
        self.rows - self.rank
    }

    /// columns − rank: the number of independent right null vectors.
    pub fn column_deficiency(&self) -> usize {
        self.columns - self.rank
    }
}

/// The exact rank of a matrix and its dependent rows and columns. Same seed, same answer.
///
/// `blocks` says which rows belong together; it guides the order, never the result.
pub fn exact_rank<M: ExactMatrix>(matrix: &M, blocks: &Blocks, seed: u64) -> Result<Rank, NumericError> {
    let quick = if blocks.rows() >= QUICK_FROM { quick_rank(&matrix.over::<Small>()?, blocks, seed) } else { None };
    let quick = match quick {
        Some(quick) if quick.rank == quick.rows && quick.rank == quick.columns => return Ok(quick),
        other => other.map(|quick| quick.rank),
    };
    let first = rank_over(&matrix.over::<Prime>()?, blocks, seed)?;
    let proven = first.rank == first.rows.min(first.columns);
    if proven || quick == Some(first.rank) {
        return Ok(first);
    }
    let second = rank_over(&matrix.over::<Prime2>()?, blocks, seed ^ 0x5eed)?;
    // Reduction modulo a prime can only lose rank.
    Ok(if second.rank > first.rank { second } else { first })
}

/// The rank modulo a small prime: quickly, without null vectors. Full rank is proven by it, a deficiency is not.
fn quick_rank(matrix: &Sparse<Small>, blocks: &Blocks, seed: u64) -> Option<Rank> {
    let analysis = Analysis::of(matrix, blocks, &mut Rng::new(seed), Keep::Count).ok()?;
    Some(Rank {
        rows: matrix.rows(),
        columns: matrix.columns(),
        rank: analysis.rank(),
        row_groups: Vec::new(),
        column_groups: Vec::new(),
        peel: analysis.peel,
    })
}

/// The rank over one field, with dependent rows and columns.
pub fn rank_over<F: Field>(matrix: &Sparse<F>, blocks: &Blocks, seed: u64) -> Result<Rank, NumericError> {
    for attempt in 0..ATTEMPTS {
        let mut rng = Rng::new(seed.wrapping_add(attempt.wrapping_mul(0x9e37)));
        match Analysis::of(matrix, blocks, &mut rng, Keep::Factor).and_then(|analysis| analysis.report(&mut rng)) {
            Err(NumericError::Unlucky) => {}
            other => return other,
        }
    }
    Err(NumericError::Unlucky)
}

/// A peeled and factored matrix.
struct Analysis<'a, F> {
    matrix: &'a Sparse<F>,
    blocks: &'a Blocks,
    peel: Peel,
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
    fn of(matrix: &'a Sparse<F>, blocks: &'a Blocks, rng: &mut Rng, keep: Keep) -> Result<Self, NumericError> {
        let peel = Peel::of(matrix, blocks)?;
        let Core { rows, columns, zero_rows, zero_columns } = Core::of(matrix, &peel);
        let (rows, shape) = order_core(matrix, blocks, &rows, &columns)?;
        if shape.entries > MAX_FACTOR {
            return Err(NumericError::TooLarge { entries: shape.entries });
        }
        let core = matrix.part(&rows, &columns);
        let mut weights: Vec<F> = columns.iter().map(|_| F::random(rng)).collect();
        let ldl = Ldl::factor(shape, &core, &mut weights, rng, keep)?;
        Ok(Analysis { matrix, blocks, peel, zero_rows, zero_columns, rows, columns, core, weights, ldl })
    }

    fn rank(&self) -> usize {
        self.peel.rank() + self.ldl.rank()
    }

    fn report(self, rng: &mut Rng) -> Result<Rank, NumericError> {
        let rank = self.rank();
        let row_groups = if rank < self.matrix.rows() { self.row_groups(rng)? } else { Vec::new() };
        let column_groups = if rank < self.matrix.columns() { self.column_groups(rng)? } else { Vec::new() };
        Ok(Rank {
            rows: self.matrix.rows(),
            columns: self.matrix.columns(),
            rank,
            row_groups,
            column_groups,
            peel: self.peel,
        })
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

    fn row_groups(&self, rng: &mut Rng) -> Result<Vec<Group>, NumericError> {
        let free = self.free_rows();
        let z = self.left_vector(free.iter().map(|_| F::random(rng)))?;
        let lists = (0..self.matrix.columns()).map(|c| self.matrix.column(c).map(|(row, _)| row as u32));
        let (mut groups, group_of) = connected(&z, lists);
        for row in free {
            if let Some(group) = groups.get_mut(group_of[row as usize] as usize) {
                group.degree += 1;
            }
        }
        let by_rows = self.matrix.transpose();
        let mut cutter = Cutter::new(&by_rows);
        for group in &mut groups {
            if group.degree == 1 {
                group.sets = vec![group.members.clone()];
            } else if deserves_sets(group) {
                let part = cutter.part(&group.members).transpose();
                let blocks = blocks_within(self.blocks, &group.members);
                let analysis = Analysis::of(&part, &blocks, rng, Keep::Factor)?;
                group.sets = renamed(analysis.left_sets()?, &group.members);
            }
        }
        Ok(groups)
    }

    fn column_groups(&self, rng: &mut Rng) -> Result<Vec<Group>, NumericError> {
        let f = self.right_vector(rng)?;
        let by_rows = self.matrix.transpose();
        let lists = (0..by_rows.columns()).map(|r| by_rows.column(r).map(|(column, _)| column as u32));
        let (mut groups, _) = connected(&f, lists);
        let total = self.matrix.columns() - self.rank();
        let single = groups.len() == 1;
        let mut cutter = Cutter::new(self.matrix);
        for group in &mut groups {
            if single {
                group.degree = total;
            }
            if single && (total == 1 || !deserves_sets(group)) {
                group.sets = if total == 1 { vec![group.members.clone()] } else { Vec::new() };
                continue;
            }
            let part = cutter.part(&group.members);
            let blocks = blocks_within(self.blocks, cutter.rows());
            let analysis = Analysis::of(&part, &blocks, rng, Keep::Factor)?;
            group.degree = part.columns() - analysis.rank();
            if group.degree == 1 {
                group.sets = vec![group.members.clone()];
            } else if deserves_sets(group) {
                group.sets = renamed(analysis.right_sets(group.degree, rng)?, &group.members);
            }
        }
        if groups.iter().map(|group| group.degree).sum::<usize>() != total {
            return Err(NumericError::Unlucky);
        }
        Ok(groups)
    }

    /// The support of the null vector of each free row. Each has a free row to itself, so none contains another.
    fn left_sets(&self) -> Result<Vec<Vec<u32>>, NumericError> {
        let degree = self.free_rows().len();
        let unit = |k: usize| (0..degree).map(move |i| if i == k { F::ONE } else { F::ZERO });
        let mut sets = (0..degree).map(|k| Ok(support(&self.left_vector(unit(k))?))).collect::<Result<Vec<_>, _>>()?;
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
struct Core {
    rows: Vec<u32>,
    columns: Vec<u32>,
    zero_rows: Vec<u32>,
    zero_columns: Vec<u32>,
}

impl Core {
    fn of<F: Field>(matrix: &Sparse<F>, peel: &Peel) -> Self {
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
    if !rows.is_empty() {
        starts.push(rows.len());
    }
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

fn deserves_sets(group: &Group) -> bool {
    group.degree <= MOST_SETS && group.degree.saturating_mul(group.members.len()) <= MOST_SET_WORK
}

fn support<F: Field>(vector: &[F]) -> Vec<u32> {
    (0u32..).zip(vector).filter(|(_, value)| !value.is_zero()).map(|(i, _)| i).collect()
}

fn renamed(mut sets: Vec<Vec<u32>>, names: &[u32]) -> Vec<Vec<u32>> {
    for item in sets.iter_mut().flatten() {
        *item = names[*item as usize];
    }
    sets
}

/// The non-zero places of `vector`, in groups that the lists join; and the group of each place.
#[allow(clippy::cast_possible_truncation)]
fn connected<F: Field, I: Iterator<Item = u32>>(
    vector: &[F],
    lists: impl Iterator<Item = I>,
) -> (Vec<Group>, Vec<u32>) {
    fn root(parents: &mut [u32], mut i: u32) -> u32 {
        while parents[i as usize] != i {
            parents[i as usize] = parents[parents[i as usize] as usize];
            i = parents[i as usize];
        }
        i
    }
    let mut parents: Vec<u32> = (0..vector.len() as u32).collect();
    for list in lists {
        let mut last = None;
        for i in list.filter(|&i| !vector[i as usize].is_zero()) {
            if let Some(last) = last {
                let (a, b) = (root(&mut parents, last), root(&mut parents, i));
                // The smaller index stays root, so groups come in the order of their first members.
                parents[a.max(b) as usize] = a.min(b);
            }
            last = Some(i);
        }
    }
    let mut groups: Vec<Group> = Vec::new();
    let mut group_of = vec![u32::MAX; vector.len()];
    for i in support(vector) {
        let root = root(&mut parents, i) as usize;
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
fn blocks_within(blocks: &Blocks, rows: &[u32]) -> Blocks {
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

/// Cuts columns out of a matrix together with the rows they touch, in time that depends on the part alone.
struct Cutter<'a, F> {
    matrix: &'a Sparse<F>,
    place: Vec<u32>,
    rows: Vec<u32>,
}

impl<'a, F: Field> Cutter<'a, F> {
    fn new(matrix: &'a Sparse<F>) -> Self {
        Cutter { matrix, place: vec![u32::MAX; matrix.rows()], rows: Vec::new() }
    }

    /// The rows of the last part, ascending.
    fn rows(&self) -> &[u32] {
        &self.rows
    }

    #[allow(clippy::cast_possible_truncation)]
    fn part(&mut self, columns: &[u32]) -> Sparse<F> {
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

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::super::sample::{Frame, Whole, dense_null_space};
    use super::*;
    use num_traits::Zero;
    use proptest::prelude::*;

    /// The places some null vector touches, the dense exact way.
    fn touched(basis: &[Vec<num_rational::BigRational>], n: usize) -> Vec<u32> {
        (0..n as u32).filter(|&i| basis.iter().any(|vector| !vector[i as usize].is_zero())).collect()
    }

    fn members(groups: &[Group]) -> Vec<u32> {
        let mut all: Vec<u32> = groups.iter().flat_map(|group| group.members.iter().copied()).collect();
        all.sort_unstable();
        all
    }

    fn only_columns(matrix: &Whole, keep: &[u32]) -> Whole {
        Whole { rows: matrix.rows, columns: keep.iter().map(|&c| matrix.columns[c as usize].clone()).collect() }
    }

    /// Every set is dependent and no set short of one member is.
    fn check_sets(matrix: &Whole, groups: &[Group]) {
        for group in groups {
            assert_eq!(group.sets.len(), group.degree);
            for set in &group.sets {
                let part = only_columns(matrix, set);
                let basis = dense_null_space(part.dense(), set.len());
                assert_eq!(basis.len(), 1, "{set:?}");
                assert_eq!(touched(&basis, set.len()).len(), set.len(), "{set:?}");
                assert!(set.iter().all(|item| group.members.contains(item)));
            }
        }
    }

    fn check(matrix: &Whole, blocks: &Blocks, seed: u64) {
        let verdict = exact_rank(matrix, blocks, seed).unwrap();
        let right = dense_null_space(matrix.dense(), matrix.columns.len());
        let turned = matrix.transposed();
        let left = dense_null_space(turned.dense(), matrix.rows);
        assert_eq!(verdict.rank, matrix.columns.len() - right.len());
        assert_eq!(members(&verdict.column_groups), touched(&right, matrix.columns.len()));
        assert_eq!(members(&verdict.row_groups), touched(&left, matrix.rows));
        let degrees = |groups: &[Group]| groups.iter().map(|group| group.degree).sum::<usize>();
        assert_eq!(degrees(&verdict.column_groups), right.len());
        assert_eq!(degrees(&verdict.row_groups), left.len());
        check_sets(matrix, &verdict.column_groups);
        check_sets(&turned, &verdict.row_groups);
        let again = exact_rank(matrix, blocks, seed).unwrap();
        assert_eq!((verdict.row_groups, verdict.column_groups), (again.row_groups, again.column_groups));
        // Blocks and peeling guide the order, never the verdict.
        let other = exact_rank(matrix, &Blocks::uniform(matrix.rows, 1), seed + 1).unwrap();
        assert_eq!(other.rank, verdict.rank);
        assert_eq!(members(&other.column_groups), touched(&right, matrix.columns.len()));
        assert_eq!(members(&other.row_groups), touched(&left, matrix.rows));
    }

    proptest! {
        #[test]
        fn random_frames_agree_with_fractions(seed: u64, joints in 1u32..9, bars in 0usize..18, reactions in 0usize..5) {
            let frame = Frame::random(joints, bars, reactions, seed);
            check(&frame.matrix(), &frame.blocks(), seed >> 1);
        }

        #[test]
        fn random_matrices_agree_with_fractions(
            rows in 1usize..8,
            columns in prop::collection::vec(prop::collection::vec((0u32..8, -2i64..3), 0..5), 0..9),
            size in 1usize..5,
        ) {
            let mut columns = columns;
            for column in &mut columns {
                column.iter_mut().for_each(|(row, _)| *row %= rows as u32);
            }
            check(&Whole { rows, columns }, &Blocks::uniform(rows, size), 7);
        }
    }

    #[test]
    fn nothing_at_all() {
        check(&Whole { rows: 0, columns: vec![] }, &Blocks::uniform(0, 2), 1);
        check(&Whole { rows: 0, columns: vec![vec![], vec![]] }, &Blocks::uniform(0, 2), 1);
        check(&Whole { rows: 3, columns: vec![] }, &Blocks::uniform(3, 2), 1);
        check(&Whole { rows: 2, columns: vec![vec![], vec![(0, 1)]] }, &Blocks::uniform(2, 2), 1);
        let wrong = exact_rank(&Whole { rows: 2, columns: vec![] }, &Blocks::uniform(3, 1), 1);
        assert_eq!(wrong.err(), Some(NumericError::Mismatch { expected: 2, found: 3 }));
    }

    #[test]
    fn frames_of_the_trade() {
        for panels in 1..5 {
            let frame = Frame::girder(panels);
            check(&frame.matrix(), &frame.blocks(), 3);
        }
        for n in 1..4 {
            let mut frame = Frame::sheet(n, u64::from(n));
            check(&frame.matrix(), &frame.blocks(), 3);
            // One square loses its brace and another gets a second: the count stays right.
            frame.bars.pop();
            frame.bars.push((0, n + 2));
            frame.bars.push((1, n + 1));
            frame.bars.dedup();
            check(&frame.matrix(), &frame.blocks(), 3);
        }
    }

    #[test]
    fn separate_faults_come_as_separate_groups() {
        // Two girders of one panel each: one lacks its diagonal, one has two.
        let open = Frame { joints: vec![(0, 0), (0, 4), (3, 0), (3, 4)], ..Frame::default() };
        let mut frame = open.clone();
        frame.joints.extend(open.joints.iter().map(|&(x, y)| (x + 100, y)));
        let square = [(0, 1), (2, 3), (0, 2), (1, 3)];
        frame.bars.extend(square);
        frame.bars.extend(square.map(|(a, b)| (a + 4, b + 4)));
        frame.bars.extend([(4, 7), (5, 6)]);
        frame.reactions = vec![(0, 1, 0), (0, 0, 1), (2, 0, 1), (4, 1, 0), (4, 0, 1), (6, 0, 1)];
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 5).unwrap();
        assert_eq!((verdict.rows, verdict.columns, verdict.rank), (16, 16, 15));
        assert_eq!(verdict.row_groups, [Group { members: vec![2, 6], degree: 1, sets: vec![vec![2, 6]] }]);
        let bars: Vec<u32> = (4..10).collect();
        assert_eq!(verdict.column_groups, [Group { members: bars.clone(), degree: 1, sets: vec![bars] }]);
    }

    #[test]
    fn larger_frames_are_full() {
        for frame in [Frame::girder(500), Frame::sheet(30, 9)] {
            let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
            assert_eq!((verdict.rank, verdict.row_groups.len(), verdict.column_groups.len()), (verdict.rows, 0, 0));
        }
    }

    #[test]
    fn a_larger_sheet_short_of_one_brace_moves() {
        let mut frame = Frame::sheet(25, 4);
        frame.bars.pop();
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        assert_eq!((verdict.row_deficiency(), verdict.column_deficiency()), (1, 0));
        assert_eq!(verdict.row_groups.len(), 1);
        // The squares of the last row or column of squares lean; all else stays.
        let moving: Vec<u32> = verdict.row_groups[0].members.iter().map(|row| row / 2).collect();
        assert!(moving.len() >= 26, "{moving:?}");
    }
}
