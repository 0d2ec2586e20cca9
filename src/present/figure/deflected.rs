//! The deflected shape, drawn to an exaggerated scale, over the structure as
//! it was.
//!
//! Must not know: how displacements are found.

use crate::base::tolerances::SAME;
use crate::base::{IdVec, JointId, MemberId};
use crate::check::words as phrases;
use crate::quantity::format;
use crate::statics::CaseResult;
use crate::statics::diagram::{displacement, largest_deflection};
use crate::statics::spans;
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::dimensions::{Note, draw_notes, round_below};
use super::inks::Ink;
use super::names::name_joints;
use super::picture::{Form, Picture, Stroke, VALUE_SIZE, Words};
use super::plane::{Point, along, at_angle, between, size, sub};
use super::sheet::{Order, Room, Sheet, fit, pen};
use super::symbols::{BAR, BEAM, CABLE, draw_ghost, draw_supports};

/// Chords of a bent member.
const CHORDS: u32 = 24;

/// Shares of a member's length, and displacements in metres.
type Axis = Vec<(f64, [f64; 2])>;

/// The displaced axis of a member: share of its length, and displacement in metres.
fn axis(structure: &Structure, result: &CaseResult, member: MemberId) -> Option<Axis> {
    let moved = result.displacements.as_ref()?;
    let m = &structure.members[member];
    let [start, end] = [m.start, m.end].map(|joint| [moved[joint].dx, moved[joint].dy]);
    if m.kind != MemberKind::Beam {
        return Some(vec![(0.0, start), (1.0, end)]);
    }
    let curves = result.deflection(structure, member)?;
    let length = structure.member_length(member);
    let points = (0..=CHORDS).map(|chord| {
        let share = f64::from(chord) / f64::from(CHORDS);
        (share, spans::global(structure, member, displacement(&curves, share * length)))
    });
    Some(points.collect())
}

/// How many times too large movements are drawn; `None` where nothing is
/// known to move.
fn magnification(order: &Order<'_>, axes: &IdVec<MemberId, Option<Axis>>) -> Option<f64> {
    let largest = axes.iter().flatten().flatten().map(|(_, by)| size(*by)).fold(0.0_f64, f64::max);
    let wanted = 0.075 * order.size() / largest;
    (largest > 0.0 && wanted.is_finite()).then(|| round_below(wanted))
}

pub fn draw_deflected(order: &Order<'_>, result: &CaseResult) -> Option<Picture> {
    let structure = order.structure;
    let axes: IdVec<MemberId, _> = structure.members.ids().map(|member| axis(structure, result, member)).collect();
    let times = magnification(order, &axes)?;
    let picture = fit(order, &|sheet| {
        draw_ghost(sheet);
        draw_supports(sheet);
        for (member, axis) in axes.entries() {
            let Some(axis) = axis else { continue };
            let [a, b] = sheet.ends(member);
            let points: Vec<Point> = axis
                .iter()
                .map(|(share, [x, y])| along(between(a, b, *share), [*x, -*y], sheet.scale * times))
                .collect();
            let finer = if sheet.room == Room::Little { 0.5 } else { 1.0 };
            let stroke = match structure.members[member].kind {
                MemberKind::Beam => pen(Ink::Motion, BEAM * 0.8 * finer),
                MemberKind::Cable => Stroke { ink: Ink::Motion, width: CABLE, form: Form::Chain },
                MemberKind::Bar => pen(Ink::Motion, BAR * finer),
            };
            sheet.polyline(&points, stroke);
        }
        name_joints(sheet);
        want_largest(sheet, result, times);
        let text = match format::trimmed(times, 3) {
            _ if times == 1.0 => "displacements to scale".to_owned(),
            share if times < 1.0 => format!("displacements × {share}"),
            times => format!("displacements × {times}"),
        };
        draw_notes(sheet, &[Note::Words(text)]);
    });
    Some(picture)
}

/// The joint that moves most and the largest deflection between joints.
fn want_largest(sheet: &mut Sheet<'_>, result: &CaseResult, times: f64) {
    let structure = sheet.structure;
    let Some(moved) = result.displacements.as_ref() else { return };
    let movement = |joint: JointId| size([moved[joint].dx, moved[joint].dy]);
    let say = |sheet: &mut Sheet<'_>, at: Point, value: f64| {
        sheet.circle(at, 0.7, None, Some(Ink::Motion));
        let words = Words::new(phrases::deflection(structure, value), VALUE_SIZE, Ink::Motion);
        let places = around(at, &words);
        sheet.want(words, at, places);
    };
    let most = moved.ids().max_by(|a, b| movement(*a).total_cmp(&movement(*b)).then(b.cmp(a)));
    let most = most.filter(|joint| movement(*joint) > 0.0);
    let told = most.map(|joint| {
        let by = moved[joint];
        let at = along(sheet.at(joint), [by.dx, -by.dy], sheet.scale * times);
        say(sheet, at, movement(joint));
        at
    });
    let mut best: Option<(MemberId, f64, f64)> = None;
    for member in sheet.members().filter(|member| structure.members[*member].kind == MemberKind::Beam) {
        let Some(curves) = result.deflection(structure, member) else { continue };
        let extreme = largest_deflection(&curves);
        if best.is_none_or(|(_, known, _)| extreme.value.abs() > known.abs()) {
            best = Some((member, extreme.value, extreme.at));
        }
    }
    let Some((member, value, at)) = best else { return };
    let length = structure.member_length(member);
    let largest = moved.ids().map(movement).fold(0.0, f64::max);
    if at <= SAME * length || at >= length * (1.0 - SAME) || value.abs() <= SAME * largest {
        return;
    }
    let Some(curves) = result.deflection(structure, member) else { return };
    let [x, y] = spans::global(structure, member, displacement(&curves, at));
    let tip = along(sheet.on_member(member, at), [x, -y], sheet.scale * times);
    // Next to the joint that moves most it would say the same again.
    if told.is_none_or(|at| size(sub(at, tip)) >= 12.0) {
        say(sheet, tip, value.abs());
    }
}

/// Places all round a point, below first.
pub fn around(at: Point, words: &Words) -> Vec<Point> {
    let mut places = Vec::new();
    for far in [1.4, 2.6, 4.2] {
        for degrees in [270.0, 90.0, 0.0, 180.0, 315.0, 225.0, 45.0, 135.0] {
            let direction = at_angle(f64::to_radians(degrees));
            places.push(along(at, direction, far + words.reach(direction)));
        }
    }
    places
}
