//! Forces: the matrix factored once, solved for all cases together,
//! combinations by superposition, every result checked by adding up again.
//!
//! Must not know: words for people.

use crate::base::{CaseId, ComboId, MemberId, SupportId};
use crate::numeric::{Factor, NumericError};
use crate::structure::{Hold, Structure, SupportKind};
use crate::syntax::tree::MemberKind;

use super::actions;
use super::equilibrium::{Component, Equilibrium, Unknown};
use super::residual::{Forces, moment_centre, residual};
use super::results::{CaseResult, Reaction, Subject};
use super::verdict::Verdict;

/// Above this the answer is quoted with a warning.
pub const LARGE_CONDITION: f64 = 1e8;
/// Above this no forces are quoted: in double precision the layout cannot be
/// told from a mechanism.
pub const LARGEST_CONDITION: f64 = 1e12;

/// Forces below this share of the largest are zero for every claim and page.
pub const ZERO_SHARE: f64 = 1e-9;

/// All results of a determinate structure.
#[derive(Debug)]
pub struct Solution {
    /// Cases in natural name order, then combinations.
    pub results: Vec<CaseResult>,
    /// What one part in the data becomes in the result, at worst: the matrix's
    /// estimated condition number, or the largest force beside the loads.
    pub condition: f64,
}

/// Why there are no forces.
#[derive(Debug, PartialEq)]
pub enum SolveError {
    Numeric(NumericError),
    /// Beyond [`LARGEST_CONDITION`].
    TooSensitive {
        condition: f64,
    },
}

impl From<NumericError> for SolveError {
    fn from(error: NumericError) -> Self {
        SolveError::Numeric(error)
    }
}

/// What one case asks of the solver and what it got.
struct Solved {
    joint_forces: Vec<f64>,
    resultant: [f64; 3],
    largest_load: f64,
    unknowns: Vec<f64>,
}

/// Solves every case and combination of a determinate structure.
pub fn solve(structure: &Structure, equilibrium: &Equilibrium, verdict: &Verdict) -> Result<Solution, SolveError> {
    let factor = Factor::new(&equilibrium.floating()?, &verdict.rank.peel)?;
    let mut condition = factor.condition_estimate();
    if condition > LARGEST_CONDITION || condition.is_nan() {
        return Err(SolveError::TooSensitive { condition });
    }
    let (_, centre) = moment_centre(structure);
    let mut cases = Vec::with_capacity(structure.cases.len());
    for index in 0..structure.cases.len() {
        let case = CaseId::new(index);
        let joint_forces = actions::joint_forces(structure, case);
        let (resultant, largest_load) = actions::resultant(structure, case, centre);
        let right: Vec<f64> = joint_forces.iter().map(|force| -force).collect();
        let unknowns = factor.solve(&right)?;
        let amplification = amplification(&unknowns, &joint_forces);
        if amplification > LARGEST_CONDITION {
            return Err(SolveError::TooSensitive { condition: amplification });
        }
        condition = condition.max(amplification);
        cases.push(Solved { joint_forces, resultant, largest_load, unknowns });
    }
    let mut results = Vec::with_capacity(cases.len() + structure.combos.len());
    for (index, case) in cases.iter().enumerate() {
        results.push(result(structure, equilibrium, Subject::Case(CaseId::new(index)), case));
    }
    for (index, combo) in structure.combos.iter().enumerate() {
        let sum = superpose(equilibrium, &cases, &combo.factors);
        results.push(result(structure, equilibrium, Subject::Combo(ComboId::new(index)), &sum));
    }
    Ok(Solution { results, condition })
}

/// The largest force beside all loads together. The condition number does not see a layout that is all but flat:
/// scaling makes up for rows of small entries, and the forces grow as the layout flattens.
fn amplification(unknowns: &[f64], joint_forces: &[f64]) -> f64 {
    let loads: f64 = joint_forces.iter().map(|force| force.abs()).sum();
    let largest = unknowns.iter().fold(0.0_f64, |largest, force| largest.max(force.abs()));
    if loads > 0.0 { largest / loads } else { 0.0 }
}

