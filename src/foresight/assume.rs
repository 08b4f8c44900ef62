//! What is assumed of a specimen before it is tested: its restriction, what it catches, what it holds.

use super::Span;
use crate::plan::{Action, Measures, Model, Origin, Plan, Run, Test, Wants};

/// A restriction known at one flow and viscosity, and how much of it grows with the viscosity.
#[derive(Debug, Clone, Copy)]
pub struct Restriction<'p> {
    /// The model's name; empty where the plan's own expected readings are all that is known.
    pub model: &'p str,
    /// Pa.
    pub pressure: Span,
    /// m³/s.
    pub flow: f64,
    /// m²/s.
    pub viscosity: Span,
    /// Share of the pressure that is proportional to viscosity and flow; the rest goes with the square of the flow.
    pub viscous: Span,
    pub origin: Origin,
}

impl Restriction<'_> {
    /// The differential pressure at another flow and viscosity: ΔP = ΔP₀ [s (ν/ν₀)(Q/Q₀) + (1 − s)(Q/Q₀)²], the densities
    /// taken as alike (oils differ by less than the doubt about ΔP₀). Source: the viscous–inertial form of
    /// [`crate::trade::hydraulics::cold_from_hot`].
    pub fn at(&self, flow: f64, viscosity: Span) -> Span {
        let q = flow / self.flow;
        let at = |share: f64, thickness: f64| share * thickness * q + (1.0 - share) * q * q;
        let thin = viscosity.low / self.viscosity.high;
        let thick = viscosity.high / self.viscosity.low;
        let ends = [at(self.viscous.low, thin), at(self.viscous.high, thin)];
        let others = [at(self.viscous.low, thick), at(self.viscous.high, thick)];
        let low = ends.into_iter().fold(f64::INFINITY, f64::min);
        let high = others.into_iter().fold(0.0, f64::max);
        self.pressure.times(Span::between(low, high))
    }

    /// The flow at which a differential pressure is reached, from the earliest to the latest; the inverse of [`Self::at`].
    pub fn flow_at(&self, pressure: f64, viscosity: Span) -> Option<Span> {
        let find = |of: &dyn Fn(f64) -> f64| {
            // The pressure rises with the flow, so halving a bracket finds it.
            let (mut low, mut high) = (0.0, self.flow);
            let mut doublings = 0;
            while of(high) < pressure {
                high *= 2.0;
                doublings += 1;
                if doublings > 40 {
                    return None;
                }
            }
            for _ in 0..60 {
                let middle = f64::midpoint(low, high);
                if of(middle) < pressure {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            Some(high)
        };
        let earliest = find(&|flow| self.at(flow, viscosity).high)?;
        let latest = find(&|flow| self.at(flow, viscosity).low)?;
        Some(Span::between(earliest, latest))
    }
}

/// What the specimens of a test are taken to be like.
#[derive(Debug, Clone)]
pub struct Assumed<'p> {
    pub restrictions: Vec<Restriction<'p>>,
    /// Single-pass efficiency by size (m), for each model that says something of it, by rising size.
    captures: Vec<Vec<(f64, f64)>>,
    /// Whether nothing was said, so that the pack's numbers hold.
    unsaid: Span,
    /// kg, over the models that say something of it.
    pub capacity: Option<Span>,
}

impl<'p> Assumed<'p> {
    /// From what the models of a test's specimens say, or else from the test's own expected readings and the packs.
    pub fn of(plan: &'p Plan, runs: &[&Run], test: &'p Test) -> Self {
        let models = models(plan, runs);
        let doubt = plan.rules.number("expectation-doubt").unwrap_or(0.25);
        let mut restrictions: Vec<Restriction<'p>> =
            models.iter().filter_map(|model| restriction(plan, model, doubt)).collect();
        if restrictions.is_empty() {
            restrictions.extend(from_readings(plan, test));
        }
        let captures = models.iter().map(|model| capture(model)).filter(|points| !points.is_empty()).collect();
        let capacities = models.iter().filter_map(|model| model.expects.capacity.as_ref());
        let capacity = capacities.map(|c| Span::about(c.value.si(), doubt)).reduce(Span::or);
        let least = plan.rules.number("assumed-efficiency-least").unwrap_or(0.5);
        let most = plan.rules.number("assumed-efficiency-most").unwrap_or(0.99);
        Self { restrictions, captures, unsaid: Span::between(least, most), capacity }
    }

    /// The single-pass efficiency at a size (m): between two sizes of which a model speaks, as its penetration falls in a
    /// straight line on logarithmic axes; below the smallest from nothing to that; above the largest from that to all.
    pub fn efficiency(&self, size: f64) -> Span {
        let spans = self.captures.iter().map(|points| between(points, size));
        spans.reduce(Span::or).unwrap_or(self.unsaid)
    }

