//! Trains of loads against brute force: the same positions stated as ordinary
//! cases. Many sampled positions never exceed the ranges and come close to
//! them; at each extreme's own position an ordinary case gives its very value.

use std::fmt::Write as _;

use kingpost::base::{MemberId, SupportId};
use kingpost::check::{Checked, check};
use kingpost::diagnostic::Severity;
use kingpost::statics::diagram::Quantity;
use kingpost::statics::travel::{Heading, Peak, TrainPosition};
use kingpost::statics::{CaseResult, Range, TravelResult};
use kingpost::structure::{SourceRefusal, read_project};
use kingpost::syntax::tree::MemberKind;
use proptest::prelude::*;

/// A structure without its loads, and the train that runs over it.
struct Run<'a> {
    layout: &'a str,
    /// The path's chain and its length, metres.
    path: &'a str,
    whole: f64,
    /// kN down, or components.
    loads: &'a [&'a str],
    /// Metres.
    spacings: &'a [f64],
}

fn solved(text: &str) -> Checked {
    let mut nothing = |_: &str| Err(SourceRefusal(String::new()));
    let checked = check(&read_project("test.kp", text.to_owned(), &mut nothing));
    let errors: Vec<_> = checked.diagnostics.iter().filter(|found| found.severity == Severity::Error).collect();
    assert!(errors.is_empty(), "{errors:#?}\n{text}");
    checked
}

impl Run<'_> {
    fn travel(&self) -> String {
        let spaced: Vec<String> = self.spacings.iter().map(|spacing| format!("{spacing} m")).collect();
        let spaced = if spaced.is_empty() { String::new() } else { format!(" spaced {}", spaced.join(", ")) };
        format!("{}\ntravel train: {}{spaced} along {}\n", self.layout, self.loads.join(", "), self.path)
    }

    /// The train at one position as a case.
    fn case(&self, text: &mut String, name: &str, front: f64, heading: Heading, on: Option<[usize; 2]>) {
        writeln!(text, "case {name} {{").unwrap();
        let mut behind = 0.0;
        for (index, load) in self.loads.iter().enumerate() {
            let place = if heading == Heading::Onward { front - behind } else { front + behind };
            behind += self.spacings.get(index).copied().unwrap_or(0.0);
            let is_on = on.map_or((0.0..=self.whole).contains(&place), |[first, last]| (first..=last).contains(&index));
            if is_on {
                let place = place.clamp(0.0, self.whole * (1.0 - 1e-15));
                let load = if load.starts_with('(') { (*load).to_owned() } else { format!("{load} down") };
                writeln!(text, "  load {}: {load} at {place:.14} m", self.path).unwrap();
            }
        }
        writeln!(text, "}}").unwrap();
    }

    fn length(&self) -> f64 {
        self.spacings.iter().sum()
    }
}

/// What reads from a case the least and the most of what a range is about.
type Reader = Box<dyn Fn(&Checked, &CaseResult) -> [f64; 2]>;

fn readers(checked: &Checked, travel: &TravelResult) -> Vec<(String, Range, Reader)> {
    let structure = &checked.structure;
    let mut readers: Vec<(String, Range, Reader)> = Vec::new();
    for (index, reaction) in travel.reactions.iter().enumerate() {
        let index = SupportId::new(index);
        let joint = structure.joint_name(structure.supports[index].joint);
        type Part = fn(&kingpost::statics::Reaction) -> Option<f64>;
        let parts: [(&str, Option<Range>, Part); 3] =
            [("fx", reaction.fx, |r| r.fx), ("fy", reaction.fy, |r| r.fy), ("m", reaction.m, |r| r.m)];
        for (what, range, part) in parts {
            if let Some(range) = range {
                let read = move |_: &Checked, case: &CaseResult| [part(&case.reactions[index]).unwrap(); 2];
                readers.push((format!("{what} at {joint}"), range, Box::new(read)));
            }
        }
    }
    for (index, member) in travel.members.iter().enumerate() {
        let id = MemberId::new(index);
        let name = structure.member_name(id);
        let along = move |quantity: Quantity| -> Reader {
            Box::new(move |checked: &Checked, case: &CaseResult| {
                let [most, least] = case.diagram(&checked.structure, id).extremes(quantity);
                [least.value, most.value]
            })
        };
        if structure.members[id].kind != MemberKind::Beam {
            let read = move |_: &Checked, case: &CaseResult| [case.axial[id]; 2];
            readers.push((format!("force {name}"), member.axial, Box::new(read)));
            continue;
        }
        let bending = member.bending.unwrap();
        readers.push((format!("axial {name}"), member.axial, along(Quantity::Axial)));
        readers.push((format!("shear {name}"), bending.shear, along(Quantity::Shear)));
        readers.push((format!("moment {name}"), bending.moment, along(Quantity::Moment)));
        for (end, range) in bending.ends.into_iter().enumerate() {
            let read = move |_: &Checked, case: &CaseResult| [case.moments[id][end]; 2];
            readers.push((format!("moment at end {end} of {name}"), range, Box::new(read)));
        }
    }
    readers
}

