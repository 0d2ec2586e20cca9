//! Member forces on the members: tension full, compression as an open bar,
//! both heavier the larger the force; no force dotted.
//!
//! Must not know: how forces are found.

use crate::base::{IdVec, MemberId};
use crate::quantity::Dimension;
use crate::statics::diagram::Quantity;
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::dimensions::{Note, draw_notes};
use super::inks::Ink;
use super::names::name_joints;
use super::picture::{Depth, Form, Need, Picture, Place, Step, Stroke, VALUE_SIZE, Words};
use super::plane::{NO_SIZE, Point, along, back, between, left_of, reading_turn, size, sub, unit};
use super::sheet::{Order, Room, Sheet, fit, pen};
use super::symbols::{draw_hinges, draw_supports};

const THINNEST: f64 = 0.6;
const THICKEST: f64 = 2.4;
/// An open bar is so much wider than the full line of the same force.
const OPEN: f64 = 0.5;
/// Members shorter than this, millimetres, go without values on large drawings.
const CLOSE: f64 = 9.0;
/// The walls of an open bar.
const WALL: f64 = 0.3;

/// The least and the greatest axial force along each member, newtons.
struct Forces<'a> {
    along: IdVec<MemberId, [f64; 2]>,
    /// The largest of them.
    largest: f64,
    result: &'a CaseResult,
}

/// What a member's line says.
#[derive(Clone, Copy, PartialEq)]
enum Carries {
    Nothing,
    /// All along, with the larger size where it varies.
    OneWay(f64),
    /// Tension in one part, compression in another.
    BothWays,
}

impl Forces<'_> {
    fn of<'a>(structure: &Structure, result: &'a CaseResult) -> Forces<'a> {
        let along = |member: MemberId| {
            if !result.spans.contains_key(&member) {
                return [result.axial[member]; 2];
            }
            let [most, least] = result.diagram(structure, member).extremes(Quantity::Axial);
            [least.value, most.value]
        };
        let along: IdVec<MemberId, [f64; 2]> = structure.members.ids().map(along).collect();
        let largest = along.iter().flatten().fold(0.0_f64, |largest, force| largest.max(force.abs()));
        Forces { along, largest, result }
    }

    fn is_zero(&self, force: f64) -> bool {
        force.abs() <= ZERO_SHARE * self.result.largest
    }

    fn carried(&self, member: MemberId) -> Carries {
        let [least, most] = self.along[member];
        match (self.is_zero(least), self.is_zero(most)) {
            (true, true) => Carries::Nothing,
            (false, false) if least < 0.0 && most > 0.0 => Carries::BothWays,
            _ => Carries::OneWay(if most > -least { most } else { least }),
        }
    }
}

/// Draws the force of every bar, and of beams the axial force.
pub fn draw_forces(order: &Order<'_>, result: &CaseResult) -> Picture {
    let structure = order.structure;
    let forces = Forces::of(structure, result);
    fit(order, &|sheet| {
        for member in sheet.members() {
            draw_member(sheet, member, forces.carried(member), forces.largest);
        }
        draw_supports(sheet);
        draw_hinges(sheet);
        name_joints(sheet);
        want_values(sheet, &forces);
        let unit = sheet.units.display_unit(Dimension::FORCE).symbol;
        let mut notes = vec![
            Note::Words(format!("forces in {unit}")),
            Note::Sample(strokes(1.0, 0.55).to_vec(), "T tension".to_owned()),
            Note::Sample(strokes(-1.0, 0.55).to_vec(), "C compression".to_owned()),
        ];
        let any = |carries| structure.members.ids().any(|member| forces.carried(member) == carries);
        if any(Carries::BothWays) {
            notes.push(Note::Sample(vec![both_ways()], "one part in tension, one in compression".to_owned()));
        }
        if any(Carries::Nothing) {
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

const fn both_ways() -> Stroke {
    Stroke { ink: Ink::Line, width: THINNEST, form: Form::Solid }
}

fn draw_member(sheet: &mut Sheet<'_>, member: MemberId, carries: Carries, largest: f64) {
    let ends = sheet.ends(member);
    let force = match carries {
        Carries::Nothing => return sheet.line(ends[0], ends[1], nothing()),
        Carries::BothWays => return sheet.line(ends[0], ends[1], both_ways()),
        Carries::OneWay(force) => force,
    };
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

fn want_values(sheet: &mut Sheet<'_>, forces: &Forces<'_>) {
    let unit = sheet.units.display_unit(Dimension::FORCE);
    let column = sheet.lettered(unit.convert(forces.largest), unit.convert(forces.result.largest));
    let by = |of: fn([f64; 2]) -> f64| {
        forces.along.entries().max_by(|(_, a), (_, b)| of(**a).total_cmp(&of(**b))).map(|(member, _)| member)
    };
    let extremes = [by(|[_, most]| most), by(|[least, _]| -least)];
    for member in sheet.members() {
        let need = match sheet.room {
            _ if extremes.contains(&Some(member)) => Need::Always,
            Room::All => Need::Always,
            Room::Some if size(sub(sheet.ends(member)[1], sheet.ends(member)[0])) > CLOSE => Need::IfRoom,
            _ => continue,
        };
        let said = |force: f64| match forces.is_zero(force) {
            true => "0".to_owned(),
            false if force > 0.0 => format!("{} T", column.cell(unit.convert(force))),
            false => format!("{} C", column.cell(unit.convert(-force))),
        };
        let [least, most] = forces.along[member].map(said);
        let text = if least == most { least } else { format!("{least} to {most}") };
        let (ink, force) = match forces.carried(member) {
            Carries::Nothing => (Ink::Faint, 0.0),
            Carries::BothWays => (Ink::Line, 0.0),
            Carries::OneWay(force) => (if force > 0.0 { Ink::Tension } else { Ink::Compression }, force),
        };
        let full = THINNEST + OPEN + (THICKEST - THINNEST) * force.abs() / forces.largest;
        let thick = if force == 0.0 { 0.5 } else { full };
        let ends = sheet.ends(member);
        let words = Words::new(text, VALUE_SIZE, ink);
        let is_beam = sheet.structure.members[member].kind == MemberKind::Beam;
        let places = beside(ends, thick, &words, if is_beam { 0.2 } else { 0.0 });
        sheet.want(Words { need, ..words }, between(ends[0], ends[1], 0.5), places);
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
        if side[0] * sin - side[1] * cos > 0.0 { side } else { back(side) }
    };
    let off = words.size / 2.0 + thick / 2.0 + 0.5 + more;
    let free = (length - words.width()).max(0.0) / 2.0 / length.max(NO_SIZE);
    let mut places = Vec::new();
    for shift in [0.0, 0.35, -0.35, 0.7, -0.7] {
        let on = between(a, b, 0.5 + shift * free);
        for side in [off, -off] {
            places.push(Place { at: along(on, up, side), turn });
        }
    }
    for share in [0.5, 0.35, 0.65, 0.25, 0.75] {
        let on = between(a, b, share);
        for out in [up, back(up)] {
            let level = words.reach(out) + thick / 2.0 + 0.6;
            places.push(along(on, out, level).into());
        }
    }
    places
}
