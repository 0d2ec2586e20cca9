//! `solve`: results to standard output, findings to standard error.

use std::io::{self, BufWriter, Write};

use crate::base::FileId;
use crate::check::Checked;
use crate::diagnostic::{Diagnostic, Severity};
use crate::present::diagnostics::{render_human, render_summary};
use crate::present::results::{Answer, Rows, subject_name, write_csv, write_json, write_text};
use crate::statics::{CaseResult, TravelResult};
use crate::structure::Project;

use super::arguments::{ResultFormat, SolveArguments};
use super::read::Reader;
use super::save::{Pending, file_of, refusal, tell_written};
use super::standard::Standard;
use super::{Exit, Outcome, Stop, chosen, each_file, format_of, hint, is_wanted, style_of_stderr};

pub fn run(arguments: &SolveArguments) -> Outcome {
    let output = file_of(arguments.output.as_deref());
    let by_ending = |ending: &str| match ending {
        "json" => Some(ResultFormat::Json),
        "csv" => Some(ResultFormat::Csv),
        "txt" => Some(ResultFormat::Text),
        _ => None,
    };
    let format = format_of(arguments.format, output, ResultFormat::Text, by_ending, ".txt, .json or .csv")?;
    let reader = Reader::default();
    let Some(path) = output else {
        let mut out = BufWriter::with_capacity(1 << 18, Standard::Output);
        let exit = solve_each(arguments, format, &reader, &mut out)?;
        out.flush()?;
        return Ok(exit);
    };
    let failed = |error: io::Error| Stop::Refused(refusal(path, &error));
    let mut pending = Pending::begin(path, &reader).map_err(failed)?;
    let exit = solve_each(arguments, format, &reader, &mut pending).map_err(|stop| match stop {
        Stop::Failed(error) => failed(error),
        stop => stop,
    })?;
    // What could not be run leaves what was there before.
    if exit != Exit::CouldNotRun {
        pending.place().map_err(failed)?;
        tell_written(path)?;
    }
    Ok(exit)
}

fn solve_each(arguments: &SolveArguments, format: ResultFormat, reader: &Reader, out: &mut dyn Write) -> Outcome {
    let mut exit = Exit::Fine;
    let files = chosen(reader, &arguments.files, &mut exit);
    let several = files.len() > 1;
    let is_list = several && format == ResultFormat::Json;
    let mut written = 0_usize;
    if is_list {
        writeln!(out, "[")?;
    }
    let solved = each_file(reader, &files, &arguments.over, |project, checked| {
        tell(project, checked)?;
        known_cases(checked, &arguments.cases)?;
        match format {
            ResultFormat::Text if written > 0 => writeln!(out)?,
            ResultFormat::Json if written > 0 => writeln!(out, ",")?,
            _ => {}
        }
        let rows = match (several, written) {
            (false, _) => Rows::Alone,
            (true, 0) => Rows::First,
            (true, _) => Rows::Later,
        };
        write(out, arguments, format, rows, project, checked)?;
        written += 1;
        Ok(Exit::Fine)
    })?;
    if is_list {
        writeln!(out, "]")?;
    }
    Ok(exit.max(solved))
}

/// Errors and warnings; what is merely worth knowing is for `check`.
pub(super) fn tell(project: &Project, checked: &Checked) -> io::Result<()> {
    let told: Vec<Diagnostic> =
        checked.diagnostics.iter().filter(|found| found.severity != Severity::Information).cloned().collect();
    if told.is_empty() {
        return Ok(());
    }
    let page = render_human(&told, &project.files, style_of_stderr());
    let summary = render_summary(&told, &project.files);
    Standard::Errors.write_all(format!("{page}{}\n\n", summary.trim_end()).as_bytes())
}

fn write(
    out: &mut dyn Write,
    arguments: &SolveArguments,
    format: ResultFormat,
    rows: Rows,
    project: &Project,
    checked: &Checked,
) -> io::Result<()> {
    let structure = &checked.structure;
    let is_wanted = |name: &str| is_wanted(&arguments.cases, name);
    let travels: Vec<&TravelResult> = checked
        .solution
        .iter()
        .flat_map(|solution| &solution.travels)
        .filter(|result| is_wanted(structure.travel_name(result.travel)))
        .collect();
    let answer = Answer::of(project.files.name(FileId(0)), checked, &travels);
    let only = |result: &CaseResult| is_wanted(subject_name(structure, result.subject));
    match format {
        ResultFormat::Text if structure.joints.is_empty() => Ok(()),
        ResultFormat::Text => {
            write_text(out, &answer, &only)?;
            if checked.solution.is_none() {
                let why = if checked.has_errors() { "the errors come first" } else { "the structure is unstable" };
                writeln!(out, "\nNot solved: {why}.")?;
            }
            Ok(())
        }
        ResultFormat::Json => write_json(out, &answer, &only),
        ResultFormat::Csv => write_csv(out, &answer, &only, rows),
    }
}

/// Refuses a case asked for that the file does not have.
pub(super) fn known_cases(checked: &Checked, wanted: &[String]) -> Result<(), String> {
    let structure = &checked.structure;
    let cases = structure.cases.iter().map(|case| structure.names.get(case.name));
    let combinations = structure.combinations.iter().map(|combination| structure.names.get(combination.name));
    let travels = structure.travels.iter().map(|travel| structure.names.get(travel.name));
    let known: Vec<&str> = cases.chain(combinations).chain(travels).collect();
    let Some(missing) = wanted.iter().find(|name| !known.contains(&name.as_str())) else { return Ok(()) };
    let hint = hint(missing, known.iter().copied(), &format!("it has {}", known.join(", ")));
    Err(format!("there is no case, combination or travelling load {missing}; {hint}"))
}
