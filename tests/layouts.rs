//! Classic layouts that move, or hold themselves against themselves: each is
//! told as what it is, in few words, with a cure that is verified.
//!
//! Sources: that a hinge in line with its supports, links that are parallel or
//! meet in a point, and reactions in one direction or through one point do not
//! hold, is common practice; K3,3 with its joints on a conic: Bolker and Roth,
//! "When is a bipartite graph a rigid framework?" (1980), from memory.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::Path;

use kingpost::check::{Checked, check};
use kingpost::diagnostic::{Diagnostic, Severity};
use kingpost::structure::{SourceRefusal, read_project};

/// A file of `tests/layouts`, the slugs of its errors in order, and words that
/// have to be in what is said.
const LAYOUTS: &[(&str, &[&str], &[&str])] = &[
    ("hinge_in_line", &["special-layout"], &["hinge C is in line with joint A and joint B", "move C off the line"]),
    ("parallel_links", &["special-layout"], &["A-D, B-E and C-F", "parallel", "slide left and right"]),
    ("concurrent_links", &["special-layout"], &["A-D, B-E and C-F", "(4, 4) m"]),
    ("joints_on_a_circle", &["special-layout"], &["almost any other place will do (verified)"]),
    ("roller_in_line", &["collinear-joint"], &["B-D and the roller at D act along one line"]),
    ("roller_through_pin", &["concurrent-reactions"], &["through joint A", "`roller B: pushes up`"]),
    ("three_rollers", &["parallel-reactions"], &["sliding left and right", "(verified)"]),
    ("braced_twice", &["unbraced-panel", "redundant"], &["panel L1-L2-U2-U1", "`bar L1-U2`", "one redundant member"]),
    ("hanging_part", &["turning-part"], &["joints D and E can turn as one piece about joint B", "`bar C-E`"]),
    ("two_pieces", &["no-support"], &["nothing supports joints D, E and F"]),
    ("square_ring", &["unbraced-panel"], &["panel A-B-C-D", "`bar A-C`"]),
    (
        "missing_diagonal",
        &["unbraced-panel"],
        &["panel L4-L5-U5-U4", "turns clockwise about joint L10", "turns clockwise about joint L0", "`bar L4-U5`"],
    ),
    ("bar_chain", &["turning-part", "mechanism"], &["`bar A-C`", "`bar C-E`"]),
    ("crossed_panels", &["redundant"], &["three redundant forces in eleven members"]),
    ("swaying_frame", &["sway", "sway"], &["While A-B turns clockwise about joint A", "leave out the hinge at B"]),
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
            assert!(diagnostic.message.chars().count() <= 110, "{name}: {}", diagnostic.message);
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
