//! The force method, against the method of displacements.

use kingpost::numeric::peel::Peel;
use kingpost::numeric::{Flexibility, NumericError, RedundantFactor, Rng, SpareFactor, Sparse, exact_rank};

use crate::sample::{Frame, numbers};

/// A sheet with this many bars to spare, and the columns of the bars.
fn sheet(spare: u32) -> (Frame, Vec<u32>) {
    let mut frame = Frame::sheet(6, 3).roughened(9);
    let first = frame.bars.len() as u32;
    frame.bars.extend((0..spare).map(|i| (8 * i, 8 * i + 8)));
    (frame, (first..first + spare).collect())
}

#[test]
fn it_agrees_with_the_method_of_displacements() {
    let mut rng = Rng::new(4);
    for count in 0..5 {
        let (frame, spare) = sheet(count);
        let (matrix, bars) = (frame.matrix().unit(), frame.bars.len());
        let rank = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        assert_eq!((rank.row_deficiency(), rank.column_deficiency()), (0, count as usize));
        let flexibility = Flexibility {
            diagonal: (0..matrix.columns()).map(|i| if i < bars { 0.5 + (i % 7) as f64 } else { 0.0 }).collect(),
            coupled: vec![(0, 1, 0.2), (3, 2, -0.4)],
        };
        let (b, g) = (numbers(matrix.rows(), &mut rng), numbers(matrix.columns(), &mut rng));
        let peel = Peel::nothing(matrix.rows(), matrix.rows());
        let few = SpareFactor::new(matrix.clone(), flexibility.clone(), &spare, &peel).unwrap();
        let all = RedundantFactor::new(&matrix, &frame.blocks(), &flexibility).unwrap();
        let right = [(b.as_slice(), g.as_slice())];
        let (few, all) = (few.solve_many(&right).unwrap().remove(0), all.solve_many(&right).unwrap().remove(0));
        for (x, y) in few.columns.iter().zip(&all.columns).chain(few.rows.iter().zip(&all.rows)) {
            assert!((x - y).abs() < 1e-9 * y.abs().max(1.0), "{x} {y}");
        }
    }
}

#[test]
fn faults_are_values() {
    let matrix = Sparse::from_columns(1, [vec![(0, 1.0)], vec![(0, 1.0)]]).unwrap();
    let with = |diagonal: Vec<f64>, spare: &[u32]| {
        let flexibility = Flexibility { diagonal, coupled: vec![] };
        SpareFactor::new(matrix.clone(), flexibility, spare, &Peel::nothing(1, 1)).err()
    };
    assert_eq!(with(vec![1.0, 0.0], &[0]), None);
    // Nothing decides between two that do not yield.
    assert_eq!(with(vec![0.0, 0.0], &[0]), Some(NumericError::Singular));
    assert_eq!(with(vec![1.0], &[0]), Some(NumericError::Mismatch { expected: 2, found: 1 }));
    assert_eq!(with(vec![1.0, 1.0], &[]), Some(NumericError::NotSquare { rows: 1, columns: 2 }));
}
