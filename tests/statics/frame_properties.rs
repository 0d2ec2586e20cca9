//! Statements of statics that hold for every frame, tried on random ones:
//! equilibrium of joints, members and arbitrary cuts, added up here from the
//! printed results and the loads as stated; reciprocity of work (Maxwell and
//! Betti); displacements as derivatives of strain energy (Castigliano); the
//! displacement method in matrix form as a second way to every redundant
//! result. All are common practice of the trade.

#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]

use crate::support::frame;
use crate::support::grow;
use crate::support::solved;
use crate::support::stiffness;

use kingpost::base::MemberId;
use kingpost::statics::diagram::displacement;
use kingpost::statics::{CaseResult, Side};
use proptest::prelude::*;
use serde_json::Value;

use frame::{BASE, Delivery, Frame, Hold, Kind, Load, Local, Measure, Moved, Rng, SMALL, Sections};
use grow::{Acting, determinate, redundant};
use solved::{Solved, extreme, find, solve};

/// The largest residual a random frame may show, relative.
const RESIDUAL: f64 = 1e-12;

fn cases(count: u32) -> ProptestConfig {
    ProptestConfig { cases: count, failure_persistence: None, ..ProptestConfig::default() }
}

fn solved(frame: &Frame) -> Solved {
    let text = frame.text();
    let solved = solve(&text);
    assert!(solved.errors().is_empty(), "{:?}\n{text}", solved.errors());
    solved
}

fn result(solved: &Solved) -> &CaseResult {
    &solved.checked.solution.as_ref().unwrap().results[0]
}

/// The program's member for one of the frame's.
fn id(solved: &Solved, frame: &Frame, member: usize) -> MemberId {
    let name = frame.name(member);
    let structure = &solved.checked.structure;
    (0..structure.members.len()).map(MemberId::new).find(|id| structure.member_name(*id) == name).unwrap()
}

fn entry<'a>(case: &'a Value, frame: &Frame, member: usize) -> &'a Value {
    find(&case["members"], "member", &frame.name(member))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(0.0)
}

/// Axial, shear and moment of one end of a member as printed.
fn section(case: &Value, frame: &Frame, member: usize, end: usize) -> [f64; 3] {
    let entry = entry(case, frame, member);
    if frame.members[member].kind == Kind::Bar {
        return [number(&entry["axial"]), 0.0, 0.0];
    }
    let section = &entry[if end == 0 { "start" } else { "end" }];
    ["axial", "shear", "moment"].map(|key| section[key].as_f64().unwrap())
}

fn reaction(case: &Value, frame: &Frame, joint: usize) -> [f64; 3] {
    let reaction = find(&case["reactions"], "joint", &frame.joint_name(joint));
    ["fx", "fy", "m"].map(|key| number(&reaction[key]))
}

fn moved(case: &Value, frame: &Frame, joint: usize) -> [f64; 3] {
    let moved = find(&case["displacements"], "joint", &frame.joint_name(joint));
    ["dx", "dy", "turn"].map(|key| number(&moved[key]))
}

/// The largest force in play, newtons.
fn largest(case: &Value, frame: &Frame) -> f64 {
    let mut largest = 1.0_f64;
    for member in 0..frame.members.len() {
        for end in 0..2 {
            let [n, v, m] = section(case, frame, member, end);
            largest = largest.max(n.abs()).max(v.abs()).max(m.abs());
        }
    }
    frame.supports.iter().fold(largest, |largest, (joint, _)| {
        let [x, y, _] = reaction(case, frame, *joint);
        largest.max(x.hypot(y))
    })
}

/// Axial, shear and moment at a place, from the printed start and the loads as
/// stated; just before a load that acts there.
fn walk(case: &Value, frame: &Frame, member: usize, place: f64) -> [f64; 3] {
    let [mut n, mut v, mut m] = section(case, frame, member, 0);
    m += v * place;
    for load in frame.spans(member) {
        let ([along, across], turn) = load.before(place);
        n -= along;
        v += across;
        m -= turn;
    }
    [n, v, m]
}

