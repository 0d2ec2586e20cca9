//! How diagnostics read: one snapshot a page, and the promise that no span,
//! however wrong, breaks a renderer.

use kingpost::base::{FileId, Files, Origin, SourceFile, Span};
use kingpost::diagnostic::{Diagnostic, Severity, Slug};
use kingpost::present::diagnostics::{Colour, Style, render_human, render_json_line, render_summary};
use proptest::prelude::*;

const GANGWAY: &str = "\
units ft, lbf
joint A: (0, 0)
joint B: (5, 0)
joint C: (11, 0)
joint D: (2, 4 ft 3 in)
joint E: (7, 3 ft 9 in)
bar A-B-C
bar A-D-E-C
bar D-B-E
pin A
roller C
load D: 310 lb down
load E: 95 lbf @ 35° below left
load B: (40, -60) lbf
";

fn gangway() -> Files {
    files(&[("gangway.kp", GANGWAY)])
}

fn files(sources: &[(&str, &str)]) -> Files {
    let mut files = Files::new();
    for (name, text) in sources {
        files.add(SourceFile::new(*name, *text));
    }
    files
}

/// The place of the `nth` occurrence (from 0) of a piece of text in a file.
fn at(files: &Files, file: u32, piece: &str, nth: usize) -> Origin {
    let file = FileId(file);
    let (start, _) = files.text(file).match_indices(piece).nth(nth).unwrap();
    Origin::new(file, Span::new(start as u32, (start + piece.len()) as u32))
}

fn finding(severity: Severity, message: &str) -> Diagnostic {
    Diagnostic { severity, ..Diagnostic::new(Slug::UnknownToken, message) }
}

fn plain(diagnostics: &[Diagnostic], files: &Files) -> String {
    render_human(diagnostics, files, Style::default())
}

#[test]
fn one_label_with_why_and_help() {
    let files = gangway();
    let loose = finding(Severity::Error, "joint D can move sideways: nothing holds it across A-D-E")
        .label(at(&files, 0, "joint D: (2, 4 ft 3 in)", 0), "D moves right and left")
        .label(at(&files, 0, "A-D-E-C", 0), "these bars meet in one line at D")
        .why("Two bars in one line hold a joint along the line only: a force square to them has nothing to balance it, however the bars are sized.")
        .why("The count m + r = 2j is met (7 + 3 = 10), yet one panel is braced twice and another not at all.")
        .help("Add a bar that meets D at an angle; this one is enough:\n  bar B-D");
    insta::assert_snapshot!(plain(&[loose], &files));
}

#[test]
fn several_labels_on_one_line_and_a_certain_correction() {
    let files = gangway();
    let pound = at(&files, 0, "lb down", 0);
    let pound = Origin::new(pound.file, Span::new(pound.span.start, pound.span.start + 2));
    let hint = finding(Severity::Information, "`lb` is a mass; it is read as the force `lbf`")
        .label(at(&files, 0, "lb down", 0), "read as lbf")
        .label(at(&files, 0, "310", 0), "the load on D")
        .label(at(&files, 0, "load D", 0), "a load is a force")
        .help("Write `lbf`.")
        .edit(pound, "lbf");
    insta::assert_snapshot!(plain(&[hint], &files));
}

#[test]
fn labels_far_apart_in_other_files_and_over_several_lines() {
    let mut long = String::from("units m, kN\ncase wind {\n  load A: 2 kN right\n  load B: 3 kN right\n}\n");
    long.push_str(&"// a note\n".repeat(120));
    long.push_str("case wind {\n  load A: 2 kN right\n}\n");
    let files = files(&[("hall/main.kp", "use \"loads.kp\"\ntitle \"Portal shed\"\n"), ("hall/loads.kp", &long)]);
    let twice = finding(Severity::Warning, "case `wind` loads A with 2 kN right twice")
        .label(at(&files, 1, "load A: 2 kN right", 1), "written again here")
        .label(at(&files, 1, "load A: 2 kN right", 0), "first written here")
        .label(at(&files, 1, "case wind {\n  load A: 2 kN right\n  load B: 3 kN right\n}", 0), "in this case")
        .label(at(&files, 0, "\"loads.kp\"", 0), "taken in here")
        .help("Delete one of them, or add the loads and say so in a note.");
    insta::assert_snapshot!(plain(&[twice], &files));
}

