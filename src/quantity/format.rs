//! Numbers for people: significant figures, columns that line up on the
//! decimal point, units.
//!
//! A number printed here can be written into a claim as it stands. The
//! notation takes a number written to n figures as right to half a unit of its
//! last figure, so figures before the point are never rounded away: 123456 to
//! four figures is `123456`, not `123500`.
//!
//! Must not know: what is being printed.

use crate::base::tolerances::{ROUNDED, SAME, ZERO_SHARE};

use super::dimension::Dimension;
use super::number::Number;
use super::rational::Rational;
use super::unit_system::{NamedUnit, UnitSystem};
use super::units::Unit;
use super::value::Quantity;

/// The most significant figures a page prints.
pub const MOST_FIGURES: usize = 12;

/// Given values of more figures than this are rounded like results.
const MOST_GIVEN_FIGURES: usize = 5;

/// Sizes outside these are written with a power of ten.
const ORDINARY: std::ops::Range<f64> = 1e-5..1e15;

/// How numbers are rounded on every page for people.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Figures(Option<usize>);

impl Figures {
    /// So many significant figures, 1 to [`MOST_FIGURES`]; without a number
    /// three, four where the first is 1 (the practice of the textbooks).
    pub const fn new(stated: Option<usize>) -> Figures {
        Figures(stated)
    }

    pub const fn stated(self) -> Option<usize> {
        self.0
    }

    /// A result's digits; figures before the point are never rounded away.
    pub fn result(self, value: f64) -> String {
        // A half goes up, on whichever side of it rounding has left a value.
        let least = i32::try_from(self.0.unwrap_or(4)).unwrap_or(0) + 2;
        let value = value * (1.0 + 10_f64.powi(-least.max(12)));
        let begins_with_one = || format!("{:.2e}", value.abs()).starts_with('1');
        significant(value, self.0.unwrap_or_else(|| if begins_with_one() { 4 } else { 3 }))
    }

    /// A given value's digits: as it was given where that is short.
    pub fn given(self, value: f64) -> String {
        let short = trimmed(value, MOST_GIVEN_FIGURES.max(self.0.unwrap_or(0)));
        let is_same = short.parse::<f64>().is_ok_and(|read| (read - value).abs() <= ROUNDED * value.abs());
        if is_same { short } else { self.result(value) }
    }

    /// A ratio by which results are multiplied: with a figure more, so that it
    /// does not spoil theirs.
    pub fn ratio(self, value: f64) -> String {
        significant(value, self.0.unwrap_or(3) + 1)
    }

    /// An angle in degrees, of which sines and cosines are taken.
    pub fn angle(self, degrees: f64) -> String {
        let figures = MOST_GIVEN_FIGURES.max(self.0.unwrap_or(0) + 2);
        let short = trimmed(degrees, figures);
        let is_same = short.parse::<f64>().is_ok_and(|read| (read - degrees).abs() < SAME);
        if is_same { short } else { significant(degrees, figures) }
    }
}

