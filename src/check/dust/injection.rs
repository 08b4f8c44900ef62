//! The injector: what it can do, and whether its dust gets into the oil, mixed and whole.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::doses::unit;
use super::slurry::{continuous, not_stirred, outlasts, runs_dry, spell, strengths, swells, thick};
use super::trail::{Overflow, Slurry, Trail, volume};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Origin, Plan, Reading, Test, Wants};
use crate::quantity::Quantity;

/// A slurry is made: does it fit the injector, is it thin enough, does the tank take it?
///
/// A slip of milligrams and grams is said once, where the level in the oil shows it. True where the slurry does not fit.
pub(super) fn made(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, slip: bool, findings: &mut Findings) -> bool {
    if vessel(moment, slurry.carrier, findings) {
        return true;
    }
    if !slip {
        thick(moment, slurry, findings);
    }
    swells(moment, slurry, findings);
    false
}

/// Slurry leaves the injector at a flow: what it can deliver, the strength that is stated, the time it takes.
pub(super) fn injected<'p>(
    moment: &Moment<'_, 'p>,
    trail: &Trail<'p>,
    flow: &Quantity,
    feed: Option<&Quantity>,
    findings: &mut Findings,
) {
    if flow.si() <= 0.0 {
        findings.add(
            finding(
                Code::DoseOfZero,
                format!("the slurry is injected at {flow}, so it stays where it is"),
                moment.step.origin,
                "this injection",
            )
            .help("write the flow of the injection, for example `inject at 200 mL/min ± 5 %`"),
        );
        return;
    }
    delivers(moment, flow, findings);
    let Some(slurry) = &trail.slurry else { return };
    if let Some(feed) = feed {
        strengths(moment, slurry, feed, findings);
    }
    not_stirred(moment, trail, slurry, flow, findings);
    outlasts(moment, trail, slurry, flow, findings);
    runs_dry(moment, slurry, flow, findings);
}

/// Dust goes into the oil.
pub(super) fn entered<'p>(moment: &Moment<'_, 'p>, trail: &mut Trail<'p>, findings: &mut Findings) {
    trail.astray |= polisher(moment, findings) | not_carried(moment, trail, findings);
    let Some(slurry) = trail.slurry else { return };
    let rinsed = slurry.rinse.is_some_and(|(times, volume)| times > 0 && volume.si() > 0.0);
    let pot = moment.plan.rig.injector.is_some();
    trail.unrinsed = (pot && !rinsed && trail.facts.matters()).then_some(moment.step.origin);
    trail.mixing = (!slurry.conditioning).then_some((moment.step.origin, 0.0));
    let rinse = slurry.rinse.map_or(0.0, |(times, volume)| f64::from(times) * volume.si());
    fills(moment, trail, slurry.carrier.si() + rinse);
}

/// The tank after many doses.
fn fills<'p>(moment: &Moment<'_, 'p>, trail: &mut Trail<'p>, added: f64) {
    let Some((level, set)) = &mut trail.level else { return };
    *level += added;
    let holds = &moment.plan.rig.reservoir_holds;
    let Some(most) = holds.high.as_ref().filter(|most| above(*level, most.si())) else { return };
    match &mut trail.overflow {
        Some(overflow) => overflow.highest = overflow.highest.max(*level),
        None => {
            trail.overflow =
                Some(Overflow { step: moment.step, set: *set, first: *level, highest: *level, holds: most });
        }
    }
}

pub(super) fn overflows(trail: &Trail<'_>, plan: &Plan, findings: &mut Findings) {
    let Some(Overflow { step, set, first, highest, holds }) = trail.overflow else { return };
    let dose = step.round.map_or_else(|| "this dose".to_owned(), |(_, round)| format!("the dose of batch {round}"));
    findings.add(
        finding(
            Code::SlurrySwells,
            format!(
                "with {dose} the reservoir would hold {}, and it holds {holds} at most",
                say::point(first, &holds.unit, Round::Near)
            ),
            step.origin,
            "slurry and rinses, one after the other",
        )
        .and(set, "the level that was set, before the doses")
        .and(plan.rig.reservoir.origin, format!("holds {holds} at most"))
        .severity(Severity::Error)
        .help(format!(
            "begin {} lower, or draw oil off on the way with a `hold level …` inside the loop",
            say::point(highest - holds.si(), &holds.unit, Round::Up)
        )),
    );
}

