//! Source text as messages quote it, and turns of phrase the families share.
//!
//! Must not know: faults.

use crate::base::{Files, Origin, Span};
use crate::check::reading::chain_meant;
use crate::diagnostic::Diagnostic;
use crate::quantity::{Dimension, parse_unit, units_of};

/// Quoted source is cut after so many characters.
const LONGEST_QUOTE: usize = 48;
/// So many units are offered as examples.
const MOST_UNITS: usize = 4;

/// The place of a fault in the source it was found in.
#[derive(Clone, Copy)]
pub struct Here<'a> {
    pub files: &'a Files,
    pub at: Origin,
}

impl<'a> Here<'a> {
    /// Another place.
    pub const fn of(self, at: Origin) -> Self {
        Here { at, ..self }
    }

    pub fn text(self) -> &'a str {
        self.at.span.text(self.files.text(self.at.file))
    }

    /// `A-B` where `AB` stands at a place and its letters are joints.
    pub fn as_members(self) -> Option<String> {
        chain_meant(self.text(), self.files.text(self.at.file))
    }

    /// The text at a place in backticks, on one line.
    pub fn quote(self) -> String {
        quote(self.text())
    }

    /// All the text of the file before a place.
    pub fn text_before(self) -> &'a str {
        self.files.text(self.at.file).get(..self.at.span.start as usize).unwrap_or("")
    }

    /// What stands before a place on its line, blanks between them left out.
    pub fn before(self) -> &'a str {
        let text = self.text_before();
        text.rsplit('\n').next().unwrap_or("").trim_end()
    }

    /// How many blanks stand straight before a place.
    pub fn blanks_before(self) -> u32 {
        let text = self.text_before();
        u32::try_from(text.len() - text.trim_end_matches([' ', '\t']).len()).unwrap_or(0)
    }

    /// What follows a place on its line.
    pub fn rest_of_line(self) -> &'a str {
        let text = self.files.text(self.at.file).get(self.at.span.end as usize..).unwrap_or("");
        text.lines().next().unwrap_or("")
    }

    /// The number straight before a place: `25` before the `%` of `25%`.
    pub fn number_before(self) -> &'a str {
        let line = self.before();
        let start = line.rfind(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '_')).map_or(0, |at| at + 1);
        // The character before may be wider than one byte; then nothing is said.
        line.get(start..).unwrap_or("")
    }

    /// The line of a place, with its end, where the same line stands at the
    /// other place and each is a statement of its own outside every block: one
    /// of the two says nothing.
    pub fn repeated_line(self, first: Origin) -> Option<Origin> {
        let (again, text) = self.whole_line()?;
        let (other, first_text) = self.of(first).whole_line()?;
        (again != other && text == first_text).then_some(again)
    }

    /// A line that is one whole statement outside every block, with its text.
    fn whole_line(self) -> Option<(Origin, &'a str)> {
        let text = self.files.text(self.at.file);
        let before = text.get(..self.at.span.start as usize)?;
        let start = before.rfind('\n').map_or(0, |end| end + 1);
        let end = text.get(start..)?.find('\n').map_or(text.len(), |length| start + length + 1);
        let line = text.get(start..end)?.trim();
        let code = |line: &'a str| line.split("//").next().unwrap_or("").trim_end();
        let count = |text: &str, mark: char| text.chars().filter(|c| *c == mark).count();
        let is_whole = count(line, '(') == count(line, ')')
            && count(line, '[') == count(line, ']')
            && !code(line).ends_with([',', '+', '-', '*', '/', '@', '=', ':']);
        let above = || text.get(..start).unwrap_or("").lines().map(code);
        let previous_ends =
            above().next_back().is_none_or(|line| !line.ends_with([',', '+', '-', '*', '/', '@', '=', ':']));
        let depth = |mark| above().map(|line| count(line, mark)).sum::<usize>();
        let is_alone = is_whole && previous_ends && !line.contains(['{', '}']) && depth('{') == depth('}');
        let span = Span::new(u32::try_from(start).ok()?, u32::try_from(end).ok()?);
        is_alone.then_some((Origin::new(self.at.file, span), line))
    }

    /// Says of a second statement that it repeats the first word for word, and
    /// takes it out.
    pub fn or_repeated(self, told: Diagnostic, first: Origin) -> Diagnostic {
        match self.repeated_line(first) {
            Some(line) => {
                let told = told.why("Both lines say the same; order does not matter, so either can go.").edit(line, "");
                Diagnostic { help: vec!["leave out one of the two lines".to_owned()], ..told }
            }
            None => told,
        }
    }

    /// The keyword of the statement at a place, so that a label on a block
    /// does not cover all of it.
    pub fn keyword(self) -> Origin {
        let length = self.text().chars().take_while(|c| c.is_alphabetic()).map(char::len_utf8).sum::<usize>();
        let end = self.at.span.start.saturating_add(u32::try_from(length).unwrap_or(0));
        if length == 0 { self.at } else { Origin::new(self.at.file, Span::new(self.at.span.start, end)) }
    }
}

