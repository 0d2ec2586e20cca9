//! The letters of the drawings: Arimo, whose widths are those of the common
//! sans-serif faces, so that a line is as wide in every browser as here.
//! `letters/OFL.txt` is its licence.
//!
//! Must not know: what is written with them.

use std::sync::OnceLock;

use ttf_parser::{Face, GlyphId};
use unicode_width::UnicodeWidthChar;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    Regular,
    Bold,
}

/// The faces a browser is asked for, all of one set of widths.
pub const FAMILY: &str = "Arimo, Arial, Helvetica, 'Liberation Sans', sans-serif";

static REGULAR: &[u8] = include_bytes!("letters/Arimo-Regular.ttf");
static BOLD: &[u8] = include_bytes!("letters/Arimo-Bold.ttf");

/// A face; `None` only where the file in the program is spoilt.
pub fn face(weight: Weight) -> Option<&'static Face<'static>> {
    static FACES: OnceLock<[Option<Face<'static>>; 2]> = OnceLock::new();
    let [regular, bold] = FACES.get_or_init(|| [REGULAR, BOLD].map(|bytes| Face::parse(bytes, 0).ok()));
    match weight {
        Weight::Regular => regular.as_ref(),
        Weight::Bold => bold.as_ref(),
    }
}

/// The glyph of a character, where the face has one.
pub fn glyph(c: char, weight: Weight) -> Option<GlyphId> {
    face(weight)?.glyph_index(c)
}

/// The width of a text of size 1.
pub fn width(text: &str, weight: Weight) -> f64 {
    text.chars().map(|c| advance(c, weight)).sum()
}

/// The width of one character of size 1; of those the face lacks, what
/// other faces give most letters of that kind.
pub fn advance(c: char, weight: Weight) -> f64 {
    const LETTER: f64 = 0.6;
    let known = face(weight).and_then(|face| {
        let advance = face.glyph_hor_advance(face.glyph_index(c)?)?;
        Some(f64::from(advance) / f64::from(face.units_per_em()))
    });
    known.unwrap_or_else(|| match c.width() {
        Some(0) => 0.0,
        Some(2) => 1.0,
        _ => LETTER,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_common_faces() {
        // Helvetica, Adobe core 14 metrics, in thousandths (from memory).
        for (c, thousandths) in [('0', 556.0), ('A', 667.0), ('i', 222.0), ('W', 944.0), ('.', 278.0)] {
            assert!((advance(c, Weight::Regular) - thousandths / 1000.0).abs() < 0.001, "{c}");
        }
        assert!((advance('A', Weight::Bold) - 0.722).abs() < 0.001);
        assert!((width("漢ꙮ", Weight::Regular) - 1.6).abs() < 1e-12);
    }

    #[test]
    fn what_drawings_write_by_themselves_is_in_the_face() {
        for c in "0123456789.,-−–·×°′″²³⁴=+()ΣΔδφ→".chars() {
            assert!(c == '⁴' || glyph(c, Weight::Regular).is_some(), "{c} is missing");
        }
    }
}
