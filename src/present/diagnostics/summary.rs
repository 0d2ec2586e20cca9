//! The line that closes a list of diagnostics.
//!
//! Must not know: how a finding is made.

use super::super::results::CAUTION;
use super::super::text::one_line;
use crate::base::{FileId, Files, unheeded};
use crate::check::Checked;
use crate::check::closing::{Closing, FindingCounts};
use crate::diagnostic::Diagnostic;

/// `2 errors, 1 warning in gangway.kp`, and how many findings carry a certain
/// correction; empty where there is nothing to count.
pub fn render_summary(diagnostics: &[Diagnostic], files: &Files) -> String {
    let counts = FindingCounts::of(diagnostics).words();
    if counts.is_empty() {
        return counts;
    }
    let fixable = diagnostics.iter().filter(|diagnostic| !diagnostic.edits.is_empty()).count();
    let fixable = match fixable {
        0 => String::new(),
        1 => "; 1 has a certain correction".to_owned(),
        more => format!("; {more} have certain corrections"),
    };
    format!("{counts} in {}{fixable}", places(diagnostics, files))
}

/// The lines that end a file's check: the caution where a claim failed, for its
/// message told what was computed; the count of findings, where there are any;
/// then the verdict and the count of claims, always.
pub fn render_end(checked: &Checked, files: &Files) -> String {
    let summary = render_summary(&checked.diagnostics, files);
    let break_line = if summary.is_empty() { "" } else { "\n" };
    let name = unheeded(&one_line(files.name(FileId(0)), 200));
    let closing = Closing::of(checked);
    let caution = if closing.claims.wrong > 0 { format!("{CAUTION}\n") } else { String::new() };
    format!("{caution}{summary}{break_line}{name}: {}\n", closing.words())
}

/// The files the findings stand in, by name up to two.
fn places(diagnostics: &[Diagnostic], files: &Files) -> String {
    let mut ids: Vec<FileId> =
        diagnostics.iter().map(|diagnostic| diagnostic.place().map_or(FileId::default(), |at| at.file)).collect();
    ids.sort_unstable();
    ids.dedup();
    let name = |id: &FileId| one_line(files.name(*id), 200);
    match ids.as_slice() {
        [] => String::new(),
        [only] => name(only),
        [first, second] => format!("{} and {}", name(first), name(second)),
        more => format!("{} files", more.len()),
    }
}

/// All that a diagnostic says apart from its labels: the headline, then each
/// reason and each cure as a paragraph.
pub fn paragraphs(diagnostic: &Diagnostic) -> String {
    let whys = diagnostic.why.iter().cloned();
    let helps = diagnostic.help.iter().map(|help| format!("help: {help}"));
    std::iter::once(diagnostic.message.clone()).chain(whys).chain(helps).collect::<Vec<_>>().join("\n")
}
