//! Findings about travelling loads: paths that cannot carry them, trains too
//! long to follow.
//!
//! Must not know: how extremes are found.

use crate::base::MemberId;
use crate::check::words;
use crate::diagnostic::{Diagnostic, Slug};
use crate::statics::Solution;
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::MOST_TOLD;

/// A train bears on its path between the joints, which takes beams.
pub(super) fn trains_on_bars(structure: &Structure) -> Vec<Diagnostic> {
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
pub(super) fn too_long(structure: &Structure, solution: &Solution) -> Vec<Diagnostic> {
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
