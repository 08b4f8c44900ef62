//! A proposal for a mapping, to be looked through and pasted; it is never used by itself.

use std::io::Read;

use super::lines::{Lines, cells};
use super::rows::heading;
use crate::plan::Plan;
use crate::quantity::Unit;

/// Lines for the campaign, made from a file's first lines: every column with the instrument that may be meant. A column
/// whose instrument or unit is open stands in a remark.
pub fn guess(plan: &Plan, stream: impl Read) -> String {
    let mut lines = Lines::new(stream);
    let first = match lines.next_line() {
        Ok(Some(line)) => line.bytes.to_vec(),
        _ => return "The file has no line that could be a heading.".to_owned(),
    };
    let count = |separator| cells(&first, separator, |_, _| {});
    let (mut separator, mut word) = (b',', "comma");
    for (other, name) in [(b';', "semicolon"), (b'\t', "tabs")] {
        if count(other) > count(separator) {
            (separator, word) = (other, name);
        }
    }
    let names = match heading(&first, separator) {
        Ok(names) => names,
        Err(trouble) => return trouble.help,
    };
    let mut second = Vec::new();
    if let Ok(Some(line)) = lines.next_line() {
        cells(line.bytes, separator, |_, cell| second.push(String::from_utf8_lossy(cell).trim().to_owned()));
    }
    // Below a heading stand either units or numbers.
    let unit_row = second.iter().any(|cell| Unit::parse(cell.trim_matches(['[', ']', '(', ')'])).is_ok());
    let mut text = format!(
        "a proposal, to be looked through line by line; nothing was read with it:\n  logger bench-log \"\" {{\n    separated by {word}\n"
    );
    if separator != b',' && second.iter().any(|cell| cell.contains(',')) {
        text.push_str("    decimal comma\n");
    }
    if unit_row {
        text.push_str("    units below heading\n");
    }
    for (at, name) in names.iter().enumerate() {
        let below = second.get(at).map_or("", String::as_str);
        if at == 0 {
            let line = if below.contains(':') {
                format!("    time \"{name}\" as date and time\n")
            } else {
                format!("    time \"{name}\" as seconds, zero at \"YYYY-MM-DD hh:mm:ss\"\n")
            };
            text.push_str(&line);
            continue;
        }
        let (bare, bracket) = name.split_once(['[', '(']).unwrap_or((name, ""));
        let unit =
            if unit_row { below.trim_matches(['[', ']', '(', ')']) } else { bracket.trim_end_matches([']', ')']) };
        let folded = |text: &str| text.to_lowercase().replace([' ', '_', '-'], "");
        let column = folded(bare);
        let meant: Vec<&String> = plan
            .instruments
            .values()
            .filter(|i| !column.is_empty() && (folded(&i.name).contains(&column) || folded(&i.title).contains(&column)))
            .map(|i| &i.name)
            .collect();
        match (meant.as_slice(), Unit::parse(unit)) {
            ([instrument], Ok(_)) => text.push_str(&format!("    channel \"{name}\" is {instrument}, in \"{unit}\"\n")),
            _ => text.push_str(&format!("    # channel \"{name}\" is …, in \"{unit}\"\n")),
        }
    }
    text.push_str("  }");
    text
}
