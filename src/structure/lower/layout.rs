//! Joints put into natural order; members, hinges and supports between them.
//!
//! Must not know: loads.

use crate::base::{JointId, Origin};
use crate::quantity::{Dimension, Number};
use crate::structure::fault::{FaultKind, Near, Wanted};
use crate::structure::model::{Held, Hold, Joint, Member, PushSense, Stiffness, Support};
use crate::structure::names::natural_permutation;
use crate::syntax::tree::{
    Direction, MemberKind, MemberStatement, NameRef, Property, PropertyValue, StatementKind, SupportKind,
    SupportStatement,
};

use super::evaluate::{Evaluated, Stop};
use super::{Context, DefState, Instance, Lowering, Settled};

impl<'t> Lowering<'t> {
    pub(super) fn lower_layout(&mut self) {
        self.place_joints();
        self.structure.members.reserve(self.members.len());
        for instance in std::mem::take(&mut self.members) {
            if let StatementKind::Member(member) = &instance.statement.kind
                && let Err(stop) = self.member(instance.context, member)
            {
                self.layout_touched = true;
                self.stopped(instance.context, stop);
            }
        }
        self.order_members();
        let others = std::mem::take(&mut self.others);
        for instance in &others {
            let outcome = match &instance.statement.kind {
                StatementKind::Support(support) => self.support(instance, support),
                StatementKind::Hinge(joints) => self.hinge(instance.context, *joints),
                _ => continue,
            };
            if let Err(stop) = outcome {
                self.layout_touched = true;
                self.stopped(instance.context, stop);
            }
        }
        self.others = others;
        self.order_supports();
    }

    fn place_joints(&mut self) {
        let is_placed =
            |index: &usize| matches!(self.defs[self.joints[*index]].state, DefState::Settled(Settled::Point(..)));
        let placed: Vec<usize> = (0..self.joints.len()).filter(is_placed).collect();
        let name_of = |place: usize| self.names.get(self.defs[self.joints[placed[place]]].name);
        let order = natural_permutation(placed.len(), name_of);
        self.joint_ids = vec![None; self.joints.len()];
        self.structure.joints.reserve_exact(order.len());
        for place in order {
            let index = placed[place as usize];
            let def = &self.defs[self.joints[index]];
            let DefState::Settled(Settled::Point(x, y)) = &def.state else { continue };
            let note = self.joint_statements[index].note;
            let id = JointId::new(self.structure.joints.len());
            self.structure.joints.push(Joint {
                name: def.name,
                x: x.clone(),
                y: y.clone(),
                origin: def.origin,
                note: note.map(|span| Origin::new(def.origin.file, span)),
            });
            self.joint_ids[index] = Some(id);
        }
    }

    /// The joint a name stands for.
    pub(super) fn joint_at(&mut self, context: Context, name: NameRef) -> Evaluated<JointId> {
        let def = self.now(|this| this.joint_definition(context, name))?;
        let index = self.defs[def].joint.ok_or(Stop::Poisoned)?;
        self.joint_ids.get(index as usize).copied().flatten().ok_or(Stop::Poisoned)
    }

    fn member(&mut self, context: Context, statement: &MemberStatement) -> Evaluated<()> {
        let section = match statement.section {
            None => None,
            Some(name) => Some(self.section_at(context, name)?),
        };
        let tree = self.tree(context);
        let mut hinged = Vec::new();
        for name in tree.links(statement.hinged) {
            // The reader lets only beams through.
            if statement.kind != MemberKind::Beam {
                return Err(Stop::Poisoned);
            }
            hinged.push((self.joint_at(context, *name)?, name.span, false));
        }
        let mut failed = None;
        for chain in &statement.chains {
            let mut before: Option<(JointId, NameRef)> = None;
            for link in tree.links(chain.links) {
                let joint = match self.joint_at(context, *link) {
                    Ok(joint) => joint,
                    Err(stop) => {
                        // The other links may still be wrong in other ways.
                        if let Some(Stop::Fault(fault)) = failed.replace(stop) {
                            self.fault(context, *fault);
                        }
                        before = None;
                        continue;
                    }
                };
                if let Some((start, first)) = before {
                    let origin = self.origin(context, first.span.to(link.span));
                    if start == joint {
                        let joint = self.full_name(context, *link)?;
                        let kind = FaultKind::MemberOnItself { joint }.at(origin);
                        self.layout_touched = true;
                        self.fault(context, kind);
                    } else {
                        let mut freed = [false; 2];
                        for (hinge, _, used) in &mut hinged {
                            freed[0] |= *hinge == start;
                            freed[1] |= *hinge == joint;
                            *used |= *hinge == start || *hinge == joint;
                        }
                        let kind = statement.kind;
                        self.structure.members.push(Member { kind, start, end: joint, section, hinged: freed, origin });
                    }
                }
                before = Some((joint, *link));
            }
        }
        for (joint, span, used) in hinged {
            if !used && failed.is_none() {
                let kind = FaultKind::HingedElsewhere { joint: self.joint_text(joint).to_owned() }
                    .at(self.origin(context, span));
                self.layout_touched = true;
                self.fault(context, kind);
            }
        }
        failed.map_or(Ok(()), Err)
    }

