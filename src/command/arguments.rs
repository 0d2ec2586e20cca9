//! The command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use crate::check::Switches;
use crate::diagnostic::Slug;
use crate::present::results::CAUTION;

use super::hint;

/// The version, and the commit it was built from where that is known.
const VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), env!("KINGPOST_COMMIT"));

/// Checks and solves plane trusses and frames written as text in .kp files.
#[derive(Debug, Parser)]
#[command(name = "kingpost", version = VERSION, about, arg_required_else_help = true, max_term_width = 100)]
#[command(after_help = format!(
    "{CAUTION}\nExit status: 0 no error, 1 errors found or a claim failed, 2 the command could not run."
))]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
    /// The most memory a run may take: `500MB`, `4GB`
    #[arg(long, global = true, value_name = "SIZE", default_value = "2GB", value_parser = bytes)]
    pub memory: usize,
    /// When to use colour; `auto` is on a terminal only, unless the environment says otherwise
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
        Some(_) => Err(format!("at least {} MB are needed", LEAST_MEMORY / 1_000_000)),
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

Exit status: 0 no errors, 1 errors were found or a claim failed, 2 a file could not be read or written.";

const SOLVE_HELP: &str = "\
Examples:
  kingpost solve roof.kp
  kingpost solve roof.kp --case snow -o snow.csv
  generate | kingpost solve - --format json

Exit status: 0 solved, 1 errors were found, 2 a file could not be read or written, or there is no such case.";

const DERIVE_HELP: &str = "\
Examples:
  kingpost derive roof.kp
  kingpost derive roof.kp --member C-D
  kingpost derive roof.kp --case snow -o snow.tex

Exit status: 0 written, 1 errors were found, 2 it could not be derived or written.";

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

Exit status: 0 drawn, 1 errors were found, 2 a figure could not be drawn or written.";

const EXPLAIN_HELP: &str = "\
Examples:
  kingpost explain
  kingpost explain load
  kingpost explain claims
  kingpost explain unbraced-panel

Exit status: 0 explained, 2 the manual has nothing of that name.";

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
    /// Report errors in the files and whether their claims hold
    #[command(after_help = CHECK_HELP)]
    Check(CheckArguments),
    /// Print reactions, member forces and an independent equilibrium check
    #[command(after_help = SOLVE_HELP)]
    Solve(SolveArguments),
    /// Write out the solution step by step, for checking by hand
    #[command(after_help = DERIVE_HELP)]
    Derive(DeriveArguments),
    /// Write a report on one file: statement, findings, figures, results and working
    #[command(after_help = REPORT_HELP)]
    Report(ReportArguments),
    /// Draw figures: the structure, its free-body diagram, member forces, N, V and M diagrams
    #[command(after_help = DRAW_HELP)]
    Draw(DrawArguments),
    /// Print the page on a statement, a topic, a word or a message, or list them all
    #[command(after_help = EXPLAIN_HELP)]
    Explain(ExplainArguments),
    /// Print a shell completion script
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
    /// Command to document; the whole program if not given
    pub command: Option<String>,
}

#[derive(Debug, Args)]
pub struct CheckArguments {
    /// Files to check, or folders with .kp files in them; `-` is standard input
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// Output format
    #[arg(long, value_enum, default_value_t = FindingFormat::Text)]
    pub format: FindingFormat,
    /// Print a mark sheet: each claim in order, right or wrong, the likely slip, the score
    #[arg(long, conflicts_with = "fix")]
    pub claims: bool,
    #[command(flatten)]
    pub lints: LintArguments,
    /// Give a top-level let another value, as in P=26kN; repeatable
    #[arg(long, value_name = "NAME=VALUE", conflicts_with = "fix")]
    pub set: Vec<String>,
    /// Apply the certain corrections and check again; `-` prints the corrected text
    #[arg(long)]
    pub fix: bool,
    /// With --fix: print the corrections as a unified diff and write nothing
    #[arg(long, requires = "fix", conflicts_with = "format")]
    pub dry_run: bool,
    /// Print findings only: no verdicts, no line for files without findings, no total
    #[arg(short, long)]
    pub quiet: bool,
}

