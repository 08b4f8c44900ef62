//! What a laboratory would count, reckoned from the doses: enough particles, not too many, and more than were there anyway.

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, Moment, finding};
use super::doses::unit;
use super::jar::models;
use super::trail::{Slurry, Trail, counted, volume};
use crate::diagnostic::{Code, Severity};
use crate::foresight::Span;
use crate::plan::{Bottle, LabTest, Laboratory, Run};
use crate::quantity::{Dimension, Quantity};
use crate::trade::cleanliness::iso4406::Code as Cleanliness;

/// Particles per m³ to per mL.
const PER_ML: f64 = 1e-6;

/// The sizes that a cleanliness code speaks of, in m.
const CODED: [f64; 3] = [4e-6, 6e-6, 14e-6];

/// A bottle that is counted after dust went in.
pub(super) fn bottle<'p>(moment: &Moment<'_, 'p>, runs: &[&Run], trail: &Trail<'p>, findings: &mut Findings) {
    let Some((_, bottle)) = counted(moment.step) else { return };
    if moment.before.loop_dust.is_none() || moment.before.dosed.is_none() {
        return;
    }
    let Some(sampler) = moment.plan.rig.samplers.get(&bottle.sampler) else { return };
    let labs = moment.plan.laboratories.values();
    for (lab, test) in labs.flat_map(|lab| lab.tests.values().map(move |test| (lab, test))) {
        if !bottle.tests.contains(&test.name) || test.sizes.is_empty() {
            continue;
        }
        let behind = sampler.sits == "downstream";
        too_many(moment, behind, (lab, test), bottle, findings);
        if behind {
            too_few(moment, runs, (lab, test), bottle, findings);
            hidden(moment, trail, (lab, test), bottle, findings);
        }
    }
}

fn dilution(bottle: &Bottle) -> f64 {
    f64::from(bottle.dilution.unwrap_or(1).max(1))
}

/// mL that are counted in all; `None` where the laboratory doesn't say.
fn counted_volume(test: &LabTest) -> Option<f64> {
    test.counted_volume.as_ref().map(|(each, times)| each.si() * 1e6 * f64::from(*times)).filter(|all| *all > 0.0)
}

/// More than the counter can tell apart.
fn too_many(
    moment: &Moment<'_, '_>,
    behind: bool,
    (lab, test): (&Laboratory, &LabTest),
    bottle: &Bottle,
    findings: &mut Findings,
) {
    let Some(limit) = &test.coincidence_limit else { return };
    let Some(size) = test.sizes.iter().min_by(|a, b| a.si().total_cmp(&b.si())) else { return };
    let grid = &moment.paper.grid;
    let there = if behind {
        moment.before.downstream_above(size.si(), grid)
    } else {
        moment.before.upstream_above(size.si(), grid)
    };
    let Some(there) = there else { return };
    let rule = say::rule(moment.plan, "coincidence-use", 0.8);
    let allowed = limit.value.si() * rule.value;
    let diluted = there.low / dilution(bottle);
    if !above(diluted, allowed) || allowed <= 0.0 {
        return;
    }
    let factor = tidy_factor(there.high / allowed);
    let how = bottle.dilution.map_or_else(|| "undiluted".to_owned(), |by| format!("diluted 1 to {by}"));
    findings.add(
        finding(
            Code::TooManyParticles,
            format!(
                "about {} particles per mL from {size} up are expected in this bottle; {how}, that is {}, and the counter is good to {}",
                count(there.middle() * PER_ML),
                count(there.middle() / dilution(bottle) * PER_ML),
                limit.value
            ),
            moment.step.origin,
            "this bottle",
        )
        .and(lab.origin, format!("`{}`: coincidence limit {}", test.name, limit.value))
        .and_maybe(moment.before.dosed.map(|(_, origin)| origin), "the dose")
        .and_maybe(rule.origin, "the share of the limit that is used")
        .help(format!("write `dilute 1 to {factor}` in the bottle")),
    );
}

