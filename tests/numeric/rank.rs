//! The exact verdict on a matrix, against dense elimination over fractions.

use kingpost::numeric::groups::Group;
use kingpost::numeric::rank::{quick_rank, rank_over};
use kingpost::numeric::{Blocks, ExactMatrix, NumericError, Prime, Scalar, exact_rank, exact_rank_only, null_residues};
use num_traits::Zero;
use proptest::prelude::*;

use crate::sample::{Frame, Whole, dense_null_space};

/// The places some null vector touches, the dense exact way.
fn touched(basis: &[Vec<num_rational::BigRational>], n: usize) -> Vec<u32> {
    (0..n as u32).filter(|&i| basis.iter().any(|vector| !vector[i as usize].is_zero())).collect()
}

fn members(groups: &[Group]) -> Vec<u32> {
    let mut all: Vec<u32> = groups.iter().flat_map(|group| group.members.iter().copied()).collect();
    all.sort_unstable();
    all
}

fn only_columns(matrix: &Whole, keep: &[u32]) -> Whole {
    Whole { rows: matrix.rows, columns: keep.iter().map(|&c| matrix.columns[c as usize].clone()).collect() }
}

/// Every set is dependent and no set short of one member is.
fn check_sets(matrix: &Whole, groups: &[Group]) {
    for group in groups {
        assert_eq!(group.sets.len(), group.degree);
        for set in &group.sets {
            let part = only_columns(matrix, set);
            let basis = dense_null_space(part.dense(), set.len());
            assert_eq!(basis.len(), 1, "{set:?}");
            assert_eq!(touched(&basis, set.len()).len(), set.len(), "{set:?}");
            assert!(set.iter().all(|item| group.members.contains(item)));
        }
    }
}

fn check(matrix: &Whole, blocks: &Blocks, seed: u64) {
    let verdict = exact_rank(matrix, blocks, seed).unwrap();
    let right = dense_null_space(matrix.dense(), matrix.columns.len());
    let turned = matrix.transposed();
    let left = dense_null_space(turned.dense(), matrix.rows);
    let degrees = |groups: &[Group]| groups.iter().map(|group| group.degree).sum::<usize>();
    // The way large matrices go comes to the same; blocks and peeling guide the order, never the verdict.
    let quick = quick_rank(matrix, blocks, seed).unwrap().unwrap();
    let other = exact_rank(matrix, &Blocks::uniform(matrix.rows, 1), seed + 1).unwrap();
    for verdict in [&verdict, &quick, &other] {
        assert_eq!(verdict.rank, matrix.columns.len() - right.len());
        assert_eq!(members(&verdict.column_groups), touched(&right, matrix.columns.len()));
        assert_eq!(members(&verdict.row_groups), touched(&left, matrix.rows));
        assert_eq!((degrees(&verdict.column_groups), degrees(&verdict.row_groups)), (right.len(), left.len()));
        check_sets(matrix, &verdict.column_groups);
        check_sets(&turned, &verdict.row_groups);
    }
    assert_eq!(exact_rank_only(matrix, blocks, seed), Ok(verdict.rank));
    let residues = matrix.over::<Prime>().unwrap();
    for set in verdict.row_groups.iter().flat_map(|group| &group.sets) {
        let mut z = vec![Prime::ZERO; matrix.rows];
        for (&row, value) in set.iter().zip(null_residues(matrix, set, seed).unwrap()) {
            assert!(!value.is_zero());
            z[row as usize] = value;
        }
        assert!(residues.transpose_times(&z).iter().all(|sum| sum.is_zero()));
    }
    for rank in [&verdict, &quick] {
        for group in rank.row_groups.iter().filter(|group| group.degree == 1) {
            let mut z = vec![Prime::ZERO; matrix.rows];
            let found = rank.residues_of(group).unwrap();
            group.members.iter().zip(found).for_each(|(&row, value)| z[row as usize] = value);
            assert!(group.members.iter().all(|&row| !z[row as usize].is_zero()));
            assert!(residues.transpose_times(&z).iter().all(|sum| sum.is_zero()));
        }
    }
    let again = exact_rank(matrix, blocks, seed).unwrap();
    assert_eq!((verdict.row_groups, verdict.column_groups), (again.row_groups, again.column_groups));
}

proptest! {
    #[test]
    fn random_frames_agree_with_fractions(seed: u64, joints in 1u32..9, bars in 0usize..18, reactions in 0usize..5) {
        let frame = Frame::random(joints, bars, reactions, seed);
        check(&frame.matrix(), &frame.blocks(), seed >> 1);
    }

    #[test]
    fn random_matrices_agree_with_fractions(
        rows in 1usize..8,
        columns in prop::collection::vec(prop::collection::vec((0u32..8, -2i64..3), 0..5), 0..9),
        size in 1usize..5,
    ) {
        let mut columns = columns;
        for column in &mut columns {
            column.iter_mut().for_each(|(row, _)| *row %= rows as u32);
        }
        check(&Whole { rows, columns }, &Blocks::uniform(rows, size), 7);
    }
}

