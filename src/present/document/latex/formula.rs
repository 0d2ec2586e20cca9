//! Formulae in LaTeX mathematics, and where a line of them may be broken.
//!
//! Must not know: pages.

use crate::present::document::Formula;
use crate::present::document::formula::{self, Argument, Notation};
use crate::present::escape::latex::{greek, text};

/// A formula between dollar signs.
pub fn inline(formula: &Formula) -> String {
    format!("${}$", plain(formula))
}

/// A formula where mathematics is set already.
pub fn plain(formula: &Formula) -> String {
    formula::set::<Tex>(formula)
}

/// The terms of a side, each with its sign: lines may end between them.
pub fn terms(formula: &Formula) -> Vec<(String, usize)> {
    formula::terms::<Tex>(formula).into_iter().map(|(part, term)| (part, width(term) + 2)).collect()
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
        Formula::Root(inner) => width(inner) + 2,
        Formula::Power(base, _) => width(base) + 1,
        Formula::Function(name, inner) => name.len() + 1 + width(inner),
        Formula::Struck(inner) => width(inner),
    }
}

struct Tex;

impl Notation for Tex {
    const TIMES: &'static str = " \\times ";
    const PLUS: &'static str = " + ";
    const MINUS: &'static str = " - ";
    const NEGATIVE: &'static str = "-";
    const BRACKETS: [&'static str; 2] = ["\\left(", "\\right)"];
    const STRUCK: [&'static str; 2] = ["\\left[", "\\right]"];

    fn symbol(letter: &str, subscript: &str) -> String {
        if subscript.is_empty() {
            return letters(letter);
        }
        format!("{}_{{{}}}", letters(letter), subscript_of(subscript))
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

    fn fraction(above: &str, below: &str) -> String {
        format!("\\frac{{{above}}}{{{below}}}")
    }

    fn slashed(above: &str, below: &str) -> String {
        format!("{above}/{below}")
    }

    fn root(inside: &str) -> String {
        format!("\\sqrt{{{inside}}}")
    }

    fn power(base: &str, exponent: i32) -> String {
        format!("{{{base}}}^{{{exponent}}}")
    }

    fn function(name: &str, inside: &str, _: Argument) -> String {
        format!("\\{name} {inside}")
    }
}

/// Letters slant; what is no Latin or Greek letter is set as text.
fn letters(letter: &str) -> String {
    letter
        .chars()
        .map(|c| match greek(c) {
            // A command of letters ends with a blank.
            Some(command) if command.starts_with('\\') && !command.ends_with('}') => format!("{command} "),
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
