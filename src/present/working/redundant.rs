//! The force method: redundants released, compatibility written with numbers,
//! the solution superposed. (Maxwell 1864, Mohr 1874; common practice since.)
//!
//! Must not know: how loads came about.

use crate::check::words::count;
use crate::present::document::{Align, Formula, Line, Step, Table, TableColumn, words};
use crate::present::results::beams::{beams, has_even_axial};
use crate::present::results::subject_name;
use crate::statics::diagram::Diagram;
use crate::statics::equilibrium::{Component, End, Equilibrium, Unknown};
use crate::statics::{CaseResult, Subject, Verdict};

use super::loads::factor_formula;
use super::pen::{
    Page, Pen, between, column, equation, formula, over, product, say, signed, sum, symbol, table, unitless, whole,
    zero,
};
use super::released::{Released, movement, name, release};
use super::terms::{self, Shares, coefficient, names, pairs};
use super::yields;

/// Redundancies above this are not written out.
const MOST_REDUNDANTS: usize = 6;
/// Nor are structures of more unknowns.
const MOST_UNKNOWNS: usize = 160;

/// What the page has said already of a structure that is the same in all its
/// cases: of each case told, its movements.
#[derive(Default)]
pub struct Told {
    cases: Vec<(Subject, Vec<f64>)>,
}

/// Tells how the redundants are found.
pub fn tell(pen: &Pen<'_>, verdict: &Verdict, result: &CaseResult, told: &mut Told, page: &mut Page) {
    let degree = verdict.redundancy;
    let equilibrium = Equilibrium::of(pen.structure);
    page.heading(2, "Redundants, by the force method");
    let is_short = degree <= MOST_REDUNDANTS && equilibrium.unknowns.len() <= MOST_UNKNOWNS;
    let released = is_short.then(|| release(pen, equilibrium, degree, result)).flatten();
    let plural = if degree == 1 { "" } else { "s" };
    let Some(released) = released else {
        page.say(format!(
            "Equilibrium alone leaves {} unknown{plural} open. By the force method that means {degree} equation{plural} of \
             compatibility with {} coefficients: too many to write out (at most {MOST_REDUNDANTS} redundants and \
             {MOST_UNKNOWNS} unknowns are). What follows is their solution by machine.",
            count(degree),
            degree * (degree + 1),
        ));
        page.table(reactions(pen, result));
        return;
    };
    match told.cases.first() {
        None => {
            page.say(format!(
                "Equilibrium alone leaves {} unknown{plural} open. As many redundants X are released; the released structure \
                 is determinate. Each redundant is then given the size at which its gap closes.",
                count(degree)
            ));
            let lines = (1..=degree).map(|number| released_line(pen, &released, number));
            page.list(lines.collect());
        }
        Some((first, _)) => {
            let kind = if matches!(first, Subject::Case(_)) { "case" } else { "combination" };
            let first = format!("{kind} {}", subject_name(pen.structure, *first));
            let mut line = words(format!("Redundants, released structure and its flexibility are those of {first}: "));
            line.extend(list_redundants(pen, &released));
            line.push(say("."));
            page.line(line);
        }
    }
    let shares = Shares::of(pen, &released);
    let is_fresh = told.cases.is_empty();
    let cases = result.subject.factors(pen.structure);
    let is_known = |case| told.cases.iter().any(|(subject, _)| *subject == Subject::Case(case));
    if matches!(result.subject, Subject::Combo(_)) && cases.iter().all(|(case, _)| is_known(*case)) {
        combined(pen, &released, result.subject, told, page);
    } else {
        flexibility(pen, verdict, &released, &shares, result, is_fresh, page);
    }
    if !is_fresh {
        page.say("Unchanged:");
        let steps = pairs(degree, true).into_iter().filter(|(_, j)| *j > 0).map(|pair| {
            let mut sides = names(pair);
            sides.push(movement(pen, &released, pair.0, pair.1, coefficient(&released, pair)));
            equation(Vec::new(), sides, Vec::new())
        });
        page.working(steps.collect());
    }
    let how = if degree > 1 { " The equations are solved together; their elimination is not written out." } else { "" };
    page.say(format!("Compatibility: no gap is left at any redundant.{how}"));
    page.working(compatibility(pen, &released));
    let table = superposed(pen, &released);
    let rest = if table.rows.len() < released.equilibrium.unknowns.len() { " All others are zero." } else { "" };
    let beams = beams(pen.structure);
    let diagrams: Vec<Diagram> = beams.iter().map(|beam| result.diagram(pen.structure, *beam)).collect();
    let mean = if has_even_axial(&diagrams, result.largest) {
        ""
    } else {
        " N of a beam that is loaded along itself is the mean along its length."
    };
    page.say(format!(
        "Superposition: each force is that under the loads plus that under one unit of each redundant times its size.{mean}{rest}"
    ));
    page.table(table);
    told.cases.push((result.subject, released.gaps));
}

