//! Reports as the program writes them: what is in them, what is left out and
//! said to be, and files that are whole or not there.

use crate::support::examples;

use std::fmt::Write as _;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use data_encoding::BASE64;

fn kingpost(arguments: &[&str]) -> Output {
    Command::cargo_bin("kingpost").unwrap().current_dir(env!("CARGO_MANIFEST_DIR")).args(arguments).output().unwrap()
}

fn text(output: &[u8]) -> &str {
    std::str::from_utf8(output).unwrap()
}

/// The headings of a page in Markdown.
fn headings(page: &str) -> Vec<&str> {
    page.lines().filter_map(|line| line.strip_prefix("## ")).collect()
}

fn report(source: &str, arguments: &[&str]) -> (i32, String) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.kp"), source).unwrap();
    let mut command = Command::cargo_bin("kingpost").unwrap();
    let output = command.current_dir(folder.path()).args(["report", "a.kp"]).args(arguments).output().unwrap();
    (output.status.code().unwrap(), String::from_utf8(output.stdout).unwrap())
}

#[test]
fn a_page_joins_all_there_is_to_say() {
    let output = kingpost(&["report", "examples/boathouse-roof.kp", "--format", "markdown"]);
    assert_eq!(output.status.code(), Some(0));
    let page = text(&output.stdout);
    assert_eq!(headings(page), ["Statement", "Structure", "Claims", "Results", "Working"]);
    for wanted in [
        "# Heron Reach boathouse: roof, frame 3",
        "`examples/boathouse-roof.kp`",
        "✓ stable and determinate: 7 joints, 11 members, 3 reactions; m + r = 11 + 3 = 14 = 2j",
        "✓ all 7 claims hold",
        "local codes and licensed practice decide",
        "- [Working](#working)",
        "expect force D-E: 69.7 kN tension under strength",
        "| 69.7 kN tension",
        "### Combination strength = 1.2 dead + 1.6 snow + 0.5 wind",
        "**Figure 1.**",
        "Equilibrium check",
    ] {
        assert!(page.contains(wanted), "{wanted:?} is not in\n{page}");
    }
}

#[test]
fn the_same_file_gives_the_same_bytes() {
    for format in ["html", "latex", "markdown", "text"] {
        let page = || kingpost(&["report", "examples/hoist-rail.kp", "--format", format]).stdout;
        assert_eq!(page(), page());
    }
}

#[test]
fn a_date_is_there_only_when_it_is_given() {
    let page = |arguments: &[&str]| String::from_utf8(kingpost(arguments).stdout).unwrap();
    let dated = page(&["report", "examples/bracket.kp", "--date", "3 May <2031>", "--format", "html"]);
    assert!(dated.contains("<code>examples/bracket.kp</code>, 3 May &lt;2031&gt;</p>"), "{dated}");
    assert!(!page(&["report", "examples/bracket.kp", "--format", "html"]).contains("2031"));
}

