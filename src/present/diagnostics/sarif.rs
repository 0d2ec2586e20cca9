//! Diagnostics as a log of the Static Analysis Results Interchange Format,
//! SARIF 2.1.0 (OASIS standard, 27 March 2020).
//!
//! Must not know: how a finding is made.

use std::collections::BTreeMap;

use serde::Serialize;

use super::closing::{ClosingFile, ClosingLine};
use super::failure::Failure;
use super::json::{correction, cure_lines};
use super::place::{ends, file_of, line_at};
use super::summary::paragraphs;
use crate::base::{Files, Origin, escaped_json};
use crate::check::closing::Closing;
use crate::diagnostic::{Diagnostic, Edit, Severity, Slug};

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json";

/// The log of one run over any number of files.
#[derive(Debug, Default)]
pub struct SarifLog {
    results: Vec<(Slug, ResultEntry)>,
    /// How often a fingerprint has been given.
    given: BTreeMap<u64, u32>,
    notifications: Vec<Notification>,
    checked: Vec<(String, ClosingLine)>,
}

impl SarifLog {
    pub fn new() -> Self {
        SarifLog::default()
    }

    /// Takes in what was found about one project, and how its check ends.
    pub fn add(&mut self, diagnostics: &[Diagnostic], files: &Files, closing: &Closing) {
        self.checked.push((files.name(file_of(None)).to_owned(), ClosingLine::of(closing)));
        for diagnostic in diagnostics {
            let entry = self.entry(diagnostic, files);
            self.results.push((diagnostic.slug, entry));
        }
    }

    /// Takes in that something could not be done.
    pub fn add_failure(&mut self, failure: &Failure) {
        self.notifications.push(Notification { level: "error", message: Message::plain(failure.message.as_str()) });
    }

    /// The log as JSON, ended by a newline. Only the rules that have results
    /// are listed, in the order of their slugs.
    pub fn render(&self) -> String {
        let mut slugs: Vec<Slug> = self.results.iter().map(|(slug, _)| *slug).collect();
        slugs.sort_unstable_by_key(|slug| slug.word());
        slugs.dedup();
        let index = |slug: &Slug| slugs.iter().position(|known| known == slug).unwrap_or(0);
        let log = Log {
            schema: SCHEMA,
            version: "2.1.0",
            runs: [Run {
                tool: Tool {
                    driver: Driver {
                        name: "Kingpost",
                        semantic_version: env!("CARGO_PKG_VERSION"),
                        rules: slugs.iter().copied().map(Rule::of).collect(),
                    },
                },
                invocations: [Invocation {
                    execution_successful: self.notifications.is_empty(),
                    tool_execution_notifications: &self.notifications,
                }],
                column_kind: "unicodeCodePoints",
                properties: Properties {
                    checked: self
                        .checked
                        .iter()
                        .map(|(file, closing)| ClosingFile { file, closing: closing.clone() })
                        .collect(),
                },
                results: self.results.iter().map(|(slug, entry)| Numbered { rule_index: index(slug), entry }).collect(),
            }],
        };
        // Writing strings and whole numbers to memory cannot fail.
        escaped_json(serde_json::to_string_pretty(&log).unwrap_or_default() + "\n")
    }

