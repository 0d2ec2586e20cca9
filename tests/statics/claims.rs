//! Properties of claims, tried on random frames: every spelling of one limit
//! gets one mark, and the right one; a limit or a value along a member is about
//! the extreme of all its places, in every direction; a place inside a member
//! moves as a joint put there does; claims change nothing in the results.
//!
//! The rules are those of the notation ("Claims"); what is right is taken from
//! the printed results, from a second structure, or from many claims at places.

#![allow(clippy::cast_precision_loss)]

use crate::support::frame;
use crate::support::grow;
use crate::support::solved;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use kingpost::base::MemberId;
use kingpost::check::claims::Marking;
use kingpost::statics::diagram::displacement;
use kingpost::statics::{CaseResult, spans};
use proptest::prelude::*;

use frame::{BASE, Delivery, Frame, Kind, Load, Local, Rng, Sections, decimal};
use grow::Acting;
use solved::{Solved, find, solve};

fn cases(count: u32) -> ProptestConfig {
    ProptestConfig { cases: count, failure_persistence: None, ..ProptestConfig::default() }
}

/// A frame with soft members among others, so that it moves along them too.
fn soft(seed: u64, steps: usize, extras: usize) -> Frame {
    let mut rng = Rng(seed ^ 0x5eed);
    let mut frame = grow::redundant(seed, steps, extras, Acting::Everything);
    for member in &mut frame.members {
        if rng.chance(6) {
            member.ea = rng.between(2e5, 5e6, 0);
        }
    }
    frame
}

/// The statements of a frame, its loads in a case of their own.
fn statements(frame: &Frame) -> String {
    let structure = frame.structure_lines(BASE, Sections::Stated).join("\n");
    format!("{structure}\ncase live {{\n{}\n}}\n", frame.load_lines(BASE).join("\n"))
}

/// What became of each claim, by the order in which they were written.
fn marks(text: &str, claims: &[String]) -> (Solved, Vec<Marking>) {
    let whole = format!("{text}{}\n", claims.join("\n"));
    let solved = solve(&whole);
    let structure = &solved.checked.structure;
    let by_place: BTreeMap<_, _> =
        solved.checked.marks.iter().map(|mark| (structure.claims[mark.claim].origin, mark.verdict)).collect();
    let found: Vec<Marking> = by_place.into_values().collect();
    assert_eq!(found.len(), claims.len(), "{:?}\n{whole}", solved.errors());
    (solved, found)
}

fn all_alike(text: &str, groups: &[(Vec<String>, bool)]) -> Solved {
    let claims: Vec<String> = groups.iter().flat_map(|(claims, _)| claims.clone()).collect();
    let (solved, found) = marks(text, &claims);
    let mut found = found.into_iter();
    for (claims, holds) in groups {
        for claim in claims {
            let expected = if *holds != claim.contains("not ") { Marking::Right } else { Marking::Wrong };
            assert_eq!(found.next(), Some(expected), "{claim}\n{text}");
        }
    }
    solved
}

/// A limit on a vector's part, in every spelling: after the place, after the
/// value, both, with the axis; one unit or another; with and without its case.
fn spellings(
    what: &str,
    at: &str,
    word: &str,
    sign: &str,
    size: f64,
    units: [(&str, f64); 2],
    under: &str,
) -> Vec<String> {
    let axis = if matches!(word, "up" | "down") { "y" } else { "x" };
    let mut found = Vec::new();
    for (unit, factor) in units {
        let size = format!("{} {unit}", decimal(size / factor));
        found.push(format!("expect {what} {word}{at} {sign} {size}{under}"));
        found.push(format!("expect {what}{at} {sign} {size} {word}{under}"));
        found.push(format!("expect {what}.{axis}{at} {sign} {size} {word}{under}"));
        found.push(format!("expect {what} {word}{at} {sign} {size} {word}{under}"));
        found.push(format!("expect not {what} {word}{at} {sign} {size}{under}"));
        found.push(format!("expect not {what}.{axis}{at} {sign} {size} {word}{under}"));
    }
    if under == " under live" {
        found.push(format!("case live {{\n{}\n}}", found[1].replace(under, "")));
        found.push(found[2].replace(under, ""));
        found.push(found[2].replace(under, " under all"));
    }
    found
}

const WORDS: [(&str, [f64; 2]); 4] =
    [("up", [0.0, 1.0]), ("down", [0.0, -1.0]), ("left", [-1.0, 0.0]), ("right", [1.0, 0.0])];

/// Limits around a value, none so near that rounding decides; zero where the
/// value is not.
fn limits(value: f64, rng: &mut Rng, zero: f64) -> Vec<f64> {
    let size = value.abs().max(zero * 1e3);
    let mut all = vec![size * rng.between(0.1, 0.95, 3), size * rng.between(1.05, 3.0, 3)];
    if value.abs() > 1e3 * zero || value.abs() < 1e-2 * zero {
        all.push(0.0);
    }
    all
}

fn holds(value: f64, sign: &str, limit: f64, zero: f64) -> bool {
    let value = if value.abs() <= zero { 0.0 } else { value };
    if sign == "<=" { value <= limit } else { value >= limit }
}

