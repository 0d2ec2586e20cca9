//! `check --fix`: what it writes, what it refuses to write, what it says.

use crate::support::runs;

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use runs::{Said, folder_with};

const BROKEN: &str = "units m, kN\njoint A (0, 0)\njoint B: (4, 0)\njoint ridge: (2, 3)\nbar A–B-rigde-A\npin A\nroller B\nload ridge: 5 kN down\n";
const MENDED: &str = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint ridge: (2, 3)\nbar A-B-ridge-A\npin A\nroller B\nload ridge: 5 kN down\n";

fn run(folder: &Path, arguments: &[&str], input: &str) -> Said {
    let mut command = assert_cmd::Command::cargo_bin("kingpost").unwrap();
    command.current_dir(folder).args(arguments).write_stdin(input).output().unwrap().into()
}

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join(name)).unwrap()
}

/// Names in a folder: nothing may be left lying about.
fn names(folder: &TempDir) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn certain_corrections_are_written_and_told_line_by_line() {
    let folder = folder_with(&[("roof.kp", BROKEN)]);
    let said = run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert_eq!(said.exit, 0);
    assert_eq!(read(&folder, "roof.kp"), MENDED);
    assert_eq!(names(&folder), ["roof.kp"]);
    assert_eq!(
        said.out,
        "roof.kp:\n  2 - joint A (0, 0)\n  2 + joint A: (0, 0)\n      `:` is missing after `joint A` [missing-colon]\n  \
         5 - bar A–B-rigde-A\n  5 + bar A-B-ridge-A\n      `–` looks like `-` and is read as that [look-alike-character]\n      \
         there is no joint `rigde` [unknown-name]\n\nroof.kp: stable, determinate; no claims\n"
    );
    assert_eq!(said.errors, "");
    let again = run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert_eq!((again.out.as_str(), again.exit), ("roof.kp: stable, determinate; no claims\n", 0));
}

#[test]
fn what_is_not_certain_is_left_and_told() {
    let folder = folder_with(&[("roof.kp", &BROKEN.replace("5 kN", "5 kg"))]);
    let said = run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert_eq!(said.exit, 1);
    assert_eq!(read(&folder, "roof.kp"), MENDED.replace("5 kN", "5 kg"));
    assert!(said.out.contains("[mass-as-load]") && said.out.contains("\n1 error in roof.kp\n"), "{}", said.out);
}

/// A missing diagonal has a cure that is proved, and it is not applied.
#[test]
fn structural_cures_are_never_applied() {
    let text = MENDED.replace("bar A-B-ridge-A", "bar A-B-ridge");
    let folder = folder_with(&[("roof.kp", &text)]);
    let said = run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert!(said.out.contains("then it stands") || said.out.contains("then nothing is wrong"), "{}", said.out);
    assert_eq!((said.exit, read(&folder, "roof.kp")), (1, text));
}

#[test]
fn line_ends_and_the_byte_order_mark_stay() {
    let dos = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let folder = folder_with(&[("roof.kp", &dos(&BROKEN.replace("pin A\n", "pin A; ")))]);
    assert_eq!(run(folder.path(), &["check", "--fix", "roof.kp"], "").exit, 0);
    assert_eq!(read(&folder, "roof.kp"), dos(MENDED));
}

#[test]
fn a_file_without_a_last_newline_stays_without() {
    let folder = folder_with(&[("roof.kp", BROKEN.trim_end())]);
    run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert_eq!(read(&folder, "roof.kp"), MENDED.trim_end());
}

#[test]
fn used_files_are_written_too_all_or_none() {
    // One use of the name is right, so that the other is the slip.
    let root = BROKEN.replace("rigde", "ridge").replace("load ridge: 5 kN down\n", "use \"loads/snow.kp\"\n");
    let files = [("roof.kp", root.as_str()), ("loads/snow.kp", "units m, kN\nload rigde: 5 kN down\n")];
    let folder = folder_with(&files);
    let said = run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert_eq!(said.exit, 0, "{}", said.out);
    assert_eq!(read(&folder, "loads/snow.kp"), "units m, kN\nload ridge: 5 kN down\n");
    assert!(said.out.contains("loads/snow.kp:\n  2 - load rigde"), "{}", said.out);
    // Where one cannot be written, none is.
    let folder = folder_with(&files);
    lock(&folder.path().join("loads/snow.kp"));
    let said = run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert_eq!((said.exit, read(&folder, "roof.kp")), (2, root));
    assert_eq!(said.errors, "kingpost: cannot write loads/snow.kp: it is read-only; no file was changed\n");
    assert_eq!(names(&folder), ["loads", "roof.kp"]);
}

