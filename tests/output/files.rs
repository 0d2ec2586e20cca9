//! What the commands do with files and streams: one file is one file by any
//! name, nothing that was read is written over, nobody's closed pipe ends what
//! is being done, nothing stays behind.

#![cfg(unix)]
use crate::support::runs;

use std::fs;
use std::io::Read;
use std::os::unix::fs::symlink;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use runs::{Said, folder_with};

const SOUND: &str = "units m, kN\njoint A: (0, 0)\njoint B: (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\n\
                     load C: 6 kN down\n";
/// One correction is certain, one fault has none.
const BROKEN: &str = "units m, kN\njoint A: (0, 0)\njoint B (4, 0)\njoint C: (2, 3)\nbar A-B-C-A\npin A\nroller B\n\
                      load C: 5 kN down\nload C: 5 kg down\n";

fn kingpost(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("kingpost"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null());
    command
}

fn run(folder: &Path, arguments: &[&str]) -> Said {
    kingpost(folder, arguments).output().unwrap().into()
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Every way to a file: through a linked folder, a link, a second name, a
/// detour. Taken twice its declarations would be twins, and its load double.
#[test]
fn a_used_file_is_taken_once_by_whatever_path() {
    let paths = ["parts/p.kp", "alias/p.kp", "linked.kp", "second.kp", "parts/../parts/./p.kp"];
    for other in paths {
        let root = format!("use \"parts/p.kp\"\nuse \"{other}\"\nexpect reaction B: 3 kN up\n");
        let folder = folder_with(&[("r.kp", root.as_str()), ("parts/p.kp", SOUND)]);
        symlink("parts", folder.path().join("alias")).unwrap();
        symlink("parts/p.kp", folder.path().join("linked.kp")).unwrap();
        fs::hard_link(folder.path().join("parts/p.kp"), folder.path().join("second.kp")).unwrap();
        let said = run(folder.path(), &["check", "r.kp"]);
        assert_eq!((said.out.as_str(), said.exit), ("r.kp: stable, determinate; its one claim holds\n", 0), "{other}");
        let said = run(folder.path(), &["check", "--fix", "r.kp"]);
        assert_eq!(said.exit, 0, "{other}: {}{}", said.out, said.errors);
        assert_eq!(fs::read_to_string(folder.path().join("parts/p.kp")).unwrap(), SOUND, "{other}");
    }
}

#[test]
fn a_root_that_a_used_file_uses_is_taken_once_too() {
    let folder = folder_with(&[("r.kp", &format!("{SOUND}use \"self.kp\"\n"))]);
    symlink("r.kp", folder.path().join("self.kp")).unwrap();
    assert_eq!(run(folder.path(), &["check", "r.kp"]).out, "r.kp: stable, determinate; no claims\n");
}

#[test]
fn a_file_named_twice_is_one_argument() {
    let folder = folder_with(&[("a.kp", SOUND)]);
    symlink("a.kp", folder.path().join("b.kp")).unwrap();
    let said = run(folder.path(), &["check", "a.kp", "./a.kp", "b.kp"]);
    assert_eq!(said.out, "a.kp: stable, determinate; no claims\n");
    let said = run(folder.path(), &["solve", "--format", "json", "a.kp", "b.kp"]);
    let answer: serde_json::Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(answer["file"], "a.kp");
}

#[test]
fn what_two_roots_share_is_one_diff_that_patch_and_git_take() {
    let shared = SOUND.replace("joint B:", "joint B");
    let root = "use \"p.kp\"\n";
    let folder = folder_with(&[("a.kp", root), ("b.kp", root), ("p.kp", &shared)]);
    let said = run(folder.path(), &["check", "--fix", "--dry-run", "a.kp", "b.kp"]);
    assert_eq!(said.exit, 1);
    assert_eq!(said.out.matches("--- ").count(), 1, "{}", said.out);
    apply(folder.path(), &said.out, "p.kp", SOUND);
}

/// Names with what headers of diffs are quoted for, and texts with what lines end in.
#[test]
fn diffs_are_taken_whatever_the_name_and_the_line_ends() {
    let names = ["my roof.kp", "back\\slash.kp", "esc\u{1b}[31m.kp", "quo\"te.kp", "tab\t.kp", "dach-é.kp", "end .kp"];
    let broken = SOUND.replace("bar A-B-C-A", "bar A–B-C-A");
    for name in names {
        for (broken, mended) in [
            (broken.clone(), SOUND.to_owned()),
            (broken.trim_end().to_owned(), SOUND.trim_end().to_owned()),
            (broken.replace('\n', "\r\n"), SOUND.replace('\n', "\r\n")),
            (format!("{broken}// "), format!("{SOUND}// ")),
        ] {
            let folder = folder_with(&[(name, broken.as_str())]);
            let said = run(folder.path(), &["check", "--fix", "--dry-run", name]);
            apply(folder.path(), &said.out, name, &mended);
        }
    }
    // A carriage return alone ends no line of a diff.
    let folder = folder_with(&[("cr.kp", "bar A–B\r")]);
    let said = run(folder.path(), &["check", "--fix", "--dry-run", "cr.kp"]);
    assert!(said.out.contains("-bar A–B\r\n\\ No newline at end of file\n+bar A-B"), "{:?}", said.out);
}

/// With both programs, where they are there.
fn apply(folder: &Path, diff: &str, name: &str, wanted: &str) {
    let path = folder.join(name);
    let before = fs::read(&path).unwrap();
    fs::write(folder.join("change.diff"), diff).unwrap();
    for words in [["patch", "-s", "-p1", "-i", "change.diff"], ["git", "apply", "--unsafe-paths", "-p1", "change.diff"]]
    {
        let words = if words[0] == "patch" {
            vec!["patch", "--binary", "-s", "-p1", "-i", "change.diff"]
        } else {
            words.to_vec()
        };
        let done = Command::new(words[0]).current_dir(folder).args(&words[1..]).output();
        let Ok(done) = done else {
            println!("{} is not there: its reading of a diff is not tested", words[0]);
            continue;
        };
        assert!(done.status.success(), "{name:?}: {words:?}: {}\n{diff}", String::from_utf8_lossy(&done.stderr));
        assert_eq!(fs::read_to_string(&path).unwrap(), wanted, "{name:?}: {words:?}");
        fs::write(&path, &before).unwrap();
    }
}

#[test]
fn a_dry_run_with_nothing_to_correct_says_what_is_left() {
    let folder = folder_with(&[("r.kp", &SOUND.replace("6 kN", "6 kg"))]);
    let said = run(folder.path(), &["check", "--fix", "--dry-run", "r.kp"]);
    assert_eq!((said.out.as_str(), said.exit), ("", 1));
    assert_eq!(said.errors, "kingpost: 1 error in r.kp has no certain correction; without --fix each is shown\n");
    let folder = folder_with(&[("r.kp", SOUND)]);
    let said = run(folder.path(), &["check", "--fix", "--dry-run", "r.kp"]);
    assert_eq!((said.out.as_str(), said.errors.as_str(), said.exit), ("", "", 0));
}

/// In every format the file is judged as it is, and the failure is told.
#[test]
fn corrections_that_could_not_be_written_are_not_claimed() {
    let folder = folder_with(&[("b.kp", BROKEN)]);
    fs::hard_link(folder.path().join("b.kp"), folder.path().join("h.kp")).unwrap();
    let refused =
        "cannot write b.kp: it has other names (hard links), which would keep the old text; no file was changed";
    for format in ["text", "json", "sarif", "github", "junit"] {
        let said = run(folder.path(), &["check", "--fix", "--format", format, "b.kp"]);
        assert_eq!((said.exit, said.errors), (2, format!("kingpost: {refused}\n")), "{format}");
        assert_eq!(fs::read_to_string(folder.path().join("b.kp")).unwrap(), BROKEN);
        let wanted: &[&str] = match format {
            "text" => &["missing-colon", "2 errors in b.kp"],
            "json" => &["missing-colon", "{\"file\":\"b.kp\",\"failure\":\"cannot write b.kp: "],
            "sarif" => &["missing-colon", "\"executionSuccessful\": false", "cannot write b.kp: "],
            "github" => &["title=missing-colon", "::error file=b.kp,title=not corrected::cannot write b.kp: "],
            _ => &["type=\"missing-colon\"", "<testcase name=\"can be corrected\"", "errors=\"1\""],
        };
        for words in wanted {
            assert!(said.out.contains(words), "{format}: {words} is not in\n{}", said.out);
        }
    }
}

#[test]
fn an_unreadable_file_among_others_is_told_in_every_format() {
    let folder = folder_with(&[("a.kp", SOUND), ("z.kp", SOUND)]);
    for (arguments, wanted) in [
        (&["--format", "json"][..], "{\"file\":\"no.kp\",\"failure\":\"cannot read no.kp: there is no such file\"}"),
        (&["--format", "github"], "::error file=no.kp,title=not read::cannot read no.kp: there is no such file"),
        (&["--format", "sarif"], "\"executionSuccessful\": false"),
        (&["--format", "junit"], "<testcase name=\"can be read\" classname=\"no.kp\">"),
        (&["--claims", "--format", "csv"], "no.kp,,,not judged,,,cannot read no.kp: there is no such file,"),
        (&["--claims", "--format", "json"], "\"failure\":\"cannot read no.kp: there is no such file\""),
    ] {
        let files = ["a.kp", "no.kp", "z.kp"];
        let said = run(folder.path(), &[&["check"], arguments, &files].concat());
        assert_eq!((said.exit, said.errors.as_str()), (2, "kingpost: cannot read no.kp: there is no such file\n"));
        assert!(said.out.contains(wanted), "{arguments:?}: {}", said.out);
    }
}

#[test]
fn nothing_that_was_read_is_written_over() {
    let commands: [&[&str]; 4] = [
        &["solve", "--format", "text"],
        &["derive", "--format", "text"],
        &["report", "--format", "html"],
        &["draw", "--format", "svg"],
    ];
    for command in commands {
        let folder = folder_with(&[("in.txt", "use \"used.svg\"\n"), ("used.svg", SOUND)]);
        symlink("in.txt", folder.path().join("link.txt")).unwrap();
        fs::hard_link(folder.path().join("used.svg"), folder.path().join("second.svg")).unwrap();
        let before = names(folder.path());
        for output in ["in.txt", "./in.txt", "link.txt", "used.svg", "second.svg"] {
            let said = run(folder.path(), &[command, &["in.txt", "-o", output]].concat());
            assert_eq!(said.exit, 2, "{command:?} -o {output}: {}", said.out);
            assert!(said.errors.contains("it is one of the files that were read"), "{}", said.errors);
            assert_eq!(fs::read_to_string(folder.path().join("in.txt")).unwrap(), "use \"used.svg\"\n");
            assert_eq!(fs::read_to_string(folder.path().join("used.svg")).unwrap(), SOUND);
        }
        assert_eq!(names(folder.path()), before);
    }
}

/// A later file of a run is read after results of an earlier one were written.
#[test]
fn a_file_that_is_read_last_is_not_written_over_either() {
    let folder = folder_with(&[("a.kp", SOUND), ("b.txt", SOUND)]);
    let said = run(folder.path(), &["solve", "a.kp", "b.txt", "-o", "b.txt"]);
    assert_eq!((said.exit, said.out.as_str()), (2, ""));
    assert_eq!(fs::read_to_string(folder.path().join("b.txt")).unwrap(), SOUND);
    assert_eq!(names(folder.path()), ["a.kp", "b.txt"]);
}

#[test]
fn a_dash_is_standard_output_for_every_command() {
    let folder = folder_with(&[("a.kp", SOUND)]);
    for (command, format) in [("solve", "json"), ("derive", "markdown"), ("report", "md"), ("report", "html")] {
        let printed = run(folder.path(), &[command, "a.kp", "--format", format]);
        let dashed = run(folder.path(), &[command, "a.kp", "--format", format, "-o", "-"]);
        assert_eq!((dashed.exit, dashed.out), (0, printed.out), "{command}");
    }
    let plain = run(folder.path(), &["solve", "a.kp"]);
    assert_eq!(run(folder.path(), &["solve", "a.kp", "-o", "-"]).out, plain.out);
    assert!(run(folder.path(), &["draw", "a.kp", "-o", "-"]).out.starts_with("<svg"));
    let several = run(folder.path(), &["draw", "a.kp", "--what", "structure,forces", "-o", "-"]);
    assert_eq!((several.exit, several.out.as_str()), (2, ""));
    assert!(several.errors.contains("-o figures/"), "{}", several.errors);
    assert_eq!(names(folder.path()), ["a.kp"]);
}

/// Reads one byte, and no more.
fn with_a_closed_pipe(folder: &Path, arguments: &[&str]) -> i32 {
    let mut child = kingpost(folder, arguments).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let mut pipe = child.stdout.take().unwrap();
    let _ = pipe.read(&mut [0]).unwrap();
    drop(pipe);
    child.wait().unwrap().code().unwrap()
}

#[test]
fn a_closed_pipe_keeps_the_status_and_fixing_goes_on() {
    let names: Vec<String> = (0..40).map(|index| format!("f{index}.kp")).collect();
    let long = format!("{BROKEN}{}", "load Q: 1 kN down\n".repeat(40));
    let files: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), long.as_str())).collect();
    let folder = folder_with(&files);
    let arguments = |first: &[&'static str]| -> Vec<String> {
        first.iter().map(|word| (*word).to_owned()).chain(names.iter().cloned()).collect()
    };
    for first in [&["check"][..], &["check", "--format", "json"], &["check", "--format", "sarif"], &["solve"]] {
        let arguments = arguments(first);
        let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
        // `solve` prints nothing of files with errors: the pipe is closed before it says anything.
        assert_eq!(with_a_closed_pipe(folder.path(), &words), 1, "{first:?}");
    }
    let arguments = arguments(&["check", "--fix"]);
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    assert_eq!(with_a_closed_pipe(folder.path(), &words), 1);
    for name in &names {
        assert!(fs::read_to_string(folder.path().join(name)).unwrap().contains("joint B: (4, 0)"), "{name}");
    }
    let sound = folder_with(&[("a.kp", SOUND)]);
    assert_eq!(with_a_closed_pipe(sound.path(), &["report", "a.kp", "--format", "html"]), 0);
}

