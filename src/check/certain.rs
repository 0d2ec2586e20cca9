//! The gate that every certain correction goes through. A finding keeps its
//! edits only if nobody could mean anything else: no word becomes one of
//! another sense, no number another number, nothing goes that has no twin in
//! its file, and no second reading of the same signs is left. What does not
//! pass is advice: the finding keeps its help.
//!
//! Must not know: which finding offers what, but for names, where what else
//! the project says decides.

use std::cell::OnceCell;

use rustc_hash::FxHashMap;

use crate::base::{FileId, Files, Span, is_turned, letters_alike, sense_of};
use crate::diagnostic::{Diagnostic, Edit, Slug};
use crate::quantity::{is_same_unit, is_unit_word};
use crate::syntax::token::Token;
use crate::syntax::{SyntaxError, parse};

/// Words that may go where nothing takes their place.
const IDLE_WORDS: [&str; 17] = [
    "on",
    "at",
    "in",
    "of",
    "the",
    "joint",
    "joints",
    "node",
    "support",
    "supports",
    "bearing",
    "and",
    "hinged",
    "point",
    "distributed",
    "concentrated",
    "horizontal",
];
/// Words that may be put in where nothing stood.
const LINKS: [&str; 7] = ["at", "to", "along", "ft", "in", "let", "from"];
/// How much of a long line is looked at on either side of an edit.
const NEAR_BYTES: usize = 2048;

/// Takes the edits from every finding whose correction is not certain.
pub fn keep_certain(found: &mut [Diagnostic], files: &Files) {
    let mut gate = Gate { files, words: OnceCell::new(), lines: OnceCell::new(), gone: FxHashMap::default() };
    for finding in found.iter_mut().filter(|finding| !finding.edits.is_empty()) {
        if !gate.passes(finding.slug, &finding.edits) {
            finding.edits.clear();
        }
    }
}

