//! Residuals in twice the working precision, and condition numbers by a few solves.
//!
//! Must not know: how the systems are factored.

use super::error::NumericError;
use super::sparse::Sparse;

/// b − A x, each sum in twice the working precision (two-sum by Knuth, two-product by Dekker).
pub fn residual(matrix: &Sparse<f64>, x: &[f64], b: &[f64]) -> Vec<f64> {
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

/// The power of two nearest to the reciprocal of a size; one for zero and for subnormal or infinite sizes.
pub fn reciprocal_power(size: f64) -> f64 {
    // Sizes from 1/√2 up to √2 give one, by the exponent field alone.
    let exponent = ((size * std::f64::consts::SQRT_2).to_bits() >> 52) & 0x7ff;
    if exponent == 0 || exponent == 0x7ff { 1.0 } else { f64::from_bits((2046 - exponent).clamp(23, 2023) << 52) }
}

/// The largest column sum of sizes.
pub fn one_norm(matrix: &Sparse<f64>) -> f64 {
    (0..matrix.columns()).map(|column| matrix.column(column).map(|(_, value)| value.abs()).sum()).fold(0.0, f64::max)
}

/// A condition number, and where the matrix is weakest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Condition {
    /// At least one; infinite where a solve failed.
    pub number: f64,
    /// The row at which a unit on the right side makes the largest solution, as far as was looked.
    pub row: Option<usize>,
}

/// An estimate, from below, of the 1-norm condition number of an n × n matrix of the given 1-norm, from solves with
/// it and with its transpose.
///
/// Hager's method with Higham's safeguards: N. J. Higham, *Accuracy and Stability of Numerical Algorithms*,
/// 2nd ed., algorithm 15.4.
pub fn condition_of(
    n: usize,
    norm: f64,
    straight: impl Fn(Vec<f64>) -> Result<Vec<f64>, NumericError>,
    transposed: impl Fn(Vec<f64>) -> Result<Vec<f64>, NumericError>,
) -> Condition {
    let size = |x: &[f64]| x.iter().map(|x| x.abs()).sum::<f64>();
    let inverse_norm = || {
        let mut x = straight(vec![1.0 / n as f64; n])?;
        let mut norm = size(&x);
        let mut last = None;
        for _ in 0..4 {
            x.iter_mut().for_each(|x| *x = if *x < 0.0 { -1.0 } else { 1.0 });
            let z = transposed(x)?;
            let best = z.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).map(|(row, _)| row);
            let Some(row) = best.filter(|_| best != last) else { break };
            last = best;
            let mut unit = vec![0.0; n];
            unit[row] = 1.0;
            x = straight(unit)?;
            let next = size(&x);
            if next.is_nan() || next <= norm {
                norm = if next.is_nan() { next } else { norm };
                break;
            }
            norm = next;
        }
        // The second start guards against the matrices on which the first one is blind.
        let alternating: Vec<f64> =
            (0..n).map(|i| (if i % 2 == 0 { 1.0 } else { -1.0 }) * (1.0 + i as f64 / (n.max(2) - 1) as f64)).collect();
        let second = size(&straight(alternating)?) * 2.0 / (3.0 * n as f64);
        Ok::<_, NumericError>((if norm.is_nan() || second.is_nan() { f64::NAN } else { norm.max(second) }, last))
    };
    match if n == 0 { Ok((0.0, None)) } else { inverse_norm() } {
        Ok((inverse, row)) if !(norm * inverse).is_nan() => Condition { number: (norm * inverse).max(1.0), row },
        _ => Condition { number: f64::INFINITY, row: None },
    }
}

/// Whether a right side has as many items as there are places, all finite.
pub fn check_right(right: &[f64], expected: usize) -> Result<(), NumericError> {
    if right.len() != expected {
        return Err(NumericError::Mismatch { expected, found: right.len() });
    }
    match right.iter().position(|value| !value.is_finite()) {
        Some(row) => Err(NumericError::NotFiniteRight { row }),
        None => Ok(()),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn powers_are_the_nearest() {
        for (size, power) in [(1.0, 1.0), (1.4, 1.0), (1.5, 0.5), (0.75, 1.0), (0.6, 2.0), (8.0, 0.125), (0.0, 1.0)] {
            assert_eq!(reciprocal_power(size), power, "{size}");
        }
        for odd in [5e-324, 1e-310, 1e-300, 1e300, f64::MAX, f64::INFINITY, f64::NAN] {
            let power = reciprocal_power(odd);
            assert!(power.is_finite() && power > 0.0, "{odd}");
        }
    }

    #[test]
    fn residuals_keep_what_plain_sums_lose() {
        // 1 + 2^-60 − 1 is nothing in plain doubles.
        let tiny = 2.0f64.powi(-60);
        let a = Sparse::from_columns(1, [vec![(0, 1.0)], vec![(0, tiny)], vec![(0, -1.0)]]).unwrap();
        assert_eq!(residual(&a, &[1.0, 1.0, 1.0], &[0.0]), [-tiny]);
        // (1 + 2^-30)² − 1 − 2^-29 = 2^-60.
        let near = 1.0 + 2.0f64.powi(-30);
        let a = Sparse::from_columns(1, [vec![(0, near)]]).unwrap();
        assert_eq!(residual(&a, &[near], &[1.0 + 2.0f64.powi(-29)]), [-tiny]);
    }
}
