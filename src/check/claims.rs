//! Claims proved or refuted, each with its mark.
//!
//! Must not know: how forces are found, how a claim is compared with a result.

mod travels;
mod wording;

use crate::base::{MemberId, Origin};
use crate::diagnostic::{Diagnostic, Slug};
use crate::statics::{CaseResult, Solution, Subject, Verdict, VerdictKind};
use crate::structure::{Claim, ClaimKind, Passage, Polarity, Structure, Under, ValueClaim};

use super::outcome::{Met, meet};
use super::slips::{Explained, Explainer};
use super::words;
use wording::{claimed_words, sentence, subject_words, tolerance_words, value_words};

/// What became of one claim.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Its place among the structure's claims.
    pub claim: usize,
    pub verdict: Judged,
    /// What was found, in words: `166.7 N compression`.
    pub computed: String,
    /// The slip that gives the claimed number, where one does.
    pub slip: Option<Explained>,
}

/// Right or wrong, as a marker would write it, or neither.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judged {
    Right,
    Wrong,
    /// What it is about cannot be known; [`Mark::computed`] says why.
    NotKnown,
}

/// A claim's mark, and what is to be said where it is wrong.
struct Judgement {
    mark: Mark,
    told: Option<Diagnostic>,
}

impl Judgement {
    fn right(claim: usize, computed: String) -> Judgement {
        Judgement { mark: Mark { claim, verdict: Judged::Right, computed, slip: None }, told: None }
    }

    fn not_known(claim: usize, why: String, told: Diagnostic) -> Judgement {
        Judgement { mark: Mark { claim, verdict: Judged::NotKnown, computed: why, slip: None }, told: Some(told) }
    }

    fn wrong(claim: usize, computed: String, told: Diagnostic) -> Judgement {
        Judgement { mark: Mark { claim, verdict: Judged::Wrong, computed, slip: None }, told: Some(told) }
    }
}

/// Marks in the order of the structure's claims, and findings.
#[derive(Debug, Default)]
pub struct Marked {
    pub marks: Vec<Mark>,
    pub found: Vec<Diagnostic>,
    /// Claims with something to be said, beyond [`MOST_TOLD`].
    pub more: usize,
}

/// Wrong claims that are told one by one; all have their marks.
pub const MOST_TOLD: usize = 2_000;

impl FromIterator<Judgement> for Marked {
    fn from_iter<I: IntoIterator<Item = Judgement>>(all: I) -> Self {
        let mut marked = Marked::default();
        for Judgement { mark, told } in all {
            marked.marks.push(mark);
            match told {
                Some(_) if marked.found.len() >= MOST_TOLD => marked.more += 1,
                told => marked.found.extend(told),
            }
        }
        marked
    }
}

/// A failure under one case or combination.
struct Failure {
    subject: Subject,
    /// The member of a chain in which it fails.
    member: Option<(MemberId, Passage)>,
    is: String,
}

/// Judges the claims on the verdict itself.
pub fn check_verdict_claims(structure: &Structure, verdict: &Verdict) -> Marked {
    let claims = structure.claims.iter().enumerate();
    claims.filter_map(|(index, claim)| judge_verdict(index, claim, verdict)).collect()
}

fn judge_verdict(index: usize, claim: &Claim, verdict: &Verdict) -> Option<Judgement> {
    let holds = match claim.kind {
        ClaimKind::Determinate => verdict.kind == VerdictKind::Determinate,
        ClaimKind::Unstable => verdict.kind == VerdictKind::Unstable,
        ClaimKind::Indeterminate(degree) => {
            let right = degree.is_none_or(|degree| usize::try_from(degree) == Ok(verdict.redundancy));
            verdict.kind == VerdictKind::Indeterminate && right
        }
        ClaimKind::Value(_) => return None,
    };
    let claimed = match claim.kind {
        ClaimKind::Determinate => "determinate".to_owned(),
        ClaimKind::Unstable => "unstable".to_owned(),
        ClaimKind::Indeterminate(Some(degree)) => format!("indeterminate {degree}"),
        _ => "indeterminate".to_owned(),
    };
    let is = verdict_words(verdict);
    Some(match (claim.polarity, holds) {
        (Polarity::Holds, true) | (Polarity::IsRefuted, false) => Judgement::right(index, is),
        (Polarity::Holds, false) => {
            let told = Diagnostic::new(Slug::ClaimFails, format!("the structure is {is}, not {claimed}"))
                .label(claim.origin, format!("claims {claimed}"));
            Judgement::wrong(index, is, told)
        }
        (Polarity::IsRefuted, true) => {
            let told = Diagnostic::new(Slug::ClaimNotRefuted, format!("the structure is {claimed} after all"))
                .label(claim.origin, "is claimed not to hold, and holds");
            Judgement::wrong(index, is, told)
        }
    })
}

/// `determinate`, `2 times indeterminate`, `unstable`.
pub fn verdict_words(verdict: &Verdict) -> String {
    match verdict.kind {
        VerdictKind::Determinate => "determinate".to_owned(),
        VerdictKind::Indeterminate => format!("indeterminate {}", verdict.redundancy),
        VerdictKind::Unstable => format!("unstable ({})", words::counted(verdict.mechanisms, "independent motion")),
    }
}

/// What a claim is about, in words.
pub fn subject(structure: &Structure, claim: &Claim) -> String {
    match &claim.kind {
        ClaimKind::Value(value) => subject_words(structure, value),
        _ => "the structure".to_owned(),
    }
}

