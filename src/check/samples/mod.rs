//! Bottles: large enough, drawn from a flushed valve, in pairs.

use std::collections::HashSet;

use super::say::{self, Round, above, below};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Bottle, Plan, Reading, Test, Wants};

fn bottles(test: &Test) -> impl Iterator<Item = (&Reading, &Bottle)> {
    test.steps.iter().flat_map(|step| &step.readings).filter_map(|reading| match &reading.wants {
        Wants::Bottle(bottle) => Some((reading, bottle)),
        _ => None,
    })
}

/// Pairs, and the bottle of the rig by itself.
pub(super) fn test(plan: &Plan, test: &Test, findings: &mut Findings) {
    let mut paired: HashSet<&str> = HashSet::new();
    for (reading, bottle) in bottles(test) {
        if let Some(other) = &bottle.paired_with {
            paired.insert(other);
            paired.insert(&reading.path);
        }
    }
    for (reading, bottle) in bottles(test) {
        let downstream = plan.rig.samplers.get(&bottle.sampler).is_some_and(|s| s.sits == "downstream");
        if downstream && !bottle.tests.is_empty() && !paired.contains(reading.path.as_str()) {
            findings.add(
                finding(
                    Code::LoneBottle,
                    format!("`{}` is drawn after the specimen, and no bottle before it goes with it", reading.name),
                    reading.origin,
                    "one of a pair",
                )
                .help(format!("add `sample upstream …, paired with {} {{ … }}` right after it", reading.name)),
            );
        }
    }
    let dose = test.steps.iter().find(|step| matches!(step.action, Action::Dose { .. } | Action::Inject { .. }));
    let counted = bottles(test).find(|(_, bottle)| !bottle.tests.is_empty());
    let blank = test.stages.iter().any(|stage| stage.blank.as_deref() == Some("clean"));
    if let (Some(dose), Some((reading, _)), false) = (dose, counted, blank) {
        findings.add(
            finding(
                Code::NoBlank,
                "particles are counted, but never those of the rig by itself",
                reading.origin,
                "the first bottle that is counted",
            )
            .and(dose.origin, "dust goes in here")
            .help("add a stage with `blank clean` before the specimen is mounted, and draw the same bottles in it"),
        );
    }
}

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    for reading in &moment.step.readings {
        if let Wants::Bottle(bottle) = &reading.wants {
            volume(moment, bottle, findings);
            flush(moment, bottle, findings);
        }
    }
}

/// A bottle is filled to four fifths; that has to be enough for every test.
fn volume(moment: &Moment<'_, '_>, bottle: &Bottle, findings: &mut Findings) {
    let fill = say::rule(moment.plan, "bottle-fill", 0.8);
    let tests = moment.plan.laboratories.values().flat_map(|lab| lab.tests.values().map(move |test| (lab, test)));
    let wanted = tests
        .filter(|(_, test)| bottle.tests.contains(&test.name))
        .filter_map(|(lab, test)| test.smallest_bottle.as_ref().map(|smallest| (lab, test, smallest)))
        .max_by(|a, b| a.2.si().total_cmp(&b.2.si()));
    let Some((lab, test, smallest)) = wanted else { return };
    let holds = bottle.volume.si() * fill.value;
    if !below(holds, smallest.si()) {
        return;
    }
    let unit = &bottle.volume.unit;
    findings.add(
        finding(
            Code::BottleTooSmall,
            format!(
                "a bottle of {}, filled to {}, gives {}; `{}` needs {smallest}",
                bottle.volume,
                say::percent(fill.value, Round::Near),
                say::point(holds, unit, Round::Near),
                test.name
            ),
            moment.step.origin,
            "this bottle",
        )
        .and(lab.origin, format!("`{}` asks for {smallest}", lab.name))
        .and_maybe(fill.origin, "the rule that says how full")
        .help(format!("write `bottle {}` or more", say::point(smallest.si() / fill.value, unit, Round::Up))),
    );
}

/// What stood in the valve is not what flows past it.
fn flush(moment: &Moment<'_, '_>, bottle: &Bottle, findings: &mut Findings) {
    let Some(sampler) = moment.plan.rig.samplers.get(&bottle.sampler) else { return };
    let dead = sampler.dead_volume.si();
    if dead <= 0.0 {
        return;
    }
    let warning = say::rule(moment.plan, "flush-dead-volumes-warning", 10.0);
    let limit = say::rule(moment.plan, "flush-dead-volumes-limit", 5.0);
    let flushed = bottle.flush.as_ref().map_or(0.0, |q| q.si());
    let times = flushed / dead;
    if !above(warning.value, times) {
        return;
    }
    let grave = above(limit.value, times);
    let unit = bottle.flush.as_ref().map_or(&bottle.volume.unit, |q| &q.unit);
    let message = match &bottle.flush {
        None => format!("the valve `{}` is not flushed before the bottle", sampler.name),
        Some(flush) => format!(
            "`{}` is flushed with {flush}, {} times its dead volume of {}",
            sampler.name,
            say::number(times, Round::Near),
            sampler.dead_volume
        ),
    };
    findings.add(
        finding(Code::FlushTooSmall, message, moment.step.origin, "this bottle")
            .and(sampler.origin, format!("dead volume {}", sampler.dead_volume))
            .and_maybe(if grave { limit.origin } else { warning.origin }, "the rule that sets the number")
            .severity(if grave { Severity::Error } else { Severity::Warning })
            .help(format!("write `flush {}` or more", say::point(dead * warning.value, unit, Round::Up))),
    );
}
