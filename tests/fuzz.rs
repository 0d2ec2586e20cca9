//! Texts from a seed through every command and format: no panic, no hang, and
//! nothing written that its readers cannot read.
//!
//! `cargo test` runs a few hundred. For more, say how many and where to begin:
//! `FUZZ_RUNS=100000 FUZZ_SEED=1 cargo test --release --test fuzz -- --nocapture`
//! prints the longest run and the most memory too. A failure names its seed;
//! `FUZZ_RUNS=1 FUZZ_SEED=n` runs that one again, with every output.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "support/texts.rs"]
mod texts;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use kingpost::base::FileId;
use kingpost::check::closing::Closing;
use kingpost::check::correct::{Reach, correct};
use kingpost::check::{Checked, Switches, check};
use kingpost::present::diagnostics::{
    Colour, JunitReport, SarifLog, Style, render_github_line, render_human, render_json_line, render_summary,
};
use kingpost::present::document::Document;
use kingpost::present::document::html::render_html;
use kingpost::present::document::latex::render_latex;
use kingpost::present::document::markdown::{Drawings, render_markdown};
use kingpost::present::document::text::render_text;
use kingpost::present::figure::{self, Kind, Telling};
use kingpost::present::marks::{self, MarkSheet};
use kingpost::present::report::{Report, report};
use kingpost::present::results::{Answer, Rows, write_csv, write_json, write_text};
use kingpost::present::working::{Asked, MOST_MEMBERS, derive};
use kingpost::statics::{CaseResult, Subject, TravelResult};
use kingpost::structure::{Project, SourceRefusal, Sources, read_project};
use texts::{Dice, Making};

/// Runs in `cargo test`.
const FEW: u64 = 150;
/// What one run may take: optimised, and as `cargo test` builds it, with other tests beside it.
const LONGEST: Duration = if cfg!(debug_assertions) { Duration::from_secs(60) } else { Duration::from_secs(5) };
/// What all of a process may take, bytes.
const MOST_MEMORY: u64 = 1_000_000_000;

fn read(text: &str) -> Project {
    read_project("fuzz.kp", text.to_owned(), &mut |_| Err(SourceRefusal("there is no such file".to_owned())))
}

/// Which outputs a run makes: all of them, or a few by lot.
struct Outputs {
    dice: Dice,
    all: bool,
}

impl Outputs {
    fn wants(&mut self, once_in: usize) -> bool {
        self.all || self.dice.once_in(once_in)
    }
}

fn look(text: &str, outputs: &mut Outputs) {
    let project = read(text);
    let checked = check(&project);
    findings(&project, &checked, outputs);
    if outputs.wants(4) {
        sheets(&project, &checked);
    }
    if outputs.wants(6) {
        let mut none = |_: &str| Err(SourceRefusal("there is no such file".to_owned()));
        let mut sources = Sources { identify: &str::to_owned, read: &mut none };
        let again = correct(read(text), Reach::AllFiles, &Switches::default(), &mut sources);
        render_summary(&again.checked.diagnostics, &again.project.files);
    }
    if outputs.wants(2) {
        results(&checked);
    }
    if outputs.wants(4) {
        figures(&checked, outputs);
    }
    if outputs.wants(4) {
        pages(&derived(&project, &checked), outputs);
    }
    if outputs.wants(6) {
        let telling = if outputs.wants(2) { Telling::Drawn } else { Telling::InWords };
        let page = report(&Report { project: &project, checked: &checked, only: &[], date: None, figures: telling });
        pages(&Some(page), outputs);
    }
}

