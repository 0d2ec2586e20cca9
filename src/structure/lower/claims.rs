//! Claims resolved: what is claimed of which joint or member, under which
//! case, and how near is near enough.
//!
//! Must not know: whether a claim is true.

use crate::base::tolerances::{ROUNDED, SAME, SLOPE};
use crate::base::{CaseId, CombinationId, Origin, Span, TravelId};
use crate::quantity::format::with_symbol;
use crate::quantity::{Dimension, NamedUnit, Number, Value};
use crate::structure::claim::{
    AsWritten, Chain, Claim, ClaimComponent, ClaimKind, ClaimSubject, ComponentWord, Inside, Polarity, ResultOf,
    Tolerance, Under, ValueClaim, VectorForm,
};
use crate::structure::fault::FaultKind;
use crate::structure::project::is_claim_word;
use crate::syntax::tree::{
    self, Cardinal, ClaimWhat, Component, Direction, DirectionKind, ExpectStatement, ExprId, ExprKind, Place, Relation,
    Sense, StatementKind, Turn,
};

use super::evaluate::{Evaluated, Stop, plain_unit};
use super::{Context, Instance, Lowering};

/// A computed claim (`expect …: span/3 * w`) is held to this share of itself.
const COMPUTED_SHARE: f64 = 0.005;
/// Half of a tenth of a degree, in radians.
const PRINTED_ANGLE: f64 = 0.05 * std::f64::consts::PI / 180.0;
/// Names of cases that a fault carries.
const MOST_CASES: usize = 8;
/// A claim is never held closer than to this many figures.
const CLOSEST_FIGURES: i32 = 3;

impl<'t> Lowering<'t> {
    pub(super) fn lower_claims(&mut self) {
        for instance in std::mem::take(&mut self.claims) {
            if let StatementKind::Expect(expect) = &instance.statement.kind
                && let Err(stop) = self.claim(&instance, expect)
            {
                let origin = self.origin(instance.context, instance.statement.span);
                self.structure.unread_claims.push(origin);
                self.stopped(instance.context, stop);
            }
        }
        self.note_unreadable_claims();
    }

    /// A claim that could not even be parsed is known by its keyword.
    fn note_unreadable_claims(&mut self) {
        for tree in self.trees {
            let context = self.root(tree.file);
            for broken in &tree.broken {
                let word = self.text_of(context, broken.span).split_whitespace().next().unwrap_or("");
                if is_claim_word(word) {
                    self.structure.unread_claims.push(self.origin(context, broken.span));
                }
            }
        }
        self.structure.unread_claims.sort_unstable();
    }

    fn claim(&mut self, instance: &Instance<'t>, expect: &ExpectStatement) -> Evaluated<()> {
        let context = instance.context;
        let origin = self.origin(context, instance.statement.span);
        let polarity = if expect.not.is_some() { Polarity::IsRefuted } else { Polarity::Holds };
        let kind = match &expect.claim {
            tree::Claim::Determinate => ClaimKind::Determinate,
            tree::Claim::Unstable => ClaimKind::Unstable,
            tree::Claim::Indeterminate(None) => ClaimKind::Indeterminate(None),
            tree::Claim::Indeterminate(Some(id)) => {
                let at = self.expr_origin(context, *id);
                let degree = self.now(|this| this.quantity(context, *id, Dimension::PURE, "a degree of redundancy"))?;
                ClaimKind::Indeterminate(Some(
                    degree.as_integer().ok_or(FaultKind::DegreeNotWhole { value: degree.to_f64() }.at(at))?,
                ))
            }
            tree::Claim::Value(claim) => {
                let stated = self.under(instance, claim, origin);
                let value = self.value_claim(context, claim, *stated.as_ref().unwrap_or(&Under::Unsaid))?;
                stated?;
                ClaimKind::Value(Box::new(value))
            }
        };
        let is_of_value = matches!(&kind, ClaimKind::Value(claim) if claim.relation == Relation::Equals);
        if is_of_value && self.files_set.contains(&context.file) {
            self.structure.claims_left_out += 1;
            return Ok(());
        }
        self.structure.claims.push(Claim { kind, polarity, origin });
        Ok(())
    }

