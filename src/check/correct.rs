//! Certain corrections, applied and checked again until none is left.
//!
//! A correction is kept only if the text with it has no error that the text
//! without it had not. Errors that could not have been seen before do not
//! count: a statement is read up to its first error, a name is looked up only
//! in a statement that can be read, a layout is judged only when its names are
//! known, and where errors are more than are kept, those behind them are unseen.
//!
//! Must not know: where texts come from and go to.

use rustc_hash::{FxHashMap, FxHashSet};

use super::certain::{line_start, rest_of_line};
use super::edited::edited;
use super::{Checked, Switches, check_as_written, finish};
use crate::base::{FileId, Files, SourceFile};
use crate::diagnostic::{Diagnostic, Edit, Family, Severity, Slug};
use crate::structure::{Project, Sources, folder_prefix, read_sources};
use crate::syntax::SyntaxError;

/// Rounds of correcting and checking again.
pub const MAX_ROUNDS: usize = 12;

/// Texts that are checked in all, in search of corrections that do no harm.
pub const MAX_TRIALS: usize = 256;

/// Which files may be changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    AllFiles,
    /// The root file alone: the others are told of and left as they are.
    RootOnly,
}

/// A project after its certain corrections, and how it came there.
#[derive(Debug)]
pub struct Corrected {
    pub project: Project,
    pub checked: Checked,
    pub rounds: Vec<Round>,
    pub changes: Vec<Change>,
    /// Findings whose correction would have done harm.
    pub withheld: usize,
    /// Texts that were checked in all, the first not counted.
    pub trials: usize,
    /// Whether a limit ended the search while corrections were left.
    pub is_cut_short: bool,
}

/// What one round mended, in the files as they were before it.
#[derive(Debug)]
pub struct Round {
    pub files: Files,
    pub mended: Vec<Diagnostic>,
}

/// A file whose text is no longer what it was.
#[derive(Debug)]
pub struct Change {
    pub name: String,
    pub old: String,
    pub new: String,
}

/// Applies every certain correction of a project's findings. `sources` is asked
/// for files that only a corrected text uses.
pub fn correct(project: Project, reach: Reach, switches: &Switches, sources: &mut Sources<'_>) -> Corrected {
    let checked = check_as_written(&project, switches);
    let originals = texts(&project.files);
    let mut search = Search { switches, sources, trials: 0, refused: FxHashSet::default() };
    let mut now = State { project, checked };
    let mut rounds = Vec::new();
    let mut is_cut_short = false;
    loop {
        let candidates = search.candidates(&now, reach);
        if candidates.is_empty() {
            break;
        }
        if rounds.len() >= MAX_ROUNDS || search.trials >= MAX_TRIALS {
            is_cut_short = true;
            break;
        }
        let Some((next, mended)) = search.round(&now, &candidates) else { continue };
        rounds.push(Round { files: now.project.files, mended });
        now = next;
    }
    let State { project, mut checked } = now;
    finish(&mut checked, &project, switches);
    let is_changed = |(_, file): &(FileId, &SourceFile)| originals.get(&file.name).is_some_and(|old| *old != file.text);
    let changes = project.files.iter().filter(is_changed).map(|(_, file)| Change {
        name: file.name.clone(),
        old: originals.get(&file.name).cloned().unwrap_or_default(),
        new: file.text.clone(),
    });
    let changes = changes.collect();
    let (withheld, trials) = (search.refused.len(), search.trials);
    Corrected { changes, project, checked, rounds, withheld, trials, is_cut_short }
}

/// A project with corrections applied to it.
struct Trial<'f> {
    state: State,
    mended: Vec<Mended<'f>>,
    /// From where on a file of it was not judged before, errors being too many.
    unseen: FxHashMap<String, usize>,
}

/// A place in a corrected text, and what was mended there.
struct Mended<'f> {
    finding: &'f Diagnostic,
    file: String,
    line: usize,
}

struct State {
    project: Project,
    checked: Checked,
}

struct Search<'a, 's> {
    switches: &'a Switches,
    sources: &'a mut Sources<'s>,
    trials: usize,
    refused: FxHashSet<Mark>,
}

/// What a finding is known by from one round to the next.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Mark {
    slug: Slug,
    message: String,
    /// The line about each edit's place, as far as it is near, and what it writes.
    edits: Vec<(String, String)>,
}

