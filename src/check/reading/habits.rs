//! Words for what is written otherwise elsewhere.
//!
//! Must not know: how a habit is recognised.

use super::Source;
use crate::base::{Origin, Span};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::{Dimension, parse_unit};
use crate::syntax::error::{Certainty, Habit, Reference, Replacement, Statement, Usage};
use crate::syntax::token::Token;

/// A file's joints are looked for in so many of its lines.
const MOST_LINES: usize = 4096;
/// And in so many bytes, where many faults may ask.
const MOST_BYTES: usize = 1 << 17;
/// Longer words are no two joints run together.
const LONGEST_WORD: usize = 32;

impl<'t> Source<'t> {
    pub(super) fn explain_habit(self, habit: Habit, at: Span, edits: &[Replacement]) -> Diagnostic {
        let quoted = self.quote(at);
        let told = match habit {
            Habit::BlockComment => Diagnostic::new(Slug::UnexpectedToken, "`/*` opens no comment in this notation")
                .label(self.at(at), "a comment begins with `//`")
                .why("A comment runs from `//` to the end of its line, so none can be left open.")
                .help("write `//` at the start of the comment, on each of its lines"),
            Habit::ColonAfterKeyword => Diagnostic::new(Slug::UnexpectedToken, "`:` follows the keyword at once")
                .label(self.at(at), "no colon here")
                .why("What a statement is about follows its keyword; a colon stands only between that and what is said of it.")
                .help(format!("write `{}`", self.line_with(at, edits))),
            Habit::Preposition => {
                Diagnostic::new(Slug::UnexpectedToken, format!("{quoted} is not needed between keyword and joint"))
                    .label(self.at(at), "the joint follows its keyword at once")
                    .help(format!("write `{}`", self.line_with(at, edits)))
            }
            Habit::BareCoordinates => Diagnostic::new(Slug::VectorParts, "a point stands in brackets")
                .label(self.at(at), "two coordinates without brackets")
                .why("A point is one value, `(x, y)`; the decimal sign is a point.")
                .help(format!("write `{}`", self.with(at, edits))),
            // One comma too many is a decimal sign, or sets a third coordinate apart.
            Habit::DecimalCommas if edits.len() == 1 && !at.text(self.text).contains(';') => {
                Diagnostic::new(Slug::VectorParts, "a vector has two components, x and y")
                    .label(self.at(at), "commas set x and y apart")
                    .help(format!(
                        "write `{}` if the comma between digits is a decimal sign; if these are three coordinates, leave out the one square to the plane",
                        self.with(at, edits)
                    ))
            }
            Habit::DecimalCommas => Diagnostic::new(Slug::VectorParts, "the decimal sign is a point")
                .label(self.at(at), "commas set x and y apart")
                .help(format!("write `{}`", self.with(at, edits))),
            Habit::MinutesOfArc => {
                let told = Diagnostic::new(Slug::MalformedNumber, format!("{quoted} is an angle in degrees and minutes"))
                    .label(self.at(at), "degrees are written with decimals");
                match edits {
                    [degrees, ..] => told.help(format!("write `{}`", degrees.text)),
                    [] => told.help("write degrees with decimals: `30.25°`"),
                }
            }
            Habit::PointWithoutComma => Diagnostic::new(Slug::VectorParts, "a comma is missing in the point")
                .label(self.at(at), "x and y are set apart by a comma")
                .help(format!("write `{}`", self.with(at, edits))),
            Habit::AngleWithoutSign => {
                Diagnostic::new(Slug::UnexpectedToken, format!("`@` is missing before the direction {quoted}"))
                    .label(self.at(at), "a direction follows its value after `@`")
                    .help(format!("write `@ {}`", at.text(self.text)))
            }
            Habit::TwoDirections { upright, sideways } => {
                let over = if upright == Token::Up { "above" } else { "below" };
                let sideways = sideways.spelling();
                Diagnostic::new(Slug::UnexpectedToken, format!("{quoted} does not say how steep the direction is"))
                    .label(self.at(at), "two directions for one value")
                    .why("A slanting force has an angle, from the horizontal or from the upright.")
                    .help(format!(
                        "give the angle, as in `@ 45° {over} {sideways}`, or the slope, as in `@ ({}3, {}4)`",
                        if sideways == "left" { "-" } else { "" },
                        if upright == Token::Up { "" } else { "-" },
                    ))
            }
            Habit::OtherWord(word) => {
                let word = word.spelling();
                Diagnostic::new(Slug::UnexpectedToken, format!("{quoted} means nothing at this place"))
                    .label(self.at(at), format!("did you mean `{word}`?"))
                    .help(format!("write `{word}`"))
            }
            Habit::LoadUnderCase { case } => {
                let case = case.text(self.text);
                Diagnostic::new(Slug::MisplacedClause, format!("a load is not put {quoted} a case"))
                    .label(self.at(at), "`under` belongs to claims")
                    .why("The loads of a case stand between its braces; a case may be opened again, and its contents add.")
                    .help(format!("put it into the case: `case {case} {{ … }}`"))
            }
            Habit::RunOn { keyword } => {
                let keyword = keyword.spelling();
                let name = at.text(self.text).strip_prefix(keyword).unwrap_or("");
                Diagnostic::new(Slug::UnknownStatement, format!("there is no statement {quoted}"))
                    .label(self.at(at), format!("a blank is missing after `{keyword}`"))
                    .help(format!("write `{keyword} {name}`"))
            }
            Habit::LoopParts => Diagnostic::new(Slug::UnexpectedToken, "a `for` has no parts set apart by `;`")
                .label(self.at(at), "it counts from one number to another")
                .help("it is written like this: `for i from 0 to 4 { … }`; both ends are counted"),
            Habit::FeetAndInches => Diagnostic::new(Slug::UnknownToken, format!("{quoted} stands for feet and inches on drawings only"))
                .label(self.at(at), "a unit is a word")
                .help(format!("write `{}`", self.with(at, edits))),
            Habit::SquareBrackets => Diagnostic::new(Slug::UnexpectedToken, "a point stands in round brackets")
                .label(self.at(at), "square brackets are for indices: `L[3]`")
                .help(format!("write `{}`", self.with(at, edits))),
            Habit::ChainByBlanks => Diagnostic::new(Slug::ShortChain, "the joints of a chain are joined by `-`")
                .label(self.at(at), "joined by blanks")
                .why("A chain names the joints that members join, end to end: `A-B-C` is two members.")
                .help(format!("write `{}`", self.with(at, edits))),
            Habit::LateComponent => Diagnostic::new(Slug::MisplacedClause, format!("{quoted} stands after the position"))
                .label(self.at(at), "belongs straight after the members")
                .why("What is claimed comes first, with its direction, then the position: `deflection A-B down at 2 m`.")
                .help(format!("write `{}`", self.line_with(at, edits))),
            Habit::WordMissing(word) => {
                let word = word.spelling();
                Diagnostic::new(Slug::UnexpectedToken, format!("`{word}` is missing before {quoted}"))
                    .label(self.at(at), format!("`{word}` belongs before this"))
                    .help(format!("write `{}`", self.line_with(at, edits)))
            }
            Habit::ChainOfJoints => Diagnostic::new(Slug::UnexpectedToken, format!("{quoted} is a chain of members, and joints are wanted"))
                .label(self.at(at), "joints are set apart by commas")
                .why("A dash joins the joints of members; supports and hinges stand on joints, each by itself.")
                .help(format!("write `{}` if both joints are meant", self.line_with(at, edits))),
            Habit::CommaMissing => Diagnostic::new(Slug::UnexpectedToken, format!("the joints {quoted} are not set apart"))
                .label(self.at(at), "joints are set apart by commas")
                .help(format!("write `{}`", self.line_with(at, edits))),
            Habit::LateWord => Diagnostic::new(Slug::MisplacedClause, format!("{quoted} stands too late: it belongs to its value"))
                .label(self.at(at), "belongs straight after the value")
                .help(format!("write `{}`", self.line_with(at, edits))),
            Habit::CoupleAsLoad => Diagnostic::new(Slug::UnexpectedToken, "a `load` is a force, and this turns")
                .label(self.at(at), "a couple is a `moment`")
                .help(format!("write `{}`", self.line_with(at, edits))),
            Habit::AngleFrom(reference) => self.explain_angle_from(at, reference),
            Habit::UnitProduct => Diagnostic::new(Slug::UnknownUnit, format!("units are multiplied with `*`: {quoted}"))
                .label(self.at(at), "a dash is a minus here")
                .help(format!("write `{}`", self.with(at, edits))),
            Habit::Line(usage, certainty) => self.explain_line(usage, certainty, at, edits),
            Habit::SupportOfKind { kind, joint } => {
                let (kind, joint) = (kind.spelling(), joint.text(self.text));
                Diagnostic::new(Slug::UnknownStatement, "there is no statement `support`")
                    .label(self.at(at), format!("the kind of support is the keyword: `{kind}`"))
                    .help(format!("write `{kind} {joint}`"))
            }
        };
        // Names nobody declared may be chains themselves, written without dashes.
        let is_unsure = match habit {
            Habit::ChainByBlanks | Habit::CommaMissing => !self.are_joints(at),
            Habit::CoupleAsLoad => !self.has_couple(at),
            // A hinge within a member is no list of two joints.
            Habit::ChainOfJoints | Habit::Line(_, Certainty::Open) => true,
            _ => false,
        };
        if is_unsure {
            return told;
        }
        edits.iter().fold(told, |told, edit| told.edit(self.at(edit.at), edit.text.clone()))
    }

