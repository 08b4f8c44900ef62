//! `loopleaf rehearse`

use std::path::Path;

use super::Exit;
use super::args;
use super::campaign::{self, Campaign, Stopped};
use super::papers::{chosen, problem, write};
use super::session::Session;
use crate::plan::Run;
use crate::rehearsal::{self, Character, synthetic_csv};

pub(super) fn run(options: &args::Rehearse, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let campaign = campaign::open(&options.campaign, &options.what_if.set)?;
    session.changed(&campaign.plan)?;
    let runs = chosen(&campaign, options.run.as_deref())?;
    if let Some(place) = &options.record {
        records(&campaign, &runs, options, place, session)?;
        return Ok(Exit::Fine);
    }
    let found = rehearsal::rehearse(&campaign.plan, options.run.as_deref());
    if options.json {
        session.say(&serde_json::to_string_pretty(&found).map_err(problem)?)?;
    }
    let page = rehearsal::page(&campaign.plan, &found);
    if let Some(target) = &options.html {
        write(target, rehearsal::html(&page).map_err(problem)?.as_bytes())?;
        if !options.json {
            session.say(&format!("rehearsal: {}", target.display()))?;
        }
    } else if !options.json {
        session.say(rehearsal::text(&page, session.terminal.width).trim_end())?;
    }
    Ok(Exit::of(&campaign.findings))
}

/// Invented records: of one run into a file, of all into a folder. What is there already is never written over.
fn records(
    campaign: &Campaign,
    runs: &[&Run],
    options: &args::Rehearse,
    place: &Path,
    session: &mut Session<'_>,
) -> Result<(), Stopped> {
    for run in runs {
        let target = if options.run.is_some() { place.to_owned() } else { place.join(format!("{}.csv", run.code)) };
        if target.exists() {
            let shown = target.display();
            return Err(Stopped::Problem(format!(
                "`{shown}` is there already; name another place, or take it away first"
            )));
        }
        let character = Character::typical(&campaign.plan, run, options.seed);
        let record = synthetic_csv(&campaign.plan, &run.code, options.seed, &character);
        write(&target, record.as_bytes())?;
        session.say(&format!("invented record: {}", target.display()))?;
    }
    Ok(())
}
