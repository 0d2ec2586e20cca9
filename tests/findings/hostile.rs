//! No text panics, hangs, exhausts memory or points outside itself: examples
//! spoilt at random, and inputs made to break things.

use std::path::Path;
use std::time::{Duration, Instant};

use kingpost::check::{Checked, check};
use kingpost::diagnostic::{Severity, Slug};
use kingpost::present::diagnostics::{Style, render_human, render_json_line};
use kingpost::structure::{Project, SourceRefusal, read_project};
use proptest::prelude::*;
use proptest::test_runner::{Config, FileFailurePersistence};

/// What any of the inputs below may take, with nothing optimised and other
/// tests beside it.
const LONGEST: Duration = Duration::from_secs(30);

fn read(text: &str) -> Project {
    read_project("hostile.kp", text.to_owned(), &mut |_| Err(SourceRefusal("there is no such file".to_owned())))
}

/// Checks a text as every use of the program would, and that what is found can be shown.
fn look(text: &str) -> (Project, Checked) {
    let project = read(text);
    let checked = check(&project);
    for found in &checked.diagnostics {
        assert!(!found.message.is_empty() && !found.message.contains('\n'), "{found:?}");
        for label in &found.labels {
            let text = project.files.get(label.at.file).map(|file| file.text.as_str()).unwrap();
            let (start, end) = (label.at.span.start as usize, label.at.span.end as usize);
            assert!(text.get(start..end).is_some(), "{found:?} points outside the file or into a character");
        }
        render_json_line(found, &project.files);
    }
    render_human(&checked.diagnostics, &project.files, Style::default());
    (project, checked)
}

fn examples() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folders = ["examples", "examples/broken", "tests/published"];
    let files = folders.iter().flat_map(|folder| std::fs::read_dir(root.join(folder)).unwrap());
    let mut paths: Vec<_> = files.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "kp"));
    // The largest costs much and shows nothing more.
    paths.retain(|path| !path.ends_with("gangway.kp"));
    paths.sort();
    paths.iter().map(|path| std::fs::read_to_string(path).unwrap()).collect()
}

/// One way to spoil a text.
#[derive(Clone, Debug)]
enum Spoil {
    DropLine(usize),
    DoubleLine(usize),
    SwapLines(usize, usize),
    SwapWords(usize, usize),
    DropCharacter(usize),
    PutCharacter(usize, char),
    Cut(usize),
    ChangeNumber(usize, &'static str),
}

fn spoil() -> impl Strategy<Value = Spoil> {
    let at = any::<usize>;
    let number =
        prop::sample::select(vec!["0", "-1", "1e300", "1e-300", "1/0", "0.1", "9999999999999999999999", "3 m"]);
    let character = prop::sample::select("(){}[]:,=-+*/@^%.\"'\\\n\t ;§é\u{200b}漢0m".chars().collect::<Vec<_>>());
    prop_oneof![
        at().prop_map(Spoil::DropLine),
        at().prop_map(Spoil::DoubleLine),
        (at(), at()).prop_map(|(a, b)| Spoil::SwapLines(a, b)),
        (at(), at()).prop_map(|(a, b)| Spoil::SwapWords(a, b)),
        at().prop_map(Spoil::DropCharacter),
        (at(), character).prop_map(|(at, c)| Spoil::PutCharacter(at, c)),
        at().prop_map(Spoil::Cut),
        (at(), number).prop_map(|(at, number)| Spoil::ChangeNumber(at, number)),
    ]
}

fn spoilt(text: &str, spoil: &Spoil) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let count = lines.len().max(1);
    let characters: Vec<char> = text.chars().collect();
    let place = |at: usize| at % characters.len().max(1);
    let join = |lines: Vec<&str>| lines.join("\n") + "\n";
    match spoil {
        Spoil::DropLine(at) => {
            join(lines.iter().enumerate().filter(|(line, _)| *line != at % count).map(|(_, line)| *line).collect())
        }
        Spoil::DoubleLine(at) => {
            let twice = |(line, text)| if line == at % count { vec![text, text] } else { vec![text] };
            join(lines.iter().copied().enumerate().flat_map(twice).collect())
        }
        Spoil::SwapLines(a, b) => {
            let mut lines = lines.clone();
            if !lines.is_empty() {
                lines.swap(a % count, b % count);
            }
            join(lines)
        }
        Spoil::SwapWords(a, b) => {
            let mut words: Vec<&str> = text.split_inclusive(' ').collect();
            let count = words.len();
            if count > 0 {
                words.swap(a % count, b % count);
            }
            words.concat()
        }
        Spoil::DropCharacter(at) => {
            characters.iter().enumerate().filter(|(i, _)| *i != place(*at)).map(|(_, c)| c).collect()
        }
        Spoil::PutCharacter(at, c) => {
            let mut characters = characters.clone();
            characters.insert(place(*at), *c);
            characters.into_iter().collect()
        }
        Spoil::Cut(at) => characters.iter().take(place(*at)).collect(),
        Spoil::ChangeNumber(at, number) => {
            let digits: Vec<(usize, char)> = text.char_indices().filter(|(_, c)| c.is_ascii_digit()).collect();
            match digits.get(at % digits.len().max(1)) {
                Some((byte, _)) => format!("{}{number}{}", &text[..*byte], &text[byte + 1..]),
                None => text.to_owned(),
            }
        }
    }
}

