//! Arrows, combs of spread loads and arcs of couples, each with its value.
//! Loads have filled heads, reactions open ones with a stroke through the
//! shaft, as is common practice; motions are dashed.
//!
//! Must not know: where the values come from.

use rustc_hash::FxHashMap;

use crate::base::MemberId;
use crate::base::tolerances::{SAME, TO_THE_EYE};
use crate::quantity::Dimension;

use super::inks::Ink;
use super::labels::Obstacles;
use super::loads::{JointLoad, Loads, MemberLoad, quantity};
use super::picture::{Need, Place, Stroke, VALUE_SIZE, Words};
use super::plane::{Point, along, at_angle, back, between, dot, left_of, reading_turn, size, sub, unit};
use super::sheet::{Room, Sheet, dashed, pen};

/// What an arrow stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrow {
    Load,
    Reaction,
    Motion,
}

const SHORTEST: f64 = 8.0;
const LONGER: f64 = 9.0;
/// Between an arrow's end and what it acts on.
const GAP: f64 = 1.1;
const HEAD: f64 = 2.5;
const HALF_HEAD: f64 = 0.9;
/// Of a couple's arc.
const RADIUS: f64 = 4.4;

impl Arrow {
    pub const fn ink(self) -> Ink {
        match self {
            Arrow::Load => Ink::Load,
            Arrow::Reaction => Ink::Reaction,
            Arrow::Motion => Ink::Motion,
        }
    }

    const fn shaft(self) -> Stroke {
        match self {
            Arrow::Motion => dashed(self.ink(), 0.45),
            Arrow::Load | Arrow::Reaction => pen(self.ink(), 0.45),
        }
    }
}

/// The length of an arrow for a force beside the largest one.
pub fn length_for(force: f64, largest: f64) -> f64 {
    if largest > 0.0 { SHORTEST + LONGER * (force.abs() / largest).min(1.0) } else { SHORTEST }
}

/// Draws an arrow from tail to head.
pub fn draw_arrow(sheet: &mut Sheet<'_>, tail: Point, head: Point, arrow: Arrow) {
    let direction = unit(sub(head, tail));
    sheet.line(tail, along(head, direction, -HEAD * 0.8), arrow.shaft());
    draw_head(sheet, head, direction, arrow, 1.0);
    if arrow == Arrow::Reaction {
        let middle = between(tail, head, 0.38);
        let slash = unit(along(direction, left_of(direction), 1.6));
        sheet.line(along(middle, slash, -1.1), along(middle, slash, 1.1), pen(arrow.ink(), 0.3));
    }
}

fn draw_head(sheet: &mut Sheet<'_>, tip: Point, direction: Point, arrow: Arrow, scale: f64) {
    let base = along(tip, direction, -HEAD * scale);
    let side = left_of(direction);
    let corners = [tip, along(base, side, HALF_HEAD * scale), along(base, side, -HALF_HEAD * scale)];
    let fill = if arrow == Arrow::Reaction { Ink::Paper } else { arrow.ink() };
    sheet.polygon(&corners, Some(pen(arrow.ink(), if arrow == Arrow::Reaction { 0.32 } else { 0.1 })), Some(fill));
}

/// What an arrow keeps away from at the joint it acts on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clear {
    Joint,
    /// The arc of a couple about the joint.
    Couple,
}

/// Beyond so many arrows none is looked for the side where it is least in the way.
const MOST_SIDED: usize = 200;

/// An arrow on a joint, on the side where it is least in the way, with its value.
pub fn draw_on_joint(
    sheet: &mut Sheet<'_>,
    at: Point,
    direction: Point,
    length: f64,
    clear: Clear,
    arrow: Arrow,
    words: Words,
) {
    let gap = if clear == Clear::Couple { RADIUS + 1.3 } else { GAP };
    sheet.arrows += 1;
    // No side is free where so much stands so close.
    let is_crowded = sheet.room == Room::Little || sheet.arrows > MOST_SIDED;
    let (tail, head) = if is_crowded {
        (along(at, direction, -length), along(at, direction, -0.4))
    } else {
        free_arrow(sheet.obstacles(), at, direction, length, gap)
    };
    draw_arrow(sheet, tail, head, arrow);
    if !is_crowded || words.need == Need::Always {
        want_value(sheet, tail, head, at, words);
    }
}

