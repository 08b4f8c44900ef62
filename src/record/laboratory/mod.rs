//! A laboratory's file of results, read by the layout that the plan says: one result a bottle, every value with its own cell.
//! The imported bytes are never changed; what the plan doesn't say is guessed only to be shown.

mod date;
mod file;
mod guess;

pub use file::{file, layouts};
pub use guess::{Guess, guess};

use indexmap::IndexMap;

use super::{Cell, DecimalMark, Instant, Value, column_letters};
use crate::plan::{Counts, Holds};
use crate::source::{SourceId, Span};

/// One file of results.
#[derive(Debug, Clone)]
pub struct LabFile {
    /// As it is shown to people.
    pub name: String,
    pub source: SourceId,
    /// The sheet, where it is a workbook.
    pub sheet: Option<String>,
    /// The laboratory whose layout fits.
    pub laboratory: String,
    pub mark: DecimalMark,
    /// How counts are given: as the layout says, else as the laboratory's test says.
    pub counts: Counts,
    /// The pattern of its dates.
    pub dates: Option<String>,
    /// The heading of each mapped column, with what it holds and its unit row's cell.
    pub headings: Vec<Heading>,
    /// In the order of the file.
    pub results: Vec<LabResult>,
}

/// The heading of a mapped column.
#[derive(Debug, Clone)]
pub struct Heading {
    pub cell: Cell,
    pub holds: Holds,
    /// The cell below it, where the layout has a row of units.
    pub unit: Option<Cell>,
    /// What a number of the column is multiplied by to stand in the usual unit.
    pub factor: f64,
}

/// What a file says of one bottle.
#[derive(Debug, Clone)]
pub struct LabResult {
    pub label: Cell,
    /// By rising size.
    pub counts: Vec<LabCount>,
    /// Every other mapped cell, by what the language calls it.
    pub others: IndexMap<&'static str, Cell>,
    pub span: Span,
    /// Line of the file or row of the sheet, from 1.
    pub line: u32,
}

/// A count at a size, as written.
#[derive(Debug, Clone)]
pub struct LabCount {
    /// m.
    pub size: f64,
    /// Such as `4 µm(c)`.
    pub words: String,
    pub cell: Cell,
    pub value: Value,
}

impl LabResult {
    /// The label without blanks around it.
    pub fn label(&self) -> &str {
        self.label.text.trim()
    }

    /// The text of another column; `None` where it is empty or not mapped.
    pub fn text(&self, holds: &Holds) -> Option<&str> {
        self.cell(holds).map(|cell| cell.text.trim()).filter(|text| !text.is_empty())
    }

    /// Whether another row of the label has the same in every cell that was read.
    pub fn says_the_same(&self, other: &LabResult) -> bool {
        let counts = |of: &LabResult| -> Vec<String> {
            of.counts.iter().map(|count| count.cell.text.trim().to_owned()).collect()
        };
        let others =
            |of: &LabResult| -> Vec<String> { of.others.values().map(|cell| cell.text.trim().to_owned()).collect() };
        counts(self) == counts(other) && others(self) == others(other)
    }

    pub fn cell(&self, holds: &Holds) -> Option<&Cell> {
        self.others.get(holds.words().as_str())
    }
}

impl LabFile {
    /// A plain number of another column, in the column's usual unit (see [`Holds`]).
    pub fn number(&self, result: &LabResult, holds: &Holds) -> Option<f64> {
        let text = result.text(holds)?;
        // A factor is often written as a ratio.
        let text = if *holds == Holds::Dilution {
            text.trim_start_matches("1:").trim_start_matches("1 to ").trim_start_matches(['x', '×']).trim()
        } else {
            text
        };
        let factor = self.headings.iter().find(|heading| heading.holds == *holds).map_or(1.0, |heading| heading.factor);
        Value::parse(text, self.mark).number().map(|number| number.value * factor)
    }

    /// A date of another column.
    pub fn date(&self, result: &LabResult, holds: &Holds) -> Option<Instant> {
        date::parse(result.text(holds)?, self.dates.as_deref())
    }

    /// A cell as people find it again.
    pub fn whereabouts(&self, cell: &Cell) -> String {
        match &self.sheet {
            Some(_) => format!("cell {}{}", column_letters(cell.column), cell.row),
            None => format!("line {}", cell.row),
        }
    }
}
