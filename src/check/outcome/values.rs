//! The values a claim is about in one result, in the claim's own sense.
//!
//! Must not know: what is claimed of them, beyond the sense and the form.

use crate::base::tolerances::{COMPUTED, ROUNDED, SAME};
use crate::base::{JointId, MemberId, SupportId};
use crate::quantity::Number;
use crate::statics::diagram::{self, Quantity, displacement};
use crate::statics::solve::push;
use crate::statics::travel::{BendingRange, Peak, TrainPosition};
use crate::statics::{CaseResult, Probe, Range, Side, TravelResult, ZERO_SHARE, spans};
use crate::structure::{ClaimPlace, ClaimedValue, Passage, Structure, Support, ValueClaim};
use crate::syntax::tree::{ClaimWhat, MemberKind, Relation, Sense, Turn};

use super::{Source, Unknown};

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

    pub fn is_more_than(&self, noise: f64) -> bool {
        self.found_size() > noise
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
        let claimed = match &claim.value {
            ClaimedValue::Scalar { value, .. } if claim.relation == Relation::Equals => value.to_f64(),
            _ => 0.0,
        };
        let within = claim.figures.map_or(0.0, |[own, _]| own).max(claimed.abs() * COMPUTED);
        let is_turned = !holds && claimed != 0.0 && (other.numbers[0] + claimed).abs() <= within * (1.0 + SAME);
        let is_nothing = decides.size() <= noise && other.size() > noise;
        if is_turned || is_nothing { other.clone() } else { decides.clone() }
    }
}

/// Every part, at least one.
pub fn of(structure: &Structure, claim: &ValueClaim, source: Source<'_>) -> Result<Vec<Part>, Unknown> {
    let whole = |reach: Reach| Ok(vec![Part { member: None, sides: vec![reach] }]);
    match (&claim.place, claim.what) {
        (ClaimPlace::Joint(joint), ClaimWhat::Reaction) => {
            let (id, support) = structure.support_at(*joint).ok_or(Unknown::NoResult)?;
            whole(match source {
                Source::Case(result) => Reach::One(reaction(claim, id, support, result)),
                Source::Train(result) => reaction_range(structure, claim, id, result),
            })
        }
        (ClaimPlace::Members { path, at: Some(at) }, ClaimWhat::Force | ClaimWhat::Shear | ClaimWhat::Moment) => {
            let sides = match source {
                Source::Case(result) => sections(structure, claim, path, at.to_f64(), result),
                Source::Train(result) => section_ranges(structure, claim, path, at.to_f64(), result),
            };
            Ok(vec![Part { member: None, sides }])
        }
        (ClaimPlace::Members { path, at: None }, ClaimWhat::Force) => {
            let part = |own: &(MemberId, Passage)| {
                let reach = axial(structure, claim, *own, source)?;
                Some(Part { member: Some(*own), sides: vec![reach] })
            };
            Ok(path.iter().filter_map(part).collect())
        }
        (ClaimPlace::Members { path, at: None }, ClaimWhat::Shear | ClaimWhat::Moment) => {
            let reach = along(structure, claim, path, source).ok_or(Unknown::NoResult)?;
            let member = if let [only] = path.as_slice() { Some(*only) } else { None };
            Ok(vec![Part { member, sides: vec![reach] }])
        }
        (_, ClaimWhat::Deflection | ClaimWhat::Rotation) if matches!(source, Source::Train(_)) => {
            Err(Unknown::Travelling)
        }
        (place, ClaimWhat::Deflection) => match source {
            Source::Case(result) => whole(movement(structure, claim, place, result).ok_or(Unknown::Movement)?),
            Source::Train(_) => Err(Unknown::Travelling),
        },
        (ClaimPlace::Joint(joint), _) => match source {
            Source::Case(result) => whole(rotation(claim, *joint, result).ok_or(Unknown::Rotation)?),
            Source::Train(_) => Err(Unknown::Travelling),
        },
        (ClaimPlace::Members { .. }, _) => Err(Unknown::Rotation),
    }
}

/// The direction a claim is about, of length one.
pub fn direction_of(claim: &ValueClaim) -> Option<[f64; 2]> {
    let [dx, dy] = claim.component.as_ref()?.direction.each_ref().map(Number::to_f64);
    let length = dx.hypot(dy);
    Some([dx / length, dy / length])
}

/// The sign of a counterclockwise turn in the claim's own sense.
fn turn_sign(claim: &ValueClaim) -> f64 {
    let is_clockwise = match claim.sense {
        Some(sense) => sense == Sense::Clockwise,
        None => claim.positive == Turn::Clockwise,
    };
    if is_clockwise { -1.0 } else { 1.0 }
}

