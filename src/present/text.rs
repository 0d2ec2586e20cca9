//! Text for a terminal: nothing invisible, nothing that steers the terminal,
//! lines of a bearable length.
//!
//! Must not know: what the text says.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use crate::base::{unheeded, visible};
use crate::quantity::format::line_up;

/// Columns a shown character takes on a terminal.
pub fn columns(c: char) -> usize {
    c.width().unwrap_or(1)
}

/// One line of text, made visible and cut at `most` columns.
pub fn one_line(text: &str, most: usize) -> String {
    let mut line = String::with_capacity(text.len().min(most * 4));
    let mut width = 0;
    for c in text.chars().map(|c| if matches!(c, '\n' | '\t') { ' ' } else { visible(c) }) {
        width += columns(c);
        if width > most {
            line.push('…');
            break;
        }
        line.push(c);
    }
    line
}

/// The text broken at spaces into lines of at most `width` columns. Its own
/// line breaks are kept, and lines that begin with two spaces stay whole: they
/// are things to be written as they stand.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let paragraph = unheeded(&one_line(paragraph, MOST_COLUMNS));
        if paragraph.starts_with("  ") {
            lines.push(paragraph.trim_end().to_owned());
            continue;
        }
        let mut line = String::new();
        for word in paragraph.split(' ').filter(|word| !word.is_empty()) {
            if !line.is_empty() && line.width() + 1 + word.width() > width {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
    }
    if lines.is_empty() {
        lines.push(String::new());
    }
    lines
}

/// Where the cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    Left,
    Right,
    /// On the decimal point.
    Point,
}

/// Cells of one width below their headings: words to the left, numbers to the
/// right or on their decimal points.
pub fn padded(headings: Vec<String>, cells: Vec<String>, align: Align) -> Vec<String> {
    let body = if align == Align::Point { line_up(&cells) } else { cells };
    let mut column = headings;
    column.extend(body);
    let width = column.iter().map(|cell| cell.width()).max().unwrap_or(0);
    for cell in &mut column {
        let pad = " ".repeat(width - cell.width());
        cell.insert_str(if align == Align::Left { cell.len() } else { 0 }, &pad);
    }
    column
}

/// Paragraphs longer than this are cut.
const MOST_COLUMNS: usize = 2_000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(one_line("a\u{1b}[31m\u{202e}b\tc\r", 80), "a␛[31m�b c␍");
        assert_eq!(one_line("abcdef", 3), "abc…");
        assert_eq!(one_line("漢字", 3), "漢…");
    }

    #[test]
    fn lines_break_at_spaces_and_set_lines_stay_whole() {
        assert_eq!(wrap("the count is right", 9), ["the count", "is right"]);
        assert_eq!(wrap("write\n  bar A-B-C: rafter", 9), ["write", "  bar A-B-C: rafter"]);
        assert_eq!(wrap("", 9), [""]);
        assert_eq!(wrap("unbreakable", 4), ["unbreakable"]);
    }
}
