//! Everything that acts: loads, couples, settlements, heat, misfits, own
//! weight, trains of loads; and the cases and combinations they belong to.
//!
//! Must not know: how a load moves anything.

use crate::base::{CaseId, JointId, MemberId, Origin, nearest};
use crate::quantity::{Dimension, Number, Value};
use crate::structure::fault::{FaultKind, Missing, Named, Wanted};
use crate::structure::model::{Combo, Delivery, Distributed, Load, LoadKind, Passage, Travel};
use crate::structure::names::natural_permutation;
use crate::syntax::tree::{
    Chain, ComboTerm, ExprId, Fit, LoadStatement, MomentStatement, NameRef, Place, StatementKind, TravelStatement, Turn,
};

use super::evaluate::{Evaluated, Stop};
use super::{Context, Instance, Lowering, owned};

/// A chain of members with the length of each, in metres.
struct Path {
    links: Vec<(MemberId, Passage, Number)>,
    whole: Number,
}

impl<'t> Lowering<'t> {
    pub(super) fn lower_others(&mut self) {
        self.members_incomplete = self.layout_touched;
        for instance in std::mem::take(&mut self.others) {
            let outcome = match &instance.statement.kind {
                StatementKind::Load(load) => self.load(&instance, load),
                StatementKind::Moment(moment) => self.moment(&instance, moment),
                StatementKind::Settle { joint, amount, turn } => self.settlement(&instance, *joint, *amount, *turn),
                StatementKind::Heat { chain, rise } => self.heat(&instance, *chain, *rise),
                StatementKind::Misfit { chain, amount, sense } => self.misfit(&instance, *chain, *amount, *sense),
                StatementKind::Weigh { chains } => self.weigh(&instance, chains),
                StatementKind::Travel(travel) => self.travel(&instance, travel),
                StatementKind::Combo { .. } => {
                    self.combos.push(instance);
                    Ok(())
                }
                StatementKind::Expect(_) => {
                    self.claims.push(instance);
                    Ok(())
                }
                _ => Ok(()),
            };
            if let Err(stop) = outcome {
                self.stopped(instance.context, stop);
            }
        }
        self.order_cases();
    }

    fn act(&mut self, instance: &Instance<'t>, kind: LoadKind) {
        let origin = self.origin(instance.context, instance.statement.span);
        let case = instance.case.unwrap_or_else(|| self.implicit_case(origin));
        if let Some(case) = self.structure.cases.get_mut(case.index()) {
            case.loads.push(Load { kind, origin });
        }
    }

    fn load(&mut self, instance: &Instance<'t>, load: &LoadStatement) -> Evaluated<()> {
        match load.place {
            Place::Joint(name) => self.joint_load(instance, load, name),
            Place::Chain(chain) => match load.at {
                Some(at) => self.point_load(instance, load, chain, at),
                None => self.distributed_load(instance, load, chain),
            },
        }
    }

    fn joint_load(&mut self, instance: &Instance<'t>, load: &LoadStatement, name: NameRef) -> Evaluated<()> {
        let context = instance.context;
        if let Some((clause, at)) = self.stretch_clause(context, load) {
            return Err(FaultKind::ClauseNotForJoint { at, clause }.into());
        }
        let joint = self.joint_at(context, name)?;
        let loaded_joint = Some(self.now(|this| this.joint_definition(context, name))?);
        let context = Context { loaded_joint, ..context };
        let force = self.force(context, load.value, Dimension::FORCE, "a load on a joint")?;
        self.act(instance, LoadKind::JointForce { joint, force });
        Ok(())
    }

    /// A clause that only a load spread along members can have.
    fn stretch_clause(&self, context: Context, load: &LoadStatement) -> Option<(&'static str, Origin)> {
        let expr = |id: Option<ExprId>| id.map(|id| self.expr_origin(context, id));
        let span = |span| self.origin(context, span);
        None.or_else(|| expr(load.to_value).map(|at| ("to", at)))
            .or_else(|| expr(load.from).map(|at| ("from", at)))
            .or_else(|| load.measure.map(|(_, at)| ("per run", span(at))))
            .or_else(|| load.at_joints.map(|at| ("at joints", span(at))))
            .or_else(|| expr(load.at).map(|at| ("at", at)))
    }

