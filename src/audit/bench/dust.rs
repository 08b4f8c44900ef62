//! Dust: what was weighed and what came of it.

use super::{accuracy, is_blamed};
use crate::audit::loading::is_dose;
use crate::audit::log::{Log, Slot};
use crate::audit::measure;
use crate::audit::say::{Finding, at_slot};
use crate::diagnostic::Code;
use crate::plan::{Action, Measures};
use crate::record::Column;

pub(super) fn of_run(log: &Log<'_>, found: &mut Vec<Finding>) {
    boats(log, found);
    drops(log, found);
    late_bottles(log, found);
}

/// What stayed in the boat, against the dose that it held.
fn boats(log: &Log<'_>, found: &mut Vec<Finding>) {
    for slot in &log.slots {
        let left = slot.reading.name.starts_with("left");
        let (Some(numeric), Some(si)) = (slot.numeric(), slot.si()) else { continue };
        if !left || numeric.measures != Measures::Mass {
            continue;
        }
        let dose = log.slots.iter().find(|other| other.step_index == slot.step_index && is_dose(other));
        let Some((dose, mass)) = dose.and_then(|dose| Some((dose, dose.si()?))) else { continue };
        if mass <= 0.0 || si <= 0.05 * mass || is_blamed(slot, found) || is_blamed(dose, found) {
            continue;
        }
        let unit = &numeric.unit;
        let message = format!(
            "run {}, step {}: {} of {} stayed in the boat, {:.0} % of the dose",
            log.run.code,
            slot.step.number,
            measure::text(unit, si, numeric.decimals),
            measure::amount(unit, mass),
            100.0 * si / mass
        );
        let mut finding = at_slot(log, slot, Column::Value, Code::LeftInBoat, message, "left");
        if let Some(row) = dose.current() {
            finding = finding.also(row.record.source, row.cell(Column::Value).span, "of this");
        }
        let thousandth = format!(
            "If {} was meant in mg, it is {}",
            measure::text(unit, si, numeric.decimals),
            measure::text(unit, si / 1000.0, numeric.decimals + 3)
        );
        found.push(finding.help(format!("{thousandth}. If it did stay there, the dose is smaller by it: the account of dust takes it off, and the note says why so much stayed.")));
    }
}

/// Differential pressures that fall from dose to dose.
fn drops(log: &Log<'_>, found: &mut Vec<Finding>) {
    let mut before: Option<&Slot<'_>> = None;
    for slot in &log.slots {
        let Some((batch, _)) = slot.step.round else { continue };
        let decides = log.test.batches.get(batch).is_some_and(|batch| batch.reading == slot.reading.name);
        let (Some(numeric), Some(now), true) = (slot.numeric(), slot.si(), decides) else { continue };
        if is_blamed(slot, found) {
            continue;
        }
        let earlier = before.replace(slot);
        let Some(earlier) = earlier.filter(|earlier| earlier.step.round.is_some_and(|(of, _)| of == batch)) else {
            continue;
        };
        let Some(then) = earlier.si() else { continue };
        let doubt = measure::instrument(log.plan, numeric)
            .map_or(0.0, |instrument| accuracy(instrument, then) + 3.0 * instrument.resolution.si_difference().abs());
        if then - now <= doubt + 0.12 * then {
            continue;
        }
        let unit = &numeric.unit;
        let message = format!(
            "run {}: after one more dose the differential pressure is {}, down from {}; honest readings leave room for {}",
            log.run.code,
            measure::amount(unit, now),
            measure::amount(unit, then),
            measure::difference(unit, doubt + 0.12 * then)
        );
        let mut finding = at_slot(log, slot, Column::Value, Code::DropsAfterDose, message, "after the dose");
        if let Some(row) = earlier.current() {
            finding = finding.also(row.record.source, row.cell(Column::Value).span, "before it");
        }
        found.push(finding.help("Look at the flow of both rounds, then at the by-pass and, when the can is opened, at the medium. If it did drop, the capacity ends with the round before."));
    }
}

