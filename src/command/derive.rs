//! `derive`: the whole solution, so that another can follow and check it.

use std::io;

use crate::base::{FileId, JointId, MemberId};
use crate::check::Checked;
use crate::present::document::Document;
use crate::present::results::subject_name;
use crate::present::working::{Asked, MOST_MEMBERS, derive};
use crate::statics::CaseResult;
use crate::structure::{Project, Structure};
use crate::syntax::tree::MemberKind;

use super::arguments::DeriveArguments;
use super::read::Reader;
use super::report::{format_of, render};
use super::save::{deliver, file_of};
use super::solve::{tell, unknown_case};
use super::{Exit, complain, each_file};

pub fn run(arguments: &DeriveArguments) -> io::Result<Exit> {
    let format = match format_of(arguments.format, file_of(arguments.output.as_deref())) {
        Ok(format) => format,
        Err(message) => {
            complain(&message);
            return Ok(Exit::CouldNotRun);
        }
    };
    let files = std::slice::from_ref(&arguments.file);
    let reader = Reader::default();
    each_file(&reader, files, &arguments.figures, |project, checked| {
        tell(project, checked)?;
        let name = project.files.name(FileId(0));
        match page(arguments, project, checked) {
            Ok(Some(document)) => deliver(arguments.output.as_deref(), render(&document, format).as_bytes(), &reader),
            Ok(None) => Ok(Exit::Fine),
            Err(message) => {
                complain(&format!("{name}: {message}"));
                Ok(Exit::CouldNotRun)
            }
        }
    })
}

/// The page; nothing where errors were told that leave nothing to work out, or
/// why there is none.
fn page(arguments: &DeriveArguments, project: &Project, checked: &Checked) -> Result<Option<Document>, String> {
    let structure = &checked.structure;
    if let Some(message) = unknown_case(checked, &arguments.cases) {
        return Err(message);
    }
    let member = match &arguments.member {
        None => None,
        Some(name) => match find_member(structure, name) {
            Some(_) if structure.members.iter().any(|member| member.kind == MemberKind::Beam) => {
                return Err("--member cuts through trusses; this structure has beams".to_owned());
            }
            Some(member) => Some(member),
            None => {
                return Err(format!("there is no member {name}; members are named by their two joints, as in A-B"));
            }
        },
    };
    let (Some(verdict), Some(solution)) = (&checked.verdict, &checked.solution) else {
        if checked.has_errors() {
            return Ok(None);
        }
        return Err("there are no forces to work out".to_owned());
    };
    if structure.members.len() > MOST_MEMBERS {
        return Err(format!(
            "{} members are more than are worked out by hand (at most {MOST_MEMBERS}); `kingpost solve` gives the forces",
            structure.members.len()
        ));
    }
    let is_wanted = |result: &&CaseResult| {
        arguments.cases.is_empty()
            || arguments.cases.iter().any(|wanted| wanted == subject_name(structure, result.subject))
    };
    let results: Vec<&CaseResult> = solution.results.iter().filter(is_wanted).collect();
    if results.is_empty() {
        let message = "there is no load case to work out; travelling loads are not worked out by hand";
        return Err(message.to_owned());
    }
    Ok(Some(derive(&Asked {
        structure,
        files: &project.files,
        file: project.files.name(FileId(0)),
        verdict,
        solved: &solution.results,
        results: &results,
        member,
    })))
}

/// A member named by its two joints, either first.
fn find_member(structure: &Structure, name: &str) -> Option<MemberId> {
    let (a, b) = name.split_once('-')?;
    let joint = |name: &str| {
        (0..structure.joints.len()).map(JointId::new).find(|joint| structure.joint_name(*joint) == name.trim())
    };
    structure.find_member(joint(a)?, joint(b)?).map(|(member, _)| member)
}
