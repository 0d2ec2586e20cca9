//! LDLᵀ of Y D Yᵀ over a field, front by front, without pivoting.
//!
//! The multifrontal method (Duff and Reid, 1983): each front gathers the
//! products of its columns and the remainders of its children in a dense
//! table, eliminates its own unknowns, and hands the rest to its parent. A zero
//! pivot is skipped: with random D it marks a dependent row.
//!
//! Must not know: where Y comes from.

use crate::base::Lists;

use super::error::NumericError;
use super::field::{Field, Rng};
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
/// Strips at least so wide, over at least so many rows, go through matrix products.
const TALL: usize = 12;
/// So many times the weights of a front are drawn before giving up.
const WEIGHT_DRAWS: usize = 5;

impl<F: Field> Ldl<F> {
    /// Factors `Y D Yᵀ` with random diagonal D. The rows of `y` are in the order of elimination of `shape`.
    ///
    /// `weights` is the diagonal of D, of which some may be drawn anew. `Unlucky` where random numbers conspire.
    pub fn factor(
        shape: Shape,
        y: &Sparse<F>,
        weights: &mut [F],
        rng: &mut Rng,
        keep: Keep,
    ) -> Result<Self, NumericError> {
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
        let mut gather = Gather::new(&ldl.shape, y);
        let mut table = Table::default();
        for f in 0..ldl.shape.fronts.len() {
            let front = &ldl.shape.fronts[f];
            let base = ldl.shape.first[front.begin as usize] as usize;
            let own = ldl.shape.first[front.end as usize] as usize - base;
            let inverse = &mut ldl.inverse[base..base + own];
            eliminate_surely(&mut gather, &mut table, f, weights, rng, inverse)?;
            #[allow(clippy::cast_possible_truncation)]
            let zeros = (base..).zip(&*inverse).filter(|(_, inverse)| inverse.is_zero()).map(|(k, _)| k as u32);
            ldl.zero_pivots.extend(zeros);
            if keep == Keep::Factor {
                ldl.panels.extend_from_slice(&table.panel);
            }
            ldl.panel_starts.push(ldl.panels.len());
            gather.put_by(f, &table.rest);
        }
        Ok(ldl)
    }

    pub fn unknowns(&self) -> usize {
        self.inverse.len()
    }

    pub fn rank(&self) -> usize {
        self.unknowns() - self.zero_pivots.len()
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

/// Gathers and eliminates front `f`. Where it meets a zero pivot, the weights of the columns it gathers are drawn anew
/// until two draws agree, so that only a dependence survives and no accident of a small field.
fn eliminate_surely<F: Field>(
    gather: &mut Gather<'_, F>,
    table: &mut Table<F>,
    f: usize,
    weights: &mut [F],
    rng: &mut Rng,
    inverse: &mut [F],
) -> Result<(), NumericError> {
    let mut fewest = None;
    for _ in 0..WEIGHT_DRAWS {
        gather.fill(table, f, weights);
        if table.eliminate(inverse).is_ok() {
            let zeros = inverse.iter().filter(|inverse| inverse.is_zero()).count();
            if zeros == 0 || fewest == Some(zeros) {
                return Ok(());
            }
            fewest = Some(fewest.map_or(zeros, |fewest: usize| fewest.min(zeros)));
        }
        for &column in gather.columns.list(f) {
            weights[column as usize] = F::random(rng);
        }
    }
    Err(NumericError::Unlucky)
}

fn accumulate<F: Field>(sum: &mut [F], row: &[F], factor: F) {
    if !factor.is_zero() {
        for (sum, &value) in sum.iter_mut().zip(row) {
            *sum = sum.add(value.mul(factor));
        }
    }
}

/// Brings together what a front is made of: its columns of Y, and the remainders of its children, which wait on a
/// stack.
struct Gather<'a, F> {
    shape: &'a Shape,
    y: &'a Sparse<F>,
    /// The columns by the front of their first row.
    columns: Lists<u32>,
    /// The place of each scalar unknown.
    place_of: Vec<u32>,
    /// The local unknown at which each place of the current front starts.
    local: Vec<u32>,
    /// The remainders that wait for their parents, packed, the latest last; and whose they are, with their starts.
    stack: Vec<F>,
    waiting: Vec<(u32, usize)>,
    map: Vec<u32>,
}

impl<'a, F: Field> Gather<'a, F> {
    #[allow(clippy::cast_possible_truncation)]
    fn new(shape: &'a Shape, y: &'a Sparse<F>) -> Self {
        let mut place_of = Vec::with_capacity(y.rows());
        for p in 0..shape.order.len() {
            place_of.resize(shape.first[p + 1] as usize, p as u32);
        }
        let front = |c: usize| y.column(c).next().map(|(row, _)| shape.front_of[place_of[row] as usize] as usize);
        let of_front = |column: usize| Some((front(column)?, column as u32));
        let columns = Lists::of(shape.fronts.len(), || (0..y.columns()).filter_map(of_front));
        let local = vec![0u32; shape.order.len()];
        Gather { shape, y, columns, place_of, local, stack: vec![], waiting: vec![], map: vec![] }
    }

