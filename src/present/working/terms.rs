//! What every flexibility coefficient is a sum of, term by term with its
//! factors: axial forces in a table, moments by their values at the ends of
//! each beam, the loads between them by the end rotations of a simple span,
//! springs and settlements one by one.
//!
//! The products of two lines of moments, one of them straight, are those of
//! the tables of common practice (Mohr 1874; Müller-Breslau 1886).
//!
//! Must not know: how redundants are chosen and solved for.

use crate::base::tolerances::ROUNDED;
use crate::present::document::{Align, Formula, Line, Sign, Step, Table, TableColumn, words};
use crate::quantity::{Dimension, NamedUnit};
use crate::solution::force_method::{
    Beam, ColumnId, LOADS, Pair, Pulled, Released, Shares, Source, StateId, Term, is_couple,
};
use crate::solution::part::is_one;
use crate::statics::equilibrium::Unknown;

use super::pen::{
    Page, Pen, column, equation, formula, listed, over, power, product, say, signed, sum, symbol, unitless, whole,
};

/// Beyond so many lines of bending, springs and settlements only sums are given.
pub const MOST_LINES: usize = 72;
/// Beyond so many members with axial force only the sum over them is given.
pub const MOST_ROWS: usize = 48;
/// Tables of more columns are divided in two.
const WIDEST: usize = 9;
/// Products that stand in one table.
const MOST_PRODUCTS: usize = 5;

/// `δ₁₂`, and `δ₂₁` where that is the same.
pub fn names((i, j): Pair) -> Vec<Formula> {
    let delta = |i: StateId, j: StateId| symbol("δ", format!("{}{}", i.index(), j.index()));
    if j == LOADS || i == j { vec![delta(i, j)] } else { vec![delta(i, j), delta(j, i)] }
}

/// A movement, or a movement per unit of a redundant, with its unit.
pub fn movement(pen: &Pen<'_>, released: &Released, (of, per): Pair, value: f64) -> Formula {
    let (mut scale, mut unit) = if released.turns(of) {
        (1.0, "rad".to_owned())
    } else {
        (pen.deflection().unit.factor.to_f64(), pen.deflection().symbol.clone())
    };
    if per != LOADS {
        let by = if released.turns(per) { &pen.moment } else { &pen.force };
        scale /= by.unit.factor.to_f64();
        let symbol = if by.symbol.contains('·') { format!("({})", by.symbol) } else { by.symbol.clone() };
        unit = format!("{unit}/{symbol}");
    }
    pen.number(value / scale, unit)
}

/// A coefficient with its unit.
pub fn delta(pen: &Pen<'_>, released: &Released, pair: Pair) -> Formula {
    movement(pen, released, pair, released.coefficient(pair))
}

