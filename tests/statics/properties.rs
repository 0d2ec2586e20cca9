//! What must hold of every determinate truss, on random ones.
//!
//! A truss is grown joint by joint: from a base line on supports, each new
//! joint stands on two bars, not in one line, to joints that are there. So it
//! is determinate by construction (the rule of simple trusses, common
//! practice), whatever its looks.

use std::fmt::Write as _;

use kingpost::check::{Checked, check};
use kingpost::diagnostic::{Cure, Grade, Severity, Slug};
use kingpost::present::results::{Answer, write_json};
use kingpost::statics::VerdictKind;
use kingpost::structure::{Project, read_project};
use proptest::prelude::*;
use proptest::test_runner::{Config, FileFailurePersistence};

/// Forces may differ by so much of the largest after a change that must not matter.
const SAME: f64 = 1e-9;
/// The residual a result of this size may have.
const RESIDUAL: f64 = 1e-12;

fn config(cases: u32) -> Config {
    let failure_persistence = Some(Box::new(FileFailurePersistence::Off) as _);
    Config { cases, failure_persistence, max_shrink_iters: 200, ..Config::default() }
}

/// A truss as a drawing would give it: millimetres and newtons, whole numbers.
#[derive(Clone, Debug)]
struct Truss {
    joints: Vec<[i64; 2]>,
    bars: Vec<(usize, usize)>,
    supports: Supports,
    /// Loads by case: joint, force.
    cases: Vec<Vec<(usize, [i64; 2])>>,
    /// Thousandths of each case in the one combination.
    factors: Vec<i64>,
}

#[derive(Clone, Copy, Debug)]
enum Supports {
    /// A pin at the first joint, a roller at the second whose way runs along this vector.
    PinAndRoller([i64; 2]),
    /// Two pins, and no bar between them.
    TwoPins,
}

impl Truss {
    fn reactions(&self) -> usize {
        match self.supports {
            Supports::PinAndRoller(_) => 3,
            Supports::TwoPins => 4,
        }
    }
}

fn truss(most: usize) -> impl Strategy<Value = Truss> {
    let step = (any::<prop::sample::Index>(), any::<prop::sample::Index>(), -4000_i64..4000, -4000_i64..4000);
    let grown = prop::collection::vec(step, 1..most - 1);
    let load = (any::<prop::sample::Index>(), -9000_i64..9000, -9000_i64..9000);
    let cases = prop::collection::vec(prop::collection::vec(load, 1..5), 1..4);
    let supports = (any::<bool>(), -50_i64..50, 1_i64..50);
    (grown, cases, supports, prop::collection::vec(-2000_i64..2000, 3))
        .prop_map(|(grown, cases, supports, factors)| {
            let (two_pins, along_y, along_x) = supports;
            let mut joints = vec![[0, 0], [4000, 0]];
            let mut bars = if two_pins { vec![] } else { vec![(0, 1)] };
            for (a, b, dx, dy) in grown {
                let a = a.index(joints.len());
                let b = (a + 1 + b.index(joints.len() - 1)) % joints.len();
                if let Some(at) = place(&joints, a, b, [dx, dy]) {
                    bars.extend([(a, joints.len()), (b, joints.len())]);
                    joints.push(at);
                }
            }
            let cases = cases
                .iter()
                .map(|loads| loads.iter().map(|(at, x, y)| (at.index(joints.len()), [*x, *y])).collect())
                .collect::<Vec<Vec<_>>>();
            // Rolling ways from level to steep: the reaction never runs along the base line.
            let supports = if two_pins { Supports::TwoPins } else { Supports::PinAndRoller([along_x, along_y]) };
            let factors = factors[..cases.len()].to_vec();
            Truss { joints, bars, supports, cases, factors }
        })
        .prop_filter("no joint could be placed", |truss| truss.joints.len() > 2)
}