    fn under(&mut self, instance: &Instance<'t>, claim: &tree::ValueClaim, origin: Origin) -> Evaluated<Under> {
        let context = instance.context;
        match (instance.case, claim.under) {
            (Some(_), Some(under)) => {
                let span = match under {
                    tree::Under::All(span) => span,
                    tree::Under::Case(name) => name.span,
                };
                Err(FaultKind::ClaimCaseTwice.at(self.origin(context, span)).into())
            }
            (Some(case), None) => Ok(Under::Case(case)),
            // With nothing but a train to be under, all of them are its positions.
            (None, Some(tree::Under::All(_))) if self.structure.cases.is_empty() => self.only_loading(origin),
            (None, Some(tree::Under::All(_))) => Ok(Under::All),
            (None, Some(tree::Under::Case(name))) => {
                let id = self.now(|this| this.name_id(context, name))?;
                if let Some(case) = id.and_then(|id| self.case_index.get(&id)) {
                    return Ok(Under::Case(*case));
                }
                if let Some(combination) = id.and_then(|id| self.combination_index.get(&id)) {
                    return Ok(Under::Combination(CombinationId::new(*combination)));
                }
                if let Some(id) = id {
                    match (self.travel_named(id), self.travel_origin(id)) {
                        (Some(travel), _) => return Ok(Under::Travel(travel)),
                        // Its own statement has its own fault.
                        (None, Some(_)) => return Err(Stop::Poisoned),
                        (None, None) => {}
                    }
                }
                let text = self.now(|this| this.full_name(context, name))?;
                let near = self.near_cases(&text);
                Err(self.unknown(context, name, crate::structure::fault::Wanted::Case, near))
            }
            (None, None) => self.only_loading(origin),
        }
    }

    /// What a claim is about that does not say so: the one thing that loads
    /// the structure.
    fn only_loading(&self, origin: Origin) -> Evaluated<Under> {
        let structure = &self.structure;
        match (structure.cases.len(), structure.combinations.len(), structure.travels.len()) {
            (1, 0, 0) => Ok(Under::Case(CaseId::new(0))),
            (0, 0, 1) => Ok(Under::Travel(TravelId::new(0))),
            // A travelling load that could not be read has a fault of its own.
            (0, 0, 0) if self.travel_index.is_empty() => Ok(Under::Unsaid),
            (0, 0, 0) => Err(Stop::Poisoned),
            _ => {
                let cases = structure.cases.iter().map(|case| case.name);
                let combinations = structure.combinations.iter().map(|combination| combination.name);
                let names = cases.chain(combinations).chain(structure.travels.iter().map(|travel| travel.name));
                let total = names.clone().count();
                let names = names.take(MOST_CASES).map(|id| self.names.get(id).to_owned()).collect();
                Err(FaultKind::ClaimCaseUnsaid { names, total }.at(origin).into())
            }
        }
    }

    fn value_claim(&mut self, context: Context, claim: &tree::ValueClaim, under: Under) -> Evaluated<ValueClaim> {
        let of = self.result_of(context, claim)?;
        let sense = self.claim_sense(context, claim)?;
        if let (Some((sense, span)), Some(chain)) = (sense, of.chain()) {
            self.check_side(context, sense, span, chain)?;
        }
        let component = match claim.component {
            None => None,
            Some(component) => Some(self.component(context, claim.what, sense, component)?),
        };
        let (value_origin, literal) = match claim.value {
            tree::ClaimedValue::Zero(span) => (self.origin(context, span), None),
            tree::ClaimedValue::Value(id) => (self.expr_origin(context, id), Some(id)),
        };
        let claimed = self.claimed(context, claim, sense, literal)?;
        let figures = literal.and_then(|id| self.figures(context, id, &claimed));
        let written = literal.and_then(|id| self.as_written(context, id, claimed.dimension));
        let relation = claim.relation;
        let (component, claimed) =
            in_one_sense(relation, under, component, claimed).map_err(|differ| match differ {
                Differ::FromPlace(place) => {
                    let sense = self.text_of(context, value_origin.span);
                    let sense = sense.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or(sense);
                    FaultKind::ClaimSensesDiffer { sense: sense.to_owned(), place }.at(value_origin)
                }
                Differ::Vector => FaultKind::ClaimRelationOfVector.at(value_origin),
            })?;
        let Claimed { numbers, dimension, tolerance, form: vector } = claimed;
        let of = match of {
            ResultOf::Reaction(support) if dimension == Dimension::MOMENT => ResultOf::Couple(support),
            of => of,
        };
        let sense = sense.map(|(sense, _)| sense);
        let is_signed = vector.is_none() && relation == Relation::Equals && sense.is_none();
        let positive = if is_signed && of.turns() && !numbers[0].is_zero() {
            self.positive_turn(context, value_origin)?
        } else {
            // A limit without a sense is about the size.
            self.positive_turn(context, value_origin).unwrap_or(Turn::Counterclockwise)
        };
        let subject = ClaimSubject { of, component, sense, positive, vector, under };
        if relation != Relation::Equals && numbers[0].is_negative() {
            let opposite = opposite(&subject);
            return Err(FaultKind::ClaimLimitNegative { relation, opposite }.at(value_origin).into());
        }
        Ok(ValueClaim { subject, relation, numbers, tolerance, figures, written })
    }

