//! What the functions an expression may call give.
//!
//! Must not know: names, where a value was written.

use std::cmp::Ordering;

use super::arithmetic::common_dimension;
use super::dimension::Dimension;
use super::error::ArithmeticError;
use super::function::Function;
use super::number::Number;
use super::unit_system::UnitSystem;
use super::value::{Quantity, Value};

impl Function {
    /// The function's value. Bare numbers beside quantities take the file's
    /// unit, as in a sum.
    pub fn apply(self, arguments: &[Value], units: Option<&UnitSystem>) -> Result<Value, ArithmeticError> {
        let (fewest, most) = self.arguments();
        if arguments.len() < fewest || arguments.len() > most {
            return Err(ArithmeticError::ArgumentCount { function: self, found: arguments.len() });
        }
        if let (Function::Abs, [Value::Vector(vector)]) = (self, arguments) {
            return Ok(vector.magnitude().into());
        }
        let mut scalars = Vec::with_capacity(arguments.len());
        for argument in arguments {
            match argument {
                Value::Scalar(quantity) => scalars.push(quantity),
                Value::Vector(_) => return Err(ArithmeticError::WantedScalar),
            }
        }
        let result = match scalars.as_slice() {
            [only] if most == 1 => self.of_one(only)?,
            several => self.of_several(several, units)?,
        };
        Ok(Value::Scalar(result))
    }
    fn of_one(self, argument: &Quantity) -> Result<Quantity, ArithmeticError> {
        let outside = ArithmeticError::OutOfDomain { function: self };
        let value = &argument.value;
        let pure = |value: Number| Ok(Quantity::pure(value));
        let angle = |value: Number| Ok(Quantity::new(value, Dimension::ANGLE));
        match self {
            Function::Sqrt => return argument.square_root(),
            Function::Abs => return Ok(Quantity::new(value.abs(), argument.dimension)),
            Function::Sin | Function::Cos | Function::Tan => require(argument, Dimension::ANGLE)?,
            _ => require(argument, Dimension::PURE)?,
        }
        match self {
            Function::Sin => pure(value.sine()),
            Function::Cos => pure(value.cosine()),
            Function::Tan => pure(value.tangent().ok_or(outside)?),
            Function::Asin => angle(value.arcsine().ok_or(outside)?),
            Function::Acos => angle(value.arccosine().ok_or(outside)?),
            _ => angle(value.arctangent()),
        }
    }

    fn of_several(self, arguments: &[&Quantity], units: Option<&UnitSystem>) -> Result<Quantity, ArithmeticError> {
        let mut dimension = Dimension::PURE;
        let mut all_bare_zero = true;
        for argument in arguments {
            if argument.dimension != dimension {
                dimension = common_dimension(dimension, all_bare_zero, argument.dimension, argument.is_bare_zero())?;
            }
            all_bare_zero &= argument.is_bare_zero();
        }
        let mut values = Vec::with_capacity(arguments.len());
        for argument in arguments {
            values.push((*argument).clone().fitted(dimension, units)?.value);
        }
        let first = values.first().cloned().unwrap_or(Number::ZERO);
        let rest = values.get(1..).unwrap_or(&[]).iter();
        let value = match self {
            Function::Min => rest.fold(first, |least, next| pick(least, next, Ordering::Less)),
            Function::Max => rest.fold(first, |most, next| pick(most, next, Ordering::Greater)),
            // Squares are added before the one root, so that 2, 3, 6 gives exactly 7.
            Function::Hypot if values.len() > 2 => {
                let squares = values.iter().map(|value| value.times(value));
                squares.fold(Number::ZERO, |sum, square| sum.plus(&square)).sqrt().unwrap_or(Number::ZERO)
            }
            Function::Hypot => rest.fold(first, |sum, next| sum.hypot(next)),
            _ => {
                let x = values.get(1).unwrap_or(&Number::ZERO);
                let angle = first.arctangent2(x).ok_or(ArithmeticError::OutOfDomain { function: self })?;
                return Ok(Quantity::new(angle, Dimension::ANGLE));
            }
        };
        Ok(Quantity::new(value, dimension))
    }
}

fn pick(kept: Number, next: &Number, wanted: Ordering) -> Number {
    if next.compare(&kept) == wanted { next.clone() } else { kept }
}

fn require(argument: &Quantity, wanted: Dimension) -> Result<(), ArithmeticError> {
    if argument.dimension == wanted || argument.is_bare_zero() {
        Ok(())
    } else {
        Err(ArithmeticError::WrongDimension { wanted, found: argument.dimension })
    }
}
