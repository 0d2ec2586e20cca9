//! The force method: redundants released, compatibility written with numbers,
//! the solution superposed. (Maxwell 1864, Mohr 1874; common practice since.)
//!
//! Must not know: how loads came about.

use crate::base::CaseId;
use crate::numeric::Flexibility;
use crate::present::document::{Align, Block, Formula, Line, Sign, Step, Table, TableColumn, words};
use crate::statics::equilibrium::{Balance, Component, End, Equilibrium, Restraint, Unknown};
use crate::statics::flexibility::{deform, flexibilities, free_deformation};
use crate::statics::{CaseResult, Verdict, spans};

use super::elimination::eliminate;
use super::loads::{parts_of, unitless};
use super::pen::{Pen, count, equation, formula, product, say, sum, symbol, zero};

/// Redundancies above this are not written out.
const MOST_REDUNDANTS: usize = 6;
/// Nor are structures of more unknowns.
const MOST_UNKNOWNS: usize = 160;

/// A structure with its redundants set free.
struct Released {
    /// The columns released.
    redundants: Vec<usize>,
    /// Forces in the released structure under the loads.
    under_loads: Vec<f64>,
    /// Under one newton, or newton-metre, of each redundant.
    under_one: Vec<Vec<f64>>,
    /// Movement of each redundant under the loads: metres, or radians.
    gaps: Vec<f64>,
    coefficients: Vec<Vec<f64>>,
    values: Vec<f64>,
    /// Of each unknown: metres a newton, and metres without any force.
    give: Vec<f64>,
    free: Vec<f64>,
}

/// Tells how the redundants are found.
pub fn tell(pen: &Pen<'_>, verdict: &Verdict, result: &CaseResult, blocks: &mut Vec<Block>) {
    let degree = verdict.redundancy;
    let equilibrium = Equilibrium::of(pen.structure);
    blocks.push(Block::Heading { level: 2, text: words("Redundants, by the force method") });
    let plural = if degree == 1 { "" } else { "s" };
    blocks.push(Block::Paragraph(words(format!(
        "Equilibrium alone leaves {} unknown{plural} open. As many redundants X are released; the released structure is \
         determinate. Each redundant is then given the size at which its gap closes.",
        count(degree)
    ))));
    let released = (degree <= MOST_REDUNDANTS && equilibrium.unknowns.len() <= MOST_UNKNOWNS)
        .then(|| release(pen, &equilibrium, degree, result))
        .flatten();
    let Some(released) = released else {
        blocks.push(Block::Paragraph(words(format!(
            "Here that means {degree} equation{plural} of compatibility with {degree} unknown{plural}, {} coefficients: too many to write \
             out (at most {MOST_REDUNDANTS} redundants and {MOST_UNKNOWNS} unknowns are). What follows is their solution by machine.",
            degree * degree
        ))));
        blocks.push(Block::Table(reactions(pen, &equilibrium, result)));
        return;
    };
    blocks.push(Block::List(
        released
            .redundants
            .iter()
            .zip(1..)
            .map(|(column, number)| released_line(pen, &equilibrium, *column, number))
            .collect(),
    ));
    let has_beams = (0..pen.structure.members.len()).any(|member| is_beam(pen, crate::base::MemberId::new(member)));
    blocks.push(Block::Paragraph(vec![
        say("Flexibility coefficients: "),
        formula(symbol("δ", "i0")),
        say(" is the movement of "),
        formula(symbol("X", "i")),
        say(" in its own sense under the loads (with heat, misfits and settlements), "),
        formula(symbol("δ", "ij")),
        say(" that under one unit of "),
        formula(symbol("X", "j")),
        say(if has_beams {
            ": sums over all members of N N' L / EA, and over beams of the integral of M m / EI, which for end moments a, b and \
             a', b' is (2 a a' + a b' + b a' + 2 b b') L / (6 EI)."
        } else {
            ": sums over all bars of the two forces times L / EA."
        }),
    ]));
    if let Some(table) = products(pen, &equilibrium, &released) {
        blocks.push(Block::Table(table));
    }
    blocks.push(Block::Working(coefficients(pen, &equilibrium, &released)));
    blocks.push(Block::Paragraph(words("Compatibility: no gap is left at any redundant.")));
    blocks.push(Block::Working(compatibility(pen, &equilibrium, &released)));
    blocks.push(Block::Paragraph(words(
        "Superposition: each force is that under the loads plus that under one unit of each redundant times its size.",
    )));
    blocks.push(Block::Table(superposed(pen, &equilibrium, &released)));
}

