//! Kingpost: structures as text.

pub mod base;
pub mod diagnostic;
pub mod present;
pub mod quantity;
pub mod structure;
pub mod syntax;
