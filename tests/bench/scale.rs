//! Whole runs at size, and the ratio to a public peer on the same matrix.
//!
//! `cargo bench --bench scale -- --sizes 1e3,1e4,1e5 --kinds girder,sheet`
//! Every layout is measured in processes of its own, so that the memory of one
//! does not hide in another's. Each figure is the least of several runs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

#[path = "../support/dice.rs"]
mod dice;
#[path = "layouts.rs"]
mod layouts;
#[path = "peer.rs"]
mod peer;
#[path = "stages.rs"]
mod stages;

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use stages::Kind;

#[cfg(feature = "mimalloc")]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const USAGE: &str = "\
cargo bench --bench scale -- [--sizes 1e3,1e4,…] [--kinds girder,sheet,…] [--runs N] [--no-peer]
  girder   parallel chords on a pin and a roller, a statement a fact
  loops    the same girder from one screen of `for`
  sheet    square panels, the first row and column braced
  tree     square panels braced along a random tree
  extra    the same with one more bar: redundant once
  open     the same with one bar left out: one mechanism
  storeys  beams on fixed feet";

/// What the command line asks for.
struct Wanted {
    sizes: Vec<usize>,
    kinds: Vec<Kind>,
    runs: usize,
    with_peer: bool,
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [child, kind, bars, path] = arguments.as_slice()
        && child == "--child"
    {
        run_child(Kind::from_word(kind).unwrap(), bars.parse().unwrap(), path);
        return;
    }
    match parse(&arguments) {
        Ok(wanted) => run(&wanted),
        Err(message) => {
            eprintln!("{message}\n{USAGE}");
            std::process::exit(2);
        }
    }
}

fn parse(arguments: &[String]) -> Result<Wanted, String> {
    let mut wanted =
        Wanted { sizes: vec![1_000, 10_000, 100_000], kinds: Kind::ALL.to_vec(), runs: 3, with_peer: true };
    let mut rest = arguments.iter();
    while let Some(argument) = rest.next() {
        let mut value = || rest.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "--sizes" => {
                let sizes = value()?.split(',').map(|size| size.parse::<f64>().map(|size| size as usize));
                wanted.sizes = sizes.collect::<Result<_, _>>().map_err(|_| "a size is a number such as 1e5")?;
            }
            "--kinds" => {
                let kinds = value()?.split(',').map(|kind| Kind::from_word(kind).ok_or(format!("no layout {kind}")));
                wanted.kinds = kinds.collect::<Result<_, _>>()?;
            }
            "--runs" => wanted.runs = value()?.parse().map_err(|_| "runs are counted")?,
            "--no-peer" => wanted.with_peer = false,
            // Cargo adds this to every bench.
            "--bench" => {}
            other => return Err(format!("unknown argument {other}")),
        }
    }
    Ok(wanted)
}

/// What one process measured, by name.
type Figures = BTreeMap<String, f64>;

fn run_child(kind: Kind, bars: usize, path: &str) {
    if path == "pages" {
        let [draw, report] = stages::pages(kind, bars);
        println!("draw {draw}\nreport {report}");
        println!("memory {}", stages::peak_memory().unwrap_or(0));
        return;
    }
    if path == "whole" {
        let (seconds, written) = stages::whole(kind, bars);
        println!("whole {seconds}\nwritten {written}");
        println!("memory {}", stages::peak_memory().unwrap_or(0));
        return;
    }
    let export = (path != "-").then(|| Path::new(path));
    let times = stages::stages(kind, bars, export);
    println!("bars {}\nbytes {}", times.bars, times.bytes);
    for (name, seconds) in [
        ("read", times.read),
        ("lower", times.lower),
        ("verdict", times.verdict),
        ("check", times.check),
        ("solve", times.solve),
        ("residual", times.residual),
        ("write", times.write),
    ] {
        println!("{name} {seconds}");
    }
}

/// The least figures of several runs in processes of their own.
fn measure(kind: Kind, bars: usize, path: &str, runs: usize) -> Figures {
    let mut least = Figures::new();
    for _ in 0..runs.max(1) {
        let output = Command::new(std::env::current_exe().unwrap())
            .args(["--child", kind.word(), &bars.to_string(), path])
            .stderr(Stdio::inherit())
            .output()
            .unwrap();
        assert!(output.status.success(), "{} at {bars} bars failed", kind.word());
        for line in String::from_utf8_lossy(&output.stdout).lines() {
            let Some((name, value)) = line.split_once(' ') else { continue };
            let value: f64 = value.parse().unwrap();
            let slot = least.entry(name.to_owned()).or_insert(value);
            *slot = slot.min(value);
        }
    }
    least
}

