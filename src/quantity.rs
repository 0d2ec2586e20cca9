//! Numbers with units: dimensions, the unit table, exact-or-float numbers,
//! quantities, vectors.
//!
//! Must not know: the syntax tree, structures, statics.

pub mod arithmetic;
pub mod dimension;
pub mod error;
pub mod format;
pub mod function;
pub mod functions;
pub mod number;
pub mod rational;
pub mod trigonometry;
pub mod unit_system;
pub mod unit_table;
pub mod units;
pub mod value;

pub use dimension::Dimension;
pub use error::ArithmeticError;
pub use function::Function;
pub use number::Number;
pub use rational::Rational;
pub use unit_system::{NamedUnit, UnitSystem};
pub use unit_table::Reading;
pub use units::{Unit, UnitErrorKind, is_same_unit, is_unit_word, parse_unit, similar_unit, units_of};
pub use value::{Heading, Quantity, Value, Vector};
