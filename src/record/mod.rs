//! What the bench wrote down: the blank form that a plan asks for, and the filled one read back, cell by cell, with
//! every cell's own text and place. Nothing is ever changed in what was read.

mod column;
pub mod form;
mod instant;
pub mod laboratory;
pub mod read;
mod value;

pub use column::Column;
pub use instant::{Instant, day_number};
pub use value::{DecimalMark, Number, Side, Value, plain};

use serde::Serialize;

use crate::source::{SourceId, Span};

/// One file of recorded data. It usually holds one run, and may hold several.
#[derive(Debug, Clone, Serialize)]
pub struct Record {
    /// The file, as it is shown to people.
    pub name: String,
    /// Its text; of a workbook, a rendering of the sheet with one line a row.
    pub source: SourceId,
    /// The sheet, where the file is a workbook.
    pub sheet: Option<String>,
    /// How its numbers are written.
    pub mark: DecimalMark,
    /// Place of the heading line.
    pub heading: Span,
    /// The rows that are not empty, in the order of the file.
    pub rows: Vec<Row>,
}

impl Record {
    /// The codes of the runs that its rows name, each once, in the order of the file.
    pub fn runs(&self) -> Vec<&str> {
        let mut runs: Vec<&str> = Vec::new();
        for row in &self.rows {
            let run = row.text(Column::Run);
            if !runs.contains(&run) {
                runs.push(run);
            }
        }
        runs
    }

    /// What a row says was read.
    pub fn value(&self, row: &Row) -> Value {
        Value::parse(row.text(Column::Value), self.mark)
    }

    /// A cell as people find it again: `cell H12` of a workbook, `line 12` of a text.
    pub fn whereabouts(&self, cell: &Cell) -> String {
        match &self.sheet {
            Some(_) => format!("cell {}{}", column_letters(cell.column), cell.row),
            None => format!("line {}", cell.row),
        }
    }
}

/// One row of a record.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    /// One for each [`Column`], in its order; empty where the file has no such column.
    cells: Vec<Cell>,
    /// The whole row.
    pub span: Span,
    /// Line of the file or row of the sheet, from 1.
    pub line: u32,
}

impl Row {
    /// A cell.
    pub fn cell(&self, column: Column) -> &Cell {
        static NOTHING: Cell = Cell { text: String::new(), span: Span { start: 0, end: 0 }, row: 0, column: 0 };
        self.cells.get(column.index()).unwrap_or(&NOTHING)
    }

    /// The text of a cell without blanks around it.
    pub fn text(&self, column: Column) -> &str {
        self.cell(column).text.trim()
    }

    /// The time that the row gives, where it can be read.
    pub fn time(&self) -> Option<Instant> {
        Instant::parse(self.text(Column::Time))
    }

    /// Whether the bench has written anything into it.
    pub fn is_filled(&self) -> bool {
        Column::ALL.into_iter().any(|column| column.is_filled_by_hand() && !self.text(column).is_empty())
    }
}

/// One cell: its exact text and where it stands.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Cell {
    /// As written, blanks included.
    pub text: String,
    /// Where, in the record's source.
    pub span: Span,
    /// Line of the file or row of the sheet, from 1.
    pub row: u32,
    /// Column of the file, from 1.
    pub column: u32,
}

/// `A`, …, `Z`, `AA`, … for a column counted from 1.
fn column_letters(column: u32) -> String {
    let mut letters = Vec::new();
    let mut rest = column;
    while rest > 0 {
        letters.push(char::from(b'A' + u8::try_from((rest - 1) % 26).unwrap_or(0)));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}
