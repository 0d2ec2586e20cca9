//! Characters a source file may not hold, and those that look like others.
//!
//! Must not know: tokens' places in statements.

use super::offset;
use crate::base::{Span, is_unseen};
use crate::syntax::error::SyntaxError;
use crate::syntax::limits::MAX_ERRORS;
use crate::syntax::token::Token;

/// Reports control characters and unseen ones inside a comment or a string,
/// where they could make a file read other than it is.
pub(super) fn check_text(text: &str, span: Span, errors: &mut Vec<SyntaxError>) {
    let written = span.text(text);
    if written.bytes().all(|byte| matches!(byte, b'\t' | 0x20..0x7F)) {
        return;
    }
    for (at, character) in written.char_indices().filter(|(_, character)| is_hidden(*character)) {
        if errors.len() > MAX_ERRORS {
            return;
        }
        let start = span.start + offset(at);
        errors.push(SyntaxError::HiddenCharacter { at: Span::new(start, start + offset(character.len_utf8())) });
    }
}

fn is_hidden(character: char) -> bool {
    is_unseen(character) && !matches!(character, '\t' | '\n')
}

/// Whether a character that may not stand in a file ends a line for some
/// editors: what follows is read as a line of its own.
pub(super) fn breaks_line(character: &str) -> bool {
    matches!(character, "\r" | "\u{B}" | "\u{C}" | "\u{85}" | "\u{2028}" | "\u{2029}")
}

/// The first escape of a string that is neither `\"` nor `\\`.
pub(super) fn bad_escape(text: &str, string: Span) -> Option<Span> {
    let mut characters = string.text(text).char_indices();
    while let Some((at, character)) = characters.next() {
        if character == '\\'
            && let Some((_, escaped)) = characters.next()
            && !matches!(escaped, '"' | '\\')
        {
            let start = string.start + offset(at);
            return Some(Span::new(start, start + 1 + offset(escaped.len_utf8())));
        }
    }
    None
}

/// What a look-alike is read as: its token, if it is more than a space, and how
/// it should be written.
pub(super) fn meant_by(token: Token, written: &str) -> Option<(Option<Token>, String)> {
    if token == Token::CurlyText {
        let inside = written.trim_start_matches(['“', '”', '„']).trim_end_matches(['“', '”', '"']);
        return Some((Some(Token::Text), format!("\"{inside}\"")));
    }
    let (meant, instead) = match written.chars().next()? {
        '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{FE58}' | '\u{FE63}' | '\u{FF0D}' => (Some(Token::Minus), "-"),
        '×' => (Some(Token::Star), "*"),
        '÷' | '\u{2215}' | '\u{2044}' => (Some(Token::Slash), "/"),
        '≤' => (Some(Token::AtMost), "<="),
        '≥' => (Some(Token::AtLeast), ">="),
        'º' | '˚' => (Some(Token::Degree), "°"),
        space if space.is_whitespace() => (None, " "),
        _ => return None,
    };
    Some((meant, instead.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_quotes_and_backslashes_are_escaped() {
        assert_eq!(bad_escape(r#""a \" \\ b""#, Span::new(0, 11)), None);
        assert_eq!(bad_escape(r#""a\né""#, Span::new(0, 7)), Some(Span::new(2, 4)));
    }
}
