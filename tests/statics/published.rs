//! The published worked examples: every file of `tests/published/` against
//! the figures its source prints (`tests/published/answers.json`).
//!
//! Each file names its source, and its claims (`expect`) state the published
//! figures in the source's own units; `answers.json` holds the same figures in
//! SI, so that they are compared once through `check` and once through
//! `solve --format json`. Quantities inside a member, which the results list
//! only at its ends, are compared through their claims.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde::Deserialize;
use serde_json::Value;

/// One worked example of `answers.json`.
#[derive(Deserialize)]
struct Example {
    /// Also the stem of its `.kp` file.
    id: String,
    source: String,
    category: Category,
    /// Beams, or loads that travel over them.
    needs_beams: bool,
    verdict: String,
    redundancy: u64,
    mechanisms: u64,
    /// Relative, from the number of figures the source prints.
    tolerance: f64,
    answers: Vec<Answer>,
}

impl Example {
    fn is_of_bars(&self) -> bool {
        !self.needs_beams
    }

    fn is_of_beams(&self) -> bool {
        self.needs_beams && self.category != Category::MovingLoad
    }

    fn is_of_moving_loads(&self) -> bool {
        self.category == Category::MovingLoad
    }
}

#[derive(Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
enum Category {
    MovingLoad,
    #[serde(other)]
    Standing,
}

/// One published figure.
#[derive(Deserialize)]
struct Answer {
    kind: Kind,
    case: String,
    joint: Option<String>,
    member: Option<String>,
    /// `x`, `y`, `m` (couple), `n` (along `normal_deg`) or `res` (resultant).
    component: Option<String>,
    normal_deg: Option<f64>,
    /// Where a quantity inside a member is to be found.
    read: Option<Read>,
    /// Metres from the member's first-named joint, for quantities inside it.
    at_si: Option<f64>,
    /// N, N·m or m; axial forces positive in tension, moments positive in
    /// sagging, couples counterclockwise.
    si: f64,
    /// The source gives a size without a comparable sign.
    #[serde(default)]
    magnitude_only: bool,
}

#[derive(Clone, Copy, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Axial,
    Reaction,
    Shear,
    Moment,
    Displacement,
}

#[derive(Clone, Copy, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
enum Read {
    Start,
    End,
    /// Only the file's own claim reaches it.
    Claim,
}

/// A published zero may differ from zero by this share of the largest force.
const ZERO: f64 = 1e-9;

/// The largest equilibrium residual a result may have, relative.
const RESIDUAL: f64 = 1e-9;

#[test]
fn bars_agree_with_their_sources() {
    compare_all(Example::is_of_bars);
}

#[test]
fn beams_agree_with_their_sources() {
    compare_all(Example::is_of_beams);
}

#[test]
fn moving_loads_agree_with_their_sources() {
    compare_all(Example::is_of_moving_loads);
}

#[test]
fn claims_about_bars_hold() {
    check_all(Example::is_of_bars);
}

#[test]
fn claims_about_beams_hold() {
    check_all(Example::is_of_beams);
}

#[test]
fn claims_about_moving_loads_hold() {
    check_all(Example::is_of_moving_loads);
}

#[test]
fn a_figure_about_bars_one_per_cent_off_is_refuted() {
    refute_all(Example::is_of_bars);
}

#[test]
fn a_figure_about_beams_one_per_cent_off_is_refuted() {
    refute_all(Example::is_of_beams);
}

#[test]
fn a_figure_about_moving_loads_one_per_cent_off_is_refuted() {
    refute_all(Example::is_of_moving_loads);
}

