//! Findings about members and reactions that are more than statics can resolve.
//!
//! Must not know: how redundant forces would be found.

use rustc_hash::FxHashSet;

use crate::base::{JointId, MemberId, Origin, SupportId};
use crate::diagnostic::{Cure, CureKind, Diagnostic, Severity, Slug};
use crate::statics::equilibrium::{Component, Equilibrium};
use crate::statics::verdict::split;
use crate::statics::{self, End, Redundancy, Special, Unknown, Verdict};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::words;

/// Members and supports of one finding that get a label of their own.
const MOST_LABELS: usize = 5;
/// Of them, those kept for supports where there are many members.
const MOST_SUPPORT_LABELS: usize = 2;

/// `missing` lacks a stiffness that a redundancy depends on; with none missing
/// the redundancies are only worth knowing.
pub fn check_redundancy(
    structure: &Structure,
    equilibrium: &Equilibrium,
    verdict: &Verdict,
    missing: &[MemberId],
) -> Vec<Diagnostic> {
    // Where the layout is special, each motion has left one force open: that
    // is told with the motion, and nothing is there to leave out.
    if matches!(verdict.special, Special::FewerElsewhere(fewer) if fewer >= verdict.redundancy) {
        return Vec::new();
    }
    let groups = joined(&verdict.redundancies);
    let told = groups.iter();
    let mut found: Vec<Diagnostic> =
        told.map(|redundancy| redundancy_words(structure, (equilibrium, verdict), redundancy, missing)).collect();
    let told: usize = verdict.redundancies.iter().map(|redundancy| redundancy.degree).sum();
    let rest = verdict.redundancy.saturating_sub(told);
    if rest > 0
        && let Some(last) = found.last_mut()
    {
        last.why.push(format!("{} more elsewhere not shown.", words::capital(&words::count(rest))));
    }
    found
}

/// Groups of forces in the same members and supports as one: a beam clamped at
/// both ends is stretched and bent by the same supports.
fn joined(groups: &[Redundancy]) -> Vec<Redundancy> {
    let mut joined: Vec<Redundancy> = Vec::new();
    for group in groups {
        let parts = parts(&group.among);
        match joined.iter_mut().find(|known| self::parts(&known.among) == parts) {
            Some(known) => {
                known.degree += group.degree;
                known.among.extend(group.among.iter().copied());
            }
            None => joined.push(group.clone()),
        }
    }
    joined
}

/// The members and supports that forces are of, each once.
fn parts(among: &[Unknown]) -> (Vec<MemberId>, Vec<SupportId>) {
    let (mut members, mut supports) = split(among);
    members.sort_unstable();
    members.dedup();
    supports.sort_unstable();
    supports.dedup();
    (members, supports)
}

fn redundancy_words(
    structure: &Structure,
    (equilibrium, verdict): (&Equilibrium, &Verdict),
    redundancy: &Redundancy,
    missing: &[MemberId],
) -> Diagnostic {
    let (members, supports) = parts(&redundancy.among);
    let mut diagnostic = Diagnostic::new(
        Slug::Redundant,
        headline(structure, redundancy.degree, &members, &supports, verdict.has_rotations()),
    );
    for (origin, name) in labels(structure, &redundancy.among) {
        diagnostic = diagnostic.label(origin, name);
    }
    diagnostic =
        diagnostic.why("They can be in self-stress without any load, so equilibrium alone does not fix their forces.");
    if verdict.has_rotations() {
        return frame_words(structure, (equilibrium, verdict), redundancy, missing, diagnostic);
    }
    let count = words::equation_count(verdict);
    if verdict.mechanisms == 0 {
        diagnostic = diagnostic.why(format!("{}: {} too many.", count.text, words::count(count.over)));
    } else if count.over == 0 && count.short == 0 {
        diagnostic = diagnostic.why(format!("{}: the count is right, as something is missing elsewhere.", count.text));
    }
    if missing.is_empty() && verdict.mechanisms == 0 {
        diagnostic.severity = Severity::Information;
        return diagnostic.why("Their stiffness decides how they share the load.");
    }
    diagnostic.cures.extend(release(structure, redundancy, &members));
    // An unstable layout has no forces that stiffness could settle.
    if missing.is_empty() || verdict.mechanisms > 0 {
        return diagnostic;
    }
    let bends = missing.iter().any(|id| is_beam(structure, *id));
    let section = if bends { "tie: EA = 40 MN, EI = 20 MN*m^2" } else { "tie: EA = 40 MN" };
    diagnostic.cure(stiffness(structure, missing, section))
}

