//! What is written otherwise elsewhere, known by its shape: told only where the
//! statement reads once it is written as it is here.
//!
//! Must not know: wording.

use super::{Farthest, parses};
use crate::base::Span;
use crate::syntax::error::{Fits, Habit, Replacement, SyntaxError};
use crate::syntax::token::Token;

impl Farthest<'_> {
    /// The habit that explains this place, if one does.
    pub(super) fn habit(&self, text: &str) -> Option<SyntaxError> {
        self.block_comment(text)
            .or_else(|| self.colon_after_keyword())
            .or_else(|| self.preposition(text))
            .or_else(|| self.bare_coordinates())
            .or_else(|| self.point_without_comma())
            .or_else(|| self.angle_without_sign(text))
            .or_else(|| self.two_directions())
            .or_else(|| self.long_direction(text))
            .or_else(|| self.load_under_case())
            .or_else(|| self.sense_of_force(text))
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
        let without = Replacement { at: self.span(), text: String::new() };
        let (keyword, rest) = (self.tokens.get(..1)?, self.tokens.get(2..)?);
        let plain = [keyword, rest].concat();
        if parses(&plain) == Fits::Yes {
            return Some(self.told(Habit::ColonAfterKeyword, self.span(), vec![without]));
        }
        let (subject, rest) = rest.split_at_checked(1)?;
        let moved = [keyword, subject, &[Token::Colon], rest].concat();
        let place = Replacement { at: Span::at(self.span_of(2)?.end), text: ":".to_owned() };
        let edits = if parses(&moved) == Fits::Yes { vec![without, place] } else { return None };
        Some(self.told(Habit::ColonAfterKeyword, self.span(), edits))
    }

    /// `roller on B`, `load at C: 5 kN down`
    fn preposition(&self, text: &str) -> Option<SyntaxError> {
        let word = self.span_of(1)?;
        let is_one = matches!(word.text(text), "on" | "at" | "in" | "to" | "of" | "from" | "the" | "joint" | "joints");
        if self.at != 2 || !is_one || !self.found()?.is_word() {
            return None;
        }
        let without = [self.tokens.get(..1)?, self.tokens.get(2..)?].concat();
        let edit = Replacement { at: Span::new(word.start, self.span().start), text: String::new() };
        (parses(&without) == Fits::Yes).then(|| self.told(Habit::Preposition, word, vec![edit]))
    }

    /// `joint B: 4, 0`
    fn bare_coordinates(&self) -> Option<SyntaxError> {
        let is_point = self.statement.keyword == Token::Joint && self.found()? == Token::Comma;
        let colon = self.tokens.iter().position(|token| *token == Token::Colon)?;
        if !is_point || colon > self.at || self.open_bracket().is_some() {
            return None;
        }
        let (subject, point) = self.tokens.split_at_checked(colon + 1)?;
        let bracketed = [subject, &[Token::LeftParen], point, &[Token::RightParen]].concat();
        let (first, last) = (self.span_of(colon + 1)?, self.spans.last().copied()?);
        let edits = vec![
            Replacement { at: Span::at(first.start), text: "(".to_owned() },
            Replacement { at: Span::at(last.end), text: ")".to_owned() },
        ];
        (parses(&bracketed) == Fits::Yes).then(|| self.told(Habit::BareCoordinates, first.to(last), edits))
    }

    /// `joint A: (span 0)`; where both are numbers, see [`super::Faults::refine`].
    fn point_without_comma(&self) -> Option<SyntaxError> {
        let open = self.open_bracket()?;
        if self.found() != Some(Token::Number) || !self.expects_mark(Token::RightParen) {
            return None;
        }
        point_without_comma(self.tokens, self.spans, open, self.at)
    }

    /// `5 kN 30° below right`
    fn angle_without_sign(&self, text: &str) -> Option<SyntaxError> {
        let number = (1..=3).filter_map(|back| self.at.checked_sub(back)).find(|at| {
            let is_angle = self.span_of(at + 1).is_some_and(|unit| matches!(unit.text(text), "°" | "deg" | "rad"));
            let stands_after = at.checked_sub(1).and_then(|before| self.tokens.get(before));
            let follows_value = matches!(stands_after, Some(Token::Unit | Token::Number | Token::RightParen));
            self.tokens.get(*at) == Some(&Token::Number) && is_angle && follows_value
        })?;
        let (before, angle) = self.tokens.split_at_checked(number)?;
        let angle_at = self.span_of(number)?;
        let value_end = self.span_of(number.checked_sub(1)?)?.end;
        let edit = Replacement { at: Span::new(value_end, angle_at.start), text: " @ ".to_owned() };
        let signed = [before, &[Token::Direct], angle].concat();
        let whole = angle_at.to(self.spans.last().copied()?);
        (parses(&signed) == Fits::Yes).then(|| self.told(Habit::AngleWithoutSign, whole, vec![edit]))
    }

    /// `5 kN down left`
    fn two_directions(&self) -> Option<SyntaxError> {
        let is_upright = |token| matches!(token, Token::Up | Token::Down);
        let (first, second) = (self.before()?, self.found()?);
        let are_two = first.is_cardinal() && second.is_cardinal() && is_upright(first) != is_upright(second);
        let upright = if is_upright(first) { first } else { second };
        let sideways = if is_upright(first) { second } else { first };
        are_two
            .then(|| self.told(Habit::TwoDirections { upright, sideways }, self.span_before().to(self.span()), vec![]))
    }

    /// `5 kN downwards`
    fn long_direction(&self, text: &str) -> Option<SyntaxError> {
        let word = self.span().text(text).to_lowercase();
        let instead = match word.trim_end_matches('s').trim_end_matches("ward").trim_end_matches('-') {
            "down" => Token::Down,
            "up" => Token::Up,
            "left" => Token::Left,
            "right" => Token::Right,
            _ => return None,
        };
        let edit = Replacement { at: self.span(), text: instead.spelling().to_owned() };
        let reads = self.parses_with(instead, super::Place::Instead) == Fits::Yes;
        reads.then(|| self.told(Habit::OtherWord(instead), self.span(), vec![edit]))
    }

    /// `load C: 12 kN down under wind`
    fn load_under_case(&self) -> Option<SyntaxError> {
        let acts =
            matches!(self.statement.keyword, Token::Load | Token::Moment | Token::Settle | Token::Heat | Token::Misfit);
        let case = self.span_of(self.at + 1)?;
        (acts && self.found()? == Token::Under).then(|| self.told(Habit::LoadUnderCase { case }, self.span(), vec![]))
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
        let (before, rest) = (self.tokens.get(..self.at)?, self.tokens.get(self.at + length..)?);
        let at = self.span().to(self.span_of(self.at + length - 1)?);
        let reads = parses(&[before, &[sense], rest].concat()) == Fits::Yes;
        let edit = Replacement { at, text: sense.spelling().to_owned() };
        reads.then(|| self.told(Habit::OtherWord(sense), at, vec![edit]))
    }

    fn span_of(&self, at: usize) -> Option<Span> {
        self.spans.get(at).copied()
    }

    fn told(&self, habit: Habit, at: Span, edits: Vec<Replacement>) -> SyntaxError {
        SyntaxError::Habit { habit, at, edits }
    }
}