/// Where a new joint on two others stands: near the middle between them, off
/// their line and off every other joint. Slivers are left out, they are what
/// the warning about sensitivity is for.
fn place(joints: &[[i64; 2]], a: usize, b: usize, off: [i64; 2]) -> Option<[i64; 2]> {
    let ([ax, ay], [bx, by]) = (joints[a], joints[b]);
    let at = [(ax + bx) / 2 + off[0], (ay + by) / 2 + off[1]];
    let to = |[x, y]: [i64; 2]| [(x - at[0]) as f64, (y - at[1]) as f64];
    let ([ux, uy], [vx, vy]) = (to(joints[a]), to(joints[b]));
    let sine = (ux * vy - uy * vx).abs() / (ux.hypot(uy) * vx.hypot(vy)).max(1.0);
    let clear = joints.iter().all(|joint| to(*joint)[0].hypot(to(*joint)[1]) > 200.0);
    (sine > 0.2 && clear && at[0].abs().max(at[1].abs()) < 200_000).then_some(at)
}

/// How a truss is written down; what the numbers mean stays the same.
#[derive(Clone, Copy)]
struct Writing {
    /// Turns everything counterclockwise by the angle of this whole-number vector's square: cosine and sine exact.
    turn: [i64; 2],
    mirrored: bool,
    units: Units,
}

#[derive(Clone, Copy)]
enum Units {
    MillimetresNewtons,
    MetresKilonewtons,
    /// Exactly 25.4 mm to the inch, so a millimetre is 5/127 of an inch.
    InchesPounds,
}

const PLAIN: Writing = Writing { turn: [1, 0], mirrored: false, units: Units::MillimetresNewtons };

impl Writing {
    /// A vector of whole numbers after turning and mirroring, as an exact expression.
    fn vector(self, [x, y]: [i64; 2], unit: &str) -> String {
        let x = if self.mirrored { -x } else { x };
        let [p, q] = self.turn;
        // (p + qi)² over its size is a rotation with rational cosine and sine.
        let (cos, sin, size) = (p * p - q * q, 2 * p * q, p * p + q * q);
        let (tx, ty) = (cos * x - sin * y, sin * x + cos * y);
        let whole = |v: i64| if v < 0 { format!("0-{}", -v) } else { v.to_string() };
        let part = |v: i64| if size == 1 { whole(v) } else { format!("({})/{size}", whole(v)) };
        format!("({}, {}){unit}", part(tx), part(ty))
    }

    fn head(self) -> &'static str {
        match self.units {
            Units::MillimetresNewtons => "units mm, N",
            Units::MetresKilonewtons => "units m, kN",
            Units::InchesPounds => "units in, lbf",
        }
    }

    fn point(self, at: [i64; 2]) -> String {
        match self.units {
            Units::MillimetresNewtons => self.vector(at, ""),
            Units::MetresKilonewtons => format!("{}/1000", self.vector(at, " m")),
            Units::InchesPounds => format!("{}*5/127", self.vector(at, " in")),
        }
    }

    fn force(self, force: [i64; 2]) -> String {
        match self.units {
            Units::MillimetresNewtons => self.vector(force, ""),
            Units::MetresKilonewtons => format!("{}/1000", self.vector(force, " kN")),
            // One pound-force is exactly 4.4482216152605 N.
            Units::InchesPounds => format!("{}/4.4482216152605", self.vector(force, " lbf")),
        }
    }
}

fn name(joint: usize) -> String {
    format!("J{}", joint + 1)
}

fn member(bar: (usize, usize)) -> String {
    format!("{}-{}", name(bar.0), name(bar.1))
}

