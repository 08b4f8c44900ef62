//! Strange values that explain each other: two that stand in each other's row, several in one other unit.

use std::collections::BTreeMap;

use super::log::{Log, Slot};
use super::measure;
use super::say::{CORRECT_IT, Finding, at_slot};
use super::series::Prediction;
use super::values::Strange;
use crate::diagnostic::Code;
use crate::record::Column;

/// Rows farther apart than this are not mistaken for each other.
const NEAR: usize = 8;

/// Pairs of strange values that would both be ordinary in the other's row: one finding instead of two.
pub(super) fn swapped(
    log: &Log<'_>,
    predictions: &BTreeMap<usize, Prediction>,
    strange: &mut Vec<Strange>,
    found: &mut Vec<Finding>,
) {
    let mut gone: Vec<usize> = Vec::new();
    for (index, one) in strange.iter().enumerate() {
        for other in strange.iter().skip(index + 1).filter(|other| other.place.abs_diff(one.place) <= NEAR) {
            if gone.contains(&one.place) || gone.contains(&other.place) {
                continue;
            }
            let (Some(first), Some(second)) = (log.slots.get(one.place), log.slots.get(other.place)) else { continue };
            let crossed =
                fits(first, second, predictions.get(&one.place)) && fits(second, first, predictions.get(&other.place));
            if !crossed {
                continue;
            }
            let text = |slot: &Slot<'_>| slot.current().map_or("", |row| row.text(Column::Value)).to_owned();
            let message = format!(
                "run {}: `{}` at {} (step {}) and `{}` at {} (step {}) would both fit in the other's row",
                log.run.code,
                text(first),
                first.reading.label,
                first.step.number,
                text(second),
                second.reading.label,
                second.step.number
            );
            let mut finding = at_slot(log, first, Column::Value, Code::RowsSwapped, message, "written");
            if let Some(row) = second.current() {
                finding = finding.also(row.record.source, row.cell(Column::Value).span, "and this one");
            }
            found.push(finding.help(format!("If they were exchanged in copying, {CORRECT_IT}.")));
            gone.extend([one.place, other.place]);
        }
    }
    strange.retain(|one| !gone.contains(&one.place));
}

/// Whether a row would be ordinary with the number of another.
fn fits(slot: &Slot<'_>, other: &Slot<'_>, prediction: Option<&Prediction>) -> bool {
    let (Some(numeric), Some(number)) = (slot.numeric(), other.number()) else { return false };
    let si = numeric.unit.to_si(number.value);
    let windows = [numeric.window, numeric.expect, numeric.stop];
    let inside = windows.into_iter().flatten().all(|window| window.contains(si));
    let near = prediction.is_none_or(|prediction| prediction.away(si).is_some_and(|away| away <= 0.8));
    let judged = numeric.window.is_some() || prediction.is_some();
    si.is_finite() && inside && near && judged && number.decimals <= numeric.decimals
}

/// Several values of one series that one other unit explains: one finding instead of each.
pub(super) fn changed_unit(log: &Log<'_>, strange: &mut Vec<Strange>, found: &mut Vec<Finding>) {
    let mut groups: BTreeMap<(usize, &str, String), Vec<usize>> = BTreeMap::new();
    for one in strange.iter() {
        let (Some(slot), Some(unit)) = (log.slots.get(one.place), one.unit.clone()) else { continue };
        groups.entry((slot.step.stage, slot.reading.name.as_str(), unit)).or_default().push(one.place);
    }
    let mut gone: Vec<usize> = Vec::new();
    for ((stage, name, unit), places) in groups {
        let [first, others @ ..] = places.as_slice() else { continue };
        let all =
            log.slots.iter().filter(|slot| slot.step.stage == stage && slot.reading.name == name && slot.is_recorded());
        let all = all.count();
        let Some(slot) = log.slots.get(*first).filter(|_| !others.is_empty() && all > places.len()) else { continue };
        let (Some(numeric), Some(number)) = (slot.numeric(), slot.number()) else { continue };
        let converted = measure::unit_like(&unit, &numeric.unit)
            .map_or(String::new(), |read| measure::text(&numeric.unit, read.to_si(number.value), numeric.decimals));
        let written = slot.current().map_or("", |row| row.text(Column::Value));
        let message = format!(
            "run {}: {} of {all} values of `{name}` would fit in {unit}, the others in {}",
            log.run.code,
            places.len(),
            numeric.unit
        );
        let mut finding = at_slot(log, slot, Column::Value, Code::UnitChanged, message, "the first of them");
        for row in others.iter().take(4).filter_map(|place| log.slots.get(*place)?.current()) {
            finding = finding.also(row.record.source, row.cell(Column::Value).span, "and this one");
        }
        found.push(finding.help(format!(
            "{written} {unit} is {converted}. If the gauge was switched over between, {CORRECT_IT}, and say from which row on."
        )));
        gone.extend(places);
    }
    strange.retain(|one| !gone.contains(&one.place));
}
