//! Parts of the pipeline one by one, at ten thousand bars:
//! `cargo bench --bench parts`, or `-- girder/verdict` for one of them.
//!
//! Each layout has the stages of a run, then what the verdict and the solver
//! are made of. What a part makes is dropped outside the time.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss, dead_code)]

#[path = "../support/dice.rs"]
mod dice;
#[path = "layouts.rs"]
mod layouts;

use std::time::Duration;

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use kingpost::check::geometry;
use kingpost::numeric::peel::Peel;
use kingpost::numeric::{ExactMatrix, Factor, Prime, exact_rank};
use kingpost::present::results::{Answer, write_json};
use kingpost::statics::{Equilibrium, find_verdict, solve};
use kingpost::structure::{lower, read_project};

use layouts::{Bracing, Faults, Layout};

#[cfg(feature = "mimalloc")]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const BARS: usize = 10_000;

fn parts_of(c: &mut Criterion, name: &str, layout: Layout) {
    let mut group = c.benchmark_group(name);
    group.throughput(Throughput::Bytes(layout.text.len() as u64));
    let read = |text| read_project("bench.kp", text, &mut |_| unreachable!());
    group.bench_function("read", |b| b.iter_batched(|| layout.text.clone(), read, BatchSize::LargeInput));
    let project = read(layout.text.clone());
    group.throughput(Throughput::Elements(layout.bars as u64));
    group.bench_function("lower", |b| b.iter_with_large_drop(|| lower(&project)));
    let structure = lower(&project).structure;
    group.bench_function("equilibrium", |b| b.iter_with_large_drop(|| Equilibrium::of(&structure)));
    let equilibrium = Equilibrium::of(&structure);
    let check = || geometry::check_geometry(&structure, equilibrium.points());
    group.bench_function("geometry", |b| b.iter_with_large_drop(check));
    group.bench_function("verdict", |b| b.iter_with_large_drop(|| find_verdict(&structure, &equilibrium)));
    let verdict = find_verdict(&structure, &equilibrium).unwrap();
    if verdict.mechanisms == 0 {
        group.bench_function("solve", |b| b.iter_with_large_drop(|| solve(&structure, &equilibrium, &verdict)));
        let solution = solve(&structure, &equilibrium, &verdict).unwrap();
        let answer = Answer {
            file: "bench.kp",
            structure: &structure,
            verdict: Some(&verdict),
            results: &solution.results,
            travels: &[],
        };
        group.bench_function("write", |b| b.iter(|| write_json(&mut std::io::sink(), &answer, &|_| true)));
    }

    let blocks = equilibrium.blocks();
    group.bench_function("numeric/exact matrix", |b| b.iter_with_large_drop(|| equilibrium.over::<Prime>()));
    let exact = equilibrium.over::<Prime>().unwrap();
    group.bench_function("numeric/peel", |b| b.iter_with_large_drop(|| Peel::of(&exact, &blocks)));
    group.bench_function("numeric/rank", |b| b.iter_with_large_drop(|| exact_rank(&equilibrium, &blocks, 1)));
    group.bench_function("numeric/matrix", |b| b.iter_with_large_drop(|| equilibrium.floating()));
    let matrix = equilibrium.floating().unwrap();
    if matrix.rows() == matrix.columns() && verdict.mechanisms == 0 {
        let peel = &verdict.rank.peel;
        group.bench_function("numeric/factor", |b| b.iter_with_large_drop(|| Factor::new(&matrix, peel)));
        let factor = Factor::new(&matrix, peel).unwrap();
        let right = vec![1.0; matrix.rows()];
        group.bench_function("numeric/substitute", |b| b.iter_with_large_drop(|| factor.solve(&right)));
        group.bench_function("numeric/condition", |b| b.iter(|| factor.condition()));
    }
    group.finish();
}

fn parts(c: &mut Criterion) {
    parts_of(c, "girder", layouts::girder(BARS, Faults::NONE, 1));
    parts_of(c, "loops", layouts::girder_in_loops(BARS));
    parts_of(c, "sheet", layouts::sheet(BARS, Bracing::Tree, Faults::NONE, 1));
    parts_of(c, "extra", layouts::sheet(BARS, Bracing::Tree, Faults { removed: 0, added: 1 }, 1));
    parts_of(c, "open", layouts::sheet(BARS, Bracing::Tree, Faults { removed: 1, added: 0 }, 1));
    parts_of(c, "storeys", layouts::storeys(BARS));
}

criterion_group! {
    name = benches;
    config = Criterion::default()
        .sample_size(10)
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(1));
    targets = parts
}
criterion_main!(benches);
