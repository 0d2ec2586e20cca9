//! Certain corrections, applied and checked again until none is left.
//!
//! A correction is kept only if the text with it has no error that the text
//! without it had not. Errors that could not have been seen before do not
//! count: a statement is read up to its first error, a name is looked up only
//! in a statement that can be read, a layout is judged only when its names are
//! known.
//!
//! Must not know: where texts come from and go to.

use rustc_hash::{FxHashMap, FxHashSet};

use super::edited::edited;
use super::{Checked, Switches, check_as_written, cures};
use crate::base::{FileId, Files};
use crate::diagnostic::{Diagnostic, Edit, Family, Severity, Slug};
use crate::structure::{Project, Sources, folder_prefix, read_sources};

/// Rounds of correcting and checking again.
pub const MAX_ROUNDS: usize = 32;

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
    cures::grade(&mut checked, &project, switches);
    let is_changed =
        |(_, file): &(FileId, &crate::base::SourceFile)| originals.get(&file.name).is_some_and(|old| *old != file.text);
    let changes = project.files.iter().filter(is_changed).map(|(_, file)| Change {
        name: file.name.clone(),
        old: originals.get(&file.name).cloned().unwrap_or_default(),
        new: file.text.clone(),
    });
    let changes = changes.collect();
    Corrected { changes, project, checked, rounds, withheld: search.refused.len(), is_cut_short }
}

/// A place in a corrected text.
struct Mended {
    file: String,
    at: usize,
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
    /// The line before and after each edit's place, and what it writes.
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
            if self.refused.contains(&mark(found, &now.project.files)) {
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
        let mut kept: Vec<Diagnostic> = Vec::new();
        let mut best: Option<State> = None;
        // Groups yet to be tried, the next one last; a group that does harm is halved.
        let mut groups: Vec<&[Diagnostic]> = vec![candidates];
        while let Some(group) = groups.pop() {
            if self.trials >= MAX_TRIALS {
                break;
            }
            let trial: Vec<&Diagnostic> = kept.iter().chain(group).collect();
            let (next, mended) = self.apply(now, &trial);
            if !is_worse(now, &next, mended) {
                kept.extend(group.iter().cloned());
                best = Some(next);
                continue;
            }
            match group {
                [only] => {
                    self.refused.insert(mark(only, &now.project.files));
                }
                several => {
                    let (first, second) = several.split_at(several.len() / 2);
                    groups.push(second);
                    groups.push(first);
                }
            }
        }
        best.map(|state| (state, kept))
    }

    /// The project with these corrections, and where statements that could not
    /// be read have been mended in it.
    fn apply(&mut self, now: &State, findings: &[&Diagnostic]) -> (State, Vec<Mended>) {
        self.trials += 1;
        let files = &now.project.files;
        let mut edits: FxHashMap<FileId, Vec<(&Edit, Family)>> = FxHashMap::default();
        for found in findings {
            for edit in &found.edits {
                edits.entry(edit.file).or_default().push((edit, found.slug.family()));
            }
        }
        let mut texts = texts(files);
        let mut mended = Vec::new();
        for (file, edits) in edits {
            let (text, places) = edited(files.text(file), edits);
            let name = files.name(file).to_owned();
            let reading = places.into_iter().filter(|(_, family)| *family == Family::Reading);
            mended.extend(reading.map(|(at, _)| Mended { file: name.clone(), at }));
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
        (State { project, checked }, mended)
    }
}

fn texts(files: &Files) -> FxHashMap<String, String> {
    files.iter().map(|(_, file)| (file.name.clone(), file.text.clone())).collect()
}

/// Whether the new text has an error that the old one, as far as it could be
/// judged, had not. The family of its first error tells how far that was; a
/// statement mended where it could not be read may show one error more.
fn is_worse(old: &State, new: &State, mended: Vec<Mended>) -> bool {
    let errors = |state: &State| -> Vec<Diagnostic> {
        let errors = state.checked.diagnostics.iter().filter(|found| found.severity == Severity::Error);
        errors.cloned().collect()
    };
    let had = errors(old);
    let judged = had.iter().map(|found| found.slug.family()).min().unwrap_or(Family::Results);
    let mut counts: FxHashMap<(Slug, String), usize> = FxHashMap::default();
    for error in had {
        *counts.entry((error.slug, error.message)).or_default() += 1;
    }
    let mut is_new = |error: &Diagnostic| match counts.get_mut(&(error.slug, error.message.clone())) {
        Some(left) if *left > 0 => {
            *left -= 1;
            false
        }
        _ => true,
    };
    let has = errors(new).into_iter().filter(|error| error.slug.family() <= judged);
    let new_errors: Vec<Diagnostic> = has.filter(|error| is_new(error)).collect();
    if new_errors.is_empty() {
        return false;
    }
    let mut lines: FxHashMap<(&str, usize), usize> = FxHashMap::default();
    for place in &mended {
        let line = new.project.files.iter().find(|(_, file)| file.name == place.file);
        let line = line.map_or(0, |(_, file)| file.location(u32::try_from(place.at).unwrap_or(u32::MAX)).line);
        *lines.entry((place.file.as_str(), line)).or_default() += 1;
    }
    new_errors.iter().any(|error| {
        let Some(at) = error.place().filter(|_| error.slug.family() == Family::Reading) else { return true };
        let line = new.project.files.get(at.file).map_or(0, |file| file.location(at.span.start).line);
        match lines.get_mut(&(new.project.files.name(at.file), line)) {
            Some(left) if *left > 0 => {
                *left -= 1;
                false
            }
            _ => true,
        }
    })
}

fn mark(found: &Diagnostic, files: &Files) -> Mark {
    let around = |edit: &Edit| {
        let text = files.text(edit.file);
        let start = text.get(..edit.span.start as usize).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
        let rest = text.get(edit.span.end as usize..).unwrap_or("");
        let end = edit.span.end as usize + rest.find('\n').unwrap_or(rest.len());
        (text.get(start..end).unwrap_or("").to_owned(), edit.replacement.clone())
    };
    Mark { slug: found.slug, message: found.message.clone(), edits: found.edits.iter().map(around).collect() }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
