//! Null vectors in doubles annihilate their matrix.

use kingpost::numeric::{NumericError, Sparse, exact_rank, null_direction};

use crate::sample::{Frame, largest};

#[test]
fn directions_annihilate_the_matrix() {
    for seed in 0..200 {
        let frame = Frame::random(3 + seed % 6, 4 + seed as usize % 9, seed as usize % 5, u64::from(seed));
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        let matrix = frame.matrix().unit();
        let turned = matrix.transpose();
        for (matrix, groups) in [(&matrix, &verdict.row_groups), (&turned, &verdict.column_groups)] {
            for set in groups.iter().flat_map(|group| &group.sets) {
                let z = null_direction(matrix, set).unwrap();
                let mut full = vec![0.0; matrix.rows()];
                set.iter().zip(&z).for_each(|(&row, &z)| full[row as usize] = z);
                let off = largest(&matrix.transpose_times(&full));
                assert!(off < 1e-12, "{off} at seed {seed}");
                assert!(z.iter().all(|z| z.abs() > 1e-9 && z.abs() <= 1.0));
            }
        }
    }
}

#[test]
fn a_large_mechanism_has_a_direction() {
    let mut frame = Frame::sheet(30, 4).roughened(3);
    frame.bars.pop();
    let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
    assert_eq!(verdict.row_groups.len(), 1);
    let z = null_direction(&frame.matrix().unit(), &verdict.row_groups[0].members).unwrap();
    let mut full = vec![0.0; verdict.rows];
    verdict.row_groups[0].members.iter().zip(&z).for_each(|(&row, &z)| full[row as usize] = z);
    let off = largest(&frame.matrix().unit().transpose_times(&full));
    assert!(off < 1e-10, "{off}");
}

#[test]
fn odd_requests_are_answered() {
    let matrix = Sparse::from_columns(2, [vec![(0, 1.0)]]).unwrap();
    assert_eq!(null_direction(&matrix, &[]), Ok(vec![]));
    assert_eq!(null_direction(&matrix, &[1]), Ok(vec![1.0]));
    assert_eq!(null_direction(&matrix, &[7]), Err(NumericError::RowOutOfRange { row: 7, column: 0 }));
}
