//! Reads a filled form: CSV text or a workbook, told apart by their first bytes. What is declared in the file is
//! followed, what is not is never guessed.
//!
//! A text may begin with lines that are not rows:
//! ```text
//! separator: ;        the character between cells: , or ; or tab (a comma when nothing is said)
//! decimal: ,          the decimal mark: . or ,   (a point when nothing is said)
//! # anything          a remark
//! ```
//! Then comes the heading line with the names of the columns, in any order, and then one row a reading.

mod table;
mod text;
mod workbook;

use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::source::{LARGEST_FILE, SourceId, Sources, Span};

use super::{Cell, Record};

/// More columns than this, and it is not a record form.
pub const MOST_COLUMNS: usize = 200;
/// More rows than this, and it is not a record form.
pub const MOST_ROWS: usize = 200_000;
/// No cell of a form holds more bytes than this.
pub const LONGEST_CELL: usize = 8_000;

/// Reads one file. Its text joins the sources, so that findings can point at its cells. `None` where nothing could be
/// made of it; the findings then say why.
pub fn file(name: &str, bytes: &[u8], sources: &mut Sources) -> Checked<Option<Record>> {
    match content(name, bytes) {
        Ok(Content::Workbook) => workbook::read(name, bytes, sources),
        Ok(Content::Text(text)) => text::read(name, text, sources),
        Err((message, help)) => unreadable(name, sources, message, help),
    }
}

/// A table of somebody else's making: its rows from the first, blank ones left out, no row taken for a heading.
#[derive(Debug, Clone)]
pub(crate) struct Foreign {
    pub(crate) source: SourceId,
    pub(crate) sheet: Option<String>,
    pub(crate) rows: Vec<ForeignRow>,
}

/// One row of it.
#[derive(Debug, Clone)]
pub(crate) struct ForeignRow {
    pub(crate) cells: Vec<Cell>,
    pub(crate) span: Span,
    pub(crate) line: u32,
}

/// Reads a table of somebody else's making: text with this separator, or the first sheet of a workbook that is asked for by
/// name or that `accept` takes.
pub(crate) fn foreign(
    name: &str,
    bytes: &[u8],
    separator: u8,
    accept: &dyn Fn(&str, &[Vec<String>]) -> bool,
    sources: &mut Sources,
) -> Checked<Option<Foreign>> {
    let read = match content(name, bytes) {
        Ok(Content::Workbook) => workbook::foreign(name, bytes, accept, sources),
        Ok(Content::Text(text)) => text::foreign(name, text, separator, sources),
        Err((message, help)) => {
            let Checked { diagnostics, .. } = unreadable(name, sources, message, help);
            Checked::new(None, diagnostics)
        }
    };
    let Checked { value, mut diagnostics } = read;
    for finding in diagnostics.iter_mut().filter(|finding| finding.code == Code::CannotRead) {
        finding.help = Some(
            "Keep the file as it came, and ask the laboratory for it again as CSV in UTF-8 or as XLSX.".to_owned(),
        );
    }
    Checked::new(value, diagnostics)
}

/// What the bytes of a file are, as far as they can be read at all.
enum Content<'b> {
    Workbook,
    Text(&'b str),
}

fn content<'b>(name: &str, bytes: &'b [u8]) -> Result<Content<'b>, (String, &'static str)> {
    if bytes.len() > LARGEST_FILE {
        return Err((
            format!("`{name}` has {} bytes, more than the {LARGEST_FILE} that a record may have", bytes.len()),
            "Split the record by run, one file each; a logger's file is not a record form.",
        ));
    }
    if bytes.starts_with(b"PK\x03\x04") {
        return Ok(Content::Workbook);
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err((
            format!("`{name}` is written in UTF-16"),
            "Save it again as CSV in UTF-8; spreadsheets call that 'CSV UTF-8'.",
        ));
    }
    if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        return Err((
            format!("`{name}` is a workbook in the old binary format"),
            "Save it again as XLSX or as CSV in UTF-8.",
        ));
    }
    let line_of = |offset: usize| bytes.iter().take(offset).filter(|byte| **byte == b'\n').count() + 1;
    if let Some(offset) = bytes.iter().position(|byte| *byte == 0) {
        return Err((
            format!("`{name}` is not text: line {} holds a NUL byte", line_of(offset)),
            "Save it again as CSV in UTF-8, or bring an earlier copy: the file may be damaged.",
        ));
    }
    match str::from_utf8(bytes) {
        Ok(text) => Ok(Content::Text(text.strip_prefix('\u{feff}').unwrap_or(text))),
        Err(error) => {
            let line = line_of(error.valid_up_to());
            Err((
                format!("`{name}` is not UTF-8: line {line} holds a character in another encoding"),
                "Save it again as CSV in UTF-8; spreadsheets call that 'CSV UTF-8'.",
            ))
        }
    }
}

/// The answer for a file of which nothing can be made.
fn unreadable(name: &str, sources: &mut Sources, message: String, help: &str) -> Checked<Option<Record>> {
    let source = sources.add(name, "");
    let finding = Diagnostic::new(Code::CannotRead, message).at(source, Span::default(), "the record").help(help);
    Checked::new(None, vec![finding])
}