    /// Members in the natural order of their names; of two between the same
    /// joints the one written first is kept.
    fn order_members(&mut self) {
        let members = &mut self.structure.members;
        let doubled = doubled_members(members, self.structure.joints.len());
        for (index, kept) in doubled.iter().rev() {
            let origin_of = |index: u32| self.structure.members.get(index as usize).map(|member| member.origin);
            let (Some(at), Some(first)) = (origin_of(*index), origin_of(*kept)) else { continue };
            let name = at.span.text(self.files.text(at.file)).to_owned();
            self.fault(self.root(at.file), FaultKind::DuplicateMember { name, first }.at(at));
        }
        let mut doubled = doubled.iter().map(|(index, _)| *index).peekable();
        let mut index = 0;
        self.structure.members.retain(|_| {
            index += 1;
            doubled.next_if_eq(&(index - 1)).is_none()
        });
        self.structure.members.sort_unstable_by_key(|member| (member.start, member.end));
    }

    fn hinge(&mut self, context: Context, joints: crate::syntax::tree::Range) -> Evaluated<()> {
        for name in self.tree(context).links(joints) {
            let joint = self.joint_at(context, *name)?;
            let origin = self.origin(context, name.span);
            self.structure.hinges.push((joint, origin));
        }
        Ok(())
    }

    fn support(&mut self, instance: &Instance<'t>, statement: &SupportStatement) -> Evaluated<()> {
        let context = instance.context;
        let held = self.held(context, statement)?;
        for name in self.tree(context).links(statement.joints) {
            let origin = self.origin(context, name.span);
            match self.joint_at(context, *name) {
                Ok(joint) => {
                    self.check_lift_side(context, statement, name, &held);
                    self.structure.supports.push(Support { joint, kind: statement.kind, held: held.clone(), origin });
                }
                Err(stop) => {
                    self.layout_touched = true;
                    self.stopped(context, stop);
                }
            }
        }
        Ok(())
    }

    /// Of a track that is upright, or nearly, it is not known from which side a
    /// roller may lift off.
    fn check_lift_side(&mut self, context: Context, statement: &SupportStatement, name: &NameRef, held: &Held) {
        let Held { line: Some([x, y]), hold: Hold::LiftsOff, sense: PushSense::EitherSide, .. } = held else { return };
        let side = y.to_f64().atan2(x.to_f64()).to_degrees();
        let at = statement.along.map_or(name.span, |along| along.span);
        let (at, joint) = (self.origin(context, at), self.text_of(context, name.span).to_owned());
        self.layout_touched = true;
        self.fault(context, FaultKind::LiftSideUnsaid { joint, sides: [side, side + 180.0] }.at(at));
    }

    fn held(&mut self, context: Context, statement: &SupportStatement) -> Evaluated<Held> {
        let clause = |direction: Option<Direction>| direction.map(|direction| direction.span);
        let bare = clause(statement.along).or(clause(statement.pushes)).or(statement.lifts_off).is_none();
        match (statement.kind, statement.along, statement.pushes) {
            (SupportKind::Pin, ..) if bare && statement.properties.is_empty() => Ok(Held::BOTH_WAYS),
            (SupportKind::Fixed, ..) if bare && statement.properties.is_empty() => {
                Ok(Held { turn: Some(Stiffness::Rigid), ..Held::BOTH_WAYS })
            }
            (SupportKind::Roller, along, pushes) => {
                let (line, sense) = match (along, pushes) {
                    (Some(_), Some(_)) => return Err(Stop::Poisoned),
                    (None, Some(pushes)) => {
                        let line = self.now(|this| this.direction(context, pushes))?;
                        ([line.x, line.y], PushSense::Known)
                    }
                    (Some(along), None) => rolling_normal(self.now(|this| this.direction(context, along))?),
                    (None, None) => ([Number::ZERO, Number::ONE], PushSense::Known),
                };
                let hold = if statement.lifts_off.is_some() { Hold::LiftsOff } else { Hold::BothWays };
                Ok(Held { line: Some(line), hold, sense, ..Held::NOTHING })
            }
            (SupportKind::Guide, Some(along), None) if statement.lifts_off.is_none() => {
                let free = self.now(|this| this.direction(context, along))?;
                let line = Some([free.y.negated(), free.x]);
                Ok(Held { line, turn: Some(Stiffness::Rigid), ..Held::NOTHING })
            }
            (SupportKind::Spring, ..) if bare => self.spring(context, &statement.properties),
            // The reader lets no other clauses through.
            _ => Err(Stop::Poisoned),
        }
    }

