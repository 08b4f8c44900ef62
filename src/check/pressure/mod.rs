//! Pressure: relief, ratings, limits, by-pass and collapse.

mod burst;

mod limits;

mod predicted;

mod terminal;

use crate::check::instruments::{self, days_between};
use crate::check::say::{self, Round, above, below};
use crate::check::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Measures, Origin, Part, Plan, Run, Test};
use crate::quantity::Quantity;

/// The relief valve against everything that holds pressure.
pub(in crate::check) fn rig(plan: &Plan, findings: &mut Findings) {
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
    proof(plan, findings);
    gauges(plan, findings);
    unrated(plan, findings);
}

/// When somebody last saw the relief valve open.
fn proof(plan: &Plan, findings: &mut Findings) {
    let relief = &plan.rig.relief;
    let Some(proved) = &relief.proved_on else {
        findings.add(
            finding(
                Code::ReliefUnproved,
                format!("nobody has written down that the relief valve `{}` opens at {}", relief.name, relief.set),
                relief.origin,
                "no date",
            )
            .help("have it proved with a calibrated gauge from behind a guard, and write `proved on …` with the date"),
        );
        return;
    };
    let Some(starts) = plan.campaign.starts.as_ref() else { return };
    let at = relief.proved_at.unwrap_or(relief.origin);
    if proved > starts {
        findings.add(
            finding(
                Code::ReliefUnproved,
                format!("the relief valve was proved on {proved}, after the campaign starts on {starts}"),
                at,
                "proved too late, or a slip in the date",
            )
            .and(plan.campaign.origin, format!("starts {starts}"))
            .help(format!("prove it before {starts}, or correct the date")),
        );
        return;
    }
    let last = plan.campaign.ends.as_ref().unwrap_or(starts);
    let longest = say::rule(plan, "relief-proof", 365.0 * 86_400.0);
    let allowed = (longest.value / 86_400.0).round() as i64;
    if let Some(days) = days_between(proved, last).filter(|days| *days > allowed) {
        findings.add(
            finding(
                Code::ReliefUnproved,
                format!("when the campaign ends, it is {days} days since the relief valve was proved"),
                at,
                format!("proved on {proved}"),
            )
            .and(plan.campaign.origin, format!("ends {last}"))
            .and_maybe(longest.origin, "the rule that says how long a proof holds")
            .help(format!("have it proved again, no more than {allowed} days before {last}, and write the new date")),
        );
    }
}

/// Gauges that would be driven past their end before the relief valve opens.
fn gauges(plan: &Plan, findings: &mut Findings) {
    let relief = &plan.rig.relief;
    for (name, used) in instruments::in_use(plan) {
        let Some(gauge) = plan.instruments.get(name).filter(|i| i.measures == Measures::GaugePressure) else {
            continue;
        };
        let Some(high) = gauge.range.high.as_ref().filter(|high| below(high.si(), relief.set.si())) else { continue };
        findings.add(
            finding(
                Code::GaugeBelowRelief,
                format!("`{name}` reads to {high}, and the relief valve opens only at {}", relief.set),
                gauge.origin,
                format!("reads to {high}"),
            )
            .and(relief.origin, format!("set at {}", relief.set))
            .and(used, "read here")
            .help(format!(
                "take a gauge that reads to {} or more, or set the relief valve to {} or less",
                relief.set,
                say::point(high.si(), &relief.set.unit, Round::Down)
            )),
        );
    }
}

/// Parts under pressure of which nobody has said what they stand.
fn unrated(plan: &Plan, findings: &mut Findings) {
    let rig = &plan.rig;
    let parts: Vec<&Part> = [&rig.pump].into_iter().chain(&rig.parts).chain(rig.valves.values()).collect();
    let mut unrated: Vec<(&str, Origin)> =
        parts.into_iter().filter(|p| p.rating.is_none()).map(|p| (p.name.as_str(), p.origin)).collect();
    unrated.extend(rig.polisher.iter().filter(|p| p.rating.is_none()).map(|p| (p.name.as_str(), p.origin)));
    unrated.extend(rig.injector.iter().filter(|p| p.rating.is_none()).map(|p| (p.name.as_str(), p.origin)));
    let Some(first) = unrated.first() else { return };
    let message = match unrated.len() {
        1 => format!("nobody has said what pressure `{}` stands", first.0),
        n => format!("nobody has said what pressure `{}` and {} other parts of the rig stand", first.0, n - 1),
    };
    let mut found = finding(Code::PartUnrated, message, first.1, "no rating");
    for (_, origin) in unrated.iter().skip(1).take(7) {
        found = found.and(*origin, "no rating");
    }
    let relief = &rig.relief.set;
    findings.add(found.and(rig.relief.origin, format!("they may come to see {relief}")).help(format!(
        "look on its plate or ask its maker, and write for example `rated {relief}` in its braces; it has to stand {relief} at least"
    )));
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
    let mut weak: Vec<Rated<'_>> = rated_parts(plan).into_iter().filter(|part| part.rating.value > 0.0).collect();
    weak.retain(|part| above(relief.set.si(), part.rating.si()));
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

/// What a test asks of the filter, and what stops it.
pub(in crate::check) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    terminal::test(plan, runs, test, findings);
    limits::test(plan, runs, test, findings);
    burst::test(plan, runs, test, findings);
}

pub(in crate::check) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    limits::step(moment, findings);
    burst::step(moment, findings);
    predicted::step(moment, findings);
    back_pressure(moment, findings);
}

/// So little pressure after the filter that the air in the oil comes out.
fn back_pressure(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Action::HoldBackPressure(setting) = &moment.step.action else { return };
    let least = say::rule(moment.plan, "back-pressure", 10e3);
    let Some(target) = setting.target.as_ref().filter(|target| below(target.si(), least.value)) else { return };
    let allowed = say::point(least.value, &target.unit, Round::Up);
    findings.add(
        finding(
            Code::BackPressureLow,
            format!("{target} after the filter is too little to keep the air in the oil"),
            moment.step.origin,
            "this set-point",
        )
        .and_maybe(least.origin, format!("{allowed} at least"))
        .help(format!("hold {allowed} or somewhat more")),
    );
}
