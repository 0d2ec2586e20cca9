//! Verdicts on frames that everyone in the trade knows: what moves, and how
//! many times the rest is redundant. Counting rules (3m + r against 3j + c and
//! its relatives), three-hinged arches and Gerber beams are common practice.

use crate::support::solved;

use std::fmt::Write as _;

use solved::solve;

const HEAD: &str = "units m, kN\nsection s: EA = 400 MN, EI = 20 MN*m^2\n";

/// Checks verdict, redundancy and mechanisms; gives the slugs of the errors.
#[track_caller]
fn is(text: &str, word: &str, redundancy: u64, mechanisms: u64) -> Vec<String> {
    let solved = solve(&format!("{HEAD}{text}"));
    assert_eq!(solved.verdict(), (word.to_owned(), redundancy, mechanisms), "{text}\n{:?}", solved.errors());
    let errors = solved.errors();
    assert_eq!(mechanisms > 0, !errors.is_empty(), "{text}\n{errors:?}");
    errors
}

#[track_caller]
fn unstable(text: &str, redundancy: u64, mechanisms: u64, slug: &str) {
    let errors = is(text, "unstable", redundancy, mechanisms);
    assert!(errors.iter().any(|error| error.starts_with(slug)), "{slug} is not among {errors:?}\n{text}");
}

#[track_caller]
fn determinate(text: &str) {
    is(text, "determinate", 0, 0);
}

#[track_caller]
fn indeterminate(text: &str, degree: u64) {
    is(text, "indeterminate", degree, 0);
}

const ARCH: &str = "joint A: (0, 0)\njoint P: (2, 3)\njoint C: (4, HEIGHT)\njoint Q: (6, 3)\njoint B: (8, 0)\n\
                    beam A-P-C: s\nbeam C-Q-B: s\nhinge C\npin A, B\nload P: 3 kN down\n";

#[test]
fn an_arch_needs_its_three_hinges_off_one_line() {
    determinate(&ARCH.replace("HEIGHT", "4"));
    determinate(&ARCH.replace("HEIGHT", "-0.001"));
    // In a line it moves a little and is redundant once.
    unstable(&ARCH.replace("HEIGHT", "0"), 1, 1, "hinges-in-line");
    let slanting = ARCH.replace("HEIGHT", "1").replace("joint B: (8, 0)", "joint B: (8, 2)");
    unstable(&slanting, 1, 1, "hinges-in-line");
}

#[test]
fn two_hinged_and_fixed_arches_are_redundant() {
    let arch = ARCH.replace("HEIGHT", "4");
    indeterminate(&arch.replace("hinge C\n", ""), 1);
    indeterminate(&arch.replace("hinge C\n", "").replace("pin A, B", "fixed A, B"), 3);
    indeterminate(&arch.replace("pin A, B", "fixed A\npin B"), 1);
    determinate(&arch.replace("hinge C\n", "").replace("pin A, B", "pin A\nroller B"));
}

/// A beam A-B-C-… on a pin and rollers with hinges at some joints.
fn gerber(supports: &str, hinges: &str) -> String {
    let mut text = String::new();
    for (index, name) in ["A", "B", "C", "D", "E", "F", "G"].iter().enumerate() {
        writeln!(text, "joint {name}: ({}, 0)", 2 * index).unwrap();
    }
    text += "beam A-B-C-D-E-F-G: s\nload B: 2 kN down\n";
    text + supports + "\n" + hinges + "\n"
}

