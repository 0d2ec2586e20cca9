//! Axial force, shear and bending moment drawn on the members. Moments stand
//! on the tension side; shear and axial force are positive on the upper side,
//! of upright members on the left.
//!
//! Must not know: how end forces are found.

use crate::base::tolerances::{SAME, TO_THE_EYE};
use crate::base::{JointId, MemberId};
use crate::quantity::{Dimension, NamedUnit};
use crate::statics::diagram::{Quantity, Stretch};
use crate::statics::polynomial::value;
use crate::statics::{CaseResult, Diagram, Side, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::dimensions::{Note, draw_notes};
use super::inks::Ink;
use super::names::name_joints;
use super::picture::{Depth, Need, Picture, Step, VALUE_SIZE, Words};
use super::plane::{Point, along, back, between, left_of, size, sub, unit};
use super::sheet::{Order, Room, Sheet, fit, pen};
use super::symbols::{draw_hinges, draw_supports};

/// The largest ordinate, millimetres.
const HIGHEST: f64 = 15.0;
const LOWEST: f64 = 4.0;
/// Between hatching lines.
const HATCH: f64 = 2.2;
/// Members shorter than this go without values on large drawings.
const CLOSE: f64 = 12.0;

/// The members that have a diagram of a quantity.
pub fn shown(structure: &Structure, quantity: Quantity) -> Vec<MemberId> {
    let has = |member: &crate::structure::Member| quantity == Quantity::Axial || member.kind == MemberKind::Beam;
    structure.members.entries().filter(|(_, member)| has(member)).map(|(id, _)| id).collect()
}

/// Values of one quantity along one member.
struct Curve {
    member: MemberId,
    ends: [JointId; 2],
    /// Metres.
    length: f64,
    diagram: Diagram,
    quantity: Quantity,
}

/// The dimension of a quantity.
pub const fn dimension(quantity: Quantity) -> Dimension {
    match quantity {
        Quantity::Moment => Dimension::MOMENT,
        Quantity::Axial | Quantity::Shear => Dimension::FORCE,
    }
}

/// Below this a value of the quantity is noise.
pub fn noise(structure: &Structure, result: &CaseResult, quantity: Quantity) -> f64 {
    let longest = structure.members.ids().map(|member| structure.member_length(member));
    let lever = if quantity == Quantity::Moment { longest.fold(0.0, f64::max) } else { 1.0 };
    result.largest * lever * ZERO_SHARE
}

pub fn draw_diagram(order: &Order<'_>, result: &CaseResult, quantity: Quantity) -> Picture {
    let structure = order.structure;
    let noise = noise(structure, result, quantity);
    let curve = |member| {
        let ends = [structure.members[member].start, structure.members[member].end];
        let (length, diagram) = (structure.member_length(member), result.diagram(structure, member));
        Curve { member, ends, length, diagram, quantity }
    };
    let curves: Vec<Curve> = shown(structure, quantity).into_iter().map(curve).collect();
    let extremes = curves.iter().flat_map(|curve| curve.diagram.extremes(quantity));
    let largest = extremes.fold(0.0_f64, |most, extreme| most.max(extreme.value.abs()));
    fit(order, &|sheet| {
        let lengths: f64 = curves.iter().map(|curve| curve.length * sheet.scale).sum();
        #[allow(clippy::cast_precision_loss)]
        let mean = lengths / curves.len().max(1) as f64;
        let high = (0.34 * mean).clamp(LOWEST, HIGHEST);
        let per_unit = if largest > noise { high / largest } else { 0.0 };
        let plots: Vec<Plot<'_>> = curves.iter().map(|curve| Plot::of(sheet, curve, per_unit)).collect();
        plots.iter().filter(|_| per_unit > 0.0).for_each(|plot| plot.draw_area(sheet));
        for member in sheet.members() {
            let [a, b] = sheet.ends(member);
            sheet.line(a, b, pen(Ink::Line, super::symbols::member_pen(sheet, member).width * 0.8));
        }
        plots.iter().filter(|_| per_unit > 0.0).for_each(|plot| plot.draw_outline(sheet));
        draw_supports(sheet);
        draw_hinges(sheet);
        want_values(sheet, &plots, quantity, noise);
        name_joints(sheet);
        draw_notes(sheet, &notes(sheet, quantity, largest > noise));
    })
}

fn notes(sheet: &Sheet<'_>, quantity: Quantity, is_any: bool) -> Vec<Note> {
    if !is_any {
        return vec![Note::Words(format!("{}: zero throughout", quantity_name(quantity)))];
    }
    let symbol = sheet.units.display_unit(dimension(quantity)).symbol;
    let upright = sheet.members().any(|member| {
        let [dx, dy] = sheet.structure.member_vector(member);
        dx.abs() < SAME * dy.abs()
    });
    let side = if upright { "above, on vertical members left" } else { "above" };
    let text = match quantity {
        Quantity::Moment => format!("bending moment in {symbol}, drawn on the tension side"),
        Quantity::Shear => format!("shear in {symbol}, positive {side}"),
        Quantity::Axial => format!("axial force in {symbol}, tension positive, {side}"),
    };
    vec![Note::Words(text)]
}

const fn quantity_name(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Moment => "bending moment",
        Quantity::Shear => "shear",
        Quantity::Axial => "axial force",
    }
}

