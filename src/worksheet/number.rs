//! Numbers as they are printed. Windows are rounded inward to what the instrument shows.

use crate::plan::Bounds;
use crate::quantity::{Dimension, Quantity, Unit, Window, inward};

/// Nobody writes more decimals than this; what has more was computed.
const WRITTEN_DECIMALS: usize = 4;

/// A quantity as it was written, with a true minus sign. What was computed and never written is shortened: a time to
/// minutes and seconds, all else to four decimals.
pub(super) fn written(quantity: &Quantity) -> String {
    if quantity.decimals() <= WRITTEN_DECIMALS {
        return minus(&quantity.to_string());
    }
    if quantity.unit.dimension == Dimension::TIME {
        return time(quantity.si());
    }
    minus(&format!("{} {}", plain(quantity.value), quantity.unit))
}

/// Seconds as a watch shows them: `2 h 5 min`, `5 min 50 s`, `12.5 s`.
fn time(seconds: f64) -> String {
    if seconds < 60.0 {
        return format!("{} s", plain((seconds * 10.0).round() / 10.0));
    }
    let whole = seconds.round();
    let (hours, minutes, rest) = ((whole / 3600.0).floor(), (whole % 3600.0 / 60.0).floor(), whole % 60.0);
    let parts = [(hours, "h"), (minutes, "min"), (rest, "s")];
    parts
        .iter()
        .filter(|(count, _)| *count > 0.0)
        .map(|(count, unit)| format!("{count} {unit}"))
        .collect::<Vec<_>>()
        .join(" ")
}

/// The unit of a quantity, as it stands beside a box.
pub(super) fn unit_of(quantity: &Quantity) -> String {
    symbol(&quantity.unit)
}

/// A unit as it stands beside a box.
pub(super) fn symbol(unit: &Unit) -> String {
    unit.to_string()
}

/// A bare number with no more digits than it needs.
pub(super) fn plain(value: f64) -> String {
    let text = format!("{value:.4}");
    minus(text.trim_end_matches('0').trim_end_matches('.'))
}

fn minus(text: &str) -> String {
    match text.strip_prefix('-') {
        Some(rest) => format!("−{rest}"),
        None => text.to_owned(),
    }
}

/// A window in a unit: `39.2 … 40.8 L/min`, `at least 12 L`, `at most 65 °C`; nothing where it demands nothing.
pub(super) fn window(window: &Window, unit: &Unit, decimals: usize) -> Option<String> {
    if !unit.is_linear() {
        return None;
    }
    match inward(window, unit, decimals, false) {
        (Some(low), Some(high)) => Some(format!("{} … {}", minus(&low.number), written(&high))),
        (Some(low), None) => Some(format!("at least {}", written(&low))),
        (None, Some(high)) => Some(format!("at most {}", written(&high))),
        (None, None) => None,
    }
}

/// A window in the unit of its target, with as many decimals as show it exactly, at most three more than the target has.
pub(super) fn window_like(limits: &Window, target: &Quantity) -> Option<String> {
    let exact = |decimals: usize| {
        limits.low.iter().chain(&limits.high).all(|end| {
            let rounded = Quantity::from_si(*end, &target.unit, decimals).si();
            (rounded - end).abs() <= 1e-9 * end.abs()
        })
    };
    let least = target.decimals();
    let decimals = (least..least + 3).find(|decimals| exact(*decimals)).unwrap_or(least + 3);
    window(limits, &target.unit, decimals)
}

/// What lies outside some limits: `above 250 kPa`, `below 12 L`.
pub(super) fn outside(limits: &Window, unit: &Unit, decimals: usize) -> Option<String> {
    if !unit.is_linear() {
        return None;
    }
    let (low, high) = inward(limits, unit, decimals, false);
    let low = low.map(|low| format!("below {}", written(&low)));
    let high = high.map(|high| format!("above {}", written(&high)));
    match (low, high) {
        (Some(low), Some(high)) => Some(format!("{low}, {high}")),
        (one, other) => one.or(other),
    }
}

/// A temperature in kelvin and its window, in the unit that the bench reads.
pub(super) fn temperature(kelvin: f64, limits: &Window, unit: &Unit, decimals: usize) -> (String, String) {
    let at = written(&Quantity::from_si(kelvin, unit, decimals));
    let range = window(limits, unit, decimals).unwrap_or_else(|| at.clone());
    (at, range)
}

/// Both ends of a range in a unit, where it has both.
pub(super) fn span(range: &Window, unit: &Unit) -> Option<(f64, f64)> {
    let ends = (unit.from_si(range.low?), unit.from_si(range.high?));
    (ends.0.is_finite() && ends.1.is_finite()).then_some(ends)
}

/// How many digits stand before the point of the largest value.
pub(super) fn whole_digits(largest: f64) -> usize {
    // Half a millionth above a power of ten is still that power: 100.00000001 has three digits, and so has 99.9999999.
    format!("{:.0}", (largest.abs() + 1e-6).floor()).len()
}

/// Bounds as written.
pub(super) fn bounds(bounds: &Bounds) -> String {
    match (&bounds.low, &bounds.high) {
        (Some(low), Some(high)) => format!("{} to {}", written(low), written(high)),
        (Some(low), None) => format!("at least {}", written(low)),
        (None, Some(high)) => format!("at most {}", written(high)),
        (None, None) => "any".to_owned(),
    }
}
