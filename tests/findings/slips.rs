//! Whether a wrong claim is told the slip behind it: for every figure of the
//! published worked examples (`tests/published/`), every slip that can be made
//! with it is made for real, in the text of the structure or on its results,
//! the wrong answer is written as a claim, and what `check` says of it is
//! counted.
//!
//! The wrong answers come from solving the altered text, or from a few lines of
//! statics here; never from the weights the checker finds slips with.

use crate::support::solved;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use kingpost::base::{JointId, MemberId, Origin, SupportId};
use kingpost::check::claims::Marking;
use kingpost::check::slips::Named;
use kingpost::quantity::Number;
use kingpost::statics::{Adjoint, CaseResult, End, Equilibrium, ResultPart, Side, Wanted};
use kingpost::structure::{Distributed, Imposed, LoadKind, LoadPoint, Structure, SupportKind};
use kingpost::syntax::tree::Measure;
use serde::Deserialize;
use solved::{Solved, solve};

/// The least share of slips that are to be named.
const LEAST_NAMED: f64 = 0.90;
/// The largest share of claims to which a slip may be ascribed that was not made.
const MOST_WRONG: f64 = 0.02;
/// Claims of one file, within what the checker looks into.
const CLAIMS_A_FILE: usize = 80;

#[derive(Deserialize)]
struct Example {
    id: String,
    category: String,
    answers: Vec<Answer>,
}

#[derive(Clone, Deserialize)]
struct Answer {
    kind: String,
    case: String,
    joint: Option<String>,
    member: Option<String>,
    component: Option<String>,
    read: Option<String>,
    at_si: Option<f64>,
}

/// A slip made: its word, and the load it was made with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Made {
    slug: &'static str,
    load: Option<Origin>,
}

/// How values are written.
#[derive(Clone, Copy, Debug)]
enum Figures {
    /// Three, four where the first is 1: common practice.
    OfTheTrade,
    Four,
}

#[derive(Default, Debug)]
struct Count {
    made: usize,
    named: usize,
    /// Another slip was named that gives the very same number.
    equivalent: usize,
    /// One of two that were named.
    one_of_two: usize,
    silent: usize,
    wrong: usize,
}

#[test]
fn the_slip_that_was_made_is_named() {
    for figures in [Figures::Four, Figures::OfTheTrade] {
        let mut by_slug: BTreeMap<&str, Count> = BTreeMap::new();
        for example in examples() {
            count_wrong_claims(&example, figures, &mut by_slug);
        }
        let mut total = Count::default();
        println!("\n{figures:?}");
        for (slug, count) in &by_slug {
            println!(
                "{slug:28} made {:4}  named {:4}  the same number {:4}  one of two {:4}  silent {:4}  wrong {:3}",
                count.made, count.named, count.equivalent, count.one_of_two, count.silent, count.wrong
            );
            total.made += count.made;
            total.named += count.named;
            total.equivalent += count.equivalent;
            total.one_of_two += count.one_of_two;
            total.silent += count.silent;
            total.wrong += count.wrong;
        }
        let share = |part: usize| part as f64 / total.made as f64;
        println!(
            "all {}: named {:.3}, the same number {:.3}, one of two {:.3}, silent {:.3}, wrong {:.4}",
            total.made,
            share(total.named),
            share(total.equivalent),
            share(total.one_of_two),
            share(total.silent),
            share(total.wrong)
        );
        assert!(share(total.named + total.equivalent + total.one_of_two) >= LEAST_NAMED);
        assert!(share(total.wrong) < MOST_WRONG);
    }
}

/// A sheet on which one slip was made with one load, and all answers follow
/// from it: what is beyond doubt in one line tells the others. The same claims
/// are judged each in a file of its own, and less is named.
#[test]
fn a_sheet_with_one_slip_is_told_that_slip() {
    let (mut sheets, mut alone) = (Count::default(), Count::default());
    for example in examples() {
        let Some(base) = Base::of(&example) else { continue };
        for (made, text) in altered_texts(&base) {
            let altered = solve(&text);
            let asked = base.asked.iter().filter(|asked| follows(made, asked));
            let claims: Vec<String> = asked
                .filter_map(|asked| {
                    let values = read(&altered, &asked.answer)?;
                    let size = values.iter().fold(0.0_f64, |size, value| size.hypot(*value));
                    (size > 1e-6).then(|| asked.claim(&values, Figures::OfTheTrade))
                })
                .take(CLAIMS_A_FILE)
                .collect();
            let checked = solve(&format!("{}\n{}\n", base.text, claims.join("\n"))).checked;
            assert_eq!(checked.marks.len(), claims.len(), "{}", example.id);
            for (mark, claim) in checked.marks.iter().zip(&claims) {
                if mark.verdict == Marking::Right {
                    continue;
                }
                sheets.add(made, mark);
                let single = solve(&format!("{}\n{claim}\n", base.text)).checked;
                alone.add(made, &single.marks[0]);
            }
        }
    }
    for (name, count) in [("alone", &alone), ("sheets", &sheets)] {
        let share = |part: usize| part as f64 / count.made as f64;
        println!(
            "{name}, all {}: named {:.3}, one of two {:.3}, silent {:.3}, another {:.3}",
            count.made,
            share(count.named),
            share(count.one_of_two),
            share(count.silent),
            share(count.wrong)
        );
    }
    assert!(sheets.made > 1000);
    assert!(sheets.named > alone.named + sheets.made / 20);
    assert!(sheets.silent * 2 < alone.silent);
}

