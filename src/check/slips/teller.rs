//! What the clauses of slips name, in words: loads as they were given, the
//! reaction or the force a claim is about, cases and their factors.
//!
//! Must not know: slips.

use crate::base::tolerances::SAME;
use crate::base::{CaseId, JointId, MemberId};
use crate::check::words;
use crate::quantity::{Dimension, NamedUnit, format};
use crate::statics::{CaseResult, External, Subject};
use crate::structure::{
    ClaimSubject, ComponentWord, Imposed, Inside, LoadKind, LoadPoint, ResultOf, Structure, ValueClaim, VectorForm,
};
use crate::syntax::tree::{Cardinal, Measure};

use super::group::{Axis, Group, Shape};

/// Figures of numbers worked out.
const FIGURES: usize = 4;

/// A wrong claim with the result it is about, and that result's loads.
pub struct Teller<'a> {
    pub structure: &'a Structure,
    pub claim: &'a ValueClaim,
    pub result: &'a CaseResult,
    pub groups: &'a [Group<'a>],
}

/// The axis a reaction is claimed along, where it is along one.
pub fn axis_of(subject: &ClaimSubject) -> Option<Axis> {
    let of = |cardinal| if matches!(cardinal, Cardinal::Left | Cardinal::Right) { Axis::X } else { Axis::Y };
    match (subject.component.as_ref().map(|component| component.word), subject.vector) {
        (Some(ComponentWord::X), _) => Some(Axis::X),
        (Some(ComponentWord::Y), _) => Some(Axis::Y),
        (Some(ComponentWord::Cardinal(cardinal)), _) | (None, Some(VectorForm::Cardinal(cardinal))) => {
            Some(of(cardinal))
        }
        (Some(ComponentWord::Other), _) | (None, None | Some(VectorForm::Components | VectorForm::Directed(_))) => None,
    }
}

