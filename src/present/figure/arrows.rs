//! Arrows, combs of spread loads and arcs of couples, each with its value.
//! Loads have filled heads, reactions open ones with a stroke through the
//! shaft, as is common practice; motions are dashed.
//!
//! Must not know: where the values come from.

use rustc_hash::FxHashMap;

use crate::base::MemberId;
use crate::base::tolerances::SAME;
use crate::quantity::Dimension;
use crate::statics::spans::{self, SpanLoad};

use super::inks::Ink;
use super::labels::Obstacles;
use super::loads::{JointLoad, Loads, quantity};
use super::picture::{Form, Need, Place, Stroke, VALUE_SIZE, Words};
use super::plane::{ONE_DIRECTION, Point, along, at_angle, back, dot, left_of, reading_turn, size, sub, unit};
use super::sheet::{Room, Sheet, pen};

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
}

/// The length of an arrow for a force beside the largest one.
pub fn length_for(force: f64, largest: f64) -> f64 {
    if largest > 0.0 { SHORTEST + LONGER * (force.abs() / largest).min(1.0) } else { SHORTEST }
}

/// Draws an arrow from tail to head.
pub fn draw_arrow(sheet: &mut Sheet<'_>, tail: Point, head: Point, arrow: Arrow) {
    let direction = unit(sub(head, tail));
    let ink = arrow.ink();
    let form = if arrow == Arrow::Motion { Form::Dashed } else { Form::Solid };
    sheet.line(tail, along(head, direction, -HEAD * 0.8), Stroke { ink, width: 0.45, form });
    draw_head(sheet, head, direction, arrow, 1.0);
    if arrow == Arrow::Reaction {
        let middle = along(tail, sub(head, tail), 0.38);
        let slash = unit([direction[0] + left_of(direction)[0] * 1.6, direction[1] + left_of(direction)[1] * 1.6]);
        sheet.line(along(middle, slash, -1.1), along(middle, slash, 1.1), pen(ink, 0.3));
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
    if sheet.room == Room::Little || sheet.arrows > MOST_SIDED {
        // No side is free where so much stands so close.
        let (tail, head) = (along(at, direction, -length), along(at, direction, -0.4));
        draw_arrow(sheet, tail, head, arrow);
        if words.need == Need::Always {
            want_value(sheet, tail, head, at, words);
        }
        return;
    }
    let (tail, head) = free_arrow(sheet.obstacles(), at, direction, length, gap);
    draw_arrow(sheet, tail, head, arrow);
    want_value(sheet, tail, head, at, words);
}

/// The value of an arrow: beyond its tail, beside its shaft, beyond its head.
fn want_value(sheet: &mut Sheet<'_>, tail: Point, head: Point, at: Point, words: Words) {
    let direction = unit(sub(head, tail));
    let sides = [left_of(direction), back(left_of(direction))];
    let head_is_far = size(sub(head, at)) > size(sub(tail, at));
    let (far, outward) = if head_is_far { (head, direction) } else { (tail, back(direction)) };
    let beside = |share: f64| {
        let on = along(far, sub(at, far), share);
        sides.map(|side| along(on, side, 1.7 + words.reach(side)))
    };
    let beyond = along(far, outward, 0.6 + words.reach(outward));
    let corners = sides.map(|side| along(beyond, side, 0.6 * words.reach(side)));
    let places = std::iter::once(along(far, outward, 0.8 + words.reach(outward)))
        .chain([0.0, 0.3, 0.55, -0.3].into_iter().flat_map(beside))
        .chain(corners);
    let places = places.map(Place::level).collect();
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
            let middle = along(near, sub(far, near), 0.3);
            let crowding = obstacles.crowding(middle, along(far, sub(far, near), 0.25), 1.2);
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
    let form = if arrow == Arrow::Motion { Form::Dashed } else { Form::Solid };
    let shaft = points.get(..points.len().saturating_sub(2)).unwrap_or(&points);
    sheet.polyline(shaft, Stroke { ink: arrow.ink(), width: 0.45, form });
    let (before, tip) = (angle(0.9), angle(1.0));
    draw_head(sheet, tip, unit(sub(tip, before)), arrow, 0.9);
    let ring = |degrees: f64| {
        let direction = at_angle(degrees.to_radians());
        Place::level(along(at, direction, RADIUS + 1.4 + words.reach(direction)))
    };
    let places = [90.0, 45.0, 135.0, 0.0, 180.0, 20.0, 160.0, 70.0, 110.0].map(ring).to_vec();
    sheet.want(words, at, places);
}

/// Of more loads than this, all have arrows and only those with room values.
const MOST_VALUES: usize = 24;

/// All loads with their values.
pub fn draw_loads(sheet: &mut Sheet<'_>, loads: &Loads) {
    let structure = sheet.structure;
    let spread = loads.spans.values().flatten().map(intensity).fold(0.0, f64::max);
    let mut runs = EvenRuns::default();
    for (member, on_it) in &loads.spans {
        for load in on_it.iter().filter(|load| matches!(load, SpanLoad::Spread { .. })) {
            draw_comb(sheet, loads, (*member, load), spread, &mut runs);
        }
    }
    runs.runs.into_iter().flatten().for_each(|run| run.want_value(sheet));
    let largest = largest_force(loads);
    let crowded = loads.joints.len() > MOST_VALUES;
    for (member, on_it) in &loads.spans {
        for load in on_it {
            draw_on_member(sheet, *member, load, largest);
        }
    }
    // Of many equal loads one at least says what they are.
    let mut said = false;
    for JointLoad { joint, forces, couple } in &loads.joints {
        for force in forces {
            let is_largest = size(*force) >= largest * (1.0 - SAME);
            let must = !crowded || (is_largest && !std::mem::replace(&mut said, true));
            let need = if must { Need::Always } else { Need::IfRoom };
            let words = Words { need, ..force_words(sheet, *force) };
            let length = length_for(size(*force), largest);
            let clear = if *couple == 0.0 { Clear::Joint } else { Clear::Couple };
            draw_on_joint(sheet, sheet.at(*joint), unit([force[0], -force[1]]), length, clear, Arrow::Load, words);
        }
        if *couple != 0.0 {
            let words = Words::new(quantity(structure, *couple, Dimension::MOMENT), VALUE_SIZE, Ink::Load);
            draw_couple(sheet, sheet.at(*joint), *couple, Arrow::Load, words);
        }
    }
}

/// A load's size, and for one neither upright nor level its acute angle from
/// the horizontal.
fn force_words(sheet: &Sheet<'_>, [x, y]: [f64; 2]) -> Words {
    let size = quantity(sheet.structure, x.hypot(y), Dimension::FORCE);
    /// Degrees from the axes within which a force is upright or level.
    const UPRIGHT: f64 = 1e-7;
    let angle = y.abs().atan2(x.abs()).to_degrees();
    let sloping = angle > UPRIGHT && angle < 90.0 - UPRIGHT;
    let text = if sloping { format!("{size}, {}°", sheet.structure.figures.given(angle)) } else { size };
    Words::new(text, VALUE_SIZE, Ink::Load)
}

/// The largest single force among the loads.
pub fn largest_force(loads: &Loads) -> f64 {
    let on_members = loads.spans.values().flatten().map(|load| match *load {
        SpanLoad::Point { along, across, .. } => along.hypot(across),
        _ => 0.0,
    });
    loads.joints.iter().flat_map(|load| &load.forces).map(|force| size(*force)).chain(on_members).fold(0.0, f64::max)
}

fn draw_on_member(sheet: &mut Sheet<'_>, member: MemberId, load: &SpanLoad, largest: f64) {
    let structure = sheet.structure;
    let length = structure.member_length(member);
    let [a, b] = sheet.ends(member);
    match *load {
        SpanLoad::Point { at, along: lengthwise, across } => {
            let [x, y] = spans::global(structure, member, [lengthwise, across]);
            let words = force_words(sheet, [x, y]);
            let place = along(a, sub(b, a), at / length);
            draw_on_joint(
                sheet,
                place,
                unit([x, -y]),
                length_for(x.hypot(y), largest),
                Clear::Joint,
                Arrow::Load,
                words,
            );
        }
        SpanLoad::Couple { at, moment } => {
            let words = Words::new(quantity(structure, moment, Dimension::MOMENT), VALUE_SIZE, Ink::Load);
            draw_couple(sheet, along(a, sub(b, a), at / length), moment, Arrow::Load, words);
        }
        SpanLoad::Spread { .. } => {}
    }
}

/// The largest intensity of a spread load, newtons a metre.
fn intensity(load: &SpanLoad) -> f64 {
    match *load {
        SpanLoad::Spread { along: [a0, a1], across: [c0, c1], .. } => a0.hypot(c0).max(a1.hypot(c1)),
        _ => 0.0,
    }
}

/// A spread load as a row of arrows under the line of its intensity.
fn draw_comb(
    sheet: &mut Sheet<'_>,
    loads: &Loads,
    (member, load): (MemberId, &SpanLoad),
    largest: f64,
    runs: &mut EvenRuns,
) {
    const HIGHEST: f64 = 8.5;
    const LOWEST: f64 = 3.2;
    const EVERY: f64 = 4.2;
    let SpanLoad::Spread { from, to, along: [a0, a1], across: [c0, c1] } = *load else { return };
    let structure = sheet.structure;
    let length = structure.member_length(member);
    let own = intensity(load);
    if own <= 0.0 || length <= 0.0 {
        return;
    }
    let height = LOWEST + (HIGHEST - LOWEST) * (own / largest).min(1.0);
    let [start, end] = sheet.ends(member);
    let (p, q) = (along(start, sub(end, start), from / length), along(start, sub(end, start), to / length));
    // On paper, of length 1 for the largest intensity.
    let vector = |lengthwise: f64, across: f64| {
        let [x, y] = spans::global(structure, member, [lengthwise, across]);
        [x / own, -y / own]
    };
    let (v, w) = (vector(a0, c0), vector(a1, c1));
    let says = |lengthwise: f64, across: f64| {
        loads.line_load(structure, member, spans::global(structure, member, [lengthwise, across]))
    };
    let (strong, most) = if size(v) >= size(w) { (v, says(a0, c0)) } else { (w, says(a1, c1)) };
    let axis = unit(sub(end, start));
    if dot(unit(strong), left_of(axis)).abs() < 0.2 {
        draw_row(sheet, [p, q], unit(strong), most);
        return;
    }
    let tail = |t: f64| {
        let on = along(p, sub(q, p), t);
        let force = along(v, sub(w, v), t);
        (along(on, unit(force), -0.7), along(along(on, unit(force), -0.7), force, -height))
    };
    let stretch = size(sub(q, p));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let arrows = ((stretch / EVERY).round().clamp(1.0, 60.0)) as u32;
    let thin = pen(Ink::Load, 0.22);
    sheet.line(tail(0.0).1, tail(1.0).1, pen(Ink::Load, 0.32));
    for index in 0..=arrows {
        let (head, tail) = tail(f64::from(index) / f64::from(arrows));
        let long = size(sub(tail, head));
        if long > 0.3 {
            sheet.line(tail, head, thin);
        }
        if long > 1.6 {
            draw_head(sheet, head, unit(sub(head, tail)), Arrow::Load, 0.5);
        }
    }
    // Nothing is written between the arrows.
    for index in 0..arrows {
        let share = |index: u32| f64::from(index) / f64::from(arrows);
        sheet.keep_clear([tail(share(index)).0, tail(share(index + 1)).1]);
    }
    if size(sub(v, w)) < ONE_DIRECTION {
        runs.join(EvenRun { ends: [tail(0.0).1, tail(1.0).1], force: v, value: own, says: most });
        return;
    }
    for (share, [lengthwise, across], inward) in [(0.0, [a0, c0], 1.0), (1.0, [a1, c1], -1.0)] {
        if lengthwise.hypot(across) > SAME * own {
            let words = Words::new(says(lengthwise, across), VALUE_SIZE, Ink::Load);
            let top = tail(share).1;
            let out = unit(back(strong));
            let axis = unit(sub(q, p));
            let mut places = Vec::new();
            for shift in [0.0, 0.6, 1.0, -0.6, -1.0] {
                let beyond = along(along(top, out, 1.0 + words.reach(out)), axis, inward * shift * words.reach(axis));
                places.extend([beyond, along(beyond, out, 2.5)]);
            }
            let outward = along(top, axis, -inward * (1.0 + words.reach(axis)));
            places.push(along(outward, out, -1.0));
            sheet.want(words, top, places.into_iter().map(Place::level).collect());
        }
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
        let same = alike && (self.value - other.value).abs() <= ONE_DIRECTION * self.value.abs();
        let axis = |[a, b]: [Point; 2]| unit(sub(b, a));
        if !same || dot(axis(self.ends), left_of(axis(other.ends))).abs() > ONE_DIRECTION {
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
            let on = along(a, sub(b, a), share);
            // Along a line that slopes, level beside one that stands.
            if axis[1].abs() < 0.9 {
                places.push(Place { at: along(on, away, 0.8 + words.size / 2.0), turn });
            }
            places.push(Place::level(along(on, away, 1.0 + words.reach(away))));
        }
        sheet.want(words, along(a, sub(b, a), 0.5), places);
    }
}

/// A spread load along its member: small arrows beside it.
fn draw_row(sheet: &mut Sheet<'_>, [p, q]: [Point; 2], direction: Point, says: String) {
    const LONG: f64 = 4.0;
    const EVERY: f64 = 5.5;
    let stretch = size(sub(q, p));
    let axis = unit(sub(q, p));
    let [one, other] = [left_of(axis), back(left_of(axis))];
    // How much stands along a line beside the member.
    let mut crowd = |side: Point| {
        let [a, b] = [along(p, side, 2.0), along(q, side, 2.0)];
        sheet.obstacles().crowding(along(a, sub(b, a), 0.1), along(a, sub(b, a), 0.9), 0.8)
    };
    let up = if crowd(one) <= crowd(other) { one } else { other };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let arrows = ((stretch / EVERY).floor().clamp(1.0, 60.0)) as u32;
    for index in 0..arrows {
        let middle = along(along(p, sub(q, p), (f64::from(index) + 0.5) / f64::from(arrows)), up, 2.0);
        let (tail, head) = (along(middle, direction, -LONG / 2.0), along(middle, direction, LONG / 2.0));
        sheet.line(tail, head, pen(Ink::Load, 0.3));
        draw_head(sheet, head, direction, Arrow::Load, 0.55);
    }
    let words = Words::new(says, VALUE_SIZE, Ink::Load);
    let places = [0.5, 0.3, 0.7, 0.15, 0.85]
        .into_iter()
        .flat_map(|share| [(share, up, 3.2), (share, back(up), 1.2)])
        .map(|(share, side, off)| Place::level(along(along(p, sub(q, p), share), side, off + words.reach(side))))
        .collect();
    sheet.want(words, along(along(p, sub(q, p), 0.5), up, 2.0), places);
}
