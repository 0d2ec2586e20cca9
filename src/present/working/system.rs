//! The unknown forces at supports, hinges and links, and the parts on which
//! they act.
//!
//! Must not know: how the solution is told.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::{JointId, MemberId, SupportId};
use crate::quantity::Number;
use crate::structure::{Support, SupportKind};

use super::bodies::{Body, Form, Grain, divide};
use super::loads::{Loads, Where};
use super::part::{Acting, Kind, Part, Size, Sum, Unknown, UnknownId, What};
use super::pen::{Direction, Pen, symbol};

/// All unknowns and where they act.
pub struct System {
    pub unknowns: Vec<Unknown>,
    /// The reactions of each support, with the direction in which they are drawn.
    pub reactions: Vec<(SupportId, Vec<(UnknownId, Kind)>)>,
    pub bodies: Vec<Body>,
    /// What acts on each body, in their order.
    parts: Vec<Part>,
    /// Hinges between two bodies.
    pub hinges: Vec<(JointId, [usize; 2], [UnknownId; 2])>,
    /// Links and the force in each.
    pub links: Vec<(MemberId, UnknownId)>,
}

/// Some of the bodies, taken together.
pub type Chosen = BTreeSet<usize>;

impl System {
    /// The structure as one, its supports taken away.
    pub fn whole(pen: &Pen<'_>, loads: &Loads) -> System {
        let mut system = System::supports(pen, loads);
        let mut part = Part::default();
        part.forces.extend(loads.each.iter().map(|(_, acting)| acting.clone()));
        part.forces.extend(system.reaction_forces(pen).into_iter().map(|(_, acting)| acting));
        let joints = (0..pen.structure.joints.len()).map(JointId::new).collect();
        system.bodies.push(Body { joints, members: Vec::new(), form: Form::Rigid });
        system.parts.push(part);
        system
    }

    /// Body by body, hinge by hinge.
    pub fn divided(pen: &Pen<'_>, loads: &Loads, grain: Grain) -> System {
        let structure = pen.structure;
        let loaded: BTreeSet<MemberId> = loads
            .each
            .iter()
            .filter_map(|(place, _)| match place {
                Where::Member(member) => Some(*member),
                Where::Joint(_) => None,
            })
            .collect();
        let couples = loads.each.iter().filter_map(|(place, acting)| match place {
            Where::Joint(joint) if matches!(acting.kind, Kind::Couple) => Some(*joint),
            _ => None,
        });
        let couples: BTreeSet<JointId> = couples.collect();
        let mut system = System::supports(pen, loads);
        system.bodies = divide(structure, grain, &|member| loaded.contains(&member), &couples);
        system.parts = vec![Part::default(); system.bodies.len()];
        let owner = system.owners(pen);
        for (place, acting) in &loads.each {
            let body = match place {
                Where::Joint(joint) => owner.get(joint).copied(),
                Where::Member(member) => system.bodies.iter().position(|body| body.members.contains(member)),
            };
            system.act(body, acting.clone());
        }
        for (joint, acting) in system.reaction_forces(pen) {
            system.act(owner.get(&joint).copied(), acting);
        }
        system.connect(pen, &owner);
        system
    }

    /// How many components the supports have that the sums have to find.
    pub fn reactions_wanted(pen: &Pen<'_>, loads: &Loads) -> usize {
        System::supports(pen, loads).unknowns.len()
    }

    /// The supports alone. A clamp of bars holds no moment unless a couple acts
    /// on it: it is told as the pin that it is.
    fn supports(pen: &Pen<'_>, loads: &Loads) -> System {
        let mut system = System {
            unknowns: Vec::new(),
            reactions: Vec::new(),
            bodies: Vec::new(),
            parts: Vec::new(),
            hinges: Vec::new(),
            links: Vec::new(),
        };
        let idle = crate::statics::equilibrium::idle_turns(pen.structure);
        for (index, support) in pen.structure.supports.iter().enumerate() {
            let mut given = Vec::new();
            let is_loaded = loads.each.iter().any(|(place, acting)| {
                matches!(acting.kind, Kind::Couple) && matches!(place, Where::Joint(joint) if *joint == support.joint)
            });
            let turns = is_loaded || !idle.contains(&SupportId::new(index));
            for (letter, subscript, kind) in components(pen, support) {
                if matches!(kind, Kind::Couple) && !turns {
                    continue;
                }
                let what = if matches!(kind, Kind::Couple) { What::Couple } else { What::Force };
                given.push((system.unknowns.len(), kind));
                system.unknowns.push(Unknown { symbol: symbol(letter, subscript), what, value: None });
            }
            system.reactions.push((SupportId::new(index), given));
        }
        system
    }