/// The force and the couple that the part of a member beyond a place puts on
/// the part before it, in x and y.
fn pull(frame: &Frame, member: usize, [n, v, m]: [f64; 3]) -> [f64; 3] {
    let [x, y] = frame.global(member, [n, -v]);
    [x, y, m]
}

fn at(frame: &Frame, member: usize, place: f64) -> [f64; 2] {
    let ([c, s], start) = (frame.axis(member), frame.joints[frame.members[member].ends[0]]);
    [start[0] + c * place, start[1] + s * place]
}

fn balance(frame: &Frame, case: &Value, rng: &mut Rng) {
    let largest = largest(case, frame);
    let near = |what: &str, sum: [f64; 3]| {
        for part in sum {
            assert!(part.abs() < 1e-9 * largest, "{what}: {sum:?} is left of {largest}\n{}", frame.text());
        }
    };
    for member in 0..frame.members.len() {
        let [n, v, m] = walk(case, frame, member, frame.length(member) + 1e-9);
        let [en, ev, em] = section(case, frame, member, 1);
        let moved = v * 1e-9;
        near(&format!("member {}", frame.name(member)), [n - en, v - ev, m - moved - em]);
    }
    let direct = frame.on_joints();
    for _ in 0..6 {
        // Any set of joints, cut free through its members at any places.
        let inside: Vec<bool> = (0..frame.joints.len()).map(|_| rng.chance(5)).collect();
        let mut sum = [0.0; 3];
        let mut add = |[x, y]: [f64; 2], [fx, fy, m]: [f64; 3]| {
            sum[0] += fx;
            sum[1] += fy;
            sum[2] += x * fy - y * fx + m;
        };
        for (joint, _) in frame.joints.iter().enumerate().filter(|(joint, _)| inside[*joint]) {
            let mut own = direct[joint];
            // Nothing at a joint without a rotation takes a couple.
            if frame.support(joint).is_some() {
                let held = reaction(case, frame, joint);
                own = [0, 1, 2].map(|part| own[part] + held[part]);
            }
            add(frame.joints[joint], own);
        }
        for member in 0..frame.members.len() {
            let length = frame.length(member);
            let ends = frame.members[member].ends.map(|end| inside[end]);
            let cut = length * rng.share();
            let (from, to) = match ends {
                [true, true] => (0.0, length + 1e-9),
                [true, false] => (0.0, cut),
                [false, true] => (cut, length + 1e-9),
                [false, false] => continue,
            };
            for load in frame.spans(member) {
                // What acts before the far end, less what acts before the near one.
                let ([ax, ay], am) = load.before(to);
                let ([bx, by], bm) = load.before(from);
                let [px, py] = frame.global(member, [ax, ay]);
                add(at(frame, member, to), [px, py, am]);
                let [px, py] = frame.global(member, [bx, by]);
                add(at(frame, member, from), [-px, -py, -bm]);
            }
            if ends == [true, true] {
                continue;
            }
            let there = pull(frame, member, walk(case, frame, member, cut));
            add(at(frame, member, cut), if ends[0] { there } else { there.map(|part| -part) });
        }
        near("a cut", sum);
    }
}

/// The diagram's interior, and its extremes, against the walk.
fn diagrams(frame: &Frame, solved: &Solved, case: &Value, rng: &mut Rng) {
    let largest = largest(case, frame);
    let result = result(solved);
    for member in (0..frame.members.len()).filter(|m| frame.members[*m].kind == Kind::Beam) {
        let length = frame.length(member);
        let diagram = result.diagram(&solved.checked.structure, id(solved, frame, member));
        let printed = entry(case, frame, member);
        for _ in 0..8 {
            let place = length * rng.share();
            let expected = walk(case, frame, member, place);
            let computed = diagram.at(place, Side::Before);
            for (part, (quantity, computed)) in
                [("axial", computed.axial), ("shear", computed.shear), ("moment", computed.moment)]
                    .into_iter()
                    .enumerate()
            {
                assert!((computed - expected[part]).abs() < 1e-9 * largest, "{quantity} at {place}\n{}", frame.text());
                let (most, _) = extreme(printed, quantity, 1.0).unwrap();
                let (least, _) = extreme(printed, quantity, -1.0).unwrap();
                let slack = 1e-9 * largest;
                assert!(least - slack <= computed && computed <= most + slack, "{quantity}\n{}", frame.text());
            }
        }
        for (part, quantity) in ["axial", "shear", "moment"].into_iter().enumerate() {
            for sign in [1.0, -1.0] {
                let (value, place) = extreme(printed, quantity, sign).unwrap();
                let either = [place - 1e-9, place, place + 1e-9].map(|place| walk(case, frame, member, place)[part]);
                let met = either.iter().any(|there| (there - value).abs() < 1e-7 * largest);
                assert!(met, "{quantity} {value} is not met at {place}: {either:?}\n{}", frame.text());
            }
        }
    }
}

