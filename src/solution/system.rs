//! The unknown forces at supports, hinges and links, and the bodies on which
//! they act.
//!
//! Must not know: how the solution is told.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::{IdVec, JointId, MemberId, SupportId};
use crate::statics::equilibrium::{End, hinged_joints, holds_moment, idle_turns, support_restraints};
use crate::statics::{Component, Restraint};

use super::bodies::{Body, BodyId, Division, Form, Loaded, divide};
use super::elimination::eliminate;
use super::loads::Loads;
use super::part::{Acting, Balance, Centre, Kind, Name, Place, Size, Sum, Unknown, UnknownId, Unknowns};
use super::problem::{Direction, Problem, arm, meeting};

/// All unknowns and where they act.
#[derive(Clone)]
pub struct System {
    pub unknowns: Unknowns,
    /// The reactions of each support, with the direction in which they are drawn.
    pub reactions: IdVec<SupportId, Vec<(UnknownId, Kind)>>,
    pub bodies: IdVec<BodyId, Body>,
    pub hinges: Vec<Hinge>,
    /// The forces in links.
    pub links: IdVec<MemberId, Option<UnknownId>>,
}

/// A joint that two bodies share: its forces act on the first as they are
/// named, on the second reversed.
#[derive(Clone, Copy)]
pub struct Hinge {
    pub joint: JointId,
    pub bodies: [BodyId; 2],
    pub forces: [UnknownId; 2],
}

/// Some of the bodies, taken together.
pub type Chosen = BTreeSet<BodyId>;

impl System {
    /// The structure divided, cut free of its supports.
    pub fn divided(problem: &Problem<'_>, loads: &Loads, division: Division) -> System {
        let mut loaded = Loaded::default();
        for acting in &loads.each {
            match acting.place {
                Place::Along(member, _) => _ = loaded.members.insert(member),
                Place::Joint(joint) if matches!(acting.kind, Kind::Couple) => _ = loaded.turned.insert(joint),
                Place::Joint(_) => {}
            }
        }
        let mut system = System {
            unknowns: Unknowns::default(),
            reactions: IdVec::default(),
            bodies: divide(problem.structure, division, &loaded).into(),
            hinges: Vec::new(),
            links: IdVec::filled(&problem.structure.members, None),
        };
        let owner = system.owners(problem);
        for acting in &loads.each {
            let body = match acting.place {
                _ if division == Division::Whole => Some(BodyId::new(0)),
                Place::Joint(joint) => owner.get(&joint).copied(),
                Place::Along(member, _) => {
                    system.bodies.ids().find(|body| system.bodies[*body].members.contains(&member))
                }
            };
            system.act(body, *acting);
        }
        system.support(problem, &loaded.turned, &owner);
        system.connect(problem, &owner);
        system
    }

    fn unknown(&mut self, name: Name) -> UnknownId {
        self.unknowns.push(Unknown { name, value: None });
        UnknownId::new(self.unknowns.len() - 1)
    }

    fn act(&mut self, body: Option<BodyId>, acting: Acting) {
        if let Some(body) = body {
            self.bodies[body].part.push(acting);
        }
    }

    /// What the supports do. A clamp of bars holds no moment unless a couple
    /// acts on it: it is the pin that it is.
    fn support(&mut self, problem: &Problem<'_>, turned: &BTreeSet<JointId>, owner: &BTreeMap<JointId, BodyId>) {
        let idle = idle_turns(problem.structure);
        for (id, support) in problem.structure.supports.entries() {
            let mut given = Vec::new();
            for (component, restraint) in support_restraints(support) {
                let kind = drawn(&restraint);
                let is_couple = matches!(kind, Kind::Couple);
                if is_couple && idle.contains(&id) && !turned.contains(&support.joint) {
                    continue;
                }
                let unknown = self.unknown(Name::Reaction(id, component));
                // A couple is assumed in the page's positive sense.
                let share = if is_couple { problem.structure.turning_sign() } else { 1.0 };
                given.push((unknown, kind));
                let acting = Acting::at_joint(problem, support.joint, kind, Size::Unknown(unknown, share));
                self.act(owner.get(&support.joint).copied(), acting);
            }
            self.reactions.push(given);
        }
    }

