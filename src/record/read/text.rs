//! CSV text to a table of cells with their places.

use csv::{ByteRecord, ReaderBuilder};

use super::table::{Table, TableRow};
use super::{Foreign, LONGEST_CELL, MOST_COLUMNS, MOST_ROWS};
use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::record::{Cell, DecimalMark, Record};
use crate::source::{SourceId, Sources, Span};

/// Reads the text of a record.
pub(super) fn read(name: &str, text: &str, sources: &mut Sources) -> Checked<Option<Record>> {
    let source = sources.add(name, text);
    let mut found = Vec::new();
    let declared = declarations(text, source, &mut found);
    let Some(rows) = rows(name, text, &declared, source, &mut found) else {
        return Checked::new(None, found);
    };
    let table = Table { name, source, sheet: None, mark: declared.mark, rows };
    let record = table.record(Some(declared.separator), &mut found);
    Checked::new(record, found)
}

/// Reads the rows of somebody else's table.
pub(super) fn foreign(name: &str, text: &str, separator: u8, sources: &mut Sources) -> Checked<Option<Foreign>> {
    let source = sources.add(name, text);
    let mut found = Vec::new();
    let declared = Declared { separator, mark: DecimalMark::Point, body: 0, line: 1 };
    let rows = rows(name, text, &declared, source, &mut found);
    let table =
        rows.map(|rows| Foreign { source, sheet: None, rows: rows.into_iter().filter_map(TableRow::plain).collect() });
    Checked::new(table, found)
}

/// What the lines before the heading say.
struct Declared {
    separator: u8,
    mark: DecimalMark,
    /// First byte of the heading line, and its number.
    body: usize,
    line: u32,
}

fn declarations(text: &str, source: SourceId, found: &mut Vec<Diagnostic>) -> Declared {
    let mut declared = Declared { separator: b',', mark: DecimalMark::Point, body: 0, line: 1 };
    while let Some(rest) = text.get(declared.body..) {
        let whole = rest.split_inclusive('\n').next().unwrap_or("");
        let line = whole.trim_end_matches(['\n', '\r']);
        let bare = line.trim_start_matches(['"', ' ', '\t']);
        let span = Span::new(declared.body, declared.body + line.len());
        let mut refuse = |what: &str, known: &str| {
            let message = format!("the {what} is declared as something unknown: `{}`", shorten(line));
            found.push(Diagnostic::new(Code::BadDeclaration, message).at(source, span, "declared here").help(known));
        };
        if let Some(value) = bare.strip_prefix("separator:") {
            match value.trim_start().chars().next() {
                Some(',') => declared.separator = b',',
                Some(';') => declared.separator = b';',
                Some('t') if value.trim_start().starts_with("tab") => declared.separator = b'\t',
                _ => refuse("separator", "Write `separator: ,` or `separator: ;` or `separator: tab`."),
            }
        } else if let Some(value) = bare.strip_prefix("decimal:") {
            match value.trim_start().chars().next() {
                Some('.') => declared.mark = DecimalMark::Point,
                Some(',') => declared.mark = DecimalMark::Comma,
                _ => refuse("decimal mark", "Write `decimal: .` or `decimal: ,`."),
            }
        } else if !(bare.starts_with('#') || (bare.is_empty() && !whole.is_empty())) {
            break;
        }
        declared.body += whole.len();
        declared.line += 1;
    }
    declared
}

