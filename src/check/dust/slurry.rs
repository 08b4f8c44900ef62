//! A slurry: how strong, how much of it, how long it takes to go in, and whether it lasts.

use super::super::say::{self, Round, above};
use super::super::{Also, Findings, Moment, finding};
use super::doses::unit;
use super::trail::{Slurry, Trail, through_specimen, volume};
use crate::diagnostic::Code;
use crate::plan::{Action, Test};
use crate::quantity::Quantity;
use crate::quantity::si::{Mass, MassDensity, Volume};
use crate::trade::dust::slurry_concentration;
use uom::si::{mass::kilogram, mass_density::kilogram_per_cubic_meter, volume::cubic_meter};

/// The density of quartz, in kg/m³, where a dust says none; from memory.
pub(super) const QUARTZ: f64 = 2650.0;

/// kg/m³ of a slurry.
fn strength(moment: &Moment<'_, '_>, slurry: &Slurry<'_>) -> Option<f64> {
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

pub(super) fn thick(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) {
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
pub(super) fn swells(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) {
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

/// The strength that is stated against the dust and the oil that are weighed.
pub(super) fn strengths(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, feed: &Quantity, findings: &mut Findings) {
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
pub(super) fn not_stirred(
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
pub(super) fn outlasts(
    moment: &Moment<'_, '_>,
    trail: &Trail<'_>,
    slurry: &Slurry<'_>,
    flow: &Quantity,
    findings: &mut Findings,
) {
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
pub(super) fn runs_dry(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, flow: &Quantity, findings: &mut Findings) {
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
            "`{}` holds {holds}: fill it, inject at {} or less, and make the slurry {} times as strong",
            moment.plan.rig.injector.as_ref().map_or("", |injector| &injector.name),
            say::point(holds.si() / reserve.value / seconds, &flow.unit, Round::Down),
            say::number(needed / holds.si(), Round::Near)
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