    /// Whether the plan itself says what its specimens catch.
    pub fn captures_are_said(&self) -> bool {
        !self.captures.is_empty()
    }
}

fn between(points: &[(f64, f64)], size: f64) -> Span {
    let above = points.iter().find(|(at, _)| *at >= size * (1.0 - 1e-9));
    let below = points.iter().rev().find(|(at, _)| *at <= size * (1.0 + 1e-9));
    match (below, above) {
        (Some((a, ea)), Some((b, eb))) => {
            if b / a < 1.0 + 1e-6 {
                return Span::exactly(*ea);
            }
            let at = (size / a).ln() / (b / a).ln();
            let passed = |e: f64| (1.0 - e).max(1e-6).ln();
            Span::exactly(1.0 - (passed(*ea) + at * (passed(*eb) - passed(*ea))).exp())
        }
        (Some((_, e)), None) => Span::between(*e, 1.0),
        (None, Some((_, e))) => Span::between(0.0, *e),
        (None, None) => Span::between(0.0, 1.0),
    }
}

fn capture(model: &Model) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> =
        model.expects.captures.iter().map(|c| (c.value.1.si(), c.value.0.si_difference())).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    points
}

fn restriction<'p>(plan: &Plan, model: &'p Model, doubt: f64) -> Option<Restriction<'p>> {
    let said = model.expects.restriction.as_ref()?;
    let viscous = said.value.viscous.as_ref().map_or_else(|| unknown_share(plan), |s| Span::exactly(s.si_difference()));
    Some(Restriction {
        model: &model.name,
        pressure: Span::about(said.value.pressure.si_difference(), doubt),
        flow: said.value.flow.si(),
        viscosity: Span::exactly(said.value.viscosity.si()),
        viscous,
        origin: said.origin,
    })
}

/// Half to all of the pressure is viscous where nobody has measured it (common practice for filters in oil).
fn unknown_share(plan: &Plan) -> Span {
    Span::between(plan.rules.number("assumed-viscous-share").unwrap_or(0.5), 1.0)
}

/// The expected reading at the largest flow of the thinnest oil, where a sweep of this test says one.
fn from_readings<'p>(plan: &Plan, test: &Test) -> Option<Restriction<'p>> {
    let (mut viscosity, mut stage, mut flow) = (None, usize::MAX, None);
    let mut best: Option<Restriction<'p>> = None;
    for step in &test.steps {
        if step.stage != stage {
            stage = step.stage;
            flow = None;
        }
        match &step.action {
            Action::HoldViscosity(hold) => {
                viscosity = Some(Span::between(
                    hold.window.low.unwrap_or(hold.target),
                    hold.window.high.unwrap_or(hold.target),
                ));
            }
            Action::HoldTemperature(_) | Action::Cool { .. } | Action::ChangeFluid(_) | Action::UseFluid { .. } => {
                viscosity = None;
            }
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
                flow = setting.target.as_ref().map(|target| target.si()).filter(|flow| *flow > 0.0);
            }
            _ => {}
        }
        let bare = test.stages.get(step.stage).is_some_and(|stage| stage.tare_for.is_some() || stage.blank.is_some());
        let (Some(viscosity), Some(flow), false) = (viscosity, flow, bare) else { continue };
        for reading in &step.readings {
            let Wants::Number(numeric) = &reading.wants else { continue };
            if numeric.measures != Measures::DifferentialPressure || step.round.is_some() {
                continue;
            }
            let Some((low, high)) = numeric.expect.and_then(|window| window.low.zip(window.high)) else { continue };
            let better = best.as_ref().is_none_or(|b| {
                (viscosity.middle(), -flow) < (b.viscosity.middle() * (1.0 - 1e-9), -b.flow)
                    || viscosity.middle() < b.viscosity.middle() * (1.0 + 1e-9) && flow > b.flow
            });
            if low > 0.0 && better {
                let viscous = unknown_share(plan);
                let pressure = Span::between(low, high);
                best = Some(Restriction { model: "", pressure, flow, viscosity, viscous, origin: reading.origin });
            }
        }
    }
    best
}

/// The models of the specimens that go through a test.
pub fn models<'p>(plan: &'p Plan, runs: &[&Run]) -> Vec<&'p Model> {
    let mut names: Vec<&str> = Vec::new();
    for run in runs {
        let model = plan.campaign.specimens.get(&run.specimen).and_then(|s| s.model.as_deref());
        if let Some(model) = model
            && !names.contains(&model)
        {
            names.push(model);
        }
    }
    names.into_iter().filter_map(|name| plan.campaign.models.get(name)).collect()
}
