//! The injector: what it can do, and whether its dust gets into the oil, mixed and whole.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::doses::unit;
use super::trail::{Slurry, Trail, through_specimen, volume};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Origin, Reading, Test, Wants};
use crate::quantity::Quantity;
use crate::quantity::si::{Mass, MassDensity, Volume};
use crate::trade::dust::slurry_concentration;
use uom::si::{mass::kilogram, mass_density::kilogram_per_cubic_meter, volume::cubic_meter};

/// The density of quartz, in kg/m³, where a dust says none; from memory.
pub(super) const QUARTZ: f64 = 2650.0;

/// A slurry is made: does it fit the injector, is it thin enough, does the tank take it?
pub(super) fn made(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) {
    vessel(moment, slurry.carrier, findings);
    thick(moment, slurry, findings);
    swells(moment, slurry, findings);
}

/// kg/m³ of a slurry.
pub(super) fn strength(moment: &Moment<'_, '_>, slurry: &Slurry<'_>) -> Option<f64> {
    let density = moment.plan.dusts.get(slurry.dust).and_then(|dust| dust.density.as_ref());
    let density = density.map_or(QUARTZ, |density| density.value.si());
    slurry_concentration(
        Mass::new::<kilogram>(slurry.mass.target.as_ref()?.si()),
        Volume::new::<cubic_meter>(slurry.carrier.si()),
        MassDensity::new::<kilogram_per_cubic_meter>(density),
    )
    .ok()
    .map(|strength| strength.get::<kilogram_per_cubic_meter>())
}

fn thick(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) {
    let rule = say::rule(moment.plan, "slurry-concentration", 20.0);
    let (Some(mass), Some(strength)) = (&slurry.mass.target, strength(moment, slurry)) else { return };
    if !above(strength, rule.value) {
        return;
    }
    // m/(V + m/ρ) at the bound, solved for V; the dust's own room is left out, which asks for a little more oil.
    let carrier = mass.si() / rule.value;
    findings.add(
        finding(
            Code::SlurryTooThick,
            format!(
                "{mass} of `{}` in {} make a slurry of {}",
                slurry.dust,
                slurry.carrier,
                say::point(strength, &unit("g/L"), Round::Near)
            ),
            moment.step.origin,
            "this slurry",
        )
        .and_maybe(rule.origin, "the rule that sets the bound")
        .help(format!("carry it in {} or more", say::point(carrier, &slurry.carrier.unit, Round::Up))),
    );
}

