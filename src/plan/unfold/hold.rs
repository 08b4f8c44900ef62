//! Set-points: fluid, viscosity, temperature, flow, pressure, level, and the time that they are given to settle.

use super::Walker;
use crate::diagnostic::{Code, Severity};
use crate::plan::derive::{self, Wanted};
use crate::plan::library::Sort;
use crate::plan::model::{Action, Drift, Dwell, Measures, Setting, ViscosityHold, Wants};
use crate::quantity::{Kind, Quantity, Unit, Window};
use crate::syntax::tree::{Part, Statement};

impl Walker<'_> {
    pub(super) fn fluid(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let fluid = context.resolve(context.word(s, "fluid")?, Sort::Fluid)?;
        let changed = self.fluid.as_ref() != Some(&fluid);
        self.fluid = Some(fluid.clone());
        if let Some(stage) = self.stage_now() {
            stage.fluid = Some(fluid.clone());
        }
        if changed { self.ticked(s, "fluid", "fluid in the rig", Action::UseFluid { fluid }) } else { Some(()) }
    }

    pub(super) fn hold_viscosity(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let setting = context.setting(s, "target")?;
        let Some(target) = &setting.target else {
            context.report(
                Code::NoTolerance,
                "a viscosity is held at a value, with a tolerance",
                s.head,
                "only bounds are given",
                "write the value first, for example `hold viscosity 24 mm²/s, within 3 %`",
            );
            return None;
        };
        let wanted = Wanted {
            target: target.si(),
            window: setting.window,
            said: target.to_string(),
            unit: self.temperature_unit(s)?,
        };
        self.viscosity(s, wanted)
    }

    pub(super) fn hold_viscosity_like(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let like = context.resolve(context.word(s, "like")?, Sort::Fluid)?;
        let at = context.quantity(s, "temperature")?;
        let fluid = self.s.bench.fluids.get(&like)?;
        let target = derive::viscosity_at(fluid, &at, s, context)?;
        let Some(Part::Value(tolerance)) = s.part("tolerance") else { return None };
        let width = context.evaluator().tolerance(tolerance, Kind::KinematicViscosity, target, None)?;
        let window = Window { low: Some(target - width), high: Some(target + width) };
        let wanted = Wanted { target, window, said: format!("like {like} at {at}"), unit: self.temperature_unit(s)? };
        self.viscosity(s, wanted)
    }

    /// The unit in which the thermometer of this step is read.
    fn temperature_unit(&self, s: &Statement) -> Option<Unit> {
        match s.part("instrument") {
            Some(_) => self.instrument(s, "instrument", &[Measures::Temperature]).map(|i| i.unit.clone()),
            None => Some(Kind::Temperature.usual_unit()),
        }
    }

    fn viscosity(&mut self, s: &Statement, wanted: Wanted) -> Option<()> {
        let fluid = self.fluid_in_use(s)?;
        let hold: ViscosityHold = derive::viscosity_hold(wanted, fluid, s, self.context())?;
        let decimals = 1;
        let target = Quantity::from_si(hold.temperature, &hold.unit, decimals);
        let setting = Setting { target: Some(target), window: hold.temperatures };
        let readings = self.set_reading(s, "hold-viscosity", "temperature", &setting, &[Measures::Temperature])?;
        self.step(s, "hold-viscosity-at", Action::HoldViscosity(hold), readings)
    }

    pub(super) fn hold(&mut self, s: &Statement) -> Option<()> {
        let setting = self.context().setting(s, "target")?;
        let (name, label, measures, action): (_, _, &[Measures], fn(Setting) -> Action) = match s.key() {
            "hold temperature" => {
                ("hold-temperature", "temperature", &[Measures::Temperature], Action::HoldTemperature)
            }
            "hold flow" => ("hold-flow", "flow", &[Measures::Flow], Action::HoldFlow),
            "hold back pressure" => {
                ("hold-back-pressure", "back pressure", &[Measures::GaugePressure], Action::HoldBackPressure)
            }
            _ => ("hold-level", "volume in the reservoir", &[Measures::Volume], Action::HoldLevel),
        };
        let readings = self.set_reading(s, name, label, &setting, measures)?;
        self.step(s, &format!("{name}-at"), action(setting), readings)
    }

    /// The box for what was set: a number where an instrument is named, else a tick.
    fn set_reading(
        &mut self,
        s: &Statement,
        name: &str,
        label: &str,
        setting: &Setting,
        measures: &[Measures],
    ) -> Option<Vec<crate::plan::model::Reading>> {
        let wants = match s.part("instrument") {
            Some(_) => {
                let instrument = self.instrument(s, "instrument", measures)?;
                self.numeric(instrument, Some(setting), None, None)
            }
            None => Wants::Tick,
        };
        Some(vec![self.reading(s, name, label, wants)])
    }

    pub(super) fn dwell(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let most = context.quantity(s, "cap");
        let dwell = match s.key() {
            "wait" => {
                let setting = context.setting_or_exact(s, "time")?;
                let unit = setting.target.as_ref().map(|t| t.unit.clone()).unwrap_or_else(|| Kind::Time.usual_unit());
                let end = |si: Option<f64>| si.map(|v| crate::plan::value::tidy(v, &unit, true));
                Dwell {
                    least: end(setting.window.low).or(setting.target)?,
                    most: end(setting.window.high),
                    until: None,
                }
            }
            _ => Dwell { least: context.quantity(s, "time")?, most, until: self.drift(s)? },
        };
        if let Some(most) = &dwell.most
            && most.si() < dwell.least.si()
        {
            context.report(
                Code::WindowInsideOut,
                format!("at most {most} is shorter than {}", dwell.least),
                s.head,
                "these two times",
                "let the longer one be the cap",
            );
        }
        let (slug, action) = match s.key() {
            "wait" => ("wait", Action::Wait(dwell)),
            "circulate" => ("circulate", Action::Circulate(dwell)),
            _ => ("settle", Action::Settle(dwell)),
        };
        self.step(s, slug, action, Vec::new())
    }

    fn drift(&self, s: &Statement) -> Option<Option<Drift>> {
        let context = self.context();
        let Some(reading) = context.word(s, "reading") else { return Some(None) };
        let Some(Part::Value(expr)) = s.part("drift") else { return None };
        let less_than = context.evaluator().any_quantity(expr)?;
        if s.part("cap").is_none() {
            context.notes.add(
                crate::diagnostic::Diagnostic::new(Code::NoCap, "this wait has no end if the reading never steadies")
                    .severity(Severity::Error)
                    .at(context.source, s.head, "no cap")
                    .help("add a cap, for example `, at most 10 min`"),
            );
            return None;
        }
        Some(Some(Drift { reading: reading.text.clone(), less_than, within: context.quantity(s, "window")? }))
    }
}
