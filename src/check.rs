//! The checker: everything that is wrong with a project, in the words of the
//! trade, causes before effects; and, where nothing stands in the way, the
//! verdict and the forces.
//!
//! Must not know: files, terminals, how a diagnostic is shown.

pub mod bare;
mod certain;
pub mod claims;
pub mod closing;
pub mod correct;
pub mod cures;
pub mod doubts;
mod edited;
pub mod faults;
pub mod geometry;
pub mod lints;
pub mod loads;
pub mod motions;
pub mod outcome;
pub mod reading;
pub mod redundancy;
pub mod size;
pub mod slips;
pub mod stability;
pub mod trust;
pub mod words;

pub use lints::Switches;

use std::collections::hash_map::Entry;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::base::{FileId, Files, MemberId, Origin};
use crate::diagnostic::{Diagnostic, Family, Label, Severity, Slug};
use crate::numeric::NumericError;
use crate::statics::{self, Equilibrium, Solution, SolveError, Verdict, VerdictKind};
use crate::structure::lower::LayoutState;
use crate::structure::{ClaimKind, Lowered, Polarity, Project, Structure, lower};

use claims::Mark;
use slips::Explainer;

/// A project with all that was found about it.
#[derive(Debug)]
pub struct Checked {
    pub structure: Structure,
    pub diagnostics: Vec<Diagnostic>,
    /// Absent where the layout could not be built.
    pub verdict: Option<Verdict>,
    /// Absent where errors stand in the way of forces.
    pub solution: Option<Solution>,
    /// The claims that could be judged, in the structure's order.
    pub marks: Vec<Mark>,
    /// Faults beyond those that are listed one by one.
    pub untold: usize,
}

impl Checked {
    pub fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error)
    }
}

/// Checks a project and solves it where that makes sense.
pub fn check(project: &Project) -> Checked {
    check_with(project, &Switches::default())
}

/// Checks a project, with findings switched from outside its files.
pub fn check_with(project: &Project, switches: &Switches) -> Checked {
    let mut checked = check_as_written(project, switches);
    finish(&mut checked, project, switches);
    checked
}

/// Tries the cures, and tells once what is said alike of several places.
fn finish(checked: &mut Checked, project: &Project, switches: &Switches) {
    cures::grade(checked, project, switches);
    join_alike(checked);
    bare::cure(&mut checked.diagnostics, project);
}

/// The check with its cures found and none of them tried, every place told by itself.
fn check_as_written(project: &Project, switches: &Switches) -> Checked {
    let mut diagnostics: Vec<Diagnostic> = Vec::new();
    for (file, errors) in &project.errors {
        let text = project.files.text(*file);
        diagnostics.extend(errors.iter().map(|error| reading::explain(error, *file, text)));
    }
    let Lowered { structure, faults, more_faults, layout } = lower(project);
    diagnostics.extend(faults.iter().map(|fault| faults::diagnose(fault, &project.files)));
    if more_faults > 0 {
        diagnostics.push(
            Diagnostic::new(Slug::TooManyFindings, format!("{more_faults} more faults are not shown"))
                .help("correct those above and check again"),
        );
    }
    // As the reader meets them, whichever pass found them.
    diagnostics.sort_by_key(|found| (found.place().is_none(), found.place()));
    // A chain stated twice is one slip, whatever the number of its members.
    diagnostics.dedup_by(|later, first| {
        later.slug == Slug::DuplicateMember && !later.edits.is_empty() && later.edits == first.edits
    });
    let mut checked =
        Checked { structure, diagnostics, verdict: None, solution: None, marks: Vec::new(), untold: more_faults };
    match layout {
        LayoutState::Whole => checked.judge(project),
        LayoutState::Incomplete => checked.find_coincident(),
    }
    let mut findings = std::mem::take(&mut checked.diagnostics);
    drop_effects(&mut findings);
    let of_verdict = checked.structure.claims.iter().filter(|claim| !matches!(claim.kind, ClaimKind::Value(_)));
    let of_verdict: FxHashSet<Origin> = of_verdict.map(|claim| claim.origin).collect();
    let has_failed = findings.iter().any(|found| is_failed_claim(found.slug));
    findings.sort_by_cached_key(|found| rank(&checked.structure, has_failed, &of_verdict, found));
    certain::keep_certain(&mut findings, &project.files);
    checked.diagnostics = lints::switch(&checked.structure, switches, findings);
    checked
}

