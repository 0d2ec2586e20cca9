//! Slips made in sound files, one at a time (`tests/data/slips_in_files.txt`): is the first message at the right
//! place, of the right kind, and does its first cure heal the file?
//!
//! A reader who takes the first help at its word: what it says to write takes the place of what is labelled, of the
//! line, or stands after it. Healed is a file without an error; a certain correction must also give the results of
//! the sound file.
//!
//! `cargo test --test findings slips_in_files:: -- --nocapture` prints the rates; `MISSES=1` also prints every miss.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use kingpost::check::correct::{Reach, correct};
use kingpost::check::cures::with_edits;
use kingpost::check::{Checked, Switches, check};
use kingpost::diagnostic::{Diagnostic, Severity};
use kingpost::structure::{Project, SourceRefusal, Sources, read_project};

/// Of the first messages, how many are at the right place, of the right kind, and heal; in all and in each kind.
const LEAST_PLACED: f64 = 0.98;
const LEAST_TRUE: f64 = 0.97;
const LEAST_HEALED: f64 = 0.88;
const LEAST_HEALED_OF_A_KIND: f64 = 0.73;

struct Slip {
    kind: String,
    line: usize,
    sound: String,
    text: String,
    slug: String,
    place: String,
    cure: String,
}

#[derive(Clone, Copy, Default)]
struct Tally {
    slips: usize,
    placed: usize,
    right: usize,
    curable: usize,
    healed: usize,
}

#[test]
fn first_messages_are_in_place_true_and_heal() {
    let mut tallies: BTreeMap<String, Tally> = BTreeMap::new();
    let mut wrong = String::new();
    let show = std::env::var_os("MISSES").is_some();
    for slip in slips() {
        let project = project(&slip.text);
        let checked = check(&project);
        let Some(first) = checked.diagnostics.first() else { panic!("line {}: nothing is said", slip.line) };
        let tally = tallies.entry(slip.kind.clone()).or_default();
        tally.slips += 1;
        let placed = is_in_place(&slip, &project, first);
        let right = first.slug.word() == slip.slug;
        tally.placed += usize::from(placed);
        tally.right += usize::from(right);
        let mut healed = true;
        if !slip.cure.is_empty() {
            healed = is_healed(&slip, &project, first);
            tally.curable += 1;
            tally.healed += usize::from(healed);
        }
        if let Some(fault) = wrong_correction(&slip) {
            wrong.push_str(&format!("line {}: {fault}\n", slip.line));
        }
        if show && !(placed && right && healed) {
            let missed = [(placed, "place"), (right, "kind"), (healed, "cure")];
            let missed: Vec<&str> = missed.iter().filter(|(met, _)| !met).map(|(_, what)| *what).collect();
            println!(
                "line {}: {} [{}] {}\n    {:?}",
                slip.line,
                missed.join(", "),
                first.slug.word(),
                first.message,
                first.help
            );
        }
    }
    let rate = |part: usize, of: usize| part as f64 / of.max(1) as f64;
    let mut all = Tally::default();
    println!(
        "| | slips | at the right place | of the right kind | first cure heals |\n| --- | --- | --- | --- | --- |"
    );
    let row = |name: &str, own: &Tally| {
        println!(
            "| {name} | {} | {:.0} % | {:.0} % | {:.0} % of {} |",
            own.slips,
            100.0 * rate(own.placed, own.slips),
            100.0 * rate(own.right, own.slips),
            100.0 * rate(own.healed, own.curable),
            own.curable
        );
    };
    for (kind, own) in &tallies {
        row(kind, own);
        all.slips += own.slips;
        all.placed += own.placed;
        all.right += own.right;
        all.curable += own.curable;
        all.healed += own.healed;
    }
    row("all", &all);
    assert!(wrong.is_empty(), "corrections that are none:\n{wrong}");
    assert!(rate(all.placed, all.slips) >= LEAST_PLACED);
    assert!(rate(all.right, all.slips) >= LEAST_TRUE);
    assert!(rate(all.healed, all.curable) >= LEAST_HEALED);
    for (kind, own) in &tallies {
        assert!(rate(own.healed, own.curable) >= LEAST_HEALED_OF_A_KIND, "{kind}");
    }
}

