//! Diagnostics for people at a terminal.
//!
//! Each finding is a headline, the source with its labels, then `why:`,
//! `help:` and `fix:` — the lines as a correction would write them.
//!
//! Must not know: how a finding is made; whether it goes to a terminal.

use anstream::adapter::strip_str;
use anstyle::{AnsiColor, Style as Paint};
use ariadne::{Config, IndexType, Label, LabelAttach, Report, ReportKind, Source};

use super::super::text::{one_line, wrap};
use super::excerpt::{Excerpt, excerpts};
use super::fix::preview;
use crate::base::{FileId, Files, Origin, Span};
use crate::diagnostic::{Diagnostic, Severity};

/// Labels beyond this many are listed by place only.
pub const MAX_LABELS: usize = 6;

/// Places listed for the labels beyond [`MAX_LABELS`].
const MAX_MORE_PLACES: usize = 8;

const MAX_HEADLINE_COLUMNS: usize = 400;
const MAX_LABEL_COLUMNS: usize = 160;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    Plain,
    Ansi,
}

impl Colour {
    pub fn paint(self, paint: Paint, text: &str) -> String {
        match self {
            Colour::Plain => text.to_owned(),
            Colour::Ansi => format!("{paint}{text}{paint:#}"),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    pub colour: Colour,
    /// Columns explanations are wrapped to.
    pub width: usize,
}

impl Default for Style {
    fn default() -> Self {
        Style { colour: Colour::Plain, width: 100 }
    }
}

/// Every diagnostic in the given order, a blank line after each.
pub fn render_human(diagnostics: &[Diagnostic], files: &Files, style: Style) -> String {
    let mut page = String::new();
    for diagnostic in diagnostics {
        page.push_str(&render_one(diagnostic, files, style));
        page.push('\n');
    }
    page
}

/// One diagnostic, ended by a newline. Spans that do not fit their files are
/// moved to where they nearly do.
pub fn render_one(diagnostic: &Diagnostic, files: &Files, style: Style) -> String {
    let palette = Palette::new(style.colour, diagnostic.severity);
    let parts = parts(diagnostic, files);
    let width = parts.iter().map(Part::number_width).max().unwrap_or(0);
    let margin = Margin { width, palette: &palette };
    let mut lines = vec![headline(diagnostic, &palette)];
    for (position, part) in parts.iter().enumerate() {
        if position > 0 {
            lines.push(margin.blank());
        }
        lines.push(margin.corner(if position == 0 { "╭" } else { "├" }, &part.place(files)));
        lines.push(margin.blank());
        lines.extend(
            part.render(diagnostic, style.colour).iter().map(|line| margin.renumber(line, part.excerpt.first_line)),
        );
    }
    let sections = sections(diagnostic, files, style, &palette);
    if parts.is_empty() {
        lines.extend(sections.into_iter().map(|line| format!("  {line}")));
    } else {
        if !sections.is_empty() {
            lines.push(margin.blank());
        }
        lines.extend(sections.iter().map(|line| margin.text(line)));
        lines.push(margin.foot());
    }
    lines.iter().fold(String::new(), |page, line| page + line.trim_end() + "\n")
}

fn headline(diagnostic: &Diagnostic, palette: &Palette) -> String {
    let word = palette.paint(palette.severity.bold(), diagnostic.severity.word());
    let message = palette.paint(Paint::new().bold(), &one_line(&diagnostic.message, MAX_HEADLINE_COLUMNS));
    let slug = palette.paint(palette.faint, &format!("[{}]", diagnostic.slug.word()));
    format!("{word}: {message} {slug}")
}

/// One excerpt of one file.
struct Part {
    file: FileId,
    /// What is named at the head of the excerpt.
    head: u32,
    excerpt: Excerpt,
}

/// The excerpts that show a diagnostic's first labels, the first label's file
/// and excerpt first.
fn parts(diagnostic: &Diagnostic, files: &Files) -> Vec<Part> {
    let labels: Vec<_> = diagnostic.labels.iter().take(MAX_LABELS).enumerate().collect();
    let mut order: Vec<FileId> = Vec::new();
    for (_, label) in &labels {
        if !order.contains(&label.at.file) {
            order.push(label.at.file);
        }
    }
    let mut parts = Vec::new();
    for id in order {
        let Some(file) = files.get(id) else { continue };
        let here = labels.iter().filter(|(_, label)| label.at.file == id);
        let spans: Vec<(usize, Span)> = here.map(|(index, label)| (*index, label.at.span)).collect();
        for excerpt in excerpts(file, &spans) {
            let first = excerpt.labels.iter().map(|label| label.index).min().unwrap_or(0);
            let span = diagnostic.labels.get(first).map_or(Span::at(0), |label| label.at.span);
            parts.push(Part { file: id, head: span.start.min(span.end), excerpt });
        }
    }
    parts
}

impl Part {
    fn place(&self, files: &Files) -> String {
        place(Origin::new(self.file, Span::at(self.head)), files).unwrap_or_default()
    }

    fn number_width(&self) -> usize {
        let last = self.excerpt.labels.iter().map(|label| label.last_line).max().unwrap_or(0);
        (self.excerpt.first_line + last).to_string().len()
    }

    /// The labelled lines as the library draws them, numbered from 1.
    fn render(&self, diagnostic: &Diagnostic, colour: Colour) -> Vec<String> {
        let config = Config::new()
            .with_color(colour == Colour::Ansi)
            .with_index_type(IndexType::Char)
            .with_label_attach(LabelAttach::End)
            .with_tab_width(1);
        // The configuration comes before the labels, whose colours it filters.
        let mut report = Report::build(ReportKind::Custom("", ariadne::Color::Primary), 0..0).with_config(config);
        for placed in &self.excerpt.labels {
            let Some(label) = diagnostic.labels.get(placed.index) else { continue };
            let text = if label.text.is_empty() { "here" } else { &label.text };
            let is_primary = placed.index == 0;
            let paint = if is_primary { severity_colour(diagnostic.severity) } else { ariadne::Color::Blue };
            report.add_label(
                Label::new(placed.at.clone())
                    .with_message(one_line(text, MAX_LABEL_COLUMNS))
                    .with_color(paint)
                    .with_priority(i32::from(is_primary)),
            );
        }
        let mut page = Vec::new();
        let source = Source::from(self.excerpt.text.as_str());
        if report.finish().write(&source, &mut page).is_err() {
            return Vec::new();
        }
        let page = String::from_utf8_lossy(&page);
        // Its headline, its header with a blank line and its foot are replaced by ours.
        let mut lines: Vec<String> = page.lines().skip(3).map(str::to_owned).collect();
        lines.pop();
        lines
    }
}

/// The left edge all lines of a report share.
struct Margin<'a> {
    width: usize,
    palette: &'a Palette,
}

impl Margin<'_> {
    fn blank(&self) -> String {
        self.text("")
    }

