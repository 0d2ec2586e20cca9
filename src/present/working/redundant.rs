//! The force method: redundants released, compatibility written with numbers,
//! the solution superposed. (Maxwell 1864, Mohr 1874; common practice since.)
//!
//! Must not know: how loads came about.

use crate::base::IdVec;
use crate::check::words::count;
use crate::present::document::{Align, Formula, Line, Step, Table, TableColumn, words};
use crate::present::results::beams::{beams, has_even_axial};
use crate::present::results::subject_name;
use crate::quantity::NamedUnit;
use crate::solution::force_method::{LOADS, Pair, Released, Shares, StateId, is_couple};
use crate::statics::diagram::Diagram;
use crate::statics::equilibrium::{Component, End, Equilibrium, Unknown};
use crate::statics::{CaseResult, Subject, Verdict};

use super::flexibility;
use super::loads::factor_formula;
use super::pen::{
    Page, Pen, between, column, equation, formula, over, product, say, signed, sum, symbol, table, told, unitless, zero,
};
use super::terms::{self, delta, movement, names};

/// Redundancies above this are not written out.
const MOST_REDUNDANTS: usize = 6;
/// Nor are structures of more unknowns.
const MOST_UNKNOWNS: usize = 160;

/// What the page has said already: the displacements δ₀ of each case.
#[derive(Default)]
pub struct Known {
    cases: Vec<(Subject, IdVec<StateId, f64>)>,
}

/// Writes how the redundants are found.
pub fn tell(pen: &Pen<'_>, verdict: &Verdict, result: &CaseResult, known: &mut Known, page: &mut Page) {
    let degree = verdict.redundancy;
    let equilibrium = Equilibrium::of(pen.structure);
    page.heading(2, "Redundants, by the force method");
    let is_short = degree <= MOST_REDUNDANTS && equilibrium.unknowns.len() <= MOST_UNKNOWNS;
    let released = is_short.then(|| Released::of(pen, equilibrium, degree, result.subject)).flatten();
    let plural = if degree == 1 { "" } else { "s" };
    let Some(released) = released else {
        page.say(format!(
            "Equilibrium leaves {} unknown{plural} undetermined. The force method needs {degree} equation{plural} of \
             compatibility with {} coefficients, too many to write out (at most {MOST_REDUNDANTS} redundants and \
             {MOST_UNKNOWNS} unknowns are). Their solution:",
            count(degree),
            degree * (degree + 1),
        ));
        page.table(reactions(pen, result));
        return;
    };
    match known.cases.first() {
        None => {
            page.say(format!(
                "Equilibrium leaves {0} unknown{plural} undetermined. Release {0} redundant{plural} X: the released structure is \
                 determinate. Give each redundant the value that restores compatibility.",
                count(degree)
            ));
            page.list(released.redundants().map(|state| released_line(pen, &released, state)).collect());
        }
        Some((first, _)) => {
            let kind = if matches!(first, Subject::Case(_)) { "case" } else { "combination" };
            let first = format!("{kind} {}", subject_name(pen.structure, *first));
            let mut line =
                words(format!("Redundants, released structure and flexibility coefficients as in {first}: "));
            line.extend(list_redundants(pen, &released));
            line.push(say("."));
            page.line(line);
        }
    }
    let shares = Shares::of(pen, &released);
    let is_fresh = known.cases.is_empty();
    let cases = result.subject.factors(pen.structure);
    let is_known = |case| known.cases.iter().any(|(subject, _)| *subject == Subject::Case(case));
    if matches!(result.subject, Subject::Combination(_)) && cases.iter().all(|(case, _)| is_known(*case)) {
        combined(pen, &released, result.subject, known, page);
    } else {
        flexibility(pen, verdict, &released, &shares, result, is_fresh, page);
    }
    if !is_fresh {
        page.say("Unchanged:");
        let steps = released.pairs().into_iter().filter(|(_, j)| *j != LOADS).map(|pair| {
            let sides = names(pair).into_iter().chain([delta(pen, &released, pair)]);
            equation(Vec::new(), sides.collect(), Vec::new())
        });
        page.working(steps.collect());
    }
    let how = if degree > 1 { " The equations are solved simultaneously; the elimination is not shown." } else { "" };
    page.say(format!("Compatibility: no relative displacement at any redundant.{how}"));
    page.working(compatibility(pen, &released));
    let table = superposed(pen, &released);
    let rest = if table.rows.len() < released.unknowns.len() { " All others are zero." } else { "" };
    let beams = beams(pen.structure);
    let diagrams: Vec<Diagram> = beams.iter().map(|beam| result.diagram(pen.structure, *beam)).collect();
    let mean = if has_even_axial(&diagrams, result.largest) {
        ""
    } else {
        " For a beam with axial loads, N is the mean over its length."
    };
    page.say(format!(
        "Superposition: the force under the loads plus, for each redundant, the force under one unit of it times its value.{mean}{rest}"
    ));
    page.table(table);
    known.cases.push((result.subject, released.gaps()));
}