/// Limits on the parts of a vector and on its size, each in all spellings.
fn of_vector(
    groups: &mut Vec<(Vec<String>, bool)>,
    rng: &mut Rng,
    (what, at): (&str, &str),
    [x, y]: [f64; 2],
    (units, zero): ([(&str, f64); 2], f64),
) {
    let under = " under live";
    for (word, [dx, dy]) in WORDS {
        let part = x * dx + y * dy;
        for sign in ["<=", ">="] {
            for limit in limits(part, rng, zero) {
                let spelt = spellings(what, at, word, sign, limit, units, under);
                groups.push((spelt, holds(part, sign, limit, zero)));
            }
        }
    }
    for (axis, part) in [(".x", x), (".y", y), ("", x.hypot(y))] {
        for sign in ["<=", ">="] {
            for limit in limits(part, rng, zero) {
                let spelt = units.map(|(unit, factor)| {
                    format!("expect {what}{axis}{at} {sign} {} {unit}{under}", decimal(limit / factor))
                });
                groups.push((spelt.to_vec(), holds(part.abs(), sign, limit, zero)));
            }
        }
    }
}

fn number(value: &serde_json::Value) -> f64 {
    value.as_f64().unwrap_or(0.0)
}

fn spelt(seed: u64, steps: usize, extras: usize) {
    let frame = soft(seed, steps, extras);
    let text = statements(&frame);
    let plain = solve(&text);
    let Some(solution) = &plain.checked.solution else { return };
    let result = &solution.results[0];
    let case = plain.case("live");
    let mut rng = Rng(seed);
    let mut groups = Vec::new();
    let (forces, lengths) = ([("N", 1.0), ("kN", 1e3)], [("m", 1.0), ("mm", 1e-3)]);
    for (joint, _) in &frame.supports {
        let name = frame.joint_name(*joint);
        let reaction = find(&case["reactions"], "joint", &name);
        let force = ["fx", "fy"].map(|key| number(&reaction[key]));
        of_vector(&mut groups, &mut rng, (&format!("reaction {name}"), ""), force, (forces, 1e-9 * result.largest));
    }
    let farthest = result.displacements.iter().flatten().map(|by| by.dx.hypot(by.dy)).fold(0.0, f64::max);
    for joint in 0..frame.joints.len() {
        let name = frame.joint_name(joint);
        let moved = find(&case["displacements"], "joint", &name);
        let by = ["dx", "dy"].map(|key| number(&moved[key]));
        // What is nearly still may be zero or not, as the largest inside a member says.
        if by.iter().any(|part| *part != 0.0 && part.abs() < 1e-6 * farthest) {
            continue;
        }
        of_vector(&mut groups, &mut rng, (&format!("deflection {name}"), ""), by, (lengths, 1e-9 * farthest));
    }
    for member in 0..frame.members.len() {
        inside(&mut groups, &mut rng, &frame, member, &plain);
    }
    let claimed = all_alike(&text, &groups);
    assert_eq!(claimed.document, plain.document, "claims change results");
}

/// Limits on the forces in a member, named from either end.
fn inside(groups: &mut Vec<(Vec<String>, bool)>, rng: &mut Rng, frame: &Frame, member: usize, plain: &Solved) {
    let structure = &plain.checked.structure;
    let result = &plain.checked.solution.as_ref().unwrap().results[0];
    let (id, length) = (id(plain, &frame.name(member)), frame.length(member));
    let [a, b] = frame.members[member].ends.map(|end| frame.joint_name(end));
    let share = rng.between(5.0, 95.0, 2);
    let at = share / 100.0 * length;
    let section = result.diagram(structure, id).at(at, kingpost::statics::Side::Before);
    let beyond = result.diagram(structure, id).at(at, kingpost::statics::Side::After);
    if section != beyond {
        return;
    }
    let places = [
        (format!("{a}-{b}"), format!("{}%", decimal(share))),
        (format!("{b}-{a}"), format!("{}%", decimal(100.0 - share))),
        (format!("{a}-{b}"), format!("{} m", decimal(at))),
    ];
    let zero = 1e-9 * result.largest;
    for (word, sign) in [("tension", 1.0), ("compression", -1.0)] {
        let value = section.axial * sign;
        for relation in ["<=", ">="] {
            for limit in limits(value, rng, zero) {
                let size = format!("{} N", decimal(limit));
                let spelt = places.iter().flat_map(|(chain, at)| {
                    [
                        format!("expect force {chain} at {at} {relation} {size} {word} under live"),
                        format!("expect force {chain} {word} at {at} {relation} {size} under live"),
                        format!("expect not force {chain} {word} at {at} {relation} {size} {word} under live"),
                    ]
                });
                groups.push((spelt.collect(), holds(value, relation, limit, zero)));
            }
        }
    }
    let [dx, dy] = frame.vector(member);
    if frame.members[member].kind != Kind::Beam || dx.abs() < 1e-3 * dy.abs() {
        return;
    }
    let extent = frame.joints.iter().map(|[x, y]| x.hypot(*y)).fold(1.0, f64::max);
    let size = section.moment.abs();
    // Tension below is sagging; the moment is given by the side on the right.
    let sagging = section.moment * dx.signum();
    if size < 1e-6 * result.largest * extent {
        return;
    }
    for (words, value) in [(["sagging", "tension below"], sagging), (["hogging", "tension above"], -sagging)] {
        for relation in ["<=", ">="] {
            for limit in [size * 0.7, size * 1.3, 0.0] {
                let size = &format!("{} N*m", decimal(limit));
                let spelt = places.iter().flat_map(|(chain, at)| {
                    words.iter().flat_map(move |word| {
                        [
                            format!("expect moment {chain} at {at} {relation} {size} {word} under live"),
                            format!("expect moment {chain} {word} at {at} {relation} {size} under live"),
                        ]
                    })
                });
                groups.push((spelt.collect(), holds(value, relation, limit, 0.0)));
            }
        }
    }
}

