//! Numbers as the notation means them: an exact rational, an exact rational
//! multiple of pi, or a float where neither can be kept.
//!
//! Decimals, sums, products, quotients and perfect squares stay exact, so the
//! verdict on a layout rests on the coordinates as they were written. A number
//! that has gone through a root or a sine stands for the dyadic rational its
//! float holds.
//!
//! Must not know: units, dimensions.

use std::cmp::Ordering;
use std::f64::consts::PI;

use num_bigint::BigInt;
use num_rational::BigRational;

use super::rational::{MAX_RATIONAL_BITS, Rational, big_from_f64, power_of_ten};

/// Decimals beyond ten to this power, either way, are not read: no float
/// could hold them.
pub const MAX_DECIMAL_EXPONENT: i64 = 400;

/// Decimals of more digits than this are read as floats.
pub const MAX_EXACT_DIGITS: usize = 800;

#[derive(Clone, Debug, PartialEq)]
pub enum Number {
    Exact(Rational),
    /// A rational multiple of pi: what degrees are.
    Pi(Rational),
    /// Never `-0`.
    Float(f64),
}

use Number::{Exact, Float, Pi};

impl Number {
    pub const ZERO: Number = Exact(Rational::ZERO);
    pub const ONE: Number = Exact(Rational::ONE);
    pub const PI: Number = Pi(Rational::ONE);

    pub const fn from_integer(value: i64) -> Number {
        Exact(Rational::from_integer(value))
    }

    /// `numerator / denominator`; zero where the denominator is zero.
    pub const fn ratio(numerator: i64, denominator: i64) -> Number {
        Exact(Rational::ratio(numerator, denominator))
    }

    pub fn from_f64(value: f64) -> Number {
        // Adding +0 turns -0 into +0 and leaves all else.
        Float(value + 0.0)
    }

    /// A decimal such as `12`, `4.5`, `1_000`, `2.5e3`, without a sign. `None`
    /// for any other text and for numbers no float can hold.
    pub fn parse_decimal(text: &str) -> Option<Number> {
        let decimal = Decimal::scan(text.as_bytes())?;
        let shift = decimal.exponent - i64::try_from(decimal.places).ok()?;
        if decimal.significant <= 18 && (-18..=0).contains(&shift) {
            return Rational::from_decimal(decimal.leading, shift.unsigned_abs() as u32).map(Exact);
        }
        decimal.to_number(text, shift)
    }

    fn exact(value: Rational) -> Number {
        if value.bits() > MAX_RATIONAL_BITS { Number::from_f64(value.to_f64()) } else { Exact(value) }
    }

    fn multiple_of_pi(value: Rational) -> Number {
        if value.is_zero() {
            Number::ZERO
        } else if value.bits() > MAX_RATIONAL_BITS {
            Number::from_f64(times_pi(value.to_f64()))
        } else {
            Pi(value)
        }
    }

    pub fn plus(&self, other: &Number) -> Number {
        match (self, other) {
            (Exact(a), Exact(b)) => Number::exact(a.plus(b)),
            (Pi(a), Pi(b)) => Number::multiple_of_pi(a.plus(b)),
            (Exact(zero), kept) | (kept, Exact(zero)) if zero.is_zero() => kept.clone(),
            _ => Number::from_f64(self.to_f64() + other.to_f64()),
        }
    }

    pub fn minus(&self, other: &Number) -> Number {
        self.plus(&other.negated())
    }

    pub fn times(&self, other: &Number) -> Number {
        match (self, other) {
            (Exact(a), Exact(b)) => Number::exact(a.times(b)),
            (Exact(zero), _) | (_, Exact(zero)) if zero.is_zero() => Number::ZERO,
            (Exact(one), kept) | (kept, Exact(one)) if one.as_integer() == Some(1) => kept.clone(),
            (Exact(a), Pi(b)) | (Pi(b), Exact(a)) => Number::multiple_of_pi(a.times(b)),
            _ => Number::from_f64(self.to_f64() * other.to_f64()),
        }
    }

    /// The quotient; `None` where the divisor is zero.
    pub fn over(&self, other: &Number) -> Option<Number> {
        if other.is_zero() {
            return None;
        }
        Some(match (self, other) {
            (Exact(a), Exact(b)) | (Pi(a), Pi(b)) => Number::exact(a.over(b)?),
            (Pi(a), Exact(b)) => Number::multiple_of_pi(a.over(b)?),
            (Exact(zero), _) if zero.is_zero() => Number::ZERO,
            _ => Number::from_f64(self.to_f64() / other.to_f64()),
        })
    }

