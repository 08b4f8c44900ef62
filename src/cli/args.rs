//! What can be asked, in the words of the help.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;

/// Test plans for a liquid-filter bench: check them, print them, and hold the records against them.
///
/// Exit status: 0 fine, 1 warnings, 2 errors, 3 the command could not run.
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
    /// Lay out files in the one layout; comments and meaning stay as they are
    Format(Format),
    /// Print the completions for a shell
    Completions(Completions),
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// A .leaf file, or the folder of a campaign
    #[arg(required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// Write the findings as JSON to standard output
    #[arg(long)]
    pub(crate) json: bool,
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
pub(crate) struct Completions {
    /// The shell
    pub(crate) shell: Shell,
}
