//! Quantities, vectors and the headings that make vectors of magnitudes.
//!
//! Must not know: names, where a value was written.

use super::dimension::Dimension;
use super::error::ArithmeticError;
use super::number::Number;
use super::units::Unit;

/// What an expression comes to.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Scalar(Quantity),
    Vector(Vector),
}

/// A number in m, N, s, K, rad or their products, with its dimension.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    pub value: Number,
    pub dimension: Dimension,
}

/// A plane vector, x to the right and y up, in the same units.
#[derive(Clone, Debug, PartialEq)]
pub struct Vector {
    pub x: Number,
    pub y: Number,
    pub dimension: Dimension,
}

/// One of the four direction words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Heading {
    Right,
    Up,
    Left,
    Down,
}

impl Value {
    pub const fn dimension(&self) -> Dimension {
        match self {
            Value::Scalar(quantity) => quantity.dimension,
            Value::Vector(vector) => vector.dimension,
        }
    }

    /// An exact zero of no dimension: it fits any.
    pub fn is_bare_zero(&self) -> bool {
        match self {
            Value::Scalar(quantity) => quantity.is_bare_zero(),
            Value::Vector(vector) => vector.is_bare_zero(),
        }
    }

    /// The value times one unit: `(25, -90) lbf`, `6.5e-6 per K`. Applied to
    /// what already has a dimension it multiplies dimensions; the caller
    /// decides whether that is allowed.
    pub fn in_unit(&self, unit: &Unit) -> Result<Value, ArithmeticError> {
        self.times(&Value::Scalar(Quantity::of_unit(unit)))
    }
}

impl From<Quantity> for Value {
    fn from(quantity: Quantity) -> Value {
        Value::Scalar(quantity)
    }
}

impl From<Vector> for Value {
    fn from(vector: Vector) -> Value {
        Value::Vector(vector)
    }
}

impl Quantity {
    pub const fn new(value: Number, dimension: Dimension) -> Quantity {
        Quantity { value, dimension }
    }

    pub const fn pure(value: Number) -> Quantity {
        Quantity::new(value, Dimension::PURE)
    }

    /// One of a unit.
    pub fn of_unit(unit: &Unit) -> Quantity {
        Quantity::new(unit.factor.clone(), unit.dimension)
    }

    pub fn is_bare_zero(&self) -> bool {
        self.dimension.is_pure() && self.value == Number::ZERO
    }

    pub fn to_f64(&self) -> f64 {
        self.value.to_f64()
    }

    #[must_use]
    pub fn negated(&self) -> Quantity {
        Quantity::new(self.value.negated(), self.dimension)
    }
}

impl Vector {
    pub const fn new(x: Number, y: Number, dimension: Dimension) -> Vector {
        Vector { x, y, dimension }
    }

    pub fn is_bare_zero(&self) -> bool {
        self.dimension.is_pure() && self.x == Number::ZERO && self.y == Number::ZERO
    }

    /// The length of the arrow; exact where it is rational.
    pub fn magnitude(&self) -> Quantity {
        Quantity::new(self.x.hypot(&self.y), self.dimension)
    }

    /// The unit vector along it; exact where the magnitude is rational.
    pub fn direction(&self) -> Result<Vector, ArithmeticError> {
        let magnitude = self.x.hypot(&self.y);
        let part = |component: &Number| component.over(&magnitude).ok_or(ArithmeticError::NoDirection);
        Ok(Vector::new(part(&self.x)?, part(&self.y)?, Dimension::PURE))
    }

    /// A quarter turn to the left.
    #[must_use]
    pub fn turned_left(&self) -> Vector {
        Vector::new(self.y.negated(), self.x.clone(), self.dimension)
    }

    #[must_use]
    pub fn negated(&self) -> Vector {
        Vector::new(self.x.negated(), self.y.negated(), self.dimension)
    }

    /// The angle counterclockwise from +x, above -180° and up to 180°.
    pub fn angle(&self) -> Result<Quantity, ArithmeticError> {
        let angle = self.y.arctangent2(&self.x).ok_or(ArithmeticError::NoDirection)?;
        Ok(Quantity::new(angle, Dimension::ANGLE))
    }