#[test]
fn gerber_beams_want_their_hinges_in_the_right_spans() {
    let four = "pin A\nroller C, E, G";
    indeterminate(&gerber(four, ""), 2);
    indeterminate(&gerber(four, "hinge B"), 1);
    determinate(&gerber(four, "hinge B, F"));
    determinate(&gerber(four, "hinge D, F"));
    // One too many: one span folds.
    unstable(&gerber(four, "hinge B, D, F"), 0, 1, "");
    // Two in an inner span hang a middle piece between its neighbours.
    let with = |hinges: &str, at: &str, before: &str| {
        gerber(four, &format!("hinge {hinges}"))
            .replace("joint G", &format!("joint H: ({at}, 0)\njoint G"))
            .replace(&format!("-{before}-"), &format!("-H-{before}-"))
    };
    determinate(&with("H, D", "5", "D"));
    // Two in an end span: the number is right, one span folds and the rest is redundant.
    unstable(&with("H, B", "1", "B"), 1, 1, "");
    // A hinge over each inner support makes simple spans.
    determinate(&gerber(four, "hinge C, E"));
    // A hinge in a simple span.
    unstable(&gerber("pin A\nroller G", "hinge D"), 0, 1, "");
}

const PORTAL: &str = "joint A: (0, 0)\njoint B: (0, 4)\njoint C: (6, 4)\njoint D: (6, 0)\nload B: 5 kN right\n";

#[test]
fn portals_have_the_degrees_everyone_knows() {
    let rigid = format!("{PORTAL}beam A-B-C-D: s\n");
    indeterminate(&format!("{rigid}fixed A, D"), 3);
    indeterminate(&format!("{rigid}fixed A\npin D"), 2);
    indeterminate(&format!("{rigid}pin A, D"), 1);
    determinate(&format!("{rigid}pin A\nroller D"));
    determinate(&format!("{rigid}pin A, D\nhinge C"));
    indeterminate(&format!("{rigid}fixed A, D\nhinge B, C"), 1);
    // All four corners hinged: it sways.
    unstable(&format!("{rigid}pin A, D\nhinge B, C"), 0, 1, "");
    // And a brace holds it.
    determinate(&format!("{rigid}pin A, D\nhinge B, C\nbar A-C: s"));
    indeterminate(&format!("{rigid}pin A, D\nhinge B, C\nbar A-C, B-D: s"), 1);
}

#[test]
fn storeys_and_bays_add_three_each() {
    for (storeys, bays) in [(1, 1), (2, 1), (1, 3), (3, 2), (8, 4)] {
        let text = format!(
            "for i from 0 to {bays} {{\n  for j from 0 to {storeys} {{\n    joint N[i,j]: (i * 5, j * 3)\n  }}\n  \
             for j from 1 to {storeys} {{\n    beam N[i,j-1]-N[i,j]: s\n  }}\n  fixed N[i,0]\n}}\n\
             for i from 1 to {bays} {{\n  for j from 1 to {storeys} {{\n    beam N[i-1,j]-N[i,j]: s\n  }}\n}}\n\
             load N0_1: 5 kN right\n"
        );
        indeterminate(&text, 3 * storeys * bays);
    }
}

#[test]
fn closed_rings_are_redundant_three_times() {
    let ring = "joint A: (0, 0)\njoint B: (4, 0)\njoint C: (5, 3)\njoint D: (1, 4)\nbeam A-B-C-D-A: s\npin A\nroller B\n\
                load C: 5 kN down\n";
    indeterminate(ring, 3);
    indeterminate(&format!("{ring}hinge A"), 2);
    indeterminate(&format!("{ring}hinge A, B"), 1);
    determinate(&format!("{ring}hinge A, B, C"));
    unstable(&format!("{ring}hinge A, B, C, D"), 0, 1, "");
    indeterminate(&format!("{ring}beam A-C: s"), 6);
    indeterminate(&format!("{ring}beam A-C: s hinged at A"), 5);
    indeterminate(&format!("{ring}bar A-C: s"), 4);
    // Without supports the ring is as redundant, and free three ways.
    unstable(&ring.replace("pin A\nroller B\n", ""), 3, 3, "no-support");
}

