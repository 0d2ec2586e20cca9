//! Every claim with what was computed for it.
//!
//! Must not know: how a claim is judged.

use crate::check::claims::{Mark, Marking};
use crate::check::outcome::{self, Gauge, Source};
use crate::present::document::{Align, Block, Inline, Judgement, Line, Table, words};
use crate::present::marks::claim_text;
use crate::statics::CaseResult;
use crate::structure::{Claim, ClaimKind, Polarity, Under};

use super::{MOST_ROWS, Report, column, heading, rest};

/// `all 9 claims hold`; nothing where nothing is claimed.
pub fn summary(report: &Report<'_>) -> Option<Line> {
    let total = report.checked.structure.claims.len();
    let marks = &report.checked.marks;
    let wrong = marks.iter().filter(|mark| mark.verdict == Marking::Wrong).count();
    let right = marks.iter().filter(|mark| mark.verdict == Marking::Right).count();
    let waiting = total - right - wrong;
    let (judgement, told) = match (total, wrong, waiting) {
        (0, ..) => return None,
        (1, 0, 0) => (Judgement::Right, "the one claim holds".to_owned()),
        (_, 0, 0) => (Judgement::Right, format!("all {total} claims hold")),
        (1, 1, 0) => (Judgement::Wrong, "the one claim does not hold".to_owned()),
        (_, 1, 0) => (Judgement::Wrong, format!("one of {total} claims does not hold")),
        (_, _, 0) => (Judgement::Wrong, format!("{wrong} of {total} claims do not hold")),
        (1, 0, _) => (Judgement::Doubtful, "the one claim is not judged because of errors".to_owned()),
        (_, 0, _) if right == 0 => {
            (Judgement::Doubtful, format!("the {total} claims are not judged because of errors"))
        }
        _ => (Judgement::Doubtful, format!("of {total} claims {right} hold, {wrong} do not, {waiting} are not judged")),
    };
    Some(vec![Inline::Judged(judgement, told)])
}

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let claims = &report.checked.structure.claims;
    if claims.is_empty() {
        return Vec::new();
    }
    // In the order of the source, which their author chose.
    let mut order: Vec<(usize, &Claim)> = claims.iter().enumerate().collect();
    order.sort_by_key(|(_, claim)| claim.origin);
    let marks = &report.checked.marks;
    let mark = |claim: usize| marks.get(marks.binary_search_by_key(&claim, |mark| mark.claim).ok()?);
    let rows = order.iter().take(MOST_ROWS).map(|(index, claim)| row(report, claim, mark(*index))).collect();
    let table = Table {
        columns: vec![column("claim", Align::Left), column("computed", Align::Left), column("", Align::Left)],
        rows,
        ..Table::default()
    };
    let mut blocks = vec![heading(1, "Claims")];
    blocks.push(Block::Table(table));
    blocks.extend(rest(claims.len(), "claims"));
    blocks
}

fn row(report: &Report<'_>, claim: &Claim, mark: Option<&Mark>) -> Vec<Line> {
    let text = claim_text(claim.origin, &report.project.files);
    let marking = mark.map_or(Marking::NotJudged, |mark| mark.verdict);
    let (largest, judgement) = match marking {
        Marking::Right => (governing(report, claim), Judgement::Right),
        Marking::Wrong => (None, Judgement::Wrong),
        Marking::NotJudged => (None, Judgement::Doubtful),
    };
    let computed = largest.or(mark.map(|mark| mark.computed.clone())).unwrap_or_default();
    // `0 kN·m sagging` says no more than that.
    let computed = if computed.starts_with("0 ") { "zero".to_owned() } else { computed };
    vec![vec![Inline::Code(text)], words(computed), vec![Inline::Judged(judgement, marking.word().to_owned())]]
}

/// Of a claim that holds under all cases and combinations, the largest value
/// and what it is under.
fn governing(report: &Report<'_>, claim: &Claim) -> Option<String> {
    let structure = &report.checked.structure;
    let ClaimKind::Value(value) = &claim.kind else { return None };
    let results = &report.checked.solution.as_ref()?.results;
    if value.subject.under != Under::All || claim.polarity != Polarity::Holds || results.len() < 2 {
        return None;
    }
    let size = |result: &&CaseResult| {
        outcome::numbers(structure, value, result)
            .map_or(f64::NEG_INFINITY, |[x, y]| if y == 0.0 { x } else { x.hypot(y) })
    };
    let most = results.iter().max_by(|a, b| size(a).total_cmp(&size(b)))?;
    let gauge = Gauge::of(structure, Source::Case(most));
    let met = gauge.judge(value).ok()?;
    Some(format!("{}{}", met.words(), met.gauge.under()))
}
