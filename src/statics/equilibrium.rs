//! The one matrix: `B f + p = 0`.
//!
//! Rows are the balances of the joints: force along x, force along y and,
//! where a beam end or a support holds rotation, the moment. Columns are the
//! unknowns: each member's axial force (tension positive), a beam's moments at
//! the ends that are not freed (positive with tension on the right-hand side
//! looking along it), then the reaction components. A column's entries are
//! what one unit of its unknown does to the joints.
//!
//! The exact form scales columns so that entries stay rational: an axial
//! column by the length, an end moment's by the length squared, a roller's by
//! the length its direction was written with; and all moment rows alike.
//!
//! Must not know: loads, verdicts.

use crate::base::{IdVec, JointId, MemberId, SupportId};
use crate::numeric::{Blocks, ExactMatrix, Field, NumericError, Scalar, Sparse, SparseBuilder};
use crate::quantity::Number;
pub use crate::structure::Component;
use crate::structure::{Member, Structure, Support, unit};
use crate::syntax::tree::MemberKind;

/// What a column stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    Axial(MemberId),
    EndMoment(MemberId, End),
    Reaction(SupportId, Component),
}

/// The first-named end of a member, or the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    Start,
    Finish,
}

impl End {
    pub const BOTH: [End; 2] = [End::Start, End::Finish];

    /// The joint at this end of a member.
    pub const fn joint(self, member: &Member) -> JointId {
        match self {
            End::Start => member.start,
            End::Finish => member.end,
        }
    }
}

/// What resists: what a member between two joints, or a support at one, adds
/// to the matrix.
#[derive(Clone, Debug)]
pub enum Restraint {
    Bar(JointId, JointId),
    /// The moment at one end of a beam from the first joint to the second.
    Moment(JointId, JointId, End),
    /// Boxed, for there are few of them among very many bars.
    Line(JointId, Box<[Number; 2]>),
    Turn(JointId),
}

/// What a row balances.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Balance {
    X,
    Y,
    Moment,
}

/// Which rows belong to which joint.
#[derive(Clone, Debug)]
pub struct Rows {
    /// Where each joint's rows begin, with the end as a last item.
    starts: IdVec<JointId, u32>,
}

impl Rows {
    /// Three rows for a joint where rotation is held, two elsewhere.
    fn of(holds_rotation: &IdVec<JointId, bool>) -> Rows {
        let mut starts = Vec::with_capacity(holds_rotation.len() + 1);
        let mut next = 0;
        for holds in holds_rotation {
            starts.push(next);
            next += if *holds { 3 } else { 2 };
        }
        starts.push(next);
        Rows { starts: starts.into() }
    }

    pub fn len(&self) -> usize {
        self.starts.last().map_or(0, |end| *end as usize)
    }

    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    pub fn joints(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// The row of a joint's force along x; along y is the next.
    pub fn force(&self, joint: JointId) -> u32 {
        self.starts[joint]
    }

    /// The row of a joint's moment, where rotation is held.
    pub fn moment(&self, joint: JointId) -> Option<u32> {
        let (start, end) = (self.starts[joint], self.starts[JointId(joint.0 + 1)]);
        (end - start == 3).then_some(start + 2)
    }

    /// What a vector of all rows holds of one joint: along x and y, and its
    /// moment where rotation is held.
    pub fn of_joint(&self, joint: JointId, values: &[f64]) -> ([f64; 2], Option<f64>) {
        let at = |row: u32| values[row as usize];
        let row = self.force(joint);
        ([at(row), at(row + 1)], self.moment(joint).map(at))
    }

    /// The joint a row belongs to, and what it balances.
    pub fn joint_of(&self, row: u32) -> (JointId, Balance) {
        // Without any rotation every joint has two rows.
        if self.len() == 2 * self.joints() {
            return (JointId(row / 2), if row.is_multiple_of(2) { Balance::X } else { Balance::Y });
        }
        let joint = self.starts.partition_point(|start| *start <= row).saturating_sub(1);
        let joint = JointId::new(joint);
        let balance = match row - self.starts[joint] {
            0 => Balance::X,
            1 => Balance::Y,
            _ => Balance::Moment,
        };
        (joint, balance)
    }
}

/// The matrix in a form that gives both its exact and its floating entries.
#[derive(Debug)]
pub struct Equilibrium {
    pub unknowns: Vec<Unknown>,
    columns: Vec<Restraint>,
    points: Points,
    pub rows: Rows,
}

/// Joint positions, as whole numbers of a common fraction of a metre where
/// there is one (which makes exact differences cheap), else as they are.
#[derive(Clone, Debug)]
pub enum Points {
    /// `unit` is the fraction's denominator.
    Whole {
        at: IdVec<JointId, [i64; 2]>,
        unit: i64,
    },
    Any(IdVec<JointId, [Number; 2]>),
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
        let at: Option<IdVec<JointId, [i64; 2]>> =
            structure.joints.iter().map(|joint| Some([scaled(&joint.x)?, scaled(&joint.y)?])).collect();
        Some(Points::Whole { at: at?, unit: i64::try_from(unit).ok()? })
    }

