//! Square systems: residuals, conditions, faults.

use kingpost::numeric::peel::Peel;
use kingpost::numeric::precise::reciprocal_power;
use kingpost::numeric::{
    Blocks, Factor, Flexibility, NumericError, RedundantFactor, Rng, Sparse, exact_rank, null_direction,
};
use nalgebra::DMatrix;

use crate::sample::{Doubles, Frame, largest, numbers};

fn loads(n: usize) -> Vec<f64> {
    numbers(n, &mut Rng::new(n as u64))
}

fn worst(matrix: &Sparse<f64>, x: &[f64], b: &[f64]) -> f64 {
    let most = largest(x).max(1.0);
    matrix.times(x).iter().zip(b).fold(0.0f64, |m, (a, b)| m.max((a - b).abs())) / most
}

#[test]
fn girders_and_sheets_solve_to_the_last_digits() {
    let mut small = Frame::girder(2);
    small.reactions[2] = (4, 1, 3);
    for frame in [small, Frame::girder(300), Frame::sheet(3, 1), Frame::sheet(20, 2)] {
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        let matrix = frame.matrix().unit();
        let b = loads(matrix.rows());
        for peel in [verdict.peel, Peel::nothing(matrix.rows(), matrix.columns())] {
            let factor = Factor::new(&matrix, &peel).unwrap();
            let x = factor.solve(&b).unwrap();
            assert!(worst(&matrix, &x, &b) < 1e-14, "{}", worst(&matrix, &x, &b));
            assert!(factor.condition().number < 1e8);
        }
    }
}

/// 4 on the diagonal, 1 beside it: well conditioned, yet substitution from one end magnifies 3.7 times a row.
#[test]
fn a_chain_that_magnifies_is_factored_with_pivoting() {
    let n = 120;
    let column =
        |j: usize| (j.saturating_sub(1)..(j + 2).min(n)).map(move |i| (i as u32, if i == j { 4.0 } else { 1.0 }));
    let matrix = Sparse::from_columns(n, (0..n).map(column)).unwrap();
    let peel = exact_rank(&Doubles(&matrix), &Blocks::uniform(n, 1), 1).unwrap().peel;
    assert!(peel.border.is_some());
    let factor = Factor::new(&matrix, &peel).unwrap();
    let b = loads(n);
    assert!(worst(&matrix, &factor.solve(&b).unwrap(), &b) < 1e-15);
    assert!(factor.condition().number < 10.0);
}

#[test]
fn borders_serve_the_transposed_system_too() {
    let frame = Frame::girder(60);
    let matrix = frame.matrix().unit();
    let peel = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap().peel;
    assert!(peel.border.is_some());
    let factor = Factor::new(&matrix, &peel).unwrap();
    let g = loads(matrix.rows());
    let u = factor.solve_transposed(&g).unwrap();
    assert!(worst(&matrix.transpose(), &u, &g) < 1e-14);
}

/// The matrix with rows and columns scaled to like size.
fn scaled(matrix: &Sparse<f64>) -> DMatrix<f64> {
    let mut dense = DMatrix::zeros(matrix.rows(), matrix.columns());
    (0..matrix.columns()).for_each(|j| matrix.column(j).for_each(|(i, value)| dense[(i, j)] = value));
    for _ in 0..2 {
        dense.row_iter_mut().for_each(|mut row| row *= reciprocal_power(row.amax()));
        dense.column_iter_mut().for_each(|mut column| column *= reciprocal_power(column.amax()));
    }
    dense
}

#[test]
fn condition_estimates_are_near_the_truth() {
    let one_norm = |a: &DMatrix<f64>| a.column_iter().map(|column| column.lp_norm(1)).fold(0.0, f64::max);
    for frame in [Frame::girder(1), Frame::girder(12), Frame::sheet(3, 5)] {
        let matrix = frame.matrix().unit();
        let factor = Factor::new(&matrix, &Peel::nothing(matrix.rows(), matrix.columns())).unwrap();
        let dense = scaled(&matrix);
        let truth = one_norm(&dense) * one_norm(&dense.try_inverse().unwrap());
        let estimate = factor.condition().number;
        assert!(estimate <= truth * 1.0001 && estimate * 3.0 >= truth, "{estimate} against {truth}");
    }
}

#[test]
fn scaling_a_unit_does_not_change_the_condition() {
    let frame = Frame::girder(7);
    let matrix = frame.matrix().unit();
    let column = |j| matrix.column(j).map(|(row, x)| (row as u32, if row % 3 == 0 { x * 1024.0 } else { x }));
    let mixed = Sparse::from_columns(matrix.rows(), (0..matrix.columns()).map(column)).unwrap();
    let all = Peel::nothing(matrix.rows(), matrix.columns());
    let conditions = [&matrix, &mixed].map(|m| Factor::new(m, &all).unwrap().condition().number);
    assert!((conditions[0] / conditions[1]).log10().abs() < 0.5, "{conditions:?}");
}

