//! Statements that hold others: sweeps, repeats, batches.

use super::{Walker, slug};
use crate::diagnostic::{Code, Diagnostic};
use crate::plan::model::{Action, Batch, Measures, Setting, Wants};
use crate::plan::value::tidy;
use crate::quantity::{Kind, Quantity, Window};
use crate::syntax::tree::{Part, Statement};

impl Walker<'_> {
    pub(super) fn sweep(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let mut flows = context.list(s, "flows");
        flows.sort_by(|a, b| a.si().total_cmp(&b.si()));
        let direction = context.text(s, "direction")?;
        let legs: &[bool] = match direction.as_str() {
            "rising then falling" => &[true, false],
            "falling then rising" => &[false, true],
            "rising" => &[true],
            _ => &[false],
        };
        let Some(Part::Value(tolerance)) = s.part("tolerance") else {
            context.report(
                Code::NoTolerance,
                "a sweep of flows without a tolerance",
                s.head,
                "how far off may each flow be?",
                format!("write `…, {direction}, each within 2 %`, then the flow meter with `, on …`"),
            );
            return None;
        };
        for rising in legs {
            let order: Vec<&Quantity> = if *rising { flows.iter().collect() } else { flows.iter().rev().collect() };
            for flow in order {
                let window = self.flow_window(flow, tolerance)?;
                self.enter(&[if *rising { "rising" } else { "falling" }, &slug(flow)]);
                let done = self.set_flow(s, flow, window, *rising).map(|()| self.statements(&s.block, Some(s)));
                self.leave(2);
                done?;
            }
        }
        Some(())
    }

    fn flow_window(&self, flow: &Quantity, tolerance: &crate::syntax::tree::Expr) -> Option<Window> {
        if flow.value == 0.0 {
            return Some(Window { low: None, high: None });
        }
        self.context().around(flow, tolerance, Kind::Flow)
    }

    fn set_flow(&mut self, s: &Statement, flow: &Quantity, window: Window, rising: bool) -> Option<()> {
        let setting = Setting { target: Some(flow.clone()), window };
        let wants = match s.part("instrument") {
            Some(_) if flow.value != 0.0 => {
                let instrument = self.instrument(s, "instrument", &[Measures::Flow])?;
                self.numeric(instrument, Some(&setting), None, None)
            }
            _ => Wants::Tick,
        };
        let label = if flow.value == 0.0 { "pump stopped" } else { "flow" };
        let reading = self.reading(s, "set-flow", label, wants);
        self.step(s, "set-flow-to", Action::SetFlow { setting, rising }, vec![reading])
    }

    pub(super) fn repeat(&mut self, s: &Statement) -> Option<()> {
        let times = self.context().count(s, "times")?;
        for round in 1..=times {
            self.enter(&[&format!("repeat-{round}")]);
            self.statements(&s.block, Some(s));
            self.leave(1);
            if self.too_long {
                return None;
            }
        }
        Some(())
    }

    pub(super) fn batch(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let cap = context.count(s, "cap")?;
        let reading = context.text(s, "reading")?;
        if self.round.is_some() {
            context.report(
                Code::NotAllowedHere,
                "a batch loop stands inside another",
                s.head,
                "the inner loop",
                "write the two loops one after the other",
            );
            return None;
        }
        if !s.block.iter().any(|b| b.key() == "read" && context.text(b, "name").as_deref() == Some(&reading)) {
            context.report(
                Code::UnknownReading,
                format!("the loop waits for `{reading}`, but never reads it"),
                s.head,
                "this loop would never know when to stop",
                format!("add `read {reading} with …` to the loop"),
            );
            return None;
        }
        let rises = context.text(s, "mode").is_some_and(|m| m == "rises");
        let baseline = match context.word(s, "baseline") {
            Some(word) => Some(self.earlier_reading(&word.text, s)?),
            None if rises => {
                context.notes.add(
                    Diagnostic::new(Code::UnknownReading, "a rise needs something to rise above")
                        .at(context.source, s.head, "above which reading?")
                        .help("add `above clean-dp` and take that reading before the first dose"),
                );
                return None;
            }
            None => None,
        };
        let path = self.path("batch");
        self.test.batches.push(Batch {
            path,
            cap,
            reading,
            across_element: context.text(s, "across").is_some_and(|a| a == "element"),
            terminal: context.quantity(s, "amount")?,
            baseline,
            overshoot: context.fraction(s, "overshoot"),
            mass_cap: context.quantity(s, "mass"),
            time_cap: context.quantity(s, "time"),
            origin: context.origin(s.head),
        });
        let index = self.test.batches.len() - 1;
        for round in 1..=cap {
            self.round = Some((index, round));
            self.enter(&[&format!("batch-{round}")]);
            self.statements(&s.block, Some(s));
            self.leave(1);
            if self.too_long {
                break;
            }
        }
        self.round = None;
        (!self.too_long).then_some(())
    }

    pub(super) fn bypass(&mut self, s: &Statement) -> Option<()> {
        let context = self.context();
        let range = context.bounds(s, "flow")?;
        let (step, leak) = (context.quantity(s, "step")?, context.quantity(s, "leak")?);
        let (low, high) = (range.window.low?, range.window.high?);
        let count = ((high - low) / step.si()).floor();
        if !(step.si() > 0.0 && (0.0..1000.0).contains(&count)) {
            context.report(
                Code::PlanTooLong,
                format!("steps of {step} do not lead from one end to the other in a sensible number"),
                s.head,
                "this range and this step",
                "choose a step that divides the range into 5 to 50 parts",
            );
            return None;
        }
        for k in 0..=(count + 1e-9) as u32 {
            let flow = tidy(low + f64::from(k) * step.si(), &step.unit, true);
            self.enter(&[&slug(&flow)]);
            let done = self
                .ticked(s, "set-flow", "flow set", Action::BypassFlow { flow, leak: leak.clone() })
                .map(|()| self.statements(&s.block, Some(s)));
            self.leave(1);
            done?;
        }
        Some(())
    }

    fn enter(&mut self, parts: &[&str]) {
        self.prefix.extend(parts.iter().map(|p| (*p).to_owned()));
    }

    fn leave(&mut self, parts: usize) {
        self.prefix.truncate(self.prefix.len().saturating_sub(parts));
    }
}
