//! `loopleaf refresh`: everything in one go.

use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use sha2::{Digest, Sha256};

use super::campaign::{self, Campaign, Stopped};
use super::papers::{is_filled, problem, typeset, write};
use super::report::{Reduced, Wanted, write_report};
use super::session::Session;
use super::{Exit, args};
use crate::audit;
use crate::overview::{self, FileLink};
use crate::plan::Run;
use crate::record::form;
use crate::worksheet::{self, Scope, View};

pub(super) fn run(options: &args::Refresh, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let mut campaign = campaign::open(&options.campaign, &[])?;
    let out = options.output.clone().unwrap_or_else(|| campaign.folder.join("loopleaf-out"));
    session.findings(&campaign.findings, &campaign.sources)?;
    let progress = progress(session, campaign.plan.runs.len() as u64 + 1);
    let mut papers = Papers { out: &out, paper: options.paper, written: 0, kept: 0, filled: Vec::new() };
    papers.sheets("campaign", &worksheet::view(&campaign.plan, Scope::Campaign).map_err(problem)?)?;
    progress.inc(1);
    for run in &campaign.plan.runs {
        papers.run(&campaign, run)?;
        progress.inc(1);
    }
    progress.finish_and_clear();
    let files = campaign::record_files(&campaign.folder)?;
    let (records, mut read) = campaign::read_records(&files, &mut campaign.sources)?;
    let results = campaign::laboratory_files(&campaign.folder)?;
    let (results, unclear) = campaign::read_laboratory(&results, &campaign.plan, &mut campaign.sources)?;
    read.extend(unclear);
    read.extend(audit::laboratory(&campaign.plan, &records, &results));
    let loggers = campaign::logger_files(&campaign.folder)?;
    read.extend(campaign::read_loggers(&campaign.plan, &records, &loggers, &mut campaign.sources)?);
    let standings = super::audit::everything(&mut campaign, &records, read, &[])?;
    let states = audit::states(&campaign.plan, &records);
    let papers_of_audit = overview::audit_page(&campaign.plan, &states, &standings, &campaign.sources);
    write(&out.join("audit.html"), overview::audit_html(&papers_of_audit).map_err(problem)?.as_bytes())?;
    let reduced = Reduced::of(campaign, records, results, standings);
    let reported = !reduced.records.is_empty();
    if reported {
        session.working("writing the report");
        let written = write_report(&reduced, &Wanted::default(), &out, options.paper)?;
        let new = written.files.iter().filter(|(_, new)| *new).count();
        papers.written += new;
        papers.kept += written.files.len() - new;
    }
    let Reduced { campaign, records, standings, .. } = reduced;
    let all = standings.len();
    let found: Vec<_> = standings.into_iter().filter(|s| s.answer.is_none()).map(|s| s.finding).collect();
    let link = |label: &str, href: String| FileLink { label: label.to_owned(), href };
    let pdf = cfg!(feature = "pdf");
    let sheets = |name: &str| {
        let mut links = Vec::new();
        if pdf {
            links.push(link("worksheets (PDF)", format!("worksheets/{name}.pdf")));
        }
        links.push(link("worksheets (web)", format!("worksheets/{name}.html")));
        links
    };
    let mut of_campaign = sheets("campaign");
    of_campaign.push(link("audit, with the logs of deviations", "audit.html".to_owned()));
    if reported {
        of_campaign.push(link("report (web)", "report.html".to_owned()));
    }
    if reported && pdf {
        of_campaign.push(link("report (PDF)", "report.pdf".to_owned()));
    }
    let page =
        overview::view(&campaign.plan, &states, &campaign.findings, &found, &campaign.sources, of_campaign, |code| {
            let mut links = sheets(code);
            links.push(link("form (CSV)", format!("forms/{code}.csv")));
            links.push(link("form (XLSX)", format!("forms/{code}.xlsx")));
            links
        });
    let index = out.join("index.html");
    write(&index, overview::html(&page).map_err(problem)?.as_bytes())?;
    session.say(&format!("{} papers written, {} already up to date", papers.written, papers.kept))?;
    for form in &papers.filled {
        session
            .say(&format!("left alone: {} holds values; a record belongs into the folder `records`", form.display()))?;
    }
    session.say(&format!("{} records read: {}", records.len(), crate::diagnostic::render::summary(&found)))?;
    let answered = all - found.len();
    if answered > 0 {
        session.say(&format!("{answered} of {all} findings are answered and not counted here"))?;
    }
    session.say(&format!("how it stands: {}", index.display()))?;
    Ok(Exit::of(&campaign.findings).max(Exit::of(&found)))
}

