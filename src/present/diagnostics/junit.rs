//! Claims and findings as the XML report that build servers read as tests:
//! one suite a file, in it the verdict and every claim as a case.
//!
//! Must not know: how a finding is made.

use std::fmt::Write as _;

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
    suites: String,
    tests: usize,
    failures: usize,
    errors: usize,
    skipped: usize,
}

/// A claim as it is written: a loop states one many times, an empty one never.
struct Written {
    at: Origin,
    /// Whether all of what it claims could be judged.
    is_judged: bool,
}

#[derive(Default)]
struct Suite {
    cases: String,
    tests: usize,
    failures: usize,
    skipped: usize,
}

impl JunitReport {
    pub fn new() -> Self {
        JunitReport::default()
    }

    /// Takes in what was found about one project: a case for its verdict,
    /// which fails with every error that is no claim's, and a case a claim.
    pub fn add(&mut self, project: &Project, checked: &Checked) {
        let files = &project.files;
        let name = files.name(FileId(0));
        let mut suite = Suite::default();
        let written = claims_of(project, checked);
        let is_of = |found: &Diagnostic, claim: &Written| found.place().is_some_and(|at| holds(claim.at, at));
        let errors = checked.diagnostics.iter().filter(|found| found.severity == Severity::Error);
        let others: Vec<&Diagnostic> =
            errors.clone().filter(|found| !written.iter().any(|claim| is_of(found, claim))).collect();
        let remarks: Vec<&Diagnostic> =
            checked.diagnostics.iter().filter(|found| found.severity != Severity::Error).collect();
        suite.verdict(name, checked, files, &others, &remarks);
        for claim in &written {
            let failed: Vec<&Diagnostic> = errors.clone().filter(|found| is_of(found, claim)).collect();
            suite.claim(name, claim, files, &failed);
        }
        self.close(name, suite);
    }

    /// Takes in that something could not be done with a file.
    pub fn add_failure(&mut self, failure: &Failure) {
        let (file, message) = (attribute(&failure.file), attribute(&failure.message));
        let wanted = failure.undone.wanted();
        self.tests += 1;
        self.errors += 1;
        // Writing to a string cannot fail, here and below.
        let _ = write!(
            self.suites,
            "  <testsuite name=\"{file}\" tests=\"1\" failures=\"0\" errors=\"1\" skipped=\"0\">\n    \
             <testcase name=\"{wanted}\" classname=\"{file}\">\n      <error message=\"{message}\"/>\n    \
             </testcase>\n  </testsuite>\n"
        );
    }

    pub fn render(&self) -> String {
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"kingpost\" tests=\"{}\" failures=\"{}\" \
             errors=\"{}\" skipped=\"{}\">\n{}</testsuites>\n",
            self.tests, self.failures, self.errors, self.skipped, self.suites
        )
    }

    fn close(&mut self, name: &str, suite: Suite) {
        let Suite { cases, tests, failures, skipped } = suite;
        self.tests += tests;
        self.failures += failures;
        self.skipped += skipped;
        let _ = write!(
            self.suites,
            "  <testsuite name=\"{}\" tests=\"{tests}\" failures=\"{failures}\" errors=\"0\" skipped=\"{skipped}\">\n\
             {cases}  </testsuite>\n",
            attribute(name)
        );
    }
}

impl Suite {
    fn verdict(
        &mut self,
        name: &str,
        checked: &Checked,
        files: &Files,
        errors: &[&Diagnostic],
        remarks: &[&Diagnostic],
    ) {
        let _ = writeln!(self.cases, "    <testcase name=\"verdict\" classname=\"{}\">", attribute(name));
        self.failures_of(errors, files);
        let mut out = format!("{}\n", Closing::of(checked).words());
        for remark in remarks {
            out.push('\n');
            out.push_str(&render_one(remark, files, Style::default()));
        }
        let _ = writeln!(self.cases, "      <system-out>{}</system-out>\n    </testcase>", text(&out));
        self.tests += 1;
    }

    fn claim(&mut self, name: &str, claim: &Written, files: &Files, failed: &[&Diagnostic]) {
        let statement = claim.at.span.text(files.text(claim.at.file));
        let statement: Vec<&str> = statement.split_whitespace().collect();
        let line = files.get(claim.at.file).map_or(1, |file| file.location(claim.at.span.start).line);
        let place = match claim.at.file {
            FileId(0) => format!("line {line}"),
            other => format!("{}:{line}", files.name(other)),
        };
        let title = attribute(&format!("{} ({place})", statement.join(" ")));
        let _ = write!(self.cases, "    <testcase name=\"{title}\" classname=\"{}\"", attribute(name));
        self.tests += 1;
        if !failed.is_empty() {
            self.cases.push_str(">\n");
            self.failures_of(failed, files);
            self.cases.push_str("    </testcase>\n");
        } else if claim.is_judged {
            self.cases.push_str("/>\n");
        } else {
            self.skipped += 1;
            let why = "not judged: errors stand in the way of the forces";
            let _ = write!(self.cases, ">\n      <skipped message=\"{why}\"/>\n    </testcase>\n");
        }
    }

    /// One failed case, with a failure for each error.
    fn failures_of(&mut self, errors: &[&Diagnostic], files: &Files) {
        self.failures += usize::from(!errors.is_empty());
        for error in errors {
            let _ = writeln!(
                self.cases,
                "      <failure type=\"{}\" message=\"{}\">{}</failure>",
                error.slug.word(),
                attribute(&error.message),
                text(&render_one(error, files, Style::default()))
            );
        }
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
