//! A structure as stated: joints, members, supports, cases, claims. All values
//! are in SI base units (m, N, N·m, rad, K), exact where the source was exact.
//!
//! Joints are in natural name order, members in the natural order of their
//! names, cases and combinations too, so nothing depends on the order of lines.
//!
//! Must not know: syntax trees, equilibrium.

use std::collections::BTreeMap;

use rustc_hash::FxHashSet;

use crate::base::{
    CaseId, CombinationId, IdVec, JointId, MaterialId, MemberId, Origin, SectionId, SupportId, TravelId,
};
use crate::diagnostic::Slug;
use crate::quantity::format::Figures;
use crate::quantity::{Number, UnitSystem};
pub use crate::syntax::tree::SupportKind;
use crate::syntax::tree::{LintAction, Measure, MemberKind, Turn};

use super::claim::{Claim, Passage};
use super::names::{NameId, Names};

#[derive(Clone, Debug, Default)]
pub struct Structure {
    pub title: Option<String>,
    /// The units in which results are shown: the root file's, or else those of
    /// the first file it uses that states any.
    pub units: Option<UnitSystem>,
    /// The turning sense every page for people writes as positive.
    pub moments: Option<Turn>,
    /// How every page for people rounds.
    pub figures: Figures,
    pub names: Names,
    pub joints: IdVec<JointId, Joint>,
    pub members: IdVec<MemberId, Member>,
    pub supports: IdVec<SupportId, Support>,
    /// Joints at which every beam end is freed from the others.
    pub hinges: Vec<(JointId, Origin)>,
    pub materials: IdVec<MaterialId, Material>,
    pub sections: IdVec<SectionId, Section>,
    pub cases: IdVec<CaseId, Case>,
    pub combinations: IdVec<CombinationId, Combination>,
    pub travels: IdVec<TravelId, Travel>,
    pub claims: Vec<Claim>,
    /// Claims with an error of their own, unreadable ones among them, in the
    /// order of the files.
    pub unread_claims: Vec<Origin>,
    /// The angles at which loads are stated, by their statements; of a loop the
    /// first turn's.
    pub stated_angles: BTreeMap<Origin, StatedAngle>,
    pub lints: Vec<LintSwitch>,
    /// Lets given other values than their files state.
    pub set: Vec<SetLet>,
    /// Claims of values that are not judged, as a let of their file is set.
    pub claims_left_out: usize,
    /// Lets that nothing reads.
    pub unused_lets: Vec<(NameId, Origin)>,
}

/// A let given another value, by `use … with` or on the command line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetLet {
    pub name: String,
    /// As written.
    pub value: String,
    /// The file of the let.
    pub file: String,
}

impl Structure {
    /// `P = 26 kN, h = 3 m`; `None` where every let has its own value.
    pub fn set_words(&self) -> Option<String> {
        let set: Vec<String> = self.set.iter().map(|set| format!("{} = {}", set.name, set.value)).collect();
        (!set.is_empty()).then(|| set.join(", "))
    }

    /// The same structure under other cases, and nothing claimed of it.
    #[must_use]
    pub fn under(&self, cases: Vec<Case>) -> Structure {
        Structure {
            title: self.title.clone(),
            units: self.units.clone(),
            moments: self.moments,
            figures: self.figures,
            names: self.names.clone(),
            joints: self.joints.clone(),
            members: self.members.clone(),
            supports: self.supports.clone(),
            hinges: self.hinges.clone(),
            materials: self.materials.clone(),
            sections: self.sections.clone(),
            cases: cases.into(),
            set: self.set.clone(),
            ..Structure::default()
        }
    }
}

#[derive(Clone, Debug)]
pub struct Joint {
    pub name: NameId,
    /// Metres.
    pub x: Number,
    pub y: Number,
    pub origin: Origin,
    pub note: Option<Origin>,
}

#[derive(Clone, Debug)]
pub struct Member {
    pub kind: MemberKind,
    /// The joint named first.
    pub start: JointId,
    pub end: JointId,
    pub section: Option<SectionId>,
    /// Whether the beam's end is freed by its own statement.
    pub hinged: [bool; 2],
    /// The two links of the chain that name it.
    pub origin: Origin,
}

#[derive(Clone, Debug)]
pub struct Support {
    pub joint: JointId,
    pub kind: SupportKind,
    pub held: Held,
    pub origin: Origin,
}

