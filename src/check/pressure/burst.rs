//! Burst tests, and bottles drawn from a line under pressure: what can hurt somebody at once.

use crate::check::say::{self, Round, above};
use crate::check::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Hazard, Origin, Plan, Run, Step, Test, Wants};
use crate::quantity::Quantity;

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    used_again(plan, runs, test, findings);
    sampled_under_pressure(plan, test, findings);
}

pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let Action::Burst { cap, .. } = &moment.step.action else { return };
    safeguards(moment, findings);
    gauge(moment, cap, findings);
    relief(moment, cap, findings);
}

/// What has to stand in the plan before anything is burst.
fn safeguards(moment: &Moment<'_, '_>, findings: &mut Findings) {
    let (plan, test) = (moment.plan, moment.test);
    let before: Vec<&Step> = test
        .steps
        .iter()
        .take_while(|step| step.number < moment.step.number)
        .filter(|step| step.stage == moment.step.stage)
        .collect();
    let says = |words: &[&str]| {
        before.iter().any(|step| match &step.action {
            Action::Confirm { text } | Action::HoldPoint { text } => {
                let text = text.to_lowercase();
                words.iter().any(|word| text.contains(word))
            }
            _ => false,
        })
    };
    let mut missing: Vec<&str> = Vec::new();
    let mut lines: Vec<&str> = Vec::new();
    let mut lacks = |what, line| {
        missing.push(what);
        lines.push(line);
    };
    let liquid = moment.before.fluid.is_some();
    if !liquid {
        lacks("no liquid in the specimen", "`fluid …` with the name of the oil");
    }
    if !says(&["air", "bled", "bleed"]) {
        lacks("no look for air in it", "`confirm \"bled from the highest point: no air left in it\"`");
    }
    if !before.iter().any(|step| matches!(step.action, Action::HoldPoint { .. })) {
        lacks(
            "no hold point for a second person",
            "`hold point \"A second person has seen the shield closed and everybody behind it.\"`",
        );
    }
    if !test.protection.iter().any(|(_, hazard)| *hazard == Hazard::Burst) {
        lacks(
            "no protective equipment",
            "`protect \"face shield and ear defenders\", when burst` at the head of the protocol",
        );
    }
    if !plan.rules.cautions.iter().any(|caution| caution.hazard == Hazard::Burst) {
        lacks("no caution", "a pack of rules with a `caution … when burst`");
    }
    if missing.is_empty() {
        return;
    }
    let mut found = finding(
        Code::BurstUnguarded,
        format!("before this burst the plan has {}", missing.join(", ")),
        moment.step.origin,
        "burst here",
    )
    .and(test.origin, "this protocol");
    if !liquid {
        found = found.why("A can that bursts with air or another gas in it is a bomb: the gas drives its pieces through a room. Liquid lets go of its pressure at the first drop.");
    }
    findings.add(found.help(format!(
        "write {}; leave the burst out where the bench has no rated shield, and follow the rules of the site for pressure tests",
        lines.join(", ")
    )));
}

/// The gauge that is to show the burst.
fn gauge(moment: &Moment<'_, '_>, cap: &Quantity, findings: &mut Findings) {
    for reading in &moment.step.readings {
        let Wants::Number(numeric) = &reading.wants else { continue };
        let gauge = numeric.instrument.as_ref().and_then(|name| moment.plan.instruments.get(name));
        let Some((gauge, high)) = gauge.and_then(|gauge| gauge.range.high.as_ref().map(|high| (gauge, high))) else {
            continue;
        };
        if above(cap.si(), high.si()) {
            findings.add(
                finding(
                    Code::OutsideInstrumentRange,
                    format!("the pressure may rise to {cap}, which `{}` cannot show", gauge.name),
                    moment.step.origin,
                    "this burst",
                )
                .and(gauge.origin, format!("reads to {high}"))
                .help(format!(
                    "read with a gauge that goes beyond {cap}, or write `at most {}`",
                    say::point(high.si(), &cap.unit, Round::Down)
                )),
            );
        }
    }
}

