//! Everything that acts: loads, couples, settlements, heat, misfits, own
//! weight, trains of loads.
//!
//! Must not know: how a load moves anything.

use crate::base::{JointId, MemberId, Origin};
use crate::quantity::format::{Figures, MOST_FIGURES};
use crate::quantity::{Dimension, Number, Value};
use crate::structure::claim::Passage;
use crate::structure::fault::{FaultKind, Freedom, Missing};
use crate::structure::model::{Delivery, Distributed, Imposed, Load, LoadKind, LoadPoint, StatedAngle};
use crate::syntax::tree::{
    Axis, Cardinal, Chain, DirectionKind, ExprId, ExprKind, Fit, LoadStatement, Measure, MomentStatement, NameRef,
    Place, StatementKind, Turn,
};

use super::chains::Path;
use super::evaluate::{Evaluated, Stop};
use super::{Context, Instance, Lowering};

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
                StatementKind::Figures(count) => self.figures_stated(&instance, *count),
                StatementKind::Travel(travel) => self.travel(&instance, travel),
                StatementKind::Combination { .. } => {
                    self.combinations.push(instance);
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
        self.order_travels();
    }

    fn figures_stated(&mut self, instance: &Instance<'t>, count: ExprId) -> Evaluated<()> {
        let context = instance.context;
        let at = self.expr_origin(context, count);
        let value = self.now(|this| this.quantity(context, count, Dimension::PURE, "a count of figures"))?;
        let whole = value.as_integer().and_then(|whole| usize::try_from(whole).ok());
        let Some(figures) = whole.filter(|whole| (1..=MOST_FIGURES).contains(whole)) else {
            return Err(FaultKind::FiguresOutOfRange { value: value.to_f64() }.at(at).into());
        };
        if self.structure.figures.stated().is_some_and(|known| known != figures) {
            let first = self.first_of(context, |kind| matches!(kind, StatementKind::Figures(_)));
            let at = self.origin(context, instance.statement.span);
            return Err(FaultKind::DuplicateFigures { first }.at(at).into());
        }
        self.structure.figures = Figures::new(Some(figures));
        Ok(())
    }

    fn act(&mut self, instance: &Instance<'t>, kind: LoadKind) {
        let origin = self.origin(instance.context, instance.statement.span);
        let case = instance.case.unwrap_or_else(|| self.implicit_case(origin));
        self.structure.cases[case].loads.push(Load { kind, origin });
    }

    fn load(&mut self, instance: &Instance<'t>, load: &LoadStatement) -> Evaluated<()> {
        let origin = self.origin(instance.context, instance.statement.span);
        if !self.structure.stated_angles.contains_key(&origin)
            && let Some(stated) = self.stated_angle(instance.context, load.value)
        {
            self.structure.stated_angles.insert(origin, stated);
        }
        match load.place {
            Place::Joint(name) => self.joint_load(instance, load, name),
            Place::Chain(chain) => match load.at {
                Some(at) => self.point_load(instance, load, chain, at),
                None => self.distributed_load(instance, load, chain),
            },
        }
    }

    /// The angle a value is stated at; `None` where a word or two points give
    /// its direction.
    fn stated_angle(&mut self, context: Context, id: ExprId) -> Option<StatedAngle> {
        let axis = |word: Cardinal| match word {
            Cardinal::Right => [1.0, 0.0],
            Cardinal::Up => [0.0, 1.0],
            Cardinal::Left => [-1.0, 0.0],
            Cardinal::Down => [0.0, -1.0],
        };
        match self.tree(context).expr(id)?.kind {
            ExprKind::Negative(inner) | ExprKind::Group { inner, unit: None } => self.stated_angle(context, inner),
            ExprKind::Directed { direction, .. } => {
                let (angle, from, towards) = match direction.kind {
                    DirectionKind::FromHorizontal { angle, vertical, horizontal } => {
                        (angle, axis(horizontal), axis(vertical))
                    }
                    DirectionKind::FromVertical { angle, horizontal, vertical } => {
                        (angle, axis(vertical), axis(horizontal))
                    }
                    DirectionKind::Value(angle) => (angle, axis(Cardinal::Right), axis(Cardinal::Up)),
                    DirectionKind::Word(_) | DirectionKind::Toward(_) => return None,
                };
                match self.evaluate_now(context, angle).ok()? {
                    Value::Scalar(own) if own.dimension == Dimension::ANGLE => {
                        Some(StatedAngle { radians: own.value.to_f64(), from, towards })
                    }
                    _ => None,
                }
            }
            _ => None,
        }
    }

    fn joint_load(&mut self, instance: &Instance<'t>, load: &LoadStatement, name: NameRef) -> Evaluated<()> {
        let context = instance.context;
        if let Some((clause, at)) = self.stretch_clause(context, load) {
            return Err(FaultKind::ClauseNotForJoint { clause }.at(at).into());
        }
        let joint = self.joint_at(context, name);
        let loaded_joint = self.now(|this| this.joint_definition(context, name)).ok();
        let context = Context { loaded_joint, ..context };
        let force = self.force(context, load.value, Dimension::FORCE, "a load on a joint");
        let force = match force {
            // From where it points is what the joint's own fault hides.
            Err(Stop::Fault(fault)) if joint.is_err() && fault.kind == FaultKind::TowardWithoutJoint => {
                Err(Stop::Poisoned)
            }
            other => other,
        };
        let (joint, force) = self.both(context, joint, |_| force)?;
        self.act(instance, LoadKind::Force { at: LoadPoint::Joint(joint), force });
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
    pub(super) fn force(
        &mut self,
        context: Context,
        id: ExprId,
        wanted: Dimension,
        role: &'static str,
    ) -> Evaluated<[Number; 2]> {
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
                Err(FaultKind::DirectionMissing { text }.at(at).into())
            }
        }
    }

    fn point_load(&mut self, instance: &Instance<'t>, load: &LoadStatement, chain: Chain, at: ExprId) -> Evaluated<()> {
        let context = instance.context;
        let place = Some(self.expr_origin(context, at));
        let clause = self.stretch_clause(context, load).filter(|(_, place_of)| Some(*place_of) != place);
        if let Some((clause, at)) = clause {
            return Err(FaultKind::ClausesClash { clause, with: "at" }.at(at).into());
        }
        let (path, force) =
            (self.path(context, chain), self.force(context, load.value, Dimension::FORCE, "a load at a point"));
        let (path, force) = self.both(context, path, |_| force)?;
        let (member, at) = self.point_on(context, &path, at)?;
        self.act(instance, LoadKind::Force { at: LoadPoint::Along(member, at), force });
        Ok(())
    }

    fn distributed_load(&mut self, instance: &Instance<'t>, load: &LoadStatement, chain: Chain) -> Evaluated<()> {
        let context = instance.context;
        let (path, ends) = (self.path(context, chain), self.intensities(context, load));
        let (path, (start, end)) = self.both(context, path, |_| ends)?;
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
            return Err(FaultKind::StretchReversed.at(self.expr_origin(context, id)).into());
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
        if let Some((measure, span)) = load.measure
            && path.links.iter().all(|(member, ..)| self.has_no_projection(*member, measure))
        {
            let (at, chain) = (self.origin(context, span), self.text_of(context, chain.span).to_owned());
            self.fault(context, FaultKind::NoProjection { chain, measure }.at(at));
        }
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

    /// Whether a load per run of this member, or per rise, is nothing.
    fn has_no_projection(&self, member: MemberId, measure: Measure) -> bool {
        /// A slope below this share is none.
        const LEVEL: f64 = 1e-9;
        let [run, rise] = self.structure.member_vector(member).map(f64::abs);
        match measure {
            Measure::PerRun => run <= LEVEL * rise,
            Measure::PerRise => rise <= LEVEL * run,
        }
    }

    /// Force per length at the two ends of the loaded stretch. A value without
    /// a direction takes that of the other.
    fn intensities(&mut self, context: Context, load: &LoadStatement) -> Evaluated<([Number; 2], [Number; 2])> {
        let role = "a load along a member";
        let first = self.evaluate_now(context, load.value)?;
        if first.dimension() == Dimension::FORCE && !first.is_bare_zero() {
            let at = self.expr_origin(context, load.value);
            return Err(FaultKind::PositionMissing { text: self.text_of(context, at.span).to_owned() }.at(at).into());
        }
        let Some(second) = load.to_value else {
            let start = self.force(context, load.value, Dimension::LINE_LOAD, role)?;
            return Ok((start.clone(), start));
        };
        let last = self.evaluate_now(context, second)?;
        Ok(match (&first, &last) {
            (Value::Vector(_), Value::Scalar(_)) => {
                let start = self.force(context, load.value, Dimension::LINE_LOAD, role)?;
                let end = self.directed_as(context, second, load.value, role)?;
                (start, end)
            }
            (Value::Scalar(_), Value::Vector(_)) => {
                let end = self.force(context, second, Dimension::LINE_LOAD, role)?;
                let start = self.directed_as(context, load.value, second, role)?;
                (start, end)
            }
            _ => {
                let end = self.force(context, second, Dimension::LINE_LOAD, role)?;
                (self.force(context, load.value, Dimension::LINE_LOAD, role)?, end)
            }
        })
    }

    /// The size of one end of a loaded stretch in the direction of the other.
    fn directed_as(
        &mut self,
        context: Context,
        size: ExprId,
        other: ExprId,
        role: &'static str,
    ) -> Evaluated<[Number; 2]> {
        match self.heading(context, other)? {
            Some(unit) => {
                let size = self.now(|this| this.quantity(context, size, Dimension::LINE_LOAD, role))?;
                Ok([unit.x.times(&size), unit.y.times(&size)])
            }
            None => self.force(context, size, Dimension::LINE_LOAD, role),
        }
    }

    fn moment(&mut self, instance: &Instance<'t>, moment: &MomentStatement) -> Evaluated<()> {
        let context = instance.context;
        let value = self.couple(context, moment);
        match (moment.place, moment.at) {
            (Place::Joint(name), None) => {
                let joint = self.joint_at(context, name);
                let (joint, value) = self.both(context, joint, |_| value)?;
                self.act(instance, LoadKind::Couple { at: LoadPoint::Joint(joint), moment: value });
            }
            (Place::Joint(_), Some(at)) => {
                let at = self.expr_origin(context, at);
                return Err(FaultKind::ClauseNotForJoint { clause: "at" }.at(at).into());
            }
            (Place::Chain(chain), Some(at)) => {
                let path = self.path(context, chain);
                let (path, value) = self.both(context, path, |_| value)?;
                let (member, at) = self.turned_point(context, &path, at)?;
                self.act(instance, LoadKind::Couple { at: LoadPoint::Along(member, at), moment: value });
            }
            (Place::Chain(_), None) => {
                let at = self.expr_origin(context, moment.value);
                return Err(FaultKind::PositionMissing { text: self.text_of(context, at.span).to_owned() }
                    .at(at)
                    .into());
            }
        }
        Ok(())
    }

    /// Counterclockwise; without a word in the sense its file counts as positive.
    fn couple(&mut self, context: Context, moment: &MomentStatement) -> Evaluated<Number> {
        let value = self.now(|this| this.quantity(context, moment.value, Dimension::MOMENT, "a couple"))?;
        self.counterclockwise(context, moment.value, value, moment.turn)
    }

    /// A couple or a rotation, counterclockwise.
    pub(super) fn counterclockwise(
        &self,
        context: Context,
        id: ExprId,
        value: Number,
        turn: Option<Turn>,
    ) -> Evaluated<Number> {
        let turn = match turn {
            Some(turn) => turn,
            None if value.is_zero() => return Ok(value),
            None => self.positive_turn(context, self.expr_origin(context, id))?,
        };
        Ok(if turn == Turn::Clockwise { value.negated() } else { value })
    }

    /// The member a couple turns, and where. On a joint inside the chain where
    /// one side is hinged to the other, it may turn either.
    fn turned_point(&mut self, context: Context, path: &Path, at: ExprId) -> Evaluated<(MemberId, Number)> {
        /// Lengths along a chain are equal within this share of it.
        const SAME: f64 = 1e-9;
        let found = self.point_on(context, path, at)?;
        let place = self.position_on(context, path, at, path.whole.to_f64())?.to_f64();
        let mut passed = 0.0;
        for pair in path.links.windows(2) {
            let [(before, way, length), (after, next, _)] = pair else { continue };
            passed += length.to_f64();
            if (place - passed).abs() > SAME * path.whole.to_f64() {
                continue;
            }
            let (first, second) = (&self.structure.members[*before], &self.structure.members[*after]);
            let ends = [usize::from(*way == Passage::Forward), usize::from(*next == Passage::Backward)];
            let joint = if ends[0] == 1 { first.end } else { first.start };
            let freed = [first, second].iter().zip(ends).any(|(member, end)| member.hinged.get(end) == Some(&true));
            let hinge = self.structure.hinges.iter().find(|(hinged, _)| *hinged == joint).map(|(_, at)| *at);
            if freed || hinge.is_some() {
                let hinge = hinge.unwrap_or(if first.hinged.contains(&true) { first.origin } else { second.origin });
                return Err(FaultKind::CoupleAtHinge {
                    joint: self.joint_text(joint).to_owned(),
                    before: self.member_text(*before),
                    after: self.member_text(*after),
                    hinge,
                }
                .at(self.expr_origin(context, at))
                .into());
            }
        }
        Ok(found)
    }

    fn settlement(
        &mut self,
        instance: &Instance<'t>,
        name: NameRef,
        amount: ExprId,
        turn: Option<Turn>,
    ) -> Evaluated<()> {
        let context = instance.context;
        let joint = self.joint_at(context, name);
        let by = self.imposed(context, amount, turn);
        let (joint, by) = self.both(context, joint, |_| by)?;
        if self.structure.support_at(joint).is_none() {
            let at = self.origin(context, name.span);
            let joint = self.text_of(context, name.span).to_owned();
            return if self.members_incomplete {
                Err(Stop::Poisoned)
            } else {
                Err(FaultKind::SettleWithoutSupport { joint }.at(at).into())
            };
        }
        if let Some((support, freedom, stated)) = self.free_in(joint, &by) {
            let at = self.expr_origin(context, amount);
            let joint = self.text_of(context, name.span).to_owned();
            return Err(FaultKind::SettleNotHeld { joint, support, freedom, stated }.at(at).into());
        }
        if let Some((support, part, stated)) = self.part_free_in(joint, &by) {
            let at = self.expr_origin(context, amount);
            let joint = self.text_of(context, name.span).to_owned();
            self.fault(context, FaultKind::SettlePartFree { joint, support, part, stated }.at(at));
        }
        self.act(instance, LoadKind::Settlement { joint, by });
        Ok(())
    }

    /// What a settlement imposes: a movement, or a turn.
    fn imposed(&mut self, context: Context, amount: ExprId, turn: Option<Turn>) -> Evaluated<Imposed<Number>> {
        let is_turn = turn.is_some()
            || matches!(self.evaluate_now(context, amount), Ok(Value::Scalar(own)) if own.dimension == Dimension::ANGLE);
        if is_turn {
            let by = self.now(|this| this.quantity(context, amount, Dimension::ANGLE, "a turn of a support"))?;
            return self.counterclockwise(context, amount, by, turn).map(Imposed::Turn);
        }
        match self.now(|this| this.displacement(context, amount, "a settlement"))? {
            Value::Vector(by) => Ok(Imposed::Move([by.x, by.y])),
            Value::Scalar(size) if size.value.is_zero() => Ok(Imposed::Move([Number::ZERO, Number::ZERO])),
            Value::Scalar(_) => {
                let at = self.expr_origin(context, amount);
                let text = self.text_of(context, at.span).to_owned();
                Err(FaultKind::DirectionMissing { text }.at(at).into())
            }
        }
    }

    /// The part of a settlement, along an axis, that its support leaves free
    /// while it holds the rest.
    fn part_free_in(&self, joint: JointId, by: &Imposed<Number>) -> Option<(&'static str, Axis, Origin)> {
        let Imposed::Move([x, y]) = by else { return None };
        let (_, support) = self.structure.support_at(joint)?;
        let free = match &support.held.line {
            Some([nx, ny]) => [nx.is_zero(), ny.is_zero()],
            None => [support.held.x.is_none(), support.held.y.is_none()],
        };
        let part = match (free, x.is_zero(), y.is_zero()) {
            ([true, _], false, _) => Axis::X,
            ([_, true], _, false) => Axis::Y,
            _ => return None,
        };
        Some((support.kind.word(), part, support.origin))
    }

    /// The support that does not hold what is to be imposed on it: a pin that is
    /// to turn, a roller that is to move the way it rolls. The support's word,
    /// what it leaves free, and where it is stated.
    fn free_in(&self, joint: JointId, by: &Imposed<Number>) -> Option<(&'static str, Freedom, Origin)> {
        let (_, support) = self.structure.support_at(joint)?;
        let held = &support.held;
        let (freedom, is_free) = match by {
            Imposed::Turn(_) => (Freedom::Turn, held.turn.is_none()),
            Imposed::Move([x, y]) if x.is_zero() && y.is_zero() => return None,
            Imposed::Move([x, y]) => {
                let is_free = match &held.line {
                    Some([nx, ny]) => nx.times(x).plus(&ny.times(y)).is_zero(),
                    None => (held.x.is_none() || x.is_zero()) && (held.y.is_none() || y.is_zero()),
                };
                (Freedom::Move, is_free)
            }
        };
        is_free.then(|| (support.kind.word(), freedom, support.origin))
    }

    fn heat(&mut self, instance: &Instance<'t>, chain: Chain, rise: ExprId) -> Evaluated<()> {
        let context = instance.context;
        let path = self.path(context, chain);
        let rise = self.now(|this| this.quantity(context, rise, Dimension::TEMPERATURE, "a temperature rise"));
        let (path, rise) = self.both(context, path, |_| rise)?;
        for (member, _, _) in &path.links {
            let expansion = self.structure.material_of(*member).and_then(|material| material.expansion.as_ref());
            if expansion.is_none() {
                let (at, lacking) = (self.origin(context, chain.span), self.stated(*member));
                let member = self.member_text(*member);
                return Err(FaultKind::NoExpansion { member, lacking }.at(at).into());
            }
            self.act(instance, LoadKind::Heat { member: *member, rise: rise.clone() });
        }
        Ok(())
    }

    fn misfit(&mut self, instance: &Instance<'t>, chain: Chain, amount: ExprId, sense: Option<Fit>) -> Evaluated<()> {
        let context = instance.context;
        let (path, id) = (self.path(context, chain), amount);
        let amount = self.now(|this| this.displacement(context, id, "a misfit")).and_then(|amount| match amount {
            Value::Scalar(amount) => Ok(amount.value),
            Value::Vector(_) => {
                Err(FaultKind::ScalarWanted { role: "a misfit" }.at(self.expr_origin(context, id)).into())
            }
        });
        let (path, amount) = self.both(context, path, |_| amount)?;
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

    /// Where a member's material is stated; else its section, or the member itself.
    fn stated(&self, member: MemberId) -> Origin {
        let section = self.structure.section_of(member);
        let stated = self.structure.material_of(member).map(|material| material.origin);
        stated.or(section.map(|section| section.origin)).unwrap_or(self.structure.members[member].origin)
    }

    fn weigh_one(&mut self, instance: &Instance<'t>, member: MemberId, at: Origin) -> Evaluated<()> {
        let (section, material) = (self.structure.section_of(member), self.structure.material_of(member));
        let missing = match (section, material) {
            (None, _) => Some(Missing::Section),
            (Some(section), _) if section.area.is_none() => Some(Missing::Area),
            (Some(_), None) => Some(Missing::Material),
            (Some(_), Some(material)) if material.weight.is_none() => Some(Missing::MaterialWeight),
            _ => None,
        };
        match missing {
            Some(_) if self.members_incomplete => Err(Stop::Poisoned),
            Some(missing) => {
                let lacking = match (missing, section, material) {
                    (Missing::MaterialWeight, _, Some(material)) => material.origin,
                    (Missing::Area | Missing::Material, Some(section), _) => section.origin,
                    _ => self.stated(member),
                };
                Err(FaultKind::NoWeight { member: self.member_text(member), missing, lacking }.at(at).into())
            }
            None => {
                self.act(instance, LoadKind::Weight { member });
                Ok(())
            }
        }
    }
}
