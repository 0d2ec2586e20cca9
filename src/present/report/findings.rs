//! What the checker found, as the report tells it: the headline, the places,
//! why, and what to write instead.
//!
//! Must not know: how a finding is made.

use crate::base::{Files, Origin};
use crate::check::closing::FindingCounts;
use crate::diagnostic::{Diagnostic, Label, Severity};
use crate::present::document::{Block, Inline, Judgement, Line, words};

use super::{Report, heading, prose};

/// The most findings listed one by one.
pub const MOST_FINDINGS: usize = 40;
/// The most places of one finding.
const MOST_PLACES: usize = 8;

/// `no findings`, `1 error, 2 warnings`.
pub fn summary(report: &Report<'_>) -> Line {
    let counts = FindingCounts::of(&report.checked.diagnostics);
    let judgement = match counts {
        FindingCounts { errors: 0, warnings: 0, .. } => Judgement::Right,
        FindingCounts { errors: 0, .. } => Judgement::Doubtful,
        _ => Judgement::Wrong,
    };
    let told = counts.words();
    let told = if told.is_empty() { "no findings".to_owned() } else { told };
    vec![Inline::Judged(judgement, told)]
}

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let found = &report.checked.diagnostics;
    if found.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![heading(1, "Findings")];
    for diagnostic in found.iter().take(MOST_FINDINGS) {
        blocks.extend(finding(diagnostic, &report.project.files));
    }
    if found.len() > MOST_FINDINGS {
        let rest = found.len() - MOST_FINDINGS;
        let said = format!("{rest} more: a report shows {MOST_FINDINGS} at most; `kingpost check` shows them all.");
        blocks.push(Block::Paragraph(prose(&said)));
    }
    blocks
}

fn finding(diagnostic: &Diagnostic, files: &Files) -> [Block; 2] {
    let word = match diagnostic.severity {
        Severity::Error => Inline::Judged(Judgement::Wrong, "error".to_owned()),
        Severity::Warning => Inline::Judged(Judgement::Doubtful, "warning".to_owned()),
        Severity::Information => Inline::Words("remark".to_owned()),
    };
    let headline = Block::Paragraph(vec![
        word,
        Inline::Words(": ".to_owned()),
        Inline::Strong(diagnostic.message.clone()),
        Inline::Words(" ".to_owned()),
        Inline::Code(diagnostic.slug.word().to_owned()),
    ]);
    let mut lines: Vec<Line> = diagnostic.labels.iter().take(MOST_PLACES).map(|label| place(label, files)).collect();
    if diagnostic.labels.len() > MOST_PLACES {
        lines.push(words(format!("and {} more places", diagnostic.labels.len() - MOST_PLACES)));
    }
    lines.extend(diagnostic.why.iter().map(|why| prose(why)));
    lines.extend(diagnostic.help.iter().map(|help| {
        let mut line = vec![Inline::Strong("Help: ".to_owned())];
        line.extend(prose(help));
        line
    }));
    [headline, Block::List(lines)]
}

/// `line 12, bar A-C: is involved`
fn place(label: &Label, files: &Files) -> Line {
    let Origin { file, span } = label.at;
    let Some(source) = files.get(file) else { return words(label.text.clone()) };
    let line = source.location(span.start).line;
    let text: String = source.slice(span).split_whitespace().collect::<Vec<_>>().join(" ");
    let name = if file.index() == 0 { String::new() } else { format!("{}, ", source.name) };
    let mut told = vec![Inline::Words(format!("{name}line {line}, "))];
    told.push(Inline::Code(crate::present::text::one_line(&text, 120)));
    told.push(Inline::Words(format!(": {}", label.text)));
    told
}
