//! `B x = b` in floating point, for a square matrix: peeled squares by
//! substitution, the core by LU, refinement, and an estimate of the condition
//! number.
//!
//! Must not know: structures.

use super::error::NumericError;
use super::factors::{Lu, Side};
use super::layout::Layout;
use super::peel::Peel;
use super::precise::{Condition, check_right, condition_of, one_norm, residual};
use super::sparse::{Sparse, SparseBuilder};

/// A factored square matrix, ready for any number of right sides.
#[derive(Debug)]
pub struct Factor {
    layout: Layout,
    core: Lu,
    /// For each core column of a border what it leaves of every place from the border on once the forward steps are
    /// eliminated; column after column. Empty without a border.
    spread: Vec<f64>,
}

/// So many right sides go through the factors together.
const BATCH: usize = 16;
/// A correction below this share of the solution leaves nothing to correct that a double can hold.
const FINE: f64 = 1e-9;
const MOST_REFINEMENTS: usize = 3;
/// A long chain of steps may magnify rounding. With a border, a first solution off by more than this share of it says
/// that it does: then the core is factored whole, with pivoting.
const TAME: f64 = 1e-5;

impl Factor {
    /// Factors a square matrix in the order a [`Peel`] of its exact counterpart gives ([`Peel::nothing`] will do).
    pub fn new(matrix: &Sparse<f64>, peel: &Peel) -> Result<Self, NumericError> {
        let (rows, columns) = (matrix.rows(), matrix.columns());
        if rows != columns {
            return Err(NumericError::NotSquare { rows, columns });
        }
        if peel.border.is_some() {
            if let Ok(factor) = Factor::laid_out(Layout::of(matrix, peel)?)
                && factor.is_tame()
            {
                return Ok(factor);
            }
            return Factor::laid_out(Layout::of(matrix, &peel.clone().without_border())?);
        }
        Factor::laid_out(Layout::of(matrix, peel)?)
    }

    fn laid_out(layout: Layout) -> Result<Self, NumericError> {
        if layout.border.is_none() {
            let places: Vec<u32> = layout.core_places();
            let core = Lu::new(&layout.matrix.part(&places, &places))?;
            return Ok(Factor { layout, core, spread: Vec::new() });
        }
        let from = layout.border.unwrap_or(0);
        let mut spread = Vec::with_capacity(layout.core.len() * (layout.len() - from));
        let mut square = SparseBuilder::new(layout.core.len());
        let mut column = vec![0.0; layout.len()];
        for place in layout.core.clone() {
            column.fill(0.0);
            layout.matrix.column(place).for_each(|(row, value)| column[row] = value);
            layout.forward(&mut column);
            (0u32..).zip(&column[layout.core.clone()]).for_each(|(row, &value)| square.entry(row, value));
            square.end_column();
            spread.extend_from_slice(&column[from..]);
        }
        let core = Lu::new(&square.finish()?)?;
        Ok(Factor { layout, core, spread })
    }

    /// Whether a plain solution is near enough for refinement to make it good.
    fn is_tame(&self) -> bool {
        let size = |x: &[f64]| x.iter().fold(0.0f64, |m, x| if x.is_nan() { f64::INFINITY } else { m.max(x.abs()) });
        // Of no pattern that a layout might have.
        let right: Vec<f64> = (0..self.len()).map(|i| ((i * 7919) % 1013) as f64 / 1013.0 - 0.5).collect();
        let (Ok(x), true) = (self.solve_once(vec![right.clone()]), !self.is_empty()) else { return false };
        let off: Vec<Vec<f64>> = x.iter().map(|x| residual(&self.layout.matrix, x, &right)).collect();
        let Ok(correction) = self.solve_once(off) else { return false };
        x.iter().zip(&correction).all(|(x, correction)| size(correction) <= TAME * size(x))
    }

    /// The number of unknowns.
    pub fn len(&self) -> usize {
        self.layout.len()
    }

    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Solves `B x = b`, refined against residuals in twice the working precision.
    pub fn solve(&self, b: &[f64]) -> Result<Vec<f64>, NumericError> {
        Ok(self.solve_many(std::slice::from_ref(&b))?.pop().unwrap_or_default())
    }

    /// Solves for several right sides, each as [`solve`](Self::solve) does, a few at a time through the factors.
    pub fn solve_many<B: AsRef<[f64]>>(&self, right: &[B]) -> Result<Vec<Vec<f64>>, NumericError> {
        let mut solutions = Vec::with_capacity(right.len());
        for batch in right.chunks(BATCH) {
            solutions.extend(self.solve_refined(batch)?);
        }
        Ok(solutions)
    }

