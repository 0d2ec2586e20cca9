//! Loads as the statics takes them: forces and couples on joints, and, on
//! beams, loads in the member's own axes.
//!
//! A load on a beam is handed to its two joints as a simple span would; what
//! that leaves out inside the span is added back by [`super::diagram`].
//!
//! Must not know: how the equations are solved.

use std::collections::BTreeMap;

use num_rational::BigRational;
use num_traits::{One, Signed, Zero};

use crate::base::tolerances::ROUNDED;
use crate::base::{CaseId, JointId, MemberId};
use crate::quantity::Number;
use crate::structure::{Delivery, Distributed, Imposed, Load, LoadKind, LoadPoint, Structure};
use crate::syntax::tree::{Measure, MemberKind};

use super::equilibrium::Rows;

/// A load as everything that reckons takes it: self-weight spread along its
/// member, heat and misfits as what they add to a length. Metres, newtons,
/// radians.
#[derive(Clone, Debug)]
pub enum Piece {
    Force(LoadPoint<f64>, [f64; 2]),
    /// Counterclockwise positive.
    Couple(LoadPoint<f64>, f64),
    /// Its intensities are per length of member, however it was measured.
    Spread(Distributed<f64>),
    /// A member made too long; `rise` in kelvins where heat does it.
    Longer {
        member: MemberId,
        by: f64,
        rise: Option<f64>,
    },
    /// A support imposed on.
    Settles {
        joint: JointId,
        by: Imposed<f64>,
    },
}

impl Piece {
    pub fn of(structure: &Structure, load: &LoadKind) -> Piece {
        let point = |at: &LoadPoint<Number>| match at {
            LoadPoint::Joint(joint) => LoadPoint::Joint(*joint),
            LoadPoint::Along(member, at) => LoadPoint::Along(*member, at.to_f64()),
        };
        match load {
            LoadKind::Force { at, force } => Piece::Force(point(at), parts(force)),
            LoadKind::Couple { at, moment } => Piece::Couple(point(at), moment.to_f64()),
            LoadKind::Distributed(load) => {
                let share = measured_share(structure, load);
                let scaled = |[x, y]: &[Number; 2]| [x.to_f64() * share, y.to_f64() * share];
                Piece::Spread(Distributed {
                    member: load.member,
                    start: scaled(&load.start),
                    end: scaled(&load.end),
                    from: load.from.to_f64(),
                    to: load.to.to_f64(),
                    measure: load.measure,
                    delivery: load.delivery,
                })
            }
            LoadKind::Weight { member } => {
                let length = structure.member_length(*member);
                let down = [0.0, if length > 0.0 { -weight(structure, *member) / length } else { 0.0 }];
                let bends = structure.members[*member].kind == MemberKind::Beam;
                Piece::Spread(Distributed {
                    member: *member,
                    start: down,
                    end: down,
                    from: 0.0,
                    to: length,
                    measure: None,
                    delivery: if bends { Delivery::AlongMember } else { Delivery::AtJoints },
                })
            }
            LoadKind::Heat { member, rise } => {
                let rise = rise.to_f64();
                let by = expansion(structure, *member) * rise;
                Piece::Longer { member: *member, by: by * structure.member_length(*member), rise: Some(rise) }
            }
            LoadKind::Misfit { member, amount } => Piece::Longer { member: *member, by: amount.to_f64(), rise: None },
            LoadKind::Settlement { joint, by } => {
                let by = match by {
                    Imposed::Move(by) => Imposed::Move(parts(by)),
                    Imposed::Turn(by) => Imposed::Turn(by.to_f64()),
                };
                Piece::Settles { joint: *joint, by }
            }
        }
    }

    /// What a case holds, in its order.
    pub fn all(structure: &Structure, case: CaseId) -> impl Iterator<Item = Piece> {
        structure.cases[case].loads.iter().map(|load| Piece::of(structure, &load.kind))
    }

    /// The heat, misfits and settlements of a case, in its order.
    pub fn imposed(structure: &Structure, case: CaseId) -> impl Iterator<Item = Piece> {
        let imposed = structure.cases[case].loads.iter().filter(|load| load.kind.is_imposed());
        imposed.map(|load| Piece::of(structure, &load.kind))
    }

    /// The load in its member's own axes, where it is stated on one.
    fn on_member(&self, structure: &Structure) -> Option<(MemberId, SpanLoad, Delivery)> {
        match self {
            Piece::Force(LoadPoint::Along(member, at), force) => {
                let [along, across] = local(structure, *member, *force);
                Some((*member, SpanLoad::Point { at: *at, along, across }, Delivery::AlongMember))
            }
            Piece::Couple(LoadPoint::Along(member, at), moment) => {
                Some((*member, SpanLoad::Couple { at: *at, moment: *moment }, Delivery::AlongMember))
            }
            Piece::Spread(load) => {
                let [[ai, ci], [aj, cj]] = [load.start, load.end].map(|force| local(structure, load.member, force));
                let span = SpanLoad::Spread { from: load.from, to: load.to, along: [ai, aj], across: [ci, cj] };
                Some((load.member, span, load.delivery))
            }
            _ => None,
        }
    }
}

