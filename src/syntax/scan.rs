//! Text to tokens, cut into statements.
//!
//! Three things are settled here because the notation calls them lexical:
//! what is a unit, where a statement ends, and which characters a source file
//! may hold at all. One pass, no lookahead beyond a unit.
//!
//! Must not know: the productions of the grammar.

mod block_comment;
mod characters;
mod conflict;
mod feet;
mod range;
mod unit_run;

use conflict::Conflict;
use logos::Logos;
pub(super) use unit_run::unit_after;

use super::error::{Fits, Habit, MoreOnLine, Replacement, SyntaxError};
use super::limits::{MAX_BRACKETS, MAX_ERRORS};
use super::token::Token;
use crate::base::Span;

/// How far a bracket's end is looked for, in characters.
const NEAR: usize = 512;

/// Tokens after which a chunk ends, with its statement: few enough to stay in
/// the machine's cache, many enough to build the parsers seldom.
const CHUNK_TOKENS: usize = 1 << 14;

/// Reads a text chunk by chunk.
pub(super) struct Scan<'t> {
    text: &'t str,
    lexer: logos::Lexer<'t, Token>,
    /// The chunk last read.
    pub chunk: Chunk,
    /// Every comment and note so far, in source order.
    pub comments: Vec<Span>,
    pub errors: Vec<SyntaxError>,
    segment_start: usize,
    brackets: Vec<Bracket>,
    state: SegmentState,
    line: LinePart,
    /// Notes read that belong to the statement to come.
    pending_note: Option<Span>,
    /// The note of the statement that is open.
    note: Option<Span>,
    units: Units,
    conflict: Conflict,
    /// Keywords as they were written in earlier versions.
    pub old_keywords: Vec<Span>,
    /// Whether no `*/` is left in the text.
    comments_stay_open: bool,
}

