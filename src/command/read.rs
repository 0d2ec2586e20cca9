//! Files from disk, or standard input, as projects.
//!
//! A file is known by what it is, not by what it is called: by its number on
//! its device where there is such a thing, else by its path with every link
//! followed.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fs::{self, File, Metadata};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use rustc_hash::{FxHashMap, FxHashSet};

use crate::structure::{Project, SourceRefusal, Sources, folder_prefix, read_sources};
use crate::syntax::limits::MAX_FILE_BYTES;

const NOT_REGULAR: &str = "it is not a regular file";

/// The name that stands for standard input, or for standard output.
pub const STANDARD: &str = "-";

/// What is the same for all names of one file.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Identity(String);

impl Identity {
    /// That of a file that is there.
    pub fn of(path: &Path) -> Option<Identity> {
        let about = fs::metadata(path).ok()?;
        Some(Identity(number_of(&about).or_else(|| path.canonicalize().ok().map(|path| path.display().to_string()))?))
    }
}

#[cfg(unix)]
fn number_of(about: &Metadata) -> Option<String> {
    use std::os::unix::fs::MetadataExt;
    Some(format!("{}:{}", about.dev(), about.ino()))
}

#[cfg(not(unix))]
fn number_of(_: &Metadata) -> Option<String> {
    None
}

/// The files that one run has read, and those it would have changed.
#[derive(Debug, Default)]
pub struct Reader {
    taken: RefCell<FxHashSet<Identity>>,
    /// Texts that stand for those on disk.
    corrected: RefCell<FxHashMap<Identity, String>>,
}

impl Reader {
    /// Reads a root file and all it uses; the message says why it cannot be read.
    pub fn project(&self, path: &Path) -> Result<Project, String> {
        let (name, text) = if path == Path::new(STANDARD) {
            ("<stdin>".to_owned(), standard_input()?)
        } else {
            let text = self.text(path).map_err(|why| {
                let hint = "; what comes through a pipe is read from standard input, whose name is `-`";
                let hint = if why == NOT_REGULAR { hint } else { "" };
                format!("cannot read {}: {why}{hint}", path.display())
            })?;
            (path.to_string_lossy().into_owned(), text)
        };
        Ok(self.with_sources(path, |sources| read_sources(&name, text, sources)))
    }

