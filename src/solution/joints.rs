//! The method of joints: bars that carry nothing by inspection, then joint
//! after joint with at most two unknowns; where the joints stall, a section,
//! then one force carried along, then the joints together. What is left over
//! is a check.
//!
//! Must not know: how reactions are found.

use std::collections::BTreeSet;

use crate::base::{JointId, MemberId};
use crate::statics::equilibrium::Points;

use super::complex::{Way, find_way};
use super::elimination::Pair;
use super::loads::Loads;
use super::part::{Balance, Sum, UnknownId};
use super::problem::Problem;
use super::sections::{Cut, Sections};
use super::system::{System, Together};

/// One step from joint to joint.
#[derive(Clone, Debug)]
pub enum Step {
    /// Bars that carry nothing, by inspection.
    Bare(Vec<Bare>),
    Joint(JointId, Vec<Line>),
    Section(Cut),
    Carried(Way),
    Together(Together),
    /// The equations left cannot be told from singular ones.
    Singular,
    /// Sums of joints that were not needed: they have to come to zero.
    LeftOver(Vec<(JointId, Balance)>),
}

/// What the sums of a joint give.
#[derive(Clone, Debug)]
pub enum Line {
    Alone(Balance, (UnknownId, f64)),
    Pair(Box<Pair>),
    Check(Balance),
}

/// Bars at a joint that carry nothing, and why.
#[derive(Clone, Debug)]
pub struct Bare {
    pub joint: JointId,
    pub bars: Vec<MemberId>,
    pub why: Why,
}

#[derive(Clone, Copy, Debug)]
pub enum Why {
    OneAlone,
    TwoAngled,
    /// A third beside these two, which are in line.
    BesideTwo(MemberId, MemberId),
}

/// Finds the force in every bar of a truss divided at its joints, or in bars
/// until one is found.
pub fn find(
    problem: &Problem<'_>,
    truss: &mut System,
    loads: &Loads,
    sections: &mut Sections,
    wanted: Option<MemberId>,
) -> Vec<Step> {
    let joints = || problem.structure.joints.ids();
    let mut steps = Vec::new();
    let bare = bare_bars(problem, truss, loads);
    if !bare.is_empty() {
        steps.push(Step::Bare(bare));
    }
    let mut last: Option<JointId> = None;
    let mut done: BTreeSet<JointId> = BTreeSet::new();
    while !truss.all_found() {
        if wanted.is_some_and(|member| truss.bar(member).is_some()) {
            return steps;
        }
        if let Some((joint, lines)) = next_joint(problem, truss, last, &done) {
            steps.push(Step::Joint(joint, lines));
            done.insert(joint);
            last = Some(joint);
            continue;
        }
        last = None;
        let open: Vec<MemberId> = truss.links.ids().filter(|member| truss.bar(*member).is_none()).collect();
        if let Some(cut) = open.iter().find_map(|member| sections.find(problem, truss, *member)) {
            truss.set(cut.gives.0, cut.gives.1);
            steps.push(Step::Section(cut));
        } else if let Some(way) = find_way(problem, truss) {
            for (id, value) in way.gives(problem) {
                truss.set(id, value);
            }
            done.extend(way.joints.iter().map(|(joint, _)| *joint));
            steps.push(Step::Carried(way));
        } else if let Some(mut together) = truss.together(problem) {
            for (id, value) in &mut together.gives {
                *value = problem.quiet(*value);
                truss.set(*id, *value);
            }
            steps.push(Step::Together(together));
        } else {
            steps.push(Step::Singular);
            return steps;
        }
    }
    let left = joints().filter(|joint| !done.contains(joint)).flat_map(|joint| {
        let sums = truss.sums_at(problem, joint);
        sums.into_iter().filter(|balance| !balance.terms.is_empty()).map(move |balance| (joint, balance))
    });
    let left: Vec<_> = left.collect();
    if !left.is_empty() {
        steps.push(Step::LeftOver(left));
    }
    steps
}