    /// A vector of a known dimension in SI units.
    fn force(&mut self, context: Context, id: ExprId, wanted: Dimension, role: &'static str) -> Evaluated<[Number; 2]> {
        match self.evaluate_now(context, id)? {
            Value::Vector(vector) => self.vector_of(context, id, vector, wanted, role),
            Value::Scalar(quantity) if quantity.is_bare_zero() => Ok([Number::ZERO, Number::ZERO]),
            Value::Scalar(_) => {
                // A wrong dimension is the deeper fault of the two.
                let size = self.now(|this| this.quantity(context, id, wanted, role))?;
                if size.is_zero() {
                    return Ok([Number::ZERO, Number::ZERO]);
                }
                let at = self.expr_origin(context, id);
                let text = self.text_of(context, at.span).to_owned();
                Err(FaultKind::DirectionMissing { at, text }.into())
            }
        }
    }

    fn point_load(&mut self, instance: &Instance<'t>, load: &LoadStatement, chain: Chain, at: ExprId) -> Evaluated<()> {
        let context = instance.context;
        let place = Some(self.expr_origin(context, at));
        let clause = self.stretch_clause(context, load).filter(|(_, place_of)| Some(*place_of) != place);
        if let Some((clause, at)) = clause {
            return Err(FaultKind::ClausesClash { at, clause, with: "at" }.into());
        }
        let path = self.path(context, chain)?;
        let force = self.force(context, load.value, Dimension::FORCE, "a load at a point")?;
        let (member, at) = self.point_on(context, &path, at)?;
        self.act(instance, LoadKind::MemberForce { member, force, at });
        Ok(())
    }

    fn distributed_load(&mut self, instance: &Instance<'t>, load: &LoadStatement, chain: Chain) -> Evaluated<()> {
        let context = instance.context;
        let path = self.path(context, chain)?;
        let (start, end) = self.intensities(context, load)?;
        let zero = Number::ZERO;
        let whole = path.whole.to_f64();
        let mut end_of = |id: Option<ExprId>, default: &Number| match id {
            Some(id) => self.position_on(context, &path, id, whole),
            None => Ok(default.clone()),
        };
        let from = end_of(load.from, &zero)?;
        let to = end_of(load.to, &path.whole)?;
        if from.compare(&to).is_ge() {
            let id = load.to.or(load.from).unwrap_or(load.value);
            return Err(FaultKind::StretchReversed { at: self.expr_origin(context, id) }.into());
        }
        let delivery = if load.at_joints.is_some() { Delivery::AtJoints } else { Delivery::AlongMember };
        let stretch = to.minus(&from);
        // The intensity at a place along the chain.
        let intensity = |place: &Number| -> [Number; 2] {
            let share = place.minus(&from).over(&stretch).unwrap_or(Number::ZERO);
            let mix = |a: &Number, b: &Number| a.plus(&b.minus(a).times(&share));
            let ([ax, ay], [bx, by]) = (&start, &end);
            [mix(ax, bx), mix(ay, by)]
        };
        let mut passed = Number::ZERO;
        for (member, passage, length) in &path.links {
            let begin = passed.clone();
            passed = passed.plus(length);
            let a = if from.compare(&begin).is_gt() { from.clone() } else { begin.clone() };
            let b = if to.compare(&passed).is_lt() { to.clone() } else { passed.clone() };
            if a.compare(&b).is_ge() {
                continue;
            }
            let whole_member = a == begin && b == passed;
            let (mut local_a, mut local_b) = (a.minus(&begin), b.minus(&begin));
            let (mut wa, mut wb) = (intensity(&a), intensity(&b));
            if *passage == Passage::Backward {
                (local_a, local_b) = (length.minus(&local_b), length.minus(&local_a));
                (wa, wb) = (wb, wa);
            }
            if whole_member {
                (local_a, local_b) = (Number::ZERO, length.clone());
            }
            let measure = load.measure.map(|(measure, _)| measure);
            let distributed =
                Distributed { member: *member, start: wa, end: wb, from: local_a, to: local_b, measure, delivery };
            self.act(instance, LoadKind::Distributed(Box::new(distributed)));
        }
        Ok(())
    }

