//! `check`: findings to standard output, or corrections to the files.

use std::io::{self, BufWriter, Write};
use std::path::Path;

use crate::base::FileId;
use crate::check::Checked;
use crate::check::closing::Closing;
use crate::present::diagnostics::{
    JunitReport, SarifLog, render_closing_json, render_end, render_github_closing, render_github_line, render_human,
    render_json_line,
};
use crate::present::marks::{self, MarkSheet};
use crate::structure::Project;

use super::arguments::{CheckArguments, FindingFormat};
use super::fix::{self, Fixed};
use super::{Exit, complain, found, read, style_of_stdout};

/// Findings that are shown in full: nobody reads a thousand at once.
const MOST_SHOWN: usize = 100;

pub fn run(arguments: &CheckArguments) -> io::Result<Exit> {
    let Some(mut report) = Report::of(arguments) else {
        complain(match arguments.claims {
            true => "a mark sheet is text, json or csv",
            false => "findings are not a table: `--format csv` goes with `--claims`",
        });
        return Ok(Exit::CouldNotRun);
    };
    let mut out = BufWriter::new(io::stdout().lock());
    report.begin(&mut out)?;
    let switches = arguments.lints.switches();
    let mut exit = Exit::Fine;
    for path in &arguments.files {
        let project = match read::read(path) {
            Ok(project) => project,
            Err(message) => {
                complain(&message);
                report.add_failure(path, &message);
                exit = exit.max(Exit::CouldNotRun);
                continue;
            }
        };
        if !arguments.fix {
            let checked = crate::check::check_with(&project, &switches);
            exit = exit.max(found(&checked));
            report.add(&mut out, &project, &checked)?;
            continue;
        }
        let Fixed { corrected, exit: fixed } = fix::run(&mut out, arguments, path, project)?;
        exit = exit.max(fixed).max(found(&corrected.checked));
        if !arguments.dry_run && path != Path::new("-") {
            report.add(&mut out, &corrected.project, &corrected.checked)?;
        }
    }
    report.finish(&mut out)?;
    out.flush()?;
    Ok(exit)
}

/// What is printed of the findings or the claims: file by file, or at the end
/// of the run.
enum Report {
    Text,
    Json,
    Sarif(Box<SarifLog>),
    Github,
    Junit(JunitReport),
    /// How many have been written.
    Marks(usize),
    /// The findings too, as they always are.
    MarksJson,
    MarksCsv,
}

impl Report {
    /// `None` for a format that has no such thing.
    fn of(arguments: &CheckArguments) -> Option<Report> {
        Some(match (arguments.format, arguments.claims) {
            (FindingFormat::Text, false) => Report::Text,
            (FindingFormat::Json, false) => Report::Json,
            (FindingFormat::Sarif, false) => Report::Sarif(Box::new(SarifLog::new())),
            (FindingFormat::Github, false) => Report::Github,
            (FindingFormat::Junit, false) => Report::Junit(JunitReport::new()),
            (FindingFormat::Text, true) => Report::Marks(0),
            (FindingFormat::Json, true) => Report::MarksJson,
            (FindingFormat::Csv, true) => Report::MarksCsv,
            (FindingFormat::Csv, false)
            | (FindingFormat::Sarif | FindingFormat::Github | FindingFormat::Junit, true) => return None,
        })
    }

    fn begin(&self, out: &mut dyn Write) -> io::Result<()> {
        match self {
            Report::MarksCsv => writeln!(out, "{}", marks::HEADER),
            _ => Ok(()),
        }
    }

    fn add(&mut self, out: &mut dyn Write, project: &Project, checked: &Checked) -> io::Result<()> {
        let (findings, files) = (&checked.diagnostics, &project.files);
        match self {
            Report::Text => write_text(out, project, checked)?,
            Report::Marks(written) => {
                if *written > 0 {
                    writeln!(out)?;
                }
                *written += 1;
                let sheet = MarkSheet::of(checked, files);
                out.write_all(marks::render_marks(&sheet, style_of_stdout()).as_bytes())?;
            }
            Report::MarksCsv => marks::write_marks_csv(out, &MarkSheet::of(checked, files))?,
            Report::MarksJson => {
                write_json(out, project, checked)?;
                writeln!(out, "{}", marks::render_marks_json(&MarkSheet::of(checked, files)))?;
            }
            Report::Json => {
                write_json(out, project, checked)?;
                writeln!(out, "{}", render_closing_json(files.name(FileId(0)), &Closing::of(checked)))?;
            }
            Report::Sarif(log) => log.add(findings, files, &Closing::of(checked)),
            Report::Github => {
                for diagnostic in findings {
                    writeln!(out, "{}", render_github_line(diagnostic, files))?;
                }
                writeln!(out, "{}", render_github_closing(files.name(FileId(0)), &Closing::of(checked)))?;
            }
            Report::Junit(report) => report.add(project, checked),
        }
        Ok(())
    }

    /// Takes in that a file could not be read; standard error has said so.
    fn add_failure(&mut self, path: &Path, message: &str) {
        match self {
            Report::Sarif(log) => log.add_failure(message),
            Report::Junit(report) => report.add_failure(&path.to_string_lossy(), message),
            _ => {}
        }
    }

    fn finish(&self, out: &mut dyn Write) -> io::Result<()> {
        match self {
            Report::Sarif(log) => out.write_all(log.render().as_bytes()),
            Report::Junit(report) => out.write_all(report.render().as_bytes()),
            _ => Ok(()),
        }
    }
}

fn write_text(out: &mut dyn Write, project: &Project, checked: &Checked) -> io::Result<()> {
    let shown = checked.diagnostics.get(..MOST_SHOWN).unwrap_or(&checked.diagnostics);
    out.write_all(render_human(shown, &project.files, style_of_stdout()).as_bytes())?;
    let rest = checked.diagnostics.len() - shown.len();
    if rest > 0 {
        writeln!(
            out,
            "{rest} more are not shown: mend those above and check again, or list all with `--format json`\n"
        )?;
    }
    out.write_all(render_end(checked, &project.files).as_bytes())
}

fn write_json(out: &mut dyn Write, project: &Project, checked: &Checked) -> io::Result<()> {
    for diagnostic in &checked.diagnostics {
        writeln!(out, "{}", render_json_line(diagnostic, &project.files))?;
    }
    Ok(())
}
