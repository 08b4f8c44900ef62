//! Pressures worked out beforehand: the clean filter at this flow and viscosity, the lines, the pump's inlet.

use crate::check::say::{self, Round, above, below};
use crate::check::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::foresight::{Predicted, Span};
use crate::plan::{Action, Instrument, Mark, Marked, Measures, Origin, Part, Reading, Wants};
use crate::quantity::{Kind, Quantity, Unit};

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    if !matches!(moment.step.action, Action::Read | Action::Settle(_) | Action::HoldFlow(_) | Action::Circulate(_)) {
        return;
    }
    suction(moment, findings);
    if !matches!(moment.step.action, Action::Read) {
        return;
    }
    expected_near_relief(moment, findings);
    let bare = moment.stage().is_some_and(|stage| stage.tare_for.is_some() || stage.blank.is_some());
    if bare {
        return;
    }
    let Some(predicted) = moment.paper.restriction(moment.after) else { return };
    let opens = by_pass(moment, &predicted);
    // An open by-pass lets the pressure rise no further.
    let cap = opens.map_or(f64::INFINITY, |opens| opens.value.si_difference());
    let pressure = Span::between(predicted.pressure.low.min(cap), predicted.pressure.high.min(cap));
    if near_relief(moment, &predicted, pressure, findings) || off_the_gauge(moment, &predicted, pressure, findings) {
        return;
    }
    if let Some(opens) = opens {
        past_by_pass(moment, &predicted, opens, findings);
        rise_past_by_pass(moment, &predicted, opens, findings);
    }
}

fn kilopascals() -> Unit {
    Kind::DifferentialPressure.usual_unit()
}

/// `20 kPa to 35 kPa`, or one number where both ends read alike.
fn span(span: Span, unit: &Unit) -> String {
    let (low, high) = (say::difference(span.low, unit, Round::Near), say::difference(span.high, unit, Round::Near));
    if low == high { low } else { format!("{low} to {high}") }
}

/// Where a prediction comes from, in words.
fn from(predicted: &Predicted<'_>) -> String {
    match predicted.from.model {
        "" => "worked out from what is expected here".to_owned(),
        model => format!("worked out from what `{model}` is expected to take"),
    }
}

fn by_pass<'p>(moment: &Moment<'_, 'p>, predicted: &Predicted<'_>) -> Option<&'p Marked<Quantity>> {
    moment.plan.campaign.models.get(predicted.from.model)?.bypass_opens.as_ref()
}

/// The flow and the viscosity of the moment, in words.
fn condition(moment: &Moment<'_, '_>) -> String {
    let flow = moment.after.flow.map_or(0.0, |(flow, _)| flow);
    let unit = flow_unit(moment);
    let viscosity = moment.after.viscosity().map_or(0.0, |span| f64::midpoint(span.low, span.high));
    format!(
        "at {} and {}",
        say::point(flow, &unit, Round::Near),
        say::point(viscosity, &Kind::KinematicViscosity.usual_unit(), Round::Near)
    )
}

/// The unit in which the flow of the moment was written.
fn flow_unit(moment: &Moment<'_, '_>) -> Unit {
    let set = moment.after.flow.map(|(_, origin)| origin);
    let steps = moment.test.steps.iter().take(moment.step.number as usize).rev();
    let unit = steps.filter(|step| Some(step.origin) == set).find_map(|step| match &step.action {
        Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => setting.target.as_ref().map(|q| q.unit.clone()),
        Action::BypassFlow { flow, .. } => Some(flow.unit.clone()),
        _ => None,
    });
    unit.unwrap_or_else(|| Kind::Flow.usual_unit())
}

/// Lines whose name or title speaks of suction.
fn suction_lines<'p>(moment: &Moment<'_, 'p>) -> impl Iterator<Item = (&'p Part, &'p Quantity, &'p Quantity)> {
    moment.plan.rig.parts.iter().filter_map(|part| {
        let named = |text: &str| text.to_lowercase().contains("suction");
        let (bore, length) = part.line.as_ref()?;
        (named(&part.name) || named(&part.title)).then_some((part, bore, length))
    })
}

