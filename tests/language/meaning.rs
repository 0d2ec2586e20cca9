//! What a text means: numbers in their units, couples in their sense, and
//! statements of which two readings stand, which are told.

use crate::support::kp_files;
use crate::support::solved;

use kingpost::base::FileId;
use kingpost::check::check;
use kingpost::diagnostic::{Diagnostic, Severity};
use kingpost::structure::{SourceRefusal, read_project};
use kingpost::syntax::parse;
use kingpost::syntax::tree::ExprKind;
use serde_json::Value;

use solved::solve;

/// Each unit with another of the same kind, and how many of those it is.
const OTHER_UNITS: &[(&str, &str, f64)] = &[
    ("m", "mm", 1e3),
    ("mm", "cm", 0.1),
    ("ft", "in", 12.0),
    ("in", "ft", 1.0 / 12.0),
    ("kN", "N", 1e3),
    ("N", "kN", 1e-3),
    ("kip", "lbf", 1e3),
    ("lbf", "kip", 1e-3),
    ("kN/m", "N/mm", 1.0),
    ("kN/m^2", "kPa", 1.0),
    ("kN*m", "N*m", 1e3),
    ("lbf/ft", "kip/ft", 1e-3),
    ("kip/ft", "lbf/in", 1e3 / 12.0),
    ("GPa", "MPa", 1e3),
    ("ksi", "psi", 1e3),
    ("cm^2", "mm^2", 1e2),
    ("cm^4", "mm^4", 1e4),
    ("in^4", "ft^4", 1.0 / 20_736.0),
    ("kN/m^3", "N/m^3", 1e3),
    ("MN*m^2", "kN*m^2", 1e3),
    ("MN", "kN", 1e3),
    ("K", "°F", 1.8),
];

/// The text with every literal that has a unit in another unit.
fn in_other_units(text: &str) -> (String, usize) {
    let tree = parse(FileId(0), text).tree;
    let mut together = std::collections::HashSet::new();
    for expr in &tree.exprs {
        if let ExprKind::Neighbours(parts) = expr.kind {
            together.extend(tree.list(parts).iter().copied());
        }
    }
    let mut changes = Vec::new();
    for (index, expr) in tree.exprs.iter().enumerate() {
        let id = kingpost::syntax::tree::ExprId(u32::try_from(index).unwrap());
        let ExprKind::Number { number, unit: Some(unit) } = expr.kind else { continue };
        let Some((_, other, factor)) = OTHER_UNITS.iter().find(|(own, ..)| *own == unit.text(text)) else { continue };
        let value: f64 = number.text(text).replace('_', "").parse().unwrap();
        // Fifteen figures, so that whole numbers stay whole.
        let value: f64 = format!("{:.14e}", value * factor).parse().unwrap();
        if !together.contains(&id) {
            changes.push((number.start as usize, unit.end as usize, format!("{value} {other}")));
        }
    }
    changes.sort();
    let mut out = text.to_owned();
    for (start, end, new) in changes.iter().rev() {
        out.replace_range(*start..*end, new);
    }
    (out, changes.len())
}

/// Numbers alike but for rounding; everything else the same.
fn alike(a: &Value, b: &Value, scale: f64, path: &str) -> Result<(), String> {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().unwrap(), y.as_f64().unwrap());
            let off = (x - y).abs();
            // Of the last bits nothing is promised, nor where they are most.
            let is_residual = path.contains("residual");
            if is_residual || off <= 1e-8 * x.abs().max(y.abs()) || off <= 1e-9 * scale {
                Ok(())
            } else {
                Err(format!("{path}: {x} against {y}"))
            }
        }
        (Value::Array(x), Value::Array(y)) if x.len() == y.len() => {
            x.iter().zip(y).enumerate().try_for_each(|(at, (x, y))| alike(x, y, scale, &format!("{path}[{at}]")))
        }
        (Value::Object(x), Value::Object(y)) if x.len() == y.len() => x
            .iter()
            .try_for_each(|(key, x)| alike(x, y.get(key).unwrap_or(&Value::Null), scale, &format!("{path}.{key}"))),
        _ if a == b || path.contains("residual") => Ok(()),
        _ => Err(format!("{path}: {a} against {b}")),
    }
}

fn largest(value: &Value) -> f64 {
    match value {
        Value::Number(number) => number.as_f64().unwrap().abs(),
        Value::Array(list) => list.iter().map(largest).fold(0.0, f64::max),
        Value::Object(map) => map.values().map(largest).fold(0.0, f64::max),
        _ => 0.0,
    }
}

