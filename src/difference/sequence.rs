//! What is done, step by step, and which specimen comes when: added, removed, moved, changed.

use indexmap::{IndexMap, IndexSet};
use serde_json::Value;

use super::{Change, Kind, fact};
use crate::plan::{Plan, Run, Step, Test, Wants};
use crate::quantity::Unit;

/// Changes that say the same, with the paths of the steps that have them.
type Groups = IndexMap<(Kind, String, Option<String>, Option<String>), Vec<String>>;

/// The steps of one test, by their paths.
pub(super) fn steps(old: &Test, new: &Test) -> Vec<Change> {
    let by_path = |test: &Test| -> IndexMap<String, usize> {
        test.steps.iter().enumerate().map(|(index, step)| (step.path.clone(), index)).collect()
    };
    let (before, after) = (by_path(old), by_path(new));
    let mut groups = Groups::default();
    let mut pairs: Vec<(&Step, &Step)> = Vec::new();
    let mut removed: IndexMap<&str, Vec<&Step>> = IndexMap::new();
    let mut added: IndexMap<&str, Vec<&Step>> = IndexMap::new();
    for step in &old.steps {
        match after.get(&step.path).and_then(|at| new.steps.get(*at)) {
            Some(other) => pairs.push((step, other)),
            None => removed.entry(stage(step)).or_default().push(step),
        }
    }
    for step in new.steps.iter().filter(|step| !before.contains_key(&step.path)) {
        added.entry(stage(step)).or_default().push(step);
    }
    moved(&pairs, &mut groups);
    let mut renames = Groups::default();
    // A sweep at other flows has the same steps under other names.
    for (stage, gone) in &removed {
        let come = added
            .get(stage)
            .filter(|come| come.len() == gone.len() && gone.iter().zip(come.iter()).all(|(a, b)| kind(a) == kind(b)));
        let Some(come) = come else {
            let paths = gone.iter().map(|step| step.path.clone()).collect();
            groups.insert((Kind::Removed, counted(gone.len(), stage), None, None), paths);
            continue;
        };
        let renamed: Vec<String> = come.iter().map(|step| step.path.clone()).collect();
        let first = |steps: &[&Step]| steps.first().map(|step| step.path.clone());
        renames.insert(
            (Kind::Changed, format!("paths of {}", counted(come.len(), stage)), first(gone), first(come)),
            renamed,
        );
        pairs.extend(gone.iter().copied().zip(come.iter().copied()));
        added.shift_remove(stage);
    }
    for (stage, come) in &added {
        let paths = come.iter().map(|step| step.path.clone()).collect();
        groups.insert((Kind::Added, counted(come.len(), stage), None, None), paths);
    }
    for (one, other) in pairs {
        let (a, b) = (said(one), said(other));
        let names: IndexSet<&String> = a.keys().chain(b.keys()).collect();
        let differs = |name: &&String| a.get(*name) != b.get(*name);
        // What a reading is to show follows from what is set.
        let set = names.iter().filter(|name| differs(name)).any(|name| !name.starts_with('`'));
        let follows =
            |name: &str| set && name.starts_with('`') && (name.ends_with(": window") || name.ends_with(": target"));
        for name in names.iter().copied().filter(|name| differs(name) && !follows(name)) {
            let key = (Kind::Changed, name.clone(), a.get(name).cloned(), b.get(name).cloned());
            groups.entry(key).or_default().push(other.path.clone());
        }
    }
    groups.extend(renames);
    let change = |((kind, what, old, new), paths)| Change { kind, what, old, new, paths };
    groups.into_iter().map(change).collect()
}

fn counted(count: usize, stage: &str) -> String {
    let steps = if count == 1 { "step" } else { "steps" };
    format!("{count} {steps} of stage `{stage}`")
}

fn stage(step: &Step) -> &str {
    step.path.split('/').next().unwrap_or_default()
}

/// Steps that are not where they were among the others: all but the longest row that kept its order.
fn moved(pairs: &[(&Step, &Step)], groups: &mut Groups) {
    let positions: Vec<u32> = pairs.iter().map(|(_, other)| other.number).collect();
    let kept = longest_rising(&positions);
    let mut by_stage: IndexMap<&str, Vec<String>> = IndexMap::new();
    for ((_, other), kept) in pairs.iter().zip(kept) {
        if !kept {
            by_stage.entry(stage(other)).or_default().push(other.path.clone());
        }
    }
    for (stage, paths) in by_stage {
        groups.insert((Kind::Moved, counted(paths.len(), stage), None, None), paths);
    }
}

