//! Numbers with units, as the audit compares and prints them.

use crate::plan::{Instrument, Numeric, Plan};
use crate::quantity::{Dimension, Mark, Quantity, Unit, Window, inward};

/// A value in a unit, in SI.
pub(crate) fn to_si(unit: &Unit, value: f64) -> f64 {
    unit.to_si(value)
}

/// A written quantity in SI.
pub(crate) fn si(quantity: &Quantity) -> f64 {
    quantity.si()
}

/// A unit that a record names, understood beside the planned one; `None` where it is no unit or another kind of one.
/// At the bench nobody writes what a pressure is measured against: `psi` in a gauge pressure's row is a gauge pressure.
pub(crate) fn unit_like(written: &str, planned: &Unit) -> Option<Unit> {
    let unit = match Unit::parse(written) {
        Ok(unit) => unit,
        // `PSI`, `KPA`: capitals are no other unit where only one unit of this kind has these letters.
        Err(_) => {
            let listed = mistakable(planned).into_iter().map(|(unit, _)| unit).chain([planned.clone()]);
            let mut fitting = listed.filter(|unit| unit.text.eq_ignore_ascii_case(written));
            return fitting.next().filter(|_| fitting.next().is_none());
        }
    };
    if unit.convert(1.0, planned, false).is_ok() {
        return Some(unit);
    }
    let reference = match planned.mark {
        Mark::Gauge => "gauge",
        Mark::Absolute => "absolute",
        _ => return None,
    };
    let unit = Unit::parse(&format!("{written} {reference}")).ok()?;
    unit.convert(1.0, planned, false).is_ok().then_some(unit)
}

/// Whether two units give the same numbers.
pub(crate) fn same_numbers(one: &Unit, other: &Unit) -> bool {
    one.dimension == other.dimension && one.factor == other.factor && one.offset == other.offset
}

/// A value in SI as a person reads it: in the unit, with so many decimals.
pub(crate) fn text(unit: &Unit, si: f64, decimals: usize) -> String {
    Quantity::from_si(si, unit, decimals).to_string()
}

/// A value in SI in a unit, with about four digits.
pub(crate) fn amount(unit: &Unit, si: f64) -> String {
    text(unit, si, fitting(unit.from_si(si)))
}

/// A difference in SI in a unit, with about four digits.
pub(crate) fn difference(unit: &Unit, si: f64) -> String {
    Quantity::from_si_difference(si, unit, fitting(unit.from_si_difference(si))).to_string()
}

/// Decimals for about four digits.
fn fitting(value: f64) -> usize {
    match value.abs() {
        size if size >= 1000.0 => 0,
        size if size >= 100.0 => 1,
        size if size >= 1.0 => 2,
        _ => 3,
    }
}

/// A window as it is printed beside a reading: `55.0 to 65.0 kPa`, `at most 40 kPa`.
pub(crate) fn window(window: &Window, unit: &Unit, decimals: usize) -> String {
    let (low, high) = inward(window, unit, decimals, false);
    match (low, high) {
        (Some(low), Some(high)) => format!("{} to {high}", low.number),
        (Some(low), None) => format!("at least {low}"),
        (None, Some(high)) => format!("at most {high}"),
        (None, None) => "any value".to_owned(),
    }
}

/// The instrument that the plan names for a reading.
pub(crate) fn instrument<'a>(plan: &'a Plan, numeric: &Numeric) -> Option<&'a Instrument> {
    plan.instruments.get(numeric.instrument.as_ref()?)
}

/// Units that are found on benches beside a planned one, with how unlikely each is to be taken for it (a negative
/// logarithm). Where two mean the same the first is meant.
pub(crate) fn mistakable(planned: &Unit) -> Vec<(Unit, f64)> {
    const UNITS: &[(Dimension, &[(&str, f64)])] = &[
        (
            Dimension::PRESSURE,
            &[
                ("psi", 0.8),
                ("kPa", 0.8),
                ("bar", 0.8),
                ("mbar", 1.3),
                ("MPa", 1.8),
                ("Pa", 2.0),
                ("inH2O", 2.2),
                ("inHg", 4.0),
                ("mmH2O", 4.0),
                ("mmHg", 4.5),
            ],
        ),
        (Dimension::TEMPERATURE, &[("°F", 0.6), ("°C", 0.6), ("K", 2.5)]),
        (
            Dimension::FLOW,
            &[
                ("US gpm", 0.8),
                ("L/min", 0.8),
                ("imp gpm", 1.6),
                ("mL/min", 1.2),
                ("m³/h", 1.2),
                ("L/h", 1.8),
                ("L/s", 2.2),
            ],
        ),
        (
            Dimension::VOLUME,
            &[
                ("mL", 0.8),
                ("L", 0.8),
                ("US gal", 1.0),
                ("imp gal", 1.6),
                ("US qt", 2.0),
                ("US fl oz", 2.2),
                ("imp fl oz", 2.8),
            ],
        ),
        (Dimension::MASS, &[("mg", 0.8), ("g", 0.8), ("kg", 1.0), ("oz", 1.6), ("lb", 1.6), ("grain", 2.4)]),
        (Dimension::LENGTH, &[("mm", 0.8), ("in", 0.8), ("cm", 1.0), ("m", 1.6)]),
        (Dimension::TORQUE, &[("N·m", 0.8), ("lbf·ft", 0.8), ("lbf·in", 1.2)]),
        (Dimension::TIME, &[("s", 0.8), ("min", 0.8), ("h", 1.4)]),
        (Dimension::KINEMATIC_VISCOSITY, &[("mm²/s", 0.8), ("m²/s", 2.5)]),
    ];
    let listed = UNITS.iter().find(|(dimension, _)| *dimension == planned.dimension);
    listed
        .into_iter()
        .flat_map(|(_, units)| units.iter())
        .filter_map(|(text, cost)| Some((unit_like(text, planned)?, *cost)))
        .filter(|(unit, _)| !same_numbers(unit, planned) && unit.is_linear())
        .collect()
}