    /// Force per length at the two ends of the loaded stretch. A first value
    /// without a direction takes the second one's.
    fn intensities(&mut self, context: Context, load: &LoadStatement) -> Evaluated<([Number; 2], [Number; 2])> {
        let role = "a load along a member";
        let first = self.evaluate_now(context, load.value)?;
        if first.dimension() == Dimension::FORCE && !first.is_bare_zero() {
            let at = self.expr_origin(context, load.value);
            return Err(FaultKind::PositionMissing { at, text: self.text_of(context, at.span).to_owned() }.into());
        }
        let Some(second) = load.to_value else {
            let start = self.force(context, load.value, Dimension::LINE_LOAD, role)?;
            return Ok((start.clone(), start));
        };
        if let (Value::Vector(vector), Value::Scalar(quantity)) = (&first, self.evaluate_now(context, second)?)
            && !quantity.value.is_zero()
        {
            let [x, y] = self.vector_of(context, load.value, vector.clone(), Dimension::LINE_LOAD, role)?;
            let size = self.now(|this| this.quantity(context, second, Dimension::LINE_LOAD, role))?;
            let length = x.hypot(&y);
            let along = |part: &Number| part.over(&length).map_or(Number::ZERO, |unit| unit.times(&size));
            let end = [along(&x), along(&y)];
            return Ok(([x, y], end));
        }
        let end = self.force(context, second, Dimension::LINE_LOAD, role)?;
        if let Value::Scalar(quantity) = &first
            && !quantity.value.is_zero()
        {
            let size = self.now(|this| this.quantity(context, load.value, Dimension::LINE_LOAD, role))?;
            let [x, y] = &end;
            let length = x.hypot(y);
            let along = |part: &Number| part.over(&length).map(|unit| unit.times(&size));
            return match (along(x), along(y)) {
                (Some(x), Some(y)) => Ok(([x, y], end)),
                _ => {
                    let at = self.expr_origin(context, load.value);
                    Err(FaultKind::DirectionMissing { at, text: self.text_of(context, at.span).to_owned() }.into())
                }
            };
        }
        Ok((self.force(context, load.value, Dimension::LINE_LOAD, role)?, end))
    }

    fn moment(&mut self, instance: &Instance<'t>, moment: &MomentStatement) -> Evaluated<()> {
        let context = instance.context;
        let value = self.now(|this| this.quantity(context, moment.value, Dimension::MOMENT, "a couple"))?;
        let value = if moment.turn == Some(Turn::Clockwise) { value.negated() } else { value };
        match (moment.place, moment.at) {
            (Place::Joint(name), None) => {
                let joint = self.joint_at(context, name)?;
                self.act(instance, LoadKind::JointMoment { joint, moment: value });
            }
            (Place::Joint(_), Some(at)) => {
                let at = self.expr_origin(context, at);
                return Err(FaultKind::ClauseNotForJoint { at, clause: "at" }.into());
            }
            (Place::Chain(chain), Some(at)) => {
                let path = self.path(context, chain)?;
                let (member, at) = self.point_on(context, &path, at)?;
                self.act(instance, LoadKind::MemberMoment { member, moment: value, at });
            }
            (Place::Chain(_), None) => {
                let at = self.expr_origin(context, moment.value);
                return Err(FaultKind::PositionMissing { at, text: self.text_of(context, at.span).to_owned() }.into());
            }
        }
        Ok(())
    }

    fn settlement(
        &mut self,
        instance: &Instance<'t>,
        name: NameRef,
        amount: ExprId,
        turn: Option<Turn>,
    ) -> Evaluated<()> {
        let context = instance.context;
        let joint = self.joint_at(context, name)?;
        if self.structure.support_at(joint).is_none() {
            let at = self.origin(context, name.span);
            let joint = self.text_of(context, name.span).to_owned();
            return if self.members_incomplete {
                Err(Stop::Poisoned)
            } else {
                Err(FaultKind::SettleWithoutSupport { at, joint }.into())
            };
        }
        let kind = match turn {
            Some(turn) => {
                let by = self.now(|this| this.quantity(context, amount, Dimension::ANGLE, "a turn of a support"))?;
                let by = if turn == Turn::Clockwise { by.negated() } else { by };
                LoadKind::SupportTurn { joint, by }
            }
            None => {
                let by = self.force(context, amount, Dimension::LENGTH, "a settlement")?;
                LoadKind::Settlement { joint, by }
            }
        };
        self.act(instance, kind);
        Ok(())
    }

