//! Equations solved together where no sum leaves one unknown: two with their
//! elimination written out, more without.
//!
//! Must not know: how a structure is divided into parts.

use crate::present::document::{Formula, Sign, Step, words};

use super::part::{Balance, Sum, Unknown, UnknownId};
use super::pen::{Pen, equation, product, signed, sum};

/// Two sums with the same two unknowns, and what these are.
pub struct Pair<'a> {
    sums: [(&'a Balance, &'a Sum); 2],
    /// In each sum, of the first and of the second unknown.
    coefficients: [[f64; 2]; 2],
    pub values: [(UnknownId, f64); 2],
}

/// A coefficient as a number and as it is written; nothing for 1.
type Written = (f64, Option<Formula>);

impl<'a> Pair<'a> {
    /// Nothing where the two sums say the same, or one lacks an unknown that
    /// the elimination divides by.
    pub fn of(sums: [(&'a Balance, &'a Sum); 2], unknowns: &[Unknown], ids: [UnknownId; 2]) -> Option<Pair<'a>> {
        let coefficients = sums.map(|(balance, _)| ids.map(|id| balance.coefficient(id)));
        let [[a, b], [c, d]] = coefficients;
        let determinant = a * d - b * c;
        if a == 0.0 || determinant.abs() <= 1e-6 * (a * d).abs().max((b * c).abs()) {
            return None;
        }
        let [(first, _), (second, _)] = sums;
        let [p, q] = ids;
        let v = (c * first.known - a * second.known) / determinant;
        let u = -(first.known + b * v) / a;
        unknowns.get(p).and(unknowns.get(q))?;
        Some(Pair { sums, coefficients, values: [(q, v), (p, u)] })
    }

    /// The second unknown with the first eliminated, then the first by putting
    /// it back, in the order of the values.
    pub fn steps(&self, pen: &Pen<'_>, unknowns: &[Unknown]) -> Vec<Step> {
        let [(q, v), (p, u)] = self.values;
        let (Some(first), Some(second)) = (unknowns.get(p), unknowns.get(q)) else { return Vec::new() };
        let written = |index: usize, unknown: &Unknown, value: f64| -> Written {
            (value, self.sums.get(index).and_then(|(balance, _)| balance.coefficient_of(unknown)))
        };
        let [[a, b], [c, d]] = self.coefficients;
        let ([a, b], [c, d]) =
            ([written(0, first, a), written(0, second, b)], [written(1, first, c), written(1, second, d)]);
        let [k, l] = self.sums.map(|(balance, what)| {
            let size = (balance.known != 0.0).then(|| balance.total(pen, what));
            size.map_or_else(Vec::new, |size| vec![(balance.known, size)])
        });
        let eliminated = eliminated([&a, &b], [&c, &d], &k, &l);
        let quiet = second.quiet(pen, v);
        let back: Vec<(f64, Formula)> = if quiet == 0.0 { Vec::new() } else { vec![(v, second.shown(pen, v.abs()))] };
        let mut above: Vec<(Sign, Formula)> =
            k.iter().map(|(value, size)| signed(-value * a.0, size.clone())).collect();
        above.extend(back.into_iter().map(|(value, size)| signed(-value * b.0 * a.0, beside(&b, size))));
        let put_back = over(above, a.1.clone());
        let line = |label: &str, unknown: &Unknown, how: Option<Formula>, value: f64| {
            let shown = unknown.shown(pen, unknown.quiet(pen, value));
            let mut sides = vec![unknown.symbol.clone()];
            sides.extend(how.filter(|how| *how != shown));
            sides.push(shown);
            equation(words(label), sides, Vec::new())
        };
        vec![line("eliminated", second, eliminated, v), line("put back", first, put_back, u)]
    }
}

/// The second unknown of `a u + b v + k = 0` and `c u + d v + l = 0`: the first
/// equation times c less the second times a. What is known stands in terms.
pub fn eliminated(
    [a, b]: [&Written; 2],
    [c, d]: [&Written; 2],
    k: &[(f64, Formula)],
    l: &[(f64, Formula)],
) -> Option<Formula> {
    let below = a.0 * d.0 - b.0 * c.0;
    let turn = below.signum();
    let mut above: Vec<(Sign, Formula)> = Vec::new();
    if c.0 != 0.0 {
        above.extend(k.iter().map(|(value, size)| signed(c.0 * value * turn, beside(c, size.clone()))));
    }
    above.extend(l.iter().map(|(value, size)| signed(-a.0 * value * turn, beside(a, size.clone()))));
    let term = |p: &Written, q: &Written, sign: f64| {
        let factors: Vec<Formula> = p.1.iter().chain(&q.1).cloned().collect();
        let one = if factors.is_empty() { super::pen::whole(1) } else { product(factors) };
        signed(p.0 * q.0 * sign * turn, one)
    };
    let mut terms = vec![term(a, d, 1.0)];
    if b.0 != 0.0 && c.0 != 0.0 {
        terms.push(term(b, c, -1.0));
    }
    // What is taken off stands behind.
    terms.sort_by_key(|(sign, _)| *sign == Sign::Minus);
    over(above, Some(sum(terms)))
}

fn beside((_, factor): &Written, size: Formula) -> Formula {
    product(factor.iter().cloned().chain([size]).collect())
}

fn over(above: Vec<(Sign, Formula)>, below: Option<Formula>) -> Option<Formula> {
    if above.is_empty() {
        return None;
    }
    match (above.as_slice(), below) {
        ([(sign, one)], Some(below)) => {
            Some(sum(vec![(*sign, Formula::Fraction(Box::new(one.clone()), Box::new(below)))]))
        }
        (_, Some(below)) => Some(Formula::Fraction(Box::new(sum(above)), Box::new(below))),
        (_, None) => Some(sum(above)),
    }
}

/// Gauss's elimination with the largest pivot; `None` where the rank falls short.
pub fn eliminate(mut rows: Vec<(Vec<f64>, f64)>, unknowns: usize) -> Option<Vec<f64>> {
    let at = |row: &(Vec<f64>, f64), column: usize| row.0.get(column).copied().unwrap_or(0.0);
    let scale = |row: &(Vec<f64>, f64)| row.0.iter().fold(0.0_f64, |largest, value| largest.max(value.abs()));
    rows.iter_mut().for_each(|row| {
        let size = scale(row).max(f64::MIN_POSITIVE);
        row.0.iter_mut().for_each(|value| *value /= size);
        row.1 /= size;
    });
    for column in 0..unknowns {
        let best = (column..rows.len()).max_by(|a, b| {
            let size = |index: &usize| rows.get(*index).map_or(0.0, |row| at(row, column).abs());
            size(a).total_cmp(&size(b))
        })?;
        rows.swap(column, best);
        let pivot_row = rows.get(column)?.clone();
        let pivot = at(&pivot_row, column);
        if pivot.abs() < 1e-10 {
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