/// Writes how the coefficients come about.
pub fn tell(pen: &Pen<'_>, released: &Released, shares: &Shares, pairs: &[Pair], page: &mut Page) {
    let has_table = !shares.pulled.is_empty() && shares.pulled.len() <= MOST_ROWS;
    let all: Vec<(Pair, Vec<Term<'_>>)> = pairs.iter().map(|pair| (*pair, shares.terms(released, *pair))).collect();
    let lines: usize = all.iter().map(|(_, terms)| terms.len()).sum();
    if has_table {
        // Beside other terms, columns of zeros are omitted.
        let has_any = |pair: &Pair| shares.pulled.iter().any(|bar| bar.product(released, *pair) != 0.0);
        let shown: Vec<Pair> = pairs.iter().copied().filter(|pair| lines == 0 || has_any(pair)).collect();
        if !shown.is_empty() {
            axial(pen, released, shares, &shown).into_iter().for_each(|table| page.table(table));
        }
    }
    if lines == 0 && has_table {
        return;
    }
    if lines > MOST_LINES || shares.pulled.len() > MOST_ROWS {
        page.say(format!(
            "These are {} terms, too many to write out (at most {MOST_LINES} of beams and supports and {MOST_ROWS} members \
             in a table are). Their sums:",
            lines + if has_table { 0 } else { pairs.len() * shares.pulled.len() }
        ));
        let sums = all.iter().map(|(pair, terms)| sums(pen, released, shares, *pair, terms));
        page.working(sums.collect());
        return;
    }
    // Coefficients of one term stand below each other; others have a heading each.
    let mut open: Vec<Step> = Vec::new();
    for (pair, terms) in all {
        let pulled = shares.axial_sum(released, pair);
        let is_short = terms.len() + usize::from(pulled != 0.0) < 2;
        if is_short {
            open.push(single(pen, released, shares, pair, &terms, pulled));
            continue;
        }
        if !open.is_empty() {
            page.working(std::mem::take(&mut open));
        }
        page.line(heading(pair));
        page.working(added(pen, released, pair, &terms, pulled));
    }
    if !open.is_empty() {
        page.working(open);
    }
}

/// `Terms of δ₁₂ (M₁ with M₂):`
fn heading((i, j): Pair) -> Line {
    let moment = |state: StateId| formula(symbol("M", state.index().to_string()));
    let delta = symbol("δ", format!("{}{}", i.index(), j.index()));
    let mut line = vec![say("Terms of "), formula(delta), say(" ("), moment(j.min(i))];
    if i == j {
        line.push(say(" with itself"));
    } else {
        line.extend([say(" with "), moment(i.max(j))]);
    }
    line.push(say("):"));
    line
}

/// A coefficient of one term, or of none.
fn single(pen: &Pen<'_>, released: &Released, shares: &Shares, pair: Pair, terms: &[Term<'_>], pulled: f64) -> Step {
    let mut sides = names(pair);
    let cancels = || shares.pulled.iter().any(|bar| bar.product(released, pair) != 0.0);
    let (label, remark) = match terms.first() {
        Some(term) => {
            sides.extend(Some(expression(pen, released, pair, term)).filter(|expression| !is_bare(expression)));
            (label(pen, released, term), "")
        }
        None if pulled != 0.0 => ("axial forces".to_owned(), ""),
        None if cancels() => ("axial forces".to_owned(), "the terms cancel"),
        None => (String::new(), if pair.1 == LOADS { "no contribution" } else { "no part with both" }),
    };
    sides.push(delta(pen, released, pair));
    equation(words(label), sides, words(remark))
}

/// Whether a term is a number as it stands.
pub fn is_bare(expression: &Formula) -> bool {
    match expression {
        Formula::Number { .. } => true,
        Formula::Sum(terms) => matches!(terms.as_slice(), [(_, Formula::Number { .. })]),
        _ => false,
    }
}

/// The terms of a coefficient, one below the other, and their sum.
fn added(pen: &Pen<'_>, released: &Released, pair: Pair, terms: &[Term<'_>], pulled: f64) -> Vec<Step> {
    let show = |value: f64| movement(pen, released, pair, value);
    let mut steps = Vec::new();
    let mut parts = Vec::new();
    for term in terms {
        parts.push(signed(term.value, show(term.value.abs())));
        let how = Some(expression(pen, released, pair, term)).filter(|expression| !is_bare(expression));
        let sides = how.into_iter().chain([show(term.value)]).collect();
        steps.push(equation(words(label(pen, released, term)), sides, Vec::new()));
    }
    if pulled != 0.0 {
        parts.push(signed(pulled, show(pulled.abs())));
        steps.push(equation(words("axial forces"), vec![show(pulled)], Vec::new()));
    }
    let mut sides = names(pair);
    sides.extend([sum(parts), delta(pen, released, pair)]);
    steps.push(equation(words("sum"), sides, Vec::new()));
    steps
}