#[test]
fn faults_are_values() {
    let wide = Sparse::from_columns(1, [vec![(0, 1.0)], vec![(0, 1.0)]]).unwrap();
    let all = Peel::nothing(1, 2);
    assert_eq!(Factor::new(&wide, &all).err(), Some(NumericError::NotSquare { rows: 1, columns: 2 }));
    for n in [2usize, 100] {
        // The last two columns are alike.
        let column = |j: usize| vec![((j.min(n - 2)) as u32, 1.0), (((j.min(n - 2) + 1) % n) as u32, 0.5)];
        let singular = Sparse::from_columns(n, (0..n).map(column)).unwrap();
        let factor = Factor::new(&singular, &Peel::nothing(n, n));
        assert!(factor.is_err() || factor.unwrap().condition().number > 1e12);
    }
    let empty = Factor::new(&Sparse::from_columns(0, Vec::<Vec<_>>::new()).unwrap(), &Peel::nothing(0, 0)).unwrap();
    assert_eq!((empty.solve(&[]), empty.condition().number), (Ok(vec![]), 1.0));
    let one = Factor::new(&Sparse::from_columns(1, [vec![(0, 4.0)]]).unwrap(), &Peel::nothing(1, 1)).unwrap();
    assert_eq!(one.solve(&[2.0]), Ok(vec![0.5]));
    assert_eq!(one.solve(&[f64::NAN]), Err(NumericError::NotFiniteRight { row: 0 }));
    assert_eq!(one.solve(&[1.0, 2.0]), Err(NumericError::Mismatch { expected: 1, found: 2 }));
}

#[test]
fn several_right_sides_are_solved_as_one_by_one() {
    for frame in [Frame::girder(9), Frame::sheet(12, 3).roughened(1)] {
        let matrix = frame.matrix().unit();
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        let factor = Factor::new(&matrix, &verdict.peel).unwrap();
        let right: Vec<Vec<f64>> =
            (0..20).map(|k| loads(matrix.rows()).into_iter().map(|x| x * f64::from(k)).collect()).collect();
        let together = factor.solve_many(&right).unwrap();
        for (x, b) in together.iter().zip(&right) {
            assert!(worst(&matrix, x, b) < 1e-14);
            let alone = factor.solve(b).unwrap();
            let most = largest(&alone).max(1.0);
            assert!(x.iter().zip(&alone).all(|(x, y)| (x - y).abs() < 1e-9 * most));
        }
    }
}

#[test]
fn nothing_makes_it_panic() {
    let odd = [0.0, 1.0, -1.0, 0.1, 3.0, 1e300, -1e-300, 5e-324, f64::MAX, f64::MIN_POSITIVE, 1e16];
    let mut rng = Rng::new(11);
    for round in 0..600 {
        let n = 1 + rng.below(if round % 3 == 0 { 90 } else { 8 });
        let wild = round % 2 == 0;
        let mut column = |j: usize| -> Vec<(u32, f64)> {
            let mut entries = vec![((j as u32 * 7 + 3) % n as u32, 1.0)];
            for _ in 0..rng.below(4) {
                let value = if wild { odd[rng.below(odd.len())] } else { odd[rng.below(5)] };
                entries.push((rng.below(n) as u32, value));
            }
            entries
        };
        let Ok(matrix) = Sparse::from_columns(n, (0..n).map(&mut column)) else { continue };
        let blocks = Blocks::uniform(n, 2);
        let exact = Doubles(&matrix);
        let peel = exact_rank(&exact, &blocks, 1).unwrap().peel;
        if let Ok(factor) = Factor::new(&matrix, &peel) {
            assert!(factor.condition().number >= 1.0);
            if let Ok(x) = factor.solve(&vec![1.0; n]) {
                assert!(x.iter().all(|x| x.is_finite()));
            }
        }
        for diagonal in [vec![1.0; n], vec![0.0; n], (0..n).map(|i| [0.0, 1e-300, 1e300, 2.0][i % 4]).collect()] {
            let flexibility = Flexibility { diagonal, coupled: vec![] };
            if let Ok(factor) = RedundantFactor::new(&matrix, &blocks, &flexibility) {
                assert!(factor.condition().number >= 1.0);
                if let Ok(answers) = factor.solve_many(&[(&vec![1.0; n], &vec![0.5; n])]) {
                    let answer = &answers[0];
                    assert!(answer.columns.iter().chain(&answer.rows).all(|x| x.is_finite()));
                }
            }
        }
        let rows: Vec<u32> = (0..n as u32).step_by(2).collect();
        let _ = null_direction(&matrix, &rows);
    }
}
