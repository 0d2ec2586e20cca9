//! Cures that are offered with a grade, made in the text and checked again:
//! every grade has to be true.
//!
//! The corpus: the example on the page of every finding, every case of the UI
//! tests, every example of the program broken by the rules of
//! `tests/findings/mutations.rs`, and layouts that drew untrue cures.

use crate::support::kp_files;
use crate::support::mutants;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use kingpost::check::{Checked, check};
use kingpost::diagnostic::{Cure, Diagnostic, Edit, Grade, Severity, Slug};
use kingpost::structure::{Project, SourceRefusal, read_project};

/// How many cures of each grade were met.
#[derive(Debug, Default)]
struct Tally {
    clean: usize,
    stands: usize,
    stops: usize,
    advice: usize,
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn project(folder: &Path, text: &str) -> Project {
    let mut read =
        |used: &str| fs::read_to_string(folder.join(used)).map_err(|_| SourceRefusal("no such file".to_owned()));
    read_project("case.kp", text.to_owned(), &mut read)
}

/// The project with edits made in its texts, by nobody's code but this.
fn edited(old: &Project, edits: &[Edit]) -> Project {
    let texts: Vec<(String, String)> = old
        .files
        .iter()
        .map(|(id, file)| {
            let mut own: Vec<&Edit> = edits.iter().filter(|edit| edit.file == id).collect();
            own.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
            let mut text = file.text.clone();
            for edit in own {
                text.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.replacement);
            }
            (file.name.clone(), text)
        })
        .collect();
    let mut read = |used: &str| {
        let known = texts.iter().find(|(name, _)| name == used);
        known.map(|(_, text)| text.clone()).ok_or_else(|| SourceRefusal("no such file".to_owned()))
    };
    read_project("case.kp", texts[0].1.clone(), &mut read)
}

fn is_same(a: &Diagnostic, b: &Diagnostic) -> bool {
    let texts = |found: &Diagnostic| found.labels.iter().map(|label| label.text.clone()).collect::<Vec<_>>();
    a.slug == b.slug && a.message == b.message && texts(a) == texts(b)
}

/// Why a grade is untrue of the text with the cure made; `None` where it is true.
fn untrue(found: &Diagnostic, cure: &Cure, before: &Checked, after: &Checked) -> Option<&'static str> {
    if cure.grade == Grade::Advice {
        return None;
    }
    if cure.edits.is_empty() {
        return Some("it is graded and has no edit");
    }
    if after.diagnostics.iter().any(|other| is_same(other, found)) {
        return Some("the finding is still there");
    }
    let Some(verdict) = &after.verdict else { return Some("there is no verdict") };
    let aside = |found: &Diagnostic| {
        matches!(found.slug, Slug::ClaimFails | Slug::ClaimNotRefuted | Slug::Redundant)
            || before.diagnostics.iter().any(|other| is_same(other, found))
    };
    let is_stable = matches!(verdict.kind.word(), "determinate" | "indeterminate");
    match cure.grade {
        Grade::NothingIsWrong => {
            let is_clean = after.diagnostics.iter().all(|found| found.severity == Severity::Information);
            (!is_clean || !is_stable).then_some("something is wrong")
        }
        Grade::Stands { redundant } => {
            let new = after.diagnostics.iter().any(|found| found.severity == Severity::Error && !aside(found));
            if !is_stable {
                Some("it moves")
            } else if verdict.redundancy != redundant {
                Some("another number is redundant")
            } else {
                new.then_some("something else is wrong")
            }
        }
        Grade::StopsThisMotion => {
            let had = before.verdict.as_ref().map_or(usize::MAX, |verdict| verdict.mechanisms);
            (verdict.mechanisms >= had).then_some("it moves in as many ways as before")
        }
        Grade::Advice => None,
    }
}