    /// Fills the table of front `f`; its children stay on the stack until [`put_by`](Self::put_by).
    fn fill(&mut self, table: &mut Table<F>, f: usize, weights: &[F]) {
        let shape = self.shape;
        let front = &shape.fronts[f];
        let mut next = 0u32;
        for p in (front.begin..front.end).chain(shape.later[front.later.clone()].iter().copied()) {
            self.local[p as usize] = next;
            next += shape.first[p as usize + 1] - shape.first[p as usize];
        }
        let own = (shape.first[front.end as usize] - shape.first[front.begin as usize]) as usize;
        table.clear(own, next as usize - own);
        for &column in self.columns.list(f) {
            table.add_column(self.y, column as usize, weights[column as usize], |row| {
                let p = self.place_of[row] as usize;
                self.local[p] as usize + row - shape.first[p] as usize
            });
        }
        let mut end = self.stack.len();
        for &(child, start) in self.waiting.iter().rev() {
            let child = &shape.fronts[child as usize];
            if child.parent as usize != f {
                break;
            }
            self.map.clear();
            for &p in &shape.later[child.later.clone()] {
                let width = shape.first[p as usize + 1] - shape.first[p as usize];
                self.map.extend(self.local[p as usize]..self.local[p as usize] + width);
            }
            table.add_remainder(&self.stack[start..end], &self.map);
            end = start;
        }
    }

    /// Takes the children of front `f` off the stack and puts its own remainder there.
    #[allow(clippy::cast_possible_truncation)]
    fn put_by(&mut self, f: usize, rest: &[F]) {
        while let Some((_, start)) =
            self.waiting.pop_if(|(child, _)| self.shape.fronts[*child as usize].parent == f as u32)
        {
            self.stack.truncate(start);
        }
        if !rest.is_empty() {
            self.waiting.push((f as u32, self.stack.len()));
            self.stack.extend_from_slice(rest);
        }
    }
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
    fn clear(&mut self, own: usize, later: usize) {
        (self.own, self.later) = (own, later);
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
        let own = self.own;
        let held = map.partition_point(|&column| (column as usize) < own);
        for (i, &row) in map.iter().enumerate() {
            let values = &remainder[packed(i)..packed(i + 1)];
            let row = row as usize;
            let panel = &mut self.panel[row * own..(row + 1) * own];
            for (&value, &column) in values.iter().zip(&map[..held]) {
                panel[column as usize] = panel[column as usize].add(value);
            }
            if row >= own {
                let rest = &mut self.rest[packed(row - own)..packed(row - own + 1)];
                for (&value, &column) in values[held..].iter().zip(&map[held..]) {
                    rest[column as usize - own] = rest[column as usize - own].add(value);
                }
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
            F::subtract_products(
                &mut self.panel,
                end..all,
                |i| i * own + end..i * own + own.min(i + 1),
                |i| &scaled[i * own + start..i * own + end],
                |j| &strip[j * width..(j + 1) * width],
            );
            start = end;
        }
        let (panel, scaled) = (&self.panel, &self.scaled);
        F::subtract_products(
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
        let tall = end - start >= TALL && all - end >= TALL;
        self.substitute_rows(start, end, if tall { end } else { all }, inverse)?;
        if !tall {
            return Ok(());
        }
        // W = A L⁻ᵀ for the rows below, as one product.
        let width = end - start;
        self.invert_strip(start, end);
        let (strip, panel) = (&self.strip, &self.panel);
        F::subtract_products(
            &mut self.scaled,
            end..all,
            |i| i * own + start..i * own + end,
            |i| &panel[i * own + start..i * own + end],
            |j| &strip[j * width..(j + 1) * width],
        );
        for row in (end..all).map(|i| i * own) {
            let products = &self.scaled[row + start..row + end];
            for ((entry, &value), &inverse) in
                self.panel[row + start..row + end].iter_mut().zip(products).zip(&inverse[start..end])
            {
                if inverse.is_zero() && !value.is_zero() {
                    return Err(NumericError::Unlucky);
                }
                *entry = value.mul(inverse);
            }
        }
        Ok(())
    }

    /// Eliminates within the columns of a strip row by row, down to row `bottom`.
    fn substitute_rows(
        &mut self,
        start: usize,
        end: usize,
        bottom: usize,
        inverse: &mut [F],
    ) -> Result<(), NumericError> {
        let own = self.own;
        for i in start..bottom {
            let row = i * own;
            for (j, inverse) in inverse.iter_mut().enumerate().take(end.min(i + 1)).skip(start) {
                let sum = F::dot(&self.scaled[row + start..row + j], &self.panel[j * own + start..j * own + j]);
                let value = self.panel[row + j].sub(sum);
                if i == j {
                    *inverse = value.inverse().unwrap_or(F::ZERO);
                    self.panel[row + j] = F::ONE;
                } else {
                    if inverse.is_zero() && !value.is_zero() {
                        return Err(NumericError::Unlucky);
                    }
                    self.scaled[row + j] = value;
                    self.panel[row + j] = value.mul(*inverse);
                }
            }
        }
        Ok(())
    }

    /// Leaves −L⁻¹ of a strip's own rows in `strip`, by rows.
    fn invert_strip(&mut self, start: usize, end: usize) {
        let (own, width) = (self.own, end - start);
        self.strip.clear();
        self.strip.resize(width * width, F::ZERO);
        for i in 0..width {
            let (done, row) = self.strip.split_at_mut(i * width);
            row[i] = F::ZERO.sub(F::ONE);
            for k in 0..i {
                let factor = self.panel[(start + i) * own + start + k];
                if !factor.is_zero() {
                    for (value, &above) in row[..=k].iter_mut().zip(&done[k * width..k * width + k + 1]) {
                        *value = value.sub(factor.mul(above));
                    }
                }
            }
        }
    }
}