    /// What a claim is about; of a reaction its force.
    fn result_of(&mut self, context: Context, claim: &tree::ValueClaim) -> Evaluated<ResultOf> {
        let wrong = |this: &Self, span: Span, what, wanted| -> Evaluated<ResultOf> {
            Err(FaultKind::ClaimPlace { what, wanted }.at(this.origin(context, span)).into())
        };
        match (claim.place, claim.what) {
            (Place::Joint(name), ClaimWhat::Force) => wrong(self, name.span, "force", "a member, such as `A-B`"),
            (Place::Joint(name), ClaimWhat::Shear) => wrong(self, name.span, "shear", "a beam, such as `A-B`"),
            (Place::Joint(name), ClaimWhat::Moment) => wrong(self, name.span, "moment", "a beam, such as `A-B at 2 m`"),
            (Place::Joint(name), what) => {
                if let Some(at) = claim.at {
                    return Err(FaultKind::ClauseNotForJoint { clause: "at" }.at(self.expr_origin(context, at)).into());
                }
                let joint = self.joint_at(context, name)?;
                match what {
                    ClaimWhat::Deflection => return Ok(ResultOf::Movement(joint)),
                    ClaimWhat::Rotation => return Ok(ResultOf::Rotation(joint)),
                    ClaimWhat::Reaction | ClaimWhat::Force | ClaimWhat::Shear | ClaimWhat::Moment => {}
                }
                match self.structure.support_at(joint) {
                    Some((support, _)) => Ok(ResultOf::Reaction(support)),
                    None if self.members_incomplete => Err(Stop::Poisoned),
                    None => {
                        let (at, joint) = (self.origin(context, name.span), self.joint_text(joint).to_owned());
                        Err(FaultKind::ClaimWithoutSupport { joint }.at(at).into())
                    }
                }
            }
            (Place::Chain(chain), ClaimWhat::Reaction) => wrong(self, chain.span, "reaction", "a supported joint"),
            (Place::Chain(chain), ClaimWhat::Rotation) => wrong(self, chain.span, "rotation", "a joint"),
            (Place::Chain(chain), what) => {
                let path = self.members_along(context, chain)?;
                let at = match claim.at {
                    None => None,
                    Some(at) => {
                        let zero = Number::ZERO;
                        let whole = path.iter().fold(zero, |sum, (member, _)| sum.plus(&self.length_of(*member)));
                        let place = self.now(|this| this.place_along(context, at, &whole))?;
                        let (length, value) = (whole.to_f64(), place.to_f64());
                        if place.is_negative() || value > length * (1.0 + ROUNDED) {
                            let at = self.expr_origin(context, at);
                            return Err(FaultKind::PositionOutside { length, value }.at(at).into());
                        }
                        Some(place)
                    }
                };
                let chain = Chain { path, at };
                Ok(match what {
                    ClaimWhat::Force => ResultOf::Inside(Inside::Axial, chain),
                    ClaimWhat::Shear => ResultOf::Inside(Inside::Shear, chain),
                    ClaimWhat::Moment => ResultOf::Inside(Inside::Moment, chain),
                    ClaimWhat::Deflection | ClaimWhat::Reaction | ClaimWhat::Rotation => ResultOf::Deflection(chain),
                })
            }
        }
    }

    fn component(
        &mut self,
        context: Context,
        what: ClaimWhat,
        sense: Option<(Sense, Span)>,
        component: Component,
    ) -> Evaluated<ClaimComponent> {
        let (span, place) = match component {
            Component::X(span) => (span, ".x"),
            Component::Y(span) => (span, ".y"),
            Component::Along(Direction { kind: DirectionKind::Word(word), span }) => (span, word.words()),
            Component::Along(direction) => (direction.span, "@"),
        };
        if let Some((what, allowed)) = senses_of(what).filter(|_| what != ClaimWhat::Reaction) {
            let at = self.origin(context, span);
            return Err(FaultKind::ClaimSense { sense: place, what, allowed }.at(at).into());
        }
        if let Some((sense, span)) = sense {
            let (at, sense) = (self.origin(context, span), sense.words().to_owned());
            return Err(FaultKind::ClaimSensesDiffer { sense, place }.at(at).into());
        }
        Ok(match component {
            Component::X(_) => ClaimComponent { direction: unit(Cardinal::Right), word: ComponentWord::X },
            Component::Y(_) => ClaimComponent { direction: unit(Cardinal::Up), word: ComponentWord::Y },
            Component::Along(direction) => {
                let word = match direction.kind {
                    DirectionKind::Word(word) => ComponentWord::Cardinal(word),
                    _ => ComponentWord::Other,
                };
                let line = self.now(|this| this.direction(context, direction))?;
                ClaimComponent { direction: [line.x, line.y], word }
            }
        })
    }

