//! The `loopleaf` command.

use std::process::ExitCode;

use loopleaf::cli::{self, Terminal};

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args_os().map(|a| a.to_string_lossy().into_owned()).collect();
    // The error stream is not held: a thread that panics must be able to say so.
    let (mut out, mut err) = (std::io::stdout().lock(), std::io::stderr());
    let exit = cli::run(&arguments, &mut out, &mut err, &Terminal::of_process());
    ExitCode::from(exit as u8)
}
