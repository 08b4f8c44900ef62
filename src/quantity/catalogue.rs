//! The units that have a name of their own, with their factors to coherent SI.
//!
//! Every factor is exact by definition: the international yard and pound (1959: 1 in = 25.4 mm, 1 lb = 0.45359237 kg),
//! the US gallon of 231 in³, the imperial gallon of 4.54609 L, g_n = 9.80665 m/s² (3rd CGPM, 1901). Columns of liquid
//! are the conventional ones: water of 1000 kg/m³, mercury of 13595.1 kg/m³ (NIST SP 811, B.8).

use super::dimension::Dimension as D;
use super::unit::{Mark, SizeBasis};

/// A named unit: its spellings (the preferred one first), factor to SI as a fraction, dimension, mark.
pub(super) struct Named {
    pub(super) spellings: &'static [&'static str],
    pub(super) factor: (i128, i128),
    pub(super) dimension: D,
    pub(super) mark: Mark,
}

const fn plain(spellings: &'static [&'static str], factor: (i128, i128), dimension: D) -> Named {
    Named { spellings, factor, dimension, mark: Mark::None }
}

const fn marked(spellings: &'static [&'static str], factor: (i128, i128), dimension: D, mark: Mark) -> Named {
    Named { spellings, factor, dimension, mark }
}

/// 1 lbf/in² in Pa: 0.45359237 × 9.80665 / 0.0254².
const PSI: (i128, i128) = (8_896_443_230_521, 1_290_320_000);

/// Parts in a thousand, a million, a thousand million.
const MILLI: i128 = 1_000;
const MICRO: i128 = 1_000_000;
const NANO: i128 = 1_000_000_000;

