//! Systems with columns to spare, against the full system solved dense.

use kingpost::numeric::peel::Peel;
use kingpost::numeric::precise::residual;
use kingpost::numeric::{Blocks, Factor, Flexibility, NumericError, RedundantFactor, Rng, Sparse, exact_rank};
use nalgebra::{DMatrix, DVector};

use crate::sample::{Frame, largest, numbers};

/// The full system [F −Bᵀ; B 0] solved dense.
fn dense(matrix: &Sparse<f64>, flexibility: &Flexibility, b: &[f64], g: &[f64]) -> DVector<f64> {
    let (m, n) = (matrix.rows(), matrix.columns());
    let mut a = DMatrix::zeros(m + n, m + n);
    for column in 0..n {
        a[(column, column)] = flexibility.diagonal[column];
        for (row, value) in matrix.column(column) {
            a[(column, n + row)] = -value;
            a[(n + row, column)] = value;
        }
    }
    for &(i, j, value) in &flexibility.coupled {
        a[(i as usize, j as usize)] = value;
        a[(j as usize, i as usize)] = value;
    }
    a.full_piv_lu().solve(&DVector::from_iterator(m + n, g.iter().chain(b).copied())).unwrap()
}

fn agrees(frame: &Frame, flexibility: &Flexibility, rng: &mut Rng) {
    let matrix = frame.matrix().unit();
    let (b, g) = (numbers(matrix.rows(), rng), numbers(matrix.columns(), rng));
    let factor = RedundantFactor::new(&matrix, &frame.blocks(), flexibility).unwrap();
    let answer = factor.solve_many(&[(&b, &g)]).unwrap().remove(0);
    let truth = dense(&matrix, flexibility, &b, &g);
    let largest = truth.amax().max(1.0);
    for (x, y) in answer.columns.iter().chain(&answer.rows).zip(truth.iter()) {
        assert!((x - y).abs() < 1e-11 * largest, "{x} {y}");
    }
}

/// Braced twice in every square, held at two joints, one of them at a slope.
fn stout(n: u32) -> Frame {
    let mut frame = Frame::sheet(n, 3).roughened(9);
    for i in 0..n {
        for j in 0..n {
            let at = i * (n + 1) + j;
            frame.bars.push((at, at + n + 2));
        }
    }
    frame.reactions.push((n, 3, -4));
    frame.reactions.push((n, 1, 1));
    frame
}

#[test]
fn every_kind_of_stiffness_agrees_with_the_dense_system() {
    let mut rng = Rng::new(1);
    for n in 1..5 {
        let frame = stout(n);
        let (bars, all) = (frame.bars.len(), frame.matrix().columns.len());
        let mut flexibility = Flexibility {
            diagonal: (0..all).map(|i| if i < bars { 0.5 + (i % 7) as f64 } else { 0.0 }).collect(),
            coupled: vec![(0, 1, 0.2), (3, 2, -0.4)],
        };
        agrees(&frame, &flexibility, &mut rng);
        // Supports that yield, and a bar that does not.
        flexibility.diagonal[all - 1] = 0.01;
        agrees(&frame, &flexibility, &mut rng);
        flexibility.diagonal[4] = 0.0;
        agrees(&frame, &flexibility, &mut rng);
    }
}

#[test]
fn a_determinate_system_does_not_care_for_stiffness() {
    let frame = Frame::girder(40);
    let matrix = frame.matrix().unit();
    let b = numbers(matrix.rows(), &mut Rng::new(2));
    let direct = Factor::new(&matrix, &Peel::nothing(matrix.rows(), matrix.columns()));
    let direct = direct.unwrap().solve(&b).unwrap();
    for stiff in [0.0, 1e-9, 1.0] {
        let flexibility = Flexibility { diagonal: vec![stiff; matrix.columns()], coupled: vec![] };
        let factor = RedundantFactor::new(&matrix, &frame.blocks(), &flexibility).unwrap();
        let answer = factor.solve_many(&[(&b, &vec![0.0; matrix.columns()])]).unwrap().remove(0);
        let most = largest(&direct);
        assert!(answer.columns.iter().zip(&direct).all(|(x, y)| (x - y).abs() < 1e-11 * most));
        assert!(factor.condition().number.is_finite());
    }
}

#[test]
fn a_large_redundant_sheet_is_in_equilibrium() {
    let frame = stout(30);
    assert_eq!(exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap().row_deficiency(), 0);
    let matrix = frame.matrix().unit();
    let bars = frame.bars.len();
    let flexibility = Flexibility {
        diagonal: (0..matrix.columns()).map(|i| if i < bars { 1e-9 * (1 + i % 5) as f64 } else { 0.0 }).collect(),
        coupled: vec![],
    };
    let factor = RedundantFactor::new(&matrix, &frame.blocks(), &flexibility).unwrap();
    let b = numbers(matrix.rows(), &mut Rng::new(3));
    let answer = factor.solve_many(&[(&b, &vec![0.0; matrix.columns()])]).unwrap().remove(0);
    let most = largest(&answer.columns).max(1.0);
    let off = largest(&residual(&matrix, &answer.columns, &b));
    assert!(off < 1e-14 * most, "{off}");
}

#[test]
fn faults_are_values() {
    let matrix = Sparse::from_columns(1, [vec![(0, 1.0)], vec![(0, 1.0)]]).unwrap();
    let blocks = Blocks::uniform(1, 1);
    let with = |diagonal: Vec<f64>, coupled: Vec<(u32, u32, f64)>| {
        RedundantFactor::new(&matrix, &blocks, &Flexibility { diagonal, coupled }).err()
    };
    assert_eq!(with(vec![1.0, 0.0], vec![]), None);
    assert_eq!(with(vec![1.0], vec![]), Some(NumericError::Mismatch { expected: 2, found: 1 }));
    assert_eq!(with(vec![0.0, 0.0], vec![]), Some(NumericError::Singular));
    assert_eq!(with(vec![1.0, -1.0], vec![]), Some(NumericError::NotAFlexibility { column: 1 }));
    assert_eq!(with(vec![1.0, 1.0], vec![(0, 1, 1.0)]), Some(NumericError::Singular));
    assert_eq!(with(vec![1.0, 1.0], vec![(0, 5, 1.0)]), Some(NumericError::NotAFlexibility { column: 0 }));
    let loose = Sparse::from_columns(2, [vec![(0, 1.0)]]).unwrap();
    let yielding = Flexibility { diagonal: vec![1.0], coupled: vec![] };
    let fault = RedundantFactor::new(&loose, &Blocks::uniform(2, 2), &yielding).err();
    assert_eq!(fault, Some(NumericError::Singular));
}
