//! One run as it was recorded: the plan's readings in order, and beside each the rows that speak of it.

use indexmap::IndexMap;
use rayon::prelude::*;

use super::loading::{self, Loading};
use super::measure;
use crate::plan::{Numeric, Plan, Reading, Run, Step, Test, Wants};
use crate::quantity::Unit;
use crate::record::{Cell, Column, Instant, Number, Record, Row, Value};

/// A row in its file.
#[derive(Clone, Copy)]
pub(crate) struct Filled<'a> {
    pub(crate) record: &'a Record,
    pub(crate) row: &'a Row,
}

impl<'a> Filled<'a> {
    pub(crate) fn text(self, column: Column) -> &'a str {
        self.row.text(column)
    }

    pub(crate) fn cell(self, column: Column) -> &'a Cell {
        self.row.cell(column)
    }

    pub(crate) fn value(self) -> Value {
        self.record.value(self.row)
    }

    pub(crate) fn time(self) -> Option<Instant> {
        self.row.time()
    }

    /// The row as people find it again.
    pub(crate) fn line(self) -> String {
        format!("line {} of `{}`", self.row.line, self.record.name)
    }
}

/// A reading that the plan asks for, and what was written down for it.
pub(crate) struct Slot<'a> {
    /// Index of the step in the test.
    pub(crate) step_index: usize,
    pub(crate) step: &'a Step,
    pub(crate) reading: &'a Reading,
    /// The filled rows that name it, in the order of the files.
    pub(crate) rows: Vec<Filled<'a>>,
    /// Any row that names it, filled or not: a place to point at.
    pub(crate) blank: Option<Filled<'a>>,
    /// Whether the loop that it belongs to had ended before.
    pub(crate) dropped: bool,
    /// Of the row that counts.
    time: Option<Instant>,
    unit: Option<Unit>,
}

impl<'a> Slot<'a> {
    /// The row that counts: the last one.
    pub(crate) fn current(&self) -> Option<Filled<'a>> {
        self.rows.last().copied()
    }

    pub(crate) fn numeric(&self) -> Option<&'a Numeric> {
        match &self.reading.wants {
            Wants::Number(numeric) => Some(numeric),
            _ => None,
        }
    }

    /// The number that counts, as written.
    pub(crate) fn number(&self) -> Option<Number> {
        self.current()?.value().number()
    }

    /// The unit that the number was written in: the row's own where it names one of the right kind, else the plan's.
    pub(crate) fn unit(&self) -> Option<&Unit> {
        self.unit.as_ref()
    }

    /// The number that counts, in SI.
    pub(crate) fn si(&self) -> Option<f64> {
        Some(measure::to_si(self.unit()?, self.number()?.value))
    }

    /// Whether something was written that answers the reading.
    pub(crate) fn is_recorded(&self) -> bool {
        self.current().is_some_and(|row| row.value() != Value::Empty)
    }

    pub(crate) fn time(&self) -> Option<Instant> {
        self.time
    }
}

/// The rows of records by the run that they name.
pub(crate) struct ByRun<'a>(IndexMap<&'a str, Vec<Filled<'a>>>);

impl<'a> ByRun<'a> {
    pub(crate) fn new(records: &'a [Record]) -> ByRun<'a> {
        let mut rows: IndexMap<&'a str, Vec<Filled<'a>>> = IndexMap::new();
        for record in records {
            for row in &record.rows {
                rows.entry(row.text(Column::Run)).or_default().push(Filled { record, row });
            }
        }
        ByRun(rows)
    }

    fn of(&self, run: &Run) -> &[Filled<'a>] {
        self.0.get(run.code.as_str()).map_or(&[], Vec::as_slice)
    }
}

/// A run and everything that was written down of it.
pub(crate) struct Log<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) run: &'a Run,
    pub(crate) test: &'a Test,
    /// In the order of the plan.
    pub(crate) slots: Vec<Slot<'a>>,
    places: IndexMap<&'a str, usize>,
    /// Rows that name no reading of the plan.
    pub(crate) unplanned: Vec<Filled<'a>>,
    /// Every row that names this run, filled or not.
    pub(crate) rows: Vec<Filled<'a>>,
    /// The last slot in which something stands.
    pub(crate) last: Option<usize>,
    /// How each loop of doses went.
    pub(crate) loadings: Vec<Loading>,
}

