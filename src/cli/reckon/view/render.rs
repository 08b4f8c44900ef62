//! An answer for people, and for machines.

use serde_json::json;

use super::{Answer, Refusal, Table};

/// Columns of a page on a narrow terminal.
const INDENT: usize = 2;

/// For people, at most `width` columns: the answer in the first line.
pub(in super::super) fn human(answer: &Answer, width: usize) -> String {
    let mut page = wrapped(&answer.answer, width, 0, 0);
    list(&mut page, "Think first", &answer.warnings, width);
    if !answer.values.is_empty() {
        page.push('\n');
        let pairs = answer.values.iter().map(|value| (value.name.as_str(), value.text.as_str()));
        pairs_of(&mut page, &pairs.collect::<Vec<_>>(), width);
    }
    if let Some(table) = &answer.table {
        page.push('\n');
        page += &tabulated(table);
    }
    if !answer.used.is_empty() {
        page += "\nNumbers used\n";
        let pairs = answer.used.iter().map(|used| (used.name.as_str(), used.text.as_str()));
        pairs_of(&mut page, &pairs.collect::<Vec<_>>(), width);
    }
    if !answer.formulas.is_empty() {
        page += "\nHow\n";
        for formula in &answer.formulas {
            page += &wrapped(formula.words, width, INDENT, INDENT);
            page += &wrapped(&format!("Source: {}", formula.source), width, INDENT * 2, INDENT * 2);
        }
    }
    list(&mut page, "Limits", &answer.limits, width);
    if !answer.cautions.is_empty() {
        list(&mut page, "Caution", &answer.cautions, width);
        page += &wrapped(
            "A reminder, not a safety assessment: local law, product safety sheets and the makers' instructions come first.",
            width,
            INDENT,
            INDENT,
        );
    }
    page
}

/// Why there is no answer, for people.
pub(in super::super) fn refused_human(refusal: &Refusal, width: usize) -> String {
    let mut page = wrapped(&format!("no answer: {}", refusal.what), width, 0, INDENT);
    page += &wrapped(&format!("why: {}", refusal.why), width, INDENT, INDENT + 5);
    page += &wrapped(&format!("instead: {}", refusal.instead), width, INDENT, INDENT + 9);
    page
}

pub(in super::super) fn json(answer: &Answer) -> String {
    serde_json::to_string_pretty(answer).unwrap_or_default()
}

pub(in super::super) fn refused_json(question: &str, refusal: &Refusal) -> String {
    serde_json::to_string_pretty(&json!({ "question": question, "refused": refusal })).unwrap_or_default()
}

fn list<T: AsRef<str>>(page: &mut String, head: &str, texts: &[T], width: usize) {
    if texts.is_empty() {
        return;
    }
    *page += &format!("\n{head}\n");
    for text in texts {
        *page += &wrapped(&format!("- {}", text.as_ref()), width, INDENT, INDENT + 2);
    }
}

/// Names in one column, texts in the other.
fn pairs_of(page: &mut String, pairs: &[(&str, &str)], width: usize) {
    let longest = pairs.iter().map(|(name, _)| columns(name)).max().unwrap_or(0).min(40);
    for (name, text) in pairs {
        let gap = " ".repeat(longest.saturating_sub(columns(name)) + 2);
        *page += &wrapped_from(&format!("{}{name}{gap}", " ".repeat(INDENT)), text, width, INDENT + longest + 2);
    }
}

fn tabulated(table: &Table) -> String {
    let cell = |row: &Vec<String>, at: usize| row.get(at).map_or(0, |text| columns(text));
    let widths: Vec<usize> = (0..table.columns.len())
        .map(|at| table.rows.iter().map(|row| cell(row, at)).chain([cell(&table.columns, at)]).max().unwrap_or(0))
        .collect();
    let line = |row: &Vec<String>| {
        let padded = row.iter().zip(&widths).map(|(text, width)| {
            let gap = " ".repeat(width.saturating_sub(columns(text)));
            // Numbers stand under one another by their last digit.
            if text.starts_with(|c: char| c.is_ascii_digit() || "-≥>".contains(c)) && !text.contains(" to ") {
                format!("{gap}{text}")
            } else {
                format!("{text}{gap}")
            }
        });
        format!("  {}", padded.collect::<Vec<_>>().join("  ")).trim_end().to_owned() + "\n"
    };
    let rule: Vec<String> = widths.iter().map(|width| "─".repeat(*width)).collect();
    let mut text = line(&table.columns);
    text += &format!("  {}\n", rule.join("  "));
    table.rows.iter().for_each(|row| text += &line(row));
    text
}

fn wrapped(text: &str, width: usize, first: usize, rest: usize) -> String {
    wrapped_from(&" ".repeat(first), text, width, rest)
}

/// A text behind a beginning, broken between words, later lines set in. What belongs together (a number and its unit)
/// is not parted.
fn wrapped_from(begin: &str, text: &str, width: usize, rest: usize) -> String {
    let mut lines = Vec::new();
    let mut line = begin.to_owned();
    let mut empty = true;
    for word in together(text) {
        if !empty && columns(&line) + 1 + columns(&word) > width {
            lines.push(std::mem::replace(&mut line, " ".repeat(rest)));
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line += &word;
        empty = false;
    }
    lines.push(line);
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}

/// Words, with a number and the unit behind it as one; spaces that were doubled stay.
fn together(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let unit =
            !word.is_empty() && word.chars().count() <= 6 && !word.ends_with("and") && word != "to" && word != "at";
        let number = |last: &String| {
            last.ends_with(|c: char| c.is_ascii_digit())
                && last.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '(')
        };
        match words.last_mut() {
            Some(last) if unit && number(last) && !word.starts_with(|c: char| c.is_ascii_digit() || c == '(') => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn columns(text: &str) -> usize {
    text.chars().count()
}
