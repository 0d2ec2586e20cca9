//! Comments between `/*` and `*/`, as they are written elsewhere: one mistake,
//! however many lines they run over, and nothing in them is read.
//!
//! Must not know: what the comments say.

use super::{LinePart, Scan, offset};
use crate::base::Span;
use crate::syntax::error::{Habit, Replacement, SyntaxError};
use crate::syntax::token::Token;

/// Longer comments are told of without a correction.
const MOST_LINES: usize = 256;

impl Scan<'_> {
    /// Takes a comment whose `/` was the last token and whose `*` is this one;
    /// gives whether it was one, with an end.
    pub(super) fn take_block_comment(&mut self, star: Span) -> bool {
        let is_opening = self.is_open()
            && self.chunk.tokens.last() == Some(&Token::Slash)
            && self.last_end() == Some(star.start)
            // A division sign of another kind begins no comment.
            && self.text.get(..star.start as usize).is_some_and(|before| before.ends_with('/'))
            && !self.comments_stay_open;
        if !is_opening {
            return false;
        }
        let rest = self.text.get(star.end as usize..).unwrap_or("");
        let Some(length) = rest.find("*/") else {
            // It need not be searched again.
            self.comments_stay_open = true;
            return false;
        };
        let start = star.start.saturating_sub(1);
        let end = star.end + offset(length);
        let edits = self.as_line_comments(start, end);
        self.report(SyntaxError::Habit { habit: Habit::BlockComment, at: Span::new(start, start + 2), edits });
        self.chunk.tokens.pop();
        self.chunk.spans.pop();
        if !self.is_open() {
            self.line = LinePart::Start;
        }
        self.lexer.bump(length + 2);
        if rest.get(..length).is_some_and(|inside| inside.contains('\n')) && !self.statement_goes_on() {
            self.end_line(super::Ending::Line);
        }
        true
    }

    /// The comment with `//` on each of its lines, where nothing follows it on
    /// the last. `end` is where its `*/` stands.
    fn as_line_comments(&self, start: u32, end: u32) -> Vec<Replacement> {
        let after = self.text.get(end as usize + 2..).unwrap_or("").trim_start_matches([' ', '\t', '\r']);
        let inside = Span::new(start + 2, end).text(self.text);
        if !(after.is_empty() || after.starts_with('\n')) || inside.lines().count() > MOST_LINES {
            return Vec::new();
        }
        let mut edits = vec![Replacement { at: Span::new(start, start + 2), text: "//".to_owned() }];
        let lines: Vec<&str> = inside.split('\n').collect();
        let mut at = start + 2;
        for (number, line) in lines.iter().enumerate() {
            let is_empty = line.trim().is_empty();
            if number > 0 && !is_empty {
                let indentation = line.len() - line.trim_start_matches([' ', '\t']).len();
                edits.push(Replacement { at: Span::at(at + offset(indentation)), text: "// ".to_owned() });
            }
            if number + 1 == lines.len() {
                // The end goes, with the blanks before it; alone on its line it becomes a line of its own.
                let is_alone = is_empty && number > 0;
                let from = if is_alone { end } else { at + offset(line.trim_end().len()) };
                let text = if is_alone { "//" } else { "" };
                edits.push(Replacement { at: Span::new(from, end + 2), text: text.to_owned() });
            }
            at += offset(line.len() + 1);
        }
        edits
    }
}