fn slips() -> Vec<Slip> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/slips_in_files.txt");
    let table = fs::read_to_string(path).unwrap();
    let mut slips = Vec::new();
    let mut sound = String::new();
    let mut is_base = false;
    for (index, line) in table.lines().enumerate() {
        match (line.split_once(": "), is_base) {
            _ if line.starts_with("base ") => (is_base, sound) = (true, String::new()),
            _ if line == "end" => is_base = false,
            (_, true) => sound.push_str(&format!("{line}\n")),
            (Some((kind, rest)), _) if !line.starts_with("//") => {
                let (from, rest) = rest.split_once("=>").unwrap();
                let columns: Vec<&str> = rest.rsplitn(4, " | ").collect();
                let [cure, place, slug, to] = columns.as_slice() else { panic!("{line}") };
                let unescaped = |text: &str| text.strip_prefix(' ').unwrap_or(text).replace("\\n", "\n");
                let from = from.strip_suffix(' ').unwrap_or(from).replace("\\n", "\n");
                assert_eq!(sound.matches(&from).count(), 1, "{line}");
                slips.push(Slip {
                    kind: kind.to_owned(),
                    line: index + 1,
                    text: sound.replace(&from, &unescaped(to)),
                    sound: sound.clone(),
                    slug: (*slug).to_owned(),
                    place: (*place).trim().to_owned(),
                    cure: cure.trim().to_owned(),
                });
            }
            _ => {}
        }
    }
    slips
}

fn project(text: &str) -> Project {
    read_project("slip.kp", text.to_owned(), &mut |_| Err(SourceRefusal("no such file".to_owned())))
}

fn errors(checked: &Checked) -> usize {
    checked.diagnostics.iter().filter(|found| found.severity == Severity::Error).count()
}

/// Whether a label is on a line with the place, or on one that the sound file does not have.
fn is_in_place(slip: &Slip, project: &Project, found: &Diagnostic) -> bool {
    let lines: Vec<&str> = slip.text.lines().collect();
    let mut labelled = found.labels.iter().filter_map(|label| {
        let line = project.files.get(label.at.file)?.line_of(label.at.span.start);
        lines.get(line - 1).copied()
    });
    match slip.place.as_str() {
        "=" => labelled.any(|line| !slip.sound.lines().any(|sound| sound == line)),
        place => labelled.any(|line| line.contains(place)),
    }
}

fn is_healed(slip: &Slip, project: &Project, found: &Diagnostic) -> bool {
    let Some(help) = found.help.first() else { return false };
    if slip.cure != "yes" {
        return help.contains(&slip.cure);
    }
    if !found.edits.is_empty() {
        return has_sound_results(slip, &with_edits(project, &found.edits));
    }
    match found.cures.first() {
        Some(cure) => errors(&check(&with_edits(project, &cure.edits))) == 0,
        None => readings(project, found, help).iter().any(|text| errors(&check(&self::project(text))) == 0),
    }
}

/// The texts that somebody may write who takes a help at its word.
fn readings(project: &Project, found: &Diagnostic, help: &str) -> Vec<String> {
    let Some(words) = help.split('`').nth(1) else { return Vec::new() };
    let words = words.split('…').next().unwrap_or("");
    let Some(label) = found.labels.first() else { return Vec::new() };
    let (start, end) = (label.at.span.start as usize, label.at.span.end as usize);
    let text = project.files.text(label.at.file);
    let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
    let line_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
    let with = |from: usize, to: usize, new: &str| format!("{}{new}{}", &text[..from], &text[to..]);
    vec![
        with(start, end, words),
        with(line_start, line_end, words),
        with(line_end, line_end, &format!(" {words}")),
        with(line_end, line_end, &format!("\n{words}")),
        format!("{words}\n{text}"),
        with(start, end, ""),
        with(start, line_end, words),
        with(line_start, end, words),
    ]
}

fn has_sound_results(slip: &Slip, project: &Project) -> bool {
    let (sound, after) = (check(&self::project(&slip.sound)), check(project));
    let marks = |checked: &Checked| checked.marks.iter().map(|mark| mark.computed.clone()).collect::<Vec<_>>();
    errors(&after) == 0 && marks(&sound) == marks(&after)
}

/// What is wrong with the file after all certain corrections, if they leave no error: it has to be the sound one.
fn wrong_correction(slip: &Slip) -> Option<String> {
    let mut read = |_: &str| Err(SourceRefusal("no such file".to_owned()));
    let mut sources = Sources { identify: &str::to_owned, read: &mut read };
    let corrected = correct(project(&slip.text), Reach::AllFiles, &Switches::default(), &mut sources);
    let is_wrong = !corrected.changes.is_empty()
        && errors(&corrected.checked) == 0
        && !has_sound_results(slip, &corrected.project);
    is_wrong.then(|| format!("corrected to\n{}", corrected.changes[0].new))
}