    /// Gives the files that a root file uses, from disk.
    pub fn with_sources<T>(&self, root: &Path, ask: impl FnOnce(&mut Sources<'_>) -> T) -> T {
        let folder = folder_of(root);
        let identify = |used: &str| Identity::of(&folder.join(used)).map_or_else(|| used.to_owned(), |found| found.0);
        ask(&mut Sources { identify: &identify, read: &mut |used| self.used(&folder, used) })
    }

    /// The files that arguments stand for, each once by whatever names it is
    /// given, and the arguments that stand for none, with the reason. A folder
    /// stands for every `.kp` file in it and below that no other of them uses:
    /// such are read through those that do.
    pub fn chosen(&self, arguments: &[PathBuf]) -> (Vec<PathBuf>, Vec<(PathBuf, String)>) {
        let (mut chosen, mut refused) = (Vec::new(), Vec::new());
        let mut known = FxHashSet::default();
        for argument in arguments {
            let files = if argument.is_dir() { self.roots_under(argument) } else { vec![argument.clone()] };
            if files.is_empty() {
                let message = format!("cannot read {}: there is no .kp file in this folder", argument.display());
                refused.push((argument.clone(), message));
            }
            for file in files {
                let key = Identity::of(&file).map_or_else(|| file.clone(), |found| PathBuf::from(found.0));
                if known.insert(key) {
                    chosen.push(file);
                }
            }
        }
        (chosen, refused)
    }

    fn roots_under(&self, folder: &Path) -> Vec<PathBuf> {
        let known = |file: PathBuf| (Identity::of(&file), self.used_by(&file), file);
        let files: Vec<(Option<Identity>, FxHashSet<Identity>, PathBuf)> =
            files_under(folder).into_iter().map(known).collect();
        let is_used = |index: usize, own: &Identity| {
            files.iter().enumerate().any(|(other, (_, uses, _))| other != index && uses.contains(own))
        };
        let mut reached: FxHashSet<&Identity> = FxHashSet::default();
        let mut roots = BTreeSet::new();
        // Files that none uses; then, of files that use each other in a circle, the first.
        for is_in_circle in [false, true] {
            for (index, (own, uses, _)) in files.iter().enumerate() {
                let own = own.as_ref();
                let is_reached = own.is_some_and(|own| reached.contains(own));
                if !is_reached && own.is_some_and(|own| is_used(index, own)) == is_in_circle {
                    roots.insert(index);
                    reached.extend(uses);
                }
            }
        }
        roots.iter().filter_map(|root| files.get(*root)).map(|(.., file)| file.clone()).collect()
    }

    /// All files that a file takes in, itself aside. A file that cannot be read takes in none.
    fn used_by(&self, root: &Path) -> FxHashSet<Identity> {
        let Ok(project) = self.project(root) else { return FxHashSet::default() };
        let used = project.files.iter().skip(1);
        used.filter_map(|(_, file)| Identity::of(&path_of(root, &file.name))).collect()
    }

    /// Whether a path leads to a file that has been read.
    pub fn has_read(&self, path: &Path) -> bool {
        Identity::of(path).is_some_and(|found| self.taken.borrow().contains(&found))
    }

    /// From now on this text stands for the one on disk.
    pub fn correct(&self, file: Identity, text: String) {
        self.corrected.borrow_mut().insert(file, text);
    }

    /// A used file. A link that leads out of the root file's folder is refused.
    fn used(&self, folder: &Path, used: &str) -> Result<String, SourceRefusal> {
        let path = folder.join(used);
        let real = |path: &Path| path.canonicalize().map_err(|error| SourceRefusal(missing(path, &error)));
        if !real(&path)?.starts_with(real(folder)?) {
            return Err(SourceRefusal("it leads out of the folder of the file that is being read".to_owned()));
        }
        self.text(&path).map_err(SourceRefusal)
    }

    fn text(&self, path: &Path) -> Result<String, String> {
        // A pipe that nobody writes to would be waited for as soon as it is opened.
        regular(&fs::metadata(path).map_err(|error| missing(path, &error))?)?;
        let file = File::open(path).map_err(|error| plain(&error))?;
        let about = file.metadata().map_err(|error| plain(&error))?;
        regular(&about)?;
        if let Some(identity) = Identity::of(path) {
            if let Some(text) = self.corrected.borrow().get(&identity) {
                return Ok(text.clone());
            }
            self.taken.borrow_mut().insert(identity);
        }
        let mut bytes = Vec::with_capacity(usize::try_from(about.len().min(limit())).unwrap_or(0));
        file.take(limit() + 1).read_to_end(&mut bytes).map_err(|error| plain(&error))?;
        decode(bytes)
    }
}

/// Where a file of a project is, by its name and the root file's place.
pub fn path_of(root: &Path, name: &str) -> PathBuf {
    let root_name = root.to_string_lossy();
    if name == root_name {
        return root.to_path_buf();
    }
    let under = name.strip_prefix(folder_prefix(&root_name)).unwrap_or(name);
    root.with_file_name(under)
}

/// Every `.kp` file in a folder and below it, in the order of their paths;
/// hidden folders and links to folders are skipped.
fn files_under(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten().flatten() {
            let is_hidden = entry.file_name().to_string_lossy().starts_with('.');
            let path = entry.path();
            let is_structure = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("kp"));
            match entry.file_type() {
                Ok(kind) if kind.is_dir() && !is_hidden => open.push(path),
                Ok(_) if is_structure && !is_hidden && path.is_file() => files.push(path),
                _ => {}
            }
        }
    }
    files.sort();
    files
}

/// The folder that a file's paths start from.
pub fn folder_of(path: &Path) -> PathBuf {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new(".")).to_path_buf()
}

/// Why a file could not be opened, in the words of a sentence.
pub fn plain(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        _ => error.to_string(),
    }
}

/// The same, of a path that may be a link to nothing.
fn missing(path: &Path, error: &io::Error) -> String {
    match fs::read_link(path) {
        Ok(to) if error.kind() == io::ErrorKind::NotFound => {
            format!("it is a link to {}, which is not there", to.display())
        }
        _ => plain(error),
    }
}

fn limit() -> u64 {
    u64::try_from(MAX_FILE_BYTES).unwrap_or(u64::MAX)
}

fn standard_input() -> Result<String, String> {
    let mut bytes = Vec::new();
    let read = io::stdin().lock().take(limit() + 1).read_to_end(&mut bytes);
    read.map_err(|error| format!("cannot read standard input: {error}"))?;
    decode(bytes).map_err(|why| format!("cannot read standard input: {why}"))
}

/// Folders, pipes and devices are no texts; some of them never end.
fn regular(about: &Metadata) -> Result<(), String> {
    if about.is_dir() {
        return Err("it is a folder".to_owned());
    }
    let is_standard_input = || {
        let own = fs::metadata("/dev/stdin").ok();
        own.is_some_and(|own| number_of(&own).is_some() && number_of(&own) == number_of(about))
    };
    if about.is_file() || is_standard_input() {
        return Ok(());
    }
    Err(NOT_REGULAR.to_owned())
}

fn decode(bytes: Vec<u8>) -> Result<String, String> {
    if bytes.len() > MAX_FILE_BYTES {
        return Err(format!("it is larger than the limit of {} MiB", MAX_FILE_BYTES >> 20));
    }
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Err("it is UTF-16 text; save it as UTF-8".to_owned());
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let read = error.as_bytes().get(..at).map_or("", |read| str::from_utf8(read).unwrap_or(""));
        let line = read.matches('\n').count() + 1;
        let column = read.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        let byte = error.as_bytes().get(at).copied().unwrap_or(0);
        format!("it is not UTF-8 text: byte 0x{byte:02X} at line {line}, column {column}; save it as UTF-8")
    })
}