/// What a full disk does: everything that was to be said says where it could not be.
#[test]
fn a_full_disk_is_told() {
    if !Path::new("/dev/full").exists() {
        println!("there is no /dev/full: full disks are not tested");
        return;
    }
    let folder = folder_with(&[("a.kp", SOUND)]);
    for arguments in [
        &["--help"][..],
        &["--version"],
        &["check", "--help"],
        &["explain"],
        &["check", "a.kp"],
        &["check", "--format", "json", "a.kp", "no.kp"],
        &["solve", "a.kp"],
        &["derive", "a.kp"],
        &["draw", "a.kp"],
        &["report", "a.kp"],
        &["solve", "a.kp", "-o", "-"],
    ] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let done = kingpost(folder.path(), arguments).stdout(full).output().unwrap();
        let errors = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(2), "{arguments:?}: {errors}");
        assert!(errors.contains("kingpost: cannot write to standard output: "), "{arguments:?}: {errors}");
    }
}

#[test]
fn only_regular_files_are_read() {
    let folder = folder_with(&[("u.kp", "use \"p\"\n"), ("d/x.kp", SOUND)]);
    assert!(Command::new("mkfifo").arg(folder.path().join("p")).status().unwrap().success());
    let begun = Instant::now();
    let said = run(folder.path(), &["check", "u.kp"]);
    assert!(said.out.contains("not a regular file") && said.exit == 1, "{}", said.out);
    let said = run(folder.path(), &["check", "p"]);
    assert_eq!(said.exit, 2);
    assert!(said.errors.contains("whose name is `-`"), "{}", said.errors);
    let said = run(folder.path(), &["solve", "/dev/zero"]);
    assert_eq!(said.exit, 2);
    assert!(begun.elapsed() < Duration::from_secs(20));
    // Standard input may be a pipe, by its own names too.
    for name in ["-", "/dev/stdin"] {
        let said =
            assert_cmd::Command::cargo_bin("kingpost").unwrap().args(["check", name]).write_stdin(SOUND).output();
        assert_eq!(said.unwrap().status.code(), Some(0), "{name}");
    }
}

