//! Under what the values were taken: ends of scales, zeros, the oil's viscosity, valves, what the notes tell.

use indexmap::IndexMap;
use uom::si::{diffusion_coefficient::square_meter_per_second, thermodynamic_temperature::kelvin};

use super::{accuracy, is_blamed};
use crate::audit::log::{Log, Slot};
use crate::audit::measure;
use crate::audit::say::{CORRECT_IT, Finding, at_row, at_slot};
use crate::diagnostic::Code;
use crate::plan::{Action, Instrument, Measures, Numeric, ViscosityHold, curve};
use crate::quantity::si::Temperature;
use crate::record::Column;

pub(super) fn findings(log: &Log<'_>, found: &mut Vec<Finding>) {
    scales(log, found);
    zeros(log, found);
    oil(log, found);
    valves(log, found);
    relief(log, found);
    notes(log, found);
}

fn instrument_of<'p>(log: &'p Log<'_>, numeric: &Numeric) -> Option<&'p Instrument> {
    measure::instrument(log.plan, numeric).filter(|instrument| !instrument.is_role)
}

fn subject(log: &Log<'_>, slot: &Slot<'_>) -> String {
    format!("run {}, step {}, {}", log.run.code, slot.step.number, slot.reading.label)
}

/// A gauge at its stop; a set value at the very edge of its window; a value hardly above its instrument's accuracy.
fn scales(log: &Log<'_>, found: &mut Vec<Finding>) {
    let mut small: IndexMap<&str, (&Slot<'_>, usize)> = IndexMap::new();
    for slot in &log.slots {
        let (Some(numeric), Some(si)) = (slot.numeric(), slot.si()) else { continue };
        let Some(instrument) = instrument_of(log, numeric) else { continue };
        if is_blamed(slot, found) {
            continue;
        }
        let doubt = accuracy(instrument, si);
        let range = instrument.range.window;
        let shown = measure::window(&range, &instrument.unit, instrument.decimals);
        let value = measure::text(&numeric.unit, si, numeric.decimals);
        if let Some(window) = numeric.window {
            if let (Some(low), Some(high)) = (window.low, window.high)
                && doubt > 0.0
                && doubt <= 0.25 * (high - low)
                && !matches!(slot.step.action, Action::Zero { .. })
                && (si - low < doubt || high - si < doubt)
                && window.contains(si)
            {
                let message = format!(
                    "{}: {value} is inside {} by less than the {} that `{}` may be off",
                    subject(log, slot),
                    measure::window(&window, &numeric.unit, numeric.decimals),
                    measure::difference(&numeric.unit, doubt),
                    instrument.name
                );
                let finding = at_slot(log, slot, Column::Value, Code::OnTheFence, message, "written");
                found.push(finding.help("Nothing has to change; set it nearer to the middle the next time."));
            }
            continue;
        }
        let pressure = matches!(numeric.measures, Measures::DifferentialPressure | Measures::GaugePressure);
        let (Some(low), Some(high)) = (range.low, range.high) else { continue };
        let at_top = pressure && si >= high - 0.02 * (high - low);
        if at_top {
            let message = format!(
                "{}: {value} is at the upper end of `{}`, which shows {shown}",
                subject(log, slot),
                instrument.name
            );
            let finding = at_slot(log, slot, Column::Value, Code::GaugeAtStop, message, "written")
                .also(instrument.origin.source, instrument.origin.span, "its range")
                .help("The value is at least this and perhaps much more. Check the gauge's zero, and take the reading with a wider gauge.");
            found.push(finding);
        } else if numeric.measures == Measures::DifferentialPressure
            && doubt > 0.5 * si.abs()
            && log
                .test
                .stages
                .get(slot.step.stage)
                .is_some_and(|stage| stage.tare_for.is_none() && stage.tare.is_some())
        {
            small.entry(slot.reading.name.as_str()).or_insert((slot, 0)).1 += 1;
        }
    }
    for (slot, count) in small.into_values() {
        let (Some(numeric), Some(si)) = (slot.numeric(), slot.si()) else { continue };
        let Some(instrument) = instrument_of(log, numeric) else { continue };
        let more = if count > 1 { format!(", and so {} more", count - 1) } else { String::new() };
        let message = format!(
            "{}: {} with `{}`, which may be off by {}{more}",
            subject(log, slot),
            measure::text(&numeric.unit, si, numeric.decimals),
            instrument.name,
            measure::difference(&numeric.unit, accuracy(instrument, si))
        );
        let finding = at_slot(log, slot, Column::Value, Code::TooSmallForGauge, message, "the first of them");
        found.push(finding.help("A gauge of a smaller range shows it better; the result carries this uncertainty."));
    }
}

/// Zeros of one gauge before and after, each inside its window, may still lie too far apart.
fn zeros(log: &Log<'_>, found: &mut Vec<Finding>) {
    let mut last: IndexMap<&str, (&Slot<'_>, f64)> = IndexMap::new();
    for slot in &log.slots {
        let Action::Zero { instrument, within } = &slot.step.action else { continue };
        let (Some(si), false) = (slot.si(), is_blamed(slot, found)) else { continue };
        let before = last.insert(instrument.as_str(), (slot, si));
        let Some((earlier, zero)) = before.filter(|(earlier, _)| earlier.step.stage == slot.step.stage) else {
            continue;
        };
        let Some(unit) = slot.numeric().map(|numeric| &numeric.unit) else { continue };
        let moved = si - zero;
        let allowed = 1.5 * within.si_difference().abs();
        if moved.abs() <= allowed {
            continue;
        }
        let message = format!(
            "run {}: the zero of `{instrument}` moved by {} from step {} to step {}; each is within {within}, together they leave room for {}",
            log.run.code,
            measure::difference(unit, moved),
            earlier.step.number,
            slot.step.number,
            measure::difference(unit, allowed)
        );
        let mut finding = at_slot(log, slot, Column::Value, Code::ZeroMoved, message, "afterwards");
        if let Some(row) = earlier.current() {
            finding = finding.also(row.record.source, row.cell(Column::Value).span, "before");
        }
        found.push(finding.help(
            "Say in the note what moved it. The readings between carry half of it as uncertainty; or take them again.",
        ));
    }
}

/// m²/s at a temperature in K.
fn viscosity(log: &Log<'_>, fluid: &str, temperature: f64) -> Option<f64> {
    let curve = curve(log.plan.fluids.get(fluid)?).ok()?;
    let reached = curve.viscosity_at(Temperature::new::<kelvin>(temperature)).ok()?;
    Some(reached.value.get::<square_meter_per_second>())
}

/// The viscosity that was held, at the temperatures that were read; and whether the flow meter is calibrated for it.
fn oil(log: &Log<'_>, found: &mut Vec<Finding>) {
    let mut held: Option<(&ViscosityHold, Option<&str>, usize)> = None;
    let mut next = 0;
    let mut told = false;
    let mut meters: Vec<&str> = Vec::new();
    let mut fluid: Option<&str> = None;
    let mut now: Option<f64> = None;
    for slot in &log.slots {
        for step in log.test.steps.iter().take(slot.step_index + 1).skip(next) {
            match &step.action {
                Action::HoldViscosity(hold) => {
                    let by = step.readings.first().and_then(|reading| log.find_exactly(&reading.path));
                    let instrument = by.and_then(Slot::numeric).and_then(|numeric| numeric.instrument.as_deref());
                    held = Some((hold, instrument, step.stage));
                    fluid = Some(hold.fluid.as_str());
                    told = false;
                }
                Action::UseFluid { fluid: used } => fluid = Some(used.as_str()),
                Action::HoldTemperature(_) | Action::Cool { .. } | Action::ChangeFluid(_) => held = None,
                Action::Switch { on: false, .. } => {
                    held = None;
                    now = None;
                }
                _ => {}
            }
        }
        next = slot.step_index + 1;
        let (Some(numeric), Some(si)) = (slot.numeric(), slot.si()) else { continue };
        if numeric.measures == Measures::Temperature {
            let same =
                held.is_some_and(|(_, by, stage)| by == numeric.instrument.as_deref() && stage == slot.step.stage);
            if !same || is_blamed(slot, found) {
                continue;
            }
            let Some((hold, ..)) = held else { continue };
            let Some(oil) = viscosity(log, &hold.fluid, si) else { continue };
            now = Some(oil);
            if numeric.window.is_some() || told || hold.window.contains(oil) {
                continue;
            }
            told = true;
            let bounds = |si: Option<f64>| si.map_or_else(String::new, |si| format!("{:.1}", si * 1e6));
            let message = format!(
                "run {}, step {}: at {} `{}` has {:.1} mm²/s, outside the {} to {} mm²/s that are to be held",
                log.run.code,
                slot.step.number,
                measure::text(&numeric.unit, si, numeric.decimals),
                hold.fluid,
                oil * 1e6,
                bounds(hold.window.low),
                bounds(hold.window.high)
            );
            let help = format!(
                "It is off by {:.0} % of the viscosity, and about as much of a restriction that is mostly viscous. Bring the oil back and read again, or report the restriction at this viscosity.",
                (oil / hold.target - 1.0) * 100.0
            );
            found.push(at_slot(log, slot, Column::Value, Code::ViscosityLeft, message, "written").help(help));
        } else if numeric.measures == Measures::Flow
            && let (Some(oil), Some(fluid)) = (now, fluid)
            && let Some(instrument) = instrument_of(log, numeric)
            && let Some(range) = &instrument.viscosity_range
            && !range.window.contains(oil)
            && !meters.contains(&instrument.name.as_str())
        {
            meters.push(&instrument.name);
            let message = format!(
                "run {}, step {}: `{fluid}` has {:.1} mm²/s here, and `{}` is calibrated for other viscosities",
                log.run.code,
                slot.step.number,
                oil * 1e6,
                instrument.name
            );
            let finding = at_slot(log, slot, Column::Value, Code::MeterBeyondViscosity, message, "read with it")
                .also(instrument.origin.source, instrument.origin.span, "its viscosities")
                .help("Check the meter with a timed weigh tank at this viscosity, and correct the flows by it.");
            found.push(finding);
        }
    }
}

/// A tick beside a valve that says the other position.
fn valves(log: &Log<'_>, found: &mut Vec<Finding>) {
    for slot in &log.slots {
        let Action::Valve { valve, open } = &slot.step.action else { continue };
        let Some(row) = slot.current() else { continue };
        let written = row.text(Column::Value);
        let other = if *open { "closed" } else { "open" };
        if !written.eq_ignore_ascii_case(other) {
            continue;
        }
        let message = format!(
            "run {}, step {}: `{valve}` is noted as {written}, the plan has it {}",
            log.run.code,
            slot.step.number,
            if *open { "open" } else { "closed" }
        );
        let finding = at_slot(log, slot, Column::Value, Code::ValveContradicts, message, "written");
        found.push(finding.help(format!(
            "If it stood as planned, {CORRECT_IT}. If not, what was done until it was turned belongs to no result."
        )));
    }
}

/// A line pressure next to where the relief valve is set.
fn relief(log: &Log<'_>, found: &mut Vec<Finding>) {
    let set = log.plan.rig.relief.set.si();
    let atmosphere = 0.0;
    for slot in &log.slots {
        let (Some(numeric), Some(si)) = (slot.numeric(), slot.si()) else { continue };
        let line = matches!(numeric.measures, Measures::GaugePressure);
        if !line || set <= 0.0 || si - atmosphere < 0.95 * set || is_blamed(slot, found) {
            continue;
        }
        let message = format!(
            "{}: {} where the relief valve is set at {}",
            subject(log, slot),
            measure::text(&numeric.unit, si, numeric.decimals),
            log.plan.rig.relief.set
        );
        let origin = log.plan.rig.relief.origin;
        let finding = at_slot(log, slot, Column::Value, Code::ReliefLifted, message, "written").also(
            origin.source,
            origin.span,
            "the relief valve",
        );
        found.push(finding.help("Readings at this pressure and the flow beside them can't be used. Have the relief valve proved again before the next run."));
        return;
    }
}

/// Words in notes that somebody has to answer.
fn notes(log: &Log<'_>, found: &mut Vec<Finding>) {
    const WORDS: [(&str, &str); 14] = [
        ("bubble", "counts and differential pressures are not those of oil alone"),
        ("foam", "counts and differential pressures are not those of oil alone"),
        ("froth", "counts and differential pressures are not those of oil alone"),
        ("cavitat", "the pump draws air or vapour; flow and counts are not what they seem"),
        ("leak", "oil and dust went another way"),
        ("weeping", "oil and dust went another way"),
        ("spill", "the account of oil and dust is open"),
        ("smoke", "somebody could have been hurt"),
        ("alarm", "a limit was near or passed"),
        ("relief", "part of the flow did not go through the specimen"),
        ("burst", "somebody could have been hurt"),
        ("torn", "the medium lets dust by"),
        ("dropped", "what fell may have changed"),
        ("contaminat", "the sample may not be of this oil"),
    ];
    for row in &log.rows {
        let note = row.text(Column::Note).to_lowercase();
        let denied = ["no ", "not ", "without ", "none", "free of"].iter().any(|word| note.contains(word));
        let Some((word, means)) = WORDS.iter().find(|(word, _)| note.contains(word)).filter(|_| !denied) else {
            continue;
        };
        // A test that looks for bubbles or for leakage finds them.
        let path = row.text(Column::Reading);
        let sought = log.find_exactly(path).is_some_and(|slot| {
            matches!(
                slot.step.action,
                Action::BubblePoint { .. } | Action::AntiDrain { .. } | Action::Observe | Action::Burst { .. }
            )
        });
        if sought || !row.text(Column::Correction).is_empty() {
            continue;
        }
        let message = format!("run {}: the note at `{path}` tells of trouble (`{word}…`): {means}", log.run.code);
        let finding = at_row(*row, Column::Note, Code::TroubleNoted, message, "the note");
        let finding = match log.find_exactly(path) {
            Some(slot) => finding.also(slot.reading.origin.source, slot.reading.origin.span, "the reading"),
            None => finding,
        };
        found.push(finding.help("Answer it: what was seen, how long, and which readings it touches."));
    }
}