/// How much of a member's length counts for a load along it: all of it, its
/// run or its rise.
pub fn measured_share(structure: &Structure, load: &Distributed<Number>) -> f64 {
    let [dx, dy] = structure.member_vector(load.member);
    match load.measure {
        None => 1.0,
        Some(Measure::PerRun) => dx.abs() / dx.hypot(dy),
        Some(Measure::PerRise) => dy.abs() / dx.hypot(dy),
    }
}

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
        let mut gather = Gather { structure, rows, parts: Vec::new() };
        for (member, loads) in &self.spans {
            loads.iter().for_each(|load| gather.hand_over(*member, *load));
        }
        let mut sum = self.direct.clone();
        gather.parts.into_iter().for_each(|(row, value)| sum[row as usize] += value);
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
    actions_of(structure, rows, &structure.cases[case].loads)
}

/// Everything some loads do.
pub fn actions_of(structure: &Structure, rows: &Rows, loads: &[Load]) -> Actions {
    let mut gather = Gather { structure, rows, parts: Vec::new() };
    let mut spans = Spans::new();
    for load in loads {
        if let Some((member, load)) = gather.piece(&Piece::of(structure, &load.kind)) {
            spans.entry(member).or_default().push(load);
        }
    }
    let mut parts = gather.parts;
    let key = |(row, value): &OnRow| (*row, value.to_bits());
    if !parts.is_sorted_by_key(key) {
        parts.sort_unstable_by_key(key);
    }
    let mut direct = vec![0.0; rows.len()];
    for (row, value) in parts {
        direct[row as usize] += value;
    }
    for loads in spans.values_mut() {
        loads.sort_by_key(SpanLoad::key);
    }
    Actions { direct, spans }
}

/// A row of the matrix and what acts on it: newtons, newton-metres.
pub type OnRow = (u32, f64);

/// What one load does: to the rows of the matrix, its share of a load between
/// joints handed to their ends, and the load on its member if it is one.
pub fn single(structure: &Structure, rows: &Rows, load: &Piece) -> (Vec<OnRow>, Option<(MemberId, SpanLoad)>) {
    let mut gather = Gather { structure, rows, parts: Vec::new() };
    let span = gather.piece(load);
    if let Some((member, load)) = span {
        gather.hand_over(member, load);
    }
    (gather.parts, span)
}

struct Gather<'a> {
    structure: &'a Structure,
    rows: &'a Rows,
    parts: Vec<OnRow>,
}

