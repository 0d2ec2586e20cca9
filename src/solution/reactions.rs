//! External equilibrium: sums that leave one unknown, two that share two, all
//! together; the check about another point. Body by body and hinge by hinge
//! where the whole has more than three unknowns.
//!
//! Must not know: member forces inside a body.

use std::cmp::Reverse;

use crate::base::JointId;

use super::bodies::{BodyId, Division, Form};
use super::elimination::Pair;
use super::loads::Loads;
use super::part::{Acting, Balance, Centre, Kind, Size, Sum, UnknownId};
use super::problem::Problem;
use super::system::{Chosen, System, Together};

/// Bodies of which every union is tried.
const MOST_UNITED: usize = 6;
/// Equations that are solved together at most.
pub const MOST_TOGETHER: usize = 60;
/// Joints that are looked at as centres of the check.
const MOST_CENTRES: usize = 200;

/// Which unknowns are wanted.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Goal {
    All,
    Reactions,
}

/// One step towards the unknowns.
#[derive(Clone, Debug)]
pub enum Step {
    /// A sum of a part that leaves one unknown.
    Alone { chosen: Chosen, part: Vec<Acting>, balance: Balance, gives: (UnknownId, f64) },
    /// Two sums with the same two, and the parts they are of.
    Pair { chosen: [Chosen; 2], pair: Pair },
    /// All sums of all bodies.
    Together(Together),
    /// Nothing tried finds any more.
    Stuck,
}

impl Step {
    pub fn gives(&self) -> &[(UnknownId, f64)] {
        match self {
            Step::Alone { gives, .. } => std::slice::from_ref(gives),
            Step::Pair { pair, .. } => &pair.gives,
            Step::Together(together) => &together.gives,
            Step::Stuck => &[],
        }
    }

    fn balances(&self) -> Vec<&Balance> {
        match self {
            Step::Alone { balance, .. } => vec![balance],
            Step::Pair { pair, .. } => pair.sums.iter().collect(),
            Step::Together(together) => together.rows.iter().map(|(_, balance)| balance).collect(),
            Step::Stuck => Vec::new(),
        }
    }
}

/// The structure in as few bodies as give its reactions: as one where they are three.
pub fn set_up(problem: &Problem<'_>, loads: &Loads) -> System {
    let whole = System::divided(problem, loads, Division::Whole);
    if whole.unknowns.len() == 3 { whole } else { System::divided(problem, loads, Division::Assemblies) }
}

/// Sum after sum, until all that is wanted is found.
pub fn find(problem: &Problem<'_>, system: &mut System, goal: Goal) -> Vec<Step> {
    let chosen = candidates(system);
    let mut steps = Vec::new();
    let is_done = |system: &System| match goal {
        Goal::All => system.all_found(),
        Goal::Reactions => system.reactions_found(),
    };
    while !is_done(system) {
        let found = one_unknown(problem, system, &chosen)
            .or_else(|| two_unknowns(problem, system, &chosen))
            .or_else(|| together(problem, system));
        let Some(step) = found else {
            steps.push(Step::Stuck);
            break;
        };
        step.gives().iter().for_each(|(id, value)| system.set(*id, *value));
        steps.push(step);
    }
    steps
}

/// The parts worth cutting free: the whole, each body, unions of a few.
fn candidates(system: &System) -> Vec<Chosen> {
    let free = system.free_bodies();
    let mut all = vec![free.clone()];
    if free.len() > 1 {
        all.extend(free.iter().map(|id| Chosen::from([*id])));
    }
    let rigid: Vec<BodyId> = free.into_iter().filter(|id| system.bodies[*id].form == Form::Rigid).collect();
    if (3..=MOST_UNITED).contains(&rigid.len()) {
        for mask in 0_u32..(1 << rigid.len()) {
            let union: Chosen =
                rigid.iter().enumerate().filter(|(bit, _)| mask & (1 << bit) != 0).map(|(_, id)| *id).collect();
            if union.len() > 1 && union.len() < rigid.len() {
                all.push(union);
            }
        }
    }
    all
}

/// A sum with one unknown left.
fn one_unknown(problem: &Problem<'_>, system: &System, chosen: &[Chosen]) -> Option<Step> {
    chosen.iter().find_map(|group| {
        let part = system.part(group);
        if !part.iter().any(|acting| system.is_open(acting)) {
            return None;
        }
        system.sums(problem, &part).into_iter().find_map(|sum| {
            let balance = Balance::of(problem, &system.unknowns, &part, sum);
            let gives = balance.alone(problem, &system.unknowns)?;
            Some(Step::Alone { chosen: group.clone(), part: part.clone(), balance, gives })
        })
    })
}

