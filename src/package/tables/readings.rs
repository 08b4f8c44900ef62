//! What was recorded: every cell of the bench, and every number of the laboratory.

use indexmap::IndexMap;

use super::super::table::{Cell, Table, link, moment, number, row, text, truth, whole};
use super::super::ucum;
use super::super::{Given, InputFile};
use super::units::Units;
use crate::audit::evidence::LEFT_OUT;
use crate::audit::log::{Filled, Log, Slot};
use crate::audit::measure;
use crate::diagnostic::Severity;
use crate::plan::Holds;
use crate::quantity::Unit;
use crate::record::laboratory::{LabFile, LabResult};
use crate::record::{Column, Side, Value};
use crate::results::LeftOut;

const BOUNDS: &[&str] = &["below", "at-most", "above", "at-least"];

pub(super) fn tables(given: &Given<'_>, units: &mut Units) -> Vec<Table> {
    let mut readings = Table::new(
        "readings",
        "Readings",
        "Every recorded cell, corrections and what they replace included: as written, and in SI. Computed results rest on the rows with used = true.",
        &["run", "reading", "entry"],
        vec![
            text("run", "Run", "").required(),
            text("test", "Test", "").required(),
            text("reading", "Reading", "Path").required(),
            whole("entry", "Entry", "From 1: a reading that was corrected has several").required().at_least(1.0),
            whole("step", "Step", "").required().at_least(1.0),
            text("value", "Value", "As written"),
            number("number", "", "Number", "The value, where it is a number"),
            text("bound", "Bound", "Set where the value is only a bound: <0.5 is below 0.5, and bound_number 0.5").one_of(BOUNDS),
            number("bound_number", "", "Bound", "Of a value that is only a bound"),
            text("unit", "Unit", "UCUM code of the unit that it was written in"),
            text("unit_written", "Unit as written", ""),
            number("si", "", "SI", "The number in coherent SI: (number + offset) × factor of the table units"),
            text("si_unit", "SI unit", "UCUM code"),
            text("instrument", "Instrument", "As written"),
            moment("time", "Time", "On the bench's own clock; no zone"),
            text("time_written", "Time as written", ""),
            text("by", "By", "Initials"),
            text("note", "Note", ""),
            text("correction", "Correction", "Why the row replaces an earlier one"),
            truth("counts", "Counts", "Whether it is the last entry of its reading"),
            truth("used", "Used", "Whether results may rest on it: it counts, no open finding bars it, and its loop of doses had not ended before"),
            text("finding", "Finding", "Code of the open finding that bars it"),
            text("why", "Why", "Why it is not used though it counts"),
            text("file", "File", "That it stands in"),
            whole("line", "Line", "Of the file").at_least(1.0),
        ],
    )
    .links(&[
        link(&["run"], "runs", &["run"]),
        link(&["test", "reading"], "planned_readings", &["test", "reading"]),
        link(&["unit"], "units", &["unit"]),
        link(&["file"], "inputs", &["file"]),
    ]);
    let mut strays = Table::new(
        "unplaced",
        "Rows without a place",
        "Recorded rows that name no run or no reading of the plan. Nothing rests on them.",
        &["number"],
        vec![
            whole("number", "Number", "From 1").required().at_least(1.0),
            text("run", "Run", "As written"),
            text("reading", "Reading", "As written"),
            text("value", "Value", "As written"),
            text("unit", "Unit", "As written"),
            text("time", "Time", "As written"),
            text("by", "By", "As written"),
            text("file", "File", ""),
            whole("line", "Line", "").at_least(1.0),
        ],
    )
    .links(&[link(&["file"], "inputs", &["file"])]);
    let stray = |table: &mut Table, filled: Filled<'_>| {
        let said = |column: Column| filled.text(column);
        let number = table.rows.len() + 1;
        let (file, line) = (file(given, &filled.record.name), filled.row.line);
        let [run, reading, value] = [Column::Run, Column::Reading, Column::Value].map(said);
        let [unit, time, by] = [Column::Unit, Column::Time, Column::By].map(said);
        table.rows.push(row![number, run, reading, value, unit, time, by, file, line]);
    };
    for log in Log::all(given.plan, given.records) {
        let run = log.run;
        let found = given.results.runs.iter().find(|found| found.code == run.code);
        let left_out = found.map_or(&[][..], |found| &found.left_out);
        let mut entries: IndexMap<&str, u32> = IndexMap::new();
        for filled in log.rows.iter().filter(|filled| filled.row.is_filled()) {
            let path = filled.text(Column::Reading);
            let Some(slot) = log.find_exactly(path) else {
                stray(&mut strays, *filled);
                continue;
            };
            let entry = entries.entry(slot.reading.path.as_str()).or_default();
            *entry += 1;
            let last = slot.rows.last().is_some_and(|last| std::ptr::eq(last.row, filled.row));
            readings.rows.push(reading(given, &log, slot, *filled, *entry, last, left_out, units));
        }
    }
    let known = |code: &str| given.plan.run(code).is_some();
    for record in given.records {
        for row in record.rows.iter().filter(|row| row.is_filled() && !known(row.text(Column::Run))) {
            stray(&mut strays, Filled { record, row });
        }
    }
    vec![readings, strays, laboratory(given, units)]
}