impl Count {
    /// One claim more, made with this slip.
    fn add(&mut self, made: Made, mark: &kingpost::check::claims::Mark) {
        self.made += 1;
        let is = |named: &Named| named.slug == made.slug && named.load == made.load;
        match mark.slip.as_ref().map(|slip| slip.named.as_slice()) {
            None => self.silent += 1,
            Some([only]) if is(only) => self.named += 1,
            Some(several) if several.iter().any(is) => self.one_of_two += 1,
            Some(_) => self.wrong += 1,
        }
    }
}

#[test]
fn a_number_without_a_slip_is_given_none() {
    for figures in [Figures::Four, Figures::OfTheTrade] {
        let mut random = Random(20);
        let (mut claimed, mut named) = (0, 0);
        for example in examples() {
            let Some(base) = Base::of(&example) else { continue };
            let mut claims = Vec::new();
            for asked in &base.asked {
                for turn in 0..8 {
                    // Half of them anywhere, half of them not far from the truth.
                    let factor = if turn % 2 == 0 { 0.1 + 2.9 * random.next() } else { 0.75 + 0.5 * random.next() };
                    let sign = if random.next() < 0.25 { -1.0 } else { 1.0 };
                    let wrong: Vec<f64> = asked.right.iter().map(|value| value * factor * sign).collect();
                    claims.push(asked.claim(&wrong, figures));
                }
            }
            for chunk in claims.chunks(CLAIMS_A_FILE) {
                let checked = solve(&format!("{}\n{}\n", base.text, chunk.join("\n"))).checked;
                assert_eq!(checked.marks.len(), chunk.len(), "{}", example.id);
                for mark in checked.marks.iter().filter(|mark| mark.verdict == Marking::Wrong) {
                    claimed += 1;
                    named += usize::from(mark.slip.is_some());
                }
            }
        }
        let share = named as f64 / claimed as f64;
        println!("{figures:?}: {claimed} wrong numbers without a slip, one named for {named}: {share:.4}");
        assert!(claimed > 1000);
        assert!(share < MOST_WRONG);
    }
}

/// What each load adds to a result, summed over the loads, is the result: for
/// every reaction, force, moment and movement of every published example and
/// of our own, redundant ones, heat, misfits and settlements among them.
#[test]
fn what_the_loads_add_is_the_result() {
    let mut compared = 0;
    let published = examples().into_iter().map(|example| folder().join(format!("{}.kp", example.id)));
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let own = ["boathouse-roof", "jetty", "portal-shed", "jetty-beam", "boat-rack", "slipway", "hoist", "tower"];
    for path in published.chain(own.map(|name| root.join(format!("{name}.kp")))) {
        let solved = solve(&std::fs::read_to_string(&path).unwrap());
        let (structure, name) = (&solved.checked.structure, path.display());
        let (Some(solution), Some(verdict)) = (&solved.checked.solution, &solved.checked.verdict) else { continue };
        let equilibrium = Equilibrium::of(structure);
        let adjoint = Adjoint::new(structure, &equilibrium, verdict).unwrap();
        for (case, result) in structure.cases.iter().zip(&solution.results) {
            for wanted in all_wanted(structure, result) {
                let influence = adjoint.influence(wanted).unwrap();
                let sum: f64 = case.loads.iter().map(|load| adjoint.of_load(&influence, &load.kind)).sum();
                let is = wanted.of(result);
                let scale = match wanted {
                    Wanted::Movement(..) => 1e-6 * is.abs().max(1e-6),
                    _ => 1e-8 * result.largest.max(is.abs()).max(1.0),
                };
                assert!((sum - is).abs() <= scale, "{name}: {wanted:?} is {is}, the loads add up to {sum}");
                compared += 1;
            }
        }
    }
    assert!(compared > 1000, "{compared}");
}

fn all_wanted(structure: &Structure, result: &CaseResult) -> Vec<Wanted> {
    let mut all = Vec::new();
    let parts = [ResultPart::X, ResultPart::Y, ResultPart::Turn];
    for index in 0..structure.supports.len() {
        all.extend(parts.map(|part| Wanted::Reaction(SupportId::new(index), part)));
    }
    for index in 0..structure.members.len() {
        all.push(Wanted::Axial(MemberId::new(index)));
        all.extend([End::Start, End::Finish].map(|end| Wanted::EndMoment(MemberId::new(index), end)));
    }
    if result.displacements.is_some() {
        for index in 0..structure.joints.len() {
            all.extend(parts.map(|part| Wanted::Movement(JointId::new(index), part)));
        }
    }
    all
}

/// A structure without its claims, and what is asked of it.
struct Base {
    text: String,
    solved: Solved,
    asked: Vec<Asked>,
}

