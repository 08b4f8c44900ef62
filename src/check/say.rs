//! Numbers in messages, and the numbers that a bench's rules set.

use crate::plan::{Origin, Plan};
use crate::quantity::{Quantity, Unit};

/// Towards which side a number is rounded, so that what a message proposes is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Round {
    Near,
    Down,
    Up,
}

/// A value in SI, in a unit, with three significant digits; a temperature is a point.
pub(super) fn point(si: f64, unit: &Unit, round: Round) -> String {
    written(unit.from_si(si), unit, round)
}

/// The same for a difference.
pub(super) fn difference(si: f64, unit: &Unit, round: Round) -> String {
    written(unit.from_si_difference(si), unit, round)
}

fn written(value: f64, unit: &Unit, round: Round) -> String {
    format!("{} {unit}", number(value, round)).trim_end().to_owned()
}

/// Three significant digits, more before the point where there are more, no zeros at the end.
pub(super) fn number(value: f64, round: Round) -> String {
    if !value.is_finite() || value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor() as i32;
    let decimals = (2 - magnitude).clamp(0, 9);
    let scale = 10_f64.powi(decimals);
    // What is a whole number of digits already is not pushed to the next one by the last bit of a float.
    let scaled = value * scale;
    let near = scaled.round();
    let rounded = if (scaled - near).abs() < 1e-6 * near.abs().max(1.0) {
        near
    } else {
        match round {
            Round::Near => near,
            Round::Down => scaled.floor(),
            Round::Up => scaled.ceil(),
        }
    };
    let mut text = format!("{:.*}", usize::try_from(decimals).unwrap_or(0), rounded / scale);
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    text
}

/// A share as a percentage.
pub(super) fn percent(share: f64, round: Round) -> String {
    format!("{} %", number(share * 100.0, round))
}

/// Whether a value is above another by more than arithmetic alone explains.
pub(super) fn above(value: f64, bound: f64) -> bool {
    value > bound + 1e-9 * bound.abs().max(value.abs())
}

/// Whether it is below.
pub(super) fn below(value: f64, bound: f64) -> bool {
    above(bound, value)
}

/// A number from the packs in force, with the line that says it, or the built-in one.
pub(super) struct Rule {
    pub(super) value: f64,
    pub(super) origin: Option<Origin>,
}

/// A share, a count, a pressure, a time: whatever has no zero of its own.
pub(super) fn rule(plan: &Plan, name: &str, built_in: f64) -> Rule {
    look_up(plan, name, built_in, Quantity::si_difference)
}

/// A temperature as a point on the scale, in K.
pub(super) fn temperature_rule(plan: &Plan, name: &str, built_in: f64) -> Rule {
    look_up(plan, name, built_in, Quantity::si)
}

fn look_up(plan: &Plan, name: &str, built_in: f64, si: impl Fn(&Quantity) -> f64) -> Rule {
    match plan.rules.look_up(name) {
        Some(found) if si(&found.value).is_finite() => Rule { value: si(&found.value), origin: Some(found.origin) },
        _ => Rule { value: built_in, origin: None },
    }
}
