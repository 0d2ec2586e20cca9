//! `B x = b` in floating point, for a square matrix: peeled squares by
//! substitution, the core by LU, one step of refinement, and an estimate of the
//! condition number.
//!
//! Must not know: structures.

use super::error::NumericError;
use super::peel::Peel;
use super::sparse::Sparse;
use faer::linalg::solvers::Solve;
use faer::sparse::SparseColMat;
use faer::sparse::linalg::solvers::{Lu, SymbolicLu};

/// A factored square matrix, ready for any number of right sides.
#[derive(Debug)]
pub struct Factor {
    /// B with rows and columns scaled by powers of two, so that units do not decide pivots or condition.
    matrix: Sparse<f64>,
    row_scale: Vec<f64>,
    column_scale: Vec<f64>,
    peel: Peel,
    core: Core,
}

#[derive(Debug)]
enum Core {
    Empty,
    Dense(nalgebra::LU<f64, nalgebra::Dyn, nalgebra::Dyn>, nalgebra::LU<f64, nalgebra::Dyn, nalgebra::Dyn>),
    Sparse(Box<Lu<u32, f64>>),
}

/// Up to so many unknowns the core is factored dense.
const DENSE_CORE: usize = 48;

impl Factor {
    /// Factors a square matrix in the order a [`Peel`] of its exact counterpart gives ([`Peel::nothing`] will do).
    pub fn new(matrix: &Sparse<f64>, peel: &Peel) -> Result<Self, NumericError> {
        let (rows, columns) = (matrix.rows(), matrix.columns());
        if rows != columns {
            return Err(NumericError::NotSquare { rows, columns });
        }
        let peel = if fits(matrix, peel) { peel.clone() } else { Peel::nothing(rows, columns) };
        let (matrix, row_scale, column_scale) = equilibrate(matrix);
        let core = factor_core(&matrix.part(&peel.core_rows, &peel.core_columns))?;
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

    /// Solves for several right sides.
    pub fn solve_many(&self, right: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, NumericError> {
        right.iter().map(|b| self.solve(b)).collect()
    }

    /// An estimate, from below and seldom off by more than three, of the 1-norm condition number of B after its
    /// rows and columns are scaled to like size. Infinite where the factors break down.
    ///
    /// Higham and Tisseur's block-free form of Hager's method (Higham, *Accuracy and Stability of Numerical
    /// Algorithms*, 2nd ed., algorithm 15.4).
    pub fn condition_estimate(&self) -> f64 {
        self.inverse_norm().map_or(f64::INFINITY, |inverse| {
            let norm = column_norms(&self.matrix).fold(0.0, f64::max);
            let product = norm * inverse;
            if product.is_nan() { f64::INFINITY } else { product.max(1.0) }
        })
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

    fn inverse_norm(&self) -> Result<f64, NumericError> {
        let n = self.len();
        if n == 0 {
            return Ok(0.0);
        }
        let mut x = self.solve_once(vec![1.0 / n as f64; n])?;
        let mut norm = x.iter().map(|x| x.abs()).sum::<f64>();
        let mut last = usize::MAX;
        for _ in 0..4 {
            let signs: Vec<f64> = x.iter().map(|x| if *x < 0.0 { -1.0 } else { 1.0 }).collect();
            let z = self.solve_transposed_once(&signs)?;
            let Some((best, _)) = z.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else { break };
            if best == last {
                break;
            }
            last = best;
            let mut unit = vec![0.0; n];
            unit[best] = 1.0;
            x = self.solve_once(unit)?;
            let next = x.iter().map(|x| x.abs()).sum::<f64>();
            if next <= norm {
                break;
            }
            norm = next;
        }
        // Higham's second start guards against the matrices on which the first one is blind.
        let alternating: Vec<f64> =
            (0..n).map(|i| (if i % 2 == 0 { 1.0 } else { -1.0 }) * (1.0 + i as f64 / (n.max(2) - 1) as f64)).collect();
        let second = self.solve_once(alternating)?.iter().map(|x| x.abs()).sum::<f64>() * 2.0 / (3.0 * n as f64);
        Ok(if norm.is_nan() || second.is_nan() { f64::INFINITY } else { norm.max(second) })
    }
}

#[derive(Clone, Copy)]
enum Side {
    Straight,
    Transposed,
}

impl Core {
    fn solve(&self, b: &mut [f64], side: Side) -> Result<(), NumericError> {
        match self {
            Core::Empty => Ok(()),
            Core::Dense(straight, transposed) => {
                let lu = match side {
                    Side::Straight => straight,
                    Side::Transposed => transposed,
                };
                let mut right = nalgebra::DVector::from_column_slice(b);
                if !lu.solve_mut(&mut right) {
                    return Err(NumericError::Singular);
                }
                b.copy_from_slice(right.as_slice());
                Ok(())
            }
            Core::Sparse(lu) => {
                let right = faer::ColMut::from_slice_mut(b).as_mat_mut();
                match side {
                    Side::Straight => lu.solve_in_place(right),
                    Side::Transposed => lu.solve_transpose_in_place(right),
                }
                Ok(())
            }
        }
    }
}

#[allow(clippy::cast_possible_truncation)]
fn factor_core(core: &Sparse<f64>) -> Result<Core, NumericError> {
    let n = core.rows();
    if core.columns() != n {
        return Err(NumericError::Singular);
    }
    if n == 0 {
        return Ok(Core::Empty);
    }
    if (0..n).any(|column| core.starts()[column] == core.starts()[column + 1]) {
        return Err(NumericError::Singular);
    }
    if n <= DENSE_CORE {
        let mut dense = nalgebra::DMatrix::zeros(n, n);
        for column in 0..n {
            for (row, value) in core.column(column) {
                dense[(row, column)] = value;
            }
        }
        let transposed = dense.transpose().lu();
        let straight = dense.lu();
        if !straight.is_invertible() || !transposed.is_invertible() {
            return Err(NumericError::Singular);
        }
        return Ok(Core::Dense(straight, transposed));
    }
    let starts: Vec<u32> = core.starts().iter().map(|&start| start as u32).collect();
    let symbolic = faer::sparse::SymbolicSparseColMat::new_checked(n, n, starts, None, core.indices().to_vec());
    let matrix = SparseColMat::new(symbolic, core.values().to_vec());
    let symbolic = SymbolicLu::try_new(matrix.symbolic()).map_err(|_| NumericError::OutOfMemory)?;
    let lu = Lu::try_new_with_symbolic(symbolic, matrix.as_ref()).map_err(|fault| match fault {
        faer::sparse::linalg::LuError::Generic(_) => NumericError::OutOfMemory,
        faer::sparse::linalg::LuError::SymbolicSingular { .. } => NumericError::Singular,
    })?;
    Ok(Core::Sparse(Box::new(lu)))
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
    let power =
        |largest: f64| if largest > 0.0 { (-largest.log2()).round().clamp(-1000.0, 1000.0).exp2() } else { 1.0 };
    for _ in 0..2 {
        let mut largest = vec![0.0f64; rows.len()];
        for (column, scale) in columns.iter().enumerate() {
            for (row, value) in matrix.column(column) {
                largest[row] = largest[row].max(value.abs() * scale);
            }
        }
        rows = largest.into_iter().map(power).collect();
        for (column, scale) in columns.iter_mut().enumerate() {
            *scale = power(matrix.column(column).fold(0.0f64, |m, (row, value)| m.max(value.abs() * rows[row])));
        }
    }
    let scaled = matrix.map(|row, column, value| value * rows[row] * columns[column]);
    (scaled, rows, columns)
}

/// b − A x, each sum in twice the working precision (two-sum by Knuth, two-product by Dekker).
fn residual(matrix: &Sparse<f64>, x: &[f64], b: &[f64]) -> Vec<f64> {
    let mut high = b.to_vec();
    let mut low = vec![0.0; b.len()];
    for (column, &x) in x.iter().enumerate() {
        for (row, value) in matrix.column(column) {
            let (product, product_error) = two_product(-value, x);
            let (sum, sum_error) = two_sum(high[row], product);
            high[row] = sum;
            low[row] += product_error + sum_error;
        }
    }
    high.iter().zip(&low).map(|(high, low)| high + low).collect()
}

fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let part = sum - a;
    (sum, (a - (sum - part)) + (b - part))
}

fn two_product(a: f64, b: f64) -> (f64, f64) {
    const SPLIT: f64 = 134_217_729.0;
    let halves = |x: f64| {
        let t = SPLIT * x;
        let high = t - (t - x);
        (high, x - high)
    };
    let product = a * b;
    let ((ah, al), (bh, bl)) = (halves(a), halves(b));
    let error = ((ah * bh - product) + ah * bl + al * bh) + al * bl;
    // Splitting overflows near the top of the range; the plain product then stands alone.
    (product, if error.is_finite() { error } else { 0.0 })
}

fn column_norms(matrix: &Sparse<f64>) -> impl Iterator<Item = f64> + '_ {
    (0..matrix.columns()).map(|column| matrix.column(column).map(|(_, value)| value.abs()).sum())
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
            let truth = (0..n).map(column_sum).fold(0.0, f64::max) * column_norms(&factor.matrix).fold(0.0, f64::max);
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