fn stiffness(structure: &Structure, missing: &[MemberId], section: &str) -> Cure {
    let members = words::members(structure, missing);
    Cure::new(CureKind::Advice, format!("give {members} a section with its stiffness, such as `section {section}`"))
}

fn is_beam(structure: &Structure, id: MemberId) -> bool {
    structure.members[id].kind == MemberKind::Beam
}

/// What would take one redundant force away.
fn release(structure: &Structure, redundancy: &Redundancy, members: &[MemberId]) -> Vec<Cure> {
    let mut cures = without_a_member(structure, redundancy, members);
    // A roller that pushes up is the usual one: a pin loses its horizontal reaction first.
    let freed = |wanted| {
        let among = redundancy.among.iter().rev();
        let mut matching = among.filter(move |unknown| matches!(unknown, Unknown::Reaction(_, has) if *has == wanted));
        matching.find_map(|unknown| pin_as_roller(structure, *unknown))
    };
    if let Some((joint, line)) = freed(Component::X).or_else(|| freed(Component::Y)) {
        let text = format!("write {}", in_place_of(structure, joint, &line));
        cures.push(Cure::new(CureKind::Support(vec![(joint, line)]), text));
    }
    let last = redundancy.among.iter().rev().find_map(|unknown| match unknown {
        Unknown::Reaction(support, _) => Some(structure.supports[*support].joint),
        Unknown::Axial(_) | Unknown::EndMoment(..) => None,
    });
    cures.extend(last.map(|joint| {
        let text = format!("leave out the support at {}", structure.joint_name(joint));
        Cure::new(CureKind::LeaveOutSupport(joint), text)
    }));
    cures
}

/// A pin, or a clamp that holds no rotation, without one of its two reactions, as it would be written.
fn pin_as_roller(structure: &Structure, unknown: Unknown) -> Option<(JointId, String)> {
    let Unknown::Reaction(support, component) = unknown else { return None };
    let support = Some(&structure.supports[support]).filter(|support| support.is_pin() || support.is_fixed())?;
    let joint = structure.joint_name(support.joint);
    match component {
        Component::X => Some((support.joint, format!("roller {joint}"))),
        Component::Y => Some((support.joint, format!("roller {joint}: pushes right"))),
        _ => None,
    }
}

fn in_place_of(structure: &Structure, joint: JointId, line: &str) -> String {
    let noun = structure.support_at(joint).map_or("support", |(_, support)| support.noun());
    format!("`{line}` in place of the {noun}")
}

fn without_a_member(structure: &Structure, redundancy: &Redundancy, members: &[MemberId]) -> Vec<Cure> {
    /// Members that are tried, so that a support is tried as well.
    const MOST_LEFT_OUT: usize = 6;
    let bars: Vec<MemberId> = members.iter().copied().filter(|id| !is_beam(structure, *id)).collect();
    if !bars.is_empty() {
        let bars = bars.into_iter().take(MOST_LEFT_OUT);
        let leave_out = |id| Cure::new(CureKind::LeaveOut(id), format!("leave out {}", structure.member_name(id)));
        return bars.map(leave_out).collect();
    }
    let freed = redundancy.among.iter().find_map(|unknown| match unknown {
        Unknown::EndMoment(..) => Some(freed(structure, &[*unknown])),
        Unknown::Reaction(support, _) => {
            let joint = structure.supports[*support].joint;
            let text = format!("free one reaction, for example at {}", structure.joint_name(joint));
            Some(Cure::new(CureKind::Advice, text))
        }
        Unknown::Axial(_) => None,
    });
    freed.into_iter().collect()
}

