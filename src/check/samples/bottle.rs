//! The bottle itself: large enough, not too full, cleaner than the oil, and the valve flushed before it.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use crate::diagnostic::{Code, Severity};
use crate::plan::{Action, Bottle, Plan, Reading};

/// Bottles that the bench's own rules fill too full.
pub(super) fn brim(plan: &Plan, findings: &mut Findings) {
    let most = say::rule(plan, "bottle-brim", 0.9);
    let fill = super::fill(plan);
    let Some(at) = fill.origin.filter(|_| above(fill.value, most.value)) else { return };
    let Some((_, reading, _)) = plan.tests.iter().find_map(|test| super::drawn(test).next()) else { return };
    findings.add(
        finding(
            Code::FilledToTheBrim,
            format!(
                "bottles are to be filled to {}, and {} is the most that can still be shaken up",
                say::percent(fill.value, Round::Near),
                say::percent(most.value, Round::Near)
            ),
            at,
            "the rule that says how full",
        )
        .and(reading.origin, "the first bottle")
        .and_maybe(most.origin, "the rule that sets the most")
        .help(
            "write `threshold bottle-fill 80 %`, and take larger bottles where that is too little for the laboratory",
        ),
    );
}

/// What was in the bottle before, against what the specimen is expected to let through.
pub(super) fn dirty(moment: &Moment<'_, '_>, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    let Some((clean, size)) = &bottle.cleaner_than else { return };
    if !matches!(moment.step.action, Action::Sample)
        || super::sits(moment.plan, bottle) != "downstream"
        || moment.before.loop_dust.is_none()
        || clean.si() <= 0.0
    {
        return;
    }
    let Some(expected) = moment.before.downstream_above(size.si(), &moment.paper.grid) else { return };
    let times = expected.high / clean.si();
    let warning = say::rule(moment.plan, "bottle-cleaner-warning", 10.0);
    let limit = say::rule(moment.plan, "bottle-cleaner-limit", 3.0);
    // Next to nothing is expected where the dust has gone; that is another finding.
    if !above(warning.value, times) || expected.high <= 0.0 || super::moment::is_late(moment) {
        return;
    }
    let grave = above(limit.value, times);
    let unit = &clean.unit;
    let need = say::point(expected.high / warning.value, unit, Round::Down);
    findings.add(
        finding(
            Code::BottleTooDirty,
            format!(
                "the bottle `{}` may itself bring {clean} at {size}, and the oil behind the filter is expected to have {} at most",
                reading.name,
                say::point(expected.high, unit, Round::Near)
            ),
            moment.step.origin,
            "this bottle",
        )
        .and_maybe(moment.before.loop_dust, "the dust goes in here")
        .and_maybe(if grave { limit.origin } else { warning.origin }, "the rule that sets the number")
        .severity(if grave { Severity::Error } else { Severity::Warning })
        .help(format!("take bottles that the laboratory has proved to bring {need} or less, and then write `cleaner than {need} at {size}`")),
    );
}

/// A bottle is filled to four fifths; that has to be enough for every test.
pub(super) fn volume(moment: &Moment<'_, '_>, bottle: &Bottle, findings: &mut Findings) {
    let fill = super::fill(moment.plan);
    let wanted = super::lab_tests(moment.plan, bottle)
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
pub(super) fn flush(moment: &Moment<'_, '_>, bottle: &Bottle, findings: &mut Findings) {
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
