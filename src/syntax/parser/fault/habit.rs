//! What is written otherwise elsewhere, known by its shape: told only where the
//! statement reads once it is written as it is here.
//!
//! Must not know: wording.

use std::ops::Range;

use super::{Farthest, parses};
use crate::base::Span;
use crate::syntax::error::{Expected, Fits, Habit, Reference, Replacement, SyntaxError};
use crate::syntax::token::{Token, keyword_perhaps_called};

/// An angle and the words of `30° from the vertical` take no more tokens.
const FARTHEST: usize = 6;

/// One change of a statement: what comes in the place of some of its tokens,
/// and what that is in its text.
struct Put<'p> {
    tokens: Range<usize>,
    by: &'p [Token],
    at: Span,
    text: String,
}

fn put<'p>(tokens: Range<usize>, by: &'p [Token], at: Span, text: impl Into<String>) -> Put<'p> {
    Put { tokens, by, at, text: text.into() }
}

/// A habit with the edits that mend it, given in order, if the statement reads
/// with them.
fn mended(tokens: &[Token], habit: Habit, at: Span, puts: Vec<Put<'_>>) -> Option<SyntaxError> {
    let (mut written, mut read_to) = (Vec::with_capacity(tokens.len() + 2), 0);
    for put in &puts {
        written.extend_from_slice(tokens.get(read_to..put.tokens.start)?);
        written.extend_from_slice(put.by);
        read_to = put.tokens.end;
    }
    written.extend_from_slice(tokens.get(read_to..)?);
    let edits = puts.into_iter().map(|put| Replacement { at: put.at, text: put.text }).collect();
    (parses(&written) == Fits::Yes).then_some(SyntaxError::Habit { habit, at, edits })
}

