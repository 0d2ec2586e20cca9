//! Axial force, shear and moment of beams: joint by joint to the beginning of
//! each beam, then stretch by stretch in x, with the end values, the places
//! where V is zero and the moment there.
//!
//! Must not know: how reactions and redundants were found.

use std::collections::BTreeSet;

use crate::base::{IdVec, JointId, MemberId};
use crate::present::document::{Align, Block, Formula, Inline, Line, Sign, Step, Table, TableColumn, words};
use crate::present::results::text::beams::{InsideRow, has_even_axial, inside_rows, noise_moment};
use crate::quantity::{Dimension, NamedUnit};
use crate::statics::diagram::Stretch;
use crate::statics::equilibrium::{End, hinged_joints, holds_moment};
use crate::statics::{CaseResult, Diagram, Section};
use crate::syntax::tree::MemberKind;

use super::loads::{Loads, Where, unitless};
use super::part::{Acting, Kind, Part, Size, Sum};
use super::pen::{Direction, Pen, Saying, equation, formula, product, say, signed, sum, symbol, zero};

/// Frames of more beams than this get a table in place of every expression.
pub const MOST_BEAMS: usize = 24;

/// Tells N, V and M of every beam.
pub fn tell(pen: &Pen<'_>, loads: &Loads, result: &CaseResult, blocks: &mut Vec<Block>) {
    let beams: Vec<MemberId> = (0..pen.structure.members.len())
        .map(MemberId::new)
        .filter(|id| pen.structure.member(*id).is_some_and(|member| member.kind == MemberKind::Beam))
        .collect();
    blocks.push(Block::Heading { level: 2, text: words("Axial force, shear and moment") });
    if beams.len() > MOST_BEAMS {
        blocks.push(Block::Paragraph(words(format!(
            "With {} beams the expressions would fill a book; their values at both ends are in the table.",
            beams.len()
        ))));
        blocks.push(Block::Table(table(pen, result, &beams)));
        return;
    }
    let axes = words(
        "x runs along the beam from its first joint, and starts anew at every load. N is positive in tension; V is the sum of the \
         forces before x to the left of the beam (for a beam named from left to right: upward); M is positive with tension on \
         the right-hand side looking along it (so named: sagging). The slope of M, term by term, \
         dM/dx, is V: a check on both.",
    );
    if pen.saying == Saying::First {
        blocks.push(Block::Paragraph(axes));
    }
    let mut known: BTreeSet<(MemberId, bool)> = BTreeSet::new();
    let mut left: BTreeSet<MemberId> = beams.iter().copied().collect();
    let hinged = hinged_joints(pen.structure);
    loop {
        let next = left.iter().copied().find_map(|beam| {
            [false, true].into_iter().find(|end| is_next(pen, &known, beam, *end)).map(|end| (beam, Some(end)))
        });
        let Some((beam, end)) = next.or_else(|| left.first().map(|beam| (*beam, None))) else { break };
        left.remove(&beam);
        one(pen, loads, result, &hinged, beam, end, blocks);
        known.extend([(beam, false), (beam, true)]);
    }
    if beams.len() > 1 {
        blocks.push(Block::Table(table(pen, result, &beams)));
    }
}

/// Whether all other beams at this end are known.
fn is_next(pen: &Pen<'_>, known: &BTreeSet<(MemberId, bool)>, beam: MemberId, end: bool) -> bool {
    let Some(joint) = joint_of(pen, beam, end) else { return false };
    ends_at(pen, joint).into_iter().filter(|(other, _)| *other != beam).all(|other| known.contains(&other))
}

fn joint_of(pen: &Pen<'_>, beam: MemberId, end: bool) -> Option<JointId> {
    pen.structure.member(beam).map(|member| if end { member.end } else { member.start })
}

/// The beam ends at a joint; true for the far end.
fn ends_at(pen: &Pen<'_>, joint: JointId) -> Vec<(MemberId, bool)> {
    let mut found = Vec::new();
    for (index, member) in pen.structure.members.iter().enumerate() {
        if member.kind == MemberKind::Beam {
            if member.start == joint {
                found.push((MemberId::new(index), false));
            }
            if member.end == joint {
                found.push((MemberId::new(index), true));
            }
        }
    }
    found
}

