//! Systems with more columns than rows, settled by how much each column yields:
//!
//! ```text
//! B f = b        F f − Bᵀ u = g
//! ```
//!
//! with F symmetric, positive semidefinite and almost diagonal. Columns that do not yield (F = 0) and touch one block
//! only are eliminated by turning that block's rows; while the others all yield, what is left is
//! K = B F⁻¹ Bᵀ, positive definite and factored by Cholesky; otherwise a mixed system remains, factored by LU. Both
//! are refined against both equations with residuals in twice the working precision.
//!
//! Must not know: that f are forces and u displacements.

use super::error::NumericError;
use super::factors::{Cholesky, Lu, Side, gram};
use super::holds::{Hold, hold_blocks, place_rows};
use super::precise::{Condition, check_right, condition_of, one_norm, reciprocal_power, residual};
use super::sparse::{Blocks, Sparse, SparseBuilder};

/// The matrix F: how much each column yields under a unit of itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Flexibility {
    /// One item a column, finite and not negative; zero does not yield.
    pub diagonal: Vec<f64>,
    /// `(i, j, F_ij)` for pairs of columns that yield together; each column in at most one pair, each pair definite.
    pub coupled: Vec<(u32, u32, f64)>,
}

impl Flexibility {
    /// F f.
    pub fn times(&self, f: &[f64]) -> Vec<f64> {
        let mut product: Vec<f64> = self.diagonal.iter().zip(f).map(|(value, f)| value * f).collect();
        for &(i, j, value) in &self.coupled {
            let (i, j) = (i as usize, j as usize);
            if i.max(j) < product.len() {
                product[i] += value * f[j];
                product[j] += value * f[i];
            }
        }
        product
    }
}

/// The solution for one right side.
#[derive(Clone, Debug, PartialEq)]
pub struct Redundant {
    /// f, one item a column.
    pub columns: Vec<f64>,
    /// u, one item a row.
    pub rows: Vec<f64>,
}

/// A factored system with more columns than rows (or as many), ready for any number of right sides.
#[derive(Debug)]
pub struct RedundantFactor {
    matrix: Sparse<f64>,
    turned: Sparse<f64>,
    flexibility: Flexibility,
    /// Columns that yield, and columns that do not and are not held by a block.
    yielding: Vec<u32>,
    stiff: Vec<u32>,
    holds: Vec<Hold>,
    /// The reduced unknowns of each row: `row_places[row]` of an unheld row, the holds know theirs.
    row_places: Vec<u32>,
    reduced: usize,
    /// f = C f' makes F the identity on yielding columns.
    pairs: Vec<Pair>,
    /// Powers of two that make the diagonal of K about one.
    row_scale: Vec<f64>,
    stiff_scale: Vec<f64>,
    core: Core,
}

/// i, j and, of C, c_ii, c_ji, c_jj.
type Pair = (u32, u32, [f64; 3]);

#[derive(Debug)]
enum Core {
    Definite(Cholesky, Sparse<f64>),
    Mixed(Lu, Sparse<f64>),
}

const REFINEMENTS: usize = 3;
/// How much heavier stiff columns may weigh than K: a matter of units, so the condition is that of the best. With equal
/// weights a stiff part of condition c would count as c².
const STIFF_SCALES: [f64; 4] = [1.0, 64.0, 4096.0, 262_144.0];
/// So many right sides go through the factors together.
const BATCH: usize = 16;

