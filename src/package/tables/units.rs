//! The units that a package uses, and how each leads to SI.

use indexmap::IndexMap;

use super::super::table::{Table, number, row, text};
use super::super::ucum;
use crate::quantity::Unit;

/// Units by their UCUM code, in the order in which they were met.
#[derive(Default)]
pub(super) struct Units(IndexMap<String, Unit>);

impl Units {
    /// The code of a unit, noted for the table; `None` where UCUM has none.
    pub(super) fn code(&mut self, unit: &Unit) -> Option<String> {
        let code = ucum::code(unit)?;
        self.0.entry(code.clone()).or_insert_with(|| unit.clone());
        Some(code)
    }

    pub(super) fn table(mut self) -> Table {
        self.0.sort_keys();
        let mut table = Table::new(
            "units",
            "Units",
            "Every unit that a cell of this package names, by its code in UCUM (the Unified Code for Units of Measure), and how it leads to coherent SI: SI = (number + offset) × factor. What stands in braces is an annotation and changes no value.",
            &["unit"],
            vec![
                text("unit", "Unit", "UCUM code, case sensitive").required(),
                text("written", "As written", "How plan and worksheets write it").required(),
                number("factor", "", "Factor", "One of it in the SI unit").required(),
                number(
                    "offset",
                    "",
                    "Offset",
                    "Added before the factor to a point on a scale, in the unit itself; 0 but for temperatures",
                )
                .required(),
                text("si_unit", "SI unit", "UCUM code of the coherent SI unit").required(),
            ],
        );
        for (code, unit) in &self.0 {
            let written = if unit.text.is_empty() { "1" } else { &unit.text };
            let (factor, offset) = (unit.factor.to_f64(), unit.offset.to_f64());
            table.rows.push(row![code, written, factor, offset, ucum::coherent(unit)]);
        }
        table
    }
}
