//! A second typing: two people type one sheet, and every cell in which they differ is looked at again.

use super::Finding;
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::record::{Column, Record, Value};

/// Cells that the bench wrote and that differ between the first and the second typing.
pub fn compare(first: &[Record], second: &[Record]) -> Vec<Finding> {
    let mut found = Vec::new();
    for copy in second {
        for row in copy.rows.iter().filter(|row| row.is_filled()) {
            let (run, path) = (row.text(Column::Run), row.text(Column::Reading));
            // The nth row of a reading beside the nth: a correction beside its correction.
            let same = |record: &Record, until: Option<u32>| {
                let rows = record.rows.iter().filter(|other| {
                    other.is_filled() && other.text(Column::Run) == run && other.text(Column::Reading) == path
                });
                rows.filter(|other| until.is_none_or(|line| other.line < line)).count()
            };
            let index = same(copy, Some(row.line));
            let original = first.iter().find_map(|record| {
                let mut rows = record.rows.iter().filter(|other| {
                    other.is_filled() && other.text(Column::Run) == run && other.text(Column::Reading) == path
                });
                Some((record, rows.nth(index)?))
            });
            let Some((record, original)) = original else {
                let message = format!("run {run}: `{path}` was typed the second time only");
                found.push(Diagnostic::new(Code::TypedDifferently, message).at(copy.source, row.span, "the second typing").help("Look at the sheet. What is on it belongs into the first file, with `late entry` in the note."));
                continue;
            };
            for column in [Column::Value, Column::Unit, Column::Instrument, Column::Time, Column::By] {
                let (one, other) = (original.text(column), row.text(column));
                let times = column == Column::Time && original.time().is_some() && original.time() == row.time();
                if one.eq_ignore_ascii_case(other) || times {
                    continue;
                }
                let number = |record: &Record, row| record.value(row).number();
                let equal = column == Column::Value
                    && matches!((number(record, original), number(copy, row)), (Some(a), Some(b)) if (a.value - b.value).abs() < 1e-12);
                let blank = column == Column::Value
                    && (record.value(original) == Value::Empty || copy.value(row) == Value::Empty);
                let message = format!("run {run}: `{path}`, {}: one typed `{one}`, the other `{other}`", column.name());
                let weight = match column {
                    Column::Value if !equal || blank => Severity::Major,
                    Column::Unit | Column::Instrument => Severity::Major,
                    _ => Severity::Minor,
                };
                found.push(
                    Diagnostic::new(Code::TypedDifferently, message)
                        .at(record.source, original.cell(column).span, "the first typing")
                        .also(copy.source, row.cell(column).span, "the second typing")
                        .severity(weight)
                        .help("Look at the sheet. If the first is wrong, add a row with the right text and the reason in its correction cell; if the second is wrong, nothing has to change in the record."),
                );
            }
        }
        let runs = copy.runs();
        for record in first {
            for row in record.rows.iter().filter(|row| row.is_filled() && runs.contains(&row.text(Column::Run))) {
                let there = copy.rows.iter().any(|other| {
                    other.is_filled()
                        && other.text(Column::Run) == row.text(Column::Run)
                        && other.text(Column::Reading) == row.text(Column::Reading)
                });
                if !there {
                    let message = format!(
                        "run {}: `{}` was typed the first time only",
                        row.text(Column::Run),
                        row.text(Column::Reading)
                    );
                    found.push(
                        Diagnostic::new(Code::TypedDifferently, message)
                            .at(record.source, row.span, "the first typing")
                            .help("Look at the sheet: is it there?"),
                    );
                }
            }
        }
    }
    found
}
