//! Beams in the text result, a line each, and what is largest where.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::{JointId, MemberId};
use crate::check::outcome::tension_side;
use crate::check::words;
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::statics::diagram::{Diagram, Extreme, Quantity, largest_deflection};
use crate::statics::{CaseResult, ZERO_SHARE, spans};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::{column, write_rows};

/// The beams of a structure.
pub fn beams(structure: &Structure) -> Vec<MemberId> {
    let is_beam = |index: &usize| structure.members.get(*index).is_some_and(|member| member.kind == MemberKind::Beam);
    (0..structure.members.len()).filter(is_beam).map(MemberId::new).collect()
}

/// One line a beam: axial force, shear and moment at its ends, and the extreme
/// moments between them beyond both; a second such moment gets a line below.
pub fn write_beams(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &CaseResult,
) -> io::Result<()> {
    let beams = beams(structure);
    if beams.is_empty() {
        return Ok(());
    }
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let diagrams: Vec<Diagram> = beams.iter().map(|member| result.diagram(structure, *member)).collect();
    let of = |unit: &NamedUnit, value: fn(&Diagram) -> f64, scale: f64| {
        column(structure, unit, &diagrams.iter().map(|diagram| Some(value(diagram))).collect::<Vec<_>>(), scale)
    };
    let moment_scale = diagrams
        .iter()
        .flat_map(|diagram| diagram.extremes(Quantity::Moment))
        .map(|extreme| extreme.value.abs())
        .fold(noise_moment(structure, result), f64::max);
    let inside = inside_rows(&diagrams, noise_moment(structure, result));
    let scale = result.largest;
    let mut columns: Vec<(&str, &NamedUnit, Vec<String>)> = Vec::new();
    if has_even_axial(&diagrams, scale) {
        columns.push(("N", &force, of(&force, |d| d.start().axial, scale)));
    } else {
        columns.push(("N start", &force, of(&force, |d| d.start().axial, scale)));
        columns.push(("N end", &force, of(&force, |d| d.end().axial, scale)));
    }
    columns.push(("V start", &force, of(&force, |d| d.start().shear, scale)));
    columns.push(("V end", &force, of(&force, |d| d.end().shear, scale)));
    columns.push(("M start", &moment, of(&moment, |d| d.start().moment, moment_scale)));
    columns.push(("M end", &moment, of(&moment, |d| d.end().moment, moment_scale)));
    let values: Vec<Option<f64>> = inside.iter().map(|row| row.extreme.map(|extreme| extreme.value)).collect();
    let between = column(structure, &moment, &values, moment_scale);
    let mut head = vec!["beams".to_owned()];
    let mut symbols = vec![String::new()];
    for (name, unit, _) in &columns {
        head.push((*name).to_owned());
        symbols.push(unit.symbol.clone());
    }
    let ends = head.len();
    head.extend(["M inside".to_owned(), "at".to_owned()]);
    symbols.extend([moment.symbol.clone(), units.length.symbol.clone()]);
    let mut rows = vec![head, symbols];
    for (InsideRow { beam, is_first, extreme }, between) in inside.iter().zip(between) {
        let mut row = vec![String::new(); columns.len() + 1];
        if *is_first {
            row = vec![beams.get(*beam).map_or_else(String::new, |id| format!("  {}", structure.member_name(*id)))];
            row.extend(columns.iter().map(|(.., cells)| cells.get(*beam).cloned().unwrap_or_default()));
        }
        row.push(between);
        row.push(extreme.map_or_else(String::new, |extreme| place_number(structure, units, extreme.at)));
        rows.push(row);
    }
    // Every moment lies between those at the ends: no need for the columns.
    let shown = if inside.iter().all(|row| row.extreme.is_none()) { ends } else { ends + 2 };
    rows.iter_mut().for_each(|row| row.truncate(shown));
    write_rows(out, "  ", &rows, |column| column > 0)
}

/// Where on a beam an extreme is, in the file's unit of length.
pub(in crate::present) fn place_number(structure: &Structure, units: &UnitSystem, at: f64) -> String {
    structure.figures.result(units.length.convert(at))
}

