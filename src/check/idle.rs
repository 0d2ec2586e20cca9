//! Statements that hold or free a rotation where no member bends: a fixed
//! support, or a hinge, on a joint of bars alone.
//!
//! Must not know: how forces are found.

use rustc_hash::FxHashSet;

use crate::base::{IdVec, JointId};
use crate::diagnostic::{Diagnostic, Slug};
use crate::statics::equilibrium::idle_turns;
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

/// Findings of one kind that are told one by one.
const MOST_TOLD: usize = 8;

pub fn check_idle(structure: &Structure) -> Vec<Diagnostic> {
    let meet = meetings(structure);
    let of_bars = |joint: JointId| meet[joint] == Meeting::Bars;
    let idle = idle_turns(structure);
    // A couple on the joint itself is taken by the support there.
    let twisted = if idle.is_empty() { FxHashSet::default() } else { joints_with_couples(structure) };
    let mut found: Vec<Diagnostic> = Vec::new();
    for id in idle {
        let support = &structure.supports[id];
        if found.len() >= MOST_TOLD || !of_bars(support.joint) || twisted.contains(&support.joint) {
            continue;
        }
        let name = structure.joint_name(support.joint);
        let help = match (support.is_fixed(), &support.held.line) {
            (true, _) => format!("write `pin {name}`, which holds the same"),
            (_, Some(_)) => format!("write `roller {name}`, which holds the same, with its `along`"),
            (_, None) => format!("leave out `kr` at {name}"),
        };
        let what = support.noun();
        found.push(
            Diagnostic::new(Slug::IdleClamp, format!("the {what} at {name} holds no rotation: only bars meet there"))
                .label(support.origin, "holds against turning too")
                .why("Bars are free to turn at their ends, so no couple reaches the support, and its reaction couple is zero.")
                .help(help)
                .help(format!("or, where a member is built in at {name}, make it a `beam`")),
        );
    }
    let mut hinges = 0;
    for (joint, origin) in &structure.hinges {
        if hinges >= MOST_TOLD || !of_bars(*joint) {
            continue;
        }
        hinges += 1;
        let name = structure.joint_name(*joint);
        found.push(
            Diagnostic::new(Slug::IdleHinge, format!("the hinge at {name} frees nothing: only bars meet there"))
                .label(*origin, "no beam ends here")
                .why("Bars are free to turn at their ends without a hinge; `hinge` frees the ends of beams.")
                .help("leave it out, or make the members `beam` that are rigid elsewhere"),
        );
    }
    found
}

/// What kinds of members meet in a joint.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Meeting {
    Nothing,
    Bars,
    Beams,
}

fn meetings(structure: &Structure) -> IdVec<JointId, Meeting> {
    let mut meet = IdVec::filled(&structure.joints, Meeting::Nothing);
    for member in &structure.members {
        for joint in [member.start, member.end] {
            meet[joint] = match (member.kind, meet[joint]) {
                (MemberKind::Beam, _) | (_, Meeting::Beams) => Meeting::Beams,
                _ => Meeting::Bars,
            };
        }
    }
    meet
}

fn joints_with_couples(structure: &Structure) -> FxHashSet<JointId> {
    let loads = structure.cases.iter().flat_map(|case| &case.loads);
    loads.filter_map(|load| load.kind.couple_on_joint()).collect()
}
