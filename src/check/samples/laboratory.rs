//! What is asked of the laboratory: the sizes that are needed, counts and not codes, how it counts, and one laboratory.

use indexmap::IndexMap;

use super::super::say::{self, Round, above, below};
use super::super::{Also, Findings, finding};
use super::{Pair, counts, drawn, lab_tests};
use crate::diagnostic::Code;
use crate::plan::{Action, Bottle, LabTest, Laboratory, Plan, Reading, Run, Test, Wants};
use crate::quantity::{Quantity, Unit};
use crate::trade::cleanliness::iso4406::Code as Cleanliness;

/// One size on one calibration.
fn same(one: &Quantity, other: &Quantity) -> bool {
    one.unit.mark == other.unit.mark && (one.si() / other.si() - 1.0).abs() < 1e-6
}

/// What does not depend on a test: who counts, how, and how long bottles wait.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    let mut used: IndexMap<(&str, &str), (&Laboratory, &LabTest, &Reading)> = IndexMap::new();
    for (_, reading, bottle) in plan.tests.iter().flat_map(drawn) {
        for (lab, test) in lab_tests(plan, bottle).filter(|(_, test)| counts(test)) {
            used.entry((&lab.name, &test.name)).or_insert((lab, test, reading));
        }
    }
    two(plan, &used, findings);
    for (lab, test, reading) in used.values() {
        counting(lab, test, reading, findings);
    }
    waiting(plan, used.values().next().map(|(lab, _, _)| *lab), findings);
}

fn two(plan: &Plan, used: &IndexMap<(&str, &str), (&Laboratory, &LabTest, &Reading)>, findings: &mut Findings) {
    let Some((one, first, reading)) = used.values().next() else { return };
    let Some((other, second, again)) = used.values().find(|(lab, _, _)| lab.name != one.name) else { return };
    let message = if first.name == second.name {
        format!(
            "`{}` is offered by `{}` and by `{}`, and nothing says which of them counts",
            first.name, one.name, other.name
        )
    } else {
        format!("`{}` counts some bottles of this campaign and `{}` others", one.name, other.name)
    };
    let mut found = finding(Code::TwoLaboratories, message, reading.origin, format!("`{}`", first.name));
    if reading.origin != again.origin {
        found = found.and(again.origin, format!("`{}`", second.name));
    }
    findings.add(
        found
            .and(first.origin, format!("`{}`", one.name))
            .and(second.origin, format!("`{}`", other.name))
            .and_maybe(plan.campaign.places.laboratory, "the campaign names this one")
            .help(format!("send all bottles to one: write `laboratory {}` in the campaign and only its tests in the bottles; to compare laboratories, make that a campaign of its own", one.name)),
    );
}

/// How a laboratory counts, as far as it was asked.
fn counting(lab: &Laboratory, test: &LabTest, reading: &Reading, findings: &mut Findings) {
    if test.calibrated_to.is_none() {
        findings.add(
            finding(
                Code::CalibrationUnasked,
                format!(
                    "`{}` does not say by which calibration `{}` measures sizes, or when that was done",
                    lab.name, test.name
                ),
                test.origin,
                "this count",
            )
            .and(reading.origin, "the first bottle for it")
            .help("ask the laboratory, and write for example `calibrated to \"ISO 11171:2020, in March 2026\"`"),
        );
    }
    let wanted = ["shaken", "degassed", "looked at for water"];
    let missing: Vec<&str> =
        wanted.into_iter().filter(|what| !test.before_counting.iter().any(|done| done == what)).collect();
    if !missing.is_empty() {
        let lines: Vec<String> = missing.iter().map(|what| format!("`before counting {what}`")).collect();
        findings.add(
            finding(
                Code::BubblesNotExcluded,
                format!("nothing says that a bottle is {} before `{}`", missing.join(" and "), test.name),
                test.origin,
                "this count",
            )
            .and(reading.origin, "the first bottle for it")
            .help(format!("ask for it on the request, and write {}", lines.join(", "))),
        );
    }
}

