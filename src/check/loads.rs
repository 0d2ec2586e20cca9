//! Findings about what acts: loads nothing can take, cases nobody uses,
//! results that cannot be what happens.
//!
//! Must not know: how forces are found.

use std::collections::hash_map::Entry;
use std::hash::BuildHasher as _;

use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};

use crate::base::{IdVec, JointId, MemberId, Origin, SupportId};
use crate::diagnostic::{Cure, CureKind, Diagnostic, Slug};
use crate::quantity::{Dimension, Number};
use crate::statics::equilibrium::{hinged_joints, rotation_held};
use crate::statics::solve::push;
use crate::statics::travel::Peak;
use crate::statics::{CaseResult, Solution, Subject, TravelResult, ZERO_SHARE, judged};
use crate::structure::{ClaimKind, Delivery, Hold, Imposed, Load, LoadKind, LoadPoint, Member, PushSense, Structure};
use crate::syntax::tree::{Measure, MemberKind};

use super::motions::panel;
use super::words;

/// Findings of one kind that are listed one by one.
const MOST_TOLD: usize = 12;

/// What can be said before anything is solved.
pub fn check_loads(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    // A file that asks for the verdict alone needs none.
    let asks_verdict = !structure.claims.is_empty()
        && structure.unread_claims.is_empty()
        && structure.claims.iter().all(|claim| !matches!(claim.kind, ClaimKind::Value(_)));
    let is_unloaded = structure.cases.iter().all(|case| case.loads.is_empty()) && structure.travels.is_empty();
    if is_unloaded && !asks_verdict {
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
    found.extend(trains_on_bars(structure));
    found.extend(unused_cases(structure));
    found.extend(doubled(structure));
    found
}

fn no_loads(structure: &Structure) -> Diagnostic {
    let told = Diagnostic::new(Slug::NoLoads, "nothing loads the structure");
    let is_free = |joint: &JointId| structure.support_at(*joint).is_none();
    let joint = structure.joints.ids().find(is_free).or_else(|| structure.joints.ids().next());
    let name = joint.map_or("A", |joint| structure.joint_name(joint));
    words::at_first_joint(told, structure, "no load acts here or anywhere else")
        .why("Without loads every reaction and every member force is zero.")
        .help(format!("state a load, for example `load {name}: 10 kN down`"))
}

/// A bar carries forces at its two joints only.
fn loads_on_bars(structure: &Structure) -> Vec<Diagnostic> {
    let turning: IdVec<JointId, bool> = rotation_held(structure, &hinged_joints(structure));
    let mut seen: Vec<Origin> = Vec::new();
    let mut found = Vec::new();
    for load in structure.cases.iter().flat_map(|case| &case.loads) {
        if let Some(joint) = load.kind.couple_on_joint() {
            if !turning[joint] && found.len() < MOST_TOLD {
                found.push(couple_on_pins(structure, joint, load.origin));
            }
            continue;
        }
        let Some(member) = load.kind.between_joints() else { continue };
        let what = match &load.kind {
            LoadKind::Distributed(_) => "a load along its length",
            LoadKind::Couple { .. } => "a couple between its joints",
            _ => "a load between its joints",
        };
        let at = &structure.members[member];
        if at.kind == MemberKind::Beam || seen.contains(&load.origin) || found.len() >= MOST_TOLD {
            continue;
        }
        seen.push(load.origin);
        let name = structure.member_name(member);
        let (start, end) = (structure.joint_name(at.start), structure.joint_name(at.end));
        let kind = kind_word(structure, member);
        let mut diagnostic = Diagnostic::new(Slug::LoadOnBar, format!("{kind} {name} cannot carry {what}"))
            .label(load.origin, format!("acts on {name} between {start} and {end}"))
            .label(at.origin, format!("{name} is a {kind}: it carries force along its length only"))
            .why("A pin-ended two-force member has no bending resistance; loads reach it at its joints.");
        if load.kind.spread().is_some() {
            diagnostic = diagnostic.cure(Cure::new(
                CureKind::Advice,
                "end the load with `at joints` to give each member's share to its two ends",
            ));
        }
        let beam =
            instead(structure, member, &format!("beam {start}-{end}"), Some(&format!("hinged at {start}, {end}")));
        found.push(diagnostic.cure(beam));
    }
    found
}

/// A member stated anew, with the section it has.
fn instead(structure: &Structure, id: MemberId, stated: &str, clause: Option<&str>) -> Cure {
    let section = structure.section_of(id).map(|section| structure.names.get(section.name));
    let said: Vec<&str> = section.into_iter().chain(clause).collect();
    let colon = if said.is_empty() { "" } else { ": " };
    let line = format!("{stated}{colon}{}", said.join(", "));
    let text = format!("write `{line}` in place of `{} {}`", kind_word(structure, id), structure.member_name(id));
    Cure::new(CureKind::Instead(id, line), text)
}

fn kind_word(structure: &Structure, id: MemberId) -> &'static str {
    match structure.members[id].kind {
        MemberKind::Bar => "bar",
        MemberKind::Cable => "cable",
        MemberKind::Beam => "beam",
    }
}

