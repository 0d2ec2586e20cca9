//! Worked solutions, checked as a reader with a pencil would: every printed
//! equation of every example is worked out again from its own printed numbers,
//! and what it ends in is compared with the solver.

use crate::support::pencil;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use kingpost::base::{FileId, MemberId};
use kingpost::check::{Checked, check};
use kingpost::present::document::text::render_text;
use kingpost::present::results::subject_name;
use kingpost::present::working::{Asked, MOST_MEMBERS, derive};
use kingpost::quantity::format::Figures;
use kingpost::statics::exact::{ExactForces, solve_exactly};
use kingpost::statics::{CaseResult, Equilibrium, Subject, VerdictKind};
use kingpost::structure::{Project, SourceRefusal, read_project};
use kingpost::syntax::tree::MemberKind;

use pencil::Reader;

struct Worked {
    name: String,
    project: Project,
    checked: Checked,
}

impl Worked {
    fn read(path: &Path) -> Worked {
        let text = std::fs::read_to_string(path).unwrap();
        let folder = path.parent().unwrap().to_path_buf();
        let mut read =
            |used: &str| std::fs::read_to_string(folder.join(used)).map_err(|e| SourceRefusal(e.to_string()));
        let project = read_project(path.to_str().unwrap(), text, &mut read);
        let checked = check(&project);
        Worked { name: path.file_name().unwrap().to_string_lossy().into_owned(), project, checked }
    }

    fn of(text: &str) -> Worked {
        let project = read_project("test.kp", text.to_owned(), &mut |_| Err(SourceRefusal("none".to_owned())));
        let checked = check(&project);
        Worked { name: "test.kp".to_owned(), project, checked }
    }

    fn results(&self) -> &[CaseResult] {
        self.checked.solution.as_ref().map_or(&[], |solution| &solution.results)
    }

    /// Everything, before it is said of which cases.
    fn asked(&self) -> Asked<'_> {
        Asked {
            structure: &self.checked.structure,
            files: &self.project.files,
            file: self.project.files.name(FileId(0)),
            verdict: self.checked.verdict.as_ref().unwrap(),
            solved: self.results(),
            results: &[],
            member: None,
        }
    }

    fn page(&self, result: &CaseResult, member: Option<MemberId>) -> kingpost::present::document::Document {
        derive(&Asked { results: &[result], member, ..self.asked() })
    }

    fn text(&self, result: &CaseResult, member: Option<MemberId>) -> String {
        render_text(&self.page(result, member), 1_000_000)
    }

    /// What the pencil says against a page, and what the page says against the
    /// solver.
    fn faults(&self, result: &CaseResult, text: &str, reader: &Reader, whole: Wanted) -> String {
        let mut faults = String::new();
        let title = format!("{} {}", self.name, subject_name(&self.checked.structure, result.subject));
        for fault in &reader.faults {
            writeln!(faults, "{title}: {fault}").unwrap();
        }
        if text.contains("so sensitive a layout") {
            writeln!(faults, "{title}: a check does not close").unwrap();
        }
        let structure = &self.checked.structure;
        let is_determinate = self.checked.verdict.as_ref().unwrap().kind == VerdictKind::Determinate;
        let mut compare = |symbol: String, value: f64, is_wanted: bool| match reader.symbols.get(&symbol) {
            Some(found) if found.holds(if value.abs() < 1e-9 * result.largest { 0.0 } else { value }) => {}
            Some(found) => writeln!(faults, "{title}: {symbol} is {found:?}, solved {value}").unwrap(),
            None if is_wanted => writeln!(faults, "{title}: {symbol} is not worked out").unwrap(),
            None => {}
        };
        for (support, reaction) in structure.supports.iter().zip(&result.reactions) {
            let joint = structure.joint_name(support.joint);
            let has_axes = reaction.fx.is_some() != reaction.fy.is_some() || support.components().count() > 1;
            if has_axes {
                for (value, symbol) in [(reaction.fx, format!("{joint}_x")), (reaction.fy, format!("{joint}_y"))] {
                    if let Some(value) = value {
                        compare(symbol, value, is_determinate);
                    }
                }
            }
            if let Some(value) = reaction.m {
                compare(format!("M_{joint}"), structure.turning(value), is_determinate);
            }
        }
        for (member, axial) in structure.members.iter().zip(&result.axial) {
            if member.kind != MemberKind::Beam {
                let (a, b) = (structure.joint_name(member.start), structure.joint_name(member.end));
                let is_truss = structure.members.iter().all(|member| member.kind != MemberKind::Beam);
                let is_wanted = whole == Wanted::All && is_determinate && is_truss;
                let symbol = if reader.symbols.contains_key(&format!("F_{a},{b}")) {
                    format!("F_{a},{b}")
                } else {
                    format!("F_{a}{b}")
                };
                compare(symbol, *axial, is_wanted);
            }
        }
        faults
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Wanted {
    All,
    SomeBars,
}

fn files(folder: &str) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "kp"))
        .collect();
    found.sort();
    found
}

