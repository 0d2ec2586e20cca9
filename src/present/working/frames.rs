//! Axial force, shear and moment of beams: joint by joint to the beginning of
//! each beam, then stretch by stretch in x, with the end values, the places
//! where V is zero and the moment there.
//!
//! Must not know: how reactions and redundants were found.

use crate::base::tolerances::SAME;
use crate::base::{IdVec, JointId, MemberId};
use crate::present::document::{Block, Formula, Line, Sign, Step, words};
use crate::present::results::beams::beams;
use crate::present::results::tables::Tables;
use crate::quantity::{Dimension, NamedUnit};
use crate::solution::beams::{in_order, on_joint};
use crate::solution::loads::Loads;
use crate::solution::part::{Balance, Kind, Sum, Unknowns};
use crate::statics::diagram::Stretch;
use crate::statics::equilibrium::{hinged_joints, holds_moment};
use crate::statics::{CaseResult, Diagram, End, Section};

use super::pen::{
    Conventions, Page, Pen, equation, formula, over, plain, power, product, say, signed, sum, symbol, zero,
};
use super::sums::{Signed, Written, size};

/// Frames of more beams than this get a table in place of every expression.
pub const MOST_BEAMS: usize = 24;

/// Writes N, V and M of every beam.
pub fn tell(pen: &Pen<'_>, loads: &Loads, result: &CaseResult, page: &mut Page) {
    let beams = beams(pen.structure);
    page.heading(2, "Axial force, shear and moment");
    if beams.len() > MOST_BEAMS {
        page.say(format!(
            "The expressions of {} beams are not written out; the table has the values at both ends.",
            beams.len()
        ));
        page.results(Tables::of(pen.structure).beams(result));
        return;
    }
    if pen.conventions == Conventions::ToState {
        page.say(
            "x is measured along the beam from its first joint, and again from every load. N is positive in tension. V is the sum of \
             the transverse forces on the part before x, positive to the left looking along the beam (for a beam named from left \
             to right: upward). M is positive with tension on the right looking along the beam (so named: sagging). The \
             slope of M, dM/dx, is V: a check on both.",
        );
    }
    let hinged = hinged_joints(pen.structure);
    for (beam, end) in in_order(pen, &beams) {
        one(pen, loads, result, &hinged, beam, end, page);
    }
    if beams.len() > 1 {
        page.results(Tables::of(pen.structure).beams(result));
    }
}

