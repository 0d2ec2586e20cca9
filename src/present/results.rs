//! Results for people and for programs.
//!
//! Must not know: how forces are found; files and terminals.

pub(in crate::present) mod beams;
pub mod csv;
pub(in crate::present) mod extremes;
pub mod json;
pub(in crate::present) mod tables;
pub mod text;
pub(in crate::present) mod words;

pub use csv::{Rows, write_csv};
pub use json::write_json;
pub use text::write_text;

use crate::check::Checked;
use crate::statics::{CaseResult, Subject, TravelResult, Verdict};
use crate::structure::Structure;

/// What goes with all results, whatever carries them.
pub const CAUTION: &str = "An aid to a competent person, not a design: local codes and licensed practice decide.";

/// Columns of cases that stand beside each other.
pub(in crate::present) const MOST_BESIDE: usize = 6;

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

impl<'a> Answer<'a> {
    /// What a check of the file has worked out, with the travelling loads that
    /// are to be shown.
    pub fn of(file: &'a str, checked: &'a Checked, travels: &'a [&'a TravelResult]) -> Answer<'a> {
        Answer {
            file,
            structure: &checked.structure,
            verdict: checked.verdict.as_ref(),
            results: checked.solution.as_ref().map_or(&[], |solution| solution.results.as_slice()),
            travels,
        }
    }
}

pub fn subject_name(structure: &Structure, subject: Subject) -> &str {
    match subject {
        Subject::Case(id) => structure.case_name(id),
        Subject::Combination(id) => structure.combination_name(id),
    }
}

/// `case` or `combination`.
pub const fn subject_kind(subject: Subject) -> &'static str {
    match subject {
        Subject::Case(_) => "case",
        Subject::Combination(_) => "combination",
    }
}
