//! A dose on the balance: whether it can be weighed, whether it is one at all, and whether it fits the oil.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::trail::{Slurry, volume};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Preparation, Setting, Wants};
use crate::quantity::{Quantity, Unit};

/// A slurry is made. True where its mass is not what was meant.
pub(super) fn made(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) -> bool {
    if nothing(moment, slurry, findings) {
        return true;
    }
    weighing(moment, slurry.mass, findings);
    level(moment, slurry, findings)
}

/// A dose of nothing, in nothing. True where one was found.
fn nothing(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) -> bool {
    let at = moment.step.origin;
    let what = if slurry.conditioning { "conditioning" } else { "dose" };
    let mut none = |message: String, role: &str, help: &str| {
        findings.add(finding(Code::DoseOfZero, message, at, role).help(help));
    };
    if let Some(mass) = slurry.mass.target.as_ref().filter(|mass| mass.si() <= 0.0) {
        none(
            format!("a {what} of {mass} of `{}` is no dust at all", slurry.dust),
            "this mass",
            "write the mass that is to go in; for a round without dust leave the dose out and write `wait …`",
        );
        return true;
    }
    if slurry.carrier.si() <= 0.0 {
        none(
            format!("the dust is to be carried in {} of `{}`", slurry.carrier, slurry.fluid),
            "this carrier",
            "write the volume of oil that the dust is stirred into, for example `in 100 mL of …`",
        );
        return true;
    }
    if let (Some(mass), Some(low)) = (&slurry.mass.target, slurry.mass.window.low)
        && low <= 0.0
    {
        findings.add(
            finding(
                Code::DoseOfZero,
                format!(
                    "a {what} of {mass} may be off by {}, so that nothing at all would be within its window",
                    say::difference(mass.si() - low, &mass.unit, Round::Near)
                ),
                at,
                "this mass and its window",
            )
            .help(format!(
                "write `{mass} ± {}`, a hundredth of it, or what the balance can hold",
                say::difference(mass.si() / 100.0, &mass.unit, Round::Up)
            )),
        );
        return true;
    }
    false
}

/// A rinse with nothing.
pub(super) fn rinse(moment: &Moment<'_, '_>, times: u32, volume: &Quantity, findings: &mut Findings) {
    if times > 0 && volume.si() > 0.0 {
        return;
    }
    findings.add(
        finding(
            Code::DoseOfZero,
            format!("the injector is to be rinsed {times} times with {volume}, which is not at all"),
            moment.step.origin,
            "this rinse",
        )
        .help("write `rinse injector 2 times with 50 mL`, or leave it out"),
    );
}

/// A factor of a thousand between milligrams and grams shows in the level that a dose makes.
fn level(moment: &Moment<'_, '_>, slurry: &Slurry<'_>, findings: &mut Findings) -> bool {
    let (Some(mass), Some(oil)) = (&slurry.mass.target, volume(moment)) else { return false };
    let level = mass.si() / oil.si();
    let most = say::rule(moment.plan, "dose-level-highest", 1.0);
    let least = say::rule(moment.plan, "dose-level-lowest", 1e-4);
    let (rule, factor, slip) = if above(level, most.value) {
        (most, 1e-3, "milligrams")
    } else if below(level, least.value) {
        (least, 1e3, "grams")
    } else {
        return false;
    };
    let per_litre = unit("mg/L");
    let meant = level * factor;
    let help = if (1e-4..=1.0).contains(&meant) {
        format!(
            "if {slip} were meant, write `{}`, which makes {}",
            in_grams(mass.si() * factor),
            say::point(meant, &per_litre, Round::Near)
        )
    } else {
        let bound = rule.value * oil.si();
        let side = if above(level, rule.value) { "or less" } else { "or more" };
        format!("check mass and volume; {} {side} is usual for this volume", in_grams(bound))
    };
    let (name, round) =
        if factor < 1.0 { ("dose-level-highest", Round::Up) } else { ("dose-level-lowest", Round::Down) };
    let help = format!(
        "{help}; if it is meant as it stands, write `threshold {name} {}, common practice` into your own rules",
        say::point(level, &per_litre, round)
    );
    findings.add(
        finding(
            Code::MilligramsOrGrams,
            format!("{mass} of `{}` in {oil} of oil make {}", slurry.dust, say::point(level, &per_litre, Round::Near)),
            moment.step.origin,
            "this dose",
        )
        .and_maybe(moment.before.route.map(|(_, origin)| origin), format!("{oil} in this route"))
        .and_maybe(rule.origin, "the rule that sets the bound")
        .help(help),
    );
    true
}

