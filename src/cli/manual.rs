//! `loopleaf completions` and `loopleaf manual`: from the same definitions as the help.

use clap::CommandFactory;

use super::campaign::Stopped;
use super::papers::{problem, write};
use super::session::Session;
use super::{Arguments, Exit, args};

pub(super) fn completions(options: &args::Completions, session: &mut Session<'_>) -> Exit {
    clap_complete::generate(options.shell, &mut Arguments::command(), "loopleaf", &mut session.out);
    Exit::Fine
}

pub(super) fn pages(options: &args::Manual, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let whole = Arguments::command();
    let mut pages = vec![("loopleaf".to_owned(), whole.clone())];
    for inner in whole.get_subcommands() {
        let name = format!("loopleaf-{}", inner.get_name());
        // The name of a page is what clap prints as the program's; it is kept for the life of the program.
        pages.push((name.clone(), inner.clone().name(name.leak() as &'static str)));
    }
    for (name, command) in pages {
        let mut text = Vec::new();
        clap_mangen::Man::new(command).render(&mut text).map_err(problem)?;
        let target = options.output.join(format!("{name}.1"));
        write(&target, &text)?;
        session.say(&format!("manual page: {}", target.display()))?;
    }
    Ok(Exit::Fine)
}