struct Gate<'a> {
    files: &'a Files,
    /// How often each word stands in the project, outside comments.
    words: OnceCell<FxHashMap<&'a str, usize>>,
    /// How often each line stands in a file.
    lines: OnceCell<FxHashMap<(FileId, &'a str), usize>>,
    /// How many of them go.
    gone: FxHashMap<(FileId, &'a str), usize>,
}

/// Lines of a text before and after edits, and the edits within them.
struct Change<'a, 'e> {
    file: FileId,
    before: &'a str,
    after: String,
    /// Where each edit stands in `before`, and what it writes.
    edits: Vec<(Span, &'e str)>,
}

impl<'a> Gate<'a> {
    fn passes(&mut self, slug: Slug, edits: &[Edit]) -> bool {
        let names = slug != Slug::UnknownName || edits.iter().all(|edit| self.is_slip_of_name(edit));
        names && changes(self.files, edits).is_some_and(|changes| changes.iter().all(|change| self.is_certain(change)))
    }

    fn is_certain(&mut self, change: &Change<'a, '_>) -> bool {
        if change.after.trim().is_empty() && change.before.contains(char::is_alphanumeric) {
            return self.has_twin(change);
        }
        change.keeps_words()
            && digits(&change.code_before()) == digits(&change.code_after())
            && !change.has_two_numbers()
            && !change.is_claim_without_mark()
            && !change.is_sense_of_signed_claim()
            && !change.is_heading()
            && !change.is_hinge_in_line()
            && !change.edits.iter().any(|(at, new)| change.has_second_reading(*at, new))
            && change.reads_where_split()
    }

    /// Whether each line that goes stands in the same file once more, and stays there.
    fn has_twin(&mut self, change: &Change<'a, '_>) -> bool {
        let lines = self.lines.get_or_init(|| {
            let mut counts = FxHashMap::default();
            for (file, source) in self.files.iter() {
                source.text.lines().for_each(|line| *counts.entry((file, line.trim())).or_default() += 1);
            }
            counts
        });
        change.before.lines().map(|line| (change.file, line.trim())).all(|line| {
            let gone = self.gone.entry(line).or_default();
            *gone += 1;
            lines.get(&line).is_some_and(|count| *count > *gone)
        })
    }

    /// A name is a slip of another where it stands once and the other is used
    /// more often: else the other may be the slip, or a declaration forgotten.
    /// A name of few letters, and one that tells itself from others by capitals
    /// or digits, is a label: another letter is another label. What another word
    /// begins with may be that word half typed.
    fn is_slip_of_name(&self, edit: &Edit) -> bool {
        let words = self.words.get_or_init(|| {
            let mut counts = FxHashMap::default();
            for (_, source) in self.files.iter() {
                let code = source.text.lines().flat_map(|line| words(code(line)));
                code.for_each(|word| *counts.entry(word).or_default() += 1);
            }
            counts
        });
        let (name, meant) = (edit.span.text(self.files.text(edit.file)), edit.replacement.as_str());
        let count = |word: &str| words.get(word).copied().unwrap_or(0);
        if is_same_unit(name, meant) && count(meant) == 0 {
            return true;
        }
        let is_begun = |word: &str| word.len() > name.len() && word.starts_with(name) && word != meant;
        if words.keys().any(|word| is_begun(word) && !Token::is_own_word(word)) {
            return false;
        }
        let is_written_alike = name.to_lowercase() == meant.to_lowercase() || letters_alike(name, meant);
        // Names that a loop makes are written nowhere.
        if is_written_alike && (count(meant) == 0 || count(meant) > count(name)) {
            return true;
        }
        if count(meant) <= count(name) {
            return false;
        }
        let is_plural = |one: &str, other: &str| one.strip_suffix('s') == Some(other);
        let tells = |c: char| c.is_uppercase() || c.is_ascii_digit();
        let labels = |word: &str| word.chars().filter(|c| tells(*c)).collect::<String>();
        let is_short = name.chars().count().min(meant.chars().count()) < 3;
        !is_short && labels(name) == labels(meant) && !is_plural(name, meant) && !is_plural(meant, name)
    }
}

/// The changes that edits make, lines that touch together; `None` where edits
/// overlap or do not fit their text.
fn changes<'a, 'e>(files: &'a Files, edits: &'e [Edit]) -> Option<Vec<Change<'a, 'e>>> {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|edit| (edit.file, edit.span.start, edit.span.end));
    let mut changes = Vec::new();
    let mut rest = sorted.as_slice();
    while let Some(first) = rest.first() {
        let text = files.text(first.file);
        let (start, mut end) = (line_start(text, first.span.start as usize), 0);
        let mut count = 0;
        for edit in rest.iter().take_while(|edit| edit.file == first.file) {
            if count > 0 && edit.span.start as usize > end {
                break;
            }
            end = end.max(line_end(text, edit.span.end as usize));
            count += 1;
        }
        let (own, others) = rest.split_at_checked(count)?;
        let before = text.get(start..end)?;
        let (mut after, mut at) = (String::with_capacity(before.len() + 16), 0);
        let mut placed = Vec::with_capacity(own.len());
        for edit in own {
            let (from, to) =
                ((edit.span.start as usize).checked_sub(start)?, (edit.span.end as usize).checked_sub(start)?);
            after.push_str(before.get(at..from)?);
            after.push_str(&edit.replacement);
            placed.push((Span::new(u32::try_from(from).ok()?, u32::try_from(to).ok()?), edit.replacement.as_str()));
            at = to;
        }
        after.push_str(before.get(at..)?);
        changes.push(Change { file: first.file, before, after, edits: placed });
        rest = others;
    }
    Some(changes)
}

/// Where the line of a place begins, or what is near to it of a long line.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    let mut from = at.saturating_sub(NEAR_BYTES).min(text.len());
    while !text.is_char_boundary(from) {
        from += 1;
    }
    text.get(from..at).and_then(|near| near.rfind('\n')).map_or(from, |line| from + line + 1)
}

/// Where the line of a place ends; a place behind its line's end is in no other.
fn line_end(text: &str, at: usize) -> usize {
    if text.get(..at).is_some_and(|head| head.ends_with('\n')) {
        return at;
    }
    at + rest_of_line(text, at).len()
}

/// What follows a place on its line, or what is near to it of a long line.
pub(super) fn rest_of_line(text: &str, at: usize) -> &str {
    let mut to = at.saturating_add(NEAR_BYTES).min(text.len());
    while !text.is_char_boundary(to) {
        to -= 1;
    }
    text.get(at..to).and_then(|near| near.split('\n').next()).unwrap_or("")
}

