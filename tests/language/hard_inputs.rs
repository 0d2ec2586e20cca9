//! Texts that are hard to point into: tabs, wide and combining letters,
//! characters that are not seen or break lines elsewhere, other encodings,
//! long lines, thousands of errors. Every format names the same place, in
//! Unicode scalar values, or the file is refused with a reason.

use crate::support::runs;

use std::fs;

use serde_json::Value;

use runs::Said;

const SOUND: &str =
    "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\nload C: 5 kN down\n";

fn check(bytes: &[u8], options: &[&str]) -> Said {
    let folder = tempfile::TempDir::new().unwrap();
    fs::write(folder.path().join("a.kp"), bytes).unwrap();
    let mut command = assert_cmd::Command::cargo_bin("kingpost").unwrap();
    command.current_dir(folder.path()).args([&["check", "a.kp"], options].concat()).output().unwrap().into()
}

/// The first finding of a text: its slug, line and column, the same in every
/// format.
fn first(text: &str) -> (String, u64, u64) {
    let json = check(text.as_bytes(), &["--format", "json"]);
    let line: Value = serde_json::from_str(json.out.lines().next().expect("a finding")).unwrap();
    let (slug, start) = (line["slug"].as_str().unwrap().to_owned(), &line["labels"][0]["start"]);
    let (row, column) = (start["line"].as_u64().unwrap(), start["column"].as_u64().unwrap());
    let page = check(text.as_bytes(), &[]).out;
    assert!(page.contains(&format!("─ a.kp:{row}:{column}\n")), "{row}:{column} is not in\n{page}");
    assert!(page.chars().all(|c| !c.is_control() || c == '\n'), "{page:?}");
    let sarif: Value = serde_json::from_str(&check(text.as_bytes(), &["--format", "sarif"]).out).unwrap();
    let region = &sarif["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"];
    assert_eq!((&region["startLine"], &region["startColumn"]), (&start["line"], &start["column"]));
    let github = check(text.as_bytes(), &["--format", "github"]).out;
    assert!(github.lines().next().unwrap().contains(&format!("file=a.kp,line={row},")), "{github}");
    let junit = check(text.as_bytes(), &["--format", "junit"]).out;
    roxmltree::Document::parse(&junit).unwrap();
    (slug, row, column)
}

fn at(text: &str, slug: &str, line: u64, column: u64) {
    assert_eq!(first(text), (slug.to_owned(), line, column), "{text:?}");
}

#[test]
fn columns_count_scalar_values() {
    // Tabs are one column each, however wide they are shown.
    at(&format!("{SOUND}\t\tload\tD:\t5 kN\tdown\n"), "unknown-name", 9, 8);
    // Wide letters are one column each.
    at(&SOUND.replace('C', "桥梁").replace("load 桥梁", "load 桥粱"), "unknown-name", 8, 6);
    at(&format!("{SOUND}load A: 1 kN down // 桥梁桥梁\nload 桥: 1 kN down // 桥\n"), "unknown-name", 10, 6);
    // A combining mark is a scalar value of its own.
    at(&format!("{SOUND}let e\u{301}t = 1 + e\u{301}ta\n"), "unknown-name", 9, 15);
    // Outside the basic plane.
    at(&format!("{SOUND}load A: 1 kN down // 🚣🚣\nlet a = \"🚣\" b\n"), "unexpected-token", 10, 9);
    // No newline at the end.
    at(&SOUND.replace("down\n", "donw"), "unexpected-token", 8, 14);
    at("units m, kN\njoint A:", "unexpected-token", 2, 9);
    // CRLF and a byte order mark move nothing but the first line's columns.
    at(&SOUND.replace("load C", "load D").replace('\n', "\r\n"), "unknown-name", 8, 6);
    at(&format!("\u{feff}{}", SOUND.replace("load C", "load D")), "unknown-name", 8, 6);
}

#[test]
fn characters_that_are_not_seen_are_refused_where_they_stand() {
    for hidden in ['\0', '\u{1}', '\u{1b}', '\u{7f}', '\u{ad}', '\u{200b}', '\u{202e}', '\u{2066}', '\u{feff}'] {
        at(&SOUND.replace("5 kN", &format!("5 {hidden}kN")), "hidden-character", 8, 11);
        at(&SOUND.replace("pin A", &format!("pin A // a{hidden}b")), "hidden-character", 6, 11);
        at(&format!("{SOUND}title \"a{hidden}b\"\n"), "hidden-character", 9, 9);
    }
}

