//! Where the work departs from the methods that it leans on, and from its own plan.

use super::super::page::Table;
use super::{Book, Section, say};
use crate::audit::evidence::Standing;
use crate::diagnostic::{Code, Diagnostic, Severity};

pub(super) fn departures(book: &Book<'_>) -> Section {
    let mut section = Section::new("departures", "Departures");
    methods(&mut section, book);
    plan(&mut section, book);
    from_plan(&mut section, book);
    section
}

fn methods(section: &mut Section, book: &Book<'_>) {
    section.heading("From published methods");
    let mut table = Table::new(
        "Each departure from a method that a test leans on",
        &["Method", "What differs", "Effect that is expected", "Runs"],
    );
    for (index, test) in book.plan.tests.iter().enumerate() {
        let runs: Vec<&str> =
            book.plan.runs.iter().filter(|run| run.test == index).map(|run| run.code.as_str()).collect();
        for leaning in &test.protocol.leans_on {
            for (what, effect) in &leaning.departures {
                let effect = effect.clone().unwrap_or_else(|| "not said".to_owned());
                table.row([leaning.standard.clone(), what.clone(), effect, runs.join(", ")]);
            }
        }
    }
    if table.rows.is_empty() {
        section.says("The tests lean on no published method. They are methods of our own.");
    }
    section.table(table);
    section.says("A method of our own: leaning on a published method is no claim to have met it.");
}

/// What the check of the plan said and was left as it is.
fn plan(section: &mut Section, book: &Book<'_>) {
    let left: Vec<&Diagnostic> =
        book.input.plan_findings.iter().filter(|finding| finding.severity == Severity::Warning).collect();
    if left.is_empty() {
        return;
    }
    section.heading("Warnings of the plan's check that were left");
    let mut table =
        Table::new("Known before the first run, and neither mended nor waived", &["Code", "What", "Why it matters"]);
    for finding in left {
        table.row([finding.code.id().to_owned(), book.free(&finding.message), book.free(&finding.why)]);
    }
    section.table(table);
}

fn from_plan(section: &mut Section, book: &Book<'_>) {
    section.heading("From the plan");
    let standings = book.input.standings;
    let of = |severity: Severity| {
        standings.iter().filter(move |standing| standing.finding.severity.rank() == severity.rank())
    };
    let groups = [
        (Severity::Critical, "Critical: without an answer they keep the report from being published"),
        (Severity::Major, "Major: without an answer the readings that they touch are not used"),
        (Severity::Minor, "Minor: told; what can be read is used"),
    ];
    let mut told = 0;
    for (severity, caption) in groups {
        let mut table = Table::new(caption, &["Code", "Where", "What departs from the plan", "Answer"]);
        for standing in of(severity) {
            told += 1;
            table.row([
                standing.finding.code.id().to_owned(),
                place(book, standing),
                book.free(&standing.finding.message),
                answer(book, standing),
            ]);
        }
        section.table(table);
    }
    let mut table = Table::new(
        "Corrected: the last row counts, and what stood before stays in the record",
        &["Where", "What was corrected, and why"],
    );
    for standing in of(Severity::Note).filter(|standing| standing.finding.code == Code::Corrected) {
        table.row([place(book, standing), book.free(&standing.finding.message)]);
    }
    section.table(table);
    if told == 0 {
        section.says("The audit of the records found no departure.");
        return;
    }
    let open = standings.iter().filter(|standing| standing.answer.is_none() && standing.finding.severity.rank() > 0);
    let (open, notes) = (open.count(), of(Severity::Note).count());
    let mut words = format!(
        "{}, {} of them without an answer.",
        say::count(told, "departure was found", "departures were found"),
        open
    );
    if notes > 0 {
        let notes = say::count(notes, "note is", "notes are");
        words.push_str(&format!(" Besides, {notes} on the page of the audit."));
    }
    section.says(words);
}

fn answer(book: &Book<'_>, standing: &Standing) -> String {
    match &standing.answer {
        Some(answer) => format!("{}: {} ({}, {})", answer.answer, book.free(&answer.why), answer.by, answer.when),
        None => "OPEN".to_owned(),
    }
}

fn place(book: &Book<'_>, standing: &Standing) -> String {
    let line = standing.finding.primary().and_then(|place| {
        let source = book.input.sources.get(place.source)?;
        let (line, _) = source.line_column(place.span.start);
        Some(format!("{}, line {line}", source.name.rsplit(['/', '\\']).next().unwrap_or_default()))
    });
    let line = line.unwrap_or_default();
    if standing.run.is_empty() || line.contains(&standing.run) { line } else { format!("{}; {line}", standing.run) }
}