/// Judges the claims on reactions, forces and movements.
pub fn check_claims<'a>(structure: &Structure, solution: &'a Solution, explainer: &mut Explainer<'a>) -> Marked {
    let claims = structure.claims.iter().enumerate();
    let judged: Vec<Judging> = claims
        .filter_map(|(index, claim)| {
            let ClaimKind::Value(value) = &claim.kind else { return None };
            if let Under::Travel(id) = claim.under {
                // A train beyond the limits has a finding of its own.
                let result = solution.travels.iter().find(|result| result.travel == id)?;
                return Some(Judging::done(travels::judge(structure, index, claim, value, result)));
            }
            judge_standing(structure, solution, explainer, index, claim, value)
        })
        .collect();
    let mut slips = explainer.explained();
    judged
        .into_iter()
        .map(|Judging { judgement, inquiry, tolerance }| {
            let slip = inquiry.and_then(|at| slips.get_mut(at)).and_then(Option::take);
            judgement.with(slip, tolerance)
        })
        .collect()
}

/// A claim judged, its slip still to be told.
struct Judging {
    judgement: Judgement,
    /// Its place among the claims looked into.
    inquiry: Option<usize>,
    tolerance: Option<String>,
}

impl Judging {
    fn done(judgement: Judgement) -> Judging {
        Judging { judgement, inquiry: None, tolerance: None }
    }
}

impl Judgement {
    /// With the slip behind it and how near it had to be.
    fn with(mut self, slip: Option<Explained>, tolerance: Option<String>) -> Judgement {
        self.told = self.told.map(|mut told| {
            if let Some(slip) = &slip {
                told = told.why(slip.text.clone());
                let mut loads: Vec<Origin> = slip.named.iter().filter_map(|named| named.load).collect();
                loads.dedup();
                let text = if loads.len() > 1 { "this load, or the other" } else { "this load" };
                for load in loads {
                    told = told.label(load, text);
                }
            }
            match tolerance {
                Some(text) => told.why(text),
                None => told,
            }
        });
        self.mark.slip = slip;
        self
    }
}

fn judge_standing<'a>(
    structure: &Structure,
    solution: &'a Solution,
    explainer: &mut Explainer<'a>,
    index: usize,
    claim: &Claim,
    value: &ValueClaim,
) -> Option<Judging> {
    let results: Vec<&CaseResult> =
        solution.results.iter().filter(|result| is_under(claim.under, result.subject)).collect();
    let met: Vec<(&CaseResult, Met)> =
        results.into_iter().map(|result| (result, meet(structure, value, result))).collect();
    if let Some(why) = met.iter().find_map(|(_, met)| met.found.not_known()) {
        let told = Diagnostic::new(Slug::ClaimFails, format!("{} is {why}", subject_words(structure, value)))
            .label(claim.origin, unknown_label(structure, claim, value));
        return Some(Judging::done(Judgement::not_known(index, why.to_owned(), told)));
    }
    let failed: Vec<Failure> = met
        .iter()
        .filter(|(_, met)| !met.holds)
        .map(|(result, met)| Failure { subject: result.subject, member: met.member, is: met.found.words(structure) })
        .collect();
    // What decides: the first failure, or what comes nearest to one.
    let nearest = || met.iter().max_by(|(_, a), (_, b)| a.found.size().total_cmp(&b.found.size()));
    let (result, decides) = met.iter().find(|(_, met)| !met.holds).or_else(nearest)?;
    let under = if met.len() > 1 { super::loads::under(structure, result.subject) } else { String::new() };
    let computed = format!("{}{under}", decides.found.words(structure));
    let first = match (claim.polarity, failed.first()) {
        (Polarity::Holds, None) | (Polarity::IsRefuted, Some(_)) => {
            return Some(Judging::done(Judgement::right(index, computed)));
        }
        (Polarity::IsRefuted, None) => {
            let told =
                Diagnostic::new(Slug::ClaimNotRefuted, format!("{} holds after all", subject_words(structure, value)))
                    .label(
                        claim.origin,
                        format!("{} is claimed not to hold, and holds", claimed_words(structure, value)),
                    );
            return Some(Judging::done(Judgement::wrong(index, computed, told)));
        }
        (Polarity::Holds, Some(first)) => first,
    };
    let mut told = Diagnostic::new(Slug::ClaimFails, sentence(structure, value, first))
        .label(claim.origin, format!("claims {}", claimed_words(structure, value)));
    if failed.len() > 1 {
        let others = failed.iter().skip(1);
        let others = others.map(|failure| format!("{}{}", failure.is, super::loads::under(structure, failure.subject)));
        told = told.why(format!("Nor does it hold elsewhere: {}.", words::list(&others.collect::<Vec<_>>())));
    }
    // One number for several cases is a limit, not an answer to any of them.
    let claimed = value_words(structure, value);
    let inquiry = match met.as_slice() {
        [(result, _)] => explainer.look_into(claim.origin.file, value, result, first.member, &claimed),
        _ => None,
    };
    let tolerance = tolerance_words(structure, value);
    Some(Judging { judgement: Judgement::wrong(index, computed, told), inquiry, tolerance })
}

/// What a claim says of that which nobody can know.
fn unknown_label(structure: &Structure, claim: &Claim, value: &ValueClaim) -> String {
    let claimed = claimed_words(structure, value);
    match claim.polarity {
        Polarity::Holds => format!("claims {claimed}"),
        Polarity::IsRefuted => format!("is claimed not to be {claimed}; neither can be told"),
    }
}

fn is_under(under: Under, subject: Subject) -> bool {
    match (under, subject) {
        (Under::All | Under::Unsaid, _) => true,
        (Under::Case(id), Subject::Case(own)) => id == own,
        (Under::Combo(id), Subject::Combo(own)) => id == own,
        _ => false,
    }
}
