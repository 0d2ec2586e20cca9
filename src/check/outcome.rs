//! What a result says of a claim: the values it is about, and whether they are
//! those claimed. One comparison serves cases, combinations, travelling loads,
//! mark sheets and slips.
//!
//! Must not know: how forces are found, diagnostics.

mod found;
mod values;

use std::cell::OnceCell;

use crate::base::MemberId;
use crate::base::tolerances::{DUST, SAME, STILL};
use crate::check::{loads, words};
use crate::quantity::format::{Figures, MOST_FIGURES};
use crate::statics::diagram::largest_deflection;
use crate::statics::{CaseResult, TravelResult, ZERO_SHARE};
use crate::structure::{ClaimSubject, Inside, Passage, ResultOf, Structure, Tolerance, ValueClaim};
use crate::syntax::tree::Relation;

pub use found::tension_side;
use values::{Part, Reach, values};
pub use values::{Value, is_axial_varying};

/// Figures of a page that states none.
const USUAL_FIGURES: usize = 3;

/// How a value counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// In the claim's sense: what acts the other way is negative.
    InSense,
    /// By its size, whichever way it acts.
    BySize,
}

impl Counted {
    fn of(self, numbers: [f64; 2]) -> [f64; 2] {
        if self == Counted::BySize { numbers.map(f64::abs) } else { numbers }
    }
}

/// Whether a value is as claimed. `tolerance` is how far off it may be where it
/// is claimed to be equal; what is no larger than `noise` is zero.
pub fn compare(value: f64, relation: Relation, counted: Counted, claimed: f64, tolerance: f64, noise: f64) -> bool {
    let value = if counted == Counted::BySize { value.abs() } else { value };
    let settled = if value.abs() <= noise { 0.0 } else { value };
    let (near, rounding) = (noise * DUST, claimed.abs() * SAME);
    // Rounding in the claim's own tolerance is not held against it.
    let is_near = |value: f64| (value - claimed).abs() <= tolerance * (1.0 + SAME) + near;
    match relation {
        Relation::Equals => is_near(settled) || is_near(value),
        Relation::AtMost => settled <= claimed + rounding + near,
        Relation::AtLeast => settled + rounding + near >= claimed,
    }
}

/// What is compared with claims: a case or combination, or all positions of a train.
#[derive(Clone, Copy, Debug)]
pub enum Source<'a> {
    Case(&'a CaseResult),
    Train(&'a TravelResult),
}

/// A result that claims are compared with, and what counts as zero in it.
#[derive(Debug)]
pub struct Gauge<'a> {
    pub structure: &'a Structure,
    pub source: Source<'a>,
    extent: OnceCell<f64>,
    moment: OnceCell<f64>,
    movement: OnceCell<f64>,
}

/// What a claim meets in one result.
#[derive(Clone, Debug)]
pub struct Outcome<'m> {
    pub gauge: &'m Gauge<'m>,
    pub claim: &'m ValueClaim,
    pub holds: bool,
    /// The value that decides.
    pub value: Value,
    /// The member of a chain that decides, where the claim is on each.
    pub member: Option<(MemberId, Passage)>,
    /// What counts as zero.
    pub noise: f64,
    /// The figures that tell a value that is not as claimed from the claimed one.
    pub figures: Figures,
}

/// Why a claim cannot be judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotKnown {
    /// Some stiffness is not given.
    Movement,
    /// No beam end is held at the joint, or some stiffness is not given.
    Rotation,
    /// Movements under a travelling load are not worked out.
    Travelling,
    /// The result is not what happens: of what it cannot be.
    Impossible(&'static str),
    NoResult,
}

impl NotKnown {
    pub fn words(self) -> String {
        let takes = match self {
            NotKnown::Movement => ": it takes the stiffness of every member",
            NotKnown::Rotation => ": it takes a beam end held at the joint and the stiffness of every member",
            NotKnown::Impossible(why) => return format!("not known: {why}"),
            NotKnown::Travelling | NotKnown::NoResult => "",
        };
        format!("not known{takes}")
    }
}

