//! A page as one HTML file that needs nothing beside it: no script, no font,
//! nothing from a network. Formulae are MathML Core; light and dark follow the
//! reader's setting; paper is A4 or Letter.
//!
//! Must not know: what the page is about, files.

mod mathml;

use super::keep::{Headings, SHORT, SHORT_WORKING, WIDEST_LEFT, leads, split};
use super::{Align, Block, Document, Formula, Inline, Judgement, Line, Source, Step, Table};
use crate::present::escape;
use crate::present::figure::{self, Figure};

const STYLE: &str = include_str!("html/style.css");

/// Nothing may be fetched and nothing may run, whatever a file's names say.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// Letters of a table that A4 has room for beside each other.
const LINE: usize = 96;

/// The whole page.
pub fn render_html(document: &Document) -> String {
    let mut page = Page {
        out: String::new(),
        ids: document.anchors(id_of, 2).into_iter(),
        level: 0,
        section: String::new(),
        figures: 0,
        tables: 0,
    };
    let title = escaped(&document.title);
    let (light, dark) = (figure::css_properties(figure::Page::Light), figure::css_properties(figure::Page::Dark));
    page.out.push_str(&format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>{title}</title>\n<style>\n:root {{ {light} }}\n\
         @media screen and (prefers-color-scheme: dark) {{ :root {{ {dark} }} }}\n{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n"
    ));
    for index in 0..document.blocks.len() {
        page.block(document, index);
    }
    page.out.push_str("</main>\n</body>\n</html>\n");
    page.out
}

struct Page {
    out: String,
    /// The names of the headings to come.
    ids: std::vec::IntoIter<String>,
    /// Of the last heading; the title's is 0.
    level: u8,
    /// The last heading's name.
    section: String,
    figures: usize,
    tables: usize,
}

impl Page {
    fn block(&mut self, document: &Document, index: usize) {
        let Some(block) = document.blocks.get(index) else { return };
        match block {
            Block::Heading { level, text } => self.heading(*level, text),
            Block::Paragraph(line) => {
                let class = if leads(document, index) { " class=\"lead\"" } else { "" };
                self.out.push_str(&format!("<p{class}>{}</p>\n", inline(line)));
            }
            Block::List(items) => {
                let items: String = items.iter().map(|item| format!("<li>{}</li>\n", inline(item))).collect();
                self.out.push_str(&format!("<ul>\n{items}</ul>\n"));
            }
            Block::Working(steps) => self.working(steps),
            Block::Table(table) => split(table, LINE, Headings::BoldInLines).iter().for_each(|part| self.table(part)),
            Block::Figure(figure) => self.figure(figure),
            Block::Source(source) => self.source(source),
            Block::Contents => self.contents(document),
            Block::Caution(line) => {
                let text =
                    format!("<p class=\"caution\" role=\"note\"><strong>Caution.</strong> {}</p>\n", inline(line));
                self.out.push_str(&text);
            }
        }
    }

    /// No level is skipped on the way down, whatever the blocks ask for.
    fn heading(&mut self, level: u8, text: &Line) {
        let level = level.clamp(1, 5).min(self.level + 1);
        self.level = level;
        let id = self.ids.next().unwrap_or_default();
        self.section.clone_from(&id);
        self.out.push_str(&format!("<h{0} id=\"{id}\">{1}</h{0}>\n", level + 1, inline(text)));
    }

    fn contents(&mut self, document: &Document) {
        let items = document.headings().zip(document.anchors(id_of, 2)).filter(|((level, _), _)| *level == 1);
        let item =
            |((_, text), id): ((u8, &Line), String)| format!("<li><a href=\"#{id}\">{}</a></li>\n", inline(text));
        let items: String = items.map(item).collect();
        self.out.push_str(&format!("<nav aria-label=\"Contents\">\n<ol>\n{items}</ol>\n</nav>\n"));
    }

    fn working(&mut self, steps: &[Step]) {
        let short = if steps.len() <= SHORT_WORKING { " short" } else { "" };
        self.out.push_str(&format!("<div class=\"working{short}\">\n"));
        for step in steps {
            self.step(step);
        }
        self.out.push_str("</div>\n");
    }

    fn step(&mut self, step: &Step) {
        if !step.label.is_empty() {
            self.out.push_str(&format!("<div class=\"label\">{}</div>", inline(&step.label)));
        }
        let remark = if step.remark.is_empty() {
            String::new()
        } else {
            format!(" <span class=\"remark\">{}</span>", inline(&step.remark))
        };
        let is_short = |side: &Formula| super::linear::formula(side).chars().count() <= WIDEST_LEFT;
        match step.sides.as_slice() {
            [] if remark.is_empty() => {}
            [] => self.out.push_str(&format!("<div class=\"whole\">{remark}</div>")),
            [first, later @ ..] => {
                let left = mathml::first_side(first);
                let right: Vec<String> = later.iter().map(mathml::later_side).collect();
                if !right.is_empty() && is_short(first) {
                    let right = right.join("<wbr>");
                    let text = format!("<div class=\"left\">{left}</div><div class=\"right\">{right}{remark}</div>");
                    self.out.push_str(&text);
                } else {
                    let sides = [vec![left], right].concat().join("<wbr>");
                    self.out.push_str(&format!("<div class=\"whole\">{sides}{remark}</div>"));
                }
            }
        }
        self.out.push('\n');
    }

