//! The force method: unknowns released, the forces without them and under one
//! unit of each, the movements of each, the terms these are sums of, and the
//! sizes at which no gap is left. (Maxwell 1864, Mohr 1874; common practice
//! since.)
//!
//! Must not know: how it is told.

use crate::base::ids::typed_id;
use crate::base::tolerances::{ELIMINATED, SAME};
use crate::base::{IdVec, MemberId};
use crate::numeric::Flexibility;
use crate::statics::equilibrium::{Balance, Component, End, Equilibrium, Unknown};
use crate::statics::flexibility::{Compliance, bending, flexibilities, free_deformation};
use crate::statics::{Subject, spans};

use super::elimination::eliminate;
use super::problem::Problem;

typed_id!(
    /// An unknown of the equations, by its column.
    ColumnId,
    /// What acts on a released structure: its loads, or one unit of a redundant.
    StateId,
);

/// The loads, among the states of a released structure; redundants follow.
pub const LOADS: StateId = StateId(0);

/// A structure with its redundants set free. Couples at supports count in the
/// sense that the page counts as positive.
#[derive(Clone, Debug)]
pub struct Released {
    pub unknowns: IdVec<ColumnId, Unknown>,
    /// The column of each redundant; the loads have none.
    columns: IdVec<StateId, Option<ColumnId>>,
    /// Newtons and newton-metres in each state: under the loads, and under one
    /// newton, or newton-metre, of each redundant.
    pub forces: IdVec<StateId, IdVec<ColumnId, f64>>,
    /// The movement of each redundant in each state, metres or radians; of the
    /// loads none.
    movements: IdVec<StateId, IdVec<StateId, f64>>,
    /// How many times each state counts.
    pub values: IdVec<StateId, f64>,
    /// Of each unknown: metres a newton, and metres without any force.
    pub give: IdVec<ColumnId, f64>,
    pub free: IdVec<ColumnId, f64>,
}

/// A coefficient: the movement of a redundant in a state.
pub type Pair = (StateId, StateId);

pub fn is_couple(unknown: Unknown) -> bool {
    matches!(unknown, Unknown::EndMoment(..) | Unknown::Reaction(_, Component::Turn))
}

impl Released {
    pub fn redundants(&self) -> impl ExactSizeIterator<Item = StateId> + DoubleEndedIterator + use<> {
        (1..self.columns.len()).map(StateId::new)
    }

    pub fn force(&self, state: StateId, column: ColumnId) -> f64 {
        self.forces[state][column]
    }

    pub fn coefficient(&self, (i, j): Pair) -> f64 {
        self.movements[i][j]
    }

    /// The movement of each redundant under the loads.
    pub fn gaps(&self) -> IdVec<StateId, f64> {
        self.movements.iter().map(|row| row[LOADS]).collect()
    }

    /// What a redundant releases.
    pub fn redundant(&self, state: StateId) -> Option<Unknown> {
        self.columns[state].map(|column| self.unknowns[column])
    }

    /// Whether a redundant is a couple.
    pub fn turns(&self, state: StateId) -> bool {
        self.redundant(state).is_some_and(is_couple)
    }

    /// Whether some redundant puts a force in an unknown.
    pub fn is_moved(&self, column: ColumnId) -> bool {
        self.redundants().any(|state| self.force(state, column) != 0.0)
    }

    /// All coefficients in their order.
    pub fn pairs(&self) -> Vec<Pair> {
        let from = |i: StateId| self.redundants().filter(move |j| *j >= i).map(move |j| (i, j));
        self.redundants().flat_map(|i| std::iter::once((i, LOADS)).chain(from(i))).collect()
    }