/// What a support holds: rigidly, or as a spring of newtons a metre and
/// newton-metres a radian; `None` is free.
#[derive(Clone, Debug)]
pub struct Held {
    pub x: Option<Stiffness>,
    pub y: Option<Stiffness>,
    /// The line of a roller's or guide's one force, in the sense in which a
    /// roller pushes. Any length.
    pub line: Option<[Number; 2]>,
    pub turn: Option<Stiffness>,
    pub hold: Hold,
    /// Whether the source says which way a roller pushes (`pushes`, or a
    /// rolling surface that is not upright).
    pub sense: PushSense,
}

/// A component of a reaction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Component {
    X,
    Y,
    /// Along a roller's line.
    Normal,
    /// A couple.
    Turn,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PushSense {
    Known,
    /// A track within 5° of upright, given by `along`: either side may push.
    EitherSide,
}

/// Whether a roller holds both ways, as in textbooks, or lifts off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hold {
    BothWays,
    LiftsOff,
}

#[derive(Clone, Debug)]
pub struct Material {
    pub name: NameId,
    /// Pascals.
    pub elasticity: Option<Number>,
    /// Newtons a cubic metre.
    pub weight: Option<Number>,
    /// Per kelvin.
    pub expansion: Option<Number>,
    pub origin: Origin,
}

#[derive(Clone, Debug)]
pub struct Section {
    pub name: NameId,
    pub material: Option<MaterialId>,
    /// Square metres.
    pub area: Option<Number>,
    /// Metres to the fourth.
    pub second_moment: Option<Number>,
    pub axial_stiffness: Option<Stiffness>,
    pub bending_stiffness: Option<Stiffness>,
    pub origin: Origin,
}

/// `EA` in newtons or `EI` in newton square metres, or exactly rigid.
#[derive(Clone, Debug)]
pub enum Stiffness {
    Rigid,
    Value(Number),
}

/// Loads that act together.
#[derive(Clone, Debug)]
pub struct Case {
    pub name: NameId,
    pub loads: Vec<Load>,
    /// Where it is first opened; the first load outside any case for `loads`.
    pub origin: Origin,
}

#[derive(Clone, Debug)]
pub struct Load {
    pub kind: LoadKind,
    pub origin: Origin,
}

/// An angle as it was stated: a force of size `F` is `F cos θ` along one axis
/// and `F sin θ` along the other, `20° right of down` along down and right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StatedAngle {
    pub radians: f64,
    /// The axis it is measured from, of length one.
    pub from: [f64; 2],
    pub towards: [f64; 2],
}

#[derive(Clone, Debug)]
pub enum LoadKind {
    /// Newtons.
    Force {
        at: LoadPoint<Number>,
        force: [Number; 2],
    },
    /// Newton-metres, counterclockwise positive.
    Couple {
        at: LoadPoint<Number>,
        moment: Number,
    },
    Distributed(Box<Distributed<Number>>),
    /// The member's self-weight.
    Weight {
        member: MemberId,
    },
    /// Kelvins.
    Heat {
        member: MemberId,
        rise: Number,
    },
    /// Metres; positive when made too long.
    Misfit {
        member: MemberId,
        amount: Number,
    },
    Settlement {
        joint: JointId,
        by: Imposed<Number>,
    },
}

/// Where a force or a couple acts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoadPoint<S> {
    Joint(JointId),
    /// Metres along the member from its first-named joint.
    Along(MemberId, S),
}

impl LoadPoint<Number> {
    /// A force there.
    pub fn force(self, force: [f64; 2]) -> LoadKind {
        LoadKind::Force { at: self, force: force.map(Number::from_f64) }
    }
}

impl From<Distributed<Number>> for LoadKind {
    fn from(load: Distributed<Number>) -> LoadKind {
        LoadKind::Distributed(Box::new(load))
    }
}

/// What a settlement imposes on a support.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Imposed<S> {
    /// Metres.
    Move([S; 2]),
    /// Radians, counterclockwise positive.
    Turn(S),
}

/// A load spread over a stretch of one member, linear between its ends.
#[derive(Clone, Debug)]
pub struct Distributed<S> {
    pub member: MemberId,
    /// Newtons a metre of what is measured, at the two ends of the stretch.
    pub start: [S; 2],
    pub end: [S; 2],
    /// Metres along the member from its first-named joint.
    pub from: S,
    pub to: S,
    pub measure: Option<Measure>,
    pub delivery: Delivery,
}

impl LoadKind {
    /// Where a force or a couple at one point acts.
    pub const fn point(&self) -> Option<&LoadPoint<Number>> {
        match self {
            LoadKind::Force { at, .. } | LoadKind::Couple { at, .. } => Some(at),
            _ => None,
        }
    }