    fn spring(&mut self, context: Context, properties: &[Property]) -> Evaluated<Held> {
        const KNOWN: &[&str] = &["kx", "ky", "kr"];
        self.check_properties(context, properties, "a spring", KNOWN)?;
        let mut held = Held::NOTHING;
        for property in properties {
            let name = self.text_of(context, property.name);
            let PropertyValue::Given(id) = property.value else {
                let at = self.origin(context, property.name);
                return Err(FaultKind::NotRigid { name: name.to_owned() }.at(at).into());
            };
            let wanted = if name == "kr" { Dimension::ROTATIONAL_STIFFNESS } else { Dimension::STIFFNESS };
            let value = self.positive(context, property.name, id, wanted, "a spring's stiffness")?;
            match name {
                "kx" => held.x = Some(Stiffness::Value(value)),
                "ky" => held.y = Some(Stiffness::Value(value)),
                _ => held.turn = Some(Stiffness::Value(value)),
            }
        }
        if properties.is_empty() {
            return Err(Stop::Poisoned);
        }
        Ok(held)
    }

    /// Supports in the order of their joints; of two on one joint the first is kept.
    fn order_supports(&mut self) {
        let mut supports = std::mem::take(&mut self.structure.supports);
        supports.sort_by_key(|support| (support.joint, support.origin));
        let mut kept: Vec<Support> = Vec::with_capacity(supports.len());
        for support in supports {
            match kept.last() {
                Some(first) if first.joint == support.joint => {
                    let joint = self.joint_text(support.joint).to_owned();
                    let kind = FaultKind::DuplicateSupport { joint, first: first.origin }.at(support.origin);
                    self.layout_touched = true;
                    self.fault(self.root(support.origin.file), kind);
                }
                _ => kept.push(support),
            }
        }
        self.structure.supports = kept.into();
    }

    pub(super) fn unknown(&mut self, context: Context, name: NameRef, wanted: Wanted, near: Vec<String>) -> Stop {
        let near = Near::Alike(near);
        match self.now(|this| this.full_name(context, name)) {
            Ok(text) if self.is_broken(&text) => Stop::Poisoned,
            Ok(text) => FaultKind::UnknownName { name: text, wanted, near }.at(self.origin(context, name.span)).into(),
            Err(stop) => stop,
        }
    }
}

/// The tangent of 5°, within which a track counts as upright.
const UPRIGHT: f64 = 0.087_488_663_525_924;

/// The reaction line of a roller that rolls along a direction: perpendicular to it,
/// upwards; of an upright surface, to either side.
fn rolling_normal(along: crate::quantity::Vector) -> ([Number; 2], PushSense) {
    let (run, rise) = (along.x.to_f64().abs(), along.y.to_f64().abs());
    let upright = run <= UPRIGHT * rise;
    let leftwards = [along.y.negated(), along.x.clone()];
    let downwards = along.x.is_negative();
    let normal = if downwards { [along.y, along.x.negated()] } else { leftwards };
    (normal, if upright { PushSense::EitherSide } else { PushSense::Known })
}

/// Members between two joints that a member before joins already, each with
/// that one, ascending.
fn doubled_members(members: &[Member], joints: usize) -> Vec<(u32, u32)> {
    // The members of each joint in one list, by counting: sorting all would
    // take longer than everything else that is done with them here.
    let mut ends = vec![0_u32; joints];
    for member in members {
        if let Some(count) = ends.get_mut(member.start.min(member.end).index()) {
            *count += 1;
        }
    }
    let mut total = 0;
    for end in &mut ends {
        total += *end;
        *end = total;
    }
    let mut lists = vec![(JointId(0), 0_u32); total as usize];
    // Filled from the end, so that each list begins where it is last written.
    for (index, member) in (0_u32..).zip(members) {
        let Some(start) = ends.get_mut(member.start.min(member.end).index()) else { continue };
        *start -= 1;
        if let Some(slot) = lists.get_mut(*start as usize) {
            *slot = (member.start.max(member.end), index);
        }
    }
    let mut doubled = Vec::new();
    let mut rest = lists.as_mut_slice();
    let mut begin = 0;
    for end in ends.iter().skip(1).copied().chain([total]) {
        let (list, others) = rest.split_at_mut(((end - begin) as usize).min(rest.len()));
        list.sort_unstable();
        let mut first: Option<(JointId, u32)> = None;
        for (joint, index) in list.iter() {
            match first {
                Some((other, kept)) if other == *joint => doubled.push((*index, kept)),
                _ => first = Some((*joint, *index)),
            }
        }
        (rest, begin) = (others, end);
    }
    doubled.sort_unstable();
    doubled
}