#[test]
fn one_case_alone() {
    let output = kingpost(&["report", "examples/boathouse-roof.kp", "--case", "snow", "--format", "md"]);
    let page = text(&output.stdout);
    assert!(page.contains("### Case snow") && !page.contains("### Case dead"), "{page}");
    let output = kingpost(&["report", "examples/boathouse-roof.kp", "--case", "snwo"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("did you mean snow?"), "{}", text(&output.stderr));
    assert!(output.stdout.is_empty());
}

#[test]
fn an_unsound_structure_has_a_report_too() {
    let output = kingpost(&["report", "examples/broken/mechanism.kp", "--format", "markdown"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(text(&output.stderr), "2 errors in examples/broken/mechanism.kp\n");
    let page = text(&output.stdout);
    assert_eq!(headings(page), ["Statement", "Structure", "Findings"]);
    assert!(page.contains("✗ unstable, 1 independent motion"), "{page}");
    assert!(page.contains("panel L1-L2-U2-U1 has no diagonal"), "{page}");
    assert!(page.contains("**Help: **") || page.contains("**Help:**"), "{page}");
}

#[test]
fn a_file_that_cannot_be_read_as_a_structure_has_one_too() {
    let (status, page) = report("joint A (0, 0)\nbar A-B\nexpect force A-B: 1 kN tension\n", &["--format", "md"]);
    assert_eq!(status, 1);
    assert_eq!(headings(&page), ["Statement", "Findings"]);
    assert!(page.contains("the structure could not be built"), "{page}");
}

#[test]
fn a_wrong_claim_is_marked_with_what_was_computed() {
    let source = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\npin A\nroller B\nload A-B: 3 kN/m down\n\
        expect reaction B: 6 kN up\nexpect moment A-B <= 5 kN*m\nexpect not moment A-B at 2 m: zero\n";
    let (status, page) = report(source, &["--format", "md"]);
    assert_eq!(status, 1);
    assert!(page.contains("✗ one of 3 claims does not hold"), "{page}");
    let row = |start: &str| page.lines().find(|line| line.starts_with(start)).unwrap_or_else(|| panic!("{page}"));
    assert!(row("| `moment A-B <= 5 kN*m`").contains("6.00 kN·m sagging"), "{page}");
    assert!(row("| `moment A-B <= 5 kN*m`").contains("✗ wrong"), "{page}");
    assert!(row("| `reaction B: 6 kN up`").contains("✓ right"), "{page}");
    assert!(row("| `not moment A-B at 2 m: zero`").contains("✓ right"), "{page}");
}

#[test]
fn a_claim_under_all_tells_the_largest() {
    let source = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\nbeam A-B\npin A\nroller B\n\
        case calm {\n load A-B: 1 kN/m down\n}\ncase gale {\n load A-B: 3 kN/m down\n}\n\
        expect moment A-B <= 7 kN*m under all\nallow unused-case\n";
    let (_, page) = report(source, &["--format", "md"]);
    assert!(page.contains("6.00 kN·m sagging at 2.00 m from A under gale"), "{page}");
}

/// Columns of cases that have no room beside each other go on below, with the members' names.
#[test]
fn many_cases_stay_on_the_page() {
    let text = examples::many_cases("text");
    let (_, forces) = text.split_once("\nMember forces\n").unwrap();
    let (forces, _) = forces.split_once("\nExtremes\n").unwrap();
    let headings: Vec<&str> = forces.lines().filter(|line| line.starts_with("  member  snow")).collect();
    let cases: Vec<&str> = headings.iter().flat_map(|line| line.split_whitespace().skip(1)).collect();
    let wanted: Vec<String> = (1..=14).map(|case| format!("snow_drifting_from_side_{case}")).collect();
    assert_eq!(cases, wanted);
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    // Each has a row for each bar.
    assert_eq!(forces.lines().filter(|line| line.starts_with("  A-B  ")).count(), headings.len());
    let page = examples::many_cases("markdown");
    let columns = |line: &str| line.matches('|').count() - 1;
    let widest = page.lines().filter(|line| line.starts_with("| member")).map(columns).max();
    assert_eq!(widest, Some(7));
}

/// A girder of so many panels, two bars a panel in each chord and web.
fn girder(panels: usize) -> String {
    let mut source = String::from("units m, kN\n");
    writeln!(
        source,
        "for i from 0 to {panels} {{\n joint L[i]: (i * 2, 0)\n joint U[i]: (i * 2, 2)\n bar L[i]-U[i]\n}}"
    )
    .unwrap();
    writeln!(source, "for i from 0 to {} {{\n bar L[i]-L[i+1], U[i]-U[i+1], L[i]-U[i+1]\n}}", panels - 1).unwrap();
    writeln!(source, "pin L0\nroller L[{panels}]\nload U3: 5 kN down").unwrap();
    source
}

#[test]
fn what_is_too_large_for_a_page_is_left_out_and_said_to_be() {
    let (status, page) = report(&girder(300), &["--format", "md"]);
    assert_eq!(status, 0);
    for wanted in [
        "1001 more members: a table shows 200 at most; `kingpost solve --format csv` gives them all.",
        "a structure of 1201 members is too large for figures on a page (120 at most)",
        "1201 members are too many for a written solution (400 at most).",
    ] {
        assert!(page.contains(wanted), "{wanted:?} is not in\n{page}");
    }
    assert!(page.len() < 60_000, "{} bytes", page.len());
    let page = kingpost(&["report", "examples/gangway.kp", "--format", "md"]).stdout;
    let wanted = "is left out: a report holds 1500 lines of it at most; `kingpost derive` writes all of it.";
    assert!(text(&page).contains(wanted), "{}", text(&page));
}

#[test]
fn long_sources_are_cut() {
    let mut source = girder(3);
    source.push_str(&"// a line\n".repeat(700));
    let (_, page) = report(&source, &["--format", "md"]);
    assert!(page.contains("more lines of source: a report shows 600 at most."), "{page}");
}

/// One file holds its drawings: each image's text stands at the page's end,
/// and is the drawing `draw` makes.
#[test]
fn a_markdown_file_holds_its_drawings() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("roof.md");
    let output = kingpost(&["report", "examples/door.kp", "-o", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert_eq!(text(&output.stdout), format!("{}\n", path.display()));
    assert!(output.stderr.is_empty(), "{output:?}");
    assert_eq!(names_in(folder.path()), ["roof.md"]);
    let page = std::fs::read_to_string(&path).unwrap();
    let drawings: Vec<&str> = page.lines().filter(|line| line.contains("data:image/svg+xml;base64,")).collect();
    assert!(drawings.len() > 3 && page.trim_end().ends_with(&drawings.join("\n")), "{page}");
    let mut svgs = Vec::new();
    for (drawing, number) in drawings.iter().zip(1..) {
        let encoded = drawing.strip_prefix(&format!("[fig-{number}]: data:image/svg+xml;base64,")).unwrap();
        let svg = String::from_utf8(BASE64.decode(encoded.as_bytes()).unwrap()).unwrap();
        let root = roxmltree::Document::parse(&svg).unwrap();
        let description = root.descendants().find(|node| node.has_tag_name("desc")).unwrap();
        // The image's words, its marks of Markdown taken away, are the drawing's.
        let image = page.lines().find(|line| line.ends_with(&format!("][fig-{number}]"))).unwrap();
        let words = image.strip_prefix("![").unwrap().rsplit_once("][").unwrap().0.replace('\\', "");
        assert_eq!(words, description.text().unwrap());
        svgs.push(svg);
    }
    for what in ["free-body", "forces", "force-diagram"] {
        let drawn = kingpost(&["draw", "examples/door.kp", "--what", what, "-o", "-"]).stdout;
        assert!(svgs.iter().any(|svg| svg.as_bytes() == drawn), "{what} is not on the page");
    }
}

/// All that a LaTeX page or an HTML page shows stands in it.
#[test]
fn no_page_needs_a_file_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["portal.tex", "portal.html", "portal.txt"] {
        let path = folder.path().join(name);
        let output = kingpost(&["report", "examples/portal-shed.kp", "-o", path.to_str().unwrap()]);
        assert_eq!(text(&output.stdout), format!("{}\n", path.display()));
        let page = std::fs::read_to_string(&path).unwrap();
        for outside in ["\\includegraphics", "\\input{", "\\include{", "src=", "url(", "<link", "@import"] {
            assert!(!page.contains(outside), "{name} holds {outside}");
        }
    }
    assert_eq!(names_in(folder.path()), ["portal.html", "portal.tex", "portal.txt"]);
    let page = std::fs::read_to_string(folder.path().join("portal.tex")).unwrap();
    assert!(page.matches("\\begin{picture}").count() >= 5, "{page}");
}

#[test]
fn a_page_that_cannot_be_written_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("nowhere").join("roof.html");
    let output = kingpost(&["report", "examples/door.kp", "-o", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        text(&output.stderr).starts_with("kingpost: cannot write ")
            && text(&output.stderr).contains("there is no such folder"),
        "{}",
        text(&output.stderr)
    );
    let output = kingpost(&["report", "examples/door.kp", "-o", folder.path().join("roof.doc").to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("end it in .html, .md, .tex or .txt"), "{}", text(&output.stderr));
    assert!(names_in(folder.path()).is_empty());
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = entries.collect();
    names.sort();
    names
}

/// Names, notes and titles of a file may hold what a page is made of.
#[test]
fn hostile_files_break_no_page() {
    let source = "title \"</script> \\\\end{document} | $x$ 50% <b>\"\nunits m, kN\n/// </pre><script>alert(1)</script> %\n\
        joint Ж: (0, 0)\njoint 桁: (4, 0)\nbeam Ж-桁\npin Ж\nroller 桁\nload Ж-桁: 1 kN/m down\n";
    for (format, wanted) in [
        ("html", "&lt;/script&gt;"),
        ("latex", "\\textbackslash{}end\\{document\\}"),
        ("markdown", "\\</script\\> \\\\end{document} \\|"),
        ("text", "</script> \\end{document}"),
    ] {
        let (status, page) = report(source, &["--format", format]);
        assert_eq!(status, 0, "{page}");
        assert!(page.contains(wanted), "{wanted} is not in\n{page}");
        assert!(format != "html" || !page.contains("<script"), "{page}");
    }
}
