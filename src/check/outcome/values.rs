//! The values a claim is about in one result, in the claim's own sense.
//!
//! Must not know: what is claimed of them, beyond the sense and the form.

use crate::base::tolerances::{COMPUTED, ROUNDED, SAME};
use crate::base::{MemberId, SupportId};
use crate::quantity::Number;
use crate::statics::diagram::{self, displacement};
use crate::statics::solve::push;
use crate::statics::travel::{Peak, TrainPosition};
use crate::statics::{CaseResult, Probe, Range, Reaction, Side, TravelResult, ZERO_SHARE, spans};
use crate::structure::{Chain, ClaimSubject, Inside, Passage, ResultOf, Structure, ValueClaim};
use crate::syntax::tree::{MemberKind, Relation, Sense, Turn};

use super::{NotKnown, Source};

/// One value.
#[derive(Clone, Debug)]
pub struct Value {
    /// In the claim's sense; the second is zero but for a vector.
    pub numbers: [f64; 2],
    /// In the senses of results, SI units: two components of a force or a
    /// movement, else the one number and zero.
    pub found: [f64; 2],
    /// The member it is of.
    pub on: Option<MemberId>,
    /// Where a claim was on all of a member: metres from its first-named joint.
    pub at: Option<f64>,
    /// On the other side of the place.
    pub beyond: Option<(MemberId, f64)>,
    /// Where the train stands then; `None` away from the structure, or without one.
    pub train: Option<TrainPosition>,
}

/// What is met at one place, or all along a chain or under a train.
#[derive(Clone, Debug)]
pub enum Reach {
    One(Value),
    Between { least: Value, most: Value },
}

/// What has to be as claimed by itself: a member of a chain whose force is
/// claimed, and otherwise all there is. Two sides of a jump, else one.
#[derive(Clone, Debug)]
pub struct Part {
    pub member: Option<(MemberId, Passage)>,
    pub sides: Vec<Reach>,
}

impl Value {
    fn of(numbers: [f64; 2], found: [f64; 2]) -> Value {
        Value { numbers, found, on: None, at: None, beyond: None, train: None }
    }

    /// A single number with the sign that the claim's sense gives it.
    fn signed(value: f64, sign: f64) -> Value {
        Value::of([value * sign, 0.0], [value, 0.0])
    }

    fn on(self, member: MemberId, at: Option<f64>) -> Value {
        Value { on: Some(member), at, ..self }
    }

    pub fn place(&self) -> Option<(MemberId, f64)> {
        Some((self.on?, self.at?))
    }

    /// How large what was found is, whatever the claim's sense.
    pub fn found_size(&self) -> f64 {
        self.found[0].hypot(self.found[1])
    }

    pub fn size(&self) -> f64 {
        self.numbers[0].hypot(self.numbers[1])
    }
}

impl Reach {
    /// The value to tell where this one decides: where a size is claimed that
    /// is met on the other side, or nothing is on the side that is named, the
    /// other side tells more.
    pub fn tells_more(&self, claim: &ValueClaim, decides: &Value, holds: bool, noise: f64) -> Value {
        let Reach::Between { least, most } = self else { return decides.clone() };
        let is_least = std::ptr::eq(decides, least);
        let other = if is_least { most } else { least };
        let is_one = claim.relation == Relation::Equals && claim.subject.vector.is_none();
        let claimed = if is_one { claim.claimed()[0] } else { 0.0 };
        let within = claim.figures.map_or(0.0, |[own, _]| own).max(claimed.abs() * COMPUTED);
        let is_turned = !holds && claimed != 0.0 && (other.numbers[0] + claimed).abs() <= within * (1.0 + SAME);
        let is_nothing = decides.size() <= noise && other.size() > noise;
        if is_turned || is_nothing { other.clone() } else { decides.clone() }
    }
}

/// The direction a result counts in, of length one.
pub fn direction_of(subject: &ClaimSubject) -> Option<[f64; 2]> {
    let [dx, dy] = subject.component.as_ref()?.direction.each_ref().map(Number::to_f64);
    let length = dx.hypot(dy);
    Some([dx / length, dy / length])
}

/// A bar or a cable: it carries a force along itself and nothing else.
pub fn is_bar(structure: &Structure, member: MemberId) -> bool {
    structure.members[member].kind != MemberKind::Beam
}