impl Change<'_, '_> {
    /// Whether no word becomes another that says another thing, none goes that
    /// says something, and none comes that tells a way.
    fn keeps_words(&self) -> bool {
        let (before, after) = (self.code_before(), self.code_after());
        let (mut gone, come) = differing(words(&before).collect(), words(&after).collect());
        if gone.concat() == come.concat() {
            return true;
        }
        let mut extra = gone.len().saturating_sub(come.len());
        gone.retain(|word| {
            let goes = extra > 0 && IDLE_WORDS.contains(word);
            extra -= usize::from(goes);
            !goes
        });
        if gone.is_empty() {
            let is_sign = |(at, _): &(Span, &str)| at.text(self.before).chars().all(|sign| "↑↓←→".contains(sign));
            if self.edits.iter().all(|edit| !edit.0.is_empty() && is_sign(edit)) {
                return true;
            }
            return come.iter().all(|word| LINKS.contains(word) && !self.is_near_link(word));
        }
        if let ([_, _], [come]) = (gone.as_slice(), come.as_slice()) {
            // `anti-clockwise`
            return sense_of(&gone.concat()) == Some(come);
        }
        gone.len() == come.len() && gone.iter().zip(&come).all(|(gone, come)| is_same_word(gone, come))
    }

    /// Whether a word beside the place of a link put in is a piece of it, or
    /// it and more: `0 t 5`, `from0 to 4`.
    fn is_near_link(&self, link: &str) -> bool {
        let is_part = |c: char| c.is_alphanumeric() || c == '_';
        self.edits.iter().filter(|(_, new)| new.trim() == link).any(|(at, _)| {
            let head = self.before.get(..at.start as usize).unwrap_or("").trim_end();
            let tail = self.before.get(at.end as usize..).unwrap_or("").trim_start();
            let before = words(head).last().filter(|_| head.ends_with(is_part));
            let after = words(tail).next().filter(|_| tail.starts_with(is_part));
            before.into_iter().chain(after).any(|word| word.contains(link) || link.starts_with(word))
        })
    }

    /// `expect force A-B 5 kN`: a value, or a limit that has lost its sign.
    fn is_claim_without_mark(&self) -> bool {
        let is_claim = words(self.before).next() == Some("expect");
        is_claim && self.edits.iter().any(|(at, new)| at.is_empty() && *new == ":")
    }

    /// `expect force A-C: -6.01 kN (C)`: the minus may say once more what the
    /// letter says, or turn it round.
    fn is_sense_of_signed_claim(&self) -> bool {
        let is_claim = words(self.before).next() == Some("expect");
        let is_signed = code(self.before).split([':', '=']).nth(1).is_some_and(|value| value.trim().starts_with('-'));
        is_claim && is_signed && self.edits.iter().any(|(_, new)| words(new).any(|word| sense_of(word).is_some()))
    }

    /// `Joint X Y` at the head of a table states no joint, and `joint P A + K/2`
    /// may have lost brackets: a place has them.
    fn is_heading(&self) -> bool {
        let (subject, place) = self.after.split_once(':').unwrap_or((&self.after, ""));
        words(subject).next() == Some("joint")
            && self.edits.iter().any(|(at, new)| at.is_empty() && *new == ":")
            && !place.contains('(')
    }

    /// `beam A-C: light hinge at A`: the clause `hinged at A` with letters lost,
    /// or a statement.
    fn is_hinge_in_line(&self) -> bool {
        let is_within =
            |line: &str| words(code(line).split(';').next().unwrap_or("")).skip(1).any(|word| word == "hinge");
        self.before.lines().any(is_within) && self.after.contains("hinge ")
    }

    /// `0 -8`: a difference, or two numbers side by side. A sign that is only
    /// written plain changes neither.
    fn has_two_numbers(&self) -> bool {
        let code = code(self.before);
        let is_pair = code.match_indices(" -").any(|(at, _)| {
            let ends = code.get(..at).is_some_and(|head| head.trim_end().ends_with(|c: char| c.is_ascii_digit()));
            let begins =
                code.get(at + 2..).is_some_and(|tail| tail.starts_with(|c: char| c.is_ascii_digit() || c == '.'));
            ends && begins
        });
        let is_sign = |(at, _): &(Span, &str)| !at.is_empty() && !at.text(self.before).is_ascii();
        is_pair && !self.edits.iter().all(is_sign)
    }

