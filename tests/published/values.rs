//! The published values themselves: rows of a JSON file with their inputs, source and standing, checked by the prefix of
//! their names and gathered into one [`Topic`] per source.

use super::table::{Tol, Topic};
use serde_json::Value;

/// One published value, or a few that belong together.
pub(crate) struct Row(Value);

impl Row {
    pub(crate) fn id(&self) -> &str {
        self.0["id"].as_str().unwrap()
    }

    /// An input by its name.
    pub(crate) fn input(&self, name: &str) -> f64 {
        self.0["inputs"][name].as_f64().unwrap_or_else(|| panic!("{}: no input {name}", self.id()))
    }

    /// An input that is a list.
    pub(crate) fn inputs(&self, name: &str) -> Vec<f64> {
        numbers(&self.0["inputs"][name])
    }

    pub(crate) fn text(&self, name: &str) -> &str {
        self.0["inputs"][name].as_str().unwrap_or_else(|| panic!("{}: no input {name}", self.id()))
    }

    /// One expected number by its name, where not all of a row are ours to compute.
    pub(crate) fn expected(&self, name: &str) -> Option<f64> {
        self.0["expected"][name].as_f64()
    }

    fn tolerance(&self) -> Tol {
        let value = || self.0["tolerance"]["value"].as_f64().unwrap();
        match self.0["tolerance"]["type"].as_str().unwrap() {
            "rel" => Tol::Rel(value()),
            "abs" => Tol::Abs(value()),
            // A decimal fraction changes its last bit on the way through SI units.
            _ => Tol::Rel(1e-12),
        }
    }

    /// The source, with what is known about how the number reached us.
    fn source(&self) -> String {
        let source = self.0["source"].as_str().unwrap();
        match self.0["status_class"].as_str().unwrap() {
            "FOUND" => format!("{source}; printed value"),
            "FORMULA_FOUND_COMPUTED" => format!("{source}; published formula, computed in Python"),
            "COMPUTED" => format!("{source}; computed in Python from the definition or with a library"),
            "MEMORY_CONFIRMED" => format!("{source}; from memory, numerically confirmed"),
            _ => format!("*from memory*: {source}"),
        }
    }
}

/// The checks on one topic.
pub(crate) struct Values {
    topic: &'static str,
    rows: Vec<Row>,
    by_source: Vec<(String, Topic)>,
}

impl Values {
    pub(crate) fn physics(topic: &'static str) -> Self {
        let rows: Vec<Value> = serde_json::from_str(include_str!("values/physics.json")).unwrap();
        Self { topic, rows: rows.into_iter().map(Row).collect(), by_source: Vec::new() }
    }

    /// Checks the rows whose names start so; `compute` answers in the order of the row's expected numbers.
    pub(crate) fn check(&mut self, prefix: &str, compute: impl Fn(&Row) -> Vec<f64>) {
        self.check_part(prefix, |_| true, compute);
    }

    /// As [`Self::check`], for those of a row's expected numbers whose names pass.
    pub(crate) fn check_part(&mut self, prefix: &str, ours: fn(&str) -> bool, compute: impl Fn(&Row) -> Vec<f64>) {
        let mut found = 0;
        for row in self.rows.iter().filter(|row| row.id().starts_with(prefix)) {
            found += 1;
            let want = match &row.0["expected"] {
                Value::Object(named) => {
                    named.iter().filter(|(name, _)| ours(name)).flat_map(|(_, v)| numbers(v)).collect()
                }
                other => numbers(other),
            };
            let got = compute(row);
            assert_eq!(got.len(), want.len(), "{}: as many answers as published values", row.id());
            let topic = topic(&mut self.by_source, self.topic, row.source());
            for (got, want) in got.into_iter().zip(want) {
                topic.close(row.id(), got, want, row.tolerance());
            }
        }
        assert!(found > 0, "no published value is called {prefix}…");
    }

    /// Checks a published statement that is not a number.
    pub(crate) fn hold(&mut self, id: &str, holds: impl Fn(&Row) -> bool) {
        let row = self.rows.iter().find(|row| row.id() == id).unwrap_or_else(|| panic!("no published value {id}"));
        topic(&mut self.by_source, self.topic, row.source()).same(id, holds(row), true);
    }

    pub(crate) fn finish(self) {
        for (_, topic) in self.by_source {
            topic.finish();
        }
    }
}

fn topic<'a>(by_source: &'a mut Vec<(String, Topic)>, name: &'static str, source: String) -> &'a mut Topic {
    let at = by_source.iter().position(|(known, _)| *known == source).unwrap_or_else(|| {
        by_source.push((source.clone(), Topic::new(name, source)));
        by_source.len() - 1
    });
    &mut by_source[at].1
}

fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(items) => items.iter().flat_map(numbers).collect(),
        Value::Null => Vec::new(),
        number => vec![number.as_f64().expect("a published number")],
    }
}
