//! What people and programs read: diagnostics, results, figures, reports.
//!
//! Must not know: how verdicts and forces come about; files and terminals.

pub mod diagnostics;
pub mod document;
pub(crate) mod escape;
pub mod figure;
pub mod marks;
pub mod report;
pub mod results;
pub mod text;
pub mod working;