proptest! {
    #![proptest_config(Config {
        cases: 600,
        failure_persistence: Some(Box::new(FileFailurePersistence::Off)),
        ..Config::default()
    })]

    #[test]
    fn spoilt_examples_are_told_of(which in any::<prop::sample::Index>(), spoils in prop::collection::vec(spoil(), 1..4)) {
        let examples = examples();
        let mut text = examples[which.index(examples.len())].clone();
        for spoil in &spoils {
            text = spoilt(&text, spoil);
        }
        let (_, first) = look(&text);
        let (_, again) = look(&text);
        prop_assert_eq!(first.diagnostics, again.diagnostics, "the same text is told of in two ways");
    }

    #[test]
    fn any_text_is_told_of(text in "\\PC{0,200}") {
        look(&text);
    }
}

/// Checks within the time allowed and expects an error of this kind.
fn told_as(text: &str, slug: Slug) {
    let start = Instant::now();
    let (_, checked) = look(text);
    let took = start.elapsed();
    let found: Vec<&str> = checked.diagnostics.iter().map(|found| found.slug.word()).take(9).collect();
    assert!(checked.diagnostics.iter().any(|found| found.slug == slug), "{} is not among {found:?}", slug.word());
    assert!(took < LONGEST, "{} took {took:?}", slug.word());
}

/// Three bars, a load, and what is added.
fn with(more: &str) -> String {
    format!(
        "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\nload C: 5 kN down\n{more}\n"
    )
}

#[test]
fn brackets_a_million_deep() {
    for (open, close) in [("(", ")"), ("[", "]"), ("{", "}")] {
        let deep = format!("let a = {}1{}", open.repeat(1_000_000), close.repeat(1_000_000));
        look(&with(&deep));
        look(&with(&format!("let a = {}", open.repeat(1_000_000))));
        look(&with(&close.repeat(1_000_000)));
    }
    told_as(&with(&format!("let a = {}1{}", "(".repeat(1_000_000), ")".repeat(1_000_000))), Slug::OverLimit);
    told_as(&with(&"for i from 0 to 1 {\n".repeat(100_000)), Slug::OverLimit);
    look(&with(&format!("let a = {}1", "-".repeat(1_000_000))));
    look(&with(&format!("let a = 1{}", "^1".repeat(500_000))));
    look(&with(&format!("let a = 1{}", "+1".repeat(500_000))));
}

#[test]
fn loops_without_end() {
    told_as(&with("for i from 0 to 1e15 {\n  joint L[i]: (i, 0)\n}"), Slug::TooManyStatements);
    let nested = "for i from 0 to 1e6 {\n  for j from 0 to 1e6 {\n    joint L[i,j]: (i, j)\n  }\n}";
    told_as(&with(nested), Slug::TooManyStatements);
    told_as(&with("for i from 0 to 1e15 {\n}"), Slug::TooManyStatements);
    told_as(&with("for i from -9e18 to 9e18 {\n  load A: 1 kN down\n}"), Slug::TooManyStatements);
    told_as(&with("for i from 0 to 10 by 0 {\n  load A: 1 kN down\n}"), Slug::LoopStepZero);
}

#[test]
fn definitions_in_a_circle_and_in_a_long_row() {
    told_as(&with("let a = a"), Slug::CircularValue);
    let circle: String = (0..20_000).map(|i| format!("let v{i} = v{} + 1\n", (i + 1) % 20_000)).collect();
    told_as(&with(&circle), Slug::CircularValue);
    let row: String = (0..20_000).map(|i| format!("let v{i} = v{} + 1\n", i + 1)).collect();
    told_as(&with(&(row + "let v20000 = 1\n")), Slug::UnusedLet);
    told_as(&with("combination a: b\ncombination b: a"), Slug::CircularCombination);
    let doubling: String = (0..200).map(|i| format!("combination c{}: c{i} + c{i}\n", i + 1)).collect();
    look(&with(&format!("case c0 {{\n  load A: 1 kN down\n}}\n{doubling}")));
}

#[test]
fn names_of_a_hundred_thousand_letters() {
    let name = "a".repeat(100_000);
    told_as(&with(&format!("load {name}: 1 kN down")), Slug::UnknownName);
    told_as(&with(&format!("joint {name}: (1, 1)")), Slug::LooseJoint);
    told_as(&with(&format!("{name} A")), Slug::UnknownStatement);
    told_as(&with(&format!("load A: 5 {name} down")), Slug::UnknownUnit);
    let many: String = (0..5_000).map(|i| format!("load N{i}x: 1 kN down\n")).collect();
    told_as(&with(&many), Slug::TooManyFindings);
}

