//! The bench while a made-up run goes on: what is set, how much dust there is, what the gauges would show.

use super::Character;
use super::chance::Chance;
use crate::plan::{Action, Measures, Numeric, Plan, Step, Test, Wants, accuracy_limits, curve};
use crate::quantity::si::Temperature;
use crate::quantity::{Quantity, Window};
use crate::trade::viscosity::Curve;
use indexmap::IndexMap;
use uom::si::thermodynamic_temperature::kelvin;

/// What holds at a moment of the run. SI throughout.
pub(super) struct Bench<'a> {
    plan: &'a Plan,
    character: &'a Character,
    flow: f64,
    viscosity: f64,
    temperature: f64,
    /// What the plan asks for: the pressure of the dust is that at this flow and viscosity.
    asked: (f64, f64),
    /// What the operator read when he set the last thing that he sets, and of which kind it was.
    shown: Option<(Measures, f64)>,
    /// What zeroing left of a gauge's offset, as a share of its limits.
    zeroed: IndexMap<&'a str, f64>,
    /// kg on the specimen, and kg in the tank on its way to it.
    dust: f64,
    floating: f64,
    /// m³ in the circuit, and whether it goes through the specimen.
    volume: f64,
    through: bool,
    curves: IndexMap<&'a str, Curve>,
    seed: u64,
    /// Whether the specimen is on the adaptor; without it the housing alone restricts.
    mounted: bool,
    /// The rise that the capacity stands for.
    full_rise: f64,
    /// No differential pressure of this loop goes beyond it: the last dose of a bench that watches its gauge.
    most: Option<f64>,
}