/// What the suction line takes in front of the pump.
fn suction(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Some((flow, set)) = moment.after.flow.filter(|(flow, _)| *flow > 0.0) else { return };
    let Some((line, bore, length)) = suction_lines(moment).min_by(|a, b| a.1.si().total_cmp(&b.1.si())) else { return };
    // Oil of which no temperature was set yet is as cold as the room.
    let room = moment.plan.rules.point("room-temperature").unwrap_or(293.15);
    let cold = || moment.paper.viscosity(moment.after.fluid?.0, room).map(Span::exactly);
    let Some(viscosity) = moment.after.viscosity().or_else(cold) else { return };
    let all = |viscosity: f64| -> f64 {
        let losses = suction_lines(moment);
        losses.filter_map(|(_, bore, length)| moment.paper.loss(flow, bore.si(), length.si(), viscosity)).sum()
    };
    let loss = all(viscosity.high);
    let most = say::rule(moment.plan, "suction-loss", 25e3);
    if !above(loss, most.value) {
        return;
    }
    let unit = kilopascals();
    let thickness = Kind::KinematicViscosity.usual_unit();
    let flow_unit = flow_unit(moment);
    // Laminar, as thick oil is: the loss grows with the flow and falls with the fourth power of the bore.
    let (less, wider) = (flow * most.value / loss, bore.si() * (loss / most.value).powf(0.25));
    findings.add(
        finding(
            Code::PumpStarves,
            format!(
                "{} of oil of {} take {} in the suction line",
                say::point(flow, &flow_unit, Round::Near),
                say::point(viscosity.high, &thickness, Round::Near),
                say::difference(loss, &unit, Round::Near)
            ),
            set,
            "this flow",
        )
        .and(moment.step.origin, "needed from here on")
        .and(line.origin, format!("bore {bore}, length {length}"))
        .and_maybe(most.origin, format!("{} is the most", say::difference(most.value, &unit, Round::Near)))
        .help(format!(
            "stay at {} or less until the oil is thinner, or fit a suction line of {} bore or more",
            say::point(less, &flow_unit, Round::Down),
            say::point(wider, &bore.unit, Round::Up)
        )),
    );
}

/// A line pressure that the plan itself expects close to the relief valve's setting.
fn expected_near_relief(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let relief = &moment.plan.rig.relief;
    let share = say::rule(moment.plan, "relief-use", 0.85);
    let allowed = relief.set.si() * share.value;
    for reading in &moment.step.readings {
        let Wants::Number(numeric) = &reading.wants else { continue };
        let high = numeric.expect.and_then(|window| window.high);
        let Some(high) = high.filter(|_| numeric.measures == Measures::GaugePressure) else { continue };
        // Beyond the run's own limit something else is said.
        let stopped = numeric.stop.and_then(|window| window.high).is_some_and(|stop| above(high, stop));
        if allowed <= 0.0 || !above(high, allowed) || stopped {
            continue;
        }
        findings.add(
            finding(
                Code::ReliefTooNear,
                format!(
                    "`{}` may be {} here, {} of what the relief valve is set at",
                    reading.name,
                    say::point(high, &numeric.unit, Round::Near),
                    say::percent(high / relief.set.si(), Round::Near)
                ),
                reading.origin,
                "expected here",
            )
            .and(relief.origin, format!("set at {}", relief.set))
            .and_maybe(share.origin, format!("{} is the most", say::percent(share.value, Round::Near)))
            .severity(Severity::Warning)
            .help(lower(&say::point(allowed, &numeric.unit, Round::Down))),
        );
    }
}

fn lower(allowed: &str) -> String {
    format!(
        "set less flow or hold a thinner oil, so that `expect at most {allowed}` is enough; the relief valve may go up only as far as the weakest part is rated"
    )
}

