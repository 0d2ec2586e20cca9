//! How every check ends: the verdict and the count of claims, one for each
//! file, in every format, whatever was said above.

use std::fs;
use std::path::{Path, PathBuf};

use kingpost::check::claims::Marking;
use kingpost::check::{Checked, check};
use kingpost::diagnostic::{Diagnostic, Slug};
use kingpost::present::results::CAUTION;
use kingpost::structure::{SourceRefusal, read_project};
use serde_json::{Value, json};

const FORMATS: [&str; 5] = ["text", "json", "sarif", "github", "junit"];

/// A frame six times indeterminate that claims so.
const PORTAL: &str = "units m, kN\n\
    joint A: (0, 0)\njoint B: (0, 4)\njoint C: (6, 4)\njoint D: (6, 0)\njoint E: (12, 4)\njoint F: (12, 0)\n\
    section post: EA = 400 MN, EI = 20 MN*m^2\n\
    beam A-B-C-D: post\nbeam C-E-F: post\nfixed A, D, F\nload B: 5 kN right\n";

fn ui() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/ui")
}

fn run(arguments: &[&str], input: &str) -> (String, i32) {
    let mut command = assert_cmd::Command::cargo_bin("kingpost").unwrap();
    let output = command.current_dir(ui()).args(arguments).write_stdin(input).output().unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code().unwrap())
}

/// Every case of the UI tests that can be read at all, relative to their folder.
fn cases() -> Vec<String> {
    let mut found = Vec::new();
    for area in fs::read_dir(ui()).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()) {
        for file in fs::read_dir(&area).unwrap().map(|entry| entry.unwrap().path()) {
            if file.extension().is_some_and(|own| own == "kp") && fs::read_to_string(&file).is_ok() {
                found.push(file.strip_prefix(ui()).unwrap().to_str().unwrap().to_owned());
            }
        }
    }
    found.sort();
    assert!(found.len() > 100);
    found
}

fn checked(name: &str) -> Checked {
    let path = ui().join(name);
    let folder = path.parent().unwrap().to_owned();
    let mut read = |used: &str| {
        fs::read_to_string(folder.join(used)).map_err(|_| SourceRefusal("there is no such file".to_owned()))
    };
    check(&read_project(name, fs::read_to_string(&path).unwrap(), &mut read))
}

fn said(format: &str, cases: &[String]) -> String {
    let mut arguments = vec!["check", "--format", format];
    arguments.extend(cases.iter().map(String::as_str));
    run(&arguments, "").0
}

/// What the closing objects of all formats say, from the marks themselves.
fn expected(name: &str, checked: &Checked) -> Value {
    let marks = |wanted| checked.marks.iter().filter(|mark| mark.verdict == wanted).count();
    let (right, wrong) = (marks(Marking::Right), marks(Marking::Wrong));
    let total = checked.structure.claims.len() + checked.structure.unread_claims.len();
    let verdict = checked.verdict.as_ref();
    let of = |severity: &str| checked.diagnostics.iter().filter(|found| found.severity.word() == severity).count();
    let settled = verdict.filter(|verdict| verdict.kind.word() != "not settled");
    let mut closing = json!({
        "file": name,
        "verdict": verdict.map(|verdict| verdict.kind.word()),
        "redundancy": settled.map(|verdict| verdict.redundancy),
        "mechanisms": settled.map(|verdict| verdict.mechanisms),
        "counts": {"right": right, "near": 0, "follows": 0, "wrong": wrong, "unjudged": total - right - wrong},
        "errors": of("error"), "warnings": of("warning"), "remarks": of("remark"),
        "caution": CAUTION,
    });
    if checked.structure.claims_left_out > 0 {
        closing["left_out"] = json!(checked.structure.claims_left_out);
    }
    closing
}

