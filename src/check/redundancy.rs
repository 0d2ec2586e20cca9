//! Findings about members and reactions that are more than statics can resolve.
//!
//! Must not know: how redundant forces would be found.

use crate::base::{MemberId, Origin, SupportId};
use crate::diagnostic::{Diagnostic, Severity, Slug};
use crate::statics::verdict::split;
use crate::statics::{Redundancy, Special, Unknown, Verdict};
use crate::structure::Structure;

use super::words;

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
    let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
    let (have, want) = (m + r, 2 * j);
    if verdict.mechanisms == 0 {
        diagnostic = diagnostic.why(format!(
            "m + r = {m} + {r} = {have} against 2j = {want}: {} more than the equations.",
            words::count(have.saturating_sub(want))
        ));
    } else if have == want {
        diagnostic = diagnostic.why(format!(
            "The count is right only because something is missing elsewhere: m + r = {m} + {r} = 2j = {want}."
        ));
    }
    diagnostic = match (members.as_slice(), supports.first().and_then(|id| structure.supports.get(id.index()))) {
        ([], Some(support)) => {
            diagnostic.help(format!("free one reaction, for example at {}", structure.joint_name(support.joint)))
        }
        ([], None) => diagnostic,
        ([only], _) => diagnostic
            .help(format!("leave out {}: without it nothing is looser (verified)", structure.member_name(*only))),
        (several, _) => diagnostic.help(format!(
            "leave out any one of {}: without it nothing is looser (verified){}",
            words::members(structure, several),
            if redundancy.degree == 1 { "" } else { "; then check again" }
        )),
    };
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

/// `one redundant member among A-B, B-C and A-C`
fn headline(structure: &Structure, degree: usize, members: &[MemberId], supports: &[SupportId]) -> String {
    const MOST_NAMED: usize = 6;
    let noun = if members.is_empty() { "reaction" } else { "member" };
    let many = words::counted(degree, &format!("redundant {noun}"));
    let among = match (members.len(), supports.len()) {
        (0, _) => {
            let joints: Vec<_> = supports
                .iter()
                .filter_map(|id| structure.supports.get(id.index()))
                .map(|support| support.joint)
                .collect();
            format!("those at {}", words::joints(structure, &joints))
        }
        (1..=MOST_NAMED, _) => words::members(structure, members),
        (count, _) => format!("{} members", words::count(count)),
    };
    format!("{many} among {among}")
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
                Some(at) => {
                    (at.origin, format!("held against the {} at {}", at.kind.word(), structure.joint_name(at.joint)))
                }
                None => continue,
            },
        };
        if found.last().map(|(last, _)| *last) != Some(origin) {
            found.push((origin, name));
        }
    }
    found
}
