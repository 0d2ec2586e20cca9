//! The symbols of the trade: supports, hinges, hatched ground.
//!
//! Must not know: loads, results.

use crate::base::tolerances::{SAME, TO_THE_EYE};
use crate::base::{JointId, MemberId};
use crate::statics::End;
use crate::statics::equilibrium::{hinged_joints, holds_moment};
use crate::structure::{Component, Support, SupportKind};
use crate::syntax::tree::MemberKind;

use super::inks::Ink;
use super::picture::{Form, Stroke};
use super::plane::{Point, along, back, distance, dot, left_of, size, sub, unit};
use super::sheet::{Room, Sheet, dashed, pen};

/// Line weights, millimetres.
pub const BAR: f64 = 0.5;
pub const BEAM: f64 = 0.9;
pub const CABLE: f64 = 0.35;
pub const THIN: f64 = 0.18;
const SYMBOL: f64 = 0.35;

/// All members as they are.
pub fn draw_members(sheet: &mut Sheet<'_>) {
    for member in sheet.members() {
        let [a, b] = sheet.ends(member);
        sheet.line(a, b, member_pen(sheet, member));
    }
}

pub fn member_pen(sheet: &Sheet<'_>, member: MemberId) -> Stroke {
    // Beyond what can be lettered, lines are what stands close.
    let finer = if sheet.room == Room::Little { 0.4 } else { 1.0 };
    match sheet.structure.members[member].kind {
        MemberKind::Beam => pen(Ink::Line, BEAM * finer),
        MemberKind::Cable => Stroke { ink: Ink::Line, width: CABLE * finer, form: Form::Chain },
        MemberKind::Bar => pen(Ink::Line, BAR * finer),
    }
}

/// All members in the colour of what is merely behind.
pub fn draw_ghost(sheet: &mut Sheet<'_>) {
    for member in sheet.members() {
        let [a, b] = sheet.ends(member);
        let width = member_pen(sheet, member).width.min(0.4);
        sheet.back_line(a, b, dashed(Ink::Ghost, width));
    }
}

/// Small circles where members are pinned: on the joint where nothing passes a
/// moment on through it; at beam ends set off from the joint where one end
/// alone is freed; beside a beam that runs on where bars are pinned to it.
pub fn draw_hinges(sheet: &mut Sheet<'_>) {
    if sheet.room == Room::Little {
        return;
    }
    let hinged = hinged_joints(sheet.structure);
    let clamps = sheet.structure.supports.iter().filter(|support| support.holds_rotation());
    let clamped: Vec<JointId> = clamps.map(|support| support.joint).collect();
    let radius = if sheet.room == Room::All { 0.75 } else { 0.5 };
    for joint in sheet.joints() {
        let (mut rigid, mut freed, mut bars) = (Vec::new(), Vec::new(), Vec::new());
        for member in sheet.members_at(joint) {
            let m = &sheet.structure.members[*member];
            let (end, far) = if m.start == joint { (End::Start, m.end) } else { (End::Finish, m.start) };
            let direction = unit(sub(sheet.at(far), sheet.at(joint)));
            if m.kind != MemberKind::Beam {
                bars.push(direction);
            } else if holds_moment(m, end, &hinged) {
                rigid.push(direction);
            } else {
                freed.push(direction);
            }
        }
        let at = sheet.at(joint);
        let ring = |sheet: &mut Sheet<'_>, at: Point, radius: f64| {
            sheet.circle(at, radius, Some(pen(Ink::Line, 0.3)), Some(Ink::Paper));
        };
        // One beam's end among bars transmits no moment, unless a support resists it.
        let runs_on = rigid.len() > 1 || !rigid.is_empty() && (!freed.is_empty() || clamped.contains(&joint));
        if runs_on {
            let mut taken: Vec<Point> = freed.iter().map(|direction| along(at, *direction, 1.9)).collect();
            taken.iter().for_each(|place| ring(sheet, *place, radius));
            for direction in bars {
                let place = beside(at, direction, &rigid, &taken);
                ring(sheet, place, BESIDE);
                taken.push(place);
            }
        } else if bars.len() + freed.len() > 0 {
            ring(sheet, at, radius);
        }
    }
}

