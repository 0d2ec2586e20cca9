//! Words for faults of travelling loads: spacings and paths.
//!
//! Must not know: what a train does.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};

use super::phrases::Source;

pub fn spacing_count(at: Origin, loads: usize, spacings: usize) -> Diagnostic {
    let (message, label) = match (loads, spacings) {
        (_, 0) => (
            format!("a train of {loads} loads needs the distance between them"),
            "how far apart are its loads?".to_owned(),
        ),
        (1, _) => ("a single load has no spacing".to_owned(), "there is nothing to be spaced from".to_owned()),
        (loads, found) => (
            format!("{loads} loads have {} spaces between them, not {found}", loads - 1),
            format!("{found} spacings are given"),
        ),
    };
    let told = Diagnostic::new(Slug::TrainSpacing, message)
        .label(at, label)
        .why("Spacings stand between neighbouring loads, the leading load first; one alone is taken for all of them.");
    match loads {
        1 => told.help("leave `spaced …` out, or name the other loads"),
        2 => told.help("give one spacing: `40 kN, 60 kN spaced 3 m`"),
        more => told.help(format!("give one spacing for all, or {}: `spaced 3 m, 4.5 m`", more - 1)),
    }
}

pub fn spacing_negative(source: Source<'_>, at: Origin) -> Diagnostic {
    Diagnostic::new(Slug::TrainSpacing, format!("the spacing {} is less than nothing", source.quote(at)))
        .label(at, "a distance, 0 or more")
        .why("Loads are named in their order, the leading one first, so each follows the one before at some distance.")
        .help("name the loads in the order in which they pass")
}

pub fn path_doubles_back(at: Origin, member: &str) -> Diagnostic {
    Diagnostic::new(Slug::PathDoublesBack, format!("the train would pass {member} twice"))
        .label(at, format!("goes along {member} more than once"))
        .why("A train always runs both ways, so its path is stated once, from one end to the other.")
        .help("name each member of the path once")
}