/// Which of these belong to a longest rising row; `n log n`.
fn longest_rising(values: &[u32]) -> Vec<bool> {
    // The index of the smallest end of a row of each length, and what came before each.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = vec![None; values.len()];
    let value = |index: &usize| values.get(*index).copied().unwrap_or_default();
    for (index, this) in values.iter().enumerate() {
        let length = ends.partition_point(|end| value(end) < *this);
        if let Some(slot) = before.get_mut(index) {
            *slot = length.checked_sub(1).and_then(|at| ends.get(at)).copied();
        }
        match ends.get_mut(length) {
            Some(end) => *end = index,
            None => ends.push(index),
        }
    }
    let mut kept = vec![false; values.len()];
    let mut at = ends.last().copied();
    while let Some(index) = at {
        if let Some(slot) = kept.get_mut(index) {
            *slot = true;
        }
        at = before.get(index).copied().flatten();
    }
    kept
}

/// What a step does, in one word.
fn kind(step: &Step) -> String {
    variant(&serde_json::to_value(&step.action).unwrap_or_default()).0
}

/// The name of a variant and what it holds.
fn variant(value: &Value) -> (String, Option<&Value>) {
    let words = |name: &str| name.replace('-', " ");
    match value {
        Value::String(name) => (words(name), None),
        Value::Object(map) => {
            map.iter().next().map_or_else(Default::default, |(name, inner)| (words(name), Some(inner)))
        }
        _ => Default::default(),
    }
}

/// What a step says, value by value: what is done, and of each reading what is wanted.
fn said(step: &Step) -> IndexMap<String, String> {
    let mut all = IndexMap::new();
    let action = serde_json::to_value(&step.action).unwrap_or_default();
    let (does, holds) = variant(&action);
    let unit = reading_unit(step);
    all.insert("what is done".to_owned(), does.clone());
    for (key, text) in fact::facts_in(holds, unit.as_ref()) {
        let key = if key.is_empty() || key == "setting" { does.clone() } else { format!("{does}: {key}") };
        all.insert(key, text);
    }
    for reading in &step.readings {
        let wants = serde_json::to_value(&reading.wants).unwrap_or_default();
        let (sort, holds) = variant(&wants);
        all.insert(format!("`{}`", reading.name), format!("{} ({sort})", reading.label));
        for (key, text) in fact::facts_in(holds, None) {
            let key = if key.is_empty() { sort.clone() } else { key };
            all.insert(format!("`{}`: {key}", reading.name), text);
        }
    }
    all
}

/// The unit in which the first number of a step is read.
fn reading_unit(step: &Step) -> Option<Unit> {
    step.readings.iter().find_map(|reading| match &reading.wants {
        Wants::Number(numeric) => Some(numeric.unit.clone()),
        _ => None,
    })
}

/// A run's code and its place in the order.
type Place = (String, u32);

/// Which specimen goes through which test, and in which order.
pub(super) fn runs(old: &Plan, new: &Plan) -> Vec<Change> {
    let list = |plan: &Plan| -> IndexMap<String, Place> {
        let of = |(index, run): (usize, &Run)| {
            let test = plan.test_of(run).map_or("", |test| test.name.as_str());
            let what = format!("specimen {} through `{test}`, replicate {}", run.specimen, run.replicate);
            (what, (run.code.clone(), u32::try_from(index).unwrap_or(u32::MAX)))
        };
        plan.runs.iter().enumerate().map(of).collect()
    };
    let (before, after) = (list(old), list(new));
    let common: Vec<(&String, &Place, &Place)> =
        before.iter().filter_map(|(what, a)| after.get(what).map(|b| (what, a, b))).collect();
    let kept = longest_rising(&common.iter().map(|(_, _, b)| b.1).collect::<Vec<u32>>());
    let mut changes = Vec::new();
    let mut push = |kind, what: &str, old: Option<&String>, new: Option<&String>| {
        let (what, old, new) = (what.to_owned(), old.cloned(), new.cloned());
        changes.push(Change { kind, what, old, new, paths: Vec::new() });
    };
    for ((what, a, b), kept) in common.iter().zip(kept) {
        // A run's code is its place in the order.
        if a.0 != b.0 {
            push(if kept { Kind::Changed } else { Kind::Moved }, what, Some(&a.0), Some(&b.0));
        }
    }
    for (what, (code, _)) in before.iter().filter(|(what, _)| !after.contains_key(*what)) {
        push(Kind::Removed, what, Some(code), None);
    }
    for (what, (code, _)) in after.iter().filter(|(what, _)| !before.contains_key(*what)) {
        push(Kind::Added, what, None, Some(code));
    }
    changes
}
