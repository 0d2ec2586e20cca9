//! `check`: every finding, then a line that sums them up.

use std::io::{self, BufWriter, Write};

use crate::check::{Checked, claims};
use crate::present::diagnostics::{render_human, render_json_line, render_summary};
use crate::present::marks::{self, MarkSheet};
use crate::structure::Project;

use super::arguments::{CheckArguments, FindingFormat};
use super::{Exit, complain, each_file, style_of_stdout};

pub fn run(arguments: &CheckArguments) -> io::Result<Exit> {
    if arguments.format == FindingFormat::Csv && !arguments.claims {
        complain("findings are not a table: `--format csv` goes with `--claims`");
        return Ok(Exit::CouldNotRun);
    }
    let mut out = BufWriter::new(io::stdout().lock());
    if arguments.format == FindingFormat::Csv {
        writeln!(out, "{}", marks::HEADER)?;
    }
    let exit = each_file(&arguments.files, |index, project, checked| {
        let sheet = arguments.claims.then(|| MarkSheet::of(checked, &project.files));
        match (arguments.format, &sheet) {
            (FindingFormat::Text, None) => write_text(&mut out, project, checked)?,
            (FindingFormat::Text, Some(sheet)) => {
                if index > 0 {
                    writeln!(out)?;
                }
                out.write_all(marks::render_marks(sheet, style_of_stdout()).as_bytes())?;
            }
            (FindingFormat::Json, sheet) => {
                for diagnostic in &checked.diagnostics {
                    writeln!(out, "{}", render_json_line(diagnostic, &project.files))?;
                }
                if let Some(sheet) = sheet {
                    writeln!(out, "{}", marks::render_marks_json(sheet))?;
                }
            }
            (FindingFormat::Csv, sheet) => {
                if let Some(sheet) = sheet {
                    marks::write_marks_csv(&mut out, sheet)?;
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
