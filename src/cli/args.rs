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
    /// Guess how a laboratory's file is laid out, as lines to compare and paste; nothing is read by it
    Mapping(Mapping),
    /// Sign a record, so that a later change is seen
    Sign(Sign),
    /// Bring everything up to date: checks, worksheets, forms, audit, and a page that says how it stands
    Refresh(Refresh),
    /// Write the report: what was asked and found, with all that a stranger needs to check it
    Report(Report),
    /// Open the key of a blind campaign, once, when its results are worked out
    OpenKey(OpenKey),
    /// Lay out files in the one layout; comments and meaning stay as they are
    Format(Format),
    /// Run a campaign on paper: time, oil, dust, bottles, money, what the gauges will show and what can be told apart
    Rehearse(Rehearse),
    /// Answer an everyday question of the bench, without a protocol
    Reckon(Box<super::reckon::Reckon>),
    /// Tell what changed in meaning between two versions of a plan
    Differ(Differ),
    /// Tell what a code means, with an example of the fault and the right way
    Why(Why),
    /// Print the completions for a shell
    Completions(Completions),
    /// Write the manual pages into a folder
    Manual(Manual),
}

/// Values in place of written ones.
#[derive(Debug, Args)]
pub(crate) struct WhatIf {
    /// Another value for this once: a parameter (of every test, or of one: `restriction.rated-flow`), a number of rig, fluid or
    /// instrument (`rig.main-relief.set-at`), a window or threshold (`rule.flash-margin`). May be given several times
    #[arg(long = "set", value_name = "NAME=VALUE", value_parser = pair)]
    pub(crate) set: Vec<(String, String)>,
}

/// `rated-flow=30 L/min` in two.
fn pair(text: &str) -> Result<(String, String), String> {
    let (name, value) = text.split_once('=').ok_or("write NAME=VALUE, such as rated-flow=\"30 L/min\"")?;
    let (name, value) = (name.trim(), value.trim());
    if name.is_empty() || value.is_empty() {
        return Err("write NAME=VALUE, such as rated-flow=\"30 L/min\"".to_owned());
    }
    Ok((name.to_owned(), value.to_owned()))
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
    #[command(flatten)]
    pub(crate) what_if: WhatIf,
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
    #[command(flatten)]
    pub(crate) what_if: WhatIf,
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
    #[command(flatten)]
    pub(crate) what_if: WhatIf,
}

#[derive(Debug, Args)]
pub(crate) struct Audit {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// Records (CSV or XLSX); without any, all in the campaign's folder `records`
    pub(crate) records: Vec<PathBuf>,
    /// A laboratory's file (CSV or XLSX); without any, and where no records are named, all in the campaign's folder `laboratory`
    #[arg(long, value_name = "FILE")]
    pub(crate) laboratory: Vec<PathBuf>,
    /// A logger's file (CSV or Parquet); without any, all in the campaign's folder `logger`. May be given several times
    #[arg(long = "logger", value_name = "FILE")]
    pub(crate) loggers: Vec<PathBuf>,
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
    /// The findings without an answer as rows for `records/answers.csv`, to be filled in
    #[arg(long, conflicts_with_all = ["json", "sarif", "plain"])]
    pub(crate) unanswered: bool,
    #[command(flatten)]
    pub(crate) what_if: WhatIf,
}

#[derive(Debug, Args)]
pub(crate) struct Mapping {
    /// A laboratory's file: CSV or XLSX
    pub(crate) file: PathBuf,
    /// The campaign that it belongs to: its laboratory lends the calibration that headings leave out
    #[arg(long)]
    pub(crate) campaign: Option<PathBuf>,
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

/// Write the report: what was asked and found, with all that a stranger needs to check it.
///
/// It says less where open findings bar what was recorded. While a critical finding is open it is a draft, and says so on every
/// page. Exit status: 0 fine, 1 warnings or major departures are open, 2 critical ones are, 3 the command could not run.
#[derive(Debug, Args)]
pub(crate) struct Report {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// Size of the paper
    #[arg(long, value_enum, default_value = "a4")]
    pub(crate) paper: PaperSize,
    /// The folder to write to [default: loopleaf-out in the campaign's folder]
    #[arg(long, short)]
    pub(crate) output: Option<PathBuf>,
    /// The report's date, as YYYY-MM-DD [default: today in UTC; that of the last report where nothing else has changed]
    #[arg(long)]
    pub(crate) date: Option<String>,
    /// Write nothing where something keeps the report from being published; say what is open
    #[arg(long)]
    pub(crate) publish: bool,
    /// The number of an earlier report that this one takes the place of
    #[arg(long, value_name = "NUMBER", requires = "because")]
    pub(crate) replaces: Option<String>,
    /// What changed since that report
    #[arg(long, value_name = "TEXT", requires = "replaces")]
    pub(crate) because: Option<String>,
    /// Write the results, in SI units, as JSON to standard output; no files
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the report as text to standard output; no files
    #[arg(long, conflicts_with = "json")]
    pub(crate) plain: bool,
}

/// Open the key of a blind campaign, once, when its results are worked out.
///
/// Writes `results/key-opened.json` in the campaign's folder: who, when, and the hash of the results at that moment. From then on the
/// report names models, and says whether the results were changed afterwards. Refused while a critical finding is open.
#[derive(Debug, Args)]
pub(crate) struct OpenKey {
    /// The campaign: its folder or file
    pub(crate) campaign: PathBuf,
    /// Initials of whoever opens it
    #[arg(long)]
    pub(crate) by: String,
    /// When, as "YYYY-MM-DD hh:mm:ss" [default: now, in UTC]
    #[arg(long)]
    pub(crate) at: Option<String>,
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
    /// Only this run, in detail, such as R03
    #[arg(long)]
    pub(crate) run: Option<String>,
    /// Write a web page with pictures to this file
    #[arg(long, value_name = "FILE")]
    pub(crate) html: Option<PathBuf>,
    /// Write all numbers, in SI units, as JSON to standard output
    #[arg(long)]
    pub(crate) json: bool,
    /// Write an invented record of the run to this file; without --run, one of each run into this folder
    #[arg(long, value_name = "PLACE", conflicts_with_all = ["html", "json"])]
    pub(crate) record: Option<PathBuf>,
    /// Write an invented file of the laboratory to this file: results of the bottles that the campaign's records say were drawn
    #[arg(long, value_name = "FILE", conflicts_with_all = ["html", "json", "record", "run"])]
    pub(crate) laboratory: Option<PathBuf>,
    /// The seed from which the noise of what is invented is drawn
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    #[command(flatten)]
    pub(crate) what_if: WhatIf,
}

/// Tell what changed in meaning between two versions of a plan.
///
/// Parameters, oils, rig, steps, windows, runs, rules, findings and needs are compared, each with its old and its new value. Layout,
/// comments and file names make no difference. Exit status: 0 the plans mean the same, 1 they differ, 2 one of them cannot be
/// bound, 3 the command could not run.
#[derive(Debug, Args)]
pub(crate) struct Differ {
    /// The old version: its folder or file
    pub(crate) old: PathBuf,
    /// The new version: its folder or file
    pub(crate) new: PathBuf,
    /// Write the difference as JSON to standard output
    #[arg(long)]
    pub(crate) json: bool,
    /// Every change and every step, however many
    #[arg(long, conflicts_with = "json")]
    pub(crate) all: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Why {
    /// The code, such as L423; without it, all codes are listed
    pub(crate) code: Option<String>,
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