/// Bottles that stand until the next parcel.
fn waiting(plan: &Plan, lab: Option<&Laboratory>, findings: &mut Findings) {
    let Some((interval, (lab, within))) =
        plan.campaign.sent_every.as_ref().zip(lab.and_then(|lab| Some((lab, lab.ships_within.as_ref()?))))
    else {
        return;
    };
    if !above(interval.si(), within.si()) {
        return;
    }
    findings.add(
        finding(
            Code::BottlesWait,
            format!("bottles wait up to {interval} for the next parcel, and `{}` wants them within {within}", lab.name),
            plan.campaign.places.laboratory.unwrap_or(plan.campaign.origin),
            "how often bottles are sent",
        )
        .and(lab.origin, format!("ships within {within}"))
        .help(format!("write `bottles sent every {within}`, or ask the laboratory for a longer time and for thorough shaking before the count")),
    );
}

/// What the bottles of one test need.
pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, pairs: &[Pair<'_>], findings: &mut Findings) {
    claims(plan, runs, pairs, findings);
    for (_, reading, bottle) in drawn(test) {
        diluted(plan, reading, bottle, findings);
    }
    // One pair speaks for all that go to the same laboratory.
    if let Some((_, _, reading, bottle)) = pairs.iter().map(|pair| pair.first).find(|(_, _, _, b)| !b.tests.is_empty())
    {
        codes(plan, reading, bottle, findings);
    }
    for step in &test.steps {
        if let Action::CleanUp(clean) = &step.action
            && let Some(code) = clean.background.as_deref()
        {
            for reading in &step.readings {
                if let Wants::Bottle(bottle) = &reading.wants {
                    background(plan, code, reading, bottle, findings);
                }
            }
        }
    }
}

/// Whether no laboratory test of a bottle counts a size; with the tests that count other sizes.
fn uncounted<'p>(plan: &'p Plan, bottle: &'p Bottle, size: &Quantity) -> Option<&'p LabTest> {
    let mut listed = lab_tests(plan, bottle).map(|(_, test)| test).filter(|test| !test.sizes.is_empty()).peekable();
    let first = listed.peek().copied()?;
    (!listed.any(|test| test.sizes.iter().any(|counted| same(counted, size)))).then_some(first)
}

