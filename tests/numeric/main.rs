//! The numbers below the statics, on matrices whose answers are known otherwise.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_possible_wrap,
    clippy::type_complexity
)]

mod null;
mod peel;
mod rank;
mod redundant;
mod sample;
mod solve;
mod spare;
