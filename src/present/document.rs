//! A page as data: headings, sentences, worked lines, tables, figures.
//!
//! What the working, the results and the report have to say is built once as
//! blocks; each way of writing them (text, Markdown, LaTeX, HTML) is one file
//! that reads blocks and knows nothing of structures.
//!
//! Must not know: structures, statics, files.

mod formula;
pub mod html;
mod keep;
pub mod latex;
mod linear;
pub mod markdown;
pub mod text;

use std::collections::HashMap;

pub use super::text::Align;

use super::figure::Figure;
use crate::quantity::format::line_up;

/// A whole page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    pub title: String,
    pub blocks: Vec<Block>,
}

/// One thing on a page, one above the other.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// Level 1 stands just under the title.
    Heading {
        level: u8,
        text: Line,
    },
    Paragraph(Line),
    List(Vec<Line>),
    /// Lines of one calculation, set below each other.
    Working(Vec<Step>),
    Table(Table),
    Figure(Box<Figure>),
    /// Source text, as it stands in the file.
    Source(Source),
    /// The headings of level 1 and where they are.
    Contents,
    /// A warning that must not be overlooked.
    Caution(Line),
}

/// Running text: words, and names, values and formulae among them.
pub type Line = Vec<Inline>;

#[derive(Clone, Debug, PartialEq)]
pub enum Inline {
    /// Plain words, as they are: every writer escapes them for itself.
    Words(String),
    /// Words that carry the sentence: a rule's name, a verdict.
    Strong(String),
    Formula(Formula),
    /// As it would be typed: a statement, a file's name.
    Code(String),
    /// What something was found to be; every writer marks it for itself.
    Judged(Judgement, String),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judgement {
    Right,
    Wrong,
    /// To be looked at.
    Doubtful,
}

impl Judgement {
    /// Set before the words, so that nothing rests on colour alone.
    const fn mark(self) -> &'static str {
        match self {
            Judgement::Right => "✓",
            Judgement::Wrong => "✗",
            Judgement::Doubtful => "!",
        }
    }
}

/// One line of a calculation: what is being added up, and its sides.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What the line says before the equation: `↺ moments about A`.
    pub label: Line,
    /// The sides, each equal to the one before.
    pub sides: Vec<Formula>,
    /// What follows: the direction of the result, the rule used.
    pub remark: Line,
}

/// A formula as it is written, not as it is worth: nothing is simplified.
#[derive(Clone, Debug, PartialEq)]
pub enum Formula {
    /// A letter with a subscript: `C_y`, `F_AB`, `ΣM_A`.
    Symbol {
        letter: String,
        subscript: String,
    },
    /// A number as it is to be printed, and its unit (empty: none).
    Number {
        digits: String,
        unit: String,
    },
    /// Terms with their signs in front; the first's is left out where it is plus.
    Sum(Vec<(Sign, Formula)>),
    /// Factors with `×` between.
    Product(Vec<Formula>),
    Fraction(Box<Formula>, Box<Formula>),
    Root(Box<Formula>),
    Power(Box<Formula>, i32),
    /// `sin`, `cos`, `tan` of something.
    Function(&'static str, Box<Formula>),
    /// Struck out, as on a board: a force that has been resolved.
    Struck(Box<Formula>),
}

impl Formula {
    pub fn symbol(letter: impl Into<String>, subscript: impl Into<String>) -> Formula {
        Formula::Symbol { letter: letter.into(), subscript: subscript.into() }
    }

    pub fn number(digits: impl Into<String>, unit: impl Into<String>) -> Formula {
        Formula::Number { digits: digits.into(), unit: unit.into() }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    Plus,
    Minus,
}

impl Sign {
    #[must_use]
    pub const fn opposite(self) -> Sign {
        match self {
            Sign::Plus => Sign::Minus,
            Sign::Minus => Sign::Plus,
        }
    }
}

/// Source text in pieces; joined they are the text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Source {
    /// The file it stands in.
    pub file: String,
    pub pieces: Vec<(Ink, String)>,
}

/// What a piece of source text is, for whoever can show it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Ink {
    #[default]
    Plain,
    Keyword,
    Number,
    /// Between quotation marks.
    Quoted,
    Comment,
    /// A comment that speaks of the statement below it.
    Note,
}

