//! What shows that the bench was fit: relief, tare, blanks, clean-up, and instruments in date.

use super::super::page::Table;
use super::{Book, Section, say};
use crate::plan::{Action, Stage, Test};

pub(super) fn qualification(book: &Book<'_>) -> Section {
    let mut section = Section::new("qualification", "Qualification and instruments");
    let relief = &book.plan.rig.relief;
    let proved = relief
        .proved_on
        .as_ref()
        .map_or_else(|| "not proved: no date is given".to_owned(), |date| format!("proved on {date}"));
    section.facts(vec![("Relief valve".to_owned(), format!("set at {}, {proved}", say::quantity(&relief.set)))]);
    stages(&mut section, book);
    instruments(&mut section, book);
    section
}

fn stages(section: &mut Section, book: &Book<'_>) {
    let mut table =
        Table::new("Work of each test that qualifies it", &["Test", "Stage", "What it shows", "#Runs with readings"]);
    for (index, test) in book.plan.tests.iter().enumerate() {
        for (place, stage) in test.stages.iter().enumerate() {
            if let Some(shows) = shows(test, place, stage) {
                table.row([test.title.clone(), stage.title.clone(), shows, recorded(book, index, stage)]);
            }
        }
    }
    section.table(table);
}

/// What a stage qualifies.
fn shows(test: &Test, place: usize, stage: &Stage) -> Option<String> {
    if let Some(adaptor) = &stage.tare_for {
        return Some(format!("the tare of {}, taken off later", adaptor.replace('-', " ")));
    }
    if test.stages.iter().any(|other| other.tare.as_deref() == Some(stage.name.as_str())) {
        return Some("the tare of housing and adaptor, taken off later".to_owned());
    }
    if let Some(blank) = &stage.blank {
        return Some(format!("a blank, {blank}"));
    }
    let steps = test.steps.iter().filter(|step| step.stage == place);
    let mut targets = steps.filter_map(|step| match &step.action {
        Action::CleanUp(clean) => clean.background.clone(),
        _ => None,
    });
    targets.next().map(|code| format!("clean-up of the oil to {code}"))
}

/// In how many runs something of a stage was recorded, of those that were begun.
fn recorded(book: &Book<'_>, test: usize, stage: &Stage) -> String {
    let runs: Vec<_> = book.results.runs.iter().filter(|run| run.test == test).collect();
    let begun = runs.iter().filter(|run| run.course != crate::results::Course::NotBegun).count();
    let with = runs.iter().filter(|run| {
        run.restrictions
            .iter()
            .any(|result| result.tare.is_some() && tare_of(book, test, &result.stage) == Some(stage.name.as_str()))
    });
    match with.count() {
        0 => format!("{begun} begun"),
        with => format!("{with} of {begun}"),
    }
}

/// The stage whose tare a stage takes off.
fn tare_of<'b>(book: &'b Book<'_>, test: usize, stage: &str) -> Option<&'b str> {
    let stages = &book.plan.tests.get(test)?.stages;
    stages.iter().find(|other| other.name == stage)?.tare.as_deref()
}

fn instruments(section: &mut Section, book: &Book<'_>) {
    let mut dates: Vec<&str> =
        book.results.runs.iter().map(|run| run.date.as_str()).filter(|date| !date.is_empty()).collect();
    dates.sort_unstable();
    let (first, last) = (dates.first().copied(), dates.last().copied());
    let mut table = Table::new(
        "Instruments, how far each may be off, and until when its calibration holds",
        &["Instrument", "Reads", "Range", "Finest step", "Accuracy", "#Calibrated", "#Due", "Certificate"],
    );
    let nothing = || say::NOTHING.to_owned();
    for instrument in book.plan.instruments.values().filter(|instrument| !instrument.is_role) {
        let (on, due, certificate) = match (&instrument.calibration, &instrument.indicator_only) {
            (Some(calibration), _) => {
                let out = last.is_some_and(|last| last > calibration.valid_until.as_str())
                    || first.is_some_and(|first| first < calibration.on.as_str());
                let due = if out {
                    format!("{}, PASSED [1]", calibration.valid_until)
                } else {
                    calibration.valid_until.clone()
                };
                (calibration.on.clone(), due, calibration.certificate.clone().unwrap_or_else(nothing))
            }
            (None, Some(why)) => (nothing(), nothing(), format!("indicator only: {why}")),
            (None, None) => ("not said".to_owned(), nothing(), nothing()),
        };
        table.row([
            format!("{} ({})", instrument.title, instrument.name),
            instrument.measures.words().to_owned(),
            say::bounds(&instrument.range),
            say::quantity(&instrument.resolution),
            say::accuracy(&instrument.accuracy),
            on,
            due,
            certificate,
        ]);
    }
    if table.rows.iter().any(|row| row.cells.iter().any(|cell| cell.contains("[1]"))) {
        table.notes.push("[1] Not in date on every day of the runs.".to_owned());
    }
    if let (Some(first), Some(last)) = (first, last) {
        table.notes.push(format!("The runs were recorded from {first} to {last}."));
    }
    section.table(table);
}
