//! What the notation can state and this program does not solve yet: told once
//! each, never answered wrongly.
//!
//! Must not know: equilibrium.

use crate::diagnostic::{Diagnostic, Slug};
use crate::structure::Structure;

/// Moving loads are read and not solved; all else of the file is.
pub fn check_unsolved(structure: &Structure) -> Option<Diagnostic> {
    let first = structure.travels.iter().map(|travel| travel.origin).min()?;
    let more = match structure.travels.len() {
        1 => String::new(),
        many => format!(", and {} more", many - 1),
    };
    Some(
        Diagnostic::new(Slug::NotSolvedYet, "moving loads cannot be solved yet")
            .label(first, format!("stated here{more}"))
            .why(
                "The train of loads is read and its path checked; its extremes are not looked for. All else is solved.",
            )
            .help("state the position that matters as a `case` of its own"),
    )
}
