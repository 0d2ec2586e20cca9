//! What one page says of a number, every page says: results as text, the
//! worked solution, the report and the figures print the same digits with the
//! same sign, whatever `moments` and `figures` the file states.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;

use kingpost::base::{FileId, MemberId};
use kingpost::check::{Checked, check};
use kingpost::present::document::{Block, Document, Formula, Inline, Line, Table};
use kingpost::present::figure::{Kind, Telling, draw};
use kingpost::present::report::{Report, report};
use kingpost::present::results::{Answer, subject_name, write_text};
use kingpost::present::working::{Asked, derive};
use kingpost::statics::{CaseResult, VerdictKind};
use kingpost::structure::{Project, SourceRefusal, read_project};

/// `case`, what it is of (`A`, `A-B`) and which number (`Fx`, `M start`).
type Key = (String, String, String);

/// What the pages print for each, with the page's name.
#[derive(Default)]
struct Printed(BTreeMap<Key, Vec<(&'static str, String)>>);

impl Printed {
    fn add(&mut self, page: &'static str, case: &str, of: &str, what: &str, number: &str) {
        let number = number.trim().replace('−', "-");
        if !number.is_empty() && number != "–" {
            let key = (case.to_owned(), of.to_owned(), what.to_owned());
            self.0.entry(key).or_default().push((page, number));
        }
    }
}

fn flat(line: &Line) -> String {
    let one = |inline: &Inline| match inline {
        Inline::Words(text) | Inline::Strong(text) | Inline::Code(text) | Inline::Judged(_, text) => text.clone(),
        Inline::Formula(Formula::Symbol { letter, subscript }) => format!("{letter}_{subscript}"),
        Inline::Formula(Formula::Number { digits, .. }) => digits.clone(),
        Inline::Formula(_) => String::new(),
    };
    line.iter().map(one).collect::<String>().trim().to_owned()
}

/// `M start kN·m cw` as `M start`.
fn quantity(heading: &str) -> &str {
    let end =
        ["N end", "N start", "V start", "V end", "M start", "M end", "M span", "magnitude", "Fx", "Fy", "at", "N", "M"];
    end.into_iter().find(|name| heading == *name || heading.starts_with(&format!("{name} "))).unwrap_or(heading)
}

/// A table whose rows are of joints or beams, by its headings.
fn take(printed: &mut Printed, page: &'static str, case: &str, table: &Table) {
    let headings: Vec<String> = table.columns.iter().map(|column| flat(&column.heading)).collect();
    let (mut name, mut again) = (String::new(), 0);
    for row in &table.rows {
        let cells: Vec<String> = row.iter().map(flat).collect();
        (name, again) = if cells[0].is_empty() { (name, again + 1) } else { (cells[0].clone(), 0) };
        for (heading, cell) in headings.iter().zip(&cells).skip(1) {
            let what = quantity(heading);
            if what != heading || ["Fx", "Fy", "M", "N"].contains(&what) || what == "at" {
                let nth = if again == 0 { String::new() } else { format!(" {again}") };
                printed.add(page, case, &name, &format!("{what}{nth}"), cell);
            }
        }
    }
}

fn of_report(printed: &mut Printed, project: &Project, checked: &Checked) {
    let page = report(&Report { project, checked, only: &[], date: None, figures: Telling::InWords });
    let only = only_case(checked);
    let mut case = only.clone().unwrap_or_default();
    for block in &page.blocks {
        match block {
            Block::Heading { level: 1, text } if flat(text) == "Working" => return,
            Block::Heading { text, .. } => {
                let text = flat(text);
                let mut words = text.split(' ');
                if ["Case", "Combination", "Combination"].contains(&words.next().unwrap()) {
                    case = words.next().unwrap_or("").to_owned();
                } else if only.is_none() {
                    case.clear();
                }
            }
            Block::Table(table) if flat(&table.caption) == "Member forces" => {
                for row in &table.rows {
                    printed.add("report", &case, &flat(&row[0]), "force", &flat(&row[1]));
                }
            }
            Block::Table(table)
                if ["Reactions: the forces", "Beams, each"].iter().any(|own| flat(&table.caption).starts_with(own)) =>
            {
                take(printed, "report", &case, table);
            }
            Block::Table(table) if flat(&table.caption).starts_with("In ") => {
                for row in &table.rows {
                    for (column, cell) in table.columns.iter().zip(row).skip(1) {
                        let size = flat(cell).replace(['−', '-'], "");
                        printed.add("report", &flat(&column.heading), &flat(&row[0]), "force", &size);
                    }
                }
            }
            _ => {}
        }
    }
}

fn only_case(checked: &Checked) -> Option<String> {
    match checked.solution.as_ref()?.results.as_slice() {
        [only] => Some(subject_name(&checked.structure, only.subject).to_owned()),
        _ => None,
    }
}

fn of_derive(printed: &mut Printed, project: &Project, checked: &Checked, result: &CaseResult) {
    let page = worked(project, checked, &[result]);
    let case = subject_name(&checked.structure, result.subject);
    for block in &page.blocks {
        let Block::Table(table) = block else { continue };
        let heading = flat(&table.columns[0].heading);
        if flat(&table.caption).starts_with("Beams, each") {
            take(printed, "derive", case, table);
        }
        // The answers: a name, a number, its unit.
        if !table.columns.get(1).is_some_and(|column| column.heading.is_empty() || flat(&column.heading).is_empty()) {
            continue;
        }
        for row in &table.rows {
            let (name, number) = (flat(&row[0]), flat(&row[1]));
            if heading == "bar" {
                printed.add("derive", case, &name, "force", &number);
            } else if heading == "reaction" {
                let (of, what) = match name.rsplit_once('_') {
                    Some((joint, "x")) => (joint, "Fx"),
                    Some((joint, "y")) => (joint, "Fy"),
                    Some((_, joint)) => (joint, "M"),
                    None => continue,
                };
                // A magnitude, and its sense as an arrow.
                let against = if checked.structure.turning_sign() < 0.0 { "↺" } else { "↻" };
                let is_negative = row.get(3).is_some_and(|sense| ["←", "↓", against].contains(&flat(sense).as_str()));
                let number = if is_negative { format!("-{number}") } else { number };
                printed.add("derive", case, of, what, &number);
            }
        }
    }
}

fn worked(project: &Project, checked: &Checked, results: &[&CaseResult]) -> Document {
    derive(&Asked {
        structure: &checked.structure,
        files: &project.files,
        file: project.files.name(FileId(0)),
        verdict: checked.verdict.as_ref().unwrap(),
        solved: &checked.solution.as_ref().unwrap().results,
        results,
        member: None,
    })
}

fn cells(line: &str) -> Vec<&str> {
    line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect()
}

fn of_solve(printed: &mut Printed, checked: &Checked) {
    let answer = Answer::of("test.kp", checked, &[]);
    let mut out = Vec::new();
    write_text(&mut out, &answer, &|_| true).unwrap();
    let text = String::from_utf8(out).unwrap();
    let mut case = only_case(checked).unwrap_or_default();
    let mut head: Vec<&str> = Vec::new();
    for line in text.lines() {
        // What is largest over all cases comes of what stands above.
        if line.starts_with("extremes over") {
            return;
        }
        let words: Vec<&str> = line.split(' ').collect();
        if ["case", "combination"].contains(&words[0]) {
            case = words[1].to_owned();
        }
        let row = cells(line);
        match row.first() {
            Some(&("reactions" | "beams" | "members" | "bars" | "member"))
                if line.starts_with("  ") && !line.starts_with("    ") =>
            {
                head = row
            }
            Some(name) if line.starts_with("    ") && !head.is_empty() => match head[0] {
                "reactions" => {
                    for (heading, cell) in head[1..].iter().zip(&row[2..]) {
                        if ["Fx", "Fy", "M", "size"].contains(&quantity(heading)) {
                            printed.add("solve", &case, name, quantity(heading), cell);
                        }
                    }
                }
                "beams"
                    if row.len() >= 5
                        && checked
                            .structure
                            .members
                            .iter()
                            .enumerate()
                            .any(|(index, _)| checked.structure.member_name(MemberId::new(index)) == *name) =>
                {
                    for (heading, cell) in head[1..].iter().zip(&row[1..]) {
                        printed.add("solve", &case, name, quantity(heading), cell);
                    }
                }
                "member" => {
                    for (heading, cell) in head[1..].iter().zip(&row[1..]) {
                        printed.add("solve", heading, name, "force", &cell.replace('-', ""));
                    }
                }
                "members" | "bars" if row.len() >= 2 => printed.add("solve", &case, name, "force", row[1]),
                _ => {}
            },
            _ => head.clear(),
        }
    }
}

/// The free body and the forces, as they are lettered.
fn of_figures(printed: &mut Printed, checked: &Checked, result: &CaseResult) -> Option<String> {
    let structure = &checked.structure;
    let case = subject_name(structure, result.subject);
    let lettering = |kind| {
        let figure = draw(checked, kind, Some(result.subject)).ok();
        figure.map_or_else(Vec::new, |figure| figure.picture.lettering().map(|words| words.text()).collect::<Vec<_>>())
    };
    for words in lettering(Kind::FreeBody) {
        let Some((name, value)) = words.split_once(" = ") else { continue };
        let number = value.split(' ').next().unwrap();
        for (support, reaction) in structure.supports.iter().zip(&result.reactions) {
            let joint = structure.joint_name(support.joint);
            // Arrows tell the sense; the number is a size.
            let signed = |value: Option<f64>| {
                if value.is_some_and(|value| value < 0.0) { format!("-{number}") } else { number.to_owned() }
            };
            if name == format!("{joint}x") {
                printed.add("figure", case, joint, "Fx", &signed(reaction.fx));
            } else if name == format!("{joint}y") {
                printed.add("figure", case, joint, "Fy", &signed(reaction.fy));
            } else if name == format!("M{joint}") {
                printed.add("figure", case, joint, "M", &signed(reaction.m.map(|m| m * structure.turning_sign())));
            } else if name == format!("R{joint}") {
                printed.add("figure", case, joint, "size", number);
            }
        }
    }
    let axial = |(_, _, what): &Key| what == "force" || what.starts_with('N');
    let own = printed.0.iter().filter(|(key, _)| key.0 == case && axial(key));
    let known: BTreeSet<String> = own.flat_map(|(_, said)| said).map(|(_, number)| number.replace('-', "")).collect();
    // A beam that is loaded along itself has no one axial force.
    if printed.0.keys().any(|key| key.0 == case && key.2 == "N end") {
        return None;
    }
    let forces = lettering(Kind::Forces);
    let strange = forces.iter().find(|words| {
        let number = words.strip_suffix(" T").or(words.strip_suffix(" C"));
        number.is_some_and(|number| !known.is_empty() && !known.contains(number))
    });
    strange.map(|words| format!("the figure of forces says {words}, no other page does"))
}

/// Every difference between the pages of one file, and how many numbers are on
/// two pages at least.
fn differences(text: &str, folder: &Path) -> (String, usize) {
    let mut read = |used: &str| std::fs::read_to_string(folder.join(used)).map_err(|e| SourceRefusal(e.to_string()));
    let project = read_project("test.kp", text.to_owned(), &mut read);
    let checked = check(&project);
    let Some(solution) = &checked.solution else { return (String::new(), 0) };
    if solution.results.is_empty() || solution.results.len() > 6 || checked.structure.members.len() > 60 {
        return (String::new(), 0);
    }
    let (mut printed, mut faults) = (Printed::default(), String::new());
    of_solve(&mut printed, &checked);
    of_report(&mut printed, &project, &checked);
    for result in &solution.results {
        if checked.verdict.as_ref().unwrap().kind != VerdictKind::Unstable {
            of_derive(&mut printed, &project, &checked, result);
        }
        if let Some(fault) = of_figures(&mut printed, &checked, result) {
            writeln!(faults, "{fault}").unwrap();
        }
    }
    let mut compared = 0;
    for ((case, of, what), said) in &printed.0 {
        compared += usize::from(said.len() > 1);
        if said.iter().any(|(_, number)| *number != said[0].1) {
            writeln!(faults, "{case}, {of}, {what}: {said:?}").unwrap();
        }
        // A counterclockwise couple is negative where the file counts clockwise.
        let couple = solution.results.iter().find(|result| subject_name(&checked.structure, result.subject) == case);
        let support = checked.structure.supports.iter().position(|own| checked.structure.joint_name(own.joint) == of);
        if let (Some(result), Some(support), "M") = (couple, support, what.as_str()) {
            let own = checked.structure.turning_sign() * result.reactions.get(support).unwrap().m.unwrap_or(0.0);
            let is_sound = said.iter().all(|(_, number)| number == "0" || number.starts_with('-') == (own < 0.0));
            if !is_sound {
                writeln!(faults, "{case}, {of}: {own} is {said:?}").unwrap();
            }
        }
    }
    for (support, reaction) in checked.structure.supports.iter().zip(solution.results[0].reactions.iter()) {
        let joint = checked.structure.joint_name(support.joint);
        let case = subject_name(&checked.structure, solution.results[0].subject);
        for (what, part) in [("Fx", reaction.fx), ("Fy", reaction.fy), ("M", reaction.m)] {
            let pages: BTreeSet<&str> = printed
                .0
                .get(&(case.to_owned(), joint.to_owned(), what.to_owned()))
                .into_iter()
                .flatten()
                .map(|(page, _)| *page)
                .collect();
            if part.is_some() && !["solve", "report", "derive"].iter().all(|page| pages.contains(page)) {
                writeln!(faults, "{case}, {joint}, {what} is only on {pages:?}").unwrap();
            }
        }
    }
    (faults, compared)
}

/// The text with another sense and count of figures, where it states none.
fn variants(text: &str) -> Vec<String> {
    let with = |lines: &str| format!("{lines}{text}");
    let states = |word: &str| text.lines().any(|line| line.trim_start().starts_with(word));
    match (states("moments "), states("figures ")) {
        (false, false) => {
            vec![text.to_owned(), with("moments cw\n"), with("moments cw\nfigures 2\n"), with("figures 6\n")]
        }
        (false, true) => vec![text.to_owned(), with("moments cw\n")],
        (true, false) => vec![text.to_owned(), with("figures 5\n")],
        (true, true) => vec![text.to_owned()],
    }
}

#[test]
fn pages_of_all_files_say_the_same_numbers() {
    let (mut all, mut compared) = (String::new(), 0);
    for folder in ["examples", "tests/published", "tests/ui/derive", "tests/ui/frames"] {
        let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.retain(|path| path.extension().is_some_and(|extension| extension == "kp"));
        paths.sort();
        for path in paths {
            let text = std::fs::read_to_string(&path).unwrap();
            for text in variants(&text) {
                let (faults, count) = differences(&text, Path::new(folder));
                compared += count;
                for fault in faults.lines() {
                    writeln!(all, "{}: {fault}", path.display()).unwrap();
                }
            }
        }
    }
    assert!(
        all.is_empty(),
        "{} differences\n{}",
        all.lines().count(),
        all.lines().take(40).collect::<Vec<_>>().join("\n")
    );
    assert!(compared > 6_000, "{compared}");
}

/// A small generator, so that the structures are the same in every run.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % sides
    }

    /// From `low` to `high`, in hundredths.
    fn between(&mut self, low: i64, high: i64) -> String {
        let steps = u64::try_from((high - low) * 100).unwrap();
        format!("{:.2}", (low * 100 + i64::try_from(self.roll(steps)).unwrap()) as f64 / 100.0)
    }
}

