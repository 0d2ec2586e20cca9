//! Expressions to values: units applied, dimensions checked.
//!
//! Definitions may stand in any order and depend on each other to any depth, so
//! an evaluation that meets a definition not yet evaluated stops with
//! [`Stop::Need`]; [`Lowering::evaluate_definition`] then evaluates that one first, on a stack
//! of its own.
//!
//! Must not know: statements.

use std::borrow::Cow;

use crate::base::{Origin, Span};
use crate::quantity::arithmetic::{LARGEST_VALUE, SMALLEST_VALUE, takes_file_unit};
use crate::quantity::{
    ArithmeticError, Dimension, Number, Quantity, Unit, UnitErrorKind, UnitSystem, Value, Vector, parse_unit,
};
use crate::syntax::tree::{Axis, BinaryOp, ChainFunction, ExprId, ExprKind, Function, Range};

use super::{Bare, Context, DefId, DefState, Lowering, Settled};
use crate::structure::fault::{Fault, FaultKind};

/// Why an evaluation gave no value.
#[derive(Clone, Debug, PartialEq)]
pub enum Stop {
    /// A definition has to be evaluated first.
    Need(DefId),
    /// It depends on a name that no statement has declared so far.
    Undeclared,
    /// It depends on something already reported.
    Poisoned,
    Fault(Box<Fault>),
}

impl From<Fault> for Stop {
    fn from(fault: Fault) -> Self {
        Stop::Fault(Box::new(fault))
    }
}

/// The length of the vectors `along` and `across` give.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Size {
    Unit,
    /// That of the line between the joints.
    Own,
}

pub type Evaluated<T> = Result<T, Stop>;

impl<'t> Lowering<'t> {
    pub fn origin(&self, context: Context, span: Span) -> Origin {
        Origin::new(context.file, span)
    }

