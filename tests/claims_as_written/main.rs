//! An independent reading of what claims mean: random sound structures are solved by a second solver, random claims of
//! every kind are made about them, and the mark of each is foretold from the notation's text alone. `check --claims`
//! has to give the same mark.
//!
//! `CLAIMS=100000` asks for so many claims, `CLAIMS_SEED=7` starts elsewhere, `CLAIMS_OUT=FOLDER` keeps the files that
//! disagree, `CLAIMS_SHOW=50` tells so many of each kind, `CLAIMS_SOLVE=1` compares the two solvers as well, and
//! `CLAIMS_PROGRAM=PATH` asks another build.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_precision_loss,
    clippy::needless_range_loop,
    clippy::neg_cmp_op_on_partial_ord
)]

mod claim;
mod model;
mod solve;

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;

use assert_cmd::Command;
use claim::{Book, Claim, Mark};
use model::{Dice, Model};

#[test]
fn the_second_solver_gives_what_handbooks_give() {
    solve::proved();
}

fn wanted(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(usual)
}

struct Sheet {
    text: String,
    /// Line and claim.
    claims: Vec<(usize, Claim)>,
}

fn sheet(model: &Model, claims: Vec<Claim>) -> Sheet {
    let mut lines = model.lines.clone();
    let mut placed = vec![];
    for claim in claims {
        if let Some(case) = &claim.block {
            lines.push(format!("case {case} {{"));
            lines.push(format!("  expect {}", claim.text));
            placed.push((lines.len(), claim));
            lines.push("}".to_owned());
        } else {
            lines.push(format!("expect {}", claim.text));
            placed.push((lines.len(), claim));
        }
    }
    Sheet { text: lines.join("\n") + "\n", claims: placed }
}

#[test]
fn claims_mean_what_the_notation_says() {
    let goal = wanted("CLAIMS", 3000) as usize;
    let seed = wanted("CLAIMS_SEED", 1);
    let folder = tempfile::tempdir().unwrap();
    let keep = std::env::var("CLAIMS_OUT").ok();
    let program = std::env::var("CLAIMS_PROGRAM").ok();
    let (mut made, mut refused, mut structures, mut number) = (0, 0, 0, 0);
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    let mut bad: BTreeMap<String, Vec<String>> = BTreeMap::new();
    while made < goal {
        number += 1;
        let mut dice = Dice::new(seed * 1_000_003 + number);
        let Some(model) = model::model(&mut dice) else { continue };
        let book = Book::new(&model);
        let claims: Vec<Claim> = (0..60).filter_map(|_| claim::claim(&mut dice, &book)).collect();
        let sheet = sheet(&model, claims);
        let path = folder.path().join("sheet.kp");
        fs::write(&path, &sheet.text).unwrap();
        let mut command = match &program {
            Some(p) => Command::new(p),
            None => Command::cargo_bin("kingpost").unwrap(),
        };
        let told = command.args(["check", "--claims", "--format", "json"]).arg(&path).output().unwrap();
        let told = String::from_utf8(told.stdout).unwrap();
        if std::env::var("CLAIMS_SOLVE").is_ok() {
            let mut command = match &program {
                Some(p) => Command::new(p),
                None => Command::cargo_bin("kingpost").unwrap(),
            };
            let bare = folder.path().join("bare.kp");
            fs::write(&bare, model.lines.join("\n") + "\n").unwrap();
            let solved = command.args(["solve", "--format", "json"]).arg(&bare).output().unwrap();
            if let Ok(solved) = serde_json::from_slice::<serde_json::Value>(&solved.stdout) {
                let others = book.compare(&solved);
                if !others.is_empty() {
                    for said in others {
                        bad.entry("the two solvers".to_owned())
                            .or_default()
                            .push(format!("structure {number}: {said}"));
                    }
                    if let Some(keep) = &keep {
                        fs::create_dir_all(keep).unwrap();
                        fs::write(format!("{keep}/solvers-{number}.kp"), &sheet.text).unwrap();
                    }
                    continue;
                }
            }
        }
        let mut errors: BTreeMap<usize, Vec<String>> = BTreeMap::new();
        let mut marks: BTreeMap<usize, (String, String)> = BTreeMap::new();
        for line in told.lines() {
            let line: serde_json::Value = serde_json::from_str(line).unwrap();
            if line["slug"].is_string() {
                let at = line["labels"]
                    .as_array()
                    .into_iter()
                    .flatten()
                    .map(|l| l["start"]["line"].as_u64().unwrap() as usize);
                if line["severity"] == "error"
                    && !matches!(line["slug"].as_str(), Some("claim-fails" | "claim-not-refuted"))
                {
                    let said = format!("{} {}", line["slug"].as_str().unwrap(), line["message"].as_str().unwrap());
                    for at in at.collect::<std::collections::BTreeSet<_>>() {
                        errors.entry(at).or_default().push(said.clone());
                    }
                }
            }
            for c in line["claims"].as_array().into_iter().flatten() {
                let text = |k: &str| c[k].as_str().unwrap_or("").to_owned();
                marks.insert(c["line"].as_u64().unwrap() as usize, (text("mark"), text("computed")));
            }
        }
        let first = sheet.claims.first().map_or(usize::MAX, |c| c.0);
        if let Some((line, said)) = errors.iter().find(|(line, _)| **line < first) {
            refused += 1;
            bad.entry(format!("structure refused: {}", said[0].split(' ').next().unwrap()))
                .or_default()
                .push(format!("seed {number} line {line} {}: {said:?}", sheet.text.lines().nth(line - 1).unwrap()));
            continue;
        }
        structures += 1;
        for (line, claim) in &sheet.claims {
            made += 1;
            *kinds.entry(format!("{:?}", claim.mark)).or_default() += 1;
            let (mark, computed) = marks.get(line).cloned().unwrap_or_default();
            let got = match mark.as_str() {
                "right" => Mark::Right,
                "wrong" => Mark::Wrong,
                _ if errors.contains_key(line) => Mark::Error,
                _ => Mark::Unjudged,
            };
            let unjudged = claim.mark == Mark::Unjudged && got == Mark::Error;
            if got == claim.mark || unjudged {
                continue;
            }
            let said = errors.get(line).map_or(String::new(), |e| format!(" ({})", e[0]));
            let class = format!(
                "{} | wanted {:?} got {got:?} {}",
                claim.kind,
                claim.mark,
                said.split(' ').nth(1).unwrap_or("")
            );
            bad.entry(class)
                .or_default()
                .push(format!("structure {number}, line {line}: expect {} | computed {computed}{said}", claim.text));
            if let Some(keep) = &keep {
                fs::create_dir_all(keep).unwrap();
                fs::write(format!("{keep}/{number}.kp"), &sheet.text).unwrap();
            }
        }
    }
    let show = wanted("CLAIMS_SHOW", 2) as usize;
    let mut report = format!("{made} claims on {structures} structures, {refused} refused; foretold {kinds:?}\n");
    let wrong: usize = bad.values().map(Vec::len).sum();
    for (class, list) in &bad {
        let _ = writeln!(report, "\n{class}: {}", list.len());
        for line in list.iter().take(show) {
            let _ = writeln!(report, "   {line}");
        }
    }
    assert!(wrong == 0, "{wrong} marks are not those of the notation\n{report}");
}