/// Everything on a joint but one beam: loads, reactions, bars, other beams.
fn on_joint(pen: &Pen<'_>, loads: &Loads, result: &CaseResult, joint: JointId, without: MemberId) -> Part {
    let mut part = Part::default();
    let at = pen.at(joint);
    let place = String::new();
    let mut act = |direction: Direction, size: Size| {
        if pen.quiet(size.known().unwrap_or(0.0)) != 0.0 {
            part.forces.push(Acting { size, kind: Kind::Force(direction), at, place: place.clone() });
        }
    };
    let mut couples: Vec<Size> = Vec::new();
    for (own, acting) in &loads.each {
        if *own == Where::Joint(joint) {
            match &acting.kind {
                Kind::Force(direction) => act(direction.clone(), acting.size),
                Kind::Couple => couples.push(acting.size),
            }
        }
    }
    let mut force = |unit: [f64; 2], cosines: Option<[Formula; 2]>, size: f64| {
        act(Direction { unit, cosines }, Size::Found(size));
    };
    if let Some((id, _)) = pen.structure.support_at(joint)
        && let Some(reaction) = result.reactions.get(id.index())
    {
        force([1.0, 0.0], None, reaction.fx.unwrap_or(0.0));
        force([0.0, 1.0], None, reaction.fy.unwrap_or(0.0));
        couples.extend(reaction.m.map(Size::Found));
    }
    for (index, member) in pen.structure.members.iter().enumerate() {
        let id = MemberId::new(index);
        if id == without || (member.start != joint && member.end != joint) {
            continue;
        }
        let other = if member.start == joint { member.end } else { member.start };
        let outward = pen.between(joint, other);
        if member.kind != MemberKind::Beam {
            force(outward.unit, outward.cosines.clone(), result.axial.get(index).copied().unwrap_or(0.0));
            continue;
        }
        let diagram = result.diagram(pen.structure, id);
        let along = pen.between(member.start, member.end);
        let [ux, uy] = along.unit;
        let left = Direction { unit: [-uy, ux], cosines: along.cosines.clone().map(|[cosine, sine]| [sine, cosine]) };
        let (section, sign) = if member.start == joint { (diagram.start(), 1.0) } else { (diagram.end(), -1.0) };
        force(along.unit, along.cosines.clone(), sign * section.axial);
        force(left.unit, left.cosines, -sign * section.shear);
        couples.push(Size::Found(sign * section.moment));
    }
    for size in couples {
        if pen.quiet_moment(size.known().unwrap_or(0.0)) != 0.0 {
            part.forces.push(Acting { size, kind: Kind::Couple, at, place: String::new() });
        }
    }
    part
}