/// Every graded cure of a text, tried.
fn judge(name: &str, folder: &Path, text: &str, tally: &mut Tally, faults: &mut String) {
    let project = project(folder, text);
    let before = check(&project);
    for found in &before.diagnostics {
        let mut last = Grade::NothingIsWrong;
        for cure in &found.cures {
            match cure.grade {
                Grade::NothingIsWrong => tally.clean += 1,
                Grade::Stands { .. } => tally.stands += 1,
                Grade::StopsThisMotion => tally.stops += 1,
                Grade::Advice => tally.advice += 1,
            }
            if cure.grade < last {
                writeln!(faults, "{name}: {} is better than the cure before it", cure.text).unwrap();
            }
            last = cure.grade;
            if cure.grade == Grade::Advice {
                continue;
            }
            let after = check(&edited(&project, &cure.edits));
            if let Some(why) = untrue(found, cure, &before, &after) {
                writeln!(faults, "{name}: {}: {}: {why}\n{text}", found.message, cure.text).unwrap();
            }
        }
        let graded = found.cures.iter().filter(|cure| cure.grade != Grade::Advice).count();
        assert!(graded <= 8, "{name}: {graded} cures");
        assert!(
            !found.help.iter().any(|help| help.contains("verified") && !help.contains("units")),
            "{:?}",
            found.help
        );
    }
}

#[test]
fn grades_are_true_on_pages_and_cases() {
    let (mut tally, mut faults) = (Tally::default(), String::new());
    for slug in Slug::ALL {
        for block in slug.page().split("\n```kp\n").skip(1).map(|rest| rest.split("\n```").next().unwrap()) {
            judge(slug.word(), root(), &format!("{block}\n"), &mut tally, &mut faults);
        }
    }
    for folder in ["tests/ui", "tests/layouts", "tests/hard", "examples"] {
        for path in kp_files::under(&root().join(folder)) {
            let Ok(text) = fs::read_to_string(&path) else { continue };
            judge(&path.display().to_string(), path.parent().unwrap(), &text, &mut tally, &mut faults);
        }
    }
    println!("{tally:?}");
    assert!(faults.is_empty(), "{faults}");
    assert!(tally.clean >= 50 && tally.stands >= 10 && tally.stops >= 5, "{tally:?}");
}

#[test]
fn grades_are_true_on_examples_that_were_broken() {
    let (mut tally, mut faults) = (Tally::default(), String::new());
    let folder = root().join("examples");
    for path in fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
        if path.extension().is_none_or(|own| own != "kp") {
            continue;
        }
        for mutant in mutants::mutants(&fs::read_to_string(&path).unwrap()) {
            let name = format!("{} in {}", mutant.rule, path.display());
            judge(&name, &folder, &mutant.text, &mut tally, &mut faults);
        }
    }
    println!("{tally:?}");
    assert!(faults.is_empty(), "{faults}");
    assert!(tally.clean >= 20 && tally.clean + tally.stands + tally.stops >= 80, "{tally:?}");
}

fn findings(text: &str) -> Vec<Diagnostic> {
    check(&project(root(), text)).diagnostics
}

fn first_help(text: &str) -> (Slug, String) {
    let found = findings(text);
    let first = found.iter().find(|found| found.severity == Severity::Error).unwrap();
    (first.slug, first.help.first().cloned().unwrap_or_default())
}

/// A crown hinge in line with the springings: moved, nothing is wrong; left
/// out, the arch is once redundant.
#[test]
fn a_hinge_in_line_is_best_moved() {
    let text = "units m, kN\njoint A: (0, 0)\njoint P: (2, 3)\njoint H: (6, 1.5)\njoint Q: (9, 5)\njoint B: (12, 3)\n\
        beam A-P-H-Q-B\nhinge H\npin A, B\nload P: 10 kN down\n";
    let found = findings(text);
    let cures: Vec<(&str, Grade)> = found[0].cures.iter().map(|cure| (cure.text.as_str(), cure.grade)).collect();
    assert!(cures[0].0.starts_with("move H off the line") && cures[0].1 == Grade::NothingIsWrong, "{cures:?}");
    assert!(cures.contains(&("leave out the hinge at H", Grade::Stands { redundant: 1 })), "{cures:?}");
}

