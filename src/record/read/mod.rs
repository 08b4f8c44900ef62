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
use crate::source::{LARGEST_FILE, Sources, Span};

use super::Record;

/// More columns than this, and it is not a record form.
pub const MOST_COLUMNS: usize = 200;
/// More rows than this, and it is not a record form.
pub const MOST_ROWS: usize = 200_000;
/// No cell of a form holds more bytes than this.
pub const LONGEST_CELL: usize = 8_000;

/// Reads one file. Its text joins the sources, so that findings can point at its cells. `None` where nothing could be
/// made of it; the findings then say why.
pub fn file(name: &str, bytes: &[u8], sources: &mut Sources) -> Checked<Option<Record>> {
    if bytes.len() > LARGEST_FILE {
        return unreadable(
            name,
            sources,
            format!("`{name}` has {} bytes, more than the {LARGEST_FILE} that a record may have", bytes.len()),
            "Split the record by run, one file each; a logger's file is not a record form.",
        );
    }
    if bytes.starts_with(b"PK\x03\x04") {
        return workbook::read(name, bytes, sources);
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return unreadable(
            name,
            sources,
            format!("`{name}` is written in UTF-16"),
            "Save it again as CSV in UTF-8; spreadsheets call that 'CSV UTF-8'.",
        );
    }
    if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        return unreadable(
            name,
            sources,
            format!("`{name}` is a workbook in the old binary format"),
            "Save it again as XLSX or as CSV in UTF-8.",
        );
    }
    let line_of = |offset: usize| bytes.iter().take(offset).filter(|byte| **byte == b'\n').count() + 1;
    if let Some(offset) = bytes.iter().position(|byte| *byte == 0) {
        return unreadable(
            name,
            sources,
            format!("`{name}` is not text: line {} holds a NUL byte", line_of(offset)),
            "Save it again as CSV in UTF-8, or bring an earlier copy: the file may be damaged.",
        );
    }
    match str::from_utf8(bytes) {
        Ok(text) => text::read(name, text.strip_prefix('\u{feff}').unwrap_or(text), sources),
        Err(error) => {
            let line = line_of(error.valid_up_to());
            unreadable(
                name,
                sources,
                format!("`{name}` is not UTF-8: line {line} holds a character in another encoding"),
                "Save it again as CSV in UTF-8; spreadsheets call that 'CSV UTF-8'.",
            )
        }
    }
}

/// The answer for a file of which nothing can be made.
fn unreadable(name: &str, sources: &mut Sources, message: String, help: &str) -> Checked<Option<Record>> {
    let source = sources.add(name, "");
    let finding = Diagnostic::new(Code::CannotRead, message).at(source, Span::default(), "the record").help(help);
    Checked::new(None, vec![finding])
}
