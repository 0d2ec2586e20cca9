//! Chains of members, and places along them.
//!
//! Must not know: what a chain is named for.

use crate::base::{JointId, MemberId};
use crate::quantity::Number;
use crate::structure::claim::Passage;
use crate::structure::fault::FaultKind;
use crate::structure::model::Member;
use crate::syntax::tree::{Chain, ExprId, MemberKind, NameRef};

use super::evaluate::{Evaluated, Stop};
use super::{Context, Lowering};

/// With many faults a hint would cost more than it is worth.
const MOST_FAULTS: usize = 50;

/// A chain of members with the length of each, in metres.
pub(super) struct Path {
    pub links: Vec<(MemberId, Passage, Number)>,
    pub whole: Number,
}

impl Lowering<'_> {
    pub(super) fn member_text(&self, member: MemberId) -> String {
        let member = &self.structure.members[member];
        format!("{}-{}", self.joint_text(member.start), self.joint_text(member.end))
    }

    pub(super) fn joint_text(&self, joint: JointId) -> &str {
        self.names.get(self.structure.joints[joint].name)
    }

    /// The members along a chain.
    pub(super) fn members_along(&mut self, context: Context, chain: Chain) -> Evaluated<Vec<(MemberId, Passage)>> {
        let mut path = Vec::new();
        let mut before: Option<(JointId, NameRef)> = None;
        for link in self.tree(context).links(chain.links) {
            let joint = self.joint_at(context, *link)?;
            if let Some((start, first)) = before {
                let Some(found) = self.structure.find_member(start, joint) else {
                    if self.members_incomplete {
                        return Err(Stop::Poisoned);
                    }
                    let at = self.origin(context, first.span.to(link.span));
                    let (a, b) = (self.full_name(context, first)?, self.full_name(context, *link)?);
                    let way = self.straight_way(start, joint);
                    let way = if way.is_empty() { self.way_of_beams(start, joint) } else { way };
                    let met = [start, joint].map(|end| self.members_met(end));
                    return Err(FaultKind::NoSuchMember { a, b, way, met }.at(at).into());
                };
                path.push(found);
            }
            before = Some((joint, *link));
        }
        Ok(path)
    }

    /// The joints from one to another along the members on the line between
    /// them, both ends included; empty where no members lead along it.
    fn straight_way(&self, start: JointId, end: JointId) -> Vec<String> {
        let ([ax, ay], [bx, by]) = (self.structure.point(start), self.structure.point(end));
        let (dx, dy) = (bx - ax, by - ay);
        let square = dx * dx + dy * dy;
        if self.faults.len() >= MOST_FAULTS || square == 0.0 {
            return Vec::new();
        }
        let mut on_line: Vec<(f64, JointId)> = (self.structure.joints.entries())
            .filter_map(|(id, joint)| {
                let [x, y] = joint.point();
                let along = ((x - ax) * dx + (y - ay) * dy) / square;
                let beside = ((x - ax) * dy - (y - ay) * dx) / square;
                let between = along > 0.0 && along < 1.0 && beside.abs() < 1e-9;
                (between || id == start || id == end).then_some((along, id))
            })
            .collect();
        on_line.sort_by(|(a, _), (b, _)| a.total_cmp(b));
        let joined = on_line
            .windows(2)
            .all(|pair| matches!(pair, [(_, a), (_, b)] if self.structure.find_member(*a, *b).is_some()));
        if joined { on_line.iter().map(|(_, id)| self.joint_text(*id).to_owned()).collect() } else { Vec::new() }
    }

    /// The shortest chain of beams from one joint to another.
    fn way_of_beams(&self, start: JointId, end: JointId) -> Vec<String> {
        /// A longer search costs more than the hint is worth.
        const MOST_REACHED: usize = 200;
        let mut from: Vec<(JointId, usize)> = vec![(start, 0)];
        let mut at = 0;
        while let Some((here, _)) =
            from.get(at).copied().filter(|_| at < MOST_REACHED && self.faults.len() < MOST_FAULTS)
        {
            if here == end {
                let mut way = vec![self.joint_text(end).to_owned()];
                while let Some((_, before)) = from.get(at).filter(|_| at > 0) {
                    at = *before;
                    way.extend(from.get(at).map(|(joint, _)| self.joint_text(*joint).to_owned()));
                }
                way.reverse();
                return way;
            }
            for member in self.structure.members.iter().filter(|member| member.kind == MemberKind::Beam) {
                let next = match (member.start == here, member.end == here) {
                    (true, _) => member.end,
                    (_, true) => member.start,
                    _ => continue,
                };
                if from.iter().all(|(known, _)| *known != next) {
                    from.push((next, at));
                }
            }
            at += 1;
        }
        Vec::new()
    }

    /// The members at a joint, where they are few.
    fn members_met(&self, joint: JointId) -> Vec<String> {
        const MOST_LISTED: usize = 6;
        let meets = |(_, member): &(MemberId, &Member)| member.start == joint || member.end == joint;
        let members = self.structure.members.entries().filter(meets).map(|(id, _)| self.member_text(id));
        let met: Vec<String> = if self.faults.len() < MOST_FAULTS { members.collect() } else { Vec::new() };
        if met.len() > MOST_LISTED { Vec::new() } else { met }
    }

    pub(super) fn path(&mut self, context: Context, chain: Chain) -> Evaluated<Path> {
        let mut links = Vec::new();
        let mut whole = Number::ZERO;
        for (member, passage) in self.members_along(context, chain)? {
            let length = self.length_of(member);
            whole = whole.plus(&length);
            links.push((member, passage, length));
        }
        Ok(Path { links, whole })
    }

    pub(super) fn length_of(&self, member: MemberId) -> Number {
        let member = &self.structure.members[member];
        let (a, b) = (&self.structure.joints[member.start], &self.structure.joints[member.end]);
        b.x.minus(&a.x).hypot(&b.y.minus(&a.y))
    }

    pub(super) fn position_on(&mut self, context: Context, path: &Path, id: ExprId, whole: f64) -> Evaluated<Number> {
        let at = self.now(|this| this.place_along(context, id, &path.whole))?;
        // A share or a rounded length may pass the end by the last bit.
        if at.is_negative() || at.to_f64() > whole * (1.0 + 1e-12) {
            let (place, value) = (self.expr_origin(context, id), at.to_f64());
            return Err(FaultKind::PositionOutside { length: whole, value }.at(place).into());
        }
        Ok(at)
    }

    /// The member a place along a chain falls on, and the distance from its
    /// first-named joint.
    pub(super) fn point_on(&mut self, context: Context, path: &Path, id: ExprId) -> Evaluated<(MemberId, Number)> {
        let at = self.position_on(context, path, id, path.whole.to_f64())?;
        let mut passed = Number::ZERO;
        let last = path.links.len().saturating_sub(1);
        for (index, (member, passage, length)) in path.links.iter().enumerate() {
            let end = passed.plus(length);
            if at.compare(&end).is_le() || index == last {
                let local = at.minus(&passed);
                return Ok((*member, if *passage == Passage::Backward { length.minus(&local) } else { local }));
            }
            passed = end;
        }
        Err(Stop::Poisoned)
    }
}
