//! Sines, cosines and their inverses, exact wherever an angle that is a
//! rational part of a turn has a rational one (Niven's theorem: multiples of
//! 30° and 90°, and 45° for the tangent).
//!
//! Angles are in radians. Must not know: dimensions.

use std::cmp::Ordering;

use super::number::Number;
use super::rational::Rational;

const HALF: Rational = Rational::ratio(1, 2);
const QUARTER: Rational = Rational::ratio(1, 4);

impl Number {
    pub fn sine(&self) -> Number {
        match self {
            Number::Pi(half_turns) => sine_of_half_turns(half_turns),
            _ if self.is_zero() => Number::ZERO,
            _ => Number::from_f64(self.to_f64().sin()),
        }
    }

    pub fn cosine(&self) -> Number {
        match self {
            Number::Pi(half_turns) => sine_of_half_turns(&half_turns.plus(&HALF)),
            _ if self.is_zero() => Number::ONE,
            _ => Number::from_f64(self.to_f64().cos()),
        }
    }

    /// `None` at 90° and every half turn from it.
    pub fn tangent(&self) -> Option<Number> {
        let Number::Pi(half_turns) = self else {
            return Some(if self.is_zero() { Number::ZERO } else { Number::from_f64(self.to_f64().tan()) });
        };
        let part = half_turns.remainder(1);
        if part == QUARTER {
            Some(Number::ONE)
        } else if part == Rational::ratio(3, 4) {
            Some(Number::from_integer(-1))
        } else {
            self.sine().over(&self.cosine())
        }
    }

    /// From -90° to 90°; `None` beyond ±1.
    pub fn arcsine(&self) -> Option<Number> {
        let doubled = self.times(&Number::from_integer(2)).as_integer();
        if let Some(sixths) =
            doubled.and_then(|halves| [-3, -1, 0, 1, 3].get(usize::try_from(halves + 2).ok()?).copied())
        {
            return Some(Number::PI.times(&Number::ratio(sixths, 6)));
        }
        let value = self.to_f64();
        (value.abs() <= 1.0).then(|| Number::from_f64(value.asin()))
    }

    /// From 0° to 180°; `None` beyond ±1.
    pub fn arccosine(&self) -> Option<Number> {
        match self.arcsine()? {
            Number::Float(_) => Some(Number::from_f64(self.to_f64().acos())),
            exact => Some(Number::PI.times(&Number::ratio(1, 2)).minus(&exact)),
        }
    }

    /// From -90° to 90°.
    pub fn arctangent(&self) -> Number {
        match self.as_integer() {
            Some(eighths @ -1..=1) => Number::PI.times(&Number::ratio(eighths, 4)),
            _ => Number::from_f64(self.to_f64().atan()),
        }
    }

    /// The angle of the point (`x`, `self`), above -180° and up to 180°.
    /// `None` at the origin.
    pub fn arctangent2(&self, x: &Number) -> Option<Number> {
        let sign = |value: &Number| value.compare(&Number::ZERO);
        let eighths = match (sign(x), sign(self)) {
            (Ordering::Equal, Ordering::Equal) => return None,
            (Ordering::Greater, Ordering::Equal) => 0,
            (Ordering::Less, Ordering::Equal) => 4,
            (Ordering::Equal, Ordering::Greater) => 2,
            (Ordering::Equal, Ordering::Less) => -2,
            (across, up) if self.abs().compare(&x.abs()) == Ordering::Equal => {
                let size = if across == Ordering::Greater { 1 } else { 3 };
                if up == Ordering::Greater { size } else { -size }
            }
            _ => return Some(Number::from_f64(self.to_f64().atan2(x.to_f64()))),
        };
        Some(Number::PI.times(&Number::ratio(eighths, 4)))
    }
}

/// sin(`half_turns` · π), brought to the first eighth of a turn so that equal
/// sines come out equal to the last bit.
fn sine_of_half_turns(half_turns: &Rational) -> Number {
    let part = half_turns.remainder(2);
    let (negative, part) = if part >= Rational::ONE { (true, part.minus(&Rational::ONE)) } else { (false, part) };
    let part = if part > HALF { Rational::ONE.minus(&part) } else { part };
    let size = if part.is_zero() {
        Number::ZERO
    } else if part == HALF {
        Number::ONE
    } else if part == Rational::ratio(1, 6) {
        Number::ratio(1, 2)
    } else if part == QUARTER {
        Number::from_f64(0.5_f64.sqrt())
    } else if part == Rational::ratio(1, 3) {
        Number::from_f64(0.75_f64.sqrt())
    } else if part < QUARTER {
        Number::from_f64(Number::Pi(part).to_f64().sin())
    } else {
        Number::from_f64(Number::Pi(HALF.minus(&part)).to_f64().cos())
    };
    if negative { size.negated() } else { size }
}