/// A couple on a joint where every end is free to turn.
fn couple_on_pins(structure: &Structure, joint: JointId, at: Origin) -> Diagnostic {
    let name = structure.joint_name(joint);
    let bends = |m: &Member| m.kind == MemberKind::Beam && (m.start == joint || m.end == joint);
    let beam = structure.members.entries().find(|(_, member)| bends(member)).map(|(id, _)| id);
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
                .why("A hinge transmits no moment, so a couple on the joint itself meets no resistance.")
                .help(format!("put it on the member it turns, with `moment {beam}: … at …`, or leave one end unhinged"))
        }
    }
}

/// With combinations about, a case that is in none is probably forgotten.
fn unused_cases(structure: &Structure) -> Vec<Diagnostic> {
    if structure.combinations.is_empty() {
        return Vec::new();
    }
    let used = structure.combined_cases();
    let unused = structure.cases.entries().filter(|(id, _)| !used.contains(id)).take(MOST_TOLD);
    let told = unused.map(|(id, case)| {
        Diagnostic::new(Slug::UnusedCase, format!("case {} is in no combination", structure.case_name(id)))
            .label(case.origin, "solved on its own only")
            .why("Where a file states combinations, each case is usually meant to be in one.")
            .help(format!("add it to a combination, or `allow {}`", Slug::UnusedCase.word()))
    });
    told.collect()
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
            let is_weight = load.kind.is_weight();
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
    let joint = |what: &str, at: &JointId| format!("{what} joint {}", structure.joint_name(*at));
    let on = |what: &str, id: &MemberId| format!("{what} member {}", structure.member_name(*id));
    let at_point = |what: &str, at: &LoadPoint<Number>| match at {
        LoadPoint::Joint(id) => joint(what, id),
        LoadPoint::Along(id, _) => on(what, id),
    };
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
        LoadKind::Force { at, .. } => (at_point("load stands twice on", at), "one load of twice the size"),
        LoadKind::Couple { at, .. } => (at_point("couple stands twice on", at), "one couple of twice the size"),
        LoadKind::Settlement { joint: at, .. } => {
            (joint("settlement stands twice at", at), "one settlement of twice the size")
        }
        LoadKind::Distributed(spread) => (on("load stands twice along", &spread.member), "their sum once"),
        LoadKind::Heat { member, .. } => (on("rise of temperature stands twice on", member), "the whole rise once"),
        LoadKind::Misfit { member, .. } => (on("misfit stands twice on", member), "the whole misfit once"),
    };
    Diagnostic::new(Slug::DoubledLoad, format!("the same {what}"))
        .label(again, "and again here, in the same case")
        .label(before, "stands here first")
        .why("Loads add, so both count. Two equal lines are often what a merge leaves behind.")
        .help(format!("delete one of them, or write {help}"))
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
        LoadKind::Force { at: LoadPoint::Joint(joint), force: [x, y] } => filled(0, joint.0, &[x, y]),
        LoadKind::Couple { at: LoadPoint::Joint(joint), moment } => filled(1, joint.0, &[moment]),
        LoadKind::Force { at: LoadPoint::Along(member, at), force: [x, y] } => filled(2, member.0, &[x, y, at]),
        LoadKind::Couple { at: LoadPoint::Along(member, at), moment } => filled(3, member.0, &[moment, at]),
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
        LoadKind::Settlement { joint, by: Imposed::Move([x, y]) } => filled(8, joint.0, &[x, y]),
        LoadKind::Settlement { joint, by: Imposed::Turn(by) } => filled(9, joint.0, &[by]),
    }
}

