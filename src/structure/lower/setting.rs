//! Which let each `with` and each `--set` gives another value.
//!
//! Must not know: what the values are.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::base::{FileId, Origin, Span};
use crate::structure::fault::{FaultKind, UseRefusal};
use crate::structure::model::SetLet;
use crate::structure::project::Project;
use crate::syntax::tree::{ExprId, NameRef, StatementKind, With};

use super::naming::normal;
use super::{Context, Lowering};

/// The most lets that the files of one project set.
pub const MOST_SET: usize = 1_000;
/// Lets that a fault names.
const MOST_NAMED: usize = 12;

/// A value given to a let in place of its own.
#[derive(Clone, Copy, Debug)]
pub(super) struct Given {
    pub context: Context,
    pub value: ExprId,
    name: NameRef,
}

/// A file taken in by another; without a `with` once for each pair of files.
struct Use<'p> {
    at: Span,
    with: &'p [With],
    used: FileId,
}

/// What the files of a project take in, and the lets at their top level.
struct Settable<'p> {
    uses: Vec<Vec<Use<'p>>>,
    lets: Vec<Vec<Span>>,
    by_name: FxHashMap<String, Origin>,
}

impl<'p> Settable<'p> {
    /// Nothing where nothing is set.
    fn of(project: &'p Project) -> Option<Settable<'p>> {
        let is_with = |kind: &StatementKind| matches!(kind, StatementKind::Use { with, .. } if !with.is_empty());
        let mut statements = project.trees.iter().flat_map(|tree| &tree.statements);
        if project.settings.is_empty() && !statements.any(|statement| is_with(&statement.kind)) {
            return None;
        }
        let (mut uses, mut lets, mut by_name) = (Vec::new(), Vec::new(), FxHashMap::default());
        for file in project.read_files() {
            let (mut own_uses, mut own_lets, mut plain) = (Vec::new(), Vec::new(), FxHashSet::default());
            let mut targets = project.targets.get(file.index()).into_iter().flatten();
            for statement in project.trees.get(file.index()).into_iter().flat_map(|tree| &tree.statements) {
                match &statement.kind {
                    StatementKind::Use { with, .. } => {
                        let Some(used) = targets.next().copied().flatten() else { continue };
                        if !with.is_empty() || plain.insert(used) {
                            own_uses.push(Use { at: statement.span, with, used });
                        }
                    }
                    StatementKind::Let { name, .. } => {
                        let at = Origin::new(file, name.span);
                        by_name.entry(normal(name.span.text(project.files.text(file)))).or_insert(at);
                        own_lets.push(name.span);
                    }
                    _ => {}
                }
            }
            uses.push(own_uses);
            lets.push(own_lets);
        }
        Some(Settable { uses, lets, by_name })
    }

    fn uses_of(&self, file: FileId) -> &[Use<'p>] {
        self.uses.get(file.index()).map_or(&[], Vec::as_slice)
    }

    /// A file and all that it uses, itself first.
    fn reached(&self, file: FileId) -> Vec<FileId> {
        let (mut reached, mut known, mut next) = (vec![file], FxHashSet::from_iter([file]), 0);
        while let Some(file) = reached.get(next).copied() {
            reached.extend(self.uses_of(file).iter().map(|own| own.used).filter(|used| known.insert(*used)));
            next += 1;
        }
        reached
    }
}

impl<'t> Lowering<'t> {
    /// Finds the lets that the command line and `use … with` set. A `with`
    /// reaches the file it takes in and all that this one uses; the command
    /// line reaches every file, and goes before.
    pub(super) fn read_settings(&mut self, project: &'t Project) {
        let Some(settable) = Settable::of(project) else { return };
        let all: Vec<FileId> = project.read_files().collect();
        for setting in &project.settings {
            let given = Given { context: self.root(setting.file), value: setting.value, name: setting.name };
            if let Some(file) = self.set(project, &settable, given, &all) {
                // A bare number stands for one of the let's own file.
                let units = self.units.get(file.index()).cloned().flatten();
                if let Some(slot) = self.units.get_mut(setting.file.index()) {
                    *slot = units;
                }
                self.files_set.extend(&all);
            }
        }
        let mut count = 0;
        for user in all {
            for Use { at, with, used } in settable.uses_of(user).iter().filter(|own| !own.with.is_empty()) {
                count += with.len();
                if count > MOST_SET {
                    let path = self.files.name(*used).to_owned();
                    let fault = FaultKind::Use { path, refusal: UseRefusal::TooManySet };
                    self.layout_touched = true;
                    self.fault(self.root(user), fault.at(Origin::new(user, *at)));
                    return;
                }
                let reached = settable.reached(*used);
                for With { name, value } in *with {
                    let given = Given { context: self.root(user), value: *value, name: *name };
                    self.set(project, &settable, given, &reached);
                }
                self.files_set.extend(reached.into_iter().filter(|file| *file != FileId::default()));
            }
        }
    }

