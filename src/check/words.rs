//! Phrases that several families of findings share: directions, lists of
//! names, counts, quantities in the file's units.
//!
//! Must not know: findings.

use crate::base::tolerances::{OF_MOTION, ROUNDED, SAME};
use crate::base::{JointId, MemberId, SupportId, TravelId};
use crate::diagnostic::{Cure, CureKind, Diagnostic};
use crate::quantity::{Dimension, NamedUnit, Number, Unit, UnitSystem, format};
use crate::statics::travel::Heading;
use crate::statics::{self, TrainPosition, Verdict};
use crate::structure::{Joint, Structure};

/// Figures of directions and points of the geometry.
const FIGURES: usize = 4;
/// A list of names longer than this is cut.
const MOST_NAMED: usize = 6;

/// The direction of a result, with its angle rounded as results are.
pub fn way(structure: &Structure, vector: [f64; 2]) -> String {
    direction_with(vector, |angle| structure.figures.given(angle))
}

/// `right`, `up`, `30° below left`: a direction of the geometry, any length.
pub fn direction(vector: [f64; 2]) -> String {
    direction_with(vector, |angle| format::trimmed(angle, FIGURES))
}

fn direction_with([x, y]: [f64; 2], degrees: impl Fn(f64) -> String) -> String {
    let size = x.hypot(y);
    let (flat, steep) = (y.abs() < SAME * size, x.abs() < SAME * size);
    let across = if x > 0.0 { "right" } else { "left" };
    let upright = if y > 0.0 { "up" } else { "down" };
    if size == 0.0 {
        "nowhere".to_owned()
    } else if flat {
        across.to_owned()
    } else if steep {
        upright.to_owned()
    } else {
        let angle = y.abs().atan2(x.abs()).to_degrees();
        let side = if y > 0.0 { "above" } else { "below" };
        format!("{}° {side} {across}", degrees(angle))
    }
}

/// `left and right`, `up and down`, `along 30° above right`: a line to move along.
pub fn line([x, y]: [f64; 2]) -> String {
    match axis([x, y]).as_str() {
        "right" => "left and right".to_owned(),
        "up" => "up and down".to_owned(),
        inclined => format!("along {inclined}"),
    }
}

/// A line by its direction to the right: `30° above right`; of an upright one, `up`.
pub fn axis([x, y]: [f64; 2]) -> String {
    let is_upright = x.abs() < SAME * x.hypot(y);
    direction(if is_upright { [0.0, 1.0] } else { [x.abs(), y * x.signum()] })
}

/// `A, B and C`; long lists end in `and 12 more`.
pub fn list(names: &[String]) -> String {
    listed(names.len(), names.iter().cloned())
}

/// The same of so many names, of which only those shown are made.
pub fn listed(total: usize, names: impl Iterator<Item = String>) -> String {
    let shown = if total > MOST_NAMED + 1 { MOST_NAMED } else { total };
    let head: Vec<String> = names.take(shown).collect();
    match (head.as_slice(), total.saturating_sub(shown)) {
        ([], _) => String::new(),
        ([only], 0) => only.clone(),
        ([first @ .., last], 0) => format!("{} and {last}", first.join(", ")),
        (head, more) => format!("{} and {more} more", head.join(", ")),
    }
}

/// Why a result cannot be what happens.
pub const fn impossible(slack: &[MemberId], lifted: &[SupportId]) -> Option<&'static str> {
    match (slack, lifted) {
        ([], []) => None,
        (_, []) => Some("a cable is slack"),
        ([], _) => Some("a roller lifts off"),
        _ => Some("a cable is slack and a roller lifts off"),
    }
}

/// A finding about the structure as a whole, at its first joint.
pub fn at_first_joint(told: Diagnostic, structure: &Structure, text: &str) -> Diagnostic {
    match structure.joints.first() {
        Some(joint) => told.label(joint.origin, text),
        None => told,
    }
}

/// The text with its first letter raised.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

pub fn joints(structure: &Structure, ids: &[JointId]) -> String {
    listed(ids.len(), ids.iter().map(|id| structure.joint_name(*id).to_owned()))
}

pub fn members(structure: &Structure, ids: &[MemberId]) -> String {
    listed(ids.len(), ids.iter().map(|id| structure.member_name(*id)))
}

