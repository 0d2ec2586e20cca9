//! Units: single words (`kN`, `°C`) and runs of them (`kN*m^2`, `per K`).
//!
//! Must not know: quantities, the file's own units.

use std::ops::Range;

use super::dimension::{Dimension, raised};
use super::number::Number;
use super::unit_table::{COMMON_UNITS, OTHER_SPELLINGS, Reading, TABLE, UnitWord, find_unit_word};

/// Powers of a unit beyond this are refused.
pub const MAX_UNIT_POWER: i32 = 12;

/// Words in one unit run beyond this are refused.
pub const MAX_UNIT_WORDS: usize = 16;

/// What one of a unit is worth: `factor` in m, N, s, K, rad and their products.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    pub factor: Number,
    pub dimension: Dimension,
    /// Whether an `lb` in it was read as `lbf`; the caller may say so.
    pub reading: Reading,
}

/// What is wrong with a unit run, and where: byte offsets in its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitError {
    pub at: Range<usize>,
    pub kind: UnitErrorKind,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnitErrorKind {
    /// `kn`: no unit, and the unit it is most like.
    Unknown { word: String, similar: Option<String> },
    /// `bar`: a member here, never a pressure.
    Bar,
    /// `ton`: three different forces.
    AmbiguousTon,
    /// `kN*` or an empty text: a unit word should follow.
    ExpectedWord,
    /// `m^x`, `m^`: a whole number should follow.
    ExpectedPower,
    /// `m^99`: beyond [`MAX_UNIT_POWER`].
    PowerTooLarge,
    /// `kN m`: no sign that joins them.
    Unexpected { found: char },
    /// Beyond [`MAX_UNIT_WORDS`].
    TooLong,
}

/// Whether a word (letters, digits, `_`, or beginning with `°`), without any
/// superscript, is in the unit table.
pub fn is_unit_word(word: &str) -> bool {
    find_unit_word(word).is_some()
}

/// The unit of a whole run: words with powers (`^2`, `²`) joined by `*`, `·`
/// or `/`, each `/` dividing by the one word that follows it; or `per` and a
/// run, which is one over the run. Spaces stand only around `per`.
pub fn parse_unit(text: &str) -> Result<Unit, UnitError> {
    let mut reader = Reader { text, at: 0 };
    let mut unit = Unit { factor: Number::ONE, dimension: Dimension::PURE, reading: Reading::AsWritten };
    let mut inverse = reader.skip_per();
    let mut sign = 1;
    for _ in 0..MAX_UNIT_WORDS {
        let start = reader.at;
        let (word, power) = reader.read_factor()?;
        let signed = if inverse { -sign * power } else { sign * power };
        unit = unit
            .times_word(word, signed)
            .ok_or(UnitError { at: start..reader.at, kind: UnitErrorKind::PowerTooLarge })?;
        if reader.rest().is_empty() {
            return Ok(unit);
        }
        if !inverse && reader.skip_per() {
            (inverse, sign) = (true, 1);
            continue;
        }
        sign = reader.read_joiner()?;
    }
    Err(UnitError { at: reader.at..text.len(), kind: UnitErrorKind::TooLong })
}

/// The unit most like a word that is none: another spelling, another case, a
/// slip of a letter.
pub fn similar_unit(word: &str) -> Option<String> {
    if let Some(unit) = other_spelling(|spelling| spelling == word) {
        return Some(unit.to_owned());
    }
    if let Some(power) = word.chars().last()?.to_digit(10).filter(|power| *power > 1) {
        let stem = word.get(..word.len() - 1)?;
        return is_unit_word(stem).then(|| format!("{stem}^{power}"));
    }
    let folded = word.to_lowercase();
    let mut spellings = TABLE.iter().filter(|entry| entry.symbol.to_lowercase() == folded);
    if let Some(entry) = spellings.next() {
        return Some(entry.symbol.to_owned());
    }
    if let Some(unit) = other_spelling(|spelling| spelling.to_lowercase() == folded) {
        return Some(unit.to_owned());
    }
    if word.chars().count() < 3 {
        return None;
    }
    crate::base::similar(word, TABLE.iter().map(|entry| entry.symbol)).map(str::to_owned)
}

/// The unit that has another spelling.
fn other_spelling(is: impl Fn(&str) -> bool) -> Option<&'static str> {
    OTHER_SPELLINGS.iter().find(|(_, spellings)| spellings.iter().any(|own| is(own))).map(|(unit, _)| *unit)
}