/// Above the line both cables would push.
#[test]
fn a_straight_cable_is_let_down() {
    let (_, help) = first_help(
        "units m, N\njoint A: (0, 2)\njoint M: (3, 2)\njoint B: (6, 2)\ncable A-M-B\npin A, B\nload M: 50 N down\n",
    );
    assert_eq!(help, "move M off the line, for example `joint M: (3, 1.2)`: then nothing is wrong");
}

/// Whichever member goes, a cable is slack or would push.
#[test]
fn no_member_of_a_tensegrity_is_offered_that_leaves_a_slack_cable() {
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (3, 0)\njoint C: (3, 2)\njoint D: (0, 2)\ncable A-B-C-D-A\n\
        bar A-C, B-D\nallow crossing-members\npin A\nroller B\nload D: 1 kN down\n";
    let found = findings(text);
    let first = found.iter().find(|found| found.slug == Slug::Redundant).unwrap();
    for cure in &first.cures {
        let after = check(&edited(&project(root(), text), &cure.edits));
        assert!(!after.diagnostics.iter().any(|found| found.slug == Slug::SlackCable), "{}", cure.text);
    }
}

/// The other motion goes on: nothing is said to stand.
#[test]
fn what_still_moves_is_not_said_to_stand() {
    let gerber = "units m, kN\njoint A: (0, 0)\njoint B: (6, 0)\njoint H1: (7, 0)\njoint H2: (10, 0)\njoint H3: (9, 0)\n\
        joint C: (12, 0)\njoint D: (18, 0)\nbeam A-B-H1-H3-H2-C-D\nhinge H1, H2, H3\nfixed A\nroller B, C, D\n\
        load H3: 10 kN down\n";
    for found in findings(gerber) {
        assert!(found.slug != Slug::Redundant || found.cures.iter().all(|cure| cure.grade == Grade::Advice));
    }
}

#[test]
fn a_second_guide_becomes_a_roller() {
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (6, 0)\nbeam A-B\nguide A: along up\nguide B: along up\n\
        load A-B: 3 kN/m down\n";
    let found = findings(text);
    assert_eq!(found[0].slug, Slug::ParallelReactions);
    assert_eq!(found[0].cures[0].grade, Grade::NothingIsWrong);
    assert!(found[0].cures[0].text.contains("`roller "), "{:?}", found[0].cures);
    assert!(found[0].labels[0].text.contains("one reaction, horizontal"), "{:?}", found[0].labels);
}

/// A member drawn past a joint is why the joint swings: one message.
#[test]
fn members_that_run_through_joints_are_joined_first() {
    let chord = "units m, kN\njoint A: (0, 0)\njoint M: (4, 0)\njoint B: (8, 0)\njoint C: (4, 3)\nbar A-B\nbar A-C-B\n\
        bar C-M\npin A\nroller B\nload M: 10 kN down\n";
    let brace = "units m, kN\njoint A: (0, 0)\njoint B: (0, 4)\njoint C: (5, 4)\njoint K: (0, 2.5)\njoint N: (1.5, 4)\n\
        beam A-B\nbeam B-C: hinged at B\nbar K-N\npin A\nroller C\nload C: 1 kN right\nload B-C: 3 kN/m down\n";
    for (text, joined) in [(chord, &["A-M-B"][..]), (brace, &["A-K-B", "B-N-C"])] {
        let found = findings(text);
        let errors: Vec<&Diagnostic> = found.iter().filter(|found| found.severity == Severity::Error).collect();
        let [only] = errors.as_slice() else { panic!("{found:#?}") };
        assert_eq!(only.slug, Slug::RunsThroughJoint);
        assert!(joined.iter().all(|name| only.help[0].contains(name)), "{:?}", only.help);
        assert!(only.help[0].ends_with("then nothing is wrong"), "{:?}", only.help);
    }
}
