//! Dust given until the pressure had risen far enough, and where the dust went.

use indexmap::IndexSet;

use super::super::page::Table;
use super::super::plot;
use super::{Book, Section, parted, remarks, say};
use crate::results::{DustLedger, LedgerLine, LoadingResult, Outcome, RunResults};

/// One of the ledger's totals.
type Total = fn(&LoadingResult) -> &Outcome;

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
        for part in parted(&of) {
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
    let heads = of.iter().map(|(run, _)| format!("#{}", book.run_head(run)));
    let mut table =
        Table::of(format!("Where the dust went, {}", first.mass_unit), std::iter::once("What".to_owned()).chain(heads));
    let mut reasons = say::Reasons::default();
    entries(&mut table, book, of, |ledger| &ledger.lines);
    total(&mut table, of, &mut reasons, "Given in all", |loading| &loading.ledger.given);
    entries(&mut table, book, of, |ledger| &ledger.away);
    let totals: [(&str, Total); 3] = [
        ("Retained by the specimen: given, less what got away", |loading| &loading.ledger.retained),
        ("Gain of the specimen, by weighing", |loading| &loading.ledger.gain),
        ("Closure: given, less what got away and the gain; what is still in the oil is in it", |loading| {
            &loading.ledger.closure
        }),
    ];
    for (what, of_one) in totals {
        total(&mut table, of, &mut reasons, what, of_one);
    }
    let closes = |loading: &LoadingResult| match (loading.ledger.closes, loading.ledger.closure.known()) {
        (Some(true), _) => "yes: zero lies in the interval",
        (Some(false), Some(closure)) if closure.value > 0.0 => "NO: dust is missing, or still in the oil",
        (Some(false), _) => "NO: the specimen gained more than it was given",
        (None, _) => "cannot be said",
    };
    table.row(
        std::iter::once("Does the ledger close?".to_owned())
            .chain(of.iter().map(|(_, loading)| closes(loading).to_owned())),
    );
    table.notes.push(
        "u: standard uncertainty. ±: 95 %. Behind a semicolon: the numbers for the gaps (…) in the row's head."
            .to_owned(),
    );
    table.notes.extend(reasons.notes());
    section.table(table);
}

/// The lines of all accounts that lie on one side, one row for each.
fn entries(table: &mut Table, book: &Book<'_>, of: &[Loaded<'_>], side: fn(&DustLedger) -> &Vec<LedgerLine>) {
    let lines = of.iter().flat_map(|(_, loading)| side(&loading.ledger));
    let rows: IndexSet<String> = lines.map(|line| gaps(&line.what).0).collect();
    for what in rows {
        let cell = |loading: &LoadingResult| {
            let of = side(&loading.ledger).iter().map(|line| (line, gaps(&line.what)));
            let of: Vec<_> = of.filter(|(_, (row, _))| *row == what).collect();
            let (mass, doubt) =
                of.iter().fold((0.0, 0.0_f64), |(mass, doubt), (line, _)| (mass + line.mass, doubt.hypot(line.doubt)));
            let numbers: Vec<&str> = of.iter().flat_map(|(_, (_, numbers))| numbers).map(String::as_str).collect();
            let counted = if numbers.is_empty() { String::new() } else { format!("; {}", numbers.join(", ")) };
            let doubted = say::number(loading.mass_unit.from_si_difference(doubt), 2);
            match of.is_empty() {
                true => say::NOTHING.to_owned(),
                false => format!("{} (u {doubted}){counted}", say::by(mass, doubt, &loading.mass_unit)),
            }
        };
        table.row(std::iter::once(book.free(&what)).chain(of.iter().map(|(_, loading)| cell(loading))));
    }
}

fn total(table: &mut Table, of: &[Loaded<'_>], reasons: &mut say::Reasons, what: &str, of_one: Total) {
    let cells = of.iter().map(|(_, loading)| reasons.cell(of_one(loading), &loading.mass_unit));
    table.row(std::iter::once(what.to_owned()).chain(cells));
}

/// A line's words with a gap for each number in them, so that the lines of several runs stand in one row; and the numbers.
fn gaps(what: &str) -> (String, Vec<String>) {
    let (mut words, mut numbers) = (String::new(), Vec::new());
    let mut number = String::new();
    for character in what.chars().chain(['\0']) {
        if character.is_ascii_digit() {
            number.push(character);
            continue;
        }
        if !number.is_empty() {
            words.push('…');
            numbers.push(std::mem::take(&mut number));
        }
        if character != '\0' {
            words.push(character);
        }
    }
    (words, numbers)
}