    fn heat(&mut self, instance: &Instance<'t>, chain: Chain, rise: ExprId) -> Evaluated<()> {
        let context = instance.context;
        let path = self.path(context, chain)?;
        let rise = self.now(|this| this.quantity(context, rise, Dimension::TEMPERATURE, "a temperature rise"))?;
        for (member, _, _) in &path.links {
            let material = self.structure.member(*member).and_then(|m| m.section);
            let material = material.and_then(|id| self.structure.sections.get(id.index())).and_then(|s| s.material);
            let expansion =
                material.and_then(|id| self.structure.materials.get(id.index())).and_then(|m| m.expansion.as_ref());
            if expansion.is_none() {
                let (at, member) = (self.origin(context, chain.span), self.member_text(*member));
                return Err(FaultKind::NoExpansion { at, member }.into());
            }
            self.act(instance, LoadKind::Heat { member: *member, rise: rise.clone() });
        }
        Ok(())
    }

    fn misfit(&mut self, instance: &Instance<'t>, chain: Chain, amount: ExprId, sense: Option<Fit>) -> Evaluated<()> {
        let context = instance.context;
        let path = self.path(context, chain)?;
        let amount = self.now(|this| this.quantity(context, amount, Dimension::LENGTH, "a misfit"))?;
        let amount = if sense == Some(Fit::Short) { amount.negated() } else { amount };
        for (member, _, _) in path.links {
            self.act(instance, LoadKind::Misfit { member, amount: amount.clone() });
        }
        Ok(())
    }

    fn weigh(&mut self, instance: &Instance<'t>, chains: &[Chain]) -> Evaluated<()> {
        let context = instance.context;
        if chains.is_empty() {
            for index in 0..self.structure.members.len() {
                self.weigh_one(instance, MemberId::new(index), self.origin(context, instance.statement.span))?;
            }
            return Ok(());
        }
        for chain in chains {
            let path = self.path(context, *chain)?;
            for (member, _, _) in path.links {
                self.weigh_one(instance, member, self.origin(context, chain.span))?;
            }
        }
        Ok(())
    }

    fn weigh_one(&mut self, instance: &Instance<'t>, member: MemberId, at: Origin) -> Evaluated<()> {
        let section = self.structure.member(member).and_then(|m| m.section);
        let section = section.and_then(|id| self.structure.sections.get(id.index()));
        let material = section.and_then(|s| s.material).and_then(|id| self.structure.materials.get(id.index()));
        let missing = match (section, material) {
            (None, _) => Some(Missing::Section),
            (Some(section), _) if section.area.is_none() => Some(Missing::Area),
            (Some(_), None) => Some(Missing::Material),
            (Some(_), Some(material)) if material.weight.is_none() => Some(Missing::MaterialWeight),
            _ => None,
        };
        match missing {
            Some(_) if self.members_incomplete => Err(Stop::Poisoned),
            Some(missing) => Err(FaultKind::NoWeight { at, member: self.member_text(member), missing }.into()),
            None => {
                self.act(instance, LoadKind::Weight { member });
                Ok(())
            }
        }
    }

    fn travel(&mut self, instance: &Instance<'t>, travel: &TravelStatement) -> Evaluated<()> {
        let context = instance.context;
        let name = self.now(|this| this.declare_name(context, travel.name))?;
        let origin = self.origin(context, travel.name.span);
        if let Some(first) = self.travel_index.insert(name, origin) {
            let what = Named::Travel;
            let name = self.names.get(name).to_owned();
            return Err(FaultKind::DuplicateName { at: origin, name, what, first, first_what: what }.into());
        }
        let path = self.path(context, travel.chain)?;
        let mut loads = Vec::new();
        for id in self.tree(context).list(travel.loads) {
            match self.evaluate_now(context, *id)? {
                Value::Vector(_) => loads.push(self.force(context, *id, Dimension::FORCE, "a travelling load")?),
                Value::Scalar(_) => {
                    let size = self.now(|this| this.quantity(context, *id, Dimension::FORCE, "a travelling load"))?;
                    loads.push([Number::ZERO, size.negated()]);
                }
            }
        }
        let mut spacings = Vec::new();
        for id in self.tree(context).list(travel.spacings) {
            spacings.push(self.now(|this| this.quantity(context, *id, Dimension::LENGTH, "a spacing"))?);
        }
        let path = path.links.into_iter().map(|(member, passage, _)| (member, passage)).collect();
        self.structure.travels.push(Travel { name, loads, spacings, path, origin });
        Ok(())
    }

    // Chains