impl Search<'_, '_> {
    /// The findings whose corrections can be applied together: none overlaps
    /// another, none was refused before.
    fn candidates(&self, now: &State, reach: Reach) -> Vec<Diagnostic> {
        let mut candidates = Vec::new();
        let mut occupied: FxHashMap<FileId, Vec<(u32, u32)>> = FxHashMap::default();
        for found in now.checked.diagnostics.iter().filter(|found| !found.edits.is_empty()) {
            let is_reached = |edit: &Edit| reach == Reach::AllFiles || edit.file == FileId::default();
            let fits = |edit: &Edit| {
                let text = now.project.files.text(edit.file);
                text.get(edit.span.start as usize..edit.span.end as usize).is_some_and(|old| old != edit.replacement)
            };
            let is_free = |edit: &Edit| {
                occupied.get(&edit.file).is_none_or(|spans| {
                    // Spans are kept in order: only the neighbours of this one can meet it.
                    let at = spans.partition_point(|(start, _)| *start < edit.span.start);
                    let before = at.checked_sub(1).and_then(|at| spans.get(at));
                    before.is_none_or(|(_, end)| {
                        *end < edit.span.start || (*end == edit.span.start && !edit.span.is_empty())
                    }) && spans.get(at).is_none_or(|(start, _)| *start >= edit.span.end && *start > edit.span.start)
                })
            };
            if !found.edits.iter().all(|edit| is_reached(edit) && fits(edit) && is_free(edit)) {
                continue;
            }
            if !self.refused.is_empty() && self.refused.contains(&mark(found, &now.project.files)) {
                continue;
            }
            for edit in &found.edits {
                let spans = occupied.entry(edit.file).or_default();
                let at = spans.partition_point(|(start, _)| *start < edit.span.start);
                spans.insert(at, (edit.span.start, edit.span.end));
            }
            candidates.push(found.clone());
        }
        candidates
    }

    /// Applies as many of the candidates as do no harm; `None` where none does.
    fn round(&mut self, now: &State, candidates: &[Diagnostic]) -> Option<(State, Vec<Diagnostic>)> {
        let mut kept: Vec<&Diagnostic> = Vec::new();
        let mut best: Option<State> = None;
        // Groups yet to be tried, the next one last.
        let mut groups: Vec<Vec<&Diagnostic>> = vec![candidates.iter().collect()];
        while let Some(group) = groups.pop() {
            if self.trials >= MAX_TRIALS {
                break;
            }
            let together: Vec<&Diagnostic> = kept.iter().chain(&group).copied().collect();
            let trial = self.apply(now, &together);
            let new_errors = trial.new_errors(now);
            if new_errors.is_empty() {
                kept.extend(group);
                best = Some(trial.state);
                continue;
            }
            let blamed = trial.blamed(&new_errors);
            let (guilty, mut others): (Vec<&Diagnostic>, Vec<&Diagnostic>) =
                group.iter().partition(|found| blamed.contains_key(&std::ptr::from_ref(**found)));
            // Each with a new error on a line that nothing else was mended on.
            if others.is_empty() && blamed.values().all(|is_alone| *is_alone) || group.len() == 1 {
                self.refused.extend(group.iter().map(|found| mark(found, &now.project.files)));
                continue;
            }
            if guilty.is_empty() || others.is_empty() {
                others = group;
                groups.push(others.split_off(others.len() / 2));
            } else {
                groups.push(guilty);
            }
            groups.push(others);
        }
        best.map(|state| (state, kept.into_iter().cloned().collect()))
    }

    /// The project with these corrections.
    fn apply<'f>(&mut self, now: &State, findings: &[&'f Diagnostic]) -> Trial<'f> {
        self.trials += 1;
        let files = &now.project.files;
        let mut edits: FxHashMap<FileId, Vec<Placed<'f>>> = FxHashMap::default();
        for found in findings {
            for edit in &found.edits {
                edits.entry(edit.file).or_default().push((edit, (edit.span.start, *found)));
            }
        }
        let mut texts = texts(files);
        let mut unseen = FxHashMap::default();
        for (file, errors) in &now.project.errors {
            if let Some(SyntaxError::TooManyErrors { at }) = errors.last() {
                unseen.insert(files.name(*file).to_owned(), at.start as usize);
            }
        }
        let mut places = Vec::new();
        for (file, edits) in edits {
            let old = files.text(file);
            let (text, made) = edited(old, edits);
            let name = files.name(file).to_owned();
            if let Some(from) = unseen.get_mut(&name) {
                // What stands before the next edit has moved with it.
                let next = made.iter().find(|(_, (start, _))| *start as usize >= *from);
                let (old_at, new_at) = next.map_or((old.len(), text.len()), |(at, (start, _))| (*start as usize, *at));
                *from = new_at.saturating_sub(old_at - *from);
            }
            places.extend(made.into_iter().map(|(at, (_, finding))| (name.clone(), at, finding)));
            texts.insert(name, text);
        }
        let root = files.name(FileId::default()).to_owned();
        let folder = folder_prefix(&root);
        let text = texts.get(&root).cloned().unwrap_or_default();
        let Sources { identify, read } = &mut *self.sources;
        let mut read = |path: &str| match texts.get(&format!("{folder}{path}")) {
            Some(text) => Ok(text.clone()),
            None => read(path),
        };
        let project = read_sources(&root, text, &mut Sources { identify: *identify, read: &mut read });
        let checked = check_as_written(&project, self.switches);
        let by_name: FxHashMap<&str, &SourceFile> =
            project.files.iter().map(|(_, file)| (file.name.as_str(), file)).collect();
        let line = |file: &str, at| by_name.get(file).map_or(0, |file| file.line_of(u32::try_from(at).unwrap_or(0)));
        let places = places.into_iter();
        let mended = places.map(|(file, at, finding)| Mended { line: line(&file, at), finding, file }).collect();
        Trial { state: State { project, checked }, mended, unseen }
    }
}

