//! The command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use crate::check::Switches;
use crate::diagnostic::Slug;

use super::hint;

/// The version, and the commit it was built from where that is known.
const VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), env!("KINGPOST_COMMIT"));

/// Structures as text: checks and solves plane trusses stated in .kp files.
#[derive(Debug, Parser)]
#[command(name = "kingpost", version = VERSION, about, arg_required_else_help = true, max_term_width = 100)]
#[command(after_help = "Results are an aid to a competent person; local codes and licensed practice decide.\n\
    Exit status: 0 no error, 1 errors found or a claim failed, 2 the command could not run.")]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
    /// The most memory a run may take: `500MB`, `4GB`
    #[arg(long, global = true, value_name = "SIZE", default_value = "2GB", value_parser = bytes)]
    pub memory: usize,
    /// When to use colour; `auto` is on a terminal, unless the environment says otherwise
    #[arg(long, value_enum, value_name = "WHEN", default_value_t = When::Auto, global = true)]
    pub color: When,
}

/// The least budget of memory, bytes: what the program takes for a small file.
const LEAST_MEMORY: usize = 50_000_000;

/// A size of memory, in powers of 1000 or, with an `i`, of 1024.
fn bytes(text: &str) -> Result<usize, String> {
    const UNITS: [(&str, usize); 5] =
        [("", 1), ("MB", 1_000_000), ("GB", 1_000_000_000), ("MiB", 1 << 20), ("GiB", 1 << 30)];
    let digits = text.trim_end_matches(|letter: char| letter.is_alphabetic() || letter == ' ');
    let unit = text.get(digits.len()..).unwrap_or("").trim();
    let known = UNITS.iter().find(|(name, _)| name.eq_ignore_ascii_case(unit));
    let size = known.and_then(|(_, size)| digits.parse::<usize>().ok()?.checked_mul(*size));
    match size {
        Some(size) if size >= LEAST_MEMORY => Ok(size),
        Some(_) => Err(format!("a run takes {} MB at least", LEAST_MEMORY / 1_000_000)),
        None => Err("a size is a whole number and its unit: 500MB, 4GB, 512MiB, 2GiB".to_owned()),
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum When {
    /// On a terminal that is not `TERM=dumb`; never with NO_COLOR, else always with CLICOLOR_FORCE
    Auto,
    Always,
    Never,
}

const CHECK_HELP: &str = "\
Examples:
  kingpost check roof.kp
  kingpost check drawings/
  kingpost check --format sarif drawings/ > findings.sarif
  kingpost check --fix --dry-run roof.kp | patch -p1

Exit status: 0 nothing is wrong, 1 errors were found or a claim failed, 2 a file could not be read or written.";

const SOLVE_HELP: &str = "\
Examples:
  kingpost solve roof.kp
  kingpost solve roof.kp --case snow -o snow.csv
  generate | kingpost solve - --format json

Exit status: 0 solved, 1 errors were found, 2 something asked for could not be done.";

const DERIVE_HELP: &str = "\
Examples:
  kingpost derive roof.kp
  kingpost derive roof.kp --member C-D
  kingpost derive roof.kp --case snow -o snow.tex

Exit status: 0 written, 1 errors were found, 2 it could not be worked out by hand or not be written.";

const REPORT_HELP: &str = "\
Examples:
  kingpost report roof.kp -o roof.html
  kingpost report roof.kp --date \"3 May\" --case snow -o roof.tex

Exit status: 0 written, 1 written with errors in it, 2 it could not be written.";

const DRAW_HELP: &str = "\
Examples:
  kingpost draw roof.kp
  kingpost draw roof.kp --what forces -o forces.svg
  kingpost draw roof.kp --what all -o figures/

Exit status: 0 drawn, 1 errors were found, 2 a figure could not be drawn or not be written.";

const EXPLAIN_HELP: &str = "\
Examples:
  kingpost explain
  kingpost explain unbraced-panel

Exit status: 0 explained, 2 there is no finding of that name.";

const COMPLETIONS_HELP: &str = "\
Examples:
  kingpost completions bash > ~/.local/share/bash-completion/completions/kingpost
  kingpost completions fish > ~/.config/fish/completions/kingpost.fish

Exit status: 0 written, 2 it could not be written.";

const MANUAL_HELP: &str = "\
Examples:
  kingpost manual | man -l -
  kingpost manual check > kingpost-check.1

Exit status: 0 written, 2 there is no such command or it could not be written.";

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Say everything that is wrong with the files, and whether their claims hold
    #[command(after_help = CHECK_HELP)]
    Check(CheckArguments),
    /// Print reactions, member forces and the proof that they balance
    #[command(after_help = SOLVE_HELP)]
    Solve(SolveArguments),
    /// Write the whole solution out, so that another can follow and check it by hand
    #[command(after_help = DERIVE_HELP)]
    Derive(DeriveArguments),
    /// Write one file's statement, findings, results and working as one page
    #[command(after_help = REPORT_HELP)]
    Report(ReportArguments),
    /// Draw figures: the structure, its free body, forces, diagrams
    #[command(after_help = DRAW_HELP)]
    Draw(DrawArguments),
    /// Explain one kind of finding by its slug, or list them all
    #[command(after_help = EXPLAIN_HELP)]
    Explain(ExplainArguments),
    /// Print what a shell needs to complete commands and options
    #[command(after_help = COMPLETIONS_HELP)]
    Completions(CompletionsArguments),
    /// Print the manual page of the program, or of one command, for `man`
    #[command(after_help = MANUAL_HELP)]
    Manual(ManualArguments),
}

#[derive(Debug, Args)]
pub struct CompletionsArguments {
    #[arg(value_enum)]
    pub shell: Shell,
}

#[derive(Debug, Args)]
pub struct ManualArguments {
    /// The command whose page it is; all of the program if not given
    pub command: Option<String>,
}

#[derive(Debug, Args)]
pub struct CheckArguments {
    /// Files to check, or folders with .kp files in them; `-` is standard input
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// How findings are printed
    #[arg(long, value_enum, default_value_t = FindingFormat::Text)]
    pub format: FindingFormat,
    /// Mark the claims: each in its order, right or wrong, the slip behind a wrong one, the score
    #[arg(long, conflicts_with = "fix")]
    pub claims: bool,
    #[command(flatten)]
    pub lints: LintArguments,
    /// Give a top-level let another value, as in P=26kN; may be given more than once
    #[arg(long, value_name = "NAME=VALUE", conflicts_with = "fix")]
    pub set: Vec<String>,
    /// Apply the certain corrections and check again; `-` prints the corrected text
    #[arg(long)]
    pub fix: bool,
    /// With --fix: print the corrections as a unified diff and write nothing
    #[arg(long, requires = "fix", conflicts_with = "format")]
    pub dry_run: bool,
    /// Of text, print what is wrong and nothing else: no line for sound files, no verdicts, no total
    #[arg(short, long)]
    pub quiet: bool,
}

/// Warnings and remarks switched for one run: they go before the files' own
/// `allow` and `deny`, and `--deny` before `--allow`.
#[derive(Debug, Args)]
pub struct LintArguments {
    /// Leave out this warning or remark, whatever the files say; may be given more than once
    #[arg(long, value_name = "SLUG", value_parser = switchable)]
    allow: Vec<Slug>,
    /// Take this warning or remark for an error, whatever the files say; may be given more than once
    #[arg(long, value_name = "SLUG", value_parser = switchable)]
    deny: Vec<Slug>,
}

impl LintArguments {
    pub fn switches(&self) -> Switches {
        Switches { allowed: self.allow.clone(), denied: self.deny.clone() }
    }
}

/// A slug that can be switched, or why it cannot.
fn switchable(word: &str) -> Result<Slug, String> {
    match Slug::from_word(word) {
        Some(slug) if slug.is_switchable() => Ok(slug),
        Some(_) => Err("it is an error, and only warnings and remarks can be switched".to_owned()),
        None => {
            let known = Slug::ALL.iter().filter(|slug| slug.is_switchable()).map(|slug| slug.word());
            Err(format!("there is no such finding; {}", hint(word, known, "`kingpost explain` lists them all")))
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FindingFormat {
    /// For people
    Text,
    /// One JSON object a line
    Json,
    /// One SARIF 2.1.0 log of the run, for code scanning
    Sarif,
    /// Workflow commands: annotations beside the changed lines
    Github,
    /// JUnit XML: the verdict of each file and every claim as a test
    Junit,
    /// With --claims: one table for all files, a row a claim
    Csv,
}

/// What a run says over what the files say.
#[derive(Debug, Args)]
pub struct OverFiles {
    /// Significant figures of the results for people, over what the file states
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=12))]
    pub figures: Option<u8>,
    /// Give a top-level let another value, as in P=26kN; may be given more than once
    #[arg(long, value_name = "NAME=VALUE")]
    pub set: Vec<String>,
}

#[derive(Debug, Args)]
pub struct SolveArguments {
    /// Files to solve, or folders with .kp files in them; `-` is standard input
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// How results are printed; as the output file's name ends if not given, else text
    #[arg(long, value_enum)]
    pub format: Option<ResultFormat>,
    /// Print this case, combination or travelling load only; may be given more than once
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    #[command(flatten)]
    pub over: OverFiles,
    /// Where to write the results; standard output if not given
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ResultFormat {
    /// To be read at a board, in the file's units
    Text,
    /// One JSON document, a list of them for several files, in SI base units
    Json,
    /// One table, in the file's units; for several files with a column for the file
    Csv,
}

#[derive(Debug, Args)]
pub struct DeriveArguments {
    /// The file to work out; `-` is standard input
    pub file: PathBuf,
    /// Work out this case or combination only; may be given more than once
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    /// Find the force in one bar by a section, as in C-D
    #[arg(long, value_name = "C-D")]
    pub member: Option<String>,
    /// How the page is written, whatever the name of the file; text if neither tells
    #[arg(long, value_enum)]
    pub format: Option<PageFormat>,
    #[command(flatten)]
    pub over: OverFiles,
    /// Write to this file, whole or not at all; its ending tells the format
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct ReportArguments {
    /// The file to report on; `-` is standard input
    pub file: PathBuf,
    /// Where to write the page; its ending tells the format. Standard output if not given
    #[arg(short, long, value_name = "PATH")]
    pub output: Option<PathBuf>,
    /// How the page is written, whatever its name
    #[arg(long, value_enum)]
    pub format: Option<PageFormat>,
    /// Report on this case, combination or travelling load only; may be given more than once
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    #[command(flatten)]
    pub over: OverFiles,
    /// A date to stand under the title, as it is to be read; a report has no clock of its own
    #[arg(long, value_name = "TEXT")]
    pub date: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PageFormat {
    /// For a terminal
    Text,
    /// One file that needs nothing beside it
    Html,
    #[value(alias = "md")]
    Markdown,
    /// For pdflatex
    #[value(alias = "tex")]
    Latex,
}

#[derive(Debug, Args)]
pub struct DrawArguments {
    /// The file to draw; `-` is standard input
    pub file: PathBuf,
    /// What to draw, a list with commas: structure, free-body, forces, axial, shear, moment, deflected, mechanism,
    /// joint-polygons, force-diagram, or all that can be drawn
    #[arg(long, value_name = "FIGURES", value_delimiter = ',', default_value = "structure")]
    pub what: Vec<String>,
    /// Draw this case or combination only; may be given more than once
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    #[command(flatten)]
    pub over: OverFiles,
    /// Where to: a file ending in .svg, .png or .tex, or a folder ending in /; without it, the terminal
    #[arg(short, long, value_name = "OUT")]
    pub output: Option<PathBuf>,
    /// The form of the files, where their names do not tell
    #[arg(long, value_enum)]
    pub format: Option<FigureFormat>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FigureFormat {
    /// For pages and screens; scales without loss
    Svg,
    /// 300 dots an inch
    Png,
    /// To be set by LaTeX
    Tex,
}

impl FigureFormat {
    pub const fn extension(self) -> &'static str {
        match self {
            FigureFormat::Svg => "svg",
            FigureFormat::Png => "png",
            FigureFormat::Tex => "tex",
        }
    }
}

#[derive(Debug, Args)]
pub struct ExplainArguments {
    /// The slug in brackets after a finding's severity
    pub slug: Option<String>,
}
