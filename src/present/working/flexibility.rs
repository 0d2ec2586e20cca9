//! What the flexibility coefficients are made of: the stiffness of the sections,
//! the end rotations of a loaded simple span, and the changes of length from
//! temperature and misfits.
//!
//! The end rotations of a simple span are those of the tables of common
//! practice, such as w L³ / (24 EI).
//!
//! Must not know: redundants and the equations for them.

use crate::base::MemberId;
use crate::base::tolerances::{ROUNDED, SAME};
use crate::present::document::{Formula, Line, Sign, Step, words};
use crate::quantity::{Dimension, NamedUnit, Number, parse_unit};
use crate::solution::force_method::{Beam, Released, Shares};
use crate::statics::spans::{Piece, SpanLoad, expansion};
use crate::statics::{CaseResult, Subject};
use crate::structure::{Material, Section, Stiffness};

use super::loads::factor_formula;
use super::pen::{Pen, equation, over, power, product, signed, sum, symbol, whole};
use super::terms::{flexural, is_bare, turned};

/// Loads on one beam beyond this are not written term by term.
const MOST_LOADS: usize = 6;

/// The stiffness of each section in the coefficients.
pub fn stiffness(pen: &Pen<'_>, shares: &Shares) -> Vec<Step> {
    let mut steps = Vec::new();
    for (id, section) in pen.structure.sections.entries() {
        let is_own = |member: MemberId| pen.structure.members[member].section == Some(id);
        let material = section.material.map(|id| &pen.structure.materials[id]);
        let mut own = Vec::new();
        if shares.pulled.iter().any(|bar| is_own(bar.member)) {
            own.extend(axial(pen, section, material));
        }
        if shares.beams.iter().any(|beam| is_own(beam.member)) {
            own.extend(bending(pen, section, material));
        }
        if let Some(first) = own.first_mut() {
            first.label = words(pen.structure.names.get(section.name));
        }
        steps.extend(own);
    }
    steps
}

fn axial(pen: &Pen<'_>, section: &Section, material: Option<&Material>) -> Option<Step> {
    let name = symbol("EA", "");
    match (&section.axial_stiffness, &section.area, material.and_then(|material| material.elasticity.as_ref())) {
        (Some(Stiffness::Rigid), ..) => None,
        (Some(Stiffness::Value(value)), ..) => {
            Some(equation(Vec::new(), vec![name, pen.given(value.to_f64(), &pen.force)], Vec::new()))
        }
        (None, Some(area), Some(elasticity)) => {
            let shown = pen.given(area.to_f64() * elasticity.to_f64(), &pen.force);
            let factors = product(vec![elastic(pen, elasticity), small(pen, area, 2)]);
            Some(equation(Vec::new(), vec![name, factors, shown], Vec::new()))
        }
        _ => None,
    }
}

fn bending(pen: &Pen<'_>, section: &Section, material: Option<&Material>) -> Option<Step> {
    let name = symbol("EI", "");
    match (&section.bending_stiffness, &section.second_moment, material.and_then(|m| m.elasticity.as_ref())) {
        (Some(Stiffness::Rigid), ..) => None,
        (Some(Stiffness::Value(value)), ..) => {
            Some(equation(Vec::new(), vec![name, flexural(pen, value.to_f64())], Vec::new()))
        }
        (None, Some(second), Some(elasticity)) => {
            let shown = flexural(pen, second.to_f64() * elasticity.to_f64());
            let factors = product(vec![elastic(pen, elasticity), small(pen, second, 4)]);
            Some(equation(Vec::new(), vec![name, factors, shown], Vec::new()))
        }
        _ => None,
    }
}

/// Whether the file is in feet and pounds.
fn is_imperial(pen: &Pen<'_>) -> bool {
    ["lbf", "kip"].contains(&pen.force.symbol.as_str())
}

fn elastic(pen: &Pen<'_>, elasticity: &Number) -> Formula {
    given(pen, elasticity, if is_imperial(pen) { "ksi" } else { "GPa" }, Dimension::PRESSURE)
}

/// Areas and second moments are written in the small unit of sections.
fn small(pen: &Pen<'_>, value: &Number, power: i32) -> Formula {
    let spelling = format!("{}^{power}", if is_imperial(pen) { "in" } else { "cm" });
    given(pen, value, &spelling, if power == 2 { Dimension::AREA } else { Dimension::SECOND_MOMENT })
}

fn given(pen: &Pen<'_>, value: &Number, spelling: &str, dimension: Dimension) -> Formula {
    let unit = parse_unit(spelling).map_or_else(|_| pen.unit(dimension), |unit| NamedUnit::new(spelling, unit));
    pen.given(value.to_f64(), &unit)
}

/// The end rotations of each loaded beam as a simple span.
pub fn end_rotations(pen: &Pen<'_>, released: &Released, shares: &Shares, result: &CaseResult) -> Vec<Step> {
    shares.beams.iter().flat_map(|beam| turns_of(pen, released, beam, result)).collect()
}

