//! Text to tokens, cut into statements.
//!
//! Three things are settled here because the notation calls them lexical:
//! what is a unit, where a statement ends, and which characters a source file
//! may hold at all. One pass, no lookahead beyond a unit.
//!
//! Must not know: the productions of the grammar.

mod characters;
mod unit_run;

use logos::Logos;

use super::error::SyntaxError;
use super::limits::{MAX_BRACKETS, MAX_ERRORS};
use super::token::Token;
use crate::base::Span;

/// A file as tokens, with the places where its statements begin and end.
#[derive(Debug, Default)]
pub(super) struct Scan {
    pub tokens: Vec<Token>,
    /// One span for each token.
    pub spans: Vec<Span>,
    pub segments: Vec<Segment>,
    /// Every comment and note, in source order.
    pub comments: Vec<Span>,
    pub errors: Vec<SyntaxError>,
}

/// The tokens of one statement or block header, without the brace that ends
/// it. Empty only where a brace stands alone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Segment {
    pub start: u32,
    pub end: u32,
    pub ending: Ending,
    /// The `///` lines just before it.
    pub note: Option<Span>,
    pub state: SegmentState,
}

/// What ended a segment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ending {
    Line,
    Open(Span),
    Close(Span),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SegmentState {
    /// Fit to be parsed.
    Whole,
    /// Already reported: it holds a character or token that cannot be read.
    Reported,
    /// Brackets nested deeper than the limit, first at this place.
    TooDeep(Span),
}

/// Scans a text; a byte order mark at its start is skipped.
pub(super) fn scan(text: &str) -> Scan {
    let mut lexer = Token::lexer(text);
    if text.starts_with('\u{FEFF}') {
        lexer.bump('\u{FEFF}'.len_utf8());
    }
    let mut scanner = Scanner {
        text,
        out: Scan::with_capacity_for(text),
        segment_start: 0,
        brackets: Vec::new(),
        state: SegmentState::Whole,
        line: LinePart::Start,
        pending_note: None,
        note: None,
        units: Units::Read,
    };
    while let Some(result) = lexer.next() {
        let range = lexer.span();
        let span = Span::new(offset(range.start), offset(range.end));
        let token = result.unwrap_or(Token::Unknown);
        scanner.take(token, span);
        if scanner.may_be_followed_by_unit(token)
            && let Some(unit) = unit_run::unit_after(text, range.end)
        {
            scanner.out.push(Token::Unit, Span::new(offset(unit.start), offset(unit.end)));
            scanner.report_degree_signs(Span::new(offset(unit.start), offset(unit.end)));
            lexer.bump(unit.end - range.end);
        }
    }
    scanner.end_segment(Ending::Line);
    scanner.out
}

impl Scan {
    /// Room for a typical file: a token in about three bytes, a statement in sixteen.
    fn with_capacity_for(text: &str) -> Self {
        let tokens = text.len() / 3;
        Scan {
            tokens: Vec::with_capacity(tokens),
            spans: Vec::with_capacity(tokens),
            segments: Vec::with_capacity(text.len() / 16),
            ..Scan::default()
        }
    }

    fn push(&mut self, token: Token, span: Span) {
        self.tokens.push(token);
        self.spans.push(span);
    }
}

/// Offsets fit: the size of a file is capped far below `u32::MAX`.
fn offset(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

/// Whether a token has stood on the line yet.
#[derive(Clone, Copy, PartialEq, Eq)]
enum LinePart {
    Start,
    Within,
}

/// In `combo` statements a word after a number is a case, not a unit.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Units {
    Read,
    Names,
}

/// What kind of bracket is open: only after a group may a unit follow.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bracket {
    Group,
    Call,
    Index,
}

struct Scanner<'t> {
    text: &'t str,
    out: Scan,
    segment_start: usize,
    brackets: Vec<Bracket>,
    state: SegmentState,
    line: LinePart,
    /// Notes read that belong to the statement to come.
    pending_note: Option<Span>,
    /// The note of the statement that is open.
    note: Option<Span>,
    units: Units,
}