    /// A line that reads once it is rewritten.
    fn explain_line(self, usage: Usage, certainty: Certainty, at: Span, edits: &[Replacement]) -> Diagnostic {
        let code = self.code_of_line(at);
        let first = code.text(self.text).split([' ', '\t', ':']).next().unwrap_or("");
        let quoted = match usage {
            Usage::Keyword => format!("`{first}`"),
            _ if at.is_empty() => self.quote(code),
            _ => self.quote(at),
        };
        let (slug, headline, label, why) = line_words(usage, &quoted);
        let told = Diagnostic::new(slug, headline).label(self.at(at), label);
        let is_exact = usage == Usage::Relation && certainty == Certainty::Sure;
        let told = if why.is_empty() || is_exact { told } else { told.why(why) };
        let lines = edits.iter().filter(|edit| !edit.text.contains('\n')).count();
        let told = match (usage, lines) {
            (Usage::NumberName, 2..) => told.why(format!("The same holds of {} more lines in this file.", lines - 1)),
            _ => told,
        };
        let first = edits.first().map_or(&[][..], std::slice::from_ref);
        let line = self.line_with(at, first);
        match (usage, certainty) {
            (Usage::Block, _) => told.help(format!("write `{line}` here, and `}}` after the last line of the block")),
            (Usage::RollerWay, _) => told.help(format!(
                "write `{line}`, or say how it stands: `along` the way it rolls, `pushes` the way its reaction acts"
            )),
            (Usage::Slope, _) => {
                told.help(format!("write `{line}` if the first number is the run; else exchange the two"))
            }
            (_, Certainty::Sure) => told.help(format!("write `{line}`")),
            (_, Certainty::Open) => told.help(format!("write `{line}`, if that is what is meant")),
        }
    }

