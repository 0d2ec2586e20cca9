//! `derive`: the whole solution, so that another can follow and check it.

use crate::base::{FileId, MemberId};
use crate::check::Checked;
use crate::present::document::Document;
use crate::present::results::subject_name;
use crate::present::working::{Asked, MOST_MEMBERS, derive};
use crate::statics::CaseResult;
use crate::structure::{Project, Structure};
use crate::syntax::tree::MemberKind;

use super::arguments::DeriveArguments;
use super::read::Reader;
use super::report::{page_format, render};
use super::save::{deliver, file_of};
use super::solve::{known_cases, tell};
use super::{Exit, Outcome, each_file, is_wanted};

pub fn run(arguments: &DeriveArguments) -> Outcome {
    let format = page_format(arguments.format, file_of(arguments.output.as_deref()))?;
    let files = std::slice::from_ref(&arguments.file);
    let reader = Reader::default();
    each_file(&reader, files, &arguments.over, |project, checked| {
        tell(project, checked)?;
        let Some(document) = page(arguments, project, checked)? else { return Ok(Exit::Fine) };
        Ok(deliver(arguments.output.as_deref(), render(&document, format).as_bytes(), &reader)?)
    })
}

/// The page; nothing where errors were told that leave nothing to work out, or
/// why there is none.
fn page(arguments: &DeriveArguments, project: &Project, checked: &Checked) -> Result<Option<Document>, String> {
    let structure = &checked.structure;
    known_cases(checked, &arguments.cases)?;
    let member = match &arguments.member {
        None => None,
        Some(name) => match find_member(structure, name) {
            Some(_) if structure.members.iter().any(|member| member.kind == MemberKind::Beam) => {
                return Err("--member is for trusses; this structure has beams".to_owned());
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
        return Err("there are no forces to derive".to_owned());
    };
    if structure.members.len() > MOST_MEMBERS {
        return Err(format!(
            "{} members are too many for a written solution (at most {MOST_MEMBERS}); `kingpost solve` gives the forces",
            structure.members.len()
        ));
    }
    let is_wanted = |result: &&CaseResult| is_wanted(&arguments.cases, subject_name(structure, result.subject));
    let results: Vec<&CaseResult> = solution.results.iter().filter(is_wanted).collect();
    if results.is_empty() {
        let message = "there is no load case to derive; travelling loads have no written solution";
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
    let joint = |name: &str| structure.joints.ids().find(|joint| structure.joint_name(*joint) == name.trim());
    structure.find_member(joint(a)?, joint(b)?).map(|(member, _)| member)
}
