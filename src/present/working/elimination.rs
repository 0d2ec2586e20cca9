//! Equations solved together where no sum leaves one unknown.
//!
//! Must not know: what the unknowns are.

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