#[test]
fn a_link_to_nothing_is_called_that() {
    let folder = folder_with(&[("a.kp", "use \"gone.kp\"\n"), ("b.kp", SOUND)]);
    symlink("nowhere.kp", folder.path().join("gone.kp")).unwrap();
    symlink("new.txt", folder.path().join("out.txt")).unwrap();
    symlink("no/new.txt", folder.path().join("bad.txt")).unwrap();
    symlink("loop.txt", folder.path().join("loop.txt")).unwrap();
    let told = "it is a link to nowhere.kp, which is not there";
    assert!(run(folder.path(), &["check", "a.kp"]).out.contains(told));
    assert!(run(folder.path(), &["check", "gone.kp"]).errors.contains(told));
    let said = run(folder.path(), &["solve", "b.kp", "-o", "out.txt"]);
    assert_eq!((said.exit, said.errors.as_str()), (0, ""));
    assert!(folder.path().join("out.txt").is_symlink() && folder.path().join("new.txt").is_file());
    let said = run(folder.path(), &["solve", "b.kp", "-o", "bad.txt"]);
    assert!(said.errors.contains("cannot write bad.txt: there is no such folder"), "{}", said.errors);
    let said = run(folder.path(), &["solve", "b.kp", "-o", "loop.txt"]);
    assert!(said.errors.contains("it is a link that leads to itself"), "{}", said.errors);
}

