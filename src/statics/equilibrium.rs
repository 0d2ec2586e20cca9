//! The one matrix: `B f + p = 0`.
//!
//! Rows are the force balances of the joints, two a joint (x, then y).
//! Columns are the unknowns: each bar's axial force (tension positive), then
//! each reaction component. Column entries are what one unit of the unknown
//! does to the joint.
//!
//! The exact form of a bar's column is scaled by its length, so that its
//! entries are the coordinate differences and stay rational; a roller's by the
//! length its direction was written with.
//!
//! Must not know: loads, verdicts.

use crate::base::{JointId, MemberId, SupportId};
use crate::numeric::{Blocks, ExactMatrix, Field, NumericError, Sparse, SparseBuilder};
use crate::quantity::Number;
use crate::structure::{Structure, SupportKind};

/// What a column stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    Axial(MemberId),
    Reaction(SupportId, Component),
}

/// The direction of a reaction component.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Component {
    X,
    Y,
    /// Along a roller's line.
    Normal,
}

/// A line that resists: what a bar between two joints, or a support at one,
/// would add to the matrix.
#[derive(Clone, Debug)]
pub enum Restraint {
    Bar(JointId, JointId),
    Line(JointId, [Number; 2]),
}

/// The matrix in a form that gives both its exact and its floating entries.
#[derive(Debug)]
pub struct Equilibrium {
    pub unknowns: Vec<Unknown>,
    columns: Vec<Restraint>,
    points: Points,
    joints: usize,
}

/// Joint positions, as whole numbers of a common fraction of a metre where
/// there is one (which makes exact differences cheap), else as they are.
#[derive(Debug)]
pub enum Points {
    /// `unit` is the fraction's denominator.
    Whole {
        at: Vec<[i64; 2]>,
        unit: i64,
    },
    Any(Vec<[Number; 2]>),
}

/// Common denominators and coordinates stay below this, so that differences
/// and their doubles are exact enough not to matter.
const LARGEST_WHOLE: i128 = 1 << 52;

impl Points {
    pub fn of(structure: &Structure) -> Points {
        Points::whole(structure).unwrap_or_else(|| {
            Points::Any(structure.joints.iter().map(|joint| [joint.x.clone(), joint.y.clone()]).collect())
        })
    }

    fn whole(structure: &Structure) -> Option<Points> {
        let mut unit: i128 = 1;
        for joint in &structure.joints {
            for part in [&joint.x, &joint.y] {
                let (_, denominator) = part.as_small_ratio()?;
                if unit % i128::from(denominator) != 0 {
                    unit = num_integer::lcm(unit, i128::from(denominator));
                    if unit > LARGEST_WHOLE {
                        return None;
                    }
                }
            }
        }
        let scaled = |part: &Number| {
            let (numerator, denominator) = part.as_small_ratio()?;
            let value = i128::from(numerator) * (unit / i128::from(denominator));
            (value.abs() < LARGEST_WHOLE).then(|| i64::try_from(value).ok()).flatten()
        };
        let at: Option<Vec<[i64; 2]>> =
            structure.joints.iter().map(|joint| Some([scaled(&joint.x)?, scaled(&joint.y)?])).collect();
        Some(Points::Whole { at: at?, unit: i64::try_from(unit).ok()? })
    }

    /// A joint's position, metres.
    #[allow(clippy::cast_precision_loss)]
    pub fn at(&self, joint: JointId) -> [f64; 2] {
        match self {
            Points::Whole { at, unit } => at.get(joint.index()).map_or([0.0; 2], |[x, y]| {
                let unit = *unit as f64;
                [*x as f64 / unit, *y as f64 / unit]
            }),
            Points::Any(at) => at.get(joint.index()).map_or([0.0; 2], |[x, y]| [x.to_f64(), y.to_f64()]),
        }
    }

    /// The vector from one joint to another, metres.
    #[allow(clippy::cast_precision_loss)]
    pub fn difference(&self, a: JointId, b: JointId) -> [f64; 2] {
        match self {
            Points::Whole { at, unit } => match (at.get(a.index()), at.get(b.index())) {
                (Some([ax, ay]), Some([bx, by])) => {
                    let unit = *unit as f64;
                    [(bx - ax) as f64 / unit, (by - ay) as f64 / unit]
                }
                _ => [0.0; 2],
            },
            Points::Any(at) => match (at.get(a.index()), at.get(b.index())) {
                (Some([ax, ay]), Some([bx, by])) => [bx.minus(ax).to_f64(), by.minus(ay).to_f64()],
                _ => [0.0; 2],
            },
        }
    }

