//! The unit table against published factors.
//!
//! The figures of `data/units.json` name their sources: the BIPM SI Brochure,
//! NIST SP 811 (2008) Appendix B, ISO 80000-3 and 80000-4; 1 lbf, the short
//! ton-force and g_n were re-read in a public page, the rest follow exactly
//! from the definitions of the inch, the pound and g_n.

use kingpost::quantity::unit_table::TABLE;
use kingpost::quantity::{Number, is_unit_word, parse_unit};
use serde_json::Value;

/// What the list holds that is no unit of the notation: `%` is a share, a
/// slope is not a unit, `bar` is a member.
const NOT_UNITS: [&str; 3] = ["%", "in 12", "bar"];

#[test]
fn every_published_factor_is_met() {
    let list: Value = serde_json::from_str(include_str!("../data/units.json")).unwrap();
    let mut met = 0;
    for entry in list["units"].as_array().unwrap() {
        let (symbols, factor) = (entry["symbol"].as_str().unwrap(), entry["si_factor"].as_str().unwrap());
        if NOT_UNITS.contains(&symbols) {
            assert!(!is_unit_word(symbols), "{symbols}");
            continue;
        }
        for symbol in symbols.split(", ") {
            // The notation reads `lb` as a force; the mass is `lbm`.
            let symbol = if symbol == "lb" { "lbm" } else { symbol };
            let unit = parse_unit(symbol).unwrap_or_else(|error| panic!("{symbol}: {error:?}"));
            assert!(agrees(&unit.factor, factor), "{symbol}: {:?} against {factor}", unit.factor);
            met += 1;
        }
    }
    assert!(met >= 60, "only {met} units were compared");
}

/// Words that the list leaves out, by words that it has: SI prefixes (BIPM SI
/// Brochure), and abbreviations of runs, common practice.
const COMPOSED: &[(&str, &str, &str)] = &[
    ("dm", "0.1", "m"),
    ("um", "0.001", "mm"),
    ("µm", "0.001", "mm"),
    ("μm", "0.001", "mm"),
    ("daN", "10", "N"),
    ("GN", "1000", "MN"),
    ("kips", "1000", "lbf"),
    ("Nm", "1", "N*m"),
    ("Nmm", "1", "N*mm"),
    ("kNm", "1", "kN*m"),
    ("kNmm", "1", "kN*mm"),
    ("MNm", "1", "MN*m"),
    ("plf", "1", "lbf/ft"),
    ("klf", "1", "kip/ft"),
    ("pli", "1", "lbf/in"),
    ("kli", "1", "kip/in"),
    ("pcf", "1", "lbf/ft^3"),
    ("kcf", "1", "kip/ft^3"),
    ("pci", "1", "lbf/in^3"),
    ("mrad", "0.001", "rad"),
    ("deg", "1", "°"),
];

/// The base units of the table.
const BASE: [&str; 2] = ["s", "rad"];

#[test]
fn every_word_of_the_table_is_in_the_list_or_made_of_words_that_are() {
    let list: Value = serde_json::from_str(include_str!("../data/units.json")).unwrap();
    let listed: Vec<&str> = list["units"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|entry| entry["symbol"].as_str().unwrap().split(", "))
        .collect();
    for word in TABLE.iter().map(|entry| entry.symbol) {
        // The list calls the mass `lb`.
        let known = listed.contains(&word) || BASE.contains(&word) || word == "lbm";
        assert!(known || COMPOSED.iter().any(|(composed, ..)| *composed == word), "{word} has no published factor");
    }
    for (word, times, run) in COMPOSED {
        let (unit, made) = (parse_unit(word).unwrap(), parse_unit(run).unwrap());
        assert_eq!(unit.dimension, made.dimension, "{word}");
        assert_eq!(unit.factor, Number::parse_decimal(times).unwrap().times(&made.factor), "{word}");
    }
}

/// Exactly, where the list writes the factor out; to its last figure where it
/// rounds.
fn agrees(found: &Number, published: &str) -> bool {
    let published = published.split(" = ").next().unwrap();
    if let Some(part) = published.strip_prefix("π/") {
        return *found == Number::PI.over(&Number::parse_decimal(part).unwrap()).unwrap();
    }
    if let Some((above, below)) = published.split_once('/') {
        let above = Number::parse_decimal(above).unwrap();
        return *found == above.over(&Number::parse_decimal(below).unwrap()).unwrap();
    }
    let written = Number::parse_decimal(&published.replace("E+", "e").replace('E', "e")).unwrap();
    let is_rounded = published.len() >= 40;
    let off = found.minus(&written).over(found).unwrap().abs();
    if is_rounded { off.to_f64() < 1e-38 } else { off.is_zero() }
}