/// A long run that writes a file, ended in the middle; with several files it
/// has written the results of the first.
#[test]
fn a_signal_leaves_no_file_behind() {
    let bays = |count: usize| {
        format!(
            "units m, kN\nsection s: EA = 40 MN, EI = 3 MN*m^2\nfor i from 0 to {count} {{\n  joint L[i]: (i, 0)\n}}\n\
             for i from 0 to {} {{\n  beam L[i]-L[i+1]: s\n  load L[i]-L[i+1]: (i + 1) * 1 N/m down\n}}\n\
             for i from 1 to {count} {{\n  roller L[i]\n}}\npin L0\n",
            count - 1
        )
    };
    let folder = folder_with(&[("a.kp", SOUND), ("big.kp", &bays(3000))]);
    let before = names(folder.path());
    for signal in ["INT", "TERM", "HUP"] {
        for wait in [0, 150, 400] {
            let mut child = kingpost(folder.path(), &["solve", "a.kp", "big.kp", "-o", "x.json"])
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .unwrap();
            let until = Instant::now() + Duration::from_secs(30);
            // The middle is when the file is being written.
            while names(folder.path()) == before && wait > 0 && Instant::now() < until {
                if child.try_wait().unwrap().is_some() {
                    break;
                }
                std::thread::sleep(Duration::from_millis(1));
            }
            std::thread::sleep(Duration::from_millis(wait / 10));
            let id = child.id().to_string();
            assert!(Command::new("kill").args(["-s", signal, &id]).status().unwrap().success());
            let status = child.wait().unwrap();
            let left: Vec<String> = names(folder.path()).into_iter().filter(|name| name.starts_with('.')).collect();
            assert!(left.is_empty(), "{signal} after {wait}: {left:?}");
            if let Some(ended_by) = status.signal() {
                let wanted = match signal {
                    "INT" => 2,
                    "TERM" => 15,
                    _ => 1,
                };
                assert_eq!(ended_by, wanted);
            }
            let _ = fs::remove_file(folder.path().join("x.json"));
        }
    }
}

