//! Loads in words: inclined ones resolved, those along members replaced by their
//! resultants or given to the joints, and the sum at each joint.
//!
//! Must not know: equilibrium, unknowns.

use crate::base::tolerances::ROUNDED;
use crate::present::document::{Align, Formula, Line, Step, Table, words};
use crate::present::results::words::arrow;
use crate::quantity::{Dimension, Number};
use crate::solution::loads::{Loads, Resolved, Spread, SpreadKind, Stated, is_given, total};
use crate::solution::part::Size;
use crate::solution::problem::Direction;
use crate::structure::Delivery;
use crate::syntax::tree::Measure;

use super::pen::{
    Page, Pen, alike, column, equation, formula, over, plain, product, say, signed, sum, table, unitless, whole,
};
use super::sums::gathered;

/// Writes how the loads came about that the sums take.
pub fn tell(pen: &Pen<'_>, loads: &Loads, page: &mut Page) {
    let start = page.blocks.len();
    page.heading(2, "Loads");
    if !loads.resolved.is_empty() {
        if loads.resolved.iter().any(|load| load.stated != Stated::Components) {
            page.say("Inclined loads are resolved into components, which replace the force in [brackets].");
        }
        page.working(loads.resolved.iter().flat_map(|load| resolved(pen, load)).collect());
    }
    let (on_beams, on_bars): (Vec<&Spread>, Vec<&Spread>) =
        loads.spread.iter().partition(|spread| spread.delivery == Delivery::AlongMember);
    if !on_beams.is_empty() {
        page.say(
            "A distributed load is replaced by its resultant at the middle of the loaded length (triangular: at one \
             third from the larger end). This applies to the reactions only, not to V and M along the member.",
        );
        page.working(on_beams.into_iter().flat_map(|spread| resultant(pen, spread)).collect());
    }
    if !on_bars.is_empty() {
        page.say("A load along a bar goes to the joints at its ends, as from a simple span.");
        page.working(handed(pen, &on_bars));
    }
    if loads.sums.values().flatten().any(|parts| parts.len() > 1) {
        page.say("Sum of the loads at each joint (→ and ↑ positive):");
        page.table(added(pen, loads));
    }
    if page.blocks.len() == start + 1 {
        page.blocks.truncate(start);
    }
}

/// One line of a resolved force: the arrow of what is found, and its place.
fn part_line(how: Vec<Formula>, found: Formula, axis: [f64; 2], sign: f64, place: &str) -> Step {
    let way = arrow(axis.map(|unit| unit * sign));
    equation(Vec::new(), vec![product(how), found], words(format!("{way}{place}")))
}

const AXES: [[f64; 2]; 2] = [[1.0, 0.0], [0.0, 1.0]];

/// The components of a load at an angle, and a factor put to any load.
fn resolved(pen: &Pen<'_>, load: &Resolved) -> Vec<Step> {
    let parts = load.force.each_ref().map(Number::to_f64);
    let [fx, fy] = parts;
    let times = load.factor.to_f64();
    let place = format!(" {}", pen.place(load.place));
    let multiplier = || factor_formula(&load.factor).into_iter();
    let found = |part: f64| pen.force((part * times).abs());
    let is_vertical = match load.stated {
        Stated::Components => {
            let acting = AXES.into_iter().zip(parts).filter(|(_, part)| *part != 0.0);
            let line = |(axis, part): ([f64; 2], f64)| {
                let how = multiplier().chain([pen.given(part.abs(), &pen.force)]).collect();
                part_line(how, found(part), axis, (part * times).signum(), &place)
            };
            return acting.map(line).collect();
        }
        Stated::FromHorizontal => false,
        Stated::FromVertical => true,
    };
    let force = pen.given(fx.hypot(fy), &pen.force);
    let (cosines, angle) = cosines(pen, &load.force, is_vertical);
    let (up, across) = (if fy > 0.0 { "up" } else { "down" }, if fx > 0.0 { "right" } else { "left" });
    let angle = angle.map_or_else(String::new, |angle| match is_vertical {
        true => format!(", {angle}° {across} of {up}"),
        false => format!(", {angle}° {} {across}", if fy > 0.0 { "above" } else { "below" }),
    });
    let struck = formula(Formula::Struck(Box::new(force.clone())));
    let label = vec![struck, say(format!(" {}{place}{angle}", arrow([fx, fy])))];
    let mut steps = vec![Step { label, sides: Vec::new(), remark: Vec::new() }];
    for ((axis, part), cosine) in AXES.into_iter().zip(parts).zip(cosines) {
        let how = multiplier().chain([force.clone(), cosine]).collect();
        steps.push(part_line(how, found(part), axis, (part * times).signum(), &place));
    }
    steps
}