    /// What stands on the line of a place, without its comment.
    fn code_of_line(self, at: Span) -> Span {
        let start = self.text.get(..at.start as usize).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
        let line = self.text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or("");
        let code = line.split("//").next().unwrap_or("");
        let indentation = code.len() - code.trim_start().len();
        let from = u32::try_from(start + indentation).unwrap_or(at.start);
        Span::new(from, from + u32::try_from(code.trim().len()).unwrap_or(0))
    }

    /// Whether all names at a place are joints of the text, each another one.
    fn are_joints(self, names: Span) -> bool {
        let joints = self.joints();
        let written = names.text(self.text).split([' ', '\t', ',']);
        let names: Vec<&str> = written.filter(|word| !matches!(*word, "" | "and" | "&")).collect();
        let is_alone = |(at, name): (usize, &&str)| names.get(..at).is_some_and(|others| !others.contains(name));
        names.iter().enumerate().all(|entry| is_alone(entry) && joints.iter().any(|joint| joint == entry.1))
    }

    /// Whether some unit on the rest of a line is that of a couple.
    fn has_couple(self, at: Span) -> bool {
        let is_couple = |word: &str| parse_unit(word).is_ok_and(|unit| unit.dimension == Dimension::MOMENT);
        self.line_from(at).split([' ', '\t', ':']).any(is_couple)
    }

