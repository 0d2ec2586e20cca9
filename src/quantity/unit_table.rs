//! The table of unit words.
//!
//! Factors are exact and follow from a few definitions: 1 in = 0.0254 m
//! (international yard and pound agreement, 1959), 1 lb = 0.45359237 kg (the
//! same), g_n = 9.80665 m/s² (3rd CGPM, 1901), as in NIST SP 811 (2008),
//! Appendix B. Abbreviations such as `plf` and `kip` are common practice.
//!
//! Must not know: how units combine.

use super::dimension::Dimension;
use super::number::Number;
use super::rational::Rational;

/// A word of the unit table.
#[derive(Debug)]
pub struct UnitWord {
    pub symbol: &'static str,
    /// For people: `kilonewton`.
    pub name: &'static str,
    /// How many of the base unit (m, N, s, K, rad and their products) it is.
    pub factor: Number,
    pub dimension: Dimension,
    pub reading: Reading,
}

/// Whether a word is taken as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Reading {
    #[default]
    AsWritten,
    /// `lb` names a mass; in statics it is read as the force `lbf`.
    PoundAsForce,
}

/// The word's entry, if it is a unit.
pub fn find_unit_word(word: &str) -> Option<&'static UnitWord> {
    let mut slot = hash(word.as_bytes()) % SLOTS.len();
    loop {
        let entry = match SLOTS.get(slot).copied() {
            Some(index) if index != EMPTY => TABLE.get(index as usize)?,
            _ => return None,
        };
        if entry.symbol == word {
            return Some(entry);
        }
        slot = (slot + 1) % SLOTS.len();
    }
}

const fn unit(symbol: &'static str, name: &'static str, factor: Number, dimension: Dimension) -> UnitWord {
    let reading = if matches!(symbol.as_bytes(), b"lb") { Reading::PoundAsForce } else { Reading::AsWritten };
    UnitWord { symbol, name, factor, dimension, reading }
}

const fn of(numerator: i64, denominator: i64) -> Number {
    Number::ratio(numerator, denominator)
}

const fn of_pi(denominator: i64) -> Number {
    Number::Pi(Rational::ratio(1, denominator))
}

/// 0.45359237 kg · 9.80665 m/s² = 4.4482216152605 N, in units of 1e-13 N.
const LBF: i64 = 44_482_216_152_605;
const LBF_PARTS: i64 = 10_000_000_000_000;

pub static TABLE: &[UnitWord] = {
    use Dimension as D;
    &[
        unit("m", "metre", of(1, 1), D::LENGTH),
        unit("mm", "millimetre", of(1, 1_000), D::LENGTH),
        unit("cm", "centimetre", of(1, 100), D::LENGTH),
        unit("dm", "decimetre", of(1, 10), D::LENGTH),
        unit("km", "kilometre", of(1_000, 1), D::LENGTH),
        unit("um", "micrometre", of(1, 1_000_000), D::LENGTH),
        unit("µm", "micrometre", of(1, 1_000_000), D::LENGTH),
        unit("μm", "micrometre", of(1, 1_000_000), D::LENGTH),
        unit("in", "inch", of(254, 10_000), D::LENGTH),
        unit("ft", "foot", of(3_048, 10_000), D::LENGTH),
        unit("yd", "yard", of(9_144, 10_000), D::LENGTH),
        unit("mi", "mile", of(1_609_344, 1_000), D::LENGTH),
        unit("ft_us", "US survey foot", of(1_200, 3_937), D::LENGTH),
        unit("N", "newton", of(1, 1), D::FORCE),
        unit("daN", "decanewton", of(10, 1), D::FORCE),
        unit("kN", "kilonewton", of(1_000, 1), D::FORCE),
        unit("MN", "meganewton", of(1_000_000, 1), D::FORCE),
        unit("GN", "giganewton", of(1_000_000_000, 1), D::FORCE),
        unit("dyn", "dyne", of(1, 100_000), D::FORCE),
        unit("kgf", "kilogram-force", of(980_665, 100_000), D::FORCE),
        unit("tf", "tonne-force", of(980_665, 100), D::FORCE),
        unit("lbf", "pound-force", of(LBF, LBF_PARTS), D::FORCE),
        unit("lb", "pound, read as pound-force", of(LBF, LBF_PARTS), D::FORCE),
        unit("ozf", "ounce-force", of(LBF, 16 * LBF_PARTS), D::FORCE),
        unit("kip", "kip, 1000 lbf", of(LBF, LBF_PARTS / 1_000), D::FORCE),
        unit("kips", "kip, 1000 lbf", of(LBF, LBF_PARTS / 1_000), D::FORCE),
        unit("tonf_US", "short ton-force, 2000 lbf", of(LBF * 2, LBF_PARTS / 1_000), D::FORCE),
        unit("tonf_UK", "long ton-force, 2240 lbf", of(LBF * 2_240, LBF_PARTS), D::FORCE),
        unit("pdl", "poundal", of(138_254_954_376, 1_000_000_000_000), D::FORCE),
        unit("Nm", "newton metre", of(1, 1), D::MOMENT),
        unit("Nmm", "newton millimetre", of(1, 1_000), D::MOMENT),
        unit("kNm", "kilonewton metre", of(1_000, 1), D::MOMENT),
        unit("kNmm", "kilonewton millimetre", of(1, 1), D::MOMENT),
        unit("MNm", "meganewton metre", of(1_000_000, 1), D::MOMENT),
        unit("plf", "pound-force per foot", of(LBF, 3_048_000_000_000), D::LINE_LOAD),
        unit("klf", "kip per foot", of(LBF, 3_048_000_000), D::LINE_LOAD),
        unit("pli", "pound-force per inch", of(LBF, 254_000_000_000), D::LINE_LOAD),
        unit("kli", "kip per inch", of(LBF, 254_000_000), D::LINE_LOAD),
        unit("Pa", "pascal", of(1, 1), D::PRESSURE),
        unit("kPa", "kilopascal", of(1_000, 1), D::PRESSURE),
        unit("MPa", "megapascal", of(1_000_000, 1), D::PRESSURE),
        unit("GPa", "gigapascal", of(1_000_000_000, 1), D::PRESSURE),
        unit("psi", "pound-force per square inch", of(LBF, 6_451_600_000), D::PRESSURE),
        unit("ksi", "kip per square inch", of(LBF, 6_451_600), D::PRESSURE),
        unit("psf", "pound-force per square foot", of(LBF, 929_030_400_000), D::PRESSURE),
        unit("ksf", "kip per square foot", of(LBF, 929_030_400), D::PRESSURE),
        unit("pcf", "pound-force per cubic foot", of(LBF, 283_168_465_920), D::WEIGHT),
        unit("kcf", "kip per cubic foot", of(LBF * 100, 28_316_846_592), D::WEIGHT),
        unit("pci", "pound-force per cubic inch", of(LBF, 163_870_640), D::WEIGHT),
        unit("kg", "kilogram", of(1, 1), D::MASS),
        unit("t", "tonne", of(1_000, 1), D::MASS),
        unit("lbm", "pound (mass)", of(45_359_237, 100_000_000), D::MASS),
        unit("slug", "slug", of(LBF, 3_048_000_000_000), D::MASS),
        unit("g_n", "standard gravity", of(980_665, 100_000), D::ACCELERATION),
        unit("s", "second", of(1, 1), D::TIME),
        unit("K", "kelvin", of(1, 1), D::TEMPERATURE),
        unit("°C", "degree Celsius, as a difference", of(1, 1), D::TEMPERATURE),
        unit("°F", "degree Fahrenheit, as a difference", of(5, 9), D::TEMPERATURE),
        unit("rad", "radian", of(1, 1), D::ANGLE),
        unit("mrad", "milliradian", of(1, 1_000), D::ANGLE),
        unit("°", "degree", of_pi(180), D::ANGLE),
        unit("deg", "degree", of_pi(180), D::ANGLE),
        unit("gon", "gon", of_pi(200), D::ANGLE),
    ]
};

