//! Dust: weighing it, feeding it, and what comes after it.

use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Hazard, Plan, Run, Setting, Test, Wants};
use crate::quantity::Quantity;

/// Silica without its caution.
pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    // Where there is no caution at all, that is the finding.
    let cautions = &plan.rules.cautions;
    if cautions.is_empty() || cautions.iter().any(|caution| caution.hazard == Hazard::Dust) {
        return;
    }
    let step = test.steps.iter().find_map(|step| match &step.action {
        Action::Dose { dust, .. } | Action::Condition { dust, .. } => Some((step, plan.dusts.get(dust)?)),
        _ => None,
    });
    let Some((step, dust)) = step else { return };
    let silica = dust.hazards.iter().any(|hazard| hazard == "silica") || dust.grade.value.contains("12103");
    if !silica {
        return;
    }
    findings.add(
        finding(
            Code::SilicaWithoutCaution,
            format!("`{}` is silica, and no caution for dust would be printed", dust.name),
            step.origin,
            "weighed here",
        )
        .and(dust.origin, "this dust")
        .and(plan.campaign.origin, "no pack of this campaign has a caution `when dust`")
        .help("`use` the file of cautions and add `rules bench-cautions` to the campaign"),
    );
}

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    match &moment.step.action {
        Action::Dose { mass, carrier, preparation, .. } => {
            weighing(moment, mass, findings);
            polisher(moment, findings);
            vessel(moment, carrier, findings);
            if let Some((flow, _)) = &preparation.inject {
                injection(moment, flow, findings);
            }
        }
        Action::Condition { mass, carrier, .. } => {
            weighing(moment, mass, findings);
            polisher(moment, findings);
            vessel(moment, carrier, findings);
        }
        Action::Inject { flow, .. } => {
            polisher(moment, findings);
            injection(moment, flow, findings);
        }
        _ => {}
    }
    clean_after_dirty(moment, findings);
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

fn injection(moment: &Moment<'_, '_>, flow: &Setting, findings: &mut Findings) {
    let Some(injector) = &moment.plan.rig.injector else { return };
    let (Some(delivers), Some(target)) = (&injector.delivers, &flow.target) else { return };
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

/// What has to be clean, after dust.
fn clean_after_dirty(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let blank = moment.stage().is_some_and(|stage| stage.blank.as_deref() == Some("clean"));
    let (what, needs) = match &moment.step.action {
        Action::SetFlow { .. } => ("a flow sweep", "a clean filter"),
        Action::Mount { .. } => ("a new specimen", "clean oil"),
        Action::Sample if blank => ("a clean blank", "clean oil"),
        Action::BubblePoint { .. } => ("a bubble point", "a filter that has seen no dust"),
        _ => return,
    };
    let sweep = matches!(moment.step.action, Action::SetFlow { .. } | Action::BubblePoint { .. });
    if let Some(since) = moment.before.specimen_dust.filter(|_| sweep) {
        findings.add(
            finding(
                Code::DirtyBeforeClean,
                format!("{what} comes after dust has gone into the same specimen"),
                moment.step.origin,
                format!("wants {needs}"),
            )
            .and(since, "dust went in here")
            .why("A filter that has been loaded is never clean again; its restriction is that of the dust in it.")
            .help("move this stage before the first dose, or mount another specimen for it"),
        );
    } else if let Some(since) = moment.before.loop_dust {
        findings.add(
            finding(
                Code::DirtyBeforeClean,
                format!("{what} comes after dust, without a clean-up between them"),
                moment.step.origin,
                format!("wants {needs}"),
            )
            .and(since, "dust went in here")
            .help("write `clean up through polisher until background at most 14/12/9, at most 90 min` after the dust"),
        );
    }
}

/// The next specimen finds what this run leaves.
pub(super) fn end(runs: &[&Run], test: &Test, last: &crate::foresight::State<'_>, findings: &mut Findings) {
    let Some(since) = last.loop_dust else { return };
    let runs = runs.len();
    if runs < 2 {
        return;
    }
    findings.add(
        finding(
            Code::DirtyBeforeClean,
            format!("the test ends with dust in the oil, and {runs} runs follow each other"),
            since,
            "the last dust goes in here",
        )
        .and(test.origin, "no clean-up after it")
        .help("end the protocol with `clean up through polisher until background at most 14/12/9, at most 90 min`"),
    );
}
