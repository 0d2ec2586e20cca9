//! Numbers in tables: exact rank and null vectors over prime fields, sparse
//! floating solves, and an honest estimate of how many digits survive.
//!
//! Reading order, exact: [`field`] and [`small`] are the arithmetic, [`sparse`]
//! the tables; [`peel`] strips what needs no fill, [`order`] and [`front`]
//! factor what is left, [`analysis`] draws null vectors from it, [`groups`]
//! sorts them, and [`rank`] is the verdict.
//! Floating: [`solve`] for square systems, [`redundant`] for those with columns
//! to spare, [`spare`] where those are few, [`null`] for the direction of a null vector; they stand on
//! [`factors`], [`precise`] and `layout`.
//!
//! Must not know: structures, joints, members, units, the language. It speaks
//! of rows, columns and blocks of rows.

pub mod analysis;
pub mod error;
pub mod factors;
pub mod field;
pub mod front;
pub mod groups;
mod holds;
mod layout;
pub mod null;
pub mod order;
pub mod peel;
pub mod precise;
pub mod rank;
pub mod redundant;
pub mod small;
pub mod solve;
pub mod spare;
pub mod sparse;

pub use error::NumericError;
pub use field::{Field, Prime, Rng, Scalar};
pub use groups::Group;
pub use null::null_direction;
pub use precise::Condition;
pub use rank::{ExactMatrix, Rank, exact_rank, exact_rank_only, null_basis, null_residues};
pub use redundant::{Flexibility, Redundant, RedundantFactor};
pub use solve::Factor;
pub use spare::{MOST_SPARE, SpareFactor};
pub use sparse::{Blocks, Sparse, SparseBuilder};
