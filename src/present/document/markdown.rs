//! A page as Markdown that reads as well raw as rendered: headings, lists and
//! tables of GitHub's flavour, calculations as aligned plain lines in a fence.
//! Mathematics is plain characters on purpose: `$…$` reads badly in a diff, and
//! not every renderer knows it.
//!
//! A figure is told in words, or is an image whose text of letters and digits
//! stands at the end of the page, so that the page stays one file that can be read.
//!
//! Must not know: what the page is about, files.

use std::collections::HashMap;

use data_encoding::BASE64;
use unicode_width::UnicodeWidthStr;

use super::linear::{self, TIED};
use super::text::working_lines;
use super::{Align, Block, Document, Inline, Line, Source, Table};
use crate::base::{unheeded, visible};
use crate::present::figure::Figure;
use crate::quantity::format::line_up;

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
    let mut given: HashMap<String, usize> = HashMap::new();
    for block in &document.blocks {
        let Block::Heading { level, text: heading } = block else { continue };
        let anchor = anchor(heading);
        let count = given.entry(anchor.clone()).or_insert(0);
        let own = if *count == 0 { anchor } else { format!("{anchor}-{count}") };
        *count += 1;
        if *level == 1 {
            text.push_str(&format!("- [{}](#{own})\n", inline(heading)));
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
    let columns: Vec<Vec<String>> = (0..table.columns.len()).map(|column| cells(table, column)).collect();
    let widths: Vec<usize> =
        columns.iter().map(|column| column.iter().map(|cell| cell.width()).max().unwrap_or(0).max(3)).collect();
    let height = columns.first().map_or(0, Vec::len);
    for row in 0..height {
        let cells = columns.iter().zip(&table.columns).zip(&widths).map(|((column, spec), width)| {
            let cell = column.get(row).map_or("", String::as_str);
            let pad = " ".repeat(width.saturating_sub(cell.width()));
            if spec.align == Align::Left { format!("{cell}{pad}") } else { format!("{pad}{cell}") }
        });
        text.push_str(&format!("| {} |\n", cells.collect::<Vec<_>>().join(" | ")));
        if row == 0 {
            let rules = table.columns.iter().zip(&widths).map(|(spec, width)| match spec.align {
                Align::Left => "-".repeat(width + 2),
                Align::Right | Align::Point => format!("{}:", "-".repeat(width + 1)),
            });
            text.push_str(&format!("|{}|\n", rules.collect::<Vec<_>>().join("|")));
        }
    }
}

/// The heading, the cells and the foot of one column; numbers on their points.
fn cells(table: &Table, column: usize) -> Vec<String> {
    let spec = table.columns.get(column);
    let foot = (!table.foot.is_empty()).then_some(&table.foot);
    let last = table.rows.len();
    let rows = table.rows.iter().chain(foot).enumerate();
    let body: Vec<String> = rows
        .map(|(index, row)| {
            let text = row.get(column).map_or_else(String::new, |cell| inline(cell).trim().to_owned());
            // Marks around a number would move it off its point.
            if index == last && column == 0 && !text.is_empty() { format!("**{text}**") } else { text }
        })
        .collect();
    let body = if spec.is_some_and(|spec| spec.align == Align::Point) { line_up(&body) } else { body };
    std::iter::once(spec.map_or_else(String::new, |spec| inline(&spec.heading))).chain(body).collect()
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
    let plain: Vec<char> = linear::plain(words).replace(TIED, " ").chars().collect();
    let mut safe = String::with_capacity(plain.len());
    for (index, c) in plain.iter().enumerate() {
        let is_letter = |at: Option<usize>| at.and_then(|at| plain.get(at)).is_some_and(|c| c.is_alphanumeric());
        let is_marked = match c {
            // Between letters it is one of the word: `F_AB`.
            '_' => !(is_letter(index.checked_sub(1)) && is_letter(Some(index + 1))),
            '\\' | '`' | '*' | '[' | ']' | '<' | '>' | '|' | '#' | '$' | '~' | '&' => true,
            _ => false,
        };
        if is_marked {
            safe.push('\\');
        }
        safe.push(*c);
    }
    safe
}

/// What would make a list, a rule or a heading of a line stands escaped.
fn start_of_line(text: &str) -> String {
    let text = text.trim_start();
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    match text.as_bytes().get(digits) {
        Some(b'.' | b')') if digits > 0 => {
            let (number, rest) = text.split_at(digits);
            format!("{number}\\{rest}")
        }
        Some(b'-' | b'+' | b'=') if digits == 0 => format!("\\{text}"),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::{TableColumn, words};
    use super::*;

    fn page(blocks: Vec<Block>) -> String {
        render_markdown(&Document { title: "Roof".to_owned(), blocks }, Drawings::InWords)
    }

    #[test]
    fn no_word_is_a_mark() {
        assert_eq!(escaped("a|b *c* [d](e) <f> `g` $h$ #1 F_AB _i_ &amp;"), {
            r"a\|b \*c\* \[d\](e) \<f\> \`g\` \$h\$ \#1 F_AB \_i\_ \&amp;"
        });
        assert_eq!(start_of_line("1. first"), r"1\. first");
        assert_eq!(start_of_line("- first"), r"\- first");
        assert_eq!(start_of_line("12 kN"), "12 kN");
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
