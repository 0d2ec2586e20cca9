//! Which single common slip gives a wrong claim's number.
//!
//! A claimed result is a weighted sum of all that acts, so one transposed
//! solve for each number behind it tries any slip in a load at the price of a
//! product; slips in reading off the answer need no solve at all, and those in
//! the supports are solved anew.
//!
//! A slip is named only where its number is the one claimed, as written, and
//! where that means something: candidates are taken in the order of
//! [`Slip::rank`], the simplest first, for as long as a number of the claimed
//! size, taken at random, would have no more than [`MOST_CHANCE`] of meeting
//! one of them. So a value of four figures is held against all slips, and one
//! of three in a structure of many loads against the simplest only.
//!
//! The slips are those of published collections of students' errors: Gross &
//! Dinehart, ASEE, doi 10.18260/1-2--21466; McMullen & Rocha, ASEE 2022, doi
//! 10.18260/1-2--40565; van Woudenberg, TU Delft, "Frequently made mistakes". A
//! few more were met in marking: an even load's resultant at its end, a triangle
//! as a rectangle, degrees for radians, two sizes exchanged.
//!
//! Must not know: diagnostics, how a claim is judged.

mod contradicted;
mod kinds;
mod loads;
mod results;
mod sheet;
mod spread;
mod trial;
mod wording;

use std::collections::BTreeSet;

use crate::base::{FileId, MemberId, Origin, SupportId};
use crate::quantity::Number;
use crate::statics::{Adjoint, CaseResult, Equilibrium, External, Influence, Solution, Verdict, settle, solve};
use crate::structure::{Passage, Structure, SupportKind, ValueClaim};
use crate::syntax::tree::Relation;

pub use kinds::Slip;
use loads::Group;
use sheet::{Inquiry, Key, Tried};
use trial::Trial;

/// Wrong claims of one file that are looked into.
const MOST_EXPLAINED: usize = 100;
/// Right claims that may contradict a slip in the wrong ones.
const MOST_RIGHT: usize = 100;
/// Beyond so many statements of loads a match with one of them means nothing.
const MOST_GROUPS: usize = 500;
/// Loads of one case or combination that are tried, chains and loops unrolled.
const MOST_LOADS: usize = 50_000;
/// Loads tried for all claims of a file, each as often as there are results
/// behind the claim.
const MOST_WEIGHED: usize = 5_000_000;
/// What trying slips may take for all claims of a file: slips tried, each as
/// often as loads act on the stretches the claim is about.
const MOST_TRIED: usize = 100_000_000;
/// Structures of more members are not solved anew for a slip in a support.
const MOST_MEMBERS_ANEW: usize = 5_000;
/// Inclined rollers that are tried upright, and along their plane.
const MOST_ROLLERS: usize = 3;

/// A slip found, in words; or two, of which either may be it.
#[derive(Clone, Debug)]
pub struct Explained {
    pub named: Vec<Named>,
    /// One sentence.
    pub text: String,
}

/// A slip by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Named {
    /// A fixed word for each kind: `sine-cosine`.
    pub slug: &'static str,
    /// The load it is about.
    pub load: Option<Origin>,
}

/// One slip and what it would give.
struct Candidate {
    slip: Slip,
    change: trial::Change,
}

/// A claim looked into, with what was tried for it.
struct Asked<'a> {
    file: FileId,
    inquiry: Inquiry,
    claim: ValueClaim,
    result: &'a CaseResult,
    /// The claimed value in words.
    claimed: String,
    /// Whether it holds, and is here for what it contradicts.
    is_right: bool,
}

/// A claim that holds, in a result it is about.
struct Right<'a> {
    file: FileId,
    claim: ValueClaim,
    result: &'a CaseResult,
}

/// Looks for slips in the claims of one structure.
pub struct Explainer<'a> {
    structure: &'a Structure,
    equilibrium: &'a Equilibrium,
    verdict: &'a Verdict,
    solution: &'a Solution,
    /// Made when the first claim fails.
    adjoint: Option<Adjoint<'a>>,
    external: Option<External>,
    /// Solutions with a roller otherwise.
    altered: Option<Vec<(Slip, Solution)>>,
    asked: Vec<Asked<'a>>,
    right: Vec<Right<'a>>,
    weighed: usize,
    tried: usize,
}