/// A bottle takes oil out of the circuit.
pub(super) fn withdrawn(trail: &mut Trail<'_>, reading: &Reading) {
    if let (Some((level, _)), Wants::Bottle(bottle)) = (&mut trail.level, &reading.wants) {
        let bottles = 1.0 + f64::from(u8::from(bottle.twin)) + f64::from(u8::from(bottle.second_bottle));
        let collected = bottle.flush_ends.as_deref() != Some("returned");
        let flushed = bottle.flush.as_ref().filter(|_| collected).map_or(0.0, Quantity::si);
        *level -= bottles * bottle.volume.si() + flushed;
    }
}

/// Dust into standing oil, or into a branch that leads nowhere.
fn not_carried(moment: &Moment<'_, '_>, trail: &Trail<'_>, findings: &mut Findings) -> bool {
    let at = moment.step.origin;
    if trail.facts.speaks_of_pump && !moment.before.pump_runs() {
        findings.add(
            finding(Code::DustNotCarried, "dust goes in while the pump is off", at, "dust goes in here")
                .and_maybe(moment.before.pump.map(|(_, origin)| origin), "the pump was stopped here")
                .help("write `start pump` and `circulate …` before it"),
        );
        return true;
    }
    let Some(injector) = &moment.plan.rig.injector else { return false };
    let Some(valve) = &injector.feeds else { return false };
    if moment.before.valve(valve) != Some(false) {
        return false;
    }
    let way = moment.plan.rig.routes.values().find(|route| route.opens.contains(valve));
    let way = way.filter(|route| route.through.as_deref() != Some("the polisher"));
    let help = match way {
        Some(route) => format!("take `route {}` before the dose, or let the injector feed another branch", route.name),
        None => "let the injector feed a branch that is open while dust goes in".to_owned(),
    };
    findings.add(
        finding(
            Code::DustNotCarried,
            format!("dust goes into a dead leg: `{}` feeds the branch of `{valve}`, which is closed", injector.name),
            at,
            "dust goes in here",
        )
        .and_maybe(moment.before.route.map(|(_, origin)| origin), "the route in force")
        .and(injector.origin, format!("feeds the branch of `{valve}`"))
        .help(help),
    );
    true
}

/// What is left in the pot, where the next thing begins.
pub(super) fn not_rinsed(moment: &Moment<'_, '_>, trail: &mut Trail<'_>, findings: &mut Findings) {
    if let Some(since) = trail.unrinsed.take() {
        unrinsed(since, Some(moment.step.origin), findings);
    }
}

pub(super) fn never_rinsed(trail: &mut Trail<'_>, test: &Test, findings: &mut Findings) {
    if let Some(since) = trail.unrinsed.take() {
        unrinsed(since, Some(test.origin), findings);
    }
}

fn unrinsed(since: Origin, next: Option<Origin>, findings: &mut Findings) {
    findings.add(
        finding(
            Code::NoRinse,
            "what stays in the pot and its line is not rinsed in after the dose",
            since,
            "dust goes in here",
        )
        .and_maybe(next.filter(|next| *next != since), "no rinse before this")
        .help("write `rinse injector 2 times with 50 mL` after it, with clean oil, so that the rinse goes in as well"),
    );
}

/// The pot is rinsed.
pub(super) fn rinsed(trail: &mut Trail<'_>, times: u32, volume: &Quantity) {
    if times > 0 && volume.si() > 0.0 {
        trail.unrinsed = None;
    }
    if let Some((level, _)) = &mut trail.level {
        *level += f64::from(times) * volume.si();
    }
}

