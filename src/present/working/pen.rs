//! How numbers, names and directions are written in a worked solution.
//!
//! Every printed figure comes from a full-precision value.
//!
//! Must not know: equilibrium, in which order anything is solved.

use std::ops::Deref;

use crate::base::{JointId, MemberId, SupportId};
use crate::present::document::{Align, Block, Formula, Inline, Line, Sign, Step, Table, TableColumn, words};
use crate::present::results::tables;
use crate::present::results::words::arrow;
use crate::quantity::format::with_symbol;
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::solution::part::{Centre, Name, Place, Sum};
use crate::solution::problem::{Direction, Problem, Slope};
use crate::statics::{Component, End, Unknown};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

/// Writes numbers, units and names of one problem.
pub struct Pen<'a> {
    problem: Problem<'a>,
    pub force: NamedUnit,
    pub length: NamedUnit,
    pub moment: NamedUnit,
    pub line_load: NamedUnit,
    units: UnitSystem,
    names: NameStyle,
    pub conventions: Conventions,
}

/// Whether the page has its sign conventions yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Conventions {
    ToState,
    Stated,
}

/// How two joint names make one subscript.
#[derive(Clone, Copy, PartialEq, Eq)]
enum NameStyle {
    /// `F_AB`, `F_L0U1`: capital, then digits.
    Joined,
    /// `F_mast,foot`
    Apart,
}

impl<'a> Deref for Pen<'a> {
    type Target = Problem<'a>;

    fn deref(&self) -> &Problem<'a> {
        &self.problem
    }
}

