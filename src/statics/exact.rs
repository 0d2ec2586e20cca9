//! Determinate structures solved over the fractions: where every coordinate
//! and every load is rational, so is every reaction, every end moment, and the
//! force in every member per length of it.
//!
//! Fraction by fraction, joints that hang on few unknowns first (Markowitz's
//! count), and put back into the equations: what is returned balances exactly.
//!
//! Must not know: words for people.

use std::collections::BTreeMap;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed, Zero};

use crate::base::{CaseId, JointId, MemberId};
use crate::quantity::Number;
use crate::structure::{Delivery, Distributed, LoadKind, Structure};
use crate::syntax::tree::Measure;

use super::equilibrium::{Component, End, Equilibrium, Restraint, Unknown};

/// Systems of more unknowns are not solved over the fractions.
pub const MOST_UNKNOWNS: usize = 500;
/// Fractions of more bits than this are given up on: nobody reads them.
pub const MOST_BITS: u64 = 4096;
/// Products of fractions that are worth it.
pub const MOST_STEPS: usize = 400_000;

/// Exact forces of a determinate structure.
#[derive(Clone, Debug, PartialEq)]
pub struct ExactForces {
    /// Fx, Fy (newtons) and M (newton-metres) of each support; absent where it
    /// gives none.
    pub reactions: Vec<[Option<BigRational>; 3]>,
    /// Axial force over length, newtons a metre: one for each member.
    pub densities: Vec<BigRational>,
    /// Squares of the members' lengths, square metres.
    pub squares: Vec<BigRational>,
}

/// Why there is nothing exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inexact {
    /// `joint A: 3 m @ 40°`
    Layout,
    /// `roller A: along 20°`
    Supports,
    /// `load A: 3 kN @ 40°`
    Loads,
    /// More unknowns than equations, or fewer.
    NotDeterminate,
    /// Beyond one of the limits.
    TooLarge,
}

type Row = BTreeMap<usize, BigRational>;

/// Solves a factored sum of cases exactly.
pub fn solve_exactly(
    structure: &Structure,
    equilibrium: &Equilibrium,
    cases: &[(CaseId, Number)],
) -> Result<ExactForces, Inexact> {
    let unknowns = equilibrium.unknowns.len();
    if unknowns != equilibrium.rows.len() {
        return Err(Inexact::NotDeterminate);
    }
    if unknowns > MOST_UNKNOWNS {
        return Err(Inexact::TooLarge);
    }
    let layout = Layout::of(structure)?;
    let rows = layout.rows(equilibrium)?;
    let mut right = vec![BigRational::zero(); rows.len()];
    for (case, factor) in cases {
        let factor = exact(factor).ok_or(Inexact::Loads)?;
        for load in structure.cases.get(case.index()).map_or(&[][..], |case| case.loads.as_slice()) {
            layout.add(structure, equilibrium, &load.kind, &factor, &mut right).ok_or(Inexact::Loads)?;
        }
    }
    let against: Vec<BigRational> = right.iter().map(|load| -load).collect();
    let values = eliminate(rows.clone(), against)?;
    if !balances(&rows, &values, &right) {
        return Err(Inexact::TooLarge);
    }
    Ok(layout.sort_out(structure, equilibrium, &values))
}

/// Whether the forces and the loads of every row come to zero: exactly.
fn balances(rows: &[Row], values: &[BigRational], right: &[BigRational]) -> bool {
    rows.iter().zip(right).all(|(row, load)| {
        let sum = row.iter().fold(load.clone(), |sum, (column, entry)| match values.get(*column) {
            Some(value) => sum + entry * value,
            None => sum,
        });
        sum.is_zero()
    })
}

fn exact(number: &Number) -> Option<BigRational> {
    match number {
        Number::Exact(value) => Some(value.to_big()),
        _ if number.is_zero() => Some(BigRational::zero()),
        _ => None,
    }
}

fn whole(value: i64) -> BigRational {
    BigRational::from_integer(BigInt::from(value))
}

/// The joints' exact places and what follows from them.
struct Layout {
    at: Vec<[BigRational; 2]>,
}

