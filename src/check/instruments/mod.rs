//! Instruments: range, readable range, resolution, accuracy, calibration, zero.

mod calibration;

mod gauges;

mod zero;

use indexmap::IndexMap;

pub(super) use calibration::{calibrations, days_between};

use crate::check::say::{self, Round, above, below};
use crate::check::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{
    Accuracy, Action, Instrument, Measures, Numeric, Origin, Plan, Reading, Setting, Stage, Step, Test, Wants, curve,
};
use crate::quantity::si::Temperature;
use uom::si::diffusion_coefficient::square_meter_per_second;
use uom::si::thermodynamic_temperature::kelvin;

/// The instruments that some reading names, each with the first step that does.
pub(in crate::check) fn in_use(plan: &Plan) -> IndexMap<&str, Origin> {
    let mut used = IndexMap::new();
    for reading in plan.tests.iter().flat_map(|t| &t.steps).flat_map(|s| &s.readings) {
        if let Wants::Number(numeric) = &reading.wants
            && let Some(name) = &numeric.instrument
        {
            used.entry(name.as_str()).or_insert(reading.origin);
        }
    }
    used
}

/// Zero checks, terminal pressures within range, meters within their viscosities.
pub(in crate::check) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    zero::test(plan, test, findings);
    terminals(plan, test, findings);
    meters(plan, test, findings);
    gauges::test(plan, test, findings);
}

/// The instrument that gives the reading by which a loop ends.
pub(super) fn gauge_of<'p>(plan: &'p Plan, test: &'p Test, batch: usize, reading: &str) -> Option<&'p Instrument> {
    let name = test.steps.iter().find_map(|step| {
        step.round.filter(|(of, _)| *of == batch)?;
        numbers(step).find(|(inside, _, _)| inside.name == reading).map(|(_, _, name)| name)
    })?;
    plan.instruments.get(name)
}

/// A loop that ends at a pressure which its gauge can't show.
fn terminals(plan: &Plan, test: &Test, findings: &mut Findings) {
    for (index, batch) in test.batches.iter().enumerate() {
        let Some(gauge) = gauge_of(plan, test, index, &batch.reading) else { continue };
        if let Some(high) = &gauge.range.high
            && above(batch.terminal.si(), high.si())
        {
            findings.add(
                finding(
                    Code::OutsideInstrumentRange,
                    format!("the loop ends at {}, which `{}` cannot show", batch.terminal, gauge.name),
                    batch.origin,
                    "this end is never seen",
                )
                .and(gauge.origin, format!("reads to {high}"))
                .help(format!(
                    "read with a gauge that goes beyond {}, or end the loop at {} or less",
                    batch.terminal,
                    say::point(high.si(), &batch.terminal.unit, Round::Down)
                )),
            );
        }
    }
}

/// A meter that reads oil thicker or thinner than it was calibrated with, in every hold of the stage.
fn meters(plan: &Plan, test: &Test, findings: &mut Findings) {
    for stage in &test.stages {
        let steps = test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
        let mut holds: Vec<(f64, &str, Origin)> = Vec::new();
        let mut meters: IndexMap<&str, Origin> = IndexMap::new();
        for step in steps {
            if let Action::HoldViscosity(hold) = &step.action
                && !holds.iter().any(|(_, _, origin)| *origin == step.origin)
            {
                holds.push((hold.target, &hold.fluid, step.origin));
            }
            if let Action::HoldTemperature(setting) = &step.action
                && let Some((viscosity, fluid)) = at_temperature(plan, stage, setting)
                && !holds.iter().any(|(_, _, origin)| *origin == step.origin)
            {
                holds.push((viscosity, fluid, step.origin));
            }
            for (reading, numeric, name) in numbers(step) {
                if numeric.measures == Measures::Flow {
                    meters.entry(name).or_insert(reading.origin);
                }
            }
        }
        for (name, read) in meters {
            let Some(meter) = plan.instruments.get(name) else { continue };
            let Some(range) = &meter.viscosity_range else { continue };
            if holds.iter().any(|(viscosity, _, _)| range.window.contains(*viscosity)) {
                continue;
            }
            let Some((viscosity, fluid, held)) = holds.first() else { continue };
            let unit = range.low.as_ref().or(range.high.as_ref()).map(|q| q.unit.clone());
            let Some(unit) = unit else { continue };
            let ends = [&range.low, &range.high].into_iter().flatten().map(ToString::to_string).collect::<Vec<_>>();
            findings.add(
                finding(
                    Code::MeterViscosity,
                    format!(
                        "`{name}` meters `{fluid}` at {}, but is good for {}",
                        say::point(*viscosity, &unit, Round::Near),
                        ends.join(" to ")
                    ),
                    read,
                    "read here",
                )
                .and(*held, "held here")
                .and(meter.origin, "this meter")
                .help("take a meter that is good for this viscosity, or calibrate this one with a timed weighing of this oil"),
            );
        }
    }
}

