//! Dimensions: what kind of quantity a number measures.
//!
//! Must not know: units, numbers.

use std::fmt;

/// Exponents of length, force, time, temperature and angle.
///
/// Force stands where mass would in the SI, since statics deals in forces;
/// a mass is force · time² / length.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    pub length: i8,
    pub force: i8,
    pub time: i8,
    pub temperature: i8,
    pub angle: i8,
}

impl Dimension {
    pub const PURE: Dimension = Dimension::new(0, 0, 0, 0, 0);
    pub const LENGTH: Dimension = Dimension::new(1, 0, 0, 0, 0);
    pub const FORCE: Dimension = Dimension::new(0, 1, 0, 0, 0);
    pub const TIME: Dimension = Dimension::new(0, 0, 1, 0, 0);
    pub const TEMPERATURE: Dimension = Dimension::new(0, 0, 0, 1, 0);
    pub const ANGLE: Dimension = Dimension::new(0, 0, 0, 0, 1);

    pub const AREA: Dimension = Dimension::new(2, 0, 0, 0, 0);
    pub const VOLUME: Dimension = Dimension::new(3, 0, 0, 0, 0);
    pub const SECOND_MOMENT: Dimension = Dimension::new(4, 0, 0, 0, 0);
    pub const MOMENT: Dimension = Dimension::new(1, 1, 0, 0, 0);
    /// Force per length: a distributed load.
    pub const LINE_LOAD: Dimension = Dimension::new(-1, 1, 0, 0, 0);
    /// Force per length: a spring. The same dimension as a distributed load.
    pub const STIFFNESS: Dimension = Dimension::LINE_LOAD;
    /// Force per area: a pressure, a stress, an elastic modulus.
    pub const PRESSURE: Dimension = Dimension::new(-2, 1, 0, 0, 0);
    /// Force per volume: what a material weighs.
    pub const WEIGHT: Dimension = Dimension::new(-3, 1, 0, 0, 0);
    /// `EI`, force · length².
    pub const BENDING_STIFFNESS: Dimension = Dimension::new(2, 1, 0, 0, 0);
    pub const ROTATIONAL_STIFFNESS: Dimension = Dimension::new(1, 1, 0, 0, -1);
    /// Per kelvin.
    pub const EXPANSION: Dimension = Dimension::new(0, 0, 0, -1, 0);
    pub const ACCELERATION: Dimension = Dimension::new(1, 0, -2, 0, 0);
    pub const MASS: Dimension = Dimension::new(-1, 1, 2, 0, 0);
    pub const MASS_PER_LENGTH: Dimension = Dimension::new(-2, 1, 2, 0, 0);
    pub const DENSITY: Dimension = Dimension::new(-4, 1, 2, 0, 0);

    pub const fn new(length: i8, force: i8, time: i8, temperature: i8, angle: i8) -> Dimension {
        Dimension { length, force, time, temperature, angle }
    }

    pub const fn is_pure(self) -> bool {
        matches!(self, Dimension::PURE)
    }

    /// `None` where an exponent passes ±127.
    pub fn times(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, i8::checked_add)
    }

    /// `None` where an exponent passes ±127.
    pub fn over(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, i8::checked_sub)
    }

    /// `None` where an exponent passes ±127.
    pub fn power(self, exponent: i32) -> Option<Dimension> {
        self.map(|own| i8::try_from(i32::from(own).checked_mul(exponent)?).ok())
    }

    /// The dimension whose `degree`-th power this is, if there is one.
    pub fn root(self, degree: i8) -> Option<Dimension> {
        self.map(|own| (degree > 0 && own % degree == 0).then(|| own / degree))
    }

    fn combine(self, other: Dimension, operation: impl Fn(i8, i8) -> Option<i8>) -> Option<Dimension> {
        Some(Dimension {
            length: operation(self.length, other.length)?,
            force: operation(self.force, other.force)?,
            time: operation(self.time, other.time)?,
            temperature: operation(self.temperature, other.temperature)?,
            angle: operation(self.angle, other.angle)?,
        })
    }

    fn map(self, operation: impl Fn(i8) -> Option<i8>) -> Option<Dimension> {
        self.combine(Dimension::PURE, |own, _| operation(own))
    }

    /// What people call it: `a length`, `a force per length`; by its factors
    /// where it has no name.
    pub fn name(self) -> String {
        NAMES
            .iter()
            .find(|(dimension, _)| *dimension == self)
            .map_or_else(|| format!("a quantity of {self}"), |(_, name)| (*name).to_owned())
    }
}

