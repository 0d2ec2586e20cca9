//! Claims and findings as the XML report that build servers read as tests:
//! one suite a file, in it the verdict and every claim as a case.
//!
//! Must not know: how a finding is made.

use rustc_hash::{FxHashMap, FxHashSet};

use super::failure::Failure;
use super::human::{Style, render_one};
use crate::base::{FileId, Files, Origin};
use crate::check::Checked;
use crate::check::claims::Marking;
use crate::check::closing::Closing;
use crate::diagnostic::{Diagnostic, Severity};
use crate::present::escape::{xml as text, xml_attribute as attribute};
use crate::structure::Project;
use crate::syntax::tree::StatementKind;

/// The report of one run over any number of files.
#[derive(Debug, Default)]
pub struct JunitReport {
    suites: Vec<Suite>,
}

/// What came of one file.
#[derive(Debug)]
struct Suite {
    file: String,
    cases: Vec<Case>,
}

#[derive(Debug)]
struct Case {
    name: String,
    outcome: Outcome,
    /// The elements within it, a line each.
    inside: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    Passed,
    Failed,
    /// What was to be tried could not be.
    Error,
    Skipped,
}

/// A claim as it is written: a loop states one many times, an empty one never.
struct Written {
    at: Origin,
    /// Whether all of what it claims could be judged.
    is_judged: bool,
}

impl JunitReport {
    pub fn new() -> Self {
        JunitReport::default()
    }

    /// Takes in what was found about one project: a case for its verdict,
    /// which fails with every error that is no claim's, and a case a claim.
    pub fn add(&mut self, project: &Project, checked: &Checked) {
        let files = &project.files;
        let written = claims_of(project, checked);
        let is_of = |found: &Diagnostic, claim: &Written| found.place().is_some_and(|at| holds(claim.at, at));
        let (errors, remarks): (Vec<&Diagnostic>, Vec<&Diagnostic>) =
            checked.diagnostics.iter().partition(|found| found.severity == Severity::Error);
        let others = errors.iter().copied().filter(|found| !written.iter().any(|claim| is_of(found, claim)));
        let mut verdict = Case::of("verdict".to_owned(), others, files);
        let mut out = format!("{}\n", Closing::of(checked).words());
        for remark in remarks {
            out.push('\n');
            out.push_str(&render_one(remark, files, Style::default()));
        }
        verdict.inside.push_str(&format!("      <system-out>{}</system-out>\n", text(&out)));
        let mut cases = vec![verdict];
        for claim in &written {
            let failed = errors.iter().copied().filter(|found| is_of(found, claim));
            let mut case = Case::of(title(claim, files), failed, files);
            if case.outcome == Outcome::Passed && !claim.is_judged {
                case.outcome = Outcome::Skipped;
                let why = "not judged: errors stand in the way of the forces";
                case.inside = format!("      <skipped message=\"{why}\"/>\n");
            }
            cases.push(case);
        }
        self.suites.push(Suite { file: files.name(FileId(0)).to_owned(), cases });
    }

    /// Takes in that something could not be done with a file.
    pub fn add_failure(&mut self, failure: &Failure) {
        let inside = format!("      <error message=\"{}\"/>\n", attribute(&failure.message));
        let case = Case { name: failure.undone.wanted().to_owned(), outcome: Outcome::Error, inside };
        self.suites.push(Suite { file: failure.file.clone(), cases: vec![case] });
    }

    pub fn render(&self) -> String {
        let all = counts(self.suites.iter().flat_map(|suite| &suite.cases));
        let suites: String = self.suites.iter().map(Suite::render).collect();
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"kingpost\" {all}>\n{suites}</testsuites>\n"
        )
    }
}

/// The cases by their outcome, as attributes.
fn counts<'c>(cases: impl Iterator<Item = &'c Case> + Clone) -> String {
    let count = |outcome| cases.clone().filter(|case| case.outcome == outcome).count();
    let [failures, errors, skipped] = [Outcome::Failed, Outcome::Error, Outcome::Skipped].map(count);
    let tests = cases.clone().count();
    format!("tests=\"{tests}\" failures=\"{failures}\" errors=\"{errors}\" skipped=\"{skipped}\"")
}

impl Suite {
    fn render(&self) -> String {
        let file = attribute(&self.file);
        let case = |case: &Case| {
            let head = format!("    <testcase name=\"{}\" classname=\"{file}\"", attribute(&case.name));
            match case.inside.as_str() {
                "" => format!("{head}/>\n"),
                inside => format!("{head}>\n{inside}    </testcase>\n"),
            }
        };
        let cases: String = self.cases.iter().map(case).collect();
        format!("  <testsuite name=\"{file}\" {}>\n{cases}  </testsuite>\n", counts(self.cases.iter()))
    }
}

impl Case {
    /// A case that failed with these errors, or passed where there are none.
    fn of<'d>(name: String, errors: impl Iterator<Item = &'d Diagnostic>, files: &Files) -> Case {
        let failure = |error: &Diagnostic| {
            let (slug, message) = (error.slug.word(), attribute(&error.message));
            let told = text(&render_one(error, files, Style::default()));
            format!("      <failure type=\"{slug}\" message=\"{message}\">{told}</failure>\n")
        };
        let inside: String = errors.map(failure).collect();
        Case { name, outcome: if inside.is_empty() { Outcome::Passed } else { Outcome::Failed }, inside }
    }
}

/// A claim as it is written, and its place.
fn title(claim: &Written, files: &Files) -> String {
    let statement = claim.at.span.text(files.text(claim.at.file));
    let statement: Vec<&str> = statement.split_whitespace().collect();
    let line = files.get(claim.at.file).map_or(1, |file| file.location(claim.at.span.start).line);
    match claim.at.file {
        FileId(0) => format!("{} (line {line})", statement.join(" ")),
        other => format!("{} ({}:{line})", statement.join(" "), files.name(other)),
    }
}

/// The claims in the order of the text, those in statements that could be read.
fn claims_of(project: &Project, checked: &Checked) -> Vec<Written> {
    let mut judged: FxHashMap<Origin, bool> = FxHashMap::default();
    let judged_marks = checked.marks.iter().filter(|mark| mark.verdict != Marking::NotJudged);
    let marked: FxHashSet<usize> = judged_marks.map(|mark| mark.claim).collect();
    for (place, claim) in checked.structure.claims.iter().enumerate() {
        let is_judged = marked.contains(&place);
        judged.entry(claim.origin).and_modify(|all| *all &= is_judged).or_insert(is_judged);
    }
    let claims = project.trees.iter().flat_map(|tree| {
        let own = tree.every_statement().filter(|statement| matches!(statement.kind, StatementKind::Expect(_)));
        own.map(|statement| Origin::new(tree.file, statement.span))
    });
    claims.map(|at| Written { at, is_judged: judged.get(&at).copied().unwrap_or(false) }).collect()
}

fn holds(outer: Origin, inner: Origin) -> bool {
    outer.file == inner.file && outer.span.start <= inner.span.start && inner.span.end <= outer.span.end
}