    fn reaction_forces(&self, pen: &Pen<'_>) -> Vec<(JointId, Acting)> {
        let mut forces = Vec::new();
        for (support, given) in &self.reactions {
            let Some(joint) = pen.structure.supports.get(support.index()).map(|support| support.joint) else {
                continue;
            };
            for (id, kind) in given {
                let place = format!("at {}", pen.joint(joint));
                let acting = Acting { size: assumed(pen, *id, kind), kind: kind.clone(), at: pen.at(joint), place };
                forces.push((joint, acting));
            }
        }
        forces
    }

    /// The body that takes what acts on a joint: one that holds its rotation
    /// where there is one.
    fn owners(&self, pen: &Pen<'_>) -> BTreeMap<JointId, usize> {
        let hinged = crate::statics::equilibrium::hinged_joints(pen.structure);
        let mut owner: BTreeMap<JointId, (bool, usize)> = BTreeMap::new();
        for (index, body) in self.bodies.iter().enumerate() {
            if matches!(body.form, Form::Link(_)) {
                continue;
            }
            for joint in &body.joints {
                let holds = body.members.iter().filter_map(|member| pen.structure.member(*member)).any(|member| {
                    use crate::statics::equilibrium::{End, holds_moment};
                    (member.start == *joint && holds_moment(member, End::Start, &hinged))
                        || (member.end == *joint && holds_moment(member, End::Finish, &hinged))
                });
                let known = owner.entry(*joint).or_insert((holds, index));
                if holds && !known.0 {
                    *known = (true, index);
                }
            }
        }
        owner.into_iter().map(|(joint, (_, body))| (joint, body)).collect()
    }

    fn act(&mut self, body: Option<usize>, acting: Acting) {
        if let Some(part) = body.and_then(|body| self.parts.get_mut(body)) {
            part.forces.push(acting);
        }
    }

    /// Hinge forces between bodies that share a joint, and forces in links.
    fn connect(&mut self, pen: &Pen<'_>, owner: &BTreeMap<JointId, usize>) {
        let mut taken: BTreeSet<String> =
            pen.structure.supports.iter().map(|support| pen.joint(support.joint).to_owned()).collect();
        for index in 0..self.bodies.len() {
            let Some(body) = self.bodies.get(index).cloned() else { continue };
            match body.form {
                Form::Rigid => {
                    for joint in &body.joints {
                        let Some(first) = owner.get(joint).copied().filter(|first| *first != index) else { continue };
                        let mut letter = pen.joint(*joint).to_owned();
                        while !taken.insert(letter.clone()) {
                            letter.push('′');
                        }
                        let place = format!("at {}", pen.joint(*joint));
                        let ids = [("x", [1.0, 0.0]), ("y", [0.0, 1.0])].map(|(subscript, unit)| {
                            let id = self.unknowns.len();
                            let symbol = symbol(letter.clone(), subscript);
                            self.unknowns.push(Unknown { symbol, what: What::Force, value: None });
                            for (body, share) in [(index, 1.0), (first, -1.0)] {
                                let kind = Kind::Force(Direction { unit, cosines: None });
                                let size = Size::Unknown(id, share);
                                self.act(Some(body), Acting { size, kind, at: pen.at(*joint), place: place.clone() });
                            }
                            id
                        });
                        self.hinges.push((*joint, [index, first], ids));
                    }
                }
                Form::Link(member) => {
                    let Some((start, end)) = pen.structure.member(member).map(|m| (m.start, m.end)) else { continue };
                    let id = self.unknowns.len();
                    self.unknowns.push(Unknown { symbol: pen.bar_force(member), what: What::Bar, value: None });
                    for (joint, other) in [(start, end), (end, start)] {
                        let place = format!("at {}", pen.joint(joint));
                        let kind = Kind::Force(pen.between(joint, other));
                        let size = Size::Unknown(id, 1.0);
                        self.act(owner.get(&joint).copied(), Acting { size, kind, at: pen.at(joint), place });
                    }
                    self.links.push((member, id));
                }
                Form::Pin => {}
            }
        }
    }