impl Farthest<'_> {
    /// The habit that explains this place, if one does.
    pub(super) fn habit(&self, text: &str) -> Option<SyntaxError> {
        self.block_comment(text)
            .or_else(|| self.colon_after_keyword())
            .or_else(|| self.preposition(text))
            .or_else(|| self.bare_coordinates(text))
            .or_else(|| self.point_without_comma())
            .or_else(|| self.decimal_commas(text))
            .or_else(|| self.angle_without_sign(text))
            .or_else(|| self.two_directions())
            .or_else(|| self.long_direction(text))
            .or_else(|| self.load_under_case())
            .or_else(|| self.sense_of_force(text))
            .or_else(|| self.square_brackets())
            .or_else(|| self.chain_by_blanks())
            .or_else(|| self.late_component(text))
            .or_else(|| self.angle_from(text))
            .or_else(|| self.joints_in_a_list(text))
            .or_else(|| self.late_word(text))
            .or_else(|| self.couple_as_load())
            .or_else(|| self.word_missing())
    }

    /// `pin A /* note */`
    fn block_comment(&self, text: &str) -> Option<SyntaxError> {
        let slash = [Some(self.at), self.at.checked_sub(1)]
            .into_iter()
            .flatten()
            .find(|at| self.tokens.get(*at) == Some(&Token::Slash) && self.tokens.get(at + 1) == Some(&Token::Star))?;
        let before = self.tokens.get(..slash)?;
        block_comment(text, self.span_of(slash)?, parses(before))
    }

    /// `pin: A`, `joint: C (2, 3)`
    fn colon_after_keyword(&self) -> Option<SyntaxError> {
        if self.at != 1 || self.found()? != Token::Colon {
            return None;
        }
        let without = || put(1..2, &[], self.span(), "");
        self.mended(Habit::ColonAfterKeyword, self.span(), vec![without()]).or_else(|| {
            let place = put(3..3, &[Token::Colon], Span::at(self.span_of(2)?.end), ":");
            self.mended(Habit::ColonAfterKeyword, self.span(), vec![without(), place])
        })
    }

    /// `roller on B`, `load at C: 5 kN down`, `pin support A`
    fn preposition(&self, text: &str) -> Option<SyntaxError> {
        let words = self.spans.iter().skip(1).take_while(|word| is_idle(word.text(text))).count();
        let end = words + 1;
        if words == 0 || self.at != 2 || !self.tokens.get(end)?.is_word() {
            return None;
        }
        let (first, last) = (self.span_of(1)?, self.span_of(words)?);
        let edit = put(1..end, &[], Span::new(first.start, self.span_of(end)?.start), "");
        self.mended(Habit::Preposition, first.to(last), vec![edit])
    }

    /// `joint B: 4, 0`, `joint B: 4; 0`
    fn bare_coordinates(&self, text: &str) -> Option<SyntaxError> {
        let is_point = self.statement.keyword == Token::Joint && self.found()? == Token::Comma;
        let colon = self.tokens.iter().position(|token| *token == Token::Colon)?;
        if !is_point || colon > self.at || self.open_bracket().is_some() {
            return None;
        }
        let (begin, end) = (colon + 1, self.tokens.len());
        let (first, last) = (self.span_of(begin)?, self.spans.last().copied()?);
        let mut edits = vec![put(begin..begin, &[Token::LeftParen], Span::at(first.start), "(")];
        let mark = self.span();
        if mark.text(text) == ";" {
            let gap = Span::new(mark.start, self.span_of(self.at + 1)?.start);
            edits.push(put(self.at..self.at + 1, &[Token::Comma], gap, ", "));
        }
        edits.push(put(end..end, &[Token::RightParen], Span::at(last.end), ")"));
        self.mended(Habit::BareCoordinates, first.to(last), edits)
    }

    /// `joint A: (span 0)`; where both are numbers, see [`super::Faults::refine`].
    fn point_without_comma(&self) -> Option<SyntaxError> {
        let open = self.open_bracket()?;
        if self.found() != Some(Token::Number) || !self.expects_mark(Token::RightParen) {
            return None;
        }
        point_without_comma(self.tokens, self.spans, open, self.at)
    }

    /// `(3,0, 4,5)`: commas within digits, and one with a blank after it.
    fn decimal_commas(&self, text: &str) -> Option<SyntaxError> {
        let open = self.open_bracket()?;
        if self.found()? != Token::Comma || self.tokens.get(open)? != &Token::LeftParen {
            return None;
        }
        let close = self.tokens.iter().skip(open).position(|token| *token == Token::RightParen)? + open;
        let (mut edits, mut separators) = (Vec::new(), 0);
        let mut at = open + 1;
        while at < close {
            let is_number = |at: usize| self.tokens.get(at) == Some(&Token::Number);
            let touches = |at: usize| Some(self.span_of(at)?.end == self.span_of(at + 1)?.start);
            let is_comma = self.tokens.get(at)? == &Token::Comma;
            if is_comma
                && self.span_of(at)?.text(text) == ","
                && is_number(at - 1)
                && is_number(at + 1)
                && touches(at - 1)?
                && touches(at)?
            {
                edits.push(put(at..at + 2, &[], self.span_of(at)?, "."));
                at += 1;
            } else if is_comma {
                separators += 1;
            }
            at += 1;
        }
        let whole = self.span_of(open)?.to(self.span_of(close)?);
        (separators == 1 && !edits.is_empty()).then(|| self.mended(Habit::DecimalCommas, whole, edits))?
    }

    /// `5 kN 30° below right`
    fn angle_without_sign(&self, text: &str) -> Option<SyntaxError> {
        let number = (1..=3).filter_map(|back| self.at.checked_sub(back)).find(|at| {
            let is_angle = self.span_of(at + 1).is_some_and(|unit| matches!(unit.text(text), "°" | "deg" | "rad"));
            let stands_after = at.checked_sub(1).and_then(|before| self.tokens.get(before));
            let follows_value = matches!(stands_after, Some(Token::Unit | Token::Number | Token::RightParen));
            self.tokens.get(*at) == Some(&Token::Number) && is_angle && follows_value
        })?;
        let angle = self.span_of(number)?;
        let gap = Span::new(self.span_of(number.checked_sub(1)?)?.end, angle.start);
        let edit = put(number..number, &[Token::Direct], gap, " @ ");
        self.mended(Habit::AngleWithoutSign, angle.to(self.spans.last().copied()?), vec![edit])
    }

    /// `5 kN down left`
    fn two_directions(&self) -> Option<SyntaxError> {
        let is_upright = |token| matches!(token, Token::Up | Token::Down);
        let (first, second) = (self.before()?, self.found()?);
        let are_two = first.is_cardinal() && second.is_cardinal() && is_upright(first) != is_upright(second);
        let upright = if is_upright(first) { first } else { second };
        let sideways = if is_upright(first) { second } else { first };
        are_two.then(|| advice(Habit::TwoDirections { upright, sideways }, self.span_before().to(self.span())))
    }

    /// `5 kN downwards`
    fn long_direction(&self, text: &str) -> Option<SyntaxError> {
        let word = self.span().text(text).to_lowercase();
        let instead = match word.trim_end_matches('s').trim_end_matches("ward").trim_end_matches('-') {
            "down" => Token::Down,
            "up" => Token::Up,
            "left" => Token::Left,
            "right" => Token::Right,
            "clockwise" => Token::Cw,
            "counterclockwise" | "counter-clockwise" | "anticlockwise" | "anti-clockwise" | "acw" => Token::Ccw,
            "on" | "over" | "acros" if self.expects_mark(Token::Along) => Token::Along,
            _ => return None,
        };
        let by = [instead];
        let edit = put(self.at..self.at + 1, &by, self.span(), instead.spelling());
        self.mended(Habit::OtherWord(instead), self.span(), vec![edit])
    }

    /// `load C: 12 kN down under wind`
    fn load_under_case(&self) -> Option<SyntaxError> {
        let acts =
            matches!(self.statement.keyword, Token::Load | Token::Moment | Token::Settle | Token::Heat | Token::Misfit);
        let case = self.span_of(self.at + 1)?;
        (acts && self.found()? == Token::Under).then(|| advice(Habit::LoadUnderCase { case }, self.span()))
    }

    /// `expect force A-B: 5 kN comp`, `5 kN (C)`
    fn sense_of_force(&self, text: &str) -> Option<SyntaxError> {
        let what = self.tokens.iter().skip(1).find(|token| **token != Token::Not)?;
        if self.statement.keyword != Token::Expect || *what != Token::Force {
            return None;
        }
        let (word_at, length) = if self.found()? == Token::LeftParen { (self.at + 1, 3) } else { (self.at, 1) };
        let sense = match self.span_of(word_at)?.text(text).to_lowercase().as_str() {
            "c" | "comp" | "compr" | "compressive" => Token::Compression,
            "t" | "ten" | "tens" | "tensile" => Token::Tension,
            _ => return None,
        };
        let at = self.span().to(self.span_of(self.at + length - 1)?);
        self.mended(Habit::OtherWord(sense), at, vec![put(self.at..self.at + length, &[sense], at, sense.spelling())])
    }

    /// `joint B: [3, 0]`
    fn square_brackets(&self) -> Option<SyntaxError> {
        if self.found()? != Token::LeftBracket || self.open_bracket().is_some() {
            return None;
        }
        let close = self.tokens.iter().rposition(|token| *token == Token::RightBracket).filter(|at| *at > self.at)?;
        let edits = vec![
            put(self.at..self.at + 1, &[Token::LeftParen], self.span(), "("),
            put(close..close + 1, &[Token::RightParen], self.span_of(close)?, ")"),
        ];
        self.mended(Habit::SquareBrackets, self.span().to(self.span_of(close)?), edits)
    }

    /// `beam A B C`: two or three names; four could be two members.
    fn chain_by_blanks(&self) -> Option<SyntaxError> {
        let is_member = matches!(self.statement.keyword, Token::Bar | Token::Cable | Token::Beam);
        let names = self.tokens.iter().skip(1).take_while(|token| **token == Token::Name).count();
        if !is_member || self.at != 2 || !(2..=3).contains(&names) {
            return None;
        }
        let joined = (2..=names).map(|at| {
            let gap = Span::new(self.span_of(at - 1)?.end, self.span_of(at)?.start);
            Some(put(at..at, &[Token::Minus], gap, "-"))
        });
        let at = self.span_of(1)?.to(self.span_of(names)?);
        self.mended(Habit::ChainByBlanks, at, joined.collect::<Option<_>>()?)
    }

    /// `expect deflection A-B at 2 m down: 1.8 mm`
    fn late_component(&self, text: &str) -> Option<SyntaxError> {
        let before = self.tokens.get(..self.at)?;
        let is_subject = !before.iter().any(|token| matches!(token, Token::Colon | Token::AtMost | Token::AtLeast));
        if self.statement.keyword != Token::Expect || !self.found()?.is_cardinal() || !is_subject {
            return None;
        }
        let clause = before.iter().rposition(|token| *token == Token::At)?;
        self.moved_to(Habit::LateComponent, clause, text)
    }

    /// `10 kN @ 30° to the horizontal`, `@ 30° below`: it does not say which way.
    fn angle_from(&self, text: &str) -> Option<SyntaxError> {
        let until = self.at.min(self.tokens.len());
        let number = (0..until).rev().find(|at| {
            let is_angle = self.span_of(at + 1).is_some_and(|unit| matches!(unit.text(text), "°" | "deg" | "rad"));
            is_angle && self.tokens.get(*at) == Some(&Token::Number) && self.tokens.get(at + 1) == Some(&Token::Unit)
        })?;
        // What is wrong farther on, or a direction's own word mistyped, is another slip.
        let is_whole = match self.tokens.get(number + 2..)? {
            [Token::Above | Token::Below, side, ..] => matches!(side, Token::Left | Token::Right),
            [Token::Left | Token::Right, Token::Of, to, ..] => matches!(to, Token::Up | Token::Down),
            _ => false,
        };
        if is_whole || self.at > number + FARTHEST || self.word_meant(text).is_some() {
            return None;
        }
        let last = self.spans.last().copied()?;
        let said = Span::new(self.span_of(number + 1)?.end, last.end).text(text).to_lowercase();
        let has = |word: &str| said.split(|c: char| !c.is_alphanumeric()).any(|part| part.starts_with(word));
        let reference = if has("vert") || has("upright") || has("plumb") {
            Reference::Vertical
        } else if has("below") {
            Reference::Below
        } else if has("above") {
            Reference::Above
        } else if has("horiz") || has("level") {
            Reference::Horizontal
        } else if (has("left") || has("right")) && has("of") {
            Reference::Vertical
        } else if let Some(word) = self.tokens.get(number + 2).copied().filter(|word| word.is_cardinal()) {
            Reference::Toward(word)
        } else {
            return None;
        };
        Some(advice(Habit::AngleFrom(reference), self.span_of(number)?.to(last)))
    }

    /// `pin A D`, `pin A and D`, `hinge B-C`
    fn joints_in_a_list(&self, text: &str) -> Option<SyntaxError> {
        let takes_joints = matches!(self.statement.keyword, Token::Pin | Token::Fixed | Token::Hinge | Token::Roller);
        if !takes_joints || !self.expects_mark(Token::Comma) {
            return None;
        }
        let end = self.span_before().end;
        let until = |at: Span| Span::new(end, at.start);
        let is_and = matches!(self.span().text(text), "and" | "&");
        let (habit, next, gap) = match self.found()? {
            Token::Minus => (Habit::ChainOfJoints, self.at + 1, self.span()),
            _ if is_and => (Habit::CommaMissing, self.at + 1, until(self.span_of(self.at + 1)?)),
            Token::Name => (Habit::CommaMissing, self.at, until(self.span())),
            _ => return None,
        };
        let at = self.span_of(1)?.to(self.span_of(next)?);
        self.mended(habit, at, vec![put(self.at..next, &[Token::Comma], gap, ", ")])
    }

    /// `load A-B: 5 kN at 2 m down`, `moment A-B: 5 kN*m at 2 m cw`
    fn late_word(&self, text: &str) -> Option<SyntaxError> {
        let found = self.found()?;
        let is_late = match self.statement.keyword {
            Token::Load => found.is_cardinal(),
            Token::Moment => matches!(found, Token::Cw | Token::Ccw),
            _ => false,
        };
        let colon = self.tokens.iter().position(|token| *token == Token::Colon)?;
        let clause = self.tokens.iter().skip(colon).position(|token| token.opens_clause())? + colon;
        // After `to` there are two values it could belong to.
        let is_of_one = self.before() != Some(found) && self.tokens.get(clause) != Some(&Token::To);
        if !is_late || !is_of_one || clause >= self.at {
            return None;
        }
        self.moved_to(Habit::LateWord, clause, text)
    }

    /// The word found here, moved to stand before an earlier token.
    fn moved_to(&self, habit: Habit, place: usize, text: &str) -> Option<SyntaxError> {
        let found = [self.found()?];
        let before = Span::at(self.span_of(place.checked_sub(1)?)?.end);
        let edits = vec![
            put(place..place, &found, before, format!(" {}", self.span().text(text))),
            put(self.at..self.at + 1, &[], Span::new(self.span_before().end, self.span().end), ""),
        ];
        self.mended(habit, self.span(), edits)
    }

    /// `load B: 5 kN*m cw`
    fn couple_as_load(&self) -> Option<SyntaxError> {
        if self.statement.keyword != Token::Load || !matches!(self.found()?, Token::Cw | Token::Ccw) {
            return None;
        }
        let edit = put(0..1, &[Token::Moment], self.statement.span, Token::Moment.spelling());
        self.mended(Habit::CoupleAsLoad, self.statement.span, vec![edit])
    }

    /// `beam A-B: hinged B`: the one word that may stand here, if it is all that lacks.
    fn word_missing(&self) -> Option<SyntaxError> {
        self.found()?;
        let word = match self.expected.as_slice() {
            [Expected::Token(word)] => word,
            // What was taken for a section's name.
            _ if self.before() == Some(Token::Hinged) => &Token::At,
            _ => return None,
        };
        let by = [*word];
        let edit = put(self.at..self.at, &by, Span::at(self.span_before().end), format!(" {}", word.spelling()));
        let is_word = word.is_word() && *word != Token::Name;
        is_word.then(|| self.mended(Habit::WordMissing(*word), self.span(), vec![edit]))?
    }

    fn span_of(&self, at: usize) -> Option<Span> {
        self.spans.get(at).copied()
    }

    fn mended(&self, habit: Habit, at: Span, puts: Vec<Put<'_>>) -> Option<SyntaxError> {
        mended(self.tokens, habit, at, puts)
    }
}

