//! Beams in the text result, a line each, and what is largest where.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::{JointId, MemberId};
use crate::check::outcome::tension_side;
use crate::check::words;
use crate::quantity::format::trimmed;
use crate::quantity::{Dimension, UnitSystem};
use crate::statics::diagram::{Diagram, Extreme, Quantity, largest_deflection};
use crate::statics::{CaseResult, ZERO_SHARE, spans};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::{FIGURES, column, write_rows};

/// The beams of a structure.
pub fn beams(structure: &Structure) -> Vec<MemberId> {
    let is_beam = |index: &usize| structure.members.get(*index).is_some_and(|member| member.kind == MemberKind::Beam);
    (0..structure.members.len()).filter(is_beam).map(MemberId::new).collect()
}

/// One line a beam: axial force, shear and moment at its ends, and the largest
/// moment between them where that is larger than at both.
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
    let inside: Vec<Option<Extreme>> = diagrams.iter().map(largest_inside).collect();
    let of = |value: fn(&Diagram) -> f64| diagrams.iter().map(|diagram| Some(value(diagram))).collect::<Vec<_>>();
    let moment_scale = diagrams
        .iter()
        .flat_map(|diagram| diagram.extremes(Quantity::Moment))
        .map(|extreme| extreme.value.abs())
        .fold(noise_moment(structure, result), f64::max);
    let scale = result.largest;
    let columns = [
        column(&force, &of(|d| d.start().axial), scale),
        column(&force, &of(|d| d.start().shear), scale),
        column(&force, &of(|d| d.end().shear), scale),
        column(&moment, &of(|d| d.start().moment), moment_scale),
        column(&moment, &of(|d| d.end().moment), moment_scale),
        column(&moment, &inside.iter().map(|extreme| extreme.map(|e| e.value)).collect::<Vec<_>>(), moment_scale),
    ];
    let mut rows = vec![
        ["beams", "N", "V start", "V end", "M start", "M end", "M inside", "at"].map(str::to_owned).to_vec(),
        [
            String::new(),
            force.symbol.clone(),
            force.symbol.clone(),
            force.symbol.clone(),
            moment.symbol.clone(),
            moment.symbol.clone(),
            moment.symbol.clone(),
            units.length.symbol.clone(),
        ]
        .to_vec(),
    ];
    for (index, member) in beams.iter().enumerate() {
        let mut row = vec![format!("  {}", structure.member_name(*member))];
        row.extend(columns.iter().map(|cells| cells.get(index).cloned().unwrap_or_default()));
        let at = inside.get(index).copied().flatten();
        row.push(at.map_or_else(String::new, |extreme| trimmed(units.length.convert(extreme.at), FIGURES)));
        rows.push(row);
    }
    // Nothing bends more between its ends than at them: no need for the columns.
    let shown = if inside.iter().all(Option::is_none) { 6 } else { 8 };
    rows.iter_mut().for_each(|row| row.truncate(shown));
    write_rows(out, "  ", &rows, 1..shown)
}

/// Below this a moment is noise.
pub(in crate::present) fn noise_moment(structure: &Structure, result: &CaseResult) -> f64 {
    let longest =
        (0..structure.members.len()).map(|index| structure.member_length(MemberId::new(index))).fold(0.0, f64::max);
    result.largest * longest * ZERO_SHARE
}

/// The moment of largest size strictly between the ends, where it exceeds both.
pub(in crate::present) fn largest_inside(diagram: &Diagram) -> Option<Extreme> {
    let ends = diagram.start().moment.abs().max(diagram.end().moment.abs());
    let length = diagram.length();
    let inside = |extreme: &Extreme| extreme.at > 1e-9 * length && extreme.at < length * (1.0 - 1e-9);
    let larger = |extreme: &Extreme| extreme.value.abs() > ends * (1.0 + 1e-9);
    let extremes = diagram.extremes(Quantity::Moment).into_iter();
    extremes.filter(inside).filter(larger).max_by(|a, b| a.value.abs().total_cmp(&b.value.abs()))
}

/// What is largest, and where: bending, and movement where stiffness is known.
pub fn write_largest(out: &mut dyn Write, structure: &Structure, result: &CaseResult) -> io::Result<()> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let beams = beams(structure);
    let moments = beams.iter().flat_map(|member| {
        result.diagram(structure, *member).extremes(Quantity::Moment).map(|extreme| (*member, extreme))
    });
    if let Some((member, extreme)) = moments.max_by(|(_, a), (_, b)| a.value.abs().total_cmp(&b.value.abs()))
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
    write_rows(out, "  ", &rows, 9..9)
}

/// `in A-B, 2.5 m from A`
pub(super) fn place(structure: &Structure, member: MemberId, at: f64) -> String {
    let name = structure.member_name(member);
    let length = structure.member_length(member);
    let ends = structure.member(member).map(|m| (m.start, m.end));
    match ends {
        Some((start, _)) if at <= 1e-9 * length => format!("in {name}, at {}", structure.joint_name(start)),
        Some((_, end)) if at >= length * (1.0 - 1e-9) => format!("in {name}, at {}", structure.joint_name(end)),
        Some((start, _)) => {
            let units = words::units(structure);
            let unit = &units.length;
            format!(
                "in {name}, {} {} from {}",
                trimmed(unit.convert(at), FIGURES),
                unit.symbol,
                structure.joint_name(start)
            )
        }
        None => String::new(),
    }
}

/// The joint that moves most; nothing beside a sag it is noise to.
fn most_moved(structure: &Structure, result: &CaseResult, sag: f64) -> Option<Vec<String>> {
    let displacements = result.displacements.as_ref()?;
    let size = |index: usize| displacements.get(index).map_or(0.0, |moved| moved.dx.hypot(moved.dy));
    let most = (0..displacements.len()).max_by(|a, b| size(*a).total_cmp(&size(*b)).then(b.cmp(a)))?;
    let moved = displacements.get(most).filter(|_| size(most) > 1e-9 * sag)?;
    let noise = 1e-9 * size(most);
    let clean = |part: f64| if part.abs() <= noise { 0.0 } else { part };
    let direction = words::direction([clean(moved.dx), clean(moved.dy)]);
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
    let mut best: Option<(MemberId, Extreme)> = None;
    for member in beams {
        let extreme = largest_deflection(&result.deflection(structure, *member)?);
        if best.is_none_or(|(_, known)| extreme.value.abs() > known.value.abs()) {
            best = Some((*member, extreme));
        }
    }
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
        format!("{size} {}", words::direction(across)),
        place(structure, member, extreme.at),
    ])
}
