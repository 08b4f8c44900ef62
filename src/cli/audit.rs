//! `loopleaf audit`

use std::path::{Path, PathBuf};

use super::campaign::{self, Campaign, Stopped};
use super::disk::read_bytes;
use super::papers::{problem, write};
use super::session::Session;
use super::sign::{SEALS, clock};
use super::{Exit, args};
use crate::audit::evidence::{self, Beside, Standing};
use crate::audit::{self, Finding};
use crate::diagnostic::{Diagnostic, render};
use crate::overview;
use crate::record::{Instant, Record};
use crate::source::{Sources, decode};

pub(super) fn run(options: &args::Audit, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let mut campaign = campaign::open(&options.campaign, &options.what_if.set)?;
    session.changed(&campaign.plan)?;
    let files = match options.records.as_slice() {
        [] => campaign::record_files(&campaign.folder)?,
        named => named.to_vec(),
    };
    let (records, mut read) = campaign::read_records(&files, &mut campaign.sources)?;
    let results = match options.laboratory.as_slice() {
        [] if options.records.is_empty() => campaign::laboratory_files(&campaign.folder)?,
        named => named.to_vec(),
    };
    let (results, unclear) = campaign::read_laboratory(&results, &campaign.plan, &mut campaign.sources)?;
    read.extend(unclear);
    read.extend(audit::laboratory(&campaign.plan, &records, &results));
    let loggers = match options.loggers.as_slice() {
        [] => campaign::logger_files(&campaign.folder)?,
        named => named.to_vec(),
    };
    read.extend(campaign::read_loggers(&campaign.plan, &records, &loggers, &mut campaign.sources)?);
    let standings = everything(&mut campaign, &records, read, &options.second)?;
    let findings: Vec<Diagnostic> = standings.iter().map(|standing| standing.finding.clone()).collect();
    if let Some(target) = &options.html {
        let states = audit::states(&campaign.plan, &records);
        let page = overview::audit_page(&campaign.plan, &states, &standings, &campaign.sources);
        write(target, overview::audit_html(&page).map_err(problem)?.as_bytes())?;
        session.say(&format!("audit: {}", target.display()))?;
    }
    if options.unanswered {
        session.say(evidence::to_answer(&standings).trim_end())?;
    } else if options.json {
        session.say(&render::json(&findings, &campaign.sources))?;
    } else if options.sarif {
        session.say(render::sarif(&findings, &campaign.sources).trim_end())?;
    } else if options.plain {
        session.say(render::plain(&findings, &campaign.sources).trim_end())?;
    } else {
        let open: Vec<Diagnostic> =
            standings.iter().filter(|s| s.answer.is_none()).map(|s| s.finding.clone()).collect();
        session.findings(&open, &campaign.sources)?;
        for state in audit::states(&campaign.plan, &records).iter().filter(|s| s.rows_recorded > 0) {
            session.say(&format!(
                "{}: {} of {} recorded; {} critical, {} major, {} minor",
                state.code, state.rows_recorded, state.rows_planned, state.critical, state.major, state.minor
            ))?;
        }
        for file in &results {
            session.say(&format!("{}: {} results of `{}`", file.name, file.results.len(), file.laboratory))?;
        }
        let answered = standings.len() - open.len();
        if answered > 0 {
            session.say(&format!("{answered} of {} findings are answered and not shown again", standings.len()))?;
        }
        let blocking = standings.iter().filter(|standing| standing.blocks()).count();
        if blocking > 0 && answered > 0 {
            session.say(&format!(
                "{blocking} critical findings without an answer keep the results from being published"
            ))?;
        }
        if records.is_empty() {
            session.say("no records yet: put them into the folder `records`, or name them")?;
        }
    }
    let open: Vec<Finding> = standings.into_iter().filter(|s| s.answer.is_none()).map(|s| s.finding).collect();
    Ok(Exit::of(&open))
}

/// Everything that is found, with the answers that it has: the records, what stands beside them, a second typing.
pub(super) fn everything(
    campaign: &mut Campaign,
    records: &[Record],
    read: Vec<Diagnostic>,
    second: &[PathBuf],
) -> Result<Vec<Standing>, Stopped> {
    let folder = campaign.folder.join("records");
    let mut findings = read;
    // No zone is known of the bench's clock: fourteen hours ahead of UTC is the farthest on earth. What is invented may lie anywhere.
    let latest = clock();
    let latest = Instant { seconds: latest.seconds + 14 * 3600, grain: 1 };
    let now = campaign.plan.campaign.invented.is_none().then_some(latest);
    findings.extend(audit::run_at(&campaign.plan, records, now));
    let seconds = match second {
        [] => files_in(&folder.join("second"), &["csv", "xlsx"])?,
        named => named.to_vec(),
    };
    let (copies, read) = campaign::read_records(&seconds, &mut campaign.sources)?;
    findings.extend(read);
    findings.extend(evidence::compare(records, &copies));
    let pictures = folder.join("photographs");
    if pictures.is_dir() {
        let mut beside = Vec::new();
        for file in files_in(&pictures, &[])? {
            let bytes = read_bytes(&file).map_err(|e| format!("`{}`: {e}", file.display()))?;
            beside.push(Beside::new(
                file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default(),
                &bytes,
            ));
        }
        findings.extend(evidence::photographs(&campaign.plan, records, &beside));
    }
    if let Some((source, text)) = text_file(&folder.join(SEALS), &mut campaign.sources)? {
        let bytes = |name: &str| {
            // A seal names a file, never a way to one.
            let plain = !name.contains(['/', '\\']) && name != "..";
            let places = [folder.join(name), pictures.join(name)];
            places.iter().filter(|_| plain).find_map(|place| read_bytes(place).ok())
        };
        findings.extend(evidence::seals(&campaign.plan, records, source, &text, bytes));
    }
    match text_file(&folder.join(campaign::ANSWERS), &mut campaign.sources)? {
        Some((source, text)) => {
            let (answers, mut wrong) = evidence::answers(source, &text);
            let (mut standings, more) = evidence::standings(&campaign.plan, records, findings, source, &answers);
            wrong.extend(more);
            let (unanswered, _) = evidence::standings(&campaign.plan, records, wrong, source, &[]);
            standings.extend(unanswered);
            Ok(standings)
        }
        None => {
            let nowhere = crate::source::SourceId(0);
            Ok(evidence::standings(&campaign.plan, records, findings, nowhere, &[]).0)
        }
    }
}

fn text_file(path: &Path, sources: &mut Sources) -> Result<Option<(crate::source::SourceId, String)>, String> {
    if !path.is_file() {
        return Ok(None);
    }
    let shown = path.display().to_string();
    let bytes = read_bytes(path).map_err(|e| format!("`{shown}`: {e}"))?;
    let text = decode(&bytes).map_err(|e| format!("`{shown}`: {e}"))?;
    let source = sources.add(shown, text.clone());
    Ok(Some((source, text)))
}

/// The files of a folder with one of these endings, or all of them, by name.
fn files_in(folder: &Path, endings: &[&str]) -> Result<Vec<PathBuf>, String> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let entries = std::fs::read_dir(folder).map_err(|e| format!("`{}` cannot be listed: {e}", folder.display()))?;
    let fits = |path: &PathBuf| {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
        path.is_file() && (endings.is_empty() || endings.contains(&ending.as_str()))
    };
    let mut files: Vec<PathBuf> = entries.filter_map(Result::ok).map(|e| e.path()).filter(fits).collect();
    files.sort();
    Ok(files)
}
