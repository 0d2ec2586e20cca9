//! Results as one table of comma-separated values in the file's units: a row
//! for each reaction component and each member force.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::MemberId;
use crate::quantity::{Dimension, UnitSystem};
use crate::statics::CaseResult;
use crate::structure::Structure;

use super::{Answer, subject_name};

/// Writes the header and one row a value.
pub fn write_csv(out: &mut dyn Write, answer: &Answer<'_>, only: &dyn Fn(&CaseResult) -> bool) -> io::Result<()> {
    let structure = answer.structure;
    let units = structure.units.clone().unwrap_or_else(UnitSystem::si);
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    writeln!(out, "case,what,where,component,value,unit")?;
    for result in answer.results.iter().filter(|result| only(result)) {
        let case = field(subject_name(structure, result.subject));
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
    Ok(())
}

fn write_members(
    out: &mut dyn Write,
    structure: &Structure,
    case: &str,
    result: &CaseResult,
    force: &crate::quantity::NamedUnit,
) -> io::Result<()> {
    let symbol = field(&force.symbol);
    for (index, axial) in result.axial.iter().enumerate() {
        let member = field(&structure.member_name(MemberId::new(index)));
        let value = show(force.convert(*axial), force.convert(result.largest));
        writeln!(out, "{case},force,{member},axial,{value},{symbol}")?;
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

/// A field, quoted where it holds a comma, a quote or a line end (RFC 4180).
fn field(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}
