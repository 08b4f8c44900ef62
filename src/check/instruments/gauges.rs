//! Where an instrument sits, what it is connected to, and how often it is read.

use indexmap::IndexMap;

use crate::check::say::{self, Round, above, below};
use crate::check::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Instrument, Measures, Origin, Plan, Reading, Stage, Step, Test};

pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    taps(plan, test, findings);
    thermometers(plan, test, findings);
    coarse(plan, test, findings);
    // Once a small gauge is shut off it stays so until it is opened again, or read.
    let mut shut = false;
    for stage in &test.stages {
        let steps = test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
        two_places(plan, stage, steps, findings);
        logged(test, stage, steps, findings);
        exposed(plan, test, (stage, steps), &mut shut, findings);
    }
    clocks(test, findings);
}

/// Gauges of which nobody has said how much higher one tap sits than the other.
fn taps(plan: &Plan, test: &Test, findings: &mut Findings) {
    for step in
        test.steps.iter().filter(|step| !matches!(step.action, Action::BubblePoint { .. } | Action::Zero { .. }))
    {
        for (reading, numeric, name) in super::numbers(step) {
            let Some(gauge) = plan.instruments.get(name).filter(|gauge| !gauge.is_role && gauge.tap_height.is_none())
            else {
                continue;
            };
            if numeric.measures != Measures::DifferentialPressure {
                continue;
            }
            findings.add(
                finding(
                    Code::TapHeight,
                    format!("nobody has said how much higher one tap of `{name}` sits than the other"),
                    gauge.origin,
                    "no `tap height difference` line",
                )
                .and(reading.origin, "read here")
                .help("measure it and write for example `tap height difference 0 mm`, or `120 mm`"),
            );
        }
    }
}

/// A viscosity held by a thermometer that does not see the oil in the filter.
fn thermometers(plan: &Plan, test: &Test, findings: &mut Findings) {
    for step in test.steps.iter().filter(|step| matches!(step.action, Action::HoldViscosity(_))) {
        for (_, _, name) in super::numbers(step) {
            let Some(probe) = plan.instruments.get(name) else { continue };
            let Some(place) = &probe.place else { continue };
            let said = place.to_lowercase();
            if !ELSEWHERE.iter().any(|word| said.contains(word)) || THERE.iter().any(|word| said.contains(word)) {
                continue;
            }
            findings.add(
                finding(
                    Code::ThermometerElsewhere,
                    format!("the viscosity in the filter is held by `{name}`, which sits at \"{place}\""),
                    step.origin,
                    "held by it",
                )
                .and(probe.origin, "this thermometer")
                .help("hold it on a thermometer in the line, within a metre before the filter, and say so with `at \"filter inlet\"`"),
            );
        }
    }
}

const ELSEWHERE: [&str; 6] = ["tank", "reservoir", "sump", "return", "room", "heater"];
const THERE: [&str; 4] = ["filter", "specimen", "head", "inlet"];

/// Steps of a gauge that are a large part of the smallest value it is to show.
fn coarse(plan: &Plan, test: &Test, findings: &mut Findings) {
    let share = say::rule(plan, "resolution-share", 0.01);
    for step in &test.steps {
        for (reading, numeric, name) in super::numbers(step) {
            let pressure = matches!(numeric.measures, Measures::DifferentialPressure);
            let Some(low) = numeric.expect.and_then(|e| e.low).filter(|low| pressure && *low > 0.0) else { continue };
            let Some(gauge) = plan.instruments.get(name).filter(|gauge| !gauge.is_role) else { continue };
            let resolution = gauge.resolution.si_difference();
            if !above(resolution, low * share.value) {
                continue;
            }
            findings.add(
                finding(
                    Code::GaugeTooCoarse,
                    format!(
                        "`{name}` shows steps of {}, {} of the {} that `{}` may be",
                        gauge.resolution,
                        say::percent(resolution / low, Round::Near),
                        say::difference(low, &numeric.unit, Round::Near),
                        reading.name
                    ),
                    reading.origin,
                    "read here",
                )
                .and(gauge.origin, format!("resolution {}", gauge.resolution))
                .and_maybe(share.origin, format!("{} is the most", say::percent(share.value, Round::Near)))
                .help(format!(
                    "read it with a gauge that shows {} or less, or report nothing below {}",
                    say::difference(low * share.value, &numeric.unit, Round::Down),
                    say::difference(resolution / share.value, &numeric.unit, Round::Up)
                )),
            );
        }
    }
}

