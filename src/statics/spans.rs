//! Loads as the statics takes them: forces and couples on joints, and, on
//! beams, loads in the member's own axes.
//!
//! A load on a beam is handed to its two joints as a simple span would; what
//! that leaves out inside the span is added back by [`super::diagram`].
//!
//! Must not know: how the equations are solved.

use std::collections::BTreeMap;

use crate::base::{CaseId, JointId, MemberId};
use crate::quantity::Number;
use crate::structure::{Delivery, Distributed, Load, LoadKind, Structure};
use crate::syntax::tree::{Measure, MemberKind};

use super::equilibrium::Rows;

/// A load on one member: along it from its first-named joint to the other,
/// across it to the left of that. Metres, newtons, newtons a metre,
/// newton-metres (counterclockwise positive).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpanLoad {
    /// Linear between its ends.
    Spread {
        from: f64,
        to: f64,
        along: [f64; 2],
        across: [f64; 2],
    },
    Point {
        at: f64,
        along: f64,
        across: f64,
    },
    Couple {
        at: f64,
        moment: f64,
    },
}

/// The loads on each member that has any.
pub type Spans = BTreeMap<MemberId, Vec<SpanLoad>>;

/// What one case does.
#[derive(Clone, Debug, Default)]
pub struct Actions {
    /// On the joints themselves, by the rows of the matrix: newtons, newton-metres.
    pub direct: Vec<f64>,
    /// On members between their joints.
    pub spans: Spans,
}

impl Actions {
    /// All of it on the joints, loads on members handed to their ends.
    pub fn on_joints(&self, structure: &Structure, rows: &Rows) -> Vec<f64> {
        let mut sum = self.direct.clone();
        for (member, loads) in &self.spans {
            let Some(ends) = structure.member(*member).map(|m| (m.start, m.end)) else { continue };
            let length = structure.member_length(*member);
            for load in loads {
                let [start, end] = load.shares(length);
                for (joint, share) in [(ends.0, start), (ends.1, end)] {
                    let row = rows.force(joint) as usize;
                    let [x, y] = global(structure, *member, share);
                    if let Some([fx, fy]) = sum.get_mut(row..).and_then(|rest| rest.first_chunk_mut::<2>()) {
                        *fx += x;
                        *fy += y;
                    }
                }
            }
        }
        sum
    }
}

/// Forces on the two ends of a simple span, along and across.
type Shares = [[f64; 2]; 2];

impl SpanLoad {
    /// What a simple span of this length hands to its two joints.
    pub fn shares(&self, length: f64) -> Shares {
        let lever = |total: f64, moment: f64| {
            let end = if length > 0.0 { moment / length } else { 0.0 };
            [total - end, end]
        };
        match *self {
            SpanLoad::Spread { from, to, along, across } => {
                let span = to - from;
                let of = |[a, b]: [f64; 2]| {
                    let total = (a + b) / 2.0 * span;
                    // First moment of a trapezoid about the member's start.
                    let moment = a * span * (from + span / 2.0) + (b - a) * span / 2.0 * (from + span * 2.0 / 3.0);
                    lever(total, moment)
                };
                let ([ai, aj], [ci, cj]) = (of(along), of(across));
                [[ai, ci], [aj, cj]]
            }
            SpanLoad::Point { at, along, across } => {
                let ([ai, aj], [ci, cj]) = (lever(along, along * at), lever(across, across * at));
                [[ai, ci], [aj, cj]]
            }
            SpanLoad::Couple { moment, .. } => {
                let pair = if length > 0.0 { moment / length } else { 0.0 };
                [[0.0, -pair], [0.0, pair]]
            }
        }
    }

    #[must_use]
    pub fn times(&self, factor: f64) -> SpanLoad {
        let scaled = |[a, b]: [f64; 2]| [a * factor, b * factor];
        match *self {
            SpanLoad::Spread { from, to, along, across } => {
                SpanLoad::Spread { from, to, along: scaled(along), across: scaled(across) }
            }
            SpanLoad::Point { at, along, across } => {
                SpanLoad::Point { at, along: along * factor, across: across * factor }
            }
            SpanLoad::Couple { at, moment } => SpanLoad::Couple { at, moment: moment * factor },
        }
    }

