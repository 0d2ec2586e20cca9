//! Texts that are small, or small for what they ask: loops whose every turn
//! misses a name, combinations within combinations, products of cases,
//! members and claims. Each is told of within a bounded time and memory.

use std::fmt::Write as _;
use std::time::{Duration, Instant};

use kingpost::base::{CaseId, SupportId};
use kingpost::check::{Checked, check};
use kingpost::diagnostic::{Severity, Slug};
use kingpost::present::figure::{Figure, Kind, draw};
use kingpost::statics::Subject;
use kingpost::structure::{SourceRefusal, read_project};

/// With nothing optimised and other tests beside it.
const LONGEST: Duration = Duration::from_secs(60);

const SOUND: &str =
    "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\nload C: 5 kN down\n";

fn checked(text: &str) -> Checked {
    let start = Instant::now();
    let project = read_project("large.kp", text.to_owned(), &mut |_| Err(SourceRefusal("it is not there".to_owned())));
    let checked = check(&project);
    let took = start.elapsed();
    assert!(took < LONGEST, "{took:?} for {}", text.chars().take(300).collect::<String>());
    checked
}

fn errors(checked: &Checked) -> Vec<Slug> {
    let errors = checked.diagnostics.iter().filter(|found| found.severity == Severity::Error);
    errors.map(|found| found.slug).collect()
}

#[test]
fn a_loop_may_miss_a_name_in_every_turn() {
    let joints = "for i from 0 to 19999 {\n  joint L[i]: (i, 5)\n}\n";
    let found = checked(&format!("{SOUND}{joints}for i from 0 to 100000 {{\n  load M[i]: 1 kN down\n}}\n"));
    assert!(errors(&found).contains(&Slug::UnknownName));
    let cases = "for i from 1 to 5000 {\n  case c[i] {\n    load C: 1 kN down\n  }\n}\n";
    let missed: String = (1..5000).map(|i| format!("expect force A-B: 3 kN tension under d{i}\n")).collect();
    let found = checked(&format!("{SOUND}{cases}{missed}"));
    assert!(errors(&found).contains(&Slug::UnknownName));
    // The first are still told what may be meant.
    let hint = found.diagnostics.iter().find(|found| found.slug == Slug::UnknownName).unwrap();
    assert!(hint.help.iter().any(|help| help.contains("c1")), "{hint:?}");
}

#[test]
fn long_names_are_not_compared() {
    let name = "a".repeat(200_000);
    let found = checked(&format!("{SOUND}joint {name}: (9, 9)\nbar A-{name}-B\nload {name}b: 1 kN down\n"));
    assert_eq!(errors(&found), [Slug::UnknownName]);
}

/// Each combination adds a case to the one before it.
fn combinations(count: usize, order: impl Iterator<Item = usize>) -> String {
    let mut text = SOUND.replace("load C: 5 kN down\n", "");
    for index in 0..count {
        writeln!(text, "case k{index} {{\n  load C: {} kN down\n}}", index + 1).unwrap();
    }
    for index in order {
        let before = if index == 0 { String::new() } else { format!("q{} + ", index - 1) };
        writeln!(text, "combination q{index}: {before}k{index}").unwrap();
    }
    text
}

#[test]
fn combinations_may_be_deep_in_any_order() {
    for text in [combinations(300, 0..300), combinations(300, (0..300).rev())] {
        let found = checked(&text);
        assert_eq!(errors(&found), []);
        let last = found.structure.combinations.last().unwrap();
        assert_eq!((last.factors.len(), found.structure.combinations.len()), (300, 300));
        // 1 + 2 + … + 300 kN, half of it on each support.
        let solution = found.solution.as_ref().unwrap();
        let sum = solution.results.last().unwrap().reactions[SupportId::new(1)].fy.unwrap();
        assert!((sum - 22_575e3).abs() < 1e-3, "{sum}");
    }
    let circle = SOUND.to_owned() + "combination a: loads + b\ncombination b: c\ncombination c: a\n";
    assert_eq!(errors(&checked(&circle)), [Slug::CircularCombination]);
    // Factors beyond what is unfolded.
    assert!(errors(&checked(&combinations(4_100, 0..4_100))).contains(&Slug::TooManyStatements));
}

