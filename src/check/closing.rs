//! What ends every check, whatever was said above: the verdict, how many
//! claims hold, how many findings there are of each severity.
//!
//! Must not know: formats.

use super::Checked;
use super::claims::{Marking, verdict_words};
use super::words::plural;
use crate::diagnostic::{Diagnostic, Severity};
use crate::statics::{Verdict, VerdictKind};
use crate::structure::Structure;

/// The end of one file's check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closing {
    /// `determinate`, `indeterminate`, `unstable`, `not settled`; `None` where nothing could be built.
    pub verdict: Option<&'static str>,
    /// Absent where the verdict is not settled, too.
    pub redundancy: Option<usize>,
    pub mechanisms: Option<usize>,
    pub claims: ClaimCounts,
    pub findings: FindingCounts,
    /// The verdict in words: `stable, determinate`.
    pub stability: String,
    /// Lets that are set, and the claims of values that are left out for it: `with P = 26 kN`.
    pub set: String,
    pub left_out: usize,
}

/// Findings by their severity.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FindingCounts {
    pub errors: usize,
    pub warnings: usize,
    pub remarks: usize,
}

impl FindingCounts {
    pub fn of(found: &[Diagnostic]) -> FindingCounts {
        let count = |severity| found.iter().filter(|found| found.severity == severity).count();
        FindingCounts {
            errors: count(Severity::Error),
            warnings: count(Severity::Warning),
            remarks: count(Severity::Information),
        }
    }

    /// `1 error, 2 warnings, 3 remarks`; nothing where there are none.
    pub fn words(self) -> String {
        let told = [
            (self.errors, plural(self.errors, "error")),
            (self.warnings, plural(self.warnings, "warning")),
            (self.remarks, plural(self.remarks, "remark")),
        ];
        let told = told.into_iter().filter(|(count, _)| *count > 0).map(|(_, words)| words);
        told.collect::<Vec<_>>().join(", ")
    }
}

/// Claims by what became of them. One that could not be read is not judged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ClaimCounts {
    pub right: usize,
    pub wrong: usize,
    pub unjudged: usize,
}

impl Closing {
    pub fn of(checked: &Checked) -> Closing {
        let verdict = checked.verdict.as_ref();
        let settled = verdict.filter(|verdict| verdict.kind != VerdictKind::NotSettled);
        Closing {
            verdict: verdict.map(|verdict| verdict.kind.word()),
            redundancy: settled.map(|verdict| verdict.redundancy),
            mechanisms: settled.map(|verdict| verdict.mechanisms),
            claims: ClaimCounts::of(checked),
            findings: FindingCounts::of(&checked.diagnostics),
            stability: stability_words(verdict),
            set: set_words(&checked.structure),
            left_out: checked.structure.claims_left_out,
        }
    }

    /// `stable, determinate; all 3 claims hold`
    pub fn words(&self) -> String {
        format!("{}; {}{}", self.stability, self.claims.words(), self.set)
    }
}

impl ClaimCounts {
    fn of(checked: &Checked) -> ClaimCounts {
        let count = |judged| checked.marks.iter().filter(|mark| mark.verdict == judged).count();
        let (right, wrong) = (count(Marking::Right), count(Marking::Wrong));
        let total = checked.structure.claims.len() + checked.structure.unread_claims.len();
        ClaimCounts { right, wrong, unjudged: total.saturating_sub(right + wrong) }
    }

    pub const fn total(self) -> usize {
        self.right + self.wrong + self.unjudged
    }

    /// `all 3 claims hold`, `2 of 5 claims hold, 1 not judged`
    pub fn words(self) -> String {
        let left = if self.unjudged > 0 && self.unjudged < self.total() {
            format!(", {} not judged", self.unjudged)
        } else {
            String::new()
        };
        match (self.right, self.total()) {
            (_, 0) => "no claims".to_owned(),
            (1, 1) => "its one claim holds".to_owned(),
            (_, 1) if self.unjudged == 1 => "its one claim is not judged".to_owned(),
            (_, 1) => "its one claim fails".to_owned(),
            (right, total) if right == total => format!("all {total} claims hold"),
            (_, total) if self.unjudged == total => format!("its {total} claims are not judged"),
            (1, total) => format!("1 of {total} claims holds{left}"),
            (right, total) => format!("{right} of {total} claims hold{left}"),
        }
    }
}

/// `; with P = 26 kN; 3 claims of values left out`
fn set_words(structure: &Structure) -> String {
    let Some(set) = structure.set_words() else { return String::new() };
    let left_out = match structure.claims_left_out {
        0 => String::new(),
        1 => "; 1 claim of a value left out".to_owned(),
        many => format!("; {many} claims of values left out"),
    };
    format!("; with {set}{left_out}")
}

/// `stable, determinate`, `unstable (one independent motion)`, `no verdict`
fn stability_words(verdict: Option<&Verdict>) -> String {
    let Some(verdict) = verdict else { return "no verdict".to_owned() };
    let words = verdict_words(verdict);
    match verdict.kind {
        VerdictKind::Determinate | VerdictKind::Indeterminate => format!("stable, {words}"),
        VerdictKind::Unstable | VerdictKind::NotSettled => words,
    }
}