    /// Whether what is replaced can be read in another way that makes sense.
    fn has_second_reading(&self, at: Span, new: &str) -> bool {
        let (head, tail) =
            (self.before.get(..at.start as usize).unwrap_or(""), self.before.get(at.end as usize..).unwrap_or(""));
        let (digit_before, digit_after) = (head.ends_with(is_digit), tail.starts_with(is_digit));
        match at.text(self.before) {
            "," if new == "." => !is_decimal_comma(head, tail),
            // `(3,5; 2)`: the comma first, so that it stays known which sets apart.
            ";" if new == "," => commas(&bracket(head, tail, ";")).0 > 0,
            // A narrow blank sets thousands apart.
            old if !old.is_empty() && old.chars().all(char::is_whitespace) => digit_before && digit_after,
            "#" => head.trim_end().ends_with(is_digit) && is_way(tail),
            old if old.starts_with(['\'', '′', '’', '"', '″', '”']) => {
                // Minutes and seconds of arc, and thousands.
                let value = head.trim_end_matches(|c: char| is_digit(c) || c == '.');
                let is_angle = value.trim_end().ends_with(['°', '@', '\'', '′', '’'])
                    || words(value).last().is_some_and(|word| matches!(word, "along" | "pushes" | "deg"));
                is_angle || (digit_after && !old.ends_with(['"', '″', '”']))
            }
            _ => false,
        }
    }

    /// Where a line is cut in two, whether each piece reads.
    fn reads_where_split(&self) -> bool {
        let is_cut = |old: &str| old.chars().all(|sign| matches!(sign, ';' | ' ' | '\t'));
        let is_split = self.edits.iter().any(|(at, new)| new.contains('\n') && is_cut(at.text(self.before)));
        let is_of_another_cut = |error: &SyntaxError| {
            matches!(
                error,
                SyntaxError::Semicolon { .. }
                    | SyntaxError::TwoStatements { .. }
                    | SyntaxError::StrayBrace { .. }
                    | SyntaxError::UnclosedBlock { .. }
            )
        };
        !is_split || parse(FileId::default(), self.after.trim_end()).errors.iter().all(is_of_another_cut)
    }

    /// The text before without its comments; what becomes a comment is one.
    fn code_before(&self) -> String {
        let comment = self.edits.iter().find(|(_, new)| new.starts_with("//")).map(|(at, _)| at.start as usize);
        let before = comment.and_then(|at| self.before.get(..at)).unwrap_or(self.before);
        before.lines().map(code).collect::<Vec<_>>().join("\n")
    }

    fn code_after(&self) -> String {
        self.after.lines().map(code).collect::<Vec<_>>().join("\n")
    }
}

/// Whether a word that comes for another says the same.
fn is_same_word(gone: &str, come: &str) -> bool {
    let (small, meant) = (gone.to_lowercase(), come.to_lowercase());
    if small == meant {
        // `mn` may be a thousandth or a million; there is no unit that `MM` could be but one.
        let is_first = |letter: char| gone.starts_with(letter) || come.starts_with(letter);
        return gone == "MM" || !(is_first('m') && is_first('M') && is_unit_word(come));
    }
    // A word that holds the other and more is two words run together.
    let more = small.strip_prefix(meant.as_str()).or_else(|| small.strip_suffix(meant.as_str()));
    let is_run_on = more.is_some_and(|more| {
        let is_unit = small.ends_with(meant.as_str()) && gone.get(..more.len()).is_some_and(is_unit_word);
        is_unit || (more.len() > 1 && !matches!(more, "ned" | "ward" | "wards"))
    });
    let is_of_another_sense =
        !meant.starts_with(small.as_str()) && sense_of(gone).is_some_and(|sense| sense_of(come) != Some(sense));
    !is_run_on && !is_of_another_sense && !is_turned(gone, come)
}

