//! What was tested: every specimen of the register.

use super::super::page::Table;
use super::{Book, Section, say};

pub(super) fn items(book: &Book<'_>) -> Section {
    let mut section = Section::new("items", "Items tested");
    let campaign = &book.plan.campaign;
    section.says("The results relate only to the items in this table.");
    let photographs = |code: &str| {
        let runs = book.results.runs.iter().filter(|run| run.specimen == code);
        let taken = runs.flat_map(|run| &run.observations).filter(|seen| seen.photograph);
        taken.map(|seen| book.free(&seen.written)).collect::<Vec<_>>().join(", ")
    };
    let runs = |code: &str| {
        let runs = book.plan.runs.iter().filter(|run| run.specimen == code);
        runs.map(|run| run.code.as_str()).collect::<Vec<_>>().join(", ")
    };
    let role = |reference: bool| if reference { "reference" } else { "under test" }.to_owned();
    let or_nothing = |text: String| if text.is_empty() { say::NOTHING.to_owned() } else { text };
    if book.hidden() {
        let mut table = Table::new(
            "Specimens by code; models, lots and places of purchase are hidden",
            &["Specimen", "Role", "Runs", "Photographs"],
        );
        // By their codes: the order of the register may follow the models.
        let mut specimens: Vec<_> = campaign.specimens.values().collect();
        specimens.sort_by(|a, b| a.code.cmp(&b.code));
        for specimen in specimens {
            table.row([
                specimen.code.clone(),
                role(specimen.reference),
                or_nothing(runs(&specimen.code)),
                or_nothing(photographs(&specimen.code)),
            ]);
        }
        section.table(table);
        return section;
    }
    let mut table = Table::new(
        "Specimens and what they are",
        &["Specimen", "Model", "What it is", "Lot", "Bought", "Role", "Runs", "Photographs"],
    );
    for specimen in campaign.specimens.values() {
        let model = specimen.model.as_ref().and_then(|model| campaign.models.get(model));
        table.row([
            specimen.code.clone(),
            or_nothing(specimen.model.clone().unwrap_or_default()),
            or_nothing(model.map(|model| model.title.clone()).unwrap_or_default()),
            or_nothing(specimen.lot.clone().unwrap_or_default()),
            or_nothing(specimen.bought.clone().unwrap_or_default()),
            role(specimen.reference),
            or_nothing(runs(&specimen.code)),
            or_nothing(photographs(&specimen.code)),
        ]);
    }
    section.table(table);
    let counted: Vec<String> = campaign
        .models
        .values()
        .filter_map(|model| {
            let of = campaign.specimens.values().filter(|specimen| specimen.model.as_ref() == Some(&model.name));
            let count = of.count();
            (count > 0).then(|| format!("{} of {}", say::count(count, "specimen", "specimens"), model.name))
        })
        .collect();
    section.says(format!("{}.", say::listed(&counted)));
    section
}
