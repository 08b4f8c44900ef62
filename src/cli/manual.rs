//! `loopleaf completions` and `loopleaf manual`: from the same definitions as the help.

use clap::{Command, CommandFactory};

use super::campaign::Stopped;
use super::papers::{problem, write};
use super::session::Session;
use super::{Arguments, Exit, args};

pub(super) fn completions(options: &args::Completions, session: &mut Session<'_>) -> Exit {
    clap_complete::generate(options.shell, &mut Arguments::command(), "loopleaf", &mut session.out);
    Exit::Fine
}

pub(super) fn pages(options: &args::Manual, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let mut pages = Vec::new();
    gather(Arguments::command(), "loopleaf".to_owned(), &mut pages);
    for (name, command) in pages {
        let mut text = Vec::new();
        clap_mangen::Man::new(command).render(&mut text).map_err(problem)?;
        let target = options.output.join(format!("{name}.1"));
        write(&target, &text)?;
        session.say(&format!("manual page: {}", target.display()))?;
    }
    Ok(Exit::Fine)
}

/// A command's page and those of its own commands.
fn gather(command: Command, name: String, pages: &mut Vec<(String, Command)>) {
    let inner: Vec<Command> = command.get_subcommands().cloned().collect();
    // The name of a page is what clap prints as the program's; it is kept for the life of the program.
    pages.push((name.clone(), command.name(name.clone().leak() as &'static str)));
    for command in inner {
        let name = format!("{name}-{}", command.get_name());
        gather(command, name, pages);
    }
}
