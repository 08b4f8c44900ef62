//! The bench between the steps of a plan, carried out on paper: valves, oil, heat, pressure, solvent, dust, time.
//!
//! A step is a function from state to state. Most of what a master technician would object to is a predicate on a state or on
//! a transition, and what a rehearsal predicts is read off the same states. Numbers that nobody can know beforehand are
//! [`Span`]s; what they rest on is in [`Assumed`].

mod assume;

mod bottles;

mod clock;

mod pressure;

mod span;

mod state;

mod tank;

pub use assume::{Assumed, Restriction, models};
pub use bottles::{Drawn, bottles};
pub use pressure::Predicted;
pub use span::Span;
pub use state::{State, burns, is_flammable, polishing_valves};
pub use tank::{Class, Grid, Places, Powder, Stretch, Tank, distribution};

use indexmap::IndexMap;

use crate::plan::{Action, CleanUp, Plan, Run, Step, Test, Wants, curve};
use crate::quantity::si::Temperature;
use crate::trade::cleanliness::iso4406::Code;
use crate::trade::viscosity::Curve;
use uom::si::thermodynamic_temperature::kelvin;

/// A test carried out on paper: the plan, and all that is worked out once for its steps.
#[derive(Debug)]
pub struct Paper<'p> {
    pub plan: &'p Plan,
    pub test: &'p Test,
    /// What the specimens are taken to be like.
    pub assumed: Assumed<'p>,
    /// The size classes in which dust is tracked.
    pub grid: Grid,
    /// What each dust of the plan brings into the classes.
    pub powders: IndexMap<&'p str, Powder>,
    curves: IndexMap<&'p str, Curve>,
    /// Steps with a dose that a later step injects.
    pending: Vec<bool>,
    /// Whether the test says when a specimen is mounted.
    mounts: bool,
    /// J/(m³ K), of oil: 870 kg/m³ times 2000 J/(kg K), handbook values from memory.
    pub heat_capacity: f64,
    /// K.
    room: f64,
}

impl<'p> Paper<'p> {
    /// A test and the runs that follow it; without runs, nothing is known of the specimens' models.
    pub fn new(plan: &'p Plan, runs: &[&Run], test: &'p Test) -> Self {
        let assumed = Assumed::of(plan, runs, test);
        let counted = plan.laboratories.values().flat_map(|lab| lab.tests.values()).flat_map(|test| &test.sizes);
        let polisher = plan.rig.polisher.as_ref().map(|p| (p.removes.value.0.si_difference(), p.removes.value.1.si()));
        let grid = Grid::new(counted.map(|size| size.si()), &assumed, polisher);
        let powders = plan.dusts.iter().map(|(name, dust)| (name.as_str(), grid.powder(dust))).collect();
        let curves = plan.fluids.iter().filter_map(|(name, fluid)| Some((name.as_str(), curve(fluid).ok()?))).collect();
        let mounts = test.steps.iter().any(|step| matches!(step.action, Action::Mount { .. }));
        let room = plan.rules.point("room-temperature").unwrap_or(293.15);
        Self {
            plan,
            test,
            assumed,
            grid,
            powders,
            curves,
            pending: pending(test),
            mounts,
            heat_capacity: 870.0 * 2000.0,
            room,
        }
    }

