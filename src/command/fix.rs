//! `check --fix`: certain corrections written to the files, or shown.
//!
//! Nothing is written unless every changed file can be: each new text is
//! written beside its file and put on the disk, then all take their places.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use similar::TextDiff;
use tempfile::NamedTempFile;

use crate::base::FileId;
use crate::check::correct::{Change, Corrected, Reach, correct};
use crate::present::diagnostics::{render_changes, render_end, render_human};
use crate::structure::Project;

use super::arguments::{CheckArguments, FindingFormat};
use super::{Exit, complain, read, style_of_stderr};

/// A project as it is after its corrections, and what became of writing them.
pub struct Fixed {
    pub corrected: Corrected,
    pub exit: Exit,
}

/// Corrects a project. What was done goes to standard output where that is for
/// people, else to standard error. For standard input the corrected text
/// alone goes to standard output, and what is left to standard error.
pub fn run(out: &mut dyn Write, arguments: &CheckArguments, path: &Path, project: Project) -> io::Result<Fixed> {
    let is_stdin = path == Path::new("-");
    let reach = if is_stdin { Reach::RootOnly } else { Reach::AllFiles };
    let folder = read::folder_of(path);
    let corrected = correct(project, reach, &arguments.lints.switches(), &mut |used| read::read_used(&folder, used));
    if arguments.dry_run {
        for change in &corrected.changes {
            out.write_all(unified_diff(change).as_bytes())?;
        }
        let exit = if corrected.changes.is_empty() { Exit::Fine } else { Exit::Errors };
        return Ok(Fixed { corrected, exit });
    }
    if is_stdin {
        out.write_all(corrected.project.files.text(FileId(0)).as_bytes())?;
        tell_left(&corrected)?;
        return Ok(Fixed { corrected, exit: Exit::Fine });
    }
    if let Err(message) = write_all(&corrected.changes) {
        complain(&message);
        return Ok(Fixed { corrected, exit: Exit::CouldNotRun });
    }
    let told = told(&corrected);
    match arguments.format {
        FindingFormat::Text => out.write_all(told.as_bytes())?,
        _ => io::stderr().lock().write_all(told.as_bytes())?,
    }
    Ok(Fixed { corrected, exit: Exit::Fine })
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
        page.push_str(&format!("{count} {are} not made: the file would have an error that it has not now\n"));
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
    let mut errors = io::stderr().lock();
    errors.write_all(told(corrected).as_bytes())?;
    errors.write_all(render_human(findings, files, style_of_stderr()).as_bytes())?;
    errors.write_all(render_end(&corrected.checked, files).as_bytes())
}

/// The change as a unified diff with three lines of context, for `patch -p1`.
fn unified_diff(change: &Change) -> String {
    // Lines end at LF alone, as they do for `patch`.
    let (old, new): (Vec<&str>, Vec<&str>) =
        (change.old.split_inclusive('\n').collect(), change.new.split_inclusive('\n').collect());
    let mut config = TextDiff::configure();
    let diff = config.newline_terminated(true).diff_slices(&old, &new);
    let (old_name, new_name) = (diff_name("a", &change.name), diff_name("b", &change.name));
    diff.unified_diff().context_radius(3).header(&old_name, &new_name).to_string()
}

/// A file's name in a diff's header: quoted where it holds what would end it,
/// followed by a tab where it holds a blank.
fn diff_name(side: &str, name: &str) -> String {
    let name = name.replace('\\', "/");
    let path = name.trim_start_matches("./").trim_start_matches('/');
    let path = format!("{side}/{path}");
    if path.chars().any(|c| c.is_control() || c == '"') {
        return format!("\"{}\"", path.escape_default());
    }
    if path.contains(' ') { format!("{path}\t") } else { path }
}

