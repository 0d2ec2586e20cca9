//! The working: the whole solution written out, to be followed and checked by
//! hand.
//!
//! Must not know: files and terminals, how a page is written.

mod answers;
mod external;
mod flexibility;
mod frames;
mod joints;
mod loads;
mod pen;
mod redundant;
mod sums;
mod superposition;
mod terms;

use crate::base::{Files, MemberId};
use crate::check::words::ordinal;
use crate::present::document::{Block, Document, Inline, Line, words};
use crate::present::results::CAUTION;
use crate::present::results::subject_name;
use crate::solution::bodies::Division;
use crate::solution::loads::Loads;
use crate::solution::sections::Sections;
use crate::solution::superposition::parts as superposition_of;
use crate::solution::system::System;
use crate::solution::{joints as truss, reactions};
use crate::statics::{CaseResult, Subject, Verdict, VerdictKind};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

pub use pen::set;
use pen::{Conventions, Page, Pen};

/// Structures of more members than this are not written out.
pub const MOST_MEMBERS: usize = 400;

/// What is to be worked out.
#[derive(Clone, Copy)]
pub struct Asked<'a> {
    pub structure: &'a Structure,
    pub files: &'a Files,
    /// The file's name, for a structure without a title.
    pub file: &'a str,
    pub verdict: &'a Verdict,
    /// All that was solved.
    pub solved: &'a [CaseResult],
    /// The cases and combinations to be told.
    pub results: &'a [&'a CaseResult],
    /// The one bar required, by the method of sections.
    pub member: Option<MemberId>,
}

/// Writes the whole solution.
pub fn derive(asked: &Asked<'_>) -> Document {
    let mut blocks =
        vec![Block::Paragraph(verdict_line(asked.structure, asked.verdict)), Block::Paragraph(rounding(asked))];
    blocks.extend(each(asked).flatten());
    blocks.push(Block::Caution(words(CAUTION)));
    Document { title: title(asked), blocks }
}

/// The same in parts: each of the results asked for with what it takes from
/// those before it, worked out as it is asked for. What stands before them all
/// is in the first.
pub fn derive_each(asked: &Asked<'_>) -> impl Iterator<Item = Document> {
    each(asked).enumerate().map(|(index, mut blocks)| {
        if index == 0 {
            let verdict = Block::Paragraph(verdict_line(asked.structure, asked.verdict));
            blocks.splice(0..0, [verdict, Block::Paragraph(rounding(asked))]);
        }
        Document { title: title(asked), blocks }
    })
}

fn title(asked: &Asked<'_>) -> String {
    asked.structure.title.clone().unwrap_or_else(|| asked.file.to_owned())
}

fn each(asked: &Asked<'_>) -> impl Iterator<Item = Vec<Block>> {
    let structure = asked.structure;
    let several = asked.results.len() > 1 || structure.cases.len() + structure.combinations.len() > 1;
    let mut known = redundant::Known::default();
    let of_result = move |(index, result): (usize, &&CaseResult)| {
        let mut page = Page::default();
        if several {
            page.heading(1, heading(structure, result.subject));
        }
        let conventions = if index == 0 { Conventions::ToState } else { Conventions::Stated };
        tell_case(asked, result, conventions, &mut known, &mut page);
        if !several {
            // Without a heading above them the parts stand just under the title.
            raise_headings(&mut page.blocks);
        }
        page.blocks
    };
    asked.results.iter().enumerate().map(of_result)
}

fn raise_headings(blocks: &mut [Block]) {
    for block in blocks {
        if let Block::Heading { level, .. } = block {
            *level = level.saturating_sub(1).max(1);
        }
    }
}

fn heading(structure: &Structure, subject: Subject) -> String {
    match subject {
        Subject::Case(_) => format!("Case {}", subject_name(structure, subject)),
        Subject::Combination(_) => format!("Combination {}", subject_name(structure, subject)),
    }
}

fn is_truss(structure: &Structure) -> bool {
    structure.members.iter().all(|member| member.kind != MemberKind::Beam)
}

fn verdict_line(structure: &Structure, verdict: &Verdict) -> Line {
    let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
    let is = match verdict.kind {
        VerdictKind::Determinate => "statically determinate".to_owned(),
        VerdictKind::Indeterminate => format!("statically indeterminate to the {} degree", ordinal(verdict.redundancy)),
        VerdictKind::Unstable => "unstable".to_owned(),
        VerdictKind::NotSettled => "not settled".to_owned(),
    };
    let count = if is_truss(structure) {
        format!("{m} bars + {r} reactions = {} unknowns, {j} joints give 2 × {j} = {} equations", m + r, 2 * j)
    } else {
        format!("{} unknowns, {} equations of the joints", verdict.rank.columns, verdict.rank.rows)
    };
    let set = structure.set_words().map_or_else(String::new, |set| format!("With {set}: "));
    vec![
        Inline::Words(format!("{set}{count}: the structure is stable and ")),
        Inline::Strong(is),
        Inline::Words(".".to_owned()),
    ]
}