impl<'a> Explainer<'a> {
    pub fn new(
        structure: &'a Structure,
        equilibrium: &'a Equilibrium,
        verdict: &'a Verdict,
        solution: &'a Solution,
    ) -> Self {
        let external = External::of(structure);
        let (adjoint, altered) = (None, None);
        let (asked, right) = (Vec::new(), Vec::new());
        Explainer {
            structure,
            equilibrium,
            verdict,
            solution,
            adjoint,
            external,
            altered,
            asked,
            right,
            weighed: 0,
            tried: 0,
        }
    }

    /// Looks for the slip behind a claim that one result refutes; `member` is
    /// the one of a chain that refutes it, `claimed` the claimed value in words.
    /// The answer is the place of the claim among those of [`Self::explained`].
    pub fn look_into(
        &mut self,
        file: FileId,
        claim: &ValueClaim,
        result: &'a CaseResult,
        member: Option<(MemberId, Passage)>,
        claimed: &str,
    ) -> Option<usize> {
        if self.asked.len() >= MOST_EXPLAINED {
            return None;
        }
        let asked = self.ask(file, claim, result, member)?;
        self.asked.push(Asked { claimed: claimed.to_owned(), ..asked });
        Some(self.asked.len() - 1)
    }

    /// Notes a claim that holds: what it contradicts is not told of others.
    pub fn note_right(&mut self, file: FileId, claim: &ValueClaim, result: &'a CaseResult) {
        if self.right.len() < MOST_RIGHT && claim.relation == Relation::Equals {
            self.right.push(Right { file, claim: claim.clone(), result });
        }
    }

