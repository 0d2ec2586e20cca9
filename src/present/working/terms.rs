//! What every flexibility coefficient is a sum of, term by term with its
//! factors: axial forces in a table, moments by their values at the ends of
//! each beam, the loads between them by the turns they give a simple span,
//! springs and settlements one by one.
//!
//! The products of two lines of moments, one of them straight, are those of
//! the tables of common practice (Mohr 1874; Müller-Breslau 1886).
//!
//! Must not know: how redundants are chosen and solved for.

use crate::base::MemberId;
use crate::present::document::{Align, Formula, Line, Sign, Step, Table, TableColumn, words};
use crate::quantity::NamedUnit;
use crate::solution::part::{NO_SUM, is_one};
use crate::solution::problem::NO_PART;
use crate::statics::equilibrium::{End, Unknown};
use crate::statics::flexibility::{Compliance, bending};

use super::pen::{
    Page, Pen, equation, formula, listed, over, power, product, say, signed, sum, symbol, unitless, whole,
};
use super::released::{Released, is_beam, movement, name};

/// Where bending, springs and settlements come to more lines than this, only
/// their sums are told.
pub const MOST_LINES: usize = 72;
/// Where more members than this are pulled or pressed, only the sum over them is told.
pub const MOST_ROWS: usize = 48;
/// Tables of more columns than this are told in two.
const WIDEST: usize = 9;
/// Products that stand in one table.
const MOST_PRODUCTS: usize = 5;

/// A coefficient by its two numbers; the second is 0 for the loads.
pub type Pair = (usize, usize);

/// One term of a coefficient.
struct Term {
    label: String,
    kind: Kind,
    expression: Formula,
    /// Metres or radians, per newton or newton-metre where it is so.
    value: f64,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Bending,
    Spring,
    Settlement,
}

/// A beam that bends, and the columns of its end moments.
pub struct Beam {
    pub member: MemberId,
    pub length: f64,
    /// Newton square metres.
    pub stiffness: f64,
    pub ends: [Option<usize>; 2],
}

/// A member with an axial force under some redundant that yields to it, or that
/// heat or a misfit lengthens.
pub struct Pulled {
    pub column: usize,
    pub member: MemberId,
    give: f64,
    pub free: f64,
}

/// All that takes part in the coefficients.
pub struct Shares {
    pub pulled: Vec<Pulled>,
    pub beams: Vec<Beam>,
    /// Columns of reactions that yield, and that are moved.
    pub springs: Vec<usize>,
    pub settled: Vec<usize>,
}

impl Shares {
    pub fn of(pen: &Pen<'_>, released: &Released) -> Shares {
        let mut shares = Shares { pulled: Vec::new(), beams: Vec::new(), springs: Vec::new(), settled: Vec::new() };
        for (column, unknown) in released.equilibrium.unknowns.iter().enumerate() {
            let takes_part = (1..=released.degree()).any(|number| released.force(number, column) != 0.0);
            let at = |values: &[f64]| values.get(column).copied().unwrap_or(0.0);
            let (give, free) = (at(&released.give), at(&released.free));
            match unknown {
                _ if !takes_part => {}
                Unknown::Axial(member) if give != 0.0 || free != 0.0 => {
                    shares.pulled.push(Pulled { column, member: *member, give, free });
                }
                Unknown::Axial(_) => {}
                Unknown::EndMoment(member, end) => {
                    let Compliance::Value(compliance) = bending(pen.structure, *member) else { continue };
                    let known = shares.beams.iter_mut().find(|beam| beam.member == *member);
                    let index = usize::from(*end == End::Finish);
                    if let Some(slot) = known.and_then(|beam| beam.ends.get_mut(index)) {
                        *slot = Some(column);
                        continue;
                    }
                    let ends = if index == 0 { [Some(column), None] } else { [None, Some(column)] };
                    let length = pen.structure.member_length(*member);
                    shares.beams.push(Beam { member: *member, length, stiffness: 1.0 / compliance, ends });
                }
                Unknown::Reaction(..) => {
                    if give != 0.0 {
                        shares.springs.push(column);
                    }
                    if free != 0.0 {
                        shares.settled.push(column);
                    }
                }
            }
        }
        shares.add_other_ends(released);
        shares
    }