#[test]
fn nothing_at_all() {
    check(&Whole { rows: 0, columns: vec![] }, &Blocks::uniform(0, 2), 1);
    check(&Whole { rows: 0, columns: vec![vec![], vec![]] }, &Blocks::uniform(0, 2), 1);
    check(&Whole { rows: 3, columns: vec![] }, &Blocks::uniform(3, 2), 1);
    check(&Whole { rows: 2, columns: vec![vec![], vec![(0, 1)]] }, &Blocks::uniform(2, 2), 1);
    let wrong = exact_rank(&Whole { rows: 2, columns: vec![] }, &Blocks::uniform(3, 1), 1);
    assert_eq!(wrong.err(), Some(NumericError::Mismatch { expected: 2, found: 3 }));
}

#[test]
fn frames_of_the_trade() {
    for panels in 1..5 {
        let frame = Frame::girder(panels);
        check(&frame.matrix(), &frame.blocks(), 3);
    }
    for n in 1..4 {
        let mut frame = Frame::sheet(n, u64::from(n));
        check(&frame.matrix(), &frame.blocks(), 3);
        // One square loses its brace and another gets a second: the count stays right.
        frame.bars.pop();
        frame.bars.push((0, n + 2));
        frame.bars.push((1, n + 1));
        frame.bars.dedup();
        check(&frame.matrix(), &frame.blocks(), 3);
    }
}

#[test]
fn separate_faults_come_as_separate_groups() {
    // Two girders of one panel each: one lacks its diagonal, one has two.
    let open = Frame { joints: vec![(0, 0), (0, 4), (3, 0), (3, 4)], ..Frame::default() };
    let mut frame = open.clone();
    frame.joints.extend(open.joints.iter().map(|&(x, y)| (x + 100, y)));
    let square = [(0, 1), (2, 3), (0, 2), (1, 3)];
    frame.bars.extend(square);
    frame.bars.extend(square.map(|(a, b)| (a + 4, b + 4)));
    frame.bars.extend([(4, 7), (5, 6)]);
    frame.reactions = vec![(0, 1, 0), (0, 0, 1), (2, 0, 1), (4, 1, 0), (4, 0, 1), (6, 0, 1)];
    let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 5).unwrap();
    assert_eq!((verdict.rows, verdict.columns, verdict.rank), (16, 16, 15));
    assert_eq!(verdict.row_groups, [Group { members: vec![2, 6], degree: 1, sets: vec![vec![2, 6]] }]);
    let bars: Vec<u32> = (4..10).collect();
    assert_eq!(verdict.column_groups, [Group { members: bars.clone(), degree: 1, sets: vec![bars] }]);
}

#[test]
fn larger_frames_are_full() {
    for frame in [Frame::girder(500), Frame::sheet(30, 9)] {
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        assert_eq!((verdict.rank, verdict.row_groups.len(), verdict.column_groups.len()), (verdict.rows, 0, 0));
    }
}

#[test]
fn a_larger_sheet_short_of_one_brace_moves() {
    let mut frame = Frame::sheet(25, 4);
    frame.bars.pop();
    let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
    assert_eq!((verdict.row_deficiency(), verdict.column_deficiency()), (1, 0));
    assert_eq!(verdict.row_groups.len(), 1);
    let quick = quick_rank(&frame.matrix(), &frame.blocks(), 1).unwrap().unwrap();
    assert_eq!(quick.row_groups, verdict.row_groups);
    // The squares of the last row or column of squares lean; all else stays.
    let moving: Vec<u32> = verdict.row_groups[0].members.iter().map(|row| row / 2).collect();
    assert!(moving.len() >= 26, "{moving:?}");
}

#[test]
fn a_large_faulty_sheet_comes_to_the_same_by_both_ways() {
    let n = 72;
    let mut frame = Frame::sheet(n, 4).roughened(8);
    frame.bars.pop();
    frame.bars.extend([(0, n + 2), (1, n + 1)]);
    let (matrix, blocks) = (frame.matrix(), frame.blocks());
    assert!(matrix.rows >= 10_000);
    let quick = exact_rank(&matrix, &blocks, 1).unwrap();
    let (whole, _) = rank_over(&matrix.over::<Prime>().unwrap(), &blocks, 1).unwrap();
    assert_eq!((quick.row_deficiency(), quick.column_deficiency()), (1, 2));
    assert_eq!(quick.rank, whole.rank);
    assert_eq!(quick.row_groups, whole.row_groups);
    assert_eq!(members(&quick.column_groups), members(&whole.column_groups));
    let again = exact_rank(&matrix, &blocks, 1).unwrap();
    assert_eq!((quick.row_groups, quick.column_groups), (again.row_groups, again.column_groups));
}

/// Here a pivot vanishes in the small field by accident, and the weights must be drawn once more.
#[test]
fn an_accident_of_the_small_field_is_overcome() {
    let frame = Frame::random(8, 9, 4, 16_107_970_173_257_522_798);
    check(&frame.matrix(), &frame.blocks(), 16_107_970_173_257_522_798 >> 1);
}
