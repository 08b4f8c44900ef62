//! Where a bottle is drawn: in oil that flows, mixed, on the right side of the specimen, and not too hot to hold.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::Pair;
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Bottle, Origin, Plan, Reading, Route};
use crate::quantity::Unit;
use crate::quantity::si::{KinematicViscosity, Length, VolumeRate};
use crate::trade::hydraulics::reynolds;
use uom::si::{
    diffusion_coefficient::square_meter_per_second, length::meter, ratio::ratio, volume_rate::cubic_meter_per_second,
};

/// Samplers whose name or title says the other side than `sits` does.
pub(super) fn rig(plan: &Plan, findings: &mut Findings) {
    for sampler in plan.rig.samplers.values() {
        let text = format!("{} {}", sampler.name, sampler.title).to_lowercase();
        let thing = |before: &str| {
            ["filter", "specimen", "element", "can"].iter().any(|what| {
                text.contains(&format!("{before} the {what}")) || text.contains(&format!("{before} {what}"))
            })
        };
        let says = (
            sampler.name.to_lowercase().contains("upstream") || thing("before"),
            sampler.name.to_lowercase().contains("downstream") || thing("after") || thing("behind"),
        );
        let other = match (says, sampler.sits.as_str()) {
            ((true, false), "downstream") => "upstream",
            ((false, true), "upstream") => "downstream",
            _ => continue,
        };
        findings.add(
            finding(
                Code::SamplerOnOtherSide,
                format!(
                    "`{}` is called “{}”, and is said to sit {} of the specimen",
                    sampler.name, sampler.title, sampler.sits
                ),
                sampler.origin,
                format!("`sits {}`", sampler.sits),
            )
            .help(format!("look at the bench; then write `sits {other}`, or give the valve another name")),
        );
    }
}

