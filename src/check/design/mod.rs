//! The comparison itself: replicates, tares, order, days, rules, scores, and what is described and never used.

mod asked;

mod days;

mod order;

mod rules;

mod score;

pub(super) use days::Days;

use indexmap::{IndexMap, IndexSet};

use super::{Also, Findings, finding, instruments};
use crate::diagnostic::Code;
use crate::plan::{Action, Measures, Plan, Reading, Run, Step, Test, Wants};

/// Dates, weights, the order of the tests, and instruments of the rig that nothing reads.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    days::campaign(plan, findings);
    score::weights(plan, findings);
    asked::questions(plan, findings);
    order::across(plan, findings);
    let used = instruments::in_use(plan);
    for name in plan.rig.instruments.iter().filter(|name| !used.contains_key(name.as_str())) {
        let Some(instrument) = plan.instruments.get(name) else { continue };
        findings.add(
            finding(
                Code::UnusedName,
                format!("the rig has `{name}`, and no step of the campaign reads it"),
                instrument.origin,
                "this instrument",
            )
            .and(plan.rig.origin, "the rig that names it")
            .help(format!("take `instrument {name}` out of the rig, or `read … with {name}`")),
        );
    }
}

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let single = replicates(plan, runs, test, findings);
    tares(plan, test, findings);
    order::test(plan, runs, test, findings);
    rules::test(plan, runs, test, findings);
    score::test(plan, runs, test, single, findings);
}

/// The specimens of each model that go through a test, references among them.
fn specimens_by_model<'p>(plan: &'p Plan, runs: &[&'p Run]) -> IndexMap<&'p str, IndexSet<&'p str>> {
    let mut specimens: IndexMap<&str, IndexSet<&str>> = IndexMap::new();
    for run in runs {
        if let Some(model) = plan.campaign.specimens.get(&run.specimen).and_then(|s| s.model.as_deref()) {
            specimens.entry(model).or_default().insert(&run.specimen);
        }
    }
    specimens
}

/// Models that a single specimen speaks for. Gives whether there are any.
fn replicates(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) -> bool {
    let specimens = specimens_by_model(plan, runs);
    // One model is no comparison.
    if specimens.len() < 2 {
        return false;
    }
    let single: Vec<(&str, &str)> = specimens
        .iter()
        .filter(|(_, codes)| codes.len() == 1)
        .filter_map(|(model, codes)| codes.first().map(|code| (*model, *code)))
        .collect();
    let Some((first, code)) = single.first() else { return false };
    let message = if single.len() == 1 {
        format!("`{code}` alone speaks for `{first}` in `{}`", test.name)
    } else {
        let named: Vec<String> = single.iter().map(|(model, code)| format!("`{code}` for `{model}`")).collect();
        format!(
            "one specimen alone speaks for each of {} models in `{}`: {}",
            single.len(),
            test.name,
            named.join(", ")
        )
    };
    let model = plan.campaign.models.get(*first);
    // Specimens of the same model that were bought and are not in this test.
    let idle: Vec<String> = plan
        .campaign
        .specimens
        .values()
        .filter(|s| single.iter().any(|(model, code)| s.model.as_deref() == Some(model) && s.code != *code))
        .map(|s| format!("`{}`", s.code))
        .collect();
    let more = if idle.is_empty() {
        "test three specimens of each model, of two lots".to_owned()
    } else {
        format!("add {}, which the register has too, to `specimens` of this test", idle.join(", "))
    };
    findings.add(
        finding(Code::NoReplicates, message, plan.campaign.origin, "this campaign compares them")
            .and_maybe(model.map(|m| m.origin), "one of them")
            .and(test.origin, format!("the protocol of `{}`", test.name))
            .help(format!("{more}, or report what was found as that of the specimen and waive this with a reason")),
    );
    true
}

/// A differential pressure of the specimen with nothing to take off for the pipework.
fn tares(plan: &Plan, test: &Test, findings: &mut Findings) {
    let mut mounted = None;
    for stage in &test.stages {
        let steps = test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
        let mut sweep = None;
        for step in steps {
            match &step.action {
                Action::Mount { .. } => mounted = Some(step.origin),
                Action::Remove => mounted = None,
                Action::SetFlow { .. } => sweep = Some(step.origin),
                Action::Read if stage.tare.is_none() && stage.tare_for.is_none() && stage.blank.is_none() => {
                    if let (Some(sweep), Some(mounted), Some(reading)) = (sweep, mounted, differential_pressure(step)) {
                        findings.add(
                            finding(
                                Code::NoTare,
                                format!("`{}` holds the loss of the pipework as well as that of the filter", reading.name),
                                reading.origin,
                                "read here",
                            )
                            .and(sweep, "at every flow of this sweep")
                            .and(mounted, "with the specimen in place")
                            .help("before the specimen is mounted add a stage `tare for \"…\"` with the same flows and viscosity, and `subtract tare` of it here"),
                        );
                        break;
                    }
                }
                _ => {}
            }
        }
    }
    for batch in test.batches.iter().filter(|batch| batch.across_element) {
        let stage = test.stages.iter().find(|s| batch.path.split('/').next() == Some(s.name.as_str()));
        if stage.is_some_and(|stage| stage.tare.is_none()) {
            findings.add(
                finding(
                    Code::NoTare,
                    "the loop ends by the pressure across the element, but no tare is taken off",
                    batch.origin,
                    "across element",
                )
                .and(plan.rig.origin, "its gauge sees pipework and housing too")
                .help("add `subtract tare …` to this stage, or write `across assembly`"),
            );
        }
    }
}

fn differential_pressure(step: &Step) -> Option<&Reading> {
    step.readings.iter().find(|r| matches!(&r.wants, Wants::Number(n) if n.measures == Measures::DifferentialPressure))
}
