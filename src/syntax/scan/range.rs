//! `0..6 kN/m`: two numbers with dots between them, as a range is written
//! elsewhere. They are one mistake, and never the number without its dots.
//!
//! Must not know: what a range would be here.

use super::{Scan, Units, offset, unit_run};
use crate::base::Span;
use crate::syntax::error::SyntaxError;
use crate::syntax::token::Token;

impl Scan<'_> {
    /// Takes the rest of a range at its dots, which are the end of `0.` or
    /// stand after a number and its unit; gives whether there is one.
    pub(super) fn take_range(&mut self, token: Token, span: Span) -> bool {
        let written = span.text(self.text);
        let low = match (token, written.strip_suffix('.')) {
            (Token::BareDecimal, Some(whole)) => Some(Span::new(span.start, span.start + offset(whole.len()))),
            (Token::BareDecimal, None) => None,
            _ => self.number_before(),
        };
        let Some(low) = low else { return false };
        let dots_at = if token == Token::BareDecimal { span.end - 1 } else { span.start };
        let Some(high) = self.number_after_dots(dots_at as usize) else { return false };
        if token == Token::BareDecimal {
            self.push(Token::Number, low);
        }
        self.lexer.bump((high.end - span.end) as usize);
        self.break_with(SyntaxError::NumberRange { low, high });
        true
    }

    /// The number that was read last, with its unit.
    fn number_before(&self) -> Option<Span> {
        let tokens = self.chunk.tokens.get(self.segment_start..)?;
        let count = match tokens {
            [.., Token::Number] => 1,
            [.., Token::Number, Token::Unit] => 2,
            _ => return None,
        };
        let first = self.chunk.spans.len().checked_sub(count)?;
        Some(self.chunk.spans.get(first)?.to(*self.chunk.spans.last()?))
    }

    /// The number, with its unit, that follows two or three dots.
    fn number_after_dots(&self, at: usize) -> Option<Span> {
        let rest = self.text.get(at..)?;
        let dots = ["...", "..", "…"].into_iter().find(|dots| rest.starts_with(dots))?;
        let after = rest.get(dots.len()..)?.trim_start_matches([' ', '\t']);
        let digits = after.strip_prefix('-').unwrap_or(after);
        let tail = digits.strip_prefix(|first: char| first.is_ascii_digit())?;
        let tail = tail.trim_start_matches(|next: char| next.is_ascii_digit() || next == '_');
        let decimals = tail.strip_prefix('.').filter(|part| part.starts_with(|next: char| next.is_ascii_digit()));
        let tail = decimals.map_or(tail, |part| part.trim_start_matches(|next: char| next.is_ascii_digit()));
        let start = at + (rest.len() - after.len());
        let end = at + (rest.len() - tail.len());
        let unit = if self.units == Units::Names { None } else { unit_run::unit_after(self.text, end) };
        Some(Span::new(offset(start), offset(unit.map_or(end, |unit| unit.end))))
    }
}
