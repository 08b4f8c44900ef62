//! Numbers as a report prints them: as many digits as their interval deserves, never without it.

use crate::plan::{Accuracy, Bounds};
use crate::quantity::{Quantity, Unit};
use crate::results::{Estimate, Outcome, rounded_bound};

/// Nothing can be said, or nothing is there.
pub(super) const NOTHING: &str = "–";

/// A number with so many significant digits, no zeros at its end.
pub(super) fn number(value: f64, digits: i32) -> String {
    if !value.is_finite() {
        return NOTHING.to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let power = value.abs().log10().floor() as i32;
    if !(-4..=6).contains(&power) {
        return powered(value, digits);
    }
    trimmed(&fixed(value, digits - 1 - power))
}

/// `1.23 × 10¹⁰`.
pub(super) fn powered(value: f64, digits: i32) -> String {
    if !value.is_finite() || value == 0.0 {
        return number(value, digits);
    }
    let mut power = value.abs().log10().floor() as i32;
    let mut lead = value / 10_f64.powi(power);
    if fixed(lead, digits - 1).trim_start_matches('−').starts_with("10") {
        power += 1;
        lead /= 10.0;
    }
    let raised: String = power.to_string().chars().map(raise).collect();
    format!("{} × 10{raised}", fixed(lead, digits - 1))
}

fn raise(digit: char) -> char {
    match digit {
        '-' => '⁻',
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        '0' => '⁰',
        digit => char::from_u32('⁴' as u32 + digit as u32 - '4' as u32).unwrap_or(digit),
    }
}

/// With so many decimals; below none, rounded to tens, hundreds, … . A true minus sign, and no minus before nothing.
fn fixed(value: f64, decimals: i32) -> String {
    let scale = 10_f64.powi(decimals.min(0));
    let rounded = (value * scale).round() / scale;
    let decimals = usize::try_from(decimals.clamp(0, 9)).unwrap_or(0);
    let value = if decimals == 0 { rounded } else { value };
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

fn trimmed(text: &str) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text.to_owned() }
}

/// Decimals that show half an interval with two digits.
fn decimals(half: f64) -> i32 {
    if half > 0.0 && half.is_finite() { (1 - half.log10().floor() as i32).clamp(-6, 6) } else { 3 }
}

/// `16.2 ± 0.7`, or `99.1 (97.8 to 99.6)` where the interval is lopsided; without its unit.
pub(super) fn estimate(estimate: &Estimate, unit: &Unit) -> String {
    let at = |si: f64| unit.from_si_difference(si);
    let (value, low, high) = (at(estimate.value), at(estimate.interval.low), at(estimate.interval.high));
    if !value.is_finite() || !low.is_finite() || !high.is_finite() {
        return NOTHING.to_owned();
    }
    let (below, above) = (value - low, high - value);
    let half = below.max(above);
    if half <= 0.0 {
        return number(value, 4);
    }
    if (above - below).abs() <= 0.06 * half {
        let decimals = decimals(half);
        return format!("{} ± {}", fixed(value, decimals), fixed(half, decimals));
    }
    let decimals = decimals(half).max(decimals(below.min(above).max(half / 20.0)) - 1);
    format!("{} ({} to {})", fixed(value, decimals), fixed(low, decimals), fixed(high, decimals))
}

/// A value with the digits of a half interval or a standard uncertainty.
pub(super) fn by(si: f64, half: f64, unit: &Unit) -> String {
    let (value, half) = (unit.from_si_difference(si), unit.from_si_difference(half));
    if half > 0.0 { fixed(value, decimals(half)) } else { number(value, 3) }
}

/// `15.5 to 16.9`.
pub(super) fn interval((low, high): (f64, f64), unit: &Unit) -> String {
    let (low, high) = (unit.from_si_difference(low), unit.from_si_difference(high));
    let decimals = decimals((high - low) / 2.0);
    format!("{} to {}", fixed(low, decimals), fixed(high, decimals))
}

