#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::HashMap;
use std::mem::discriminant;

use super::diagnose;
use crate::diagnostic::{Severity, Slug};
use crate::statics::{Equilibrium, VerdictKind, settle};
use crate::structure::lower::LayoutState;
use crate::structure::project::{SourceRefusal, read_project};
use crate::structure::{Lowered, Project, lower};

fn read(text: &str) -> (Project, Lowered) {
    read_beside(text, "")
}

/// A block of a page, beside the files that the page gives by name.
fn read_beside(text: &str, page: &str) -> (Project, Lowered) {
    let mut named = |name: &str| {
        let block = page.split_once(&format!("```kp file={name}\n")).and_then(|(_, rest)| rest.split("```").next());
        block.map(str::to_owned).ok_or_else(|| SourceRefusal("no such file".to_owned()))
    };
    let project = read_project("bracket.kp", text.to_owned(), &mut named);
    let lowered = lower(&project);
    (project, lowered)
}

/// A sound truss with room for more statements.
fn truss(more: &str) -> String {
    let layout = "joint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 1.5)\nbar A-B\nbar A-C-B\npin A\nroller B";
    format!("units m, kN\n{layout}\n{more}\n")
}

/// Headline, labels with the text they stand on, why, help and edits, a line each.
fn shown(text: &str) -> String {
    let (project, lowered) = read(text);
    assert!(project.errors.is_empty(), "{:?}", project.errors);
    let mut out = String::new();
    for fault in &lowered.faults {
        let told = diagnose(fault, &project.files);
        out += &format!("{}[{}]: {}\n", told.severity.word(), told.slug.word(), told.message);
        for label in &told.labels {
            out += &format!("at {}: {}\n", label.at.span.text(project.files.text(label.at.file)), label.text);
        }
        told.why.iter().for_each(|why| out += &format!("why: {why}\n"));
        told.help.iter().for_each(|help| out += &format!("help: {help}\n"));
        told.edits.iter().for_each(|edit| out += &format!("edit: {}\n", edit.replacement));
    }
    out
}

/// The slugs of faults stand together in the catalogue.
fn fault_slugs() -> impl Iterator<Item = Slug> {
    Slug::ALL.iter().copied().filter(|slug| (Slug::UnknownName..=Slug::DegreeNotWhole).contains(slug))
}

fn example_and_cure(slug: Slug) -> (&'static str, &'static str) {
    let page = slug.page();
    for heading in ["# ", "## What it means", "## Why it matters", "## Example", "## Cure"] {
        assert!(page.lines().any(|line| line.starts_with(heading)), "{}: {heading}", slug.word());
    }
    assert!(page.starts_with(&format!("# {}\n", slug.word())));
    let mut blocks = page.split("```kp\n").skip(1).filter_map(|rest| rest.split("```").next());
    (blocks.next().expect("an example"), blocks.next().expect("a cure"))
}

#[test]
fn every_example_triggers_its_slug_alone_and_every_cure_is_sound() {
    for slug in fault_slugs() {
        let (example, cure) = example_and_cure(slug);
        let (project, lowered) = read_beside(example, slug.page());
        assert!(project.errors.is_empty(), "{}: {:?}", slug.word(), project.errors);
        let slugs: Vec<_> = lowered.faults.iter().map(|fault| diagnose(fault, &project.files).slug.word()).collect();
        assert_eq!(slugs, [slug.word()]);

        let (project, lowered) = read_beside(cure, slug.page());
        assert!(project.errors.is_empty(), "{}: {:?}", slug.word(), project.errors);
        assert_eq!(lowered.faults, [], "{}", slug.word());
        assert_eq!(lowered.layout, LayoutState::Whole, "{}", slug.word());
        let verdict = settle(&lowered.structure, &Equilibrium::of(&lowered.structure)).expect("a verdict");
        assert_eq!(verdict.kind, VerdictKind::Determinate, "{}", slug.word());
    }
}

#[test]
fn every_kind_of_fault_has_a_slug_of_its_own() {
    let mut kinds = HashMap::new();
    for slug in fault_slugs() {
        let (_, lowered) = read_beside(example_and_cure(slug).0, slug.page());
        for fault in &lowered.faults {
            assert_eq!(*kinds.entry(discriminant(&fault.kind)).or_insert(slug), slug);
        }
    }
    assert_eq!(kinds.len(), fault_slugs().count());
}

