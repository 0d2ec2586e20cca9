//! Words for statements that cannot stand where they do: used files, file-wide
//! statements, loops, blocks, switches of lints.
//!
//! Must not know: how files are read.

use crate::base::{Origin, memory, nearest};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::format::MOST_FIGURES;
use crate::structure::fault::UseRefusal;
use crate::structure::lower::{MAX_STATEMENTS, MOST_SET};
use crate::structure::project::{MAX_FILES, MAX_TEXT};
use crate::syntax::tree::LintAction;

use super::names::not_whole;
use super::phrases::{Here, alternatives, quote};

pub fn use_refused(here: Here<'_>, path: &str, refusal: &UseRefusal) -> Diagnostic {
    let path = quote(path);
    let told = |message: String, label: &str| Diagnostic::new(Slug::UseRefused, message).label(here.at, label);
    match refusal {
        UseRefusal::Unreadable(reason) => told(format!("the file {path} cannot be read"), "cannot be read")
            .why(format!("Reading it gave: {}.", reason.trim_end_matches('.')))
            .help("check the name; a path starts at the folder of the file that holds the `use`"),
        UseRefusal::Outside => told(format!("the file {path} lies outside the structure's folder"), "outside")
            .why(
                "Used files stay in the folder of the file that is checked, or below it, so that a structure can be \
                 moved and shared as one folder.",
            )
            .help("move the file into that folder, or check the file from a folder above both"),
        UseRefusal::Absolute => told(format!("the path {path} is not relative"), "begins at the root of a disk")
            .why("Paths are relative, so that a structure means the same on every machine.")
            .help("give the path from the folder of this file, such as `loads/snow.kp`"),
        UseRefusal::TooMany => told(format!("the file {path} is one too many"), "not taken in")
            .why(format!("One structure takes in at most {MAX_FILES} files."))
            .help("put small files together"),
        UseRefusal::TooManySet => told(format!("{path} is taken in with too many values"), "not all are set")
            .why(format!("The files of one structure set at most {MOST_SET} lets together."))
            .help("state the values in the file itself"),
        UseRefusal::TooLarge => told(format!("the file {path} makes the text too large"), "not taken in")
            .why(format!("The files of one structure hold at most {} MiB together.", MAX_TEXT >> 20))
            .help("leave out what this structure does not need"),
    }
}

/// `use "base.kp" with P = 1 kN`, and another value of P.
pub fn set_twice(here: Here<'_>, name: &str, first: Origin) -> Diagnostic {
    let is_plain_use = here.of(first).text().starts_with("use");
    let told = Diagnostic::new(Slug::UseRefused, format!("`{name}` is given two values"))
        .label(here.at, "set here")
        .why("A file is taken in once, so each of its lets has one value.");
    match is_plain_use {
        true => told
            .label(first, format!("taken in here with its own value of `{name}`"))
            .help("set it in both, to the same value, or in neither"),
        false => told.label(first, "and here").help("keep one of the two"),
    }
}

pub fn duplicate_units(here: Here<'_>, first: Origin) -> Diagnostic {
    Diagnostic::new(Slug::DuplicateUnits, "the file's units are stated twice")
        .label(here.at, "stated again here")
        .label(first, "first stated here")
        .why("A bare number takes the file's unit, so a file has one set of units; a used file has its own.")
        .help("keep one of the two, and write the unit on each number that differs: `4 ft 6 in`")
}

pub fn duplicate_title(here: Here<'_>, first: Origin) -> Diagnostic {
    Diagnostic::new(Slug::DuplicateTitle, "the structure has two titles")
        .label(here.at, "the second title")
        .label(first, "the first title")
        .why("The title heads every page of results, and a page has one.")
        .help("keep one; a remark can stand in a `//` comment or a `///` note")
}

pub fn moments_clash(here: Here<'_>, first: Origin) -> Diagnostic {
    let (second, first_text) = (here.quote(), here.of(first).quote());
    Diagnostic::new(Slug::MomentsClash, format!("{second} contradicts {first_text}"))
        .label(here.at, "the other sense here")
        .label(first, "the first choice")
        .why("`moments` says which turning sense is positive where none is written, on the pages as in the file; a file has one.")
        .help("keep one of the two; without either, counterclockwise is positive")
}

pub fn figures_clash(here: Here<'_>, first: Origin) -> Diagnostic {
    let (second, first_text) = (here.quote(), here.of(first).quote());
    Diagnostic::new(Slug::FiguresClash, format!("{second} contradicts {first_text}"))
        .label(here.at, "the other count here")
        .label(first, "the first choice")
        .why("`figures` says to how many significant figures pages print results; one structure has one such count.")
        .help("keep one of the two; without either, three figures are printed, four where the first is 1")
}