fn id(solved: &Solved, name: &str) -> MemberId {
    let structure = &solved.checked.structure;
    (0..structure.members.len()).map(MemberId::new).find(|id| structure.member_name(*id) == name).unwrap()
}

/// How a place of a member moves, from the stiffness of that member alone.
fn moved(solved: &Solved, result: &CaseResult, member: MemberId, place: f64) -> [f64; 2] {
    let curves = result.deflection(&solved.checked.structure, member).unwrap();
    spans::global(&solved.checked.structure, member, displacement(&curves, place))
}

/// Places a member is tried at.
const PLACES: usize = 240;

fn extremes(seed: u64, steps: usize, extras: usize) {
    let frame = soft(seed, steps, extras);
    let text = statements(&frame);
    let plain = solve(&text);
    let Some(solution) = &plain.checked.solution else { return };
    let result = &solution.results[0];
    let mut rng = Rng(seed);
    let mut groups: Vec<(Vec<String>, bool)> = Vec::new();
    for member in 0..frame.members.len() {
        let (id, length, name) = (id(&plain, &frame.name(member)), frame.length(member), frame.name(member));
        // Where a load begins, ends or acts, a line may be bent sharply.
        let sharp = frame.spans(member).into_iter().flat_map(|load| match load {
            Local::Spread { from, to, .. } => vec![from, to],
            Local::Point { at, .. } | Local::Couple { at, .. } => vec![at],
        });
        let places = (0..=PLACES).map(|place| length * place as f64 / PLACES as f64).chain(sharp);
        let by: Vec<[f64; 2]> = places.map(|place| moved(&plain, result, id, place)).collect();
        let scale = by.iter().map(|[x, y]| x.hypot(*y)).fold(0.0, f64::max);
        if scale < 1e-7 {
            continue;
        }
        let degrees = rng.below(3600) as f64 / 10.0;
        let (sin, cos) = degrees.to_radians().sin_cos();
        let angle = format!("@ {}°", decimal(degrees));
        let mut directions: Vec<(&str, [f64; 2])> = WORDS.to_vec();
        directions.push((&angle, [cos, sin]));
        for (word, [dx, dy]) in directions {
            let parts = by.iter().map(|[x, y]| x * dx + y * dy);
            let most = parts.fold(f64::NEG_INFINITY, f64::max);
            one(&mut groups, &format!("{name} {word}"), most, scale);
        }
        let most = |of: fn(&[f64; 2]) -> f64| by.iter().map(of).fold(0.0, f64::max);
        one(&mut groups, &name, scale, scale);
        limited(&mut groups, &format!("{name}.x"), most(|[x, _]| x.abs()), scale);
        limited(&mut groups, &format!("{name}.y"), most(|[_, y]| y.abs()), scale);
        // A number along an axis has a sign.
        for (axis, part) in [(".x", 0), (".y", 1)] {
            for sign in [1.0, -1.0] {
                let most = by.iter().map(|by| by[part] * sign).fold(f64::NEG_INFINITY, f64::max);
                valued(&mut groups, &format!("{name}{axis}"), sign, most, scale);
            }
        }
    }
    all_alike(&text, &groups);
}

/// Limits and a value around the extreme of many places, which is within a
/// thousandth of the true one.
fn one(groups: &mut Vec<(Vec<String>, bool)>, what: &str, most: f64, scale: f64) {
    limited(groups, what, most, scale);
    valued(groups, what, 1.0, most, scale);
}

fn limited(groups: &mut Vec<(Vec<String>, bool)>, what: &str, most: f64, scale: f64) {
    let near = 2e-3 * scale;
    let limit = |sign: &str, value: f64| format!("expect deflection {what} {sign} {} m under live", decimal(value));
    for (value, below) in [(most + near, true), (most - near, false)] {
        if value >= 0.0 {
            groups.push((vec![limit("<=", value)], below));
            groups.push((vec![limit(">=", value)], !below));
        }
    }
}