/// Each dose brings oil along.
fn swells(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) {
    let Some(oil) = volume(moment) else { return };
    let rinse = slurry.rinse.map_or(0.0, |(times, volume)| f64::from(times) * volume.si());
    let added = slurry.carrier.si() + rinse;
    let rule = say::rule(moment.plan, "slurry-share", 0.05);
    let share = added / oil.si();
    if !above(share, rule.value) {
        return;
    }
    let carrier = rule.value * oil.si() - rinse;
    let help = if carrier > 0.0 {
        format!(
            "carry the dust in {} or less, or draw as much oil off before the dose",
            say::point(carrier, &slurry.carrier.unit, Round::Down)
        )
    } else {
        "rinse with less, or draw as much oil off before the dose".to_owned()
    };
    findings.add(
        finding(
            Code::SlurrySwells,
            format!(
                "slurry and rinse add {} to {oil} of oil, which is {}",
                say::point(added, &slurry.carrier.unit, Round::Near),
                say::percent(share, Round::Near)
            ),
            moment.step.origin,
            "with every dose",
        )
        .and_maybe(moment.before.route.map(|(_, origin)| origin), format!("{oil} in this route"))
        .and_maybe(rule.origin, "the rule that sets the share")
        .help(help),
    );
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

/// The strength that is stated against the dust and the oil that are weighed.
fn strengths(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, feed: &Quantity, findings: &mut Findings) {
    let (Some(mass), Some(strength)) = (&slurry.mass.target, strength(moment, slurry)) else { return };
    let differs = (feed.si() - strength).abs() / strength;
    if !above(differs, say::rule(moment.plan, "feed-difference", 0.03).value) {
        return;
    }
    let carries = feed.si() * (slurry.carrier.si() + mass.si() / QUARTZ);
    findings.add(
        finding(
            Code::FeedDoesNotFit,
            format!(
                "the feed is said to hold {feed}, but {mass} in {} make {}",
                slurry.carrier,
                say::point(strength, &feed.unit, Round::Near)
            ),
            moment.step.origin,
            format!("all {} of it would carry {}", slurry.carrier, say::point(carries, &mass.unit, Round::Near)),
        )
        .and(slurry.origin, "the slurry is made here")
        .help(format!(
            "write `feed {}`, or carry the dust in {}",
            say::point(strength, &feed.unit, Round::Near),
            say::point(mass.si() / feed.si(), &slurry.carrier.unit, Round::Near)
        )),
    );
}

/// A pot that nobody stirs while it empties.
fn not_stirred(
    moment: &Moment<'_, '_>,
    trail: &Trail<'_>,
    slurry: &Slurry<'_>,
    flow: &Quantity,
    findings: &mut Findings,
) {
    if slurry.stir == Some("until injected") || slurry.conditioning || !trail.facts.matters() {
        return;
    }
    let seconds = slurry.carrier.si() / flow.si();
    let long = say::rule(moment.plan, "unstirred-time", 60.0);
    let sinks = super::line::falls(moment, slurry).map(|speed| speed * seconds);
    let far = say::rule(moment.plan, "unstirred-fall", 0.01);
    let by = match sinks {
        Some(sinks) if above(sinks, far.value) => {
            format!(", in which its coarsest grains sink {}", say::point(sinks, &unit("mm"), Round::Near))
        }
        None if above(seconds, long.value) => String::new(),
        _ => return,
    };
    let how = if slurry.stir.is_some() { "stirred by hand only" } else { "not stirred" };
    findings.add(
        finding(
            Code::PotNotStirred,
            format!(
                "{} of slurry take {} to go in at {flow}{by}, and the pot is {how}",
                slurry.carrier,
                spell(seconds)
            ),
            moment.step.origin,
            "injected here",
        )
        .and(slurry.origin, "the slurry is made here")
        .and_maybe(if sinks.is_some() { far.origin } else { long.origin }, "the rule that sets the bound")
        .help("add `stir until injected` to the dose"),
    );
}

/// A dose that the filter catches while it still goes in.
fn outlasts(moment: &Moment<'_, '_>, trail: &Trail<'_>, slurry: &Slurry<'_>, flow: &Quantity, findings: &mut Findings) {
    if slurry.conditioning || continuous(moment.test) || !trail.facts.matters() || !through_specimen(moment) {
        return;
    }
    let (Some(loop_flow), Some(oil)) = (trail.flow, volume(moment)) else { return };
    let seconds = slurry.carrier.si() / flow.si();
    let turnover = oil.si() / loop_flow.si();
    if !above(seconds, turnover) {
        return;
    }
    let quick = say::point(slurry.carrier.si() / turnover, &flow.unit, Round::Up);
    let little = say::point(flow.si() * turnover, &slurry.carrier.unit, Round::Down);
    findings.add(
        finding(
            Code::DoseOutlastsDecay,
            format!(
                "the dose takes {} to go in, and {loop_flow} send all {oil} through the specimen in {}",
                spell(seconds),
                spell(turnover)
            ),
            moment.step.origin,
            format!("{} at {flow}", slurry.carrier),
        )
        .and_maybe(moment.before.route.map(|(_, origin)| origin), "the route goes through the specimen")
        .help(format!(
            "mix the dose in by a route around the specimen; or inject at {quick} or more, or carry it in {little} or less; or \
             write `dosing continuous injection`"
        )),
    );
}

pub(super) fn continuous(test: &Test) -> bool {
    test.dosing.as_deref() == Some("continuous injection")
}

/// A feed that has to last while it is waited.
fn runs_dry(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, flow: &Quantity, findings: &mut Findings) {
    if !continuous(moment.test) || slurry.conditioning {
        return;
    }
    let later = moment.test.steps.get(moment.step.number as usize..).unwrap_or_default();
    let mut seconds = 0.0;
    for step in later {
        match &step.action {
            Action::Wait(dwell) | Action::Settle(dwell) | Action::Circulate(dwell) => seconds += dwell.least.si(),
            Action::Dose { .. } | Action::Condition { .. } | Action::CleanUp(_) | Action::Remove => break,
            Action::RinseInjector { .. } | Action::Inject { .. } => break,
            Action::Switch { what, on: false } if what == "pump" => break,
            _ => {}
        }
    }
    let reserve = say::rule(moment.plan, "slurry-reserve", 1.2);
    let needed = seconds * flow.si() * reserve.value;
    if !above(needed, slurry.carrier.si()) {
        return;
    }
    let holds = moment.plan.rig.injector.as_ref().map(|injector| (&injector.holds, injector.origin));
    let help = match (holds, &slurry.mass.target) {
        (Some((holds, _)), _) if above(needed, holds.si()) => format!(
            "`{}` holds {holds}: inject at {} or less and make the slurry as much stronger",
            moment.plan.rig.injector.as_ref().map_or("", |injector| &injector.name),
            say::point(holds.si() / reserve.value / seconds, &flow.unit, Round::Down)
        ),
        (_, Some(mass)) => format!(
            "make {} of the same strength, with {} of dust",
            say::point(needed, &slurry.carrier.unit, Round::Up),
            say::point(mass.si() * needed / slurry.carrier.si(), &mass.unit, Round::Near)
        ),
        _ => return,
    };
    findings.add(
        finding(
            Code::SlurryRunsDry,
            format!(
                "{} at {flow} last {}, and the injection goes on for {}",
                slurry.carrier,
                spell(slurry.carrier.si() / flow.si()),
                spell(seconds)
            ),
            moment.step.origin,
            "injected from here",
        )
        .and(slurry.origin, "the slurry is made here")
        .and_maybe(holds.map(|(_, origin)| origin), "the pot")
        .and_maybe(reserve.origin, format!("{} of the need is to be there", say::percent(reserve.value, Round::Near)))
        .help(help),
    );
}

/// Seconds up to two minutes, then minutes, then hours.
pub(in crate::check) fn spell(seconds: f64) -> String {
    let (name, size) = match seconds {
        s if s < 120.0 => ("s", 1.0),
        s if s < 7200.0 => ("min", 60.0),
        _ => ("h", 3600.0),
    };
    let value = seconds / size;
    let digits = if value < 10.0 {
        say::number((value * 10.0).round() / 10.0, Round::Near)
    } else {
        say::number(value.round(), Round::Near)
    };
    format!("{digits} {name}")
}

/// Dust goes into the oil.
pub(super) fn entered<'p>(moment: &Moment<'_, 'p>, trail: &mut Trail<'p>, findings: &mut Findings) {
    polisher(moment, findings);
    not_carried(moment, trail, findings);
    let Some(slurry) = trail.slurry else { return };
    let rinsed = slurry.rinse.is_some_and(|(times, volume)| times > 0 && volume.si() > 0.0);
    let pot = moment.plan.rig.injector.is_some();
    trail.unrinsed = (pot && !rinsed && trail.facts.matters()).then_some(moment.step.origin);
    trail.mixing = (!slurry.conditioning).then_some((moment.step.origin, 0.0));
    let rinse = slurry.rinse.map_or(0.0, |(times, volume)| f64::from(times) * volume.si());
    fills(moment, trail, slurry.carrier.si() + rinse, findings);
}

