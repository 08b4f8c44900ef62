//! What can be asked, in the words of the help.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

/// Test plans for a liquid-filter bench: check them, print them, and hold the records against them.
///
/// A campaign is a folder with a file `campaign.leaf` and a folder `records`. `loopleaf refresh FOLDER` does everything in one
/// go. Exit status: 0 fine, 1 warnings or major departures, 2 errors or critical departures, 3 the command could not run.
#[derive(Debug, Parser)]
#[command(name = "loopleaf", version, max_term_width = 100)]
pub struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Look for mistakes in a plan before any oil is heated
    Check(Check),
    /// Print the operator's worksheets of a campaign
    Print(Print),
    /// Write the blank record forms: one row for each box of the worksheet
    Form(Form),
    /// Hold recorded data against the plan; nothing is ever changed
    Audit(Audit),
    /// Sign a record, so that a later change is seen
    Sign(Sign),
    /// Bring everything up to date: checks, worksheets, forms, audit, and a page that says how it stands
    Refresh(Refresh),
    /// Lay out files in the one layout; comments and meaning stay as they are
    Format(Format),
    /// Write an invented record of a run, to try a campaign through before it is run
    Rehearse(Rehearse),
    /// Answer an everyday question of the bench, without a protocol
    Reckon(Box<super::reckon::Reckon>),
    /// Print the completions for a shell
    Completions(Completions),
    /// Write the manual pages into a folder
    Manual(Manual),
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// A .leaf file, or the folder of a campaign
    #[arg(required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// Write the findings as JSON to standard output
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the findings as a SARIF 2.1.0 log to standard output
    #[arg(long, conflicts_with_all = ["json", "plain"])]
    pub(crate) sarif: bool,
    /// One line a finding, for editors and scripts
    #[arg(long, conflicts_with = "json")]
    pub(crate) plain: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperSize {
    A4,
    Letter,
}

#[derive(Debug, Args)]
pub(crate) struct Print {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// Only this run, such as R03
    #[arg(long)]
    pub(crate) run: Option<String>,
    /// Size of the paper
    #[arg(long, value_enum, default_value = "a4")]
    pub(crate) paper: PaperSize,
    /// A web page instead of a PDF
    #[arg(long)]
    pub(crate) html: bool,
    /// Where to write [default: worksheets.pdf or worksheets.html]
    #[arg(long, short)]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Form {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// Only this run, such as R03
    #[arg(long)]
    pub(crate) run: Option<String>,
    /// Spreadsheets (XLSX) instead of CSV
    #[arg(long)]
    pub(crate) xlsx: bool,
    /// The folder to write to [default: forms]
    #[arg(long, short)]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Audit {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// Records (CSV or XLSX); without any, all in the campaign's folder `records`
    pub(crate) records: Vec<PathBuf>,
    /// A second typing of the same sheets, compared cell by cell [default: all in `records/second`]
    #[arg(long)]
    pub(crate) second: Vec<PathBuf>,
    /// Write the audit, with the log of deviations of each run, as a page to print
    #[arg(long)]
    pub(crate) html: Option<PathBuf>,
    /// Write the findings as JSON to standard output
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the findings as a SARIF 2.1.0 log to standard output
    #[arg(long, conflicts_with_all = ["json", "plain"])]
    pub(crate) sarif: bool,
    /// One line a finding, for editors and scripts
    #[arg(long, conflicts_with = "json")]
    pub(crate) plain: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Sign {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// The record or photograph to sign; it lies in the campaign's folder `records`
    #[arg(required = true)]
    pub(crate) files: Vec<PathBuf>,
    /// Initials of whoever signs
    #[arg(long)]
    pub(crate) by: String,
    /// When, as "YYYY-MM-DD hh:mm:ss" [default: now, in UTC]
    #[arg(long)]
    pub(crate) at: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Refresh {
    /// The folder of a campaign
    pub(crate) campaign: PathBuf,
    /// Size of the paper
    #[arg(long, value_enum, default_value = "a4")]
    pub(crate) paper: PaperSize,
    /// The folder to write to [default: loopleaf-out in the campaign's folder]
    #[arg(long, short)]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Format {
    /// Files or folders
    #[arg(required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// Change nothing; only say which files would change
    #[arg(long)]
    pub(crate) dry_run: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Rehearse {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// The run, such as R03
    #[arg(long)]
    pub(crate) run: String,
    /// The seed from which the noise is drawn
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Where to write [default: standard output]
    #[arg(long, short)]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell
    pub(crate) shell: Shell,
}

#[derive(Debug, Args)]
pub(crate) struct Manual {
    /// The folder to write to
    pub(crate) output: PathBuf,
}
