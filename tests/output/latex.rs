//! Every page in LaTeX is set by plain pdfLaTeX without an error and without a
//! line that stands out into the margin. Skipped where there is no pdfLaTeX.

use crate::support::examples;
use crate::support::specimen;

use std::path::Path;
use std::process::Command;

use kingpost::present::document::latex::render_latex;

/// A line may stand out by less than the width of a letter, in points.
const MOST_OVERFULL: f64 = 4.0;

#[test]
fn every_page_is_set() {
    let Some(program) = examples::installed(&["pdflatex"]) else { return };
    let mut pages = examples::reports("latex");
    assert!(pages.len() >= 15);
    pages.push(("many cases".to_owned(), examples::many_cases("latex")));
    pages.push(("everything".to_owned(), render_latex(&specimen::document())));
    for (name, page) in &pages {
        let log = set(&program, name, page);
        for line in log.lines().filter(|line| line.starts_with("Overfull")) {
            let points = line.split(['(', ' ']).find_map(|word| word.strip_suffix("pt").and_then(|pt| pt.parse().ok()));
            assert!(points.is_none_or(|points: f64| points < MOST_OVERFULL), "{name}: {line}");
        }
    }
}

/// Words may be too long for a line, but none is a command.
#[test]
fn no_words_are_commands() {
    let Some(program) = examples::installed(&["pdflatex"]) else { return };
    set(&program, "hostile", &render_latex(&specimen::hostile()));
}

/// A heading goes with what it is above, a lead-in with what it leads to.
#[test]
fn nothing_that_leads_stands_at_the_foot_of_a_page() {
    let Some(program) = examples::installed(&["pdflatex"]) else { return };
    let Some(reader) = examples::installed(&["pdftotext"]) else { return };
    let folder = tempfile::tempdir().unwrap();
    set_in(folder.path(), &program, "leads", &render_latex(&specimen::leads()));
    let feet = examples::feet(&reader, &folder.path().join("page.pdf"));
    assert!(feet.len() > 20, "{feet:?}");
    let alone: Vec<&String> = feet.iter().filter(|foot| foot.starts_with("Heading") || foot.ends_with(':')).collect();
    assert!(alone.is_empty(), "{alone:?}");
}

/// Sets a page once and gives the log; a fault ends it.
fn set(program: &Path, name: &str, page: &str) -> String {
    set_in(tempfile::tempdir().unwrap().path(), program, name, page)
}

fn set_in(folder: &Path, program: &Path, name: &str, page: &str) -> String {
    std::fs::write(folder.join("page.tex"), page).unwrap();
    let mut command = Command::new(program);
    command.args(["-interaction=nonstopmode", "-halt-on-error", "-no-shell-escape", "page.tex"]);
    // Long lines of the log are not broken, so that each can be read as a line.
    command.env("max_print_line", "1000").current_dir(folder);
    let output = command.output().unwrap();
    let log = String::from_utf8_lossy(&std::fs::read(folder.join("page.log")).unwrap_or_default()).into_owned();
    let faults: Vec<&str> = log.lines().filter(|line| line.starts_with('!')).collect();
    assert!(output.status.success() && faults.is_empty(), "{name}: {faults:#?}\n{}", tail(&log));
    log
}

fn tail(log: &str) -> String {
    let lines: Vec<&str> = log.lines().collect();
    lines[lines.len().saturating_sub(40)..].join("\n")
}
