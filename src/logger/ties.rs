//! Which stretch of the series belongs to which step: the times of the record say it.

use indexmap::IndexMap;

use super::limits::Limits;
use super::marks::{Mark, Marks};
use super::watch::Watch;
use crate::plan::{Action, Drift, Dwell, LoggerFile, Measures, Numeric, Origin, Plan, Reading, Run, Step, Test, Wants};
use crate::quantity::{Quantity, Unit, Window};
use crate::record::{Column, Record, Row};

/// What a stretch is held against.
pub(super) enum Purpose<'p> {
    /// A setting, from the row where it was set to the last row before the next one.
    Held,
    /// A dwell before a reading, in seconds.
    Dwell { least: f64, at: Origin },
    /// A reading that is taken when it no longer drifts.
    Drift { rule: &'p Drift, at: Origin },
    /// A limit that stops the run.
    Limit { said: &'static str, bound: Quantity, at: Option<Origin> },
    /// A stage that is logged, every so many seconds.
    Logged { every: f64, stage: &'p str, at: Origin },
    /// A reading that was typed.
    Typed { value: f64, tolerance: f64 },
}

/// A stretch with its purpose.
pub(super) struct Tie<'p> {
    pub(super) purpose: Purpose<'p>,
    pub(super) run: &'p str,
    /// The reading, or none for a limit.
    pub(super) reading: Option<&'p Reading>,
    /// Row of the record.
    pub(super) row: Option<(&'p Record, &'p Row)>,
    pub(super) watch: Watch,
}

/// When a reading was taken: a moment that a person wrote down, or the rows that bear its marker.
#[derive(Clone, Copy)]
struct Taken {
    first: f64,
    last: f64,
    /// How coarsely it was written, in seconds.
    grain: f64,
    /// Seconds to either side that a person writes late or early.
    slack: f64,
}

struct Held<'p> {
    start: f64,
    end: f64,
    window: Window,
    reading: &'p Reading,
    row: (&'p Record, &'p Row),
}

/// A window of SI in the unit of a column.
pub(super) fn in_unit(window: Window, unit: &Unit) -> Window {
    Window { low: window.low.map(|low| unit.from_si(low)), high: window.high.map(|high| unit.from_si(high)) }
}

/// Everything that the record of a run asks of the series. Where a file has markers, they say when; otherwise the record.
pub(super) fn of_run<'p>(
    plan: &'p Plan,
    run: &'p Run,
    records: &'p [Record],
    layout: &LoggerFile,
    marks: Option<&Marks>,
) -> Vec<Tie<'p>> {
    let Some(test) = plan.test_of(run) else { return Vec::new() };
    let mut rows: IndexMap<&str, (&'p Record, &'p Row)> = IndexMap::new();
    for record in records {
        for row in record.rows.iter().filter(|row| row.text(Column::Run) == run.code && row.is_filled()) {
            rows.insert(row.text(Column::Reading), (record, row));
        }
    }
    let limits = Limits::of(plan);
    let mut walk = Walk { plan, run, test, rows, layout, marks, limits, held: Vec::new(), ties: Vec::new() };
    walk.steps();
    walk.limits();
    walk.logs();
    walk.ties
}

struct Walk<'p, 'l> {
    plan: &'p Plan,
    run: &'p Run,
    test: &'p Test,
    rows: IndexMap<&'p str, (&'p Record, &'p Row)>,
    layout: &'l LoggerFile,
    marks: Option<&'l Marks>,
    limits: Limits,
    /// What is held at the moment, one for each channel at most.
    held: Vec<(usize, Held<'p>)>,
    ties: Vec<Tie<'p>>,
}

impl<'p> Walk<'p, '_> {
    fn channel(&self, numeric: &Numeric) -> Option<(usize, &Unit)> {
        let instrument = numeric.instrument.as_deref()?;
        let at = self.layout.channels.iter().position(|channel| channel.instrument == instrument)?;
        self.layout.channels.get(at).map(|channel| (at, &channel.unit))
    }

