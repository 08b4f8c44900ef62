//! `loopleaf rehearse`

use std::path::Path;

use super::Exit;
use super::args;
use super::campaign::{self, Campaign, Stopped};
use super::papers::{chosen, problem, write};
use super::session::Session;
use crate::plan::Run;
use crate::rehearsal::{self, Character, laboratory_csv, synthetic_csv};

pub(super) fn run(options: &args::Rehearse, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let campaign = campaign::open(&options.campaign, &options.what_if.set)?;
    session.changed(&campaign.plan)?;
    let runs = chosen(&campaign, options.run.as_deref())?;
    if let Some(place) = &options.record {
        records(&campaign, &runs, options, place, session)?;
        return Ok(Exit::Fine);
    }
    if let Some(target) = &options.laboratory {
        laboratory(campaign, options.seed, target, session)?;
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

/// An invented file of the laboratory, of the bottles that the records say were drawn. What is there already is never written over.
fn laboratory(mut campaign: Campaign, seed: u64, target: &Path, session: &mut Session<'_>) -> Result<(), Stopped> {
    if target.exists() {
        let shown = target.display();
        return Err(Stopped::Problem(format!("`{shown}` is there already; name another place, or take it away first")));
    }
    let files = campaign::record_files(&campaign.folder)?;
    let (records, _) = campaign::read_records(&files, &mut campaign.sources)?;
    let text = laboratory_csv(&campaign.plan, &records, seed);
    if text.is_empty() {
        return Err(Stopped::Problem(
            "no laboratory of this campaign says how its file is laid out: write `results file { … }` under its tests"
                .to_owned(),
        ));
    }
    write(target, text.as_bytes())?;
    session.say(&format!("invented results of the laboratory: {}", target.display()))?;
    Ok(())
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
