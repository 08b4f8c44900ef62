//! A table of cells to a record: which column is which, and what does not fit.

use super::ForeignRow;
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::record::{Cell, Column, DecimalMark, Record, Row};
use crate::source::{SourceId, Span};

/// What both readers make of a file.
pub(super) struct Table<'a> {
    pub(super) name: &'a str,
    pub(super) source: SourceId,
    pub(super) sheet: Option<String>,
    pub(super) mark: DecimalMark,
    pub(super) rows: Vec<TableRow>,
}

/// One line of a table.
pub(super) struct TableRow {
    pub(super) cells: Vec<Cell>,
    pub(super) span: Span,
    pub(super) line: u32,
}

impl TableRow {
    /// How many cells are headings of ours.
    pub(super) fn headings(&self) -> usize {
        self.cells.iter().filter(|cell| Column::from_name(&cell.text).is_some()).count()
    }

    /// The row as it is, unless nothing stands in it.
    pub(super) fn plain(self) -> Option<ForeignRow> {
        (!self.is_empty()).then_some(ForeignRow { cells: self.cells, span: self.span, line: self.line })
    }

    fn is_empty(&self) -> bool {
        self.cells.iter().all(|cell| cell.text.trim().is_empty())
    }
}

impl Table<'_> {
    /// The record. `separator` is the one in use, where the file is text.
    pub(super) fn record(mut self, separator: Option<u8>, found: &mut Vec<Diagnostic>) -> Option<Record> {
        self.rows.retain(|row| !row.is_empty());
        let Some(heading) = self.rows.first().filter(|row| row.headings() >= 3) else {
            let span = self.rows.first().map_or(Span::default(), |row| row.span);
            found.push(self.no_heading(span, separator));
            return None;
        };
        let columns = self.columns(heading, found);
        let (heading_span, width) = (heading.span, heading.cells.len());
        let heading_texts: Vec<String> = heading.cells.iter().map(|cell| cell.text.clone()).collect();
        let mut rows = Vec::new();
        for row in self.rows.into_iter().skip(1) {
            if row.cells.iter().map(|cell| &cell.text).eq(heading_texts.iter()) {
                continue;
            }
            if self.sheet.is_none() && row.cells.len() != width {
                let message = format!(
                    "line {} of `{}` has {} cells, the heading has {width}",
                    row.line,
                    self.name,
                    row.cells.len()
                );
                let help = "A decimal comma or a separator inside a note splits a cell: put the cell in quotation marks, or declare `separator: ;` and `decimal: ,`.";
                found.push(
                    Diagnostic::new(Code::ShiftedRow, message)
                        .at(self.source, row.span, "this row")
                        .also(self.source, heading_span, "the heading")
                        .help(help),
                );
            }
            let mut cells =
                vec![Cell { text: String::new(), span: row.span, row: row.line, column: 0 }; Column::ALL.len()];
            for (cell, column) in row.cells.into_iter().zip(&columns) {
                if let Some(slot) = column.and_then(|column| cells.get_mut(column.index())) {
                    *slot = cell;
                }
            }
            rows.push(Row { cells, span: row.span, line: row.line });
        }
        Some(Record {
            name: self.name.to_owned(),
            source: self.source,
            sheet: self.sheet,
            mark: self.mark,
            heading: heading_span,
            rows,
        })
    }

    /// Which column each place of the heading is.
    fn columns(&self, heading: &TableRow, found: &mut Vec<Diagnostic>) -> Vec<Option<Column>> {
        let mut columns: Vec<Option<Column>> = Vec::new();
        for cell in &heading.cells {
            let column = Column::from_name(&cell.text);
            let twice = column.is_some() && columns.contains(&column);
            columns.push(column.filter(|_| !twice));
            let shown: String = cell.text.trim().chars().take(40).collect();
            if twice {
                let message = format!("the column `{shown}` of `{}` stands twice; the first is read", self.name);
                found.push(
                    Diagnostic::new(Code::UnknownColumn, message)
                        .at(self.source, cell.span, "the second")
                        .severity(Severity::Major),
                );
            } else if column.is_none() && !shown.is_empty() {
                let nearest = Column::ALL
                    .into_iter()
                    .find(|known| strsim::damerau_levenshtein(known.name(), &shown.to_ascii_lowercase()) <= 2);
                let help = match nearest {
                    Some(known) => format!("If it is the column `{}`, write its heading so.", known.name()),
                    None => "What stands in it is kept and not looked at.".to_owned(),
                };
                found.push(
                    Diagnostic::new(
                        Code::UnknownColumn,
                        format!("the column `{shown}` of `{}` is not known", self.name),
                    )
                    .at(self.source, cell.span, "this heading")
                    .help(help),
                );
            }
        }
        for column in Column::ALL {
            if column.is_required() && !columns.contains(&Some(column)) {
                let message = format!("`{}` has no column `{}`", self.name, column.name());
                found.push(
                    Diagnostic::new(Code::MissingColumn, message)
                        .at(self.source, heading.span, "the heading")
                        .help("Take a fresh form: its headings are the ones that are looked for."),
                );
            }
        }
        columns
    }

    fn no_heading(&self, span: Span, separator: Option<u8>) -> Diagnostic {
        let first = self.rows.first();
        let joined: String = first
            .map_or(String::new(), |row| row.cells.iter().map(|cell| cell.text.as_str()).collect::<Vec<_>>().join(","));
        let with = |other: char| {
            joined.split(other).filter(|cell| Column::from_name(cell.trim_matches('"')).is_some()).count() >= 3
        };
        let help = if first.is_none() {
            "The file holds no row at all. Take a fresh form."
        } else if separator != Some(b';') && with(';') {
            "Its cells seem to be separated by semicolons. If they are, write `separator: ;` as the first line, and `decimal: ,` as the second if its numbers have decimal commas."
        } else if separator != Some(b'\t') && with('\t') {
            "Its cells seem to be separated by tabs. If they are, write `separator: tab` as the first line."
        } else if separator != Some(b',') && with(',') {
            "Its cells seem to be separated by commas. Take away the line that declares another separator."
        } else {
            "The first row must hold the names of the columns: run, specimen, fingerprint, step, reading, value, unit, instrument, time, by. Take a fresh form."
        };
        Diagnostic::new(Code::CannotRead, format!("`{}` has no heading line of a record form", self.name))
            .at(self.source, span, "the first row")
            .help(help)
    }
}
