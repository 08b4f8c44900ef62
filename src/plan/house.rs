//! A bench's own checks, evaluated on every subject of a plan.

use indexmap::IndexMap;

use super::declare::HouseRule;
use super::library::Library;
use super::model::{Action, Origin, Plan, Setting, Wants};
use super::read::{Bound, Context, Notes};
use super::value::Value;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{Quantity, Unit};
use crate::syntax::tree::Comparison;

/// One thing that a rule looks at: where it stands, and what may be asked of it.
struct Subject {
    origin: Origin,
    called: String,
    properties: IndexMap<String, Bound>,
}

pub(crate) fn apply(rules: &[HouseRule<'_>], plan: &Plan, library: &Library<'_>, notes: &Notes) {
    for rule in rules {
        for subject in subjects(&rule.subject, plan) {
            let context = Context { source: rule.source, library, notes, bound: &subject.properties };
            let holds = |c: &crate::syntax::tree::Condition| -> Option<bool> {
                let evaluator = context.evaluator();
                let (left, right) = (evaluator.any_value(&c.left)?, evaluator.any_value(&c.right)?);
                let (l, r) = comparable(&left, &right).or_else(|| {
                    context.report(
                        Code::KindsMixed,
                        "the two sides of this condition cannot be compared",
                        c.left.span.to(c.right.span),
                        "unlike kinds",
                        "compare quantities of one kind",
                    );
                    None
                })?;
                Some(match c.comparison {
                    Comparison::AtLeast => l >= r,
                    Comparison::AtMost => l <= r,
                    Comparison::Above => l > r,
                    Comparison::Below => l < r,
                    Comparison::Equal => l == r,
                })
            };
            let Some(concerned) = rule.filter.map_or(Some(true), holds) else { break };
            if !concerned {
                continue;
            }
            match holds(rule.require) {
                Some(true) => {}
                Some(false) => {
                    let mut finding = Diagnostic::new(
                        Code::HouseRule,
                        format!("{} (rule `{}`, {})", rule.message, rule.name, rule.title),
                    )
                    .severity(rule.severity)
                    .at(subject.origin.source, subject.origin.span, subject.called.clone())
                    .also(rule.source, rule.statement.head, "the bench's own rule");
                    if let Some(because) = &rule.because {
                        finding = finding.why(because.clone());
                    }
                    notes.add(finding);
                }
                None => break,
            }
        }
    }
}

/// Both sides in SI, where they are of one dimension.
fn comparable(left: &Value, right: &Value) -> Option<(f64, f64)> {
    let si = |value: &Value| match value {
        Value::Quantity(q) => {
            Some((if super::value::is_point(&q.unit) { q.si() } else { q.si_difference() }, q.unit.dimension))
        }
        Value::Number(_, a) => Some((*a, crate::quantity::Dimension::NONE)),
        Value::Derived(a, d) => Some((*a, *d)),
        Value::List(_) => None,
    };
    let ((l, dl), (r, dr)) = (si(left)?, si(right)?);
    (dl == dr).then_some((l, r))
}

fn subjects(what: &str, plan: &Plan) -> Vec<Subject> {
    let steps = || plan.tests.iter().flat_map(|t| &t.steps);
    let mut subjects = Vec::new();
    match what {
        "instrument" => {
            for i in plan.instruments.values() {
                let mut p = Properties::default();
                p.quantity("resolution", Some(&i.resolution));
                p.quantity("span", span(i).as_ref());
                subjects.push(p.subject(i.origin, &i.name));
            }
        }
        "fluid" => {
            for f in plan.fluids.values() {
                let mut p = Properties::default();
                p.quantity("flash-point", f.flash.as_ref().map(|m| &m.value.temperature));
                p.quantity("pour-point", f.pour.as_ref().map(|m| &m.value));
                p.quantity("supply", f.supply.as_ref());
                subjects.push(p.subject(f.origin, &f.name));
            }
        }
        "specimen" => {
            for s in plan.campaign.specimens.values() {
                let mut p = Properties::default();
                let model = s.model.as_ref().and_then(|m| plan.campaign.models.get(m));
                p.quantity("price", model.and_then(|m| m.price.as_ref()));
                p.quantity("rated-flow", model.and_then(|m| m.rated_flow.as_ref()));
                subjects.push(p.subject(s.origin, &s.code));
            }
        }
        "batch loop" => {
            for b in plan.tests.iter().flat_map(|t| &t.batches) {
                let mut p = Properties::default();
                p.number("cap", f64::from(b.cap));
                p.quantity("terminal", Some(&b.terminal));
                subjects.push(p.subject(b.origin, &b.path));
            }
        }
        _ => {
            for step in steps() {
                let mut p = Properties::default();
                let wanted = match (&step.action, what) {
                    (Action::Dose { mass, carrier, .. } | Action::Condition { mass, carrier, .. }, "dose") => {
                        p.setting("mass", mass);
                        p.quantity("carrier", Some(carrier));
                        true
                    }
                    (
                        Action::HoldFlow(s)
                        | Action::HoldTemperature(s)
                        | Action::HoldBackPressure(s)
                        | Action::HoldLevel(s),
                        "hold",
                    ) => {
                        p.setting("target", s);
                        true
                    }
                    (Action::SetFlow { setting, .. }, "sweep point") => {
                        p.setting("flow", setting);
                        true
                    }
                    (Action::Sample, "sample") => {
                        if let Some(Wants::Bottle(b)) = step.readings.first().map(|r| &r.wants) {
                            p.quantity("bottle", Some(&b.volume));
                            p.quantity("flush", b.flush.as_ref());
                            p.quantity("dead-volume", plan.rig.samplers.get(&b.sampler).map(|s| &s.dead_volume));
                        }
                        true
                    }
                    (Action::CleanUp(c), "clean-up") => {
                        if let Some(turnovers) = c.turnovers {
                            p.number("turnovers", turnovers);
                        }
                        p.quantity("time", c.time.as_ref());
                        true
                    }
                    (_, "reading") => step.readings.iter().any(|r| matches!(r.wants, Wants::Number(_))),
                    _ => false,
                };
                if !wanted {
                    continue;
                }
                for reading in &step.readings {
                    if let Wants::Number(n) = &reading.wants
                        && let Some(i) = n.instrument.as_ref().and_then(|name| plan.instruments.get(name))
                    {
                        p.quantity("resolution", Some(&i.resolution));
                        p.quantity("span", span(i).as_ref());
                    }
                }
                subjects.push(p.subject(step.origin, &step.path));
            }
        }
    }
    subjects
}

fn span(instrument: &super::Instrument) -> Option<Quantity> {
    let (low, high) = (instrument.range.window.low?, instrument.range.window.high?);
    Some(super::value::tidy(high - low, &instrument.resolution.unit, true))
}

#[derive(Default)]
struct Properties(IndexMap<String, Bound>);

impl Properties {
    fn quantity(&mut self, name: &str, quantity: Option<&Quantity>) {
        if let Some(quantity) = quantity {
            self.0.insert(name.to_owned(), Bound::Value(Value::Quantity(quantity.clone())));
        }
    }

    fn number(&mut self, name: &str, value: f64) {
        self.0.insert(name.to_owned(), Bound::Value(Value::Number(value.to_string(), value)));
    }

    /// A set value, and the half-width of its window as `tolerance`.
    fn setting(&mut self, name: &str, setting: &Setting) {
        self.quantity(name, setting.target.as_ref());
        if let (Some(target), Some(low), Some(high)) = (&setting.target, setting.window.low, setting.window.high) {
            let unit: Unit = target.unit.clone();
            let width = super::value::tidy((high - low) / 2.0, &unit, true);
            self.quantity("tolerance", Some(&width));
        }
    }

    fn subject(self, origin: Origin, called: &str) -> Subject {
        Subject { origin, called: format!("`{called}`"), properties: self.0 }
    }
}
