//! The extremes of all reactions and members, and which case or combination
//! each is under.
//!
//! Must not know: how forces are found.

use crate::base::MemberId;
use crate::check::words as phrases;
use crate::present::document::{Block, words};
use crate::present::report::{cut, heading};
use crate::present::results::extremes::{Compared, Peak};
use crate::present::results::subject_name;
use crate::present::results::text::extremes::{components, over};
use crate::present::results::text::{beams, pinned};
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::statics::CaseResult;
use crate::statics::diagram::Quantity;
use crate::structure::Structure;

use super::{Columns, numbers};

/// Nothing where fewer than two results can be compared.
pub fn blocks(structure: &Structure, units: &UnitSystem, results: &[&CaseResult]) -> Vec<Block> {
    let Some(compared) = Compared::of(structure, results) else { return Vec::new() };
    let mut blocks = vec![heading(2, "Extremes")];
    blocks.push(Block::Paragraph(words(format!("Over {}.", over(structure, &compared)))));
    for (name, component, dimension) in components(structure) {
        let unit = units.display_unit(dimension);
        let given = compared.reactions(component).into_iter().zip(&structure.supports);
        let given: Vec<(&str, [Option<Peak>; 2])> = given
            .filter_map(|(peaks, support)| Some((structure.joint_name(support.joint), peaks?.map(Some))))
            .collect();
        if given.is_empty() {
            continue;
        }
        let mut table = Columns::new(given.len());
        table.words("joint", given.iter().map(|(joint, _)| (*joint).to_owned()));
        let peaks: Vec<[Option<Peak>; 2]> = given.iter().map(|(_, peaks)| *peaks).collect();
        for (index, word) in ["greatest", "least"].iter().enumerate() {
            side(&mut table, structure, &unit, &peaks, index, word, Told::Signed);
        }
        blocks.extend(cut(table.table(format!("Reactions {name}: the greatest and the least")), "supports"));
    }
    blocks.extend(bars(structure, units, &compared));
    for (quantity, name, unit) in [
        (Quantity::Axial, "Axial forces of beams", units.display_unit(Dimension::FORCE)),
        (Quantity::Shear, "Shear", units.display_unit(Dimension::FORCE)),
        (Quantity::Moment, "Moments", units.display_unit(Dimension::MOMENT)),
    ] {
        blocks.extend(of_beams(structure, &unit, &compared, quantity, name));
    }
    blocks
}

fn bars(structure: &Structure, units: &UnitSystem, compared: &Compared<'_>) -> Vec<Block> {
    let members = pinned(structure);
    if members.is_empty() {
        return Vec::new();
    }
    let peaks = compared.bars(&members);
    let mut table = Columns::new(members.len());
    table.words("member", members.iter().map(|member| structure.member_name(*member)));
    for (index, word) in ["tension", "compression"].iter().enumerate() {
        side(&mut table, structure, &units.display_unit(Dimension::FORCE), &peaks, index, word, Told::Size);
    }
    cut(table.table("Member forces: the largest either way"), "members")
}

fn of_beams(
    structure: &Structure,
    unit: &NamedUnit,
    compared: &Compared<'_>,
    quantity: Quantity,
    name: &str,
) -> Vec<Block> {
    let members = beams::beams(structure);
    let peaks = compared.beams(structure, &members, quantity);
    if peaks.iter().flatten().all(Option::is_none) {
        return Vec::new();
    }
    let mut table = Columns::new(members.len());
    table.words("beam", members.iter().map(|member| structure.member_name(*member)));
    let (sides, told) = match quantity {
        Quantity::Axial => (["tension", "compression"], Told::Size),
        _ => (["positive", "negative"], Told::Along(&members)),
    };
    for (index, word) in sides.iter().enumerate() {
        side(&mut table, structure, unit, &peaks, index, word, told);
    }
    cut(table.table(format!("{name}: the largest either way")), "beams")
}

/// How a peak is told.
#[derive(Clone, Copy)]
enum Told<'a> {
    /// The column's heading says the sense.
    Size,
    Signed,
    /// Signed, and where on its member.
    Along(&'a [MemberId]),
}

/// The columns of one side: the value, where, under what.
fn side(
    table: &mut Columns,
    structure: &Structure,
    unit: &NamedUnit,
    peaks: &[[Option<Peak>; 2]],
    index: usize,
    word: &str,
    told: Told<'_>,
) {
    let own: Vec<Option<Peak>> = peaks.iter().map(|pair| pair.get(index).copied().flatten()).collect();
    let value = |peak: Peak| if matches!(told, Told::Size) { peak.value.abs() } else { peak.value };
    let values: Vec<Option<f64>> = own.iter().map(|peak| peak.map(value)).collect();
    table.numbers(numbers(structure, word, unit, &values, 0.0));
    if let Told::Along(members) = told {
        let place = |(peak, member): (&Option<Peak>, &MemberId)| {
            peak.map_or_else(String::new, |peak| phrases::member_place(structure, *member, peak.at))
        };
        table.words("where", own.iter().zip(members).map(place));
    }
    let under =
        |peak: &Option<Peak>| peak.map_or_else(String::new, |peak| subject_name(structure, peak.subject).to_owned());
    table.words("under", own.iter().map(under));
}
