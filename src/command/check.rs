//! `check`: every finding, then a line that sums them up.

use std::io::{self, BufWriter, Write};

use crate::check::{Checked, claims};
use crate::present::diagnostics::{render_human, render_json_line, render_summary};
use crate::structure::Project;

use super::arguments::{CheckArguments, FindingFormat};
use super::{Exit, each_file, style_of_stdout};

pub fn run(arguments: &CheckArguments) -> io::Result<Exit> {
    let mut out = BufWriter::new(io::stdout().lock());
    let exit = each_file(&arguments.files, |_, project, checked| {
        match arguments.format {
            FindingFormat::Text => write_text(&mut out, project, checked)?,
            FindingFormat::Json => {
                for diagnostic in &checked.diagnostics {
                    writeln!(out, "{}", render_json_line(diagnostic, &project.files))?;
                }
            }
        }
        Ok(Exit::Fine)
    })?;
    out.flush()?;
    Ok(exit)
}

fn write_text(out: &mut dyn Write, project: &Project, checked: &Checked) -> io::Result<()> {
    out.write_all(render_human(&checked.diagnostics, &project.files, style_of_stdout()).as_bytes())?;
    if checked.diagnostics.is_empty() {
        writeln!(out, "{}: {}", project.files.name(crate::base::FileId(0)), sound(checked))
    } else {
        writeln!(out, "{}", render_summary(&checked.diagnostics, &project.files).trim_end())
    }
}

/// What can be said of a file with no finding.
fn sound(checked: &Checked) -> String {
    let verdict = checked.verdict.as_ref().map_or_else(|| "nothing to find".to_owned(), claims::verdict_words);
    let stable = if checked.verdict.is_some() { "stable, " } else { "" };
    let claims = match checked.structure.claims.len() {
        0 => "no claims".to_owned(),
        1 => "its one claim holds".to_owned(),
        many => format!("all {many} claims hold"),
    };
    format!("{stable}{verdict}; {claims}")
}
