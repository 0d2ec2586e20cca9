//! Equations solved together where no sum leaves one unknown.
//!
//! Must not know: how a structure is divided into parts.

use super::part::{Balance, UnknownId};
use crate::base::tolerances::{ELIMINATED, WEAK};

/// Two sums with the same two unknowns, and what these are.
#[derive(Clone, Debug)]
pub struct Pair {
    pub sums: [Balance; 2],
    pub unknowns: [UnknownId; 2],
    /// The second unknown, with the first eliminated, then the first.
    pub gives: [(UnknownId, f64); 2],
}

impl Pair {
    /// Nothing where the two sums say the same, or one lacks an unknown that
    /// the elimination divides by.
    pub fn of(sums: [&Balance; 2], unknowns: [UnknownId; 2]) -> Option<Pair> {
        let [first, second] = sums;
        let [[a, b], [c, d]] = sums.map(|balance| unknowns.map(|id| balance.coefficient(id)));
        let determinant = a * d - b * c;
        if a == 0.0 || determinant.abs() <= WEAK * (a * d).abs().max((b * c).abs()) {
            return None;
        }
        let [p, q] = unknowns;
        let v = (c * first.known - a * second.known) / determinant;
        let u = -(first.known + b * v) / a;
        Some(Pair { sums: sums.map(Balance::clone), unknowns, gives: [(q, v), (p, u)] })
    }
}

/// Gauss's elimination with the largest pivot; `None` where the rank falls short.
pub fn eliminate(mut rows: Vec<(Vec<f64>, f64)>, unknowns: usize) -> Option<Vec<f64>> {
    let at = |row: &(Vec<f64>, f64), column: usize| row.0.get(column).copied().unwrap_or(0.0);
    for (row, right) in &mut rows {
        let size = row.iter().fold(f64::MIN_POSITIVE, |largest, value| largest.max(value.abs()));
        row.iter_mut().for_each(|value| *value /= size);
        *right /= size;
    }
    for column in 0..unknowns {
        let best = (column..rows.len()).max_by(|a, b| {
            let size = |index: &usize| rows.get(*index).map_or(0.0, |row| at(row, column).abs());
            size(a).total_cmp(&size(b))
        })?;
        rows.swap(column, best);
        let pivot_row = rows.get(column)?.clone();
        let pivot = at(&pivot_row, column);
        if pivot.abs() < ELIMINATED {
            return None;
        }
        for (_, row) in rows.iter_mut().enumerate().filter(|(index, _)| *index != column) {
            let share = at(row, column) / pivot;
            if share != 0.0 {
                row.0.iter_mut().zip(&pivot_row.0).for_each(|(value, own)| *value -= share * own);
                row.1 -= share * pivot_row.1;
            }
        }
    }
    (0..unknowns).map(|column| rows.get(column).map(|row| row.1 / at(row, column))).collect()
}