/// Every number of every page; how many equations, table rows and slopes.
fn read_all(folder: &str) -> [usize; 5] {
    let (mut faults, mut counts) = (String::new(), [0; 5]);
    for path in files(folder) {
        let worked = Worked::read(&path);
        if worked.checked.structure.members.len() > MOST_MEMBERS {
            continue;
        }
        for result in worked.results() {
            let text = worked.text(result, None);
            let reader = Reader::read(&text);
            faults.push_str(&worked.faults(result, &text, &reader, Wanted::All));
            for (count, own) in
                counts.iter_mut().zip([1, reader.checked, reader.stated, reader.table_rows, reader.slopes])
            {
                *count += own;
            }
        }
    }
    assert!(
        faults.is_empty(),
        "{} faults\n{}",
        faults.lines().count(),
        faults.lines().take(60).collect::<Vec<_>>().join("\n")
    );
    counts
}

#[test]
fn every_number_of_the_published_examples_follows_from_its_equation() {
    let counts = read_all("tests/published");
    assert_eq!(counts, [49, 1082, 600, 820, 98], "pages, equations, values stated, table rows, slopes");
}

#[test]
fn every_number_of_the_examples_follows_from_its_equation() {
    let counts = read_all("examples");
    let least = [80, 5_900, 970, 4_200, 110];
    let enough = counts.iter().zip(least).all(|(count, least)| *count >= least);
    assert!(enough, "pages, equations, values stated, table rows, slopes: {counts:?}");
}

/// To however many figures results are printed, each follows from its equation:
/// ratios and numbers on the way keep enough of them.
#[test]
fn every_number_follows_from_its_equation_at_any_count_of_figures() {
    let folders = ["examples", "tests/published", "tests/ui/derive", "tests/ui/frames"];
    let (mut faults, mut equations) = (String::new(), [0; 11]);
    for path in folders.iter().flat_map(|folder| files(folder)) {
        let mut worked = Worked::read(&path);
        if worked.checked.structure.members.len() > 60 {
            continue;
        }
        // To one figure the whole numbers of a formula cannot be told from results.
        for figures in 2..=12 {
            worked.checked.structure.figures = Figures::new(Some(figures));
            for result in worked.results().iter().take(3) {
                let text = worked.text(result, None);
                let reader = Reader::read(&text);
                equations[figures - 2] += reader.checked;
                for fault in worked.faults(result, &text, &reader, Wanted::All).lines() {
                    writeln!(faults, "{figures} figures: {fault}").unwrap();
                }
            }
        }
    }
    assert!(
        faults.is_empty(),
        "{} faults\n{}",
        faults.lines().count(),
        faults.lines().take(60).collect::<Vec<_>>().join("\n")
    );
    assert!(equations.iter().all(|count| *count > 2_500), "{equations:?}");
}

/// A page in which one result is changed is found out.
#[test]
fn a_wrong_figure_does_not_pass() {
    let (mut tried, mut missed) = (0, Vec::new());
    for file in ["examples/door.kp", "examples/jetty-beam.kp", "examples/portal-shed.kp", "examples/hoist.kp"] {
        let worked = Worked::read(Path::new(file));
        for result in worked.results() {
            let text = worked.text(result, None);
            let lines: Vec<&str> = text.lines().collect();
            for (index, line) in lines.iter().enumerate() {
                let Some(changed) = with_a_slip(line) else { continue };
                let mut spoilt: Vec<&str> = lines.clone();
                spoilt[index] = &changed;
                tried += 1;
                if Reader::read(&spoilt.join("\n")).faults.is_empty() {
                    missed.push(format!("{file}: {changed}"));
                }
            }
        }
    }
    assert!(tried > 150, "{tried}");
    // Between nearly equal numbers the printed figures leave more than a tenth in doubt.
    assert!(50 * missed.len() < tried, "{} of {tried}:\n{}", missed.len(), missed.join("\n"));
}

