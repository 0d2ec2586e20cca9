//! Findings about members and reactions that are more than statics can resolve.
//!
//! Must not know: how redundant forces would be found.

use crate::base::{MemberId, Origin, SupportId};
use crate::diagnostic::{Diagnostic, Severity, Slug};
use crate::statics::equilibrium::Component;
use crate::statics::verdict::split;
use crate::statics::{Redundancy, Special, SupportFault, Unknown, Verdict};
use crate::structure::{Structure, SupportKind};

use super::words;

const MOST_LABELS: usize = 5;

/// Redundancies that are no more than the other side of a fault of layout or supports are told there.
///
/// `missing` lacks a stiffness that a redundancy depends on; with none missing
/// the redundancies are only worth knowing.
pub fn check_redundancy(structure: &Structure, verdict: &Verdict, missing: &[MemberId]) -> Vec<Diagnostic> {
    if verdict.redundancy <= mirrored(verdict) {
        return Vec::new();
    }
    let told = verdict.redundancies.iter();
    let mut found: Vec<Diagnostic> =
        told.map(|redundancy| redundancy_words(structure, verdict, redundancy, missing)).collect();
    let told: usize = verdict.redundancies.iter().map(|redundancy| redundancy.degree).sum();
    let rest = verdict.redundancy.saturating_sub(told);
    if rest > 0
        && let Some(last) = found.last_mut()
    {
        let more = if rest == 1 { "redundancy is" } else { "redundancies are" };
        last.why.push(format!("{} more such {more} not told one by one.", capitalised(&words::count(rest))));
    }
    found
}

/// Where members or reactions are enough and placed so that they do not hold, as many of them are idle: placed
/// better they would hold, and nothing would be redundant.
fn mirrored(verdict: &Verdict) -> usize {
    match (verdict.special, &verdict.support_fault) {
        (Special::FewerElsewhere(fewer), _) => fewer,
        (Special::No, Some(SupportFault::Parallel { .. } | SupportFault::Concurrent { .. })) => 1,
        _ => 0,
    }
}

fn redundancy_words(
    structure: &Structure,
    verdict: &Verdict,
    redundancy: &Redundancy,
    missing: &[MemberId],
) -> Diagnostic {
    let (members, supports) = split(&redundancy.among);
    let one = redundancy.degree == 1;
    let noun = match (members.is_empty(), supports.is_empty(), one) {
        (true, _, true) => "reaction",
        (true, _, false) => "reactions",
        (false, true, true) => "member",
        (false, true, false) => "members",
        (false, false, true) => "member or reaction",
        (false, false, false) => "members or reactions",
    };
    let degree = words::count(redundancy.degree);
    let among = among(structure, &members, &supports);
    let mut message = format!("{degree} {noun} more than statics can resolve");
    if one {
        message.push_str(&format!(", among {among}"));
    }
    let mut diagnostic = Diagnostic::new(Slug::Redundant, message);
    for (origin, name) in labels(structure, &redundancy.among).into_iter().take(MOST_LABELS) {
        diagnostic = diagnostic.label(origin, name);
    }
    diagnostic = diagnostic.why(if one {
        "Equilibrium alone leaves the force in one of these open; once it is known, the others follow.".to_owned()
    } else {
        format!("Equilibrium alone leaves {degree} forces open. The smallest group that shares one of them is {among}.")
    });
    if verdict.mechanisms == 0 {
        let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
        diagnostic = diagnostic.why(format!("m + r = {m} + {r} = {} against 2j = {}.", m + r, 2 * j));
    }
    diagnostic = cures(structure, diagnostic, redundancy, &members);
    if missing.is_empty() {
        // An unstable layout has no forces that stiffness could settle.
        diagnostic.severity = if verdict.mechanisms == 0 { Severity::Information } else { Severity::Error };
        return diagnostic;
    }
    let names = words::members(structure, missing);
    diagnostic.help(format!(
        "or give {names} a section with stiffness (`EA`, and `EI` for beams; or material and dimensions), such as `section tie: EA = 40 MN`"
    ))
}

/// Each part of a smallest dependent set can be left out without loss: that is what makes it one.
fn cures(structure: &Structure, diagnostic: Diagnostic, redundancy: &Redundancy, members: &[MemberId]) -> Diagnostic {
    let holds = if redundancy.degree == 1 {
        "the rest holds as before (verified)"
    } else {
        "the rest holds as before, with one redundancy less (verified)"
    };
    let freed = redundancy.among.iter().rev().find_map(|unknown| freed(structure, unknown));
    let names: Vec<String> = members.iter().map(|member| format!("`{}`", structure.member_name(*member))).collect();
    let leave_out = match names.len() {
        0 => None,
        1 => Some(format!("leave out {}", words::list(&names))),
        _ => Some(format!("leave out any one of {}", words::list(&names))),
    };
    match (freed, leave_out) {
        (Some(freed), Some(leave_out)) => diagnostic.help(format!("{freed}, or {leave_out}: {holds}")),
        (Some(only), None) | (None, Some(only)) => diagnostic.help(format!("{only}: {holds}")),
        (None, None) => diagnostic,
    }
}

/// One reaction component less, as it would be written.
fn freed(structure: &Structure, unknown: &Unknown) -> Option<String> {
    let Unknown::Reaction(support, component) = unknown else { return None };
    let support = structure.supports.get(support.index())?;
    let name = structure.joint_name(support.joint);
    match (&support.kind, component) {
        (SupportKind::Pin, Component::X) => Some(format!("make `pin {name}` a `roller {name}`")),
        (SupportKind::Pin, Component::Y) => Some(format!("make `pin {name}` a `roller {name}: along up`")),
        (SupportKind::Roller(_), _) => Some(format!("leave out `roller {name}`")),
        _ => None,
    }
}

fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// `A-B, B-C and the reactions at A and C`; many members by their number.
fn among(structure: &Structure, members: &[MemberId], supports: &[SupportId]) -> String {
    let mut parts: Vec<String> = match members.len() {
        0..=6 => members.iter().map(|member| structure.member_name(*member)).collect(),
        many => vec![format!("{} members", words::count(many))],
    };
    let joints: Vec<String> = supports
        .iter()
        .filter_map(|support| structure.supports.get(support.index()))
        .map(|support| structure.joint_name(support.joint).to_owned())
        .collect();
    if !joints.is_empty() {
        parts.push(format!("the reactions at {}", words::list(&joints)));
    }
    words::list(&parts)
}

fn labels(structure: &Structure, unknowns: &[Unknown]) -> Vec<(Origin, String)> {
    let mut found: Vec<(Origin, String)> = Vec::new();
    for unknown in unknowns {
        let (origin, name) = match unknown {
            Unknown::Axial(member) | Unknown::EndMoment(member, _) => match structure.member(*member) {
                Some(at) => (at.origin, structure.member_name(*member)),
                None => continue,
            },
            Unknown::Reaction(support, _) => match structure.supports.get(support.index()) {
                Some(at) => (at.origin, format!("{} {}", at.kind.word(), structure.joint_name(at.joint))),
                None => continue,
            },
        };
        if found.last().map(|(last, _)| *last) != Some(origin) {
            found.push((origin, name));
        }
    }
    found
}
