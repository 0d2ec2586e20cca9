//! Where a page goes: standard output, or a file that is written whole or not
//! at all and never over one that was read.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use crate::base::shown;

use super::read::{self, Reader};
use super::scratch::{self, Scratch};
use super::standard::Standard;
use super::{Exit, complain};

/// The file to write; none where standard output is asked for.
pub fn file_of(output: Option<&Path>) -> Option<&Path> {
    output.filter(|path| *path != Path::new(read::STANDARD))
}

/// Writes a page where it was asked for, and says where a file is.
pub fn deliver(output: Option<&Path>, bytes: &[u8], reader: &Reader) -> io::Result<Exit> {
    let Some(path) = file_of(output) else {
        Standard::Output.write_all(bytes)?;
        return Ok(Exit::Fine);
    };
    if let Err(error) = save(path, bytes, reader) {
        complain(&refusal(path, &error));
        return Ok(Exit::CouldNotRun);
    }
    tell_written(path)?;
    Ok(Exit::Fine)
}

/// Says that a file was written.
pub fn tell_written(path: &Path) -> io::Result<()> {
    writeln!(Standard::Output, "{}", shown(&path.to_string_lossy()))
}

/// Writes a file; where that fails, what was there before still is.
fn save(path: &Path, bytes: &[u8], reader: &Reader) -> io::Result<()> {
    let mut pending = Pending::begin(path, reader)?;
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
pub struct Pending<'r> {
    /// Where it goes, links followed: a link stays a link.
    path: PathBuf,
    /// Opened with the first byte: what there is to write is worked out before.
    bytes: Option<Bytes>,
    reader: &'r Reader,
}

enum Bytes {
    Beside(BufWriter<Scratch>),
    /// A device or a pipe keeps nothing that could be half-written, and must
    /// not be replaced.
    Straight(BufWriter<File>),
}

impl Pending<'_> {
    /// Refuses at once what could not be written in the end.
    pub fn begin<'r>(path: &Path, reader: &'r Reader) -> io::Result<Pending<'r>> {
        let path = followed(path)?;
        let about = fs::metadata(&path).ok();
        let refuse = |why: &str| Err(io::Error::other(why.to_owned()));
        if about.as_ref().is_some_and(fs::Metadata::is_dir) {
            return refuse("it is a folder");
        }
        if about.as_ref().is_none_or(fs::Metadata::is_file) {
            if about.as_ref().is_some_and(|about| about.permissions().readonly()) {
                return refuse("it is read-only");
            }
            if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("kp")) {
                return refuse("names ending in .kp are for structures; choose another");
            }
            if path.file_name().is_none() {
                return refuse("it names no file");
            }
            fs::metadata(read::folder_of(&path))?;
        }
        Ok(Pending { path, bytes: None, reader })
    }

    fn bytes(&mut self) -> io::Result<&mut dyn Write> {
        let bytes = match self.bytes.take() {
            Some(bytes) => bytes,
            None => self.open()?,
        };
        Ok(match self.bytes.insert(bytes) {
            Bytes::Beside(out) => out,
            Bytes::Straight(out) => out,
        })
    }

    fn open(&self) -> io::Result<Bytes> {
        if fs::metadata(&self.path).is_ok_and(|about| !about.is_file()) {
            return Ok(Bytes::Straight(BufWriter::new(OpenOptions::new().write(true).open(&self.path)?)));
        }
        self.not_read()?;
        Ok(Bytes::Beside(BufWriter::with_capacity(1 << 18, Scratch::beside(&self.path)?)))
    }

    fn not_read(&self) -> io::Result<()> {
        match self.reader.has_read(&self.path) {
            true => Err(io::Error::other("it is one of the files that were read; give another name")),
            false => Ok(()),
        }
    }

    /// Puts the file where it goes, in one step.
    pub fn place(mut self) -> io::Result<()> {
        self.flush()?;
        match self.bytes.take() {
            Some(Bytes::Beside(out)) => {
                self.not_read()?;
                let file = out.into_inner().map_err(io::IntoInnerError::into_error)?;
                scratch::put(vec![(self.path, file)]).map_err(|(_, error)| error)
            }
            Some(Bytes::Straight(_)) | None => Ok(()),
        }
    }
}

/// Where a path leads, also where the last link leads to nothing that is there.
fn followed(path: &Path) -> io::Result<PathBuf> {
    const MOST_LINKS: usize = 40;
    let mut path = path.to_path_buf();
    for _ in 0..MOST_LINKS {
        match fs::read_link(&path) {
            Ok(to) => path = read::folder_of(&path).join(to),
            Err(_) => return Ok(path),
        }
    }
    Err(io::Error::other("it is a link that leads to itself"))
}

impl Write for Pending<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.bytes()?.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.bytes()?.flush()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn save(path: &Path, bytes: &[u8]) -> io::Result<()> {
        super::save(path, bytes, &Reader::default())
    }

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
        Pending::begin(&path, &Reader::default()).unwrap().write_all(b"half").unwrap();
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
