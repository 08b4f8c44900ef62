//! Pressure: relief, ratings, limits, by-pass and collapse.

use super::say::{self, Round, above};
use super::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Mark, Model, Origin, Plan, Run, Test, Wants};
use crate::quantity::Quantity;

/// The relief valve against everything that holds pressure.
pub(super) fn rig(plan: &Plan, findings: &mut Findings) {
    weakest(plan, findings);
    hoses(plan, findings);
    let relief = &plan.rig.relief;
    if relief.directly_after_pump == Some(false) {
        findings.add(
            finding(
                Code::ReliefCutOff,
                format!("a valve stands between the pump and the relief valve `{}`", relief.name),
                relief.origin,
                "it sits after a valve",
            )
            .and(plan.rig.pump.origin, "the pump that it is to relieve")
            .help("move it to the pump's outlet and write `sits directly after the pump`"),
        );
    }
    match (&relief.proved_on, plan.campaign.starts.as_ref()) {
        (None, _) => findings.add(
            finding(
                Code::ReliefUnproved,
                format!("nobody has written down that the relief valve `{}` opens at {}", relief.name, relief.set),
                relief.origin,
                "no date",
            )
            .help("have it proved with a calibrated gauge from behind a guard, and write `proved on …` with the date"),
        ),
        (Some(proved), Some(starts)) if proved > starts => findings.add(
            finding(
                Code::ReliefUnproved,
                format!("the relief valve was proved on {proved}, after the campaign starts on {starts}"),
                relief.origin,
                "proved too late, or a slip in the date",
            )
            .and(plan.campaign.origin, format!("starts {starts}"))
            .help(format!("prove it before {starts}, or correct the date")),
        ),
        _ => {}
    }
}

/// A part of the pressure line: what it is called, its rating, where that stands.
struct Rated<'p> {
    title: &'p str,
    rating: &'p Quantity,
    origin: Origin,
}

/// Every part that the relief valve has to protect; the open tank is none.
fn rated_parts(plan: &Plan) -> Vec<Rated<'_>> {
    let rig = &plan.rig;
    let mut parts: Vec<Rated<'_>> = [&rig.pump]
        .into_iter()
        .chain(&rig.parts)
        .chain(rig.valves.values())
        .filter_map(|p| p.rating.as_ref().map(|rating| Rated { title: &p.title, rating, origin: p.origin }))
        .collect();
    if let Some(p) = &rig.polisher {
        parts.extend(p.rating.as_ref().map(|rating| Rated { title: &p.name, rating, origin: p.origin }));
    }
    if let Some(p) = &rig.injector {
        parts.extend(p.rating.as_ref().map(|rating| Rated { title: &p.name, rating, origin: p.origin }));
    }
    for model in plan.campaign.models.values() {
        if let Some(rating) = &model.housing_rating {
            parts.push(Rated { title: &model.title, rating: &rating.value, origin: rating.origin });
        }
    }
    parts
}

fn weakest(plan: &Plan, findings: &mut Findings) {
    let relief = &plan.rig.relief;
    let mut weak: Vec<Rated<'_>> =
        rated_parts(plan).into_iter().filter(|part| above(relief.set.si(), part.rating.si())).collect();
    weak.sort_by(|a, b| a.rating.si().total_cmp(&b.rating.si()));
    let Some(weakest) = weak.first() else { return };
    let more = match weak.len() - 1 {
        0 => String::new(),
        1 => ", and another part is too weak as well".to_owned(),
        n => format!(", and {n} other parts are too weak as well"),
    };
    let limit = say::point(weakest.rating.si(), &relief.set.unit, Round::Down);
    let mut found = finding(
        Code::ReliefAboveRating,
        format!("the relief valve opens at {}, but `{}` is rated {}{more}", relief.set, weakest.title, weakest.rating),
        relief.origin,
        format!("set at {}", relief.set),
    );
    for part in weak.iter().take(4) {
        found = found.and(part.origin, format!("rated {}", part.rating));
    }
    findings
        .add(found.help(format!("set the relief valve to {limit} or less, or take a stronger `{}`", weakest.title)));
}

/// Four times the working pressure is what a hose has to hold.
fn hoses(plan: &Plan, findings: &mut Findings) {
    let ratio = say::rule(plan, "hose-burst-ratio", 4.0);
    for part in plan.rig.parts.iter().filter(|p| p.line.is_some()) {
        let Some((burst, rating)) = part.burst.as_ref().zip(part.rating.as_ref()) else { continue };
        if !above(rating.si() * ratio.value, burst.si()) {
            continue;
        }
        let allowed = say::point(burst.si() / ratio.value, &rating.unit, Round::Down);
        findings.add(
            finding(
                Code::HoseTooWeak,
                format!(
                    "`{}` bursts at {burst}, only {} times its rating of {rating}",
                    part.title,
                    say::number(burst.si() / rating.si(), Round::Near)
                ),
                part.origin,
                "rating and burst pressure",
            )
            .and_maybe(ratio.origin, format!("{} times is the rule", say::number(ratio.value, Round::Near)))
            .help(format!("rate it {allowed} at most, or take a stronger hose")),
        );
    }
}

