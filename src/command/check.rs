//! `check`: findings to standard output, or corrections to the files.

use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use crate::base::FileId;
use crate::check::Checked;
use crate::check::closing::{Closing, FindingCounts};
use crate::check::words::plural;
use crate::present::diagnostics::{
    Failure, JunitReport, SarifLog, Undone, render_closing_json, render_end, render_github_closing, render_github_line,
    render_human, render_json_line,
};
use crate::present::marks::{self, MarkSheet};
use crate::structure::Project;

use super::arguments::{CheckArguments, FindingFormat};
use super::fix::{self, Diffs};
use super::read::{self, Reader};
use super::standard::{Standard, nobody_reads};
use super::{Exit, Outcome, complain, found, style_of_stdout, unfit_setting};

/// Findings shown in full; more would not be read.
const MOST_SHOWN: usize = 100;

pub fn run(arguments: &CheckArguments) -> Outcome {
    let mut report = Report::of(arguments).ok_or_else(|| match arguments.claims {
        true => "a mark sheet is text, json or csv".to_owned(),
        false => "`--format csv` needs `--claims`".to_owned(),
    })?;
    let reader = Reader::default();
    let mut out = BufWriter::new(Standard::Output);
    report.begin(&mut out)?;
    let mut diffs = Diffs::default();
    let mut exit = Exit::Fine;
    let mut total = Total::default();
    let (files, refused) = reader.chosen(&arguments.files);
    for (file, message) in refused {
        complain(&message);
        exit = Exit::CouldNotRun;
        let file = file.to_string_lossy().into_owned();
        report.add_failure(&mut out, &Failure { file, undone: Undone::Reading, message })?;
    }
    for path in files.iter().map(PathBuf::as_path) {
        // Corrections are made even if the output is no longer read.
        if nobody_reads() && !arguments.fix {
            break;
        }
        let mut failures = Vec::new();
        let judged = judge(&mut out, arguments, &reader, path, &mut diffs, &mut failures)?;
        for (undone, message) in failures {
            complain(&message);
            exit = exit.max(Exit::CouldNotRun);
            let file = path.to_string_lossy().into_owned();
            report.add_failure(&mut out, &Failure { file, undone, message })?;
        }
        total.add(judged.as_ref().map(|(_, checked)| checked));
        let Some((project, checked)) = judged else { continue };
        exit = exit.max(found(&checked));
        // Of corrections that go to standard output nothing else may.
        if !arguments.fix || !(arguments.dry_run || path == Path::new(read::STANDARD)) {
            report.add(&mut out, &project, &checked)?;
        }
    }
    if !diffs.is_empty() {
        exit = exit.max(Exit::Errors);
        diffs.write(&mut out)?;
    }
    if let (Report::Text(Detail::All), false) = (&report, arguments.dry_run) {
        total.write(&mut out)?;
    }
    report.finish(&mut out)?;
    out.flush()?;
    Ok(exit)
}

/// What was found in several files together.
#[derive(Debug, Default)]
struct Total {
    files: usize,
    unread: usize,
    with_errors: usize,
    errors: usize,
    warnings: usize,
}

impl Total {
    fn add(&mut self, checked: Option<&Checked>) {
        self.files += 1;
        let Some(checked) = checked else {
            self.unread += 1;
            return;
        };
        let found = FindingCounts::of(&checked.diagnostics);
        self.errors += found.errors;
        self.with_errors += usize::from(found.errors > 0);
        self.warnings += found.warnings;
    }

    /// `12 files: 3 errors in 2 of them, 1 warning; 1 could not be read`
    fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.files < 2 {
            return Ok(());
        }
        let errors = match self.errors {
            0 => "no error".to_owned(),
            errors => format!("{} in {} of them", plural(errors, "error"), self.with_errors),
        };
        let warnings =
            if self.warnings > 0 { format!(", {}", plural(self.warnings, "warning")) } else { String::new() };
        let unread = if self.unread > 0 { format!("; {} could not be read", self.unread) } else { String::new() };
        writeln!(out, "\n{} files: {errors}{warnings}{unread}", self.files)
    }
}

/// A project as it is after its corrections, where those are asked for and can
/// be written, else as it is on disk; nothing where it cannot be read.
fn judge(
    out: &mut dyn Write,
    arguments: &CheckArguments,
    reader: &Reader,
    path: &Path,
    diffs: &mut Diffs,
    failures: &mut Vec<(Undone, String)>,
) -> io::Result<Option<(Project, Checked)>> {
    let read = |failures: &mut Vec<_>| {
        let project = reader.project(path);
        project.map_err(|message| failures.push((Undone::Reading, message))).ok()
    };
    let Some(mut project) = read(failures) else { return Ok(None) };
    if arguments.fix {
        match fix::run(out, arguments, reader, path, project, diffs)? {
            Ok(corrected) => return Ok(Some((corrected.project, corrected.checked))),
            Err(message) => failures.push((Undone::Correcting, message)),
        }
        project = match read(failures) {
            Some(project) => project,
            None => return Ok(None),
        };
    }
    project.set(&arguments.set);
    let checked = crate::check::check_with(&project, &arguments.lints.switches());
    if let Some(message) = unfit_setting(&project, &checked) {
        failures.push((Undone::Reading, message));
        return Ok(None);
    }
    Ok(Some((project, checked)))
}

/// How much a page for people says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Detail {
    All,
    /// Findings only.
    Findings,
}

/// What is printed of the findings or the claims: file by file, or at the end
/// of the run.
enum Report {
    Text(Detail),
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
            (FindingFormat::Text, false) => Report::Text(if arguments.quiet { Detail::Findings } else { Detail::All }),
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
            Report::Text(told) => write_text(out, project, checked, *told)?,
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

    /// Takes in that something could not be done with a file; standard error
    /// has said so.
    fn add_failure(&mut self, out: &mut dyn Write, failure: &Failure) -> io::Result<()> {
        match self {
            Report::Text(_) | Report::Marks(_) => Ok(()),
            Report::Json | Report::MarksJson => writeln!(out, "{}", failure.json_line()),
            Report::Github => writeln!(out, "{}", failure.github_line()),
            Report::MarksCsv => marks::csv::write_failure(out, &failure.file, &failure.message),
            Report::Sarif(log) => {
                log.add_failure(failure);
                Ok(())
            }
            Report::Junit(report) => {
                report.add_failure(failure);
                Ok(())
            }
        }
    }

    fn finish(self, out: &mut dyn Write) -> io::Result<()> {
        match self {
            Report::Sarif(log) => out.write_all(log.render().as_bytes()),
            Report::Junit(report) => out.write_all(report.render().as_bytes()),
            _ => Ok(()),
        }
    }
}

fn write_text(out: &mut dyn Write, project: &Project, checked: &Checked, detail: Detail) -> io::Result<()> {
    let shown = checked.diagnostics.get(..MOST_SHOWN).unwrap_or(&checked.diagnostics);
    out.write_all(render_human(shown, &project.files, style_of_stdout()).as_bytes())?;
    let rest = checked.diagnostics.len() - shown.len();
    if rest > 0 {
        writeln!(
            out,
            "{rest} more are not shown: correct those above and check again, or list all with `--format json`\n"
        )?;
    }
    match detail {
        Detail::All => out.write_all(render_end(checked, &project.files).as_bytes()),
        Detail::Findings => Ok(()),
    }
}

fn write_json(out: &mut dyn Write, project: &Project, checked: &Checked) -> io::Result<()> {
    for diagnostic in &checked.diagnostics {
        writeln!(out, "{}", render_json_line(diagnostic, &project.files))?;
    }
    Ok(())
}
