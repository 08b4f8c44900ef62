//! Which differences between models this bench could tell, and how many specimens that takes.

use serde::Serialize;

use super::course::{Course, dose_of};
use super::say;
use crate::foresight::Span;
use crate::plan::accuracy_half_width as half_width;
use crate::plan::{Action, Instrument, Measures, Numeric, Plan, Setting, ViscosityHold, Wants};
use crate::quantity::Unit;
use crate::trade::comparison::{smallest_difference, specimens_needed};
use crate::trade::confidence::Confidence;
use crate::trade::distribution::normal_quantile;
use crate::trade::uncertainty::{Correlations, DegreesOfFreedom, Dual64, Input, UncertaintyError, propagate};

/// What can be told apart of one result.
#[derive(Debug, Clone, Serialize)]
pub struct Difference {
    pub test: String,
    /// Such as `restriction at 40 L/min in 11.6 mm²/s`.
    pub what: String,
    pub models: usize,
    /// Specimens of each model; the fewest of them.
    pub specimens: usize,
    /// The mean over the models, and the pooled standard deviation from run to run, in SI.
    pub value: f64,
    pub sd: f64,
    /// Where that comes from: words and share of the variance, largest first; of the model that varies most.
    pub sources: Vec<(String, f64)>,
    /// The smallest difference that shows four times in five at 95 %, all pairs together, in SI. With one specimen a model
    /// it holds only as far as the assumed scatter does, since nothing is seen of it.
    pub smallest: Option<f64>,
    /// The difference that one would act on, in SI, and the specimens of each model that show it.
    pub wanted: f64,
    pub needed: Option<usize>,
    pub unit: Unit,
}

/// How often a true difference is to show.
const POWER: f64 = 0.8;