    /// The same force or couple at another point.
    #[must_use]
    pub fn moved_to(&self, point: LoadPoint<Number>) -> LoadKind {
        let mut moved = self.clone();
        if let LoadKind::Force { at, .. } | LoadKind::Couple { at, .. } = &mut moved {
            *at = point;
        }
        moved
    }

    /// A force on a joint itself.
    pub const fn force_on_joint(&self) -> Option<(JointId, &[Number; 2])> {
        match self {
            LoadKind::Force { at: LoadPoint::Joint(joint), force } => Some((*joint, force)),
            _ => None,
        }
    }

    /// A couple on a joint itself.
    pub const fn couple_on_joint(&self) -> Option<JointId> {
        match self {
            LoadKind::Couple { at: LoadPoint::Joint(joint), .. } => Some(*joint),
            _ => None,
        }
    }

    pub fn spread(&self) -> Option<&Distributed<Number>> {
        if let LoadKind::Distributed(load) = self { Some(load) } else { None }
    }

    pub const fn is_weight(&self) -> bool {
        matches!(self, LoadKind::Weight { .. })
    }

    /// Whether it imposes a deformation, and is no force or couple.
    pub const fn is_imposed(&self) -> bool {
        matches!(self, LoadKind::Heat { .. } | LoadKind::Misfit { .. } | LoadKind::Settlement { .. })
    }

    /// The member it is stated on.
    pub fn member(&self) -> Option<MemberId> {
        match self {
            LoadKind::Weight { member } | LoadKind::Heat { member, .. } | LoadKind::Misfit { member, .. } => {
                Some(*member)
            }
            LoadKind::Distributed(load) => Some(load.member),
            _ => match self.point()? {
                LoadPoint::Along(member, _) => Some(*member),
                LoadPoint::Joint(_) => None,
            },
        }
    }

    /// The member that has to bend to carry it, itself or to its joints.
    pub fn between_joints(&self) -> Option<MemberId> {
        match self {
            LoadKind::Distributed(load) => (load.delivery == Delivery::AlongMember).then_some(load.member),
            _ => self.point().and_then(|_| self.member()),
        }
    }

    /// A force, or an intensity where it is largest, x and y.
    pub fn vector(&self) -> Option<[f64; 2]> {
        let pair = |force: &[Number; 2]| force.each_ref().map(Number::to_f64);
        match self {
            LoadKind::Force { force, .. } => Some(pair(force)),
            LoadKind::Distributed(load) => {
                let (start, end) = (pair(&load.start), pair(&load.end));
                Some(if start[0].hypot(start[1]) >= end[0].hypot(end[1]) { start } else { end })
            }
            _ => None,
        }
    }

    /// The same load with its forces or intensities changed.
    #[must_use]
    pub fn with_vectors(&self, change: impl Fn([f64; 2]) -> [f64; 2]) -> LoadKind {
        let mut changed = self.clone();
        let put = |force: &mut [Number; 2]| *force = change(force.each_ref().map(Number::to_f64)).map(Number::from_f64);
        match &mut changed {
            LoadKind::Force { force, .. } => put(force),
            LoadKind::Distributed(load) => [&mut load.start, &mut load.end].into_iter().for_each(put),
            _ => {}
        }
        changed
    }
}

/// How a distributed load reaches the structure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Delivery {
    /// It bears on the member between its joints.
    AlongMember,
    /// Each member's share goes to its two ends as a simple span would give it.
    AtJoints,
}

#[derive(Clone, Debug)]
pub struct Combination {
    pub name: NameId,
    /// Factors of cases as they are first met, combinations within it
    /// unfolded; each case once.
    pub factors: Vec<(CaseId, Number)>,
    pub origin: Origin,
}

/// A train of loads that runs along a chain of members, both ways.
#[derive(Clone, Debug)]
pub struct Travel {
    pub name: NameId,
    /// Newtons, the leading load first.
    pub loads: Vec<[Number; 2]>,
    /// Metres between neighbours: one fewer than loads.
    pub spacings: Vec<Number>,
    /// The members it runs along, each once, and whether each is passed from
    /// its start.
    pub path: Vec<(MemberId, Passage)>,
    /// Where its name stands.
    pub origin: Origin,
    /// Where its path stands.
    pub path_origin: Origin,
}

#[derive(Clone, Debug)]
pub struct LintSwitch {
    pub action: LintAction,
    pub slug: Slug,
    pub origin: Origin,
}