/// The viscosity (m²/s) of a stage's fluid at a temperature that is held.
fn at_temperature<'p>(plan: &Plan, stage: &'p Stage, setting: &Setting) -> Option<(f64, &'p str)> {
    let fluid = stage.fluid.as_deref()?;
    let target = Temperature::new::<kelvin>(setting.target.as_ref()?.si());
    let found = curve(plan.fluids.get(fluid)?).ok()?.viscosity_at(target).ok()?;
    Some((found.value.get::<square_meter_per_second>(), fluid))
}

/// What is read, in words: a set-point by what it is of, a reading by its name.
fn called(reading: &Reading, numeric: &Numeric) -> String {
    if numeric.target.is_some() || numeric.window.is_some() {
        format!("the {}", reading.label)
    } else {
        format!("`{}`", reading.name)
    }
}

fn numbers(step: &Step) -> impl Iterator<Item = (&Reading, &Numeric, &str)> {
    step.readings.iter().filter_map(|reading| match &reading.wants {
        Wants::Number(numeric) => Some((reading, numeric, numeric.instrument.as_deref()?)),
        _ => None,
    })
}

/// Each number that a step asks for, against the instrument that is to give it.
pub(in crate::check) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let zero = matches!(moment.step.action, Action::Zero { .. });
    for (reading, numeric, name) in numbers(moment.step) {
        let Some(instrument) = moment.plan.instruments.get(name).filter(|i| !i.is_role) else { continue };
        let weighing = matches!(moment.step.action, Action::Dose { .. } | Action::Condition { .. });
        if !zero {
            let outside = range(moment, reading, numeric, instrument, findings);
            if !outside {
                readable(moment, reading, numeric, instrument, findings);
            }
        }
        if !weighing {
            resolution(moment, reading, numeric, instrument, zero, findings);
        }
    }
}

/// Gives whether something was found.
fn range(
    moment: &Moment<'_, '_>,
    reading: &Reading,
    numeric: &Numeric,
    instrument: &Instrument,
    findings: &mut Findings,
) -> bool {
    let target = numeric.target.as_ref().map(|t| t.si());
    // A sweep with a flow of nothing, or less, has been reported as such.
    if matches!(moment.step.action, Action::SetFlow { .. }) && target.is_some_and(|flow| flow <= 0.0) {
        return true;
    }
    let highest = target.into_iter().chain(numeric.expect.and_then(|e| e.high)).reduce(f64::max);
    let lowest = target.into_iter().chain(numeric.expect.and_then(|e| e.low)).reduce(f64::min);
    let unit = &numeric.unit;
    let (value, end, side) = match (highest, lowest, &instrument.range) {
        (Some(value), _, range) if range.window.high.is_some_and(|high| above(value, high)) => {
            (value, range.high.as_ref(), "above")
        }
        (_, Some(value), range) if range.window.low.is_some_and(|low| below(value, low)) => {
            (value, range.low.as_ref(), "below")
        }
        _ => return false,
    };
    let Some(end) = end else { return false };
    let said = say::point(value, unit, Round::Near);
    let help = if side == "above" {
        format!("take an instrument that reads beyond {said}, or stay at {end} or less")
    } else {
        format!("take an instrument that reads down to {said}, or stay at {end} or more")
    };
    findings.add(
        finding(
            Code::OutsideInstrumentRange,
            format!("{} may be {said}, {side} what `{}` can read", called(reading, numeric), instrument.name),
            moment.step.origin,
            "read here",
        )
        .why(if side == "above" {
            "The instrument would stand at its stop, or be damaged."
        } else {
            "Below its range an instrument stands still or shows too little, and nothing on it says so."
        })
        .and(instrument.origin, format!("reads {} {end}", if side == "above" { "up to" } else { "down to" }))
        .help(help),
    );
    true
}