#[test]
fn attributes_of_a_corrected_file_are_kept() {
    let folder = folder_with(&[("a.kp", BROKEN)]);
    let path = folder.path().join("a.kp");
    if xattr::set(&path, "user.checked-by", b"the club").is_err() {
        println!("this file system has no attributes: they are not tested");
        return;
    }
    run(folder.path(), &["check", "--fix", "a.kp"]);
    assert_ne!(fs::read_to_string(&path).unwrap(), BROKEN);
    assert_eq!(xattr::get(&path, "user.checked-by").unwrap().unwrap(), b"the club");
}

#[test]
fn what_could_not_be_done_is_two() {
    let long = "for i from 0 to 500 {\n  joint L[i]: (i * 1 m, 0)\n  joint U[i]: (i * 1 m, 1)\n}\n\
                for i from 0 to 499 {\n  bar L[i]-L[i+1], U[i]-U[i+1], L[i]-U[i+1]\n}\n\
                for i from 0 to 500 {\n  bar L[i]-U[i]\n}\npin L0\nroller L500\nload U250: 1 kN down\n";
    let folder = folder_with(&[("a.kp", SOUND), ("long.kp", &format!("units m, kN\n{long}")), ("b.kp", BROKEN)]);
    for (arguments, exit) in [
        (&["derive", "long.kp"][..], 2),
        (&["draw", "a.kp", "--what", "moment", "-o", "x.svg"], 2),
        (&["draw", "a.kp", "--what", "mechanism", "-o", "x.svg"], 2),
        // Errors that were told stand in the way.
        (&["draw", "b.kp", "--what", "forces", "-o", "x.svg"], 1),
        (&["derive", "b.kp"], 1),
        (&["solve", "b.kp"], 1),
    ] {
        let said = run(folder.path(), arguments);
        assert_eq!(said.exit, exit, "{arguments:?}: {}", said.errors);
        assert!(!said.errors.is_empty());
    }
}