/// The last number of an equation's last side, a tenth too large. What stands
/// alone proves nothing, and zero has no tenth.
fn with_a_slip(line: &str) -> Option<String> {
    let (before, last) = line.rsplit_once(" = ")?;
    let is_equation = line.starts_with("  ") && (before.contains(" = ") || before.contains(" × "));
    let end = last.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '−')).unwrap_or(last.len());
    let value: f64 = last[..end].replace('−', "-").parse().ok()?;
    let changed = format!("{before} = {:.4}{}", value * 1.1, &last[end..]).replace("= -", "= −");
    (is_equation && value != 0.0).then_some(changed)
}

/// Every flexibility coefficient is the sum of the terms told, and every term
/// the product of its factors.
#[test]
fn flexibility_coefficients_are_told_term_by_term() {
    let wanted = [
        ("tests/ui/frames/span-moments.kp", 6),
        ("tests/ui/derive/redundant-truss.kp", 18),
        ("tests/ui/derive/two-extra-bars.kp", 50),
        ("tests/ui/derive/soft-pier.kp", 25),
        ("examples/portal-shed.kp", 600),
    ];
    for (file, least) in wanted {
        let worked = Worked::read(Path::new(file));
        let mut terms = 0;
        for result in worked.results() {
            let text = worked.text(result, None);
            let reader = Reader::read(&text);
            let faults = worked.faults(result, &text, &reader, Wanted::All);
            assert!(faults.is_empty(), "{faults}\n{text}");
            terms += reader.terms;
        }
        assert!(terms >= least, "{file}: {terms} terms");
    }
}

/// A change in any one factor, term or sum of the coefficients is found out.
#[test]
fn a_wrong_term_does_not_pass() {
    let (mut tried, mut missed) = (0, Vec::new());
    for file in ["tests/ui/derive/two-extra-bars.kp", "tests/ui/derive/soft-pier.kp", "examples/portal-shed.kp"] {
        let worked = Worked::read(Path::new(file));
        let text = worked.text(&worked.results()[0], None);
        let lines: Vec<&str> = text.lines().collect();
        let begin = lines.iter().position(|line| line.starts_with("Flexibility coefficients ")).unwrap();
        let end = lines.iter().position(|line| line.starts_with("Compatibility: ")).unwrap();
        for index in begin + 1..end {
            for changed in each_number_changed(lines[index]) {
                let mut spoilt = lines.clone();
                spoilt[index] = &changed;
                tried += 1;
                if Reader::read(&spoilt.join("\n")).faults.is_empty() {
                    missed.push(format!("{file}: {changed}"));
                }
            }
        }
    }
    assert!(tried > 400, "{tried}");
    // A small term's tenth may be less than the doubt in the sum.
    assert!(20 * missed.len() < tried, "{} of {tried}:\n{}", missed.len(), missed.join("\n"));
}

/// The line with each of its results in turn a tenth too large: numbers with a
/// point, and of three figures at least.
fn each_number_changed(line: &str) -> Vec<String> {
    let mut changed = Vec::new();
    let is_part = |c: char| c.is_ascii_digit() || c == '.';
    let mut at = 0;
    while let Some(start) = line[at..].find(is_part).map(|start| at + start) {
        let end = line[start..].find(|c| !is_part(c)).map_or(line.len(), |end| start + end);
        at = end;
        let number = &line[start..end];
        let figures = number.replace('.', "").trim_start_matches('0').len();
        if let (Ok(value), true) = (number.parse::<f64>(), figures >= 3 && number.contains('.')) {
            let decimals = number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
            changed.push(format!("{}{:.decimals$}{}", &line[..start], value * 1.1, &line[end..]));
        }
    }
    changed
}

/// A page of several cases tells the released structure once; later cases and
/// combinations go by it, and a combination adds up what its cases said.
#[test]
fn later_cases_go_by_the_first() {
    for file in ["examples/portal-shed.kp", "tests/ui/derive/soft-pier.kp"] {
        let worked = Worked::read(Path::new(file));
        let results: Vec<&CaseResult> = worked.results().iter().collect();
        let asked = Asked { results: &results, ..worked.asked() };
        let text = render_text(&derive(&asked), 1_000_000);
        let mut parts: Vec<String> = Vec::new();
        for line in text.lines() {
            if ["Case ", "Combination "].iter().any(|word| line.starts_with(word)) {
                parts.push(String::new());
            }
            if let Some(part) = parts.last_mut() {
                part.push_str(line);
                part.push('\n');
            }
        }
        assert_eq!(parts.len(), results.len());
        let first = Reader::read(&parts[0]);
        let mut movements: Vec<String> = Vec::new();
        let mut combined = 0;
        for (part, result) in parts.iter().zip(&results) {
            let reader =
                if std::ptr::eq(part, &parts[0]) { Reader::read(part) } else { Reader::read_after(part, &first) };
            let faults = worked.faults(result, part, &reader, Wanted::All);
            assert!(faults.is_empty(), "{faults}\n{part}");
            assert_eq!(part.contains("released structure is determinate"), std::ptr::eq(part, &parts[0]));
            let is_sum = |line: &&str| line.contains("₀ = ") || line.trim_start().starts_with("sum ");
            for line in part.lines().filter(is_sum) {
                if matches!(result.subject, Subject::Case(_)) {
                    movements.extend(line.split(' ').map(|word| word.trim_start_matches('−').to_owned()));
                    continue;
                }
                let sides: Vec<&str> = line.split(" = ").collect();
                let sum = if sides.len() > 2 { sides[1] } else { "" };
                for term in sum.split(['+', '−']).filter(|term| !term.trim().is_empty()) {
                    let number = term.rsplit('×').next().unwrap().trim().split(' ').next().unwrap();
                    combined += 1;
                    assert!(movements.iter().any(|known| known == number), "{number} in {line}: {movements:?}");
                }
            }
        }
        assert!(combined >= 3, "{file}: {combined}");
    }
}

