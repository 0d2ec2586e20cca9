//! The reports of all examples, by the program itself, and the programs that
//! pages are opened with.

use super::kp_files;

use std::path::{Path, PathBuf};

use assert_cmd::Command;

/// Name and page of every example, sound and broken, written in one format.
pub fn reports(format: &str) -> Vec<(String, String)> {
    let files = kp_files::in_folder("examples").into_iter().chain(kp_files::in_folder("examples/broken"));
    files.map(|path| (path.file_stem().unwrap().to_str().unwrap().to_owned(), report(&path, format))).collect()
}

/// The report of a truss with fourteen cases whose names are long.
pub fn many_cases(format: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let mut source =
        String::from("units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\n");
    for case in 1..=14 {
        source.push_str(&format!("case snow_drifting_from_side_{case} {{\n load C: {case}.5 kN down\n}}\n"));
    }
    let path = folder.path().join("many.kp");
    std::fs::write(&path, source).unwrap();
    report(&path, format)
}

fn report(path: &Path, format: &str) -> String {
    let output =
        Command::cargo_bin("kingpost").unwrap().args(["report", "--format", format]).arg(path).output().unwrap();
    // An error in the structure is an exit of 1, and a page all the same.
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}: {output:?}", path.display());
    String::from_utf8(output.stdout).unwrap()
}

/// The first of these programs that is installed. Where none is, the test is
/// skipped with a word about it, unless `REQUIRE_PAGE_TOOLS` is set.
pub fn installed(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    let found =
        names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name))).find(|path| path.is_file());
    if found.is_none() {
        let missing = names.join(" or ");
        assert!(std::env::var_os("REQUIRE_PAGE_TOOLS").is_none(), "{missing} is not installed");
        eprintln!("skipped: {missing} is not installed");
    }
    found
}

/// The last line of each page of a PDF, its number left out.
pub fn feet(pdftotext: &Path, pdf: &Path) -> Vec<String> {
    let output = std::process::Command::new(pdftotext).arg("-layout").arg(pdf).arg("-").output().unwrap();
    assert!(output.status.success(), "{output:?}");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let is_number = |line: &str| line.chars().all(|c| c.is_ascii_digit() || c == '/' || c == ' ');
    let foot = |page: &str| page.lines().map(str::trim).rfind(|line| !is_number(line)).map(str::to_owned);
    text.split('\u{c}').filter_map(foot).collect()
}