/// A frame of two posts and a broken beam on supports of any kind, with all
/// kinds of loads in two cases and a combination.
fn frame(dice: &mut Dice) -> String {
    let kinds = [
        "pin A\nroller D",
        "fixed A\nroller D: along 20°",
        "fixed A, D",
        "pin A\nguide D: along right",
        "fixed A\nspring D: ky = 3 kN/mm, kr = 900 kN*m/rad",
    ];
    let supports = kinds[dice.roll(kinds.len() as u64) as usize];
    let mut text = format!(
        "units m, kN, mm\nsection s: EA = 900 MN, EI = 24 MN*m^2\njoint A: (0, 0)\njoint B: ({}, {})\njoint C: ({}, {})\njoint D: (6, {})\n\
         beam A-B-C-D: s\nbar A-C: s\n{supports}\n",
        dice.between(0, 1),
        dice.between(3, 4),
        dice.between(5, 6),
        dice.between(3, 5),
        dice.between(-1, 1),
    );
    for case in ["dead", "wind"] {
        writeln!(text, "case {case} {{").unwrap();
        for _ in 0..2 + dice.roll(3) {
            let line = match dice.roll(5) {
                0 => format!("load B: {} kN @ {}°", dice.between(1, 30), dice.between(0, 360)),
                1 => format!("load B-C: {} kN/m to {} kN/m down", dice.between(1, 9), dice.between(1, 9)),
                2 => format!("moment C: {} kN*m {}", dice.between(1, 20), ["cw", "ccw"][dice.roll(2) as usize]),
                3 => format!("load A-B: {} kN right at {}%", dice.between(1, 20), dice.between(10, 90)),
                _ => format!("load C: ({}, {}) kN", dice.between(-9, 9), dice.between(-9, 9)),
            };
            writeln!(text, "  {line}").unwrap();
        }
        text.push_str("}\n");
    }
    text.push_str("combination all_of_it: 1.35 dead + 1.5 wind\n");
    text
}

#[test]
fn pages_of_random_frames_say_the_same_numbers() {
    let (mut all, mut compared, mut dice) = (String::new(), 0, Dice(7));
    for nth in 0..40 {
        let text = frame(&mut dice);
        let head = ["", "moments cw\n", "moments cw\nfigures 5\n", "figures 1\n"][nth % 4];
        let text = format!("{head}{text}");
        let (faults, count) = differences(&text, Path::new("."));
        compared += count;
        if !faults.is_empty() {
            writeln!(all, "{faults}{text}").unwrap();
        }
    }
    assert!(all.is_empty(), "{all}");
    assert!(compared > 1_000, "{compared}");
}
