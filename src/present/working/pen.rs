//! How numbers, names and directions are written in a worked solution.
//!
//! Every printed figure comes from a full-precision value.
//!
//! Must not know: equilibrium, in which order anything is solved.

use crate::base::{JointId, MemberId};
use crate::present::document::{Formula, Inline, Line, Relation, Side, Sign, Step};
use crate::quantity::format::with_symbol;
use crate::quantity::{Dimension, NamedUnit, Number, UnitSystem};
use crate::structure::Structure;

/// Slopes whose two whole numbers stay below this are written as ratios.
const LARGEST_SLOPE: i64 = 100;

/// What a page is written with.
pub struct Pen<'a> {
    pub structure: &'a Structure,
    pub force: NamedUnit,
    pub length: NamedUnit,
    pub moment: NamedUnit,
    pub line_load: NamedUnit,
    units: UnitSystem,
    names: NameStyle,
    /// Forces (newtons) and moments up to these are zero but for rounding.
    noise: [f64; 2],
    /// Of the structure, metres.
    pub size: f64,
    /// Whether what holds for every case is still to be said.
    pub saying: Saying,
}

/// Whether a page says a thing for the first time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Saying {
    First,
    Again,
}

/// How two joint names make one subscript.
#[derive(Clone, Copy, PartialEq, Eq)]
enum NameStyle {
    /// `F_AB`, `F_L0U1`: capital, then digits.
    Joined,
    /// `F_mast,foot`
    Apart,
}

/// A direction with its cosines as they are written, without their signs.
#[derive(Clone, Debug)]
pub struct Direction {
    /// Of length 1.
    pub unit: [f64; 2],
    /// `None` where the cosine is 0 or ±1.
    pub cosines: Option<[Formula; 2]>,
}

impl<'a> Pen<'a> {
    /// `largest` is the largest force in play, newtons.
    pub fn new(structure: &'a Structure, largest: f64) -> Pen<'a> {
        let units = structure.units.clone().unwrap_or_else(UnitSystem::si);
        let is_short = |name: &str| {
            let mut letters = name.chars();
            letters.next().is_some_and(char::is_uppercase) && letters.all(|c| c.is_ascii_digit() || c == '_')
        };
        let all_short = (0..structure.joints.len()).all(|joint| is_short(structure.joint_name(JointId::new(joint))));
        let size = structure.size();
        let noise = crate::statics::ZERO_SHARE * largest;
        Pen {
            structure,
            force: units.display_unit(Dimension::FORCE),
            length: units.display_unit(Dimension::LENGTH),
            moment: units.display_unit(Dimension::MOMENT),
            line_load: units.display_unit(Dimension::LINE_LOAD),
            units,
            names: if all_short { NameStyle::Joined } else { NameStyle::Apart },
            noise: [noise, noise * size],
            size,
            saying: Saying::First,
        }
    }

    /// The same pen for a later case of a page.
    #[must_use]
    pub fn saying(mut self, saying: Saying) -> Pen<'a> {
        self.saying = saying;
        self
    }

    pub fn unit(&self, dimension: Dimension) -> NamedUnit {
        self.units.display_unit(dimension)
    }

    /// Movements are written in the file's own unit for them.
    pub fn deflection(&self) -> &NamedUnit {
        &self.units.deflection
    }

    /// A result's digits.
    pub fn figures(&self, value: f64) -> String {
        self.structure.figures.result(value)
    }

    fn number(digits: String, unit: &NamedUnit) -> Formula {
        let unit = if digits == "0" { String::new() } else { unit.symbol.clone() };
        Formula::Number { digits, unit }
    }

    /// A result in any unit, from SI.
    pub fn result(&self, value: f64, unit: &NamedUnit) -> Formula {
        Self::number(self.figures(unit.convert(value)), unit)
    }

    /// A given value in any unit, from SI.
    pub fn given(&self, value: f64, unit: &NamedUnit) -> Formula {
        Self::number(self.structure.figures.given(unit.convert(value)), unit)
    }

