//! The zero of a differential-pressure gauge: looked at before, looked at after, and with nothing on the gauge.

use indexmap::IndexMap;

use crate::check::say::{self, Round};
use crate::check::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Instrument, Measures, Origin, Plan, Reading, Test};

/// What a test does with one gauge, by the numbers of its steps.
struct Use<'p> {
    first: (u32, &'p Reading),
    last: (u32, &'p Reading),
}

pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    let mut zeros: IndexMap<&str, Vec<(u32, Origin)>> = IndexMap::new();
    let mut uses: IndexMap<&str, Use<'_>> = IndexMap::new();
    let mut stopped: Option<u32> = None;
    // Under pressure from the moment that the pump runs until it is off and the rig is vented.
    let mut pressure: Option<(Origin, bool)> = None;
    for step in &test.steps {
        match &step.action {
            Action::Switch { what, on } if what == "pump" => {
                if *on {
                    pressure = Some((step.origin, true));
                } else {
                    stopped = Some(step.number);
                    pressure = pressure.map(|(since, _)| (since, false));
                }
            }
            Action::Vent if pressure.is_some_and(|(_, runs)| !runs) => pressure = None,
            Action::Zero { instrument, .. } => {
                zeros.entry(instrument).or_default().push((step.number, step.origin));
                if let (Some(state), Some(gauge)) = (pressure, plan.instruments.get(instrument)) {
                    under_pressure(gauge, step.origin, state, findings);
                }
                continue;
            }
            Action::BubblePoint { .. } => continue,
            _ => {}
        }
        for (reading, numeric, name) in super::numbers(step) {
            if numeric.measures != Measures::DifferentialPressure {
                continue;
            }
            let here = (step.number, reading);
            uses.entry(name).and_modify(|known| known.last = here).or_insert(Use { first: here, last: here });
        }
    }
    for (name, used) in uses {
        let Some(instrument) = plan.instruments.get(name).filter(|i| !i.is_role) else { continue };
        let none = Vec::new();
        let zeros = zeros.get(name).unwrap_or(&none);
        unlooked(instrument, &used, zeros, stopped, findings);
    }
}

fn unlooked(
    instrument: &Instrument,
    used: &Use<'_>,
    zeros: &[(u32, Origin)],
    stopped: Option<u32>,
    findings: &mut Findings,
) {
    let name = &instrument.name;
    let within = say::difference(2.0 * instrument.resolution.si_difference(), &instrument.unit, Round::Up);
    let before = zeros.iter().any(|(number, _)| *number < used.first.0);
    let after = zeros.iter().any(|(number, _)| *number > used.last.0);
    let (message, at, help) = if zeros.is_empty() {
        (
            format!("`{name}` is read, but its zero is never looked at"),
            used.first.1.origin,
            format!("before the pump starts write `zero {name}, within {within}`, and again at the end"),
        )
    } else if !before {
        (
            format!("`{name}` is read before its zero has been looked at"),
            used.first.1.origin,
            format!("before the pump starts write `zero {name}, within {within}`"),
        )
    } else if !after && stopped.is_some_and(|number| number > used.last.0) {
        (
            format!("the zero of `{name}` is not looked at again after the last reading"),
            used.last.1.origin,
            format!("after `stop pump` and `vent` write `zero {name}, within {within}`"),
        )
    } else {
        return;
    };
    findings.add(
        finding(Code::NoZeroCheck, message, at, "read here")
            .and(instrument.origin, "this gauge")
            .and_maybe(zeros.first().map(|(_, origin)| *origin), "zeroed here")
            .help(help),
    );
}

fn under_pressure(gauge: &Instrument, at: Origin, (since, runs): (Origin, bool), findings: &mut Findings) {
    if !matches!(gauge.measures, Measures::DifferentialPressure | Measures::GaugePressure) {
        return;
    }
    let (message, help) = if runs {
        (
            format!("`{}` is zeroed while the pump runs", gauge.name),
            "move the `zero` line before `start pump`, or behind `stop pump` and `vent`",
        )
    } else {
        (format!("`{}` is zeroed before the rig is vented", gauge.name), "write `vent` before the `zero` line")
    };
    findings.add(
        finding(Code::ZeroUnderPressure, message, at, "zeroed here").and(since, "under pressure since here").help(help),
    );
}
