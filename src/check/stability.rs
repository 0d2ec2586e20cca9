//! Findings about what moves: supports that cannot hold the structure as one
//! piece, and parts that move against each other.
//!
//! Must not know: loads.

use std::collections::BTreeMap;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::base::{DisjointSets, JointId, MemberId};
use crate::diagnostic::{Cure, CureKind, Diagnostic, Slug};
use crate::statics::equilibrium::Points;
use crate::statics::{Freedom, SupportFault, Verdict};
use crate::structure::Structure;

use super::{motions, words};

/// Supports that get a label of their own.
const MOST_LABELS: usize = 4;
/// Pieces that no support holds, listed one by one.
const MOST_PIECES: usize = 3;

pub fn check_stability(structure: &Structure, points: &Points, verdict: &Verdict) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    if let Some(fault) = &verdict.support_fault {
        found.push(support_words(structure, verdict, fault));
    }
    let met = members_at(structure, verdict);
    let pieces = if verdict.motions.is_empty() { Vec::new() } else { unheld_pieces(structure) };
    let mut told = 0;
    for (index, piece) in pieces.iter().enumerate() {
        let within = |joint: &JointId| piece.binary_search(joint).is_ok();
        let motions = verdict.motions.iter().filter(|motion| motion.moving.iter().all(within)).count();
        // A piece that nothing holds has three motions as one piece at least.
        told += motions.max(3);
        if index < MOST_PIECES {
            found.push(piece_words(structure, piece));
        }
    }
    let mut count = (verdict.support_fault.is_none() && found.is_empty()).then(|| count_words(verdict));
    for mechanism in &verdict.motions {
        let moving = &mechanism.moving;
        if pieces.iter().any(|piece| moving.iter().all(|joint| piece.binary_search(joint).is_ok())) {
            continue;
        }
        told += 1;
        // A joint in no member has been reported as that.
        if moving.iter().all(|joint| met.get(joint).is_none_or(Vec::is_empty)) {
            continue;
        }
        found.push(motions::mechanism_words(structure, points, verdict, mechanism, &met, count.take()));
    }
    let whole = if verdict.support_fault.is_some() { whole_motions(verdict) } else { 0 };
    let rest = verdict.mechanisms.saturating_sub(whole + told);
    if rest > 0 && !verdict.motions.is_empty() {
        found.push(more_mechanisms(structure, rest));
    }
    found
}

/// Joints linked by members, in pieces without a single support; none where
/// there is no support at all.
fn unheld_pieces(structure: &Structure) -> Vec<Vec<JointId>> {
    if structure.supports.is_empty() {
        return Vec::new();
    }
    let mut linked = DisjointSets::new(structure.joints.len());
    structure.members.iter().for_each(|member| linked.join(member.start.index(), member.end.index()));
    let mut pieces: BTreeMap<u32, Vec<JointId>> = BTreeMap::new();
    for (joint, piece) in structure.joints.ids().zip(linked.into_roots()) {
        pieces.entry(piece).or_default().push(joint);
    }
    let is_held = |joint: &JointId| structure.support_at(*joint).is_some();
    pieces.into_values().filter(|piece| piece.len() > 1 && !piece.iter().any(is_held)).collect()
}

fn piece_words(structure: &Structure, piece: &[JointId]) -> Diagnostic {
    let names = words::joints(structure, piece);
    let mut diagnostic =
        Diagnostic::new(Slug::NoSupport, format!("nothing supports joints {names}: no member joins them to the rest"));
    if let Some(joint) = piece.first() {
        diagnostic = diagnostic.label(structure.joints[*joint].origin, "part of a piece of its own");
    }
    diagnostic
        .why("A separate piece needs supports of its own, with at least three reaction components.")
        .help("join it to the rest by three members that are neither parallel nor through one point, or support it")
}

/// Motions of the structure as one piece.
fn whole_motions(verdict: &Verdict) -> usize {
    match verdict.support_fault {
        None => 0,
        Some(SupportFault::None) => 3,
        Some(SupportFault::TooFew { reactions, free }) => match free {
            Freedom::All => 3_usize.saturating_sub(reactions).max(1),
            _ => 1,
        },
        Some(SupportFault::Parallel { .. } | SupportFault::Concurrent { .. }) => 1,
    }
}