/// Sections find what the joints find.
#[test]
fn a_section_gives_the_force_in_each_bar() {
    let mut found = 0;
    for file in
        ["examples/door.kp", "examples/boathouse-roof.kp", "examples/jetty.kp", "tests/published/T19-tayal-9-1.kp"]
    {
        let worked = Worked::read(Path::new(file));
        let result = &worked.results()[0];
        for index in 0..worked.checked.structure.members.len() {
            let text = worked.text(result, Some(MemberId::new(index)));
            let reader = Reader::read(&text);
            let faults = worked.faults(result, &text, &reader, Wanted::SomeBars);
            assert!(faults.is_empty(), "{faults}\n{text}");
            found += usize::from(text.contains("Section through"));
        }
    }
    assert!(found >= 30, "{found}");
}

/// One force is carried through the joints of a complex truss, and what is
/// told of every bar on the way holds.
#[test]
fn complex_trusses_are_followed_joint_by_joint() {
    for file in ["tests/ui/derive/complex.kp", "tests/ui/derive/three-diameters.kp"] {
        let worked = Worked::read(Path::new(file));
        let result = &worked.results()[0];
        let text = worked.text(result, None);
        let reader = Reader::read(&text);
        let faults = worked.faults(result, &text, &reader, Wanted::All);
        assert!(faults.is_empty(), "{faults}\n{text}");
        assert!(text.contains("is kept as an unknown") && !text.contains("are solved simultaneously"), "{text}");
        let carried =
            text.lines().filter(|line| line.starts_with("  ") && line.contains(" kN + ") || line.contains(" kN − "));
        assert!(carried.count() > 8, "{text}");
    }
}

/// Where a derivation stalls, and where a structure is of many bodies.
#[test]
fn hard_structures_are_worked_out_too() {
    for path in files("tests/ui/derive") {
        let worked = Worked::read(&path);
        for result in worked.results() {
            let text = worked.text(result, None);
            let faults = worked.faults(result, &text, &Reader::read(&text), Wanted::All);
            // Six figures asked for by the file leave integers exact that the pencil reads so as well.
            assert!(faults.is_empty(), "{faults}\n{text}");
        }
    }
}

/// Forces of the exact answer as floats, against the solver's, and its
/// densities against the joints, which have to balance to the last fraction.
#[test]
fn exact_answers_are_those_of_the_solver() {
    let (mut exact, mut values, mut printed) = (0, 0, 0);
    let all = ["examples", "tests/published", "tests/ui/derive"].iter().flat_map(|folder| files(folder));
    for path in all {
        let worked = Worked::read(&path);
        let structure = &worked.checked.structure;
        if structure.members.len() > MOST_MEMBERS {
            continue;
        }
        let equilibrium = Equilibrium::of(structure);
        for result in worked.results() {
            let cases = match result.subject {
                Subject::Case(id) => vec![(id, kingpost::quantity::Number::ONE)],
                Subject::Combination(id) => structure.combinations[id].factors.clone(),
            };
            let Ok(solved) = solve_exactly(structure, &equilibrium, &cases) else { continue };
            exact += 1;
            values += compare_exact(&worked.name, result, &solved);
            printed += compare_printed(&worked, result);
        }
    }
    let counts = format!("{exact} cases, {values} values, {printed} printed");
    assert!(exact >= 60 && values >= 1000 && printed >= 500, "{counts}");
}