fn list_redundants(pen: &Pen<'_>, released: &Released) -> Line {
    let named = |number: usize| {
        let own = formula(name(pen, released, released.column(number).unwrap_or(0)));
        let before = say(between(number - 1, released.degree()));
        [before, formula(symbol("X", number.to_string())), say(" for "), own]
    };
    (1..=released.degree()).flat_map(named).collect()
}

/// The forces in the released structure, what it yields to, and the
/// coefficients.
fn flexibility(
    pen: &Pen<'_>,
    verdict: &Verdict,
    released: &Released,
    shares: &Shares,
    result: &CaseResult,
    is_fresh: bool,
    page: &mut Page,
) {
    let mut line = words("Equilibrium gives the forces in the released structure: under the loads (index 0)");
    line.extend(match (is_fresh, released.degree()) {
        (false, _) => words("; those under one unit of each redundant are known."),
        (true, 1) => vec![say(" and under one unit of "), formula(symbol("X", "1")), say(" (index 1).")],
        (true, _) => words(" and under one unit of each redundant (its number as index)."),
    });
    let forces = forces(pen, verdict, released, shares, is_fresh);
    if !forces.rows.is_empty() {
        page.line(line);
        page.table(forces);
    }
    let stiffness = yields::stiffness(pen, shares);
    let turns = yields::turns(pen, released, shares, result);
    let lengthened = yields::lengthened(pen, shares, result.subject);
    if is_fresh {
        let delta = |subscript: &str| formula(symbol("δ", subscript));
        let x = |subscript: &str| formula(symbol("X", subscript));
        page.line(vec![
            say("Flexibility: "),
            delta("ij"),
            say(" is the movement of "),
            x("i"),
            say(" in its own sense under one unit of "),
            x("j"),
            say(", "),
            delta("i0"),
            say(" that under the loads (with heat, misfits and settlements), both in the released structure. Each is a sum of"),
        ]);
        page.list(rules(shares, released));
        if !stiffness.is_empty() {
            page.working(stiffness);
        }
    }
    if !turns.is_empty() {
        page.line(vec![
            say("The loads between the joints turn the ends of their beams, as simple spans, by "),
            formula(symbol("φ", "")),
            say(" (in the sense of positive end moments):"),
        ]);
        page.working(turns);
    }
    if !lengthened.is_empty() {
        page.say("Free of forces, these members would be longer by ΔL, from heat and misfits:");
        page.working(lengthened);
    }
    terms::tell(pen, released, shares, &pairs(released.degree(), is_fresh), page);
}

/// How each kind of part adds to a coefficient, as far as there are such parts.
fn rules(shares: &Shares, released: &Released) -> Vec<Line> {
    let letter = |letter: &str, subscript: &str| symbol(letter, subscript);
    let both = |name: &str| vec![letter(name, "i"), letter(name, "j")];
    let over = |above: Vec<Formula>, below: Formula| formula(over(product(above), below));
    let mut rules = Vec::new();
    if !shares.pulled.is_empty() {
        let axial = both("N").into_iter().chain([letter("L", "")]).collect();
        let mut line = vec![over(axial, letter("EA", "")), say(" of every member")];
        if shares.pulled.iter().any(|bar| bar.free != 0.0) {
            line.push(say(", and "));
            line.push(formula(product(vec![letter("N", "i"), letter("ΔL", "")])));
            line.push(say(" of one that is lengthened by ΔL (to "));
            line.push(formula(letter("δ", "i0")));
            line.push(say(" only)"));
        }
        rules.push(line);
    }
    if !shares.beams.is_empty() {
        let prime = |name: &str| letter(&format!("{name}′"), "");
        let pair = |a: Formula, b: Formula| product(vec![a, b]);
        let two = whole(2);
        let terms = [
            product(vec![two.clone(), letter("a", ""), prime("a")]),
            pair(letter("a", ""), prime("b")),
            pair(letter("b", ""), prime("a")),
            product(vec![two, letter("b", ""), prime("b")]),
        ];
        let sixth = super::pen::over(letter("L", ""), product(vec![whole(6), letter("EI", "")]));
        // In pieces, so that a narrow page can break it.
        let mut rule = vec![formula(sixth), say(" × (")];
        for (index, term) in terms.into_iter().enumerate() {
            rule.extend([say(if index == 0 { "" } else { " + " }), formula(term)]);
        }
        rule.extend([
            say(") of every beam: the integral of "),
            formula(product(both("M"))),
            say(" over its length, divided by "),
            formula(letter("EI", "")),
            say("; "),
            formula(letter("M", "i")),
            say(" runs straight from "),
            formula(letter("a", "")),
            say(" to "),
            formula(letter("b", "")),
            say(", "),
            formula(letter("M", "j")),
            say(" from "),
            formula(prime("a")),
            say(" to "),
            formula(prime("b")),
            say(" (less is written where an end has no moment, or both ends the same)"),
        ]);
        rules.push(rule);
        if shares.turned(released).next().is_some() {
            rules.push(vec![
                formula(product(vec![letter("φ", ""), letter("M", "i")])),
                say(" at both ends of a beam with loads between its joints: what the load's own curve of moments adds (to "),
                formula(letter("δ", "i0")),
                say(" only)"),
            ]);
        }
    }
    if !shares.springs.is_empty() {
        rules.push(vec![over(both("R"), letter("k", "")), say(" of every spring")]);
    }
    if !shares.settled.is_empty() {
        rules.push(vec![
            formula(letter("R", "i")),
            say(" times the movement of its support, positive against "),
            formula(letter("R", "i")),
            say(" (to "),
            formula(letter("δ", "i0")),
            say(" only)"),
        ]);
    }
    rules
}