/// Everything printed against the displacement method.
fn agree(frame: &Frame, case: &Value, tolerance: f64) {
    let expected = stiffness::solve(frame).unwrap();
    let largest = largest(case, frame);
    let farthest = expected.moved.iter().flatten().fold(1e-9_f64, |most, part| most.max(part.abs()));
    for member in 0..frame.members.len() {
        for end in 0..2 {
            let computed = section(case, frame, member, end);
            let expected = expected.ends[member][end];
            let near = (0..3).all(|part| (computed[part] - expected[part]).abs() < tolerance * largest);
            assert!(near, "{}: {computed:?}, not {expected:?}\n{}", frame.name(member), frame.text());
        }
    }
    for (joint, expected) in expected.moved.iter().enumerate() {
        let computed = moved(case, frame, joint);
        let near = (0..3).all(|part| (computed[part] - expected[part]).abs() < tolerance * farthest);
        assert!(near, "J{joint} moves {computed:?}, not {expected:?}\n{}", frame.text());
    }
    for ((joint, _), expected) in frame.supports.iter().zip(&expected.reactions) {
        let computed = reaction(case, frame, *joint);
        let near = (0..3).all(|part| (computed[part] - expected[part]).abs() < tolerance * largest);
        assert!(near, "J{joint} gives {computed:?}, not {expected:?}\n{}", frame.text());
    }
}

/// Loads of one frame as a case of the notation.
fn case_of(name: &str, frame: &Frame) -> String {
    format!("case {name} {{\n{}\n}}\n", frame.load_lines(BASE).join("\n"))
}

/// Loads handed to the joints put on the members themselves.
fn on_members(frame: &mut Frame) {
    for load in &mut frame.loads {
        if let Load::Spread { delivery, .. } = load {
            *delivery = Delivery::Along;
        }
    }
}

/// Four Gauss points, exact to the seventh power.
fn integral(from: f64, to: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = ((from + to) / 2.0, (to - from) / 2.0);
    let inner = 2.0 / 7.0 * 1.2_f64.sqrt();
    let (a, b) = ((3.0 / 7.0 - inner).sqrt(), (3.0 / 7.0 + inner).sqrt());
    let (wa, wb) = ((18.0 + 30_f64.sqrt()) / 36.0, (18.0 - 30_f64.sqrt()) / 36.0);
    [(a, wa), (-a, wa), (b, wb), (-b, wb)].iter().map(|(t, w)| w * half * of(middle + half * t)).sum()
}