fn findings(project: &Project, checked: &Checked, outputs: &mut Outputs) {
    let (found, files) = (&checked.diagnostics, &project.files);
    for one in found {
        assert!(!one.message.is_empty(), "{one:?}");
        for label in &one.labels {
            assert!(files.text(label.at.file).get(label.at.span.start as usize..label.at.span.end as usize).is_some());
        }
        let _: serde_json::Value = serde_json::from_str(&render_json_line(one, files)).unwrap();
        let line = render_github_line(one, files);
        assert!(!line.contains(['\n', '\r']) && line.starts_with("::"), "{line:?}");
    }
    if outputs.wants(3) {
        let colour = if outputs.wants(2) { Colour::Ansi } else { Colour::Plain };
        let page = render_human(found, files, Style { colour, width: 60 + outputs.dice.below(50) });
        let odd =
            |letter: char| letter.is_control() && letter != '\n' && !(colour == Colour::Ansi && letter == '\u{1b}');
        assert!(!page.contains(odd), "{page:?}");
        render_summary(found, files);
    }
    if outputs.wants(3) {
        let mut log = SarifLog::new();
        log.add(found, files, &Closing::of(checked));
        let _: serde_json::Value = serde_json::from_str(&log.render()).unwrap();
        let mut junit = JunitReport::new();
        junit.add(project, checked);
        roxmltree::Document::parse(&junit.render()).unwrap();
    }
}

fn sheets(project: &Project, checked: &Checked) {
    let sheet = MarkSheet::of(checked, &project.files);
    marks::render_marks(&sheet, Style::default());
    let _: serde_json::Value = serde_json::from_str(&marks::render_marks_json(&sheet)).unwrap();
    let mut table = format!("{}\n", marks::HEADER).into_bytes();
    marks::write_marks_csv(&mut table, &sheet).unwrap();
    rectangular(&String::from_utf8(table).unwrap());
}

fn results(checked: &Checked) {
    let Some(solution) = &checked.solution else { return };
    let travels: Vec<&TravelResult> = solution.travels.iter().collect();
    let answer = Answer::of("fuzz.kp", checked, &travels);
    let mut out = Vec::new();
    write_text(&mut out, &answer, &|_| true).unwrap();
    let text = String::from_utf8(std::mem::take(&mut out)).unwrap();
    assert!(!text.contains("NaN") && !text.contains("inf "), "{text}");
    write_json(&mut out, &answer, &|_| true).unwrap();
    let _: serde_json::Value = serde_json::from_slice(&out).unwrap();
    out.clear();
    write_csv(&mut out, &answer, &|_| true, Rows::First).unwrap();
    rectangular(&String::from_utf8(out).unwrap());
}

fn figures(checked: &Checked, outputs: &mut Outputs) {
    let results = checked.solution.as_ref().map_or(&[][..], |solution| solution.results.as_slice());
    let subjects: Vec<Option<Subject>> = std::iter::once(None).chain(results.iter().map(|r| Some(r.subject))).collect();
    for kind in Kind::ALL {
        if !outputs.wants(3) {
            continue;
        }
        let subject = subjects[outputs.dice.below(subjects.len())];
        let words = figure::tell(checked, kind, subject, Telling::InWords);
        let drawn = figure::draw(checked, kind, subject);
        assert_eq!(words.is_ok(), drawn.is_ok(), "{kind:?}: {words:?}");
        let Ok(drawn) = drawn else { continue };
        let svg = drawn.svg();
        roxmltree::Document::parse(&svg).unwrap();
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        let latex = drawn.latex();
        assert_eq!(latex.matches("\\begin{").count(), latex.matches("\\end{").count());
        if outputs.wants(4)
            && let Some(png) = figure::png::write_png(&drawn.picture, figure::Page::Light)
        {
            assert!(png.starts_with(b"\x89PNG"));
        }
    }
    let loads = figure::loads::Loads::of(&checked.structure, subjects.last().copied().flatten());
    figure::terminal::write_terminal(&checked.structure, &loads, 80, Colour::Plain);
}

fn derived(project: &Project, checked: &Checked) -> Option<Document> {
    let (verdict, solution) = (checked.verdict.as_ref()?, checked.solution.as_ref()?);
    let results: Vec<&CaseResult> = solution.results.iter().collect();
    let asked = Asked {
        structure: &checked.structure,
        files: &project.files,
        file: project.files.name(FileId(0)),
        verdict,
        solved: &solution.results,
        results: &results,
        member: None,
    };
    (checked.structure.members.len() <= MOST_MEMBERS).then(|| derive(&asked))
}

