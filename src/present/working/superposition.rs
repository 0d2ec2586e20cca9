//! What each load alone contributes to each reaction; the sum is the reaction.
//!
//! Must not know: how one reaction is worked out.

use crate::base::{Files, IdVec, Origin, SupportId};
use crate::present::document::{Align, Line, Table, TableColumn, words};
use crate::present::text::one_line;
use crate::statics::{CaseResult, Equilibrium, Reaction, Subject, Verdict, solve};
use crate::structure::model::{Case, Load};

use super::answers::parts;
use super::loads::times;
use super::pen::{Page, Pen, column, formula, say, table};

/// Tables of more loads than this are not written.
const MOST_LOADS: usize = 12;
/// Nor of more reaction components.
const MOST_REACTIONS: usize = 8;

/// A statement longer than this is cut in its row.
const WIDEST_NAME: usize = 60;

/// One row of contributions.
struct Row {
    name: Line,
    reactions: IdVec<SupportId, Reaction>,
}

/// The table, where there is more than one load.
pub fn tell(
    pen: &Pen<'_>,
    files: &Files,
    verdict: &Verdict,
    results: &[CaseResult],
    result: &CaseResult,
    page: &mut Page,
) {
    let rows = match result.subject {
        Subject::Case(id) => by_load(pen, files, verdict, &pen.structure.cases[id]),
        Subject::Combo(id) => {
            let factors = pen.structure.combos[id].factors.iter();
            let rows = factors.filter_map(|(case, factor)| {
                let own = results.iter().find(|result| result.subject == Subject::Case(*case))?;
                let scaled = own.reactions.iter().map(|reaction| scaled(reaction, factor.to_f64()));
                let name = format!("{}{}", times(factor), pen.structure.case_name(*case));
                Some(Row { name: words(name), reactions: scaled.collect() })
            });
            Some(rows.collect())
        }
    };
    let Some(rows) = rows.filter(|rows| (2..=MOST_LOADS).contains(&rows.len())) else { return };
    let table = contributions(pen, &rows, result);
    if (2..=MOST_REACTIONS + 1).contains(&table.columns.len()) {
        page.heading(2, "Superposition: what each load alone gives");
        page.table(table);
    }
}

fn scaled(reaction: &Reaction, times: f64) -> Reaction {
    let scale = |part: Option<f64>| part.map(|part| part * times);
    Reaction { fx: scale(reaction.fx), fy: scale(reaction.fy), m: scale(reaction.m) }
}

/// Each statement of a case solved as a case of its own.
fn by_load(pen: &Pen<'_>, files: &Files, verdict: &Verdict, case: &Case) -> Option<Vec<Row>> {
    let mut groups: Vec<(Origin, Vec<Load>)> = Vec::new();
    for load in &case.loads {
        match groups.iter_mut().find(|(origin, _)| *origin == load.origin) {
            Some((_, loads)) => loads.push(load.clone()),
            None => groups.push((load.origin, vec![load.clone()])),
        }
        if groups.len() > MOST_LOADS {
            return None;
        }
    }
    if groups.len() < 2 {
        return None;
    }
    let cases = groups.iter().map(|(origin, loads)| Case { name: case.name, loads: loads.clone(), origin: *origin });
    let structure = pen.structure.under(cases.collect());
    let equilibrium = Equilibrium::of(&structure);
    let solution = solve(&structure, &equilibrium, verdict).ok()?;
    let name = |origin: &Origin| words(one_line(origin.span.text(files.text(origin.file)).trim(), WIDEST_NAME));
    let rows = groups.iter().zip(solution.results);
    Some(rows.map(|((origin, _), result)| Row { name: name(origin), reactions: result.reactions }).collect())
}

fn contributions(pen: &Pen<'_>, rows: &[Row], result: &CaseResult) -> Table {
    let headings = parts(&result.reactions).map(|part| TableColumn {
        heading: vec![formula(part.name(pen)), say(format!(" {}", part.unit(pen).symbol))],
        align: Align::Point,
    });
    let columns = std::iter::once(column("load", Align::Left)).chain(headings).collect();
    let row = |name: Line, reactions: &IdVec<SupportId, Reaction>| {
        std::iter::once(name).chain(parts(reactions).map(|part| part.shown(pen))).collect()
    };
    let foot = row(words("together: the reactions"), &result.reactions);
    Table { foot, ..table(columns, rows.iter().map(|own| row(own.name.clone(), &own.reactions)).collect()) }
}