/// The work of a frame's loads along the movements of a case.
fn work(frame: &Frame, solved: &Solved, case: &str, result: &CaseResult) -> f64 {
    let structure = &solved.checked.structure;
    let printed = solved.case(case);
    let mut sum = 0.0;
    for load in &frame.loads {
        match *load {
            Load::Force { joint, force: [x, y] } => {
                let [dx, dy, _] = moved(printed, frame, joint);
                sum += x * dx + y * dy;
            }
            Load::Couple { joint, moment } => sum += moment * moved(printed, frame, joint)[2],
            _ => {
                let (member, local) = frame.on_member(load).unwrap();
                let curves = result.deflection(structure, id(solved, frame, member)).unwrap();
                let here = |at: f64| curves.iter().find(|curve| at <= curve.to).or(curves.last()).unwrap();
                let along = |[p, q]: [f64; 2], at: f64| {
                    let [along, across] = displacement(&curves, at);
                    p * along + q * across
                };
                match local {
                    Local::Point { at, force } => sum += along(force, at),
                    Local::Couple { at, moment } => {
                        let (curve, t) = (here(at), at - here(at).from);
                        let powers = curve.across.iter().enumerate().skip(1);
                        let slope: f64 = powers.map(|(power, c)| c * power as f64 * t.powi(power as i32 - 1)).sum();
                        sum += moment * slope;
                    }
                    Local::Spread { from, to, start, end } => {
                        for curve in &curves {
                            let (a, b) = (from.max(curve.from), to.min(curve.to));
                            let load =
                                |x: f64| [0, 1].map(|i| start[i] + (end[i] - start[i]) * (x - from) / (to - from));
                            if a < b {
                                sum += integral(a, b, |x| along(load(x), x));
                            }
                        }
                    }
                }
            }
        }
    }
    sum
}

/// Strain energy from the diagrams and the springs.
fn energy(frame: &Frame, solved: &Solved, result: &CaseResult) -> f64 {
    let structure = &solved.checked.structure;
    let mut sum = 0.0;
    for (index, member) in frame.members.iter().enumerate() {
        let diagram = result.diagram(structure, id(solved, frame, index));
        for stretch in &diagram.stretches {
            sum += integral(0.0, stretch.to - stretch.from, |t| {
                let section = stretch.at(t);
                let bending = if member.kind == Kind::Beam { section.moment.powi(2) / member.ei } else { 0.0 };
                (section.axial.powi(2) / member.ea + bending) / 2.0
            });
        }
    }
    for (support, reaction) in structure.supports.iter().zip(&result.reactions) {
        let joint = structure.joint_name(support.joint)[1..].parse().unwrap();
        let Some(Hold::Spring { force: [kx, ky], turn }) = frame.support(joint) else { continue };
        for (k, given) in [(kx, reaction.fx), (ky, reaction.fy), (turn, reaction.m)] {
            sum += k.map_or(0.0, |k| given.unwrap().powi(2) / k / 2.0);
        }
    }
    sum
}

fn grown(seed: u64, steps: usize, extras: usize) -> Frame {
    redundant(seed, steps, extras, Acting::Loads)
}

/// Whether two results give the same forces, moments by a factor.
fn same_forces(frame: &Frame, a: &Value, b: &Value, bending: f64, tolerance: f64) {
    let largest = largest(a, frame);
    for member in 0..frame.members.len() {
        for end in 0..2 {
            let (a, b) = (section(a, frame, member, end), section(b, frame, member, end));
            let factors = [1.0, bending, bending];
            let near = (0..3).all(|part| (a[part] - factors[part] * b[part]).abs() < tolerance * largest);
            assert!(near, "{}: {a:?} and {b:?}\n{}", frame.name(member), frame.text());
        }
    }
}

fn balances_and_agrees(frame: &Frame, seed: u64) {
    let solved = solved(frame);
    let word = if frame.redundancy == 0 { "determinate" } else { "indeterminate" };
    assert_eq!(solved.verdict(), (word.to_owned(), frame.redundancy, 0), "{}", frame.text());
    let case = solved.case("loads");
    assert!(number(&case["residual"]["relative"]) < RESIDUAL, "{}\n{}", case["residual"], frame.text());
    let mut rng = Rng(seed ^ 1);
    balance(frame, case, &mut rng);
    diagrams(frame, &solved, case, &mut rng);
    agree(frame, case, 1e-7);
}

