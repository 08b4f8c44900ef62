//! Views beside the results: by price, area and volume; and what was seen when the specimens were opened.

use indexmap::IndexSet;

use super::super::page::Table;
use super::{Book, Part, Section, parted, say};
use crate::plan::Model;
use crate::quantity::{Quantity, Unit};
use crate::results::{Estimate, Measurand, RunResults};

pub(super) fn normalised(book: &Book<'_>) -> Section {
    let mut section = Section::new("secondary", "Secondary views");
    let capacities: Vec<&Measurand> =
        book.results.measurands.iter().filter(|measurand| measurand.key.ends_with("/capacity")).collect();
    if capacities.is_empty() {
        return section;
    }
    if book.hidden() {
        section.says("Views by price, area of medium and volume of the can wait until the key is opened: each would tell the models.");
        return section;
    }
    section.says(
        "These are divisions of a result by what a package or a shop says, with no doubt of their own. They rank nothing: a cheap can that \
         holds much per coin may still let more through.",
    );
    for measurand in capacities {
        by_model(&mut section, book, measurand);
    }
    section
}

fn by_model(section: &mut Section, book: &Book<'_>, measurand: &Measurand) {
    let divisors: [(&str, fn(&Model) -> Option<&Quantity>); 3] = [
        ("price", |model| model.price.as_ref()),
        ("area of medium", |model| model.media_area.as_ref()),
        ("volume of the can", |model| model.can_volume.as_ref()),
    ];
    let known = |of: fn(&Model) -> Option<&Quantity>| {
        let models = measurand.entries.iter().filter_map(|entry| book.model(&entry.specimen));
        models.filter_map(of).next().map(|quantity| quantity.unit.clone())
    };
    let columns: Vec<_> = divisors.iter().filter_map(|(what, of)| Some((*what, *of, known(*of)?))).collect();
    if columns.is_empty() {
        return;
    }
    let heads = columns.iter().flat_map(|(what, _, unit)| {
        [format!("#{}, {unit}", capital(what)), format!("#{} per {}", measurand.unit, per(unit))]
    });
    let mut table = Table::of(
        format!("{}, divided", measurand.title),
        ["Specimen".to_owned(), format!("#{}", measurand.unit)].into_iter().chain(heads),
    );
    for entry in &measurand.entries {
        let Some(estimate) = entry.outcome.known() else { continue };
        let Some(model) = book.model(&entry.specimen) else { continue };
        let mut cells = vec![book.specimen(&entry.specimen), say::value(estimate, &measurand.unit)];
        for (_, of, unit) in &columns {
            let by = of(model).filter(|by| by.unit.same_as(unit) && by.value > 0.0);
            cells.push(by.map_or_else(|| say::NOTHING.to_owned(), |by| say::number(by.value, 4)));
            cells.push(by.map_or_else(
                || say::NOTHING.to_owned(),
                |by| divided(estimate, &measurand.unit, by.value / step(unit)),
            ));
        }
        table.row(cells);
    }
    section.table(table);
}

fn divided(estimate: &Estimate, unit: &Unit, by: f64) -> String {
    say::estimate(&estimate.scaled(1.0 / by), unit)
}

/// Areas are told by the hundred square centimetres, so that the numbers are easy to read.
fn step(unit: &Unit) -> f64 {
    if unit.to_string() == "cm²" { 100.0 } else { 1.0 }
}

fn per(unit: &Unit) -> String {
    if unit.to_string() == "cm²" { "100 cm²".to_owned() } else { unit.to_string() }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
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
            .map(|(run, seen)| format!("{}: {} ({})", book.run_head(run), book.free(&seen.written), seen.label))
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
