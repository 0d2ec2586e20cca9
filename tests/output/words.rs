//! Words that were replaced by those of the trade do not come back: not in the
//! source, the pages of findings, the README, or what the program prints.

use std::fs;
use std::path::{Path, PathBuf};

/// What was said, and what is said now.
const REPLACED: &[(&str, &str)] = &[
    // Messages.
    ("takes part", "is involved"),
    ("take part in", "are involved in"),
    ("stressed against each other", "in self-stress"),
    ("to and fro along", "along"),
    ("declared to lift off", "may lift off"),
    ("told one by one", "shown"),
    ("in the turn ", "at i ="),
    ("mend those", "correct those"),
    ("lean on the rest", "depend on the rest"),
    ("less than nothing", "against the limit"),
    ("one redundant member among", "statically indeterminate to the first degree"),
    // Derivations.
    ("Forces sideways:", "Sum of horizontal forces"),
    ("Forces up and down:", "Sum of vertical forces"),
    ("alone is left", "only … is unknown"),
    ("Free the structure of its supports", "Free-body diagram: replace the supports by their reactions"),
    ("Bars without force", "Zero-force members"),
    ("helps on", "cut a section"),
    ("M inside", "M span"),
    ("this reaction taken away", "the reaction released"),
    ("at which its gap closes", "the value that restores compatibility"),
    ("would fill a book", "are not written out"),
    ("their elimination is not written out", "the elimination is not shown"),
    ("leaves nothing over", "satisfied exactly"),
    ("the sum of forces square to", "the sum of forces perpendicular to"),
    // Results.
    ("reactions at most", "greatest reactions"),
    ("movements drawn", "displacements × 50"),
    ("times too large\"", "displacements × 50"),
    ("for want of room", "for lack of space"),
    ("instant centre", "instantaneous centre"),
    // Help.
    ("To be read at a board", "For people"),
    ("as it is to be read", "Date to print"),
    ("needs a file to go to", "needs an output file"),
    ("needs a folder to go to", "needs an output folder"),
    // Pages and comments.
    ("leans on itself", "depends on itself"),
    ("dearest mistake", "costly mistake"),
    ("one of less than nothing", "a negative one"),
    ("Who carries a sign over", "Anyone who copies a sign"),
    ("like a row of dominoes", "is a four-bar mechanism"),
    ("the pin would spin", "free to rotate"),
    ("leavings", "what a failed statement added"),
    ("slips of the pen", "typing errors"),
    ("had enough of it", "may close the pipe"),
];

fn files(folder: &Path, endings: &[&str], found: &mut Vec<PathBuf>) {
    for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if path.is_dir() {
            files(&path, endings, found);
        } else if path.extension().is_some_and(|ending| endings.iter().any(|own| ending == *own)) {
            found.push(path);
        }
    }
}

/// The text on one line: without line breaks, frames, marks of comments and continuations of strings.
fn flat(text: &str) -> String {
    let word = |word: &&str| !["│", "//", "///", "//!", "\\", "|"].contains(word);
    text.split_whitespace().filter(word).collect::<Vec<_>>().join(" ")
}

#[test]
fn replaced_words_do_not_come_back() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = vec![root.join("README.md")];
    files(&root.join("src"), &["rs", "md"], &mut all);
    files(&root.join("tests/ui"), &["out"], &mut all);
    assert!(all.len() > 700, "{}", all.len());
    let mut found = String::new();
    for path in all {
        let text = flat(&fs::read_to_string(&path).unwrap_or_default());
        for (old, new) in REPLACED.iter().filter(|(old, _)| text.contains(old)) {
            found.push_str(&format!("{}: `{old}`, better: {new}\n", path.strip_prefix(root).unwrap().display()));
        }
    }
    assert!(found.is_empty(), "{found}");
}