/// A coefficient as the sum of its parts, of which each is a sum.
fn sums(pen: &Pen<'_>, released: &Released, shares: &Shares, pair: Pair, terms: &[Term<'_>]) -> Step {
    let show = |value: f64| movement(pen, released, pair, value);
    let kind = |term: &&Term<'_>| match term.source {
        Source::Bending(_) | Source::Load(_) => "bending",
        Source::Spring(_) => "springs",
        Source::Settlement(_) => "settlements",
    };
    let of_kind = |word: &'static str| {
        let own = terms.iter().filter(|term| kind(term) == word).map(|term| term.value);
        (own.sum::<f64>(), word)
    };
    let mut parts: Vec<(f64, &str)> = ["bending", "springs", "settlements"].map(of_kind).into();
    parts.push((shares.axial_sum(released, pair), "axial forces"));
    parts.retain(|(value, _)| *value != 0.0);
    let mut sides = names(pair);
    let mut said = Vec::new();
    if parts.len() > 1 {
        said = parts.iter().map(|(_, word)| (*word).to_owned()).collect();
        sides.push(sum(parts.iter().map(|(value, _)| signed(*value, show(value.abs()))).collect()));
    }
    sides.push(delta(pen, released, pair));
    equation(Vec::new(), sides, words(listed(&said)))
}

/// What a term is of.
fn label(pen: &Pen<'_>, released: &Released, term: &Term<'_>) -> String {
    let at = |column: ColumnId| match released.unknowns[column] {
        Unknown::Reaction(support, _) => pen.joint(pen.structure.supports[support].joint),
        Unknown::Axial(_) | Unknown::EndMoment(..) => "",
    };
    match term.source {
        Source::Bending(beam) => pen.structure.member_name(beam.member),
        Source::Load(beam) => format!("load on {}", pen.structure.member_name(beam.member)),
        Source::Spring(column) => format!("spring at {}", at(column)),
        Source::Settlement(column) if is_couple(released.unknowns[column]) => format!("rotation of {}", at(column)),
        Source::Settlement(column) => format!("settlement of {}", at(column)),
    }
}

/// A term with its numbers.
fn expression(pen: &Pen<'_>, released: &Released, (i, j): Pair, term: &Term<'_>) -> Formula {
    let force = |state, column| force(pen, released, state, column);
    match term.source {
        Source::Bending(beam) => {
            let ordinates = |state: StateId| {
                beam.ends.map(|column| match column {
                    Some(column) => Ordinate(released.force(state, column), force(state, column)),
                    None => Ordinate(0.0, whole(0)),
                })
            };
            let stiffness = flexural(pen, beam.stiffness);
            straight(pen.length(beam.length), stiffness, ordinates(j), ordinates(i), i == j)
        }
        Source::Load(beam) => of_loads(pen, released, beam, i),
        Source::Spring(column) => {
            let unit = if is_couple(released.unknowns[column]) {
                NamedUnit { symbol: format!("{}/rad", pen.moment.symbol), unit: pen.moment.unit.clone() }
            } else {
                pen.line_load.clone()
            };
            let above = match i == j {
                true => power(force(i, column), 2),
                false => product(vec![force(j, column), force(i, column)]),
            };
            let stiffness = pen.given(1.0 / released.give[column], &unit);
            sum(vec![signed(term.value, over(above, stiffness))])
        }
        Source::Settlement(column) => {
            let (r, free) = (released.force(i, column), released.free[column].abs());
            let is_turned = is_couple(released.unknowns[column]);
            let shown = if is_turned {
                Formula::Number { digits: pen.figures(free), unit: "rad".to_owned() }
            } else {
                pen.given(free, pen.deflection())
            };
            let is_plain = is_one(r) && released.turns(i) == is_turned;
            sum(vec![signed(term.value, if is_plain { shown } else { product(vec![force(i, column), shown]) })])
        }
    }
}