fn one(
    pen: &Pen<'_>,
    loads: &Loads,
    result: &CaseResult,
    hinged: &IdVec<JointId, bool>,
    beam: MemberId,
    end: Option<bool>,
    blocks: &mut Vec<Block>,
) {
    let Some(member) = pen.structure.member(beam) else { return };
    let diagram = result.diagram(pen.structure, beam);
    let name = pen.structure.member_name(beam);
    let (first, last) = (pen.joint(member.start), pen.joint(member.end));
    blocks.push(Block::Heading {
        level: 3,
        text: vec![say(format!("Beam {name}, ")), formula(pen.length(diagram.length())), say(" long")],
    });
    if is_idle(pen, &diagram) {
        let sides = vec![symbol("N", ""), symbol("V", ""), symbol("M", ""), zero()];
        blocks.push(Block::Working(vec![equation(Vec::new(), sides, words("all along: nothing acts on it"))]));
        return;
    }
    let mut steps = Vec::new();
    match end {
        Some(is_far) => {
            let joint = if is_far { member.end } else { member.start };
            let place = if is_far { "L" } else { "0" };
            let part = on_joint(pen, loads, result, joint, beam);
            let along = pen.between(member.start, member.end);
            let [ux, uy] = along.unit;
            // The cut's forces balance the joint: N and M of opposite sense at the two ends, V too.
            let side = if is_far { 1.0 } else { -1.0 };
            let section = if is_far { diagram.end() } else { diagram.start() };
            let sums = [
                ("N", Sum::Along([ux * side, uy * side], zero()), pen.force(section.axial)),
                ("V", Sum::Along([uy * side, -ux * side], zero()), pen.force(section.shear)),
            ];
            for (letter, what, shown) in sums {
                let balance = part.balance(pen, &[], &what);
                steps.push(line(&format!("{letter}({place})"), balance.terms, shown, Vec::new()));
            }
            let couples: Vec<(Sign, Formula)> = part
                .forces
                .iter()
                .filter(|acting| matches!(acting.kind, Kind::Couple))
                .filter_map(|acting| {
                    let size = acting.size.known()? * side;
                    let is_given = matches!(acting.size, Size::Load(_));
                    let shown = if is_given { pen.given(size.abs(), &pen.moment) } else { pen.moment(size.abs()) };
                    Some(signed(size, shown))
                })
                .collect();
            let which = if is_far { End::Finish } else { End::Start };
            let why = if holds_moment(member, which, hinged) { Vec::new() } else { words("a hinge passes no moment") };
            steps.push(line(&format!("M({place})"), couples, pen.moment(section.moment), why));
            if let Some(step) = steps.first_mut() {
                step.label = words(format!("at {}", pen.joint(joint)));
            }
            if is_far {
                steps.extend(backwards(pen, &diagram));
            }
        }
        None => {
            let section = diagram.start();
            for (letter, shown) in [
                ("N(0)", pen.force(section.axial)),
                ("V(0)", pen.force(section.shear)),
                ("M(0)", pen.moment(section.moment)),
            ] {
                steps.push(line(letter, Vec::new(), shown, Vec::new()));
            }
            if let Some(step) = steps.first_mut() {
                step.label = words(format!("at {first}"));
                step.remark = words("from the solution of the equations: no end of this beam is free of others");
            }
        }
    }
    blocks.push(Block::Working(steps));
    let count = diagram.stretches.len();
    for (index, stretch) in diagram.stretches.iter().enumerate() {
        let from = if index == 0 { first.to_owned() } else { super::loads::plain(&pen.length(stretch.from)) };
        let to = if index + 1 == count { last.to_owned() } else { super::loads::plain(&pen.length(stretch.to)) };
        if count > 1 {
            blocks.push(Block::Paragraph(words(format!("From {from} to {to}, x from {from}:"))));
        }
        blocks.push(Block::Working(stretch_steps(pen, stretch)));
    }
}

/// Whether a beam carries nothing anywhere.
fn is_idle(pen: &Pen<'_>, diagram: &Diagram) -> bool {
    diagram.stretches.iter().all(|stretch| {
        let (start, end) = (stretch.at(0.0), stretch.at(stretch.to - stretch.from));
        let is_level = stretch.shear.iter().skip(1).chain(stretch.axial.iter().skip(1)).all(|rate| *rate == 0.0);
        is_level
            && [start, end].iter().all(|section| {
                pen.quiet(section.axial) == 0.0
                    && pen.quiet(section.shear) == 0.0
                    && pen.quiet_moment(section.moment) == 0.0
            })
    })
}

/// The values at the beginning from those at the end: the loads between taken
/// off.
fn backwards(pen: &Pen<'_>, diagram: &Diagram) -> Vec<Step> {
    let (start, end) = (diagram.start(), diagram.end());
    let length = diagram.length();
    let Section { axial: n0, shear: v0, moment: m0 } = start;
    let difference = |from: f64, to: f64| pen.quiet(to - from);
    let mut steps = Vec::new();
    let along = difference(n0, end.axial);
    let across = difference(v0, end.shear);
    let less = |value: f64, shown: Formula| {
        (value != 0.0).then_some((if value > 0.0 { Sign::Minus } else { Sign::Plus }, shown))
    };
    let own = |value: f64, shown: Formula| {
        (value != 0.0).then_some((if value < 0.0 { Sign::Minus } else { Sign::Plus }, shown))
    };
    let n: Vec<(Sign, Formula)> = own(pen.quiet(end.axial), pen.force(end.axial.abs()))
        .into_iter()
        .chain(less(along, pen.force(along.abs())))
        .collect();
    steps.push(line(
        "N(0)",
        n,
        pen.force(n0),
        if along == 0.0 { Vec::new() } else { words("the load along the beam taken off") },
    ));
    let v: Vec<(Sign, Formula)> = own(pen.quiet(end.shear), pen.force(end.shear.abs()))
        .into_iter()
        .chain(less(across, pen.force(across.abs())))
        .collect();
    steps.push(line(
        "V(0)",
        v,
        pen.force(v0),
        if across == 0.0 { Vec::new() } else { words("the load across the beam taken off") },
    ));
    // M(0) = M(L) − V(0) L − moment of the loads about the end.
    let of_loads = pen.quiet_moment(end.moment - m0 - v0 * length);
    let mut m: Vec<(Sign, Formula)> =
        own(pen.quiet_moment(end.moment), pen.moment(end.moment.abs())).into_iter().collect();
    if pen.quiet(v0) != 0.0 {
        let sign = if v0 > 0.0 { Sign::Minus } else { Sign::Plus };
        m.push((sign, product(vec![pen.force(v0.abs()), pen.length(length)])));
    }
    m.extend(less(of_loads, pen.moment(of_loads.abs())));
    let remark = if of_loads == 0.0 { Vec::new() } else { words("with the moment of the loads about the far end") };
    steps.push(line("M(0)", m, pen.moment(m0), remark));
    steps
}

