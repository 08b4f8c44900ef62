//! Views beside the results: by price, area and volume; and what was seen when the specimens were opened.

use indexmap::IndexSet;

use super::super::page::Table;
use super::{Book, Part, Section, parted, say};
use crate::quantity::Unit;
use crate::results::{PerUnit, RunResults};

pub(super) fn normalised(book: &Book<'_>) -> Section {
    let mut section = Section::new("secondary", "Secondary views");
    if book.results.per_unit.is_empty() {
        return section;
    }
    if book.hidden() {
        section.says(
            "Views by price, area of medium and volume of the can wait until the key is opened: each would tell the models.",
        );
        return section;
    }
    section.says(
        "These are divisions of a result by what a package or a shop says, with no doubt of their own. They rank nothing: a cheap can that \
         holds much per coin may still let more through.",
    );
    let measurands: IndexSet<&str> = book.results.per_unit.iter().map(|view| view.measurand.as_str()).collect();
    for key in measurands {
        divided(&mut section, book, key);
    }
    section
}

/// One result, divided by everything that it is divided by.
fn divided(section: &mut Section, book: &Book<'_>, key: &str) {
    let views: Vec<&PerUnit> = book.results.per_unit.iter().filter(|view| view.measurand == key).collect();
    let title = book.results.measurands.iter().find(|measurand| measurand.key == key);
    let title = title.map_or(key, |measurand| measurand.title.as_str());
    let heads = views.iter().map(|view| format!("#By {}: {}", view.per, view.unit));
    let mut table = Table::of(format!("{title}, divided"), std::iter::once("Specimen".to_owned()).chain(heads));
    let specimens: IndexSet<&str> =
        views.iter().flat_map(|view| &view.entries).map(|(specimen, _)| specimen.as_str()).collect();
    let mut reasons = say::Reasons::default();
    for specimen in specimens {
        // The values are in the unit of their head already.
        let cells = views.iter().map(|view| {
            let of = view.entries.iter().find(|(code, _)| code == specimen);
            of.map_or_else(|| say::NOTHING.to_owned(), |(_, outcome)| reasons.cell(outcome, &Unit::none()))
        });
        let cells: Vec<String> = cells.collect();
        table.row(std::iter::once(book.specimen(specimen)).chain(cells));
    }
    table.notes = reasons.notes();
    section.table(table);
}

pub(super) fn teardown(book: &Book<'_>) -> Section {
    let mut section = Section::new("teardown", "What was seen");
    for (index, test) in book.plan.tests.iter().enumerate() {
        let runs: Vec<&RunResults> =
            book.results.runs.iter().filter(|run| run.test == index && !run.observations.is_empty()).collect();
        if runs.is_empty() {
            continue;
        }
        section.heading(test.title.clone());
        for part in parted(&runs) {
            seen(&mut section, book, part);
        }
        let photographs: Vec<String> = runs
            .iter()
            .flat_map(|run| run.observations.iter().filter(|seen| seen.photograph).map(|seen| (*run, seen)))
            .map(|(run, seen)| format!("{}: {} ({})", book.run_head(run), book.photograph(&seen.written), seen.label))
            .collect();
        if !photographs.is_empty() {
            section.parts.push(Part::Says { text: "Photographs, by file and hash:".to_owned() });
            section.list(photographs);
        }
    }
    section
}

fn seen(section: &mut Section, book: &Book<'_>, runs: &[&RunResults]) {
    let rows: IndexSet<(&str, &str)> = runs
        .iter()
        .flat_map(|run| &run.observations)
        .filter(|seen| !seen.photograph)
        .map(|seen| (seen.path.as_str(), seen.label.as_str()))
        .collect();
    let stage = |path: &str| path.split('/').next().unwrap_or_default().replace('-', " ");
    let heads = runs.iter().map(|run| book.run_head(run));
    let mut table = Table::of(
        "As it was written down, specimen by specimen",
        ["Seen".to_owned(), "When".to_owned()].into_iter().chain(heads),
    );
    for (path, label) in rows {
        let cell = |run: &RunResults| {
            let seen = run.observations.iter().find(|seen| seen.path == path);
            seen.map_or_else(|| say::NOTHING.to_owned(), |seen| book.free(&seen.written))
        };
        table.row([label.to_owned(), stage(path)].into_iter().chain(runs.iter().map(|run| cell(run))));
    }
    section.table(table);
}