impl Checked {
    /// Geometry, verdict, loads, forces, claims: each step only where the one
    /// before leaves it a meaning.
    fn judge(&mut self, project: &Project) {
        if self.structure.members.is_empty() {
            // A file of loads or sections, to be used by others, states no members.
            if !self.has_errors() {
                self.diagnostics.push(empty(&self.structure));
            }
            return;
        }
        // What seems to be absent may stand in what could not be read.
        let all_read = !self.has_errors();
        let equilibrium = Equilibrium::of(&self.structure);
        let geometry = geometry::check_geometry(&self.structure, equilibrium.points());
        let coincide = geometry.iter().any(|found| found.slug == Slug::CoincidentJoints);
        let broken = geometry::has_members_of_no_length(&self.structure, equilibrium.points());
        self.diagnostics.extend(geometry);
        let lints = if all_read { lints::check_lints(&self.structure) } else { Vec::new() };
        if broken {
            self.diagnostics.extend(lints);
            return;
        }
        match statics::find_verdict(&self.structure, &equilibrium) {
            Ok(mut verdict) => {
                self.diagnostics.extend(trust::settle_by_doubles(&self.structure, &equilibrium, &mut verdict));
                self.verdict = Some(verdict);
            }
            Err(error) => self.diagnostics.push(trust::numeric(&self.structure, error)),
        }
        // Joints at one place are most likely one joint meant: what moves then is an effect of that.
        if !coincide {
            self.tell_verdict(&equilibrium, &project.files);
        }
        self.diagnostics.extend(size::check_size(&self.structure));
        if all_read {
            self.diagnostics.extend(lints::check_idle(&self.structure));
        }
        let loads = loads::check_loads(&self.structure);
        let is_absence = |slug| matches!(slug, Slug::NoLoads | Slug::EmptyCase | Slug::UnusedCase);
        self.diagnostics.extend(loads.into_iter().filter(|found| all_read || !is_absence(found.slug)));
        if !self.has_errors_outside_claims() {
            self.solve(&equilibrium);
        }
        self.diagnostics.extend(lints);
        for tree in &project.trees {
            self.diagnostics.extend(doubts::minus_and_sense(tree, project.files.text(tree.file)));
        }
        if all_read {
            // Beside errors only what may be their cause is worth a question.
            let has_errors = self.has_errors();
            let mut doubts = doubts::check_doubts(project, &self.structure, equilibrium.points());
            doubts.retain(|found| !has_errors || found.severity != Severity::Information);
            self.diagnostics.extend(doubts);
        }
    }

    /// What is wrong with joints can be told of those that have a place, and
    /// may be why the others have none.
    fn find_coincident(&mut self) {
        let is_placeless = |found: &Diagnostic| matches!(found.slug, Slug::ZeroDirection | Slug::PositionOutside);
        if self.diagnostics.iter().any(is_placeless) {
            let equilibrium = Equilibrium::of(&self.structure);
            self.diagnostics.extend(geometry::coincident_joints(&self.structure, equilibrium.points()));
        }
    }

    /// A claim that fails keeps no results back.
    fn has_errors_before_claims(&self) -> bool {
        self.diagnostics.iter().any(is_before_claims)
    }

    /// Nor does an error in one claim keep the others from being judged.
    fn has_errors_outside_claims(&self) -> bool {
        self.diagnostics.iter().any(|found| is_before_claims(found) && !is_in_claim(&self.structure, found))
    }

    fn tell_verdict(&mut self, equilibrium: &Equilibrium, files: &Files) {
        let Some(verdict) = &self.verdict else { return };
        if verdict.kind == VerdictKind::NotSettled {
            let marked = claims::check_verdict_claims(&self.structure, verdict);
            self.marks.extend(marked.marks);
            return;
        }
        let mut found = stability::check_stability(&self.structure, equilibrium.points(), verdict);
        let stiffness = statics::equations::missing_stiffness(&self.structure, equilibrium, verdict);
        found.extend(redundancy::check_redundancy(&self.structure, equilibrium, verdict, &stiffness));
        // A stiffness that could not be read is not missing.
        if self.has_faulty_section(&stiffness, files) {
            found.retain(|found| found.slug != Slug::Redundant);
        }
        // Beside joints that are in no member, and reported as that, the rest stands.
        if stiffness.is_empty() && verdict.mechanisms <= 2 * geometry::loose(&self.structure).len() {
            let redundant = found.iter_mut().filter(|found| found.slug == Slug::Redundant);
            redundant.for_each(|found| found.severity = Severity::Information);
        }
        // Claims on forces that only stiffness could give would pass unproved.
        let claims_wait = !stiffness.is_empty()
            && self.structure.claims.iter().any(|claim| matches!(claim.kind, ClaimKind::Value(_)));
        let is_claimed = |claim: &crate::structure::Claim| {
            claim.polarity == Polarity::Holds
                && match claim.kind {
                    ClaimKind::Unstable => verdict.kind == VerdictKind::Unstable,
                    ClaimKind::Indeterminate(_) => verdict.kind == VerdictKind::Indeterminate && !claims_wait,
                    _ => false,
                }
        };
        if self.structure.claims.iter().any(is_claimed) {
            // What the file itself states, and the check confirms, is no news.
            found.retain(|found| found.slug != Slug::Redundant || verdict.kind != VerdictKind::Indeterminate);
            found.iter_mut().for_each(|found| found.severity = Severity::Information);
        }
        let marked = claims::check_verdict_claims(&self.structure, verdict);
        found.extend(marked.found);
        self.diagnostics.extend(found);
        self.marks.extend(marked.marks);
    }

