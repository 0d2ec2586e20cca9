//! The files of the notation in the project's folders.

use std::path::{Path, PathBuf};

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Those that stand directly in a folder of the project.
pub fn in_folder(folder: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root().join(folder)).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<PathBuf> = entries.filter(|path| path.extension().is_some_and(|own| own == "kp")).collect();
    files.sort();
    files
}

/// Those in a folder and in all below it; none where there is no such folder.
pub fn under(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut files = Vec::new();
    for path in entries.map(|entry| entry.unwrap().path()) {
        if path.is_dir() {
            files.extend(under(&path));
        } else if path.extension().is_some_and(|own| own == "kp") {
            files.push(path);
        }
    }
    files.sort();
    files
}