/// The rows after the declarations, or `None` when the text is no table.
fn rows(
    name: &str,
    text: &str,
    declared: &Declared,
    source: SourceId,
    found: &mut Vec<Diagnostic>,
) -> Option<Vec<TableRow>> {
    let body = text.get(declared.body..).unwrap_or("");
    let mut reader = ReaderBuilder::new()
        .delimiter(declared.separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(body.as_bytes());
    let mut rows = Vec::new();
    let mut record = ByteRecord::new();
    let (mut line, mut counted) = (declared.line, 0_usize);
    let mut give_up = |span: Span, message: String, help: &str| {
        found.push(Diagnostic::new(Code::CannotRead, message).at(source, span, "here").help(help));
    };
    loop {
        match reader.read_byte_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                give_up(
                    Span::at(declared.body + counted),
                    format!("`{name}` is not a table: {error}"),
                    "Save it again as CSV.",
                );
                return None;
            }
        }
        let first = record.position().map_or(0, |position| usize::try_from(position.byte()).unwrap_or(usize::MAX));
        // The reader counts blank lines before a row as part of it.
        let raw_all = body.get(first..).unwrap_or("");
        let start = first + (raw_all.len() - raw_all.trim_start_matches(['\n', '\r']).len());
        let end = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX).min(body.len());
        let raw = body.get(start..end).unwrap_or("");
        line += newlines(body.get(counted..start).unwrap_or(""));
        counted = start;
        let offset = declared.body + start;
        let whole = Span::new(offset, offset + raw.trim_end_matches(['\n', '\r']).len());
        let located = locate(raw, declared.separator);
        if let Some(quote) = located.open {
            let place = Span::new(offset + quote, offset + quote + 1);
            give_up(
                place,
                format!("a quotation mark in line {line} of `{name}` is never closed"),
                "Close it, or take it away: everything after it would be one cell.",
            );
            return None;
        }
        if record.len() > MOST_COLUMNS {
            let place = Span::new(offset, offset + raw.len().min(80));
            give_up(
                place,
                format!("line {line} of `{name}` has {} cells; a table has at most {MOST_COLUMNS}", record.len()),
                "This is not a record form, or its line ends are lost. Take a fresh form.",
            );
            return None;
        }
        if let Some(at) = record.iter().position(|cell| cell.len() > LONGEST_CELL) {
            let place = located.cells.get(at).map_or(whole, |(from, _)| Span::new(offset + from, offset + from + 40));
            give_up(
                place,
                format!("a cell in line {line} of `{name}` holds more than {LONGEST_CELL} bytes"),
                "This is not a record form, or a quotation mark is missing. Take a fresh form.",
            );
            return None;
        }
        if rows.len() >= MOST_ROWS {
            give_up(
                whole,
                format!("`{name}` has more than {MOST_ROWS} rows"),
                "A logger's file is not a record form. Split the record by run.",
            );
            return None;
        }
        let agree = located.cells.len() == record.len();
        let cells = record.iter().enumerate().map(|(index, bytes)| {
            let place = located.cells.get(index).filter(|_| agree);
            Cell {
                text: String::from_utf8_lossy(bytes).into_owned(),
                span: place.map_or(whole, |(from, to)| Span::new(offset + from, offset + to)),
                row: line,
                column: u32::try_from(index + 1).unwrap_or(u32::MAX),
            }
        });
        rows.push(TableRow { cells: cells.collect(), span: whole, line });
    }
    Some(rows)
}

/// Where the cells of one row stand in its raw text, quotation marks included.
struct Located {
    cells: Vec<(usize, usize)>,
    /// A quotation mark that is never closed.
    open: Option<usize>,
}

fn locate(raw: &str, separator: u8) -> Located {
    let bytes = raw.as_bytes();
    let mut cells = Vec::new();
    let (mut start, mut at) = (0, 0);
    let mut open = None;
    while let Some(byte) = bytes.get(at) {
        match (open, *byte) {
            (None, b'"') if at == start => open = Some(at),
            (Some(_), b'"') if bytes.get(at + 1) == Some(&b'"') => at += 1,
            (Some(_), b'"') => open = None,
            (None, b'\n' | b'\r') => break,
            (None, byte) if byte == separator => {
                cells.push((start, at));
                start = at + 1;
            }
            _ => {}
        }
        at += 1;
    }
    cells.push((start, at));
    Located { cells, open }
}

fn newlines(text: &str) -> u32 {
    let count = text.bytes().filter(|byte| *byte == b'\n').count();
    u32::try_from(count).unwrap_or(u32::MAX)
}

fn shorten(text: &str) -> String {
    text.chars().take(40).collect()
}