/// Writes every changed file or none. Should the last step, by which the new
/// texts take their places, fail part-way, the message says which did.
fn write_all(changes: &[Change]) -> Result<(), String> {
    let untouched = |message: String| format!("{message}; no file was changed");
    let staged: Vec<(PathBuf, NamedTempFile)> =
        changes.iter().map(stage).collect::<Result<_, String>>().map_err(untouched)?;
    for (change, (path, _)) in changes.iter().zip(&staged) {
        unchanged_since(path, change).map_err(|why| untouched(refusal(path, &why)))?;
    }
    place_all(staged)
}

fn place_all(staged: Vec<(PathBuf, NamedTempFile)>) -> Result<(), String> {
    let mut changed: Vec<String> = Vec::new();
    for (path, file) in staged {
        let folder = read::folder_of(&path);
        if let Err(error) = file.persist(&path) {
            let refused = refusal(&path, &read::plain(&error.error));
            return Err(match changed.as_slice() {
                [] => format!("{refused}; no file was changed"),
                [only] => format!("{refused}; {only} was corrected before that, the rest is as it was"),
                several => {
                    format!("{refused}; {} were corrected before that, the rest is as it was", several.join(", "))
                }
            });
        }
        sync_folder(&folder);
        changed.push(path.display().to_string());
    }
    Ok(())
}

fn refusal(path: &Path, why: &str) -> String {
    format!("cannot write {}: {why}", path.display())
}

/// The new text of a file, on the disk beside it, with its permissions.
fn stage(change: &Change) -> Result<(PathBuf, NamedTempFile), String> {
    let path = PathBuf::from(&change.name);
    let file = write_beside(&path, change).map_err(|why| refusal(&path, &why))?;
    Ok((path, file))
}

fn write_beside(path: &Path, change: &Change) -> Result<NamedTempFile, String> {
    let plain = |error: io::Error| read::plain(&error);
    let about = fs::symlink_metadata(path).map_err(plain)?;
    if about.is_symlink() {
        let target = fs::read_link(path).map_or_else(|_| "another file".to_owned(), |to| to.display().to_string());
        return Err(format!("it is a link to {target}; name the file itself"));
    }
    if !about.is_file() {
        return Err("it is no regular file".to_owned());
    }
    if about.permissions().readonly() {
        return Err("it is read-only".to_owned());
    }
    if has_other_names(&about) {
        return Err("it has other names (hard links), which would keep the old text".to_owned());
    }
    let folder = read::folder_of(path);
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { &folder };
    let mut file = tempfile::Builder::new().prefix(".kingpost-").tempfile_in(folder).map_err(plain)?;
    file.write_all(change.new.as_bytes()).map_err(plain)?;
    keep_owner(file.as_file(), &about)?;
    file.as_file().set_permissions(about.permissions()).map_err(plain)?;
    file.as_file().sync_all().map_err(plain)?;
    Ok(file)
}

/// Whoever wrote the file since it was read would lose what they wrote.
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
    fchown(file, Some(about.uid()), Some(about.gid())).map_err(|_| "it belongs to somebody else".to_owned())
}

#[cfg(not(unix))]
fn keep_owner(_: &fs::File, _: &fs::Metadata) -> Result<(), String> {
    Ok(())
}

/// A new name is on the disk when its folder is; where a folder cannot be
/// synced the file system looks after that itself.
fn sync_folder(folder: &Path) {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    if let Ok(folder) = fs::File::open(folder) {
        let _ = folder.sync_all();
    }
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
        assert!(write_all(&changes).unwrap_err().ends_with("it was changed meanwhile; no file was changed"));
        let text = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
        assert_eq!((text("a.kp").as_str(), text("b.kp").as_str()), ("old", "somebody else's"));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
        fs::remove_file(folder.path().join("b.kp")).unwrap();
        assert!(write_all(&changes).unwrap_err().ends_with("there is no such file; no file was changed"));
        assert!(write_all(&changes[..1]).is_ok());
        assert_eq!(text("a.kp"), "new");
    }

    #[test]
    fn what_was_changed_before_a_failure_is_told() {
        let folder = tempfile::TempDir::new().unwrap();
        let staged = |name: &str| {
            let mut file = NamedTempFile::new_in(folder.path()).unwrap();
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
    }
}
