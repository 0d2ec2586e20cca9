//! Determinate structures solved over the fractions: where every coordinate
//! and every load is rational, so is every reaction, every end moment, and the
//! force in every member per length of it.
//!
//! Fraction by fraction, joints that hang on few unknowns first (Markowitz's
//! count), and put back into the equations: what is returned balances exactly.
//!
//! Must not know: words for people.

use std::collections::BTreeMap;

use num_rational::BigRational;
use num_traits::{One, Zero};

use crate::base::{CaseId, JointId};
use crate::quantity::Number;
use crate::structure::Structure;

use super::equilibrium::{Component, End, Equilibrium, Restraint, Unknown};
use super::spans::exactly_on_joints;

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
        let factor = factor.exactly().ok_or(Inexact::Loads)?;
        for load in &structure.cases[*case].loads {
            let act = |joint: JointId, [x, y, moment]: [BigRational; 3]| {
                let row = equilibrium.rows.force(joint);
                for (row, part) in [(Some(row), x), (Some(row + 1), y), (equilibrium.rows.moment(joint), moment)] {
                    if let Some(slot) = row.and_then(|row| right.get_mut(row as usize)) {
                        *slot += part * &factor;
                    }
                }
            };
            exactly_on_joints(structure, &load.kind, act).ok_or(Inexact::Loads)?;
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

/// The joints' exact places and what follows from them.
struct Layout {
    at: Vec<[BigRational; 2]>,
}

impl Layout {
    fn of(structure: &Structure) -> Result<Layout, Inexact> {
        let at: Option<Vec<[BigRational; 2]>> =
            structure.joints.iter().map(|joint| Some([joint.x.exactly()?, joint.y.exactly()?])).collect();
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
                    put(row, x.exactly().ok_or(Inexact::Supports)?);
                    put(row + 1, y.exactly().ok_or(Inexact::Supports)?);
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
                                if let Some(part) = part.exactly().filter(|part| !part.is_zero()) {
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