#[test]
fn beams_and_bars_mix() {
    // A trussed beam: a post and two ties under a rigid beam.
    let trussed = "joint A: (0, 0)\njoint M: (3, 0)\njoint B: (6, 0)\njoint P: (3, -1)\nbeam A-M-B: s\n\
                   bar A-P-B, M-P: s\npin A\nroller B\nload M: 5 kN down\n";
    indeterminate(trussed, 1);
    determinate(&format!("{trussed}hinge M"));
    // Without the post the ties only hang there, and hold nothing up.
    determinate(&trussed.replace(", M-P", ""));
    // A cantilever with a stay.
    let stayed =
        "joint A: (0, 0)\njoint B: (5, 0)\njoint T: (0, 3)\nbeam A-B: s\ncable T-B: s\npin T\nload B: 5 kN down\n";
    indeterminate(&format!("{stayed}fixed A"), 1);
    determinate(&format!("{stayed}pin A"));
}

#[test]
fn a_beam_wants_three_reactions_that_hold() {
    let beam = "joint A: (0, 0)\njoint B: (5, 0)\nbeam A-B: s\nload B: 5 kN down\n";
    unstable(&format!("{beam}pin A"), 0, 1, "too-few-reactions");
    unstable(&format!("{beam}guide A: along up"), 0, 1, "too-few-reactions");
    unstable(&format!("{beam}roller A, B"), 0, 1, "too-few-reactions");
    unstable(&format!("{beam}joint C: (8, 0)\nbeam B-C: s\nroller A, B, C"), 1, 1, "parallel-reactions");
    unstable(&format!("{beam}pin A\nroller B: along up"), 1, 1, "concurrent-reactions");
    unstable(&format!("{beam}guide A: along right\nroller B"), 1, 1, "parallel-reactions");
    unstable(beam, 0, 3, "no-support");
    determinate(&format!("{beam}fixed A"));
    determinate(&format!("{beam}guide A: along up\nroller B"));
    determinate(&format!("{beam}guide A: along right\nroller B: along up"));
    indeterminate(&format!("{beam}fixed A\nroller B"), 1);
    indeterminate(&format!("{beam}fixed A, B"), 3);
    indeterminate(&format!("{beam}fixed A\nguide B: along right"), 2);
}

#[test]
fn springs_hold_as_supports_do() {
    let beam = "joint A: (0, 0)\njoint B: (5, 0)\nbeam A-B: s\nload B: 5 kN down\n";
    determinate(&format!("{beam}spring A: kx = 1 kN/mm, ky = 1 kN/mm\nspring B: ky = 1 kN/mm"));
    determinate(&format!("{beam}spring A: kx = 1 kN/mm, ky = 1 kN/mm, kr = 10 kN*m/rad"));
    indeterminate(&format!("{beam}fixed A\nspring B: ky = 1 kN/mm"), 1);
    indeterminate(&format!("{beam}spring A: kx = 1 kN/mm, ky = 1 kN/mm, kr = 9 kN*m/rad\nspring B: ky = 1 kN/mm"), 1);
    unstable(&format!("{beam}spring A: ky = 1 kN/mm\nspring B: ky = 1 kN/mm"), 0, 1, "too-few-reactions");
    unstable(&format!("{beam}spring A: kx = 1 kN/mm, ky = 1 kN/mm"), 0, 1, "too-few-reactions");
    unstable(&format!("{beam}spring A: kr = 10 kN*m/rad\nroller B"), 0, 1, "");
}

#[test]
fn a_hinge_everywhere_leaves_nothing_to_turn() {
    // Every end at B is hinged, so B itself has no rotation and a couple on it nothing to bend.
    let post = "joint A: (0, 0)\njoint B: (0, 4)\njoint C: (3, 0)\nbeam A-B: s\nbeam C-B: s\nhinge B\nfixed A\npin C\n";
    let solved = solve(&format!("{HEAD}{post}load B: 3 kN right"));
    assert_eq!(solved.verdict(), ("indeterminate".to_owned(), 1, 0));
    let solved = solve(&format!("{HEAD}{post}moment B: 3 kN*m ccw"));
    assert!(solved.errors().iter().any(|error| error.starts_with("couple-on-pinned-joint")), "{:?}", solved.errors());
    // On one of the beams, beside the hinge, it has.
    let solved = solve(&format!("{HEAD}{post}moment A-B: 3 kN*m ccw at 100%"));
    assert!(solved.errors().is_empty(), "{:?}", solved.errors());
    // So it has where a support holds the joint, or one end is not hinged.
    let solved = solve(&format!("{HEAD}{post}moment A: 3 kN*m ccw"));
    assert!(solved.errors().is_empty(), "{:?}", solved.errors());
    let solved = solve(&format!(
        "{HEAD}{}moment B: 3 kN*m ccw",
        post.replace("hinge B", "").replace("C-B: s", "C-B: s hinged at B")
    ));
    assert!(solved.errors().is_empty(), "{:?}", solved.errors());
}