/// One instrument under two names in one stage, or before and after the filter at once.
fn two_places(plan: &Plan, stage: &Stage, steps: &[Step], findings: &mut Findings) {
    let mut first: IndexMap<&str, (&str, Origin)> = IndexMap::new();
    let mut outlet: IndexMap<&str, Origin> = IndexMap::new();
    let mut inlet: IndexMap<&str, (&Reading, Origin)> = IndexMap::new();
    for step in steps {
        for (reading, numeric, name) in super::numbers(step) {
            let Some(role) = numeric.role.as_deref() else { continue };
            let (known, at) = *first.entry(name).or_insert((role, reading.origin));
            if known != role
                && let Some(instrument) = plan.instruments.get(name)
            {
                findings.add(
                    finding(
                        Code::OneGaugeTwoPlaces,
                        format!("`{known}` and `{role}` are both `{name}`, and `{}` reads both", stage.name),
                        reading.origin,
                        format!("`{role}` here"),
                    )
                    .and(at, format!("`{known}` here"))
                    .and(instrument.origin, "one instrument")
                    .help(format!("give `{known}` and `{role}` an instrument each, in the `with` line of the test")),
                );
            }
            if matches!(step.action, Action::HoldBackPressure(_)) {
                outlet.entry(name).or_insert(reading.origin);
            } else if numeric.measures == Measures::GaugePressure && matches!(step.action, Action::Read) {
                inlet.entry(name).or_insert((reading, reading.origin));
            }
        }
    }
    for (name, held) in outlet {
        let Some((reading, at)) = inlet.get(name).filter(|(reading, _)| reading.name.contains("inlet")) else {
            continue;
        };
        findings.add(
            finding(
                Code::OneGaugeTwoPlaces,
                format!("`{name}` reads the back pressure after the filter, and `{}` before it", reading.name),
                *at,
                "before the filter",
            )
            .and(held, "after the filter")
            .help("name another gauge for one of the two"),
        );
    }
}

/// A log that would show a wait in fewer than five points.
fn logged(test: &Test, stage: &Stage, steps: &[Step], findings: &mut Findings) {
    let dwell = steps.iter().filter_map(|step| match &step.action {
        Action::Settle(dwell) | Action::Wait(dwell) => Some((&dwell.least, step.origin)),
        _ => None,
    });
    let Some((shortest, at)) = dwell.min_by(|a, b| a.0.si().total_cmp(&b.0.si())) else { return };
    for (names, interval) in &stage.logs {
        if !above(interval.si(), shortest.si() / 5.0) {
            continue;
        }
        let points = (shortest.si() / interval.si()).floor();
        let every = say::difference(shortest.si() / 5.0, &interval.unit, Round::Down);
        let counted = match points as u32 {
            0 => "not one value".to_owned(),
            1 => "one value".to_owned(),
            n => format!("{n} values"),
        };
        findings.add(
            finding(
                Code::LoggedTooSeldom,
                format!("a log every {interval} has {counted} in a wait of {shortest}"),
                at,
                "this wait",
            )
            .and(stage.origin, "the log of this stage")
            .and(test.origin, "this protocol")
            .help(format!("write `log [{}] every {every}` or less", names.join(", "))),
        );
    }
}

