//! The mark sheet for programs: one JSON object a file, on one line.
//!
//! Must not know: how a claim is judged.

use serde_json::{Value, json};

use super::{MarkSheet, Marking, Row, RowSlip};
use crate::base::escaped_json;
use crate::check::closing::ClaimCounts;
use crate::present::diagnostics::closing::closed;

/// `{"file","title","claims":[…],"right","wrong","unjudged","total",
/// "elsewhere":[{"file","claims"}]}` and what closes a check, `"verdict",
/// "redundancy","mechanisms","counts","errors","warnings","remarks"`; each
/// claim `{"file","line","column","claim","subject","mark","computed","slips":
/// [{"slip","file","line"}],"why"}`. `mark` is `right`, `wrong` or `not
/// judged`; `computed` is null where it was not judged. Lines and columns count
/// from 1. Keys are added, never renamed.
pub fn render_marks_json(sheet: &MarkSheet) -> String {
    let elsewhere = sheet.elsewhere.iter().map(|(file, claims)| json!({ "file": file, "claims": claims }));
    let ClaimCounts { right, wrong, unjudged } = sheet.closing.claims;
    let line = json!({
        "file": sheet.file,
        "title": sheet.title,
        "claims": sheet.rows.iter().map(claim).collect::<Vec<_>>(),
        "right": right,
        "wrong": wrong,
        "unjudged": unjudged,
        "total": sheet.rows.len(),
        "elsewhere": elsewhere.collect::<Vec<_>>(),
    });
    escaped_json(closed(line, &sheet.closing).to_string())
}

fn claim(row: &Row) -> Value {
    let told = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    let slip = |slip: &RowSlip| {
        let (file, line) = slip.load.clone().unzip();
        json!({ "slip": slip.slug, "file": file, "line": line })
    };
    json!({
        "file": row.file,
        "line": row.line,
        "column": row.column,
        "claim": row.claim,
        "subject": told(&row.subject),
        "mark": row.mark.word(),
        "computed": (row.mark != Marking::NotJudged).then_some(&row.computed),
        "slips": row.slips.iter().map(slip).collect::<Vec<_>>(),
        "why": told(&row.why),
    })
}
