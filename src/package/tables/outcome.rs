//! Results with their doubt, in the same columns wherever one stands, and the budget of each.

use super::super::table::{Cell, Field, Table, link, number, row, text, whole};
use crate::results::{Estimate, Outcome};
use crate::trade::uncertainty::Shape;

const OUTCOMES: &[&str] = &["known", "at-least", "at-most", "unsaid"];

/// The columns that say a result. `unit` is the UCUM code of its SI unit, or empty where another column says it.
pub(super) fn fields(unit: &'static str) -> Vec<Field> {
    vec![
        text("outcome", "Outcome", "known, or only a bound (at-least, at-most), or unsaid").required().one_of(OUTCOMES),
        number("value", unit, "Value", "SI; empty where nothing is known"),
        number(
            "low",
            unit,
            "Low",
            "Lower end of the 95 % interval, or the bound that it is at least (one-sided, 95 %)",
        ),
        number(
            "high",
            unit,
            "High",
            "Upper end of the 95 % interval, or the bound that it is at most (one-sided, 95 %)",
        ),
        text("why", "Why", "Why there is only a bound, or nothing"),
        text("estimate", "Estimate", "Key into the tables estimates and budgets").required(),
    ]
}

/// Every result that is told, for the tables of estimates and of their budgets.
#[derive(Default)]
pub(super) struct Estimates {
    estimates: Vec<Vec<Cell>>,
    budgets: Vec<Vec<Cell>>,
}

impl Estimates {
    /// The cells for [`fields`]; `key` is unique, `unit` the UCUM code of the SI unit.
    pub(super) fn cells(&mut self, key: String, unit: &str, outcome: &Outcome) -> Vec<Cell> {
        let (word, value, low, high, why) = match outcome {
            Outcome::Known(known) => {
                self.budget(&key, known);
                ("known", Some(known.value), Some(known.interval.low), Some(known.interval.high), "")
            }
            Outcome::AtLeast { bound, why } => ("at-least", None, Some(*bound), None, why.as_str()),
            Outcome::AtMost { bound, why } => ("at-most", None, None, Some(*bound), why.as_str()),
            Outcome::Unsaid { why } => ("unsaid", None, None, None, why.as_str()),
        };
        let known = outcome.known();
        let (standard, factor) = (known.map(|known| known.standard), known.map(|known| known.factor));
        let cells = row![word, value, low, high, why, &key];
        self.estimates.push(row![&key, word, value, standard, low, high, factor, why, unit]);
        cells
    }

    fn budget(&mut self, key: &str, estimate: &Estimate) {
        for (place, source) in estimate.sources.iter().enumerate() {
            let (law, freedom) = match source.shape {
                Shape::Normal => ("normal", None),
                Shape::Student { freedom } => ("student", Some(freedom)),
                Shape::Rectangular => ("rectangular", None),
            };
            self.budgets.push(row![
                key,
                place + 1,
                &source.name,
                source.contribution,
                law,
                freedom,
                source.shared.as_deref()
            ]);
        }
    }

    pub(super) fn tables(self) -> Vec<Table> {
        let mut estimates = Table::new(
            "estimates",
            "Results with their doubt",
            "Every result of the other tables once more, all in one form.",
            &["estimate"],
            vec![
                text("estimate", "Estimate", "Key, made of where the result stands").required(),
                text("outcome", "Outcome", "known, or only a bound (at-least, at-most), or unsaid")
                    .required()
                    .one_of(OUTCOMES),
                number("value", "", "Value", "SI, in the unit of its row"),
                number(
                    "standard",
                    "",
                    "Standard uncertainty",
                    "Combined; root of the sum of the squared contributions unless the interval comes from counts",
                )
                .at_least(0.0),
                number("low", "", "Low", "Lower end of the 95 % interval, or a lower bound at 95 %, one-sided"),
                number("high", "", "High", "Upper end of the 95 % interval, or an upper bound at 95 %, one-sided"),
                number(
                    "factor",
                    "1",
                    "Coverage factor",
                    "Half of the interval over the standard uncertainty; of a lopsided interval the wider side",
                )
                .at_least(0.0),
                text("why", "Why", "Why there is only a bound, or nothing"),
                text("unit", "Unit", "UCUM code of the SI unit"),
            ],
        );
        estimates.rows = self.estimates;
        let mut budgets = Table::new(
            "budgets",
            "Where the doubt comes from",
            "The sources of doubt of each known result. The interval holds 95 % of the sum of these errors, each with its law: normal and t-distributed ones are taken together by Welch and Satterthwaite, rectangular ones convolved.",
            &["estimate", "source"],
            vec![
                text("estimate", "Estimate", "The result").required(),
                whole("source", "Number", "Place in the budget, from 1").required().at_least(1.0),
                text("name", "Source", "In words").required(),
                number("contribution", "", "Contribution", "What it does to the result when it errs by one standard uncertainty upwards; signed; in the unit of the result").required(),
                text("law", "Law", "normal; student: scatter known from few readings; rectangular: anywhere within ± √3 contributions")
                    .required()
                    .one_of(&["normal", "student", "rectangular"]),
                number("freedom", "1", "Degrees of freedom", "Of a student source").at_least(0.0),
                text("shared", "Shared", "Where the same error stands in other results too: by what it is known. It cancels in a difference"),
            ],
        )
        .links(&[link(&["estimate"], "estimates", &["estimate"])]);
        budgets.rows = self.budgets;
        vec![estimates, budgets]
    }
}