impl Layout {
    fn of(structure: &Structure) -> Result<Layout, Inexact> {
        let at: Option<Vec<[BigRational; 2]>> =
            structure.joints.iter().map(|joint| Some([exact(&joint.x)?, exact(&joint.y)?])).collect();
        Ok(Layout { at: at.ok_or(Inexact::Layout)? })
    }

    fn difference(&self, a: JointId, b: JointId) -> [BigRational; 2] {
        match (self.at.get(a.index()), self.at.get(b.index())) {
            (Some([ax, ay]), Some([bx, by])) => [bx - ax, by - ay],
            _ => [BigRational::zero(), BigRational::zero()],
        }
    }

    fn square(&self, a: JointId, b: JointId) -> BigRational {
        let [dx, dy] = self.difference(a, b);
        &dx * &dx + &dy * &dy
    }

    /// The equations, bars' columns times their lengths, rollers' lines as they
    /// were written.
    fn rows(&self, equilibrium: &Equilibrium) -> Result<Vec<Row>, Inexact> {
        let mut rows = vec![Row::new(); equilibrium.rows.len()];
        for (column, restraint) in equilibrium.columns().iter().enumerate() {
            let mut put = |row: u32, value: BigRational| {
                if let Some(entries) = rows.get_mut(row as usize)
                    && !value.is_zero()
                {
                    *entries.entry(column).or_insert_with(BigRational::zero) += value;
                }
            };
            match restraint {
                Restraint::Bar(a, b) => {
                    let [dx, dy] = self.difference(*a, *b);
                    let (start, end) = (equilibrium.rows.force(*a), equilibrium.rows.force(*b));
                    put(end, -&dx);
                    put(end + 1, -&dy);
                    put(start, dx);
                    put(start + 1, dy);
                }
                Restraint::Moment(a, b, end) => {
                    let [dx, dy] = self.difference(*a, *b);
                    let square = self.square(*a, *b);
                    if square.is_zero() {
                        return Err(Inexact::Layout);
                    }
                    let (joint, sign) = match end {
                        End::Start => (*a, BigRational::one()),
                        End::Finish => (*b, -BigRational::one()),
                    };
                    let (x, y) = (-&dy * &sign / &square, &dx * &sign / &square);
                    let (start, finish) = (equilibrium.rows.force(*a), equilibrium.rows.force(*b));
                    put(finish, -&x);
                    put(finish + 1, -&y);
                    put(start, x);
                    put(start + 1, y);
                    if let Some(row) = equilibrium.rows.moment(joint) {
                        put(row, sign);
                    }
                }
                Restraint::Line(joint, line) => {
                    let [x, y] = line.as_ref();
                    let row = equilibrium.rows.force(*joint);
                    put(row, exact(x).ok_or(Inexact::Supports)?);
                    put(row + 1, exact(y).ok_or(Inexact::Supports)?);
                }
                Restraint::Turn(joint) => {
                    if let Some(row) = equilibrium.rows.moment(*joint) {
                        put(row, BigRational::one());
                    }
                }
            }
        }
        Ok(rows)
    }

