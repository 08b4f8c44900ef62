//! A workbook to a table of cells. The sheet is read as a stream and rendered as text, one line a row, so that findings
//! can show it; every cell keeps its own name.

use std::fmt::Write as _;
use std::io::Cursor;

use calamine::{DataRef, ExcelDateTime, Reader, Xlsx, XlsxError};

use super::table::{Table, TableRow};
use super::{Foreign, LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, unreadable};
use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::record::{Cell, DecimalMark, Instant, Record, column_letters};
use crate::source::{SourceId, Sources, Span};

/// A workbook that unpacks to more bytes than this is not a record form.
const MOST_UNPACKED: u64 = 256 * 1024 * 1024;

/// Reads a workbook: its first sheet with the heading line of a record form.
pub(super) fn read(name: &str, bytes: &[u8], sources: &mut Sources) -> Checked<Option<Record>> {
    let nothing = (
        format!("no sheet of `{name}` has the heading line of a record form"),
        "One of its first rows must hold the names of the columns: run, specimen, fingerprint, step, reading, value, unit, instrument, time, by. Take a fresh form.",
    );
    match sheet(name, bytes, &|_, cells| is_form(cells)) {
        Ok(Some((sheet, cells))) => {
            let unread = further_forms(bytes, &sheet);
            let mut read = build(name, sheet, cells, sources);
            read.diagnostics.extend(further_sheets(name, &unread, &read.value));
            read
        }
        Ok(None) => unreadable(name, sources, nothing.0, nothing.1),
        Err(problem) => unreadable(name, sources, problem, DAMAGED),
    }
}

/// Reads somebody else's workbook: the first sheet that is taken, by its name and its first rows.
pub(super) fn foreign(
    name: &str,
    bytes: &[u8],
    accept: &dyn Fn(&str, &[Vec<String>]) -> bool,
    sources: &mut Sources,
) -> Checked<Option<Foreign>> {
    let found = sheet(name, bytes, &|sheet, cells| accept(sheet, &first_rows(cells)));
    let (sheet, cells) = match found {
        Ok(Some(found)) => found,
        Ok(None) => {
            let message = format!("no sheet of `{name}` has the headings of a laboratory's results");
            let Checked { diagnostics, .. } = unreadable(name, sources, message, DAMAGED);
            return Checked::new(None, diagnostics);
        }
        Err(problem) => {
            let Checked { diagnostics, .. } = unreadable(name, sources, problem, DAMAGED);
            return Checked::new(None, diagnostics);
        }
    };
    let (text, rows, formulas) = rendered(cells);
    let source = sources.add(format!("{name} (sheet {sheet})"), text);
    let mut found = Vec::new();
    say_formulas(name, source, &formulas, &mut found);
    let rows = rows.into_iter().filter_map(TableRow::plain).collect();
    Checked::new(Some(Foreign { source, sheet: Some(sheet), rows }), found)
}

const DAMAGED: &str = "Bring an earlier copy, or open it in a spreadsheet and save it again as XLSX.";

/// The first sheet that is taken, and its cells; or why the workbook can't be read.
fn sheet(
    name: &str,
    bytes: &[u8],
    accept: &dyn Fn(&str, &[Raw]) -> bool,
) -> Result<Option<(String, Vec<Raw>)>, String> {
    match unpacked_size(bytes) {
        Some(size) if size > MOST_UNPACKED => {
            return Err(format!(
                "`{name}` would unpack to {size} bytes, more than the {MOST_UNPACKED} that a record may have"
            ));
        }
        Some(_) => {}
        None => return Err(format!("`{name}` is a damaged workbook: its directory is missing or cut off")),
    }
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes))
        .map_err(|error| format!("`{name}` is not a workbook that can be read: {error}"))?;
    let mut first_problem = None;
    for sheet in workbook.sheet_names() {
        match cells(&mut workbook, &sheet) {
            Ok(cells) if accept(&sheet, &cells) => return Ok(Some((sheet, cells))),
            Ok(_) => {}
            Err(problem) => {
                first_problem.get_or_insert(format!("the sheet `{sheet}` of `{name}` can't be read: {problem}"));
            }
        }
    }
    first_problem.map_or(Ok(None), Err)
}

/// The texts of the first forty rows, for a look at what the sheet is.
fn first_rows(cells: &[Raw]) -> Vec<Vec<String>> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut row = 0;
    for cell in cells.iter().take_while(|cell| cell.row <= 40) {
        if rows.is_empty() || row != cell.row {
            rows.push(Vec::new());
            row = cell.row;
        }
        if let Some(last) = rows.last_mut() {
            last.push(cell.text.clone());
        }
    }
    rows
}

fn is_form(cells: &[Raw]) -> bool {
    let head = cells.iter().take_while(|cell| cell.row <= 20);
    head.filter(|cell| crate::record::Column::from_name(&cell.text).is_some()).count() >= 3
}

/// The sheets after one that are record forms too.
fn further_forms(bytes: &[u8], read: &str) -> Vec<String> {
    let Ok(mut workbook) = Xlsx::<_>::new(Cursor::new(bytes)) else { return Vec::new() };
    let after = workbook.sheet_names().into_iter().skip_while(|sheet| sheet != read).skip(1);
    let after: Vec<String> = after.collect();
    after.into_iter().filter(|sheet| cells(&mut workbook, sheet).is_ok_and(|cells| is_form(&cells))).collect()
}

/// Only one sheet of a workbook is read; that there are others with a form's heading is said.
fn further_sheets(name: &str, unread: &[String], record: &Option<Record>) -> Option<Diagnostic> {
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

/// The cells of a sheet in order.
fn cells(workbook: &mut Xlsx<Cursor<&[u8]>>, sheet: &str) -> Result<Vec<Raw>, String> {
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
    Ok(cells)
}

/// Cells as text, one line a row; the rows with their places in it; and where formulas stand.
fn rendered(cells: Vec<Raw>) -> (String, Vec<TableRow>, Vec<(String, Span)>) {
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
    (text, rows, formulas)
}

fn say_formulas(name: &str, source: SourceId, formulas: &[(String, Span)], found: &mut Vec<Diagnostic>) {
    let Some((cell, span)) = formulas.first() else { return };
    let others = formulas.len() - 1;
    let more = if others > 0 { format!(" and {others} more") } else { String::new() };
    let message = format!("cell {cell}{more} of `{name}` holds a formula; its last result is read");
    found.push(
        Diagnostic::new(Code::FormulaCell, message)
            .at(source, *span, "a formula")
            .help("Type what was read at the bench. A formula changes when another cell does."),
    );
}

fn build(name: &str, sheet: String, cells: Vec<Raw>, sources: &mut Sources) -> Checked<Option<Record>> {
    let (text, mut rows, formulas) = rendered(cells);
    // What stands above the heading line (a title, a remark) is no row.
    let heading = rows.iter().position(|row| row.headings() >= 3).unwrap_or(0);
    rows.drain(..heading);
    let width = rows.first().map_or(0, |row| row.cells.len());
    let mut found = Vec::new();
    let source = sources.add(format!("{name} (sheet {sheet})"), text);
    say_formulas(name, source, &formulas, &mut found);
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