#[test]
fn parts_that_turn_freely_are_found() {
    // A mast hinged to a beam and held by nothing else.
    let mast = "joint A: (0, 0)\njoint M: (3, 0)\njoint B: (6, 0)\njoint T: (3, 4)\nbeam A-M-B: s\nbeam M-T: s hinged at M\n\
                pin A\nroller B\nload T: 1 kN down\n";
    unstable(mast, 0, 1, "");
    determinate(&mast.replace(" hinged at M", ""));
    determinate(&format!("{mast}bar A-T: s"));
    // One end hinged only at a knee: the knee is held by the other two.
    determinate(&format!("{mast}bar T-B: s"));
    // A hinged beam chain between two pins: two links in a line and a kink.
    let chain =
        "joint A: (0, 0)\njoint B: (3, Y)\njoint C: (6, 0)\nbeam A-B-C: s\nhinge B\npin A, C\nload B: 1 kN down\n";
    unstable(&chain.replace('Y', "0"), 1, 1, "");
    determinate(&chain.replace('Y', "-1"));
    indeterminate(&chain.replace('Y', "0").replace("hinge B\n", ""), 1);
}

#[test]
fn loose_and_redundant_parts_are_told_together() {
    // A ring of beams, and a hinged portal that sways on top of it: the count is no help.
    let text = "joint A: (0, 0)\njoint B: (6, 0)\njoint C: (6, 3)\njoint D: (0, 3)\njoint E: (6, 6)\njoint F: (0, 6)\n\
                beam A-B-C-D-A: s\nbar D-F, F-E, E-C: s\npin A\nroller B\nload F: 1 kN right\n";
    unstable(text, 3, 1, "");
}

#[test]
fn rigid_members_that_share_a_redundancy_are_refused() {
    // Both braces and the walls around them keep their length exactly: nothing decides how they share.
    let braced = format!("{PORTAL}section r: EA = rigid, EI = 20 MN*m^2\nbeam A-B-C-D: r\nbar A-C, B-D: r\npin A, D");
    let solved = solve(&format!("{HEAD}{braced}"));
    assert!(solved.errors().iter().any(|error| error.starts_with("rigid-redundancy")), "{:?}", solved.errors());
    // With one brace that gives, they do not have to share.
    let solved = solve(&format!("{HEAD}{}", braced.replace("bar A-C, B-D: r", "bar A-C: r\nbar B-D: s")));
    assert!(solved.errors().is_empty(), "{:?}", solved.errors());
    // Near a thousandth of a mechanism is no reason to refuse a stiff truss inside a frame.
    let slender = "joint A: (0, 0)\njoint B: (0.6, 5)\njoint C: (1, 1.4)\njoint D: (3, 5.7)\njoint E: (5.2, 5.7)\n\
                   section r: EA = rigid, EI = 20 MN*m^2\nbeam A-B: r\nbeam C-A: r hinged at C\nbeam C-B: r hinged at C\n\
                   beam B-D: r\nbar E-D: r\nbar E-C: r\npin A\nroller B: pushes 199°\nroller E: pushes 48°\n\
                   load E: 30 kN up";
    let solved = solve(&format!("{HEAD}{slender}"));
    assert!(solved.errors().is_empty(), "{:?}", solved.errors());
}