    /// The sense word of a claim, wherever it stands.
    fn claim_sense(&self, context: Context, claim: &tree::ValueClaim) -> Evaluated<Option<(Sense, Span)>> {
        for (sense, span) in [claim.place_sense, claim.sense].into_iter().flatten() {
            let fits = match claim.what {
                ClaimWhat::Force => matches!(sense, Sense::Tension | Sense::Compression),
                ClaimWhat::Reaction | ClaimWhat::Rotation => {
                    matches!(sense, Sense::Clockwise | Sense::Counterclockwise)
                }
                ClaimWhat::Moment => {
                    !matches!(sense, Sense::Tension | Sense::Compression | Sense::Clockwise | Sense::Counterclockwise)
                }
                ClaimWhat::Shear | ClaimWhat::Deflection => false,
            };
            if !fits {
                let (what, allowed) = senses_of(claim.what).unwrap_or(("deflection", "a direction"));
                let at = self.origin(context, span);
                return Err(FaultKind::ClaimSense { sense: sense.words(), what, allowed }.at(at).into());
            }
        }
        match (claim.place_sense, claim.sense) {
            (Some((first, _)), Some((second, span))) if first != second => {
                let (at, sense) = (self.origin(context, span), second.words().to_owned());
                Err(FaultKind::ClaimSensesDiffer { sense, place: first.words() }.at(at).into())
            }
            (first, second) => Ok(first.or(second)),
        }
    }

    /// Only a member that rises has a left and a right, and only one that runs
    /// has an above and a below.
    fn check_side(&self, context: Context, sense: Sense, span: Span, chain: &Chain) -> Evaluated<()> {
        let is_sideways = match sense {
            Sense::TensionLeft | Sense::TensionRight => true,
            Sense::Sagging | Sense::Hogging | Sense::TensionAbove | Sense::TensionBelow => false,
            _ => return Ok(()),
        };
        let at = chain.at.as_ref().map(Number::to_f64);
        let mut without = None;
        let mut passed = 0.0;
        for (member, _) in &chain.path {
            let [dx, dy] = self.structure.member_vector(*member).map(f64::abs);
            let (end, near) = (passed + dx.hypot(dy), SLOPE * dx.hypot(dy));
            let is_meant = at.is_none_or(|at| passed - near <= at && at <= end + near);
            let has_side = if is_sideways { dy > SLOPE * dx } else { dx > SLOPE * dy };
            passed = end;
            match (is_meant, has_side, at) {
                // At a joint the claim may be about either of two members.
                (true, true, Some(_)) => return Ok(()),
                (true, false, _) => without = without.or(Some(*member)),
                _ => {}
            }
        }
        let Some(member) = without.map(|member| self.member_text(member)) else { return Ok(()) };
        Err(FaultKind::ClaimSide { sense: sense.words(), member, is_level: is_sideways }
            .at(self.origin(context, span))
            .into())
    }

