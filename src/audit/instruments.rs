//! What was read with what: the unit cell, the instrument cell, and whether the instrument's calibration was valid.

use indexmap::IndexMap;

use super::log::{Filled, Log, Slot};
use super::measure;
use super::say::{CORRECT_IT, Finding, at_slot};
use crate::diagnostic::{Code, Severity};
use crate::plan::Numeric;
use crate::quantity::Unit;
use crate::record::{Column, Value, day_number};

/// Findings about the units and instruments of a run.
pub(super) fn findings(log: &Log<'_>, found: &mut Vec<Finding>) {
    for slot in &log.slots {
        let (Some(numeric), Some(row)) = (slot.numeric(), slot.current()) else { continue };
        if matches!(row.value(), Value::Empty | Value::NotDone) {
            continue;
        }
        found.extend(unit(log, slot, numeric, row));
        found.extend(instrument(log, slot, numeric, row));
    }
    calibrations(log, found);
}

fn unit(log: &Log<'_>, slot: &Slot<'_>, numeric: &Numeric, row: Filled<'_>) -> Option<Finding> {
    let written = row.text(Column::Unit);
    let planned = &numeric.unit;
    let subject = format!("run {}, step {}, {}", log.run.code, slot.step.number, slot.reading.label);
    if written == planned.text {
        return None;
    }
    if written.is_empty() {
        let message = format!("{subject}: no unit is written; {planned} is taken, as planned");
        return Some(at_slot(log, slot, Column::Unit, Code::WrongUnit, message, "empty").severity(Severity::Minor));
    }
    let value = row.text(Column::Value);
    let Some(unit) = measure::unit_like(written, planned) else {
        let message = format!("{subject}: the unit is `{written}`, the plan's is {planned}");
        let help = match Unit::parse(written) {
            Ok(_) => {
                format!("`{written}` measures something else than {planned}. Was the value written in the wrong row?")
            }
            Err(problem) => format!("{problem}. The value is taken in {planned} until it is corrected."),
        };
        return Some(at_slot(log, slot, Column::Unit, Code::WrongUnit, message, "written").help(help));
    };
    if measure::same_numbers(&unit, planned) {
        return None;
    }
    let message = format!("{subject}: the value is in {unit}, the plan's unit is {planned}");
    let finding = at_slot(log, slot, Column::Unit, Code::WrongUnit, message, "written");
    let Some(si) = slot.si().filter(|si| si.is_finite()) else { return Some(finding) };
    let bounds = numeric.window.or(numeric.expect);
    let converted = measure::text(planned, si, numeric.decimals);
    let fits = bounds.map(|window| {
        let inside = if window.contains(si) { "inside" } else { "outside" };
        format!(", {inside} {}", measure::window(&window, planned, numeric.decimals))
    });
    let help =
        format!("{value} {unit} is {converted}{}. If that is what was read, {CORRECT_IT}.", fits.unwrap_or_default());
    Some(finding.help(help))
}

fn instrument(log: &Log<'_>, slot: &Slot<'_>, numeric: &Numeric, row: Filled<'_>) -> Option<Finding> {
    let planned = numeric.instrument.as_deref()?;
    let written = row.text(Column::Instrument);
    if written.eq_ignore_ascii_case(planned) {
        return None;
    }
    let subject = format!("run {}, step {}, {}", log.run.code, slot.step.number, slot.reading.label);
    if written.is_empty() {
        let message = format!("{subject}: no instrument is named, the plan's is `{planned}`");
        return Some(
            at_slot(log, slot, Column::Instrument, Code::WrongInstrument, message, "empty").severity(Severity::Minor),
        );
    }
    let message = format!("{subject}: read with `{written}`, the plan's instrument is `{planned}`");
    let finding = at_slot(log, slot, Column::Instrument, Code::WrongInstrument, message, "written");
    let known = log.plan.instruments.get(written);
    Some(match known {
        None => {
            let nearest = log.plan.instruments.keys().find(|name| strsim::damerau_levenshtein(name, written) <= 1);
            finding.help(match nearest {
                Some(name) => format!("If it is `{name}`, write that."),
                None => "It is not among the instruments of this bench. Describe it in the rig's file, with its calibration, or correct the cell.".to_owned(),
            })
        }
        Some(instrument) if instrument.measures != numeric.measures => finding.help(format!(
            "`{written}` measures {}, not {}. Was the row's neighbour meant?",
            instrument.measures.words(),
            numeric.measures.words()
        )),
        Some(instrument) => {
            let range = measure::window(&instrument.range.window, &instrument.unit, instrument.decimals);
            finding
                .also(instrument.origin.source, instrument.origin.span, "the one that was read")
                .help(format!("`{written}` reads {range} in steps of {}. If it was read on purpose, say why in the note; the result's uncertainty is then this instrument's.", instrument.resolution))
        }
    })
}

/// Instruments that were read outside the time for which they are calibrated: one finding each.
fn calibrations(log: &Log<'_>, found: &mut Vec<Finding>) {
    let mut expired: IndexMap<&str, (&Slot<'_>, usize)> = IndexMap::new();
    let starts = log.plan.campaign.starts.as_deref().and_then(day_number);
    for slot in &log.slots {
        let (Some(numeric), Some(row), Some(time)) = (slot.numeric(), slot.current(), slot.time()) else { continue };
        let written = row.text(Column::Instrument);
        let name = log.plan.instruments.get_full(written).map(|(_, name, _)| name).or(numeric.instrument.as_ref());
        let Some(instrument) = name.and_then(|name| log.plan.instruments.get(name)) else { continue };
        let Some(calibration) = &instrument.calibration else { continue };
        let day = time.seconds.div_euclid(86_400);
        let after = day_number(&calibration.valid_until).is_some_and(|last| day > last);
        // A day before the campaign is told as that.
        let early = starts.is_some_and(|starts| day < starts);
        let before = day_number(&calibration.on).is_some_and(|first| day < first) && !early;
        if after || before {
            expired.entry(instrument.name.as_str()).or_insert((slot, 0)).1 += 1;
        }
    }
    for (name, (slot, count)) in expired {
        let Some(instrument) = log.plan.instruments.get(name) else { continue };
        let (Some(calibration), Some(time)) = (&instrument.calibration, slot.time()) else { continue };
        let readings = if count == 1 { "one reading".to_owned() } else { format!("{count} readings") };
        let message = format!(
            "run {}: {readings} with `{name}`, the first on {}; it is calibrated from {} to {}",
            log.run.code,
            time.date(),
            calibration.on,
            calibration.valid_until
        );
        let finding = at_slot(log, slot, Column::Time, Code::CalibrationExpired, message, "the first of them")
            .also(instrument.origin.source, instrument.origin.span, "its calibration")
            .help("Have it calibrated before it is adjusted: if it is found within its accuracy, the readings can be defended, and the report says so.");
        found.push(finding);
    }
}