fn pages(page: &Option<Document>, outputs: &mut Outputs) {
    let Some(page) = page else { return };
    if outputs.wants(2) {
        well_nested(&render_html(page));
    }
    if outputs.wants(2) {
        let latex = render_latex(page);
        assert_eq!(latex.matches("\\begin{").count(), latex.matches("\\end{").count());
    }
    if outputs.wants(2) {
        render_markdown(page, Drawings::Within);
        render_text(page, 50 + outputs.dice.below(60));
    }
}

/// Every row of a table of comma-separated values has as many fields as the first (RFC 4180).
fn rectangular(table: &str) {
    let mut widths = Vec::new();
    let (mut fields, mut is_quoted) = (1, false);
    for letter in table.chars() {
        match letter {
            '"' => is_quoted = !is_quoted,
            ',' if !is_quoted => fields += 1,
            '\n' if !is_quoted => widths.push(std::mem::replace(&mut fields, 1)),
            _ => {}
        }
    }
    assert!(!is_quoted && table.ends_with('\n'), "{table}");
    assert!(widths.iter().all(|width| *width == widths[0]), "{table}");
}

/// Tags of a page close in the order they opened, but for those HTML leaves open.
fn well_nested(page: &str) {
    const ALONE: [&str; 8] = ["meta", "link", "br", "hr", "img", "col", "wbr", "!doctype"];
    let mut open: Vec<&str> = Vec::new();
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if let Some(comment) = rest.strip_prefix("!--") {
            rest = comment.split_once("-->").unwrap().1;
            continue;
        }
        let (tag, after) = rest.split_once('>').unwrap();
        let name = tag.trim_start_matches('/').split([' ', '/', '\n']).next().unwrap();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name), "before {:.80}", after);
        } else if !tag.ends_with('/') && !ALONE.contains(&name.to_ascii_lowercase().as_str()) {
            open.push(name);
        }
        rest = after;
        // What stands within is no markup.
        if name == "style" && !tag.starts_with('/') {
            rest = &rest[rest.find("</style").unwrap()..];
        }
    }
    assert_eq!(open, Vec::<&str>::new());
}

/// The most memory the process has held, bytes; 0 where the system does not tell.
fn memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<u64>().ok()).unwrap_or(0) * 1024
}

#[test]
fn texts_of_every_kind_are_told_of() {
    let number = |name: &str| std::env::var(name).ok().and_then(|value| value.parse::<u64>().ok());
    let (runs, first) = (number("FUZZ_RUNS").unwrap_or(FEW), number("FUZZ_SEED").unwrap_or(1));
    let (mut longest, mut failed) = ((Duration::ZERO, 0), Vec::new());
    let (mut sound, mut solved, mut larger) = (0_u64, 0_u64, (memory(), 0));
    let begun = Instant::now();
    for seed in first..first + runs {
        let (making, text) = texts::text(seed);
        let mut outputs = Outputs { dice: Dice::new(!seed), all: runs == 1 };
        let start = Instant::now();
        let outcome = catch_unwind(AssertUnwindSafe(|| look(&text, &mut outputs)));
        let took = start.elapsed();
        if outcome.is_err() || took > LONGEST {
            eprintln!("seed {seed} ({making:?}), {took:?}:\n{text}\n");
            failed.push(seed);
        }
        longest = longest.max((took, seed));
        let now = memory();
        if now > larger.0 {
            larger = (now, seed);
        }
        if making == Making::Sound {
            sound += 1;
            solved += u64::from(runs <= FEW && check(&read(&text)).solution.is_some());
        }
    }
    println!(
        "{runs} runs ({sound} sound) in {:.0} s; the longest {:.3} s (seed {}); the most memory {} MB (seed {})",
        begun.elapsed().as_secs_f64(),
        longest.0.as_secs_f64(),
        longest.1,
        larger.0 / 1_000_000,
        larger.1
    );
    assert_eq!(failed, Vec::<u64>::new(), "these seeds fail");
    assert!(larger.0 < MOST_MEMORY, "{} bytes at seed {}", larger.0, larger.1);
    // Most of what is meant to be sound is: else nothing beyond checking would be tried.
    assert!(!(100..=FEW).contains(&runs) || solved * 10 > sound * 7, "{solved} of {sound} sound texts were solved");
}