/// Whether the axial force in a member varies along it.
pub fn is_axial_varying(structure: &Structure, member: MemberId, result: &CaseResult) -> bool {
    if is_bar(structure, member) || !result.spans.contains_key(&member) {
        return false;
    }
    let [most, least] = result.diagram(structure, member).extremes(Inside::Axial);
    most.value - least.value > ZERO_SHARE * result.largest
}

/// Every part of what a claim is about in one result, at least one.
pub fn values(structure: &Structure, subject: &ClaimSubject, source: Source<'_>) -> Result<Vec<Part>, NotKnown> {
    let lookup = Lookup { structure, subject };
    let whole = |reach: Reach| vec![Part { member: None, sides: vec![reach] }];
    let in_case = match source {
        Source::Case(result) => Ok(result),
        Source::Train(_) => Err(NotKnown::Travelling),
    };
    Ok(match &subject.of {
        ResultOf::Reaction(id) | ResultOf::Couple(id) => whole(match source {
            Source::Case(result) => Reach::One(lookup.reaction(*id, &result.reactions[*id])),
            Source::Train(result) => lookup.reaction_range(*id, result),
        }),
        ResultOf::Inside(inside, Chain { path, at: Some(at) }) => {
            vec![Part { member: None, sides: lookup.sections(*inside, path, at.to_f64(), source) }]
        }
        ResultOf::Inside(Inside::Axial, Chain { path, at: None }) => {
            let part = |own: &(MemberId, Passage)| {
                let reach = lookup.axial(*own, source)?;
                Some(Part { member: Some(*own), sides: vec![reach] })
            };
            path.iter().filter_map(part).collect()
        }
        ResultOf::Inside(inside @ (Inside::Shear | Inside::Moment), Chain { path, at: None }) => {
            let reach = lookup.along(*inside, path, source).ok_or(NotKnown::NoResult)?;
            let member = if let [only] = path.as_slice() { Some(*only) } else { None };
            vec![Part { member, sides: vec![reach] }]
        }
        ResultOf::Movement(joint) => {
            let moved = in_case?.displacements.as_ref().ok_or(NotKnown::Movement)?[*joint];
            whole(Reach::One(lookup.moved([moved.dx, moved.dy])))
        }
        ResultOf::Deflection(chain) => whole(lookup.deflection(chain, in_case?).ok_or(NotKnown::Movement)?),
        ResultOf::Rotation(joint) => {
            let turn = in_case?.displacements.as_ref().and_then(|all| all[*joint].turn).ok_or(NotKnown::Rotation)?;
            whole(Reach::One(Value::signed(turn, lookup.turn_sign())))
        }
    })
}

/// The subject of a claim, to be looked up in results.
#[derive(Clone, Copy)]
struct Lookup<'a> {
    structure: &'a Structure,
    subject: &'a ClaimSubject,
}

