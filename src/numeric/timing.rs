//! Seconds for girders and sheets of growing size. Run with
//! `cargo test --release --lib numeric::timing -- --ignored --nocapture`.

use super::field::Prime;
use super::groups::Group;
use super::null::null_direction;
use super::peel::Peel;
use super::rank::{ExactMatrix, exact_rank, rank_over};
use super::redundant::{Flexibility, RedundantFactor};
use super::sample::Frame;
use super::solve::Factor;
use std::time::Instant;

fn report(name: &str, frame: &Frame) {
    let whole = frame.matrix();
    let blocks = frame.blocks();
    let start = Instant::now();
    let verdict = exact_rank(&whole, &blocks, 1).unwrap();
    let rank = start.elapsed().as_secs_f64();
    assert_eq!(verdict.rank, verdict.rows);
    if std::env::var("ONLY").is_ok() {
        println!("{name} rank {rank:.3}");
        return;
    }
    let start = Instant::now();
    let residues = whole.over::<Prime>().unwrap();
    let built = start.elapsed().as_secs_f64();
    let start = Instant::now();
    rank_over(&residues, &blocks, 1).unwrap();
    let large = start.elapsed().as_secs_f64();
    drop(residues);
    println!("{name:>10} build {built:.3}  rank modulo the large prime {large:.3}");
    let matrix = whole.unit();
    let start = Instant::now();
    let factor = Factor::new(&matrix, &verdict.peel).unwrap();
    let factored = start.elapsed().as_secs_f64();
    let b: Vec<f64> = (0..matrix.rows()).map(|i| ((i * 7919) % 2001) as f64 / 1000.0 - 1.0).collect();
    let start = Instant::now();
    let x = factor.solve(&b).unwrap();
    let solved = start.elapsed().as_secs_f64();
    let start = Instant::now();
    let condition = factor.condition().number;
    let estimated = start.elapsed().as_secs_f64();
    let largest = x.iter().fold(1.0f64, |m, x| m.max(x.abs()));
    let off = matrix.times(&x).iter().zip(&b).fold(0.0f64, |m, (a, b)| m.max((a - b).abs())) / largest;
    println!(
        "{name:>10} {:>8} columns: rank {rank:.3}  factor {factored:.3}  solve {solved:.3}  condition {estimated:.3} \
         ({condition:.1e})  residual {off:.1e}",
        matrix.columns(),
    );
}

fn plain_lu(name: &str, frame: &Frame) {
    let matrix = frame.matrix().unit();
    let start = Instant::now();
    let factor = Factor::new(&matrix, &Peel::nothing(matrix.rows(), matrix.columns())).unwrap();
    let factored = start.elapsed().as_secs_f64();
    let b = vec![1.0; matrix.rows()];
    let start = Instant::now();
    factor.solve(&b).unwrap();
    println!("{name:>10} plain LU: factor {factored:.3}  solve {:.3}", start.elapsed().as_secs_f64());
}

fn limit() -> usize {
    std::env::var("BARS").ok().and_then(|bars| bars.parse().ok()).unwrap_or(100_000)
}

#[test]
#[ignore = "prints timings; of use in release builds only"]
fn girders_and_sheets() {
    for bars in [1_000usize, 10_000, 100_000, 1_000_000] {
        if bars > limit() {
            break;
        }
        let girder = Frame::girder((bars / 4) as u32);
        let sheet = Frame::sheet(((bars / 2) as f64).sqrt() as u32, 1);
        let rough = sheet.clone().roughened(5);
        for (name, frame) in [("girder", girder), ("sheet", sheet), ("rough", rough)] {
            if std::env::var("CASE").is_ok_and(|case| case != name) {
                continue;
            }
            report(name, &frame);
            plain_lu(name, &frame);
        }
    }
}