fn turns_of(pen: &Pen<'_>, released: &Released, beam: &Beam, result: &CaseResult) -> Vec<Step> {
    let member = &pen.structure.members[beam.member];
    let loads = merged(result.spans.get(&beam.member).map_or(&[], Vec::as_slice), beam.length);
    let (start, end) = (pen.joint(member.start), pen.joint(member.end));
    let mut told: Vec<(Vec<Formula>, Option<Formula>, f64)> = Vec::new();
    for (column, turn) in beam.turned(released) {
        let is_far = beam.ends.first() != Some(&Some(column));
        let subscript = if is_far { format!("{end},{start}") } else { format!("{start},{end}") };
        let parts: Option<Vec<(f64, Formula)>> =
            loads.iter().map(|load| at_end(pen, load, beam.length, is_far)).collect();
        let parts = parts.filter(|parts| parts.len() <= MOST_LOADS).unwrap_or_default();
        let total: f64 = parts.iter().map(|(value, _)| value).sum();
        // The formula must give the value that was used.
        let is_same = (total / beam.stiffness - turn).abs() <= SAME * turn.abs();
        let expression = is_same.then(|| divided(pen, &parts, beam.stiffness));
        let name = symbol("φ", subscript);
        match told
            .last_mut()
            .filter(|(_, other, value)| *other == expression && (value - turn).abs() <= ROUNDED * turn.abs())
        {
            Some((names, ..)) => names.push(name),
            None => told.push((vec![name], expression, turn)),
        }
    }
    let label = words(pen.structure.member_name(beam.member));
    let steps = told.into_iter().enumerate().map(|(index, (mut sides, expression, turn))| {
        sides.extend(expression);
        let shown = turned(pen, turn.abs());
        sides.push(sum(vec![signed(turn, shown)]));
        equation(if index == 0 { label.clone() } else { Line::new() }, sides, Vec::new())
    });
    steps.collect()
}

/// Loads spread over the whole length are one.
fn merged(loads: &[SpanLoad], length: f64) -> Vec<SpanLoad> {
    let mut whole_length: Option<[f64; 2]> = None;
    let mut rest = Vec::new();
    for load in loads {
        match *load {
            SpanLoad::Spread { from, to, across: [a, b], .. }
                if from == 0.0 && (to - length).abs() <= ROUNDED * length =>
            {
                let [c, d] = whole_length.unwrap_or_default();
                whole_length = Some([a + c, b + d]);
            }
            SpanLoad::Spread { across: [0.0, 0.0], .. } | SpanLoad::Point { across: 0.0, .. } => {}
            other => rest.push(other),
        }
    }
    let spread = whole_length.filter(|across| *across != [0.0; 2]).map(|across| SpanLoad::Spread {
        from: 0.0,
        to: length,
        along: [0.0; 2],
        across,
    });
    spread.into_iter().chain(rest).collect()
}