proptest! {
    #![proptest_config(cases(80))]

    #[test]
    fn determinate_frames_balance_and_agree_with_the_displacement_method(seed: u64, steps in 0_usize..7) {
        balances_and_agrees(&determinate(seed, steps, Acting::Everything), seed);
    }

    #[test]
    fn redundant_frames_balance_and_agree_with_the_displacement_method(
        seed: u64, steps in 0_usize..5, extras in 1_usize..6,
    ) {
        balances_and_agrees(&redundant(seed, steps, extras, Acting::Everything), seed);
    }

    /// Maxwell 1864, Betti 1872: the work of either loads along the movements
    /// of the other is the same.
    #[test]
    fn work_is_reciprocal(seed: u64, steps in 0_usize..5, extras in 0_usize..4) {
        let mut one = grown(seed, steps, extras);
        let mut two = Frame { loads: Vec::new(), ..one.clone() };
        grow::load(&mut two, &mut Rng(seed ^ 2), Acting::Loads);
        on_members(&mut one);
        on_members(&mut two);
        let head = one.structure_lines(BASE, Sections::Stated).join("\n") + "\n";
        let text = head + &case_of("one", &one) + &case_of("two", &two);
        let solved = solve(&text);
        prop_assert!(solved.errors().is_empty(), "{:?}\n{text}", solved.errors());
        let results = &solved.checked.solution.as_ref().unwrap().results;
        let there = work(&one, &solved, "two", &results[1]);
        let back = work(&two, &solved, "one", &results[0]);
        let own = work(&one, &solved, "one", &results[0]).max(work(&two, &solved, "two", &results[1]));
        prop_assert!(own > 0.0, "loads do positive work\n{text}");
        prop_assert!((there - back).abs() < 1e-9 * own, "{there} and {back}\n{text}");
        // And the work of loads put on slowly is the strain energy (Clapeyron).
        for (frame, case, result) in [(&one, "one", &results[0]), (&two, "two", &results[1])] {
            let (work, energy) = (work(frame, &solved, case, result) / 2.0, energy(frame, &solved, result));
            prop_assert!((work - energy).abs() < 1e-9 * own, "{case}: {work} and {energy}\n{text}");
        }
    }

    /// Castigliano 1879: a displacement is the derivative of the strain energy
    /// by the force along it. The energy is a quadratic, so three of its
    /// values give the derivative without error.
    #[test]
    fn displacements_are_derivatives_of_energy(seed: u64, steps in 0_usize..5, extras in 0_usize..4) {
        let frame = grown(seed, steps, extras);
        let mut rng = Rng(seed ^ 3);
        let joint = rng.below(frame.joints.len());
        let part = if frame.turns(joint) { rng.below(3) } else { rng.below(2) };
        let unit = match part {
            0 => Load::Force { joint, force: [1e4, 0.0] },
            1 => Load::Force { joint, force: [0.0, 1e4] },
            _ => Load::Couple { joint, moment: 1e4 },
        };
        let probe = Frame { loads: vec![unit], ..frame.clone() };
        let text = frame.structure_lines(BASE, Sections::Stated).join("\n") + "\n"
            + &case_of("acting", &frame) + &case_of("probe", &probe)
            + "combination more: acting + probe\ncombination most: acting + 2 probe\n";
        let solved = solve(&text);
        prop_assert!(solved.errors().is_empty(), "{:?}\n{text}", solved.errors());
        let results = &solved.checked.solution.as_ref().unwrap().results;
        let energy = [0, 2, 3].map(|index| energy(&frame, &solved, &results[index]));
        let derivative = (-3.0 * energy[0] + 4.0 * energy[1] - energy[2]) / 2.0 / 1e4;
        let computed = moved(solved.case("acting"), &frame, joint)[part];
        prop_assert!((computed - derivative).abs() < 1e-9 * energy[2] / 1e4, "{computed} and {derivative}\n{text}");
    }

    /// Statics alone decides a determinate frame.
    #[test]
    fn forces_of_determinate_frames_do_not_depend_on_stiffness(seed: u64, steps in 0_usize..7) {
        let frame = determinate(seed, steps, Acting::Loads);
        let with = solved(&frame);
        let without = solve(&frame.lines(BASE, Sections::Unknown).join("\n"));
        prop_assert!(without.errors().is_empty(), "{:?}\n{}", without.errors(), frame.text());
        same_forces(&frame, with.case("loads"), without.case("loads"), 1.0, 1e-10);
        prop_assert!(without.case("loads")["displacements"].is_null());
        prop_assert!(!with.case("loads")["displacements"].is_null());
    }

    /// `rigid` is what ever stiffer members come to: what ten times the
    /// stiffness changes, extrapolated.
    #[test]
    fn rigid_members_are_the_limit_of_stiff_ones(seed: u64, steps in 0_usize..5, extras in 0_usize..4, mode in 0..3) {
        let frame = grown(seed, steps, extras);
        let chosen = Rng(seed ^ 4).below(frame.members.len());
        let made = |factor: f64| {
            let mut frame = frame.clone();
            for (index, member) in frame.members.iter_mut().enumerate() {
                match mode {
                    0 if index == chosen => member.ei *= factor,
                    1 if index == chosen => member.ea *= factor,
                    2 => member.ea *= factor,
                    _ => {}
                }
            }
            frame
        };
        let text = made(f64::INFINITY).text();
        let rigid = solve(&text);
        if rigid.slugs().contains(&"rigid-redundancy") {
            return Ok(());
        }
        prop_assert!(rigid.errors().is_empty(), "{:?}\n{text}", rigid.errors());
        let all = |solved: &Solved| {
            let case = solved.case("loads");
            let ends = (0..frame.members.len()).flat_map(|member| [(member, 0), (member, 1)]);
            let forces = ends.flat_map(|(member, end)| section(case, &frame, member, end)).collect::<Vec<f64>>();
            let moves = (0..frame.joints.len()).flat_map(|joint| moved(case, &frame, joint)).collect::<Vec<f64>>();
            [forces, moves]
        };
        let limit = all(&rigid);
        // As stiff as it takes: far more where a rigid member and a reaction almost share a line.
        for factor in [1e4, 1e5, 1e6, 1e7, 1e8] {
            let (stiff, stiffer) = (solve(&made(factor).text()), solve(&made(10.0 * factor).text()));
            if !stiffer.errors().is_empty() {
                break;
            }
            let [stiff, stiffer] = [all(&stiff), all(&stiffer)];
            // Newtons and newton-metres; metres and radians.
            let largest = [(0, 1.0_f64), (1, 1e-4)]
                .map(|(part, least)| limit[part].iter().fold(least, |most, value| most.max(value.abs())));
            let apart = |expected: &dyn Fn(f64, f64) -> f64, of: &[Vec<f64>; 2]| {
                let part = |part: usize| {
                    let pairs = stiff[part].iter().zip(&stiffer[part]).zip(&of[part]);
                    pairs.fold(0.0_f64, |most, ((a, b), c)| most.max((expected(*a, *b) - c).abs())) / largest[part]
                };
                part(0).max(part(1))
            };
            if apart(&|stiff, _| stiff, &stiffer) < 1e-3 {
                let far = apart(&|stiff, stiffer| stiffer + (stiffer - stiff) / 9.0, &limit);
                prop_assert!(far < 1e-4, "rigid is {far} from its limit\n{text}");
                break;
            }
        }
    }

    #[test]
    fn turning_a_frame_turns_its_results(seed: u64, steps in 0_usize..5, extras in 0_usize..4) {
        let mut frame = redundant(seed, steps, extras, Acting::Everything);
        // Springs stand along x and y, runs and rises are measured there.
        for (joint, hold) in &mut frame.supports {
            if let Hold::Spring { turn, .. } = hold {
                *hold = if turn.is_some() { Hold::Fixed } else { Hold::Roller([0.0, 1.0]) };
            }
            let _ = joint;
        }
        for load in &mut frame.loads {
            if let Load::Spread { measure, .. } = load {
                *measure = Measure::Length;
            }
        }
        let turned = frame.moved(Moved::Turned);
        let (before, after) = (solved(&frame), solved(&turned));
        prop_assert_eq!(before.verdict(), after.verdict());
        let (before, after) = (before.case("loads"), after.case("loads"));
        same_forces(&frame, before, after, 1.0, 1e-5);
        for joint in 0..frame.joints.len() {
            let ([x, y, turn], [nx, ny, new]) = (moved(before, &frame, joint), moved(after, &frame, joint));
            let expected = [0.6 * x - 0.8 * y, 0.8 * x + 0.6 * y];
            let apart = (nx - expected[0]).abs() + (ny - expected[1]).abs() + (turn - new).abs();
            prop_assert!(apart < 1e-6, "J{joint}: {apart}\n{}", frame.text());
        }
    }

    /// Seen in a mirror, right-hand sides are left-hand ones: moments and
    /// shears change sign, axial forces do not.
    #[test]
    fn mirroring_a_frame_mirrors_its_results(seed: u64, steps in 0_usize..5, extras in 0_usize..4) {
        let frame = redundant(seed, steps, extras, Acting::Everything);
        let (before, after) = (solved(&frame), solved(&frame.moved(Moved::Mirrored)));
        prop_assert_eq!(before.verdict(), after.verdict());
        let (before, after) = (before.case("loads"), after.case("loads"));
        same_forces(&frame, before, after, -1.0, 1e-9);
        for joint in 0..frame.joints.len() {
            let ([x, y, turn], [nx, ny, new]) = (moved(before, &frame, joint), moved(after, &frame, joint));
            prop_assert!((nx + x).abs() + (ny - y).abs() + (new + turn).abs() < 1e-9, "J{joint}\n{}", frame.text());
        }
    }

    /// Named from its other end a member keeps its axial force and its shear;
    /// its ends change places and its moments their sign.
    #[test]
    fn naming_members_the_other_way_turns_only_moments(seed: u64, steps in 0_usize..5, extras in 0_usize..4) {
        let frame = redundant(seed, steps, extras, Acting::Everything);
        let mut renamed = frame.clone();
        for member in &mut renamed.members {
            member.ends.reverse();
            member.hinged.reverse();
        }
        for load in &mut renamed.loads {
            if let Load::Point { from_end, .. } | Load::Twist { from_end, .. } | Load::Spread { from_end, .. } = load {
                *from_end = 1 - *from_end;
            }
        }
        let (before, after) = (solved(&frame), solved(&renamed));
        let (before, after) = (before.case("loads"), after.case("loads"));
        let largest = largest(before, &frame);
        for member in 0..frame.members.len() {
            for end in 0..2 {
                let [n, v, m] = section(before, &frame, member, end);
                let [rn, rv, rm] = section(after, &renamed, member, 1 - end);
                let apart = (n - rn).abs().max((v - rv).abs()).max((m + rm).abs());
                prop_assert!(apart < 1e-9 * largest, "{}: {apart}\n{}", frame.name(member), frame.text());
            }
        }
    }

    /// Order of statements and units they are written in change no byte.
    #[test]
    fn results_do_not_depend_on_order_or_units(seed: u64, steps in 0_usize..5, extras in 0_usize..4) {
        let frame = redundant(seed, steps, extras, Acting::Everything);
        let document = solved(&frame).document;
        let mut lines = frame.lines(BASE, Sections::Stated);
        let mut rng = Rng(seed ^ 5);
        for last in (1..lines.len()).rev() {
            lines.swap(last, rng.below(last + 1));
        }
        prop_assert_eq!(&solve(&lines.join("\n")).document, &document, "{}", lines.join("\n"));
        let small = frame.lines(SMALL, Sections::Stated).join("\n");
        prop_assert_eq!(&solve(&small).document, &document, "{}", small);
    }
}

