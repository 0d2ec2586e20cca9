//! Diagnostics for programs: one JSON object a line.
//!
//! Must not know: how a finding is made.

use serde_json::{Value, json};

use super::place::{ends, file_of};
use crate::base::{Files, Origin, escaped_json};
use crate::diagnostic::{Diagnostic, Edit, Severity};

/// One diagnostic as one line of JSON, without the newline. Lines and columns
/// count from 1, columns in Unicode scalar values, bytes from 0. `file` is the
/// first label's; a label that stands in another names it.
pub fn render_json_line(diagnostic: &Diagnostic, files: &Files) -> String {
    let file = file_of(diagnostic.place());
    let labels = diagnostic.labels.iter().map(|label| {
        let elsewhere = (label.at.file != file).then(|| files.name(label.at.file));
        let [start, end] = places(label.at, files);
        without_nulls(json!({ "file": elsewhere, "start": start, "end": end, "text": label.text }))
    });
    // The form for programs keeps the word that it had first.
    let severity = match diagnostic.severity {
        Severity::Information => "info",
        Severity::Error | Severity::Warning => diagnostic.severity.word(),
    };
    let line = json!({
        "file": files.name(file),
        "slug": diagnostic.slug.word(),
        "severity": severity,
        "message": diagnostic.message,
        "labels": labels.collect::<Vec<_>>(),
        "why": diagnostic.why,
        "help": diagnostic.help,
        "edits": edits(&diagnostic.edits, files),
        "cures": cures(diagnostic, files),
    });
    escaped_json(line.to_string())
}

/// The object without the keys that hold null: those that may be left out.
pub(super) fn without_nulls(mut object: Value) -> Value {
    if let Value::Object(keys) = &mut object {
        keys.retain(|_, value| !value.is_null());
    }
    object
}

/// The cures of a finding, the best first: `certain` is the correction that
/// cannot be meant otherwise.
fn cures(diagnostic: &Diagnostic, files: &Files) -> Vec<Value> {
    let is_certain = !diagnostic.edits.is_empty();
    let certain = is_certain.then(|| cure(correction(diagnostic), "certain", &diagnostic.edits, files));
    certain.into_iter().chain(graded_cures(diagnostic, files)).collect()
}

/// Those that are no certain correction.
pub(super) fn graded_cures(diagnostic: &Diagnostic, files: &Files) -> Vec<Value> {
    diagnostic.cures.iter().map(|found| cure(&found.text, found.grade.word(), &found.edits, files)).collect()
}

fn cure(text: &str, grade: &str, changes: &[Edit], files: &Files) -> Value {
    json!({ "text": text, "grade": grade, "edits": edits(changes, files) })
}

/// What the certain correction does, in words.
pub(super) fn correction(diagnostic: &Diagnostic) -> &str {
    diagnostic.help.first().map_or("the certain correction", String::as_str)
}

fn edits(edits: &[Edit], files: &Files) -> Vec<Value> {
    let line = |edit: &Edit| {
        let [start, end] = places(Origin::new(edit.file, edit.span), files);
        json!({ "file": files.name(edit.file), "start": start, "end": end, "replacement": edit.replacement })
    };
    edits.iter().map(line).collect()
}

/// The two ends of a span.
fn places(at: Origin, files: &Files) -> [Value; 2] {
    ends(at, files).map(|at| json!({ "line": at.line, "column": at.column, "byte": at.byte }))
}
