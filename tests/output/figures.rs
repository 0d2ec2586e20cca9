//! Figures of every example and of the published layouts: lettering that
//! overlaps nothing, drawings that stay on their page, force diagrams that
//! close, files that are written whole or not at all.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use kingpost::base::{CaseId, CombinationId, JointId};
use kingpost::check::{Checked, check};
use kingpost::present::figure::inks::Ink;
use kingpost::present::figure::labels::{crosses, overlap};
use kingpost::present::figure::loads::Loads;
use kingpost::present::figure::picture::{Bounds, Depth, Mark, box_corners};
use kingpost::present::figure::plane::segments_cross;
use kingpost::present::figure::spaces::{Item, Unfit, reciprocal};
use kingpost::present::figure::{Figure, Kind, MOST_MEMBERS, draw, sheet};
use kingpost::present::results::CAUTION;
use kingpost::statics::Subject;
use kingpost::structure::{SourceRefusal, read_project};

/// Structures of more members than this may carry lettering that has no room.
const ORDINARY: usize = 60;

#[test]
fn no_lettering_lies_on_other_lettering_or_on_a_line() {
    let mut faults = String::new();
    let mut drawn = BTreeSet::new();
    for path in texts(&["examples", "examples/broken", "tests/published", "tests/layouts"]) {
        let checked = read(&path);
        if checked.structure.members.len() > ORDINARY {
            continue;
        }
        for (name, figure) in figures(&checked) {
            drawn.insert(name.split(' ').next().unwrap().to_owned());
            for fault in overlaps(&figure) {
                writeln!(faults, "{}, {name}: {fault}", path.display()).unwrap();
            }
        }
    }
    assert_eq!(drawn.len(), Kind::ALL.len(), "some kinds are never drawn: {drawn:?}");
    assert!(faults.is_empty(), "{faults}");
}

/// What lies on what.
fn overlaps(figure: &Figure) -> Vec<String> {
    // What anti-aliasing and rounding of the letters' widths may take.
    const SLACK: f64 = 0.1;
    let mut faults = Vec::new();
    let lettering: Vec<_> = figure.picture.lettering().collect();
    let shrunk: Vec<_> = lettering
        .iter()
        .map(|words| box_corners(words.at, words.turn, (words.width() - SLACK).max(0.0), words.size - SLACK))
        .collect();
    for (i, corners) in shrunk.iter().enumerate() {
        for (j, other) in shrunk.iter().enumerate().skip(i + 1) {
            if overlap(corners, other) {
                faults.push(format!("`{}` lies on `{}`", lettering[i].text(), lettering[j].text()));
            }
        }
        for mark in &figure.picture.marks {
            let Mark::Path(path) = mark else { continue };
            let half = path.stroke.map_or(0.0, |stroke| stroke.width / 2.0);
            let meets = |ends: [[f64; 2]; 2]| crosses(corners, ends, half);
            if path.depth == Depth::Drawing && path.segments().into_iter().any(meets) {
                let line = path.segments().into_iter().find(|ends| meets(*ends)).unwrap();
                faults.push(format!("`{}` lies on the line {line:.1?} of {:?}", lettering[i].text(), path.stroke));
            }
        }
    }
    faults
}

#[test]
fn drawings_stay_on_their_page_and_show_everything() {
    for path in texts(&["examples", "examples/broken", "tests/published", "tests/layouts"]) {
        let checked = read(&path);
        for (name, figure) in figures(&checked) {
            let at = format!("{}, {name}", path.display());
            let picture = &figure.picture;
            assert!(picture.width <= 210.0 && picture.height <= 297.0, "{at}: {} by {}", picture.width, picture.height);
            let bounds = Bounds::of(&picture.marks);
            let inside = bounds.left >= 0.0 && bounds.top >= 0.0;
            assert!(inside && bounds.right <= picture.width && bounds.bottom <= picture.height, "{at}: {bounds:?}");
            let svg = figure.svg();
            assert!(svg.contains("role=\"img\"") && svg.contains("<title>") && svg.contains("<desc>"), "{at}");
            assert!(!svg.contains("NaN") && !svg.contains("inf") && !svg.contains("-0\""), "{at}");
            assert_eq!(svg.matches("http").count(), 1, "{at}: something from outside");
            assert!(!figure.latex().contains("NaN"), "{at}");
        }
    }
}

#[test]
fn the_same_text_gives_the_same_bytes() {
    let path = root().join("examples/door.kp");
    let bytes = || figures(&read(&path)).into_iter().map(|(_, figure)| figure.svg()).collect::<Vec<_>>();
    assert_eq!(bytes(), bytes());
}

