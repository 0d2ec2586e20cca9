//! Corrections called certain: what they may never do.
//!
//! Every example is broken by fixed rules, one slip at a time, and every
//! certain correction is applied; so are those of all pages of `tests/ui`.
//! - A statement that was read without an error means afterwards what it meant
//!   before, and is still there; a twin of it in the same file may go.
//! - No sense word becomes another, no number another number.
//! - A line that was corrected says what the unbroken line says, or it still
//!   has an error: none is sound and means something else.
//!
//! `cargo test --test findings corrections:: -- --nocapture` prints the rate of each
//! rule; `MISSES=1` also prints what is mended in part, and `ALL=1` makes every
//! slip in place of one in twenty.

use crate::support::kp_files;
use crate::support::mutants;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use kingpost::base::FileId;
use kingpost::check::Switches;
use kingpost::check::correct::{Corrected, Reach, correct};
use kingpost::diagnostic::{Severity, Slug};
use kingpost::structure::{SourceRefusal, Sources, read_project};
use kingpost::syntax::dump::dump;
use kingpost::syntax::tree::{Statement, StatementKind};
use kingpost::syntax::{Tree, parse};

use mutants::{Example, examples, mutants, statements};

/// Reads files that a text uses from a folder.
fn corrected_in(folder: &Path, name: &str, text: &str) -> Corrected {
    let mut read = |path: &str| {
        fs::read_to_string(folder.join(path)).map_err(|_| SourceRefusal("there is no such file".to_owned()))
    };
    let project = read_project(name, text.to_owned(), &mut read);
    let mut sources = Sources { identify: &str::to_owned, read: &mut read };
    correct(project, Reach::RootOnly, &Switches::default(), &mut sources)
}

fn corrected(text: &str) -> String {
    let done = corrected_in(Path::new("."), "sheet.kp", text);
    done.project.files.text(FileId::default()).to_owned()
}

const SHEET: &str = "units m, kN, mm\njoint A: (0, 0)\njoint B: (8, 0)\njoint C: (4, 3)\njoint mast: (4, 6)\n\
                     let span = 8 m\nlet panel = span / 4\n\
                     bar A-B-C-A\nbar A-mast-B\nbar C-mast\npin A\nroller B\nload C: 10 kN down\n";

/// The sheet with one line more, or with one in the place of the line that begins alike.
fn with_line(line: &str) -> String {
    let start = line.split(['(', ':']).next().unwrap();
    let replaced = ["joint C", "joint mast", "pin A", "roller B"].into_iter().find(|own| match *own {
        "pin A" => line.ends_with(" A") || line.contains(" A ") || line.contains(" A:"),
        "roller B" => line.contains("support B"),
        own => start == own,
    });
    let kept = SHEET.lines().filter(|own| !replaced.is_some_and(|start| own.starts_with(start)));
    kept.map(|own| format!("{own}\n")).collect::<String>() + line + "\n"
}