/// How the two components' shares are written, and the angle in degrees where
/// it is one.
fn cosines(pen: &Pen<'_>, [x, y]: &[Number; 2], from_vertical: bool) -> ([Formula; 2], Option<String>) {
    let is_rational = x.is_exact() && y.is_exact() && x.hypot(y).is_exact();
    if let (true, Some([across @ Formula::Fraction(..), up])) = (is_rational, pen.cosines(Direction::of([x, y]))) {
        return ([across, up], None);
    }
    let (across, up) = (x.to_f64().abs(), y.to_f64().abs());
    let degrees = if from_vertical { across.atan2(up) } else { up.atan2(across) }.to_degrees();
    let digits = pen.structure.figures.angle(degrees);
    let angle = Formula::Number { digits: digits.clone(), unit: "°".to_owned() };
    let of = |name| Formula::Function(name, Box::new(angle.clone()));
    let cosines = if from_vertical { [of("sin"), of("cos")] } else { [of("cos"), of("sin")] };
    (cosines, Some(digits))
}

/// What a load along a member is called, and the size of its resultant.
fn written(pen: &Pen<'_>, spread: &Spread) -> (String, Formula) {
    let times = factor_formula(&spread.factor).into_iter();
    let on = |measure: Option<Measure>| match measure {
        None => "on",
        Some(Measure::PerRun) => "on the run of",
        Some(Measure::PerRise) => "on the rise of",
    };
    let along = |intensity: f64, length: f64| [pen.given(intensity, &pen.line_load), pen.length(length)];
    match spread.kind {
        SpreadKind::Weight { area, weight } => {
            let area = pen.given(area, &pen.unit(Dimension::AREA));
            let weight = pen.given(weight, &pen.unit(Dimension::WEIGHT));
            let length = pen.length(pen.structure.member_length(spread.member));
            ("self-weight of".to_owned(), product(times.chain([area, weight, length]).collect()))
        }
        SpreadKind::Even { intensity, length, measure } => {
            (format!("load {}", on(measure)), product(times.chain(along(intensity, length)).collect()))
        }
        SpreadKind::Triangle { intensity, length, measure } => {
            let all = product(times.chain(along(intensity, length)).collect());
            (format!("triangular load {}", on(measure)), over(all, whole(2)))
        }
    }
}

/// The lines of a share of a resultant at an angle along x and y.
fn along_axes(pen: &Pen<'_>, force: [f64; 2], share: f64, place: &str) -> Vec<Step> {
    let cosines = pen.cosines(Direction::of_floats(force));
    let size = pen.force(force[0].hypot(force[1]) * share);
    let parts = AXES.into_iter().zip(force).zip(cosines.into_iter().flatten());
    let line = |((axis, part), cosine): (([f64; 2], f64), Formula)| {
        part_line(vec![size.clone(), cosine], pen.force((part * share).abs()), axis, part.signum(), place)
    };
    parts.map(line).collect()
}

/// The resultant of a load along a beam.
fn resultant(pen: &Pen<'_>, spread: &Spread) -> Vec<Step> {
    let start = pen.joint(pen.structure.members[spread.member].start);
    let place = match spread.at {
        0.0 => format!("at {start}"),
        at => format!("{} from {start}", plain(&pen.length(at))),
    };
    let (what, how) = written(pen, spread);
    let [fx, fy] = spread.force;
    let label = words(format!("{what} {}", pen.structure.member_name(spread.member)));
    let sides = vec![how, pen.force(fx.hypot(fy))];
    let step = equation(label, sides, words(format!("{} {place}", arrow(spread.force))));
    std::iter::once(step).chain(along_axes(pen, spread.force, 1.0, "")).collect()
}

