//! Member forces on the members: tension full, compression as an open bar,
//! both heavier the larger the force; no force dotted.
//!
//! Must not know: how forces are found.

use crate::base::MemberId;
use crate::quantity::Dimension;
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::Telling;
use super::bodies::name_joints;
use super::dimensions::{Note, draw_notes};
use super::inks::Ink;
use super::labels::{Need, Place};
use super::picture::{Depth, Form, Picture, Point, Step, Stroke};
use super::sheet::{Room, Sheet, VALUE_SIZE, Words, along, fit, left_of, pen, reading_turn, size, sub, unit};
use super::symbols::{draw_hinges, draw_supports};

const THINNEST: f64 = 0.6;
const THICKEST: f64 = 2.4;
/// An open bar is so much wider than the full line of the same force.
const OPEN: f64 = 0.5;
/// Members shorter than this, millimetres, go without values on large drawings.
const CLOSE: f64 = 9.0;
/// The walls of an open bar.
const WALL: f64 = 0.3;

/// Draws the force of every bar, and of beams the mean along their length.
pub fn draw_forces(structure: &Structure, result: &CaseResult, telling: Telling) -> Option<Picture> {
    fit(structure, telling, &|sheet| {
        let largest = result.axial.iter().fold(0.0_f64, |largest, force| largest.max(force.abs()));
        for member in sheet.members() {
            let force = result.axial.get(member.index()).copied().unwrap_or(0.0);
            draw_member(sheet, member, force, largest, result.largest);
        }
        draw_supports(sheet);
        draw_hinges(sheet);
        name_joints(sheet);
        want_values(sheet, result, largest);
        let unit = sheet.units.display_unit(Dimension::FORCE).symbol;
        let mut notes = vec![
            Note::Words(format!("forces in {unit}")),
            Note::Sample(strokes(1.0, 0.55).to_vec(), "T tension".to_owned()),
            Note::Sample(strokes(-1.0, 0.55).to_vec(), "C compression".to_owned()),
        ];
        if result.axial.iter().any(|force| force.abs() <= ZERO_SHARE * result.largest) {
            notes.push(Note::Sample(vec![nothing()], "no force".to_owned()));
        }
        draw_notes(sheet, &notes);
    })
}

/// The strokes of a force, from the back to the front; `share` of the largest.
fn strokes(force: f64, share: f64) -> Vec<Stroke> {
    let full = THINNEST + (THICKEST - THINNEST) * share;
    if force > 0.0 {
        vec![pen(Ink::Tension, full)]
    } else {
        let open = full + OPEN;
        vec![pen(Ink::Compression, open), pen(Ink::Paper, open - 2.0 * WALL)]
    }
}

const fn nothing() -> Stroke {
    Stroke { ink: Ink::Faint, width: 0.5, form: Form::Dotted }
}

fn draw_member(sheet: &mut Sheet<'_>, member: MemberId, force: f64, largest: f64, scale: f64) {
    let ends = sheet.ends(member);
    if force.abs() <= ZERO_SHARE * scale {
        sheet.line(ends[0], ends[1], nothing());
        return;
    }
    // Lines that stand close must stay apart.
    let finer = match sheet.room {
        Room::All => 1.0,
        Room::Some => 0.6,
        Room::Little => 0.35,
    };
    let ends = short_of_joints(ends);
    for (index, stroke) in strokes(force, force.abs() / largest).into_iter().enumerate() {
        let depth = if index == 0 { Depth::Drawing } else { Depth::Backdrop };
        let stroke = Stroke { width: stroke.width * finer, ..stroke };
        sheet.put(vec![Step::Move(ends[0]), Step::Line(ends[1])], Some(stroke), None, depth);
    }
}

/// The ends of a member a little short of its joints, so that each stands by itself.
fn short_of_joints([a, b]: [Point; 2]) -> [Point; 2] {
    const SHORT: f64 = 2.0;
    let length = size(sub(b, a));
    let short = SHORT.min(length * 0.15);
    let axis = unit(sub(b, a));
    [along(a, axis, short), along(b, axis, -short)]
}

fn want_values(sheet: &mut Sheet<'_>, result: &CaseResult, largest: f64) {
    let unit = sheet.units.display_unit(Dimension::FORCE);
    let most = result.axial.iter().fold(0.0_f64, |most, force| most.max(force.abs()));
    let column = sheet.lettered(unit.convert(most), unit.convert(result.largest));
    let extreme = |sign: f64| {
        let forces = result.axial.iter().enumerate().map(|(index, force)| (index, force * sign));
        forces.max_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(index, _)| index)
    };
    let extremes = [extreme(1.0), extreme(-1.0)];
    for member in sheet.members() {
        let need = match sheet.room {
            _ if extremes.contains(&Some(member.index())) => Need::Always,
            Room::All => Need::Always,
            Room::Some if size(sub(sheet.ends(member)[1], sheet.ends(member)[0])) > CLOSE => Need::IfRoom,
            _ => continue,
        };
        let force = result.axial.get(member.index()).copied().unwrap_or(0.0);
        let value = column.cell(unit.convert(force.abs()));
        let zero = force.abs() <= ZERO_SHARE * result.largest;
        let (text, ink) = match zero {
            true => ("0".to_owned(), Ink::Faint),
            false if force > 0.0 => (format!("{value} T"), Ink::Tension),
            false => (format!("{value} C"), Ink::Compression),
        };
        let thick = if zero { 0.5 } else { THINNEST + OPEN + (THICKEST - THINNEST) * force.abs() / largest };
        let ends = sheet.ends(member);
        let words = Words::new(text, VALUE_SIZE, ink);
        let is_beam = sheet.structure.member(member).is_some_and(|m| m.kind == MemberKind::Beam);
        let places = beside(ends, thick, &words, if is_beam { 0.2 } else { 0.0 });
        sheet.want(Words { need, ..words }, super::dimensions::middle(ends), places);
    }
}

/// Places beside a member: along it first, then level beside its middle.
pub fn beside(ends: [Point; 2], thick: f64, words: &Words, more: f64) -> Vec<Place> {
    let [a, b] = ends;
    let axis = unit(sub(b, a));
    let length = size(sub(b, a));
    let turn = reading_turn(axis);
    // Above the line as it is read, then below.
    let up = {
        let side = left_of(axis);
        let (sin, cos) = turn.to_radians().sin_cos();
        if side[0] * sin - side[1] * cos > 0.0 { side } else { [-side[0], -side[1]] }
    };
    let off = words.size / 2.0 + thick / 2.0 + 0.5 + more;
    let free = (length - words.width()).max(0.0) / 2.0 / length.max(1e-9);
    let mut places = Vec::new();
    for shift in [0.0, 0.35, -0.35, 0.7, -0.7] {
        let on = along(a, sub(b, a), 0.5 + shift * free);
        for side in [off, -off] {
            places.push(Place { at: along(on, up, side), turn });
        }
    }
    for share in [0.5, 0.35, 0.65, 0.25, 0.75] {
        let on = along(a, sub(b, a), share);
        for side in [1.0, -1.0] {
            let out = [up[0] * side, up[1] * side];
            let level = words.reach(out) + thick / 2.0 + 0.6;
            places.push(Place { at: along(on, out, level), turn: 0.0 });
        }
    }
    places
}