impl Structure {
    /// A turn or a couple, counterclockwise positive, with the sign it has on a
    /// page for people. (Bending moments have senses of their own.)
    pub fn turning(&self, counterclockwise: f64) -> f64 {
        self.turning_sign() * counterclockwise
    }

    /// The sign that makes a counterclockwise value one of a page for people.
    pub fn turning_sign(&self) -> f64 {
        if self.moments == Some(Turn::Clockwise) { -1.0 } else { 1.0 }
    }

    /// The larger side of the box around all joints, metres, 1 for a single one:
    /// with the largest force, the measure of a moment that is zero but for
    /// rounding.
    pub fn size(&self) -> f64 {
        extent(self.joints.iter().map(Joint::point))
    }

    /// Whether every coordinate and every direction of a support is rational,
    /// so that an exact verdict is one on what was meant.
    pub fn is_rational(&self) -> bool {
        let supports = self.supports.iter().filter_map(|support| support.held.line.as_ref());
        let supports = supports.flatten().all(Number::is_rational);
        supports && self.joints.iter().all(|joint| joint.x.is_rational() && joint.y.is_rational())
    }

    /// The cases that some combination takes in.
    pub fn combined_cases(&self) -> FxHashSet<CaseId> {
        self.combinations.iter().flat_map(|combination| &combination.factors).map(|(case, _)| *case).collect()
    }

    /// A joint's place, metres.
    pub fn point(&self, id: JointId) -> [f64; 2] {
        self.joints[id].point()
    }

    /// The place on a member so far from its first-named joint, metres.
    pub fn point_on(&self, id: MemberId, at: f64) -> [f64; 2] {
        let [x, y] = self.point(self.members[id].start);
        let [dx, dy] = self.member_vector(id);
        let length = dx.hypot(dy);
        let share = if length > 0.0 { at / length } else { 0.0 };
        [x + dx * share, y + dy * share]
    }

    pub fn section_of(&self, id: MemberId) -> Option<&Section> {
        self.members[id].section.map(|section| &self.sections[section])
    }

    pub fn material_of(&self, id: MemberId) -> Option<&Material> {
        self.section_of(id)?.material.map(|material| &self.materials[material])
    }

    pub fn joint_name(&self, id: JointId) -> &str {
        self.names.get(self.joints[id].name)
    }

    /// `A-B`, the joint named first in the source first.
    pub fn member_name(&self, id: MemberId) -> String {
        let member = &self.members[id];
        format!("{}-{}", self.joint_name(member.start), self.joint_name(member.end))
    }

    pub fn case_name(&self, id: CaseId) -> &str {
        self.names.get(self.cases[id].name)
    }

    pub fn travel_name(&self, id: TravelId) -> &str {
        self.names.get(self.travels[id].name)
    }

    pub fn combination_name(&self, id: CombinationId) -> &str {
        self.names.get(self.combinations[id].name)
    }

    /// The member between two joints, named either way.
    pub fn find_member(&self, a: JointId, b: JointId) -> Option<(MemberId, Passage)> {
        let find = |start: JointId, end: JointId| {
            let at = self.members.partition_point(|member| (member.start, member.end) < (start, end));
            self.members.get(at).filter(|member| (member.start, member.end) == (start, end)).map(|_| MemberId::new(at))
        };
        find(a, b).map(|id| (id, Passage::Forward)).or_else(|| find(b, a).map(|id| (id, Passage::Backward)))
    }

    /// The joints of a chain of members, in its order.
    pub fn joints_along(&self, path: &[(MemberId, Passage)]) -> Vec<JointId> {
        let ends = |(id, passage): &(MemberId, Passage)| {
            let member = &self.members[*id];
            if *passage == Passage::Forward { [member.start, member.end] } else { [member.end, member.start] }
        };
        let first = path.first().map(ends).map(|[start, _]| start);
        first.into_iter().chain(path.iter().map(ends).map(|[_, end]| end)).collect()
    }

    pub fn support_at(&self, joint: JointId) -> Option<(SupportId, &Support)> {
        let at = self.supports.partition_point(|support| support.joint < joint);
        self.supports.get(at).filter(|support| support.joint == joint).map(|support| (SupportId::new(at), support))
    }

    /// The claim with an error of its own in whose words this place lies.
    pub fn unread_claim_at(&self, at: Origin) -> Option<Origin> {
        let after =
            self.unread_claims.partition_point(|claim| (claim.file, claim.span.start) <= (at.file, at.span.start));
        let claim = self.unread_claims.get(after.checked_sub(1)?)?;
        (claim.file == at.file && at.span.start <= claim.span.end).then_some(*claim)
    }

