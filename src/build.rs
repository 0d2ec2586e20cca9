//! Finds the commit that a release is built from, for `--version`: from git,
//! from what cargo writes into a package, or from what `git archive` fills in.
//! Where none of them tells, and in builds that are no releases, there is none.

use std::fs;
use std::process::Command;

fn main() {
    println!("cargo:rerun-if-changed=src/build.rs");
    let is_release = std::env::var("PROFILE").is_ok_and(|profile| profile == "release");
    let commit = if is_release { from_git().or_else(from_package).or_else(from_archive) } else { None };
    let words = commit.map_or_else(String::new, |commit| format!(" (commit {commit})"));
    println!("cargo:rustc-env=KINGPOST_COMMIT={words}");
}

/// The commit, and whether the sources are others than its own.
fn from_git() -> Option<String> {
    let ask = |arguments: &[&str]| {
        let said = Command::new("git").args(arguments).output().ok().filter(|said| said.status.success())?;
        String::from_utf8(said.stdout).ok().map(|text| text.trim().to_owned())
    };
    // A package unpacked within somebody else's repository is not of its commits.
    ask(&["ls-files", "--error-unmatch", "src/build.rs"])?;
    let commit = ask(&["rev-parse", "--short=10", "HEAD"])?;
    for path in ["src", "Cargo.toml", "Cargo.lock"] {
        println!("cargo:rerun-if-changed={path}");
    }
    for name in ["HEAD", "logs/HEAD"] {
        if let Some(path) = ask(&["rev-parse", "--git-path", name]) {
            println!("cargo:rerun-if-changed={path}");
        }
    }
    let changed = ask(&["status", "--porcelain", "--untracked-files=no"])?;
    Some(if changed.is_empty() { commit } else { format!("{commit}, changed") })
}

/// `.cargo_vcs_info.json`: `{"git":{"sha1":"…"}}`.
fn from_package() -> Option<String> {
    let text = fs::read_to_string(".cargo_vcs_info.json").ok()?;
    let (_, rest) = text.split_once("\"sha1\"")?;
    short(rest.split('"').nth(1)?)
}

/// `.commit`: the place of the commit, which an archive fills in.
fn from_archive() -> Option<String> {
    short(fs::read_to_string(".commit").ok()?.trim())
}

fn short(commit: &str) -> Option<String> {
    let is_commit = commit.len() >= 10 && commit.bytes().all(|byte| byte.is_ascii_hexdigit());
    commit.get(..10).filter(|_| is_commit).map(str::to_owned)
}