/// Whether each beam carries one axial force from end to end: no load acts
/// along it.
pub(in crate::present) fn has_even_axial(diagrams: &[Diagram], largest: f64) -> bool {
    diagrams.iter().all(|diagram| {
        let [most, least] = diagram.extremes(Quantity::Axial);
        most.value - least.value <= ZERO_SHARE * largest
    })
}

/// The size of the moments that the largest force makes, beside which noise is
/// told from numbers.
pub(in crate::present) fn moment_scale(structure: &Structure, result: &CaseResult) -> f64 {
    result.largest * structure.size()
}

/// Below this a moment is noise.
pub(in crate::present) fn noise_moment(structure: &Structure, result: &CaseResult) -> f64 {
    moment_scale(structure, result) * ZERO_SHARE
}

/// A row of a table of beams: the first has the beam's name and end values.
pub(in crate::present) struct InsideRow {
    /// Counted among the table's beams.
    pub beam: usize,
    pub is_first: bool,
    pub extreme: Option<Extreme>,
}

/// The rows a table of these beams has: one each, and one more for a beam with
/// a largest and a smallest moment between its ends.
pub(in crate::present) fn inside_rows(diagrams: &[Diagram], noise: f64) -> Vec<InsideRow> {
    let rows = diagrams.iter().enumerate().flat_map(|(beam, diagram)| {
        let mut extremes: Vec<Option<Extreme>> = extremes_inside(diagram, noise).into_iter().map(Some).collect();
        if extremes.is_empty() {
            extremes.push(None);
        }
        extremes.into_iter().enumerate().map(move |(nth, extreme)| InsideRow { beam, is_first: nth == 0, extreme })
    });
    rows.collect()
}

/// The largest and the smallest moment, each where it lies strictly between
/// the ends and outside the range of the two end values: the span moment of a
/// continuous beam counts however large the support moments are.
pub(in crate::present) fn extremes_inside(diagram: &Diagram, noise: f64) -> Vec<Extreme> {
    let (start, end) = (diagram.start().moment, diagram.end().moment);
    let (low, high) = (start.min(end), start.max(end));
    let margin = noise.max(1e-9 * low.abs().max(high.abs()));
    let length = diagram.length();
    let between = |extreme: &Extreme| extreme.at > 1e-9 * length && extreme.at < length * (1.0 - 1e-9);
    let [most, least] = diagram.extremes(Quantity::Moment);
    let above = Some(most).filter(|extreme| extreme.value > high + margin);
    let below = Some(least).filter(|extreme| extreme.value < low - margin);
    let mut found: Vec<Extreme> = [above, below].into_iter().flatten().filter(between).collect();
    found.sort_by(|a, b| a.at.total_cmp(&b.at));
    found
}

/// What is largest, and where: bending, and movement where stiffness is known.
pub fn write_largest(out: &mut dyn Write, structure: &Structure, result: &CaseResult) -> io::Result<()> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let beams = beams(structure);
    let moments = beams.iter().flat_map(|member| {
        result.diagram(structure, *member).extremes(Quantity::Moment).map(|extreme| (*member, extreme))
    });
    if let Some((member, extreme)) = first_largest(moments, |(_, extreme)| extreme.value.abs())
        && extreme.value.abs() > noise_moment(structure, result)
    {
        let size = words::quantity(structure, extreme.value.abs(), Dimension::MOMENT);
        let side = tension_side(structure, member, extreme.value);
        rows.push(vec!["moment".to_owned(), format!("{size} {side}"), place(structure, member, extreme.at)]);
    }
    let bent = most_bent(structure, result, &beams);
    let sag = bent.map_or(0.0, |(_, extreme)| extreme.value.abs());
    rows.extend(most_moved(structure, result, sag));
    rows.extend(bent.and_then(|(member, extreme)| bent_words(structure, member, extreme)));
    for (index, row) in rows.iter_mut().enumerate() {
        row.insert(0, if index == 0 { "largest".to_owned() } else { String::new() });
    }
    write_rows(out, "  ", &rows, |_| false)
}