#[test]
fn wide_combining_and_tab_characters_stay_in_line() {
    let text = "joint 桁橋: (0, 0)\n\tjoint e\u{301}tage:\t(1, 2) m\njoint Ω: (3, 4)\u{202e}\u{0}x\n";
    let files = files(&[("橋.kp", text)]);
    let wide = finding(Severity::Error, "names of every script")
        .label(at(&files, 0, "桁橋", 0), "two wide letters")
        .label(at(&files, 0, "(0, 0)", 0), "its place")
        .label(at(&files, 0, "e\u{301}tage", 0), "after a tab, with a combining accent")
        .label(at(&files, 0, "(1, 2)", 0), "after another tab")
        .label(at(&files, 0, "\u{202e}", 0), "a character that turns the line round")
        .label(at(&files, 0, "\u{301}", 0), "the accent alone");
    insta::assert_snapshot!(plain(&[wide], &files));
}

#[test]
fn a_long_line_is_cut_to_a_window() {
    let bars: Vec<String> = (0..2000).map(|n| format!("L{n}-L{}", n + 1)).collect();
    let text = format!("bar {}: chord\n", bars.join(", "));
    let files = files(&[("girder.kp", &text)]);
    let slip = finding(Severity::Error, "there is no joint L1234")
        .label(at(&files, 0, "L1234", 0), "not declared")
        .label(at(&files, 0, "chord", 0), "far to the right")
        .help("Did you mean L123?")
        .edit(at(&files, 0, "L1234", 0), "L123");
    insta::assert_snapshot!(plain(&[slip], &files));
}

#[test]
fn more_labels_than_are_drawn_are_listed() {
    let files = gangway();
    let mut many = finding(Severity::Warning, "no member meets these joints at a steep angle");
    for line in ["joint A", "joint B", "joint C", "joint D", "joint E", "bar A-B-C", "pin A", "roller C", "load D"] {
        many = many.label(at(&files, 0, line, 0), format!("see {line}"));
    }
    insta::assert_snapshot!(plain(&[many], &files));
}

#[test]
fn a_finding_without_a_place_and_one_at_the_end_of_the_file() {
    let files = gangway();
    let nowhere = finding(Severity::Error, "nothing is loaded")
        .why("A structure without loads has nothing to find.")
        .help("Add a load, for instance\n  load B: 10 lbf down");
    let end = Origin::new(FileId(0), Span::at(GANGWAY.len() as u32));
    let open =
        finding(Severity::Error, "the block is not closed").label(end, "a `}` should stand here").edit(end, "}\n");
    insta::assert_snapshot!(plain(&[nowhere, open], &files));
}

#[test]
fn a_deleted_line_and_a_rewritten_one() {
    let files = gangway();
    let gone = finding(Severity::Warning, "`roller C` is written twice")
        .label(at(&files, 0, "roller C", 0), "again")
        .edit(at(&files, 0, "roller C\n", 0), "")
        .edit(at(&files, 0, "35°", 0), "50°")
        .edit(at(&files, 0, "left", 0), "right");
    insta::assert_snapshot!(plain(&[gone], &files));
}

#[test]
fn colours_are_used_only_when_asked_for() {
    let files = gangway();
    let hint = finding(Severity::Warning, "roller C pulls down")
        .label(at(&files, 0, "roller C", 0), "holds C down")
        .label(at(&files, 0, "load B", 0), "this load lifts it")
        .why("The reaction at C is 12.5 lbf down.")
        .edit(at(&files, 0, "roller C", 0), "pin C");
    let findings = [hint];
    assert!(!plain(&findings, &files).contains('\u{1b}'));
    let style = Style { colour: Colour::Ansi, ..Style::default() };
    let coloured = render_human(&findings, &files, style);
    let mut stripped = String::new();
    for (position, piece) in coloured.split('\u{1b}').enumerate() {
        stripped.push_str(if position == 0 { piece } else { piece.split_once('m').unwrap().1 });
    }
    let trimmed: Vec<&str> = stripped.lines().map(str::trim_end).collect();
    assert_eq!(trimmed, plain(&findings, &files).lines().collect::<Vec<_>>());
    insta::assert_snapshot!(coloured.replace('\u{1b}', "^"));
}

