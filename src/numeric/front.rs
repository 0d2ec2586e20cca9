//! LDLᵀ of Y D Yᵀ over a field, front by front, without pivoting.
//!
//! The multifrontal method (Duff and Reid, 1983): each front gathers the
//! products of its columns and the remainders of its children in a dense
//! table, eliminates its own unknowns, and hands the rest to its parent. A zero
//! pivot is skipped: with random D it marks a dependent row.
//!
//! Must not know: where Y comes from.

use super::error::NumericError;
use super::field::Field;
use super::order::{Front, Shape};
use super::sparse::Sparse;

/// Whether to store the factor, or only to count pivots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    Factor,
    Count,
}

/// The factor L D Lᵀ, its unknowns in the order of elimination.
#[derive(Clone, Debug)]
pub struct Ldl<F> {
    shape: Shape,
    /// For each front its rows (own, then later) of L, each as wide as the front; empty when only counted.
    panels: Vec<F>,
    panel_starts: Vec<usize>,
    /// 1/D, and zero where the pivot is zero.
    inverse: Vec<F>,
    /// The unknowns whose pivot is zero, ascending.
    pub zero_pivots: Vec<u32>,
}

/// Columns eliminated between two updates of a front, so that dot products run over cached rows.
const STRIP: usize = 48;

impl<F: Field> Ldl<F> {
    /// Factors `Y D Yᵀ`. The rows of `y` are in the order of elimination of `shape`; `weights` is the diagonal of D.
    ///
    /// `Unlucky` when a zero pivot heads a column that is not zero, which random weights make a matter of n/p.
    pub fn factor(shape: Shape, y: &Sparse<F>, weights: &[F], keep: Keep) -> Result<Self, NumericError> {
        let mut ldl = Ldl {
            inverse: vec![F::ZERO; y.rows()],
            panel_starts: Vec::with_capacity(shape.fronts.len() + 1),
            panels: Vec::new(),
            zero_pivots: Vec::new(),
            shape,
        };
        if keep == Keep::Factor {
            let room = usize::try_from(ldl.shape.entries).map_err(|_| NumericError::OutOfMemory)?;
            ldl.panels.try_reserve_exact(room).map_err(|_| NumericError::OutOfMemory)?;
        }
        ldl.panel_starts.push(0);
        let (column_starts, columns) = columns_by_front(&ldl.shape, y);
        let place_of = places_of_scalars(&ldl.shape);
        let mut local = vec![0u32; ldl.shape.order.len()];
        let mut table = Table::default();
        // The remainders that wait for their parents, the latest on top.
        let mut waiting: Vec<(u32, Vec<F>)> = Vec::new();
        let mut spare: Vec<Vec<F>> = Vec::new();
        let mut map: Vec<u32> = Vec::new();
        for f in 0..ldl.shape.fronts.len() {
            let front = &ldl.shape.fronts[f];
            let (own, later) = ldl.shape.size(front);
            let mut next = 0u32;
            for p in places(&ldl.shape, front) {
                local[p as usize] = next;
                next += ldl.shape.first[p as usize + 1] - ldl.shape.first[p as usize];
            }
            table.clear(own, later, spare.pop().unwrap_or_default());
            for &column in &columns[column_starts[f]..column_starts[f + 1]] {
                table.add_column(y, column as usize, weights[column as usize], |row| {
                    let p = place_of[row] as usize;
                    local[p] as usize + row - ldl.shape.first[p] as usize
                });
            }
            while let Some((child, remainder)) =
                waiting.pop_if(|(child, _)| ldl.shape.fronts[*child as usize].parent == f as u32)
            {
                map.clear();
                for &p in &ldl.shape.later[ldl.shape.fronts[child as usize].later.clone()] {
                    let width = ldl.shape.first[p as usize + 1] - ldl.shape.first[p as usize];
                    map.extend(local[p as usize]..local[p as usize] + width);
                }
                table.add_remainder(&remainder, &map);
                spare.push(remainder);
            }
            let base = ldl.shape.first[front.begin as usize] as usize;
            table.eliminate(&mut ldl.inverse[base..base + own])?;
            for (k, inverse) in ldl.inverse[base..base + own].iter().enumerate() {
                if inverse.is_zero() {
                    ldl.zero_pivots.push((base + k) as u32);
                }
            }
            if keep == Keep::Factor {
                ldl.panels.extend_from_slice(&table.panel);
            }
            ldl.panel_starts.push(ldl.panels.len());
            if later > 0 {
                waiting.push((f as u32, std::mem::take(&mut table.rest)));
            } else {
                spare.push(std::mem::take(&mut table.rest));
            }
        }
        Ok(ldl)
    }

    pub fn unknowns(&self) -> usize {
        self.inverse.len()
    }

    pub fn rank(&self) -> usize {
        self.unknowns() - self.zero_pivots.len()
    }

    /// False when only the pivots were counted, so that nothing can be solved.
    pub fn is_kept(&self) -> bool {
        self.shape.entries as usize == self.panels.len()
    }

