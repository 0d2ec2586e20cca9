//! Axial force, shear and bending moment drawn on the members. Moments stand
//! on the tension side; shear and axial force are positive on the upper side,
//! of upright members on the left.
//!
//! Must not know: how end forces are found.

use crate::base::tolerances::SAME;
use crate::base::{JointId, MemberId};
use crate::quantity::{Dimension, NamedUnit};
use crate::statics::diagram::{Quantity, Stretch};
use crate::statics::polynomial::value;
use crate::statics::{CaseResult, Diagram, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::dimensions::{Note, draw_notes};
use super::inks::Ink;
use super::names::name_joints;
use super::picture::{Depth, Need, Picture, Place, Step, VALUE_SIZE, Words};
use super::plane::{Point, along, back, left_of, size, sub, unit};
use super::sheet::{Order, Room, Sheet, fit, pen};
use super::symbols::{draw_hinges, draw_supports};

/// The largest ordinate, millimetres.
const HIGHEST: f64 = 15.0;
const LOWEST: f64 = 4.0;
/// Values on two sides of a place that differ by a larger share jump there.
const JUMP: f64 = 1e-6;
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
    let curves: Vec<Curve> = shown(structure, quantity)
        .into_iter()
        .map(|member| {
            let ends = [structure.members[member].start, structure.members[member].end];
            let length = structure.member_length(member);
            Curve { member, ends, length, diagram: result.diagram(structure, member) }
        })
        .collect();
    let largest =
        curves.iter().flat_map(|curve| curve.diagram.extremes(quantity)).fold(0.0_f64, |m, e| m.max(e.value.abs()));
    fit(order, &|sheet| {
        let lengths: f64 = curves.iter().map(|curve| curve.length * sheet.scale).sum();
        #[allow(clippy::cast_precision_loss)]
        let mean = lengths / curves.len().max(1) as f64;
        let high = (0.34 * mean).clamp(LOWEST, HIGHEST);
        let per_unit = if largest > noise { high / largest } else { 0.0 };
        for curve in &curves {
            draw_area(sheet, curve, quantity, per_unit);
        }
        for member in sheet.members() {
            let [a, b] = sheet.ends(member);
            sheet.line(a, b, pen(Ink::Line, super::symbols::member_pen(sheet, member).width * 0.8));
        }
        for curve in &curves {
            draw_outline(sheet, curve, quantity, per_unit);
        }
        draw_supports(sheet);
        draw_hinges(sheet);
        want_values(sheet, &curves, quantity, per_unit, noise);
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
    let side = if upright { "above, of upright members on the left" } else { "above" };
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

/// The direction on paper in which positive values are drawn.
fn positive_side(sheet: &Sheet<'_>, curve: &Curve, quantity: Quantity) -> Point {
    let [a, b] = sheet.ends(curve.member);
    let axis = unit(sub(b, a));
    // Moments are positive with tension on the right-hand side looking along the member.
    let onward = axis[0] > SAME || (axis[0].abs() <= SAME && axis[1] < 0.0);
    if onward && quantity != Quantity::Moment { left_of(axis) } else { back(left_of(axis)) }
}

/// A curve's outline as exact cubics, with where it leaves and meets the axis.
fn outline(sheet: &Sheet<'_>, curve: &Curve, quantity: Quantity, per_unit: f64) -> Vec<Step> {
    let [a, b] = sheet.ends(curve.member);
    let side = positive_side(sheet, curve, quantity);
    let at = |place: f64, value: f64| along(along(a, sub(b, a), place / curve.length), side, value * per_unit);
    let mut steps = vec![Step::Move(a)];
    for stretch in &curve.diagram.stretches {
        let cubic = stretch.curve(quantity);
        let [c0, c1, c2] = [0, 1, 2].map(|power: usize| cubic.get(power).copied().unwrap_or(0.0));
        let span = stretch.to - stretch.from;
        let third = span / 3.0;
        let handles = [c0 + c1 * third, c0 + 2.0 * c1 * third + c2 * span * third];
        steps.push(Step::Line(at(stretch.from, c0)));
        steps.push(Step::Curve(
            at(stretch.from + third, handles[0]),
            at(stretch.from + 2.0 * third, handles[1]),
            at(stretch.to, value(cubic, span)),
        ));
    }
    steps.push(Step::Line(b));
    steps
}

fn draw_area(sheet: &mut Sheet<'_>, curve: &Curve, quantity: Quantity, per_unit: f64) {
    if per_unit == 0.0 {
        return;
    }
    let mut steps = outline(sheet, curve, quantity, per_unit);
    steps.push(Step::Close);
    sheet.put(steps, None, Some(Ink::Tint), Depth::Backdrop);
    let [a, b] = sheet.ends(curve.member);
    let side = positive_side(sheet, curve, quantity);
    let paper = size(sub(b, a));
    let mut hatch = Vec::new();
    let mut at = HATCH / 2.0;
    while at < paper {
        let value = curve.diagram.at(at / paper * curve.length, crate::statics::Side::After).of(quantity);
        let foot = along(a, sub(b, a), at / paper);
        if (value * per_unit).abs() > 0.2 {
            hatch.push(Step::Move(foot));
            hatch.push(Step::Line(along(foot, side, value * per_unit)));
        }
        at += HATCH;
    }
    if !hatch.is_empty() {
        sheet.put(hatch, Some(pen(Ink::Diagram, 0.1)), None, Depth::Backdrop);
    }
}

fn draw_outline(sheet: &mut Sheet<'_>, curve: &Curve, quantity: Quantity, per_unit: f64) {
    if per_unit > 0.0 {
        let steps = outline(sheet, curve, quantity, per_unit);
        let width = if sheet.room == Room::All { 0.4 } else { 0.25 };
        sheet.put(steps, Some(pen(Ink::Diagram, width)), None, Depth::Drawing);
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
fn points_of(curve: &Curve, quantity: Quantity, noise: f64) -> Vec<Spot> {
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
        if (left - right).abs() > noise.max(JUMP * left.abs()) {
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
        let value = first.value;
        return vec![Spot { at: curve.length / 2.0, value, inside: false }];
    }
    points
}

fn want_values(sheet: &mut Sheet<'_>, curves: &[Curve], quantity: Quantity, per_unit: f64, noise: f64) {
    let unit_of = sheet.units.display_unit(dimension(quantity));
    let spots = |curve| points_of(curve, quantity, noise).into_iter().map(move |point| (curve, point));
    let all: Vec<(&Curve, Spot)> = curves.iter().flat_map(spots).collect();
    let most = all.iter().map(|(_, point)| point.value.abs()).fold(0.0, f64::max);
    let column = sheet.lettered(unit_of.convert(most), unit_of.convert(noise / ZERO_SHARE));
    let mut written: Vec<(JointId, String, Point)> = Vec::new();
    for (curve, point) in &all {
        let long = curve.length * sheet.scale;
        let is_most = point.value.abs() >= most * (1.0 - SAME);
        let need = match sheet.room {
            _ if is_most => Need::Always,
            Room::All => Need::Always,
            Room::Some if long > CLOSE => Need::IfRoom,
            _ => continue,
        };
        let [a, b] = sheet.ends(curve.member);
        let side = positive_side(sheet, curve, quantity);
        let foot = along(a, sub(b, a), point.at / curve.length);
        let tip = along(foot, side, point.value * per_unit);
        let shown = if quantity == Quantity::Moment { point.value.abs() } else { point.value };
        let number = column.cell(unit_of.convert(shown)).replace('-', "−");
        // Where two members meet in one line, or round a corner, the same value is written once.
        if !point.inside {
            let joint = if point.at < curve.length / 2.0 { curve.ends[0] } else { curve.ends[1] };
            let twice = |(known, text, at): &(JointId, String, Point)| {
                *known == joint && *text == number && size(sub(*at, tip)) < 6.0
            };
            if written.iter().any(twice) {
                continue;
            }
            if point.at != curve.length / 2.0 {
                written.push((joint, number.clone(), tip));
            }
        }
        let text = if point.inside { format!("{number}{}", place_words(sheet, curve, point.at)) } else { number };
        let words = Words { need, ..Words::new(text, VALUE_SIZE, Ink::Line) };
        let out = if point.value < 0.0 { back(side) } else { side };
        let axis = unit(sub(b, a));
        let inward = if point.at < curve.length / 2.0 { axis } else { back(axis) };
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
        sheet.want(words, tip, places.into_iter().map(Place::level).collect());
    }
}

/// ` at 2.17 m from S`
fn place_words(sheet: &Sheet<'_>, curve: &Curve, at: f64) -> String {
    let NamedUnit { symbol, .. } = &sheet.units.length;
    let place = sheet.structure.figures.result(sheet.units.length.convert(at));
    let joint = super::names::short_name(sheet.structure, curve.ends[0], 12);
    format!(" at {place} {symbol} from {joint}")
}