fn valued(groups: &mut Vec<(Vec<String>, bool)>, what: &str, sign: f64, most: f64, scale: f64) {
    let near = 2e-3 * scale;
    if most > near {
        let claim = |value: f64| {
            format!("expect deflection {what}: {} m within {} m under live", decimal(value * sign), decimal(near))
        };
        groups.push((vec![claim(most)], true));
        groups.push((vec![claim(most + 2.5 * near)], false));
    }
}

fn joint_put_inside(seed: u64, steps: usize, extras: usize) {
    let mut frame = soft(seed, steps, extras);
    let mut rng = Rng(seed);
    let beams: Vec<usize> = (0..frame.members.len()).filter(|m| frame.members[*m].kind == Kind::Beam).collect();
    if beams.is_empty() {
        return;
    }
    let member = beams[rng.below(beams.len())];
    for load in &mut frame.loads {
        // What is handed to the joints would be handed to the one put there too.
        if let Load::Spread { delivery, .. } = load {
            *delivery = Delivery::Along;
        }
    }
    let misfit: f64 = frame
        .loads
        .iter()
        .map(|load| match load {
            Load::Misfit { member: own, amount } if *own == member => *amount,
            _ => 0.0,
        })
        .sum();
    frame.loads.retain(|load| !matches!(load, Load::Misfit { member: own, .. } if *own == member));
    if rng.chance(5) {
        frame.loads.push(Load::Heat { member, rise: rng.between(-30.0, 40.0, 0) });
    }
    let share = rng.between(0.07, 0.93, 2);
    let [a, b] = frame.members[member].ends;
    let (names, [p, q]) = ([a, b].map(|end| frame.joint_name(end)), [a, b].map(|end| frame.joints[end]));
    let [a, b] = &names;
    let long = |chain: &str, amount: f64| {
        let sense = if amount < 0.0 { "short" } else { "long" };
        if amount == 0.0 { String::new() } else { format!("misfit {chain}: {} m {sense}\n", decimal(amount.abs())) }
    };
    let base = statements(&frame);
    let text = format!("{base}case live {{\n{}}}\n", long(&format!("{a}-{b}"), misfit));
    let point = [0, 1].map(|axis| p[axis] + share * (q[axis] - p[axis]));
    let mut split = format!("joint M: ({}, {}) m\n", decimal(point[0]), decimal(point[1]));
    for line in base.lines() {
        let mut line = line.to_owned();
        for (from, to) in [(a, b), (b, a)] {
            let chain = format!("{from}-{to}");
            let is_own = line.split([' ', ':']).any(|word| word == chain);
            if is_own {
                line = line.replace(&chain, &format!("{from}-M-{to}"));
            }
        }
        split += &(line + "\n");
    }
    write!(
        split,
        "case live {{\n{}{}}}\n",
        long(&format!("{a}-M"), misfit * share),
        long(&format!("M-{b}"), misfit * (1.0 - share))
    )
    .unwrap();
    let (whole, parts) = (solve(&text), solve(&split));
    let (Some(solution), Some(other)) = (&whole.checked.solution, &parts.checked.solution) else {
        assert_eq!(whole.checked.solution.is_some(), parts.checked.solution.is_some(), "{text}\n{split}");
        return;
    };
    let result = &solution.results[0];
    let structure = &parts.checked.structure;
    let joint =
        (0..structure.joints.len()).find(|joint| structure.joint_name(kingpost::base::JointId::new(*joint)) == "M");
    let put = other.results[0].displacements.as_ref().unwrap()[kingpost::base::JointId::new(joint.unwrap())];
    let place = share * frame.length(member);
    let [x, y] = moved(&whole, result, id(&whole, &frame.name(member)), place);
    let farthest = result.displacements.iter().flatten().map(|by| by.dx.hypot(by.dy)).fold(1e-6, f64::max);
    let near = 1e-6 * farthest.max(put.dx.hypot(put.dy));
    assert!((put.dx - x).hypot(put.dy - y) < near, "({x}, {y}), not {put:?}\n{text}");
    // And claims say so, in whatever direction they ask.
    let size = put.dx.hypot(put.dy);
    if size < 1e-7 {
        return;
    }
    let degrees = rng.below(3600) as f64 / 10.0;
    let (sin, cos) = degrees.to_radians().sin_cos();
    let at = format!("at {} m", decimal(place));
    let within = format!("m within {} m under live", decimal(2.0 * near));
    let along = put.dx * cos + put.dy * sin;
    let claims = [
        format!("expect deflection {a}-{b} {at}: {} {within}", decimal(size)),
        format!("expect deflection {a}-{b} {at}: ({}, {}) {within}", decimal(put.dx), decimal(put.dy)),
        format!("expect deflection {a}-{b}.x {at}: {} {within}", decimal(put.dx)),
        format!("expect deflection {a}-{b} down {at}: {} {within}", decimal(-put.dy)),
        format!(
            "expect deflection {b}-{a} @ {}° at {}%: {} {within}",
            decimal(degrees),
            decimal(100.0 - share * 100.0),
            decimal(along)
        ),
        format!("expect not deflection {a}-{b}.x {at}: {} {within}", decimal(put.dx + 6.0 * near)),
    ];
    let (_, found) = marks(&text, &claims);
    for (claim, mark) in claims.iter().zip(found) {
        assert_eq!(mark, Marking::Right, "{claim}\n{text}");
    }
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn every_spelling_of_a_limit_gets_the_one_mark(seed in any::<u64>(), steps in 0..3_usize, extras in 0..3_usize) {
        spelt(seed, steps, extras);
    }

    #[test]
    fn along_a_member_the_extreme_of_all_places_counts(seed in any::<u64>(), steps in 0..4_usize, extras in 0..3_usize) {
        extremes(seed, steps, extras);
    }

    #[test]
    fn a_place_moves_as_a_joint_put_there(seed in any::<u64>(), steps in 0..4_usize, extras in 0..3_usize) {
        joint_put_inside(seed, steps, extras);
    }

    #[test]
    fn under_a_train_too_every_spelling_gets_the_one_mark(seed in any::<u64>()) {
        under_a_train(seed);
    }
}

