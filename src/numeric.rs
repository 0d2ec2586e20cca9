//! Numbers in tables: exact rank and null vectors over prime fields, sparse
//! floating solves, and an honest estimate of how many digits survive.
//!
//! The reading order is the pipeline: [`field`] is the arithmetic, [`sparse`]
//! the tables, [`peel`] strips what needs no fill, [`order`] and [`front`]
//! factor what is left, [`rank`] puts them together into an exact answer, and
//! [`solve`] does the same elimination in floating point.
//!
//! Must not know: structures, joints, members, units, the language. It speaks
//! of rows, columns and blocks of rows.

pub mod error;
pub mod factors;
pub mod field;
pub mod front;
pub mod null;
pub mod order;
pub mod peel;
pub mod precise;
pub mod rank;
pub mod redundant;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod sample;
pub mod small;
pub mod solve;
pub mod sparse;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod timing;

pub use error::NumericError;
pub use field::{Field, Fp, Prime, Prime2, Rng, Scalar};
pub use null::null_direction;
pub use rank::{ExactMatrix, Group, Rank, exact_rank};
pub use redundant::{Flexibility, Redundant, RedundantFactor};
pub use solve::Factor;
pub use sparse::{Blocks, Sparse, SparseBuilder};