    pub fn text_of(&self, context: Context, span: Span) -> &'t str {
        span.text(self.files.text(context.file))
    }

    fn expr_span(&self, context: Context, id: ExprId) -> Span {
        self.tree(context).expr(id).map_or(Span::default(), |expr| expr.span)
    }

    pub fn expr_origin(&self, context: Context, id: ExprId) -> Origin {
        self.origin(context, self.expr_span(context, id))
    }

    /// The value of an expression.
    pub fn evaluate(&mut self, context: Context, id: ExprId) -> Evaluated<Value> {
        let Some(expr) = self.tree(context).expr(id).copied() else { return Err(Stop::Poisoned) };
        let at = self.origin(context, expr.span);
        match expr.kind {
            ExprKind::Number { number, unit } => self.number(context, number, unit).map(Value::Scalar),
            ExprKind::Neighbours(parts) => self.neighbours(context, parts, at),
            ExprKind::Name(name) => self.name_value(context, name),
            ExprKind::Field { of, axis } => match self.evaluate(context, of)? {
                Value::Vector(vector) => {
                    let value = match axis {
                        Axis::X => vector.x,
                        Axis::Y => vector.y,
                    };
                    Ok(Value::Scalar(Quantity::new(value, vector.dimension)))
                }
                Value::Scalar(_) => Err(FaultKind::FieldOfScalar { axis }.at(at).into()),
            },
            ExprKind::Negative(inner) => Ok(self.evaluate(context, inner)?.negated()),
            ExprKind::Binary { op, left, right } => self.binary(context, op, left, right, at),
            ExprKind::Call { function, arguments } => self.call(context, function, arguments, at),
            ExprKind::ChainCall { function, chain } => self.chain_call(context, function, chain.links, at, Size::Unit),
            ExprKind::Vector { x, y, unit } => self.vector(context, (x, y), unit, at),
            ExprKind::Group { inner, unit } => {
                let value = self.evaluate(context, inner)?;
                match unit {
                    None => Ok(value),
                    Some(unit) => self.apply_unit(context, value, unit, at),
                }
            }
            ExprKind::Directed { magnitude, direction } => {
                let magnitude =
                    self.scalar(context, magnitude, "the size before a direction").map_err(|stop| match stop {
                        Stop::Fault(fault) if matches!(fault.kind, FaultKind::ScalarWanted { .. }) => {
                            FaultKind::DirectionTwice.at(self.origin(context, direction.span)).into()
                        }
                        other => other,
                    })?;
                let zero = FaultKind::ZeroDirection.at(self.origin(context, direction.span));
                let unit = self.direction(context, direction)?.direction().map_err(|_| zero)?;
                let parts = (id, id);
                Value::Scalar(magnitude)
                    .toward(&unit)
                    .map_err(|error| self.arithmetic(context, error, parts, at).into())
            }
            ExprKind::Pi => Ok(Value::Scalar(Quantity::pure(Number::Pi(crate::quantity::Rational::from_integer(1))))),
        }
    }

    /// A value with no direction.
    pub fn scalar(&mut self, context: Context, id: ExprId, role: &'static str) -> Evaluated<Quantity> {
        match self.evaluate(context, id)? {
            Value::Scalar(quantity) => Ok(quantity),
            Value::Vector(_) => Err(FaultKind::ScalarWanted { role }.at(self.expr_origin(context, id)).into()),
        }
    }

    fn number(&mut self, context: Context, number: Span, unit: Option<Span>) -> Evaluated<Quantity> {
        let at = self.origin(context, number);
        let value = Number::parse_decimal(self.text_of(context, number)).ok_or(FaultKind::NotFinite.at(at))?;
        let quantity = match unit {
            None => Quantity::new(value, Dimension::PURE),
            Some(span) => {
                let unit = self.unit(context, span)?;
                Quantity::new(value.times(&unit.factor), unit.dimension)
            }
        };
        let in_range = quantity.value.is_between(SMALLEST_VALUE, LARGEST_VALUE);
        if in_range { Ok(quantity) } else { Err(FaultKind::NotFinite.at(at).into()) }
    }

    /// The unit a span of the source names.
    pub fn unit(&mut self, context: Context, span: Span) -> Evaluated<std::rc::Rc<Unit>> {
        let text = self.text_of(context, span);
        if let Some(unit) = self.unit_cache.get(text) {
            let unit = std::rc::Rc::clone(unit);
            self.watch_unit(context, span, unit.reading);
            return Ok(unit);
        }
        let at = self.origin(context, span);
        if text == "%" {
            return Err(FaultKind::ShareHere.at(at).into());
        }
        let unit = std::rc::Rc::new(parse_unit(&plain_unit(text)).map_err(|error| match error.kind {
            UnitErrorKind::Unknown { word, similar } => FaultKind::UnknownUnit { unit: word, similar }.at(at),
            UnitErrorKind::AmbiguousTon => FaultKind::AmbiguousTon.at(at),
            UnitErrorKind::Bar => FaultKind::BarAsUnit.at(at),
            _ => FaultKind::UnknownUnit { unit: text.to_owned(), similar: None }.at(at),
        })?);
        self.watch_unit(context, span, unit.reading);
        self.unit_cache.insert(text, std::rc::Rc::clone(&unit));
        Ok(unit)
    }

    fn neighbours(&mut self, context: Context, parts: Range, at: Origin) -> Evaluated<Value> {
        let mut total: Option<Quantity> = None;
        let mut last_factor: Option<Number> = None;
        for part in self.tree(context).list(parts).to_vec() {
            let Some(ExprKind::Number { number, unit: Some(unit) }) = self.tree(context).expr(part).map(|e| e.kind)
            else {
                return Err(FaultKind::NeighbourOrder.at(at).into());
            };
            let factor = self.unit(context, unit)?.factor.clone();
            let quantity = self.number(context, number, Some(unit))?;
            let smaller = last_factor.as_ref().is_none_or(|last| factor.compare(last).is_lt());
            let below_one = last_factor.as_ref().is_none_or(|last| quantity.value.compare(last).is_lt());
            if !smaller || !below_one {
                return Err(FaultKind::NeighbourOrder.at(at).into());
            }
            total = Some(match total {
                None => quantity,
                Some(sum) if sum.dimension == quantity.dimension => {
                    Quantity::new(sum.value.plus(&quantity.value), sum.dimension)
                }
                Some(_) => return Err(FaultKind::NeighbourOrder.at(at).into()),
            });
            last_factor = Some(factor);
        }
        total.map(Value::Scalar).ok_or(Stop::Poisoned)
    }

    fn binary(&mut self, context: Context, op: BinaryOp, left: ExprId, right: ExprId, at: Origin) -> Evaluated<Value> {
        let a = self.evaluate(context, left);
        let (a, b) = self.both(context, a, |this| this.evaluate(context, right))?;
        if matches!(op, BinaryOp::Add | BinaryOp::Subtract) {
            self.check_mixture(context, &[(left, &a), (right, &b)])?;
        }
        let units = self.file_units(context);
        let result = match op {
            BinaryOp::Add => a.plus(&b, units),
            BinaryOp::Subtract => a.minus(&b, units),
            BinaryOp::Multiply => a.times(&b),
            BinaryOp::Divide => a.over(&b),
            BinaryOp::Power => a.power(&b),
        };
        result.map_err(|error| {
            let vector_last = error == ArithmeticError::ScalarAndVector && matches!(b, Value::Vector(_));
            let bare_last = matches!(error, ArithmeticError::UnitMissing { .. }) && b.dimension().is_pure();
            let parts = if vector_last || bare_last { (right, left) } else { (left, right) };
            self.arithmetic(context, error, parts, at).into()
        })
    }

    /// What went wrong in an operation, at the part of it that is to blame.
    pub(super) fn arithmetic(
        &self,
        context: Context,
        error: ArithmeticError,
        parts: (ExprId, ExprId),
        at: Origin,
    ) -> Fault {
        use ArithmeticError as E;
        let (left, right) = (self.expr_origin(context, parts.0), self.expr_origin(context, parts.1));
        let text = || self.text_of(context, at.span).to_owned();
        match error {
            E::MixedDimensions { left: a, right: b } => {
                FaultKind::MixedDimensions { left: (left, a), right: (right, b) }.at(at)
            }
            E::NoFileUnits { wanted } => FaultKind::BareNumber { wanted, text: text() }.at(at),
            E::UnitMissing { wanted } => self.unit_missing(context, parts.0, wanted, None),
            E::WrongDimension { wanted, found } if wanted == Dimension::ANGLE && found.is_pure() => {
                FaultKind::BareAngle { text: self.text_of(context, left.span).to_owned() }.at(left)
            }
            E::WrongDimension { wanted, found } => {
                let text = self.text_of(context, left.span).to_owned();
                FaultKind::WrongDimension { role: "this function's argument", wanted, found, text }.at(left)
            }
            E::ExponentNotPure { found } => FaultKind::WrongDimension {
                role: "an exponent",
                wanted: Dimension::PURE,
                found,
                text: self.text_of(context, right.span).to_owned(),
            }
            .at(right),
            E::PowerOfDimension { .. } => FaultKind::PowerNotWhole.at(right),
            E::RootOfDimension { found } => FaultKind::RootOfDimension { found, text: text() }.at(at),
            E::DivisionByZero => FaultKind::DivisionByZero.at(right),
            E::RootOfNegative => FaultKind::OutsideDomain { function: "sqrt" }.at(at),
            E::OutOfDomain { function } => FaultKind::OutsideDomain { function: function.word() }.at(at),
            E::ArgumentCount { function, found } => {
                FaultKind::ArgumentCount { function: function.word(), found }.at(at)
            }
            E::NoDirection => FaultKind::ZeroDirection.at(at),
            E::ScalarAndVector => FaultKind::ScalarAndVector { vector: left, scalar: right }.at(at),
            E::ProductOfVectors | E::DivisionByVector | E::PowerOfVector => FaultKind::VectorProduct.at(at),
            E::WantedScalar => FaultKind::ScalarWanted { role: "this place" }.at(at),
            E::DimensionTooLarge | E::OutOfRange => FaultKind::NotFinite.at(at),
        }
    }

    /// Two parts of a statement or an expression: a fault in the first hides none in the second.
    pub(super) fn both<A, B>(
        &mut self,
        context: Context,
        first: Evaluated<A>,
        second: impl FnOnce(&mut Self) -> Evaluated<B>,
    ) -> Evaluated<(A, B)> {
        match first {
            Ok(first) => Ok((first, second(self)?)),
            Err(Stop::Need(def)) => Err(Stop::Need(def)),
            Err(Stop::Undeclared) => Err(Stop::Undeclared),
            Err(stop) => {
                self.stopped(context, stop);
                second(self).and(Err(Stop::Poisoned))
            }
        }
    }

    fn vector(
        &mut self,
        context: Context,
        parts: (ExprId, ExprId),
        unit: Option<Span>,
        at: Origin,
    ) -> Evaluated<Value> {
        let x = self.scalar(context, parts.0, "a component");
        let (x, y) = self.both(context, x, |this| this.scalar(context, parts.1, "a component"))?;
        let bare_last = y.dimension.is_pure();
        let (first, second) = (Value::Scalar(x.clone()), Value::Scalar(y.clone()));
        self.check_mixture(context, &[(parts.0, &first), (parts.1, &second)])?;
        let vector = Vector::from_components(x, y, self.file_units(context)).map_err(|error| {
            let is_bare = matches!(error, ArithmeticError::UnitMissing { .. });
            self.arithmetic(context, error, if is_bare && bare_last { (parts.1, parts.0) } else { parts }, at)
        })?;
        let value = Value::Vector(vector);
        match unit {
            None => Ok(value),
            Some(unit) => self.apply_unit(context, value, unit, at),
        }
    }

    fn apply_unit(&mut self, context: Context, value: Value, unit: Span, at: Origin) -> Evaluated<Value> {
        let unit = self.unit(context, unit)?;
        if value.dimension().is_pure() {
            return value
                .in_unit(&unit)
                .map_err(|error| self.arithmetic(context, error, (ExprId(0), ExprId(0)), at).into());
        }
        let (role, wanted, found) = ("a bracket that carries a unit", Dimension::PURE, value.dimension());
        let text = self.text_of(context, at.span).to_owned();
        Err(FaultKind::WrongDimension { role, wanted, found, text }.at(at).into())
    }

    fn call(&mut self, context: Context, function: Function, arguments: Range, at: Origin) -> Evaluated<Value> {
        let tree = self.tree(context);
        let ids = tree.list(arguments);
        let mut values = Vec::with_capacity(ids.len());
        for id in ids {
            values.push(self.evaluate(context, *id)?);
        }
        let given: Vec<(ExprId, &Value)> = ids.iter().copied().zip(&values).collect();
        self.check_mixture(context, &given)?;
        let bare = given.iter().find(|(_, value)| value.dimension().is_pure() && !value.is_bare_zero());
        let first = ids.first().copied().unwrap_or(ExprId(0));
        let value = function.apply(&values, self.file_units(context));
        let parts = match (&value, bare) {
            (Err(ArithmeticError::UnitMissing { .. }), Some((bare, _))) => (*bare, first),
            _ => (first, ids.get(1).copied().unwrap_or(first)),
        };
        value.map_err(|error| self.arithmetic(context, error, parts, at).into())
    }

    pub(super) fn chain_call(
        &mut self,
        context: Context,
        function: ChainFunction,
        links: Range,
        at: Origin,
        size: Size,
    ) -> Evaluated<Value> {
        let mut points: Vec<Vector> = Vec::new();
        for link in self.tree(context).links(links).to_vec() {
            match self.name_value(context, link)? {
                Value::Vector(point) => points.push(point),
                Value::Scalar(_) => {
                    let at = self.origin(context, link.span);
                    return Err(FaultKind::VectorWanted { role: "each link of a chain" }.at(at).into());
                }
            }
        }
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return Err(Stop::Poisoned) };
        let difference = |a: &Vector, b: &Vector| Vector::new(b.x.minus(&a.x), b.y.minus(&a.y), a.dimension);
        match function {
            ChainFunction::Length => {
                let mut length = Number::ZERO;
                for pair in points.windows(2) {
                    if let [a, b] = pair {
                        length = length.plus(&difference(a, b).magnitude().value);
                    }
                }
                Ok(Value::Scalar(Quantity::new(length, first.dimension)))
            }
            ChainFunction::Angle => {
                let angle = difference(first, last).angle().map_err(|_| FaultKind::ZeroDirection.at(at))?;
                Ok(Value::Scalar(angle))
            }
            ChainFunction::Along | ChainFunction::Across => {
                let line = difference(first, last);
                let line = if size == Size::Own { Ok(line) } else { line.direction() };
                let line = line.ok().filter(|line| !(line.x.is_zero() && line.y.is_zero()));
                let line = line.ok_or(FaultKind::ZeroDirection.at(at))?;
                Ok(Value::Vector(if function == ChainFunction::Across { line.turned_left() } else { line }))
            }
        }
    }

    pub(super) fn angle(&self, context: Context, id: ExprId, value: Quantity) -> Evaluated<Number> {
        let at = self.expr_origin(context, id);
        let text = || self.text_of(context, at.span).to_owned();
        if value.dimension == Dimension::ANGLE || value.is_bare_zero() {
            Ok(value.value)
        } else if value.dimension.is_pure() {
            Err(FaultKind::BareAngle { text: text() }.at(at).into())
        } else {
            let (role, wanted, found) = ("an angle", Dimension::ANGLE, value.dimension);
            Err(FaultKind::WrongDimension { role, wanted, found, text: text() }.at(at).into())
        }
    }

    // Definitions

    pub fn definition(&mut self, def: DefId) -> Evaluated<Value> {
        let definition = &mut self.defs[def];
        definition.read = true;
        match &definition.state {
            DefState::Settled(value) => Ok(value.value()),
            DefState::Failed => Err(Stop::Poisoned),
            DefState::Waiting | DefState::Open => Err(Stop::Need(def)),
        }
    }

    pub fn definition_value(&self, def: DefId) -> Option<Value> {
        match &self.defs[def].state {
            DefState::Settled(value) => Some(value.value()),
            _ => None,
        }
    }

    /// Evaluates one definition and all it depends on.
    pub fn evaluate_definition(&mut self, def: DefId) {
        let mut open = vec![def];
        while let Some(top) = open.last().copied() {
            let definition = &mut self.defs[top];
            if matches!(definition.state, DefState::Settled(_) | DefState::Failed) {
                open.pop();
                continue;
            }
            definition.state = DefState::Open;
            let (context, expr, is_joint) = (definition.context, definition.expr, definition.joint.is_some());
            let outcome = match self.own_values.get(&top).copied() {
                _ if is_joint => self.position(context, expr).map(|[x, y]| Settled::Point(x, y)),
                Some(own) => self.set_value(context, expr, own).map(Settled::Value),
                None => self.evaluate(context, expr).map(Settled::Value),
            };
            if let Ok(Settled::Value(value)) = &outcome
                && value.dimension().is_pure()
                && self.files_differ
            {
                self.defs[top].foreign = self.foreign_let(context, expr);
            }
            let state = match outcome {
                Ok(value) => DefState::Settled(value),
                Err(Stop::Need(next)) => {
                    if matches!(self.defs[next].state, DefState::Open) {
                        self.report_cycle(&open, next);
                        return;
                    }
                    open.push(next);
                    continue;
                }
                Err(Stop::Undeclared) => {
                    open.into_iter().for_each(|def| self.defs[def].state = DefState::Waiting);
                    return;
                }
                Err(Stop::Poisoned) => {
                    self.touch_layout(is_joint);
                    DefState::Failed
                }
                Err(Stop::Fault(fault)) => {
                    self.fault(context, *fault);
                    self.touch_layout(is_joint);
                    DefState::Failed
                }
            };
            self.defs[top].state = state;
            open.pop();
        }
    }

    /// The value given to a let in place of its own, which is of the same kind.
    fn set_value(&mut self, context: Context, expr: ExprId, own: DefId) -> Evaluated<Value> {
        let (own, value) = (self.definition(own)?, self.evaluate(context, expr)?);
        let (at, role) = (self.expr_origin(context, expr), "the value of this let");
        let (wanted, found) = (own.dimension(), value.dimension());
        match (&own, &value) {
            (Value::Scalar(_), Value::Vector(_)) => Err(FaultKind::ScalarWanted { role }.at(at).into()),
            (Value::Vector(_), Value::Scalar(_)) => Err(FaultKind::VectorWanted { role }.at(at).into()),
            _ if wanted == found || wanted.is_pure() || value.is_bare_zero() => Ok(value),
            _ => {
                let text = self.text_of(context, at.span).to_owned();
                Err(FaultKind::WrongDimension { role, wanted, found, text }.at(at).into())
            }
        }
    }

    fn report_cycle(&mut self, open: &[DefId], again: DefId) {
        let from = open.iter().position(|def| *def == again).unwrap_or(0);
        let cycle = open.get(from..).unwrap_or(&[]);
        let name = |def: &DefId| (self.names.get(self.defs[*def].name).to_owned(), self.defs[*def].origin);
        let chain = cycle.iter().map(name).collect();
        if let Some(first) = cycle.first().map(|def| &self.defs[*def]) {
            self.fault(first.context, FaultKind::Cycle { chain }.at(first.origin));
        }
        self.layout_touched = true;
        open.iter().for_each(|def| self.defs[*def].state = DefState::Failed);
    }

    /// Evaluates with everything needed evaluated first.
    pub fn evaluate_now(&mut self, context: Context, id: ExprId) -> Evaluated<Value> {
        self.now(|this| this.evaluate(context, id))
    }

    /// Runs an evaluation again and again until everything it needs is known.
    pub fn now<T>(&mut self, mut evaluation: impl FnMut(&mut Self) -> Evaluated<T>) -> Evaluated<T> {
        loop {
            match evaluation(self) {
                Err(Stop::Need(def)) => {
                    self.evaluate_definition(def);
                    // A definition that stays unevaluated would never end this loop.
                    match self.defs[def].state {
                        DefState::Settled(_) => {}
                        DefState::Waiting => return Err(Stop::Undeclared),
                        _ => return Err(Stop::Poisoned),
                    }
                }
                other => return other,
            }
        }
    }

    // Values of a known dimension

    /// A point in metres.
    pub fn position(&mut self, context: Context, id: ExprId) -> Evaluated<[Number; 2]> {
        match self.evaluate(context, id)? {
            Value::Vector(vector) => self.vector_of(context, id, vector, Dimension::LENGTH, "a position"),
            Value::Scalar(_) => {
                Err(FaultKind::VectorWanted { role: "a position" }.at(self.expr_origin(context, id)).into())
            }
        }
    }

    /// A scalar of a known dimension in SI units; a bare length or force takes
    /// the file's unit.
    pub fn quantity(
        &mut self,
        context: Context,
        id: ExprId,
        wanted: Dimension,
        role: &'static str,
    ) -> Evaluated<Number> {
        let quantity = self.scalar(context, id, role)?;
        let factor = self.fit(context, id, (quantity.dimension, wanted), quantity.is_bare_zero(), role)?;
        Ok(match factor {
            Some(factor) => quantity.value.times(&factor),
            None => quantity.value,
        })
    }

    pub fn vector_of(
        &mut self,
        context: Context,
        id: ExprId,
        vector: Vector,
        wanted: Dimension,
        role: &'static str,
    ) -> Evaluated<[Number; 2]> {
        let zero = vector.x == Number::ZERO && vector.y == Number::ZERO;
        Ok(match self.fit(context, id, (vector.dimension, wanted), zero, role)? {
            Some(factor) => [vector.x.times(&factor), vector.y.times(&factor)],
            None => [vector.x, vector.y],
        })
    }

    /// What a value of a `found` dimension is to be multiplied with to be of
    /// the `wanted` one: nothing, or the file's unit for a bare number.
    fn fit(
        &mut self,
        context: Context,
        id: ExprId,
        (found, wanted): (Dimension, Dimension),
        zero: bool,
        role: &'static str,
    ) -> Evaluated<Option<Number>> {
        if found == wanted || (zero && found.is_pure()) {
            return Ok(None);
        }
        let is_ratio = found.is_pure() && !wanted.is_pure() && wanted != Dimension::ANGLE && self.has_unit(context, id);
        let at = self.expr_origin(context, id);
        let text = || self.text_of(context, at.span).to_owned();
        if found.is_pure() && wanted == Dimension::ANGLE {
            return Err(FaultKind::BareAngle { text: text() }.at(at).into());
        }
        if is_ratio {
            return Err(FaultKind::WrongDimension { role, wanted, found, text: text() }.at(at).into());
        }
        if found.is_pure() && (context.bare == Bare::Refused || !takes_file_unit(wanted)) {
            return Err(self.unit_missing(context, id, wanted, None).into());
        }
        if found.is_pure() {
            let unit = self.file_units(context).and_then(|units| units.unit_for(wanted));
            let Some(unit) = unit else { return Err(FaultKind::BareNumber { wanted, text: text() }.at(at).into()) };
            self.check_foreign(context, id)?;
            return Ok(Some(unit.unit.factor));
        }
        if mass_for(wanted) == Some(found) {
            return Err(FaultKind::MassAsLoad { wanted, text: text() }.at(at).into());
        }
        Err(FaultKind::WrongDimension { role, wanted, found, text: text() }.at(at).into())
    }

    /// Whether a pure number is what is left of quantities: `2 mm/m`, `span/bay`.
    /// Ratios of angles and unit vectors are numbers like any other.
    fn has_unit(&mut self, context: Context, id: ExprId) -> bool {
        let Some(expr) = self.tree(context).expr(id).copied() else { return false };
        match expr.kind {
            ExprKind::Number { unit, .. } => unit.is_some(),
            ExprKind::Neighbours(_) => true,
            ExprKind::Pi => false,
            ExprKind::Name(name) => self.name_value(context, name).is_ok_and(|value| !value.dimension().is_pure()),
            ExprKind::Field { of, .. } => self.has_unit(context, of),
            ExprKind::Negative(inner) => self.has_unit(context, inner),
            ExprKind::Group { inner, unit } => unit.is_some() || self.has_unit(context, inner),
            ExprKind::Binary { op: BinaryOp::Power, left, .. } => self.has_unit(context, left),
            ExprKind::Binary { left, right, .. } => self.has_unit(context, left) || self.has_unit(context, right),
            ExprKind::Vector { x, y, unit } => unit.is_some() || self.has_unit(context, x) || self.has_unit(context, y),
            ExprKind::Directed { magnitude, .. } => self.has_unit(context, magnitude),
            ExprKind::Call { function: Function::Sin | Function::Cos | Function::Tan, .. } => false,
            ExprKind::Call { arguments, .. } => {
                self.tree(context).list(arguments).iter().any(|argument| self.has_unit(context, *argument))
            }
            ExprKind::ChainCall { function, .. } => matches!(function, ChainFunction::Length),
        }
    }

    /// The units of the file an expression stands in, for its bare numbers.
    pub(super) fn file_units(&self, context: Context) -> Option<&UnitSystem> {
        self.units.get(context.file.index())?.as_ref()
    }

    /// A quantity whose unit is unknown.
    pub(super) fn unit_missing(
        &self,
        context: Context,
        id: ExprId,
        wanted: Dimension,
        property: Option<Span>,
    ) -> Fault {
        let at = self.expr_origin(context, id);
        let text = self.text_of(context, at.span).to_owned();
        let units = self.file_units(context);
        let unit = match (units, context.bare) {
            (Some(units), Bare::Refused) if wanted == Dimension::LENGTH => units.usual_unit_of_movement(),
            (Some(units), _) => units.usual_unit(wanted),
            (None, _) => UnitSystem::metres_and_kilonewtons().usual_unit(wanted),
        };
        let property = property.map(|span| self.text_of(context, span).to_owned());
        FaultKind::UnitMissing { wanted, text, property, unit }.at(at)
    }

    /// A displacement: a vector, or a scalar, in metres. A bare literal takes
    /// the file's unit for displacements; anything else that is pure is refused.
    pub(super) fn displacement(&mut self, context: Context, id: ExprId, role: &'static str) -> Evaluated<Value> {
        let Some(expr) = self.tree(context).expr(id).copied() else { return Err(Stop::Poisoned) };
        let at = self.origin(context, expr.span);
        let part = |this: &mut Self, id: ExprId| match this.displacement(context, id, role)? {
            Value::Scalar(quantity) => Ok(quantity),
            Value::Vector(_) => Err(FaultKind::ScalarWanted { role }.at(this.expr_origin(context, id)).into()),
        };
        match expr.kind {
            ExprKind::Number { number, unit: None } => {
                let value = self.number(context, number, None)?;
                if value.is_bare_zero() {
                    return Ok(Value::Scalar(Quantity::new(value.value, Dimension::LENGTH)));
                }
                let text = || self.text_of(context, at.span).to_owned();
                let wanted = Dimension::LENGTH;
                let units = self.file_units(context);
                let units = units.ok_or_else(|| FaultKind::BareNumber { wanted, text: text() }.at(at))?;
                Ok(Value::Scalar(Quantity::new(value.value.times(&units.deflection.unit.factor), wanted)))
            }
            ExprKind::Negative(inner) => Ok(self.displacement(context, inner, role)?.negated()),
            ExprKind::Group { inner, unit: None } => self.displacement(context, inner, role),
            ExprKind::Vector { x, y, unit: None } => {
                let (x, y) = (part(self, x)?, part(self, y)?);
                Ok(Value::Vector(Vector::new(x.value, y.value, Dimension::LENGTH)))
            }
            ExprKind::Directed { magnitude, direction } => {
                let size = part(self, magnitude).map_err(|stop| match stop {
                    Stop::Fault(fault) if matches!(fault.kind, FaultKind::ScalarWanted { .. }) => {
                        FaultKind::DirectionTwice.at(self.origin(context, direction.span)).into()
                    }
                    other => other,
                })?;
                let zero = FaultKind::ZeroDirection.at(self.origin(context, direction.span));
                let line = self.direction(context, direction)?.direction().map_err(|_| zero)?;
                let moved = Value::Scalar(size).toward(&line);
                moved.map_err(|error| self.arithmetic(context, error, (id, id), at).into())
            }
            _ => {
                let context = Context { bare: Bare::Refused, ..context };
                match self.evaluate(context, id)? {
                    Value::Vector(vector) => {
                        let [x, y] = self.vector_of(context, id, vector, Dimension::LENGTH, role)?;
                        Ok(Value::Vector(Vector::new(x, y, Dimension::LENGTH)))
                    }
                    Value::Scalar(quantity) => {
                        let zero = quantity.is_bare_zero();
                        self.fit(context, id, (quantity.dimension, Dimension::LENGTH), zero, role)?;
                        Ok(Value::Scalar(Quantity::new(quantity.value, Dimension::LENGTH)))
                    }
                }
            }
        }
    }

    /// Bare numbers beside quantities with units: written for another file, or
    /// in a displacement, they may not take this file's.
    fn check_mixture(&mut self, context: Context, parts: &[(ExprId, &Value)]) -> Evaluated<()> {
        if !self.files_differ && context.bare == Bare::FileUnit {
            return Ok(());
        }
        let Some(wanted) = parts.iter().map(|(_, value)| value.dimension()).find(|dimension| !dimension.is_pure())
        else {
            return Ok(());
        };
        for (id, value) in parts {
            if !value.dimension().is_pure() || value.is_bare_zero() || !takes_file_unit(wanted) {
                continue;
            }
            if context.bare == Bare::Refused {
                return Err(self.unit_missing(context, *id, wanted, None).into());
            }
            self.check_foreign(context, *id)?;
        }
        Ok(())
    }

    /// A pure number that becomes a length or a force depends on no let of a file
    /// with other units.
    fn check_foreign(&mut self, context: Context, id: ExprId) -> Evaluated<()> {
        if !self.files_differ {
            return Ok(());
        }
        let Some(foreign) = self.foreign_let(context, id).map(|def| &self.defs[def]) else { return Ok(()) };
        let words = |context| self.file_units(context).map_or_else(String::new, UnitSystem::words);
        Err(FaultKind::PureLetElsewhere {
            name: self.names.get(foreign.name).to_owned(),
            declared: foreign.origin,
            here: words(context),
            there: words(foreign.context),
        }
        .at(self.expr_origin(context, id))
        .into())
    }

    /// A let of pure value, of a file with other units, that an expression of
    /// pure value depends on.
    fn foreign_let(&mut self, context: Context, id: ExprId) -> Option<DefId> {
        let own = self.file_units(context)?.clone();
        let tree = self.tree(context);
        let mut open = vec![id];
        while let Some(id) = open.pop() {
            let Some(expr) = tree.expr(id) else { continue };
            match expr.kind {
                ExprKind::Name(name) => {
                    let Some(def) = self.definition_of(context, name) else { continue };
                    let definition = &self.defs[def];
                    if definition.joint.is_some() {
                        continue;
                    }
                    let is_pure = self.definition_value(def).is_some_and(|value| value.dimension().is_pure());
                    let differs = self.file_units(definition.context).is_some_and(|other| !other.reads_like(&own));
                    if is_pure && differs {
                        return Some(def);
                    }
                    if is_pure && definition.foreign.is_some() {
                        return definition.foreign;
                    }
                }
                ExprKind::Field { of: inner, .. } | ExprKind::Negative(inner) | ExprKind::Group { inner, .. } => {
                    open.push(inner);
                }
                ExprKind::Directed { magnitude, .. } => open.push(magnitude),
                ExprKind::Binary { left, right, .. } => open.extend([right, left]),
                ExprKind::Vector { x, y, .. } => open.extend([y, x]),
                ExprKind::Call { arguments, .. } => open.extend(tree.list(arguments).iter().rev()),
                ExprKind::Number { .. } | ExprKind::Neighbours(_) | ExprKind::Pi | ExprKind::ChainCall { .. } => {}
            }
        }
        None
    }

    /// A place along a chain in metres: a length, or a share of the whole.
    pub fn place_along(&mut self, context: Context, id: ExprId, whole: &Number) -> Evaluated<Number> {
        if let Some(ExprKind::Number { number, unit: Some(unit) }) = self.tree(context).expr(id).map(|e| e.kind)
            && self.text_of(context, unit) == "%"
        {
            let at = self.origin(context, number);
            let share = Number::parse_decimal(self.text_of(context, number)).ok_or(FaultKind::NotFinite.at(at))?;
            let hundred = Number::from_integer(100);
            return Ok(share.over(&hundred).unwrap_or(share).times(whole));
        }
        self.quantity(context, id, Dimension::LENGTH, "a position along the member")
    }
}

/// A unit's text with the signs that are read as others put right.
pub(super) fn plain_unit(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return Cow::Borrowed(text);
    }
    let plain = |c: char| match c {
        'º' | '˚' => '°',
        space if space.is_whitespace() => ' ',
        other => other,
    };
    Cow::Owned(text.chars().map(plain).collect())
}

/// The mass that weighs something of this dimension.
fn mass_for(wanted: Dimension) -> Option<Dimension> {
    match wanted {
        Dimension::FORCE => Some(Dimension::MASS),
        Dimension::LINE_LOAD => Some(Dimension::MASS_PER_LENGTH),
        Dimension::WEIGHT => Some(Dimension::DENSITY),
        _ => None,
    }
}
