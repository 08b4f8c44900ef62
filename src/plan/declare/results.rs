//! The layout of a laboratory's file.

use crate::plan::model::{Counts, Holds, ResultColumn, ResultsFile};
use crate::plan::read::Context;
use crate::syntax::tree::Statement;

pub(super) fn read_results(statement: &Statement, context: &Context<'_>) -> ResultsFile {
    let mut file = ResultsFile {
        separator: ',',
        decimal_comma: false,
        sheet: None,
        unit_row: false,
        dates: None,
        counts: None,
        method: None,
        blanks: None,
        columns: Vec::new(),
        origin: context.origin(statement.head),
    };
    for s in &statement.block {
        match s.key() {
            "cells separated by" => {
                file.separator = match context.text(s, "separator").as_deref() {
                    Some("semicolon") => ';',
                    Some("tab") => '\t',
                    _ => ',',
                };
            }
            "decimal" => file.decimal_comma = context.text(s, "character").is_some_and(|written| written == "comma"),
            "sheet" => file.sheet = context.text(s, "sheet"),
            "row of units below the headings" => file.unit_row = true,
            "dates" => file.dates = context.text(s, "pattern"),
            "counts" => file.counts = Some(read_counts(s, context)),
            "method" => file.method = context.text(s, "method"),
            "blanks labelled" => file.blanks = context.text(s, "prefix"),
            "column" => file.columns.extend(read_column(s, context)),
            _ => {}
        }
    }
    file
}

fn read_column(s: &Statement, context: &Context<'_>) -> Option<ResultColumn> {
    let heading = context.text(s, "heading")?;
    let holds = match context.text(s, "what") {
        Some(what) => Holds::WORDS.into_iter().find(|(words, _)| *words == what)?.1,
        None => Holds::CountAt(context.quantity(s, "size")?),
    };
    Some(ResultColumn { heading, holds, unit: context.text(s, "unit"), origin: context.origin(s.head) })
}

/// How counts are given, as a test or a file says it.
pub(super) fn read_counts(s: &Statement, context: &Context<'_>) -> Counts {
    Counts {
        cumulative: context.text(s, "mode").is_some_and(|mode| mode == "cumulative"),
        basis: context.text(s, "basis").unwrap_or_default(),
        dilution_applied: context.text(s, "dilution").map(|dilution| dilution == "applied"),
    }
}