#[test]
fn files_that_use_themselves() {
    let own = &mut |_: &str| Ok("use \"hostile.kp\"\nuse \"other.kp\"\n".to_owned());
    let project = read_project("hostile.kp", with("use \"hostile.kp\"\nuse \"other.kp\""), own);
    assert_eq!(check(&project).diagnostics, []);
    // A file that always uses one more.
    let more = &mut |path: &str| Ok(format!("use \"x{path}\"\n"));
    let project = read_project("hostile.kp", with("use \"a.kp\""), more);
    assert!(check(&project).diagnostics.iter().any(|found| found.slug == Slug::UseRefused));
}

#[test]
fn numbers_out_of_all_bounds() {
    for far in ["1e300", "1e-300", "1e101", "-1e200"] {
        let (_, checked) = look(&with(&format!("joint D: ({far}, 3)\nbar A-D-B")));
        assert!(checked.has_errors(), "{far}");
    }
    for expression in ["1/0", "0/0", "sqrt(0-1)", "asin(2)", "10^400", "(0-8)^0.5", "tan(90°)", "1e308*1e308"] {
        let (_, checked) = look(&with(&format!("joint D: ({expression}, 3)\nbar A-D-B")));
        assert!(checked.has_errors(), "{expression}");
        assert!(checked.solution.is_none(), "{expression}");
    }
    // Within the bounds and out of proportion.
    for far in ["1e99", "1e-99", "1e17", "1e-17"] {
        look(&with(&format!("joint D: ({far}, 3)\nbar A-D-B")));
        look(&with(&format!("load C: {far} kN down")));
        look(&with(&format!("section s: EA = {far} kN\njoint D: (4, 3)\nbar A-D-B: s\nbar D-C: s")));
    }
}

#[test]
fn joints_all_at_one_place() {
    let joints: String = (0..2_000).map(|i| format!("joint P{i}: (0, 0)\n")).collect();
    let bars: String = (1..2_000).map(|i| format!("bar P{}-P{i}\n", i - 1)).collect();
    told_as(&format!("units m, kN\n{joints}{bars}pin P0\n"), Slug::CoincidentJoints);
    told_as(&with("joint D: A\nbar A-D"), Slug::CoincidentJoints);
    told_as(&with("bar A-A"), Slug::MemberOnItself);
    let line: String = (0..2_000).map(|i| format!("joint P{i}: ({i}, 0)\n")).collect();
    let all = format!(
        "units m, kN\n{line}for i from 1 to 1999 {{\n  bar P0-P[i]\n}}\npin P0\nroller P1999\nload P5: 1 kN down\n"
    );
    told_as(&all, Slug::MoreMechanisms);
}

#[test]
fn a_hundred_thousand_cases() {
    let cases: String = (0..100_000).map(|i| format!("case c{i} {{\n  load C: {} kN down\n}}\n", i + 1)).collect();
    let start = Instant::now();
    let (_, checked) = look(&with(&cases));
    let errors = checked.diagnostics.iter().filter(|found| found.severity == Severity::Error).count();
    assert_eq!(errors, 0);
    assert!(start.elapsed() < LONGEST, "{:?}", start.elapsed());
}

#[test]
fn structures_of_every_wrong_shape() {
    // Nothing but joints, nothing but bars, a row of hanging bars, a star, a fan of collinear bars.
    look("joint A: (0 m, 0 m)\n");
    look("bar A-B\n");
    let hanging: String = (1..3_000).map(|i| format!("joint J{i}: ({i}, 0)\n")).collect();
    let chain =
        format!("units m, kN\njoint J0: (0, 0)\n{hanging}for i from 1 to 2999 {{\n  bar J[i-1]-J[i]\n}}\npin J0\n");
    told_as(&chain, Slug::MoreMechanisms);
    let grid = "units m, kN\nfor i from 0 to 40 {\n  for j from 0 to 40 {\n    joint G[i,j]: (i, j)\n  }\n}\n\
        for i from 0 to 39 {\n  for j from 0 to 40 {\n    bar G[i,j]-G[i+1,j], G[j,i]-G[j,i+1]\n  }\n}\npin G[0,0]\nroller G[40,0]\nload G[3,3]: 1 kN down\n";
    told_as(grid, Slug::MoreMechanisms);
    let braced = grid.replace(
        "pin G",
        "for i from 0 to 39 {\n  for j from 0 to 39 {\n    bar G[i,j]-G[i+1,j+1], G[i+1,j]-G[i,j+1]\n  }\n}\npin G",
    );
    told_as(&braced, Slug::Redundant);
}
