//! `loopleaf differ`: what changed between two versions of a plan.

use std::path::Path;

use super::campaign::Stopped;
use super::session::Session;
use super::{Exit, args, check};
use crate::difference::{self, Difference};
use crate::plan::Planned;
use crate::source::Sources;

pub(super) fn run(options: &args::Differ, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let (old, new) = (open(&options.old)?, open(&options.new)?);
    let [before, after] = [&old, &new].map(|side| side.0.plans.first());
    let (Some(before), Some(after)) = (before, after) else {
        return Err(Stopped::Problem("there is nothing to compare".to_owned()));
    };
    let difference = difference::compare((before, &old.1), (after, &new.1));
    if options.json {
        session.say(&serde_json::to_string_pretty(&difference).map_err(|error| error.to_string())?)?;
    } else {
        session.say(difference::text(&difference, options.all).trim_end())?;
    }
    Ok(exit(&difference))
}

fn exit(difference: &Difference) -> Exit {
    if difference.same && difference.sections.is_empty() { Exit::Fine } else { Exit::Warnings }
}

/// A plan that could be bound, errors or not: a comparison is wanted most when something has gone wrong.
fn open(path: &Path) -> Result<(Planned, Vec<crate::diagnostic::Diagnostic>), Stopped> {
    let mut sources = Sources::new();
    let checked = check::read(path, &[], &mut sources).map_err(Stopped::Problem)?;
    if checked.value.plans.is_empty() {
        if checked.has_errors() {
            return Err(Stopped::Errors(checked.diagnostics, sources));
        }
        return Err(Stopped::Problem(format!("`{}` has no campaign in it", path.display())));
    }
    Ok((checked.value, checked.diagnostics))
}
