//! Faults put into large layouts on purpose, and found exactly; the same bytes
//! from every run, thread and order of lines. The verdict of each layout is
//! known from how it was made (`bench/layouts.rs`).

#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use crate::support::bench_layouts as layouts;

use std::collections::BTreeSet;
use std::fmt::Write as _;

use kingpost::check::{Checked, check};
use kingpost::diagnostic::Diagnostic;
use kingpost::present::results::{Answer, write_json};
use kingpost::statics::{Cure, Unknown, VerdictKind};
use kingpost::structure::read_project;

use layouts::{Bracing, Faults, Layout};

/// The largest size of an ordinary run; release builds look at ten times that.
const SMALL: usize = 4_000;
const LARGE: usize = 100_000;

fn checked(text: &str) -> Checked {
    check(&read_project("scale.kp", text.to_owned(), &mut |_| panic!("no file is used")))
}

fn found<'a>(checked: &'a Checked, slug: &str) -> Vec<&'a Diagnostic> {
    checked.diagnostics.iter().filter(|found| found.slug.word() == slug).collect()
}

fn counts(checked: &Checked) -> (usize, usize) {
    let verdict = checked.verdict.as_ref().expect("a verdict");
    (verdict.mechanisms, verdict.redundancy)
}

/// The bars that are offered as cures, as statements.
fn cures(checked: &Checked) -> Vec<String> {
    let name = |joint| checked.structure.joint_name(joint);
    let verdict = checked.verdict.as_ref().unwrap();
    let cure = |motion: &kingpost::statics::Mechanism| match motion.cure.as_ref() {
        Some(Cure::Bar(a, b)) => format!("{}-{}", name(*a), name(*b)),
        other => panic!("a missing bar is cured by a bar, not by {other:?}"),
    };
    verdict.motions.iter().map(cure).collect()
}

/// Each message names one panel, each cure holds, and together they leave nothing to move.
fn expect_open_panels(layout: &Layout) -> Vec<String> {
    let checked = checked(&layout.text);
    let count = layout.removed.len();
    assert_eq!(counts(&checked), (count, 0));
    let told = found(&checked, "unbraced-panel");
    assert_eq!(told.len(), count, "{:?}", checked.diagnostics.iter().map(|d| &d.message).collect::<Vec<_>>());
    let messages: BTreeSet<&str> = told.iter().map(|found| found.message.as_str()).collect();
    assert_eq!(messages.len(), count, "each panel is told once");
    let cures = cures(&checked);
    for (cure, told) in cures.iter().zip(&told) {
        assert!(told.help.iter().any(|help| help.contains(&format!("`bar {cure}`"))), "{cure}: {:?}", told.help);
        assert!(told.labels.len() <= 6 && told.why.iter().all(|why| why.len() < 600), "a message stays small");
    }
    let mut cured = layout.text.clone();
    cures.iter().for_each(|cure| writeln!(cured, "bar {cure}").unwrap());
    let cured = self::checked(&cured);
    assert_eq!(counts(&cured), (0, 0), "the offered bars cure it");
    assert!(cured.solution.is_some());
    cures
}

/// In a girder each open panel is its own mechanism: the cure is the bar that
/// was taken out, or the other diagonal of the same panel.
fn girder_faults(bars: usize) {
    for removed in [1, 3] {
        let layout = layouts::girder(bars, Faults { removed, added: 0 }, 7);
        let corners = |bar: &String| {
            let (a, b) = bar.split_once('-').unwrap();
            [a, b].map(|name| name[1..].parse::<usize>().unwrap()).into_iter().collect::<BTreeSet<usize>>()
        };
        let cured: BTreeSet<BTreeSet<usize>> = expect_open_panels(&layout).iter().map(corners).collect();
        assert_eq!(cured, layout.removed.iter().map(corners).collect(), "the panels that were opened");
    }
}

/// In a sheet the missing diagonal parts the tree of rows and columns; any panel
/// that joins the two parts again cures it.
fn sheet_faults(bars: usize, bracing: Bracing) {
    for removed in [1, 3] {
        expect_open_panels(&layouts::sheet(bars, bracing, Faults { removed, added: 0 }, 11));
    }
}

/// One bar too many: the group that is named holds it, and each member offered
/// can go.
fn one_too_many(bars: usize, build: impl Fn(usize, Faults) -> Layout) {
    let layout = build(bars, Faults { removed: 0, added: 1 });
    // Without stiffness it is an error.
    let text = layout.text.replace(": rod\n", "\n");
    let checked = checked(&text);
    assert_eq!(counts(&checked), (0, 1));
    let told = found(&checked, "redundant");
    assert_eq!(told.len(), 1);
    let verdict = checked.verdict.as_ref().unwrap();
    let names: Vec<String> = verdict.redundancies[0]
        .among
        .iter()
        .filter_map(|unknown| match unknown {
            Unknown::Axial(member) => Some(checked.structure.member_name(*member)),
            _ => None,
        })
        .collect();
    assert!(names.contains(&layout.added[0]), "{names:?} leaves out {:?}", layout.added);
    for name in [&names[0], &names[names.len() / 2], &names[names.len() - 1]] {
        let without = self::checked(&text.replace(&format!("bar {name}\n"), ""));
        assert_eq!(counts(&without), (0, 0), "without {name} the rest holds");
    }
    // With stiffness it is solved.
    let solved = self::checked(&layout.text);
    assert_eq!(solved.verdict.as_ref().unwrap().kind, VerdictKind::Indeterminate);
    expect_solved(&solved);
}

