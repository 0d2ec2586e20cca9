//! `explain`: what the manual has on a word, or the list of all it has.

use std::io::Write;

use crate::diagnostic::Slug;
use crate::diagnostic::catalogue::Family;
use crate::manual::{self, Kind, PAGES};
use crate::present::text::wrap;

use super::arguments::ExplainArguments;
use super::standard::Standard;
use super::{Exit, Outcome, hint};

/// How wide the list of words is.
const LIST_COLUMNS: usize = 96;

pub fn run(arguments: &ExplainArguments) -> Outcome {
    let mut out = Standard::Output;
    let Some(word) = &arguments.word else {
        write!(out, "{}", everything())?;
        return Ok(Exit::Fine);
    };
    let pages = manual::about(word);
    if pages.is_empty() {
        let all = "`kingpost explain` lists all there is";
        return Err(format!("the manual has nothing on {word}; {}", hint(word, manual::known(), all)).into());
    }
    writeln!(out, "{}", pages.join("\n\n"))?;
    Ok(Exit::Fine)
}

/// All that can be asked for, by kind.
fn everything() -> String {
    const KINDS: [(Kind, &str); 3] =
        [(Kind::Statement, "statements"), (Kind::Command, "commands"), (Kind::Topic, "topics")];
    const FAMILIES: [(Family, &str); 4] = [
        (Family::Reading, "messages on the text"),
        (Family::Meaning, "messages on names, dimensions and values"),
        (Family::Structure, "messages on the structure"),
        (Family::Results, "messages on forces and claims"),
    ];
    let pages = KINDS.map(|(kind, title)| {
        let pages = PAGES.iter().filter(move |page| page.kind == kind);
        (title, pages.map(|page| format!("{:<14}{}", page.word, page.summary())).collect())
    });
    let messages = FAMILIES.map(|(family, title)| {
        let mut slugs: Vec<Slug> = Slug::ALL.iter().copied().filter(|slug| slug.family() == family).collect();
        slugs.sort_by_key(|slug| slug.word());
        let line = |slug: Slug| format!("{:<24}{:<9}{}", slug.word(), slug.severity().word(), slug.summary());
        (title, slugs.into_iter().map(line).collect())
    });
    let words = manual::words().collect::<Vec<_>>().join(", ");
    let words = ("words", wrap(&words, LIST_COLUMNS));
    let mut text = "`kingpost explain WORD` prints what the manual has on one of these.\n".to_owned();
    for (title, lines) in pages.into_iter().chain([words]).chain(messages) {
        text += &format!("\n{title}\n");
        lines.iter().for_each(|line| text += &format!("  {line}\n"));
    }
    text
}