/// One published figure, as a claim to be made.
struct Asked {
    answer: Answer,
    /// One number, or a vector's two, in SI.
    right: Vec<f64>,
}

impl Base {
    fn of(example: &Example) -> Option<Base> {
        let text = std::fs::read_to_string(folder().join(format!("{}.kp", example.id))).unwrap();
        let lines = text.lines().filter(|line| !line.trim_start().starts_with("expect "));
        let text = lines.collect::<Vec<_>>().join("\n");
        if example.category == "moving-load" {
            return None;
        }
        let solved = solve(&text);
        solved.checked.solution.as_ref()?;
        let mut asked: Vec<Asked> = Vec::new();
        for answer in &example.answers {
            let right = read(&solved, answer)?;
            // Published zeros are claimed as `zero`, which no slip explains.
            if right.iter().any(|value| value.abs() > 1e-6) {
                asked.push(Asked { answer: answer.clone(), right });
            }
        }
        // Where both components are published, the whole reaction is claimed too.
        let both: Vec<Asked> = asked
            .iter()
            .filter(|asked| asked.answer.kind == "reaction" && asked.answer.component.as_deref() == Some("x"))
            .filter_map(|asked| {
                let answer = Answer { component: Some("vector".to_owned()), ..asked.answer.clone() };
                let right = read(&solved, &answer)?;
                Some(Asked { answer, right })
            })
            .collect();
        asked.extend(both);
        Some(Base { text, solved, asked })
    }
}

/// The figure in a solved structure.
fn read(solved: &Solved, answer: &Answer) -> Option<Vec<f64>> {
    let structure = &solved.checked.structure;
    let result = result_of(solved, &answer.case)?;
    let joint = || {
        structure.joints.iter().position(|joint| structure.names.get(joint.name) == answer.joint.as_deref().unwrap())
    };
    let member = || {
        let (a, b) = answer.member.as_deref().unwrap().split_once('-').unwrap();
        let id = |name: &str| {
            let at = structure.joints.iter().position(|joint| structure.names.get(joint.name) == name).unwrap();
            JointId::new(at)
        };
        structure.find_member(id(a), id(b)).unwrap().0
    };
    let component = answer.component.as_deref();
    Some(match answer.kind.as_str() {
        "axial" => vec![result.axial[member()]],
        "reaction" => {
            let at = JointId::new(joint()?);
            let (id, _) = structure.support_at(at)?;
            let reaction = result.reactions[id];
            let [x, y] = reaction.force();
            match component? {
                "x" => vec![x],
                "y" => vec![y],
                "m" => vec![reaction.m?],
                "res" => vec![x.hypot(y)],
                "vector" => vec![x, y],
                _ => return None,
            }
        }
        "displacement" => {
            let moved = result.displacements.as_ref()?[JointId::new(joint()?)];
            vec![if component? == "x" { moved.dx } else { moved.dy }]
        }
        kind => {
            let member = member();
            let diagram = result.diagram(structure, member);
            let section = match answer.read.as_deref() {
                Some("start") => diagram.start(),
                Some("claim") => diagram.at(answer.at_si.unwrap(), Side::Before),
                _ => diagram.end(),
            };
            vec![if kind == "shear" { section.shear } else { section.moment }]
        }
    })
}

fn result_of<'a>(solved: &'a Solved, case: &str) -> Option<&'a CaseResult> {
    let structure = &solved.checked.structure;
    let index = structure.cases.iter().position(|own| structure.names.get(own.name) == case)?;
    solved.checked.solution.as_ref()?.results.get(index)
}

impl Asked {
    /// The claim with some value, in SI.
    fn claim(&self, values: &[f64], figures: Figures) -> String {
        let answer = &self.answer;
        let under = format!("under {}", answer.case);
        let show = |value: f64| {
            let four = format!("{value:.3e}");
            match figures {
                Figures::OfTheTrade if !four.trim_start_matches('-').starts_with('1') => format!("{value:.2e}"),
                _ => four,
            }
        };
        let value = show(values[0]);
        let joint = answer.joint.as_deref().unwrap_or_default();
        let member = answer.member.as_deref().unwrap_or_default();
        let component = answer.component.as_deref().unwrap_or_default();
        match answer.kind.as_str() {
            "axial" => {
                let sense = if values[0] < 0.0 { "compression" } else { "tension" };
                format!("expect force {member}: {} N {sense} {under}", value.trim_start_matches('-'))
            }
            "reaction" => match component {
                "m" => format!("expect reaction {joint}: {value} N*m {under}"),
                "res" => format!("expect reaction {joint}: {value} N {under}"),
                "vector" => format!("expect reaction {joint}: ({value}, {}) N {under}", show(values[1])),
                _ => format!("expect reaction {joint}.{component}: {value} N {under}"),
            },
            "displacement" => format!("expect deflection {joint}.{component}: {value} m {under}"),
            kind => {
                let unit = if kind == "shear" { "N" } else { "N*m" };
                let at = match answer.read.as_deref() {
                    Some("start") => "0%".to_owned(),
                    Some("claim") => format!("{} m", answer.at_si.unwrap()),
                    _ => "100%".to_owned(),
                };
                format!("expect {kind} {member} at {at}: {value} {unit} {under}")
            }
        }
    }
}

