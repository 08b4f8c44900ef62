//! A workbook to a table of cells. The sheet is read as a stream and rendered as text, one line a row, so that findings
//! can show it; every cell keeps its own name.

use std::fmt::Write as _;
use std::io::Cursor;

use calamine::{DataRef, ExcelDateTime, Reader, Xlsx, XlsxError};

use super::table::{Table, TableRow};
use super::{LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, unreadable};
use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::record::{Cell, DecimalMark, Instant, Record, column_letters};
use crate::source::{Sources, Span};

/// A workbook that unpacks to more bytes than this is not a record form.
const MOST_UNPACKED: u64 = 256 * 1024 * 1024;

/// Reads a workbook: its first sheet with the heading line of a record form.
pub(super) fn read(name: &str, bytes: &[u8], sources: &mut Sources) -> Checked<Option<Record>> {
    let damaged = "Bring an earlier copy, or open it in a spreadsheet and save it again as XLSX.";
    match unpacked_size(bytes) {
        Some(size) if size > MOST_UNPACKED => {
            let message =
                format!("`{name}` would unpack to {size} bytes, more than the {MOST_UNPACKED} that a record may have");
            return unreadable(name, sources, message, "This is not a record form. Take a fresh one.");
        }
        Some(_) => {}
        None => {
            return unreadable(
                name,
                sources,
                format!("`{name}` is a damaged workbook: its directory is missing or cut off"),
                damaged,
            );
        }
    }
    let mut workbook: Xlsx<_> = match Xlsx::new(Cursor::new(bytes)) {
        Ok(workbook) => workbook,
        Err(error) => {
            return unreadable(name, sources, format!("`{name}` is not a workbook that can be read: {error}"), damaged);
        }
    };
    let mut first_problem = None;
    let names = workbook.sheet_names();
    for (index, sheet) in names.iter().cloned().enumerate() {
        match cells(&mut workbook, &sheet) {
            Ok(Some(cells)) => {
                let others = names.iter().skip(index + 1);
                let unread: Vec<&String> = others.filter(|other| cells_of_form(&mut workbook, other)).collect();
                let mut read = build(name, sheet, cells, sources);
                read.diagnostics.extend(further_sheets(name, &unread, &read.value));
                return read;
            }
            Ok(None) => {}
            Err(problem) => {
                first_problem.get_or_insert(format!("the sheet `{sheet}` of `{name}` can't be read: {problem}"));
            }
        }
    }
    match first_problem {
        Some(problem) => unreadable(name, sources, problem, damaged),
        None => unreadable(
            name,
            sources,
            format!("no sheet of `{name}` has the heading line of a record form"),
            "One of its first rows must hold the names of the columns: run, specimen, fingerprint, step, reading, value, unit, instrument, time, by. Take a fresh form.",
        ),
    }
}

fn cells_of_form(workbook: &mut Xlsx<Cursor<&[u8]>>, sheet: &str) -> bool {
    matches!(cells(workbook, sheet), Ok(Some(_)))
}

/// Only one sheet of a workbook is read; that there are others with a form's heading is said.
fn further_sheets(name: &str, unread: &[&String], record: &Option<Record>) -> Option<Diagnostic> {
    let record = record.as_ref().filter(|_| !unread.is_empty())?;
    let listed: Vec<String> = unread.iter().map(|sheet| format!("`{sheet}`")).collect();
    let read = record.sheet.clone().unwrap_or_default();
    let message = format!("`{name}` has more than one record form: `{read}` is read, {} not", listed.join(", "));
    Some(
        Diagnostic::new(Code::SheetNotRead, message).at(record.source, record.heading, "the sheet that is read").help(
            "Save each sheet as a file of its own; what stands on a sheet that is not read counts as not recorded.",
        ),
    )
}

/// A cell as the workbook has it.
struct Raw {
    row: u32,
    column: u32,
    text: String,
    formula: bool,
}

/// The cells of a sheet, or `None` where it is not a record form.
fn cells(workbook: &mut Xlsx<Cursor<&[u8]>>, sheet: &str) -> Result<Option<Vec<Raw>>, String> {
    let say = |error: XlsxError| error.to_string();
    let mut reader = workbook.worksheet_cells_reader(sheet).map_err(say)?;
    let mut cells: Vec<Raw> = Vec::new();
    while let Some(cell) = reader.next_cell_with_formula().map_err(say)? {
        let (row, column) = (cell.pos.0.saturating_add(1), cell.pos.1.saturating_add(1));
        let text = text_of(&cell.value);
        if text.is_empty() && cell.formula.is_none() {
            continue;
        }
        let here = || format!("cell {}{row}", column_letters(column));
        if row as usize > MOST_ROWS {
            return Err(format!("{} lies beyond row {MOST_ROWS}", here()));
        }
        if column as usize > MOST_COLUMNS {
            return Err(format!("{} lies beyond column {MOST_COLUMNS}", here()));
        }
        if text.len() > LONGEST_CELL {
            return Err(format!("{} holds more than {LONGEST_CELL} bytes", here()));
        }
        if cells.len() > MOST_ROWS * 16 {
            return Err("it has too many cells for a record form".to_owned());
        }
        cells.push(Raw { row, column, text, formula: cell.formula.is_some() });
    }
    cells.sort_by_key(|cell| (cell.row, cell.column));
    let head = cells.iter().take_while(|cell| cell.row <= 20);
    let headings = head.filter(|cell| crate::record::Column::from_name(&cell.text).is_some()).count();
    Ok((headings >= 3).then_some(cells))
}

