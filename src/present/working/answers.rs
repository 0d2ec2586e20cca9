//! The answers in one place: reactions and bar forces, and their exact values
//! where everything given is rational and the fraction can be read.
//!
//! Must not know: how they were found.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive, Zero};

use crate::base::{IdVec, MemberId, SupportId};
use crate::present::document::{Align, Formula, Line, Table, TableColumn, words};
use crate::present::results::beams::pinned;
use crate::quantity::{NamedUnit, Number};
use crate::statics::exact::{ExactForces, Inexact, solve_exactly};
use crate::statics::{CaseResult, Component, Equilibrium, Reaction, Verdict, VerdictKind};

use super::pen::{Page, Pen, column, formula, symbol, table, unitless};

/// Fractions with a larger denominator are shown as decimals only.
pub const LARGEST_DENOMINATOR: i64 = 1000;
/// Nor are larger numerators or numbers under a root easy to read.
const LARGEST_NUMBER: i64 = 1_000_000;
/// Decimals of at most so many places are exact as they stand.
const MOST_PLACES: u32 = 4;

/// Tables of the answers.
pub fn tell(pen: &Pen<'_>, verdict: &Verdict, result: &CaseResult, only: Option<MemberId>, page: &mut Page) {
    let structure = pen.structure;
    let exact = (verdict.kind == VerdictKind::Determinate)
        .then(|| solve_exactly(structure, &Equilibrium::of(structure), &result.subject.factors(structure)));
    page.heading(2, "Answers");
    match &exact {
        Some(Ok(_)) => page.say(
            "All data are rational, so the structure was also solved in exact fractions. Equilibrium check: satisfied exactly.",
        ),
        Some(Err(Inexact::Loads)) => {
            page.say("No exact values: the loads are not all rational (an angle, or a length that is a root).");
        }
        Some(Err(Inexact::Layout)) => {
            page.say("No exact values: the coordinates are not all rational (an angle or a root).");
        }
        Some(Err(Inexact::Supports)) => {
            page.say("No exact values: the slope of a roller or guide is not rational (an angle).");
        }
        Some(Err(Inexact::TooLarge | Inexact::NotDeterminate)) | None => {}
    }
    let exact = exact.and_then(Result::ok);
    page.table(reactions(pen, result, exact.as_ref()));
    let mut bars = pinned(structure);
    bars.retain(|bar| only.is_none_or(|only| only == *bar));
    if !bars.is_empty() {
        page.table(bar_forces(pen, result, exact.as_ref(), &bars));
    }
}

/// A component of a reaction: along x, along y, or a couple counterclockwise.
pub struct Part {
    pub support: SupportId,
    pub component: Component,
    pub value: f64,
}

/// What each support gives.
pub fn parts(reactions: &IdVec<SupportId, Reaction>) -> impl Iterator<Item = Part> + '_ {
    reactions.entries().flat_map(|(support, Reaction { fx, fy, m })| {
        let parts = [(Component::X, *fx), (Component::Y, *fy), (Component::Turn, *m)];
        parts.into_iter().filter_map(move |(component, value)| Some(Part { support, component, value: value? }))
    })
}

impl Part {
    fn is_couple(&self) -> bool {
        self.component == Component::Turn
    }

    pub fn unit<'a>(&self, pen: &'a Pen<'_>) -> &'a NamedUnit {
        if self.is_couple() { &pen.moment } else { &pen.force }
    }

    /// `A_x`, whichever way the line of a roller runs.
    pub fn name(&self, pen: &Pen<'_>) -> Formula {
        let joint = pen.joint(pen.structure.supports[self.support].joint);
        match self.component {
            Component::X => symbol(joint, "x"),
            Component::Turn => symbol("M", joint),
            Component::Y | Component::Normal => symbol(joint, "y"),
        }
    }

    /// A value of it as a number.
    pub fn shown(&self, pen: &Pen<'_>, value: f64) -> Line {
        vec![formula(unitless(if self.is_couple() { pen.moment(value) } else { pen.force(value) }))]
    }

    /// Its value with the sign convention of the page.
    pub fn signed(&self, pen: &Pen<'_>) -> Line {
        self.shown(pen, if self.is_couple() { pen.structure.turning(self.value) } else { self.value })
    }
}

/// A table of answers: what, how much, its unit, its sense, and its exact value.
fn answers(what: &str, mut rows: Vec<Vec<Line>>) -> Table {
    let blank = |align| column("", align);
    let mut columns: Vec<TableColumn> =
        vec![column(what, Align::Left), blank(Align::Point), blank(Align::Left), blank(Align::Left)];
    // A column of exact values none of which can be read says nothing.
    if rows.iter().any(|row| row.last().is_some_and(|exactly| !exactly.is_empty())) {
        columns.push(column("exactly", Align::Left));
    } else {
        rows.iter_mut().for_each(|row| row.truncate(columns.len()));
    }
    table(columns, rows)
}

fn reactions(pen: &Pen<'_>, result: &CaseResult, exact: Option<&ExactForces>) -> Table {
    let row = |part: Part| {
        let (which, [plus, minus]) = match part.component {
            Component::X => (0, ["→", "←"]),
            Component::Y | Component::Normal => (1, ["↑", "↓"]),
            Component::Turn => (2, ["↺", "↻"]),
        };
        let value = if part.is_couple() { pen.quiet_moment(part.value) } else { pen.quiet(part.value) };
        let arrow = match value {
            0.0 => "",
            value if value > 0.0 => plus,
            _ => minus,
        };
        let exactly = exact.and_then(|exact| exact.reactions[part.support].get(which)?.as_ref());
        let exactly = exactly.and_then(|value| rational(&value.abs(), part.unit(pen)));
        vec![
            vec![formula(part.name(pen))],
            part.shown(pen, value.abs()),
            words(part.unit(pen).symbol.clone()),
            words(arrow),
            exactly.map_or_else(Vec::new, words),
        ]
    };
    answers("reaction", parts(&result.reactions).map(row).collect())
}

