//! A unit and its run: the word after a number with what follows it through
//! `*`, `·`, `/` and powers, without spaces.
//!
//! Must not know: what a unit is worth.

use std::ops::Range;

use crate::quantity::{Dimension, is_unit_word, parse_unit};

/// The unit that stands after `from`, if one does: `kN/m^2`, `per K`, `%`, `°`.
pub(in crate::syntax) fn unit_after(text: &str, from: usize) -> Option<Range<usize>> {
    let start = skip_blanks(text, from);
    match text.as_bytes().get(start)? {
        b'%' => return Some(start..start + 1),
        b'a'..=b'z' | b'A'..=b'Z' | 0x80.. => {}
        // Most numbers stand before a mark; look no further there.
        _ => return None,
    }
    let word = word_end(text, start);
    if text.get(start..word) == Some("per") {
        let unit = skip_blanks(text, word);
        return single_unit(text, unit).map(|end| start..run_end(text, end));
    }
    single_unit(text, start).map(|end| start..run_end(text, end))
}

/// The end of what makes a number malformed although it began well: `1_`, `2e`.
pub(super) fn malformed_tail(text: &str, from: usize) -> Option<usize> {
    let first = text.as_bytes().get(from)?;
    if !matches!(first, b'_' | b'e' | b'E') {
        return None;
    }
    let end = word_end(text, from);
    let word = text.get(from..end)?;
    (word.starts_with('_') || word.len() == 1).then_some(end)
}

/// The end of one unit word (or degree sign) that begins at `at`.
fn single_unit(text: &str, at: usize) -> Option<usize> {
    let rest = text.get(at..)?;
    if let Some(sign) = rest.chars().next().filter(|sign| matches!(sign, '°' | 'º' | '˚')) {
        let after = at + sign.len_utf8();
        let end = word_end(text, after);
        return match text.get(after..end)? {
            "" => Some(after),
            // `30°15'`
            minutes if minutes.bytes().all(|byte| byte.is_ascii_digit()) => Some(after),
            "C" | "F" => Some(end),
            _ => None,
        };
    }
    let end = word_end(text, at);
    let word = text.get(at..end)?;
    (is_unit_word(word) || is_meant_as_unit(word)).then_some(end)
}

/// Words that are no units of ours, but are meant as such after a number:
/// they are read as one, and refused where units are given their worth.
fn is_meant_as_unit(word: &str) -> bool {
    matches!(word, "bar" | "mbar" | "ton" | "tons" | "tonf")
}

/// Runs on from the end of a unit word through powers, products and quotients.
fn run_end(text: &str, mut end: usize) -> usize {
    loop {
        end = power_end(text, end);
        let Some(rest) = text.get(end..) else { return end };
        let Some(operator) = rest.chars().next().filter(|mark| matches!(mark, '*' | '/' | '·' | '⋅')) else {
            return end;
        };
        match single_unit(text, end + operator.len_utf8()) {
            Some(next) => end = next,
            None => return end,
        }
    }
}

/// The length and the dash of `-ft` after a unit of force, of `-kip` after one
/// of length: a moment as it is written elsewhere. `.` joins them too.
pub(super) fn moment_after(text: &str, unit: Range<usize>) -> Option<Range<usize>> {
    let dash = text.get(unit.end..)?.chars().next().filter(|sign| matches!(sign, '-' | '.'))?;
    let start = unit.end + dash.len_utf8();
    let end = word_end(text, start);
    let dimension = |word: &str| parse_unit(word).ok().map(|unit| unit.dimension);
    let (first, second) = (dimension(text.get(unit)?)?, dimension(text.get(start..end)?)?);
    let is_moment = [(first, second), (second, first)].contains(&(Dimension::FORCE, Dimension::LENGTH));
    is_moment.then_some(start - dash.len_utf8()..end)
}

/// The end of `^2`, `^-1` or `²` at `at`; `at` itself without one.
fn power_end(text: &str, at: usize) -> usize {
    let rest = text.get(at..).unwrap_or("");
    // Most units have no power.
    if !rest.starts_with(|next: char| next == '^' || !next.is_ascii()) {
        return at;
    }
    if let Some(power) = rest.strip_prefix('^') {
        let digits = power.strip_prefix('-').unwrap_or(power);
        let count = digits.bytes().take_while(u8::is_ascii_digit).count();
        let after = digits.get(count..).unwrap_or("");
        // `m^2.5` is arithmetic; it is not cut in two.
        let is_whole = !after.starts_with(|next: char| next == '.' || next == '_' || next.is_alphabetic());
        return if count > 0 && is_whole { at + rest.len() - after.len() } else { at };
    }
    let after = rest.trim_start_matches(|mark: char| "⁻⁰¹²³⁴⁵⁶⁷⁸⁹".contains(mark));
    at + rest.len() - after.len()
}

/// Spaces that are read as plain ones are skipped with them.
fn skip_blanks(text: &str, from: usize) -> usize {
    let Some(rest) = text.get(from..) else { return from };
    from + rest.len() - rest.trim_start_matches(|c| matches!(c, ' ' | '\t') || is_other_space(c)).len()
}

/// A space that is not the plain one and is read as that.
pub(super) fn is_other_space(c: char) -> bool {
    matches!(c, '\u{A0}' | '\u{2000}'..='\u{200A}' | '\u{202F}' | '\u{205F}' | '\u{3000}')
}

/// The end of the run of letters, digits and `_` that begins at `from`.
fn word_end(text: &str, from: usize) -> usize {
    let Some(rest) = text.get(from..) else { return from };
    let ascii = rest.as_bytes().iter().take_while(|byte| byte.is_ascii_alphanumeric() || **byte == b'_').count();
    match rest.as_bytes().get(ascii) {
        Some(byte) if *byte >= 0x80 => {
            let end =
                rest.find(|next: char| !(next.is_alphabetic() || next.is_ascii_digit() || next == '_') || next == 'º');
            from + end.unwrap_or(rest.len())
        }
        _ => from + ascii,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(text: &str) -> Option<&str> {
        let number = text.bytes().take_while(u8::is_ascii_digit).count();
        unit_after(text, number).and_then(|range| text.get(range))
    }

    #[test]
    fn a_unit_runs_on_without_spaces() {
        assert_eq!(unit("2 kN/m"), Some("kN/m"));
        assert_eq!(unit("20 kN*m^2 * 3"), Some("kN*m^2"));
        assert_eq!(unit("20 kN·m²"), Some("kN·m²"));
        assert_eq!(unit("12 kN / m"), Some("kN"));
        assert_eq!(unit("12 kN/panel"), Some("kN"));
        assert_eq!(unit("3m^-1"), Some("m^-1"));
        assert_eq!(unit("3 m^2.5"), Some("m"));
        assert_eq!(unit("40°"), Some("°"));
        assert_eq!(unit("40 °C"), Some("°C"));
        assert_eq!(unit("25%"), Some("%"));
        assert_eq!(unit("25\u{A0}kN"), Some("kN"));
        assert_eq!(unit("25\u{A0})"), None);
        assert_eq!(unit("6 per K"), Some("per K"));
        assert_eq!(unit("6 kN// down"), Some("kN"));
        assert_eq!(unit("2 bar*m"), Some("bar*m"));
    }

    #[test]
    fn other_words_are_no_units() {
        for text in ["6 per run", "2 dead", "3 kNx", "4 to 5", "4", "4 )", "5 °Cx"] {
            assert_eq!(unit(text), None, "{text}");
        }
    }
}
