//! Claims proved or refuted, each with its mark.
//!
//! Must not know: how forces are found, how a claim is compared with a result.

mod wording;

use rustc_hash::FxHashSet;

use crate::base::{MemberId, Origin};
use crate::diagnostic::{Diagnostic, Slug};
use crate::statics::{Solution, Subject, Verdict, VerdictKind, flexibility, judged as judged_results};
use crate::structure::{Claim, ClaimKind, Polarity, Structure, Under, ValueClaim};
use crate::syntax::tree::{MemberKind, Relation};

use super::outcome::{Gauge, NotKnown, Outcome, Source};
use super::slips::{Explained, Explainer};
use super::words;
use wording::{claimed_words, sentence, subject_words, tolerance_words, value_words};

/// What became of one claim.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Its place among the structure's claims.
    pub claim: usize,
    pub verdict: Marking,
    /// What was found, in words: `166.7 N compression`; of what is not judged,
    /// why.
    pub computed: String,
    /// The slip that gives the claimed number, where one does.
    pub slip: Option<Explained>,
}

/// Right or wrong, as a marker would write it, or neither.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marking {
    Right,
    Wrong,
    /// What it is about is not worked out, or cannot be known.
    NotJudged,
}

impl Marking {
    /// The word of the sheet, and of its formats for programs.
    pub const fn word(self) -> &'static str {
        match self {
            Marking::Right => "right",
            Marking::Wrong => "wrong",
            Marking::NotJudged => "not judged",
        }
    }

    /// A sign that needs no colour.
    pub const fn sign(self) -> char {
        match self {
            Marking::Right => '✓',
            Marking::Wrong => '✗',
            Marking::NotJudged => '–',
        }
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

/// Wrong claims that are listed one by one; all have their marks.
pub const MOST_TOLD: usize = 2_000;

impl Marked {
    fn add(&mut self, mark: Mark, told: Option<Diagnostic>) {
        self.marks.push(mark);
        match told {
            Some(_) if self.found.len() >= MOST_TOLD => self.more += 1,
            told => self.found.extend(told),
        }
    }
}

/// Judges the claims on the verdict itself.
pub fn check_verdict_claims(structure: &Structure, verdict: &Verdict) -> Marked {
    let mut marked = Marked::default();
    for (index, claim) in structure.claims.iter().enumerate() {
        let (holds, claimed) = match claim.kind {
            ClaimKind::Determinate => (verdict.kind == VerdictKind::Determinate, "determinate".to_owned()),
            ClaimKind::Unstable => (verdict.kind == VerdictKind::Unstable, "unstable".to_owned()),
            ClaimKind::Indeterminate(None) => (verdict.kind == VerdictKind::Indeterminate, "indeterminate".to_owned()),
            ClaimKind::Indeterminate(Some(degree)) => {
                let is_right = usize::try_from(degree) == Ok(verdict.redundancy);
                (verdict.kind == VerdictKind::Indeterminate && is_right, format!("indeterminate {degree}"))
            }
            ClaimKind::Value(_) => continue,
        };
        let is = verdict_words(verdict);
        let (verdict, told) = match (claim.polarity, holds) {
            _ if verdict.kind == VerdictKind::NotSettled => (Marking::NotJudged, None),
            (Polarity::Holds, true) | (Polarity::IsRefuted, false) => (Marking::Right, None),
            (Polarity::Holds, false) => {
                let told = Diagnostic::new(Slug::ClaimFails, format!("the structure is {is}, not {claimed}"))
                    .label(claim.origin, format!("claims {claimed}"));
                (Marking::Wrong, Some(told))
            }
            (Polarity::IsRefuted, true) => {
                let told = Diagnostic::new(Slug::ClaimNotRefuted, format!("the structure is {claimed} after all"))
                    .label(claim.origin, "is claimed not to hold, and holds");
                (Marking::Wrong, Some(told))
            }
        };
        marked.add(Mark { claim: index, verdict, computed: is, slip: None }, told);
    }
    marked
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
        ClaimKind::Value(value) => subject_words(structure, &value.subject),
        _ => "the structure".to_owned(),
    }
}

/// A claim judged, the slip behind it still to be told.
struct Judged {
    verdict: Marking,
    computed: String,
    told: Option<Diagnostic>,
    /// Its place among the claims looked into.
    inquiry: Option<usize>,
    /// How near it had to be.
    tolerance: Option<String>,
}

