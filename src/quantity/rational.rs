//! Rational numbers: two machine words while they fit, arbitrary precision
//! where they do not.
//!
//! Must not know: units, floating-point results of the statics.

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// Numerator or denominator beyond this many bits: the number is kept as a
/// float instead, so that no expression can exhaust memory.
pub const MAX_RATIONAL_BITS: u64 = 4096;

/// A rational number in lowest terms.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Rational(Repr);

/// The form is canonical: `Big` is used only for what does not fit `Small`,
/// so equal numbers have equal forms.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Repr {
    /// Numerator (never `i64::MIN`) and denominator (positive), coprime.
    Small(i64, i64),
    Big(Box<BigRational>),
}

use Repr::{Big, Small};

impl Rational {
    pub const ZERO: Rational = Rational(Small(0, 1));
    pub const ONE: Rational = Rational(Small(1, 1));

    /// A whole number. (`i64::MIN` alone would need the big form; it is taken
    /// one off, which no caller can reach from source text.)
    pub const fn from_integer(value: i64) -> Rational {
        Rational(Small(if value == i64::MIN { -i64::MAX } else { value }, 1))
    }

    /// `numerator / denominator`, reduced; zero where the denominator is zero.
    /// For tables of constants.
    pub const fn ratio(numerator: i64, denominator: i64) -> Rational {
        if denominator == 0 || numerator == i64::MIN || denominator == i64::MIN {
            return Rational::ZERO;
        }
        let divisor = gcd(numerator.unsigned_abs(), denominator.unsigned_abs()) as i64;
        let sign = if denominator < 0 { -1 } else { 1 };
        Rational(Small(sign * numerator / divisor, sign * denominator / divisor))
    }

    /// `digits / 10^places`, reduced. `places` at most 18 and `digits` below
    /// 2^63, else `None`.
    pub(super) fn from_decimal(digits: u64, places: u32) -> Option<Rational> {
        let mut numerator = i64::try_from(digits).ok()?;
        if places == 0 || numerator == 0 {
            return Some(Rational(Small(numerator, 1)));
        }
        let twos = places.min(numerator.trailing_zeros());
        numerator >>= twos;
        let mut fives = 0;
        while fives < places && numerator % 5 == 0 {
            numerator /= 5;
            fives += 1;
        }
        let denominator = POWERS_OF_FIVE.get((places - fives) as usize)? << (places - twos);
        Some(Rational(Small(numerator, denominator)))
    }

    /// The number of a big rational, in whichever form fits.
    pub fn from_big(value: BigRational) -> Rational {
        match (value.numer().to_i64(), value.denom().to_i64()) {
            (Some(numerator), Some(denominator)) if numerator != i64::MIN => Rational(Small(numerator, denominator)),
            _ => Rational(Big(Box::new(value))),
        }
    }

    pub fn to_big(&self) -> BigRational {
        match &self.0 {
            Small(numerator, denominator) => BigRational::new_raw((*numerator).into(), (*denominator).into()),
            Big(value) => (**value).clone(),
        }
    }

    /// Coprime numerator and positive denominator, from any that fit 128 bits.
    fn reduced(numerator: i128, denominator: i128) -> Rational {
        match (i64::try_from(numerator), i64::try_from(denominator)) {
            (Ok(small), Ok(below)) if small != i64::MIN => Rational(Small(small, below)),
            _ => Rational(Big(Box::new(BigRational::new_raw(numerator.into(), denominator.into())))),
        }
    }

    /// Bits of the longer of numerator and denominator.
    pub fn bits(&self) -> u64 {
        match &self.0 {
            Small(numerator, denominator) => {
                64 - u64::from(numerator.unsigned_abs().max(denominator.unsigned_abs()).leading_zeros())
            }
            Big(value) => value.numer().bits().max(value.denom().bits()),
        }
    }

    pub const fn is_zero(&self) -> bool {
        matches!(self.0, Small(0, _))
    }

    pub fn is_negative(&self) -> bool {
        match &self.0 {
            Small(numerator, _) => *numerator < 0,
            Big(value) => value.is_negative(),
        }
    }