impl RedundantFactor {
    /// Factors the system. `Singular` where K is not definite in double precision, or where stiff columns depend on
    /// one another so that nothing settles their share; exact ranks (of B, and of its stiff columns) tell the two apart.
    pub fn new(matrix: &Sparse<f64>, blocks: &Blocks, flexibility: &Flexibility) -> Result<Self, NumericError> {
        check(matrix, blocks, flexibility)?;
        let (pairs, single) = square_root(flexibility)?;
        let mut in_pair = vec![false; matrix.columns()];
        pairs.iter().flat_map(|&(i, j, _)| [i, j]).for_each(|i| in_pair[i as usize] = true);
        let yields = |column: &u32| in_pair[*column as usize] || flexibility.diagonal[*column as usize] > 0.0;
        let (yielding, stiff): (Vec<u32>, Vec<u32>) = (0u32..).take(matrix.columns()).partition(yields);
        let (mut holds, stiff) = hold_blocks(matrix, blocks, stiff)?;
        let (row_places, reduced) = place_rows(matrix.rows(), &mut holds);
        let in_places = |matrix: &Sparse<f64>| reduce_rows(matrix, &holds, &row_places, reduced);
        let mut spread = in_places(&spread_columns(matrix, &yielding, &pairs, &single)?)?;
        let rows: Vec<u32> = (0u32..).take(matrix.rows()).collect();
        let mut stiff_part = in_places(&matrix.part(&rows, &stiff))?;
        let mut squares = vec![0.0f64; reduced];
        for (&row, value) in spread.indices().iter().zip(spread.values()) {
            squares[row as usize] += value * value;
        }
        // A row that only stiff columns touch has no share in K; it is scaled by those.
        for (&row, value) in stiff_part.indices().iter().zip(stiff_part.values()) {
            if squares[row as usize] == 0.0 {
                squares[row as usize] = value * value;
            }
        }
        let row_scale: Vec<f64> = squares.iter().map(|&square| reciprocal_power(square.sqrt())).collect();
        spread.rescale(|row, _, value| value * row_scale[row]);
        stiff_part.rescale(|row, _, value| value * row_scale[row]);
        let stiff_scale: Vec<f64> = (0..stiff_part.columns())
            .map(|column| reciprocal_power(stiff_part.column(column).fold(0.0f64, |m, (_, value)| m.max(value.abs()))))
            .collect();
        stiff_part.rescale(|_, column, value| value * stiff_scale[column]);
        let lower = gram(&spread)?;
        let core = if stiff.is_empty() {
            Core::Definite(Cholesky::new(&lower)?, lower)
        } else {
            let mixed = bordered(&lower, &stiff_part)?;
            Core::Mixed(Lu::new(&mixed)?, mixed)
        };
        Ok(RedundantFactor {
            turned: matrix.transpose(),
            matrix: matrix.clone(),
            flexibility: flexibility.clone(),
            yielding,
            stiff,
            holds,
            row_places,
            reduced,
            pairs,
            row_scale,
            stiff_scale,
            core,
        })
    }

    /// Solves for pairs of b (one item a row) and g (one item a column), a few at a time through the factors. Finite, or
    /// `Singular`.
    pub fn solve_many(&self, right: &[(&[f64], &[f64])]) -> Result<Vec<Redundant>, NumericError> {
        let mut answers = Vec::with_capacity(right.len());
        for batch in right.chunks(BATCH) {
            answers.extend(self.solve_refined(batch)?);
        }
        Ok(answers)
    }

    fn solve_refined(&self, right: &[(&[f64], &[f64])]) -> Result<Vec<Redundant>, NumericError> {
        for &(b, g) in right {
            check_right(b, self.matrix.rows())?;
            check_right(g, self.matrix.columns())?;
        }
        let mut answers = self.solve_once(right)?;
        let mut last = vec![f64::INFINITY; right.len()];
        for _ in 0..REFINEMENTS {
            let off: Vec<(Vec<f64>, Vec<f64>)> = answers
                .iter()
                .zip(right)
                .map(|(answer, &(b, g))| {
                    (residual(&self.matrix, &answer.columns, b), self.compatibility_residual(answer, g))
                })
                .collect();
            let off: Vec<(&[f64], &[f64])> = off.iter().map(|(b, g)| (b.as_slice(), g.as_slice())).collect();
            let mut progress = false;
            for ((answer, last), correction) in answers.iter_mut().zip(&mut last).zip(self.solve_once(&off)?) {
                let size = correction.columns.iter().map(|x| x * x).sum::<f64>();
                // A correction that does not shrink is rounding, not progress.
                if size.is_nan() || size >= *last * 0.25 {
                    *last = 0.0;
                    continue;
                }
                (*last, progress) = (size, true);
                answer.columns.iter_mut().zip(&correction.columns).for_each(|(x, c)| *x += c);
                answer.rows.iter_mut().zip(&correction.rows).for_each(|(x, c)| *x += c);
            }
            if !progress {
                break;
            }
        }
        let finite = answers.iter().all(|a| a.columns.iter().chain(&a.rows).all(|x| x.is_finite()));
        if finite { Ok(answers) } else { Err(NumericError::Singular) }
    }