    /// A member's vector from its first-named joint to the other, in metres.
    pub fn member_vector(&self, id: MemberId) -> [f64; 2] {
        let member = &self.members[id];
        let (a, b) = (&self.joints[member.start], &self.joints[member.end]);
        [b.x.minus(&a.x).to_f64(), b.y.minus(&a.y).to_f64()]
    }

    /// Metres.
    pub fn member_length(&self, id: MemberId) -> f64 {
        let [dx, dy] = self.member_vector(id);
        dx.hypot(dy)
    }
}

impl Joint {
    /// Metres.
    pub fn point(&self) -> [f64; 2] {
        [self.x.to_f64(), self.y.to_f64()]
    }
}

impl Travel {
    /// The joints of the path, in its order.
    pub fn joints(&self, structure: &Structure) -> Vec<JointId> {
        structure.joints_along(&self.path)
    }

    /// The joints at which the path begins and ends.
    pub fn ends(&self, structure: &Structure) -> Option<[JointId; 2]> {
        let joints = self.joints(structure);
        Some([*joints.first()?, *joints.last()?])
    }
}

impl Held {
    /// Nothing at all.
    pub const NOTHING: Held =
        Held { x: None, y: None, line: None, turn: None, hold: Hold::BothWays, sense: PushSense::Known };
    /// Both ways, rigidly.
    pub const BOTH_WAYS: Held = Held { x: Some(Stiffness::Rigid), y: Some(Stiffness::Rigid), ..Held::NOTHING };
}

impl Support {
    /// The reaction components it gives, in the order x, y, along its line, couple.
    pub fn components(&self) -> impl Iterator<Item = Component> {
        let Held { x, y, line, turn, .. } = &self.held;
        let is_held = [x.is_some(), y.is_some(), line.is_some(), turn.is_some()];
        let all = [Component::X, Component::Y, Component::Normal, Component::Turn];
        all.into_iter().zip(is_held).filter_map(|(component, is_held)| is_held.then_some(component))
    }

    /// The line along which a component acts, of any length; `None` for a couple.
    pub fn direction(&self, component: Component) -> Option<[Number; 2]> {
        match component {
            Component::X => Some([Number::ONE, Number::ZERO]),
            Component::Y => Some([Number::ZERO, Number::ONE]),
            Component::Normal => self.held.line.clone(),
            Component::Turn => None,
        }
    }

    /// The same as a unit vector; zero for a couple.
    pub fn unit(&self, component: Component) -> [f64; 2] {
        match (component, &self.held.line) {
            (Component::X, _) => [1.0, 0.0],
            (Component::Y, _) => [0.0, 1.0],
            (Component::Normal, Some(line)) => unit(line),
            _ => [0.0; 2],
        }
    }

    /// The stiffness with which a spring gives a component.
    pub fn stiffness(&self, component: Component) -> Option<&Number> {
        let held = match component {
            Component::X => &self.held.x,
            Component::Y => &self.held.y,
            Component::Turn => &self.held.turn,
            Component::Normal => &None,
        };
        if let Some(Stiffness::Value(stiffness)) = held { Some(stiffness) } else { None }
    }

    pub fn holds_rotation(&self) -> bool {
        self.held.turn.is_some()
    }

    pub fn is_pin(&self) -> bool {
        self.kind == SupportKind::Pin
    }

    pub fn is_fixed(&self) -> bool {
        self.kind == SupportKind::Fixed
    }

    /// The line along which it pushes, if it is a roller. Any length.
    pub fn roller(&self) -> Option<&[Number; 2]> {
        self.held.line.as_ref().filter(|_| self.kind == SupportKind::Roller)
    }

    /// `pin`, `fixed support`
    pub fn noun(&self) -> &'static str {
        if self.is_fixed() { "fixed support" } else { self.kind.word() }
    }
}

/// The larger side of the box around all points, metres; 1 for a single point.
pub fn extent(points: impl Iterator<Item = [f64; 2]>) -> f64 {
    let [mut low, mut high] = [[f64::MAX; 2], [f64::MIN; 2]];
    for [x, y] in points {
        low = [low[0].min(x), low[1].min(y)];
        high = [high[0].max(x), high[1].max(y)];
    }
    let size = (high[0] - low[0]).max(high[1] - low[1]);
    if size > 0.0 { size } else { 1.0 }
}

/// A vector of any length as one of length one.
pub fn unit(vector: &[Number; 2]) -> [f64; 2] {
    let [x, y] = vector.each_ref().map(Number::to_f64);
    let length = x.hypot(y);
    [x / length, y / length]
}
