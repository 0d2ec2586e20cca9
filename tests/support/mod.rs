//! What several tests build with: generators, readers, other methods.

#![allow(dead_code)]

#[path = "../bench/layouts.rs"]
pub mod bench_layouts;
pub mod dice;
pub mod examples;
pub mod frame;
pub mod grow;
pub mod kp_files;
pub mod mutants;
pub mod pencil;
pub mod runs;
pub mod solved;
pub mod specimen;
pub mod stiffness;