/// A habit that is told of and not mended.
const fn advice(habit: Habit, at: Span) -> SyntaxError {
    SyntaxError::Habit { habit, at, edits: Vec::new() }
}

/// A comma put before a token inside a bracket, if the statement reads so.
pub(super) fn point_without_comma(tokens: &[Token], spans: &[Span], open: usize, second: usize) -> Option<SyntaxError> {
    if tokens.get(open..second)?.contains(&Token::Comma) {
        return None;
    }
    let end = spans.get(second.checked_sub(1)?)?.end;
    let close = tokens.iter().skip(second).position(|token| *token == Token::RightParen)? + second;
    let at = spans.get(open)?.to(*spans.get(close)?);
    mended(tokens, Habit::PointWithoutComma, at, vec![put(second..second, &[Token::Comma], Span::at(end), ",")])
}

/// `/* a note */` from its slash on. It is mended where it ends with its line
/// and what stands before it reads.
pub(super) fn block_comment(text: &str, slash: Span, before: Fits) -> Option<SyntaxError> {
    let rest = text.get(slash.start as usize..)?.lines().next()?.trim_end();
    let note = rest.strip_prefix("/*")?;
    let at = Span::new(slash.start, slash.start + 2);
    let habit = Habit::BlockComment;
    let closes = note.strip_suffix("*/").filter(|inside| before == Fits::Yes && !inside.contains("*/"));
    let edits = closes.map(|inside| {
        let start = at.end + u32::try_from(inside.trim_end().len()).unwrap_or(0);
        let end = at.end + u32::try_from(note.len()).unwrap_or(0);
        let opening = Replacement { at, text: "//".to_owned() };
        vec![opening, Replacement { at: Span::new(start, end), text: String::new() }]
    });
    Some(SyntaxError::Habit { habit, at, edits: edits.unwrap_or_default() })
}

