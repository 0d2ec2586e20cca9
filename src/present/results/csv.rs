//! Results as one table of comma-separated values in the file's units: a row
//! for each reaction component and each member force; one for each cable that
//! is slack and each roller that lifts off, where the result does not hold.
//!
//! Must not know: files, terminals.

mod travel;

use std::io::{self, Write};

use crate::base::{JointId, MemberId};
use crate::present::escape::csv as field;
use crate::quantity::{Dimension, UnitSystem};
use crate::statics::CaseResult;
use crate::statics::diagram::Quantity;
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::{Answer, subject_name};

/// Where a file's rows stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rows {
    /// A table of its own.
    Alone,
    /// The first of several files in one table, whose first column is the file.
    First,
    Later,
}

/// Writes the header, but for a later file, and one row a value.
pub fn write_csv(
    out: &mut dyn Write,
    answer: &Answer<'_>,
    only: &dyn Fn(&CaseResult) -> bool,
    rows: Rows,
) -> io::Result<()> {
    let structure = answer.structure;
    let units = structure.units.clone().unwrap_or_else(UnitSystem::si);
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let file = if rows == Rows::Alone { String::new() } else { format!("{},", field(answer.file)) };
    if rows != Rows::Later {
        let file = if rows == Rows::Alone { "" } else { "file," };
        writeln!(out, "{file}case,what,where,component,value,unit")?;
    }
    for result in answer.results.iter().filter(|result| only(result)) {
        let case = format!("{file}{}", field(subject_name(structure, result.subject)));
        for member in &result.slack {
            writeln!(out, "{case},slack cable,{},,,", field(&structure.member_name(*member)))?;
        }
        for support in &result.lifted {
            let joint = structure.supports.get(support.index()).map_or("", |s| structure.joint_name(s.joint));
            writeln!(out, "{case},lifted roller,{},,,", field(joint))?;
        }
        let size = result.largest;
        for (support, reaction) in structure.supports.iter().zip(&result.reactions) {
            let joint = field(structure.joint_name(support.joint));
            for (component, value, unit) in
                [("x", reaction.fx, &force), ("y", reaction.fy, &force), ("m", reaction.m, &moment)]
            {
                if let Some(value) = value {
                    let (value, symbol) = (show(unit.convert(value), unit.convert(size)), field(&unit.symbol));
                    writeln!(out, "{case},reaction,{joint},{component},{value},{symbol}")?;
                }
            }
        }
        write_members(out, structure, &case, result, &force)?;
    }
    for result in answer.travels {
        travel::write_travel(out, structure, &units, result, &file)?;
    }
    Ok(())
}

fn write_members(
    out: &mut dyn Write,
    structure: &Structure,
    case: &str,
    result: &CaseResult,
    force: &crate::quantity::NamedUnit,
) -> io::Result<()> {
    let units = structure.units.clone().unwrap_or_else(UnitSystem::si);
    let moment = units.display_unit(Dimension::MOMENT);
    let (symbol, moment_symbol) = (field(&force.symbol), field(&moment.symbol));
    for (index, axial) in result.axial.iter().enumerate() {
        let member = field(&structure.member_name(MemberId::new(index)));
        let id = MemberId::new(index);
        let largest = force.convert(result.largest);
        if structure.member(id).is_none_or(|member| member.kind != MemberKind::Beam) {
            let value = show(force.convert(*axial), largest);
            writeln!(out, "{case},force,{member},axial,{value},{symbol}")?;
            continue;
        }
        let diagram = result.diagram(structure, id);
        let size = moment.convert(result.largest * structure.member_length(id));
        let length = &units.length;
        let at = |place: f64| show(length.convert(place), length.convert(structure.member_length(id)));
        for (end, section) in [("start", diagram.start()), ("end", diagram.end())] {
            for (what, value, largest, unit, symbol) in [
                ("axial", section.axial, largest, force, &symbol),
                ("shear", section.shear, largest, force, &symbol),
                ("moment", section.moment, size, &moment, &moment_symbol),
            ] {
                writeln!(out, "{case},{what},{member},{end},{},{symbol}", show(unit.convert(value), largest))?;
            }
        }
        for (what, quantity, unit, size) in
            [("shear", Quantity::Shear, force, largest), ("moment", Quantity::Moment, &moment, size)]
        {
            for (word, extreme) in ["most", "least"].iter().zip(diagram.extremes(quantity)) {
                let (value, symbol) = (show(unit.convert(extreme.value), size), field(&unit.symbol));
                writeln!(out, "{case},{word} {what},{member},{} {},{value},{symbol}", at(extreme.at), length.symbol)?;
            }
        }
    }
    let Some(displacements) = &result.displacements else { return Ok(()) };
    let unit = &units.deflection;
    let largest = displacements.iter().map(|moved| moved.dx.hypot(moved.dy)).fold(0.0, f64::max);
    for (index, moved) in displacements.iter().enumerate() {
        let joint = field(structure.joint_name(JointId::new(index)));
        for (component, value) in [("x", moved.dx), ("y", moved.dy)] {
            let value = show(unit.convert(value), unit.convert(largest));
            writeln!(out, "{case},displacement,{joint},{component},{value},{}", unit.symbol)?;
        }
        if let Some(turn) = moved.turn {
            writeln!(out, "{case},displacement,{joint},turn,{},rad", show(turn, 1.0))?;
        }
    }
    Ok(())
}

/// Ten figures, and rounding noise as 0.
fn show(value: f64, largest: f64) -> String {
    if value.abs() <= 1e-12 * largest.abs() {
        return "0".to_owned();
    }
    crate::quantity::format::trimmed(value, 10)
}