/// The size of a force or couple under the loads, or under one unit of a
/// redundant, with its unit.
fn force(pen: &Pen<'_>, released: &Released, state: StateId, column: ColumnId) -> Formula {
    let size = released.force(state, column).abs();
    let plain = |value: f64, unit: String| Formula::Number { digits: pen.figures(value), unit };
    match (state, released.turns(state), is_couple(released.unknowns[column])) {
        (LOADS, _, true) => pen.moment(size),
        (LOADS, _, false) => pen.force(size),
        (_, false, true) => pen.result(size, &pen.length),
        (_, true, false) => {
            let per = pen.moment.unit.factor.to_f64() / pen.force.unit.factor.to_f64();
            plain(size * per, format!("{}/({})", pen.force.symbol, pen.moment.symbol))
        }
        _ => plain(size, String::new()),
    }
}

/// A value with its size as it is written.
#[derive(Clone)]
struct Ordinate(f64, Formula);

/// The product of two straight lines of moments along a beam, written as simply
/// as their ordinates allow.
fn straight(
    length: Formula,
    stiffness: Formula,
    [a, b]: [Ordinate; 2],
    [c, d]: [Ordinate; 2],
    is_square: bool,
) -> Formula {
    let below =
        |times: i64| if times == 1 { stiffness.clone() } else { product(vec![whole(times), stiffness.clone()]) };
    let over = |above: Formula, times: i64| over(above, below(times));
    let level = |[a, b]: [&Ordinate; 2]| (a.0 - b.0).abs() <= ROUNDED * a.0.abs();
    let square = |a: &Ordinate| power(a.1.clone(), 2);
    let term = |times: i64, factors: &[&Ordinate]| {
        let value: f64 = factors.iter().map(|factor| factor.0).product();
        let times = (times != 1).then(|| whole(times));
        (
            value,
            signed(value, product(times.into_iter().chain(factors.iter().map(|factor| factor.1.clone())).collect())),
        )
    };
    let inner = |terms: Vec<(f64, (Sign, Formula))>| {
        sum(terms.into_iter().filter(|(value, _)| *value != 0.0).map(|(_, term)| term).collect())
    };
    let one = |[a, b]: [&Ordinate; 2]| match (a.0 != 0.0, b.0 != 0.0) {
        (true, false) => Some((a.clone(), false)),
        (false, true) => Some((b.clone(), true)),
        _ => None,
    };
    let (m, n) = ([&a, &b], [&c, &d]);
    let with = |times: i64, sign: f64, factors: Vec<Formula>| {
        let above = product(std::iter::once(length.clone()).chain(factors).collect());
        sum(vec![signed(sign, over(above, times))])
    };
    match (one(m), one(n)) {
        (Some((p, _)), Some(_)) if is_square => with(3, 1.0, vec![square(&p)]),
        (Some((p, at)), Some((q, other))) => with(if at == other { 3 } else { 6 }, p.0 * q.0, vec![p.1, q.1]),
        _ if is_square && level(m) => with(1, 1.0, vec![square(&a)]),
        _ if level(m) && level(n) => with(1, a.0 * c.0, vec![a.1, c.1]),
        _ if is_square => {
            let squares = [&a, &b].map(|end| (1.0, (Sign::Plus, square(end))));
            let [first, last] = squares;
            with(3, 1.0, vec![inner(vec![first, term(1, &[&a, &b]), last])])
        }
        (Some((p, _)), _) if level(n) => with(2, p.0 * c.0, vec![p.1, c.1]),
        (_, Some((q, _))) if level(m) => with(2, a.0 * q.0, vec![a.1, q.1]),
        (Some((p, at)), _) => {
            let terms = if at { vec![term(1, &[&c]), term(2, &[&d])] } else { vec![term(2, &[&c]), term(1, &[&d])] };
            with(6, p.0, vec![p.1, inner(terms)])
        }
        (_, Some((q, at))) => {
            let terms = if at { vec![term(1, &[&a]), term(2, &[&b])] } else { vec![term(2, &[&a]), term(1, &[&b])] };
            with(6, q.0, vec![inner(terms), q.1])
        }
        _ if level(m) => with(2, a.0, vec![a.1.clone(), inner(vec![term(1, &[&c]), term(1, &[&d])])]),
        _ if level(n) => with(2, c.0, vec![inner(vec![term(1, &[&a]), term(1, &[&b])]), c.1.clone()]),
        // Too long for one fraction bar.
        _ => {
            let near = inner(vec![term(2, &[&c]), term(1, &[&d])]);
            let far = inner(vec![term(1, &[&c]), term(2, &[&d])]);
            let parts = [(&a, near), (&b, far)].map(|(end, bracket)| {
                let above = product(vec![length.clone(), end.1.clone(), bracket]);
                signed(end.0, over(above, 6))
            });
            sum(parts.into())
        }
    }
}

