//! What is in a made-up tank, and so in each bottle, while a made-up record goes on.

use super::Character;
use super::bench::lasting;
use super::chance::Chance;
use crate::foresight::{Drawn, Span};
use crate::plan::{Action, LabTest, Measures, Plan, Run, Step, Test, Wants, accuracy_half_width};
use crate::record::{Column, DecimalMark, Instant, Record, Value};
use indexmap::IndexMap;

/// s that a bottle is filled before or after the time that is written down. From memory.
const MOMENT: f64 = 3.0;

/// When a bottle was drawn or something done, where the records say so.
pub(super) fn drawn_at(records: &[Record], run: &str, path: &str) -> Option<Instant> {
    let mut rows = records.iter().flat_map(|record| &record.rows).rev();
    let row = rows.find(|row| row.text(Column::Run) == run && row.text(Column::Reading) == path)?;
    row.time().filter(|_| !row.text(Column::Value).is_empty())
}

/// What was written for a reading.
fn row<'a>(records: &'a [Record], run: &str, path: &str) -> Option<&'a str> {
    let mut rows = records.iter().flat_map(|record| &record.rows).rev();
    let row = rows.find(|row| row.text(Column::Run) == run && row.text(Column::Reading) == path)?;
    Some(row.text(Column::Value)).filter(|text| !text.is_empty())
}

/// The tank of a run: what is in it while the record goes on.
pub(super) struct Tank<'a> {
    pub(super) plan: &'a Plan,
    pub(super) test: &'a Test,
    pub(super) run: &'a Run,
    pub(super) records: &'a [Record],
    pub(super) seed: u64,
    pub(super) character: &'a Character,
}

/// Particles per mL by size class, and the share of each that the specimen catches while the oil goes through it.
struct Classes {
    left: Vec<f64>,
    caught: Vec<f64>,
}

impl Classes {
    /// From each size up after so many turnovers; behind the specimen, or before it.
    fn after(&self, turnovers: f64, behind: bool) -> Vec<f64> {
        let mut above = 0.0;
        let both = self.left.iter().zip(&self.caught).rev();
        let mut sums: Vec<f64> = both
            .map(|(left, caught)| {
                above += left * (-caught * turnovers).exp() * if behind { 1.0 - caught } else { 1.0 };
                above
            })
            .collect();
        sums.reverse();
        sums
    }

    /// The flow is sent through the specimen: of what is there now, its share from each size up is caught.
    fn pass(&mut self, sizes: &[f64], character: &Character) {
        let there = self.after(0.0, false);
        for (place, size) in sizes.iter().enumerate() {
            let from = |place: usize, size: f64| there.get(place).map_or(0.0, |n| n * (1.0 - character.captures(size)));
            let passed = from(place, *size) - sizes.get(place + 1).map_or(0.0, |next| from(place + 1, *next));
            let class = self.left.get(place).copied().unwrap_or(0.0);
            if let Some(caught) = self.caught.get_mut(place) {
                *caught = if class > 0.0 { 1.0 - (passed / class).clamp(0.0, 1.0) } else { 0.0 };
            }
        }
    }
}

