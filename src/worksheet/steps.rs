//! The steps of a run as sections: tables of rows, and a table of lines for each loop and each sweep.

use crate::plan::{Action, Hazard, Plan, Stage, Step, Test};

use super::boxes::field;
use super::label::Bottles;
use super::number;
use super::page::{Fact, Field, Row, Section, StepTable};
use super::rounds::{instruction_key, loading, repeatable, sweep};
use super::verbs::{fluid_name, say};

/// Fewer flows than this are not worth a table of their own.
const LEAST_FLOWS: usize = 3;

/// All sections of a test, in the order in which they are worked through.
pub(super) fn sections(plan: &Plan, test: &Test, bottles: &Bottles) -> Vec<Section> {
    let mut sections = Vec::new();
    for (index, stage) in test.stages.iter().enumerate() {
        let steps: Vec<&Step> = test.steps.iter().filter(|step| step.stage == index).collect();
        let before = sections.len();
        for part in steps.chunk_by(|one, next| loop_of(one) == loop_of(next)) {
            if let Some(batch) = part.first().and_then(|step| loop_of(step)) {
                sections.push(Section::Repeated(loading(plan, test, bottles, batch, part)));
                continue;
            }
            let mut rest = part;
            while !rest.is_empty() {
                let (plain, groups) = up_to_sweep(rest);
                if !plain.is_empty() {
                    let again = sections.len() > before;
                    sections.push(Section::Steps(table(plan, bottles, stage, index, plain, again)));
                }
                if !groups.is_empty() {
                    sections.push(Section::Repeated(sweep(plan, test, bottles, &groups)));
                }
                let taken = plain.len() + groups.iter().map(|group| group.len()).sum::<usize>();
                rest = rest.get(taken..).unwrap_or_default();
            }
        }
    }
    sections
}

/// The steps before the first sweep, and the groups of that sweep, one a flow. A sweep is a row of groups that begin with
/// a flow to set, ask for the same, and stand directly one after the other.
fn up_to_sweep<'s, 'p>(steps: &'s [&'p Step]) -> (&'s [&'p Step], Vec<&'s [&'p Step]>) {
    for start in 0..steps.len() {
        let (plain, rest) = steps.split_at(start);
        let mut groups: Vec<&[&Step]> = Vec::new();
        let mut later = rest;
        while let Some(group) = flow_group(later) {
            if groups.first().is_some_and(|first| !alike(first, group)) {
                break;
            }
            groups.push(group);
            later = later.get(group.len()..).unwrap_or_default();
        }
        if groups.len() >= LEAST_FLOWS {
            return (plain, groups);
        }
    }
    (steps, Vec::new())
}

/// The steps of one flow, where these steps begin with one: all that share the folder of its path.
fn flow_group<'s, 'p>(steps: &'s [&'p Step]) -> Option<&'s [&'p Step]> {
    let first = steps.first()?;
    if !matches!(first.action, Action::SetFlow { .. } | Action::BypassFlow { .. }) {
        return None;
    }
    let (folder, _) = first.path.rsplit_once('/')?;
    let inside = |step: &&Step| step.path.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/'));
    let sets = |step: &&Step| matches!(step.action, Action::SetFlow { .. } | Action::BypassFlow { .. });
    let more = steps.iter().skip(1).take_while(|step| inside(step) && !sets(step)).count();
    let group = steps.get(..=more)?;
    group.iter().all(|step| repeatable(step)).then_some(group)
}

fn alike(one: &[&Step], other: &[&Step]) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(a, b)| instruction_key(a) == instruction_key(b))
}

fn loop_of(step: &Step) -> Option<usize> {
    step.round.map(|(batch, _)| batch)
}

fn table(plan: &Plan, bottles: &Bottles, stage: &Stage, index: usize, steps: &[&Step], again: bool) -> StepTable {
    let more = if again { ", continued" } else { "" };
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
    let mut fields: Vec<Field> = step.readings.iter().map(|reading| field(plan, bottles, reading)).collect();
    // The sentence has said it.
    for field in fields.iter_mut().filter(|field| !field.window.is_empty() && said.sentence.contains(&field.target)) {
        field.target.clear();
    }
    Row {
        number: step.number.to_string(),
        row: said.kind,
        sentence: said.sentence,
        details: said.details,
        valves: said.valves,
        fields,
    }
}