fn rounding(asked: &Asked<'_>) -> Line {
    let figures = asked.structure.figures.stated();
    let practice = figures.map_or_else(
        || "three significant figures, four where the first is 1".to_owned(),
        |figures| format!("{figures} significant figure{}", if figures == 1 { "" } else { "s" }),
    );
    words(format!(
        "Results are printed to {practice}, and used unrounded: last figures worked out from the printed values may differ."
    ))
}

fn tell_case(
    asked: &Asked<'_>,
    result: &CaseResult,
    conventions: Conventions,
    known: &mut redundant::Known,
    page: &mut Page,
) {
    let structure = asked.structure;
    let mut pen = Pen::new(structure, result.largest);
    pen.conventions = conventions;
    if let Subject::Combination(_) = result.subject {
        page.say(summands(structure, result.subject));
    }
    if let Some(caution) = does_not_hold(&pen, result) {
        page.blocks.push(Block::Caution(words(caution)));
    }
    let loads = Loads::of(&pen, asked.files, result.subject);
    loads::tell(&pen, &loads, page);
    let is_truss = is_truss(structure);
    let mut system = reactions::set_up(&pen, &loads);
    let superposed = |page: &mut Page| {
        let parts = superposition_of(structure, asked.verdict, asked.solved, result.subject);
        superposition::tell(&pen, asked.files, &parts, result, page);
    };
    let is_determinate = asked.verdict.kind == VerdictKind::Determinate;
    if loads.imposed && is_determinate {
        page.say(
            "Settlements, temperature changes and misfits displace a determinate structure, but cause no forces in it.",
        );
    }
    if is_determinate || system.is_whole() {
        page.heading(2, "External equilibrium");
        external::tell(&pen, &mut system, &loads, page);
    }
    if is_determinate {
        superposed(page);
        if is_truss {
            tell_bars(&pen, &system, &loads, asked.member, page);
        } else {
            external::tell_inside(&pen, &mut System::divided(&pen, &loads, Division::Beams), &system, page);
        }
    }
    if asked.verdict.kind == VerdictKind::Indeterminate {
        redundant::tell(&pen, asked.verdict, result, known, page);
        superposed(page);
    }
    if !is_truss {
        frames::tell(&pen, &loads, result, page);
    }
    answers::tell(&pen, asked.verdict, result, asked.member, page);
}

/// The forces in the bars of a truss, or in the one that is asked for.
fn tell_bars(pen: &Pen<'_>, system: &System, loads: &Loads, wanted: Option<MemberId>, page: &mut Page) {
    let mut bars = System::divided(pen, loads, Division::Joints);
    bars.take_from(system);
    let mut sections = Sections::new(pen);
    if let Some(cut) = wanted.and_then(|member| sections.find(pen, &bars, member)) {
        page.heading(2, "Required member, by the method of sections");
        joints::tell_section(pen, &bars.unknowns, &cut, page);
        return;
    }
    page.heading(2, "Members, by the method of joints");
    if let Some(member) = wanted {
        page.say(format!(
            "No straight section was found with {} as the only unknown of one sum; it is found joint by joint.",
            pen.structure.member_name(member)
        ));
    }
    let steps = truss::find(pen, &mut bars, loads, &mut sections, wanted);
    joints::tell(pen, &bars, &steps, page);
}

/// The cases of a combination with their factors, in words.
fn summands(structure: &Structure, subject: Subject) -> String {
    let parts = subject.factors(structure).into_iter();
    let parts = parts.map(|(case, factor)| format!("{}{}", loads::times(&factor), structure.case_name(case)));
    format!("Loads of {}.", pen::listed(&parts.collect::<Vec<_>>()))
}

/// A cable in compression, a one-way roller that pulls.
fn does_not_hold(pen: &Pen<'_>, result: &CaseResult) -> Option<String> {
    if result.holds() {
        return None;
    }
    let slack = result
        .slack
        .iter()
        .map(|member| format!("the cable {} would be in compression", pen.structure.member_name(*member)));
    let lifted = result.lifted.iter().map(|support| pen.structure.supports[*support].joint);
    let lifted = lifted.map(|joint| format!("the roller at {} would have to pull", pen.joint(joint)));
    let what: Vec<String> = slack.chain(lifted).collect();
    Some(format!("These results do not hold: {}.", pen::listed(&what)))
}