    /// Solves Lᵀ z = e in place, where `z` comes in as e.
    pub fn solve_upper(&self, z: &mut [F]) {
        let mut own_sum: Vec<F> = Vec::new();
        for f in (0..self.shape.fronts.len()).rev() {
            let front = &self.shape.fronts[f];
            let (base, own, panel) = self.panel(f);
            own_sum.clear();
            own_sum.resize(own, F::ZERO);
            for (row, scalar) in self.later_scalars(front).enumerate() {
                accumulate(&mut own_sum, &panel[(own + row) * own..(own + row + 1) * own], z[scalar]);
            }
            for j in (0..own).rev() {
                z[base + j] = z[base + j].sub(own_sum[j]);
                accumulate(&mut own_sum[..j], &panel[j * own..j * own + j], z[base + j]);
            }
        }
    }

    /// Solves L D Lᵀ x = b in place, unknowns with a zero pivot being zero. `b` must be in the range.
    pub fn solve(&self, b: &mut [F]) -> Result<(), NumericError> {
        for f in 0..self.shape.fronts.len() {
            let front = &self.shape.fronts[f];
            let (base, own, panel) = self.panel(f);
            for j in 1..own {
                b[base + j] = b[base + j].sub(F::dot(&panel[j * own..j * own + j], &b[base..base + j]));
            }
            for (row, scalar) in self.later_scalars(front).enumerate() {
                let share = F::dot(&panel[(own + row) * own..(own + row + 1) * own], &b[base..base + own]);
                b[scalar] = b[scalar].sub(share);
            }
        }
        if self.zero_pivots.iter().any(|&k| !b[k as usize].is_zero()) {
            return Err(NumericError::Unlucky);
        }
        for (b, &inverse) in b.iter_mut().zip(&self.inverse) {
            *b = b.mul(inverse);
        }
        self.solve_upper(b);
        Ok(())
    }

    fn panel(&self, f: usize) -> (usize, usize, &[F]) {
        let front = &self.shape.fronts[f];
        let base = self.shape.first[front.begin as usize] as usize;
        let own = self.shape.first[front.end as usize] as usize - base;
        (base, own, &self.panels[self.panel_starts[f]..self.panel_starts[f + 1]])
    }

    fn later_scalars(&self, front: &Front) -> impl Iterator<Item = usize> + '_ {
        self.shape.later[front.later.clone()]
            .iter()
            .flat_map(|&p| self.shape.first[p as usize] as usize..self.shape.first[p as usize + 1] as usize)
    }
}

fn accumulate<F: Field>(sum: &mut [F], row: &[F], factor: F) {
    if !factor.is_zero() {
        for (sum, &value) in sum.iter_mut().zip(row) {
            *sum = sum.add(value.mul(factor));
        }
    }
}

fn places<'a>(shape: &'a Shape, front: &Front) -> impl Iterator<Item = u32> + 'a {
    (front.begin..front.end).chain(shape.later[front.later.clone()].iter().copied())
}

fn places_of_scalars(shape: &Shape) -> Vec<u32> {
    let mut of = Vec::new();
    for p in 0..shape.order.len() {
        of.resize(shape.first[p + 1] as usize, p as u32);
    }
    of
}

/// The columns of `y` grouped by the front of their first row.
fn columns_by_front<F: Field>(shape: &Shape, y: &Sparse<F>) -> (Vec<usize>, Vec<u32>) {
    let place_of = places_of_scalars(shape);
    let front = |column: usize| y.column(column).next().map(|(row, _)| shape.front_of[place_of[row] as usize] as usize);
    let mut starts = vec![0usize; shape.fronts.len() + 1];
    for column in 0..y.columns() {
        if let Some(f) = front(column) {
            starts[f + 1] += 1;
        }
    }
    for f in 0..shape.fronts.len() {
        starts[f + 1] += starts[f];
    }
    let mut next = starts.clone();
    let mut list = vec![0u32; starts.last().copied().unwrap_or(0)];
    for column in 0..y.columns() {
        if let Some(f) = front(column) {
            list[next[f]] = column as u32;
            next[f] += 1;
        }
    }
    (starts, list)
}

/// One front's numbers: `panel` has all rows as wide as the own unknowns, `rest` is the packed lower
/// triangle of the later unknowns.
struct Table<F> {
    own: usize,
    later: usize,
    panel: Vec<F>,
    rest: Vec<F>,
    /// L·D beside L, the left operand of every update.
    scaled: Vec<F>,
    strip: Vec<F>,
    entries: Vec<(usize, F)>,
}

impl<F> Default for Table<F> {
    fn default() -> Self {
        Table { own: 0, later: 0, panel: vec![], rest: vec![], scaled: vec![], strip: vec![], entries: vec![] }
    }
}

/// Where row `i` of a packed lower triangle starts.
const fn packed(i: usize) -> usize {
    i * (i + 1) / 2
}

