//! A hundred names and texts that would steer a terminal, a build's log, a
//! spreadsheet or a reader of marked-up text, through every output: nothing is
//! shown raw, and every format for programs still parses.
//!
//! That spreadsheets work out a field beginning with one of `=+-@`, and that
//! runners of builds obey a line beginning with `::` or `##[`, is common practice.

#![cfg(unix)]
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use tempfile::TempDir;

/// What a title, a wrong name and a comment are made of; with `.kp` behind it, a file's name.
fn hostile() -> Vec<String> {
    let pieces = [
        "\u{1b}[31m",
        "\u{1b}]0;x\u{7}",
        "\u{7}",
        "\u{8}",
        "\r",
        "\n",
        "\u{b}",
        "\u{c}",
        "\u{7f}",
        "\u{85}",
        "\u{9b}31m",
        "\u{ad}",
        "\u{61c}",
        "\u{200b}",
        "\u{200e}",
        "\u{200f}",
        "\u{2028}",
        "\u{2029}",
        "\u{202a}",
        "\u{202e}",
        "\u{2066}",
        "\u{2069}",
        "\u{feff}",
        "\u{fff9}",
        "\u{e0041}",
        "\t",
        "::error::x",
        "::warning file=a::x",
        "##[error]x",
        "\n::error::x",
        "\r::error::x",
        "=cmd",
        "=1+1",
        "+1+1",
        "-1+1",
        "@SUM(A1)",
        "\t=1+1",
        "\"",
        "'",
        "`",
        "\"\"",
        "',\"",
        "<b>",
        "</script>",
        "]]>",
        "<!--",
        "&amp;",
        "&",
        "%",
        "%0A",
        "%0A::error::x",
        ",",
        ";",
        ":",
        "a:b",
        "\\",
        "\\n",
        "\\input{x}",
        "$x$",
        "{",
        "}",
        "#",
        "# x",
        "_x_",
        "*x*",
        "|",
        "[x](y)",
        "~",
        "^",
        "!",
        "?",
        "=",
        "-",
        "--help",
        " ",
        "  x  ",
        " x",
        "x y z",
        ".",
        "..x",
        "é",
        "橋",
        "e\u{301}",
        "🏗",
        "%s%n",
        "$(x)",
        "`x`",
        "\u{1}",
        "\u{2}",
        "\u{3}",
        "\u{1f}",
        "\u{80}",
        "\u{9f}",
        "x\u{202e}pk",
        "\u{2060}",
    ];
    let mut names: Vec<String> = pieces.iter().map(|piece| (*piece).to_owned()).collect();
    names.push("x".repeat(240));
    names.push("橋".repeat(80));
    names.push(format!("{}\u{1b}", "y ".repeat(100)));
    names.push("\u{1b}[2J\u{202e}::error::\r\n=1".to_owned());
    for piece in ["::error::x", "=cmd", "\u{1b}c", "<&>"] {
        names.push(format!("roof {piece} roof"));
    }
    assert!(names.len() >= 100, "{}", names.len());
    names
}

/// A folder with a file for each: sound, with it in title and case; and broken,
/// with it in a comment, in a name that is not known and on a line by itself.
fn folder() -> (TempDir, Vec<String>) {
    let folder = TempDir::new().unwrap();
    let mut names = Vec::new();
    for (index, piece) in hostile().iter().enumerate() {
        // No name of a file holds a slash; every one is another.
        let name = format!("{}.kp", piece.replace('/', "∕"));
        let quoted = piece.replace(['\\', '"', '\n', '\r'], "");
        let base = format!(
            "title \"{quoted}\"\nunits m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\n\
             load C: 6 kN down\nexpect reaction B: 3 kN up\nexpect force A-B: 7 kN tension // {quoted}\n"
        );
        let text = if index % 2 == 0 { base } else { format!("{base}load {piece}: 1 kN down // {piece}\n{piece}\n") };
        fs::write(folder.path().join(&name), text).unwrap();
        names.push(name);
    }
    (folder, names)
}

