//! The command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Structures as text: checks and solves plane trusses stated in .kp files.
#[derive(Debug, Parser)]
#[command(name = "kingpost", version, about, arg_required_else_help = true, max_term_width = 100)]
#[command(after_help = "Results are an aid to a competent person; local codes and licensed practice decide.\n\
    Exit status: 0 no error, 1 errors found or a claim failed, 2 the command could not run.")]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Say everything that is wrong with the files, and whether their claims hold
    Check(CheckArguments),
    /// Print reactions, member forces and the proof that they balance
    Solve(SolveArguments),
    /// Draw figures: the structure, its free body, forces, diagrams
    Draw(DrawArguments),
    /// Explain one kind of finding by its slug, or list them all
    Explain(ExplainArguments),
}

#[derive(Debug, Args)]
pub struct CheckArguments {
    /// Files to check; `-` is standard input
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// How findings are printed
    #[arg(long, value_enum, default_value_t = FindingFormat::Text)]
    pub format: FindingFormat,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FindingFormat {
    /// For people
    Text,
    /// One JSON object a line
    Json,
}

#[derive(Debug, Args)]
pub struct SolveArguments {
    /// Files to solve; `-` is standard input
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// How results are printed
    #[arg(long, value_enum, default_value_t = ResultFormat::Text)]
    pub format: ResultFormat,
    /// Print this case, combination or travelling load only; may be given more than once
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ResultFormat {
    /// To be read at a board, in the file's units
    Text,
    /// One JSON document a file, in SI base units
    Json,
    /// One table a file, in the file's units
    Csv,
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