/// `V(0) = 3 kN − 2 kN = 1 kN`; a sum of one term is not written twice.
fn line(letter: &str, terms: Vec<(Sign, Formula)>, shown: Formula, remark: Line) -> Step {
    let mut sides = vec![symbol(letter, "")];
    let is_bare = matches!(terms.as_slice(), [(_, Formula::Number { .. })] | []);
    if !is_bare {
        sides.push(sum(terms));
    }
    sides.push(shown);
    equation(Vec::new(), sides, remark)
}

/// A polynomial in x as it is written; powers that vanish are left out.
fn polynomial(coefficients: &[f64], units: &[&NamedUnit], pen: &Pen<'_>, span: f64, at: Option<Formula>) -> Formula {
    let sizes = coefficients.iter().zip(0_i32..).map(|(value, power)| (value * span.powi(power)).abs());
    let noise = 1e-9 * sizes.fold(0.0, f64::max);
    let mut terms = Vec::new();
    for ((value, unit), power) in coefficients.iter().zip(units).zip(0_i32..) {
        let reach = (value * span.powi(power)).abs();
        let is_noise = match power {
            0 if unit.unit.dimension == Dimension::MOMENT => pen.quiet_moment(*value) == 0.0,
            0 => pen.quiet(*value) == 0.0,
            _ if unit.unit.dimension == Dimension::FORCE && pen.quiet(*value) == 0.0 => true,
            _ => reach <= noise,
        };
        if is_noise || reach == 0.0 {
            continue;
        }
        let x = at.clone().unwrap_or_else(|| symbol("x", ""));
        // Intensities are given; forces and moments are results.
        let is_result = unit.unit.dimension == Dimension::FORCE || unit.unit.dimension == Dimension::MOMENT;
        let mut factors = vec![if is_result { pen.result(value.abs(), unit) } else { pen.given(value.abs(), unit) }];
        match power {
            0 => {}
            1 => factors.push(x),
            power => factors.push(Formula::Power(Box::new(x), power)),
        }
        terms.push((if *value < 0.0 { Sign::Minus } else { Sign::Plus }, product(factors)));
    }
    sum(terms)
}

