//! The released structure of the force method: which unknowns are set free,
//! the forces without them and under one unit of each, and the gaps.
//!
//! Must not know: how it is told.

use crate::base::MemberId;
use crate::numeric::Flexibility;
use crate::present::document::Formula;
use crate::solution::elimination::eliminate;
use crate::solution::part::NO_SUM;
use crate::statics::equilibrium::{Balance, Component, End, Equilibrium, Unknown};
use crate::statics::flexibility::{deform, flexibilities, free_deformation};
use crate::statics::{CaseResult, spans};

use super::pen::{Pen, symbol, zero};

/// Forces under one unit of a redundant below this share of the largest are zero.
const NO_FORCE: f64 = 1e-10;
/// A column that depends on others but for this share of its size is theirs.
const DEPENDENT: f64 = 1e-9;

/// A structure with its redundants set free.
pub struct Released {
    pub equilibrium: Equilibrium,
    /// The columns released.
    pub redundants: Vec<usize>,
    /// Forces in the released structure under the loads.
    pub under_loads: Vec<f64>,
    /// Under one newton, or newton-metre, of each redundant.
    pub under_one: Vec<Vec<f64>>,
    /// Movement of each redundant under the loads: metres, or radians.
    pub gaps: Vec<f64>,
    pub coefficients: Vec<Vec<f64>>,
    pub values: Vec<f64>,
    /// Of each unknown: metres a newton, and metres without any force.
    pub give: Vec<f64>,
    pub free: Vec<f64>,
}

impl Released {
    /// Forces under the loads (0), or under one unit of a redundant, by its number.
    pub fn under(&self, number: usize) -> &[f64] {
        let own = number.checked_sub(1).map_or(Some(&self.under_loads), |index| self.under_one.get(index));
        own.map_or(&[], Vec::as_slice)
    }

    /// A force under the loads or one unit of a redundant.
    pub fn force(&self, number: usize, column: usize) -> f64 {
        self.under(number).get(column).copied().unwrap_or(0.0)
    }

    /// The column of a redundant, by its number from 1.
    pub fn column(&self, number: usize) -> Option<usize> {
        self.redundants.get(number.checked_sub(1)?).copied()
    }

    pub fn degree(&self) -> usize {
        self.redundants.len()
    }

    pub fn is_couple(&self, column: usize) -> bool {
        matches!(
            self.equilibrium.unknowns.get(column),
            Some(Unknown::EndMoment(..) | Unknown::Reaction(_, Component::Turn))
        )
    }

    /// Gives the couples at supports the sense that the page counts as positive.
    fn turn(&mut self, sign: f64) {
        let is_turned = |unknown: Option<&Unknown>| matches!(unknown, Some(Unknown::Reaction(_, Component::Turn)));
        let signs: Vec<f64> =
            self.equilibrium.unknowns.iter().map(|unknown| if is_turned(Some(unknown)) { sign } else { 1.0 }).collect();
        let by = |values: &mut [f64], signs: &[f64], own: f64| {
            values.iter_mut().zip(signs).for_each(|(value, sign)| *value *= sign * own);
        };
        let of_redundants: Vec<f64> =
            self.redundants.iter().map(|column| signs.get(*column).copied().unwrap_or(1.0)).collect();
        by(&mut self.under_loads, &signs, 1.0);
        by(&mut self.free, &signs, 1.0);
        by(&mut self.gaps, &of_redundants, 1.0);
        by(&mut self.values, &of_redundants, 1.0);
        for (own, forces) in of_redundants.iter().zip(&mut self.under_one) {
            by(forces, &signs, *own);
        }
        for (own, row) in of_redundants.iter().zip(&mut self.coefficients) {
            by(row, &of_redundants, *own);
        }
    }

    /// Whether a redundant, by its number, is a couple.
    pub fn turns(&self, number: usize) -> bool {
        self.column(number).is_some_and(|column| self.is_couple(column))
    }
}