#[test]
fn a_case_with_a_long_name_has_its_figures() {
    let (long, longer) = ("k".repeat(250), format!("{}x", "k".repeat(250)));
    let text = format!(
        "{}case {long} {{\n  load C: 1 kN down\n}}\ncase {longer} {{\n  load C: 2 kN down\n}}\n",
        SOUND.replace("load C: 6 kN down\n", "")
    );
    let folder = folder_with(&[("a.kp", &text)]);
    let said = run(folder.path(), &["draw", "a.kp", "--what", "all", "-o", "figures/"]);
    assert_eq!((said.exit, said.errors.as_str()), (0, ""));
    let drawn = names(&folder.path().join("figures"));
    assert_eq!(drawn.len(), said.out.lines().count());
    assert!(drawn.iter().filter(|name| name.contains("kkk")).count() >= 4, "{drawn:?}");
}

#[test]
fn an_unknown_option_has_a_near_word_and_no_other_advice() {
    let folder = folder_with(&[("a.kp", SOUND)]);
    let said = run(folder.path(), &["check", "--formt", "json", "a.kp"]);
    assert_eq!(said.exit, 2);
    assert!(said.errors.contains("'--format'") && !said.errors.contains("-- --formt"), "{}", said.errors);
    let said = run(folder.path(), &["check", "--zzz", "a.kp"]);
    assert!(said.errors.contains("'--zzz'") && !said.errors.contains("-- --zzz"), "{}", said.errors);
}

/// What a file takes in is read through it; circles have a first.
#[test]
fn a_folder_stands_for_its_files_but_for_those_that_others_use() {
    let folder = folder_with(&[
        ("d/a.kp", "use \"parts/p.kp\"\n"),
        ("d/parts/p.kp", SOUND),
        ("d/z/own.kp", SOUND),
        ("d/.hidden/x.kp", BROKEN),
        ("d/notes.txt", "nothing"),
        ("d/round/one.kp", "use \"two.kp\"\n"),
        ("d/round/two.kp", &format!("{SOUND}use \"one.kp\"\n")),
    ]);
    symlink(".", folder.path().join("d/loop")).unwrap();
    let said = run(folder.path(), &["check", "d"]);
    let lines: Vec<&str> = said.out.lines().collect();
    assert_eq!(
        lines,
        [
            "d/a.kp: stable, determinate; no claims",
            "d/round/one.kp: stable, determinate; no claims",
            "d/z/own.kp: stable, determinate; no claims",
            "",
            "3 files: no error"
        ],
        "{}",
        said.errors
    );
    let said = run(folder.path(), &["solve", "d/", "d/a.kp", "--format", "json"]);
    let answers: Vec<serde_json::Value> = serde_json::from_str(&said.out).unwrap();
    assert_eq!(answers.len(), 3);
    fs::create_dir(folder.path().join("empty")).unwrap();
    for (command, exit) in [(&["check", "--format", "json", "empty", "d"][..], 2), (&["derive", "d"], 2)] {
        let said = run(folder.path(), command);
        assert_eq!(said.exit, exit);
        assert!(said.errors.contains("folder"), "{}", said.errors);
    }
}

