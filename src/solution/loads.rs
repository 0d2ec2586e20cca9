//! What acts under a case or combination, perpendicular to the axes, and how it came
//! about: forces at an angle resolved, loads along members replaced by their
//! resultants or handed to the joints, the loads of each joint added up.
//!
//! Must not know: unknowns, how any of it is told.

use std::collections::BTreeMap;

use crate::base::{Files, JointId, MemberId, Origin};
use crate::quantity::Number;
use crate::statics::Subject;
use crate::statics::spans::{area_and_weight, measured_share};
use crate::structure::{Delivery, Distributed, LoadKind, LoadPoint};
use crate::syntax::tree::{Measure, MemberKind};

use super::part::{Acting, Kind, Place, Size};
use super::problem::{Direction, Problem};

#[derive(Debug, Default)]
pub struct Loads {
    /// Every one perpendicular to an axis.
    pub each: Vec<Acting>,
    /// Settlements, heat and misfits act without being forces.
    pub imposed: bool,
    pub resolved: Vec<Resolved>,
    pub spread: Vec<Spread>,
    /// What is added up at each joint along x and along y.
    pub sums: BTreeMap<JointId, [Vec<Size>; 2]>,
}

/// A force whose components are not those that were given.
#[derive(Debug)]
pub struct Resolved {
    pub force: [Number; 2],
    pub factor: Number,
    pub place: Place,
    pub stated: Stated,
}

/// How a force was stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stated {
    /// By its components: a factor makes others of them.
    Components,
    /// Along a line at an angle from the horizontal, or from the vertical.
    FromHorizontal,
    FromVertical,
}

/// A load along a member, in place of which its resultant acts.
#[derive(Debug)]
pub struct Spread {
    pub member: MemberId,
    pub kind: SpreadKind,
    pub factor: Number,
    /// Of the resultant: newtons, and metres from the joint that names the
    /// member first.
    pub force: [f64; 2],
    pub at: f64,
    /// A beam carries it there; of a bar the ends take it.
    pub delivery: Delivery,
}

#[derive(Clone, Copy, Debug)]
pub enum SpreadKind {
    /// Square metres, and newtons a cubic metre.
    Weight {
        area: f64,
        weight: f64,
    },
    /// Newtons a metre over metres of what is measured; of a triangle at its high end.
    Even {
        intensity: f64,
        length: f64,
        measure: Option<Measure>,
    },
    Triangle {
        intensity: f64,
        length: f64,
        measure: Option<Measure>,
    },
}

impl Loads {
    /// Everything that acts in a case or combination.
    pub fn of(problem: &Problem<'_>, files: &Files, subject: Subject) -> Loads {
        let mut loads = Loads::default();
        for (case, factor) in subject.factors(problem.structure) {
            for load in &problem.structure.cases[case].loads {
                loads.take(problem, files, &load.kind, load.origin, &factor);
            }
        }
        let mut each = Vec::new();
        for (joint, sums) in &loads.sums {
            for (unit, parts) in [[1.0, 0.0], [0.0, 1.0]].into_iter().zip(sums) {
                let total = problem.quiet(total(parts));
                let size = if is_given(parts) { Size::Load(total) } else { Size::Found(total) };
                each.extend(axis_force(unit, size, problem.at(*joint), Place::Joint(*joint)));
            }
        }
        each.append(&mut loads.each);
        Loads { each, ..loads }
    }

    /// Force and couple on a joint itself: newtons, newton-metres.
    pub fn at(&self, joint: JointId) -> [f64; 3] {
        let mut total = [0.0; 3];
        for acting in self.each.iter().filter(|acting| acting.place == Place::Joint(joint)) {
            let size = acting.size.known().unwrap_or(0.0);
            match acting.kind {
                Kind::Force(Direction { unit: [x, y], .. }) => {
                    total[0] += x * size;
                    total[1] += y * size;
                }
                Kind::Couple => total[2] += size,
            }
        }
        total
    }

    fn take(&mut self, problem: &Problem<'_>, files: &Files, kind: &LoadKind, origin: Origin, factor: &Number) {
        let times = factor.to_f64();
        match kind {
            LoadKind::Force { at, force } => {
                let place = placed(at);
                let stated = stated(force, files.text(origin.file), origin);
                let is_given = stated == Stated::Components && times.abs() == 1.0;
                let parts = force.each_ref().map(|part| part.to_f64() * times);
                if !is_given {
                    let (force, factor) = (force.clone(), factor.clone());
                    self.resolved.push(Resolved { force, factor, place, stated });
                }
                let parts = parts.map(|part| if is_given { Size::Load(part) } else { Size::Found(part) });
                match place {
                    Place::Joint(joint) => self.add(joint, parts),
                    Place::Along(member, at) => self.on_member(problem, member, at, parts),
                }
            }
            LoadKind::Couple { at, moment } => {
                let place = placed(at);
                let at = match place {
                    Place::Joint(joint) => problem.at(joint),
                    Place::Along(member, at) => problem.structure.point_on(member, at),
                };
                let size = Size::Load(moment.to_f64() * times);
                self.each.push(Acting { size, kind: Kind::Couple, at, place });
            }
            LoadKind::Distributed(load) => self.distributed(problem, load, factor),
            LoadKind::Weight { member } => {
                let Some((area, weight)) = area_and_weight(problem.structure, *member) else { return };
                let (area, weight) = (area.to_f64(), weight.to_f64());
                let length = problem.structure.member_length(*member);
                let force = [0.0, -(area * weight * length * times)];
                let is_beam = problem.structure.members[*member].kind == MemberKind::Beam;
                let delivery = if is_beam { Delivery::AlongMember } else { Delivery::AtJoints };
                let kind = SpreadKind::Weight { area, weight };
                let (member, factor, at) = (*member, factor.clone(), length / 2.0);
                self.stretch(problem, Spread { member, kind, factor, force, at, delivery });
            }
            LoadKind::Heat { .. } | LoadKind::Misfit { .. } | LoadKind::Settlement { .. } => self.imposed = true,
        }
    }