    /// Adds one load to the joints as a simple span hands it on; `None` where
    /// it is not rational.
    fn add(
        &self,
        structure: &Structure,
        equilibrium: &Equilibrium,
        kind: &LoadKind,
        factor: &BigRational,
        right: &mut [BigRational],
    ) -> Option<()> {
        let mut force = |joint: JointId, [x, y]: [BigRational; 2]| {
            let row = equilibrium.rows.force(joint) as usize;
            for (slot, part) in right.get_mut(row..).into_iter().flatten().zip([x, y]) {
                *slot += part * factor;
            }
        };
        let ends = |member: MemberId| structure.member(member).map(|member| (member.start, member.end));
        let length = |member: MemberId| {
            let (start, end) = ends(member)?;
            let (a, b) = (structure.joint(start)?, structure.joint(end)?);
            exact(&b.x.minus(&a.x).hypot(&b.y.minus(&a.y)))
        };
        match kind {
            LoadKind::JointForce { joint, force: [x, y] } => force(*joint, [exact(x)?, exact(y)?]),
            LoadKind::JointMoment { joint, moment } => {
                let moment = exact(moment)? * factor;
                if let Some(slot) = equilibrium.rows.moment(*joint).and_then(|row| right.get_mut(row as usize)) {
                    *slot += moment;
                }
            }
            LoadKind::MemberForce { member, force: [x, y], at } => {
                let (start, end) = ends(*member)?;
                let share = exact(at)? / length(*member)?;
                let (x, y) = (exact(x)?, exact(y)?);
                force(end, [&x * &share, &y * &share]);
                let rest = BigRational::one() - share;
                force(start, [x * &rest, y * rest]);
            }
            LoadKind::MemberMoment { member, moment, .. } => {
                let (start, end) = ends(*member)?;
                let [dx, dy] = self.difference(start, end);
                let per = exact(moment)? / self.square(start, end);
                let pair = [-dy * &per, dx * per];
                force(start, pair.clone().map(|part| -part));
                force(end, pair);
            }
            LoadKind::Distributed(load) => {
                let (start, end) = ends(load.member)?;
                for (joint, share) in [start, end].into_iter().zip(self.shares(structure, load, length(load.member))?) {
                    force(joint, share);
                }
            }
            LoadKind::Weight { member } => {
                let (start, end) = ends(*member)?;
                let section = structure.member(*member)?.section.and_then(|id| structure.sections.get(id.index()))?;
                let material = section.material.and_then(|id| structure.materials.get(id.index()))?;
                let total = exact(section.area.as_ref()?)? * exact(material.weight.as_ref()?)? * length(*member)?;
                let half = total / whole(2);
                force(start, [BigRational::zero(), -&half]);
                force(end, [BigRational::zero(), -half]);
            }
            LoadKind::Heat { .. }
            | LoadKind::Misfit { .. }
            | LoadKind::Settlement { .. }
            | LoadKind::SupportTurn { .. } => {}
        }
        Some(())
    }

    /// What a distributed load gives to the two ends of its member.
    fn shares(
        &self,
        structure: &Structure,
        load: &Distributed,
        length: Option<BigRational>,
    ) -> Option<[[BigRational; 2]; 2]> {
        // Beams keep their loads between the joints; the joints get the same.
        let (Delivery::AlongMember | Delivery::AtJoints) = load.delivery;
        let member = structure.member(load.member)?;
        let [dx, dy] = self.difference(member.start, member.end);
        let vector = |[x, y]: &[Number; 2]| Some([exact(x)?, exact(y)?]);
        let (a, b) = (vector(&load.start)?, vector(&load.end)?);
        let metres = structure.member_length(load.member);
        let (from, to) = (load.from.to_f64(), load.to.to_f64());
        let is_whole = from == 0.0 && (to - metres).abs() <= 1e-12 * metres;
        // Over all of a member only the measured length counts, which may be
        // rational where the length itself is not.
        let measured = match load.measure {
            Some(Measure::PerRun) => Some(dx.abs()),
            Some(Measure::PerRise) => Some(dy.abs()),
            None => length.clone(),
        }?;
        let (span, centre) = if is_whole {
            (BigRational::one(), [whole(1) / whole(2), whole(2) / whole(3)])
        } else {
            let length = length?;
            let (from, to) = (exact(&load.from)? / &length, exact(&load.to)? / &length);
            let span = to - &from;
            let centre = [&from + &span / whole(2), &from + &span * whole(2) / whole(3)];
            (span, centre)
        };
        let [even, slope] = centre;
        let mut start = [BigRational::zero(), BigRational::zero()];
        let mut end = start.clone();
        for axis in 0..2 {
            let (from, to) = (a.get(axis)?, b.get(axis)?);
            let rectangle = from * &span * &measured;
            let triangle = (to - from) * &span * &measured / whole(2);
            let far = &rectangle * &even + &triangle * &slope;
            *start.get_mut(axis)? = rectangle + triangle - &far;
            *end.get_mut(axis)? = far;
        }
        Some([start, end])
    }

