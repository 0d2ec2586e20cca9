//! Diagnostics as a log of the Static Analysis Results Interchange Format,
//! SARIF 2.1.0 (OASIS standard, 27 March 2020).
//!
//! Must not know: how a finding is made.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::closing::closed;
use super::failure::Failure;
use super::json::{correction, graded_cures, without_nulls};
use super::place::{ends, file_of, line_at};
use super::summary::paragraphs;
use crate::base::{FileId, Files, Origin, escaped_json};
use crate::check::closing::Closing;
use crate::diagnostic::{Diagnostic, Severity, Slug};

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json";

/// The log of one run over any number of files.
#[derive(Debug, Default)]
pub struct SarifLog {
    results: Vec<(Slug, Value)>,
    /// How often a fingerprint has been given.
    given: BTreeMap<u64, u32>,
    notifications: Vec<Value>,
    /// The closing object of each file.
    checked: Vec<Value>,
}

impl SarifLog {
    pub fn new() -> Self {
        SarifLog::default()
    }

    /// Takes in what was found about one project, and how its check ends.
    pub fn add(&mut self, diagnostics: &[Diagnostic], files: &Files, closing: &Closing) {
        self.checked.push(closed(json!({ "file": files.name(file_of(None)) }), closing));
        for diagnostic in diagnostics {
            let entry = self.entry(diagnostic, files);
            self.results.push((diagnostic.slug, entry));
        }
    }

    /// Takes in that something could not be done.
    pub fn add_failure(&mut self, failure: &Failure) {
        self.notifications.push(json!({ "level": "error", "message": message(&failure.message) }));
    }

    /// The log as JSON, ended by a newline. Only the rules that have results
    /// are listed, in the order of their slugs.
    pub fn render(mut self) -> String {
        let mut slugs: Vec<Slug> = self.results.iter().map(|(slug, _)| *slug).collect();
        slugs.sort_unstable_by_key(|slug| slug.word());
        slugs.dedup();
        for (slug, entry) in &mut self.results {
            let index = slugs.iter().position(|known| known == slug);
            if let (Some(place), Some(index)) = (entry.get_mut("ruleIndex"), index) {
                *place = index.into();
            }
        }
        let is_done = self.notifications.is_empty();
        let invocation =
            json!({ "executionSuccessful": is_done, "toolExecutionNotifications": listed(self.notifications) });
        let driver = json!({
            "name": "Kingpost",
            "semanticVersion": env!("CARGO_PKG_VERSION"),
            "rules": slugs.into_iter().map(rule).collect::<Vec<_>>(),
        });
        let run = json!({
            "tool": { "driver": driver },
            "invocations": [without_nulls(invocation)],
            "columnKind": "unicodeCodePoints",
            "properties": { "checked": self.checked },
            "results": self.results.into_iter().map(|(_, entry)| entry).collect::<Vec<_>>(),
        });
        escaped_json(format!("{:#}\n", json!({ "$schema": SCHEMA, "version": "2.1.0", "runs": [run] })))
    }

    fn entry(&mut self, diagnostic: &Diagnostic, files: &Files) -> Value {
        let mut labels = diagnostic.labels.iter();
        let place = match labels.next() {
            Some(label) => location(None, label.at, &label.text, files),
            None => json!({ "physicalLocation": { "artifactLocation": artifact(file_of(None), files) } }),
        };
        let related = labels.zip(1..).map(|(label, id)| location(Some(id), label.at, &label.text, files));
        without_nulls(json!({
            // The place of its rule in the list, once that is known.
            "ruleIndex": 0,
            "ruleId": diagnostic.slug.word(),
            "level": level(diagnostic.severity),
            "message": message(&paragraphs(diagnostic)),
            "locations": [place],
            "relatedLocations": listed(related.collect()),
            "partialFingerprints": { "finding/v1": self.fingerprint(diagnostic, files) },
            "fixes": fix(diagnostic, files).map(|fix| [fix]),
            "properties": cures(diagnostic, files),
        }))
    }

    /// What stays the same when lines move: the kind of finding, the text of
    /// its line with blanks evened out, the text it points at, and which of
    /// several alike it is.
    fn fingerprint(&mut self, diagnostic: &Diagnostic, files: &Files) -> String {
        let even = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let (line, inside) = diagnostic.place().map_or((String::new(), String::new()), |at| {
            (even(beginning(line_at(at, files))), even(beginning(at.span.text(files.text(at.file)))))
        });
        let file = files.name(file_of(diagnostic.place()));
        let key = format!("{}\n{file}\n{line}\n{inside}", diagnostic.slug.word());
        let hash = fnv1a(key.as_bytes());
        let given = self.given.entry(hash).or_default();
        *given += 1;
        format!("{hash:016x}:{given}")
    }
}

