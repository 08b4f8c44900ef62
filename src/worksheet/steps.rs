//! The steps of a run as sections: tables of rows, and a loading table for each loop.

use crate::plan::{Hazard, Plan, Stage, Step, Test};

use super::boxes::field;
use super::label::Bottles;
use super::loading::loading;
use super::number;
use super::page::{Fact, Row, Section, StepTable};
use super::verbs::{fluid_name, say};

/// All sections of a test, in the order in which they are worked through.
pub(super) fn sections(plan: &Plan, test: &Test, bottles: &Bottles) -> Vec<Section> {
    let mut sections = Vec::new();
    for (index, stage) in test.stages.iter().enumerate() {
        let steps: Vec<&Step> = test.steps.iter().filter(|step| step.stage == index).collect();
        let mut again = false;
        for part in steps.chunk_by(|one, next| loop_of(one) == loop_of(next)) {
            match part.first().and_then(|step| loop_of(step)) {
                Some(batch) => sections.push(Section::Loading(loading(plan, test, bottles, batch, part))),
                None => sections.push(Section::Steps(table(plan, bottles, stage, index, part, again))),
            }
            again = true;
        }
    }
    sections
}

fn loop_of(step: &Step) -> Option<usize> {
    step.round.map(|(batch, _)| batch)
}

fn table(plan: &Plan, bottles: &Bottles, stage: &Stage, index: usize, steps: &[&Step], again: bool) -> StepTable {
    let more = if again { " (after the loop)" } else { "" };
    StepTable {
        heading: format!("Stage {}: {}{more}", index + 1, stage.title),
        facts: facts(plan, stage),
        hazards: hazards(steps.iter().copied()),
        rows: steps.iter().map(|step| row(plan, bottles, step)).collect(),
    }
}

fn facts(plan: &Plan, stage: &Stage) -> Vec<Fact> {
    let mut facts = Vec::new();
    if let Some(fluid) = &stage.fluid {
        facts.push(Fact::new("Fluid", fluid_name(plan, fluid)));
    }
    if let Some(tare) = &stage.tare {
        facts.push(Fact::new("Tare", format!("{tare} (taken off later, not here)")));
    }
    if let Some(adaptor) = &stage.tare_for {
        facts.push(Fact::new("Tare of", adaptor.clone()));
    }
    if let Some(blank) = &stage.blank {
        facts.push(Fact::new("Blank", blank.clone()));
    }
    for (names, every) in &stage.logs {
        facts.push(Fact::new("Log", format!("{} every {}", names.join(", "), number::written(every))));
    }
    facts
}

/// The hazards of some steps, in words, in a fixed order.
pub(super) fn hazards<'a>(steps: impl Iterator<Item = &'a Step>) -> String {
    let mut all: Vec<Hazard> = steps.flat_map(|step| step.hazards.iter().copied()).collect();
    all.retain(|hazard| *hazard != Hazard::Always);
    all.sort_unstable();
    all.dedup();
    all.into_iter().map(Hazard::words).collect::<Vec<_>>().join(", ")
}

/// One step as a row.
pub(super) fn row(plan: &Plan, bottles: &Bottles, step: &Step) -> Row {
    let said = say(plan, step);
    Row {
        number: step.number.to_string(),
        row: said.kind,
        sentence: said.sentence,
        details: said.details,
        valves: said.valves,
        fields: step.readings.iter().map(|reading| field(plan, bottles, reading)).collect(),
    }
}