/// The value of an arrow: beyond its tail, beside its shaft, beyond its head.
fn want_value(sheet: &mut Sheet<'_>, tail: Point, head: Point, at: Point, words: Words) {
    let direction = unit(sub(head, tail));
    let sides = [left_of(direction), back(left_of(direction))];
    let head_is_far = size(sub(head, at)) > size(sub(tail, at));
    let (far, outward) = if head_is_far { (head, direction) } else { (tail, back(direction)) };
    let beside = |share: f64| {
        let on = between(far, at, share);
        sides.map(|side| along(on, side, 1.7 + words.reach(side)))
    };
    let beyond = along(far, outward, 0.6 + words.reach(outward));
    let corners = sides.map(|side| along(beyond, side, 0.6 * words.reach(side)));
    let places: Vec<Point> = std::iter::once(along(far, outward, 0.8 + words.reach(outward)))
        .chain([0.0, 0.3, 0.55, -0.3].into_iter().flat_map(beside))
        .chain(corners)
        .collect();
    sheet.want(words, far, places);
}

/// Where an arrow of this direction on a joint is least in the way: arriving
/// at the joint or leaving it, on its line or a little beside it.
fn free_arrow(obstacles: &Obstacles, at: Point, direction: Point, length: f64, gap: f64) -> (Point, Point) {
    let side = left_of(direction);
    let mut best: Option<(f64, Point, Point)> = None;
    for (aside, aside_cost) in [(0.0, 0.0), (2.4, 0.4), (-2.4, 0.4)] {
        for (leaves, cost) in [(false, 0.0), (true, 0.12)] {
            let start = along(at, side, aside);
            let near = along(start, direction, if leaves { gap } else { -gap });
            let far = along(near, direction, if leaves { length } else { -length });
            let (tail, head) = if leaves { (near, far) } else { (far, near) };
            let crowding = obstacles.crowding(between(near, far, 0.3), along(far, sub(far, near), 0.25), 1.2);
            let cost = 1.6 * crowding + cost + aside_cost;
            if best.is_none_or(|(known, ..)| cost < known - SAME) {
                best = Some((cost, tail, head));
            }
        }
    }
    best.map_or((at, at), |(_, tail, head)| (tail, head))
}

/// A couple: three quarters of a circle with a head; counterclockwise positive.
pub fn draw_couple(sheet: &mut Sheet<'_>, at: Point, moment: f64, arrow: Arrow, words: Words) {
    let ccw = moment > 0.0;
    // From below right up and round over the top, or its mirror image.
    let angle = |share: f64| {
        let [x, y] = at_angle((-35.0 + 250.0 * share).to_radians());
        along(at, [if ccw { x } else { -x }, y], RADIUS)
    };
    let points: Vec<Point> = (0..=30).map(|step| angle(f64::from(step) / 30.0)).collect();
    let shaft = points.get(..points.len().saturating_sub(2)).unwrap_or(&points);
    sheet.polyline(shaft, arrow.shaft());
    let (before, tip) = (angle(0.9), angle(1.0));
    draw_head(sheet, tip, unit(sub(tip, before)), arrow, 0.9);
    let ring = |degrees: f64| {
        let direction = at_angle(degrees.to_radians());
        along(at, direction, RADIUS + 1.4 + words.reach(direction))
    };
    let places = [90.0, 45.0, 135.0, 0.0, 180.0, 20.0, 160.0, 70.0, 110.0].map(ring);
    sheet.want(words, at, places);
}

/// Of more loads than this, all have arrows and only those with room values.
const MOST_VALUES: usize = 24;

