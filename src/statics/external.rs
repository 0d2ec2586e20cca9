//! The three equations for a structure as a whole, where three reaction
//! components are found from them alone.
//!
//! Must not know: what is inside the structure.

use crate::base::{JointId, SupportId};
use crate::structure::{Component, Structure};

/// Reactions by moments: about the one support where two of the three unknown
/// components meet.
#[derive(Clone, Debug)]
pub struct External {
    /// The joint about which moments are taken.
    pub centre: JointId,
    /// What a counterclockwise couple of one newton-metre adds to each
    /// reaction: Fx, Fy (newtons), M (newton-metres).
    pub per_couple: Vec<(SupportId, [f64; 3])>,
}

impl External {
    /// `None` unless there are three components, two of them at one joint.
    pub fn of(structure: &Structure) -> Option<External> {
        let supports = &structure.supports;
        let is_roller = |id: SupportId| supports[id].roller().is_some();
        let (held, roller) = match supports.ids().collect::<Vec<_>>().as_slice() {
            [only] if supports[*only].is_fixed() => (*only, None),
            [first, second] if supports[*first].is_pin() && is_roller(*second) => (*first, Some(*second)),
            [first, second] if supports[*second].is_pin() && is_roller(*first) => (*second, Some(*first)),
            _ => return None,
        };
        let centre = supports[held].joint;
        let Some(roller) = roller else {
            return Some(External { centre, per_couple: vec![(held, [0.0, 0.0, -1.0])] });
        };
        let [nx, ny] = supports[roller].unit(Component::Normal);
        let ([ox, oy], [x, y]) = (structure.point(centre), structure.point(supports[roller].joint));
        // The roller balances the moment, and the pin the roller's force.
        let push = -1.0 / ((x - ox) * ny - (y - oy) * nx);
        let per_couple = vec![(held, [-nx * push, -ny * push, 0.0]), (roller, [nx * push, ny * push, 0.0])];
        push.is_finite().then_some(External { centre, per_couple })
    }
}
