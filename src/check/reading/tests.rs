//! Every slip gives one message, at its place, with its cure.

use super::*;
use crate::syntax::parse;

/// Every slug that is raised here.
const READING: [Slug; 29] = [
    Slug::UnknownToken,
    Slug::LookAlike,
    Slug::HiddenCharacter,
    Slug::UnclosedString,
    Slug::UnknownEscape,
    Slug::MalformedNumber,
    Slug::UnknownUnit,
    Slug::NeighbourWithoutUnit,
    Slug::OneStatementALine,
    Slug::UnknownStatement,
    Slug::MergeConflict,
    Slug::MissingColon,
    Slug::MissingEquals,
    Slug::WrongMark,
    Slug::UnexpectedToken,
    Slug::KeywordAsName,
    Slug::UnknownFunction,
    Slug::IndexedNameDigit,
    Slug::ShortChain,
    Slug::ClauseTwice,
    Slug::MisplacedClause,
    Slug::UnclosedBracket,
    Slug::StrayBracket,
    Slug::VectorParts,
    Slug::UnclosedBlock,
    Slug::StrayBrace,
    Slug::MissingBlock,
    Slug::UnexpectedBlock,
    Slug::OverLimit,
];

fn read(text: &str) -> Vec<Diagnostic> {
    check_reading(&parse(FileId::default(), text), text)
}

/// The fenced block under a heading of a page.
fn block<'p>(page: &'p str, heading: &str) -> &'p str {
    let (_, section) = page.split_once(&format!("\n## {heading}\n")).expect(heading);
    let (_, fenced) = section.split_once("```kp\n").expect("a fenced block");
    fenced.split_once("\n```").expect("the end of the block").0
}

/// The text with every edit of its diagnostics made.
fn cured(text: &str) -> String {
    let mut edits: Vec<_> = read(text).into_iter().flat_map(|diagnostic| diagnostic.edits).collect();
    edits.sort_by_key(|edit| edit.span.start);
    let mut cured = text.to_string();
    for edit in edits.iter().rev() {
        cured.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.replacement);
    }
    cured
}

/// A diagnostic as a reader would see it, without the source.
fn told(text: &str) -> String {
    let mut out = String::new();
    for found in read(text) {
        out += &format!("{}[{}] {}\n", found.severity.word(), found.slug.word(), found.message);
        for label in &found.labels {
            out += &format!("  at {:?}: {}\n", label.at.span.text(text), label.text);
        }
        for why in &found.why {
            out += &format!("  why {why}\n");
        }
        for help in &found.help {
            out += &format!("  help {help}\n");
        }
    }
    out
}

#[test]
fn every_page_has_an_example_that_triggers_it_alone_and_a_cure() {
    for slug in READING {
        let page = slug.page();
        assert!(page.starts_with(&format!("# {}\n\n## What it means\n", slug.word())), "{}", slug.word());
        assert!(page.contains("\n## Why it matters\n"));
        let found: Vec<Slug> = read(block(page, "Example")).iter().map(|found| found.slug).collect();
        assert_eq!(found, [slug], "the example of {}", slug.word());
        assert_eq!(read(block(page, "Cure")), [], "the cure of {}", slug.word());
    }
}

