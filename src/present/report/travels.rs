//! Travelling loads: the extremes with the position of the train.
//!
//! Must not know: how extremes are found.

use crate::base::MemberId;
use crate::check::outcome::tension_side;
use crate::check::words as phrases;
use crate::present::document::{Align, Block, Line, Table, words};
use crate::present::results::text::travel::{ends, heading as travel_heading, noise, train};
use crate::quantity::{Dimension, NamedUnit};
use crate::statics::TravelResult;
use crate::statics::travel::Range;
use crate::structure::Structure;

use super::{Report, column, cut, heading};

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let structure = &report.checked.structure;
    let mut blocks = Vec::new();
    for result in report.travels() {
        if blocks.is_empty() {
            blocks.push(heading(1, "Travelling loads"));
        }
        let told = travel_heading(structure, result);
        let (name, what) = told.split_once(": ").unwrap_or((&told, ""));
        blocks.push(heading(2, name.strip_prefix("travel ").unwrap_or(name)));
        blocks.push(Block::Paragraph(words(what)));
        blocks.extend(reactions(structure, result));
        blocks.extend(members(structure, result));
        let positions =
            if result.checked == 1 { "one position".to_owned() } else { format!("{} positions", result.checked) };
        let relative = result.residual.relative;
        blocks.push(Block::Paragraph(words(if relative == 0.0 {
            format!("Residual 0: {positions} added up again balance to the last bit.")
        } else {
            format!("Residual {relative:.1e} of the largest force, the worst of {positions} added up again.")
        })));
    }
    blocks
}

/// Rows of one table: the name stands in the first row it has.
struct Rows<'r> {
    structure: &'r Structure,
    result: &'r TravelResult,
    rows: Vec<Vec<Line>>,
}

/// One quantity of one support or member.
struct Quantity<'q> {
    name: &'q str,
    unit: &'q NamedUnit,
    range: &'q Range,
    /// Below this it is zero.
    noise: f64,
}

impl Rows<'_> {
    /// A row for each end of the range that is not zero. `place` gives the cell
    /// of the place on the member, where the table has one.
    fn add(
        &mut self,
        owner: &mut String,
        quantity: &Quantity<'_>,
        sense: impl Fn(f64) -> &'static str,
        place: impl Fn(f64) -> Option<String>,
    ) {
        let unit = quantity.unit;
        for peak in ends(quantity.range, quantity.noise) {
            let size = self.structure.figures.result(unit.convert(peak.value.abs()));
            let mut row = vec![
                words(std::mem::take(owner)),
                words(quantity.name),
                words(size),
                words(format!("{} {}", unit.symbol, sense(peak.value)).trim()),
            ];
            row.extend(place(peak.at).map(words));
            row.push(words(train(self.structure, self.result, &peak)));
            self.rows.push(row);
        }
    }
}

fn reactions(structure: &Structure, result: &TravelResult) -> Vec<Block> {
    let units = phrases::units(structure);
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let (least_force, least_moment) = noise(structure, result);
    let mut rows = Rows { structure, result, rows: Vec::new() };
    for (support, range) in structure.supports.iter().zip(&result.reactions) {
        let mut name = structure.joint_name(support.joint).to_owned();
        let nowhere = |_| None;
        if let Some(fx) = &range.fx {
            let word = |value: f64| if value > 0.0 { "right" } else { "left" };
            let quantity = Quantity { name: "Fx", unit: &force, range: fx, noise: least_force };
            rows.add(&mut name, &quantity, word, nowhere);
        }
        if let Some(fy) = &range.fy {
            let word = |value: f64| if value > 0.0 { "up" } else { "down" };
            let quantity = Quantity { name: "Fy", unit: &force, range: fy, noise: least_force };
            rows.add(&mut name, &quantity, word, nowhere);
        }
        if let Some(m) = &range.m {
            let word = |value: f64| if value > 0.0 { "ccw" } else { "cw" };
            let quantity = Quantity { name: "M", unit: &moment, range: m, noise: least_moment };
            rows.add(&mut name, &quantity, word, nowhere);
        }
    }
    let columns = vec![
        column("joint", Align::Left),
        column("", Align::Left),
        column("at most", Align::Point),
        column("", Align::Left),
        column("position of the train", Align::Left),
    ];
    cut(Table { caption: words("Reactions at most"), columns, rows: rows.rows, foot: Vec::new() }, "reactions")
}

fn members(structure: &Structure, result: &TravelResult) -> Vec<Block> {
    let units = phrases::units(structure);
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let (least_force, least_moment) = noise(structure, result);
    let mut rows = Rows { structure, result, rows: Vec::new() };
    let axial_word = |value: f64| if value > 0.0 { "tension" } else { "compression" };
    for (index, range) in result.members.iter().enumerate() {
        let member = MemberId::new(index);
        let mut name = structure.member_name(member);
        let place = |at| Some(phrases::member_place(structure, member, at));
        let whole = |_| Some(String::new());
        if let Some(bending) = &range.bending {
            let side = |value| tension_side(structure, member, value);
            let quantity = Quantity { name: "moment", unit: &moment, range: &bending.moment, noise: least_moment };
            rows.add(&mut name, &quantity, side, place);
            let word = |value: f64| if value > 0.0 { "positive" } else { "negative" };
            let quantity = Quantity { name: "shear", unit: &force, range: &bending.shear, noise: least_force };
            rows.add(&mut name, &quantity, word, place);
            let quantity = Quantity { name: "axial", unit: &force, range: &range.axial, noise: least_force };
            rows.add(&mut name, &quantity, axial_word, place);
        } else {
            let quantity = Quantity { name: "axial", unit: &force, range: &range.axial, noise: least_force };
            rows.add(&mut name, &quantity, axial_word, whole);
        }
    }
    if rows.rows.is_empty() {
        return Vec::new();
    }
    let columns = vec![
        column("member", Align::Left),
        column("", Align::Left),
        column("at most", Align::Point),
        column("", Align::Left),
        column("where", Align::Left),
        column("position of the train", Align::Left),
    ];
    cut(Table { caption: words("Members at most"), columns, rows: rows.rows, foot: Vec::new() }, "extremes")
}