/// Sets free as many unknowns as there are too many; `None` where floats do not
/// find them.
pub fn release(pen: &Pen<'_>, equilibrium: Equilibrium, degree: usize, result: &CaseResult) -> Option<Released> {
    let structure = pen.structure;
    let (rows, columns) = (equilibrium.rows.len(), equilibrium.unknowns.len());
    let size = structure.size();
    let row_scale: Vec<f64> = (0..rows)
        .map(|row| {
            let (_, balance) = equilibrium.rows.joint_of(u32::try_from(row).unwrap_or(0));
            if balance == Balance::Moment { 1.0 / size } else { 1.0 }
        })
        .collect();
    let dense: Vec<Vec<f64>> = equilibrium
        .columns()
        .iter()
        .map(|column| {
            let mut values = vec![0.0; rows];
            equilibrium.floating_column(column, &mut |row, value| {
                if let (Some(slot), Some(scale)) = (values.get_mut(row as usize), row_scale.get(row as usize)) {
                    *slot += value * scale;
                }
            });
            values
        })
        .collect();
    let redundants = dependent(&equilibrium, &dense, rows);
    if redundants.len() != degree || columns - degree != rows {
        return None;
    }
    let kept: Vec<usize> = (0..columns).filter(|column| !redundants.contains(column)).collect();
    let solve = |right: &dyn Fn(usize) -> f64| -> Option<Vec<f64>> {
        let entry =
            |column: &usize, row: usize| dense.get(*column).and_then(|values| values.get(row)).copied().unwrap_or(0.0);
        let lines = (0..rows).map(|row| (kept.iter().map(|column| entry(column, row)).collect(), right(row))).collect();
        let values = eliminate(lines, kept.len())?;
        let mut all = vec![0.0; columns];
        for (column, value) in kept.iter().zip(values) {
            *all.get_mut(*column)? = value;
        }
        Some(all)
    };
    let flexibility = flexibilities(structure, &equilibrium);
    let mut load = vec![0.0; rows];
    let mut free = vec![0.0; columns];
    for (case, factor) in result.subject.factors(structure) {
        let factor = factor.to_f64();
        let actions = spans::actions(structure, &equilibrium.rows, case);
        let add = |total: &mut Vec<f64>, part: Vec<f64>| {
            total.iter_mut().zip(part).for_each(|(total, part)| *total += factor * part);
        };
        add(&mut load, actions.on_joints(structure, &equilibrium.rows));
        add(&mut free, free_deformation(structure, &equilibrium, case, &actions.spans));
    }
    let scaled = |values: &[f64], row: usize| {
        values.get(row).copied().unwrap_or(0.0) * row_scale.get(row).copied().unwrap_or(1.0)
    };
    let is_couple = |column: usize| {
        matches!(equilibrium.unknowns.get(column), Some(Unknown::EndMoment(..) | Unknown::Reaction(_, Component::Turn)))
    };
    let mut under_loads = solve(&|row| -scaled(&load, row))?;
    for (column, force) in under_loads.iter_mut().enumerate() {
        *force = if is_couple(column) { pen.quiet_moment(*force) } else { pen.quiet(*force) };
    }
    let mut under_one = Vec::new();
    for column in &redundants {
        let values = dense.get(*column)?;
        let mut forces = solve(&|row| -values.get(row).copied().unwrap_or(0.0))?;
        *forces.get_mut(*column)? = 1.0;
        for couples in [false, true] {
            let own = forces.iter().enumerate().filter(|(column, _)| is_couple(*column) == couples);
            let largest = own.fold(0.0_f64, |largest, (_, force)| largest.max(force.abs()));
            for (column, force) in forces.iter_mut().enumerate() {
                if is_couple(column) == couples && force.abs() <= NO_FORCE * largest {
                    *force = 0.0;
                }
            }
        }
        under_one.push(forces);
    }
    let gaps: Vec<f64> = {
        let mut strained = deform(&flexibility, &under_loads);
        strained.iter_mut().zip(&free).for_each(|(strained, free)| *strained += free);
        under_one.iter().map(|forces| dot(forces, &strained)).collect()
    };
    let coefficients: Vec<Vec<f64>> = under_one.iter().map(|one| row_of(&flexibility, one, &under_one)).collect();
    let lines = coefficients.iter().cloned().zip(gaps.iter().map(|gap| -gap)).collect();
    let values = eliminate(lines, degree)?;
    let give = flexibility.diagonal;
    let mut released =
        Released { equilibrium, redundants, under_loads, under_one, gaps, coefficients, values, give, free };
    released.turn(structure.turning_sign());
    Some(released)
}

