//! From a reading of the plan to a box to write in.

use crate::plan::{Bottle, Instrument, Numeric, Plan, Reading, Wants};

use super::label::Bottles;
use super::number;
use super::page::{Field, Input};
use super::verbs::instrument_name;

/// More cells than this are harder to fill than a plain box.
const MOST_CELLS: usize = 6;

/// The box of one reading.
pub(super) fn field(plan: &Plan, bottles: &Bottles, reading: &Reading) -> Field {
    let label = label(reading);
    let empty = Field {
        path: reading.path.clone(),
        label,
        target: String::new(),
        window: String::new(),
        stop: String::new(),
        instrument: String::new(),
        judged: false,
        input: Input::Text,
    };
    match &reading.wants {
        Wants::Number(numeric) => {
            let asked = asked(numeric);
            Field {
                target: numeric.target.as_ref().map_or_else(String::new, number::written),
                judged: !asked.is_empty(),
                window: asked,
                stop: stop(numeric),
                instrument: instrument(plan, numeric),
                input: number_box(plan, numeric),
                ..empty
            }
        }
        Wants::Tick => Field { input: Input::Tick { word: "seen, done".to_owned() }, ..empty },
        Wants::Choice(choices) => Field { input: Input::Choice { choices: choices.clone() }, ..empty },
        Wants::Count => Field { input: Input::Plain { unit: "(count)".to_owned() }, ..empty },
        Wants::Text => empty,
        Wants::Photograph => Field { input: Input::Photograph, ..empty },
        Wants::Bottle(bottle) => Field {
            instrument: bottle.sampler.clone(),
            input: Input::Bottle { id: bottles.id(&reading.path), wants: wants(bottle) },
            ..empty
        },
    }
}

/// The few words of a reading: its label, or its name where it has none.
pub(super) fn label(reading: &Reading) -> String {
    if reading.label.is_empty() { reading.name.clone() } else { reading.label.clone() }
}

/// What the number has to be: a tight window for what is set, a wide range for what is only measured.
pub(super) fn asked(numeric: &Numeric) -> String {
    let window = numeric.window.as_ref().and_then(|window| number::window(window, &numeric.unit, numeric.decimals));
    let expect = || numeric.expect.as_ref().and_then(|window| number::window(window, &numeric.unit, numeric.decimals));
    window.or_else(|| expect().map(|range| format!("expect {range}"))).unwrap_or_default()
}

/// The value that stops the run. A box with a window but no set value, such as a zero reading, has no use for it.
pub(super) fn stop(numeric: &Numeric) -> String {
    if numeric.window.is_some() && numeric.target.is_none() {
        return String::new();
    }
    numeric
        .stop
        .as_ref()
        .and_then(|limits| number::outside(limits, &numeric.unit, numeric.decimals))
        .map_or_else(String::new, |limit| format!("STOP {limit}"))
}

/// The instrument, in the words of the sheet.
pub(super) fn instrument(plan: &Plan, numeric: &Numeric) -> String {
    match numeric.instrument.as_deref() {
        Some(name) => format!("on {}", instrument_name(plan, name)),
        None => "no instrument named".to_owned(),
    }
}

/// One cell a digit where the magnitude is known, from the range of the instrument; otherwise a plain box.
fn number_box(plan: &Plan, numeric: &Numeric) -> Input {
    let unit = number::symbol(&numeric.unit);
    let known = numeric.instrument.as_deref().and_then(|name| plan.instruments.get(name));
    let Some((low, high)) = known.and_then(|known: &Instrument| number::span(&known.range.window, &numeric.unit))
    else {
        return Input::Plain { unit };
    };
    let whole = number::whole_digits(low.abs().max(high.abs()));
    let asked_below_zero =
        numeric.window.is_some_and(|window| window.low.is_some_and(|low| numeric.unit.from_si(low) < 0.0));
    let sign = low < 0.0 || asked_below_zero;
    if whole + numeric.decimals + usize::from(sign) > MOST_CELLS {
        return Input::Plain { unit };
    }
    Input::Comb { sign, whole, decimals: numeric.decimals, unit }
}

/// Flush, volume and dilution of a bottle, for its label.
pub(super) fn wants(bottle: &Bottle) -> String {
    let mut parts = Vec::new();
    if let Some(flush) = &bottle.flush {
        parts.push(format!("flush {}", number::written(flush)));
    }
    parts.push(format!("fill {}", number::written(&bottle.volume)));
    if let Some(factor) = bottle.dilution {
        parts.push(format!("dilute 1 to {factor}"));
    }
    parts.join(", ")
}
