//! Rows of travelling loads: the ends of every range, with where they are met
//! in the component column.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::MemberId;
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::statics::TravelResult;
use crate::statics::travel::{Heading, Peak, Range};
use crate::structure::Structure;

use crate::present::escape::csv as field;

use super::show;

pub fn write_travel(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &TravelResult,
    file: &str,
) -> io::Result<()> {
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let mut rows =
        Rows { out, structure, units, result, name: format!("{file}{}", field(structure.travel_name(result.travel))) };
    for (support, range) in structure.supports.iter().zip(&result.reactions) {
        let joint = field(structure.joint_name(support.joint));
        for (component, range, unit) in [("x", range.fx, &force), ("y", range.fy, &force), ("m", range.m, &moment)] {
            if let Some(range) = range {
                rows.range(&range, "reaction", &joint, unit, &|_| component.to_owned())?;
            }
        }
    }
    for (index, range) in result.members.iter().enumerate() {
        let member = field(&structure.member_name(MemberId::new(index)));
        let length = &units.length;
        let at = |peak: &Peak| format!("{} {}", show(length.convert(peak.at), 1.0), length.symbol);
        let Some(bending) = &range.bending else {
            rows.range(&range.axial, "force", &member, &force, &|_| "axial".to_owned())?;
            continue;
        };
        rows.range(&range.axial, "axial", &member, &force, &at)?;
        rows.range(&bending.shear, "shear", &member, &force, &at)?;
        rows.range(&bending.moment, "moment", &member, &moment, &at)?;
    }
    Ok(())
}

struct Rows<'a> {
    out: &'a mut dyn Write,
    structure: &'a Structure,
    units: &'a UnitSystem,
    result: &'a TravelResult,
    name: String,
}

impl Rows<'_> {
    fn range(
        &mut self,
        range: &Range,
        what: &str,
        place: &str,
        unit: &NamedUnit,
        component: &dyn Fn(&Peak) -> String,
    ) -> io::Result<()> {
        for (word, peak) in [("most", &range.most), ("least", &range.least)] {
            let (name, value) = (&self.name, show(unit.convert(peak.value), unit.convert(self.result.largest)));
            let component = field(&format!("{}{}", component(peak), self.train(peak)));
            let symbol = field(&unit.symbol);
            writeln!(self.out, "{name},{word} {what},{place},{component},{value},{symbol}")?;
        }
        Ok(())
    }

    /// `; front at 6.25 m towards D`
    fn train(&self, peak: &Peak) -> String {
        let Some(train) = peak.train else { return String::new() };
        let travel = self.structure.travels.get(self.result.travel.index());
        let Some([first, last]) = travel.and_then(|travel| travel.ends(self.structure)) else { return String::new() };
        let towards = self.structure.joint_name(if train.heading == Heading::Onward { last } else { first });
        let length = &self.units.length;
        format!("; front at {} {} towards {towards}", show(length.convert(train.front), 1.0), length.symbol)
    }
}