    /// `30° from vertical`: the ways it could open.
    fn explain_angle_from(self, at: Span, reference: Reference) -> Diagnostic {
        let whole = at.text(self.text);
        let end = whole.find('°').map(|sign| sign + '°'.len_utf8());
        let end = end.or_else(|| Some(whole.find("deg").or_else(|| whole.find("rad"))? + 3)).unwrap_or(0);
        let angle = whole.get(..end).unwrap_or(whole);
        let before = self.text.get(..at.start as usize).unwrap_or("").trim_end();
        let follows = |sign: &str| before.ends_with(sign);
        let sign = if follows("@") || follows("along") || follows("pushes") { "" } else { "@ " };
        let said = whole.get(end..).unwrap_or("").to_lowercase();
        let has = |word: &str| said.split(|c: char| !c.is_alphanumeric()).any(|part| part.starts_with(word));
        let ways: &[&str] = match reference {
            Reference::Horizontal => &["above right", "above left", "below right", "below left"],
            Reference::Above => &["above right", "above left"],
            Reference::Below => &["below right", "below left"],
            Reference::Vertical => &["right of down", "left of down", "right of up", "left of up"],
            Reference::Toward(Token::Down) => &["below right", "below left", "right of down", "left of down"],
            Reference::Toward(Token::Up) => &["above right", "above left", "right of up", "left of up"],
            Reference::Toward(Token::Left) => &["above left", "below left", "left of up", "left of down"],
            Reference::Toward(_) => &["above right", "below right", "right of up", "right of down"],
        };
        // A side that is named leaves the ways to that side.
        let is_open = |way: &&&str| {
            [("left", "right"), ("right", "left")]
                .iter()
                .all(|(one, other)| !has(one) || has(other) || way.contains(one))
        };
        let ways: Vec<String> = ways.iter().filter(is_open).map(|way| format!("`{sign}{angle} {way}`")).collect();
        Diagnostic::new(Slug::UnexpectedToken, format!("{} does not say which way it points", self.quote(at)))
            .label(self.at(at), "an angle from a line opens to one side of it")
            .why("From the horizontal a direction is told by `above` or `below` and `left` or `right`; from the upright by the side of `up` or `down`.")
            .help(format!("write {}", super::expected::list(&ways, "or")))
    }

