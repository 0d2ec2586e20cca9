//! The truss with its spaces lettered, and below it the force diagram with a
//! point for each space.
//!
//! Must not know: how the points are found.

use crate::base::IdVec;
use crate::check::words::units;
use crate::quantity::{Dimension, format};

use super::Telling;
use super::arrows::{Arrow, draw_arrow};
use super::deflected::around;
use super::dimensions::{Note, draw_notes, round_below};
use super::inks::Ink;
use super::names::want_name;
use super::picture::{Bounds, NAME_SIZE, NOTE_SIZE, Need, Picture, Stroke, VALUE_SIZE, Words};
use super::plane::{
    NO_SIZE, Point, along, at_angle, back, between, dot, left_of, mean, segments_cross, size, sub, unit,
};
use super::sheet::{Order, Sheet, dashed, fit, fit_within, pen};
use super::spaces::{ForceLine, Item, Outer, OuterId, Reciprocal, Space, SpaceId};
use super::symbols::{draw_hinges, draw_members};

/// The largest force diagram, millimetres.
const WIDE: f64 = 120.0;
const HIGH: f64 = 105.0;

const TENSION: Stroke = pen(Ink::Tension, 0.45);
const COMPRESSION: Stroke = dashed(Ink::Compression, 0.45);

pub fn draw_reciprocal(order: &Order<'_>, figure: &Reciprocal) -> Picture {
    if order.telling == Telling::InWords {
        return Picture::default();
    }
    // The force diagram needs the larger part of the page.
    let above = fit_within(order, [150.0, 95.0], &|sheet| {
        draw_members(sheet);
        draw_hinges(sheet);
        let ends: IdVec<OuterId, Point> = figure.outer.iter().map(|outer| draw_outer(sheet, outer)).collect();
        for space in &figure.spaces {
            want_letter(sheet, space, figure, &ends);
        }
        for joint in sheet.joints() {
            want_name(sheet, joint, Need::IfRoom);
        }
        draw_notes(sheet, &[Note::Words(names_told(figure).to_owned())]);
    });
    let below = fit(order, &|sheet| draw_force_diagram(sheet, figure));
    Picture::stacked(vec![above, below])
}

/// What the names in the spaces are.
fn names_told(figure: &Reciprocal) -> &'static str {
    if figure.spaces.iter().all(Space::has_number) {
        "the truss: spaces numbered, outside first"
    } else {
        "the truss: spaces lettered outside, numbered inside"
    }
}

/// An outer force where its line stands in the notation; gives the arrow's outer end.
fn draw_outer(sheet: &mut Sheet<'_>, outer: &Outer) -> Point {
    let at = sheet.at(outer.joint);
    let out = at_angle(outer.angle);
    let direction = unit([outer.force[0], -outer.force[1]]);
    let arriving = dot(direction, out) < 0.0;
    let along_line = if arriving { back(direction) } else { direction };
    // Where members lie on its line it stands beside them, in its corner.
    let stands_aside = dot(along_line, out) < 0.999;
    let (from, to) = if stands_aside { (-5.5, 5.5) } else { (1.2, 12.0) };
    let base = along(at, out, if stands_aside { 3.0 } else { 0.0 });
    let (near, far) = (along(base, along_line, from), along(base, along_line, to));
    let (tail, head) = if arriving { (far, near) } else { (near, far) };
    draw_arrow(sheet, tail, head, outer.arrow());
    far
}

impl Outer {
    const fn arrow(&self) -> Arrow {
        if self.is_reaction { Arrow::Reaction } else { Arrow::Load }
    }
}

/// The letter of a space, somewhere within it.
fn want_letter(sheet: &mut Sheet<'_>, space: &Space, figure: &Reciprocal, ends: &IdVec<OuterId, Point>) {
    let words = Words::bold(space.name.clone(), NAME_SIZE, Ink::Diagram);
    let corners: Vec<Point> = space.corners.iter().map(|(joint, _)| sheet.at(*joint)).collect();
    let mut places: Vec<Point> = Vec::new();
    if space.is_outer {
        // Between the arrows that bound it, then outward from its corners.
        let bounding: Vec<Point> = figure
            .lines
            .iter()
            .filter(|line| line.between.iter().any(|own| figure.spaces[*own].name == space.name))
            .filter_map(|line| match line.item {
                Item::Outer(id) => Some(ends[id]),
                Item::Member(_) => None,
            })
            .collect();
        if let [a, b] = bounding.as_slice() {
            places.push(between(*a, *b, 0.5));
        }
        for far in [9.0, 12.0, 15.0, 19.0] {
            for (joint, angle) in &space.corners {
                places.push(along(sheet.at(*joint), at_angle(*angle), far));
            }
        }
    } else if !corners.is_empty() {
        let middle = mean(corners.iter().copied());
        places.push(middle);
        for share in [0.3, 0.5, 0.7] {
            places.extend(corners.iter().map(|corner| between(middle, *corner, share)));
        }
    }
    // Some places lie beyond a member or an arrow, in another space.
    let walls: Vec<[Point; 2]> = sheet
        .members()
        .map(|member| sheet.ends(member))
        .chain(figure.outer.iter().zip(ends).map(|(outer, end)| [sheet.at(outer.joint), *end]))
        .collect();
    let starts: Vec<Point> =
        space.corners.iter().map(|(joint, angle)| along(sheet.at(*joint), at_angle(*angle), 1.5)).collect();
    places.retain(|place| starts.iter().any(|start| !walls.iter().any(|wall| segments_cross([*start, *place], *wall))));
    let anchor = places.first().or(starts.first()).copied().unwrap_or([0.0; 2]);
    sheet.want(words, anchor, places);
}