    fn member_text(&self, member: MemberId) -> String {
        let name = |joint: JointId| self.structure.joint(joint).map_or("?", |joint| self.names.get(joint.name));
        self.structure.member(member).map_or_else(String::new, |m| format!("{}-{}", name(m.start), name(m.end)))
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
                    return Err(FaultKind::NoSuchMember { at, a, b, way }.into());
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
        let place = |id: JointId| self.structure.joint(id).map(|joint| [joint.x.to_f64(), joint.y.to_f64()]);
        let (Some([ax, ay]), Some([bx, by])) = (place(start), place(end)) else { return Vec::new() };
        let (dx, dy) = (bx - ax, by - ay);
        let square = dx * dx + dy * dy;
        if self.faults.len() >= MOST_FAULTS || square == 0.0 {
            return Vec::new();
        }
        let mut on_line: Vec<(f64, JointId)> = (0..self.structure.joints.len())
            .map(JointId::new)
            .filter_map(|id| {
                let [x, y] = place(id)?;
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
        let name = |id: JointId| self.structure.joint(id).map_or("?", |joint| self.names.get(joint.name)).to_owned();
        if joined { on_line.into_iter().map(|(_, id)| name(id)).collect() } else { Vec::new() }
    }

    fn path(&mut self, context: Context, chain: Chain) -> Evaluated<Path> {
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
        let ends = self.structure.member(member).map(|m| (self.structure.joint(m.start), self.structure.joint(m.end)));
        match ends {
            Some((Some(a), Some(b))) => b.x.minus(&a.x).hypot(&b.y.minus(&a.y)),
            _ => Number::ZERO,
        }
    }

    fn position_on(&mut self, context: Context, path: &Path, id: ExprId, whole: f64) -> Evaluated<Number> {
        let at = self.now(|this| this.place_along(context, id, &path.whole))?;
        // A share or a rounded length may pass the end by the last bit.
        if at.is_negative() || at.to_f64() > whole * (1.0 + 1e-12) {
            let (place, value) = (self.expr_origin(context, id), at.to_f64());
            return Err(FaultKind::PositionOutside { at: place, length: whole, value }.into());
        }
        Ok(at)
    }

    /// The member a place along a chain falls on, and the distance from its
    /// first-named joint.
    fn point_on(&mut self, context: Context, path: &Path, id: ExprId) -> Evaluated<(MemberId, Number)> {
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

    // Cases and combinations

    /// Cases in natural order of their names.
    fn order_cases(&mut self) {
        let cases = std::mem::take(&mut self.structure.cases);
        let name = |index: usize| cases.get(index).map_or("", |case| self.names.get(case.name));
        let order = natural_permutation(cases.len(), name);
        let mut moved = vec![CaseId::new(0); cases.len()];
        let mut slots: Vec<_> = cases.into_iter().map(Some).collect();
        for (place, index) in order.iter().enumerate() {
            let id = CaseId::new(place);
            if let (Some(slot), Some(case)) =
                (moved.get_mut(*index as usize), slots.get_mut(*index as usize).and_then(Option::take))
            {
                *slot = id;
                self.case_index.insert(case.name, id);
                self.structure.cases.push(case);
            }
        }
        for claim in &mut self.claims {
            claim.case = claim.case.and_then(|case| moved.get(case.index()).copied());
        }
    }

    pub(super) fn lower_combos(&mut self) {
        let queued = std::mem::take(&mut self.combos);
        let mut named: Vec<(crate::structure::names::NameId, Origin, usize)> = Vec::new();
        for (index, instance) in queued.iter().enumerate() {
            let StatementKind::Combo { name, .. } = &instance.statement.kind else { continue };
            let context = instance.context;
            match self.now(|this| this.declare_name(context, *name)) {
                Err(stop) => self.stopped(context, stop),
                Ok(id) => {
                    let at = self.origin(context, name.span);
                    let case = self.case_index.get(&id).and_then(|case| self.structure.cases.get(case.index()));
                    let case = case.map(|case| (case.origin, Named::Case));
                    let combo =
                        named.iter().find(|(other, _, _)| *other == id).map(|(_, at, _)| (*at, Named::Combination));
                    let travel = self.travel_index.get(&id).map(|at| (*at, Named::Travel));
                    if let Some((first, first_what)) = case.or(combo).or(travel) {
                        let name = self.names.get(id).to_owned();
                        let what = Named::Combination;
                        self.fault(context, FaultKind::DuplicateName { at, name, what, first, first_what });
                    } else {
                        self.combo_index.insert(id, named.len());
                        named.push((id, at, index));
                    }
                }
            }
        }
        let name = |index: usize| named.get(index).map_or("", |(id, _, _)| self.names.get(*id));
        let order = natural_permutation(named.len(), name);
        let mut unfolded: Vec<Option<Vec<(CaseId, Number)>>> = vec![None; named.len()];
        for index in 0..named.len() {
            self.unfold(index, &named, &queued, &mut unfolded, &mut Vec::new());
        }
        self.combo_index.clear();
        for index in order {
            let Some((id, origin, _)) = named.get(index as usize).copied() else { continue };
            let factors = unfolded.get_mut(index as usize).and_then(Option::take).unwrap_or_default();
            self.combo_index.insert(id, self.structure.combos.len());
            self.structure.combos.push(Combo { name: id, factors, origin });
        }
    }

    /// Factors of cases of one combination, the combinations within it first.
    fn unfold(
        &mut self,
        index: usize,
        named: &[(crate::structure::names::NameId, Origin, usize)],
        queued: &[Instance<'t>],
        unfolded: &mut Vec<Option<Vec<(CaseId, Number)>>>,
        open: &mut Vec<usize>,
    ) {
        const DEEPEST: usize = 64;
        if unfolded.get(index).is_none_or(Option::is_some) {
            return;
        }
        let Some((_, _, place)) = named.get(index) else { return };
        let Some(instance) = queued.get(*place) else { return };
        let StatementKind::Combo { terms, .. } = &instance.statement.kind else { return };
        let context = instance.context;
        if open.contains(&index) || open.len() >= DEEPEST {
            let from = open.iter().position(|other| *other == index).unwrap_or(0);
            let cycle = open.get(from..).unwrap_or(&[]).iter().filter_map(|index| named.get(*index));
            let chain = cycle.map(|(id, at, _)| (self.names.get(*id).to_owned(), *at)).collect();
            self.fault(context, FaultKind::ComboCycle { chain });
            return;
        }
        open.push(index);
        let mut factors: Vec<(CaseId, Number)> = Vec::new();
        for term in terms {
            match self.term(context, term, named, queued, unfolded, open) {
                Ok(parts) => {
                    for (case, factor) in parts {
                        match factors.iter_mut().find(|(other, _)| *other == case) {
                            Some((_, sum)) => *sum = sum.plus(&factor),
                            None => factors.push((case, factor)),
                        }
                    }
                }
                Err(stop) => self.stopped(context, stop),
            }
        }
        open.pop();
        factors.sort_by_key(|(case, _)| *case);
        if let Some(slot) = unfolded.get_mut(index) {
            *slot = Some(factors);
        }
    }

    fn term(
        &mut self,
        context: Context,
        term: &ComboTerm,
        named: &[(crate::structure::names::NameId, Origin, usize)],
        queued: &[Instance<'t>],
        unfolded: &mut Vec<Option<Vec<(CaseId, Number)>>>,
        open: &mut Vec<usize>,
    ) -> Evaluated<Vec<(CaseId, Number)>> {
        let mut factor = match term.factor {
            Some(id) => self.now(|this| this.quantity(context, id, Dimension::PURE, "a factor"))?,
            None => Number::from_integer(1),
        };
        if term.negative {
            factor = factor.negated();
        }
        let id = self.now(|this| this.name_id(context, term.name))?;
        if let Some(case) = id.and_then(|id| self.case_index.get(&id)) {
            return Ok(vec![(*case, factor)]);
        }
        if let Some(inner) = id.and_then(|id| self.combo_index.get(&id)).copied() {
            self.unfold(inner, named, queued, unfolded, open);
            let parts = unfolded.get(inner).and_then(Option::as_ref).cloned().unwrap_or_default();
            return Ok(parts.into_iter().map(|(case, inner)| (case, inner.times(&factor))).collect());
        }
        let text = self.now(|this| this.full_name(context, term.name))?;
        let near = self.near_cases(&text);
        Err(self.unknown(context, term.name, Wanted::Case, near))
    }

    pub(super) fn near_cases(&self, name: &str) -> Vec<String> {
        let cases = self.structure.cases.iter().map(|case| self.names.get(case.name));
        let combos = self.combo_index.keys().map(|id| self.names.get(*id));
        owned(nearest(name, cases.chain(combos)))
    }
}
