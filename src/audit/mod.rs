//! The audit: what was recorded beside what was planned. Every finding is a diagnostic with two places, the cell and the
//! line of the protocol that it breaks. Nothing is ever corrected: where arithmetic suggests what happened, it is said.

mod bench;
mod calendar;
mod cause;
mod completeness;
pub mod evidence;
mod instruments;
mod invention;
mod laboratory;
pub(crate) mod loading;
pub(crate) mod log;
pub(crate) mod measure;
mod order;
mod say;
mod series;
mod slip;
mod summary;
mod together;
mod values;

pub use laboratory::laboratory;
pub use say::Finding;
pub use summary::{RunState, states};

use rayon::prelude::*;

use crate::diagnostic::Code;
use crate::plan::{Measures, Numeric, Plan};
use crate::quantity::{Unit, Window};
use crate::record::{DecimalMark, Instant, Record, Value};

/// Everything that the records of a campaign depart from its plan, run by run in the order of the plan; within a run
/// in the order of the rows.
pub fn run(plan: &Plan, records: &[Record]) -> Vec<Finding> {
    run_at(plan, records, None)
}

/// The same, with the moment at which the records are read, on the bench's own clock: what lies after it can't be true.
pub fn run_at(plan: &Plan, records: &[Record], now: Option<Instant>) -> Vec<Finding> {
    let mut found = Vec::new();
    completeness::unknown_runs(plan, records, &mut found);
    let logs: Vec<log::Log<'_>> = log::Log::all(plan, records);
    let each = logs.par_iter().filter(|log| !log.rows.is_empty());
    found.extend(each.flat_map_iter(|log| of_run(log, &logs, now)).collect::<Vec<Finding>>());
    // One cause, one finding: a run that stands in two files is not also copied, nor its rows repeated.
    calendar::between(&logs, &mut found);
    let twice = found.iter().any(|finding| finding.code == Code::TwoRecords);
    if twice {
        found.retain(|finding| !matches!(finding.code, Code::RepeatedRow | Code::DoseRepeated));
    }
    bench::between(&logs, &mut found);
    invention::between(&logs, &mut found);
    found
}

/// What may have happened to a number that should lie in a window of its unit (SI): the likeliest first, in words. The same
/// slips as in a record; a proposal, never a change.
pub fn explanations(written: &str, unit: &Unit, window: Window) -> Vec<String> {
    let Value::Number(number) = Value::parse(written, DecimalMark::Point) else { return Vec::new() };
    let numeric = Numeric {
        measures: Measures::Time,
        instrument: None,
        unit: unit.clone(),
        decimals: number.decimals,
        window: Some(window),
        target: None,
        expect: None,
        stop: None,
        baseline: None,
        role: None,
    };
    let ordinary = cause::Ordinary { numeric: &numeric, resolution: None, window: Some(window), prediction: None };
    cause::of_number(written, number, DecimalMark::Point, &ordinary).into_iter().map(|cause| cause.words).collect()
}

fn of_run(log: &log::Log<'_>, logs: &[log::Log<'_>], now: Option<Instant>) -> Vec<Finding> {
    let mut found = Vec::new();
    let same_test = logs.iter().filter(|other| other.run.test == log.run.test && other.run.code != log.run.code);
    let others: Vec<&log::Log<'_>> = same_test.collect();
    completeness::findings(log, &mut found);
    values::findings(log, &series::predictions(log, &others), &mut found);
    instruments::findings(log, &mut found);
    order::findings(log, &mut found);
    loading::findings(log, &mut found);
    bench::findings(log, &mut found);
    calendar::of_run(log, now, &mut found);
    invention::of_run(log, &mut found);
    found.sort_by_key(|finding| finding.primary().map(|place| (place.source, place.span.start)));
    found
}
