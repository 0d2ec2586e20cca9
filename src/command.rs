//! The commands: the only place that touches files and terminals.

mod arguments;
mod check;
mod derive;
mod draw;
mod explain;
mod fix;
mod manual;
mod read;
mod report;
mod save;
mod scratch;
mod solve;
mod standard;
mod usage;

use std::ffi::OsString;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use clap::Parser;

use crate::base::{FileId, memory, shown, similar};
use crate::check::Checked;
use crate::diagnostic::{Diagnostic, Severity};
use crate::present::diagnostics::{Colour, Style, render_human};
use crate::structure::Project;
use arguments::{Arguments, Command, OverFiles, When};
use read::Reader;
use standard::{Standard, nobody_reads};

/// What a run ends with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// No error.
    Fine = 0,
    /// Errors found, or a claim failed.
    Errors = 1,
    /// The command could not run: bad arguments, unreadable file.
    CouldNotRun = 2,
}

/// Why a run, or what it does with one file, ends early.
#[derive(Debug)]
enum Stop {
    /// What was asked for cannot be done; for the reader to put right.
    Refused(String),
    /// What is said could not be written.
    Failed(io::Error),
}

type Outcome = Result<Exit, Stop>;

impl From<String> for Stop {
    fn from(why: String) -> Stop {
        Stop::Refused(why)
    }
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Stop {
        Stop::Failed(error)
    }
}

/// The widest text that is printed, and the width where none is known.
const WIDEST: usize = 110;
const USUAL: usize = 100;

/// What a file's name ends in, in small letters.
fn ending_of(path: &Path) -> Option<String> {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase())
}

/// The format asked for, else that of the name of the file to write, else that
/// which is `printed`. `endings` are those a name may have, in words.
fn format_of<F>(
    asked: Option<F>,
    output: Option<&Path>,
    printed: F,
    by_ending: impl Fn(&str) -> Option<F>,
    endings: &str,
) -> Result<F, String> {
    let Some(path) = output.filter(|_| asked.is_none()) else { return Ok(asked.unwrap_or(printed)) };
    ending_of(path).and_then(|ending| by_ending(&ending)).ok_or_else(|| {
        format!("the name {} does not tell what to write: end it in {endings}, or give --format", path.display())
    })
}

/// Runs one command line, the program's name first.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Exit {
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        Err(error) => return ended(usage::tell(error)),
    };
    memory::set_budget(parsed.memory);
    // Set once: of several runs in one process the first decides.
    let _ = COLOUR.set(parsed.color);
    ended(match parsed.command {
        Command::Check(arguments) => check::run(&arguments),
        Command::Solve(arguments) => solve::run(&arguments),
        Command::Derive(arguments) => derive::run(&arguments),
        Command::Report(arguments) => report::run(&arguments),
        Command::Draw(arguments) => draw::run(&arguments),
        Command::Explain(arguments) => explain::run(&arguments),
        Command::Completions(arguments) => manual::completions(&arguments),
        Command::Manual(arguments) => manual::manual(&arguments),
    })
}

/// What a run ends with, once all it said is where it goes.
fn ended(outcome: Outcome) -> Exit {
    let why = match outcome.and_then(|exit| Ok(Standard::Output.flush().map(|()| exit)?)) {
        Ok(exit) => return exit,
        Err(Stop::Refused(why)) => why,
        Err(Stop::Failed(error)) => error.to_string(),
    };
    complain(&why);
    Exit::CouldNotRun
}

/// What a mistyped word may have been meant for, else `otherwise`.
fn hint<'a>(word: &str, known: impl Iterator<Item = &'a str>, otherwise: &str) -> String {
    similar(word, known).map_or_else(|| otherwise.to_owned(), |near| format!("did you mean {near}?"))
}

/// Whether a case is among those asked for, which are all where none is named.
fn is_wanted(named: &[String], case: &str) -> bool {
    named.is_empty() || named.iter().any(|name| name == case)
}

/// Reads, checks and passes on each file; the exit status is the worst of all.
/// It stops once the output is no longer read.
fn each_file(
    reader: &Reader,
    files: &[PathBuf],
    over: &OverFiles,
    mut with: impl FnMut(&Project, &Checked) -> Outcome,
) -> Outcome {
    let mut exit = Exit::Fine;
    for path in files {
        if nobody_reads() {
            break;
        }
        let mut project = match reader.project(path) {
            Ok(project) => project,
            Err(message) => {
                complain(&message);
                exit = exit.max(Exit::CouldNotRun);
                continue;
            }
        };
        project.figures = over.figures.map(usize::from);
        project.set(&over.set);
        let checked = crate::check::check(&project);
        if let Some(message) = unfit_setting(&project, &checked) {
            complain(&message);
            exit = exit.max(Exit::CouldNotRun);
            continue;
        }
        let done = with(&project, &checked).or_else(|stop| match stop {
            Stop::Refused(why) => {
                complain(&format!("{}: {why}", project.files.name(FileId(0))));
                Ok(Exit::CouldNotRun)
            }
            Stop::Failed(_) => Err(stop),
        })?;
        exit = exit.max(found(&checked)).max(done);
    }
    Ok(exit)
}