/// One load's share of `EI φ` at one end of a simple span, newton square
/// metres, and how it is written without its sign.
fn at_end(pen: &Pen<'_>, load: &SpanLoad, length: f64, is_far: bool) -> Option<(f64, Formula)> {
    let long = || pen.length(length);
    match *load {
        SpanLoad::Spread { from, to, across: [a, b], .. } => {
            let line = |value: f64| pen.given(value.abs(), &pen.line_load);
            let is_whole = from == 0.0 && (to - length).abs() <= ROUNDED * length;
            let is_even = (a - b).abs() <= ROUNDED * a.abs();
            let cube = length.powi(3);
            if is_whole && is_even {
                return Some((-a * cube / 24.0, over(product(vec![line(a), power(long(), 3)]), whole(24))));
            }
            if is_whole {
                // w at its own end counts eight times, at the other seven.
                let [own, other] = if is_far { [b, a] } else { [a, b] };
                let terms: Vec<(Sign, Formula)> = [(8, own), (7, other)]
                    .into_iter()
                    .filter(|(_, w)| *w != 0.0)
                    .map(|(times, w)| signed(-w, product(vec![whole(times), line(w)])))
                    .collect();
                let value = -(8.0 * own + 7.0 * other) * cube / 360.0;
                let flip = |(sign, term): (Sign, Formula)| {
                    let turned = if value < 0.0 { sign.opposite() } else { sign };
                    (turned, term)
                };
                let bracket = match terms.as_slice() {
                    [_] => terms.into_iter().map(|(_, term)| term).next()?,
                    _ => Formula::Sum(terms.into_iter().map(flip).collect()),
                };
                return Some((value, over(product(vec![bracket, power(long(), 3)]), whole(360))));
            }
            if !is_even {
                return None;
            }
            // W = w s about its middle, a from this end and b from the other.
            let (spread, middle) = (to - from, from + (to - from) / 2.0);
            let beyond = if is_far { middle } else { length - middle };
            let value =
                -a * spread * beyond * (length * length - beyond * beyond - spread * spread / 4.0) / (6.0 * length);
            let square = |value: f64| power(pen.length(value), 2);
            let bracket = Formula::Sum(vec![
                (Sign::Plus, power(long(), 2)),
                (Sign::Minus, square(beyond)),
                (Sign::Minus, over(square(spread), whole(4))),
            ]);
            let above = product(vec![line(a), pen.length(spread), pen.length(beyond), bracket]);
            Some((value, over(above, product(vec![whole(6), long()]))))
        }
        SpanLoad::Point { at, across, .. } => {
            let beyond = if is_far { at } else { length - at };
            let value = -across * at * (length - at) * (length + beyond) / (6.0 * length);
            let bracket = Formula::Sum(vec![(Sign::Plus, long()), (Sign::Plus, pen.length(beyond))]);
            let legs = [at, length - at].map(|leg| pen.length(leg));
            let above = std::iter::once(pen.given(across.abs(), &pen.force)).chain(legs).chain([bracket]);
            Some((value, over(product(above.collect()), product(vec![whole(6), long()]))))
        }
        SpanLoad::Couple { at, moment } => {
            let beyond = if is_far { at } else { length - at };
            let bracket = length * length - 3.0 * beyond * beyond;
            let value = if is_far { -moment } else { moment } * bracket / (6.0 * length);
            let squares = vec![
                (Sign::Plus, power(long(), 2)),
                (Sign::Minus, product(vec![whole(3), power(pen.length(beyond), 2)])),
            ];
            let squares = if bracket < 0.0 {
                let [(_, first), (_, last)] = <[_; 2]>::try_from(squares).ok()?;
                vec![(Sign::Plus, last), (Sign::Minus, first)]
            } else {
                squares
            };
            let above = product(vec![pen.given(moment.abs(), &pen.moment), Formula::Sum(squares)]);
            Some((value, over(above, product(vec![whole(6), long()]))))
        }
    }
}

/// `EI φ` over EI: each term has the stiffness in its own denominator.
fn divided(pen: &Pen<'_>, parts: &[(f64, Formula)], stiffness: f64) -> Formula {
    let shown = flexural(pen, stiffness);
    let over = |part: &Formula| match part {
        Formula::Fraction(above, below) => {
            let below = match &**below {
                Formula::Product(factors) => product(factors.iter().cloned().chain([shown.clone()]).collect()),
                other => product(vec![other.clone(), shown.clone()]),
            };
            Formula::Fraction(above.clone(), Box::new(below))
        }
        other => Formula::Fraction(Box::new(other.clone()), Box::new(shown.clone())),
    };
    let terms = parts.iter().filter(|(value, _)| *value != 0.0).map(|(value, part)| signed(*value, over(part)));
    sum(terms.collect())
}

/// The changes of length, from temperature and misfits, of members in the coefficients.
pub fn lengthened(pen: &Pen<'_>, shares: &Shares, subject: Subject) -> Vec<Step> {
    let mut steps = Vec::new();
    for bar in shares.pulled.iter().filter(|bar| bar.free != 0.0) {
        let mut terms = Vec::new();
        for (case, factor) in subject.factors(pen.structure) {
            for piece in Piece::all(pen.structure, case) {
                if let Piece::Longer { member, by, rise } = piece
                    && member == bar.member
                {
                    terms.push(lengthening(pen, member, by, rise, &factor));
                }
            }
        }
        let shown = pen.result(bar.free.abs(), pen.deflection());
        let expression = sum(terms);
        let mut sides = vec![symbol("ΔL", "")];
        let is_given = is_bare(&expression);
        sides.push(expression);
        if !is_given {
            sides.push(sum(vec![signed(bar.free, shown)]));
        }
        steps.push(equation(words(pen.structure.member_name(bar.member)), sides, Vec::new()));
    }
    steps
}

/// The change of a member's length from a misfit or a rise of temperature.
fn lengthening(pen: &Pen<'_>, member: MemberId, by: f64, rise: Option<f64>, factor: &Number) -> (Sign, Formula) {
    let mut factors: Vec<Formula> = factor_formula(factor).into_iter().collect();
    match rise {
        Some(rise) => {
            let (moved, long) = (pen.deflection(), &pen.length);
            let scale = long.unit.factor.to_f64() / moved.unit.factor.to_f64();
            let expansion = expansion(pen.structure, member);
            let digits = pen.structure.figures.given(expansion * scale);
            factors.push(Formula::Number { digits, unit: format!("{}/({}·K)", moved.symbol, long.symbol) });
            factors.push(Formula::Number { digits: pen.structure.figures.given(rise.abs()), unit: "K".to_owned() });
            factors.push(pen.length(pen.structure.member_length(member)));
        }
        None => factors.push(pen.given(by.abs(), pen.deflection())),
    }
    signed(by * factor.to_f64(), product(factors))
}
