//! Results as one table of comma-separated values in the file's units: a row
//! for each reaction component and each member force; one for each cable that
//! is slack and each roller that lifts off, where the result does not hold.
//! Of a travelling load the ends of every range, with where they are met in
//! the component column. The last row of a file holds the caution.
//!
//! Must not know: files, terminals.

use crate::base::tolerances::ROUNDED;
use std::io::{self, Write};

use crate::check::words::units;
use crate::present::escape::csv as field;
use crate::quantity::{Dimension, NamedUnit, UnitSystem, format};
use crate::statics::diagram::Quantity;
use crate::statics::travel::{Heading, Peak, Range};
use crate::statics::{CaseResult, TravelResult};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::{Answer, CAUTION, subject_name};

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
    let units = units(structure);
    let [force, moment] = [Dimension::FORCE, Dimension::MOMENT].map(|dimension| units.display_unit(dimension));
    let file = if rows == Rows::Alone { String::new() } else { format!("{},", field(answer.file)) };
    if rows != Rows::Later {
        let file = if rows == Rows::Alone { "" } else { "file," };
        writeln!(out, "{file}case,what,where,component,value,unit")?;
    }
    let mut sheet = Sheet { out, structure, units, force, moment, before: String::new() };
    for result in answer.results.iter().filter(|result| only(result)) {
        sheet.before = format!("{file}{}", field(subject_name(structure, result.subject)));
        sheet.case(result)?;
    }
    for result in answer.travels {
        sheet.before = format!("{file}{}", field(structure.travel_name(result.travel)));
        sheet.travel(result)?;
    }
    writeln!(sheet.out, "{file},caution,{},,,", field(CAUTION))
}

struct Sheet<'a> {
    out: &'a mut dyn Write,
    structure: &'a Structure,
    units: UnitSystem,
    force: NamedUnit,
    moment: NamedUnit,
    /// The columns that are the same for every row: the file and the case.
    before: String,
}

