//! The force polygon of every joint of a truss: its forces tip to tail,
//! taken clockwise round the joint.
//!
//! Must not know: how forces are found.

use crate::base::JointId;
use crate::base::tolerances::TO_THE_EYE;
use crate::quantity::Dimension;
use crate::quantity::format::Column;
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;

use super::forces::beside;
use super::inks::Ink;
use super::loads::Loads;
use super::picture::{Bounds, NAME_SIZE, NOTE_SIZE, Picture, VALUE_SIZE, Words};
use super::plane::{Point, along, between, left_of, size, sub, unit};
use super::sheet::{Sheet, WIDEST, canvas, dashed, pen};

/// Trusses of more joints have no page of polygons.
pub const MOST_JOINTS: usize = 40;
/// The longer side of a polygon, millimetres.
const SIDE: f64 = 30.0;

/// A force on a joint.
struct Edge {
    name: String,
    /// Newtons, x and y up.
    force: [f64; 2],
    kind: EdgeKind,
    /// The direction from the joint in which it stands, radians.
    angle: f64,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum EdgeKind {
    Tension,
    Compression,
    Load,
    Reaction,
}

impl EdgeKind {
    const fn ink(self) -> Ink {
        match self {
            EdgeKind::Tension => Ink::Tension,
            EdgeKind::Compression => Ink::Compression,
            EdgeKind::Load => Ink::Load,
            EdgeKind::Reaction => Ink::Reaction,
        }
    }
}

pub fn draw_polygons(structure: &Structure, loads: &Loads, result: &CaseResult) -> Picture {
    let unit_of = crate::check::words::units(structure).display_unit(Dimension::FORCE);
    let most = result.axial.iter().fold(0.0_f64, |most, force| most.max(force.abs()));
    let column = Column::of(&[unit_of.convert(most)], structure.figures, unit_of.convert(result.largest));
    let show = |newtons: f64| column.cell(unit_of.convert(newtons));
    let mut cells: Vec<Picture> = Vec::new();
    for joint in structure.joints.ids() {
        let edges = edges(structure, loads, result, joint);
        if !edges.is_empty() {
            cells.push(draw_cell(structure, joint, &edges, &show));
        }
    }
    let mut page = shelves(cells);
    let note = format!("forces in {}, clockwise round each joint; each polygon to its own scale", unit_of.symbol);
    let words = Words::new(note, NOTE_SIZE, Ink::Faint);
    let mut sheet = canvas(structure);
    let at = [3.0 + words.width() / 2.0, page.height + 2.0];
    page.width = page.width.max(words.width() + 6.0);
    sheet.write(words, at);
    page.marks.append(&mut sheet.marks);
    page.height += 5.0;
    page
}

/// The forces on a joint, clockwise from its left.
fn edges(structure: &Structure, loads: &Loads, result: &CaseResult, joint: JointId) -> Vec<Edge> {
    let noise = ZERO_SHARE * result.largest;
    let mut edges: Vec<Edge> = Vec::new();
    for (id, member) in structure.members.entries() {
        let axial = result.axial[id];
        if (member.start != joint && member.end != joint) || axial.abs() <= noise {
            continue;
        }
        let [dx, dy] = structure.member_vector(id);
        let sign = if member.start == joint { 1.0 } else { -1.0 };
        let [x, y] = unit([dx * sign, dy * sign]);
        edges.push(Edge {
            name: crate::present::text::one_line(&structure.member_name(id), 20),
            force: [axial * x, axial * y],
            kind: if axial > 0.0 { EdgeKind::Tension } else { EdgeKind::Compression },
            angle: y.atan2(x),
        });
    }
    let mut outer = |force: [f64; 2], kind: EdgeKind| {
        if size(force) > noise {
            let name = if kind == EdgeKind::Load { "load" } else { "reaction" }.to_owned();
            edges.push(Edge { name, force, kind, angle: (-force[1]).atan2(-force[0]) });
        }
    };
    for load in loads.joints.iter().filter(|load| load.joint == joint) {
        load.forces.iter().for_each(|force| outer(*force, EdgeKind::Load));
    }
    for (support, reaction) in structure.supports.iter().zip(&result.reactions) {
        if support.joint == joint {
            outer(reaction.force(), EdgeKind::Reaction);
        }
    }
    edges.sort_by(|a, b| b.angle.total_cmp(&a.angle));
    edges
}

fn draw_cell(structure: &Structure, joint: JointId, edges: &[Edge], show: &dyn Fn(f64) -> String) -> Picture {
    let mut corners: Vec<Point> = vec![[0.0, 0.0]];
    for edge in edges {
        let [x, y] = corners.last().copied().unwrap_or([0.0; 2]);
        corners.push([x + edge.force[0], y - edge.force[1]]);
    }
    let bounds = Bounds::around(corners.iter().copied(), 0.0);
    let scale = SIDE / bounds.width().max(bounds.height()).max(f64::MIN_POSITIVE);
    let flat = bounds.width().min(bounds.height()) * scale < 0.5 || is_in_one_line(edges);
    let mut sheet = canvas(structure);
    for (index, (edge, pair)) in edges.iter().zip(corners.windows(2)).enumerate() {
        let [a, b] = pair else { continue };
        let (mut a, mut b) = ([a[0] * scale, a[1] * scale], [b[0] * scale, b[1] * scale]);
        if flat {
            // All in one line: beside each other, or one would hide the other.
            #[allow(clippy::cast_precision_loss)]
            let aside = index as f64 * 6.0;
            let axis = edges.iter().map(|edge| unit([edge.force[0], -edge.force[1]])).next().unwrap_or([1.0, 0.0]);
            (a, b) = (along(a, left_of(axis), aside), along(b, left_of(axis), aside));
        }
        draw_edge(&mut sheet, a, b, edge.kind);
        let value = show(size(edge.force));
        let letter = match edge.kind {
            EdgeKind::Tension => " T",
            EdgeKind::Compression => " C",
            EdgeKind::Load | EdgeKind::Reaction => "",
        };
        let words = Words::new(format!("{} {value}{letter}", edge.name), VALUE_SIZE - 0.3, edge.kind.ink());
        let places = beside([a, b], 1.6, &words, 0.0);
        sheet.want(words, between(a, b, 0.5), places);
    }
    sheet.place_labels();
    let drawn = sheet.bounds();
    let name = super::names::short_name(structure, joint, 16);
    let words = Words::bold(format!("Joint {name}"), NAME_SIZE, Ink::Line);
    let width = words.width();
    sheet.write(words, [drawn.left + width / 2.0, drawn.top - 4.0]);
    Picture { tally: sheet.tally, ..Picture::around(sheet.marks, 3.0) }
}

fn is_in_one_line(edges: &[Edge]) -> bool {
    let Some([x, y]) = edges.first().map(|edge| unit(edge.force)) else { return true };
    edges.iter().all(|edge| {
        let [a, b] = unit(edge.force);
        (a * y - b * x).abs() < TO_THE_EYE
    })
}

fn draw_edge(sheet: &mut Sheet<'_>, a: Point, b: Point, kind: EdgeKind) {
    let ink = kind.ink();
    sheet.line(a, b, if kind == EdgeKind::Compression { dashed(ink, 0.45) } else { pen(ink, 0.45) });
    let direction = unit(sub(b, a));
    let head = size(sub(b, a)).min(2.4);
    // At the tip, so that the way round is seen.
    let base = along(b, direction, -head);
    let side = left_of(direction);
    let corners = [b, along(base, side, head * 0.36), along(base, side, -head * 0.36)];
    let (width, fill) = if kind == EdgeKind::Reaction { (0.3, Ink::Paper) } else { (0.1, ink) };
    sheet.polygon(&corners, Some(pen(ink, width)), Some(fill));
}

/// Pictures side by side in rows as wide as the page.
fn shelves(cells: Vec<Picture>) -> Picture {
    let mut page = Picture::default();
    let (mut x, mut y, mut high) = (0.0_f64, 0.0_f64, 0.0_f64);
    for cell in cells {
        if x > 0.0 && x + cell.width > WIDEST {
            (x, y, high) = (0.0, y + high, 0.0);
        }
        let corner = [x, y];
        x += cell.width;
        high = high.max(cell.height);
        page.take(cell, corner);
    }
    page
}
