//! What could have stood somewhere, as a reader would say it.
//!
//! Must not know: the parser.

use super::{Source, statements};
use crate::base::{sense_of, similar};
use crate::diagnostic::{Diagnostic, Slug};
use crate::syntax::error::{Expected, Found, Statement};
use crate::syntax::token::Token;

/// The diagnostic for something found where other things were expected.
pub(super) fn explain(source: Source<'_>, statement: Statement, expected: &[Expected], found: Found) -> Diagnostic {
    let things = things(expected);
    let after = source.quote(statement.span);
    let (headline, label) = match found.token {
        None => (format!("the {after} statement breaks off"), "ends here"),
        Some(Token::Unit) => (format!("the unit {} follows no number", source.quote(found.at)), "not expected here"),
        Some(_) => (format!("{} does not belong here", source.quote(found.at)), "not expected here"),
    };
    let diagnostic = Diagnostic::new(Slug::UnexpectedToken, headline).label(source.at(found.at), label);
    let diagnostic = match things.as_slice() {
        [] => diagnostic,
        things => diagnostic.why(format!("Expected {}.", list(things, "or"))),
    };
    cure(diagnostic, source, statement, expected, found)
}

/// The diagnostic with what to write instead.
fn cure(
    diagnostic: Diagnostic,
    source: Source<'_>,
    statement: Statement,
    expected: &[Expected],
    found: Found,
) -> Diagnostic {
    let word = found.at.text(source.text);
    let meant = match found.token {
        Some(token) if token.is_word() => similar(word, words(expected)),
        _ => None,
    };
    let wants_comma = expected.contains(&Expected::Token(Token::Comma));
    let diagnostic = match (meant, found.token) {
        (Some(meant), _) => return diagnostic.help(format!("did you mean `{meant}`?")),
        (None, Some(token)) if token.is_word() && said_here(word, expected).is_some() => {
            let here = said_here(word, expected).unwrap_or_default();
            return diagnostic.help(format!("if {here} is meant, write `{here}`"));
        }
        (None, Some(Token::MiddleDot)) => return diagnostic.help("to multiply, write `*`"),
        (None, Some(Token::Superscript)) => return diagnostic.help("a power of a value is written `^2`"),
        (None, Some(Token::Degree | Token::Percent)) => return diagnostic.help("it stands straight after a number"),
        (None, Some(token)) if token.is_cardinal() && expected.contains(&Expected::Token(Token::Pushes)) => {
            return diagnostic.help(format!(
                "write `pushes {word}` for the way its reaction acts, `along {word}` for the way it rolls"
            ));
        }
        (None, None) if matches!(expected, [Expected::Token(Token::To)]) => {
            return diagnostic
                .help("a stretch has two ends: `from 1 m to 3 m`, or `to 100%` for the end of the member");
        }
        (None, Some(_)) if is_square(word) => {
            return diagnostic.help("square to a member is `@ across(A-B)`: to the left, going from A to B");
        }
        (None, Some(token)) if wants_comma && (token.is_word() || token == Token::LeftParen) => {
            diagnostic.help(format!("leave it out, or set it apart with a comma: `, {word}`"))
        }
        (None, Some(Token::Comma)) if matches!(statement.span.text(source.text), "load" | "moment") => diagnostic.help(
            "a load is on one joint or one chain of members: write a line for each, with no comma before a clause",
        ),
        (None, Some(_)) if expected.contains(&Expected::EndOfStatement) => {
            diagnostic.help("leave it out, or put it into a `//` comment")
        }
        _ => diagnostic,
    };
    diagnostic.help(statements::form_of(source.line_from(statement.span)))
}

/// The expected word that says what another word says: `up` for `lift`.
fn said_here(word: &str, expected: &[Expected]) -> Option<&'static str> {
    let here = sense_of(word)?;
    words(expected).contains(&here).then_some(here)
}

/// What a direction across a member is called elsewhere.
fn is_square(word: &str) -> bool {
    matches!(word, "perpendicular" | "normal" | "square" | "transverse" | "across")
}

/// Words joined for a sentence: `a`, `b` or `c`.
pub(super) fn list(things: &[impl AsRef<str>], last: &str) -> String {
    match things {
        [] => String::new(),
        [only] => only.as_ref().to_string(),
        [first @ .., end] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", first.join(", "), end.as_ref())
        }
    }
}

/// The words among what was expected, for whoever mistyped one.
fn words(expected: &[Expected]) -> Vec<&'static str> {
    const CLAIMS: [&str; 9] =
        ["reaction", "force", "shear", "moment", "deflection", "rotation", "determinate", "indeterminate", "unstable"];
    let mut words = Vec::new();
    for expected in expected {
        match expected {
            Expected::Token(token) if token.is_word() => words.push(token.spelling()),
            Expected::Claim => words.extend(CLAIMS),
            Expected::Direction => words.extend(["up", "down", "left", "right"]),
            _ => {}
        }
    }
    words
}

/// Expected things, the many operators and directions each told as one.
fn things(expected: &[Expected]) -> Vec<String> {
    let mut things: Vec<String> = Vec::new();
    for one in expected {
        let thing = match one {
            Expected::Name => "a name".to_string(),
            Expected::Value => "a value".to_string(),
            Expected::Direction => "a direction".to_string(),
            Expected::Claim => "what is claimed".to_string(),
            Expected::UnitWord => "a unit".to_string(),
            Expected::Slug => "the name of a lint".to_string(),
            Expected::EndOfStatement => "the end of the statement".to_string(),
            Expected::Token(token) => match token {
                Token::Caret | Token::Direct => "an operator".to_string(),
                Token::Up | Token::Down | Token::Left | Token::Right | Token::Toward => "a direction".to_string(),
                // A neighbouring literal, an index, a component: possible, but seldom what was meant.
                Token::LeftBracket | Token::Unit | Token::Number | Token::Dot
                    if expected.contains(&Expected::Token(Token::Caret)) =>
                {
                    continue;
                }
                Token::Number if expected.contains(&Expected::Value) => continue,
                Token::Text => "a string in quotes".to_string(),
                Token::Number | Token::Name | Token::Unit => token.spelling().to_string(),
                token => format!("`{}`", token.spelling()),
            },
        };
        if !things.contains(&thing) {
            things.push(thing);
        }
    }
    things
}