/// The statements of a truss, one a line, in the order of drawing.
fn lines(truss: &Truss, writing: Writing) -> Vec<String> {
    let mut lines = vec![writing.head().to_owned()];
    lines.extend(truss.joints.iter().enumerate().map(|(i, at)| format!("joint {}: {}", name(i), writing.point(*at))));
    lines.extend(truss.bars.iter().map(|bar| format!("bar {}", member(*bar))));
    match truss.supports {
        Supports::TwoPins => lines.push("pin J1, J2".to_owned()),
        Supports::PinAndRoller(along) => {
            lines.push("pin J1".to_owned());
            lines.push(format!("roller J2: along {}", writing.vector(along, "")));
        }
    }
    for (case, loads) in truss.cases.iter().enumerate() {
        let mut block = format!("case c{case} {{");
        for (joint, force) in loads {
            write!(block, "\n  load {}: {}", name(*joint), writing.force(*force)).unwrap();
        }
        lines.push(block + "\n}");
    }
    lines.push(format!("combination mixed: {}", combination(&truss.factors)));
    lines
}

fn combination(factors: &[i64]) -> String {
    let mut sum = String::new();
    for (case, factor) in factors.iter().enumerate() {
        let sign = match (case, *factor < 0) {
            (0, false) => "",
            (0, true) => "-",
            (_, false) => " + ",
            (_, true) => " - ",
        };
        write!(sum, "{sign}{} c{case}", factor.abs() as f64 / 1000.0).unwrap();
    }
    sum
}

fn read(text: &str) -> Project {
    read_project("truss.kp", text.to_owned(), &mut |_| panic!("nothing is used"))
}

fn checked(text: &str) -> Checked {
    check(&read(text))
}

fn written(truss: &Truss, writing: Writing) -> String {
    lines(truss, writing).join("\n") + "\n"
}

/// The axial forces, one list a case; panics with the findings where there are none.
fn forces(text: &str) -> Vec<Vec<f64>> {
    let checked = checked(text);
    let Some(solution) = &checked.solution else { panic!("not solved: {:#?}\n{text}", checked.diagnostics) };
    solution.results.iter().map(|result| result.axial.to_vec()).collect()
}

fn size(forces: &[f64]) -> f64 {
    forces.iter().fold(0.0, |largest, force| largest.max(force.abs()))
}

fn assert_same(left: &[Vec<f64>], right: &[Vec<f64>], what: &str) {
    assert_eq!(left.len(), right.len());
    for (left, right) in left.iter().zip(right) {
        let allowed = SAME * size(left).max(size(right)).max(1e-6);
        assert_eq!(left.len(), right.len());
        for (place, (a, b)) in left.iter().zip(right).enumerate() {
            assert!((a - b).abs() <= allowed, "{what}: member {place} carries {a} and {b}");
        }
    }
}

fn json(text: &str) -> Vec<u8> {
    let project = read(text);
    let checked = check(&project);
    let answer = Answer::of("truss.kp", &checked, &[]);
    let mut out = Vec::new();
    write_json(&mut out, &answer, &|_| true).unwrap();
    out
}

