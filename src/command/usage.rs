//! What is said where a command line is not run: help, the version, and what is
//! wrong with it.

use std::io::Write;

use clap::Error;
use clap::error::{ContextKind, ErrorKind};

use crate::base::visible;
use crate::present::diagnostics::Colour;

use super::standard::Standard;
use super::{Exit, Outcome, style_of_stderr, style_of_stdout};

/// Help and version to standard output, a fault to standard error.
pub fn tell(mut error: Error) -> Outcome {
    if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
        Standard::Output.write_all(words(&error, style_of_stdout().colour).as_bytes())?;
        return Ok(Exit::Fine);
    }
    if error.kind() == ErrorKind::UnknownArgument {
        // For a mistyped option the hint that it may be a file name does not help.
        error.remove(ContextKind::Suggested);
    }
    Standard::Errors.write_all(words(&error, style_of_stderr().colour).as_bytes())?;
    Ok(Exit::CouldNotRun)
}

/// The words as they are shown; arguments among them may hold anything.
fn words(error: &Error, colour: Colour) -> String {
    let plain = error.render().to_string();
    let is_clean = plain.chars().all(|c| c == '\n' || visible(c) == c);
    if colour == Colour::Ansi && is_clean {
        return error.render().ansi().to_string();
    }
    plain.chars().map(|c| if c == '\n' { c } else { visible(c) }).collect()
}