    /// An estimate, from below, of the 1-norm condition number of what was factored: K, or the mixed matrix, its rows
    /// and columns scaled to like size; and the row of B where it is weakest, if no block holds it.
    pub fn condition(&self) -> Condition {
        let Condition { number, row } = match &self.core {
            Core::Definite(factor, lower) => {
                let solve = |mut b: Vec<f64>| {
                    factor.solve(&mut b);
                    Ok(b)
                };
                condition_of(lower.rows(), symmetric_norm(lower), solve, solve)
            }
            Core::Mixed(factor, matrix) => {
                let all = STIFF_SCALES.iter().map(|scale| self.mixed_condition(factor, matrix, *scale));
                let none = Condition { number: f64::INFINITY, row: None };
                all.fold(none, |least, other| if other.number < least.number { other } else { least })
            }
        };
        let row = row.and_then(|place| self.row_places.iter().position(|&row| row as usize == place));
        Condition { number, row }
    }

    /// The same of the mixed matrix with the stiff columns, and the rows they meet in the border, times a scale.
    fn mixed_condition(&self, factor: &Lu, matrix: &Sparse<f64>, scale: f64) -> Condition {
        let of = |place: usize| if place < self.reduced { 1.0 } else { scale };
        let solve = |mut b: Vec<f64>, side| {
            let unscale = |b: &mut Vec<f64>| b.iter_mut().enumerate().for_each(|(place, x)| *x /= of(place));
            unscale(&mut b);
            factor.solve(&mut b, side)?;
            unscale(&mut b);
            Ok(b)
        };
        let mut scaled = matrix.clone();
        scaled.rescale(|row, column, value| value * of(row) * of(column));
        condition_of(matrix.rows(), one_norm(&scaled), |b| solve(b, Side::Straight), |b| solve(b, Side::Transposed))
    }

    fn solve_once(&self, right: &[(&[f64], &[f64])]) -> Result<Vec<Redundant>, NumericError> {
        let size = self.reduced + self.stiff.len();
        let mut motions = Vec::with_capacity(right.len());
        let mut core = Vec::with_capacity(right.len() * size);
        for &(b, g) in right {
            let u = self.prescribed(g);
            self.push_reduced(b, g, &u, &mut core);
            motions.push(u);
        }
        match &self.core {
            Core::Definite(factor, _) => factor.solve(&mut core),
            Core::Mixed(factor, _) => factor.solve(&mut core, Side::Straight)?,
        }
        let mut rest = core.as_mut_slice();
        let mut answers = Vec::with_capacity(right.len());
        for (&(b, g), u) in right.iter().zip(motions) {
            let (solution, others) = rest.split_at_mut(size);
            for (x, scale) in solution.iter_mut().zip(self.row_scale.iter().chain(&self.stiff_scale)) {
                *x *= scale;
            }
            answers.push(self.recover(b, g, u, solution));
            rest = others;
        }
        Ok(answers)
    }

    /// What the holds prescribe of u: Q₁ R⁻ᵀ (−g).
    fn prescribed(&self, g: &[f64]) -> Vec<f64> {
        let mut u = vec![0.0; self.matrix.rows()];
        for hold in &self.holds {
            let held = hold.solve_transposed(hold.columns.iter().map(|&c| -g[c as usize]).collect());
            for (i, &row) in hold.rows.iter().enumerate() {
                u[row as usize] = held.iter().enumerate().map(|(k, a)| hold.q[(i, k)] * a).sum();
            }
        }
        u
    }

    /// The right side of the reduced system: what prescribed motions and g leave of b, scaled.
    fn push_reduced(&self, b: &[f64], g: &[f64], u: &[f64], core: &mut Vec<f64>) {
        let start = self.spring(u, g);
        let rest = self.less(b, &start, &self.yielding);
        core.extend(self.reduce(&rest).iter().zip(&self.row_scale).map(|(x, scale)| x * scale));
        for (&column, scale) in self.stiff.iter().zip(&self.stiff_scale) {
            let moved: f64 = self.matrix.column(column as usize).map(|(row, value)| value * u[row]).sum();
            core.push(-(g[column as usize] + moved) * scale);
        }
    }

    /// The whole answer from the reduced one: motions, then columns that yield, stiff ones, and those of the holds.
    fn recover(&self, b: &[f64], g: &[f64], mut u: Vec<f64>, solution: &[f64]) -> Redundant {
        let (v, stiff) = solution.split_at(self.reduced);
        self.extend(v, &mut u);
        let mut f = self.spring(&u, g);
        for (&column, &value) in self.stiff.iter().zip(stiff) {
            f[column as usize] = value;
        }
        let rest = self.less(&self.less(b, &f, &self.yielding), &f, &self.stiff);
        for hold in &self.holds {
            let turned: Vec<f64> = (0..hold.columns.len())
                .map(|k| hold.rows.iter().enumerate().map(|(i, &row)| hold.q[(i, k)] * rest[row as usize]).sum())
                .collect();
            for (&column, value) in hold.columns.iter().zip(hold.solve(turned)) {
                f[column as usize] = value;
            }
        }
        Redundant { columns: f, rows: u }
    }