/// At least `figures` significant figures, trailing zeros kept: `65.90`,
/// `0.001230`, `123456`, `0`; `1.230e-9` and `1.230e21` outside ordinary
/// sizes; `undefined` for a NaN. Never `-0`.
pub fn significant(value: f64, figures: usize) -> String {
    if value.is_nan() {
        return "undefined".to_owned();
    }
    if value.is_infinite() {
        return if value > 0.0 { "∞".to_owned() } else { "-∞".to_owned() };
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    if ORDINARY.contains(&value.abs()) {
        format!("{value:.*}", decimals_for(value, figures))
    } else {
        format!("{value:.*e}", figures.max(1) - 1)
    }
}

/// [`significant`] without trailing zeros after the point: `65.9`, `12`.
pub fn trimmed(value: f64, figures: usize) -> String {
    let text = significant(value, figures);
    let (mantissa, exponent) = text.find('e').map_or((text.as_str(), ""), |at| text.split_at(at));
    if !mantissa.contains('.') {
        return text;
    }
    format!("{}{exponent}", mantissa.trim_end_matches('0').trim_end_matches('.'))
}

/// A size of which only the order counts: `3.2e8`.
pub fn rough(value: f64) -> String {
    format!("{value:.1e}")
}

/// The decimals that give `value` so many significant figures after rounding.
fn decimals_for(value: f64, figures: usize) -> usize {
    let last = figures.max(1) - 1;
    let exponent = exponent_of(value, last);
    if exponent < 0 {
        last.saturating_add(exponent.unsigned_abs())
    } else {
        last.saturating_sub(exponent.unsigned_abs())
    }
}

/// The power of ten of the first figure, once rounded to `last` figures more.
fn exponent_of(value: f64, last: usize) -> isize {
    let text = format!("{value:.last$e}");
    text.rsplit('e').next().and_then(|exponent| exponent.parse().ok()).unwrap_or(0)
}

/// A number and its unit's symbol, with a space unless the symbol is `°`.
pub fn with_symbol(number: &str, symbol: &str) -> String {
    let space = if symbol.is_empty() || symbol == "°" { "" } else { " " };
    format!("{number}{space}{symbol}")
}

impl NamedUnit {
    /// A result: `65.9 kN`, from newtons.
    pub fn show(&self, si: f64, figures: Figures) -> String {
        with_symbol(&figures.result(self.convert(si)), &self.symbol)
    }

    /// A given value: `12 kN`.
    pub fn show_given(&self, si: f64, figures: Figures) -> String {
        with_symbol(&figures.given(self.convert(si)), &self.symbol)
    }

    /// So many of this unit, from m, N, s, K, rad.
    pub fn convert(&self, si: f64) -> f64 {
        si / self.unit.factor.to_f64()
    }
}

impl UnitSystem {
    /// A given quantity as it would be written in this file: exactly where it
    /// is a short decimal in the file's unit (`4.5 m`), else to four figures;
    /// angles in degrees.
    pub fn show(&self, quantity: &Quantity) -> String {
        let unit = self.display_unit(quantity.dimension);
        let in_unit = quantity.value.over(&unit.unit.factor).unwrap_or(Number::ZERO);
        with_symbol(&decimal(&in_unit), &unit.symbol)
    }

    /// The unit a dimension is shown in: degrees for angles, the file's or a
    /// derived unit, base units where time is involved.
    pub fn display_unit(&self, dimension: Dimension) -> NamedUnit {
        if dimension == Dimension::ANGLE {
            let unit = Unit { factor: Number::PI.times(&Number::ratio(1, 180)), dimension, ..Unit::ONE };
            return NamedUnit { symbol: "°".to_owned(), unit };
        }
        self.unit_for(dimension).unwrap_or_else(|| {
            let symbol = match dimension {
                Dimension::MASS => "kg".to_owned(),
                Dimension::MASS_PER_LENGTH => "kg/m".to_owned(),
                Dimension::DENSITY => "kg/m³".to_owned(),
                other => UnitSystem::si().symbol_for(other),
            };
            NamedUnit { symbol, unit: Unit { factor: Number::ONE, dimension, ..Unit::ONE } }
        })
    }
}

/// A given number: exactly where that takes at most six decimals and nine
/// figures before the point, else rounded to four figures.
pub fn decimal(number: &Number) -> String {
    const MILLION: Rational = Rational::from_integer(1_000_000);
    const LARGEST: Rational = Rational::from_integer(1_000_000_000);
    match number {
        Number::Exact(value) if value.abs() < LARGEST && value.times(&MILLION).as_integer().is_some() => {
            trimmed(value.to_f64(), 15)
        }
        _ => trimmed(number.to_f64(), 4),
    }
}

/// How the numbers of one column are printed: each rounded as everywhere, and
/// `0` where it is noise beside the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    figures: Figures,
    /// Sizes up to this are noise.
    noise: f64,
}

impl Column {
    /// For these numbers. `scale` is the size of the largest such number in the
    /// whole result, by which noise is told from numbers; the column's own is
    /// used where it is larger.
    pub fn of(values: &[f64], figures: Figures, scale: f64) -> Column {
        let largest = values.iter().map(|value| value.abs()).filter(|size| size.is_finite()).fold(0.0, f64::max);
        let noise = ZERO_SHARE * largest.max(if scale.is_finite() { scale.abs() } else { 0.0 });
        Column { figures, noise }
    }

    /// One number of the column, not yet padded.
    pub fn cell(&self, value: f64) -> String {
        if value.abs() <= self.noise { "0".to_owned() } else { self.figures.result(value) }
    }
}