    fn solve_refined<B: AsRef<[f64]>>(&self, right: &[B]) -> Result<Vec<Vec<f64>>, NumericError> {
        let mut sides = Vec::with_capacity(right.len());
        for b in right.iter().map(AsRef::as_ref) {
            check_right(b, self.len())?;
            sides.push(self.layout.right_side(b, Side::Straight));
        }
        let mut solutions = self.solve_once(sides.clone())?;
        for _ in 0..MOST_REFINEMENTS {
            let off = solutions.iter().zip(&sides).map(|(x, b)| residual(&self.layout.matrix, x, b)).collect();
            let mut is_fine = true;
            for (x, correction) in solutions.iter_mut().zip(self.solve_once(off)?) {
                let (mut size, mut step) = (0.0f64, 0.0f64);
                for (x, correction) in x.iter_mut().zip(&correction) {
                    *x += correction;
                    (size, step) = (size.max(x.abs()), step.max(correction.abs()));
                }
                is_fine &= step <= FINE * size;
            }
            if is_fine {
                break;
            }
        }
        let solutions: Vec<Vec<f64>> = solutions.iter().map(|x| self.layout.solution(x, Side::Straight)).collect();
        let finite = solutions.iter().flatten().all(|x| x.is_finite());
        if finite { Ok(solutions) } else { Err(NumericError::Singular) }
    }

    /// Solves `Bᵀ u = g`, with one step of refinement.
    pub fn solve_transposed(&self, g: &[f64]) -> Result<Vec<f64>, NumericError> {
        check_right(g, self.len())?;
        let g = self.layout.right_side(g, Side::Transposed);
        let mut u = self.solve_transposed_once(g.clone())?;
        let left: Vec<f64> = g.iter().zip(self.layout.matrix.transpose_times(&u)).map(|(g, now)| g - now).collect();
        for (u, correction) in u.iter_mut().zip(self.solve_transposed_once(left)?) {
            *u += correction;
        }
        let u = self.layout.solution(&u, Side::Transposed);
        if u.iter().all(|u| u.is_finite()) { Ok(u) } else { Err(NumericError::Singular) }
    }

    /// An estimate, from below and seldom off by more than three, of the 1-norm condition number of B after its
    /// rows and columns are scaled to like size, and the row of B where it is weakest. Infinite where the factors break
    /// down.
    pub fn condition(&self) -> Condition {
        let straight = |b: Vec<f64>| Ok(self.solve_once(vec![b])?.pop().unwrap_or_default());
        let transposed = |g: Vec<f64>| self.solve_transposed_once(g);
        let Condition { number, row } = condition_of(self.len(), one_norm(&self.layout.matrix), straight, transposed);
        Condition { number, row: row.and_then(|place| self.layout.row_at(place)) }
    }

    /// Solves in places, without refinement.
    fn solve_once(&self, mut right: Vec<Vec<f64>>) -> Result<Vec<Vec<f64>>, NumericError> {
        let layout = &self.layout;
        right.iter_mut().for_each(|b| layout.forward(b));
        if let [b] = right.as_mut_slice() {
            self.core.solve(&mut b[layout.core.clone()], Side::Straight)?;
        } else {
            let mut core: Vec<f64> = right.iter().flat_map(|b| b[layout.core.clone()].iter().copied()).collect();
            self.core.solve(&mut core, Side::Straight)?;
            for (b, core) in right.iter_mut().zip(core.chunks(layout.core.len().max(1))) {
                b[layout.core.clone()].copy_from_slice(core);
            }
        }
        for b in &mut right {
            match layout.border {
                Some(from) => self.take_spread(from, b),
                None => layout.after_core(b),
            }
            layout.backward(b);
        }
        Ok(right)
    }

    /// Takes off every place but the core's what the core unknowns have of it.
    fn take_spread(&self, from: usize, b: &mut [f64]) {
        let core = self.layout.core.clone();
        let (before, rest) = b.split_at_mut(core.start);
        let (unknowns, after) = rest.split_at_mut(core.len());
        for (spread, x) in self.spread.chunks(self.len() - from).zip(unknowns) {
            let take = |(b, spread): (&mut f64, &f64)| *b -= spread * *x;
            before[from..].iter_mut().zip(spread).for_each(take);
            after.iter_mut().zip(&spread[core.end - from..]).for_each(take);
        }
    }

    fn solve_transposed_once(&self, mut u: Vec<f64>) -> Result<Vec<f64>, NumericError> {
        let layout = &self.layout;
        let core = layout.core.clone();
        layout.transposed_backward(&mut u);
        match layout.border {
            None => layout.before_core(&mut u),
            Some(from) => {
                let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
                for (place, spread) in core.clone().zip(self.spread.chunks(self.len() - from)) {
                    u[place] -= dot(&spread[..core.start - from], &u[from..core.start])
                        + dot(&spread[core.end - from..], &u[core.end..]);
                }
            }
        }
        self.core.solve(&mut u[core], Side::Transposed)?;
        layout.transposed_forward(&mut u);
        Ok(u)
    }
}
