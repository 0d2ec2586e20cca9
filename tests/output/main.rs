//! Everything the commands print and write: words, tables, working, figures, pages and files.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../support/mod.rs"]
mod support;

mod browser;
mod derivations;
mod destinations;
mod documents;
mod examples;
mod figures;
mod files;
mod latex;
mod readme;
mod report;
mod shown;
mod ui;
mod words;
