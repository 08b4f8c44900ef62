//! A tidy table: a schema of its columns and rows of plain cells, and its text.

use csv::{QuoteStyle, Terminator, WriterBuilder};

/// What a column holds, by the names of the Table Schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    Text,
    Whole,
    Number,
    Truth,
    Date,
    /// Date and time on the bench's own clock; no zone.
    Moment,
}

impl Sort {
    pub(super) fn word(self) -> &'static str {
        match self {
            Sort::Text => "string",
            Sort::Whole => "integer",
            Sort::Number => "number",
            Sort::Truth => "boolean",
            Sort::Date => "date",
            Sort::Moment => "datetime",
        }
    }
}

/// A column.
#[derive(Debug, Clone)]
pub(super) struct Field {
    pub(super) name: &'static str,
    pub(super) title: &'static str,
    pub(super) description: &'static str,
    pub(super) sort: Sort,
    /// UCUM code, where every cell has the same unit.
    pub(super) unit: Option<&'static str>,
    pub(super) required: bool,
    pub(super) least: Option<f64>,
    pub(super) most: Option<f64>,
    pub(super) one_of: &'static [&'static str],
}

const fn field(name: &'static str, sort: Sort, title: &'static str, description: &'static str) -> Field {
    Field { name, title, description, sort, unit: None, required: false, least: None, most: None, one_of: &[] }
}

pub(super) const fn text(name: &'static str, title: &'static str, description: &'static str) -> Field {
    field(name, Sort::Text, title, description)
}

pub(super) const fn whole(name: &'static str, title: &'static str, description: &'static str) -> Field {
    field(name, Sort::Whole, title, description)
}

/// A number; the unit by its UCUM code, or empty where another column says it.
pub(super) fn number(name: &'static str, unit: &'static str, title: &'static str, description: &'static str) -> Field {
    Field { unit: (!unit.is_empty()).then_some(unit), ..field(name, Sort::Number, title, description) }
}

pub(super) const fn truth(name: &'static str, title: &'static str, description: &'static str) -> Field {
    Field { required: true, ..field(name, Sort::Truth, title, description) }
}

pub(super) const fn date(name: &'static str, title: &'static str, description: &'static str) -> Field {
    field(name, Sort::Date, title, description)
}

pub(super) const fn moment(name: &'static str, title: &'static str, description: &'static str) -> Field {
    field(name, Sort::Moment, title, description)
}

impl Field {
    pub(super) fn required(self) -> Field {
        Field { required: true, ..self }
    }

    /// A cell may be empty.
    pub(super) fn or_empty(self) -> Field {
        Field { required: false, ..self }
    }

    pub(super) fn at_least(self, least: f64) -> Field {
        Field { least: Some(least), ..self }
    }

    pub(super) fn at_most(self, most: f64) -> Field {
        Field { most: Some(most), ..self }
    }

    pub(super) fn one_of(self, words: &'static [&'static str]) -> Field {
        Field { one_of: words, ..self }
    }
}

/// What a cell says.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    Empty,
    Text(String),
    Whole(i64),
    Number(f64),
    Truth(bool),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        if text.is_empty() { Cell::Empty } else { Cell::Text(text.to_owned()) }
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Cell {
        Cell::from(text.as_str())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        if text.is_empty() { Cell::Empty } else { Cell::Text(text) }
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        if number.is_finite() { Cell::Number(number) } else { Cell::Empty }
    }
}

impl From<bool> for Cell {
    fn from(truth: bool) -> Cell {
        Cell::Truth(truth)
    }
}

impl From<u32> for Cell {
    fn from(whole: u32) -> Cell {
        Cell::Whole(i64::from(whole))
    }
}

impl From<u64> for Cell {
    fn from(whole: u64) -> Cell {
        i64::try_from(whole).map_or(Cell::Empty, Cell::Whole)
    }
}

impl From<usize> for Cell {
    fn from(whole: usize) -> Cell {
        i64::try_from(whole).map_or(Cell::Empty, Cell::Whole)
    }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(cell: Option<T>) -> Cell {
        cell.map_or(Cell::Empty, Into::into)
    }
}

impl Cell {
    /// As it stands in the CSV: numbers with the fewest digits that give the same number back.
    pub(super) fn text(&self) -> String {
        match self {
            Cell::Empty => String::new(),
            Cell::Text(text) => text.clone(),
            Cell::Whole(whole) => whole.to_string(),
            Cell::Number(number) => serde_json::to_string(number).unwrap_or_default(),
            Cell::Truth(truth) => truth.to_string(),
        }
    }
}

/// Cells of a row from whatever becomes one.
macro_rules! row {
    ($($cell:expr),* $(,)?) => { vec![$($crate::package::table::Cell::from($cell)),*] };
}
pub(super) use row;

/// These columns name a row of another table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    pub(super) fields: &'static [&'static str],
    pub(super) table: &'static str,
    pub(super) to: &'static [&'static str],
}

pub(super) const fn link(fields: &'static [&'static str], table: &'static str, to: &'static [&'static str]) -> Link {
    Link { fields, table, to }
}

/// One table of the package.
#[derive(Debug, Clone)]
pub(super) struct Table {
    pub(super) name: &'static str,
    pub(super) title: &'static str,
    pub(super) description: &'static str,
    pub(super) fields: Vec<Field>,
    pub(super) key: &'static [&'static str],
    pub(super) links: Vec<Link>,
    pub(super) rows: Vec<Vec<Cell>>,
}

impl Table {
    pub(super) fn new(
        name: &'static str,
        title: &'static str,
        description: &'static str,
        key: &'static [&'static str],
        fields: Vec<Field>,
    ) -> Table {
        Table { name, title, description, fields, key, links: Vec::new(), rows: Vec::new() }
    }

    pub(super) fn links(mut self, links: &[Link]) -> Table {
        self.links = links.to_vec();
        self
    }

    /// UTF-8, comma, `\r\n` as in RFC 4180, a heading line.
    pub(super) fn csv(&self) -> Vec<u8> {
        let mut writer = WriterBuilder::new()
            .quote_style(QuoteStyle::Necessary)
            .terminator(Terminator::CRLF)
            .from_writer(Vec::new());
        // Writing into memory cannot fail; were a row of another length, the file would be empty and its checks fail.
        let heading = writer.write_record(self.fields.iter().map(|field| field.name));
        let whole =
            heading.is_ok() && self.rows.iter().all(|row| writer.write_record(row.iter().map(Cell::text)).is_ok());
        if whole { writer.into_inner().unwrap_or_default() } else { Vec::new() }
    }
}
