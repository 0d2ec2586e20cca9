//! A root file and the files it uses, read through the caller's reader and
//! parsed. Paths stay under the root file's folder; each file is taken once.
//!
//! Must not know: the file system. The caller's reader does.

use rustc_hash::FxHashMap;

use crate::base::{FileId, Files, Origin, SourceFile, similar};
use crate::syntax::{
    self, SyntaxError,
    tree::{ExprId, NameRef, StatementKind, Tree},
};

use super::fault::{Fault, FaultKind, UseRefusal};

/// The most files one run takes in.
pub const MAX_FILES: usize = 1_000;
/// The most text one run takes in, in bytes.
pub const MAX_TEXT: usize = 1 << 30;

/// Files, their trees in the same order, and what was wrong on the way.
#[derive(Debug, Default)]
pub struct Project {
    pub files: Files,
    pub trees: Vec<Tree>,
    pub errors: Vec<(FileId, Vec<SyntaxError>)>,
    pub refusals: Vec<Fault>,
    /// The file that each `use` of each file leads to, in their order.
    pub targets: Vec<Vec<Option<FileId>>>,
    /// Lets set on the command line.
    pub settings: Vec<Setting>,
    /// Significant figures of pages for people, over what the files state.
    pub figures: Option<usize>,
}

/// A let given another value on the command line: `--set P=26kN`.
#[derive(Clone, Copy, Debug)]
pub struct Setting {
    /// A file of its own, which holds the argument.
    pub file: FileId,
    pub name: NameRef,
    pub value: ExprId,
}

/// Why the caller's reader gave no text, in its own words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceRefusal(pub String);

/// How the caller comes by files. Both are given paths relative to the root
/// file's folder, with `/` between parts.
pub struct Sources<'a> {
    /// What file a path leads to: the same for every path to one file.
    pub identify: &'a dyn Fn(&str) -> String,
    pub read: &'a mut dyn FnMut(&str) -> Result<String, SourceRefusal>,
}

/// Reads the root file's text and every file used from it, where each file has
/// one path. `root` is the root file's name as shown.
pub fn read_project(root: &str, text: String, read: &mut dyn FnMut(&str) -> Result<String, SourceRefusal>) -> Project {
    read_sources(root, text, &mut Sources { identify: &str::to_owned, read })
}

/// Reads the root file's text and every file used from it, each once, by
/// whatever paths it is reached; it has the name of the first.
pub fn read_sources(root: &str, text: String, sources: &mut Sources<'_>) -> Project {
    let mut project = Project::default();
    let mut total = text.len();
    let folder = folder_prefix(root);
    let mut known: FxHashMap<String, FileId> = FxHashMap::default();
    let own_name = root.get(folder.len()..).unwrap_or(root).to_owned();
    let root_id = project.take(root.to_owned(), text);
    known.insert((sources.identify)(&own_name), root_id);
    let mut open = vec![(root_id, own_name)];
    while let Some((file, path)) = open.pop() {
        let uses = project.uses(file);
        let mut targets = vec![None; uses.len()];
        for ((at, wanted), target) in uses.into_iter().zip(&mut targets) {
            let refuse = |refusal| FaultKind::Use { path: wanted.clone(), refusal }.at(at);
            let resolved = match resolve(&path, &wanted) {
                Ok(resolved) => resolved,
                Err(refusal) => {
                    project.refusals.push(refuse(refusal));
                    continue;
                }
            };
            let identity = (sources.identify)(&resolved);
            if let Some(known) = known.get(&identity) {
                *target = Some(*known);
                continue;
            }
            if project.files.len() >= MAX_FILES {
                project.refusals.push(refuse(UseRefusal::TooMany));
                continue;
            }
            match (sources.read)(&resolved) {
                Err(SourceRefusal(why)) => project.refusals.push(refuse(UseRefusal::Unreadable(why))),
                Ok(text) if total + text.len() > MAX_TEXT => project.refusals.push(refuse(UseRefusal::TooLarge)),
                Ok(text) => {
                    total += text.len();
                    let id = project.take(format!("{folder}{resolved}"), text);
                    known.insert(identity, id);
                    *target = Some(id);
                    open.push((id, resolved));
                }
            }
        }
        project.targets.resize(project.files.len(), Vec::new());
        if let Some(slot) = project.targets.get_mut(file.index()) {
            *slot = targets;
        }
    }
    project
}

/// What the names of files begin with that a root file uses: its own name up
/// to the last separator, which is what separates names where this runs.
pub fn folder_prefix(root: &str) -> &str {
    root.rfind(std::path::is_separator).and_then(|at| root.get(..=at)).unwrap_or("")
}

impl Project {
    /// The same project with other texts in some of its files, which use the
    /// same files as before.
    pub fn with_texts(&self, mut changed: FxHashMap<FileId, String>) -> Project {
        let (refusals, targets, settings) = (self.refusals.clone(), self.targets.clone(), self.settings.clone());
        let mut other = Project { refusals, targets, settings, figures: self.figures, ..Project::default() };
        for tree in &self.trees {
            let name = self.files.name(tree.file).to_owned();
            if let Some(text) = changed.remove(&tree.file) {
                other.take(name, text);
                continue;
            }
            other.files.add(SourceFile::new(name, self.files.text(tree.file)));
            other.trees.push(tree.clone());
            other.errors.extend(self.errors.iter().filter(|(file, _)| *file == tree.file).cloned());
        }
        other
    }

