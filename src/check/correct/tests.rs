use super::*;
use crate::structure::{SourceRefusal, read_project};

fn corrected_among(root: &str, others: &[(&str, &str)], reach: Reach) -> Corrected {
    let mut read = |path: &str| {
        let found = others.iter().find(|(name, _)| *name == path);
        found.map(|(_, text)| (*text).to_owned()).ok_or_else(|| SourceRefusal("there is no such file".to_owned()))
    };
    let project = read_project("dir/root.kp", root.to_owned(), &mut read);
    let mut sources = Sources { identify: &str::to_owned, read: &mut read };
    correct(project, reach, &Switches::default(), &mut sources)
}

fn corrected(root: &str) -> Corrected {
    corrected_among(root, &[], Reach::AllFiles)
}

fn new_text(corrected: &Corrected) -> &str {
    corrected.project.files.text(FileId::default())
}

const TRUSS: &str = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint ridge: (2, 3)\nbar A-B-ridge-A\npin A\n\
                     roller B\nload ridge: 5 kN down\n";

#[test]
fn nothing_certain_changes_nothing() {
    for text in [TRUSS.to_owned(), TRUSS.replace("5 kN", "5 kg"), String::new()] {
        let done = corrected(&text);
        assert!(done.changes.is_empty() && done.rounds.is_empty());
        assert_eq!(new_text(&done), text);
    }
}

#[test]
fn corrections_behind_corrections_are_found() {
    let broken = TRUSS
        .replace("joint B:", "Joint B")
        .replace("bar A-B-ridge", "bar A–B-rigde")
        .replace("5 kN down", "5 KN dwon");
    let done = corrected(&broken);
    assert_eq!(new_text(&done), TRUSS);
    assert!(done.rounds.len() > 1);
    assert!(done.checked.diagnostics.is_empty(), "{:?}", done.checked.diagnostics);
    assert_eq!(done.changes.len(), 1);
    assert_eq!(done.changes[0].old, broken);
}

/// `B` is the one name near `b`, and with it the bar would join B to itself.
#[test]
fn a_correction_that_breeds_an_error_is_not_kept() {
    let broken = TRUSS.replace("bar A-B-ridge-A", "bar A-B-ridge-A, ridge-rigde") + "load B: 5 kN –down\n";
    let done = corrected(&broken);
    assert!(new_text(&done).contains("ridge-rigde"), "{}", new_text(&done));
    assert_eq!(done.withheld, 1);
    assert!(done.checked.diagnostics.iter().any(|found| found.slug == Slug::UnknownName));
    assert!(!new_text(&done).contains('–'), "the others are applied");
}

#[test]
fn files_that_are_used_are_corrected_too_and_not_from_standard_input() {
    let root = TRUSS.replace("load ridge: 5 kN down\n", "use \"loads.kp\"\n");
    let others = [("loads.kp", "units m, kN\nload rigde: 5 kN down\n")];
    let done = corrected_among(&root, &others, Reach::AllFiles);
    assert_eq!(done.changes.len(), 1);
    assert_eq!(
        (done.changes[0].name.as_str(), done.changes[0].new.as_str()),
        ("dir/loads.kp", "units m, kN\nload ridge: 5 kN down\n")
    );
    let done = corrected_among(&root, &others, Reach::RootOnly);
    assert!(done.changes.is_empty());
    assert!(done.checked.has_errors());
}

#[test]
fn a_file_that_only_the_corrected_text_uses_is_read() {
    let root = TRUSS.replace("load ridge: 5 kN down\n", "Use \"loads.kp\"\n");
    let done = corrected_among(
        &root,
        &[("loads.kp", "load ridge: 5 kN –down\n".replace("–down", "down").as_str())],
        Reach::AllFiles,
    );
    assert!(done.checked.diagnostics.is_empty(), "{:?}", done.checked.diagnostics);
}

#[test]
fn line_ends_and_the_byte_order_mark_are_kept() {
    let broken = format!("\u{feff}{}", TRUSS.replace("pin A\nroller B", "pin A; roller B").replace('\n', "\r\n"));
    let done = corrected(&broken);
    assert_eq!(new_text(&done), format!("\u{feff}{}", TRUSS.replace('\n', "\r\n")));
}

#[test]
fn thousands_of_slips_are_mended_in_few_trials() {
    let many: String = (0..3_000).map(|i| format!("load ridge: {}.5 kN down;\n", i + 1)).collect();
    let done = corrected(&format!("{TRUSS}{many}"));
    assert!(!done.checked.has_errors(), "{:?}", done.checked.diagnostics.first());
    assert!(done.rounds.len() <= 8, "{} rounds", done.rounds.len());
}

#[test]
fn corrections_at_one_place_are_applied_once() {
    let text = TRUSS.replace("load ridge", "load rigde").replace("units m, kN", "units m, kN\nlet p = 3 kN")
        + "load rigde: p down\nload ridge: 1 kN right\n";
    let done = corrected(&text);
    assert!(done.checked.diagnostics.is_empty(), "{:?}", done.checked.diagnostics);
}

/// Counted, so that no clock is asked: each whole check mends all that was told.
#[test]
fn the_checks_made_grow_with_what_is_told_at_once() {
    let colons = |count: usize| (0..count).map(|i| format!("joint P{i} ({i}, 9)\n")).collect::<String>();
    let names = |count: usize| {
        let lines =
            |name: &str, count| (0..count).map(|i| format!("load {name}: {}.5 N down\n", i + 1)).collect::<String>();
        lines("rigde", count) + &lines("ridge", count + 1)
    };
    let dashes = |count: usize| "load A–B: 3 kN down;\n".repeat(count);
    for (name, broken) in [("colons", &colons as &dyn Fn(usize) -> String), ("names", &names), ("dashes", &dashes)] {
        for count in [500, 2_500, 5_000] {
            let done = corrected(&format!("{TRUSS}{}", broken(count)));
            let most = 2 * count / crate::syntax::limits::MAX_ERRORS + 3;
            assert!(done.trials <= most, "{name}: {} checks for {count} lines", done.trials);
            assert!(!done.is_cut_short && done.withheld == 0, "{name}, {count}");
        }
    }
}

/// One correction that does harm costs the others neither their place nor many checks.
#[test]
fn what_does_harm_is_found_by_its_line() {
    let sound: String = (0..300).map(|i| format!("load ridge: {}.5 kN –down\n", i + 1)).collect();
    let broken = TRUSS.replace("bar A-B-ridge-A", "bar A-B-ridge-A, ridge-rigde") + &sound;
    let done = corrected(&broken);
    assert!(new_text(&done).contains("ridge-rigde") && !new_text(&done).contains('–'));
    assert!(done.withheld == 1 && done.trials <= 4, "{} checks", done.trials);
}
