//! Like specimens beside each other, and the reference specimen beside itself.

use indexmap::IndexMap;

use super::is_blamed;
use crate::audit::log::{Log, Slot};
use crate::audit::measure;
use crate::audit::say::{Finding, at_slot};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Measures, accuracy_half_width};
use crate::record::Column;
use crate::trade::descriptive::{median, median_absolute_deviation};

/// Relative scatter of a reference that is measured again on a bench in order, from memory.
const REFERENCE: f64 = 0.03;

pub(super) fn findings(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    outliers(logs, found);
    reference(logs, found);
}

fn model<'a>(log: &Log<'a>) -> Option<&'a str> {
    log.plan.campaign.specimens.get(&log.run.specimen)?.model.as_deref()
}

fn restriction(slot: &Slot<'_>, found: &[Finding]) -> Option<f64> {
    let numeric = slot.numeric().filter(|n| n.measures == Measures::DifferentialPressure && n.window.is_none())?;
    let outside_loop = slot.step.round.is_none() && !slot.dropped && numeric.instrument.is_some();
    slot.si().filter(|si| outside_loop && *si > 0.0 && !is_blamed(slot, found))
}

/// Readings of one path among at least five runs of one model, farther than three scaled median deviations: the worst of each run.
fn outliers(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    // By test, model and path; of each run its number, the place of the slot, and the value.
    type Values = Vec<(usize, usize, f64)>;
    let mut values: IndexMap<(usize, &str, &str), Values> = IndexMap::new();
    for (run, log) in logs.iter().enumerate() {
        let Some(model) = model(log) else { continue };
        for (place, slot) in log.slots.iter().enumerate() {
            if let Some(si) = restriction(slot, found) {
                values.entry((log.run.test, model, slot.reading.path.as_str())).or_default().push((run, place, si));
            }
        }
    }
    let mut worst: IndexMap<usize, (usize, f64, f64, f64)> = IndexMap::new();
    for group in values.values().filter(|group| group.len() >= 5) {
        let all: Vec<f64> = group.iter().map(|(.., si)| *si).collect();
        let (Ok(middle), Ok(spread)) = (median(&all), median_absolute_deviation(&all)) else { continue };
        // Zeroed anew for each run, the gauge may be off one way in one and the other way in the next.
        let gauge = group.first().and_then(|(run, place, _)| {
            let log = logs.get(*run)?;
            let instrument = measure::instrument(log.plan, log.slots.get(*place)?.numeric()?)?;
            accuracy_half_width(instrument, middle).filter(|half| half.is_finite())
        });
        // 1.4826: a median deviation in standard deviations of a normal law.
        let scaled = (1.4826 * spread).max(0.03 * middle).max(0.4 * gauge.unwrap_or(0.0));
        for (run, place, si) in group {
            let away = (si - middle).abs() / scaled;
            let known = worst.get(run).is_some_and(|(_, known, ..)| *known >= away);
            if away > 5.0 && !known {
                worst.insert(*run, (*place, away, middle, spread));
            }
        }
    }
    for (run, (place, away, middle, spread)) in worst {
        let Some(log) = logs.get(run) else { continue };
        let Some(slot) = log.slots.get(place) else { continue };
        let (Some(numeric), Some(si)) = (slot.numeric(), slot.si()) else { continue };
        let unit = &numeric.unit;
        let message = format!(
            "run {}, step {}: {} where like specimens have {} (median; median deviation {}): {away:.1} scaled deviations away",
            log.run.code,
            slot.step.number,
            measure::amount(unit, si),
            measure::amount(unit, middle),
            measure::difference(unit, spread)
        );
        let finding = at_slot(log, slot, Column::Value, Code::Outlier, message, "written");
        found.push(finding.help("Look at the can and the sheet. Without a reason found there it stays in the result."));
    }
}

/// A reference specimen's runs of one test against the first of them.
fn reference(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    for (index, log) in logs.iter().enumerate() {
        let is_reference = log.plan.campaign.specimens.get(&log.run.specimen).is_some_and(|s| s.reference);
        if !is_reference || log.rows.is_empty() {
            continue;
        }
        let same = |other: &&Log<'_>| {
            other.run.specimen == log.run.specimen && other.run.test == log.run.test && !other.rows.is_empty()
        };
        let Some(first) = logs.iter().take(index).find(same) else { continue };
        let mut shifts: Vec<(f64, usize)> = Vec::new();
        for (place, slot) in log.slots.iter().enumerate() {
            let stage = log.test.stages.get(slot.step.stage);
            if stage.is_some_and(|stage| stage.tare_for.is_some()) {
                continue;
            }
            let earlier = first.slots.get(place).filter(|o| o.reading.path == slot.reading.path);
            if let (Some(now), Some(then)) = (restriction(slot, found), earlier.and_then(|s| restriction(s, found))) {
                shifts.push(((now / then).ln(), place));
            }
        }
        if shifts.len() < 4 {
            continue;
        }
        shifts.sort_by(|one, other| one.0.total_cmp(&other.0));
        let Some((shift, place)) = shifts.get(shifts.len() / 2).copied() else { continue };
        let scatter = log.plan.rules.number("reference-scatter").unwrap_or(REFERENCE) * std::f64::consts::SQRT_2;
        let away = shift.abs() / scatter;
        if away <= 2.0 {
            continue;
        }
        let Some(slot) = log.slots.get(place) else { continue };
        let message = format!(
            "run {}: the reference `{}` reads {:+.1} % against run {} (median of {} readings), {away:.1} times the {:.1} % that two runs of it differ",
            log.run.code,
            log.run.specimen,
            100.0 * shift.exp_m1(),
            first.run.code,
            shifts.len(),
            100.0 * scatter
        );
        let weight = if away > 3.0 { Severity::Critical } else { Severity::Major };
        let mut finding =
            at_slot(log, slot, Column::Value, Code::ReferenceShifted, message, "the median one").severity(weight);
        if let Some(row) = first.slots.get(place).and_then(Slot::current) {
            finding = finding.also(row.record.source, row.cell(Column::Value).span, format!("run {}", first.run.code));
        }
        found.push(finding.help("Look for what changed between the two runs: oil, gauge, adaptor, temperature. Until it is found, the runs between can't be compared with those before."));
    }
}