fn release(pen: &Pen<'_>, equilibrium: &Equilibrium, degree: usize, result: &CaseResult) -> Option<Released> {
    let structure = pen.structure;
    let (rows, columns) = (equilibrium.rows.len(), equilibrium.unknowns.len());
    let size = super::pen::size_of(structure).max(f64::MIN_POSITIVE);
    let row_scale: Vec<f64> = (0..rows)
        .map(|row| {
            let (_, balance) = equilibrium.rows.joint_of(u32::try_from(row).unwrap_or(0));
            if balance == Balance::Moment { 1.0 / size } else { 1.0 }
        })
        .collect();
    let dense: Vec<Vec<f64>> = equilibrium
        .columns()
        .iter()
        .map(|column| {
            let mut values = vec![0.0; rows];
            equilibrium.floating_column(column, &mut |row, value| {
                if let (Some(slot), Some(scale)) = (values.get_mut(row as usize), row_scale.get(row as usize)) {
                    *slot += value * scale;
                }
            });
            values
        })
        .collect();
    let redundants = dependent(equilibrium, &dense, rows);
    if redundants.len() != degree || columns - degree != rows {
        return None;
    }
    let kept: Vec<usize> = (0..columns).filter(|column| !redundants.contains(column)).collect();
    let solve = |right: &dyn Fn(usize) -> f64| -> Option<Vec<f64>> {
        let entry =
            |column: &usize, row: usize| dense.get(*column).and_then(|values| values.get(row)).copied().unwrap_or(0.0);
        let lines = (0..rows).map(|row| (kept.iter().map(|column| entry(column, row)).collect(), right(row))).collect();
        let values = eliminate(lines, kept.len())?;
        let mut all = vec![0.0; columns];
        for (column, value) in kept.iter().zip(values) {
            *all.get_mut(*column)? = value;
        }
        Some(all)
    };
    let flexibility = flexibilities(structure, equilibrium);
    let mut load = vec![0.0; rows];
    let mut free = vec![0.0; columns];
    for (case, factor) in parts_of(structure, result.subject) {
        let factor = factor.to_f64();
        let actions = spans::actions(structure, &equilibrium.rows, case);
        let add = |total: &mut Vec<f64>, part: Vec<f64>| {
            total.iter_mut().zip(part).for_each(|(total, part)| *total += factor * part);
        };
        add(&mut load, actions.on_joints(structure, &equilibrium.rows));
        add(&mut free, free_deformation(structure, equilibrium, CaseId::new(case.index()), &actions.spans));
    }
    let scaled = |values: &[f64], row: usize| {
        values.get(row).copied().unwrap_or(0.0) * row_scale.get(row).copied().unwrap_or(1.0)
    };
    let under_loads = solve(&|row| -scaled(&load, row))?;
    let mut under_one = Vec::new();
    for column in &redundants {
        let values = dense.get(*column)?;
        let mut forces = solve(&|row| -values.get(row).copied().unwrap_or(0.0))?;
        *forces.get_mut(*column)? = 1.0;
        under_one.push(forces);
    }
    let gaps: Vec<f64> = {
        let mut strained = deform(&flexibility, &under_loads);
        strained.iter_mut().zip(&free).for_each(|(strained, free)| *strained += free);
        under_one.iter().map(|forces| dot(forces, &strained)).collect()
    };
    let coefficients: Vec<Vec<f64>> = under_one.iter().map(|one| row_of(&flexibility, one, &under_one)).collect();
    let lines = coefficients.iter().cloned().zip(gaps.iter().map(|gap| -gap)).collect();
    let values = eliminate(lines, degree)?;
    let give = flexibility.diagonal;
    Some(Released { redundants, under_loads, under_one, gaps, coefficients, values, give, free })
}

fn row_of(flexibility: &Flexibility, one: &[f64], all: &[Vec<f64>]) -> Vec<f64> {
    let strained = deform(flexibility, one);
    all.iter().map(|other| dot(other, &strained)).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Columns that depend on those before them, reactions looked at last: what
/// can be released. The floats only choose; a wrong choice is found out by the
/// count.
fn dependent(equilibrium: &Equilibrium, dense: &[Vec<f64>], rows: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..dense.len()).collect();
    let rank = |column: &usize| match equilibrium.unknowns.get(*column) {
        Some(Unknown::Axial(_)) => 0,
        Some(Unknown::EndMoment(..)) | None => 1,
        Some(Unknown::Reaction(..)) => 2,
    };
    order.sort_by_key(|column| (rank(column), *column));
    let mut basis: Vec<(usize, Vec<f64>)> = Vec::new();
    let mut free = Vec::new();
    for column in order {
        let Some(mut values) = dense.get(column).cloned() else { continue };
        let size = values.iter().fold(0.0_f64, |size, value| size.max(value.abs()));
        for (pivot, known) in &basis {
            let share = values.get(*pivot).copied().unwrap_or(0.0);
            if share != 0.0 {
                values.iter_mut().zip(known).for_each(|(value, known)| *value -= share * known);
            }
        }
        let best = (0..rows).max_by(|a, b| {
            let at = |row: &usize| values.get(*row).map_or(0.0, |value: &f64| value.abs());
            at(a).total_cmp(&at(b))
        });
        let pivot = best.and_then(|row| values.get(row).map(|value| (row, *value)));
        match pivot {
            Some((row, value)) if value.abs() > 1e-9 * size => {
                values.iter_mut().for_each(|entry| *entry /= value);
                basis.push((row, values));
            }
            _ => free.push(column),
        }
    }
    free.sort_unstable();
    free
}

