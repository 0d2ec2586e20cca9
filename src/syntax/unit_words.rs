//! Which single words are units.
//!
//! Must not know: what a unit is worth.

/// Whether a word, straight after a number, is a unit. This is the one place
/// where syntax asks the unit table.
pub(super) fn is_unit_word(word: &str) -> bool {
    UNIT_WORDS.contains(&word)
}

/// The unit table's words, for suggestions.
pub const UNIT_WORDS: &[&str] = &[
    "m", "mm", "cm", "dm", "km", "µm", "um", "in", "ft", "yd", "mi", "N", "kN", "MN", "GN", "lbf", "lb", "kip", "kips",
    "kgf", "kg", "g", "t", "tf", "kNm", "Nm", "MNm", "plf", "klf", "psf", "ksf", "psi", "ksi", "pcf", "kcf", "Pa",
    "kPa", "MPa", "GPa", "K", "deg", "rad", "mrad", "°", "°C", "°F",
];