fn in_grams(si: f64) -> String {
    let name = if si < 1e-3 { "mg" } else { "g" };
    say::difference(si, &unit(name), Round::Near)
}

pub(in crate::check) fn unit(text: &str) -> Unit {
    Unit::parse(text).unwrap_or_else(|_| Unit::none())
}

/// A bath that does more than break clumps.
pub(super) fn bath(moment: &Moment<'_, '_>, preparation: &Preparation, findings: &mut Findings) {
    let Some((time, hottest)) = &preparation.ultrasonic else { return };
    let long = say::rule(moment.plan, "ultrasonic-time", 600.0);
    let hot = say::temperature_rule(moment.plan, "ultrasonic-temperature", 323.15);
    if above(time.si(), long.value) {
        findings.add(
            finding(
                Code::BathTooLong,
                format!("the slurry stands in the ultrasonic bath for {time}"),
                moment.step.origin,
                "for this dose",
            )
            .and_maybe(long.origin, "the rule that sets the time")
            .help(format!("write `ultrasonic bath {}` or less", say::point(long.value, &time.unit, Round::Down))),
        );
    }
    if let Some(hottest) = hottest.as_ref().filter(|hottest| above(hottest.si(), hot.value)) {
        findings.add(
            finding(
                Code::BathTooLong,
                format!("the slurry may warm up to {hottest} in the ultrasonic bath"),
                moment.step.origin,
                "for this dose",
            )
            .and_maybe(hot.origin, "the rule that sets the temperature")
            .help(format!(
                "write `ultrasonic bath {time}, at most {}`, and put ice into the bath if it needs it",
                say::point(hot.value, &hottest.unit, Round::Down)
            )),
        );
    }
}

/// Two weighings, each known to a digit: `√2 · readability / √12`.
fn weighing(moment: &Moment<'_, '_>, mass: &Setting, findings: &mut Findings) {
    let Some(target) = mass.target.as_ref().filter(|m| m.si() > 0.0) else { return };
    let Some(balance) = moment.step.readings.iter().find_map(|reading| match &reading.wants {
        Wants::Number(numeric) => numeric.instrument.as_ref().and_then(|name| moment.plan.instruments.get(name)),
        _ => None,
    }) else {
        return;
    };
    if balance.is_role {
        return;
    }
    if let Some(load) = &balance.largest_load
        && above(target.si(), load.si())
    {
        findings.add(
            finding(
                Code::OutsideInstrumentRange,
                format!("a dose of {target} is more than `{}` can carry", balance.name),
                moment.step.origin,
                "weighed here",
            )
            .and(balance.origin, format!("largest load {load}"))
            .help("weigh it in parts, or on a larger balance"),
        );
    }
    let step = balance.resolution.si_difference();
    let share = std::f64::consts::SQRT_2 * step / 12_f64.sqrt() / target.si();
    let warning = say::rule(moment.plan, "dose-uncertainty-warning", 0.01);
    let limit = say::rule(moment.plan, "dose-uncertainty-limit", 0.03);
    let half = mass.window.width().map(|width| width / 2.0);
    let coarse = half.is_some_and(|half| below(half, 2.0 * step));
    if !above(share, warning.value) && !coarse {
        return;
    }
    let grave = above(share, limit.value);
    let (message, least) = if above(share, warning.value) {
        (
            format!(
                "a dose of {target} on `{}` is known to {} at best",
                balance.name,
                say::percent(share, Round::Near)
            ),
            say::difference(target.si() * share / warning.value, &target.unit, Round::Up),
        )
    } else {
        (
            format!(
                "a dose of {target} is to be kept within ± {}, but `{}` shows steps of {}",
                say::difference(half.unwrap_or(0.0), &target.unit, Round::Near),
                balance.name,
                balance.resolution
            ),
            String::new(),
        )
    };
    let fine = say::difference(half.unwrap_or(target.si() * warning.value).min(step) / 2.0, &balance.unit, Round::Down);
    let help = if least.is_empty() {
        format!(
            "allow ± {} or more, or weigh on a balance that shows {fine} or less",
            say::difference(2.0 * step, &target.unit, Round::Up)
        )
    } else {
        format!("dose {least} or more, or weigh on a finer balance")
    };
    findings.add(
        finding(Code::DoseNotWeighable, message, moment.step.origin, "this dose")
            .and(balance.origin, format!("resolution {}", balance.resolution))
            .and_maybe(if grave { limit.origin } else { warning.origin }, "the rule that sets the share")
            .severity(if grave { Severity::Error } else { Severity::Warning })
            .help(help),
    );
}