/// One brace missing at one end of a rough sheet, and one too many at the other.
#[test]
#[ignore = "prints timings; of use in release builds only"]
fn faulty_sheets() {
    for n in [22u32, 70, 223, 707] {
        if 2 * n as usize * n as usize > limit() {
            break;
        }
        let mut frame = Frame::sheet(n, 1).roughened(5);
        frame.bars.pop();
        frame.bars.push((0, n + 2));
        frame.bars.push((1, n + 1));
        let start = Instant::now();
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        let rank = start.elapsed().as_secs_f64();
        let groups = |groups: &[Group]| {
            groups.iter().map(|group| (group.members.len(), group.degree, group.sets.len())).collect::<Vec<_>>()
        };
        let start = Instant::now();
        let direction = null_direction(&frame.matrix().unit(), &verdict.row_groups[0].sets[0]);
        println!(
            "faulty {:>8} columns: rank {rank:.3}  rows {:?}  columns {:?}  direction {:.3} {}",
            verdict.columns,
            groups(&verdict.row_groups),
            groups(&verdict.column_groups),
            start.elapsed().as_secs_f64(),
            direction.is_ok(),
        );
    }
}

/// Every square braced twice, all bars yielding, supports not.
#[test]
#[ignore = "prints timings; of use in release builds only"]
fn redundant_sheets() {
    for n in [16u32, 50, 158, 500] {
        if 4 * n as usize * n as usize > limit() {
            break;
        }
        let mut frame = Frame::sheet(n, 1).roughened(5);
        frame.bars.truncate(2 * n as usize * (n as usize + 1));
        for at in (0..n).flat_map(|i| (0..n).map(move |j| i * (n + 1) + j)) {
            frame.bars.extend([(at, at + n + 2), (at + 1, at + n + 1)]);
        }
        let start = Instant::now();
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        let rank = start.elapsed().as_secs_f64();
        assert_eq!(verdict.row_deficiency(), 0);
        let matrix = frame.matrix().unit();
        let mut diagonal = vec![1e-9; matrix.columns()];
        diagonal[frame.bars.len()..].fill(0.0);
        let flexibility = Flexibility { diagonal, coupled: vec![] };
        let start = Instant::now();
        let factor = RedundantFactor::new(&matrix, &frame.blocks(), &flexibility).unwrap();
        let factored = start.elapsed().as_secs_f64();
        let start = Instant::now();
        let answer = factor.solve(&vec![1.0; matrix.rows()], &vec![0.0; matrix.columns()]).unwrap();
        let solved = start.elapsed().as_secs_f64();
        let start = Instant::now();
        let condition = factor.condition().number;
        let estimated = start.elapsed().as_secs_f64();
        let largest = answer.columns.iter().fold(1.0f64, |m, x| m.max(x.abs()));
        let off = matrix.times(&answer.columns).iter().fold(0.0f64, |m, a| m.max((a - 1.0).abs())) / largest;
        println!(
            "redundant {:>8} columns: rank {rank:.3} ({} redundant)  factor {factored:.3}  solve {solved:.3}  \
             condition {estimated:.3} ({condition:.1e})  residual {off:.1e}",
            matrix.columns(),
            verdict.column_deficiency(),
        );
    }
}

/// Many small frames side by side, each with a panel open and a panel braced twice.
#[test]
#[ignore = "prints timings; of use in release builds only"]
fn many_faults() {
    for count in [10u32, 100, 1_000, 10_000] {
        if 30 * count as usize > limit() {
            break;
        }
        let mut frame = Frame::default();
        for copy in 0..count {
            let mut one = Frame::girder(6);
            one.bars[3] = (13, 10);
            let shift = frame.joints.len() as u32;
            frame.joints.extend(one.joints.iter().map(|&(x, y)| (x + 50 * i64::from(copy), y)));
            frame.bars.extend(one.bars.iter().map(|&(a, b)| (a + shift, b + shift)));
            frame.reactions.extend(one.reactions.iter().map(|&(a, x, y)| (a + shift, x, y)));
        }
        let start = Instant::now();
        let verdict = exact_rank(&frame.matrix(), &frame.blocks(), 1).unwrap();
        println!(
            "many {:>8} columns: rank {:.3}  {} and {} groups, {} and {} in all",
            verdict.columns,
            start.elapsed().as_secs_f64(),
            verdict.row_groups.len(),
            verdict.column_groups.len(),
            verdict.row_deficiency(),
            verdict.column_deficiency(),
        );
    }
}
