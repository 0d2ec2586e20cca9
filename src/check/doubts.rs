//! What the notation allows and a careful reader would ask about: angles that
//! look like the other unit, a force beside its own components, two systems of
//! units, more figures than anybody measures, members almost on each other.
//!
//! Must not know: forces.

mod senses;

pub use senses::minus_and_sense;

use crate::base::tolerances;
use crate::base::{JointId, MemberId, Origin, Span};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::format;
use crate::statics::equilibrium::Points;
use crate::structure::{Project, Structure};
use crate::syntax::tree::{ExprKind, StatementKind, Tree};

use super::words;

/// Findings of one kind that are listed one by one.
const MOST_TOLD: usize = 8;

/// Components that agree with a force to this share are its own.
const SAME: f64 = 0.005;

/// Members that leave a joint closer than this, in degrees, are asked about.
const NARROW_DEGREES: f64 = 3.0;

/// Larger structures are not searched for narrow angles.
const MOST_MEMBERS: usize = 200_000;

/// Significant figures of a load that nobody wonders at.
const MOST_FIGURES: usize = 6;

pub fn check_doubts(project: &Project, structure: &Structure, points: &Points) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for tree in &project.trees {
        let text = project.files.text(tree.file);
        found.extend(doubtful_angles(tree, text));
        found.extend(mixed_units(tree, text));
        found.extend(excess_figures(tree, text));
    }
    found.extend(forces_with_components(structure));
    found.extend(narrow_angles(structure, points));
    found
}

/// Literals of a file with a unit: the number, the unit, the place of both.
fn literals<'t>(tree: &'t Tree, text: &'t str) -> impl Iterator<Item = (&'t str, &'t str, Origin)> {
    tree.exprs.iter().filter_map(move |expr| match expr.kind {
        ExprKind::Number { number, unit: Some(unit) } => {
            Some((number.text(text), unit.text(text), Origin::new(tree.file, number.to(unit))))
        }
        _ => None,
    })
}