    /// `1.88±0.01 kN`
    pub(super) fn explain_tolerance(self, told: Diagnostic, at: Span) -> Diagnostic {
        let rest = self.rest_of_line(at).trim_start();
        let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '_')).len();
        let (number, after) = rest.split_at_checked(digits).unwrap_or((rest, ""));
        let word = after.trim_start().split([' ', '\t', ',']).next().unwrap_or("");
        let unit = if parse_unit(word).is_ok() { format!(" {word}") } else { String::new() };
        if number.is_empty() || !self.line_start(at).starts_with("expect") {
            return told.help("one value belongs here; a claim gives its tolerance with `within`");
        }
        told.why("A claim gives its tolerance at its end.")
            .help(format!("write `within {number}{unit}` at the end of the claim"))
    }

    /// Whether a value that is read with a decimal comma could be a vector
    /// without its brackets: nothing on its line says which way it points.
    pub(super) fn may_be_vector(self, number: Span, decimals: Span) -> bool {
        const WAYS: [&str; 11] =
            ["up", "down", "left", "right", "toward", "cw", "ccw", "tension", "compression", "at", "under"];
        let before = self.line_start(number);
        let takes_vector =
            ["load", "settle", "expect reaction", "expect deflection"].iter().any(|start| before.starts_with(start));
        let line = format!("{before} {}", self.rest_of_line(decimals).split("//").next().unwrap_or(""));
        let is_way =
            |word: &str| WAYS.contains(&word) || word.starts_with('@') || word.ends_with(".x") || word.ends_with(".y");
        takes_vector && before.ends_with(':') && !line.split([' ', '\t', ':']).any(is_way)
    }

    /// What stands before a place on its line, without the blanks about it.
    pub(super) fn line_start(self, at: Span) -> &'t str {
        let before = self.text.get(..at.start as usize).unwrap_or("");
        before.rsplit('\n').next().unwrap_or("").trim()
    }

    /// `0..6 kN/m`: what says from where to where in this statement.
    pub(super) fn explain_range(self, low: Span, high: Span) -> Diagnostic {
        let whole = low.to(high);
        let (low, high) = (low.text(self.text), high.text(self.text));
        let unit_of = |number: &'_ str| number.find(|c: char| c.is_alphabetic() || matches!(c, '%' | '°'));
        // A unit that is said once is that of both.
        let unit = unit_of(high).filter(|_| unit_of(low).is_none()).and_then(|at| high.get(at..));
        let low = unit.map_or(low.to_owned(), |unit| format!("{low} {unit}"));
        let before = self.line_start(whole);
        let is_value = before.ends_with(':');
        let told = Diagnostic::new(Slug::MalformedNumber, format!("{} is a range, not a number", self.quote(whole)))
            .label(self.at(whole), "two numbers with dots between them");
        match before.split_whitespace().next() {
            Some("load") if is_value && unit_of(high).is_some() && !high.contains('/') => {
                told.help("a force at one place has one size; a load that grows along a member is given per length: `0 kN/m to 6 kN/m`")
            }
            Some("load") => told.help(format!("write `{low} to {high}`")),
            Some("for") if before.ends_with("from") => told.help(format!("write `{low} to {high}`")),
            Some("for") => told.help(format!("write `from {low} to {high}`, as in `for i from 0 to 6 {{ … }}`")),
            Some("expect") => told.help(format!("claim each bound on a line of its own: `>= {low}` and `<= {high}`")),
            _ => told.help("one number belongs here: `12`, `4.5`, `1_000` or `2.5e3`"),
        }
    }

    /// `5 kN↓`, as results are printed.
    pub(super) fn explain_arrow(self, told: Diagnostic, at: Origin) -> Diagnostic {
        let word = match at.span.text(self.text) {
            "↑" => "up",
            "↓" => "down",
            "←" => "left",
            _ => "right",
        };
        let line = self.text.get(..at.span.start as usize).unwrap_or("");
        let follows_value = line.ends_with(|c: char| c.is_alphanumeric() || matches!(c, ')' | ' '));
        let told = told.why("Arrows are for results; in a file a direction is a word.").help(format!("write `{word}`"));
        let is_apart = line.ends_with(' ');
        if follows_value { told.edit(at, if is_apart { word.to_owned() } else { format!(" {word}") }) } else { told }
    }

    /// `bar AB, BC`: chains without their dashes, where both letters are joints.
    pub(super) fn explain_run_together(self, statement: Statement, name: Span) -> Option<Diagnostic> {
        let line = self.rest_of_line(Span::at(name.start));
        let list = line.split([':', '/']).next().unwrap_or("");
        let joints = self.joints();
        let mut edits: Vec<(Origin, String)> = Vec::new();
        let mut start = name.start;
        for part in list.split(',') {
            let word = part.trim();
            let begins = start + u32::try_from(part.len() - part.trim_start().len()).ok()?;
            if let Some(chain) = as_chain(word, &joints) {
                let at = self.at(Span::new(begins, begins + u32::try_from(word.len()).ok()?));
                edits.push((at, chain));
            }
            start += u32::try_from(part.len() + 1).ok()?;
        }
        let (first, chain) = edits.first()?.clone();
        if first.span.start != name.start {
            return None;
        }
        let told = Diagnostic::new(
            Slug::ShortChain,
            format!("{} needs at least two joints, and {} is one name", self.statement(statement), self.quote(name)),
        )
        .label(first, "joints are joined by `-`")
        .why("A name may have several letters; `-` tells where one joint ends and the next begins.")
        .help(format!("write `{chain}`"));
        Some(edits.into_iter().fold(told, |told, (at, chain)| told.edit(at, chain)))
    }

    fn joints(self) -> Vec<String> {
        joints(self.text)
    }

    /// The text at a place with the edits that lie in it made.
    fn with(self, at: Span, edits: &[Replacement]) -> String {
        let mut written = String::new();
        let mut from = at.start;
        for edit in edits.iter().filter(|edit| edit.at.start >= at.start && edit.at.end <= at.end) {
            written.push_str(Span::new(from, edit.at.start).text(self.text));
            written.push_str(&edit.text);
            from = edit.at.end;
        }
        written.push_str(Span::new(from, at.end).text(self.text));
        written
    }

    /// The line of a place with edits made, without its comment.
    fn line_with(self, at: Span, edits: &[Replacement]) -> String {
        let start = self.text.get(..at.start as usize).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
        let start = u32::try_from(start).unwrap_or(at.start);
        let rest = self.rest_of_line(at).split("//").next().unwrap_or("");
        let end = at.end + u32::try_from(rest.len()).unwrap_or(0);
        self.with(Span::new(start, end), edits).trim().to_owned()
    }
}