/// Units, and words people write for them that have another spelling here.
pub static OTHER_SPELLINGS: &[(&str, &[&str])] = &[
    ("m", &["metre", "metres", "meter", "meters"]),
    ("in", &["inch", "inches"]),
    ("ft", &["foot", "feet"]),
    ("yd", &["yard", "yards"]),
    ("mi", &["mile", "miles"]),
    ("N", &["newton", "newtons"]),
    ("kN", &["kilonewton", "kilonewtons"]),
    ("kip", &["k"]),
    ("lbf", &["lbs", "pound", "pounds"]),
    ("kgf", &["kp"]),
    ("tf", &["ton", "tons", "tonne", "tonnes"]),
    ("kPa", &["bar"]),
    ("deg", &["degree", "degrees"]),
    ("rad", &["radian", "radians"]),
    ("gon", &["grad"]),
    ("K", &["kelvin"]),
    ("°C", &["degC", "C"]),
    ("°F", &["degF", "F"]),
    ("s", &["sec"]),
];

/// Units, ready made: a row for each dimension, in the order they are offered
/// as examples.
pub static COMMON_UNITS: &[&[&str]] = &[
    &["m", "mm", "cm", "ft", "in"],
    &["kN", "N", "MN", "kip", "lbf", "kgf", "tf"],
    &["kN*m", "N*m", "kip*ft", "lbf*ft", "kip*in"],
    &["kN/m", "N/m", "kN/mm", "N/mm", "kip/ft", "lbf/ft", "kip/in"],
    &["kN/m^2", "kPa", "MPa", "GPa", "N/mm^2", "psf", "ksf", "psi", "ksi"],
    &["kN/m^3", "lbf/ft^3"],
    &["mm^2", "cm^2", "m^2", "in^2", "ft^2"],
    &["mm^3", "cm^3", "m^3", "in^3"],
    &["mm^4", "cm^4", "m^4", "in^4"],
    &["kN*m^2", "MN*m^2", "N*mm^2", "kip*in^2", "kip*ft^2"],
    &["kN*m/rad", "kip*ft/rad", "kip*in/rad"],
    &["kg", "t"],
    &["kg/m"],
    &["kg/m^3"],
    &["m/s^2", "g_n"],
    &["K", "°C", "°F"],
    &["°", "rad"],
    &["per K", "per °F"],
    &["s"],
];

const EMPTY: u8 = u8::MAX;

/// The table's index by hash, with open addressing, built at compile time:
/// every word after a number is looked up here.
static SLOTS: [u8; 256] = {
    let mut slots = [EMPTY; 256];
    let mut index = 0;
    while index < TABLE.len() {
        let mut slot = hash(TABLE[index].symbol.as_bytes()) % slots.len();
        while slots[slot] != EMPTY {
            slot = (slot + 1) % slots.len();
        }
        slots[slot] = index as u8;
        index += 1;
    }
    slots
};

/// FNV-1a.
const fn hash(bytes: &[u8]) -> usize {
    let mut state: u32 = 0x811c_9dc5;
    let mut index = 0;
    while index < bytes.len() {
        state = (state ^ bytes[index] as u32).wrapping_mul(0x0100_0193);
        index += 1;
    }
    (state ^ (state >> 15)) as usize
}