/// A beam over several supports with an overhang, so that reactions act both ways.
fn under_a_train(seed: u64) {
    let mut rng = Rng(seed);
    let mut text =
        String::from("units m, N\nallow roller-pulls\nsection s: EA = 1 GN, EI = 10 MN*m^2\njoint J0: (0, 0)\n");
    let spans = 2 + rng.below(3);
    let (mut x, mut chain) = (0.0, String::from("J0"));
    for joint in 1..=spans {
        x += rng.between(1.0, 5.0, 1);
        writeln!(text, "joint J{joint}: ({x:.1}, 0)").unwrap();
        write!(chain, "-J{joint}").unwrap();
    }
    let held = if rng.chance(5) { spans } else { spans - 1 };
    writeln!(text, "beam {chain}: s\npin J0").unwrap();
    for joint in 1..=held {
        writeln!(text, "roller J{joint}").unwrap();
    }
    let load = |rng: &mut Rng| rng.between(100.0, 900.0, 0);
    let tilted = if rng.chance(4) { " @ 30° right of down" } else { "" };
    writeln!(
        text,
        "travel crane: {} N{tilted}, {} N spaced {} m along {chain}",
        load(&mut rng),
        load(&mut rng),
        rng.between(0.3, 2.0, 1)
    )
    .unwrap();
    let plain = solve(&text);
    let train = &plain.checked.solution.as_ref().unwrap().travels[0];
    let mut groups = Vec::new();
    let zero = 1e-9 * train.largest;
    for (support, reaction) in plain.checked.structure.supports.iter().zip(&train.reactions) {
        let what = format!("reaction {}", plain.checked.structure.joint_name(support.joint));
        let range = |range: Option<kingpost::statics::Range>| range.map_or([0.0; 2], |r| [r.least.value, r.most.value]);
        let (x, y) = (range(reaction.fx), range(reaction.fy));
        for (word, most) in [("up", y[1]), ("down", -y[0]), ("right", x[1]), ("left", -x[0])] {
            for sign in ["<=", ">="] {
                for limit in limits(most, &mut rng, zero) {
                    let spelt = spellings(&what, "", word, sign, limit, [("N", 1.0), ("kN", 1e3)], " under crane");
                    groups.push((spelt, holds(most, sign, limit, zero)));
                }
            }
            if most > 1e3 * zero {
                let within = decimal(most * 1e-3);
                for (value, holds) in [(most, true), (most * 1.01, false)] {
                    let value = decimal(value);
                    let spelt = vec![
                        format!("expect {what} {word}: {value} N within {within} N"),
                        format!("expect {what}: {value} N {word} within {within} N under crane"),
                        format!("expect {what} {word}: {value} N {word} within {within} N under all"),
                    ];
                    groups.push((spelt, holds));
                }
            }
        }
        for (axis, [least, most]) in [(".x", x), (".y", y)] {
            let size = most.max(-least);
            for sign in ["<=", ">="] {
                for limit in limits(size, &mut rng, zero) {
                    groups.push((
                        vec![format!("expect {what}{axis} {sign} {} N", decimal(limit))],
                        holds(size, sign, limit, zero),
                    ));
                }
            }
        }
    }
    all_alike(&text, &groups);
}

/// A claim and whether it is right.
fn each(text: &str, expected: &[(&str, bool)]) {
    let claims: Vec<String> = expected.iter().map(|(claim, _)| format!("expect {claim}")).collect();
    let (_, found) = marks(text, &claims);
    for ((claim, right), mark) in expected.iter().zip(found) {
        assert_eq!(mark == Marking::Right, *right, "{claim}: {mark:?}");
    }
}

