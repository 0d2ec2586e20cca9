//! Numbers and verdicts against published figures, closed forms, other methods and what must hold of every structure.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../support/mod.rs"]
mod support;

mod adversarial;
mod beam_formulae;
mod claims;
mod frame_formulae;
mod frame_properties;
mod frame_verdicts;
mod layouts;
mod moving_loads;
mod one_number;
mod properties;
mod published;
mod scale;
