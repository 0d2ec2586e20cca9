//! Arithmetic on values: dimensions are checked, a bare `0` fits any, and a
//! bare number takes the file's unit where it meets a quantity.
//!
//! Must not know: where a value was written. Errors are data; the caller, which
//! knows the place, makes the words.

use std::borrow::Cow;

use super::dimension::Dimension;
use super::error::ArithmeticError;
use super::number::Number;
use super::unit_system::UnitSystem;
use super::value::{Quantity, Value, Vector};

/// Sizes of non-zero values outside these limits (in m, N, s, K, rad) are
/// refused: beyond them squares and quotients leave the range of a double.
pub const SMALLEST_VALUE: f64 = 1e-100;
pub const LARGEST_VALUE: f64 = 1e100;

use ArithmeticError as E;

type Units<'a> = Option<&'a UnitSystem>;

/// A number, or several, of one dimension: what a quantity and a vector have in
/// common.
trait Measured: Clone {
    fn dimension(&self) -> Dimension;
    fn is_bare_zero(&self) -> bool;
    /// Number by number beside another of its kind, each in its range.
    fn beside(&self, other: &Self, dimension: Dimension, of: impl Fn(&Number, &Number) -> Number) -> Result<Self, E>;

    /// The sum. A bare number beside a length or a force takes its unit in `units`.
    fn sum(&self, other: &Self, units: Units<'_>) -> Result<Self, E> {
        if self.dimension() == other.dimension() {
            return self.beside(other, self.dimension(), Number::plus);
        }
        let bare = (self.is_bare_zero(), other.is_bare_zero());
        let dimension = common_dimension(self.dimension(), bare.0, other.dimension(), bare.1)?;
        self.fit(dimension, units)?.beside(&*other.fit(dimension, units)?, dimension, Number::plus)
    }

    fn product(&self, factor: &Quantity) -> Result<Self, E> {
        let dimension = self.dimension().times(factor.dimension).ok_or(E::DimensionTooLarge)?;
        self.beside(self, dimension, |own, _| own.times(&factor.value))
    }

    fn quotient(&self, divisor: &Quantity) -> Result<Self, E> {
        let dimension = self.dimension().over(divisor.dimension).ok_or(E::DimensionTooLarge)?;
        if divisor.value.is_zero() {
            return Err(E::DivisionByZero);
        }
        self.beside(self, dimension, |own, _| own.over(&divisor.value).unwrap_or(Number::ZERO))
    }

    /// The same as one of a wanted dimension: its own, a bare zero, or, of
    /// lengths and forces, a bare number in the file's unit.
    fn fit(&self, wanted: Dimension, units: Units<'_>) -> Result<Cow<'_, Self>, E> {
        if self.dimension() == wanted {
            return Ok(Cow::Borrowed(self));
        }
        let factor = if self.is_bare_zero() { Number::ZERO } else { bare_factor(self.dimension(), wanted, units)? };
        self.beside(self, wanted, |own, _| own.times(&factor)).map(Cow::Owned)
    }
}

impl Measured for Quantity {
    fn dimension(&self) -> Dimension {
        self.dimension
    }

    fn is_bare_zero(&self) -> bool {
        Quantity::is_bare_zero(self)
    }

    fn beside(&self, other: &Self, dimension: Dimension, of: impl Fn(&Number, &Number) -> Number) -> Result<Self, E> {
        Ok(Quantity::new(in_range(of(&self.value, &other.value))?, dimension))
    }
}

impl Measured for Vector {
    fn dimension(&self) -> Dimension {
        self.dimension
    }

    fn is_bare_zero(&self) -> bool {
        Vector::is_bare_zero(self)
    }

    fn beside(&self, other: &Self, dimension: Dimension, of: impl Fn(&Number, &Number) -> Number) -> Result<Self, E> {
        Ok(Vector::new(in_range(of(&self.x, &other.x))?, in_range(of(&self.y, &other.y))?, dimension))
    }
}

impl Value {
    /// The sum. A bare number beside a length or a force takes its unit in `units`.
    pub fn plus(&self, other: &Value, units: Units<'_>) -> Result<Value, E> {
        match (self, other) {
            (Value::Scalar(a), Value::Scalar(b)) => a.sum(b, units).map(Value::Scalar),
            (Value::Vector(a), Value::Vector(b)) => a.sum(b, units).map(Value::Vector),
            (kept, zero) | (zero, kept) if zero.is_bare_zero() => Ok(kept.clone()),
            _ => Err(E::ScalarAndVector),
        }
    }

    pub fn minus(&self, other: &Value, units: Units<'_>) -> Result<Value, E> {
        self.plus(&other.negated(), units)
    }

    #[must_use]
    pub fn negated(&self) -> Value {
        match self {
            Value::Scalar(quantity) => Value::Scalar(quantity.negated()),
            Value::Vector(vector) => Value::Vector(vector.negated()),
        }
    }

    pub fn times(&self, other: &Value) -> Result<Value, E> {
        match (self, other) {
            (Value::Scalar(a), Value::Scalar(b)) => a.product(b).map(Value::Scalar),
            (Value::Vector(vector), Value::Scalar(factor)) | (Value::Scalar(factor), Value::Vector(vector)) => {
                vector.product(factor).map(Value::Vector)
            }
            (Value::Vector(_), Value::Vector(_)) => Err(E::ProductOfVectors),
        }
    }

