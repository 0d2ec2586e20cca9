//! Diagnostics for programs: one JSON object a line.
//!
//! Must not know: how a finding is made.

use serde::Serialize;

use crate::base::{FileId, Files, Location, Span};
use crate::diagnostic::Diagnostic;

/// One diagnostic as one line of JSON, without the newline. Lines and columns
/// count from 1, columns in Unicode scalar values, bytes from 0. `file` is the
/// first label's; a label that stands in another names it.
pub fn render_json_line(diagnostic: &Diagnostic, files: &Files) -> String {
    let file = diagnostic.place().map_or(FileId::default(), |place| place.file);
    let labels = diagnostic.labels.iter().map(|label| {
        let (start, end) = ends(label.at.file, label.at.span, files);
        let elsewhere = (label.at.file != file).then(|| files.name(label.at.file));
        LabelLine { file: elsewhere, start, end, text: &label.text }
    });
    let edits = diagnostic.edits.iter().map(|edit| {
        let (start, end) = ends(edit.file, edit.span, files);
        EditLine { file: files.name(edit.file), start, end, replacement: &edit.replacement }
    });
    let line = DiagnosticLine {
        file: files.name(file),
        slug: diagnostic.slug.word(),
        severity: diagnostic.severity.word(),
        message: &diagnostic.message,
        labels: labels.collect(),
        why: &diagnostic.why,
        help: &diagnostic.help,
        edits: edits.collect(),
    };
    // Writing strings and whole numbers to memory cannot fail.
    serde_json::to_string(&line).unwrap_or_default()
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
struct EditLine<'a> {
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

/// Both ends of a span, in order, moved into the file where they lie outside.
fn ends(file: FileId, span: Span, files: &Files) -> (Place, Place) {
    let place = |byte: u32| {
        let outside = Location { line: 1, column: 1, byte: 0 };
        files.get(file).map_or(outside, |file| file.location(byte)).into()
    };
    (place(span.start.min(span.end)), place(span.start.max(span.end)))
}
