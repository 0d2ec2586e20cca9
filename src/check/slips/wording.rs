//! Slips in words.
//!
//! Must not know: how a slip is found.

use crate::base::{JointId, MemberId};
use crate::check::words;
use crate::quantity::{Dimension, format};
use crate::statics::{CaseResult, External, ResultPart, Subject, Wanted};
use crate::structure::{
    ClaimPlace, ClaimedValue, ComponentWord, Imposed, LoadKind, LoadPoint, Structure, ValueClaim, VectorForm,
};
use crate::syntax::tree::{Cardinal, ClaimWhat, Measure};

use super::kinds::{Axis, LoadSlip, Slip, Spot, UnitSlip};
use super::loads::Group;
use super::sheet::Told;
use super::spread::is_triangle;
use super::{Explained, Named};

/// Figures of numbers worked out.
const FIGURES: usize = 4;

/// The slip, or the two that may be it, in one sentence.
pub fn explained(
    structure: &Structure,
    claim: &ValueClaim,
    result: &CaseResult,
    claimed: &str,
    groups: &[Group],
    told: &[Told],
) -> Explained {
    let teller = Teller { structure, claim, result, groups };
    let load = |slip: &Slip| match slip {
        Slip::Load(_, index) | Slip::LoadsExchanged(index, _) => groups.get(*index).map(|group| group.origin),
        _ => None,
    };
    let slug = |slip: &Slip| match slip {
        Slip::SenseReversed if teller.is_unsigned() => "sense-unsaid",
        slip => slip.slug(),
    };
    let named = told.iter().map(|told| Named { slug: slug(told.slip), load: load(told.slip) }).collect();
    let clause = |told: &Told| match told.is_reversed {
        true => format!("{}, and {}", teller.clause(told.slip), teller.clause(&Slip::SenseReversed)),
        false => teller.clause(told.slip),
    };
    let text = match told {
        [only] => match teller.alone(only.slip).filter(|_| !only.is_reversed) {
            Some(text) => text,
            None => format!("{claimed} follows when {}.", clause(only)),
        },
        _ => {
            let clauses: Vec<String> = told.iter().map(clause).collect();
            format!("{claimed} follows when either {}.", clauses.join(", or "))
        }
    };
    Explained { named, text }
}

struct Teller<'a> {
    structure: &'a Structure,
    claim: &'a ValueClaim,
    result: &'a CaseResult,
    groups: &'a [Group<'a>],
}