    /// Gives top-level lets other values, each as `P=26kN`, over what the files
    /// say. An argument that does not read so has its errors in a file that
    /// holds it.
    pub fn set(&mut self, arguments: &[String]) {
        // Shown as it was given, and read as a let: each is as long as the other.
        const SHOWN: &str = "--set ";
        const READ: &str = "  let ";
        for argument in arguments {
            let argument = argument.replace(['\n', '\r'], " ");
            let id = self.take("command line".to_owned(), format!("{READ}{argument}"));
            let shown = SourceFile::new("command line".to_owned(), format!("{SHOWN}{argument}"));
            self.files.replace(id, shown);
            let Some(tree) = self.trees.get_mut(id.index()) else { continue };
            for statement in std::mem::take(&mut tree.statements) {
                if let StatementKind::Let { name, value } = statement.kind {
                    self.settings.push(Setting { file: id, name, value });
                }
            }
        }
    }

    /// The files that were read, the root file first.
    pub fn read_files(&self) -> impl Iterator<Item = FileId> {
        self.files.iter().map(|(id, _)| id).take(self.targets.len())
    }

    /// Whether a file is none, but holds an argument.
    pub fn is_of_command_line(&self, file: FileId) -> bool {
        file.index() >= self.targets.len()
    }

    fn take(&mut self, name: String, text: String) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        let parse = syntax::parse(id, &text);
        self.files.add(SourceFile::new(name, text));
        self.trees.push(parse.tree);
        if !parse.errors.is_empty() {
            self.errors.push((id, parse.errors));
        }
        id
    }

    /// Names whose declarations could not be read: they are not to be reported as unknown.
    /// Each with the keyword of its statement.
    pub(super) fn broken_names(&self) -> FxHashMap<String, String> {
        let names = |tree: &Tree| {
            let text = self.files.text(tree.file);
            tree.broken
                .iter()
                .filter_map(|broken| {
                    let keyword = broken.span.text(text).split_whitespace().next().unwrap_or("");
                    broken.name.map(|span| (span.text(text).to_owned(), keyword.to_owned()))
                })
                .collect::<Vec<_>>()
        };
        self.trees.iter().flat_map(names).collect()
    }

    /// Whether a statement that could not be read would have made part of the
    /// layout: anything but loads, claims and combinations.
    pub(super) fn layout_is_broken(&self) -> bool {
        const APART: [&str; 15] = [
            "load",
            "moment",
            "heat",
            "misfit",
            "settle",
            "weigh",
            "expect",
            "combination",
            "combo",
            "travel",
            "title",
            "moments",
            "figures",
            "allow",
            "deny",
        ];
        let broken = |tree: &Tree| {
            let text = self.files.text(tree.file);
            tree.broken.iter().any(|broken| {
                let words = broken.span.text(text);
                let is_claim = words.split_whitespace().next().is_some_and(is_claim_word);
                !is_claim && !APART.iter().any(|word| words.starts_with(word))
            })
        };
        self.trees.iter().any(broken)
    }

    /// The `use` statements of a file: where the path stands, and the path.
    fn uses(&self, file: FileId) -> Vec<(Origin, String)> {
        let Some(tree) = self.trees.get(file.index()) else { return Vec::new() };
        let text = self.files.text(file);
        tree.statements
            .iter()
            .filter_map(|statement| match statement.kind {
                StatementKind::Use { path, .. } => Some((Origin::new(file, path), unescape(path.text(text)))),
                _ => None,
            })
            .collect()
    }
}

/// Whether a statement that begins so was to be a claim.
pub fn is_claim_word(word: &str) -> bool {
    word == "expect" || similar(word, ["expect"]).is_some()
}

/// A string's meaning: `\"` and `\\` undone.
pub fn unescape(inside: &str) -> String {
    let mut out = String::with_capacity(inside.len());
    let mut chars = inside.chars();
    while let Some(c) = chars.next() {
        match c {
            '\\' => out.extend(chars.next()),
            _ => out.push(c),
        }
    }
    out
}

/// A used path, relative to the root's folder, from the path of the file that uses it.
fn resolve(user: &str, wanted: &str) -> Result<String, UseRefusal> {
    let wanted = wanted.replace('\\', "/");
    let drive = wanted.as_bytes().get(1) == Some(&b':');
    if wanted.starts_with('/') || drive {
        return Err(UseRefusal::Absolute);
    }
    let mut parts: Vec<&str> = user.split('/').collect();
    parts.pop();
    for part in wanted.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop().ok_or(UseRefusal::Outside)?;
            }
            _ => parts.push(part),
        }
    }
    Ok(parts.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn used_paths_stay_under_the_root_folder() {
        assert_eq!(resolve("roof.kp", "loads/snow.kp"), Ok("loads/snow.kp".to_owned()));
        assert_eq!(resolve("loads/snow.kp", "../parts/./tie.kp"), Ok("parts/tie.kp".to_owned()));
        assert_eq!(resolve("roof.kp", "../loads.kp"), Err(UseRefusal::Outside));
        assert_eq!(resolve("roof.kp", "/etc/loads.kp"), Err(UseRefusal::Absolute));
        assert_eq!(resolve("roof.kp", "C:\\loads.kp"), Err(UseRefusal::Absolute));
    }

    #[test]
    fn escapes_are_undone() {
        assert_eq!(unescape(r#"a \"b\" \\ c"#), r#"a "b" \ c"#);
    }
}
