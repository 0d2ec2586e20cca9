//! Every example broken by fixed rules, one slip at a time.
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// One slip in one line.
pub struct Mutant {
    pub rule: &'static str,
    pub text: String,
    pub place: Place,
}

/// Where the first message is to be.
pub enum Place {
    /// At these lines, from 1.
    Lines(Vec<usize>),
    /// With any label at this line.
    AnyLabel(usize),
    /// At a line that names one of these, or in a headline that does.
    Names(BTreeSet<String>),
}

pub struct Example {
    pub name: String,
    pub text: String,
}

/// Examples that are sound, and the broken ones: a slip beside another fault
/// has to be told as well.
pub fn examples() -> Vec<Example> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut examples = Vec::new();
    for path in fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
        if path.extension().is_some_and(|own| own == "kp") {
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            examples.push(Example { name, text: fs::read_to_string(&path).unwrap() });
        }
    }
    examples.sort_by(|a, b| a.name.cmp(&b.name));
    assert!(examples.len() >= 13);
    examples
}

/// Names in a text: words that are no keywords and no units.
pub fn words(text: &str) -> Vec<String> {
    let code = text.split("//").next().unwrap_or("");
    let is_part = |c: char| c.is_alphanumeric() || c == '_';
    code.split(|c: char| !is_part(c)).filter(|word| word.starts_with(char::is_alphabetic)).map(str::to_owned).collect()
}

const KEYWORDS: [&str; 30] = [
    "title",
    "units",
    "moments",
    "let",
    "joint",
    "bar",
    "cable",
    "beam",
    "hinge",
    "pin",
    "fixed",
    "roller",
    "guide",
    "spring",
    "settle",
    "load",
    "moment",
    "heat",
    "misfit",
    "case",
    "weigh",
    "combination",
    "travel",
    "material",
    "section",
    "for",
    "use",
    "allow",
    "deny",
    "expect",
];

/// Lines with a statement: number from 0, text without its comment, keyword.
pub fn statements(text: &str) -> Vec<(usize, String, String)> {
    let mut found = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let code = if line.contains('"') { line } else { line.split("//").next().unwrap() };
        let keyword = code.split_whitespace().next().unwrap_or("").to_owned();
        if KEYWORDS.contains(&keyword.as_str()) {
            found.push((number, code.trim_end().to_owned(), keyword));
        }
    }
    found
}

pub fn with_line(text: &str, number: usize, line: &str) -> String {
    let lines: Vec<&str> = text.lines().enumerate().map(|(at, own)| if at == number { line } else { own }).collect();
    lines.join("\n") + "\n"
}

fn without_line(text: &str, number: usize) -> String {
    text.lines().enumerate().filter(|(at, _)| *at != number).map(|(_, line)| format!("{line}\n")).collect()
}