impl<'a> Pen<'a> {
    /// `largest` is the largest force in play, newtons.
    pub fn new(structure: &'a Structure, largest: f64) -> Pen<'a> {
        let units = structure.units.clone().unwrap_or_else(UnitSystem::si);
        let is_short = |name: &str| {
            let mut letters = name.chars();
            letters.next().is_some_and(char::is_uppercase) && letters.all(|c| c.is_ascii_digit() || c == '_')
        };
        let all_short = structure.joints.ids().all(|joint| is_short(structure.joint_name(joint)));
        Pen {
            problem: Problem::new(structure, largest),
            force: units.display_unit(Dimension::FORCE),
            length: units.display_unit(Dimension::LENGTH),
            moment: units.display_unit(Dimension::MOMENT),
            line_load: units.display_unit(Dimension::LINE_LOAD),
            units,
            names: if all_short { NameStyle::Joined } else { NameStyle::Apart },
            conventions: Conventions::ToState,
        }
    }

    pub fn unit(&self, dimension: Dimension) -> NamedUnit {
        self.units.display_unit(dimension)
    }

    /// Displacements are written in the file's own unit for them.
    pub fn deflection(&self) -> &NamedUnit {
        &self.units.deflection
    }

    /// A result's digits.
    pub fn figures(&self, value: f64) -> String {
        self.structure.figures.result(value)
    }

    /// A result in a unit by its symbol, which a zero does without.
    pub fn number(&self, value: f64, unit: String) -> Formula {
        with_unit(self.figures(value), unit)
    }

    /// A result in any unit, from SI.
    pub fn result(&self, value: f64, unit: &NamedUnit) -> Formula {
        self.number(unit.convert(value), unit.symbol.clone())
    }

    /// A given value in any unit, from SI.
    pub fn given(&self, value: f64, unit: &NamedUnit) -> Formula {
        with_unit(self.structure.figures.given(unit.convert(value)), unit.symbol.clone())
    }

    pub fn force(&self, newtons: f64) -> Formula {
        self.result(self.quiet(newtons), &self.force)
    }

    pub fn moment(&self, newton_metres: f64) -> Formula {
        self.result(self.quiet_moment(newton_metres), &self.moment)
    }

    pub fn length(&self, metres: f64) -> Formula {
        self.given(metres, &self.length)
    }

    /// The size of a ratio by which results are multiplied: a cosine, a share.
    pub fn ratio(&self, value: f64) -> Formula {
        Formula::Number { digits: self.structure.figures.ratio(value.abs()), unit: String::new() }
    }

    /// A point's name: its joint's, or a letter that is no joint's.
    pub fn centre(&self, centre: Centre) -> String {
        let is_free = |letter: &&str| self.structure.joints.ids().all(|joint| self.joint(joint) != *letter);
        let letter = || ["O", "P", "Q", "S", "Z"].into_iter().find(is_free).unwrap_or("O′");
        match centre {
            Centre::Joint(joint) => self.joint(joint).to_owned(),
            Centre::Free => letter().to_owned(),
            Centre::SecondFree => format!("{}′", letter()),
        }
    }

    /// The same with where it is, unless it is a joint.
    pub fn centre_at(&self, centre: Centre, at: [f64; 2]) -> String {
        let name = self.centre(centre);
        if matches!(centre, Centre::Joint(_)) { name } else { format!("{name} {}", self.point(at)) }
    }

    /// `ΣF_x`, `ΣM_A`
    pub fn sum(&self, sum: &Sum) -> Formula {
        match sum {
            Sum::Along([_, 0.0]) => symbol("ΣF", "x"),
            Sum::Along([0.0, _]) => symbol("ΣF", "y"),
            Sum::Along(_) => symbol("ΣF", "⊥"),
            Sum::About(_, centre) => symbol("ΣM", self.centre(*centre)),
        }
    }

    /// `at D`, `on S-C, 1.2 m from S`
    pub fn place(&self, place: Place) -> String {
        match place {
            Place::Joint(joint) => format!("at {}", self.joint(joint)),
            Place::Along(member, at) => {
                let (name, start) = (self.structure.member_name(member), self.structure.members[member].start);
                format!("on {name}, {} from {}", plain(&self.length(at)), self.joint(start))
            }
        }
    }

    /// `A_x`, `F_AB`
    pub fn unknown(&self, name: Name) -> Formula {
        match name {
            Name::Reaction(support, component) => self.reaction(support, component),
            Name::Hinge(joint, axis, marks) => {
                let letter = format!("{}{}", self.joint(joint), "′".repeat(marks));
                symbol(letter, if axis == Component::X { "x" } else { "y" })
            }
            Name::Bar(member) => self.bar_force(member),
        }
    }

    /// `A_x`, `M_A`, `R_A`
    pub fn reaction(&self, support: SupportId, component: Component) -> Formula {
        let support = &self.structure.supports[support];
        let joint = self.joint(support.joint);
        let [x, y] = support.unit(component);
        match component {
            Component::Turn => symbol("M", joint),
            _ if y == 0.0 => symbol(joint, "x"),
            _ if x == 0.0 => symbol(joint, "y"),
            _ => symbol("R", joint),
        }
    }

    /// An unknown of the equations: `N_AB`, `M_B,A`, `A_x`.
    pub fn column(&self, unknown: Unknown) -> Formula {
        match unknown {
            Unknown::Axial(member) => match self.bar_force(member) {
                Formula::Symbol { subscript, .. } if self.is_beam(member) => symbol("N", subscript),
                other => other,
            },
            Unknown::EndMoment(member, end) => {
                let ends = &self.structure.members[member];
                let (here, there) = if end == End::Start { (ends.start, ends.end) } else { (ends.end, ends.start) };
                symbol("M", format!("{},{}", self.joint(here), self.joint(there)))
            }
            Unknown::Reaction(support, component) => self.reaction(support, component),
        }
    }

    pub fn is_beam(&self, member: MemberId) -> bool {
        self.structure.members[member].kind == MemberKind::Beam
    }

    /// A value of an unknown.
    pub fn value(&self, name: Name, value: f64) -> Formula {
        if name.is_couple() { self.moment(value) } else { self.force(value) }
    }

    /// What the value of a result means: its direction, `tension`, or of a
    /// negative one its magnitude and direction: `(265 lbf ←)`.
    pub fn meaning(&self, name: Name, value: f64, direction: Option<Direction>) -> Line {
        let [x, y] = direction.map_or([0.0; 2], |direction| direction.unit);
        let arrow = match name {
            _ if value == 0.0 => return Vec::new(),
            Name::Bar(_) => return words(if value > 0.0 { "tension" } else { "compression" }),
            _ if name.is_couple() => turn_arrow(self.structure.turning(value)),
            _ => arrow([x * value.signum(), y * value.signum()]),
        };
        words(if value > 0.0 { arrow.to_owned() } else { format!("({} {arrow})", plain(&self.value(name, -value))) })
    }

    pub fn joint(&self, joint: JointId) -> &'a str {
        self.structure.joint_name(joint)
    }

    /// `F_AB`
    pub fn bar_force(&self, member: MemberId) -> Formula {
        let member = &self.structure.members[member];
        let comma = if self.names == NameStyle::Joined { "" } else { "," };
        symbol("F", format!("{}{comma}{}", self.joint(member.start), self.joint(member.end)))
    }

    /// `(3, 4.5) ft`
    pub fn point(&self, [x, y]: [f64; 2]) -> String {
        let [x, y] = [x, y]
            .map(|part| self.structure.figures.given(self.length.convert(self.quiet_length(part))).replace('-', "−"));
        with_symbol(&format!("({x}, {y})"), &self.length.symbol)
    }

    /// How a direction's cosines are written, without their signs; `None`
    /// where they are 0 and ±1.
    pub fn cosines(&self, direction: Direction) -> Option<[Formula; 2]> {
        match direction.slope {
            Slope::Axis => None,
            Slope::Whole(across, up) => {
                let below = hypotenuse(across, up);
                Some([across, up].map(|leg| over(whole(leg), below.clone())))
            }
            Slope::Any => Some(direction.unit.map(|part| self.ratio(part))),
        }
    }
}

fn with_unit(digits: String, unit: String) -> Formula {
    let unit = if digits == "0" { String::new() } else { unit };
    Formula::Number { digits, unit }
}

