//! Diagnostics as people, programs and services read them.
//!
//! Must not know: how a finding is made.

mod excerpt;
mod fix;
pub mod human;
pub mod json;
pub mod summary;

pub use human::{Colour, Style, render_human};
pub use json::render_json_line;
pub use summary::render_summary;