fn reaction(claim: &ValueClaim, id: SupportId, support: &Support, result: &CaseResult) -> Value {
    let reaction = &result.reactions[id];
    if claim.is_couple() {
        return Value::signed(reaction.m.unwrap_or(0.0), turn_sign(claim));
    }
    let force = reaction.force();
    let [fx, fy] = force;
    match (direction_of(claim), support.roller()) {
        (Some([dx, dy]), _) => Value::signed(fx * dx + fy * dy, 1.0),
        (None, _) if claim.is_vector() => Value::of(force, force),
        // A size without a direction: what a roller pushes, or the resultant.
        (None, Some(roller)) => Value::of([push(roller, reaction), 0.0], force),
        (None, None) => Value::of([fx.hypot(fy), 0.0], force),
    }
}

fn between(range: Range, value: impl Fn(Peak) -> Value) -> Reach {
    let at = |peak: Peak| Value { train: peak.train, ..value(peak) };
    Reach::Between { least: at(range.least), most: at(range.most) }
}

fn reaction_range(structure: &Structure, claim: &ValueClaim, id: SupportId, result: &TravelResult) -> Reach {
    let ranges = result.reactions[id];
    if claim.is_couple() {
        let sign = turn_sign(claim);
        let range = ranges.m.unwrap_or_default().times(sign);
        return between(range, |peak| Value::of([peak.value, 0.0], [peak.value * sign, 0.0]));
    }
    let force = |peak: Peak| peak.train.map_or([0.0; 2], |train| result.reaction(id, train).force());
    if let Some(direction) = direction_of(claim) {
        let range = result.range(structure, Probe::Reaction(id, direction));
        return between(range, |peak| Value::signed(peak.value, 1.0));
    }
    if claim.is_vector() {
        // Both components: in the position of the largest reaction.
        let numbers = force(ranges.size);
        return Reach::One(Value { train: ranges.size.train, ..Value::of(numbers, numbers) });
    }
    let range = ranges.push.unwrap_or(Range { least: Peak::default(), most: ranges.size });
    between(range, |peak| Value::of([peak.value, 0.0], force(peak)))
}

/// The axial force of one member; where loads act along a beam, all along it.
fn axial(structure: &Structure, claim: &ValueClaim, own: (MemberId, Passage), source: Source<'_>) -> Option<Reach> {
    let (member, _) = own;
    match source {
        Source::Case(result) if !is_axial_varying(structure, member, result) => {
            let force = result.axial[member];
            let sign = section_sign(structure, claim, member, Passage::Forward);
            Some(Reach::One(Value::signed(force, sign).on(member, None)))
        }
        _ => along(structure, claim, &[own], source),
    }
}

