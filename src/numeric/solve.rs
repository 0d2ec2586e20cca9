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

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::super::field::{Field, Rng};
    use super::super::null::null_direction;
    use super::super::rank::{ExactMatrix, exact_rank};
    use super::super::redundant::{Flexibility, RedundantFactor};
    use super::super::sample::Frame;
    use super::super::sparse::Blocks;
    use super::*;

    fn loads(n: usize) -> Vec<f64> {
        let mut rng = Rng::new(n as u64);
        (0..n).map(|_| rng.below(2001) as f64 / 1000.0 - 1.0).collect()
    }

    fn worst(matrix: &Sparse<f64>, x: &[f64], b: &[f64]) -> f64 {
        let largest = x.iter().fold(1.0f64, |m, x| m.max(x.abs()));
        matrix.times(x).iter().zip(b).fold(0.0f64, |m, (a, b)| m.max((a - b).abs())) / largest
    }

    #[test]
    fn girders_and_sheets_solve_to_the_last_digits() {
        let mut small = Frame::girder(2);
        small.reactions[2] = (4, 1, 3);
        for frame in [small, Frame::girder(300), Frame::sheet(3, 1), Frame::sheet(20, 2)] {
            let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
            let matrix = frame.matrix().unit();
            let b = loads(matrix.rows());
            for peel in [verdict.peel, Peel::nothing(matrix.rows(), matrix.columns())] {
                let factor = Factor::new(&matrix, &peel).unwrap();
                let x = factor.solve(&b).unwrap();
                assert!(worst(&matrix, &x, &b) < 1e-14, "{}", worst(&matrix, &x, &b));
                assert!(factor.condition().number < 1e8);
            }
        }
    }

    /// 4 on the diagonal, 1 beside it: well conditioned, yet substitution from one end magnifies 3.7 times a row.
    #[test]
    fn a_chain_that_magnifies_is_factored_with_pivoting() {
        let n = 120;
        let column =
            |j: usize| (j.saturating_sub(1)..(j + 2).min(n)).map(move |i| (i as u32, if i == j { 4.0 } else { 1.0 }));
        let matrix = Sparse::from_columns(n, (0..n).map(column)).unwrap();
        let peel = exact_rank(&Doubles(&matrix), &Blocks::uniform(n, 1), 1).unwrap().peel;
        assert!(peel.border.is_some());
        let factor = Factor::new(&matrix, &peel).unwrap();
        assert!(factor.layout.border.is_none());
        let b = loads(n);
        assert!(worst(&matrix, &factor.solve(&b).unwrap(), &b) < 1e-15);
        assert!(factor.condition().number < 10.0);
    }

    #[test]
    fn borders_serve_the_transposed_system_too() {
        let frame = Frame::girder(60);
        let matrix = frame.matrix().unit();
        let peel = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap().peel;
        let factor = Factor::new(&matrix, &peel).unwrap();
        assert!(factor.layout.border.is_some());
        let g = loads(matrix.rows());
        let u = factor.solve_transposed(&g).unwrap();
        assert!(worst(&matrix.transpose(), &u, &g) < 1e-14);
    }

    #[test]
    fn condition_estimates_are_near_the_truth() {
        for frame in [Frame::girder(1), Frame::girder(12), Frame::sheet(3, 5)] {
            let matrix = frame.matrix().unit();
            let factor = Factor::new(&matrix, &Peel::nothing(matrix.rows(), matrix.columns())).unwrap();
            let n = matrix.rows();
            let column_sum = |k: usize| {
                let mut unit = vec![0.0; n];
                unit[k] = 1.0;
                factor.solve_once(vec![unit]).unwrap()[0].iter().map(|x| x.abs()).sum::<f64>()
            };
            let truth = (0..n).map(column_sum).fold(0.0, f64::max) * one_norm(&factor.layout.matrix);
            let estimate = factor.condition().number;
            assert!(estimate <= truth * 1.0001 && estimate * 3.0 >= truth, "{estimate} against {truth}");
        }
    }

    #[test]
    fn scaling_a_unit_does_not_change_the_condition() {
        let frame = Frame::girder(7);
        let matrix = frame.matrix().unit();
        let mut mixed = matrix.clone();
        mixed.rescale(|row, _, value| if row % 3 == 0 { value * 1024.0 } else { value });
        let all = Peel::nothing(matrix.rows(), matrix.columns());
        let conditions = [&matrix, &mixed].map(|m| Factor::new(m, &all).unwrap().condition().number);
        assert!((conditions[0] / conditions[1]).log10().abs() < 0.5, "{conditions:?}");
    }

    #[test]
    fn faults_are_values() {
        let wide = Sparse::from_columns(1, [vec![(0, 1.0)], vec![(0, 1.0)]]).unwrap();
        let all = Peel::nothing(1, 2);
        assert_eq!(Factor::new(&wide, &all).err(), Some(NumericError::NotSquare { rows: 1, columns: 2 }));
        for n in [2usize, 100] {
            // The last two columns are alike.
            let column = |j: usize| vec![((j.min(n - 2)) as u32, 1.0), (((j.min(n - 2) + 1) % n) as u32, 0.5)];
            let singular = Sparse::from_columns(n, (0..n).map(column)).unwrap();
            let factor = Factor::new(&singular, &Peel::nothing(n, n));
            assert!(factor.is_err() || factor.unwrap().condition().number > 1e12);
        }
        let empty = Factor::new(&Sparse::from_columns(0, Vec::<Vec<_>>::new()).unwrap(), &Peel::nothing(0, 0)).unwrap();
        assert_eq!((empty.solve(&[]), empty.condition().number), (Ok(vec![]), 1.0));
        let one = Factor::new(&Sparse::from_columns(1, [vec![(0, 4.0)]]).unwrap(), &Peel::nothing(1, 1)).unwrap();
        assert_eq!(one.solve(&[2.0]), Ok(vec![0.5]));
        assert_eq!(one.solve(&[f64::NAN]), Err(NumericError::NotFiniteRight { row: 0 }));
        assert_eq!(one.solve(&[1.0, 2.0]), Err(NumericError::Mismatch { expected: 1, found: 2 }));
    }

    #[test]
    fn several_right_sides_are_solved_as_one_by_one() {
        for frame in [Frame::girder(9), Frame::sheet(12, 3).roughened(1)] {
            let matrix = frame.matrix().unit();
            let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
            let factor = Factor::new(&matrix, &verdict.peel).unwrap();
            let right: Vec<Vec<f64>> =
                (0..20).map(|k| loads(matrix.rows()).into_iter().map(|x| x * f64::from(k)).collect()).collect();
            let together = factor.solve_many(&right).unwrap();
            for (x, b) in together.iter().zip(&right) {
                assert!(worst(&matrix, x, b) < 1e-14);
                let alone = factor.solve(b).unwrap();
                let largest = alone.iter().fold(1.0f64, |m, x| m.max(x.abs()));
                assert!(x.iter().zip(&alone).all(|(x, y)| (x - y).abs() < 1e-9 * largest));
            }
        }
    }

    #[test]
    fn nothing_makes_it_panic() {
        let odd = [0.0, 1.0, -1.0, 0.1, 3.0, 1e300, -1e-300, 5e-324, f64::MAX, f64::MIN_POSITIVE, 1e16];
        let mut rng = Rng::new(11);
        for round in 0..600 {
            let n = 1 + rng.below(if round % 3 == 0 { 90 } else { 8 });
            let wild = round % 2 == 0;
            let mut column = |j: usize| -> Vec<(u32, f64)> {
                let mut entries = vec![((j as u32 * 7 + 3) % n as u32, 1.0)];
                for _ in 0..rng.below(4) {
                    let value = if wild { odd[rng.below(odd.len())] } else { odd[rng.below(5)] };
                    entries.push((rng.below(n) as u32, value));
                }
                entries
            };
            let Ok(matrix) = Sparse::from_columns(n, (0..n).map(&mut column)) else { continue };
            let blocks = Blocks::uniform(n, 2);
            let exact = Doubles(&matrix);
            let peel = exact_rank(&exact, &blocks, 1).unwrap().peel;
            if let Ok(factor) = Factor::new(&matrix, &peel) {
                assert!(factor.condition().number >= 1.0);
                if let Ok(x) = factor.solve(&vec![1.0; n]) {
                    assert!(x.iter().all(|x| x.is_finite()));
                }
            }
            for diagonal in [vec![1.0; n], vec![0.0; n], (0..n).map(|i| [0.0, 1e-300, 1e300, 2.0][i % 4]).collect()] {
                let flexibility = Flexibility { diagonal, coupled: vec![] };
                if let Ok(factor) = RedundantFactor::new(&matrix, &blocks, &flexibility) {
                    assert!(factor.condition().number >= 1.0);
                    if let Ok(answers) = factor.solve_many(&[(&vec![1.0; n], &vec![0.5; n])]) {
                        let answer = &answers[0];
                        assert!(answer.columns.iter().chain(&answer.rows).all(|x| x.is_finite()));
                    }
                }
            }
            let rows: Vec<u32> = (0..n as u32).step_by(2).collect();
            let _ = null_direction(&matrix, &rows);
        }
    }

    /// A matrix of doubles, each standing for itself.
    struct Doubles<'a>(&'a Sparse<f64>);

    impl ExactMatrix for Doubles<'_> {
        fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError> {
            Sparse::from_columns(
                self.0.rows(),
                (0..self.0.columns())
                    .map(|column| self.0.column(column).map(|(row, value)| (row as u32, F::from_f64(value).unwrap()))),
            )
        }
    }
}
