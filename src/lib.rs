//! Kingpost: structures as text.

pub mod base;
pub mod check;
pub mod diagnostic;
pub mod numeric;
pub mod quantity;
pub mod statics;
pub mod structure;
pub mod syntax;