/// A comma put before a token inside a bracket, if the statement reads so.
pub(super) fn point_without_comma(tokens: &[Token], spans: &[Span], open: usize, second: usize) -> Option<SyntaxError> {
    let (before, after) = tokens.split_at_checked(second)?;
    if before.get(open..)?.contains(&Token::Comma) || parses(&[before, &[Token::Comma], after].concat()) == Fits::No {
        return None;
    }
    let inside = spans.get(open).copied()?;
    let end = spans.get(second.checked_sub(1)?).copied()?.end;
    let close = tokens.iter().skip(second).position(|token| *token == Token::RightParen)? + second;
    let at = inside.to(spans.get(close).copied()?);
    let edits = vec![Replacement { at: Span::at(end), text: ",".to_owned() }];
    Some(SyntaxError::Habit { habit: Habit::PointWithoutComma, at, edits })
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

/// `support A: pin`
pub(super) fn support_of_kind(text: &str, tokens: &[Token], spans: &[Span]) -> Option<SyntaxError> {
    let [_, subject, Token::Colon, kind, rest @ ..] = tokens else { return None };
    let [first, joint, _, kind_at, ..] = spans else { return None };
    if first.text(text) != "support" || !subject.is_word() {
        return None;
    }
    let kind = match kind {
        Token::Pin | Token::Roller | Token::Fixed | Token::Guide => *kind,
        _ => keyword_called(kind_at.text(text))?,
    };
    let colon = if rest.is_empty() { &[][..] } else { &[Token::Colon] };
    if parses(&[&[kind, *subject], colon, rest].concat()) == Fits::No {
        return None;
    }
    let mark = if rest.is_empty() { "" } else { ":" };
    let whole = first.to(*kind_at);
    let statement = format!("{} {}{mark}", kind.spelling(), joint.text(text));
    let edits = vec![Replacement { at: whole, text: statement }];
    Some(SyntaxError::Habit { habit: Habit::SupportOfKind { kind, joint: *joint }, at: whole, edits })
}

/// The keyword for a word that the trade uses for just that.
pub(super) fn keyword_called(word: &str) -> Option<Token> {
    Some(match word.to_lowercase().as_str() {
        "pinned" => Token::Pin,
        "rolling" => Token::Roller,
        "clamped" | "clamp" => Token::Fixed,
        _ => return None,
    })
}
