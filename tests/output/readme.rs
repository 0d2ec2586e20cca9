//! Every fenced block of the README and of the manual's pages is run.
//!
//! - `kp`: a whole file; it is checked and has no error.
//! - `kp file=NAME`: a whole file that the next `console` block uses by name.
//! - `kp fragment`: part of a file; it is read without an error of reading.
//! - `console`: commands after `$ `, then exactly what they print. Those that
//!   do not begin with `kingpost` are for the reader.
//!
//! `UPDATE=1 cargo test --test output readme::` writes the outputs into the pages.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use kingpost::base::FileId;
use kingpost::check::check;
use kingpost::diagnostic::Severity;
use kingpost::manual::PAGES;
use kingpost::structure::{SourceRefusal, read_project};

/// A line of the page, or a fenced block.
enum Piece {
    Text(String),
    Block { kind: String, body: String },
}

#[test]
fn every_block_of_the_readme_is_true() {
    let blocks = judge_page(&root().join("README.md"));
    assert!(blocks > 7, "only {blocks} blocks were found");
}

/// Each page on a statement, a command or a topic has an example.
#[test]
fn every_block_of_the_manual_is_true() {
    for page in PAGES.iter().filter(|page| !["sources", "licences"].contains(&page.word)) {
        let blocks = judge_page(&root().join(format!("src/manual/{}.md", page.word)));
        assert!(blocks > 0, "the page on {} has no example", page.word);
    }
}

/// How many blocks the page has; each is what it says it is.
fn judge_page(path: &Path) -> usize {
    let page = std::fs::read_to_string(path).unwrap();
    let folder = workplace();
    let (mut faults, mut stale) = (String::new(), String::new());
    let mut written = String::new();
    let mut blocks = 0;
    for piece in pieces(&page) {
        match piece {
            Piece::Text(line) => writeln!(written, "{line}").unwrap(),
            Piece::Block { kind, body } => {
                blocks += 1;
                let now = if kind == "console" { console(&body, folder.path()) } else { body.clone() };
                if now != body {
                    writeln!(stale, "it prints:\n{now}instead of:\n{body}").unwrap();
                }
                if let Err(why) = judge(&kind, &body, folder.path()) {
                    writeln!(faults, "```{kind}\n{body}```\n{why}").unwrap();
                }
                write!(written, "```{kind}\n{now}```\n").unwrap();
            }
        }
    }
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(path, written).unwrap();
        stale.clear();
    }
    assert!(
        faults.is_empty() && stale.is_empty(),
        "{}: {faults}{stale}UPDATE=1 cargo test --test output readme:: writes the outputs anew",
        path.display()
    );
    blocks
}

fn judge(kind: &str, body: &str, folder: &Path) -> Result<(), String> {
    let nothing = &mut |_: &str| Err(SourceRefusal("not here".to_owned()));
    match kind.split_once(' ') {
        None if kind == "kp" => {
            let checked = check(&read_project("README.kp", body.to_owned(), nothing));
            let errors = checked.diagnostics.iter().filter(|found| found.severity == Severity::Error);
            let errors: Vec<&str> = errors.map(|found| found.message.as_str()).collect();
            if errors.is_empty() { Ok(()) } else { Err(format!("has errors: {errors:?}")) }
        }
        Some(("kp", "fragment")) => {
            let errors = kingpost::syntax::parse(FileId(0), body).errors;
            if errors.is_empty() { Ok(()) } else { Err(format!("cannot be read: {errors:?}")) }
        }
        Some(("kp", named)) => {
            let name = named.strip_prefix("file=").ok_or_else(|| format!("what is `{named}`?"))?;
            std::fs::write(folder.join(name), body).map_err(|error| error.to_string())
        }
        None if kind == "console" => Ok(()),
        _ => Err("is of no known kind".to_owned()),
    }
}

/// The commands of a block, each with what it prints now.
fn console(body: &str, folder: &Path) -> String {
    let mut now = String::new();
    for line in body.lines().filter_map(|line| line.strip_prefix("$ ")) {
        writeln!(now, "$ {line}").unwrap();
        if let Some(arguments) = line.strip_prefix("kingpost ") {
            let output = Command::cargo_bin("kingpost")
                .unwrap()
                .current_dir(folder)
                .env("COLUMNS", "100")
                .args(arguments.split_whitespace())
                .output()
                .unwrap();
            // As on a terminal: what is printed and what is complained of.
            now += &String::from_utf8(output.stderr).unwrap();
            now += &String::from_utf8(output.stdout).unwrap();
        }
    }
    now
}

/// A folder with a copy of the examples, where named files are written.
fn workplace() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy(&root().join("examples"), &folder.path().join("examples"));
    folder
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(&path, &target).unwrap();
        }
    }
}

fn pieces(page: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        let Some(kind) = line.strip_prefix("```") else {
            pieces.push(Piece::Text(line.to_owned()));
            continue;
        };
        let inside: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
        let body = inside.iter().map(|line| format!("{line}\n")).collect();
        pieces.push(Piece::Block { kind: kind.to_owned(), body });
    }
    pieces
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}