impl Lookup<'_> {
    /// The sign of a counterclockwise turn in the claim's own sense.
    fn turn_sign(self) -> f64 {
        let is_clockwise = match self.subject.sense {
            Some(sense) => sense == Sense::Clockwise,
            None => self.subject.positive == Turn::Clockwise,
        };
        if is_clockwise { -1.0 } else { 1.0 }
    }

    fn is_couple(self) -> bool {
        matches!(self.subject.of, ResultOf::Couple(_))
    }

    fn reaction(self, id: SupportId, reaction: &Reaction) -> Value {
        if self.is_couple() {
            return Value::signed(reaction.m.unwrap_or(0.0), self.turn_sign());
        }
        let force = reaction.force();
        let [fx, fy] = force;
        match (direction_of(self.subject), self.structure.supports[id].roller()) {
            (Some([dx, dy]), _) => Value::signed(fx * dx + fy * dy, 1.0),
            (None, _) if self.subject.vector.is_some() => Value::of(force, force),
            // A size without a direction: what a roller pushes, or the resultant.
            (None, Some(roller)) => Value::of([push(roller, reaction), 0.0], force),
            (None, None) => Value::of([fx.hypot(fy), 0.0], force),
        }
    }

    fn reaction_range(self, id: SupportId, result: &TravelResult) -> Reach {
        let ranges = result.reactions[id];
        if self.is_couple() {
            let sign = self.turn_sign();
            let range = ranges.m.unwrap_or_default().times(sign);
            return between(range, |peak| Value::of([peak.value, 0.0], [peak.value * sign, 0.0]));
        }
        let force = |peak: Peak| peak.train.map_or([0.0; 2], |train| result.reaction(id, train).force());
        if let Some(direction) = direction_of(self.subject) {
            let range = result.range(self.structure, Probe::Reaction(id, direction));
            return between(range, |peak| Value::signed(peak.value, 1.0));
        }
        if self.subject.vector.is_some() {
            // Both components: in the position of the largest reaction.
            let numbers = force(ranges.size);
            return Reach::One(Value { train: ranges.size.train, ..Value::of(numbers, numbers) });
        }
        let range = ranges.push.unwrap_or(Range { least: Peak::default(), most: ranges.size });
        between(range, |peak| Value::of([peak.value, 0.0], force(peak)))
    }

    /// The axial force of one member; where loads act along a beam, all along it.
    fn axial(self, own: (MemberId, Passage), source: Source<'_>) -> Option<Reach> {
        let (member, _) = own;
        match source {
            Source::Case(result) if !is_axial_varying(self.structure, member, result) => {
                let sign = self.section_sign(Inside::Axial, member, Passage::Forward);
                Some(Reach::One(Value::signed(result.axial[member], sign).on(member, None)))
            }
            _ => self.along(Inside::Axial, &[own], source),
        }
    }

    /// The extremes of an internal force all along a chain.
    fn along(self, inside: Inside, path: &[(MemberId, Passage)], source: Source<'_>) -> Option<Reach> {
        let mut reach: Option<Reach> = None;
        for (member, passage) in path {
            let sign = self.section_sign(inside, *member, *passage);
            let value =
                |value: f64, at: f64, train| Value { train, ..Value::signed(value, sign).on(*member, Some(at)) };
            let [most, least] = match source {
                Source::Case(result) => {
                    let extremes = result.diagram(self.structure, *member).extremes(inside);
                    extremes.map(|extreme| value(extreme.value, extreme.at, None))
                }
                Source::Train(result) => {
                    let bending = result.members[*member].bending.unwrap_or_default();
                    let range = match inside {
                        Inside::Axial => result.members[*member].axial,
                        Inside::Shear => bending.shear,
                        Inside::Moment => bending.moment,
                    };
                    [range.most, range.least].map(|peak| value(peak.value, peak.at, peak.train))
                }
            };
            let (least, most) = if sign < 0.0 { (most, least) } else { (least, most) };
            reach = Some(wider(reach, least, most));
        }
        reach
    }

    /// What is met on both sides of a place; under a train the ranges, which
    /// within a member are one.
    fn sections(self, inside: Inside, path: &[(MemberId, Passage)], at: f64, source: Source<'_>) -> Vec<Reach> {
        let sides = [Side::Before, Side::After];
        let sides = sides.into_iter().filter_map(|side| Some((side, place_on(self.structure, path, at, side)?)));
        let result = match source {
            Source::Case(result) => result,
            Source::Train(result) => {
                let mut sides: Vec<_> = sides.map(|(_, place)| place).collect();
                sides.dedup_by_key(|(member, ..)| *member);
                let range = |(member, passage, local)| {
                    let sign = self.section_sign(inside, member, passage);
                    let range = result.range(self.structure, Probe::Section(member, local, inside));
                    let value = |peak: Peak| Value::of([peak.value, 0.0], [peak.value * sign, 0.0]).on(member, None);
                    between(range.times(sign), value)
                };
                return sides.into_iter().map(range).collect();
            }
        };
        let value = |(side, (member, passage, place))| {
            let facing = match (side, passage) {
                (Side::Before, Passage::Forward) | (Side::After, Passage::Backward) => Side::Before,
                _ => Side::After,
            };
            let value = result.diagram(self.structure, member).at(place, facing).of(inside);
            (value * self.section_sign(inside, member, passage), member, value)
        };
        let both: Vec<(f64, MemberId, f64)> = sides.map(value).collect();
        let Some((_, member, value)) = both.first().copied() else { return Vec::new() };
        // Both sides of a jump are told, whichever decides.
        let beyond = both.get(1).map(|(_, member, value)| (*member, *value));
        let told = |signed: f64| Value { beyond, ..Value::of([signed, 0.0], [value, 0.0]).on(member, None) };
        both.iter().map(|(signed, ..)| Reach::One(told(*signed))).collect()
    }

    /// A movement, metres.
    fn moved(self, [x, y]: [f64; 2]) -> Value {
        match direction_of(self.subject) {
            Some([dx, dy]) => Value::signed(x * dx + y * dy, 1.0),
            None => Value::of(if self.subject.vector.is_some() { [x, y] } else { [x.hypot(y), 0.0] }, [x, y]),
        }
    }

    /// How a place of a chain moves, or all of it; `None` where stiffness is not known.
    fn deflection(self, chain: &Chain, result: &CaseResult) -> Option<Reach> {
        let structure = self.structure;
        if let Some(at) = &chain.at {
            let (member, _, place) = place_on(structure, &chain.path, at.to_f64(), Side::Before)?;
            let curves = result.deflection(structure, member)?;
            return Some(Reach::One(self.moved(spans::global(structure, member, displacement(&curves, place)))));
        }
        let mut reach: Option<Reach> = None;
        for (member, _) in &chain.path {
            let curves = result.deflection(structure, *member)?;
            let at = |extreme: diagram::Extreme| {
                let moved = spans::global(structure, *member, displacement(&curves, extreme.at));
                self.moved(moved).on(*member, Some(extreme.at))
            };
            reach = Some(match direction_of(self.subject) {
                Some(direction) => {
                    let towards = spans::local(structure, *member, direction);
                    let [most, least] = diagram::extremes_towards(&curves, towards);
                    wider(reach, at(least), at(most))
                }
                // The place that moves farthest, whichever way.
                None => {
                    let own = at(diagram::farthest(&curves));
                    match reach {
                        Some(Reach::One(known)) if known.size() >= own.size() => Reach::One(known),
                        _ => Reach::One(own),
                    }
                }
            });
        }
        reach
    }

    /// The sign by which a section's value is compared: naming the member the
    /// other way turns the moment's sign, not the shear's. A positive moment is
    /// tension on the right-hand side looking along the member as the structure
    /// names it.
    fn section_sign(self, inside: Inside, member: MemberId, passage: Passage) -> f64 {
        let sense = self.subject.sense;
        if inside != Inside::Moment {
            return if sense == Some(Sense::Compression) { -1.0 } else { 1.0 };
        }
        let [dx, dy] = self.structure.member_vector(member);
        let right = [dy, -dx];
        let towards = |x: f64, y: f64| if right[0] * x + right[1] * y >= 0.0 { 1.0 } else { -1.0 };
        match sense {
            Some(Sense::TensionBelow | Sense::Sagging) => towards(0.0, -1.0),
            Some(Sense::TensionAbove | Sense::Hogging) => towards(0.0, 1.0),
            Some(Sense::TensionLeft) => towards(-1.0, 0.0),
            Some(Sense::TensionRight) => towards(1.0, 0.0),
            _ if passage == Passage::Backward => -1.0,
            _ => 1.0,
        }
    }
}

