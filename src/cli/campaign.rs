//! What every command on a campaign begins with: the plan, checked; and the records, read.

use std::path::{Path, PathBuf};

use super::check;
use super::disk::{entry, read_bytes};
use crate::diagnostic::Diagnostic;
use crate::logger::Series;
use crate::plan::Plan;
use crate::record::laboratory::{self, LabFile};
use crate::record::{Record, read};
use crate::source::Sources;

/// The answers to findings, in the campaign's folder `records`.
pub(crate) const ANSWERS: &str = "answers.csv";

/// A campaign on the disk.
pub(crate) struct Campaign {
    pub(crate) folder: PathBuf,
    pub(crate) plan: Plan,
    pub(crate) findings: Vec<Diagnostic>,
    pub(crate) sources: Sources,
}

/// Why there is no campaign to go on with.
pub(crate) enum Stopped {
    /// Nothing to be read, or no campaign in it.
    Problem(String),
    /// The plan has errors: they are here to be shown.
    Errors(Vec<Diagnostic>, Sources),
}

impl From<String> for Stopped {
    fn from(problem: String) -> Self {
        Stopped::Problem(problem)
    }
}

/// Loads a campaign. A plan with errors is not gone on with: a worksheet of a wrong plan is worse than none.
pub(crate) fn open(path: &Path, set: &[(String, String)]) -> Result<Campaign, Stopped> {
    let mut sources = Sources::new();
    let checked = check::read(path, set, &mut sources).map_err(Stopped::Problem)?;
    if checked.has_errors() {
        return Err(Stopped::Errors(checked.diagnostics, sources));
    }
    let file = entry(path).map_err(Stopped::Problem)?;
    let folder = file.parent().map(Path::to_owned).unwrap_or_default();
    let Some(plan) = checked.value.plans.into_iter().next() else {
        return Err(Stopped::Problem(format!("`{}` has no campaign in it", path.display())));
    };
    Ok(Campaign { folder, plan, findings: checked.diagnostics, sources })
}

/// The records that lie in the campaign's folder `records`, by name.
pub(crate) fn record_files(folder: &Path) -> Result<Vec<PathBuf>, String> {
    files_in(folder, "records", &["csv", "xlsx"])
}

/// The laboratory's files that lie in the campaign's folder `laboratory`, by name.
pub(crate) fn laboratory_files(folder: &Path) -> Result<Vec<PathBuf>, String> {
    files_in(folder, "laboratory", &["csv", "xlsx"])
}

/// The logger's files that a campaign has, by name.
pub(crate) fn logger_files(folder: &Path) -> Result<Vec<PathBuf>, String> {
    files_in(folder, "logger", &["csv", "parquet"])
}

/// The files of these kinds in a folder of the campaign, by name; none where there is no such folder.
pub(crate) fn files_in(folder: &Path, inside: &str, kinds: &[&str]) -> Result<Vec<PathBuf>, String> {
    let inside = folder.join(inside);
    if !inside.is_dir() {
        return Ok(Vec::new());
    }
    let entries = std::fs::read_dir(&inside).map_err(|e| format!("`{}` cannot be listed: {e}", inside.display()))?;
    let mut files: Vec<PathBuf> = entries
        .filter_map(Result::ok)
        .map(|e| e.path())
        .filter(|p| p.file_name().is_none_or(|name| name != ANSWERS))
        .filter(|p| p.is_file())
        .filter(|p| p.extension().is_some_and(|e| kinds.iter().any(|kind| e.eq_ignore_ascii_case(kind))))
        .collect();
    files.sort();
    Ok(files)
}

/// Reads the logger's files, each row by row, and holds them against plan and records.
pub(crate) fn read_loggers(
    plan: &Plan,
    records: &[Record],
    files: &[PathBuf],
    sources: &mut Sources,
) -> Result<Vec<Diagnostic>, String> {
    if files.is_empty() {
        return Ok(Vec::new());
    }
    let mut series = Series::new(plan, records);
    for path in files {
        let shown = path.display().to_string();
        let file = std::fs::File::open(path).map_err(|e| format!("`{shown}`: {e}"))?;
        series.file(&shown, file, sources);
    }
    Ok(series.findings(sources))
}

/// Reads records; what cannot be read is found, not fatal.
pub(crate) fn read_records(files: &[PathBuf], sources: &mut Sources) -> Result<(Vec<Record>, Vec<Diagnostic>), String> {
    let mut records = Vec::new();
    let mut findings = Vec::new();
    for file in files {
        let shown = file.display().to_string();
        let bytes = read_bytes(file).map_err(|e| format!("`{shown}`: {e}"))?;
        let checked = read::file(&shown, &bytes, sources);
        findings.extend(checked.diagnostics);
        records.extend(checked.value);
    }
    Ok((records, findings))
}

/// Reads a laboratory's files by the layout in the plan; what cannot be read is found, not fatal.
pub(crate) fn read_laboratory(
    files: &[PathBuf],
    plan: &Plan,
    sources: &mut Sources,
) -> Result<(Vec<LabFile>, Vec<Diagnostic>), String> {
    let mut read = Vec::new();
    let mut findings = Vec::new();
    for file in files {
        let shown = file.display().to_string();
        let bytes = read_bytes(file).map_err(|e| format!("`{shown}`: {e}"))?;
        let checked = laboratory::file(&shown, &bytes, plan.laboratories.values(), sources);
        findings.extend(checked.diagnostics);
        read.extend(checked.value);
    }
    Ok((read, findings))
}