#[test]
fn several_files_have_one_total_and_quiet_says_what_is_wrong_alone() {
    let folder = folder_with(&[("a.kp", SOUND), ("b.kp", BROKEN), ("c.kp", SOUND)]);
    let said = run(folder.path(), &["check", "a.kp", "b.kp", "c.kp", "no.kp"]);
    assert!(said.out.ends_with("\n4 files: 2 errors in 1 of them; 1 could not be read\n"), "{}", said.out);
    let one = run(folder.path(), &["check", "a.kp"]);
    assert!(!one.out.contains("files"), "{}", one.out);
    let quiet = run(folder.path(), &["check", "-q", "a.kp", "c.kp"]);
    assert_eq!((quiet.out.as_str(), quiet.errors.as_str(), quiet.exit), ("", "", 0));
    let quiet = run(folder.path(), &["check", "-q", "a.kp", "b.kp"]);
    assert!(quiet.exit == 1 && quiet.out.contains("[missing-colon]") && !quiet.out.contains("a.kp"), "{}", quiet.out);
}

#[test]
fn colour_has_one_policy() {
    let folder = folder_with(&[("b.kp", BROKEN)]);
    let is_coloured = |arguments: &[&str], environment: &[(&str, &str)]| {
        let mut command = kingpost(folder.path(), arguments);
        for name in ["NO_COLOR", "CLICOLOR_FORCE", "TERM"] {
            command.env_remove(name);
        }
        let done = command.envs(environment.iter().copied()).output().unwrap();
        done.stdout.contains(&0x1b)
    };
    let check = ["check", "b.kp"];
    assert!(!is_coloured(&check, &[]));
    assert!(is_coloured(&check, &[("CLICOLOR_FORCE", "1")]));
    assert!(!is_coloured(&check, &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
    assert!(is_coloured(&["check", "--color", "always", "b.kp"], &[("NO_COLOR", "1"), ("TERM", "dumb")]));
    assert!(is_coloured(&["--color=always", "check", "b.kp"], &[]));
    assert!(!is_coloured(&["check", "--color", "never", "b.kp"], &[("CLICOLOR_FORCE", "1")]));
    assert!(is_coloured(&["--help"], &[("CLICOLOR_FORCE", "1")]));
    let said = run(folder.path(), &["check", "--colour", "b.kp"]);
    assert!(said.errors.contains("'--color'"), "{}", said.errors);
}

#[test]
fn every_command_has_an_example_its_statuses_and_a_manual_page() {
    let folder = TempDir::new().unwrap();
    let commands = ["check", "solve", "derive", "report", "draw", "explain", "completions", "manual"];
    for command in commands {
        let help = run(folder.path(), &[command, "--help"]);
        assert_eq!(help.exit, 0);
        let example = format!("Examples:\n  kingpost {command}");
        assert!(help.out.contains(&example) && help.out.contains("Exit status: 0"), "{}", help.out);
        let page = run(folder.path(), &["manual", command]);
        assert!(page.exit == 0 && page.out.contains(".SH SYNOPSIS") && page.out.contains("kingpost"), "{}", page.out);
    }
    assert!(run(folder.path(), &["manual"]).out.contains(".TH"));
    let near = run(folder.path(), &["manual", "chek"]);
    assert!(near.exit == 2 && near.errors.contains("did you mean check?"), "{}", near.errors);
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let said = run(folder.path(), &["completions", shell]);
        assert!(said.exit == 0, "{shell}");
        for word in ["derive", "dry-run", "kingpost"] {
            assert!(said.out.contains(word), "{shell}: {word}");
        }
    }
}

/// The number, and in a release the commit too.
#[test]
fn the_version_is_that_of_the_package() {
    let said = run(Path::new("."), &["--version"]).out;
    let rest = said.trim_end().strip_prefix(concat!("kingpost ", env!("CARGO_PKG_VERSION"))).unwrap();
    let commit = rest.strip_prefix(" (commit ").and_then(|rest| rest.strip_suffix(')'));
    assert!(rest.is_empty() || commit.is_some_and(|commit| commit.len() >= 10), "{said}");
}