/// Joints at one place first; claims that fail by their place, with the
/// questions and errors that stand in their words; other questions before them.
#[test]
fn causes_are_told_before_effects() {
    let is_failed = |found: &Diagnostic| matches!(found.slug, Slug::ClaimFails | Slug::ClaimNotKnown);
    let is_question = |found: &Diagnostic| matches!(found.slug, Slug::DoubtfulAngle | Slug::LoadAndComponents);
    let mut with_claims = 0;
    for name in cases() {
        let checked = checked(&name);
        let is_verdict = |found: &Diagnostic| found.message.starts_with("the structure is ");
        let found: Vec<&Diagnostic> = checked.diagnostics.iter().filter(|found| !is_verdict(found)).collect();
        let same_place = found.iter().rposition(|found| found.slug == Slug::CoincidentJoints);
        let others = found.iter().position(|found| found.slug != Slug::CoincidentJoints);
        assert!(same_place.is_none_or(|last| others.is_none_or(|first| last < first)), "{name}");
        let failed: Vec<usize> = (0..found.len()).filter(|at| is_failed(found[*at])).collect();
        let (Some(first), Some(last)) = (failed.first(), failed.last()) else { continue };
        with_claims += 1;
        assert!(found[*first..=*last].is_sorted_by_key(|found| found.place()), "{name}");
        assert!(!found[*first..].iter().any(|found| is_question(found)), "{name}");
    }
    assert!(with_claims > 20, "{with_claims}");
}

#[test]
fn one_closing_object_ends_each_file_and_counts_the_marks() {
    let cases = cases();
    let mut closing: Vec<Value> = Vec::new();
    let mut last = String::new();
    for line in said("json", &cases).lines() {
        let line: Value = serde_json::from_str(line).unwrap();
        last = line["file"].as_str().unwrap().to_owned();
        if line.get("verdict").is_some() {
            closing.push(line);
        }
    }
    assert_eq!(last, *cases.last().unwrap());
    assert_eq!(closing.len(), cases.len());
    let log: Value = serde_json::from_str(&said("sarif", &cases)).unwrap();
    let properties = log["runs"][0]["properties"]["checked"].as_array().unwrap();
    assert_eq!(properties, &closing);
    for (name, closing) in cases.iter().zip(&closing) {
        assert_eq!(*closing, expected(name, &checked(name)), "{name}");
    }
}

#[test]
fn the_verdict_and_the_claims_are_the_last_that_is_said_of_a_file() {
    for name in cases() {
        let checked = checked(&name);
        let verdict = match &checked.verdict {
            None => "no verdict",
            Some(verdict) => match verdict.kind.word() {
                "determinate" => "stable, determinate",
                "indeterminate" => "stable, indeterminate",
                word => word,
            },
        };
        let total = checked.structure.claims.len() + checked.structure.unread_claims.len();
        for format in ["text", "github"] {
            let (said, _) = run(&["check", "--format", format, &name], "");
            let last = said.trim_end().lines().last().unwrap();
            let start = if format == "text" { format!("{name}: {verdict}") } else { format!("::{verdict}") };
            assert!(last.contains(&start) && last.contains("claim"), "{name}, {format}: {last}");
            let counts = last.contains(&total.to_string())
                || (total == 0 && last.contains("no claims"))
                || (total == 1 && last.contains("its one claim"));
            assert!(counts, "{name}: {last} of {total} claims");
        }
    }
}

#[test]
fn every_format_ends_with_the_verdict() {
    for (text, verdict) in [
        (PORTAL.to_owned() + "expect indeterminate 6\n", "indeterminate 6"),
        ("joint A: (0, 0\n".to_owned(), "no verdict"),
        (String::new(), "no verdict"),
    ] {
        for format in FORMATS {
            let (said, _) = run(&["check", "--format", format, "-"], &text);
            let words = match (format, verdict) {
                ("json" | "sarif", "no verdict") => "\"verdict\":null",
                ("json" | "sarif", _) => "\"verdict\":\"indeterminate\"",
                _ => verdict,
            };
            assert!(said.replace("\": ", "\":").contains(words), "{format}: {said}");
        }
        let (sheet, _) = run(&["check", "--claims", "-"], &text);
        assert!(sheet.contains(verdict), "{sheet}");
        let (sheet, _) = run(&["check", "--claims", "--format", "json", "-"], &text);
        let lines: Vec<Value> = sheet.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        assert_eq!(lines.iter().filter(|line| line.get("verdict").is_some()).count(), 1);
        assert!(lines.last().unwrap().get("verdict").is_some() && lines.last().unwrap().get("claims").is_some());
    }
}

#[test]
fn what_a_file_claims_of_its_verdict_is_not_told_as_news() {
    let (said, status) = run(&["check", "-"], &(PORTAL.to_owned() + "expect indeterminate 6\n"));
    assert_eq!((said.as_str(), status), ("<stdin>: stable, indeterminate 6; its one claim holds\n", 0));
    let (said, status) = run(&["check", "-"], PORTAL);
    assert!(said.contains("[redundant]") && said.ends_with("<stdin>: stable, indeterminate 6; no claims\n"), "{said}");
    assert_eq!(status, 0);
}