    /// The claimed value: without an expression the word `zero`, which is a `0`.
    fn claimed(
        &mut self,
        context: Context,
        claim: &tree::ValueClaim,
        sense: Option<(Sense, Span)>,
        id: Option<ExprId>,
    ) -> Evaluated<Claimed> {
        let couple = sense.is_some();
        let (wanted, role) = match claim.what {
            ClaimWhat::Reaction if couple => (Dimension::MOMENT, "a reaction couple"),
            ClaimWhat::Reaction => (Dimension::FORCE, "a reaction"),
            ClaimWhat::Force => (Dimension::FORCE, "a member force"),
            ClaimWhat::Shear => (Dimension::FORCE, "a shear"),
            ClaimWhat::Moment => (Dimension::MOMENT, "a bending moment"),
            ClaimWhat::Deflection => (Dimension::LENGTH, "a deflection"),
            ClaimWhat::Rotation => (Dimension::ANGLE, "a rotation"),
        };
        let Some(id) = id else {
            let tolerance = claim.within.map_or(Ok(0.0), |within| self.within(context, within, wanted, 0.0))?;
            return Ok(Claimed::one(Number::ZERO, wanted, tolerance));
        };
        let is_moved = claim.what == ClaimWhat::Deflection;
        let value = match is_moved {
            true => self.now(|this| this.displacement(context, id, role))?,
            false => self.evaluate_now(context, id)?,
        };
        match value {
            Value::Scalar(quantity) => {
                let own = quantity.dimension;
                let couple = claim.what == ClaimWhat::Reaction && own == Dimension::MOMENT && claim.component.is_none();
                let (wanted, role) = if couple { (Dimension::MOMENT, "a reaction couple") } else { (wanted, role) };
                let value = match is_moved {
                    true => quantity.value,
                    false => self.now(|this| this.quantity(context, id, wanted, role))?,
                };
                let tolerance = match claim.within {
                    Some(within) => self.within(context, within, wanted, value.to_f64())?,
                    None => self.half_unit(context, id, value.to_f64(), self.bare_factor(context, wanted)),
                };
                Ok(Claimed::one(value, wanted, tolerance))
            }
            Value::Vector(vector) => {
                if !matches!(claim.what, ClaimWhat::Reaction | ClaimWhat::Deflection) {
                    let at = self.expr_origin(context, id);
                    return Err(FaultKind::ScalarWanted { role }.at(at).into());
                }
                let numbers = self.vector_of(context, id, vector, wanted, role)?;
                let [x, y] = numbers.each_ref().map(Number::to_f64);
                let tolerance = match claim.within {
                    Some(within) => Tolerance::Length(self.within(context, within, wanted, x.hypot(y))?),
                    None => self.vector_half_units(context, id, [x, y], self.bare_factor(context, wanted)),
                };
                let form = match self.tree(context).expr(id).map(|expr| expr.kind) {
                    Some(ExprKind::Directed { direction, .. }) => match direction.kind {
                        DirectionKind::Word(word) => VectorForm::Cardinal(word),
                        _ => {
                            let line = self.now(|this| this.direction(context, direction))?;
                            VectorForm::Directed([line.x.to_f64(), line.y.to_f64()])
                        }
                    },
                    _ => VectorForm::Components,
                };
                Ok(Claimed { numbers, dimension: wanted, tolerance, form: Some(form) })
            }
        }
    }

    fn within(&mut self, context: Context, id: ExprId, wanted: Dimension, size: f64) -> Evaluated<f64> {
        if let Some(ExprKind::Number { number, unit: Some(unit) }) = self.tree(context).expr(id).map(|expr| expr.kind)
            && self.text_of(context, unit) == "%"
        {
            let at = self.origin(context, number);
            let share = Number::parse_decimal(self.text_of(context, number)).ok_or(FaultKind::NotFinite.at(at))?;
            return Ok((share.to_f64() / 100.0 * size).abs());
        }
        if wanted == Dimension::LENGTH {
            return match self.now(|this| this.displacement(context, id, "a tolerance"))? {
                Value::Scalar(value) => Ok(value.to_f64().abs()),
                Value::Vector(_) => {
                    Err(FaultKind::ScalarWanted { role: "a tolerance" }.at(self.expr_origin(context, id)).into())
                }
            };
        }
        let value = self.now(|this| this.quantity(context, id, wanted, "a tolerance"))?;
        Ok(value.to_f64().abs())
    }

    /// Half a unit of the last figure of a value as written, in SI units. A zero
    /// has only the figures after its point; `unit` is one for those of a bare one.
    fn half_unit(&mut self, context: Context, id: ExprId, size: f64, unit: Option<f64>) -> f64 {
        let unit = unit.filter(|_| size == 0.0);
        self.written(context, id, size, unit).map_or(size.abs() * COMPUTED_SHARE, Written::held_to)
    }

    /// What a bare number is measured in.
    fn bare_unit(&self, context: Context, dimension: Dimension) -> Option<NamedUnit> {
        let units = self.file_units(context)?;
        if dimension == Dimension::LENGTH { Some(units.deflection.clone()) } else { units.unit_for(dimension) }
    }

    /// The same in SI units.
    fn bare_factor(&self, context: Context, dimension: Dimension) -> Option<f64> {
        Some(self.bare_unit(context, dimension)?.unit.factor.to_f64())
    }