    /// Whether an error stands on the line of one of these members' sections,
    /// or of its material.
    fn has_faulty_section(&self, members: &[MemberId], files: &Files) -> bool {
        let line = |at: Origin| Some((at.file, files.get(at.file)?.line_of(at.span.start)));
        let faulty: FxHashSet<_> = self
            .diagnostics
            .iter()
            .filter(|found| found.severity == Severity::Error)
            .filter_map(|found| line(found.place()?))
            .collect();
        if faulty.is_empty() {
            return false;
        }
        let is_faulty = |at: Origin| line(at).is_some_and(|line| faulty.contains(&line));
        members.iter().any(|id| {
            self.structure.section_of(*id).is_some_and(|section| is_faulty(section.origin))
                || self.structure.material_of(*id).is_some_and(|material| is_faulty(material.origin))
        })
    }

    fn solve(&mut self, equilibrium: &Equilibrium) {
        let Some(verdict) = self.verdict.as_ref().filter(|verdict| verdict.kind.is_stable()) else {
            return;
        };
        match statics::solve(&self.structure, equilibrium, verdict) {
            Ok(solution) => {
                let mut explainer = Explainer::new(&self.structure, equilibrium, verdict, &solution);
                let marked = claims::check_claims(&self.structure, &solution, &mut explainer);
                self.marks.extend(marked.marks);
                self.marks.sort_by_key(|mark| mark.claim);
                // An error in a claim's own words leaves its file without results.
                let is_whole = !self.has_errors_before_claims();
                if is_whole {
                    self.diagnostics.extend(trust::check_trust(&self.structure, equilibrium.points(), &solution));
                    self.diagnostics.extend(loads::check_results(&self.structure, &solution));
                }
                self.diagnostics.extend(marked.found);
                if marked.more > 0 {
                    let more = format!("{} more claims fail and are not shown", marked.more);
                    let found = Diagnostic::new(Slug::TooManyFindings, more);
                    self.diagnostics.push(found.help("`kingpost check --claims` marks them all"));
                }
                if is_whole {
                    self.diagnostics.extend(lints::zero_force_members(&self.structure, &solution));
                    self.solution = Some(solution);
                }
            }
            // Stable beyond doubt, and singular to the last bit of a double.
            Err(SolveError::Numeric(NumericError::Singular)) => {
                let points = equilibrium.points();
                self.diagnostics.push(trust::too_sensitive(&self.structure, points, f64::INFINITY, None));
            }
            Err(SolveError::Numeric(error)) => self.diagnostics.push(trust::numeric(&self.structure, error)),
            Err(SolveError::StiffnessMissing { .. }) => {}
            Err(SolveError::RigidRedundancy) => self.diagnostics.push(trust::rigid_redundancy(&self.structure)),
            Err(SolveError::TooSensitive { condition, weakest }) => {
                let points = equilibrium.points();
                self.diagnostics.push(trust::too_sensitive(&self.structure, points, condition, weakest));
            }
        }
    }
}

/// Whether an error is in the words of a claim, and so costs that claim only.
pub fn is_in_claim(structure: &Structure, found: &Diagnostic) -> bool {
    found.place().is_some_and(|at| structure.unread_claim_at(at).is_some())
}

/// Places of one finding that get a label.
const MOST_PLACES: usize = 8;

