//! What a result says of a claim: the number it is about, and whether that is
//! the number claimed.
//!
//! Must not know: how forces are found, diagnostics.

mod movements;
mod sections;

use crate::base::{JointId, MemberId};
use crate::quantity::{Dimension, Number, format};
use crate::statics::solve::push;
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::{ClaimPlace, ClaimedValue, Passage, Structure, SupportKind, ValueClaim, VectorTolerance};
use crate::syntax::tree::{ClaimWhat, MemberKind, Relation, Sense};

use super::words;
use movements::{deflection, movement, rotation};
use sections::{bending_anywhere, bending_at, governing, sections};

pub use sections::{is_axial_varying, is_largest_along, moment_sign, place_on, tension_side};

/// Rounding in the claim's own tolerance is not held against it.
pub const SLACK: f64 = 1.0 + 1e-9;

/// What a claim meets in one result.
#[derive(Clone, Debug)]
pub struct Met {
    pub holds: bool,
    pub found: Found,
    /// The member of a chain that decides.
    pub member: Option<(MemberId, Passage)>,
}

/// The number a claim is about, in SI units. `noise` is what counts as zero.
#[derive(Clone, Debug)]
pub enum Found {
    Axial {
        force: f64,
        noise: f64,
    },
    Reaction {
        force: [f64; 2],
        noise: f64,
    },
    /// A reaction of which the size is claimed.
    Resultant {
        force: [f64; 2],
        noise: f64,
    },
    /// The part of a reaction along the claim's own direction.
    Component {
        along: f64,
        direction: [f64; 2],
        noise: f64,
    },
    Couple {
        moment: f64,
        noise: f64,
    },
    /// `at` is metres from the member's first-named joint, where it is told;
    /// `beyond` the other value at a jump, with the member that has it.
    Section {
        what: ClaimWhat,
        member: MemberId,
        value: f64,
        at: Option<f64>,
        beyond: Option<(MemberId, f64)>,
        noise: f64,
    },
    Movement([f64; 2]),
    MovementAlong {
        along: f64,
        direction: [f64; 2],
    },
    Rotation(f64),
    NotKnown(&'static str),
}

/// What a claim on a movement meets where some stiffness is not given.
const UNKNOWN_MOVEMENT: &str = "not known: it takes the stiffness of every member";
const UNKNOWN_ROTATION: &str = "not known: it takes a beam end held at the joint and the stiffness of every member";

impl Met {
    fn of(holds: bool, found: Found) -> Met {
        Met { holds, found, member: None }
    }

    fn not_known(why: &'static str) -> Met {
        Met::of(false, Found::NotKnown(why))
    }
}

impl Found {
    /// In SI units.
    pub fn size(&self) -> f64 {
        match *self {
            Found::Axial { force, .. } => force.abs(),
            Found::Reaction { force: [x, y], .. }
            | Found::Resultant { force: [x, y], .. }
            | Found::Movement([x, y]) => x.hypot(y),
            Found::Component { along, .. } | Found::MovementAlong { along, .. } => along.abs(),
            Found::Couple { moment, .. } => moment.abs(),
            Found::Section { value, .. } => value.abs(),
            Found::Rotation(turn) => turn.abs(),
            Found::NotKnown(_) => f64::INFINITY,
        }
    }

    /// Why it cannot be known, where it cannot.
    pub const fn not_known(&self) -> Option<&'static str> {
        match self {
            Found::NotKnown(why) => Some(why),
            _ => None,
        }
    }

