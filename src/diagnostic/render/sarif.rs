//! Findings as SARIF 2.1.0 (OASIS standard), for the tools that show results of analyses beside the text.

use serde_json::{Value, json};

use crate::diagnostic::{Code, Diagnostic, Place, Severity};
use crate::source::Sources;

/// One log with one run, indented, with a line end.
pub(super) fn render(findings: &[Diagnostic], sources: &Sources) -> String {
    let rules: Vec<Value> = used(findings).map(rule).collect();
    let results: Vec<Value> = findings.iter().map(|finding| result(finding, sources)).collect();
    let log = json!({
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "loopleaf",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": rules,
            } },
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    });
    format!("{log:#}\n")
}

/// The codes of the findings, in the order of the table.
fn used(findings: &[Diagnostic]) -> impl Iterator<Item = Code> {
    Code::all().filter(|code| findings.iter().any(|finding| finding.code == *code))
}

fn rule(code: Code) -> Value {
    json!({
        "id": code.id(),
        "shortDescription": { "text": format!("{}.", code.title()) },
        "fullDescription": { "text": code.why() },
        "defaultConfiguration": { "level": level(code.severity()) },
        "properties": { "safety": code.is_safety() },
    })
}

fn result(finding: &Diagnostic, sources: &Sources) -> Value {
    let mut places = finding.places.iter().filter_map(|place| location(place, sources));
    let mut text = format!("{}. {}", finding.message, finding.why);
    if let Some(help) = &finding.help {
        text.push_str(&format!(" Do this: {help}"));
    }
    let mut result = json!({
        "ruleId": finding.code.id(),
        "level": level(finding.severity),
        "message": { "text": text },
        "locations": places.next().into_iter().collect::<Vec<_>>(),
        "properties": { "severity": finding.severity.word() },
    });
    let others: Vec<Value> = places.collect();
    if let Some(result) = result.as_object_mut().filter(|_| !others.is_empty()) {
        result.insert("relatedLocations".to_owned(), Value::Array(others));
    }
    result
}

fn location(place: &Place, sources: &Sources) -> Option<Value> {
    let source = sources.get(place.source)?;
    let (line, column) = source.line_column(place.span.start);
    let (end_line, end_column) = source.line_column(place.span.end);
    let mut location = json!({ "physicalLocation": {
        "artifactLocation": { "uri": uri(&source.name) },
        "region": { "startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column },
    } });
    if let Some(location) = location.as_object_mut().filter(|_| !place.role.is_empty()) {
        location.insert("message".to_owned(), json!({ "text": place.role }));
    }
    Some(location)
}

/// A relative path as a URI reference (RFC 3986): everything but what may stand in a path is written in per cent.
fn uri(path: &str) -> String {
    let mut uri = String::new();
    for byte in path.replace('\\', "/").bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => uri.push(char::from(byte)),
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Critical | Severity::Error | Severity::Major => "error",
        Severity::Warning | Severity::Minor => "warning",
        Severity::Note => "note",
    }
}
