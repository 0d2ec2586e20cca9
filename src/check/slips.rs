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
mod group;
mod kinds;
mod loads;
mod results;
mod sheet;
mod teller;
mod trial;
mod wording;

use std::collections::BTreeSet;

use crate::base::{Budget, FileId, MemberId, Origin, SupportId};
use crate::quantity::Number;
use crate::statics::{Adjoint, CaseResult, Equilibrium, External, Influence, Solution, Verdict, find_verdict, solve};
use crate::structure::{Passage, Structure, ValueClaim};
use crate::syntax::tree::Relation;

use group::Group;
pub use kinds::Slip;
use sheet::{Inquiry, Key, Tried};
use teller::Teller;
use trial::{Change, Trial};

/// Wrong claims of one file that are looked into, and right ones that may
/// contradict a slip in those.
const MOST_EXPLAINED: usize = 100;
/// What trying slips may take for all claims of a structure: slips tried, each
/// as often as loads act on the stretches the claim is about.
const MOST_TRIED: usize = 100_000_000;
/// A load weighed, for each of the results behind a claim, takes so many of them.
const WEIGHING: usize = 20;
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

/// A claim looked into, with what was tried for it.
struct Asked<'a> {
    file: FileId,
    inquiry: Inquiry,
    claim: ValueClaim,
    result: &'a CaseResult,
    /// The claimed value in words; `None` of a claim that holds, and is here
    /// for what it contradicts.
    claimed: Option<String>,
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
    /// Claims that hold, in a result they are about.
    right: Vec<(FileId, &'a ValueClaim, &'a CaseResult)>,
    budget: Budget,
}

impl<'a> Explainer<'a> {
    pub fn new(
        structure: &'a Structure,
        equilibrium: &'a Equilibrium,
        verdict: &'a Verdict,
        solution: &'a Solution,
    ) -> Self {
        Explainer {
            structure,
            equilibrium,
            verdict,
            solution,
            adjoint: None,
            external: External::of(structure),
            altered: None,
            asked: Vec::new(),
            right: Vec::new(),
            budget: Budget::of(MOST_TRIED),
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
        claimed: String,
    ) -> Option<usize> {
        if self.asked.len() >= MOST_EXPLAINED {
            return None;
        }
        let asked = self.ask(file, claim, result, member)?;
        self.asked.push(Asked { claimed: Some(claimed), ..asked });
        Some(self.asked.len() - 1)
    }

    /// Notes a claim that holds: what it contradicts is not told of others.
    pub fn note_right(&mut self, file: FileId, claim: &'a ValueClaim, result: &'a CaseResult) {
        if self.right.len() < MOST_EXPLAINED && claim.relation == Relation::Equals {
            self.right.push((file, claim, result));
        }
    }

    fn ask(
        &mut self,
        file: FileId,
        claim: &ValueClaim,
        result: &'a CaseResult,
        member: Option<(MemberId, Passage)>,
    ) -> Option<Asked<'a>> {
        let structure = self.structure;
        let mut trial = Trial::new(structure, claim, result, member)?;
        let groups = group::groups(structure, result.subject);
        let mut candidates = results::of_result(structure, &trial, result);
        candidates.extend(results::of_combination(structure, &trial, self.solution, result.subject));
        candidates.extend(self.of_rollers(&trial, result));
        candidates.extend(self.of_loads(&trial, &groups));
        if !self.budget.take(candidates.len().saturating_mul(trial.cost())) {
            return None;
        }
        let aim = trial.aim;
        let tried = candidates.into_iter().filter_map(|(slip, change)| {
            let numbers = trial.numbers(&change)?;
            let is_finite = numbers.iter().all(|number| number.is_finite());
            is_finite.then(|| Tried { slip, key: Key::of(slip, &groups), numbers, is_contradicted: false })
        });
        let inquiry = Inquiry::new(aim, tried.collect());
        Some(Asked { file, inquiry, claim: trial.claim, result, claimed: None })
    }