/// A reading in the lowest fifth of a scale whose accuracy is a share of the span.
fn readable(
    moment: &Moment<'_, '_>,
    reading: &Reading,
    numeric: &Numeric,
    instrument: &Instrument,
    findings: &mut Findings,
) {
    let Some(of_span) = share_of_span(&instrument.accuracy) else { return };
    let Some(span) = instrument.range.window.width().filter(|span| *span > 0.0) else { return };
    let Some(low) = instrument.range.window.low else { return };
    let highest = numeric.target.as_ref().map(|t| t.si()).or(numeric.expect.and_then(|e| e.high));
    let Some(value) = highest else { return };
    let share = (value - low) / span;
    let warning = say::rule(moment.plan, "gauge-bottom-warning", 0.2);
    let limit = say::rule(moment.plan, "gauge-bottom-limit", 0.1);
    if !below(share, warning.value) || share <= 0.0 {
        return;
    }
    let grave = below(share, limit.value);
    let unit = &numeric.unit;
    let said = say::point(value, unit, Round::Near);
    let known = say::percent(of_span * span / (value - low), Round::Near);
    let better = say::difference((value - low) / warning.value, unit, Round::Down);
    findings.add(
        finding(
            Code::BelowReadableRange,
            format!(
                "{} {} {said}, {} of the range of `{}`",
                called(reading, numeric),
                if numeric.target.is_some() { "is set to" } else { "is at most" },
                say::percent(share, Round::Near),
                instrument.name
            ),
            moment.step.origin,
            format!("here it is known to {known} at best"),
        )
        .and(instrument.origin, format!("accurate to {} of its span", say::percent(of_span, Round::Near)))
        .and_maybe(if grave { limit.origin } else { warning.origin }, "the rule that sets the share")
        .severity(if grave { Severity::Error } else { Severity::Warning })
        .help(format!("read it with a gauge whose range ends between {said} and {better}")),
    );
}

fn share_of_span(accuracy: &Accuracy) -> Option<f64> {
    match accuracy {
        Accuracy::OfSpan(share) => Some(*share),
        Accuracy::WorstOf(terms) => terms.iter().find_map(share_of_span),
        _ => None,
    }
}

/// The half-width within which an instrument's reading is true, at a value.
pub(super) fn uncertainty(accuracy: &Accuracy, value: f64, span: Option<f64>) -> Option<f64> {
    match accuracy {
        Accuracy::OfSpan(share) => span.map(|span| share * span),
        Accuracy::OfReading(share) => Some(share * value.abs()),
        Accuracy::Absolute(quantity) => Some(quantity.si_difference()),
        Accuracy::WorstOf(terms) => terms.iter().filter_map(|t| uncertainty(t, value, span)).reduce(f64::max),
    }
}

/// A window that the instrument cannot tell from its own steps or its own error.
fn resolution(
    moment: &Moment<'_, '_>,
    reading: &Reading,
    numeric: &Numeric,
    instrument: &Instrument,
    zero: bool,
    findings: &mut Findings,
) {
    let Some(half) = numeric.window.and_then(|window| window.width()).map(|width| width / 2.0) else { return };
    let step = instrument.resolution.si_difference();
    let unit = &numeric.unit;
    let window = say::difference(half, unit, Round::Near);
    if below(half, 2.0 * step) {
        let what = if zero {
            format!("the zero of `{}` is to lie within ± {window}", instrument.name)
        } else {
            format!("{} is to be kept within ± {window}", called(reading, numeric))
        };
        findings.add(
            finding(
                Code::WindowFinerThanInstrument,
                format!("{what}, but `{}` shows steps of {}", instrument.name, instrument.resolution),
                moment.step.origin,
                "this window",
            )
            .and(instrument.origin, format!("resolution {}", instrument.resolution))
            .help(format!(
                "allow ± {} or more, or read with an instrument that shows {} or less",
                say::difference(2.0 * step, unit, Round::Up),
                say::difference(half / 2.0, unit, Round::Down)
            )),
        );
        return;
    }
    let Some(target) = numeric.target.as_ref().filter(|_| !zero) else { return };
    // A share of a reading is meant on the instrument's own scale, not in kelvin above absolute zero.
    let reading_value = if numeric.measures == Measures::Temperature { target.value } else { target.si() };
    let span = instrument.range.window.width();
    let Some(true_within) = uncertainty(&instrument.accuracy, reading_value, span) else { return };
    let limit = say::rule(moment.plan, "uncertainty-ratio-limit", 2.0);
    let warning = say::rule(moment.plan, "uncertainty-ratio-warning", 4.0);
    let grave = below(half, limit.value * true_within);
    if !grave && !below(half, warning.value * true_within) {
        return;
    }
    let rule = if grave { limit } else { warning };
    findings.add(
        finding(
            Code::WindowFinerThanInstrument,
            format!(
                "{} is to be kept within ± {window}, {} times what `{}` may itself be wrong by ({}); {} times is wanted",
                called(reading, numeric),
                say::number(half / true_within, Round::Down),
                instrument.name,
                say::difference(true_within, unit, Round::Near),
                say::number(rule.value, Round::Near)
            ),
            moment.step.origin,
            "this window",
        )
        .and(instrument.origin, "its accuracy")
        .and_maybe(rule.origin, "the rule that sets the ratio")
        .severity(if grave { Severity::Error } else { Severity::Warning })
        .help(format!(
            "allow ± {} or more, or read with an instrument that is true to ± {}",
            say::difference(rule.value * true_within, unit, Round::Up),
            say::difference(half / rule.value, unit, Round::Down)
        )),
    );
}
