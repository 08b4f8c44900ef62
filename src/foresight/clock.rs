//! How long a step takes: waits as written, heat by what the heater gives, hands by what hands usually take.

use super::{Paper, Span, State};
use crate::plan::{Action, CleanUp, Dwell, Preparation};

/// Hands take from half to twice the usual time.
const HANDS: Span = Span { low: 0.5, high: 2.0 };

impl<'p> Paper<'p> {
    /// The time that an action takes, in s.
    pub fn lasts(&self, state: &State<'p>, action: &Action) -> Span {
        match action {
            Action::Circulate(dwell) | Action::Settle(dwell) | Action::Wait(dwell) => dwelt(dwell),
            Action::HoldViscosity(hold) => self.heated(state, hold.temperature),
            Action::HoldTemperature(setting) => {
                setting.target.as_ref().map_or(self.hands("usual-setting", 60.0), |t| self.heated(state, t.si()))
            }
            Action::Cool { to } => self.cooled(state, to.si()),
            Action::SetFlow { .. } | Action::HoldFlow(_) | Action::BypassFlow { .. } => {
                self.hands("usual-setting", 60.0)
            }
            Action::HoldLevel(_) | Action::HoldBackPressure(_) => self.hands("usual-setting", 60.0),
            Action::TakeRoute { .. } | Action::Valve { .. } => self.hands("usual-valve", 10.0),
            Action::Zero { .. } => self.hands("usual-zero", 60.0),
            Action::Mount { .. } => self.hands("usual-mounting", 600.0),
            Action::Remove => self.hands("usual-removal", 300.0),
            Action::Dose { preparation, .. } => self.prepared(preparation),
            Action::Condition { .. } => self.hands("usual-weighing", 300.0),
            Action::Inject { .. } | Action::RinseInjector { .. } => self.hands("usual-injecting", 120.0),
            Action::Sample => self.hands("usual-bottle", 60.0),
            Action::CleanUp(clean) => self.cleaned(state, clean),
            Action::ChangeFluid(change) => {
                let dry = change.dry.as_ref().map_or(0.0, |dry| dry.si());
                self.hands("usual-fluid-change", 2700.0).plus(Span::exactly(dry))
            }
            Action::AntiDrain { time, .. } => self.hands("usual-mounting", 600.0).plus(Span::exactly(time.si())),
            Action::BubblePoint { .. } => self.hands("usual-bubble-point", 1800.0),
            Action::Burst { step, every, cap, .. } => {
                let steps = cap.si_difference() / step.si_difference().max(1.0);
                self.hands("usual-mounting", 600.0).plus(Span::between(0.0, steps * every.si()))
            }
            Action::Weigh | Action::Observe | Action::Photograph => self.hands("usual-look", 60.0),
            Action::Read | Action::Vent | Action::Switch { .. } | Action::Confirm { .. } | Action::HoldPoint { .. } => {
                self.hands("usual-reading", 20.0)
            }
            Action::UseFluid { .. } | Action::Note { .. } | Action::Caution { .. } => Span::default(),
        }
    }

    fn hands(&self, name: &str, built_in: f64) -> Span {
        HANDS.times(Span::exactly(self.plan.rules.number(name).unwrap_or(built_in)))
    }

    fn prepared(&self, preparation: &Preparation) -> Span {
        let written = [
            preparation.tumble.as_ref(),
            preparation.shake.as_ref(),
            preparation.ultrasonic.as_ref().map(|(time, _)| time),
        ];
        let written: f64 = written.into_iter().flatten().map(|time| time.si()).sum();
        self.hands("usual-weighing", 300.0).plus(Span::exactly(written))
    }

    /// From the oil's temperature to a higher one with the heater, or to a lower one by itself; a tenth of a kelvin is no
    /// difference. At the set-point already, it takes the time of setting.
    fn heated(&self, state: &State<'p>, wanted: f64) -> Span {
        let now = state.temperature.map_or(self.room, |(temperature, _)| temperature);
        let setting = self.hands("usual-setting", 60.0);
        if wanted < now - 0.1 {
            return setting.plus(self.cooled(state, wanted));
        }
        let (Some(heater), Some(volume)) = (&self.plan.rig.heater, state.oil()) else { return setting };
        let power = heater.power.si();
        let heat = volume.times(Span::exactly(self.heat_capacity * (wanted - now).max(0.0)));
        // Twice the time of the bare arithmetic: metal warms too, and the room takes its share.
        setting.plus(if power > 0.0 {
            Span::between(heat.low / power, 2.0 * heat.high / power)
        } else {
            Span::default()
        })
    }

    /// Newton's cooling towards the room, C dT/dt = −h (T − T_room); within 1 K of the room nothing falls further.
    fn cooled(&self, state: &State<'p>, to: f64) -> Span {
        let (Some((now, _)), Some(volume)) = (state.temperature, state.oil()) else {
            return self.hands("usual-cooling", 1800.0);
        };
        if to >= now {
            return self.hands("usual-reading", 20.0);
        }
        let over = |temperature: f64| (temperature - self.room).max(1.0);
        let ln = (over(now) / over(to)).ln();
        let loss = self.plan.rules.number("heat-loss").unwrap_or(20.0);
        Span::about(self.heat_capacity * volume.middle() / loss * ln, 0.5)
    }

    fn cleaned(&self, state: &State<'p>, clean: &CleanUp) -> Span {
        if let Some(time) = &clean.time {
            return Span::exactly(time.si());
        }
        let cap = clean.cap.as_ref().map_or(f64::INFINITY, |cap| cap.si());
        let turnover = state.turnover().unwrap_or(Span::between(60.0, 300.0));
        let turnovers = clean.turnovers.map_or(Span::between(1.0, 15.0), Span::exactly);
        let time = turnovers.times(turnover);
        Span::between(time.low.min(cap), time.high.min(cap))
    }
}

fn dwelt(dwell: &Dwell) -> Span {
    let least = dwell.least.si();
    Span::between(least, dwell.most.as_ref().map_or(least, |most| most.si()))
}