impl Judged {
    fn of(verdict: Marking, computed: String, told: Option<Diagnostic>) -> Judged {
        Judged { verdict, computed, told, inquiry: None, tolerance: None }
    }
}

/// Judges the claims on reactions, forces and movements.
pub fn check_claims<'a>(structure: &'a Structure, solution: &'a Solution, explainer: &mut Explainer<'a>) -> Marked {
    let sources = solution.results.iter().map(Source::Case).chain(solution.travels.iter().map(Source::Train));
    let gauges: Vec<Gauge> = sources.map(|source| Gauge::of(structure, source)).collect();
    let counting: FxHashSet<Subject> =
        judged_results(structure, solution.results.iter()).map(|own| own.subject).collect();
    let counts = |gauge: &Gauge| match gauge.source {
        Source::Case(result) => counting.contains(&result.subject),
        Source::Train(_) => true,
    };
    let mut judged: Vec<(usize, Judged)> = Vec::new();
    for (index, claim) in structure.claims.iter().enumerate() {
        let ClaimKind::Value(value) = &claim.kind else { continue };
        // A train beyond the limits has a finding of its own.
        let mut under: Vec<&Gauge> =
            gauges.iter().filter(|gauge| is_under(value.subject.under, gauge.source)).collect();
        if under.len() > 1 {
            // A case that only combinations use need not be possible alone.
            under.retain(|gauge| counts(gauge) || gauge.fault().is_none());
        }
        let impossible = under.iter().find_map(|gauge| Some((*gauge, gauge.fault()?)));
        let own = match impossible {
            // The cable or the roller has a finding of its own.
            Some((gauge, why)) if counts(gauge) => {
                Some(Judged::of(Marking::NotJudged, NotKnown::Impossible(why).words(), None))
            }
            Some((gauge, why)) => Some(not_known(claim, value, gauge, NotKnown::Impossible(why))),
            None => judge(explainer, claim, value, &under),
        };
        judged.extend(own.map(|judged| (index, judged)));
    }
    let mut slips = explainer.explained();
    let mut marked = Marked::default();
    for (claim, Judged { verdict, computed, told, inquiry, tolerance }) in judged {
        let slip = inquiry.and_then(|at| slips.get_mut(at)).and_then(Option::take);
        let told = told.map(|told| explained(told, slip.as_ref(), tolerance));
        marked.add(Mark { claim, verdict, computed, slip }, told);
    }
    marked
}

/// With the slip behind it and how near it had to be.
fn explained(mut told: Diagnostic, slip: Option<&Explained>, tolerance: Option<String>) -> Diagnostic {
    told.why.extend(slip.map(|slip| slip.text.clone()));
    told.why.extend(tolerance);
    let mut loads: Vec<Origin> = slip.iter().flat_map(|slip| &slip.named).filter_map(|named| named.load).collect();
    loads.dedup();
    let text = if loads.len() > 1 { "this load, or the other" } else { "this load" };
    loads.into_iter().fold(told, |told, load| told.label(load, text))
}

fn judge<'a>(
    explainer: &mut Explainer<'a>,
    claim: &Claim,
    value: &'a ValueClaim,
    under: &[&Gauge<'a>],
) -> Option<Judged> {
    let structure = under.first()?.structure;
    let mut met: Vec<Outcome> = Vec::with_capacity(under.len());
    for gauge in under {
        match gauge.judge(value) {
            Ok(own) => met.push(own),
            Err(why) => return Some(not_known(claim, value, gauge, why)),
        }
    }
    // One number for several cases is a limit, not an answer to any of them.
    let only = match under {
        [Gauge { source: Source::Case(result), .. }] => Some(*result),
        _ => None,
    };
    let failed: Vec<&Outcome> = met.iter().filter(|met| !met.holds).collect();
    // What decides: the first failure, or what comes nearest to one.
    let nearest = || met.iter().max_by(|a, b| a.value.found_size().total_cmp(&b.value.found_size()));
    let decides = failed.first().copied().or_else(nearest)?;
    let whose = if met.len() > 1 { decides.gauge.under() } else { String::new() };
    let computed = format!("{}{whose}", decides.words());
    let claimed = claimed_words(structure, value, decides.figures);
    match (claim.polarity, failed.is_empty()) {
        (Polarity::IsRefuted, false) => return Some(Judged::of(Marking::Right, computed, None)),
        (Polarity::Holds, true) => {
            if let Some(result) = only {
                explainer.note_right(claim.origin.file, value, result);
            }
            return Some(Judged::of(Marking::Right, computed, None));
        }
        (Polarity::IsRefuted, true) => {
            let message =
                format!("{} holds after all{}", subject_words(structure, &value.subject), decides.gauge.under());
            let told = Diagnostic::new(Slug::ClaimNotRefuted, message)
                .label(claim.origin, format!("{claimed} is claimed not to hold, and holds"));
            return Some(Judged::of(Marking::Wrong, computed, Some(told)));
        }
        (Polarity::Holds, false) => {}
    }
    let mut told =
        Diagnostic::new(Slug::ClaimFails, sentence(decides)).label(claim.origin, format!("claims {claimed}"));
    if let Source::Train(result) = decides.gauge.source {
        let so = |train| format!("So it is with the {}.", words::train(structure, result.travel, train));
        told.why.extend(decides.value.train.map(so));
        if value.relation != Relation::AtMost {
            told = told.why("Under a moving load such a claim is about the largest value the train causes.");
        }
    }
    if failed.len() > 1 {
        let others: Vec<String> =
            failed.iter().skip(1).map(|met| format!("{}{}", met.words(), met.gauge.under())).collect();
        told = told.why(format!("Nor does it hold elsewhere: {}.", words::list(&others)));
    }
    let inquiry = only.and_then(|result| {
        let claimed = value_words(structure, value, decides.figures);
        explainer.look_into(claim.origin.file, value, result, decides.member, claimed)
    });
    let tolerance = tolerance_words(structure, value, decides.value.numbers);
    Some(Judged { inquiry, tolerance, ..Judged::of(Marking::Wrong, computed, Some(told)) })
}

