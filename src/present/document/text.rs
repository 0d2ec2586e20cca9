//! A page for a terminal: wrapped at a width, calculations with their equals
//! signs in line, tables on their decimal points, no blanks at line ends.
//!
//! Must not know: what the page is about, files, terminals.

use unicode_width::UnicodeWidthStr;

use super::keep::{Headings, WIDEST_LEFT, split};
use super::linear::{self, TIED};
use super::{Block, Document, Formula, Line, Source, Step, Table, TableColumn};
use crate::base::visible;
use crate::present::text::{padded, wrap};

/// Labels up to this width stand in a column of their own before the equations.
const WIDEST_LABEL: usize = 26;
/// A line of a calculation is never broken shorter than this.
const LEAST_WIDTH: usize = 30;

/// The whole page, its title first.
pub fn render_text(document: &Document, width: usize) -> String {
    let mut text = String::new();
    if !document.title.is_empty() {
        underlined(&mut text, &linear::plain(&document.title), "═");
    }
    for block in &document.blocks {
        if !text.is_empty() {
            text.push('\n');
        }
        write_block(&mut text, document, block, width);
    }
    text
}

fn write_block(text: &mut String, document: &Document, block: &Block, width: usize) {
    match block {
        Block::Heading { level: 1, text: heading } => underlined(text, &words(heading), "─"),
        Block::Heading { text: heading, .. } => push_line(text, &words(heading)),
        Block::Paragraph(line) => hang(text, "", &words(line), width),
        Block::List(items) => {
            for item in items {
                hang(text, "- ", &words(item), width);
            }
        }
        Block::Working(steps) => write_working(text, steps, width),
        Block::Table(table) => {
            // Set in by two columns.
            for (index, part) in split(table, width.saturating_sub(2), Headings::Plain).iter().enumerate() {
                if index > 0 {
                    text.push('\n');
                }
                write_table(text, part, width);
            }
        }
        Block::Figure(figure) => {
            hang(text, "Figure: ", &linear::plain(&figure.caption), width);
            if figure.description != figure.caption {
                hang(text, "        ", &linear::plain(&figure.description), width);
            }
        }
        Block::Source(source) => write_source(text, source),
        Block::Contents => {
            for (_, heading) in document.headings().filter(|(level, _)| *level == 1) {
                hang(text, "- ", &words(heading), width);
            }
        }
        Block::Caution(line) => hang(text, "Caution: ", &words(line), width),
    }
}

/// A line of words for the terminal.
fn words(line: &Line) -> String {
    linear::line(line)
}

fn push_line(text: &mut String, line: &str) {
    text.push_str(line.replace(TIED, " ").trim_end());
    text.push('\n');
}

fn underlined(text: &mut String, heading: &str, rule: &str) {
    push_line(text, heading);
    push_line(text, &rule.repeat(heading.width()));
}

/// Wrapped words after a mark, later lines set in below the first.
fn hang(text: &mut String, mark: &str, words: &str, width: usize) {
    let indent = mark.width();
    for (index, line) in wrap(words.trim(), width.saturating_sub(indent).max(LEAST_WIDTH)).iter().enumerate() {
        let before = if index == 0 { mark.to_owned() } else { " ".repeat(indent) };
        push_line(text, &format!("{before}{line}"));
    }
}

fn write_source(text: &mut String, source: &Source) {
    let whole: String = source.pieces.iter().map(|(_, piece)| piece.as_str()).collect();
    let lines: Vec<&str> = whole.lines().collect();
    let digits = lines.len().to_string().len();
    for (index, line) in lines.iter().enumerate() {
        let shown: String = line.replace('\t', "    ").chars().map(visible).collect();
        push_line(text, &format!("  {:>digits$}  {shown}", index + 1));
    }
}

/// The lines of a calculation below each other: labels in a column, then the
/// equations, short left sides ending at one equals sign.
fn write_working(text: &mut String, steps: &[Step], width: usize) {
    for line in working_lines(steps, width) {
        push_line(text, &line);
    }
}

