//! The page of every finding: its sections, its example, which must raise the
//! finding, and its cure, which must be clean.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fmt::Write as _;

use kingpost::check::check;
use kingpost::diagnostic::{Diagnostic, Severity, Slug};
use kingpost::structure::{SourceRefusal, read_project};

const SECTIONS: [&str; 4] = ["## What it means", "## Why it matters", "## Example", "## Cure"];

/// Findings without a small file that causes them; their pages say so.
const WITHOUT_EXAMPLE: [Slug; 3] = [Slug::TooManyFindings, Slug::DoesNotBalance, Slug::NotComputable];

#[test]
fn every_page_has_its_sections_in_order() {
    let mut faults = String::new();
    for slug in Slug::ALL {
        let page = slug.page();
        if !page.starts_with(&format!("# {}\n", slug.word())) {
            writeln!(faults, "{}: the heading is not the slug", slug.word()).unwrap();
        }
        let places: Vec<Option<usize>> = SECTIONS.iter().map(|section| page.find(&format!("\n{section}\n"))).collect();
        if places.iter().any(Option::is_none) || !places.is_sorted() {
            writeln!(faults, "{}: sections missing or out of order", slug.word()).unwrap();
        }
        let wanted = if WITHOUT_EXAMPLE.contains(slug) { 0 } else { 2 };
        if blocks(page).len() != wanted {
            writeln!(faults, "{}: {} blocks, not {wanted}", slug.word(), blocks(page).len()).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

#[test]
fn every_example_raises_its_finding_and_no_other_error() {
    let mut faults = String::new();
    for (slug, example, _) in examples() {
        let found = findings(slug, example);
        if !found.iter().any(|found| found.slug == slug) {
            writeln!(faults, "{}: the example raises {:?}", slug.word(), words(&found)).unwrap();
        }
        let others: Vec<&str> = found
            .iter()
            .filter(|found| found.severity == Severity::Error && found.slug != slug && !goes_with(slug, found.slug))
            .map(|found| found.slug.word())
            .collect();
        if !others.is_empty() {
            writeln!(faults, "{}: the example raises {others:?} besides", slug.word()).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

#[test]
fn every_cure_cures() {
    let mut faults = String::new();
    for (slug, _, cure) in examples() {
        let found = findings(slug, cure);
        if found.iter().any(|found| found.severity == Severity::Error || found.slug == slug) {
            writeln!(faults, "{}: the cure raises {:?}", slug.word(), words(&found)).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// Headlines and help are no sentences, the reasons are.
#[test]
fn every_finding_is_put_as_the_others_are() {
    let mut faults = String::new();
    for (slug, example, _) in examples() {
        for found in findings(slug, example) {
            let is_headline =
                !found.message.is_empty() && !found.message.contains('\n') && !found.message.ends_with('.');
            let has_labels = !found.labels.is_empty()
                && found.labels.iter().all(|label| !label.text.is_empty() && !label.text.ends_with('.'));
            let has_reasons = found.why.iter().all(|why| why.ends_with(['.', '?']));
            if !is_headline || !has_labels || !has_reasons || found.help.iter().any(|help| help.ends_with('.')) {
                writeln!(faults, "{}: {found:?}", slug.word()).unwrap();
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// Where a page counts members and reactions against joints, its example has so many.
#[test]
fn counts_on_pages_are_those_of_their_examples() {
    let (mut faults, mut counted) = (String::new(), 0);
    for (slug, example, _) in examples() {
        let (_, after) = slug.page().split_once("## Example\n").unwrap();
        let said = after.split("\n```kp\n").next().unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
        let Some((_, said)) = said.split_once("m + r = ") else { continue };
        let nothing = &mut |_: &str| Err(SourceRefusal("there is no such file".to_owned()));
        let verdict = check(&read_project("example.kp", format!("{example}\n"), nothing)).verdict.unwrap();
        let (have, want) = (verdict.members + verdict.reactions, 2 * verdict.joints);
        let number = |text: &str| -> Option<usize> { text.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok() };
        counted += 1;
        if number(said) != Some(have) {
            writeln!(faults, "{}: m + r = {have}, not {said}", slug.word()).unwrap();
        }
        if let Some((_, said)) = said.split_once("2j = ")
            && number(said) != Some(want)
        {
            writeln!(faults, "{}: 2j = {want}, not {said}", slug.word()).unwrap();
        }
        for (word, short) in [("one short", 1), ("two short", 2), ("three short", 3)] {
            if said.contains(word) && want.checked_sub(have) != Some(short) {
                writeln!(faults, "{}: {have} against {want} is not {word}", slug.word()).unwrap();
            }
        }
    }
    assert!(faults.is_empty() && counted >= 4, "{counted} counted\n{faults}");
}

/// What is counted by one finding is told one by one before.
fn goes_with(slug: Slug, other: Slug) -> bool {
    slug == Slug::MoreMechanisms && other == Slug::DanglingJoint
}

fn words(found: &[Diagnostic]) -> Vec<&'static str> {
    found.iter().map(|found| found.slug.word()).collect()
}

/// Slug, example and cure of every page that has them.
fn examples() -> impl Iterator<Item = (Slug, &'static str, &'static str)> {
    Slug::ALL.iter().filter_map(|slug| match blocks(slug.page()).as_slice() {
        [example, cure] => Some((*slug, *example, *cure)),
        _ => None,
    })
}

fn blocks(page: &str) -> Vec<&str> {
    page.split("\n```kp\n").skip(1).map(|rest| rest.split("\n```").next().unwrap()).collect()
}

/// What is found in a block, beside the files that its page gives by name.
fn findings(slug: Slug, text: &str) -> Vec<Diagnostic> {
    let read = &mut |name: &str| {
        let block = slug.page().split_once(&format!("\n```kp file={name}\n")).map(|(_, rest)| rest);
        let block = block.and_then(|rest| rest.split("\n```").next());
        block.map(|text| format!("{text}\n")).ok_or_else(|| SourceRefusal("there is no such file".to_owned()))
    };
    check(&read_project("example.kp", format!("{text}\n"), read)).diagnostics
}
