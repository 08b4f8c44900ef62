//! What happens to a report when something is taken out of what it follows from: it says something else, or stops.

use std::fs;
use std::path::Path;

use super::command::{ferry, typed};
use crate::commands::call;
use crate::found::every_change;

/// What a report says, without its number and the hashes of its inputs: these change with every byte.
fn said(folder: &Path) -> String {
    let (out, err, exit) = call(&typed(folder, &["loopleaf", "report", "FERRY", "--plain", "--date", "2026-11-25"]));
    let hashed = |line: &&str| {
        let last = line.split_whitespace().next_back().unwrap_or("");
        !(line.contains("LR-") || last.len() == 64 && last.bytes().all(|byte| byte.is_ascii_hexdigit()))
    };
    format!("{exit:?}\n{}\n{err}", out.lines().filter(hashed).collect::<Vec<_>>().join("\n"))
}

/// Changes a file, reports, and puts the file back.
fn after(folder: &Path, file: &Path, change: impl FnOnce(&str) -> Option<String>) -> String {
    let before = fs::read_to_string(file).unwrap();
    match change(&before) {
        Some(text) => fs::write(file, text).unwrap(),
        None => fs::remove_file(file).unwrap(),
    }
    let said = said(folder);
    fs::write(file, before).unwrap();
    said
}

/// Every one where all are asked for, else so many of them, evenly.
fn some<T: Clone>(all: &[T], normally: usize) -> Vec<T> {
    let step = if every_change() { 1 } else { (all.len() / normally).max(1) };
    all.iter().skip(step / 2).step_by(step).cloned().collect()
}

#[test]
fn without_one_run_it_says_less() {
    let folder = ferry("without-a-run", true);
    let whole = said(&folder);
    let runs: Vec<u32> = (1..=17).collect();
    for run in some(&runs, 4) {
        let file = folder.join(format!("records/R{run:02}.csv"));
        assert!(after(&folder, &file, |_| None) != whole, "the report does without R{run:02}");
    }
}

#[test]
fn without_one_answer_to_a_departure_it_says_so() {
    let folder = ferry("without-an-answer", true);
    let whole = said(&folder);
    let file = folder.join("records/answers.csv");
    let rows = fs::read_to_string(&file).unwrap().lines().count();
    let rows: Vec<usize> = (2..rows).collect();
    for row in some(&rows, 4) {
        let without = after(&folder, &file, |text| {
            let kept = text.lines().enumerate().filter(|(at, _)| *at != row).map(|(_, line)| format!("{line}\n"));
            Some(kept.collect())
        });
        assert!(without != whole, "the report does without row {row} of the answers");
    }
}

/// One digit is left out of a written value: of all values of all runs, evenly taken.
#[test]
fn without_one_digit_it_says_something_else() {
    let folder = ferry("without-a-digit", true);
    let whole = said(&folder);
    let mut places: Vec<(String, usize)> = Vec::new();
    for run in 1..=17 {
        let name = format!("records/R{run:02}.csv");
        let text = fs::read_to_string(folder.join(&name)).unwrap();
        let lines = text.lines().enumerate();
        let numbers = lines.filter(|(_, line)| value(line).is_some_and(|value| value.parse::<f64>().is_ok()));
        places.extend(numbers.map(|(at, _)| (name.clone(), at)));
    }
    let mut silent = Vec::new();
    let places = some(&places, 14);
    for (index, (name, row)) in places.iter().enumerate() {
        let mut changed = String::new();
        let now = after(&folder, &folder.join(name), |text| {
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            let line = lines[*row].clone();
            // A zero at the beginning or the end is a digit too, and without it the number is the same.
            let without = |at: usize| {
                let mut other = line.clone();
                other.remove(at);
                other
            };
            let number = |line: &str| value(line).and_then(|value| value.parse::<f64>().ok());
            let digits = (0..line.len()).filter(|at| within(&line, *at));
            let digits: Vec<usize> = digits.filter(|at| number(&without(*at)) != number(&line)).collect();
            if digits.is_empty() {
                return Some(text.to_owned());
            }
            lines[*row] = without(digits[index % digits.len()]);
            changed = format!("{name}: {line}\n  as {}", lines[*row]);
            Some(lines.join("\n") + "\n")
        });
        if now == whole && !changed.is_empty() {
            silent.push(changed);
        }
    }
    assert!(silent.is_empty(), "{} of {} are not noticed:\n{}", silent.len(), places.len(), silent.join("\n"));
}

/// The place of the value in a row of a record that has no quotation marks before it.
fn value_at(line: &str) -> Option<std::ops::Range<usize>> {
    let ends: Vec<usize> = line.match_indices(',').map(|(at, _)| at).collect();
    let quoted = line.find('"').is_some_and(|at| ends.get(7).is_some_and(|end| at < *end));
    (!quoted).then_some(())?;
    Some(ends.get(6)? + 1..*ends.get(7)?)
}

fn value(line: &str) -> Option<&str> {
    line.get(value_at(line)?)
}

fn within(line: &str, at: usize) -> bool {
    value_at(line).is_some_and(|place| place.contains(&at)) && line.as_bytes()[at].is_ascii_digit()
}
