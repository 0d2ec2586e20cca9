//! Findings about what acts: loads nothing can take, cases nobody uses,
//! results that cannot be what happens.
//!
//! Must not know: how forces are found.

mod travels;

use std::collections::hash_map::Entry;
use std::hash::BuildHasher as _;

use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};

use crate::base::{CaseId, JointId, MemberId, Origin};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::{Dimension, Number};
use crate::statics::equilibrium::{hinged_joints, rotation_held};
use crate::statics::solve::push;
use crate::statics::{CaseResult, Solution, Subject, ZERO_SHARE, judged};
use crate::structure::{Delivery, Hold, Load, LoadKind, PushSense, Structure, SupportKind};
use crate::syntax::tree::{Measure, MemberKind};

use super::words;

/// Findings of one kind that are told one by one.
const MOST_TOLD: usize = 12;

/// What can be said before anything is solved.
pub fn check_loads(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    if structure.cases.iter().all(|case| case.loads.is_empty()) && structure.travels.is_empty() {
        found.push(no_loads(structure));
    }
    let is_empty = |case: &&crate::structure::Case| case.loads.is_empty() && structure.cases.len() > 1;
    found.extend(structure.cases.iter().filter(is_empty).take(MOST_TOLD).map(|case| {
        let name = structure.names.get(case.name);
        Diagnostic::new(Slug::EmptyCase, format!("case {name} holds no load"))
            .label(case.origin, "nothing acts in this case")
            .help("give it its loads, or leave it out")
    }));
    found.extend(loads_on_bars(structure));
    found.extend(travels::trains_on_bars(structure));
    found.extend(unused_cases(structure));
    found.extend(doubled(structure));
    found
}

fn no_loads(structure: &Structure) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(Slug::NoLoads, "nothing loads the structure");
    if let Some(joint) = structure.joints.first() {
        diagnostic = diagnostic.label(joint.origin, "no load acts here or anywhere else");
    }
    let name = structure.joints.first().map_or("A", |joint| structure.names.get(joint.name));
    diagnostic
        .why("Without loads every reaction and every member force is zero.")
        .help(format!("state a load, for example `load {name}: 10 kN down`"))
}

/// A bar carries forces at its two joints only.
fn loads_on_bars(structure: &Structure) -> Vec<Diagnostic> {
    let turning = rotation_held(structure, &hinged_joints(structure));
    let mut seen: Vec<Origin> = Vec::new();
    let mut found = Vec::new();
    for load in structure.cases.iter().flat_map(|case| &case.loads) {
        let (member, what) = match &load.kind {
            LoadKind::MemberForce { member, .. } => (*member, "a load between its joints"),
            LoadKind::MemberMoment { member, .. } => (*member, "a couple between its joints"),
            LoadKind::Distributed(spread) if spread.delivery == Delivery::AlongMember => {
                (spread.member, "a load along its length")
            }
            LoadKind::JointMoment { joint, .. } => {
                let is_held = turning.get(joint.index()).copied().unwrap_or(false);
                if !is_held && found.len() < MOST_TOLD {
                    found.push(couple_on_pins(structure, *joint, load.origin));
                }
                continue;
            }
            _ => continue,
        };
        let Some(at) = structure.member(member) else { continue };
        if at.kind == MemberKind::Beam || seen.contains(&load.origin) || found.len() >= MOST_TOLD {
            continue;
        }
        seen.push(load.origin);
        let name = structure.member_name(member);
        let (start, end) = (structure.joint_name(at.start), structure.joint_name(at.end));
        let kind = if at.kind == MemberKind::Cable { "cable" } else { "bar" };
        let mut diagnostic = Diagnostic::new(Slug::LoadOnBar, format!("{kind} {name} cannot carry {what}"))
            .label(load.origin, format!("acts on {name} between {start} and {end}"))
            .label(at.origin, format!("{name} is a {kind}: it carries force along its length only"))
            .why("A pin-ended two-force member has no bending resistance; loads reach it at its joints.");
        let mut beam = format!("make it a beam with free ends: `beam {start}-{end}: hinged at {start}, {end}`");
        if matches!(load.kind, LoadKind::Distributed(_)) {
            diagnostic = diagnostic.help("end the load with `at joints` to give each member's share to its two ends");
            beam.insert_str(0, "or ");
        }
        found.push(diagnostic.help(beam));
    }
    found
}

/// A couple on a joint where every end is free to turn.
fn couple_on_pins(structure: &Structure, joint: JointId, at: Origin) -> Diagnostic {
    let name = structure.joint_name(joint);
    let bends = |m: &crate::structure::Member| m.kind == MemberKind::Beam && (m.start == joint || m.end == joint);
    let beam = structure.members.iter().position(bends).map(MemberId::new);
    let diagnostic = Diagnostic::new(Slug::CoupleOnPinnedJoint, format!("nothing at joint {name} can take a couple"));
    match beam {
        None => diagnostic
            .label(at, format!("turns {name}, where only pin-ended members meet"))
            .why("Bars and cables are free to turn at their ends, so a couple on the joint meets no resistance.")
            .help("write the couple as two forces on two joints, or make a member a beam"),
        Some(beam) => {
            let beam = structure.member_name(beam);
            diagnostic
                .label(at, format!("turns {name}, where every member end is hinged"))
                .why("A hinge passes no moment, so a couple on the joint itself meets no resistance.")
                .help(format!("put it on the member it turns, with `moment {beam}: … at …`, or leave one end unhinged"))
        }
    }
}

