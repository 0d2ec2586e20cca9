//! Formats for programs: well formed, valid against their schema, escaped, and
//! of one mind with each other about places.
//!
//! The SARIF schema's source is named in `tests/schema/SOURCES.md`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use kingpost::diagnostic::Slug;
use serde_json::Value;

/// A file with what makes escaping and columns hard: tabs, wide and combining
/// letters, signs of XML, per cents, colons and commas, an unseen character.
const HARD: &str = "units m, kN\n\
    joint A: (0, 0)\n\
    joint B: (4, 0)\n\
    joint 橋: (2, 3)\n\
    \tbar A-B, B-橋, 橋-A\n\
    bar A-C // e\u{301} & < > \" ' ]]> %0A ,:\n\
    pin A\n\
    roller B\n\
    load 橋: 5 kN \u{202e}down\n\
    load \"<&>%\": 1 kN down\n";

fn run(arguments: &[&str], input: &str) -> (String, i32) {
    let output = assert_cmd::Command::cargo_bin("kingpost")
        .unwrap()
        .current_dir(ui())
        .args(arguments)
        .write_stdin(input)
        .output()
        .unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code().unwrap())
}

fn ui() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/ui")
}

/// Every case of the UI tests, relative to their folder.
fn cases() -> Vec<String> {
    let mut found = Vec::new();
    for area in fs::read_dir(ui()).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()) {
        for file in fs::read_dir(&area).unwrap().map(|entry| entry.unwrap().path()) {
            if file.extension().is_some_and(|own| own == "kp") {
                found.push(file.strip_prefix(ui()).unwrap().to_str().unwrap().to_owned());
            }
        }
    }
    found.sort();
    assert!(found.len() > 100);
    found
}

fn with_cases(format: &str) -> (String, i32) {
    let cases = cases();
    let mut arguments = vec!["check", "--format", format];
    arguments.extend(cases.iter().map(String::as_str));
    run(&arguments, "")
}

/// The findings, without what closes each file.
fn json_lines(arguments: &[&str], input: &str) -> Vec<Value> {
    let (said, _) = run(arguments, input);
    let lines = said.lines().map(|line| serde_json::from_str(line).unwrap());
    lines.filter(|line: &Value| line.get("slug").is_some()).collect()
}

fn schema() -> jsonschema::Validator {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schema/sarif-2.1.0.json");
    // The published schema has one pattern that is no regular expression, for a run's language, which is not written.
    let text = fs::read_to_string(path).unwrap();
    let readable = text.replace("^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$", "^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}$");
    assert_ne!(text, readable);
    let schema: Value = serde_json::from_str(&readable).unwrap();
    jsonschema::options().should_validate_formats(true).build(&schema).unwrap()
}

