//! Why a statement did not parse: it is parsed again with errors that remember
//! what was expected, and the farthest place it got to is turned into data.
//!
//! Must not know: wording.

use chumsky::error::{EmptyErr, Rich, RichPattern, RichReason};
use chumsky::prelude::*;

use super::builder::Builder;
use super::parts::Parts;
use super::rule::label;
use super::statement::{Statements, statement};
use crate::base::Span;
use crate::syntax::error::{Expected, Fits, Found, Statement, SyntaxError};
use crate::syntax::scan::Segment;
use crate::syntax::token::Token;
use crate::syntax::tree::{Broken, Tree};

/// Finds faults; the rules that remember are built on the first one.
pub(super) struct Faults<'t> {
    text: &'t str,
    rules: Option<Statements<'t, Rich<'t, Token>>>,
}

pub(super) enum Failure {
    Plain(SyntaxError),
    /// A whole statement, and another from this token on.
    SecondStatement {
        at: usize,
        error: SyntaxError,
    },
}

/// The farthest place a statement parsed to.
struct Farthest<'s> {
    tokens: &'s [Token],
    spans: &'s [Span],
    /// The token that did not fit; `tokens.len()` at the end.
    at: usize,
    expected: Vec<Expected>,
    statement: Statement,
}

impl<'t> Faults<'t> {
    pub fn new(text: &'t str) -> Self {
        Faults { text, rules: None }
    }

    /// What is wrong with a statement that does not parse.
    pub fn find(&mut self, tokens: &'t [Token], spans: &'t [Span], segment: &Segment) -> Failure {
        let (Some(first), Some(span)) = (tokens.first().copied(), spans.first().copied()) else {
            return Failure::Plain(SyntaxError::NoStatement { found: Span::default() });
        };
        if !first.is_keyword() {
            return Failure::Plain(match first.is_word() {
                true => SyntaxError::UnknownStatement { word: span },
                false => SyntaxError::NoStatement { found: span },
            });
        }
        let statement = Statement { keyword: first, span };
        let rules = self.rules.get_or_insert_with(Statements::new);
        let (at, expected) = farthest(rules, self.text, tokens, spans, first);
        let place = Farthest { tokens, spans, at, expected, statement };
        if place.expects(Expected::EndOfStatement) && place.found().is_some_and(Token::is_keyword) {
            let at = place.at;
            let error = SyntaxError::TwoStatements { first: place.statement.span, at: place.span() };
            return Failure::SecondStatement { at, error };
        }
        Failure::Plain(place.error(self.text, segment))
    }
}

fn farthest<'t>(
    rules: &Statements<'t, Rich<'t, Token>>,
    text: &'t str,
    tokens: &'t [Token],
    spans: &'t [Span],
    keyword: Token,
) -> (usize, Vec<Expected>) {
    let mut builder = Builder::new(text, Tree::default());
    builder.begin(spans);
    let errors = rules.rule(keyword).map(|rule| rule.parse_with_state(tokens, &mut builder).into_errors());
    let Some(error) = errors.unwrap_or_default().pop() else { return (tokens.len(), Vec::new()) };
    let at = error.span().start.min(tokens.len());
    let mut expected = match error.reason() {
        RichReason::ExpectedFound { expected, .. } => expected.iter().filter_map(expectation).collect(),
        RichReason::Custom(_) => Vec::new(),
    };
    expected.sort_unstable();
    expected.dedup();
    (at, expected)
}

fn expectation(pattern: &RichPattern<'_, Token>) -> Option<Expected> {
    match pattern {
        RichPattern::Token(token) => Some(Expected::Token(**token)),
        RichPattern::EndOfInput => Some(Expected::EndOfStatement),
        RichPattern::Label(text) => match text.as_ref() {
            label::NAME => Some(Expected::Name),
            label::VALUE => Some(Expected::Value),
            label::DIRECTION => Some(Expected::Direction),
            label::CLAIM => Some(Expected::Claim),
            label::UNIT_WORD => Some(Expected::UnitWord),
            label::SLUG => Some(Expected::Slug),
            _ => None,
        },
        _ => None,
    }
}

impl Farthest<'_> {
    fn expects(&self, what: Expected) -> bool {
        self.expected.contains(&what)
    }

    fn expects_mark(&self, mark: Token) -> bool {
        self.expects(Expected::Token(mark))
    }

    fn found(&self) -> Option<Token> {
        self.tokens.get(self.at).copied()
    }

    fn before(&self) -> Option<Token> {
        self.tokens.get(self.at.checked_sub(1)?).copied()
    }

    /// Where the token stands that did not fit, or where the statement ends.
    fn span(&self) -> Span {
        self.spans.get(self.at).copied().unwrap_or_else(|| Span::at(self.span_before().end))
    }

    fn span_before(&self) -> Span {
        let before = self.at.checked_sub(1).and_then(|at| self.spans.get(at));
        before.or(self.spans.last()).copied().unwrap_or_default()
    }

    /// The most telling thing that can be said about this place.
    fn error(self, text: &str, segment: &Segment) -> SyntaxError {
        let _ = (text, segment);
        self.plain()
    }

    fn plain(self) -> SyntaxError {
        let found = Found { token: self.found(), at: self.span() };
        SyntaxError::Expected { statement: self.statement, expected: self.expected, found }
    }
}

/// What a broken statement would have declared.
pub(super) fn broken(tokens: &[Token], spans: &[Span], whole: Span) -> Broken {
    let name = match tokens {
        [_, second, ..] if second.is_word() => spans.get(1).copied(),
        _ => None,
    };
    Broken { span: whole, name }
}

/// Whether tokens, as they are, make a statement.
fn parses(tokens: &[Token]) -> Fits {
    let Some(keyword) = tokens.first().copied().filter(|first| first.is_keyword()) else { return Fits::No };
    let mut builder = Builder::new("", Tree::default());
    let parts = Parts::<'_, EmptyErr>::new();
    match statement(keyword, &parts).check_with_state(tokens, &mut builder).has_errors() {
        true => Fits::No,
        false => Fits::Yes,
    }
}