impl Scanner<'_> {
    fn take(&mut self, token: Token, span: Span) {
        match token {
            Token::Newline => {
                if !self.statement_goes_on() {
                    self.end_segment(Ending::Line);
                }
                self.line = LinePart::Start;
            }
            Token::Comment => self.take_comment(span),
            Token::LeftBrace => {
                self.end_segment(Ending::Open(span));
                self.line = LinePart::Start;
            }
            Token::RightBrace => {
                if self.is_open() {
                    self.end_segment(Ending::Line);
                }
                self.end_segment(Ending::Close(span));
                self.line = LinePart::Start;
            }
            Token::Semicolon => {
                let rest = self.text.get(span.end as usize..).unwrap_or("");
                let line = rest.lines().next().unwrap_or("").trim_start();
                let more = if line.is_empty() || line.starts_with("//") { MoreOnLine::No } else { MoreOnLine::Yes };
                self.report(SyntaxError::Semicolon { at: span, more });
                self.end_segment(Ending::Line);
            }
            Token::BareDecimal => self.take_bare_decimal(span),
            Token::UnclosedText => {
                self.break_with(SyntaxError::UnclosedText { text: span });
                self.push(Token::Text, span);
            }
            Token::Text => {
                characters::check_text(self.text, span, &mut self.out.errors);
                if let Some(at) = characters::bad_escape(self.text, span) {
                    self.break_with(SyntaxError::BadEscape { at });
                }
                self.push(Token::Text, span);
            }
            Token::CurlyText | Token::LookAlike => self.take_look_alike(token, span),
            Token::Hidden => self.report(SyntaxError::HiddenCharacter { at: span }),
            Token::Unknown => self.take_unknown(span),
            Token::Number => {
                self.push(Token::Number, span);
                if let Some(end) = unit_run::malformed_tail(self.text, span.end as usize) {
                    self.break_with(SyntaxError::MalformedNumber {
                        number: Span::new(span.start, offset(end)),
                        instead: None,
                    });
                }
            }
            _ => self.push(token, span),
        }
    }

    fn push(&mut self, token: Token, span: Span) {
        if self.line == LinePart::Start {
            if token.is_keyword() && self.is_open() {
                self.end_segment(Ending::Line);
            }
            self.line = LinePart::Within;
        }
        if !self.is_open() {
            self.note = self.pending_note.take();
            self.units = if token == Token::Combo { Units::Names } else { Units::Read };
        }
        match token {
            Token::LeftParen => {
                self.open(span, if self.is_called() { Bracket::Call } else { Bracket::Group });
            }
            Token::LeftBracket => self.open(span, Bracket::Index),
            _ => {}
        }
        self.out.push(token, span);
    }

    /// Whether an opening parenthesis belongs to a function before it.
    fn is_called(&self) -> bool {
        let statement = self.out.tokens.get(self.segment_start..).unwrap_or(&[]);
        match statement {
            // `roller C: along (3, 4)`: here the word is a clause, unless a value is wanted.
            [Token::Roller | Token::Guide, .., Token::Along | Token::Pushes, Token::Along] => true,
            [Token::Roller | Token::Guide, .., Token::Colon | Token::Comma | Token::Off, Token::Along] => false,
            [.., last] => last.is_function(),
            [] => false,
        }
    }

    fn open(&mut self, span: Span, kind: Bracket) {
        self.brackets.push(kind);
        if self.brackets.len() > MAX_BRACKETS && self.state == SegmentState::Whole {
            self.state = SegmentState::TooDeep(span);
        }
    }

    /// Whether a unit may stand after this token; closes brackets on the way.
    fn may_be_followed_by_unit(&mut self, token: Token) -> bool {
        let closed = match token {
            Token::Number | Token::BareDecimal => Some(Bracket::Group),
            Token::RightParen | Token::RightBracket => self.brackets.pop(),
            _ => None,
        };
        closed == Some(Bracket::Group) && token != Token::RightBracket && self.units == Units::Read
    }

    fn is_open(&self) -> bool {
        self.out.tokens.len() > self.segment_start
    }

    fn statement_goes_on(&self) -> bool {
        self.is_open()
            && (!self.brackets.is_empty() || self.out.tokens.last().is_some_and(|last| last.continues_line()))
    }

    fn end_segment(&mut self, ending: Ending) {
        if self.is_open() || ending != Ending::Line {
            self.out.segments.push(Segment {
                start: offset(self.segment_start),
                end: offset(self.out.tokens.len()),
                ending,
                note: self.note.take(),
                state: self.state,
            });
        }
        self.segment_start = self.out.tokens.len();
        self.brackets.clear();
        self.state = SegmentState::Whole;
        self.units = Units::Read;
    }

    fn take_comment(&mut self, span: Span) {
        self.out.comments.push(span);
        characters::check_text(self.text, span, &mut self.out.errors);
        let comment = span.text(self.text);
        let is_note = comment.starts_with("///") && !comment.starts_with("////");
        if !is_note || self.line != LinePart::Start {
            return;
        }
        self.pending_note = Some(match self.pending_note {
            Some(pending) if self.are_on_neighbouring_lines(pending, span) => pending.to(span),
            _ => span,
        });
    }

    fn are_on_neighbouring_lines(&self, above: Span, below: Span) -> bool {
        Span::new(above.end, below.start).text(self.text).bytes().filter(|byte| *byte == b'\n').count() == 1
    }

    fn take_bare_decimal(&mut self, span: Span) {
        let touches_number =
            self.is_open() && self.out.tokens.last() == Some(&Token::Number) && self.last_end() == Some(span.start);
        if touches_number && let Some(number) = self.out.spans.last_mut() {
            // `1.2.3` is one mistake, not two.
            *number = number.to(span);
            let number = *number;
            self.break_with(SyntaxError::MalformedNumber { number, instead: None });
            return;
        }
        let written = span.text(self.text);
        let instead = match written.strip_suffix('.') {
            Some(whole) => whole.to_string(),
            None => format!("0{written}"),
        };
        self.break_with(SyntaxError::MalformedNumber { number: span, instead: Some(instead) });
        self.push(Token::Number, span);
    }

    fn last_end(&self) -> Option<u32> {
        self.out.spans.last().map(|span| span.end)
    }

    fn take_look_alike(&mut self, token: Token, span: Span) {
        let written = span.text(self.text);
        let Some((meant, instead)) = characters::meant_by(token, written) else {
            return self.take_unknown(span);
        };
        self.report(SyntaxError::LookAlike { at: span, instead });
        if let Some(meant) = meant {
            self.push(meant, span);
        }
    }

    /// `30º`: the sign is read as a degree sign and corrected.
    fn report_degree_signs(&mut self, unit: Span) {
        for (at, sign) in unit.text(self.text).char_indices().filter(|(_, sign)| matches!(sign, 'º' | '˚')) {
            let start = unit.start + offset(at);
            let at = Span::new(start, start + offset(sign.len_utf8()));
            self.report(SyntaxError::LookAlike { at, instead: "°".to_string() });
        }
    }

    fn take_unknown(&mut self, span: Span) {
        // A run of unknown characters is one mistake.
        if let Some(SyntaxError::UnknownCharacter { at }) = self.out.errors.last_mut()
            && at.end == span.start
        {
            at.end = span.end;
        } else {
            self.report(SyntaxError::UnknownCharacter { at: span });
        }
        self.break_statement();
        self.line = LinePart::Within;
    }

    fn break_with(&mut self, error: SyntaxError) {
        self.report(error);
        self.break_statement();
    }

    fn break_statement(&mut self) {
        self.state = SegmentState::Reported;
    }

    fn report(&mut self, error: SyntaxError) {
        // One more than the limit, so that the excess is known.
        if self.out.errors.len() <= MAX_ERRORS {
            self.out.errors.push(error);
        }
    }
}

/// Whether anything but a comment follows on the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MoreOnLine {
    Yes,
    No,
}
