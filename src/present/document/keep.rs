//! What belongs together on a page: a heading with what it is above, a sentence
//! with the table it leads to, the columns of a table with their rows' names.
//!
//! Must not know: how a page is written.

use super::{Align, Block, Document, Inline, Line, Table};

/// Columns of words wider than this are broken into lines where they must be.
pub const WIDE_WORDS: usize = 24;
/// Left sides of equations up to this width put their equals signs in line.
pub const WIDEST_LEFT: usize = 14;
/// Tables of so many rows are not broken between pages.
pub const SHORT: usize = 12;
/// Nor calculations of so many lines.
pub const SHORT_WORKING: usize = 6;
/// What stands between two columns, in letters.
const GAP: usize = 2;

/// Whether the block at this place stands for nothing without the next: a
/// heading, or a sentence before what it speaks of.
pub fn leads(document: &Document, index: usize) -> bool {
    match document.blocks.get(index) {
        Some(Block::Heading { .. }) => index + 1 < document.blocks.len(),
        Some(Block::Paragraph(_)) => match document.blocks.get(index + 1) {
            Some(Block::Table(_) | Block::Working(_) | Block::Figure(_) | Block::List(_) | Block::Source(_)) => true,
            // A sentence between two headings says little by itself.
            Some(Block::Heading { .. }) => {
                let before = index.checked_sub(1).and_then(|before| document.blocks.get(before));
                matches!(before, Some(Block::Heading { .. }))
            }
            _ => false,
        },
        _ => false,
    }
}

/// The blocks that the one at this place leads to, itself first; none where it
/// belongs to what is before it.
pub fn chain(document: &Document, index: usize) -> &[Block] {
    let is_first = index.checked_sub(1).is_none_or(|before| !leads(document, before));
    if !is_first || !leads(document, index) {
        return &[];
    }
    let last = (index..document.blocks.len()).find(|at| !leads(document, *at)).unwrap_or(index);
    document.blocks.get(index..=last).unwrap_or(&[])
}

/// How the headings of a table are set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Headings {
    Plain,
    /// Bold letters are wider.
    Bold,
    /// Bold, and broken between words.
    BoldInLines,
}

impl Headings {
    fn letters(self, heading: &Line) -> usize {
        let text = super::linear::line(heading);
        match self {
            Headings::Plain => text.chars().count(),
            Headings::Bold => text.chars().count() * 5 / 4,
            Headings::BoldInLines => text.split(' ').map(|word| word.chars().count() * 5 / 4).max().unwrap_or(0),
        }
    }
}

/// A table in parts of at most so many letters, each with the first column:
/// columns of numbers that no page is wide enough for go on below. A table
/// whose words can be broken instead stays whole.
pub fn split(table: &Table, letters: usize, headings: Headings) -> Vec<Table> {
    let widths: Vec<usize> = (0..table.columns.len()).map(|column| width(table, column, headings)).collect();
    let whole = |widths: &[usize]| widths.iter().sum::<usize>() + GAP * widths.len().saturating_sub(1);
    let (Some(first), true) = (widths.first(), whole(&widths) > letters) else { return vec![table.clone()] };
    let is_broken = |(column, width): (&super::TableColumn, &usize)| column.align == Align::Left && *width > WIDE_WORDS;
    if table.columns.iter().zip(&widths).any(is_broken) {
        return vec![table.clone()];
    }
    let mut parts: Vec<Vec<usize>> = Vec::new();
    let mut used = usize::MAX;
    for (column, width) in widths.iter().enumerate().skip(1) {
        let is_unnamed = table.columns.get(column).is_some_and(|column| column.heading.is_empty());
        match parts.last_mut() {
            // A column without a heading belongs to the one before it.
            Some(part) if is_unnamed || used + GAP + width <= letters => {
                part.push(column);
                used += GAP + width;
            }
            _ => {
                parts.push(vec![0, column]);
                used = first + GAP + width;
            }
        }
    }
    let part = |(index, columns): (usize, &Vec<usize>)| -> Table {
        let row = |row: &Vec<Line>| columns.iter().filter_map(|column| row.get(*column).cloned()).collect();
        let mut caption = table.caption.clone();
        if index > 0 && !caption.is_empty() {
            caption.push(Inline::Words(" (continued)".to_owned()));
        }
        Table {
            caption,
            columns: columns.iter().filter_map(|column| table.columns.get(*column).cloned()).collect(),
            rows: table.rows.iter().map(row).collect(),
            foot: row(&table.foot),
        }
    };
    let parts: Vec<Table> = parts.iter().enumerate().map(part).collect();
    if parts.is_empty() { vec![table.clone()] } else { parts }
}