impl<'a> Log<'a> {
    /// Every run of a plan, in its order.
    pub(crate) fn all(plan: &'a Plan, records: &'a [Record]) -> Vec<Log<'a>> {
        let rows = ByRun::new(records);
        plan.runs.par_iter().filter_map(|run| Log::new(plan, run, &rows)).collect()
    }

    /// Puts the rows that name a run beside the plan's readings. `None` where the plan has no test for the run.
    pub(crate) fn new(plan: &'a Plan, run: &'a Run, by_run: &ByRun<'a>) -> Option<Log<'a>> {
        let test = plan.test_of(run)?;
        let mut slots = Vec::new();
        for (step_index, step) in test.steps.iter().enumerate() {
            for reading in &step.readings {
                slots.push(Slot {
                    step_index,
                    step,
                    reading,
                    rows: Vec::new(),
                    blank: None,
                    dropped: false,
                    time: None,
                    unit: None,
                });
            }
        }
        let mut places: IndexMap<&'a str, usize> = IndexMap::new();
        for (place, slot) in slots.iter().enumerate() {
            let reading: &'a Reading = slot.reading;
            places.entry(reading.path.as_str()).or_insert(place);
        }
        let rows = by_run.of(run).to_vec();
        let mut unplanned = Vec::new();
        for filled in &rows {
            let reading = filled.text(Column::Reading);
            match places.get(reading).and_then(|place| slots.get_mut(*place)) {
                Some(slot) => {
                    slot.blank.get_or_insert(*filled);
                    if filled.row.is_filled() {
                        slot.rows.push(*filled);
                    }
                }
                None if filled.row.is_filled() || !reading.is_empty() => unplanned.push(*filled),
                None => {}
            }
        }
        let mut units = Units::default();
        for slot in &mut slots {
            slot.time = slot.current().and_then(Filled::time);
            slot.unit = slot.numeric().map(|numeric| {
                let written = slot.current().map_or("", |row| row.text(Column::Unit));
                units.read(written, &numeric.unit)
            });
        }
        let last = slots.iter().rposition(|slot| slot.is_recorded() || slot.time().is_some());
        let mut log = Log { plan, run, test, slots, places, unplanned, rows, last, loadings: Vec::new() };
        log.loadings = loading::follow(&log);
        let left_out: Vec<bool> = log.slots.iter().map(|slot| log.is_left_out(slot.step)).collect();
        for (slot, left_out) in log.slots.iter_mut().zip(left_out) {
            slot.dropped = left_out && slot.rows.is_empty();
        }
        Some(log)
    }

    /// Whether a step belongs to a round that its loop did not need.
    pub(crate) fn is_left_out(&self, step: &Step) -> bool {
        step.round.is_some_and(|(batch, round)| {
            let loading = self.loadings.iter().find(|loading| loading.batch == batch);
            loading.and_then(|loading| loading.ended_after).is_some_and(|ended| round > ended)
        })
    }

    /// Whether a slot is still to come, rather than left out.
    pub(crate) fn is_open(&self, place: usize) -> bool {
        self.last.is_none_or(|last| place > last)
    }

    /// The reading under a path.
    pub(crate) fn find_exactly(&self, path: &str) -> Option<&Slot<'a>> {
        self.slots.get(*self.places.get(path)?)
    }

    /// The reading under a path, or, where a path names no reading, the last one before `before` with that name.
    pub(crate) fn find(&self, path: &str, before: usize) -> Option<&Slot<'a>> {
        self.find_exactly(path).or_else(|| {
            let name = path.rsplit('/').next().unwrap_or(path);
            self.slots.iter().take(before).rev().find(|slot| slot.reading.name == name)
        })
    }
}

/// Units as a record writes them: each is understood once.
#[derive(Default)]
struct Units<'a>(IndexMap<(&'a str, &'a str), Unit>);

impl<'a> Units<'a> {
    fn read(&mut self, written: &'a str, planned: &'a Unit) -> Unit {
        if written == planned.text {
            return planned.clone();
        }
        let known = self.0.entry((written, planned.text.as_str()));
        known.or_insert_with(|| measure::unit_like(written, planned).unwrap_or_else(|| planned.clone())).clone()
    }
}