    /// `3.606 kN compression`
    pub fn words(&self, structure: &Structure) -> String {
        let force = |value: f64| words::quantity(structure, value.abs(), Dimension::FORCE);
        match *self {
            Found::Axial { force: axial, noise } if axial.abs() <= noise => "zero".to_owned(),
            Found::Axial { force: axial, .. } => {
                format!("{} {}", force(axial), if axial > 0.0 { "tension" } else { "compression" })
            }
            Found::Reaction { force: [fx, fy], noise } => reaction_words(structure, [fx, fy], noise),
            Found::Resultant { force: [fx, fy], noise } if fx.abs().min(fy.abs()) > noise => {
                format!("{}, {}", force(fx.hypot(fy)), words::way(structure, [fx, fy]))
            }
            Found::Resultant { force, noise } => reaction_words(structure, force, noise),
            Found::Component { along, noise, .. } if along.abs() <= noise => "zero that way".to_owned(),
            Found::Component { along, direction: [dx, dy], .. } => {
                format!("{} {}", force(along), words::way(structure, [dx * along.signum(), dy * along.signum()]))
            }
            Found::Couple { moment, noise } if moment.abs() <= noise => "zero".to_owned(),
            Found::Couple { moment, .. } => {
                let sense = if moment < 0.0 { "cw" } else { "ccw" };
                format!("{} {sense}", words::quantity(structure, moment.abs(), Dimension::MOMENT))
            }
            Found::Section { what, member, .. } if is_bar(structure, member) => {
                let carries = if what == ClaimWhat::Moment { "bending" } else { "shear" };
                format!("zero: {} is a bar and carries no {carries}", structure.member_name(member))
            }
            Found::Section { what, member, value, at, beyond, noise } => {
                let is = section_words(structure, what, member, value, noise);
                if let Some((member, value)) = beyond {
                    return format!("{is} before, {} after", section_words(structure, what, member, value, noise));
                }
                let Some(at) = at.filter(|_| value.abs() > noise) else { return is };
                let at = words::quantity(structure, at, Dimension::LENGTH);
                let name = structure.joint_name(structure.member(member).map_or(JointId(0), |m| m.start));
                format!("{is} at {at} from {name}")
            }
            Found::Movement([x, y]) => {
                format!("{} {}", words::deflection(structure, x.hypot(y)), words::way(structure, [x, y]))
            }
            Found::MovementAlong { along, direction: [dx, dy] } => {
                let towards = words::way(structure, [dx * along.signum(), dy * along.signum()]);
                format!("{} {towards}", words::deflection(structure, along.abs()))
            }
            Found::Rotation(turn) => {
                let sense = if turn < 0.0 { "cw" } else { "ccw" };
                format!("{} rad {sense}", structure.figures.result(turn.abs()))
            }
            Found::NotKnown(why) => why.to_owned(),
        }
    }
}

/// `23.83 kN·m sagging`, `-4.917 kN`; a zero has no sense.
fn section_words(structure: &Structure, what: ClaimWhat, member: MemberId, value: f64, noise: f64) -> String {
    match what {
        _ if value.abs() <= noise => "zero".to_owned(),
        ClaimWhat::Moment => {
            let size = words::quantity(structure, value.abs(), Dimension::MOMENT);
            format!("{size} {}", tension_side(structure, member, value))
        }
        ClaimWhat::Force => Found::Axial { force: value, noise }.words(structure),
        _ => words::quantity(structure, value, Dimension::FORCE),
    }
}

/// A bar or a cable: it carries a force along itself and nothing else.
fn is_bar(structure: &Structure, member: MemberId) -> bool {
    structure.member(member).is_some_and(|member| member.kind != MemberKind::Beam)
}

fn reaction_words(structure: &Structure, [fx, fy]: [f64; 2], noise: f64) -> String {
    if fx.hypot(fy) <= noise {
        return "zero".to_owned();
    }
    if fx.abs() <= noise || fy.abs() <= noise {
        let size = words::quantity(structure, fx.hypot(fy), Dimension::FORCE);
        let straight = if fx.abs() <= noise { [0.0, fy] } else { [fx, 0.0] };
        return format!("{size} {}", words::way(structure, straight));
    }
    let unit = words::units(structure).display_unit(Dimension::FORCE);
    let [x, y] = [fx, fy].map(|part| structure.figures.result(unit.convert(part)));
    format::with_symbol(&format!("({x}, {y})"), &unit.symbol)
}