/// The first of those that are as large as the largest but for rounding, so
/// that a tie falls to the same one in every case.
fn first_largest<T>(items: impl Iterator<Item = T>, size: impl Fn(&T) -> f64) -> Option<T> {
    items.fold(None, |best: Option<T>, item| match best {
        Some(best) if size(&item) <= size(&best) * (1.0 + 1e-9) => Some(best),
        _ => Some(item),
    })
}

/// `in A-B, 2.50 m from A`
pub(super) fn place(structure: &Structure, member: MemberId, at: f64) -> String {
    format!("in {}, {}", structure.member_name(member), words::member_place(structure, member, at))
}

/// The joint that moves most; nothing beside a sag it is noise to.
fn most_moved(structure: &Structure, result: &CaseResult, sag: f64) -> Option<Vec<String>> {
    let displacements = result.displacements.as_ref()?;
    let size = |index: usize| displacements.get(index).map_or(0.0, |moved| moved.dx.hypot(moved.dy));
    let most = first_largest(0..displacements.len(), |index| size(*index))?;
    let moved = displacements.get(most).filter(|_| size(most) > 1e-9 * sag)?;
    let noise = 1e-9 * size(most);
    let clean = |part: f64| if part.abs() <= noise { 0.0 } else { part };
    let direction = words::way(structure, [clean(moved.dx), clean(moved.dy)]);
    Some(vec![
        "movement".to_owned(),
        format!("{} {direction}", words::deflection(structure, size(most))),
        format!("at joint {}", structure.joint_name(JointId::new(most))),
    ])
}

pub(in crate::present) fn most_bent(
    structure: &Structure,
    result: &CaseResult,
    beams: &[MemberId],
) -> Option<(MemberId, Extreme)> {
    let bent = |member: &MemberId| Some((*member, largest_deflection(&result.deflection(structure, *member)?)));
    let all: Vec<(MemberId, Extreme)> = beams.iter().map(bent).collect::<Option<_>>()?;
    let best = first_largest(all.into_iter(), |(_, extreme)| extreme.value.abs());
    best.filter(|(_, extreme)| extreme.value != 0.0)
}

pub(in crate::present) fn bent_words(structure: &Structure, member: MemberId, extreme: Extreme) -> Option<Vec<String>> {
    let length = structure.member_length(member);
    if extreme.at <= 1e-9 * length || extreme.at >= length * (1.0 - 1e-9) {
        // An end is a joint, which the movement of joints tells.
        return None;
    }
    let across = spans::global(structure, member, [0.0, extreme.value.signum()]);
    let size = words::deflection(structure, extreme.value.abs());
    Some(vec![
        "deflection".to_owned(),
        format!("{size} {}", words::way(structure, across)),
        place(structure, member, extreme.at),
    ])
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;
    use crate::statics::spans::SpanLoad;

    #[test]
    fn a_span_moment_is_told_beside_a_larger_support_moment() {
        let load = SpanLoad::Spread { from: 0.0, to: 6.0, along: [0.0; 2], across: [-1.2; 2] };
        let diagram = Diagram::of(6.0, 0.0, [-4.65, 0.0], &[load]);
        let found = extremes_inside(&diagram, 0.0);
        let [sagging] = found.as_slice() else { panic!("{found:?}") };
        assert!((sagging.value - 3.325).abs() < 1e-3 && (sagging.at - 3.646).abs() < 1e-3, "{sagging:?}");
    }

    #[test]
    fn both_ways_beyond_the_ends_and_nothing_at_them() {
        let up = SpanLoad::Point { at: 1.0, along: 0.0, across: 3.0 };
        let down = SpanLoad::Point { at: 3.0, along: 0.0, across: -3.0 };
        let found = extremes_inside(&Diagram::of(4.0, 0.0, [0.0; 2], &[up, down]), 0.0);
        let values: Vec<[f64; 2]> = found.iter().map(|extreme| [extreme.value, extreme.at]).collect();
        assert_eq!(values, [[-1.5, 1.0], [1.5, 3.0]]);
        assert!(extremes_inside(&Diagram::of(4.0, 0.0, [-2.0, 1.0], &[]), 0.0).is_empty());
    }
}
