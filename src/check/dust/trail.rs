//! What a walk through a test remembers of its dust, beyond the state of the bench.

use super::super::Moment;
use crate::plan::{Action, Batch, Bottle, Origin, Reading, Setting, Step, Test, Wants};
use crate::quantity::Quantity;

/// A test's dust in short.
pub(in crate::check) struct Facts<'p> {
    /// For each step, whether dust goes into the circuit in it.
    enters: Vec<bool>,
    /// Whether the plan says anywhere when the pump runs; where it doesn't, nothing is concluded from its silence.
    pub(in crate::check) speaks_of_pump: bool,
    /// The first dose that is meant for the specimen.
    pub(in crate::check) first_dose: Option<&'p Step>,
    /// The first bottle that is counted after it.
    pub(in crate::check) counted_after: Option<&'p Reading>,
    /// The last loop that doses.
    pub(in crate::check) last_loop: Option<(usize, &'p Batch)>,
}

impl<'p> Facts<'p> {
    pub(in crate::check) fn of(test: &'p Test) -> Self {
        let mut enters = vec![false; test.steps.len()];
        let mut injected_later = false;
        for (step, enters) in test.steps.iter().zip(&mut enters).rev() {
            match &step.action {
                Action::Inject { .. } => {
                    *enters = true;
                    injected_later = true;
                }
                Action::Dose { preparation, .. } => {
                    *enters = preparation.inject.is_some() || !injected_later;
                    injected_later = false;
                }
                Action::Condition { .. } => {
                    *enters = !injected_later;
                    injected_later = false;
                }
                Action::Mount { .. } | Action::CleanUp(_) => injected_later = false,
                _ => {}
            }
        }
        let mut facts = Self { enters, speaks_of_pump: false, first_dose: None, counted_after: None, last_loop: None };
        let mut conditioning = false;
        for step in &test.steps {
            match &step.action {
                Action::Switch { what, .. } if what == "pump" => facts.speaks_of_pump = true,
                Action::Condition { .. } => conditioning = true,
                Action::Dose { .. } => {
                    conditioning = false;
                    facts.first_dose = facts.first_dose.or(Some(step));
                    facts.last_loop = step
                        .round
                        .and_then(|(index, _)| test.batches.get(index).map(|batch| (index, batch)))
                        .or(facts.last_loop);
                }
                Action::Inject { .. } if !conditioning => facts.first_dose = facts.first_dose.or(Some(step)),
                Action::Sample if facts.first_dose.is_some() && facts.counted_after.is_none() => {
                    facts.counted_after = counted(step).map(|(reading, _)| reading);
                }
                _ => {}
            }
        }
        facts
    }

    /// Whether a result of this test hangs on its dust: bottles are counted after it, or doses go on until the filter is full.
    pub(in crate::check) fn matters(&self) -> bool {
        self.counted_after.is_some() || self.last_loop.is_some()
    }

    pub(super) fn enters(&self, step: &Step) -> bool {
        let index = (step.number as usize).checked_sub(1);
        index.and_then(|index| self.enters.get(index)).copied().unwrap_or(false)
    }
}

/// The bottle that a step draws for a laboratory to count.
pub(in crate::check) fn counted(step: &Step) -> Option<(&Reading, &Bottle)> {
    step.readings.iter().find_map(|reading| match &reading.wants {
        Wants::Bottle(bottle) if !bottle.tests.is_empty() => Some((reading, bottle)),
        _ => None,
    })
}

/// Dust in its carrier.
#[derive(Clone, Copy)]
pub(super) struct Slurry<'p> {
    pub(super) mass: &'p Setting,
    pub(super) dust: &'p str,
    pub(super) carrier: &'p Quantity,
    pub(super) fluid: &'p str,
    pub(super) stir: Option<&'p str>,
    pub(super) rinse: Option<(u32, &'p Quantity)>,
    pub(super) conditioning: bool,
    pub(super) origin: Origin,
}

