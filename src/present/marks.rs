//! The mark sheet: every claim of a file in its order, right or wrong, with
//! what was computed, the slip behind a wrong one, and the score.
//!
//! Must not know: how a claim is judged, files, terminals.

pub mod csv;
pub mod json;
pub mod text;

use std::collections::BTreeMap;

use crate::base::{FileId, Files, Origin, Span};
use crate::check::claims::{Mark, subject};
use crate::check::closing::{ClaimCounts, Closing};
use crate::check::words::capital;
use crate::check::{Checked, is_in_claim};
use crate::diagnostic::{Diagnostic, Severity, Slug};
use crate::statics::VerdictKind;

pub use crate::check::claims::Marking;
pub use csv::{HEADER, write_marks_csv};
pub use json::render_marks_json;
pub use text::render_marks;

/// The file that was checked.
const ROOT: FileId = FileId(0);

/// All claims of one file. Those of the files it uses belong to the problem,
/// not to the answer, and are only counted.
#[derive(Clone, Debug)]
pub struct MarkSheet {
    /// The root file.
    pub file: String,
    pub title: Option<String>,
    pub rows: Vec<Row>,
    /// The files it uses that make claims, and how many.
    pub elsewhere: Vec<(String, usize)>,
    /// Errors beside those of the claims.
    pub other_errors: usize,
    /// What ends the check; its claims are those of the sheet.
    pub closing: Closing,
}

/// One claim.
#[derive(Clone, Debug)]
pub struct Row {
    /// The file and line it stands on, counted from 1.
    pub file: String,
    pub line: usize,
    pub column: usize,
    /// As written, without `expect`, on one line.
    pub claim: String,
    /// What it is about, in full: a loop may write one line for many.
    pub subject: String,
    pub mark: Marking,
    /// In words; empty where it was not judged.
    pub computed: String,
    pub slips: Vec<RowSlip>,
    /// The slip in a sentence, a question about the claim's own words, or why it
    /// was not judged.
    pub why: String,
}

/// A slip by its word, and the line of the load it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowSlip {
    pub slug: &'static str,
    pub load: Option<(String, usize)>,
}

impl MarkSheet {
    /// The sheet of a checked project.
    pub fn of(checked: &Checked, files: &Files) -> MarkSheet {
        let structure = &checked.structure;
        let why_not = why_not(checked);
        let mut rows: Vec<(Origin, Row)> = Vec::new();
        let mut marks = checked.marks.iter().peekable();
        let mut elsewhere: BTreeMap<FileId, usize> = BTreeMap::new();
        let questions = questions(checked);
        for (index, claim) in structure.claims.iter().enumerate() {
            let mark = marks.next_if(|mark| mark.claim == index);
            if claim.origin.file != ROOT {
                *elsewhere.entry(claim.origin.file).or_default() += 1;
                continue;
            }
            let asked = questions.range(claim.origin..).next().filter(|(at, _)| is_within(**at, claim.origin));
            let why = asked.map_or(String::new(), |(_, question)| capital(question));
            let row = Row { subject: subject(structure, claim), why, ..Row::of(claim.origin, files) };
            rows.push((
                claim.origin,
                match mark {
                    Some(mark) => row.judged(mark, files),
                    None => Row { why: why_not.clone(), ..row },
                },
            ));
        }
        for origin in &structure.unread_claims {
            if origin.file != ROOT {
                *elsewhere.entry(origin.file).or_default() += 1;
                continue;
            }
            let is_own = |at: Origin| structure.unread_claim_at(at) == Some(*origin);
            let own = errors(checked).find(|found| found.place().is_some_and(is_own));
            let why = own.map_or_else(|| why_not.clone(), |found| found.message.clone());
            rows.push((*origin, Row { why, ..Row::of(*origin, files) }));
        }
        // A loop writes many claims on one line; they stay in its order.
        rows.sort_by_key(|(origin, _)| (origin.file, origin.span.start));
        let count = |mark| rows.iter().filter(|(_, row)| row.mark == mark).count();
        let [right, wrong, unjudged] = [Marking::Right, Marking::Wrong, Marking::NotJudged].map(count);
        MarkSheet {
            closing: Closing { claims: ClaimCounts { right, wrong, unjudged }, ..Closing::of(checked) },
            file: files.name(ROOT).to_owned(),
            title: structure.title.clone(),
            rows: rows.into_iter().map(|(_, row)| row).collect(),
            elsewhere: elsewhere.into_iter().map(|(file, count)| (files.name(file).to_owned(), count)).collect(),
            other_errors: errors(checked).filter(|found| !is_in_claim(structure, found)).count(),
        }
    }
}