#[test]
fn a_quantity_in_another_unit_is_the_same_quantity() {
    let mut changed = 0;
    for path in kp_files::in_folder("examples").into_iter().chain(kp_files::in_folder("tests/published")) {
        let text = std::fs::read_to_string(&path).unwrap();
        let (other, count) = in_other_units(&text);
        changed += count;
        let (a, b) = (solve(&text).json, solve(&other).json);
        let same = alike(&a, &b, largest(&a).min(1e6), "");
        assert!(same.is_ok(), "{}: {}\n{other}", path.display(), same.unwrap_err());
    }
    assert!(changed > 300, "only {changed} quantities were rewritten");
}

/// A file in metres or feet with a stiff beam, and room for one more line.
fn beam(units: &str, line: &str) -> String {
    let section = "section s: EI = 20 MN*m^2, EA = 900 MN, A = 60 cm^2";
    format!(
        "{units}\n{section}\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (8, 0)\nbeam A-B-C: s\npin A\nroller B\nroller C\nload A-B: 3 kN/m down\n{line}\n"
    )
}

#[test]
fn a_bare_displacement_takes_the_third_unit() {
    let units = "units m, kN, mm";
    for (bare, written) in [
        ("settle B: 12 down", "settle B: 12 mm down"),
        ("settle B: (0, -12)", "settle B: (0, -12) mm"),
        ("settle B: (0 m, -12)", "settle B: (0, -12) mm"),
        ("settle B: -(12 up)", "settle B: 12 mm down"),
        ("misfit A-B: 3 long", "misfit A-B: 3 mm long"),
        ("misfit A-B: (3) short", "misfit A-B: 3 mm short"),
    ] {
        assert_eq!(solve(&beam(units, bare)).document, solve(&beam(units, written)).document, "{bare}");
        let two = written.replace("mm", "m");
        assert_eq!(solve(&beam("units m, kN", bare)).document, solve(&beam("units m, kN", &two)).document, "{bare}");
    }
    let moved = |claim: &str| solve(&beam(units, &format!("settle B: 12 down\nexpect {claim}"))).errors();
    assert_eq!(moved("deflection B down: 12"), Vec::<String>::new());
    assert_eq!(moved("deflection B: (0, -12) within 0.1"), Vec::<String>::new());
    assert_eq!(moved("deflection B down <= 12.1"), Vec::<String>::new());
    assert_eq!(moved("deflection B down <= 11.9").len(), 1);
}

/// Every place that wants a unit: the line with a bare number, and what stands
/// there in place of `?`.
const WANT_A_UNIT: &[(&str, &str)] = &[
    ("material m: E = ?", "29000"),
    ("material m: weight = ?", "77"),
    ("material m: expansion = ?", "1.2e-5"),
    ("section t: A = ?", "10"),
    ("section t: I = ?", "300"),
    ("section t: EA = ?", "4000"),
    ("section t: EI = ?", "4000"),
    ("load A-B: ? down", "2"),
    ("load A-B: 1 kN/m to ? down", "2"),
    ("load A-B: ?", "(1, -2)"),
    ("moment B: ? ccw", "5"),
    ("moment A-B: ? ccw at 1 m", "5"),
    ("expect moment A-B <= ?", "500"),
    ("expect reaction A: ? ccw", "5"),
];

#[test]
fn what_wants_a_unit_says_which_line_to_write() {
    for units in ["units m, kN", "units ft, kip, in", "units m, N", ""] {
        for (line, bare) in WANT_A_UNIT {
            let head = if units.is_empty() { "" } else { units };
            let text = |value: &str| {
                let text = beam(head, &line.replace('?', value));
                if units.is_empty() { text.replace("(4, 0)", "(4 m, 0)").replace("(8, 0)", "(8 m, 0)") } else { text }
            };
            let found = solve(&text(bare)).checked.diagnostics;
            let told: Vec<&Diagnostic> = found.iter().filter(|found| found.slug.word() == "unit-missing").collect();
            let [told] = told.as_slice() else { panic!("{units} {line}: {:?}", solve(&text(bare)).errors()) };
            // The help quotes the value as it is to be written.
            let help = told.help.first().unwrap();
            let quoted = help.split('`').nth(1).unwrap();
            let value = quoted.split(" = ").last().unwrap().trim_end_matches(" down").trim_end_matches(" ccw");
            let cured = solve(&text(value));
            assert!(!cured.slugs().contains(&"unit-missing"), "{units} {line}: {help}");
            assert!(!cured.slugs().contains(&"wrong-dimension"), "{units} {line}: {help}");
            assert!(!cured.slugs().contains(&"unknown-unit"), "{units} {line}: {help}");
            // Nothing is nothing in any unit.
            let none = solve(&text("0"));
            assert!(!none.slugs().contains(&"unit-missing"), "{units} {line} with 0");
        }
    }
}

