//! Forces: the equations solved for all cases together,
//! combinations by superposition, every result checked by adding up again.
//!
//! Must not know: words for people.

use crate::base::tolerances;
pub use crate::base::tolerances::ZERO_SHARE;
use crate::base::{CaseId, CombinationId, IdVec, JointId, MemberId, TravelId};
use crate::numeric::{Condition, Factor, Flexibility};
use crate::quantity::Number;
use crate::structure::Structure;

use super::equations::{Equations, Factored, RedundantSolver, SolveError, factor};
use super::equilibrium::{Component, Equilibrium, Unknown};
use super::flexibility::{free_deformation, imposed_force};
use super::residual::{Forces, moment_centre, residual};
use super::results::{CaseResult, Displacement, Reaction, Sorted, Subject, lifted_rollers, slack_cables, sort_out};
use super::spans::{self, Actions, Spans};
use super::travel::{self, TooLong, TravelResult};
use super::verdict::Verdict;

/// Above this the answer is quoted with a warning.
pub const LARGE_CONDITION: f64 = 1e8;
/// Above this no forces are quoted: in double precision the layout cannot be
/// told from a mechanism.
pub const LARGEST_CONDITION: f64 = 1e12;

/// All results of a structure.
#[derive(Debug)]
pub struct Solution {
    /// Cases in natural name order, then combinations.
    pub results: Vec<CaseResult>,
    /// The estimated condition number of the equations: what one part in the
    /// data becomes in the result, at worst.
    pub condition: f64,
    /// Where the layout is weakest: the joint at which a unit of force makes
    /// the largest forces, as far as the estimate of the condition looked.
    pub weakest: Option<JointId>,
    /// Travelling loads in natural name order.
    pub travels: Vec<TravelResult>,
    /// Travelling loads beyond what is followed.
    pub too_long: Vec<TooLong>,
}

/// What one case asks of the solver and what it got.
struct Solved {
    actions: Actions,
    resultant: [f64; 3],
    largest_load: f64,
    /// What is imposed, as a force (newtons).
    imposed: f64,
    unknowns: Vec<f64>,
    displacements: Option<Vec<f64>>,
}

/// Solves every case and combination of a stable structure.
pub fn solve(structure: &Structure, equilibrium: &Equilibrium, verdict: &Verdict) -> Result<Solution, SolveError> {
    let Factored { equations, flexibilities, all_known } = factor(structure, equilibrium, verdict)?;
    let Condition { number: mut condition, row: weakest } = match &equations {
        Equations::Determinate(factor) => factor.condition(),
        Equations::Redundant(factor) => factor.condition(),
    };
    let weakest = weakest_joint(equilibrium, weakest);
    check_condition(condition, weakest)?;
    let mut cases: IdVec<CaseId, Solved> =
        structure.cases.ids().map(|case| asked(structure, equilibrium, case)).collect();
    let right: Vec<Vec<f64>> =
        cases.iter().map(|case| against(case.actions.on_joints(structure, &equilibrium.rows))).collect();
    let free = |case: CaseId, solved: &Solved| free_deformation(structure, equilibrium, case, &solved.actions.spans);
    match &equations {
        Equations::Determinate(factor) => {
            for (solved, unknowns) in cases.iter_mut().zip(factor.solve_many(&right)?) {
                solved.unknowns = unknowns;
            }
            if let (Some(flexibilities), true) = (&flexibilities, all_known) {
                for (id, solved) in (0..).map(CaseId).zip(&mut cases) {
                    let mut strained = flexibilities.times(&solved.unknowns);
                    strained.iter_mut().zip(free(id, solved)).for_each(|(strained, free)| *strained += free);
                    solved.displacements = Some(factor.solve_transposed(&against(strained))?);
                }
            }
        }
        Equations::Redundant(factor) => {
            for ((id, solved), right) in (0..).map(CaseId).zip(&mut cases).zip(&right) {
                let answer = factor.solve(right, &against(free(id, solved)))?;
                solved.unknowns = answer.columns;
                solved.displacements = all_known.then(|| against(answer.rows));
                // Statics alone gives exact zeros for them.
                solved.imposed = imposed_force(structure, id);
            }
        }
    }
    for (solved, right) in cases.iter().zip(&right) {
        condition = condition.max(amplification(equilibrium, right, &solved.unknowns));
    }
    drop(right);
    check_condition(condition, weakest)?;
    let mut results = Vec::with_capacity(cases.len() + structure.combinations.len());
    for (index, combination) in structure.combinations.iter().enumerate() {
        let sum = superpose(equilibrium, &cases, &combination.factors, all_known);
        results.push(result(structure, equilibrium, Subject::Combination(CombinationId::new(index)), sum));
    }
    let own = cases.into_iter().enumerate();
    let own = own.map(|(index, case)| result(structure, equilibrium, Subject::Case(CaseId::new(index)), case));
    let mut all: Vec<CaseResult> = own.collect();
    all.append(&mut results);
    let (mut travels, mut too_long, mut spent) = (Vec::new(), Vec::new(), travel::Spent::default());
    for id in (0..structure.travels.len()).map(TravelId::new) {
        match travel::follow(structure, equilibrium, &equations, id, &mut spent)? {
            Ok(result) => travels.push(result),
            Err(refused) => too_long.push(refused),
        }
    }
    Ok(Solution { results: all, condition, weakest, travels, too_long })
}