/// Every wrong claim of one example, judged and counted.
fn count_wrong_claims(example: &Example, figures: Figures, by_slug: &mut BTreeMap<&str, Count>) {
    let Some(base) = Base::of(example) else { return };
    // All wrong answers to each question, by slip.
    let mut wrong: Vec<Vec<(Made, Vec<f64>)>> = base.asked.iter().map(|asked| of_result(&base, asked)).collect();
    for (made, text) in altered_texts(&base) {
        let altered = solve(&text);
        assert!(altered.checked.solution.is_some(), "{}: {made:?}\n{text}", example.id);
        for (asked, list) in base.asked.iter().zip(&mut wrong) {
            if !follows(made, asked) {
                continue;
            }
            if let Some(values) = read(&altered, &asked.answer) {
                list.push((made, values));
            }
        }
    }
    for (asked, list) in base.asked.iter().zip(&mut wrong) {
        list.extend(arms(&base, asked));
    }
    let mut all = Vec::new();
    for (asked, list) in base.asked.iter().zip(&wrong) {
        for (made, values) in list {
            let claim = asked.claim(values, figures);
            all.push((asked, list, *made, values.clone(), claim));
        }
    }
    // A slip may not change a figure, or not beyond its rounding. What is right
    // stays out: beside it, slips that would have changed it are not named.
    let judged: Vec<Marking> = all
        .chunks(CLAIMS_A_FILE)
        .flat_map(|chunk| {
            let claims: Vec<&str> = chunk.iter().map(|(.., claim)| claim.as_str()).collect();
            let marks = solve(&format!("{}\n{}\n", base.text, claims.join("\n"))).checked.marks;
            marks.into_iter().map(|mark| mark.verdict).collect::<Vec<_>>()
        })
        .collect();
    let mut judged = judged.into_iter();
    all.retain(|_| judged.next() != Some(Marking::Right));
    for chunk in all.chunks(CLAIMS_A_FILE) {
        let claims: Vec<&str> = chunk.iter().map(|(.., claim)| claim.as_str()).collect();
        let checked = solve(&format!("{}\n{}\n", base.text, claims.join("\n"))).checked;
        assert_eq!(checked.marks.len(), chunk.len(), "{}: {:?}", example.id, checked.diagnostics.first());
        for (mark, (_, list, made, values, claim)) in checked.marks.iter().zip(chunk) {
            if values.iter().all(|value| value.abs() < 1e-6) {
                continue;
            }
            let count = by_slug.entry(made.slug).or_default();
            count.made += 1;
            let size = values.iter().fold(0.0_f64, |size, value| size.hypot(*value));
            let same = |other: &[f64]| values.iter().zip(other).all(|(a, b)| (a - b).abs() <= 1e-9 * size);
            // A size without a sense word has its sense left unsaid.
            let slug = |named: &Named| if named.slug == "sense-unsaid" { "sense-reversed" } else { named.slug };
            let is = |named: &Named, made: &Made| slug(named) == made.slug && named.load == made.load;
            match &mark.slip {
                None => {
                    count.silent += 1;
                    println!("silent  {} {} {claim}", example.id, made.slug);
                }
                Some(told) => match told.named.as_slice() {
                    [only] if is(only, made) => count.named += 1,
                    [only] if list.iter().any(|(other, values)| is(only, other) && same(values)) => {
                        count.equivalent += 1
                    }
                    several if several.len() == 2 && several.iter().any(|named| is(named, made)) => {
                        count.one_of_two += 1
                    }
                    several
                        if several.len() == 2
                            && several
                                .iter()
                                .any(|named| list.iter().any(|(other, values)| is(named, other) && same(values))) =>
                    {
                        count.equivalent += 1;
                    }
                    _ => {
                        count.wrong += 1;
                        println!("wrong   {} {} {claim}\n        {}", example.id, made.slug, told.text);
                    }
                },
            }
        }
    }
}

/// Whether an answer is found with the slip that was made: a resultant stands in
/// the sums of forces and moments, not in what goes on inside the loaded member.
fn follows(made: Made, asked: &Asked) -> bool {
    made.slug != "resultant-misplaced" || !matches!(asked.answer.kind.as_str(), "moment" | "shear" | "displacement")
}