    /// The bench before the first step.
    pub fn start(&self) -> State<'p> {
        State { tank: Tank::clean(self.grid.classes.len()), ..State::default() }
    }

    /// The bench after a step.
    pub fn after(&self, before: &State<'p>, step: &'p Step) -> State<'p> {
        let lasts = self.lasts(before, &step.action);
        let mut state = before.turned(self.plan, step);
        state.clock = before.clock.plus(lasts);
        if let Some(since) = &mut state.since_dose {
            *since = since.plus(lasts);
        }
        // A route or a flow that this step takes holds from its end on; what goes on meanwhile is the state before it.
        self.flow(before, &mut state, &step.action, lasts);
        self.pours(before, &mut state, step);
        self.heats(&mut state, &step.action);
        self.doses(&mut state, step);
        state
    }

    /// The bench before and after each step, in order.
    pub fn walk(&self) -> impl Iterator<Item = (&'p Step, State<'p>, State<'p>)> + '_ {
        let mut before = self.start();
        self.test.steps.iter().map(move |step| {
            let after = self.after(&before, step);
            (step, std::mem::replace(&mut before, after.clone()), after)
        })
    }

    /// m²/s, of a fluid at a temperature (K); `None` without a curve or outside the equation's domain.
    pub fn viscosity(&self, fluid: &str, temperature: f64) -> Option<f64> {
        let found = self.curves.get(fluid)?.viscosity_at(Temperature::new::<kelvin>(temperature)).ok()?;
        Some(found.value.value)
    }

    /// The flow that the pump gives, m³/s: as it was set, or between what the pump can give, or none.
    fn pumped(&self, state: &State<'p>) -> Span {
        let stopped = state.pump.is_some_and(|(on, _)| !on);
        match state.flow {
            _ if stopped => Span::default(),
            Some((flow, _)) => Span::exactly(flow),
            None if state.pump_runs() => {
                let delivers = &self.plan.rig.pump_delivers.window;
                let high = delivers.high.or(delivers.low).unwrap_or(0.0);
                Span::between(delivers.low.unwrap_or(high), high)
            }
            None => Span::default(),
        }
    }

    fn flow(&self, before: &State<'p>, state: &mut State<'p>, action: &Action, lasts: Span) {
        let clean_up = matches!(action, Action::CleanUp(_));
        let through = state::through(&self.plan.rig, before);
        let pumped = self.pumped(before);
        let catching = before.mounted.is_some() || before.throw_away || !self.mounts;
        let by_specimen =
            if through == Some("the specimen") && catching && !clean_up { pumped } else { Span::default() };
        let by_polisher = if through == Some("the polisher") || clean_up { pumped } else { Span::default() };
        let Some(oil) = before.oil() else { return };
        if let Some(exposed) = &mut state.exposed
            && by_specimen.high > 0.0
        {
            *exposed = exposed.plus(lasts);
        }
        let slow = Stretch { specimen: by_specimen.low, polisher: by_polisher.low, volume: oil.high, time: lasts.low };
        let fast =
            Stretch { specimen: by_specimen.high, polisher: by_polisher.high, volume: oil.low, time: lasts.high };
        state.tank.flow(&self.grid, &slow, &fast);
        if let Action::CleanUp(CleanUp { background: Some(code), .. }) = action
            && let Some(limit) = code.parse::<Code>().ok().and_then(|code| code.bands().first().copied()??.up_to)
        {
            // Per mL in the code, per m³ here.
            state.tank.clean_to(limit * 1e6, oil.low, &self.grid);
        }
    }

    /// Volumes: the circuit is as full as its route says; bottles take from it, slurries add.
    fn pours(&self, before: &State<'p>, state: &mut State<'p>, step: &Step) {
        match &step.action {
            Action::TakeRoute { route, .. } => {
                let doubt = self.plan.rules.number("system-volume").unwrap_or(0.05);
                let volume = self.plan.rig.routes.get(route).and_then(|route| route.volume.as_ref());
                state.filled = volume.map(|volume| Span::about(volume.si(), doubt)).or(before.filled);
            }
            Action::HoldLevel(_) => state.refilled(),
            Action::ChangeFluid(_) => {
                state.refilled();
                state.tank.emptied();
            }
            Action::Mount { .. } | Action::Remove => state.tank.specimen_off(),
            Action::Dose { carrier, preparation, .. } => {
                let rinse = preparation.rinse.as_ref().map_or(0.0, |(times, volume)| f64::from(*times) * volume.si());
                state.brought += carrier.si() + rinse;
            }
            Action::Condition { carrier, .. } => state.brought += carrier.si(),
            Action::RinseInjector { times, volume } => state.brought += f64::from(*times) * volume.si(),
            _ => {}
        }
        for reading in &step.readings {
            let Wants::Bottle(bottle) = &reading.wants else { continue };
            let lost = bottle.flush.as_ref().filter(|_| bottle.flush_ends.as_deref() != Some("returned"));
            let taken = f64::from(bottle.pieces()) * bottle.volume.si() + lost.map_or(0.0, |flush| flush.si());
            state.drawn += taken;
            if let Some(oil) = state.oil() {
                state.tank.draw(taken / oil.middle().max(1e-9));
            }
        }
    }

    fn heats(&self, state: &mut State<'p>, action: &Action) {
        let fluid = state.fluid.map(|(fluid, _)| fluid);
        let at = |low: f64, high: f64| {
            let fluid = fluid?;
            Some(Span::between(self.viscosity(fluid, low)?, self.viscosity(fluid, high)?))
        };
        match action {
            Action::HoldViscosity(hold) => {
                let (low, high) = (hold.window.low.unwrap_or(hold.target), hold.window.high.unwrap_or(hold.target));
                state.viscosity = Some(Span::between(low, high));
            }
            Action::HoldTemperature(setting) => {
                let target = setting.target.as_ref().map(|target| target.si());
                let (low, high) = (setting.window.low.or(target), setting.window.high.or(target));
                state.viscosity = low.zip(high).and_then(|(low, high)| at(low, high));
            }
            Action::Cool { to } => state.viscosity = at(to.si(), to.si()),
            Action::UseFluid { .. } if state.temperature.is_none() => state.viscosity = None,
            Action::ChangeFluid(_) => state.viscosity = None,
            _ => {}
        }
    }

    fn doses(&self, state: &mut State<'p>, step: &'p Step) {
        let here = step.origin;
        let later = usize::try_from(step.number).ok().and_then(|number| self.pending.get(number)).copied();
        match &step.action {
            Action::Dose { mass, dust, carrier, preparation, .. } => {
                let Some((mass, powder)) = mass.target.as_ref().map(|m| m.si()).zip(self.powders.get(dust.as_str()))
                else {
                    return;
                };
                let flow = preparation.inject.as_ref().and_then(|(setting, _)| Some(setting.target.as_ref()?.si()));
                match flow.filter(|flow| *flow > 0.0 && carrier.si() > 0.0) {
                    Some(flow) => state.tank.feed(mass, mass * flow / carrier.si(), powder),
                    None if later == Some(true) => {
                        state.slurry = Some((mass, carrier.si(), dust.as_str()));
                        return;
                    }
                    None => state.tank.dose(mass, powder),
                }
                state.dose_is_in(mass, here);
            }
            Action::Condition { mass, dust, carrier, .. } => {
                state.throw_away = state.mounted.is_none();
                let Some(mass) = mass.target.as_ref().map(|m| m.si()) else { return };
                if later == Some(true) {
                    state.slurry = Some((mass, carrier.si(), dust.as_str()));
                } else if let Some(powder) = self.powders.get(dust.as_str()) {
                    state.tank.dose(mass, powder);
                }
            }
            Action::Inject { flow, feed } => {
                let Some(flow) = flow.target.as_ref().map(|flow| flow.si()).filter(|flow| *flow > 0.0) else { return };
                let Some((mass, carrier, dust)) = state.slurry.take() else { return };
                let Some(powder) = self.powders.get(dust) else { return };
                let rate = match feed {
                    Some(feed) => feed.si() * flow,
                    None if carrier > 0.0 => mass * flow / carrier,
                    None => return,
                };
                state.tank.feed(mass, rate, powder);
                state.dose_is_in(mass, here);
            }
            Action::Mount { .. } | Action::Remove => state.throw_away = false,
            _ => {}
        }
    }
}

/// For each step (by number) whether it prepares a dose that a later step of the same stage injects.
fn pending(test: &Test) -> Vec<bool> {
    let mut pending = vec![false; test.steps.len() + 1];
    let mut open: Option<(usize, usize)> = None;
    for (index, step) in test.steps.iter().enumerate() {
        match &step.action {
            Action::Dose { .. } | Action::Condition { .. } => open = Some((index + 1, step.stage)),
            Action::Inject { .. } => {
                if let Some((dose, stage)) = open.take()
                    && stage == step.stage
                    && let Some(slot) = pending.get_mut(dose)
                {
                    *slot = true;
                }
            }
            _ => {}
        }
    }
    pending
}
