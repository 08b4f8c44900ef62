//! What the bench says of itself: restriction against flow and dust, oil against temperature, zeros, like specimens.

mod conditions;
mod dust;
mod replicates;
mod sweep;
mod tares;
mod whole;

use super::log::{Log, Slot};
use super::say::Finding;
use crate::diagnostic::Code;
use crate::plan::{Accuracy, Action, Instrument};
use crate::record::Column;

/// Findings about one run, beside those about single values; a value that was found wrong is not judged again.
pub(super) fn findings(log: &Log<'_>, found: &mut Vec<Finding>) {
    sweep::findings(log, found);
    conditions::findings(log, found);
    dust::of_run(log, found);
}

/// Findings that take several runs.
pub(super) fn between(logs: &[Log<'_>], found: &mut Vec<Finding>) {
    replicates::findings(logs, found);
    whole::findings(logs, found);
    tares::findings(logs, found);
    dust::stock(logs, found);
}

/// Whether a value was found wrong already.
pub(super) fn is_blamed(slot: &Slot<'_>, found: &[Finding]) -> bool {
    let Some(row) = slot.current() else { return false };
    let span = row.cell(Column::Value).span;
    found.iter().filter(|finding| finding.severity.rank() > 1).any(|finding| {
        // Two that stand in each other's row are both wrong, and so are all that were read in another unit.
        let several = matches!(finding.code, Code::RowsSwapped | Code::UnitChanged);
        let many = if several { usize::MAX } else { 1 };
        finding.places.iter().take(many).any(|place| place.source == row.record.source && place.span == span)
    })
}

/// How far an instrument may be off at a value, SI: its stated accuracy, one side.
pub(super) fn accuracy(instrument: &Instrument, si: f64) -> f64 {
    fn of(accuracy: &Accuracy, span: f64, si: f64) -> f64 {
        match accuracy {
            Accuracy::OfSpan(share) => share * span,
            Accuracy::OfReading(share) => share * si.abs(),
            Accuracy::Absolute(amount) => amount.si_difference().abs(),
            Accuracy::WorstOf(terms) => terms.iter().map(|term| of(term, span, si)).fold(0.0, f64::max),
        }
    }
    let span = match (instrument.range.window.low, instrument.range.window.high) {
        (Some(low), Some(high)) => high - low,
        (None, Some(high)) => high,
        _ => 0.0,
    };
    of(&instrument.accuracy, span, si)
}

/// The flow that is set at a slot (m³/s, as recorded where it was), and whether it is reached from below.
pub(super) fn flow_at(log: &Log<'_>, place: usize) -> Option<(f64, bool)> {
    let slot = log.slots.get(place)?;
    let steps = log.test.steps.iter().take(slot.step_index + 1).rev();
    // It stays as set, from stage to stage, until the pump stops.
    let stops = |action: &Action| matches!(action, Action::Switch { what, on: false } if what == "pump");
    for step in steps.take_while(|step| !stops(&step.action)) {
        let (setting, rising) = match &step.action {
            Action::SetFlow { setting, rising } => (setting, *rising),
            Action::HoldFlow(setting) => (setting, true),
            _ => continue,
        };
        let target = setting.target.as_ref()?.si();
        let read = step.readings.first().and_then(|reading| log.find_exactly(&reading.path)).and_then(Slot::si);
        let read = read.filter(|flow| (flow / target - 1.0).abs() < 0.1);
        return Some((read.unwrap_or(target), rising));
    }
    None
}
