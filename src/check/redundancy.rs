//! Findings about members and reactions that are more than statics can resolve.
//!
//! Must not know: how redundant forces would be found.

use crate::base::{MemberId, Origin};
use crate::diagnostic::{Diagnostic, Severity, Slug};
use crate::statics::verdict::split;
use crate::statics::{Redundancy, Unknown, Verdict};
use crate::structure::Structure;

use super::words;

const MOST_LABELS: usize = 5;

/// `missing` lacks a stiffness that a redundancy depends on; with none missing
/// the redundancies are only worth knowing.
pub fn check_redundancy(structure: &Structure, verdict: &Verdict, missing: &[MemberId]) -> Vec<Diagnostic> {
    let told = verdict.redundancies.iter();
    let mut found: Vec<Diagnostic> =
        told.map(|redundancy| redundancy_words(structure, verdict, redundancy, missing)).collect();
    let told: usize = verdict.redundancies.iter().map(|redundancy| redundancy.degree).sum();
    let rest = verdict.redundancy.saturating_sub(told);
    if rest > 0
        && let Some(last) = found.last_mut()
    {
        last.why.push(format!(
            "There are {} elsewhere that are not told one by one.",
            words::counted(rest, "more redundancy").replace("redundancys", "redundancies")
        ));
    }
    found
}

fn redundancy_words(
    structure: &Structure,
    verdict: &Verdict,
    redundancy: &Redundancy,
    missing: &[MemberId],
) -> Diagnostic {
    let (members, supports) = split(&redundancy.among);
    let degree = words::count(redundancy.degree);
    let noun = match (members.is_empty(), redundancy.degree) {
        (true, 1) => "reaction",
        (true, _) => "reactions",
        (false, 1) => "member",
        (false, _) => "members",
    };
    let message = format!("{degree} {noun} more than statics can resolve{}", among(structure, &members));
    let mut diagnostic = Diagnostic::new(Slug::Redundant, message);
    for (origin, name) in labels(structure, &redundancy.among).into_iter().take(MOST_LABELS) {
        diagnostic = diagnostic.label(origin, name);
    }
    let parts = redundancy.among.len();
    diagnostic = diagnostic.why(format!(
        "Equilibrium alone leaves the forces in {} of these open: the rest follow from {}.",
        if redundancy.degree == 1 { "one" } else { degree.as_str() },
        if redundancy.degree == 1 { "it" } else { "them" },
    ));
    if verdict.mechanisms == 0 {
        let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
        diagnostic = diagnostic.why(format!("m + r = {m} + {r} = {} against 2j = {}.", m + r, 2 * j));
    }
    if parts > MOST_LABELS {
        diagnostic =
            diagnostic.why(format!("The smallest group found that shares it has {parts} members and reactions."));
    }
    if !members.is_empty() {
        let names: Vec<String> = members.iter().map(|member| format!("`{}`", structure.member_name(*member))).collect();
        let one = if names.len() == 1 { "leave out" } else { "leave out any one of" };
        diagnostic = diagnostic.help(format!("{one} {}: the rest holds as before (verified)", words::list(&names)));
    } else if let Some(support) = supports.first().and_then(|id| structure.supports.get(id.index())) {
        let name = structure.joint_name(support.joint);
        diagnostic = diagnostic.help(format!("free a reaction, for example at {name}"));
    }
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

fn among(structure: &Structure, members: &[MemberId]) -> String {
    match members.len() {
        0 => String::new(),
        1..=6 => format!(", among {}", words::members(structure, members)),
        many => format!(", among {} members", words::count(many)),
    }
}

fn labels(structure: &Structure, unknowns: &[Unknown]) -> Vec<(Origin, String)> {
    let mut found: Vec<(Origin, String)> = Vec::new();
    for unknown in unknowns {
        let (origin, name) = match unknown {
            Unknown::Axial(member) | Unknown::EndMoment(member, _) => match structure.member(*member) {
                Some(at) => (at.origin, format!("{} shares in it", structure.member_name(*member))),
                None => continue,
            },
            Unknown::Reaction(support, _) => match structure.supports.get(support.index()) {
                Some(at) => (at.origin, format!("so does the {} {}", at.kind.word(), structure.joint_name(at.joint))),
                None => continue,
            },
        };
        if found.last().map(|(last, _)| *last) != Some(origin) {
            found.push((origin, name));
        }
    }
    found
}
