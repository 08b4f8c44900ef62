//! The comparison itself: replicates, tares, what is described and never used.

use indexmap::{IndexMap, IndexSet};

use super::{Also, Findings, finding, instruments};
use crate::diagnostic::Code;
use crate::plan::{Action, Measures, Plan, Reading, Run, Step, Test, Wants};

/// Instruments of the rig that nothing reads.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
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
    replicates(plan, runs, test, findings);
    tares(plan, test, findings);
}

/// Models that a single specimen speaks for.
fn replicates(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let mut specimens: IndexMap<&str, IndexSet<&str>> = IndexMap::new();
    for run in runs {
        let specimen = plan.campaign.specimens.get(&run.specimen);
        if let Some((specimen, model)) =
            specimen.filter(|s| !s.reference).and_then(|s| s.model.as_deref().map(|m| (s, m)))
        {
            specimens.entry(model).or_default().insert(&specimen.code);
        }
    }
    // One model is no comparison.
    if specimens.len() < 2 {
        return;
    }
    let single: Vec<&str> = specimens.iter().filter(|(_, codes)| codes.len() == 1).map(|(model, _)| *model).collect();
    let Some(first) = single.first() else { return };
    let message = if single.len() == 1 {
        format!("one specimen alone speaks for `{first}` in `{}`", test.name)
    } else {
        format!("one specimen alone speaks for each of {} models in `{}`", single.len(), test.name)
    };
    let model = plan.campaign.models.get(*first);
    findings.add(
        finding(Code::NoReplicates, message, plan.campaign.origin, "this campaign compares them")
            .and_maybe(model.map(|m| m.origin), "one of them")
            .and(test.origin, format!("the protocol of `{}`", test.name))
            .help("test three specimens of each model, of two lots, or report what was found as that of the specimen and waive this with a reason"),
    );
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
