//! The bench between two steps, as far as the plan tells: valves, fluid, heat, pressure, solvent, dust.

use crate::plan::{Action, Fluid, Origin, Plan, Rig, Step};

/// The bench between two steps. `None` and empty mean that nothing has been said yet.
#[derive(Debug, Clone, Default)]
pub(crate) struct State<'p> {
    /// Where each valve that was set stands: open or closed.
    valves: Vec<(&'p str, bool)>,
    /// The route in force and the step that took it.
    pub(crate) route: Option<(&'p str, Origin)>,
    pub(crate) fluid: Option<(&'p str, Origin)>,
    /// The temperature to which the oil was last brought, in K.
    pub(crate) temperature: Option<(f64, Origin)>,
    pub(crate) pump: Option<(bool, Origin)>,
    pub(crate) heater: Option<(bool, Origin)>,
    /// Set from the moment a flow is made until the rig is vented with the pump off.
    pub(crate) pressure: Option<Origin>,
    /// What has been wet with a solvent that burns, and not yet been proved dry.
    pub(crate) solvent: Option<(&'p str, Origin)>,
    /// Dust put into the loop and not cleaned up since.
    pub(crate) loop_dust: Option<Origin>,
    /// Dust put in while this specimen was in place.
    pub(crate) specimen_dust: Option<Origin>,
    pub(crate) mounted: Option<Origin>,
}

/// An hour in the air dries a specimen that was wet with solvent; less does not.
const AIRING: f64 = 3600.0;

impl<'p> State<'p> {
    /// The bench after a step.
    pub(crate) fn after(&self, plan: &'p Plan, step: &'p Step) -> Self {
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
                }
            }
            Action::Switch { on, .. } => state.heater = Some((*on, here)),
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting)
                if setting.target.as_ref().is_some_and(|flow| flow.value > 0.0) =>
            {
                state.pressure = Some(here);
            }
            Action::BypassFlow { .. } | Action::Burst { .. } => state.pressure = Some(here),
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
    pub(crate) fn valve(&self, name: &str) -> Option<bool> {
        self.valves.iter().find(|(valve, _)| *valve == name).map(|(_, open)| *open)
    }

    pub(crate) fn pump_runs(&self) -> bool {
        self.pump.is_some_and(|(on, _)| on)
    }

    pub(crate) fn heater_is_on(&self) -> bool {
        self.heater.is_some_and(|(on, _)| on)
    }
}

/// Whether a fluid is one whose vapour can be lit at room temperature.
pub(crate) fn burns(plan: &Plan, fluid: &str) -> bool {
    plan.fluids.get(fluid).is_some_and(is_flammable)
}

pub(crate) fn is_flammable(fluid: &Fluid) -> bool {
    fluid.hazards.iter().any(|hazard| hazard == "flammable") || fluid.kind.as_deref() == Some("solvent")
}

/// The valves that only a route through the polishing filter opens.
pub(crate) fn polishing_valves(rig: &Rig) -> Vec<&str> {
    let through = |route: &&crate::plan::Route| route.through.as_deref() == Some("the polisher");
    let others: Vec<&str> =
        rig.routes.values().filter(|r| !through(r)).flat_map(|r| &r.opens).map(String::as_str).collect();
    let polishing = rig.routes.values().filter(through).flat_map(|r| &r.opens).map(String::as_str);
    polishing.filter(|valve| !others.contains(valve)).collect()
}
