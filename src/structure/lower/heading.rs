//! Which way an expression points, also where its size is zero: `0 kN/m down`
//! is a zero vector as a value, and still says down.
//!
//! Must not know: what the direction is wanted for.

use crate::quantity::{Value, Vector};
use crate::syntax::tree::{BinaryOp, ExprId, ExprKind, NameRef};

use super::evaluate::Evaluated;
use super::{Context, Lowering};

impl Lowering<'_> {
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
        let definition = self.definition_of(context, name).and_then(|def| self.defs.get(def.index()))?;
        definition.joint.is_none().then_some((definition.context, definition.expr))
    }
}