/// Whether a word is surely meant as a unit: other capitals, the unit's own
/// name, a power without its sign. One letter could be any, a mass is never taken for a force, and
/// where a letter more makes another unit (`kp`, `kip`) that may be meant.
pub fn is_same_unit(word: &str, unit: &str) -> bool {
    let may_lack = |symbol: &str| {
        symbol != unit && symbol.len() == word.len() + 1 && strsim::levenshtein(&word.to_lowercase(), symbol) == 1
    };
    let spelt_out = other_spelling(|spelling| spelling.eq_ignore_ascii_case(word)) == Some(unit)
        && !TABLE.iter().any(|entry| may_lack(entry.symbol));
    let mass = word.to_ascii_lowercase().starts_with("ton") || word.to_ascii_lowercase().starts_with("pound");
    let power = unit.replace('^', "") == word;
    let is_letter = word.chars().nth(1).is_none();
    // `mN` and `mPa` are units of their own, a thousand million times smaller; so may `mn` be.
    let is_milli = word.starts_with('m') && unit.starts_with('M') || word.starts_with("Mm");
    !is_letter && !is_milli && (word.to_lowercase() == unit.to_lowercase() || power || (spelt_out && !mass))
}

/// Units of a dimension as they are written, the commonest first.
pub fn units_of(dimension: Dimension) -> Vec<&'static str> {
    let is_of = |symbol: &&str| parse_unit(symbol).is_ok_and(|unit| unit.dimension == dimension);
    COMMON_UNITS.iter().find(|row| row.first().is_some_and(is_of)).map_or(Vec::new(), |row| row.to_vec())
}

impl Unit {
    /// The pure unit, 1.
    pub const ONE: Unit = Unit { factor: Number::ONE, dimension: Dimension::PURE, reading: Reading::AsWritten };

    /// `None` where an exponent of the dimension overflows.
    pub fn times(&self, other: &Unit) -> Option<Unit> {
        Some(Unit {
            factor: self.factor.times(&other.factor),
            dimension: self.dimension.times(other.dimension)?,
            reading: if self.reading == Reading::AsWritten { other.reading } else { self.reading },
        })
    }

    /// A whole power; `None` where an exponent of the dimension overflows.
    pub fn power(&self, exponent: i32) -> Option<Unit> {
        Some(Unit {
            factor: self.factor.power(exponent)?,
            dimension: self.dimension.power(exponent)?,
            reading: self.reading,
        })
    }

    fn times_word(&self, word: &UnitWord, exponent: i32) -> Option<Unit> {
        let other = Unit { factor: word.factor.clone(), dimension: word.dimension, reading: word.reading };
        if exponent == 1 && self.dimension.is_pure() && self.factor == Number::ONE {
            return Some(other);
        }
        self.times(&other.power(exponent)?)
    }
}