/// The club's tower, built again from its storeys and bays.
#[test]
fn the_example_of_the_tower_agrees_with_the_displacement_method() {
    let example = solve(include_str!("../../examples/tower.kp"));
    assert_eq!(example.errors(), Vec::<String>::new());
    let joint = |i: usize, j: usize| i * 9 + j;
    let mut tower = Frame::default();
    for i in 0..5 {
        for j in 0..9 {
            tower.joints.push([3.6 * i as f64, 3.0 * j as f64]);
            tower.names.push(format!("N{i}_{j}"));
        }
        tower.supports.push((joint(i, 0), Hold::Fixed));
    }
    let member = |a, b, ea, ei| frame::Member { ends: [a, b], kind: Kind::Beam, hinged: [false; 2], ea, ei };
    for j in 1..9 {
        for i in 0..5 {
            tower.members.push(member(joint(i, j - 1), joint(i, j), 2.6e9, 31e6));
        }
        for i in 1..5 {
            let (member, stretch) = (member(joint(i - 1, j), joint(i, j), 1.1e9, 24e6), [0.0, 3.6]);
            let intensity = [[0.0, -1.2 * 9e3]; 2];
            tower.loads.push(Load::Spread {
                member: tower.members.len(),
                from_end: 0,
                stretch,
                intensity,
                measure: Measure::Length,
                delivery: Delivery::Along,
            });
            tower.members.push(member);
        }
        tower.loads.push(Load::Force { joint: joint(0, j), force: [1.6 * (2e3 + 400.0 * j as f64), 0.0] });
    }
    agree(&tower, example.case("strength"), 1e-9);
}