fn list(sizes: &[Quantity]) -> String {
    sizes.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// The sizes of a laboratory test with one more.
fn with(sizes: &[Quantity], more: &[Quantity]) -> String {
    let mut all: Vec<Quantity> = sizes.to_vec();
    all.extend(more.iter().filter(|size| !sizes.iter().any(|known| same(known, size))).cloned());
    all.sort_by(|a, b| a.si().total_cmp(&b.si()));
    list(&all)
}

/// Claims at a size that nobody counts.
fn claims(plan: &Plan, runs: &[&Run], pairs: &[Pair<'_>], findings: &mut Findings) {
    let Some((_, _, reading, bottle)) = pairs.iter().map(|pair| pair.first).find(|(_, _, _, b)| !b.tests.is_empty())
    else {
        return;
    };
    for model in crate::foresight::models(plan, runs) {
        for claim in &model.claims {
            let Some(size) = &claim.size else { continue };
            let Some(test) = uncounted(plan, bottle, size) else { continue };
            findings.add(
                finding(
                    Code::SizeNotCounted,
                    format!(
                        "`{}` claims `{}` at {size}, and `{}` does not count at {size}",
                        model.name, claim.name, test.name
                    ),
                    test.origin,
                    format!("counts at {}", list(&test.sizes)),
                )
                .about(size.to_string())
                .and(model.origin, "this claim")
                .and(reading.origin, "a bottle that is to show it")
                .help(format!(
                    "write `sizes [{}]`, if the counter can do it",
                    with(&test.sizes, std::slice::from_ref(size))
                )),
            );
        }
    }
}

/// Counts of a diluted bottle that may or may not include the dilution.
fn diluted(plan: &Plan, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    let Some(factor) = bottle.dilution.filter(|factor| *factor > 1) else { return };
    for (lab, test) in lab_tests(plan, bottle).filter(|(_, test)| counts(test)) {
        if test.counts.as_ref().is_some_and(|counts| counts.dilution_applied.is_some()) {
            continue;
        }
        let basis = test.counts.as_ref().map_or("per mL", |counts| counts.basis.as_str());
        let mode =
            if test.counts.as_ref().is_some_and(|counts| !counts.cumulative) { "differential" } else { "cumulative" };
        findings.add(
            finding(
                Code::DilutionUnasked,
                format!("`{}` is diluted 1 to {factor}, and `{}` does not say whether its counts are multiplied by {factor} again", reading.name, lab.name),
                reading.origin,
                "diluted",
            )
            .and(test.origin, "this count")
            .help(format!("ask, and write `counts {mode}, \"{basis}\", dilution applied` or `… dilution not applied`")),
        );
    }
}

/// Codes where counts are needed.
fn codes(plan: &Plan, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    let mut tests = lab_tests(plan, bottle).filter(|(_, test)| counts(test)).peekable();
    let Some((lab, first)) = tests.peek().copied() else { return };
    if !tests.all(|(_, test)| test.reports_code && test.counts.is_none()) {
        return;
    }
    findings.add(
        finding(
            Code::CodeOnly,
            format!("bottles are compared in pairs, and `{}` reports a cleanliness code only", lab.name),
            reading.origin,
            "its ratio to its partner is wanted",
        )
        .and(first.origin, "reports a code, no counts")
        .help("ask for the counts at every size, and write `counts cumulative, \"per mL\", dilution applied` in the laboratory's test"),
    );
}

/// The oil that a test counts, m³, and how it says so.
fn volume(test: &LabTest) -> Option<(f64, String)> {
    let (volume, times) = test.counted_volume.as_ref()?;
    let said = if *times == 1 { volume.to_string() } else { format!("{times} times {volume}") };
    Some((volume.si() * f64::from(*times), said))
}

/// A cleanliness code asked for, against what can be counted.
fn background(plan: &Plan, code: &str, reading: &Reading, bottle: &Bottle, findings: &mut Findings) {
    let Ok(parsed) = code.parse::<Cleanliness>() else { return };
    let sizes = ["4", "6", "14"];
    for (_, test) in lab_tests(plan, bottle).filter(|(_, test)| !test.sizes.is_empty()) {
        let missing: Vec<Quantity> = sizes
            .iter()
            .filter_map(|size| Quantity::new(size, Unit::parse("µm(c)").ok()?).ok())
            .filter(|size| !test.sizes.iter().any(|counted| same(counted, size)))
            .collect();
        if let Some(first) = missing.first() {
            findings.add(
                finding(
                    Code::SizeNotCounted,
                    format!(
                        "the background {code} speaks of 4, 6 and 14 µm(c), and `{}` does not count at {first}",
                        test.name
                    ),
                    reading.origin,
                    "this background",
                )
                .about(first.to_string())
                .and(test.origin, format!("counts at {}", list(&test.sizes)))
                .help(format!("write `sizes [{}]`", with(&test.sizes, &missing))),
            );
            return;
        }
        few(plan, test, (code, parsed), reading, bottle, findings);
    }
}

/// The coarsest of a code's sizes has the fewest particles.
fn few(
    plan: &Plan,
    test: &LabTest,
    (said, code): (&str, Cleanliness),
    reading: &Reading,
    bottle: &Bottle,
    findings: &mut Findings,
) {
    let Some(limit) = code.bands().last().copied().flatten().and_then(|band| band.up_to) else { return };
    let (Some((volume, counted)), Some((one, _))) = (volume(test), &test.counted_volume) else { return };
    let least = say::rule(plan, "raw-counts-limit", 20.0);
    let dilution = f64::from(bottle.dilution.unwrap_or(1));
    // Per mL in the code, per m³ here.
    let expected = limit * 1e6 * volume / dilution;
    if !below(expected, least.value) {
        return;
    }
    findings.add(
        finding(
            Code::TooLittleCounted,
            format!(
                "a background of {said} is at most {} particles above 14 µm(c) in the {counted} that `{}` counts",
                say::number(expected, Round::Near),
                test.name
            ),
            reading.origin,
            "this bottle is to show it",
        )
        .and(test.origin, format!("counts {counted}"))
        .and_maybe(least.origin, "the rule that says how many are enough")
        .help(format!(
            "have {} counted altogether, in more repeats or a larger volume; {} particles are the least that says something",
            say::point(least.value * dilution / (limit * 1e6), &one.unit, Round::Up),
            say::number(least.value, Round::Near)
        )),
    );
}
