//! `completions` and `manual`: what shells and `man` read about the program.

use std::io::Write;

use clap::CommandFactory;

use super::arguments::{Arguments, CompletionsArguments, ManualArguments};
use super::standard::Standard;
use super::{Exit, Outcome, hint};

pub fn completions(arguments: &CompletionsArguments) -> Outcome {
    // Written at once: the writer of completions knows no way to say that it failed.
    let mut text = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "kingpost", &mut text);
    Standard::Output.write_all(&text)?;
    Ok(Exit::Fine)
}

pub fn manual(arguments: &ManualArguments) -> Outcome {
    let mut program = Arguments::command();
    program.build();
    let page = match &arguments.command {
        None => program,
        Some(word) => program.find_subcommand(word).cloned().ok_or_else(|| {
            let known: Vec<&str> = program.get_subcommands().map(clap::Command::get_name).collect();
            let all = format!("there are {}", known.join(", "));
            format!("there is no command {word}; {}", hint(word, known.iter().copied(), &all))
        })?,
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page).render(&mut text)?;
    Standard::Output.write_all(&text)?;
    Ok(Exit::Fine)
}
