//! `loopleaf print`, `loopleaf form`: what goes to the bench.

use std::path::{Path, PathBuf};

use super::args::{self, PaperSize};
use super::campaign::{Campaign, Stopped};
use super::session::Session;
use super::{Exit, campaign};
use crate::plan::Run;
use crate::record::{self, form};
use crate::source::Sources;
use crate::worksheet::{self, Scope};

pub(super) fn print(options: &args::Print, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let campaign = campaign::open(&options.campaign, &options.what_if.set)?;
    session.changed(&campaign.plan)?;
    let scope = options.run.as_deref().map_or(Scope::Everything, Scope::Run);
    let view = worksheet::view(&campaign.plan, scope).map_err(problem)?;
    let name = if options.html { "worksheets.html" } else { "worksheets.pdf" };
    let target = options.output.clone().unwrap_or_else(|| PathBuf::from(name));
    let bytes = if options.html {
        worksheet::html(&view).map_err(problem)?.into_bytes()
    } else {
        session.working("typesetting the worksheets");
        typeset(&view, options.paper)?
    };
    write(&target, &bytes)?;
    session.say(&format!("worksheets: {}", target.display()))?;
    Ok(Exit::of(&campaign.findings))
}

#[cfg(feature = "pdf")]
pub(super) fn typeset(view: &worksheet::View, paper: PaperSize) -> Result<Vec<u8>, Stopped> {
    let paper = match paper {
        PaperSize::A4 => worksheet::Paper::A4,
        PaperSize::Letter => worksheet::Paper::Letter,
    };
    worksheet::pdf(view, paper).map_err(problem)
}

#[cfg(not(feature = "pdf"))]
pub(super) fn typeset(_view: &worksheet::View, _paper: PaperSize) -> Result<Vec<u8>, Stopped> {
    Err(Stopped::Problem("this loopleaf was built without PDF; print with --html".to_owned()))
}

pub(super) fn form(options: &args::Form, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let campaign = campaign::open(&options.campaign, &options.what_if.set)?;
    session.changed(&campaign.plan)?;
    let folder = options.output.clone().unwrap_or_else(|| PathBuf::from("forms"));
    let mut exit = Exit::of(&campaign.findings);
    for run in chosen(&campaign, options.run.as_deref())? {
        let (ending, bytes) = if options.xlsx {
            ("xlsx", form::xlsx(&campaign.plan, run).map_err(problem)?)
        } else {
            ("csv", form::csv(&campaign.plan, run).into_bytes())
        };
        let target = folder.join(format!("{}.{ending}", run.code));
        if is_filled(&target) {
            session.say(&format!("left alone: {} holds values already", target.display()))?;
            exit = exit.max(Exit::Warnings);
            continue;
        }
        write(&target, &bytes)?;
        session.say(&format!("form: {}", target.display()))?;
    }
    Ok(exit)
}

pub(super) fn chosen<'c>(campaign: &'c Campaign, code: Option<&str>) -> Result<Vec<&'c Run>, Stopped> {
    let Some(code) = code else { return Ok(campaign.plan.runs.iter().collect()) };
    match campaign.plan.run(code) {
        Some(run) => Ok(vec![run]),
        None => {
            let last = campaign.plan.runs.last().map(|r| r.code.as_str()).unwrap_or_default();
            Err(Stopped::Problem(format!("there is no run `{code}`; the campaign has R01 to {last}")))
        }
    }
}

/// Whether a form that lies here has been written in: such a file is never written over.
pub(super) fn is_filled(target: &Path) -> bool {
    let Ok(bytes) = super::disk::read_bytes(target) else { return false };
    let mut sources = Sources::new();
    let read = record::read::file(&target.to_string_lossy(), &bytes, &mut sources).value;
    read.is_none_or(|record| record.rows.iter().any(record::Row::is_filled))
}

/// Writes a file beside its place first, so that a half-written one is never found.
pub(super) fn write(target: &Path, bytes: &[u8]) -> Result<(), Stopped> {
    if target.extension().is_some_and(|ending| ending == "leaf") {
        return Err(Stopped::Problem(format!(
            "`{}` is a plan's place; nothing else is written there",
            target.display()
        )));
    }
    let failed = |e: std::io::Error| Stopped::Problem(format!("`{}` cannot be written: {e}", target.display()));
    if let Some(folder) = target.parent().filter(|f| !f.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    let mut half = target.as_os_str().to_owned();
    half.push(".part");
    std::fs::write(&half, bytes).map_err(failed)?;
    std::fs::rename(&half, target).map_err(failed)
}

pub(super) fn problem(error: impl std::fmt::Display) -> Stopped {
    Stopped::Problem(error.to_string())
}