/// An edit, where it begins, and the finding it is of.
type Placed<'f> = (&'f Edit, (u32, &'f Diagnostic));

fn texts(files: &Files) -> FxHashMap<String, String> {
    files.iter().map(|(_, file)| (file.name.clone(), file.text.clone())).collect()
}

impl Trial<'_> {
    /// The errors that the old text, as far as it could be judged, had not. The
    /// family of its first error tells how far that was; a statement mended
    /// where it could not be read may show one error more.
    fn new_errors(&self, old: &State) -> Vec<&Diagnostic> {
        let had: Vec<&Diagnostic> = errors(old).collect();
        let judged = had.iter().map(|found| found.slug.family()).min().unwrap_or(Family::Results);
        let has: Vec<&Diagnostic> = errors(&self.state).filter(|error| error.slug.family() <= judged).collect();
        if old.checked.untold > 0 && judged > Family::Reading {
            // Faults that were not told cannot be known again: as many have to go as are mended.
            let before = had.iter().filter(|error| error.slug.family() <= judged).count() + old.checked.untold;
            let mended: FxHashSet<*const Diagnostic> =
                self.mended.iter().map(|at| std::ptr::from_ref(at.finding)).collect();
            let is_worse = has.len() + self.state.checked.untold + mended.len() > before;
            return if is_worse { has } else { Vec::new() };
        }
        let mut counts: FxHashMap<(Slug, &str), usize> = FxHashMap::default();
        for error in had {
            *counts.entry((error.slug, &error.message)).or_default() += 1;
        }
        let mut lines: FxHashMap<(&str, usize), usize> = FxHashMap::default();
        for place in self.mended.iter().filter(|at| at.finding.slug.family() == Family::Reading) {
            *lines.entry((&place.file, place.line)).or_default() += 1;
        }
        let is_seen = |error: &Diagnostic| {
            let Some(at) = error.place().filter(|_| error.slug.family() == Family::Reading) else { return true };
            let unseen = self.unseen.get(self.state.project.files.name(at.file));
            unseen.is_none_or(|from| (at.span.start as usize) < *from)
        };
        let spend = |left: Option<&mut usize>| match left {
            Some(left) if *left > 0 => {
                *left -= 1;
                true
            }
            _ => false,
        };
        let seen: Vec<&Diagnostic> = has.into_iter().filter(|error| is_seen(error)).collect();
        let new = seen.into_iter().filter(|error| !spend(counts.get_mut(&(error.slug, error.message.as_str()))));
        let is_reading = |error: &Diagnostic| error.slug.family() == Family::Reading;
        new.filter(|error| {
            let line = self.line(error).filter(|_| is_reading(error));
            !line.is_some_and(|line| spend(lines.get_mut(&line)))
        })
        .collect()
    }

    fn line(&self, error: &Diagnostic) -> Option<(&str, usize)> {
        let at = error.place()?;
        let file = self.state.project.files.get(at.file)?;
        Some((&file.name, file.line_of(at.span.start)))
    }

    /// What was mended on the lines of these errors, and whether nothing else
    /// was mended there.
    fn blamed(&self, errors: &[&Diagnostic]) -> FxHashMap<*const Diagnostic, bool> {
        let lines: FxHashSet<(&str, usize)> = errors.iter().filter_map(|error| self.line(error)).collect();
        let mut by_line: FxHashMap<(&str, usize), FxHashSet<*const Diagnostic>> = FxHashMap::default();
        for place in self.mended.iter().filter(|at| lines.contains(&(at.file.as_str(), at.line))) {
            by_line.entry((&place.file, place.line)).or_default().insert(std::ptr::from_ref(place.finding));
        }
        let mut blamed = FxHashMap::default();
        for on_line in by_line.values() {
            for finding in on_line {
                *blamed.entry(*finding).or_insert(true) &= on_line.len() == 1;
            }
        }
        blamed
    }
}

fn errors(state: &State) -> impl Iterator<Item = &Diagnostic> {
    state.checked.diagnostics.iter().filter(|found| found.severity == Severity::Error)
}

fn mark(found: &Diagnostic, files: &Files) -> Mark {
    let around = |edit: &Edit| {
        let text = files.text(edit.file);
        let (start, end) = (line_start(text, edit.span.start as usize), edit.span.end as usize);
        let end = end + rest_of_line(text, end).len();
        (text.get(start..end).unwrap_or("").to_owned(), edit.replacement.clone())
    };
    Mark { slug: found.slug, message: found.message.clone(), edits: found.edits.iter().map(around).collect() }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
