//! Bottles: their numbers, and what their labels say.

use indexmap::IndexMap;

use crate::plan::{Bottle, Plan, Reading, Run, Step, Test, Wants, bottle_labels};

use super::boxes::wants;
use super::page::Label;
use super::verbs::fluid_name;

/// The numbers of a run's bottles, by the path of the reading that draws them.
#[derive(Debug, Clone, Default)]
pub(super) struct Bottles {
    ids: IndexMap<String, String>,
}

impl Bottles {
    /// Numbers the bottles of a test in the order in which they are drawn.
    pub(super) fn of(run: &Run, test: &Test) -> Self {
        Self { ids: bottle_labels(run, test) }
    }

    /// The number of the bottle that this reading draws; its path, should it have none.
    pub(super) fn id(&self, path: &str) -> String {
        self.ids.get(path).cloned().unwrap_or_else(|| path.to_owned())
    }
}

fn drawn(test: &Test) -> impl Iterator<Item = (&Step, &Reading, &Bottle)> {
    test.steps.iter().flat_map(|step| {
        step.readings.iter().filter_map(move |reading| match &reading.wants {
            Wants::Bottle(bottle) => Some((step, reading, bottle)),
            _ => None,
        })
    })
}

/// The labels of a run, one a bottle; a twin and a bottle to keep have one of their own.
pub(super) fn labels(plan: &Plan, run: &Run, test: &Test, bottles: &Bottles) -> Vec<Label> {
    let mut labels = Vec::new();
    for (step, reading, bottle) in drawn(test) {
        let first = one(plan, run, test, step, reading, bottle, &bottles.id(&reading.path));
        let copy = |suffix: &str, moment: &str| Label {
            id: format!("{}{suffix}", first.id),
            moment: format!("{}, {moment}", first.moment),
            ..first.clone()
        };
        let twin = bottle.twin.then(|| copy("T", "twin"));
        let kept = bottle.second_bottle.then(|| copy("K", "to keep"));
        labels.push(first);
        labels.extend(twin);
        labels.extend(kept);
    }
    labels
}

fn one(plan: &Plan, run: &Run, test: &Test, step: &Step, reading: &Reading, bottle: &Bottle, id: &str) -> Label {
    let stage = test.stages.get(step.stage);
    let fluid = stage.and_then(|stage| stage.fluid.as_deref());
    let oil = fluid.map(|name| fluid_name(plan, name));
    let dust = test.hazards.contains(&crate::plan::Hazard::Dust).then(|| "may contain quartz dust".to_owned());
    let place = plan.rig.samplers.get(&bottle.sampler).map_or("", |sampler| sampler.sits.as_str());
    let moment = match step.round {
        Some((_, round)) => format!("after dose {round}"),
        None => reading.path.clone(),
    };
    Label {
        id: id.to_owned(),
        run: run.code.clone(),
        specimen: run.specimen.clone(),
        point: if place.is_empty() || place == bottle.sampler {
            bottle.sampler.to_uppercase()
        } else {
            format!("{} ({})", place.to_uppercase(), bottle.sampler)
        },
        moment,
        wants: wants(bottle),
        tests: bottle.tests.join(", "),
        contents: oil.into_iter().chain(dust).collect::<Vec<_>>().join("; "),
        fingerprint: plan.fingerprint.short.clone(),
    }
}