/// What cannot be known is neither proved nor refuted.
fn not_known(claim: &Claim, value: &ValueClaim, gauge: &Gauge<'_>, why: NotKnown) -> Judged {
    let structure = gauge.structure;
    let claimed = claimed_words(structure, value, structure.figures);
    let label = match claim.polarity {
        Polarity::Holds => format!("claims {claimed}"),
        Polarity::IsRefuted => format!("is claimed not to be {claimed}; neither can be told"),
    };
    let under = match why {
        NotKnown::Travelling | NotKnown::Impossible(_) => gauge.under(),
        NotKnown::Movement | NotKnown::Rotation | NotKnown::NoResult => String::new(),
    };
    let is = format!("{}{under}", why.words());
    let mut told =
        Diagnostic::new(Slug::ClaimNotKnown, format!("{} is {is}", subject_words(structure, &value.subject)))
            .label(claim.origin, label);
    match why {
        NotKnown::Travelling => {
            told = told
                .why("Moving loads are followed in their reactions, forces and bending; not in the displacements they cause.")
                .help("state the position that matters as a `case` and claim the displacement there");
        }
        NotKnown::Movement | NotKnown::Rotation => {
            if let Some((member, what)) = without_stiffness(structure) {
                told = told.why(format!("{what} of member {} is not given.", structure.member_name(member))).help(
                    "give it in the member's section: `EA` or `A`, `EI` or `I` with a material; `EA = rigid` where members need not shorten",
                );
            }
        }
        NotKnown::Impossible(_) => {
            told = told
                .why("Alone the case is not in equilibrium with members that pull and supports that push only.")
                .help("claim it under the combination that holds it, or leave the cable out of the structure");
        }
        NotKnown::NoResult => {}
    }
    Judged::of(Marking::NotJudged, is, Some(told))
}

/// The first member whose stiffness is not known, and which.
fn without_stiffness(structure: &Structure) -> Option<(MemberId, &'static str)> {
    structure.members.entries().find_map(|(id, member)| match member.kind {
        _ if !flexibility::axial(structure, id).is_known() => Some((id, "The axial stiffness `EA`")),
        MemberKind::Beam if !flexibility::bending(structure, id).is_known() => Some((id, "The bending stiffness `EI`")),
        MemberKind::Beam | MemberKind::Bar | MemberKind::Cable => None,
    })
}

fn is_under(under: Under, source: Source<'_>) -> bool {
    match (under, source) {
        (Under::Travel(id), Source::Train(result)) => id == result.travel,
        (Under::All | Under::Unsaid, Source::Case(_)) => true,
        (Under::Case(id), Source::Case(result)) => result.subject == Subject::Case(id),
        (Under::Combination(id), Source::Case(result)) => result.subject == Subject::Combination(id),
        (Under::Travel(_), Source::Case(_))
        | (Under::All | Under::Unsaid | Under::Case(_) | Under::Combination(_), Source::Train(_)) => false,
    }
}