/// `X₁`
fn x(state: StateId) -> Formula {
    symbol("X", state.index().to_string())
}

fn redundant(pen: &Pen<'_>, released: &Released, state: StateId) -> Formula {
    released.redundant(state).map_or_else(zero, |unknown| pen.column(unknown))
}

/// What a force in an unknown is written in.
fn unit<'a>(pen: &'a Pen<'_>, unknown: Unknown) -> &'a NamedUnit {
    if is_couple(unknown) { &pen.moment } else { &pen.force }
}

fn list_redundants(pen: &Pen<'_>, released: &Released) -> Line {
    let all = released.redundants();
    let count = all.len();
    let named = |(index, state)| {
        [say(between(index, count)), formula(x(state)), say(" for "), formula(redundant(pen, released, state))]
    };
    all.enumerate().flat_map(named).collect()
}

fn released_line(pen: &Pen<'_>, released: &Released, state: StateId) -> Line {
    let what = match released.redundant(state) {
        Some(Unknown::Axial(member)) => format!(", {} cut", pen.structure.member_name(member)),
        Some(Unknown::EndMoment(id, end)) => {
            let member = &pen.structure.members[id];
            let joint = pen.joint(if end == End::Start { member.start } else { member.end });
            format!(", a hinge inserted in {} at {joint}", pen.structure.member_name(id))
        }
        Some(Unknown::Reaction(support, _)) => {
            format!(", the reaction released at {}", pen.joint(pen.structure.supports[support].joint))
        }
        None => String::new(),
    };
    vec![formula(x(state)), say(" = "), formula(redundant(pen, released, state)), say(what)]
}

/// The forces in the released structure, its flexibility, and the coefficients.
fn flexibility(
    pen: &Pen<'_>,
    verdict: &Verdict,
    released: &Released,
    shares: &Shares,
    result: &CaseResult,
    is_fresh: bool,
    page: &mut Page,
) {
    let mut line = words("Forces in the released structure, by equilibrium: under the loads (index 0)");
    line.extend(match (is_fresh, released.redundants().len()) {
        (false, _) => told("; those under one unit of each redundant are known."),
        (true, 1) => told(" and under one unit of {X_1} (index 1)."),
        (true, _) => told(" and under one unit of each redundant (its number as index)."),
    });
    let forces = forces(pen, verdict, released, shares, is_fresh);
    if !forces.rows.is_empty() {
        page.line(line);
        page.table(forces);
    }
    let stiffness = flexibility::stiffness(pen, shares);
    let turns = flexibility::end_rotations(pen, released, shares, result);
    let lengthened = flexibility::lengthened(pen, shares, result.subject);
    if is_fresh {
        page.line(told(
            "Flexibility coefficients of the released structure: {δ_ij} is the displacement at {X_i}, in its sense, due to one unit \
             of {X_j}; {δ_i0} is that due to the loads, with temperature changes, misfits and settlements. Each is the sum of",
        ));
        page.list(rules(shares, released));
        if !stiffness.is_empty() {
            page.working(stiffness);
        }
    }
    if !turns.is_empty() {
        page.line(told(
            "End rotations {φ} of the loaded beams as simple spans (positive in the sense of positive end moments):",
        ));
        page.working(turns);
    }
    if !lengthened.is_empty() {
        page.say("Changes of length ΔL of the free members, from temperature and misfits:");
        page.working(lengthened);
    }
    let pairs = released.pairs().into_iter().filter(|(_, j)| is_fresh || *j == LOADS);
    terms::tell(pen, released, shares, &pairs.collect::<Vec<Pair>>(), page);
}