/// The numbers a claim is compared with in one result, in SI units, its sense
/// taken into their signs: one, or the two components of a vector (else the
/// second is zero). Only of what [`claimed_numbers`] has numbers for.
pub fn numbers(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> Option<[f64; 2]> {
    let one = |value: f64| Some([value, 0.0]);
    let is_vector = matches!(claim.value, ClaimedValue::Vector { .. });
    match (&claim.place, claim.what) {
        (ClaimPlace::Joint(joint), ClaimWhat::Reaction) => {
            let (id, support) = structure.support_at(*joint)?;
            let reaction = result.reactions.get(id.index())?;
            let [fx, fy] = reaction.force();
            if matches!(claim.value, ClaimedValue::Scalar { dimension: Dimension::MOMENT, .. }) {
                return one(turned(claim, reaction.m?));
            }
            match (direction_of(claim), &support.kind) {
                (Some([dx, dy]), _) => one(fx * dx + fy * dy),
                (None, _) if is_vector => Some([fx, fy]),
                (None, SupportKind::Roller(roller)) => one(push(roller, reaction)),
                (None, _) => one(fx.hypot(fy)),
            }
        }
        (ClaimPlace::Members { path, .. }, ClaimWhat::Force) => {
            let (member, _) = path.first()?;
            one(pulled(claim, result.axial.get(member.index()).copied()?))
        }
        (ClaimPlace::Members { path, at: None }, ClaimWhat::Shear | ClaimWhat::Moment) => {
            one(governing(structure, claim, path, result))
        }
        (ClaimPlace::Members { path, at: Some(at) }, ClaimWhat::Shear | ClaimWhat::Moment) => {
            let claimed = claimed_numbers(claim)?[0];
            let sides = sections(structure, claim, path, at.to_f64(), result);
            let nearest = sides.iter().map(|(signed, ..)| *signed);
            one(nearest.min_by(|a, b| (a - claimed).abs().total_cmp(&(b - claimed).abs()))?)
        }
        (place, ClaimWhat::Deflection) => {
            let [x, y] = movement(structure, claim, place, result)?;
            match direction_of(claim) {
                Some([dx, dy]) => one(x * dx + y * dy),
                None if is_vector => Some([x, y]),
                None => one(x.hypot(y)),
            }
        }
        (ClaimPlace::Joint(joint), _) => one(turned(claim, result.displacements.as_ref()?.get(joint.index())?.turn?)),
        _ => None,
    }
}

/// The numbers claimed, as [`numbers`] are compared with them.
pub fn claimed_numbers(claim: &ValueClaim) -> Option<[f64; 2]> {
    match &claim.value {
        ClaimedValue::Zero => None,
        ClaimedValue::Scalar { value, .. } => Some([value.to_f64(), 0.0]),
        ClaimedValue::Vector { value: [x, y], .. } => {
            let (x, y) = (x.to_f64(), y.to_f64());
            Some(direction_of(claim).map_or([x, y], |[dx, dy]| [x * dx + y * dy, 0.0]))
        }
    }
}

/// A turning quantity in the claim's own sense.
fn turned(claim: &ValueClaim, counterclockwise: f64) -> f64 {
    if claim.sense == Some(Sense::Clockwise) { -counterclockwise } else { counterclockwise }
}

/// An axial force in the claim's own sense.
fn pulled(claim: &ValueClaim, axial: f64) -> f64 {
    if claim.sense == Some(Sense::Compression) { -axial } else { axial }
}

/// Judges a claim by one result.
pub fn meet(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> Met {
    match (&claim.place, claim.what) {
        (ClaimPlace::Joint(joint), ClaimWhat::Reaction) => reaction(structure, claim, *joint, result),
        (ClaimPlace::Members { path, at: Some(at) }, ClaimWhat::Force) if are_beams(structure, path) => {
            bending_at(structure, claim, path, at.to_f64(), result)
        }
        (ClaimPlace::Members { path, .. }, ClaimWhat::Force) => forces(structure, claim, path, result),
        (ClaimPlace::Members { path, at }, ClaimWhat::Shear | ClaimWhat::Moment) => match at {
            Some(at) => bending_at(structure, claim, path, at.to_f64(), result),
            None => bending_anywhere(structure, claim, path, result),
        },
        (place, ClaimWhat::Deflection) => deflection(structure, claim, place, result),
        (ClaimPlace::Joint(joint), _) => rotation(claim, *joint, result),
        (ClaimPlace::Members { .. }, _) => Met::not_known(UNKNOWN_ROTATION),
    }
}

fn are_beams(structure: &Structure, path: &[(MemberId, Passage)]) -> bool {
    path.iter().all(|(member, _)| !is_bar(structure, *member))
}

/// A claim on a chain is a claim on each of its members; a limit is told by
/// the one that exceeds it most.
fn forces(structure: &Structure, claim: &ValueClaim, path: &[(MemberId, Passage)], result: &CaseResult) -> Met {
    let mut told: Option<Met> = None;
    for own in path {
        let (member, _) = *own;
        let Some(axial) = result.axial.get(member.index()) else { continue };
        let met = if is_axial_varying(structure, member, result) {
            bending_anywhere(structure, claim, std::slice::from_ref(own), result)
        } else {
            force(claim, *axial, result.largest)
        };
        let met = Met { member: Some(*own), ..met };
        if !met.holds && claim.relation != Relation::AtMost {
            return met;
        }
        let tells_more = |known: &Met| !met.holds && (known.holds || met.found.size() > known.found.size());
        if told.as_ref().is_none_or(tells_more) {
            told = Some(met);
        }
    }
    told.unwrap_or(Met::of(true, Found::Axial { force: 0.0, noise: 0.0 }))
}

/// Noise in a quantity: a billionth of the largest force, or of its moment
/// over the size of the structure.
pub fn noise_of(structure: &Structure, result: &CaseResult, dimension: Dimension) -> f64 {
    let force = ZERO_SHARE * result.largest;
    if dimension == Dimension::FORCE {
        return force;
    }
    let points: Vec<[f64; 2]> = structure.joints.iter().map(|joint| [joint.x.to_f64(), joint.y.to_f64()]).collect();
    force * crate::statics::residual::extent(&points)
}

/// A signed value against a claim whose sense has been taken into its sign.
pub fn bounded(claim: &ValueClaim, value: f64, noise: f64) -> bool {
    match &claim.value {
        ClaimedValue::Zero => value.abs() <= noise,
        ClaimedValue::Scalar { value: claimed, tolerance, .. } => {
            let claimed = claimed.to_f64();
            match (claim.relation, claim.sense) {
                (Relation::Equals, _) => (value - claimed).abs() <= tolerance.0 * SLACK + noise * 1e-3,
                (Relation::AtMost, Some(_)) => value <= claimed.abs() * SLACK,
                (Relation::AtMost, None) => value.abs() <= claimed.abs() * SLACK,
                (Relation::AtLeast, Some(_)) => value * SLACK >= claimed.abs(),
                (Relation::AtLeast, None) => value.abs() * SLACK >= claimed.abs(),
            }
        }
        ClaimedValue::Vector { .. } => false,
    }
}

/// The direction a claim is about, of length one.
fn direction_of(claim: &ValueClaim) -> Option<[f64; 2]> {
    let [dx, dy] = claim.component.as_ref()?.direction.each_ref().map(Number::to_f64);
    let length = dx.hypot(dy);
    Some([dx / length, dy / length])
}

fn vector_holds(
    relation: Relation,
    [x, y]: [f64; 2],
    claimed: &[Number; 2],
    tolerance: &VectorTolerance,
    noise: f64,
) -> bool {
    let [cx, cy] = claimed.each_ref().map(Number::to_f64);
    let length = cx.hypot(cy);
    let along = if length > 0.0 { (x * cx + y * cy) / length } else { 0.0 };
    match (relation, tolerance) {
        (Relation::Equals, VectorTolerance::Components([tx, ty])) => {
            (x - cx).abs() <= tx * SLACK + noise && (y - cy).abs() <= ty * SLACK + noise
        }
        (Relation::Equals, VectorTolerance::Length(within)) => (x - cx).hypot(y - cy) <= within * SLACK,
        (Relation::AtMost, _) => along <= length * SLACK,
        (Relation::AtLeast, _) => along * SLACK >= length,
    }
}

/// A reaction couple.
fn couple(structure: &Structure, claim: &ValueClaim, moment: f64, result: &CaseResult) -> Met {
    let noise = noise_of(structure, result, Dimension::MOMENT);
    Met::of(bounded(claim, turned(claim, moment), noise), Found::Couple { moment, noise })
}

/// A number against a claim.
fn is_right(claim: &ValueClaim, computed: f64, largest: f64) -> bool {
    match &claim.value {
        ClaimedValue::Zero => computed.abs() <= ZERO_SHARE * largest,
        ClaimedValue::Scalar { value, tolerance, .. } => {
            let claimed = value.to_f64();
            let noise = ZERO_SHARE * largest;
            match claim.relation {
                Relation::Equals => (computed - claimed).abs() <= tolerance.0 * SLACK + noise * f64::EPSILON,
                Relation::AtMost => computed.abs() <= claimed.abs() * SLACK,
                Relation::AtLeast => computed.abs() * SLACK >= claimed.abs(),
            }
        }
        ClaimedValue::Vector { .. } => false,
    }
}

fn force(claim: &ValueClaim, axial: f64, largest: f64) -> Met {
    let signed = pulled(claim, axial);
    let holds = match (claim.relation, claim.sense) {
        // A bound with a sense bounds the size on that side: a force of the
        // other sense is below any bound and above none.
        (Relation::AtMost, Some(_)) => signed <= 0.0 || is_right(claim, signed, largest),
        (Relation::AtLeast, Some(_)) => signed >= 0.0 && is_right(claim, signed, largest),
        _ => is_right(claim, signed, largest),
    };
    Met::of(holds, Found::Axial { force: axial, noise: ZERO_SHARE * largest })
}

fn reaction(structure: &Structure, claim: &ValueClaim, joint: JointId, result: &CaseResult) -> Met {
    let support = structure.support_at(joint);
    let found = support.and_then(|(id, support)| Some((support, result.reactions.get(id.index())?)));
    let Some((support, reaction)) = found else { return Met::not_known("not known") };
    if matches!(claim.value, ClaimedValue::Scalar { dimension: Dimension::MOMENT, .. }) {
        return couple(structure, claim, reaction.m.unwrap_or(0.0), result);
    }
    let [fx, fy] = reaction.force();
    let noise = ZERO_SHARE * result.largest;
    if let Some([dx, dy]) = direction_of(claim) {
        let along = fx * dx + fy * dy;
        return Met::of(
            along_holds(claim, along, [dx, dy], result.largest),
            Found::Component { along, direction: [dx, dy], noise },
        );
    }
    let holds = match &claim.value {
        ClaimedValue::Vector { value, tolerance, .. } => {
            vector_holds(claim.relation, [fx, fy], value, tolerance, noise)
        }
        _ => {
            // A size without a direction: what a roller pushes, or the resultant.
            let size = match &support.kind {
                SupportKind::Roller(roller) => push(roller, reaction),
                _ => fx.hypot(fy),
            };
            is_right(claim, size, result.largest)
        }
    };
    let force = [fx, fy];
    Met::of(
        holds,
        match claim.value {
            ClaimedValue::Scalar { .. } => Found::Resultant { force, noise },
            _ => Found::Reaction { force, noise },
        },
    )
}

/// A reaction's part along the claim's direction, of length one.
fn along_holds(claim: &ValueClaim, along: f64, [dx, dy]: [f64; 2], largest: f64) -> bool {
    match &claim.value {
        ClaimedValue::Vector { value: [x, y], tolerance, .. } => {
            // `reaction A.x: 5 kN right`: the claim has its own direction.
            let claimed = x.to_f64() * dx + y.to_f64() * dy;
            let within = match tolerance {
                VectorTolerance::Components([tx, ty]) => tx.max(*ty),
                VectorTolerance::Length(length) => *length,
            };
            match claim.relation {
                Relation::Equals => (along - claimed).abs() <= within * SLACK,
                Relation::AtMost => along.abs() <= claimed.abs() * SLACK,
                Relation::AtLeast => along * claimed.signum() * SLACK >= claimed.abs(),
            }
        }
        // A bound on a direction is a bound on the part that way.
        _ if claim.relation == Relation::AtLeast => along >= 0.0 && is_right(claim, along, largest),
        _ => is_right(claim, along, largest),
    }
}