/// The lines of a calculation, set in by two columns.
pub fn working_lines(steps: &[Step], width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let labels: Vec<String> = steps.iter().map(|step| words(&step.label)).collect();
    let fitting = labels.iter().map(|label| label.width()).filter(|label| *label <= WIDEST_LABEL);
    let column = fitting.max().filter(|label| *label > 0).map_or(0, |label| label + 2);
    let lefts = steps.iter().filter(|step| step.sides.len() > 1).filter_map(|step| step.sides.first());
    let left = lefts.map(side_width).filter(|left| *left <= WIDEST_LEFT).max().unwrap_or(0);
    for (step, label) in steps.iter().zip(&labels) {
        let mut before = "  ".to_owned();
        if label.width() > WIDEST_LABEL {
            lines.extend(wrap(label, width.saturating_sub(2).max(LEAST_WIDTH)).iter().map(|line| format!("  {line}")));
            before.push_str(&" ".repeat(column.max(2)));
        } else {
            before.push_str(label);
            before.push_str(&" ".repeat((column + 2).saturating_sub(before.width())));
        }
        write_step(&mut lines, &before, step, left, width);
    }
    lines
}

fn side_width(side: &Formula) -> usize {
    linear::formula(side).width()
}

fn write_step(lines: &mut Vec<String>, before: &str, step: &Step, left: usize, width: usize) {
    let indent = before.width();
    let mut line = before.to_owned();
    // Where the first equals sign stands, the later ones stand below it.
    let mut equals = indent + 2;
    for (index, side) in step.sides.iter().enumerate() {
        let formula = linear::formula(side);
        if index == 0 {
            let own = formula.width();
            if step.sides.len() > 1 && own <= left {
                line.push_str(&" ".repeat(left - own));
            }
            append(lines, &mut line, &formula, indent + 4, width);
            equals = if line.width() <= indent + WIDEST_LEFT { line.width() + 1 } else { indent + 2 };
            continue;
        }
        let whole = format!(" = {formula}");
        if line.width() + whole.width() > width && line.trim_end().width() > indent && index > 1 {
            lines.push(std::mem::replace(&mut line, " ".repeat(equals)));
            append(lines, &mut line, &format!("={TIED}{formula}"), equals + 4, width);
        } else {
            append(lines, &mut line, &format!(" ={TIED}{formula}"), equals + 4, width);
        }
    }
    let remark = words(&step.remark);
    if !remark.is_empty() {
        if step.sides.is_empty() {
            append_words(lines, &mut line, &remark, indent, width);
        } else if line.width() + 3 + remark.width() <= width {
            line.push_str("   ");
            line.push_str(&remark);
        } else {
            lines.push(std::mem::replace(&mut line, " ".repeat(equals.max(indent) + 2)));
            let own = line.width();
            append_words(lines, &mut line, &remark, own, width);
        }
    }
    if line.trim().is_empty() {
        return;
    }
    lines.push(line);
}

/// Adds a formula to a line, going on below, set in, where it grows too long.
fn append(lines: &mut Vec<String>, line: &mut String, formula: &str, indent: usize, width: usize) {
    for (index, piece) in formula.split(' ').enumerate() {
        let space = usize::from(index > 0);
        let is_fresh = line.trim_end().is_empty() || line.width() <= indent;
        if line.width() + space + piece.width() > width.max(LEAST_WIDTH) && !is_fresh {
            lines.push(std::mem::replace(line, " ".repeat(indent)));
        } else if space > 0 {
            line.push(' ');
        }
        line.push_str(piece);
    }
}

fn append_words(lines: &mut Vec<String>, line: &mut String, words: &str, indent: usize, width: usize) {
    let wrapped = wrap(words, width.saturating_sub(indent).max(LEAST_WIDTH));
    for (index, part) in wrapped.iter().enumerate() {
        if index > 0 {
            lines.push(std::mem::replace(line, " ".repeat(indent)));
        }
        line.push_str(part);
    }
}