    /// For an order that does not depend on the source's.
    fn key(&self) -> [u64; 7] {
        let bits = |values: [f64; 6], kind: u64| {
            let [a, b, c, d, e, f] = values.map(f64::to_bits);
            [kind, a, b, c, d, e, f]
        };
        match *self {
            SpanLoad::Spread { from, to, along: [a, b], across: [c, d] } => bits([from, to, a, b, c, d], 0),
            SpanLoad::Point { at, along, across } => bits([at, along, across, 0.0, 0.0, 0.0], 1),
            SpanLoad::Couple { at, moment } => bits([at, moment, 0.0, 0.0, 0.0, 0.0], 2),
        }
    }
}

/// Everything a case holds. Loads are added in an order that depends on their
/// places and sizes only, so that moving a line changes no bit of the result.
pub fn actions(structure: &Structure, rows: &Rows, case: CaseId) -> Actions {
    actions_of(structure, rows, structure.cases.get(case.index()).map_or(&[], |case| case.loads.as_slice()))
}

/// Everything some loads do.
pub fn actions_of(structure: &Structure, rows: &Rows, loads: &[Load]) -> Actions {
    let mut gather = Gather { structure, rows, parts: Vec::new(), spans: Spans::new() };
    loads.iter().for_each(|load| gather.load(&load.kind));
    gather.finish()
}

/// A row of the matrix and what acts on it: newtons, newton-metres.
pub type OnRow = (u32, f64);

/// What one load does: to the rows of the matrix, its share of a load between
/// joints handed to their ends, and the load on its member if it is one.
pub fn single(structure: &Structure, rows: &Rows, load: &LoadKind) -> (Vec<OnRow>, Option<(MemberId, SpanLoad)>) {
    let mut gather = Gather { structure, rows, parts: Vec::new(), spans: Spans::new() };
    gather.load(load);
    let span = gather.spans.pop_first().and_then(|(member, loads)| loads.first().map(|load| (member, *load)));
    if let Some((member, load)) = span {
        gather.span(member, load, Delivery::AtJoints);
    }
    (gather.parts, span)
}

struct Gather<'a> {
    structure: &'a Structure,
    rows: &'a Rows,
    parts: Vec<(u32, f64)>,
    spans: Spans,
}