#[test]
fn products_of_what_is_stated_are_bounded() {
    let girder = "units m, kN\nfor i from 0 to 200 {\n  joint L[i]: (i, 0)\n  joint U[i]: (i, 1)\n  bar L[i]-U[i]\n}\n\
        for i from 1 to 200 {\n  bar L[i-1]-L[i], U[i-1]-U[i], L[i-1]-U[i]\n}\npin L0\nroller L200\n";
    let cases =
        |count: usize| format!("for i from 1 to {count} {{\n  case c[i] {{\n    load L5: i * 1 kN down\n  }}\n}}\n");
    assert_eq!(errors(&checked(&(girder.to_owned() + &cases(100_000)))), [Slug::OverLimit]);
    let claims = "for i from 1 to 300000 {\n  expect force A-B: i * 1 kN tension\n}\n";
    assert_eq!(errors(&checked(&(SOUND.to_owned() + claims))), [Slug::OverLimit]);
    let all = "for i from 1 to 30000 {\n  expect force A-B <= i * 1 kN under all\n}\n";
    assert_eq!(errors(&checked(&(SOUND.to_owned() + &cases(2_000).replace("L5", "C") + all))), [Slug::OverLimit]);
    let empty = "for i from 1 to 300000 {\n  case e[i] {\n  }\n}\n";
    assert!(checked(&(SOUND.to_owned() + empty)).diagnostics.len() < 100);
}

#[test]
fn loads_and_trains_are_bounded_together() {
    let beam = "units m, kN\nsection s: EA = 1e5 kN, EI = 1e4 kN*m^2\nfor i from 0 to 20 {\n  joint L[i]: (i, 0)\n}\n\
        for i from 1 to 20 {\n  beam L[i-1]-L[i]: s\n  roller L[i]\n}\npin L0\nallow roller-pulls\n";
    let many = "for i from 1 to 100000 {\n  load L0-L1: 1 kN down at i * 1e-6 m\n}\n";
    assert_eq!(errors(&checked(&(beam.to_owned() + many))), [Slug::OverLimit]);
    let some = "for i from 1 to 400 {\n  load L0-L1: 1 kN down at i * 1e-3 m\n}\n";
    assert_eq!(errors(&checked(&(beam.to_owned() + some))), []);
    let path: Vec<String> = (0..=20).map(|index| format!("L{index}")).collect();
    let trains = format!(
        "for k from 1 to 1000 {{\n  travel t[k]: 10 kN, 5 kN spaced k * 0.001 m along {}\n}}\n",
        path.join("-")
    );
    let found = errors(&checked(&(beam.to_owned() + &trains)));
    assert_eq!(found, [Slug::OverLimit]);
}

/// Lines that cross or nearly do, at places that are no decimals.
#[test]
fn members_all_across_each_other() {
    let fan = "units m, kN\nfor i from 0 to 90 {\n  joint L[i]: (10 m @ i * 3.9°)\n}\n\
        for i from 0 to 90 {\n  for j from i + 1 to 90 {\n    bar L[i]-L[j]\n  }\n}\npin L0\nroller L40\nload L3: 1 kN down\n";
    assert!(checked(fan).diagnostics.iter().any(|found| found.slug == Slug::CrossingMembers));
}

const BEAM: &str = "units m, kN\nsection s: EA = 40 MN, EI = 3 MN*m^2\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B: s\npin A\nroller B\n";

#[test]
fn statements_are_counted_before_they_are_made() {
    for loops in [
        "for i from 0 to 7.9e6 {\n  joint L[i]: (i, 0)\n}\n",
        "for i from 0 to 2.6e6 {\n  load C: 1 kN down\n}\n",
        "for i from 0 to 3900000 {\n}\n",
    ] {
        let found = checked(&format!("{SOUND}{loops}"));
        assert_eq!(errors(&found), [Slug::TooManyStatements]);
        assert!(found.structure.joints.len() < 10);
    }
}

/// Memory is of the whole process, so this asks the program itself.
#[test]
fn memory_beyond_its_budget_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let run = |text: &str, arguments: &[&str]| {
        let file = folder.path().join("memory.kp");
        std::fs::write(&file, text).unwrap();
        let mut command = assert_cmd::Command::cargo_bin("kingpost").unwrap();
        let output = command.args(arguments).arg(&file).output().unwrap();
        let said = [output.stdout, output.stderr].map(|said| String::from_utf8(said).unwrap());
        (output.status.code(), said)
    };
    let loads = format!("{SOUND}for i from 1 to 200000 {{\n  load C: 1 kN down\n}}\n");
    assert_eq!(run(&loads, &["check"]).0, Some(0));
    // Told by its place where counts tell it beforehand, whatever the command.
    for command in ["check", "solve", "derive", "report"] {
        let (status, [out, errors]) = run(&loads, &[command, "--memory", "100MB"]);
        assert!(matches!(status, Some(1)), "{command}: {status:?}");
        assert!(format!("{out}{errors}").contains("too-many-statements"), "{command}: {out}{errors}");
    }
    // A long text is read before anything can be counted.
    let long: String = (0..400_000).map(|at| format!("load C: {at} kN down\n")).collect();
    let (status, [out, errors]) = run(&format!("{SOUND}{long}"), &["--memory", "60MB", "check"]);
    assert_eq!((status, out.as_str()), (Some(2), ""));
    assert!(errors.starts_with("kingpost: ") && errors.lines().count() == 1 && errors.contains("--memory"), "{errors}");
    for wrong in ["1kB", "fish", "-1", "12 lbf"] {
        assert_eq!(run(SOUND, &["check", "--memory", wrong]).0, Some(2), "{wrong}");
    }
}

