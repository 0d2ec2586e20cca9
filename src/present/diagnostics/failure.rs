//! What could not be done with a file, in each format of findings.
//!
//! Must not know: files; how a finding is made.

use serde_json::json;

use crate::base::escaped_json;
use crate::present::escape::{command_data as data, command_property as property};

/// Something that could not be done with a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// The file that was named.
    pub file: String,
    pub undone: Undone,
    /// Why, in a sentence that names the file.
    pub message: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Undone {
    Reading,
    /// Its corrections could not be written.
    Correcting,
}

impl Undone {
    /// What would have been so, had it been done.
    pub const fn wanted(self) -> &'static str {
        match self {
            Undone::Reading => "can be read",
            Undone::Correcting => "can be corrected",
        }
    }

    const fn done(self) -> &'static str {
        match self {
            Undone::Reading => "read",
            Undone::Correcting => "corrected",
        }
    }
}

impl Failure {
    /// `{"file","failure"}`, on one line without its newline.
    pub fn json_line(&self) -> String {
        escaped_json(json!({ "file": self.file, "failure": self.message }).to_string())
    }

    /// A workflow command, without its newline.
    pub fn github_line(&self) -> String {
        format!("::error file={},title=not {}::{}", property(&self.file), self.undone.done(), data(&self.message))
    }
}
