//! A page as text, as wide as it is asked for.

use crate::rehearsal::{Page, Part, page::Table};

/// The page without its pictures; no line is wider than so many characters, unless a single word is.
pub fn text(page: &Page, width: usize) -> String {
    let width = width.max(40);
    let mut out = String::new();
    paragraph(&mut out, &page.title, width, "");
    paragraph(&mut out, &page.about, width, "");
    if let Some(invented) = &page.invented {
        paragraph(&mut out, &format!("Invented for demonstration. {invented}"), width, "");
    }
    for section in &page.sections {
        out.push('\n');
        out.push_str(&section.title.to_uppercase());
        out.push('\n');
        for part in &section.parts {
            match part {
                Part::Says { text } => {
                    out.push('\n');
                    paragraph(&mut out, text, width, "");
                }
                Part::List { items } => {
                    out.push('\n');
                    items.iter().for_each(|item| {
                        out.push_str("- ");
                        paragraph(&mut out, item, width, "  ");
                    });
                }
                Part::Table(table) => {
                    out.push('\n');
                    lay_out(&mut out, table, width);
                }
                Part::Picture { .. } => {}
            }
        }
    }
    out
}

fn paragraph(out: &mut String, text: &str, width: usize, indent: &str) {
    for (index, line) in wrapped(text, width - indent.len()).into_iter().enumerate() {
        if index > 0 {
            out.push_str(indent);
        }
        out.push_str(&line);
        out.push('\n');
    }
}

/// Lines of whole words.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let Some(line) = lines.last_mut() else { continue };
        if !line.is_empty() && length(line) + 1 + length(word) > width {
            lines.push(word.to_owned());
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

fn length(text: &str) -> usize {
    text.chars().count()
}

const GAP: usize = 2;

fn lay_out(out: &mut String, table: &Table, width: usize) {
    if !table.caption.is_empty() {
        paragraph(out, &table.caption, width, "");
    }
    let widths = widths(table, width);
    let head: Vec<String> = table.head.iter().map(|head| head.text.clone()).collect();
    row(out, table, &head, &widths);
    let rule: usize = widths.iter().sum::<usize>() + GAP * widths.len().saturating_sub(1);
    out.push_str(&"─".repeat(rule.min(width)));
    out.push('\n');
    for cells in &table.rows {
        row(out, table, cells, &widths);
    }
}

/// As wide as the widest cell; where the whole is too wide, the widest columns give way, down to their longest word.
fn widths(table: &Table, width: usize) -> Vec<usize> {
    let cells = |column: usize| {
        let head = table.head.get(column).map(|head| head.text.as_str());
        head.into_iter().chain(table.rows.iter().filter_map(move |row| row.get(column).map(String::as_str)))
    };
    let columns = table.head.len();
    let mut widths: Vec<usize> = (0..columns).map(|column| cells(column).map(length).max().unwrap_or(0)).collect();
    let least: Vec<usize> =
        (0..columns).map(|column| cells(column).flat_map(|c| c.split(' ')).map(length).max().unwrap_or(0)).collect();
    let room = width.saturating_sub(GAP * columns.saturating_sub(1));
    while widths.iter().sum::<usize>() > room {
        let gives = widths.iter().zip(&least).enumerate().filter(|(_, (wide, least))| wide > least);
        let Some(index) = gives.max_by_key(|(_, (wide, _))| **wide).map(|(index, _)| index) else { break };
        if let Some(wide) = widths.get_mut(index) {
            *wide -= 1;
        }
    }
    widths
}

fn row(out: &mut String, table: &Table, cells: &[String], widths: &[usize]) {
    let lines: Vec<Vec<String>> = cells.iter().zip(widths).map(|(cell, width)| wrapped(cell, *width)).collect();
    let high = lines.iter().map(Vec::len).max().unwrap_or(0);
    for index in 0..high {
        let mut line = String::new();
        for (column, (cell, width)) in lines.iter().zip(widths).enumerate() {
            if column > 0 {
                line.push_str(&" ".repeat(GAP));
            }
            let text = cell.get(index).map_or("", String::as_str);
            let room = " ".repeat(width.saturating_sub(length(text)));
            if table.head.get(column).is_some_and(|head| head.number) {
                line.push_str(&room);
                line.push_str(text);
            } else {
                line.push_str(text);
                line.push_str(&room);
            }
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
}