    fn table(&mut self, table: &Table) {
        let columns: Vec<Vec<String>> =
            (0..table.columns.len()).map(|column| table.typeset(column, inline, on_point)).collect();
        self.tables += 1;
        let id = format!("table-{}", self.tables);
        // A caption of its own may be wider than its table.
        let name = if table.caption.is_empty() {
            self.section.clone()
        } else {
            self.out.push_str(&format!("<p class=\"caption\" id=\"{id}\">{}</p>\n", inline(&table.caption)));
            id
        };
        let name = if name.is_empty() { name } else { format!(" aria-labelledby=\"{name}\"") };
        let short = if table.rows.len() <= SHORT { " short" } else { "" };
        // With a keyboard one can scroll a table that is wider than the screen.
        self.out.push_str(&format!("<div class=\"wide{short}\" role=\"group\" tabindex=\"0\"{name}>\n<table{name}>\n"));
        self.out.push_str("<thead>\n<tr>");
        for column in &table.columns {
            // An empty corner is no heading.
            let text = inline(&column.heading);
            let cell = if text.is_empty() { "td" } else { "th scope=\"col\"" };
            let end = if text.is_empty() { "td" } else { "th" };
            self.out.push_str(&format!("<{cell}{}>{text}</{end}>", class(column.align)));
        }
        self.out.push_str("</tr>\n</thead>\n<tbody>\n");
        for row in 0..table.rows.len() {
            self.row(table, &columns, row);
        }
        self.out.push_str("</tbody>\n");
        if !table.foot.is_empty() {
            self.out.push_str("<tfoot>\n");
            self.row(table, &columns, table.rows.len());
            self.out.push_str("</tfoot>\n");
        }
        self.out.push_str("</table>\n</div>\n");
    }

    fn row(&mut self, table: &Table, columns: &[Vec<String>], row: usize) {
        self.out.push_str("<tr>");
        for (index, (cells, column)) in columns.iter().zip(&table.columns).enumerate() {
            let cell = cells.get(row).map_or("", String::as_str);
            let class = class(column.align);
            if index == 0 && !cell.is_empty() {
                self.out.push_str(&format!("<th scope=\"row\"{class}>{cell}</th>"));
            } else {
                self.out.push_str(&format!("<td{class}>{cell}</td>"));
            }
        }
        self.out.push_str("</tr>\n");
    }

    fn figure(&mut self, figure: &Figure) {
        self.figures += 1;
        let number = self.figures;
        self.out.push_str(&format!(
            "<figure id=\"figure-{number}\">\n<div class=\"drawing\" style=\"--own:{:.0}mm\">\n{}\n</div>\n\
             <figcaption><span class=\"count\">Figure {number}</span> {}</figcaption>\n</figure>\n",
            figure.picture.width,
            figure.svg().trim(),
            escaped(&figure.caption)
        ));
    }

    fn source(&mut self, source: &Source) {
        let label = if source.file.is_empty() { "source".to_owned() } else { escaped(&source.file) };
        self.out.push_str(&format!("<pre class=\"source\" aria-label=\"{label}\"><code>"));
        for line in source.lines() {
            self.out.push_str("<span class=\"line\">");
            for (ink, piece) in line {
                let text = escape::html(&piece);
                match ink.word() {
                    "" => self.out.push_str(&text),
                    word => self.out.push_str(&format!("<span class=\"{word}\">{text}</span>")),
                }
            }
            self.out.push_str("\n</span>");
        }
        self.out.push_str("</code></pre>\n");
    }
}

const fn class(align: Align) -> &'static str {
    match align {
        Align::Left => "",
        Align::Right | Align::Point => " class=\"number\"",
    }
}

/// A number with what it lacks behind the point as spaces as wide as a figure
/// and as a point.
fn on_point(cell: &str, behind: usize) -> String {
    let mut text = escaped(cell).replace('-', "−");
    let has_point = cell.contains(['.', 'e']);
    text.extend((0..behind).map(|index| if index == 0 && !has_point { '\u{2008}' } else { '\u{2007}' }));
    text
}

fn inline(line: &Line) -> String {
    let mut text = String::new();
    for part in line {
        match part {
            Inline::Words(words) => text.push_str(&escaped(words)),
            Inline::Strong(words) => text.push_str(&format!("<strong>{}</strong>", escaped(words))),
            Inline::Code(words) => text.push_str(&format!("<code>{}</code>", escaped(words))),
            Inline::Formula(formula) => text.push_str(&mathml::inline(formula)),
            Inline::Judged(judgement, words) => {
                let class = match judgement {
                    Judgement::Right => "right-mark",
                    Judgement::Wrong => "wrong-mark",
                    Judgement::Doubtful => "doubt-mark",
                };
                let mark = judgement.mark();
                text.push_str(&format!("<span class=\"{class}\">{mark} {}</span>", escaped(words)));
            }
        }
    }
    text
}

/// `member-forces`: letters and digits of a heading, joined by hyphens.
fn id_of(line: &Line) -> String {
    let text = super::linear::line(line).to_lowercase();
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    if words.is_empty() { "section".to_owned() } else { words.join("-") }
}

/// Words on one line, safe in text and in attributes.
fn escaped(words: &str) -> String {
    escape::html(&super::linear::plain(words))
}
