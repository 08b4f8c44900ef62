//! A page as lines of text, without its pictures.

use std::fmt::Write;

use crate::report::{Page, Part, Table};

/// Cells longer than this are not waited for: they push what follows to the right.
const WIDEST: usize = 44;

/// The report as text; a picture is told by its description nowhere, since its numbers stand in the tables.
pub fn text(page: &Page) -> String {
    let mut out = String::new();
    put(&mut out, &page.title);
    put(&mut out, &format!("Report {}, {}, campaign {}, plan {}", page.id, page.date, page.campaign, page.fingerprint));
    if let Some(draft) = &page.draft {
        put(&mut out, &format!("DRAFT, NOT FOR PUBLICATION: {}", draft.why));
        draft.open.iter().for_each(|open| put(&mut out, &format!("  ! {open}")));
    }
    if let Some(invented) = &page.invented {
        put(&mut out, &format!("Invented for demonstration. {invented}"));
    }
    for section in &page.sections {
        let _never_fails = write!(out, "\n{}\n{}\n", section.title, "=".repeat(section.title.chars().count()));
        section.parts.iter().for_each(|part| piece(&mut out, part));
    }
    let _never_fails = write!(out, "\nEnd of report {}\n", page.id);
    out.replace('\u{a0}', " ")
}

fn put(out: &mut String, line: &str) {
    out.push_str(line.trim_end());
    out.push('\n');
}

fn piece(out: &mut String, part: &Part) {
    match part {
        Part::Heading { text } => put(out, &format!("\n{text}\n{}", "-".repeat(text.chars().count()))),
        Part::Says { text } | Part::Stands { text } => put(out, text),
        Part::List { items } => items.iter().for_each(|item| put(out, &format!("- {item}"))),
        Part::Facts { facts } => facts.iter().for_each(|(name, what)| put(out, &format!("{name}: {what}"))),
        Part::Table(table) => grid(out, table),
        Part::Picture { .. } => {}
    }
}

fn grid(out: &mut String, table: &Table) {
    put(out, &format!("\n{}", table.caption));
    let heads: Vec<&str> = table.head.iter().map(|head| head.text.as_str()).collect();
    let lines = || {
        let rows = table.rows.iter().map(|row| row.cells.iter().map(String::as_str).collect::<Vec<_>>());
        std::iter::once(heads.clone()).chain(rows)
    };
    let mut widths = vec![0_usize; heads.len()];
    for line in lines() {
        for (width, cell) in widths.iter_mut().zip(line) {
            *width = (*width).max(cell.chars().count().min(WIDEST));
        }
    }
    for line in lines() {
        let mut written = String::new();
        for ((cell, width), head) in line.iter().zip(&widths).zip(&table.head) {
            let gap = " ".repeat(width.saturating_sub(cell.chars().count()));
            let cell = if head.number { format!("{gap}{cell}  ") } else { format!("{cell}{gap}  ") };
            written.push_str(&cell);
        }
        put(out, &written);
    }
    table.notes.iter().for_each(|note| put(out, &format!("  {note}")));
}
