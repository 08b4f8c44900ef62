//! The flows of a test: whether a sweep makes a curve, what the filter is rated for, and whether the flow stays.

use std::collections::HashSet;

use crate::check::say::{self, Round, above};
use crate::check::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::foresight::models;
use crate::plan::{Action, Measures, Origin, Plan, Run, Setting, Stage, Step, Test, Wants};
use crate::quantity::Quantity;

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    for stage in &test.stages {
        let sweeps = sweeps(test, stage);
        for sweep in &sweeps {
            points(sweep, findings);
            curve(plan, test, stage, sweep, &sweeps, findings);
        }
    }
    rated(plan, runs, test, findings);
    sagging(plan, test, findings);
}

/// One `sweep flow`, the first time that it is run through.
struct Sweep<'p> {
    origin: Origin,
    /// Each flow as it is set, and whether the flow rises at it.
    flows: Vec<(&'p Quantity, bool)>,
}

impl Sweep<'_> {
    fn goes(&self, rising: bool) -> bool {
        self.flows.iter().any(|(_, r)| *r == rising)
    }
}

fn steps_of<'p>(test: &'p Test, stage: &Stage) -> &'p [Step] {
    test.steps.get(stage.first_step..stage.end_step).unwrap_or_default()
}

fn sweeps<'p>(test: &'p Test, stage: &Stage) -> Vec<Sweep<'p>> {
    let mut sweeps: Vec<(&str, Sweep<'p>)> = Vec::new();
    let mut seen: HashSet<(crate::source::SourceId, crate::source::Span)> = HashSet::new();
    for step in steps_of(test, stage) {
        let Action::SetFlow { setting: Setting { target: Some(flow), .. }, rising } = &step.action else { continue };
        let leg = if *rising { "/rising/" } else { "/falling/" };
        let round = step.path.split(leg).next().unwrap_or_default();
        match sweeps.last_mut() {
            Some((of, sweep)) if *of == round && sweep.origin == step.origin => sweep.flows.push((flow, *rising)),
            // The same statement in a later round of a loop says nothing new.
            _ if seen.insert((step.origin.source, step.origin.span)) => {
                sweeps.push((round, Sweep { origin: step.origin, flows: vec![(flow, *rising)] }));
            }
            _ => {}
        }
    }
    sweeps.into_iter().map(|(_, sweep)| sweep).collect()
}

/// A flow of nothing, one below nothing, and one that stands twice.
fn points(sweep: &Sweep<'_>, findings: &mut Findings) {
    let leg = sweep.goes(true);
    let mut flows: Vec<&Quantity> =
        sweep.flows.iter().filter(|(_, rising)| *rising == leg).map(|(flow, _)| *flow).collect();
    flows.sort_by(|a, b| a.si().total_cmp(&b.si()));
    let twice = flows.windows(2).find_map(|pair| match pair {
        [a, b] if a.si() == b.si() => Some(*a),
        _ => None,
    });
    let mut kept: Vec<String> = flows.iter().filter(|flow| flow.si() > 0.0).map(ToString::to_string).collect();
    kept.dedup();
    let list = format!("write `sweep flow [{}], …`", kept.join(", "));
    let (message, why, help) = if let Some(low) = flows.first().filter(|flow| flow.si() <= 0.0) {
        (
            format!("this sweep has a flow of {low}"),
            "At no flow there is nothing to hold and nothing to wait for; whether the gauge shows nothing then is a matter of its zero.",
            format!("{list}, and `zero …` with the gauge's name before the pump starts and after it has stopped"),
        )
    } else if let Some(twice) = twice {
        (
            format!("this sweep has {twice} twice"),
            "The same flow twice in one leg is a slip: another flow was meant, or none.",
            format!("{list}, or `repeat 2 times {{ sweep … }}` where every flow is wanted again"),
        )
    } else {
        return;
    };
    findings.add(finding(Code::SweepPoint, message, sweep.origin, "these flows").why(why).help(help));
}

/// Too few flows to see a curve, or one direction alone.
fn curve(plan: &Plan, test: &Test, stage: &Stage, sweep: &Sweep<'_>, all: &[Sweep<'_>], findings: &mut Findings) {
    let pumps = || test.steps.iter().any(|s| matches!(&s.action, Action::Switch { what, .. } if what == "pump"));
    let tared = stage.tare_for.is_some() || stage.tare.is_some();
    if stage.blank.is_some() || !(mounted(test, sweep.origin) || tared && pumps()) {
        return;
    }
    let after = steps_of(test, stage).iter().skip_while(|step| step.origin != sweep.origin);
    let reads = after.flat_map(|step| &step.readings).any(|reading| {
        matches!(&reading.wants, Wants::Number(numeric) if numeric.measures == Measures::DifferentialPressure)
    });
    if !reads {
        return;
    }
    let fewest = say::rule(plan, "fewest-flows", 5.0);
    let mut flows: Vec<&Quantity> = sweep.flows.iter().map(|(flow, _)| *flow).filter(|flow| flow.si() > 0.0).collect();
    flows.sort_by(|a, b| a.si().total_cmp(&b.si()));
    flows.dedup_by(|a, b| a.si() == b.si());
    let few = above(fewest.value, flows.len() as f64);
    let both = [true, false].map(|rising| all.iter().any(|other| other.goes(rising)));
    let one_way = match both {
        [true, true] => None,
        [true, false] => Some("rising"),
        _ => Some("falling"),
    };
    let count = match flows.len() {
        1 => "1 flow".to_owned(),
        n => format!("{n} flows"),
    };
    let (message, why) = match (few, one_way) {
        (true, Some(way)) => (format!("a sweep of {count}, {way} only"), BOTH),
        (true, None) => (format!("a sweep of {count}"), FEW),
        (false, Some(way)) => (format!("a sweep that is {way} only"), ONE_WAY),
        _ => return,
    };
    let least = say::number(fewest.value, Round::Up);
    let help = match (few, flows.first().zip(flows.last())) {
        (true, Some((low, high))) if low.si() < high.si() => {
            let unit = &high.unit;
            let parts = (fewest.value.ceil().clamp(2.0, 50.0) as u32).max(2);
            let between = |k: u32| low.si() + (high.si() - low.si()) * f64::from(k) / f64::from(parts - 1);
            let list: Vec<String> = (0..parts).map(|k| say::point(between(k), unit, Round::Near)).collect();
            format!("write `sweep flow [{}], rising then falling, …`", list.join(", "))
        }
        (true, _) => format!("set {least} flows or more, `rising then falling`"),
        _ => "write `rising then falling`".to_owned(),
    };
    findings.add(
        finding(Code::CurveTooThin, message, sweep.origin, "this sweep")
            .and_maybe(fewest.origin.filter(|_| few), format!("{least} flows are the rule"))
            .why(why)
            .help(help),
    );
}