    /// What was found for each claim looked into, all claims of a file considered.
    pub fn explained(&mut self) -> Vec<Option<Explained>> {
        let files: BTreeSet<FileId> = self.asked.iter().map(|asked| asked.file).collect();
        for (file, claim, result) in std::mem::take(&mut self.right) {
            let right = if files.contains(&file) { self.ask(file, claim, result, None) } else { None };
            self.asked.extend(right);
        }
        // Those that hold come last.
        let wrong = self.asked.iter().take_while(|asked| asked.claimed.is_some());
        let contradicted: Vec<Vec<usize>> =
            wrong.map(|own| contradicted::contradicted(self.structure, &self.asked, own)).collect();
        for (own, contradicted) in self.asked.iter_mut().zip(contradicted) {
            for (index, tried) in own.inquiry.tried.iter_mut().enumerate() {
                tried.is_contradicted = contradicted.contains(&index);
            }
        }
        let wrong = self.asked.iter().enumerate();
        let wrong: Vec<(usize, &Asked, &str)> =
            wrong.filter_map(|(at, asked)| Some((at, asked, asked.claimed.as_deref()?))).collect();
        let mut found: Vec<Option<Explained>> = wrong.iter().map(|_| None).collect();
        for sheet in files.iter().map(|file| wrong.iter().filter(|(_, asked, _)| asked.file == *file)) {
            let inquiries: Vec<&Inquiry> = sheet.clone().map(|(_, asked, _)| &asked.inquiry).collect();
            for ((at, Asked { claim, result, .. }, claimed), slips) in sheet.zip(sheet::choose(&inquiries)) {
                if let Some(slot) = found.get_mut(*at).filter(|_| !slips.is_empty()) {
                    let groups = group::groups(self.structure, result.subject);
                    let teller = Teller { structure: self.structure, claim, result, groups: &groups };
                    *slot = Some(wording::explained(&teller, claimed, &slips));
                }
            }
        }
        found
    }

    fn of_loads(&mut self, trial: &Trial, groups: &[Group]) -> Vec<(Slip, Change)> {
        let loads: usize = groups.iter().map(|group| group.loads.len()).sum();
        if loads == 0 || !self.budget.take(WEIGHING * loads * trial.wanted.len()) {
            return Vec::new();
        }
        if self.adjoint.is_none() {
            self.adjoint = Adjoint::new(self.structure, self.equilibrium, self.verdict).ok();
        }
        let Some(adjoint) = &self.adjoint else { return Vec::new() };
        let influences: Result<Vec<Influence>, _> =
            trial.wanted.iter().map(|wanted| adjoint.influence(*wanted)).collect();
        let Ok(influences) = influences else { return Vec::new() };
        let mut found = loads::of_loads(self.structure, trial, groups, adjoint, &influences);
        found.extend(loads::of_arms(self.structure, trial, groups, self.external.as_ref()));
        found.extend(loads::of_halves(self.structure, trial, groups, adjoint));
        found
    }

    /// Inclined rollers taken as upright, or as pushing along their plane.
    fn of_rollers(&mut self, trial: &Trial, result: &CaseResult) -> Vec<(Slip, Change)> {
        let altered = self.altered.get_or_insert_with(|| solved_anew(self.structure));
        let place = self.solution.results.iter().position(|own| own.subject == result.subject);
        let others = altered.iter().filter_map(|(slip, solution)| Some((*slip, solution.results.get(place?)?)));
        others.map(|(slip, other)| (slip, trial.as_in(other))).collect()
    }
}

fn solved_anew(structure: &Structure) -> Vec<(Slip, Solution)> {
    if structure.members.len() > MOST_MEMBERS_ANEW {
        return Vec::new();
    }
    let inclined = structure.supports.entries().filter_map(|(id, support)| {
        let line = support.roller().filter(|line| line.iter().all(|part| !part.is_zero()))?;
        Some((id, support.joint, line))
    });
    let ways = inclined.take(MOST_ROLLERS).flat_map(|(id, joint, [x, y])| {
        let along = if y.is_negative() { [y.clone(), x.negated()] } else { [y.negated(), x.clone()] };
        let upright = [Number::ZERO, Number::from_integer(1)];
        [(Slip::RollerUpright(joint), id, upright), (Slip::RollerAlong(joint), id, along)]
    });
    ways.filter_map(|(slip, id, normal)| Some((slip, solve_with(structure, id, normal)?))).collect()
}

/// The whole structure solved with one roller pushing along another line.
fn solve_with(structure: &Structure, id: SupportId, normal: [Number; 2]) -> Option<Solution> {
    let mut altered = structure.clone();
    // What travels has no part in it.
    altered.travels.clear();
    altered.supports[id].held.line = Some(normal);
    let equilibrium = Equilibrium::of(&altered);
    let verdict = find_verdict(&altered, &equilibrium).ok().filter(|verdict| verdict.kind.is_stable())?;
    solve(&altered, &equilibrium, &verdict).ok()
}
