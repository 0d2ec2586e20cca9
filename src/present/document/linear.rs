//! A formula on one line of plain characters: `310 lbf × 3 ft / 12 ft`,
//! `√((3 m)² + (4 m)²)`, `A_x`.
//!
//! A fraction becomes `a / b`, with the brackets that keep its meaning.
//! Subscripts of digits alone are set low (`R₁`), all others follow `_`, since
//! too few letters exist as small low ones.
//!
//! Must not know: pages, how wide they are.

use super::{Formula, Inline, Line, Sign};
use crate::base::{unheeded, visible};

/// A space at which no line may end.
pub const TIED: char = '\u{a0}';

/// The formula on one line. Spaces at which it may be broken stand before an
/// operator; all others are [`TIED`].
pub fn formula(formula: &Formula) -> String {
    write(formula, Place::Alone)
}

/// The words of a line, formulae among them, nothing invisible.
pub fn line(line: &Line) -> String {
    let mut text = String::new();
    for inline in line {
        match inline {
            Inline::Words(words) | Inline::Strong(words) | Inline::Code(words) => text.push_str(&plain(words)),
            Inline::Judged(judgement, words) => text.push_str(&format!("{}{TIED}{}", judgement.mark(), plain(words))),
            Inline::Formula(inner) => text.push_str(&formula(inner)),
        }
    }
    text
}

/// One line of visible characters, no word of it a command to what reads it.
pub fn plain(words: &str) -> String {
    unheeded(&words.chars().map(|c| if matches!(c, '\n' | '\t') { ' ' } else { visible(c) }).collect::<String>())
}

/// What stands around a formula, and so what it needs brackets for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    Alone,
    FirstTerm,
    /// After a sign.
    Term,
    FirstFactor,
    Factor,
    Above,
    Below,
    /// Something is applied to it: a power, a root, a function.
    Operand,
}

fn write(formula: &Formula, place: Place) -> String {
    match formula {
        Formula::Symbol { letter, subscript } => symbol(letter, subscript),
        Formula::Number { digits, unit } => number(digits, unit, place),
        Formula::Sum(terms) => match terms.as_slice() {
            [(Sign::Plus, only)] => write(only, place),
            terms if place == Place::Alone => sum(terms),
            terms => bracketed(&sum(terms)),
        },
        Formula::Product(factors) => {
            let each = factors.iter().enumerate();
            let parts: Vec<String> = each
                .map(|(index, factor)| {
                    let is_first = index == 0 && !matches!(place, Place::Term | Place::Factor);
                    write(factor, if is_first { Place::FirstFactor } else { Place::Factor })
                })
                .collect();
            let text = parts.join(&format!(" ×{TIED}"));
            match place {
                Place::Below | Place::Operand if factors.len() > 1 => bracketed(&text),
                _ => text,
            }
        }
        Formula::Fraction(above, below) => fraction(above, below, place),
        Formula::Root(inner) => {
            let text = write(inner, Place::Alone);
            if is_short(&text) { format!("√{text}") } else { format!("√{}", bracketed(&text)) }
        }
        Formula::Power(base, exponent) => format!("{}{}", write(base, Place::Operand), raised(*exponent)),
        Formula::Function(name, inner) => {
            let text = write(inner, Place::Alone);
            let text =
                if is_short(&text) { format!("{name}{TIED}{text}") } else { format!("{name}{}", bracketed(&text)) };
            if place == Place::Operand { bracketed(&text) } else { text }
        }
        Formula::Struck(inner) => format!("[{}]", write(inner, Place::Alone)),
    }
}

fn symbol(letter: &str, subscript: &str) -> String {
    let (letter, subscript) = (plain(letter), plain(subscript));
    if subscript.is_empty() {
        letter
    } else if subscript.bytes().all(|byte| byte.is_ascii_digit()) {
        let low = subscript.bytes().filter_map(|byte| char::from_u32(0x2080 + u32::from(byte - b'0')));
        letter.chars().chain(low).collect()
    } else {
        format!("{letter}_{subscript}").replace(' ', &TIED.to_string())
    }
}

fn number(digits: &str, unit: &str, place: Place) -> String {
    let is_negative = digits.starts_with(['-', '−']);
    let digits = plain(digits).replace('-', "−");
    let text = match unit {
        "" => digits,
        "°" => format!("{digits}°"),
        unit => format!("{digits}{TIED}{}", plain(unit)),
    };
    let clashes = match place {
        Place::Alone | Place::FirstTerm | Place::FirstFactor | Place::Above => false,
        Place::Term | Place::Factor => is_negative,
        Place::Below => is_negative || unit.contains('/'),
        Place::Operand => is_negative || (!unit.is_empty() && unit != "°"),
    };
    if clashes { bracketed(&text) } else { text }
}

fn sum(terms: &[(Sign, Formula)]) -> String {
    let mut text = String::new();
    for (index, (sign, term)) in terms.iter().enumerate() {
        let before = match (index, sign) {
            (0, Sign::Plus) => String::new(),
            (0, Sign::Minus) => "−".to_owned(),
            (_, Sign::Plus) => format!(" +{TIED}"),
            (_, Sign::Minus) => format!(" −{TIED}"),
        };
        let place = if before.is_empty() { Place::FirstTerm } else { Place::Term };
        let term = write(term, place);
        text.push_str(&before);
        // A sum is broken between its terms rather than in one.
        text.push_str(&if term.chars().count() <= LONGEST_WHOLE { term.replace(' ', &TIED.to_string()) } else { term });
    }
    text
}

