//! Every run of the plan, also those that were broken off, set aside or never begun; and every cell that was left out.

use indexmap::IndexMap;

use super::super::page::Table;
use super::{Book, Section, say};
use crate::diagnostic::Severity;
use crate::results::{Course, LeftOut};

pub(super) fn runs(book: &Book<'_>) -> Section {
    let mut section = Section::new("runs", "All runs");
    section.says("Every run of the plan is in this table. None was left out, whatever it gave.");
    let mut table = Table::new(
        "Runs in their order",
        &["Run", "Date", "Test", "Specimen", "How it went", "#Critical", "#Major", "#Minor", "#Cells left out"],
    );
    for result in &book.results.runs {
        let run = book.plan.run(&result.code);
        let replicate = run.map_or(1, |run| run.replicate);
        let specimen = book.specimen(&result.specimen);
        let course = match result.course {
            Course::NotBegun => "not begun",
            Course::BrokenOff => "broken off, or not finished",
            Course::Complete => "complete",
        };
        let course = match &result.set_aside {
            Some(why) => format!("{course}; SET ASIDE: {}", book.free(why)),
            None => course.to_owned(),
        };
        let count = |severity: Severity| {
            let of = book.input.standings.iter().filter(|standing| standing.run == result.code);
            of.filter(|standing| standing.finding.severity.rank() == severity.rank()).count().to_string()
        };
        table.row([
            result.code.clone(),
            if result.date.is_empty() { say::NOTHING.to_owned() } else { result.date.clone() },
            book.test(result.test).map(|test| test.title.clone()).unwrap_or_default(),
            if replicate > 1 { format!("{specimen}, replicate {replicate}") } else { specimen },
            course,
            count(Severity::Critical),
            count(Severity::Major),
            count(Severity::Minor),
            result.left_out.len().to_string(),
        ]);
    }
    section.table(table);
    left_out(&mut section, book);
    section
}

/// Cells of one run and cause that are named one by one.
const MANY: usize = 6;

fn left_out(section: &mut Section, book: &Book<'_>) {
    let mut table =
        Table::new("Cells that were recorded and are not used", &["Run", "Reading", "As written", "Code", "Why"]);
    for run in &book.results.runs {
        let mut by_cause: IndexMap<(&str, &str), Vec<&LeftOut>> = IndexMap::new();
        for cell in &run.left_out {
            by_cause.entry((&cell.code, &cell.why)).or_default().push(cell);
        }
        for ((code, why), cells) in by_cause {
            let mut row = |reading: String, written: &str| {
                table.row([run.code.clone(), reading, book.free(written), code.to_owned(), book.free(why)]);
            };
            match cells.as_slice() {
                // One cause may take a whole sweep or run along.
                [first, .., last] if cells.len() > MANY => {
                    row(format!("{} cells, from {} to {}", cells.len(), first.reading, last.reading), say::NOTHING);
                }
                few => few.iter().for_each(|cell| row(cell.reading.clone(), &cell.written)),
            }
        }
    }
    if table.rows.is_empty() {
        section.says("Every recorded cell is used.");
    }
    section.table(table);
}