/// A curve on paper.
struct Plot<'c> {
    curve: &'c Curve,
    /// The ends of its member.
    ends: [Point; 2],
    axis: Point,
    /// The direction in which positive values are drawn.
    side: Point,
    /// Millimetres for a newton or newton-metre.
    per_unit: f64,
}

impl Plot<'_> {
    fn of<'c>(sheet: &Sheet<'_>, curve: &'c Curve, per_unit: f64) -> Plot<'c> {
        let ends = sheet.ends(curve.member);
        let axis = unit(sub(ends[1], ends[0]));
        // Moments are positive with tension on the right-hand side looking along the member.
        let onward = axis[0] > SAME || (axis[0].abs() <= SAME && axis[1] < 0.0);
        let is_left = onward && curve.quantity != Quantity::Moment;
        Plot { curve, ends, axis, side: if is_left { left_of(axis) } else { back(left_of(axis)) }, per_unit }
    }

    /// A value's point over its place, metres from the start.
    fn at(&self, place: f64, value: f64) -> Point {
        along(between(self.ends[0], self.ends[1], place / self.curve.length), self.side, value * self.per_unit)
    }

    /// As exact cubics, with where it leaves and meets the axis.
    fn outline(&self) -> Vec<Step> {
        let mut steps = vec![Step::Move(self.ends[0])];
        for stretch in &self.curve.diagram.stretches {
            let cubic = stretch.curve(self.curve.quantity);
            let [c0, c1, c2] = [0, 1, 2].map(|power: usize| cubic.get(power).copied().unwrap_or(0.0));
            let span = stretch.to - stretch.from;
            let third = span / 3.0;
            steps.push(Step::Line(self.at(stretch.from, c0)));
            steps.push(Step::Curve(
                self.at(stretch.from + third, c0 + c1 * third),
                self.at(stretch.from + 2.0 * third, c0 + 2.0 * c1 * third + c2 * span * third),
                self.at(stretch.to, value(cubic, span)),
            ));
        }
        steps.push(Step::Line(self.ends[1]));
        steps
    }

    fn draw_area(&self, sheet: &mut Sheet<'_>) {
        let mut steps = self.outline();
        steps.push(Step::Close);
        sheet.put(steps, None, Some(Ink::Tint), Depth::Backdrop);
        let Plot { curve, ends: [a, b], .. } = *self;
        let paper = size(sub(b, a));
        let mut hatch = Vec::new();
        let mut at = HATCH / 2.0;
        while at < paper {
            let value = curve.diagram.at(at / paper * curve.length, Side::After).of(curve.quantity);
            let foot = between(a, b, at / paper);
            if (value * self.per_unit).abs() > 0.2 {
                hatch.extend([Step::Move(foot), Step::Line(along(foot, self.side, value * self.per_unit))]);
            }
            at += HATCH;
        }
        if !hatch.is_empty() {
            sheet.put(hatch, Some(pen(Ink::Diagram, 0.1)), None, Depth::Backdrop);
        }
    }

    fn draw_outline(&self, sheet: &mut Sheet<'_>) {
        let width = if sheet.room == Room::All { 0.4 } else { 0.25 };
        sheet.put(self.outline(), Some(pen(Ink::Diagram, width)), None, Depth::Drawing);
    }
}

/// A value to be written at a place of a curve.
struct Spot {
    /// Metres from the member's start, and the value.
    at: f64,
    value: f64,
    inside: bool,
}

