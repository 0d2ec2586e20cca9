//! Findings about travelling loads: paths that cannot carry them, supports
//! they lift, cables they slacken, trains too long to follow.
//!
//! Must not know: how extremes are found.

use crate::base::MemberId;
use crate::check::words;
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::Dimension;
use crate::statics::{Solution, TravelResult, ZERO_SHARE};
use crate::structure::{Hold, PushSense, Structure, SupportKind};
use crate::syntax::tree::MemberKind;

use super::MOST_TOLD;

/// A train bears on its path between the joints, which takes beams.
pub(super) fn trains_on_bars(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for travel in &structure.travels {
        let is_pinned = |id: &MemberId| structure.member(*id).is_some_and(|member| member.kind != MemberKind::Beam);
        let pinned: Vec<MemberId> = travel.path.iter().map(|(member, _)| *member).filter(is_pinned).collect();
        let Some(first) = pinned.first().and_then(|id| structure.member(*id)) else { continue };
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

/// What a train does that cannot be, or needs looking at.
pub(super) fn check_travels(structure: &Structure, solution: &Solution) -> Vec<Diagnostic> {
    let mut found: Vec<Diagnostic> = Vec::new();
    for refused in &solution.too_long {
        let Some(travel) = structure.travels.get(refused.travel.index()) else { continue };
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
    for result in &solution.travels {
        found.extend(pulled_rollers(structure, result));
        found.extend(slack_cables(structure, result));
    }
    found
}

fn pulled_rollers(structure: &Structure, result: &TravelResult) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (support, range) in structure.supports.iter().zip(&result.reactions) {
        let (SupportKind::Roller(roller), Some(push)) = (&support.kind, range.push) else { continue };
        let Some(train) = push.least.train.filter(|_| push.least.value < -ZERO_SHARE * result.largest) else {
            continue;
        };
        if found.len() >= MOST_TOLD {
            break;
        }
        let name = structure.joint_name(support.joint);
        let size = words::quantity(structure, -push.least.value, Dimension::FORCE);
        let under = structure.travel_name(result.travel);
        let position = words::train(structure, result.travel, train);
        let told = if roller.hold == Hold::LiftsOff {
            Diagnostic::new(
                Slug::LiftsOff,
                format!("roller {name} lifts off under {under}: it would have to pull with {size}"),
            )
            .label(support.origin, "declared to lift off, so it can only push")
            .why(format!("So it is with the {position}, the train acting alone."))
            .help("add weight, hold the joint down, or move the support")
        } else if roller.sense == PushSense::Known {
            Diagnostic::new(Slug::RollerPulls, format!("roller {name} has to pull with {size} under {under}"))
                .label(support.origin, "holds both ways, as in textbooks")
                .why(format!("So it is with the {position}, the train acting alone."))
                .help(format!(
                    "if it can lift, write `roller {name}: lifts off`; if it is held down, `allow roller-pulls`"
                ))
        } else {
            continue;
        };
        found.push(told);
    }
    found
}

fn slack_cables(structure: &Structure, result: &TravelResult) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (index, (member, range)) in structure.members.iter().zip(&result.members).enumerate() {
        let least = range.axial.least;
        let Some(train) = least.train.filter(|_| least.value < -ZERO_SHARE * result.largest) else { continue };
        if member.kind != MemberKind::Cable || found.len() >= MOST_TOLD {
            continue;
        }
        let name = structure.member_name(MemberId::new(index));
        let size = words::quantity(structure, -least.value, Dimension::FORCE);
        let under = structure.travel_name(result.travel);
        let position = words::train(structure, result.travel, train);
        found.push(
            Diagnostic::new(
                Slug::SlackCable,
                format!("cable {name} would have to push with {size} under {under}: it goes slack"),
            )
            .label(member.origin, "a cable can only pull")
            .why(format!("So it is with the {position}, the train acting alone."))
            .help(format!("make it a bar, `bar {name}`, or brace the other diagonal too")),
        );
    }
    found
}