#[test]
fn every_diagnostic_is_complete() {
    for slug in fault_slugs() {
        let (project, lowered) = read_beside(example_and_cure(slug).0, slug.page());
        for fault in &lowered.faults {
            let told = diagnose(fault, &project.files);
            assert!(!told.message.is_empty() && !told.message.contains('\n') && !told.message.ends_with('.'));
            assert_eq!(told.place(), told.labels.first().map(|label| label.at));
            assert!(told.labels.iter().all(|label| !label.text.is_empty() && !label.at.span.is_empty()), "{told:?}");
            assert!(!told.labels.is_empty() && !told.why.is_empty() && !told.help.is_empty(), "{told:?}");
            assert!(told.why.iter().all(|why| why.ends_with('.')), "{told:?}");
            assert!(told.help.iter().all(|help| !help.ends_with('.')), "{told:?}");
            let expected = match slug {
                Slug::PoundAsForce => Severity::Information,
                Slug::UnknownSlug | Slug::NotSwitchable | Slug::SettlePartFree | Slug::NoProjection => {
                    Severity::Warning
                }
                _ => Severity::Error,
            };
            assert_eq!(told.severity, expected);
        }
    }
}

#[test]
fn certain_edits_cure_their_fault() {
    let cases = [
        truss("joint ridge: (2, 3)\nbar A-rigde-B"),
        truss("section strut: A = 20 cm^2\nload C: 1 kN down").replace("bar A-B", "bar A-B: Strut"),
        truss("load C: 100 lb down").replace("units m, kN", "units m, KN"),
        truss("allow pounds-as-force"),
    ];
    for text in cases {
        let (project, lowered) = read(&text);
        let mut edits: Vec<_> = lowered.faults.iter().flat_map(|fault| diagnose(fault, &project.files).edits).collect();
        assert_eq!(edits.len(), lowered.faults.len(), "{}", shown(&text));
        edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
        let mut cured = text.clone();
        for edit in edits {
            cured.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.replacement);
        }
        assert_eq!(shown(&cured), "", "{cured}");
    }
}

#[test]
fn broken_units_are_told_once() {
    assert_eq!(read("units m, KN\njoint A: (1, 2)\njoint B: (3, 4)\n").1.faults.len(), 1);
    assert_eq!(read("units m §\njoint A: (1, 2)\njoint B: (3, 4)\n").1.faults.len(), 0);
}

#[test]
fn names_in_words() {
    assert_eq!(
        shown(&truss("joint ridge: (2, 3)\nbar A-rigde")),
        "\
error[unknown-name]: there is no joint `rigde`\n\
at rigde: did you mean `ridge`?\n\
why: Every joint has a `joint` statement: anywhere in the file, or in a file it uses.\n\
help: write `ridge`\n\
help: declare it: `joint rigde: (x, y)`\n\
edit: ridge\n"
    );
    assert_eq!(
        shown(&truss("load \u{410}: 1 kN down")),
        "\
error[unknown-name]: there is no joint `А`\n\
at А: did you mean `A`?\n\
why: Every joint has a `joint` statement: anywhere in the file, or in a file it uses.\n\
why: `А` looks like `A` but has other letters: U+0410 where `A` has U+0041.\n\
help: write `A`\n\
help: declare it: `joint А: (x, y)`\n\
edit: A\n"
    );
    assert_eq!(
        shown(&truss("for i from 1 to 3 {\n  joint L[i]: (i, 5)\n}\nload L11: 1 kN down")),
        "\
error[unknown-name]: there is no joint `L11`\n\
at L11: did you mean `L1`?\n\
why: Every joint has a `joint` statement: anywhere in the file, or in a file it uses.\n\
help: write `L1`\n\
help: declare it: `joint L11: (x, y)`\n"
    );
    assert_eq!(
        shown(&truss("for i from 1 to 2 {\n  load M[i+1]: 1 kN down\n}")),
        "\
error[unknown-name]: there is no joint `M2`\n\
at M[i+1]: `M[i+1]` stands for `M2` here\n\
why: Every joint has a `joint` statement: anywhere in the file, or in a file it uses.\n\
why: First met in the turn i = 1 of the loop.\n\
help: declare it: `joint M2: (x, y)`\n"
    );
    assert_eq!(
        shown(&truss("for i from 1 to 2 {\n  load i: 1 kN down\n}")),
        "\
error[wrong-kind-of-name]: `i` is a loop variable, not a joint\n\
at i: a joint is wanted here\n\
at i: `i` is declared here, as a loop variable\n\
why: A loop variable counts; the joints of a loop carry it as an index: `L[i]` is `L3` where i is 3.\n\
why: First met in the turn i = 1 of the loop.\n\
help: name a joint, such as `L[i]`\n"
    );
    assert_eq!(
        shown(&truss("for i from 1 to 2 {\n  joint D: (i, 5)\n}")),
        "\
error[duplicate-name]: the loop declares joint `D` again\n\
at D: the same name in every turn\n\
why: Joints, lets and loop variables share one set of names, so that a name in an expression has one meaning.\n\
why: First met in the turn i = 2 of the loop.\n\
help: let the name follow the loop's variable, as in `D[i]`, or move it out of the loop\n"
    );
    assert_eq!(
        shown(&truss("let w = 2 kN / m")),
        "\
error[unknown-name]: nothing is named `m`\n\
at m: not declared\n\
why: A name in an expression is a let, a joint (its position) or the variable of a loop around it.\n\
why: A unit stands straight after its number and has no spaces in it; elsewhere the word is a name.\n\
help: close the unit up, as in `2 kN/m`, or give the word a number, `1 m`\n\
help: give it a value: `let m = …`\n"
    );
    assert_eq!(
        shown(&truss("use \"snow.kp\"")),
        "\
error[use-refused]: the file `snow.kp` cannot be read\n\
at snow.kp: cannot be read\n\
why: Reading it gave: no such file.\n\
help: check the name; a path starts at the folder of the file that holds the `use`\n"
    );
}