/// The input that something was read from, by its place in the package; by its own name where its bytes were not given. What
/// was read of a sheet or a part of it has that in brackets behind the file's name.
pub(super) fn file<'a>(given: &Given<'a>, shown: &'a str) -> &'a str {
    let whole = |input: &&InputFile| {
        shown.strip_prefix(input.shown.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with(" ("))
    };
    given.inputs.iter().find(whole).map_or(shown, |input| input.path.as_str())
}

#[expect(clippy::too_many_arguments, reason = "a row of a table is made of what surrounds it")]
fn reading(
    given: &Given<'_>,
    log: &Log<'_>,
    slot: &Slot<'_>,
    filled: Filled<'_>,
    entry: u32,
    last: bool,
    left_out: &[LeftOut],
    units: &mut Units,
) -> Vec<Cell> {
    let (mut number, mut bound, mut bound_number) = (None, None, None);
    match filled.value() {
        Value::Number(read) => number = Some(read.value),
        Value::Censored(side, read) => {
            bound = Some(match side {
                Side::Below => "below",
                Side::AtMost => "at-most",
                Side::Above => "above",
                Side::AtLeast => "at-least",
            });
            bound_number = Some(read.value);
        }
        _ => {}
    }
    let written = filled.text(Column::Unit);
    let unit: Option<Unit> = slot.numeric().map(|numeric| {
        let planned = &numeric.unit;
        if written == planned.text {
            return planned.clone();
        }
        measure::unit_like(written, planned).unwrap_or_else(|| planned.clone())
    });
    let si = unit.as_ref().zip(number).map(|(unit, number)| measure::to_si(unit, number));
    let barred = left_out.iter().find(|left| last && left.reading == slot.reading.path);
    // Rounds after the one that ended their loop are told, and no result rests on them.
    let ended = last && log.is_left_out(slot.step);
    let used = last && slot.is_recorded() && barred.is_none() && !ended;
    let why = barred.map(|left| left.why.as_str());
    let why = why.or_else(|| ended.then_some("its loop of doses had ended before"));
    let (number, si) = (number.map(Cell::from), si.map(Cell::from));
    row![
        &log.run.code,
        &log.test.name,
        &slot.reading.path,
        entry,
        slot.step.number,
        filled.text(Column::Value),
        number.unwrap_or(Cell::Empty),
        bound,
        bound_number,
        unit.as_ref().and_then(|unit| units.code(unit)),
        written,
        si.unwrap_or(Cell::Empty),
        unit.as_ref().and_then(ucum::coherent),
        filled.text(Column::Instrument),
        filled.time().map(|time| time.text().replace(' ', "T")),
        filled.text(Column::Time),
        filled.text(Column::By),
        filled.text(Column::Note),
        filled.text(Column::Correction),
        last,
        used,
        barred.map(|left| left.code.as_str()),
        why,
        file(given, &filled.record.name),
        filled.row.line
    ]
}