/// Whether the predicted line pressure comes near the relief valve's setting. Gives whether something was found.
fn near_relief(moment: &Moment<'_, '_>, predicted: &Predicted<'_>, pressure: Span, findings: &mut Findings) -> bool {
    let relief = &moment.plan.rig.relief;
    let share = say::rule(moment.plan, "relief-use", 0.85);
    let allowed = relief.set.si() * share.value;
    let (Some((flow, set)), Some(viscosity)) = (moment.after.flow, moment.after.viscosity()) else { return false };
    let lines = moment.paper.line_losses(flow, viscosity);
    let line = Span::exactly(moment.after.back_pressure).plus(lines).plus(pressure);
    if allowed <= 0.0 || !above(line.high, allowed) {
        return false;
    }
    let unit = &relief.set.unit;
    let certain = above(line.low, allowed);
    findings.add(
        finding(
            Code::ReliefTooNear,
            format!(
                "{} the line before the filter {} at {}, and the relief valve is set at {}",
                condition(moment),
                if certain { "stands" } else { "may stand" },
                span(line, unit),
                relief.set
            ),
            set,
            "this flow",
        )
        .and(predicted.from.origin, from(predicted))
        .and(relief.origin, format!("set at {}", relief.set))
        .and_maybe(share.origin, format!("{} is the most", say::percent(share.value, Round::Near)))
        .severity(if certain { Severity::Error } else { Severity::Warning })
        .help(match at_most(moment, predicted, allowed - moment.after.back_pressure - lines.high) {
            Some(flow) => format!(
                "stay at {flow} or less, or hold a warmer, thinner oil: the relief valve weeps from {} on, and higher flows of the same sweep are worse still; never set it above the rating of the weakest part",
                say::point(allowed, &relief.set.unit, Round::Down)
            ),
            None => "hold a thinner oil".to_owned(),
        }),
    );
    true
}

/// The largest flow at which the filter surely takes no more than a pressure, in words.
fn at_most(moment: &Moment<'_, '_>, predicted: &Predicted<'_>, pressure: f64) -> Option<String> {
    if pressure <= 0.0 {
        return None;
    }
    let flow = predicted.from.flow_at(pressure, moment.after.viscosity()?)?;
    Some(say::point(flow.low, &flow_unit(moment), Round::Down))
}

fn gauges<'m>(moment: &'m Moment<'_, '_>) -> impl Iterator<Item = (&'m Reading, &'m Instrument)> {
    moment.step.readings.iter().filter_map(|reading| {
        let Wants::Number(numeric) = &reading.wants else { return None };
        let name = numeric.instrument.as_ref().filter(|_| numeric.measures == Measures::DifferentialPressure)?;
        Some((reading, moment.plan.instruments.get(name).filter(|gauge| !gauge.is_role)?))
    })
}

/// Whether the predicted differential pressure leaves the useful part of its gauge. Gives whether something was found.
fn off_the_gauge(moment: &Moment<'_, '_>, predicted: &Predicted<'_>, pressure: Span, findings: &mut Findings) -> bool {
    let top = say::rule(moment.plan, "gauge-top", 0.9);
    let mut found = false;
    for (reading, gauge) in gauges(moment) {
        let (Some(high), Some(end)) = (gauge.range.window.high, gauge.range.high.as_ref()) else { continue };
        // What is worked out from expected readings says nothing better than this reading's own expectation.
        let own = matches!(&reading.wants, Wants::Number(n) if n.expect.is_some_and(|e| e.high.is_some()));
        if !above(pressure.high, top.value * high) || own && predicted.from.model.is_empty() {
            continue;
        }
        found = true;
        let certain = above(pressure.low, top.value * high);
        let help = at_most(moment, predicted, top.value * high)
            .map_or_else(String::new, |flow| format!("stay at {flow} or less, or "));
        findings.add(
            finding(
                Code::OffTheGauge,
                format!(
                    "{} the filter {} {}, and `{}` reads to {end}",
                    condition(moment),
                    if certain { "takes" } else { "may take" },
                    span(pressure, &gauge.unit),
                    gauge.name
                ),
                reading.origin,
                "read here",
            )
            .and(predicted.from.origin, from(predicted))
            .and(gauge.origin, format!("reads to {end}"))
            .and_maybe(top.origin, format!("{} of the range is the most", say::percent(top.value, Round::Near)))
            .severity(if certain { Severity::Error } else { Severity::Warning })
            .help(format!(
                "{help}read with a gauge that goes to {} or more, the smaller ones shut off",
                say::difference(pressure.high / top.value, &gauge.unit, Round::Up)
            )),
        );
    }
    found
}

