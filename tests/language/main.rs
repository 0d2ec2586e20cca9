//! The notation: what is read, what it means, and what any text at all does.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../support/mod.rs"]
mod support;

mod any_text;
mod grammar;
mod hard_inputs;
mod meaning;
mod order;
mod unit_factors;