/// Compares a train with samples, which no range may leave out, and with its
/// own extreme positions, which are solved again as cases.
fn compare(run: &Run<'_>, samples: u32) {
    let followed = solved(&run.travel());
    let travel = &followed.solution.as_ref().unwrap().travels[0];
    assert!(travel.residual.is_small() && travel.checked > 0, "{:?}", travel.residual);
    let readers = readers(&followed, travel);

    let mut text = run.layout.to_owned() + "\n";
    let reach = run.whole + run.length();
    for sample in 0..=samples {
        let front = reach * f64::from(sample) / f64::from(samples);
        run.case(&mut text, &format!("onward{sample}"), front, Heading::Onward, None);
        run.case(&mut text, &format!("back{sample}"), run.whole - front, Heading::Back, None);
    }
    let sampled = solved(&text);
    let cases = &sampled.solution.as_ref().unwrap().results;
    for (what, range, read) in &readers {
        let (mut least, mut most) = (0.0_f64, 0.0_f64);
        for case in cases {
            let [low, high] = read(&sampled, case);
            (least, most) = (least.min(low), most.max(high));
        }
        let noise = 1e-9 * travel.largest * run.whole;
        assert!(range.least.value <= least + noise, "{what}: sampled {least}, range {range:?}");
        assert!(range.most.value >= most - noise, "{what}: sampled {most}, range {range:?}");
    }

    let mut peaks: Vec<(usize, bool, Peak, TrainPosition)> = Vec::new();
    for (index, (_, range, _)) in readers.iter().enumerate() {
        for (is_most, peak) in [(false, range.least), (true, range.most)] {
            if let Some(train) = peak.train {
                peaks.push((index, is_most, peak, train));
            }
        }
    }
    let mut text = run.layout.to_owned() + "\n";
    for (index, (_, _, _, train)) in peaks.iter().enumerate() {
        run.case(&mut text, &format!("peak{index}"), train.front, train.heading, Some(train.on));
    }
    let stopped = solved(&text);
    let cases = &stopped.solution.as_ref().unwrap().results;
    for (case, (index, is_most, peak, train)) in cases.iter().zip(&peaks) {
        let (what, _, read) = &readers[*index];
        let [low, high] = read(&stopped, case);
        let value = if *is_most { high } else { low };
        let mut off = (value - peak.value).abs();
        if what.starts_with("shear") || what.starts_with("axial") {
            // With a load at a joint of the path the case may put it just
            // beyond: then the extreme is the limit from the other side.
            off = off.min(beside(run, &readers[*index].2, train, *is_most, peak.value));
        }
        let noise = 1e-8 * travel.largest * run.whole.max(1.0);
        assert!(off <= noise, "{what}: {value} as a case, {} followed, {train:?}", peak.value);
    }
}

/// How far a value is off with the train a hair to either side.
fn beside(run: &Run<'_>, read: &Reader, train: &TrainPosition, is_most: bool, value: f64) -> f64 {
    let hair = 1e-9;
    let mut best = f64::INFINITY;
    for step in [-hair, hair] {
        let mut text = run.layout.to_owned() + "\n";
        run.case(&mut text, "near", train.front + step, train.heading, None);
        let stopped = solved(&text);
        let [low, high] = read(&stopped, &stopped.solution.as_ref().unwrap().results[0]);
        best = best.min((if is_most { high } else { low } - value).abs());
    }
    best
}

const SIMPLE: &str = "units m, kN\njoint A: (0, 0)\njoint B: (10, 0)\nbeam A-B\npin A\nroller B";

const CONTINUOUS: &str = "units m, kN
joint A: (0, 0)
joint B: (8, 0)
joint C: (18, 0)
joint D: (25, 0)
section s: EA = 900 MN, EI = 60 MN*m^2
section t: EA = 900 MN, EI = 90 MN*m^2
beam A-B, D-C: s
beam B-C: t
pin A
roller B, C, D
allow roller-pulls";

const GERBER: &str = "units m, kN
joint A: (0, 0)
joint B: (6, 0)
joint H: (8, 0)
joint C: (14, 0)
joint D: (16, 0)
beam A-B-H-C-D: hinged at H
pin A
roller B, C
allow roller-pulls";

const PORTAL: &str = "units m, kN
joint A: (0, 0)
joint B: (0, 4)
joint R: (5, 5.5)
joint C: (10, 4)
joint D: (10, 0)
joint E: (12, 4)
section s: EA = 700 MN, EI = 35 MN*m^2
section tie: EA = 80 MN, EI = 1 MN*m^2
beam A-B-R-C-D, C-E: s
bar B-C: tie
fixed A
pin D";