/// Bars that carry nothing, by inspection. Each is taken away before the next
/// is looked for.
fn bare_bars(problem: &Problem<'_>, truss: &mut System, loads: &Loads) -> Vec<Bare> {
    let points = Points::of(problem.structure);
    let mut found = Vec::new();
    let is_free = |joint: &JointId| {
        let is_loaded = loads.at(*joint).iter().any(|part| problem.quiet(*part) != 0.0);
        problem.structure.support_at(*joint).is_none() && !is_loaded
    };
    let free: Vec<JointId> = problem.structure.joints.ids().filter(is_free).collect();
    let mut again = true;
    while again {
        again = false;
        for joint in &free {
            let mut bars = problem.bars_at(*joint);
            bars.retain(|(member, _)| truss.bar(*member) != Some(0.0));
            if bars.iter().all(|(member, _)| truss.bar(*member).is_some()) {
                continue;
            }
            let in_line = |a: JointId, b: JointId| points.turn(a, *joint, b).is_eq();
            let (none, why) = match bars.as_slice() {
                [(only, _)] => (vec![*only], Why::OneAlone),
                [(first, a), (second, b)] if !in_line(*a, *b) => (vec![*first, *second], Why::TwoAngled),
                [(first, a), (second, b), (third, c)] => match (in_line(*a, *b), in_line(*a, *c), in_line(*b, *c)) {
                    (true, false, false) => (vec![*third], Why::BesideTwo(*first, *second)),
                    (false, true, false) => (vec![*second], Why::BesideTwo(*first, *third)),
                    (false, false, true) => (vec![*first], Why::BesideTwo(*second, *third)),
                    _ => continue,
                },
                _ => continue,
            };
            let bars: Vec<MemberId> = none.into_iter().filter(|member| truss.bar(*member).is_none()).collect();
            if bars.is_empty() {
                continue;
            }
            for bar in &bars {
                truss.links[*bar].into_iter().for_each(|id| truss.set(id, 0.0));
            }
            found.push(Bare { joint: *joint, bars, why });
            again = true;
        }
    }
    found
}

/// The next joint with at most two unknowns, and how they are found. Joints
/// whose sums leave one unknown each come first, then neighbours of the last.
fn next_joint(
    problem: &Problem<'_>,
    truss: &mut System,
    last: Option<JointId>,
    done: &BTreeSet<JointId>,
) -> Option<(JointId, Vec<Line>)> {
    let fresh = problem.structure.joints.ids().filter(|joint| !done.contains(joint));
    let ready = fresh.filter(|joint| (1..=2).contains(&truss.open_at(*joint).len()));
    let mut ready: Vec<(bool, bool, JointId)> = ready
        .map(|joint| {
            let sums = truss.sums_at(problem, joint);
            let single = sums.iter().any(|balance| balance.open.len() == 1);
            (!single, !problem.is_near(last, joint), joint)
        })
        .collect();
    ready.sort_unstable();
    ready.into_iter().find_map(|(_, _, joint)| Some((joint, at_joint(problem, truss, joint)?)))
}

/// The sums of one joint, and what they give.
fn at_joint(problem: &Problem<'_>, truss: &mut System, joint: JointId) -> Option<Vec<Line>> {
    let mut lines = Vec::new();
    let mut waiting = vec![Sum::Y, Sum::X];
    let balance = |truss: &System, sum: Sum| Balance::of(problem, &truss.unknowns, truss.part_at(joint), sum);
    while let Some(next) = waiting.iter().position(|sum| balance(truss, *sum).open.len() == 1) {
        let balance = balance(truss, waiting.remove(next));
        let (id, value) = balance.alone(problem, &truss.unknowns)?;
        let value = problem.quiet(value);
        truss.set(id, value);
        lines.push(Line::Alone(balance, (id, value)));
    }
    let open: Vec<UnknownId> = truss.open_at(joint).into_iter().collect();
    if let ([second, first], [p, q]) = (waiting.as_slice(), open.as_slice()) {
        let mut pair = Pair::of([&balance(truss, *first), &balance(truss, *second)], [*p, *q])?;
        for (id, value) in &mut pair.gives {
            truss.set(*id, problem.quiet(*value));
        }
        lines.push(Line::Pair(Box::new(pair)));
        waiting.clear();
    }
    if !truss.open_at(joint).is_empty() {
        return (!lines.is_empty()).then_some(lines);
    }
    let checks = waiting.into_iter().map(|sum| balance(truss, sum));
    lines.extend(checks.filter(|balance| !balance.terms.is_empty()).map(Line::Check));
    Some(lines)
}
