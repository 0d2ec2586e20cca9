//! Parts of the pipeline at ten thousand bars: `cargo bench --bench parts`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss, dead_code)]

#[path = "layouts.rs"]
mod layouts;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use kingpost::check::geometry;
use kingpost::present::results::{Answer, write_json};
use kingpost::statics::{Equilibrium, settle, solve};
use kingpost::structure::{lower, read_project};

use layouts::{Bracing, Faults, Layout};

const BARS: usize = 10_000;

fn parts_of(c: &mut Criterion, name: &str, layout: Layout) {
    let mut group = c.benchmark_group(name);
    group.throughput(Throughput::Bytes(layout.text.len() as u64));
    let read = || read_project("bench.kp", layout.text.clone(), &mut |_| unreachable!());
    group.bench_function("read", |b| b.iter(read));
    let project = read();
    group.throughput(Throughput::Elements(layout.bars as u64));
    group.bench_function("lower", |b| b.iter(|| lower(&project)));
    let structure = lower(&project).structure;
    group.bench_function("equilibrium", |b| b.iter(|| Equilibrium::of(&structure)));
    let equilibrium = Equilibrium::of(&structure);
    group.bench_function("geometry", |b| b.iter(|| geometry::check_geometry(&structure, equilibrium.points())));
    group.bench_function("verdict", |b| b.iter(|| settle(&structure, &equilibrium)));
    let verdict = settle(&structure, &equilibrium).unwrap();
    if verdict.mechanisms > 0 {
        return;
    }
    group.bench_function("solve", |b| b.iter(|| solve(&structure, &equilibrium, &verdict)));
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

fn parts(c: &mut Criterion) {
    parts_of(c, "girder", layouts::girder(BARS, Faults::NONE, 1));
    parts_of(c, "loops", layouts::girder_in_loops(BARS));
    parts_of(c, "sheet", layouts::sheet(BARS, Bracing::Tree, Faults::NONE, 1));
    parts_of(c, "open", layouts::sheet(BARS, Bracing::Tree, Faults { removed: 1, added: 0 }, 1));
    parts_of(c, "storeys", layouts::storeys(BARS));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = parts
}
criterion_main!(benches);
