//! Every file in `examples/` does what it is there to show.

use crate::support::kp_files;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;

/// The broken ones, and exactly the errors each is there to show.
const BROKEN: [(&str, &[&str]); 4] = [
    ("arch.kp", &["hinges-in-line"]),
    ("concurrent.kp", &["concurrent-reactions"]),
    ("mechanism.kp", &["unbraced-panel", "redundant"]),
    ("redundant.kp", &["redundant"]),
];

#[test]
fn sound_examples_are_sound() {
    let mut checked = 0;
    for path in kp_files::in_folder("examples") {
        let (status, findings) = check(&path);
        let name = path.display();
        assert_eq!(status, 0, "{name}: {findings:#?}");
        let errors = findings.iter().filter(|found| found["severity"] == "error").count();
        assert_eq!(errors, 0, "{name}: {findings:#?}");
        let results = solve(&path);
        let cases = results["cases"].as_array().unwrap();
        assert!(!cases.is_empty(), "{name} has no results");
        let has_combinations = cases.iter().any(|case| case["kind"] == "combination");
        for case in cases {
            // A case of its own need not be what happens; a combination must.
            let judged = !has_combinations || case["kind"] == "combination";
            assert!(!judged || case["holds"] == true, "{name}: {}", case["name"]);
            assert!(case["residual"]["relative"].as_f64().unwrap() < 1e-9, "{name}: {}", case["residual"]);
        }
        checked += 1;
    }
    assert!(checked >= 12);
}

#[test]
fn broken_examples_show_their_fault() {
    let found: BTreeSet<String> = kp_files::in_folder("examples/broken")
        .iter()
        .map(|path| path.file_name().unwrap().to_str().unwrap().to_owned())
        .collect();
    assert_eq!(found, BROKEN.iter().map(|(name, _)| (*name).to_owned()).collect());
    for (name, wanted) in BROKEN {
        let (status, findings) = check(&root().join("broken").join(name));
        let errors: Vec<&str> = findings
            .iter()
            .filter(|found| found["severity"] == "error")
            .map(|found| found["slug"].as_str().unwrap())
            .collect();
        assert_eq!((status, errors.as_slice()), (1, wanted), "{name}");
    }
}

/// Sheets of answers, and how many of their claims are right.
#[test]
fn answers_are_marked() {
    for (name, right, wrong) in [("sheet-1.kp", 1, 4), ("sheet-2.kp", 1, 4), ("winch-bracket.kp", 0, 0)] {
        let path = root().join("marking").join(name);
        let mut command = Command::cargo_bin("kingpost").unwrap();
        let output = command.args(["check", "--claims", "--format", "json"]).arg(&path).output().unwrap();
        let lines = String::from_utf8(output.stdout).unwrap();
        let sheet: Value = serde_json::from_str(lines.lines().last().unwrap()).unwrap();
        assert_eq!((&sheet["right"], &sheet["wrong"]), (&right.into(), &wrong.into()), "{name}: {lines}");
        assert_eq!(sheet["unjudged"], 0, "{name}");
    }
}

/// A file of loads is no structure by itself; what it lacks is joints, nothing else.
#[test]
fn files_for_use_lack_their_joints_only() {
    for path in kp_files::in_folder("examples/loads") {
        let (status, findings) = check(&path);
        assert_eq!(status, 1);
        for found in &findings {
            assert_eq!(found["slug"], "unknown-name", "{}: {found}", path.display());
        }
    }
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")
}

/// Exit status and findings.
fn check(path: &Path) -> (i32, Vec<Value>) {
    let output =
        Command::cargo_bin("kingpost").unwrap().args(["check", "--format", "json"]).arg(path).output().unwrap();
    let findings = String::from_utf8(output.stdout).unwrap();
    let lines = findings.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    // The last line is the file's own: its verdict and counts.
    (output.status.code().unwrap(), lines.filter(|line| line["slug"].is_string()).collect())
}

fn solve(path: &Path) -> Value {
    let output =
        Command::cargo_bin("kingpost").unwrap().args(["solve", "--format", "json"]).arg(path).output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap()
}
