//! Classic layouts that move, or hold themselves against themselves: each is
//! told as what it is, in few words, with a cure that was tried.
//!
//! Sources: that a hinge in line with its supports, links that are parallel or
//! meet in a point, and reactions in one direction or through one point do not
//! hold, is common practice; K3,3 with its joints on a conic: Bolker and Roth,
//! "When is a bipartite graph a rigid framework?" (1980), from memory.

use std::path::Path;

use kingpost::check::claims::Marking;
use kingpost::check::{Checked, check};
use kingpost::diagnostic::{Diagnostic, Severity};
use kingpost::structure::{SourceRefusal, read_project};

/// A file of `tests/layouts`, the slugs of its errors in order, and words that
/// have to be in what is said.
const LAYOUTS: &[(&str, &[&str], &[&str])] = &[
    ("hinge_in_line", &["special-layout"], &["hinge C is in line with joint A and joint B", "move C off the line"]),
    ("parallel_links", &["special-layout"], &["A-D, B-E and C-F", "parallel", "slide left and right"]),
    ("concurrent_links", &["special-layout"], &["A-D, B-E and C-F", "(4, 4) m"]),
    ("joints_on_a_circle", &["special-layout"], &["off the conic (not "]),
    ("roller_in_line", &["collinear-joint"], &["B-D and the roller at D act along one line"]),
    ("roller_through_pin", &["concurrent-reactions"], &["through joint A", "`roller B: pushes up`"]),
    ("three_rollers", &["parallel-reactions"], &["slide left and right", "then nothing is wrong"]),
    ("braced_twice", &["unbraced-panel", "redundant"], &["panel L1-L2-U2-U1", "`bar L1-U2`", "to the first degree"]),
    ("hanging_part", &["turning-part"], &["joints D and E can turn as one piece about joint B", "`bar C-E`"]),
    ("two_pieces", &["no-support"], &["nothing supports joints D, E and F"]),
    ("square_ring", &["unbraced-panel"], &["panel A-B-C-D", "`bar A-C`"]),
    (
        "missing_diagonal",
        &["unbraced-panel"],
        &["panel L4-L5-U5-U4", "turns clockwise about joint L10", "turns clockwise about joint L0", "`bar L4-U5`"],
    ),
    ("bar_chain", &["turning-part", "mechanism"], &["`bar A-C`", "`bar C-E`"]),
    ("crossed_panels", &["redundant"], &["three forces in eleven members"]),
    ("swaying_frame", &["sway", "sway"], &["A-B turns clockwise about joint A", "leave out the hinge at B"]),
    ("beam_of_three", &["sway", "sway"], &["leave out the hinge at B", "leave out the hinge at C"]),
];

fn checked(text: String) -> Checked {
    check(&read_project("layout.kp", text, &mut |path| Err(SourceRefusal(format!("no file {path}")))))
}

fn findings(name: &str) -> Vec<Diagnostic> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/layouts").join(format!("{name}.kp"));
    let text = std::fs::read_to_string(path).unwrap();
    checked(text).diagnostics
}

fn words(found: &[Diagnostic]) -> String {
    let mut all = String::new();
    for diagnostic in found {
        let labels = diagnostic.labels.iter().map(|label| &label.text);
        for text in std::iter::once(&diagnostic.message).chain(labels).chain(&diagnostic.why).chain(&diagnostic.help) {
            all.push_str(text);
            all.push('\n');
        }
    }
    all
}

#[test]
fn every_layout_is_told_as_what_it_is() {
    for (name, slugs, phrases) in LAYOUTS {
        let found = findings(name);
        let errors: Vec<&str> = found.iter().filter(|d| d.severity == Severity::Error).map(|d| d.slug.word()).collect();
        assert_eq!(&errors, slugs, "{name}: {}", words(&found));
        for phrase in *phrases {
            assert!(words(&found).contains(phrase), "{name} does not say {phrase:?}:\n{}", words(&found));
        }
    }
}

