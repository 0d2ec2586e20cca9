//! One file per family of findings: what is found is turned into words here.
//!
//! Must not know: how a diagnostic is shown.

pub mod reading;