impl<'p> Slurry<'p> {
    pub(super) fn of(step: &'p Step) -> Option<Self> {
        match &step.action {
            Action::Dose { mass, dust, carrier, carrier_fluid, preparation } => Some(Self {
                mass,
                dust,
                carrier,
                fluid: carrier_fluid,
                stir: preparation.stir.as_deref(),
                rinse: preparation.rinse.as_ref().map(|(times, volume)| (*times, volume)),
                conditioning: false,
                origin: step.origin,
            }),
            Action::Condition { mass, dust, carrier, carrier_fluid, .. } => Some(Self {
                mass,
                dust,
                carrier,
                fluid: carrier_fluid,
                stir: None,
                rinse: None,
                conditioning: true,
                origin: step.origin,
            }),
            _ => None,
        }
    }
}

/// A tank that runs over: where it does first, from which level on, and how high it would get.
#[derive(Clone, Copy)]
pub(super) struct Overflow<'p> {
    pub(super) step: &'p Step,
    pub(super) set: Origin,
    /// m³.
    pub(super) first: f64,
    pub(super) highest: f64,
    pub(super) holds: &'p Quantity,
}

/// What is remembered from step to step.
pub(in crate::check) struct Trail<'p> {
    pub(in crate::check) facts: Facts<'p>,
    /// The slurry that was made last.
    pub(super) slurry: Option<Slurry<'p>>,
    /// The flow that was set last; a pump that is started again is taken to give it again.
    pub(in crate::check) flow: Option<&'p Quantity>,
    /// What is in the reservoir, in m³, since a level was set, and where that was.
    pub(super) level: Option<(f64, Origin)>,
    pub(super) overflow: Option<Overflow<'p>>,
    /// Set once the dust goes where it should not, or is not what was meant: what would be counted then is no finding of its own.
    pub(in crate::check) astray: bool,
    /// Dust was injected here and not rinsed after.
    pub(super) unrinsed: Option<Origin>,
    /// Dust went in here, and so many seconds were waited since.
    pub(super) mixing: Option<(Origin, f64)>,
    /// The cleanliness that the oil was last cleaned to, and where.
    pub(super) background: Option<(&'p str, Origin)>,
    pub(in crate::check) branches: super::super::clean_up::Branches<'p>,
}

impl<'p> Trail<'p> {
    pub(in crate::check) fn new(test: &'p Test) -> Self {
        Self {
            facts: Facts::of(test),
            slurry: None,
            flow: None,
            level: None,
            overflow: None,
            astray: false,
            unrinsed: None,
            mixing: None,
            background: None,
            branches: super::super::clean_up::Branches::default(),
        }
    }

    /// Time and flow: what every later check reckons with.
    pub(super) fn note(&mut self, step: &'p Step) {
        match &step.action {
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
                self.flow = setting.target.as_ref().filter(|flow| flow.si() > 0.0).or(self.flow);
            }
            Action::HoldLevel(setting) => {
                self.level = setting.target.as_ref().map(|level| (level.si(), step.origin)).or(self.level);
            }
            Action::ChangeFluid(_) => self.level = None,
            Action::Circulate(dwell) | Action::Settle(dwell) | Action::Wait(dwell) => {
                if let Some((_, waited)) = &mut self.mixing {
                    *waited += dwell.least.si();
                }
            }
            _ => {}
        }
    }
}

/// The volume in the circuit: that of the route in force.
pub(in crate::check) fn volume<'p>(moment: &Moment<'_, 'p>) -> Option<&'p Quantity> {
    let (route, _) = moment.before.route?;
    moment.plan.rig.routes.get(route)?.volume.as_ref().filter(|volume| volume.si() > 0.0)
}

/// Whether the oil goes through the specimen.
pub(in crate::check) fn through_specimen(moment: &Moment<'_, '_>) -> bool {
    let route = moment.before.route.and_then(|(route, _)| moment.plan.rig.routes.get(route));
    route.is_some_and(|route| route.through.as_deref() == Some("the specimen"))
}