impl<'a> Tank<'a> {
    /// Particles of dust per mL from each size up in every bottle that was drawn, by the path of its reading.
    pub(super) fn bottles(&self, all: &[Drawn<'a>], test: &LabTest) -> IndexMap<&'a str, Vec<f64>> {
        let sizes: Vec<f64> = test.sizes.iter().map(|size| size.si()).collect();
        let fresh = self.fresh(all, &sizes);
        let none = vec![0.0; sizes.len()];
        let mut tank = Classes { left: none.clone(), caught: none.clone() };
        let (mut clock, mut flow, mut volume) = (0.0, 0.0, self.volume(None));
        let mut mounted = !self.test.steps.iter().any(|step| matches!(step.action, Action::Mount { .. }));
        let mut passing = false;
        let mut found = IndexMap::new();
        for step in &self.test.steps {
            let time = step.readings.iter().rev().find_map(|r| drawn_at(self.records, &self.run.code, &r.path));
            let Some(time) = time.map(|time| time.seconds as f64) else { continue };
            let turnovers =
                |until: f64, flow: f64| if passing && volume > 0.0 { flow * (until - clock) / volume } else { 0.0 };
            if matches!(step.action, Action::CleanUp(_) | Action::ChangeFluid(_)) {
                // The bottle at its end proves it.
                tank.left.clone_from(&none);
            }
            for reading in step.readings.iter().filter(|reading| matches!(reading.wants, Wants::Bottle(_))) {
                let label = format!("moment {} {}", self.run.code, reading.path);
                let moment = time + Chance::new(self.seed, &label).between(-MOMENT, MOMENT);
                let drawn = all.iter().find(|drawn| drawn.reading.path == reading.path);
                let behind = passing && drawn.is_some_and(|drawn| drawn.behind);
                found.insert(reading.path.as_str(), tank.after(turnovers(moment, flow), behind));
            }
            let turned = turnovers(time, flow);
            for (left, caught) in tank.left.iter_mut().zip(&tank.caught) {
                *left *= (-caught * turned).exp();
            }
            clock = time;
            flow = self.flow(step).unwrap_or(flow);
            if let Some(drawn) = all.iter().find(|drawn| drawn.step.number > step.number) {
                volume = self.volume(drawn.oil);
            }
            match &step.action {
                Action::TakeRoute { route, .. } => {
                    let through = self.plan.rig.routes.get(route).and_then(|route| route.through.as_deref());
                    passing = mounted && through == Some("the specimen");
                    if passing {
                        tank.pass(&sizes, self.character);
                    }
                }
                Action::Dose { mass, .. } => {
                    let kilograms = mass.target.as_ref().map_or(0.0, |mass| mass.si());
                    let mut dose =
                        Chance::new(self.seed, &format!("dose {} {:?} {}", self.run.code, step.round, step.stage));
                    // Per mL of the tank; a little stays in pot and lines, or comes from them.
                    let scale = kilograms / volume.max(1e-9) * 1e-6 * (0.06 * dose.scatter()).exp();
                    for (left, class) in tank.left.iter_mut().zip(&fresh) {
                        *left += class * scale;
                    }
                    if passing {
                        tank.pass(&sizes, self.character);
                    }
                }
                Action::Mount { .. } => mounted = true,
                Action::Remove => (mounted, passing) = (false, false),
                _ => {}
            }
        }
        found
    }

    /// Particles in a kilogram of the dust by class.
    fn fresh(&self, all: &[Drawn<'a>], sizes: &[f64]) -> Vec<f64> {
        let per_mass = all.iter().map(|drawn| &drawn.per_mass).find(|per_mass| !per_mass.is_empty());
        let above = |size: f64| {
            let found = per_mass?.iter().find(|(at, _)| (at / size - 1.0).abs() < 1e-6)?;
            Some(found.1)
        };
        let next = |place: usize| sizes.get(place + 1).and_then(|next| above(*next)).unwrap_or(0.0);
        sizes.iter().enumerate().map(|(place, size)| (above(*size).unwrap_or(0.0) - next(place)).max(0.0)).collect()
    }

    /// m³ in the circuit: a little more or less than was measured, in every run alike.
    fn volume(&self, oil: Option<Span>) -> f64 {
        let routes = self.plan.rig.routes.values().filter_map(|route| route.volume.as_ref());
        let filled = routes.map(|volume| volume.si()).fold(0.0, f64::max);
        let oil = oil.unwrap_or(Span::exactly(filled));
        let share = Chance::new(self.seed, "volume of the circuit").between(-1.0, 1.0);
        let middle = f64::midpoint(oil.low, oil.high);
        middle + share * (oil.high - middle)
    }

    /// The flow that a step sets and reads, less what the meter is off.
    fn flow(&self, step: &Step) -> Option<f64> {
        let (numeric, path) = step.readings.iter().find_map(|reading| match &reading.wants {
            Wants::Number(numeric) if numeric.measures == Measures::Flow => Some((numeric, &reading.path)),
            _ => None,
        })?;
        let Value::Number(number) = Value::parse(row(self.records, &self.run.code, path)?, DecimalMark::Point) else {
            return None;
        };
        let shown = numeric.unit.to_si(number.value);
        let instrument = self.plan.instruments.get(numeric.instrument.as_ref()?).filter(|i| !i.is_role);
        let off = instrument.and_then(|i| Some(lasting(self.seed, &i.name) * accuracy_half_width(i, shown)?));
        Some(shown - off.filter(|off| off.is_finite()).unwrap_or(0.0)).filter(|flow| *flow > 0.0)
    }
}