    /// The end of a beam that no redundant turns may still be turned by the loads.
    fn add_other_ends(&mut self, released: &Released) {
        for (column, unknown) in released.equilibrium.unknowns.iter().enumerate() {
            if let Unknown::EndMoment(member, end) = unknown
                && let Some(beam) = self.beams.iter_mut().find(|beam| beam.member == *member)
                && let Some(slot) = beam.ends.get_mut(usize::from(*end == End::Finish))
            {
                *slot = Some(column);
            }
        }
    }

    /// Whether loads between the joints turn the ends of beams, told beam by beam.
    pub fn turned<'a>(&'a self, released: &'a Released) -> impl Iterator<Item = &'a Beam> {
        self.beams.iter().filter(|beam| {
            beam.ends.iter().flatten().any(|column| {
                let free = released.free.get(*column).copied().unwrap_or(0.0);
                free != 0.0 && (1..=released.degree()).any(|number| released.force(number, *column) != 0.0)
            })
        })
    }
}

/// All coefficients in their order, or those of the loads only.
pub fn pairs(degree: usize, is_fresh: bool) -> Vec<Pair> {
    (1..=degree)
        .flat_map(|i| std::iter::once((i, 0)).chain((i..=degree).filter(move |_| is_fresh).map(move |j| (i, j))))
        .collect()
}

/// The number of a coefficient: metres or radians, per newton or newton-metre.
pub fn coefficient(released: &Released, (i, j): Pair) -> f64 {
    let row = i.checked_sub(1);
    let value = match j.checked_sub(1) {
        None => row.and_then(|row| released.gaps.get(row)),
        Some(column) => row.and_then(|row| released.coefficients.get(row)).and_then(|row| row.get(column)),
    };
    value.copied().unwrap_or(0.0)
}

/// `δ₁₂`, and `δ₂₁` where that is the same.
pub fn names((i, j): Pair) -> Vec<Formula> {
    let delta = |i: usize, j: usize| symbol("δ", format!("{i}{j}"));
    if j == 0 || i == j { vec![delta(i, j)] } else { vec![delta(i, j), delta(j, i)] }
}

/// Tells how the coefficients come about.
pub fn tell(pen: &Pen<'_>, released: &Released, shares: &Shares, pairs: &[Pair], page: &mut Page) {
    let has_table = !shares.pulled.is_empty() && shares.pulled.len() <= MOST_ROWS;
    let all: Vec<(Pair, Vec<Term>)> =
        pairs.iter().map(|pair| (*pair, terms_of(pen, released, shares, *pair))).collect();
    let lines: usize = all.iter().map(|(_, terms)| terms.len()).sum();
    if has_table {
        // Where other terms are told, columns of zeros say nothing.
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
            open.push(single(pen, released, shares, pair, terms, pulled));
            continue;
        }
        if !open.is_empty() {
            page.working(std::mem::take(&mut open));
        }
        page.line(heading(pair));
        page.working(added(pen, released, pair, terms, pulled));
    }
    if !open.is_empty() {
        page.working(open);
    }
}

/// `Terms of δ₁₂ (M₁ with M₂):`
fn heading((i, j): Pair) -> Line {
    let index = |number: usize| symbol("M", number.to_string());
    vec![
        say("Terms of "),
        formula(symbol("δ", format!("{i}{j}"))),
        say(" ("),
        formula(index(j.min(i))),
        say(if i == j { " with itself" } else { " with " }),
        if i == j { say("") } else { formula(index(i.max(j))) },
        say("):"),
    ]
}