/// Every joint's name, every member's force, every reaction is on its figure.
#[test]
fn nothing_is_left_out_of_ordinary_structures() {
    let checked = read(&root().join("examples/door.kp"));
    let structure = &checked.structure;
    let text = |kind| {
        let figure = draw(&checked, kind, None).unwrap();
        figure.picture.lettering().map(|words| words.text()).collect::<Vec<_>>()
    };
    let forces = text(Kind::Forces);
    for joint in &structure.joints {
        assert!(forces.iter().any(|word| word == structure.names.get(joint.name)));
    }
    let values = forces.iter().filter(|word| word.ends_with(" T") || word.ends_with(" C"));
    assert_eq!(values.count(), structure.members.len());
    // Tied to the claims of the file: reaction A: (0.583, 4.71) kN, force A-E: 7.85 kN compression.
    assert!(forces.contains(&"7.85 C".to_owned()), "{forces:?}");
    let body = text(Kind::FreeBody);
    for words in ["Ax = 0.583 kN", "Ay = 4.71 kN", "Dy = 4.52 kN", "5.2 kN", "2.8 kN, 65°"] {
        assert!(body.iter().any(|word| word == words), "{words} in {body:?}");
    }
}

/// Loads between joints have their places in the dimensions.
#[test]
fn loads_on_members_are_dimensioned() {
    let checked = check_text(
        "units m, kN\njoint A: (0, 0)\njoint B: (8, 0)\nbeam A-B\npin A\nroller B\nload A-B: 3 kN down at 2.4 m\n",
    );
    let subject = Some(Subject::Case(CaseId::new(0)));
    let figure = draw(&checked, Kind::Structure, subject).unwrap();
    let words: Vec<String> = figure.picture.lettering().map(|words| words.text()).collect();
    for dimension in ["2.4", "5.6", "8"] {
        assert!(words.iter().any(|word| word == dimension), "{dimension} in {words:?}");
    }
}

/// The simple beam under a uniform load: wL²/8 in the middle (common practice).
#[test]
fn a_moment_diagram_stands_on_the_tension_side_with_its_extreme() {
    let checked =
        check_text("units m, kN\njoint A: (0, 0)\njoint B: (8, 0)\nbeam A-B\npin A\nroller B\nload A-B: 3 kN/m down\n");
    let figure = draw(&checked, Kind::Moment, None).unwrap();
    let words: Vec<_> = figure.picture.lettering().collect();
    let value = words.iter().find(|words| words.text().starts_with("24")).expect("the value of wL²/8");
    assert_eq!(value.text(), "24.0 at 4.00 m from A");
    let axis = words.iter().find(|words| words.text() == "A").unwrap();
    assert!(value.at[1] > axis.at[1] + 8.0, "a sagging moment is drawn below");
    assert!(figure.description.contains("24.0 kN·m in A-B, 4.00 m from A"), "{}", figure.description);
}

#[test]
fn force_diagrams_close_and_are_as_long_as_their_forces() {
    let mut closed = 0;
    for path in texts(&["examples", "tests/published"]) {
        let checked = read(&path);
        for result in checked.solution.iter().flat_map(|solution| &solution.results) {
            let loads = Loads::of(&checked.structure, Some(result.subject)).resultants();
            let Ok(figure) = reciprocal(&checked.structure, &loads, result) else { continue };
            closed += 1;
            let at = path.display();
            assert!(figure.gap < 1e-9, "{at}: a gap of {:.1e}", figure.gap);
            // Euler: as many inner spaces as members leave over a tree of the joints.
            let inner = figure.spaces.iter().filter(|space| !space.is_outer).count();
            let joints = checked.structure.joints.len();
            assert_eq!(inner, checked.structure.members.len() + 1 - joints, "{at}");
            let names: BTreeSet<&str> = figure.spaces.iter().map(|space| space.name.as_str()).collect();
            assert_eq!(names.len(), figure.spaces.len(), "{at}: {names:?}");
            let is_joint = |joint: usize| names.contains(checked.structure.joint_name(JointId::new(joint)));
            assert!(!(0..joints).any(is_joint), "{at}: a space is called like a joint: {names:?}");
            for line in &figure.lines {
                let [p, q] = line.between.map(|space| figure.spaces[space].at);
                let long = (q[0] - p[0]).hypot(q[1] - p[1]);
                assert!((long - line.value.abs()).abs() <= 1e-9 * result.largest, "{at}: {line:?}");
                if let Item::Member(member) = line.item {
                    let [dx, dy] = checked.structure.member_vector(member);
                    let across = (q[0] - p[0]) * dy - (q[1] - p[1]) * dx;
                    assert!(across.abs() <= 1e-9 * result.largest * dx.hypot(dy), "{at}: not parallel, {line:?}");
                }
            }
        }
    }
    assert!(closed >= 20, "only {closed} force diagrams were drawn");
}