    #[must_use]
    pub fn negated(&self) -> Number {
        match self {
            Exact(value) => Exact(value.negated()),
            Pi(value) => Pi(value.negated()),
            Float(value) => Number::from_f64(-value),
        }
    }

    #[must_use]
    pub fn abs(&self) -> Number {
        match self {
            Exact(value) => Exact(value.abs()),
            Pi(value) => Pi(value.abs()),
            Float(value) => Number::from_f64(value.abs()),
        }
    }

    /// A whole power; `None` for zero to a negative power. `x^0` is 1.
    pub fn power(&self, exponent: i32) -> Option<Number> {
        if exponent < 0 && self.is_zero() {
            return None;
        }
        match self {
            _ if exponent == 0 => Some(Number::ONE),
            _ if exponent == 1 => Some(self.clone()),
            Exact(value) => Some(
                value.power(exponent).map_or_else(|| Number::from_f64(value.to_f64().powi(exponent)), Number::exact),
            ),
            _ => Some(Number::from_f64(self.to_f64().powi(exponent))),
        }
    }

    /// The root, exact where it is rational; `None` below zero.
    pub fn sqrt(&self) -> Option<Number> {
        if let Exact(value) = self
            && let Some(root) = value.exact_sqrt()
        {
            return Some(Exact(root));
        }
        let value = self.to_f64();
        (value >= 0.0).then(|| Number::from_f64(value.sqrt()))
    }

    /// The root of the sum of two squares; exact for 3-4-5 and its kin.
    pub fn hypot(&self, other: &Number) -> Number {
        match (self, other) {
            (Exact(a), _) if a.is_zero() => other.abs(),
            (_, Exact(b)) if b.is_zero() => self.abs(),
            (Exact(a), Exact(b)) if a.bits().max(b.bits()) <= MAX_RATIONAL_BITS / 4 => {
                let square = a.times(a).plus(&b.times(b));
                square.exact_sqrt().map_or_else(|| Number::from_f64(self.to_f64().hypot(other.to_f64())), Exact)
            }
            _ => Number::from_f64(self.to_f64().hypot(other.to_f64())),
        }
    }

    /// The nearest double (within one unit in the last place for multiples of
    /// pi), never `-0`; infinite where it is out of range.
    pub fn to_f64(&self) -> f64 {
        match self {
            Exact(value) => value.to_f64(),
            Pi(value) => times_pi(value.to_f64()),
            Float(value) => *value,
        }
    }

    pub fn is_zero(&self) -> bool {
        match self {
            Exact(value) | Pi(value) => value.is_zero(),
            Float(value) => *value == 0.0,
        }
    }

    /// Below zero.
    pub fn is_negative(&self) -> bool {
        match self {
            Exact(value) | Pi(value) => value.is_negative(),
            Float(value) => *value < 0.0,
        }
    }

    /// Kept as the rational it is: no angle, root or multiple of pi.
    pub const fn is_rational(&self) -> bool {
        matches!(self, Exact(_))
    }

    /// A rational, or a rational multiple of pi.
    pub const fn is_exact(&self) -> bool {
        matches!(self, Exact(_) | Pi(_))
    }

    /// Zero, or of a size between the two, so that squares and quotients of
    /// such numbers stay within the range of a double.
    pub fn is_between(&self, smallest: f64, largest: f64) -> bool {
        match self {
            // Two machine words are always within 1e-19 … 1e19.
            Exact(value) | Pi(value) if value.bits() <= 63 && smallest <= 1e-20 && largest >= 1e20 => true,
            _ if self.is_zero() => true,
            _ => (smallest..=largest).contains(&self.to_f64().abs()),
        }
    }

    /// The order of the numbers they stand for, exactly except between a
    /// multiple of pi and another kind, which are compared as floats. A NaN
    /// comes after all else.
    pub fn compare(&self, other: &Number) -> Ordering {
        match (self, other) {
            (Exact(a), Exact(b)) | (Pi(a), Pi(b)) => a.cmp(b),
            (Exact(_), Float(_)) | (Float(_), Exact(_)) => {
                // Rounding keeps order, so only a tie needs the exact numbers.
                let (a, b) = (self.to_f64(), other.to_f64());
                let tie = || if a.is_finite() { self.to_rational().cmp(&other.to_rational()) } else { Ordering::Equal };
                a.partial_cmp(&b).unwrap_or_else(|| a.total_cmp(&b)).then_with(tie)
            }
            _ => {
                let (a, b) = (self.to_f64(), other.to_f64());
                a.partial_cmp(&b).unwrap_or_else(|| a.total_cmp(&b))
            }
        }
    }

