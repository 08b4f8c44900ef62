//! Dust given until the pressure had risen far enough, and where the dust went.

use indexmap::IndexSet;

use super::super::page::Table;
use super::super::plot;
use super::{Book, COLUMNS, Section, remarks, say};
use crate::results::{LoadingResult, RunResults};

type Loaded<'b> = (&'b RunResults, &'b LoadingResult);

pub(super) fn loading(book: &Book<'_>) -> Section {
    let mut section = Section::new("loading", "Dust holding");
    for (index, test) in book.plan.tests.iter().enumerate() {
        let runs = book.results.runs.iter().filter(|run| run.test == index);
        let of: Vec<Loaded<'_>> = runs.filter_map(|run| run.loading.as_ref().map(|loading| (run, loading))).collect();
        let Some((_, first)) = of.first() else { continue };
        section.heading(test.title.clone());
        section.says(format!(
            "Capacity is the dust given when the differential pressure had risen by {} above that of the clean specimen. It is read between \
             two doses, and it is dust given, not dust held: what was held stands in the ledger below.",
            say::value_in(first.terminal, &first.unit, 3)
        ));
        let lines: Vec<(String, &LoadingResult)> =
            of.iter().map(|(run, loading)| (book.run_head(run), *loading)).collect();
        section.picture(
            plot::loading(&format!("loading-{}", index + 1), &test.title, &lines),
            "Rise of differential pressure against dust given: one mark a dose, one line a specimen",
        );
        capacities(&mut section, book, &of);
        for part in of.chunks(COLUMNS) {
            ledger(&mut section, book, part);
        }
        remarks(&mut section, book, of.iter().map(|(run, loading)| (book.run_head(run), loading.remarks.as_slice())));
    }
    section
}

fn capacities(section: &mut Section, book: &Book<'_>, of: &[Loaded<'_>]) {
    let Some((_, first)) = of.first() else { return };
    let mut table = Table::new(
        format!("Dust given at the terminal rise, {}, with its 95 % interval", first.mass_unit),
        &["Specimen", "Run", "#Capacity", "Between doses", "#Doses", "#Clean pressure", "#Last rise", "Stepped back"],
    );
    let mut reasons = say::Reasons::default();
    for (run, loading) in of {
        let mass = |si: f64| say::number(loading.mass_unit.from_si_difference(si), 4);
        let between = loading.between.map(|(low, high)| format!("{} to {}", mass(low), mass(high)));
        let last = loading.points.last().map(|point| say::value_in(point.rise, &loading.unit, 3));
        let nothing = || say::NOTHING.to_owned();
        table.row([
            book.specimen(&run.specimen),
            run.code.clone(),
            reasons.cell(&loading.capacity, &loading.mass_unit),
            between.unwrap_or_else(nothing),
            loading.points.len().to_string(),
            loading.baseline.map_or_else(nothing, |clean| say::value_in(clean, &loading.unit, 3)),
            last.unwrap_or_else(nothing),
            if loading.stepped_back { "yes: a by-pass that opens, or a tear" } else { "no" }.to_owned(),
        ]);
    }
    table.notes = reasons.notes();
    section.table(table);
}

/// Where the dust went: one column a run.
fn ledger(section: &mut Section, book: &Book<'_>, of: &[Loaded<'_>]) {
    let Some((_, first)) = of.first() else { return };
    let lines: IndexSet<&str> =
        of.iter().flat_map(|(_, loading)| &loading.ledger.lines).map(|line| line.what.as_str()).collect();
    let heads = of.iter().map(|(run, _)| format!("#{}", book.run_head(run)));
    let mut table =
        Table::of(format!("Where the dust went, {}", first.mass_unit), std::iter::once("What".to_owned()).chain(heads));
    for what in lines {
        let cell = |loading: &LoadingResult| {
            let of: Vec<_> = loading.ledger.lines.iter().filter(|line| line.what == what).collect();
            if of.is_empty() {
                return say::NOTHING.to_owned();
            }
            let (mass, doubt) = (
                of.iter().map(|line| line.mass).sum::<f64>(),
                of.iter().fold(0.0_f64, |sum, line| sum.hypot(line.doubt)),
            );
            let at = |si: f64| loading.mass_unit.from_si_difference(si);
            format!("{} (u {})", say::number(at(mass), 4), say::number(at(doubt), 2))
        };
        table.row(std::iter::once(book.free(what)).chain(of.iter().map(|(_, loading)| cell(loading))));
    }
    let mut reasons = say::Reasons::default();
    let totals: [(&str, fn(&LoadingResult) -> &crate::results::Outcome); 4] = [
        ("Given in all", |loading| &loading.ledger.given),
        ("Retained by the specimen, from what was given and what got away", |loading| &loading.ledger.retained),
        ("Gain of the specimen, by weighing", |loading| &loading.ledger.gain),
        ("Closure: retained less gain", |loading| &loading.ledger.closure),
    ];
    for (what, total) in totals {
        let cells = of.iter().map(|(_, loading)| reasons.cell(total(loading), &loading.mass_unit));
        table.row(std::iter::once(what.to_owned()).chain(cells));
    }
    let closes = |loading: &LoadingResult| match loading.ledger.closes {
        Some(true) => "yes: zero lies in the interval",
        Some(false) => "NO: zero lies outside the interval",
        None => "cannot be said",
    };
    table.row(
        std::iter::once("Does the ledger close?".to_owned())
            .chain(of.iter().map(|(_, loading)| closes(loading).to_owned())),
    );
    table.notes.push("u: standard uncertainty. ±: 95 %.".to_owned());
    table.notes.extend(reasons.notes());
    section.table(table);
}