    /// Bodies that can be cut free: all but links.
    pub fn free_bodies(&self) -> Vec<usize> {
        let is_free = |index: &usize| self.bodies.get(*index).is_some_and(|body| !matches!(body.form, Form::Link(_)));
        (0..self.bodies.len()).filter(is_free).collect()
    }

    /// What acts on some bodies together: forces between them cancel.
    pub fn part(&self, chosen: &Chosen) -> Part {
        let mut forces: Vec<Acting> = Vec::new();
        let mut seen: BTreeMap<UnknownId, usize> = BTreeMap::new();
        for acting in chosen.iter().filter_map(|index| self.parts.get(*index)).flat_map(|part| &part.forces) {
            if let Size::Unknown(id, _) = acting.size {
                *seen.entry(id).or_default() += 1;
            }
            forces.push(acting.clone());
        }
        forces.retain(|acting| match acting.size {
            Size::Unknown(id, _) => seen.get(&id).copied() == Some(1),
            Size::Load(_) | Size::Found(_) => true,
        });
        Part { forces }
    }

    pub fn value(&self, id: UnknownId) -> Option<f64> {
        self.unknowns.get(id).and_then(|unknown| unknown.value)
    }

    pub fn set(&mut self, id: UnknownId, value: f64) {
        if let Some(unknown) = self.unknowns.get_mut(id) {
            unknown.value = Some(value);
        }
    }

    pub fn all_found(&self) -> bool {
        self.unknowns.iter().all(|unknown| unknown.value.is_some())
    }

    /// What another division has found already: reactions, which come first
    /// in both and in the same order, and forces in links.
    pub fn take_from(&mut self, other: &System) {
        let reactions: usize = self.reactions.iter().map(|(_, given)| given.len()).sum();
        for (own, found) in self.unknowns.iter_mut().zip(&other.unknowns).take(reactions) {
            own.value = found.value;
        }
        for (member, id) in &self.links {
            let found = other.links.iter().find(|(link, _)| link == member).and_then(|(_, id)| other.value(*id));
            if let Some(own) = self.unknowns.get_mut(*id) {
                own.value = found;
            }
        }
    }

    pub fn reactions_found(&self) -> bool {
        self.reactions.iter().flat_map(|(_, given)| given).all(|(id, _)| self.value(*id).is_some())
    }