    /// b − B f over some columns.
    fn less(&self, b: &[f64], f: &[f64], columns: &[u32]) -> Vec<f64> {
        let mut rest = b.to_vec();
        for &column in columns {
            let f = f[column as usize];
            self.matrix.column(column as usize).for_each(|(row, value)| rest[row] -= value * f);
        }
        rest
    }

    /// F⁻¹ (Bᵀ u + g) on yielding columns, zero on the others.
    fn spring(&self, u: &[f64], g: &[f64]) -> Vec<f64> {
        let mut f = vec![0.0; self.matrix.columns()];
        let stretch =
            |column: usize| g[column] + self.matrix.column(column).map(|(row, value)| value * u[row]).sum::<f64>();
        for &column in &self.yielding {
            let column = column as usize;
            if self.flexibility.diagonal[column] > 0.0 {
                f[column] = stretch(column) / self.flexibility.diagonal[column];
            }
        }
        for &(i, j, [ii, ji, jj]) in &self.pairs {
            let (i, j) = (i as usize, j as usize);
            let (a, b) = (stretch(i), stretch(j));
            let (x, y) = (ii * a + ji * b, jj * b);
            (f[i], f[j]) = (ii * x, ji * x + jj * y);
        }
        f
    }

    /// Q₂ᵀ x.
    fn reduce(&self, x: &[f64]) -> Vec<f64> {
        let mut reduced = vec![0.0; self.reduced];
        for (&place, &x) in self.row_places.iter().zip(x) {
            if let Some(item) = reduced.get_mut(place as usize) {
                *item = x;
            }
        }
        for hold in &self.holds {
            for (k, place) in hold.free().zip(hold.place as usize..) {
                reduced[place] = hold.rows.iter().enumerate().map(|(i, &row)| hold.q[(i, k)] * x[row as usize]).sum();
            }
        }
        reduced
    }

    /// u += Q₂ v.
    fn extend(&self, v: &[f64], u: &mut [f64]) {
        for (&place, u) in self.row_places.iter().zip(u.iter_mut()) {
            if let Some(&v) = v.get(place as usize) {
                *u += v;
            }
        }
        for hold in &self.holds {
            for (k, place) in hold.free().zip(hold.place as usize..) {
                for (i, &row) in hold.rows.iter().enumerate() {
                    u[row as usize] += hold.q[(i, k)] * v[place];
                }
            }
        }
    }

    /// g − F f + Bᵀ u.
    fn compatibility_residual(&self, answer: &Redundant, g: &[f64]) -> Vec<f64> {
        let minus: Vec<f64> = answer.rows.iter().map(|u| -u).collect();
        let mut off = residual(&self.turned, &minus, g);
        for (column, off) in off.iter_mut().enumerate() {
            *off -= self.flexibility.diagonal[column] * answer.columns[column];
        }
        for &(i, j, value) in &self.flexibility.coupled {
            off[i as usize] -= value * answer.columns[j as usize];
            off[j as usize] -= value * answer.columns[i as usize];
        }
        off
    }
}

fn check(matrix: &Sparse<f64>, blocks: &Blocks, flexibility: &Flexibility) -> Result<(), NumericError> {
    if blocks.rows() != matrix.rows() {
        return Err(NumericError::Mismatch { expected: matrix.rows(), found: blocks.rows() });
    }
    let columns = matrix.columns();
    if flexibility.diagonal.len() != columns {
        return Err(NumericError::Mismatch { expected: columns, found: flexibility.diagonal.len() });
    }
    let bad = |column: u32| NumericError::NotAFlexibility { column };
    if let Some((column, _)) = (0u32..).zip(&flexibility.diagonal).find(|(_, x)| !x.is_finite() || **x < 0.0) {
        return Err(bad(column));
    }
    let mut taken = vec![false; columns];
    for &(i, j, value) in &flexibility.coupled {
        let fine = i != j && value.is_finite() && [i, j].iter().all(|&c| taken.get(c as usize) == Some(&false));
        if !fine {
            return Err(bad(i));
        }
        taken[i as usize] = true;
        taken[j as usize] = true;
    }
    Ok(())
}