/// Spaces and joints stand in one figure: no letter means both, and a space
/// has one name in the truss and in the diagram of its forces.
#[test]
fn spaces_are_not_called_like_joints() {
    for ([a, b, c], spaces, note) in [
        (["A", "B", "C"], ["a", "b", "c"], "spaces lettered outside"),
        (["a", "k", "left"], ["A", "B", "C"], "spaces lettered outside"),
        (["a", "B", "left"], ["1", "2", "3"], "spaces numbered, outside first"),
    ] {
        let checked = check_text(&format!(
            "units m, kN\njoint {a}: (0, 0)\njoint {b}: (4, 0)\njoint {c}: (2, 2)\nbar {a}-{b}-{c}-{a}\npin {a}\n\
             roller {b}\nload {c}: 5 kN down\n"
        ));
        let figure = draw(&checked, Kind::ForceDiagram, None).unwrap();
        let words: Vec<String> = figure.picture.lettering().map(|words| words.text()).collect();
        for space in spaces {
            let count = words.iter().filter(|word| *word == space).count();
            assert_eq!(count, 2, "{space} in {words:?}");
        }
        for joint in [a, b, c] {
            assert_eq!(words.iter().filter(|word| *word == joint).count(), 1, "{joint} in {words:?}");
        }
        assert!(words.iter().any(|word| word.contains(note)), "{note} in {words:?}");
    }
}

/// The letter of a space is within it: no member and no arrow is between it and
/// some corner of its space.
#[test]
fn letters_stand_in_their_own_spaces() {
    let mut letters = 0;
    for name in ["bracket", "hoist", "door", "jetty", "slipway", "boathouse-roof"] {
        let checked = read(&root().join(format!("examples/{name}.kp")));
        let structure = &checked.structure;
        for result in &checked.solution.as_ref().unwrap().results {
            let loads = Loads::of(structure, Some(result.subject)).resultants();
            let Ok(figure) = reciprocal(structure, &loads, result) else { continue };
            let picture = draw(&checked, Kind::ForceDiagram, Some(result.subject)).unwrap().picture;
            let lines = |inks: &[Ink]| -> Vec<[[f64; 2]; 2]> {
                let paths = picture.marks.iter().filter_map(|mark| match mark {
                    Mark::Path(path) if path.stroke.is_some_and(|stroke| inks.contains(&stroke.ink)) => Some(path),
                    _ => None,
                });
                paths.filter(|path| path.steps.len() == 2).map(|path| path.segments()[0]).collect()
            };
            // The members are drawn first, one after the other.
            let members = lines(&[Ink::Line])[..structure.members.len()].to_vec();
            let foot = members.iter().flatten().fold(0.0_f64, |foot, [_, y]| foot.max(*y)) + 20.0;
            let mut walls = members.clone();
            walls.extend(lines(&[Ink::Load, Ink::Reaction]).into_iter().filter(|[[_, y], _]| *y < foot));
            let place = |joint: JointId| {
                let (member, end) = structure
                    .members
                    .iter()
                    .enumerate()
                    .find_map(|(index, m)| Some((index, [m.start, m.end].iter().position(|end| *end == joint)?)))
                    .unwrap();
                members[member][end]
            };
            for space in &figure.spaces {
                letters += 1;
                // Of two equal names the one on the truss is blue.
                let named = |words: &&kingpost::present::figure::picture::Lettering| {
                    words.ink == Ink::Diagram && words.text() == space.name
                };
                let letter = picture.lettering().find(named).unwrap().at;
                let is_seen = space.corners.iter().any(|(joint, angle)| {
                    let [x, y] = place(*joint);
                    let from = [x + angle.cos(), y - angle.sin()];
                    !walls.iter().any(|wall| segments_cross([from, letter], *wall))
                });
                assert!(is_seen, "{name}, {:?}: {} stands in another space", result.subject, space.name);
            }
        }
    }
    assert!(letters > 100, "{letters}");
}