    /// How a literal is written; `unit` is the one a bracket around it gives.
    fn written(&mut self, context: Context, id: ExprId, size: f64, unit: Option<f64>) -> Option<Written> {
        match self.tree(context).expr(id)?.kind {
            ExprKind::Negative(inner) => self.written(context, inner, size, unit),
            ExprKind::Directed { magnitude, .. } => self.written(context, magnitude, size, unit),
            ExprKind::Group { inner, unit: None } => self.written(context, inner, size, unit),
            ExprKind::Neighbours(parts) => {
                let last = self.tree(context).list(parts).last().copied()?;
                self.written(context, last, size, unit)
            }
            ExprKind::Number { number, unit: own } => {
                let text = self.text_of(context, number);
                let written: f64 = text.replace('_', "").parse().ok()?;
                if size == 0.0 && !text.contains('.') {
                    return Some(Written { last: 0.0, least: 0.0, closest: 0.0 });
                }
                let factor = match (own, unit) {
                    (Some(span), _) => self.unit(context, span).ok()?.factor.to_f64(),
                    (None, Some(factor)) => factor,
                    // A bare number took the file's unit on its way to `size`.
                    (None, None) if written != 0.0 => (size / written).abs(),
                    (None, None) => return Some(Written { last: 0.0, least: 0.0, closest: 0.0 }),
                };
                let last = 10_f64.powi(last_place(text)) * factor;
                let least = 10_f64.powi(last_place(text) + closing_zeros(text)) * factor;
                let closest = match size.abs() {
                    0.0 => 0.0,
                    size => {
                        let leading = (size / factor).log10().floor();
                        #[allow(clippy::cast_possible_truncation)]
                        let place = leading as i32 - (CLOSEST_FIGURES - 1);
                        10_f64.powi(place) * factor
                    }
                };
                Some(Written { last, least, closest })
            }
            _ => None,
        }
    }

    /// A claimed literal in the source's own words.
    fn as_written(&mut self, context: Context, id: ExprId, dimension: Dimension) -> Option<AsWritten> {
        let own = self.literal_unit(context, id)?;
        let span = self.tree(context).expr(id)?.span;
        let (unit, text) = match own {
            Some(unit) => {
                let known = self.unit(context, unit).ok()?;
                (
                    NamedUnit::new(&plain_unit(self.text_of(context, unit)), (*known).clone()),
                    self.text_of(context, span).to_owned(),
                )
            }
            None => {
                let unit = self.bare_unit(context, dimension)?;
                let (number, direction) = (Span::new(span.start, self.end_of_size(context, id)?), span.end);
                let after = Span::new(number.end, direction);
                let number = with_symbol(self.text_of(context, number), &unit.symbol);
                let text = format!("{number}{}", self.text_of(context, after));
                (unit, text)
            }
        };
        // `kN*m` is set as everywhere.
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ").replace('*', "·");
        Some(AsWritten { text, unit })
    }

    /// The last unit written in a literal, if it has one; `None` for what is no literal.
    fn literal_unit(&self, context: Context, id: ExprId) -> Option<Option<Span>> {
        match self.tree(context).expr(id)?.kind {
            ExprKind::Number { unit, .. } => Some(unit),
            ExprKind::Negative(inner) => self.literal_unit(context, inner),
            ExprKind::Directed { magnitude, .. } => self.literal_unit(context, magnitude),
            ExprKind::Group { inner, unit } => Some(unit.or(self.literal_unit(context, inner)?)),
            ExprKind::Neighbours(parts) => {
                let last = self.tree(context).list(parts).last().copied()?;
                self.literal_unit(context, last)
            }
            ExprKind::Vector { x, y, unit } => {
                let (x, y) = (self.literal_unit(context, x)?, self.literal_unit(context, y)?);
                Some(unit.or(x).or(y))
            }
            _ => None,
        }
    }

    /// Where a literal's size ends, and its direction may begin.
    fn end_of_size(&self, context: Context, id: ExprId) -> Option<u32> {
        let expr = self.tree(context).expr(id)?;
        match expr.kind {
            ExprKind::Negative(inner) => self.end_of_size(context, inner),
            ExprKind::Directed { magnitude, .. } => self.end_of_size(context, magnitude),
            _ => Some(expr.span.end),
        }
    }

    /// Half units of a claimed value's last figures; see [`ValueClaim::figures`].
    fn figures(&mut self, context: Context, id: ExprId, claimed: &Claimed) -> Option<[f64; 2]> {
        let [x, y] = claimed.numbers.each_ref().map(Number::to_f64);
        let kind = self.tree(context).expr(id).map(|expr| expr.kind);
        if let (Some(ExprKind::Vector { x: ix, y: iy, unit }), Some(_)) = (kind, claimed.form) {
            let unit = self.unit_factor(context, unit);
            // A zero has no figures of its own: it is held to its neighbour's.
            let mut part = |id, size: f64| {
                if size == 0.0 { None } else { self.written(context, id, size, unit).map(Written::precise) }
            };
            let (x, y) = (part(ix, x), part(iy, y));
            return Some([x.or(y)?, y.or(x)?]);
        }
        let size = if claimed.form.is_some() { x.hypot(y) } else { x };
        let own = self.written(context, id, size, None)?.precise();
        // An angle is rounded too: to a tenth of a degree, in print.
        let is_angle = matches!(claimed.form, Some(VectorForm::Directed(_)));
        Some([if is_angle { own.max(size * PRINTED_ANGLE) } else { own }; 2])
    }