fn lock(path: &Path) {
    let mut permissions = fs::metadata(path).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(path, permissions).unwrap();
}

#[cfg(unix)]
#[test]
fn permissions_are_kept_and_surprising_files_refused() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = folder_with(&[("roof.kp", BROKEN)]);
    let path = folder.path().join("roof.kp");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    symlink("roof.kp", folder.path().join("link.kp")).unwrap();
    let said = run(folder.path(), &["check", "--fix", "link.kp"], "");
    assert_eq!(said.exit, 2);
    assert_eq!(
        said.errors,
        "kingpost: cannot write link.kp: it is a link to roof.kp; name the file itself; no file was changed\n"
    );
    fs::hard_link(&path, folder.path().join("twin.kp")).unwrap();
    let said = run(folder.path(), &["check", "--fix", "roof.kp"], "");
    assert!(said.exit == 2 && said.errors.contains("hard links"), "{}", said.errors);
    fs::remove_file(folder.path().join("twin.kp")).unwrap();
    assert_eq!(read(&folder, "roof.kp"), BROKEN);
    assert_eq!(run(folder.path(), &["check", "--fix", "roof.kp"], "").exit, 0);
    assert_eq!(read(&folder, "roof.kp"), MENDED);
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o7777, 0o640);
}

#[test]
fn standard_input_is_answered_with_the_corrected_text_alone() {
    let folder = folder_with(&[]);
    let said = run(folder.path(), &["check", "--fix", "-"], BROKEN);
    assert_eq!((said.out.as_str(), said.exit), (MENDED, 0));
    assert!(said.errors.starts_with("<stdin>:\n  2 - joint A (0, 0)\n"), "{}", said.errors);
    let said = run(folder.path(), &["check", "--fix", "-"], "bar A-B\n");
    assert_eq!((said.out.as_str(), said.exit), ("bar A-B\n", 1));
    assert!(said.errors.contains("[unknown-name]"));
}

#[test]
fn other_formats_keep_standard_output_for_the_findings_that_are_left() {
    let folder = folder_with(&[("roof.kp", &BROKEN.replace("5 kN", "5 kg"))]);
    let said = run(folder.path(), &["check", "--fix", "--format", "json", "roof.kp"], "");
    assert_eq!(said.out.lines().count(), 2);
    assert!(said.out.starts_with("{\"file\":\"roof.kp\",\"slug\":\"mass-as-load\""), "{}", said.out);
    assert!(said.errors.starts_with("roof.kp:\n  2 - joint A"), "{}", said.errors);
}

/// A patch applied by the rules of the format gives what `--fix` writes.
#[test]
fn a_dry_run_is_a_patch_and_writes_nothing() {
    let long: String = (0..40).map(|i| format!("load ridge: {i} N down\n")).collect();
    let texts = [
        BROKEN.to_owned(),
        format!("{BROKEN}{long}load rigde: 1 N down"),
        BROKEN.replace('\n', "\r\n"),
        BROKEN.replace("pin A\n", "pin A; "),
        format!("{long}{BROKEN}").replace("units m, kN\n", "") + "Units m, kN\n",
    ];
    for text in texts {
        let folder = folder_with(&[("a b/roof.kp", &text)]);
        let said = run(folder.path(), &["check", "--fix", "--dry-run", "a b/roof.kp"], "");
        assert_eq!((said.exit, said.errors.as_str()), (1, ""));
        assert_eq!(read(&folder, "a b/roof.kp"), text);
        assert!(said.out.starts_with("--- a/a b/roof.kp\t\n+++ b/a b/roof.kp\t\n@@ "), "{}", said.out);
        run(folder.path(), &["check", "--fix", "a b/roof.kp"], "");
        assert_eq!(patched(&text, &said.out), read(&folder, "a b/roof.kp"));
    }
    let folder = folder_with(&[("roof.kp", MENDED)]);
    let said = run(folder.path(), &["check", "--fix", "--dry-run", "roof.kp"], "");
    assert_eq!((said.out.as_str(), said.exit), ("", 0));
}