#[test]
fn failed_claims_are_told_up_to_a_limit_and_marked_all() {
    let found = checked(&format!("{SOUND}for i from 1 to 9000 {{\n  expect reaction A: i * 1 kN up\n}}\n"));
    let told = errors(&found);
    assert!((2_000..2_100).contains(&told.len()) && told.contains(&Slug::TooManyFindings), "{}", told.len());
    assert_eq!(found.marks.len(), 9_000);
}

#[test]
fn claims_and_trains_are_bounded_by_what_they_look_at() {
    let cases = "for i from 1 to 3000 {\n  case k[i] {\n    load A-B: i * 1 N/m down\n  }\n}\n";
    let claims = "for i from 1 to 6000 {\n  expect moment A-B <= 1 N*m under all\n}\n";
    assert_eq!(errors(&checked(&format!("{BEAM}{cases}{claims}"))), [Slug::OverLimit]);
    let loads = "for i from 1 to 4000 {\n  load A-B: 1 kN down at i * 1 mm\n}\n";
    let claims = "for i from 1 to 3000 {\n  expect moment A-B at i * 1 mm: 1 kN*m sagging\n}\n";
    assert_eq!(errors(&checked(&format!("{BEAM}{loads}{claims}"))), [Slug::OverLimit]);
    let wheels = |count: usize| format!("travel t: {} spaced 1 mm along A-B\n", vec!["1 kN"; count].join(", "));
    assert_eq!(errors(&checked(&format!("{BEAM}{}", wheels(2_000)))), [Slug::OverLimit]);
    assert_eq!(errors(&checked(&format!("{BEAM}{}", wheels(40)))), []);
}

#[test]
fn slips_are_sought_as_long_as_trials_are_cheap() {
    let mut text = BEAM.to_owned();
    for at in 0..490 {
        writeln!(text, "load A-B: {} kN down at {} mm", at % 7 + 1, at * 8).unwrap();
    }
    for at in 0..300 {
        writeln!(text, "expect moment A-B: {at}.{at:03} kN*m sagging").unwrap();
    }
    let found = checked(&text);
    assert_eq!(errors(&found), [Slug::ClaimFails; 300]);
}

fn figure(text: &str) -> Figure {
    let checked = checked(text);
    draw(&checked, Kind::Structure, Some(Subject::Case(CaseId::new(0)))).unwrap()
}

/// The places of words that are looked at grow no faster than what is drawn,
/// whatever crowds: counted, so that no clock is asked.
#[test]
fn lettering_takes_no_more_than_its_number() {
    let couples = |n: usize| format!("{BEAM}for i from 1 to {n} {{\n  moment A-B: 1 kN*m ccw at i * 0.5 mm\n}}\n");
    let points = |n: usize| format!("{BEAM}for i from 1 to {n} {{\n  load A-B: i * 1 kN down at i * 0.1 mm\n}}\n");
    let spans = |n: usize| {
        format!(
            "units m, kN\nsection s: EA = 40 MN, EI = 3 MN*m^2\nfor i from 0 to {n} {{\n  joint L[i]: (i, 0)\n}}\n\
             for i from 1 to {n} {{\n  beam L[i-1]-L[i]: s\n  load L[i-1]-L[i]: i * 1 N/m down\n  roller L[i]\n}}\npin L0\n"
        )
    };
    let far = |n: usize| {
        spans(n).replace(&format!("from 0 to {n} {{"), &format!("from 0 to {n} {{\n  joint M[i]: (i * 1e6, 0)"))
    };
    for (name, text) in
        [("couples", &couples as &dyn Fn(usize) -> String), ("points", &points), ("spans", &spans), ("far", &far)]
    {
        let [few, many] = [100, 400].map(|n| figure(&text(n)).picture.tally.tried);
        assert!(few < 1_000_000 && many < 6 * few.max(100_000), "{name}: {few} places for 100, {many} for 400");
    }
    let crowded = figure(&couples(100));
    let left_out = crowded.picture.tally.left_out;
    assert!(
        left_out > 10 && crowded.caption.contains(&format!("{left_out} labels are omitted")),
        "{}",
        crowded.caption
    );
}
