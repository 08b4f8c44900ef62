//! How a finding is put: the cell first, the line of the protocol second.

use super::log::{Filled, Log, Slot};
use crate::diagnostic::{Code, Diagnostic};
use crate::record::Column;

/// A finding of the audit is a diagnostic like any other.
pub type Finding = Diagnostic;

/// A finding at a cell of a row.
pub(super) fn at_row(row: Filled<'_>, column: Column, code: Code, message: String, role: &str) -> Finding {
    let cell = row.cell(column);
    let role = format!("{role} ({})", row.record.whereabouts(cell));
    Diagnostic::new(code, message).at(row.record.source, cell.span, role)
}

/// A finding at a reading: the cell of the row that counts, and the line that asks for it. Without a row, the row before
/// it shows where it belongs.
pub(super) fn at_slot(
    log: &Log<'_>,
    slot: &Slot<'_>,
    column: Column,
    code: Code,
    message: String,
    role: &str,
) -> Finding {
    let origin = slot.reading.origin;
    let asks = format!("asks for `{}`", slot.reading.path);
    if let Some(row) = slot.current().or(slot.blank) {
        return at_row(row, column, code, message, role).also(origin.source, origin.span, asks);
    }
    let before = log
        .slots
        .iter()
        .take_while(|other| !std::ptr::eq(*other, slot))
        .filter_map(|other| other.current().or(other.blank))
        .last();
    match before {
        // It points at another reading's row, and is not about that one.
        Some(row) => Diagnostic::new(code, message)
            .about(slot.reading.path.as_str())
            .at(row.record.source, row.row.span, format!("it belongs after {}", row.line()))
            .also(origin.source, origin.span, asks),
        None => Diagnostic::new(code, message).at(origin.source, origin.span, asks),
    }
}

/// What a person does when the finding is right: the same words everywhere.
pub(super) const CORRECT_IT: &str =
    "write a row below with the value that was meant and the reason in its correction cell; nothing was changed";
