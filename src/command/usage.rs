//! What is said where a command line is not run: help, the version, and what is
//! wrong with it.

use std::io::{self, IsTerminal, Write};

use clap::Error;
use clap::error::{ContextKind, ErrorKind};

use crate::base::visible;

use super::Exit;
use super::standard::Standard;

/// Help and version to standard output, a fault to standard error.
pub fn tell(mut error: Error) -> io::Result<Exit> {
    if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
        Standard::Output.write_all(words(&error, io::stdout().is_terminal()).as_bytes())?;
        return Ok(Exit::Fine);
    }
    if error.kind() == ErrorKind::UnknownArgument {
        // That an unknown option may be a file's name helps nobody who mistyped one.
        error.remove(ContextKind::Suggested);
    }
    Standard::Errors.write_all(words(&error, io::stderr().is_terminal()).as_bytes())?;
    Ok(Exit::CouldNotRun)
}

/// The words as they are shown; arguments among them may hold anything.
fn words(error: &Error, is_terminal: bool) -> String {
    let plain = error.render().to_string();
    let is_clean = plain.chars().all(|c| c == '\n' || visible(c) == c);
    if is_terminal && is_clean && super::colour_is_wanted() {
        return error.render().ansi().to_string();
    }
    plain.chars().map(|c| if c == '\n' { c } else { visible(c) }).collect()
}
