//! The extremes of every member over all cases and combinations, and which of
//! them each is under.
//!
//! Must not know: how forces are found.

use crate::base::MemberId;
use crate::check::words as phrases;
use crate::present::document::Block;
use crate::present::report::{cut, heading};
use crate::present::results::subject_name;
use crate::present::results::text::{beams, pinned};
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::statics::diagram::Quantity;
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;

use super::{Columns, numbers};

/// The largest value one way, where on the member, and under what.
#[derive(Clone, Copy)]
struct Peak<'r> {
    value: f64,
    at: f64,
    result: &'r CaseResult,
}

pub fn blocks(structure: &Structure, units: &UnitSystem, results: &[&CaseResult]) -> Vec<Block> {
    let mut blocks = vec![heading(2, "Extremes")];
    blocks.extend(bars(structure, units, results));
    for (quantity, name, unit) in [
        (Quantity::Axial, "Axial forces of beams", units.display_unit(Dimension::FORCE)),
        (Quantity::Shear, "Shear", units.display_unit(Dimension::FORCE)),
        (Quantity::Moment, "Moments", units.display_unit(Dimension::MOMENT)),
    ] {
        blocks.extend(of_beams(structure, &unit, results, quantity, name));
    }
    blocks
}

fn bars(structure: &Structure, units: &UnitSystem, results: &[&CaseResult]) -> Vec<Block> {
    let force = units.display_unit(Dimension::FORCE);
    let members = pinned(structure);
    if members.is_empty() {
        return Vec::new();
    }
    let peaks = members.iter().map(|member| {
        let axial = |result: &CaseResult| result.axial.get(member.index()).copied().unwrap_or(0.0);
        pair(results, |result| [(axial(result), 0.0); 2], |result| ZERO_SHARE * result.largest)
    });
    let peaks: Vec<[Option<Peak<'_>>; 2]> = peaks.collect();
    let mut table = Columns::new(members.len());
    table.words("member", members.iter().map(|member| structure.member_name(*member)));
    for (index, word) in ["tension", "compression"].iter().enumerate() {
        side(&mut table, structure, &force, &peaks, index, word, None);
    }
    cut(table.table("Largest forces over all cases and combinations"), "members")
}

fn of_beams(
    structure: &Structure,
    unit: &NamedUnit,
    results: &[&CaseResult],
    quantity: Quantity,
    name: &str,
) -> Vec<Block> {
    let members = beams::beams(structure);
    if members.is_empty() {
        return Vec::new();
    }
    let noise = |result: &CaseResult| match quantity {
        Quantity::Moment => beams::noise_moment(structure, result),
        _ => ZERO_SHARE * result.largest,
    };
    let extremes = |member: MemberId, result: &CaseResult| {
        result.diagram(structure, member).extremes(quantity).map(|extreme| (extreme.value, extreme.at))
    };
    let peaks: Vec<[Option<Peak<'_>>; 2]> =
        members.iter().map(|member| pair(results, |result| extremes(*member, result), noise)).collect();
    if peaks.iter().flatten().all(Option::is_none) {
        return Vec::new();
    }
    let mut table = Columns::new(members.len());
    table.words("beam", members.iter().map(|member| structure.member_name(*member)));
    let sides = match quantity {
        Quantity::Axial => ["tension", "compression"],
        _ => ["positive", "negative"],
    };
    for (index, word) in sides.iter().enumerate() {
        let places = (quantity != Quantity::Axial).then_some(members.as_slice());
        side(&mut table, structure, unit, &peaks, index, word, places);
    }
    cut(table.table(format!("{name}: the largest either way over all cases and combinations")), "beams")
}

/// The largest positive and the largest negative value over the results.
fn pair<'r>(
    results: &[&'r CaseResult],
    values: impl Fn(&CaseResult) -> [(f64, f64); 2],
    noise: impl Fn(&CaseResult) -> f64,
) -> [Option<Peak<'r>>; 2] {
    let mut best: [Option<Peak<'r>>; 2] = [None; 2];
    for result in results {
        for (value, at) in values(result) {
            let index = usize::from(value < 0.0);
            let Some(kept) = best.get_mut(index) else { continue };
            if value.abs() > noise(result) && kept.is_none_or(|kept| value.abs() > kept.value.abs()) {
                *kept = Some(Peak { value, at, result });
            }
        }
    }
    best
}

/// The columns of one side: the value, where, under what.
fn side(
    table: &mut Columns,
    structure: &Structure,
    unit: &NamedUnit,
    peaks: &[[Option<Peak<'_>>; 2]],
    index: usize,
    word: &str,
    places: Option<&[MemberId]>,
) {
    let own: Vec<Option<Peak<'_>>> = peaks.iter().map(|pair| pair.get(index).copied().flatten()).collect();
    let values: Vec<Option<f64>> =
        own.iter().map(|peak| peak.map(|peak| if places.is_some() { peak.value } else { peak.value.abs() })).collect();
    table.numbers(numbers(word, unit, &values, 0.0));
    if let Some(members) = places {
        let place = |(peak, member): (&Option<Peak<'_>>, &MemberId)| {
            peak.map_or_else(String::new, |peak| phrases::member_place(structure, *member, peak.at))
        };
        table.words("where", own.iter().zip(members).map(place));
    }
    let under = |peak: &Option<Peak<'_>>| {
        peak.map_or_else(String::new, |peak| subject_name(structure, peak.result.subject).to_owned())
    };
    table.words("under", own.iter().map(under));
}
