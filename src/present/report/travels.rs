//! Travelling loads: the extremes with the position of the train.
//!
//! Must not know: how extremes are found.

use crate::present::document::{Block, words};
use crate::present::results::tables::{Shown, Tables};
use crate::present::results::words::{travel_loads, travel_residual};

use super::{Report, cut, heading};

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let structure = &report.checked.structure;
    let tables = Tables::of(structure);
    let mut blocks = Vec::new();
    for result in report.travels() {
        if blocks.is_empty() {
            blocks.push(heading(1, "Travelling loads"));
        }
        blocks.push(heading(2, structure.travel_name(result.travel)));
        blocks.push(Block::Paragraph(words(travel_loads(structure, result))));
        blocks.extend(cut(tables.travel_reactions(result)));
        blocks.extend(tables.travel_members(result, Shown::All).into_iter().flat_map(cut));
        blocks.push(Block::Paragraph(words(format!("Equilibrium check: residual {}.", travel_residual(result)))));
    }
    blocks
}
