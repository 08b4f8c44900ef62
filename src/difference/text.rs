//! A difference in words, for people.

use std::fmt::Write;

use super::{Change, Difference, Kind};

/// Changes of one sort that are told before the rest is only counted.
const TOLD: usize = 25;

/// Steps that are named where many have the same change.
const NAMED: usize = 2;

/// The whole difference. `everything` tells every change and every step.
pub fn text(difference: &Difference, everything: bool) -> String {
    let mut text = String::new();
    let (old, new) = (&difference.old, &difference.new);
    if difference.same {
        let _written = writeln!(text, "The plans mean the same: fingerprint {}.", new.fingerprint);
    } else {
        let _written = writeln!(text, "The plans differ: fingerprint {} became {}.", old.fingerprint, new.fingerprint);
    }
    for section in &difference.sections {
        let _written = writeln!(text, "\n{}", section.title);
        let told = if everything { usize::MAX } else { TOLD };
        for change in section.changes.iter().take(told) {
            let _written = writeln!(text, "  {}", line(change, everything));
        }
        if section.changes.len() > told {
            let _written = writeln!(text, "  … and {} more; --all tells them", section.changes.len() - told);
        }
    }
    text
}

fn line(change: &Change, everything: bool) -> String {
    let sign = match change.kind {
        Kind::Added => "+",
        Kind::Removed => "-",
        Kind::Changed => "~",
        Kind::Moved => "moved:",
    };
    let mut line = format!("{sign} {}", change.what);
    match (&change.old, &change.new) {
        (Some(old), Some(new)) => {
            let _written = write!(line, ": {old} → {new}");
        }
        (Some(value), None) if change.kind == Kind::Changed => {
            let _written = write!(line, ": {value} → nothing");
        }
        (None, Some(value)) if change.kind == Kind::Changed => {
            let _written = write!(line, ": nothing → {value}");
        }
        (Some(value), None) | (None, Some(value)) => {
            let _written = write!(line, ": {value}");
        }
        (None, None) => {}
    }
    let named = if everything { usize::MAX } else { NAMED };
    let paths: Vec<&str> = change.paths.iter().take(named).map(String::as_str).collect();
    match change.paths.len() {
        0 => {}
        count if count <= paths.len() => {
            let _written = write!(line, "  [{}]", paths.join(", "));
        }
        count => {
            let _written = write!(line, "  [{}, and {} more]", paths.join(", "), count - paths.len());
        }
    }
    line
}