/// Slips in writing down an answer, from the right results.
fn of_result(base: &Base, asked: &Asked) -> Vec<(Made, Vec<f64>)> {
    let structure = &base.solved.checked.structure;
    let made = |slug| Made { slug, load: None };
    let times = |factor: f64| asked.right.iter().map(|value| value * factor).collect::<Vec<f64>>();
    let component = asked.answer.component.as_deref();
    let mut found = Vec::new();
    if component != Some("res") {
        found.push((made("sense-reversed"), times(-1.0)));
    }
    found.push((made("unit"), times(1000.0)));
    found.push((made("unit"), times(1e-3)));
    let is_customary = structure.units.as_ref().is_some_and(|units| units.length.symbol == "ft");
    let kind = asked.answer.kind.as_str();
    if is_customary && (kind == "moment" || kind == "displacement" || component == Some("m")) {
        found.push((made("unit"), times(12.0)));
    }
    if !is_customary && kind != "displacement" {
        found.push((made("mass-as-force"), times(1.0 / 9.81)));
    }
    if kind == "axial" {
        let name = asked.answer.member.as_deref().unwrap();
        let place = |name: &str| {
            let joint = structure.joints.iter().find(|joint| structure.names.get(joint.name) == name).unwrap();
            [joint.x.to_f64(), joint.y.to_f64()]
        };
        let (a, b) = name.split_once('-').unwrap();
        let ([ax, ay], [bx, by]) = (place(a), place(b));
        let slope = (by - ay).abs().atan2((bx - ax).abs());
        if slope.sin() > 1e-9 && slope.cos() > 1e-9 {
            found.push((made("component-for-force"), times(slope.cos())));
            found.push((made("component-for-force"), times(slope.sin())));
            if (slope.tan() - 1.0).abs() > 1e-9 {
                found.push((made("member-sine-cosine"), times(slope.tan())));
                found.push((made("member-sine-cosine"), times(1.0 / slope.tan())));
            }
        }
    }
    if kind != "reaction" {
        return found;
    }
    let joint = asked.answer.joint.as_deref().unwrap();
    let part = |joint: &str, component: &str| {
        let answer =
            Answer { joint: Some(joint.to_owned()), component: Some(component.to_owned()), ..asked.answer.clone() };
        read(&base.solved, &answer)
    };
    let whole = part(joint, "vector").unwrap();
    let is_inclined = whole.iter().all(|part| part.abs() > 1e-6);
    match component {
        Some("res") if is_inclined => {
            found.push((made("component-forgotten"), vec![whole[1].abs()]));
            found.push((made("component-forgotten"), vec![whole[0].abs()]));
        }
        Some("vector") if is_inclined => {
            found.push((made("component-forgotten"), vec![0.0, whole[1]]));
            found.push((made("component-forgotten"), vec![whole[0], 0.0]));
            found.push((made("sense-reversed"), vec![-whole[0], whole[1]]));
            found.push((made("sense-reversed"), vec![whole[0], -whole[1]]));
            found.push((made("components-exchanged"), vec![whole[1], whole[0]]));
        }
        Some(own @ ("x" | "y")) if is_inclined => {
            let [this, other] = if own == "x" { [whole[0], whole[1]] } else { [whole[1], whole[0]] };
            found.push((made("whole-for-component"), vec![whole[0].hypot(whole[1]) * this.signum()]));
            found.push((made("components-exchanged"), vec![other.abs() * this.signum()]));
        }
        _ => {}
    }
    if let [first, second] = structure.supports.as_slice() {
        let names = [first, second].map(|support| structure.joint_name(support.joint));
        let other = names.into_iter().find(|name| *name != joint).unwrap();
        found.extend(part(other, component.unwrap()).map(|values| (made("supports-exchanged"), values)));
        // Half of what acts up and down, from the sum of both reactions.
        if component == Some("y") {
            let sum = part(joint, "y").unwrap()[0] + part(other, "y").unwrap()[0];
            found.push((made("halves-assumed"), vec![sum / 2.0]));
        }
        if component == Some("vector") {
            let sum = part(joint, "y").unwrap()[0] + part(other, "y").unwrap()[0];
            found.push((made("halves-assumed"), vec![whole[0], sum / 2.0]));
        }
    }
    found
}