fn row_of(flexibility: &Flexibility, one: &[f64], all: &[Vec<f64>]) -> Vec<f64> {
    let strained = deform(flexibility, one);
    all.iter().map(|other| dot(other, &strained)).collect()
}

/// Zero where what is added up is far larger.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let products = || a.iter().zip(b).map(|(a, b)| a * b);
    let size: f64 = products().map(f64::abs).sum();
    let sum: f64 = products().sum();
    if sum.abs() <= NO_SUM * size { 0.0 } else { sum }
}

/// Columns that depend on those before them, reactions looked at last: what
/// can be released. The floats only choose; a wrong choice is found out by the
/// count.
fn dependent(equilibrium: &Equilibrium, dense: &[Vec<f64>], rows: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..dense.len()).collect();
    let rank = |column: &usize| match equilibrium.unknowns.get(*column) {
        Some(Unknown::Axial(_)) => 0,
        Some(Unknown::EndMoment(..)) | None => 1,
        Some(Unknown::Reaction(..)) => 2,
    };
    order.sort_by_key(|column| (rank(column), *column));
    let mut basis: Vec<(usize, Vec<f64>)> = Vec::new();
    let mut free = Vec::new();
    for column in order {
        let Some(mut values) = dense.get(column).cloned() else { continue };
        let size = values.iter().fold(0.0_f64, |size, value| size.max(value.abs()));
        for (pivot, known) in &basis {
            let share = values.get(*pivot).copied().unwrap_or(0.0);
            if share != 0.0 {
                values.iter_mut().zip(known).for_each(|(value, known)| *value -= share * known);
            }
        }
        let best = (0..rows).max_by(|a, b| {
            let at = |row: &usize| values.get(*row).map_or(0.0, |value: &f64| value.abs());
            at(a).total_cmp(&at(b))
        });
        let pivot = best.and_then(|row| values.get(row).map(|value| (row, *value)));
        match pivot {
            Some((row, value)) if value.abs() > DEPENDENT * size => {
                values.iter_mut().for_each(|entry| *entry /= value);
                basis.push((row, values));
            }
            _ => free.push(column),
        }
    }
    free.sort_unstable();
    free
}

/// The symbol of an unknown of the equations.
pub fn name(pen: &Pen<'_>, released: &Released, column: usize) -> Formula {
    name_in(pen, &released.equilibrium, column)
}

/// The same by the equations.
pub fn name_in(pen: &Pen<'_>, equilibrium: &Equilibrium, column: usize) -> Formula {
    match equilibrium.unknowns.get(column) {
        Some(Unknown::Axial(member)) => match pen.bar_force(*member) {
            Formula::Symbol { subscript, .. } if is_beam(pen, *member) => symbol("N", subscript),
            other => other,
        },
        Some(Unknown::EndMoment(member, end)) => {
            let ends = &pen.structure.members[*member];
            let (here, there) = if *end == End::Start { (ends.start, ends.end) } else { (ends.end, ends.start) };
            symbol("M", format!("{},{}", pen.joint(here), pen.joint(there)))
        }
        Some(Unknown::Reaction(support, component)) => pen.reaction(*support, *component),
        None => zero(),
    }
}

pub fn is_beam(pen: &Pen<'_>, member: MemberId) -> bool {
    pen.structure.members[member].kind == crate::syntax::tree::MemberKind::Beam
}

/// A movement, or a movement per unit of a redundant, with its unit.
/// Redundants by their numbers; per 0 is a movement under the loads.
pub fn movement(pen: &Pen<'_>, released: &Released, of: usize, per: usize, value: f64) -> Formula {
    let is_turn = released.turns(of);
    let (mut scale, mut unit) = if is_turn {
        (1.0, "rad".to_owned())
    } else {
        (pen.deflection().unit.factor.to_f64(), pen.deflection().symbol.clone())
    };
    if per > 0 {
        let by = if released.turns(per) { &pen.moment } else { &pen.force };
        scale /= by.unit.factor.to_f64();
        let symbol = if by.symbol.contains('·') { format!("({})", by.symbol) } else { by.symbol.clone() };
        unit = format!("{unit}/{symbol}");
    }
    let digits = pen.figures(value / scale);
    let unit = if digits == "0" { String::new() } else { unit };
    Formula::Number { digits, unit }
}