/// All mutants of an example, in the order of its lines.
pub fn mutants(text: &str) -> Vec<Mutant> {
    let mut mutants = Vec::new();
    for (number, code, keyword) in statements(text) {
        let mut changed = |rule: &'static str, line: Option<String>| {
            if let Some(line) = line.filter(|line| *line != code) {
                let at = number + 1;
                let place = if keyword == "let" { Place::AnyLabel(at) } else { Place::Lines(vec![at]) };
                mutants.push(Mutant { rule, text: with_line(text, number, &line), place });
            }
        };
        changed("a misspelt keyword", swapped_letters(&code, &keyword));
        changed("a keyword in capitals", Some(code.replacen(&keyword, &keyword.to_uppercase(), 1)));
        changed("no colon", removed(&code, ":"));
        changed("a colon for an equals sign", replaced(&code, "=", ":"));
        changed("an equals sign for a colon", replaced(&code, ":", " ="));
        changed("no equals sign", removed(&code, "="));
        changed("a semicolon for a comma", replaced(&code, ",", ";"));
        changed("no comma", removed(&code, ","));
        changed("a comma for a decimal point", decimal_comma(&code));
        changed("no opening bracket", removed(&code, "("));
        changed("no closing bracket", removed(&code, ")"));
        changed("half a line", half(&code));
        changed("a joint renamed at one use", renamed(&code, &keyword));
        changed("an unknown unit", unit_as(&code, "kPond"));
        changed("a unit of another dimension", unit_of_another_dimension(&code));
        changed("a unit in other capitals", unit_in_other_capitals(&code));
        changed("a mass for a force", replaced_word(&code, &["kN", "lbf"], "kg"));
        changed("a wrong sense word", wrong_sense(&code, &keyword));
        changed("a misspelt direction", replaced_word(&code, &["down", "right", "left", "up"], "donw"));
        changed("no direction", without_direction(&code, &keyword));
        changed("an angle without its unit", removed(&code, "°"));
        changed("a letter too many in a name", doubled_letter(&code, &keyword));
        changed("a stray sign", Some(format!("{code} §")));
        changed("a word too many", Some(format!("{code} please")));
        changed("a support of another kind", other_support(&code, &keyword));
        changed("a claim's value is wrong", wrong_claim(&code, &keyword));
        if ["bar", "beam", "cable", "pin", "roller", "fixed", "joint", "section", "let", "case"]
            .contains(&keyword.as_str())
            && !code.ends_with('{')
        {
            let names = named(&code);
            let text = without_line(text, number);
            mutants.push(Mutant { rule: deleted(&keyword), text, place: Place::Names(names) });
        }
        if let Some(line) = shorter_chain(&code, &keyword) {
            let (names, text) = (named(&code), with_line(text, number, &line));
            mutants.push(Mutant { rule: "a member left out of a chain", text, place: Place::Names(names) });
        }
        if ["joint", "bar", "beam", "pin", "roller", "units", "let", "section", "title"].contains(&keyword.as_str()) {
            let line = text.lines().nth(number).unwrap();
            let text = with_line(text, number, &format!("{line}\n{line}"));
            mutants.push(Mutant { rule: "a doubled line", text, place: Place::Lines(vec![number + 1, number + 2]) });
        }
        if let Some(line) = moved_joint(text, &code, &keyword) {
            let at = text.lines().position(|other| other.contains(&line.1)).unwrap();
            let place = Place::Lines(vec![number + 1, at + 1]);
            mutants.push(Mutant { rule: "a joint moved onto another", text: with_line(text, number, &line.0), place });
        }
        if code.ends_with('{') {
            let open = code.trim_end_matches('{').trim_end();
            let place = Place::Lines(vec![number + 1]);
            mutants.push(Mutant { rule: "no opening brace", text: with_line(text, number, open), place });
            let blanks = |line: &str| line.len() - line.trim_start().len();
            let is_its_own = |line: &str| line.trim() == "}" && blanks(line) == blanks(&code);
            let close = text.lines().enumerate().skip(number).find(|(_, line)| is_its_own(line)).unwrap().0;
            let place = Place::Lines(vec![number + 1]);
            mutants.push(Mutant { rule: "no closing brace", text: without_line(text, close), place });
        }
    }
    mutants
}

/// The names before a statement's colon or equals sign.
fn named(code: &str) -> BTreeSet<String> {
    let head = code.split([':', '=']).next().unwrap();
    words(head).into_iter().filter(|word| !KEYWORDS.contains(&word.as_str())).collect()
}

fn other_support(code: &str, keyword: &str) -> Option<String> {
    let other = match keyword {
        "pin" => "roller",
        "roller" => "pin",
        "fixed" => "pin",
        _ => return None,
    };
    Some(code.split(':').next().unwrap().replacen(keyword, other, 1))
}

/// A chain without its last link.
fn shorter_chain(code: &str, keyword: &str) -> Option<String> {
    if !["bar", "beam", "cable"].contains(&keyword) {
        return None;
    }
    let (head, rest) = code.split_once(':').map_or((code, ""), |(head, rest)| (head, rest));
    let shorter = head.rsplit_once('-').filter(|(shorter, _)| shorter.contains('-') && !shorter.ends_with('['))?.0;
    Some(if rest.is_empty() { shorter.to_owned() } else { format!("{shorter}:{rest}") })
}

fn deleted(keyword: &str) -> &'static str {
    match keyword {
        "bar" | "beam" | "cable" => "a member left out",
        "pin" | "roller" | "fixed" => "a support left out",
        "joint" => "a joint left out",
        _ => "a let or section left out",
    }
}

fn replaced(code: &str, from: &str, to: &str) -> Option<String> {
    (code.contains(from) && !code.contains('"') && !code.contains("<=") && !code.contains(">="))
        .then(|| code.replacen(from, to, 1))
}

fn removed(code: &str, mark: &str) -> Option<String> {
    replaced(code, mark, "")
}

fn swapped_letters(code: &str, keyword: &str) -> Option<String> {
    let mut letters: Vec<char> = keyword.chars().collect();
    letters.swap(1, 2);
    Some(code.replacen(keyword, &letters.into_iter().collect::<String>(), 1))
}

fn decimal_comma(code: &str) -> Option<String> {
    let at = code.as_bytes().windows(3).position(|w| w[0].is_ascii_digit() && w[1] == b'.' && w[2].is_ascii_digit())?;
    (!code.contains('"')).then(|| format!("{},{}", &code[..=at], &code[at + 2..]))
}

/// Cut in the middle, at a blank if there is one near.
fn half(code: &str) -> Option<String> {
    let blank = code.len() - code.trim_start().len();
    let middle = (blank + code.len()) / 2;
    let cut = code[..middle].rfind(' ').filter(|at| *at > blank).unwrap_or(middle);
    code.is_char_boundary(cut).then(|| code[..cut].trim_end().to_owned())
}

