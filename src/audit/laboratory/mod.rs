//! The laboratory's files beside the bottles that were drawn: whose count is it, can it be, and does it fit the rest. One
//! cause is said once: a bottle that is explained by how its file was read is not taken for a departure of the bench.

mod bottle;
mod clean;
mod custody;
mod identity;
mod pair;
mod reading;

use indexmap::IndexSet;

use super::log::Log;
use super::say::Finding;
use crate::diagnostic::{Code, Diagnostic};
use crate::plan::Plan;
use crate::record::Cell;
use crate::record::Record;
use crate::record::laboratory::{LabFile, LabResult};
use bottle::{Known, Seen};

/// Everything that the laboratory's files depart from the plan and the records, file by file in the order of their rows.
pub fn laboratory(plan: &Plan, records: &[Record], files: &[LabFile]) -> Vec<Finding> {
    if files.is_empty() {
        return Vec::new();
    }
    let logs: Vec<Log<'_>> = Log::all(plan, records);
    let known = bottle::known(plan, &logs);
    let mut found = Vec::new();
    let (seen, copies) = identity::sort(plan, &known, files, &mut found);
    let mut bench = Bench {
        plan,
        known: &known,
        seen: &seen,
        pairs: pair::pairs(&known, &seen),
        settled: copies.into_iter().collect(),
    };
    custody::findings(&bench, files, &mut found);
    reading::findings(&mut bench, files, &mut found);
    pair::exchanged(&mut bench, &mut found);
    reading::challenge(&mut bench, &mut found);
    clean::findings(&mut bench, files, &mut found);
    pair::findings(&bench, &mut found);
    found.sort_by_key(|finding| finding.primary().map(|place| (place.source, place.span.start)));
    found
}

/// What the checks look at.
struct Bench<'b, 'a> {
    plan: &'a Plan,
    known: &'b [Known<'a>],
    seen: &'b [Seen<'a>],
    /// Results before and behind the filter that belong together, by their places in `seen`.
    pairs: Vec<(usize, usize)>,
    /// Results (by their place in `seen`) whose strangeness has its explanation already.
    settled: IndexSet<usize>,
}

impl<'a> Bench<'_, 'a> {
    fn known(&self, seen: &Seen<'_>) -> Option<&Known<'a>> {
        self.known.get(seen.known)
    }

    /// Results that are not explained yet.
    fn open(&self) -> impl Iterator<Item = (usize, &Seen<'a>)> {
        self.seen.iter().enumerate().filter(|(at, _)| !self.settled.contains(at))
    }

    /// A number of the rules in force, or the built-in one.
    fn rule(&self, name: &str, built_in: f64) -> f64 {
        self.plan.rules.number(name).unwrap_or(built_in)
    }

    /// Scatter of a laboratory between two bottles of one oil, as a share.
    fn scatter(&self) -> f64 {
        self.rule("laboratory-scatter", 0.10)
    }
}

/// A finding at a cell of a laboratory's file.
fn at_cell(file: &LabFile, cell: &Cell, code: Code, message: String, role: &str) -> Diagnostic {
    Diagnostic::new(code, message).at(file.source, cell.span, format!("{role} ({})", file.whereabouts(cell)))
}

/// The same with the bottle's line of the plan.
fn at_bottle(seen: &Seen<'_>, known: &Known<'_>, cell: &Cell, code: Code, message: String, role: &str) -> Diagnostic {
    let origin = known.drawn.reading.origin;
    at_cell(seen.file, cell, code, message, role).also(
        origin.source,
        origin.span,
        format!("asks for bottle `{}` of run {}", known.label, known.run),
    )
}

fn first_count(result: &LabResult) -> &Cell {
    result.counts.first().map_or(&result.label, |count| &count.cell)
}

const ASK: &str = "Ask the laboratory for a corrected report and keep both; nothing was changed here.";
