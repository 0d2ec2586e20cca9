//! Files from disk, or standard input, as projects.

use std::io::Read;
use std::path::{Path, PathBuf};

use crate::structure::{Project, SourceRefusal, read_project};
use crate::syntax::limits::MAX_FILE_BYTES;

/// Reads a root file and all it uses; the message says why it cannot be read.
pub fn read(path: &Path) -> Result<Project, String> {
    if path == Path::new("-") {
        let text = standard_input()?;
        let folder = folder_of(path);
        return Ok(read_project("<stdin>", text, &mut |used| read_used(&folder, used)));
    }
    let text = read_text(path).map_err(|why| format!("cannot read {}: {why}", path.display()))?;
    let folder = folder_of(path);
    Ok(read_project(&path.to_string_lossy(), text, &mut |used| read_used(&folder, used)))
}

/// The folder that a file's paths start from.
pub fn folder_of(path: &Path) -> PathBuf {
    path.parent().map_or_else(PathBuf::new, Path::to_path_buf)
}

fn standard_input() -> Result<String, String> {
    let limit = u64::try_from(MAX_FILE_BYTES).unwrap_or(u64::MAX);
    let mut bytes = Vec::new();
    let read = std::io::stdin().lock().take(limit + 1).read_to_end(&mut bytes);
    read.map_err(|error| format!("cannot read standard input: {error}"))?;
    decode(bytes).map_err(|why| format!("cannot read standard input: {why}"))
}

fn read_text(path: &Path) -> Result<String, String> {
    let limit = u64::try_from(MAX_FILE_BYTES).unwrap_or(u64::MAX);
    let file = std::fs::File::open(path).map_err(|error| plain(&error))?;
    let about = file.metadata().map_err(|error| plain(&error))?;
    if about.is_dir() {
        return Err("it is a folder".to_owned());
    }
    let mut bytes = Vec::with_capacity(usize::try_from(about.len().min(limit)).unwrap_or(0));
    file.take(limit + 1).read_to_end(&mut bytes).map_err(|error| plain(&error))?;
    decode(bytes)
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

pub fn plain(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        _ => error.to_string(),
    }
}

/// A used file. A link that leads out of the root file's folder is refused.
pub fn read_used(folder: &Path, used: &str) -> Result<String, SourceRefusal> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let path = folder.join(used);
    let real = |path: &Path| path.canonicalize().map_err(|error| SourceRefusal(plain(&error)));
    if !real(&path)?.starts_with(real(folder)?) {
        return Err(SourceRefusal("it leads out of the folder of the file that is being read".to_owned()));
    }
    read_text(&path).map_err(SourceRefusal)
}
