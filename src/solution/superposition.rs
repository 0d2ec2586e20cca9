//! What each load alone gives to each reaction: each statement of a case solved
//! as a case of its own, each case of a combination times its factor.
//!
//! Must not know: how one reaction is worked out.

use crate::base::{CaseId, IdVec, Origin, SupportId};
use crate::quantity::Number;
use crate::statics::{CaseResult, Equilibrium, Reaction, Subject, Verdict, solve};
use crate::structure::Structure;
use crate::structure::model::{Case, Load};

/// Of more loads than this none is told apart.
const MOST_LOADS: usize = 12;

/// What one load gives.
#[derive(Clone, Debug)]
pub struct Part {
    pub source: Source,
    pub reactions: IdVec<SupportId, Reaction>,
}

#[derive(Clone, Debug)]
pub enum Source {
    Statement(Origin),
    Case(CaseId, Number),
}

/// The parts of a result; none where there is one load only, or too many.
pub fn parts(structure: &Structure, verdict: &Verdict, solved: &[CaseResult], subject: Subject) -> Vec<Part> {
    let mut parts = match subject {
        Subject::Case(id) => of_statements(structure, verdict, &structure.cases[id]).unwrap_or_default(),
        Subject::Combination(id) => {
            let of_case = |(case, factor): &(CaseId, Number)| {
                let own = solved.iter().find(|result| result.subject == Subject::Case(*case))?;
                let reactions = own.reactions.iter().map(|reaction| scaled(reaction, factor.to_f64())).collect();
                Some(Part { source: Source::Case(*case, factor.clone()), reactions })
            };
            structure.combinations[id].factors.iter().filter_map(of_case).collect()
        }
    };
    if !(2..=MOST_LOADS).contains(&parts.len()) {
        parts.clear();
    }
    parts
}

fn scaled(reaction: &Reaction, times: f64) -> Reaction {
    let scale = |part: Option<f64>| part.map(|part| part * times);
    Reaction { fx: scale(reaction.fx), fy: scale(reaction.fy), m: scale(reaction.m) }
}

fn of_statements(structure: &Structure, verdict: &Verdict, case: &Case) -> Option<Vec<Part>> {
    let mut groups: Vec<(Origin, Vec<Load>)> = Vec::new();
    for load in &case.loads {
        match groups.iter_mut().find(|(origin, _)| *origin == load.origin) {
            Some((_, loads)) => loads.push(load.clone()),
            None => groups.push((load.origin, vec![load.clone()])),
        }
        if groups.len() > MOST_LOADS {
            return None;
        }
    }
    if groups.len() < 2 {
        return None;
    }
    let cases = groups.iter().map(|(origin, loads)| Case { name: case.name, loads: loads.clone(), origin: *origin });
    let structure = structure.under(cases.collect());
    let solution = solve(&structure, &Equilibrium::of(&structure), verdict).ok()?;
    let part = |((origin, _), result): ((Origin, _), CaseResult)| Part {
        source: Source::Statement(origin),
        reactions: result.reactions,
    };
    Some(groups.into_iter().zip(solution.results).map(part).collect())
}