impl<'a> Gauge<'a> {
    pub fn of(structure: &'a Structure, source: Source<'a>) -> Gauge<'a> {
        let [extent, moment, movement] = [OnceCell::new(), OnceCell::new(), OnceCell::new()];
        Gauge { structure, source, extent, moment, movement }
    }

    /// Why the result is not what happens, where a cable pushes or a one-way
    /// roller pulls.
    pub fn fault(&self) -> Option<&'static str> {
        match self.source {
            Source::Case(result) => words::impossible(&result.slack, &result.lifted),
            Source::Train(result) => words::impossible(&result.slack, &result.lifted),
        }
    }

    /// ` under wind`, ` under crane`; nothing where there is one case only.
    pub fn under(&self) -> String {
        match self.source {
            Source::Case(result) => loads::under(self.structure, result.subject),
            Source::Train(result) => format!(" under {}", self.structure.travel_name(result.travel)),
        }
    }

    /// Judges a claim.
    pub fn judge<'m>(&'m self, claim: &'m ValueClaim) -> Result<Outcome<'m>, NotKnown> {
        let parts = values(self.structure, &claim.subject, self.source)?;
        let noise = self.noise(&claim.subject);
        let is_larger = |a: &Outcome, b: &Outcome| a.value.found_size() > b.value.found_size();
        let mut told: Option<Outcome> = None;
        for part in &parts {
            let met = self.part(claim, part, noise).ok_or(NotKnown::NoResult)?;
            // A limit is told by the member that exceeds it most.
            let tells_more = |known: &Outcome| match (known.holds, met.holds) {
                (true, false) => true,
                (false, false) => claim.relation == Relation::AtMost && is_larger(&met, known),
                (true, true) => is_larger(&met, known),
                (false, true) => false,
            };
            if told.as_ref().is_none_or(tells_more) {
                told = Some(met);
            }
        }
        told.ok_or(NotKnown::NoResult)
    }

    fn part<'m>(&'m self, claim: &'m ValueClaim, part: &Part, noise: f64) -> Option<Outcome<'m>> {
        let is_met = |reach: &&Reach| {
            let (value, counted) = governing(claim, reach);
            holds(claim, value, counted, noise)
        };
        let (mut met, mut failing) = (part.sides.iter().filter(is_met), part.sides.iter().filter(|side| !is_met(side)));
        let (met, failing) = (met.next(), failing.next());
        // At a jump a value may be about either side; a limit holds on both.
        let (holds, side) = match (claim.relation, met, failing) {
            (Relation::Equals, Some(side), _) => (true, side),
            (_, _, Some(side)) => (false, side),
            (_, Some(side), None) => (true, side),
            (_, None, None) => return None,
        };
        let (value, _) = governing(claim, side);
        let value = side.tells_more(claim, value, holds, noise);
        let figures = if holds { self.structure.figures } else { self.telling(claim, part, noise) };
        Some(Outcome { gauge: self, claim, holds, value, member: part.member, noise, figures })
    }

    /// At least the figures of the page, and as many as tell what was found
    /// from what is claimed.
    fn telling(&self, claim: &ValueClaim, part: &Part, noise: f64) -> Figures {
        let own = self.structure.figures;
        let unit = words::unit_of(self.structure, claim.subject.of.dimension()).unit.factor.to_f64();
        let shown = |figures: Figures, numbers: [f64; 2]| numbers.map(|number| figures.result(number / unit));
        let claimed = claim.claimed();
        let is_told = |figures: &Figures| {
            part.sides.iter().all(|side| {
                let (value, counted) = governing(claim, side);
                holds(claim, value, counted, noise)
                    || shown(*figures, counted.of(value.numbers)) != shown(*figures, claimed)
            })
        };
        let more = own.stated().unwrap_or(USUAL_FIGURES) + 1..=MOST_FIGURES;
        let mut more = std::iter::once(own).chain(more.map(|figures| Figures::new(Some(figures))));
        more.find(is_told).unwrap_or(Figures::new(Some(MOST_FIGURES)))
    }

    /// What counts as zero for a claim: a billionth of the largest result of
    /// its kind.
    fn noise(&self, subject: &ClaimSubject) -> f64 {
        match subject.of {
            ResultOf::Inside(Inside::Moment, _) | ResultOf::Couple(_) => self.of_moments(),
            ResultOf::Deflection(_) | ResultOf::Movement(_) => self.of_movements(),
            ResultOf::Rotation(_) => self.of_movements() / self.extent(),
            ResultOf::Reaction(_) | ResultOf::Inside(Inside::Axial | Inside::Shear, _) => ZERO_SHARE * self.largest(),
        }
    }

    fn largest(&self) -> f64 {
        match self.source {
            Source::Case(result) => result.largest,
            Source::Train(result) => result.largest,
        }
    }

    fn extent(&self) -> f64 {
        *self.extent.get_or_init(|| self.structure.size())
    }

    /// Of moments, at least of the largest force over the size of the structure.
    fn of_moments(&self) -> f64 {
        *self.moment.get_or_init(|| {
            let over_all = self.largest() * self.extent();
            let largest = match self.source {
                Source::Case(result) => {
                    let ends = result.moments.iter().flatten().copied();
                    let couples = result.reactions.iter().filter_map(|reaction| reaction.m);
                    ends.chain(couples).map(f64::abs).fold(over_all, f64::max)
                }
                Source::Train(_) => over_all,
            };
            ZERO_SHARE * largest
        })
    }

    /// Of movements, those between joints too.
    fn of_movements(&self) -> f64 {
        *self.movement.get_or_init(|| {
            let still = STILL * self.extent();
            let Source::Case(result) = self.source else { return still };
            let joints = result.displacements.iter().flatten().map(|moved| moved.dx.hypot(moved.dy));
            let is_bent = |(id, ends): &(MemberId, &[f64; 2])| **ends != [0.0; 2] || result.spans.contains_key(id);
            let between = result.moments.entries().filter(is_bent).filter_map(|(id, _)| {
                let curves = result.deflection(self.structure, id)?;
                Some(largest_deflection(&curves).value.abs())
            });
            let largest = joints.chain(between).fold(0.0, f64::max);
            still.max(ZERO_SHARE * largest)
        })
    }
}

