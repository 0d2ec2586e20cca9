//! `solve`: results to standard output, findings to standard error.

use std::io::{self, BufWriter, Write};
use std::path::Path;

use crate::base::{FileId, similar};
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
use super::{Exit, chosen, complain, each_file, format_by_name, style_of_stderr};

pub fn run(arguments: &SolveArguments) -> io::Result<Exit> {
    let output = file_of(arguments.output.as_deref());
    let format = match format_of(arguments.format, output) {
        Ok(format) => format,
        Err(message) => {
            complain(&message);
            return Ok(Exit::CouldNotRun);
        }
    };
    let reader = Reader::default();
    let Some(path) = output else {
        let mut out = BufWriter::with_capacity(1 << 18, Standard::Output);
        let exit = solve_each(arguments, format, &reader, &mut out)?;
        out.flush()?;
        return Ok(exit);
    };
    let written = Pending::begin(path, &reader).and_then(|mut pending| {
        let exit = solve_each(arguments, format, &reader, &mut pending)?;
        // What could not be run leaves what was there before.
        if exit != Exit::CouldNotRun {
            pending.place()?;
        }
        Ok(exit)
    });
    Ok(match written {
        Ok(Exit::CouldNotRun) => Exit::CouldNotRun,
        Ok(exit) => {
            tell_written(path)?;
            exit
        }
        Err(error) => {
            complain(&refusal(path, &error));
            Exit::CouldNotRun
        }
    })
}

/// As asked for, else by the name of the file to write, else text.
fn format_of(asked: Option<ResultFormat>, output: Option<&Path>) -> Result<ResultFormat, String> {
    let by_ending = |ending: &str| match ending {
        "json" => Some(ResultFormat::Json),
        "csv" => Some(ResultFormat::Csv),
        "txt" => Some(ResultFormat::Text),
        _ => None,
    };
    asked.map_or_else(|| format_by_name(output, ResultFormat::Text, by_ending, ".txt, .json or .csv"), Ok)
}

fn solve_each(
    arguments: &SolveArguments,
    format: ResultFormat,
    reader: &Reader,
    out: &mut dyn Write,
) -> io::Result<Exit> {
    let mut exit = Exit::Fine;
    let files = chosen(reader, &arguments.files, &mut exit);
    let several = files.len() > 1;
    let is_list = several && format == ResultFormat::Json;
    let mut written = 0_usize;
    if is_list {
        writeln!(out, "[")?;
    }
    let solved = each_file(reader, &files, &arguments.figures, |project, checked| {
        tell(project, checked)?;
        if let Some(message) = unknown_case(checked, &arguments.cases) {
            complain(&format!("{}: {message}", project.files.name(FileId(0))));
            return Ok(Exit::CouldNotRun);
        }
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
    let is_wanted = |name: &str| arguments.cases.is_empty() || arguments.cases.iter().any(|wanted| wanted == name);
    let travels: Vec<&TravelResult> = checked
        .solution
        .iter()
        .flat_map(|solution| &solution.travels)
        .filter(|result| is_wanted(structure.travel_name(result.travel)))
        .collect();
    let answer = Answer {
        file: project.files.name(FileId(0)),
        structure,
        verdict: checked.verdict.as_ref(),
        results: checked.solution.as_ref().map_or(&[], |solution| solution.results.as_slice()),
        travels: &travels,
    };
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

/// A case asked for that the file does not have.
pub(super) fn unknown_case(checked: &Checked, wanted: &[String]) -> Option<String> {
    let structure = &checked.structure;
    let cases = structure.cases.iter().map(|case| structure.names.get(case.name));
    let combos = structure.combos.iter().map(|combo| structure.names.get(combo.name));
    let travels = structure.travels.iter().map(|travel| structure.names.get(travel.name));
    let known: Vec<&str> = cases.chain(combos).chain(travels).collect();
    let missing = wanted.iter().find(|name| !known.contains(&name.as_str()))?;
    let near = similar(missing, known.iter().copied());
    let hint = near.map_or_else(|| format!("it has {}", known.join(", ")), |near| format!("did you mean {near}?"));
    Some(format!("there is no case, combination or travelling load {missing}; {hint}"))
}