    fn text(&self, text: &str) -> String {
        let edge = self.palette.paint(self.palette.faint, &format!(" {} │", " ".repeat(self.width)));
        format!("{edge} {text}")
    }

    fn corner(&self, corner: &str, place: &str) -> String {
        let edge = self.palette.paint(self.palette.faint, &format!(" {} {corner}─", " ".repeat(self.width)));
        format!("{edge} {place}")
    }

    fn foot(&self) -> String {
        self.palette.paint(self.palette.faint, &format!(" {}─╯", "─".repeat(self.width)))
    }

    /// A line of the library's with the file's own line number and our margin.
    fn renumber(&self, line: &str, first_line: usize) -> String {
        let Some((margin, rest)) = line.split_once(['│', '┆']) else { return line.to_owned() };
        let edge = if line.get(margin.len()..).is_some_and(|edge| edge.starts_with('┆')) { '┆' } else { '│' };
        let rest = rest.strip_prefix("\u{1b}[0m").unwrap_or(rest);
        let number = strip_str(margin).to_string().trim().parse::<usize>();
        let number = number.map_or_else(|_| String::new(), |number| (number + first_line - 1).to_string());
        let edge = format!(" {number:>width$} {edge}", width = self.width);
        format!("{}{rest}", self.palette.paint(self.palette.faint, &edge))
    }
}

/// `why:`, `help:`, `fix:` and the places of the labels not drawn.
fn sections(diagnostic: &Diagnostic, files: &Files, style: Style, palette: &Palette) -> Vec<String> {
    let mut lines = Vec::new();
    if diagnostic.labels.len() > MAX_LABELS {
        section(&mut lines, "also", &[more_places(diagnostic, files)], style, palette);
    }
    section(&mut lines, "why", &diagnostic.why, style, palette);
    section(&mut lines, "help", &diagnostic.help, style, palette);
    for (position, line) in preview(&diagnostic.edits, files).iter().enumerate() {
        let head = if position == 0 { palette.paint(palette.heading, "fix:") } else { "    ".to_owned() };
        let paint = if line.is_new { palette.added } else { palette.removed };
        lines.push(format!("{head}  {}", palette.paint(paint, &line.text)));
    }
    lines
}

fn section(lines: &mut Vec<String>, word: &str, texts: &[String], style: Style, palette: &Palette) {
    const INDENT: usize = 6;
    for text in texts {
        let wrapped = wrap(text, style.width.saturating_sub(INDENT).max(20));
        for (position, line) in wrapped.iter().enumerate() {
            let head = if position == 0 { format!("{word}:") } else { String::new() };
            lines.push(format!("{}{line}", palette.paint(palette.heading, &format!("{head:<INDENT$}"))));
        }
    }
}

fn more_places(diagnostic: &Diagnostic, files: &Files) -> String {
    let more = diagnostic.labels.iter().skip(MAX_LABELS);
    let count = more.clone().count();
    let places: Vec<String> = more.take(MAX_MORE_PLACES).filter_map(|label| place(label.at, files)).collect();
    let rest = count - places.len();
    let rest = if rest > 0 { format!(" and {rest} more") } else { String::new() };
    format!("at {}{rest}", places.join(", "))
}

/// `roof.kp:12:5`
fn place(at: Origin, files: &Files) -> Option<String> {
    let file = files.get(at.file)?;
    let start = file.location(at.span.start);
    Some(format!("{}:{}:{}", one_line(&file.name, MAX_LABEL_COLUMNS), start.line, start.column))
}

struct Palette {
    colour: Colour,
    severity: Paint,
    faint: Paint,
    heading: Paint,
    added: Paint,
    removed: Paint,
}

impl Palette {
    fn new(colour: Colour, severity: Severity) -> Palette {
        let severity = match severity {
            Severity::Error => AnsiColor::Red,
            Severity::Warning => AnsiColor::Yellow,
            Severity::Information => AnsiColor::Cyan,
        };
        Palette {
            colour,
            severity: severity.on_default(),
            faint: AnsiColor::BrightBlack.on_default(),
            heading: Paint::new().bold(),
            added: AnsiColor::Green.on_default(),
            removed: AnsiColor::Red.on_default(),
        }
    }

    fn paint(&self, paint: Paint, text: &str) -> String {
        self.colour.paint(paint, text)
    }
}

const fn severity_colour(severity: Severity) -> ariadne::Color {
    match severity {
        Severity::Error => ariadne::Color::Red,
        Severity::Warning => ariadne::Color::Yellow,
        Severity::Information => ariadne::Color::Cyan,
    }
}