/// Two sums with the same two unknowns.
fn two_unknowns(problem: &Problem<'_>, system: &System, chosen: &[Chosen]) -> Option<Step> {
    let mut seen: Vec<(&Chosen, Balance)> = Vec::new();
    for group in chosen {
        let part = system.part(group);
        for sum in system.sums(problem, &part) {
            let balance = Balance::of(problem, &system.unknowns, &part, sum);
            if balance.open.len() != 2 {
                continue;
            }
            let partner = seen
                .iter()
                .find_map(|(other, known)| Some((*other, Pair::of([known, &balance], same_two(known, &balance)?)?)));
            if let Some((other, mut pair)) = partner {
                // Two points without a joint are two letters.
                if let [Sum::About(_, Centre::Free), Sum::About(at, Centre::Free)] =
                    pair.sums.each_ref().map(|own| own.sum)
                {
                    pair.sums[1].sum = Sum::About(at, Centre::SecondFree);
                }
                return Some(Step::Pair { chosen: [other.clone(), group.clone()], pair });
            }
            seen.push((group, balance));
        }
    }
    None
}

/// The two unknowns that two sums share, if they are the same.
fn same_two(first: &Balance, second: &Balance) -> Option<[UnknownId; 2]> {
    let ([(p, _), (q, _)], [(r, _), (s, _)]) = (first.open.as_slice(), second.open.as_slice()) else { return None };
    ((p == r && q == s) || (p == s && q == r)).then_some([*p, *q])
}

/// All sums of all bodies at once: where nothing smaller will do.
fn together(problem: &Problem<'_>, system: &System) -> Option<Step> {
    (1..=MOST_TOGETHER).contains(&system.open().len()).then(|| system.together(problem))?.map(Step::Together)
}

/// The sum about a point not used yet, which has to come to zero, and all that
/// acts on the whole.
pub fn check(problem: &Problem<'_>, system: &System, steps: &[Step]) -> Option<(JointId, Vec<Acting>, Balance)> {
    let part = system.part(&system.free_bodies());
    let used: Vec<Centre> = steps.iter().flat_map(Step::balances).filter_map(|balance| balance.sum.centre()).collect();
    let about = |joint| Balance::of(problem, &system.unknowns, &part, Sum::about(problem, joint));
    let fresh = problem.structure.joints.ids().filter(|joint| !used.contains(&Centre::Joint(*joint)));
    let balances = fresh.take(MOST_CENTRES).map(|joint| (joint, about(joint)));
    let (joint, balance) = balances.max_by_key(|(joint, balance)| {
        let terms = balance.terms.len();
        (terms.min(3), problem.structure.support_at(*joint).is_some(), Reverse(terms), Reverse(*joint))
    })?;
    (!balance.terms.is_empty()).then_some((joint, part, balance))
}

/// Where the sideways load goes.
pub struct Sideways {
    /// Newtons to the right.
    pub total: f64,
    /// Of a single load, as it was given.
    pub given: Option<f64>,
    /// Those that can hold sideways, and what each does.
    pub holders: Vec<(JointId, f64)>,
}

/// Nothing where no load acts sideways.
pub fn sideways(problem: &Problem<'_>, system: &System, loads: &Loads) -> Option<Sideways> {
    let part = |acting: &Acting| match (acting.kind, acting.size.known()) {
        (Kind::Force(direction), Some(size)) => direction.unit[0] * size,
        _ => 0.0,
    };
    let total: f64 = loads.each.iter().map(part).sum();
    if problem.quiet(total) == 0.0 {
        return None;
    }
    let loaded: Vec<&Acting> = loads.each.iter().filter(|acting| part(acting) != 0.0).collect();
    let given = match loaded.as_slice() {
        [Acting { size: Size::Load(size), .. }] => Some(*size),
        _ => None,
    };
    let holders = system.reactions.entries().filter_map(|(support, given)| {
        let sideways = given.iter().filter_map(|(id, kind)| match kind {
            Kind::Force(direction) if direction.unit[0] != 0.0 => Some(direction.unit[0] * system.value(*id)?),
            _ => None,
        });
        let held = sideways.reduce(|sum, part| sum + part)?;
        Some((problem.structure.supports[support].joint, problem.quiet(held)))
    });
    Some(Sideways { total, given, holders: holders.collect() })
}

/// Whether a division says anything that another did not: more bodies, or
/// unknowns of its own. It takes what the other has found.
pub fn is_finer(inside: &mut System, outside: &System) -> bool {
    if inside.bodies.len() == outside.bodies.len() {
        return false;
    }
    inside.take_from(outside);
    !inside.all_found()
}