/// Pads numbers so that their decimal points stand in line.
pub fn line_up(cells: &[String]) -> Vec<String> {
    let split: Vec<(usize, usize)> = cells
        .iter()
        .map(|cell| {
            let width = cell.chars().count();
            let before = cell.chars().position(|c| c == '.' || c == 'e').unwrap_or(width);
            (before, width - before)
        })
        .collect();
    let before = split.iter().map(|(before, _)| *before).max().unwrap_or(0);
    let after = split.iter().map(|(_, after)| *after).max().unwrap_or(0);
    let pad = |(cell, (own_before, own_after)): (&String, &(usize, usize))| {
        format!("{}{cell}{}", " ".repeat(before - own_before), " ".repeat(after - own_after))
    };
    cells.iter().zip(&split).map(pad).collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::parse_unit;
    use proptest::prelude::*;

    fn roof_units() -> UnitSystem {
        let named = |symbol: &str| NamedUnit::new(symbol, parse_unit(symbol).unwrap());
        UnitSystem { length: named("m"), force: named("kN"), deflection: named("mm") }
    }

    #[test]
    fn figures_are_kept_and_never_rounded_away_before_the_point() {
        let four = |value| significant(value, 4);
        assert_eq!(four(65.9), "65.90");
        assert_eq!(four(65.904), "65.90");
        assert_eq!(four(999.96), "1000");
        assert_eq!(four(123456.4), "123456");
        assert_eq!(four(0.00123), "0.001230");
        assert_eq!(four(-0.5), "-0.5000");
        assert_eq!(four(0.0), "0");
        assert_eq!(four(-0.0), "0");
        assert_eq!(four(1.23e-9), "1.230e-9");
        assert_eq!(four(-1.23e21), "-1.230e21");
        assert_eq!(four(f64::NAN), "undefined");
        assert_eq!(four(f64::NEG_INFINITY), "-∞");
        assert_eq!(significant(7.25, 0), "7");
        assert_eq!(trimmed(65.9, 4), "65.9");
        assert_eq!(trimmed(1200.0, 2), "1200");
        assert_eq!(trimmed(1.5e-9, 4), "1.5e-9");
        assert_eq!(trimmed(12.0, 4), "12");
    }

    #[test]
    fn values_are_shown_in_the_files_units() {
        let units = roof_units();
        assert_eq!(units.force.show(65_904.0, Figures::default()), "65.9 kN");
        assert_eq!(units.deflection.show(-0.00225, Figures::default()), "-2.25 mm");
        assert_eq!(units.unit_for(Dimension::MOMENT).unwrap().show(12_345.6, Figures::default()), "12.35 kN·m");
        let show = |number: &str, unit: &str| {
            let unit = parse_unit(unit).unwrap();
            units.show(&Quantity::new(Number::parse_decimal(number).unwrap().times(&unit.factor), unit.dimension))
        };
        assert_eq!(show("12", "kN"), "12 kN");
        assert_eq!(show("4.5", "ft"), "1.3716 m");
        assert_eq!(show("12.345678", "ft"), "3.763 m");
        assert_eq!(show("40", "deg"), "40°");
        assert_eq!(show("1", "rad"), "57.3°");
        assert_eq!(show("75", "kg"), "75 kg");
        assert_eq!(show("7", "kN/m^3"), "7 kN/m³");
        assert_eq!(show("6.5e-6", "per K"), "6.5e-6 per K");
        assert_eq!(show("9.81", "m/s^2"), "9.81 m/s²");
    }

    #[test]
    fn results_are_rounded_as_textbooks_do_unless_the_file_states_figures() {
        let usual = Figures::default();
        let shown = |values: &[f64]| values.iter().map(|value| usual.result(*value)).collect::<Vec<_>>();
        assert_eq!(
            shown(&[65.904, -32.4, 13.2, 0.1994, 1260.4, 0.0]),
            ["65.9", "-32.4", "13.20", "0.1994", "1260", "0"]
        );
        // A half goes up, on whichever side of it rounding has left a value.
        assert_eq!(shown(&[20.25, 2.345, 2.345 * (1.0 - 1e-15)]), ["20.3", "2.35", "2.35"]);
        assert_eq!(Figures::new(Some(12)).result(8.999_999_999_994_9), "8.99999999999");
        assert_eq!(Figures::new(Some(2)).result(13.2), "13");
        assert_eq!([usual.given(13.2), usual.given(1.0 / 3.0), usual.given(4.572)], ["13.2", "0.333", "4.572"]);
        assert_eq!([usual.ratio(0.5), Figures::new(Some(9)).ratio(0.5)], ["0.5000", "0.5000000000"]);
        assert_eq!([usual.angle(40.0), usual.angle(36.869_897_645_8)], ["40", "36.870"]);
    }

    #[test]
    fn a_column_tells_noise_from_numbers() {
        let values = [1260.0, -331.7, 0.0, -0.03, 1e-13];
        let column = Column::of(&values, Figures::default(), 0.0);
        assert_eq!(values.map(|value| column.cell(value)), ["1260", "-332", "0", "-0.0300", "0"]);
        assert_eq!(Column::of(&[1e-13], Figures::default(), 1e5).cell(1e-13), "0");
    }

    proptest! {
        #[test]
        fn what_is_printed_is_near_and_has_no_signed_zero(value in any::<f64>(), figures in 1usize..12) {
            let text = significant(value, figures);
            prop_assert!(text != "-0");
            if let Ok(read) = text.parse::<f64>() {
                // Rounded up, the largest doubles are beyond what a double can be.
                let exact = value.is_nan() || value == 0.0 || value.abs() > 9e307;
                prop_assert!(exact || ((read - value) / value).abs() <= 0.51 * 10f64.powi(1 - figures as i32), "{}", text);
            }
        }

        #[test]
        fn what_is_rounded_is_near(value in -1e9..1e9f64, figures in 1usize..=MOST_FIGURES) {
            let read: f64 = Figures::new(Some(figures)).result(value).parse().unwrap();
            prop_assert!((read - value).abs() <= 0.5001 * 10f64.powi(1 - figures as i32) * value.abs());
        }
    }
}
