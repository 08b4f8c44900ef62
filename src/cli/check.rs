//! `loopleaf check`

use std::path::Path;

use super::disk::{Disk, entries, entry};
use super::session::Session;
use super::{Exit, args};
use crate::check;
use crate::diagnostic::{Checked, render};
use crate::plan::Planned;
use crate::source::Sources;

pub(super) fn run(options: &args::Check, session: &mut Session<'_>) -> Result<Exit, String> {
    let mut worst = Exit::Fine;
    let mut files = Vec::new();
    for path in &options.paths {
        // A folder that was named is spoken of by its own name.
        match entries(path)?.as_slice() {
            [_] => files.push(path.clone()),
            several => files.extend_from_slice(several),
        }
    }
    for path in &files {
        let mut sources = Sources::new();
        let checked = read(path, &options.what_if.set, &mut sources)?;
        if let Some(plan) = checked.value.plans.first() {
            session.changed(plan)?;
        }
        let findings = &checked.diagnostics;
        if options.json {
            session.say(&render::json(findings, &sources))?;
        } else if options.sarif {
            session.say(render::sarif(findings, &sources).trim_end())?;
        } else if options.plain {
            session.say(render::plain(findings, &sources).trim_end())?;
        } else {
            session.findings(findings, &sources)?;
            session.say(&verdict(path, &checked))?;
        }
        worst = worst.max(Exit::of(findings));
    }
    Ok(worst)
}

/// Loads, binds and checks what a path means.
pub(crate) fn read(path: &Path, set: &[(String, String)], sources: &mut Sources) -> Result<Checked<Planned>, String> {
    let entry = entry(path)?;
    let shown = entry.to_string_lossy();
    if !entry.is_file() {
        return Err(format!("there is no file `{shown}`"));
    }
    Ok(check::read_changed(&shown, set, &Disk, sources))
}

/// One line on what was read and how it stands.
fn verdict(path: &Path, checked: &Checked<Planned>) -> String {
    let Planned { plans, declared, .. } = &checked.value;
    let what = match plans.as_slice() {
        [] => declared.clone(),
        plans => {
            let line = |p: &crate::plan::Plan| {
                let runs = if p.runs.len() == 1 { "run" } else { "runs" };
                let changed = if p.changed.is_empty() { "" } else { "changed " };
                format!(
                    "{changed}campaign `{}`, {} {runs}, fingerprint {}",
                    p.campaign.name,
                    p.runs.len(),
                    p.fingerprint.short
                )
            };
            plans.iter().map(line).collect::<Vec<_>>().join("; ")
        }
    };
    format!("{}: {what}: {}", path.display(), render::summary(&checked.diagnostics))
}
