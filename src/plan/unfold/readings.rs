//! What is written down: readings with instruments, ticks, bottles, observations.

use super::Walker;
use crate::diagnostic::{Code, Diagnostic};
use crate::plan::library::Sort;
use crate::plan::model::{Action, Bottle, Instrument, Measures, Numeric, Reading, Setting, Wants};
use crate::quantity::{Quantity, Window};
use crate::syntax::tree::{Part, Statement};

impl<'a> Walker<'a> {
    /// The instrument that a part names, which must measure one of these.
    pub(super) fn instrument(&self, s: &Statement, part: &str, measures: &[Measures]) -> Option<&'a Instrument> {
        let context = self.context();
        let word = context.word(s, part)?;
        let name = context.resolve(word, Sort::Instrument)?;
        let instrument = self.s.instruments.get(&name)?;
        if !measures.is_empty() && !measures.contains(&instrument.measures) {
            let wanted = measures.iter().map(|m| m.words()).collect::<Vec<_>>().join(" or ");
            context.notes.add(
                Diagnostic::new(
                    Code::NoInstrumentMeasures,
                    format!("`{name}` measures {}, but here {wanted} is read", instrument.measures.words()),
                )
                .at(context.source, word.span, format!("{wanted} is wanted"))
                .also(instrument.origin.source, instrument.origin.span, "this instrument")
                .help(format!("name an instrument that measures {wanted}")),
            );
            return None;
        }
        Some(instrument)
    }

    /// A box for a number, with the limits that stop the run printed and watched.
    pub(super) fn numeric(
        &self,
        instrument: &Instrument,
        setting: Option<&Setting>,
        expect: Option<Window>,
        baseline: Option<String>,
    ) -> Wants {
        let limits = &self.test.limits;
        let at_most = |limit: &Option<Quantity>| limit.as_ref().map(|q| Window { low: None, high: Some(q.si()) });
        let stop = match instrument.measures {
            Measures::Temperature if self.oil_probes.contains(&instrument.name) => at_most(&limits.fluid_temperature),
            Measures::GaugePressure => at_most(&limits.line_pressure),
            Measures::DifferentialPressure => {
                limits.differential_pressure.as_ref().map(|q| Window { low: None, high: Some(q.si_difference()) })
            }
            _ => None,
        };
        let window = setting.map(|s| s.window).filter(|w| w.low.is_some() || w.high.is_some());
        Wants::Number(Numeric {
            measures: instrument.measures,
            instrument: Some(instrument.name.clone()),
            unit: instrument.unit.clone(),
            decimals: instrument.decimals,
            window,
            target: setting.and_then(|s| s.target.clone()),
            expect,
            stop,
            baseline,
            role: None,
        })
    }

    pub(super) fn read(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let instrument = self.instrument(s, "instrument", &[])?;
        let name = context.text(s, "name")?;
        let expect = match s.part("expect") {
            Some(_) => Some(context.bounds_as(s, "expect", instrument.measures.kind())?.window),
            None => None,
        };
        let baseline = match context.word(s, "baseline") {
            Some(word) => Some(self.earlier_reading(&word.text, s)?),
            None => None,
        };
        let wants = self.numeric(instrument, None, expect, baseline);
        let reading = self.reading(s, &name, instrument.measures.words(), wants);
        self.step(s, &format!("read-{name}"), Action::Read, vec![reading])
    }

    pub(super) fn weigh(&mut self, s: &Statement) -> Option<()> {
        let instrument = self.instrument(s, "instrument", &[Measures::Mass])?;
        let what = self.context().text(s, "what")?;
        let wants = self.numeric(instrument, None, None, None);
        let reading = self.reading(s, &what, "mass", wants);
        self.step(s, &format!("weigh-{what}"), Action::Weigh, vec![reading])
    }

    pub(super) fn zero(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let instrument = self.instrument(s, "instrument", &[])?;
        let within = context.quantity_as(s, "tolerance", instrument.measures.kind().difference())?;
        let width = within.si_difference();
        let setting = Setting { target: None, window: Window { low: Some(-width), high: Some(width) } };
        let wants = self.numeric(instrument, Some(&setting), None, None);
        let name = format!("zero-{}", instrument.name);
        let reading = self.reading(s, &name, "zero reading", wants);
        let action = Action::Zero { instrument: instrument.name.clone(), within };
        self.step(s, &format!("do-{name}"), action, vec![reading])
    }

    pub(super) fn observe(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let (name, choices) = (context.text(s, "name")?, context.text(s, "choices")?);
        let options = choices.split(',').map(|c| c.trim().to_owned()).filter(|c| !c.is_empty()).collect();
        let reading = self.reading(s, &name, &name.replace('-', " "), Wants::Choice(options));
        self.step(s, &format!("observe-{name}"), Action::Observe, vec![reading])
    }

    /// The path of a reading that was taken before: written in full, or by its name within the stage.
    pub(super) fn earlier_reading(&self, said: &str, s: &Statement) -> Option<String> {
        let stage = self.prefix.first().cloned().unwrap_or_default();
        let within = format!("{stage}/{said}");
        let all = || self.test.steps.iter().flat_map(|step| &step.readings);
        if let Some(found) = all().find(|r| r.path == said || r.path == within) {
            return Some(found.path.clone());
        }
        let context = self.context();
        let near = crate::syntax::nearest(said, all().map(|r| r.path.as_str()));
        let help = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("take that reading before this step, for example `read {said} with …`"),
        };
        context.report(
            Code::UnknownReading,
            format!("no earlier reading is called `{said}`"),
            s.head,
            "asked for here",
            help,
        );
        None
    }

    pub(super) fn sample(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let batches = match s.part("batches") {
            Some(Part::List(expr)) => Some(context.evaluator().list(expr, crate::quantity::Kind::Number)),
            _ => None,
        };
        if let Some(batches) = &batches {
            let Some((index, round)) = self.round else {
                context.report(
                    Code::SampleNeverDrawn,
                    "`after batch` means something only inside a `batch` loop",
                    s.head,
                    "there are no batches here",
                    "move the sample into the loop, or leave `after batch` out",
                );
                return None;
            };
            let cap = self.test.batches.get(index).map_or(0, |b| b.cap);
            let not_a_round = |b: &&Quantity| b.value < 1.0 || b.value > f64::from(cap) || b.value.fract() != 0.0;
            if let Some(batch) = batches.iter().find(not_a_round) {
                context.report(
                    Code::SampleNeverDrawn,
                    format!("there is no batch {batch}: the loop has at most {cap}"),
                    s.head,
                    "this bottle would never be drawn",
                    format!("choose whole numbers from 1 to {cap}"),
                );
                return None;
            }
            if !batches.iter().any(|b| b.value == f64::from(round)) {
                return Some(());
            }
        }
        self.bottle(s)
    }

    /// The bottle that a sample, or the end of a clean-up, asks for.
    fn bottle(&mut self, s: &Statement) -> Option<()> {
        let name = self.context().text(s, "name")?;
        let reading = self.bottle_reading(s, &name)?;
        self.step(s, &format!("sample-{name}"), Action::Sample, vec![reading])
    }

    /// A bottle at the sampler that the statement names, as its block says.
    pub(super) fn bottle_reading(&mut self, s: &Statement, name: &str) -> Option<Reading> {
        let context = self.context();
        let sampler = context.text(s, "point")?;
        if let (Some(rig), Some(word)) = (self.s.rig, context.word(s, "point"))
            && !rig.samplers.contains_key(&sampler)
        {
            context.unknown(word, "sampler", rig.samplers.keys().map(String::as_str));
            return None;
        }
        let paired_with = match context.word(s, "paired") {
            Some(word) => {
                // Inside a loop a pair stands in the same round.
                let here = format!("{}/{}", self.prefix.join("/"), word.text);
                Some(if self.taken.contains(&here) { here } else { self.earlier_reading(&word.text, s)? })
            }
            None => None,
        };
        let find = |key: &str| s.block.iter().find(|b| b.key() == key);
        let bottle_line = find("bottle")?;
        let mut tests = Vec::new();
        if let Some(line) = find("test") {
            for word in context.words(line, "tests") {
                if self.s.bench.laboratories.is_empty()
                    || self.s.bench.laboratories.values().any(|l| l.tests.contains_key(&word.text))
                {
                    tests.push(word.text.clone());
                } else {
                    let known = self.s.bench.laboratories.values().flat_map(|l| l.tests.keys()).map(String::as_str);
                    context.unknown(word, "laboratory test", known);
                    return None;
                }
            }
        }
        let bottle = Bottle {
            sampler,
            volume: context.quantity(bottle_line, "volume")?,
            material: context.text(bottle_line, "material"),
            flush: find("flush").and_then(|b| context.quantity(b, "volume")),
            flush_ends: find("flush").and_then(|b| context.text(b, "end")),
            cleaner_than: context.quantity(bottle_line, "clean").zip(context.quantity(bottle_line, "size")),
            tests,
            dilution: find("dilute").and_then(|b| context.integer(b, "factor")),
            delay: find("delay").and_then(|b| context.quantity(b, "time")),
            second_bottle: find("keep a second bottle").is_some(),
            twin: s.part("twin").is_some(),
            paired_with,
        };
        Some(self.reading(s, name, "bottle drawn", Wants::Bottle(bottle)))
    }
}
