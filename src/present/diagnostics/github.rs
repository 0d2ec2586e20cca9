//! Diagnostics as workflow commands: annotations beside the changed lines of
//! a review.
//!
//! Must not know: how a finding is made.

use super::place::{ends, file_of};
use super::summary::paragraphs;
use crate::base::Files;
use crate::check::closing::Closing;
use crate::diagnostic::{Diagnostic, Severity};
use crate::present::escape::{command_data as data, command_property as property};

/// One diagnostic as one command, without the newline:
/// `::error file=roof.kp,line=3,endLine=3,col=5,endColumn=9,title=…::…`.
/// Columns are those of the first and the last character; they are left out
/// where a label runs over several lines, as the format wants it.
pub fn render_github_line(diagnostic: &Diagnostic, files: &Files) -> String {
    let command = match diagnostic.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information => "notice",
    };
    let file = property(files.name(file_of(diagnostic.place())));
    let place = diagnostic.place().map_or(String::new(), |at| {
        let [start, end] = ends(at, files);
        let columns = if start.line == end.line {
            format!(",col={},endColumn={}", start.column, end.column.saturating_sub(1).max(start.column))
        } else {
            String::new()
        };
        format!(",line={},endLine={}{columns}", start.line, end.line)
    });
    let title = property(diagnostic.slug.word());
    format!("::{command} file={file}{place},title={title}::{}", data(&paragraphs(diagnostic)))
}

/// What ends a file's check, as a notice: `::notice file=roof.kp,title=verdict::…`.
pub fn render_github_closing(file: &str, closing: &Closing) -> String {
    format!("::notice file={},title=verdict::{}", property(file), data(&closing.words()))
}