#[test]
fn units_and_dimensions_in_words() {
    assert_eq!(
        shown(&truss("load A-B: 25 kg/m down at joints")),
        "\
error[mass-as-load]: `25 kg/m down` is a mass; a force per length belongs here\n\
at 25 kg/m down: a mass, not its weight\n\
why: A mass does not load a structure; its weight does: 25 kg/m weighs 245.2 N/m.\n\
help: write `25 kgf/m down`\n"
    );
    assert_eq!(
        shown(&truss("let m = 80 kg\nload C: m down")),
        "\
error[mass-as-load]: `m down` is a mass; a force belongs here\n\
at m down: a mass, not its weight\n\
at m: `m` is a mass, given here\n\
why: A mass does not load a structure; its weight does: 1 kg weighs 1 kgf = 9.807 N.\n\
help: write the weight: `kgf` for `kg`, `tf` for `t`, `lbf` for `lbm`, or times `1 g_n`\n"
    );
    assert_eq!(
        shown(&truss("load A-C-B: 1.0 kN/m^2 down at joints")),
        "\
error[wrong-dimension]: a force per area where a force per length belongs: `1.0 kN/m^2 down`\n\
at 1.0 kN/m^2 down: this is a force per area\n\
why: Wanted: a load along a member, a force per length (force/length).\n\
why: Found: `1.0 kN/m^2 down`, a force per area (force/length²).\n\
why: Times a length it would fit.\n\
help: a load per area becomes one along a member times the width it is carried over: `1.0 kN/m^2 * bay`\n\
help: write it in `kN/m`, `N/m`, `kN/mm` or `N/mm`\n"
    );
    assert_eq!(
        shown(&truss("load C: 3 kN @ sin(45)*1°")),
        "\
error[bare-angle]: `45` says neither degrees nor radians\n\
at 45: an angle needs its unit\n\
why: 45° is 0.7854 rad; 45 rad is 2578.31°. The file's units settle lengths and forces, never angles.\n\
help: write `45°` or `45 rad`\n"
    );
    assert_eq!(
        shown(&truss("load A-B: 3 lb/ft down at joints")),
        "\
info[pound-as-force]: `lb` is read as the force `lbf`\n\
at lb/ft: read as `lbf/ft`\n\
why: A pound is a mass; a load in pounds is the force that mass weighs, 1 lbf = 4.448 N.\n\
help: write `lbf/ft`\n\
edit: lbf/ft\n"
    );
    assert_eq!(
        shown("units m, Mpa\n"),
        "\
error[unknown-unit]: `Mpa` is not a unit\n\
at Mpa: did you mean `MPa`?\n\
why: Units are told apart by capitals too, as in print: `kN`, `MPa`, `mm`.\n\
help: write `MPa`\n\
edit: MPa\n"
    );
    assert_eq!(
        shown("units m, kg\n"),
        "\
error[units-of-wrong-kind]: `kg` is a unit of mass, not a unit of force\n\
at kg: a unit of force belongs here\n\
why: `units` names the unit of length, then that of force, then, if wanted, that of deflections: `units m, kN, mm`.\n\
why: A mass is not a force; it weighs one.\n\
help: write `kgf`, `tf`, `kN` or `lbf`\n"
    );
    assert_eq!(
        shown("joint A: (3 m, 4)\n"),
        "\
error[bare-number]: `(3 m, 4)` has no unit, and the file states none\n\
at (3 m, 4): a length belongs here\n\
why: A bare number takes the unit of its file's `units` statement; this file has none, so it could be metres or feet, newtons or pounds.\n\
help: state the file's units once, at its head: `units m, kN` or `units ft, lbf`\n\
help: or write the unit on each number, such as `2 m`\n"
    );
    assert_eq!(
        shown(&truss("let a = min(2 m, 3 kN)")),
        "\
error[mixed-dimensions]: a length and a force do not go together: `min(2 m, 3 kN)`\n\
at 2 m: a length\n\
at 3 kN: a force\n\
why: `2 m` is a length.\n\
why: `3 kN` is a force.\n\
why: Only quantities of one kind can be added, compared or paired in a vector; a bare `0` fits any.\n\
help: write both as a length: `m`, `mm`, `cm` or `ft`\n\
help: or both as a force: `kN`, `N`, `MN` or `kip`\n"
    );
}

