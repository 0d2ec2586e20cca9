//! The end of a file's check for programs.
//!
//! Must not know: how a claim is judged.

use serde::Serialize;

use crate::base::escaped_json;
use crate::check::closing::{ClaimCounts, Closing};

/// The closing object as one line of JSON, without the newline:
/// `{"file","verdict","redundancy","mechanisms","counts":{"right","near",
/// "follows","wrong","unjudged"},"errors","warnings","remarks"}`.
pub fn render_closing_json(file: &str, closing: &Closing) -> String {
    // Writing strings and whole numbers to memory cannot fail.
    escaped_json(serde_json::to_string(&ClosingFile { file, closing: ClosingLine::of(closing) }).unwrap_or_default())
}

#[derive(Clone, Debug, Serialize)]
pub struct ClosingFile<'a> {
    pub file: &'a str,
    #[serde(flatten)]
    pub closing: ClosingLine,
}

/// What follows the name of the file.
#[derive(Clone, Debug, Serialize)]
pub struct ClosingLine {
    pub verdict: Option<&'static str>,
    pub redundancy: Option<usize>,
    pub mechanisms: Option<usize>,
    pub counts: Counts,
    pub errors: usize,
    pub warnings: usize,
    pub remarks: usize,
}

/// `near` and `follows` are marks of a sheet: for `check` such claims fail.
#[derive(Clone, Debug, Serialize)]
pub struct Counts {
    pub right: usize,
    pub near: usize,
    pub follows: usize,
    pub wrong: usize,
    pub unjudged: usize,
}

impl ClosingLine {
    pub fn of(closing: &Closing) -> ClosingLine {
        let ClaimCounts { right, wrong, unjudged } = closing.claims;
        ClosingLine {
            verdict: closing.verdict,
            redundancy: closing.redundancy,
            mechanisms: closing.mechanisms,
            counts: Counts { right, near: 0, follows: 0, wrong, unjudged },
            errors: closing.errors,
            warnings: closing.warnings,
            remarks: closing.remarks,
        }
    }
}
