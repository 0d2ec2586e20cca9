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

use crate::base::{CaseId, IdVec, JointId, MemberId, SupportId};
use crate::quantity::Number;
use crate::structure::Structure;

use super::equilibrium::{Entries, Equilibrium, Restraint, Unknown};
use super::spans::exactly_on_joints;

/// Systems of more unknowns are not solved over the fractions.
pub const MOST_UNKNOWNS: usize = 500;
/// Fractions of more bits than this are abandoned: they could not be read.
pub const MOST_BITS: u64 = 4096;
/// Products of fractions that are worth it.
pub const MOST_STEPS: usize = 400_000;

/// Exact forces of a determinate structure.
#[derive(Clone, Debug, PartialEq)]
pub struct ExactForces {
    /// Fx, Fy (newtons) and M (newton-metres) of each support; absent where it
    /// gives none.
    pub reactions: IdVec<SupportId, [Option<BigRational>; 3]>,
    /// Axial force over length, newtons a metre: one for each member.
    pub densities: IdVec<MemberId, BigRational>,
    /// Squares of the members' lengths, square metres.
    pub squares: IdVec<MemberId, BigRational>,
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
    let places: Option<IdVec<JointId, [BigRational; 2]>> =
        structure.joints.iter().map(|joint| Some([joint.x.exactly()?, joint.y.exactly()?])).collect();
    let places = Places(places.ok_or(Inexact::Layout)?);
    let rows = equations(equilibrium, &places)?;
    let mut right = vec![BigRational::zero(); rows.len()];
    for (case, factor) in cases {
        let factor = factor.exactly().ok_or(Inexact::Loads)?;
        for load in &structure.cases[*case].loads {
            let act = |joint: JointId, [x, y, moment]: [BigRational; 3]| {
                let row = equilibrium.rows.force(joint);
                for (row, part) in [(Some(row), x), (Some(row + 1), y), (equilibrium.rows.moment(joint), moment)] {
                    if let Some(row) = row {
                        right[row as usize] += part * &factor;
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
    Ok(sort_out(structure, equilibrium, &places, &values))
}

/// Whether the forces and the loads of every row come to zero: exactly.
fn balances(rows: &[Row], values: &[BigRational], right: &[BigRational]) -> bool {
    rows.iter().zip(right).all(|(row, load)| {
        let sum = row.iter().fold(load.clone(), |sum, (column, entry)| sum + entry * &values[*column]);
        sum.is_zero()
    })
}

/// The joints' exact places.
struct Places(IdVec<JointId, [BigRational; 2]>);

impl Places {
    fn difference(&self, a: JointId, b: JointId) -> [BigRational; 2] {
        let ([ax, ay], [bx, by]) = (&self.0[a], &self.0[b]);
        [bx - ax, by - ay]
    }

    fn square(&self, a: JointId, b: JointId) -> BigRational {
        let [dx, dy] = self.difference(a, b);
        &dx * &dx + &dy * &dy
    }
}

/// Bars' columns times their lengths, end moments' times the squares of theirs,
/// rollers' lines as they were written.
impl Entries<BigRational> for &Places {
    fn one(&self) -> BigRational {
        BigRational::one()
    }

    fn negated(&self, value: BigRational) -> BigRational {
        -value
    }

    fn bar(&mut self, a: JointId, b: JointId) -> Option<[BigRational; 2]> {
        Some(self.difference(a, b))
    }

    fn moment(&mut self, a: JointId, b: JointId) -> Option<([BigRational; 2], BigRational)> {
        let ([dx, dy], square) = (self.difference(a, b), self.square(a, b));
        (!square.is_zero()).then_some(([-dy, dx], square))
    }

    fn line(&mut self, [x, y]: &[Number; 2]) -> Option<[BigRational; 2]> {
        Some([x.exactly()?, y.exactly()?])
    }
}

fn equations(equilibrium: &Equilibrium, mut places: &Places) -> Result<Vec<Row>, Inexact> {
    let mut rows = vec![Row::new(); equilibrium.rows.len()];
    for (index, restraint) in equilibrium.columns().iter().enumerate() {
        let put = |row: u32, value: BigRational| {
            if !value.is_zero() {
                *rows[row as usize].entry(index).or_insert_with(BigRational::zero) += value;
            }
        };
        let why = if matches!(restraint, Restraint::Line(..)) { Inexact::Supports } else { Inexact::Layout };
        equilibrium.column(restraint, &mut places, put).ok_or(why)?;
    }
    Ok(rows)
}

fn sort_out(structure: &Structure, equilibrium: &Equilibrium, places: &Places, values: &[BigRational]) -> ExactForces {
    let mut reactions = IdVec::filled(&structure.supports, [None, None, None]);
    let mut densities = IdVec::filled(&structure.members, BigRational::zero());
    for (unknown, value) in equilibrium.unknowns.iter().zip(values) {
        match unknown {
            Unknown::Axial(member) => densities[*member] = value.clone(),
            Unknown::EndMoment(..) => {}
            Unknown::Reaction(id, component) => {
                let [fx, fy, m] = &mut reactions[*id];
                let Some(line) = structure.supports[*id].direction(*component) else {
                    *m = Some(value.clone());
                    continue;
                };
                for (slot, part) in [fx, fy].into_iter().zip(line) {
                    if let Some(part) = part.exactly().filter(|part| !part.is_zero()) {
                        *slot = Some(part * value);
                    }
                }
            }
        }
    }
    let squares = structure.members.iter().map(|member| places.square(member.start, member.end)).collect();
    ExactForces { reactions, densities, squares }
}

/// Gauss's elimination over the fractions, the shortest row and its rarest
/// column first.
fn eliminate(mut rows: Vec<Row>, mut right: Vec<BigRational>) -> Result<Vec<BigRational>, Inexact> {
    let size = rows.len();
    let mut open: Vec<usize> = (0..size).collect();
    let mut order: Vec<(usize, usize)> = Vec::with_capacity(size);
    let mut counts = vec![0_usize; size];
    for column in rows.iter().flat_map(BTreeMap::keys) {
        counts[*column] += 1;
    }
    let mut steps = 0;
    while !open.is_empty() {
        let shortest = open.iter().enumerate().min_by_key(|(_, row)| rows[**row].len());
        let Some((place, own)) = shortest.map(|(place, row)| (place, *row)) else { break };
        open.swap_remove(place);
        let pivot_row = rows[own].clone();
        let rarest = pivot_row.keys().copied().min_by_key(|column| counts[*column]);
        let column = rarest.ok_or(Inexact::NotDeterminate)?;
        let Some(pivot) = pivot_row.get(&column) else { return Err(Inexact::NotDeterminate) };
        let own_right = right[own].clone();
        for other in &open {
            let row = &mut rows[*other];
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
                counts[*index] = (counts[*index] + row.len()).saturating_sub(before);
            }
            right[*other] -= share * &own_right;
            if steps > MOST_STEPS {
                return Err(Inexact::TooLarge);
            }
        }
        order.push((own, column));
    }
    let mut values = vec![BigRational::zero(); size];
    for (own, column) in order.into_iter().rev() {
        let row = &rows[own];
        let mut value = right[own].clone();
        for (index, entry) in row.iter().filter(|(index, _)| **index != column) {
            value -= entry * &values[*index];
        }
        let pivot = row.get(&column).ok_or(Inexact::NotDeterminate)?;
        value /= pivot;
        if value.numer().bits().max(value.denom().bits()) > MOST_BITS {
            return Err(Inexact::TooLarge);
        }
        values[column] = value;
    }
    Ok(values)
}
