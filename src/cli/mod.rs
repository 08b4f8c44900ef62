//! The `loopleaf` command: arguments in, one function called, text out, an exit status.

mod args;

mod audit;

mod campaign;

mod check;

mod differ;

mod disk;

mod exit;

mod format;

mod manual;

mod mapping;

mod package;

mod papers;

mod reckon;

mod refresh;

mod rehearse;

mod report;

mod session;

mod sign;

mod why;

use std::io::Write;

use clap::{CommandFactory, FromArgMatches};

pub use args::Arguments;
use args::Command;
use campaign::Stopped;
pub use exit::Exit;
pub use session::Terminal;
pub use why::page;

/// Runs the command with these arguments (the program's name first), writing to these streams.
pub fn run<'s>(arguments: &[String], out: &'s mut dyn Write, err: &'s mut dyn Write, terminal: &'s Terminal) -> Exit {
    let parsed = match parse(arguments, terminal) {
        Ok(parsed) => parsed,
        Err(error) => {
            let asked = !error.use_stderr();
            let stream = if asked { out } else { err };
            let _sent = write!(stream, "{}", error.render());
            return if asked { Exit::Fine } else { Exit::CouldNotRun };
        }
    };
    let mut session = session::Session { out, err, terminal };
    match dispatch(&parsed.command, &mut session) {
        Ok(exit) => exit,
        Err(Stopped::Errors(findings, sources)) => {
            let _sent = session.findings(&findings, &sources);
            let _sent = writeln!(session.err, "nothing was made: the plan has errors");
            Exit::Errors
        }
        Err(Stopped::Problem(problem)) => {
            let _sent = writeln!(session.err, "loopleaf could not go on: {problem}");
            Exit::CouldNotRun
        }
    }
}

/// Reads the arguments. Help is as wide as the terminal that the caller knows, never as one that is found out behind its back.
fn parse(arguments: &[String], terminal: &Terminal) -> Result<Arguments, clap::Error> {
    let mut command = Arguments::command().term_width(terminal.width.min(100));
    let matches = command.try_get_matches_from_mut(arguments)?;
    Arguments::from_arg_matches(&matches).map_err(|error| error.format(&mut command))
}

fn dispatch(command: &Command, session: &mut session::Session<'_>) -> Result<Exit, Stopped> {
    match command {
        Command::Check(options) => Ok(check::run(options, session)?),
        Command::Print(options) => papers::print(options, session),
        Command::Form(options) => papers::form(options, session),
        Command::Audit(options) => audit::run(options, session),
        Command::Mapping(options) => mapping::run(options, session),
        Command::Sign(options) => sign::run(options, session),
        Command::Refresh(options) => refresh::run(options, session),
        Command::Report(options) => report::run(options, session),
        Command::OpenKey(options) => report::open_key(options, session),
        Command::Format(options) => Ok(format::run(options, session)?),
        Command::Rehearse(options) => rehearse::run(options, session),
        Command::Reckon(options) => reckon::run(options, session),
        Command::Differ(options) => differ::run(options, session),
        Command::Why(options) => why::run(options, session),
        Command::Completions(options) => Ok(manual::completions(options, session)),
        Command::Manual(options) => manual::pages(options, session),
    }
}