/// Bottles drawn long after their dose: three times the time in which the loop passes the filter once.
fn late_bottles(log: &Log<'_>, found: &mut Vec<Finding>) {
    let rig = &log.plan.rig;
    let mut dosed: Option<&Slot<'_>> = None;
    let mut volume = None;
    let mut planned = 0.0;
    let mut next = 0;
    for (place, slot) in log.slots.iter().enumerate() {
        for step in log.test.steps.iter().take(slot.step_index + 1).skip(next) {
            match &step.action {
                Action::TakeRoute { route, .. } => {
                    let route = rig.routes.get(route);
                    volume = route.and_then(|route| route.volume.as_ref()).map(|v| v.si());
                    // Dust that waits in the tank is caught from the moment the oil goes through the specimen.
                    let opens = route.and_then(|route| route.through.as_deref()) == Some("the specimen");
                    let seen = step.readings.first().and_then(|reading| log.find_exactly(&reading.path));
                    if let (Some(seen), true, true) = (seen.filter(|s| s.time().is_some()), opens, dosed.is_some()) {
                        dosed = Some(seen);
                        planned = 0.0;
                    }
                }
                Action::Settle(dwell) | Action::Wait(dwell) | Action::Circulate(dwell) => {
                    planned += dwell.most.as_ref().unwrap_or(&dwell.least).si();
                }
                Action::Inject { .. } | Action::CleanUp(_) => dosed = None,
                _ => {}
            }
        }
        next = slot.step_index + 1;
        if is_dose(slot) && slot.time().is_some() {
            dosed = Some(slot);
            planned = 0.0;
        }
        let crate::plan::Wants::Bottle(_) = &slot.reading.wants else { continue };
        let (Some(dose), Some(volume), Some((flow, _))) = (dosed, volume, super::flow_at(log, place)) else { continue };
        let (Some(from), Some(to)) = (dose.time(), slot.time()) else { continue };
        let turnover = volume / flow.max(1e-9);
        #[expect(clippy::cast_precision_loss, reason = "a few hours in seconds")]
        let passed = (to.seconds - from.seconds) as f64;
        // A plan that itself draws so late is the checker's to speak of.
        let held_up = passed > planned + 600.0;
        if planned > 3.0 * turnover || passed <= 3.0 * turnover || !held_up {
            continue;
        }
        let share = 100.0 * (-passed / turnover).exp();
        let message = format!(
            "run {}, step {}: the bottle was drawn {:.1} min after the dust began to go through the specimen, {:.1} turnovers of the loop; a filter that catches all has left {share:.1} % of the dust",
            log.run.code,
            slot.step.number,
            passed / 60.0,
            passed / turnover
        );
        let mut finding = at_slot(log, slot, Column::Time, Code::TooLateAfterDose, message, "drawn");
        if let Some(row) = dose.current() {
            finding = finding.also(row.record.source, row.cell(Column::Time).span, "the dust goes through");
        }
        found.push(
            finding
                .help("No efficiency can be had from this bottle. Draw it after the next dose, within one turnover."),
        );
    }
}

/// All doses of a dust against what there was of it.
pub(super) fn stock(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    let Some(plan) = logs.first().map(|log| log.plan) else { return };
    for (name, dust) in &plan.dusts {
        let Some(supply) = dust.supply.as_ref().map(|supply| supply.si()) else { continue };
        let mut used = 0.0;
        let mut over: Option<(&Log<'_>, &Slot<'_>)> = None;
        for log in logs {
            for slot in log.slots.iter().filter(|slot| is_dose(slot) && !is_blamed(slot, found)) {
                let of = matches!(&slot.step.action, Action::Dose { dust, .. } | Action::Condition { dust, .. } if dust == name);
                used += if of { slot.si().unwrap_or(0.0).max(0.0) } else { 0.0 };
                if used > supply * 1.02 && of {
                    over.get_or_insert((log, slot));
                }
            }
        }
        let Some((log, slot)) = over else { continue };
        let Some(unit) = slot.unit() else { continue };
        let message = format!(
            "run {}: with this dose {} of `{name}` are used up, and there were {}",
            log.run.code,
            measure::amount(unit, used),
            measure::amount(unit, supply)
        );
        let finding = at_slot(log, slot, Column::Value, Code::StockExceeded, message, "the first dose too many").also(
            dust.origin.source,
            dust.origin.span,
            "its supply",
        );
        found.push(
            finding.help("Weigh what is left in the jar. If another jar was opened, its lot belongs in the plan."),
        );
    }
}