pub(super) fn differences(plan: &Plan, courses: &[Course<'_>]) -> Vec<Difference> {
    let mut found = Vec::new();
    for test in &plan.tests {
        let of: Vec<&Course<'_>> = courses.iter().filter(|course| std::ptr::eq(course.paper.test, test)).collect();
        let each: Vec<Vec<Outcome>> = of.iter().map(|course| results(plan, course)).collect();
        let Some(first) = each.first() else { continue };
        for (index, one) in first.iter().enumerate() {
            let same: Vec<&Outcome> = each.iter().filter_map(|results| results.get(index)).collect();
            if same.len() == each.len() {
                found.extend(compared(plan, &test.title, one, &same, specimens(plan, &of)));
            }
        }
    }
    found
}

/// The fewest specimens that any model of a test has; one tested twice counts once.
fn specimens(plan: &Plan, courses: &[&Course<'_>]) -> usize {
    let each = courses.iter().map(|course| {
        let runs = course.runs.iter().filter_map(|code| plan.run(code));
        let mut codes: Vec<&str> = runs.map(|run| run.specimen.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        codes.len()
    });
    each.min().unwrap_or(0)
}

/// A result of one model: its value and what it varies by from run to run.
struct Outcome {
    what: String,
    value: f64,
    sd: f64,
    sources: Vec<(String, f64)>,
    unit: Unit,
}

fn compared(plan: &Plan, test: &str, one: &Outcome, same: &[&Outcome], specimens: usize) -> Option<Difference> {
    let models = same.len();
    if models < 2 {
        return None;
    }
    let value = same.iter().map(|result| result.value).sum::<f64>() / models as f64;
    let worst = same.iter().max_by(|a, b| a.sd.total_cmp(&b.sd))?;
    // Pooled over the models, as a comparison of their means will do it.
    let sd = (same.iter().map(|result| result.sd.powi(2)).sum::<f64>() / models as f64).sqrt();
    let confidence = Confidence::P95.shared_by(models * (models - 1) / 2);
    let wanted = plan.rules.number("wanted-difference").unwrap_or(0.1) * value;
    let smallest = if specimens >= 2 {
        smallest_difference(sd, models, specimens, confidence, POWER).ok()
    } else {
        let z = normal_quantile(1.0 - confidence.error() / 2.0).ok()? + normal_quantile(POWER).ok()?;
        Some(z * 2_f64.sqrt() * sd)
    };
    Some(Difference {
        test: test.to_owned(),
        what: one.what.clone(),
        models,
        specimens,
        value,
        sd,
        sources: worst.sources.clone(),
        smallest,
        wanted,
        needed: specimens_needed(wanted, sd, models, confidence, POWER).ok(),
        unit: one.unit.clone(),
    })
}

fn results(plan: &Plan, course: &Course<'_>) -> Vec<Outcome> {
    let mut found = restrictions(plan, course);
    found.extend(capacity(plan, course));
    found
}

/// The restriction at the largest flow of each viscosity at which the clean specimen is read.
fn restrictions(plan: &Plan, course: &Course<'_>) -> Vec<Outcome> {
    let mut best: Vec<(Span, f64, Option<Outcome>)> = Vec::new();
    let (mut setting, mut hold, mut meter): (Option<&Setting>, Option<&ViscosityHold>, Option<&Instrument>) =
        (None, None, None);
    for (step, _, after) in course.walk() {
        match &step.action {
            Action::SetFlow { setting: set, .. } | Action::HoldFlow(set) => setting = Some(set),
            Action::HoldViscosity(held) => hold = Some(held),
            _ => {}
        }
        let numbers = || {
            step.readings.iter().filter_map(|reading| match &reading.wants {
                Wants::Number(numeric) => Some(numeric),
                _ => None,
            })
        };
        let instrument = |numeric: &Numeric| plan.instruments.get(numeric.instrument.as_ref()?);
        meter = numbers().find(|n| n.measures == Measures::Flow).and_then(instrument).or(meter);
        let bare = course.paper.test.stages.get(step.stage).is_some_and(|s| s.tare_for.is_some() || s.blank.is_some());
        let Some(numeric) = numbers().find(|n| n.measures == Measures::DifferentialPressure) else { continue };
        if bare || step.round.is_some() || after.specimen_dust.is_some() {
            continue;
        }
        let (Some((flow, _)), Some(viscosity)) = (after.flow, after.viscosity()) else { continue };
        let (Some(setting), Some(hold)) = (setting, hold) else { continue };
        let known = best.iter_mut().find(|(at, ..)| *at == viscosity);
        if known.as_ref().is_some_and(|(_, at, _)| *at >= flow) {
            continue;
        }
        let seen = Seen { flow, setting, hold, meter, gauge: instrument(numeric), unit: &numeric.unit };
        let result = restriction(plan, course, &after, &seen);
        match known {
            Some(slot) => *slot = (viscosity, flow, result),
            None => best.push((viscosity, flow, result)),
        }
    }
    best.into_iter().filter_map(|(_, _, result)| result).collect()
}

/// What a restriction is read with.
struct Seen<'p> {
    flow: f64,
    setting: &'p Setting,
    hold: &'p ViscosityHold,
    meter: Option<&'p Instrument>,
    gauge: Option<&'p Instrument>,
    unit: &'p Unit,
}

fn restriction(
    plan: &Plan,
    course: &Course<'_>,
    state: &crate::foresight::State<'_>,
    seen: &Seen<'_>,
) -> Option<Outcome> {
    let predicted = course.paper.restriction(state)?;
    let value = f64::midpoint(predicted.pressure.low, predicted.pressure.high);
    let viscous = viscous_share(&predicted.from, seen.flow, state.viscosity()?.middle());
    let budget = budget(plan, course, seen, value, viscous).ok()?;
    let shares = budget.shares().unwrap_or_default();
    let mut sources: Vec<(String, f64)> = budget.lines.iter().map(|line| line.source.clone()).zip(shares).collect();
    sources.sort_by(|a, b| b.1.total_cmp(&a.1));
    let unit = seen.setting.target.as_ref().map_or_else(Unit::none, |target| target.unit.clone());
    let thickness = Unit::parse("mm²/s").unwrap_or_else(|_| Unit::none());
    Some(Outcome {
        what: format!(
            "restriction at {} in {}",
            say::value_in(seen.flow, &unit),
            say::value_in(seen.hold.target, &thickness)
        ),
        value,
        sd: budget.combined,
        sources,
        unit: seen.unit.clone(),
    })
}

/// The viscous share at a flow and viscosity, from the one at which it is known: its middle.
fn viscous_share(from: &crate::foresight::Restriction<'_>, flow: f64, viscosity: f64) -> f64 {
    let share = f64::midpoint(from.viscous.low, from.viscous.high);
    let (q, thickness) = (flow / from.flow, viscosity / from.viscosity.middle());
    let (viscous, inertial) = (share * thickness * q, (1.0 - share) * q * q);
    if viscous + inertial > 0.0 { viscous / (viscous + inertial) } else { share }
}

/// Windows and accuracies as limits within which everything is alike likely, scatter as a normal law:
/// ΔP = ΔP₀ (s n q + (1 − s) q²)(1 + e) + g, q and n flow and viscosity over their set-points.
fn budget(
    plan: &Plan,
    course: &Course<'_>,
    seen: &Seen<'_>,
    value: f64,
    viscous: f64,
) -> Result<crate::trade::uncertainty::Budget, UncertaintyError> {
    let half = |window: crate::quantity::Window, about: f64| {
        window.high.zip(window.low).map_or(0.0, |(high, low)| (high - low) / 2.0 / about.max(1e-30))
    };
    let within =
        |instrument: Option<&Instrument>, value: f64| instrument.and_then(|i| half_width(i, value)).unwrap_or(0.0);
    let probe = plan.instruments.values().find(|i| i.measures == Measures::Temperature);
    let off = within(probe, seen.hold.temperature);
    let at = |temperature: f64| course.paper.viscosity(&seen.hold.fluid, temperature).unwrap_or(seen.hold.target);
    let thinning =
        (at(seen.hold.temperature - 0.5) - at(seen.hold.temperature + 0.5)).abs() / seen.hold.target.max(1e-12);
    let (scatter, _) = scatter(plan, course);
    let normal = |source, sd| Input::with_standard_uncertainty(source, 0.0, sd, DegreesOfFreedom::Infinite);
    let inputs = [
        Input::within_limits("flow within its window", 0.0, half(seen.setting.window, seen.flow))?,
        Input::within_limits("flow meter", 0.0, within(seen.meter, seen.flow) / seen.flow)?,
        Input::within_limits("viscosity within its window", 0.0, half(seen.hold.window, seen.hold.target))?,
        Input::within_limits("thermometer", 0.0, off * thinning)?,
        Input::within_limits("gauge", 0.0, within(seen.gauge, value))?,
        normal("from specimen to specimen", scatter)?,
    ];
    let one = Dual64::from_re(1.0);
    propagate(&inputs, &Correlations::none(), |[window, meter, thickness, probe, gauge, piece]| {
        let (q, n) = (one + window + meter, one + thickness + probe);
        (n * q * viscous + q * q * (1.0 - viscous)) * value * (one + piece) + gauge
    })
}

/// From specimen to specimen of a model, and whether the model says so.
pub(super) fn scatter(plan: &Plan, course: &Course<'_>) -> (f64, bool) {
    let said = plan.campaign.models.get(course.model).and_then(|model| model.expects.scatter.as_ref());
    match said {
        Some(said) => (said.value.si_difference(), true),
        None => (plan.rules.number("assumed-scatter").unwrap_or(0.05), false),
    }
}

/// The dust to the end: it lies somewhere within the last dose.
fn capacity(plan: &Plan, course: &Course<'_>) -> Option<Outcome> {
    let test = course.paper.test;
    let span = course.paper.assumed.capacity?;
    let value = f64::midpoint(span.low, span.high);
    let dose = dose_of(test, test.batches.len().checked_sub(1)?)?;
    let (scatter, _) = scatter(plan, course);
    let inputs = [
        Input::within_limits("end within the last dose", 0.0, dose / 2.0).ok()?,
        Input::with_standard_uncertainty("from specimen to specimen", 0.0, scatter, DegreesOfFreedom::Infinite).ok()?,
    ];
    let one = Dual64::from_re(1.0);
    let budget = propagate(&inputs, &Correlations::none(), |[end, piece]| (one + piece) * value + end).ok()?;
    let shares = budget.shares().unwrap_or_default();
    let mut sources: Vec<(String, f64)> = budget.lines.iter().map(|line| line.source.clone()).zip(shares).collect();
    sources.sort_by(|a, b| b.1.total_cmp(&a.1));
    let unit = test.steps.iter().find_map(|step| match &step.action {
        Action::Dose { mass, .. } => mass.target.as_ref().map(|mass| mass.unit.clone()),
        _ => None,
    })?;
    Some(Outcome { what: "dust to the end of loading".to_owned(), value, sd: budget.combined, sources, unit })
}
