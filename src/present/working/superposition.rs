//! What each load alone contributes to each reaction; the sum is the reaction.
//!
//! Must not know: how one reaction is worked out.

use crate::base::{Files, IdVec, Origin, SupportId};
use crate::present::document::{Align, Block, Line, Table, TableColumn, words};
use crate::present::text::one_line;
use crate::statics::{CaseResult, Equilibrium, Reaction, Subject, Verdict, solve};
use crate::structure::model::{Case, Load};

use super::loads::{factor_formula, plain, unitless};
use super::pen::{Pen, formula, say, symbol};

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
    blocks: &mut Vec<Block>,
) {
    let rows = match result.subject {
        Subject::Case(id) => pen.structure.cases.get(id.index()).and_then(|case| by_load(pen, files, verdict, case)),
        Subject::Combo(id) => pen.structure.combos.get(id.index()).map(|combo| {
            let of_case = |(case, factor): &(crate::base::CaseId, crate::quantity::Number)| {
                let own = results.iter().find(|result| result.subject == Subject::Case(*case))?;
                let times = factor.to_f64();
                let reactions = own.reactions.iter().map(|reaction| scaled(reaction, times)).collect();
                let name = pen.structure.case_name(*case);
                let minus = if times < 0.0 { "−" } else { "" };
                let factor =
                    factor_formula(factor).map_or_else(String::new, |factor| format!("{minus}{} × ", plain(&factor)));
                Some(Row { name: words(format!("{factor}{name}")), reactions })
            };
            combo.factors.iter().filter_map(of_case).collect()
        }),
    };
    let Some(rows) = rows.filter(|rows| (2..=MOST_LOADS).contains(&rows.len())) else { return };
    let table = table(pen, &rows, result);
    if table.columns.len() > MOST_REACTIONS + 1 || table.columns.len() < 2 {
        return;
    }
    blocks.push(Block::Heading { level: 2, text: words("Superposition: what each load alone gives") });
    blocks.push(Block::Table(table));
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
    Some(
        groups
            .iter()
            .zip(solution.results)
            .map(|((origin, _), result)| Row { name: name(origin), reactions: result.reactions })
            .collect(),
    )
}

fn table(pen: &Pen<'_>, rows: &[Row], result: &CaseResult) -> Table {
    let mut columns = vec![TableColumn { heading: words("load"), align: Align::Left }];
    let mut parts: Vec<(usize, u8)> = Vec::new();
    for (index, (support, reaction)) in pen.structure.supports.iter().zip(&result.reactions).enumerate() {
        let joint = pen.joint(support.joint);
        for (which, part) in (0_u8..).zip([reaction.fx, reaction.fy, reaction.m]) {
            if part.is_none() {
                continue;
            }
            let (name, unit) = match which {
                0 => (symbol(joint, "x"), &pen.force),
                1 => (symbol(joint, "y"), &pen.force),
                _ => (symbol("M", joint), &pen.moment),
            };
            parts.push((index, which));
            columns.push(TableColumn {
                heading: vec![formula(name), say(format!(" {}", unit.symbol))],
                align: Align::Point,
            });
        }
    }
    let cells = |reactions: &[Reaction]| -> Vec<Line> {
        let of = |(support, which): &(usize, u8)| {
            let reaction = reactions.get(*support).copied().unwrap_or_default();
            let shown = match which {
                0 => pen.force(reaction.fx.unwrap_or(0.0)),
                1 => pen.force(reaction.fy.unwrap_or(0.0)),
                _ => pen.moment(pen.structure.turning(reaction.m.unwrap_or(0.0))),
            };
            vec![formula(unitless(shown))]
        };
        parts.iter().map(of).collect()
    };
    let row = |name: Line, reactions: &[Reaction]| std::iter::once(name).chain(cells(reactions)).collect();
    Table {
        caption: Vec::new(),
        columns,
        rows: rows.iter().map(|own| row(own.name.clone(), &own.reactions)).collect(),
        foot: row(words("together: the reactions"), &result.reactions),
    }
}