impl Teller<'_> {
    /// A sentence of its own, where the answer was right but for its form.
    fn alone(&self, slip: &Slip) -> Option<String> {
        let structure = self.structure;
        Some(match slip {
            Slip::SenseReversed if self.is_unsigned() => {
                format!("The size is right; without a sense word it is claimed {}.", self.unsigned_sense())
            }
            Slip::SenseReversed => match self.turned_by_minus() {
                Some(word) => format!("The size and `{word}` are right; the minus before them turns `{word}` round."),
                None => format!("The size is right; {}.", self.clause(slip)),
            },
            Slip::WholeForPart(_) if self.claim.component.is_none() => {
                let towards = words::way(self.structure, [self.reaction(ResultPart::X), self.reaction(ResultPart::Y)]);
                format!("The size of the whole reaction is right; it acts {towards}.")
            }
            Slip::PartsExchanged
                if matches!(self.claim.value, ClaimedValue::Vector { form: VectorForm::Components, .. }) =>
            {
                "Both numbers are right; the horizontal and the vertical component are exchanged.".to_owned()
            }
            Slip::PartReversed(axis) => {
                let other = if *axis == Axis::X { Axis::Y } else { Axis::X };
                format!("Both sizes and the {} sense are right; {}.", adjective(other), self.clause(slip))
            }
            Slip::Unit(unit) => format!("{}.", unit_words(structure, *unit, self.claim.what)),
            _ => return None,
        })
    }

    /// Whether a size is claimed that says nothing of its sense, by word or minus.
    fn is_unsigned(&self) -> bool {
        matches!(&self.claim.value, ClaimedValue::Scalar { value, .. } if !value.is_negative())
            && !self.claim.has_sense()
    }

    /// What a size without a sense word stands for.
    fn unsigned_sense(&self) -> &'static str {
        match (self.claim.what, self.claim.component.as_ref().map(|component| component.word)) {
            (ClaimWhat::Force, _) => "as tension",
            (_, Some(ComponentWord::X)) => "as acting right",
            (_, Some(ComponentWord::Y)) => "as acting up",
            (ClaimWhat::Moment, _) => "with tension on the right of the member, looking from the joint named first",
            (ClaimWhat::Rotation, _) => self.claim.positive.words(),
            (ClaimWhat::Reaction, _) if is_couple(self.claim) => self.claim.positive.words(),
            (ClaimWhat::Reaction, _) => "as pushing",
            _ => "as positive",
        }
    }

    /// The sense word that a minus before the claimed size turns round.
    fn turned_by_minus(&self) -> Option<String> {
        let written = self.claim.written.as_ref().filter(|written| written.text.starts_with('-'))?;
        match (&self.claim.value, self.claim.sense) {
            (_, Some(sense)) => Some(sense.words().to_owned()),
            (ClaimedValue::Vector { form: VectorForm::Cardinal(_), .. }, None) => {
                written.text.split_whitespace().last().map(str::to_owned)
            }
            _ => None,
        }
    }

    /// What follows "follows when".
    fn clause(&self, slip: &Slip) -> String {
        let structure = self.structure;
        match slip {
            Slip::SenseReversed if self.is_unsigned() => "its sense is not said".to_owned(),
            Slip::SenseReversed => match self.claim.what {
                ClaimWhat::Force => "tension and compression are exchanged".to_owned(),
                ClaimWhat::Moment => "the side in tension is the other one".to_owned(),
                _ => "the sense is reversed".to_owned(),
            },
            Slip::PartReversed(axis) => format!("the {} component has the other sense", adjective(*axis)),
            Slip::SupportsExchanged(other) => {
                format!("the two supports are exchanged: that is the reaction at {}", structure.joint_name(*other))
            }
            Slip::PartAlone(axis) => {
                let (part, other) = match axis {
                    Axis::X => (ResultPart::Y, Axis::Y),
                    Axis::Y => (ResultPart::X, Axis::X),
                };
                let value = self.reaction(part);
                let towards = match other {
                    Axis::X => [value, 0.0],
                    Axis::Y => [0.0, value],
                };
                let size = words::quantity(structure, value.abs(), Dimension::FORCE);
                format!(
                    "the {} component of the reaction, {size} {}, is forgotten",
                    adjective(other),
                    words::way(structure, towards)
                )
            }
            Slip::WholeForPart(axis) => {
                let size = self.reaction(ResultPart::X).hypot(self.reaction(ResultPart::Y));
                let size = words::quantity(structure, size, Dimension::FORCE);
                format!("the whole reaction, {size}, is taken for its {} component", adjective(*axis))
            }
            Slip::PartsExchanged => "the horizontal and the vertical component are exchanged".to_owned(),
            Slip::MemberPart(axis) => {
                let Some((member, axial)) = self.member() else { return String::new() };
                let [dx, dy] = structure.member_vector(member).map(f64::abs);
                let share = if *axis == Axis::X { dx } else { dy } / dx.hypot(dy);
                format!(
                    "the {} component is taken for the force in {} itself: {} × {}",
                    adjective(*axis),
                    structure.member_name(member),
                    words::quantity(structure, axial.abs(), Dimension::FORCE),
                    structure.figures.ratio(share)
                )
            }
            Slip::MemberSlope => {
                let name = self.member().map_or(String::new(), |(member, _)| structure.member_name(member));
                format!("sine and cosine are exchanged for the slope of {name}")
            }
            Slip::Unit(unit) => unit_words(structure, *unit, self.claim.what).to_lowercase(),
            Slip::CaseOut(case) => {
                format!("{} is left out of {}", structure.case_name(*case), self.combination())
            }
            Slip::FactorForgotten(case) => {
                let factor = self.factors().find(|(own, _)| own == case).map_or(1.0, |(_, factor)| factor);
                format!(
                    "the factor {} of {} is forgotten",
                    format::trimmed(factor, FIGURES),
                    structure.case_name(*case)
                )
            }
            Slip::FactorsExchanged(first, second) => format!(
                "the factors of {} and {} are exchanged",
                structure.case_name(*first),
                structure.case_name(*second)
            ),
            Slip::LoadsExchanged(first, second) => {
                let name = |index: &usize| self.groups.get(*index).map_or(String::new(), |group| self.name(group));
                format!("{} and {} are exchanged", name(first), name(second))
            }
            Slip::FactorsForgotten => format!("the factors of {} are forgotten", self.combination()),
            Slip::Halves => "each support is taken to carry half of the load".to_owned(),
            Slip::RollerUpright(support) => {
                format!("the roller at {} is taken to push straight up", self.support(*support))
            }
            Slip::RollerAlong(support) => format!(
                "the roller at {} is taken to push along the plane it rolls on, not square to it",
                self.support(*support)
            ),
            Slip::Load(slip, index) => self.groups.get(*index).map_or(String::new(), |group| self.load(*slip, group)),
        }
    }

    /// Whether a load's component along an axis comes into the claimed reaction
    /// by the moment equation alone: one square to it, in equilibrium by itself.
    fn is_by_moments(&self, axis: Axis) -> bool {
        let along = match (&self.claim.value, self.claim.component.as_ref().map(|component| component.word)) {
            (_, Some(ComponentWord::X | ComponentWord::Cardinal(Cardinal::Left | Cardinal::Right))) => Some(Axis::X),
            (_, Some(ComponentWord::Y | ComponentWord::Cardinal(_))) => Some(Axis::Y),
            (ClaimedValue::Vector { form: VectorForm::Cardinal(Cardinal::Left | Cardinal::Right), .. }, _) => {
                Some(Axis::X)
            }
            (ClaimedValue::Vector { form: VectorForm::Cardinal(_), .. }, _) => Some(Axis::Y),
            _ => None,
        };
        self.claim.what == ClaimWhat::Reaction
            && along.is_some_and(|along| along != axis)
            && External::of(self.structure).is_some()
    }

    fn support(&self, id: crate::base::SupportId) -> &str {
        self.structure.supports.get(id.index()).map_or("?", |support| self.structure.joint_name(support.joint))
    }

    fn reaction(&self, part: ResultPart) -> f64 {
        let ClaimPlace::Joint(joint) = self.claim.place else { return 0.0 };
        self.structure.support_at(joint).map_or(0.0, |(id, _)| Wanted::Reaction(id, part).of(self.result))
    }

    fn member(&self) -> Option<(MemberId, f64)> {
        let ClaimPlace::Members { path, .. } = &self.claim.place else { return None };
        let (member, _) = path.first()?;
        Some((*member, self.result.axial.get(member.index()).copied()?))
    }

    fn factors(&self) -> impl Iterator<Item = (crate::base::CaseId, f64)> {
        let factors = match self.result.subject {
            Subject::Combo(id) => self.structure.combos.get(id.index()).map(|combo| &combo.factors),
            Subject::Case(_) => None,
        };
        factors.into_iter().flatten().map(|(case, factor)| (*case, factor.to_f64()))
    }

    fn combination(&self) -> &str {
        match self.result.subject {
            Subject::Combo(id) => self.structure.combo_name(id),
            Subject::Case(id) => self.structure.case_name(id),
        }
    }

    fn load(&self, slip: LoadSlip, group: &Group) -> String {
        let name = self.name(group);
        let [x, y] = group.loads.first().and_then(|kind| kind.vector()).unwrap_or_default();
        let unit = self.dimension(group);
        let part = |axis: Axis| match axis {
            Axis::X => format!("{} {}", self.given(x.abs(), unit), words::direction([x, 0.0])),
            Axis::Y => format!("{} {}", self.given(y.abs(), unit), words::direction([0.0, y])),
        };
        match slip {
            LoadSlip::SineCosine => self.exchanged(group, [x, y], unit, &name),
            LoadSlip::Radians => {
                let angle = group.stated.map_or(0.0, |stated| stated.radians.to_degrees());
                format!("the angle of {name} is taken as {} radians, not degrees", format::trimmed(angle, FIGURES))
            }
            LoadSlip::Whole(Axis::X) => format!("the whole of {name} is taken as horizontal"),
            LoadSlip::Whole(Axis::Y) => format!("the whole of {name} is taken as vertical"),
            LoadSlip::PartOut(axis) => {
                let of = if self.is_by_moments(axis) { " of the moment equation" } else { "" };
                format!("the {} component of {name}, {}, is left out{of}", adjective(axis), part(axis))
            }
            LoadSlip::PartReversed(axis) => {
                let own = if axis == Axis::X { [x, 0.0] } else { [0.0, y] };
                format!("the {} component of {name}, {}, {}", adjective(axis), part(axis), other_way(own))
            }
            LoadSlip::Reversed => match group.loads.first() {
                Some(LoadKind::Couple { moment, .. }) => {
                    let (own, other) = ("clockwise", "counterclockwise");
                    let (own, other) = if moment.is_negative() { (own, other) } else { (other, own) };
                    format!("{name} is given the other sense, {other} instead of {own}")
                }
                Some(kind) if kind.vector().is_some() => format!("{name} {}", other_way([x, y])),
                _ => format!("{name} is given the other sign"),
            },
            LoadSlip::Out => format!("{name} is left out"),
            LoadSlip::Twice => format!("{name} is counted twice"),
            LoadSlip::HalfForgotten => format!("{name} is taken as w L, not as w L/2"),
            LoadSlip::InTheMiddle => {
                format!("the resultant of {name} is put at the middle of its length, not at a third")
            }
            LoadSlip::TurnedRound => format!("{name} is turned round, its high end for its low one"),
            LoadSlip::Rectangle => format!("{name} is taken as even, with w L at the middle of its length"),
            LoadSlip::Intensity => {
                let length = words::units(self.structure).length;
                format!("{name} is taken for the total, and not multiplied by its length in {}", length.symbol)
            }
            LoadSlip::HalfIntensity => {
                let length = words::units(self.structure).length;
                format!("half of {name} is taken for the total, and not multiplied by its length in {}", length.symbol)
            }
            LoadSlip::Misplaced(Spot::End(member, end)) => {
                let place = self.member_place(member, end);
                let place = place.strip_prefix("at ").unwrap_or(&place);
                format!("the resultant of {name} is put at an end of the load, {place}, not at its middle")
            }
            LoadSlip::Misplaced(Spot::MiddleOf(member)) => {
                let member = self.structure.member_name(member);
                format!("the resultant of {name} is put at the middle of {member}, not at the middle of the load")
            }
            LoadSlip::WholeSpan => format!("{name} is put on the whole of {}", self.on(group)),
            LoadSlip::OtherLength => match group.loads.first() {
                Some(LoadKind::Distributed(load)) if load.measure.is_some() => {
                    let own = if load.measure == Some(Measure::PerRise) { "rise" } else { "run" };
                    format!("{name} is taken per length of member, not per {own}")
                }
                _ => format!("{name} is taken per run, not per length of member"),
            },
            LoadSlip::Resultant => format!("{name} is replaced by its resultant, which gives the reactions only"),
            LoadSlip::FromOtherEnd => format!("the place of {name} is measured from the other end"),
            LoadSlip::Arm => {
                format!("the arm of {name} is measured straight to it, not square to its line")
            }
        }
    }

    /// The components with sine and cosine exchanged, as sines and cosines of
    /// the stated angle, or of the one to the horizontal where that is round.
    fn exchanged(&self, group: &Group, [x, y]: [f64; 2], unit: Dimension, name: &str) -> String {
        let size = x.hypot(y);
        let [across, upright] = [words::direction([x, 0.0]), words::direction([0.0, y])];
        let (angle, is_upright) = match group.stated {
            Some(stated) => (stated.radians.to_degrees(), stated.from[0].abs() < 0.5),
            None => (y.abs().atan2(x.abs()).to_degrees(), false),
        };
        let is_round = (angle * 10.0 - (angle * 10.0).round()).abs() < 1e-6 && angle > 0.0 && angle < 90.0;
        let [x, y] = [x.abs(), y.abs()].map(|part| self.unit(unit).show(part, self.structure.figures));
        if is_round {
            let shown = format::trimmed(angle, FIGURES);
            let size = format::trimmed(self.unit(unit).convert(size), FIGURES);
            let [first, second] = if is_upright { ["cos", "sin"] } else { ["sin", "cos"] };
            format!(
                "sine and cosine are exchanged for {name}: {size} {first} {shown}° = {y} {across} and {size} {second} \
                 {shown}° = {x} {upright}"
            )
        } else {
            format!("the components of {name} are exchanged: {y} {across} and {x} {upright}")
        }
    }

    /// The members a load is on.
    fn on(&self, group: &Group) -> String {
        let mut members: Vec<MemberId> = group.loads.iter().filter_map(|kind| kind.member()).collect();
        members.dedup();
        words::members(self.structure, &members)
    }

    /// `at A`, `2 m from A`, as it was given.
    fn member_place(&self, member: MemberId, at: f64) -> String {
        let length = self.structure.member_length(member);
        if at <= 1e-9 * length || at >= length * (1.0 - 1e-9) {
            return words::member_place(self.structure, member, at);
        }
        let start = self.structure.member(member).map_or("?", |own| self.structure.joint_name(own.start));
        format!("{} from {start}", self.given(at, Dimension::LENGTH))
    }

    fn unit(&self, dimension: Dimension) -> crate::quantity::NamedUnit {
        words::units(self.structure).display_unit(dimension)
    }

    /// A given value, without zeros at its end.
    fn given(&self, si: f64, dimension: Dimension) -> String {
        let unit = self.unit(dimension);
        format::with_symbol(&format::trimmed(unit.convert(si), FIGURES), &unit.symbol)
    }

    /// A force by its size; by its components where those are the round numbers.
    fn size(&self, [x, y]: [f64; 2], dimension: Dimension) -> String {
        let unit = self.unit(dimension);
        let is_round = |value: f64| {
            let shown: f64 = format::trimmed(value, FIGURES).parse().unwrap_or(f64::NAN);
            (shown - value).abs() <= 1e-9 * value.abs()
        };
        let [size, x, y] = [x.hypot(y), x, y].map(|part| unit.convert(part));
        if !is_round(size) && is_round(x) && is_round(y) {
            let [x, y] = [x, y].map(|part| format::trimmed(part, FIGURES));
            return format::with_symbol(&format!("({x}, {y})"), &unit.symbol);
        }
        format::with_symbol(&format::trimmed(size, FIGURES), &unit.symbol)
    }

    fn dimension(&self, group: &Group) -> Dimension {
        match group.loads.first() {
            Some(LoadKind::Distributed(_)) => Dimension::LINE_LOAD,
            Some(LoadKind::Couple { .. }) => Dimension::MOMENT,
            _ => Dimension::FORCE,
        }
    }

    /// `the 200 N at C`, `the 12 kN/m along A-B`, `the couple of 8 kN·m at B`.
    fn name(&self, group: &Group) -> String {
        let structure = self.structure;
        let unit = self.dimension(group);
        let on = self.on(group);
        let Some(first) = group.loads.first() else { return String::new() };
        if let Some(at) = first.point() {
            let said = match first {
                LoadKind::Couple { moment, .. } => format!("couple of {}", self.given(moment.to_f64().abs(), unit)),
                _ => self.size(first.vector().unwrap_or_default(), unit),
            };
            return match at {
                LoadPoint::Joint(_) if group.loads.len() > 1 => {
                    let joint = |kind: &&LoadKind| match kind.point()? {
                        LoadPoint::Joint(joint) => Some(*joint),
                        LoadPoint::Along(..) => None,
                    };
                    let joints: Vec<JointId> = group.loads.iter().filter_map(joint).collect();
                    format!("the row of loads at {}", words::joints(structure, &joints))
                }
                LoadPoint::Along(..) if group.loads.len() > 1 => format!("the row of loads on {on}"),
                LoadPoint::Joint(joint) => format!("the {said} at {}", structure.joint_name(*joint)),
                LoadPoint::Along(member, at) => {
                    format!("the {said} on {on}, {}", self.member_place(*member, at.to_f64()))
                }
            };
        }
        match first {
            LoadKind::Distributed(_) => {
                let peak =
                    group.loads.iter().filter_map(|kind| kind.vector()).map(|[x, y]| x.hypot(y)).fold(0.0, f64::max);
                let shape = if is_triangle(group) { "triangular " } else { "" };
                format!("the {shape}{} along {on}", self.given(peak, unit))
            }
            LoadKind::Weight { .. } if group.loads.len() == structure.members.len() => {
                "the members' own weight".to_owned()
            }
            LoadKind::Weight { .. } => format!("the own weight of {on}"),
            LoadKind::Heat { .. } => format!("the change of temperature of {on}"),
            LoadKind::Misfit { .. } => format!("the misfit of {on}"),
            LoadKind::Settlement { joint, by } => {
                let what = if matches!(by, Imposed::Turn(_)) { "turn" } else { "settlement" };
                format!("the {what} of {}", structure.joint_name(*joint))
            }
            LoadKind::Force { .. } | LoadKind::Couple { .. } => String::new(),
        }
    }
}