fn build(name: &str, sheet: String, cells: Vec<Raw>, sources: &mut Sources) -> Checked<Option<Record>> {
    let mut text = String::new();
    let mut rows: Vec<TableRow> = Vec::new();
    let mut formulas = Vec::new();
    let mut line = 1;
    for raw in cells {
        while line < raw.row {
            text.push('\n');
            line += 1;
        }
        if rows.last().is_none_or(|row| row.line != raw.row) {
            rows.push(TableRow { cells: Vec::new(), span: Span::at(text.len()), line: raw.row });
        }
        let Some(row) = rows.last_mut() else { continue };
        while row.cells.len() + 1 < raw.column as usize {
            pad(&mut text, row);
        }
        pad(&mut text, row);
        let start = text.len();
        let shown = raw.text.replace(['\n', '\r'], " ");
        if shown.contains([',', '"']) {
            let _ = write!(text, "\"{}\"", shown.replace('"', "\"\""));
        } else {
            text.push_str(&shown);
        }
        let span = Span::new(start, text.len());
        if let Some(cell) = row.cells.last_mut() {
            cell.text = raw.text;
            cell.span = span;
        }
        row.span = row.span.to(span);
        if raw.formula {
            formulas.push((format!("{}{}", column_letters(raw.column), raw.row), span));
        }
    }
    text.push('\n');
    // What stands above the heading line (a title, a remark) is no row.
    let heading = rows.iter().position(|row| row.headings() >= 3).unwrap_or(0);
    rows.drain(..heading);
    let width = rows.first().map_or(0, |row| row.cells.len());
    let mut found = Vec::new();
    let source = sources.add(format!("{name} (sheet {sheet})"), text);
    if let Some((cell, span)) = formulas.first() {
        let others = formulas.len() - 1;
        let more = if others > 0 { format!(" and {others} more") } else { String::new() };
        let message = format!("cell {cell}{more} of `{name}` holds a formula; its last result is read");
        found.push(
            Diagnostic::new(Code::FormulaCell, message)
                .at(source, *span, "a formula")
                .help("Type what was read at the bench. A formula changes when another cell does."),
        );
    }
    for row in &mut rows {
        if row.cells.iter().skip(width).all(|cell| cell.text.trim().is_empty()) {
            row.cells.truncate(width);
        }
    }
    let table = Table { name, source, sheet: Some(sheet), mark: DecimalMark::Point, rows };
    let record = table.record(None, &mut found);
    Checked::new(record, found)
}

/// One more cell in a row, empty so far.
fn pad(text: &mut String, row: &mut TableRow) {
    if !row.cells.is_empty() {
        text.push(',');
    }
    let column = u32::try_from(row.cells.len() + 1).unwrap_or(u32::MAX);
    row.cells.push(Cell { text: String::new(), span: Span::at(text.len()), row: row.line, column });
}

fn text_of(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) => text.clone(),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(truth) => truth.to_string(),
        DataRef::DateTime(time) => time_text(*time),
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => text.clone(),
        DataRef::Error(error) => error.to_string(),
        DataRef::Empty => String::new(),
    }
}

/// A date cell as the form wants a time: to the nearest second, since a spreadsheet keeps days as fractions.
fn time_text(time: ExcelDateTime) -> String {
    let (year, month, day, hour, minute, second, millis) = time.to_ymd_hms_milli();
    let clock = format!("{hour:02}:{minute:02}:{second:02}");
    if time.is_duration() || time.as_f64() < 1.0 {
        return clock;
    }
    let text = format!("{year:04}-{month:02}-{day:02} {clock}");
    match Instant::parse(&text) {
        Some(instant) if millis >= 500 => Instant { seconds: instant.seconds + 1, ..instant }.text(),
        _ => text,
    }
}

/// How many bytes a zip archive says that it unpacks to, by its directory; `None` where the directory is damaged.
fn unpacked_size(bytes: &[u8]) -> Option<u64> {
    let number = |at: usize, length: usize| -> Option<u64> {
        let digits = bytes.get(at..at.checked_add(length)?)?;
        Some(digits.iter().rev().fold(0, |sum, digit| (sum << 8) | u64::from(*digit)))
    };
    let tail = bytes.len().saturating_sub(65_557);
    let end = bytes.get(tail..)?.windows(4).rposition(|window| window == b"PK\x05\x06")? + tail;
    let mut at = usize::try_from(number(end + 16, 4)?).ok()?;
    let mut sum: u64 = 0;
    for _ in 0..number(end + 10, 2)? {
        if bytes.get(at..at.checked_add(4)?)? != b"PK\x01\x02" {
            return None;
        }
        sum = sum.checked_add(number(at + 24, 4)?)?;
        let tail = number(at + 28, 2)? + number(at + 30, 2)? + number(at + 32, 2)?;
        at = at.checked_add(46)?.checked_add(usize::try_from(tail).ok()?)?;
    }
    Some(sum)
}