/// The members at the joints that messages are about.
fn members_at(structure: &Structure, verdict: &Verdict) -> FxHashMap<JointId, Vec<MemberId>> {
    let wanted: FxHashSet<JointId> = verdict.motions.iter().flat_map(|m| m.moving.iter().take(64)).copied().collect();
    let mut met: FxHashMap<JointId, Vec<MemberId>> = FxHashMap::default();
    for (id, member) in structure.members.entries() {
        for joint in [member.start, member.end] {
            if wanted.contains(&joint) {
                met.entry(joint).or_default().push(id);
            }
        }
    }
    met
}

/// `m + r = 9 + 3 = 12 against 2j = 12: …`
fn count_words(verdict: &Verdict) -> String {
    let count = words::equation_count(verdict);
    let ends = match (count.short, count.over) {
        (0, 0) => "the count is right, and the layout still moves".to_owned(),
        (0, over) => format!("{} to spare, and the layout still moves", words::count(over)),
        (short, _) => format!("{} short", words::count(short)),
    };
    format!("{}: {ends}.", count.text)
}

fn support_words(structure: &Structure, verdict: &Verdict, fault: &SupportFault) -> Diagnostic {
    let support_labels = |diagnostic: Diagnostic| with_reactions(diagnostic, structure);
    let with_cures = |mut diagnostic: Diagnostic| {
        diagnostic.cures.extend(verdict.support_cure.iter().map(|cure| words::cure(structure, cure)));
        for cure in support_cures(structure) {
            if diagnostic.cures.iter().all(|known| known.kind != cure.kind) {
                diagnostic.cures.push(cure);
            }
        }
        diagnostic
    };
    let turn_or_slide = |free: &Freedom| match free {
        Freedom::All => "It can slide either way and turn.".to_owned(),
        Freedom::Turns { about } => format!("It can still turn about {}.", words::place(structure, *about)),
        Freedom::Slides { along } => format!("It can still slide {}.", words::line(*along)),
    };
    match fault {
        SupportFault::None => {
            let told = Diagnostic::new(Slug::NoSupport, "nothing supports the structure");
            words::at_first_joint(told, structure, "no joint of the structure has a support")
                .why("A plane structure needs at least three reaction components, neither all parallel nor all through one point.")
                .cure(two_supports(structure))
        }
        SupportFault::TooFew { reactions, free } => {
            let message = format!(
                "{} cannot hold a plane structure: it takes three",
                words::counted(*reactions, "reaction component")
            );
            with_cures(
                support_labels(Diagnostic::new(Slug::TooFewReactions, message))
                    .why(turn_or_slide(free))
                    .why(count_words(verdict)),
            )
        }
        SupportFault::Parallel { direction } => {
            let [x, y] = *direction;
            let message = format!("all reactions are parallel: the structure can slide {}", words::line([-y, x]));
            with_cures(
                support_labels(Diagnostic::new(Slug::ParallelReactions, message))
                    .why("Parallel forces cannot balance a force square to them, however many they are."),
            )
        }
        SupportFault::Concurrent { point, joint } => {
            let place = match joint {
                Some(joint) => format!("joint {}", structure.joint_name(*joint)),
                None => words::place(structure, *point),
            };
            let message = format!("all reactions pass through {place}: the structure can turn about it");
            with_cures(
                support_labels(Diagnostic::new(Slug::ConcurrentReactions, message)).why(
                    "Forces through one point have no moment about it, so they cannot balance a load that has one.",
                ),
            )
        }
    }
}

fn reaction_words(structure: &Structure, support: &crate::structure::Support) -> String {
    let name = structure.joint_name(support.joint);
    let word = support.kind.word();
    match &support.held.line {
        Some(line) => {
            let couple = if support.holds_rotation() { ", and a couple" } else { "" };
            let line = match words::axis(line.each_ref().map(crate::quantity::Number::to_f64)).as_str() {
                "right" => "horizontal".to_owned(),
                "up" => "vertical".to_owned(),
                inclined => format!("along {inclined}"),
            };
            format!("{word} {name}: one reaction, {line}{couple}")
        }
        None if support.is_pin() => format!("pin {name}: two reactions, both through {name}"),
        None => format!("{word} {name}"),
    }
}

/// A diagnostic with what each support holds.
pub fn with_reactions(mut diagnostic: Diagnostic, structure: &Structure) -> Diagnostic {
    for support in structure.supports.iter().take(MOST_LABELS) {
        diagnostic = diagnostic.label(support.origin, reaction_words(structure, support));
    }
    diagnostic
}

