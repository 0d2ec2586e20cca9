//! The lines a report shows: labelled lines made fit for a terminal, with
//! labels moved along.
//!
//! The report renderer is given an excerpt instead of the file, so that it
//! never sees a tab, a control character, a line it would break elsewhere, a
//! line of a megabyte, or a span off a character's edge, and so that a report
//! costs what it shows and not what the file holds.
//!
//! Must not know: how a report is drawn.

use std::ops::Range;

use super::super::text::columns;
use crate::base::{SourceFile, Span, visible};

/// Lines wider than this are cut to a window around their first label.
pub const MAX_LINE_COLUMNS: usize = 200;

/// Width of that window.
const WINDOW_COLUMNS: usize = 100;

/// Columns of the window before the label.
const LEAD_COLUMNS: usize = 30;

/// A span over more lines than this is labelled on its first line alone.
const MAX_SPAN_LINES: usize = 400;

/// Labels further apart than this many lines stand in excerpts of their own.
const MAX_GAP_LINES: usize = 40;

const TAB_COLUMNS: usize = 4;

/// A run of lines of one file with the labels that stand in it.
#[derive(Debug)]
pub struct Excerpt {
    /// Line number, from 1, of the first line of `text`.
    pub first_line: usize,
    /// Labelled lines as they are shown, each ended by a newline; the lines
    /// between are empty.
    pub text: String,
    pub labels: Vec<Placed>,
}

/// A label in an excerpt.
#[derive(Debug)]
pub struct Placed {
    /// Characters of the excerpt's text; never empty.
    pub at: Range<usize>,
    /// Which of the given spans it is.
    pub index: usize,
    /// Last line of the label, from 0 in the excerpt.
    pub last_line: usize,
}

/// A span in lines (from 0) and bytes, made to fit the file.
struct Fitted {
    index: usize,
    bytes: Range<usize>,
    lines: Range<usize>,
}

/// The excerpts that show these spans of a file: in line order, but for the
/// one with the first span, which comes first.
pub fn excerpts(file: &SourceFile, spans: &[(usize, Span)]) -> Vec<Excerpt> {
    let Some(primary) = spans.first().map(|(index, _)| *index) else { return Vec::new() };
    let mut fitted: Vec<Fitted> = spans.iter().map(|(index, span)| fit(file, *index, *span)).collect();
    fitted.sort_by_key(|label| (label.lines.start, label.lines.end));
    let mut groups: Vec<Vec<Fitted>> = Vec::new();
    let mut last_line = 0;
    for label in fitted {
        let end = label.lines.end;
        match groups.last_mut() {
            Some(group) if label.lines.start <= last_line + MAX_GAP_LINES => group.push(label),
            _ => groups.push(vec![label]),
        }
        last_line = if groups.last().is_some_and(|group| group.len() == 1) { end } else { end.max(last_line) };
    }
    groups.sort_by_key(|group| !group.iter().any(|label| label.index == primary));
    groups.into_iter().map(|group| excerpt(file, primary, &group)).collect()
}

