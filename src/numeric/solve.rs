//! `B x = b` in floating point, for a square matrix: peeled squares by
//! substitution, the core by LU, one step of refinement, and an estimate of the
//! condition number.
//!
//! Must not know: structures.

use super::error::NumericError;
use super::factors::{Lu, Side};
use super::peel::Peel;
use super::precise::{condition_of, one_norm, reciprocal_power, residual};
use super::sparse::Sparse;

/// A factored square matrix, ready for any number of right sides.
#[derive(Debug)]
pub struct Factor {
    /// B with rows and columns scaled by powers of two, so that units do not decide pivots or condition.
    matrix: Sparse<f64>,
    row_scale: Vec<f64>,
    column_scale: Vec<f64>,
    peel: Peel,
    core: Lu,
}

/// So many right sides go through the factors together.
const BATCH: usize = 16;

impl Factor {
    /// Factors a square matrix in the order a [`Peel`] of its exact counterpart gives ([`Peel::nothing`] will do).
    pub fn new(matrix: &Sparse<f64>, peel: &Peel) -> Result<Self, NumericError> {
        let (rows, columns) = (matrix.rows(), matrix.columns());
        if rows != columns {
            return Err(NumericError::NotSquare { rows, columns });
        }
        let peel = if fits(matrix, peel) { peel.clone() } else { Peel::nothing(rows, columns) };
        let (matrix, row_scale, column_scale) = equilibrate(matrix);
        let core = Lu::new(&matrix.part(&peel.core_rows, &peel.core_columns))?;
        Ok(Factor { matrix, row_scale, column_scale, peel, core })
    }

    /// The number of unknowns.
    pub fn len(&self) -> usize {
        self.matrix.rows()
    }

    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Solves `B x = b`, with one step of refinement against a residual in twice the working precision.
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
        let mut scaled = Vec::with_capacity(right.len());
        for b in right.iter().map(AsRef::as_ref) {
            if b.len() != self.len() {
                return Err(NumericError::Mismatch { expected: self.len(), found: b.len() });
            }
            if let Some(row) = b.iter().position(|b| !b.is_finite()) {
                return Err(NumericError::NotFiniteRight { row });
            }
            scaled.push(b.iter().zip(&self.row_scale).map(|(b, s)| b * s).collect::<Vec<f64>>());
        }
        let mut solutions = self.solve_once(scaled.clone())?;
        let off = solutions.iter().zip(&scaled).map(|(x, b)| residual(&self.matrix, x, b)).collect();
        for (x, correction) in solutions.iter_mut().zip(self.solve_once(off)?) {
            for ((x, correction), s) in x.iter_mut().zip(correction).zip(&self.column_scale) {
                *x = (*x + correction) * s;
            }
            if !x.iter().all(|x| x.is_finite()) {
                return Err(NumericError::Singular);
            }
        }
        Ok(solutions)
    }

    /// Solves `Bᵀ u = g`, with one step of refinement.
    pub fn solve_transposed(&self, g: &[f64]) -> Result<Vec<f64>, NumericError> {
        if g.len() != self.len() {
            return Err(NumericError::Mismatch { expected: self.len(), found: g.len() });
        }
        if let Some(row) = g.iter().position(|g| !g.is_finite()) {
            return Err(NumericError::NotFiniteRight { row });
        }
        let g: Vec<f64> = g.iter().zip(&self.column_scale).map(|(g, s)| g * s).collect();
        let mut u = self.solve_transposed_once(&g)?;
        let left: Vec<f64> = g.iter().zip(self.matrix.transpose_times(&u)).map(|(g, now)| g - now).collect();
        for (u, correction) in u.iter_mut().zip(self.solve_transposed_once(&left)?) {
            *u += correction;
        }
        for (u, s) in u.iter_mut().zip(&self.row_scale) {
            *u *= s;
        }
        if u.iter().all(|u| u.is_finite()) { Ok(u) } else { Err(NumericError::Singular) }
    }

    /// An estimate, from below and seldom off by more than three, of the 1-norm condition number of B after its
    /// rows and columns are scaled to like size. Infinite where the factors break down.
    pub fn condition_estimate(&self) -> f64 {
        let straight = |b: Vec<f64>| Ok(self.solve_once(vec![b])?.pop().unwrap_or_default());
        let transposed = |g: Vec<f64>| self.solve_transposed_once(&g);
        condition_of(self.len(), one_norm(&self.matrix), straight, transposed)
    }

    /// Solves in the scaled matrix, without refinement.
    fn solve_once(&self, mut right: Vec<Vec<f64>>) -> Result<Vec<Vec<f64>>, NumericError> {
        let mut solutions = vec![vec![0.0; self.len()]; right.len()];
        let mut core = Vec::with_capacity(right.len() * self.peel.core_rows.len());
        for (b, x) in right.iter_mut().zip(&mut solutions) {
            self.peel.solve_forward(&self.matrix, b, x)?;
            core.extend(self.peel.core_rows.iter().map(|&row| b[row as usize]));
        }
        self.core.solve(&mut core, Side::Straight)?;
        let mut values = core.into_iter();
        for (b, x) in right.iter_mut().zip(&mut solutions) {
            for (&column, value) in self.peel.core_columns.iter().zip(&mut values) {
                x[column as usize] = value;
                self.matrix.column(column as usize).for_each(|(row, entry)| b[row] -= entry * value);
            }
            self.peel.solve_backward(&self.matrix, b, x)?;
        }
        Ok(solutions)
    }

    fn solve_transposed_once(&self, g: &[f64]) -> Result<Vec<f64>, NumericError> {
        let mut z = vec![0.0; self.len()];
        self.peel.solve_transposed_backward(&self.matrix, g, &mut z)?;
        let mut core: Vec<f64> = self
            .peel
            .core_columns
            .iter()
            .map(|&c| g[c as usize] - self.matrix.column(c as usize).map(|(row, value)| value * z[row]).sum::<f64>())
            .collect();
        self.core.solve(&mut core, Side::Transposed)?;
        for (&row, &value) in self.peel.core_rows.iter().zip(&core) {
            z[row as usize] = value;
        }
        self.peel.solve_transposed_forward(&self.matrix, g, &mut z)?;
        Ok(z)
    }
}

