//! Kingpost: structures as text. Plane trusses and frames stated in a small
//! language, checked like source code, solved and proved to balance.
//!
//! The pipeline, in reading order:
//!
//! ```text
//! text → tokens → tree          syntax
//!      → structure              structure   (names, units, expressions, loops)
//!      → verdict → forces       statics     (on numeric)
//!      → findings               check
//!      → worked solution        solution
//!      → pages                  present
//! ```
//!
//! [`check::check`] runs all of it on a [`structure::Project`]; nothing below
//! [`command`] reads a file, prints, or looks at a clock.

pub mod base;
pub mod check;
pub mod command;
pub mod diagnostic;
pub mod manual;
pub mod numeric;
pub mod present;
pub mod quantity;
pub mod solution;
pub mod statics;
pub mod structure;
pub mod syntax;