/// The numbers a claim is compared with in one result, in SI units, in its own
/// sense: one, or the two components of a vector (else the second is zero).
pub fn numbers(structure: &Structure, claim: &ValueClaim, result: &CaseResult) -> Option<[f64; 2]> {
    let parts = values(structure, &claim.subject, Source::Case(result)).ok()?;
    let claimed = claim.claimed();
    let each = parts.first()?.sides.iter().map(|side| {
        let (value, counted) = governing(claim, side);
        counted.of(value.numbers)
    });
    let off = |[x, y]: [f64; 2]| (x - claimed[0]).hypot(y - claimed[1]);
    each.min_by(|a, b| off(*a).total_cmp(&off(*b)))
}

/// The value that decides, and how it counts. Where there are several, along a
/// chain or under a train: the most in the claim's sense; the least where a
/// minus names the other; the largest in size where nothing names one.
fn governing<'r>(claim: &ValueClaim, reach: &'r Reach) -> (&'r Value, Counted) {
    let by_size = claim.relation != Relation::Equals && !claim.subject.has_sense();
    let (least, most) = match reach {
        Reach::One(value) => return (value, if by_size { Counted::BySize } else { Counted::InSense }),
        Reach::Between { least, most } => (least, most),
    };
    let larger = if least.size() > most.size() { least } else { most };
    let [claimed, _] = claim.claimed();
    let claimed = if claim.subject.vector.is_some() { 0.0 } else { claimed };
    // A number along an axis has a sign of its own, which zero has not.
    let is_sided = claim.subject.has_sense() || claim.subject.component.is_some() && claimed != 0.0;
    match claim.relation {
        Relation::Equals if claimed < 0.0 => (least, Counted::InSense),
        _ if by_size || !is_sided => (larger, Counted::BySize),
        _ => (most, Counted::InSense),
    }
}

fn holds(claim: &ValueClaim, value: &Value, counted: Counted, noise: f64) -> bool {
    let ([x, y], [cx, cy]) = (value.numbers, claim.claimed());
    let is = |value, claimed, tolerance| compare(value, claim.relation, counted, claimed, tolerance, noise);
    match claim.tolerance {
        Tolerance::Each([within, _]) if claim.subject.vector.is_none() => is(x, cx, within),
        Tolerance::Each([tx, ty]) => is(x, cx, tx) && is(y, cy, ty),
        Tolerance::Length(within) => is((x - cx).hypot(y - cy), 0.0, within),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_acts_the_other_way_is_less_than_nothing() {
        use Counted::{BySize, InSense};
        let limit = |value, relation, counted, claimed| compare(value, relation, counted, claimed, 0.0, 1e-9);
        // 5 down against limits upwards.
        assert!(limit(-5.0, Relation::AtMost, InSense, 2.0) && !limit(-5.0, Relation::AtLeast, InSense, 2.0));
        assert!(!limit(-5.0, Relation::AtMost, BySize, 2.0) && limit(-5.0, Relation::AtLeast, BySize, 2.0));
        // Dust is nothing.
        assert!(limit(1e-10, Relation::AtMost, InSense, 0.0) && limit(-1e-10, Relation::AtLeast, InSense, 0.0));
        assert!(!limit(1e-8, Relation::AtMost, InSense, 0.0) && !limit(-1e-8, Relation::AtLeast, InSense, 0.0));
    }

    #[test]
    fn a_claimed_zero_is_met_by_dust_only_and_a_small_value_by_its_own_figures() {
        let is =
            |value, claimed, tolerance| compare(value, Relation::Equals, Counted::InSense, claimed, tolerance, 1e-6);
        assert!(is(9e-7, 0.0, 0.0) && !is(2e-6, 0.0, 0.0));
        assert!(is(2e-6, 0.0, 5e-6));
        assert!(is(3e-7, 3e-7, 1e-9) && !is(-3e-7, 1e-5, 1e-8));
    }
}