/// `5` for 3 and 4, else `√13`.
fn hypotenuse(across: i64, up: i64) -> Formula {
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
    Step { label, sides, remark }
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

/// One over the other.
pub fn over(above: Formula, below: Formula) -> Formula {
    Formula::Fraction(Box::new(above), Box::new(below))
}

pub fn power(base: Formula, exponent: i32) -> Formula {
    Formula::Power(Box::new(base), exponent)
}

/// A number without its unit, where the column's heading gives it.
pub fn unitless(formula: Formula) -> Formula {
    match formula {
        Formula::Number { digits, .. } => Formula::Number { digits, unit: String::new() },
        other => other,
    }
}

/// A number with its unit as words.
pub fn plain(formula: &Formula) -> String {
    match formula {
        Formula::Number { digits, unit } => with_symbol(digits, unit),
        _ => String::new(),
    }
}

/// With its sign in front.
pub fn signed(value: f64, formula: Formula) -> (Sign, Formula) {
    (if value < 0.0 { Sign::Minus } else { Sign::Plus }, formula)
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

/// Words with formulae among them in braces: `{δ_ij} is the displacement at {X_i}`,
/// `{N_i × L / EA}`.
pub fn told(text: &str) -> Line {
    let factor = |factor: &str| match factor.split_once('_') {
        Some((letter, subscript)) => symbol(letter, subscript),
        None if factor.chars().all(|c| c.is_ascii_digit()) => {
            Formula::Number { digits: factor.to_owned(), unit: String::new() }
        }
        None => symbol(factor, ""),
    };
    let factors = |text: &str| product(text.split(" × ").map(factor).collect());
    let piece = |(index, piece): (usize, &str)| match piece.split_once(" / ") {
        _ if index % 2 == 0 => say(piece),
        Some((above, below)) => formula(over(factors(above), factors(below))),
        None => formula(factors(piece)),
    };
    let pieces = text.split(['{', '}']).enumerate().filter(|(index, piece)| index % 2 == 1 || !piece.is_empty());
    pieces.map(piece).collect()
}

/// Things that are alike once, with the names of all, in the order of the first.
pub fn alike<T: PartialEq>(named: impl IntoIterator<Item = (String, T)>) -> Vec<(Vec<String>, T)> {
    let mut found: Vec<(Vec<String>, T)> = Vec::new();
    for (name, thing) in named {
        match found.iter_mut().find(|(_, known)| *known == thing) {
            Some((names, _)) => names.push(name),
            None => found.push((vec![name], thing)),
        }
    }
    found
}

/// What stands before the item of a list: a comma, or the last `and`.
pub const fn between(index: usize, count: usize) -> &'static str {
    match index {
        0 => "",
        index if index + 1 == count => " and ",
        _ => ", ",
    }
}

/// A page that is being written.
#[derive(Default)]
pub struct Page {
    pub blocks: Vec<Block>,
    /// Whether a negative result, and what its sign means, is on the page.
    pub has_negative: bool,
}

impl Page {
    pub fn heading(&mut self, level: u8, text: impl Into<String>) {
        self.blocks.push(Block::Heading { level, text: words(text) });
    }

    pub fn say(&mut self, text: impl Into<String>) {
        self.line(words(text));
    }

    pub fn line(&mut self, line: Line) {
        self.blocks.push(Block::Paragraph(line));
    }

    pub fn list(&mut self, items: Vec<Line>) {
        self.blocks.push(Block::List(items));
    }

    pub fn working(&mut self, steps: Vec<Step>) {
        self.blocks.push(Block::Working(steps));
    }

    pub fn table(&mut self, table: Table) {
        self.blocks.push(Block::Table(table));
    }

    /// A table of results.
    pub fn results(&mut self, table: Option<tables::Table>) {
        self.blocks.extend(table.map(|table| {
            let mut table = set(table);
            for inline in table.rows.iter_mut().flatten().flatten() {
                if let Inline::Words(text) = inline {
                    *text = text.replacen('-', "−", usize::from(text.starts_with('-')));
                }
            }
            Block::Table(table)
        }));
    }
}

/// A column's heading in words.
pub fn column(heading: impl Into<String>, align: Align) -> TableColumn {
    TableColumn { heading: words(heading), align }
}

/// A table of results as one of a page, where all numbers stand on their points.
pub fn set(table: tables::Table) -> Table {
    let mut rows = vec![Vec::new(); table.columns.first().map_or(0, |column| column.cells.len())];
    let mut columns = Vec::new();
    for own in table.columns {
        let align = if own.align == Align::Left { Align::Left } else { Align::Point };
        columns.push(column(own.heading(), align));
        rows.iter_mut().zip(own.cells).for_each(|(row, cell)| row.push(words(cell.trim())));
    }
    Table { caption: words(table.caption), columns, rows, foot: Vec::new() }
}

/// A table without a caption and without a foot.
pub fn table(columns: Vec<TableColumn>, rows: Vec<Vec<Line>>) -> Table {
    Table { columns, rows, ..Table::default() }
}