#[test]
fn a_simple_beam() {
    let run = Run { layout: SIMPLE, path: "A-B", whole: 10.0, loads: &["40 kN", "60 kN"], spacings: &[5.0] };
    compare(&run, 400);
    // Longer than the beam.
    let run = Run { layout: SIMPLE, path: "B-A", whole: 10.0, loads: &["4 kN", "9 kN", "7 kN"], spacings: &[6.0, 7.0] };
    compare(&run, 400);
}

#[test]
fn a_continuous_beam() {
    let loads = ["35 kN", "145 kN", "145 kN"];
    compare(&Run { layout: CONTINUOUS, path: "A-B-C-D", whole: 25.0, loads: &loads, spacings: &[4.27, 5.0] }, 500);
    compare(&Run { layout: CONTINUOUS, path: "C-B-A", whole: 18.0, loads: &["10 kN"], spacings: &[] }, 500);
}

#[test]
fn a_beam_with_a_hinge_and_an_overhang() {
    compare(&Run { layout: GERBER, path: "A-B-H-C-D", whole: 16.0, loads: &["20 kN", "12 kN"], spacings: &[2.5] }, 500);
}

#[test]
fn a_frame_with_a_sloping_path_and_a_push_along_it() {
    let whole = 2.0 * 5.0_f64.hypot(1.5) + 2.0;
    let loads = ["(1.5, -10) kN", "14 kN", "(-0.5, 3) kN"];
    compare(&Run { layout: PORTAL, path: "B-R-C-E", whole, loads: &loads, spacings: &[1.75, 3.0] }, 400);
}

#[test]
fn a_spring_and_a_rigid_span() {
    let layout = "units m, kN
joint A: (0, 0)
joint B: (4, 0)
joint C: (9, 0)
section s: EA = 900 MN, EI = 12 MN*m^2
section r: EA = rigid, EI = rigid
beam A-B: r
beam B-C: s
fixed A
spring B: ky = 3 kN/mm
roller C
allow roller-pulls";
    compare(&Run { layout, path: "A-B-C", whole: 9.0, loads: &["20 kN", "20 kN"], spacings: &[1.8] }, 400);
}

/// AISC Steel Construction Manual, Table 3-23, two equal moving loads (from
/// memory): M = P/2L (L - a/2)² under a load a/4 from midspan while a < 0.586 L,
/// else PL/4 with one load at midspan; R = P (2 - a/L).
#[test]
fn two_equal_loads_follow_the_tabulated_formulae() {
    for a in [0.5, 2.0, 5.5, 5.9, 8.0] {
        let run = Run { layout: SIMPLE, path: "A-B", whole: 10.0, loads: &["10 kN", "10 kN"], spacings: &[a] };
        let checked = solved(&run.travel());
        let travel = &checked.solution.as_ref().unwrap().travels[0];
        let moment = travel.members.first().unwrap().bending.unwrap().moment.most;
        let pair = 10e3 / 20.0 * (10.0 - a / 2.0_f64).powi(2);
        let expected = if a < 0.586 * 10.0 { pair } else { 25e3 };
        assert!((moment.value - expected).abs() < 1e-9 * expected, "{a}: {moment:?}");
        if a < 0.586 * 10.0 {
            assert!(((moment.at - 5.0).abs() - a / 4.0).abs() < 1e-6, "{a}: {moment:?}");
        }
        let reaction = travel.reactions.first().unwrap().fy.unwrap().most.value;
        assert!((reaction - 10e3 * (2.0 - a / 10.0)).abs() < 1e-8, "{a}: {reaction}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    /// Any spans, any train.
    #[test]
    fn any_train_on_any_continuous_beam(
        spans in prop::collection::vec(2u32..12, 2..4),
        sizes in prop::collection::vec(1u32..50, 1..4),
        gaps in prop::collection::vec(0u32..80, 3),
        hinge in any::<bool>(),
    ) {
        let mut layout = "units m, kN\nsection s: EA = 500 MN, EI = 40 MN*m^2\nallow roller-pulls\njoint J0: (0, 0)\nfixed J0\n".to_owned();
        let (mut at, mut chain) = (0, "J0".to_owned());
        for (index, span) in spans.iter().enumerate() {
            at += span;
            let joint = index + 1;
            writeln!(layout, "joint J{joint}: ({at}, 0)\nroller J{joint}").unwrap();
            write!(chain, "-J{joint}").unwrap();
        }
        writeln!(layout, "beam {chain}: s{}", if hinge { ", hinged at J1" } else { "" }).unwrap();
        let loads: Vec<String> = sizes.iter().map(|size| format!("{size} kN")).collect();
        let loads: Vec<&str> = loads.iter().map(String::as_str).collect();
        let gaps: Vec<f64> = gaps.iter().take(sizes.len() - 1).map(|gap| f64::from(*gap) / 10.0).collect();
        compare(&Run { layout: &layout, path: &chain, whole: f64::from(at), loads: &loads, spacings: &gaps }, 200);
    }
}