/// Twelve panels on one page: nearly all of their lettering stands at what it is about.
#[test]
fn a_roof_of_many_panels_can_be_read() {
    let mut text = String::from("units m, kN\nfor i from 0 to 12 {\n joint L[i]: (i * 2, 0)\n}\n");
    for index in 1..12_i32 {
        let rise = f64::from(6 - (6 - index).abs()) * 0.8;
        writeln!(text, "joint U{index}: ({}, {rise})\nbar L{index}-U{index}", 2 * index).unwrap();
    }
    text.push_str("for i from 0 to 11 {\n bar L[i]-L[i+1]\n}\nfor i from 1 to 10 {\n bar U[i]-U[i+1]\n}\n");
    text.push_str("bar L0-U1, U11-L12\nfor i from 1 to 5 {\n bar U[i]-L[i+1]\n}\n");
    text.push_str("for i from 7 to 11 {\n bar U[i]-L[i-1]\n}\npin L0\nroller L12\n");
    text.push_str("for i from 1 to 11 {\n load U[i]: 4.25 kN down\n}\n");
    let checked = check_text(&text);
    for (kind, most) in [(Kind::Structure, 0), (Kind::FreeBody, 0), (Kind::Forces, 8)] {
        let figure = draw(&checked, kind, Some(Subject::Case(CaseId::new(0)))).unwrap();
        let is_leader = |mark: &&Mark| match mark {
            Mark::Path(path) => path.stroke.is_some_and(|stroke| stroke.ink == Ink::Faint && stroke.width < 0.16),
            Mark::Lettering(_) => false,
        };
        let leaders = figure.picture.marks.iter().filter(is_leader).count();
        assert!(leaders <= most, "{kind:?}: {leaders} words stand off what they are about");
        assert!(figure.picture.width <= 206.0 && overlaps(&figure).is_empty(), "{kind:?}: {:?}", overlaps(&figure));
    }
}

/// Beside a force of many figures a small one keeps its own, and none has seven.
#[test]
fn forces_have_four_figures_and_three_at_least() {
    let checked = check_text(
        "units ft, lbf\njoint A: (0, 0)\njoint B: (10, 0)\njoint C: (20, 0)\njoint D: (10, 8)\nbar A-B-C-D-A\n\
         bar B-D\npin A\nroller C\nload D: 12000 lbf down\nload B: 0.5 lbf down\n",
    );
    let words = |kind| -> Vec<String> {
        draw(&checked, kind, None).unwrap().picture.lettering().map(|words| words.text()).collect()
    };
    // 6000.25 lbf / (8/√164) in the rafters, times 10/√164 in the tie.
    assert!(words(Kind::Forces).contains(&"9605 C".to_owned()), "{:?}", words(Kind::Forces));
    assert!(words(Kind::Forces).contains(&"7500 T".to_owned()), "{:?}", words(Kind::Forces));
    assert!(words(Kind::Forces).contains(&"0.500 T".to_owned()), "{:?}", words(Kind::Forces));
    assert!(words(Kind::Axial).contains(&"−9605".to_owned()), "{:?}", words(Kind::Axial));
    assert!(words(Kind::Polygons).contains(&"B-D 0.500 T".to_owned()), "{:?}", words(Kind::Polygons));
}

/// A diagram of nothing says so.
#[test]
fn a_diagram_that_is_zero_says_so() {
    let checked =
        check_text("units m, kN\njoint A: (0, 0)\njoint B: (8, 0)\nbeam A-B\npin A\nroller B\nload A-B: 3 kN/m down\n");
    let words = |kind| -> Vec<String> {
        draw(&checked, kind, None).unwrap().picture.lettering().map(|words| words.text()).collect()
    };
    assert!(words(Kind::Axial).contains(&"axial force: zero throughout".to_owned()));
    assert!(!words(Kind::Shear).iter().any(|word| word.contains("zero throughout")));
}

/// A load down a slope pushes one end of the beam and pulls the other: 5 kN/m
/// over 5 m has a part of 15 kN along a rise of 3 in 5, half of it at each end.
#[test]
fn a_force_that_varies_along_a_beam_is_told_from_least_to_most() {
    let checked = check_text(
        "units m, kN\njoint A: (0, 0)\njoint B: (4, 3)\njoint C: (0, 5)\nbeam A-B\nbar A-C-B\npin A\nroller B\n\
         load A-B: 5 kN/m down\n",
    );
    let words: Vec<String> =
        draw(&checked, Kind::Forces, None).unwrap().picture.lettering().map(|words| words.text()).collect();
    assert!(words.contains(&"7.50 C to 7.50 T".to_owned()), "{words:?}");
    assert!(words.contains(&"one part in tension, one in compression".to_owned()), "{words:?}");
}