/// A bottle drawn while the dose is still a cloud.
pub(super) fn not_mixed(moment: &Moment<'_, '_>, trail: &mut Trail<'_>, findings: &mut Findings) {
    let Some((since, waited)) = trail.mixing.take() else { return };
    if continuous(moment.test) || super::counted(moment.step).is_none() {
        return;
    }
    let (Some(flow), Some(oil)) = (trail.flow, volume(moment)) else { return };
    let rule = say::rule(moment.plan, "mixing-turnovers", 3.0);
    let turnover = oil.si() / flow.si();
    let needed = rule.value * turnover;
    if !below(waited, needed) {
        return;
    }
    let minutes = say::point(needed, &unit("min"), Round::Up);
    findings.add(
        finding(
            Code::NotMixed,
            format!(
                "the bottle is drawn {} after the dose; {} turnovers of {oil} at {flow} take {}",
                spell(waited),
                say::number(rule.value, Round::Near),
                spell(needed)
            ),
            moment.step.origin,
            "this bottle",
        )
        .and(since, "dust goes in here")
        .and_maybe(rule.origin, "the rule that sets the turnovers")
        .help(format!(
            "mix the dose in by a route around the specimen and `wait {minutes} ± 0.2 min` before the oil is sent through"
        )),
    );
}

/// The polishing filter would take the dust that was meant for the specimen.
fn polisher(moment: &Moment<'_, '_>, findings: &mut Findings) -> bool {
    let Some(open) = moment.polishing.iter().find(|valve| moment.before.valve(valve) == Some(true)) else {
        return false;
    };
    let mut found = finding(
        Code::PolisherOpen,
        format!("dust goes in while the polishing filter is in the circuit: `{open}` is open"),
        moment.step.origin,
        "dust goes in here",
    )
    .and_maybe(moment.before.route.map(|(_, origin)| origin), "the route in force");
    if let Some(polisher) = &moment.plan.rig.polisher {
        found = found.and(polisher.origin, "it would take the dust");
    }
    findings.add(found.help(format!("take a route that closes `{open}` before the dose, or write `close {open}`")));
    true
}

fn vessel(moment: &Moment<'_, '_>, carrier: &Quantity, findings: &mut Findings) -> bool {
    let Some(injector) = &moment.plan.rig.injector else { return false };
    if !above(carrier.si(), injector.holds.si()) {
        return false;
    }
    findings.add(
        finding(
            Code::InjectorCannot,
            format!("{carrier} of slurry do not fit into `{}`, which holds {}", injector.name, injector.holds),
            moment.step.origin,
            "this carrier",
        )
        .and(injector.origin, format!("holds {}", injector.holds))
        .help(format!("carry the dust in {} or less", say::point(injector.holds.si(), &carrier.unit, Round::Down))),
    );
    true
}

fn delivers(moment: &Moment<'_, '_>, target: &Quantity, findings: &mut Findings) {
    let Some(injector) = &moment.plan.rig.injector else { return };
    let Some(delivers) = &injector.delivers else { return };
    if delivers.window.contains(target.si()) {
        return;
    }
    let ends: Vec<String> = [&delivers.low, &delivers.high].into_iter().flatten().map(ToString::to_string).collect();
    let nearest = match (delivers.window.low, delivers.window.high) {
        (Some(low), _) if target.si() < low => format!("{} or more", say::point(low, &target.unit, Round::Up)),
        (_, Some(high)) => format!("{} or less", say::point(high, &target.unit, Round::Down)),
        _ => return,
    };
    findings.add(
        finding(
            Code::InjectorCannot,
            format!("`{}` cannot inject {target}", injector.name),
            moment.step.origin,
            "this injection",
        )
        .and(injector.origin, format!("delivers {}", ends.join(" to ")))
        .help(format!("inject at {nearest}")),
    );
}