    /// The unit vector at an angle (radians) counterclockwise from +x.
    pub fn at_angle(angle: &Number) -> Vector {
        Vector::new(angle.cosine(), angle.sine(), Dimension::PURE)
    }
}

impl Heading {
    pub fn vector(self) -> Vector {
        let (x, y) = self.components();
        Vector::new(Number::from_integer(x), Number::from_integer(y), Dimension::PURE)
    }

    /// The unit vector `angle` away from this heading, on the side of another
    /// perpendicular to it: `40° below left` is left turned toward down, `20° left of
    /// up` is up turned toward left.
    pub fn turned(self, toward: Heading, angle: &Quantity) -> Result<Vector, ArithmeticError> {
        if angle.dimension != Dimension::ANGLE && !angle.is_bare_zero() {
            return Err(ArithmeticError::WrongDimension { wanted: Dimension::ANGLE, found: angle.dimension });
        }
        let (cosine, sine) = (angle.value.cosine(), angle.value.sine());
        let (own, other) = (self.components(), toward.components());
        let blend = |along: i64, aside: i64| {
            let along = cosine.times(&Number::from_integer(along));
            along.plus(&sine.times(&Number::from_integer(aside)))
        };
        Ok(Vector::new(blend(own.0, other.0), blend(own.1, other.1), Dimension::PURE))
    }

