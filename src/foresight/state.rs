//! The bench between two steps, as far as the plan tells: valves, oil, heat, pressure, solvent, dust, time.

use super::{Grid, Span, Tank};
use crate::plan::{Action, Fluid, Origin, Plan, Rig, Step};

/// The bench between two steps. `None` and empty mean that nothing has been said yet.
#[derive(Debug, Clone, Default)]
pub struct State<'p> {
    /// Where each valve that was set stands: open or closed.
    pub(super) valves: Vec<(&'p str, bool)>,
    /// The route in force and the step that took it.
    pub route: Option<(&'p str, Origin)>,
    pub fluid: Option<(&'p str, Origin)>,
    /// The temperature to which the oil was last brought, in K.
    pub temperature: Option<(f64, Origin)>,
    pub pump: Option<(bool, Origin)>,
    pub heater: Option<(bool, Origin)>,
    /// Set from the moment a flow is made until the rig is vented with the pump off.
    pub pressure: Option<Origin>,
    /// What has been wet with a solvent that burns, and not yet been proved dry.
    pub solvent: Option<(&'p str, Origin)>,
    /// Dust put into the loop and not cleaned up since.
    pub loop_dust: Option<Origin>,
    /// Dust put in while this specimen was in place.
    pub specimen_dust: Option<Origin>,
    pub mounted: Option<Origin>,
    /// The flow that was set last, m³/s; zero once the pump has stopped.
    pub flow: Option<(f64, Origin)>,
    /// s since the test's first step.
    pub clock: Span,
    /// s during which the dust of the last dose has gone through the specimen; `None` before any dose.
    pub exposed: Option<Span>,
    /// s since the last dose was in; `None` before any dose.
    pub since_dose: Option<Span>,
    /// The last dose: its mass in kg and where it was asked for.
    pub dosed: Option<(f64, Origin)>,
    /// Oil drawn off since the circuit was filled, m³, and oil brought in with dust.
    pub drawn: f64,
    pub brought: f64,
    /// m³: the circuit as filled, bottles and slurries not counted.
    pub(super) filled: Option<Span>,
    /// m²/s.
    pub(super) viscosity: Option<Span>,
    /// Pa, gauge, behind the specimen.
    pub back_pressure: f64,
    /// Whether a filter that is thrown away afterwards stands in the specimen's place.
    pub(super) throw_away: bool,
    /// A slurry that waits for its injection: dust in kg, carrier in m³, the dust's name.
    pub(super) slurry: Option<(f64, f64, &'p str)>,
    /// The dust by size class.
    pub tank: Tank,
}

/// An hour in the air dries a specimen that was wet with solvent; less does not.
const AIRING: f64 = 3600.0;

impl<'p> State<'p> {
    /// What a step turns, says or sets; time, oil and dust follow in [`Paper::after`].
    pub(super) fn turned(&self, plan: &'p Plan, step: &'p Step) -> Self {
        let mut state = self.clone();
        let here = step.origin;
        match &step.action {
            Action::UseFluid { fluid } => state.pour(plan, fluid, here),
            Action::ChangeFluid(change) => {
                state.solvent = state.solvent.filter(|_| !(change.dry.is_some() && change.verify.is_some()));
                let flushed = change.flushes.iter().map(|(_, fluid, _)| fluid).find(|fluid| burns(plan, fluid));
                if let Some(fluid) = flushed
                    && !(change.dry.is_some() && change.verify.is_some())
                {
                    state.solvent = Some((fluid, here));
                }
                if !change.flushes.is_empty() {
                    state.loop_dust = None;
                }
                state.temperature = None;
                state.pour(plan, &change.to, here);
            }
            Action::BubblePoint { fluid, .. } if burns(plan, fluid) => state.solvent = Some((fluid, here)),
            Action::HoldViscosity(hold) => state.temperature = Some((hold.temperature, here)),
            Action::HoldTemperature(setting) => {
                if let Some(target) = setting.target.as_ref() {
                    state.temperature = Some((target.si(), here));
                }
            }
            Action::Cool { to } => state.temperature = Some((to.si(), here)),
            Action::Switch { what, on } if what == "pump" => {
                state.pump = Some((*on, here));
                if *on {
                    state.pressure = Some(here);
                    // Started again, it gives what it can until a flow is set.
                    state.flow = state.flow.filter(|(flow, _)| *flow > 0.0);
                } else {
                    state.flow = Some((0.0, here));
                }
            }
            Action::Switch { on, .. } => state.heater = Some((*on, here)),
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting)
                if setting.target.as_ref().is_some_and(|flow| flow.value > 0.0) =>
            {
                state.pressure = Some(here);
                state.flow = setting.target.as_ref().map(|flow| (flow.si(), here));
            }
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
                state.flow = setting.target.as_ref().map(|flow| (flow.si(), here)).or(state.flow);
            }
            Action::HoldBackPressure(setting) => {
                state.back_pressure = setting.target.as_ref().map_or(state.back_pressure, |target| target.si());
            }
            Action::BypassFlow { flow, .. } => {
                state.pressure = Some(here);
                state.flow = Some((flow.si(), here));
            }
            Action::Burst { .. } => state.pressure = Some(here),
            Action::Vent if !state.pump_runs() => state.pressure = None,
            Action::TakeRoute { route, opens, closes } => {
                for valve in closes {
                    state.turn(valve, false);
                }
                for valve in opens {
                    state.turn(valve, true);
                }
                state.route = Some((route, here));
            }
            Action::Valve { valve, open } => state.turn(valve, *open),
            Action::Dose { .. } | Action::Condition { .. } | Action::Inject { .. } => {
                state.loop_dust = Some(here);
                if state.mounted.is_some() && !matches!(step.action, Action::Condition { .. }) {
                    state.specimen_dust = Some(here);
                }
            }
            Action::CleanUp(_) => state.loop_dust = None,
            Action::Mount { .. } => {
                state.mounted = Some(here);
                state.specimen_dust = None;
            }
            Action::Remove => {
                state.mounted = None;
                state.specimen_dust = None;
            }
            Action::Wait(dwell) if dwell.least.si() >= AIRING => state.solvent = None,
            _ => {}
        }
        state
    }

    /// The oil in the circuit, m³; `None` before a route is taken.
    pub fn oil(&self) -> Option<Span> {
        let filled = self.filled?;
        let moved = self.brought - self.drawn;
        Some(Span::between((filled.low + moved).max(0.0), (filled.high + moved).max(0.0)))
    }

    /// Its kinematic viscosity, m²/s; `None` where no temperature was set or the fluid has no curve.
    pub fn viscosity(&self) -> Option<Span> {
        self.viscosity
    }

    /// The time in which the pump moves the whole circuit once, s.
    pub fn turnover(&self) -> Option<Span> {
        let flow = self.flow.map(|(flow, _)| flow).filter(|flow| *flow > 0.0)?;
        self.oil()?.over(Span::exactly(flow))
    }

    /// Dust by weight in the oil, kg/m³.
    pub fn level(&self) -> Option<Span> {
        self.tank.in_tank().over(self.oil()?)
    }

    /// Particles above a size (m) before the specimen, 1/m³; `None` where the dust's sizes are not known.
    pub fn upstream_above(&self, size: f64, grid: &Grid) -> Option<Span> {
        self.tank.particles_above(size, grid)?.over(self.oil()?)
    }

    /// The same behind the specimen.
    pub fn downstream_above(&self, size: f64, grid: &Grid) -> Option<Span> {
        self.tank.particles_behind(size, grid)?.over(self.oil()?)
    }

    pub(super) fn refilled(&mut self) {
        self.drawn = 0.0;
        self.brought = 0.0;
    }

    pub(super) fn dose_is_in(&mut self, mass: f64, here: Origin) {
        self.dosed = Some((mass, here));
        self.since_dose = Some(Span::default());
        self.exposed = Some(Span::default());
    }

    fn pour(&mut self, plan: &Plan, fluid: &'p str, here: Origin) {
        self.fluid = Some((fluid, here));
        if burns(plan, fluid) {
            self.solvent = Some((fluid, here));
        }
    }

    fn turn(&mut self, valve: &'p str, open: bool) {
        match self.valves.iter_mut().find(|(name, _)| *name == valve) {
            Some(found) => found.1 = open,
            None => self.valves.push((valve, open)),
        }
    }

    /// Whether a valve is known to be open or closed.
    pub fn valve(&self, name: &str) -> Option<bool> {
        self.valves.iter().find(|(valve, _)| *valve == name).map(|(_, open)| *open)
    }

    pub fn pump_runs(&self) -> bool {
        self.pump.is_some_and(|(on, _)| on)
    }

    pub fn heater_is_on(&self) -> bool {
        self.heater.is_some_and(|(on, _)| on)
    }
}

/// Whether a fluid is one whose vapour can be lit at room temperature.
pub fn burns(plan: &Plan, fluid: &str) -> bool {
    plan.fluids.get(fluid).is_some_and(is_flammable)
}

pub fn is_flammable(fluid: &Fluid) -> bool {
    fluid.hazards.iter().any(|hazard| hazard == "flammable") || fluid.kind.as_deref() == Some("solvent")
}

/// The valves that only a route through the polishing filter opens.
pub fn polishing_valves(rig: &Rig) -> Vec<&str> {
    let through = |route: &&crate::plan::Route| route.through.as_deref() == Some("the polisher");
    let others: Vec<&str> =
        rig.routes.values().filter(|r| !through(r)).flat_map(|r| &r.opens).map(String::as_str).collect();
    let polishing = rig.routes.values().filter(through).flat_map(|r| &r.opens).map(String::as_str);
    polishing.filter(|valve| !others.contains(valve)).collect()
}

/// What the route in force goes through; where the rig has one route only, through what that one goes.
pub(super) fn through<'p>(rig: &'p Rig, state: &State<'p>) -> Option<&'p str> {
    let only = || rig.routes.values().next().filter(|_| rig.routes.len() == 1);
    let route = state.route.map_or_else(only, |(route, _)| rig.routes.get(route))?;
    route.through.as_deref()
}
