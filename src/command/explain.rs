//! `explain`: one page, or the list of all.

use std::io::{self, Write};

use crate::base::similar;
use crate::diagnostic::Slug;

use super::arguments::ExplainArguments;
use super::standard::Standard;
use super::{Exit, complain};

pub fn run(arguments: &ExplainArguments) -> io::Result<Exit> {
    let mut out = Standard::Output;
    let Some(word) = &arguments.slug else {
        let mut slugs: Vec<Slug> = Slug::ALL.to_vec();
        slugs.sort_by_key(|slug| slug.word());
        let width = slugs.iter().map(|slug| slug.word().len()).max().unwrap_or(0);
        for slug in slugs {
            writeln!(out, "{:<width$}  {:<7}  {}", slug.word(), slug.severity().word(), slug.summary())?;
        }
        return Ok(Exit::Fine);
    };
    match Slug::from_word(word) {
        Some(slug) => {
            writeln!(out, "{}", slug.page().trim_end())?;
            Ok(Exit::Fine)
        }
        None => {
            let near = similar(word, Slug::ALL.iter().map(|slug| slug.word()));
            let hint = near.map_or_else(
                || "`kingpost explain` lists all slugs".to_owned(),
                |near| format!("did you mean {near}?"),
            );
            complain(&format!("there is no finding called {word}; {hint}"));
            Ok(Exit::CouldNotRun)
        }
    }
}