/// `loadB: 3 kN up`: a keyword and a name without the blank between them.
pub(super) fn run_on(text: &str, tokens: &[Token], word: Span) -> Option<SyntaxError> {
    let written = word.text(text);
    let rest = tokens.get(1..)?;
    let keyword = Token::KEYWORDS.into_iter().find(|keyword| {
        let name = written.strip_prefix(keyword.spelling());
        let is_name = name.is_some_and(|name| name.starts_with(char::is_uppercase));
        is_name && parses(&[&[*keyword, Token::Name], rest].concat()) == Fits::Yes
    })?;
    let end = word.start + u32::try_from(keyword.spelling().len()).ok()?;
    let blank = Replacement { at: Span::at(end), text: " ".to_owned() };
    Some(SyntaxError::Habit { habit: Habit::RunOn { keyword }, at: word, edits: vec![blank] })
}

/// A word between a keyword and its joint that says nothing more.
fn is_idle(word: &str) -> bool {
    matches!(word, "on" | "at" | "in" | "of" | "the" | "joint" | "joints" | "node" | "support" | "supports" | "bearing")
}

/// `support A: pin`, `support pin A`, `support A pin`, `pinned support A`
pub(super) fn support_of_kind(text: &str, tokens: &[Token], spans: &[Span]) -> Option<SyntaxError> {
    let kind_at = |at: usize| match *tokens.get(at)? {
        kind @ (Token::Pin | Token::Roller | Token::Fixed | Token::Guide) => Some(kind),
        _ => {
            let called = keyword_perhaps_called(spans.get(at)?.text(text))?;
            matches!(called, Token::Pin | Token::Roller | Token::Fixed | Token::Guide).then_some(called)
        }
    };
    let is_support = |at: usize| spans.get(at).is_some_and(|word| word.text(text) == "support");
    let (kind, joint, last) = match tokens {
        [_, _, Token::Colon, ..] if is_support(0) => (kind_at(3)?, 1, 3),
        _ if is_support(0) && kind_at(1).is_some() => (kind_at(1)?, 2, 2),
        _ if is_support(0) => (kind_at(2)?, 1, 2),
        _ if is_support(1) => (kind_at(0)?, 2, 2),
        _ => return None,
    };
    let (first, subject) = (spans.first()?, tokens.get(joint).filter(|subject| subject.is_word())?);
    let (by, mark) = match tokens.len() > last + 1 && last == 3 {
        true => (&[kind, *subject, Token::Colon][..], ":"),
        false => (&[kind, *subject][..], ""),
    };
    let (joint, whole) = (*spans.get(joint)?, first.to(*spans.get(last)?));
    let statement = format!("{} {}{mark}", kind.spelling(), joint.text(text));
    mended(tokens, Habit::SupportOfKind { kind, joint }, whole, vec![put(0..last + 1, by, whole, statement)])
}
