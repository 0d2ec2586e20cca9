//! Things worth a look that are no faults: lets that nothing reads, supports and
//! hinges that hold or free nothing, members without force; and the switches that
//! turn any finding of that kind off or into an error.
//!
//! Must not know: how forces are found.

use rustc_hash::FxHashSet;

use crate::base::{IdVec, JointId, MemberId};
use crate::diagnostic::{Diagnostic, Severity, Slug};
use crate::statics::equilibrium::idle_turns;
use crate::statics::{Range, Solution, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::{LintAction, MemberKind};

use super::words;

const MOST_TOLD: usize = 20;
/// Statements that hold or free nothing, of one kind.
const MOST_IDLE: usize = 8;
const MOST_LABELS: usize = 4;

pub fn check_lints(structure: &Structure) -> Vec<Diagnostic> {
    structure
        .unused_lets
        .iter()
        .take(MOST_TOLD)
        .map(|(name, origin)| {
            let name = structure.names.get(*name);
            Diagnostic::new(Slug::UnusedLet, format!("`{name}` is never used"))
                .label(*origin, "given here and read nowhere")
                .help("use it or leave it out")
        })
        .collect()
}

/// Members that carry nothing in any case.
pub fn zero_force_members(structure: &Structure, solution: &Solution) -> Option<Diagnostic> {
    let trains = &solution.travels;
    if solution.results.iter().all(|result| result.largest == 0.0) && trains.iter().all(|train| train.largest == 0.0) {
        return None;
    }
    let is_zero = |id: &MemberId| {
        let in_train = |axial: Range| axial.largest().value.abs();
        structure.members[*id].kind != MemberKind::Beam
            && solution.results.iter().all(|result| result.axial[*id].abs() <= ZERO_SHARE * result.largest)
            && trains.iter().all(|train| in_train(train.members[*id].axial) <= ZERO_SHARE * train.largest)
    };
    let members: Vec<MemberId> = structure.members.ids().filter(is_zero).collect();
    let names = words::members(structure, &members);
    let message = match members.len() {
        0 => return None,
        1 => format!("member {names} carries nothing"),
        many => format!("{} carry nothing: {names}", words::counted(many, "member")),
    };
    let whenever = match solution.results.len() {
        1 => "",
        _ => " in every case and combination",
    };
    let mut diagnostic = Diagnostic::new(Slug::ZeroForceMember, message);
    for id in members.iter().take(MOST_LABELS) {
        let name = structure.member_name(*id);
        diagnostic = diagnostic.label(structure.members[*id].origin, format!("the force in {name} is zero{whenever}"));
    }
    Some(diagnostic.why("A member without force is not useless: it braces the others, and other loads may need it."))
}

/// Statements that hold or free a rotation where no member bends: a fixed
/// support, or a hinge, on a joint of bars alone.
pub fn check_idle(structure: &Structure) -> Vec<Diagnostic> {
    let meet = meetings(structure);
    let of_bars = |joint: JointId| meet[joint] == Meeting::Bars;
    let idle = idle_turns(structure);
    // A couple on the joint itself is taken by the support there.
    let twisted = if idle.is_empty() { FxHashSet::default() } else { joints_with_couples(structure) };
    let mut found: Vec<Diagnostic> = Vec::new();
    for id in idle {
        let support = &structure.supports[id];
        if found.len() >= MOST_IDLE || !of_bars(support.joint) || twisted.contains(&support.joint) {
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
        if hinges >= MOST_IDLE || !of_bars(*joint) {
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

/// Findings switched from outside the file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Switches {
    pub allowed: Vec<Slug>,
    pub denied: Vec<Slug>,
}

impl Switches {
    /// Of two switches of one finding the stricter holds, so that no order of
    /// lines or options matters.
    fn action(&self, slug: Slug) -> Option<LintAction> {
        if self.denied.contains(&slug) {
            return Some(LintAction::Deny);
        }
        self.allowed.contains(&slug).then_some(LintAction::Allow)
    }
}

/// Applies `allow` and `deny`: those of `outside` before the file's own. What
/// is an error without them stays one.
pub fn switch(structure: &Structure, outside: &Switches, diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let named = |action| structure.lints.iter().filter(move |switch| switch.action == action).map(|switch| switch.slug);
    let own = Switches { allowed: named(LintAction::Allow).collect(), denied: named(LintAction::Deny).collect() };
    let action = |slug: Slug| outside.action(slug).or_else(|| own.action(slug));
    diagnostics
        .into_iter()
        .filter_map(|mut diagnostic| match (diagnostic.severity, action(diagnostic.slug)) {
            (Severity::Error, _) | (_, None) => Some(diagnostic),
            (_, Some(LintAction::Allow)) => None,
            (_, Some(LintAction::Deny)) => {
                diagnostic.severity = Severity::Error;
                Some(diagnostic)
            }
        })
        .collect()
}
