//! Every claim with what was computed for it.
//!
//! Must not know: how a claim is judged.

use crate::check::claims::computed::{Judged, judge_one};
use crate::present::document::{Align, Block, Inline, Judgement, Line, Table, words};
use crate::structure::Claim;

use super::{Report, column, cut, heading};

fn judged(report: &Report<'_>, claim: &Claim) -> Judged {
    let checked = report.checked;
    judge_one(&checked.structure, checked.verdict.as_ref(), checked.solution.as_ref(), claim)
}

/// `all 9 claims hold`; nothing where nothing is claimed.
pub fn summary(report: &Report<'_>) -> Option<Line> {
    let claims = &report.checked.structure.claims;
    let (mut wrong, mut waiting) = (0, 0);
    for claim in claims {
        match judged(report, claim) {
            Judged::Right { .. } => {}
            Judged::Wrong { .. } => wrong += 1,
            Judged::Waits => waiting += 1,
        }
    }
    let total = claims.len();
    let right = total - wrong - waiting;
    let (judgement, told) = match (total, wrong, waiting) {
        (0, ..) => return None,
        (1, 0, 0) => (Judgement::Right, "the one claim holds".to_owned()),
        (_, 0, 0) => (Judgement::Right, format!("all {total} claims hold")),
        (_, _, 0) => (Judgement::Wrong, format!("{wrong} of {total} claims fail{}", if wrong == 1 { "s" } else { "" })),
        (_, 0, _) if right == 0 => (Judgement::Doubtful, format!("{total} claims not judged: errors stand in the way")),
        _ => (Judgement::Doubtful, format!("{right} of {total} claims hold, {wrong} fail, {waiting} are not judged")),
    };
    Some(vec![Inline::Judged(judgement, told)])
}

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let claims = &report.checked.structure.claims;
    if claims.is_empty() {
        return Vec::new();
    }
    // In the order of the source, which their author chose.
    let mut order: Vec<&Claim> = claims.iter().collect();
    order.sort_by_key(|claim| claim.origin);
    let rows = order.into_iter().map(|claim| row(report, claim)).collect();
    let table = Table {
        columns: vec![column("claim", Align::Left), column("computed", Align::Left), column("", Align::Left)],
        rows,
        ..Table::default()
    };
    let mut blocks = vec![heading(1, "Claims")];
    blocks.extend(cut(table, "claims"));
    blocks
}

fn row(report: &Report<'_>, claim: &Claim) -> Vec<Line> {
    let source = report.project.files.get(claim.origin.file);
    let text = source.map_or("", |file| file.slice(claim.origin.span));
    let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = text.strip_prefix("expect ").unwrap_or(&text).to_owned();
    let (computed, judgement, word) = match judged(report, claim) {
        Judged::Right { computed } => (computed, Judgement::Right, "right"),
        Judged::Wrong { computed } => (computed, Judgement::Wrong, "wrong"),
        Judged::Waits => (String::new(), Judgement::Doubtful, "not judged"),
    };
    vec![vec![Inline::Code(text)], words(computed), vec![Inline::Judged(judgement, word.to_owned())]]
}