/// The extremes of an internal force all along a chain.
fn along(structure: &Structure, claim: &ValueClaim, path: &[(MemberId, Passage)], source: Source<'_>) -> Option<Reach> {
    let quantity = quantity_of(claim.what);
    let mut reach: Option<Reach> = None;
    for (member, passage) in path {
        let sign = section_sign(structure, claim, *member, *passage);
        let value = |value: f64, at: f64, train| Value { train, ..Value::signed(value, sign).on(*member, Some(at)) };
        let [most, least] = match source {
            Source::Case(result) => {
                let extremes = result.diagram(structure, *member).extremes(quantity);
                extremes.map(|extreme| value(extreme.value, extreme.at, None))
            }
            Source::Train(result) => {
                let range = &result.members[*member];
                let bending = range.bending.unwrap_or(BendingRange::default());
                let range = match quantity {
                    Quantity::Axial => range.axial,
                    Quantity::Shear => bending.shear,
                    Quantity::Moment => bending.moment,
                };
                [range.most, range.least].map(|peak| value(peak.value, peak.at, peak.train))
            }
        };
        let (least, most) = if sign < 0.0 { (most, least) } else { (least, most) };
        reach = Some(wider(reach, least, most));
    }
    reach
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

/// The values on both sides of a place.
fn sections(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    at: f64,
    result: &CaseResult,
) -> Vec<Reach> {
    let side = |side| {
        let (member, passage, place) = place_on(structure, path, at, side)?;
        let facing = match (side, passage) {
            (Side::Before, Passage::Forward) | (Side::After, Passage::Backward) => Side::Before,
            _ => Side::After,
        };
        let section = result.diagram(structure, member).at(place, facing);
        let value = match quantity_of(claim.what) {
            Quantity::Moment => section.moment,
            Quantity::Axial => section.axial,
            Quantity::Shear => section.shear,
        };
        Some((value * section_sign(structure, claim, member, passage), member, value))
    };
    let both: Vec<(f64, MemberId, f64)> = [Side::Before, Side::After].into_iter().filter_map(side).collect();
    let [Some((_, member, value)), other] = [0, 1].map(|index| both.get(index).copied()) else { return Vec::new() };
    // Both sides of a jump are told, whichever decides.
    let beyond = other.map(|(_, member, value)| (member, value));
    let told = |signed: f64| Value { beyond, ..Value::of([signed, 0.0], [value, 0.0]).on(member, None) };
    both.iter().map(|(signed, ..)| Reach::One(told(*signed))).collect()
}

/// The ranges on both sides of a place under a train; within a member they are one.
fn section_ranges(
    structure: &Structure,
    claim: &ValueClaim,
    path: &[(MemberId, Passage)],
    at: f64,
    result: &TravelResult,
) -> Vec<Reach> {
    let quantity = quantity_of(claim.what);
    let mut sides = Vec::new();
    let mut before = None;
    for side in [Side::Before, Side::After] {
        let Some((member, passage, local)) = place_on(structure, path, at, side) else { continue };
        if before.replace(member) == Some(member) {
            continue;
        }
        let sign = section_sign(structure, claim, member, passage);
        let range = result.range(structure, Probe::Section(member, local, quantity)).times(sign);
        let value = |peak: Peak| Value::of([peak.value, 0.0], [peak.value * sign, 0.0]).on(member, None);
        sides.push(between(range, value));
    }
    sides
}

/// How the claimed place moves, metres; `None` where stiffness is not known.
fn movement(structure: &Structure, claim: &ValueClaim, place: &ClaimPlace, result: &CaseResult) -> Option<Reach> {
    let direction = direction_of(claim);
    let value = |[x, y]: [f64; 2]| match direction {
        Some([dx, dy]) => Value::signed(x * dx + y * dy, 1.0),
        None => Value::of(if claim.is_vector() { [x, y] } else { [x.hypot(y), 0.0] }, [x, y]),
    };
    let path = match place {
        ClaimPlace::Joint(joint) => {
            let moved = result.displacements.as_ref()?[*joint];
            return Some(Reach::One(value([moved.dx, moved.dy])));
        }
        ClaimPlace::Members { path, at: Some(at) } => {
            let (member, _, place) = place_on(structure, path, at.to_f64(), Side::Before)?;
            let curves = result.deflection(structure, member)?;
            let moved = spans::global(structure, member, displacement(&curves, place));
            return Some(Reach::One(value(moved)));
        }
        ClaimPlace::Members { path, at: None } => path,
    };
    let mut reach: Option<Reach> = None;
    for (member, _) in path {
        let curves = result.deflection(structure, *member)?;
        let at = |extreme: diagram::Extreme| {
            let moved = spans::global(structure, *member, displacement(&curves, extreme.at));
            value(moved).on(*member, Some(extreme.at))
        };
        reach = Some(match direction {
            Some(direction) => {
                let [most, least] = diagram::extremes_towards(&curves, spans::local(structure, *member, direction));
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

fn rotation(claim: &ValueClaim, joint: JointId, result: &CaseResult) -> Option<Reach> {
    let turn = result.displacements.as_ref()?[joint].turn?;
    Some(Reach::One(Value::signed(turn, turn_sign(claim))))
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

/// A moment's sign from the claim's sense word for a member passed this way;
/// positive is tension on the right-hand side looking along the member as the
/// structure names it.
fn moment_sign(structure: &Structure, sense: Option<Sense>, member: MemberId, passage: Passage) -> f64 {
    let [dx, dy] = structure.member_vector(member);
    // The right-hand side of the member, as named in the structure.
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

/// The sign by which a section's value is compared: naming the member the
/// other way turns the moment's sign, not the shear's.
fn section_sign(structure: &Structure, claim: &ValueClaim, member: MemberId, passage: Passage) -> f64 {
    match claim.what {
        ClaimWhat::Moment => moment_sign(structure, claim.sense, member, passage),
        _ if claim.sense == Some(Sense::Compression) => -1.0,
        _ => 1.0,
    }
}

const fn quantity_of(what: ClaimWhat) -> Quantity {
    match what {
        ClaimWhat::Moment => Quantity::Moment,
        ClaimWhat::Force => Quantity::Axial,
        _ => Quantity::Shear,
    }
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
    let [most, least] = result.diagram(structure, member).extremes(Quantity::Axial);
    most.value - least.value > ZERO_SHARE * result.largest
}