fn between(range: Range, value: impl Fn(Peak) -> Value) -> Reach {
    let at = |peak: Peak| Value { train: peak.train, ..value(peak) };
    Reach::Between { least: at(range.least), most: at(range.most) }
}

/// Of two equal ones the first along the chain.
fn wider(reach: Option<Reach>, low: Value, high: Value) -> Reach {
    match reach {
        Some(Reach::Between { least, most }) => Reach::Between {
            least: if low.numbers[0] < least.numbers[0] { low } else { least },
            most: if high.numbers[0] > most.numbers[0] { high } else { most },
        },
        _ => Reach::Between { least: low, most: high },
    }
}

/// The member a place along a chain falls on, and the distance from the
/// member's own first-named joint; `side` tells which of two at a joint.
fn place_on(
    structure: &Structure,
    path: &[(MemberId, Passage)],
    at: f64,
    side: Side,
) -> Option<(MemberId, Passage, f64)> {
    let mut passed = 0.0;
    for (index, (member, passage)) in path.iter().enumerate() {
        let length = structure.member_length(*member);
        let (end, near) = (passed + length, ROUNDED * length);
        let on = match side {
            Side::Before => at <= end + near,
            Side::After => at < end - near,
        };
        if on || index + 1 == path.len() {
            let local = (at - passed).clamp(0.0, length);
            return Some((*member, *passage, if *passage == Passage::Forward { local } else { length - local }));
        }
        passed = end;
    }
    None
}