/// A small gauge that nobody shuts off where the pressure goes beyond it.
fn exposed(plan: &Plan, test: &Test, (stage, steps): (&Stage, &[Step]), shut: &mut bool, findings: &mut Findings) {
    for step in steps {
        match &step.action {
            Action::Confirm { text } | Action::HoldPoint { text } => *shut = shuts(text).unwrap_or(*shut),
            Action::Valve { valve, open } => {
                let title = plan.rig.valves.get(valve).map_or("", |part| part.title.as_str());
                if [valve.as_str(), title].iter().any(|said| said.to_lowercase().contains("gauge")) {
                    *shut = !open;
                }
            }
            Action::Read => {}
            _ => continue,
        }
        for (reading, numeric, name) in super::numbers(step) {
            if numeric.measures != Measures::DifferentialPressure {
                continue;
            }
            let ends = step.round.and_then(|(index, _)| test.batches.get(index));
            let ends = ends.filter(|batch| batch.reading == reading.name).map(|batch| batch.terminal.si_difference());
            let value = numeric.expect.and_then(|e| e.high).into_iter().chain(ends).reduce(f64::max);
            let Some((value, gauge)) = value.zip(plan.instruments.get(name)) else { continue };
            let small = smaller(plan, gauge, value);
            match small {
                Some(small) if !*shut => open_to(stage, reading, value, (gauge, small), findings),
                Some(_) => {}
                // A gauge that is read is open, and so may others be.
                None => *shut &= same_taps(plan, gauge).all(|other| !below(end(gauge), end(other))),
            }
        }
    }
}

fn end(gauge: &Instrument) -> f64 {
    gauge.range.window.high.unwrap_or(f64::INFINITY)
}

/// The other gauges of the rig that sit at the same place.
fn same_taps<'p>(plan: &'p Plan, gauge: &'p Instrument) -> impl Iterator<Item = &'p Instrument> {
    plan.rig.instruments.iter().filter_map(|name| plan.instruments.get(name)).filter(|other| {
        other.name != gauge.name
            && other.measures == Measures::DifferentialPressure
            && other.place.is_some()
            && other.place == gauge.place
    })
}

/// One that sits at the same taps and does not go so far.
fn smaller<'p>(plan: &'p Plan, gauge: &'p Instrument, value: f64) -> Option<&'p Instrument> {
    same_taps(plan, gauge).find(|other| below(end(other), value))
}

/// Whether a text says that a gauge is shut off, or opened again. `None` where it speaks of neither.
fn shuts(text: &str) -> Option<bool> {
    let text = text.to_lowercase();
    if !text.contains("gauge") {
        return None;
    }
    if ["isolat", "shut off", "shut-off", "valved off", "closed"].iter().any(|word| text.contains(word)) {
        return Some(true);
    }
    text.contains("open").then_some(false)
}

fn open_to(
    stage: &Stage,
    reading: &Reading,
    value: f64,
    (gauge, small): (&Instrument, &Instrument),
    findings: &mut Findings,
) {
    let reaches = small.range.high.as_ref().map_or_else(String::new, ToString::to_string);
    let place = small.place.as_deref().unwrap_or_default();
    findings.add(
        finding(
            Code::SmallGaugeExposed,
            format!(
                "`{}` may be {} here, and `{}` at the same taps reads to {reaches} only",
                reading.name,
                say::difference(value, &small.unit, Round::Near),
                small.name
            ),
            reading.origin,
            "so much pressure here",
        )
        .and(small.origin, format!("reads to {reaches}, at \"{place}\""))
        .help(format!(
            "in `{}`, before the pump starts, write `confirm \"gauge {} isolated: only {} is open to the taps\"`",
            stage.name, small.name, gauge.name
        )),
    );
}

/// Rows with times by the sheet's clock beside a log with its own.
fn clocks(test: &Test, findings: &mut Findings) {
    let Some(stage) = test.stages.iter().find(|stage| !stage.logs.is_empty()) else { return };
    let told = test.steps.iter().any(|step| match &step.action {
        Action::Confirm { text } | Action::HoldPoint { text } | Action::Note { text } => {
            text.to_lowercase().contains("clock")
        }
        _ => false,
    });
    if told {
        return;
    }
    findings.add(
        finding(
            Code::ClocksNotSet,
            format!("`{}` is logged by one clock and written down by another, and nothing sets them alike", stage.name),
            stage.origin,
            "logged here",
        )
        .and(test.origin, "this protocol")
        .help("at its beginning write `confirm \"bench clock and logger set, within 5 s of each other\"`"),
    );
}