/// Shears and moments between the joints, which the results list only at the
/// ends: each published figure as a claim of its own, in SI, and the same
/// figure one per cent off as one to be refuted.
#[test]
fn sections_within_beams_agree_with_their_sources() {
    let folder = tempfile::tempdir().unwrap();
    let mut faults = String::new();
    let mut compared = 0;
    for example in examples().iter().filter(|example| example.is_of_beams()) {
        let mut text = std::fs::read_to_string(path(&example.id)).unwrap();
        let before = compared;
        for answer in example.answers.iter().filter(|answer| answer.read == Some(Read::Claim)) {
            let (what, unit) = match answer.kind {
                Kind::Shear => ("shear", "N"),
                Kind::Moment => ("moment", "N*m"),
                _ => panic!("{}: only sections are read through claims", example.id),
            };
            let place = format!("{} at {} m", answer.member.as_deref().unwrap(), answer.at_si.unwrap());
            let within = format!("within {}%", example.tolerance * 100.0);
            let si = answer.si;
            write!(text, "\nexpect {what} {place}: {si} {unit} {within} under {}", answer.case).unwrap();
            write!(text, "\nexpect not {what} {place}: {} {unit} {within} under {}", si * 1.01, answer.case).unwrap();
            compared += 1;
        }
        if compared == before {
            continue;
        }
        let file = folder.path().join(format!("{}.kp", example.id));
        std::fs::write(&file, text).unwrap();
        let output = Command::cargo_bin("kingpost").unwrap().arg("check").arg(&file).output().unwrap();
        if !output.status.success() {
            let text = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
            writeln!(faults, "{} ({}):\n{text}", example.id, example.source).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
    assert_eq!(compared, 20);
}

#[test]
fn files_and_answers_list_the_same_examples() {
    let listed: BTreeSet<String> = examples().into_iter().map(|example| example.id).collect();
    let found: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "kp"))
        .map(|path| path.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    assert_eq!(listed, found);
    assert_eq!(listed.len(), 58);
}

fn compare_all(choose: impl Fn(&Example) -> bool) {
    let mut faults = String::new();
    let mut compared = 0;
    for example in examples().iter().filter(|example| choose(example)) {
        let output = kingpost(&["solve", "--format", "json"], &path(&example.id));
        match serde_json::from_str::<Value>(&output) {
            Ok(results) => compared += compare(example, &results, &mut faults),
            Err(error) => writeln!(faults, "{}: results are not JSON: {error}", example.id).unwrap(),
        }
    }
    assert!(faults.is_empty(), "{faults}");
    assert!(compared > 0, "no figure was compared");
}

/// Compares one example, writes what disagrees and returns how many figures
/// were compared.
fn compare(example: &Example, results: &Value, faults: &mut String) -> usize {
    let structure = &results["structure"];
    let stated = (structure["verdict"].as_str(), structure["redundancy"].as_u64(), structure["mechanisms"].as_u64());
    let expected = (Some(example.verdict.as_str()), Some(example.redundancy), Some(example.mechanisms));
    if stated != expected {
        writeln!(faults, "{}: verdict {stated:?}, published {expected:?} ({})", example.id, example.source).unwrap();
    }
    let mut compared = 1;
    let none = Vec::new();
    for case in results["cases"].as_array().unwrap_or(&none) {
        let residual = case["residual"]["relative"].as_f64();
        if residual.is_none_or(|residual| residual > RESIDUAL) {
            writeln!(faults, "{}: residual {residual:?} in {}", example.id, case["name"]).unwrap();
        }
    }
    for answer in example.answers.iter().filter(|answer| answer.read != Some(Read::Claim)) {
        compared += 1;
        let place = answer.member.as_deref().or(answer.joint.as_deref()).unwrap_or("?");
        let component = answer.component.as_deref().unwrap_or_default();
        let case = find(&results["cases"], "name", &answer.case);
        let Some(computed) = read(answer, case) else {
            writeln!(faults, "{}: nothing computed for {place} {component}", example.id).unwrap();
            continue;
        };
        let computed = if answer.magnitude_only { computed.abs() } else { computed };
        let allowed = if answer.si == 0.0 { ZERO * largest_force(case) } else { example.tolerance * answer.si.abs() };
        if (computed - answer.si).abs() > allowed * (1.0 + 1e-9) {
            writeln!(
                faults,
                "{}: {place} {component} computed {computed}, published {} ({})",
                example.id, answer.si, example.source
            )
            .unwrap();
        }
    }
    compared
}

/// The computed counterpart of a published figure, in SI.
fn read(answer: &Answer, case: &Value) -> Option<f64> {
    let member = |name: &str| {
        let members = &case["members"];
        let (start, end) = name.split_once('-')?;
        [name.to_owned(), format!("{end}-{start}")]
            .iter()
            .map(|name| find(members, "member", name))
            .find(|member| !member.is_null())
    };
    match answer.kind {
        Kind::Axial => member(answer.member.as_deref()?)?["axial"].as_f64(),
        Kind::Shear | Kind::Moment => {
            // The sign of a moment follows the member's direction, so here the
            // name must be the file's own.
            let member = find(&case["members"], "member", answer.member.as_deref()?);
            let end = if answer.read == Some(Read::Start) { "start" } else { "end" };
            let quantity = if answer.kind == Kind::Shear { "shear" } else { "moment" };
            member[end][quantity].as_f64()
        }
        Kind::Reaction => {
            let reaction = find(&case["reactions"], "joint", answer.joint.as_deref()?);
            if reaction.is_null() {
                return None;
            }
            // A component that a support cannot give is left out.
            let part = |name: &str| reaction[name].as_f64().unwrap_or(0.0);
            match answer.component.as_deref()? {
                "x" => Some(part("fx")),
                "y" => Some(part("fy")),
                "m" => reaction["m"].as_f64(),
                "n" => {
                    let (sin, cos) = answer.normal_deg?.to_radians().sin_cos();
                    Some(part("fx") * cos + part("fy") * sin)
                }
                "res" => Some(part("fx").hypot(part("fy"))),
                _ => None,
            }
        }
        Kind::Displacement => {
            let joint = find(&case["displacements"], "joint", answer.joint.as_deref()?);
            joint[if answer.component.as_deref()? == "x" { "dx" } else { "dy" }].as_f64()
        }
    }
}

fn largest_force(case: &Value) -> f64 {
    let sizes = |list: &str, keys: &'static [&'static str]| -> Vec<f64> {
        let entries = case[list].as_array().cloned().unwrap_or_default();
        entries.iter().flat_map(|entry| keys.iter().filter_map(|key| entry[*key].as_f64())).map(f64::abs).collect()
    };
    sizes("members", &["axial"]).into_iter().chain(sizes("reactions", &["fx", "fy"])).fold(0.0, f64::max)
}

