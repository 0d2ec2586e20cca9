//! The report: the statement, the verdict, claims, findings, figures, results
//! and working of one file as one page.
//!
//! Nothing in it depends on when or where it is made. What is too large for a
//! page is cut at a named limit, and the page says so.
//!
//! Must not know: files and terminals; how a page is written.

mod claims;
mod figures;
mod findings;
mod results;
mod statement;
mod travels;
mod working;

use crate::base::FileId;
use crate::check::Checked;
use crate::present::document::{Align, Block, Document, Inline, Judgement, Line, TableColumn, words};
use crate::present::figure::Telling;
use crate::present::results::tables::Table;
use crate::present::results::words::Count;
use crate::present::results::{CAUTION, subject_name};
use crate::present::working::set;
use crate::statics::{CaseResult, TravelResult};
use crate::structure::Project;

/// The most rows of a table; the rest is counted.
pub const MOST_ROWS: usize = 200;
/// The most cases and combinations with tables of their own.
pub const MOST_SUBJECTS: usize = 24;

/// What a report is made of.
#[derive(Clone, Copy, Debug)]
pub struct Report<'a> {
    pub project: &'a Project,
    pub checked: &'a Checked,
    /// The cases, combinations and travelling loads asked for; empty for all.
    pub only: &'a [String],
    /// As its author writes it; a report has no clock.
    pub date: Option<&'a str>,
    /// A page of plain text tells its figures in words, and none is laid out for it.
    pub figures: Telling,
}

/// The page.
pub fn report(report: &Report<'_>) -> Document {
    let structure = &report.checked.structure;
    let file = report.project.files.name(FileId(0));
    let mut blocks = Vec::new();
    let place = place_and_date(structure.title.as_ref().map(|_| file), report.date);
    if !place.is_empty() {
        blocks.push(Block::Paragraph(place));
    }
    blocks.push(Block::List(summary(report)));
    blocks.push(Block::Caution(words(CAUTION)));
    blocks.push(Block::Contents);
    blocks.extend(statement::blocks(report.project));
    blocks.extend(figures::of_structure(report));
    blocks.extend(findings::blocks(report));
    blocks.extend(claims::blocks(report));
    blocks.extend(results::blocks(report));
    blocks.extend(travels::blocks(report));
    blocks.extend(working::blocks(report));
    Document { title: structure.title.clone().unwrap_or_else(|| file.to_owned()), blocks }
}

/// Under the title; a file without one is named there already.
fn place_and_date(file: Option<&str>, date: Option<&str>) -> Line {
    let mut line: Line = file.map(|file| Inline::Code(file.to_owned())).into_iter().collect();
    let between = if line.is_empty() { "" } else { ", " };
    line.extend(date.map(|date| Inline::Words(format!("{between}{date}"))));
    line
}

/// Verdict, claims and findings, a line each.
fn summary(report: &Report<'_>) -> Vec<Line> {
    let mut lines = Vec::new();
    match &report.checked.verdict {
        Some(verdict) => {
            let Count { parts, sum, verdict: is } = Count::of(&report.checked.structure, verdict);
            let judgement = if verdict.kind.is_stable() { Judgement::Right } else { Judgement::Wrong };
            lines.push(vec![Inline::Judged(judgement, is), Inline::Words(format!(": {parts}; {sum}"))]);
        }
        None => lines.push(vec![Inline::Judged(Judgement::Wrong, "the structure could not be built".to_owned())]),
    }
    lines.extend(report.checked.structure.set_words().map(|set| words(format!("with {set}"))));
    lines.extend(claims::summary(report));
    lines.push(findings::summary(report));
    lines
}

impl Report<'_> {
    fn is_wanted(&self, name: &str) -> bool {
        self.only.is_empty() || self.only.iter().any(|wanted| wanted == name)
    }

    /// The cases and combinations asked for, in order.
    fn results(&self) -> Vec<&CaseResult> {
        let all = self.checked.solution.iter().flat_map(|solution| &solution.results);
        all.filter(|result| self.is_wanted(subject_name(&self.checked.structure, result.subject))).collect()
    }

    fn travels(&self) -> Vec<&TravelResult> {
        let all = self.checked.solution.iter().flat_map(|solution| &solution.travels);
        all.filter(|result| self.is_wanted(self.checked.structure.travel_name(result.travel))).collect()
    }
}

fn heading(level: u8, text: impl Into<String>) -> Block {
    Block::Heading { level, text: words(text) }
}

fn column(heading: impl Into<String>, align: Align) -> TableColumn {
    TableColumn { heading: words(heading), align }
}

/// A table cut at [`MOST_ROWS`], with a line about the rest where there is one.
fn cut(table: Table) -> Vec<Block> {
    let what = table.rows;
    let mut table = set(table);
    let total = table.rows.len();
    table.rows.truncate(MOST_ROWS);
    let mut blocks = vec![Block::Table(table)];
    blocks.extend(rest(total, what));
    blocks
}

/// How many of so many rows a table does not show, where it does not show all.
fn rest(total: usize, what: &str) -> Option<Block> {
    let rest = total.checked_sub(MOST_ROWS).filter(|rest| *rest > 0)?;
    let said =
        format!("{rest} more {what}: a table shows {MOST_ROWS} at most; `kingpost solve --format csv` gives them all.");
    Some(Block::Paragraph(prose(&said)))
}

/// Words with what stands between backticks as code.
fn prose(text: &str) -> Line {
    let parts = text.split('`').enumerate();
    let line = parts.filter(|(_, part)| !part.is_empty()).map(|(index, part)| {
        if index % 2 == 1 { Inline::Code(part.to_owned()) } else { Inline::Words(part.to_owned()) }
    });
    line.collect()
}