/// A support or a cable that would have to act the way it cannot.
struct Wrongly {
    /// Less than nothing.
    force: f64,
    /// ` under wind`
    under: String,
    /// Where a train then stands.
    train: Option<String>,
}

impl Wrongly {
    fn in_case(structure: &Structure, result: &CaseResult, force: f64) -> Option<Wrongly> {
        let own = || Wrongly { force, under: under(structure, result.subject), train: None };
        (force < -ZERO_SHARE * result.largest).then(own)
    }

    fn in_travel(structure: &Structure, result: &TravelResult, least: Peak) -> Option<Wrongly> {
        let train = least.train.filter(|_| least.value < -ZERO_SHARE * result.largest)?;
        let train = Some(words::train(structure, result.travel, train));
        Some(Wrongly { force: least.value, under: format!(" under {}", structure.travel_name(result.travel)), train })
    }

    fn why(&self, otherwise: &str) -> String {
        let so = |train: &String| format!("So it is with the {train}, the train acting alone.");
        self.train.as_ref().map_or_else(|| otherwise.to_owned(), so)
    }
}

/// What the results say cannot be, or needs looking at. Judged in every
/// combination, and in a single case only where no combination uses it.
pub fn check_results(structure: &Structure, solution: &Solution) -> Vec<Diagnostic> {
    let mut found = too_long(structure, solution);
    for result in &solution.travels {
        let least = |least: Peak| Wrongly::in_travel(structure, result, least);
        found.extend(slackened(structure, |id| least(result.members[id].axial.least)).take(MOST_TOLD));
        found.extend(pulled(structure, |id, _| least(result.reactions[id].push?.least)).take(MOST_TOLD));
    }
    let judged: Vec<&CaseResult> = judged(structure, solution.results.iter()).collect();
    let worst = |force: &dyn Fn(&CaseResult) -> f64| {
        let own = judged.iter().filter_map(|result| Wrongly::in_case(structure, result, force(result)));
        own.min_by(|a, b| a.force.total_cmp(&b.force))
    };
    // A slack cable leaves another structure, so that what its rollers do comes after it.
    let cables = slackened(structure, |id| worst(&|result| result.axial[id]));
    found.extend(cables.take(MOST_TOLD.saturating_sub(found.len())));
    let rollers = pulled(structure, |id, roller| worst(&|result| push(roller, &result.reactions[id])));
    found.extend(rollers.take((2 * MOST_TOLD).saturating_sub(found.len())));
    found
}

/// Rollers that would have to pull.
fn pulled(
    structure: &Structure,
    worst: impl Fn(SupportId, &[Number; 2]) -> Option<Wrongly>,
) -> impl Iterator<Item = Diagnostic> {
    structure.supports.entries().filter_map(move |(id, support)| {
        let found = worst(id, support.roller()?)?;
        let name = structure.joint_name(support.joint);
        let (size, under) = (words::quantity(structure, -found.force, Dimension::FORCE), &found.under);
        match (support.held.hold, support.held.sense) {
            (Hold::LiftsOff, _) => Some(
                Diagnostic::new(Slug::LiftsOff, format!("roller {name} lifts off{under}: it would have to pull with {size}"))
                    .label(support.origin, "may lift off: it can only push")
                    .why(found.why("A roller that only rests on its track cannot hold the structure down; the result does not hold there."))
                    .help("add weight, hold the joint down, or move the support"),
            ),
            (_, PushSense::Known) => Some(
                Diagnostic::new(Slug::RollerPulls, format!("roller {name} has to pull with {size}{under}"))
                    .label(support.origin, "holds both ways, as in textbooks")
                    .why(found.why("A real roller often rests on its track only and would lift off here."))
                    .help(format!(
                        "if it can lift, write `roller {name}: lifts off`; if it is held down, `allow roller-pulls`"
                    )),
            ),
            _ => None,
        }
    })
}

