//! Results as tables: reactions, member forces, sections of beams,
//! displacements, sums and residual of each case, then the extremes of all.
//!
//! Must not know: how forces are found.

use crate::base::tolerances::BALANCE;
use crate::check::words as phrases;
use crate::present::document::{Block, words};
use crate::present::results::extremes::Compared;
use crate::present::results::tables::{
    Extremes, GREATEST_LEAST, POSITIVE_NEGATIVE, QuantityIn, Sides, TENSION_COMPRESSION, Table, Tables,
};
use crate::present::results::words::{does_not_hold, heading as case_heading, over, residual};
use crate::present::results::{MOST_BESIDE, subject_name};
use crate::present::working::set;
use crate::statics::CaseResult;
use crate::structure::Structure;

use super::{MOST_SUBJECTS, Report, cut, figures, heading};

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let structure = &report.checked.structure;
    let tables = Tables::of(structure);
    let results = report.results();
    if results.is_empty() {
        return Vec::new();
    }
    let is_only = report.checked.solution.as_ref().is_some_and(|solution| solution.results.len() == 1);
    let mut blocks = vec![heading(1, "Results")];
    for (place, result) in results.iter().take(MOST_SUBJECTS).enumerate() {
        let named = !is_only || !structure.travels.is_empty();
        if named {
            blocks.push(heading(2, phrases::capital(&case_heading(structure, result))));
        } else if let Some(fails) = does_not_hold(result) {
            blocks.push(Block::Paragraph(words(format!("({fails})"))));
        }
        blocks.extend(figures::of_case(report, place, result));
        blocks.extend(cut(tables.reactions(result)));
        blocks.extend(tables.bars(result).filter(|_| is_only).into_iter().flat_map(cut));
        blocks.extend(tables.beams(result).into_iter().flat_map(cut));
        blocks.extend(tables.displacements(result).into_iter().flat_map(cut));
        let mut sums = set(tables.sums(result));
        sums.foot = sums.rows.pop().unwrap_or_default();
        blocks.push(Block::Table(sums));
        blocks.push(Block::Paragraph(words(equilibrium(structure, result))));
    }
    if results.len() > MOST_SUBJECTS {
        let rest = results.iter().skip(MOST_SUBJECTS);
        let rest: Vec<String> = rest.map(|result| subject_name(structure, result.subject).to_owned()).collect();
        let said = format!("{}: a report shows {MOST_SUBJECTS} cases and combinations at most.", phrases::list(&rest));
        blocks.push(Block::Paragraph(words(said)));
    }
    if !is_only {
        // All cases beside each other, a few at a time.
        let beside = results.chunks(MOST_BESIDE).take(MOST_SUBJECTS.div_ceil(MOST_BESIDE));
        let beside: Vec<Table> = beside.filter_map(|beside| tables.bars_beside(beside)).collect();
        blocks.extend((!beside.is_empty()).then(|| heading(2, "Member forces")));
        blocks.extend(beside.into_iter().flat_map(cut));
    }
    blocks.extend(extremes(&tables, &results));
    blocks
}

/// The residual in words, and its size where it is too large.
fn equilibrium(structure: &Structure, result: &CaseResult) -> String {
    if result.residual.relative <= BALANCE {
        "Equilibrium check: satisfied.".to_owned()
    } else {
        format!("Equilibrium check: residual {}.", residual(structure, result))
    }
}

/// Nothing where fewer than two results can be compared.
fn extremes(tables: &Tables<'_>, results: &[&CaseResult]) -> Vec<Block> {
    let Some(compared) = Compared::of(tables.structure, results) else { return Vec::new() };
    let mut blocks = vec![heading(2, "Extremes")];
    blocks.push(Block::Paragraph(words(format!("Over {}.", over(tables.structure, &compared)))));
    let mut add = |owner: &str, extremes: Extremes, sides: Sides, caption: String, rows: &'static str| {
        let columns = tables.extremes(owner, &[extremes], sides, QuantityIn::TheHeadings);
        if columns.iter().any(|column| !column.cells.is_empty()) {
            blocks.extend(cut(Table { name: "", caption, rows, columns }));
        }
    };
    for extremes in tables.extreme_reactions(&compared) {
        let caption = format!("Reactions {}: the greatest and the least", extremes.quantity);
        add("joint", extremes, GREATEST_LEAST, caption, "supports");
    }
    let (_, bars) = tables.extreme_bars(&compared);
    add("member", bars, TENSION_COMPRESSION, "Member forces: the largest either way".to_owned(), "members");
    for extremes in tables.extreme_beams(&compared) {
        let (name, sides) = match extremes.quantity {
            "N" => ("Axial forces of beams", TENSION_COMPRESSION),
            "V" => ("Shear", POSITIVE_NEGATIVE),
            _ => ("Moments", POSITIVE_NEGATIVE),
        };
        add("beam", extremes, sides, format!("{name}: the largest either way"), "beams");
    }
    blocks
}