/// All loads with their values.
pub fn draw_loads(sheet: &mut Sheet<'_>, loads: &Loads) {
    let intensity = |(_, load): &(MemberId, MemberLoad)| match load {
        MemberLoad::Spread { ends: [a, b], .. } => size(*a).max(size(*b)),
        MemberLoad::Force { .. } | MemberLoad::Couple { .. } => 0.0,
    };
    let strongest = loads.members.iter().map(intensity).fold(0.0, f64::max);
    let mut runs = EvenRuns::default();
    for (member, load) in &loads.members {
        if let MemberLoad::Spread { from, to, ends } = *load {
            draw_comb(sheet, loads, *member, [from, to], ends, strongest, &mut runs);
        }
    }
    runs.runs.into_iter().flatten().for_each(|run| run.want_value(sheet));
    let largest = loads.largest_force();
    for (member, load) in &loads.members {
        match *load {
            MemberLoad::Force { at, force } => {
                let place = sheet.on_member(*member, at);
                draw_force(sheet, place, force, largest, Clear::Joint, Need::Always);
            }
            MemberLoad::Couple { at, moment } => draw_moment(sheet, sheet.on_member(*member, at), moment),
            MemberLoad::Spread { .. } => {}
        }
    }
    let crowded = loads.joints.len() > MOST_VALUES;
    // Of many equal loads one at least says what they are.
    let mut said = false;
    for JointLoad { joint, forces, couple } in &loads.joints {
        let at = sheet.at(*joint);
        for force in forces {
            let is_largest = size(*force) >= largest * (1.0 - SAME);
            let must = !crowded || (is_largest && !std::mem::replace(&mut said, true));
            let need = if must { Need::Always } else { Need::IfRoom };
            let clear = if *couple == 0.0 { Clear::Joint } else { Clear::Couple };
            draw_force(sheet, at, *force, largest, clear, need);
        }
        if *couple != 0.0 {
            draw_moment(sheet, at, *couple);
        }
    }
}

/// A force with its size, and for one neither upright nor level its acute angle
/// from the horizontal.
fn draw_force(sheet: &mut Sheet<'_>, at: Point, force: [f64; 2], largest: f64, clear: Clear, need: Need) {
    let [x, y] = force;
    let mut text = quantity(sheet.structure, size(force), Dimension::FORCE);
    let angle = y.abs().atan2(x.abs()).to_degrees();
    if angle > TO_THE_EYE && angle < 90.0 - TO_THE_EYE {
        text.push_str(&format!(", {}°", sheet.structure.figures.given(angle)));
    }
    let words = Words { need, ..Words::new(text, VALUE_SIZE, Ink::Load) };
    draw_on_joint(sheet, at, unit([x, -y]), length_for(size(force), largest), clear, Arrow::Load, words);
}

fn draw_moment(sheet: &mut Sheet<'_>, at: Point, moment: f64) {
    let words = Words::new(quantity(sheet.structure, moment, Dimension::MOMENT), VALUE_SIZE, Ink::Load);
    draw_couple(sheet, at, moment, Arrow::Load, words);
}

/// How many arrows stand over a length, so far from each other.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn arrows_over(spaces: f64) -> u32 {
    spaces.clamp(1.0, 60.0) as u32
}