/// Warnings and remarks switched for one run: they go before the files' own
/// `allow` and `deny`, and `--deny` before `--allow`.
#[derive(Debug, Args)]
pub struct LintArguments {
    /// Suppress this warning or remark, whatever the files say; repeatable
    #[arg(long, value_name = "SLUG", value_parser = switchable)]
    allow: Vec<Slug>,
    /// Treat this warning or remark as an error, whatever the files say; repeatable
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
        Some(_) => Err("it is an error; only warnings and remarks can be switched".to_owned()),
        None => {
            let known = Slug::ALL.iter().filter(|slug| slug.is_switchable()).map(|slug| slug.word());
            Err(format!("unknown finding; {}", hint(word, known, "`kingpost explain` lists them all")))
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FindingFormat {
    /// For people
    Text,
    /// One JSON object per line
    Json,
    /// One SARIF 2.1.0 log of the run, for code scanning
    Sarif,
    /// Workflow commands: annotations beside the changed lines
    Github,
    /// JUnit XML: the verdict of each file and each claim as a test
    Junit,
    /// With --claims: one table for all files, a row per claim
    Csv,
}

/// What a run states in place of the files.
#[derive(Debug, Args)]
pub struct OverFiles {
    /// Significant figures of printed results, instead of those stated in the file
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=12))]
    pub figures: Option<u8>,
    /// Give a top-level let another value, as in P=26kN; repeatable
    #[arg(long, value_name = "NAME=VALUE")]
    pub set: Vec<String>,
}

#[derive(Debug, Args)]
pub struct SolveArguments {
    /// Files to solve, or folders with .kp files in them; `-` is standard input
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// Output format; by default from the extension of the output file, else text
    #[arg(long, value_enum)]
    pub format: Option<ResultFormat>,
    /// Print this case, combination or travelling load only; repeatable
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    #[command(flatten)]
    pub over: OverFiles,
    /// Output path; standard output if not given
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ResultFormat {
    /// For people, in the file's units
    Text,
    /// One JSON document, for several files an array, in SI base units
    Json,
    /// One table, in the file's units, with a column for the file if there are several
    Csv,
}

#[derive(Debug, Args)]
pub struct DeriveArguments {
    /// File to solve; `-` is standard input
    pub file: PathBuf,
    /// This case or combination only; repeatable
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    /// The force in this bar only, by the method of sections
    #[arg(long, value_name = "C-D")]
    pub member: Option<String>,
    /// Output format; by default from the extension of the output file, else text
    #[arg(long, value_enum)]
    pub format: Option<PageFormat>,
    #[command(flatten)]
    pub over: OverFiles,
    /// Output path, written whole or not at all; standard output if not given
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct ReportArguments {
    /// File to report on; `-` is standard input
    pub file: PathBuf,
    /// Output path; standard output if not given
    #[arg(short, long, value_name = "PATH")]
    pub output: Option<PathBuf>,
    /// Output format; by default from the extension of the output file
    #[arg(long, value_enum)]
    pub format: Option<PageFormat>,
    /// This case, combination or travelling load only; repeatable
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    #[command(flatten)]
    pub over: OverFiles,
    /// Date to print under the title
    #[arg(long, value_name = "TEXT")]
    pub date: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PageFormat {
    /// For a terminal
    Text,
    /// One self-contained file
    Html,
    #[value(alias = "md")]
    Markdown,
    /// For pdflatex
    #[value(alias = "tex")]
    Latex,
}

#[derive(Debug, Args)]
pub struct DrawArguments {
    /// File to draw; `-` is standard input
    pub file: PathBuf,
    /// Figures to draw, separated by commas: structure, free-body, forces, axial, shear, moment, deflected, mechanism,
    /// joint-polygons, force-diagram, or all
    #[arg(long, value_name = "FIGURES", value_delimiter = ',', default_value = "structure")]
    pub what: Vec<String>,
    /// This case or combination only; repeatable
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    #[command(flatten)]
    pub over: OverFiles,
    /// Output path: a .svg, .png or .tex file, or a folder ending in /; the terminal if not given
    #[arg(short, long, value_name = "OUT")]
    pub output: Option<PathBuf>,
    /// Output format if the extension does not say
    #[arg(long, value_enum)]
    pub format: Option<FigureFormat>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FigureFormat {
    /// Vector graphics, for pages and screens
    Svg,
    /// 300 dots per inch
    Png,
    /// For LaTeX
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
    /// A statement, a topic, a word, or the slug in brackets after a message
    pub word: Option<String>,
}
