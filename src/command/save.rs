//! A file written whole or not at all: beside its place first, then renamed.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::read;

/// Writes a file; where that fails, what was there before still is.
pub fn save(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut pending = Pending::begin(path)?;
    pending.write_all(bytes)?;
    pending.place()
}

/// Why a file could not be written, in one line.
pub fn refusal(path: &Path, error: &io::Error) -> String {
    let why = match error.kind() {
        io::ErrorKind::NotFound => "there is no such folder".to_owned(),
        _ => read::plain(error),
    };
    format!("cannot write {}: {why}", path.display())
}

/// A file that is not there before [`Pending::place`]; dropped without it,
/// nothing is left of it.
pub struct Pending {
    /// Where it goes, links followed: a link stays a link.
    path: PathBuf,
    bytes: Bytes,
}

enum Bytes {
    Beside(BufWriter<NamedTempFile>),
    /// A device or a pipe keeps nothing that could be half-written, and must
    /// not be replaced.
    Straight(BufWriter<File>),
}

impl Pending {
    pub fn begin(path: &Path) -> io::Result<Pending> {
        let path = if path.is_symlink() { fs::canonicalize(path)? } else { path.to_path_buf() };
        let about = fs::metadata(&path).ok();
        if about.as_ref().is_some_and(fs::Metadata::is_dir) {
            return Err(io::Error::other("it is a folder"));
        }
        if about.as_ref().is_some_and(|about| !about.is_file()) {
            let bytes = Bytes::Straight(BufWriter::new(OpenOptions::new().write(true).open(&path)?));
            return Ok(Pending { path, bytes });
        }
        if about.as_ref().is_some_and(|about| about.permissions().readonly()) {
            return Err(io::Error::other("it is read-only"));
        }
        if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("kp")) {
            return Err(io::Error::other("a name that ends in .kp is a structure's; give it another"));
        }
        if path.file_name().is_none() {
            return Err(io::Error::other("it names no file"));
        }
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut builder = tempfile::Builder::new();
        builder.prefix(".kingpost-");
        if let Some(permissions) = about.map(|about| about.permissions()).or_else(usual_permissions) {
            builder.permissions(permissions);
        }
        let bytes = Bytes::Beside(BufWriter::with_capacity(1 << 18, builder.tempfile_in(folder)?));
        Ok(Pending { path, bytes })
    }

    /// Puts the file where it goes, in one step.
    pub fn place(self) -> io::Result<()> {
        match self.bytes {
            Bytes::Straight(mut out) => out.flush(),
            Bytes::Beside(out) => {
                let file = out.into_inner().map_err(io::IntoInnerError::into_error)?;
                file.as_file().sync_all()?;
                file.persist(&self.path).map_err(|error| error.error)?;
                Ok(())
            }
        }
    }
}

impl Write for Pending {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut self.bytes {
            Bytes::Beside(out) => out.write(bytes),
            Bytes::Straight(out) => out.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match &mut self.bytes {
            Bytes::Beside(out) => out.flush(),
            Bytes::Straight(out) => out.flush(),
        }
    }
}

/// Those of any new file, less what the user's mask takes away.
#[cfg(unix)]
fn usual_permissions() -> Option<fs::Permissions> {
    Some(std::os::unix::fs::PermissionsExt::from_mode(0o666))
}

#[cfg(not(unix))]
fn usual_permissions() -> Option<fs::Permissions> {
    None
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_stays_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("roof.html");
        save(&path, b"one").unwrap();
        save(&path, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_place_that_cannot_be_written_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        assert!(save(folder.path(), b"x").is_err());
        assert!(save(&folder.path().join("nowhere").join("roof.html"), b"x").is_err());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn no_structure_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("roof.kp");
        fs::write(&path, "joint A: (0, 0)").unwrap();
        assert!(save(&path, b"results").is_err());
        assert_eq!(fs::read(&path).unwrap(), b"joint A: (0, 0)");
    }

    #[test]
    fn what_is_begun_and_not_placed_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("roof.txt");
        save(&path, b"old").unwrap();
        Pending::begin(&path).unwrap().write_all(b"half").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn links_stay_links_and_permissions_stay() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (folder.path().join("roof.txt"), folder.path().join("latest.txt"));
        save(&path, b"old").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&path, &link).unwrap();
        save(&link, b"new").unwrap();
        assert!(link.is_symlink());
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
        fs::set_permissions(&path, fs::Permissions::from_mode(0o440)).unwrap();
        assert!(save(&path, b"newer").is_err());
    }

    #[cfg(unix)]
    #[test]
    fn devices_are_written_to_and_stay() {
        save(Path::new("/dev/null"), b"gone").unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
    }
}