/// Every text with one load otherwise.
fn altered_texts(base: &Base) -> Vec<(Made, String)> {
    let structure = &base.solved.checked.structure;
    let mut statements: BTreeMap<Origin, Vec<&LoadKind>> = BTreeMap::new();
    for load in structure.cases.iter().flat_map(|case| &case.loads) {
        statements.entry(load.origin).or_default().push(&load.kind);
    }
    let mut found = Vec::new();
    for (origin, kinds) in &statements {
        let span = origin.span.start as usize..origin.span.end as usize;
        let mut put = |slug: &'static str, statement: String| {
            let text = format!("{}{statement}{}", &base.text[..span.start], &base.text[span.end..]);
            found.push((Made { slug, load: Some(*origin) }, text));
        };
        let own = &base.text[span.clone()];
        // A load of nothing keeps the case.
        let written = |change: &dyn Fn([f64; 2]) -> [f64; 2]| -> Option<String> {
            let lines: Option<Vec<String>> =
                kinds.iter().map(|kind| statement(structure, kind, change, None)).collect();
            Some(lines?.join("\n"))
        };
        let Some(first) = kinds.first() else { continue };
        match first {
            LoadKind::Force { .. } | LoadKind::Distributed(_) => {
                put("load-left-out", written(&|_| [0.0, 0.0]).unwrap());
                put("load-reversed", written(&|[x, y]| [-x, -y]).unwrap());
                let triangle = is_triangle(kinds);
                put(if triangle { "triangle-without-half" } else { "load-counted-twice" }, format!("{own}\n{own}"));
                // A calculator set to radians.
                if own.contains('@') && own.contains('°') {
                    put("degrees-as-radians", own.replace('°', " rad"));
                }
                let [x, y] = force_of(first);
                if x.abs().min(y.abs()) > 1e-9 * x.hypot(y) {
                    // At its angle measured from the other axis.
                    if (x.abs() - y.abs()).abs() > 1e-9 * x.hypot(y) {
                        put("sine-cosine", written(&|[x, y]| [y.abs() * x.signum(), x.abs() * y.signum()]).unwrap());
                    }
                    put("taken-as-vertical", written(&|[x, y]| [0.0, x.hypot(y) * y.signum()]).unwrap());
                    put("taken-as-horizontal", written(&|[x, y]| [x.hypot(y) * x.signum(), 0.0]).unwrap());
                    put("load-component-left-out", written(&|[x, _]| [x, 0.0]).unwrap());
                    put("load-component-left-out", written(&|[_, y]| [0.0, y]).unwrap());
                    put("load-component-reversed", written(&|[x, y]| [-x, y]).unwrap());
                    put("load-component-reversed", written(&|[x, y]| [x, -y]).unwrap());
                }
                if let LoadKind::Force { at: LoadPoint::Along(member, at), .. } = first {
                    let other = structure.member_length(*member) - at.to_f64();
                    if (other - at.to_f64()).abs() > 1e-9 {
                        put("from-the-other-end", statement(structure, first, &|force| force, Some(other)).unwrap());
                    }
                }
                let unit = structure.units.as_ref().unwrap().length.unit.factor.to_f64();
                let spread: Vec<&Distributed<Number>> = kinds
                    .iter()
                    .filter_map(|kind| if let LoadKind::Distributed(load) = kind { Some(load.as_ref()) } else { None })
                    .collect();
                if !spread.is_empty() {
                    // As long as the intensity is for.
                    let share = |load: &&Distributed<Number>| {
                        let [dx, dy] = structure.member_vector(load.member).map(f64::abs);
                        match load.measure {
                            None => 1.0,
                            Some(Measure::PerRun) => dx / dx.hypot(dy),
                            Some(Measure::PerRise) => dy / dx.hypot(dy),
                        }
                    };
                    let length: f64 =
                        spread.iter().map(|load| (load.to.to_f64() - load.from.to_f64()) * share(load)).sum();
                    let mut total = |times: f64| {
                        put("intensity-for-total", written(&|[x, y]| [x * times, y * times]).unwrap());
                    };
                    let uniform = spread.iter().all(|load| {
                        let all = [pair(&load.start), pair(&load.end)];
                        all.iter().all(|own| *own == force_of(first))
                    });
                    if uniform {
                        total(unit / length);
                    }
                    if triangle {
                        // The peak, or half of it, for the whole of w L / 2.
                        total(2.0 * unit / length);
                        total(unit / length);
                        let [px, py] = kinds
                            .iter()
                            .map(|kind| force_of(kind))
                            .fold([0.0; 2], |a: [f64; 2], b| if b[0].hypot(b[1]) > a[0].hypot(a[1]) { b } else { a });
                        put("triangle-in-the-middle", written(&|_| [px / 2.0, py / 2.0]).unwrap());
                        put("triangle-turned-round", written(&|[x, y]| [px - x, py - y]).unwrap());
                        put("triangle-as-rectangle", written(&|_| [px, py]).unwrap());
                    }
                    if let ([only], true) = (spread.as_slice(), uniform) {
                        let name = structure.member_name(only.member);
                        let whole = structure.member_length(only.member);
                        let (from, to) = (only.from.to_f64(), only.to.to_f64());
                        let total = (to - from) * share(only);
                        let [x, y] = pair(&only.start).map(|part| part * total);
                        let mut places = vec![from, to];
                        if (from + to - whole).abs() > 1e-9 * whole {
                            places.push(whole / 2.0);
                        }
                        for at in places {
                            put("resultant-misplaced", format!("load {name}: ({x}, {y}) N at {at} m"));
                        }
                        if to - from < whole * (1.0 - 1e-9) {
                            let load =
                                Distributed { from: Number::ZERO, to: Number::from_f64(whole), ..(*only).clone() };
                            let kind = LoadKind::Distributed(Box::new(load));
                            put("load-on-the-whole-span", statement(structure, &kind, &|force| force, None).unwrap());
                        }
                    }
                    if let [only] = spread.as_slice() {
                        put("resultant-for-spread-load", lumped(structure, only));
                    }
                }
            }
            LoadKind::Couple { at: LoadPoint::Joint(joint), moment } => {
                let name = structure.joint_name(*joint);
                put("load-left-out", format!("moment {name}: 0 N*m ccw"));
                put("load-reversed", format!("moment {name}: {} N*m ccw", -moment.to_f64()));
            }
            LoadKind::Couple { at: LoadPoint::Along(member, at), moment } => {
                let name = structure.member_name(*member);
                let (moment, at) = (moment.to_f64(), at.to_f64());
                let length = structure.member_length(*member);
                put("load-left-out", format!("moment {name}: 0 N*m ccw at {at} m"));
                put("load-reversed", format!("moment {name}: {} N*m ccw at {at} m", -moment));
                if (length - 2.0 * at).abs() > 1e-9 {
                    put("from-the-other-end", format!("moment {name}: {moment} N*m ccw at {} m", length - at));
                }
            }
            LoadKind::Misfit { member, amount } => {
                let name = structure.member_name(*member);
                put("load-reversed", format!("misfit {name}: {} m short", amount.to_f64()));
            }
            LoadKind::Settlement { joint, by: Imposed::Move([x, y]) } => {
                let name = structure.joint_name(*joint);
                put("load-reversed", format!("settle {name}: ({}, {}) m", -x.to_f64(), -y.to_f64()));
            }
            _ => {}
        }
    }
    found.extend(exchanged(base, &statements));
    found
}