/// Both bottles of a pair from one side of the specimen.
pub(super) fn pairs(plan: &Plan, pairs: &[Pair<'_>], findings: &mut Findings) {
    for pair in pairs {
        let ((_, _, first, one), (_, _, second, other)) = (pair.first, pair.second);
        let (here, there) = (super::sits(plan, one), super::sits(plan, other));
        if here != there || here.is_empty() {
            continue;
        }
        let wanted = if here == "downstream" { "upstream" } else { "downstream" };
        let across = plan.rig.samplers.values().find(|sampler| sampler.sits == wanted);
        let message = if one.sampler == other.sampler {
            format!("`{}` and `{}` are a pair, and both are drawn at `{}`", first.name, second.name, one.sampler)
        } else {
            format!("`{}` and `{}` are a pair, and both are drawn {here} of the specimen", first.name, second.name)
        };
        let mut found = finding(Code::SamplerOnOtherSide, message, second.origin, "the second of the pair")
            .and(first.origin, "the first");
        let mut valves = vec![&one.sampler, &other.sampler];
        valves.dedup();
        for name in valves {
            found = found.and_maybe(plan.rig.samplers.get(name).map(|s| s.origin), format!("`{name}` sits {here}"));
        }
        findings.add(found.help(match across {
            Some(sampler) => format!("draw one of the two at `{}`, which sits {wanted}", sampler.name),
            None => format!("draw one of the two at a sampler that sits {wanted}; the rig has none yet"),
        }));
    }
}

/// A valve that no oil passes: the pump is off, or the route goes another way.
pub(super) fn out_of_flow(moment: &Moment<'_, '_>, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    let Some(sampler) = moment.plan.rig.samplers.get(&bottle.sampler).filter(|sampler| sampler.sits != "tank") else {
        return;
    };
    if let Some((stopped, help)) = stands_still(moment) {
        findings.add(
            finding(
                Code::BottleOutOfFlow,
                format!("`{}` is drawn at `{}` while the pump is off", reading.name, sampler.name),
                moment.step.origin,
                "the oil stands",
            )
            .and_maybe(stopped, "the pump stopped here")
            .help(help),
        );
        return;
    }
    let cleaning = matches!(moment.step.action, Action::CleanUp(_));
    if sampler.sits != "downstream" || !(cleaning || goes_past(moment)) {
        return;
    }
    let plan = moment.plan;
    let specimen: Option<&Route> = through_specimen(plan).next();
    let closed = specimen.and_then(|route| route.opens.iter().find(|valve| moment.before.valve(valve) == Some(false)));
    let why = match (closed, cleaning) {
        (Some(valve), _) => format!("the valve `{valve}` is closed"),
        (None, true) => "the oil goes through the polishing filter".to_owned(),
        (None, false) => "the route goes past the specimen".to_owned(),
    };
    let tap = plan.rig.samplers.values().find(|s| s.sits == "tank" || s.sits == "upstream");
    let other = tap.map_or_else(String::new, |tap| format!(", or draw it at `{}`, which this oil passes", tap.name));
    let help = match (specimen, cleaning) {
        (_, true) => match tap {
            Some(tap) => format!("write `sampled at {}`: this oil passes it", tap.name),
            None => "draw the bottle at a valve between the pump and the branches, or in the tank".to_owned(),
        },
        (Some(route), false) => format!("write `route {}` before it{other}", route.name),
        (None, false) => format!("take a route through the specimen before it{other}"),
    };
    findings.add(
        finding(
            Code::BottleOutOfFlow,
            format!(
                "`{}` is drawn after the specimen, at `{}`, where the oil stands: {why}",
                reading.name, sampler.name
            ),
            moment.step.origin,
            "this bottle",
        )
        .and(sampler.origin, "this valve sits after the specimen")
        .and_maybe(moment.before.route.map(|(_, origin)| origin), "the route in force")
        .help(help),
    );
}

/// Where the pump was stopped, and what to write; nothing where it runs or the plan never speaks of it.
fn stands_still(moment: &Moment<'_, '_>) -> Option<(Option<Origin>, &'static str)> {
    match moment.before.pump {
        Some((true, _)) => None,
        Some((false, stopped)) => {
            Some((Some(stopped), "draw it before `stop pump`, or write `start pump` and `circulate 10 min` before it"))
        }
        None => {
            let starts =
                |step: &crate::plan::Step| matches!(&step.action, Action::Switch { what, on: true } if what == "pump");
            moment
                .test
                .steps
                .iter()
                .any(starts)
                .then_some((None, "write `start pump` and `circulate 10 min` before it"))
        }
    }
}

fn through_specimen(plan: &Plan) -> impl Iterator<Item = &Route> {
    plan.rig.routes.values().filter(|route| route.through.as_deref() == Some("the specimen"))
}

/// Whether the oil is known to go another way than through the specimen.
fn goes_past(moment: &Moment<'_, '_>) -> bool {
    let state = moment.before;
    let mut closed = true;
    for route in through_specimen(moment.plan) {
        if !route.opens.is_empty() && route.opens.iter().all(|valve| state.valve(valve) == Some(true)) {
            return false;
        }
        closed = closed && route.opens.iter().any(|valve| state.valve(valve) == Some(false));
    }
    if closed && through_specimen(moment.plan).next().is_some() {
        return true;
    }
    let through =
        state.route.and_then(|(route, _)| moment.plan.rig.routes.get(route)).and_then(|r| r.through.as_deref());
    through.is_some_and(|through| through != "the specimen")
}

/// Oil that slides past the valve without mixing.
pub(super) fn smooth(moment: &Moment<'_, '_>, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    let plan = moment.plan;
    let Some((sampler, bore)) = plan.rig.samplers.get(&bottle.sampler).and_then(|s| Some((s, s.bore.as_ref()?))) else {
        return;
    };
    let counted = super::lab_tests(plan, bottle).any(|(_, test)| super::counts(test));
    let Some((flow, set)) = moment.before.flow.filter(|(flow, _)| *flow > 0.0 && counted) else { return };
    let Some(viscosity) = moment.before.viscosity() else { return };
    let number = reynolds(
        VolumeRate::new::<cubic_meter_per_second>(flow),
        Length::new::<meter>(bore.si()),
        KinematicViscosity::new::<square_meter_per_second>(viscosity.middle()),
    );
    let Ok(number) = number.map(|number| number.get::<ratio>()) else { return };
    let limit = say::rule(plan, "turbulent-reynolds", 4000.0);
    if !below(number, limit.value) {
        return;
    }
    let flow_unit = flow_unit(moment);
    let fast = flow * limit.value / number;
    let most = plan.rig.pump_delivers.window.high.unwrap_or(f64::INFINITY);
    let faster = flow_unit
        .as_ref()
        .filter(|_| fast <= most)
        .map_or_else(String::new, |unit| format!("draw it at {} or more, ", say::point(fast, unit, Round::Up)));
    let narrow = say::point(bore.si() * number / limit.value, &bore.unit, Round::Down);
    findings.add(
        finding(
            Code::SmoothFlowAtValve,
            format!(
                "the oil slides past the sampling valve without mixing: its Reynolds number is {}, and mixing begins at about {}",
                say::number(number.round(), Round::Near),
                say::number(limit.value, Round::Near)
            ),
            moment.step.origin,
            format!("`{}` is counted", reading.name),
        )
        .and(set, "this flow")
        .and(sampler.origin, format!("`{}`, in a line of {bore}", sampler.name))
        .and_maybe(limit.origin, "the rule that sets the number")
        .help(format!("{faster}narrow the line at the valve to {narrow}, or put a mixing insert before it; otherwise waive this and say so with the counts")),
    );
}

/// The unit in which the bench sets its flow.
fn flow_unit(moment: &Moment<'_, '_>) -> Option<Unit> {
    let delivers = &moment.plan.rig.pump_delivers;
    delivers.high.as_ref().or(delivers.low.as_ref()).map(|flow| flow.unit.clone())
}

/// Oil that a bottle does not stand, or a hand.
pub(super) fn hot(moment: &Moment<'_, '_>, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    let limit = say::temperature_rule(moment.plan, "soft-bottle-below", 273.15 + 60.0);
    let Some((temperature, held)) = moment.before.temperature.filter(|(t, _)| above(*t, limit.value)) else { return };
    let soft = match bottle.material.as_deref() {
        Some("plastic") => true,
        None => false,
        Some(_) => return,
    };
    let unit = temperature_unit(moment);
    let at = say::point(temperature, &unit, Round::Near);
    let most = say::point(limit.value, &unit, Round::Near);
    let message = if soft {
        format!("`{}` takes oil of {at} in a plastic bottle, which softens at about {most}", reading.name)
    } else {
        format!("`{}` takes oil of {at}, and nothing says what the bottle is made of", reading.name)
    };
    findings.add(
        finding(Code::HotOilInBottle, message, moment.step.origin, "this bottle")
            .and(held, "the oil is brought to this temperature")
            .and_maybe(limit.origin, format!("plastic bottles up to {most}"))
            .severity(if soft { Severity::Error } else { Severity::Warning })
            .help(format!(
                "write `bottle {}, glass` and draw it with heat-proof gloves, or let the oil pass a cooling coil and write `cool to …` before it",
                bottle.volume
            )),
    );
}

fn temperature_unit(moment: &Moment<'_, '_>) -> Unit {
    let own = moment.plan.rig.reservoir.at_most.as_ref().or(moment.test.limits.fluid_temperature.as_ref());
    own.map_or_else(|| Unit::parse("°C").unwrap_or_else(|_| Unit::none()), |limit| limit.unit.clone())
}
