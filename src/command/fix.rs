//! `check --fix`: certain corrections written to the files, or shown.
//!
//! Nothing is written unless every changed file can be: each new text is
//! written beside its file and put on the disk, then all take their places.

use std::fs;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use similar::udiff::UnifiedHunkHeader;
use similar::{ChangeTag, TextDiff};

use crate::base::{FileId, is_unseen, visible};
use crate::check::correct::{Change, Corrected, Reach, correct};
use crate::diagnostic::{Diagnostic, Severity};
use crate::present::diagnostics::{render_changes, render_end, render_human, render_summary};
use crate::structure::Project;

use super::arguments::{CheckArguments, FindingFormat};
use super::read::{self, Identity, Reader, path_of};
use super::scratch::{self, Scratch};
use super::standard::Standard;
use super::{complain, style_of_stderr};

/// The diffs of a dry run, one a file: several roots may correct what they share.
#[derive(Debug, Default)]
pub struct Diffs(Vec<(Option<Identity>, Change)>);

/// Corrects a project. What was done goes to standard output where that is for
/// people, else to standard error. For standard input the corrected text
/// alone goes to standard output, and what is left to standard error. An error
/// within says why the files could not be written: they are as they were.
pub fn run(
    out: &mut dyn Write,
    arguments: &CheckArguments,
    reader: &Reader,
    path: &Path,
    project: Project,
    diffs: &mut Diffs,
) -> io::Result<Result<Corrected, String>> {
    let is_stdin = path == Path::new(read::STANDARD);
    let reach = if is_stdin { Reach::RootOnly } else { Reach::AllFiles };
    let switches = arguments.lints.switches();
    let corrected = reader.with_sources(path, |sources| correct(project, reach, &switches, sources));
    if arguments.dry_run {
        diffs.take(reader, path, &corrected);
        tell_uncorrected(&corrected);
        return Ok(Ok(corrected));
    }
    if is_stdin {
        out.write_all(corrected.project.files.text(FileId(0)).as_bytes())?;
        tell_left(&corrected)?;
        return Ok(Ok(corrected));
    }
    if let Err(message) = write_all(path, &corrected.changes) {
        return Ok(Err(message));
    }
    let told = told(&corrected);
    match arguments.format {
        FindingFormat::Text => out.write_all(told.as_bytes())?,
        _ => Standard::Errors.write_all(told.as_bytes())?,
    }
    Ok(Ok(corrected))
}

/// What was done, line by line; empty where nothing was.
fn told(corrected: &Corrected) -> String {
    let mut page = String::new();
    for round in &corrected.rounds {
        page.push_str(&render_changes(&round.mended, &round.files));
    }
    if corrected.withheld > 0 {
        let (count, are) =
            (corrected.withheld, if corrected.withheld == 1 { "correction is" } else { "corrections are" });
        page.push_str(&format!("{count} {are} not made: they would cause a new error\n"));
    }
    if corrected.is_cut_short {
        page.push_str("there is more to correct: run it again\n");
    }
    if !page.is_empty() {
        page.push('\n');
    }
    page
}

fn tell_left(corrected: &Corrected) -> io::Result<()> {
    let (findings, files) = (&corrected.checked.diagnostics, &corrected.project.files);
    let mut page = told(corrected);
    page.push_str(&render_human(findings, files, style_of_stderr()));
    page.push_str(&render_end(&corrected.checked, files));
    Standard::Errors.write_all(page.as_bytes())
}

/// A diff shows what would be corrected; of what would not it says nothing.
fn tell_uncorrected(corrected: &Corrected) {
    let errors = corrected.checked.diagnostics.iter().filter(|found| found.severity == Severity::Error);
    let left: Vec<Diagnostic> = errors.map(|found| Diagnostic { edits: Vec::new(), ..found.clone() }).collect();
    if !left.is_empty() {
        let (count, have) =
            (render_summary(&left, &corrected.project.files), if left.len() == 1 { "has" } else { "have" });
        complain(&format!("{count} {have} no certain correction; without --fix each is shown"));
    }
}

