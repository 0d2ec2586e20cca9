//! Standard output and standard error.
//!
//! A reader may close the pipe early. That is no failure and ends no work: later
//! output is dropped. Any other failure says which of the two could not be
//! written.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, Ordering};

static CLOSED: AtomicBool = AtomicBool::new(false);

/// One of the two streams.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standard {
    Output,
    Errors,
}

/// Whether standard output has been closed at its other end.
pub fn nobody_reads() -> bool {
    CLOSED.load(Ordering::Relaxed)
}

impl Standard {
    fn outcome<T>(self, outcome: io::Result<T>, gone: T) -> io::Result<T> {
        match outcome {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {
                if self == Standard::Output {
                    CLOSED.store(true, Ordering::Relaxed);
                }
                Ok(gone)
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => Err(error),
            Err(error) => {
                let name = if self == Standard::Output { "standard output" } else { "standard error" };
                Err(io::Error::new(error.kind(), format!("cannot write to {name}: {error}")))
            }
            done => done,
        }
    }
}

impl Write for Standard {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = match self {
            Standard::Output if nobody_reads() => return Ok(bytes.len()),
            Standard::Output => io::stdout().write(bytes),
            Standard::Errors => io::stderr().write(bytes),
        };
        self.outcome(written, bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        let flushed = match self {
            Standard::Output if nobody_reads() => return Ok(()),
            Standard::Output => io::stdout().flush(),
            Standard::Errors => io::stderr().flush(),
        };
        self.outcome(flushed, ())
    }
}