/// The symbol as it is printed: `*` as `·`, powers as superscripts.
pub fn pretty_symbol(symbol: &str) -> String {
    let mut pretty = String::with_capacity(symbol.len());
    let mut rest = symbol;
    while let Some(at) = rest.find(['*', '^']) {
        let (before, after) = rest.split_at(at);
        pretty.push_str(before);
        let after_sign = after.get(1..).unwrap_or("");
        if after.starts_with('*') {
            pretty.push('·');
            rest = after_sign;
            continue;
        }
        let end = after_sign.bytes().position(|byte| !byte.is_ascii_digit()).unwrap_or(after_sign.len());
        let (digits, tail) = after_sign.split_at(end);
        match digits.parse() {
            Ok(power) => pretty.push_str(&raised("", power)),
            Err(_) => pretty.push('^'),
        }
        rest = tail;
    }
    pretty.push_str(rest);
    pretty
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn error<T>(&self, at: Range<usize>, kind: UnitErrorKind) -> Result<T, UnitError> {
        Err(UnitError { at, kind })
    }

    /// Skips `per` and the spaces around it.
    fn skip_per(&mut self) -> bool {
        let rest = self.rest();
        let word = rest.trim_start();
        let Some(after) = word.strip_prefix("per") else { return false };
        let unit = after.trim_start();
        if unit.len() == after.len() || (self.at > 0 && word.len() == rest.len()) {
            return false;
        }
        self.at = self.text.len() - unit.len();
        true
    }

    /// `*`, `·`: 1. `/`: -1.
    fn read_joiner(&mut self) -> Result<i32, UnitError> {
        let Some(found) = self.rest().chars().next() else {
            return self.error(self.at..self.at, UnitErrorKind::ExpectedWord);
        };
        let sign = match found {
            '*' | '·' | '⋅' => 1,
            '/' => -1,
            _ => return self.error(self.at..self.at + found.len_utf8(), UnitErrorKind::Unexpected { found }),
        };
        self.at += found.len_utf8();
        Ok(sign)
    }

    fn read_factor(&mut self) -> Result<(&'static UnitWord, i32), UnitError> {
        let start = self.at;
        let rest = self.rest();
        let first_not_of_word = |(at, c): &(usize, char)| {
            let in_word = if *at == 0 { c.is_alphabetic() || matches!(c, '_' | '°') } else { is_word_tail(*c) };
            !in_word
        };
        let end = rest.char_indices().find(first_not_of_word).map_or(rest.len(), |(at, _)| at);
        let word = rest.get(..end).unwrap_or("");
        self.at += end;
        if word.is_empty() {
            return match rest.chars().next() {
                Some(found) if !matches!(found, '*' | '·' | '⋅' | '/' | '^') => {
                    self.error(start..start + found.len_utf8(), UnitErrorKind::Unexpected { found })
                }
                _ => self.error(start..start, UnitErrorKind::ExpectedWord),
            };
        }
        let Some(entry) = find_unit_word(word) else {
            return self.error(start..self.at, unknown(word));
        };
        Ok((entry, self.read_power()?))
    }

    fn read_power(&mut self) -> Result<i32, UnitError> {
        let start = self.at;
        let rest = self.rest();
        let (raised, digits) = match rest.strip_prefix('^') {
            Some(after) => (false, after),
            None => (true, rest),
        };
        let minus = digits.starts_with(if raised { &['⁻'][..] } else { &['-', '−'][..] });
        let unsigned = if minus { digits.trim_start_matches(['⁻', '-', '−']) } else { digits };
        let value_of = |c: char| if raised { superscript_digit(c) } else { c.to_digit(10) };
        let mut power = 0_u32;
        let mut length = 0;
        for c in unsigned.chars() {
            let Some(digit) = value_of(c) else { break };
            power = power.saturating_mul(10).saturating_add(digit).min(1_000);
            length += c.len_utf8();
        }
        if length == 0 {
            return if raised && !minus {
                Ok(1)
            } else {
                self.error(start..self.text.len(), UnitErrorKind::ExpectedPower)
            };
        }
        self.at = self.text.len() - unsigned.len() + length;
        match i32::try_from(power) {
            Ok(power) if power <= MAX_UNIT_POWER => Ok(if minus { -power } else { power }),
            _ => self.error(start..self.at, UnitErrorKind::PowerTooLarge),
        }
    }
}

fn unknown(word: &str) -> UnitErrorKind {
    match word {
        "bar" | "mbar" => UnitErrorKind::Bar,
        "ton" | "tons" | "tonf" => UnitErrorKind::AmbiguousTon,
        _ => UnitErrorKind::Unknown { word: word.to_owned(), similar: similar_unit(word) },
    }
}

/// Letters, digits and `_`; superscripts, which count as numbers in Unicode,
/// belong to the power.
fn is_word_tail(c: char) -> bool {
    c == '_' || (c.is_alphanumeric() && superscript_digit(c).is_none())
}

