//! Chains of members, and places along them.
//!
//! Must not know: what a chain is named for.

use crate::base::{JointId, MemberId};
use crate::quantity::Number;
use crate::structure::claim::Passage;
use crate::structure::fault::FaultKind;
use crate::syntax::tree::{Chain, ExprId, NameRef};

use super::evaluate::{Evaluated, Stop};
use super::{Context, Lowering};

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
                    return Err(FaultKind::NoSuchMember { a, b, way }.at(at).into());
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
        // With many faults the hint would cost more than it is worth.
        const MOST_FAULTS: usize = 50;
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