/// `one`, `two`, … `twelve`, then digits.
pub fn count(number: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(number).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

/// `first`, `second`, … `sixth`, then `7th`.
pub fn ordinal(number: usize) -> String {
    const WORDS: [&str; 6] = ["first", "second", "third", "fourth", "fifth", "sixth"];
    let word = number.checked_sub(1).and_then(|at| WORDS.get(at));
    let ending = match (number % 10, number % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    word.map_or_else(|| format!("{number}{ending}"), |word| (*word).to_owned())
}

/// `one joint`, `three joints`.
pub fn counted(number: usize, noun: &str) -> String {
    format!("{} {noun}{}", count(number), if number == 1 { "" } else { "s" })
}

/// `1 error`, `2 errors`
pub fn plural(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}

/// The file's units, or metres and newtons where it has none.
pub fn units(structure: &Structure) -> UnitSystem {
    structure.units.clone().unwrap_or_else(UnitSystem::si)
}

/// A result in the file's unit of its dimension: `65.9 kN`.
pub fn quantity(structure: &Structure, si: f64, dimension: Dimension) -> String {
    units(structure).display_unit(dimension).show(si, structure.figures)
}

/// The unit in which results of a dimension are told: of a length that of
/// displacements, of an angle radians.
pub fn unit_of(structure: &Structure, dimension: Dimension) -> NamedUnit {
    match dimension {
        Dimension::LENGTH => units(structure).deflection,
        Dimension::ANGLE => NamedUnit::new("rad", Unit { dimension, ..Unit::ONE }),
        other => units(structure).display_unit(other),
    }
}

/// A movement in the file's unit of deflection.
pub fn deflection(structure: &Structure, metres: f64) -> String {
    units(structure).deflection.show(metres, structure.figures)
}

/// A point in the file's length unit: `(3, 4.5) m`.
pub fn point(structure: &Structure, [x, y]: [f64; 2]) -> String {
    let unit = units(structure).length;
    let factor = unit.unit.factor.to_f64();
    // What rounding left of a zero is a zero.
    let least = x.abs().max(y.abs()) * ROUNDED;
    let part = |value: f64| format::trimmed(if value.abs() < least { 0.0 } else { value / factor }, FIGURES);
    format!("({}, {}) {}", part(x), part(y), unit.symbol)
}

/// Whether a joint is at a point that was computed.
pub fn is_at(joint: &Joint, [x, y]: [f64; 2]) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= OF_MOTION * (1.0 + a.abs());
    near(joint.x.to_f64(), x) && near(joint.y.to_f64(), y)
}

/// A joint's name where one is at the point, else its coordinates.
pub fn place(structure: &Structure, [x, y]: [f64; 2]) -> String {
    match structure.joints.iter().find(|joint| is_at(joint, [x, y])) {
        Some(joint) => format!("joint {}", structure.names.get(joint.name)),
        None => format!("the point {}", point(structure, [x, y])),
    }
}

/// `add \`bar P-D\``, yet to be tried.
pub fn cure(structure: &Structure, cure: &statics::Cure) -> Cure {
    let name = |joint: &JointId| structure.joint_name(*joint).to_owned();
    let pushes = |along: &[Number; 2]| direction(along.each_ref().map(|part| part.to_f64()));
    let support =
        |joint: &JointId, line: String, text: String| Cure::new(CureKind::Support(vec![(*joint, line)]), text);
    match cure {
        statics::Cure::Bar(a, b) => Cure::new(CureKind::AddBar(*a, *b), format!("add `bar {}-{}`", name(a), name(b))),
        statics::Cure::RollerToPin { joint, .. } => {
            let name = name(joint);
            support(joint, format!("pin {name}"), format!("make the roller at {name} a `pin {name}`"))
        }
        statics::Cure::TurnedRoller { joint, along } => {
            let (name, pushes) = (name(joint), pushes(along));
            let line = format!("roller {name}: pushes {pushes}");
            let text = format!("let the roller at {name} push {pushes}, `{line}`");
            support(joint, line, text)
        }
        statics::Cure::Roller { joint, along } => {
            let name = name(joint);
            let line = match pushes(along).as_str() {
                "up" => format!("roller {name}"),
                pushes => format!("roller {name}: pushes {pushes}"),
            };
            let text = format!("add `{line}`");
            support(joint, line, text)
        }
    }
}

/// `2.5 m from A`, `at A`
pub fn member_place(structure: &Structure, member: MemberId, at: f64) -> String {
    let (start, end) = (structure.members[member].start, structure.members[member].end);
    let length = structure.member_length(member);
    let near = SAME * length;
    if at <= near {
        format!("at {}", structure.joint_name(start))
    } else if at >= length - near {
        format!("at {}", structure.joint_name(end))
    } else {
        format!("{} from {}", quantity(structure, at, Dimension::LENGTH), structure.joint_name(start))
    }
}

/// `front load 6.25 m from A, running towards D`: where a train stands on its path.
pub fn train(structure: &Structure, travel: TravelId, train: TrainPosition) -> String {
    let stated = &structure.travels[travel];
    let Some([first, last]) = stated.ends(structure) else { return String::new() };
    let whole: f64 = stated.path.iter().map(|(member, _)| structure.member_length(*member)).sum();
    let (first, last) = (structure.joint_name(first), structure.joint_name(last));
    let (front, near) = (train.front, SAME * whole);
    let metres = |length: f64| quantity(structure, length, Dimension::LENGTH);
    // The leading load may have left over a joint the others have yet to reach.
    let has_left = train.on[0] > 0;
    let place = if front.abs() <= near {
        format!("{} {first}", if has_left { "just past" } else { "at" })
    } else if (front - whole).abs() <= near {
        format!("{} {last}", if has_left { "just past" } else { "at" })
    } else if front < 0.0 {
        format!("{} past {first}", metres(-front))
    } else if front > whole {
        format!("{} past {last}", metres(front - whole))
    } else {
        format!("{} from {first}", metres(front))
    };
    if stated.loads.len() == 1 {
        return format!("load {place}");
    }
    let towards = if train.heading == Heading::Onward { last } else { first };
    format!("front load {place}, running towards {towards}")
}

/// Unknowns counted against equations.
pub struct EquationCount {
    /// `m + r = 9 + 3 = 12 against 2j = 12`; with beams, the unknown forces
    /// against the equations.
    pub text: String,
    /// Unknowns too few.
    pub short: usize,
    /// Unknowns too many.
    pub over: usize,
}

pub fn equation_count(verdict: &Verdict) -> EquationCount {
    let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
    let (have, want) = (verdict.rank.columns, verdict.rank.rows);
    let text = if have == m + r + verdict.idle && want == 2 * j + verdict.idle {
        format!("m + r = {m} + {r} = {} against 2j = {}", m + r, 2 * j)
    } else {
        format!("{have} unknown forces and moments against {want} equations of equilibrium")
    };
    EquationCount { text, short: want.saturating_sub(have), over: have.saturating_sub(want) }
}
