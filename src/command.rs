//! The commands: the only place that touches files and terminals.

mod arguments;
mod check;
mod derive;
mod draw;
mod explain;
mod fix;
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

use clap::Parser;

use crate::base::{memory, shown};
use crate::check::Checked;
use crate::present::diagnostics::{Colour, Style};
use crate::structure::Project;
use arguments::{Arguments, Command, FiguresArgument};
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

/// The widest text that is printed, and the width where none is known.
const WIDEST: usize = 110;
const USUAL: usize = 100;

/// What a file's name ends in, in small letters.
fn ending_of(path: &Path) -> Option<String> {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase())
}

/// The format a file to write is to have by its name; `printed` where there is
/// none. `endings` are those it may have, in words.
fn format_by_name<F>(
    output: Option<&Path>,
    printed: F,
    by_ending: impl Fn(&str) -> Option<F>,
    endings: &str,
) -> Result<F, String> {
    let Some(path) = output else { return Ok(printed) };
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
    ended(match parsed.command {
        Command::Check(arguments) => check::run(&arguments),
        Command::Solve(arguments) => solve::run(&arguments),
        Command::Derive(arguments) => derive::run(&arguments),
        Command::Report(arguments) => report::run(&arguments),
        Command::Draw(arguments) => draw::run(&arguments),
        Command::Explain(arguments) => explain::run(&arguments),
    })
}

/// What a run ends with, once all it said is where it goes.
fn ended(outcome: io::Result<Exit>) -> Exit {
    outcome.and_then(|exit| Standard::Output.flush().map(|()| exit)).unwrap_or_else(|error| {
        complain(&error.to_string());
        Exit::CouldNotRun
    })
}

/// Reads and checks each file and hands it on; the worst of what came of it is
/// what the run ends with. Once nobody reads what is said, no more is.
fn each_file(
    reader: &Reader,
    files: &[PathBuf],
    figures: &FiguresArgument,
    mut with: impl FnMut(&Project, &Checked) -> io::Result<Exit>,
) -> io::Result<Exit> {
    let mut exit = Exit::Fine;
    for path in read::each_once(files) {
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
        project.figures = figures.count.map(usize::from);
        let checked = crate::check::check(&project);
        exit = exit.max(found(&checked)).max(with(&project, &checked)?);
    }
    Ok(exit)
}

/// What a run ends with that found this.
fn found(checked: &Checked) -> Exit {
    if checked.has_errors() { Exit::Errors } else { Exit::Fine }
}

/// What a run ends with that did not make what was asked for: errors that have
/// been told stand in the way, or it cannot be made.
fn not_done(checked: &Checked) -> Exit {
    if checked.solution.is_none() && checked.has_errors() { Exit::Errors } else { Exit::CouldNotRun }
}

/// A line about the run itself, to standard error.
fn complain(message: &str) {
    // Nothing is left to tell if even this cannot be printed.
    let _ = writeln!(Standard::Errors, "kingpost: {}", shown(message));
}

/// Colour on a terminal only, and never where `NO_COLOR` is set to anything
/// (no-color.org).
fn style_for(is_terminal: bool, no_color: Option<OsString>, columns: Option<String>) -> Style {
    let refused = no_color.is_some_and(|value| !value.is_empty());
    let colour = if is_terminal && !refused { Colour::Ansi } else { Colour::Plain };
    let columns = columns.and_then(|columns| columns.parse().ok()).unwrap_or(USUAL);
    Style { colour, width: columns.clamp(40, WIDEST) }
}

/// Whether a terminal is to show colour.
fn colour_is_wanted() -> bool {
    style_for(true, std::env::var_os("NO_COLOR"), None).colour == Colour::Ansi
}

fn style_of(stream: &impl IsTerminal) -> Style {
    style_for(stream.is_terminal(), std::env::var_os("NO_COLOR"), std::env::var("COLUMNS").ok())
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
    fn colour_is_for_terminals_that_did_not_refuse_it() {
        let colour =
            |is_terminal, no_color: Option<&str>| style_for(is_terminal, no_color.map(Into::into), None).colour;
        assert_eq!(colour(true, None), Colour::Ansi);
        assert_eq!(colour(true, Some("")), Colour::Ansi);
        assert_eq!(colour(true, Some("1")), Colour::Plain);
        assert_eq!(colour(false, None), Colour::Plain);
    }

    #[test]
    fn lines_are_neither_too_short_nor_too_long() {
        let width = |columns: &str| style_for(true, None, Some(columns.to_owned())).width;
        assert_eq!([width("3"), width("72"), width("500"), width("wide")], [40, 72, WIDEST, USUAL]);
    }
}
