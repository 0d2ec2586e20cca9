//! Feet and inches by their marks, as on drawings: `4'6"`, `4'-6"`, `6"`.
//!
//! Must not know: tokens' places in statements.

use logos::Logos;

use super::{Scan, offset};
use crate::base::Span;
use crate::syntax::error::{Habit, Replacement, SyntaxError};
use crate::syntax::token::Token;

const FEET: [char; 3] = ['\'', '′', '’'];
const INCHES: [char; 3] = ['"', '″', '”'];

impl Scan<'_> {
    /// Takes the mark of feet straight after a number, with the inches after
    /// it; gives whether it was one.
    pub(super) fn take_feet(&mut self, span: Span) -> bool {
        let written = span.text(self.text);
        if !written.starts_with(FEET) || written.chars().count() != 1 || !self.touches_number(span) {
            return false;
        }
        let rest = self.text.get(span.end as usize..).unwrap_or("");
        let inches = inches_at(rest);
        if let [.., _, Token::Unit, Token::Number] = self.chunk.tokens.as_slice()
            && let [.., degrees, unit, _] = self.chunk.spans.as_slice()
            && matches!(unit.text(self.text), "°" | "deg" | "º" | "˚")
        {
            let seconds = inches.map_or(0, |(_, length)| length);
            let at = degrees.to(Span::at(offset(span.end as usize + seconds)));
            let written =
                decimal_degrees(at.text(self.text)).map(|degrees| Replacement { at, text: format!("{degrees}°") });
            let edits = written.into_iter().collect();
            self.break_with(SyntaxError::Habit { habit: Habit::MinutesOfArc, at, edits });
            self.lexer.bump(seconds);
            return true;
        }
        let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit() || FEET.contains(&c)).len();
        if inches.is_none() && digits > 0 {
            // `1'500`: thousands set apart, or inches without their mark.
            let number = self.chunk.spans.last().map_or(span, |number| *number);
            let number = number.to(Span::at(offset(span.end as usize + digits)));
            self.break_with(SyntaxError::MalformedNumber { number, instead: None });
            self.lexer.bump(digits);
            return true;
        }
        let (length, text) = match inches {
            Some((digits, length)) => (length, format!(" ft {digits} in")),
            None if rest.starts_with(char::is_alphanumeric) => (0, " ft ".to_owned()),
            None => (0, " ft".to_owned()),
        };
        let end = offset(span.end as usize + length);
        let at = self.chunk.spans.last().map_or(span, |number| number.to(Span::at(end)));
        let edits = vec![Replacement { at: Span::new(span.start, end), text }];
        self.break_with(SyntaxError::Habit { habit: Habit::FeetAndInches, at, edits });
        self.lexer.bump(length);
        true
    }

    /// Takes what seems to be a string straight after a number as the mark of
    /// inches that it is, and reads on behind that; gives whether it was one.
    pub(super) fn take_inches(&mut self, span: Span) -> bool {
        if !self.touches_number(span) {
            return false;
        }
        let mark = Span::new(span.start, span.start + 1);
        let at = self.chunk.spans.last().map_or(mark, |number| number.to(mark));
        let edits = vec![Replacement { at: mark, text: " in".to_owned() }];
        self.break_with(SyntaxError::Habit { habit: Habit::FeetAndInches, at, edits });
        self.lexer = Token::lexer(self.text);
        self.lexer.bump(mark.end as usize);
        true
    }

    fn touches_number(&self, span: Span) -> bool {
        self.is_open() && self.chunk.tokens.last() == Some(&Token::Number) && self.last_end() == Some(span.start)
    }
}

/// The inches at the start of a text, and how long they are with their mark.
fn inches_at(rest: &str) -> Option<(&str, usize)> {
    let skipped = rest.len() - rest.trim_start_matches([' ', '-']).len();
    let from = rest.get(skipped..)?;
    let digits = from.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(from.len());
    let (number, after) = from.split_at_checked(digits).filter(|(number, _)| !number.is_empty())?;
    let mark = after.chars().next().filter(|mark| INCHES.contains(mark))?;
    Some((number, skipped + digits + mark.len_utf8()))
}

/// `30.25` for `30°15'`, `30° 15' 0"`.
fn decimal_degrees(written: &str) -> Option<String> {
    let parts: Vec<f64> = written
        .split(|c: char| !c.is_ascii_digit() && c != '.')
        .filter(|part| !part.is_empty())
        .map(|part| part.parse().ok())
        .collect::<Option<_>>()?;
    let is_below = |part: Option<&f64>| part.is_none_or(|part| *part < 60.0);
    let (whole, minutes, seconds) = (parts.first()?, parts.get(1), parts.get(2));
    let value = whole + minutes.unwrap_or(&0.0) / 60.0 + seconds.unwrap_or(&0.0) / 3600.0;
    (parts.len() <= 3 && is_below(minutes) && is_below(seconds)).then(|| crate::quantity::format::trimmed(value, 9))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inches_are_known_by_their_mark() {
        assert_eq!(inches_at("6\")"), Some(("6", 2)));
        assert_eq!(inches_at("-6.5″"), Some(("6.5", 4 + 3)));
        assert_eq!(inches_at(" 6)"), None);
        assert_eq!(inches_at(", 4)"), None);
    }
}
