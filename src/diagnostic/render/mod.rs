//! Findings as text: for people, one line each, as JSON and as SARIF.

mod human;
mod json;
mod plain;
mod sarif;

use serde::{Deserialize, Serialize};

use super::{Diagnostic, Severity};
use crate::source::Sources;

/// How findings are shown to people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Style {
    /// With terminal colours.
    pub colour: bool,
    /// With line-drawing characters; otherwise ASCII.
    pub unicode: bool,
    /// Width of a line in characters.
    pub width: usize,
}

impl Default for Style {
    fn default() -> Self {
        Self { colour: false, unicode: true, width: 100 }
    }
}

/// Findings with the lines they are about, and a summary. After fifty the rest is only counted.
pub fn human(findings: &[Diagnostic], sources: &Sources, style: Style) -> String {
    human::render(findings, sources, style)
}

/// One line a finding, `path:line:column: error L203: message`, reason and help below, and a summary.
pub fn plain(findings: &[Diagnostic], sources: &Sources) -> String {
    plain::render(findings, sources)
}

/// A JSON array for other tools; its fields are stable.
pub fn json(findings: &[Diagnostic], sources: &Sources) -> String {
    json::render(findings, sources)
}

/// A log in SARIF 2.1.0, the open standard for results of analyses.
pub fn sarif(findings: &[Diagnostic], sources: &Sources) -> String {
    sarif::render(findings, sources)
}

/// "2 errors, 1 warning", gravest first; "nothing found" when there is nothing.
pub fn summary(findings: &[Diagnostic]) -> String {
    let order =
        [Severity::Critical, Severity::Error, Severity::Major, Severity::Warning, Severity::Minor, Severity::Note];
    let parts: Vec<String> = order
        .into_iter()
        .map(|severity| (severity, findings.iter().filter(|f| f.severity == severity).count()))
        .filter(|(_, count)| *count > 0)
        .map(|(severity, count)| severity.counted(count))
        .collect();
    if parts.is_empty() { "nothing found".to_owned() } else { parts.join(", ") }
}