/// The output folder, and what was done to it.
struct Papers<'p> {
    out: &'p Path,
    paper: args::PaperSize,
    written: usize,
    kept: usize,
    /// Forms that somebody has written in where they lie.
    filled: Vec<PathBuf>,
}

impl Papers<'_> {
    fn run(&mut self, campaign: &Campaign, run: &Run) -> Result<(), Stopped> {
        let view = worksheet::view(&campaign.plan, Scope::Run(&run.code)).map_err(problem)?;
        self.sheets(&run.code, &view)?;
        let blank = self.out.join("forms").join(&run.code);
        let csv = form::csv(&campaign.plan, run);
        self.form(&blank.with_extension("csv"), csv.as_bytes())?;
        let xlsx = form::xlsx(&campaign.plan, run).map_err(problem)?;
        self.form(&blank.with_extension("xlsx"), &xlsx)
    }

    /// The worksheets in both forms. A PDF is typeset only where what it says has changed since the last time.
    fn sheets(&mut self, name: &str, view: &View) -> Result<(), Stopped> {
        let base = self.out.join("worksheets").join(name);
        self.file(&base.with_extension("html"), worksheet::html(view).map_err(problem)?.as_bytes())?;
        if !cfg!(feature = "pdf") {
            return Ok(());
        }
        let said = serde_json::to_vec(view).map_err(problem)?;
        let mut digest = Sha256::new();
        digest.update(env!("CARGO_PKG_VERSION"));
        digest.update(format!("{:?}", self.paper));
        digest.update(&said);
        let seal: String = digest.finalize().iter().map(|b| format!("{b:02x}")).collect();
        let (target, kept) = (base.with_extension("pdf"), self.out.join("worksheets").join(format!(".{name}.seal")));
        if target.is_file() && std::fs::read_to_string(&kept).is_ok_and(|old| old == seal) {
            self.kept += 1;
            return Ok(());
        }
        write(&target, &typeset(view, self.paper)?)?;
        write(&kept, seal.as_bytes())?;
        self.written += 1;
        Ok(())
    }

    /// A blank form; one that has been written in where it lies is left alone.
    fn form(&mut self, target: &PathBuf, bytes: &[u8]) -> Result<(), Stopped> {
        if std::fs::read(target).is_ok_and(|old| old != bytes) && is_filled(target) {
            self.filled.push(target.clone());
            return Ok(());
        }
        self.file(target, bytes)
    }

    fn file(&mut self, target: &PathBuf, bytes: &[u8]) -> Result<(), Stopped> {
        if std::fs::read(target).is_ok_and(|old| old == bytes) {
            self.kept += 1;
            return Ok(());
        }
        write(target, bytes)?;
        self.written += 1;
        Ok(())
    }
}

/// A bar for work that somebody watches; nothing in a pipe.
fn progress(session: &Session<'_>, steps: u64) -> ProgressBar {
    let target = if session.terminal.watched { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let bar = ProgressBar::with_draw_target(Some(steps), target);
    match ProgressStyle::with_template("{msg} {bar:30} {pos} of {len}") {
        Ok(style) => bar.with_style(style).with_message("papers"),
        Err(_) => bar,
    }
}