/// Cells in columns, two blanks between them.
fn write_table(text: &mut String, table: &Table, width: usize) {
    if !table.caption.is_empty() {
        hang(text, "", &words(&table.caption), width);
    }
    let column = |(index, spec): (usize, &TableColumn)| {
        let cells = table.cells(index).map(|cell| words(cell).trim().to_owned()).collect();
        padded(vec![words(&spec.heading)], cells, spec.align)
    };
    let columns: Vec<Vec<String>> = table.columns.iter().enumerate().map(column).collect();
    for row in 0..=table.cells(0).count() {
        let cells: Vec<&str> = columns.iter().filter_map(|column| Some(column.get(row)?.as_str())).collect();
        let line = cells.join("  ");
        if row > table.rows.len() {
            push_line(text, &format!("  {}", "─".repeat(line.width())));
        }
        push_line(text, &format!("  {line}"));
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Align, Inline, Sign, words};
    use super::*;

    fn moments() -> Step {
        let term = |digits: &str, arm: &str| {
            Formula::Product(vec![Formula::number(digits, "lbf"), Formula::number(arm, "ft")])
        };
        Step {
            label: words("↺ moments about A"),
            sides: vec![
                Formula::Sum(vec![
                    (Sign::Plus, Formula::Product(vec![Formula::symbol("C", "y"), Formula::number("12", "ft")])),
                    (Sign::Minus, term("240", "3")),
                    (Sign::Minus, term("90", "6")),
                ]),
                Formula::number("0", ""),
            ],
            remark: Vec::new(),
        }
    }

    fn result() -> Step {
        Step {
            label: Vec::new(),
            sides: vec![
                Formula::symbol("C", "y"),
                Formula::Fraction(Box::new(Formula::number("1260", "lbf·ft")), Box::new(Formula::number("12", "ft"))),
                Formula::number("105", "lbf"),
            ],
            remark: words("↑ up"),
        }
    }

    fn render(block: Block, width: usize) -> String {
        render_text(&Document { title: String::new(), blocks: vec![block] }, width)
    }

    #[test]
    fn equations_stand_below_each_other() {
        let shorter = Step {
            sides: vec![Formula::symbol("F", "AB"), Formula::number("5", "lbf")],
            ..Step { label: Vec::new(), sides: Vec::new(), remark: Vec::new() }
        };
        assert_eq!(
            render(Block::Working(vec![moments(), result(), shorter]), 80),
            "  ↺ moments about A  C_y × 12 ft − 240 lbf × 3 ft − 90 lbf × 6 ft = 0\n\
            \x20                     C_y = 1260 lbf·ft / 12 ft = 105 lbf   ↑ up\n\
            \x20                    F_AB = 5 lbf\n"
        );
    }

    #[test]
    fn long_lines_go_on_before_an_operator() {
        assert_eq!(
            render(Block::Working(vec![moments(), result()]), 48),
            "  ↺ moments about A  C_y × 12 ft\n\
            \x20                        − 240 lbf × 3 ft\n\
            \x20                        − 90 lbf × 6 ft = 0\n\
            \x20                    C_y = 1260 lbf·ft / 12 ft\n\
            \x20                        = 105 lbf   ↑ up\n"
        );
    }

    #[test]
    fn numbers_stand_on_their_points() {
        let column = |heading: &str, align| TableColumn { heading: words(heading), align };
        let table = Table {
            caption: words("Reactions"),
            columns: vec![column("at", Align::Left), column("Fy kN", Align::Point), column("", Align::Left)],
            rows: vec![
                vec![words("A"), words("12.5"), words("up")],
                vec![words("B"), words("-3.25"), Vec::new()],
                vec![words("C"), words("–"), words("down")],
            ],
            foot: vec![words("together"), words("9.25"), Vec::new()],
        };
        assert_eq!(
            render(Block::Table(table), 60),
            "Reactions\n\
            \x20 at        Fy kN\n\
            \x20 A         12.5   up\n\
            \x20 B         -3.25\n\
            \x20 C          –     down\n\
            \x20 ─────────────────────\n\
            \x20 together   9.25\n"
        );
    }

    #[test]
    fn nothing_steers_the_terminal_and_no_line_ends_in_blanks() {
        let hostile = "a\u{1b}[31m\u{202e} b\r\nc";
        let document = Document {
            title: hostile.to_owned(),
            blocks: vec![
                Block::Heading { level: 1, text: words(hostile) },
                Block::Contents,
                Block::Paragraph(vec![Inline::Strong(hostile.to_owned())]),
                Block::Caution(words(hostile)),
                Block::List(vec![words(hostile)]),
                Block::Source(Source { file: String::new(), pieces: vec![(Default::default(), hostile.to_owned())] }),
            ],
        };
        let text = render_text(&document, 40);
        assert!(!text.contains(['\u{1b}', '\u{202e}', '\r']), "{text:?}");
        assert!(text.lines().all(|line| line.trim_end() == line), "{text}");
    }
}
