//! The working of each case, set below a heading of the report.
//!
//! Must not know: how a structure is worked out.

use crate::base::FileId;
use crate::check::words as phrases;
use crate::present::document::{Block, Document};
use crate::present::results::subject_name;
use crate::present::working::{Asked, MOST_MEMBERS, derive_each};

use super::{Report, figures, heading, prose};

/// The most lines of working in a report, all cases together.
pub const MOST_LINES: usize = 1_500;

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let structure = &report.checked.structure;
    let results = report.results();
    let Some(verdict) = report.checked.verdict.as_ref().filter(|_| !results.is_empty()) else { return Vec::new() };
    let mut blocks = vec![heading(1, "Working")];
    let members = structure.members.len();
    if members > MOST_MEMBERS {
        let said = format!("{members} members are too many for a written solution ({MOST_MEMBERS} at most).");
        blocks.push(Block::Paragraph(prose(&said)));
        return blocks;
    }
    let mut lines = 0;
    let checked = report.checked;
    let asked = Asked {
        structure,
        files: &report.project.files,
        file: report.project.files.name(FileId(0)),
        verdict,
        solved: checked.solution.as_ref().map_or(&[], |solution| solution.results.as_slice()),
        results: &results,
        member: None,
    };
    for (index, worked) in derive_each(&asked).enumerate() {
        let worked = below(worked, index == 0);
        lines += worked.iter().map(length).sum::<usize>();
        if lines > MOST_LINES {
            let left: Vec<String> =
                results.iter().skip(index).map(|left| subject_name(structure, left.subject).to_owned()).collect();
            let of = if results.len() == 1 { String::new() } else { format!(" of {}", phrases::list(&left)) };
            let said = format!(
                "The working{of} is left out: a report holds {MOST_LINES} lines of it at most; `kingpost derive` writes all \
                 of it."
            );
            blocks.push(Block::Paragraph(prose(&said)));
            break;
        }
        blocks.extend(worked);
    }
    blocks.extend(figures::of_working(report));
    blocks
}

/// The blocks of a working below a heading of their own. What stands before
/// the first heading is the same for every case and told once.
fn below(document: Document, is_first: bool) -> Vec<Block> {
    let has_case = document.blocks.iter().any(|block| matches!(block, Block::Heading { level: 1, .. }));
    let mut blocks = Vec::new();
    let mut within = is_first;
    for block in document.blocks {
        match block {
            Block::Heading { level, text } => {
                within = true;
                blocks.push(Block::Heading { level: level + u8::from(has_case), text });
            }
            // The report has said it at its head.
            Block::Caution(_) => {}
            block if within => blocks.push(block),
            _ => {}
        }
    }
    blocks
}

/// About how many lines a block takes.
fn length(block: &Block) -> usize {
    match block {
        Block::Working(steps) => steps.len(),
        Block::Table(table) => table.rows.len() + 2,
        Block::List(items) => items.len(),
        _ => 2,
    }
}