#[test]
fn a_limit_on_a_deflection_sees_both_sides() {
    // A couple at mid-span: it sags on the left and rises 14.7 mm on the right, by Macaulay's method.
    let text = "units m, kN, mm\njoint A: (0, 0)\njoint B: (6, 0)\nsection s: EA = 1e6 kN, EI = 1000 kN*m^2\n\
        beam A-B: s\npin A\nroller B\nallow roller-pulls\nmoment A-B: 60 kN*m ccw at 3 m\nload A-B: 0.2 kN/m down\n";
    each(
        text,
        &[
            ("deflection A-B up <= 0.01 mm", false),
            ("deflection A-B up at 4.3 m: 14.67 mm", true),
            ("deflection A-B up: zero", false),
            ("deflection A-B up: 14.7 mm", true),
            ("deflection A-B up >= 14.6 mm", true),
            ("deflection A-B left: zero", true),
            ("deflection A-B.y: zero", false),
            ("deflection A-B.y: 14.7 mm", true),
            ("deflection A-B.y: -20.0 mm", true),
            ("deflection A-B.y: 20.0 mm", false),
            ("deflection A-B: 20.0 mm", true),
        ],
    );
}

#[test]
fn a_column_shortens_by_what_it_carries() {
    // u(x) = w (L x - x²/2) / EA, common practice.
    let text = "units m, kN, mm\njoint A: (0, 0)\njoint B: (0, 4)\nsection s: EA = 1000 kN, EI = 1000 kN*m^2\n\
        beam A-B: s\nfixed A\nload A-B: 10 kN/m down\n";
    each(
        text,
        &[
            ("deflection B down: 80.0 mm", true),
            ("deflection A-B down at 2 m: 60.0 mm", true),
            ("deflection A-B down at 2 m: 40.0 mm", false),
            ("deflection A-B: 80.0 mm", true),
        ],
    );
    let text = "units m, kN, mm\njoint A: (0, 0)\njoint B: (4, 0)\nsection s: EA = 1000 kN, EI = 1000 kN*m^2\n\
        beam A-B: s\nfixed A\nload A-B: 10 kN right at 1 m\n";
    each(
        text,
        &[
            ("deflection A-B right at 1 m: 10.0 mm", true),
            ("deflection A-B right at 1 m: 2.5 mm", false),
            ("deflection A-B right at 3 m: 10.0 mm", true),
        ],
    );
}

#[test]
fn zeros_are_one_claim_and_figures_make_a_value() {
    let text = "units m, MN\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\npin A\nroller B\nload B: 0.4 MN down\n";
    each(
        text,
        &[
            ("reaction B: 0 MN", false),
            ("reaction B: 0", false),
            ("reaction B: zero", false),
            ("reaction B: 0 kN up", false),
            ("reaction B: 0.0 MN up", false),
            ("reaction B: 0 MN within 0.5 MN", true),
            ("reaction B: 0.00 MN", false),
            ("reaction A: 0 kN", true),
            ("reaction A: zero", true),
            ("reaction A: 0 MN", true),
            ("reaction A: (0, 0) MN", true),
            ("reaction B: (0, 0.400) MN", true),
            ("reaction B: (0, 0.40) kN", false),
            ("reaction A.y: 0.0 kN", true),
        ],
    );
    // A component that is small is not zero.
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\nfixed A\nload B: (0.1, -40) kN\n";
    each(
        text,
        &[
            ("reaction A: (0, 40) kN", false),
            ("reaction A: (0.0, 40) kN", false),
            ("reaction A: (-0.1, 40) kN", true),
            ("reaction A: 40.0 kN up", false),
            ("reaction A up: 40.0 kN", true),
        ],
    );
}

#[test]
fn what_only_rounding_leaves_is_zero_in_limits_too() {
    // Two loads along one chord cancel: the pin has nothing to hold sideways but rounding.
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (3.1, 0)\njoint C: (6.3, 0)\njoint D: (1.7, 2.2)\n\
        joint E: (4.6, 2.3)\nbar A-B-C, A-D-E-C, D-B-E\npin A\nroller C\nload D: 9 kN down\n\
        load B: 0.3 kN right\nload E: (-0.1, 0) kN\nload D: 0.2 kN left\n";
    each(
        text,
        &[
            ("reaction A.x <= 0 kN", true),
            ("reaction A <= 0 kN right", true),
            ("reaction A left <= 0 kN", true),
            ("reaction A right >= 0 kN", true),
            ("reaction A left >= 0 kN", true),
            ("reaction A.x: zero", true),
            ("reaction A.y <= 0 kN", false),
            ("reaction A down <= 0 kN", true),
            ("reaction A down >= 0 kN", false),
        ],
    );
}

#[test]
fn the_sense_of_the_file_is_that_of_its_unsigned_claims() {
    let text = |sense: &str| {
        format!(
            "units m, kN, mm\n{sense}\njoint A: (0, 0)\njoint B: (4, 0)\nsection s: EA = 1e6 kN, EI = 1000 kN*m^2\n\
             beam A-B: s\nfixed A\nload B: 10 kN down\n"
        )
    };
    // The load turns clockwise about A; the support holds it counterclockwise.
    let signed = [("reaction A: 40 kN*m", true), ("reaction A: -40 kN*m", false), ("rotation B: -0.0800 rad", true)];
    let worded = [
        ("reaction A: 40 kN*m ccw", true),
        ("reaction A ccw: 40 kN*m", true),
        ("reaction A ccw >= 30 kN*m", true),
        ("reaction A <= 50 kN*m", true),
        ("reaction A cw <= 30 kN*m", true),
        ("rotation B: 0.0800 rad cw", true),
        ("rotation B cw >= 0.07 rad", true),
        ("rotation B ccw >= 0.07 rad", false),
    ];
    for sense in ["", "moments ccw"] {
        each(&text(sense), &signed);
        each(&text(sense), &worded);
    }
    each(
        &text("moments cw"),
        &signed.map(|(claim, right)| (claim, if claim.contains("reaction") { !right } else { false })),
    );
    each(&text("moments cw"), &[("rotation B: 0.0800 rad", true)]);
    each(&text("moments cw"), &worded);
}

