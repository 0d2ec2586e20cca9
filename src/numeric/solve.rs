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
        if b.len() != self.len() {
            return Err(NumericError::Mismatch { expected: self.len(), found: b.len() });
        }
        if let Some(row) = b.iter().position(|b| !b.is_finite()) {
            return Err(NumericError::NotFiniteRight { row });
        }
        let b: Vec<f64> = b.iter().zip(&self.row_scale).map(|(b, s)| b * s).collect();
        let mut x = self.solve_once(b.clone())?;
        let correction = self.solve_once(residual(&self.matrix, &x, &b))?;
        for (x, correction) in x.iter_mut().zip(&correction) {
            *x += correction;
        }
        for (x, s) in x.iter_mut().zip(&self.column_scale) {
            *x *= s;
        }
        if x.iter().all(|x| x.is_finite()) { Ok(x) } else { Err(NumericError::Singular) }
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

    /// Solves for several right sides.
    pub fn solve_many(&self, right: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, NumericError> {
        right.iter().map(|b| self.solve(b)).collect()
    }

    /// An estimate, from below and seldom off by more than three, of the 1-norm condition number of B after its
    /// rows and columns are scaled to like size. Infinite where the factors break down.
    pub fn condition_estimate(&self) -> f64 {
        let straight = |b: Vec<f64>| self.solve_once(b);
        let transposed = |g: Vec<f64>| self.solve_transposed_once(&g);
        condition_of(self.len(), one_norm(&self.matrix), straight, transposed)
    }

    /// Solves in the scaled matrix, without refinement.
    fn solve_once(&self, mut b: Vec<f64>) -> Result<Vec<f64>, NumericError> {
        let mut x = vec![0.0; self.len()];
        self.peel.solve_forward(&self.matrix, &mut b, &mut x)?;
        let mut core: Vec<f64> = self.peel.core_rows.iter().map(|&row| b[row as usize]).collect();
        self.core.solve(&mut core, Side::Straight)?;
        for (&column, &value) in self.peel.core_columns.iter().zip(&core) {
            x[column as usize] = value;
            for (row, entry) in self.matrix.column(column as usize) {
                b[row] -= entry * value;
            }
        }
        self.peel.solve_backward(&self.matrix, &mut b, &mut x)?;
        Ok(x)
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
    if peel.rank() + peel.core_rows.len() != matrix.rows() || peel.core_rows.len() != peel.core_columns.len() {
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
    use super::super::field::Rng;
    use super::super::rank::exact_rank;
    use super::super::sample::Frame;
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
                factor.solve_once(unit).unwrap().iter().map(|x| x.abs()).sum::<f64>()
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
}