/// The club's portal shed, its loads worked out by hand from roof and wind.
#[test]
fn the_example_of_the_portal_shed_agrees_with_the_displacement_method() {
    let example = solve(include_str!("../../examples/portal-shed.kp"));
    assert_eq!(example.errors(), Vec::<String>::new());
    let mut shed = Frame::default();
    for (name, at) in [
        ("A", [0.0, 0.0]),
        ("B", [0.0, 3.6]),
        ("C", [3.6, 4.8]),
        ("D", [7.2, 3.6]),
        ("E", [7.2, 0.0]),
        ("F", [11.4, 2.7]),
        ("G", [11.4, 0.0]),
    ] {
        shed.names.push(name.to_owned());
        shed.joints.push(at);
    }
    shed.supports = vec![(0, Hold::Pin), (4, Hold::Fixed), (6, Hold::Pin)];
    // Section by area and second moment, E = 210 GPa; own weight at 78.5 kN/m³.
    let (post, rafter, light) = ((40e-4, 2500e-8), (30e-4, 1900e-8), (20e-4, 900e-8));
    for (ends, (area, second), at_start) in [
        ([0, 1], post, false),
        ([4, 3], post, false),
        ([1, 2], rafter, false),
        ([2, 3], rafter, false),
        ([3, 5], light, true),
        ([6, 5], light, false),
    ] {
        let (ea, ei) = (210e9 * area, 210e9 * second);
        shed.members.push(frame::Member { ends, kind: Kind::Beam, hinged: [at_start, false], ea, ei });
    }
    let mut spread = |member: usize, intensity: [[f64; 2]; 2], measure: Measure| {
        let stretch = [0.0, shed.length(member)];
        shed.loads.push(Load::Spread { member, from_end: 0, stretch, intensity, measure, delivery: Delivery::Along });
    };
    let (dead, snow, wind) = (1.2, 1.6, 0.5);
    for (member, (area, _)) in [(0, post), (1, post), (2, rafter), (3, rafter), (4, light), (5, light)] {
        spread(member, [[0.0, -dead * 78.5e3 * area]; 2], Measure::Length);
    }
    for member in 2..5 {
        spread(member, [[0.0, -dead * 0.35e3 * 5.0]; 2], Measure::Length);
        let far = if member == 4 { 2.0 } else { 1.0 };
        spread(member, [[0.0, -snow * 4e3], [0.0, -snow * 4e3 * far]], Measure::Run);
    }
    spread(0, [[wind * 2.5e3, 0.0]; 2], Measure::Length);
    spread(5, [[wind * 1.25e3, 0.0]; 2], Measure::Length);
    // Suction square to the roof: B-C rises 1 in 3, C-D falls 1 in 3, D-F falls 0.9 in 4.2.
    for (member, suction, [run, rise]) in [(2, 0.75e3, [3.6, 1.2]), (3, 1.25e3, [3.6, -1.2]), (4, 1.25e3, [4.2, -0.9])]
    {
        let size = wind * suction / f64::hypot(run, rise);
        spread(member, [[-size * rise, size * run]; 2], Measure::Length);
    }
    agree(&shed, example.case("strength"), 1e-9);
}