pub fn figures_out_of_range(here: Here<'_>, value: f64) -> Diagnostic {
    let (message, label) = if value.fract() == 0.0 {
        let message = format!("pages print 1 to {MOST_FIGURES} figures, not {}", here.quote());
        (message, format!("outside 1 to {MOST_FIGURES}"))
    } else {
        not_whole(&here.quote(), "a count of figures", Some(value))
    };
    Diagnostic::new(Slug::FiguresOutOfRange, message)
        .label(here.at, label)
        .why("A double holds some 15 figures, and a result in them means fewer; half a figure means nothing.")
        .help("write `figures 3` or `figures 4`, as textbooks do")
}

pub fn bound_not_whole(here: Here<'_>, value: Option<f64>) -> Diagnostic {
    let (message, label) = not_whole(&here.quote(), "a loop's bound or step", value);
    Diagnostic::new(Slug::LoopBoundNotWhole, message)
        .label(here.at, label)
        .why("A loop counts whole numbers from its first bound to its last, both included.")
        .help("count panels, and work out lengths from the count: `let panels = 6`, `for i from 0 to panels { … }`")
}

pub fn step_zero(here: Here<'_>) -> Diagnostic {
    Diagnostic::new(Slug::LoopStepZero, "a loop with a step of 0 never ends")
        .label(here.at, if here.text() == "0" { "a step of 0".to_owned() } else { format!("{} is 0", here.quote()) })
        .why("After each turn the variable grows by the step; with a step of 0 it stays where it is.")
        .help("leave `by` out for a step of 1, or give another whole number; a negative one counts down")
}

pub fn too_many_statements(here: Here<'_>, limit: usize) -> Diagnostic {
    let (millions, tenths) = (limit / 1_000_000, limit % 1_000_000 / 100_000);
    let most = if limit < MAX_STATEMENTS { limit.to_string() } else { format!("{millions}.{tenths} million") };
    let found = Diagnostic::new(Slug::TooManyStatements, format!("the file unrolls into more than {most} statements"))
        .label(here.keyword(), "the limit is passed here")
        .why(format!("Every turn of a loop counts its statements anew; a structure may have {most} of them in all."));
    let found = if limit < MAX_STATEMENTS {
        let budget = memory::in_words(memory::budget());
        found.why(format!("That is what a budget of memory of {budget} has room for; the option `--memory` states it."))
    } else {
        found
    };
    found.help("check the bounds of the loop")
}

pub fn not_in_case(here: Here<'_>, keyword: &str) -> Diagnostic {
    Diagnostic::new(Slug::NotInCase, format!("`{keyword}` does not belong in a case"))
        .label(here.keyword(), "inside a `case` block")
        .why(
            "A case holds what acts together: loads, couples, settlements, heat, misfits and own weight, with lets, \
             loops and claims about them. The structure itself is the same in every case.",
        )
        .help(format!("move this `{keyword}` out of the case"))
}

pub fn not_in_block(here: Here<'_>, keyword: &str) -> Diagnostic {
    Diagnostic::new(Slug::NotInBlock, format!("`{keyword}` does not belong in a block"))
        .label(here.keyword(), "inside a `case` or `for` block")
        .why(format!("`{keyword}` holds for the whole file, so it stands outside every block."))
        .help(format!("move this `{keyword}` to the head of the file"))
}

pub fn unknown_slug(here: Here<'_>, slug: &str) -> Diagnostic {
    let closed: String = slug.split_whitespace().collect();
    if closed != slug && Slug::from_word(&closed).is_some() {
        return Diagnostic::new(Slug::UnknownSlug, format!("the slug `{closed}` has no blanks in it"))
            .label(here.at, "written with blanks")
            .why("A slug is one word: the word that every message is marked with.")
            .help(format!("write `{closed}`"))
            .edit(here.at, closed);
    }
    let near = nearest(slug, Slug::ALL.iter().map(|slug| slug.word()));
    let told = Diagnostic::new(Slug::UnknownSlug, format!("there is no finding named {}", quote(slug)))
        .why("`allow` and `deny` switch a finding by its slug: the word that every message is marked with.");
    match near.as_slice() {
        [] => told.label(here.at, "no such slug").help("copy the slug from the message that is to be switched"),
        [only] => told
            .label(here.at, format!("did you mean `{only}`?"))
            .help(format!("write `{only}`"))
            .edit(here.at, (*only).to_owned()),
        several => {
            told.label(here.at, "no such slug").help(format!("{} may be meant", alternatives(several.iter().copied())))
        }
    }
}

pub fn not_switchable(here: Here<'_>, slug: Slug, action: LintAction) -> Diagnostic {
    let word = slug.word();
    let (message, label) = match action {
        LintAction::Allow => (format!("`{word}` is an error and cannot be allowed"), "stays an error"),
        LintAction::Deny => (format!("`{word}` is an error already"), "nothing to deny"),
    };
    let help = match action {
        LintAction::Allow => {
            "take this line out and mend what the message is about; a fault that is meant can be claimed, as with \
             `expect unstable`"
        }
        LintAction::Deny => "take this line out",
    };
    Diagnostic::new(Slug::NotSwitchable, message)
        .label(here.at, label)
        .why("`allow` and `deny` switch warnings and remarks. An error leaves no answer that could be used.")
        .help(help)
}
