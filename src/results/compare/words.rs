//! Numbers and lists in sentences.

use crate::quantity::Unit;
use crate::results::estimate::{Estimate, Outcome, rounded_bound};

/// Decimals that show a doubt of this size with one digit, or with two where the first is a 1 or a 2.
fn decimals(half: f64) -> usize {
    if !(half > 0.0 && half.is_finite()) {
        return 3;
    }
    let magnitude = half.log10().floor();
    let lead = half / 10_f64.powf(magnitude);
    let places = if lead < 3.0 { 1.0 - magnitude } else { -magnitude };
    places.clamp(0.0, 9.0) as usize
}

fn plain(value: f64, decimals: usize) -> String {
    // As in the report's tables: a half goes away from zero.
    let value = if decimals == 0 { value.round() } else { value };
    let text = format!("{value:.decimals$}");
    let nothing = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
    text.replace('-', if nothing { "" } else { "−" })
}

fn in_unit(si: f64, unit: &Unit) -> f64 {
    unit.from_si_difference(si)
}

fn with_unit(number: &str, unit: &Unit) -> String {
    format!("{number} {}", unit.text).trim_end().to_owned()
}

/// `18.2 kPa`, with as many digits as a doubt of this size leaves.
pub(crate) fn rounded(si: f64, half: f64, unit: &Unit) -> String {
    with_unit(&plain(in_unit(si, unit), decimals(in_unit(half, unit).abs())), unit)
}

/// The same of a difference: between shares it is percentage points.
pub(crate) fn difference(si: f64, half: f64, unit: &Unit) -> String {
    let text = rounded(si, half, unit);
    match text.strip_suffix(" %") {
        Some(number) => format!("{number} percentage points"),
        None => text,
    }
}

/// A set value: three significant digits, no zeros at the end.
pub(crate) fn set(si: f64, unit: &Unit) -> String {
    let value = in_unit(si, unit);
    let magnitude = if value == 0.0 { 0.0 } else { value.abs().log10().floor() };
    let mut text = plain(value, (2.0 - magnitude).clamp(0.0, 9.0) as usize);
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    with_unit(&text, unit)
}

/// `18.2 kPa (17.6 to 18.8)`.
pub(crate) fn estimate(estimate: &Estimate, unit: &Unit) -> String {
    let (value, interval) = parts(estimate, unit);
    format!("{value} ({interval})")
}

/// `18.2 kPa` and `17.6 to 18.8`.
pub(crate) fn parts(estimate: &Estimate, unit: &Unit) -> (String, String) {
    let (low, high) = (in_unit(estimate.interval.low, unit), in_unit(estimate.interval.high, unit));
    let places = decimals((high - low).abs() / 2.0);
    let value = with_unit(&plain(in_unit(estimate.value, unit), places), unit);
    (value, format!("{} to {}", plain(low, places), plain(high, places)))
}

/// Rounded so that the bound still holds.
pub(crate) fn bound(si: f64, unit: &Unit, down: bool) -> String {
    let (value, decimals) = rounded_bound(in_unit(si, unit), unit.text == "%", !down);
    with_unit(&plain(value, usize::try_from(decimals).unwrap_or(0)), unit)
}

/// What can be said of a quantity, in few words.
pub(crate) fn outcome(outcome: &Outcome, unit: &Unit) -> String {
    match outcome {
        Outcome::Known(known) => estimate(known, unit),
        Outcome::AtLeast { bound: least, .. } => format!("at least {}", bound(*least, unit, true)),
        Outcome::AtMost { bound: most, .. } => format!("at most {}", bound(*most, unit, false)),
        Outcome::Unsaid { .. } => "nothing can be said".to_owned(),
    }
}

/// A share as a percentage, with the digits that its doubt leaves.
pub(crate) fn per_cent(share: f64, half: f64) -> String {
    format!("{} %", plain(share * 100.0, decimals(half.abs() * 100.0)))
}

/// `K7, P9 and R4`.
pub(crate) fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}
