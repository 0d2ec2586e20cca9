//! Claims resolved: what is claimed of which joint or member, under which
//! case, and how near is near enough.
//!
//! Must not know: whether a claim is true.

use crate::base::{CaseId, CombinationId, Origin, Span, TravelId};
use crate::quantity::format::with_symbol;
use crate::quantity::{Dimension, NamedUnit, Number, Value};
use crate::structure::fault::FaultKind;
use crate::structure::model::{
    AsWritten, Claim, ClaimComponent, ClaimKind, ClaimPlace, ClaimedValue, ComponentWord, Polarity, Tolerance, Under,
    ValueClaim, VectorForm, VectorTolerance,
};
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
/// Two directions are one line if no more than this share is off it.
const PARALLEL: f64 = 1e-9;
/// A slope below this share is none.
const SIDELESS: f64 = 1e-6;
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
        let mut under = Under::Unsaid;
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
                under = stated?;
                ClaimKind::Value(Box::new(value))
            }
        };
        let is_of_value = matches!(&kind, ClaimKind::Value(claim) if claim.relation == Relation::Equals);
        if is_of_value && self.files_set.contains(&context.file) {
            self.structure.claims_left_out += 1;
            return Ok(());
        }
        self.structure.claims.push(Claim { kind, polarity, under, origin });
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
        let place = self.claim_place(context, claim)?;
        let sense = self.claim_sense(context, claim)?;
        if let Some((sense, span)) = sense {
            self.check_side(context, sense, span, &place)?;
        }
        let component = match claim.component {
            None => None,
            Some(component) => Some(self.component(context, claim.what, sense, component)?),
        };
        let (value_origin, literal) = match claim.value {
            tree::ClaimedValue::Zero(span) => (self.origin(context, span), None),
            tree::ClaimedValue::Value(id) => (self.expr_origin(context, id), Some(id)),
        };
        let value = self.claimed(context, claim, sense, literal)?;
        let figures = literal.and_then(|id| self.figures(context, id, &value));
        let written = literal.and_then(|id| self.as_written(context, id, &value));
        let (what, relation) = (claim.what, claim.relation);
        let (component, value) = in_one_sense(relation, under, component, value).map_err(|differ| match differ {
            Differ::FromPlace(place) => {
                let sense = self.text_of(context, value_origin.span);
                let sense = sense.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or(sense);
                FaultKind::ClaimSensesDiffer { sense: sense.to_owned(), place }.at(value_origin)
            }
            Differ::Vector => FaultKind::ClaimRelationOfVector.at(value_origin),
        })?;
        let sense = sense.map(|(sense, _)| sense);
        let positive = match (&value, relation, sense) {
            (ClaimedValue::Scalar { value, dimension, .. }, Relation::Equals, None)
                if !value.is_zero() && turns(what, *dimension) =>
            {
                self.positive_turn(context, value_origin)?
            }
            // A limit without a sense is about the size.
            _ => self.positive_turn(context, value_origin).unwrap_or(Turn::Counterclockwise),
        };
        let claim =
            ValueClaim { what, place, component, relation, value, sense, positive, figures, written, value_origin };
        match &claim.value {
            ClaimedValue::Scalar { value, .. } if relation != Relation::Equals && value.is_negative() => {
                let opposite = self.opposite(&claim);
                Err(FaultKind::ClaimLimitNegative { relation, opposite }.at(value_origin).into())
            }
            _ => Ok(claim),
        }
    }

    /// The word for what acts against the sense, or the sign, of a claim.
    fn opposite(&self, claim: &ValueClaim) -> Option<&'static str> {
        let is_couple = matches!(claim.value, ClaimedValue::Scalar { dimension: Dimension::MOMENT, .. });
        match (claim.sense, claim.what) {
            (Some(sense), _) => return Some(sense.opposite().words()),
            (None, ClaimWhat::Force) => return Some(Sense::Compression.words()),
            (None, ClaimWhat::Rotation) => return Some(claim.positive.opposite().words()),
            (None, ClaimWhat::Reaction) if is_couple => return Some(claim.positive.opposite().words()),
            _ => {}
        }
        Some(match claim.component.as_ref()?.word {
            ComponentWord::X => Cardinal::Left.words(),
            ComponentWord::Y => Cardinal::Down.words(),
            ComponentWord::Cardinal(word) => word.opposite().words(),
            ComponentWord::Other => return None,
        })
    }

    fn claim_place(&mut self, context: Context, claim: &tree::ValueClaim) -> Evaluated<ClaimPlace> {
        let wrong = |this: &Self, span: Span, what, wanted| -> Stop {
            FaultKind::ClaimPlace { what, wanted }.at(this.origin(context, span)).into()
        };
        match claim.place {
            Place::Joint(name) => {
                match claim.what {
                    ClaimWhat::Force => return Err(wrong(self, name.span, "force", "a member, such as `A-B`")),
                    ClaimWhat::Shear => return Err(wrong(self, name.span, "shear", "a beam, such as `A-B`")),
                    ClaimWhat::Moment => return Err(wrong(self, name.span, "moment", "a beam, such as `A-B at 2 m`")),
                    ClaimWhat::Reaction | ClaimWhat::Deflection | ClaimWhat::Rotation => {}
                }
                if let Some(at) = claim.at {
                    return Err(FaultKind::ClauseNotForJoint { clause: "at" }.at(self.expr_origin(context, at)).into());
                }
                let joint = self.joint_at(context, name)?;
                if claim.what == ClaimWhat::Reaction && self.structure.support_at(joint).is_none() {
                    if self.members_incomplete {
                        return Err(Stop::Poisoned);
                    }
                    let (at, joint) = (self.origin(context, name.span), self.joint_text(joint).to_owned());
                    return Err(FaultKind::ClaimWithoutSupport { joint }.at(at).into());
                }
                Ok(ClaimPlace::Joint(joint))
            }
            Place::Chain(chain) => {
                match claim.what {
                    ClaimWhat::Reaction => return Err(wrong(self, chain.span, "reaction", "a supported joint")),
                    ClaimWhat::Rotation => return Err(wrong(self, chain.span, "rotation", "a joint")),
                    _ => {}
                }
                let path = self.members_along(context, chain)?;
                let at = match claim.at {
                    None => None,
                    Some(at) => {
                        let zero = Number::ZERO;
                        let whole = path.iter().fold(zero, |sum, (member, _)| sum.plus(&self.length_of(*member)));
                        let place = self.now(|this| this.place_along(context, at, &whole))?;
                        let (length, value) = (whole.to_f64(), place.to_f64());
                        if place.is_negative() || value > length * (1.0 + 1e-12) {
                            let at = self.expr_origin(context, at);
                            return Err(FaultKind::PositionOutside { length, value }.at(at).into());
                        }
                        Some(place)
                    }
                };
                Ok(ClaimPlace::Members { path, at })
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
    fn check_side(&self, context: Context, sense: Sense, span: Span, place: &ClaimPlace) -> Evaluated<()> {
        let ClaimPlace::Members { path, at } = place else { return Ok(()) };
        let is_sideways = match sense {
            Sense::TensionLeft | Sense::TensionRight => true,
            Sense::Sagging | Sense::Hogging | Sense::TensionAbove | Sense::TensionBelow => false,
            _ => return Ok(()),
        };
        let at = at.as_ref().map(Number::to_f64);
        let mut without = None;
        let mut passed = 0.0;
        for (member, _) in path {
            let [dx, dy] = self.structure.member_vector(*member).map(f64::abs);
            let (end, near) = (passed + dx.hypot(dy), SIDELESS * dx.hypot(dy));
            let is_meant = at.is_none_or(|at| passed - near <= at && at <= end + near);
            let has_side = if is_sideways { dy > SIDELESS * dx } else { dx > SIDELESS * dy };
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
    ) -> Evaluated<ClaimedValue> {
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
            return Ok(ClaimedValue::Scalar {
                value: Number::ZERO,
                dimension: wanted,
                tolerance: Tolerance(tolerance),
            });
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
                    None => self.half_unit(context, id, value.to_f64(), self.bare_unit(context, claim.what, wanted)),
                };
                Ok(ClaimedValue::Scalar { value, dimension: wanted, tolerance: Tolerance(tolerance) })
            }
            Value::Vector(vector) => {
                if !matches!(claim.what, ClaimWhat::Reaction | ClaimWhat::Deflection) {
                    let at = self.expr_origin(context, id);
                    return Err(FaultKind::ScalarWanted { role }.at(at).into());
                }
                let value = self.vector_of(context, id, vector, wanted, role)?;
                let [x, y] = [value[0].to_f64(), value[1].to_f64()];
                let tolerance = match claim.within {
                    Some(within) => VectorTolerance::Length(self.within(context, within, wanted, x.hypot(y))?),
                    None => self.vector_half_units(context, id, [x, y], self.bare_unit(context, claim.what, wanted)),
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
                Ok(ClaimedValue::Vector { value, dimension: wanted, tolerance, form })
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

    /// What a bare number is measured in, in SI units.
    fn bare_unit(&self, context: Context, what: ClaimWhat, dimension: Dimension) -> Option<f64> {
        let units = self.units.get(context.file.index())?.as_ref()?;
        let unit = if what == ClaimWhat::Deflection { units.deflection.clone() } else { units.unit_for(dimension)? };
        Some(unit.unit.factor.to_f64())
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
    fn as_written(&mut self, context: Context, id: ExprId, value: &ClaimedValue) -> Option<AsWritten> {
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
                let units = self.units.get(context.file.index())?.as_ref()?;
                let unit = match value.dimension() {
                    Dimension::LENGTH => units.deflection.clone(),
                    other => units.unit_for(other)?,
                };
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
    fn figures(&mut self, context: Context, id: ExprId, value: &ClaimedValue) -> Option<[f64; 2]> {
        match value {
            ClaimedValue::Scalar { value, .. } => {
                let own = self.written(context, id, value.to_f64(), None)?.precise();
                Some([own, own])
            }
            ClaimedValue::Vector { value: [x, y], .. } => {
                let (x, y) = (x.to_f64(), y.to_f64());
                let kind = self.tree(context).expr(id).map(|expr| expr.kind);
                let Some(ExprKind::Vector { x: ix, y: iy, unit }) = kind else {
                    let size = x.hypot(y);
                    let own = self.written(context, id, size, None)?.precise();
                    // An angle is rounded too: to a tenth of a degree, in print.
                    let own = match kind {
                        Some(ExprKind::Directed { direction, .. })
                            if !matches!(direction.kind, DirectionKind::Word(_)) =>
                        {
                            own.max(size * PRINTED_ANGLE)
                        }
                        _ => own,
                    };
                    return Some([own, own]);
                };
                let unit = unit.and_then(|span| self.unit(context, span).ok()).map(|unit| unit.factor.to_f64());
                // A zero has no figures of its own: it is held to its neighbour's.
                let mut part = |id, size: f64| {
                    if size == 0.0 { None } else { self.written(context, id, size, unit).map(Written::precise) }
                };
                let (x, y) = (part(ix, x), part(iy, y));
                Some([x.or(y)?, y.or(x)?])
            }
        }
    }

    fn vector_half_units(
        &mut self,
        context: Context,
        id: ExprId,
        [x, y]: [f64; 2],
        bare: Option<f64>,
    ) -> VectorTolerance {
        let size = x.hypot(y);
        match self.tree(context).expr(id).map(|expr| expr.kind) {
            Some(ExprKind::Vector { x: ix, y: iy, unit }) => {
                let unit = unit.and_then(|span| self.unit(context, span).ok()).map(|unit| unit.factor.to_f64());
                let mut part = |id, size: f64| {
                    let unit = unit.or(bare.filter(|_| size == 0.0));
                    self.written(context, id, size, unit).map_or(size.abs() * COMPUTED_SHARE, Written::held_to)
                };
                VectorTolerance::Components([part(ix, x), part(iy, y)])
            }
            Some(ExprKind::Directed { direction, .. }) => {
                let tolerance = self.half_unit(context, id, size, bare);
                match direction.kind {
                    DirectionKind::Word(Cardinal::Left | Cardinal::Right) => {
                        VectorTolerance::Components([tolerance, 0.0])
                    }
                    DirectionKind::Word(_) => VectorTolerance::Components([0.0, tolerance]),
                    _ => VectorTolerance::Length(tolerance.max(size * COMPUTED_SHARE)),
                }
            }
            _ => VectorTolerance::Components([x.abs() * COMPUTED_SHARE, y.abs() * COMPUTED_SHARE]),
        }
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
    value: ClaimedValue,
) -> Result<(Option<ClaimComponent>, ClaimedValue), Differ> {
    let ClaimedValue::Vector { value: [x, y], dimension, tolerance, form } = value else {
        return Ok((component, value));
    };
    let held_to = match tolerance {
        VectorTolerance::Components([x, y]) => Tolerance(x.max(y)),
        VectorTolerance::Length(length) => Tolerance(length),
    };
    let scalar = |value: Number| ClaimedValue::Scalar { value, dimension, tolerance: held_to };
    let along = |[dx, dy]: &[Number; 2]| x.times(dx).plus(&y.times(dy));
    let named = |word: Cardinal| (ClaimComponent { direction: unit(word), word: ComponentWord::Cardinal(word) }, word);
    let own = match form {
        VectorForm::Cardinal(word) => Some(named(word)),
        VectorForm::Components | VectorForm::Directed(_) => None,
    };
    let size = x.hypot(&y);
    // A zero has the line it is written along, which its components do not tell.
    let towards = match form {
        VectorForm::Cardinal(word) => unit(word),
        VectorForm::Directed(line) if size.is_zero() => line.map(Number::from_f64),
        VectorForm::Directed(_) | VectorForm::Components => [x.clone(), y.clone()],
    };
    let Some(component) = component else {
        return match (relation, under, own) {
            (Relation::Equals, Under::Travel(_), None) if matches!(form, VectorForm::Directed(_)) => {
                let component = ClaimComponent { direction: towards, word: ComponentWord::Other };
                Ok((Some(component), scalar(size)))
            }
            (Relation::Equals, Under::Travel(_), Some((component, word))) => {
                Ok((Some(component), scalar(along(&unit(word)))))
            }
            (Relation::Equals, ..) => Ok((None, ClaimedValue::Vector { value: [x, y], dimension, tolerance, form })),
            (_, _, Some((component, word))) => Ok((Some(component), scalar(along(&unit(word))))),
            (_, _, None) => Err(Differ::Vector),
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
    if off > PARALLEL * tx.hypot(ty) {
        return Err(Differ::FromPlace(place));
    }
    let signed = match component.word {
        ComponentWord::Other => Number::from_f64((x.to_f64() * dx + y.to_f64() * dy) / dx.hypot(dy)),
        _ => along(&component.direction),
    };
    let is_value = matches!(relation, Relation::Equals);
    match (component.word, own) {
        // A zero has no sign that tells its sense, so it too keeps the line of its word.
        (ComponentWord::X | ComponentWord::Y, Some((component, word))) if !is_value || size.is_zero() => {
            Ok((Some(component), scalar(along(&unit(word)))))
        }
        _ if !is_value && (signed.is_negative() || size.is_zero() && tx * dx + ty * dy < 0.0) => {
            Err(Differ::FromPlace(place))
        }
        _ => Ok((Some(component), scalar(signed))),
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

/// Whether a value of this dimension turns one way or the other: a rotation, a
/// reaction couple. Bending has senses of its own.
fn turns(what: ClaimWhat, dimension: Dimension) -> bool {
    what == ClaimWhat::Rotation || what == ClaimWhat::Reaction && dimension == Dimension::MOMENT
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

/// The zeros at the end of a whole number, of which nobody can tell whether
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