/// On a rafter 3 up in 4 along, 1 kN a metre of run is 0.8 kN a metre of rafter.
#[test]
fn a_spread_load_on_a_slope_says_by_which_length_it_is_meant() {
    let label = |load: &str| {
        let checked = check_text(&format!(
            "units m, kN\njoint A: (0, 0)\njoint B: (4, 3)\njoint C: (8, 3)\nbeam A-B-C\npin A\nroller C\n\
             case first {{\n load {load}\n}}\ncase second {{\n load A-B: 1 kN/m down\n}}\n\
             combination both: first + second\n"
        ));
        assert!(checked.solution.is_some());
        let of = |subject: Subject| -> Vec<String> {
            let figure = draw(&checked, Kind::FreeBody, Some(subject)).unwrap();
            figure.picture.lettering().map(|words| words.text()).filter(|words| words.contains("kN/m")).collect()
        };
        (of(Subject::Case(CaseId::new(0))), of(Subject::Combination(CombinationId::new(0))))
    };
    assert_eq!(label("A-B: 1 kN/m down per run").0, ["1 kN/m per run"]);
    assert_eq!(label("A-B: 1 kN/m right per rise").0, ["1 kN/m per rise"]);
    assert_eq!(label("A-B: 1 kN/m down").0, ["1 kN/m per length"]);
    // Square to the member or along it there is one length to think of; on the level run and length are one.
    assert_eq!(label("A-B: 1 kN/m @ across(B-A)").0, ["1 kN/m"]);
    assert_eq!(label("A-B: 1 kN/m @ along(A-B)").0, ["1 kN/m"]);
    assert_eq!(label("B-C: 1 kN/m down per run").0, ["1 kN/m"]);
    // What is added up from both is told by the member's length.
    assert_eq!(label("A-B: 1 kN/m down per run").1, ["1.8 kN/m per length"]);
    let uneven = label("A-B: 1 kN/m to 2 kN/m down per run").0;
    assert_eq!(uneven, ["1 kN/m per run", "2 kN/m per run"]);
}

/// In a file with more than one thing to be under, a figure says which it shows.
#[test]
fn captions_name_the_case() {
    let beam = "units m, kN\njoint A: (0, 0)\njoint B: (8, 0)\nbeam A-B\npin A\nroller B\n";
    let first = Some(Subject::Case(CaseId::new(0)));
    let caption = |text: &str, kind| draw(&check_text(text), kind, first).unwrap().caption;
    let one = format!("{beam}case snow {{\n load A-B: 3 kN/m down\n}}\n");
    for kind in [Kind::Structure, Kind::FreeBody, Kind::Shear, Kind::Moment] {
        assert!(!caption(&one, kind).contains("snow"));
        let combined = format!("{one}combination strength: 1.6 snow\n");
        assert!(caption(&combined, kind).ends_with(", case snow"));
        let travelling = format!("{one}travel crane: 40 kN along A-B\n");
        assert!(caption(&travelling, kind).ends_with(", case snow"));
    }
}

/// One that is printed without its caption says so too, and whether its result holds.
#[test]
fn drawings_name_their_case_and_what_does_not_hold() {
    let frame = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (4, 3)\njoint D: (0, 3)\nbar A-B-C-D-A\n\
                 cable A-C\npin A\nroller B\ncase left {\n load D: 5 kN left\n}\n";
    let written = |text: &str, kind, case| {
        let figure = draw(&check_text(text), kind, Some(Subject::Case(CaseId::new(case)))).unwrap();
        let cautions = figure.picture.lettering().filter(|words| words.text() == CAUTION).count();
        assert_eq!(cautions, usize::from(kind != Kind::Structure), "{kind:?}");
        let others = figure.picture.lettering().filter(|words| words.text() != CAUTION);
        let lowest = others.max_by(|a, b| a.at[1].total_cmp(&b.at[1])).unwrap();
        assert!(figure.latex().contains(&lowest.text()) && figure.svg().contains(&lowest.text()));
        (lowest.text(), figure.caption)
    };
    let two = format!("{frame}case right {{\n load D: 5 kN right\n}}\n");
    for kind in [Kind::FreeBody, Kind::Forces, Kind::Polygons, Kind::ForceDiagram] {
        let (line, caption) = written(&two, kind, 0);
        assert_eq!(line, "case left; does not hold: a cable is slack", "{kind:?}");
        assert!(caption.ends_with(", case left; does not hold: a cable is slack"), "{caption}");
        assert_eq!(written(&two, kind, 1).0, "case right", "{kind:?}");
        assert_eq!(written(frame, kind, 0).0, "does not hold: a cable is slack", "{kind:?}");
        let alone = written(&frame.replace("left\n}", "right\n}"), kind, 0).0;
        assert!(!alone.contains("case") && !alone.contains("hold"), "{alone}");
    }
    assert_eq!(written(&two, Kind::Structure, 0).0, "case left");
    let whole = draw(&check_text(&two), Kind::Structure, None).unwrap();
    assert!(whole.picture.lettering().all(|words| !words.text().contains("case")));
}