    /// Notes a let's other value; gives the file of the let.
    fn set(&mut self, project: &Project, settable: &Settable<'_>, given: Given, files: &[FileId]) -> Option<FileId> {
        let Given { context, name, .. } = given;
        let (written, at) = (normal(self.text_of(context, name.span)), self.origin(context, name.span));
        let Some(own) = settable.by_name.get(&written).copied().filter(|own| files.contains(&own.file)) else {
            self.layout_touched = true;
            if !self.is_broken(&written) {
                let of_file = |file: &FileId| {
                    let text = self.files.text(*file);
                    settable.lets.get(file.index()).into_iter().flatten().map(move |own| own.text(text))
                };
                let lets: Vec<String> = files.iter().flat_map(of_file).take(MOST_NAMED).map(str::to_owned).collect();
                let total = files.iter().filter_map(|file| settable.lets.get(file.index())).map(Vec::len).sum();
                let near = self.near(&written, files.iter().flat_map(of_file));
                let file = files.first().filter(|_| !project.is_of_command_line(context.file));
                let file = file.map(|file| self.files.name(*file).to_owned());
                self.fault(context, FaultKind::NoSuchLet { name: written, file, lets, total, near }.at(at));
            }
            return None;
        };
        let is_commanded = project.is_of_command_line(context.file);
        let first = match self.given.get(&own) {
            Some(other) if project.is_of_command_line(other.context.file) != is_commanded => return None,
            Some(other) if self.value_text(other) == self.value_text(&given) => return None,
            Some(other) => Some(self.origin(other.context, other.name.span)),
            None if is_commanded => None,
            None => self.taken_in_unset(settable, own.file, &written),
        };
        if let Some(first) = first {
            self.layout_touched = true;
            self.fault(context, FaultKind::SetTwice { name: written, first }.at(at));
            return None;
        }
        let (value, file) = (self.value_text(&given).to_owned(), self.files.name(own.file).to_owned());
        self.structure.set.push(SetLet { name: written, value, file });
        self.given.insert(own, given);
        Some(own.file)
    }

    fn value_text(&self, given: &Given) -> &'t str {
        self.text_of(given.context, self.expr_origin(given.context, given.value).span)
    }

    /// A `use` by which a file is reached without its let of this name set.
    fn taken_in_unset(&self, settable: &Settable<'_>, file: FileId, name: &str) -> Option<Origin> {
        let mut known = FxHashSet::from_iter([FileId::default()]);
        let mut open = vec![FileId::default()];
        while let Some(user) = open.pop() {
            let context = self.root(user);
            let sets = |with: &With| normal(self.text_of(context, with.name.span)) == name;
            for Use { at, used, .. } in settable.uses_of(user).iter().filter(|own| !own.with.iter().any(sets)) {
                if *used == file {
                    return Some(Origin::new(user, *at));
                }
                if known.insert(*used) {
                    open.push(*used);
                }
            }
        }
        None
    }
}