fn is_couple(equilibrium: &Equilibrium, column: usize) -> bool {
    matches!(equilibrium.unknowns.get(column), Some(Unknown::EndMoment(..) | Unknown::Reaction(_, Component::Turn)))
}

/// The symbol of an unknown of the equations.
fn name(pen: &Pen<'_>, equilibrium: &Equilibrium, column: usize) -> Formula {
    match equilibrium.unknowns.get(column) {
        Some(Unknown::Axial(member)) => match pen.bar_force(*member) {
            Formula::Symbol { subscript, .. } if is_beam(pen, *member) => symbol("N", subscript),
            other => other,
        },
        Some(Unknown::EndMoment(member, end)) => {
            let Some(ends) = pen.structure.member(*member) else { return zero() };
            let (here, there) = if *end == End::Start { (ends.start, ends.end) } else { (ends.end, ends.start) };
            symbol("M", format!("{},{}", pen.joint(here), pen.joint(there)))
        }
        Some(Unknown::Reaction(support, component)) => {
            let joint = pen.structure.supports.get(support.index()).map_or("?", |support| pen.joint(support.joint));
            match component {
                Component::X => symbol(joint, "x"),
                Component::Y => symbol(joint, "y"),
                Component::Turn => symbol("M", joint),
                Component::Normal => match equilibrium.columns().get(column) {
                    Some(Restraint::Line(_, line)) if line[0].is_zero() => symbol(joint, "y"),
                    Some(Restraint::Line(_, line)) if line[1].is_zero() => symbol(joint, "x"),
                    _ => symbol(joint, ""),
                },
            }
        }
        None => zero(),
    }
}

fn is_beam(pen: &Pen<'_>, member: crate::base::MemberId) -> bool {
    pen.structure.member(member).is_some_and(|member| member.kind == crate::syntax::tree::MemberKind::Beam)
}

fn released_line(pen: &Pen<'_>, equilibrium: &Equilibrium, column: usize, number: usize) -> Line {
    let what = match equilibrium.unknowns.get(column) {
        Some(Unknown::Axial(member)) => format!(", {} cut", pen.structure.member_name(*member)),
        Some(Unknown::EndMoment(member, end)) => {
            let joint = pen
                .structure
                .member(*member)
                .map_or("?", |member| pen.joint(if *end == End::Start { member.start } else { member.end }));
            format!(", a hinge put into {} at {joint}", pen.structure.member_name(*member))
        }
        Some(Unknown::Reaction(support, _)) => {
            let joint = pen.structure.supports.get(support.index()).map_or("?", |support| pen.joint(support.joint));
            format!(", this reaction taken away at {joint}")
        }
        None => String::new(),
    };
    vec![formula(symbol("X", number.to_string())), say(" = "), formula(name(pen, equilibrium, column)), say(what)]
}

/// A movement, or a movement per unit of a redundant, with its unit.
fn movement(pen: &Pen<'_>, equilibrium: &Equilibrium, row: usize, per: Option<usize>, value: f64) -> Formula {
    let is_turn = is_couple(equilibrium, row);
    let (mut scale, mut unit) = if is_turn {
        (1.0, "rad".to_owned())
    } else {
        (pen.deflection().unit.factor.to_f64(), pen.deflection().symbol.clone())
    };
    if let Some(column) = per {
        let by = if is_couple(equilibrium, column) { &pen.moment } else { &pen.force };
        scale /= by.unit.factor.to_f64();
        let symbol = if by.symbol.contains('·') { format!("({})", by.symbol) } else { by.symbol.clone() };
        unit = format!("{unit}/{symbol}");
    }
    let digits = pen.figures(value / scale);
    let unit = if digits == "0" { String::new() } else { unit };
    Formula::Number { digits, unit }
}

