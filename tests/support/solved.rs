//! A text checked and solved in this process, with its results as the program
//! writes them.

use kingpost::base::FileId;
use kingpost::check::{Checked, check};
use kingpost::diagnostic::Severity;
use kingpost::present::results::{Answer, write_json};
use kingpost::statics::TravelResult;
use kingpost::structure::{SourceRefusal, read_project};
use serde_json::Value;

pub struct Solved {
    pub checked: Checked,
    /// The JSON document, byte for byte.
    pub document: String,
    pub json: Value,
}

pub fn solve(text: &str) -> Solved {
    let project =
        read_project("test.kp", text.to_owned(), &mut |_| Err(SourceRefusal("there is no other file".to_owned())));
    let checked = check(&project);
    let mut out = Vec::new();
    let travels: Vec<&TravelResult> = checked.solution.iter().flat_map(|solution| &solution.travels).collect();
    let answer = Answer::of(project.files.name(FileId(0)), &checked, &travels);
    write_json(&mut out, &answer, &|_| true).unwrap();
    let document = String::from_utf8(out).unwrap();
    let json = serde_json::from_str(&document).unwrap();
    Solved { checked, document, json }
}

impl Solved {
    /// `slug: message` of every error.
    pub fn errors(&self) -> Vec<String> {
        let errors = self.checked.diagnostics.iter().filter(|found| found.severity == Severity::Error);
        errors.map(|found| format!("{}: {}", found.slug.word(), found.message)).collect()
    }

    pub fn slugs(&self) -> Vec<&'static str> {
        self.checked.diagnostics.iter().map(|found| found.slug.word()).collect()
    }

    /// The verdict's word, the degree of redundancy and the mechanisms.
    pub fn verdict(&self) -> (String, u64, u64) {
        let structure = &self.json["structure"];
        let count = |key: &str| structure[key].as_u64().unwrap();
        (structure["verdict"].as_str().unwrap().to_owned(), count("redundancy"), count("mechanisms"))
    }

    /// The case or combination of that name.
    pub fn case(&self, name: &str) -> &Value {
        find(&self.json["cases"], "name", name)
    }
}

/// The entry of an array whose `key` is `name`.
pub fn find<'a>(list: &'a Value, key: &str, name: &str) -> &'a Value {
    let entries = list.as_array().unwrap_or_else(|| panic!("a list with {key} {name}, not {list}"));
    entries.iter().find(|entry| entry[key] == *name).unwrap_or_else(|| panic!("no {key} {name}"))
}

/// The value of an extreme of a member, the most or the least, and where.
pub fn extreme(member: &Value, quantity: &str, sign: f64) -> Option<(f64, f64)> {
    let all = member["extremes"].as_array()?.iter().filter(|entry| entry["quantity"] == *quantity);
    let read = all.map(|entry| (entry["value"].as_f64().unwrap(), entry["at"].as_f64().unwrap()));
    read.max_by(|(a, _), (b, _)| (a * sign).total_cmp(&(b * sign)))
}
