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

impl UnitSystem {
    /// Metres and newtons: what results are shown in where a file names no
    /// units.
    pub fn si() -> UnitSystem {
        let unit =
            |symbol: &str, dimension| NamedUnit::new(symbol, Unit { factor: Number::ONE, dimension, ..Unit::ONE });
        let length = unit("m", Dimension::LENGTH);
        UnitSystem { deflection: length.clone(), length, force: unit("N", Dimension::FORCE) }
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
