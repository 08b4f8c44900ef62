//! Our units in the codes of UCUM, the Unified Code for Units of Measure (Regenstrief Institute; case-sensitive codes, as in
//! the tables of its specification and in its file `ucum-essence.xml`). A test outside the program (`tests/package/validate.py`)
//! holds every code that is written, with its factor, against an independent reader of UCUM.
//!
//! What a unit says beyond its size (gauge or absolute, which calibration of particle sizes) stands in braces: an annotation,
//! which UCUM keeps free and which changes no value. Money has no code there and is an annotation alone, `{EUR}`.

use crate::quantity::{Dimension as D, Mark, Unit};

/// Each named unit and its code.
const NAMES: &[(&str, &str)] = &[
    ("m", "m"),
    ("cm", "cm"),
    ("mm", "mm"),
    ("µm", "um"),
    ("um", "um"),
    ("nm", "nm"),
    ("in", "[in_i]"),
    ("ft", "[ft_i]"),
    ("µm(c)", "um{c}"),
    ("um(c)", "um{c}"),
    ("µm(b)", "um{b}"),
    ("um(b)", "um{b}"),
    ("µm(ACFTD)", "um{ACFTD}"),
    ("um(ACFTD)", "um{ACFTD}"),
    ("L", "L"),
    ("mL", "mL"),
    ("µL", "uL"),
    ("uL", "uL"),
    ("US gal", "[gal_us]"),
    ("USgal", "[gal_us]"),
    ("US qt", "[qt_us]"),
    ("USqt", "[qt_us]"),
    ("US pt", "[pt_us]"),
    ("USpt", "[pt_us]"),
    ("US fl oz", "[foz_us]"),
    ("imp gal", "[gal_br]"),
    ("impgal", "[gal_br]"),
    ("imp qt", "[qt_br]"),
    ("impqt", "[qt_br]"),
    ("imp pt", "[pt_br]"),
    ("imppt", "[pt_br]"),
    ("imp fl oz", "[foz_br]"),
    ("US gpm", "[gal_us]/min"),
    ("USgpm", "[gal_us]/min"),
    ("imp gpm", "[gal_br]/min"),
    ("impgpm", "[gal_br]/min"),
    ("kg", "kg"),
    ("g", "g"),
    ("mg", "mg"),
    ("µg", "ug"),
    ("ug", "ug"),
    ("lb", "[lb_av]"),
    ("oz", "[oz_av]"),
    ("grain", "[gr]"),
    ("s", "s"),
    ("ms", "ms"),
    ("min", "min"),
    ("h", "h"),
    ("days", "d"),
    ("day", "d"),
    ("weeks", "wk"),
    ("week", "wk"),
    ("Hz", "Hz"),
    ("kHz", "kHz"),
    ("°C", "Cel"),
    ("degC", "Cel"),
    ("°F", "[degF]"),
    ("degF", "[degF]"),
    ("K", "K"),
    ("N", "N"),
    ("mN", "mN"),
    ("kN", "kN"),
    ("lbf", "[lbf_av]"),
    ("kgf", "kgf"),
    ("Pa", "Pa"),
    ("mPa", "mPa"),
    ("hPa", "hPa"),
    ("kPa", "kPa"),
    ("MPa", "MPa"),
    ("bar", "bar"),
    ("mbar", "mbar"),
    ("atm", "atm"),
    ("psi", "[psi]"),
    ("psig", "[psi]{gauge}"),
    ("psia", "[psi]{absolute}"),
    ("psid", "[psi]{differential}"),
    ("inH2O", "[in_i'H2O]"),
    ("inH₂O", "[in_i'H2O]"),
    ("mmH2O", "mm[H2O]"),
    ("mmH₂O", "mm[H2O]"),
    ("inHg", "[in_i'Hg]"),
    ("mmHg", "mm[Hg]"),
    ("cSt", "cSt"),
    ("St", "St"),
    ("cP", "cP"),
    ("P", "P"),
    ("reyn", "[psi].s"),
    ("J", "J"),
    ("kJ", "kJ"),
    ("W", "W"),
    ("kW", "kW"),
    ("hp", "[HP]"),
    ("particles", "{particle}"),
    ("particle", "{particle}"),
    ("counts", "{particle}"),
    ("count", "{particle}"),
    ("turns", "{turn}"),
    ("turn", "{turn}"),
    ("rev", "{turn}"),
    ("rpm", "{turn}/min"),
    ("S", "S"),
    ("pS", "pS"),
    ("%", "%"),
    ("% by mass", "%{mass}"),
    ("% by volume", "%{volume}"),
];

