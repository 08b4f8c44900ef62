//! Findings for other tools.

use serde_json::{Value, json};

use crate::diagnostic::{Diagnostic, Place};
use crate::source::Sources;

/// A JSON array, indented, with a line end.
pub(super) fn render(findings: &[Diagnostic], sources: &Sources) -> String {
    let list: Value = findings.iter().map(|finding| one(finding, sources)).collect();
    format!("{list:#}\n")
}

fn one(finding: &Diagnostic, sources: &Sources) -> Value {
    let places: Vec<Value> = finding.places.iter().filter_map(|place| position(place, sources)).collect();
    json!({
        "code": finding.code.id(),
        "severity": finding.severity.word(),
        "message": finding.message,
        "why": finding.why,
        "help": finding.help,
        "places": places,
    })
}

fn position(place: &Place, sources: &Sources) -> Option<Value> {
    let source = sources.get(place.source)?;
    let (line, column) = source.line_column(place.span.start);
    let (end_line, end_column) = source.line_column(place.span.end);
    Some(json!({
        "file": source.name,
        "line": line,
        "column": column,
        "end_line": end_line,
        "end_column": end_column,
        "role": place.role,
    }))
}