/// The next of 2, 5, 10, 20, 50, …
fn tidy_factor(least: f64) -> u32 {
    let mut step = 1_u32;
    loop {
        for factor in [1, 2, 5] {
            if f64::from(step * factor) >= least {
                return step * factor;
            }
        }
        if step >= 100_000 {
            return step;
        }
        step *= 10;
    }
}

/// Two significant digits: a prediction is no better.
fn count(value: f64) -> String {
    if value <= 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let scale = 10_f64.powi(1 - value.log10().floor() as i32);
    say::number((value * scale).round() / scale, Round::Near)
}

/// Behind the filter, where it does what its maker says.
fn too_few(
    moment: &Moment<'_, '_>,
    runs: &[&Run],
    (lab, test): (&Laboratory, &LabTest),
    bottle: &Bottle,
    findings: &mut Findings,
) {
    let Some(volume) = counted_volume(test) else { return };
    let warning = say::rule(moment.plan, "raw-counts-warning", 100.0);
    let limit = say::rule(moment.plan, "raw-counts-limit", 20.0);
    for model in models(moment.plan, runs) {
        for claim in &model.claims {
            let (Some(size), Some(bounds)) = (&claim.size, &claim.bounds) else { continue };
            let Some(share) = bounds.low.as_ref().filter(|low| low.unit.dimension == Dimension::NONE) else { continue };
            let passes = 1.0 - share.si();
            let reported = test.sizes.iter().any(|known| known.si() == size.si());
            if !(reported && passes > 0.0 && passes < 1.0) {
                continue;
            }
            let Some(there) = moment.before.upstream_above(size.si(), &moment.paper.grid) else { continue };
            let raw = there.high * PER_ML * passes * volume / dilution(bottle);
            if raw <= 0.0 || !above(warning.value, raw) {
                continue;
            }
            let grave = above(limit.value, raw);
            let wanted = warning.value / raw;
            let undiluted = bottle.dilution.filter(|by| *by > 1).map_or_else(String::new, |by| {
                let to = (f64::from(by) / wanted).floor().max(1.0);
                let all = count(raw * f64::from(by) / to);
                if to <= 1.0 {
                    format!("; undiluted it would be {all}")
                } else {
                    format!("; diluted 1 to {to} it would be {all}")
                }
            });
            findings.add(
                finding(
                    Code::TooFewParticles,
                    format!(
                        "if `{}` lets through what it claims at {size}, {} particles would be counted{}",
                        model.name,
                        count(raw),
                        bottle.dilution.map_or_else(String::new, |by| format!(" after dilution 1 to {by}"))
                    ),
                    moment.step.origin,
                    "this bottle",
                )
                .and(model.origin, format!("claims {share} at {size}"))
                .and(lab.origin, format!("`{}` counts {} mL", test.name, say::number(volume, Round::Near)))
                .and_maybe(if grave { limit.origin } else { warning.origin }, "the rule that sets the number")
                .severity(if grave { Severity::Error } else { Severity::Warning })
                .help(format!(
                    "{} are wanted: let the laboratory count {} mL, pool bottles, or dose {} times as much{undiluted}; or leave this \
                     size out of what is concluded",
                    say::number(warning.value, Round::Near),
                    count(volume * wanted),
                    count(wanted)
                )),
            );
        }
    }
}