fn fit(file: &SourceFile, index: usize, span: Span) -> Fitted {
    let text = file.text.as_str();
    let floor = |byte: u32| {
        let mut at = (byte as usize).min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(span.start.min(span.end));
    let mut end = floor(span.end.max(span.start));
    // The end of a character the span stops inside of.
    while end < text.len() && end < span.end as usize {
        end += text.get(end..).and_then(|rest| rest.chars().next()).map_or(1, char::len_utf8);
    }
    let inside = text.get(start..end).unwrap_or("");
    end = start + inside.trim_end().len();
    let first = line_of(file, start);
    let last = line_of(file, end);
    if last - first > MAX_SPAN_LINES {
        let line_end = line_bytes(file, first).end;
        return Fitted { index, bytes: start..line_end, lines: first..first };
    }
    Fitted { index, bytes: start..end, lines: first..last }
}

fn line_of(file: &SourceFile, byte: usize) -> usize {
    file.line_starts().partition_point(|start| *start as usize <= byte).saturating_sub(1)
}

/// The bytes of a line without its end.
pub(super) fn line_bytes(file: &SourceFile, line: usize) -> Range<usize> {
    let starts = file.line_starts();
    let start = starts.get(line).map_or(file.text.len(), |start| *start as usize);
    let end = starts.get(line + 1).map_or(file.text.len(), |next| (*next as usize).saturating_sub(1));
    let end = end.max(start);
    let text = file.text.get(start..end).unwrap_or("");
    start..start + text.trim_end_matches('\r').len()
}

fn excerpt(file: &SourceFile, primary: usize, group: &[Fitted]) -> Excerpt {
    let first = group.iter().map(|label| label.lines.start).min().unwrap_or(0);
    let last = group.iter().map(|label| label.lines.end).max().unwrap_or(first);
    let mut text = String::new();
    let mut shown: Vec<ShownLine> = Vec::with_capacity(last - first + 1);
    let mut characters = 0;
    for line in first..=last {
        let ends = group.iter().flat_map(|label| {
            [(label.lines.start, label.bytes.start), (label.lines.end, label.bytes.end)].map(|end| (label.index, end))
        });
        let here = ends.filter(|(_, (at, _))| *at == line);
        let focus = here.min_by_key(|(index, (_, byte))| (*index != primary, *byte)).map(|(_, (_, byte))| byte);
        let line = focus.map_or_else(ShownLine::default, |byte| show_line(file, line, byte));
        text.push_str(&line.text);
        text.push('\n');
        let length = line.starts.len() + 1;
        shown.push(ShownLine { offset: characters, ..line });
        characters += length;
    }
    let mut labels: Vec<Placed> = group.iter().map(|label| place(label, first, &shown)).collect();
    labels.sort_by_key(|label| (label.last_line, label.at.start));
    Excerpt { first_line: first + 1, text, labels }
}

fn place(label: &Fitted, first: usize, shown: &[ShownLine]) -> Placed {
    let blank = ShownLine::default();
    let line = |number: usize| shown.get(number - first).unwrap_or(&blank);
    let (start_line, end_line) = (line(label.lines.start), line(label.lines.end));
    let start = start_line.offset + start_line.base_of(label.bytes.start);
    let end = end_line.offset + end_line.end_of(label.bytes.end);
    Placed { at: start..end.max(start + 1), index: label.index, last_line: label.lines.end - first }
}

/// A line as it is shown, with the byte each shown character stands for.
#[derive(Default)]
struct ShownLine {
    text: String,
    /// The file's byte each shown character comes from.
    starts: Vec<usize>,
    /// Whether each shown character takes any columns.
    is_wide: Vec<bool>,
    /// Characters of the excerpt before this line.
    offset: usize,
}

impl ShownLine {
    fn push(&mut self, c: char, byte: usize) {
        self.text.push(c);
        self.starts.push(byte);
        self.is_wide.push(columns(c) > 0);
    }

    /// The shown character at or after a byte.
    fn index_of(&self, byte: usize) -> usize {
        self.starts.partition_point(|start| *start < byte)
    }

    /// The shown character after the last one before a byte that has a column
    /// to point at.
    fn end_of(&self, byte: usize) -> usize {
        let mut index = self.index_of(byte);
        while index > 1 && self.is_wide.get(index - 1) == Some(&false) {
            index -= 1;
        }
        index
    }

    /// The shown character at or after a byte, moved back from a combining mark to the character it sits
    /// on: a mark alone has no column to point at.
    fn base_of(&self, byte: usize) -> usize {
        let mut index = self.index_of(byte);
        while index > 0 && self.is_wide.get(index) == Some(&false) {
            index -= 1;
        }
        index
    }
}

fn show_line(file: &SourceFile, line: usize, focus: usize) -> ShownLine {
    let bytes = line_bytes(file, line);
    let text = file.text.get(bytes.clone()).unwrap_or("");
    let mut shown = ShownLine::default();
    let is_long = text.len() > MAX_LINE_COLUMNS && cost(text.chars().take(MAX_LINE_COLUMNS + 1)) > MAX_LINE_COLUMNS;
    let (start, most) =
        if is_long { (window_start(text, focus.saturating_sub(bytes.start)), WINDOW_COLUMNS) } else { (0, usize::MAX) };
    if start > 0 {
        shown.push('…', bytes.start);
    }
    let (mut width, mut spent) = (0, 0);
    for (at, c) in text.get(start..).unwrap_or("").char_indices() {
        let byte = bytes.start + start + at;
        spent += cost([c]);
        if spent > most {
            shown.push('…', byte);
            break;
        }
        if c == '\t' {
            let stop = (width / TAB_COLUMNS + 1) * TAB_COLUMNS;
            while width < stop {
                shown.push(' ', byte);
                width += 1;
            }
        } else {
            let c = visible(c);
            width += columns(c);
            shown.push(c, byte);
        }
    }
    shown
}

/// Columns for the limits above: a combining mark counts as one, so that a
/// million of them are no short line.
fn cost(characters: impl IntoIterator<Item = char>) -> usize {
    characters.into_iter().map(|c| if c == '\t' { TAB_COLUMNS } else { columns(visible(c)).max(1) }).sum()
}

/// The first byte of the window of a long line around a byte.
fn window_start(text: &str, focus: usize) -> usize {
    let before = text.get(..focus).unwrap_or(text);
    let mut spent = 0;
    let lead = before.char_indices().rev().take_while(|(_, c)| {
        spent += cost([*c]);
        spent <= LEAD_COLUMNS
    });
    lead.last().map_or(before.len(), |(at, _)| at)
}
