//! Cold oil that warms itself while it is read.

use super::heater::{DENSITY, ROOM, SPECIFIC_HEAT};
use super::say::{self, Round, above};
use super::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Measures, Origin, Plan, Step, Test, Wants};
use crate::quantity::Unit;

/// Cold oil that the pump warms out of its window while it is read. Above room temperature the rig loses heat as well, and a
/// heater is at work that can be turned down.
pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    let room = say::temperature_rule(plan, "room-temperature", ROOM);
    let mut heater = false;
    let mut held: Option<Held> = None;
    let mut volume = plan.rig.reservoir_holds.high.as_ref().map(|volume| volume.si());
    for step in &test.steps {
        match &step.action {
            Action::Switch { what, on } if what == "heater" => heater = *on,
            Action::TakeRoute { route, .. } => {
                let own = plan.rig.routes.get(route).and_then(|route| route.volume.as_ref()).map(|volume| volume.si());
                volume = own.or(volume);
            }
            Action::HoldViscosity(hold) => {
                let flow = held.and_then(|held| held.flow);
                held = hold.temperatures.high.map(|high| Held {
                    at: hold.temperature,
                    high,
                    flow,
                    dwell: 0.0,
                    origin: step.origin,
                });
            }
            Action::HoldTemperature(setting) => {
                let flow = held.and_then(|held| held.flow);
                let target = setting.target.as_ref().map(|target| target.si());
                held = target.zip(setting.window.high).map(|(at, high)| Held {
                    at,
                    high,
                    flow,
                    dwell: 0.0,
                    origin: step.origin,
                });
            }
            Action::SetFlow { setting, .. } | Action::HoldFlow(setting) => {
                let flow = setting.target.as_ref().map(|target| target.si());
                match &mut held {
                    Some(held) => held.flow = flow,
                    // The flow of a sweep is set before the temperature of its first point.
                    None => {
                        held =
                            Some(Held { at: f64::INFINITY, high: f64::INFINITY, flow, dwell: 0.0, origin: step.origin })
                    }
                }
            }
            Action::Settle(dwell) | Action::Wait(dwell) | Action::Circulate(dwell) => {
                if let Some(held) = &mut held {
                    held.dwell += dwell.least.si();
                }
            }
            Action::Read if !heater => {
                let (Some(held), Some(volume), Some(pressure)) = (held, volume, highest_pressure(step)) else {
                    continue;
                };
                let Some(flow) = held.flow.filter(|_| !above(held.at, room.value + 5.0)) else { continue };
                let rise = pressure.1 * flow * held.dwell / (volume * DENSITY * SPECIFIC_HEAT);
                if above(rise, held.high - held.at) {
                    warms(step, &held, rise, pressure.0, findings);
                }
            }
            _ => {}
        }
    }
}

/// What is held while the pump works.
#[derive(Clone, Copy)]
struct Held {
    /// K: the set-point and the upper end of its window.
    at: f64,
    high: f64,
    /// m³/s.
    flow: Option<f64>,
    /// s since it was set.
    dwell: f64,
    origin: Origin,
}

/// The highest pressure that a step expects to read, by its name and in Pa.
fn highest_pressure(step: &Step) -> Option<(&str, f64)> {
    step.readings
        .iter()
        .filter_map(|reading| match &reading.wants {
            Wants::Number(number)
                if matches!(number.measures, Measures::GaugePressure | Measures::DifferentialPressure) =>
            {
                Some((reading.name.as_str(), number.expect?.high?))
            }
            _ => None,
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

fn warms(step: &Step, held: &Held, rise: f64, reading: &str, findings: &mut Findings) {
    let seconds = Unit::parse("s").unwrap_or_else(|_| Unit::none());
    let allowed = held.high - held.at;
    findings.add(
        finding(
            Code::SelfWarming,
            format!(
                "at the highest `{reading}` the pump warms the oil by {} K in {}, and the window leaves {} K",
                say::number(rise, Round::Near),
                say::difference(held.dwell, &seconds, Round::Near),
                say::number(allowed, Round::Near)
            ),
            step.origin,
            "read here",
        )
        .and(held.origin, "this window")
        .help(format!(
            "read within {}, cool the oil while it waits, or have more oil in the circuit",
            say::difference(held.dwell * allowed / rise, &seconds, Round::Down)
        )),
    );
}