    /// A joint's position, metres.
    #[allow(clippy::cast_precision_loss)]
    pub fn at(&self, joint: JointId) -> [f64; 2] {
        match self {
            Points::Whole { at, unit } => at[joint].map(|part| part as f64 / *unit as f64),
            Points::Any(at) => at[joint].each_ref().map(Number::to_f64),
        }
    }

    /// The vector from one joint to another, metres.
    #[allow(clippy::cast_precision_loss)]
    pub fn difference(&self, a: JointId, b: JointId) -> [f64; 2] {
        match self {
            Points::Whole { at, unit } => {
                let ([ax, ay], [bx, by]) = (at[a], at[b]);
                let unit = *unit as f64;
                [(bx - ax) as f64 / unit, (by - ay) as f64 / unit]
            }
            Points::Any(at) => {
                let ([ax, ay], [bx, by]) = (&at[a], &at[b]);
                [bx.minus(ax).to_f64(), by.minus(ay).to_f64()]
            }
        }
    }

    /// The unit vector from one joint to another.
    #[allow(clippy::cast_precision_loss)]
    pub fn direction(&self, a: JointId, b: JointId) -> [f64; 2] {
        if let Points::Whole { at, .. } = self {
            let ([ax, ay], [bx, by]) = (at[a], at[b]);
            // The unit of length cancels, and the squares of whole numbers neither overflow nor vanish.
            let (dx, dy) = ((bx - ax) as f64, (by - ay) as f64);
            let length = (dx * dx + dy * dy).sqrt();
            return [dx / length, dy / length];
        }
        let [dx, dy] = self.difference(a, b);
        let length = dx.hypot(dy);
        [dx / length, dy / length]
    }

    /// The same difference over a field, times [`Points::scale`].
    pub fn exact_difference<F: Field>(&self, a: JointId, b: JointId) -> Option<[F; 2]> {
        match self {
            Points::Whole { at, .. } => {
                let ([ax, ay], [bx, by]) = (at[a], at[b]);
                Some([F::from_i64(bx - ax), F::from_i64(by - ay)])
            }
            Points::Any(at) => {
                let ([ax, ay], [bx, by]) = (&at[a], &at[b]);
                Some([in_field::<F>(bx)?.sub(in_field(ax)?), in_field::<F>(by)?.sub(in_field(ay)?)])
            }
        }
    }

    /// Whether two joints are at the very same place.
    pub fn coincide(&self, a: JointId, b: JointId) -> bool {
        match self {
            Points::Whole { at, .. } => at[a] == at[b],
            Points::Any(at) => at[a].iter().zip(&at[b]).all(|(a, b)| a.compare(b).is_eq()),
        }
    }

