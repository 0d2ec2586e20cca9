//! What the program says, page by page: `tests/ui/AREA/CASE.kp` and, beside
//! it, `CASE.out` with the commands, what they print and their exit status.
//!
//! Lines of a case that begin with `//$` are the commands it is run with, its
//! own name left out where it is the only file; without them it is checked.
//! `< FILE` gives a file to standard input. Files in folders under an area are
//! there to be used by cases. `tests/ui/pages/SLUG.out` is what the program
//! says about the example on that finding's own page.
//!
//! `UPDATE=1 cargo test --test output ui::` writes the pages anew; read what changed as
//! a user would.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use kingpost::diagnostic::Slug;

/// Findings no page can be written for: they guard against a defect or a
/// machine that gives way, or take thousands of faults.
const BEYOND_A_FILE: [Slug; 3] = [Slug::DoesNotBalance, Slug::NotComputable, Slug::TooManyFindings];

#[test]
fn the_program_says_what_its_pages_say() {
    let update = std::env::var_os("UPDATE").is_some();
    let mut faults = String::new();
    for case in cases() {
        let said = case.run();
        let page = case.page;
        if update {
            fs::write(&page, said).unwrap();
            continue;
        }
        let expected = fs::read_to_string(&page).unwrap_or_default();
        if said != expected {
            writeln!(faults, "{} differs; it now says:\n{said}", page.display()).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}UPDATE=1 cargo test --test output ui:: writes these pages anew");
}

#[test]
fn every_page_has_its_case() {
    let known: BTreeSet<PathBuf> = cases().into_iter().map(|case| case.page).collect();
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

/// Words of `why` and `help` beyond this are not read.
const MOST_LINES: usize = 10;

#[test]
fn no_message_is_longer_than_ten_lines() {
    for page in files_of_areas("out") {
        let text = fs::read_to_string(&page).unwrap();
        let (mut lines, mut is_prose) = (0, false);
        for line in text.lines() {
            let inside = line.trim_start().strip_prefix('│').map(str::trim_start);
            match inside {
                Some(said) if said.starts_with("why:") || said.starts_with("help:") => {
                    (lines, is_prose) = (lines + 1, true)
                }
                Some("") => {}
                Some(said) if said.starts_with("fix:") => is_prose = false,
                Some(_) => lines += usize::from(is_prose),
                None => (lines, is_prose) = (0, false),
            }
            assert!(lines <= MOST_LINES, "{}: {line}", page.display());
        }
    }
}

/// Something to say something about.
struct Case {
    /// Where the commands are run.
    folder: PathBuf,
    commands: Vec<Command>,
    /// Where what they say is kept.
    page: PathBuf,
}

struct Command {
    words: String,
    input: Vec<u8>,
}

impl Case {
    fn of_file(file: PathBuf) -> Case {
        let folder = file.parent().unwrap().to_owned();
        let name = file.file_name().unwrap().to_str().unwrap();
        let text = String::from_utf8_lossy(&fs::read(&file).unwrap()).into_owned();
        let mut lines: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("//$ ")).collect();
        if lines.is_empty() {
            lines.push("check");
        }
        let command = |line: &str| {
            let names_files = |word: &str| word.ends_with(".kp") || ["-", "explain"].contains(&word);
            let words = match line.split_whitespace().any(names_files) {
                true => line.to_owned(),
                false => format!("{line} {name}"),
            };
            let input = line.split_once(" < ").map_or_else(Vec::new, |(_, file)| fs::read(folder.join(file)).unwrap());
            Command { words, input }
        };
        Case { commands: lines.into_iter().map(command).collect(), folder, page: file.with_extension("out") }
    }

    /// The example on a finding's own page; `None` where it has none.
    fn of_page(slug: Slug) -> Option<Case> {
        let (_, rest) = slug.page().split_once("\n```kp\n")?;
        let (example, _) = rest.split_once("```")?;
        let folder = root().join("pages");
        let page = folder.join(format!("{}.out", slug.word()));
        let commands = vec![Command { words: "check -".to_owned(), input: example.as_bytes().to_owned() }];
        Some(Case { folder, commands, page })
    }

    /// The commands and what came of them.
    fn run(&self) -> String {
        self.commands.iter().map(|command| command.run(&self.folder)).collect::<Vec<_>>().join("\n")
    }
}

impl Command {
    fn run(&self, folder: &Path) -> String {
        let words = self.words.split_once(" < ").map_or(self.words.as_str(), |(words, _)| words);
        let output = assert_cmd::Command::cargo_bin("kingpost")
            .unwrap()
            .current_dir(folder)
            .env_remove("COLUMNS")
            .args(words.split_whitespace())
            .write_stdin(self.input.clone())
            .output()
            .unwrap();
        let mut said = format!("$ kingpost {}\n", self.words);
        said += &String::from_utf8(output.stdout).unwrap();
        let complaints = String::from_utf8(output.stderr).unwrap();
        if !complaints.is_empty() {
            writeln!(said, "--- standard error\n{}", complaints.trim_end()).unwrap();
        }
        writeln!(said, "--- exit {}", output.status.code().unwrap()).unwrap();
        said
    }
}

fn cases() -> Vec<Case> {
    let mut cases: Vec<Case> = files_of_areas("kp").into_iter().map(Case::of_file).collect();
    assert!(cases.len() >= 60, "only {} cases were found", cases.len());
    cases.extend(Slug::ALL.iter().filter_map(|slug| Case::of_page(*slug)));
    cases
}

/// The files with an extension that stand directly in an area's folder.
fn files_of_areas(extension: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for area in fs::read_dir(root()).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()) {
        let files = fs::read_dir(area).unwrap().map(|entry| entry.unwrap().path());
        found.extend(files.filter(|path| path.extension().is_some_and(|own| own == extension)));
    }
    found.sort();
    found
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/ui")
}