/// The movements of a combination, from those of its cases.
fn combined(pen: &Pen<'_>, released: &Released, subject: Subject, told: &Told, page: &mut Page) {
    page.line(vec![formula(symbol("δ", "i0")), say(" adds up from those of the cases, each times its factor:")]);
    let mut steps = Vec::new();
    for number in 1..=released.degree() {
        let mut parts = Vec::new();
        for (case, factor) in subject.factors(pen.structure) {
            let of_case = told.cases.iter().find(|(known, _)| *known == Subject::Case(case));
            let gap = of_case.and_then(|(_, gaps)| gaps.get(number - 1)).copied().unwrap_or(0.0);
            if gap != 0.0 {
                let shown = movement(pen, released, number, 0, gap.abs());
                let factors = factor_formula(&factor).into_iter().chain([shown]).collect();
                parts.push(signed(gap * factor.to_f64(), product(factors)));
            }
        }
        let shown = movement(pen, released, number, 0, coefficient(released, (number, 0)));
        let mut sides = names((number, 0));
        let added = sum(parts);
        if added != shown {
            sides.push(added);
        }
        sides.push(shown);
        steps.push(equation(Vec::new(), sides, Vec::new()));
    }
    page.working(steps);
}

fn released_line(pen: &Pen<'_>, released: &Released, number: usize) -> Line {
    let column = released.column(number).unwrap_or(0);
    let what = match released.equilibrium.unknowns.get(column) {
        Some(Unknown::Axial(member)) => format!(", {} cut", pen.structure.member_name(*member)),
        Some(Unknown::EndMoment(id, end)) => {
            let member = &pen.structure.members[*id];
            let joint = pen.joint(if *end == End::Start { member.start } else { member.end });
            format!(", a hinge put into {} at {joint}", pen.structure.member_name(*id))
        }
        Some(Unknown::Reaction(support, _)) => {
            format!(", this reaction taken away at {}", pen.joint(pen.structure.supports[*support].joint))
        }
        None => String::new(),
    };
    vec![formula(symbol("X", number.to_string())), say(" = "), formula(name(pen, released, column)), say(what)]
}

/// What stands on no other table: moments and reactions in the released
/// structure, and axial forces of members that do not yield.
fn forces(pen: &Pen<'_>, verdict: &Verdict, released: &Released, shares: &Shares, is_fresh: bool) -> Table {
    let mut columns = vec![column("force", Align::Left), column("under the loads", Align::Point)];
    let numbers = 1..=if is_fresh { released.degree() } else { 0 };
    let under_one = |number| TableColumn { heading: under_one(pen, released, number), align: Align::Point };
    columns.extend(numbers.clone().map(under_one));
    columns.push(column("", Align::Left));
    let mut rows = Vec::new();
    for (index, unknown) in released.equilibrium.unknowns.iter().enumerate() {
        let unit = if released.is_couple(index) { &pen.moment } else { &pen.force };
        let is_moved = (1..=released.degree()).any(|number| released.force(number, index) != 0.0);
        let is_elsewhere = match unknown {
            Unknown::Reaction(..) => verdict.reactions == 3 && !is_moved,
            _ => shares.pulled.len() <= terms::MOST_ROWS && shares.pulled.iter().any(|bar| bar.column == index),
        };
        let is_nothing = released.force(0, index) == 0.0 && (!is_moved || !is_fresh);
        if is_elsewhere || is_nothing {
            continue;
        }
        let show = |value: f64| vec![formula(unitless(pen.result(value, unit)))];
        let mut row = vec![vec![formula(name(pen, released, index))], show(released.force(0, index))];
        row.extend(numbers.clone().map(|number| show(per_unit(pen, released, number, index))));
        row.push(words(unit.symbol.clone()));
        rows.push(row);
    }
    table(columns, rows)
}