    /// The row of a reading, and when it was taken.
    fn row(&self, reading: &Reading) -> Option<((&'p Record, &'p Row), Taken)> {
        let (record, row) = self.rows.get(reading.path.as_str()).copied()?;
        let taken = match self.marks {
            Some(marks) => {
                let Mark { first, last } = marks.get(&self.run.code, &reading.path)?;
                Taken { first, last, grain: 0.0, slack: 0.0 }
            }
            None => {
                let time = row.time()?;
                let (first, grain) = (time.seconds as f64, time.grain as f64);
                Taken { first, last: first, grain, slack: self.limits.written_late }
            }
        };
        Some(((record, row), taken))
    }

    fn add(
        &mut self,
        purpose: Purpose<'p>,
        reading: Option<&'p Reading>,
        row: Option<(&'p Record, &'p Row)>,
        watch: Watch,
    ) {
        self.ties.push(Tie { purpose, run: &self.run.code, reading, row, watch });
    }

    fn steps(&mut self) {
        let mut stage = usize::MAX;
        let mut dwell: Option<(&'p Dwell, Origin)> = None;
        let mut drift: Option<(&'p Drift, Origin)> = None;
        for step in &self.test.steps {
            if step.stage != stage || ends_holding(&step.action) {
                self.release(|_| true);
                (dwell, drift) = (None, None);
            }
            stage = step.stage;
            match &step.action {
                Action::Settle(waited) | Action::Wait(waited) => {
                    dwell = Some((waited, step.origin));
                    drift = waited.until.as_ref().map(|until| (until, step.origin));
                }
                Action::SetFlow { .. } => drift = None,
                _ => {}
            }
            for reading in &step.readings {
                let Some((row, taken)) = self.row(reading) else { continue };
                let time = taken.last;
                for (_, held) in &mut self.held {
                    held.end = held.end.max(time);
                }
                if !matches!(step.action, Action::Settle(_) | Action::Wait(_))
                    && taken.grain < 60.0
                    && !sets(&step.action)
                    && let Some((waited, at)) = dwell.take()
                {
                    self.dwell(waited.least.si(), at, reading, row, time);
                }
                let Wants::Number(numeric) = &reading.wants else { continue };
                if let Some((rule, at)) = drift
                    && rule.reading.rsplit('/').next() == Some(reading.name.as_str())
                    && let Some((channel, _)) = self.channel(numeric)
                {
                    let watch = Watch::new(channel, time - rule.within.si(), time, Window::default()).with_slope();
                    self.add(Purpose::Drift { rule, at }, Some(reading), Some(row), watch);
                }
                self.number(step, reading, numeric, row, taken);
            }
        }
        self.release(|_| true);
    }

    fn number(
        &mut self,
        step: &'p Step,
        reading: &'p Reading,
        numeric: &'p Numeric,
        row: (&'p Record, &'p Row),
        taken: Taken,
    ) {
        let Some((channel, unit)) = self.channel(numeric) else { return };
        let unit = unit.clone();
        if let Some(window) = numeric.window.filter(|_| sets(&step.action)) {
            self.release(|other| other == channel);
            let window = in_unit(window, &unit);
            self.held.push((channel, Held { start: taken.last, end: taken.last, window, reading, row }));
        }
        if matches!(step.action, Action::Zero { .. }) {
            return;
        }
        // Only what was written in the planned unit: another unit is a finding of the record itself.
        let written = row.1.text(Column::Unit);
        let Some(number) = row.0.value(row.1).number().filter(|_| written.is_empty() || written == numeric.unit.text)
        else {
            return;
        };
        let resolution = numeric.instrument.as_ref().and_then(|name| self.plan.instruments.get(name));
        let resolution = resolution.map_or(0.0, |instrument| instrument.resolution.si_difference());
        let last_digit = numeric.unit.to_si_difference(10_f64.powi(-i32::try_from(numeric.decimals).unwrap_or(0)));
        let tolerance = unit.from_si_difference(2.0 * resolution.max(last_digit));
        let value = unit.from_si(numeric.unit.to_si(number.value));
        let (start, end) = (taken.first - taken.slack, taken.last + taken.grain + taken.slack);
        let watch = Watch::new(channel, start, end, Window::default());
        self.add(Purpose::Typed { value, tolerance }, Some(reading), Some(row), watch);
    }

    fn dwell(&mut self, least: f64, at: Origin, reading: &'p Reading, row: (&'p Record, &'p Row), time: f64) {
        let mut found = Vec::new();
        for (channel, held) in &self.held {
            let start = held.start.max(time - least);
            if start < time {
                found.push((held.reading, Watch::new(*channel, start, time, held.window)));
            }
        }
        for (_, watch) in found {
            self.add(Purpose::Dwell { least, at }, Some(reading), Some(row), watch);
        }
    }

    fn release(&mut self, which: impl Fn(usize) -> bool) {
        let (over, stays): (Vec<_>, Vec<_>) = self.held.drain(..).partition(|(channel, _)| which(*channel));
        self.held = stays;
        for (channel, held) in over.into_iter().filter(|(_, held)| held.end > held.start) {
            let watch = Watch::new(channel, held.start, held.end, held.window);
            self.add(Purpose::Held, Some(held.reading), Some(held.row), watch);
        }
    }

    /// First and last time of the rows of some steps.
    fn times<'s>(&self, steps: impl Iterator<Item = &'s Step>) -> Option<(f64, f64)> {
        let times = steps.flat_map(|step| &step.readings).filter_map(|reading| self.row(reading));
        times.fold(None, |span, (_, taken)| {
            let (low, high) = span.unwrap_or((taken.first, taken.last));
            Some((taken.first.min(low), taken.last.max(high)))
        })
    }

    fn limits(&mut self) {
        let Some((start, end)) = self.times(self.test.steps.iter()) else { return };
        let limits = &self.test.limits;
        let of = |measures| match measures {
            Measures::Temperature => Some(("fluid temperature at most", limits.fluid_temperature.clone()?)),
            Measures::GaugePressure => Some(("line pressure at most", limits.line_pressure.clone()?)),
            Measures::DifferentialPressure => {
                Some(("differential pressure at most", limits.differential_pressure.clone()?))
            }
            _ => None,
        };
        for (at, channel) in self.layout.channels.iter().enumerate() {
            let measures = self.plan.instruments.get(&channel.instrument).map(|instrument| instrument.measures);
            let Some((said, bound)) = measures.and_then(of) else { continue };
            let window = in_unit(Window::at_most(bound.si()), &channel.unit);
            let purpose = Purpose::Limit { said, bound, at: limits.origin(said) };
            self.add(purpose, None, None, Watch::new(at, start, end, window));
        }
    }

    fn logs(&mut self) {
        for stage in &self.test.stages {
            let steps = self.test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
            let Some((start, end)) = self.times(steps.iter()) else { continue };
            for (names, every) in &stage.logs {
                let mut channels: IndexMap<usize, &'p Reading> = IndexMap::new();
                for reading in steps.iter().flat_map(|step| &step.readings).filter(|r| names.contains(&r.name)) {
                    if let Wants::Number(numeric) = &reading.wants
                        && let Some((channel, _)) = self.channel(numeric)
                    {
                        channels.entry(channel).or_insert(reading);
                    }
                }
                for (channel, reading) in channels {
                    let purpose = Purpose::Logged { every: every.si(), stage: &stage.name, at: stage.origin };
                    let row = self.row(reading).map(|(row, _)| row);
                    self.add(purpose, Some(reading), row, Watch::new(channel, start, end, Window::default()));
                }
            }
        }
    }
}

/// Whether a step sets something that is then held.
fn sets(action: &Action) -> bool {
    matches!(
        action,
        Action::HoldFlow(_)
            | Action::HoldTemperature(_)
            | Action::HoldViscosity(_)
            | Action::HoldBackPressure(_)
            | Action::SetFlow { .. }
    )
}

/// Whether a step ends all holding: after it flow and temperature are another matter.
fn ends_holding(action: &Action) -> bool {
    matches!(
        action,
        Action::Switch { .. }
            | Action::Cool { .. }
            | Action::Vent
            | Action::TakeRoute { .. }
            | Action::Valve { .. }
            | Action::Mount { .. }
            | Action::Remove
            | Action::ChangeFluid(_)
            | Action::CleanUp(_)
    )
}
