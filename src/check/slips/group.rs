//! Loads by the statements that put them there, and what one statement is:
//! how its force points, how it is spread.
//!
//! Must not know: slips.

use std::collections::BTreeMap;
use std::fmt;

use crate::base::tolerances::SAME;
use crate::base::{CaseId, Origin};
use crate::quantity::{Dimension, Number};
use crate::statics::Subject;
use crate::structure::{Distributed, LoadKind, LoadPoint, StatedAngle, Structure};

/// Beyond so many statements of loads a match with one of them means nothing.
const MOST_GROUPS: usize = 500;
/// Loads of one case or combination that are tried, chains and loops unrolled.
const MOST_LOADS: usize = 50_000;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    X,
    Y,
}

impl Axis {
    pub const fn other(self) -> Axis {
        match self {
            Axis::X => Axis::Y,
            Axis::Y => Axis::X,
        }
    }

    /// A vector's component along it.
    pub const fn of(self, [x, y]: [f64; 2]) -> f64 {
        match self {
            Axis::X => x,
            Axis::Y => y,
        }
    }

    /// A vector of this component alone.
    pub const fn only(self, value: f64) -> [f64; 2] {
        match self {
            Axis::X => [value, 0.0],
            Axis::Y => [0.0, value],
        }
    }
}

impl fmt::Display for Axis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if *self == Axis::X { "horizontal" } else { "vertical" })
    }
}

/// What one statement says, or one turn of a loop.
#[derive(Clone, Debug)]
pub struct Group<'a> {
    pub origin: Origin,
    /// Its case, and of a loop the joint or member of its turn.
    pub turn: (CaseId, Option<u32>),
    /// The angle it is stated at.
    pub stated: Option<StatedAngle>,
    /// Of its case in the combination.
    pub factor: f64,
    pub loads: Vec<&'a LoadKind>,
}

/// A whole group spread along members.
pub struct Spread<'a> {
    pub loads: Vec<&'a Distributed<Number>>,
    pub peak: f64,
    pub shape: Shape,
}

/// How a spread load's intensity goes along all its members.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    Even,
    /// From nothing to its peak.
    Triangle,
    Other,
}

/// The loads of a case or combination by statement, in the order of the file,
/// and the turns of a loop one by one as well where that makes no more than
/// [`MOST_GROUPS`]; none where there are more than [`MOST_LOADS`] loads.
pub fn groups(structure: &Structure, subject: Subject) -> Vec<Group<'_>> {
    let factors = subject.factors(structure);
    if factors.iter().map(|(id, _)| structure.cases[*id].loads.len()).sum::<usize>() > MOST_LOADS {
        return Vec::new();
    }
    let mut statements: BTreeMap<(Origin, CaseId), Group> = BTreeMap::new();
    let mut turns: BTreeMap<(Origin, CaseId, u32), Group> = BTreeMap::new();
    for (id, factor) in factors.iter().map(|(id, factor)| (*id, factor.to_f64())) {
        for load in &structure.cases[id].loads {
            let stated = structure.stated_angles.get(&load.origin).copied();
            let group = |own| Group { origin: load.origin, turn: (id, own), stated, factor, loads: Vec::new() };
            statements.entry((load.origin, id)).or_insert_with(|| group(None)).loads.push(&load.kind);
            // A loop says the same of several joints; each is a load of its own.
            let own = match load.kind.point() {
                Some(LoadPoint::Joint(joint)) => joint.0,
                Some(LoadPoint::Along(member, _)) => member.0,
                None => continue,
            };
            turns.entry((load.origin, id, own)).or_insert_with(|| group(Some(own))).loads.push(&load.kind);
        }
    }
    let is_shared = |key: &(Origin, CaseId, u32), group: &Group| {
        statements.get(&(key.0, key.1)).is_some_and(|all| all.loads.len() > group.loads.len())
    };
    turns.retain(|key, group| is_shared(key, group));
    let mut found: Vec<Group> = statements.into_values().collect();
    if found.len() + turns.len() <= MOST_GROUPS {
        found.extend(turns.into_values());
    }
    for group in &mut found {
        // Of a loop, each turn may have an angle of its own.
        let (stated, loads) = (group.stated, &group.loads);
        group.stated = stated.filter(|stated| loads.iter().all(|kind| is_at(*stated, kind)));
    }
    if found.len() > MOST_GROUPS { Vec::new() } else { found }
}

/// Whether a load acts at this angle, or against it.
fn is_at(stated: StatedAngle, kind: &LoadKind) -> bool {
    let Some([x, y]) = kind.vector() else { return false };
    let [ux, uy] = along(stated, stated.radians);
    (x * uy - y * ux).abs() <= SAME * x.hypot(y)
}

/// A unit vector at some angle from where the stated one is measured.
pub fn along(stated: StatedAngle, radians: f64) -> [f64; 2] {
    let (sin, cos) = radians.sin_cos();
    let ([fx, fy], [tx, ty]) = (stated.from, stated.towards);
    [fx * cos + tx * sin, fy * cos + ty * sin]
}

impl<'a> Group<'a> {
    /// The first load's force, or its intensity where that is largest.
    pub fn vector(&self) -> Option<[f64; 2]> {
        self.loads.first()?.vector()
    }

    /// Of its vector.
    pub fn dimension(&self) -> Dimension {
        let is_spread = self.loads.first().is_some_and(|kind| kind.spread().is_some());
        if is_spread { Dimension::LINE_LOAD } else { Dimension::FORCE }
    }

    pub fn spread(&self) -> Option<Spread<'a>> {
        let loads: Vec<&Distributed<Number>> = self.loads.iter().map(|kind| kind.spread()).collect::<Option<_>>()?;
        let [fx, fy] = pair(&loads.first()?.start);
        let peak = loads.iter().flat_map(|load| intensities(load)).fold(0.0, f64::max);
        let whole: f64 = loads.iter().map(|load| stretch(load)).sum();
        let area: f64 = loads.iter().map(|load| intensities(load).iter().sum::<f64>() / 2.0 * stretch(load)).sum();
        let is_first = |force: &[Number; 2]| {
            let [x, y] = pair(force);
            (x - fx).hypot(y - fy) <= SAME * peak
        };
        let shape = if peak > 0.0 && loads.iter().all(|load| is_first(&load.start) && is_first(&load.end)) {
            Shape::Even
        } else if peak > 0.0 && (area - peak * whole / 2.0).abs() <= SAME * peak * whole {
            Shape::Triangle
        } else {
            Shape::Other
        };
        Some(Spread { loads, peak, shape })
    }
}

pub fn pair(force: &[Number; 2]) -> [f64; 2] {
    force.each_ref().map(Number::to_f64)
}

/// The stretch of a spread load, metres.
pub fn stretch(load: &Distributed<Number>) -> f64 {
    load.to.minus(&load.from).to_f64()
}

pub fn intensities(load: &Distributed<Number>) -> [f64; 2] {
    [&load.start, &load.end].map(|[x, y]| x.to_f64().hypot(y.to_f64()))
}
