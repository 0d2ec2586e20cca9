//! Results for people and for programs.
//!
//! Must not know: how forces are found; files and terminals.

pub mod csv;
pub(in crate::present) mod extremes;
pub mod json;
pub mod text;

pub use csv::{Rows, write_csv};
pub use json::write_json;
pub use text::write_text;

use crate::statics::{CaseResult, Subject, TravelResult, Verdict};
use crate::structure::Structure;

/// One file's answer, ready to be written.
#[derive(Clone, Copy, Debug)]
pub struct Answer<'a> {
    pub file: &'a str,
    pub structure: &'a Structure,
    /// Absent where the layout could not be built.
    pub verdict: Option<&'a Verdict>,
    /// Empty where errors stand in the way.
    pub results: &'a [CaseResult],
    /// The travelling loads to be shown.
    pub travels: &'a [&'a TravelResult],
}

pub fn subject_name(structure: &Structure, subject: Subject) -> &str {
    match subject {
        Subject::Case(id) => structure.case_name(id),
        Subject::Combo(id) => structure.combo_name(id),
    }
}

/// `case` or `combo`.
pub const fn subject_kind(subject: Subject) -> &'static str {
    match subject {
        Subject::Case(_) => "case",
        Subject::Combo(_) => "combo",
    }
}
