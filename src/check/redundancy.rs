//! Findings about members and reactions that are more than statics can resolve.
//!
//! Must not know: how redundant forces would be found.

use crate::base::{MemberId, Origin, SupportId};
use crate::diagnostic::{Diagnostic, Severity, Slug};
use crate::statics::verdict::split;
use crate::statics::{Component, Redundancy, Special, Unknown, Verdict};
use crate::structure::{Structure, SupportKind};
use crate::syntax::tree::MemberKind;

use super::{stability, words};

const MOST_LABELS: usize = 5;

/// `missing` lacks a stiffness that a redundancy depends on; with none missing
/// the redundancies are only worth knowing.
pub fn check_redundancy(structure: &Structure, verdict: &Verdict, missing: &[MemberId]) -> Vec<Diagnostic> {
    // Where the layout is special, each motion has left one force open: that
    // is told with the motion, and nothing is there to leave out.
    if matches!(verdict.special, Special::FewerElsewhere(fewer) if fewer >= verdict.redundancy) {
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
        last.why.push(format!("Elsewhere there are {} more, not told one by one.", words::count(rest)));
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
    let message = headline(structure, redundancy.degree, &members, &supports);
    let mut diagnostic = Diagnostic::new(Slug::Redundant, message);
    for (origin, name) in labels(structure, &redundancy.among).into_iter().take(MOST_LABELS) {
        diagnostic = diagnostic.label(origin, name);
    }
    diagnostic = diagnostic.why(
        "They can be stressed against each other with no load on the structure, so equilibrium alone does not fix their forces.",
    );
    let (have, want, count) = stability::count(verdict);
    if verdict.mechanisms == 0 {
        let more = match have.saturating_sub(want) {
            1 => "There is one unknown".to_owned(),
            many => format!("There are {} unknowns", words::count(many)),
        };
        diagnostic = diagnostic.why(format!("{more} more than equations: {count}."));
    } else if have == want {
        diagnostic =
            diagnostic.why(format!("The count is right only because something is missing elsewhere: {count}."));
    }
    diagnostic = cures(structure, diagnostic, redundancy);
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

/// Each part of a smallest dependent set can be left out without loss: that is what makes it one. A beam is more
/// than the part that is in the set.
fn cures(structure: &Structure, diagnostic: Diagnostic, redundancy: &Redundancy) -> Diagnostic {
    let freed = redundancy.among.iter().rev().find_map(|unknown| freed(structure, unknown));
    let bars: Vec<String> = redundancy
        .among
        .iter()
        .filter_map(|unknown| match unknown {
            Unknown::Axial(id) if structure.member(*id)?.kind != MemberKind::Beam => Some(structure.member_name(*id)),
            _ => None,
        })
        .collect();
    let leave_out = match bars.as_slice() {
        [] => None,
        [only] => Some(format!("leave out {only}")),
        several => Some(format!("leave out any one of {}", words::list(several))),
    };
    let again = if redundancy.degree == 1 { "" } else { "; then check again" };
    let verified = format!("nothing is looser then (verified){again}");
    match (freed, leave_out) {
        (Some(freed), Some(leave_out)) => diagnostic.help(format!("{freed}, or {leave_out}: {verified}")),
        (Some(only), None) | (None, Some(only)) => diagnostic.help(format!("{only}: {verified}")),
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
        (SupportKind::Fixed, Component::X) => Some(format!("make `fixed {name}` a `guide {name}: along right`")),
        (SupportKind::Fixed, Component::Y) => Some(format!("make `fixed {name}` a `guide {name}: along up`")),
        (SupportKind::Fixed, Component::Turn) => Some(format!("make `fixed {name}` a `pin {name}`")),
        (SupportKind::Roller(_), _) => Some(format!("leave out `roller {name}`")),
        _ => None,
    }
}

/// `one redundant member among A-B, B-C and A-C`, `one redundant member or reaction among A-B and the reactions at
/// A and B`
fn headline(structure: &Structure, degree: usize, members: &[MemberId], supports: &[SupportId]) -> String {
    const MOST_NAMED: usize = 6;
    let noun = match (members.is_empty(), supports.is_empty(), degree) {
        (true, _, 1) => "reaction",
        (true, _, _) => "reactions",
        (_, true, 1) => "member",
        (_, true, _) => "members",
        (_, _, 1) => "member or reaction",
        (_, _, _) => "members or reactions",
    };
    let mut among: Vec<String> = match members.len() {
        0..=MOST_NAMED => members.iter().map(|member| structure.member_name(*member)).collect(),
        count => vec![words::counted(count, "member")],
    };
    let joints: Vec<_> =
        supports.iter().filter_map(|id| structure.supports.get(id.index())).map(|support| support.joint).collect();
    if !joints.is_empty() {
        let the = if joints.len() == 1 { "the reaction at" } else { "the reactions at" };
        among.push(format!("{the} {}", words::joints(structure, &joints)));
    }
    format!("{} redundant {noun} among {}", words::count(degree), words::list(&among))
}

fn labels(structure: &Structure, unknowns: &[Unknown]) -> Vec<(Origin, String)> {
    let mut found: Vec<(Origin, String)> = Vec::new();
    for unknown in unknowns {
        let (origin, name) = match unknown {
            Unknown::Axial(member) | Unknown::EndMoment(member, _) => match structure.member(*member) {
                Some(at) => (at.origin, format!("{} is one of them", structure.member_name(*member))),
                None => continue,
            },
            Unknown::Reaction(support, _) => match structure.supports.get(support.index()) {
                Some(at) => (
                    at.origin,
                    format!("held against the {} at {}", words::support(&at.kind), structure.joint_name(at.joint)),
                ),
                None => continue,
            },
        };
        if found.last().map(|(last, _)| *last) != Some(origin) {
            found.push((origin, name));
        }
    }
    found
}