#[test]
fn a_displacement_that_is_worked_out_wants_its_unit() {
    for line in [
        "let d = 12\nsettle B: d down",
        "settle B: 2*6 down",
        "settle B: (3 mm + 2) down",
        "misfit A-B: 6/2 long",
        "expect deflection B down <= 2*6",
        "expect deflection B down: 12 mm within 2*3",
    ] {
        let slugs = solve(&beam("units m, kN, mm", line)).slugs();
        assert!(slugs.contains(&"unit-missing"), "{line}: {slugs:?}");
    }
    let slugs = solve(&beam("units m, kN, mm", "let d = 12 mm\nsettle B: 2*d down")).slugs();
    assert!(!slugs.contains(&"unit-missing"), "{slugs:?}");
}

#[test]
fn lengths_of_the_geometry_and_forces_take_the_files_units() {
    let with = "units ft, kip\nlet h = 3\njoint A: (0, 0)\njoint B: (4 + h, 1 ft + 2)\nbeam A-B\npin A\nroller B\nload A-B: 5 down at 2\nload B: (1, 2 kip)\nload A: 2 + 1 kip down\n";
    let written = "units ft, kip\nlet h = 3 ft\njoint A: (0, 0)\njoint B: (4 ft + h, 3 ft)\nbeam A-B\npin A\nroller B\nload A-B: 5 kip down at 2 ft\nload B: (1, 2) kip\nload A: (3 kip - 1 kip + 1 kip) down\n";
    let with = with.replace("load A: 2 + 1 kip down", "load A: (2 + 1 kip) down");
    let solved = solve(&with);
    assert_eq!(solved.errors(), Vec::<String>::new());
    assert_eq!(solved.document, solve(written).document);
}

/// Slugs of a project of two files, `used.kp` the second.
fn of_two(root: &str, used: &str) -> Vec<(&'static str, Severity)> {
    let project = read_project("test.kp", root.to_owned(), &mut |name| match name {
        "used.kp" => Ok(used.to_owned()),
        _ => Err(SourceRefusal("no such file".to_owned())),
    });
    check(&project).diagnostics.iter().map(|found| (found.slug.word(), found.severity)).collect()
}

#[test]
fn a_number_of_one_file_is_no_length_of_another_with_other_units() {
    let used = "units m, kN\nlet h = 2\nlet twice = 2*h\nlet long = 2 m\njoint P: (0, h)\n";
    let root = |line: &str| {
        format!(
            "units ft, kip\nuse \"used.kp\"\nlet own = h\njoint A: (0, 0)\njoint B: (20, 0)\n{line}\nbeam A-B-C\nbar A-P-B\nfixed A\nload C: 1 kip down\n"
        )
    };
    let told = |line: &str| of_two(&root(line), used).iter().any(|(slug, _)| *slug == "let-of-other-units");
    for line in [
        "joint C: (20 + h, 5)",
        "joint C: (20 ft + h, 5)",
        "joint C: (twice, 5 ft)",
        "joint C: (own, 5)",
        "joint C: (max(h, 3 ft), 5)",
    ] {
        assert!(told(line), "{line}");
    }
    for line in ["joint C: (20 ft*h, 5)", "joint C: (long, 5)", "joint C: B + (h*1 ft, 5)"] {
        assert!(!told(line), "{line}");
    }
    let same = used.replace("units m, kN", "units ft, kip");
    assert!(!of_two(&root("joint C: (h, 5)"), &same).iter().any(|(slug, _)| *slug == "let-of-other-units"));
}

