//! The reactions due to each load alone, and their sum.
//!
//! Must not know: how one reaction is worked out.

use crate::base::{Files, IdVec, SupportId};
use crate::present::document::{Align, Line, Table, TableColumn, words};
use crate::present::text::one_line;
use crate::solution::superposition::{Part, Source};
use crate::statics::{CaseResult, Reaction};

use super::answers::parts;
use super::loads::times;
use super::pen::{Page, Pen, column, formula, say, table};

/// Tables of more reaction components than this are not written.
const MOST_REACTIONS: usize = 8;

/// A statement longer than this is cut in its row.
const WIDEST_NAME: usize = 60;

/// The table of the parts of a result.
pub fn tell(pen: &Pen<'_>, files: &Files, loads: &[Part], result: &CaseResult, page: &mut Page) {
    let headings = parts(&result.reactions).map(|part| TableColumn {
        heading: vec![formula(part.name(pen)), say(format!(" {}", part.unit(pen).symbol))],
        align: Align::Point,
    });
    let columns: Vec<TableColumn> = std::iter::once(column("load", Align::Left)).chain(headings).collect();
    if loads.is_empty() || !(2..=MOST_REACTIONS + 1).contains(&columns.len()) {
        return;
    }
    let row = |name: String, reactions: &IdVec<SupportId, Reaction>| -> Vec<Line> {
        std::iter::once(words(name)).chain(parts(reactions).map(|part| part.signed(pen))).collect()
    };
    let name = |source: &Source| match source {
        Source::Statement(origin) => one_line(origin.span.text(files.text(origin.file)).trim(), WIDEST_NAME),
        Source::Case(case, factor) => format!("{}{}", times(factor), pen.structure.case_name(*case)),
    };
    let rows = loads.iter().map(|load| row(name(&load.source), &load.reactions)).collect();
    let foot = row("sum".to_owned(), &result.reactions);
    page.heading(2, "Superposition: reactions due to each load alone");
    page.table(Table { foot, ..table(columns, rows) });
}
