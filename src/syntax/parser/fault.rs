//! Why a statement did not parse: it is parsed again with errors that remember
//! what was expected, and the farthest place it got to is turned into data.
//!
//! Must not know: wording.

mod habit;

use chumsky::error::{EmptyErr, Rich, RichPattern, RichReason};
use chumsky::prelude::*;

use super::builder::Builder;
use super::parts::Parts;
use super::rule::label;
use super::statement::{Statements, statement};
use crate::base::{Span, is_turned, nearest};
use crate::syntax::error::{Expected, Fits, Found, Statement, SyntaxError};
use crate::syntax::token::{Token, keyword_called};
use crate::syntax::tree::{Broken, Tree};

/// Longer words are not typing errors, and are costly to compare.
const LONGEST_SLIP: u32 = 16;

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
    pub fn find(&mut self, tokens: &'t [Token], spans: &'t [Span]) -> Failure {
        let (Some(first), Some(span)) = (tokens.first().copied(), spans.first().copied()) else {
            return Failure::Plain(SyntaxError::NoStatement { found: Span::default() });
        };
        if !first.is_keyword() {
            if let Some(habit) = self.habit_at_start(tokens, spans, first, span) {
                return Failure::Plain(habit);
            }
            return Failure::Plain(match first.is_word() {
                true => SyntaxError::UnknownStatement { word: span, instead: self.keyword_meant(tokens, span) },
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
        Failure::Plain(place.error(self.text))
    }

    fn habit_at_start(&self, tokens: &[Token], spans: &[Span], first: Token, at: Span) -> Option<SyntaxError> {
        match first {
            Token::Slash => habit::block_comment(self.text, at, Fits::Yes),
            Token::Name if at.len() <= LONGEST_SLIP => {
                habit::run_on(self.text, tokens, at).or_else(|| habit::support_of_kind(self.text, tokens, spans))
            }
            _ => None,
        }
    }

    /// What a slip says about a statement that parses as far as its shape goes:
    /// `(0 0)` is no sum but a point without its comma.
    pub fn refine(&self, slip: SyntaxError, tokens: &[Token], spans: &[Span]) -> SyntaxError {
        let SyntaxError::NeighbourWithoutUnit { other, .. } = &slip else { return slip };
        let second = spans.iter().position(|span| span.start == other.start);
        let open = second.and_then(|second| {
            let before = tokens.get(..second)?;
            before.iter().rposition(|token| *token == Token::LeftParen)
        });
        let habit = second.zip(open).and_then(|(second, open)| habit::point_without_comma(tokens, spans, open, second));
        habit.unwrap_or(slip)
    }

    /// The one keyword near a word, if the statement reads with it.
    fn keyword_meant(&self, tokens: &[Token], word: Span) -> Option<Token> {
        if word.len() > LONGEST_SLIP {
            return None;
        }
        if let Some(keyword) = keyword_called(word.text(self.text)) {
            let meant = [&[keyword], tokens.get(1..)?].concat();
            return (parses(&meant) == Fits::Yes).then_some(keyword);
        }
        let rest = tokens.get(1..)?;
        let reads = |keyword| parses(&[&[keyword], rest].concat()) == Fits::Yes;
        meant(word.text(self.text), 1, &Token::KEYWORDS, reads)
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
    let mut expected = Vec::new();
    if let RichReason::ExpectedFound { expected: patterns, .. } = error.reason() {
        patterns.iter().for_each(|pattern| put_expectation(&mut expected, pattern));
    }
    expected.sort_unstable();
    expected.dedup();
    (at, expected)
}

fn put_expectation(expected: &mut Vec<Expected>, pattern: &RichPattern<'_, Token>) {
    match pattern {
        RichPattern::Token(token) => expected.push(Expected::Token(**token)),
        RichPattern::EndOfInput => expected.push(Expected::EndOfStatement),
        RichPattern::Label(text) => match text.as_ref() {
            label::NAME => expected.push(Expected::Name),
            label::VALUE => expected.push(Expected::Value),
            label::DIRECTION => expected.push(Expected::Direction),
            label::CLAIM => expected.push(Expected::Claim),
            label::UNIT_WORD => expected.push(Expected::UnitWord),
            label::SLUG => expected.push(Expected::Slug),
            few => expected.extend(label::tokens(few).iter().map(|token| Expected::Token(*token))),
        },
        _ => {}
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
    fn error(self, text: &str) -> SyntaxError {
        self.habit(text)
            .or_else(|| self.reserved_word())
            .or_else(|| self.bracket(text))
            .or_else(|| self.number())
            .or_else(|| self.call())
            .or_else(|| self.short_chain())
            .or_else(|| self.mark())
            .or_else(|| self.clause())
            .unwrap_or_else(|| self.plain(text))
    }

    fn reserved_word(&self) -> Option<SyntaxError> {
        let wants_word = self.expects(Expected::Name) || self.expects(Expected::Value);
        (wants_word && self.found()?.is_keyword()).then(|| SyntaxError::KeywordAsName { keyword: self.span() })
    }

    fn bracket(&self, text: &str) -> Option<SyntaxError> {
        let open = self.open_bracket();
        let wants_closing = self.expects_mark(Token::RightParen) || self.expects_mark(Token::RightBracket);
        match (self.found(), open) {
            (None, Some(open)) => Some(self.unclosed(open)),
            (Some(_), Some(open)) if wants_closing && self.begins_a_line(text) => Some(self.unclosed(open)),
            (Some(Token::RightParen | Token::RightBracket), None) => {
                Some(SyntaxError::StrayBracket { at: self.span() })
            }
            (Some(Token::Comma), Some(open)) if self.is_vector_with_both_parts(open) => {
                Some(SyntaxError::ThirdCoordinate { comma: self.span() })
            }
            _ => None,
        }
    }

    fn unclosed(&self, open: usize) -> SyntaxError {
        let open = self.spans.get(open).copied().unwrap_or_default();
        SyntaxError::UnclosedBracket { open, end: self.span_before() }
    }

    /// The innermost bracket still open before this place.
    fn open_bracket(&self) -> Option<usize> {
        let mut open = Vec::new();
        for (at, token) in self.tokens.iter().enumerate().take(self.at) {
            match token {
                Token::LeftParen | Token::LeftBracket => open.push(at),
                Token::RightParen | Token::RightBracket => {
                    open.pop();
                }
                _ => {}
            }
        }
        open.pop()
    }

    fn begins_a_line(&self, text: &str) -> bool {
        Span::new(self.span_before().end, self.span().start).text(text).contains('\n')
    }

    /// Whether the bracket is that of `(x, y`.
    fn is_vector_with_both_parts(&self, open: usize) -> bool {
        let is_call = open.checked_sub(1).and_then(|at| self.tokens.get(at)).is_some_and(|before| before.is_function());
        let mut depth = 0_usize;
        let inside = self.tokens.get(open + 1..self.at).unwrap_or(&[]);
        let commas = inside.iter().filter(|token| {
            match token {
                Token::LeftParen | Token::LeftBracket => depth += 1,
                Token::RightParen | Token::RightBracket => depth = depth.saturating_sub(1),
                _ => {}
            }
            depth == 0 && **token == Token::Comma
        });
        self.tokens.get(open) == Some(&Token::LeftParen) && !is_call && commas.count() == 1
    }

    fn number(&self) -> Option<SyntaxError> {
        if self.before()? != Token::Number {
            return None;
        }
        let number = self.span_before();
        match self.found()? {
            Token::Name => Some(SyntaxError::UnknownUnit { number, word: self.span() }),
            Token::Comma => {
                let comma = self.span();
                let next = self.spans.get(self.at + 1)?;
                let is_number = self.tokens.get(self.at + 1) == Some(&Token::Number);
                let touches = number.end == comma.start && comma.end == next.start;
                let without = [self.tokens.get(..self.at)?, self.tokens.get(self.at + 2..)?].concat();
                let fits = parses(&without);
                (is_number && touches).then_some(SyntaxError::DecimalComma { number, comma, decimals: *next, fits })
            }
            _ => None,
        }
    }

    /// A name that is called although it is no function.
    fn call(&self) -> Option<SyntaxError> {
        let in_value = self.expects_mark(Token::LeftBracket) && self.expects_mark(Token::Dot);
        let is_call = self.found()? == Token::LeftParen && self.before()? == Token::Name;
        (in_value && is_call).then(|| SyntaxError::UnknownFunction { word: self.span_before() })
    }

    fn short_chain(&self) -> Option<SyntaxError> {
        let wants_chain = matches!(
            self.statement.keyword,
            Token::Bar | Token::Cable | Token::Beam | Token::Heat | Token::Misfit | Token::Weigh | Token::Travel
        );
        let stops = matches!(self.found(), None | Some(Token::Colon | Token::Comma));
        let only_link = self.expects_mark(Token::Minus) && !self.expects(Expected::EndOfStatement);
        (wants_chain && only_link && stops)
            .then(|| SyntaxError::ShortChain { statement: self.statement, name: self.span_before() })
    }

    fn mark(&self) -> Option<SyntaxError> {
        let wanted = [Token::Colon, Token::Equals].into_iter().find(|mark| self.expects_mark(*mark));
        let instead = match self.found() {
            Some(Token::Colon) => wanted.filter(|mark| *mark == Token::Equals),
            Some(Token::Equals) => wanted.filter(|mark| *mark == Token::Colon),
            Some(Token::Less) if self.expects_mark(Token::AtMost) => Some(Token::AtMost),
            Some(Token::Greater) if self.expects_mark(Token::AtLeast) => Some(Token::AtLeast),
            _ => None,
        };
        if let Some(instead) = instead {
            let found = self.span();
            return Some(SyntaxError::WrongMark { found, instead, fits: self.parses_with(instead, Place::Instead) });
        }
        let mark = wanted?;
        let is_needed = !self.expects(Expected::EndOfStatement);
        let mut fits = self.parses_with(mark, Place::Before);
        if is_needed && fits == Fits::No && self.reads_on_with(mark, Place::Before) {
            fits = Fits::Yes;
        }
        let stands_before_value = match self.found() {
            None => true,
            Some(found) => {
                found.is_word() || matches!(found, Token::Number | Token::LeftParen | Token::Minus | Token::Text)
            }
        };
        let subject = self.statement.span.to(self.span_before());
        ((is_needed && stands_before_value) || fits == Fits::Yes).then_some(SyntaxError::MissingMark {
            mark,
            subject,
            fits,
        })
    }

    /// Whether, with a token put at this place, the statement reads on beyond
    /// it: what is wrong farther on is another slip.
    fn reads_on_with(&self, token: Token, place: Place) -> bool {
        const FARTHER: usize = 2;
        let tokens = self.tokens_with(token, place);
        let parts = Parts::<'_, Rich<'_, Token>>::new();
        let mut builder = Builder::new("", Tree::default());
        let rule = statement(self.statement.keyword, &parts);
        let errors = rule.check_with_state(&tokens, &mut builder).into_errors();
        errors.last().is_none_or(|error| error.span().start > self.at + FARTHER)
    }

    /// Whether the statement parses with a mark put at this place.
    fn parses_with(&self, mark: Token, place: Place) -> Fits {
        parses(&self.tokens_with(mark, place))
    }

    fn tokens_with(&self, mark: Token, place: Place) -> Vec<Token> {
        let skip = if place == Place::Instead { 1 } else { 0 };
        let mut tokens: Vec<Token> = self.tokens.iter().copied().take(self.at).collect();
        tokens.push(mark);
        tokens.extend(self.tokens.iter().copied().skip(self.at + skip));
        tokens
    }

    fn clause(&self) -> Option<SyntaxError> {
        let found = self.found()?;
        if !self.expects(Expected::EndOfStatement) {
            return None;
        }
        if found.is_cardinal() && matches!(self.statement.keyword, Token::Load) {
            return Some(SyntaxError::LateDirection { direction: self.span() });
        }
        found.opens_clause().then(|| SyntaxError::MisplacedClause { statement: self.statement, clause: self.span() })
    }

    fn plain(&self, text: &str) -> SyntaxError {
        let found = Found { token: self.found(), at: self.span() };
        let instead = self.word_meant(text);
        SyntaxError::Expected { statement: self.statement, expected: self.expected.clone(), found, instead }
    }

    /// The one expected word near the found one, if the statement reads with it.
    fn word_meant(&self, text: &str) -> Option<Token> {
        let found = self.found()?;
        if !(found.is_word() || found.is_keyword()) || self.span().len() > LONGEST_SLIP {
            return None;
        }
        let words: Vec<Token> = self.expected.iter().flat_map(|expected| words_of(*expected)).collect();
        meant(self.span().text(text), 2, &words, |word| {
            self.parses_with(word, Place::Instead) == Fits::Yes || self.reads_on_with(word, Place::Instead)
        })
    }
}

/// The one word that a text of so many letters begins, if it reads with it; else the one that it is
/// near to.
fn meant(written: &str, shortest: usize, words: &[Token], reads: impl Fn(Token) -> bool) -> Option<Token> {
    let spelt = |near: &str| words.iter().copied().find(|word| word.spelling() == near);
    let is_begun = |word: &&str| written.len() >= shortest && word.starts_with(written) && !is_turned(written, word);
    let mut begun: Vec<&str> = words.iter().map(|word| word.spelling()).filter(is_begun).collect();
    begun.sort_unstable();
    begun.dedup();
    if let [only] = begun.as_slice() {
        return spelt(only).filter(|word| reads(*word));
    }
    match nearest(written, words.iter().map(|word| word.spelling())).as_slice() {
        [only] if begun.is_empty() => spelt(only).filter(|word| reads(*word)),
        _ => None,
    }
}

/// The words among what was expected.
fn words_of(expected: Expected) -> Vec<Token> {
    match expected {
        Expected::Token(token) if token.is_word() => vec![token],
        Expected::Direction => vec![Token::Up, Token::Down, Token::Left, Token::Right],
        Expected::Claim => vec![
            Token::Reaction,
            Token::Force,
            Token::Shear,
            Token::Deflection,
            Token::Rotation,
            Token::Determinate,
            Token::Indeterminate,
            Token::Unstable,
        ],
        _ => Vec::new(),
    }
}

/// Where a mark is tried: before the token found there, or in its stead.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    Before,
    Instead,
}

/// What a broken statement would have declared.
pub(super) fn broken(tokens: &[Token], spans: &[Span], whole: Span) -> Broken {
    let name = match tokens {
        // `A: (0, 0)`, its keyword forgotten.
        [first, Token::Colon | Token::Equals | Token::Number | Token::LeftParen, ..] if first.is_word() => {
            spans.first().copied()
        }
        [first, second, ..] if declares(*first) && second.is_word() => spans.get(1).copied(),
        _ => None,
    };
    let place = match tokens {
        [Token::Load | Token::Moment | Token::Settle, joint, Token::Colon, ..] if joint.is_word() => {
            spans.get(1).copied()
        }
        _ => None,
    };
    Broken { span: whole, name, joint: place }
}

/// Whether a statement that begins so declares the name after it. A word that
/// is no keyword may be a misspelt one.
const fn declares(first: Token) -> bool {
    match first {
        Token::Let
        | Token::Joint
        | Token::Case
        | Token::Combination
        | Token::Travel
        | Token::Material
        | Token::Section
        | Token::For => true,
        other => !other.is_keyword(),
    }
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