    /// The same difference over a field, times [`Points::scale`].
    fn exact_difference<F: Field>(&self, a: JointId, b: JointId) -> Option<[F; 2]> {
        match self {
            Points::Whole { at, .. } => {
                let ([ax, ay], [bx, by]) = (at.get(a.index())?, at.get(b.index())?);
                Some([F::from_i64(bx - ax), F::from_i64(by - ay)])
            }
            Points::Any(at) => {
                let ([ax, ay], [bx, by]) = (at.get(a.index())?, at.get(b.index())?);
                Some([in_field::<F>(bx)?.sub(in_field(ax)?), in_field::<F>(by)?.sub(in_field(ay)?)])
            }
        }
    }

    /// Whether two joints are at the very same place.
    pub fn coincide(&self, a: JointId, b: JointId) -> bool {
        match self {
            Points::Whole { at, .. } => at.get(a.index()) == at.get(b.index()),
            Points::Any(at) => match (at.get(a.index()), at.get(b.index())) {
                (Some([ax, ay]), Some([bx, by])) => ax.compare(bx).is_eq() && ay.compare(by).is_eq(),
                _ => false,
            },
        }
    }

    /// Twice the area of the triangle of three joints, as a sign: positive
    /// when they turn counterclockwise, zero when they are in one line. Exact.
    pub fn turn(&self, a: JointId, b: JointId, c: JointId) -> std::cmp::Ordering {
        match self {
            Points::Whole { at, .. } => match (at.get(a.index()), at.get(b.index()), at.get(c.index())) {
                (Some([ax, ay]), Some([bx, by]), Some([cx, cy])) => {
                    let cross = |x: i64, y: i64| i128::from(x) * i128::from(y);
                    (cross(bx - ax, cy - ay) - cross(by - ay, cx - ax)).cmp(&0)
                }
                _ => std::cmp::Ordering::Equal,
            },
            Points::Any(at) => match (at.get(a.index()), at.get(b.index()), at.get(c.index())) {
                (Some([ax, ay]), Some([bx, by]), Some([cx, cy])) => {
                    let rational = |n: &Number| n.to_rational();
                    let (ux, uy) = (rational(bx) - rational(ax), rational(by) - rational(ay));
                    let (vx, vy) = (rational(cx) - rational(ax), rational(cy) - rational(ay));
                    (ux * vy).cmp(&(uy * vx))
                }
                _ => std::cmp::Ordering::Equal,
            },
        }
    }
}

/// The element a number stands for; a float is the rational it is in binary.
pub fn in_field<F: Field>(number: &Number) -> Option<F> {
    match (number.as_small_ratio(), number) {
        (Some((numerator, 1)), _) => Some(F::from_i64(numerator)),
        (Some((numerator, denominator)), _) => F::from_ratio(numerator.into(), denominator.into()),
        (None, Number::Float(value)) => F::from_f64(*value),
        (None, _) => F::from_big_rational(&number.to_rational()),
    }
}

impl Equilibrium {
    /// The matrix of a structure of bars on pins and rollers.
    pub fn of(structure: &Structure) -> Equilibrium {
        let mut equilibrium = Equilibrium {
            unknowns: Vec::with_capacity(structure.members.len() + structure.supports.len() * 2),
            columns: Vec::with_capacity(structure.members.len() + structure.supports.len() * 2),
            points: Points::of(structure),
            joints: structure.joints.len(),
        };
        for (index, member) in structure.members.iter().enumerate() {
            equilibrium.unknowns.push(Unknown::Axial(MemberId::new(index)));
            equilibrium.columns.push(Restraint::Bar(member.start, member.end));
        }
        for (index, support) in structure.supports.iter().enumerate() {
            let id = SupportId::new(index);
            let mut give = |component, direction| {
                equilibrium.unknowns.push(Unknown::Reaction(id, component));
                equilibrium.columns.push(Restraint::Line(support.joint, direction));
            };
            let axis = |x, y| [Number::from_integer(x), Number::from_integer(y)];
            match &support.kind {
                SupportKind::Roller(roller) => give(Component::Normal, roller.normal.clone()),
                SupportKind::Guide { normal } => give(Component::Normal, normal.clone()),
                SupportKind::Pin | SupportKind::Fixed => {
                    give(Component::X, axis(1, 0));
                    give(Component::Y, axis(0, 1));
                }
                SupportKind::Spring { x, y, .. } => {
                    if x.is_some() {
                        give(Component::X, axis(1, 0));
                    }
                    if y.is_some() {
                        give(Component::Y, axis(0, 1));
                    }
                }
            }
        }
        equilibrium
    }