/// With combinations about, a case that is in none is probably forgotten.
fn unused_cases(structure: &Structure) -> Vec<Diagnostic> {
    if structure.combos.is_empty() {
        return Vec::new();
    }
    let used = structure.combined_cases();
    (0..structure.cases.len())
        .map(CaseId::new)
        .filter(|id| !used.contains(id))
        .filter_map(|id| {
            let case = structure.cases.get(id.index())?;
            let name = structure.case_name(id);
            Some(
                Diagnostic::new(Slug::UnusedCase, format!("case {name} is in no combination"))
                    .label(case.origin, "solved on its own only")
                    .why("Where a file states combinations, each case is usually meant to be in one.")
                    .help(format!("add it to a combination, or `allow {}`", Slug::UnusedCase.word())),
            )
        })
        .take(MOST_TOLD)
        .collect()
}

/// The same load twice on one place in one case: what a merge leaves behind.
/// Own weight counts whole each time a member is weighed.
fn doubled(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let mut told: FxHashSet<(Origin, Origin)> = FxHashSet::default();
    for case in &structure.cases {
        // By a hash of what they are, so that a million loads take little room.
        let mut first: FxHashMap<u64, &Load> = FxHashMap::default();
        for load in &case.loads {
            let own = key(&load.kind);
            let before = match first.entry(FxBuildHasher.hash_one(own)) {
                Entry::Vacant(place) => {
                    place.insert(load);
                    continue;
                }
                Entry::Occupied(before) => *before.get(),
            };
            let is_weight = matches!(load.kind, LoadKind::Weight { .. });
            let pair = (before.origin, load.origin);
            // A statement in a loop is the same one in every turn.
            if (pair.0 == pair.1 && !is_weight) || found.len() >= MOST_TOLD || key(&before.kind) != own {
                continue;
            }
            if told.insert(pair) {
                found.push(doubled_words(structure, &load.kind, pair));
            }
        }
    }
    found
}

fn doubled_words(structure: &Structure, kind: &LoadKind, (before, again): (Origin, Origin)) -> Diagnostic {
    let (what, help) = match kind {
        LoadKind::Weight { member } => {
            let name = structure.member_name(*member);
            let told = Diagnostic::new(Slug::DoubledLoad, format!("the weight of {name} counts twice"));
            let told = told.label(again, format!("weighs {name} again, in the same case"));
            let told = if before == again { told } else { told.label(before, format!("weighs {name} first")) };
            return told
                .why("Each `weigh` adds the whole weight of the members it names; `weigh all` names every member.")
                .help("weigh each member once");
        }
        LoadKind::JointForce { joint, .. } => (
            format!("the same load stands twice on joint {}", structure.joint_name(*joint)),
            "write one load of twice the size",
        ),
        LoadKind::JointMoment { joint, .. } => (
            format!("the same couple stands twice on joint {}", structure.joint_name(*joint)),
            "write one couple of twice the size",
        ),
        LoadKind::Settlement { joint, .. } | LoadKind::SupportTurn { joint, .. } => (
            format!("the same settlement stands twice at joint {}", structure.joint_name(*joint)),
            "write one settlement of twice the size",
        ),
        LoadKind::MemberForce { member, .. } => (
            format!("the same load stands twice on member {}", structure.member_name(*member)),
            "write one load of twice the size",
        ),
        LoadKind::MemberMoment { member, .. } => (
            format!("the same couple stands twice on member {}", structure.member_name(*member)),
            "write one couple of twice the size",
        ),
        LoadKind::Distributed(spread) => {
            let name = structure.member_name(spread.member);
            (format!("the same load stands twice along member {name}"), "write their sum once")
        }
        LoadKind::Heat { member, .. } => (
            format!("the same rise of temperature stands twice on member {}", structure.member_name(*member)),
            "write the whole rise once",
        ),
        LoadKind::Misfit { member, .. } => (
            format!("the same misfit stands twice on member {}", structure.member_name(*member)),
            "write the whole misfit once",
        ),
    };
    Diagnostic::new(Slug::DoubledLoad, what)
        .label(again, "and again here, in the same case")
        .label(before, "stands here first")
        .why("Loads add, so both count. Two equal lines are often what a merge leaves behind.")
        .help(format!("delete one of them, or {help}"))
}