/// How each kind of part adds to a coefficient, as far as there are such parts.
fn rules(shares: &Shares, released: &Released) -> Vec<Line> {
    let mut rules = Vec::new();
    if !shares.pulled.is_empty() {
        let mut line = told("{N_i × N_j × L / EA} for every member");
        if shares.pulled.iter().any(|bar| bar.free != 0.0) {
            line.extend(told(", and {N_i × ΔL} for one with a change of length (in {δ_i0} only)"));
        }
        rules.push(line);
    }
    if !shares.beams.is_empty() {
        // In pieces, so that a narrow page can break it.
        rules.push(told(
            "{L / 6 × EI} × ({2 × a × a′} + {a × b′} + {b × a′} + {2 × b × b′}) for every beam: the integral of {M_i × M_j} \
             over its length, divided by {EI}; {M_i} is linear from {a} to {b}, {M_j} from {a′} to {b′} (shorter where an \
             end has no moment, or both ends have the same)",
        ));
        if shares.beams.iter().any(|beam| beam.turned(released).next().is_some()) {
            rules.push(told(
                "{φ × M_i} at both ends of a beam loaded between its joints: the part of its simple-span moments (in {δ_i0} only)",
            ));
        }
    }
    if !shares.springs.is_empty() {
        rules.push(told("{R_i × R_j / k} for every spring"));
    }
    if !shares.settled.is_empty() {
        rules.push(told("{R_i} times the displacement of its support, positive against {R_i} (in {δ_i0} only)"));
    }
    rules
}

/// The displacements of a combination, from those of its cases.
fn combined(pen: &Pen<'_>, released: &Released, subject: Subject, known: &Known, page: &mut Page) {
    page.line(told("{δ_i0} is the sum of those of the cases, each times its factor:"));
    let steps = released.redundants().map(|state| {
        let pair = (state, LOADS);
        let mut parts = Vec::new();
        for (case, factor) in subject.factors(pen.structure) {
            let of_case = known.cases.iter().find(|(known, _)| *known == Subject::Case(case));
            let gap = of_case.map_or(0.0, |(_, gaps)| gaps[state]);
            if gap != 0.0 {
                let shown = movement(pen, released, pair, gap.abs());
                let factors = factor_formula(&factor).into_iter().chain([shown]).collect();
                parts.push(signed(gap * factor.to_f64(), product(factors)));
            }
        }
        let shown = delta(pen, released, pair);
        let added = Some(sum(parts)).filter(|added| *added != shown);
        equation(Vec::new(), names(pair).into_iter().chain(added).chain([shown]).collect(), Vec::new())
    });
    page.working(steps.collect());
}