    pub fn over(&self, other: &Value) -> Result<Value, E> {
        match (self, other) {
            (Value::Scalar(a), Value::Scalar(b)) => a.quotient(b).map(Value::Scalar),
            (Value::Vector(vector), Value::Scalar(divisor)) => vector.quotient(divisor).map(Value::Vector),
            (_, Value::Vector(_)) => Err(E::DivisionByVector),
        }
    }

    pub fn power(&self, exponent: &Value) -> Result<Value, E> {
        match (self, exponent) {
            (Value::Scalar(base), Value::Scalar(exponent)) => base.power(exponent).map(Value::Scalar),
            (Value::Vector(_), _) => Err(E::PowerOfVector),
            (_, Value::Vector(_)) => Err(E::WantedScalar),
        }
    }

    /// `magnitude @ direction`
    pub fn toward(&self, direction: &Vector) -> Result<Value, E> {
        match self {
            Value::Scalar(magnitude) => direction.product(magnitude).map(Value::Vector),
            Value::Vector(_) => Err(E::WantedScalar),
        }
    }
}

impl Quantity {
    /// Whole powers of anything, half powers of what has a root, other powers
    /// of pure numbers.
    pub fn power(&self, exponent: &Quantity) -> Result<Quantity, E> {
        if !exponent.dimension.is_pure() {
            return Err(E::ExponentNotPure { found: exponent.dimension });
        }
        if let Some(whole) = exponent.value.as_integer() {
            let whole = i32::try_from(whole).map_err(|_| E::OutOfRange)?;
            let dimension = self.dimension.power(whole).ok_or(E::DimensionTooLarge)?;
            return Quantity::checked(self.value.power(whole).ok_or(E::DivisionByZero)?, dimension);
        }
        let halves = exponent.value.times(&Number::from_integer(2)).as_integer();
        if let Some(halves) = halves.and_then(|halves| i32::try_from(halves).ok()) {
            let root = self.square_root().map_err(|error| match error {
                E::RootOfDimension { found } => E::PowerOfDimension { found },
                other => other,
            })?;
            return root.power(&Quantity::pure(Number::from_integer(halves.into())));
        }
        if !self.dimension.is_pure() {
            return Err(E::PowerOfDimension { found: self.dimension });
        }
        if self.value.is_negative() {
            return Err(E::RootOfNegative);
        }
        if self.value.is_zero() {
            return if exponent.value.is_negative() { Err(E::DivisionByZero) } else { Ok(self.clone()) };
        }
        Quantity::checked(Number::from_f64(self.to_f64().powf(exponent.to_f64())), self.dimension)
    }

    /// Exact where it is rational; of a quantity whose dimension is a square.
    pub fn square_root(&self) -> Result<Quantity, E> {
        let dimension = self.dimension.root(2).ok_or(E::RootOfDimension { found: self.dimension })?;
        Quantity::checked(self.value.sqrt().ok_or(E::RootOfNegative)?, dimension)
    }

    /// The quantity as one of a wanted dimension: its own, a bare zero, or, of
    /// lengths and forces, a bare number in the file's unit.
    pub fn fitted(self, wanted: Dimension, units: Units<'_>) -> Result<Quantity, E> {
        if self.dimension == wanted { Ok(self) } else { Ok(self.fit(wanted, units)?.into_owned()) }
    }

    fn checked(value: Number, dimension: Dimension) -> Result<Quantity, E> {
        Ok(Quantity::new(in_range(value)?, dimension))
    }
}

impl Vector {
    /// `(x, y)`. A bare number beside a quantity takes the file's unit.
    pub fn from_components(x: Quantity, y: Quantity, units: Units<'_>) -> Result<Vector, E> {
        if x.dimension == y.dimension {
            return Ok(Vector::new(x.value, y.value, x.dimension));
        }
        let dimension = common_dimension(x.dimension, x.is_bare_zero(), y.dimension, y.is_bare_zero())?;
        Ok(Vector::new(x.fitted(dimension, units)?.value, y.fitted(dimension, units)?.value, dimension))
    }
}

/// The dimension two unlike summands share: that of the one that has any,
/// where the other is bare.
pub(super) fn common_dimension(
    left: Dimension,
    left_is_zero: bool,
    right: Dimension,
    right_is_zero: bool,
) -> Result<Dimension, E> {
    if right_is_zero || right.is_pure() {
        Ok(left)
    } else if left_is_zero || left.is_pure() {
        Ok(right)
    } else {
        Err(E::MixedDimensions { left, right })
    }
}

/// Whether a bare number may stand for a quantity of this kind, in the file's
/// unit: a length or a force. Anything else has a unit of its own.
pub fn takes_file_unit(dimension: Dimension) -> bool {
    matches!(dimension, Dimension::LENGTH | Dimension::FORCE)
}

/// What a bare number is multiplied by to become one of a wanted dimension.
fn bare_factor(found: Dimension, wanted: Dimension, units: Units<'_>) -> Result<Number, E> {
    if !found.is_pure() || wanted == Dimension::ANGLE {
        return Err(E::WrongDimension { wanted, found });
    }
    if !takes_file_unit(wanted) {
        return Err(E::UnitMissing { wanted });
    }
    let units = units.ok_or(E::NoFileUnits { wanted })?;
    Ok(units.unit_for(wanted).ok_or(E::WrongDimension { wanted, found })?.unit.factor)
}

fn in_range(value: Number) -> Result<Number, E> {
    if value.is_between(SMALLEST_VALUE, LARGEST_VALUE) { Ok(value) } else { Err(E::OutOfRange) }
}
