//! Where `-o` puts things: whole or not at all, under the name that was given.

use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use kingpost::present::results::CAUTION;

fn kingpost(folder: &Path, arguments: &[&str]) -> Output {
    let door = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/door.kp");
    fs::copy(door, folder.join("door.kp")).unwrap();
    Command::cargo_bin("kingpost").unwrap().current_dir(folder).args(arguments).output().unwrap()
}

fn says(stream: &[u8]) -> String {
    String::from_utf8(stream.to_vec()).unwrap()
}

#[test]
fn results_in_a_file_are_those_on_standard_output() {
    let folder = tempfile::tempdir().unwrap();
    for format in ["text", "json", "csv"] {
        let printed = kingpost(folder.path(), &["solve", "door.kp", "--format", format]);
        let told = kingpost(folder.path(), &["solve", "door.kp", "--format", format, "-o", "door.out"]);
        assert_eq!(says(&told.stdout), "door.out\n");
        assert_eq!(fs::read(folder.path().join("door.out")).unwrap(), printed.stdout);
    }
}

#[test]
fn the_name_of_a_result_file_tells_its_format() {
    let folder = tempfile::tempdir().unwrap();
    for (name, format) in [("r.txt", "text"), ("r.JSON", "json"), ("r.csv", "csv")] {
        let printed = kingpost(folder.path(), &["solve", "door.kp", "--format", format]);
        kingpost(folder.path(), &["solve", "door.kp", "-o", name]);
        assert_eq!(fs::read(folder.path().join(name)).unwrap(), printed.stdout, "{name}");
    }
    let told = kingpost(folder.path(), &["solve", "door.kp", "-o", "r.xyz"]);
    assert_eq!(told.status.code(), Some(2));
    assert!(says(&told.stderr).contains("end it in .txt, .json or .csv"), "{}", says(&told.stderr));
    assert!(!folder.path().join("r.xyz").exists());
}

#[test]
fn several_files_make_one_list_and_one_table() {
    let folder = tempfile::tempdir().unwrap();
    let bracket = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/bracket.kp");
    fs::copy(bracket, folder.path().join("a,b.kp")).unwrap();
    let list = says(&kingpost(folder.path(), &["solve", "door.kp", "a,b.kp", "--format", "json"]).stdout);
    let list: Vec<serde_json::Value> = serde_json::from_str(&list).unwrap();
    let files: Vec<&str> = list.iter().filter_map(|answer| answer["file"].as_str()).collect();
    assert_eq!(files, ["door.kp", "a,b.kp"]);

    let alone = says(&kingpost(folder.path(), &["solve", "a,b.kp", "--format", "csv"]).stdout);
    let table = says(&kingpost(folder.path(), &["solve", "door.kp", "a,b.kp", "--format", "csv"]).stdout);
    assert!(table.starts_with("file,case,what,where,component,value,unit\ndoor.kp,loads,"), "{table}");
    assert_eq!(table.matches("what,where").count(), 1);
    let later: Vec<&str> = table.lines().filter_map(|line| line.strip_prefix("\"a,b.kp\",")).collect();
    assert_eq!(later, alone.lines().skip(1).collect::<Vec<_>>());
}

#[test]
fn a_run_that_could_not_be_leaves_the_old_results() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("door.out"), "old").unwrap();
    let told = kingpost(folder.path(), &["solve", "door.kp", "--case", "snow", "--format", "text", "-o", "door.out"]);
    assert_eq!(told.status.code(), Some(2));
    assert_eq!(fs::read_to_string(folder.path().join("door.out")).unwrap(), "old");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn no_command_writes_over_a_structure() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["solve", "derive", "report"] {
        let told = kingpost(folder.path(), &[command, "door.kp", "--format", "text", "-o", "door.kp"]);
        assert_eq!(told.status.code(), Some(2), "{command}");
        assert!(says(&told.stderr).contains("names ending in .kp are for structures"), "{}", says(&told.stderr));
    }
}

#[test]
fn a_figure_has_the_name_it_was_given() {
    let folder = tempfile::tempdir().unwrap();
    let told = kingpost(folder.path(), &["draw", "door.kp", "-o", "Door.SVG"]);
    assert_eq!(says(&told.stdout), "Door.SVG\n");
    assert!(folder.path().join("Door.SVG").exists());
}

/// Whoever asked for a file is told where it is, whichever command wrote it.
#[test]
fn every_command_says_what_it_wrote() {
    let folder = tempfile::tempdir().unwrap();
    for (command, name) in [("solve", "a.txt"), ("derive", "a.md"), ("draw", "a.svg"), ("report", "a.html")] {
        let told = kingpost(folder.path(), &[command, "door.kp", "-o", name]);
        assert_eq!((told.status.code(), says(&told.stdout)), (Some(0), format!("{name}\n")), "{command}");
        assert!(folder.path().join(name).exists());
    }
}

#[test]
fn all_figures_without_a_place_draw_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let told = kingpost(folder.path(), &["draw", "door.kp", "--what", "all"]);
    assert_eq!(told.status.code(), Some(2));
    assert_eq!(says(&told.stdout), "");
    assert!(says(&told.stderr).contains("-o figures/"), "{}", says(&told.stderr));
}

/// What results are for is said wherever there are results, and nowhere else.
#[test]
fn the_caution_goes_with_results_in_every_format() {
    let folder = tempfile::tempdir().unwrap();
    let door = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/door.kp")).unwrap();
    fs::write(folder.path().join("wrong.kp"), format!("{door}expect force A-E: 1 kN tension\n")).unwrap();
    let said = |arguments: &[&str]| {
        let output = kingpost(folder.path(), arguments);
        says(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ").contains(CAUTION)
    };
    let with: [&[&str]; 14] = [
        &["solve", "door.kp"],
        &["solve", "door.kp", "--format", "json"],
        &["solve", "door.kp", "--format", "csv"],
        &["solve", "door.kp", "wrong.kp", "--format", "csv"],
        &["derive", "door.kp"],
        &["report", "door.kp", "--format", "markdown"],
        &["check", "wrong.kp"],
        &["check", "wrong.kp", "--format", "json"],
        &["check", "wrong.kp", "--format", "sarif"],
        &["check", "--claims", "door.kp"],
        &["check", "--claims", "door.kp", "--format", "json"],
        &["check", "--claims", "door.kp", "--format", "csv"],
        &["draw", "door.kp", "--what", "forces", "-o", "-"],
        &["draw", "door.kp", "--what", "free-body", "-o", "-"],
    ];
    for arguments in with {
        assert!(said(arguments), "{arguments:?}");
    }
    for arguments in [&["draw", "door.kp", "--what", "structure", "-o", "-"][..], &["check", "door.kp"]] {
        assert!(!said(arguments), "{arguments:?}");
    }
}
