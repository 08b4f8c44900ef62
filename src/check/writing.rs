//! How numbers are written: one unit for one quantity, and no more digits than the instrument shows.

use indexmap::IndexMap;

use super::say::below;
use super::{Also, Findings, Moment, finding, instruments};
use crate::diagnostic::Code;
use crate::plan::{Action, Instrument, Measures, Plan, Wants, is_fahrenheit};
use crate::quantity::{Quantity, Unit};

/// Instruments that show one quantity in unlike units.
pub(super) fn campaign(plan: &Plan, findings: &mut Findings) {
    let mut first: IndexMap<&str, &Instrument> = IndexMap::new();
    for (name, read) in instruments::in_use(plan) {
        let Some(instrument) = plan.instruments.get(name).filter(|i| !i.is_role) else { continue };
        let quantity = quantity(instrument.measures);
        let Some(family) = family(instrument.measures, &instrument.unit) else { continue };
        let Some(other) = first.get(quantity).copied() else {
            first.insert(quantity, instrument);
            continue;
        };
        if self::family(other.measures, &other.unit) == Some(family) {
            continue;
        }
        let (one, two) = (&other.unit, &instrument.unit);
        findings.add(
            finding(
                Code::MixedUnits,
                format!(
                    "{quantity} is read in `{one}` with `{}` and in `{two}` with `{}`",
                    other.name, instrument.name
                ),
                instrument.origin,
                format!("reads in {two}"),
            )
            .and(other.origin, format!("reads in {one}"))
            .and(read, "read here")
            .help(format!(
                "read both in {one}: switch `{}` over, and write its range, resolution and accuracy in {one}",
                instrument.name
            )),
        );
    }
}

/// What is compared with one another, whatever it is measured against.
fn quantity(measures: Measures) -> &'static str {
    match measures {
        Measures::DifferentialPressure | Measures::GaugePressure | Measures::AbsolutePressure => "pressure",
        other => other.words(),
    }
}

/// Units whose numbers differ by tens only, and are not mistaken for each other, are of one family.
fn family(measures: Measures, unit: &Unit) -> Option<&'static str> {
    let text = unit.text.as_str();
    let has = |part: &str| text.contains(part);
    Some(match measures {
        Measures::DifferentialPressure | Measures::GaugePressure | Measures::AbsolutePressure => {
            if has("psi") {
                "psi"
            } else if has("bar") {
                "bar"
            } else if has("Pa") {
                "Pa"
            } else if has("H2O") || has("H₂O") {
                "water"
            } else {
                "mercury"
            }
        }
        Measures::Temperature if is_fahrenheit(unit) => "Fahrenheit",
        Measures::Temperature => "Celsius",
        Measures::Flow | Measures::Volume => {
            if has("US") {
                "US"
            } else if has("imp") {
                "imperial"
            } else if has("ft") || has("in") && !has("min") {
                "cubic"
            } else {
                "litre"
            }
        }
        Measures::Mass => {
            if has("lb") || has("oz") || has("grain") {
                "pound"
            } else {
                "gram"
            }
        }
        Measures::Torque => {
            if has("lbf") {
                "pound"
            } else {
                "newton"
            }
        }
        _ => return None,
    })
}

/// A set value that its instrument cannot show.
pub(super) fn step(moment: &Moment<'_, '_>, findings: &mut Findings) {
    // A temperature that follows from a viscosity is computed, not written.
    if matches!(moment.step.action, Action::HoldViscosity(_)) {
        return;
    }
    for reading in &moment.step.readings {
        let Wants::Number(number) = &reading.wants else { continue };
        let (Some(target), Some(name)) = (&number.target, &number.instrument) else { continue };
        let Some(instrument) = moment.plan.instruments.get(name).filter(|i| !i.is_role) else { continue };
        if !target.unit.same_as(&instrument.unit) || target.decimals() <= instrument.decimals {
            continue;
        }
        let steps = target.value / step_of(instrument);
        let is_shown = (steps - steps.round()).abs() < 1e-6 * steps.abs().max(1.0);
        // A window that is finer than the instrument is the graver fault, and is said elsewhere.
        let narrow = number
            .window
            .and_then(|w| w.width())
            .is_some_and(|w| below(w / 2.0, 2.0 * instrument.resolution.si_difference()));
        if is_shown || narrow || !steps.is_finite() {
            continue;
        }
        let shown = Quantity::rounded(steps.round() * step_of(instrument), &target.unit, instrument.decimals);
        findings.add(
            finding(
                Code::TooManyDigits,
                format!("{target} is to be set, and `{name}` shows steps of {}", instrument.resolution),
                moment.step.origin,
                "this value",
            )
            .and(instrument.origin, format!("resolution {}", instrument.resolution))
            .help(format!("write `{shown}`")),
        );
    }
}

/// The resolution in the unit of the scale.
fn step_of(instrument: &Instrument) -> f64 {
    instrument.unit.from_si_difference(instrument.resolution.si_difference())
}
