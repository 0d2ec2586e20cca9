//! Claims proved or refuted, each with its mark.
//!
//! Must not know: how forces are found, how a claim is compared with a result.

mod wording;

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};
use crate::statics::{Solution, Subject, Verdict, VerdictKind};
use crate::structure::{Claim, ClaimKind, Polarity, Structure, Under, ValueClaim};
use crate::syntax::tree::Relation;

use super::outcome::{Gauge, Met, Source, Unknown};
use super::slips::{Explained, Explainer};
use super::words;
use wording::{claimed_words, found_words, sentence, subject_words, tolerance_words, value_words};

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

/// Judges the claims on the verdict itself.
pub fn check_verdict_claims(structure: &Structure, verdict: &Verdict) -> Marked {
    let claims = structure.claims.iter().enumerate();
    claims.filter_map(|(index, claim)| judge_verdict(index, claim, verdict)).collect()
}

fn judge_verdict(index: usize, claim: &Claim, verdict: &Verdict) -> Option<Judgement> {
    if verdict.kind == VerdictKind::NotSettled && !matches!(claim.kind, ClaimKind::Value(_)) {
        let why = verdict_words(verdict);
        return Some(Judgement {
            mark: Mark { claim: index, verdict: Judged::NotKnown, computed: why, slip: None },
            told: None,
        });
    }
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
        VerdictKind::NotSettled => "not settled".to_owned(),
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
pub fn check_claims<'a>(structure: &'a Structure, solution: &'a Solution, explainer: &mut Explainer<'a>) -> Marked {
    let cases = solution.results.iter().map(Source::Case);
    let gauges: Vec<Gauge> =
        cases.chain(solution.travels.iter().map(Source::Train)).map(|source| Gauge::of(structure, source)).collect();
    let claims = structure.claims.iter().enumerate();
    let judged: Vec<Judging> = claims
        .filter_map(|(index, claim)| {
            let ClaimKind::Value(value) = &claim.kind else { return None };
            // A train beyond the limits has a finding of its own.
            let under: Vec<&Gauge> = gauges.iter().filter(|gauge| is_under(claim.under, gauge.source)).collect();
            judge(explainer, index, claim, value, &under)
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

fn judge<'a>(
    explainer: &mut Explainer<'a>,
    index: usize,
    claim: &Claim,
    value: &'a ValueClaim,
    under: &[&Gauge<'a>],
) -> Option<Judging> {
    let structure = under.first()?.structure;
    let mut met: Vec<(&Gauge<'a>, Met)> = Vec::with_capacity(under.len());
    for gauge in under {
        match gauge.meet(value) {
            Ok(own) => met.push((gauge, own)),
            Err(why) => return Some(Judging::done(not_known(structure, index, claim, value, gauge, why))),
        }
    }
    let failed: Vec<&(&Gauge<'a>, Met)> = met.iter().filter(|(_, met)| !met.holds).collect();
    // What decides: the first failure, or what comes nearest to one.
    let nearest = || met.iter().max_by(|(_, a), (_, b)| a.found.size().total_cmp(&b.found.size()));
    let (gauge, decides) = failed.first().copied().or_else(nearest)?;
    let whose = if met.len() > 1 { wording::under(gauge) } else { String::new() };
    let computed = format!("{}{whose}", found_words(gauge, decides));
    let first = match (claim.polarity, failed.first()) {
        (Polarity::Holds, None) | (Polarity::IsRefuted, Some(_)) => {
            if let (Polarity::Holds, [(Gauge { source: Source::Case(result), .. }, _)]) = (claim.polarity, &*met) {
                explainer.note_right(claim.origin.file, value, result);
            }
            return Some(Judging::done(Judgement::right(index, computed)));
        }
        (Polarity::IsRefuted, None) => {
            let whose = if let Source::Train(_) = gauge.source { wording::under(gauge) } else { String::new() };
            let told = Diagnostic::new(
                Slug::ClaimNotRefuted,
                format!("{} holds after all{whose}", subject_words(structure, value)),
            )
            .label(
                claim.origin,
                format!("{} is claimed not to hold, and holds", claimed_words(structure, value, decides.figures)),
            );
            return Some(Judging::done(Judgement::wrong(index, computed, told)));
        }
        (Polarity::Holds, Some((_, first))) => first,
    };
    let mut told = Diagnostic::new(Slug::ClaimFails, sentence(gauge, value, first))
        .label(claim.origin, format!("claims {}", claimed_words(structure, value, first.figures)));
    if let (Source::Train(result), Some(train)) = (gauge.source, first.train) {
        told = told.why(format!("So it is with the {}.", words::train(structure, result.travel, train)));
    }
    if matches!(gauge.source, Source::Train(_)) && value.relation != Relation::AtMost {
        told = told.why("Under a moving load such a claim is about the largest value the train causes.");
    }
    if failed.len() > 1 {
        let others = failed.iter().skip(1);
        let others = others.map(|(gauge, met)| format!("{}{}", found_words(gauge, met), wording::under(gauge)));
        told = told.why(format!("Nor does it hold elsewhere: {}.", words::list(&others.collect::<Vec<_>>())));
    }
    // One number for several cases is a limit, not an answer to any of them.
    let claimed = value_words(structure, value, first.figures);
    let inquiry = match met.as_slice() {
        [(Gauge { source: Source::Case(result), .. }, _)] => {
            explainer.look_into(claim.origin.file, value, result, first.member, claimed)
        }
        _ => None,
    };
    let tolerance = tolerance_words(structure, value);
    Some(Judging { judgement: Judgement::wrong(index, computed, told), inquiry, tolerance })
}

/// What cannot be known is neither proved nor refuted.
fn not_known(
    structure: &Structure,
    index: usize,
    claim: &Claim,
    value: &ValueClaim,
    gauge: &Gauge<'_>,
    why: Unknown,
) -> Judgement {
    let whose = if let Source::Train(_) = gauge.source { wording::under(gauge) } else { String::new() };
    let claimed = claimed_words(structure, value, structure.figures);
    let label = match claim.polarity {
        Polarity::Holds => format!("claims {claimed}"),
        Polarity::IsRefuted => format!("is claimed not to be {claimed}; neither can be told"),
    };
    let is = format!("{}{whose}", why.words());
    let told = Diagnostic::new(Slug::ClaimNotKnown, format!("{} is {is}", subject_words(structure, value)))
        .label(claim.origin, label);
    let told = match why {
        Unknown::Travelling => told
            .why("Moving loads are followed in their reactions, forces and bending; not in the movements they cause.")
            .help("state the position that matters as a `case` and claim the movement there"),
        Unknown::Movement | Unknown::Rotation | Unknown::NoResult => told,
    };
    Judgement { mark: Mark { claim: index, verdict: Judged::NotKnown, computed: is, slip: None }, told: Some(told) }
}

fn is_under(under: Under, source: Source<'_>) -> bool {
    match (under, source) {
        (Under::Travel(id), Source::Train(result)) => id == result.travel,
        (Under::All | Under::Unsaid, Source::Case(_)) => true,
        (Under::Case(id), Source::Case(result)) => result.subject == Subject::Case(id),
        (Under::Combo(id), Source::Case(result)) => result.subject == Subject::Combo(id),
        _ => false,
    }
}
