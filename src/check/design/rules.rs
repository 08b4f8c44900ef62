//! What has to be agreed before the first run: when it stops, when it does not count, what happens when something changes.

use super::super::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Plan, Run, Test};

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    stopping(plan, test, findings);
    let mut specimens: Vec<&str> = runs.iter().map(|run| run.specimen.as_str()).collect();
    specimens.sort_unstable();
    specimens.dedup();
    if specimens.len() < 2 || test.steps.iter().all(|step| step.readings.is_empty()) {
        return;
    }
    if test.reject_if.is_empty() && plan.rules.reject_if.is_empty() {
        findings.add(
            finding(
                Code::NoRejectionRule,
                "specimens are compared with one another, and nothing says when a run does not count",
                test.origin,
                "this protocol does not say it",
            )
            .and(plan.campaign.origin, "nor does any of its `rules`")
            .help("write inside the protocol, or inside one of the campaign's `rules … { }`, for example: `reject a run if \"flow or temperature was outside its limits for longer than a minute\"`"),
        );
    }
    if plan.rules.on_change.is_empty() {
        findings.add(
            finding(
                Code::NoChangeRule,
                "specimens are compared with one another, and no rule says what to do when oil, dust, pump or a set value has to change during a run or between two",
                plan.campaign.origin,
                "none of its `rules` says it",
            )
            .help("write inside one of this campaign's `rules … { }`, for example: `if a run changes \"Write what, why, when and who beside the step; a second person signs; run it again if flow, temperature or another set value moved.\"`"),
        );
    }
}

/// A rig that runs, or dust that is handled, without a reason to stop that no gauge shows.
fn stopping(plan: &Plan, test: &Test, findings: &mut Findings) {
    if !test.limits.stop_if.is_empty() || !plan.rules.stop_if.is_empty() {
        return;
    }
    let risky = test.steps.iter().find(|step| match &step.action {
        Action::Switch { on, .. } => *on,
        Action::Dose { .. } | Action::Condition { .. } | Action::Burst { .. } => true,
        _ => false,
    });
    let Some(step) = risky else { return };
    findings.add(
        finding(
            Code::NoStopRule,
            format!("nothing says when to stop `{}`: no word of a leak, smoke, an alarm or a reading that runs away", test.name),
            test.origin,
            "no `stop if` in its limits",
        )
        .and(step.origin, "from here on something can happen")
        .help("add to the protocol: `limits { stop if \"oil leaks, smokes or foams\"; stop if \"an alarm sounds, or a reading drifts without a reason\"; stop if \"anyone is unsure\" }`"),
    );
}