    const fn components(self) -> (i64, i64) {
        match self {
            Heading::Right => (1, 0),
            Heading::Up => (0, 1),
            Heading::Left => (-1, 0),
            Heading::Down => (0, -1),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::ArithmeticError as E;
    use super::Dimension as D;
    use super::*;
    use crate::quantity::{Function, NamedUnit, UnitSystem, parse_unit};

    fn quantity(number: &str, unit: &str) -> Quantity {
        let size = Number::parse_decimal(number.trim_start_matches('-')).unwrap();
        let number = if number.starts_with('-') { size.negated() } else { size };
        let unit = if unit.is_empty() { Unit::ONE } else { parse_unit(unit).unwrap() };
        Quantity::new(number.times(&unit.factor), unit.dimension)
    }

    fn arrow(x: &str, y: &str, unit: &str) -> Vector {
        Vector::from_components(quantity(x, unit), quantity(y, unit), None).unwrap()
    }

    fn scalar(number: &str, unit: &str) -> Value {
        quantity(number, unit).into()
    }

    fn vector(x: &str, y: &str, unit: &str) -> Value {
        arrow(x, y, unit).into()
    }

    fn feet_and_kips() -> UnitSystem {
        let named = |symbol: &str| NamedUnit::new(symbol, parse_unit(symbol).unwrap());
        UnitSystem { length: named("ft"), force: named("kip"), deflection: named("in") }
    }

    #[test]
    fn sums_need_one_dimension_and_zero_fits_any() {
        assert_eq!(scalar("4", "ft").plus(&scalar("6", "in"), None), Ok(scalar("4.5", "ft")));
        assert_eq!(scalar("4", "ft").plus(&scalar("0", ""), None), Ok(scalar("4", "ft")));
        assert_eq!(
            scalar("2", "m").plus(&scalar("3", "kN"), None),
            Err(E::MixedDimensions { left: D::LENGTH, right: D::FORCE })
        );
        assert_eq!(
            scalar("0", "m").plus(&scalar("3", "kN"), None),
            Err(E::MixedDimensions { left: D::LENGTH, right: D::FORCE })
        );
        assert_eq!(vector("1", "2", "m").plus(&scalar("0", ""), None), Ok(vector("1", "2", "m")));
        assert_eq!(vector("1", "2", "m").minus(&scalar("1", "m"), None), Err(E::ScalarAndVector));
    }

    #[test]
    fn a_bare_number_takes_the_files_unit_beside_a_quantity() {
        let units = feet_and_kips();
        assert_eq!(scalar("4", "ft").plus(&scalar("2", ""), Some(&units)), Ok(scalar("6", "ft")));
        assert_eq!(scalar("4", "ft").plus(&scalar("2", ""), None), Err(E::NoFileUnits { wanted: D::LENGTH }));
        assert_eq!(quantity("2", "").fitted(D::LINE_LOAD, Some(&units)), Err(E::UnitMissing { wanted: D::LINE_LOAD }));
        assert_eq!(quantity("1", "").fitted(D::FORCE, Some(&units)), Ok(quantity("1", "kip")));
        assert_eq!(
            quantity("2", "").fitted(D::ANGLE, Some(&units)),
            Err(E::WrongDimension { wanted: D::ANGLE, found: D::PURE })
        );
        assert_eq!(
            quantity("2", "kip").fitted(D::LENGTH, Some(&units)),
            Err(E::WrongDimension { wanted: D::LENGTH, found: D::FORCE })
        );
        let mixed = Vector::from_components(quantity("3", "m"), quantity("2", ""), Some(&units));
        assert_eq!(mixed.unwrap().y, quantity("2", "ft").value);
    }

    #[test]
    fn products_quotients_and_powers_carry_their_dimensions() {
        assert_eq!(scalar("0.55", "kN/m^2").times(&scalar("4.5", "m")), Ok(scalar("2.475", "kN/m")));
        assert_eq!(vector("3", "4", "kN").over(&scalar("2", "m")), Ok(vector("1.5", "2", "kN/m")));
        assert_eq!(vector("3", "4", "").times(&vector("3", "4", "")), Err(E::ProductOfVectors));
        assert_eq!(scalar("2", "m").over(&vector("3", "4", "")), Err(E::DivisionByVector));
        assert_eq!(scalar("2", "m").over(&scalar("0", "")), Err(E::DivisionByZero));
        assert_eq!(scalar("3", "m").power(&scalar("2", "")), Ok(scalar("9", "m^2")));
        assert_eq!(scalar("9", "m^2").power(&scalar("0.5", "")), Ok(scalar("3", "m")));
        assert_eq!(scalar("9", "m^2").power(&scalar("-1.5", "")), scalar("1", "").over(&scalar("27", "m^3")));
        assert_eq!(quantity("8", "").power(&quantity("0.2", "")).unwrap().to_f64(), 8f64.powf(0.2));
        assert_eq!(scalar("3", "m").power(&scalar("0.5", "")), Err(E::PowerOfDimension { found: D::LENGTH }));
        assert_eq!(scalar("3", "").power(&scalar("1", "m")), Err(E::ExponentNotPure { found: D::LENGTH }));
        assert_eq!(scalar("3", "m").power(&scalar("200", "")), Err(E::DimensionTooLarge));
        assert_eq!(scalar("10", "").power(&scalar("2000000", "")), Err(E::OutOfRange));
        assert_eq!(scalar("10", "").power(&scalar("-200", "")), Err(E::OutOfRange));
        assert_eq!(scalar("0", "").power(&scalar("-1", "")), Err(E::DivisionByZero));
        assert_eq!(scalar("0", "").power(&scalar("-0.5", "")), Err(E::DivisionByZero));
    }

    #[test]
    fn directions_are_exact_where_their_slopes_are() {
        let slope = arrow("3", "-4", "").direction().unwrap();
        assert_eq!(slope, Vector::new(Number::ratio(3, 5), Number::ratio(-4, 5), D::PURE));
        assert_eq!(scalar("5", "kN").toward(&slope), Ok(vector("3", "-4", "kN")));
        assert_eq!(scalar("2", "kN").toward(&Heading::Down.vector()), Ok(vector("0", "-2", "kN")));
        assert_eq!(Vector::at_angle(&quantity("90", "°").value), Heading::Up.vector());
        assert_eq!(arrow("0", "0", "m").direction(), Err(E::NoDirection));
        let below_left = Heading::Left.turned(Heading::Down, &quantity("40", "°")).unwrap();
        let at = Vector::at_angle(&quantity("220", "°").value);
        assert_eq!(below_left, at);
        let left_of_up = Heading::Up.turned(Heading::Left, &quantity("30", "°")).unwrap();
        assert_eq!(left_of_up.x, Number::ratio(-1, 2));
        assert_eq!(arrow("1", "2", "m").turned_left(), arrow("-2", "1", "m"));
        assert_eq!(arrow("-1", "-1", "m").angle(), Ok(quantity("-135", "°")));
    }

    #[test]
    fn functions_check_their_arguments() {
        let units = feet_and_kips();
        let apply = |function: Function, arguments: &[Value]| function.apply(arguments, Some(&units));
        assert_eq!(apply(Function::Sin, &[scalar("30", "°")]), Ok(scalar("0.5", "")));
        assert_eq!(apply(Function::Sin, &[scalar("0", "")]), Ok(scalar("0", "")));
        assert_eq!(
            apply(Function::Cos, &[scalar("30", "")]),
            Err(E::WrongDimension { wanted: D::ANGLE, found: D::PURE })
        );
        assert_eq!(apply(Function::Tan, &[scalar("90", "°")]), Err(E::OutOfDomain { function: Function::Tan }));
        assert_eq!(apply(Function::Atan, &[scalar("1", "")]), Ok(scalar("45", "°")));
        assert_eq!(apply(Function::Atan2, &[scalar("1", "m"), scalar("1", "")]).unwrap().dimension(), D::ANGLE);
        assert_eq!(apply(Function::Hypot, &[scalar("3", "m"), scalar("4", "m")]), Ok(scalar("5", "m")));
        assert_eq!(apply(Function::Hypot, &[scalar("2", ""), scalar("3", ""), scalar("6", "")]), Ok(scalar("7", "")));
        assert_eq!(apply(Function::Min, &[scalar("0", ""), scalar("3", "m"), scalar("1", "")]), Ok(scalar("0", "m")));
        assert_eq!(apply(Function::Max, &[scalar("3", "ft"), scalar("4", "")]), Ok(scalar("4", "ft")));
        assert_eq!(
            apply(Function::Max, &[scalar("3", "ft"), scalar("4", "kN")]),
            Err(E::MixedDimensions { left: D::LENGTH, right: D::FORCE })
        );
        assert_eq!(apply(Function::Abs, &[vector("3", "4", "m")]), Ok(scalar("5", "m")));
        assert_eq!(apply(Function::Sqrt, &[scalar("25", "m^2")]), Ok(scalar("5", "m")));
        assert_eq!(apply(Function::Sqrt, &[scalar("-25", "")]), Err(E::RootOfNegative));
        assert_eq!(
            apply(Function::Hypot, &[scalar("1", "")]),
            Err(E::ArgumentCount { function: Function::Hypot, found: 1 })
        );
        assert_eq!(apply(Function::Sin, &[]), Err(E::ArgumentCount { function: Function::Sin, found: 0 }));
        assert_eq!(apply(Function::Sqrt, &[vector("3", "4", "m")]), Err(E::WantedScalar));
        for function in Function::ALL {
            assert_eq!(Function::from_word(function.word()), Some(*function));
        }
    }

    #[test]
    fn derived_units_follow_the_files() {
        let units = feet_and_kips();
        let symbol = |dimension| units.unit_for(dimension).map(|unit| unit.symbol).unwrap_or_default();
        assert_eq!(symbol(D::MOMENT), "kip·ft");
        assert_eq!(symbol(D::LINE_LOAD), "kip/ft");
        assert_eq!(symbol(D::PRESSURE), "kip/ft²");
        assert_eq!(symbol(D::ROTATIONAL_STIFFNESS), "kip·ft/rad");
        assert_eq!(symbol(D::EXPANSION), "per K");
        assert_eq!(symbol(D::PURE), "");
        assert_eq!(units.unit_for(D::MASS), None);
        assert_eq!(units.unit_for(D::MOMENT).unwrap().unit, parse_unit("kip*ft").unwrap());
        assert_eq!(UnitSystem::si().unit_for(D::MOMENT).unwrap().symbol, "N·m");
    }
}
