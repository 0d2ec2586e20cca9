//! Numbers for people: significant figures, columns that line up on the
//! decimal point, units.
//!
//! A number printed here can be written into a claim as it stands. The
//! notation takes a number written to n figures as right to half a unit of its
//! last figure, so figures before the point are never rounded away: 123456 to
//! four figures is `123456`, not `123500`.
//!
//! Must not know: what is being printed.

use super::dimension::Dimension;
use super::number::Number;
use super::rational::Rational;
use super::unit_system::{NamedUnit, UnitSystem};
use super::units::Unit;
use super::value::{Quantity, Value};

/// Figures of results unless asked otherwise.
pub const DEFAULT_FIGURES: usize = 4;

/// Below this share of the largest number beside it a result is rounding
/// noise and printed as `0`: the notation's own measure of `zero`.
pub const NOISE_SHARE: f64 = 1e-9;

/// Sizes outside these are written with a power of ten.
const ORDINARY: std::ops::Range<f64> = 1e-5..1e15;

/// Decimals a column may have beyond what its largest number asks for.
const MOST_EXTRA_DECIMALS: usize = 1;

/// Significant figures every number of a column has: those a claim is held to.
const FEWEST_FIGURES: usize = 3;

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

/// A value in m, N, s, K, rad as so many of a unit: `65.90 kN`, `30.00°`.
pub fn format_in_unit(si: f64, unit: &Unit, symbol: &str, figures: usize) -> String {
    with_symbol(&significant(si / unit.factor.to_f64(), figures), symbol)
}

/// A number and its unit's symbol, with a space unless the symbol is `°`.
pub fn with_symbol(number: &str, symbol: &str) -> String {
    let space = if symbol.is_empty() || symbol == "°" { "" } else { " " };
    format!("{number}{space}{symbol}")
}

impl NamedUnit {
    /// `65.90 kN`, from newtons.
    pub fn show(&self, si: f64, figures: usize) -> String {
        format_in_unit(si, &self.unit, &self.symbol, figures)
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

    /// [`UnitSystem::show`] for any value; a vector as `(25, -90) lbf`.
    pub fn show_value(&self, value: &Value) -> String {
        match value {
            Value::Scalar(quantity) => self.show(quantity),
            Value::Vector(vector) => {
                let unit = self.display_unit(vector.dimension);
                let part = |number: &Number| decimal(&number.over(&unit.unit.factor).unwrap_or(Number::ZERO));
                with_symbol(&format!("({}, {})", part(&vector.x), part(&vector.y)), &unit.symbol)
            }
        }
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
        _ => trimmed(number.to_f64(), DEFAULT_FIGURES),
    }
}

/// How the numbers of one column are printed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    form: Form,
    figures: usize,
    /// Sizes up to this are noise.
    noise: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Form {
    /// One count of decimals, so that the points line up.
    Decimals(usize),
    /// With powers of ten: the largest number is of no ordinary size.
    Powers,
}

impl Column {
    /// For these numbers: the largest shows `figures` figures. Small ones show
    /// three at least, so that a number can be copied into a claim: the whole
    /// column gets one more decimal for them, and a number that needs
    /// more yet has them alone. `scale` is the size
    /// of the largest such number in the whole result, by which noise is told
    /// from numbers; the column's own is used where it is larger.
    pub fn of(values: &[f64], figures: usize, scale: f64) -> Column {
        let sizes = values.iter().map(|value| value.abs()).filter(|size| size.is_finite());
        let largest = sizes.clone().fold(0.0, f64::max);
        let noise = NOISE_SHARE * largest.max(if scale.is_finite() { scale.abs() } else { 0.0 });
        let form = match sizes.filter(|size| *size > noise).min_by(f64::total_cmp) {
            None => Form::Decimals(0),
            Some(_) if !ORDINARY.contains(&largest) => Form::Powers,
            Some(smallest) => {
                let decimals = decimals_for(largest, figures);
                Form::Decimals(
                    decimals_for(smallest, FEWEST_FIGURES.min(figures)).clamp(decimals, decimals + MOST_EXTRA_DECIMALS),
                )
            }
        };
        Column { form, figures, noise }
    }