    /// The sums worth trying on a part, those that are easiest to follow first.
    pub fn sums(&self, pen: &Pen<'_>, part: &Part) -> Vec<Sum> {
        let open: Vec<&Acting> = part.forces.iter().filter(|acting| self.is_open(acting)).collect();
        let lines: Vec<([f64; 2], [f64; 2])> = open
            .iter()
            .filter_map(|acting| match &acting.kind {
                Kind::Force(direction) => Some((acting.at, direction.unit)),
                Kind::Couple => None,
            })
            .collect();
        let mut about: Vec<(usize, [f64; 2], String)> = Vec::new();
        for (index, joint) in pen.structure.joints.iter().enumerate() {
            let (at, name) = ([joint.x.to_f64(), joint.y.to_f64()], pen.joint(JointId::new(index)));
            let passing = lines
                .iter()
                .filter(|(point, unit)| pen.quiet_length(super::part::arm(at, *point, *unit)) == 0.0)
                .count();
            let is_on_part = part.forces.iter().any(|acting| acting.at == at);
            if passing >= 1 && is_on_part {
                about.push((lines.len() - passing, at, name.to_owned()));
            }
        }
        about.sort_by_key(|(left, ..)| *left);
        let mut sums: Vec<Sum> = about
            .iter()
            .filter(|(left, ..)| *left + 2 <= lines.len())
            .map(|(_, at, name)| Sum::About(*at, name.clone()))
            .collect();
        sums.extend([Sum::x(), Sum::y()]);
        sums.extend(about.into_iter().map(|(_, at, name)| Sum::About(at, name)));
        for (index, first) in lines.iter().enumerate() {
            for second in lines.iter().skip(index + 1) {
                if let Some(at) = meeting(*first, *second)
                    && !sums.iter().any(|known| matches!(known, Sum::About(point, _) if near(pen, *point, at)))
                {
                    sums.push(Sum::About(at, pen.letter().to_owned()));
                }
            }
            let (_, [ux, uy]) = *first;
            if ux != 0.0 && uy != 0.0 {
                sums.push(Sum::Along([-uy, ux], symbol("ΣF", "⊥")));
            }
        }
        sums
    }

    pub fn is_open(&self, acting: &Acting) -> bool {
        matches!(acting.size, Size::Unknown(id, _) if self.value(id).is_none())
    }
}

fn near(pen: &Pen<'_>, [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> bool {
    pen.quiet_length(ax - bx) == 0.0 && pen.quiet_length(ay - by) == 0.0
}

/// Where two lines meet, unless they are parallel.
pub fn meeting(
    ([ax, ay], [ux, uy]): ([f64; 2], [f64; 2]),
    ([bx, by], [vx, vy]): ([f64; 2], [f64; 2]),
) -> Option<[f64; 2]> {
    let cross = ux * vy - uy * vx;
    if cross.abs() < 1e-9 {
        return None;
    }
    let along = ((bx - ax) * vy - (by - ay) * vx) / cross;
    Some([ax + along * ux, ay + along * uy])
}

/// A reaction in the sense assumed for it: a couple in the page's positive one.
pub fn assumed(pen: &Pen<'_>, id: UnknownId, kind: &Kind) -> Size {
    Size::Unknown(id, if matches!(kind, Kind::Couple) { pen.structure.turning_sign() } else { 1.0 })
}

/// The reaction components of a support: letter, subscript, and how they are
/// drawn.
fn components(pen: &Pen<'_>, support: &Support) -> Vec<(String, String, Kind)> {
    let name = pen.joint(support.joint).to_owned();
    let axis = |unit| Kind::Force(Direction { unit, cosines: None });
    let x = (name.clone(), "x".to_owned(), axis([1.0, 0.0]));
    let y = (name.clone(), "y".to_owned(), axis([0.0, 1.0]));
    let turn = ("M".to_owned(), name.clone(), Kind::Couple);
    let line = |[nx, ny]: &[Number; 2]| {
        let mut direction = pen.direction([nx, ny]);
        let [ux, uy] = direction.unit;
        // Components along an axis are drawn along it, whichever way a roller pushes.
        if ux == 0.0 || uy == 0.0 {
            direction.unit = [ux.abs(), uy.abs()];
        }
        let subscript = match (ux == 0.0, uy == 0.0) {
            (true, _) => "y",
            (_, true) => "x",
            _ => "",
        };
        let (letter, subscript) = if subscript.is_empty() { ("R", name.as_str()) } else { (name.as_str(), subscript) };
        (letter.to_owned(), subscript.to_owned(), Kind::Force(direction))
    };
    match &support.kind {
        SupportKind::Pin => vec![x, y],
        SupportKind::Fixed => vec![x, y, turn],
        SupportKind::Roller(roller) => vec![line(&roller.normal)],
        SupportKind::Guide { normal } => vec![line(normal), turn],
        SupportKind::Spring { x: kx, y: ky, turn: kr } => {
            [(kx, x), (ky, y), (kr, turn)].into_iter().filter(|(k, _)| k.is_some()).map(|(_, part)| part).collect()
        }
    }
}