#[test]
fn couples_without_a_word_turn_in_their_files_sense() {
    let text = |head: &str, word: &str, claim: &str| {
        format!(
            "units m, kN\n{head}\njoint A: (0, 0)\njoint B: (4, 0)\nsection s: EI = 20 MN*m^2, EA = rigid\nbeam A-B: s\nfixed A\nmoment B: 10 kN*m{word}\nmoment A-B: -2 kN*m{word} at 1 m\nsettle A: 0.002 rad{word}\n{claim}\n"
        )
    };
    let cw = solve(&text("", " cw", "")).document;
    assert_eq!(solve(&text("moments cw", "", "")).document, cw);
    assert_eq!(solve(&text("moments cw", " cw", "")).document, cw);
    let ccw = solve(&text("", "", "")).document;
    assert_eq!(solve(&text("moments ccw", "", "")).document, ccw);
    assert_eq!(solve(&text("moments cw", " ccw", "")).document, ccw);
    assert_ne!(cw, ccw);
    for (claim, holds) in [
        ("expect reaction A: -8 kN*m", true),
        ("expect reaction A: 8 kN*m", false),
        ("expect reaction A: 8 kN*m ccw", true),
        ("expect rotation A: 0.002 rad", true),
        ("expect rotation A: -0.002 rad", false),
    ] {
        let errors = solve(&text("moments cw", "", claim)).errors();
        assert_eq!(errors.is_empty(), holds, "{claim}: {errors:?}");
    }
}

#[test]
fn a_couple_without_a_word_beside_a_file_that_counts_clockwise_is_told() {
    let used = "units m, kN\nmoments cw\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\nfixed A\n";
    let told = |root: &str, used: &str| {
        of_two(&format!("units m, kN\nuse \"used.kp\"\n{root}\n"), used)
            .iter()
            .any(|(slug, _)| *slug == "turning-sense-unsaid")
    };
    assert!(told("moment B: 10 kN*m", used));
    assert!(told("moment B: 10 kN*m cw\nexpect reaction A: 10 kN*m", used));
    assert!(!told("moment B: 10 kN*m cw", used));
    assert!(!told("moments ccw\nmoment B: 10 kN*m", used));
    assert!(!told("moment B: 10 kN*m", &used.replace("cw", "ccw")));
}

/// What is told, a text that is told it, and one that is not.
const TRAPS: &[(&str, &str, &str)] = &[
    ("doubled-load", "load A-B: 1 kN/m down\nload A-B: 1 kN/m down", "load A-B: 1 kN/m down\nload A-B: 1.1 kN/m down"),
    (
        "doubled-load",
        "load A-B-C: 1 kN/m down\nload C-B-A: 1 kN/m down",
        "load A-B: 1 kN/m down\nload B-C: 1 kN/m down",
    ),
    (
        "doubled-load",
        "load A-B: 1 kN down at 25%\nload A-B: 1 kN down at 1 m",
        "load A-B: 1 kN down at 25%\nload A-B: 1 kN up at 1 m",
    ),
    ("doubled-load", "weigh all\nweigh A-B", "weigh A-B\nweigh B-C"),
    ("doubled-load", "weigh A-B-C\nweigh C-B", "weigh all"),
    ("doubled-load", "settle B: 1 mm down\nsettle B: 1 mm down", "settle B: 1 mm down\nsettle C: 1 mm down"),
    (
        "doubled-load",
        "moment B: 1 kN*m cw\nmoment B: 1 kN*m cw",
        "case a { moment B: 1 kN*m cw }\ncase b { moment B: 1 kN*m cw }",
    ),
    ("settle-part-free", "settle B: (1, -3) mm", "settle B: (0, -3) mm"),
    ("settle-part-free", "settle B: 3 mm @ 40° below left", "settle A: (1, -3) mm"),
    ("no-projection", "load P-B: 1 kN/m right per run", "load P-B-C: 1 kN/m down per run"),
    ("no-projection", "load A-B: 1 kN/m down per rise", "load P-B: 1 kN/m right per rise"),
    ("reserved-name", "let pi = 3", "let pie = 3"),
    ("reserved-name", "joint pi: (1, 1)", "let tau = 2*pi"),
    ("reserved-name", "for pi from 0 to 1 { joint Q[pi]: (pi, 9) }", "let pi_2 = 3"),
    ("couple-at-hinge", "hinge B\nmoment A-B-C: 1 kN*m ccw at 4 m", "moment A-B-C: 1 kN*m ccw at 4 m"),
    ("couple-at-hinge", "hinge B\nmoment C-B-A: 1 kN*m ccw at 50%", "hinge B\nmoment A-B: 1 kN*m ccw at 4 m"),
];