/// `statically indeterminate to the first degree: one of A-B, B-C and A-C is redundant`
fn headline(
    structure: &Structure,
    degree: usize,
    members: &[MemberId],
    supports: &[SupportId],
    is_frame: bool,
) -> String {
    const MOST_NAMED: usize = 6;
    let held = joints_of(structure, supports);
    let named = match members.len() {
        0..=MOST_NAMED => words::members(structure, members),
        count => words::counted(count, "member"),
    };
    let (number, are) = (words::count(degree), if degree == 1 { "is" } else { "are" });
    let of = match (members.is_empty(), supports.is_empty()) {
        (true, _) => format!("{number} of the reactions at {held}"),
        (false, true) if !is_frame => format!("{number} of {named}"),
        (false, true) => format!("{} in {named}", words::counted(degree, "force")),
        (false, false) => format!("{} in {named} and the reactions at {held}", words::counted(degree, "force")),
    };
    format!("statically indeterminate to {}: {of} {are} redundant", to_degree(degree))
}

/// `the first degree`, `degree 12`
fn to_degree(degree: usize) -> String {
    const WORDS: [&str; 6] = ["first", "second", "third", "fourth", "fifth", "sixth"];
    let word = degree.checked_sub(1).and_then(|at| WORDS.get(at));
    word.map_or_else(|| format!("degree {degree}"), |word| format!("the {word} degree"))
}

/// The names of a label; more are counted.
const MOST_NAMED: usize = 3;

/// Where the members and supports stand, a label a place: one statement may
/// state several, as in a loop.
fn labels(structure: &Structure, unknowns: &[Unknown]) -> Vec<(Origin, String)> {
    let mut found: Vec<(Origin, Vec<String>, usize)> = Vec::new();
    // Members and supports leave each other room.
    let (members, supports) = parts(unknowns);
    let mut of_members = (MOST_LABELS - supports.len().min(MOST_SUPPORT_LABELS), 0);
    let mut of_supports = (MOST_LABELS - members.len().min(MOST_LABELS - MOST_SUPPORT_LABELS), 0);
    let mut met: (FxHashSet<MemberId>, FxHashSet<SupportId>) = Default::default();
    for unknown in unknowns {
        // A member has several forces, a support several reactions.
        let is_new = match unknown {
            Unknown::Axial(member) | Unknown::EndMoment(member, _) => met.0.insert(*member),
            Unknown::Reaction(support, _) => met.1.insert(*support),
        };
        if !is_new {
            continue;
        }
        let (origin, name) = place_and_name(structure, *unknown);
        if let Some((_, names, count)) = found.iter_mut().find(|(known, ..)| *known == origin) {
            *count += 1;
            if names.len() < MOST_NAMED {
                names.push(name);
            }
            continue;
        }
        let (room, taken) = if matches!(unknown, Unknown::Reaction(..)) { &mut of_supports } else { &mut of_members };
        if *taken < *room {
            *taken += 1;
            found.push((origin, vec![name], 1));
        }
    }
    found.into_iter().map(|(origin, names, count)| (origin, involved(&names, count))).collect()
}

/// `A, B and C`, where supports stand.
fn joints_of(structure: &Structure, supports: &[SupportId]) -> String {
    let joints: Vec<JointId> = supports.iter().map(|id| structure.supports[*id].joint).collect();
    words::joints(structure, &joints)
}

