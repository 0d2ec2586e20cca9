//! The manual: a page for every statement, topic and kind of message, and what
//! each word means. Pages are Markdown, and the only reference there is.
//!
//! Must not know: who asks, or how pages are printed.

use crate::diagnostic::Slug;

/// What a page is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Statement,
    Command,
    Topic,
}

/// A page on a statement, a command or a topic.
#[derive(Clone, Copy, Debug)]
pub struct Page {
    pub kind: Kind,
    pub word: &'static str,
    /// Its first line is `# WORD: SUMMARY`.
    pub text: &'static str,
}

impl Page {
    /// One line, as lists of pages show it.
    pub fn summary(&self) -> &'static str {
        let heading = self.text.lines().next().unwrap_or_default();
        heading.split_once(": ").map_or("", |(_, summary)| summary)
    }
}

macro_rules! pages {
    ($($kind:ident: $($word:literal)*;)*) => {
        /// Every page but those of messages, which the catalogue of slugs holds.
        pub const PAGES: &[Page] = &[$($(Page {
            kind: Kind::$kind,
            word: $word,
            text: include_str!(concat!("manual/", $word, ".md")),
        },)*)*];
    };
}

pages! {
    Statement:
        "title" "units" "moments" "figures" "let" "joint" "bar" "cable" "beam" "hinge" "pin" "fixed" "roller" "guide"
        "spring" "settle" "load" "moment" "heat" "misfit" "case" "weigh" "combination" "travel" "material" "section" "for"
        "use" "allow" "deny" "expect";
    Command: "check" "solve" "derive" "draw" "report" "commands";
    Topic:
        "notation" "statements" "directions" "expressions" "signs" "claims" "slips" "marking" "corrections" "formats" "limits"
        "sources" "licences" "words";
}

/// The texts that the page on licences promises.
const NOTICES: [&str; 2] = [include_str!("../LICENSE"), include_str!("present/figure/letters/OFL.txt")];

/// The pages a word may be about: what the word means, then its page, then the
/// page of the message of that name.
pub fn about(word: &str) -> Vec<&'static str> {
    let meaning = meanings().find(|(words, _)| words.split(", ").any(|own| own == word)).map(|(_, line)| line);
    let page = PAGES.iter().find(|page| page.word == word).map(|page| page.text);
    let message = Slug::from_word(word).map(Slug::page);
    let notices = NOTICES.into_iter().filter(|_| word == "licences");
    meaning.into_iter().chain(page).chain(message).chain(notices).map(str::trim_end).collect()
}

/// Every word that has a meaning, a page or a message.
pub fn known() -> impl Iterator<Item = &'static str> {
    let pages = PAGES.iter().map(|page| page.word);
    let slugs = Slug::ALL.iter().map(|slug| slug.word());
    pages.chain(words()).chain(slugs)
}

/// The words that the glossary explains, in its order.
pub fn words() -> impl Iterator<Item = &'static str> {
    meanings().flat_map(|(words, _)| words.split(", "))
}

/// The entries of the glossary: their words, and the whole of each.
fn meanings() -> impl Iterator<Item = (&'static str, &'static str)> {
    const GLOSSARY: &str = include_str!("manual/words.md");
    GLOSSARY.split("\n- ").skip(1).filter_map(|entry| {
        let entry = entry.split("\n\n").next()?;
        let (words, _) = entry.strip_prefix("**")?.split_once("**")?;
        Some((words, entry))
    })
}
