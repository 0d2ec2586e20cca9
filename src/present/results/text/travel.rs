//! Travelling loads in the text result: the extremes of reactions, beams and
//! bars, each with the train's position in words.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::MemberId;
use crate::check::outcome::tension_side;
use crate::check::words;
use crate::quantity::{Dimension, UnitSystem};
use crate::statics::travel::{Peak, Range};
use crate::statics::{TravelResult, ZERO_SHARE};
use crate::structure::Structure;

use super::{column, write_rows};

/// One train: what it is, then a line for each extreme that is not zero.
pub fn write_travel(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &TravelResult,
) -> io::Result<()> {
    writeln!(out, "{}", heading(structure, result))?;
    write_reactions(out, structure, units, result)?;
    write_beams(out, structure, units, result)?;
    write_bars(out, structure, units, result)?;
    let (residual, checked) = (&result.residual, result.checked);
    let positions = if checked == 1 { "one position".to_owned() } else { format!("{checked} positions") };
    if residual.relative == 0.0 {
        writeln!(out, "  residual  0: {positions} added up again balance to the last bit")
    } else {
        let relative = residual.relative;
        writeln!(out, "  residual  {relative:.1e} of the largest force, the worst of {positions} added up again")
    }
}

/// `travel crane: 40 kN, 60 kN spaced 3 m along A-B-C-D, both ways`
pub(in crate::present) fn heading(structure: &Structure, result: &TravelResult) -> String {
    const MOST_SHOWN: usize = 8;
    let Some(travel) = structure.travels.get(result.travel.index()) else { return String::new() };
    let cut = |mut parts: Vec<String>, between: &str| {
        if parts.len() > MOST_SHOWN {
            let last = parts.pop().unwrap_or_default();
            parts.truncate(MOST_SHOWN - 2);
            parts.extend(["…".to_owned(), last]);
        }
        parts.join(between)
    };
    let force = |[x, y]: [f64; 2]| {
        let size = plain(structure, x.hypot(y), Dimension::FORCE);
        if x == 0.0 && y <= 0.0 { size } else { format!("{size} {}", words::way(structure, [x, y])) }
    };
    let loads = travel.loads.iter().map(|load| force(load.each_ref().map(|part| part.to_f64()))).collect();
    let spacings: Vec<f64> = travel.spacings.iter().map(|spacing| spacing.to_f64()).collect();
    let metres = |length: &f64| plain(structure, *length, Dimension::LENGTH);
    let spaced = match spacings.as_slice() {
        [] => String::new(),
        [first, rest @ ..] if rest.iter().all(|other| other == first) => format!(" spaced {}", metres(first)),
        all => format!(" spaced {}", cut(all.iter().map(metres).collect(), ", ")),
    };
    let path = travel.joints(structure).into_iter().map(|joint| structure.joint_name(joint).to_owned()).collect();
    let (name, loads, path) = (structure.travel_name(result.travel), cut(loads, ", "), cut(path, "-"));
    format!("travel {name}: {loads}{spaced} along {path}, both ways")
}

/// A value in the file's unit, without figures that say nothing.
fn plain(structure: &Structure, si: f64, dimension: Dimension) -> String {
    words::units(structure).display_unit(dimension).show_given(si, structure.figures)
}

/// The ends of a range that are not zero, the larger value first.
pub(in crate::present) fn ends(range: &Range, noise: f64) -> Vec<Peak> {
    let mut ends: Vec<Peak> =
        [range.most, range.least].into_iter().filter(|peak| peak.train.is_some() && peak.value.abs() > noise).collect();
    ends.dedup_by(|a, b| a.value == b.value);
    ends
}

pub(in crate::present) fn train(structure: &Structure, result: &TravelResult, peak: &Peak) -> String {
    peak.train.map_or_else(String::new, |train| words::train(structure, result.travel, train))
}

/// Below these a force and a moment are noise.
pub(in crate::present) fn noise(structure: &Structure, result: &TravelResult) -> (f64, f64) {
    let force = ZERO_SHARE * result.largest;
    (force, force * structure.size())
}