fn one(
    pen: &Pen<'_>,
    loads: &Loads,
    result: &CaseResult,
    hinged: &IdVec<JointId, bool>,
    beam: MemberId,
    end: Option<End>,
    page: &mut Page,
) {
    let member = &pen.structure.members[beam];
    let diagram = result.diagram(pen.structure, beam);
    let name = pen.structure.member_name(beam);
    let (first, last) = (pen.joint(member.start), pen.joint(member.end));
    let text = vec![say(format!("Beam {name}, ")), formula(pen.length(diagram.length())), say(" long")];
    page.blocks.push(Block::Heading { level: 3, text });
    if is_idle(pen, &diagram) {
        let sides = vec![symbol("N", ""), symbol("V", ""), symbol("M", ""), zero()];
        page.working(vec![equation(Vec::new(), sides, words("throughout"))]);
        return;
    }
    let is_far = end == Some(End::Finish);
    let (joint, place, section, side) = match is_far {
        true => (member.end, "L", diagram.end(), 1.0),
        false => (member.start, "0", diagram.start(), -1.0),
    };
    let part = end.map(|_| on_joint(pen, loads, result, joint, beam)).unwrap_or_default();
    let [ux, uy] = pen.between(member.start, member.end).unit;
    // The cut's forces balance the joint: N and M of opposite sense at the two ends, V too.
    let forces = |sum: Sum| {
        let unknowns = &Unknowns::default();
        Written { pen, unknowns, balance: &Balance::of(pen, unknowns, &part, sum) }.all()
    };
    let couples = part.iter().filter(|acting| matches!(acting.kind, Kind::Couple)).map(|acting| {
        let moment = acting.size.known().unwrap_or(0.0) * side;
        signed(moment, size(pen, acting, moment))
    });
    let passes = end.is_none_or(|end| holds_moment(member, end, hinged));
    let letter = |letter: &str| format!("{letter}({place})");
    let mut steps = vec![
        line(&letter("N"), forces(Sum::Along([ux * side, uy * side])), pen.force(section.axial), Vec::new()),
        line(&letter("V"), forces(Sum::Along([uy * side, -ux * side])), pen.force(section.shear), Vec::new()),
        line(
            &letter("M"),
            couples.collect(),
            pen.moment(section.moment),
            if passes { Vec::new() } else { words("a hinge transmits no moment") },
        ),
    ];
    if let Some(step) = steps.first_mut() {
        step.label = words(format!("at {}", pen.joint(joint)));
        if end.is_none() {
            step.remark = words("from the simultaneous equations: other unknowns act at both ends");
        }
    }
    if is_far {
        steps.extend(backwards(pen, &diagram));
    }
    page.working(steps);
    let count = diagram.stretches.len();
    for (index, stretch) in diagram.stretches.iter().enumerate() {
        let from = if index == 0 { first.to_owned() } else { plain(&pen.length(stretch.from)) };
        let to = if index + 1 == count { last.to_owned() } else { plain(&pen.length(stretch.to)) };
        if count > 1 {
            page.say(format!("From {from} to {to}, x from {from}:"));
        }
        page.working(stretch_steps(pen, stretch));
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
    // What there is at the end, less what is taken off.
    let less = |own: f64, off: f64, show: &dyn Fn(f64) -> Formula| -> Vec<Signed> {
        let parts = [own, -off].into_iter().filter(|part| *part != 0.0);
        parts.map(|part| signed(part, show(part.abs()))).collect()
    };
    let remark = |off: f64, what: &str| if off == 0.0 { Vec::new() } else { words(what) };
    let (along, across) = (pen.quiet(end.axial - n0), pen.quiet(end.shear - v0));
    let force = |value: f64| pen.force(value);
    let n = less(pen.quiet(end.axial), along, &force);
    let v = less(pen.quiet(end.shear), across, &force);
    // M(0) = M(L) − V(0) L − moment of the loads about the end.
    let of_loads = pen.quiet_moment(end.moment - m0 - v0 * length);
    let mut m = less(pen.quiet_moment(end.moment), 0.0, &|value| pen.moment(value));
    if pen.quiet(v0) != 0.0 {
        m.push(signed(-v0, product(vec![pen.force(v0.abs()), pen.length(length)])));
    }
    m.extend(less(0.0, of_loads, &|value| pen.moment(value)));
    vec![
        line("N(0)", n, pen.force(n0), remark(along, "less the axial load")),
        line("V(0)", v, pen.force(v0), remark(across, "less the transverse load")),
        line("M(0)", m, pen.moment(m0), remark(of_loads, "less the moment of the loads about the far end")),
    ]
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
    let noise = SAME * sizes.fold(0.0, f64::max);
    let mut terms = Vec::new();
    for ((value, unit), exponent) in coefficients.iter().zip(units).zip(0_i32..) {
        let reach = (value * span.powi(exponent)).abs();
        let is_noise = match exponent {
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
        match exponent {
            0 => {}
            1 => factors.push(x),
            exponent => factors.push(power(x, exponent)),
        }
        terms.push(signed(*value, product(factors)));
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
    let place = format!("x = {}", plain(&pen.length(span)));
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
    let is_inside = |at: &f64| *at > SAME * span && *at < (1.0 - SAME) * span;
    let roots = crate::statics::polynomial::roots(&stretch.shear, span);
    let shear_is_zero = stretch.shear.iter().all(|value| pen.quiet(*value) == 0.0);
    for root in roots.into_iter().filter(is_inside).filter(|_| !shear_is_zero) {
        let place = pen.result(root, &pen.length);
        let [v0, w0, bend] = stretch.shear;
        let mut sides = vec![symbol("x", "")];
        if bend == 0.0 {
            sides.push(over(pen.force(v0.abs()), pen.given(w0.abs(), &pen.line_load)));
        }
        sides.push(place.clone());
        steps.push(equation(words("V = 0"), sides, Vec::new()));
        let mut line = value_line("M", moment(Some(place)), pen.moment(stretch.at(root).moment));
        line.remark = words("extreme");
        steps.push(line);
    }
    steps
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