/// C with F⁻¹ = C Cᵀ: triangular in pairs, diagonal elsewhere.
fn square_root(flexibility: &Flexibility) -> Result<(Vec<Pair>, Vec<f64>), NumericError> {
    let single = flexibility.diagonal.iter().map(|&x| if x > 0.0 { 1.0 / x.sqrt() } else { 0.0 }).collect();
    let mut pairs = Vec::with_capacity(flexibility.coupled.len());
    for &(i, j, h) in &flexibility.coupled {
        let (a, b) = (flexibility.diagonal[i as usize], flexibility.diagonal[j as usize]);
        let determinant = a * b - h * h;
        if determinant.is_nan() || determinant <= 0.0 {
            return Err(NumericError::Singular);
        }
        let ii = (b / determinant).sqrt();
        pairs.push((i, j, [ii, -h / (determinant * ii), 1.0 / b.sqrt()]));
    }
    Ok((pairs, single))
}

/// B C on the yielding columns.
fn spread_columns(
    matrix: &Sparse<f64>,
    yielding: &[u32],
    pairs: &[Pair],
    single: &[f64],
) -> Result<Sparse<f64>, NumericError> {
    let mut partner = vec![None; matrix.columns()];
    for &(i, j, c) in pairs {
        partner[i as usize] = Some((Some(j), c));
        partner[j as usize] = Some((None, c));
    }
    let mut builder = SparseBuilder::new(matrix.rows());
    for &column in yielding {
        let mut add = |column: u32, factor: f64| {
            for (row, value) in matrix.column(column as usize) {
                #[allow(clippy::cast_possible_truncation)]
                builder.entry(row as u32, value * factor);
            }
        };
        match partner[column as usize] {
            None => add(column, single[column as usize]),
            Some((Some(j), [ii, ji, _])) => {
                add(column, ii);
                add(j, ji);
            }
            Some((None, [_, _, jj])) => add(column, jj),
        }
        builder.end_column();
    }
    builder.finish()
}

/// Q₂ᵀ of held blocks, other rows as they are.
fn reduce_rows(
    matrix: &Sparse<f64>,
    holds: &[Hold],
    row_places: &[u32],
    reduced: usize,
) -> Result<Sparse<f64>, NumericError> {
    let mut hold_of = vec![(u32::MAX, 0u32); matrix.rows()];
    for (at, hold) in (0u32..).zip(holds) {
        for (i, &row) in (0u32..).zip(&hold.rows) {
            hold_of[row as usize] = (at, i);
        }
    }
    let mut builder = SparseBuilder::new(reduced).with_capacity(matrix.columns(), matrix.entries());
    for column in 0..matrix.columns() {
        for (row, value) in matrix.column(column) {
            let (hold, i) = hold_of[row];
            let Some(hold) = holds.get(hold as usize) else {
                builder.entry(row_places[row], value);
                continue;
            };
            for (k, place) in hold.free().zip(hold.place..) {
                builder.entry(place, value * hold.q[(i as usize, k)]);
            }
        }
        builder.end_column();
    }
    builder.finish()
}

/// [K S; Sᵀ 0] from the lower triangle of K.
fn bordered(lower: &Sparse<f64>, side: &Sparse<f64>) -> Result<Sparse<f64>, NumericError> {
    let n = lower.rows();
    let (upper, across) = (lower.transpose(), side.transpose());
    let mut builder = SparseBuilder::new(n + side.columns());
    #[allow(clippy::cast_possible_truncation)]
    let mut column = |entries: &mut dyn Iterator<Item = (usize, f64)>| {
        entries.for_each(|(row, value)| builder.entry(row as u32, value));
        builder.end_column();
    };
    for j in 0..n {
        let above = upper.column(j).filter(|&(row, _)| row < j);
        column(&mut above.chain(lower.column(j)).chain(across.column(j).map(|(row, value)| (n + row, value))));
    }
    for j in 0..side.columns() {
        column(&mut side.column(j));
    }
    builder.finish()
}

fn symmetric_norm(lower: &Sparse<f64>) -> f64 {
    let mut sums = vec![0.0f64; lower.rows()];
    for column in 0..lower.columns() {
        for (row, value) in lower.column(column) {
            sums[column] += value.abs();
            if row != column {
                sums[row] += value.abs();
            }
        }
    }
    sums.into_iter().fold(0.0, f64::max)
}
