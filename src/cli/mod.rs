//! The `loopleaf` command: arguments in, one function called, text out, an exit status.

mod args;

mod check;

mod disk;

mod exit;

mod format;

mod session;

use std::io::Write;

use clap::{CommandFactory, Parser};

pub use args::Arguments;
use args::Command;
pub use exit::Exit;
pub use session::Terminal;

/// Runs the command with these arguments (the program's name first), writing to these streams.
pub fn run<'s>(arguments: &[String], out: &'s mut dyn Write, err: &'s mut dyn Write, terminal: &'s Terminal) -> Exit {
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        Err(error) => {
            let asked = !error.use_stderr();
            let stream = if asked { out } else { err };
            let _sent = write!(stream, "{}", error.render());
            return if asked { Exit::Fine } else { Exit::CouldNotRun };
        }
    };
    let mut session = session::Session { out, err, terminal };
    let result = match &parsed.command {
        Command::Check(options) => check::run(options, &mut session),
        Command::Format(options) => format::run(options, &mut session),
        Command::Completions(options) => {
            clap_complete::generate(options.shell, &mut Arguments::command(), "loopleaf", &mut session.out);
            Ok(Exit::Fine)
        }
    };
    match result {
        Ok(exit) => exit,
        Err(problem) => {
            let _sent = writeln!(session.err, "loopleaf could not go on: {problem}");
            Exit::CouldNotRun
        }
    }
}