/// All named units.
pub(super) static NAMED: &[Named] = &[
    // Length.
    plain(&["m"], (1, 1), D::LENGTH),
    plain(&["cm"], (1, 100), D::LENGTH),
    plain(&["mm"], (1, MILLI), D::LENGTH),
    plain(&["µm", "um"], (1, MICRO), D::LENGTH),
    plain(&["nm"], (1, NANO), D::LENGTH),
    plain(&["in"], (127, 5_000), D::LENGTH),
    plain(&["ft"], (381, 1_250), D::LENGTH),
    marked(&["µm(c)", "um(c)"], (1, MICRO), D::LENGTH, Mark::Basis(SizeBasis::Iso11171C)),
    marked(&["µm(b)", "um(b)"], (1, MICRO), D::LENGTH, Mark::Basis(SizeBasis::Iso11171B)),
    marked(&["µm(ACFTD)", "um(ACFTD)"], (1, MICRO), D::LENGTH, Mark::Basis(SizeBasis::Acftd)),
    // Volume. 1 US gal = 231 in³; 1 imp gal = 4.54609 L.
    plain(&["L"], (1, MILLI), D::VOLUME),
    plain(&["mL"], (1, MICRO), D::VOLUME),
    plain(&["µL", "uL"], (1, NANO), D::VOLUME),
    plain(&["US gal", "USgal"], (473_176_473, 125_000_000_000), D::VOLUME),
    plain(&["US qt", "USqt"], (473_176_473, 500_000_000_000), D::VOLUME),
    plain(&["US pt", "USpt"], (473_176_473, 1_000_000_000_000), D::VOLUME),
    plain(&["US fl oz"], (473_176_473, 16_000_000_000_000), D::VOLUME),
    plain(&["imp gal", "impgal"], (454_609, 100_000_000), D::VOLUME),
    plain(&["imp qt", "impqt"], (454_609, 400_000_000), D::VOLUME),
    plain(&["imp pt", "imppt"], (454_609, 800_000_000), D::VOLUME),
    plain(&["imp fl oz"], (454_609, 16_000_000_000), D::VOLUME),
    // Flow of pumps, by their names.
    plain(&["US gpm", "USgpm"], (473_176_473, 7_500_000_000_000), D::FLOW),
    plain(&["imp gpm", "impgpm"], (454_609, 6_000_000_000), D::FLOW),
    // Mass. 1 lb = 0.45359237 kg, 16 oz or 7000 grains to the pound.
    plain(&["kg"], (1, 1), D::MASS),
    plain(&["g"], (1, MILLI), D::MASS),
    plain(&["mg"], (1, MICRO), D::MASS),
    plain(&["µg", "ug"], (1, NANO), D::MASS),
    plain(&["lb"], (45_359_237, 100_000_000), D::MASS),
    plain(&["oz"], (45_359_237, 1_600_000_000), D::MASS),
    plain(&["grain"], (6_479_891, 100_000_000_000), D::MASS),
    // Time.
    plain(&["s"], (1, 1), D::TIME),
    plain(&["ms"], (1, MILLI), D::TIME),
    plain(&["min"], (60, 1), D::TIME),
    plain(&["h"], (3_600, 1), D::TIME),
    plain(&["days", "day"], (86_400, 1), D::TIME),
    plain(&["weeks", "week"], (604_800, 1), D::TIME),
    plain(&["Hz"], (1, 1), D::FREQUENCY),
    plain(&["kHz"], (1_000, 1), D::FREQUENCY),
    // Temperature; the zero points stand in `Unit::zero`.
    marked(&["°C", "degC"], (1, 1), D::TEMPERATURE, Mark::TemperaturePoint),
    marked(&["°F", "degF"], (5, 9), D::TEMPERATURE, Mark::TemperaturePoint),
    marked(&["K"], (1, 1), D::TEMPERATURE, Mark::TemperaturePoint),
    // Force and pressure.
    plain(&["N"], (1, 1), D::FORCE),
    plain(&["mN"], (1, MILLI), D::FORCE),
    plain(&["kN"], (1_000, 1), D::FORCE),
    plain(&["lbf"], (8_896_443_230_521, 2_000_000_000_000), D::FORCE),
    plain(&["kgf"], (980_665, 100_000), D::FORCE),
    plain(&["Pa"], (1, 1), D::PRESSURE),
    plain(&["mPa"], (1, MILLI), D::PRESSURE),
    plain(&["hPa"], (100, 1), D::PRESSURE),
    plain(&["kPa"], (1_000, 1), D::PRESSURE),
    plain(&["MPa"], (1_000_000, 1), D::PRESSURE),
    plain(&["bar"], (100_000, 1), D::PRESSURE),
    plain(&["mbar"], (100, 1), D::PRESSURE),
    plain(&["atm"], (101_325, 1), D::PRESSURE),
    plain(&["psi"], PSI, D::PRESSURE),
    marked(&["psig"], PSI, D::PRESSURE, Mark::Gauge),
    marked(&["psia"], PSI, D::PRESSURE, Mark::Absolute),
    marked(&["psid"], PSI, D::PRESSURE, Mark::Differential),
    plain(&["inH2O", "inH₂O"], (24_908_891, 100_000), D::PRESSURE),
    plain(&["mmH2O", "mmH₂O"], (980_665, 100_000), D::PRESSURE),
    plain(&["inHg"], (3_386_388_640_341, 1_000_000_000), D::PRESSURE),
    plain(&["mmHg"], (133_322_387_415, 1_000_000_000), D::PRESSURE),
    // Viscosity.
    plain(&["cSt"], (1, MICRO), D::KINEMATIC_VISCOSITY),
    plain(&["St"], (1, 10_000), D::KINEMATIC_VISCOSITY),
    marked(&["SUS"], (1, 1), D::KINEMATIC_VISCOSITY, Mark::Saybolt),
    plain(&["cP"], (1, MILLI), D::DYNAMIC_VISCOSITY),
    plain(&["P"], (1, 10), D::DYNAMIC_VISCOSITY),
    plain(&["reyn"], PSI, D::DYNAMIC_VISCOSITY),
    // Energy and power. 1 hp = 550 ft·lbf/s.
    plain(&["J"], (1, 1), D::TORQUE),
    plain(&["kJ"], (1_000, 1), D::TORQUE),
    plain(&["W"], (1, 1), D::POWER),
    plain(&["kW"], (1_000, 1), D::POWER),
    plain(&["hp"], (37_284_993_579_113_511, 50_000_000_000_000), D::POWER),
    // Counts, turns, electricity, parts.
    plain(&["particles", "particle", "counts", "count"], (1, 1), D::PARTICLES),
    plain(&["turns", "turn", "rev"], (1, 1), D::TURNS),
    plain(&["rpm"], (1, 60), D::SPEED),
    plain(&["S"], (1, 1), D::CONDUCTANCE),
    plain(&["pS"], (1, 1_000_000_000_000), D::CONDUCTANCE),
    plain(&["%"], (1, 100), D::NONE),
    marked(&["% by mass"], (1, 100), D::NONE, Mark::MassFraction),
    marked(&["% by volume"], (1, 100), D::NONE, Mark::VolumeFraction),
];

/// The named unit with this spelling.
pub(super) fn find(spelling: &str) -> Option<&'static Named> {
    NAMED.iter().find(|named| named.spellings.contains(&spelling))
}

/// Words for measures that are a fifth larger in imperial than in US measure.
pub(super) fn is_gallon_without_country(word: &str) -> bool {
    const WORDS: [&str; 16] = [
        "gal",
        "gals",
        "gallon",
        "gallons",
        "gpm",
        "gph",
        "qt",
        "qts",
        "quart",
        "quarts",
        "pt",
        "pint",
        "pints",
        "fl oz",
        "floz",
        "fluid ounces",
    ];
    WORDS.contains(&word.to_lowercase().as_str())
}