impl<'a> Bench<'a> {
    pub(super) fn new(plan: &'a Plan, test: &Test, character: &'a Character, seed: u64) -> Bench<'a> {
        let full_rise = test.batches.iter().map(|batch| batch.terminal.si()).fold(0.0, f64::max);
        Bench {
            plan,
            character,
            flow: 0.0,
            viscosity: 20e-6,
            temperature: 295.0,
            asked: (0.0, 20e-6),
            shown: None,
            zeroed: IndexMap::new(),
            dust: 0.0,
            floating: 0.0,
            volume: plan.rig.routes.values().filter_map(|r| r.volume.as_ref()).map(Quantity::si).fold(0.0, f64::max),
            through: true,
            curves: plan.fluids.iter().filter_map(|(name, fluid)| Some((name.as_str(), curve(fluid).ok()?))).collect(),
            seed,
            mounted: !test.steps.iter().any(|step| matches!(step.action, Action::Mount { .. })),
            full_rise: if full_rise > 0.0 { full_rise } else { 70_000.0 },
            most: None,
        }
    }

    /// A step is carried out.
    pub(super) fn carry_out(&mut self, step: &'a Step, chance: &mut Chance) {
        self.shown = None;
        match &step.action {
            Action::TakeRoute { route, .. } => {
                let route = self.plan.rig.routes.get(route);
                self.through = route.is_none_or(|route| route.through.as_deref() == Some("the specimen"));
                self.volume = route.and_then(|route| route.volume.as_ref()).map_or(self.volume, Quantity::si);
            }
            Action::CleanUp(_) => self.floating = 0.0,
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
                let target = setting.target.as_ref().map_or(self.flow, |target| target.si());
                self.asked.0 = target;
                self.flow = self.set_by_instrument(step, Measures::Flow, target, chance);
            }
            Action::Zero { instrument, .. } => {
                if let Some((name, _)) = self.plan.instruments.get_key_value(instrument.as_str()) {
                    self.zeroed.insert(name, chance.between(-1.0, 1.0));
                }
            }
            Action::BypassFlow { flow, .. } => self.flow = flow.si(),
            Action::HoldViscosity(hold) => {
                // Near the middle of what is allowed, and as thick as the oil then is.
                self.asked.1 = hold.target;
                self.temperature = self.set_by_instrument(step, Measures::Temperature, hold.temperature, chance);
                let at = Temperature::new::<kelvin>(self.temperature);
                let found = self.curves.get(hold.fluid.as_str()).and_then(|curve| curve.viscosity_at(at).ok());
                self.viscosity = found.map_or(hold.target, |found| found.value.value);
            }
            Action::HoldTemperature(setting) => {
                let target = setting.target.as_ref().map_or(self.temperature, |target| target.si());
                self.temperature = self.set_by_instrument(step, Measures::Temperature, target, chance);
            }
            Action::Cool { to } => self.temperature = to.si(),
            Action::Switch { what, on } if what == "pump" && !on => self.flow = 0.0,
            Action::Mount { .. } => {
                self.dust = 0.0;
                self.floating = 0.0;
                self.mounted = true;
            }
            Action::Remove => self.mounted = false,
            Action::Dose { mass, .. } => {
                let target = mass.target.as_ref().map_or(0.0, |target| target.si());
                self.floating += self.set_by_instrument(step, Measures::Mass, target, chance);
            }
            _ => {}
        }
    }

    /// What really is when the operator has set an instrument's reading near the target: the reading less what the instrument
    /// is off. The reading itself is kept for the record.
    fn set_by_instrument(&mut self, step: &Step, what: Measures, target: f64, chance: &mut Chance) -> f64 {
        let numbers = step.readings.iter().filter_map(|reading| match &reading.wants {
            Wants::Number(numeric) if numeric.measures == what => Some(numeric),
            _ => None,
        });
        let mut numbers = numbers.filter_map(|numeric| Some((numeric, numeric.window?)));
        let Some((numeric, window)) = numbers.next() else { return target };
        let value = self.set(numeric, window, chance);
        let shown = self.on_the_scale(numeric, value, chance);
        self.shown = Some((what, shown));
        shown - self.off(numeric, shown)
    }

    /// Time passes, in s: the dust in the tank goes to the specimen, dM/dt = −Q E M/V.
    pub(super) fn goes_on(&mut self, time: f64) {
        if self.mounted && self.through && self.volume > 0.0 {
            let caught = -(-self.flow * self.character.catch * time / self.volume).exp_m1() * self.floating;
            self.floating -= caught;
            self.dust += caught;
        }
    }

    /// The differential pressure of the loop that goes on is kept below this.
    pub(super) fn keep_below(&mut self, most: Option<f64>) {
        self.most = most;
    }

    /// The differential pressure that dust and flow give.
    pub(super) fn differential(&self) -> f64 {
        let character = self.character;
        let housing = character.housing * self.flow * self.flow;
        if !self.mounted {
            return housing;
        }
        let clean =
            housing + character.laminar * self.flow * self.viscosity + character.inertial * self.flow * self.flow;
        let share = self.dust / character.capacity;
        let bent = if character.bend.abs() < 1e-6 {
            share
        } else {
            (character.bend * share).exp_m1() / character.bend.exp_m1()
        };
        // What the dust costs grows with flow and viscosity alike: a cake is flowed through slowly.
        let alike = if self.asked.0 > 0.0 { self.flow / self.asked.0 * self.viscosity / self.asked.1 } else { 1.0 };
        clean + self.full_rise * bent * alike
    }

    /// What a reading would show, on the grid of its instrument and inside what the plan allows.
    pub(super) fn show(&mut self, numeric: &Numeric, name: &str, chance: &mut Chance) -> f64 {
        if let (Some(_), Some((what, shown))) = (numeric.window, self.shown)
            && what == numeric.measures
        {
            return shown;
        }
        let value = match numeric.window {
            Some(window) => self.set(numeric, window, chance),
            None => {
                let value = self.measured(numeric, name, chance);
                value + self.off(numeric, value)
            }
        };
        let dp = numeric.measures == Measures::DifferentialPressure && numeric.window.is_none();
        let value = self.most.filter(|_| dp).map_or(value, |most| value.min(most));
        let shown = self.on_the_scale(numeric, value, chance);
        if name.starts_with("left") && numeric.measures == Measures::Mass {
            self.floating = (self.floating - shown).max(0.0);
        }
        shown
    }

    fn on_the_scale(&self, numeric: &Numeric, value: f64, chance: &mut Chance) -> f64 {
        let mut bounds = numeric.window.unwrap_or_default();
        for further in [numeric.stop, numeric.expect].into_iter().flatten() {
            bounds = bounds.and(further);
        }
        let instrument = numeric.instrument.as_ref().and_then(|name| self.plan.instruments.get(name));
        let instrument = instrument.filter(|instrument| !instrument.is_role);
        if let Some(instrument) = instrument {
            bounds = bounds.and(instrument.range.window);
        }
        let step = instrument.map_or(0.0, |instrument| instrument.resolution.si_difference());
        let unit = &numeric.unit;
        let coarse = unit.to_si_difference(10_f64.powi(-i32::try_from(numeric.decimals).unwrap_or(6)));
        settle(value, bounds, step.max(coarse), unit.to_si(0.0), chance)
    }

    /// How far its instrument is off: anywhere within its accuracy alike. A gain is the same in every reading and every run; an
    /// offset too, but for gauges that are zeroed, which begin anew each time.
    fn off(&self, numeric: &Numeric, value: f64) -> f64 {
        let instrument = numeric.instrument.as_ref().and_then(|name| self.plan.instruments.get(name));
        let Some(instrument) = instrument.filter(|instrument| !instrument.is_role) else { return 0.0 };
        let Some(limits) = accuracy_limits(instrument, value).filter(|l| l.offset.is_finite() && l.gain.is_finite())
        else {
            return 0.0;
        };
        let lasting = lasting(self.seed, &instrument.name);
        let offset = self.zeroed.get(instrument.name.as_str()).copied().unwrap_or(lasting);
        offset * limits.offset + lasting * limits.gain
    }

    /// What the operator sets lies near the target.
    fn set(&self, numeric: &Numeric, window: Window, chance: &mut Chance) -> f64 {
        let target = numeric.target.as_ref().map(|target| target.si());
        let ends = match (window.low, window.high) {
            (Some(low), Some(high)) => ((low + high) / 2.0, (high - low) / 2.0),
            (Some(low), None) => (low + 0.05 * low.abs(), 0.05 * low.abs()),
            (None, Some(_)) if numeric.measures == Measures::Temperature => (self.temperature - 0.6, 0.8),
            (None, Some(high)) => (high - 0.2 * high.abs(), 0.1 * high.abs()),
            (None, None) => (0.0, 0.0),
        };
        target.unwrap_or(ends.0) + 0.22 * ends.1 * chance.scatter()
    }

    fn measured(&self, numeric: &Numeric, name: &str, chance: &mut Chance) -> f64 {
        let noise = 1.0 + self.character.scatter * chance.scatter();
        match numeric.measures {
            Measures::DifferentialPressure if self.flow > 0.0 => self.differential() * noise,
            Measures::Flow if self.flow > 0.0 => self.flow * noise,
            Measures::Temperature => self.temperature + 0.15 * chance.scatter(),
            Measures::GaugePressure if self.flow > 0.0 => (self.differential() + 15_000.0) * noise,
            Measures::Mass if name.starts_with("left") => 1e-6 * chance.between(0.0, 12.0),
            _ => {
                let instrument = numeric.instrument.as_ref().and_then(|name| self.plan.instruments.get(name));
                let range = numeric.expect.or(instrument.map(|instrument| instrument.range.window)).unwrap_or_default();
                let middle = match (range.low, range.high) {
                    (Some(low), Some(high)) if low > 0.0 => (low * high).sqrt(),
                    (_, Some(high)) => 0.4 * high,
                    (Some(low), None) => 1.3 * low,
                    (None, None) => numeric.unit.to_si(10.0),
                };
                middle * self.character.habit.exp() * noise
            }
        }
    }
}

/// How far an instrument is off for good, as a share of its limits.
pub(super) fn lasting(seed: u64, instrument: &str) -> f64 {
    Chance::new(seed, &format!("instrument {instrument}")).between(-1.0, 1.0)
}

/// The value on the instrument's grid, moved to the nearest mark inside the bounds where it fell outside. Where two
/// bounds leave room, a mark at the very edge is avoided.
fn settle(value: f64, bounds: Window, step: f64, origin: f64, chance: &mut Chance) -> f64 {
    let step = if step > 0.0 { step } else { 1e-9 };
    let mark = |value: f64| ((value - origin) / step).round();
    let mut at = mark(value);
    let low = bounds.low.map(|low| ((low - origin) / step - 1e-9).ceil());
    let high = bounds.high.map(|high| ((high - origin) / step + 1e-9).floor());
    if let Some(high) = high.filter(|high| at > *high) {
        at = high - (chance.between(0.0, 2.0)).floor();
    }
    if let Some(low) = low.filter(|low| at < *low) {
        at = low + (chance.between(0.0, 2.0)).floor();
    }
    if let (Some(low), Some(high)) = (low, high) {
        at = at.clamp(low.min(high), high);
    }
    origin + at * step
}