const NAMES: &[(Dimension, &str)] = &[
    (Dimension::PURE, "a pure number"),
    (Dimension::LENGTH, "a length"),
    (Dimension::FORCE, "a force"),
    (Dimension::TIME, "a time"),
    (Dimension::TEMPERATURE, "a temperature difference"),
    (Dimension::ANGLE, "an angle"),
    (Dimension::AREA, "an area"),
    (Dimension::VOLUME, "a volume"),
    (Dimension::SECOND_MOMENT, "a second moment of area"),
    (Dimension::MOMENT, "a moment"),
    (Dimension::LINE_LOAD, "a force per length"),
    (Dimension::PRESSURE, "a force per area"),
    (Dimension::WEIGHT, "a weight per volume"),
    (Dimension::BENDING_STIFFNESS, "a bending stiffness"),
    (Dimension::ROTATIONAL_STIFFNESS, "a moment per angle"),
    (Dimension::EXPANSION, "a strain per temperature"),
    (Dimension::ACCELERATION, "an acceleration"),
    (Dimension::MASS, "a mass"),
    (Dimension::MASS_PER_LENGTH, "a mass per length"),
    (Dimension::DENSITY, "a mass per volume"),
];

/// The factors: `force·length²/angle`, `1/length`; `1` for a pure number.
impl fmt::Display for Dimension {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let factors = [
            ("force", self.force),
            ("length", self.length),
            ("time", self.time),
            ("temperature", self.temperature),
            ("angle", self.angle),
        ];
        let above: Vec<String> =
            factors.iter().filter(|(_, power)| *power > 0).map(|(name, power)| raised(name, *power)).collect();
        formatter.write_str(&if above.is_empty() { "1".to_owned() } else { above.join("·") })?;
        for (name, power) in factors.iter().filter(|(_, power)| *power < 0) {
            write!(formatter, "/{}", raised(name, *power))?;
        }
        Ok(())
    }
}

/// A symbol with its power's size in superscripts: `m`, `m²`.
pub fn raised(symbol: &str, power: i8) -> String {
    const SUPERSCRIPTS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    if power.unsigned_abs() == 1 {
        return symbol.to_owned();
    }
    let digits = power.unsigned_abs().to_string();
    let raised = digits.bytes().filter_map(|digit| SUPERSCRIPTS.get(usize::from(digit - b'0')));
    symbol.chars().chain(raised.copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dimensions_have_names_or_factors() {
        assert_eq!(Dimension::LENGTH.name(), "a length");
        assert_eq!(Dimension::STIFFNESS.name(), "a force per length");
        assert_eq!(Dimension::new(2, 2, 0, 0, 0).name(), "a quantity of force²·length²");
        assert_eq!(Dimension::new(-2, 1, 0, -1, 0).to_string(), "force/length²/temperature");
        assert_eq!(Dimension::EXPANSION.to_string(), "1/temperature");
        assert_eq!(Dimension::PURE.to_string(), "1");
        assert_eq!(Dimension::new(12, 0, 0, 0, 0).to_string(), "length¹²");
    }

    #[test]
    fn exponents_add_and_never_wrap() {
        assert_eq!(Dimension::FORCE.times(Dimension::LENGTH), Some(Dimension::MOMENT));
        assert_eq!(Dimension::MOMENT.over(Dimension::ANGLE), Some(Dimension::ROTATIONAL_STIFFNESS));
        assert_eq!(Dimension::LENGTH.power(4), Some(Dimension::SECOND_MOMENT));
        assert_eq!(Dimension::SECOND_MOMENT.root(2), Some(Dimension::AREA));
        assert_eq!(Dimension::VOLUME.root(2), None);
        assert_eq!(Dimension::LENGTH.power(128), None);
        assert_eq!(Dimension::AREA.power(i32::MAX), None);
    }
}