/// Slug, headline, label and reason of a line written as elsewhere.
fn line_words(usage: Usage, quoted: &str) -> (Slug, String, &'static str, &'static str) {
    use Slug::{
        MisplacedClause, MissingBlock, UnclosedBracket, UnexpectedToken, UnknownStatement, VectorParts, WrongMark,
    };
    use Usage as U;
    let not = |what: &str| format!("{quoted} {what}");
    match usage {
        U::Comment => (UnexpectedToken, "a comment begins with `//`".to_owned(), "read as part of the statement", ""),
        U::Bracket => (UnclosedBracket, "the bracket of an index is not closed".to_owned(), "`]` belongs here", ""),
        U::Word => (UnexpectedToken, not("has capitals"), "the words of the notation are in small letters", ""),
        U::KindOfLoad => (
            UnknownStatement,
            "a load is a `load`, whatever its kind".to_owned(),
            "not needed",
            "A load on a joint is a force; one on members is a force at a place or a force per length.",
        ),
        U::Case => (UnknownStatement, "a case is opened by `case`".to_owned(), "not needed", ""),
        U::Combination => (UnknownStatement, "a combination is stated by `combination`".to_owned(), "not needed", ""),
        U::LoadOfCase => (
            UnknownStatement,
            "the loads of a case stand between its braces".to_owned(),
            "a case is no word of a load",
            "A case may be opened again, and its contents add.",
        ),
        U::Keyword => (UnknownStatement, format!("there is no statement {quoted}"), "called by another word here", ""),
        U::Assignment => (WrongMark, "a `let` takes `=`".to_owned(), "`=` belongs here", ""),
        U::Let => (UnknownStatement, "a value is named by a `let` statement".to_owned(), "`let` is missing", ""),
        U::Point => {
            (VectorParts, "a point or vector is written `(x, y)`".to_owned(), "round brackets, and a comma between", "")
        }
        U::Joint => (UnknownStatement, "a statement begins with its keyword".to_owned(), "no keyword", ""),
        U::Components => {
            (VectorParts, "a force by its components is written `(x, y)`".to_owned(), "x first, then y", "")
        }
        U::Chain => (UnexpectedToken, "the joints of a chain are joined by `-`".to_owned(), "not joined by `-`", ""),
        U::List => {
            (UnexpectedToken, "a list follows its keyword, with commas between".to_owned(), "listed otherwise here", "")
        }
        U::MemberName => (
            UnexpectedToken,
            "a member has no name of its own".to_owned(),
            "not a member's joints",
            "A member is named by the joints at its ends.",
        ),
        U::Hinged => (
            UnexpectedToken,
            "a hinge at a beam's end is the clause `hinged at`".to_owned(),
            "written otherwise here",
            "`hinge B` is a statement of its own: it frees every beam end at B.",
        ),
        U::HingedAgain => (UnexpectedToken, "`hinged at` takes a list of joints".to_owned(), "said once", ""),
        U::Support => (UnknownStatement, "the kind of support is the keyword".to_owned(), "the joint follows it", ""),
        U::RollerWay => (
            UnexpectedToken,
            "this may be the way the roller rolls, or that of its reaction".to_owned(),
            "which of the two?",
            "Without a clause a roller rolls sideways, and its reaction is vertical.",
        ),
        U::PlaceFirst => {
            (UnexpectedToken, "what is loaded stands before the colon".to_owned(), "the place comes first", "")
        }
        U::Colon => {
            (Slug::MissingColon, "`:` stands between a subject and what is said of it".to_owned(), "`:` is missing", "")
        }
        U::ValueFirst => (UnexpectedToken, "a direction follows its value".to_owned(), "the value comes first", ""),
        U::Direction => (
            UnexpectedToken,
            "a direction follows its value, an angle after `@`".to_owned(),
            "written otherwise here",
            "",
        ),
        U::Angle => (
            UnexpectedToken,
            "an angle from the horizontal is `above` or `below`, and `left` or `right`".to_owned(),
            "said in fewer words here",
            "From the vertical it is to the `left of` or `right of` `up` or `down`.",
        ),
        U::Slope => {
            (UnexpectedToken, "a slope is written as a vector".to_owned(), "run and rise, or rise and run?", "")
        }
        U::Position => {
            (MisplacedClause, "a position along a member follows `at`".to_owned(), "`@` gives a direction", "")
        }
        U::Unit => (Slug::UnknownUnit, "a unit is written without blanks".to_owned(), "one unit", ""),
        U::Power => (Slug::UnknownUnit, "a power of a unit is written with `^`".to_owned(), "not a unit", ""),
        U::Pounds => (Slug::UnknownToken, "`#` is no unit here".to_owned(), "pounds?", ""),
        U::Number => (
            Slug::MalformedNumber,
            "a number is written with decimals, its thousands unmarked or with `_`".to_owned(),
            "not one number",
            "",
        ),
        U::Subject => (
            UnexpectedToken,
            "a claim says in words what it is about".to_owned(),
            "a reaction, or a force in a member",
            "After `expect` comes `reaction A`, `force A-B`, `shear`, `moment`, `deflection` or `rotation`.",
        ),
        U::Relation => (
            WrongMark,
            "a claim compares with `:`, `<=` or `>=`".to_owned(),
            "written otherwise here",
            "A number claims to be right to half a unit of its last figure; `within` gives another tolerance.",
        ),
        U::Sense => {
            (UnexpectedToken, "a sense is a word: `tension` or `compression`".to_owned(), "written out here", "")
        }
        U::Stable => (UnexpectedToken, "stable is `not unstable`".to_owned(), "no claim", ""),
        U::Plus => {
            (UnexpectedToken, "the cases of a combination are added with `+`".to_owned(), "`+` belongs here", "")
        }
        U::Factor => (
            UnexpectedToken,
            "a factor stands before its case, a number or a bracket of numbers".to_owned(),
            "written otherwise here",
            "",
        ),
        U::Quotes => (UnexpectedToken, "a text stands in quotes".to_owned(), "`\"` about this", ""),
        U::Units => (
            UnexpectedToken,
            "the units are a length and a force, with a comma between".to_owned(),
            "written otherwise here",
            "",
        ),
        U::Loop => (
            UnexpectedToken,
            "a `for` counts `from` one number `to` another, both ends included".to_owned(),
            "written otherwise here",
            "",
        ),
        U::Block => (MissingBlock, "a block stands between `{` and `}`".to_owned(), "`{` belongs here", ""),
        U::NumberName => {
            (UnexpectedToken, "the name of a joint begins with a letter".to_owned(), "a number is no name", "")
        }
        U::Heading => (
            UnknownStatement,
            "the head of a table states nothing".to_owned(),
            "no statement",
            "Each line is a statement of its own, as `joint A: (0, 0)`.",
        ),
    }
}

