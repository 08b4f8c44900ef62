//! Bottles: drawn where oil flows, at the right moment, in pairs, large and clean enough, counted as they have to be.

mod account;

mod bottle;

mod label;

mod laboratory;

mod moment;

mod place;

use indexmap::{IndexMap, IndexSet};

use super::{Also, Findings, Moment, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Bottle, LabTest, Laboratory, Plan, Reading, Run, Step, Test, Wants};

pub(super) use account::Account;

/// The bottles of a test, each with its step, in the order in which they are drawn.
fn drawn(test: &Test) -> impl Iterator<Item = (&Step, &Reading, &Bottle)> {
    test.steps.iter().flat_map(|step| in_step(step).map(move |(reading, bottle)| (step, reading, bottle)))
}

fn in_step(step: &Step) -> impl Iterator<Item = (&Reading, &Bottle)> {
    step.readings.iter().filter_map(|reading| match &reading.wants {
        Wants::Bottle(bottle) => Some((reading, bottle)),
        _ => None,
    })
}

/// The laboratory tests that a bottle is for, each with its laboratory; one test may be offered by two.
fn lab_tests<'p>(plan: &'p Plan, bottle: &'p Bottle) -> impl Iterator<Item = (&'p Laboratory, &'p LabTest)> {
    let all = plan.laboratories.values().flat_map(|lab| lab.tests.values().map(move |test| (lab, test)));
    all.filter(|(_, test)| bottle.tests.contains(&test.name))
}

/// Whether a laboratory test counts particles.
fn counts(test: &LabTest) -> bool {
    !test.sizes.is_empty() || test.counts.is_some() || test.reports_code
}

/// The share of a bottle that is filled.
fn fill(plan: &Plan) -> super::say::Rule {
    super::say::rule(plan, "bottle-fill", 0.8)
}

/// Where the oil is that a bottle is drawn from.
fn sits<'p>(plan: &'p Plan, bottle: &Bottle) -> &'p str {
    plan.rig.samplers.get(&bottle.sampler).map_or("", |sampler| sampler.sits.as_str())
}

/// A bottle, its step, and that step's place in the test.
type Drawn<'p> = (usize, &'p Step, &'p Reading, &'p Bottle);

/// Two bottles that belong together, in the order in which they are drawn.
struct Pair<'p> {
    first: Drawn<'p>,
    second: Drawn<'p>,
}

/// The pair of which a step draws the second bottle.
fn pair_of<'p>(moment: &Moment<'_, 'p>, reading: &'p Reading, bottle: &'p Bottle) -> Option<Pair<'p>> {
    let path = bottle.paired_with.as_deref()?;
    let at = usize::try_from(moment.step.number).ok()?.checked_sub(1)?;
    let before = moment.test.steps.get(..at)?.iter().enumerate().rev();
    let mut all =
        before.flat_map(|(index, step)| in_step(step).map(move |(reading, bottle)| (index, step, reading, bottle)));
    let first = all.find(|(_, _, reading, _)| reading.path == path)?;
    Some(Pair { first, second: (at, moment.step, reading, bottle) })
}

/// The pairs of a test, in the order in which their second bottle is drawn; steps by their place in the test.
fn pairs(test: &Test) -> Vec<Pair<'_>> {
    let mut by_path: IndexMap<&str, Drawn<'_>> = IndexMap::new();
    let mut pairs = Vec::new();
    for (index, step) in test.steps.iter().enumerate() {
        for (reading, bottle) in in_step(step) {
            let second = (index, step, reading, bottle);
            if let Some(first) = bottle.paired_with.as_deref().and_then(|path| by_path.get(path)) {
                pairs.push(Pair { first: *first, second });
            }
            by_path.insert(&reading.path, second);
        }
    }
    pairs
}

/// The rig's valves, the bottles at hand, the laboratory.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    place::rig(plan, findings);
    bottle::brim(plan, findings);
    account::stock(plan, findings);
    laboratory::campaign(plan, findings);
    label::campaign(plan, findings);
}

