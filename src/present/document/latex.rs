//! A page for plain pdfLaTeX: the class `article` and packages that come with
//! every installation (`amsmath`, `amssymb`, `geometry`, `graphicx`, `color`,
//! `longtable`, `inputenc`, `fontenc`; `lmodern` where it is there).
//! Run it twice where it has contents, as for every LaTeX page.
//!
//! Must not know: what the page is about, files.

mod formula;

use super::keep::{Headings, SHORT, SHORT_WORKING, WIDE_WORDS, WIDEST_LEFT, chain, split, width};
use super::{Align, Block, Document, Formula, Inline, Judgement, Line, Source, Step, Table};
use crate::present::escape::latex::{text, typed};
use crate::present::figure::{self, Figure};

/// Letters of mathematics on a line.
const LINE: usize = 84;
/// Labels up to this width stand before their equations, wider ones above.
const WIDEST_LABEL: usize = 30;
/// Lines that are looked for on one page at most: less than a page has.
const MOST_NEEDED: f64 = 48.0;

const PREAMBLE: &str = include_str!("latex/preamble.tex");

/// The whole page.
pub fn render_latex(document: &Document) -> String {
    let mut page = Page { out: format!("{PREAMBLE}{}", figure::latex::PREAMBLE), figures: 0 };
    let title = text(&document.title);
    page.out.push_str(&format!("\\begin{{document}}\n{{\\noindent\\LARGE\\bfseries\\raggedright {title}\\par}}\n"));
    for (index, block) in document.blocks.iter().enumerate() {
        page.out.push('\n');
        let need: f64 = chain(document, index).iter().map(height).sum();
        if need > 0.0 {
            page.out.push_str(&format!("\\kpneed{{{:.0}}}\n", need.min(MOST_NEEDED).ceil()));
        }
        page.block(block);
    }
    page.out.push_str("\n\\end{document}\n");
    page.out
}

struct Page {
    out: String,
    figures: usize,
}

/// Lines of the page that the part of a block takes which belongs to what is
/// before it, rather too many than too few.
#[allow(clippy::cast_precision_loss)]
fn height(block: &Block) -> f64 {
    /// Millimetres from one line to the next.
    const LEAD: f64 = 4.2;
    /// Drawings are made narrower where they are wider.
    const WIDEST: f64 = 170.0;
    let lines = |line: &Line| (super::linear::line(line).chars().count() as f64 / 90.0).ceil();
    match block {
        Block::Heading { level: 0 | 1, .. } => 3.5,
        Block::Heading { .. } => 2.5,
        Block::Paragraph(line) => lines(line) + 0.5,
        Block::Working(steps) if steps.len() <= SHORT_WORKING => 2.4 * steps.len() as f64 + 1.0,
        Block::Table(table) => {
            let rows = table.rows.len() + usize::from(!table.foot.is_empty());
            let rows = if rows <= SHORT { rows } else { 3 };
            let caption = if table.caption.is_empty() { 0.0 } else { lines(&table.caption) };
            caption + rows as f64 + 2.0
        }
        Block::Figure(figure) => {
            let (wide, high) = (figure.picture.width, figure.picture.height);
            high * (WIDEST / wide.max(WIDEST)) / LEAD + lines(&vec![Inline::Words(figure.caption.clone())]) + 2.5
        }
        Block::Working(_) => 8.0,
        Block::List(_) | Block::Source(_) | Block::Contents | Block::Caution(_) => 4.0,
    }
}