    /// The body that takes what acts on a joint: one that holds its rotation
    /// where there is one.
    fn owners(&self, problem: &Problem<'_>) -> BTreeMap<JointId, BodyId> {
        let hinged = hinged_joints(problem.structure);
        let mut owner: BTreeMap<JointId, (bool, BodyId)> = BTreeMap::new();
        for (id, body) in self.bodies.entries().filter(|(_, body)| !matches!(body.form, Form::Link(_))) {
            let members = || body.members.iter().map(|member| &problem.structure.members[*member]);
            for joint in &body.joints {
                let holds = members().any(|member| {
                    (member.start == *joint && holds_moment(member, End::Start, &hinged))
                        || (member.end == *joint && holds_moment(member, End::Finish, &hinged))
                });
                let known = owner.entry(*joint).or_insert((holds, id));
                if holds && !known.0 {
                    *known = (true, id);
                }
            }
        }
        owner.into_iter().map(|(joint, (_, body))| (joint, body)).collect()
    }

    /// Hinge forces between bodies that share a joint, and forces in links.
    fn connect(&mut self, problem: &Problem<'_>, owner: &BTreeMap<JointId, BodyId>) {
        // How many forces have a joint's name already.
        let mut named: BTreeMap<JointId, usize> =
            problem.structure.supports.iter().map(|support| (support.joint, 1)).collect();
        for id in self.bodies.ids() {
            let Body { form, ref joints, .. } = self.bodies[id];
            match form {
                Form::Rigid => {
                    for joint in joints.clone() {
                        let Some(other) = owner.get(&joint).copied().filter(|other| *other != id) else { continue };
                        let marks = named.entry(joint).or_default();
                        let axes = [(Component::X, Direction::X), (Component::Y, Direction::Y)];
                        let names = axes.map(|(axis, direction)| (Name::Hinge(joint, axis, *marks), direction));
                        *marks += 1;
                        let forces = names.map(|(name, direction)| {
                            let force = self.unknown(name);
                            for (body, share) in [(id, 1.0), (other, -1.0)] {
                                let size = Size::Unknown(force, share);
                                self.act(Some(body), Acting::at_joint(problem, joint, Kind::Force(direction), size));
                            }
                            force
                        });
                        self.hinges.push(Hinge { joint, bodies: [id, other], forces });
                    }
                }
                Form::Link(link) => {
                    let member = &problem.structure.members[link];
                    let force = self.unknown(Name::Bar(link));
                    for (joint, other) in [(member.start, member.end), (member.end, member.start)] {
                        let kind = Kind::Force(problem.between(joint, other));
                        let acting = Acting::at_joint(problem, joint, kind, Size::Unknown(force, 1.0));
                        self.act(owner.get(&joint).copied(), acting);
                    }
                    self.links[link] = Some(force);
                }
                Form::Pin => {}
            }
        }
    }

    /// Whether the structure is one body, held by three forces.
    pub fn is_whole(&self) -> bool {
        self.bodies.len() == 1 && self.unknowns.len() == 3
    }

    /// Bodies that can be cut free: all but links.
    pub fn free_bodies(&self) -> Chosen {
        let free = self.bodies.entries().filter(|(_, body)| !matches!(body.form, Form::Link(_)));
        free.map(|(id, _)| id).collect()
    }

    /// What acts on some bodies together: forces between them cancel.
    pub fn part(&self, chosen: &Chosen) -> Vec<Acting> {
        let forces = || chosen.iter().flat_map(|body| &self.bodies[*body].part);
        let mut seen: BTreeMap<UnknownId, usize> = BTreeMap::new();
        for id in forces().filter_map(|acting| acting.size.unknown()) {
            *seen.entry(id).or_default() += 1;
        }
        let stays = |acting: &&Acting| acting.size.unknown().is_none_or(|id| seen.get(&id) == Some(&1));
        forces().filter(stays).copied().collect()
    }

    /// What acts on a joint of a truss divided at its joints.
    pub fn part_at(&self, joint: JointId) -> &[Acting] {
        &self.bodies[BodyId::new(joint.index())].part
    }

    /// The unknowns there that are not found yet.
    pub fn open_at(&self, joint: JointId) -> BTreeSet<UnknownId> {
        let open = self.part_at(joint).iter().filter(|acting| self.is_open(acting));
        open.filter_map(|acting| acting.size.unknown()).collect()
    }

    /// The sums of the forces there along x and along y.
    pub fn sums_at(&self, problem: &Problem<'_>, joint: JointId) -> [Balance; 2] {
        [Sum::X, Sum::Y].map(|sum| Balance::of(problem, &self.unknowns, self.part_at(joint), sum))
    }

    pub fn value(&self, id: UnknownId) -> Option<f64> {
        self.unknowns[id].value
    }

    pub fn set(&mut self, id: UnknownId, value: f64) {
        self.unknowns[id].value = Some(value);
    }

    /// The force in a link, where it is found.
    pub fn bar(&self, member: MemberId) -> Option<f64> {
        self.links[member].and_then(|id| self.value(id))
    }