/// Applies a unified diff of one file, strictly: every context line has to fit.
fn patched(text: &str, diff: &str) -> String {
    let old: Vec<&str> = text.split_inclusive('\n').collect();
    let mut new = String::new();
    let mut at = 0;
    let mut lines = diff.split_inclusive('\n').skip(2).peekable();
    while let Some(line) = lines.next() {
        if let Some(rest) = line.strip_prefix("@@ -") {
            let first: usize = rest.split([',', ' ']).next().unwrap().parse().unwrap();
            while at + 1 < first {
                new += old[at];
                at += 1;
            }
            continue;
        }
        let is_last = lines.peek().is_some_and(|next| next.starts_with("\\ No newline"));
        let body = if is_last { line[1..].trim_end_matches('\n') } else { &line[1..] };
        match &line[..1] {
            " " => {
                assert_eq!(old[at], body);
                new += body;
                at += 1;
            }
            "-" => {
                assert_eq!(old[at], body);
                at += 1;
            }
            "+" => new += body,
            "\\" => {}
            other => panic!("{other}"),
        }
    }
    new + &old[at..].concat()
}

#[test]
fn warnings_and_remarks_are_switched_from_outside() {
    let text = "units m, kN\nlet bay = 3 m\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\nload C: 5 kN down\n";
    let exit = |options: &[&str], switches: &str| {
        let folder = folder_with(&[("roof.kp", &format!("{text}{switches}"))]);
        let said = run(folder.path(), &[&["check", "roof.kp"], options].concat(), "");
        (said.exit, said.out.contains("[unused-let]"))
    };
    assert_eq!(exit(&[], ""), (0, true));
    assert_eq!(exit(&["--allow", "unused-let"], ""), (0, false));
    assert_eq!(exit(&["--deny", "unused-let"], ""), (1, true));
    // The command line goes before the file.
    assert_eq!(exit(&["--deny", "unused-let"], "allow unused-let\n"), (1, true));
    assert_eq!(exit(&["--allow", "unused-let"], "deny unused-let\n"), (0, false));
    // Of two switches at one place the stricter holds, in either order.
    assert_eq!(exit(&["--allow", "unused-let", "--deny", "unused-let"], ""), (1, true));
    assert_eq!(exit(&["--deny", "unused-let", "--allow", "unused-let"], ""), (1, true));
    assert_eq!(exit(&[], "allow unused-let\ndeny unused-let\n"), (1, true));
    assert_eq!(exit(&[], "deny unused-let\nallow unused-let\n"), (1, true));
    let folder = folder_with(&[("roof.kp", text)]);
    for (option, wanted) in [
        ("--allow=unused-lett", "did you mean unused-let?"),
        ("--deny=no-support", "only warnings and remarks can be switched"),
        ("--allow=quite-another", "`kingpost explain` lists them all"),
    ] {
        let said = run(folder.path(), &["check", "roof.kp", option], "");
        assert!(said.exit == 2 && said.errors.contains(wanted), "{}", said.errors);
    }
}

/// What could be meant otherwise is not written: a number stays as it is.
#[test]
fn no_number_is_changed_that_could_be_another() {
    let lines = [
        "load A-B: 0..6 kN/m down",
        "load A-B: 2..5 kN/m down",
        "load A-B: 0 kN/m .. 6 kN/m down",
        "load A-B: 0…6 kN/m down",
        "load A-B: 3. 5 kN/m down",
        "load A-B: 3 .5 kN/m down",
        "load A-B: 2.. kN/m down",
    ];
    for line in lines {
        let text = format!("units m, kN\njoint A: (0, 0)\njoint B: (6, 0)\nbeam A-B\npin A\nroller B\n{line}\n");
        let folder = folder_with(&[("beam.kp", &text)]);
        let said = run(folder.path(), &["check", "--fix", "beam.kp"], "");
        assert_eq!((said.exit, read(&folder, "beam.kp")), (1, text), "{}", said.out);
        assert_eq!(said.out.matches("error: ").count(), 1, "{}", said.out);
    }
}

/// A `;` begins a new line only before a statement, and sets the coordinates of a point apart.
#[test]
fn a_semicolon_is_a_new_line_only_before_a_statement() {
    let text = |line: &str| format!("units m, kN\njoint A: (0, 0)\njoint B: (6, 0)\n{line}\nbar A-B-C-A\n");
    let mended = |line: &str| {
        let folder = folder_with(&[("roof.kp", &text(line))]);
        run(folder.path(), &["check", "--fix", "roof.kp"], "");
        read(&folder, "roof.kp")
    };
    for line in ["joint C: 3;4", "joint C: 3 ;4", "joint C: 3; 4"] {
        assert!([text("joint C: (3, 4)"), text("joint C: (3 , 4)")].contains(&mended(line)), "{}", mended(line));
    }
    assert_eq!(mended("joint C: (3, 4); pin A; roller B;"), text("joint C: (3, 4)\npin A\nroller B"));
    for line in ["pin A; B", "load A: 3;4 kN", "joint C: (3, 4); 5", "; joint C: (3, 4)"] {
        assert_eq!(mended(line), text(line));
    }
}