fn expect_solved(checked: &Checked) {
    assert!(!checked.has_errors(), "{:?}", checked.diagnostics);
    let solution = checked.solution.as_ref().expect("forces");
    assert!(solution.results.iter().all(|result| result.residual.is_small()));
}

/// A few bars too many, far apart: in a sheet their redundancies overlap.
fn several_too_many(bars: usize) {
    for layout in [girder(bars, Faults { removed: 0, added: 4 }), tree(bars, Faults { removed: 0, added: 3 })] {
        let checked = checked(&layout.text);
        assert_eq!(counts(&checked), (0, layout.added.len()));
        expect_solved(&checked);
    }
}

/// One panel braced twice and another open, the count right.
fn both_at_once(bars: usize) {
    let layout = layouts::girder(bars, Faults { removed: 1, added: 1 }, 3);
    let checked = checked(&layout.text.replace(": rod\n", "\n"));
    assert_eq!(counts(&checked), (1, 1));
    assert_eq!(found(&checked, "unbraced-panel").len(), 1);
    assert_eq!(found(&checked, "redundant").len(), 1);
}

fn girder(bars: usize, faults: Faults) -> Layout {
    layouts::girder(bars, faults, 5)
}

fn tree(bars: usize, faults: Faults) -> Layout {
    layouts::sheet(bars, Bracing::Tree, faults, 5)
}

#[test]
fn faults_are_located_exactly() {
    every_fault(SMALL);
}

fn every_fault(bars: usize) {
    girder_faults(bars);
    sheet_faults(bars, Bracing::Edges);
    sheet_faults(bars, Bracing::Tree);
    one_too_many(bars, girder);
    one_too_many(bars, tree);
    several_too_many(bars);
    both_at_once(bars);
}

#[test]
#[ignore = "minutes in a debug build; run with --release"]
fn faults_are_located_exactly_at_size() {
    for bars in [LARGE / 10, LARGE] {
        every_fault(bars);
    }
}

/// More mechanisms than are told one by one: the rest are counted.
#[test]
fn many_mechanisms_are_capped_and_counted() {
    let layout = layouts::girder(1_000, Faults { removed: 20, added: 0 }, 9);
    let checked = checked(&layout.text);
    assert_eq!(counts(&checked), (20, 0));
    let told = found(&checked, "unbraced-panel").len();
    assert!(told >= 4, "{told}");
    let rest = found(&checked, "more-mechanisms");
    assert_eq!(rest.len(), 1);
    assert!(rest[0].message.contains(&(20 - told).to_string()) || 20 - told <= 12, "{}", rest[0].message);
}

fn json(text: &str) -> Vec<u8> {
    let checked = checked(text);
    let answer = Answer::of("scale.kp", &checked, &[]);
    assert!(!answer.results.is_empty(), "{:?}", checked.diagnostics.first());
    let mut out = Vec::new();
    write_json(&mut out, &answer, &|_| true).unwrap();
    out
}

/// The same statements backwards: no statement here spans lines.
fn backwards(text: &str) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    lines.reverse();
    lines.join("\n")
}

#[test]
fn the_same_bytes_from_every_run_thread_and_order_of_lines() {
    let texts = [
        layouts::girder(SMALL, Faults::NONE, 1).text,
        layouts::sheet(SMALL, Bracing::Tree, Faults::NONE, 1).text,
        layouts::sheet(SMALL, Bracing::Tree, Faults { removed: 0, added: 1 }, 1).text,
        layouts::storeys(600).text,
    ];
    let here: Vec<Vec<u8>> = texts.iter().map(|text| json(text)).collect();
    let all = || texts.iter().map(|text| json(text)).collect::<Vec<_>>();
    let threads = std::thread::scope(|scope| {
        let both = [scope.spawn(all), scope.spawn(all)];
        both.map(|thread| thread.join().unwrap())
    });
    for there in threads {
        assert!(there == here, "a thread gives other bytes");
    }
    for (text, here) in texts.iter().zip(&here) {
        assert!(json(&backwards(text)) == *here, "the order of lines shows");
    }
}

/// A girder from one screen of loops is the girder written out.
#[test]
fn loops_build_what_lines_build() {
    let (lines, loops) = (layouts::girder(SMALL, Faults::NONE, 1), layouts::girder_in_loops(SMALL));
    assert_eq!(lines.bars, loops.bars);
    assert!(loops.text.lines().count() < 50);
    assert!(json(&lines.text) == json(&loops.text));
}
