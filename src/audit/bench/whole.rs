//! A stage read in another unit throughout: its readings agree with each other, and with no other run's.

use indexmap::IndexMap;

use super::is_blamed;
use crate::audit::log::{Log, Slot};
use crate::audit::measure;
use crate::audit::say::{CORRECT_IT, Finding, at_slot};
use crate::diagnostic::Code;
use crate::plan::Measures;
use crate::record::Column;
use crate::trade::descriptive::median;

/// Factor by which one filter restricts more than the middle of others, from memory: beyond it the unit is asked about.
const FILTERS: f64 = 3.2;

/// Factor within which the same readings have to lie once the unit is set right, from memory.
const SET_RIGHT: f64 = 2.2;

/// The pressure drops of a stage outside its doses: run, and by path the place of the slot and the logarithm of the reading.
type Runs<'a> = Vec<(usize, IndexMap<&'a str, (usize, f64)>)>;

pub(super) fn findings(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    let mut stages: IndexMap<(usize, usize), Runs<'_>> = IndexMap::new();
    for (run, log) in logs.iter().enumerate() {
        for stage in 0..log.test.stages.len() {
            let slots = log.slots.iter().enumerate().filter(|(_, slot)| slot.step.stage == stage);
            let read: IndexMap<&str, (usize, f64)> = slots
                .filter_map(|(place, slot)| Some((slot.reading.path.as_str(), (place, drop_of(slot, found)?.ln()))))
                .collect();
            if read.len() >= 3 {
                stages.entry((log.run.test, stage)).or_default().push((run, read));
            }
        }
    }
    for runs in stages.values() {
        for at in 0..runs.len() {
            found.extend(told(logs, runs, at));
        }
    }
}

fn drop_of(slot: &Slot<'_>, found: &[Finding]) -> Option<f64> {
    slot.numeric().filter(|n| n.measures == Measures::DifferentialPressure && n.window.is_none())?;
    let outside_loop = slot.step.round.is_none() && !slot.dropped;
    slot.si().filter(|si| outside_loop && *si > 0.0 && !is_blamed(slot, found))
}

fn told(logs: &[Log<'_>], runs: &Runs<'_>, at: usize) -> Option<Finding> {
    let (run, read) = runs.get(at)?;
    // Of each reading: how far from the middle of at least two other runs that agree, where it is, and that middle.
    let mut away: Vec<(f64, usize, f64)> = Vec::new();
    for (path, (place, here)) in read {
        let others = runs.iter().enumerate().filter(|(other, _)| *other != at);
        let values: Vec<f64> = others.filter_map(|(_, (_, read))| Some(read.get(path)?.1)).collect();
        if values.len() < 2 {
            continue;
        }
        let middle = median(&values).ok()?;
        // Where others differ as much among themselves, one of them may be the one that is wrong.
        if values.iter().all(|value| (value - middle).abs() <= FILTERS.ln()) {
            away.push((here - middle, *place, middle));
        }
    }
    away.sort_by(|one, other| one.0.total_cmp(&other.0));
    let (by, place, middle) = *away.get(away.len() / 2).filter(|_| away.len() >= 3)?;
    if by.abs() <= FILTERS.ln() {
        return None;
    }
    let log = logs.get(*run)?;
    let slot = log.slots.get(place)?;
    let unit = slot.unit()?;
    let factor = |other: &crate::quantity::Unit| (other.to_si(1.0) / unit.to_si(1.0)).ln();
    let near = measure::mistakable(unit).into_iter().filter(|(other, _)| (by + factor(other)).abs() < SET_RIGHT.ln());
    let (meant, _) = near.min_by(|one, other| one.1.total_cmp(&other.1))?;
    let written = slot.number()?.value;
    let message = format!(
        "run {}, step {}: {} stands where other runs have about {}, and so do all {} readings of the stage; in {} it would be {}",
        log.run.code,
        slot.step.number,
        measure::amount(unit, slot.si()?),
        measure::amount(unit, middle.exp()),
        away.len(),
        meant.text,
        measure::amount(unit, meant.to_si(written)),
    );
    let help = format!(
        "Which unit does the scale show that was read? If it is {}, {CORRECT_IT}. If the filter does differ as much, say so in the answer.",
        meant.text
    );
    Some(at_slot(log, slot, Column::Value, Code::StageInAnotherUnit, message, "the median one").help(help))
}