/// A pin's ring beside the beam tells a bar that hangs on a beam from a hinge in it.
#[test]
fn a_ring_stands_on_a_beam_only_where_the_beam_is_hinged() {
    let hung = "units m, kN\njoint A: (0, 0)\njoint B: (3, 0)\njoint C: (6, 0)\njoint D: (3, -2)\n\
                joint E: (6, -1)\nbeam A-B-C: s\nbar D-B: s\nbar B-E: s\npin A, D, E\nroller C\n\
                section s: EA = 1 MN, EI = 100 kN*m^2\nload A-B: 4 kN/m down\n";
    // How far each ring's edge is from the beam's axis, as the rings' middles lie.
    let rings = |text: &str| -> Vec<(f64, f64)> {
        let figure = draw(&check_text(text), Kind::Structure, None).unwrap();
        let paths = figure.picture.marks.iter().filter_map(|mark| match mark {
            Mark::Path(path) => Some(path),
            Mark::Lettering(_) => None,
        });
        let beam = paths.clone().find(|path| path.stroke.is_some_and(|stroke| stroke.width == 0.9)).unwrap();
        let axis = beam.segments()[0][0][1];
        let round = |path: &&kingpost::present::figure::picture::Path| {
            // Those of rollers are of thinner line.
            path.stroke.is_some_and(|stroke| stroke.width == 0.3) && path.fill == Some(Ink::Paper)
        };
        paths
            .filter(round)
            .map(|path| {
                let mut bounds = Bounds::EMPTY;
                path.segments().into_iter().flatten().for_each(|at| bounds.take(at, 0.15));
                (bounds.top - axis, bounds.bottom - axis)
            })
            // Those at the bars' far ends are elsewhere.
            .filter(|(_, bottom)| *bottom < 6.0)
            .collect()
    };
    let beside = rings(hung);
    assert_eq!(beside.len(), 2);
    assert!(beside.iter().all(|(top, _)| *top >= 0.44), "{beside:?}");
    let hinged = rings(&format!("{hung}hinge B\n"));
    assert!(matches!(hinged.as_slice(), [(top, bottom)] if *top < 0.0 && *bottom > 0.0), "{hinged:?}");
    // A clamped end takes the moment past the bar that is pinned to it.
    let clamped = rings(&hung.replace("roller C", "fixed C\nbar C-E: s"));
    assert!(clamped.len() == 3 && clamped.iter().all(|(top, _)| *top >= 0.44), "{clamped:?}");
}

/// Joints without members, as a text in the making or one in disorder has
/// them, are too many to be named; each name would look for a place round all others.
#[test]
fn thousands_of_loose_joints_are_not_named() {
    let mut text = "units m, kN\njoint K: (-3, 0)\n".to_owned();
    for index in 0..2_000 {
        writeln!(text, "joint L{index}: ({}, 0)", 3 * index).unwrap();
    }
    text.push_str("beam K-L0\npin K\nroller L0\n");
    let figure = draw(&check_text(&text), Kind::Structure, None).unwrap();
    let names = figure.picture.lettering().filter(|words| words.text().starts_with(['K', 'L'])).count();
    assert!(names <= 2, "{names}");
}

