//! The unit table against published factors.
//!
//! The figures of `data/units.json` name their sources: the BIPM SI Brochure,
//! NIST SP 811 (2008) Appendix B, ISO 80000-3 and 80000-4; 1 lbf, the short
//! ton-force and g_n were re-read in a public page, the rest follow exactly
//! from the definitions of the inch, the pound and g_n.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use kingpost::quantity::{Number, is_unit_word, parse_unit};
use serde_json::Value;

/// What the list holds that is no unit of the notation: `%` is a share, a
/// slope is not a unit, `bar` is a member.
const NOT_UNITS: [&str; 3] = ["%", "in 12", "bar"];

#[test]
fn every_published_factor_is_met() {
    let list: Value = serde_json::from_str(include_str!("data/units.json")).unwrap();
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
