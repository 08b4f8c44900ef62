//! Hands on the bench: valves, mounting, mechanical tests, teardown, words to the operator.

use super::Walker;
use crate::diagnostic::Code;
use crate::plan::library::Sort;
use crate::plan::model::{Action, Hazard, Measures, Wants};
use crate::quantity::Window;
use crate::syntax::tree::{Part, Statement};

impl Walker<'_> {
    pub(super) fn bench_work(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        match s.key() {
            "route" => self.route(s),
            "open" | "close" => {
                let valve = context.text(s, "valve")?;
                if let (Some(rig), Some(word)) = (self.s.rig, context.word(s, "valve"))
                    && !rig.valves.contains_key(&valve)
                {
                    context.unknown(word, "valve", rig.valves.keys().map(String::as_str));
                    return None;
                }
                let open = s.key() == "open";
                let label = if open { "seen open" } else { "seen closed" };
                self.ticked(s, &format!("{}-{valve}", s.key()), label, Action::Valve { valve, open })
            }
            "switch" => {
                let (switch, what) = (context.text(s, "switch")?, context.text(s, "what")?);
                let on = switch == "start";
                self.ticked(
                    s,
                    &format!("{switch}-{what}"),
                    if on { "running" } else { "off" },
                    Action::Switch { what, on },
                )
            }
            "cool to" => self.cool(s),
            "vent" => self.ticked(s, "vent", "vented, gauge at zero", Action::Vent),
            "mount specimen" => self.mount(s),
            "remove specimen" => self.ticked(s, "remove-specimen", "removed", Action::Remove),
            "anti-drain leakage under" => self.anti_drain(s),
            "bubble point in" => self.bubble_point(s),
            "burst" => self.burst(s),
            "teardown" => self.teardown(s),
            "confirm" => {
                let text = context.text(s, "text")?;
                self.ticked(s, "confirm", "confirmed", Action::Confirm { text })
            }
            "hold point" => {
                let text = context.text(s, "text")?;
                self.ticked(s, "hold-point", "second person", Action::HoldPoint { text })
            }
            "note" => {
                let text = context.text(s, "text")?;
                self.step(s, "note", Action::Note { text }, Vec::new())
            }
            "caution" => {
                let text = context.text(s, "text")?;
                self.step(s, "caution", Action::Caution { text }, Vec::new())
            }
            other => {
                // Every statement of a stage has its verb above; a new one in the grammar must come here too.
                context.report(
                    Code::NotAllowedHere,
                    format!("`{other}` cannot be made into a step"),
                    s.head,
                    "this statement",
                    "",
                );
                None
            }
        }
    }

    fn route(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let name = context.text(s, "route")?;
        let (opens, closes) = match self.s.rig {
            Some(rig) => match rig.routes.get(&name) {
                Some(route) => (route.opens.clone(), route.closes.clone()),
                None => {
                    context.unknown(context.word(s, "route")?, "route", rig.routes.keys().map(String::as_str));
                    return None;
                }
            },
            None => {
                let needed = self
                    .s
                    .block
                    .iter()
                    .any(|b| b.key() == "needs route" && context.text(b, "name").as_ref() == Some(&name));
                if !needed {
                    context.report(
                        Code::UnknownRoute,
                        format!("the protocol does not say that it needs a route `{name}`"),
                        s.head,
                        "used here",
                        format!("add `needs route {name}` to the protocol"),
                    );
                    return None;
                }
                (Vec::new(), Vec::new())
            }
        };
        self.ticked(s, &format!("route-{name}"), "valves seen", Action::TakeRoute { route: name, opens, closes })
    }

    fn cool(&mut self, s: &Statement) -> Option<()> {
        let to = self.context().quantity(s, "temperature")?;
        let wants = match s.part("instrument") {
            Some(_) => {
                let instrument = self.instrument(s, "instrument", &[Measures::Temperature])?;
                let setting =
                    crate::plan::model::Setting { target: None, window: Window { low: None, high: Some(to.si()) } };
                self.numeric(instrument, Some(&setting), None, None)
            }
            None => Wants::Tick,
        };
        let reading = self.reading(s, "cooled", "temperature", wants);
        self.step(s, "cool", Action::Cool { to }, vec![reading])
    }

    fn mount(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let read = |part: &str| match s.part(part) {
            Some(_) => context.setting(s, part).map(Some),
            None => Some(None),
        };
        let action = Action::Mount { turns: read("turns")?, torque: read("torque")? };
        self.ticked(s, "mount-specimen", "mounted, no leak", action)
    }

    fn anti_drain(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let fluid = context.resolve(context.word(s, "fluid")?, Sort::Fluid)?;
        let (head, time) = (context.quantity(s, "head")?, context.quantity(s, "time")?);
        let instrument = self.instrument(s, "instrument", &[Measures::Volume, Measures::Mass])?;
        let wants = self.numeric(instrument, None, None, None);
        let reading = self.reading(s, "leakage", "leakage collected", wants);
        self.step(s, "anti-drain", Action::AntiDrain { head, fluid, time }, vec![reading])
    }

    fn bubble_point(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let fluid = context.resolve(context.word(s, "fluid")?, Sort::Fluid)?;
        let (depth, rate) = (context.quantity(s, "depth")?, context.quantity(s, "rate")?);
        let pressures = [Measures::DifferentialPressure, Measures::GaugePressure];
        let instrument = self.instrument(s, "instrument", &pressures)?;
        let wants = self.numeric(instrument, None, None, None);
        let reading = self.reading(s, "first-bubble", "pressure at the first steady bubble", wants);
        let bath = match s.part("bath") {
            Some(_) => Some(context.quantity(s, "bath")?),
            None => None,
        };
        self.step(s, "bubble-point", Action::BubblePoint { fluid, depth, rate, bath }, vec![reading])
    }

    fn burst(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let (step, every) = (context.quantity(s, "step")?, context.quantity(s, "time")?);
        let (cap, shield) = (context.quantity(s, "cap")?, context.text(s, "shield")?);
        let pressures = [Measures::GaugePressure, Measures::DifferentialPressure];
        let instrument = self.instrument(s, "instrument", &pressures)?;
        let wants = self.numeric(instrument, None, None, None);
        let reading = self.reading(s, "burst-pressure", "highest pressure reached", wants);
        self.step(s, "burst", Action::Burst { step, every, cap, shield }, vec![reading])
    }

    fn teardown(&mut self, s: &Statement) -> Option<()> {
        let first = self.test.steps.len();
        let made = self.looked_at(s);
        // The can is cut open for whatever is looked at in it.
        for step in self.test.steps.iter_mut().skip(first) {
            step.hazards.push(Hazard::Cutting);
            step.hazards.sort();
        }
        made
    }

    fn looked_at(&mut self, s: &Statement) -> Option<()> {
        for line in &s.block {
            let context = self.context();
            match line.key() {
                "observe" => self.observe(line)?,
                "count" => {
                    let name = context.text(line, "name")?;
                    let reading = self.reading(line, &name, &name.replace('-', " "), Wants::Count);
                    self.step(line, &format!("count-{name}"), Action::Observe, vec![reading])?;
                }
                "measure" => {
                    let name = context.text(line, "name")?;
                    let instrument = self.instrument(line, "instrument", &[])?;
                    let wants = self.numeric(instrument, None, None, None);
                    let reading = self.reading(line, &name, &name.replace('-', " "), wants);
                    self.step(line, &format!("measure-{name}"), Action::Observe, vec![reading])?;
                }
                _ => {
                    let what = context.text(line, "what")?;
                    let reading = self.reading(line, "photograph", &what, Wants::Photograph);
                    self.step(line, "take-photograph", Action::Photograph, vec![reading])?;
                }
            }
        }
        Some(())
    }

    /// What is said of a whole stage.
    pub(super) fn stage_note(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        match s.key() {
            "log" => {
                let names = context.words(s, "names").iter().map(|w| w.text.clone()).collect();
                let interval = context.quantity(s, "interval")?;
                self.stage_now()?.logs.push((names, interval));
            }
            "subtract tare" => {
                let word = context.word(s, "tare")?;
                if !self.test.stages.iter().any(|stage| stage.name == word.text) {
                    let known = self.test.stages.iter().map(|stage| stage.name.as_str());
                    context.unknown(word, "earlier stage", known);
                    return None;
                }
                let tare = word.text.clone();
                self.stage_now()?.tare = Some(tare);
            }
            "tare for" => {
                let adaptor = context.text(s, "adaptor");
                self.stage_now()?.tare_for = adaptor;
            }
            _ => {
                let blank = match s.part("what") {
                    Some(Part::Choice(word)) => Some(word.text.clone()),
                    _ => None,
                };
                self.stage_now()?.blank = blank;
            }
        }
        Some(())
    }
}