fn bar_forces(pen: &Pen<'_>, result: &CaseResult, exact: Option<&ExactForces>, bars: &[MemberId]) -> Table {
    let row = |bar: &MemberId| {
        let value = pen.quiet(result.axial[*bar]);
        let sense = match value {
            0.0 => "",
            value if value > 0.0 => "T",
            _ => "C",
        };
        let exactly =
            exact.and_then(|exact| force(&exact.densities[*bar], &exact.squares[*bar], &pen.force, &pen.length));
        vec![
            words(pen.structure.member_name(*bar)),
            vec![formula(unitless(pen.force(value.abs())))],
            words(pen.force.symbol.clone()),
            words(sense),
            exactly.map_or_else(Vec::new, words),
        ]
    };
    answers("bar", bars.iter().map(row).collect())
}

fn factor(unit: &NamedUnit) -> Option<BigRational> {
    match &unit.unit.factor {
        Number::Exact(value) => Some(value.to_big()),
        _ => None,
    }
}

/// `212.5 lbf` from SI; `None` where the fraction is not easily read.
fn rational(value: &BigRational, unit: &NamedUnit) -> Option<String> {
    let number = readable(&(value / factor(unit)?))?;
    Some(with_unit(number, unit))
}

/// `90√13 lbf` for the size of a force of this density in a member of this
/// squared length.
fn force(density: &BigRational, square: &BigRational, unit: &NamedUnit, length: &NamedUnit) -> Option<String> {
    let metres = factor(length)?;
    let density = (density * &metres / factor(unit)?).abs();
    let square = square / (&metres * &metres);
    if density.is_zero() {
        return Some("0".to_owned());
    }
    // √(p/q) = √(p q) / q
    let under = (square.numer() * square.denom()).to_i64().filter(|under| *under < 1_i64 << 40)?;
    let (outside, inside) = simplify(under);
    let share = density * BigRational::new(BigInt::from(outside), square.denom().clone());
    let fits = |value: &BigInt, most: i64| value.to_i64().is_some_and(|value| value.abs() <= most);
    let number = if inside == 1 {
        readable(&share)?
    } else {
        if inside > LARGEST_NUMBER || !fits(share.numer(), LARGEST_NUMBER) || !fits(share.denom(), LARGEST_DENOMINATOR)
        {
            return None;
        }
        match (share.numer().to_i64()?, share.denom().to_i64()?) {
            (1, 1) => format!("√{inside}"),
            (above, 1) => format!("{above}√{inside}"),
            (1, below) => format!("√{inside}/{below}"),
            (above, below) => format!("{above}√{inside}/{below}"),
        }
    };
    Some(with_unit(number, unit))
}

fn with_unit(number: String, unit: &NamedUnit) -> String {
    if number == "0" { number } else { crate::quantity::format::with_symbol(&number, &unit.symbol) }
}

/// The square factor taken out of a whole number: 52 is 2² × 13.
fn simplify(mut under: i64) -> (i64, i64) {
    let (mut outside, mut divisor) = (1, 2);
    while divisor * divisor <= under && divisor < 100_000 {
        while under % (divisor * divisor) == 0 {
            under /= divisor * divisor;
            outside *= divisor;
        }
        divisor += 1;
    }
    (outside, under)
}

/// A whole number, a short decimal, or a whole number and a fraction.
fn readable(value: &BigRational) -> Option<String> {
    let (above, below) = (value.numer().to_i64()?, value.denom().to_i64()?);
    let minus = if above < 0 { "−" } else { "" };
    let size = above.checked_abs()?;
    if size / below > LARGEST_NUMBER {
        return None;
    }
    let (units, rest) = (size / below, size % below);
    if rest == 0 {
        return Some(format!("{minus}{units}"));
    }
    let decimal = 10_i64.pow(MOST_PLACES);
    if decimal % below == 0 {
        let digits = format!("{:0width$}", rest * (decimal / below), width = MOST_PLACES as usize);
        return Some(format!("{minus}{units}.{}", digits.trim_end_matches('0')));
    }
    if below > LARGEST_DENOMINATOR {
        return None;
    }
    Some(if units == 0 { format!("{minus}{rest}/{below}") } else { format!("{minus}{units} {rest}/{below}") })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn ratio(above: i64, below: i64) -> BigRational {
        BigRational::new(above.into(), below.into())
    }

    #[test]
    fn decimals_where_they_are_exact() {
        assert_eq!(readable(&ratio(425, 2)).unwrap(), "212.5");
        assert_eq!(readable(&ratio(-7, 3)).unwrap(), "−2 1/3");
        assert_eq!(readable(&ratio(1, 3)).unwrap(), "1/3");
        assert_eq!(readable(&ratio(0, 1)).unwrap(), "0");
        assert_eq!(readable(&ratio(-9, 1)).unwrap(), "−9");
        assert_eq!(readable(&ratio(1, 1001)), None);
    }

    #[test]
    fn roots_are_simplified() {
        assert_eq!(simplify(52), (2, 13));
        assert_eq!(simplify(36), (6, 1));
        assert_eq!(simplify(1), (1, 1));
        assert_eq!(simplify(3557), (1, 3557));
    }
}
