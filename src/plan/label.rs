//! The labels of bottles. Worksheet, form and audit take them from here, so that what is printed, typed and checked is
//! the same.

use indexmap::IndexMap;

use super::{Run, Test, Wants};

/// Letters and digits that are not taken for one another in oily handwriting; a prime number of them.
const CHECK: &[u8; 29] = b"23456789ABCDEFGHJKMNPQRSTVWXY";

/// The labels of a run's bottles in the order in which they are drawn, by the path of the reading that draws each.
pub fn bottle_labels(run: &Run, test: &Test) -> IndexMap<String, String> {
    let readings = test.steps.iter().flat_map(|step| &step.readings);
    let drawn = readings.filter(|reading| matches!(reading.wants, Wants::Bottle(_)));
    drawn.zip(1..).map(|(reading, number)| (reading.path.clone(), bottle_label(&run.code, number))).collect()
}

/// The label of a run's bottle of this number, such as `R01-03-K`: run, bottle, check character. The character catches
/// every single wrong digit and every pair of neighbouring digits swapped: characters are weighted by their place,
/// modulo 29.
pub fn bottle_label(run: &str, number: u32) -> String {
    let body = format!("{run}-{number:02}");
    format!("{body}-{}", check(&body))
}

/// Whether the check character of a label is the one that the rest asks for. A letter `T` (twin) or `K` (to keep) behind
/// it is not part of it.
pub fn is_label(written: &str) -> bool {
    let written = written.trim().to_ascii_uppercase();
    written.rsplit_once('-').is_some_and(|(body, last)| last.starts_with(check(body)))
}

/// Whether two labels are the same for a person: capitals, blanks and dashes do not matter.
pub fn same_label(one: &str, other: &str) -> bool {
    let plain = |text: &str| -> String {
        text.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
    };
    plain(one) == plain(other)
}

fn check(body: &str) -> char {
    let sum = body
        .bytes()
        .filter(u8::is_ascii_alphanumeric)
        .zip(1_u32..)
        .map(|(byte, place)| (place % 29) * u32::from(byte))
        .fold(0_u32, |sum, term| (sum + term) % 29);
    CHECK.get(sum as usize).copied().map_or('?', char::from)
}