/// The factored sum of cases.
fn superpose(equilibrium: &Equilibrium, cases: &[Solved], factors: &[(CaseId, crate::quantity::Number)]) -> Solved {
    let mut sum = Solved {
        joint_forces: vec![0.0; equilibrium.rows()],
        resultant: [0.0; 3],
        largest_load: 0.0,
        unknowns: vec![0.0; equilibrium.unknowns.len()],
    };
    let add = |total: &mut [f64], part: &[f64], factor: f64| {
        for (total, part) in total.iter_mut().zip(part) {
            *total += factor * part;
        }
    };
    for (case, factor) in factors {
        let (Some(part), factor) = (cases.get(case.index()), factor.to_f64()) else { continue };
        add(&mut sum.joint_forces, &part.joint_forces, factor);
        add(&mut sum.resultant, &part.resultant, factor);
        add(&mut sum.unknowns, &part.unknowns, factor);
        sum.largest_load = sum.largest_load.max((part.largest_load * factor).abs());
    }
    sum
}

fn result(structure: &Structure, equilibrium: &Equilibrium, subject: Subject, solved: &Solved) -> CaseResult {
    let mut axial = vec![0.0; structure.members.len()];
    let mut reactions = vec![Reaction::default(); structure.supports.len()];
    for (unknown, value) in equilibrium.unknowns.iter().zip(&solved.unknowns) {
        // Adding zero turns -0 into 0.
        let value = *value + 0.0;
        match unknown {
            Unknown::Axial(member) => {
                if let Some(slot) = axial.get_mut(member.index()) {
                    *slot = value;
                }
            }
            Unknown::Reaction(support, component) => {
                let Some(slot) = reactions.get_mut(support.index()) else { continue };
                match component {
                    Component::X => slot.fx = Some(value),
                    Component::Y => slot.fy = Some(value),
                    Component::Normal => add_normal(structure, *support, value, slot),
                }
            }
        }
    }
    let size = |values: &[f64]| values.iter().fold(0.0_f64, |largest, value| largest.max(value.abs()));
    let reaction_size = reactions.iter().map(|r| r.force()[0].hypot(r.force()[1])).fold(0.0, f64::max);
    let largest = size(&axial).max(reaction_size).max(size(&solved.joint_forces)).max(solved.largest_load);
    let forces = Forces {
        joint_forces: &solved.joint_forces,
        resultant: solved.resultant,
        reactions: &reactions,
        axial: &axial,
        largest,
    };
    let residual = residual(structure, forces);
    let slack = slack_cables(structure, &axial, largest);
    let lifted = lifted_rollers(structure, &reactions, largest);
    CaseResult { subject, reactions, axial, residual, largest, slack, lifted }
}

fn add_normal(structure: &Structure, support: SupportId, value: f64, slot: &mut Reaction) {
    let normal = match structure.supports.get(support.index()).map(|support| &support.kind) {
        Some(SupportKind::Roller(roller)) => &roller.normal,
        Some(SupportKind::Guide { normal }) => normal,
        _ => return,
    };
    let [x, y] = normal;
    let (nx, ny) = (x.to_f64(), y.to_f64());
    let length = nx.hypot(ny);
    if nx != 0.0 {
        slot.fx = Some(value * nx / length + 0.0);
    }
    if ny != 0.0 {
        slot.fy = Some(value * ny / length + 0.0);
    }
}

fn slack_cables(structure: &Structure, axial: &[f64], largest: f64) -> Vec<MemberId> {
    let pushed = |(index, axial): (usize, &f64)| {
        let member = structure.members.get(index)?;
        (member.kind == MemberKind::Cable && *axial < -ZERO_SHARE * largest).then(|| MemberId::new(index))
    };
    axial.iter().enumerate().filter_map(pushed).collect()
}

fn lifted_rollers(structure: &Structure, reactions: &[Reaction], largest: f64) -> Vec<SupportId> {
    let pulled = |(index, reaction): (usize, &Reaction)| {
        let support = structure.supports.get(index)?;
        let SupportKind::Roller(roller) = &support.kind else { return None };
        (roller.hold == Hold::LiftsOff && push(roller, reaction) < -ZERO_SHARE * largest).then(|| SupportId::new(index))
    };
    reactions.iter().enumerate().filter_map(pulled).collect()
}

/// How hard a roller pushes along its line, newtons; negative when it pulls.
pub fn push(roller: &crate::structure::Roller, reaction: &Reaction) -> f64 {
    let ([x, y], [fx, fy]) = (&roller.normal, reaction.force());
    let (nx, ny) = (x.to_f64(), y.to_f64());
    (fx * nx + fy * ny) / nx.hypot(ny)
}