#[test]
fn traps_are_told_where_they_are_and_nowhere_else() {
    let base = "units m, kN\nmaterial st: E = 200 GPa, weight = 77 kN/m^3\nsection s: st, A = 60 cm^2, I = 900 cm^4\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (8, 0)\njoint P: (4, 3)\nbeam A-B-C: s\nbeam P-B: s\nfixed A\nroller B\nroller C\n";
    for (slug, trap, plain) in TRAPS {
        let slugs = |line: &str| solve(&format!("{base}{line}\n")).slugs();
        assert!(slugs(trap).contains(slug), "{trap}: {:?}", slugs(trap));
        assert!(!slugs(plain).contains(slug), "{plain}: {:?}", slugs(plain));
    }
}

#[test]
fn a_roller_on_an_upright_track_that_may_lift_off_says_to_which_side() {
    let told = |roller: &str| {
        let text = format!(
            "units m, kN\njoint A: (0, 0)\njoint B: (0, 3)\nbeam A-B\npin A\nroller B: {roller}\nload A-B: 2 kN right at 1 m\n"
        );
        solve(&text).slugs().contains(&"lift-side-unsaid")
    };
    for upright in ["along up", "along 90°", "along 90.3°", "along 86°", "along -94.9°", "along (0.01, 1)"] {
        assert!(told(&format!("{upright}, lifts off")), "{upright}");
        assert!(!told(upright), "{upright}");
    }
    for sure in ["along 84.9°", "along 30°", "pushes left", "pushes 0.3°", "along right"] {
        assert!(!told(&format!("{sure}, lifts off")), "{sure}");
    }
}

#[test]
fn a_minus_is_not_offered_with_a_direction() {
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\nload C: -10 kN\n";
    let found = solve(text).checked.diagnostics;
    let told = found.iter().find(|found| found.slug.word() == "direction-missing").unwrap();
    assert!(told.help.iter().all(|help| !help.contains('-')), "{:?}", told.help);
}

#[test]
fn a_load_on_a_joint_whose_line_is_broken_is_judged_for_itself() {
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint D: (2, 2\nbar A-B-D-A\npin A\nroller B\nload D: 5 kg down\nload D: 3 kN toward A\nload A-D: 2 kg down at 1 m\nsettle D: 2 kN down\nmoment D: 3 kN cw\n";
    let slugs = solve(text).slugs();
    let count = |slug: &str| slugs.iter().filter(|other| **other == slug).count();
    assert_eq!(count("mass-as-load"), 2, "{slugs:?}");
    assert_eq!(count("wrong-dimension"), 2, "{slugs:?}");
    assert_eq!(count("toward-without-joint"), 0, "{slugs:?}");
}

#[test]
fn a_long_member_through_many_joints_is_told() {
    let run = |panels: u32| {
        let last = panels - 1;
        let text = format!(
            "units m, kN\nfor i from 0 to {panels} {{ joint L[i]: (i, 0) }}\nfor i from 0 to {last} {{ joint U[i]: (i + 0.5, 1) }}\nfor i from 0 to {last} {{ bar L[i]-L[i+1], L[i]-U[i]-L[i+1] }}\nfor i from 0 to {} {{ bar U[i]-U[i+1] }}\nbar L0-L[{panels}]\npin L0\nroller L[{panels}]\nload U3: 5 kN down\n",
            last - 1
        );
        solve(&text).slugs()
    };
    for panels in [300, 9000] {
        let count = run(panels).iter().filter(|slug| **slug == "runs-through-joint").count();
        assert_eq!(count, 1, "{panels} panels");
    }
}

/// Heated alike in all its members a truss grows in proportion, and nothing is
/// forced, however redundant it is.
#[test]
fn where_every_force_is_zero_json_says_zero() {
    let text = "units m, kN\nmaterial st: E = 200 GPa, expansion = 1.2e-5 per K\nsection s: st, A = 13 cm^2\nsection t: st, A = 7 cm^2\njoint A: (0, 0)\njoint B: (4.1, 0.3)\njoint C: (3.7, 3.3)\njoint D: (-0.2, 2.9)\nbar A-B-C-D-A: s\nbar A-C, B-D: t\npin A\nroller B: along (3, 1)\nallow crossing-members\nheat A-B-C-D-A: 25 K\nheat A-C: 25 K\nheat B-D: 25 K\n";
    let solved = solve(text);
    // The roller's way is not the line of growth, so only its members matter.
    let members = solved.case("loads")["members"].as_array().unwrap();
    assert_eq!(members.len(), 6);
    for member in members {
        assert_eq!(member["axial"].as_f64(), Some(0.0), "{member}");
    }
}