/// A column in letters, its heading too.
pub fn width(table: &Table, column: usize, headings: Headings) -> usize {
    let letters = |line: &Line| super::linear::line(line).chars().count();
    let heading = table.columns.get(column).map_or(0, |column| headings.letters(&column.heading));
    table.cells(column).map(letters).fold(heading, usize::max)
}

#[cfg(test)]
mod tests {
    use super::super::{TableColumn, words};
    use super::*;

    /// Ten cases of nine letters.
    fn table() -> Table {
        let column = |text: String, align| TableColumn { heading: words(text), align };
        let mut columns = vec![column("member".to_owned(), Align::Left)];
        columns.extend((0..10).map(|case| column(format!("case_{case:04}"), Align::Point)));
        let row = |name: &str| {
            let numbers = (0..10).map(|case| words(format!("{case}.5")));
            std::iter::once(words(name)).chain(numbers).collect::<Vec<Line>>()
        };
        Table { caption: words("In kN"), columns, rows: vec![row("A-B"), row("B-C")], foot: row("sum") }
    }

    #[test]
    fn columns_go_on_below_with_their_rows_names() {
        let parts = split(&table(), 50, Headings::Bold);
        let names =
            |part: &Table| part.columns.iter().map(|column| super::super::linear::line(&column.heading)).collect();
        let names: Vec<Vec<String>> = parts.iter().map(names).collect();
        assert_eq!(names.len(), 4);
        assert!(names.iter().all(|part| part[0] == "member"));
        let cases: Vec<&String> = names.iter().flat_map(|part| &part[1..]).collect();
        assert_eq!(cases.len(), 10);
        assert!(cases.iter().zip(0..).all(|(name, case)| **name == format!("case_{case:04}")));
        for (part, start) in parts.iter().zip([0, 3, 6, 9]) {
            assert_eq!(part.rows[1][0], words("B-C"));
            assert_eq!(part.rows[1][1], words(format!("{start}.5")));
            assert_eq!(part.foot.len(), part.columns.len());
        }
        assert_eq!(super::super::linear::line(&parts[0].caption), "In kN");
        assert_eq!(super::super::linear::line(&parts[1].caption), "In kN (continued)");
    }

    #[test]
    fn what_fits_and_what_can_be_broken_stays_whole() {
        assert_eq!(split(&table(), 200, Headings::Plain), [table()]);
        let mut wordy = table();
        wordy.columns[1].align = Align::Left;
        wordy.rows[0][1] = words("words that are broken into lines where they must be");
        assert_eq!(split(&wordy, 50, Headings::Plain).len(), 1);
        // One column at least, however narrow the page.
        assert_eq!(split(&table(), 1, Headings::Plain).len(), 10);
        assert_eq!(split(&Table::default(), 0, Headings::Plain).len(), 1);
    }

    /// What can be set in two lines needs no room for one.
    #[test]
    fn headings_count_as_they_are_set() {
        let mut table = table();
        table.columns.iter_mut().for_each(|column| column.heading = words("under 1 kN of X"));
        assert_eq!(split(&table, 90, Headings::BoldInLines).len(), 1);
        assert!(split(&table, 90, Headings::Plain).len() > 1);
    }

    #[test]
    fn headings_and_lead_ins_hang_on_what_follows() {
        let heading = || Block::Heading { level: 1, text: words("Results") };
        let paragraph = || Block::Paragraph(words("The loads of each joint:"));
        let blocks =
            vec![heading(), heading(), paragraph(), Block::Table(table()), paragraph(), paragraph(), heading()];
        let document = Document { title: String::new(), blocks };
        let lengths: Vec<usize> = (0..8).map(|index| chain(&document, index).len()).collect();
        assert_eq!(lengths, [4, 0, 0, 0, 0, 0, 0, 0]);
        let blocks = vec![heading(), paragraph(), heading(), paragraph(), paragraph()];
        let document = Document { title: String::new(), blocks };
        let lengths: Vec<usize> = (0..5).map(|index| chain(&document, index).len()).collect();
        assert_eq!(lengths, [4, 0, 0, 0, 0]);
    }
}