    /// Sets free as many unknowns as there are too many; `None` where floats do
    /// not find them.
    pub fn of(problem: &Problem<'_>, equilibrium: Equilibrium, degree: usize, subject: Subject) -> Option<Released> {
        let structure = problem.structure;
        let rows = equilibrium.rows.len();
        let unknowns: IdVec<ColumnId, Unknown> = equilibrium.unknowns.clone().into();
        let scale: Vec<f64> = (0..)
            .take(rows)
            .map(|row| match equilibrium.rows.joint_of(row) {
                (_, Balance::Moment) => 1.0 / problem.size,
                _ => 1.0,
            })
            .collect();
        let signs = unknowns.iter().map(|unknown| match unknown {
            Unknown::Reaction(_, Component::Turn) => structure.turning_sign(),
            _ => 1.0,
        });
        let signs: IdVec<ColumnId, f64> = signs.collect();
        let dense = equilibrium.columns().iter().zip(&signs).map(|(column, sign)| {
            let mut values = vec![0.0; rows];
            equilibrium.floating_column(column, |row, value| {
                if let (Some(slot), Some(scale)) = (values.get_mut(row as usize), scale.get(row as usize)) {
                    *slot += value * scale * sign;
                }
            });
            values
        });
        let dense: IdVec<ColumnId, Vec<f64>> = dense.collect();
        let redundants = dependent(&unknowns, &dense, rows);
        if redundants.len() != degree || unknowns.len() - degree != rows {
            return None;
        }
        let kept: Vec<ColumnId> = unknowns.ids().filter(|column| !redundants.contains(column)).collect();
        let solve = |right: &[f64]| -> Option<IdVec<ColumnId, f64>> {
            let entry = |column: &ColumnId, row: usize| dense[*column].get(row).copied().unwrap_or(0.0);
            let lines = right.iter().enumerate();
            let lines = lines.map(|(row, right)| (kept.iter().map(|column| entry(column, row)).collect(), -right));
            let values = eliminate(lines.collect(), kept.len())?;
            let mut all = IdVec::filled(&unknowns, 0.0);
            kept.iter().zip(values).for_each(|(column, value)| all[*column] = value);
            Some(all)
        };
        let mut load = vec![0.0; rows];
        let mut free: IdVec<ColumnId, f64> = IdVec::filled(&unknowns, 0.0);
        for (case, factor) in subject.factors(structure) {
            let factor = factor.to_f64();
            let actions = spans::actions(structure, &equilibrium.rows, case);
            let on_joints = actions.on_joints(structure, &equilibrium.rows);
            load.iter_mut().zip(on_joints).for_each(|(total, part)| *total += factor * part);
            let own = free_deformation(structure, &equilibrium, case, &actions.spans);
            free.iter_mut().zip(own).for_each(|(total, part)| *total += factor * part);
        }
        free.iter_mut().zip(&signs).for_each(|(free, sign)| *free *= sign);
        load.iter_mut().zip(&scale).for_each(|(load, scale)| *load *= scale);
        let mut forces = IdVec::from(vec![solve(&load)?]);
        for (force, unknown) in forces[LOADS].iter_mut().zip(&unknowns) {
            *force = if is_couple(*unknown) { problem.quiet_moment(*force) } else { problem.quiet(*force) };
        }
        for column in &redundants {
            let mut own = solve(&dense[*column])?;
            own[*column] = 1.0;
            quiet(&mut own, &unknowns);
            forces.push(own);
        }
        let flexibility = flexibilities(structure, &equilibrium);
        let movements = movements(&flexibility, &forces, &free);
        let lines = movements.iter().skip(1).map(|row| match row.as_slice() {
            [gap, coefficients @ ..] => (coefficients.to_vec(), -gap),
            [] => (Vec::new(), 0.0),
        });
        let values = std::iter::once(1.0).chain(eliminate(lines.collect(), degree)?).collect();
        let columns = std::iter::once(None).chain(redundants.into_iter().map(Some)).collect();
        Some(Released { unknowns, columns, forces, movements, values, give: flexibility.diagonal.into(), free })
    }
}

/// Takes rounding out of forces and, apart from them, of couples.
fn quiet(forces: &mut IdVec<ColumnId, f64>, unknowns: &IdVec<ColumnId, Unknown>) {
    for couples in [false, true] {
        let own =
            || unknowns.entries().filter(|(_, unknown)| is_couple(**unknown) == couples).map(|(column, _)| column);
        let largest = own().fold(0.0_f64, |largest, column| largest.max(forces[column].abs()));
        for column in own() {
            if forces[column].abs() <= ELIMINATED * largest {
                forces[column] = 0.0;
            }
        }
    }
}

