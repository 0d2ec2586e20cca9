//! The three equations for a structure as a whole, where three reaction
//! components are found from them alone.
//!
//! Must not know: what is inside the structure.

use crate::base::{JointId, SupportId};
use crate::structure::{Structure, SupportKind};

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
        let (centre, rest) = match structure.supports.as_slice() {
            [only] if matches!(only.kind, SupportKind::Fixed) => (0, None),
            [first, second] => match (&first.kind, &second.kind) {
                (SupportKind::Pin, SupportKind::Roller(_)) => (0, Some(1)),
                (SupportKind::Roller(_), SupportKind::Pin) => (1, Some(0)),
                _ => return None,
            },
            _ => return None,
        };
        let joint = structure.supports.get(centre)?.joint;
        let [ox, oy] = place(structure, joint)?;
        let held = SupportId::new(centre);
        let Some(index) = rest else {
            return Some(External { centre: joint, per_couple: vec![(held, [0.0, 0.0, -1.0])] });
        };
        let support = structure.supports.get(index)?;
        let SupportKind::Roller(roller) = &support.kind else { return None };
        let [nx, ny] = roller.normal.each_ref().map(|part| part.to_f64());
        let (nx, ny) = (nx / nx.hypot(ny), ny / nx.hypot(ny));
        let [x, y] = place(structure, support.joint)?;
        // The roller balances the moment, and the pin the roller's force.
        let push = -1.0 / ((x - ox) * ny - (y - oy) * nx);
        if !push.is_finite() {
            return None;
        }
        let per_couple =
            vec![(held, [-nx * push, -ny * push, 0.0]), (SupportId::new(index), [nx * push, ny * push, 0.0])];
        Some(External { centre: joint, per_couple })
    }
}

fn place(structure: &Structure, joint: JointId) -> Option<[f64; 2]> {
    structure.joint(joint).map(|joint| [joint.x.to_f64(), joint.y.to_f64()])
}
