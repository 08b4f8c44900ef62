//! By-pass valve, anti-drain valve, seams: each specimen's values.

use indexmap::IndexMap;

use super::super::page::Table;
use super::super::plot;
use super::{Book, Section, remarks, say};
use crate::results::{MechanicalResult, RunResults};

pub(super) fn mechanics(book: &Book<'_>) -> Section {
    let mut section = Section::new("mechanics", "By-pass, drain-back and seams");
    let mut by_key: IndexMap<(usize, &str), Vec<(&RunResults, &MechanicalResult)>> = IndexMap::new();
    for run in &book.results.runs {
        for result in &run.mechanics {
            by_key.entry((run.test, result.key.as_str())).or_default().push((run, result));
        }
    }
    for (number, of) in by_key.values().enumerate() {
        let Some((_, first)) = of.first() else { continue };
        section.heading(first.title.clone());
        let curves: Vec<(String, &MechanicalResult)> = of
            .iter()
            .filter(|(_, result)| result.curve.len() > 1)
            .map(|(run, result)| (book.run_head(run), *result))
            .collect();
        section.picture(
            plot::bypass(&format!("bypass-{}", number + 1), &curves),
            "Flow through the by-pass against differential pressure; one line a specimen",
        );
        let unit = if first.unit.dimension.is_none() && first.unit.to_string().is_empty() {
            String::new()
        } else {
            format!(", {}", first.unit)
        };
        let mut table = Table::new(
            format!("{}{unit}", first.title),
            &["Specimen", "Run", "#Result with 95 % interval", "Single values", "#Readings"],
        );
        let mut reasons = say::Reasons::default();
        for (run, result) in of {
            let mut values: Vec<String> =
                result.values.iter().map(|(_, si)| say::number(result.unit.from_si_difference(*si), 4)).collect();
            let count = values.len();
            if count > 12 {
                values.truncate(12);
                values.push("…".to_owned());
            }
            let values = if values.is_empty() { say::NOTHING.to_owned() } else { values.join("; ") };
            table.row([
                book.specimen(&run.specimen),
                run.code.clone(),
                reasons.cell(&result.outcome, &result.unit),
                values,
                count.to_string(),
            ]);
        }
        table.notes = reasons.notes();
        section.table(table);
        remarks(&mut section, book, of.iter().map(|(run, result)| (book.run_head(run), result.remarks.as_slice())));
    }
    section
}