/// Models of the specimens that go through a test.
fn models<'p>(plan: &'p Plan, runs: &[&Run]) -> Vec<&'p Model> {
    let mut names: Vec<&str> = Vec::new();
    for run in runs {
        let model = plan.campaign.specimens.get(&run.specimen).and_then(|s| s.model.as_deref());
        if let Some(model) = model
            && !names.contains(&model)
        {
            names.push(model);
        }
    }
    names.into_iter().filter_map(|name| plan.campaign.models.get(name)).collect()
}

/// Terminal pressures against by-pass, collapse and limits.
pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    if test.batches.is_empty() {
        return;
    }
    let models = models(plan, runs);
    let bypass = say::rule(plan, "bypass-use", 0.75);
    let collapse = say::rule(plan, "collapse-use", 0.5);
    for batch in &test.batches {
        let terminal = &batch.terminal;
        let rise = if batch.baseline.is_some() { "a rise of " } else { "" };
        let opens = models.iter().filter_map(|m| m.bypass_opens.as_ref().map(|opens| (m, opens)));
        if let Some((model, opens)) = opens.min_by(|a, b| a.1.value.si().total_cmp(&b.1.value.si()))
            && above(terminal.si(), opens.value.si() * bypass.value)
        {
            let share = say::percent(terminal.si() / opens.value.si(), Round::Near);
            let allowed = say::point(opens.value.si() * bypass.value, &terminal.unit, Round::Down);
            findings.add(
                finding(
                    Code::TerminalBeyondBypass,
                    format!("{rise}{terminal} is {share} of the pressure at which the by-pass of `{}` opens", model.name),
                    batch.origin,
                    "the loop ends here",
                )
                .and(opens.origin, format!("opens at {}{}", opens.value, marked(&opens.mark)))
                .and_maybe(bypass.origin, "the rule that sets the share")
                .help(format!(
                    "end the loop at {allowed} or less, {} of the opening pressure (a share published in a trade summary of ISO 4548-12), or block the valve and say so",
                    say::percent(bypass.value, Round::Near)
                )),
            );
        }
        let strength = models.iter().filter_map(|m| m.collapse.as_ref().map(|c| (m, c)));
        if let Some((model, strength)) = strength.min_by(|a, b| a.1.value.si().total_cmp(&b.1.value.si()))
            && above(terminal.si(), strength.value.si() * collapse.value)
        {
            let allowed = say::point(strength.value.si() * collapse.value, &terminal.unit, Round::Down);
            findings.add(
                finding(
                    Code::TerminalBeyondStrength,
                    format!(
                        "{rise}{terminal} is more than {} of what the element of `{}` stands",
                        say::percent(collapse.value, Round::Near),
                        model.name
                    ),
                    batch.origin,
                    "the loop ends here",
                )
                .and(strength.origin, format!("collapses at {}{}", strength.value, marked(&strength.mark)))
                .and_maybe(collapse.origin, "the rule that sets the share")
                .help(format!("end the loop at {allowed} or less, or ask the maker for the collapse pressure")),
            );
        }
        if let Some(limit) = &test.limits.differential_pressure
            && above(terminal.si(), limit.si())
        {
            findings.add(
                finding(
                    Code::AboveLimit,
                    format!("the loop goes on to {rise}{terminal}, but this protocol stops the run above {limit}"),
                    batch.origin,
                    "the loop ends here",
                )
                .and(test.origin, format!("its limits say `differential pressure at most {limit}`"))
                .help(format!("end the loop below {limit}, or raise the limit as far as the filter allows")),
            );
        }
    }
}

fn marked(mark: &Mark) -> &'static str {
    match mark {
        Mark::FromMemory => ", from memory",
        _ => "",
    }
}

/// What a step sets or expects against the protocol's limits.
pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let limits = &moment.test.limits;
    if let (Action::HoldBackPressure(setting), Some(limit)) = (&moment.step.action, &limits.line_pressure)
        && let Some(target) = &setting.target
        && above(target.si(), limit.si())
    {
        findings.add(
            finding(
                Code::AboveLimit,
                format!("a back pressure of {target} is above the limit of {limit}"),
                moment.step.origin,
                "this set-point",
            )
            .and(moment.test.origin, format!("its limits say `line pressure at most {limit}`"))
            .help(format!("hold {} or less", say::point(limit.si(), &target.unit, Round::Down))),
        );
    }
    for reading in &moment.step.readings {
        let Wants::Number(numeric) = &reading.wants else { continue };
        let expected = numeric.expect.and_then(|window| window.high);
        if let (Some(high), Some(stop)) = (expected, numeric.stop.and_then(|window| window.high))
            && above(high, stop)
        {
            let unit = &numeric.unit;
            let stop_said = say::point(stop, unit, Round::Near);
            findings.add(
                finding(
                    Code::AboveLimit,
                    format!(
                        "`{}` may read {}, but this protocol stops the run above {stop_said}",
                        reading.name,
                        say::point(high, unit, Round::Near),
                    ),
                    moment.step.origin,
                    "expected here",
                )
                .and(moment.test.origin, "the protocol with the limit")
                .help(format!("write `expect at most {}`", say::point(stop, unit, Round::Down))),
            );
        }
    }
}