/// Whether double precision confirms that a structure is stable: the condition
/// of its equations, each unknown as yielding as the next, and where it is
/// weakest.
pub fn confirmation(equilibrium: &Equilibrium, verdict: &Verdict) -> Result<(), SolveError> {
    let matrix = equilibrium.floating()?;
    let condition = match verdict.redundancy {
        0 => Factor::new(&matrix, &verdict.rank.peel)?.condition(),
        _ => {
            let alike = Flexibility { diagonal: vec![1.0; equilibrium.columns().len()], coupled: Vec::new() };
            RedundantSolver::of(equilibrium, verdict, &matrix, &alike)?.condition()
        }
    };
    check_condition(condition.number, weakest_joint(equilibrium, condition.row))
}

fn weakest_joint(equilibrium: &Equilibrium, row: Option<usize>) -> Option<JointId> {
    row.and_then(|row| u32::try_from(row).ok()).map(|row| equilibrium.rows.joint_of(row).0)
}

/// A case before it is solved.
fn asked(structure: &Structure, equilibrium: &Equilibrium, case: CaseId) -> Solved {
    let (_, centre) = moment_centre(structure);
    let (resultant, largest_load) = spans::resultant(structure, case, centre);
    let actions = spans::actions(structure, &equilibrium.rows, case);
    Solved { actions, resultant, largest_load, imposed: 0.0, unknowns: Vec::new(), displacements: None }
}

/// The same with the other sign.
pub(super) fn against(mut values: Vec<f64>) -> Vec<f64> {
    values.iter_mut().for_each(|value| *value = -*value);
    values
}

fn check_condition(condition: f64, weakest: Option<JointId>) -> Result<(), SolveError> {
    if condition > LARGEST_CONDITION || condition.is_nan() {
        return Err(SolveError::TooSensitive { condition, weakest });
    }
    Ok(())
}

/// The largest force beside the sum of all loads: no more than the inverse
/// magnifies, and what scaling the rows would hide in a flat arch.
fn amplification(equilibrium: &Equilibrium, loads: &[f64], unknowns: &[f64]) -> f64 {
    let total: f64 = loads.iter().map(|load| load.abs()).sum();
    let is_force =
        |unknown: &Unknown| !matches!(unknown, Unknown::EndMoment(..) | Unknown::Reaction(_, Component::Turn));
    let forces = equilibrium.unknowns.iter().zip(unknowns).filter(|(unknown, _)| is_force(unknown));
    let largest = forces.fold(0.0_f64, |largest, (_, force)| largest.max(force.abs()));
    // Heat and misfits make forces without any load.
    if total > 0.0 { largest / total } else { 0.0 }
}

/// The factored sum of cases.
fn superpose(
    equilibrium: &Equilibrium,
    cases: &IdVec<CaseId, Solved>,
    factors: &[(CaseId, Number)],
    all_known: bool,
) -> Solved {
    let rows = equilibrium.rows.len();
    let mut sum = Solved {
        actions: Actions { direct: vec![0.0; rows], spans: Spans::new() },
        resultant: [0.0; 3],
        largest_load: 0.0,
        imposed: 0.0,
        unknowns: vec![0.0; equilibrium.unknowns.len()],
        displacements: all_known.then(|| vec![0.0; rows]),
    };
    let add = |total: &mut [f64], part: &[f64], factor: f64| {
        for (total, part) in total.iter_mut().zip(part) {
            *total += factor * part;
        }
    };
    for (case, factor) in factors {
        let (part, factor) = (&cases[*case], factor.to_f64());
        add(&mut sum.actions.direct, &part.actions.direct, factor);
        add(&mut sum.resultant, &part.resultant, factor);
        add(&mut sum.unknowns, &part.unknowns, factor);
        if let (Some(total), Some(part)) = (&mut sum.displacements, &part.displacements) {
            add(total, part, factor);
        }
        for (member, loads) in &part.actions.spans {
            sum.actions.spans.entry(*member).or_default().extend(loads.iter().map(|load| load.times(factor)));
        }
        sum.largest_load = sum.largest_load.max((part.largest_load * factor).abs());
        sum.imposed = sum.imposed.max((part.imposed * factor).abs());
    }
    sum
}