/// Terms longer than this may be broken inside.
const LONGEST_WHOLE: usize = 40;

/// `3/5` where both are short, else `310 lbf × 3 ft / 12 ft`.
fn fraction(above: &Formula, below: &Formula, place: Place) -> String {
    let (above, below) = (write(above, Place::Above), write(below, Place::Below));
    if is_short(&above) && is_short(&below) {
        let text = format!("{above}/{below}");
        return if matches!(place, Place::Above | Place::Below | Place::Operand) { bracketed(&text) } else { text };
    }
    let text = format!("{above} /{TIED}{below}");
    match place {
        Place::Alone | Place::FirstTerm | Place::Term | Place::FirstFactor => text,
        _ => bracketed(&text),
    }
}

/// Without a space or an operator: nothing beside it can be misread.
fn is_short(text: &str) -> bool {
    let is_inner = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | '°' | '√' | '₀'..='₉');
    text.chars().all(is_inner) || (is_bracketed(text) && !text.contains([' ', TIED]))
}

/// One pair of brackets around all of it.
fn is_bracketed(text: &str) -> bool {
    let mut depth = 0_usize;
    let last = text.chars().count();
    for (index, c) in text.chars().enumerate() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth == 0 && index + 1 < last {
            return false;
        }
    }
    depth == 0 && text.starts_with('(')
}

fn bracketed(text: &str) -> String {
    if is_bracketed(text) { text.to_owned() } else { format!("({text})") }
}

/// An exponent in small raised figures, which all fonts have.
pub fn raised(exponent: i32) -> String {
    const FIGURES: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let figure = |c: char| match c.to_digit(10) {
        Some(digit) => FIGURES.get(digit as usize).copied().unwrap_or(c),
        None => '⁻',
    };
    exponent.to_string().chars().map(figure).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn over(above: Formula, below: Formula) -> Formula {
        Formula::Fraction(Box::new(above), Box::new(below))
    }

    fn shown(inner: &Formula) -> String {
        formula(inner).replace(TIED, " ")
    }

    #[test]
    fn letters_numbers_and_signs() {
        assert_eq!(shown(&Formula::symbol("R", "1")), "R₁");
        assert_eq!(shown(&Formula::symbol("F", "AB")), "F_AB");
        assert_eq!(shown(&Formula::number("-3.5", "kN")), "−3.5 kN");
        assert_eq!(shown(&Formula::number("30", "°")), "30°");
        let terms = vec![
            (Sign::Minus, Formula::symbol("A", "x")),
            (Sign::Minus, Formula::number("-3", "kN")),
            (Sign::Plus, Formula::number("2", "kN")),
        ];
        assert_eq!(shown(&Formula::Sum(terms)), "−A_x − (−3 kN) + 2 kN");
    }

    #[test]
    fn brackets_keep_the_meaning() {
        let sum = Formula::Sum(vec![(Sign::Plus, Formula::number("1", "m")), (Sign::Plus, Formula::number("2", "m"))]);
        let product = Formula::Product(vec![Formula::number("3", "kN"), sum.clone()]);
        assert_eq!(shown(&product), "3 kN × (1 m + 2 m)");
        assert_eq!(shown(&over(product.clone(), Formula::number("4", "m"))), "3 kN × (1 m + 2 m) / 4 m");
        assert_eq!(shown(&over(Formula::number("1", ""), product.clone())), "1 / (3 kN × (1 m + 2 m))");
        assert_eq!(shown(&over(Formula::number("3", ""), Formula::number("5", ""))), "3/5");
        assert_eq!(
            shown(&over(over(Formula::number("3", ""), Formula::number("5", "")), Formula::number("2", ""))),
            "(3/5)/2"
        );
        assert_eq!(
            shown(&Formula::Product(vec![
                over(Formula::number("3", ""), Formula::number("5", "")),
                Formula::symbol("F", "AC")
            ])),
            "3/5 × F_AC"
        );
        assert_eq!(
            shown(&Formula::Product(vec![
                Formula::number("2", "kN"),
                over(Formula::number("3", "m"), Formula::number("5", "m"))
            ])),
            "2 kN × (3 m / 5 m)"
        );
        assert_eq!(shown(&Formula::Power(Box::new(Formula::number("3", "m")), 2)), "(3 m)²");
        assert_eq!(shown(&Formula::Power(Box::new(Formula::symbol("A", "x")), -12)), "A_x⁻¹²");
        assert_eq!(shown(&Formula::Root(Box::new(Formula::number("2", "")))), "√2");
        assert_eq!(shown(&Formula::Root(Box::new(sum.clone()))), "√(1 m + 2 m)");
        assert_eq!(shown(&Formula::Function("sin", Box::new(Formula::number("30", "°")))), "sin 30°");
        assert_eq!(shown(&Formula::Function("cos", Box::new(sum))), "cos(1 m + 2 m)");
        assert_eq!(shown(&over(Formula::number("6", "kN"), Formula::number("2", "kN/m"))), "6 kN / (2 kN/m)");
    }

    #[test]
    fn nothing_hidden_gets_through() {
        assert_eq!(line(&super::super::words("a\u{202e}b\u{1b}c\nd")), "a�b␛c d");
    }
}