/// The tank after many doses.
fn fills(moment: &Moment<'_, '_>, trail: &mut Trail<'_>, added: f64, findings: &mut Findings) {
    let Some((level, set)) = &mut trail.level else { return };
    *level += added;
    let holds = &moment.plan.rig.reservoir_holds;
    let Some(most) = holds.high.as_ref().filter(|most| above(*level, most.si())) else { return };
    let round = moment.step.round.map_or_else(String::new, |(_, round)| format!(" of batch {round}"));
    findings.add(
        finding(
            Code::SlurrySwells,
            format!(
                "with the dose{round} the reservoir would have {}, and it holds {most}",
                say::point(*level, &most.unit, Round::Near)
            ),
            moment.step.origin,
            "slurry and rinses, one after the other",
        )
        .and(*set, "the level that was set, before the doses")
        .and(moment.plan.rig.reservoir.origin, format!("holds {most} at most"))
        .severity(Severity::Error)
        .help(format!(
            "draw oil off on the way, write `hold level …` inside the loop, or begin {} lower",
            say::point(*level - most.si(), &most.unit, Round::Up)
        )),
    );
}

/// A bottle takes oil out of the circuit.
pub(super) fn withdrawn(trail: &mut Trail<'_>, reading: &Reading) {
    if let (Some((level, _)), Wants::Bottle(bottle)) = (&mut trail.level, &reading.wants) {
        let bottles = 1.0 + f64::from(u8::from(bottle.twin)) + f64::from(u8::from(bottle.second_bottle));
        *level -= bottles * bottle.volume.si() + bottle.flush.as_ref().map_or(0.0, Quantity::si);
    }
}

/// Dust into standing oil, or into a branch that leads nowhere.
fn not_carried(moment: &Moment<'_, '_>, trail: &Trail<'_>, findings: &mut Findings) {
    let at = moment.step.origin;
    if trail.facts.speaks_of_pump && !moment.before.pump_runs() {
        findings.add(
            finding(Code::DustNotCarried, "dust goes in while the pump is off", at, "dust goes in here")
                .and_maybe(moment.before.pump.map(|(_, origin)| origin), "the pump was stopped here")
                .help("write `start pump` and `circulate …` before it"),
        );
        return;
    }
    let Some(injector) = &moment.plan.rig.injector else { return };
    let Some(valve) = &injector.feeds else { return };
    if moment.before.valve(valve) != Some(false) {
        return;
    }
    let way = moment
        .plan
        .rig
        .routes
        .values()
        .find(|route| route.opens.contains(valve) && route.through.as_deref() != Some("the polisher"));
    let help = match way {
        Some(route) => format!("take `route {}` before the dose, or let the injector feed another branch", route.name),
        None => format!("write `open {valve}` before the dose, or let the injector feed another branch"),
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
fn polisher(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Some(open) = moment.polishing.iter().find(|valve| moment.before.valve(valve) == Some(true)) else { return };
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
}

fn vessel(moment: &Moment<'_, '_>, carrier: &Quantity, findings: &mut Findings) {
    let Some(injector) = &moment.plan.rig.injector else { return };
    if !above(carrier.si(), injector.holds.si()) {
        return;
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
