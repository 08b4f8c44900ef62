//! `loopleaf mapping`

use super::campaign::{self, Stopped};
use super::disk::read_bytes;
use super::session::Session;
use super::{Exit, args};
use crate::record::laboratory::guess;
use crate::source::Sources;

pub(super) fn run(options: &args::Mapping, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let campaign = options.campaign.as_deref().map(|path| campaign::open(path, &[])).transpose()?;
    let mut sources = Sources::new();
    let shown = options.file.display().to_string();
    let bytes = read_bytes(&options.file).map_err(|e| format!("`{shown}`: {e}"))?;
    let tests =
        campaign.iter().flat_map(|c| c.plan.laboratories.values()).flat_map(|laboratory| laboratory.tests.values());
    let test = tests.into_iter().find(|test| !test.sizes.is_empty());
    let checked = guess(&shown, &bytes, test, &mut sources);
    session.findings(&checked.diagnostics, &sources)?;
    if let Some(guess) = checked.value {
        session.say("# A guess. Compare every line with the file and the laboratory's report before it goes into the laboratory's block.")?;
        session.say(&guess.lines)?;
    }
    Ok(Exit::of(&checked.diagnostics))
}