fn run(wanted: &Wanted) {
    println!("seconds of one thread, the least of {} runs", wanted.runs);
    println!(
        "{:>8} {:>8} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>6} {:>6} peer",
        "layout",
        "bars",
        "read",
        "MB/s",
        "lower",
        "verdict",
        "check",
        "solve",
        "resid.",
        "write",
        "whole",
        "MB",
        "peer",
        "v+s:p",
        "w:p"
    );
    let folder = tempfile::tempdir().unwrap();
    for kind in &wanted.kinds {
        for size in &wanted.sizes {
            let path = folder.path().join(format!("{}-{size}.bin", kind.word()));
            let exports = wanted.with_peer && *kind != Kind::Open;
            let stages = measure(*kind, *size, if exports { path.to_str().unwrap() } else { "-" }, wanted.runs);
            let whole = measure(*kind, *size, "whole", wanted.runs);
            // Nothing is exported where forces are refused.
            let peer = (exports && path.exists()).then(|| peer::run(&path));
            let _ = std::fs::remove_file(&path);
            print_line(*kind, &stages, &whole, peer);
        }
    }
    small_file();
    println!("\n{:>8} {:>8} {:>7} {:>7} {:>7}", "layout", "members", "draw", "report", "MB");
    let sizes = wanted.sizes.iter().filter(|size| **size <= kingpost::present::figure::MOST_MEMBERS);
    for (kind, size) in sizes.flat_map(|size| PAGES.map(|kind| (kind, *size))) {
        let pages = measure(kind, size, "pages", wanted.runs);
        let figure = |name: &str| pages.get(name).copied().unwrap_or(0.0);
        let megabytes = figure("memory") / 1e6;
        println!("{:>8} {size:>8} {:>7.3} {:>7.3} {megabytes:>7.0}", kind.word(), figure("draw"), figure("report"));
    }
}

/// The layouts that are drawn and reported: loads on joints, and along members.
const PAGES: [Kind; 2] = [Kind::Girder, Kind::Storeys];

fn print_line(kind: Kind, stages: &Figures, whole: &Figures, peer: Option<Result<peer::Peer, String>>) {
    let figure = |name: &str| stages.get(name).copied().unwrap_or(0.0);
    let whole_of = |name: &str| whole.get(name).copied().unwrap_or(0.0);
    print!(
        "{:>8} {:>8} {:>7.3} {:>7.1}",
        kind.word(),
        figure("bars"),
        figure("read"),
        figure("bytes") / 1e6 / figure("read")
    );
    for name in ["lower", "verdict", "check", "solve", "residual", "write"] {
        print!(" {:>7.3}", figure(name));
    }
    print!(" {:>7.3} {:>7.0}", whole_of("whole"), whole_of("memory") / 1e6);
    match peer {
        Some(Ok(peer)) => {
            let ours = (figure("verdict") + figure("solve")) / peer.seconds;
            println!(" {:>7.3} {ours:>6.2} {:>6.2} {}", peer.seconds, whole_of("whole") / peer.seconds, peer.name);
        }
        Some(Err(why)) => println!(" {:>7} {:>6} {:>6} {why}", "-", "-", "-"),
        None => println!(" {:>7} {:>6} {:>6}", "-", "-", "-"),
    }
}

/// A file as from a board, from process start to the end of the process.
fn small_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("girder.kp");
    std::fs::write(&path, Kind::Girder.layout(200).text).unwrap();
    let mut least = f64::MAX;
    for _ in 0..20 {
        let start = Instant::now();
        let status = Command::new(env!("CARGO_BIN_EXE_kingpost"))
            .args(["solve", path.to_str().unwrap(), "--format", "json"])
            .stdout(Stdio::null())
            .status()
            .unwrap();
        least = least.min(start.elapsed().as_secs_f64());
        assert!(status.success());
    }
    println!("a file of 200 bars checked and solved, from process start: {:.1} ms", least * 1e3);
}