fn write_reactions(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &TravelResult,
) -> io::Result<()> {
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let (least_force, least_moment) = noise(structure, result);
    let mut rows: Vec<[String; 4]> = Vec::new();
    let mut values: [Vec<Option<f64>>; 2] = Default::default();
    for (support, range) in structure.supports.iter().zip(&result.reactions) {
        let mut name = format!("  {}", structure.joint_name(support.joint));
        for (part, range, noise) in
            [("Fx", range.fx, least_force), ("Fy", range.fy, least_force), ("M", range.m, least_moment)]
        {
            for peak in range.iter().flat_map(|range| ends(range, noise)) {
                let sense = match (part, peak.value > 0.0) {
                    ("Fx", true) => "right",
                    ("Fx", false) => "left",
                    ("Fy", true) => "up",
                    ("Fy", false) => "down",
                    (_, true) => "ccw",
                    (_, false) => "cw",
                };
                let unit = if part == "M" { &moment.symbol } else { &force.symbol };
                rows.push([
                    std::mem::take(&mut name),
                    part.to_owned(),
                    format!("{unit} {sense}"),
                    train(structure, result, &peak),
                ]);
                let (own, other) = if part == "M" { (1, 0) } else { (0, 1) };
                for (index, value) in [(own, Some(peak.value.abs())), (other, None)] {
                    if let Some(column) = values.get_mut(index) {
                        column.push(value);
                    }
                }
            }
        }
    }
    let [forces, moments] = &values;
    let forces = column(structure, &force, forces, result.largest);
    let moments = column(structure, &moment, moments, 0.0);
    let mut lines = vec![vec!["reactions at most".to_owned()]];
    for (index, [name, part, sense, train]) in rows.into_iter().enumerate() {
        let cells = if part == "M" { &moments } else { &forces };
        let cell = cells.get(index).map_or("", |cell| cell.trim()).to_owned();
        lines.push(vec![name, part, cell, sense, train]);
    }
    if lines.len() == 1 {
        lines.push(vec!["  none".to_owned()]);
    }
    write_table(out, &lines)
}

/// A first line of its own over rows with a number in the third column.
fn write_table(out: &mut dyn Write, lines: &[Vec<String>]) -> io::Result<()> {
    let Some((head, rows)) = lines.split_first() else { return Ok(()) };
    write_rows(out, "  ", std::slice::from_ref(head), |_| false)?;
    write_rows(out, "  ", rows, |column| column == 2)
}

fn write_beams(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &TravelResult,
) -> io::Result<()> {
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let (least_force, least_moment) = noise(structure, result);
    let mut lines = vec![vec!["beams at most".to_owned()]];
    for (index, range) in result.members.iter().enumerate() {
        let Some(bending) = range.bending else { continue };
        let member = MemberId::new(index);
        let mut name = format!("  {}", structure.member_name(member));
        for (what, range, unit, noise) in [
            ("moment", bending.moment, &moment, least_moment),
            ("shear", bending.shear, &force, least_force),
            ("axial", range.axial, &force, least_force),
        ] {
            for peak in ends(&range, noise) {
                let (value, sense) = match what {
                    "moment" => (peak.value.abs(), tension_side(structure, member, peak.value)),
                    "shear" => (peak.value, ""),
                    _ => (peak.value.abs(), if peak.value > 0.0 { "tension" } else { "compression" }),
                };
                let value = structure.figures.result(unit.convert(value));
                lines.push(vec![
                    std::mem::take(&mut name),
                    what.to_owned(),
                    value,
                    format!("{} {sense}", unit.symbol),
                    words::member_place(structure, member, peak.at),
                    train(structure, result, &peak),
                ]);
            }
        }
    }
    if lines.len() == 1 {
        return Ok(());
    }
    write_table(out, &lines)
}

fn write_bars(out: &mut dyn Write, structure: &Structure, units: &UnitSystem, result: &TravelResult) -> io::Result<()> {
    let force = units.display_unit(Dimension::FORCE);
    let (least_force, _) = noise(structure, result);
    let mut lines = vec![vec!["bars at most".to_owned()]];
    for (index, range) in result.members.iter().enumerate() {
        if range.bending.is_some() {
            continue;
        }
        let mut name = format!("  {}", structure.member_name(MemberId::new(index)));
        for peak in ends(&range.axial, least_force) {
            let sense = if peak.value > 0.0 { "tension" } else { "compression" };
            lines.push(vec![
                std::mem::take(&mut name),
                String::new(),
                structure.figures.result(force.convert(peak.value.abs())),
                format!("{} {sense}", force.symbol),
                train(structure, result, &peak),
            ]);
        }
    }
    if lines.len() == 1 {
        return Ok(());
    }
    write_table(out, &lines)
}