/// `X₁ = 1 kN`
fn under_one(pen: &Pen<'_>, released: &Released, number: usize) -> Line {
    let unit = if released.turns(number) { &pen.moment } else { &pen.force };
    vec![formula(symbol("X", number.to_string())), say(format!(" = 1 {}", unit.symbol))]
}

/// A force under one of the file's own units of a redundant, newtons or
/// newton-metres.
fn per_unit(pen: &Pen<'_>, released: &Released, number: usize, column: usize) -> f64 {
    let by = if released.turns(number) { &pen.moment } else { &pen.force };
    released.force(number, column) * by.unit.factor.to_f64()
}

fn compatibility(pen: &Pen<'_>, released: &Released) -> Vec<Step> {
    let degree = released.degree();
    let mut steps = Vec::new();
    for i in 1..=degree {
        let mut terms = Vec::new();
        for j in 0..=degree {
            let value = coefficient(released, (i, j));
            if value == 0.0 {
                continue;
            }
            let shown = movement(pen, released, i, j, value.abs());
            let factors = if j == 0 { vec![shown] } else { vec![shown, symbol("X", j.to_string())] };
            terms.push(signed(value, product(factors)));
        }
        steps.push(equation(Vec::new(), vec![sum(terms), zero()], Vec::new()));
    }
    for (number, value) in (1..).zip(&released.values) {
        let column = released.column(number).unwrap_or(0);
        let shown = if released.turns(number) { pen.moment(*value) } else { pen.force(*value) };
        let mut sides = vec![symbol("X", number.to_string()), name(pen, released, column)];
        let gap = coefficient(released, (number, 0));
        if degree == 1 && gap != 0.0 {
            let above = movement(pen, released, 1, 0, gap.abs());
            let below = movement(pen, released, 1, 1, coefficient(released, (1, 1)));
            sides.push(sum(vec![signed(-gap, over(above, below))]));
        }
        sides.push(shown);
        let label = if number == 1 && degree > 1 { words("together") } else { Vec::new() };
        steps.push(equation(label, sides, Vec::new()));
    }
    steps
}

/// Under the loads, from each redundant, and together.
fn superposed(pen: &Pen<'_>, released: &Released) -> Table {
    let mut columns = vec![column("force", Align::Left), column("under the loads", Align::Point)];
    for number in 1..=released.degree() {
        let heading = vec![say("from "), formula(symbol("X", number.to_string()))];
        columns.push(TableColumn { heading, align: Align::Point });
    }
    columns.push(column("together", Align::Point));
    columns.push(column("", Align::Left));
    let mut rows = Vec::new();
    for index in 0..released.equilibrium.unknowns.len() {
        let unit = if released.is_couple(index) { &pen.moment } else { &pen.force };
        let quiet = |value: f64| if released.is_couple(index) { pen.quiet_moment(value) } else { pen.quiet(value) };
        let show = |value: f64| vec![formula(unitless(pen.result(value, unit)))];
        let loads = released.force(0, index);
        let parts: Vec<f64> =
            (1..).zip(&released.values).map(|(number, value)| quiet(released.force(number, index) * value)).collect();
        if loads == 0.0 && parts.iter().all(|part| *part == 0.0) {
            continue;
        }
        let total = quiet(loads + parts.iter().sum::<f64>());
        let mut row = vec![vec![formula(name(pen, released, index))], show(loads)];
        row.extend(parts.iter().map(|part| show(*part)));
        row.extend([show(total), words(unit.symbol.clone())]);
        rows.push(row);
    }
    table(columns, rows)
}

/// The reactions alone, where the way to them is not written out.
fn reactions(pen: &Pen<'_>, result: &CaseResult) -> Table {
    let mut rows = Vec::new();
    for (id, support) in pen.structure.supports.entries() {
        let reaction = &result.reactions[id];
        for component in support.components() {
            let value = match component {
                Component::X => reaction.fx,
                Component::Y => reaction.fy,
                Component::Turn => reaction.m.map(|m| pen.structure.turning(m)),
                Component::Normal => Some(reaction.force()[0].hypot(reaction.force()[1])),
            };
            let value = value.unwrap_or(0.0);
            let (shown, unit) = match component {
                Component::Turn => (pen.moment(value), &pen.moment),
                _ => (pen.force(value), &pen.force),
            };
            let name = formula(pen.reaction(id, component));
            rows.push(vec![vec![name], vec![formula(unitless(shown))], words(unit.symbol.clone())]);
        }
    }
    let columns = vec![column("reaction", Align::Left), column("", Align::Point), column("", Align::Left)];
    table(columns, rows)
}