/// Names that begin alike stay apart when they are cut, and near their joints.
#[test]
fn long_names_are_told_by_their_ends() {
    let long = "verylongjointname".repeat(12);
    let text = format!(
        "units m, kN\njoint {long}: (0, 0)\njoint {long}B: (4, 0)\njoint C: (2, 2)\nbar {long}-C-{long}B-{long}\n\
         pin {long}\nroller {long}B\nload C: 5 kN down\n"
    );
    let checked = check_text(&text);
    for kind in [Kind::Structure, Kind::FreeBody, Kind::Forces] {
        let figure = draw(&checked, kind, None).unwrap();
        let names: Vec<_> =
            figure.picture.lettering().filter(|words| words.text().starts_with("verylongjoi")).collect();
        let told: BTreeSet<String> = names.iter().map(|words| words.text()).collect();
        let cut = ["verylongjoin…ngjointname", "verylongjoin…gjointnameB"];
        assert!(cut.iter().all(|name| told.contains(*name)), "{told:?}");
        assert!(overlaps(&figure).is_empty());
        // Each by its joint: none stands higher over the foot than the roof is halfway up.
        let [high, low] = [f64::min, f64::max].map(|pick| names.iter().map(|words| words.at[1]).reduce(pick).unwrap());
        let top = figure.picture.lettering().find(|words| words.text() == "C").unwrap().at[1];
        assert!(low - high < 12.0 && low - top > 30.0, "{high} {low} {top}");
    }
}

#[test]
fn what_has_no_force_diagram_says_why() {
    let why = |text: &str| {
        let checked = check_text(text);
        let result = &checked.solution.as_ref().expect("forces").results[0];
        reciprocal(&checked.structure, &Loads::of(&checked.structure, Some(result.subject)), result).unwrap_err()
    };
    let square = "units m, kN\njoint A: (0, 0)\njoint B: (2, 0)\njoint C: (2, 2)\njoint D: (0, 2)\n";
    let crossed =
        "section s: EA = 1 MN\nbar A-B-C-D-A: s\nbar A-C: s\nbar B-D: s\npin A\nroller B\nload C: 1 kN right\n";
    assert!(matches!(why(&format!("{square}{crossed}")), Unfit::Crossing(..)));
    let beam = "units m, kN\njoint A: (0, 0)\njoint B: (2, 0)\nbeam A-B\npin A\nroller B\nload A-B: 1 kN/m down\n";
    assert_eq!(why(beam), Unfit::Beams);
    let inside = "joint M: (1, 0.5)\nbar A-B-C-A\nbar A-M-B\nbar M-C\npin A\nroller B\nload M: 1 kN down\n";
    let triangle = "units m, kN\njoint A: (0, 0)\njoint B: (2, 0)\njoint C: (1, 2)\n";
    let inside = format!(
        "{triangle}section s: EA = 1 MN\n{}",
        inside
            .replace("bar A-B-C-A", "bar A-B-C-A: s")
            .replace("bar A-M-B", "bar A-M-B: s")
            .replace("bar M-C", "bar M-C: s")
    );
    assert!(matches!(why(&inside), Unfit::Inside(_)));
}

#[test]
fn what_cannot_be_drawn_is_refused_in_words() {
    let door = read(&root().join("examples/door.kp"));
    let refusal = |checked: &Checked, kind| draw(checked, kind, None).unwrap_err().0;
    assert_eq!(refusal(&door, Kind::Moment), "there are no beams; `forces` shows the forces in bars");
    assert_eq!(refusal(&door, Kind::Mechanism), "it is stable");
    assert_eq!(refusal(&door, Kind::Deflected), "displacements are not known without the stiffness of every member");
    assert_eq!(refusal(&check_text("units m, kN\njoint A: (0, 0)\n"), Kind::Structure), "there are no members to draw");
    let far = check_text("units m, kN\njoint A: (1e12, 0)\njoint B: (1e12 + 0.001, 0)\nbar A-B\n");
    assert!(refusal(&far, Kind::Structure).contains("too far from the origin"));
    let many = format!(
        "units m, kN\nfor i from 0 to {0} {{ joint L[i]: (i, 0) }}\nfor i from 0 to {0} - 1 {{ bar L[i]-L[i+1] }}\n",
        MOST_MEMBERS + 1
    );
    assert!(refusal(&check_text(&many), Kind::Structure).contains("20000 at most"));
}

#[test]
fn long_and_tall_structures_keep_their_shape() {
    let ladder = |wide: f64, high: f64| {
        format!(
            "units m, kN\njoint A: (0, 0)\njoint B: ({wide}, 0)\njoint C: ({wide}, {high})\njoint D: (0, {high})\nbar A-B-C-D-A\nbar A-C\npin A\nroller B\nload C: 2 kN down\n"
        )
    };
    for (wide, high) in [(40.0, 1.0), (1.0, 40.0), (0.001, 0.001), (1e6, 1e6)] {
        let checked = check_text(&ladder(wide, high));
        for kind in [Kind::Structure, Kind::FreeBody, Kind::Forces] {
            let figure = draw(&checked, kind, None).unwrap();
            let faults = overlaps(&figure);
            assert!(faults.is_empty(), "{wide} by {high}, {kind:?}: {faults:?}");
            let longer = figure.picture.width.max(figure.picture.height);
            assert!(longer > 60.0 && figure.picture.width <= sheet::WIDEST + 1.0, "{wide} by {high}: {longer}");
        }
    }
}