#[test]
fn json_lines_give_places_in_the_original_text() {
    let files = files(&[("main.kp", "use \"deep.kp\"\n"), ("deep.kp", "// é\njoint é: (0, 0)\n")]);
    let finding = finding(Severity::Error, "a \"quoted\" message")
        .label(at(&files, 1, "é: ", 0), "here")
        .label(at(&files, 0, "deep", 0), "from here")
        .why("because")
        .help("write A")
        .edit(at(&files, 1, "é", 1), "A");
    insta::assert_snapshot!(render_json_line(&finding, &files));
}

#[test]
fn the_closing_line_counts() {
    let files = files(&[("gangway.kp", "a"), ("loads.kp", "b"), ("more.kp", "c")]);
    let place = |file| Origin::new(FileId(file), Span::at(0));
    let error = finding(Severity::Error, "").label(place(0), "");
    let warning = finding(Severity::Warning, "").label(place(1), "").edit(place(1), "");
    let remark = finding(Severity::Information, "").label(place(2), "");
    let line = |findings: &[&Diagnostic]| {
        render_summary(&findings.iter().map(|finding| (*finding).clone()).collect::<Vec<_>>(), &files)
    };
    assert_eq!(line(&[]), "");
    assert_eq!(line(&[&error, &error]), "2 errors in gangway.kp");
    assert_eq!(
        line(&[&error, &error, &warning]),
        "2 errors, 1 warning in gangway.kp and loads.kp; 1 has a certain correction"
    );
    assert_eq!(
        line(&[&error, &warning, &remark, &remark]),
        "1 error, 1 warning, 2 remarks in 3 files; 1 has a certain correction"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Spans past the end, inside a character, backwards, in no file.
    #[test]
    fn no_span_breaks_a_renderer(
        text in "([ -~]|[\t\r\n\u{b}\u{85}\u{2028}\u{0}\u{1b}]|é|桁|\u{301}|\u{200d}|👩|\u{202e}){0,120}",
        repeat in prop_oneof![Just(1usize), Just(1), Just(30)],
        spans in prop::collection::vec((0u32..3, prop_oneof![0u32..400, any::<u32>()], prop_oneof![0u32..400, any::<u32>()], "\\PC{0,12}"), 0..9),
        edits in prop::collection::vec((0u32..3, 0u32..200, 0u32..200, "\\PC{0,6}"), 0..4),
        width in 0usize..120,
    ) {
        let files = files(&[("a.kp", &text.repeat(repeat)), ("b.kp", "joint A: (0, 0)")]);
        let mut finding = finding(Severity::Warning, &text).why(text.clone()).help(text.clone());
        for (file, start, end, words) in &spans {
            finding = finding.label(Origin::new(FileId(*file), Span::new(*start, *end)), words.clone());
        }
        for (file, start, end, words) in &edits {
            finding = finding.edit(Origin::new(FileId(*file), Span::new(*start, *end)), words.clone());
        }
        let findings = [finding];
        for colour in [Colour::Plain, Colour::Ansi] {
            let page = render_human(&findings, &files, Style { colour, width });
            prop_assert!(page.lines().next().is_some_and(|line| !line.is_empty()));
            let steers = page.contains('\u{1b}');
            prop_assert!(colour == Colour::Ansi || !steers);
        }
        let json = render_json_line(&findings[0], &files);
        let is_one_line = !json.contains('\n');
        prop_assert!(is_one_line && serde_json::from_str::<serde_json::Value>(&json).is_ok());
        let _ = render_summary(&findings, &files);
    }
}