impl<F: Field> Table<F> {
    fn clear(&mut self, own: usize, later: usize, rest: Vec<F>) {
        (self.own, self.later, self.rest) = (own, later, rest);
        self.panel.clear();
        self.panel.resize((own + later) * own, F::ZERO);
        self.rest.clear();
        self.rest.resize(packed(later), F::ZERO);
    }

    fn at(&mut self, i: usize, j: usize) -> &mut F {
        if j < self.own {
            &mut self.panel[i * self.own + j]
        } else {
            &mut self.rest[packed(i - self.own) + j - self.own]
        }
    }

    /// Adds d·y·yᵀ for a column y.
    fn add_column(&mut self, y: &Sparse<F>, column: usize, d: F, local: impl Fn(usize) -> usize) {
        let mut entries = std::mem::take(&mut self.entries);
        entries.clear();
        entries.extend(y.column(column).map(|(row, value)| (local(row), value)));
        for (i, &(row, value)) in entries.iter().enumerate() {
            let scaled = d.mul(value);
            for &(other, factor) in &entries[..=i] {
                let at = self.at(row, other);
                *at = at.add(scaled.mul(factor));
            }
        }
        self.entries = entries;
    }

    /// Adds a child's packed remainder, whose unknown `i` is local unknown `map[i]`; the map ascends.
    fn add_remainder(&mut self, remainder: &[F], map: &[u32]) {
        for (i, &row) in map.iter().enumerate() {
            let values = &remainder[packed(i)..packed(i + 1)];
            for (&value, &column) in values.iter().zip(map) {
                let at = self.at(row as usize, column as usize);
                *at = at.add(value);
            }
        }
    }

    /// Eliminates the own unknowns; `inverse` receives 1/D.
    fn eliminate(&mut self, inverse: &mut [F]) -> Result<(), NumericError> {
        let (own, all) = (self.own, self.own + self.later);
        self.scaled.clear();
        self.scaled.resize(all * own, F::ZERO);
        let mut start = 0;
        while start < own {
            let end = (start + STRIP).min(own);
            self.eliminate_strip(start, end, inverse)?;
            // The strip's share of the columns that follow within the panel.
            let width = end - start;
            self.strip.clear();
            for j in end..own {
                self.strip.extend_from_slice(&self.panel[j * own + start..j * own + end]);
            }
            let (strip, scaled) = (&self.strip, &self.scaled);
            subtract_products(
                &mut self.panel,
                end..all,
                |i| i * own + end..i * own + own.min(i + 1),
                |i| &scaled[i * own + start..i * own + end],
                |j| &strip[j * width..(j + 1) * width],
            );
            start = end;
        }
        let (panel, scaled) = (&self.panel, &self.scaled);
        subtract_products(
            &mut self.rest,
            0..self.later,
            |i| packed(i)..packed(i + 1),
            |i| &scaled[(own + i) * own..(own + i + 1) * own],
            |j| &panel[(own + j) * own..(own + j + 1) * own],
        );
        Ok(())
    }

    fn eliminate_strip(&mut self, start: usize, end: usize, inverse: &mut [F]) -> Result<(), NumericError> {
        let (own, all) = (self.own, self.own + self.later);
        for i in start..all {
            let row = i * own;
            for j in start..end.min(i + 1) {
                let sum = F::dot(&self.scaled[row + start..row + j], &self.panel[j * own + start..j * own + j]);
                let value = self.panel[row + j].sub(sum);
                if i == j {
                    inverse[j] = value.inverse().unwrap_or(F::ZERO);
                    self.panel[row + j] = F::ONE;
                } else {
                    if inverse[j].is_zero() && !value.is_zero() {
                        return Err(NumericError::Unlucky);
                    }
                    self.scaled[row + j] = value;
                    self.panel[row + j] = value.mul(inverse[j]);
                }
            }
        }
        Ok(())
    }
}

/// `c[i][j] −= left(i)·right(j)` for all rows i and the columns in each row's range, which grow with i.
fn subtract_products<'a, F: Field>(
    c: &mut [F],
    rows: std::ops::Range<usize>,
    row_range: impl Fn(usize) -> std::ops::Range<usize>,
    left: impl Fn(usize) -> &'a [F],
    right: impl Fn(usize) -> &'a [F],
) {
    let mut i = rows.start;
    while i < rows.end {
        let range = row_range(i);
        if i + 1 == rows.end {
            for (j, c) in c[range].iter_mut().enumerate() {
                *c = c.sub(F::dot(left(i), right(j)));
            }
            return;
        }
        let next = row_range(i + 1);
        let both = range.len();
        let mut j = 0;
        while j + 1 < both {
            let tile = F::dot_tile([left(i), left(i + 1)], [right(j), right(j + 1)]);
            for (at, value) in
                [range.start + j, range.start + j + 1, next.start + j, next.start + j + 1].into_iter().zip(tile)
            {
                c[at] = c[at].sub(value);
            }
            j += 2;
        }
        for (i, range) in [(i, range), (i + 1, next)] {
            for j in j..range.len() {
                c[range.start + j] = c[range.start + j].sub(F::dot(left(i), right(j)));
            }
        }
        i += 2;
    }
}
