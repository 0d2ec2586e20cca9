//! The mark sheet for programs: one JSON object a file, on one line.
//!
//! Must not know: how a claim is judged.

use serde::Serialize;

use crate::present::diagnostics::closing::ClosingLine;

use super::{MarkSheet, Marking, RowSlip};
use crate::base::escaped_json;

/// `{"file","title","claims":[…],"right","wrong","unjudged","total",
/// "elsewhere":[{"file","claims"}]}` and what closes a check, `"verdict",
/// "redundancy","mechanisms","counts","errors","warnings","remarks"`; each
/// claim `{"file","line","column","claim","subject","mark","computed","slips":
/// [{"slip","file","line"}],"why"}`. `mark` is `right`, `wrong` or `not
/// judged`; `computed` is null where it was not judged. Lines and columns count
/// from 1. Keys are added, never renamed.
pub fn render_marks_json(sheet: &MarkSheet) -> String {
    let claims = sheet.rows.iter().map(|row| ClaimLine {
        file: &row.file,
        line: row.line,
        column: row.column,
        claim: &row.claim,
        subject: Some(row.subject.as_str()).filter(|text| !text.is_empty()),
        mark: row.mark.word(),
        computed: Some(row.computed.as_str()).filter(|_| row.mark != Marking::NotJudged),
        slips: row.slips.iter().map(SlipLine::of).collect(),
        why: Some(row.why.as_str()).filter(|text| !text.is_empty()),
    });
    let line = SheetLine {
        file: &sheet.file,
        title: sheet.title.as_deref(),
        claims: claims.collect(),
        right: sheet.count(Marking::Right),
        wrong: sheet.count(Marking::Wrong),
        unjudged: sheet.count(Marking::NotJudged),
        total: sheet.rows.len(),
        elsewhere: sheet.elsewhere.iter().map(|(file, claims)| Elsewhere { file, claims: *claims }).collect(),
        closing: ClosingLine::of(&sheet.closing),
    };
    // Writing strings and whole numbers to memory cannot fail.
    escaped_json(serde_json::to_string(&line).unwrap_or_default())
}

#[derive(Serialize)]
struct SheetLine<'a> {
    file: &'a str,
    title: Option<&'a str>,
    claims: Vec<ClaimLine<'a>>,
    right: usize,
    wrong: usize,
    unjudged: usize,
    total: usize,
    elsewhere: Vec<Elsewhere<'a>>,
    #[serde(flatten)]
    closing: ClosingLine,
}

/// Claims of a used file, which are not on the sheet.
#[derive(Serialize)]
struct Elsewhere<'a> {
    file: &'a str,
    claims: usize,
}

#[derive(Serialize)]
struct ClaimLine<'a> {
    file: &'a str,
    line: usize,
    column: usize,
    claim: &'a str,
    subject: Option<&'a str>,
    mark: &'static str,
    computed: Option<&'a str>,
    slips: Vec<SlipLine<'a>>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct SlipLine<'a> {
    slip: &'static str,
    file: Option<&'a str>,
    line: Option<usize>,
}

impl SlipLine<'_> {
    fn of(slip: &RowSlip) -> SlipLine<'_> {
        let load = slip.load.as_ref();
        SlipLine { slip: slip.slug, file: load.map(|(file, _)| file.as_str()), line: load.map(|(_, line)| *line) }
    }
}