fn laboratory(given: &Given<'_>, units: &mut Units) -> Table {
    let mut table = Table::new(
        "laboratory",
        "The laboratory's results",
        "Every cell of the laboratory's files that the plan's layout gives a meaning, one row each. Counts are at this size and above where cumulative is true.",
        &["file", "line", "holds"],
        vec![
            text("file", "File", "").required(),
            whole("line", "Line", "Of the file").required().at_least(1.0),
            text("bottle", "Bottle", "Label as the laboratory writes it"),
            text("holds", "Holds", "`count at 10 µm(c)`, `counted volume`, `dilution`, `code`, …").required(),
            number("size", "m", "Size", "Of a count").at_least(0.0),
            text("value", "Value", "As written"),
            number("number", "", "Number", "The value, where it is a number"),
            text("unit", "Unit", "UCUM code, where the number has one"),
            truth("cumulative", "Cumulative", "Of a count: whether larger particles are in it"),
            truth("dilution_applied", "Dilution applied", "Whether the laboratory has multiplied its counts by the dilution"),
            truth("used", "Used", "Whether results may rest on the row: no open finding bars it"),
            text("finding", "Finding", "Code of the finding that bars it"),
        ],
    )
    .links(&[link(&["unit"], "units", &["unit"]), link(&["file"], "inputs", &["file"])]);
    for lab in given.laboratory {
        let name = file(given, &lab.name);
        let basis = Unit::parse(&lab.counts.basis).ok().and_then(|unit| units.code(&unit));
        let applied = lab.counts.dilution_applied.unwrap_or(false);
        for result in &lab.results {
            let barred = barred(given, lab, result);
            let (used, finding) = (barred.is_none(), barred.unwrap_or_default());
            for count in &result.counts {
                let number = count.value.number().map(|number| number.value);
                table.rows.push(row![
                    name,
                    result.line,
                    result.label(),
                    format!("count at {}", count.words),
                    count.size,
                    count.cell.text.trim(),
                    number,
                    basis.clone(),
                    lab.counts.cumulative,
                    applied,
                    used,
                    finding
                ]);
            }
            for (holds, cell) in &result.others {
                let Some((_, kind)) = Holds::WORDS.iter().find(|(words, _)| words == holds) else { continue };
                if matches!(kind, Holds::Label) || cell.text.trim().is_empty() {
                    continue;
                }
                let unit = match kind {
                    Holds::CountedVolume => Unit::parse("mL").ok(),
                    Holds::Gravimetric => Unit::parse("mg/L").ok(),
                    _ => None,
                };
                let number = lab.number(result, kind);
                table.rows.push(row![
                    name,
                    result.line,
                    result.label(),
                    *holds,
                    None::<f64>,
                    cell.text.trim(),
                    number,
                    unit.and_then(|unit| units.code(&unit)),
                    lab.counts.cumulative,
                    applied,
                    used,
                    finding
                ]);
            }
        }
    }
    table
}

/// Code of the finding that keeps a bottle's row out of the results: open and critical or major, or answered by leaving it out.
fn barred(given: &Given<'_>, lab: &LabFile, result: &LabResult) -> Option<&'static str> {
    let found = given.standings.iter().find(|standing| {
        let out = standing.answer.as_ref().is_some_and(|answer| answer.answer == LEFT_OUT);
        let severe = matches!(standing.finding.severity, Severity::Critical | Severity::Major);
        let here = standing.finding.primary().is_some_and(|place| {
            place.source == lab.source && result.span.start <= place.span.start && place.span.start <= result.span.end
        });
        here && (out || (standing.answer.is_none() && severe))
    });
    found.map(|standing| standing.finding.code.id())
}
