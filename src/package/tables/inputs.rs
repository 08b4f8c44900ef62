//! What everything rests on: the files with their hashes, and the findings of the audit with their answers.

use indexmap::IndexSet;

use super::super::table::{Table, link, row, text, truth, whole};
use super::super::{Given, InputKind};
use super::readings::file;
use crate::audit::evidence::hash;

pub(super) fn tables(given: &Given<'_>) -> Vec<Table> {
    vec![findings(given), inputs(given)]
}

fn findings(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "findings",
        "Findings of the audit",
        "Where records depart from the plan, with the answers that people gave. An open critical or major finding keeps its cell out of the results.",
        &["number"],
        vec![
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("code", "Code", "").required(),
            text("title", "Title", "Of the code").required(),
            text("severity", "Severity", "").required().one_of(&["note", "warning", "error", "minor", "major", "critical"]),
            text("run", "Run", "Where it stands at one"),
            text("reading", "Reading", "Path"),
            text("message", "What", "").required(),
            text("why", "Why it matters", ""),
            truth("open", "Open", "Whether nobody has answered it"),
            text("answer", "Answer", "accepted, corrected, explained, left out or run repeated"),
            text("answered_by", "By", "Initials"),
            text("answered_on", "On", "As written"),
            text("reason", "Reason", "Of the answer"),
            text("file", "File", "That it points at first"),
            whole("line", "Line", "").at_least(1.0),
        ],
    )
    .links(&[link(&["run"], "runs", &["run"]), link(&["file"], "inputs", &["file"])]);
    for (place, standing) in given.standings.iter().enumerate() {
        let finding = &standing.finding;
        let answer = standing.answer.as_ref();
        let whence = finding.primary().and_then(|place| {
            let source = given.sources.get(place.source)?;
            Some((file(given, &source.name), source.line_column(place.span.start).0))
        });
        table.rows.push(row![
            place + 1,
            finding.code.id(),
            finding.code.title(),
            finding.severity.word(),
            given.plan.run(&standing.run).map(|run| run.code.as_str()),
            &standing.reading,
            &finding.message,
            &finding.why,
            answer.is_none(),
            answer.map(|answer| answer.answer.as_str()),
            answer.map(|answer| answer.by.as_str()),
            answer.map(|answer| answer.when.as_str()),
            answer.map(|answer| &answer.why),
            whence.map(|(file, _)| file),
            whence.map(|(_, line)| line)
        ]);
    }
    table
}

fn inputs(given: &Given<'_>) -> Table {
    let mut table = Table::new(
        "inputs",
        "Files that were read",
        "With the SHA-256 of their bytes. Those with copied = true stand under inputs/ in this package, byte for byte.",
        &["file"],
        vec![
            text("file", "File", "").required(),
            text("kind", "Kind", "What it was read for").required(),
            whole("bytes", "Bytes", "").at_least(0.0),
            text("sha256", "SHA-256", "Hexadecimal"),
            truth("copied", "Copied", "Whether it stands in this package"),
        ],
    );
    for input in given.inputs {
        let copied = given.copies(input);
        table.rows.push(row![&input.path, input.kind.word(), input.bytes.len(), hash(&input.bytes), copied]);
    }
    // What cells point into without its bytes having been given: it is named, so that nothing points nowhere.
    let records = given.records.iter().map(|record| record.name.as_str());
    let laboratory = given.laboratory.iter().map(|lab| lab.name.as_str());
    let pointed = given
        .standings
        .iter()
        .filter_map(|standing| Some(given.sources.get(standing.finding.primary()?.source)?.name.as_str()));
    let known: IndexSet<&str> = given.inputs.iter().map(|input| input.path.as_str()).collect();
    let named = records.chain(laboratory).chain(pointed).map(|name| file(given, name));
    let others: IndexSet<&str> = named.filter(|name| !known.contains(name)).collect();
    for name in others {
        table.rows.push(row![name, InputKind::Other.word(), None::<usize>, "", false]);
    }
    table
}