impl Gather<'_> {
    fn load(&mut self, kind: &LoadKind) {
        match kind {
            LoadKind::JointForce { joint, force } => self.force(*joint, parts(force)),
            LoadKind::JointMoment { joint, moment } => {
                if let Some(row) = self.rows.moment(*joint) {
                    self.parts.push((row, moment.to_f64()));
                }
            }
            LoadKind::MemberForce { member, force, at } => {
                let [along, across] = local(self.structure, *member, parts(force));
                self.span(*member, SpanLoad::Point { at: at.to_f64(), along, across }, Delivery::AlongMember);
            }
            LoadKind::MemberMoment { member, moment, at } => {
                let couple = SpanLoad::Couple { at: at.to_f64(), moment: moment.to_f64() };
                self.span(*member, couple, Delivery::AlongMember);
            }
            LoadKind::Distributed(load) => self.span(load.member, spread(self.structure, load), load.delivery),
            LoadKind::Weight { member } => {
                let length = self.structure.member_length(*member);
                let per_length = if length > 0.0 { weight(self.structure, *member) / length } else { 0.0 };
                let [along, across] = local(self.structure, *member, [0.0, -per_length]);
                let load = SpanLoad::Spread { from: 0.0, to: length, along: [along; 2], across: [across; 2] };
                let bends = self.structure.member(*member).is_some_and(|m| m.kind == MemberKind::Beam);
                self.span(*member, load, if bends { Delivery::AlongMember } else { Delivery::AtJoints });
            }
            LoadKind::Heat { .. }
            | LoadKind::Misfit { .. }
            | LoadKind::Settlement { .. }
            | LoadKind::SupportTurn { .. } => {}
        }
    }

    fn force(&mut self, joint: JointId, [x, y]: [f64; 2]) {
        let row = self.rows.force(joint);
        self.parts.push((row, x));
        self.parts.push((row + 1, y));
    }

    fn span(&mut self, member: MemberId, load: SpanLoad, delivery: Delivery) {
        if delivery == Delivery::AlongMember {
            self.spans.entry(member).or_default().push(load);
            return;
        }
        let Some(ends) = self.structure.member(member).map(|m| (m.start, m.end)) else { return };
        let [start, end] = load.shares(self.structure.member_length(member));
        self.force(ends.0, global(self.structure, member, start));
        self.force(ends.1, global(self.structure, member, end));
    }

    fn finish(mut self) -> Actions {
        let key = |(row, value): &(u32, f64)| (*row, value.to_bits());
        if !self.parts.is_sorted_by_key(key) {
            self.parts.sort_unstable_by_key(key);
        }
        let mut direct = vec![0.0; self.rows.len()];
        for (row, value) in self.parts {
            if let Some(slot) = direct.get_mut(row as usize) {
                *slot += value;
            }
        }
        for loads in self.spans.values_mut() {
            loads.sort_by_key(SpanLoad::key);
        }
        Actions { direct, spans: self.spans }
    }
}

fn parts([x, y]: &[Number; 2]) -> [f64; 2] {
    [x.to_f64(), y.to_f64()]
}

/// The unit vector along a member.
pub fn axis(structure: &Structure, member: MemberId) -> [f64; 2] {
    let [dx, dy] = structure.member_vector(member);
    let length = dx.hypot(dy);
    [dx / length, dy / length]
}

/// Components along and across a member of a vector in x and y.
pub fn local(structure: &Structure, member: MemberId, [x, y]: [f64; 2]) -> [f64; 2] {
    let [c, s] = axis(structure, member);
    [x * c + y * s, y * c - x * s]
}

/// Components x and y of a vector along and across a member.
pub fn global(structure: &Structure, member: MemberId, [along, across]: [f64; 2]) -> [f64; 2] {
    let [c, s] = axis(structure, member);
    [along * c - across * s, along * s + across * c]
}

/// A distributed load in the member's own axes, per length of member.
fn spread(structure: &Structure, load: &Distributed) -> SpanLoad {
    let (start, end, from, to) = intensities(structure, load);
    let ([ai, ci], [aj, cj]) = (local(structure, load.member, start), local(structure, load.member, end));
    SpanLoad::Spread { from, to, along: [ai, aj], across: [ci, cj] }
}

/// A member's own weight in newtons; zero where section or material lack what
/// it takes (which the reading has reported).
pub fn weight(structure: &Structure, member: MemberId) -> f64 {
    let section = structure.member(member).and_then(|m| m.section).and_then(|id| structure.sections.get(id.index()));
    let material = section.and_then(|s| s.material).and_then(|id| structure.materials.get(id.index()));
    match (section.and_then(|s| s.area.as_ref()), material.and_then(|m| m.weight.as_ref())) {
        (Some(area), Some(weight)) => area.to_f64() * weight.to_f64() * structure.member_length(member),
        _ => 0.0,
    }
}

/// Force per length of member (x, y) at the two ends of a distributed load's
/// stretch, and the stretch in metres from the member's first-named joint.
fn intensities(structure: &Structure, load: &Distributed) -> ([f64; 2], [f64; 2], f64, f64) {
    let [dx, dy] = structure.member_vector(load.member);
    let length = dx.hypot(dy);
    let share = match load.measure {
        None => 1.0,
        Some(Measure::PerRun) => dx.abs() / length,
        Some(Measure::PerRise) => dy.abs() / length,
    };
    let scaled = |[x, y]: &[Number; 2]| [x.to_f64() * share, y.to_f64() * share];
    (scaled(&load.start), scaled(&load.end), load.from.to_f64(), load.to.to_f64())
}