/// The names that a file's first lines declare as joints.
fn joints(text: &str) -> Vec<String> {
    let named = text.lines().take(MOST_LINES).filter_map(|line| {
        let rest = line.trim_start().strip_prefix("joint")?;
        rest.starts_with([' ', '\t'])
            .then(|| rest.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>())
    });
    named.filter(|name| !name.is_empty()).collect()
}

/// `A-B` for `AB`, where both are joints of the text and `AB` is none.
pub fn chain_meant(word: &str, text: &str) -> Option<String> {
    if !(2..=LONGEST_WORD).contains(&word.len()) {
        return None;
    }
    // No more than the head of a long text is looked at, for each fault anew.
    let head = (0..4).find_map(|back| text.get(..MOST_BYTES - back)).unwrap_or(text);
    as_chain(word, &joints(head))
}

/// `A-B` for `AB`, where both are joints and `AB` is none.
fn as_chain(word: &str, joints: &[String]) -> Option<String> {
    let is_joint = |name: &str| joints.iter().any(|joint| joint == name);
    if is_joint(word) {
        return None;
    }
    let mut ways = word.char_indices().skip(1).filter_map(|(at, _)| word.split_at_checked(at));
    let (first, second) = ways.find(|(first, second)| is_joint(first) && is_joint(second))?;
    Some(format!("{first}-{second}"))
}