/// The coherent SI unit of each dimension that we have a quantity for.
const COHERENT: &[(D, &str)] = &[
    (D::NONE, "1"),
    (D::LENGTH, "m"),
    (D::AREA, "m2"),
    (D::VOLUME, "m3"),
    (D::MASS, "kg"),
    (D::TIME, "s"),
    (D::TEMPERATURE, "K"),
    (D::FLOW, "m3/s"),
    (D::VELOCITY, "m/s"),
    (D::DENSITY, "kg/m3"),
    (D::FORCE, "N"),
    (D::PRESSURE, "Pa"),
    (D::KINEMATIC_VISCOSITY, "m2/s"),
    (D::DYNAMIC_VISCOSITY, "Pa.s"),
    (D::TORQUE, "N.m"),
    (D::POWER, "W"),
    (D::HEAT_FLUX, "W/m2"),
    (D::SPECIFIC_HEAT, "J/kg/K"),
    (D::EXPANSION, "kg/m3/K"),
    (D::TEMPERATURE_RATE, "K/s"),
    (D::PRESSURE_RATE, "Pa/s"),
    (D::MASS_RATE, "kg/s"),
    (D::COUNT_CONCENTRATION, "{particle}/m3"),
    (D::PARTICLES, "{particle}"),
    (D::TURNS, "{turn}"),
    (D::SPEED, "{turn}/s"),
    (D::FREQUENCY, "Hz"),
    (D::SURFACE_TENSION, "N/m"),
    (D::CONDUCTANCE, "S"),
    (D::CONDUCTIVITY, "S/m"),
    (D::POWER.div(D::TEMPERATURE), "W/K"),
];

/// The code of a unit as it is written; `None` where UCUM has none, as for Saybolt seconds.
pub fn code(unit: &Unit) -> Option<String> {
    let text = unit.text.replace('μ', "µ").replace(['⋅', '∙'], "·");
    if let Mark::Currency(currency) = unit.mark {
        return (text == currency.to_string()).then(|| format!("{{{currency}}}"));
    }
    if unit.mark == Mark::Saybolt {
        return None;
    }
    for word in ["gauge", "absolute", "differential"] {
        if let Some(rest) = text.strip_suffix(word).and_then(|rest| rest.strip_suffix(' ')) {
            return Some(format!("{}{{{word}}}", expression(rest)?));
        }
    }
    expression(&text)
}

/// The code of the coherent SI unit in which a quantity with this unit is given.
pub fn coherent(unit: &Unit) -> Option<&'static str> {
    COHERENT.iter().find(|(dimension, _)| *dimension == unit.dimension).map(|(_, code)| *code)
}

fn expression(text: &str) -> Option<String> {
    if text.is_empty() {
        return Some("1".to_owned());
    }
    if let Some(code) = name(text) {
        return Some(code);
    }
    let text = text.strip_prefix("per ").map_or_else(|| text.to_owned(), |rest| format!("/{rest}"));
    let text = text.replace(" per ", "/");
    let mut parts = text.split('/').map(str::trim);
    let first = parts.next().unwrap_or_default();
    let mut code = if first.is_empty() { "{particle}".to_owned() } else { product(first)? };
    for part in parts {
        let (hundred, part) = part.strip_prefix("100 ").map_or((false, part), |rest| (true, rest));
        let below = product(part)?;
        let below = match (hundred, below.contains(['.', '/'])) {
            (true, false) => format!("(100.{below})"),
            (true, true) => format!("(100.({below}))"),
            (false, true) => format!("({below})"),
            (false, false) => below,
        };
        code = format!("{code}/{below}");
    }
    Some(code)
}

fn product(text: &str) -> Option<String> {
    let factors: Option<Vec<String>> = text.split(['·', '.']).map(name).collect();
    factors.map(|factors| factors.join("."))
}

/// One named unit, with a square or cube when it has one.
fn name(text: &str) -> Option<String> {
    let find = |text: &str| NAMES.iter().find(|(name, _)| *name == text).map(|(_, code)| (*code).to_owned());
    find(text).or_else(|| {
        let (base, power) = match text.strip_suffix(['²', '2']) {
            Some(base) => (base, 2),
            None => (text.strip_suffix(['³', '3'])?, 3),
        };
        find(base).map(|code| format!("{code}{power}"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_of_the_language_has_a_code() {
        for spelling in Unit::spellings() {
            let unit = Unit::parse(spelling).unwrap();
            if spelling == "SUS" {
                assert_eq!(code(&unit), None);
                continue;
            }
            assert!(code(&unit).is_some(), "{spelling} has no code");
            assert!(coherent(&unit).is_some(), "{spelling} has no coherent unit");
        }
    }

    #[test]
    fn compound_units_are_put_together() {
        let said = [
            ("kPa gauge", "kPa{gauge}"),
            ("mm²/s", "mm2/s"),
            ("kg/m³ per K", "kg/m3/K"),
            ("per mL", "{particle}/mL"),
            ("per 100 mL", "{particle}/(100.mL)"),
            ("N·m", "N.m"),
            ("rev/min", "{turn}/min"),
            ("L/min", "L/min"),
            ("mg/L", "mg/L"),
            ("EUR", "{EUR}"),
            ("W/K", "W/K"),
        ];
        for (text, expected) in said {
            assert_eq!(code(&Unit::parse(text).unwrap()).as_deref(), Some(expected), "{text}");
        }
    }
}
