//! Directions, and which way an expression points, also where its size is zero:
//! `0 kN/m down` is a zero vector as a value, and still says down.
//!
//! Must not know: what the direction is wanted for.

use crate::quantity::{Dimension, Heading, Quantity, Value, Vector};
use crate::structure::fault::FaultKind;
use crate::syntax::tree::{BinaryOp, Cardinal, ChainFunction, Direction, DirectionKind, ExprId, ExprKind, NameRef};

use super::evaluate::{Evaluated, Size};
use super::{Context, Lowering};

impl Lowering<'_> {
    /// A direction as a vector of any length, exact where it was written exactly.
    pub fn direction(&mut self, context: Context, direction: Direction) -> Evaluated<Vector> {
        let at = self.origin(context, direction.span);
        match direction.kind {
            DirectionKind::Word(word) => Ok(heading(word).vector()),
            DirectionKind::FromHorizontal { angle, vertical, horizontal } => {
                self.turned(context, angle, horizontal, vertical)
            }
            DirectionKind::FromVertical { angle, horizontal, vertical } => {
                self.turned(context, angle, vertical, horizontal)
            }
            DirectionKind::Value(id) => match self.pointer(context, id)? {
                Value::Vector(vector) if vector.x.is_zero() && vector.y.is_zero() => {
                    Err(FaultKind::ZeroDirection.at(at).into())
                }
                Value::Vector(vector) => Ok(vector),
                Value::Scalar(angle) => {
                    let angle = self.angle(context, id, angle)?;
                    Ok(Vector::at_angle(&angle))
                }
            },
            DirectionKind::Toward(name) => {
                let Some(from) = context.loaded_joint.and_then(|def| self.definition_value(def)) else {
                    return Err(FaultKind::TowardWithoutJoint.at(at).into());
                };
                match (from, self.name_value(context, name)?) {
                    (Value::Vector(from), Value::Vector(to)) => {
                        let arm = Vector::new(to.x.minus(&from.x), to.y.minus(&from.y), to.dimension);
                        if arm.x.is_zero() && arm.y.is_zero() {
                            return Err(FaultKind::ZeroDirection.at(at).into());
                        }
                        Ok(arm)
                    }
                    _ => Err(FaultKind::VectorWanted { role: "what `toward` points to" }.at(at).into()),
                }
            }
        }
    }

    /// A value wanted for its direction only: `along` and `across` give the line
    /// between the joints, which is exact where a unit vector along it is not.
    fn pointer(&mut self, context: Context, id: ExprId) -> Evaluated<Value> {
        match self.tree(context).expr(id).map(|expr| expr.kind) {
            Some(ExprKind::ChainCall {
                function: function @ (ChainFunction::Along | ChainFunction::Across),
                chain,
            }) => {
                let at = self.expr_origin(context, id);
                self.chain_call(context, function, chain.links, at, Size::Own)
            }
            _ => self.evaluate(context, id),
        }
    }

    /// `ANGLE` from one of the four directions towards another.
    fn turned(&mut self, context: Context, id: ExprId, from: Cardinal, towards: Cardinal) -> Evaluated<Vector> {
        let angle = self.scalar(context, id, "an angle")?;
        let angle = self.angle(context, id, angle)?;
        let turned = heading(from).turned(heading(towards), &Quantity::new(angle, Dimension::ANGLE));
        turned.map_err(|error| self.arithmetic(context, error, (id, id), self.expr_origin(context, id)).into())
    }

    /// The unit vector along a direction as it is written, whatever the sign of
    /// the number before it; else that along the expression's value, or, of a
    /// zero vector, the one behind it. `None` where there is none.
    pub(super) fn heading(&mut self, context: Context, id: ExprId) -> Evaluated<Option<Vector>> {
        let (mut context, mut id, mut is_turned) = (context, id, false);
        // A let may stand for a let, to any depth; nothing here calls itself.
        loop {
            let Value::Vector(vector) = self.evaluate_now(context, id)? else { return Ok(None) };
            let turned = |unit: Vector| if is_turned { unit.negated() } else { unit };
            let Some(expr) = self.tree(context).expr(id).copied() else { return Ok(None) };
            if let ExprKind::Directed { direction, .. } = expr.kind {
                let along = self.now(|this| this.direction(context, direction))?;
                return Ok(along.direction().ok().map(turned));
            }
            if let Ok(unit) = vector.direction() {
                return Ok(Some(turned(unit)));
            }
            match expr.kind {
                ExprKind::Group { inner, .. } => id = inner,
                ExprKind::Negative(inner) => {
                    id = inner;
                    is_turned = !is_turned;
                }
                ExprKind::Binary { op: BinaryOp::Multiply | BinaryOp::Divide, left, right } => {
                    let (vector, factor) = match self.evaluate_now(context, left)? {
                        Value::Vector(_) => (left, right),
                        Value::Scalar(_) => (right, left),
                    };
                    if let Value::Scalar(factor) = self.evaluate_now(context, factor)? {
                        is_turned ^= factor.value.is_negative();
                    }
                    id = vector;
                }
                ExprKind::Name(name) => match self.let_behind(context, name) {
                    Some(behind) => (context, id) = behind,
                    None => return Ok(None),
                },
                _ => return Ok(None),
            }
        }
    }

    /// The expression a name stands for, where it is a let.
    fn let_behind(&mut self, context: Context, name: NameRef) -> Option<(Context, ExprId)> {
        let def = self.definition_of(context, name)?;
        let definition = &self.defs[def];
        definition.joint.is_none().then_some((definition.context, definition.expr))
    }
}

const fn heading(word: Cardinal) -> Heading {
    match word {
        Cardinal::Right => Heading::Right,
        Cardinal::Up => Heading::Up,
        Cardinal::Left => Heading::Left,
        Cardinal::Down => Heading::Down,
    }
}
