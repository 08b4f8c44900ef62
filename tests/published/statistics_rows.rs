//! The rows of `check-values-statistics.json`, and the bookkeeping that every one of them is checked.

use loopleaf::{
    quantity::si::{Length, Volume},
    trade::confidence::Confidence,
};
use serde_json::Value;

use super::table::Tol;

pub(crate) struct Row(Value);

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

    /// A recollection, not a value seen in print.
    pub(crate) fn from_memory(&self) -> bool {
        self.0["status_class"].as_str().unwrap() == "MEMORY"
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