/// A burst by the rig's own pump ends at the relief valve.
fn relief(moment: &Moment<'_, '_>, cap: &Quantity, findings: &mut Findings) {
    let relief = &moment.plan.rig.relief;
    let Some((true, started)) = moment.before.pump else { return };
    if !above(cap.si(), relief.set.si()) {
        return;
    }
    findings.add(
        finding(
            Code::ReliefTooNear,
            format!("the pressure is to rise to {cap}, but the relief valve opens at {}", relief.set),
            moment.step.origin,
            "this burst",
        )
        .and(started, "the rig's own pump makes the pressure")
        .and(relief.origin, format!("set at {}", relief.set))
        .why("The pump of the rig cannot press higher than its relief valve lets it, and the rig is not made for it either.")
        .help("write `stop pump` and `vent` before it, and raise the pressure with a hand pump on a stand of its own; never set the relief valve higher for it"),
    );
}

/// A specimen that was burst cannot be tested any more.
fn used_again(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let Some(at) = test.steps.iter().position(|step| matches!(step.action, Action::Burst { .. })) else { return };
    let Some(burst) = test.steps.get(at) else { return };
    let mut lost = true;
    for step in test.steps.iter().skip(at + 1) {
        match &step.action {
            Action::Mount { .. } => lost = false,
            Action::SetFlow { .. } | Action::Dose { .. } | Action::BypassFlow { .. } | Action::BubblePoint { .. }
                if lost =>
            {
                again(burst.origin, step.origin, "a specimen is tested again after it was burst".to_owned(), findings);
                return;
            }
            _ => {}
        }
    }
    for run in runs {
        let own = plan.runs.iter().position(|other| other.code == run.code).unwrap_or(usize::MAX);
        let later = plan.runs.iter().skip(own.saturating_add(1)).find(|other| other.specimen == run.specimen);
        if let Some((later, in_test)) = later.and_then(|later| plan.test_of(later).map(|of| (later, of))) {
            let message = format!("`{}` is burst in {} and tested again in {}", run.specimen, run.code, later.code);
            let specimen = plan.campaign.specimens.get(&run.specimen).map_or(in_test.origin, |s| s.origin);
            again(burst.origin, specimen, message, findings);
            return;
        }
    }
}

fn again(burst: Origin, later: Origin, message: String, findings: &mut Findings) {
    findings.add(
        finding(Code::BurstUnguarded, message, burst, "burst here")
            .and(later, "wanted again")
            .why("What has been near its bursting pressure is deformed, and may let go at a pressure that it would have stood before.")
            .help("burst a specimen of its own, bought for it, as the last thing that is done with it"),
    );
}

/// A bottle held under a valve with a high pressure behind it.
fn sampled_under_pressure(plan: &Plan, test: &Test, findings: &mut Findings) {
    let most = say::rule(plan, "sample-pressure", 700e3);
    let unit = crate::quantity::Kind::GaugePressure.usual_unit();
    for stage in &test.stages {
        let steps = test.steps.get(stage.first_step..stage.end_step).unwrap_or_default();
        let mut highest: Option<(f64, Origin)> = None;
        let mut bottle: Option<(&str, Origin)> = None;
        for step in steps {
            if let Action::HoldBackPressure(setting) = &step.action {
                let target = setting.target.as_ref().map(|target| (target.si(), step.origin));
                highest = highest.into_iter().chain(target).max_by(|a, b| a.0.total_cmp(&b.0));
            }
            for reading in &step.readings {
                match &reading.wants {
                    Wants::Number(numeric) if numeric.measures == crate::plan::Measures::GaugePressure => {
                        let expected = numeric.expect.and_then(|window| window.high);
                        let expected = expected.map(|high| (high, reading.origin));
                        highest = highest.into_iter().chain(expected).max_by(|a, b| a.0.total_cmp(&b.0));
                    }
                    Wants::Bottle(drawn) if bottle.is_none() => {
                        let sampler = plan.rig.samplers.get(&drawn.sampler);
                        bottle = sampler.filter(|s| s.sits != "tank").map(|s| (s.name.as_str(), reading.origin));
                    }
                    _ => {}
                }
            }
        }
        let (Some((pressure, said)), Some((sampler, drawn))) = (highest, bottle) else { continue };
        if above(pressure, most.value) {
            let allowed = say::point(most.value, &unit, Round::Down);
            findings.add(
                finding(
                    Code::SampledUnderPressure,
                    format!(
                        "a bottle is drawn at `{sampler}` while the line may stand at {}",
                        say::point(pressure, &unit, Round::Near)
                    ),
                    drawn,
                    "drawn here",
                )
                .and(said, "so much pressure is meant here")
                .and_maybe(most.origin, format!("{allowed} is the most"))
                .help(format!(
                    "bring the line to {allowed} or less before a bottle is drawn, through a fixed tube with a shield, no hand near the jet"
                )),
            );
        }
    }
}