/// A spread load as a row of arrows under the line of its intensity.
fn draw_comb(
    sheet: &mut Sheet<'_>,
    loads: &Loads,
    member: MemberId,
    stretch: [f64; 2],
    ends: [[f64; 2]; 2],
    strongest: f64,
    runs: &mut EvenRuns,
) {
    const HIGHEST: f64 = 8.5;
    const LOWEST: f64 = 3.2;
    const EVERY: f64 = 4.2;
    let own = size(ends[0]).max(size(ends[1]));
    if own <= 0.0 || sheet.structure.member_length(member) <= 0.0 {
        return;
    }
    let height = LOWEST + (HIGHEST - LOWEST) * (own / strongest).min(1.0);
    let [p, q] = stretch.map(|at| sheet.on_member(member, at));
    // On paper, of length 1 for the largest intensity.
    let [v, w] = ends.map(|[x, y]| [x / own, -y / own]);
    let says = ends.map(|force| loads.line_load(sheet.structure, member, force));
    let [at_start, at_end] = &says;
    let (strong, most) = if size(v) >= size(w) { (v, at_start) } else { (w, at_end) };
    let [start, end] = sheet.ends(member);
    if dot(unit(strong), left_of(unit(sub(end, start)))).abs() < 0.2 {
        draw_row(sheet, [p, q], unit(strong), most);
        return;
    }
    // Where an arrow ends and where it begins.
    let arrow = |share: f64| {
        let force = between(v, w, share);
        let head = along(between(p, q, share), unit(force), -0.7);
        (head, along(head, force, -height))
    };
    let arrows = arrows_over((size(sub(q, p)) / EVERY).round());
    let each: Vec<(Point, Point)> = (0..=arrows).map(|index| arrow(f64::from(index) / f64::from(arrows))).collect();
    let tops = [arrow(0.0).1, arrow(1.0).1];
    sheet.line(tops[0], tops[1], pen(Ink::Load, 0.32));
    for (head, tail) in &each {
        let long = size(sub(*tail, *head));
        if long > 0.3 {
            sheet.line(*tail, *head, pen(Ink::Load, 0.22));
        }
        if long > 1.6 {
            draw_head(sheet, *head, unit(sub(*head, *tail)), Arrow::Load, 0.5);
        }
    }
    // Nothing is written between the arrows.
    for ((head, _), (_, tail)) in each.iter().zip(each.iter().skip(1)) {
        sheet.keep_clear([*head, *tail]);
    }
    if size(sub(v, w)) < TO_THE_EYE {
        runs.join(EvenRun { ends: tops, force: v, value: own, says: most.clone() });
        return;
    }
    let (out, axis) = (unit(back(strong)), unit(sub(q, p)));
    for (((says, force), top), inward) in says.into_iter().zip(ends).zip(tops).zip([1.0, -1.0]) {
        if size(force) <= SAME * own {
            continue;
        }
        let words = Words::new(says, VALUE_SIZE, Ink::Load);
        let mut places = Vec::new();
        for shift in [0.0, 0.6, 1.0, -0.6, -1.0] {
            let beyond = along(along(top, out, 1.0 + words.reach(out)), axis, inward * shift * words.reach(axis));
            places.extend([beyond, along(beyond, out, 2.5)]);
        }
        let outward = along(top, axis, -inward * (1.0 + words.reach(axis)));
        places.push(along(outward, out, -1.0));
        sheet.want(words, top, places);
    }
}

/// An even spread load over members in one line: its value is written once.
struct EvenRun {
    /// Of the line over the arrows, on paper.
    ends: [Point; 2],
    /// Its direction, of length 1, on paper.
    force: Point,
    /// Newtons a metre.
    value: f64,
    says: String,
}

/// Runs, by where they end on paper; those that became part of another are gone.
#[derive(Default)]
struct EvenRuns {
    runs: Vec<Option<EvenRun>>,
    ending: FxHashMap<(i64, i64), Vec<usize>>,
}

impl EvenRuns {
    /// Of the runs that end in one place so many are tried, the latest first.
    const MOST_TRIED: usize = 32;

    /// Adds a run, to those that it continues.
    fn join(&mut self, mut new: EvenRun) {
        while let Some((index, ends)) = self.continued_by(&new) {
            if let Some(slot) = self.runs.get_mut(index) {
                *slot = None;
            }
            new.ends = ends;
        }
        for end in new.ends {
            self.ending.entry(cell(end)).or_default().push(self.runs.len());
        }
        self.runs.push(Some(new));
    }

    /// The first run that this one continues, and the ends of both together.
    fn continued_by(&self, new: &EvenRun) -> Option<(usize, [Point; 2])> {
        let around = |end: Point| {
            let (x, y) = cell(end);
            (-1..=1).flat_map(move |dx| (-1..=1).map(move |dy| (x + dx, y + dy)))
        };
        let near = new.ends.into_iter().flat_map(around).filter_map(|at| self.ending.get(&at));
        let known = near.flat_map(|list| list.iter().rev().take(Self::MOST_TRIED));
        let joined = known.filter_map(|index| Some((*index, self.runs.get(*index)?.as_ref()?.joined(new)?)));
        joined.min_by_key(|(index, _)| *index)
    }
}