#[test]
fn files_are_written_whole_under_clear_names() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("kingpost").unwrap();
        command.current_dir(folder.path()).arg("draw").arg(root().join("examples/door.kp")).args(arguments);
        command.output().unwrap()
    };
    let output = run(&["--what", "forces", "-o", "f.svg"]);
    assert_eq!(String::from_utf8(output.stdout).unwrap(), "f.svg\n");
    assert!(std::fs::read_to_string(folder.path().join("f.svg")).unwrap().ends_with("</svg>\n"));
    let output = run(&["--what", "all", "-o", "out/"]);
    assert_eq!(output.status.code(), Some(0));
    let mut names: Vec<String> = std::fs::read_dir(folder.path().join("out"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "door-axial.svg",
            "door-force-diagram.svg",
            "door-forces.svg",
            "door-free-body.svg",
            "door-joint-polygons.svg",
            "door-structure.svg"
        ]
    );
    let output = run(&["--what", "forces", "-o", "nowhere/f.svg"]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2, "nothing half-written is left");
    #[cfg(feature = "png")]
    {
        run(&["--what", "forces", "-o", "f.png"]);
        let bytes = std::fs::read(folder.path().join("f.png")).unwrap();
        assert!(bytes.starts_with(b"\x89PNG\r\n\x1a\n") && bytes.len() > 10_000);
    }
}

/// The README's pictures are what the program draws now.
#[test]
fn the_pictures_in_the_readme_are_current() {
    for (example, kind, case) in [("door", Kind::Forces, None), ("portal-shed", Kind::Moment, Some("strength"))] {
        let checked = read(&root().join(format!("examples/{example}.kp")));
        let structure = &checked.structure;
        let subject = (0..structure.combinations.len())
            .map(CombinationId::new)
            .find(|combination| Some(structure.combination_name(*combination)) == case)
            .map(Subject::Combination);
        let svg = draw(&checked, kind, subject).unwrap().svg();
        let path = root().join(format!("examples/figures/{example}-{}.svg", kind.word()));
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&path, svg).unwrap();
            continue;
        }
        let kept = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(kept == svg, "{} is out of date: UPDATE=1 cargo test --test output figures::", path.display());
    }
}

/// Every figure a file has, with its name.
fn figures(checked: &Checked) -> Vec<(String, Figure)> {
    let structure = &checked.structure;
    let cases = (0..structure.cases.len()).map(|index| Subject::Case(CaseId::new(index)));
    let combinations = (0..structure.combinations.len()).map(|index| Subject::Combination(CombinationId::new(index)));
    let subjects: Vec<Option<Subject>> = std::iter::once(None).chain(cases.chain(combinations).map(Some)).collect();
    let mut figures = Vec::new();
    // Large drawings take longer and differ little from case to case.
    let shown = if structure.members.len() > ORDINARY { 2 } else { subjects.len() };
    for kind in Kind::ALL {
        for (index, subject) in subjects.iter().enumerate().take(shown) {
            if let Ok(figure) = draw(checked, kind, *subject) {
                figures.push((format!("{} {index}", kind.word()), figure));
            }
        }
    }
    figures
}

fn read(path: &Path) -> Checked {
    let folder = path.parent().unwrap().to_owned();
    let text = std::fs::read_to_string(path).unwrap();
    let mut used =
        |name: &str| std::fs::read_to_string(folder.join(name)).map_err(|error| SourceRefusal(error.to_string()));
    check(&read_project(&path.to_string_lossy(), text, &mut used))
}

fn check_text(text: &str) -> Checked {
    check(&read_project("test.kp", text.to_owned(), &mut |_| Err(SourceRefusal("not here".to_owned()))))
}

/// The `.kp` files directly in these folders.
fn texts(folders: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for folder in folders {
        let entries = std::fs::read_dir(root().join(folder)).unwrap().map(|entry| entry.unwrap().path());
        found.extend(entries.filter(|path| path.extension().is_some_and(|own| own == "kp")));
    }
    found.sort();
    found
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}
