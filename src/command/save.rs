//! A file written whole or not at all: beside its place first, then renamed.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Writes a file; where that fails, what was there before still is.
pub fn save(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if path.is_dir() {
        return Err(io::Error::other("it is a folder"));
    }
    let beside = beside(path)?;
    let written = File::create_new(&beside).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    let placed = written.and_then(|()| fs::rename(&beside, path));
    if placed.is_err() {
        // What was not renamed is of no use; the first error is the one to tell.
        let _ = fs::remove_file(&beside);
    }
    placed
}

/// A name in the same folder, so that renaming moves no bytes.
fn beside(path: &Path) -> io::Result<PathBuf> {
    let name = path.file_name().ok_or_else(|| io::Error::other("it names no file"))?;
    let mut own = std::ffi::OsString::from(".");
    own.push(name);
    own.push(format!(".{}.part", std::process::id()));
    Ok(path.with_file_name(own))
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
}