    /// The whole number it is, if it is one and fits.
    pub const fn as_integer(&self) -> Option<i64> {
        match self.0 {
            Small(numerator, 1) => Some(numerator),
            _ => None,
        }
    }

    /// Numerator and denominator (positive, coprime), where both are small.
    pub const fn as_small_ratio(&self) -> Option<(i64, i64)> {
        match self.0 {
            Small(numerator, denominator) => Some((numerator, denominator)),
            Big(_) => None,
        }
    }

    pub fn plus(&self, other: &Rational) -> Rational {
        let (Small(a, b), Small(c, d)) = (&self.0, &other.0) else {
            return Rational::from_big(self.to_big() + other.to_big());
        };
        let (a, b, c, d) = (i128::from(*a), i128::from(*b), i128::from(*c), i128::from(*d));
        if b == 1 && d == 1 {
            return Rational::reduced(a + c, 1);
        }
        // Knuth, The Art of Computer Programming 2, 4.5.1: only a factor of
        // the denominators' own divisor can cancel.
        let divisor = i128::from(gcd(b as u64, d as u64));
        let sum = a * (d / divisor) + c * (b / divisor);
        let denominator = b / divisor;
        let common =
            if divisor == 1 { 1 } else { i128::from(gcd((sum % divisor).unsigned_abs() as u64, divisor as u64)) };
        Rational::reduced(sum / common, denominator * (d / common))
    }

    pub fn minus(&self, other: &Rational) -> Rational {
        self.plus(&other.negated())
    }

    pub fn times(&self, other: &Rational) -> Rational {
        let (Small(a, b), Small(c, d)) = (&self.0, &other.0) else {
            return Rational::from_big(self.to_big() * other.to_big());
        };
        let left = if *d == 1 { 1 } else { gcd(a.unsigned_abs(), *d as u64) as i64 };
        let right = if *b == 1 { 1 } else { gcd(c.unsigned_abs(), *b as u64) as i64 };
        Rational::reduced(i128::from(a / left) * i128::from(c / right), i128::from(b / right) * i128::from(d / left))
    }

    /// One over it; `None` for zero.
    pub fn reciprocal(&self) -> Option<Rational> {
        match &self.0 {
            Small(0, _) => None,
            Small(numerator, denominator) => {
                Some(Rational(Small(denominator * numerator.signum(), numerator.wrapping_abs())))
            }
            Big(value) => Some(Rational::from_big(value.recip())),
        }
    }

    /// The quotient; `None` where the divisor is zero.
    pub fn over(&self, other: &Rational) -> Option<Rational> {
        Some(self.times(&other.reciprocal()?))
    }

    pub fn negated(&self) -> Rational {
        match &self.0 {
            Small(numerator, denominator) => Rational(Small(-numerator, *denominator)),
            Big(value) => Rational::from_big(-(**value).clone()),
        }
    }

    pub fn abs(&self) -> Rational {
        if self.is_negative() { self.negated() } else { self.clone() }
    }

    /// `None` for zero to a negative power, and where the result would pass
    /// [`MAX_RATIONAL_BITS`].
    pub fn power(&self, exponent: i32) -> Option<Rational> {
        let base = if exponent < 0 { self.reciprocal()? } else { self.clone() };
        if base.bits() > 1 && (base.bits() - 1).saturating_mul(u64::from(exponent.unsigned_abs())) > MAX_RATIONAL_BITS {
            return None;
        }
        let (mut result, mut square, mut left) = (Rational::ONE, base, exponent.unsigned_abs());
        while left > 0 {
            if left & 1 == 1 {
                result = result.times(&square);
            }
            left >>= 1;
            if left > 0 {
                square = square.times(&square);
            }
        }
        Some(result)
    }

