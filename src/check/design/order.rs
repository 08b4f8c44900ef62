//! The order of tests and runs: nothing clean after dust, nothing after the saw, no model in a row by itself.

use indexmap::IndexMap;

use super::super::{Also, Findings, finding};
use crate::diagnostic::Code;
use crate::plan::{Action, Order, Origin, Plan, Run, Step, Test, Wants};

/// What a test does to its specimen that can't be undone, and what it wants of it.
struct Deeds {
    /// Cut open or burst here.
    destroyed: Option<Origin>,
    /// Dust goes into the specimen here.
    loaded: Option<Origin>,
    /// A specimen that still holds oil and pressure is used here.
    used: Option<Origin>,
    /// A specimen that has seen no dust is wanted here.
    clean: Option<Origin>,
}

fn destroys(step: &Step) -> bool {
    // Photographs are taken, and parts counted, only of what has been opened.
    matches!(step.action, Action::Burst { .. } | Action::Photograph)
        || step.readings.iter().any(|reading| matches!(reading.wants, Wants::Count))
}

fn uses(step: &Step) -> bool {
    matches!(
        step.action,
        Action::Mount { .. }
            | Action::SetFlow { .. }
            | Action::HoldFlow(_)
            | Action::BypassFlow { .. }
            | Action::AntiDrain { .. }
            | Action::BubblePoint { .. }
            | Action::Dose { .. }
            | Action::Burst { .. }
    )
}

fn deeds(test: &Test) -> Deeds {
    let mut deeds = Deeds { destroyed: None, loaded: None, used: None, clean: None };
    let mut mounted = false;
    for step in &test.steps {
        let here = || Some(step.origin);
        let blank = test.stages.get(step.stage).is_some_and(|s| s.blank.is_some() || s.tare_for.is_some());
        match &step.action {
            Action::Mount { .. } => mounted = true,
            Action::Remove => mounted = false,
            Action::Dose { .. } | Action::Inject { .. } if mounted => {
                deeds.clean = deeds.clean.or_else(here);
                deeds.loaded = deeds.loaded.or_else(here);
            }
            Action::SetFlow { .. } if mounted && !blank => deeds.clean = deeds.clean.or_else(here),
            Action::BubblePoint { .. } => deeds.clean = deeds.clean.or_else(here),
            _ => {}
        }
        if uses(step) && !blank {
            deeds.used = deeds.used.or_else(here);
        }
        if destroys(step) {
            deeds.destroyed = deeds.destroyed.or_else(here);
        }
    }
    deeds
}

/// One specimen through several tests, in the order of the runs.
pub(super) fn across(plan: &Plan, findings: &mut Findings) {
    let deeds: Vec<Deeds> = plan.tests.iter().map(deeds).collect();
    let mut destroyed: IndexMap<&str, (&Run, Origin)> = IndexMap::new();
    let mut loaded: IndexMap<&str, (&Run, Origin)> = IndexMap::new();
    for run in &plan.runs {
        let (Some(test), Some(deed)) = (plan.test_of(run), deeds.get(run.test)) else { continue };
        let specimen = run.specimen.as_str();
        let registered = plan.campaign.specimens.get(specimen).map(|s| s.origin);
        let earlier = |before: &Run| plan.test_of(before).map_or("", |t| t.name.as_str());
        if let (Some((before, since)), Some(used)) = (destroyed.get(specimen), deed.used) {
            let first = earlier(before);
            findings.add(
                finding(
                    Code::DestroyedFirst,
                    format!("`{specimen}` is used in run {}, after run {} has destroyed it", run.code, before.code),
                    used,
                    format!("`{}` still needs it whole", test.name),
                )
                .and(*since, format!("opened or burst here, in `{first}`"))
                .and_maybe(registered, "the specimen")
                .help(format!(
                    "put the test `{}` before `{first}` in the campaign, or take another specimen for it",
                    test.name
                )),
            );
        } else if let (Some((before, since)), Some(wanted)) = (loaded.get(specimen), deed.clean) {
            let first = earlier(before);
            let help = if first == test.name {
                format!(
                    "take a specimen of its own for each run of `{first}`: `replicates 1`, and more specimens of the model"
                )
            } else {
                format!(
                    "put the test `{}` before `{first}` in the campaign, or take another specimen for it",
                    test.name
                )
            };
            findings.add(
                finding(
                    Code::DirtyBeforeClean,
                    format!(
                        "`{specimen}` is to be clean in run {}, and run {} has loaded it with dust",
                        run.code, before.code
                    ),
                    wanted,
                    "wants a filter that has seen no dust",
                )
                .and(*since, format!("dust goes into it here, in `{first}`"))
                .and_maybe(registered, "the specimen")
                .why("A filter that has been loaded is never clean again; its restriction is that of the dust in it.")
                .help(help),
            );
        }
        if let Some(at) = deed.destroyed {
            destroyed.entry(specimen).or_insert((run, at));
        }
        if let Some(at) = deed.loaded {
            loaded.entry(specimen).or_insert((run, at));
        }
    }
}

pub(super) fn test(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    destroyed_within(test, findings);
    by_model(plan, runs, test, findings);
    adaptors(plan, runs, test, findings);
}

