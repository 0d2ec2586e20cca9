//! A page as Markdown that reads as well raw as rendered: headings, lists and
//! tables of GitHub's flavour, calculations as aligned plain lines in a fence.
//! Mathematics is plain characters on purpose: `$…$` reads badly in a diff, and
//! not every renderer knows it.
//!
//! A figure is told in words, or is an image whose text of letters and digits
//! stands at the end of the page, so that the page stays one file that can be read.
//!
//! Must not know: what the page is about, files.

use data_encoding::BASE64;
use unicode_width::UnicodeWidthStr;

use super::linear::{self, TIED};
use super::text::working_lines;
use super::{Align, Block, Document, Inline, Line, Source, Table, TableColumn};
use crate::base::{unheeded, visible};
use crate::present::escape::{markdown, markdown_start as start_of_line};
use crate::present::figure::Figure;
use crate::present::text::padded;

/// Lines of calculations are broken at this width; a fence does not wrap.
const WIDTH: usize = 96;

/// Where the drawings of a page are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawings {
    /// Nowhere: figures are told in words.
    InWords,
    /// In the page itself, below its last line (`data:` addresses, RFC 2397).
    Within,
}

/// The whole page.
pub fn render_markdown(document: &Document, drawings: Drawings) -> String {
    let mut text = format!("# {}\n", escaped(&document.title));
    let mut figures = 0;
    for block in &document.blocks {
        text.push('\n');
        write_block(&mut text, document, block, drawings, &mut figures);
    }
    if drawings == Drawings::Within && figures > 0 {
        text.push('\n');
        for (figure, number) in document.figures().zip(1..) {
            let drawing = BASE64.encode(figure.svg().as_bytes());
            text.push_str(&format!("[{}]: data:image/svg+xml;base64,{drawing}\n", label(number)));
        }
    }
    text
}

/// By what a figure and its drawing are joined.
fn label(number: usize) -> String {
    format!("fig-{number}")
}

fn write_block(text: &mut String, document: &Document, block: &Block, drawings: Drawings, figures: &mut usize) {
    match block {
        Block::Heading { level, text: heading } => {
            let marks = "#".repeat(usize::from((*level).clamp(1, 5)) + 1);
            text.push_str(&format!("{marks} {}\n", inline(heading)));
        }
        Block::Paragraph(line) => text.push_str(&format!("{}\n", start_of_line(&inline(line)))),
        Block::List(items) => {
            for item in items {
                text.push_str(&format!("- {}\n", start_of_line(&inline(item))));
            }
        }
        Block::Working(steps) => {
            let lines = working_lines(steps, WIDTH);
            let lines: Vec<String> = lines.iter().map(|line| line.replace(TIED, " ").trim_end().to_owned()).collect();
            // The two columns by which the terminal sets them in are not needed in a fence.
            let lines: Vec<&str> = lines.iter().map(|line| line.strip_prefix("  ").unwrap_or(line)).collect();
            fenced(text, "text", &lines.join("\n"));
        }
        Block::Table(table) => write_table(text, table),
        Block::Figure(figure) => {
            *figures += 1;
            write_figure(text, figure, *figures, drawings);
        }
        Block::Source(source) => write_source(text, source),
        Block::Contents => write_contents(text, document),
        Block::Caution(line) => text.push_str(&format!("> **Caution.** {}\n", inline(line))),
    }
}

fn write_figure(text: &mut String, figure: &Figure, number: usize, drawings: Drawings) {
    if drawings == Drawings::Within {
        text.push_str(&format!("![{}][{}]\n\n", escaped(&figure.description), label(number)));
    }
    text.push_str(&format!("**Figure {number}.** {}\n", escaped(&figure.caption)));
    if drawings == Drawings::InWords && figure.description != figure.caption {
        text.push_str(&format!("\n{}\n", start_of_line(&escaped(&figure.description))));
    }
}

fn write_source(text: &mut String, source: &Source) {
    let lines = source.lines();
    let lines: Vec<String> = lines.iter().map(|line| line.iter().map(|(_, piece)| piece.as_str()).collect()).collect();
    let shown: String =
        lines.join("\n").chars().map(|c| if matches!(c, '\n' | '\t') { c } else { visible(c) }).collect();
    fenced(text, "kp", &unheeded(&shown));
}

/// A fence longer than any row of backticks inside.
fn fenced(text: &mut String, language: &str, inside: &str) {
    let longest = inside.split(|c| c != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest.max(2) + 1);
    text.push_str(&format!("{fence}{language}\n{inside}\n{fence}\n"));
}

fn write_contents(text: &mut String, document: &Document) {
    for ((level, heading), anchor) in document.headings().zip(document.anchors(anchor, 1)) {
        if level == 1 {
            text.push_str(&format!("- [{}](#{anchor})\n", inline(heading)));
        }
    }
}

