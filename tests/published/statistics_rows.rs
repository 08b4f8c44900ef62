//! The rows of `check-values-statistics.json`, and the bookkeeping that every one of them is checked.

use loopleaf::{
    quantity::si::{Length, Volume},
    trade::confidence::Confidence,
};
use serde_json::Value;

use super::table::{Tol, Topic};

pub(crate) struct Row(Value);

/// One source's values, told apart by how much each row is worth.
pub(crate) struct Source {
    topic: &'static str,
    name: &'static str,
    topics: Vec<(&'static str, Topic)>,
}

impl Source {
    pub(crate) fn new(topic: &'static str, name: &'static str) -> Self {
        Self { topic, name, topics: Vec::new() }
    }

    pub(crate) fn of(&mut self, row: &Row) -> &mut Topic {
        let status = row.status();
        let place = self.topics.iter().position(|(taken, _)| *taken == status).unwrap_or_else(|| {
            self.topics.push((status, Topic::new(self.topic, format!("{}; {status}", self.name))));
            self.topics.len() - 1
        });
        &mut self.topics[place].1
    }

    pub(crate) fn finish(self) {
        assert!(!self.topics.is_empty(), "{} checks nothing", self.name);
        self.topics.into_iter().for_each(|(_, topic)| topic.finish());
    }
}

/// All rows of a topic, by its number.
pub(crate) fn topic(number: &str) -> Vec<Row> {
    let text = include_str!("check-values-statistics.json");
    let rows: Vec<Value> = serde_json::from_str(text).unwrap();
    let of_topic = |row: &Value| row["topic"].as_str().unwrap().split(' ').next() == Some(number);
    rows.into_iter().filter(of_topic).map(Row).collect()
}

impl Row {
    pub(crate) fn id(&self) -> &str {
        self.0["id"].as_str().unwrap()
    }

    /// What the row says of itself, in the words that the table of published values counts by.
    fn status(&self) -> &'static str {
        match self.0["status_class"].as_str().unwrap() {
            "FOUND" => "printed value",
            "FORMULA_FOUND_COMPUTED" => "published formula, computed in Python",
            "COMPUTED" => "computed in Python from the definition or with a library",
            "MEMORY_CONFIRMED" => "from memory, numerically confirmed",
            "MEMORY" => "*from memory*",
            other => panic!("unknown status {other}"),
        }
    }

    pub(crate) fn input(&self, key: &str) -> f64 {
        number(&self.0["inputs"][key])
    }

    pub(crate) fn inputs(&self, key: &str) -> Vec<f64> {
        numbers(&self.0["inputs"][key])
    }

    pub(crate) fn raw_input(&self, key: &str) -> &Value {
        &self.0["inputs"][key]
    }

    pub(crate) fn expected(&self) -> &Value {
        &self.0["expected"]
    }

    pub(crate) fn wanted(&self, key: &str) -> f64 {
        number(&self.0["expected"][key])
    }

    pub(crate) fn all_wanted(&self, key: &str) -> Vec<f64> {
        numbers(&self.0["expected"][key])
    }

    pub(crate) fn tol(&self) -> Tol {
        let value = || number(&self.0["tolerance"]["value"]);
        match self.0["tolerance"]["type"].as_str().unwrap() {
            "exact" => Tol::Exact,
            "rel" => Tol::Rel(value()),
            "abs" => Tol::Abs(value()),
            other => panic!("unknown tolerance {other}"),
        }
    }
}

pub(crate) fn number(value: &Value) -> f64 {
    match value {
        Value::String(text) => text.parse().unwrap(),
        other => other.as_f64().unwrap_or_else(|| panic!("no number: {other}")),
    }
}

pub(crate) fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap_or_else(|| panic!("no list: {value}")).iter().map(number).collect()
}

pub(crate) fn confidence(probability: f64) -> Confidence {
    Confidence::new(probability).unwrap()
}

pub(crate) fn millilitres(value: f64) -> Volume {
    Volume::new::<uom::si::volume::cubic_meter>(value * 1e-6)
}

pub(crate) fn micrometres(value: f64) -> Length {
    Length::new::<uom::si::length::meter>(value * 1e-6)
}