/// What is said alike of several places of a file is one finding, with a label
/// and an edit for each.
fn join_alike(checked: &mut Checked) {
    let mut known: FxHashMap<(Slug, FileId, bool, String, Vec<String>), usize> = FxHashMap::default();
    let mut kept: Vec<(Diagnostic, Vec<Origin>)> = Vec::new();
    for mut found in std::mem::take(&mut checked.diagnostics) {
        let place = found.place().filter(|_| found.slug.family() <= Family::Meaning);
        let Some(place) = place else {
            kept.push((found, Vec::new()));
            continue;
        };
        let in_claim = is_in_claim(&checked.structure, &found);
        // Where the help differs from place to place, each keeps its own, unless corrections show it.
        let is_help_alike = !found.edits.is_empty() || found.slug == Slug::VectorParts;
        let help = if is_help_alike { Vec::new() } else { found.help.clone() };
        match known.entry((found.slug, place.file, in_claim, found.message.clone(), help)) {
            Entry::Vacant(entry) => {
                entry.insert(kept.len());
                kept.push((found, vec![place]));
            }
            Entry::Occupied(entry) => {
                let Some((first, places)) = kept.get_mut(*entry.get()) else { continue };
                places.push(place);
                first.edits.append(&mut found.edits);
                let is_new = |label: &Label| !first.labels.contains(label);
                let new: Vec<Label> = found.labels.into_iter().filter(is_new).collect();
                if places.len() <= MOST_PLACES {
                    first.labels.extend(new);
                }
            }
        }
    }
    let told = |(mut found, places): (Diagnostic, Vec<Origin>)| {
        if places.len() > MOST_PLACES {
            let more = words::counted(places.len() - MOST_PLACES, "more place");
            found.why.insert(0, format!("The same holds of {more} in this file."));
        }
        found
    };
    checked.diagnostics = kept.into_iter().map(told).collect();
}

/// Joints at one place leave directions without a sense and members without a
/// length: what follows from them is not told.
fn drop_effects(diagnostics: &mut Vec<Diagnostic>) {
    let is_effect = |slug| matches!(slug, Slug::ZeroDirection | Slug::PositionOutside | Slug::StretchReversed);
    if diagnostics.iter().any(|found| found.slug == Slug::CoincidentJoints) {
        diagnostics.retain(|found| !is_effect(found.slug));
    }
}

/// Where a finding stands among the others, causes before effects; those of one
/// rank stay as they were found. A question about what is written may be why
/// claims fail and goes before them; one about a claim's own words, or an error
/// in them, stands among them by its place. A support that is missing comes
/// before them, since it may be why; so do claims on the verdict.
fn rank(
    structure: &Structure,
    has_failed: bool,
    of_verdict: &FxHashSet<Origin>,
    found: &Diagnostic,
) -> (u8, Option<Origin>) {
    let place = found.place();
    let holds = |at: Origin| place.is_some_and(|place| place.file == at.file && at.span.contains(place.span.start));
    match found.slug {
        Slug::CoincidentJoints => (0, None),
        slug if is_failed_claim(slug) && place.is_some_and(|at| of_verdict.contains(&at)) => (3, None),
        slug if is_failed_claim(slug) => (4, place),
        Slug::MinusAndSense | Slug::DoubtfulAngle | Slug::LoadAndComponents if has_failed => {
            if structure.claims.iter().any(|claim| holds(claim.origin)) { (4, place) } else { (2, None) }
        }
        Slug::MinusAndSense | Slug::DoubtfulAngle | Slug::LoadAndComponents => (6, None),
        Slug::UnusedLet | Slug::NarrowAngle | Slug::MixedUnits | Slug::ExcessFigures => (6, None),
        Slug::TooManyFindings | Slug::ZeroForceMember if has_failed => (5, None),
        // What is claimed may be of what is missing, and what crosses is not why anything moves.
        Slug::ClaimWithoutSupport | Slug::CrossingMembers => (2, None),
        Slug::NoSuchMember if is_in_claim(structure, found) => (2, None),
        _ if has_failed && is_in_claim(structure, found) => (4, place),
        _ => (1, None),
    }
}

const fn is_failed_claim(slug: Slug) -> bool {
    matches!(slug, Slug::ClaimFails | Slug::ClaimNotRefuted | Slug::ClaimNotKnown)
}

fn is_before_claims(found: &Diagnostic) -> bool {
    found.severity == Severity::Error && !is_failed_claim(found.slug)
}

fn empty(structure: &Structure) -> Diagnostic {
    let told = Diagnostic::new(Slug::EmptyStructure, "the file states no members")
        .why("There is nothing to check or solve without joints and the members between them.")
        .help("state joints and members, for example `joint A: (0, 0)` and `bar A-B`");
    words::at_first_joint(told, structure, "joints alone carry nothing")
}
