//! Does the first message stand where the slip is? Every example is broken by
//! fixed rules, one slip at a time, and the first thing `check` says must be
//! said at the line that was changed.
//!
//! What counts:
//! - A mutant that has no new error is still sound (a bar fewer in a redundant
//!   frame, a unit of the same kind): it is counted and not judged.
//! - Where a statement was changed, the first label of the first message that
//!   the example itself does not have must be on that line; where a line was
//!   doubled, or a joint moved onto another, on either of the two.
//! - A slip in a `let` shows where the value is used, and a fault of the
//!   structure, such as a redundancy, belongs to several lines: there any label
//!   of the first message may be the one on the changed line.
//! - Where a statement was deleted there is no such line. Then the headline of
//!   the first message, or a label of it, or the line of a label must name a
//!   joint or value that the statement named before its colon.
//!
//! `cargo test --test findings mutations:: -- --nocapture` prints the rate of each rule;
//! `MISSES=1` also prints every miss.

use crate::support::mutants;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use kingpost::base::Files;
use kingpost::check::check;
use kingpost::diagnostic::{Diagnostic, Family, Severity};
use kingpost::structure::{SourceRefusal, read_project};

use mutants::{Example, Place, examples, mutants, words};

#[derive(Default)]
struct Tally {
    judged: usize,
    hit: usize,
    sound: usize,
}

#[test]
fn the_first_message_is_where_the_slip_is() {
    let mut tallies: BTreeMap<&'static str, Tally> = BTreeMap::new();
    let show_misses = std::env::var_os("MISSES").is_some();
    for example in examples() {
        let (files, found) = look(&example, &example.text);
        let known: BTreeSet<String> = found.iter().map(|found| told(found, &files)).collect();
        for mutant in mutants(&example.text) {
            let tally = tallies.entry(mutant.rule).or_default();
            let (files, found) = look(&example, &mutant.text);
            let is_new = |found: &&Diagnostic| !known.contains(&told(found, &files));
            if !found.iter().filter(is_new).any(|found| found.severity == Severity::Error) {
                tally.sound += 1;
                continue;
            }
            tally.judged += 1;
            let first = found.iter().find(is_new).unwrap();
            if mutant.place.is_met(first, &files, &mutant.text) {
                tally.hit += 1;
            } else if show_misses {
                println!("--- {} in {}: {}", mutant.rule, example.name, difference(&example.text, &mutant.text));
                println!("{}", told(first, &files));
            }
        }
    }
    let mut all = Tally::default();
    println!("{:<34} {:>6} {:>6} {:>6} {:>7}", "rule", "sound", "broken", "met", "rate");
    for (rule, tally) in &tallies {
        print_row(rule, tally);
        all.judged += tally.judged;
        all.hit += tally.hit;
        all.sound += tally.sound;
    }
    print_row("together", &all);
    assert!(all.judged >= 300, "only {} mutants are broken", all.judged);
    assert!(rate(&all) >= 95.0, "{} of {} first messages are where the slip is", all.hit, all.judged);
    for (rule, tally) in &tallies {
        // A support that is gone may be made good at another joint.
        let least = if *rule == "a support left out" { 70.0 } else { 80.0 };
        assert!(tally.judged == 0 || rate(tally) >= least, "{rule}: {} of {}", tally.hit, tally.judged);
    }
}

fn rate(tally: &Tally) -> f64 {
    100.0 * tally.hit as f64 / tally.judged as f64
}

fn print_row(rule: &str, tally: &Tally) {
    let rate = if tally.judged == 0 { "–".to_owned() } else { format!("{:.1} %", rate(tally)) };
    println!("{rule:<34} {:>6} {:>6} {:>6} {rate:>7}", tally.sound, tally.judged, tally.hit);
}

fn look(example: &Example, text: &str) -> (Files, Vec<Diagnostic>) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut read = |path: &str| {
        fs::read_to_string(folder.join(path)).map_err(|_| SourceRefusal("there is no such file".to_owned()))
    };
    let project = read_project(&example.name, text.to_owned(), &mut read);
    let found = check(&project).diagnostics;
    (project.files, found)
}

/// A finding without its line, which a slip above may move.
fn told(found: &Diagnostic, files: &Files) -> String {
    let place = found.place().map_or(String::new(), |at| {
        let line = files.get(at.file).unwrap().location(at.span.start).line;
        files.text(at.file).lines().nth(line - 1).unwrap_or("").to_owned()
    });
    format!("{}: {} [{}] at {place:?}", found.severity.word(), found.message, found.slug.word())
}

impl Place {
    fn is_met(&self, first: &Diagnostic, files: &Files, text: &str) -> bool {
        let line_of = |at: kingpost::base::Origin| files.get(at.file).unwrap().location(at.span.start).line;
        match self {
            Place::Lines(lines) if first.slug.family() != Family::Structure => {
                first.place().is_some_and(|at| at.file.0 == 0 && lines.contains(&line_of(at)))
            }
            Place::Lines(lines) => first.labels.iter().any(|label| lines.contains(&line_of(label.at))),
            Place::AnyLabel(line) => first.labels.iter().any(|label| line_of(label.at) == *line),
            Place::Names(names) => {
                let headline = words(&first.message);
                let labelled = first.labels.iter().filter(|label| label.at.file.0 == 0).flat_map(|label| {
                    let line = text.lines().nth(line_of(label.at) - 1).unwrap_or("");
                    words(line).into_iter().chain(words(&label.text))
                });
                // What is gone has no place; a cure that puts it back names it.
                let cured =
                    first.help.iter().chain(first.cures.iter().map(|cure| &cure.text)).flat_map(|text| words(text));
                headline.into_iter().chain(labelled).chain(cured).any(|word| names.contains(&word))
            }
        }
    }
}

fn difference(old: &str, new: &str) -> String {
    let pair = old.lines().zip(new.lines()).find(|(old, new)| old != new);
    pair.map_or_else(|| "at the end".to_owned(), |(old, new)| format!("{old:?} → {new:?}"))
}
