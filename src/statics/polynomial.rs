//! Small polynomials on an interval: values, integrals, and roots found one
//! derivative at a time, so that none is missed.
//!
//! Must not know: what they describe.

/// Coefficients from the constant up.
pub fn value(coefficients: &[f64], t: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * t + coefficient)
}

/// The antiderivative with this constant.
#[allow(clippy::cast_precision_loss)]
pub fn integral(coefficients: &[f64], constant: f64) -> Vec<f64> {
    let raised = coefficients.iter().enumerate().map(|(power, coefficient)| coefficient / (power + 1) as f64);
    std::iter::once(constant).chain(raised).collect()
}

#[allow(clippy::cast_precision_loss)]
fn derivative(coefficients: &[f64]) -> Vec<f64> {
    coefficients.iter().enumerate().skip(1).map(|(power, coefficient)| coefficient * power as f64).collect()
}

/// Sign changes in `0..=end`, ascending. Between two neighbouring roots of the
/// derivative a polynomial is monotone, so bisection finds each one.
pub fn roots(coefficients: &[f64], end: f64) -> Vec<f64> {
    let degree = coefficients.iter().rposition(|coefficient| *coefficient != 0.0).unwrap_or(0);
    let coefficients = coefficients.get(..=degree).unwrap_or(&[]);
    if degree == 0 || end <= 0.0 {
        return Vec::new();
    }
    let turns = roots(&derivative(coefficients), end);
    let mut found = Vec::new();
    let mut low = 0.0;
    for high in turns.into_iter().chain([end]) {
        if let Some(root) = bisect(coefficients, low, high)
            && found.last() != Some(&root)
        {
            found.push(root);
        }
        low = high;
    }
    found
}

fn bisect(coefficients: &[f64], mut low: f64, mut high: f64) -> Option<f64> {
    let (at_low, at_high) = (value(coefficients, low), value(coefficients, high));
    if at_low == 0.0 {
        return Some(low);
    }
    if at_high == 0.0 {
        return Some(high);
    }
    if at_low.signum() == at_high.signum() || !(at_low.is_finite() && at_high.is_finite()) {
        return None;
    }
    // A double has fewer than 1100 halvings in it; most end within 60.
    for _ in 0..1100 {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if value(coefficients, middle).signum() == at_low.signum() {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_change_is_found() {
        // (t - 1)(t - 2)(t - 3)
        let found = roots(&[-6.0, 11.0, -6.0, 1.0], 10.0);
        assert_eq!(found.len(), 3);
        for (root, expected) in found.iter().zip([1.0, 2.0, 3.0]) {
            assert!((root - expected).abs() < 1e-12);
        }
        assert!(roots(&[1.0, 0.0, 1.0], 10.0).is_empty());
        assert_eq!(roots(&[0.0, 0.0], 1.0), Vec::<f64>::new());
    }
}