    /// Numerator and denominator of an exact number whose parts are small.
    pub const fn as_small_ratio(&self) -> Option<(i64, i64)> {
        match self {
            Number::Exact(rational) => rational.as_small_ratio(),
            Number::Pi(_) | Number::Float(_) => None,
        }
    }

    /// The whole number it exactly is, if it is one and fits.
    pub const fn as_integer(&self) -> Option<i64> {
        match self {
            Exact(value) => value.as_integer(),
            _ => None,
        }
    }

    /// The rational number it stands for: for a float, and for a multiple of
    /// pi by way of its float, the dyadic rational. Zero if it is not finite.
    pub fn to_rational(&self) -> BigRational {
        match self {
            Exact(value) => value.to_big(),
            _ => big_from_f64(self.to_f64()),
        }
    }

    /// The rational number it is; `None` where it is none, or not known to be.
    pub fn exactly(&self) -> Option<BigRational> {
        match self {
            Exact(value) => Some(value.to_big()),
            _ => self.is_zero().then(|| BigRational::from_integer(BigInt::from(0))),
        }
    }
}

/// `value * pi` to nearly the last place: the product with pi as the sum of
/// two doubles.
fn times_pi(value: f64) -> f64 {
    const PI_REST: f64 = 1.224_646_799_147_353_2e-16;
    let high = value * PI;
    let low = value.mul_add(PI, -high) + value * PI_REST;
    if high.is_finite() { high + low } else { high }
}

/// What one pass over a decimal's bytes finds.
struct Decimal {
    /// The first eighteen significant digits.
    leading: u64,
    /// Significant digits, from the first that is not zero.
    significant: usize,
    /// Digits after the point.
    places: usize,
    exponent: i64,
    /// Byte length of the part before the exponent.
    mantissa_end: usize,
}

impl Decimal {
    /// `digits [. digits] [e [+|-] digits]`, with single `_` between digits.
    fn scan(bytes: &[u8]) -> Option<Decimal> {
        let mut found = Decimal { leading: 0, significant: 0, places: 0, exponent: 0, mantissa_end: bytes.len() };
        let mut seen_point = false;
        let mut after_digit = false;
        for (at, byte) in bytes.iter().enumerate() {
            match byte {
                b'0'..=b'9' => {
                    after_digit = true;
                    found.places += usize::from(seen_point);
                    if found.significant > 0 || *byte != b'0' {
                        found.significant += 1;
                        if found.significant <= 18 {
                            found.leading = found.leading * 10 + u64::from(byte - b'0');
                        }
                    }
                }
                b'_' if after_digit => after_digit = false,
                b'.' if !seen_point && (after_digit || at == 0) => (seen_point, after_digit) = (true, false),
                b'e' | b'E' if after_digit => {
                    found.mantissa_end = at;
                    found.exponent = parse_exponent(bytes.get(at + 1..)?)?;
                    break;
                }
                _ => return None,
            }
        }
        after_digit.then_some(found)
    }

    /// The digits times ten to the power of `shift`.
    fn to_number(&self, text: &str, shift: i64) -> Option<Number> {
        if self.significant == 0 {
            return Some(Number::ZERO);
        }
        let size = shift.saturating_add(i64::try_from(self.significant).ok()?);
        if size.abs() > MAX_DECIMAL_EXPONENT {
            return None;
        }
        let mantissa = text.get(..self.mantissa_end)?;
        let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
        if self.significant > MAX_EXACT_DIGITS {
            let float: f64 = format!("{digits}e{shift}").parse().ok()?;
            return (float.is_finite() && float != 0.0).then(|| Number::from_f64(float));
        }
        let ten = power_of_ten(u32::try_from(shift.unsigned_abs()).ok()?);
        let digits: BigInt = digits.parse().ok()?;
        let value = if shift >= 0 { BigRational::from_integer(digits * ten) } else { BigRational::new(digits, ten) };
        Some(Number::exact(Rational::from_big(value)))
    }
}