/// Equal for loads that are alike in everything but the line they stand in.
fn key(kind: &LoadKind) -> [u64; 11] {
    let bits = |number: &Number| (number.to_f64() + 0.0).to_bits();
    let filled = |kind: u64, place: u32, parts: &[&Number]| {
        let mut key = [0; 11];
        [key[0], key[1]] = [kind, place.into()];
        key.iter_mut().skip(2).zip(parts).for_each(|(slot, part)| *slot = bits(part));
        key
    };
    match kind {
        LoadKind::JointForce { joint, force: [x, y] } => filled(0, joint.0, &[x, y]),
        LoadKind::JointMoment { joint, moment } => filled(1, joint.0, &[moment]),
        LoadKind::MemberForce { member, force: [x, y], at } => filled(2, member.0, &[x, y, at]),
        LoadKind::MemberMoment { member, moment, at } => filled(3, member.0, &[moment, at]),
        LoadKind::Distributed(spread) => {
            let ([ax, ay], [bx, by]) = (&spread.start, &spread.end);
            let mut key = filled(4, spread.member.0, &[ax, ay, bx, by, &spread.from, &spread.to]);
            let measure = match spread.measure {
                None => 0,
                Some(Measure::PerRun) => 1,
                Some(Measure::PerRise) => 2,
            };
            [key[9], key[10]] = [measure, u64::from(spread.delivery == Delivery::AtJoints)];
            key
        }
        LoadKind::Weight { member } => filled(5, member.0, &[]),
        LoadKind::Heat { member, rise } => filled(6, member.0, &[rise]),
        LoadKind::Misfit { member, amount } => filled(7, member.0, &[amount]),
        LoadKind::Settlement { joint, by: [x, y] } => filled(8, joint.0, &[x, y]),
        LoadKind::SupportTurn { joint, by } => filled(9, joint.0, &[by]),
    }
}

/// What the results say cannot be, or needs looking at. Judged in every
/// combination, and in a single case only where no combination uses it.
pub fn check_results(structure: &Structure, solution: &Solution) -> Vec<Diagnostic> {
    let mut found = travels::check_travels(structure, solution);
    let judged: Vec<&CaseResult> = judged(structure, solution.results.iter()).collect();
    for (index, support) in structure.supports.iter().enumerate() {
        let SupportKind::Roller(roller) = &support.kind else { continue };
        let worst = judged
            .iter()
            .filter_map(|result| {
                let force = push(roller, result.reactions.get(index)?);
                (force < -ZERO_SHARE * result.largest).then_some((force, *result))
            })
            .min_by(|(a, _), (b, _)| a.total_cmp(b));
        let Some((force, result)) = worst else { continue };
        if found.len() >= MOST_TOLD {
            break;
        }
        let name = structure.joint_name(support.joint);
        let size = words::quantity(structure, -force, Dimension::FORCE);
        let under = under(structure, result.subject);
        if roller.hold == Hold::LiftsOff {
            found.push(
                Diagnostic::new(Slug::LiftsOff, format!("roller {name} lifts off{under}: it would have to pull with {size}"))
                    .label(support.origin, "declared to lift off, so it can only push")
                    .why("A roller that only rests on its track cannot hold the structure down; the result does not hold there.")
                    .help("add weight, hold the joint down, or move the support"),
            );
        } else if roller.sense == PushSense::Known {
            found.push(
                Diagnostic::new(Slug::RollerPulls, format!("roller {name} has to pull with {size}{under}"))
                    .label(support.origin, "holds both ways, as in textbooks")
                    .why("A real roller often rests on its track only and would lift off here.")
                    .help(format!(
                        "if it can lift, write `roller {name}: lifts off`; if it is held down, `allow roller-pulls`"
                    )),
            );
        }
    }
    for (index, member) in structure.members.iter().enumerate() {
        if member.kind != MemberKind::Cable {
            continue;
        }
        let id = MemberId::new(index);
        let worst = judged
            .iter()
            .filter(|result| result.slack.contains(&id))
            .filter_map(|result| result.axial.get(index).map(|axial| (*axial, *result)))
            .min_by(|(a, _), (b, _)| a.total_cmp(b));
        let Some((axial, result)) = worst else { continue };
        if found.len() >= 2 * MOST_TOLD {
            break;
        }
        let name = structure.member_name(id);
        let size = words::quantity(structure, -axial, Dimension::FORCE);
        found.push(
            Diagnostic::new(
                Slug::SlackCable,
                format!(
                    "cable {name} would have to push with {size}{}: it goes slack",
                    under(structure, result.subject)
                ),
            )
            .label(member.origin, "a cable can only pull")
            .why("With the cable slack the rest has to balance without it, so this result does not hold.")
            .help(format!("make it a bar, `bar {name}`, or brace the other diagonal too")),
        );
    }
    found
}

/// ` under wind`, or nothing where there is one case only.
pub fn under(structure: &Structure, subject: Subject) -> String {
    if structure.cases.len() + structure.combos.len() + structure.travels.len() <= 1 {
        return String::new();
    }
    match subject {
        Subject::Case(id) => format!(" under {}", structure.case_name(id)),
        Subject::Combo(id) => format!(" under {}", structure.combo_name(id)),
    }
}
