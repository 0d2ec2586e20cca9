//! The commands: the only place that touches files and terminals.

mod arguments;
mod check;
mod explain;
mod read;
mod solve;

use std::ffi::OsString;
use std::io::{self, IsTerminal, Write};

use clap::Parser;
use clap::error::ErrorKind;

use crate::present::diagnostics::{Colour, Style};
use arguments::{Arguments, Command};

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

/// Runs one command line, the program's name first.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Exit {
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        Err(error) => {
            let asked = matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion);
            // Nothing is left to tell if even this cannot be printed.
            let _ = error.print();
            return if asked { Exit::Fine } else { Exit::CouldNotRun };
        }
    };
    let outcome = match parsed.command {
        Command::Check(arguments) => check::run(&arguments),
        Command::Solve(arguments) => solve::run(&arguments),
        Command::Explain(arguments) => explain::run(&arguments),
    };
    match outcome {
        Ok(exit) => exit,
        // Whoever read the output has had enough of it.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Exit::Fine,
        Err(error) => {
            complain(&format!("cannot write: {error}"));
            Exit::CouldNotRun
        }
    }
}

/// A line about the run itself, to standard error.
fn complain(message: &str) {
    // Nothing is left to tell if even this cannot be printed.
    let _ = writeln!(io::stderr(), "kingpost: {message}");
}

/// Colour on a terminal only, and never where `NO_COLOR` is set.
fn style_for(is_terminal: bool) -> Style {
    let refused = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let colour = if is_terminal && !refused { Colour::Ansi } else { Colour::Plain };
    let columns = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok()).unwrap_or(USUAL);
    Style { colour, width: columns.clamp(40, WIDEST) }
}

fn style_of_stdout() -> Style {
    style_for(io::stdout().is_terminal())
}

fn style_of_stderr() -> Style {
    style_for(io::stderr().is_terminal())
}