/// By hand: 3 kN at the end of 4 m turn the beam clockwise, and the support
/// holds 12 kN·m against them; the train brings 5 kN to the same place.
#[test]
fn a_turning_sense_means_the_couple_whatever_its_value() {
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\nfixed A\ncase snow {\nload B: 3 kN down\n}\n\
        case side {\nload B: 3 kN right\n}\ntravel crane: 5 kN along A-B\n";
    for zero in ["zero", "0", "0 kN*m", "0.000 kN*m"] {
        for under in ["snow", "crane"] {
            each(
                text,
                &[
                    (&format!("reaction A cw <= {zero} under {under}"), true),
                    (&format!("reaction A <= {zero} cw under {under}"), true),
                    (&format!("reaction A cw >= {zero} under {under}"), under == "crane"),
                    (&format!("reaction A ccw <= {zero} under {under}"), false),
                    (&format!("reaction A ccw >= {zero} under {under}"), true),
                    (&format!("reaction A ccw: {zero} under {under}"), false),
                ],
            );
        }
        each(text, &[(&format!("reaction A cw: {zero} under side"), true)]);
    }
    // The tolerance is one of couples then, and overrides.
    each(
        text,
        &[
            ("reaction A cw: zero within 13 kN*m under snow", true),
            ("reaction A cw: zero within 11 kN*m under snow", false),
            ("reaction A.y: zero within 3.1 kN under snow", true),
            ("reaction A.y: zero within 2.9 kN under snow", false),
        ],
    );
}

/// Under a train, and along a chain, a value is about the greatest effect in
/// its sense, a zero too.
#[test]
fn a_zero_keeps_its_sense() {
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (8, 0)\nbeam A-B-C\npin A\n\
        roller C: pushes 120°\ncase still {\nload B: 3 kN down\n}\ntravel crane: 5 kN along A-B-C\n";
    for zero in ["0.00 kN", "0 kN"] {
        each(
            text,
            &[
                (&format!("reaction A.x: {zero} left under crane"), true),
                (&format!("reaction A left: {zero} under crane"), true),
                (&format!("reaction A.x: {zero} right under crane"), false),
                (&format!("reaction A.x: {zero} left under still"), false),
            ],
        );
    }
}

/// A small effect is none of rounding: just off the support a load goes into a
/// spring by the shortening of the beam, in proportion to its distance, before
/// bending, which goes with the square, turns the force round. What the train
/// does there a load at that place does too.
#[test]
fn the_most_a_train_causes_may_be_very_little() {
    let frame = "units ft, lbf\njoint A: (0, 0)\njoint B: (4.5, 2.25)\njoint C: (12, 6)\nfixed A\n\
        spring B: kx = 2 kN/mm, ky = 3 kN/mm\nmaterial m: E = 210 GPa\nsection s: m, A = 17 cm^2, I = 739 cm^4\nbeam A-B-C: s\n";
    let solved = solve(&format!("{frame}travel crane: 420 lbf along A-B-C\nexpect reaction B @ (3, -1) <= zero\n"));
    let found = solved.checked.marks[0].computed.clone();
    assert_eq!(solved.checked.marks[0].verdict, Marking::Wrong, "{found}");
    let said = format!("{:?}", solved.checked.diagnostics);
    let place = said.split("with the load ").nth(1).unwrap().split(" ft from A").next().unwrap();
    let force = found.split(" lbf").next().unwrap();
    let still = format!("{frame}case still {{\nload A-B: 420 lbf down at {place} ft\n}}\n");
    each(&still, &[(&format!("reaction B @ (3, -1): {force} lbf"), true)]);
    // In proportion, to the first order: a tenth of the way, not a hundredth.
    let near = place.parse::<f64>().unwrap() / 10.0;
    let near = format!("{frame}case still {{\nload A-B: 420 lbf down at {near} ft\n}}\n");
    let tenth = force.parse::<f64>().unwrap() / 10.0;
    each(&near, &[(&format!("reaction B @ (3, -1) >= {tenth} lbf"), true)]);
}