/// Opened or burst, and used after that, in one test.
fn destroyed_within(test: &Test, findings: &mut Findings) {
    let Some(at) = test.steps.iter().position(destroys) else { return };
    let (Some(saw), Some(later)) = (test.steps.get(at), test.steps.iter().skip(at + 1).find(|step| uses(step))) else {
        return;
    };
    let burst = matches!(saw.action, Action::Burst { .. });
    // Burst after burst is one test in several steps; a burst can is opened afterwards.
    if burst && matches!(later.action, Action::Burst { .. }) {
        return;
    }
    findings.add(
        finding(
            Code::DestroyedFirst,
            format!(
                "step {} still uses the specimen that step {} has {}",
                later.number,
                saw.number,
                if burst { "burst" } else { "opened" }
            ),
            later.origin,
            "needs a specimen that is whole",
        )
        .and(saw.origin, if burst { "burst here" } else { "opened by here" })
        .help("move what opens or bursts the specimen to the end of the protocol"),
    );
}

/// All runs of a model in a row, or the models from cheap to dear.
fn by_model(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    let drawn = match test.order {
        Order::Drawn(_) => return,
        Order::Given(at) => Some(at),
        Order::AsListed => None,
    };
    let mut sequence: Vec<(&str, usize)> = Vec::new();
    for run in runs {
        let Some(specimen) = plan.campaign.specimens.get(&run.specimen).filter(|s| !s.reference) else { continue };
        let Some(model) = specimen.model.as_deref() else { continue };
        match sequence.last_mut() {
            Some((last, count)) if *last == model => *count += 1,
            _ => sequence.push((model, 1)),
        }
    }
    let mut names: Vec<&str> = sequence.iter().map(|(model, _)| *model).collect();
    names.sort_unstable();
    names.dedup();
    // A model that comes again later is mixed in among the others.
    if names.len() != sequence.len() {
        return;
    }
    let in_a_row = sequence.len() >= 2 && sequence.iter().all(|(_, count)| *count >= 2);
    let prices: Option<Vec<f64>> = sequence
        .iter()
        .map(|(model, _)| plan.campaign.models.get(*model).and_then(|m| m.price.as_ref()).map(|p| p.value))
        .collect();
    let rising = |values: &[f64]| values.windows(2).all(|pair| matches!(pair, [a, b] if a < b));
    let by_price = prices.is_some_and(|mut prices| {
        rising(&prices) || {
            prices.reverse();
            rising(&prices)
        }
    });
    let by_name = sequence.iter().map(|(model, _)| *model).eq(names.iter().copied());
    let what = if sequence.len() >= 3 && by_price {
        "the models are run in the order of their prices"
    } else if in_a_row {
        "all runs of a model follow one another"
    } else if sequence.len() >= 3 && by_name {
        "the models are run in the order of their names"
    } else {
        return;
    };
    let said: Vec<String> = sequence
        .iter()
        .map(|(model, count)| if *count == 1 { format!("`{model}`") } else { format!("`{model}` {count} times") })
        .collect();
    let seed: String = plan
        .campaign
        .starts
        .as_ref()
        .map_or_else(|| "1".to_owned(), |date| date.chars().filter(char::is_ascii_digit).collect());
    let reference = runs.iter().any(|run| plan.campaign.specimens.get(&run.specimen).is_some_and(|s| s.reference));
    let bracket = if reference { ", reference first and last" } else { "" };
    findings.add(
        finding(
            Code::OrderFollowsModel,
            format!("in `{}` {what}: {}", test.name, said.join(", then ")),
            drawn.unwrap_or(plan.campaign.origin),
            if drawn.is_some() {
                "this order"
            } else {
                "no order is written, so the specimens are run as they stand here"
            },
        )
        .help(format!("write `order random from seed {seed}{bracket}` in the test: the number fixes the draw, and any number will do that was chosen before the order was seen")),
    );
}

/// Specimens of two threads need two adaptors, and an adaptor is a part of the rig.
fn adaptors(plan: &Plan, runs: &[&Run], test: &Test, findings: &mut Findings) {
    if !test.steps.iter().any(|step| matches!(step.action, Action::Mount { .. })) {
        return;
    }
    let mut threads: IndexMap<&str, Origin> = IndexMap::new();
    for run in runs {
        let model = plan.campaign.specimens.get(&run.specimen).and_then(|s| s.model.as_ref());
        if let Some((thread, origin)) =
            model.and_then(|m| plan.campaign.models.get(m)).and_then(|m| m.thread.as_deref().map(|t| (t, m.origin)))
        {
            threads.entry(thread).or_insert(origin);
        }
    }
    let (Some((one, at)), Some((other, there))) = (threads.get_index(0), threads.get_index(1)) else { return };
    findings.add(
        finding(
            Code::RigChanges,
            format!("the specimens of `{}` have {} threads, `{one}` and `{other}`: the adaptor changes between the runs", test.name, threads.len()),
            plan.campaign.origin,
            "one test for all of them",
        )
        .and(*at, format!("`{one}`"))
        .and(*there, format!("`{other}`"))
        .help("write a `test` of its own for each thread, each with the tare of its adaptor, and run the reference in both; or waive this with the tares of both adaptors as the reason"),
    );
}