/// What the loads between a beam's joints add: the turns of its ends as a
/// simple span times the moments there.
fn of_loads(pen: &Pen<'_>, released: &Released, beam: &Beam, i: StateId) -> Formula {
    let ends = beam.turned(released).filter(|(column, _)| released.force(i, *column) != 0.0);
    let parts = ends.map(|(column, turn)| {
        let factors = vec![turned(pen, turn.abs()), force(pen, released, i, column)];
        signed(turn * released.force(i, column), product(factors))
    });
    sum(parts.collect())
}

/// An angle.
pub fn turned(pen: &Pen<'_>, radians: f64) -> Formula {
    pen.number(radians, "rad".to_owned())
}

/// `6300 kN·m²`
pub fn flexural(pen: &Pen<'_>, stiffness: f64) -> Formula {
    pen.given(stiffness, &pen.unit(Dimension::BENDING_STIFFNESS))
}

/// A column of the table of axial forces: its heading, a cell for each bar, and
/// their sum where they add up.
struct Column {
    heading: Line,
    cells: Vec<Line>,
    foot: Line,
}

impl Column {
    fn of(heading: Line, bars: &[&Pulled], cell: impl Fn(&Pulled) -> Line) -> Column {
        Column { heading, cells: bars.iter().map(|bar| cell(bar)).collect(), foot: Vec::new() }
    }
}

/// The axial forces of all members and their products.
fn axial(pen: &Pen<'_>, released: &Released, shares: &Shares, pairs: &[Pair]) -> Vec<Table> {
    let all: Vec<&Pulled> = shares.pulled.iter().collect();
    let mut columns = factors(pen, released, &all, pairs.iter().any(|(_, j)| *j != LOADS));
    if 1 + columns.len() + pairs.len() <= WIDEST {
        columns.extend(products(pen, released, shares, &all, pairs));
        return vec![table(pen, released, &all, &columns)];
    }
    let mut tables = vec![table(pen, released, &all, &columns)];
    let count = pairs.len().div_ceil(MOST_PRODUCTS).max(1);
    for chunk in pairs.chunks(pairs.len().div_ceil(count)) {
        let has_any = |bar: &&Pulled| chunk.iter().any(|pair| bar.product(released, *pair) != 0.0);
        let bars: Vec<&Pulled> = all.iter().copied().filter(has_any).collect();
        if !bars.is_empty() {
            tables.push(table(pen, released, &bars, &products(pen, released, shares, &bars, chunk)));
        }
    }
    tables
}

/// A number whose unit the heading gives.
fn bare(pen: &Pen<'_>, value: f64) -> Line {
    vec![formula(Formula::Number { digits: pen.figures(value), unit: String::new() })]
}