fn result(structure: &Structure, equilibrium: &Equilibrium, subject: Subject, solved: Solved) -> CaseResult {
    let Sorted { mut axial, mut moments, mut reactions } = sort_out(structure, equilibrium, &solved.unknowns);
    let size = |values: &[f64]| values.iter().fold(0.0_f64, |largest, value| largest.max(value.abs()));
    let reaction_size = reactions.iter().map(|r| r.force()[0].hypot(r.force()[1])).fold(0.0, f64::max);
    let (largest_force, largest_couple) = sizes_on_joints(equilibrium, &solved.actions.direct);
    let largest_moment = size(moments.as_flattened()).max(largest_couple);
    let shear = largest_shear(structure, &moments);
    // Where couples alone bend a structure its forces are rounding dust: what
    // the moments are worth as a force over its size is the measure then.
    let turning = if largest_moment > 0.0 { largest_moment / structure.size() } else { 0.0 };
    let acting = size(&axial).max(reaction_size).max(largest_force).max(solved.largest_load).max(shear).max(turning);
    let largest = acting.max(solved.imposed * tolerances::IMPOSED);
    if acting <= ZERO_SHARE * largest {
        // Everything gives way to what is imposed, and every force is zero.
        axial.fill(0.0);
        moments.fill([0.0; 2]);
        for reaction in &mut reactions {
            for part in [&mut reaction.fx, &mut reaction.fy, &mut reaction.m].into_iter().flatten() {
                *part = 0.0;
            }
        }
    }
    let residual = residual(
        structure,
        Forces {
            direct: &solved.actions.direct,
            rows: &equilibrium.rows,
            spans: &solved.actions.spans,
            resultant: solved.resultant,
            reactions: &reactions,
            axial: &axial,
            moments: &moments,
            largest,
        },
    );
    let slack = slack_cables(structure, |id| axial[id], largest);
    let lifted = lifted_rollers(structure, |id| Some(push(structure.supports[id].roller()?, &reactions[id])), largest);
    let displacements = solved.displacements.map(|moved| {
        let of_joint = |joint| {
            let ([dx, dy], turn) = equilibrium.rows.of_joint(joint, &moved);
            Displacement { dx: dx + 0.0, dy: dy + 0.0, turn: turn.map(|turn| turn + 0.0) }
        };
        structure.joints.ids().map(of_joint).collect()
    });
    CaseResult {
        subject,
        reactions,
        axial,
        moments,
        spans: solved.actions.spans,
        displacements,
        residual,
        largest,
        slack,
        lifted,
    }
}

fn largest_shear(structure: &Structure, moments: &IdVec<MemberId, [f64; 2]>) -> f64 {
    let bent = moments.entries().filter(|(_, [start, end])| start != end);
    bent.map(|(id, [start, end])| ((end - start) / structure.member_length(id)).abs()).fold(0.0, f64::max)
}

/// The largest force on a joint along an axis, and the largest couple.
fn sizes_on_joints(equilibrium: &Equilibrium, rows: &[f64]) -> (f64, f64) {
    (0..equilibrium.rows.joints()).map(JointId::new).fold((0.0_f64, 0.0_f64), |(force, couple), joint| {
        let ([x, y], moment) = equilibrium.rows.of_joint(joint, rows);
        (force.max(x.abs()).max(y.abs()), couple.max(moment.unwrap_or(0.0).abs()))
    })
}

/// How hard a roller pushes along its line, newtons; negative when it pulls.
pub fn push(line: &[Number; 2], reaction: &Reaction) -> f64 {
    let ([x, y], [fx, fy]) = (line.each_ref().map(Number::to_f64), reaction.force());
    (fx * x + fy * y) / x.hypot(y)
}