/// What is asked of a claim's own words, whether or not it holds.
fn questions(checked: &Checked) -> BTreeMap<Origin, &str> {
    let asked = checked.diagnostics.iter().filter(|found| found.slug == Slug::MinusAndSense);
    asked.filter_map(|found| Some((found.place()?, found.message.as_str()))).collect()
}

fn is_within(at: Origin, claim: Origin) -> bool {
    at.file == claim.file && claim.span.to(at.span) == claim.span
}

/// Errors other than claims that do not hold.
fn errors(checked: &Checked) -> impl Iterator<Item = &Diagnostic> {
    let is_claim = |slug| matches!(slug, Slug::ClaimFails | Slug::ClaimNotRefuted | Slug::ClaimNotKnown);
    checked.diagnostics.iter().filter(move |found| found.severity == Severity::Error && !is_claim(found.slug))
}

/// Why claims were left unjudged.
fn why_not(checked: &Checked) -> String {
    if checked.verdict.as_ref().is_some_and(|verdict| verdict.kind == VerdictKind::Unstable) {
        return "the structure is unstable".to_owned();
    }
    // An error in another claim is that claim's own.
    let first = errors(checked).find(|found| !is_in_claim(&checked.structure, found));
    first.map(|found| found.message.clone()).unwrap_or_else(|| "there is no result to compare it with".to_owned())
}

impl Row {
    fn of(origin: Origin, files: &Files) -> Row {
        let (file, line, column) = place(origin, files);
        Row {
            file,
            line,
            column,
            subject: String::new(),
            claim: claim_text(origin, files),
            mark: Marking::NotJudged,
            computed: String::new(),
            slips: Vec::new(),
            why: String::new(),
        }
    }

    fn judged(self, mark: &Mark, files: &Files) -> Row {
        if mark.verdict == Marking::NotJudged {
            return Row { why: mark.computed.clone(), ..self };
        }
        let slips = mark.slip.iter().flat_map(|slip| &slip.named).map(|named| RowSlip {
            slug: named.slug,
            load: named.load.map(|origin| place(origin, files)).map(|(file, line, _)| (file, line)),
        });
        let is_answered = mark.slip.iter().flat_map(|slip| &slip.named).any(|named| named.slug == "sense-reversed");
        let why = match &mark.slip {
            Some(slip) if self.why.is_empty() || is_answered => slip.text.clone(),
            Some(slip) => format!("{} {}", slip.text, self.why),
            None => self.why,
        };
        Row { mark: mark.verdict, computed: mark.computed.clone(), slips: slips.collect(), why, ..self }
    }
}

/// A claim as it is written, on one line, without its keyword, however that is spelt.
pub(super) fn claim_text(at: Origin, files: &Files) -> String {
    let text = files.get(at.file).map_or("", |file| file.slice(at.span));
    text.split_whitespace().skip(1).collect::<Vec<_>>().join(" ")
}

fn place(origin: Origin, files: &Files) -> (String, usize, usize) {
    let Span { start, .. } = origin.span;
    let at = files.get(origin.file).map(|file| file.location(start));
    let (line, column) = at.map_or((1, 1), |at| (at.line, at.column));
    (files.name(origin.file).to_owned(), line, column)
}
