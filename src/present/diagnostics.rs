//! Diagnostics as people, programs and services read them.
//!
//! Must not know: how a finding is made.

pub mod closing;
mod excerpt;
mod failure;
mod fix;
pub mod github;
pub mod human;
pub mod json;
pub mod junit;
mod place;
pub mod sarif;
pub mod summary;

pub use closing::render_closing_json;
pub use failure::{Failure, Undone};
pub use fix::render_changes;
pub use github::{render_github_closing, render_github_line};
pub use human::{Colour, Style, render_human};
pub use json::render_json_line;
pub use junit::JunitReport;
pub use sarif::SarifLog;
pub use summary::{render_end, render_summary};