    /// The factor of the unit behind a bracket.
    fn unit_factor(&mut self, context: Context, unit: Option<Span>) -> Option<f64> {
        unit.and_then(|span| self.unit(context, span).ok()).map(|unit| unit.factor.to_f64())
    }

    fn vector_half_units(&mut self, context: Context, id: ExprId, [x, y]: [f64; 2], bare: Option<f64>) -> Tolerance {
        let size = x.hypot(y);
        match self.tree(context).expr(id).map(|expr| expr.kind) {
            Some(ExprKind::Vector { x: ix, y: iy, unit }) => {
                let unit = self.unit_factor(context, unit);
                let mut part = |id, size: f64| {
                    let unit = unit.or(bare.filter(|_| size == 0.0));
                    self.written(context, id, size, unit).map_or(size.abs() * COMPUTED_SHARE, Written::held_to)
                };
                Tolerance::Each([part(ix, x), part(iy, y)])
            }
            Some(ExprKind::Directed { direction, .. }) => {
                let tolerance = self.half_unit(context, id, size, bare);
                match direction.kind {
                    DirectionKind::Word(Cardinal::Left | Cardinal::Right) => Tolerance::Each([tolerance, 0.0]),
                    DirectionKind::Word(_) => Tolerance::Each([0.0, tolerance]),
                    _ => Tolerance::Length(tolerance.max(size * COMPUTED_SHARE)),
                }
            }
            _ => Tolerance::Each([x.abs() * COMPUTED_SHARE, y.abs() * COMPUTED_SHARE]),
        }
    }
}

/// A claimed value before it is known what counts of it.
struct Claimed {
    numbers: [Number; 2],
    dimension: Dimension,
    tolerance: Tolerance,
    form: Option<VectorForm>,
}

impl Claimed {
    fn one(value: Number, dimension: Dimension, within: f64) -> Claimed {
        Claimed { numbers: [value, Number::ZERO], dimension, tolerance: Tolerance::Each([within, 0.0]), form: None }
    }
}

/// Why a sense written after the value does not go with the place.
enum Differ {
    FromPlace(&'static str),
    /// A limit on a vector that has no word for its direction.
    Vector,
}

/// A claim on one component, or a limit, or one under a travelling load, which
/// is about the most in one sense, has one number and one line on which it
/// counts, wherever its sense is written.
fn in_one_sense(
    relation: Relation,
    under: Under,
    component: Option<ClaimComponent>,
    claimed: Claimed,
) -> Result<(Option<ClaimComponent>, Claimed), Differ> {
    let Some(form) = claimed.form else { return Ok((component, claimed)) };
    let [x, y] = &claimed.numbers;
    let held_to = match claimed.tolerance {
        Tolerance::Each([x, y]) => x.max(y),
        Tolerance::Length(length) => length,
    };
    let one = |value: Number| Claimed::one(value, claimed.dimension, held_to);
    let along = |[dx, dy]: &[Number; 2]| x.times(dx).plus(&y.times(dy));
    let named = |word: Cardinal| {
        let direction = unit(word);
        let value = one(along(&direction));
        Ok((Some(ClaimComponent { direction, word: ComponentWord::Cardinal(word) }), value))
    };
    let size = x.hypot(y);
    // A zero has the line it is written along, which its components do not tell.
    let towards = match form {
        VectorForm::Cardinal(word) => unit(word),
        VectorForm::Directed(line) if size.is_zero() => line.map(Number::from_f64),
        VectorForm::Directed(_) | VectorForm::Components => [x.clone(), y.clone()],
    };
    let is_value = relation == Relation::Equals;
    let Some(component) = component else {
        return match (is_value, under, form) {
            (true, Under::Travel(_), VectorForm::Directed(_)) => {
                let component = ClaimComponent { direction: towards, word: ComponentWord::Other };
                Ok((Some(component), one(size)))
            }
            (true, Under::Travel(_), VectorForm::Cardinal(word)) | (false, _, VectorForm::Cardinal(word)) => {
                named(word)
            }
            (true, ..) => Ok((None, claimed)),
            (false, ..) => Err(Differ::Vector),
        };
    };
    let place = match component.word {
        ComponentWord::X => ".x",
        ComponentWord::Y => ".y",
        ComponentWord::Cardinal(word) => word.words(),
        ComponentWord::Other => "@",
    };
    let [dx, dy] = component.direction.each_ref().map(Number::to_f64);
    let [tx, ty] = towards.map(|part| part.to_f64());
    let off = (tx * dy - ty * dx).abs() / dx.hypot(dy);
    if off > SAME * tx.hypot(ty) {
        return Err(Differ::FromPlace(place));
    }
    let signed = match component.word {
        ComponentWord::Other => Number::from_f64((x.to_f64() * dx + y.to_f64() * dy) / dx.hypot(dy)),
        _ => along(&component.direction),
    };
    match (component.word, form) {
        // A zero has no sign that tells its sense, so it too keeps the line of its word.
        (ComponentWord::X | ComponentWord::Y, VectorForm::Cardinal(word)) if !is_value || size.is_zero() => named(word),
        _ if !is_value && (signed.is_negative() || size.is_zero() && tx * dx + ty * dy < 0.0) => {
            Err(Differ::FromPlace(place))
        }
        _ => Ok((Some(component), one(signed))),
    }
}

fn unit(word: Cardinal) -> [Number; 2] {
    let (x, y) = match word {
        Cardinal::Right => (1, 0),
        Cardinal::Up => (0, 1),
        Cardinal::Left => (-1, 0),
        Cardinal::Down => (0, -1),
    };
    [Number::from_integer(x), Number::from_integer(y)]
}

/// The word for what acts against the sense, or the sign, of a claim.
fn opposite(subject: &ClaimSubject) -> Option<&'static str> {
    if let Some(sense) = subject.sense {
        return Some(sense.opposite().words());
    }
    if subject.of.turns() {
        return Some(subject.positive.opposite().words());
    }
    if matches!(subject.of, ResultOf::Inside(Inside::Axial, _)) {
        return Some(Sense::Compression.words());
    }
    Some(match subject.component.as_ref()?.word {
        ComponentWord::X => Cardinal::Left.words(),
        ComponentWord::Y => Cardinal::Down.words(),
        ComponentWord::Cardinal(word) => word.opposite().words(),
        ComponentWord::Other => return None,
    })
}