#[test]
fn certain_edits_make_the_text_clean() {
    for (text, clean) in [
        ("joint A: (−1, 2 – 3)", "joint A: (-1, 2 - 3)"),
        ("let a = 2 × 3", "let a = 2 * 3"),
        ("expect force A-B ≤ 5 kN", "expect force A-B <= 5 kN"),
        ("title “Roof”", "title \"Roof\""),
        ("load A: 5\u{A0}kN @ 30º", "load A: 5 kN @ 30°"),
        ("pin A // \u{202E}x", "pin A // x"),
        ("let a = .5 + 3", "let a = 0.5 + 3"),
        ("pin A; roller B;", "pin A\nroller B"),
        ("pin A roller B", "pin A\nroller B"),
        ("Joint A: (0, 0)", "joint A: (0, 0)"),
        ("joint A (0, 0)", "joint A: (0, 0)"),
        ("bar A-B rafter", "bar A-B: rafter"),
        ("roller C along 30°", "roller C: along 30°"),
        ("let a 3", "let a = 3"),
        ("material oak: E 11 GPa", "material oak: E = 11 GPa"),
        ("let a: 3", "let a = 3"),
        ("joint A = (0, 0)", "joint A: (0, 0)"),
        ("expect force A-B < 3 kN", "expect force A-B <= 3 kN"),
        ("expect force A-B = 3 kN", "expect force A-B: 3 kN"),
        ("case wind\n{\n}", "case wind {\n\n}"),
        ("joint B: [3, 0]", "joint B: (3, 0)"),
        ("joint A: (0, 0)\njoint B: (1, 0)\nbar A B", "joint A: (0, 0)\njoint B: (1, 0)\nbar A-B"),
        ("pin A # on the wall\n# it's high", "pin A // on the wall\n// it's high"),
        ("joint D: (3,0, 4,5)", "joint D: (3.0, 4.5)"),
        ("load A-B: 5 kN at 2 m down", "load A-B: 5 kN down at 2 m"),
        ("moment A-B: 5 kN*m at 2 m cw", "moment A-B: 5 kN*m cw at 2 m"),
        ("moment B: 5 kN*m anticlockwise", "moment B: 5 kN*m ccw"),
        ("load B: 5 kN*m cw", "moment B: 5 kN*m cw"),
        ("beam A-B: hinged B", "beam A-B: hinged at B"),
        ("beam A-B: s, hinge at B", "beam A-B: s, hinged at B"),
        ("joint A: (0, 0)\njoint D: (1, 0)\npin A and D", "joint A: (0, 0)\njoint D: (1, 0)\npin A, D"),
        ("joint A: (0, 0)\njoint D: (1, 0)\nfixed A D", "joint A: (0, 0)\njoint D: (1, 0)\nfixed A, D"),
        ("pin support A", "pin A"),
        ("support A roller", "roller A"),
        ("travel t: 4 kN on A-B", "travel t: 4 kN along A-B"),
        ("let a = 5,5 + 2", "let a = 5.5 + 2"),
        ("joint A: (3\", 4'6\")", "joint A: (3 in, 4 ft 6 in)"),
        ("joint A: (3', 4'-6.5″)", "joint A: (3 ft, 4 ft 6.5 in)"),
        ("expect deflection A-B at 2 m down: 1.8 mm", "expect deflection A-B down at 2 m: 1.8 mm"),
        (
            "pin A /* don't */\n/* two\n\n  lines */\nroller B /* and\n*/",
            "pin A // don't\n// two\n\n  // lines\nroller B // and\n//",
        ),
    ] {
        let fixed = cured(text);
        assert_eq!(read(&fixed), [], "{fixed}");
        assert_eq!(fixed, clean);
    }
}

#[test]
fn messages_say_what_was_found_where_and_what_to_write() {
    let slips = "\
jiont A: (0, 0)
node A: (0, 0)
B: (0, 0)
+ 5 kN down
pin A' B
load D: 240 lbs down
load D: 5 kN donw
load D: 5 kN down 3
load A: 3,5 kN down
pin A at 2 m
bar A-B: chord, hinged at A
fixed
joint
joint C
let a = log(2)
roller C: along 30° pushes 20°
expect reaction G
expect reacton G: 5 kN
joint D: (1 m, 2 m
joint E: [0, 0]
for i form 0 to 5 {
}
load A: 5 kN·2 down
let x = a²
let y = 5 + ° 3
spring A: kx
weigh A
travel crane: 40 kN spaced 3 m
combination c: 1.2
let t = let
let u = A.z
section s:
units m
allow
";
    let mut out = String::new();
    for line in slips.lines() {
        let next = if line.ends_with('{') { "\n}" } else { "" };
        let text = format!("{line}{next}");
        assert!(read(&text).len() <= 1, "one slip, one message: {}", told(&text));
        out += &format!("> {line}\n{}\n", told(&text));
    }
    insta::assert_snapshot!(out);
}

#[test]
fn one_slip_does_not_swallow_the_next_statement() {
    let text = "joint A: (0, 0\njoint B: (1, 1)\nlet a = 1 +\npin A\ncase w {\n  load A: (5 kN\n}\npin B\n}";
    let parse = parse(FileId::default(), text);
    let slugs: Vec<&str> = check_reading(&parse, text).iter().map(|found| found.slug.word()).collect();
    assert_eq!(slugs, ["unclosed-bracket", "unexpected-token", "unclosed-bracket", "stray-brace"]);
    assert_eq!(crate::syntax::dump::dump(&parse.tree, text), "joint B: [1, 1]\npin A\ncase w\npin B\n");
    let names: Vec<&str> =
        parse.tree.broken.iter().filter_map(|broken| broken.name).map(|name| name.text(text)).collect();
    // A load declares nothing.
    assert_eq!(names, ["A", "a"]);
}