    /// The root where it is rational.
    pub fn exact_sqrt(&self) -> Option<Rational> {
        match &self.0 {
            Small(numerator, denominator) => {
                let (above, below) = (u64::try_from(*numerator).ok()?.isqrt(), denominator.unsigned_abs().isqrt());
                let (above, below) = (above as i64, below as i64);
                (above * above == *numerator && below * below == *denominator).then_some(Rational(Small(above, below)))
            }
            Big(value) if value.is_positive() => {
                let (above, below) = (value.numer().sqrt(), value.denom().sqrt());
                (&above * &above == *value.numer() && &below * &below == *value.denom())
                    .then(|| Rational::from_big(BigRational::new_raw(above, below)))
            }
            Big(_) => None,
        }
    }

    /// What is left after taking away whole multiples of `modulus`, in
    /// `0..modulus`; `modulus` is positive.
    pub fn remainder(&self, modulus: i64) -> Rational {
        match &self.0 {
            Small(numerator, denominator) => {
                let turn = i128::from(modulus) * i128::from(*denominator);
                Rational::reduced(i128::from(*numerator).rem_euclid(turn), i128::from(*denominator))
            }
            Big(value) => {
                let modulus = BigRational::from_integer(modulus.into());
                let turns = (&**value / &modulus).floor();
                Rational::from_big(&**value - turns * modulus)
            }
        }
    }

    /// The nearest double (ties to even); infinite where it is out of range.
    pub fn to_f64(&self) -> f64 {
        const EXACT: u64 = 1 << 53;
        match &self.0 {
            Small(numerator, denominator) => {
                let (above, below) = (numerator.unsigned_abs(), denominator.unsigned_abs());
                if above <= EXACT && below <= EXACT {
                    // Both are exact, so the one rounding is the division's.
                    return *numerator as f64 / *denominator as f64;
                }
                let shift = u128::from(above).leading_zeros() - 1;
                let scaled = u128::from(above) << shift;
                let (quotient, rest) = (scaled / u128::from(below), scaled % u128::from(below));
                let magnitude = (quotient | u128::from(rest != 0)) as f64 * 2f64.powi(-(shift as i32));
                if *numerator < 0 { -magnitude } else { magnitude }
            }
            Big(value) => value.to_f64().map_or(f64::NAN, |value| value + 0.0),
        }
    }
}

impl PartialOrd for Rational {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rational {
    fn cmp(&self, other: &Self) -> Ordering {
        match (&self.0, &other.0) {
            (Small(a, b), Small(c, d)) if b == d => a.cmp(c),
            (Small(a, b), Small(c, d)) => (i128::from(*a) * i128::from(*d)).cmp(&(i128::from(*c) * i128::from(*b))),
            _ => self.to_big().cmp(&other.to_big()),
        }
    }
}

impl std::fmt::Debug for Rational {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.0 {
            Small(numerator, 1) => write!(formatter, "{numerator}"),
            Small(numerator, denominator) => write!(formatter, "{numerator}/{denominator}"),
            Big(value) => write!(formatter, "{value}"),
        }
    }
}

const POWERS_OF_FIVE: [i64; 19] = {
    let mut powers = [1; 19];
    let mut index = 1;
    while index < 19 {
        powers[index] = powers[index - 1] * 5;
        index += 1;
    }
    powers
};

/// Stein's binary algorithm. `gcd(0, b)` is `b`.
const fn gcd(mut a: u64, mut b: u64) -> u64 {
    if a == 0 || b == 0 {
        return a | b;
    }
    let twos = (a | b).trailing_zeros();
    a >>= a.trailing_zeros();
    b >>= b.trailing_zeros();
    while a != b {
        if a > b {
            a -= b;
            a >>= a.trailing_zeros();
        } else {
            b -= a;
            b >>= b.trailing_zeros();
        }
    }
    a << twos
}

/// A finite float as the dyadic rational it stands for; zero otherwise.
pub(super) fn big_from_f64(value: f64) -> BigRational {
    BigRational::from_float(value).unwrap_or_else(BigRational::zero)
}

/// Ten to a power, for decimals too long for machine words.
pub(super) fn power_of_ten(exponent: u32) -> BigInt {
    num_traits::pow(BigInt::from(10), exponent as usize).max(BigInt::one())
}