impl Teller<'_> {
    /// Whether a size is claimed that says nothing of its sense, by word or minus.
    pub fn is_unsigned(&self) -> bool {
        let subject = &self.claim.subject;
        subject.vector.is_none() && !self.claim.numbers[0].is_negative() && !subject.has_sense()
    }

    pub fn sense_reversed(&self) -> &'static str {
        match self.claim.subject.of {
            _ if self.is_unsigned() => "its sense is not said",
            ResultOf::Inside(Inside::Axial, _) => "tension and compression are exchanged",
            ResultOf::Inside(Inside::Moment, _) => "the side in tension is the other one",
            ResultOf::Inside(Inside::Shear, _)
            | ResultOf::Reaction(_)
            | ResultOf::Couple(_)
            | ResultOf::Movement(_)
            | ResultOf::Deflection(_)
            | ResultOf::Rotation(_) => "the sense is reversed",
        }
    }

    /// What a size without a sense word stands for.
    pub fn unsigned_sense(&self) -> &'static str {
        let subject = &self.claim.subject;
        match (&subject.of, subject.component.as_ref().map(|component| component.word)) {
            (ResultOf::Inside(Inside::Axial, _), _) => "as tension",
            (_, Some(ComponentWord::X)) => "as acting right",
            (_, Some(ComponentWord::Y)) => "as acting up",
            (ResultOf::Inside(Inside::Moment, _), _) => {
                "with tension on the right of the member, looking from the joint named first"
            }
            (ResultOf::Rotation(_) | ResultOf::Couple(_), _) => subject.positive.words(),
            (ResultOf::Reaction(_), _) => "as pushing",
            (ResultOf::Inside(Inside::Shear, _) | ResultOf::Movement(_) | ResultOf::Deflection(_), _) => "as positive",
        }
    }

    /// The sense word that a minus before the claimed size turns round.
    pub fn turned_by_minus(&self) -> Option<String> {
        let written = self.claim.written.as_ref().filter(|written| written.text.starts_with('-'))?;
        match (self.claim.subject.vector, self.claim.subject.sense) {
            (_, Some(sense)) => Some(sense.words().to_owned()),
            (Some(VectorForm::Cardinal(_)), None) => written.text.split_whitespace().last().map(str::to_owned),
            (None | Some(VectorForm::Components | VectorForm::Directed(_)), None) => None,
        }
    }

    /// `N and kN`, or what else is a thousand times the other.
    pub fn units_confused(&self) -> &'static str {
        let is_customary = matches!(words::units(self.structure).force.symbol.as_str(), "lbf" | "kip" | "ozf");
        match (self.claim.subject.of.dimension(), is_customary) {
            (Dimension::LENGTH, _) => "mm and m",
            (Dimension::MOMENT, false) => "N and kN, or mm and m,",
            (_, false) => "N and kN",
            (_, true) => "lbf and kip",
        }
    }

    pub fn joint(&self, id: JointId) -> &str {
        self.structure.joint_name(id)
    }

    pub fn case(&self, id: CaseId) -> &str {
        self.structure.case_name(id)
    }

    pub fn combination(&self) -> &str {
        match self.result.subject {
            Subject::Combination(id) => self.structure.combination_name(id),
            Subject::Case(id) => self.structure.case_name(id),
        }
    }

    pub fn factor(&self, case: CaseId) -> String {
        let factors = self.result.subject.factors(self.structure);
        let own = factors.iter().find(|(own, _)| *own == case);
        format::trimmed(own.map_or(1.0, |(_, factor)| factor.to_f64()), FIGURES)
    }

    pub fn reaction(&self) -> [f64; 2] {
        let ResultOf::Reaction(support) = self.claim.subject.of else { return [0.0; 2] };
        self.result.reactions[support].force()
    }

    pub fn whole_reaction(&self) -> String {
        let [x, y] = self.reaction();
        words::quantity(self.structure, x.hypot(y), Dimension::FORCE)
    }

    pub fn component_forgotten(&self, axis: Axis) -> String {
        let value = axis.of(self.reaction());
        let size = words::quantity(self.structure, value.abs(), Dimension::FORCE);
        let way = words::way(self.structure, axis.only(value));
        format!("the {axis} component of the reaction, {size} {way}, is forgotten")
    }

    fn first_member(&self) -> Option<MemberId> {
        self.claim.subject.of.path().first().map(|(member, _)| *member)
    }

    pub fn member(&self) -> String {
        self.first_member().map_or(String::new(), |member| self.structure.member_name(member))
    }

    pub fn component_for_force(&self, axis: Axis) -> String {
        let Some(member) = self.first_member() else { return String::new() };
        let [dx, dy] = self.structure.member_vector(member).map(f64::abs);
        format!(
            "the {axis} component is taken for the force in {} itself: {} × {}",
            self.member(),
            words::quantity(self.structure, self.result.axial[member].abs(), Dimension::FORCE),
            self.structure.figures.ratio(axis.of([dx, dy]) / dx.hypot(dy))
        )
    }

    /// Whether a load's component along an axis comes into the claimed reaction
    /// by the moment equation alone: one perpendicular to it, in equilibrium by itself.
    pub fn is_by_moments(&self, axis: Axis) -> bool {
        matches!(self.claim.subject.of, ResultOf::Reaction(_))
            && axis_of(&self.claim.subject) == Some(axis.other())
            && External::of(self.structure).is_some()
    }

    /// A load by its place among the groups.
    pub fn load(&self, index: usize) -> String {
        self.groups.get(index).map_or(String::new(), |group| self.name(group))
    }

    /// `the 200 N at C`, `the 12 kN/m along A-B`, `the couple of 8 kN·m at B`.
    pub fn name(&self, group: &Group) -> String {
        let structure = self.structure;
        let on = self.on(group);
        let Some(first) = group.loads.first() else { return String::new() };
        if let Some(at) = first.point() {
            let said = match first {
                LoadKind::Couple { moment, .. } => {
                    format!("couple of {}", self.given(moment.to_f64().abs(), Dimension::MOMENT))
                }
                _ => self.size(group.vector().unwrap_or_default()),
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
                LoadPoint::Along(member, at) => format!("the {said} on {on}, {}", self.place(*member, at.to_f64())),
            };
        }
        match first {
            LoadKind::Distributed(_) => {
                let sizes = group.loads.iter().filter_map(|kind| kind.vector()).map(|[x, y]| x.hypot(y));
                let is_triangle = group.spread().is_some_and(|spread| spread.shape == Shape::Triangle);
                let shape = if is_triangle { "triangular " } else { "" };
                format!("the {shape}{} along {on}", self.given(sizes.fold(0.0, f64::max), Dimension::LINE_LOAD))
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

    /// `5 kN left`: a load's component along an axis.
    pub fn component(&self, group: &Group, axis: Axis) -> String {
        let value = axis.of(group.vector().unwrap_or_default());
        format!("{} {}", self.given(value.abs(), group.dimension()), words::direction(axis.only(value)))
    }

    pub fn reversed(&self, group: &Group) -> String {
        match group.loads.first() {
            Some(LoadKind::Couple { moment, .. }) => {
                let (own, other) = ("clockwise", "counterclockwise");
                let (own, other) = if moment.is_negative() { (own, other) } else { (other, own) };
                format!("is given the other sense, {other} instead of {own}")
            }
            _ => group.vector().map_or_else(|| "is given the other sign".to_owned(), other_way),
        }
    }

    /// The components with sine and cosine exchanged, as sines and cosines of
    /// the stated angle, or of the one to the horizontal where that is round.
    pub fn components_exchanged(&self, group: &Group, name: &str) -> String {
        let [x, y] = group.vector().unwrap_or_default();
        let unit = self.unit(group.dimension());
        let [across, upright] = [words::direction([x, 0.0]), words::direction([0.0, y])];
        let (angle, is_upright) = match group.stated {
            Some(stated) => (stated.radians.to_degrees(), stated.from[0].abs() < 0.5),
            None => (y.abs().atan2(x.abs()).to_degrees(), false),
        };
        let is_round = (angle * 10.0 - (angle * 10.0).round()).abs() < 1e-6 && angle > 0.0 && angle < 90.0;
        let size = format::trimmed(unit.convert(x.hypot(y)), FIGURES);
        let [x, y] = [x.abs(), y.abs()].map(|part| unit.show(part, self.structure.figures));
        if is_round {
            let shown = format::trimmed(angle, FIGURES);
            let [first, second] = if is_upright { ["cos", "sin"] } else { ["sin", "cos"] };
            format!(
                "sine and cosine are exchanged for {name}: {size} {first} {shown}° = {y} {across} and {size} {second} \
                 {shown}° = {x} {upright}"
            )
        } else {
            format!("the components of {name} are exchanged: {y} {across} and {x} {upright}")
        }
    }

    pub fn degrees(&self, group: &Group) -> String {
        format::trimmed(group.stated.map_or(0.0, |stated| stated.radians.to_degrees()), FIGURES)
    }

    /// `per run, not per length of member`, or the reverse.
    pub fn other_length(&self, group: &Group) -> &'static str {
        match group.loads.first().and_then(|kind| kind.spread()?.measure) {
            Some(Measure::PerRise) => "per length of member, not per rise",
            Some(Measure::PerRun) => "per length of member, not per run",
            None => "per run, not per length of member",
        }
    }

    pub fn unit_of_length(&self) -> String {
        words::units(self.structure).length.symbol
    }

    /// The members a load is on.
    pub fn on(&self, group: &Group) -> String {
        let mut members: Vec<MemberId> = group.loads.iter().filter_map(|kind| kind.member()).collect();
        members.dedup();
        words::members(self.structure, &members)
    }

    /// `at A`, `2 m from A`, as it was given.
    fn place(&self, member: MemberId, at: f64) -> String {
        let length = self.structure.member_length(member);
        if at <= SAME * length || at >= length * (1.0 - SAME) {
            return words::member_place(self.structure, member, at);
        }
        format!("{} from {}", self.given(at, Dimension::LENGTH), self.joint(self.structure.members[member].start))
    }

    /// `A`, `2 m from A`
    pub fn end(&self, member: MemberId, at: f64) -> String {
        let place = self.place(member, at);
        place.strip_prefix("at ").unwrap_or(&place).to_owned()
    }

    fn unit(&self, dimension: Dimension) -> NamedUnit {
        words::units(self.structure).display_unit(dimension)
    }

    /// A given value, without zeros at its end.
    fn given(&self, si: f64, dimension: Dimension) -> String {
        let unit = self.unit(dimension);
        format::with_symbol(&format::trimmed(unit.convert(si), FIGURES), &unit.symbol)
    }

    /// A force by its size; by its components where those are the round numbers.
    fn size(&self, [x, y]: [f64; 2]) -> String {
        let unit = self.unit(Dimension::FORCE);
        let is_round = |value: f64| {
            let shown: f64 = format::trimmed(value, FIGURES).parse().unwrap_or(f64::NAN);
            (shown - value).abs() <= SAME * value.abs()
        };
        let [size, x, y] = [x.hypot(y), x, y].map(|part| unit.convert(part));
        let shown = if !is_round(size) && is_round(x) && is_round(y) {
            format!("({}, {})", format::trimmed(x, FIGURES), format::trimmed(y, FIGURES))
        } else {
            format::trimmed(size, FIGURES)
        };
        format::with_symbol(&shown, &unit.symbol)
    }
}

/// `is given the other sense, left instead of right`
pub fn other_way([x, y]: [f64; 2]) -> String {
    format!("is given the other sense, {} instead of {}", words::direction([-x, -y]), words::direction([x, y]))
}