/// The radius of a ring beside a beam.
const BESIDE: f64 = 0.6;

/// Where on a bar its pin's ring stands clear of the beams at a joint and of
/// other rings, as near the joint as can be.
fn beside(at: Point, bar: Point, beams: &[Point], taken: &[Point]) -> Point {
    /// From the beam to the middle of the ring's line.
    const CLEAR: f64 = 0.3;
    const FARTHEST: f64 = 4.5;
    const STEP: f64 = 0.15;
    let mut far = BESIDE + BEAM / 2.0 + CLEAR;
    while far < FARTHEST {
        let place = along(at, bar, far);
        let off_beams = beams.iter().all(|beam| {
            let line = [at, along(at, *beam, 2.0 * FARTHEST)];
            distance(place, line) >= BESIDE + BEAM / 2.0 + CLEAR - SAME
        });
        if off_beams && taken.iter().all(|other| size(sub(place, *other)) >= 2.0 * BESIDE + 0.3) {
            return place;
        }
        far += STEP;
    }
    along(at, bar, FARTHEST)
}

/// All supports.
pub fn draw_supports(sheet: &mut Sheet<'_>) {
    let structure = sheet.structure;
    for support in &structure.supports {
        draw_support(sheet, support);
    }
}

fn draw_support(sheet: &mut Sheet<'_>, support: &Support) {
    let at = sheet.at(support.joint);
    let held = &support.held;
    match support.kind {
        SupportKind::Pin => {
            let frame = Frame { at, down: free_side(sheet, support.joint) };
            frame.triangle(sheet, 2.1, 3.7);
            frame.ground(sheet, 3.7, 3.2);
        }
        SupportKind::Roller => {
            let frame = Frame { at, down: seat(sheet, support) };
            frame.triangle(sheet, 1.9, 3.1);
            frame.wheels(sheet, 1.15, 3.1 + 0.7, 0.6);
            frame.ground(sheet, 4.5, 3.2);
        }
        SupportKind::Fixed => {
            let frame = Frame { at, down: behind(sheet, support.joint) };
            frame.plate(sheet, 3.6);
            frame.hatch(sheet, 0.0, 3.6);
        }
        SupportKind::Guide => {
            let frame = Frame { at, down: seat(sheet, support) };
            frame.plate(sheet, 2.8);
            frame.wheels(sheet, 1.6, 1.05, 0.65);
            frame.ground(sheet, 1.75, 3.6);
        }
        SupportKind::Spring => {
            let free = free_side(sheet, support.joint);
            if held.y.is_some() {
                let down = if free[1] < -0.5 { [0.0, -1.0] } else { [0.0, 1.0] };
                Frame { at, down }.spring(sheet);
            }
            if held.x.is_some() {
                let side = if free[0] > 0.5 { [1.0, 0.0] } else { [-1.0, 0.0] };
                Frame { at, down: side }.spring(sheet);
            }
            if held.turn.is_some() {
                Frame { at, down: free }.spiral(sheet);
            }
        }
    }
}

/// Axes at a support: `down` points away from the structure.
struct Frame {
    at: Point,
    down: Point,
}

impl Frame {
    fn point(&self, across: f64, down: f64) -> Point {
        along(along(self.at, self.down, down), left_of(self.down), across)
    }

