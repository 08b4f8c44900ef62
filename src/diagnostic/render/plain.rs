//! One line a finding, for logs, editors and narrow places.

use super::summary;
use crate::diagnostic::{Diagnostic, Place};
use crate::source::Sources;

/// All findings and the summary.
pub(super) fn render(findings: &[Diagnostic], sources: &Sources) -> String {
    let mut text: String = findings.iter().map(|finding| one(finding, sources)).collect();
    text.push_str(&summary(findings));
    text.push('\n');
    text
}

/// One finding: its line, the other places, the reason and the help, each on a line of its own.
pub(super) fn one(finding: &Diagnostic, sources: &Sources) -> String {
    let start = finding
        .primary()
        .and_then(|place| position(place, sources))
        .map(|position| position + ": ")
        .unwrap_or_default();
    let mut text = format!("{start}{} {}: {}\n", finding.severity, finding.code, flat(&finding.message));
    for (index, place) in finding.places.iter().enumerate() {
        let role = flat(&place.role);
        match position(place, sources) {
            Some(_) if index == 0 && !role.is_empty() => text += &format!("    here: {role}\n"),
            Some(at) if index > 0 => text += &format!("    {at}: {role}\n"),
            _ => {}
        }
    }
    if !finding.why.is_empty() {
        text += &format!("    why: {}\n", flat(&finding.why));
    }
    if let Some(help) = &finding.help {
        text += &format!("    do this: {}\n", help.trim_end().replace('\n', "\n        "));
    }
    text
}

/// `path:line:column`, when the file is known.
fn position(place: &Place, sources: &Sources) -> Option<String> {
    let source = sources.get(place.source)?;
    let (line, column) = source.line_column(place.span.start);
    Some(format!("{}:{line}:{column}", source.name))
}

/// On one line.
fn flat(text: &str) -> String {
    text.trim_end().replace(['\n', '\r'], " ")
}
