//! The answers in one place: reactions and bar forces, and their exact values
//! where everything given is rational and the fraction can be read.
//!
//! Must not know: how they were found.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive, Zero};

use crate::base::MemberId;
use crate::present::document::{Align, Block, Line, Table, TableColumn, words};
use crate::quantity::{NamedUnit, Number};
use crate::statics::exact::{ExactForces, Inexact, solve_exactly};
use crate::statics::{CaseResult, Equilibrium, Verdict, VerdictKind};
use crate::syntax::tree::MemberKind;

use super::loads::unitless;
use super::pen::{Pen, formula, symbol};

/// Fractions with a larger denominator are shown as decimals only.
pub const LARGEST_DENOMINATOR: i64 = 1000;
/// Nor are larger numerators or numbers under a root easy to read.
const LARGEST_NUMBER: i64 = 1_000_000;
/// Decimals of at most so many places are exact as they stand.
const MOST_PLACES: u32 = 4;

/// Tables of the answers.
pub fn tell(pen: &Pen<'_>, verdict: &Verdict, result: &CaseResult, only: Option<MemberId>, blocks: &mut Vec<Block>) {
    let structure = pen.structure;
    let exact = (verdict.kind == VerdictKind::Determinate)
        .then(|| solve_exactly(structure, &Equilibrium::of(structure), &result.subject.factors(structure)));
    blocks.push(Block::Heading { level: 2, text: words("Answers") });
    match &exact {
        Some(Ok(_)) => blocks.push(Block::Paragraph(words(
            "All that is given is rational, so the structure was solved over the fractions as well. Put back into the \
             equations, these values leave nothing over: the residual is exactly 0.",
        ))),
        Some(Err(Inexact::Loads)) => blocks.push(Block::Paragraph(words(
            "No exact values: the loads are not all rational (an angle, or a length that is a root).",
        ))),
        Some(Err(Inexact::Layout)) => blocks.push(Block::Paragraph(words(
            "No exact values: the coordinates are not all rational (an angle or a root).",
        ))),
        Some(Err(Inexact::Supports)) => blocks.push(Block::Paragraph(words(
            "No exact values: the slope of a roller or guide is not rational (an angle).",
        ))),
        Some(Err(Inexact::TooLarge | Inexact::NotDeterminate)) | None => {}
    }
    let exact = exact.and_then(Result::ok);
    blocks.push(Block::Table(reactions(pen, result, exact.as_ref())));
    let bars: Vec<MemberId> = (0..structure.members.len())
        .map(MemberId::new)
        .filter(|id| structure.member(*id).is_some_and(|member| member.kind != MemberKind::Beam))
        .filter(|id| only.is_none_or(|only| only == *id))
        .collect();
    if !bars.is_empty() {
        blocks.push(Block::Table(bar_forces(pen, result, exact.as_ref(), &bars)));
    }
}

fn column(heading: impl Into<String>, align: Align) -> TableColumn {
    TableColumn { heading: words(heading), align }
}

fn finished(mut columns: Vec<TableColumn>, mut rows: Vec<Vec<Line>>) -> Table {
    // A column of exact values none of which can be read says nothing.
    if rows.iter().all(|row| row.last().is_none_or(Vec::is_empty)) {
        columns.pop();
        rows.iter_mut().for_each(|row| {
            row.pop();
        });
    }
    Table { caption: Vec::new(), columns, rows, foot: Vec::new() }
}