    pub fn force(&self, newtons: f64) -> Formula {
        self.result(self.quiet(newtons), &self.force)
    }

    pub fn moment(&self, newton_metres: f64) -> Formula {
        let [_, noise] = self.noise;
        let value = if newton_metres.abs() <= noise { 0.0 } else { newton_metres };
        self.result(value, &self.moment)
    }

    pub fn length(&self, metres: f64) -> Formula {
        self.given(metres, &self.length)
    }

    /// The size of a ratio by which results are multiplied: a cosine, a share.
    pub fn ratio(&self, value: f64) -> Formula {
        Formula::Number { digits: self.structure.figures.ratio(value.abs()), unit: String::new() }
    }

    /// Zero where a force is rounding noise.
    pub fn quiet(&self, newtons: f64) -> f64 {
        let [noise, _] = self.noise;
        if newtons.abs() <= noise { 0.0 } else { newtons }
    }

    /// Zero where a moment is rounding noise.
    pub fn quiet_moment(&self, moment: f64) -> f64 {
        let [_, noise] = self.noise;
        if moment.abs() <= noise { 0.0 } else { moment }
    }

    /// Zero where a coordinate differs from another by rounding only.
    pub fn quiet_length(&self, metres: f64) -> f64 {
        if metres.abs() <= 1e-9 * self.size { 0.0 } else { metres }
    }

    /// Whether a letter for a point is no joint's name.
    pub fn is_no_joint(&self, name: &str) -> bool {
        (0..self.structure.joints.len()).all(|joint| self.joint(JointId::new(joint)) != name)
    }

    /// A letter for a point where no joint is.
    pub fn letter(&self) -> &'static str {
        ["O", "P", "Q", "S", "Z"].into_iter().find(|letter| self.is_no_joint(letter)).unwrap_or("O′")
    }

    pub fn joint(&self, joint: JointId) -> &'a str {
        self.structure.joint_name(joint)
    }

    /// `F_AB`
    pub fn bar_force(&self, member: MemberId) -> Formula {
        let Some(member) = self.structure.member(member) else { return symbol("F", "") };
        let comma = if self.names == NameStyle::Joined { "" } else { "," };
        symbol("F", format!("{}{comma}{}", self.joint(member.start), self.joint(member.end)))
    }

    /// `(3, 4.5) ft`
    pub fn point(&self, [x, y]: [f64; 2]) -> String {
        let [x, y] = [x, y]
            .map(|part| self.structure.figures.given(self.length.convert(self.quiet_length(part))).replace('-', "−"));
        with_symbol(&format!("({x}, {y})"), &self.length.symbol)
    }

    /// The direction of a vector, its cosines as ratios of small whole numbers
    /// where it has such a slope.
    pub fn direction(&self, [x, y]: [&Number; 2]) -> Direction {
        let (dx, dy) = (x.to_f64(), y.to_f64());
        let length = dx.hypot(dy);
        let small = x.abs().over(&y.abs()).and_then(|slope| slope.as_small_ratio());
        let whole = small.filter(|(across, up)| (1..LARGEST_SLOPE).contains(across) && *up < LARGEST_SLOPE);
        self.with_slope([dx / length, dy / length], whole)
    }

    /// The same from floating components.
    pub fn direction_of(&self, [dx, dy]: [f64; 2]) -> Direction {
        let length = dx.hypot(dy);
        let unit = [dx / length, dy / length].map(|part| if part.abs() < 1e-12 { 0.0 } else { part });
        let slope = (1..=12_i64).find_map(|up| {
            #[allow(clippy::cast_precision_loss)]
            let across = (dx / dy).abs() * up as f64;
            let near = across.round();
            #[allow(clippy::cast_possible_truncation)]
            let is_whole = (1.0..100.0).contains(&near) && (across - near).abs() < 1e-11 * near;
            #[allow(clippy::cast_possible_truncation)]
            is_whole.then_some((near as i64, up))
        });
        self.with_slope(unit, slope)
    }

    fn with_slope(&self, unit: [f64; 2], slope: Option<(i64, i64)>) -> Direction {
        let [x, y] = unit;
        if x == 0.0 || y == 0.0 {
            return Direction {
                unit: [x.signum() * f64::from(x != 0.0), y.signum() * f64::from(y != 0.0)],
                cosines: None,
            };
        }
        let cosines = match slope {
            Some((across, up)) => {
                let below = hypotenuse(across, up);
                [across, up].map(|leg| Formula::Fraction(Box::new(whole(leg)), Box::new(below.clone())))
            }
            None => [x, y].map(|part| self.ratio(part)),
        };
        Direction { unit, cosines: Some(cosines) }
    }

    /// The direction from one joint to another.
    pub fn between(&self, from: JointId, to: JointId) -> Direction {
        match (self.structure.joint(from), self.structure.joint(to)) {
            (Some(from), Some(to)) => self.direction([&to.x.minus(&from.x), &to.y.minus(&from.y)]),
            _ => Direction { unit: [0.0; 2], cosines: None },
        }
    }

    /// All joints' places, metres.
    pub fn points(&self) -> Vec<[f64; 2]> {
        (0..self.structure.joints.len()).map(|joint| self.at(JointId::new(joint))).collect()
    }

    pub fn at(&self, joint: JointId) -> [f64; 2] {
        self.structure.joint(joint).map_or([0.0; 2], |joint| [joint.x.to_f64(), joint.y.to_f64()])
    }
}

