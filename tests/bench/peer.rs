//! The same matrix for a public peer: written to disk, factored and solved by
//! a short script beside this file.

use std::io::{self, BufWriter, Write};
use std::path::Path;
use std::process::Command;

use kingpost::numeric::{Flexibility, Sparse};

const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/peer.py");

/// Little-endian: rows, columns, entries, coupled pairs (u64), column starts
/// (u64), row indices (u32), values, right-hand side, then the flexibilities'
/// diagonal and its coupled pairs where the system is redundant.
pub fn export(path: &Path, matrix: &Sparse<f64>, flexibility: Option<&Flexibility>, right: &[f64]) -> io::Result<()> {
    let mut out = BufWriter::new(std::fs::File::create(path)?);
    let coupled = flexibility.map_or(&[][..], |flexibility| flexibility.coupled.as_slice());
    let kind = u64::from(flexibility.is_some());
    for count in [matrix.rows(), matrix.columns(), matrix.entries()] {
        out.write_all(&(count as u64).to_le_bytes())?;
    }
    out.write_all(&kind.to_le_bytes())?;
    out.write_all(&(coupled.len() as u64).to_le_bytes())?;
    for start in matrix.starts() {
        out.write_all(&(*start as u64).to_le_bytes())?;
    }
    for index in matrix.indices() {
        out.write_all(&index.to_le_bytes())?;
    }
    for value in matrix.values().iter().chain(right) {
        out.write_all(&value.to_le_bytes())?;
    }
    if let Some(flexibility) = flexibility {
        for value in &flexibility.diagonal {
            out.write_all(&value.to_le_bytes())?;
        }
        for (a, _, _) in coupled {
            out.write_all(&a.to_le_bytes())?;
        }
        for (_, b, _) in coupled {
            out.write_all(&b.to_le_bytes())?;
        }
        for (_, _, value) in coupled {
            out.write_all(&value.to_le_bytes())?;
        }
    }
    out.flush()
}

/// What the peer took.
#[derive(Clone, Debug)]
pub struct Peer {
    pub name: String,
    /// Factor and solve, seconds.
    pub seconds: f64,
}

/// Runs the script on an exported matrix; the message says why it cannot.
pub fn run(path: &Path) -> Result<Peer, String> {
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let output = Command::new(&python)
        .arg(SCRIPT)
        .arg(path)
        .env("OMP_NUM_THREADS", "1")
        .env("OPENBLAS_NUM_THREADS", "1")
        .output()
        .map_err(|error| format!("no peer: {python} does not start ({error})"))?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let line = text.lines().last().unwrap_or_default();
    match line.split_once(' ').and_then(|(seconds, name)| Some((seconds.parse().ok()?, name.to_owned()))) {
        Some((seconds, name)) if output.status.success() => Ok(Peer { name, seconds }),
        _ => {
            let why = String::from_utf8_lossy(&output.stderr).lines().last().unwrap_or("it failed").to_owned();
            Err(format!("no peer: {why}"))
        }
    }
}