fn draw_force_diagram(sheet: &mut Sheet<'_>, figure: &Reciprocal) {
    let all = Bounds::around(figure.spaces.iter().map(|space| space.at), 0.0);
    let scale = (WIDE / all.width().max(NO_SIZE)).min(HIGH / all.height().max(NO_SIZE));
    if !scale.is_finite() {
        return;
    }
    let point = |space: SpaceId| {
        let [x, y] = figure.spaces[space].at;
        [(x - all.left) * scale, (all.bottom - y) * scale]
    };
    let ends = figure.lines.iter().map(|line| (line, line.between.map(point)));
    let long: Vec<(&ForceLine, [Point; 2])> = ends.filter(|(_, [a, b])| size(sub(*b, *a)) >= 0.05).collect();
    for (line, [a, b]) in &long {
        if let Item::Member(_) = line.item {
            sheet.line(*a, *b, if line.value > 0.0 { TENSION } else { COMPRESSION });
        }
    }
    for (line, [a, b]) in long {
        if let Item::Outer(id) = line.item {
            // Loads and reactions run to and fro on one line: each keeps to its left.
            let side = left_of(unit(sub(b, a)));
            draw_arrow(sheet, along(a, side, 0.6), along(b, side, 0.6), figure.outer[id].arrow());
        }
    }
    // Points at one place share their letters.
    let mut written: Vec<(Point, Vec<&str>)> = Vec::new();
    for (id, space) in figure.spaces.entries() {
        let (at, name) = (point(id), &space.name);
        match written.iter_mut().find(|(known, _)| size(sub(*known, at)) < 0.3) {
            Some((_, names)) => names.push(name),
            None => written.push((at, vec![name])),
        }
    }
    for (at, mut names) in written {
        // As they are counted: 3 before 10.
        names.sort_by(|a, b| a.len().cmp(&b.len()).then(a.cmp(b)));
        let names = names.join(", ");
        sheet.circle(at, 0.5, None, Some(Ink::Line));
        let words = Words::bold(names, VALUE_SIZE, Ink::Line);
        let places = around(at, &words);
        sheet.want(words, at, places);
    }
    sheet.place_labels();
    draw_force_scale(sheet, scale);
}

/// A scale bar of forces, and what the lines mean.
fn draw_force_scale(sheet: &mut Sheet<'_>, scale: f64) {
    let bounds = sheet.bounds();
    let unit_of = units(sheet.structure).display_unit(Dimension::FORCE);
    let per_unit = scale / unit_of.convert(1.0);
    let round = round_below(42.0 / per_unit);
    let long = round * per_unit;
    let (x, y) = (bounds.left, bounds.bottom + 7.0);
    sheet.line([x, y], [x + long, y], pen(Ink::Faint, 0.3));
    for end in [x, x + long] {
        sheet.line([end, y - 0.9], [end, y + 0.9], pen(Ink::Faint, 0.18));
    }
    let mut at = x + long + 1.5;
    let write = |sheet: &mut Sheet<'_>, text: String, at: f64| {
        let words = Words::new(text, NOTE_SIZE, Ink::Faint);
        let width = words.width();
        sheet.write(words, [at + width / 2.0, y]);
        at + width
    };
    at = write(sheet, format!("{} {}", format::trimmed(round, 3), unit_of.symbol), at) + 7.0;
    for (stroke, word) in [(TENSION, "tension"), (COMPRESSION, "compression")] {
        sheet.line([at, y], [at + 8.0, y], stroke);
        at = write(sheet, word.to_owned(), at + 9.5) + 6.0;
    }
}