    /// Twice the area of the triangle of three joints, as a sign: positive
    /// when they turn counterclockwise, zero when they are in one line. Exact.
    pub fn turn(&self, a: JointId, b: JointId, c: JointId) -> std::cmp::Ordering {
        match self {
            Points::Whole { at, .. } => {
                let ([ax, ay], [bx, by], [cx, cy]) = (at[a], at[b], at[c]);
                let cross = |x: i64, y: i64| i128::from(x) * i128::from(y);
                (cross(bx - ax, cy - ay) - cross(by - ay, cx - ax)).cmp(&0)
            }
            Points::Any(at) => {
                let all = [&at[a], &at[b], &at[c]];
                turn_beyond_doubt(all.map(|at| at.each_ref().map(Number::to_f64))).unwrap_or_else(|| {
                    let [[ax, ay], [bx, by], [cx, cy]] = all.map(|at| at.each_ref().map(Number::to_rational));
                    ((bx - &ax) * (cy - &ay)).cmp(&((by - ay) * (cx - ax)))
                })
            }
        }
    }
}

/// The sense of a turn where rounding cannot have changed it (after Shewchuk,
/// "Adaptive precision floating-point arithmetic and fast robust geometric
/// predicates", 1997): here the coordinates are rounded too.
fn turn_beyond_doubt([[ax, ay], [bx, by], [cx, cy]]: [[f64; 2]; 3]) -> Option<std::cmp::Ordering> {
    let (ux, uy, vx, vy) = (bx - ax, by - ay, cx - ax, cy - ay);
    let area = ux * vy - uy * vx;
    let largest = [ax, ay, bx, by, cx, cy].into_iter().fold(0.0_f64, |most, part| most.max(part.abs()));
    // Each difference is out by less than 4 epsilons of the largest coordinate.
    let sides = ux.abs() + uy.abs() + vx.abs() + vy.abs();
    let slip = 4.0 * f64::EPSILON * largest;
    let doubt = 2.0 * slip * (sides + 2.0 * slip) + 8.0 * f64::EPSILON * (ux * vy).abs().max((uy * vx).abs());
    (area.is_finite() && area.abs() > doubt && doubt > f64::MIN_POSITIVE).then(|| area.total_cmp(&0.0))
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
    pub fn of(structure: &Structure) -> Equilibrium {
        let hinged = hinged_joints(structure);
        let rows = Rows::of(&rotation_held(structure, &hinged));
        let room = structure.members.len() + structure.supports.len() * 2;
        let mut columns = Vec::with_capacity(room);
        let mut unknowns = Vec::with_capacity(room);
        for (index, member) in structure.members.iter().enumerate() {
            let id = MemberId::new(index);
            let (start, end) = (member.start, member.end);
            unknowns.push(Unknown::Axial(id));
            columns.push(Restraint::Bar(start, end));
            for which in End::BOTH {
                if holds_moment(member, which, &hinged) {
                    unknowns.push(Unknown::EndMoment(id, which));
                    columns.push(Restraint::Moment(start, end, which));
                }
            }
        }
        for (index, support) in structure.supports.iter().enumerate() {
            for (component, restraint) in support_restraints(support) {
                unknowns.push(Unknown::Reaction(SupportId::new(index), component));
                columns.push(restraint);
            }
        }
        Equilibrium { unknowns, columns, points: Points::of(structure), rows }
    }

    /// The same matrix with more restraints, for trying cures.
    #[must_use]
    pub fn with(&self, more: &[Restraint]) -> Equilibrium {
        let mut columns = self.columns.clone();
        columns.extend_from_slice(more);
        let (unknowns, points, rows) = (self.unknowns.clone(), self.points.clone(), self.rows.clone());
        Equilibrium { unknowns, columns, points, rows }
    }

    /// The same matrix with some of its columns only.
    #[must_use]
    pub fn only(&self, keep: impl Fn(usize) -> bool) -> Equilibrium {
        let kept = |index: &usize| keep(*index);
        let indices: Vec<usize> = (0..self.columns.len()).filter(kept).collect();
        let columns = indices.iter().filter_map(|index| self.columns.get(*index).cloned()).collect();
        let unknowns = indices.iter().filter_map(|index| self.unknowns.get(*index).copied()).collect();
        Equilibrium { unknowns, columns, points: self.points.clone(), rows: self.rows.clone() }
    }

    /// A joint's position, metres.
    pub fn point(&self, joint: JointId) -> [f64; 2] {
        self.points.at(joint)
    }

    pub fn points(&self) -> &Points {
        &self.points
    }

    pub fn columns(&self) -> &[Restraint] {
        &self.columns
    }

    /// One block a joint.
    pub fn blocks(&self) -> Blocks {
        Blocks::from_sizes(self.rows.starts.windows(2).map(|pair| match pair {
            [start, end] => end - start,
            _ => 0,
        }))
    }

    /// What one unit of a column's unknown does to the joints, by rows.
    pub fn column<T: Clone>(
        &self,
        column: &Restraint,
        over: &mut impl Entries<T>,
        mut put: impl FnMut(u32, T),
    ) -> Option<()> {
        let mut force = |joint: JointId, [x, y]: [T; 2]| {
            let row = self.rows.force(joint);
            put(row, x);
            put(row + 1, y);
        };
        match column {
            Restraint::Bar(a, b) => {
                let along = over.bar(*a, *b)?;
                force(*a, along.clone());
                force(*b, along.map(|part| over.negated(part)));
            }
            Restraint::Moment(a, b, end) => {
                let (mut pair, mut moment) = over.moment(*a, *b)?;
                if *end == End::Finish {
                    (pair, moment) = (pair.map(|part| over.negated(part)), over.negated(moment));
                }
                force(*a, pair.clone());
                force(*b, pair.map(|part| over.negated(part)));
                let joint = if *end == End::Start { a } else { b };
                if let Some(row) = self.rows.moment(*joint) {
                    put(row, moment);
                }
            }
            Restraint::Line(joint, line) => force(*joint, over.line(line)?),
            Restraint::Turn(joint) => {
                if let Some(row) = self.rows.moment(*joint) {
                    put(row, over.one());
                }
            }
        }
        Some(())
    }

    /// One column in floating point: unit vectors along members and reactions.
    pub fn floating_column(&self, column: &Restraint, put: impl FnMut(u32, f64)) {
        self.column(column, &mut &self.points, put);
    }

    /// The floating matrix.
    pub fn floating(&self) -> Result<Sparse<f64>, NumericError> {
        self.matrix(&self.points)
    }

    /// The matrix over doubles or a field.
    fn matrix<T: Scalar>(&self, mut over: impl Entries<T>) -> Result<Sparse<T>, NumericError> {
        let mut builder = SparseBuilder::new(self.rows.len()).with_capacity(self.columns.len(), self.columns.len() * 4);
        for column in &self.columns {
            let entries = self.column(column, &mut over, |row, value| builder.entry(row, value));
            entries.ok_or(NumericError::Unlucky)?;
            builder.end_column();
        }
        builder.finish()
    }
}