/// Lines that two people would mend differently, or that the nearest word
/// would turn round.
const NOT_CERTAIN: &[&str] = &[
    // The opposite, or another direction.
    "expect stable",
    "load C: 10 kN lift",
    "load C: 10 kN uplift",
    // A minus beside a sense, and the head of a table.
    "expect force A-C: -6.01 kN (C)",
    "joint X Y",
    "load C: 10 kN rigth or left",
    "load C: 10 kN lieft",
    "moment mast: 5 kN*m cww",
    "moment mast: 5 kN*m ccww",
    "misfit A-C: 3 mm loose",
    "expect force A-C: 5 kN pull",
    "expect force A-C: 5 kN push",
    "expect instabel",
    // Three coordinates, or decimal commas.
    "joint C: (2,3, 0)",
    "joint C: (0,0, 0)",
    "joint C: (2, 3,0)",
    "joint C: (2,3,0)",
    // Thousands, minutes of arc, feet.
    "load C: 1'500 lbf down",
    "load C: 1’500 lbf down",
    "load C: 1,500 kN down",
    "load C: 1.500,50 kN down",
    "load C: 1\u{202f}500 kN down",
    "load C: 10 kN @ 30°15' below left",
    "load C: 10 kN @ 12°30'20\" below left",
    "load C: 10 kN @ 30° 15' below left",
    "load C: 10 kN @ 15' below left",
    "joint C: (4'6, 3)",
    // Two numbers side by side, or a difference.
    "load C 0 -8",
    "load C: 0 -8",
    "settle B 0 -8",
    // Pounds, or a comment.
    "load C: 500 # down",
    // Loops of other languages.
    "for (i = 0; i < 5; i++) {",
    "for (let i = 0; i <= 5; i += 1) {",
    "for i = 0; i < 5; i++ {",
    // The size of a unit.
    "load C: 10 mn down",
    "load C: 10 mn*m/m down",
    "section s: E = 200 mpa, A = 3 cm^2",
    "section s: E = 200 mPa, A = 3 cm^2",
    // A force is no couple.
    "load C: 5 kN cw",
    // What is missing is a word that tells a way.
    "misfit A-C: 3 mm",
    "load C: 10 kN",
    // A name of one or two letters more often names another joint.
    "bar A-AC",
    "load C: 10 kN down case wind",
    "load C: 10 kN down under",
    "expect de",
    "expect reaction A: 5 kN u",
    "pin A and pier",
    // A value, or a limit.
    "expect force A-C 5 kN",
    "pin A pier",
    // What another name begins with may be that name half typed.
    "let width = 2 * pan",
    "load C: 2 kN/m * p down",
    // A kip that lost a letter, or a kilopond.
    "load C: 10 kp down",
    // A unit before its word.
    "expect reaction A: (2, 3) Nunder working",
    // Another word of the notation.
    "roller B: long A-C",
    "travel cart: 5 kN, 5 kN spaced 1 m long A-C",
    // A statement, or a clause.
    "beam A-C: light hinge at A",
    // The row of a table whose brackets were lost.
    "joint P A + C/2",
];

/// Lines and what they can only mean.
const CERTAIN: &[(&str, &str)] = &[
    ("load C: 10 kN donw", "load C: 10 kN down"),
    ("load C: 10 kN do", "load C: 10 kN down"),
    ("load C: 10 kN downwards", "load C: 10 kN down"),
    ("load C: 10 kN rihgt", "load C: 10 kN right"),
    ("load C: 10 kN le", "load C: 10 kN left"),
    ("laod C: 10 kN down", "load C: 10 kN down"),
    ("lo C: 10 kN down", "load C: 10 kN down"),
    ("load C 10 kN down", "load C: 10 kN down"),
    ("load C: 10 KN down", "load C: 10 kN down"),
    ("load C: 10 kn down", "load C: 10 kN down"),
    ("load C: 10 lb down", "load C: 10 lbf down"),
    ("load C: 2,5 kN down", "load C: 2.5 kN down"),
    ("load C: .5 kN down", "load C: 0.5 kN down"),
    ("load C: 10 kN @ 30º below left", "load C: 10 kN @ 30° below left"),
    ("joint C: (4,0, 3,0)", "joint C: (4.0, 3.0)"),
    ("joint C: (4,0; 3,0)", "joint C: (4.0, 3.0)"),
    ("joint C: (2,3; 0)", "joint C: (2.3, 0)"),
    ("joint C: (4; 3)", "joint C: (4, 3)"),
    ("joint C: 4, 3", "joint C: (4, 3)"),
    ("joint C: (13'1\", 9'10\")", "joint C: (13 ft 1 in, 9 ft 10 in)"),
    ("pin support A", "pin A"),
    ("pinned support A", "pin A"),
    ("fixed support A", "fixed A"),
    ("support A: pin", "pin A"),
    ("support A: fixed", "fixed A"),
    ("support pin A", "pin A"),
    ("roller support B", "roller B"),
    ("support B roller", "roller B"),
    ("pin at A", "pin A"),
    ("moment A-C: 5 kN*m at 1 m cw", "moment A-C: 5 kN*m cw at 1 m"),
    ("expect force A-C: 5 kN comp", "expect force A-C: 5 kN compression"),
    ("load msat: 10 kN down", "load mast: 10 kN down"),
    ("load Mast: 10 kN down", "load mast: 10 kN down"),
    ("load C: 5 kN down; load C: 3 kN down", "load C: 5 kN down\nload C: 3 kN down"),
    ("expect un", "expect unstable"),
    ("pin A # at the left abutment", "pin A // at the left abutment"),
];