impl Page {
    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { level, text } => {
                let command = match level {
                    0 | 1 => "section",
                    2 => "subsection",
                    3 => "subsubsection",
                    _ => "paragraph",
                };
                self.out.push_str(&format!("\\{command}{{{}}}\n", inline(text)));
            }
            Block::Paragraph(line) => self.out.push_str(&format!("{}\n", paragraph(line))),
            Block::List(items) if items.is_empty() => {}
            Block::List(items) => {
                self.out.push_str("\\begin{itemize}\n");
                for item in items {
                    self.out.push_str(&format!("\\item {{}}{}\n", inline(item)));
                }
                self.out.push_str("\\end{itemize}\n");
            }
            Block::Working(steps) => self.working(steps),
            Block::Table(table) => split(table, widest(), Headings::Bold).iter().for_each(|part| self.table(part)),
            Block::Figure(figure) => self.figure(figure),
            Block::Source(source) => self.source(source),
            Block::Contents => self.out.push_str("{\\parskip 0pt\\tableofcontents}\n"),
            Block::Caution(line) => self.out.push_str(&format!("\\kpcaution{{{}}}\n", inline(line))),
        }
    }

    fn source(&mut self, source: &Source) {
        self.out.push_str("\\begin{kpsource}\n");
        for (index, line) in source.lines().into_iter().enumerate() {
            let mut row = String::new();
            for (ink, piece) in line {
                match ink.word() {
                    "" | "literal" => row.push_str(&typed(&piece)),
                    word => row.push_str(&format!("\\kp{word}{{{}}}", typed(&piece))),
                }
            }
            self.out.push_str(&format!("\\kpline{{{}}}{{{row}}}\n", index + 1));
        }
        self.out.push_str("\\end{kpsource}\n");
    }

    fn figure(&mut self, figure: &Figure) {
        self.figures += 1;
        let (number, caption) = (self.figures, text(&figure.caption));
        self.out.push_str(&format!("\\kpfigure{{{number}}}{{{caption}}}{{%\n{}}}\n", figure.latex()));
    }

    /// Equations in one alignment: label, short left side, the rest.
    fn working(&mut self, steps: &[Step]) {
        let labels = steps.iter().map(|step| super::linear::line(&step.label).chars().count());
        let column = labels.filter(|label| *label <= WIDEST_LABEL).max().unwrap_or(0);
        let rows: Vec<String> = steps.iter().flat_map(|step| step_rows(step, column)).collect();
        if !rows.is_empty() {
            // A blank line before a display would be an empty line of its own.
            self.out.truncate(self.out.trim_end().len());
            self.out.push('\n');
            let end = if rows.len() <= SHORT_WORKING { " \\\\*\n" } else { " \\\\\n" };
            self.out.push_str(&format!("\\begin{{alignat*}}{{3}}\n{}\n\\end{{alignat*}}\n", rows.join(end)));
        }
    }

    fn table(&mut self, table: &Table) {
        let columns: Vec<Vec<String>> =
            (0..table.columns.len()).map(|column| table.typeset(column, inline, on_point)).collect();
        if columns.is_empty() {
            return;
        }
        let (size, form) = fit(table);
        self.out.push_str(&format!("{{{}\n\\begin{{longtable}}[l]{{@{{}}{form}@{{}}}}\n", size.command));
        let caption = if table.caption.is_empty() {
            String::new()
        } else {
            // As wide as the page, whatever the table's own width.
            let width = table.columns.len();
            format!("\\multicolumn{{{width}}}{{@{{}}l@{{}}}}{{\\kpcaption{{{}}}}} \\\\*\n", inline(&table.caption))
        };
        let headings: Vec<String> =
            table.columns.iter().map(|column| format!("\\textbf{{{}}}", inline(&column.heading))).collect();
        let head = format!("{} \\\\*\n\\hline\\noalign{{\\vskip 2pt}}", headings.join(" & "));
        self.out.push_str(&format!("{caption}{head}\n\\endfirsthead\n{head}\n\\endhead\n"));
        let height = table.rows.len() + usize::from(!table.foot.is_empty());
        for row in 0..height {
            // A short table stays on one page, and no row of a long one stands alone on one.
            let end = if height <= SHORT || row < 2 || row + 3 >= height { "\\\\*" } else { "\\\\" };
            if row == table.rows.len() {
                self.out.push_str("\\hline\\noalign{\\vskip 2pt}\n");
            }
            let row: Vec<&str> = columns.iter().map(|column| column.get(row).map_or("", String::as_str)).collect();
            self.out.push_str(&format!("{} {end}\n", row.join(" & ")));
        }
        self.out.push_str("\\end{longtable}}\n");
    }
}

/// A size of type, and how many letters of it a line takes.
struct Size {
    command: &'static str,
    line: usize,
}

const SIZES: [Size; 3] = [
    Size { command: "\\small\\setlength{\\tabcolsep}{5pt}", line: 100 },
    Size { command: "\\footnotesize\\setlength{\\tabcolsep}{4pt}", line: 110 },
    Size { command: "\\scriptsize\\setlength{\\tabcolsep}{3pt}", line: 118 },
];

/// Letters of the widest table that fits.
const fn widest() -> usize {
    let [.., smallest] = &SIZES;
    smallest.line
}

/// Columns of words are never made narrower.
const LEAST_WORDS: usize = 16;

/// How a table is made to fit the page: the largest type in which it does, else
/// columns of words that break. With it the form of its columns.
#[allow(clippy::cast_precision_loss)]
fn fit(table: &Table) -> (&'static Size, String) {
    // Letters of each column, and whether it can be broken.
    let columns: Vec<(usize, bool, bool)> = table
        .columns
        .iter()
        .enumerate()
        .map(|(index, column)| {
            let (letters, is_words) = (width(table, index, Headings::Bold), column.align == Align::Left);
            (letters, is_words, is_words && letters > WIDE_WORDS)
        })
        .collect();
    let all: usize = columns.iter().map(|(letters, ..)| letters).sum();
    let total = all + 2 * columns.len().saturating_sub(1);
    let broken = columns.iter().filter(|(.., is_broken)| *is_broken);
    let wide: usize = broken.clone().map(|(letters, ..)| letters).sum();
    let (fixed, least) = (total - wide, LEAST_WORDS * broken.count());
    let [largest, middle, smallest] = &SIZES;
    let breaks = |size: &Size| wide > 0 && fixed + least <= size.line;
    // Columns of words share out the letters that are left, where they have to break.
    let (size, shared) = if total <= largest.line {
        (largest, None)
    } else if total <= middle.line {
        (middle, None)
    } else if breaks(middle) {
        (middle, Some(middle.line - fixed))
    } else {
        (smallest, breaks(smallest).then(|| smallest.line - fixed))
    };
    let form = |(letters, is_words, is_broken): &(usize, bool, bool)| match shared {
        Some(shared) if *is_broken => {
            let share = (shared * letters) as f64 / (wide * size.line) as f64;
            format!(">{{\\raggedright\\arraybackslash}}p{{{share:.3}\\linewidth}}")
        }
        _ => (if *is_words { "l" } else { "r" }).to_owned(),
    };
    (size, columns.iter().map(form).collect())
}