/// Ends this near each other are one, millimetres.
const ONE_END: f64 = 0.05;

/// The cell of a point: two points that are one lie in the same or in neighbours.
fn cell([x, y]: Point) -> (i64, i64) {
    #[allow(clippy::cast_possible_truncation)]
    let of = |at: f64| (at / ONE_END).floor() as i64;
    (of(x), of(y))
}

impl EvenRun {
    /// The ends of both together, where they are one.
    fn joined(&self, other: &EvenRun) -> Option<[Point; 2]> {
        let near = |a: Point, b: Point| size(sub(a, b)) < ONE_END;
        let alike = near(self.force, other.force) && self.says == other.says;
        let same = alike && (self.value - other.value).abs() <= TO_THE_EYE * self.value.abs();
        let axis = |[a, b]: [Point; 2]| unit(sub(b, a));
        if !same || dot(axis(self.ends), left_of(axis(other.ends))).abs() > TO_THE_EYE {
            return None;
        }
        let ([a, b], [c, d]) = (self.ends, other.ends);
        let ways = [(b, c, [a, d]), (b, d, [a, c]), (a, c, [b, d]), (a, d, [b, c])];
        ways.into_iter().find(|(p, q, _)| near(*p, *q)).map(|(.., ends)| ends)
    }

    fn want_value(self, sheet: &mut Sheet<'_>) {
        let [a, b] = self.ends;
        let words = Words::new(self.says, VALUE_SIZE, Ink::Load);
        let out = back(self.force);
        let axis = unit(sub(b, a));
        let away = if dot(left_of(axis), out) > 0.0 { left_of(axis) } else { back(left_of(axis)) };
        let turn = reading_turn(axis);
        let mut places = Vec::new();
        for share in [0.5, 0.35, 0.65, 0.2, 0.8] {
            let on = between(a, b, share);
            // Along a line that slopes, level beside one that stands.
            if axis[1].abs() < 0.9 {
                places.push(Place { at: along(on, away, 0.8 + words.size / 2.0), turn });
            }
            places.push(along(on, away, 1.0 + words.reach(away)).into());
        }
        sheet.want(words, between(a, b, 0.5), places);
    }
}

/// A spread load along its member: small arrows beside it.
fn draw_row(sheet: &mut Sheet<'_>, [p, q]: [Point; 2], direction: Point, says: &str) {
    const LONG: f64 = 4.0;
    const EVERY: f64 = 5.5;
    let side = left_of(unit(sub(q, p)));
    // How much stands along a line beside the member.
    let mut crowd = |side: Point| {
        let [a, b] = [along(p, side, 2.0), along(q, side, 2.0)];
        sheet.obstacles().crowding(between(a, b, 0.1), between(a, b, 0.9), 0.8)
    };
    let up = if crowd(side) <= crowd(back(side)) { side } else { back(side) };
    let arrows = arrows_over((size(sub(q, p)) / EVERY).floor());
    for index in 0..arrows {
        let middle = along(between(p, q, (f64::from(index) + 0.5) / f64::from(arrows)), up, 2.0);
        let (tail, head) = (along(middle, direction, -LONG / 2.0), along(middle, direction, LONG / 2.0));
        sheet.line(tail, head, pen(Ink::Load, 0.3));
        draw_head(sheet, head, direction, Arrow::Load, 0.55);
    }
    let words = Words::new(says, VALUE_SIZE, Ink::Load);
    let beside = |share: f64| {
        let on = between(p, q, share);
        [(up, 3.2), (back(up), 1.2)].map(|(side, off)| along(on, side, off + words.reach(side)))
    };
    let places: Vec<Point> = [0.5, 0.3, 0.7, 0.15, 0.85].into_iter().flat_map(beside).collect();
    sheet.want(words, along(between(p, q, 0.5), up, 2.0), places);
}
