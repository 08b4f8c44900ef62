//! Dust into the oil, and out of it again.

use super::Walker;
use crate::diagnostic::Code;
use crate::plan::library::Sort;
use crate::plan::model::{Action, CleanUp, FluidChange, Measures, Preparation, Reading, Setting, Wants};
use crate::syntax::tree::Statement;

impl Walker<'_> {
    pub(super) fn dose(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let mass = context.setting(s, "mass")?;
        let dust = context.resolve(context.word(s, "dust")?, Sort::Dust)?;
        let carrier_fluid = context.resolve(context.word(s, "fluid")?, Sort::Fluid)?;
        let carrier = context.quantity(s, "volume")?;
        let preparation = self.preparation(s)?;
        let mut readings = vec![self.dose_reading(s, "dose", &mass)?];
        if preparation.weigh_empty_boat {
            let wants = match s.part("instrument") {
                Some(_) => {
                    let balance = self.instrument(s, "instrument", &[Measures::Mass])?;
                    self.numeric(balance, None, None, None)
                }
                None => Wants::Tick,
            };
            readings.push(self.reading(s, "left-in-boat", "dust left in the boat", wants));
        }
        self.step(s, "dose-in", Action::Dose { mass, dust, carrier, carrier_fluid, preparation }, readings)
    }

    fn dose_reading(&mut self, s: &Statement, name: &str, mass: &Setting) -> Option<Reading> {
        let wants = match s.part("instrument") {
            Some(_) => {
                let balance = self.instrument(s, "instrument", &[Measures::Mass])?;
                self.numeric(balance, Some(mass), None, None)
            }
            None => Wants::Tick,
        };
        Some(self.reading(s, name, "net mass of dust", wants))
    }

    fn preparation(&self, s: &Statement) -> Option<Preparation> {
        let context = self.context();
        let mut preparation = Preparation::default();
        for line in &s.block {
            match line.key() {
                "dry the dust" => preparation.dry = true,
                "tumble the jar" => preparation.tumble = context.quantity(line, "time"),
                "shake" => preparation.shake = context.quantity(line, "time"),
                "ultrasonic bath" => {
                    preparation.ultrasonic =
                        context.quantity(line, "time").map(|t| (t, context.quantity(line, "temperature")));
                }
                "stir" => preparation.stir = context.text(line, "stir"),
                "inject at" => {
                    preparation.inject = Some((context.setting(line, "flow")?, context.quantity(line, "concentration")))
                }
                "rinse injector" => {
                    preparation.rinse = context.integer(line, "times").zip(context.quantity(line, "volume"))
                }
                "weigh the empty boat" => preparation.weigh_empty_boat = true,
                _ => {}
            }
        }
        Some(preparation)
    }

    pub(super) fn condition(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let mass = context.setting(s, "mass")?;
        let dust = context.resolve(context.word(s, "dust")?, Sort::Dust)?;
        let carrier_fluid = context.resolve(context.word(s, "fluid")?, Sort::Fluid)?;
        let carrier = context.quantity(s, "volume")?;
        let through = context.text(s, "through")?;
        let reading = self.dose_reading(s, "conditioning-dose", &mass)?;
        self.step(s, "condition", Action::Condition { mass, dust, carrier, carrier_fluid, through }, vec![reading])
    }

    pub(super) fn inject(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let flow = context.setting(s, "flow")?;
        let feed = context.quantity(s, "concentration");
        let wants = match s.part("instrument") {
            Some(_) => {
                let meter = self.instrument(s, "instrument", &[Measures::Flow])?;
                self.numeric(meter, Some(&flow), None, None)
            }
            None => Wants::Tick,
        };
        let reading = self.reading(s, "inject", "injected", wants);
        self.step(s, "inject-in", Action::Inject { flow, feed }, vec![reading])
    }

    pub(super) fn rinse(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let (times, volume) = (context.count(s, "times")?, context.quantity(s, "volume")?);
        self.ticked(s, "rinse-injector", "rinsed in", Action::RinseInjector { times, volume })
    }

    pub(super) fn clean_up(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let turnovers = match s.part("turnovers") {
            Some(_) => Some(context.number(s, "turnovers")?),
            None => None,
        };
        let clean_up = CleanUp {
            turnovers,
            time: context.quantity(s, "time"),
            background: context.text(s, "code"),
            cap: context.quantity(s, "cap"),
        };
        let mut readings = vec![self.reading(s, "clean-up", "clean-up done", Wants::Tick)];
        match (s.part("point"), s.block.is_empty()) {
            (Some(_), false) => readings.push(self.bottle_reading(s, "clean-up-sample")?),
            (None, false) => {
                context.report(
                    Code::StatementForm,
                    "this clean-up ends with a bottle, but not where it is drawn",
                    s.head,
                    "at which sampler?",
                    "add `, sampled at …` with the name of a sampler",
                );
                return None;
            }
            _ => {}
        }
        self.step(s, "do-clean-up", Action::CleanUp(clean_up), readings)
    }

    pub(super) fn change_fluid(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let to = context.resolve(context.word(s, "fluid")?, Sort::Fluid)?;
        let mut change =
            FluidChange { to: to.clone(), drain: false, flushes: Vec::new(), dry: None, fill: None, verify: None };
        for line in &s.block {
            match line.key() {
                "drain" => change.drain = true,
                "flush with" => {
                    let fluid = context.resolve(context.word(line, "fluid")?, Sort::Fluid)?;
                    let times = context.integer(line, "times").unwrap_or(1);
                    change.flushes.push((context.quantity(line, "volume")?, fluid, times));
                }
                "dry" => change.dry = context.quantity(line, "time"),
                "fill" => change.fill = context.quantity(line, "volume"),
                "verify viscosity within" => {
                    change.verify = context
                        .quantity_as(line, "tolerance", crate::quantity::Kind::Fraction)
                        .zip(context.text(line, "method"));
                }
                _ => {}
            }
        }
        self.fluid = Some(to.clone());
        if let Some(stage) = self.stage_now() {
            stage.fluid = Some(to);
        }
        self.ticked(s, "change-fluid", "fluid changed", Action::ChangeFluid(change))
    }
}