proptest! {
    #![proptest_config(config(200))]

    #[test]
    fn results_balance_and_add_up(truss in truss(60)) {
        let checked = checked(&written(&truss, PLAIN));
        let verdict = checked.verdict.as_ref().unwrap();
        prop_assert_eq!(verdict.kind, VerdictKind::Determinate);
        prop_assert_eq!(truss.bars.len() + truss.reactions(), 2 * truss.joints.len());
        let results = &checked.solution.as_ref().unwrap().results;
        prop_assert_eq!(results.len(), truss.cases.len() + 1);
        for result in results {
            prop_assert!(result.residual.relative < RESIDUAL, "{:?}", result.residual);
        }
        let (cases, mixed) = results.split_at(truss.cases.len());
        for (place, force) in mixed[0].axial.entries() {
            let sum: f64 = cases.iter().zip(&truss.factors).map(|(case, f)| case.axial[place] * *f as f64 / 1000.0).sum();
            let largest = cases.iter().map(|case| case.largest).fold(0.0, f64::max);
            prop_assert!((force - sum).abs() <= 1e-12 * largest.max(1.0), "{} and {}", force, sum);
        }
    }

    #[test]
    fn a_combination_is_what_its_loads_give_together(truss in truss(30)) {
        // The same factored loads, solved as one case.
        let together: Vec<(usize, [i64; 2])> = truss.cases.iter().zip(&truss.factors)
            .flat_map(|(loads, factor)| loads.iter().map(move |(at, [x, y])| (*at, [x * factor, y * factor])))
            .collect();
        let one = Truss { cases: vec![together], factors: vec![1], ..truss.clone() };
        let (separate, one) = (forces(&written(&truss, PLAIN)), forces(&written(&one, PLAIN)));
        let mixed: Vec<f64> = separate.last().unwrap().iter().map(|force| force * 1000.0).collect();
        let scale = separate.iter().map(|case| size(case)).fold(1e-9, f64::max);
        for (a, b) in mixed.iter().zip(&one[0]) {
            prop_assert!((a - b).abs() <= 1e-8 * 1000.0 * scale, "{} and {}", a, b);
        }
    }

    #[test]
    fn turning_mirroring_and_other_units_change_nothing(truss in truss(24), turn in (1_i64..9, 1_i64..9)) {
        let plain = forces(&written(&truss, PLAIN));
        let turned = Writing { turn: [turn.0, turn.1], ..PLAIN };
        assert_same(&plain, &forces(&written(&truss, turned)), "turned");
        // Mirrored, a roller's way runs the other way round; its line is the same.
        assert_same(&plain, &forces(&written(&truss, Writing { mirrored: true, ..PLAIN })), "mirrored");
        assert_same(&plain, &forces(&written(&truss, Writing { units: Units::MetresKilonewtons, ..PLAIN })), "in m, kN");
        let pounds = Writing { units: Units::InchesPounds, mirrored: true, ..turned };
        assert_same(&plain, &forces(&written(&truss, pounds)), "turned, mirrored, in in, lbf");
    }

    #[test]
    fn the_verdict_does_not_depend_on_how_it_is_written(
        truss in truss(16), turn in (1_i64..9, 1_i64..9),
        gone in any::<prop::sample::Index>(), more in (any::<prop::sample::Index>(), any::<prop::sample::Index>()),
    ) {
        // One bar gone, one placed anywhere: loose, redundant, or by chance sound.
        let mut other = truss.clone();
        other.bars.remove(gone.index(truss.bars.len()));
        let (a, b) = (more.0.index(truss.joints.len()), more.1.index(truss.joints.len()));
        let known = other.bars.contains(&(a, b)) || other.bars.contains(&(b, a));
        if a != b && !known {
            other.bars.push((a, b));
        }
        let verdict = |writing| {
            let verdict = checked(&written(&other, writing)).verdict?;
            Some((verdict.kind, verdict.mechanisms, verdict.redundancy))
        };
        let plain = verdict(PLAIN);
        prop_assert!(plain.is_some());
        let units = Units::InchesPounds;
        for writing in [Writing { turn: [turn.0, turn.1], mirrored: false, units }, Writing { mirrored: true, ..PLAIN }] {
            prop_assert_eq!(plain, verdict(writing));
        }
    }

    #[test]
    fn the_order_of_statements_changes_no_byte(truss in truss(20), order in any::<u64>()) {
        let mut lines = lines(&truss, PLAIN);
        let plain = json(&(lines.join("\n") + "\n"));
        // A plain congruential shuffle (Knuth, The Art of Computer Programming, vol. 2, algorithm 3.4.2 P).
        let mut state = order | 1;
        for last in (1..lines.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            lines.swap(last, (state >> 33) as usize % (last + 1));
        }
        prop_assert_eq!(String::from_utf8(plain), String::from_utf8(json(&(lines.join("\n") + "\n"))));
    }

    #[test]
    fn a_bar_less_is_one_mechanism_and_the_cure_offered_cures(truss in truss(20), which in any::<prop::sample::Index>()) {
        let mut open = truss.clone();
        open.bars.remove(which.index(truss.bars.len()));
        let text = written(&open, PLAIN);
        let checked = checked(&text);
        let verdict = checked.verdict.as_ref().unwrap();
        prop_assert_eq!((verdict.kind, verdict.mechanisms, verdict.redundancy), (VerdictKind::Unstable, 1, 0));
        // A supported joint left without members is loose besides.
        let is_mechanism = |slug| slug != Slug::LooseJoint;
        let errors: Vec<_> = checked
            .diagnostics
            .iter()
            .filter(|found| found.severity == Severity::Error && is_mechanism(found.slug))
            .collect();
        prop_assert_eq!(errors.len(), 1, "{:#?}\n{}", errors, text);
        prop_assert!(errors[0].cures.iter().any(|cure| cure.grade != Grade::Advice), "{:#?}\n{}", errors, text);
        for cure in errors[0].cures.iter().filter(|cure| cure.grade != Grade::Advice) {
            let (help, cured) = (&cure.text, apply(&text, cure));
            let again = check(&read(&cured));
            let verdict = again.verdict.as_ref().unwrap_or_else(|| panic!("{help}\n{cured}\n{:#?}", again.diagnostics));
            prop_assert_eq!(verdict.kind, VerdictKind::Determinate, "{}\n{}", help, cured);
        }
    }

    #[test]
    fn a_bar_more_is_one_redundancy_and_can_be_left_out(truss in truss(20), which in any::<prop::sample::Index>()) {
        let joints = truss.joints.len();
        let free: Vec<(usize, usize)> = (0..joints)
            .flat_map(|a| (a + 1..joints).map(move |b| (a, b)))
            .filter(|(a, b)| !truss.bars.contains(&(*a, *b)) && !truss.bars.contains(&(*b, *a)))
            .collect();
        prop_assume!(!free.is_empty());
        let mut more = truss.clone();
        more.bars.push(free[which.index(free.len())]);
        let text = written(&more, PLAIN);
        let checked = checked(&text);
        let verdict = checked.verdict.as_ref().unwrap();
        prop_assert_eq!((verdict.kind, verdict.mechanisms, verdict.redundancy), (VerdictKind::Indeterminate, 0, 1));
        let redundant = checked.diagnostics.iter().find(|found| found.slug == Slug::Redundant).unwrap();
        for cure in redundant.cures.iter().filter(|cure| cure.grade != Grade::Advice) {
            let rest = apply(&text, cure);
            prop_assert_eq!(check(&read(&rest)).verdict.unwrap().kind, VerdictKind::Determinate, "{}\n{}", cure.text, rest);
        }
    }

    #[test]
    fn claims_made_from_results_hold_and_one_per_cent_off_they_fail(truss in truss(16)) {
        let text = written(&truss, PLAIN);
        let checked = checked(&text);
        let results = &checked.solution.as_ref().unwrap().results;
        let mut right = text.clone();
        let mut wrong = text.clone();
        let mut claims = 0;
        for (result, under) in results.iter().zip((0..truss.cases.len()).map(|case| format!("c{case}")).chain(["mixed".to_owned()])) {
            for (index, axial) in result.axial.iter().enumerate() {
                if axial.abs() <= 1e-3 * result.largest {
                    continue;
                }
                claims += 1;
                let bar = checked.structure.member_name(kingpost::base::MemberId::new(index));
                let sense = if *axial > 0.0 { "tension" } else { "compression" };
                writeln!(right, "expect force {bar}: {:.9e} N {sense} under {under}", axial.abs()).unwrap();
                writeln!(wrong, "expect force {bar}: {:.9e} N {sense} under {under}", axial.abs() * 1.01).unwrap();
            }
        }
        let failing = |text: &str| check(&read(text)).diagnostics.iter().filter(|found| found.slug == Slug::ClaimFails).count();
        prop_assert_eq!(failing(&right), 0);
        prop_assert_eq!(failing(&wrong), claims);
    }
}

/// The text with a cure made.
fn apply(text: &str, cure: &Cure) -> String {
    let mut edits: Vec<_> = cure.edits.iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
    let mut cured = text.to_owned();
    for edit in edits {
        cured.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.replacement);
    }
    cured
}
