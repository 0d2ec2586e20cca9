//! Kingpost: structures as text.

pub mod base;
pub mod check;
pub mod diagnostic;
pub mod syntax;