/// A run of whole statements as tokens.
#[derive(Debug, Default)]
pub(super) struct Chunk {
    pub tokens: Vec<Token>,
    /// One span for each token.
    pub spans: Vec<Span>,
    pub segments: Vec<Segment>,
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

/// Whether the sign at a place is the `#` of a comment as it is written
/// elsewhere: first on its line, or between blanks.
pub fn is_hash_comment(text: &str, at: usize) -> bool {
    let (before, rest) = (text.get(..at).unwrap_or(""), text.get(at..).unwrap_or(""));
    let Some(after) = rest.strip_prefix('#') else { return false };
    // No more is looked at than the blanks about it: a line may be very long.
    let blanks = before.trim_end_matches([' ', '\t']);
    let is_first = blanks.is_empty() || blanks.ends_with(['\n', '\u{FEFF}']);
    let is_apart = blanks.len() < before.len();
    is_first || (is_apart && (after.is_empty() || after.starts_with([' ', '\t', '\r', '\n', '#'])))
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

/// In `combination` statements a word after a number is a case, not a unit.
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

impl<'t> Scan<'t> {
    /// Begins a text; a byte order mark at its start is skipped.
    pub fn new(text: &'t str) -> Self {
        let mut lexer = Token::lexer(text);
        if text.starts_with('\u{FEFF}') {
            lexer.bump('\u{FEFF}'.len_utf8());
        }
        Scan {
            text,
            lexer,
            chunk: Chunk::default(),
            comments: Vec::new(),
            errors: Vec::new(),
            segment_start: 0,
            brackets: Vec::new(),
            state: SegmentState::Whole,
            line: LinePart::Start,
            pending_note: None,
            note: None,
            units: Units::Read,
            conflict: Conflict::default(),
            old_keywords: Vec::new(),
            comments_stay_open: false,
        }
    }

    /// How much of the text is read.
    pub fn position(&self) -> usize {
        self.text.len() - self.lexer.remainder().len()
    }

    /// Reads the next run of whole statements into [`Scan::chunk`]; gives
    /// whether there was anything left to read.
    pub fn read_chunk(&mut self) -> bool {
        self.chunk.tokens.clear();
        self.chunk.spans.clear();
        self.chunk.segments.clear();
        self.segment_start = 0;
        while self.segment_start < CHUNK_TOKENS || self.is_open() {
            let Some(result) = self.lexer.next() else {
                self.end_segment(Ending::Line);
                break;
            };
            let range = self.lexer.span();
            let span = Span::new(offset(range.start), offset(range.end));
            let token = result.unwrap_or(Token::Unknown);
            self.take(token, span);
        }
        !self.chunk.segments.is_empty()
    }

    fn take(&mut self, token: Token, span: Span) {
        match token {
            Token::Newline => {
                if !self.statement_goes_on() {
                    self.end_segment(Ending::Line);
                }
                self.line = LinePart::Start;
            }
            Token::Number => {
                self.push(Token::Number, span);
                if !self.take_unit(span.end)
                    && let Some(end) = unit_run::malformed_tail(self.text, span.end as usize)
                {
                    let number = Span::new(span.start, offset(end));
                    self.break_with(SyntaxError::MalformedNumber { number, instead: None });
                }
            }
            Token::LeftParen => {
                let kind = if self.is_called() { Bracket::Call } else { Bracket::Group };
                self.push(Token::LeftParen, span);
                self.open(span, kind);
            }
            Token::LeftBracket => {
                self.push(Token::LeftBracket, span);
                self.open(span, Bracket::Index);
            }
            Token::RightParen => {
                self.push(Token::RightParen, span);
                if self.brackets.pop() == Some(Bracket::Group) {
                    self.take_unit(span.end);
                }
            }
            Token::RightBracket => {
                self.push(Token::RightBracket, span);
                self.brackets.pop();
            }
            _ => self.take_rarer(token, span),
        }
    }

    fn take_rarer(&mut self, token: Token, span: Span) {
        if self.line == LinePart::Start && self.take_conflict_mark(span) {
            return;
        }
        match token {
            Token::Comment => self.take_comment(span),
            Token::LeftBrace => self.end_line(Ending::Open(span)),
            Token::RightBrace => {
                self.end_line(Ending::Line);
                self.end_line(Ending::Close(span));
            }
            Token::Semicolon if self.begins_with(Token::For) => self.take_loop_part(span),
            Token::Semicolon if self.is_within_brackets(span) => {
                // `(4; 0)`, as where the comma is the decimal sign.
                self.report(SyntaxError::WrongMark { found: span, instead: Token::Comma, fits: Fits::Yes });
                self.push(Token::Comma, span);
            }
            Token::Semicolon => self.take_semicolon(span),
            Token::BareDecimal | Token::Dot | Token::Unknown if self.take_range(token, span) => {}
            Token::BareDecimal => {
                self.take_bare_decimal(span);
                self.take_unit(span.end);
            }
            Token::UnclosedText | Token::Text if self.take_inches(span) => {}
            Token::UnclosedText => {
                self.push(Token::Text, span);
                self.break_with(SyntaxError::UnclosedText { text: span });
            }
            Token::Text => {
                self.push(Token::Text, span);
                characters::check_text(self.text, span, &mut self.errors);
                if let Some(at) = characters::bad_escape(self.text, span) {
                    self.break_with(SyntaxError::BadEscape { at });
                }
            }
            Token::CurlyText | Token::LookAlike => self.take_look_alike(token, span),
            Token::Hidden => {
                self.report(SyntaxError::HiddenCharacter { at: span });
                if characters::breaks_line(span.text(self.text)) && !self.statement_goes_on() {
                    self.end_line(Ending::Line);
                }
            }
            Token::Unknown => self.take_unknown(span),
            Token::Star if self.take_block_comment(span) => {}
            _ => self.push(token, span),
        }
    }

    /// `pin A; roller B` is two statements; `pin A; B` may be a list.
    fn take_semicolon(&mut self, span: Span) {
        let rest = self.text.get(span.end as usize..).unwrap_or("").trim_start_matches([' ', '\t', '\r']);
        let word = rest.split(|next: char| !next.is_alphabetic()).next().unwrap_or("");
        let begins = rest.starts_with(['{', '}']) || Token::KEYWORDS.iter().any(|keyword| keyword.spelling() == word);
        let statement = self.chunk.tokens.get(self.segment_start..).unwrap_or(&[]);
        let more = match statement {
            _ if rest.is_empty() || rest.starts_with(['\n', ';']) || rest.starts_with("//") => MoreOnLine::No,
            // A remark, or a statement put out of use, as it is written elsewhere.
            _ if self.is_first_on_line(span) => MoreOnLine::Unclear,
            _ if begins => MoreOnLine::Yes,
            // A point without its brackets: the rule for points tells of it.
            [Token::Joint, .., Token::Number | Token::Unit | Token::Name] if statement.contains(&Token::Colon) => {
                self.push(Token::Comma, span);
                return;
            }
            _ => MoreOnLine::Unclear,
        };
        self.report(SyntaxError::Semicolon { at: span, more });
        match more {
            MoreOnLine::Unclear => {
                self.push(Token::Comma, span);
                self.break_statement();
            }
            MoreOnLine::Yes | MoreOnLine::No => self.end_line(Ending::Line),
        }
    }

    /// `for (i = 0; i < 5; i++) {`: told of once.
    fn take_loop_part(&mut self, span: Span) {
        let start = self.chunk.spans.get(self.segment_start).map_or(span, |first| *first);
        if self.state != SegmentState::Reported {
            self.report(SyntaxError::Habit { habit: Habit::LoopParts, at: start.to(span), edits: Vec::new() });
            self.break_statement();
        }
        self.push(Token::Comma, span);
    }

    /// Whether the statement begins with this keyword.
    fn begins_with(&self, keyword: Token) -> bool {
        self.chunk.tokens.get(self.segment_start) == Some(&keyword)
    }

    fn is_first_on_line(&self, span: Span) -> bool {
        let before = self.text.get(..span.start as usize).unwrap_or("").trim_end_matches([' ', '\t']);
        before.is_empty() || before.ends_with(['\n', '\u{FEFF}'])
    }

    /// Whether a bracket is open that closes after this place on its line.
    fn is_within_brackets(&self, span: Span) -> bool {
        let rest = self.text.get(span.end as usize..).unwrap_or("");
        !self.brackets.is_empty()
            && rest.chars().take(NEAR).find(|c| matches!(c, ')' | ']' | '\n')).is_some_and(|c| c != '\n')
    }

    /// Takes the unit after a number or group, if one stands there; gives
    /// whether one does.
    fn take_unit(&mut self, after: u32) -> bool {
        if self.units == Units::Names {
            return false;
        }
        let Some(unit) = unit_run::unit_after(self.text, after as usize) else { return false };
        let span = Span::new(offset(unit.start), offset(unit.end));
        self.put(Token::Unit, span);
        self.report_look_alikes(Span::new(after, span.end));
        self.lexer.bump(unit.end - after as usize);
        self.take_moment(unit);
        true
    }

    /// `12 kip-ft`, unless a name of the text is so short: then it may be a difference.
    fn take_moment(&mut self, unit: std::ops::Range<usize>) {
        let Some(more) = unit_run::moment_after(self.text, unit.clone()) else { return };
        let word = self.text.get(more.start + 1..more.end).unwrap_or("");
        let is_name = ["let ", "joint "].iter().any(|keyword| self.text.contains(&format!("{keyword}{word} ")));
        if is_name {
            return;
        }
        let dash = Span::new(offset(more.start), offset(more.start + 1));
        let at = Span::new(offset(unit.start), offset(more.end));
        let edits = vec![Replacement { at: dash, text: "*".to_owned() }];
        self.break_with(SyntaxError::Habit { habit: Habit::UnitProduct, at, edits });
        self.lexer.bump(more.end - more.start);
    }

    #[inline]
    fn push(&mut self, token: Token, span: Span) {
        if self.line == LinePart::Start {
            self.begin_line(token, span);
        }
        self.put(token, span);
    }

    #[inline]
    fn put(&mut self, token: Token, span: Span) {
        self.chunk.tokens.push(token);
        self.chunk.spans.push(span);
    }

    /// A line's first token ends what is still open if it is a keyword; a
    /// statement's first token decides how the statement is read.
    fn begin_line(&mut self, token: Token, span: Span) {
        self.line = LinePart::Within;
        if self.is_open() && token.is_keyword() {
            self.end_segment(Ending::Line);
        }
        if !self.is_open() {
            self.note = self.pending_note.take();
            self.units = if token == Token::Combination { Units::Names } else { Units::Read };
            let is_old = token.is_keyword() && span.len() < offset(token.spelling().len());
            if is_old && self.old_keywords.len() < MAX_ERRORS {
                self.old_keywords.push(span);
            }
        }
    }

    /// Whether an opening parenthesis belongs to a function before it.
    fn is_called(&self) -> bool {
        let statement = self.chunk.tokens.get(self.segment_start..).unwrap_or(&[]);
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

    fn is_open(&self) -> bool {
        self.chunk.tokens.len() > self.segment_start
    }

    fn statement_goes_on(&self) -> bool {
        self.is_open()
            && (!self.brackets.is_empty() || self.chunk.tokens.last().is_some_and(|last| last.continues_line()))
    }

    fn end_line(&mut self, ending: Ending) {
        self.end_segment(ending);
        self.line = LinePart::Start;
    }

    fn end_segment(&mut self, ending: Ending) {
        if self.is_open() || ending != Ending::Line {
            self.chunk.segments.push(Segment {
                start: offset(self.segment_start),
                end: offset(self.chunk.tokens.len()),
                ending,
                note: self.note.take(),
                state: self.state,
            });
        }
        self.segment_start = self.chunk.tokens.len();
        self.brackets.clear();
        self.state = SegmentState::Whole;
        self.units = Units::Read;
    }

    fn take_comment(&mut self, span: Span) {
        self.comments.push(span);
        characters::check_text(self.text, span, &mut self.errors);
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
            self.is_open() && self.chunk.tokens.last() == Some(&Token::Number) && self.last_end() == Some(span.start);
        if touches_number && let Some(number) = self.chunk.spans.last_mut() {
            // `1.2.3` is one mistake, not two.
            *number = number.to(span);
            let number = *number;
            self.break_with(SyntaxError::MalformedNumber { number, instead: None });
            return;
        }
        let written = span.text(self.text);
        let before = Span::new(0, span.start).text(self.text);
        // Digits put straight after a name would become part of it.
        let touches = before.ends_with(|last: char| last.is_alphanumeric() || matches!(last, '_' | '.' | ')' | ']'));
        // `3 .5` may be one number that a blank has cut.
        let is_cut_before = before.trim_end_matches([' ', '\t']).ends_with(|last: char| last.is_ascii_digit());
        let instead = match written.strip_suffix('.') {
            // `5.` may have lost its last digits.
            Some(_) => None,
            None => (!touches && !is_cut_before).then(|| format!("0{written}")),
        };
        self.break_with(SyntaxError::MalformedNumber { number: span, instead });
        self.push(Token::Number, span);
    }

    fn last_end(&self) -> Option<u32> {
        self.chunk.spans.last().map(|span| span.end)
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

    /// `30º`, or a no-break space before or in a unit: read as what it looks
    /// like, and corrected.
    fn report_look_alikes(&mut self, unit: Span) {
        let is_other = |c: char| matches!(c, 'º' | '˚') || unit_run::is_other_space(c);
        for (at, sign) in unit.text(self.text).char_indices().filter(|(_, sign)| is_other(*sign)) {
            let start = unit.start + offset(at);
            let at = Span::new(start, start + offset(sign.len_utf8()));
            if let Some((_, instead)) = characters::meant_by(Token::LookAlike, at.text(self.text)) {
                self.report(SyntaxError::LookAlike { at, instead });
            }
        }
    }

    fn take_unknown(&mut self, span: Span) {
        if is_hash_comment(self.text, span.start as usize) {
            self.report(SyntaxError::UnknownCharacter { at: Span::new(span.start, span.start + 1) });
            let line = self.text.get(span.end as usize..).and_then(|rest| rest.lines().next()).unwrap_or("");
            self.lexer.bump(line.len());
            return;
        }
        if self.take_feet(span) {
            return;
        }
        // A run of unknown characters is one mistake.
        if let Some(SyntaxError::UnknownCharacter { at }) = self.errors.last_mut()
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
        if self.errors.len() <= MAX_ERRORS {
            self.errors.push(error);
        }
    }
}