/// What stands only in the first list, and only in the second, in order.
fn differing<'t>(before: Vec<&'t str>, after: Vec<&'t str>) -> (Vec<&'t str>, Vec<&'t str>) {
    let only = |one: &[&'t str], other: &[&'t str]| -> Vec<&'t str> {
        let mut counts: FxHashMap<&str, usize> = FxHashMap::default();
        other.iter().for_each(|word| *counts.entry(word).or_default() += 1);
        let is_left = |word: &&&str| match counts.get_mut(**word) {
            Some(left) if *left > 0 => {
                *left -= 1;
                false
            }
            _ => true,
        };
        one.iter().filter(is_left).copied().collect()
    };
    (only(&before, &after), only(&after, &before))
}

/// The runs of digits of a text, in order; `.5` is `0.5`.
fn digits(text: &str) -> Vec<&str> {
    let mut runs = Vec::new();
    let mut from = 0;
    while let Some(start) = text.get(from..).and_then(|rest| rest.find(is_digit)).map(|at| from + at) {
        let rest = text.get(start..).unwrap_or("");
        let end = start + rest.find(|c| !is_digit(c)).unwrap_or(rest.len());
        let head = text.get(..start).unwrap_or("");
        let is_bare = head.strip_suffix('.').is_some_and(|head| !head.ends_with(|c: char| c.is_alphanumeric()));
        if is_bare {
            runs.push("0");
        }
        runs.push(text.get(start..end).unwrap_or(""));
        from = end;
    }
    runs
}

/// Words of a text: letters, then letters, digits and `_`.
fn words(text: &str) -> impl Iterator<Item = &str> {
    let is_part = |c: char| (c.is_alphanumeric() || c == '_') && c != 'º';
    text.split(move |c: char| !is_part(c)).filter_map(|run| {
        let word = run.trim_start_matches(|c: char| is_digit(c) || c == '_');
        (!word.is_empty()).then_some(word)
    })
}

/// A line without its comment.
fn code(line: &str) -> &str {
    line.split("//").next().unwrap_or("")
}

fn is_digit(c: char) -> bool {
    c.is_ascii_digit()
}

/// Whether a text goes on like a load whose unit was `#`, or ends.
fn is_way(tail: &str) -> bool {
    words(tail).next().is_none_or(|word| sense_of(word).is_some())
}

/// Whether a comma between digits can only be a decimal sign: not among
/// thousands, and in a bracket not one of the commas between values.
fn is_decimal_comma(head: &str, tail: &str) -> bool {
    let is_part = |c: char| is_digit(c) || matches!(c, '.' | '_');
    let (_, whole) = head.split_at_checked(head.trim_end_matches(is_part).len()).unwrap_or(("", head));
    let (part, rest) = tail.split_at_checked(tail.len() - tail.trim_start_matches(is_part).len()).unwrap_or((tail, ""));
    let goes_on = rest.strip_prefix([',', '\'', '’']).is_some_and(|rest| rest.starts_with(is_digit));
    let is_plain = !whole.contains(['.', '_']) && !part.contains(['.', '_']) && !goes_on;
    if !is_plain || (part.len() == 3 && whole != "0") {
        return false;
    }
    let values = bracket(head, tail, ",");
    // `(2,3, 0)` may be three coordinates; `(2,3, 4,5)` and `(2,3; 0)` are two.
    values.contains(';') || matches!(commas(&values), (0, _) | (1, 0) | (2, 1))
}

/// What stands in the innermost round bracket about a sign; empty outside one.
fn bracket(head: &str, tail: &str, sign: &str) -> String {
    let open = head.rfind(['(', ')']).and_then(|at| head.get(at..)?.strip_prefix('('));
    let close = tail.find(['(', ')']).filter(|at| tail.get(*at..).is_some_and(|rest| rest.starts_with(')')));
    let inside = open.zip(close.and_then(|at| tail.get(..at)));
    inside.map_or(String::new(), |(before, after)| format!("{before}{sign}{after}"))
}

/// How many commas stand between digits, and how many do not.
fn commas(values: &str) -> (usize, usize) {
    let is_decimal = |(at, _): &(usize, &str)| {
        let (head, tail) = (values.get(..*at).unwrap_or(""), values.get(at + 1..).unwrap_or(""));
        head.ends_with(is_digit) && tail.starts_with(is_digit)
    };
    let decimal = values.match_indices(',').filter(is_decimal).count();
    (decimal, values.matches(',').count() - decimal)
}