#[test]
fn what_is_said_stays_small() {
    for (name, _, _) in LAYOUTS {
        for diagnostic in findings(name) {
            assert!(diagnostic.message.chars().count() <= 140, "{name}: {}", diagnostic.message);
            assert!(diagnostic.labels.len() <= 5, "{name}: {} labels", diagnostic.labels.len());
            for text in diagnostic.why.iter().chain(&diagnostic.help) {
                assert!(text.chars().count() <= 240, "{name}: {text}");
            }
        }
    }
}

/// The cure of a missing diagonal, applied, leaves a determinate girder.
#[test]
fn the_bar_offered_cures() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/layouts/missing_diagonal.kp");
    let text = std::fs::read_to_string(path).unwrap() + "bar L4-U5\nexpect determinate\n";
    let checked = checked(text);
    assert!(!checked.has_errors(), "{}", words(&checked.diagnostics));
}

/// Mechanisms set out by angles and roots, whose coordinates are rounded: at
/// every angle the verdict is that they move, or that it is not settled.
#[test]
fn a_rounded_mechanism_is_never_called_stable() {
    const HEAD: &str = "units m, kN\njoint A: (0, 0)\n";
    let mut verdicts = [0_usize; 2];
    for degrees in (3..88).step_by(7) {
        let links = format!(
            "{HEAD}joint B: (2, 0)\njoint C: (5, 0)\njoint P: A + 3 m @ {degrees}°\njoint Q: B + 2 m @ {degrees}°\n\
             joint R: C + 1.5 m @ {degrees}°\nbeam A-B-C\nbar A-P, B-Q, C-R\npin P, Q, R\nload B: 3 kN down\n"
        );
        let hinge = format!(
            "{HEAD}joint B: A + 3 m @ {degrees}°\njoint C: A + 7 m @ {degrees}°\nbeam A-B-C\nhinge B\npin A, C\n\
             load B: 1 kN down\n"
        );
        let roller = format!(
            "{HEAD}joint B: 5 m @ {degrees}°\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B: pushes {degrees}°\n\
             load C: 10 kN down\n"
        );
        let roots = format!(
            "{HEAD}joint B: (sqrt({degrees}), 2 * sqrt({degrees}))\njoint C: B + (sqrt(3), 2 * sqrt(3))\nbar A-B-C\n\
             pin A, C\nload B: 1 kN down\n"
        );
        for text in [links, hinge, roller, roots] {
            let claimed = text + "expect unstable\nexpect determinate\nexpect not indeterminate\n";
            let checked = checked(claimed.clone());
            let word = checked.verdict.as_ref().unwrap().kind.word();
            assert!(matches!(word, "unstable" | "not settled"), "{word}:\n{claimed}");
            assert!(checked.has_errors() && checked.solution.is_none(), "{claimed}");
            let is_settled = word == "unstable";
            verdicts[usize::from(is_settled)] += 1;
            for mark in &checked.marks {
                assert_eq!(mark.verdict == Marking::NotJudged, !is_settled, "{claimed}");
            }
            assert!(!words(&checked.diagnostics).contains("stable as written"), "{claimed}");
        }
    }
    assert!(verdicts[0] > 10, "{verdicts:?}");
}

/// Written as numbers, a layout all but in line keeps its exact verdict; set
/// out by an angle and well shaped, it is settled too.
#[test]
fn what_can_be_settled_is() {
    let flat = "units m, kN\njoint A: (0, 0)\njoint B: (10, 0)\njoint C: (5, 0.0000000000001)\nbar A-C-B\npin A, B\n\
        load C: 1 kN down\nexpect determinate\n";
    let steep = "units m, kN\njoint A: (0, 0)\njoint B: (10, 0)\njoint C: 6 m @ 37°\nbar A-C-B\npin A, B\n\
        load C: 1 kN down\nexpect determinate\n";
    for (text, solved) in [(flat, false), (steep, true)] {
        let checked = checked(text.to_owned());
        assert_eq!(checked.verdict.as_ref().unwrap().kind.word(), "determinate");
        assert_eq!(checked.marks[0].verdict, Marking::Right);
        assert_eq!(checked.solution.is_some(), solved);
    }
}