    /// One number of the column, not yet padded.
    pub fn cell(&self, value: f64) -> String {
        if value.abs() <= self.noise {
            return "0".to_owned();
        }
        match self.form {
            Form::Decimals(decimals) if value.abs() < ORDINARY.end => {
                let few = FEWEST_FIGURES.min(self.figures);
                if decimals_for(value, few) > decimals {
                    significant(value, few)
                } else {
                    format!("{value:.decimals$}")
                }
            }
            _ => significant(value, self.figures),
        }
    }

    /// All cells, padded to one width with their decimal points in line.
    pub fn cells(&self, values: &[f64]) -> Vec<String> {
        line_up(&values.iter().map(|value| self.cell(*value)).collect::<Vec<_>>())
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
    use crate::quantity::{Vector, parse_unit};
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
        assert_eq!(units.force.show(65_904.0, 4), "65.90 kN");
        assert_eq!(units.deflection.show(-0.00125, 3), "-1.25 mm");
        assert_eq!(units.unit_for(Dimension::MOMENT).unwrap().show(12_345.6, 4), "12.35 kN·m");
        let show = |number: &str, unit: &str| {
            units.show(&Quantity::in_unit(&Number::parse_decimal(number).unwrap(), &parse_unit(unit).unwrap()))
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
        let vector = Vector::new(Number::from_integer(25), Number::from_integer(-90), Dimension::FORCE);
        assert_eq!(units.show_value(&vector.into()), "(0.025, -0.09) kN");
    }

    #[test]
    fn columns_line_up_on_the_point() {
        let values = [1260.0, -331.7, 0.0, -0.03, 1e-13, 508.24];
        let column = Column::of(&values, 4, 0.0);
        assert_eq!(
            column.cells(&values),
            ["1260.0   ", "-331.7   ", "   0     ", "  -0.0300", "   0     ", " 508.2   "]
        );
        let plain = [65.904, 12.0, -32.4];
        assert_eq!(Column::of(&plain, 4, 0.0).cells(&plain), [" 65.90", " 12.00", "-32.40"]);
        let noise = [1e-13, -4e-14];
        assert_eq!(Column::of(&noise, 4, 1e5).cells(&noise), ["0", "0"]);
        assert_eq!(Column::of(&[], 4, 0.0).cells(&[]), Vec::<String>::new());
    }

    #[test]
    fn small_numbers_of_a_column_do_not_vanish() {
        let values = [1000.0, 0.0000123];
        assert_eq!(Column::of(&values, 4, 0.0).cells(&values), ["1000.0      ", "   0.0000123"]);
        // What a claim is held to can be copied from the column.
        let small = [-65.9, 0.66, 0.3];
        assert_eq!(Column::of(&small, 4, 0.0).cells(&small), ["-65.900", "  0.660", "  0.300"]);
        let tiny = [1.5e-8, 2e-9];
        assert_eq!(Column::of(&tiny, 4, 0.0).cells(&tiny), ["1.500e-8", "2.000e-9"]);
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
        fn no_cell_of_a_column_vanishes_or_sticks_out(values in prop::collection::vec(prop_oneof![any::<f64>(), -1e4..1e4f64], 0..8), figures in 1usize..9) {
            let column = Column::of(&values, figures, 0.0);
            let cells = column.cells(&values);
            let widths: std::collections::BTreeSet<usize> = cells.iter().map(|cell| cell.chars().count()).collect();
            prop_assert!(widths.len() <= 1);
            for (cell, value) in cells.iter().zip(&values) {
                let read: Result<f64, _> = cell.trim().parse();
                let vanished = read.is_ok_and(|read| read == 0.0);
                prop_assert!(!vanished || value.abs() <= column.noise, "{cell} for {value}");
                prop_assert!(!cell.trim().starts_with("-0") || cell.trim().starts_with("-0."), "{cell}");
            }
        }
    }
}