    fn points(&self, list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|(across, down)| self.point(*across, *down)).collect()
    }

    fn triangle(&self, sheet: &mut Sheet<'_>, half: f64, high: f64) {
        let corners = self.points(&[(0.0, 0.0), (half, high), (-half, high)]);
        sheet.polygon(&corners, Some(pen(Ink::Line, SYMBOL)), Some(Ink::Paper));
    }

    fn wheels(&self, sheet: &mut Sheet<'_>, across: f64, down: f64, radius: f64) {
        for side in [-across, across] {
            sheet.circle(self.point(side, down), radius, Some(pen(Ink::Line, 0.28)), Some(Ink::Paper));
        }
    }

    fn plate(&self, sheet: &mut Sheet<'_>, half: f64) {
        sheet.line(self.point(-half, 0.0), self.point(half, 0.0), pen(Ink::Line, 0.7));
    }

    fn ground(&self, sheet: &mut Sheet<'_>, down: f64, half: f64) {
        sheet.line(self.point(-half, down), self.point(half, down), pen(Ink::Line, SYMBOL));
        self.hatch(sheet, down, half);
    }

    fn hatch(&self, sheet: &mut Sheet<'_>, down: f64, half: f64) {
        const STEP: f64 = 1.15;
        const DEEP: f64 = 1.2;
        let mut across = -half;
        while across + DEEP <= half + SAME {
            sheet.line(self.point(across + DEEP, down), self.point(across, down + DEEP), pen(Ink::Line, THIN));
            across += STEP;
        }
    }

    fn spring(&self, sheet: &mut Sheet<'_>) {
        let zigzag = [(0.0, 0.0), (0.0, 1.0), (1.1, 1.5), (-1.1, 2.4), (1.1, 3.3), (-1.1, 4.2), (0.0, 4.7), (0.0, 5.4)];
        sheet.polyline(&self.points(&zigzag), pen(Ink::Line, SYMBOL));
        self.ground(sheet, 5.4, 2.4);
    }

    fn spiral(&self, sheet: &mut Sheet<'_>) {
        let points: Vec<Point> = (0..=40)
            .map(|step| {
                let share = f64::from(step) / 40.0;
                let (sin, cos) = (share * 1.75 * std::f64::consts::TAU).sin_cos();
                self.point((0.7 + 1.6 * share) * sin, (0.7 + 1.6 * share) * cos)
            })
            .collect();
        let end = points.last().copied().unwrap_or(self.at);
        sheet.polyline(&points, pen(Ink::Line, SYMBOL));
        let foot = Frame { at: end, down: self.down };
        sheet.line(end, foot.point(0.0, 1.2), pen(Ink::Line, SYMBOL));
        foot.ground(sheet, 1.2, 1.6);
    }
}

/// The side on which members leave most room: below if it is free, else left
/// or right, else above.
pub fn free_side(sheet: &Sheet<'_>, joint: JointId) -> Point {
    const SIDES: [(Point, f64); 4] = [([0.0, 1.0], 0.0), ([-1.0, 0.0], 0.25), ([1.0, 0.0], 0.26), ([0.0, -1.0], 0.5)];
    let members = sheet.directions(joint);
    let crowd =
        |side: Point| members.iter().map(|direction| (dot(*direction, side) - 0.55).max(0.0) * 3.0).fold(0.0, f64::max);
    let best = SIDES.iter().min_by(|(a, a_cost), (b, b_cost)| (crowd(*a) + a_cost).total_cmp(&(crowd(*b) + b_cost)));
    best.map_or([0.0, 1.0], |(side, _)| *side)
}

/// Where the ground of a roller or guide lies: against its push, unless
/// members are in the way and the other side is free.
fn seat(sheet: &Sheet<'_>, support: &Support) -> Point {
    let joint = support.joint;
    let [x, y] = support.unit(Component::Normal);
    let against = [-x, y];
    let other = back(against);
    let near = |side: Point| sheet.directions(joint).iter().map(|direction| dot(*direction, side)).fold(-1.0, f64::max);
    if near(against) > 0.9 && near(other) < 0.9 { other } else { against }
}

/// The side away from the members of a fixed support, along a single one,
/// else snapped upright or level.
fn behind(sheet: &Sheet<'_>, joint: JointId) -> Point {
    let members = sheet.directions(joint);
    let [x, y] = members.iter().fold([0.0, 0.0], |[x, y], [dx, dy]| [x - dx, y - dy]);
    if x.hypot(y) < TO_THE_EYE {
        return [0.0, 1.0];
    }
    if let [_] = members.as_slice() {
        return unit([x, y]);
    }
    if x.abs() > y.abs() { [x.signum(), 0.0] } else { [0.0, y.signum()] }
}

/// A cross in a small circle: a point about which something turns.
pub fn draw_centre(sheet: &mut Sheet<'_>, at: Point, ink: Ink) {
    sheet.circle(at, 1.3, Some(pen(ink, 0.3)), None);
    sheet.line([at[0] - 2.2, at[1]], [at[0] + 2.2, at[1]], pen(ink, THIN));
    sheet.line([at[0], at[1] - 2.2], [at[0], at[1] + 2.2], pen(ink, THIN));
}