    fn add(&mut self, joint: JointId, force: [Size; 2]) {
        for (axis, part) in force.into_iter().enumerate().filter(|(_, part)| part.known() != Some(0.0)) {
            if let Some(parts) = self.sums.entry(joint).or_default().get_mut(axis) {
                parts.push(part);
            }
        }
    }

    fn on_member(&mut self, problem: &Problem<'_>, member: MemberId, at: f64, force: [Size; 2]) {
        let point = problem.structure.point_on(member, at);
        let axes = [[1.0, 0.0], [0.0, 1.0]].into_iter().zip(force);
        self.each.extend(axes.filter_map(|(axis, part)| axis_force(axis, part, point, Place::Along(member, at))));
    }

    /// A trapezoid as a rectangle and a triangle, the smaller end its height.
    fn distributed(&mut self, problem: &Problem<'_>, load: &Distributed<Number>, factor: &Number) {
        let share = measured_share(problem.structure, load);
        let (from, to) = (load.from.to_f64(), load.to.to_f64());
        let span = to - from;
        let (member, measure, delivery) = (load.member, load.measure, load.delivery);
        let [start, end] = [&load.start, &load.end].map(|ends| ends.each_ref().map(Number::to_f64));
        let size = |[x, y]: [f64; 2]| x.hypot(y);
        let is_rising = size(start) <= size(end);
        let (even, high) = if is_rising { (start, end) } else { (end, start) };
        let more = [high[0] - even[0], high[1] - even[1]];
        let times = factor.to_f64();
        let (length, rise) = (span * share, if is_rising { 2.0 } else { 1.0 });
        for (kind, intensity, part, at) in [
            (SpreadKind::Even { intensity: size(even), length, measure }, even, 1.0, from + span / 2.0),
            (SpreadKind::Triangle { intensity: size(more), length, measure }, more, 0.5, from + span * rise / 3.0),
        ] {
            if intensity != [0.0; 2] {
                let force = intensity.map(|own| own * span * share * part * times);
                self.stretch(problem, Spread { member, kind, factor: factor.clone(), force, at, delivery });
            }
        }
    }

    /// A resultant at its place on a member: kept there on a beam, handed to
    /// the ends else.
    fn stretch(&mut self, problem: &Problem<'_>, spread: Spread) {
        let Spread { member, force, at, delivery, .. } = spread;
        if force == [0.0; 2] {
            return;
        }
        if delivery == Delivery::AlongMember {
            self.on_member(problem, member, at, force.map(Size::Found));
        } else {
            let ends = &problem.structure.members[member];
            for (joint, share) in [ends.start, ends.end].into_iter().zip(spread.shares(problem)) {
                self.add(joint, force.map(|part| Size::Found(part * share)));
            }
        }
        self.spread.push(spread);
    }
}

impl Spread {
    /// What the two ends of a bar take of it.
    pub fn shares(&self, problem: &Problem<'_>) -> [f64; 2] {
        let far = self.at / problem.structure.member_length(self.member);
        [1.0 - far, far]
    }
}

/// How a force was stated, from what stands in the source.
fn stated([x, y]: &[Number; 2], text: &str, origin: Origin) -> Stated {
    let written = origin.span.text(text);
    let by_components =
        written.split_once(':').is_some_and(|(_, value)| value.trim_start().starts_with('(')) && !written.contains('@');
    if x.to_f64() == 0.0 || y.to_f64() == 0.0 || by_components {
        Stated::Components
    } else if written.contains("of up") || written.contains("of down") {
        Stated::FromVertical
    } else {
        Stated::FromHorizontal
    }
}

fn placed(at: &LoadPoint<Number>) -> Place {
    match at {
        LoadPoint::Joint(joint) => Place::Joint(*joint),
        LoadPoint::Along(member, at) => Place::Along(*member, at.to_f64()),
    }
}

/// Newtons, signed.
pub fn total(parts: &[Size]) -> f64 {
    parts.iter().filter_map(|part| part.known()).sum()
}

/// Whether a sum is one load as it was given.
pub const fn is_given(parts: &[Size]) -> bool {
    matches!(parts, [Size::Load(_)])
}

/// A force along an axis, its direction turned so that its size is positive.
fn axis_force(axis: [f64; 2], part: Size, at: [f64; 2], place: Place) -> Option<Acting> {
    let value = part.known().filter(|value| *value != 0.0)?;
    let size = if matches!(part, Size::Load(_)) { Size::Load(value.abs()) } else { Size::Found(value.abs()) };
    Some(Acting { size, kind: Kind::Force(Direction::axis(axis.map(|unit| unit * value.signum()))), at, place })
}