fn is_valid(schema: &jsonschema::Validator, log: &str) -> Value {
    let log: Value = serde_json::from_str(log).unwrap();
    let faults: Vec<String> =
        schema.iter_errors(&log).map(|fault| format!("{}: {fault}", fault.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    log
}

#[test]
fn sarif_logs_are_valid() {
    let schema = schema();
    let logs = [
        with_cases("sarif").0,
        run(&["check", "--format", "sarif", "-"], HARD).0,
        run(&["check", "--format", "sarif", "-"], "").0,
        run(&["check", "--format", "sarif", "claims/all-hold.kp"], "").0,
        run(&["check", "--format", "sarif", "missing.kp"], "").0,
    ];
    for log in &logs {
        is_valid(&schema, log);
    }
    // The validator does find what is wrong.
    let broken: Value = serde_json::from_str(&logs[1].replace("\"ruleId\"", "\"rule\"")).unwrap();
    assert!(!schema.is_valid(&broken));
}

#[test]
fn every_rule_of_a_sarif_log_has_its_page_and_every_result_its_rule() {
    let log: Value = serde_json::from_str(&with_cases("sarif").0).unwrap();
    let run = &log["runs"][0];
    let rules = run["tool"]["driver"]["rules"].as_array().unwrap();
    assert!(rules.len() > 30, "{}", rules.len());
    for rule in rules {
        let slug = Slug::from_word(rule["id"].as_str().unwrap()).unwrap();
        let help = rule["help"]["text"].as_str().unwrap();
        assert!(help.starts_with("## What it means") && slug.page().contains(help), "{}", slug.word());
    }
    let mut used = BTreeSet::new();
    for result in run["results"].as_array().unwrap() {
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
        assert_eq!(result["ruleId"], rules[index]["id"]);
        used.insert(index);
    }
    assert_eq!(used.len(), rules.len(), "rules without results are left out");
}

/// Each format names the same findings at the same places.
#[test]
fn the_formats_agree_about_places() {
    let lines = json_lines(&["check", "--format", "json", "-"], HARD);
    assert!(lines.len() >= 3);
    let (log, _) = run(&["check", "--format", "sarif", "-"], HARD);
    let log: Value = serde_json::from_str(&log).unwrap();
    assert_eq!(log["runs"][0]["columnKind"], "unicodeCodePoints");
    let results = log["runs"][0]["results"].as_array().unwrap();
    assert_eq!(results.len(), lines.len());
    let (page, _) = run(&["check", "-"], HARD);
    for (line, result) in lines.iter().zip(results) {
        assert_eq!(line["slug"], result["ruleId"]);
        let location = &result["locations"][0]["physicalLocation"];
        assert_eq!(location["artifactLocation"]["uri"], "%3Cstdin%3E");
        let (start, end) = (&line["labels"][0]["start"], &line["labels"][0]["end"]);
        let region = &location["region"];
        assert_eq!((&region["startLine"], &region["startColumn"]), (&start["line"], &start["column"]));
        assert_eq!((&region["endLine"], &region["endColumn"]), (&end["line"], &end["column"]));
        assert!(page.contains(&format!("<stdin>:{}:{}", start["line"], start["column"])), "{start}");
        // Columns count scalar values: the text under them is what the bytes say.
        let number = |place: &Value, what: &str| usize::try_from(place[what].as_u64().unwrap()).unwrap();
        let text: Vec<&str> = HARD.split('\n').collect();
        let before: String = text[number(start, "line") - 1].chars().take(number(start, "column") - 1).collect();
        let ahead: usize = text[..number(start, "line") - 1].iter().map(|line| line.len() + 1).sum();
        assert_eq!(ahead + before.len(), number(start, "byte"));
        assert_eq!(
            line["labels"].as_array().unwrap().len() - 1,
            result["relatedLocations"].as_array().map_or(0, Vec::len)
        );
    }
}

/// A certain correction in a log does what `--fix` does.
#[test]
fn sarif_fixes_are_the_certain_corrections() {
    let text = "units m, kN\njoint A (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A–B-C-A\npin A\nroller B\nload C: 5 kN down\n";
    let (log, _) = run(&["check", "--format", "sarif", "-"], text);
    let log: Value = serde_json::from_str(&log).unwrap();
    let mut lines: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
    for result in log["runs"][0]["results"].as_array().unwrap() {
        let change = &result["fixes"][0]["artifactChanges"][0];
        let replacement = &change["replacements"][0];
        let region = &replacement["deletedRegion"];
        let number = |what: &str| usize::try_from(region[what].as_u64().unwrap()).unwrap();
        assert_eq!(number("startLine"), number("endLine"));
        let inserted = replacement["insertedContent"]["text"].as_str().unwrap();
        lines[number("startLine") - 1].splice(number("startColumn") - 1..number("endColumn") - 1, inserted.chars());
    }
    let mended: String = lines.into_iter().map(|line| line.into_iter().collect::<String>() + "\n").collect();
    assert_eq!(run(&["check", "--fix", "-"], text).0, mended);
    assert_eq!(run(&["check", "-"], &mended).1, 0);
}

#[test]
fn fingerprints_survive_moved_lines_and_tell_equal_ones_apart() {
    let fingerprints = |text: &str| -> Vec<(String, String)> {
        let log: Value = serde_json::from_str(&run(&["check", "--format", "sarif", "-"], text).0).unwrap();
        let results = log["runs"][0]["results"].as_array().unwrap().clone();
        let of = |result: &Value| {
            let print = result["partialFingerprints"]["finding/v1"].as_str().unwrap().to_owned();
            (result["ruleId"].as_str().unwrap().to_owned(), print)
        };
        let mut found: Vec<_> = results.iter().map(of).collect();
        found.sort();
        found
    };
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\n\
        load D: 5 kN down\nload D: 5 kN down\nload C: 5 kg down\nlet a = 3 m + 2 kN\n";
    let here = fingerprints(text);
    // The two loads of one kind at one place that is not there are one finding.
    assert_eq!(here.len(), 3);
    assert_eq!(here.iter().collect::<BTreeSet<_>>().len(), 3, "{here:?}");
    let mut lines: Vec<&str> = text.lines().collect();
    lines.rotate_right(2);
    let moved = format!("// a note above\n\n{}\n", lines.join("\n").replace("load C: 5 kg", "   load C:  5 kg"));
    assert_eq!(fingerprints(&moved), here);
    assert_ne!(fingerprints(&text.replace("5 kg", "6 kg")), here);
}

#[test]
fn workflow_commands_are_one_line_each_and_escaped() {
    let (said, _) = run(&["check", "--format", "github", "-"], HARD);
    let lines = json_lines(&["check", "--format", "json", "-"], HARD);
    // One more for the verdict.
    assert_eq!(said.lines().count(), lines.len() + 1);
    for (command, line) in said.lines().zip(&lines) {
        let (head, data) = command.strip_prefix("::").unwrap().split_once("::").unwrap();
        let (word, properties) = head.split_once(' ').unwrap();
        assert!(["error", "warning", "notice"].contains(&word));
        let keys: Vec<&str> = properties.split(',').map(|property| property.split_once('=').unwrap().0).collect();
        assert_eq!(keys, ["file", "line", "endLine", "col", "endColumn", "title"]);
        let message = data.replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%");
        assert!(message.starts_with(line["message"].as_str().unwrap()));
    }
    assert!(said.contains("%25"), "a per cent sign is escaped: {said}");
    let (all, _) = with_cases("github");
    assert!(all.lines().all(|line| line.starts_with("::")));
    assert!(all.contains("::notice ") && all.contains("::warning ") && all.contains("::error "));
}

#[test]
fn junit_reports_are_well_formed_and_count_right() {
    let (said, exit) =
        run(&["check", "--format", "junit", "claims/force-fails.kp", "claims/all-hold.kp", "missing.kp"], "");
    assert_eq!(exit, 2);
    let document = roxmltree::Document::parse(&said).unwrap();
    let root = document.root_element();
    let suites: Vec<_> = root.children().filter(roxmltree::Node::is_element).collect();
    assert_eq!(suites.len(), 3);
    assert_eq!(
        suites.iter().map(|suite| suite.attribute("name").unwrap()).collect::<Vec<_>>(),
        ["claims/force-fails.kp", "claims/all-hold.kp", "missing.kp"]
    );
    let count = |node: &roxmltree::Node<'_, '_>, tag: &str| {
        node.descendants()
            .filter(|child| child.has_tag_name("testcase") && child.children().any(|own| own.has_tag_name(tag)))
            .count()
    };
    for suite in suites.iter().chain([&root]) {
        let said = |what: &str| suite.attribute(what).unwrap().parse::<usize>().unwrap();
        assert_eq!(said("tests"), suite.descendants().filter(|child| child.has_tag_name("testcase")).count());
        assert_eq!(
            (said("failures"), said("errors"), said("skipped")),
            (count(suite, "failure"), count(suite, "error"), count(suite, "skipped"))
        );
    }
    assert_eq!((count(&suites[1], "failure"), count(&suites[1], "skipped")), (0, 0));
    assert!(count(&suites[0], "failure") >= 1);
}

#[test]
fn junit_reports_of_everything_are_well_formed_and_name_every_error() {
    for (report, lines) in [
        (with_cases("junit").0, with_cases("json").0),
        (run(&["check", "--format", "junit", "-"], HARD).0, run(&["check", "--format", "json", "-"], HARD).0),
    ] {
        let document = roxmltree::Document::parse(&report).unwrap();
        let failures = document.descendants().filter(|node| node.has_tag_name("failure")).count();
        assert_eq!(failures, lines.lines().filter(|line| line.contains("\"severity\":\"error\"")).count());
    }
}

/// A claim that errors keep from being judged is neither held nor failed.
#[test]
fn junit_skips_claims_that_could_not_be_judged() {
    let text = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B, B-C\npin A\nroller B\nload C: 5 kN down\n\
        expect unstable\nexpect not determinate\nexpect force A-B: 2 kN tension\n";
    let (report, _) = run(&["check", "--format", "junit", "-"], &text.replace("expect unstable\n", ""));
    let document = roxmltree::Document::parse(&report).unwrap();
    let skipped: Vec<_> = document
        .descendants()
        .filter(|node| node.has_tag_name("skipped"))
        .map(|node| node.parent().unwrap().attribute("name").unwrap().to_owned())
        .collect();
    assert_eq!(skipped, ["expect force A-B: 2 kN tension (line 10)"]);
    // Nor is one that a name keeps from being understood; its error is the verdict's.
    let (report, _) = run(&["check", "--format", "junit", "-"], &text.replace("joint C", "joint D"));
    assert_eq!(report.matches("<skipped").count(), 3, "{report}");
}