/// Digits put before a point that follows a word would become part of the word,
/// and be put there again.
#[test]
fn a_point_after_a_word_has_no_certain_correction() {
    for word in ["jo0.32 kip", "é44.7446", "load C: x_.5 kN down"] {
        let text = format!("{SOUND}{word}\n");
        let said = check(text.as_bytes(), &["--fix", "--dry-run"]);
        assert!(!said.out.contains("\n+"), "{}", said.out);
    }
    let said = check(SOUND.replace("(2, 3)", "(.5, 3)").as_bytes(), &["--fix", "--dry-run"]);
    assert!(said.out.contains("\n+joint C: (0.5, 3)\n"), "{}", said.out);
}

/// What an editor may show as a line end is read as one and is one message.
#[test]
fn other_line_ends_are_one_message_and_mended() {
    for end in ["\r", "\u{b}", "\u{c}", "\u{85}", "\u{2028}", "\u{2029}"] {
        let text = SOUND.replace("pin A\n", &format!("pin A{end}"));
        at(&text, "hidden-character", 6, 6);
        let found = check(text.as_bytes(), &["--format", "json"]).out;
        assert_eq!(found.lines().count(), 2, "{end:?}: {found}");
        let folder = tempfile::TempDir::new().unwrap();
        let path = folder.path().join("a.kp");
        fs::write(&path, &text).unwrap();
        let mut fix = assert_cmd::Command::cargo_bin("kingpost").unwrap();
        fix.args(["check", "--fix"]).arg(&path).assert().success();
        assert_eq!(fs::read_to_string(&path).unwrap(), SOUND);
    }
    // A whole file of them.
    let found = check(SOUND.replace('\n', "\r").as_bytes(), &["--format", "json"]).out;
    assert_eq!(found.lines().count(), 2, "{found}");
}

#[test]
fn other_encodings_are_refused_with_the_place() {
    let utf16: Vec<u8> = [0xFF, 0xFE].into_iter().chain(SOUND.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let said = check(&utf16, &[]);
    assert_eq!(
        (said.exit, said.errors.as_str()),
        (2, "kingpost: cannot read a.kp: it is UTF-16 text; save it as UTF-8\n")
    );
    let latin = [SOUND.as_bytes(), "load \u{e9}: ".as_bytes(), b"\xe9 down\n"].concat();
    let said = check(&latin, &[]);
    assert_eq!(said.exit, 2);
    assert_eq!(
        said.errors,
        "kingpost: cannot read a.kp: it is not UTF-8 text: byte 0xE9 at line 9, column 9; save it as UTF-8\n"
    );
    for format in ["sarif", "junit"] {
        let said = check(&latin, &["--format", format]);
        assert!(said.exit == 2 && said.out.contains("not UTF-8"), "{}", said.out);
    }
}

#[test]
fn a_long_line_is_pointed_into_and_not_printed() {
    let text = format!("{SOUND}bar {}\n", (0..3_000).map(|i| format!("A-B{i}")).collect::<Vec<_>>().join(", "));
    let said = check(text.as_bytes(), &[]);
    assert!(said.out.lines().all(|line| line.chars().count() < 260));
    at(&text, "unknown-name", 9, 7);
    let comment = format!("{SOUND}load D: 1 kN down // {}\n", "x".repeat(300_000));
    at(&comment, "unknown-name", 9, 6);
}

#[test]
fn thousands_of_errors_are_shown_in_part_and_counted() {
    let text = format!("{SOUND}{}", (0..5_000).map(|i| format!("load N{i}x: 1 kN down\n")).collect::<String>());
    let said = check(text.as_bytes(), &[]);
    assert_eq!(said.exit, 1);
    assert_eq!(said.out.matches("[unknown-name]").count(), 100);
    assert!(said.out.contains("\n2001 errors in a.kp\n"), "{}", said.out.lines().last().unwrap());
    assert!(said.out.contains("1901 more are not shown"));
    let json = check(text.as_bytes(), &["--format", "json"]).out;
    assert_eq!(json.lines().count(), 2_002);
    assert!(json.lines().rev().nth(1).unwrap().contains("3000 more faults are not shown"));
}