/// The senses a quantity has, in words, where a direction is none of them.
const fn senses_of(what: ClaimWhat) -> Option<(&'static str, &'static str)> {
    Some(match what {
        ClaimWhat::Force => ("force", "`tension` or `compression`"),
        ClaimWhat::Reaction => ("reaction", "a direction for a force, `cw` or `ccw` for a couple"),
        ClaimWhat::Rotation => ("rotation", "`cw` or `ccw`"),
        ClaimWhat::Moment => ("moment", "`sagging`, `hogging` or the side in tension"),
        ClaimWhat::Shear => ("shear", "no sense word"),
        ClaimWhat::Deflection => return None,
    })
}

/// A literal's last figures, in SI units.
#[derive(Clone, Copy)]
struct Written {
    /// One unit of the last figure written.
    last: f64,
    /// The same where the zeros that close a whole number only hold its place.
    least: f64,
    /// One unit of the third figure.
    closest: f64,
}

impl Written {
    fn held_to(self) -> f64 {
        0.5 * self.last.max(self.closest)
    }

    fn precise(self) -> f64 {
        0.5 * self.least.min(self.closest)
    }
}

/// The power of ten of a number's last written figure: `74.60` gives -2,
/// `283` gives 0, `1.2e3` gives 2.
fn last_place(text: &str) -> i32 {
    let text = text.replace('_', "");
    let (mantissa, exponent) = text.split_once(['e', 'E']).unwrap_or((&text, "0"));
    let decimals = mantissa.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let exponent: i32 = exponent.parse().unwrap_or(0);
    exponent - i32::try_from(decimals).unwrap_or(i32::MAX / 2)
}

/// The zeros at the end of a whole number, of which it is not known whether
/// they are figures: two in `18700`, none in `18.00` and `1.20e3`.
fn closing_zeros(text: &str) -> i32 {
    let digits = text.replace('_', "");
    if digits.contains(['.', 'e', 'E']) {
        return 0;
    }
    i32::try_from(digits.len() - digits.trim_end_matches('0').len()).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zeros_that_close_a_whole_number_may_be_no_figures() {
        assert_eq!(closing_zeros("18700"), 2);
        assert_eq!(closing_zeros("18_660"), 1);
        assert_eq!(closing_zeros("18.00"), 0);
        assert_eq!(closing_zeros("1.20e3"), 0);
    }

    #[test]
    fn the_last_written_figure_sets_the_place() {
        assert_eq!(last_place("74.60"), -2);
        assert_eq!(last_place("1_283"), 0);
        assert_eq!(last_place("1.2e3"), 2);
    }
}