/// Why nothing is done with a file, where a `--set` cannot be used with it; what
/// is wrong is written to standard error, with its place in the argument.
fn unfit_setting(project: &Project, checked: &Checked) -> Option<String> {
    let is_of_it = |found: &&Diagnostic| found.place().is_some_and(|at| project.is_of_command_line(at.file));
    let errors = checked.diagnostics.iter().filter(|found| found.severity == Severity::Error);
    let found: Vec<Diagnostic> =
        errors.filter(is_of_it).map(|found| Diagnostic { edits: Vec::new(), ..found.clone() }).collect();
    if found.is_empty() {
        return None;
    }
    // If this cannot be printed either, there is nothing left to do.
    let _ = Standard::Errors.write_all(render_human(&found, &project.files, style_of_stderr()).as_bytes());
    Some(format!("{}: nothing is done, as `--set` cannot be used with it", project.files.name(FileId(0))))
}

/// The files that the arguments name; an argument that names none is reported.
fn chosen(reader: &Reader, files: &[PathBuf], exit: &mut Exit) -> Vec<PathBuf> {
    let (chosen, refused) = reader.chosen(files);
    for (_, message) in refused {
        complain(&message);
        *exit = Exit::CouldNotRun;
    }
    chosen
}

/// The exit status of these findings.
fn found(checked: &Checked) -> Exit {
    if checked.has_errors() { Exit::Errors } else { Exit::Fine }
}

/// The exit status where what was asked for was not made: because of errors
/// already reported, or because it cannot be made.
fn not_done(checked: &Checked) -> Exit {
    if checked.solution.is_none() && checked.has_errors() { Exit::Errors } else { Exit::CouldNotRun }
}

/// A line about the run itself, to standard error.
fn complain(message: &str) {
    // If this cannot be printed either, there is nothing left to do.
    let _ = writeln!(Standard::Errors, "kingpost: {}", shown(message));
}

/// What `--color` says; before it is read, nothing.
static COLOUR: OnceLock<When> = OnceLock::new();

/// What the environment says about colour and width.
#[derive(Clone, Debug, Default)]
struct Environment {
    no_color: Option<OsString>,
    clicolor_force: Option<OsString>,
    term: Option<OsString>,
    columns: Option<String>,
}

impl Environment {
    fn own() -> Environment {
        Environment {
            no_color: std::env::var_os("NO_COLOR"),
            clicolor_force: std::env::var_os("CLICOLOR_FORCE"),
            term: std::env::var_os("TERM"),
            columns: std::env::var("COLUMNS").ok(),
        }
    }
}

/// The option goes before the environment. There, `NO_COLOR` set to anything
/// (no-color.org) goes before `CLICOLOR_FORCE` set to anything but 0
/// (bixense.com/clicolors), and that before a terminal that is not dumb.
fn style_for(is_terminal: bool, when: When, environment: &Environment) -> Style {
    let is_set = |value: &Option<OsString>| value.as_ref().is_some_and(|value| !value.is_empty());
    let is_forced =
        is_set(&environment.clicolor_force) && environment.clicolor_force.as_ref().is_none_or(|value| value != "0");
    let is_dumb = environment.term.as_ref().is_some_and(|term| term == "dumb");
    let wanted = match when {
        When::Always => true,
        When::Never => false,
        When::Auto if is_set(&environment.no_color) => false,
        When::Auto => is_forced || (is_terminal && !is_dumb),
    };
    let columns = environment.columns.as_ref().and_then(|columns| columns.parse().ok()).unwrap_or(USUAL);
    Style { colour: if wanted { Colour::Ansi } else { Colour::Plain }, width: columns.clamp(40, WIDEST) }
}

fn style_of(stream: &impl IsTerminal) -> Style {
    style_for(stream.is_terminal(), COLOUR.get().copied().unwrap_or(When::Auto), &Environment::own())
}

fn style_of_stdout() -> Style {
    style_of(&io::stdout())
}

fn style_of_stderr() -> Style {
    style_of(&io::stderr())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_policy_for_colour() {
        let environment = |no_color: &str, force: &str, term: &str| Environment {
            no_color: Some(no_color.into()),
            clicolor_force: Some(force.into()),
            term: Some(term.into()),
            columns: None,
        };
        let is_coloured = |is_terminal, when, environment: &Environment| {
            style_for(is_terminal, when, environment).colour == Colour::Ansi
        };
        let plain = Environment::default();
        assert!(is_coloured(true, When::Auto, &plain) && !is_coloured(false, When::Auto, &plain));
        assert!(is_coloured(true, When::Auto, &environment("", "", "xterm")));
        assert!(!is_coloured(true, When::Auto, &environment("1", "1", "xterm")));
        assert!(is_coloured(false, When::Auto, &environment("", "1", "dumb")));
        assert!(!is_coloured(false, When::Auto, &environment("", "0", "xterm")));
        assert!(!is_coloured(true, When::Auto, &environment("", "0", "dumb")));
        assert!(is_coloured(false, When::Always, &environment("1", "0", "dumb")));
        assert!(!is_coloured(true, When::Never, &environment("", "1", "xterm")));
    }

    #[test]
    fn lines_are_neither_too_short_nor_too_long() {
        let width = |columns: &str| {
            let environment = Environment { columns: Some(columns.to_owned()), ..Environment::default() };
            style_for(true, When::Auto, &environment).width
        };
        assert_eq!([width("3"), width("72"), width("500"), width("wide")], [40, 72, WIDEST, USUAL]);
    }
}