/// Cables that would have to push.
fn slackened(structure: &Structure, worst: impl Fn(MemberId) -> Option<Wrongly>) -> impl Iterator<Item = Diagnostic> {
    let cables = structure.members.entries().filter(|(_, member)| member.kind == MemberKind::Cable);
    cables.filter_map(move |(id, member)| {
        let found = worst(id)?;
        let name = structure.member_name(id);
        let (size, under) = (words::quantity(structure, -found.force, Dimension::FORCE), &found.under);
        let message = format!("cable {name} would have to push with {size}{under}: it goes slack");
        let mut told = Diagnostic::new(Slug::SlackCable, message)
            .label(member.origin, "a cable can only pull")
            .why(found.why("With the cable slack the rest has to balance without it, so this result does not hold."));
        let other = panel(structure, member.start, member.end).map(|[_, a, _, b]| [a, b]);
        let other = other.filter(|[a, b]| structure.find_member(*a, *b).is_none());
        if let Some([a, b]) = other.map(|ends| ends.map(|joint| structure.joint_name(joint))) {
            let mut along = instead(structure, id, &format!("cable {a}-{b}"), None);
            along.text.push_str(", along the other diagonal");
            told = told.cure(along);
        }
        Some(told.cure(instead(structure, id, &format!("bar {name}"), None)))
    })
}

/// A train bears on its path between the joints, which takes beams.
fn trains_on_bars(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for travel in &structure.travels {
        let is_pinned = |id: &MemberId| structure.members[*id].kind != MemberKind::Beam;
        let pinned: Vec<MemberId> = travel.path.iter().map(|(member, _)| *member).filter(is_pinned).collect();
        let Some(first) = pinned.first().map(|id| &structure.members[*id]) else { continue };
        if found.len() >= MOST_TOLD {
            break;
        }
        let kind = if first.kind == MemberKind::Cable { "cable" } else { "bar" };
        let name = structure.names.get(travel.name);
        let shown = words::members(structure, &pinned);
        let chain = format!("{}-{}", structure.joint_name(first.start), structure.joint_name(first.end));
        found.push(
            Diagnostic::new(Slug::LoadOnBar, format!("{kind} {chain} cannot carry {name} between its joints"))
                .label(travel.path_origin, format!("{name} runs along {shown}"))
                .label(first.origin, format!("{chain} is a {kind}: it carries force along its length only"))
                .why("A pin-ended two-force member has no bending resistance; a load that rolls along it bears between its joints.")
                .help(format!("make it a beam, or a beam with free ends: `beam {chain}: hinged at {}`", chain.replace('-', ", "))),
        );
    }
    found
}

/// Trains that are not followed.
fn too_long(structure: &Structure, solution: &Solution) -> Vec<Diagnostic> {
    let mut found: Vec<Diagnostic> = Vec::new();
    for refused in &solution.too_long {
        let travel = &structure.travels[refused.travel];
        let name = structure.names.get(travel.name);
        if found.len() >= MOST_TOLD {
            break;
        }
        let (size, before, limit) = (refused.size, refused.before, refused.limit);
        let why = if size > limit {
            format!("It would take {size} numbers to be worked out, more than the limit of {limit}.")
        } else {
            format!(
                "It would take {size} numbers to be worked out; with {before} of the trains before it that is more than \
                 the limit of {limit}."
            )
        };
        found.push(
            Diagnostic::new(Slug::OverLimit, format!("{name} is too long a train on too long a path to be followed"))
                .label(travel.origin, format!("{} loads over {} members", travel.loads.len(), travel.path.len()))
                .why(why)
                .help("join loads that stand close together, or follow it along a part of the path at a time"),
        );
    }
    found
}

/// ` under wind`, or nothing where there is one case only.
pub fn under(structure: &Structure, subject: Subject) -> String {
    if structure.cases.len() + structure.combinations.len() + structure.travels.len() <= 1 {
        return String::new();
    }
    match subject {
        Subject::Case(id) => format!(" under {}", structure.case_name(id)),
        Subject::Combination(id) => format!(" under {}", structure.combination_name(id)),
    }
}