/// What bars hand to their ends. Lines that say the same of several are
/// written once.
fn handed(pen: &Pen<'_>, spread: &[&Spread]) -> Vec<Step> {
    // Each with what stands before the members' names; components stand below
    // the force they are of, and are not labelled.
    let mut lines: Vec<(String, (String, bool, Step))> = Vec::new();
    for spread in spread {
        let member = &pen.structure.members[spread.member];
        let name = pen.structure.member_name(spread.member);
        let (what, how) = written(pen, spread);
        let [fx, fy] = spread.force;
        let length = pen.structure.member_length(spread.member);
        let [near, far] = spread.shares(pen);
        let part = |share: f64, distance: f64, joint| {
            let how = over(product(vec![how.clone(), pen.length(distance)]), pen.length(length));
            (share, how, format!(" at {}", pen.joint(joint)))
        };
        let each = if (far - 0.5).abs() < ROUNDED {
            vec![(0.5, over(how.clone(), whole(2)), " at each end".to_owned())]
        } else {
            vec![part(near, length - spread.at, member.start), part(far, spread.at, member.end)]
        };
        for (share, how, place) in each {
            let sides = vec![how, pen.force(fx.hypot(fy) * share)];
            let whole = equation(Vec::new(), sides, words(format!("{}{place}", arrow(spread.force))));
            lines.push((name.clone(), (what.clone(), true, whole)));
            let parts = along_axes(pen, spread.force, share, &place).into_iter();
            lines.extend(parts.map(|part| (name.clone(), (what.clone(), false, part))));
        }
    }
    let told = alike(lines).into_iter().map(|(names, (what, is_whole, step))| match is_whole {
        true => Step { label: words(format!("{what} {}", few(&names))), ..step },
        false => step,
    });
    told.collect()
}

fn added(pen: &Pen<'_>, loads: &Loads) -> Table {
    let show = |value: f64, is_given| unitless(if is_given { pen.given(value, &pen.force) } else { pen.force(value) });
    let row = |joint, way, parts: &[Size]| {
        let mut terms: Vec<(f64, bool)> =
            parts.iter().map(|part| (part.known().unwrap_or(0.0), matches!(part, Size::Load(_)))).collect();
        terms.sort_by(|(a, _), (b, _)| b.abs().total_cmp(&a.abs()));
        let terms = terms.into_iter().map(|(value, is_given)| signed(value, show(value.abs(), is_given)));
        let terms = gathered(&terms.collect::<Vec<_>>());
        let how: Line = if parts.len() == 1 { Vec::new() } else { vec![formula(sum(terms)), say(" =")] };
        let total = formula(show(pen.quiet(total(parts)), is_given(parts)));
        (pen.joint(joint).to_owned(), [words(way), how, vec![total]])
    };
    let rows = loads.sums.iter().flat_map(|(joint, sums)| {
        let sums = ["→", "↑"].into_iter().zip(sums).filter(|(_, parts)| !parts.is_empty());
        sums.map(|(way, parts)| row(*joint, way, parts))
    });
    // Joints whose loads are alike share a row.
    let rows = alike(rows).into_iter();
    let rows = rows.map(|(names, cells)| std::iter::once(words(few(&names))).chain(cells).collect());
    let columns = vec![
        column("joint", Align::Left),
        column("", Align::Left),
        column(format!("in {}", pen.force.symbol), Align::Right),
        column("", Align::Point),
    ];
    table(columns, rows.collect())
}

/// The first names of a long list, and how many there are.
fn few(names: &[String]) -> String {
    const MOST: usize = 3;
    match names {
        [first, .., last] if names.len() > MOST => format!("{first} … {last} ({})", names.len()),
        names => names.join(", "),
    }
}

/// `−1.5 × `, before what a factor multiplies.
pub fn times(factor: &Number) -> String {
    let minus = if factor.is_negative() { "−" } else { "" };
    let size = factor_formula(factor).map_or_else(String::new, |size| format!("{} × ", plain(&size)));
    format!("{minus}{size}")
}

/// A factor of a combination; nothing for 1.
pub fn factor_formula(factor: &Number) -> Option<Formula> {
    // Its sign shows in the direction of what it multiplies.
    let size = factor.abs();
    let digits = crate::quantity::format::decimal(&size);
    (size.to_f64() != 1.0).then_some(Formula::Number { digits, unit: String::new() })
}