/// Supports of another kind in place of those there are, yet to be tried.
pub fn support_cures(structure: &Structure) -> Vec<Cure> {
    const MOST_SUPPORTS: usize = 3;
    let mut cures = Vec::new();
    // All rollers at once, and a support where the file may have lost one: low, and far from the others.
    let rollers: Vec<(JointId, String)> = (structure.supports.iter().filter(|support| support.roller().is_some()))
        .map(|support| (support.joint, format!("pin {}", structure.joint_name(support.joint))))
        .collect();
    if rollers.len() > 1 && rollers.len() <= MOST_SUPPORTS {
        let lines: Vec<String> = rollers.iter().map(|(_, line)| format!("`{line}`")).collect();
        let text = format!("write {} in place of the rollers", words::list(&lines));
        cures.push(Cure::new(CureKind::Support(rollers), text));
    }
    if let Some(joint) = lost_support(structure) {
        let name = structure.joint_name(joint);
        for line in [format!("roller {name}"), format!("pin {name}")] {
            let text = format!("add `{line}`");
            cures.push(Cure::new(CureKind::Support(vec![(joint, line)]), text));
        }
    }
    for support in structure.supports.iter().take(MOST_SUPPORTS) {
        let name = structure.joint_name(support.joint);
        let [upright, level, pin] =
            [format!("roller {name}"), format!("roller {name}: pushes right"), format!("pin {name}")];
        let lines = match (support.roller(), &support.held.line) {
            (Some(_), _) => vec![upright, level, pin],
            (None, Some(_)) => vec![upright, pin],
            _ if support.is_pin() || support.is_fixed() => Vec::new(),
            _ => vec![pin],
        };
        for line in lines {
            let text = format!("write `{line}` in place of the {} at {name}", support.kind.word());
            cures.push(Cure::new(CureKind::Support(vec![(support.joint, line)]), text));
        }
    }
    let text = "give it three reactions that are neither all parallel nor all through one point";
    cures.push(Cure::new(CureKind::Fallback, text));
    cures
}

/// Of the lowest joints without a support, the one farthest along from the first support.
fn lost_support(structure: &Structure) -> Option<JointId> {
    let held = &structure.joints[structure.supports.first()?.joint];
    let free = || structure.joints.entries().filter(|(id, _)| structure.support_at(*id).is_none());
    let lowest = free().map(|(_, joint)| joint.y.to_f64()).fold(f64::INFINITY, f64::min);
    let high = structure.supports.iter().map(|support| structure.joints[support.joint].y.to_f64());
    let high = high.fold(f64::NEG_INFINITY, f64::max);
    let low = free().filter(|(_, joint)| joint.y.to_f64() <= lowest && lowest <= high);
    let away = |joint: &crate::structure::Joint| (joint.x.to_f64() - held.x.to_f64()).abs();
    low.max_by(|a, b| away(a.1).total_cmp(&away(b.1)).then(b.0.cmp(&a.0))).map(|(id, _)| id)
}

fn two_supports(structure: &Structure) -> Cure {
    let by_x = |a: &JointId, b: &JointId| structure.joints[*a].x.compare(&structure.joints[*b].x);
    let lowest = structure.joints.iter().map(|joint| joint.y.to_f64()).fold(f64::INFINITY, f64::min);
    let low = || structure.joints.ids().filter(|id| structure.joints[*id].y.to_f64() <= lowest);
    match (low().min_by(by_x), low().max_by(by_x)) {
        (Some(left), Some(right)) if left != right => {
            let [pin, roller] = [("pin", left), ("roller", right)]
                .map(|(word, joint)| (joint, format!("{word} {}", structure.joint_name(joint))));
            let text = format!("state the supports, for example `{}` and `{}`", pin.1, roller.1);
            Cure::new(CureKind::Support(vec![pin, roller]), text)
        }
        _ => Cure::new(CureKind::Advice, "state the supports, for example a `pin` and a `roller`"),
    }
}

fn more_mechanisms(structure: &Structure, rest: usize) -> Diagnostic {
    let are = if rest == 1 { "motion is" } else { "motions are" };
    let message = format!("{} more independent {are} not shown", words::count(rest));
    words::at_first_joint(Diagnostic::new(Slug::MoreMechanisms, message), structure, "in this structure")
        .why("Each missing member or reaction leaves one independent motion.")
        .help("correct those shown and check again")
}