/// A word or words of the source in backticks, on one line, cut where long.
pub fn quote(text: &str) -> String {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ").replace('`', "'");
    if line.chars().count() > LONGEST_QUOTE {
        let head: String = line.chars().take(LONGEST_QUOTE - 1).collect();
        format!("`{}…`", head.trim_end())
    } else {
        format!("`{line}`")
    }
}

/// `` `a`, `b` or `c` ``
pub fn alternatives<'t>(words: impl IntoIterator<Item = &'t str>) -> String {
    joined(words.into_iter().map(quote).collect(), "or")
}

/// `` `a`, `b` and `c` ``
pub fn all_of<'t>(words: impl IntoIterator<Item = &'t str>) -> String {
    joined(words.into_iter().map(quote).collect(), "and")
}

fn joined(words: Vec<String>, last_word: &str) -> String {
    match words.as_slice() {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} {last_word} {last}", first.join(", ")),
    }
}

/// `` `kN`, `N`, `kip` or `lbf` ``: units of a dimension, if any are in use.
pub fn units_like(dimension: Dimension) -> Option<String> {
    let units = units_of(dimension);
    let shown = units.get(..MOST_UNITS).unwrap_or(&units);
    (!shown.is_empty()).then(|| alternatives(shown.iter().copied()))
}

/// `a force per length (force/length)`; a dimension without a name by its factors alone.
pub fn kind(dimension: Dimension) -> String {
    let (name, factors) = (dimension.name(), dimension.to_string());
    if dimension.is_pure() || name.ends_with(&factors) { name } else { format!("{name} ({factors})") }
}

/// A text with every whole word `word` replaced; `None` where it has none.
pub fn with_word_replaced(text: &str, word: &str, replacement: &str) -> Option<String> {
    let mut out = String::with_capacity(text.len() + replacement.len());
    let mut found = false;
    let mut rest = text;
    while !rest.is_empty() {
        let end = rest.find(|c| !in_word(c)).unwrap_or(rest.len());
        let (head, tail) = rest.split_at(end);
        found |= head == word;
        out.push_str(if head == word { replacement } else { head });
        let next = tail.find(in_word).unwrap_or(tail.len());
        let (between, after) = tail.split_at(next);
        out.push_str(between);
        rest = after;
    }
    found.then_some(out)
}

fn in_word(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '_' | '°')
}

/// A quantity written out at the start of a text: its number, its unit, the
/// unit's worth in SI and the dimension.
pub struct Written<'t> {
    pub number: f64,
    pub unit: &'t str,
    pub factor: f64,
    pub dimension: Dimension,
}

/// Reads `5 kg/m` off `5 kg/m down`. `None` where the text begins otherwise.
pub fn written(text: &str) -> Option<Written<'_>> {
    let end = text.find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '_' | '-')).unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    let number: f64 = number.replace('_', "").parse().ok()?;
    let unit = rest.split_whitespace().next().unwrap_or("");
    if unit.is_empty() {
        return Some(Written { number, unit, factor: 1.0, dimension: Dimension::PURE });
    }
    let parsed = parse_unit(unit).ok()?;
    Some(Written { number, unit, factor: parsed.factor.to_f64(), dimension: parsed.dimension })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn quotes_stay_on_one_line_and_are_cut() {
        assert_eq!(quote("2 m +\n   3 kN"), "`2 m + 3 kN`");
        let long = quote(&"x ".repeat(100));
        assert!(long.chars().count() <= LONGEST_QUOTE + 2 && long.ends_with("…`"), "{long}");
    }

    #[test]
    fn whole_words_are_replaced() {
        assert_eq!(with_word_replaced("ft*lb", "lb", "lbf").unwrap(), "ft*lbf");
        assert_eq!(with_word_replaced("5 kg/m^3 down", "kg", "kgf").unwrap(), "5 kgf/m^3 down");
        assert_eq!(with_word_replaced("5 lbf", "lb", "lbf"), None);
    }

    #[test]
    fn a_written_quantity_is_read_off() {
        let mass = written("5 kg/m down").unwrap();
        assert_eq!((mass.number, mass.unit, mass.dimension), (5.0, "kg/m", Dimension::MASS_PER_LENGTH));
        assert!(written("w down").is_none());
        assert_eq!(written("30").unwrap().unit, "");
    }

    #[test]
    fn lists_read_as_sentences() {
        assert_eq!(alternatives(["a", "b", "c"]), "`a`, `b` or `c`");
        assert_eq!(all_of(["a"]), "`a`");
        assert_eq!(units_like(Dimension::PURE), None);
    }
}