/// Ends, extremes, and both sides of jumps.
fn points_of(curve: &Curve, noise: f64) -> Vec<Spot> {
    let quantity = curve.quantity;
    let near = SAME * curve.length;
    let mut points: Vec<Spot> = Vec::new();
    let mut add = |at: f64, value: f64| {
        let known = points.iter().any(|point| (point.at - at).abs() <= near && (point.value - value).abs() <= noise);
        if value.abs() > noise && !known {
            points.push(Spot { at, value, inside: at > near && at < curve.length - near });
        }
    };
    let stretches = &curve.diagram.stretches;
    let end_value = |stretch: &Stretch| value(stretch.curve(quantity), stretch.to - stretch.from);
    if let (Some(first), Some(last)) = (stretches.first(), stretches.last()) {
        add(0.0, value(first.curve(quantity), 0.0));
        add(curve.length, end_value(last));
    }
    for pair in stretches.windows(2) {
        let [before, after] = pair else { continue };
        let (left, right) = (end_value(before), value(after.curve(quantity), 0.0));
        if (left - right).abs() > noise.max(TO_THE_EYE * left.abs()) {
            add(before.to, left);
            add(before.to, right);
        }
    }
    for extreme in curve.diagram.extremes(quantity) {
        add(extreme.at, extreme.value);
    }
    // A constant needs no second mention.
    if let [first, last] = points.as_slice()
        && (first.value - last.value).abs() <= noise.max(SAME * first.value.abs())
        && !first.inside
        && !last.inside
    {
        return vec![Spot { at: curve.length / 2.0, value: first.value, inside: false }];
    }
    points
}

fn want_values(sheet: &mut Sheet<'_>, plots: &[Plot<'_>], quantity: Quantity, noise: f64) {
    let unit_of = sheet.units.display_unit(dimension(quantity));
    let spots = plots.iter().flat_map(|plot| points_of(plot.curve, noise).into_iter().map(move |spot| (plot, spot)));
    let all: Vec<(&Plot<'_>, Spot)> = spots.collect();
    let most = all.iter().map(|(_, spot)| spot.value.abs()).fold(0.0, f64::max);
    let column = sheet.lettered(unit_of.convert(most), unit_of.convert(noise / ZERO_SHARE));
    let mut written: Vec<(JointId, String, Point)> = Vec::new();
    for (plot, spot) in &all {
        let curve = plot.curve;
        let is_most = spot.value.abs() >= most * (1.0 - SAME);
        let need = match sheet.room {
            _ if is_most => Need::Always,
            Room::All => Need::Always,
            Room::Some if curve.length * sheet.scale > CLOSE => Need::IfRoom,
            Room::Some | Room::Little => continue,
        };
        let tip = plot.at(spot.at, spot.value);
        let shown = if quantity == Quantity::Moment { spot.value.abs() } else { spot.value };
        let number = column.cell(unit_of.convert(shown)).replace('-', "−");
        let is_near_start = spot.at < curve.length / 2.0;
        // Where two members meet in one line, or round a corner, the same value is written once.
        if !spot.inside {
            let joint = if is_near_start { curve.ends[0] } else { curve.ends[1] };
            let twice = |(known, text, at): &(JointId, String, Point)| {
                *known == joint && *text == number && size(sub(*at, tip)) < 6.0
            };
            if written.iter().any(twice) {
                continue;
            }
            if spot.at != curve.length / 2.0 {
                written.push((joint, number.clone(), tip));
            }
        }
        let text = if spot.inside { format!("{number}{}", place_words(sheet, curve, spot.at)) } else { number };
        let words = Words { need, ..Words::new(text, VALUE_SIZE, Ink::Line) };
        let out = if spot.value < 0.0 { back(plot.side) } else { plot.side };
        let inward = if is_near_start { plot.axis } else { back(plot.axis) };
        let mut places = Vec::new();
        for away in [0.9, 2.4, 4.5] {
            for shift in [0.0, 0.5, -0.5, 1.0, -1.0] {
                let beyond = along(tip, out, away + words.reach(out));
                places.push(along(beyond, inward, shift * (words.reach(inward) + 0.6)));
            }
        }
        for shift in [1.0, -1.0] {
            let beside = along(tip, inward, shift * (words.reach(inward) + 0.9));
            places.extend([along(beside, out, -1.8), beside]);
        }
        sheet.want(words, tip, places);
    }
}

/// ` at 2.17 m from S`
fn place_words(sheet: &Sheet<'_>, curve: &Curve, at: f64) -> String {
    let NamedUnit { symbol, .. } = &sheet.units.length;
    let place = sheet.structure.figures.result(sheet.units.length.convert(at));
    let joint = super::names::short_name(sheet.structure, curve.ends[0], 12);
    format!(" at {place} {symbol} from {joint}")
}
