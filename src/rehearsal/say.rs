//! Numbers as a rehearsal prints them: no more digits than a prediction deserves.

use crate::foresight::Span;
use crate::plan::Mark;
use crate::quantity::Unit;

/// So many significant digits, more before the point where there are more, no zeros at the end; thousands set apart. What is
/// left after a thousand turnovers of the tank is nothing.
pub(super) fn number(value: f64, digits: i32) -> String {
    if !value.is_finite() || value.abs() < 1e-9 {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor() as i32;
    let scale = 10_f64.powi(digits - 1 - magnitude);
    let rounded = (value * scale).round() / scale;
    let decimals = usize::try_from(digits - 1 - magnitude).unwrap_or(0);
    let mut text = format!("{rounded:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    grouped(&text)
}

/// `1 240 000` with narrow no-break spaces from five digits on.
fn grouped(text: &str) -> String {
    let (whole, rest) = text.split_once('.').map_or((text, ""), |(whole, rest)| (whole, rest));
    let (sign, digits) = whole.strip_prefix('-').map_or(("", whole), |digits| ("−", digits));
    let mut out = sign.to_owned();
    for (index, digit) in digits.chars().enumerate() {
        if digits.len() > 4 && index > 0 && (digits.len() - index) % 3 == 0 {
            out.push('\u{202f}');
        }
        out.push(digit);
    }
    if rest.is_empty() { out } else { format!("{out}.{rest}") }
}

/// A span of bare numbers: `12 to 19`, or `12` where both ends print alike.
pub(super) fn span(span: Span) -> String {
    let (low, high) = (number(span.low, 2), number(span.high, 2));
    if low == high { low } else { format!("{low} to {high}") }
}

/// A span in SI, in a unit (as differences; never a temperature).
pub(super) fn span_in(of: Span, unit: &Unit) -> String {
    format!("{} {unit}", span(in_unit(of, unit))).trim_end().to_owned()
}

pub(super) fn in_unit(of: Span, unit: &Unit) -> Span {
    Span { low: unit.from_si_difference(of.low), high: unit.from_si_difference(of.high) }
}

/// A value in SI, in a unit, with three digits.
pub(super) fn value_in(si: f64, unit: &Unit) -> String {
    format!("{} {unit}", number(unit.from_si_difference(si), 3)).trim_end().to_owned()
}

/// A share as a percentage.
pub(super) fn percent(share: f64) -> String {
    format!("{} %", number(share * 100.0, 2))
}

/// A time: minutes below two hours, then quarters of an hour, then whole hours.
pub(super) fn time(seconds: f64) -> String {
    let minutes = seconds / 60.0;
    if minutes < 10.0 {
        return format!("{} min", number(minutes, 2));
    }
    let step = if minutes < 120.0 { 5.0 } else { 15.0 };
    let rounded = (minutes / step).round() * step;
    let (hours, rest) = ((rounded / 60.0).floor(), rounded % 60.0);
    match (hours > 0.0, rest > 0.0) {
        (false, _) => format!("{rest} min"),
        (true, false) => format!("{hours} h"),
        (true, true) => format!("{hours} h {rest}"),
    }
}

/// From one time to another.
pub(super) fn times(of: Span) -> String {
    let (low, high) = (time(of.low), time(of.high));
    if low == high { low } else { format!("{low} to {high}") }
}

/// `1 run`, `3 runs`.
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Where a number comes from, in words.
pub(super) fn mark(mark: &Mark) -> String {
    let words = mark.words();
    if words.is_empty() { "no source given".to_owned() } else { words }
}

/// The same with two digits.
pub(super) fn value_2(si: f64, unit: &Unit) -> String {
    format!("{} {unit}", number(unit.from_si_difference(si), 2)).trim_end().to_owned()
}

/// A span of amounts that are added up rather than guessed: three digits.
pub(super) fn exact_span_in(of: Span, unit: &Unit) -> String {
    let of = in_unit(of, unit);
    let (low, high) = (number(of.low, 3), number(of.high, 3));
    let span = if low == high { low } else { format!("{low} to {high}") };
    format!("{span} {unit}").trim_end().to_owned()
}

/// A span of counts, of which those below a tenth are none.
pub(super) fn small_span(of: Span) -> String {
    let (low, high) = (tenth(of.low), tenth(of.high));
    if low == high { low } else { format!("{low}–{high}") }
}

fn tenth(value: f64) -> String {
    if value < 0.1 { "< 0.1".to_owned() } else { number(value, 2) }
}