/// A bound, rounded to the side where it still holds.
fn bound(si: f64, unit: &Unit, upwards: bool) -> String {
    let (value, decimals) = rounded_bound(unit.from_si_difference(si), unit.to_string() == "%", upwards);
    if value.is_finite() { trimmed(&fixed(value, decimals)) } else { NOTHING.to_owned() }
}

/// What can be said, without its unit; `None` where nothing can.
pub(super) fn said(outcome: &Outcome, unit: &Unit) -> Option<String> {
    match outcome {
        Outcome::Known(known) => Some(estimate(known, unit)),
        Outcome::AtLeast { bound: least, .. } => Some(format!("≥ {}", bound(*least, unit, false))),
        Outcome::AtMost { bound: most, .. } => Some(format!("≤ {}", bound(*most, unit, true))),
        Outcome::Unsaid { .. } => None,
    }
}

/// Why no more can be said, where it is so.
pub(super) fn why(outcome: &Outcome) -> Option<&str> {
    match outcome {
        Outcome::Known(_) => None,
        Outcome::AtLeast { why, .. } | Outcome::AtMost { why, .. } | Outcome::Unsaid { why } => {
            Some(why.as_str()).filter(|why| !why.is_empty())
        }
    }
}

/// The same with its unit, or the reason why nothing can be said.
pub(super) fn whole(outcome: &Outcome, unit: &Unit) -> String {
    match said(outcome, unit) {
        Some(said) => with(&said, unit),
        None => format!("cannot be said: {}", why(outcome).unwrap_or("no reason is given")),
    }
}

/// A number and its unit.
pub(super) fn with(number: &str, unit: &Unit) -> String {
    format!("{number} {unit}").trim_end().to_owned()
}

/// A difference in SI, with so many digits; of shares in percentage points.
pub(super) fn difference(si: f64, unit: &Unit, digits: i32) -> String {
    if unit.to_string() == "%" {
        return format!("{} percentage points", number(unit.from_si_difference(si), digits));
    }
    value_in(si, unit, digits)
}

/// A value in SI in a unit, with so many digits.
pub(super) fn value_in(si: f64, unit: &Unit, digits: i32) -> String {
    with(&number(unit.from_si_difference(si), digits), unit)
}

/// Marks in cells and what they mean, each reason once.
#[derive(Debug, Default)]
pub(super) struct Reasons {
    seen: Vec<String>,
}

impl Reasons {
    /// `[1]` for a reason.
    pub(super) fn mark(&mut self, why: &str) -> String {
        let place = self.seen.iter().position(|seen| seen == why).unwrap_or_else(|| {
            self.seen.push(why.to_owned());
            self.seen.len() - 1
        });
        format!("[{}]", place + 1)
    }

    /// A cell of what can be said, with a mark where that is less than a value.
    pub(super) fn cell(&mut self, outcome: &Outcome, unit: &Unit) -> String {
        let said = said(outcome, unit).unwrap_or_else(|| NOTHING.to_owned());
        match why(outcome) {
            Some(why) => format!("{said} {}", self.mark(why)),
            None => said,
        }
    }

    pub(super) fn notes(self) -> Vec<String> {
        self.seen.into_iter().enumerate().map(|(place, why)| format!("[{}] {why}", place + 1)).collect()
    }
}

/// `1 run`, `3 runs`.
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [several @ .., last] => format!("{} and {last}", several.join(", ")),
    }
}

/// As written, with a true minus sign.
pub(super) fn quantity(quantity: &Quantity) -> String {
    let text = quantity.to_string();
    text.strip_prefix('-').map_or(text.clone(), |rest| format!("−{rest}"))
}

pub(super) fn bounds(bounds: &Bounds) -> String {
    match (&bounds.low, &bounds.high) {
        (Some(low), Some(high)) => format!("{} to {}", quantity(low), quantity(high)),
        (Some(low), None) => format!("at least {}", quantity(low)),
        (None, Some(high)) => format!("at most {}", quantity(high)),
        (None, None) => String::new(),
    }
}

