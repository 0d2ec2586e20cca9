//! Numbers without a unit in a file that states none: one slip, however many
//! numbers the file holds, with one cure.
//!
//! Must not know: how a diagnostic is shown.

use crate::base::FileId;
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::unit_system::is_customary;
use crate::quantity::{Dimension, parse_unit};
use crate::structure::fault::{Fault, FaultKind};
use crate::structure::{Project, lower};
use crate::syntax::tree::{ExprKind, Tree};

/// Larger files are not read again to see whether a cure holds.
const MOST_TEXT: usize = 1 << 20;

/// Offers a file's first bare number the line of units that gives each its own.
pub fn cure(diagnostics: &mut [Diagnostic], project: &Project) {
    for tree in &project.trees {
        let is_one = |found: &&mut Diagnostic| {
            found.slug == Slug::BareNumber && found.place().is_some_and(|at| at.file == tree.file)
        };
        let Some(told) = diagnostics.iter_mut().find(is_one) else { continue };
        let text = project.files.text(tree.file);
        let units = likely_units(tree, text);
        if text.len() <= MOST_TEXT && is_cured_by(project, tree.file, &units) {
            let other = if units.starts_with("ft") { "units m, kN" } else { "units ft, lbf" };
            if let Some(help) = told.help.first_mut() {
                *help = format!("state the file's units once, at its head: `units {units}`, or `{other}`");
            }
        }
    }
}

/// The units to offer: those the file writes somewhere, a length and a force.
fn likely_units(tree: &Tree, text: &str) -> String {
    let written = tree.exprs.iter().filter_map(|expr| match expr.kind {
        ExprKind::Number { unit: Some(unit), .. } => unit.text(text).split(['/', '*', '·']).next(),
        _ => None,
    });
    let (mut length, mut force) = (None, None);
    for word in written {
        match parse_unit(word).map(|unit| unit.dimension) {
            Ok(Dimension::LENGTH) => length = length.or(Some(word)),
            Ok(Dimension::FORCE) => force = force.or(Some(word)),
            _ => {}
        }
    }
    let customary = length.or(force).is_some_and(is_customary);
    let length = length.unwrap_or(if customary { "ft" } else { "m" });
    format!("{length}, {}", force.unwrap_or(if customary { "lbf" } else { "kN" }))
}

/// Whether the project with a line of units in one file has no bare number
/// left there.
fn is_cured_by(project: &Project, file: FileId, units: &str) -> bool {
    let text = project.files.text(file).trim_start_matches('\u{FEFF}');
    let text = format!("units {units}\n{text}");
    let tried = project.with_texts(std::iter::once((file, text)).collect());
    let after = lower(&tried);
    let is_bare = |fault: &Fault| matches!(fault.kind, FaultKind::BareNumber { .. }) && fault.at.file == file;
    after.more_faults == 0 && !after.faults.iter().any(is_bare)
}
