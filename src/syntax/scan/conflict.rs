//! The marks that a merge leaves in a text where two changes met.
//!
//! One conflict is one mistake: the first version is read, what stands between
//! the middle and the end is passed over.
//!
//! Must not know: what the versions say.

use super::{Ending, Scan, offset};
use crate::base::Span;
use crate::syntax::error::SyntaxError;

/// How long the marks are.
const LENGTH: usize = 7;

/// The conflict that is open, and what is known of marks further on.
#[derive(Debug, Default)]
pub(super) struct Conflict {
    /// The place of its error in the list.
    open: Option<usize>,
    /// No end is left in the text: it need not be searched again.
    has_no_end: bool,
}

impl Scan<'_> {
    /// Takes a line that is a mark of a merge; gives whether it was one.
    pub(super) fn take_conflict_mark(&mut self, span: Span) -> bool {
        let Some(mark) = mark_at(self.text, span.start as usize) else { return false };
        self.end_segment(Ending::Line);
        let line = line_at(self.text, span.start as usize);
        let here = Span::new(span.start, offset(span.start as usize + line.len()));
        let mut read_to = here.end as usize;
        let open = self.conflict.open.and_then(|at| self.errors.get_mut(at));
        match (mark, open) {
            (b'|' | b'=', Some(SyntaxError::MergeConflict { middle, end, .. })) => {
                // After the common base, if it is shown, comes the second version.
                let second =
                    if mark == b'|' && !self.conflict.has_no_end { mark_after(self.text, read_to, b'=') } else { None };
                middle.get_or_insert(second.unwrap_or(here));
                let found = if self.conflict.has_no_end { None } else { mark_after(self.text, read_to, b'>') };
                match found {
                    Some(last) => {
                        *end = Some(last);
                        read_to = last.end as usize;
                        self.conflict.open = None;
                    }
                    None => self.conflict.has_no_end = true,
                }
            }
            (b'>', Some(SyntaxError::MergeConflict { end, .. })) => {
                *end = Some(here);
                self.conflict.open = None;
            }
            _ => {
                let errors = self.errors.len();
                self.report(SyntaxError::MergeConflict { start: here, middle: None, end: None });
                self.conflict.open = (mark == b'<' && self.errors.len() > errors).then_some(errors);
            }
        }
        self.lexer.bump(read_to.saturating_sub(self.lexer.span().end));
        true
    }
}

/// The sign of the mark that the line at this place is.
fn mark_at(text: &str, at: usize) -> Option<u8> {
    let bytes = text.as_bytes().get(at..)?;
    let sign = *bytes.first()?;
    let is_line_start = at == 0 || text.as_bytes().get(at - 1) == Some(&b'\n');
    if !matches!(sign, b'<' | b'=' | b'>' | b'|') || !is_line_start {
        return None;
    }
    let is_run = bytes.get(..LENGTH)?.iter().all(|byte| *byte == sign);
    let ends = matches!(bytes.get(LENGTH), None | Some(b' ' | b'\r' | b'\n'));
    (is_run && ends).then_some(sign)
}

fn line_at(text: &str, at: usize) -> &str {
    text.get(at..).and_then(|rest| rest.lines().next()).unwrap_or("")
}

/// The next line that is a mark with this sign.
fn mark_after(text: &str, from: usize, sign: u8) -> Option<Span> {
    let rest = text.get(from..)?;
    let mut at = from;
    for line in rest.split_inclusive('\n') {
        if mark_at(text, at) == Some(sign) {
            return Some(Span::new(offset(at), offset(at + line_at(text, at).len())));
        }
        at += line.len();
    }
    None
}