fn stretch_steps(pen: &Pen<'_>, stretch: &Stretch) -> Vec<Step> {
    let pressure = pen.unit(Dimension::PRESSURE);
    let force_units = [&pen.force, &pen.line_load, &pressure];
    let moment_units = [&pen.moment, &pen.force, &pen.line_load, &pressure];
    let span = stretch.to - stretch.from;
    let force = |curve: &[f64], at| polynomial(curve, &force_units, pen, span, at);
    let moment = |at| polynomial(&stretch.moment, &moment_units, pen, span, at);
    let far = || Some(pen.length(span));
    let mut steps = vec![
        equation(Vec::new(), vec![symbol("N", ""), force(&stretch.axial, None)], Vec::new()),
        equation(Vec::new(), vec![symbol("V", ""), force(&stretch.shear, None)], Vec::new()),
        equation(Vec::new(), vec![symbol("M", ""), moment(None)], Vec::new()),
    ];
    let end = stretch.at(span);
    let place = format!("x = {}", super::loads::plain(&pen.length(span)));
    let mut at_end = Vec::new();
    let is_constant = |curve: &[f64]| force(curve, None) == force(curve, far());
    if !is_constant(&stretch.axial) {
        at_end.push(value_line("N", force(&stretch.axial, far()), pen.force(end.axial)));
    }
    if !is_constant(&stretch.shear) {
        at_end.push(value_line("V", force(&stretch.shear, far()), pen.force(end.shear)));
    }
    if moment(None) != moment(far()) {
        at_end.push(value_line("M", moment(far()), pen.moment(end.moment)));
    }
    if let Some(first) = at_end.first_mut() {
        first.label = words(place);
    }
    steps.extend(at_end);
    // V = 0 inside the stretch: the moment has its extreme there.
    let is_inside = |at: &f64| *at > 1e-9 * span && *at < (1.0 - 1e-9) * span;
    let roots = crate::statics::polynomial::roots(&stretch.shear, span);
    let shear_is_zero = stretch.shear.iter().all(|value| pen.quiet(*value) == 0.0);
    for root in roots.into_iter().filter(is_inside).filter(|_| !shear_is_zero) {
        let place = place_of(pen, root);
        let [v0, w0, bend] = stretch.shear;
        let mut sides = vec![symbol("x", "")];
        if bend == 0.0 {
            let above = pen.force(v0.abs());
            let below = pen.given(w0.abs(), &pen.line_load);
            sides.push(Formula::Fraction(Box::new(above), Box::new(below)));
        }
        sides.push(place);
        steps.push(equation(words("V = 0"), sides, Vec::new()));
        let mut line = value_line("M", moment(Some(place_of(pen, root))), pen.moment(stretch.at(root).moment));
        line.remark = words("extreme");
        steps.push(line);
    }
    steps
}

/// A computed place on a beam.
fn place_of(pen: &Pen<'_>, at: f64) -> Formula {
    pen.result(at, &pen.length)
}

/// `M = 2 kN × 3 m = 6 kN·m`; a value alone stands for itself.
fn value_line(letter: &str, inserted: Formula, shown: Formula) -> Step {
    let mut sides = vec![symbol(letter, "")];
    if inserted != shown && !matches!(inserted, Formula::Number { .. }) {
        sides.push(inserted);
    }
    sides.push(shown);
    equation(Vec::new(), sides, Vec::new())
}

/// The values at both ends of every beam, and the extreme moments between.
fn table(pen: &Pen<'_>, result: &CaseResult, beams: &[MemberId]) -> Table {
    let column = |heading: String, align| TableColumn { heading: words(heading), align };
    let cell = |value: Formula| -> Line { vec![Inline::Formula(unitless(value))] };
    let diagrams: Vec<Diagram> = beams.iter().map(|beam| result.diagram(pen.structure, *beam)).collect();
    let is_even = has_even_axial(&diagrams, result.largest);
    let mut rows = Vec::new();
    for InsideRow { beam, is_first, extreme } in inside_rows(&diagrams, noise_moment(pen.structure, result)) {
        let (Some(id), Some(diagram)) = (beams.get(beam), diagrams.get(beam)) else { continue };
        let (start, end) = (diagram.start(), diagram.end());
        let mut row = vec![Vec::new(); if is_even { 6 } else { 7 }];
        if is_first {
            row = vec![words(pen.structure.member_name(*id)), cell(pen.force(start.axial))];
            row.extend((!is_even).then(|| cell(pen.force(end.axial))));
            row.extend([
                cell(pen.force(start.shear)),
                cell(pen.force(end.shear)),
                cell(pen.moment(start.moment)),
                cell(pen.moment(end.moment)),
            ]);
        }
        match extreme {
            Some(extreme) => row.extend([cell(pen.moment(extreme.value)), cell(pen.result(extreme.at, &pen.length))]),
            None => row.extend([words("–"), Vec::new()]),
        }
        rows.push(row);
    }
    let (force, moment, length) = (&pen.force.symbol, &pen.moment.symbol, &pen.length.symbol);
    let axial: &[&str] = if is_even { &["N"] } else { &["N start", "N end"] };
    let mut columns = vec![column("beam".into(), Align::Left)];
    columns.extend(axial.iter().map(|name| column(format!("{name} {force}"), Align::Point)));
    columns.extend(["V start", "V end"].map(|name| column(format!("{name} {force}"), Align::Point)));
    columns.extend(["M start", "M end", "M inside"].map(|name| column(format!("{name} {moment}"), Align::Point)));
    columns.push(column(format!("at {length}"), Align::Point));
    Table { caption: words("All beams:"), columns, rows, foot: Vec::new() }
}