    /// Those not found yet.
    pub fn open(&self) -> Vec<UnknownId> {
        self.unknowns.ids().filter(|id| self.value(*id).is_none()).collect()
    }

    pub fn all_found(&self) -> bool {
        self.unknowns.iter().all(|unknown| unknown.value.is_some())
    }

    pub fn reactions_found(&self) -> bool {
        self.reactions.iter().flatten().all(|(id, _)| self.value(*id).is_some())
    }

    pub fn is_open(&self, acting: &Acting) -> bool {
        acting.size.unknown().is_some_and(|id| self.value(id).is_none())
    }

    /// What another division has found already: reactions, which come first
    /// in both and in the same order, and forces in links.
    pub fn take_from(&mut self, other: &System) {
        for (id, _) in other.reactions.iter().flatten() {
            self.unknowns[*id].value = other.value(*id);
        }
        for member in self.links.ids() {
            if let Some(own) = self.links[member] {
                self.unknowns[own].value = other.bar(member);
            }
        }
    }

    /// The sums worth trying on a part, those that are easiest to follow first.
    pub fn sums(&self, problem: &Problem<'_>, part: &[Acting]) -> Vec<Sum> {
        let open = part.iter().filter(|acting| self.is_open(acting));
        let lines: Vec<([f64; 2], [f64; 2])> =
            open.filter_map(|acting| Some((acting.at, acting.direction()?.unit))).collect();
        let mut about: Vec<(usize, Sum)> = Vec::new();
        for joint in problem.structure.joints.ids() {
            let at = problem.at(joint);
            let passes = |(point, unit): &&([f64; 2], [f64; 2])| problem.quiet_length(arm(at, *point, *unit)) == 0.0;
            let passing = lines.iter().filter(passes).count();
            if passing >= 1 && part.iter().any(|acting| acting.at == at) {
                about.push((lines.len() - passing, Sum::about(problem, joint)));
            }
        }
        about.sort_by_key(|(left, _)| *left);
        let good = about.iter().filter(|(left, _)| *left + 2 <= lines.len());
        let mut sums: Vec<Sum> = good.map(|(_, sum)| *sum).chain([Sum::X, Sum::Y]).collect();
        sums.extend(about.into_iter().map(|(_, sum)| sum));
        for (index, first) in lines.iter().enumerate() {
            for second in lines.iter().skip(index + 1) {
                let is_known = |sum: &Sum, at| matches!(sum, Sum::About(point, _) if problem.is_one_place(*point, at));
                if let Some(at) = meeting(*first, *second)
                    && !sums.iter().any(|sum| is_known(sum, at))
                {
                    sums.push(Sum::About(at, Centre::Free));
                }
            }
            let (_, [ux, uy]) = *first;
            if ux != 0.0 && uy != 0.0 {
                sums.push(Sum::Along([-uy, ux]));
            }
        }
        sums
    }

    /// All sums of all bodies, and what they give together; `None` where they
    /// are singular, to the accuracy of floats.
    pub fn together(&self, problem: &Problem<'_>) -> Option<Together> {
        let open = self.open();
        let mut rows: Vec<(BodyId, Balance)> = Vec::new();
        for id in self.free_bodies() {
            let body = &self.bodies[id];
            let part = self.part(&Chosen::from([id]));
            let about = body.joints.first().filter(|_| body.form == Form::Rigid);
            let sums = [Sum::X, Sum::Y].into_iter().chain(about.map(|joint| Sum::about(problem, *joint)));
            let balances = sums.map(|sum| (id, Balance::of(problem, &self.unknowns, &part, sum)));
            rows.extend(balances.filter(|(_, balance)| !balance.open.is_empty()));
        }
        let row = |(_, balance): &(BodyId, Balance)| {
            (open.iter().map(|id| balance.coefficient(*id)).collect(), -balance.known)
        };
        let values = eliminate(rows.iter().map(row).collect(), open.len())?;
        Some(Together { rows, gives: open.into_iter().zip(values).collect() })
    }
}

/// Sums solved together.
#[derive(Clone, Debug)]
pub struct Together {
    pub rows: Vec<(BodyId, Balance)>,
    pub gives: Vec<(UnknownId, f64)>,
}

/// How a reaction component is drawn: along an axis the way it points, whichever
/// way a roller pushes.
fn drawn(restraint: &Restraint) -> Kind {
    let Restraint::Line(_, line) = restraint else { return Kind::Couple };
    let [x, y] = line.as_ref();
    let direction = Direction::of([x, y]);
    let [ux, uy] = direction.unit;
    Kind::Force(if ux == 0.0 || uy == 0.0 { Direction::axis([ux.abs(), uy.abs()]) } else { direction })
}
