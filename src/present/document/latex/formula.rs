//! Formulae in LaTeX mathematics, and where a line of them may be broken.
//!
//! Must not know: pages.

use super::characters::{greek, text};
use crate::present::document::{Formula, Sign};

/// A formula between dollar signs.
pub fn inline(formula: &Formula) -> String {
    format!("${}$", plain(formula))
}

/// A formula where mathematics is set already.
pub fn plain(formula: &Formula) -> String {
    row(formula, Place::Alone, Depth::Outer)
}

/// The terms of a side, each with its sign: lines may end between them.
pub fn terms(formula: &Formula) -> Vec<(String, usize)> {
    let parts: Vec<(String, &Formula)> = match formula {
        Formula::Sum(terms) => {
            let each = terms.iter().enumerate();
            each.map(|(index, (sign, term))| (signed(index, *sign, term, Depth::Outer), term)).collect()
        }
        other => vec![(row(other, Place::Alone, Depth::Outer), other)],
    };
    parts.into_iter().map(|(part, term)| (part, width(term) + 2)).collect()
}

/// About how many letters wide it is set: a fraction is as wide as its wider part.
pub fn width(formula: &Formula) -> usize {
    match formula {
        Formula::Symbol { letter, subscript } => letter.chars().count() + subscript.chars().count().div_ceil(2),
        Formula::Number { digits, unit } => {
            digits.chars().count() + if unit.is_empty() { 0 } else { 1 + unit.chars().count() }
        }
        Formula::Sum(terms) => terms.iter().map(|(_, term)| width(term) + 2).sum(),
        Formula::Product(factors) => factors.iter().map(|factor| width(factor) + 2).sum(),
        Formula::Fraction(above, below) => width(above).max(width(below)) + 1,
        Formula::Root(inner) | Formula::Group(inner) => width(inner) + 2,
        Formula::Power(base, _) => width(base) + 1,
        Formula::Function(name, inner) => name.len() + 1 + width(inner),
        Formula::Struck(inner) => width(inner),
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    Alone,
    /// After a sign or beside a factor.
    Beside,
    Operand,
}

/// Whether a bar is drawn around it already: a fraction inside a fraction is
/// written with a slash, or it would be too small to read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Depth {
    Outer,
    Inner,
}

fn row(formula: &Formula, place: Place, depth: Depth) -> String {
    match formula {
        Formula::Symbol { letter, subscript } if subscript.is_empty() => letters(letter),
        Formula::Symbol { letter, subscript } => format!("{}_{{{}}}", letters(letter), subscript_of(subscript)),
        Formula::Number { digits, unit } => {
            let is_negative = digits.starts_with(['-', '−']);
            let clashes = match place {
                Place::Alone => false,
                Place::Beside => is_negative,
                Place::Operand => is_negative || !unit.is_empty(),
            };
            let text = number(digits, unit);
            if clashes { bracketed(&text) } else { text }
        }
        Formula::Sum(terms) => {
            if let [(Sign::Plus, only)] = terms.as_slice() {
                return row(only, place, depth);
            }
            let each = terms.iter().enumerate();
            let text: String = each.map(|(index, (sign, term))| signed(index, *sign, term, depth)).collect();
            if place == Place::Alone { text } else { bracketed(&text) }
        }
        Formula::Product(factors) => {
            let inner = if factors.len() > 1 { Place::Beside } else { place };
            let part = |(index, factor): (usize, &Formula)| {
                let is_first = index == 0 && place == Place::Alone && matches!(factor, Formula::Number { .. });
                row(factor, if is_first { Place::Alone } else { inner }, depth)
            };
            let text = factors.iter().enumerate().map(part).collect::<Vec<_>>().join(" \\times ");
            if place == Place::Operand && factors.len() > 1 { bracketed(&text) } else { text }
        }
        Formula::Fraction(above, below) => {
            let text = match depth {
                Depth::Outer => format!(
                    "\\frac{{{}}}{{{}}}",
                    row(above, Place::Alone, Depth::Inner),
                    row(below, Place::Alone, Depth::Inner)
                ),
                Depth::Inner => format!("{}/{}", row(above, Place::Beside, depth), row(below, Place::Operand, depth)),
            };
            if place == Place::Operand { bracketed(&text) } else { text }
        }
        Formula::Root(inner) => format!("\\sqrt{{{}}}", row(inner, Place::Alone, depth)),
        Formula::Power(base, exponent) => format!("{{{}}}^{{{exponent}}}", row(base, Place::Operand, depth)),
        Formula::Function(name, inner) => {
            let is_simple = matches!(**inner, Formula::Symbol { .. } | Formula::Number { .. } | Formula::Group(_));
            let inside = row(inner, if is_simple { Place::Alone } else { Place::Operand }, depth);
            let text = format!("\\{name} {inside}");
            if place == Place::Operand { bracketed(&text) } else { text }
        }
        Formula::Group(inner) => bracketed(&row(inner, Place::Alone, depth)),
        Formula::Struck(inner) => format!("\\left[{}\\right]", row(inner, Place::Alone, depth)),
    }
}

fn signed(index: usize, sign: Sign, term: &Formula, depth: Depth) -> String {
    match (index, sign) {
        (0, Sign::Plus) => row(term, if matches!(term, Formula::Sum(_)) { Place::Beside } else { Place::Alone }, depth),
        (0, Sign::Minus) => format!("-{}", row(term, Place::Beside, depth)),
        (_, Sign::Plus) => format!(" + {}", row(term, Place::Beside, depth)),
        (_, Sign::Minus) => format!(" - {}", row(term, Place::Beside, depth)),
    }
}

fn bracketed(inside: &str) -> String {
    format!("\\left({inside}\\right)")
}

/// Letters slant; what is no Latin or Greek letter is set as text.
fn letters(letter: &str) -> String {
    letter
        .chars()
        .map(|c| match greek(c) {
            Some(command) => command.to_owned(),
            None if c.is_ascii_alphanumeric() => c.to_string(),
            None => format!("\\text{{{}}}", text(&c.to_string())),
        })
        .collect()
}

/// One letter slants (`C_y`), names of joints stand upright (`F_AB`).
fn subscript_of(name: &str) -> String {
    let mut chars = name.chars();
    match (chars.next(), chars.next()) {
        (Some('x' | 'y'), None) => name.to_owned(),
        (Some(c), None) if greek(c).is_some() => letters(name),
        _ => format!("\\text{{{}}}", text(name)),
    }
}

fn number(digits: &str, unit: &str) -> String {
    let digits = digits.replace('−', "-");
    // A comma or a point stands between figures, not between numbers.
    let digits: String = digits
        .chars()
        .map(|c| {
            if c.is_ascii_digit() || matches!(c, '.' | '-') {
                c.to_string()
            } else {
                format!("\\text{{{}}}", text(&c.to_string()))
            }
        })
        .collect();
    match unit {
        "" => digits,
        "°" => format!("{digits}^\\circ "),
        unit => format!("{digits}\\,\\text{{{}}}", text(unit)),
    }
}