/// A coefficient of one term, or of none.
fn single(pen: &Pen<'_>, released: &Released, shares: &Shares, pair: Pair, terms: Vec<Term>, pulled: f64) -> Step {
    let shown = movement(pen, released, pair.0, pair.1, coefficient(released, pair));
    let mut sides = names(pair);
    let (label, remark) = match terms.into_iter().next() {
        Some(term) => {
            if !is_bare(&term.expression) {
                sides.push(term.expression);
            }
            (term.label, "")
        }
        None if pulled != 0.0 => ("axial forces".to_owned(), ""),
        None if shares.pulled.iter().any(|bar| bar.product(released, pair) != 0.0) => {
            ("axial forces".to_owned(), "the terms cancel")
        }
        None => (String::new(), if pair.1 == 0 { "nothing adds to it" } else { "nothing carries both" }),
    };
    sides.push(shown);
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
fn added(pen: &Pen<'_>, released: &Released, pair: Pair, terms: Vec<Term>, pulled: f64) -> Vec<Step> {
    let show = |value: f64| movement(pen, released, pair.0, pair.1, value);
    let mut steps = Vec::new();
    let mut parts = Vec::new();
    for term in terms {
        let shown = show(term.value);
        parts.push(signed(term.value, show(term.value.abs())));
        let sides = if is_bare(&term.expression) { vec![shown] } else { vec![term.expression, shown] };
        steps.push(equation(words(term.label), sides, Vec::new()));
    }
    if pulled != 0.0 {
        parts.push(signed(pulled, show(pulled.abs())));
        steps.push(equation(words("axial forces"), vec![show(pulled)], Vec::new()));
    }
    let mut sides = names(pair);
    sides.extend([sum(parts), show(coefficient(released, pair))]);
    steps.push(equation(words("sum"), sides, Vec::new()));
    steps
}

/// A coefficient as the sum of its parts, of which each is a sum.
fn sums(pen: &Pen<'_>, released: &Released, shares: &Shares, pair: Pair, terms: &[Term]) -> Step {
    let show = |value: f64| movement(pen, released, pair.0, pair.1, value);
    let mut parts = Vec::new();
    let mut said = Vec::new();
    let kinds = [(Kind::Bending, "bending"), (Kind::Spring, "springs"), (Kind::Settlement, "settlements")];
    for (kind, word) in kinds {
        let of_kind = terms.iter().filter(|term| term.kind == kind).map(|term| term.value);
        parts.push((of_kind.sum::<f64>(), word));
    }
    parts.push((shares.axial_sum(released, pair), "axial forces"));
    parts.retain(|(value, _)| *value != 0.0);
    let mut sides = names(pair);
    if parts.len() > 1 {
        said = parts.iter().map(|(_, word)| (*word).to_owned()).collect();
        sides.push(sum(parts.iter().map(|(value, _)| signed(*value, show(value.abs()))).collect()));
    }
    sides.push(show(coefficient(released, pair)));
    equation(Vec::new(), sides, words(listed(&said)))
}

impl Shares {
    /// What axial forces add to a coefficient.
    fn axial_sum(&self, released: &Released, (i, j): Pair) -> f64 {
        let products: Vec<f64> = self.pulled.iter().map(|bar| bar.product(released, (i, j))).collect();
        let size: f64 = products.iter().map(|product| product.abs()).sum();
        let sum: f64 = products.iter().sum();
        if sum.abs() <= NO_SUM * size { 0.0 } else { sum }
    }
}

impl Pulled {
    fn product(&self, released: &Released, (i, j): Pair) -> f64 {
        let free = if j == 0 { self.free } else { 0.0 };
        released.force(i, self.column) * (released.force(j, self.column) * self.give + free)
    }
}

/// What is not axial: bending, springs, settlements.
fn terms_of(pen: &Pen<'_>, released: &Released, shares: &Shares, (i, j): Pair) -> Vec<Term> {
    let mut terms = Vec::new();
    for beam in &shares.beams {
        terms.extend(of_moments(pen, released, beam, (i, j)));
        if j == 0 {
            terms.extend(of_loads(pen, released, beam, i));
        }
    }
    let at = |column: usize| match released.equilibrium.unknowns.get(column) {
        Some(Unknown::Reaction(support, _)) => pen.joint(pen.structure.supports[*support].joint),
        _ => "",
    };
    for column in &shares.springs {
        let (r, s) = (released.force(i, *column), released.force(j, *column));
        if r * s == 0.0 {
            continue;
        }
        let give = released.give.get(*column).copied().unwrap_or(0.0);
        let unit = if released.is_couple(*column) {
            NamedUnit { symbol: format!("{}/rad", pen.moment.symbol), unit: pen.moment.unit.clone() }
        } else {
            pen.line_load.clone()
        };
        let above = if i == j {
            power(force(pen, released, i, *column), 2)
        } else {
            product(vec![force(pen, released, j, *column), force(pen, released, i, *column)])
        };
        let expression = over(above, pen.given(1.0 / give, &unit));
        let expression = sum(vec![signed(r * s, expression)]);
        let label = format!("spring at {}", at(*column));
        terms.push(Term { label, kind: Kind::Spring, expression, value: r * s * give });
    }
    for column in shares.settled.iter().filter(|_| j == 0) {
        let (r, free) = (released.force(i, *column), released.free.get(*column).copied().unwrap_or(0.0));
        if r == 0.0 {
            continue;
        }
        let (shown, what) = if released.is_couple(*column) {
            (Formula::Number { digits: pen.figures(free.abs()), unit: "rad".to_owned() }, "turns")
        } else {
            (pen.given(free.abs(), pen.deflection()), "settles")
        };
        let expression = if is_one(r) && released.turns(i) == released.is_couple(*column) {
            shown
        } else {
            product(vec![force(pen, released, i, *column), shown])
        };
        let expression = sum(vec![signed(r * free, expression)]);
        let label = format!("{} {what}", at(*column));
        terms.push(Term { label, kind: Kind::Settlement, expression, value: r * free });
    }
    terms
}

/// The size of a force or couple under the loads, or under one unit of a
/// redundant, with its unit.
fn force(pen: &Pen<'_>, released: &Released, number: usize, column: usize) -> Formula {
    let size = released.force(number, column).abs();
    let plain = |value: f64, unit: String| Formula::Number { digits: pen.figures(value), unit };
    match (number, released.turns(number), released.is_couple(column)) {
        (0, _, true) => pen.moment(size),
        (0, _, false) => pen.force(size),
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

/// The product of two straight lines of moments along a beam.
fn of_moments(pen: &Pen<'_>, released: &Released, beam: &Beam, (i, j): Pair) -> Option<Term> {
    let ordinates = |number: usize| {
        beam.ends.map(|column| {
            let value = column.map_or(0.0, |column| released.force(number, column));
            Ordinate(value, column.map_or(whole(0), |column| force(pen, released, number, column)))
        })
    };
    let (first, second) = (ordinates(j), ordinates(i));
    let stiffness = flexural(pen, beam.stiffness);
    let (sixths, expression) = straight(pen.length(beam.length), stiffness, first, second, i == j)?;
    let value = sixths * beam.length / (6.0 * beam.stiffness);
    Some(Term { label: pen.structure.member_name(beam.member), kind: Kind::Bending, expression, value })
}

/// `2 a a′ + a b′ + b a′ + 2 b b′`, and the term written as simply as the
/// ordinates allow; `None` where one line is zero.
fn straight(
    length: Formula,
    stiffness: Formula,
    [a, b]: [Ordinate; 2],
    [c, d]: [Ordinate; 2],
    is_square: bool,
) -> Option<(f64, Formula)> {
    let sixths = 2.0 * a.0 * c.0 + a.0 * d.0 + b.0 * c.0 + 2.0 * b.0 * d.0;
    let below =
        |times: i64| if times == 1 { stiffness.clone() } else { product(vec![whole(times), stiffness.clone()]) };
    let over = |above: Formula, times: i64| over(above, below(times));
    let level = |[a, b]: [&Ordinate; 2]| (a.0 - b.0).abs() <= NO_PART * a.0.abs();
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
    let none = |[a, b]: [&Ordinate; 2]| a.0 == 0.0 && b.0 == 0.0;
    let (m, n) = ([&a, &b], [&c, &d]);
    if none(m) || none(n) {
        return None;
    }
    let with = |times: i64, sign: f64, factors: Vec<Formula>| {
        let above = product(std::iter::once(length.clone()).chain(factors).collect());
        sum(vec![signed(sign, over(above, times))])
    };
    let expression = match (one(m), one(n)) {
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
    };
    Some((sixths, expression))
}

/// What the loads between a beam's joints add: the turns of its ends as a
/// simple span times the moments there.
fn of_loads(pen: &Pen<'_>, released: &Released, beam: &Beam, i: usize) -> Option<Term> {
    let mut parts = Vec::new();
    let mut value = 0.0;
    for column in beam.ends.iter().flatten() {
        let turn = released.free.get(*column).copied().unwrap_or(0.0);
        let part = turn * released.force(i, *column);
        if part != 0.0 {
            parts.push(signed(part, product(vec![turned(pen, turn.abs()), force(pen, released, i, *column)])));
            value += part;
        }
    }
    let label = format!("load on {}", pen.structure.member_name(beam.member));
    (!parts.is_empty()).then(|| Term { label, kind: Kind::Bending, expression: sum(parts), value })
}

/// An angle.
pub fn turned(pen: &Pen<'_>, radians: f64) -> Formula {
    let digits = pen.figures(radians);
    let unit = if digits == "0" { String::new() } else { "rad".to_owned() };
    Formula::Number { digits, unit }
}

/// `6300 kN·m²`
pub fn flexural(pen: &Pen<'_>, stiffness: f64) -> Formula {
    pen.given(stiffness, &pen.unit(crate::quantity::Dimension::BENDING_STIFFNESS))
}

type Cell<'a> = Box<dyn Fn(&Pulled) -> Line + 'a>;

/// How one column of the table of axial forces is headed and filled.
struct Column<'a> {
    heading: Line,
    cell: Cell<'a>,
    foot: Line,
}

/// The axial forces of all members and their products.
fn axial(pen: &Pen<'_>, released: &Released, shares: &Shares, pairs: &[Pair]) -> Vec<Table> {
    let bare = |value: f64| vec![formula(Formula::Number { digits: pen.figures(value), unit: String::new() })];
    let [moves, force, length] =
        [&pen.deflection().unit, &pen.force.unit, &pen.length.unit].map(|unit| unit.factor.to_f64());
    let (moved, pulled) = (&pen.deflection().symbol, &pen.force.symbol);
    let mut factors: Vec<Column<'_>> = Vec::new();
    fn column(heading: Line, cell: Cell<'_>) -> Column<'_> {
        Column { heading, cell, foot: Vec::new() }
    }
    if pairs.iter().any(|(_, j)| *j > 0) {
        let shown = move |bar: &Pulled| vec![formula(unitless(pen.length(pen.structure.member_length(bar.member))))];
        factors.push(column(words(format!("L {}", pen.length.symbol)), Box::new(shown)));
        let shown = move |bar: &Pulled| {
            let long = pen.structure.member_length(bar.member);
            if bar.give == 0.0 {
                words("rigid")
            } else {
                vec![formula(unitless(pen.given(long / bar.give, &pen.force)))]
            }
        };
        factors.push(column(words(format!("EA {pulled}")), Box::new(shown)));
    }
    factors.push(column(words(format!("L/EA {moved}/{pulled}")), Box::new(move |bar| bare(bar.give / moves * force))));
    for number in 0..=released.degree() {
        let (scale, unit) = match (number, released.turns(number)) {
            (0, _) => (1.0 / force, format!(" {pulled}")),
            (_, true) => (length, format!(" 1/{}", pen.length.symbol)),
            _ => (1.0, String::new()),
        };
        let shown = move |bar: &Pulled| bare(released.force(number, bar.column) * scale);
        factors.push(column(vec![formula(symbol("N", number.to_string())), say(unit)], Box::new(shown)));
    }
    if shares.pulled.iter().any(|bar| bar.free != 0.0) {
        factors.push(column(words(format!("ΔL {moved}")), Box::new(move |bar| bare(bar.free / moves))));
    }
    let products = pairs.iter().map(|pair| {
        let (scale, unit) = scale(pen, released, *pair);
        let heading = vec![say("to "), formula(symbol("δ", format!("{}{}", pair.0, pair.1))), say(format!(" {unit}"))];
        let pair = *pair;
        let cell = move |bar: &Pulled| bare(bar.product(released, pair) * scale);
        Column { heading, cell: Box::new(cell), foot: bare(shares.axial_sum(released, pair) * scale) }
    });
    let products: Vec<Column<'_>> = products.collect();
    let rows: Vec<&Pulled> = shares.pulled.iter().collect();
    if 1 + factors.len() + products.len() <= WIDEST {
        factors.extend(products);
        return vec![table(pen, released, &rows, &factors)];
    }
    let mut tables = vec![table(pen, released, &rows, &factors)];
    let count = products.len().div_ceil(MOST_PRODUCTS).max(1);
    for (chunk, of_chunk) in
        products.chunks(products.len().div_ceil(count)).zip(pairs.chunks(products.len().div_ceil(count)))
    {
        let has_any = |bar: &&Pulled| of_chunk.iter().any(|pair| bar.product(released, *pair) != 0.0);
        let rows: Vec<&Pulled> = rows.iter().copied().filter(has_any).collect();
        if !rows.is_empty() {
            tables.push(table(pen, released, &rows, chunk));
        }
    }
    tables
}

/// In which unit the table tells a product, and how many of it one unit of the
/// International System is.
fn scale(pen: &Pen<'_>, released: &Released, (i, j): Pair) -> (f64, String) {
    let [moves, force, length] =
        [&pen.deflection().unit, &pen.force.unit, &pen.length.unit].map(|unit| unit.factor.to_f64());
    let (moved, pulled, long) = (&pen.deflection().symbol, &pen.force.symbol, &pen.length.symbol);
    let moment = &pen.moment.symbol;
    match (released.turns(i), j, released.turns(j)) {
        (false, 0, _) => (1.0 / moves, moved.clone()),
        (false, _, false) => (force / moves, format!("{moved}/{pulled}")),
        (true, 0, _) if moved == long => (1.0, "rad".to_owned()),
        (true, 0, _) => (length / moves, format!("{moved}/{long}")),
        (false, _, true) | (true, _, false) => (force * length / moves, format!("{moved}/({moment})")),
        (true, _, true) => (force * length * length / moves, format!("{moved}/({moment}²)")),
    }
}

fn table(pen: &Pen<'_>, released: &Released, rows: &[&Pulled], columns: &[Column<'_>]) -> Table {
    let has_beams = rows.iter().any(|bar| is_beam(pen, bar.member));
    let first = TableColumn { heading: words(if has_beams { "member" } else { "bar" }), align: Align::Left };
    let rest = columns.iter().map(|column| TableColumn { heading: column.heading.clone(), align: Align::Point });
    let cells = |bar: &&Pulled| {
        let own = vec![formula(name(pen, released, bar.column))];
        std::iter::once(own).chain(columns.iter().map(|column| (column.cell)(bar))).collect()
    };
    let has_foot = columns.iter().any(|column| !column.foot.is_empty());
    let foot = std::iter::once(words("sum")).chain(columns.iter().map(|column| column.foot.clone()));
    Table {
        caption: Vec::new(),
        columns: std::iter::once(first).chain(rest).collect(),
        rows: rows.iter().map(cells).collect(),
        foot: if has_foot { foot.collect() } else { Vec::new() },
    }
}