impl Source {
    /// The pieces of each line, line ends left out.
    fn lines(&self) -> Vec<Vec<(Ink, String)>> {
        let mut lines: Vec<Vec<(Ink, String)>> = vec![Vec::new()];
        for (ink, piece) in &self.pieces {
            for (index, part) in piece.split('\n').enumerate() {
                if index > 0 {
                    lines.push(Vec::new());
                }
                let part = part.strip_suffix('\r').unwrap_or(part);
                if let Some(line) = lines.last_mut().filter(|_| !part.is_empty()) {
                    line.push((*ink, part.to_owned()));
                }
            }
        }
        while lines.last().is_some_and(Vec::is_empty) {
            lines.pop();
        }
        lines
    }
}

impl Ink {
    /// The word for it; empty for plain text.
    const fn word(self) -> &'static str {
        match self {
            Ink::Plain => "",
            Ink::Keyword => "keyword",
            Ink::Number => "literal",
            Ink::Quoted => "quoted",
            Ink::Comment => "comment",
            Ink::Note => "note",
        }
    }
}

/// Rows under headings; numbers stand on their decimal points.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Said above the table; empty for none.
    pub caption: Line,
    pub columns: Vec<TableColumn>,
    /// Each as long as `columns`.
    pub rows: Vec<Vec<Line>>,
    /// A last row set apart, such as a sum; empty for none.
    pub foot: Vec<Line>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct TableColumn {
    /// Its unit stands in it: `Fx lbf`.
    pub heading: Line,
    pub align: Align,
}

/// Plain words as a line.
pub fn words(text: impl Into<String>) -> Line {
    vec![Inline::Words(text.into())]
}

impl Document {
    /// The figures in the order in which they are numbered, from 1.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        self.blocks.iter().filter_map(|block| match block {
            Block::Figure(figure) => Some(&**figure),
            _ => None,
        })
    }

    /// The headings in order, each with its level.
    fn headings(&self) -> impl Iterator<Item = (u8, &Line)> {
        self.blocks.iter().filter_map(|block| match block {
            Block::Heading { level, text } => Some((*level, text)),
            _ => None,
        })
    }

    /// A name for each heading by which it can be led to. One that was given
    /// before is numbered, its second time by `second`.
    fn anchors(&self, name: fn(&Line) -> String, second: usize) -> Vec<String> {
        let mut given: HashMap<String, usize> = HashMap::new();
        let anchor = |(_, text): (u8, &Line)| {
            let name = name(text);
            let times = given.entry(name.clone()).or_insert(0);
            *times += 1;
            if *times > 1 { format!("{name}-{}", *times - 2 + second) } else { name }
        };
        self.headings().map(anchor).collect()
    }
}

impl Table {
    /// The cells of a column, its foot the last.
    fn cells(&self, column: usize) -> impl Iterator<Item = &Line> {
        static EMPTY: Line = Vec::new();
        let foot = (!self.foot.is_empty()).then_some(&self.foot);
        self.rows.iter().chain(foot).map(move |row| row.get(column).unwrap_or(&EMPTY))
    }

    /// The same as they are set: words by `inline`, numbers that stand on their
    /// points by `on_point`, which is told how many letters each lacks behind.
    fn typeset(&self, column: usize, inline: fn(&Line) -> String, on_point: fn(&str, usize) -> String) -> Vec<String> {
        if self.columns.get(column).is_none_or(|column| column.align != Align::Point) {
            return self.cells(column).map(inline).collect();
        }
        let plain: Vec<String> = self.cells(column).map(|cell| linear::line(cell).trim().to_owned()).collect();
        let lacking = line_up(&plain).into_iter().map(|padded| padded.len() - padded.trim_end_matches(' ').len());
        plain.iter().zip(lacking).map(|(cell, behind)| on_point(cell, behind)).collect()
    }
}