    fn sort_out(&self, structure: &Structure, equilibrium: &Equilibrium, values: &[BigRational]) -> ExactForces {
        let mut reactions = vec![[None, None, None]; structure.supports.len()];
        let mut densities = vec![BigRational::zero(); structure.members.len()];
        for ((unknown, restraint), value) in equilibrium.unknowns.iter().zip(equilibrium.columns()).zip(values) {
            match (unknown, restraint) {
                (Unknown::Axial(member), _) => {
                    if let Some(slot) = densities.get_mut(member.index()) {
                        *slot = value.clone();
                    }
                }
                (Unknown::Reaction(support, component), restraint) => {
                    let Some([fx, fy, m]) = reactions.get_mut(support.index()) else { continue };
                    match (component, restraint) {
                        (Component::Turn, _) => *m = Some(value.clone()),
                        (_, Restraint::Line(_, line)) => {
                            let [x, y] = line.as_ref();
                            for (slot, part) in [(fx, x), (fy, y)] {
                                if let Some(part) = exact(part).filter(|part| !part.is_zero()) {
                                    *slot = Some(part * value);
                                }
                            }
                        }
                        _ => {}
                    }
                }
                _ => {}
            }
        }
        let squares = structure.members.iter().map(|member| self.square(member.start, member.end)).collect();
        ExactForces { reactions, densities, squares }
    }
}

/// Gauss's elimination over the fractions, the shortest row and its rarest
/// column first.
fn eliminate(mut rows: Vec<Row>, mut right: Vec<BigRational>) -> Result<Vec<BigRational>, Inexact> {
    let size = rows.len();
    let mut open: Vec<usize> = (0..size).collect();
    let mut order: Vec<(usize, usize)> = Vec::with_capacity(size);
    let mut counts = vec![0_usize; size];
    for column in rows.iter().flat_map(BTreeMap::keys) {
        if let Some(count) = counts.get_mut(*column) {
            *count += 1;
        }
    }
    let mut steps = 0;
    while !open.is_empty() {
        let shortest = open.iter().enumerate().min_by_key(|(_, row)| rows.get(**row).map_or(usize::MAX, BTreeMap::len));
        let Some((place, own)) = shortest.map(|(place, row)| (place, *row)) else { break };
        open.swap_remove(place);
        let pivot_row = rows.get(own).cloned().unwrap_or_default();
        let rarest = pivot_row.keys().copied().min_by_key(|column| counts.get(*column).copied().unwrap_or(usize::MAX));
        let column = rarest.ok_or(Inexact::NotDeterminate)?;
        let Some(pivot) = pivot_row.get(&column) else { return Err(Inexact::NotDeterminate) };
        let own_right = right.get(own).cloned().unwrap_or_else(BigRational::zero);
        for other in &open {
            let (Some(row), Some(value)) = (rows.get_mut(*other), right.get_mut(*other)) else { continue };
            let Some(entry) = row.remove(&column) else { continue };
            let share = entry / pivot;
            for (index, known) in pivot_row.iter().filter(|(index, _)| **index != column) {
                steps += 1;
                let sum = row.get(index).cloned().unwrap_or_else(BigRational::zero) - &share * known;
                if sum.numer().bits().max(sum.denom().bits()) > MOST_BITS {
                    return Err(Inexact::TooLarge);
                }
                let before = row.len();
                if sum.is_zero() {
                    row.remove(index);
                } else {
                    row.insert(*index, sum);
                }
                if let Some(count) = counts.get_mut(*index) {
                    *count = (*count + row.len()).saturating_sub(before);
                }
            }
            *value -= share * &own_right;
            if steps > MOST_STEPS {
                return Err(Inexact::TooLarge);
            }
        }
        order.push((own, column));
    }
    let mut values = vec![BigRational::zero(); size];
    for (own, column) in order.into_iter().rev() {
        let Some(row) = rows.get(own) else { continue };
        let mut value = right.get(own).cloned().unwrap_or_else(BigRational::zero);
        for (index, entry) in row.iter().filter(|(index, _)| **index != column) {
            if let Some(known) = values.get(*index) {
                value -= entry * known;
            }
        }
        let pivot = row.get(&column).ok_or(Inexact::NotDeterminate)?;
        value /= pivot;
        if value.numer().bits().max(value.denom().bits()) > MOST_BITS {
            return Err(Inexact::TooLarge);
        }
        if let Some(slot) = values.get_mut(column) {
            *slot = value;
        }
    }
    Ok(values)
}
