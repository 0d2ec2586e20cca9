//! What `check` says of a file: at the right place, true, and mended by what it offers.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../support/mod.rs"]
mod support;

mod closing;
mod corrections;
mod cures;
mod diagnostics;
mod fix;
mod formats;
mod hard_inputs_large;
mod hostile;
mod mutations;
mod pages;
mod slips;
mod slips_in_files;