/// What stands on no other table: moments and reactions in the released
/// structure, and axial forces of rigid members.
fn forces(pen: &Pen<'_>, verdict: &Verdict, released: &Released, shares: &Shares, is_fresh: bool) -> Table {
    let states: Vec<StateId> = released.redundants().filter(|_| is_fresh).collect();
    let under_one = |state: &StateId| {
        let unit = released.redundant(*state).map_or("", |unknown| unit(pen, unknown).symbol.as_str());
        TableColumn { heading: vec![formula(x(*state)), say(format!(" = 1 {unit}"))], align: Align::Point }
    };
    let mut columns = vec![column("force", Align::Left), column("under the loads", Align::Point)];
    columns.extend(states.iter().map(under_one));
    columns.push(column("", Align::Left));
    let mut rows = Vec::new();
    for (index, unknown) in released.unknowns.entries() {
        let is_moved = released.is_moved(index);
        let is_elsewhere = match unknown {
            Unknown::Reaction(..) => verdict.reactions == 3 && !is_moved,
            _ => shares.pulled.len() <= terms::MOST_ROWS && shares.pulled.iter().any(|bar| bar.column == index),
        };
        let own = released.force(LOADS, index);
        if is_elsewhere || (own == 0.0 && (!is_moved || !is_fresh)) {
            continue;
        }
        let unit_of = unit(pen, *unknown);
        let show = |value: f64| vec![formula(unitless(pen.result(value, unit_of)))];
        // Under one of the file's own units of each redundant.
        let per_unit = |state: &StateId| {
            let by = released.redundant(*state).map_or(1.0, |redundant| unit(pen, redundant).unit.factor.to_f64());
            show(released.force(*state, index) * by)
        };
        let mut row = vec![vec![formula(pen.column(*unknown))], show(own)];
        row.extend(states.iter().map(per_unit));
        row.push(words(unit_of.symbol.clone()));
        rows.push(row);
    }
    table(columns, rows)
}

fn compatibility(pen: &Pen<'_>, released: &Released) -> Vec<Step> {
    let states = || released.values.ids();
    let gap = |i: StateId| {
        let terms = states().filter(|j| released.coefficient((i, *j)) != 0.0).map(|j| {
            let value = released.coefficient((i, j));
            let times = (j != LOADS).then(|| x(j));
            let shown = movement(pen, released, (i, j), value.abs());
            signed(value, product(std::iter::once(shown).chain(times).collect()))
        });
        equation(Vec::new(), vec![sum(terms.collect()), zero()], Vec::new())
    };
    let is_only = released.redundants().len() == 1;
    let size = |state: StateId| {
        let value = released.values[state];
        let shown = if released.turns(state) { pen.moment(value) } else { pen.force(value) };
        let mut sides = vec![x(state), redundant(pen, released, state)];
        let gap = released.coefficient((state, LOADS));
        if is_only && gap != 0.0 {
            let above = movement(pen, released, (state, LOADS), gap.abs());
            sides.push(sum(vec![signed(-gap, over(above, delta(pen, released, (state, state))))]));
        }
        sides.push(shown);
        let is_first = state.index() == 1;
        equation(if is_first && !is_only { words("solved") } else { Vec::new() }, sides, Vec::new())
    };
    released.redundants().map(gap).chain(released.redundants().map(size)).collect()
}

/// Under the loads, from each redundant, and their sum.
fn superposed(pen: &Pen<'_>, released: &Released) -> Table {
    let mut columns = vec![column("force", Align::Left), column("under the loads", Align::Point)];
    let from = |state| TableColumn { heading: vec![say("from "), formula(x(state))], align: Align::Point };
    columns.extend(released.redundants().map(from));
    columns.extend([column("sum", Align::Point), column("", Align::Left)]);
    let row = |(index, unknown): (_, &Unknown)| {
        let unit = unit(pen, *unknown);
        let quiet = |value: f64| if is_couple(*unknown) { pen.quiet_moment(value) } else { pen.quiet(value) };
        let show = |value: f64| vec![formula(unitless(pen.result(value, unit)))];
        let loads = released.force(LOADS, index);
        let part = |state| quiet(released.force(state, index) * released.values[state]);
        let parts: Vec<f64> = released.redundants().map(part).collect();
        let is_nothing = loads == 0.0 && parts.iter().all(|part| *part == 0.0);
        let total = quiet(loads + parts.iter().sum::<f64>());
        let shown = std::iter::once(loads).chain(parts).chain([total]).map(show);
        let name = vec![formula(pen.column(*unknown))];
        (!is_nothing).then(|| std::iter::once(name).chain(shown).chain([words(unit.symbol.clone())]).collect())
    };
    table(columns, released.unknowns.entries().filter_map(row).collect())
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
