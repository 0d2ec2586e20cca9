//! `explain`: one page, or the list of all.

use std::io::Write;

use crate::diagnostic::Slug;

use super::arguments::ExplainArguments;
use super::standard::Standard;
use super::{Exit, Outcome, hint};

pub fn run(arguments: &ExplainArguments) -> Outcome {
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
    let slug = Slug::from_word(word).ok_or_else(|| {
        let known = Slug::ALL.iter().map(|slug| slug.word());
        format!("there is no finding called {word}; {}", hint(word, known, "`kingpost explain` lists all slugs"))
    })?;
    writeln!(out, "{}", slug.page().trim_end())?;
    Ok(Exit::Fine)
}
