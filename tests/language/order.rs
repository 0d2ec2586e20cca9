//! The order of a file's statements means nothing: shuffled, it gives the same
//! bytes of JSON and CSV, and the same facts on every page.
//!
//! Pages tell cases, claims and loads in the order written, so of pages the
//! words are compared and not where they stand.

use crate::support::frame;
use crate::support::grow;
use crate::support::kp_files;

use std::path::Path;

use assert_cmd::Command;
use kingpost::base::FileId;
use kingpost::syntax::parse;
use kingpost::syntax::tree::{Statement, StatementKind};

use frame::Rng;
use grow::Acting;

/// A text with its statements in another order, those inside cases and loops
/// too. Comments are left out.
fn shuffled(text: &str, rng: &mut Rng) -> String {
    let parsed = parse(FileId(0), text);
    assert!(parsed.errors.is_empty(), "{text}");
    let mut out = String::new();
    put(&parsed.tree.statements, text, rng, &mut out);
    out
}

fn put(statements: &[Statement], text: &str, rng: &mut Rng, out: &mut String) {
    let mut order: Vec<&Statement> = statements.iter().collect();
    for last in (1..order.len()).rev() {
        order.swap(last, rng.below(last + 1));
    }
    for statement in order {
        let body = match &statement.kind {
            StatementKind::Case { body, .. } => Some(body),
            StatementKind::For(repeat) => Some(&repeat.body),
            _ => None,
        };
        let own = statement.span.text(text);
        match body {
            Some(body) => {
                out.push_str(&own[..=own.find('{').unwrap()]);
                out.push('\n');
                put(body, text, rng, out);
                out.push('}');
            }
            None => out.push_str(own),
        }
        out.push('\n');
    }
}

/// What the program prints in a folder, and whether it found errors.
fn run(folder: &Path, file: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let mut command = Command::cargo_bin("kingpost").unwrap();
    let output = command.current_dir(folder).args(arguments).arg(file).output().unwrap();
    (output.status.code(), String::from_utf8(output.stdout).unwrap())
}

/// The words of a page, sorted.
fn facts(page: &str) -> Vec<String> {
    let is_rule = |word: &&str| !word.chars().all(|c| matches!(c, '─' | '═'));
    let mut words: Vec<String> = page.split_whitespace().filter(is_rule).map(str::to_owned).collect();
    words.sort_unstable();
    words
}

/// The numbers of a page, sorted: where the first term of a sum stands decides
/// whether its minus is one word with it.
fn numbers(page: &str) -> Vec<String> {
    let all = page.split(|c: char| !c.is_ascii_digit() && c != '.').map(|number| number.trim_matches('.'));
    let mut numbers: Vec<String> = all.filter(|number| !number.is_empty()).map(str::to_owned).collect();
    numbers.sort_unstable();
    numbers
}

/// The program's pages of the text in this order and in others are alike.
fn order_is_nothing(folder: &Path, name: &str, text: &str, rng: &mut Rng) {
    let file = folder.join(name);
    let pages = |text: &str| {
        std::fs::write(&file, text).unwrap();
        let json = run(folder, Path::new(name), &["solve", "--format", "json"]);
        let csv = run(folder, Path::new(name), &["solve", "--format", "csv"]);
        let (status, page) = run(folder, Path::new(name), &["solve"]);
        let (_, working) = run(folder, Path::new(name), &["derive", "--format", "text"]);
        (json, csv, status, facts(&page), numbers(&working))
    };
    let before = pages(&text_without_comments(text));
    for _ in 0..2 {
        let other = shuffled(text, rng);
        let after = pages(&other);
        assert!(before.0 == after.0, "{name}: JSON differs\n{}\n{}\n{other}", before.0.1, after.0.1);
        assert!(before.1 == after.1, "{name}: CSV differs\n{}\n{}\n{other}", before.1.1, after.1.1);
        assert_eq!(before.2, after.2, "{name}: {other}");
        alike(name, "results", &before.3, &after.3, &other);
        alike(name, "working", &before.4, &after.4, &other);
    }
}

fn alike(name: &str, page: &str, before: &[String], after: &[String], text: &str) {
    let only = |a: &[String], b: &[String]| a.iter().filter(|word| !b.contains(word)).cloned().collect::<Vec<_>>();
    assert!(
        before == after,
        "{name}: the {page} differ: {:?} against {:?}\n{text}",
        only(before, after),
        only(after, before)
    );
}

/// As [`shuffled`], in the order written.
fn text_without_comments(text: &str) -> String {
    let parsed = parse(FileId(0), text);
    parsed.tree.statements.iter().map(|statement| format!("{}\n", statement.span.text(text))).collect()
}

#[test]
fn statements_of_examples_and_published_layouts_stand_in_any_order() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("loads")).unwrap();
    for used in kp_files::in_folder("examples/loads") {
        std::fs::copy(&used, folder.path().join("loads").join(used.file_name().unwrap())).unwrap();
    }
    let mut rng = Rng(31);
    for path in kp_files::in_folder("examples").into_iter().chain(kp_files::in_folder("tests/published")) {
        let name = path.file_name().unwrap().to_str().unwrap();
        order_is_nothing(folder.path(), name, &std::fs::read_to_string(&path).unwrap(), &mut rng);
    }
}

