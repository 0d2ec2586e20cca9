//! Peeling, and the border that a few columns set aside make.

use kingpost::numeric::peel::{Peel, Steps};
use kingpost::numeric::{ExactMatrix, Prime, Rng, exact_rank};

use crate::sample::Frame;

/// A simple truss: two bars from each further joint to two that stand, held at three joints anywhere.
fn simple_truss(joints: u32, seed: u64) -> Frame {
    let mut rng = Rng::new(seed);
    let mut draw = |bound: usize| rng.below(bound) as i64;
    let mut frame = Frame { joints: vec![(0, 0), (40, 3)], bars: vec![(0, 1)], ..Frame::default() };
    for joint in 2..joints {
        frame.joints.push((i64::from(joint) * 17 + draw(30), draw(300)));
        let first = joint - 1 - draw(joint.min(3) as usize - 1) as u32;
        let second = first.checked_sub(1).unwrap_or(1);
        frame.bars.extend([(first, joint), (second, joint)]);
    }
    let mut at = |reaction: (i64, i64)| (draw(joints as usize) as u32, reaction.0, reaction.1);
    frame.reactions = vec![at((1, 0)), at((0, 1)), at((2, 3))];
    frame
}

/// All rows and all columns that a peel names.
fn lists(peel: &Peel) -> [Vec<u32>; 2] {
    let steps =
        |steps: &Steps| (0..steps.len()).map(|at| steps.step(at)).map(|(r, c)| (r.to_vec(), c.to_vec())).unzip();
    let core = (vec![peel.core_rows.clone()], vec![peel.core_columns.clone()]);
    let parts: [(Vec<Vec<u32>>, Vec<Vec<u32>>); 3] = [steps(&peel.forward), steps(&peel.backward), core];
    let (rows, columns): (Vec<_>, Vec<_>) = parts.into_iter().unzip();
    [rows, columns].map(|lists| {
        let mut all = lists.concat().concat();
        all.sort_unstable();
        all
    })
}

#[test]
fn simple_trusses_peel_to_the_end_whatever_holds_them() {
    let (mut bordered, mut left) = (0, 0);
    for seed in 0..60 {
        let frame = simple_truss(3 + seed as u32, seed);
        let (matrix, blocks) = (frame.matrix(), frame.blocks());
        let verdict = exact_rank(&matrix, &blocks, 1).unwrap();
        if verdict.rank < verdict.rows {
            continue;
        }
        let peel = Peel::of(&matrix.over::<Prime>().unwrap(), &blocks).unwrap();
        // Now and then the choice of columns is not the best, and the core is left to fill.
        if peel.border.is_none() && !peel.core_rows.is_empty() {
            left += 1;
            continue;
        }
        assert_eq!(peel.rank(), verdict.rank);
        bordered += usize::from(peel.border.is_some());
        let every: Vec<u32> = (0..verdict.rows as u32).collect();
        assert_eq!(lists(&peel), [every.clone(), every.clone()]);
        let plain = peel.without_border();
        assert_eq!(lists(&plain), [every.clone(), every]);
        assert_eq!(plain.border, None);
    }
    assert!(bordered > 4 * left, "{bordered} {left}");
}

#[test]
fn a_girder_of_any_length_leaves_a_square_of_a_few_rows() {
    let frame = Frame::girder(700);
    let peel = Peel::of(&frame.matrix().over::<Prime>().unwrap(), &frame.blocks()).unwrap();
    assert!(peel.border.is_some() && peel.core_rows.len() <= 3, "{}", peel.core_rows.len());
}

#[test]
fn a_border_that_does_not_close_is_given_up() {
    // All reactions through one joint: the girder turns about it.
    let mut frame = Frame::girder(30);
    frame.reactions = vec![(0, 1, 0), (0, 0, 1), (0, 1, 1)];
    let peel = Peel::of(&frame.matrix().over::<Prime>().unwrap(), &frame.blocks()).unwrap();
    assert_eq!(peel.border, None);
    let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
    assert_eq!((verdict.row_deficiency(), verdict.column_deficiency()), (1, 1));
}
