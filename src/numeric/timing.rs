//! Seconds for girders and sheets of growing size. Run with
//! `cargo test --release --lib numeric::timing -- --ignored --nocapture`.

use super::field::Prime;
use super::peel::Peel;
use super::rank::{ExactMatrix, exact_rank, rank_over};
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
    let condition = factor.condition_estimate();
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

#[test]
#[ignore = "prints timings; of use in release builds only"]
fn girders_and_sheets() {
    let limit: usize = std::env::var("BARS").ok().and_then(|bars| bars.parse().ok()).unwrap_or(100_000);
    for bars in [1_000usize, 10_000, 100_000, 1_000_000] {
        if bars > limit {
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