fn reactions(pen: &Pen<'_>, result: &CaseResult, exact: Option<&ExactForces>) -> Table {
    let mut rows = Vec::new();
    for (index, (support, reaction)) in pen.structure.supports.iter().zip(&result.reactions).enumerate() {
        let joint = pen.joint(support.joint);
        let own = exact.and_then(|exact| exact.reactions.get(index));
        for (which, part) in [reaction.fx, reaction.fy, reaction.m].into_iter().enumerate() {
            let Some(value) = part else { continue };
            let (name, unit, arrows) = match which {
                0 => (symbol(joint, "x"), &pen.force, ["→", "←"]),
                1 => (symbol(joint, "y"), &pen.force, ["↑", "↓"]),
                _ => (symbol("M", joint), &pen.moment, ["↺", "↻"]),
            };
            let value = if which == 2 { pen.quiet_moment(value) } else { pen.quiet(value) };
            let [plus, minus] = arrows;
            let arrow = if value == 0.0 {
                ""
            } else if value > 0.0 {
                plus
            } else {
                minus
            };
            let exactly = own.and_then(|own| own.get(which)).and_then(Option::as_ref);
            let turned = which == 2 && pen.structure.turning_sign() < 0.0;
            let exactly = exactly.and_then(|value| {
                let value = if turned { -value } else { value.clone() };
                rational(&value, unit, &pen.length)
            });
            let exactly = exactly.map_or_else(Vec::new, words);
            rows.push(vec![
                vec![formula(name)],
                vec![formula(unitless(
                    pen.result(if which == 2 { pen.structure.turning(value) } else { value }, unit),
                ))],
                words(unit.symbol.clone()),
                words(arrow),
                exactly,
            ]);
        }
    }
    let columns = vec![
        column("reaction", Align::Left),
        column("", Align::Point),
        column("", Align::Left),
        column("", Align::Left),
        column("exactly", Align::Left),
    ];
    finished(columns, rows)
}

fn bar_forces(pen: &Pen<'_>, result: &CaseResult, exact: Option<&ExactForces>, bars: &[MemberId]) -> Table {
    let mut rows = Vec::new();
    for bar in bars {
        let value = pen.quiet(result.axial.get(bar.index()).copied().unwrap_or(0.0));
        let sense = if value == 0.0 {
            ""
        } else if value > 0.0 {
            "T"
        } else {
            "C"
        };
        let exactly = exact.and_then(|exact| {
            force(exact.densities.get(bar.index())?, exact.squares.get(bar.index())?, &pen.force, &pen.length)
        });
        rows.push(vec![
            words(pen.structure.member_name(*bar)),
            vec![formula(unitless(pen.force(value.abs())))],
            words(pen.force.symbol.clone()),
            words(sense),
            exactly.map_or_else(Vec::new, words),
        ]);
    }
    let columns = vec![
        column("bar", Align::Left),
        column("", Align::Point),
        column("", Align::Left),
        column("", Align::Left),
        column("exactly", Align::Left),
    ];
    finished(columns, rows)
}

fn factor(unit: &NamedUnit) -> Option<BigRational> {
    match &unit.unit.factor {
        Number::Exact(value) => Some(value.to_big()),
        _ => None,
    }
}

/// `212 1/2 lbf` from SI; `None` where the fraction is not easily read.
fn rational(value: &BigRational, unit: &NamedUnit, length: &NamedUnit) -> Option<String> {
    let number = readable(&(value / factor(unit)?), is_of_feet(length))?;
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
        readable(&share, is_of_feet(length))?
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

/// Feet and inches go with halves and quarters, metres with decimals.
fn is_of_feet(length: &NamedUnit) -> bool {
    matches!(length.symbol.as_str(), "ft" | "in" | "yd" | "mi")
}

/// A whole number, a short decimal, or a whole number and a fraction.
fn readable(value: &BigRational, with_fractions: bool) -> Option<String> {
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
    let is_plain_fraction = with_fractions && matches!(below, 2 | 4 | 8 | 16);
    if decimal % below == 0 && !is_plain_fraction {
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
    fn fractions_are_written_as_the_units_go() {
        assert_eq!(readable(&ratio(425, 2), true).unwrap(), "212 1/2");
        assert_eq!(readable(&ratio(425, 2), false).unwrap(), "212.5");
        assert_eq!(readable(&ratio(-7, 3), false).unwrap(), "−2 1/3");
        assert_eq!(readable(&ratio(1, 3), false).unwrap(), "1/3");
        assert_eq!(readable(&ratio(0, 1), false).unwrap(), "0");
        assert_eq!(readable(&ratio(-9, 1), true).unwrap(), "−9");
        assert_eq!(readable(&ratio(1, 1001), false), None);
    }

    #[test]
    fn roots_are_simplified() {
        assert_eq!(simplify(52), (2, 13));
        assert_eq!(simplify(36), (6, 1));
        assert_eq!(simplify(1), (1, 1));
        assert_eq!(simplify(3557), (1, 3557));
    }
}