const fn superscript_digit(c: char) -> Option<u32> {
    match c {
        '⁰' => Some(0),
        '¹' => Some(1),
        '²' => Some(2),
        '³' => Some(3),
        '⁴'..='⁹' => Some(c as u32 - '⁰' as u32),
        _ => None,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn unit(text: &str) -> Unit {
        parse_unit(text).unwrap_or_else(|error| panic!("{text}: {error:?}"))
    }

    fn kind(text: &str) -> UnitErrorKind {
        parse_unit(text).unwrap_err().kind
    }

    #[test]
    fn runs_multiply_divide_and_raise() {
        assert_eq!(unit("kN*m^2").dimension, Dimension::BENDING_STIFFNESS);
        assert_eq!(unit("kN*m"), unit("kNm"));
        assert_eq!(unit("kN·m"), unit("kNm"));
        assert_eq!(unit("N/mm²"), unit("MPa"));
        assert_eq!(unit("N/mm^2"), unit("MPa"));
        assert_eq!(unit("kN·m⁻²"), unit("kPa"));
        assert_eq!(unit("kN*m^-2"), unit("kPa"));
        assert_eq!(unit("lbf/ft^3"), unit("pcf"));
        assert_eq!(unit("kip/ft"), unit("klf"));
        assert_eq!(unit("lbf/ft"), unit("plf"));
        assert_eq!(unit("kip/in^3").factor, unit("pci").factor.times(&Number::from_integer(1000)));
        assert_eq!(unit("kip/ft^3"), unit("kcf"));
        assert_eq!(unit("kN*m/rad").dimension, Dimension::ROTATIONAL_STIFFNESS);
        assert_eq!(unit("kg*g_n").factor, unit("kgf").factor);
        assert_eq!(unit("kg*m/s^2"), unit("N"));
        assert_eq!(unit("per K").dimension, Dimension::EXPANSION);
        assert_eq!(unit("per °F").factor, Number::ratio(9, 5));
        assert_eq!(unit("kN per m"), unit("kN/m"));
        assert_eq!(unit("kip/in*s^2/in"), unit("kip*s^2/in/in"));
        assert_eq!(unit("°").factor, Number::PI.times(&Number::ratio(1, 180)));
    }

    #[test]
    fn pounds_are_read_as_forces_and_say_so() {
        assert_eq!(unit("lb").reading, Reading::PoundAsForce);
        assert_eq!(unit("lb/ft").reading, Reading::PoundAsForce);
        assert_eq!(unit("ft*lb").factor, unit("ft*lbf").factor);
        assert_eq!(unit("lbf/ft").reading, Reading::AsWritten);
    }

    #[test]
    fn faults_are_placed() {
        let at = |text| parse_unit(text).unwrap_err().at;
        assert_eq!(kind("kn"), UnitErrorKind::Unknown { word: "kn".into(), similar: Some("kN".into()) });
        assert_eq!(at("kN/mn^2"), 3..5);
        assert_eq!(at("m²·kn"), 5..7);
        assert_eq!(kind("kN*"), UnitErrorKind::ExpectedWord);
        assert_eq!(kind(""), UnitErrorKind::ExpectedWord);
        assert_eq!(kind("per "), UnitErrorKind::ExpectedWord);
        assert_eq!(kind("m^"), UnitErrorKind::ExpectedPower);
        assert_eq!(kind("m^x"), UnitErrorKind::ExpectedPower);
        assert_eq!(kind("m^99"), UnitErrorKind::PowerTooLarge);
        assert_eq!(kind("m^99999999999999999999"), UnitErrorKind::PowerTooLarge);
        assert_eq!(kind("kN m"), UnitErrorKind::Unexpected { found: ' ' });
        assert_eq!(kind("bar"), UnitErrorKind::Bar);
        assert_eq!(kind("kN/ton"), UnitErrorKind::AmbiguousTon);
        assert_eq!(kind(&"m/".repeat(40)), UnitErrorKind::TooLong);
    }

    #[test]
    fn likely_units_are_offered() {
        let similar = |word: &str| similar_unit(word).unwrap_or_default();
        assert_eq!(similar("KN"), "kN");
        assert_eq!(similar("Mpa"), "MPa");
        assert_eq!(similar("feet"), "ft");
        assert_eq!(similar("lbs"), "lbf");
        assert_eq!(similar("k"), "kip");
        assert_eq!(similar("mm4"), "mm^4");
        assert_eq!(similar("knm"), "kNm");
        assert_eq!(similar("Kips"), "kips");
        assert_eq!(similar("zebra"), "");
        assert_eq!(similar("q"), "");
        assert_eq!(similar(""), "");
        assert_eq!(similar("é2"), "");
    }

    #[test]
    fn every_word_is_found_once_and_every_example_parses() {
        for entry in TABLE {
            let found = find_unit_word(entry.symbol).unwrap();
            assert!(std::ptr::eq(found, entry), "{}", entry.symbol);
            assert!(is_unit_word(entry.symbol));
            assert_eq!(unit(entry.symbol).factor, entry.factor);
        }
        assert!(!is_unit_word("bar") && !is_unit_word("A") && !is_unit_word(""));
        for symbol in COMMON_UNITS.iter().copied().flatten() {
            assert!(units_of(unit(symbol).dimension).contains(symbol));
        }
        for (symbol, spellings) in OTHER_SPELLINGS {
            assert!(is_unit_word(symbol) && !spellings.iter().any(|spelling| is_unit_word(spelling)), "{symbol}");
        }
        assert_eq!(units_of(Dimension::LENGTH), ["m", "mm", "cm", "ft", "in"]);
    }

    #[test]
    fn symbols_are_printed_with_dots_and_superscripts() {
        assert_eq!(pretty_symbol("kN*m^2"), "kN·m²");
        assert_eq!(pretty_symbol("N/mm^2"), "N/mm²");
        assert_eq!(pretty_symbol("m^12"), "m¹²");
        assert_eq!(pretty_symbol("kN"), "kN");
    }

    proptest! {
        #[test]
        fn no_text_makes_the_reader_panic(text in "\\PC{0,30}", run in "(kN|m|°|per| |\\^|\\*|/|²|⁻|-|[0-9]){0,12}") {
            for text in [text, run] {
                if let Err(error) = parse_unit(&text) {
                    prop_assert!(text.get(error.at.clone()).is_some(), "{:?} in {:?}", error, text);
                }
                let _ = similar_unit(&text);
                let _ = pretty_symbol(&text);
            }
        }
    }
}
