//! `completions` and `manual`: what shells and `man` read about the program.

use std::io::{self, Write};

use clap::CommandFactory;

use crate::base::similar;

use super::arguments::{Arguments, CompletionsArguments, ManualArguments};
use super::standard::Standard;
use super::{Exit, complain};

pub fn completions(arguments: &CompletionsArguments) -> io::Result<Exit> {
    // Written at once: the writer of completions knows no way to say that it failed.
    let mut text = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "kingpost", &mut text);
    Standard::Output.write_all(&text)?;
    Ok(Exit::Fine)
}

pub fn manual(arguments: &ManualArguments) -> io::Result<Exit> {
    let mut program = Arguments::command();
    program.build();
    let page = match &arguments.command {
        None => clap_mangen::Man::new(program),
        Some(word) => match program.find_subcommand(word) {
            Some(command) => clap_mangen::Man::new(command.clone()),
            None => {
                let known: Vec<&str> = program.get_subcommands().map(clap::Command::get_name).collect();
                let hint = similar(word, known.iter().copied());
                let hint = hint
                    .map_or_else(|| format!("there are {}", known.join(", ")), |near| format!("did you mean {near}?"));
                complain(&format!("there is no command {word}; {hint}"));
                return Ok(Exit::CouldNotRun);
            }
        },
    };
    let mut text = Vec::new();
    page.render(&mut text)?;
    Standard::Output.write_all(&text)?;
    Ok(Exit::Fine)
}