#[test]
fn loads_and_claims_in_words() {
    assert_eq!(
        shown(&truss("load A-B: 1 kN/m down from 1 ft to 20 ft at joints")),
        "\
error[position-outside]: `20 ft` is past the end of the member, which is 13.12 ft long\n\
at 20 ft: 6.877 ft past the end\n\
why: A place on a member or chain is measured along it from the joint named first, from 0 to its length, 13.12 ft.\n\
help: give a place between the ends, as a length or a share: `at 40%`\n"
    );
    assert_eq!(
        shown(&truss("load A-B: 1 kN/m down from 1 to 9 at joints")),
        "\
error[position-outside]: `9` is past the end of the member, which is 4 long\n\
at 9: 5 past the end\n\
why: A place on a member or chain is measured along it from the joint named first, from 0 to its length, 4.\n\
help: give a place between the ends, as a length or a share: `at 40%`\n"
    );
    assert_eq!(
        shown(&truss("load A-B: 1 kN/m down from 0 to 120% at joints")),
        "\
error[position-outside]: `120%` is past the end of the member, which is 4 m long\n\
at 120%: 0.8 m past the end\n\
why: A place on a member or chain is measured along it from the joint named first, from 0 to its length, 4 m.\n\
help: give a place between the ends, as a length or a share: `at 40%`\n"
    );
    assert_eq!(
        shown(&truss("joint D: (2, 0)\nbar A-D-B, C-D\nload A-B: 1 kN/m down at joints").replace("bar A-B\n", "")),
        "\
error[no-such-member]: there is no member `A-B`\n\
at A-B: no bar, cable or beam joins `A` and `B`\n\
why: A chain follows members from joint to joint, and each of its steps is a member of the structure.\n\
why: Between `A` and `B` lie other joints, and the members from each to the next.\n\
help: write `A-D-B`\n"
    );
    assert_eq!(
        shown(&truss("load C: 5 kN down per rise")),
        "\
error[clause-not-for-joint]: `per rise` does not fit a joint\n\
at per rise: a joint is one point\n\
why: `per rise` says where along a member, or how a load spreads over one; a joint has no length to it.\n\
help: leave it out, or name the member or chain in place of the joint: `load A-B: …`\n"
    );
    assert_eq!(
        shown(&truss("expect force A-B: 5 kN right")),
        "\
error[scalar-wanted]: a vector where a single value belongs: `5 kN right`\n\
at 5 kN right: two components, not one value\n\
why: A member force acts along its member, so it has a size and a sense but no direction of its own.\n\
help: give the sense in words: `5 kN tension` or `5 kN compression`\n"
    );
    assert_eq!(
        shown(&truss("expect shear A-B at 1 m: 5 kN cw")),
        "\
error[claim-sense]: `cw` is not the sense of a shear\n\
at cw: a shear takes no sense word\n\
why: The sign of a shear follows the results page; no word of the trade names it without a drawing.\n\
help: leave the word out and claim the size with its sign\n"
    );
}
