//! The figures of a report: the structure, then for each case what can be
//! drawn of it.
//!
//! Must not know: how a figure is drawn.

use crate::present::document::{Block, words};
use crate::present::figure::{Kind, Refusal, tell};
use crate::statics::{CaseResult, Subject, ZERO_SHARE};
use crate::syntax::tree::MemberKind;

use super::{Report, heading};

/// Structures of more members have no figures of their cases in a report:
/// the lettering would not be legible on a page.
pub const MOST_MEMBERS: usize = 120;
/// The most cases and combinations with figures.
pub const MOST_CASES: usize = 12;

/// The structure, and how it moves where it is not stable.
pub fn of_structure(report: &Report<'_>) -> Vec<Block> {
    let checked = report.checked;
    if checked.structure.members.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![heading(1, "Structure")];
    let of_all = Kind::ALL.into_iter().filter(|kind| !kind.is_of_a_case());
    for kind in of_all {
        let subject = only_subject(report).filter(|_| kind == Kind::Structure);
        match tell(checked, kind, subject, report.figures) {
            Ok(figure) => blocks.push(Block::Figure(Box::new(figure))),
            Err(Refusal(why)) if kind == Kind::Structure => {
                blocks.push(Block::Paragraph(words(format!("No figure: {why}."))));
            }
            // There is nothing of the kind to be drawn.
            Err(_) => {}
        }
    }
    let structure = &checked.structure;
    if structure.members.len() > MOST_MEMBERS && checked.solution.is_some() {
        let said = format!(
            "The cases are not drawn: a structure of {} members is too large for figures on a page ({MOST_MEMBERS} at \
             most).",
            structure.members.len()
        );
        blocks.push(Block::Paragraph(words(said)));
    } else if report.results().len() > MOST_CASES {
        let said = format!("Only the first {MOST_CASES} cases and combinations are drawn.");
        blocks.push(Block::Paragraph(words(said)));
    }
    blocks
}

/// The one case there is: its loads stand on the figure of the structure.
fn only_subject(report: &Report<'_>) -> Option<Subject> {
    let structure = &report.checked.structure;
    match (structure.cases.len(), structure.combinations.len()) {
        (1, 0) => Some(Subject::Case(crate::base::CaseId::new(0))),
        _ => None,
    }
}

/// The figures of the case or combination at a place among those of the report.
pub fn of_case(report: &Report<'_>, place: usize, result: &CaseResult) -> Vec<Block> {
    let checked = report.checked;
    if checked.structure.members.len() > MOST_MEMBERS || place >= MOST_CASES {
        return Vec::new();
    }
    let has_beams = checked.structure.members.iter().any(|member| member.kind == MemberKind::Beam);
    let is_pulled = result.axial.iter().any(|n| n.abs() > ZERO_SHARE * result.largest);
    // The forces of bars are drawn on the bars, and of beams without axial
    // force there is no diagram of it.
    let is_repeated = |kind: Kind| kind == Kind::Axial && !(has_beams && is_pulled);
    let of_cases =
        Kind::ALL.into_iter().filter(|kind| kind.is_of_a_case() && !is_working(*kind) && !is_repeated(*kind));
    drawn(report, of_cases, result.subject)
}

/// The graphic solution, where one case is worked out: a figure for each of
/// many would bury the rest.
pub fn of_working(report: &Report<'_>) -> Vec<Block> {
    match report.results().as_slice() {
        [result] if report.checked.structure.members.len() <= MOST_MEMBERS => {
            drawn(report, Kind::ALL.into_iter().filter(|kind| is_working(*kind)), result.subject)
        }
        _ => Vec::new(),
    }
}

/// Figures that show how forces are found rather than what they are.
const fn is_working(kind: Kind) -> bool {
    matches!(kind, Kind::Polygons | Kind::ForceDiagram)
}

/// What cannot be drawn of a structure is not missed: a frame has no bars.
fn drawn(report: &Report<'_>, kinds: impl Iterator<Item = Kind>, subject: Subject) -> Vec<Block> {
    let figures = kinds.filter_map(|kind| tell(report.checked, kind, Some(subject), report.figures).ok());
    figures.map(|figure| Block::Figure(Box::new(figure))).collect()
}
