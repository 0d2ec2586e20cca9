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
pub fn derivative(coefficients: &[f64]) -> Vec<f64> {
    coefficients.iter().enumerate().skip(1).map(|(power, coefficient)| coefficient * power as f64).collect()
}

/// `c a + d b`
pub fn sum(a: &[f64], c: f64, b: &[f64], d: f64) -> Vec<f64> {
    let at = |of: &[f64], power: usize| of.get(power).copied().unwrap_or(0.0);
    (0..a.len().max(b.len())).map(|power| c * at(a, power) + d * at(b, power)).collect()
}

pub fn product(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut product = vec![0.0; (a.len() + b.len()).saturating_sub(1)];
    for (power, own) in a.iter().enumerate() {
        for (raise, other) in b.iter().enumerate() {
            if let Some(slot) = product.get_mut(power + raise) {
                *slot += own * other;
            }
        }
    }
    product
}

/// The polynomial of t whose value is that of `of` at `from + step t`.
pub fn moved([a, b, c, d]: [f64; 4], from: f64, step: f64) -> [f64; 4] {
    let x = from;
    [
        a + x * (b + x * (c + x * d)),
        (b + x * (2.0 * c + 3.0 * x * d)) * step,
        (c + 3.0 * x * d) * step * step,
        d * step * step * step,
    ]
}

/// Between which values a polynomial stays on `0..=end`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bound {
    pub least: f64,
    pub most: f64,
}

/// From the coefficients in Bernstein's form, which enclose the values; exact
/// for a straight line.
#[allow(clippy::cast_precision_loss)]
pub fn bound(coefficients: &[f64], end: f64) -> Bound {
    let degree = degree(coefficients);
    let mut bound = Bound { least: f64::INFINITY, most: f64::NEG_INFINITY };
    for index in 0..=degree {
        // Sum over k of C(index, k) / C(degree, k) of the scaled coefficients.
        let (mut value, mut share, mut power) = (0.0, 1.0, 1.0);
        for (k, coefficient) in coefficients.iter().enumerate().take(index + 1) {
            value += share * power * coefficient;
            share *= (index - k) as f64 / (degree - k).max(1) as f64;
            power *= end;
        }
        bound = Bound { least: bound.least.min(value), most: bound.most.max(value) };
    }
    bound
}

/// The ends of `0..=end` and where the slope changes its sign between them:
/// the extremes are among these.
pub fn turning_points(coefficients: &[f64], end: f64) -> Vec<f64> {
    let mut points = vec![0.0];
    if degree(coefficients) > 1 {
        points.extend(roots(&derivative(coefficients), end));
    }
    points.push(end);
    points
}

fn degree(coefficients: &[f64]) -> usize {
    coefficients.iter().rposition(|coefficient| *coefficient != 0.0).unwrap_or(0)
}

/// Sign changes in `0..=end`, ascending. Between two neighbouring roots of the
/// derivative a polynomial is monotone, so bisection finds each one.
pub fn roots(coefficients: &[f64], end: f64) -> Vec<f64> {
    let degree = degree(coefficients);
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

    #[test]
    fn bounds_enclose_and_turning_points_reach_the_extremes() {
        let curve = [1.0, -3.0, 0.5, 2.0, -0.75];
        let end = 2.0;
        let around = bound(&curve, end);
        let at = turning_points(&curve, end).into_iter().map(|t| value(&curve, t));
        let (least, most) = at.fold((f64::MAX, f64::MIN), |(least, most), v| (least.min(v), most.max(v)));
        for step in 0..=1000 {
            let here = value(&curve, end * f64::from(step) / 1000.0);
            assert!(around.least <= here && here <= around.most);
            assert!(least <= here + 1e-12 && here <= most + 1e-12);
        }
        assert_eq!(bound(&[1.0, 2.0, 0.0], 3.0), Bound { least: 1.0, most: 7.0 });
        let shifted = moved([1.0, 2.0, 3.0, 4.0], 0.5, -1.0);
        assert!((value(&shifted, 0.25) - value(&[1.0, 2.0, 3.0, 4.0], 0.25)).abs() < 1e-14);
    }
}