/// Of a line longer than this, bytes, the beginning tells it from others.
const LONG_LINE: usize = 4_096;

/// As much of a text as goes into a fingerprint.
fn beginning(text: &str) -> &str {
    (0..4).find_map(|back| text.get(..LONG_LINE - back)).unwrap_or(text)
}

/// 64-bit FNV-1a: the same on every machine and in every release.
/// (Fowler, Noll, Vo; offset basis and prime as published.)
fn fnv1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

const fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information => "note",
    }
}

/// A list that is left out where it is empty.
fn listed(entries: Vec<Value>) -> Option<Vec<Value>> {
    (!entries.is_empty()).then_some(entries)
}

fn message(text: &str) -> Value {
    json!({ "text": text })
}

fn rule(slug: Slug) -> Value {
    let page = slug.page();
    // The heading is the slug, which a reader of the log has seen.
    let text = page.split_once('\n').map_or(page, |(_, rest)| rest).trim();
    json!({
        "id": slug.word(),
        "shortDescription": message(slug.summary()),
        "help": { "text": text, "markdown": text },
        "defaultConfiguration": { "level": level(slug.severity()) },
    })
}

/// The certain correction, as one change of each file it touches.
fn fix(diagnostic: &Diagnostic, files: &Files) -> Option<Value> {
    let mut changes: Vec<(FileId, Vec<Value>)> = Vec::new();
    for edit in &diagnostic.edits {
        let replacement = json!({
            "deletedRegion": region(Origin::new(edit.file, edit.span), files),
            "insertedContent": message(&edit.replacement),
        });
        match changes.iter_mut().find(|(file, _)| *file == edit.file) {
            Some((_, replacements)) => replacements.push(replacement),
            None => changes.push((edit.file, vec![replacement])),
        }
    }
    let change = |(file, replacements): (FileId, Vec<Value>)| json!({ "artifactLocation": artifact(file, files), "replacements": replacements });
    let changes = listed(changes.into_iter().map(change).collect())?;
    Some(json!({ "description": message(correction(diagnostic)), "artifactChanges": changes }))
}

/// The cures that are no certain correction: a property, so that no tool takes
/// them for one; its keys in the order of their letters.
fn cures(diagnostic: &Diagnostic, files: &Files) -> Option<Value> {
    let mut cures = json!({ "cures": listed(graded_cures(diagnostic, files))? });
    cures.sort_all_objects();
    Some(cures)
}

fn location(id: Option<usize>, at: Origin, text: &str, files: &Files) -> Value {
    let physical = json!({ "artifactLocation": artifact(at.file, files), "region": region(at, files) });
    without_nulls(json!({ "id": id, "physicalLocation": physical, "message": message(text) }))
}

fn artifact(file: FileId, files: &Files) -> Value {
    json!({ "uri": uri(files.name(file)) })
}

fn region(at: Origin, files: &Files) -> Value {
    let [start, end] = ends(at, files);
    json!({ "startLine": start.line, "startColumn": start.column, "endLine": end.line, "endColumn": end.column })
}

/// A file's name as a URI reference (RFC 3986): relative as it is given,
/// `file:` where it is absolute.
fn uri(name: &str) -> String {
    let name = name.replace('\\', "/");
    let (prefix, path) = if name.starts_with('/') {
        ("file://", name.as_str())
    } else if name.get(1..3) == Some(":/") {
        ("file:///", name.as_str())
    } else {
        ("", name.strip_prefix("./").unwrap_or(&name))
    };
    let mut uri = prefix.to_owned();
    for byte in path.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => uri.push(char::from(byte)),
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn names_become_uri_references() {
        let cases = [
            ("loads/roof.kp", "loads/roof.kp"),
            ("./roof 3.kp", "roof%203.kp"),
            ("/srv/hall.kp", "file:///srv/hall.kp"),
            ("C:\\hall.kp", "file:///C%3A/hall.kp"),
            ("a:b.kp", "a%3Ab.kp"),
            ("桁.kp", "%E6%A1%81.kp"),
            ("<stdin>", "%3Cstdin%3E"),
        ];
        for (name, wanted) in cases {
            assert_eq!(uri(name), wanted);
        }
    }

    /// Published test vectors of the hash.
    #[test]
    fn the_hash_is_the_published_one() {
        assert_eq!(
            [fnv1a(b""), fnv1a(b"a"), fnv1a(b"foobar")],
            [0xcbf2_9ce4_8422_2325, 0xaf63_dc4c_8601_ec8c, 0x8594_4171_f739_67e8]
        );
    }
}