impl Diffs {
    /// Adds the corrections of a project; files read again in this run have them.
    fn take(&mut self, reader: &Reader, root: &Path, corrected: &Corrected) {
        for Change { name, old, new } in &corrected.changes {
            let (name, old, new) = (name.clone(), old.clone(), new.clone());
            let identity = Identity::of(&path_of(root, &name));
            if let Some(identity) = &identity {
                reader.correct(identity.clone(), new.clone());
            }
            match self.0.iter_mut().find(|(known, _)| identity.is_some() && *known == identity) {
                Some((_, change)) => change.new = new,
                None => self.0.push((identity, Change { name, old, new })),
            }
        }
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// A terminal is shown what is in the files, `patch` is given it.
    pub fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let is_shown = io::stdout().is_terminal();
        for (_, change) in &self.0 {
            let diff = unified_diff(change);
            match is_shown {
                true => {
                    let shown = diff.chars().map(|c| if matches!(c, '\n' | '\t') { c } else { visible(c) });
                    out.write_all(shown.collect::<String>().as_bytes())?;
                }
                false => out.write_all(diff.as_bytes())?,
            }
        }
        Ok(())
    }
}

/// The change as a unified diff with three lines of context, for `patch -p1`
/// and `git apply`. Lines end at a line feed alone, as they do for those.
fn unified_diff(change: &Change) -> String {
    let (old, new): (Vec<&str>, Vec<&str>) =
        (change.old.split_inclusive('\n').collect(), change.new.split_inclusive('\n').collect());
    let diff = TextDiff::configure().diff_slices(&old, &new);
    let mut text = format!("--- {}\n+++ {}\n", diff_name("a", &change.name), diff_name("b", &change.name));
    for hunk in diff.grouped_ops(3).iter().filter(|hunk| !hunk.is_empty()) {
        text.push_str(&format!("{}\n", UnifiedHunkHeader::new(hunk)));
        for line in hunk.iter().flat_map(|op| diff.iter_changes(op)) {
            text.push(match line.tag() {
                ChangeTag::Equal => ' ',
                ChangeTag::Delete => '-',
                ChangeTag::Insert => '+',
            });
            text.push_str(line.value());
            if !line.value().ends_with('\n') {
                text.push_str("\n\\ No newline at end of file\n");
            }
        }
    }
    text
}