/// Whether the float matrix has the block triangular form of the peel, no entry above the diagonal squares.
fn fits(matrix: &Sparse<f64>, peel: &Peel) -> bool {
    if peel.rank() + peel.core_rows.len() != matrix.rows() || !peel.is_within(matrix.rows(), matrix.columns()) {
        return false;
    }
    if peel.core_rows.len() != peel.core_columns.len() {
        return false;
    }
    // The stage of each row: a column may only reach rows of its own stage or later.
    let mut stage = vec![0usize; matrix.rows()];
    let (forward, backward) = (peel.forward.len(), peel.backward.len());
    let steps = (0..forward)
        .map(|s| (s, peel.forward.step(s)))
        .chain((0..backward).map(|s| (forward + backward - s, peel.backward.step(s))));
    for (at, (rows, _)) in steps.clone() {
        rows.iter().for_each(|&row| stage[row as usize] = at);
    }
    peel.core_rows.iter().for_each(|&row| stage[row as usize] = forward);
    let below = |at: usize, column: u32| matrix.column(column as usize).all(|(row, _)| stage[row] >= at);
    steps.into_iter().all(|(at, (_, columns))| columns.iter().all(|&column| below(at, column)))
        && peel.core_columns.iter().all(|&column| below(forward, column))
}

/// Scales rows, then columns, by powers of two so that the largest entry of each is about one.
fn equilibrate(matrix: &Sparse<f64>) -> (Sparse<f64>, Vec<f64>, Vec<f64>) {
    let (mut rows, mut columns) = (vec![1.0f64; matrix.rows()], vec![1.0f64; matrix.columns()]);
    for _ in 0..2 {
        let mut largest = vec![0.0f64; rows.len()];
        for (column, scale) in columns.iter().enumerate() {
            for (row, value) in matrix.column(column) {
                largest[row] = largest[row].max(value.abs() * scale);
            }
        }
        rows = largest.into_iter().map(reciprocal_power).collect();
        for (column, scale) in columns.iter_mut().enumerate() {
            *scale =
                reciprocal_power(matrix.column(column).fold(0.0f64, |m, (row, value)| m.max(value.abs() * rows[row])));
        }
    }
    let scaled = matrix.map(|row, column, value| value * rows[row] * columns[column]);
    (scaled, rows, columns)
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
                assert!(factor.condition_estimate() < 1e8);
            }
        }
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
            let truth = (0..n).map(column_sum).fold(0.0, f64::max) * one_norm(&factor.matrix);
            let estimate = factor.condition_estimate();
            assert!(estimate <= truth * 1.0001 && estimate * 3.0 >= truth, "{estimate} against {truth}");
        }
    }

    #[test]
    fn scaling_a_unit_does_not_change_the_condition() {
        let frame = Frame::girder(7);
        let matrix = frame.matrix().unit();
        let mixed = matrix.map(|row, _, value| if row % 3 == 0 { value * 1024.0 } else { value });
        let all = Peel::nothing(matrix.rows(), matrix.columns());
        let conditions = [&matrix, &mixed].map(|m| Factor::new(m, &all).unwrap().condition_estimate());
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
            assert!(factor.is_err() || factor.unwrap().condition_estimate() > 1e12);
        }
        let empty = Factor::new(&Sparse::from_columns(0, Vec::<Vec<_>>::new()).unwrap(), &Peel::nothing(0, 0)).unwrap();
        assert_eq!((empty.solve(&[]), empty.condition_estimate()), (Ok(vec![]), 1.0));
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
                assert!(factor.condition_estimate() >= 1.0);
                if let Ok(x) = factor.solve(&vec![1.0; n]) {
                    assert!(x.iter().all(|x| x.is_finite()));
                }
            }
            for diagonal in [vec![1.0; n], vec![0.0; n], (0..n).map(|i| [0.0, 1e-300, 1e300, 2.0][i % 4]).collect()] {
                let flexibility = Flexibility { diagonal, coupled: vec![] };
                if let Ok(factor) = RedundantFactor::new(&matrix, &blocks, &flexibility) {
                    assert!(factor.condition_estimate() >= 1.0);
                    if let Ok(answer) = factor.solve(&vec![1.0; n], &vec![0.5; n]) {
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