pub(super) fn accuracy(accuracy: &Accuracy) -> String {
    let percent = |share: &f64| format!("{} %", number(share * 100.0, 3));
    match accuracy {
        Accuracy::OfSpan(share) => format!("{} of span", percent(share)),
        Accuracy::OfReading(share) => format!("{} of reading", percent(share)),
        Accuracy::Absolute(absolute) => quantity(absolute),
        Accuracy::WorstOf(several) => {
            format!("the largest of {}", listed(&several.iter().map(self::accuracy).collect::<Vec<_>>()))
        }
    }
}

/// Units that never stand at the beginning of a line without their number.
const UNITS: [&str; 22] = [
    "kPa", "Pa", "MPa", "psi", "bar", "L/min", "L", "mL", "gal", "gpm", "mm²/s", "mm", "°C", "°F", "K", "g", "mg",
    "kg", "s", "min", "h", "%",
];

/// A number and its unit on one line: a no-break space between them.
pub(super) fn kept_together(text: &str) -> String {
    let mut out = String::new();
    let mut last = ' ';
    for (at, character) in text.char_indices() {
        let unit = || {
            let rest = text.get(at + 1..).unwrap_or_default();
            let word = rest.split([' ', ',', ';', ':', ')']).next().unwrap_or_default();
            let word = word.strip_suffix('.').unwrap_or(word);
            UNITS.contains(&word) || word.starts_with("µm")
        };
        out.push(if character == ' ' && last.is_ascii_digit() && unit() { '\u{a0}' } else { character });
        last = character;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::confidence::Interval;

    fn known(value: f64, low: f64, high: f64) -> Outcome {
        Outcome::Known(Estimate::with_interval(value, 1.0, Interval { low, high }, Vec::new()))
    }

    #[test]
    fn digits_follow_the_interval() {
        let kilopascal = Unit::parse("kPa").unwrap();
        assert_eq!(said(&known(16_234.0, 15_534.0, 16_934.0), &kilopascal).unwrap(), "16.23 ± 0.70");
        assert_eq!(said(&known(1_234_567.0, 1_134_567.0, 1_334_567.0), &kilopascal).unwrap(), "1230 ± 100");
        assert_eq!(said(&known(-20.0, -80.0, 40.0), &kilopascal).unwrap(), "−0.020 ± 0.060");
        let percent = Unit::parse("%").unwrap();
        assert_eq!(said(&known(0.9912, 0.978, 0.9963), &percent).unwrap(), "99.1 (97.8 to 99.6)");
    }

    #[test]
    fn a_bound_is_rounded_to_where_it_holds() {
        let percent = Unit::parse("%").unwrap();
        let least = Outcome::AtLeast { bound: 0.999_37, why: String::new() };
        assert_eq!(said(&least, &percent).unwrap(), "≥ 99.937");
        let gram = Unit::parse("g").unwrap();
        assert_eq!(said(&Outcome::AtLeast { bound: 0.012_349, why: String::new() }, &gram).unwrap(), "≥ 12.3");
        assert_eq!(said(&Outcome::AtMost { bound: 0.012_341, why: String::new() }, &gram).unwrap(), "≤ 12.4");
    }

    #[test]
    fn a_number_keeps_its_unit() {
        assert_eq!(kept_together("5 min at 60 °C, 3 s. 7 pairs"), "5\u{a0}min at 60\u{a0}°C, 3\u{a0}s. 7 pairs");
    }

    #[test]
    fn powers_carry() {
        assert_eq!(powered(9.996e9, 3), "1.00 × 10¹⁰");
        assert_eq!(number(0.000_012_3, 3), "1.23 × 10⁻⁵");
        assert_eq!(number(12.50, 4), "12.5");
    }
}