/// The name a heading gets on a rendered page: letters and digits in lower
/// case, blanks as hyphens, other marks left out.
fn anchor(heading: &Line) -> String {
    let text = linear::line(heading).replace(TIED, " ").to_lowercase();
    let kept = text.chars().filter(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | ' '));
    kept.map(|c| if c == ' ' { '-' } else { c }).collect()
}

fn write_table(text: &mut String, table: &Table) {
    if !table.caption.is_empty() {
        text.push_str(&format!("{}\n\n", start_of_line(&inline(&table.caption))));
    }
    let last = table.rows.len();
    let column = |(index, spec): (usize, &TableColumn)| {
        let cell = |(row, cell): (usize, &Line)| {
            let text = inline(cell).trim().to_owned();
            // Marks around a number would move it off its point.
            if row == last && index == 0 && !text.is_empty() { format!("**{text}**") } else { text }
        };
        // The rule below the headings is three wide at least.
        let headings = vec![inline(&spec.heading), "---".to_owned()];
        let mut column = padded(headings, table.cells(index).enumerate().map(cell).collect(), spec.align);
        if let Some(rule) = column.get_mut(1) {
            let width = rule.width();
            *rule = match spec.align {
                Align::Left => "-".repeat(width + 2),
                Align::Right | Align::Point => format!("{}:", "-".repeat(width + 1)),
            };
        }
        column
    };
    let columns: Vec<Vec<String>> = table.columns.iter().enumerate().map(column).collect();
    for row in 0..columns.first().map_or(0, Vec::len) {
        let cells: Vec<&str> = columns.iter().filter_map(|column| Some(column.get(row)?.as_str())).collect();
        match row {
            1 => text.push_str(&format!("|{}|\n", cells.join("|"))),
            _ => text.push_str(&format!("| {} |\n", cells.join(" | "))),
        }
    }
}

fn inline(line: &Line) -> String {
    let mut text = String::new();
    for part in line {
        match part {
            Inline::Words(words) => text.push_str(&escaped(words)),
            Inline::Strong(words) if words.trim().is_empty() => {}
            Inline::Strong(words) => text.push_str(&format!("**{}**", escaped(words.trim()))),
            Inline::Code(words) => text.push_str(&code(words)),
            Inline::Formula(formula) => text.push_str(&escaped(&linear::formula(formula))),
            Inline::Judged(judgement, words) => text.push_str(&format!("{} {}", judgement.mark(), escaped(words))),
        }
    }
    text
}

/// Words between backticks, more of them than any row inside.
fn code(words: &str) -> String {
    // A bar would end a table's cell even here.
    let words = linear::plain(words);
    if words.contains('|') || words.trim().is_empty() {
        return escaped(&words);
    }
    let longest = words.split(|c| c != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest + 1);
    let pad = if words.starts_with('`') || words.ends_with('`') { " " } else { "" };
    format!("{fence}{pad}{words}{pad}{fence}")
}

/// Words in which no character is a mark of Markdown or HTML.
fn escaped(words: &str) -> String {
    markdown(&linear::plain(words).replace(TIED, " "))
}

#[cfg(test)]
mod tests {
    use super::super::{TableColumn, words};
    use super::*;

    fn page(blocks: Vec<Block>) -> String {
        render_markdown(&Document { title: "Roof".to_owned(), blocks }, Drawings::InWords)
    }

    #[test]
    fn code_is_no_mark_and_ends_no_cell() {
        assert_eq!(code("a`b"), "``a`b``");
        assert_eq!(code("a|b"), r"a\|b");
    }

    #[test]
    fn tables_read_raw_too() {
        let table = Table {
            caption: words("Reactions"),
            columns: vec![
                TableColumn { heading: words("joint"), align: Align::Left },
                TableColumn { heading: words("Fy kN"), align: Align::Point },
            ],
            rows: vec![vec![words("A"), words("12.5")], vec![words("a|b"), words("3.25")]],
            foot: vec![words("sum"), words("15.75")],
        };
        assert_eq!(
            page(vec![Block::Table(table)]),
            "# Roof\n\nReactions\n\n\
             | joint   | Fy kN |\n\
             |---------|------:|\n\
             | A       | 12.5  |\n\
             | a\\|b    |  3.25 |\n\
             | **sum** | 15.75 |\n"
        );
    }

    #[test]
    fn a_fence_holds_whatever_is_in_it() {
        let source = Source { file: String::new(), pieces: vec![(Default::default(), "// ```\nbar A-B\n".to_owned())] };
        assert_eq!(page(vec![Block::Source(source)]), "# Roof\n\n````kp\n// ```\nbar A-B\n````\n");
    }

    #[test]
    fn contents_lead_to_the_headings() {
        let heading = |text: &str| Block::Heading { level: 1, text: words(text) };
        let text = page(vec![Block::Contents, heading("Case a: dead"), heading("Case a: dead")]);
        assert!(text.contains("- [Case a: dead](#case-a-dead)\n- [Case a: dead](#case-a-dead-1)\n"), "{text}");
    }
}