fn coefficients(pen: &Pen<'_>, equilibrium: &Equilibrium, released: &Released) -> Vec<Step> {
    let mut steps = Vec::new();
    for (i, (row, (gap, coefficients))) in
        released.redundants.iter().zip(released.gaps.iter().zip(&released.coefficients)).enumerate()
    {
        let shown = movement(pen, equilibrium, *row, None, quiet(*gap, released));
        steps.push(equation(Vec::new(), vec![symbol("δ", format!("{}0", i + 1)), shown], Vec::new()));
        for (j, (column, value)) in released.redundants.iter().zip(coefficients).enumerate().skip(i) {
            let mut sides = vec![symbol("δ", format!("{}{}", i + 1, j + 1))];
            if j > i {
                sides.push(symbol("δ", format!("{}{}", j + 1, i + 1)));
            }
            sides.push(movement(pen, equilibrium, *row, Some(*column), *value));
            steps.push(equation(Vec::new(), sides, Vec::new()));
        }
    }
    steps
}

/// The products that a truss's two coefficients are sums of, bar by bar, where
/// one redundant is a force.
fn products(pen: &Pen<'_>, equilibrium: &Equilibrium, released: &Released) -> Option<Table> {
    let is_bar = |unknown: &Unknown| match unknown {
        Unknown::Axial(member) => !is_beam(pen, *member),
        Unknown::Reaction(..) => true,
        Unknown::EndMoment(..) => false,
    };
    let ([one], [redundant]) = (released.under_one.as_slice(), released.redundants.as_slice()) else { return None };
    if !equilibrium.unknowns.iter().all(is_bar) || is_couple(equilibrium, *redundant) {
        return None;
    }
    let [moves, force] = [pen.deflection().unit.factor.to_f64(), pen.force.unit.factor.to_f64()];
    let has_free = released.free.iter().any(|free| *free != 0.0);
    let cell = |value: f64| vec![formula(Formula::Number { digits: pen.figures(value), unit: String::new() })];
    let mut rows = Vec::new();
    for (column, own) in one.iter().enumerate() {
        let at = |values: &[f64]| values.get(column).copied().unwrap_or(0.0);
        let (give, free, load) = (at(&released.give), at(&released.free), pen.quiet(at(&released.under_loads)));
        let own = if own.abs() < 1e-10 { 0.0 } else { *own };
        if give == 0.0 && free == 0.0 {
            continue;
        }
        let mut row = vec![
            vec![formula(name(pen, equilibrium, column))],
            cell(give / moves * force),
            cell(load / force),
            cell(own),
            cell(load * own * give / moves),
            cell(own * own * give / moves * force),
        ];
        if has_free {
            row.push(cell(own * free / moves));
        }
        rows.push(row);
    }
    let (moves, force) = (&pen.deflection().symbol, &pen.force.symbol);
    let mut headings = vec![
        "bar".to_owned(),
        format!("L/EA {moves}/{force}"),
        format!("N₀ {force}"),
        "n₁".to_owned(),
        format!("N₀ n₁ L/EA {moves}"),
        format!("n₁² L/EA {moves}/{force}"),
    ];
    if has_free {
        headings.push(format!("n₁ times heat, misfit {moves}"));
    }
    let column = |(index, heading): (usize, String)| TableColumn {
        heading: words(heading),
        align: if index == 0 { Align::Left } else { Align::Point },
    };
    Some(Table {
        caption: Vec::new(),
        columns: headings.into_iter().enumerate().map(column).collect(),
        rows,
        foot: Vec::new(),
    })
}

fn quiet(gap: f64, released: &Released) -> f64 {
    let largest = released.gaps.iter().fold(0.0_f64, |largest, gap| largest.max(gap.abs()));
    if gap.abs() <= 1e-10 * largest { 0.0 } else { gap }
}