/// The entry of an array whose `key` is `name`; null where there is none.
fn find<'a>(list: &'a Value, key: &str, name: &str) -> &'a Value {
    static NONE: Value = Value::Null;
    list.as_array().and_then(|list| list.iter().find(|entry| entry[key] == *name)).unwrap_or(&NONE)
}

fn check_all(choose: impl Fn(&Example) -> bool) {
    let mut faults = String::new();
    for example in examples().iter().filter(|example| choose(example)) {
        let output = Command::cargo_bin("kingpost").unwrap().arg("check").arg(path(&example.id)).output().unwrap();
        if !output.status.success() {
            let text = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
            writeln!(faults, "{} ({}):\n{text}", example.id, example.source).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// Claims that pass prove little if they would pass with any figure: each is
/// moved by one per cent, more than three times the widest tolerance, and must
/// then be refuted, every one by its own error.
fn refute_all(choose: impl Fn(&Example) -> bool) {
    let folder = tempfile::tempdir().unwrap();
    let mut faults = String::new();
    for example in examples().iter().filter(|example| choose(example)) {
        let text = std::fs::read_to_string(path(&example.id)).unwrap();
        let (spoilt, count) = spoil(&text);
        if count == 0 {
            continue;
        }
        let file = folder.path().join(format!("{}.kp", example.id));
        std::fs::write(&file, spoilt).unwrap();
        let output = kingpost(&["check", "--format", "json"], &file);
        let refuted = errors(&output);
        if refuted != count {
            writeln!(faults, "{}: {refuted} of {count} spoilt claims were refuted", example.id).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// The text with every claimed figure made one per cent too large and every
/// claim of zero turned round, and how many claims that changed. Bounds and
/// verdicts stay as they are.
fn spoil(text: &str) -> (String, usize) {
    let mut count = 0;
    let mut spoilt = String::new();
    for line in text.lines() {
        let line = match (line.strip_prefix("expect "), line.split_once(": ")) {
            (Some(claim), _) if claim.ends_with(": zero") => {
                count += 1;
                format!("expect not {claim}")
            }
            (Some(_), Some((place, value))) => {
                count += 1;
                format!("{place}: 1.01 * {value}")
            }
            _ => line.to_owned(),
        };
        spoilt += &line;
        spoilt.push('\n');
    }
    (spoilt, count)
}

/// How many errors `check --format json` reports.
fn errors(output: &str) -> usize {
    output
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter(|diagnostic| diagnostic["severity"] == "error")
        .count()
}

fn kingpost(arguments: &[&str], file: &Path) -> String {
    let output = Command::cargo_bin("kingpost").unwrap().args(arguments).arg(file).output().unwrap();
    String::from_utf8(output.stdout).unwrap()
}

fn examples() -> Vec<Example> {
    let text = std::fs::read_to_string(folder().join("answers.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published")
}

fn path(id: &str) -> PathBuf {
    folder().join(format!("{id}.kp"))
}
