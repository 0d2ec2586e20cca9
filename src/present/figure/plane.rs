//! Places and directions on paper, millimetres, x to the right and y down.
//!
//! Must not know: what is drawn.

use crate::base::tolerances::{SAME, TO_THE_EYE};

/// A place on paper, or a way from one to another.
pub type Point = [f64; 2];

/// What has less extent is divided by this instead: it has none.
pub const NO_SIZE: f64 = 1e-300;

pub fn sub([ax, ay]: Point, [bx, by]: Point) -> Point {
    [ax - bx, ay - by]
}

/// `a + b t`
pub fn along([ax, ay]: Point, [bx, by]: Point, t: f64) -> Point {
    [ax + bx * t, ay + by * t]
}

/// The point at a share of the way from one to another.
pub fn between(a: Point, b: Point, share: f64) -> Point {
    along(a, sub(b, a), share)
}

pub fn size([x, y]: Point) -> f64 {
    x.hypot(y)
}

/// Of length 1; right where there is no direction.
pub fn unit(vector: Point) -> Point {
    let length = size(vector);
    if length > 0.0 && length.is_finite() { [vector[0] / length, vector[1] / length] } else { [1.0, 0.0] }
}

/// Turned a quarter counterclockwise as seen on paper (y down).
pub const fn left_of([x, y]: Point) -> Point {
    [y, -x]
}

/// The other way.
pub const fn back([x, y]: Point) -> Point {
    [-x, -y]
}

pub fn dot([ax, ay]: Point, [bx, by]: Point) -> f64 {
    ax * bx + ay * by
}

/// The direction at an angle from the right, radians, counterclockwise as seen.
pub fn at_angle(radians: f64) -> Point {
    [radians.cos(), -radians.sin()]
}

/// The mean of some points; the origin of none.
pub fn mean(points: impl ExactSizeIterator<Item = Point>) -> Point {
    #[allow(clippy::cast_precision_loss)]
    let count = points.len().max(1) as f64;
    points.fold([0.0; 2], |sum, point| along(sum, point, 1.0)).map(|part| part / count)
}

/// Degrees clockwise on paper by which a line along this direction is turned
/// so that it reads from below or from the right.
pub fn reading_turn([x, y]: Point) -> f64 {
    let mut turn = y.atan2(x).to_degrees();
    if turn > 90.0 - TO_THE_EYE {
        turn -= 180.0;
    } else if turn <= -90.0 - TO_THE_EYE {
        turn += 180.0;
    }
    if turn.abs() < SAME { 0.0 } else { turn }
}

/// Twice the area of a triangle: its sign tells on which side of a line from
/// the first point to the second the third lies.
pub fn side([px, py]: Point, [qx, qy]: Point, [rx, ry]: Point) -> f64 {
    (qx - px) * (ry - py) - (qy - py) * (rx - px)
}

/// Whether two lines cross, each within its ends.
pub fn segments_cross([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Where two lines cross, each within its ends.
pub fn crossing([a, b]: [Point; 2], other: [Point; 2]) -> Option<Point> {
    let [c, d] = other;
    let cross = |[px, py]: Point, [qx, qy]: Point| px * qy - py * qx;
    let (u, v) = (sub(b, a), sub(d, c));
    segments_cross([a, b], other).then(|| along(a, u, cross(sub(c, a), v) / cross(u, v)))
}

/// From a point to a line between two points.
pub fn distance(point: Point, [a, b]: [Point; 2]) -> f64 {
    let axis = sub(b, a);
    let square = dot(axis, axis);
    let t = if square > 0.0 { (dot(sub(point, a), axis) / square).clamp(0.0, 1.0) } else { 0.0 };
    size(sub(sub(point, a), axis.map(|part| part * t)))
}