    /// The same matrix with more restraints, for trying cures.
    #[must_use]
    pub fn with(&self, structure: &Structure, more: &[Restraint]) -> Equilibrium {
        let mut columns = self.columns.clone();
        columns.extend_from_slice(more);
        Equilibrium { unknowns: self.unknowns.clone(), columns, points: Points::of(structure), joints: self.joints }
    }

    /// A joint's position, metres.
    pub fn point(&self, joint: JointId) -> [f64; 2] {
        self.points.at(joint)
    }

    pub fn points(&self) -> &Points {
        &self.points
    }

    /// Two a joint.
    pub fn rows(&self) -> usize {
        self.joints * 2
    }

    pub fn columns(&self) -> &[Restraint] {
        &self.columns
    }

    /// The joint a row belongs to.
    pub const fn joint_of_row(row: u32) -> JointId {
        JointId(row / 2)
    }

    /// One block a joint.
    pub fn blocks(&self) -> Blocks {
        Blocks::uniform(self.rows(), 2)
    }

    /// The floating matrix: unit vectors along members and reactions.
    pub fn floating(&self) -> Result<Sparse<f64>, NumericError> {
        let mut builder = SparseBuilder::new(self.rows()).with_capacity(self.columns.len(), self.columns.len() * 4);
        for column in &self.columns {
            match column {
                Restraint::Bar(a, b) => {
                    let [dx, dy] = self.points.difference(*a, *b);
                    let length = dx.hypot(dy);
                    put(&mut builder, *a, [dx / length, dy / length]);
                    put(&mut builder, *b, [-dx / length, -dy / length]);
                }
                Restraint::Line(joint, [x, y]) => {
                    let (x, y) = (x.to_f64(), y.to_f64());
                    let length = x.hypot(y);
                    put(&mut builder, *joint, [x / length, y / length]);
                }
            }
            builder.end_column();
        }
        builder.finish()
    }
}

fn put<T: crate::numeric::Scalar>(builder: &mut SparseBuilder<T>, joint: JointId, [x, y]: [T; 2]) {
    builder.entry(joint.0 * 2, x);
    builder.entry(joint.0 * 2 + 1, y);
}

impl ExactMatrix for Equilibrium {
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError> {
        let mut builder = SparseBuilder::new(self.rows()).with_capacity(self.columns.len(), self.columns.len() * 4);
        for column in &self.columns {
            match column {
                Restraint::Bar(a, b) => {
                    let [dx, dy] = self.points.exact_difference::<F>(*a, *b).ok_or(NumericError::Unlucky)?;
                    put(&mut builder, *a, [dx, dy]);
                    put(&mut builder, *b, [dx.neg(), dy.neg()]);
                }
                Restraint::Line(joint, [x, y]) => {
                    let x = in_field::<F>(x).ok_or(NumericError::Unlucky)?;
                    let y = in_field::<F>(y).ok_or(NumericError::Unlucky)?;
                    put(&mut builder, *joint, [x, y]);
                }
            }
            builder.end_column();
        }
        builder.finish()
    }
}

/// The same layout with its joints and reaction lines anywhere at all: its
/// rank is the most any placing of the joints could give.
pub struct Generic<'a>(pub &'a Equilibrium);

impl ExactMatrix for Generic<'_> {
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError> {
        let mut rng = crate::numeric::Rng::new(GENERIC_SEED);
        let at: Vec<[F; 2]> = (0..self.0.joints).map(|_| [F::random(&mut rng), F::random(&mut rng)]).collect();
        let mut builder = SparseBuilder::new(self.0.rows());
        for column in &self.0.columns {
            match column {
                Restraint::Bar(a, b) => {
                    if let (Some([ax, ay]), Some([bx, by])) = (at.get(a.index()), at.get(b.index())) {
                        let (dx, dy) = (bx.sub(*ax), by.sub(*ay));
                        put(&mut builder, *a, [dx, dy]);
                        put(&mut builder, *b, [dx.neg(), dy.neg()]);
                    }
                }
                Restraint::Line(joint, _) => put(&mut builder, *joint, [F::random(&mut rng), F::random(&mut rng)]),
            }
            builder.end_column();
        }
        builder.finish()
    }
}

const GENERIC_SEED: u64 = 0x9e4e_71c5;
