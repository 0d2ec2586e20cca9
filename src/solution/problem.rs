//! What a solution is worked out from: the structure, what is zero in it but
//! for rounding, and directions with their slopes.
//!
//! Must not know: unknowns, in which order anything is solved.

use crate::base::tolerances::{ROUNDED, SAME};
use crate::base::{IdVec, JointId, MemberId};
use crate::quantity::Number;
use crate::structure::{Member, Structure};

/// Slopes whose two whole numbers stay below this are ratios.
const LARGEST_SLOPE: i64 = 100;

/// A structure under one case or combination.
#[derive(Clone, Copy)]
pub struct Problem<'a> {
    pub structure: &'a Structure,
    /// Newtons: what is not larger is rounding.
    noise: f64,
    /// Of the structure, metres.
    pub size: f64,
}

impl<'a> Problem<'a> {
    /// `largest` is the largest force in play, newtons.
    pub fn new(structure: &'a Structure, largest: f64) -> Problem<'a> {
        Problem { structure, noise: crate::statics::ZERO_SHARE * largest, size: structure.size() }
    }

    /// Zero where a force is rounding noise.
    pub fn quiet(&self, newtons: f64) -> f64 {
        if newtons.abs() <= self.noise { 0.0 } else { newtons }
    }

    /// Zero where a moment is rounding noise.
    pub fn quiet_moment(&self, moment: f64) -> f64 {
        if moment.abs() <= self.noise * self.size { 0.0 } else { moment }
    }

    /// Zero where a coordinate differs from another by rounding only.
    pub fn quiet_length(&self, metres: f64) -> f64 {
        if metres.abs() <= SAME * self.size { 0.0 } else { metres }
    }

    /// Whether two points are one but for rounding.
    pub fn is_one_place(&self, [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> bool {
        self.quiet_length(ax - bx) == 0.0 && self.quiet_length(ay - by) == 0.0
    }

    /// A joint's place, metres.
    pub fn at(&self, joint: JointId) -> [f64; 2] {
        self.structure.point(joint)
    }

    /// All joints' places.
    pub fn points(&self) -> IdVec<JointId, [f64; 2]> {
        self.structure.joints.ids().map(|joint| self.at(joint)).collect()
    }

    /// The members at a joint with the joints they go to.
    pub fn bars_at(&self, joint: JointId) -> Vec<(MemberId, JointId)> {
        let far = |(id, member): (MemberId, &Member)| match joint {
            joint if member.start == joint => Some((id, member.end)),
            joint if member.end == joint => Some((id, member.start)),
            _ => None,
        };
        self.structure.members.entries().filter_map(far).collect()
    }

    /// Whether a joint is at the other end of a member at the last one.
    pub fn is_near(&self, last: Option<JointId>, joint: JointId) -> bool {
        last.is_some_and(|last| self.bars_at(last).iter().any(|(_, far)| *far == joint))
    }

    /// The direction from one joint to another.
    pub fn between(&self, from: JointId, to: JointId) -> Direction {
        let [from, to] = [from, to].map(|joint| &self.structure.joints[joint]);
        Direction::of([&to.x.minus(&from.x), &to.y.minus(&from.y)])
    }
}

/// A direction, of length 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    pub unit: [f64; 2],
    pub slope: Slope,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slope {
    /// Along x or y.
    Axis,
    /// So many across to so many up, both positive and without common factors.
    Whole(i64, i64),
    Any,
}

impl Direction {
    pub const X: Direction = Direction::axis([1.0, 0.0]);
    pub const Y: Direction = Direction::axis([0.0, 1.0]);

    pub const fn axis(unit: [f64; 2]) -> Direction {
        Direction { unit, slope: Slope::Axis }
    }

    /// The direction of a vector of any length.
    pub fn of([x, y]: [&Number; 2]) -> Direction {
        let (dx, dy) = (x.to_f64(), y.to_f64());
        let length = dx.hypot(dy);
        let small = x.abs().over(&y.abs()).and_then(|slope| slope.as_small_ratio());
        let whole = small.filter(|(across, up)| (1..LARGEST_SLOPE).contains(across) && *up < LARGEST_SLOPE);
        Direction::sloping([dx / length, dy / length], whole)
    }

    /// The same from floating components.
    pub fn of_floats([dx, dy]: [f64; 2]) -> Direction {
        /// A multiple of the slope this near a whole number, as a share of it, is one.
        const WHOLE: f64 = 1e-11;
        let length = dx.hypot(dy);
        let unit = [dx / length, dy / length].map(|part| if part.abs() < ROUNDED { 0.0 } else { part });
        let slope = (1..=12_i64).find_map(|up| {
            #[allow(clippy::cast_precision_loss)]
            let across = (dx / dy).abs() * up as f64;
            let near = across.round();
            let is_whole = (1.0..100.0).contains(&near) && (across - near).abs() < WHOLE * near;
            #[allow(clippy::cast_possible_truncation)]
            is_whole.then_some((near as i64, up))
        });
        Direction::sloping(unit, slope)
    }

    fn sloping([x, y]: [f64; 2], whole: Option<(i64, i64)>) -> Direction {
        if x == 0.0 || y == 0.0 {
            return Direction::axis([x, y].map(|part| part.signum() * f64::from(part != 0.0)));
        }
        Direction { unit: [x, y], slope: whole.map_or(Slope::Any, |(across, up)| Slope::Whole(across, up)) }
    }

    /// Turned a quarter counterclockwise.
    #[must_use]
    pub fn left(self) -> Direction {
        let [x, y] = self.unit;
        let slope = match self.slope {
            Slope::Whole(across, up) => Slope::Whole(up, across),
            other => other,
        };
        Direction { unit: [-y, x], slope }
    }
}

/// Of two directions the sine of the angle between them.
pub fn cross([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    ax * by - ay * bx
}

/// The signed arm of a force about a point, counterclockwise positive.
pub fn arm([cx, cy]: [f64; 2], [x, y]: [f64; 2], [ux, uy]: [f64; 2]) -> f64 {
    (x - cx) * uy - (y - cy) * ux
}

/// The foot of the perpendicular from a point on the line of a force.
pub fn foot([cx, cy]: [f64; 2], [x, y]: [f64; 2], [ux, uy]: [f64; 2]) -> [f64; 2] {
    let along = (cx - x) * ux + (cy - y) * uy;
    [x + along * ux, y + along * uy]
}

/// Where two lines meet, each by a point and a direction, unless they are parallel.
pub fn meeting((a, u): ([f64; 2], [f64; 2]), (b, v): ([f64; 2], [f64; 2])) -> Option<[f64; 2]> {
    let sine = cross(u, v);
    if sine.abs() < SAME {
        return None;
    }
    let along = ((b[0] - a[0]) * v[1] - (b[1] - a[1]) * v[0]) / sine;
    Some([a[0] + along * u[0], a[1] + along * u[1]])
}