/// The rows of an alignment, and the one being filled.
struct Rows {
    done: Vec<String>,
    open: String,
    /// Letters on the open row, the columns before it with them.
    used: usize,
    /// Letters of the columns of labels and left sides.
    before: usize,
}

/// The rows of an alignment that a step takes, `labels` letters of labels in
/// front.
fn step_rows(step: &Step, labels: usize) -> Vec<String> {
    let label = inline(&step.label);
    let is_wide = super::linear::line(&step.label).chars().count() > WIDEST_LABEL;
    let left_width = step.sides.first().map_or(0, formula::width);
    let is_short = step.sides.len() > 1 && left_width <= WIDEST_LEFT;
    let (left, sides) = match step.sides.as_slice() {
        [left, rest @ ..] if is_short => (formula::plain(left), rest),
        all => (String::new(), all),
    };
    let own = if label.is_empty() || is_wide { String::new() } else { format!("\\text{{{label}}}\\quad") };
    let before = labels + left_width.min(WIDEST_LEFT);
    let mut rows = Rows { done: Vec::new(), open: format!("& {own} & {left} & "), used: before, before };
    if is_wide {
        rows.done.push(format!("& \\rlap{{\\text{{{label}}}}}"));
    }
    for (index, side) in sides.iter().enumerate() {
        let relation = if index == 0 && !is_short { "" } else { "= " };
        rows.add_side(relation, side, index == 0);
    }
    if !step.remark.is_empty() {
        let width = super::linear::line(&step.remark).chars().count();
        let gap = if sides.is_empty() { "" } else { "\\quad " };
        if rows.used + width > LINE && !sides.is_empty() {
            rows.go_on("\\qquad ");
        }
        rows.open.push_str(&format!("{gap}\\text{{{}}}", inline(&step.remark)));
    }
    rows.done.push(rows.open);
    rows.done
}

impl Rows {
    /// Ends the open row; the next begins under its last column.
    fn go_on(&mut self, indent: &str) {
        self.done.push(std::mem::replace(&mut self.open, format!("& & & {indent}")));
        self.used = self.before;
    }

    /// A side after the others, on rows of its own where the line is full.
    fn add_side(&mut self, relation: &str, side: &Formula, is_first: bool) {
        let terms = formula::terms(side);
        let whole: usize = terms.iter().map(|(_, width)| width).sum();
        if !is_first && self.used + whole > LINE && self.before + whole <= LINE {
            self.go_on("");
        }
        self.open.push_str(&format!("{{}}{relation}"));
        for (index, (term, width)) in terms.iter().enumerate() {
            if index > 0 && self.used + width > LINE {
                self.go_on("\\qquad {}");
                self.used += 4;
            }
            self.open.push_str(term);
            self.used += width;
        }
    }
}

/// A number with the figures and the point that it lacks, unseen.
fn on_point(cell: &str, behind: usize) -> String {
    let shown = text(&cell.replace('-', "−"));
    if behind == 0 {
        return shown;
    }
    let has_point = cell.contains(['.', 'e']);
    let lacking = if has_point { "0".repeat(behind) } else { format!(".{}", "0".repeat(behind - 1)) };
    format!("{shown}\\phantom{{{lacking}}}")
}

/// A paragraph that no command before it can swallow as its argument.
fn paragraph(line: &Line) -> String {
    format!("{{}}{}\n", inline(line))
}

fn inline(line: &Line) -> String {
    let mut out = String::new();
    for part in line {
        match part {
            Inline::Words(words) => out.push_str(&text(words)),
            Inline::Strong(words) => out.push_str(&format!("\\textbf{{{}}}", text(words))),
            Inline::Code(words) => out.push_str(&format!("\\texttt{{{}}}", text(words))),
            Inline::Formula(inner) => out.push_str(&formula::inline(inner)),
            Inline::Judged(judgement, words) => {
                let mark = match judgement {
                    Judgement::Right => "\\ensuremath{\\checkmark}",
                    Judgement::Wrong => "\\ensuremath{\\times}",
                    Judgement::Doubtful => "!",
                };
                out.push_str(&format!("{mark}~\\textbf{{{}}}", text(words)));
            }
        }
    }
    out
}