impl Sheet<'_> {
    /// A row; what is noise beside the largest is 0.
    fn row(&mut self, columns: [&str; 3], value: f64, largest: f64, unit: &NamedUnit) -> io::Result<()> {
        let [what, place, component] = columns.map(field);
        let (value, symbol) = (show(unit.convert(value), unit.convert(largest)), field(&unit.symbol));
        writeln!(self.out, "{},{what},{place},{component},{value},{symbol}", self.before)
    }

    fn case(&mut self, result: &CaseResult) -> io::Result<()> {
        let (structure, largest) = (self.structure, result.largest);
        let (force, moment) = (self.force.clone(), self.moment.clone());
        for member in &result.slack {
            writeln!(self.out, "{},slack cable,{},,,", self.before, field(&structure.member_name(*member)))?;
        }
        for support in &result.lifted {
            let joint = structure.joint_name(structure.supports[*support].joint);
            writeln!(self.out, "{},lifted roller,{},,,", self.before, field(joint))?;
        }
        for (support, reaction) in structure.supports.iter().zip(&result.reactions) {
            let joint = structure.joint_name(support.joint);
            for (component, value, unit) in
                [("x", reaction.fx, &force), ("y", reaction.fy, &force), ("m", reaction.m, &moment)]
            {
                if let Some(value) = value {
                    self.row(["reaction", joint, component], value, largest, unit)?;
                }
            }
        }
        for ((id, member), axial) in structure.members.entries().zip(&result.axial) {
            let name = structure.member_name(id);
            if member.kind != MemberKind::Beam {
                self.row(["force", &name, "axial"], *axial, largest, &force)?;
                continue;
            }
            let (diagram, length) = (result.diagram(structure, id), structure.member_length(id));
            for (end, section) in [("start", diagram.start()), ("end", diagram.end())] {
                self.row(["axial", &name, end], section.axial, largest, &force)?;
                self.row(["shear", &name, end], section.shear, largest, &force)?;
                self.row(["moment", &name, end], section.moment, largest * length, &moment)?;
            }
            for (what, quantity, unit, size) in
                [("shear", Quantity::Shear, &force, largest), ("moment", Quantity::Moment, &moment, largest * length)]
            {
                for (word, extreme) in ["most", "least"].iter().zip(diagram.extremes(quantity)) {
                    let place = self.place(extreme.at, self.units.length.convert(length));
                    self.row([&format!("{word} {what}"), &name, &place], extreme.value, size, unit)?;
                }
            }
        }
        let Some(displacements) = &result.displacements else { return Ok(()) };
        let (unit, radians) = (
            self.units.deflection.clone(),
            NamedUnit { symbol: "rad".to_owned(), ..self.units.display_unit(Dimension::PURE) },
        );
        let largest = displacements.iter().map(|moved| moved.dx.hypot(moved.dy)).fold(0.0, f64::max);
        for (joint, moved) in displacements.entries() {
            let joint = structure.joint_name(joint);
            self.row(["displacement", joint, "x"], moved.dx, largest, &unit)?;
            self.row(["displacement", joint, "y"], moved.dy, largest, &unit)?;
            if let Some(turn) = moved.turn {
                self.row(["displacement", joint, "turn"], turn, 1.0, &radians)?;
            }
        }
        Ok(())
    }

    /// `2.5 m`; what is noise beside the largest, in that unit, is 0.
    fn place(&self, at: f64, largest: f64) -> String {
        let unit = &self.units.length;
        format!("{} {}", show(unit.convert(at), largest), unit.symbol)
    }

    fn travel(&mut self, result: &TravelResult) -> io::Result<()> {
        let structure = self.structure;
        let (force, moment) = (self.force.clone(), self.moment.clone());
        for (support, range) in structure.supports.iter().zip(&result.reactions) {
            let joint = structure.joint_name(support.joint);
            for (component, range, unit) in [("x", range.fx, &force), ("y", range.fy, &force), ("m", range.m, &moment)]
            {
                if let Some(range) = range {
                    self.range(result, &range, ["reaction", joint], unit, |_, _| component.to_owned())?;
                }
            }
        }
        for (member, range) in structure.members.ids().zip(&result.members) {
            let name = structure.member_name(member);
            let at = |sheet: &Self, peak: &Peak| sheet.place(peak.at, 1.0);
            let Some(bending) = &range.bending else {
                self.range(result, &range.axial, ["force", &name], &force, |_, _| "axial".to_owned())?;
                continue;
            };
            self.range(result, &range.axial, ["axial", &name], &force, at)?;
            self.range(result, &bending.shear, ["shear", &name], &force, at)?;
            self.range(result, &bending.moment, ["moment", &name], &moment, at)?;
        }
        Ok(())
    }

    /// The two ends of a range.
    fn range(
        &mut self,
        result: &TravelResult,
        range: &Range,
        [what, place]: [&str; 2],
        unit: &NamedUnit,
        component: impl Fn(&Self, &Peak) -> String,
    ) -> io::Result<()> {
        for (word, peak) in [("most", &range.most), ("least", &range.least)] {
            let component = format!("{}{}", component(self, peak), self.train(result, peak));
            self.row([&format!("{word} {what}"), place, &component], peak.value, result.largest, unit)?;
        }
        Ok(())
    }

    /// `; front at 6.25 m towards D`
    fn train(&self, result: &TravelResult, peak: &Peak) -> String {
        let Some(train) = peak.train else { return String::new() };
        let Some([first, last]) = self.structure.travels[result.travel].ends(self.structure) else {
            return String::new();
        };
        let towards = self.structure.joint_name(if train.heading == Heading::Onward { last } else { first });
        format!("; front at {} towards {towards}", self.place(train.front, 1.0))
    }
}

/// Ten figures, and rounding noise as 0.
fn show(value: f64, largest: f64) -> String {
    if value.abs() <= ROUNDED * largest.abs() { "0".to_owned() } else { format::trimmed(value, 10) }
}
