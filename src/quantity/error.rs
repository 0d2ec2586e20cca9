//! What can be wrong with arithmetic on values, as data.
//!
//! Must not know: where a value was written, words for people.

use super::dimension::Dimension;
use super::function::Function;

/// Each variant's comment is the smallest input that triggers it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArithmeticError {
    /// `2 m + 3 kN`
    MixedDimensions { left: Dimension, right: Dimension },
    /// `2 m + 3` in a file without `units`
    NoFileUnits { wanted: Dimension },
    /// `2 kN*m + 3`
    UnitMissing { wanted: Dimension },
    /// `sin(2 m)`; `sin(2)` finds a pure number.
    WrongDimension { wanted: Dimension, found: Dimension },
    /// `(1, 2) m + 3 m`
    ScalarAndVector,
    /// `(1, 2) * (3, 4)`
    ProductOfVectors,
    /// `2 / (3, 4)`
    DivisionByVector,
    /// `1 / 0`, `0 ^ -1`
    DivisionByZero,
    /// `(3, 4) ^ 2`
    PowerOfVector,
    /// `2 ^ (1 m)`
    ExponentNotPure { found: Dimension },
    /// `(2 m) ^ 0.3`
    PowerOfDimension { found: Dimension },
    /// `sqrt(2 m)`
    RootOfDimension { found: Dimension },
    /// `sqrt(-1)`, `(-2) ^ 0.5`
    RootOfNegative,
    /// `asin(2)`, `tan(90°)`, `atan2(0, 0)`
    OutOfDomain { function: Function },
    /// `hypot(1)`
    ArgumentCount { function: Function, found: usize },
    /// `5 kN @ (0, 0)`
    NoDirection,
    /// A vector where a single value is wanted.
    WantedScalar,
    /// `(1 m) ^ 200`
    DimensionTooLarge,
    /// `10 ^ 200`: see [`LARGEST_VALUE`](super::arithmetic::LARGEST_VALUE).
    OutOfRange,
}