/// A file's name in a diff's header: quoted as strings of C are where it holds
/// what could not stand there, followed by a tab where it holds a blank.
fn diff_name(side: &str, name: &str) -> String {
    let name = if cfg!(windows) { name.replace('\\', "/") } else { name.to_owned() };
    let path = name.trim_start_matches("./").trim_start_matches('/');
    let path = format!("{side}/{path}");
    if !path.contains(|c| is_unseen(c) || matches!(c, '"' | '\\')) {
        return if path.contains(' ') { format!("{path}\t") } else { path };
    }
    let mut quoted = String::from("\"");
    for c in path.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            '\n' => quoted.push_str("\\n"),
            '\t' => quoted.push_str("\\t"),
            c if is_unseen(c) => {
                quoted.extend(c.encode_utf8(&mut [0; 4]).bytes().map(|byte| format!("\\{byte:03o}")));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// Writes every changed file or none. Should the last step, by which the new
/// texts take their places, fail part-way, the message says which did.
fn write_all(root: &Path, changes: &[Change]) -> Result<(), String> {
    let untouched = |message: String| format!("{message}; no file was changed");
    let mut staged: Vec<(PathBuf, Scratch)> = Vec::new();
    let mut known: Vec<Identity> = Vec::new();
    for change in changes {
        let path = path_of(root, &change.name);
        let file = write_beside(&path, change).map_err(|why| untouched(refusal(&path, &why)))?;
        let identity = Identity::of(&path);
        if identity.as_ref().is_some_and(|identity| known.contains(identity)) {
            return Err(untouched(refusal(&path, "it is changed under another name too")));
        }
        known.extend(identity);
        staged.push((path, file));
    }
    for (change, (path, _)) in changes.iter().zip(&staged) {
        unchanged_since(path, change).map_err(|why| untouched(refusal(path, &why)))?;
    }
    place_all(staged)
}

fn place_all(staged: Vec<(PathBuf, Scratch)>) -> Result<(), String> {
    let names: Vec<PathBuf> = staged.iter().map(|(path, _)| path.clone()).collect();
    scratch::put(staged).map_err(|(placed, error)| {
        let refused = names.get(placed).map_or_else(String::new, |path| refusal(path, &read::plain(&error)));
        let changed: Vec<String> = names.iter().take(placed).map(|path| path.display().to_string()).collect();
        match changed.as_slice() {
            [] => format!("{refused}; no file was changed"),
            [only] => format!("{refused}; {only} was corrected before that, the rest is as it was"),
            several => format!("{refused}; {} were corrected before that, the rest is as it was", several.join(", ")),
        }
    })
}

fn refusal(path: &Path, why: &str) -> String {
    format!("cannot write {}: {why}", path.display())
}

/// The new text of a file, beside it, with all that it has but its text.
fn write_beside(path: &Path, change: &Change) -> Result<Scratch, String> {
    let plain = |error: io::Error| read::plain(&error);
    let about = fs::symlink_metadata(path).map_err(plain)?;
    if about.is_symlink() {
        let target = fs::read_link(path).map_or_else(|_| "another file".to_owned(), |to| to.display().to_string());
        return Err(format!("it is a link to {target}; name the file itself"));
    }
    if !about.is_file() {
        return Err("it is not a regular file".to_owned());
    }
    if about.permissions().readonly() {
        return Err("it is read-only".to_owned());
    }
    if has_other_names(&about) {
        return Err("it has other names (hard links), which would keep the old text".to_owned());
    }
    let mut file = Scratch::beside(path).map_err(plain)?;
    file.write_all(change.new.as_bytes()).map_err(plain)?;
    keep_owner(file.file(), &about)?;
    Ok(file)
}

/// A change made to the file since it was read must not be overwritten.
fn unchanged_since(path: &Path, change: &Change) -> Result<(), String> {
    let now = fs::read(path).map_err(|error| read::plain(&error))?;
    if now == change.old.as_bytes() { Ok(()) } else { Err("it was changed meanwhile".to_owned()) }
}

#[cfg(unix)]
fn has_other_names(about: &fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(about) > 1
}

#[cfg(not(unix))]
fn has_other_names(_: &fs::Metadata) -> bool {
    false
}

#[cfg(unix)]
fn keep_owner(file: &fs::File, about: &fs::Metadata) -> Result<(), String> {
    use std::os::unix::fs::{MetadataExt, fchown};
    let own = file.metadata().map_err(|error| read::plain(&error))?;
    if (own.uid(), own.gid()) == (about.uid(), about.gid()) {
        return Ok(());
    }
    fchown(file, Some(about.uid()), Some(about.gid())).map_err(|_| "it belongs to another user".to_owned())
}

#[cfg(not(unix))]
fn keep_owner(_: &fs::File, _: &fs::Metadata) -> Result<(), String> {
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_meanwhile_is_not_lost() {
        let folder = tempfile::TempDir::new().unwrap();
        let change = |name: &str| {
            let path = folder.path().join(name);
            fs::write(&path, "old").unwrap();
            Change { name: path.to_string_lossy().into_owned(), old: "old".to_owned(), new: "new".to_owned() }
        };
        let changes = [change("a.kp"), change("b.kp")];
        fs::write(folder.path().join("b.kp"), "somebody else's").unwrap();
        assert!(
            write_all(Path::new("x.kp"), &changes)
                .unwrap_err()
                .ends_with("it was changed meanwhile; no file was changed")
        );
        let text = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
        assert_eq!((text("a.kp").as_str(), text("b.kp").as_str()), ("old", "somebody else's"));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
        fs::remove_file(folder.path().join("b.kp")).unwrap();
        assert!(
            write_all(Path::new("x.kp"), &changes).unwrap_err().ends_with("there is no such file; no file was changed")
        );
        assert!(write_all(Path::new("x.kp"), &changes[..1]).is_ok());
        assert_eq!(text("a.kp"), "new");
    }

    #[test]
    fn what_was_changed_before_a_failure_is_told() {
        let folder = tempfile::TempDir::new().unwrap();
        let staged = |name: &str| {
            let mut file = Scratch::beside(&folder.path().join("x")).unwrap();
            file.write_all(b"new").unwrap();
            (folder.path().join(name), file)
        };
        let files = vec![staged("a.kp"), staged("b.kp"), staged("c.kp")];
        // A folder that is not empty cannot be replaced by a file.
        fs::create_dir_all(folder.path().join("b.kp/inside")).unwrap();
        let told = place_all(files).unwrap_err();
        assert!(told.ends_with("a.kp was corrected before that, the rest is as it was"), "{told}");
        assert_eq!(fs::read_to_string(folder.path().join("a.kp")).unwrap(), "new");
        assert!(!folder.path().join("c.kp").exists());
    }

    #[test]
    fn names_in_a_diff_end_where_they_end() {
        assert_eq!(diff_name("a", "./loads/roof.kp"), "a/loads/roof.kp");
        assert_eq!(diff_name("b", "/srv/roof.kp"), "b/srv/roof.kp");
        assert_eq!(diff_name("a", "my roof.kp"), "a/my roof.kp\t");
        assert_eq!(diff_name("a", "a\nb\".kp"), "\"a/a\\nb\\\".kp\"");
        assert_eq!(diff_name("a", "a\u{1b}\u{202e}é.kp"), "\"a/a\\033\\342\\200\\256é.kp\"");
    }
}