/// How each redundant moves in each state.
fn movements(
    flexibility: &Flexibility,
    forces: &IdVec<StateId, IdVec<ColumnId, f64>>,
    free: &[f64],
) -> IdVec<StateId, IdVec<StateId, f64>> {
    let mut under_loads = flexibility.times(&forces[LOADS]);
    under_loads.iter_mut().zip(free).for_each(|(strained, free)| *strained += free);
    let row = |(state, one): (StateId, &IdVec<ColumnId, f64>)| {
        if state == LOADS {
            return IdVec::filled(forces, 0.0);
        }
        let strained = flexibility.times(one);
        let others = forces.iter().skip(1).map(|other| sum(other.iter().zip(&strained).map(|(a, b)| a * b)));
        std::iter::once(sum(one.iter().zip(&under_loads).map(|(a, b)| a * b))).chain(others).collect()
    };
    forces.entries().map(row).collect()
}

/// Zero where what is added up is far larger.
fn sum(terms: impl Iterator<Item = f64> + Clone) -> f64 {
    let size: f64 = terms.clone().map(f64::abs).sum();
    let sum: f64 = terms.sum();
    if sum.abs() <= ELIMINATED * size { 0.0 } else { sum }
}

/// Columns that depend on those before them, reactions looked at last: what
/// can be released. The floats only choose; a wrong choice is found out by the
/// count.
fn dependent(unknowns: &IdVec<ColumnId, Unknown>, dense: &IdVec<ColumnId, Vec<f64>>, rows: usize) -> Vec<ColumnId> {
    let mut order: Vec<ColumnId> = unknowns.ids().collect();
    let rank = |column: ColumnId| match unknowns[column] {
        Unknown::Axial(_) => 0,
        Unknown::EndMoment(..) => 1,
        Unknown::Reaction(..) => 2,
    };
    order.sort_by_key(|column| (rank(*column), *column));
    let mut basis: Vec<(usize, Vec<f64>)> = Vec::new();
    let mut free = Vec::new();
    for column in order {
        let mut values = dense[column].clone();
        let at = |values: &[f64], row: usize| values.get(row).copied().unwrap_or(0.0);
        let size = values.iter().fold(0.0_f64, |size, value| size.max(value.abs()));
        for (pivot, known) in &basis {
            let share = at(&values, *pivot);
            if share != 0.0 {
                values.iter_mut().zip(known).for_each(|(value, known)| *value -= share * known);
            }
        }
        let best = (0..rows).max_by(|a, b| at(&values, *a).abs().total_cmp(&at(&values, *b).abs()));
        match best.map(|row| (row, at(&values, row))) {
            Some((row, value)) if value.abs() > SAME * size => {
                values.iter_mut().for_each(|entry| *entry /= value);
                basis.push((row, values));
            }
            _ => free.push(column),
        }
    }
    free.sort_unstable();
    free
}

/// A beam that bends, and the columns of its end moments.
#[derive(Clone, Debug)]
pub struct Beam {
    pub member: MemberId,
    pub length: f64,
    /// Newton square metres.
    pub stiffness: f64,
    pub ends: [Option<ColumnId>; 2],
}

/// A member with an axial force under some redundant that yields to it, or that
/// heat or a misfit lengthens.
#[derive(Clone, Debug)]
pub struct Pulled {
    pub column: ColumnId,
    pub member: MemberId,
    /// Metres a newton.
    pub give: f64,
    /// Metres.
    pub free: f64,
}

/// All that enters the coefficients.
#[derive(Clone, Debug, Default)]
pub struct Shares {
    pub pulled: Vec<Pulled>,
    pub beams: Vec<Beam>,
    /// Columns of reactions that yield, and that are moved.
    pub springs: Vec<ColumnId>,
    pub settled: Vec<ColumnId>,
}

/// One term of a coefficient besides those of axial forces.
#[derive(Clone, Copy, Debug)]
pub struct Term<'a> {
    pub source: Source<'a>,
    /// Metres or radians, per newton or newton-metre where it is so.
    pub value: f64,
}

