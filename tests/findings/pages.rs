//! The manual: the page of every finding, its sections, its example, which must
//! raise the finding, and its cure, which must be clean; the pages on statements
//! and topics, and what they have to speak of. `tests/output/readme.rs` runs their blocks.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use kingpost::check::check;
use kingpost::diagnostic::{Diagnostic, Severity, Slug};
use kingpost::manual::{self, Kind, PAGES};
use kingpost::quantity::unit_table::TABLE;
use kingpost::structure::{SourceRefusal, read_project};
use kingpost::syntax::token::Token;

const SECTIONS: [&str; 4] = ["## What it means", "## Why it matters", "## Example", "## Cure"];

/// Findings without a small file that causes them; their pages say so.
const WITHOUT_EXAMPLE: [Slug; 3] = [Slug::TooManyFindings, Slug::DoesNotBalance, Slug::NotComputable];

#[test]
fn every_page_has_its_sections_in_order() {
    let mut faults = String::new();
    for slug in Slug::ALL {
        let page = slug.page();
        if !page.starts_with(&format!("# {}\n", slug.word())) {
            writeln!(faults, "{}: the heading is not the slug", slug.word()).unwrap();
        }
        let places: Vec<Option<usize>> = SECTIONS.iter().map(|section| page.find(&format!("\n{section}\n"))).collect();
        if places.iter().any(Option::is_none) || !places.is_sorted() {
            writeln!(faults, "{}: sections missing or out of order", slug.word()).unwrap();
        }
        let wanted = if WITHOUT_EXAMPLE.contains(slug) { 0 } else { 2 };
        if blocks(page).len() != wanted {
            writeln!(faults, "{}: {} blocks, not {wanted}", slug.word(), blocks(page).len()).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

#[test]
fn every_example_raises_its_finding_and_no_other_error() {
    let mut faults = String::new();
    for (slug, example, _) in examples() {
        let found = findings(slug, example);
        if !found.iter().any(|found| found.slug == slug) {
            writeln!(faults, "{}: the example raises {:?}", slug.word(), words(&found)).unwrap();
        }
        let others: Vec<&str> = found
            .iter()
            .filter(|found| found.severity == Severity::Error && found.slug != slug && !goes_with(slug, found.slug))
            .map(|found| found.slug.word())
            .collect();
        if !others.is_empty() {
            writeln!(faults, "{}: the example raises {others:?} besides", slug.word()).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

#[test]
fn every_cure_cures() {
    let mut faults = String::new();
    for (slug, _, cure) in examples() {
        let found = findings(slug, cure);
        if found.iter().any(|found| found.severity == Severity::Error || found.slug == slug) {
            writeln!(faults, "{}: the cure raises {:?}", slug.word(), words(&found)).unwrap();
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// Headlines and help are no sentences, the reasons are.
#[test]
fn every_finding_is_put_as_the_others_are() {
    let mut faults = String::new();
    for (slug, example, _) in examples() {
        for found in findings(slug, example) {
            let is_headline =
                !found.message.is_empty() && !found.message.contains('\n') && !found.message.ends_with('.');
            let has_labels = !found.labels.is_empty()
                && found.labels.iter().all(|label| !label.text.is_empty() && !label.text.ends_with('.'));
            let has_reasons = found.why.iter().all(|why| why.ends_with(['.', '?']));
            if !is_headline || !has_labels || !has_reasons || found.help.iter().any(|help| help.ends_with('.')) {
                writeln!(faults, "{}: {found:?}", slug.word()).unwrap();
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// Where a page counts members and reactions against joints, its example has so many.
#[test]
fn counts_on_pages_are_those_of_their_examples() {
    let (mut faults, mut counted) = (String::new(), 0);
    for (slug, example, _) in examples() {
        let (_, after) = slug.page().split_once("## Example\n").unwrap();
        let said = after.split("\n```kp\n").next().unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
        let Some((_, said)) = said.split_once("m + r = ") else { continue };
        let nothing = &mut |_: &str| Err(SourceRefusal("there is no such file".to_owned()));
        let verdict = check(&read_project("example.kp", format!("{example}\n"), nothing)).verdict.unwrap();
        let (have, want) = (verdict.members + verdict.reactions, 2 * verdict.joints);
        let number = |text: &str| -> Option<usize> { text.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok() };
        counted += 1;
        if number(said) != Some(have) {
            writeln!(faults, "{}: m + r = {have}, not {said}", slug.word()).unwrap();
        }
        if let Some((_, said)) = said.split_once("2j = ")
            && number(said) != Some(want)
        {
            writeln!(faults, "{}: 2j = {want}, not {said}", slug.word()).unwrap();
        }
        for (word, short) in [("one short", 1), ("two short", 2), ("three short", 3)] {
            if said.contains(word) && want.checked_sub(have) != Some(short) {
                writeln!(faults, "{}: {have} against {want} is not {word}", slug.word()).unwrap();
            }
        }
    }
    assert!(faults.is_empty() && counted >= 4, "{counted} counted\n{faults}");
}

#[test]
fn every_statement_has_a_page_and_every_word_of_the_notation_a_meaning() {
    let statements: Vec<&str> =
        PAGES.iter().filter(|page| page.kind == Kind::Statement).map(|page| page.word).collect();
    let keywords: Vec<&str> = Token::KEYWORDS.iter().map(|keyword| keyword.spelling()).collect();
    assert_eq!(statements, keywords, "pages and keywords, in the order of the notation");
    let grammar = std::fs::read_to_string(root().join("grammar/kingpost.ebnf")).unwrap();
    let words: Vec<&str> = grammar
        .split('"')
        .skip(1)
        .step_by(2)
        .filter(|word| word.len() > 1 && word.chars().all(char::is_alphanumeric) && !keywords.contains(word))
        .filter(|word| manual::words().all(|known| known != *word))
        .collect();
    assert!(words.is_empty(), "the glossary lacks {words:?}");
}

#[test]
fn every_page_of_the_manual_says_in_its_first_line_what_it_is_about() {
    for page in PAGES {
        assert!(page.text.starts_with(&format!("# {}: ", page.word)), "{}", page.word);
        assert!(!page.summary().is_empty() && !page.summary().ends_with('.'), "{}", page.word);
    }
}

/// What README and pages send their readers to is there.
#[test]
fn every_word_that_a_page_tells_to_ask_for_is_answered() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let pages = PAGES.iter().map(|page| (page.word, page.text));
    let messages = Slug::ALL.iter().map(|slug| (slug.word(), slug.page()));
    for (name, text) in pages.chain(messages).chain([("README.md", readme.as_str())]) {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for asked in text.split("kingpost explain ").skip(1) {
            let word = asked.split(|c: char| !c.is_alphanumeric() && c != '-').next().unwrap();
            let is_placeholder = word.is_empty() || word.chars().all(char::is_uppercase);
            assert!(is_placeholder || !manual::about(word).is_empty(), "{name}: nothing on {word}");
        }
    }
}

#[test]
fn the_binary_carries_the_notices_of_all_that_is_in_it() {
    let told = manual::about("licences").join("\n");
    for text in ["LICENSE", "src/present/figure/letters/OFL.txt"] {
        let text = std::fs::read_to_string(root().join(text)).unwrap();
        assert!(told.contains(text.trim_end()));
    }
}

/// How many published cases there are, of what kind, and how many of them from memory.
#[test]
fn the_page_on_sources_counts_as_the_list_of_them_does() {
    let list = std::fs::read_to_string(root().join("tests/published/answers.json")).unwrap();
    let list: Vec<serde_json::Value> = serde_json::from_str(&list).unwrap();
    let count = |is_rule: bool, from_memory: bool| {
        let wanted = |case: &&serde_json::Value| {
            (case["category"] == "instability") == is_rule && (!from_memory || case["from_memory"] == true)
        };
        list.iter().filter(wanted).count()
    };
    let beams = std::fs::read_to_string(root().join("tests/data/beam_formulae.json")).unwrap();
    let beams: serde_json::Value = serde_json::from_str(&beams).unwrap();
    let beams = beams["cases"].as_array().unwrap().len();
    let page = manual::about("sources").join("\n");
    for words in [
        format!("{} published cases", list.len()),
        format!("{} worked examples; {} of them are from memory", count(false, false), count(false, true)),
        format!(
            "{} rules of the trade on what stands and what does not; {} of them",
            count(true, false),
            count(true, true)
        ),
        format!("{beams} tabulated beams"),
    ] {
        assert!(page.contains(&words), "{words}");
    }
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    for words in [
        format!("{} published worked examples ({} of them from memory)", count(false, false), count(false, true)),
        format!("{} rules of the trade on what stands ({} from\nmemory)", count(true, false), count(true, true)),
        format!("{beams} tabulated beams"),
    ] {
        assert!(readme.contains(&words), "{words}");
    }
}

#[test]
fn every_unit_is_on_the_page_of_units() {
    let page = PAGES.iter().find(|page| page.word == "units").unwrap().text;
    let has = |symbol: &str| page.split(|c: char| " `,;|/".contains(c)).any(|word| word == symbol);
    let missing: Vec<&str> = TABLE.iter().map(|unit| unit.symbol).filter(|symbol| !has(symbol)).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

/// Bounds that the code names, by their values: those that a user can meet.
#[test]
fn every_limit_is_on_the_page_of_limits() {
    /// Of these nobody hears: sizes of searches whose end changes no sentence.
    const INNER: [&str; 1] = ["src/statics/motion.rs"];
    let page = PAGES.iter().find(|page| page.word == "limits").unwrap().text;
    let said = page.replace("64 MiB", "67108864").replace("1 GiB", "1073741824").replace(',', "");
    let said: Vec<&str> = said.split(|c: char| !c.is_ascii_digit()).collect();
    let (mut faults, mut found) = (String::new(), 0);
    for path in sources(&root().join("src")) {
        let name = path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
        let is_inner = name.starts_with("src/numeric") || INNER.contains(&name.as_str());
        let counts_all = ["src/check/size.rs", "src/check/slips.rs", "src/syntax/limits.rs"].contains(&name.as_str());
        for line in std::fs::read_to_string(&path).unwrap().lines().filter(|_| !is_inner) {
            let line = if counts_all { line.trim_start_matches("pub ") } else { line };
            let Some(rest) = line.strip_prefix(if counts_all { "const M" } else { "pub const M" }) else { continue };
            let Some((constant, value)) = rest.split_once(" = ") else { continue };
            if !(constant.starts_with("AX_") || constant.starts_with("OST_")) {
                continue;
            }
            let value = value.trim_end_matches(';').replace('_', "");
            let value = match value.split_once(" << ") {
                Some((base, shift)) => (base.parse::<u64>().unwrap() << shift.parse::<u32>().unwrap()).to_string(),
                None => value,
            };
            if value.chars().all(|c| c.is_ascii_digit()) {
                found += 1;
                if !said.contains(&value.as_str()) {
                    writeln!(faults, "{name}: M{constant} is {value}").unwrap();
                }
            }
        }
    }
    assert!(faults.is_empty() && found > 30, "{found} limits\n{faults}");
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    paths
        .flat_map(|path| if path.is_dir() { sources(&path) } else { vec![path] })
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"))
        .collect()
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// What is counted by one finding is told one by one before.
fn goes_with(slug: Slug, other: Slug) -> bool {
    slug == Slug::MoreMechanisms && other == Slug::DanglingJoint
}

fn words(found: &[Diagnostic]) -> Vec<&'static str> {
    found.iter().map(|found| found.slug.word()).collect()
}

/// Slug, example and cure of every page that has them.
fn examples() -> impl Iterator<Item = (Slug, &'static str, &'static str)> {
    Slug::ALL.iter().filter_map(|slug| match blocks(slug.page()).as_slice() {
        [example, cure] => Some((*slug, *example, *cure)),
        _ => None,
    })
}

fn blocks(page: &str) -> Vec<&str> {
    page.split("\n```kp\n").skip(1).map(|rest| rest.split("\n```").next().unwrap()).collect()
}

/// What is found in a block, beside the files that its page gives by name.
fn findings(slug: Slug, text: &str) -> Vec<Diagnostic> {
    let read = &mut |name: &str| {
        let block = slug.page().split_once(&format!("\n```kp file={name}\n")).map(|(_, rest)| rest);
        let block = block.and_then(|rest| rest.split("\n```").next());
        block.map(|text| format!("{text}\n")).ok_or_else(|| SourceRefusal("there is no such file".to_owned()))
    };
    check(&read_project("example.kp", format!("{text}\n"), read)).diagnostics
}
