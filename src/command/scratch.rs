//! Files that are written beside their place and then put there in one step.
//! None stays behind, even where a signal ends the run.

use std::fs::{self, Permissions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tempfile::NamedTempFile;

/// Where files are being written. A signal waits while this is held.
static OPEN: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

fn open() -> MutexGuard<'static, Vec<PathBuf>> {
    OPEN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A new text of a file; dropped without [`put`], nothing is left of it.
#[derive(Debug)]
pub struct Scratch(NamedTempFile);

impl Scratch {
    /// Beside a place, with the permissions and the further attributes of the
    /// file that is there now, if one is.
    pub fn beside(place: &Path) -> io::Result<Scratch> {
        watch();
        let folder = super::read::folder_of(place);
        let now = fs::metadata(place).ok();
        let mut builder = tempfile::Builder::new();
        builder.prefix(".kingpost-");
        if let Some(permissions) = usual_permissions().filter(|_| now.is_none()) {
            builder.permissions(permissions);
        }
        let file = {
            let mut open = open();
            let file = builder.tempfile_in(folder)?;
            open.push(file.path().to_path_buf());
            file
        };
        if let Some(now) = now {
            file.as_file().set_permissions(now.permissions())?;
            keep_attributes(place, file.path());
        }
        Ok(Scratch(file))
    }

    pub fn file(&self) -> &fs::File {
        self.0.as_file()
    }
}

impl Write for Scratch {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// Puts files where they go, in order. Where one cannot be put, says how many
/// have been; a signal waits until all are.
pub fn put(files: Vec<(PathBuf, Scratch)>) -> Result<(), (usize, io::Error)> {
    for (_, file) in &files {
        file.file().sync_all().map_err(|error| (0, error))?;
    }
    let _signals_wait = open();
    for (index, (place, file)) in files.into_iter().enumerate() {
        file.0.persist(&place).map_err(|error| (index, error.error))?;
        // A new name is on the disk when its folder is; where a folder cannot be
        // synced the file system looks after that itself.
        if let Ok(folder) = fs::File::open(super::read::folder_of(&place)) {
            let _ = folder.sync_all();
        }
    }
    Ok(())
}

/// Those of any new file, less what the user's mask takes away.
#[cfg(unix)]
fn usual_permissions() -> Option<Permissions> {
    Some(std::os::unix::fs::PermissionsExt::from_mode(0o666))
}

#[cfg(not(unix))]
fn usual_permissions() -> Option<Permissions> {
    None
}

/// Extended attributes, those that may be set: some belong to the system alone.
#[cfg(unix)]
fn keep_attributes(from: &Path, to: &Path) {
    for name in xattr::list(from).into_iter().flatten() {
        if let Ok(Some(value)) = xattr::get(from, &name) {
            let _ = xattr::set(to, &name, &value);
        }
    }
}

#[cfg(not(unix))]
fn keep_attributes(_: &Path, _: &Path) {}

/// From the first file on, a signal that ends the run takes the files that are
/// not in their places with it.
#[cfg(unix)]
fn watch() {
    use std::sync::Once;

    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;

    static WATCH: Once = Once::new();
    WATCH.call_once(|| {
        let heeded = [SIGHUP, SIGINT, SIGTERM].into_iter().filter(|signal| !is_ignored(*signal));
        let Ok(mut signals) = Signals::new(heeded) else { return };
        std::thread::spawn(move || {
            for signal in signals.forever() {
                let open = open();
                for path in open.iter() {
                    let _ = fs::remove_file(path);
                }
                // Ends the process as the signal would have, files held back until then.
                let _ = emulate_default_handler(signal);
            }
        });
    });
}

/// Whether the run was begun with a signal that is not to reach it, as `nohup`
/// does. Where the system does not tell, it is not.
#[cfg(unix)]
fn is_ignored(signal: i32) -> bool {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
    let mask = mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok()).unwrap_or(0);
    mask >> (signal - 1) & 1 == 1
}

#[cfg(not(unix))]
fn watch() {}