/// `5` for 3 and 4, else `√13`.
pub fn hypotenuse(across: i64, up: i64) -> Formula {
    let square = across * across + up * up;
    let root = square.isqrt();
    if root * root == square { whole(root) } else { Formula::Root(Box::new(whole(square))) }
}

pub fn whole(value: i64) -> Formula {
    Formula::Number { digits: value.to_string(), unit: String::new() }
}

pub fn symbol(letter: impl Into<String>, subscript: impl Into<String>) -> Formula {
    Formula::Symbol { letter: letter.into(), subscript: subscript.into() }
}

pub fn zero() -> Formula {
    whole(0)
}

pub fn formula(formula: Formula) -> Inline {
    Inline::Formula(formula)
}

pub fn say(text: impl Into<String>) -> Inline {
    Inline::Words(text.into())
}

/// One line of a calculation: its sides in order, each equal to the one before.
pub fn equation(label: Line, sides: Vec<Formula>, remark: Line) -> Step {
    let side =
        |(index, formula)| Side { relation: if index == 0 { Relation::First } else { Relation::Equal }, formula };
    Step { label, sides: sides.into_iter().enumerate().map(side).collect(), remark }
}

/// A sum; one plain term stands for itself, none for zero.
pub fn sum(mut terms: Vec<(Sign, Formula)>) -> Formula {
    match terms.as_slice() {
        [] => zero(),
        [(Sign::Plus, _)] => terms.remove(0).1,
        _ => Formula::Sum(terms),
    }
}

/// A product; one factor stands for itself.
pub fn product(mut factors: Vec<Formula>) -> Formula {
    if factors.len() == 1 { factors.remove(0) } else { Formula::Product(factors) }
}

/// With its sign in front.
pub fn signed(value: f64, formula: Formula) -> (Sign, Formula) {
    (if value < 0.0 { Sign::Minus } else { Sign::Plus }, formula)
}

/// The arrow nearest to a direction.
pub fn arrow([x, y]: [f64; 2]) -> &'static str {
    const ARROWS: [&str; 8] = ["→", "↗", "↑", "↖", "←", "↙", "↓", "↘"];
    let eighth = (y.atan2(x) / std::f64::consts::FRAC_PI_4).round();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let index = eighth.rem_euclid(8.0) as usize;
    ARROWS.get(index).copied().unwrap_or("→")
}

/// `↺` or `↻` for a counterclockwise-positive value.
pub const fn turn_arrow(value: f64) -> &'static str {
    if value < 0.0 { "↻" } else { "↺" }
}

/// `A, B and C`
pub fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// `one`, `two` … for counts that stand in sentences.
pub fn count(number: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(number).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}
