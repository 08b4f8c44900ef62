//! Where a command writes, and what it knows of the terminal.

use std::io::Write;

use crate::diagnostic::Diagnostic;
use crate::diagnostic::render::{self, Style};
use crate::plan::Plan;
use crate::source::Sources;

/// What the shell found out about the terminal; the core never asks.
#[derive(Debug, Clone, Copy)]
pub struct Terminal {
    pub colour: bool,
    pub unicode: bool,
    pub width: usize,
    /// Whether somebody watches: progress is shown only then.
    pub watched: bool,
}

impl Default for Terminal {
    /// A pipe: no colour, nobody watching.
    fn default() -> Self {
        Self { colour: false, unicode: true, width: 100, watched: false }
    }
}

impl Terminal {
    /// The terminal of this process: colour and width follow it, `NO_COLOR` and pipes.
    pub fn of_process() -> Self {
        use std::io::IsTerminal;
        let shown = std::io::stderr().is_terminal();
        let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        let utf8 = ["LC_ALL", "LC_CTYPE", "LANG"]
            .iter()
            .find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()))
            .is_none_or(|value| value.to_lowercase().contains("utf"));
        let columns = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
        Self {
            colour: shown && !set("NO_COLOR") && std::env::var("TERM").map_or(true, |t| t != "dumb"),
            unicode: utf8,
            width: columns.unwrap_or(100_usize).clamp(40, 160),
            watched: shown,
        }
    }
}

pub(super) struct Session<'s> {
    pub(crate) out: &'s mut dyn Write,
    pub(crate) err: &'s mut dyn Write,
    pub(crate) terminal: &'s Terminal,
}

impl Session<'_> {
    pub(crate) fn say(&mut self, text: &str) -> Result<(), String> {
        sent(writeln!(self.out, "{text}"))
    }

    /// Says to somebody who watches what takes a while.
    pub(crate) fn working(&mut self, what: &str) {
        if self.terminal.watched {
            let _sent = writeln!(self.err, "{what} …");
        }
    }

    /// Says that what follows is of a plan that is not as its files say.
    pub(crate) fn changed(&mut self, plan: &Plan) -> Result<(), String> {
        if plan.changed.is_empty() {
            return Ok(());
        }
        let changes: Vec<String> = plan.changed.iter().map(|changed| format!("  {changed}")).collect();
        sent(writeln!(self.err, "a changed plan, not the one in the files:\n{}", changes.join("\n")))
    }

    /// Findings and their count, for people.
    pub(crate) fn findings(&mut self, findings: &[Diagnostic], sources: &Sources) -> Result<(), String> {
        let style = Style { colour: self.terminal.colour, unicode: self.terminal.unicode, width: self.terminal.width };
        if findings.is_empty() {
            return Ok(());
        }
        sent(write!(self.err, "{}", render::human(findings, sources, style)))
    }
}

/// A reader who has gone, as `head` does, has seen what they wanted; anything else is a fault.
fn sent(result: std::io::Result<()>) -> Result<(), String> {
    match result {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(format!("the output cannot be written: {e}")),
        _ => Ok(()),
    }
}
