//! An answer, the same for every question: the answer itself first, then what it rests on and where it ends.

mod render;

mod say;

pub(super) use render::{human, json, refused_human, refused_json};
pub(super) use say::{
    both_scales, celsius, efficiency, kelvins, nines, percent, share_said, sig, sig_down, sig_up, span, tidy, trimmed,
};

use serde::Serialize;

/// What is printed for a question that has an answer.
#[derive(Debug, Serialize)]
pub(super) struct Answer {
    /// The sub-command.
    pub(super) question: &'static str,
    /// In one sentence, with the units.
    pub(super) answer: String,
    /// To be thought about before anything is done with the answer.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) warnings: Vec<String>,
    pub(super) values: Vec<Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) table: Option<Table>,
    /// The numbers that went in, as they were read.
    pub(super) used: Vec<Used>,
    pub(super) formulas: Vec<Formula>,
    pub(super) limits: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) cautions: Vec<&'static str>,
}

/// One number of an answer; `low` and `high` where it is known to lie between two.
#[derive(Debug, Serialize)]
pub(super) struct Value {
    pub(super) name: String,
    /// As it is printed.
    pub(super) text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) value: Option<f64>,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub(super) unit: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) low: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) high: Option<f64>,
}

#[derive(Debug, Serialize)]
pub(super) struct Table {
    pub(super) columns: Vec<String>,
    pub(super) rows: Vec<Vec<String>>,
}

/// A number that went in, and where it comes from.
#[derive(Debug, Serialize)]
pub(super) struct Used {
    pub(super) name: String,
    pub(super) text: String,
}

/// A formula in words, and who published it.
#[derive(Debug, Serialize)]
pub(super) struct Formula {
    pub(super) words: &'static str,
    pub(super) source: &'static str,
}

/// Why there is no answer.
#[derive(Debug, Serialize)]
pub(super) struct Refusal {
    /// What is wrong, in one sentence.
    pub(super) what: String,
    /// Why it matters at the bench.
    pub(super) why: String,
    /// What to write in its place.
    pub(super) instead: String,
}

impl Answer {
    pub(super) fn new(question: &'static str, answer: impl Into<String>) -> Self {
        Self {
            question,
            answer: answer.into(),
            warnings: Vec::new(),
            values: Vec::new(),
            table: None,
            used: Vec::new(),
            formulas: Vec::new(),
            limits: Vec::new(),
            cautions: Vec::new(),
        }
    }

    pub(super) fn warn(mut self, text: impl Into<String>) -> Self {
        self.warnings.push(text.into());
        self
    }

    pub(super) fn value(mut self, value: Value) -> Self {
        self.values.push(value);
        self
    }

    pub(super) fn values(mut self, values: impl IntoIterator<Item = Value>) -> Self {
        self.values.extend(values);
        self
    }

    pub(super) fn table<const N: usize>(mut self, columns: [&str; N], rows: Vec<[String; N]>) -> Self {
        let rows = rows.into_iter().map(Vec::from).collect();
        self.table = Some(Table { columns: columns.map(str::to_owned).into(), rows });
        self
    }

    pub(super) fn used(mut self, name: impl Into<String>, text: impl Into<String>) -> Self {
        self.used.push(Used { name: name.into(), text: text.into() });
        self
    }

    pub(super) fn formula(mut self, words: &'static str, source: &'static str) -> Self {
        self.formulas.push(Formula { words, source });
        self
    }

    pub(super) fn limit(mut self, text: impl Into<String>) -> Self {
        self.limits.push(text.into());
        self
    }

    pub(super) fn caution(mut self, text: &'static str) -> Self {
        self.cautions.push(text);
        self
    }

    /// Whether every number of it is one. Inputs at the edge of what a float can hold are refused, not printed.
    pub(super) fn is_finite(&self) -> bool {
        let numbers = |value: &Value| [value.value, value.low, value.high].into_iter().flatten().all(f64::is_finite);
        let shown = |text: &str| !text.contains("NaN") && !text.contains("inf");
        let cells = self.table.iter().flat_map(|table| table.rows.iter().flatten());
        self.values.iter().all(|value| numbers(value) && shown(&value.text))
            && cells.into_iter().all(|cell| shown(cell))
    }
}

impl Value {
    /// A number in a unit, printed with so many significant digits.
    pub(super) fn new(name: impl Into<String>, value: f64, unit: &str, digits: usize) -> Self {
        let text = format!("{} {unit}", sig(value, digits)).trim_end().to_owned();
        Self { name: name.into(), text, value: Some(tidy(value)), unit: unit.to_owned(), low: None, high: None }
    }

    /// A number that follows exactly, printed without zeros at the end.
    pub(super) fn exact(name: impl Into<String>, value: f64, unit: &str, digits: usize) -> Self {
        let text = format!("{} {unit}", trimmed(value, digits)).trim_end().to_owned();
        Self { text, ..Self::new(name, value, unit, digits) }
    }

    /// Something that is no single number.
    pub(super) fn said(name: impl Into<String>, text: impl Into<String>) -> Self {
        let (value, low, high) = (None, None, None);
        Self { name: name.into(), text: text.into(), value, unit: String::new(), low, high }
    }

    /// Known to lie between two others of its unit; with what it is called.
    pub(super) fn between(mut self, low: f64, high: f64, called: &str, digits: usize) -> Self {
        self.low = Some(tidy(low));
        self.high = Some(tidy(high));
        self.text += &format!("  ({called} {})", span(low, high, &self.unit, digits));
        self
    }

    /// With something to say behind it.
    pub(super) fn and(mut self, text: &str) -> Self {
        self.text += text;
        self
    }
}

impl Refusal {
    pub(super) fn new(what: impl ToString, why: impl Into<String>, instead: impl Into<String>) -> Self {
        Self { what: what.to_string(), why: why.into(), instead: instead.into() }
    }
}

/// For work with oil that is hot, 45 °C and more.
pub(super) const HOT_OIL: &str = "Hot oil clings and burns, above about 60 °C in a second: long sleeves, oil-proof gloves, closed goggles. Let it circulate before the heater goes on, stay with it, cool below 45 °C and drain before you undo anything.";
/// For dust.
pub(super) const DUST: &str = "Test dust is mostly quartz and fine enough to be breathed deep: enclosure or exhaust, wet it early, never sweep or blow it dry, fitted respirator unless exposure is shown to be low.";
/// For pressure.
pub(super) const PRESSURE: &str = "Never turn up or block a relief valve to reach a pressure. Look for leaks with a card, not a hand. Before a line is opened: pump off and locked, vent open, gauge at zero.";