/// The resultant of everything a case holds, straight from its loads and not
/// by way of the joints: Fx, Fy in newtons and the moment about a point in
/// newton-metres. The second value is the largest single force among them.
pub fn resultant(structure: &Structure, case: CaseId, about: [f64; 2]) -> ([f64; 3], f64) {
    let mut each: Vec<[f64; 3]> = Vec::new();
    let mut couples: Vec<[f64; 3]> = Vec::new();
    let mut largest = 0.0_f64;
    let add = |[x, y]: [f64; 2], [fx, fy]: [f64; 2]| {
        let [ax, ay] = about;
        each.push([fx, fy, (x - ax) * fy - (y - ay) * fx]);
        largest = largest.max(fx.hypot(fy));
    };
    each_action(structure, case, add, |moment| couples.push([0.0, 0.0, moment]));
    // Added in an order that depends on the loads only, not on their lines.
    each.append(&mut couples);
    let key = |part: &[f64; 3]| part.map(f64::to_bits);
    if !each.is_sorted_by_key(key) {
        each.sort_unstable_by_key(key);
    }
    let sum = each.iter().fold([0.0; 3], |[x, y, m], [px, py, pm]| [x + px, y + py, m + pm]);
    (sum, largest)
}

/// The sizes of everything a case holds, added without regard to direction:
/// its forces in newtons, its couples in newton-metres.
pub fn sizes(structure: &Structure, case: CaseId) -> (f64, f64) {
    let (mut forces, mut couples) = (0.0, 0.0);
    each_action(structure, case, |_, [fx, fy]| forces += fx.hypot(fy), |moment| couples += moment.abs());
    (forces, couples)
}

/// Every force of a case with its place, and every couple.
fn each_action(
    structure: &Structure,
    case: CaseId,
    mut add: impl FnMut([f64; 2], [f64; 2]),
    mut couple: impl FnMut(f64),
) {
    let point = |joint: JointId| structure.joint(joint).map_or([0.0; 2], |j| [j.x.to_f64(), j.y.to_f64()]);
    for load in structure.cases.get(case.index()).map_or(&[][..], |case| case.loads.as_slice()) {
        let on_member = |member: MemberId, share: f64| {
            let [x, y] = structure.member(member).map_or([0.0; 2], |m| point(m.start));
            let [dx, dy] = structure.member_vector(member);
            [x + dx * share, y + dy * share]
        };
        let along = |member: MemberId, at: f64| {
            let length = structure.member_length(member);
            on_member(member, if length > 0.0 { at / length } else { 0.0 })
        };
        match &load.kind {
            LoadKind::JointForce { joint, force } => add(point(*joint), parts(force)),
            LoadKind::JointMoment { moment, .. } | LoadKind::MemberMoment { moment, .. } => {
                couple(moment.to_f64());
            }
            LoadKind::MemberForce { member, force, at } => add(along(*member, at.to_f64()), parts(force)),
            LoadKind::Weight { member } => add(on_member(*member, 0.5), [0.0, -weight(structure, *member)]),
            LoadKind::Distributed(load) => {
                let ([ax, ay], [bx, by], from, to) = intensities(structure, load);
                let span = to - from;
                // A trapezoid as a rectangle and a triangle.
                add(along(load.member, from + span / 2.0), [ax * span, ay * span]);
                let (tx, ty) = ((bx - ax) * span / 2.0, (by - ay) * span / 2.0);
                add(along(load.member, from + span * 2.0 / 3.0), [tx, ty]);
            }
            LoadKind::Heat { .. }
            | LoadKind::Misfit { .. }
            | LoadKind::Settlement { .. }
            | LoadKind::SupportTurn { .. } => {}
        }
    }
}
