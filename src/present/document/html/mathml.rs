//! Formulae as MathML Core. A long side of an equation is several `math`
//! elements, one a term, so that a narrow page can break the line between them.
//!
//! Must not know: pages.

use super::escaped;
use crate::present::document::{Formula, Relation, Side, Sign, linear};

/// A formula in running text; a number alone is text like all around it.
pub fn inline(formula: &Formula) -> String {
    if let Formula::Number { .. } = formula {
        return escaped(&linear::formula(formula));
    }
    format!("<math>{}</math>", row(formula, Place::Alone, Depth::Outer))
}

/// One side of an equation, its relation in front; terms may part at line ends.
pub fn side(side: &Side) -> String {
    let relation = match side.relation {
        Relation::First => String::new(),
        Relation::Equal => operator("="),
        Relation::About => operator("≈"),
    };
    let mut parts: Vec<String> = match &side.formula {
        Formula::Sum(terms) => {
            let each = terms.iter().enumerate();
            each.map(|(index, (sign, term))| signed(index, *sign, term, Depth::Outer)).collect()
        }
        other => vec![row(other, Place::Alone, Depth::Outer)],
    };
    if let Some(first) = parts.first_mut() {
        first.insert_str(0, &relation);
    }
    let display = |part: &String| format!("<math><mrow displaystyle=\"true\">{part}</mrow></math>");
    parts.iter().map(display).collect::<Vec<_>>().join("<wbr>")
}

/// What brackets depend on. A bar, a root and an exponent need none of their own.
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
        Formula::Symbol { letter, subscript } => {
            format!("<msub><mrow>{}</mrow>{}</msub>", letters(letter), identifier(subscript))
        }
        Formula::Number { digits, unit } => {
            let text = number(digits, unit);
            let is_negative = digits.starts_with(['-', '−']);
            let clashes = match place {
                Place::Alone => false,
                Place::Beside => is_negative,
                Place::Operand => is_negative || !unit.is_empty(),
            };
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
            let mut parts: Vec<String> = Vec::with_capacity(factors.len());
            for (index, factor) in factors.iter().enumerate() {
                // Only a first factor may carry a sign without brackets.
                let is_number = matches!(factor, Formula::Number { .. });
                let own = if index == 0 && is_number && place == Place::Alone { Place::Alone } else { inner };
                parts.push(row(factor, own, depth));
            }
            let text = parts.join(&operator("×"));
            if place == Place::Operand && factors.len() > 1 { bracketed(&text) } else { text }
        }
        Formula::Fraction(above, below) => {
            let text = match depth {
                Depth::Outer => format!(
                    "<mfrac><mrow>{}</mrow><mrow>{}</mrow></mfrac>",
                    row(above, Place::Alone, Depth::Inner),
                    row(below, Place::Alone, Depth::Inner)
                ),
                Depth::Inner => format!(
                    "{}<mo form=\"infix\" lspace=\"0\" rspace=\"0\">/</mo>{}",
                    row(above, Place::Beside, depth),
                    row(below, Place::Operand, depth)
                ),
            };
            if place == Place::Operand { bracketed(&text) } else { text }
        }
        Formula::Root(inner) => format!("<msqrt>{}</msqrt>", row(inner, Place::Alone, depth)),
        Formula::Power(base, exponent) => {
            let exponent = exponent.to_string().replace('-', "−");
            format!("<msup><mrow>{}</mrow><mn>{exponent}</mn></msup>", row(base, Place::Operand, depth))
        }
        Formula::Function(name, inner) => {
            let is_simple = matches!(**inner, Formula::Symbol { .. } | Formula::Number { .. } | Formula::Group(_));
            let inside = row(inner, if is_simple { Place::Alone } else { Place::Operand }, depth);
            let gap =
                if matches!(**inner, Formula::Group(_)) || !is_simple { "" } else { "<mspace width=\"0.17em\"/>" };
            let text = format!("<mrow><mi>{name}</mi>{gap}{inside}</mrow>");
            if place == Place::Operand { bracketed(&text) } else { text }
        }
        Formula::Group(inner) => bracketed(&row(inner, Place::Alone, depth)),
        Formula::Struck(inner) => {
            let inside = row(inner, Place::Alone, depth);
            format!("<mrow><mo form=\"prefix\">[</mo>{inside}<mo form=\"postfix\">]</mo></mrow>")
        }
    }
}

fn signed(index: usize, sign: Sign, term: &Formula, depth: Depth) -> String {
    match (index, sign) {
        (0, Sign::Plus) => row(term, if matches!(term, Formula::Sum(_)) { Place::Beside } else { Place::Alone }, depth),
        (0, Sign::Minus) => format!("<mo form=\"prefix\">−</mo>{}", row(term, Place::Beside, depth)),
        (_, Sign::Plus) => format!("{}{}", operator("+"), row(term, Place::Beside, depth)),
        (_, Sign::Minus) => format!("{}{}", operator("−"), row(term, Place::Beside, depth)),
    }
}

/// An operator between two things, also where a line begins with it.
fn operator(sign: &str) -> String {
    format!("<mo form=\"infix\">{sign}</mo>")
}

fn bracketed(inside: &str) -> String {
    format!("<mrow><mo form=\"prefix\">(</mo>{inside}<mo form=\"postfix\">)</mo></mrow>")
}

/// `ΣM` is a sign and a letter, not a word.
fn letters(letter: &str) -> String {
    match letter.strip_prefix('Σ') {
        Some(rest) if !rest.is_empty() => format!("<mi mathvariant=\"normal\">Σ</mi>{}", identifier(rest)),
        _ => identifier(letter),
    }
}

/// One letter slants, a word stands upright: the rule of MathML for `mi`.
fn identifier(name: &str) -> String {
    if name.bytes().all(|byte| byte.is_ascii_digit()) {
        return format!("<mn>{}</mn>", escaped(name));
    }
    format!("<mi>{}</mi>", escaped(name))
}

fn number(digits: &str, unit: &str) -> String {
    let (sign, digits) = match digits.strip_prefix(['-', '−']) {
        Some(rest) => ("<mo form=\"prefix\">−</mo>", rest),
        None => ("", digits),
    };
    let number = format!("{sign}<mn>{}</mn>", escaped(digits));
    match unit {
        "" => number,
        "°" => format!("<mrow>{sign}<mn>{}°</mn></mrow>", escaped(digits)),
        unit => format!("<mrow>{number}<mspace width=\"0.2em\"/><mtext>{}</mtext></mrow>", escaped(unit)),
    }
}