/// What a message gives as computed is never the claimed number, and shown to
/// at least the figures of the page.
#[test]
fn a_value_told_is_told_from_the_claimed_one() {
    let text = |load: f64| {
        format!("units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\nfixed A\nload B: {load} kN down\n")
    };
    for (load, claim, told) in [
        (45.21, "reaction A.y: 45.24 kN within 0.01 kN", "45.21 kN up"),
        (45.21, "reaction A up <= 45.2 kN", "45.21 kN up"),
        (45.21, "reaction A >= 45.22 kN", "45.21 kN, up"),
        (45.21, "reaction A: 45.24 kN up within 0.01 kN", "45.21 kN up"),
        (45.21, "reaction A.y: 48 kN", "45.2 kN up"),
        (45.21, "reaction A.y: 45.2 kN up within 0 kN", "45.21 kN up"),
        (45.210_000_3, "reaction A up <= 45.21 kN", "45.2100003 kN up"),
        (45.21, "reaction A.y: 45210.2 N within 0.1 N", "45.2100 kN up"),
        (45.21, "shear A-B at 2 <= 45.2 kN", "45.21 kN"),
        (45.21, "reaction A ccw <= 180.8 kN*m", "180.84 kN·m ccw"),
        (45.21, "moment A-B hogging <= 180.8 kN*m", "180.84 kN·m hogging"),
    ] {
        let solved = solve(&format!("{}expect {claim}\n", text(load)));
        let mark = &solved.checked.marks[0];
        assert_eq!(mark.verdict, Marking::Wrong, "{claim}");
        let (told, computed) = (told.replace(", ", " "), mark.computed.replace(", ", " "));
        assert!(computed.starts_with(&told), "{claim}: {computed}");
        assert!(solved.errors()[0].replace(", ", " ").contains(&told), "{claim}: {:?}", solved.errors());
    }
}

#[test]
fn what_no_reading_makes_true_is_an_error() {
    let text = "units m, kN, mm\njoint A: (0, 0)\njoint B: (4, 0)\nsection s: EA = 1e5 kN, EI = 1e4 kN*m^2\n\
        beam A-B: s\nfixed A\nload B: (3, -4) kN\n";
    for (claim, slug) in [
        ("reaction A.x: 3 kN up", "claim-sense"),
        ("reaction A.x <= 3 kN up", "claim-sense"),
        ("reaction A up <= 3 kN down", "claim-sense"),
        ("deflection B left: 3 mm up", "claim-sense"),
        ("reaction A.y: (3, 4) kN", "claim-sense"),
        ("force A-B up: 3 kN", "claim-sense"),
        ("force A-B.x <= 3 kN", "claim-sense"),
        ("force A-B tension: 3 kN compression", "claim-sense"),
        ("moment A-B left <= 3 kN*m", "claim-sense"),
        ("reaction A.x <= 3 kN*m cw", "claim-sense"),
        // Zero goes no way by itself, but has the line of its sense.
        ("reaction A.x: 0 kN up", "claim-sense"),
        ("reaction A.y <= 0.00 lbf left", "claim-sense"),
        ("reaction A.y: 0 kN @ 30°", "claim-sense"),
        ("reaction A up >= 0 kN right", "claim-sense"),
        ("reaction A up <= 0 kN down", "claim-sense"),
        ("reaction A @ 30° <= 0 kN @ 31°", "claim-sense"),
        ("reaction A.y <= zero cw", "claim-sense"),
        ("not deflection B.x >= 0 mm down", "claim-sense"),
        ("deflection B.y <= 0.000 cm right", "claim-sense"),
        ("deflection A-B.y <= 0 mm left", "claim-sense"),
        ("reaction A.y >= -3 kN", "negative-limit"),
        ("reaction A <= -3 kN up", "negative-limit"),
        ("force A-B >= -3 kN", "negative-limit"),
        ("deflection A-B down <= -3 mm", "negative-limit"),
        ("reaction A <= (3, 4) kN", "claim-compares-vector"),
        ("rotation A-B: 1 rad", "claim-place"),
    ] {
        let solved = solve(&format!("{text}expect {claim}\n"));
        let errors = solved.errors();
        assert!(errors.iter().all(|error| error.starts_with(slug)) && errors.len() == 1, "{claim}: {errors:?}");
        assert!(solved.checked.marks.is_empty(), "{claim}");
    }
    // The sense word for the other side is shown.
    let solved = solve(&format!("{text}expect reaction A.y >= -3 kN\n"));
    let help = format!("{:?}", solved.checked.diagnostics);
    assert!(help.contains("down <= 3 kN"), "{help}");
}

#[test]
fn what_cannot_be_known_is_neither_proved_nor_refuted() {
    let text = "units m, kN, mm\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\npin A\nroller B\nload A-B: 2 kN/m down\n\
        travel crane: 5 kN along A-B\n";
    for claim in [
        "deflection A-B down <= 3 mm under loads",
        "not deflection A-B down <= 3 mm under loads",
        "rotation A: 0.001 rad under loads",
        "deflection B <= 3 mm under crane",
        "not deflection B <= 3 mm under crane",
    ] {
        let (solved, found) = marks(text, &[format!("expect {claim}")]);
        assert_eq!(found, [Marking::NotJudged], "{claim}");
        assert!(solved.slugs().contains(&"claim-not-known"), "{claim}: {:?}", solved.slugs());
        assert!(!solved.slugs().contains(&"claim-fails"), "{claim}");
    }
}
