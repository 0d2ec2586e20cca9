//! The units of one file (`units m, kN, mm`) and the derived units that go
//! with them.
//!
//! Must not know: the `units` statement itself.

use super::dimension::{Dimension, raised};
use super::number::Number;
use super::units::{Unit, pretty_symbol};

/// A unit with the symbol it is printed by: `kN·m`.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedUnit {
    pub symbol: String,
    pub unit: Unit,
}

/// The units a file writes its bare numbers in, and its results are shown in.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitSystem {
    pub length: NamedUnit,
    pub force: NamedUnit,
    /// For displacements only; the unit of length where the file names none.
    pub deflection: NamedUnit,
}

impl NamedUnit {
    /// A unit under the spelling it was written in.
    pub fn new(spelling: &str, unit: Unit) -> NamedUnit {
        NamedUnit { symbol: pretty_symbol(spelling), unit }
    }
}

/// Whether a unit's word belongs with feet and pounds.
pub fn is_customary(word: &str) -> bool {
    matches!(word, "ft" | "in" | "yd" | "mi" | "lbf" | "lb" | "kip" | "kips")
}

/// `kN*m^2` for `kN·m²`: as it is typed.
fn plain_symbol(symbol: &str) -> String {
    let mut plain = String::with_capacity(symbol.len() + 2);
    for c in symbol.chars() {
        match "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().position(|raised| raised == c) {
            Some(digit) => plain
                .push_str(&format!("{}{digit}", if plain.ends_with(|c: char| c.is_ascii_digit()) { "" } else { "^" })),
            None if c == '·' => plain.push('*'),
            None => plain.push(c),
        }
    }
    plain
}

impl UnitSystem {
    /// Metres and newtons: what results are shown in where a file names no
    /// units.
    pub fn si() -> UnitSystem {
        let unit =
            |symbol: &str, dimension| NamedUnit::new(symbol, Unit { factor: Number::ONE, dimension, ..Unit::ONE });
        let length = unit("m", Dimension::LENGTH);
        UnitSystem { deflection: length.clone(), length, force: unit("N", Dimension::FORCE) }
    }

    /// Metres and kilonewtons: what is offered where a file names no units.
    pub fn metres_and_kilonewtons() -> UnitSystem {
        let kilo = Unit { factor: Number::from_integer(1000), dimension: Dimension::FORCE, ..Unit::ONE };
        UnitSystem { force: NamedUnit::new("kN", kilo), ..UnitSystem::si() }
    }

    /// The unit of displacements, as it is typed.
    pub fn usual_unit_of_movement(&self) -> String {
        plain_symbol(&self.deflection.symbol)
    }

    /// `m and kN`
    pub fn words(&self) -> String {
        format!("{} and {}", self.length.symbol, self.force.symbol)
    }

    /// The unit of a dimension made of the file's length and force, with
    /// kelvin and radian; `None` for one that involves time.
    pub fn unit_for(&self, dimension: Dimension) -> Option<NamedUnit> {
        if dimension == Dimension::LENGTH {
            return Some(self.length.clone());
        }
        if dimension == Dimension::FORCE {
            return Some(self.force.clone());
        }
        if dimension.time != 0 {
            return None;
        }
        let length = self.length.unit.factor.power(dimension.length.into())?;
        let force = self.force.unit.factor.power(dimension.force.into())?;
        let unit = Unit { factor: force.times(&length), dimension, ..Unit::ONE };
        Some(NamedUnit { symbol: self.symbol_for(dimension), unit })
    }

    /// Whether bare lengths and forces are worth the same in both.
    pub fn reads_like(&self, other: &UnitSystem) -> bool {
        self.length.unit == other.length.unit && self.force.unit == other.force.unit
    }

    /// Feet and pounds, or what goes with them.
    pub fn is_customary(&self) -> bool {
        is_customary(&self.length.symbol) || is_customary(&self.force.symbol)
    }

    /// The unit in which a quantity of this kind is usually stated beside these
    /// units, as the notation writes it: `ksi`, `cm^4`, `kN*m`. Empty where
    /// there is none.
    pub fn usual_unit(&self, dimension: Dimension) -> String {
        let customary = self.is_customary();
        let pick = |metric: &str, other: &str| if customary { other } else { metric }.to_owned();
        match dimension {
            Dimension::PRESSURE => pick("GPa", "ksi"),
            Dimension::AREA => pick("cm^2", "in^2"),
            Dimension::SECOND_MOMENT => pick("cm^4", "in^4"),
            Dimension::WEIGHT => pick("kN/m^3", "lbf/ft^3"),
            Dimension::TEMPERATURE => pick("K", "°F"),
            Dimension::EXPANSION => pick("per K", "per °F"),
            other => self.unit_for(other).map_or_else(String::new, |unit| plain_symbol(&unit.symbol)),
        }
    }

    /// `kN·m`, `kN/m²`, `kN·m/rad`, `per K`; empty for a pure number.
    pub(super) fn symbol_for(&self, dimension: Dimension) -> String {
        let factors = [
            (self.force.symbol.as_str(), dimension.force),
            (self.length.symbol.as_str(), dimension.length),
            ("s", dimension.time),
            ("K", dimension.temperature),
            ("rad", dimension.angle),
        ];
        let above: Vec<String> =
            factors.iter().filter(|(_, power)| *power > 0).map(|(symbol, power)| raised(symbol, *power)).collect();
        let below = factors.iter().filter(|(_, power)| *power < 0).map(|(symbol, power)| raised(symbol, *power));
        if above.is_empty() {
            let below: Vec<String> = below.collect();
            return if below.is_empty() { String::new() } else { format!("per {}", below.join("·")) };
        }
        below.fold(above.join("·"), |symbol, below| format!("{symbol}/{below}"))
    }
}
