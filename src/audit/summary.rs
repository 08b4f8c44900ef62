//! One line a run, for the page that shows how a campaign stands.

use serde::Serialize;

use super::{log, of_run};
use crate::diagnostic::Severity;
use crate::plan::Plan;
use crate::record::Record;

/// How far a run is recorded and how it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RunState {
    /// The run.
    pub code: String,
    /// Readings that the plan asks for; rounds that a loop did not need are left out.
    pub rows_planned: usize,
    /// Of these, how many are recorded.
    pub rows_recorded: usize,
    /// Of these, how many are still to come.
    pub open: usize,
    /// Critical findings.
    pub critical: usize,
    /// Major findings.
    pub major: usize,
    /// Minor findings.
    pub minor: usize,
}

/// Every run of the plan, in its order.
pub fn states(plan: &Plan, records: &[Record]) -> Vec<RunState> {
    let logs: Vec<log::Log<'_>> = log::Log::all(plan, records);
    let state = |log: &log::Log<'_>| {
        let findings = if log.rows.is_empty() { Vec::new() } else { of_run(log, &logs, None) };
        let count = |severity: Severity| findings.iter().filter(|finding| finding.severity == severity).count();
        let asked = || log.slots.iter().enumerate().filter(|(_, slot)| !slot.dropped);
        RunState {
            code: log.run.code.clone(),
            rows_planned: asked().count(),
            rows_recorded: asked().filter(|(_, slot)| slot.is_recorded()).count(),
            open: asked().filter(|(place, slot)| log.is_open(*place) && !slot.is_recorded()).count(),
            critical: count(Severity::Critical),
            major: count(Severity::Major),
            minor: count(Severity::Minor),
        }
    };
    logs.iter().map(state).collect()
}