fn place_and_name(structure: &Structure, unknown: Unknown) -> (Origin, String) {
    match unknown {
        Unknown::Axial(member) | Unknown::EndMoment(member, _) => {
            (structure.members[member].origin, structure.member_name(member))
        }
        Unknown::Reaction(support, _) => {
            let at = &structure.supports[support];
            let kind = at.noun();
            (at.origin, format!("the {kind} at {}", structure.joint_name(at.joint)))
        }
    }
}

/// `A-B is involved`, `L0-U0 and L1-U1 are involved`; of more than are named, the first.
fn involved(names: &[String], count: usize) -> String {
    match names {
        [only] => format!("{only} is involved"),
        [first @ .., last] if count <= MOST_NAMED => format!("{} and {last} are involved", first.join(", ")),
        _ => {
            let named = names.get(..MOST_NAMED - 1).unwrap_or(names);
            format!("{} and {} more are involved", named.join(", "), words::count(count - named.len()))
        }
    }
}

/// With beams it is forces that are redundant, not whole members.
fn frame_words(
    structure: &Structure,
    (equilibrium, verdict): (&Equilibrium, &Verdict),
    redundancy: &Redundancy,
    missing: &[MemberId],
    mut diagnostic: Diagnostic,
) -> Diagnostic {
    let (have, want) = (verdict.rank.columns, verdict.rank.rows);
    if verdict.mechanisms == 0 {
        diagnostic = diagnostic.why(format!(
            "{have} unknown forces and moments against {want} equations of equilibrium: {} too many.",
            words::count(have.saturating_sub(want))
        ));
    }
    if missing.is_empty() {
        diagnostic.severity = if verdict.mechanisms == 0 { Severity::Information } else { Severity::Error };
        return diagnostic.why("Their stiffness decides how they share the load.");
    }
    let freed = statics::releases(structure, equilibrium, verdict, redundancy).or_else(|| {
        let end = redundancy.among.iter().find(|unknown| matches!(unknown, Unknown::EndMoment(..)));
        end.map(|end| vec![*end])
    });
    diagnostic.cures.extend(freed.map(|freed| self::freed(structure, &freed)));
    diagnostic.cure(stiffness(structure, missing, "beam: EI = 20 MN*m^2, EA = rigid"))
}

/// Forces freed by hinges at ends of beams and by rollers in place of pins.
fn freed(structure: &Structure, freed: &[Unknown]) -> Cure {
    let mut told: Vec<String> = Vec::new();
    let mut hinged: Vec<(MemberId, Vec<JointId>)> = Vec::new();
    let mut supports: Vec<(JointId, String)> = Vec::new();
    for unknown in freed {
        let Unknown::EndMoment(id, end) = unknown else {
            if let Some((joint, line)) = pin_as_roller(structure, *unknown) {
                told.push(in_place_of(structure, joint, &line));
                supports.push((joint, line));
            }
            continue;
        };
        let member = &structure.members[*id];
        let joint = if *end == End::Start { member.start } else { member.end };
        match hinged.iter_mut().find(|(known, _)| known == id) {
            Some((_, joints)) => joints.push(joint),
            None => hinged.push((*id, vec![joint])),
        }
    }
    let beams = hinged.iter().map(|(id, joints)| {
        // A hinge it has already stays.
        let member = &structure.members[*id];
        let had = [(member.hinged[0], member.start), (member.hinged[1], member.end)].into_iter();
        let had = had.filter(|(hinged, _)| *hinged).map(|(_, joint)| joint);
        let names: Vec<&str> = had.chain(joints.iter().copied()).map(|joint| structure.joint_name(joint)).collect();
        format!("`beam {}: hinged at {}`", structure.member_name(*id), names.join(", "))
    });
    let told: Vec<String> = beams.chain(told).collect();
    let text = format!(
        "free {} force{}, for example by {}",
        words::count(freed.len()),
        if freed.len() == 1 { "" } else { "s" },
        words::list(&told)
    );
    Cure::new(CureKind::Free { hinged, supports }, text)
}