/// Pairs, and the bottle of the rig by itself.
pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let pairs = pairs(test);
    lone(plan, test, &pairs, findings);
    blank(test, findings);
    place::pairs(plan, &pairs, findings);
    moment::pairs(test, &pairs, findings, plan);
    laboratory::test(plan, runs, test, &pairs, findings);
    account::kept(plan, test, &pairs, findings);
}

fn lone(plan: &Plan, test: &Test, pairs: &[Pair<'_>], findings: &mut Findings) {
    let paired: IndexSet<&str> =
        pairs.iter().flat_map(|pair| [pair.first.2.path.as_str(), pair.second.2.path.as_str()]).collect();
    // The bottle that ends a clean-up shows the oil, not the specimen.
    for (_, reading, bottle) in drawn(test).filter(|(step, _, _)| !matches!(step.action, Action::CleanUp(_))) {
        if sits(plan, bottle) == "downstream" && !bottle.tests.is_empty() && !paired.contains(reading.path.as_str()) {
            let upstream =
                plan.rig.samplers.values().find(|s| s.sits == "upstream").map_or("upstream", |s| s.name.as_str());
            findings.add(
                finding(
                    Code::LoneBottle,
                    format!("`{}` is drawn after the specimen, and no bottle before it goes with it", reading.name),
                    reading.origin,
                    "one of a pair",
                )
                .help(format!(
                    "add right after it: `sample {upstream} {}-before, paired with {} {{ … }}`",
                    reading.name, reading.name
                )),
            );
        }
    }
}

/// The particles of rig, valve and bottle themselves.
fn blank(test: &Test, findings: &mut Findings) {
    let dose = test.steps.iter().find(|step| matches!(step.action, Action::Dose { .. } | Action::Inject { .. }));
    let counted = drawn(test).find(|(_, _, bottle)| !bottle.tests.is_empty());
    let (Some(dose), Some((_, reading, _))) = (dose, counted) else { return };
    let clean = |step: &Step| test.stages.get(step.stage).is_some_and(|stage| stage.blank.as_deref() == Some("clean"));
    if drawn(test).any(|(step, _, bottle)| clean(step) && !bottle.tests.is_empty()) {
        return;
    }
    let stage = test.stages.iter().find(|stage| stage.blank.as_deref() == Some("clean"));
    let found = match stage {
        None => finding(
            Code::NoBlank,
            "particles are counted, but never those of the rig by itself",
            reading.origin,
            "the first bottle that is counted",
        )
        .and(dose.origin, "dust goes in here")
        .help("add a stage with `blank clean` before the specimen is mounted, and draw the same bottles in it"),
        Some(stage) => finding(
            Code::NoBlank,
            format!("the clean blank `{}` draws no bottle that is counted", stage.name),
            stage.origin,
            "the rig by itself",
        )
        .and(reading.origin, "the first bottle that is counted")
        .and(dose.origin, "dust goes in here")
        .help(format!(
            "at the end of the stage `{}` write the line of `{}` and that of its partner once more, with new names",
            stage.name, reading.name
        )),
    };
    findings.add(found);
}

pub(super) fn step<'p>(moment: &Moment<'_, 'p>, account: &mut Account<'p>, findings: &mut Findings) {
    for (reading, bottle) in in_step(moment.step) {
        place::out_of_flow(moment, reading, bottle, findings);
        place::smooth(moment, reading, bottle, findings);
        place::hot(moment, reading, bottle, findings);
        moment::early(moment, reading, bottle, findings);
        moment::late(moment, reading, bottle, findings);
        bottle::volume(moment, bottle, findings);
        bottle::flush(moment, bottle, findings);
        bottle::dirty(moment, reading, bottle, findings);
        if let Some(pair) = pair_of(moment, reading, bottle) {
            moment::in_dust(moment, &pair, findings);
        }
    }
    account.step(moment, findings);
}