/// The last name of a chain, or the first name, becomes one that is nowhere.
fn renamed(code: &str, keyword: &str) -> Option<String> {
    if !["bar", "beam", "cable", "pin", "roller", "fixed", "load", "hinge", "expect", "moment"].contains(&keyword) {
        return None;
    }
    let head = code.split(':').next()?;
    let word = words(head).into_iter().rfind(|word| word.starts_with(char::is_uppercase))?;
    let at = head.rfind(word.as_str())?;
    Some(format!("{}{word}q{}", &code[..at], &code[at + word.len()..]))
}

fn doubled_letter(code: &str, keyword: &str) -> Option<String> {
    if [
        "title",
        "use",
        "units",
        "allow",
        "deny",
        "moments",
        "let",
        "case",
        "joint",
        "material",
        "section",
        "for",
        "travel",
        "combination",
    ]
    .contains(&keyword)
    {
        return None;
    }
    let word = words(code).into_iter().find(|word| !KEYWORDS.contains(&word.as_str()))?;
    let at = code.find(word.as_str())?;
    let letter = word.chars().next()?;
    Some(format!("{}{letter}{word}{}", &code[..at], &code[at + word.len()..]))
}

/// The first unit that follows a number: where it begins and ends.
fn unit(code: &str) -> Option<(usize, usize)> {
    if code.contains('"') || code.trim_start().starts_with("units") {
        return None;
    }
    let bytes = code.as_bytes();
    let is_start = |at: usize| {
        at >= 2
            && bytes[at].is_ascii_alphabetic()
            && bytes[at - 1] == b' '
            && (bytes[at - 2].is_ascii_digit() || bytes[at - 2] == b')')
    };
    let units = ["kN", "N", "m", "mm", "cm", "ft", "in", "lbf", "kip", "kPa", "GPa", "MPa", "rad"];
    for at in 0..bytes.len() {
        if is_start(at) {
            let end = at + code[at..].find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(code.len() - at);
            if units.contains(&&code[at..end]) && !code[end..].starts_with('^') {
                return Some((at, end));
            }
        }
    }
    None
}

fn unit_as(code: &str, other: &str) -> Option<String> {
    let (start, end) = unit(code)?;
    Some(format!("{}{other}{}", &code[..start], &code[end..]))
}

fn unit_of_another_dimension(code: &str) -> Option<String> {
    let (start, end) = unit(code)?;
    let other = if ["kN", "N", "lbf", "kip"].contains(&&code[start..end]) { "mm" } else { "kN" };
    unit_as(code, other)
}

fn unit_in_other_capitals(code: &str) -> Option<String> {
    let (start, end) = unit(code)?;
    let written = &code[start..end];
    let other = if written == written.to_lowercase() { written.to_uppercase() } else { written.to_lowercase() };
    unit_as(code, &other)
}

pub fn replaced_word(code: &str, words: &[&str], other: &str) -> Option<String> {
    let is_part = |c: char| c.is_alphanumeric() || c == '_';
    for word in words {
        for (at, _) in code.match_indices(word) {
            let (before, after) = (&code[..at], &code[at + word.len()..]);
            let alone = !before.ends_with(is_part) && !after.starts_with(is_part);
            if alone && !code.contains('"') && !code.trim_start().starts_with("units") {
                return Some(format!("{before}{other}{after}"));
            }
        }
    }
    None
}

fn wrong_sense(code: &str, keyword: &str) -> Option<String> {
    if keyword != "expect" {
        return None;
    }
    replaced_word(code, &["tension", "compression"], "down")
        .or_else(|| replaced_word(code, &["up", "right", "sagging", "hogging"], "tension"))
}

fn without_direction(code: &str, keyword: &str) -> Option<String> {
    (keyword == "load").then(|| replaced_word(code, &["down", "right", "left", "up"], "")).flatten()
}

/// The first figure of a claimed value becomes another.
fn wrong_claim(code: &str, keyword: &str) -> Option<String> {
    if keyword != "expect" || code.contains("<=") || code.contains(" not ") {
        return None;
    }
    let colon = code.find(':')?;
    let at = colon + code[colon..].find(|c: char| ('1'..='9').contains(&c))?;
    let other = if code[at..].starts_with('5') { '7' } else { '5' };
    Some(format!("{}{other}{}", &code[..at], &code[at + 1..]))
}

/// A joint given the place of the first other joint, and that joint's line.
fn moved_joint(text: &str, code: &str, keyword: &str) -> Option<(String, String)> {
    if keyword != "joint" || code.contains('[') {
        return None;
    }
    let (head, _) = code.split_once(':')?;
    let other = statements(text)
        .into_iter()
        .find(|(_, other, keyword)| keyword == "joint" && other != code && !other.contains('['))?
        .1;
    let name = words(&other).into_iter().find(|word| word != "joint")?;
    Some((format!("{head}: {name}"), other))
}