fn parse_exponent(bytes: &[u8]) -> Option<i64> {
    let (sign, digits) = match bytes.split_first()? {
        (b'-', rest) => (-1, rest),
        (b'+', rest) => (1, rest),
        _ => (1, bytes),
    };
    if digits.is_empty() {
        return None;
    }
    let mut exponent = 0_i64;
    for byte in digits {
        let digit = byte.is_ascii_digit().then(|| i64::from(byte - b'0'))?;
        exponent = exponent.saturating_mul(10).saturating_add(digit).min(i64::from(u32::MAX));
    }
    Some(sign * exponent)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn number(text: &str) -> Number {
        Number::parse_decimal(text).unwrap()
    }

    fn rational(numerator: i64, denominator: i64) -> Number {
        Number::ratio(numerator, denominator)
    }

    #[test]
    fn decimals_are_exact() {
        assert_eq!(number("12.5"), rational(25, 2));
        assert_eq!(number("1_000"), rational(1000, 1));
        assert_eq!(number("2.5e3"), rational(2500, 1));
        assert_eq!(number("6.5e-6"), rational(13, 2_000_000));
        assert_eq!(number(".5"), rational(1, 2));
        assert_eq!(number("0.0"), Number::ZERO);
        assert_eq!(number("0e999999999999999999999"), Number::ZERO);
        assert_eq!(number("100.00"), rational(100, 1));
        assert_eq!(number("0.1").plus(&number("0.2")), number("0.3"));
        assert_eq!(number("123456789012345678901234567890").to_f64(), 123456789012345678901234567890.0);
        assert_eq!(number("0.00000000000000000000000000001").to_f64(), 1e-29);
    }

    #[test]
    fn what_is_no_decimal_or_fits_no_double_is_refused() {
        for text in ["", ".", "1.", "_1", "1_", "1__0", "1e", "1e+", "1.5.2", "-1", "+1", "1e5_0", "0x10", "١"] {
            assert_eq!(Number::parse_decimal(text), None, "{text}");
        }
        assert_eq!(Number::parse_decimal("1e401"), None);
        assert_eq!(Number::parse_decimal("1e-9999999999999999999"), None);
        assert!(matches!(Number::parse_decimal(&"9".repeat(300)), Some(Exact(_))));
        assert_eq!(Number::parse_decimal(&"9".repeat(10_000)), None);
        assert!(
            matches!(Number::parse_decimal(&format!("0.{}", "3".repeat(10_000))), Some(Float(x)) if x == 1.0 / 3.0)
        );
    }

    #[test]
    fn sizes_stay_bounded() {
        let mut value = number("1.0000001");
        for _ in 0..40 {
            value = value.times(&value);
        }
        assert!(!value.is_exact());
        assert_eq!(number("7").power(i32::MAX).map(|power| power.to_f64()), Some(f64::INFINITY));
        assert_eq!(rational(1, 1).power(i32::MAX), Some(Number::ONE));
        assert_eq!(rational(-1, 1).power(i32::MIN + 1), Some(rational(-1, 1)));
        assert_eq!(rational(0, 1).power(-1), None);
        assert_eq!(rational(2, 3).power(-2), Some(rational(9, 4)));
    }

    #[test]
    fn roots_are_exact_where_rational() {
        assert_eq!(number("0.25").sqrt(), Some(number("0.5")));
        assert_eq!(rational(3, 1).hypot(&rational(4, 1)), rational(5, 1));
        assert_eq!(number("1.5").hypot(&rational(-2, 1)), number("2.5"));
        assert_eq!(rational(-7, 3).hypot(&Number::ZERO), rational(7, 3));
        assert_eq!(rational(2, 1).sqrt(), Some(Float(2f64.sqrt())));
        assert_eq!(rational(-1, 1).sqrt(), None);
        assert_eq!(Number::from_f64(f64::NAN).sqrt(), None);
        assert_eq!(number("1e300").sqrt(), Some(number("1e150")));
    }

    #[test]
    fn zero_has_no_sign() {
        for zero in [
            Number::from_f64(-0.0),
            Number::from_f64(0.0).negated(),
            Number::from_f64(-1e-300).times(&number("1e-300")),
        ] {
            assert!(zero.is_zero());
            assert!(zero.to_f64().is_sign_positive());
        }
    }

    #[test]
    fn angles_are_exact_where_their_sines_are() {
        let degrees = |degrees: i64| Number::PI.times(&rational(degrees, 180));
        assert_eq!(degrees(30).sine(), rational(1, 2));
        assert_eq!(degrees(-150).sine(), rational(-1, 2));
        assert_eq!(degrees(120).cosine(), rational(-1, 2));
        assert_eq!(degrees(90).cosine(), Number::ZERO);
        assert_eq!(degrees(3690).sine(), Number::ONE);
        assert_eq!(degrees(45).sine(), degrees(45).cosine());
        assert_eq!(degrees(135).tangent(), Some(rational(-1, 1)));
        assert_eq!(degrees(-90).tangent(), None);
        assert_eq!(rational(1, 2).arcsine(), Some(degrees(30)));
        assert_eq!(rational(-1, 2).arccosine(), Some(degrees(120)));
        assert_eq!(rational(-1, 1).arctangent(), degrees(-45));
        assert_eq!(rational(-2, 1).arctangent2(&rational(-2, 1)), Some(degrees(-135)));
        assert_eq!(Number::ZERO.arctangent2(&rational(-2, 1)), Some(degrees(180)));
        assert_eq!(Number::ZERO.arctangent2(&Number::ZERO), None);
        assert_eq!(rational(2, 1).arcsine(), None);
        assert_eq!(degrees(180).to_f64(), PI);
    }

    #[test]
    fn orders_are_exact_to_the_last_bit() {
        assert_eq!(number("0.1").compare(&Number::from_f64(0.1)), Ordering::Less);
        assert_eq!(number("0.5").compare(&Number::from_f64(0.5)), Ordering::Equal);
        assert_eq!(Number::PI.compare(&number("3.14159")), Ordering::Greater);
        assert_eq!(Number::from_f64(f64::INFINITY).compare(&number("1e300")), Ordering::Greater);
    }

    /// Small, large and awkward rationals.
    fn any_exact() -> impl Strategy<Value = Number> {
        prop_oneof![
            (-1000i64..1000, 1i64..1000).prop_map(|(a, b)| rational(a, b)),
            (any::<i64>(), 1i64..).prop_map(|(a, b)| rational(a, b)),
            (any::<i64>(), any::<i64>(), 1i64.., 1i64..)
                .prop_map(|(a, b, c, d)| rational(a, c).times(&rational(b, d)).plus(&rational(1, 3))),
        ]
    }

    proptest! {
        #[test]
        fn the_field_laws_hold(a in any_exact(), b in any_exact(), c in any_exact()) {
            prop_assert_eq!(a.plus(&b), b.plus(&a));
            prop_assert_eq!(a.times(&b), b.times(&a));
            prop_assert_eq!(a.plus(&b).plus(&c), a.plus(&b.plus(&c)));
            prop_assert_eq!(a.times(&b).times(&c), a.times(&b.times(&c)));
            prop_assert_eq!(a.times(&b.plus(&c)), a.times(&b).plus(&a.times(&c)));
            prop_assert_eq!(a.minus(&a), Number::ZERO);
            if let Some(quotient) = a.over(&b) {
                prop_assert_eq!(quotient.times(&b), a);
            } else {
                prop_assert!(b.is_zero());
            }
        }

        #[test]
        fn operations_agree_with_the_big_rationals(a in any_exact(), b in any_exact()) {
            prop_assert_eq!(a.plus(&b).to_rational(), a.to_rational() + b.to_rational());
            prop_assert_eq!(a.times(&b).to_rational(), a.to_rational() * b.to_rational());
            prop_assert_eq!(a.compare(&b), a.to_rational().cmp(&b.to_rational()));
            prop_assert_eq!(a.compare(&Number::from_f64(b.to_f64())), a.to_rational().cmp(&big_from_f64(b.to_f64())));
        }

        #[test]
        fn floats_are_the_nearest(a in any_exact()) {
            let float = a.to_f64();
            let error = |x: f64| { let d = big_from_f64(x) - a.to_rational(); if d < num_traits::Zero::zero() { -d } else { d } };
            prop_assert!(error(float) <= error(float.next_up()));
            prop_assert!(error(float) <= error(float.next_down()));
        }

        #[test]
        fn parsing_rounds_as_the_standard_library_does(text in "[0-9]{1,25}(\\.[0-9]{1,25})?(e-?[0-9]{1,2})?") {
            let expected: f64 = text.parse().unwrap();
            prop_assert_eq!(number(&text).to_f64(), expected);
        }

        #[test]
        fn no_text_makes_the_parser_panic(text in "\\PC{0,40}", digits in "[0-9._e+-]{0,40}") {
            let _ = (Number::parse_decimal(&text), Number::parse_decimal(&digits));
        }
    }
}