#[test]
fn what_can_be_read_two_ways_is_left_as_it_is() {
    let mut faults = String::new();
    for line in NOT_CERTAIN {
        let text = with_line(line);
        let new = corrected(&text);
        if new != text {
            let written = new.lines().skip(text.lines().count() - 1).collect::<Vec<_>>().join(" ⏎ ");
            writeln!(faults, "{line:?} became {written:?}").unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

#[test]
fn what_can_only_be_meant_one_way_is_written() {
    let mut faults = String::new();
    for (line, right) in CERTAIN {
        let new = corrected(&with_line(line));
        if !new.ends_with(&format!("\n{right}\n")) {
            let written = new.lines().last().unwrap();
            writeln!(faults, "{line:?} became {written:?}, not {right:?}").unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// A text that was broken, and what it said before.
struct Slip {
    rule: &'static str,
    original: String,
    text: String,
}

#[derive(Default)]
struct Tally {
    broken: usize,
    left: usize,
    right: usize,
    in_part: usize,
    wrong: usize,
}

#[test]
fn no_slip_is_corrected_into_something_else() {
    let mut tallies: BTreeMap<&'static str, Tally> = BTreeMap::new();
    let mut faults = String::new();
    let show_misses = std::env::var_os("MISSES").is_some();
    let step = if std::env::var_os("ALL").is_some() { 1 } else { 20 };
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    for (number, example) in examples().into_iter().enumerate() {
        for slip in slips(&example).into_iter().skip(number % step).step_by(step) {
            let done = corrected_in(&folder, &example.name, &slip.text);
            let tally = tallies.entry(slip.rule).or_default();
            tally.broken += 1;
            let new = done.project.files.text(FileId::default());
            if new == slip.text {
                tally.left += 1;
                continue;
            }
            let mut broken_rules = lost(&slip.text, &done);
            broken_rules.extend(turned(&slip.text, new));
            broken_rules.extend(made_up(&slip, &done));
            if dump_of(new) == dump_of(&slip.original) {
                tally.right += 1;
            } else if broken_rules.is_empty() {
                tally.in_part += 1;
                if show_misses {
                    println!("--- {} in {}: {}", slip.rule, example.name, difference(&slip.text, new));
                }
            }
            if !broken_rules.is_empty() {
                tally.wrong += 1;
                let what = difference(&slip.text, new);
                writeln!(faults, "{} in {}: {what}: {}", slip.rule, example.name, broken_rules.join("; ")).unwrap();
            }
        }
    }
    let mut all = Tally::default();
    println!("{:<34} {:>6} {:>6} {:>6} {:>7} {:>6}", "rule", "texts", "left", "right", "in part", "wrong");
    for (rule, tally) in &tallies {
        print_row(rule, tally);
        all.broken += tally.broken;
        all.left += tally.left;
        all.right += tally.right;
        all.in_part += tally.in_part;
        all.wrong += tally.wrong;
    }
    print_row("together", &all);
    assert!(faults.is_empty(), "{} corrections are wrong:\n{faults}", all.wrong);
    assert!(all.right >= 500, "only {} slips are mended", all.right);
}

fn print_row(rule: &str, tally: &Tally) {
    let Tally { broken, left, right, in_part, wrong } = tally;
    println!("{rule:<34} {broken:>6} {left:>6} {right:>6} {in_part:>7} {wrong:>6}");
}

#[test]
fn no_page_is_corrected_into_something_else() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut faults = String::new();
    let (mut pages, mut changed) = (0, 0);
    for path in kp_files::under(&root.join("tests/ui")).into_iter().chain(kp_files::under(&root.join("examples"))) {
        let Ok(text) = fs::read_to_string(&path) else { continue };
        pages += 1;
        let done = corrected_in(path.parent().unwrap(), path.file_name().unwrap().to_str().unwrap(), &text);
        let new = done.project.files.text(FileId::default());
        if new != text {
            changed += 1;
            let mut broken_rules = lost(&text, &done);
            broken_rules.extend(turned(&text, new));
            if !broken_rules.is_empty() {
                let what = difference(&text, new);
                writeln!(faults, "{}: {what}: {}", path.display(), broken_rules.join("; ")).unwrap();
            }
        }
    }
    println!("{changed} of {pages} pages are corrected");
    assert!(faults.is_empty(), "{faults}");
    assert!(changed >= 20, "only {changed} of {pages} pages are corrected");
}

/// What a statement says, the block it stands in before it, and its lines.
struct Said {
    what: String,
    lines: std::ops::RangeInclusive<usize>,
}

fn said(text: &str) -> Vec<Said> {
    let mut tree = parse(FileId::default(), text).tree;
    let statements = std::mem::take(&mut tree.statements);
    let mut all = Vec::new();
    statements.into_iter().for_each(|statement| tell(&mut tree, text, statement, "", &mut all));
    all
}

fn tell(tree: &mut Tree, text: &str, mut statement: Statement, within: &str, all: &mut Vec<Said>) {
    let body = match &mut statement.kind {
        StatementKind::Case { body, .. } => std::mem::take(body),
        StatementKind::For(repeat) => std::mem::take(&mut repeat.body),
        _ => Vec::new(),
    };
    let line = |at: u32| text[..at as usize].matches('\n').count() + 1;
    let last = if body.is_empty() { line(statement.span.end) } else { line(statement.span.start) };
    let lines = line(statement.span.start)..=last;
    statement.note = None;
    tree.statements = vec![statement];
    // These signs are read as what they look like.
    let what = format!("{within}{}", dump(tree, text).trim_end().replace(['º', '˚'], "°"));
    let block = what.split(" from ").next().unwrap().to_owned();
    body.into_iter().for_each(|inner| tell(tree, text, inner, &format!("{block} > "), all));
    all.push(Said { what, lines });
}

fn dump_of(text: &str) -> Vec<String> {
    let mut all: Vec<String> = said(text).into_iter().map(|said| said.what).collect();
    all.sort();
    all
}

fn counted(said: &[Said]) -> BTreeMap<&str, usize> {
    let mut counts = BTreeMap::new();
    said.iter().for_each(|said| *counts.entry(said.what.as_str()).or_default() += 1);
    counts
}

/// Statements that were read without an error and are no longer said.
fn lost(text: &str, done: &Corrected) -> Vec<String> {
    let (before, after) = (said(text), said(done.project.files.text(FileId::default())));
    let (before_counts, after_counts) = (counted(&before), counted(&after));
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut read = |path: &str| fs::read_to_string(folder.join(path)).map_err(|_| SourceRefusal(String::new()));
    let project = read_project("sheet.kp", text.to_owned(), &mut read);
    let checked = kingpost::check::check(&project);
    // Lines that something is wrong with, or whose unit is another word for the same.
    let wrong: BTreeSet<usize> = checked
        .diagnostics
        .iter()
        .filter(|found| {
            found.severity == Severity::Error || matches!(found.slug, Slug::PoundAsForce | Slug::UnknownSlug)
        })
        .flat_map(|found| {
            found
                .labels
                .iter()
                .map(|label| label.at)
                .chain(found.edits.iter().map(|edit| kingpost::base::Origin::new(edit.file, edit.span)))
        })
        .filter(|at| at.file == FileId::default())
        .map(|at| text[..at.span.start as usize].matches('\n').count() + 1)
        .collect();
    // What was an error once others were mended is known by its line.
    let mut later = BTreeSet::new();
    for round in &done.rounds {
        for edit in round.mended.iter().filter(|found| found.severity == Severity::Error).flat_map(|found| &found.edits)
        {
            let text = round.files.text(edit.file);
            let line = text[..edit.span.start as usize].matches('\n').count();
            later.extend(text.lines().nth(line).map(str::to_owned));
        }
    }
    let was_mended = |line: usize| text.lines().nth(line - 1).is_some_and(|line| later.contains(line));
    let is_lost = |said: &&Said| {
        let (was, is) = (before_counts[said.what.as_str()], after_counts.get(said.what.as_str()).copied().unwrap_or(0));
        // Of twins one may go.
        is < was && (was == 1 || is == 0) && !said.lines.clone().any(|line| wrong.contains(&line) || was_mended(line))
    };
    before.iter().filter(is_lost).map(|said| format!("`{}` is lost", said.what)).collect()
}

const SENSES: &[&str] = &[
    "up",
    "down",
    "left",
    "right",
    "above",
    "below",
    "lift",
    "cw",
    "ccw",
    "tension",
    "compression",
    "sagging",
    "hogging",
    "stable",
    "unstable",
    "determinate",
    "indeterminate",
    "long",
    "short",
    "from",
    "to",
    "pushes",
    "along",
];

/// Sense words that became others, and digits that changed.
fn turned(before: &str, after: &str) -> Vec<String> {
    let words = |text: &str| {
        let mut counts: BTreeMap<String, i32> = BTreeMap::new();
        let code = |line: &'_ str| line.split("//").next().unwrap().split('#').next().unwrap().to_owned();
        let code = text.lines().map(code).collect::<Vec<_>>().join("\n");
        for word in code.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|word| !word.is_empty()) {
            *counts.entry(word.to_owned()).or_default() += 1;
        }
        counts
    };
    let (old, new) = (words(before), words(after));
    let more = |one: &BTreeMap<String, i32>, other: &BTreeMap<String, i32>| -> Vec<String> {
        let is_sense = |word: &&String| SENSES.contains(&word.as_str());
        let is_more = |word: &&String| one[*word] > other.get(*word).copied().unwrap_or(0);
        one.keys().filter(is_sense).filter(is_more).cloned().collect()
    };
    let (gone, come) = (more(&old, &new), more(&new, &old));
    let mut faults = Vec::new();
    // Words of a line that went as a twin do not come back as others.
    if !gone.is_empty() && !come.is_empty() {
        faults.push(format!("{gone:?} became {come:?}"));
    }
    if before.lines().count() <= after.lines().count() && digits(before) != digits(after) {
        faults.push("digits changed".to_owned());
    }
    faults
}

/// The digits of a text in order; `.5` has the digits of `0.5`.
fn digits(text: &str) -> String {
    let mut digits = String::new();
    let mut last = ' ';
    for c in text.chars() {
        match c {
            '0'..='9' if last == '.' => digits.extend(['0', c]),
            '0'..='9' => digits.push(c),
            _ => {}
        }
        // A point that follows a digit goes on with its number.
        last = if c == '.' && (last.is_alphanumeric() || last == ')') { 'd' } else { c };
    }
    digits
}

/// Statements that only the corrected text says, without an error on their
/// line, and that the unbroken text does not say.
fn made_up(slip: &Slip, done: &Corrected) -> Vec<String> {
    let new = done.project.files.text(FileId::default());
    let (original, before, after) = (said(&slip.original), said(&slip.text), said(new));
    let (original, before) = (counted(&original), counted(&before));
    let wrong: BTreeSet<usize> = done
        .checked
        .diagnostics
        .iter()
        .filter(|found| found.severity == Severity::Error)
        .flat_map(|found| &found.labels)
        .filter(|label| label.at.file == FileId::default())
        .map(|label| new[..label.at.span.start as usize].matches('\n').count() + 1)
        .collect();
    let is_made_up = |said: &&Said| {
        let what = said.what.as_str();
        !before.contains_key(what)
            && !original.contains_key(what)
            && !said.lines.clone().any(|line| wrong.contains(&line))
    };
    after.iter().filter(is_made_up).map(|said| format!("`{}` is made up", said.what)).collect()
}

fn difference(old: &str, new: &str) -> String {
    let (old, new): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let start = old.iter().zip(&new).take_while(|(old, new)| old == new).count();
    let end = old.iter().rev().zip(new.iter().rev()).take_while(|(old, new)| old == new).count();
    let end = end.min(old.len().min(new.len()) - start);
    format!("{:?} → {:?}", &old[start..old.len() - end], &new[start..new.len() - end])
}

/// Every slip made in an example: those of the rules for messages, and those
/// of other notations and of unfinished typing.
fn slips(example: &Example) -> Vec<Slip> {
    let text = &example.text;
    // Which direction was misspelt is told by a rule below.
    let of_messages = mutants(text).into_iter().filter(|mutant| mutant.rule != "a misspelt direction");
    let mut slips: Vec<Slip> =
        of_messages.map(|mutant| Slip { rule: mutant.rule, original: text.clone(), text: mutant.text }).collect();
    for (number, code, keyword) in statements(text) {
        let mut pair = |rule: &'static str, original: Option<String>, line: Option<String>| {
            let original = original.unwrap_or_else(|| code.clone());
            if let Some(line) = line.filter(|line| *line != original) {
                let (original, text) =
                    (mutants::with_line(text, number, &original), mutants::with_line(text, number, &line));
                slips.push(Slip { rule, original, text });
            }
        };
        let number_as =
            |new: &str| first_number(&code).map(|(start, end)| format!("{}{new}{}", &code[..start], &code[end..]));
        for (right, written) in [
            ("1500", "1'500"),
            ("1500", "1’500"),
            ("1500", "1,500"),
            ("1500.5", "1.500,5"),
            ("1500.5", "1,500.5"),
            ("1500", "1\u{202f}500"),
            ("1500", "1\u{a0}500"),
            ("1500", "1 500"),
            ("1500000", "1'500'000"),
        ] {
            pair("thousands set apart", number_as(right), number_as(written));
        }
        for (right, written) in [("2.5", "2,5"), ("2.25", "2,25"), ("0.5", ",5"), ("0.125", "0,125"), ("2.5", "2;5")] {
            pair("a decimal comma", number_as(right), number_as(written));
        }
        for (right, written) in [("30.25°", "30°15'"), ("30.25°", "30° 15′"), ("30.5°", "30°30'0\"")] {
            let angle = |new: &str| code.contains("30°").then(|| code.replacen("30°", new, 1));
            pair("minutes of arc", angle(right), angle(written));
        }
        if let Some((start, end)) = plain_point(&code) {
            let point = |new: String| Some(format!("{}{new}{}", &code[..start], &code[end..]));
            let (x, y) = code[start + 1..end - 1].split_once(", ").unwrap();
            for three in
                [format!("({x}, {y}, 0)"), format!("({x},{y}, 0)"), format!("({x}, {y},0)"), format!("({x},{y},0)")]
            {
                pair("three coordinates", None, point(three));
            }
            for two in ["3,0; 4,5", "3,0 4,5", "3,0, 4,5", "3; 4,5", "3,0;4"] {
                let right = two.replacen("; ", "#", 1).replacen(", ", "#", 1).replacen([' ', ';'], "#", 1);
                let right = right.replace(',', ".").replace('#', ", ");
                pair("decimal commas in a point", point(format!("({right})")), point(format!("({two})")));
            }
            for other in [
                format!("[{x}, {y}]"),
                format!("{{{x}, {y}}}"),
                format!("{x}, {y}"),
                format!("({x} {y})"),
                format!("{x} {y}"),
                format!("<{x}, {y}>"),
            ] {
                pair("a point without its brackets", None, point(other));
            }
        }
        let joint = code.split_whitespace().nth(1).unwrap_or("").trim_matches([',', ':']);
        if matches!(keyword.as_str(), "pin" | "fixed" | "roller") && code.split_whitespace().count() == 2 {
            for line in [
                format!("{keyword} support {joint}"),
                format!("{keyword} support at {joint}"),
                format!("support {joint}: {keyword}"),
                format!("support {keyword} {joint}"),
                format!("support {joint} {keyword}"),
                format!("{keyword} at {joint}"),
                format!("{keyword}ed {joint}"),
                format!("{keyword}: {joint}"),
                format!("{joint}: {keyword}"),
                format!("{joint} {keyword}"),
                format!("{keyword} joint {joint}"),
                format!("{keyword} node {joint}"),
                format!("hinged support {joint}"),
            ] {
                pair("other words for a support", None, Some(line));
            }
        }
        for (unit, others) in [
            ("kN", &["KN", "kn", "Kn", "mn", "mN", "kN-m", "kNm", "KN*M"][..]),
            ("m", &["M", "mtr", "metre", "Mm"]),
            ("mm", &["MM", "Mm", "mM"]),
            ("MN", &["mn", "Mn", "mN"]),
            ("GPa", &["gpa", "GPA", "Gpa"]),
            ("MPa", &["mpa", "mPa", "MPA"]),
            ("lbf", &["lb", "lbs", "#", "LBF", "pounds"]),
            ("kip", &["k", "kips", "K", "Kip"]),
            ("ft", &["'", "Ft", "feet", "′"]),
            ("in", &["\"", "In", "inch", "inches"]),
        ] {
            for other in others {
                pair("another word for a unit", None, unit_after_number(&code, unit, other));
            }
        }
        for (word, others) in [
            (
                "down",
                &[
                    "lift", "drop", "downward", "dwn", "dow", "d", "do", "dawn", "doun", "Down", "DOWN", "↓", "-y",
                    "south",
                ][..],
            ),
            ("up", &["lift", "uplift", "upp", "u", "Up", "upward", "ip", "down up", "north"]),
            ("left", &["lift", "lef", "le", "l", "Left", "leftwards", "loft", "west", "-x"]),
            ("right", &["rigth", "ri", "r", "light", "rihgt", "Right", "east"]),
            ("cw", &["cww", "clockwise", "c", "CW", "cwc"]),
            ("ccw", &["cw w", "anticlockwise", "cc", "CCW", "cccw", "ccv", "acw"]),
            ("tension", &["tention", "tens", "T", "pull", "compresion", "ten", "tenson"]),
            ("compression", &["comp", "C", "push", "com", "compresion", "decompression"]),
            ("sagging", &["saging", "sag", "sa", "hoging"]),
            ("hogging", &["hoging", "hog", "ho", "h", "saging"]),
            ("unstable", &["stable", "instable", "un", "unsta", "nstable"]),
            ("determinate", &["indeterminat", "de", "determined", "dterminate"]),
            ("indeterminate", &["indeterminat", "in", "undetermined", "determinat"]),
            ("from", &["form", "fro", "f", "until"]),
            ("to", &["t", "too", "ot", "until", "till", "-"]),
            ("long", &["lon", "lo", "lang"]),
            ("short", &["shor", "sh", "shot"]),
            ("above", &["abov", "ab", "over"]),
            ("below", &["belo", "be", "under"]),
            ("along", &["alon", "al", "across", "long"]),
            ("pushes", &["push", "pulls", "pu", "pushs"]),
        ] {
            for other in others {
                pair("another word for a sense", None, mutants::replaced_word(&code, &[word], other));
            }
        }
        if let Some((variable, rest)) =
            code.trim_end_matches('{').trim().strip_prefix("for ").and_then(|rest| rest.split_once(" from "))
        {
            let (from, to) = rest.split_once(" to ").unwrap();
            for head in [
                format!("for ({variable} = {from}; {variable} <= {to}; {variable}++) {{"),
                format!("for (let {variable} = {from}; {variable} <= {to}; {variable} += 1) {{"),
                format!("for {variable} = {from}; {variable} <= {to}; {variable}++ {{"),
                format!("for {variable} = {from} to {to} {{"),
                format!("for {variable} in {from}..{to} {{"),
                format!("for {variable} from {from}; to {to}; {{"),
                format!("for {variable} in range({from}, {to}) {{"),
                format!("for {variable} from {from} to {to}; {{"),
                format!("for {variable} from {from}, {to} {{"),
                format!("for ({variable} from {from} to {to}) {{"),
            ] {
                pair("a loop of another language", None, Some(head));
            }
        }
        let words: Vec<&str> = code.split_whitespace().collect();
        if !code.contains('"') {
            for at in 0..words.len() {
                let with = |new: &str| {
                    words
                        .iter()
                        .enumerate()
                        .map(|(own, word)| if own == at { new } else { *word })
                        .collect::<Vec<_>>()
                        .join(" ")
                };
                // Signs after a word are kept, and numbers are no words.
                let bare = words[at].trim_end_matches([':', ',', ')']);
                let is_word = bare.chars().all(|c| c.is_alphabetic() || c == '_');
                let indices: Vec<usize> =
                    if is_word { bare.char_indices().map(|(index, _)| index).skip(1).collect() } else { Vec::new() };
                let signs = &words[at][bare.len()..];
                for cut in [indices.first(), indices.get(indices.len() / 2), indices.last()].into_iter().flatten() {
                    pair("a half-typed word", None, Some(with(&format!("{}{signs}", &bare[..*cut]))));
                }
                if let Some(next) = words.get(at + 1) {
                    let mut swapped = words.clone();
                    swapped.swap(at, at + 1);
                    pair("two words exchanged", None, Some(swapped.join(" ")));
                    pair(
                        "no blank between words",
                        None,
                        Some(code.replacen(&format!("{} {next}", words[at]), &format!("{}{next}", words[at]), 1)),
                    );
                }
                pair("a word left out", None, Some(with("").replace("  ", " ")));
                pair("a word twice", None, Some(with(&format!("{0} {0}", words[at]))));
                if let Some(letter) = indices.get((number + at) % indices.len().max(1)) {
                    let (head, tail) = words[at].split_at(*letter);
                    let next = tail.chars().next().unwrap();
                    let other = char::from_u32(u32::from(next) + 1).unwrap_or('q');
                    pair("a letter exchanged", None, Some(with(&format!("{head}{other}{}", &tail[next.len_utf8()..]))));
                    pair("a letter left out", None, Some(with(&format!("{head}{}", &tail[next.len_utf8()..]))));
                    pair("a letter twice", None, Some(with(&format!("{head}{next}{tail}"))));
                }
            }
            pair("a pasted row", None, Some(words.join("\t")));
            pair("a pasted row", None, Some(code.replace(": ", "\t").replace(", ", "\t")));
            pair("a pasted row", None, Some(code.replace(": ", ";").replace(", ", ";")));
            pair("a pasted row", None, Some(code.replace(": ", " ").replace(['(', ')', ','], "")));
            pair("a pasted row", None, Some(words.iter().skip(1).copied().collect::<Vec<_>>().join(" ")));
            pair("a pasted row", None, Some(format!("| {} |", words.join(" | "))));
            pair("a pasted row", None, Some(format!("{number}. {code}")));
            pair("a pasted row", None, Some(format!("- {}", code.trim())));
            pair("a pasted row", None, Some(code.replace('-', "–").replace(' ', "\u{a0}")));
            pair("a pasted row", None, Some(format!("{code};")));
            pair("a pasted row", None, Some(format!("{code}.")));
        }
        if let Some(next) =
            text.lines().nth(number + 1).filter(|next| !next.contains(['{', '}', '/']) && !next.trim().is_empty())
        {
            for between in [" ", "; ", ", ", " and "] {
                let joined = format!("{code}{between}{}", next.trim());
                let text: Vec<&str> = text.lines().collect();
                let mut lines: Vec<&str> = text.clone();
                lines[number] = &joined;
                lines.remove(number + 1);
                slips.push(Slip {
                    rule: "two lines on one",
                    original: example.text.clone(),
                    text: lines.join("\n") + "\n",
                });
            }
        }
    }
    slips
}

/// The first number that stands by itself in a line.
fn first_number(code: &str) -> Option<(usize, usize)> {
    let bytes = code.as_bytes();
    let is_number = |byte: u8| byte.is_ascii_digit() || byte == b'.';
    let start = (1..bytes.len()).find(|at| bytes[*at].is_ascii_digit() && matches!(bytes[at - 1], b' ' | b'('))?;
    let end = (start..bytes.len()).find(|at| !is_number(bytes[*at])).unwrap_or(bytes.len());
    (!code.contains('"')).then_some((start, end))
}

/// `(3, 4.5)` with plain numbers.
fn plain_point(code: &str) -> Option<(usize, usize)> {
    let start = code.find('(')?;
    let end = start + code[start..].find(')')? + 1;
    let (x, y) = code[start + 1..end - 1].split_once(", ")?;
    let is_plain = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_digit() || c == '.');
    (is_plain(x) && is_plain(y)).then_some((start, end))
}

fn unit_after_number(code: &str, unit: &str, other: &str) -> Option<String> {
    let bytes = code.as_bytes();
    let (at, _) = code.match_indices(unit).find(|(at, _)| {
        let ends = bytes.get(at + unit.len()).is_none_or(|next| !next.is_ascii_alphanumeric() && *next != b'^');
        ends && *at >= 2 && bytes[at - 1] == b' ' && bytes[at - 2].is_ascii_digit()
    })?;
    (!code.contains('"')).then(|| format!("{}{other}{}", &code[..at], &code[at + unit.len()..]))
}