impl Gather<'_> {
    /// Takes what acts on joints, and gives back what stays on its member.
    fn piece(&mut self, piece: &Piece) -> Option<(MemberId, SpanLoad)> {
        match piece {
            Piece::Force(LoadPoint::Joint(joint), force) => self.force(*joint, *force),
            Piece::Couple(LoadPoint::Joint(joint), moment) => {
                self.parts.extend(self.rows.moment(*joint).map(|row| (row, *moment)));
            }
            _ => match piece.on_member(self.structure)? {
                (member, load, Delivery::AlongMember) => return Some((member, load)),
                (member, load, Delivery::AtJoints) => self.hand_over(member, load),
            },
        }
        None
    }

    fn force(&mut self, joint: JointId, [x, y]: [f64; 2]) {
        let row = self.rows.force(joint);
        self.parts.extend([(row, x), (row + 1, y)]);
    }

    fn hand_over(&mut self, member: MemberId, load: SpanLoad) {
        let (start, end) = (self.structure.members[member].start, self.structure.members[member].end);
        let shares = load.shares(self.structure.member_length(member));
        for (joint, share) in [start, end].into_iter().zip(shares) {
            self.force(joint, global(self.structure, member, share));
        }
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

/// A member's self-weight in newtons; zero where section or material lack what
/// it takes (which the reading has reported).
fn weight(structure: &Structure, member: MemberId) -> f64 {
    area_and_weight(structure, member)
        .map_or(0.0, |(area, weight)| area.to_f64() * weight.to_f64() * structure.member_length(member))
}

/// Thermal expansion of a member's material, per kelvin; 0 where it lacks one
/// (which the reading has reported).
pub fn expansion(structure: &Structure, member: MemberId) -> f64 {
    structure.material_of(member).and_then(|material| material.expansion.as_ref()).map_or(0.0, Number::to_f64)
}

/// What makes a member's self-weight: square metres, newtons a cubic metre.
pub fn area_and_weight(structure: &Structure, member: MemberId) -> Option<(&Number, &Number)> {
    let section = structure.section_of(member)?;
    Some((section.area.as_ref()?, structure.materials[section.material?].weight.as_ref()?))
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
    for piece in Piece::all(structure, case) {
        match piece {
            Piece::Force(LoadPoint::Joint(joint), force) => add(structure.point(joint), force),
            Piece::Force(LoadPoint::Along(member, at), force) => add(structure.point_on(member, at), force),
            Piece::Couple(_, moment) => couple(moment),
            Piece::Spread(Distributed { member, start: [ax, ay], end: [bx, by], from, to, .. }) => {
                let span = to - from;
                // A trapezoid as a rectangle and a triangle.
                add(structure.point_on(member, from + span / 2.0), [ax * span, ay * span]);
                let triangle = [(bx - ax) * span / 2.0, (by - ay) * span / 2.0];
                add(structure.point_on(member, from + span * 2.0 / 3.0), triangle);
            }
            Piece::Longer { .. } | Piece::Settles { .. } => {}
        }
    }
}

/// What one load gives to joints, as a simple span hands it on, over the
/// fractions: forces in x and y, and a couple. `None` where it is not rational.
pub fn exactly_on_joints(
    structure: &Structure,
    load: &LoadKind,
    mut act: impl FnMut(JointId, [BigRational; 3]),
) -> Option<()> {
    let whole = |value: i64| BigRational::from_integer(value.into());
    let pair = |[x, y]: &[Number; 2]| Some([x.exactly()?, y.exactly()?]);
    let ends = |member: MemberId| [structure.members[member].start, structure.members[member].end];
    let vector = |member: MemberId| {
        let [a, b] = ends(member).map(|joint| &structure.joints[joint]);
        [b.x.minus(&a.x), b.y.minus(&a.y)]
    };
    let length = |member: MemberId| {
        let [dx, dy] = vector(member);
        dx.hypot(&dy).exactly()
    };
    let mut force = |joint: JointId, [x, y]: [BigRational; 2]| act(joint, [x, y, BigRational::zero()]);
    match load {
        LoadKind::Force { at: LoadPoint::Joint(joint), force: own } => force(*joint, pair(own)?),
        LoadKind::Couple { at: LoadPoint::Joint(joint), moment } => {
            act(*joint, [BigRational::zero(), BigRational::zero(), moment.exactly()?]);
        }
        LoadKind::Force { at: LoadPoint::Along(member, at), force: own } => {
            let [start, end] = ends(*member);
            let share = at.exactly()? / length(*member)?;
            let own = pair(own)?;
            force(end, own.each_ref().map(|part| part * &share));
            let rest = BigRational::one() - share;
            force(start, own.map(|part| part * &rest));
        }
        LoadKind::Couple { at: LoadPoint::Along(member, _), moment } => {
            let [start, end] = ends(*member);
            let [dx, dy] = pair(&vector(*member))?;
            let per = moment.exactly()? / (&dx * &dx + &dy * &dy);
            let pair = [-dy * &per, dx * per];
            force(start, pair.clone().map(|part| -part));
            force(end, pair);
        }
        LoadKind::Distributed(load) => {
            let [start, end] = ends(load.member);
            let [dx, dy] = pair(&vector(load.member))?;
            let (a, b) = (pair(&load.start)?, pair(&load.end)?);
            let metres = structure.member_length(load.member);
            let is_whole = load.from.is_zero() && (load.to.to_f64() - metres).abs() <= ROUNDED * metres;
            // Over all of a member only the measured length counts, which may be
            // rational where the length itself is not.
            let measured = match load.measure {
                Some(Measure::PerRun) => dx.abs(),
                Some(Measure::PerRise) => dy.abs(),
                None => length(load.member)?,
            };
            let (from, span) = if is_whole {
                (BigRational::zero(), BigRational::one())
            } else {
                let length = length(load.member)?;
                let from = load.from.exactly()? / &length;
                let span = load.to.exactly()? / length - &from;
                (from, span)
            };
            let [even, slope] = [&from + &span / whole(2), &from + &span * whole(2) / whole(3)];
            let [mut near, mut far] = [[BigRational::zero(), BigRational::zero()], a.clone()];
            for (((near, far), a), b) in near.iter_mut().zip(&mut far).zip(&a).zip(&b) {
                let rectangle = a * &span * &measured;
                let triangle = (b - a) * &span * &measured / whole(2);
                *far = &rectangle * &even + &triangle * &slope;
                *near = rectangle + triangle - &*far;
            }
            force(start, near);
            force(end, far);
        }
        LoadKind::Weight { member } => {
            let (area, weight) = area_and_weight(structure, *member)?;
            let half = area.exactly()? * weight.exactly()? * length(*member)? / whole(2);
            for joint in ends(*member) {
                force(joint, [BigRational::zero(), -&half]);
            }
        }
        LoadKind::Heat { .. } | LoadKind::Misfit { .. } | LoadKind::Settlement { .. } => {}
    }
    Some(())
}
