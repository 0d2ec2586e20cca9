//! Kingpost: structures as text.

pub mod base;
pub mod diagnostic;
pub mod numeric;
pub mod syntax;