/// The numbers of the matrix over doubles, a field, or the fractions.
pub trait Entries<T> {
    fn one(&self) -> T;
    fn negated(&self, value: T) -> T;
    /// The force of a bar on its first joint, towards the second.
    fn bar(&mut self, a: JointId, b: JointId) -> Option<[T; 2]>;
    /// Of a moment at the first end of a beam: the force on its first joint, and the moment.
    fn moment(&mut self, a: JointId, b: JointId) -> Option<([T; 2], T)>;
    /// Along the line of a reaction.
    fn line(&mut self, line: &[Number; 2]) -> Option<[T; 2]>;
}

impl Entries<f64> for &Points {
    fn one(&self) -> f64 {
        1.0
    }

    fn negated(&self, value: f64) -> f64 {
        -value
    }

    fn bar(&mut self, a: JointId, b: JointId) -> Option<[f64; 2]> {
        Some(self.direction(a, b))
    }

    fn moment(&mut self, a: JointId, b: JointId) -> Option<([f64; 2], f64)> {
        let [dx, dy] = self.difference(a, b);
        let square = dx * dx + dy * dy;
        Some(([-dy / square, dx / square], 1.0))
    }

    fn line(&mut self, line: &[Number; 2]) -> Option<[f64; 2]> {
        Some(unit(line))
    }
}

/// Over a field: the vectors between joints, and the lines of reactions.
struct InField<D, L>(D, L);