#[test]
fn statements_of_random_structures_stand_in_any_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut rng = Rng(32);
    for seed in 0..25 {
        let frame = match seed % 2 {
            0 => grow::determinate(seed, 4, Acting::Loads),
            _ => grow::redundant(seed, 3, 2, Acting::Everything),
        };
        order_is_nothing(folder.path(), "frame.kp", &frame.text(), &mut rng);
    }
}

/// What a report says beside the statement, and the lines that claims and
/// findings stand in.
fn reported(page: &str) -> Vec<String> {
    let is_left_out = |title: &str| ["Statement", "Claims", "Findings"].iter().any(|word| title.starts_with(word));
    let sections = page.split("\n## ").filter(|section| !is_left_out(section));
    numbers(&sections.collect::<Vec<_>>().join("\n"))
}

#[test]
fn reports_tell_the_same_numbers_in_any_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut rng = Rng(35);
    for name in ["door", "bracket", "jetty-beam", "boathouse-roof", "hoist"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("examples/{name}.kp"));
        let text = std::fs::read_to_string(path).unwrap();
        let report = |text: &str| {
            std::fs::write(folder.path().join("a.kp"), text).unwrap();
            let (_, page) = run(folder.path(), Path::new("a.kp"), &["report", "--format", "markdown"]);
            reported(&page)
        };
        let before = report(&text_without_comments(&text));
        assert!(before.len() > 100, "{name}");
        let other = shuffled(&text, &mut rng);
        alike(name, "report", &before, &report(&other), &other);
    }
}

/// Sums of rounded numbers: many loads of many sizes on the same joints and members.
#[test]
fn loads_that_add_up_stand_in_any_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut rng = Rng(34);
    for _ in 0..6 {
        let mut text = String::from(
            "units m, kN\njoint A: (0, 0)\njoint B: (3.3, 0.1)\njoint C: (7.7, 0)\njoint D: (2, 3)\nsection s: EA = 7 MN, EI = 3 MN*m^2\n\
             beam A-B-C: s\nbar A-D-B: s\nbar D-C: s\npin A\nroller C\ncombination one: 1.1 a + 1.3 b + 0.7 c\ncombination two: 0.9 one + 1.7 c\n",
        );
        for case in ["a", "b", "c", "a", "b"] {
            text.push_str(&format!("case {case} {{\n"));
            for _ in 0..8 {
                let size = rng.between(0.001, 9.0, 3);
                let unit = ["kN", "lbf", "N", "kgf"][rng.below(4)];
                let at = rng.between(0.0, 3.0, 2);
                text.push_str(&match rng.below(5) {
                    0 => format!("load A-B: {size} {unit} @ {at} rad at {at} m\n"),
                    1 => format!("load A-B-C: {size} {unit}/ft down from {at} m to 100%\n"),
                    2 => format!("moment B-C: {size} {unit}*m cw at {at} m\n"),
                    3 => format!("load B: ({size}, {at}) {unit}\n"),
                    _ => format!("load D: {size} {unit} @ {at} rad\n"),
                });
            }
            text.push_str("}\n");
        }
        order_is_nothing(folder.path(), "sums.kp", &text, &mut rng);
    }
}

/// Loops whose bounds lean on lets, on joints and on each other.
#[test]
fn declarations_stand_in_any_order() {
    let text = "units m, kN
let n = k
let k = 3
let last = P[n].x / (1 m)
for i from 0 to n { joint P[i]: (i, 0) }
for i from 0 to last - 1 { joint Q[i]: P[i] + (half, rise) }
for i from 0 to last - 1 { 
  let next = i + 1
  bar P[i]-P[next], P[i]-Q[i]-P[next]
}
for i from 0 to last - 2 { bar Q[i]-Q[i+1] }
for i from 0 to 2 {
  let lift[turn] = 0.2 * turn
  let turn = P[i].x / (1 m)
  joint T[i]: Q[i] + (0, 1 + lift[turn])
  bar P[i]-T[i]-Q[i] }
let half = 0.5
let rise = P[1].x * 2
pin P[0]
roller P[n]
case a { let size = 5 kN
  for i from 1 to n - 1 { load P[i]: size * i down }
  load Q[0]: size right }
case b { load Q[1]: size down }
combination all_of_it: a + b
expect reaction P[n] up >= 1 kN under a";
    let folder = tempfile::tempdir().unwrap();
    let mut rng = Rng(33);
    for _ in 0..20 {
        order_is_nothing(folder.path(), "loops.kp", text, &mut rng);
    }
    let (status, _) = run(folder.path(), Path::new("loops.kp"), &["check"]);
    assert_eq!(status, Some(0));
}

#[test]
fn a_loop_that_waits_for_itself_is_told_as_a_cycle() {
    let folder = tempfile::tempdir().unwrap();
    let text = "units m, kN\nlet n = L[2].x / (1 m)\nfor i from 0 to n { joint L[i]: (i, 0) }\nbar L0-L1\npin L0\n";
    std::fs::write(folder.path().join("a.kp"), text).unwrap();
    let (status, page) = run(folder.path(), Path::new("a.kp"), &["check"]);
    assert_eq!(status, Some(1));
    assert!(page.contains("[circular-value]"), "{page}");
}
