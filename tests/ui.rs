//! What the program says, page by page: `tests/ui/AREA/CASE.kp` and, beside
//! it, `CASE.out` with the commands, what they print and their exit status.
//!
//! Lines of a case that begin with `//$` are the commands it is run with, its
//! own name left out where it is the only file; without them it is checked.
//! `< FILE` gives a file to standard input. Files in folders under an area are
//! there to be used by cases.
//!
//! `UPDATE=1 cargo test --test ui` writes the pages anew; read what changed as
//! a user would.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use kingpost::diagnostic::Slug;

/// Findings no file can be written for: each guards against a defect or a
/// machine that gives way.
const BEYOND_A_FILE: [Slug; 2] = [Slug::DoesNotBalance, Slug::NotComputable];

#[test]
fn the_program_says_what_its_pages_say() {
    let update = std::env::var_os("UPDATE").is_some();
    let mut faults = String::new();
    for case in cases() {
        let said = run(&case);
        let page = case.with_extension("out");
        if update {
            fs::write(&page, said).unwrap();
            continue;
        }
        let expected = fs::read_to_string(&page).unwrap_or_default();
        if said != expected {
            writeln!(faults, "{} differs; it now says:\n{said}", page.display()).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}UPDATE=1 cargo test --test ui writes these pages anew");
}

#[test]
fn every_page_has_its_case() {
    let known: BTreeSet<PathBuf> = cases().iter().map(|case| case.with_extension("out")).collect();
    for page in files_of_areas("out") {
        assert!(known.contains(&page), "{} has no case", page.display());
    }
}

#[test]
fn every_kind_of_finding_is_on_some_page() {
    let pages: Vec<String> = files_of_areas("out").iter().map(|page| fs::read_to_string(page).unwrap()).collect();
    let missing: Vec<&str> = Slug::ALL
        .iter()
        .filter(|slug| !BEYOND_A_FILE.contains(slug))
        .map(|slug| slug.word())
        .filter(|word| !pages.iter().any(|page| page.contains(&format!("[{word}]"))))
        .collect();
    assert!(missing.is_empty(), "no case under tests/ui raises {missing:?}");
}

/// All commands of a case and what came of them.
fn run(case: &Path) -> String {
    let name = case.file_name().unwrap().to_str().unwrap();
    let text = String::from_utf8_lossy(&fs::read(case).unwrap()).into_owned();
    let mut commands: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("//$ ")).collect();
    if commands.is_empty() {
        commands.push("check");
    }
    let mut said = String::new();
    for (index, command) in commands.into_iter().enumerate() {
        if index > 0 {
            said.push('\n');
        }
        let alone = !command.split_whitespace().any(|word| word.ends_with(".kp") || word == "-" || word == "explain");
        let command = if alone { format!("{command} {name}") } else { command.to_owned() };
        said += &run_one(case.parent().unwrap(), &command);
    }
    said
}

fn run_one(folder: &Path, command: &str) -> String {
    let (words, input) = match command.split_once(" < ") {
        Some((words, file)) => (words, fs::read(folder.join(file.trim())).unwrap()),
        None => (command, Vec::new()),
    };
    let output = Command::cargo_bin("kingpost")
        .unwrap()
        .current_dir(folder)
        .env_remove("COLUMNS")
        .args(words.split_whitespace())
        .write_stdin(input)
        .output()
        .unwrap();
    let mut said = format!("$ kingpost {command}\n");
    said += &String::from_utf8(output.stdout).unwrap();
    let complaints = String::from_utf8(output.stderr).unwrap();
    if !complaints.is_empty() {
        writeln!(said, "--- standard error\n{}", complaints.trim_end()).unwrap();
    }
    writeln!(said, "--- exit {}", output.status.code().unwrap()).unwrap();
    said
}

fn cases() -> Vec<PathBuf> {
    let cases = files_of_areas("kp");
    assert!(cases.len() >= 60, "only {} cases were found", cases.len());
    cases
}

/// The files with an extension that stand directly in an area's folder.
fn files_of_areas(extension: &str) -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/ui");
    let mut found = Vec::new();
    for area in fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()) {
        let files = fs::read_dir(area).unwrap().map(|entry| entry.unwrap().path());
        found.extend(files.filter(|path| path.extension().is_some_and(|own| own == extension)));
    }
    found.sort();
    found
}
