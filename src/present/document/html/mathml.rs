//! Formulae as MathML Core. A long side of an equation is several `math`
//! elements, one a term, so that a narrow page can break the line between them.
//!
//! Must not know: pages.

use super::escaped;
use crate::present::document::formula::{Argument, Notation, set, terms};
use crate::present::document::{Formula, linear};

/// A formula in running text; a number alone is text like all around it.
pub fn inline(formula: &Formula) -> String {
    if let Formula::Number { .. } = formula {
        return escaped(&linear::formula(formula));
    }
    format!("<math>{}</math>", set::<MathMl>(formula))
}

/// The first side of an equation; terms may part at line ends.
pub fn first_side(formula: &Formula) -> String {
    after("", formula)
}

/// A later one, its equals sign in front.
pub fn later_side(formula: &Formula) -> String {
    after("<mo form=\"infix\">=</mo>", formula)
}

fn after(relation: &str, formula: &Formula) -> String {
    let mut parts: Vec<String> = terms::<MathMl>(formula).into_iter().map(|(part, _)| part).collect();
    if let Some(first) = parts.first_mut() {
        first.insert_str(0, relation);
    }
    let display = |part: &String| format!("<math><mrow displaystyle=\"true\">{part}</mrow></math>");
    parts.iter().map(display).collect::<Vec<_>>().join("<wbr>")
}

struct MathMl;

impl Notation for MathMl {
    const TIMES: &'static str = "<mo form=\"infix\">×</mo>";
    const PLUS: &'static str = "<mo form=\"infix\">+</mo>";
    const MINUS: &'static str = "<mo form=\"infix\">−</mo>";
    const NEGATIVE: &'static str = "<mo form=\"prefix\">−</mo>";
    const BRACKETS: [&'static str; 2] = ["<mrow><mo form=\"prefix\">(</mo>", "<mo form=\"postfix\">)</mo></mrow>"];
    const STRUCK: [&'static str; 2] = ["<mrow><mo form=\"prefix\">[</mo>", "<mo form=\"postfix\">]</mo></mrow>"];

    fn symbol(letter: &str, subscript: &str) -> String {
        if subscript.is_empty() {
            return letters(letter);
        }
        format!("<msub><mrow>{}</mrow>{}</msub>", letters(letter), identifier(subscript))
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

    fn fraction(above: &str, below: &str) -> String {
        format!("<mfrac><mrow>{above}</mrow><mrow>{below}</mrow></mfrac>")
    }

    fn slashed(above: &str, below: &str) -> String {
        format!("{above}<mo form=\"infix\" lspace=\"0\" rspace=\"0\">/</mo>{below}")
    }

    fn root(inside: &str) -> String {
        format!("<msqrt>{inside}</msqrt>")
    }

    fn power(base: &str, exponent: i32) -> String {
        let exponent = exponent.to_string().replace('-', "−");
        format!("<msup><mrow>{base}</mrow><mn>{exponent}</mn></msup>")
    }

    fn function(name: &str, inside: &str, argument: Argument) -> String {
        let gap = if argument == Argument::Bare { "<mspace width=\"0.17em\"/>" } else { "" };
        format!("<mrow><mi>{name}</mi>{gap}{inside}</mrow>")
    }
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