/// What products are of: lengths and stiffnesses, as far as they are asked
/// for, and the forces in each state.
fn factors(pen: &Pen<'_>, released: &Released, bars: &[&Pulled], with_stiffness: bool) -> Vec<Column> {
    let [moves, force, length] =
        [&pen.deflection().unit, &pen.force.unit, &pen.length.unit].map(|unit| unit.factor.to_f64());
    let (moved, pulled) = (&pen.deflection().symbol, &pen.force.symbol);
    let long = |bar: &Pulled| pen.structure.member_length(bar.member);
    let mut columns = Vec::new();
    if with_stiffness {
        let shown = |bar: &Pulled| vec![formula(unitless(pen.length(long(bar))))];
        columns.push(Column::of(words(format!("L {}", pen.length.symbol)), bars, shown));
        let shown = |bar: &Pulled| match bar.give {
            0.0 => words("rigid"),
            give => vec![formula(unitless(pen.given(long(bar) / give, &pen.force)))],
        };
        columns.push(Column::of(words(format!("EA {pulled}")), bars, shown));
    }
    let heading = words(format!("L/EA {moved}/{pulled}"));
    columns.push(Column::of(heading, bars, |bar| bare(pen, bar.give / moves * force)));
    for state in released.forces.ids() {
        let (scale, unit) = match (state, released.turns(state)) {
            (LOADS, _) => (1.0 / force, format!(" {pulled}")),
            (_, true) => (length, format!(" 1/{}", pen.length.symbol)),
            _ => (1.0, String::new()),
        };
        let heading = vec![formula(symbol("N", state.index().to_string())), say(unit)];
        columns.push(Column::of(heading, bars, |bar| bare(pen, released.force(state, bar.column) * scale)));
    }
    if bars.iter().any(|bar| bar.free != 0.0) {
        columns.push(Column::of(words(format!("ΔL {moved}")), bars, |bar| bare(pen, bar.free / moves)));
    }
    columns
}

/// What each bar adds to each coefficient.
fn products(pen: &Pen<'_>, released: &Released, shares: &Shares, bars: &[&Pulled], pairs: &[Pair]) -> Vec<Column> {
    let product = |pair: &Pair| {
        let (scale, unit) = scale(pen, released, *pair);
        let delta = symbol("δ", format!("{}{}", pair.0.index(), pair.1.index()));
        let heading = vec![say("to "), formula(delta), say(format!(" {unit}"))];
        let column = Column::of(heading, bars, |bar| bare(pen, bar.product(released, *pair) * scale));
        Column { foot: bare(pen, shares.axial_sum(released, *pair) * scale), ..column }
    };
    pairs.iter().map(product).collect()
}

/// In which unit the table tells a product, and how many of it one unit of the
/// International System is.
fn scale(pen: &Pen<'_>, released: &Released, (i, j): Pair) -> (f64, String) {
    let [moves, force, length] =
        [&pen.deflection().unit, &pen.force.unit, &pen.length.unit].map(|unit| unit.factor.to_f64());
    let (moved, pulled, long) = (&pen.deflection().symbol, &pen.force.symbol, &pen.length.symbol);
    let moment = &pen.moment.symbol;
    match (released.turns(i), j, released.turns(j)) {
        (false, LOADS, _) => (1.0 / moves, moved.clone()),
        (false, _, false) => (force / moves, format!("{moved}/{pulled}")),
        (true, LOADS, _) if moved == long => (1.0, "rad".to_owned()),
        (true, LOADS, _) => (length / moves, format!("{moved}/{long}")),
        (false, _, true) | (true, _, false) => (force * length / moves, format!("{moved}/({moment})")),
        (true, _, true) => (force * length * length / moves, format!("{moved}/({moment}²)")),
    }
}

fn table(pen: &Pen<'_>, released: &Released, bars: &[&Pulled], columns: &[Column]) -> Table {
    let has_beams = bars.iter().any(|bar| pen.is_beam(bar.member));
    let first = column(if has_beams { "member" } else { "bar" }, Align::Left);
    let rest = columns.iter().map(|column| TableColumn { heading: column.heading.clone(), align: Align::Point });
    let row = |(index, bar): (usize, &&Pulled)| {
        let own = vec![formula(pen.column(released.unknowns[bar.column]))];
        std::iter::once(own).chain(columns.iter().filter_map(|column| column.cells.get(index).cloned())).collect()
    };
    let foot = std::iter::once(words("sum")).chain(columns.iter().map(|column| column.foot.clone()));
    let has_foot = columns.iter().any(|column| !column.foot.is_empty());
    Table {
        foot: foot.filter(|_| has_foot).collect(),
        ..super::pen::table(std::iter::once(first).chain(rest).collect(), bars.iter().enumerate().map(row).collect())
    }
}