/// The background that the plan allows, against what the filter lets through at best.
fn hidden(
    moment: &Moment<'_, '_>,
    trail: &Trail<'_>,
    (lab, test): (&Laboratory, &LabTest),
    bottle: &Bottle,
    findings: &mut Findings,
) {
    let Some((code, cleaned)) = trail.background else { return };
    let (Some(volume), Ok(parsed)) = (counted_volume(test), code.parse::<Cleanliness>()) else { return };
    let bands = parsed.bands();
    for size in &test.sizes {
        let coded = CODED.iter().zip(bands).find(|(at, _)| (size.si() / **at - 1.0).abs() < 1e-6);
        let Some(allowed) = coded.and_then(|(_, band)| band?.up_to) else { continue };
        let Some(behind) = moment.before.downstream_above(size.si(), &moment.paper.grid) else { continue };
        let scale = volume / dilution(bottle);
        let (background, expected) = (allowed * scale, behind.high * PER_ML * scale);
        let scatter = 3.0 * background.sqrt();
        if expected <= 0.0 || !below(expected, scatter) {
            continue;
        }
        findings.add(
            finding(
                Code::BackgroundHides,
                format!(
                    "behind the filter at most {} particles per mL from {size} up are expected, and {code} allows {} that were there before",
                    count(behind.high * PER_ML),
                    count(allowed)
                ),
                moment.step.origin,
                format!(
                    "{} counted, where three times the scatter of the background is {}",
                    count(expected),
                    count(scatter)
                ),
            )
            .and(cleaned, format!("cleaned to {code}"))
            .and(lab.origin, format!("`{}` counts {} mL", test.name, say::number(volume, Round::Near)))
            .help(format!(
                "clean down to {} per mL from {size} up, three codes lower, or leave this size out of what is concluded",
                count(allowed / 8.0)
            )),
        );
        return;
    }
}

/// The level in the tank: of one dose, and of what earlier doses have left.
pub(super) fn level(moment: &Moment<'_, '_>, trail: &Trail<'_>, slurry: &Slurry<'_>, findings: &mut Findings) {
    if !trail.facts.matters() {
        return;
    }
    let rule = say::rule(moment.plan, "tank-concentration", 0.2);
    let per_litre = unit("mg/L");
    let left = moment.before.level().unwrap_or_default();
    // Without a flow nothing is known of what the specimen has taken out.
    if trail.flow.is_some() && above(left.low, rule.value) {
        findings.add(
            finding(
                Code::TankDustCeiling,
                format!(
                    "before this dose {} to {} of earlier dust are still in the oil",
                    say::point(left.low, &per_litre, Round::Near),
                    say::point(left.high, &per_litre, Round::Near)
                ),
                moment.step.origin,
                moment
                    .step
                    .round
                    .map_or_else(|| "this dose".to_owned(), |(_, round)| format!("the dose of batch {round}")),
            )
            .and_maybe(moment.before.dosed.map(|(_, origin)| origin), "the dose before")
            .and_maybe(rule.origin, "the rule that sets the bound")
            .help(help(moment, trail, slurry, rule.value, left)),
        );
        return;
    }
    let (Some(mass), Some(oil)) = (&slurry.mass.target, volume(moment)) else { return };
    let fresh = mass.si() / oil.si();
    // Beyond a thousand it is a slip of milligrams and grams.
    if !above(fresh, rule.value) || above(fresh, say::rule(moment.plan, "dose-level-highest", 1.0).value) {
        return;
    }
    findings.add(
        finding(
            Code::TankDustCeiling,
            format!("one dose of {mass} in {oil} makes {} at once", say::point(fresh, &per_litre, Round::Near)),
            moment.step.origin,
            "this dose",
        )
        .and_maybe(rule.origin, "the rule that sets the bound")
        .help(format!("dose {} or less at a time", say::point(rule.value * oil.si(), &mass.unit, Round::Down))),
    );
}

/// How long the oil has to pass the specimen before the next dose.
fn help(moment: &Moment<'_, '_>, trail: &Trail<'_>, slurry: &Slurry<'_>, limit: f64, left: Span) -> String {
    let oil: Option<&Quantity> = volume(moment);
    let less = slurry.mass.target.as_ref().map_or_else(
        || "less".to_owned(),
        |mass| say::point(mass.si() * (limit / left.high).min(1.0), &mass.unit, Round::Down),
    );
    let turnover = trail.flow.zip(oil).map_or_else(String::new, |(flow, oil)| {
        format!(" (each {} is one turnover at {flow})", super::spell(oil.si() / flow.si()))
    });
    format!(
        "let the oil go through the specimen longer after each dose{turnover}, clean up between the doses, or dose {less} at a time"
    )
}