impl<F: Field, D, L> Entries<F> for InField<D, L>
where
    D: FnMut(JointId, JointId) -> Option<[F; 2]>,
    L: FnMut(&[Number; 2]) -> Option<[F; 2]>,
{
    fn one(&self) -> F {
        F::ONE
    }

    fn negated(&self, value: F) -> F {
        value.neg()
    }

    fn bar(&mut self, a: JointId, b: JointId) -> Option<[F; 2]> {
        (self.0)(a, b)
    }

    fn moment(&mut self, a: JointId, b: JointId) -> Option<([F; 2], F)> {
        let [dx, dy] = (self.0)(a, b)?;
        Some(([dy.neg(), dx], dx.mul(dx).add(dy.mul(dy))))
    }

    fn line(&mut self, line: &[Number; 2]) -> Option<[F; 2]> {
        (self.1)(line)
    }
}

/// Joints at which every beam end is freed.
pub fn hinged_joints(structure: &Structure) -> IdVec<JointId, bool> {
    let mut hinged = IdVec::filled(&structure.joints, false);
    structure.hinges.iter().for_each(|(joint, _)| hinged[*joint] = true);
    hinged
}

/// Whether a member's end can pass a moment to its joint.
pub fn holds_moment(member: &Member, end: End, hinged: &IdVec<JointId, bool>) -> bool {
    member.kind == MemberKind::Beam && !member.hinged[end as usize] && !hinged[end.joint(member)]
}

/// Joints to which some member's end passes a moment.
fn moments_passed(structure: &Structure, hinged: &IdVec<JointId, bool>) -> IdVec<JointId, bool> {
    let mut bends = IdVec::filled(&structure.joints, false);
    for member in &structure.members {
        for end in End::BOTH {
            bends[end.joint(member)] |= holds_moment(member, end, hinged);
        }
    }
    bends
}

/// Joints that have a rotation of their own: a beam end or a support holds it.
pub fn rotation_held(structure: &Structure, hinged: &IdVec<JointId, bool>) -> IdVec<JointId, bool> {
    let mut held = moments_passed(structure, hinged);
    for support in structure.supports.iter().filter(|support| support.holds_rotation()) {
        held[support.joint] = true;
    }
    held
}

/// Supports that hold a rotation no member's end could pass on to them: where
/// bars alone meet, a fixed support is a pin. What they hold is an equation and
/// a reaction that settle each other.
pub fn idle_turns(structure: &Structure) -> Vec<SupportId> {
    let bends = moments_passed(structure, &hinged_joints(structure));
    let is_idle = |(_, support): &(SupportId, &Support)| support.holds_rotation() && !bends[support.joint];
    structure.supports.entries().filter(is_idle).map(|(id, _)| id).collect()
}

/// The restraint that goes with each reaction component of a support.
pub fn support_restraints(support: &Support) -> impl Iterator<Item = (Component, Restraint)> {
    support.components().map(|component| match support.direction(component) {
        Some(line) => (component, Restraint::Line(support.joint, Box::new(line))),
        None => (component, Restraint::Turn(support.joint)),
    })
}

impl ExactMatrix for Equilibrium {
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError> {
        let line = |[x, y]: &[Number; 2]| Some([in_field::<F>(x)?, in_field::<F>(y)?]);
        self.matrix(InField(|a, b| self.points.exact_difference::<F>(a, b), line))
    }
}

/// The same layout with its joints and reaction lines anywhere at all: its
/// rank is the most any placing of the joints could give.
pub struct Generic<'a>(pub &'a Equilibrium);

impl ExactMatrix for Generic<'_> {
    fn over<F: Field>(&self) -> Result<Sparse<F>, NumericError> {
        let mut rng = crate::numeric::Rng::new(GENERIC_SEED);
        let mut anywhere = move || [F::random(&mut rng), F::random(&mut rng)];
        let at: IdVec<JointId, [F; 2]> = (0..self.0.rows.joints()).map(|_| anywhere()).collect();
        let difference = |a: JointId, b: JointId| Some([at[b][0].sub(at[a][0]), at[b][1].sub(at[a][1])]);
        self.0.matrix(InField(difference, |_: &[Number; 2]| Some(anywhere())))
    }
}

const GENERIC_SEED: u64 = 0x9e4e_71c5;
