#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeSet;
use std::mem::{Discriminant, discriminant};

use super::diagnose;
use crate::diagnostic::{Diagnostic, Severity, Slug};
use crate::structure::lower::LayoutState;
use crate::structure::project::{SourceRefusal, read_project};
use crate::structure::{Lowered, Project, lower};

fn read(text: &str) -> (Project, Lowered) {
    let mut none = |path: &str| Err(SourceRefusal(format!("no such file: {path}")));
    let project = read_project("bracket.kp", text.to_owned(), &mut none);
    let lowered = lower(&project);
    (project, lowered)
}

fn told(text: &str) -> Vec<Diagnostic> {
    let (project, lowered) = read(text);
    lowered.faults.iter().map(|fault| diagnose(fault, &project.files)).collect()
}

/// Message, labels with the text they stand on, why, help and edits, a line each.
fn shown(text: &str) -> String {
    let (project, lowered) = read(text);
    let mut out = String::new();
    for fault in &lowered.faults {
        let diagnostic = diagnose(fault, &project.files);
        out += &format!("{}[{}]: {}\n", diagnostic.severity.word(), diagnostic.slug.word(), diagnostic.message);
        for label in &diagnostic.labels {
            out += &format!("  {:?}: {}\n", label.at.span.text(project.files.text(label.at.file)), label.text);
        }
        diagnostic.why.iter().for_each(|why| out += &format!("  why: {why}\n"));
        diagnostic.help.iter().for_each(|help| out += &format!("  help: {help}\n"));
        diagnostic.edits.iter().for_each(|edit| out += &format!("  edit: {}\n", edit.replacement));
    }
    out
}

#[test]
fn dump() {
    for slug in Slug::ALL {
        let blocks: Vec<&str> =
            slug.page().split("```kp\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
        let [example, cure] = blocks.as_slice() else {
            println!("## {} has no blocks", slug.word());
            continue;
        };
        let (project, lowered) = read(example);
        for e in &project.errors {
            println!("!! syntax {} {:?}", slug.word(), e);
        }
        let ds: Vec<_> = lowered.faults.iter().map(|f| diagnose(f, &project.files).slug).collect();
        if ds != [*slug] {
            println!("!! {} gives {:?}", slug.word(), ds);
        }
        println!("{}", shown(example));
        let (project, lowered) = read(cure);
        for e in &project.errors {
            println!("!! cure syntax {} {:?}", slug.word(), e);
        }
        if !lowered.faults.is_empty() {
            println!("!! cure of {}: {}", slug.word(), shown(cure));
        }
        let v = crate::statics::settle(&lowered.structure, &crate::statics::Equilibrium::of(&lowered.structure));
        println!("{:?}", v.map(|v| v.kind));
    }
}