fn compatibility(pen: &Pen<'_>, equilibrium: &Equilibrium, released: &Released) -> Vec<Step> {
    let signed = |value: f64, formula: Formula| (if value < 0.0 { Sign::Minus } else { Sign::Plus }, formula);
    let mut steps = Vec::new();
    for ((row, gap), coefficients) in released.redundants.iter().zip(&released.gaps).zip(&released.coefficients) {
        let gap = quiet(*gap, released);
        let mut terms = Vec::new();
        if gap != 0.0 {
            terms.push(signed(gap, movement(pen, equilibrium, *row, None, gap.abs())));
        }
        for (number, (column, value)) in (1..).zip(released.redundants.iter().zip(coefficients)) {
            if *value != 0.0 {
                let factor = movement(pen, equilibrium, *row, Some(*column), value.abs());
                terms.push(signed(*value, product(vec![factor, symbol("X", number.to_string())])));
            }
        }
        steps.push(equation(Vec::new(), vec![sum(terms), zero()], Vec::new()));
    }
    for (number, (column, value)) in (1..).zip(released.redundants.iter().zip(&released.values)) {
        let shown = if is_couple(equilibrium, *column) { pen.moment(*value) } else { pen.force(*value) };
        let mut sides = vec![symbol("X", number.to_string()), name(pen, equilibrium, *column)];
        if let ([gap], [row]) = (released.gaps.as_slice(), released.coefficients.as_slice())
            && let [own] = row.as_slice()
            && quiet(*gap, released) != 0.0
        {
            let above = movement(pen, equilibrium, *column, None, gap.abs());
            let below = movement(pen, equilibrium, *column, Some(*column), *own);
            let sign = if *gap > 0.0 { Sign::Minus } else { Sign::Plus };
            sides.push(sum(vec![(sign, Formula::Fraction(Box::new(above), Box::new(below)))]));
        }
        sides.push(shown);
        let label = if number == 1 && released.values.len() > 1 { words("together") } else { Vec::new() };
        steps.push(equation(label, sides, Vec::new()));
    }
    steps
}

/// Under the loads, under one of each redundant, and together.
fn superposed(pen: &Pen<'_>, equilibrium: &Equilibrium, released: &Released) -> Table {
    let column = |heading: Line, align| TableColumn { heading, align };
    let mut columns = vec![column(words("force"), Align::Left), column(words("under the loads"), Align::Point)];
    for (number, redundant) in (1..).zip(&released.redundants) {
        let unit = if is_couple(equilibrium, *redundant) { &pen.moment } else { &pen.force };
        let mut heading = vec![say(format!("under 1 {} of ", unit.symbol)), formula(symbol("X", number.to_string()))];
        heading.push(say(""));
        columns.push(column(heading, Align::Point));
    }
    columns.push(column(words("together"), Align::Point));
    columns.push(column(words(""), Align::Left));
    let mut rows = Vec::new();
    for index in 0..equilibrium.unknowns.len() {
        let unit = if is_couple(equilibrium, index) { &pen.moment } else { &pen.force };
        let at = |values: &[f64]| values.get(index).copied().unwrap_or(0.0);
        let quiet = |value: f64| if is_couple(equilibrium, index) { pen.quiet_moment(value) } else { pen.quiet(value) };
        let mut total = at(&released.under_loads);
        let show = |value: f64| vec![formula(unitless(pen.result(value, unit)))];
        let mut row = vec![vec![formula(name(pen, equilibrium, index))], show(quiet(total))];
        for ((one, value), redundant) in released.under_one.iter().zip(&released.values).zip(&released.redundants) {
            let by = if is_couple(equilibrium, *redundant) { &pen.moment } else { &pen.force };
            total += at(one) * value;
            let own = at(one) * by.unit.factor.to_f64();
            let own = if at(one).abs() < 1e-10 { 0.0 } else { own };
            row.push(show(own));
        }
        row.extend([show(quiet(total)), words(unit.symbol.clone())]);
        rows.push(row);
    }
    Table { caption: Vec::new(), columns, rows, foot: Vec::new() }
}

/// The reactions alone, where the way to them is not written out.
fn reactions(pen: &Pen<'_>, equilibrium: &Equilibrium, result: &CaseResult) -> Table {
    let column = |heading: &str, align| TableColumn { heading: words(heading), align };
    let mut rows = Vec::new();
    for (index, unknown) in equilibrium.unknowns.iter().enumerate() {
        let Unknown::Reaction(support, component) = unknown else { continue };
        let Some(reaction) = result.reactions.get(support.index()) else { continue };
        let (value, unit) = match component {
            Component::X => (reaction.fx, &pen.force),
            Component::Y => (reaction.fy, &pen.force),
            Component::Turn => (reaction.m, &pen.moment),
            Component::Normal => (Some(reaction.force()[0].hypot(reaction.force()[1])), &pen.force),
        };
        let value = value.unwrap_or(0.0);
        let shown = if *component == Component::Turn { pen.moment(value) } else { pen.force(value) };
        rows.push(vec![
            vec![formula(name(pen, equilibrium, index))],
            vec![formula(unitless(shown))],
            words(unit.symbol.clone()),
        ]);
    }
    Table {
        caption: Vec::new(),
        columns: vec![column("reaction", Align::Left), column("", Align::Point), column("", Align::Left)],
        rows,
        foot: Vec::new(),
    }
}