/// Every text with the sizes of two forces of one direction exchanged.
fn exchanged(base: &Base, statements: &BTreeMap<Origin, Vec<&LoadKind>>) -> Vec<(Made, String)> {
    let structure = &base.solved.checked.structure;
    let single = |(origin, kinds): (&Origin, &Vec<&LoadKind>)| match kinds.as_slice() {
        [LoadKind::Force { .. }] => Some((*origin, (*kinds.first()?).clone())),
        _ => None,
    };
    let forces: Vec<(Origin, LoadKind)> = statements.iter().filter_map(single).collect();
    let mut found = Vec::new();
    // Among many it is not looked for; cases are told apart by the examples of one.
    if forces.len() > 6 || structure.cases.len() > 1 {
        return found;
    }
    for (index, (first, one)) in forces.iter().enumerate() {
        for (second, two) in &forces[index + 1..] {
            let ([ax, ay], [bx, by]) = (force_of(one), force_of(two));
            let (a, b) = (ax.hypot(ay), bx.hypot(by));
            if (ax / a - bx / b).hypot(ay / a - by / b) > 1e-9 || (a - b).abs() < 1e-9 * a {
                continue;
            }
            let mut text = base.text.clone();
            // From the back, so that the places before stay.
            let mut changes = [(first, one, [bx, by]), (second, two, [ax, ay])];
            changes.sort_by_key(|(origin, ..)| std::cmp::Reverse(origin.span.start));
            for (origin, kind, force) in changes {
                let own = statement(structure, kind, &|_| force, None).unwrap();
                text.replace_range(origin.span.start as usize..origin.span.end as usize, &own);
            }
            found.push((Made { slug: "loads-exchanged", load: Some(*first) }, text));
        }
    }
    found
}

fn pair(force: &[Number; 2]) -> [f64; 2] {
    force.each_ref().map(Number::to_f64)
}

fn force_of(kind: &LoadKind) -> [f64; 2] {
    match kind {
        LoadKind::Force { force, .. } => pair(force),
        LoadKind::Distributed(load) => {
            let (a, b) = (pair(&load.start), pair(&load.end));
            if a[0].hypot(a[1]) > b[0].hypot(b[1]) { a } else { b }
        }
        _ => [0.0; 2],
    }
}

/// Whether a load falls to nothing at one of its ends, evenly from the other.
fn is_triangle(kinds: &[&LoadKind]) -> bool {
    let ends: Vec<[f64; 2]> = kinds
        .iter()
        .filter_map(|kind| if let LoadKind::Distributed(load) = kind { Some(load) } else { None })
        .flat_map(|load| [pair(&load.start), pair(&load.end)])
        .collect();
    let is_zero = |[x, y]: &[f64; 2]| x.hypot(*y) == 0.0;
    ends.iter().filter(|end| is_zero(end)).count() == 1
}

/// A load's statement with its vectors changed, at another place where one is given.
fn statement(
    structure: &Structure,
    kind: &LoadKind,
    change: &dyn Fn([f64; 2]) -> [f64; 2],
    place: Option<f64>,
) -> Option<String> {
    Some(match kind {
        LoadKind::Force { at: LoadPoint::Joint(joint), force } => {
            let [x, y] = change(pair(force));
            format!("load {}: ({x}, {y}) N", structure.joint_name(*joint))
        }
        LoadKind::Force { at: LoadPoint::Along(member, at), force } => {
            let [x, y] = change(pair(force));
            let at = place.unwrap_or(at.to_f64());
            format!("load {}: ({x}, {y}) N at {at} m", structure.member_name(*member))
        }
        LoadKind::Distributed(load) => {
            let ([ax, ay], [bx, by]) = (change(pair(&load.start)), change(pair(&load.end)));
            let measure = match load.measure {
                None => "",
                Some(Measure::PerRun) => "per run",
                Some(Measure::PerRise) => "per rise",
            };
            let (from, to) = (load.from.to_f64(), load.to.to_f64());
            let name = structure.member_name(load.member);
            format!("load {name}: ({ax}, {ay}) N/m to ({bx}, {by}) N/m from {from} m to {to} m {measure}")
        }
        _ => return None,
    })
}