fn run(folder: &Path, arguments: &[&str], files: &[String]) -> (String, String) {
    let done = Command::new(assert_cmd::cargo::cargo_bin("kingpost"))
        .current_dir(folder)
        .args(arguments)
        .arg("--")
        .args(files)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(done.status.code().is_some(), "{arguments:?}");
    (String::from_utf8(done.stdout).unwrap(), String::from_utf8(done.stderr).unwrap())
}

/// Not seen, or steering what shows it; a tab in a line of source is neither. Written anew from the Unicode
/// categories Cc and Cf and the line ends, not taken from the program.
fn is_raw(c: char) -> bool {
    (c.is_control() && c != '\n' && c != '\t')
        || matches!(u32::from(c), 0xad | 0x61c | 0x180e | 0x200b..=0x200f | 0x2028..=0x202e | 0x2060..=0x2064
            | 0x2066..=0x206f | 0xfeff | 0xfff9..=0xfffb | 0xe0001 | 0xe0020..=0xe007f)
}

fn is_clean(what: &str, text: &str) {
    for line in text.lines() {
        let raw = line.chars().find(|c| is_raw(*c));
        assert!(raw.is_none(), "{what}: {raw:?} in {line:?}");
        let start = line.trim_start();
        assert!(!start.starts_with("::") && !start.starts_with("##["), "{what}: {line:?}");
    }
}

#[test]
fn no_page_for_people_shows_anything_raw() {
    let (folder, files) = folder();
    let mut missing = files.clone();
    missing.iter_mut().for_each(|name| name.insert_str(0, "no"));
    for arguments in [&["check"][..], &["check", "--claims"], &["solve"], &["check", "--fix"]] {
        for files in [&files, &missing] {
            let (out, errors) = run(folder.path(), arguments, files);
            is_clean(&format!("{arguments:?}"), &out);
            is_clean(&format!("{arguments:?}, errors"), &errors);
        }
    }
    let (_, errors) = run(folder.path(), &["check", "--no\u{1b}[31m\u{202e}"], &files[..1]);
    is_clean("usage", &errors);
    let (_, errors) = run(folder.path(), &["explain"], &["x\u{1b}[31m".to_owned()]);
    is_clean("explain", &errors);
}

/// Of one file each; the formats in turn.
#[test]
fn no_page_of_one_file_shows_anything_raw() {
    let (folder, files) = folder();
    let commands: [&[&str]; 10] = [
        &["derive", "--format", "text"],
        &["report", "--format", "text"],
        &["derive", "--format", "markdown"],
        &["report", "--format", "markdown"],
        &["derive", "--format", "latex"],
        &["report", "--format", "latex"],
        &["derive", "--format", "html"],
        &["report", "--format", "html"],
        &["draw", "--format", "svg", "-o", "-"],
        &["draw", "--format", "tex", "-o", "-"],
    ];
    for (index, file) in files.iter().enumerate() {
        for (place, command) in commands.iter().enumerate() {
            // Every command sees files with errors and files without.
            if (place / 2 + index / 2) % 5 != 0 {
                continue;
            }
            let (out, errors) = run(folder.path(), command, std::slice::from_ref(file));
            is_clean(&format!("{command:?} {file:?}"), &out);
            is_clean(&format!("{command:?} {file:?}, errors"), &errors);
            if command.contains(&"svg") && !out.is_empty() {
                roxmltree::Document::parse(&out).unwrap();
            }
            assert!(!out.contains("</script>x") && !out.contains("<b>.kp"), "{command:?} {file:?}");
        }
        let (out, errors) = run(folder.path(), &["draw"], std::slice::from_ref(file));
        is_clean(&format!("draw {file:?}"), &out);
        is_clean(&format!("draw {file:?}, errors"), &errors);
        let (out, _) = run(folder.path(), &["draw", "-o", &format!("{index}-{file}.svg")], std::slice::from_ref(file));
        is_clean(&format!("draw -o {file:?}"), &out);
        assert_eq!(out.lines().count(), 1, "{out:?}");
    }
}

