//! Edits made in a text.
//!
//! Must not know: what they are for.

use crate::diagnostic::Edit;

/// A text with edits that do not overlap, and where each begins in it. New
/// lines end as the text's lines do.
pub fn edited<T>(text: &str, mut edits: Vec<(&Edit, T)>) -> (String, Vec<(usize, T)>) {
    edits.sort_by_key(|(edit, _)| (edit.span.start, edit.span.end));
    let mut places = Vec::with_capacity(edits.len());
    let is_crlf = text.find('\n').is_some_and(|at| text.get(..at).is_some_and(|line| line.ends_with('\r')));
    let mut new = String::with_capacity(text.len() + 64);
    let mut at = 0;
    for (edit, with) in edits {
        let (start, end) = (edit.span.start as usize, edit.span.end as usize);
        new.push_str(text.get(at..start).unwrap_or(""));
        places.push((new.len(), with));
        match is_crlf {
            true => new.push_str(&edit.replacement.replace('\n', "\r\n")),
            false => new.push_str(&edit.replacement),
        }
        at = end;
    }
    new.push_str(text.get(at..).unwrap_or(""));
    (new, places)
}
