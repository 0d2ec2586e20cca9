//! Where a formula takes brackets, and where a fraction a slash: the same in
//! every notation that sets formulae in two dimensions.
//!
//! Must not know: any one notation.

use super::{Formula, Sign};

/// How the pieces of a formula are set; what is inside comes set already.
pub trait Notation {
    fn symbol(letter: &str, subscript: &str) -> String;
    fn number(digits: &str, unit: &str) -> String;
    /// Between factors.
    const TIMES: &'static str;
    /// Between terms.
    const PLUS: &'static str;
    const MINUS: &'static str;
    /// Before a first term.
    const NEGATIVE: &'static str;
    const BRACKETS: [&'static str; 2];
    const STRUCK: [&'static str; 2];
    fn fraction(above: &str, below: &str) -> String;
    fn slashed(above: &str, below: &str) -> String;
    fn root(inside: &str) -> String;
    fn power(base: &str, exponent: i32) -> String;
    /// `inside` carries brackets unless it is one letter or number.
    fn function(name: &str, inside: &str, argument: Argument) -> String;
}

/// What a function is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Argument {
    /// A letter or a number, which stands off a little.
    Bare,
    Bracketed,
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

/// A formula that stands by itself.
pub fn set<N: Notation>(formula: &Formula) -> String {
    row::<N>(formula, Place::Alone, Depth::Outer)
}

/// The terms of a sum, each with its sign, and what each is; of anything else
/// the whole.
pub fn terms<N: Notation>(formula: &Formula) -> Vec<(String, &Formula)> {
    match formula {
        Formula::Sum(terms) => {
            let each = terms.iter().enumerate();
            each.map(|(index, (sign, term))| (signed::<N>(index, *sign, term, Depth::Outer), term)).collect()
        }
        other => vec![(set::<N>(other), other)],
    }
}

fn row<N: Notation>(formula: &Formula, place: Place, depth: Depth) -> String {
    let as_operand = |text: String| if place == Place::Operand { within(N::BRACKETS, &text) } else { text };
    match formula {
        Formula::Symbol { letter, subscript } => N::symbol(letter, subscript),
        Formula::Number { digits, unit } => {
            let is_negative = digits.starts_with(['-', '−']);
            let clashes = match place {
                Place::Alone => false,
                Place::Beside => is_negative,
                Place::Operand => is_negative || !unit.is_empty(),
            };
            let text = N::number(digits, unit);
            if clashes { within(N::BRACKETS, &text) } else { text }
        }
        Formula::Sum(terms) => {
            if let [(Sign::Plus, only)] = terms.as_slice() {
                return row::<N>(only, place, depth);
            }
            let each = terms.iter().enumerate();
            let text: String = each.map(|(index, (sign, term))| signed::<N>(index, *sign, term, depth)).collect();
            if place == Place::Alone { text } else { within(N::BRACKETS, &text) }
        }
        Formula::Product(factors) => {
            let inner = if factors.len() > 1 { Place::Beside } else { place };
            let part = |(index, factor): (usize, &Formula)| {
                // Only a first factor may carry a sign without brackets.
                let is_first = index == 0 && place == Place::Alone && matches!(factor, Formula::Number { .. });
                row::<N>(factor, if is_first { Place::Alone } else { inner }, depth)
            };
            let text = factors.iter().enumerate().map(part).collect::<Vec<_>>().join(N::TIMES);
            if factors.len() > 1 { as_operand(text) } else { text }
        }
        Formula::Fraction(above, below) => as_operand(match depth {
            Depth::Outer => {
                let part = |part| row::<N>(part, Place::Alone, Depth::Inner);
                N::fraction(&part(above), &part(below))
            }
            Depth::Inner => N::slashed(&row::<N>(above, Place::Beside, depth), &row::<N>(below, Place::Operand, depth)),
        }),
        Formula::Root(inner) => N::root(&row::<N>(inner, Place::Alone, depth)),
        Formula::Power(base, exponent) => N::power(&row::<N>(base, Place::Operand, depth), *exponent),
        Formula::Function(name, inner) => {
            let is_bare = matches!(**inner, Formula::Symbol { .. } | Formula::Number { .. });
            let (own, argument) =
                if is_bare { (Place::Alone, Argument::Bare) } else { (Place::Operand, Argument::Bracketed) };
            as_operand(N::function(name, &row::<N>(inner, own, depth), argument))
        }
        Formula::Struck(inner) => within(N::STRUCK, &row::<N>(inner, Place::Alone, depth)),
    }
}

fn within([before, after]: [&str; 2], inside: &str) -> String {
    format!("{before}{inside}{after}")
}

fn signed<N: Notation>(index: usize, sign: Sign, term: &Formula, depth: Depth) -> String {
    let sign = match (index, sign) {
        // A sum within a sum keeps its brackets.
        (0, Sign::Plus) if !matches!(term, Formula::Sum(_)) => return row::<N>(term, Place::Alone, depth),
        (0, Sign::Plus) => "",
        (0, Sign::Minus) => N::NEGATIVE,
        (_, Sign::Plus) => N::PLUS,
        (_, Sign::Minus) => N::MINUS,
    };
    format!("{sign}{}", row::<N>(term, Place::Beside, depth))
}