const FEW: &str = "Two or three points lie on any curve: an opening by-pass or a mistyped value would not show.";
const ONE_WAY: &str = "Only on the way back is it seen whether the filter, the oil or the gauge changed on the way up.";
const BOTH: &str =
    "Few points lie on any curve, and only on the way back is it seen whether filter, oil or gauge changed.";

/// Whether a specimen was mounted before a step.
fn mounted(test: &Test, before: Origin) -> bool {
    test.steps
        .iter()
        .take_while(|step| step.origin != before)
        .filter_map(|step| match step.action {
            Action::Mount { .. } => Some(true),
            Action::Remove => Some(false),
            _ => None,
        })
        .last()
        .unwrap_or(false)
}

/// More flow than a filter is sold for.
fn rated(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let use_of = say::rule(plan, "rated-flow-use", 1.2);
    let models = models(plan, runs);
    let lowest = models.iter().filter_map(|model| model.rated_flow.as_ref().map(|rated| (model, rated)));
    let Some((model, rated)) = lowest.min_by(|a, b| a.1.si().total_cmp(&b.1.si())) else { return };
    for step in &test.steps {
        let stage = test.stages.get(step.stage);
        if stage.is_some_and(|stage| stage.tare_for.is_some() || stage.blank.is_some()) {
            continue;
        }
        let (Action::SetFlow { setting, .. } | Action::HoldFlow(setting)) = &step.action else { continue };
        let Some(flow) = setting.target.as_ref().filter(|flow| above(flow.si(), rated.si() * use_of.value)) else {
            continue;
        };
        findings.add(
            finding(
                Code::BeyondRatedFlow,
                format!(
                    "{flow} is {} of the flow that `{}` is rated for",
                    say::percent(flow.si() / rated.si(), Round::Near),
                    model.name
                ),
                step.origin,
                "this flow",
            )
            .and(model.origin, format!("rated flow {rated}"))
            .and_maybe(
                use_of.origin,
                format!("from {} on a reason is asked for", say::percent(use_of.value, Round::Near)),
            )
            .help(format!(
                "stay at {} or less, or waive this with the reason why more is wanted",
                say::point(rated.si() * use_of.value, &flow.unit, Round::Down)
            )),
        );
        return;
    }
}

/// A flow that is set once, before a loop in which the pressure climbs.
fn sagging(plan: &Plan, test: &Test, findings: &mut Findings) {
    let Some(slip) = &plan.rig.pump_slip else { return };
    let (share, at) = (slip.value.0.si(), slip.value.1.si_difference());
    if at <= 0.0 {
        return;
    }
    for (index, batch) in test.batches.iter().enumerate() {
        let mut last: Option<(&Setting, Origin)> = None;
        let mut set_again = false;
        let mut inside = false;
        for step in &test.steps {
            let here = step.round.is_some_and(|(of, _)| of == index);
            if inside && !here {
                break;
            }
            inside |= here;
            if let Action::HoldFlow(setting) | Action::SetFlow { setting, .. } = &step.action {
                set_again |= here;
                last = Some((setting, step.origin));
            }
        }
        let Some((setting, held)) = last.filter(|_| !set_again) else { continue };
        let (Some(target), Some(width)) = (&setting.target, setting.window.width()) else { continue };
        if target.si() <= 0.0 {
            continue;
        }
        let sag = share * batch.terminal.si_difference() / at;
        let half = width / 2.0 / target.si();
        if !above(sag, half) {
            continue;
        }
        let rise = if batch.baseline.is_some() { "rise of " } else { "" };
        findings.add(
            finding(
                Code::FlowSags,
                format!(
                    "by the {rise}{} the pump gives {} less, and nothing in the loop sets the flow again",
                    batch.terminal,
                    say::percent(sag, Round::Near)
                ),
                batch.origin,
                "the pressure climbs in this loop",
            )
            .and(held, format!("set here, within {}", say::percent(half, Round::Near)))
            .and(slip.origin, format!("slip {} at {}", slip.value.0, slip.value.1))
            .help(format!(
                "inside the loop, before the reading, write `hold flow {target}, within {}`",
                say::percent(half, Round::Near)
            )),
        );
    }
}
