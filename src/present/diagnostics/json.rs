//! Diagnostics for programs: one JSON object a line.
//!
//! Must not know: how a finding is made.

use serde::Serialize;

use super::place::{ends, file_of};
use crate::base::{Files, Location, Origin, escaped_json};
use crate::diagnostic::{Diagnostic, Edit};

/// One diagnostic as one line of JSON, without the newline. Lines and columns
/// count from 1, columns in Unicode scalar values, bytes from 0. `file` is the
/// first label's; a label that stands in another names it.
pub fn render_json_line(diagnostic: &Diagnostic, files: &Files) -> String {
    let file = file_of(diagnostic.place());
    let labels = diagnostic.labels.iter().map(|label| {
        let (start, end) = ends(label.at, files);
        let elsewhere = (label.at.file != file).then(|| files.name(label.at.file));
        LabelLine { file: elsewhere, start: start.into(), end: end.into(), text: &label.text }
    });
    let line = DiagnosticLine {
        file: files.name(file),
        slug: diagnostic.slug.word(),
        severity: diagnostic.severity.word(),
        message: &diagnostic.message,
        labels: labels.collect(),
        why: &diagnostic.why,
        help: &diagnostic.help,
        edits: edit_lines(&diagnostic.edits, files),
        cures: cure_lines(diagnostic, files),
    };
    // Writing strings and whole numbers to memory cannot fail.
    escaped_json(serde_json::to_string(&line).unwrap_or_default())
}

#[derive(Serialize)]
struct DiagnosticLine<'a> {
    file: &'a str,
    slug: &'static str,
    severity: &'static str,
    message: &'a str,
    labels: Vec<LabelLine<'a>>,
    why: &'a [String],
    help: &'a [String],
    edits: Vec<EditLine<'a>>,
    cures: Vec<CureLine<'a>>,
}

/// What would put a finding right: `certain` is the correction that nobody
/// could mean otherwise.
#[derive(Serialize)]
pub(super) struct CureLine<'a> {
    text: &'a str,
    grade: &'static str,
    edits: Vec<EditLine<'a>>,
}

/// The cures of a finding, the best first.
pub(super) fn cure_lines<'a>(diagnostic: &'a Diagnostic, files: &'a Files) -> Vec<CureLine<'a>> {
    let certain = (!diagnostic.edits.is_empty()).then(|| CureLine {
        text: correction(diagnostic),
        grade: "certain",
        edits: edit_lines(&diagnostic.edits, files),
    });
    let cures = diagnostic.cures.iter();
    let tried = cures.map(|cure| CureLine {
        text: &cure.text,
        grade: cure.grade.word(),
        edits: edit_lines(&cure.edits, files),
    });
    certain.into_iter().chain(tried).collect()
}

/// What the certain correction does, in words.
pub(super) fn correction(diagnostic: &Diagnostic) -> &str {
    diagnostic.help.first().map_or("the certain correction", String::as_str)
}

fn edit_lines<'a>(edits: &'a [Edit], files: &'a Files) -> Vec<EditLine<'a>> {
    let line = |edit: &'a Edit| {
        let (start, end) = ends(Origin::new(edit.file, edit.span), files);
        EditLine { file: files.name(edit.file), start: start.into(), end: end.into(), replacement: &edit.replacement }
    };
    edits.iter().map(line).collect()
}

#[derive(Serialize)]
struct LabelLine<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<&'a str>,
    start: Place,
    end: Place,
    text: &'a str,
}

#[derive(Serialize)]
pub(super) struct EditLine<'a> {
    file: &'a str,
    start: Place,
    end: Place,
    replacement: &'a str,
}

#[derive(Serialize)]
struct Place {
    line: usize,
    column: usize,
    byte: u32,
}

impl From<Location> for Place {
    fn from(at: Location) -> Place {
        Place { line: at.line, column: at.column, byte: at.byte }
    }
}