/// The fractions and roots as they are printed.
fn compare_printed(worked: &Worked, result: &CaseResult) -> usize {
    let structure = &worked.checked.structure;
    let reader = Reader::read(&worked.text(result, None));
    assert!(reader.faults.is_empty(), "{:?}", reader.faults);
    for (name, printed) in &reader.exact {
        let bar = structure.members.ids().find(|id| structure.member_name(*id) == *name);
        let supports = structure.supports.iter().zip(&result.reactions).find_map(|(support, reaction)| {
            let joint = structure.joint_name(support.joint);
            let own = [
                (format!("{joint}_x"), reaction.fx),
                (format!("{joint}_y"), reaction.fy),
                (format!("M_{joint}"), reaction.m.map(|m| structure.turning(m))),
            ];
            own.into_iter().find(|(symbol, _)| symbol == name).and_then(|(_, value)| value)
        });
        let solved = bar.map_or_else(|| supports.unwrap(), |bar| result.axial[bar]).abs();
        let scale = solved.abs().max(result.largest);
        assert!((printed.low - solved).abs() <= 1e-11 * scale, "{} {name}: {printed:?} against {solved}", worked.name);
    }
    reader.exact.len()
}

fn compare_exact(name: &str, result: &CaseResult, solved: &ExactForces) -> usize {
    use num_traits::ToPrimitive;
    let mut values = 0;
    let near = |exact: f64, float: f64| {
        assert!((exact - float).abs() <= 1e-12 * result.largest.max(1e-300) * 10.0, "{name}: {exact} against {float}");
    };
    for (own, reaction) in solved.reactions.iter().zip(&result.reactions) {
        for (exact, float) in own.iter().zip([reaction.fx, reaction.fy, reaction.m]).take(2) {
            assert_eq!(exact.is_some(), float.is_some(), "{name}");
            if let (Some(exact), Some(float)) = (exact, float) {
                near(exact.to_f64().unwrap(), float);
                values += 1;
            }
        }
    }
    for ((density, square), float) in solved.densities.iter().zip(&solved.squares).zip(&result.axial) {
        near(density.to_f64().unwrap() * square.to_f64().unwrap().sqrt(), *float);
        values += 1;
    }
    values
}

/// Where bars alone meet a clamp is a pin: its couple is no unknown, unless one acts on it.
#[test]
fn a_clamp_of_bars_is_told_as_a_pin() {
    let truss = "units m, kN\njoint A: (0, 0)\njoint B: (3, 0)\njoint C: (6, 0)\njoint D: (3, 4)\nbar A-B-C\n\
                 bar A-D-C\nbar B-D\nfixed A\nroller C\nload D: 10 kN down\n";
    let told = |text: &str| {
        let worked = Worked::of(text);
        worked.text(&worked.results()[0], None).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let clamp = told(truss);
    assert!(clamp.contains("three unknowns, and a rigid body has three equations of equilibrium"), "{clamp}");
    assert!(!clamp.contains("M_A ↺"), "{clamp}");
    let pinned = told(&truss.replace("fixed A", "pin A"));
    // All but the answers, where the couple is told with its value, zero.
    let working = |text: &str| text.split_once("reaction exactly").unwrap().0.to_owned();
    assert_eq!(working(&clamp.replace("fixed support at A", "pin at A")), working(&pinned));
}

/// Names and titles stay words in every format.
#[test]
fn nothing_in_a_name_means_anything_to_a_format() {
    use kingpost::present::document::{
        html::render_html,
        latex::render_latex,
        markdown::{Drawings, render_markdown},
    };
    let worked = Worked::of(
        "title \"<b>\\\\write18{rm} </script> & $x$ `y` [z](u) # 100 %\"\nunits m, kN\njoint A_1: (0, 0)\n\
         joint Ü: (4, 0)\njoint _z: (2, 2)\nbar A_1-Ü-_z-A_1\npin A_1\nroller Ü\ncase x_1 {\n  load _z: 3 kN down // <i>\n}\n",
    );
    let page = worked.page(&worked.results()[0], None);
    let html = render_html(&page);
    assert!(!html.contains("<b>") && !html.contains("</script> &"), "{html}");
    assert!(html.contains("&lt;b&gt;"));
    let latex = render_latex(&page);
    let body = latex.split_once("\\begin{document}").unwrap().1;
    assert!(!body.contains("\\write18") && !body.contains("$x$") && !body.contains(" A_1"), "{body}");
    let markdown = render_markdown(&page, Drawings::InWords);
    assert!(!markdown.contains("<b>") && !markdown.contains("[z](u)"), "{markdown}");
    let text = render_text(&page, 80);
    assert!(text.lines().all(|line| !line.contains('\u{1b}')));
}
