//! Where the doubt of every headline number comes from.

use indexmap::IndexMap;

use super::super::page::Table;
use super::{Book, Section, say};
use crate::results::{Entry, Estimate, Measurand};
use crate::trade::uncertainty::Shape;

/// Specimens beside each other in one table.
const BESIDE: usize = 4;

pub(super) fn budgets(book: &Book<'_>) -> Section {
    let mut section = Section::new("uncertainty", "Uncertainty");
    let known: Vec<&Measurand> = book
        .results
        .measurands
        .iter()
        .filter(|measurand| measurand.entries.iter().any(|entry| entry.outcome.known().is_some()))
        .collect();
    if known.is_empty() {
        return section;
    }
    section.says(
        "For each source: its standard contribution to the result, and in brackets its share of the combined variance. A shared error \
         stands in several results alike and cancels, as far as it does, where two are compared.",
    );
    section.heading("What is not included");
    section.list(
        [
            "From lot to lot: the cans of one purchase may be more alike than those of a year.",
            "From specimen to specimen, where one can of a model was tested: the interval is that of this can's result, not of the model's.",
            "Ageing of medium, seals and springs; heat, cold, vibration and pulses in service.",
            "The dust and the oil of service: both were chosen for the bench.",
            "What another bench would find: nobody has repeated these runs elsewhere.",
        ]
        .map(str::to_owned)
        .to_vec(),
    );
    for measurand in known {
        section.heading(book.free(&measurand.title));
        let entries: Vec<(&Entry, &Estimate)> =
            measurand.entries.iter().filter_map(|entry| Some((entry, entry.outcome.known()?))).collect();
        for part in entries.chunks(BESIDE) {
            table(&mut section, book, measurand, part);
        }
    }
    section
}

fn table(section: &mut Section, book: &Book<'_>, measurand: &Measurand, part: &[(&Entry, &Estimate)]) {
    let unit = &measurand.unit;
    let heads = part.iter().map(|(entry, _)| format!("#{}", book.specimen(&entry.specimen)));
    let label = unit.to_string();
    let label = if label.is_empty() { String::new() } else { format!(", {label}") };
    let mut table = Table::of(
        format!("{}: sources of doubt{label}", book.free(&measurand.title)),
        ["Source", "Law", "Shared"].map(str::to_owned).into_iter().chain(heads),
    );
    // A source by its name and whether it is shared; its parts in one result are added up.
    let mut rows: IndexMap<(&str, bool), Vec<(f64, Option<Shape>)>> = IndexMap::new();
    for (place, (_, estimate)) in part.iter().enumerate() {
        for source in &estimate.sources {
            let row = rows
                .entry((source.name.as_str(), source.shared.is_some()))
                .or_insert_with(|| vec![(0.0, None); part.len()]);
            if let Some(cell) = row.get_mut(place) {
                *cell = (cell.0.hypot(source.contribution), Some(source.shape));
            }
        }
    }
    for ((name, shared), cells) in &rows {
        let mut laws: Vec<String> = Vec::new();
        for (_, shape) in cells {
            let law = shape.map(law).unwrap_or_default();
            if !law.is_empty() && !laws.contains(&law) {
                laws.push(law);
            }
        }
        let laws = if laws.len() > 2 { "scatter, known from few readings".to_owned() } else { laws.join("; ") };
        let shared = if *shared { "yes" } else { "no" }.to_owned();
        let told = cells.iter().zip(part).map(|((contribution, shape), (_, estimate))| {
            if shape.is_none() {
                return say::NOTHING.to_owned();
            }
            let share = if estimate.standard > 0.0 { (contribution / estimate.standard).powi(2) * 100.0 } else { 0.0 };
            let share = if share > 0.0 && share < 1.0 { "< 1".to_owned() } else { format!("{share:.0}") };
            format!("{} ({share} %)", say::number(unit.from_si_difference(*contribution), 2))
        });
        table.row([book.free(name), laws, shared].into_iter().chain(told));
    }
    let total = |what: &str, cell: &dyn Fn(&Estimate) -> String| {
        [what.to_owned(), String::new(), String::new()]
            .into_iter()
            .chain(part.iter().map(|(_, estimate)| cell(estimate)))
            .collect::<Vec<_>>()
    };
    table.row(total("Combined standard uncertainty", &|estimate| {
        say::number(unit.from_si_difference(estimate.standard), 2)
    }));
    table.row(total("Factor to 95 %", &|estimate| say::number(estimate.factor, 3)));
    table.row(total("Result and 95 % interval", &|estimate| say::estimate(estimate, unit)));
    section.table(table);
}

fn law(shape: Shape) -> String {
    match shape {
        Shape::Normal => "normal".to_owned(),
        Shape::Student { freedom } => format!("t, {} degrees of freedom", say::number(freedom, 2)),
        Shape::Rectangular => "rectangular".to_owned(),
    }
}