/// A spread load as one force at its centroid.
fn lumped(structure: &Structure, load: &Distributed<Number>) -> String {
    let ([ax, ay], [bx, by]) = (pair(&load.start), pair(&load.end));
    let (from, to) = (load.from.to_f64(), load.to.to_f64());
    let (a, b) = (ax.hypot(ay), bx.hypot(by));
    let at = from + (to - from) / 3.0 * (a + 2.0 * b) / (a + b);
    let half = (to - from) / 2.0;
    let name = structure.member_name(load.member);
    format!("load {name}: ({}, {}) N at {at} m", (ax + bx) * half, (ay + by) * half)
}

/// Reactions of a beam on a pin and an upright roller, or of a cantilever, by
/// moments, with the straight distance to one load for its arm.
fn arms(base: &Base, asked: &Asked) -> Vec<(Made, Vec<f64>)> {
    let structure = &base.solved.checked.structure;
    if asked.answer.kind != "reaction" {
        return Vec::new();
    }
    let place = |joint: JointId| {
        let joint = &structure.joints[joint];
        [joint.x.to_f64(), joint.y.to_f64()]
    };
    let asked_joint = asked.answer.joint.as_deref().unwrap();
    let (centre, roller) = match structure.supports.as_slice() {
        [only] if matches!(only.kind, SupportKind::Fixed) => (only, None),
        [a, b] => match (a.kind, b.kind) {
            (SupportKind::Pin, SupportKind::Roller) => (a, Some(b)),
            (SupportKind::Roller, SupportKind::Pin) => (b, Some(a)),
            _ => return Vec::new(),
        },
        _ => return Vec::new(),
    };
    let [ox, oy] = place(centre.joint);
    // Fx, Fy and the moment about the centre of one load, with its arm as asked.
    let sums = |kind: &LoadKind, straight: bool| -> Option<[f64; 3]> {
        let on = |member, at: f64| {
            let [ax, ay] = place(structure.members[member].start);
            let [dx, dy] = structure.member_vector(member);
            [ax + dx * at / dx.hypot(dy), ay + dy * at / dx.hypot(dy)]
        };
        let ([x, y], [fx, fy]) = match kind {
            LoadKind::Force { at: LoadPoint::Joint(joint), force } => (place(*joint), pair(force)),
            LoadKind::Force { at: LoadPoint::Along(member, at), force } => (on(*member, at.to_f64()), pair(force)),
            LoadKind::Distributed(load) if load.measure.is_none() => {
                let ([ax, ay], [bx, by]) = (pair(&load.start), pair(&load.end));
                let (a, b) = (ax.hypot(ay), bx.hypot(by));
                let (from, to) = (load.from.to_f64(), load.to.to_f64());
                let at = from + (to - from) / 3.0 * (a + 2.0 * b) / (a + b);
                (on(load.member, at), [(ax + bx) * (to - from) / 2.0, (ay + by) * (to - from) / 2.0])
            }
            LoadKind::Couple { moment, .. } => {
                return Some([0.0, 0.0, moment.to_f64()]);
            }
            _ => return None,
        };
        let moment = (x - ox) * fy - (y - oy) * fx;
        let arm = (x - ox).hypot(y - oy) * fx.hypot(fy);
        Some([fx, fy, if straight { arm * moment.signum() } else { moment }])
    };
    let loads: Vec<_> = structure.cases.iter().flat_map(|case| &case.loads).collect();
    let mut found = Vec::new();
    for (index, load) in loads.iter().enumerate() {
        // One statement, one load: a chain has several resultants.
        let is_one = loads.iter().filter(|other| other.origin == load.origin).count() == 1;
        let (Some([_, _, right]), Some([_, _, wrong])) = (sums(&load.kind, false), sums(&load.kind, true)) else {
            return Vec::new();
        };
        if !is_one || right.abs() < 1e-6 || (right - wrong).abs() <= 1e-9 * wrong.abs() {
            continue;
        }
        let mut total = [0.0; 3];
        for (place, load) in loads.iter().enumerate() {
            let Some(own) = sums(&load.kind, place == index) else { return Vec::new() };
            total.iter_mut().zip(own).for_each(|(total, own)| *total += own);
        }
        let [fx, fy, moment] = total;
        let (at_centre, couple, at_roller) = match roller {
            None => ([-fx, -fy], -moment, [0.0, 0.0]),
            Some(support) => {
                let [nx, ny] = pair(support.held.line.as_ref().unwrap());
                let [x, y] = place(support.joint);
                let push = -moment / ((x - ox) * ny - (y - oy) * nx);
                ([-fx - push * nx, -fy - push * ny], 0.0, [push * nx, push * ny])
            }
        };
        let [x, y] = if structure.joint_name(centre.joint) == asked_joint { at_centre } else { at_roller };
        let values = match asked.answer.component.as_deref().unwrap() {
            "x" => vec![x],
            "y" => vec![y],
            "m" => vec![couple],
            "res" => vec![x.hypot(y)],
            "vector" => vec![x, y],
            _ => continue,
        };
        found.push((Made { slug: "arm-along-the-member", load: Some(load.origin) }, values));
    }
    found
}

/// A small generator, so that every run is the same (xorshift, Marsaglia 2003).
struct Random(u64);

impl Random {
    /// Between 0 and 1.
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn examples() -> Vec<Example> {
    let text = std::fs::read_to_string(folder().join("answers.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published")
}
