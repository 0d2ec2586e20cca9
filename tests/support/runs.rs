//! The program run in a folder of its own, and what it said.

use std::fs;
use std::process::Output;

use tempfile::TempDir;

pub struct Said {
    pub out: String,
    pub errors: String,
    pub exit: i32,
}

impl From<Output> for Said {
    fn from(Output { stdout, stderr, status }: Output) -> Said {
        Said {
            out: String::from_utf8(stdout).unwrap(),
            errors: String::from_utf8(stderr).unwrap(),
            exit: status.code().unwrap(),
        }
    }
}

pub fn folder_with(files: &[(&str, &str)]) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    folder
}
