//! `loopleaf audit`

use super::campaign::{self, Stopped};
use super::session::Session;
use super::{Exit, args};
use crate::audit;
use crate::diagnostic::render;

pub(super) fn run(options: &args::Audit, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let mut campaign = campaign::open(&options.campaign, &options.what_if.set)?;
    session.changed(&campaign.plan)?;
    let files = match options.records.as_slice() {
        [] => campaign::record_files(&campaign.folder)?,
        named => named.to_vec(),
    };
    let (records, mut findings) = campaign::read_records(&files, &mut campaign.sources)?;
    let results = match options.laboratory.as_slice() {
        [] if options.records.is_empty() => campaign::laboratory_files(&campaign.folder)?,
        named => named.to_vec(),
    };
    let (results, unclear) = campaign::read_laboratory(&results, &campaign.plan, &mut campaign.sources)?;
    findings.extend(audit::run(&campaign.plan, &records));
    findings.extend(unclear);
    findings.extend(audit::laboratory(&campaign.plan, &records, &results));
    let loggers = match options.loggers.as_slice() {
        [] => campaign::files_in(&campaign.folder, "logger", &["csv"])?,
        named => named.to_vec(),
    };
    findings.extend(campaign::read_loggers(&campaign.plan, &records, &loggers, &mut campaign.sources)?);
    if options.json {
        session.say(&render::json(&findings, &campaign.sources))?;
    } else if options.sarif {
        session.say(render::sarif(&findings, &campaign.sources).trim_end())?;
    } else if options.plain {
        session.say(render::plain(&findings, &campaign.sources).trim_end())?;
    } else {
        session.findings(&findings, &campaign.sources)?;
        for state in audit::states(&campaign.plan, &records).iter().filter(|s| s.rows_recorded > 0) {
            session.say(&format!(
                "{}: {} of {} recorded; {} critical, {} major, {} minor",
                state.code, state.rows_recorded, state.rows_planned, state.critical, state.major, state.minor
            ))?;
        }
        for file in &results {
            session.say(&format!("{}: {} results of `{}`", file.name, file.results.len(), file.laboratory))?;
        }
        if records.is_empty() {
            session.say("no records yet: put them into the folder `records`, or name them")?;
        }
    }
    Ok(Exit::of(&findings))
}