#[test]
fn what_is_for_programs_parses_and_shows_nothing_raw() {
    let (folder, mut files) = folder();
    files.push("no\u{1b}\n::error::.kp".to_owned());
    let (json, _) = run(folder.path(), &["check", "--format", "json"], &files);
    is_clean("json", &json);
    let mut told: BTreeMap<String, usize> = BTreeMap::new();
    for line in json.lines() {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        *told.entry(line["file"].as_str().unwrap().to_owned()).or_default() += 1;
    }
    // Names are whole: they are the files' own.
    assert!(told.keys().all(|name| files.contains(name)));
    assert_eq!(told.len(), files.len());

    let (github, _) = run(folder.path(), &["check", "--format", "github"], &files);
    let lines = told.values().sum::<usize>();
    let commands: Vec<&str> = github.lines().collect();
    for line in &commands {
        assert!(line.chars().all(|c| !is_raw(c)), "{line:?}");
        let command = ["::error file=", "::warning file=", "::notice file="];
        assert!(command.iter().any(|command| line.starts_with(command)), "{line:?}");
        let (properties, _) = line[2..].split_once("::").unwrap();
        assert!(properties.split(',').all(|property| property.matches('=').count() >= 1), "{line:?}");
    }
    assert!(commands.len() <= lines && commands.len() * 10 > lines * 9, "{} {lines}", commands.len());

    let (sarif, _) = run(folder.path(), &["check", "--format", "sarif"], &files);
    is_clean("sarif", &sarif);
    let log: serde_json::Value = serde_json::from_str(&sarif).unwrap();
    assert_eq!(log["runs"][0]["invocations"][0]["executionSuccessful"], false);

    let (junit, _) = run(folder.path(), &["check", "--format", "junit"], &files);
    is_clean("junit", &junit);
    let report = roxmltree::Document::parse(&junit).unwrap();
    let suites = report.descendants().filter(|node| node.has_tag_name("testsuite")).count();
    assert_eq!(suites, files.len());

    let (json, _) = run(folder.path(), &["check", "--claims", "--format", "json"], &files);
    is_clean("claims as json", &json);
    assert!(json.lines().all(|line| serde_json::from_str::<serde_json::Value>(line).is_ok()));
    let (json, _) = run(folder.path(), &["solve", "--format", "json"], &files);
    is_clean("solve as json", &json);
    let answers: Vec<serde_json::Value> = serde_json::from_str(&json).unwrap();
    assert_eq!(answers.len(), files.len() - 1);

    for (arguments, columns) in
        [(&["check", "--claims", "--format", "csv"], 8), (&["solve", "--format", "csv", "--case=loads"], 7)]
    {
        let arguments: Vec<&str> = arguments.iter().copied().filter(|word| *word != "--case=loads").collect();
        let (csv, _) = run(folder.path(), &arguments, &files);
        is_clean("csv", &csv);
        for row in rows(&csv) {
            assert_eq!(row.len(), columns, "{row:?}");
            for cell in row.iter().filter(|cell| cell.parse::<f64>().is_err()) {
                assert!(!cell.trim_start().starts_with(['=', '+', '-', '@']), "{cell:?} in {row:?}");
            }
        }
    }
}

/// Rows of a table after RFC 4180.
fn rows(csv: &str) -> Vec<Vec<String>> {
    let (mut rows, mut row, mut cell, mut quoted) = (Vec::new(), Vec::new(), String::new(), false);
    let mut characters = csv.chars().peekable();
    while let Some(c) = characters.next() {
        match c {
            '"' if quoted && characters.peek() == Some(&'"') => cell.extend(characters.next()),
            '"' if quoted || cell.is_empty() => quoted = !quoted,
            ',' if !quoted => row.push(std::mem::take(&mut cell)),
            '\n' if !quoted => {
                row.push(std::mem::take(&mut cell));
                rows.push(std::mem::take(&mut row));
            }
            c => cell.push(c),
        }
    }
    assert!(!quoted && row.is_empty() && cell.is_empty());
    rows
}