/// `is given the other sense, left instead of right`
fn other_way([x, y]: [f64; 2]) -> String {
    format!("is given the other sense, {} instead of {}", words::direction([-x, -y]), words::direction([x, y]))
}

const fn adjective(axis: Axis) -> &'static str {
    match axis {
        Axis::X => "horizontal",
        Axis::Y => "vertical",
    }
}

const fn is_couple(claim: &ValueClaim) -> bool {
    matches!(claim.value, ClaimedValue::Scalar { dimension: Dimension::MOMENT, .. })
}

fn unit_words(structure: &Structure, unit: UnitSlip, what: ClaimWhat) -> String {
    let is_customary = matches!(words::units(structure).force.symbol.as_str(), "lbf" | "kip" | "ozf");
    let pair = match (what, is_customary) {
        (ClaimWhat::Deflection, _) => "mm and m",
        (ClaimWhat::Moment, false) => "N and kN, or mm and m,",
        (_, false) => "N and kN",
        (_, true) => "lbf and kip",
    };
    match unit {
        UnitSlip::ThousandTooLarge => format!("The figures are right, a thousand times too large: {pair} are confused"),
        UnitSlip::ThousandTooSmall => format!("The figures are right, a thousand times too small: {pair} are confused"),
        UnitSlip::TwelveTooLarge => "It is twelve times too large: inches and feet are confused".to_owned(),
        UnitSlip::TwelveTooSmall => "It is twelve times too small: inches and feet are confused".to_owned(),
        UnitSlip::MassForForce => "It is 9.81 times too small: a mass stands for its weight".to_owned(),
        UnitSlip::ForceForMass => "It is 9.81 times too large: a weight is multiplied by 9.81 once more".to_owned(),
    }
}
