//! One test on both sides: parameters, limits, stages, loops, steps.

use indexmap::IndexMap;
use serde::Serialize;
use serde_json::Value;

use super::{Change, Kind, fact, facts, sequence};
use crate::plan::{Plan, Test};

/// The changes of every test, under headings.
pub(super) fn compare(old: &Plan, new: &Plan) -> Vec<(String, Vec<Change>)> {
    let mut sections = Vec::new();
    let find = |plan: &'_ Plan, name: &str| plan.tests.iter().position(|test| test.name == name);
    for test in &old.tests {
        let Some(other) = find(new, &test.name).and_then(|at| new.tests.get(at)) else {
            sections.push((heading(test, ""), vec![all_of(test, Kind::Removed)]));
            continue;
        };
        let parameters = |test: &Test| test.parameters.iter().cloned().collect::<IndexMap<String, String>>();
        sections.push((heading(test, ": parameters"), facts(&parameters(test), &parameters(other))));
        sections.push((heading(test, ": protocol, limits, stages"), facts(&head(test), &head(other))));
        sections.push((heading(test, ": steps"), sequence::steps(test, other)));
    }
    for test in new.tests.iter().filter(|test| find(old, &test.name).is_none()) {
        sections.push((heading(test, ""), vec![all_of(test, Kind::Added)]));
    }
    sections
}

fn heading(test: &Test, what: &str) -> String {
    format!("Test `{}`{what}", test.name)
}

fn all_of(test: &Test, kind: Kind) -> Change {
    let what = format!("the whole test, by `{}`, {} steps", test.protocol.name, test.steps.len());
    Change { kind, what, old: None, new: None, paths: Vec::new() }
}

/// Everything that is said of a test outside its steps and parameters.
fn head(test: &Test) -> IndexMap<String, String> {
    let mut all = IndexMap::new();
    let mut put = |name: &str, value: Value| {
        for (key, text) in fact::facts(Some(&value)) {
            let key = if key.is_empty() { name.to_owned() } else { format!("{name}: {key}") };
            all.insert(key.trim_start_matches(": ").to_owned(), text);
        }
    };
    put("title", plain(&test.title));
    put("protocol", plain(&test.protocol));
    put("limit", plain(&test.limits));
    let wear: Vec<String> =
        test.protection.iter().map(|(item, hazard)| format!("{item} ({})", hazard.words())).collect();
    put("protection", plain(&wear));
    put("dosing", plain(&test.dosing));
    let hazards: Vec<&str> = test.hazards.iter().map(|hazard| hazard.words()).collect();
    put("hazards", plain(&hazards));
    for stage in &test.stages {
        let mut stage_value = plain(stage);
        if let Value::Object(map) = &mut stage_value {
            // Where its steps are is told by the steps.
            map.retain(|key, _| !["first_step", "end_step", "name"].contains(&key.as_str()));
        }
        put(&format!("stage `{}`", stage.name), stage_value);
    }
    for batch in &test.batches {
        let mut value = plain(batch);
        if let Value::Object(map) = &mut value {
            map.retain(|key, _| key != "path");
        }
        put(&format!("loop `{}`", batch.path), value);
    }
    all
}

fn plain(value: &impl Serialize) -> Value {
    serde_json::to_value(value).unwrap_or_default()
}