    fn ask(
        &mut self,
        file: FileId,
        claim: &ValueClaim,
        result: &'a CaseResult,
        member: Option<(MemberId, Passage)>,
    ) -> Option<Asked<'a>> {
        let mut trial = Trial::new(self.structure, claim, result, member)?;
        let groups = loads::groups(self.structure, result.subject, MOST_GROUPS, MOST_LOADS);
        let mut candidates = results::of_result(self.structure, &trial, result);
        candidates.extend(results::of_combination(&trial, self.structure, self.solution, result.subject));
        candidates.extend(self.of_rollers(&trial, result));
        candidates.extend(self.of_loads(&trial, &groups));
        self.tried = self.tried.saturating_add(candidates.len().saturating_mul(trial.cost()));
        if self.tried > MOST_TRIED {
            return None;
        }
        let tried: Vec<Tried> = candidates
            .into_iter()
            .filter_map(|Candidate { slip, change }| {
                let numbers = trial.numbers(&change)?;
                let key = Key::of(&slip, &groups);
                let is_finite = numbers.iter().all(|number| number.is_finite());
                is_finite.then_some(Tried { slip, key, numbers, is_contradicted: false })
            })
            .collect();
        let (claim, inquiry) = (trial.claim().clone(), Inquiry::new(trial.aim(), tried));
        Some(Asked { file, inquiry, claim, result, claimed: String::new(), is_right: false })
    }

    /// What was found for each claim looked into, all claims of a file considered.
    pub fn explained(&mut self) -> Vec<Option<Explained>> {
        let wrong = self.asked.len();
        let files: BTreeSet<FileId> = self.asked.iter().map(|asked| asked.file).collect();
        for Right { file, claim, result } in std::mem::take(&mut self.right) {
            let right = if files.contains(&file) { self.ask(file, &claim, result, None) } else { None };
            self.asked.extend(right.map(|right| Asked { is_right: true, ..right }));
        }
        for at in 0..wrong {
            let Some(own) = self.asked.get(at) else { continue };
            let contradicted = contradicted::contradicted(self.structure, &self.asked, own);
            let Some(own) = self.asked.get_mut(at) else { continue };
            for index in contradicted {
                if let Some(tried) = own.inquiry.tried.get_mut(index) {
                    tried.is_contradicted = true;
                }
            }
        }
        let mut found: Vec<Option<Explained>> = (0..wrong).map(|_| None).collect();
        for file in files {
            let sheet: Vec<(usize, &Asked)> =
                self.asked.iter().take(wrong).enumerate().filter(|(_, asked)| asked.file == file).collect();
            let inquiries: Vec<&Inquiry> = sheet.iter().map(|(_, asked)| &asked.inquiry).collect();
            for ((at, asked), slips) in sheet.iter().zip(sheet::choose(&inquiries)) {
                if let Some(slot) = found.get_mut(*at).filter(|_| !slips.is_empty()) {
                    let Asked { claim, result, claimed, .. } = asked;
                    let groups = loads::groups(self.structure, result.subject, MOST_GROUPS, MOST_LOADS);
                    *slot = Some(wording::explained(self.structure, claim, result, claimed, &groups, &slips));
                }
            }
        }
        found
    }

    fn of_loads(&mut self, trial: &Trial, groups: &[Group]) -> Vec<Candidate> {
        let loads: usize = groups.iter().map(|group| group.loads.len()).sum();
        self.weighed = self.weighed.saturating_add(loads * trial.wanted().len());
        if loads == 0 || self.weighed > MOST_WEIGHED {
            return Vec::new();
        }
        if self.adjoint.is_none() {
            self.adjoint = Adjoint::new(self.structure, self.equilibrium, self.verdict).ok();
        }
        let Some(adjoint) = &self.adjoint else { return Vec::new() };
        let influences: Result<Vec<Influence>, _> =
            trial.wanted().iter().map(|wanted| adjoint.influence(*wanted)).collect();
        let Ok(influences) = influences else { return Vec::new() };
        let mut found = loads::of_loads(self.structure, trial, groups, adjoint, &influences);
        found.extend(loads::of_arms(self.structure, trial, groups, self.external.as_ref()));
        found.extend(loads::of_halves(self.structure, trial, groups, adjoint));
        found
    }

    /// Inclined rollers taken as upright, or as pushing along their plane.
    fn of_rollers(&mut self, trial: &Trial, result: &CaseResult) -> Vec<Candidate> {
        let (structure, solution) = (self.structure, self.solution);
        let altered = self.altered.get_or_insert_with(|| solved_anew(structure));
        let place = solution.results.iter().position(|own| own.subject == result.subject);
        let others = altered.iter().filter_map(|(slip, solution)| Some((slip, solution.results.get(place?)?)));
        others.map(|(slip, other)| Candidate { slip: slip.clone(), change: trial.as_in(other) }).collect()
    }
}

fn solved_anew(structure: &Structure) -> Vec<(Slip, Solution)> {
    let is_inclined = |normal: &[Number; 2]| normal.iter().all(|part| !part.is_zero());
    let inclined = structure.supports.iter().enumerate().filter_map(|(index, support)| match &support.kind {
        SupportKind::Roller(roller) if is_inclined(&roller.normal) => Some((SupportId::new(index), roller)),
        _ => None,
    });
    if structure.members.len() > MOST_MEMBERS_ANEW {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (id, roller) in inclined.take(MOST_ROLLERS) {
        let [x, y] = &roller.normal;
        let along = if y.is_negative() { [y.clone(), x.negated()] } else { [y.negated(), x.clone()] };
        let ways = [(Slip::RollerUpright(id), [Number::ZERO, Number::from_integer(1)]), (Slip::RollerAlong(id), along)];
        for (slip, normal) in ways {
            found.extend(solve_with(structure, id, normal).map(|solution| (slip, solution)));
        }
    }
    found
}

/// The whole structure solved with one roller pushing along another line.
fn solve_with(structure: &Structure, id: SupportId, normal: [Number; 2]) -> Option<Solution> {
    let mut altered = structure.clone();
    // What travels has no part in it.
    altered.travels.clear();
    if let SupportKind::Roller(roller) = &mut altered.supports.get_mut(id.index())?.kind {
        roller.normal = normal;
    }
    let equilibrium = Equilibrium::of(&altered);
    let verdict = settle(&altered, &equilibrium).ok()?;
    if !verdict.kind.is_stable() {
        return None;
    }
    solve(&altered, &equilibrium, &verdict).ok()
}