    fn entry(&mut self, diagnostic: &Diagnostic, files: &Files) -> ResultEntry {
        let mut labels = diagnostic.labels.iter();
        let first = labels.next();
        let location = match first {
            Some(label) => place(label.at, files).saying(&label.text),
            None => Place::of_file(files.name(file_of(None))),
        };
        let related =
            labels.zip(1..).map(|(label, id)| Place { id: Some(id), ..place(label.at, files).saying(&label.text) });
        ResultEntry {
            rule_id: diagnostic.slug.word(),
            level: level(diagnostic.severity),
            message: Message::plain(paragraphs(diagnostic)),
            locations: [location],
            related_locations: related.collect(),
            partial_fingerprints: Fingerprints { finding: self.fingerprint(diagnostic, files) },
            fixes: fixes(diagnostic, files),
            properties: cures(diagnostic, files),
        }
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

/// The certain correction, as one change of each file it touches.
fn fixes(diagnostic: &Diagnostic, files: &Files) -> Vec<Fix> {
    if diagnostic.edits.is_empty() {
        return Vec::new();
    }
    let mut changes: Vec<ArtifactChange> = Vec::new();
    for edit in &diagnostic.edits {
        let uri = uri(files.name(edit.file));
        let replacement = replacement(edit, files);
        match changes.iter_mut().find(|change| change.artifact_location.uri == uri) {
            Some(change) => change.replacements.push(replacement),
            None => changes
                .push(ArtifactChange { artifact_location: ArtifactLocation { uri }, replacements: vec![replacement] }),
        }
    }
    vec![Fix { description: Message::plain(correction(diagnostic)), artifact_changes: changes }]
}

/// The cures that are no certain correction: a property, so that no tool takes
/// them for one.
fn cures(diagnostic: &Diagnostic, files: &Files) -> Option<serde_json::Value> {
    if diagnostic.cures.is_empty() {
        return None;
    }
    let lines = cure_lines(diagnostic, files);
    let graded = lines.get(usize::from(!diagnostic.edits.is_empty())..).unwrap_or_default();
    Some(serde_json::json!({ "cures": graded }))
}

fn replacement(edit: &Edit, files: &Files) -> Replacement {
    let deleted_region = region(Origin::new(edit.file, edit.span), files);
    Replacement { deleted_region, inserted_content: Message::plain(edit.replacement.as_str()) }
}

fn place(at: Origin, files: &Files) -> Place {
    let mut place = Place::of_file(files.name(at.file));
    place.physical_location.region = Some(region(at, files));
    place
}

fn region(at: Origin, files: &Files) -> Region {
    let (start, end) = ends(at, files);
    Region { start_line: start.line, start_column: start.column, end_line: end.line, end_column: end.column }
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

#[derive(Serialize)]
struct Log<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Run<'a> {
    tool: Tool,
    invocations: [Invocation<'a>; 1],
    column_kind: &'static str,
    properties: Properties<'a>,
    results: Vec<Numbered<'a>>,
}

/// The closing object of each file.
#[derive(Serialize)]
struct Properties<'a> {
    checked: Vec<ClosingFile<'a>>,
}

#[derive(Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Driver {
    name: &'static str,
    semantic_version: &'static str,
    rules: Vec<Rule>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Rule {
    id: &'static str,
    short_description: Message,
    help: Help,
    default_configuration: Configuration,
}

impl Rule {
    fn of(slug: Slug) -> Rule {
        let page = slug.page();
        // The heading is the slug, which a reader of the log has seen.
        let text = page.split_once('\n').map_or(page, |(_, rest)| rest).trim();
        Rule {
            id: slug.word(),
            short_description: Message::plain(slug.summary()),
            help: Help { text, markdown: text },
            default_configuration: Configuration { level: level(slug.severity()) },
        }
    }
}

#[derive(Serialize)]
struct Help {
    text: &'static str,
    markdown: &'static str,
}

#[derive(Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Invocation<'a> {
    execution_successful: bool,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    tool_execution_notifications: &'a [Notification],
}

#[derive(Debug, Serialize)]
struct Notification {
    level: &'static str,
    message: Message,
}

/// A result with the place of its rule in the list.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Numbered<'a> {
    rule_index: usize,
    #[serde(flatten)]
    entry: &'a ResultEntry,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct ResultEntry {
    rule_id: &'static str,
    level: &'static str,
    message: Message,
    locations: [Place; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Place>,
    partial_fingerprints: Fingerprints,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<Fix>,
    #[serde(skip_serializing_if = "Option::is_none")]
    properties: Option<serde_json::Value>,
}

#[derive(Debug, Serialize)]
struct Fingerprints {
    #[serde(rename = "finding/v1")]
    finding: String,
}

#[derive(Debug, Serialize)]
struct Message {
    text: String,
}

impl Message {
    fn plain(text: impl Into<String>) -> Message {
        Message { text: text.into() }
    }
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Place {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: PhysicalLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Message>,
}

impl Place {
    fn of_file(name: &str) -> Place {
        let artifact_location = ArtifactLocation { uri: uri(name) };
        Place { id: None, physical_location: PhysicalLocation { artifact_location, region: None }, message: None }
    }

    fn saying(self, text: &str) -> Place {
        Place { message: Some(Message::plain(text)), ..self }
    }
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct PhysicalLocation {
    artifact_location: ArtifactLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    region: Option<Region>,
}

#[derive(Debug, Serialize)]
struct ArtifactLocation {
    uri: String,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: usize,
    start_column: usize,
    end_line: usize,
    end_column: usize,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Fix {
    description: Message,
    artifact_changes: Vec<ArtifactChange>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct ArtifactChange {
    artifact_location: ArtifactLocation,
    replacements: Vec<Replacement>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Replacement {
    deleted_region: Region,
    inserted_content: Message,
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
