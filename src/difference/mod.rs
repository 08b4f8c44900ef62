//! Two versions of a plan, compared by what they mean: not lines of text but parameters, oils, parts, steps, windows, runs, rules,
//! findings and needs, each with its old and its new value. Layout, comments and file names make no difference.
//!
//! What is compared is what the fingerprint is made of, so nothing that changes the fingerprint can be overlooked.

mod fact;

mod need;

mod sequence;

mod text;

mod test;

use indexmap::IndexMap;
use serde::Serialize;
use serde_json::Value;

use crate::diagnostic::Diagnostic;
use crate::plan::Plan;
pub use text::text;

/// How two versions of a plan differ.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Whether both mean the same: the same fingerprint.
    pub same: bool,
    pub old: Version,
    pub new: Version,
    /// Only those that hold a change.
    pub sections: Vec<Section>,
}

/// One of the two.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Version {
    pub campaign: String,
    pub fingerprint: String,
}

/// Changes of one sort.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Section {
    pub title: String,
    pub changes: Vec<Change>,
}

/// What became of one thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    Added,
    Removed,
    Changed,
    /// Done at another point of the sequence.
    Moved,
}

/// One change. Equal changes of many steps are told once, with the paths of all of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Change {
    pub kind: Kind,
    /// What it is about, in words: `rated-flow`, `vg-15: flash point`.
    pub what: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub new: Option<String>,
    /// Steps or readings that have it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub paths: Vec<String>,
}

/// Compares two plans with what is found in them.
pub fn compare(old: (&Plan, &[Diagnostic]), new: (&Plan, &[Diagnostic])) -> Difference {
    let version =
        |plan: &Plan| Version { campaign: plan.campaign.name.clone(), fingerprint: plan.fingerprint.short.clone() };
    let same = old.0.fingerprint == new.0.fingerprint;
    let mut sections = Vec::new();
    let mut add = |title: String, changes: Vec<Change>| {
        if !changes.is_empty() {
            sections.push(Section { title, changes });
        }
    };
    if !same {
        let (before, after) = (meaning(old.0), meaning(new.0));
        for (key, title) in PARTS {
            let (a, b) = (before.get(key), after.get(key));
            add((*title).to_owned(), facts(&fact::facts(a), &fact::facts(b)));
        }
        for (title, changes) in test::compare(old.0, new.0) {
            add(title, changes);
        }
        add("Runs and their order".to_owned(), sequence::runs(old.0, new.0));
        add("Needs, at most".to_owned(), facts(&need::needs(old.0), &need::needs(new.0)));
    }
    add("Findings".to_owned(), findings(old.1, new.1));
    Difference { same, old: version(old.0), new: version(new.0), sections }
}

/// The parts of a plan that are compared value by value, and what they are called.
const PARTS: &[(&str, &str)] = &[
    ("campaign", "Campaign"),
    ("rig", "Rig"),
    ("fluids", "Fluids"),
    ("dusts", "Dusts"),
    ("instruments", "Instruments"),
    ("laboratories", "Laboratories"),
    ("rules", "Rules"),
    ("waivers", "Findings set aside"),
];

/// A plan as the fingerprint sees it.
fn meaning(plan: &Plan) -> Value {
    serde_json::to_value(plan).unwrap_or_default()
}

/// Named values on both sides.
fn facts(old: &IndexMap<String, String>, new: &IndexMap<String, String>) -> Vec<Change> {
    let mut changes = Vec::new();
    for (what, before) in old {
        match new.get(what) {
            Some(after) if after == before => {}
            after => changes.push(Change {
                kind: if after.is_some() { Kind::Changed } else { Kind::Removed },
                what: what.clone(),
                old: Some(before.clone()),
                new: after.cloned(),
                paths: Vec::new(),
            }),
        }
    }
    for (what, after) in new.iter().filter(|(what, _)| !old.contains_key(*what)) {
        let (what, new) = (what.clone(), Some(after.clone()));
        changes.push(Change { kind: Kind::Added, what, old: None, new, paths: Vec::new() });
    }
    changes
}

/// Findings that are gone and findings that are new, by code and message.
fn findings(old: &[Diagnostic], new: &[Diagnostic]) -> Vec<Change> {
    let line = |finding: &Diagnostic| format!("{} {}: {}", finding.severity.word(), finding.code, finding.message);
    let (before, after): (Vec<String>, Vec<String>) = (old.iter().map(line).collect(), new.iter().map(line).collect());
    let only = |these: &[String], those: &[String], kind: Kind| -> Vec<Change> {
        let mut left = those.to_vec();
        let mut changes = Vec::new();
        for what in these {
            match left.iter().position(|other| other == what) {
                Some(at) => {
                    left.swap_remove(at);
                }
                None => changes.push(Change { kind, what: what.clone(), old: None, new: None, paths: Vec::new() }),
            }
        }
        changes
    };
    let mut changes = only(&before, &after, Kind::Removed);
    changes.extend(only(&after, &before, Kind::Added));
    changes
}