fn marked(opens: &Marked<Quantity>) -> String {
    let mark = if opens.mark == Mark::FromMemory { ", from memory" } else { "" };
    format!("opens at {}{mark}", opens.value)
}

/// A sweep of which the upper end belongs to the by-pass valve.
fn past_by_pass(moment: &Moment<'_, '_>, predicted: &Predicted<'_>, opens: &Marked<Quantity>, findings: &mut Findings) {
    let Some(set) = swept(moment) else { return };
    let opening = opens.value.si_difference();
    if !above(predicted.pressure.high, opening) || gauges(moment).next().is_none() {
        return;
    }
    let certain = above(predicted.pressure.low, opening);
    let unit = flow_unit(moment);
    let knee = moment.after.viscosity().and_then(|viscosity| predicted.from.flow_at(opening, viscosity));
    let (knee_said, help) = match knee {
        Some(knee) => {
            let (low, high) = (say::point(knee.low, &unit, Round::Down), say::point(knee.high, &unit, Round::Near));
            (
                format!("; it opens between {low} and {high}"),
                format!("end the sweep at {low}, hold a thinner oil, or block the valve and say so"),
            )
        }
        None => (String::new(), "end the sweep at a smaller flow, or block the valve and say so".to_owned()),
    };
    findings.add(
        finding(
            Code::BypassInSweep,
            format!(
                "{} the filter of `{}` {} {} if its by-pass stayed shut{knee_said}",
                condition(moment),
                predicted.from.model,
                if certain { "would take" } else { "might take" },
                span(predicted.pressure, &opens.value.unit),
            ),
            set,
            "this sweep",
        )
        .and(opens.origin, marked(opens))
        .and(predicted.from.origin, from(predicted))
        .help(help),
    );
}

/// Where the flow in force was set by a sweep.
fn swept(moment: &Moment<'_, '_>) -> Option<Origin> {
    let (_, set) = moment.after.flow?;
    let steps = moment.test.steps.iter().take(moment.step.number as usize).rev();
    let mut steps = steps.skip_while(|step| step.origin != set);
    steps.next().filter(|step| matches!(step.action, Action::SetFlow { .. })).map(|step| step.origin)
}

/// A rise that starts from what the clean filter takes already, and ends beyond the by-pass valve's opening.
fn rise_past_by_pass(
    moment: &Moment<'_, '_>,
    predicted: &Predicted<'_>,
    opens: &Marked<Quantity>,
    findings: &mut Findings,
) {
    let Some((index, 1)) = moment.step.round else { return };
    let Some(batch) = moment.test.batches.get(index) else { return };
    let decides = moment.step.readings.iter().any(|reading| reading.name == batch.reading);
    if !decides || batch.baseline.is_none() {
        return;
    }
    let (rise, opening) = (batch.terminal.si_difference(), opens.value.si_difference());
    let share = say::rule(moment.plan, "bypass-use", 0.75);
    // A rise that is too high by itself has been reported.
    if above(rise, opening * share.value) || !above(predicted.pressure.low + rise, opening) {
        return;
    }
    let unit = &batch.terminal.unit;
    let room = opening * share.value - predicted.pressure.low;
    let help = if below(room, 0.0) {
        "test at a smaller flow or with thinner oil, or block the valve and say so".to_owned()
    } else {
        format!(
            "end the loop at a rise of {} or less, or block the valve and say so",
            say::difference(room, unit, Round::Down)
        )
    };
    findings.add(
        finding(
            Code::TerminalBeyondBypass,
            format!(
                "a clean filter of `{}` takes {} here already, and {} more is beyond the opening of its by-pass",
                predicted.from.model,
                span(predicted.pressure, unit),
                batch.terminal
            ),
            batch.origin,
            "the loop ends here",
        )
        .and(opens.origin, marked(opens))
        .and(predicted.from.origin, from(predicted))
        .help(help),
    );
}