#[derive(Clone, Copy, Debug)]
pub enum Source<'a> {
    /// The product of two straight lines of moments.
    Bending(&'a Beam),
    /// Loads between the joints that turn the ends of a beam as a simple span.
    Load(&'a Beam),
    Spring(ColumnId),
    Settlement(ColumnId),
}

impl Shares {
    pub fn of(problem: &Problem<'_>, released: &Released) -> Shares {
        let mut shares = Shares::default();
        let moved = released.unknowns.entries().filter(|(column, _)| released.is_moved(*column));
        for (column, unknown) in moved {
            let (give, free) = (released.give[column], released.free[column]);
            match *unknown {
                Unknown::Axial(member) if give != 0.0 || free != 0.0 => {
                    shares.pulled.push(Pulled { column, member, give, free });
                }
                Unknown::Axial(_) => {}
                Unknown::EndMoment(member, _) => {
                    if let Compliance::Value(compliance) = bending(problem.structure, member)
                        && shares.beams.last().is_none_or(|beam| beam.member != member)
                    {
                        // An end that no redundant turns may still be turned by the loads.
                        let end = |end| {
                            let is_end = |own: &Unknown| *own == Unknown::EndMoment(member, end);
                            released.unknowns.entries().find(|(_, own)| is_end(own)).map(|(column, _)| column)
                        };
                        let ends = [End::Start, End::Finish].map(end);
                        let length = problem.structure.member_length(member);
                        shares.beams.push(Beam { member, length, stiffness: 1.0 / compliance, ends });
                    }
                }
                Unknown::Reaction(..) => {
                    shares.springs.extend((give != 0.0).then_some(column));
                    shares.settled.extend((free != 0.0).then_some(column));
                }
            }
        }
        shares
    }

    /// What axial forces add to a coefficient.
    pub fn axial_sum(&self, released: &Released, pair: Pair) -> f64 {
        sum(self.pulled.iter().map(|bar| bar.product(released, pair)))
    }

    /// What is not axial: bending, springs, settlements.
    pub fn terms(&self, released: &Released, pair: Pair) -> Vec<Term<'_>> {
        let (i, j) = pair;
        let both = |column| (released.force(i, column), released.force(j, column));
        let mut terms = Vec::new();
        for beam in &self.beams {
            terms.extend(beam.bent(released, pair).map(|value| Term { source: Source::Bending(beam), value }));
            let turned = beam.turned(released).filter(|(column, _)| j == LOADS && both(*column).0 != 0.0);
            let turned: Vec<f64> = turned.map(|(column, turn)| turn * both(column).0).collect();
            if !turned.is_empty() {
                terms.push(Term { source: Source::Load(beam), value: turned.iter().sum() });
            }
        }
        let springs = self.springs.iter().map(|column| (column, both(*column))).filter(|(_, (r, s))| r * s != 0.0);
        terms.extend(
            springs.map(|(column, (r, s))| Term {
                source: Source::Spring(*column),
                value: r * s * released.give[*column],
            }),
        );
        let settled = self.settled.iter().filter(|column| j == LOADS && both(**column).0 != 0.0);
        terms.extend(settled.map(|column| Term {
            source: Source::Settlement(*column),
            value: both(*column).0 * released.free[*column],
        }));
        terms
    }
}

impl Pulled {
    /// What it adds to a coefficient.
    pub fn product(&self, released: &Released, (i, j): Pair) -> f64 {
        let free = if j == LOADS { self.free } else { 0.0 };
        released.force(i, self.column) * (released.force(j, self.column) * self.give + free)
    }
}

impl Beam {
    /// The moments at its ends in a state.
    pub fn moments(&self, released: &Released, state: StateId) -> [f64; 2] {
        self.ends.map(|column| column.map_or(0.0, |column| released.force(state, column)))
    }

    /// The integral of the product of its two lines of moments over its length,
    /// divided by its stiffness; `None` where one of them is zero.
    fn bent(&self, released: &Released, (i, j): Pair) -> Option<f64> {
        let ([a, b], [c, d]) = (self.moments(released, j), self.moments(released, i));
        let sixths = 2.0 * a * c + a * d + b * c + 2.0 * b * d;
        let is_bent = [a, b] != [0.0; 2] && [c, d] != [0.0; 2];
        is_bent.then(|| sixths * self.length / (6.0 * self.stiffness))
    }

    /// The ends that loads between its joints turn, as of a simple span, and
    /// that some redundant turns too: by how much, radians.
    pub fn turned<'a>(&'a self, released: &'a Released) -> impl Iterator<Item = (ColumnId, f64)> + 'a {
        let turns = self.ends.iter().flatten().map(|column| (*column, released.free[*column]));
        turns.filter(|(column, turn)| *turn != 0.0 && released.is_moved(*column))
    }
}