/// `30 rad`, which is many turns; `0.5236°` or `@ 0.52°`, which is π/6 in radians.
fn doubtful_angles(tree: &Tree, text: &str) -> Vec<Diagnostic> {
    use std::f64::consts::{PI, TAU};
    let told = literals(tree, text).filter_map(|(number, unit, at)| {
        let value: f64 = number.replace('_', "").parse().ok()?;
        let shown = format::trimmed(value, 6);
        if unit == "rad" && value > TAU {
            let turns = format::trimmed(value / TAU, 3);
            return Some(
                Diagnostic::new(Slug::DoubtfulAngle, format!("`{shown} rad` looks like an angle in degrees"))
                    .label(at, format!("{turns} turns"))
                    .why(format!(
                        "A whole turn is 2π = 6.283 rad; {shown}° would be {} rad.",
                        format::trimmed(value.to_radians(), 4)
                    ))
                    .help(format!("write `{shown}°` if degrees are meant")),
            );
        }
        let decimals = number.split('.').nth(1).map_or(0, str::len);
        if !matches!(unit, "°" | "deg") || decimals < 2 || !(0.1..=TAU + 0.001).contains(&value) {
            return None;
        }
        // As far as it is written it is a multiple of 15°, or of 5° where it is written out farther.
        let half_unit = if decimals < 4 { 0.5 * 10_f64.powi(-i32::try_from(decimals).unwrap_or(4)) } else { 0.0006 };
        let step = if decimals < 3 { PI / 12.0 } else { PI / 36.0 };
        let steps = (value / step).round();
        if steps < 1.0 || (value - steps * step).abs() > half_unit * 1.2 {
            return None;
        }
        // A support may well turn by half a degree; no force is resolved at that.
        let before = text.get(..at.span.start as usize).unwrap_or("").trim_end();
        if decimals < 3 && !["@", "along", "pushes"].iter().any(|sign| before.ends_with(sign)) {
            return None;
        }
        let degrees = format::trimmed((steps * step).to_degrees(), 6);
        Some(
            Diagnostic::new(Slug::DoubtfulAngle, format!("`{number}{unit}` looks like an angle in radians"))
                .label(at, format!("{number} rad is {degrees}°"))
                .why(format!("As written it is {} of a right angle.", format::trimmed(value / 90.0, 3)))
                .help(format!("write `{degrees}°` or `{number} rad` if that is meant")),
        )
    });
    told.take(MOST_TOLD).collect()
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum System {
    Metric,
    Customary,
}

impl System {
    fn words(self, unit: &str) -> String {
        match self {
            System::Metric => format!("`{unit}` is a metric unit"),
            System::Customary => format!("`{unit}` is a unit of feet and pounds"),
        }
    }
}

/// The system a unit belongs to by its first word that belongs to one.
fn system(unit: &str) -> Option<System> {
    const METRIC: [&str; 18] = [
        "m", "dm", "cm", "mm", "um", "km", "N", "daN", "kN", "MN", "Pa", "kPa", "MPa", "GPa", "Nm", "kNm", "MNm", "kgf",
    ];
    const CUSTOMARY: [&str; 16] = [
        "in", "ft", "yd", "mi", "lb", "lbf", "kip", "ozf", "plf", "klf", "psi", "ksi", "psf", "ksf", "tonf_US", "ft_us",
    ];
    unit.split(|c: char| !(c.is_alphanumeric() || c == '_')).find_map(|word| {
        if METRIC.contains(&word) {
            Some(System::Metric)
        } else {
            CUSTOMARY.contains(&word).then_some(System::Customary)
        }
    })
}

/// One file with feet and with metres.
fn mixed_units(tree: &Tree, text: &str) -> Option<Diagnostic> {
    let stated = tree.statements.iter().find_map(|statement| match &statement.kind {
        StatementKind::Units(units) => Some(units.length),
        _ => None,
    });
    let first = stated.map(|span| (system(span.text(text)), Origin::new(tree.file, span), span.text(text)));
    let mut seen: Option<(System, Origin, &str)> = first.and_then(|(system, at, unit)| Some((system?, at, unit)));
    for (_, unit, at) in literals(tree, text) {
        let Some(system) = system(unit) else { continue };
        match seen {
            Some((other, first, first_unit)) if other != system => {
                return Some(
                    Diagnostic::new(Slug::MixedUnits, format!("the file mixes `{first_unit}` and `{unit}`"))
                        .label(at, system.words(unit))
                        .label(first, other.words(first_unit))
                        .why("Every quantity is converted exactly, but two systems in one file invite slips.")
                        .help(format!("keep to one system, or `allow {}`", Slug::MixedUnits.word())),
                );
            }
            Some(_) => {}
            None => seen = Some((system, at, unit)),
        }
    }
    None
}

/// `load C: 12.345678 kN down`
fn excess_figures(tree: &Tree, text: &str) -> Vec<Diagnostic> {
    let loads = tree.every_statement().filter(|statement| matches!(statement.kind, StatementKind::Load(_)));
    let found = loads.filter_map(|statement| {
        let (at, figures) = long_number(statement.span, text)?;
        let number = at.text(text);
        Some(
            Diagnostic::new(Slug::ExcessFigures, format!("the load `{number}` is given to {figures} figures"))
                .label(Origin::new(tree.file, at), "more figures than are ever known")
                .why("Loads are seldom known to more than three figures.")
                .help("round it, or write the product it comes from: `1.25 kN/m * 2.7 m`"),
        )
    });
    found.take(MOST_TOLD).collect()
}

/// The first number of a statement with too many figures, and how many.
fn long_number(statement: Span, text: &str) -> Option<(Span, usize)> {
    let written = statement.text(text);
    let bytes = written.as_bytes();
    let mut at = 0;
    while at < bytes.len() {
        let starts = bytes.get(at).is_some_and(u8::is_ascii_digit);
        let follows_word = at > 0 && bytes.get(at - 1).is_some_and(|b| b.is_ascii_alphanumeric() || *b == b'_');
        let length = bytes.get(at..)?.iter().take_while(|b| b.is_ascii_digit() || matches!(b, b'.' | b'_')).count();
        if starts && !follows_word {
            let number = written.get(at..at + length)?;
            let digits: String = number.chars().filter(char::is_ascii_digit).collect();
            let figures = digits.trim_start_matches('0').trim_end_matches('0').len();
            if figures > MOST_FIGURES {
                let start = statement.start + u32::try_from(at).ok()?;
                return Some((Span::new(start, start + u32::try_from(length).ok()?), figures));
            }
        }
        at += length.max(1);
    }
    None
}

/// A force and both its components on one joint in one case: resolved, and not
/// crossed out.
fn forces_with_components(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for case in &structure.cases {
        let mut forces: Vec<(JointId, [f64; 2], Origin)> = Vec::new();
        for load in &case.loads {
            if let Some((joint, [x, y])) = load.kind.force_on_joint() {
                forces.push((joint, [x.to_f64(), y.to_f64()], load.origin));
            }
        }
        forces.sort_by_key(|(joint, _, origin)| (*joint, *origin));
        for here in forces.chunk_by(|a, b| a.0 == b.0).filter(|here| here.len() > 2) {
            let near = |a: f64, b: f64| (a - b).abs() <= SAME * b.abs();
            let whole = here.iter().take(64).find_map(|(joint, [x, y], at)| {
                if *x == 0.0 || *y == 0.0 {
                    return None;
                }
                let across = here.iter().find(|(_, force, _)| near(force[0], *x) && force[1] == 0.0)?;
                let upright = here.iter().find(|(_, force, _)| force[0] == 0.0 && near(force[1], *y))?;
                Some((*joint, *at, across.2, upright.2))
            });
            let Some((joint, at, across, upright)) = whole.filter(|_| found.len() < MOST_TOLD) else { continue };
            let name = structure.joint_name(joint);
            found.push(
                Diagnostic::new(
                    Slug::LoadAndComponents,
                    format!("joint {name} carries a force and both its components"),
                )
                .label(at, "this force")
                .label(across, "its horizontal component")
                .label(upright, "its vertical component")
                .why("Loads add, so the force acts twice. A force that has been resolved is crossed out.")
                .help("keep the force, or its two components"),
            );
        }
    }
    found
}

/// Two members that leave a joint almost in one direction.
fn narrow_angles(structure: &Structure, points: &Points) -> Option<Diagnostic> {
    if structure.members.len() > MOST_MEMBERS {
        return None;
    }
    let mut leaving: Vec<(JointId, f64, MemberId)> = Vec::with_capacity(2 * structure.members.len());
    for (id, member) in structure.members.entries() {
        let [x, y] = points.difference(member.start, member.end);
        leaving.push((member.start, y.atan2(x), id));
        leaving.push((member.end, (-y).atan2(-x), id));
    }
    leaving.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut narrow: Vec<(f64, JointId, MemberId, MemberId)> = Vec::new();
    for here in leaving.chunk_by(|a, b| a.0 == b.0) {
        let around = here.iter().zip(here.iter().cycle().skip(1));
        for ((joint, a, first), (_, b, second)) in around.filter(|_| here.len() > 1) {
            let angle = (b - a).rem_euclid(std::f64::consts::TAU).to_degrees();
            // Members exactly on each other pass a joint without using it, which is told as that.
            if angle > tolerances::SAME && angle < NARROW_DEGREES {
                narrow.push((angle, *joint, *first, *second));
            }
        }
    }
    narrow.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (angle, joint, first, second) = narrow.first().copied()?;
    let (a, b) = (structure.member_name(first), structure.member_name(second));
    let at = |id: MemberId| structure.members[id].origin;
    let degrees = format::trimmed(angle, 3);
    let mut told = Diagnostic::new(
        Slug::NarrowAngle,
        format!("members {a} and {b} leave joint {} at {degrees}° to each other", structure.joint_name(joint)),
    )
    .label(at(first), format!("{a} lies close along {b}"))
    .label(at(second), format!("{b} lies here"))
    .why("Members at a narrow angle carry large forces against each other, and are hard to join.");
    if narrow.len() > 1 {
        told = told.why(format!("There are {} such pairs; this is the narrowest.", words::count(narrow.len())));
    }
    Some(told.help(format!("look whether both are meant, or `allow {}`", Slug::NarrowAngle.word())))
}
