//! Units against their published factors, kinds and their refusals, windows.

use loopleaf::quantity::{
    Interval, Kind, Mark, Mismatch, NumberError, Quantity, Ratio, Unit, UnitError, Window, inward, read_number,
};
use proptest::prelude::*;

fn unit(text: &str) -> Unit {
    Unit::parse(text).unwrap_or_else(|error| panic!("{text}: {error:?}"))
}

fn quantity(number: &str, text: &str) -> Quantity {
    Quantity::new(number, unit(text)).unwrap()
}

/// Published factors: from one unit, to another, the exact fraction.
/// NIST SP 811 (2008) App. B: exact by definition (1959 yard and pound, 231 in³ US gallon, g_n = 9.80665 m/s²).
const FACTORS: &[(&str, &str, i128, i128)] = &[
    ("in", "mm", 127, 5),
    ("US gal", "L", 473_176_473, 125_000_000),
    ("US qt", "L", 473_176_473, 500_000_000),
    ("US fl oz", "mL", 473_176_473, 16_000_000),
    ("in3", "mL", 2_048_383, 125_000),
    ("US gal/min", "L/min", 473_176_473, 125_000_000),
    ("US gpm", "L/min", 473_176_473, 125_000_000),
    ("imp gal", "L", 454_609, 100_000),
    ("lb", "kg", 45_359_237, 100_000_000),
    ("oz", "g", 45_359_237, 1_600_000),
    ("grain", "mg", 6_479_891, 100_000),
    ("lbf", "N", 8_896_443_230_521, 2_000_000_000_000),
    ("psi", "Pa", 8_896_443_230_521, 1_290_320_000),
    ("psi", "kPa", 8_896_443_230_521, 1_290_320_000_000),
    ("psi", "bar", 8_896_443_230_521, 129_032_000_000_000),
    ("bar", "psi", 129_032_000_000_000, 8_896_443_230_521),
    ("bar", "kPa", 100, 1),
    ("atm", "Pa", 101_325, 1),
    ("kgf/cm2", "Pa", 196_133, 2),
    ("lbf/in²", "psi", 1, 1),
    ("cSt", "mm²/s", 1, 1),
    ("cP", "mPa·s", 1, 1),
    ("reyn", "Pa.s", 8_896_443_230_521, 1_290_320_000),
    ("ft2/s", "mm2/s", 2_322_576, 25),
    ("lb/ft3", "kg/m3", 28_349_523_125, 1_769_802_912),
    ("lbf.ft", "N.m", 3_389_544_870_828_501, 2_500_000_000_000_000),
    ("hp", "W", 37_284_993_579_113_511, 50_000_000_000_000),
    ("inH2O", "Pa", 24_908_891, 100_000),
    ("mmHg", "Pa", 133_322_387_415, 1_000_000_000),
    ("mg/L", "kg/m³", 1, 1_000),
    ("g/mL", "kg/m³", 1_000, 1),
    ("g/cm³", "kg/m³", 1_000, 1),
    ("m³/h", "L/min", 50, 3),
    ("W/cm²", "W/cm2", 1, 1),
    ("per mL", "per 100 mL", 100, 1),
    ("particles/mL", "counts per mL", 1, 1),
    ("mN/m", "N/m", 1, 1_000),
    ("rpm", "rev/min", 1, 1),
];

#[test]
fn factors_are_the_published_fractions() {
    for (from, to, numerator, denominator) in FACTORS {
        let (from, to) = (unit(from), unit(to));
        assert_eq!(from.dimension, to.dimension, "{from} {to}");
        let factor = from.factor.over(to.factor);
        assert_eq!(factor, Ratio::new(*numerator, *denominator), "{from} {to}");
    }
}

#[test]
fn a_psi_is_right_to_the_last_bit() {
    assert_eq!(quantity("1", "psi").si(), 8_896_443_230_521.0 / 1_290_320_000.0);
    assert_eq!(quantity("250", "mL").convert(&unit("L"), false), Ok(0.25));
    assert_eq!(quantity("7", "%").si(), 0.07);
}

/// NIST SP 811: tF = 1.8 tC + 32.
#[test]
fn temperatures_as_points() {
    for (celsius, fahrenheit) in [(-40.0, -40.0), (0.0, 32.0), (40.0, 104.0), (50.0, 122.0), (100.0, 212.0)] {
        assert_eq!(unit("°F").convert(fahrenheit, &unit("°C"), false), Ok(celsius));
        assert_eq!(unit("degC").convert(celsius, &unit("degF"), false), Ok(fahrenheit));
        assert!((unit("°C").to_si(celsius) - (celsius + 273.15)).abs() < 1e-12);
    }
    for (fahrenheit, kelvin) in
        [(60.0, 288.705_555_555_556), (100.0, 310.927_777_777_778), (210.0, 372.038_888_888_889)]
    {
        assert!((unit("°F").to_si(fahrenheit) - kelvin).abs() < 1e-9);
    }
}

#[test]
fn temperatures_as_differences_have_no_offset() {
    let tolerance = quantity("2", "°C");
    assert_eq!(tolerance.convert(&unit("°F"), true), Ok(3.6));
    assert_eq!(tolerance.si_difference(), 2.0);
    assert!((quantity("1", "°F").si_difference() - 0.555_555_555_555_556).abs() < 1e-12);
    assert_eq!(Kind::TemperatureDifference.si(&tolerance), 2.0);
    assert_eq!(Kind::Temperature.si(&tolerance), 275.15);
}

#[test]
fn gallons_say_which() {
    for word in ["gal", "gpm", "qt", "gal/min", "gallons", "fl oz", "gallons per minute", "min/gal"] {
        assert!(matches!(Unit::parse(word), Err(UnitError::WhichGallon { .. })), "{word}");
    }
    let imperial = quantity("1", "imp gal").convert(&unit("US gal"), false).unwrap();
    assert!((imperial - 1.200_949_925_504_855).abs() < 1e-14);
    assert!(unit("impgal/min").same_as(&unit("imp gpm")));
}

#[test]
fn pressures_keep_their_reference() {
    assert_eq!(unit("psig").mark, Mark::Gauge);
    assert!(unit("psia").same_as(&unit("psi absolute")));
    assert!(quantity("1", "kPa gauge").convert(&unit("kPa"), false).is_err());
    assert_eq!(quantity("1", "bar differential").convert(&unit("kPa"), false), Ok(100.0));
    assert!(Unit::parse("psig gauge").is_err());
    assert!(Unit::parse("L gauge").is_err());
    assert!(Unit::parse("kPa gauge/min").is_err());
}

#[test]
fn unknown_units_come_with_suggestions() {
    for (written, meant) in [
        ("l/min", "L/min"),
        ("KPa", "kPa"),
        ("ml", "mL"),
        ("litres", "L"),
        ("degrees", "°C"),
        ("seconds", "s"),
        ("microns", "µm(c)"),
        ("litres per minute", "L/min"),
        ("kpa gauge", "kPa gauge"),
        ("kPa abs", "kPa absolute"),
        ("mm2/sec", "mm2/s"),
        ("percent", "%"),
        ("centistoke", "cSt"),
        ("ft-lb", "lbf·ft"),
        ("pSi", "psi"),
        ("kilogramms", "kg"),
        ("SSU", "SUS"),
        ("usd", ""),
    ] {
        let Err(UnitError::Unknown { suggestions, .. }) = Unit::parse(written) else { panic!("{written} is known") };
        assert_eq!(suggestions.first().map_or("", String::as_str), meant, "{written}");
    }
}

#[test]
fn nonsense_is_refused_quietly() {
    for text in [
        "/",
        "per",
        "//",
        "L/",
        "·",
        ".",
        "%%",
        "°C²",
        "USD²",
        "EUR/USD",
        "SUS/min",
        "/s",
        "m4",
        "100",
        "100 mL",
        "per 100",
        "µm(c)/min",
        "L min",
        " per mL per mL",
        "🦀",
        "kPa·",
        "in/",
        &"m·".repeat(20),
        &"x".repeat(10_000),
    ] {
        assert!(matches!(Unit::parse(text), Err(UnitError::Unknown { .. })), "{text}");
    }
    assert_eq!(Unit::parse("  "), Err(UnitError::Empty));
    assert!(unit("μm").same_as(&unit("µm")), "Greek mu and micro sign");
}

#[test]
fn every_kind_takes_its_own_unit_and_example() {
    for kind in Kind::ALL.iter().copied() {
        assert_eq!(kind.accepts(&kind.usual_unit()), Ok(()), "{kind}");
        assert_eq!(kind.usual_unit().text, kind.usual());
        assert_eq!(Kind::from_word(kind.word()), Some(kind));
        assert_eq!(kind.usual_unit().dimension, kind.dimension());
        let (number, written) = kind.example().split_once(' ').unwrap_or((kind.example(), ""));
        assert!(read_number(number).is_ok(), "{kind}");
        assert_eq!(written, kind.usual(), "{kind}");
    }
}

#[test]
fn kinds_refuse_with_the_reason() {
    let refusal = |kind: Kind, text: &str| kind.accepts(&unit(text)).unwrap_err();
    assert_eq!(Kind::DifferentialPressure.accepts(&unit("kPa")), Ok(()));
    assert_eq!(Kind::DifferentialPressure.accepts(&unit("psid")), Ok(()));
    assert!(matches!(
        refusal(Kind::DifferentialPressure, "psig"),
        Mismatch::WrongReference { found: Kind::GaugePressure, .. }
    ));
    assert!(matches!(refusal(Kind::GaugePressure, "kPa"), Mismatch::WhichPressure { .. }));
    assert!(matches!(refusal(Kind::AbsolutePressure, "kPa gauge"), Mismatch::WrongReference { .. }));
    assert!(matches!(refusal(Kind::GaugePressure, "kPa differential"), Mismatch::WrongReference { .. }));
    assert_eq!(refusal(Kind::ParticleSize, "µm"), Mismatch::WhichSize);
    assert!(matches!(refusal(Kind::Length, "µm(c)"), Mismatch::WrongKind { found: Some(Kind::ParticleSize), .. }));
    assert!(matches!(refusal(Kind::KinematicViscosity, "mPa·s"), Mismatch::NeedsDensity { .. }));
    assert_eq!(Kind::KinematicViscosity.accepts(&unit("SUS")), Ok(()));
    assert_eq!(Kind::CountConcentration.accepts(&Unit::none()), Err(Mismatch::PerWhatVolume));
    assert_eq!(refusal(Kind::CountConcentration, "particles"), Mismatch::PerWhatVolume);
    assert!(matches!(refusal(Kind::MassFraction, "%"), Mismatch::WhichFraction { .. }));
    assert!(matches!(refusal(Kind::MassFraction, "% by volume"), Mismatch::WhichFraction { .. }));
    assert_eq!(Kind::MassFraction.accepts(&unit("mg/kg")), Ok(()));
    assert!(matches!(Kind::Flow.accepts(&Unit::none()), Err(Mismatch::NoUnit { .. })));
    assert_eq!(refusal(Kind::Flow, "kPa").to_string(), "a flow is expected, not a differential pressure");
    assert_eq!(Kind::TemperatureDifference.accepts(&unit("°F")), Ok(()));
    assert_eq!(Kind::of(&unit("EUR")), Some(Kind::Money));
    assert_eq!(Kind::of(&unit("EUR/L")), None);
    assert_eq!(Kind::GaugePressure.difference(), Kind::DifferentialPressure);
}

#[test]
fn saybolt_has_no_factor() {
    let viscosity = quantity("100", "SUS");
    assert!(viscosity.si().is_nan());
    assert!(viscosity.convert(&unit("mm²/s"), false).is_err());
    assert_eq!(viscosity.convert(&unit("SUS"), false), Ok(100.0));
}

#[test]
fn numbers_as_the_language_writes_them() {
    for (text, value) in [("0.800", 0.8), ("5", 5.0), ("-12.5", -12.5), ("−3", -3.0)] {
        assert_eq!(read_number(text), Ok(value));
    }
    for (text, error) in [
        ("1,250", NumberError::Comma),
        (".5", NumberError::BarePoint),
        ("5.", NumberError::BarePoint),
        ("", NumberError::NotANumber),
        ("1e3", NumberError::NotANumber),
        ("1.2.3", NumberError::NotANumber),
        ("inf", NumberError::NotANumber),
        (".", NumberError::NotANumber),
        ("--1", NumberError::NotANumber),
        (&"9".repeat(400), NumberError::NotANumber),
    ] {
        assert_eq!(read_number(text), Err(error), "{text}");
    }
    let dose = quantity("0.800", "g");
    assert_eq!((dose.to_string().as_str(), dose.decimals()), ("0.800 g", 3));
    assert_eq!(Quantity::from_si(313.149, &unit("°C"), 1).to_string(), "40.0 °C");
    assert_eq!(Quantity::rounded(-0.04, &unit("kPa"), 1).to_string(), "0.0 kPa");
    assert_eq!(Quantity::new("3", Unit::none()).unwrap().to_string(), "3");
}

#[test]
fn units_travel_as_text() {
    let dose = quantity("0.800", "g");
    let text = serde_json::to_string(&dose).unwrap();
    assert_eq!(text, r#"{"number":"0.800","value":0.8,"unit":"g"}"#);
    assert_eq!(serde_json::from_str::<Quantity>(&text).unwrap(), dose);
}

#[test]
fn windows_are_rounded_inward() {
    let window = Window::between(273.15 + 57.23, 273.15 + 61.88);
    let (low, high) = inward(&window, &unit("°C"), 1, false);
    assert_eq!((low.unwrap().to_string(), high.unwrap().to_string()), ("57.3 °C".into(), "61.8 °C".into()));
    // Ends that are round already stay.
    let (low, high) = inward(&Window::around(333.15, 2.0), &unit("°C"), 0, false);
    assert_eq!((low.unwrap().number, high.unwrap().number), ("58".into(), "62".into()));
    // A window narrower than a step keeps more decimals.
    let (low, high) = inward(&Window::between(333.16, 333.18), &unit("°C"), 0, false);
    assert_eq!((low.unwrap().number, high.unwrap().number), ("60.01".into(), "60.03".into()));
    assert_eq!(inward(&Window::default(), &unit("kPa"), 0, false), (None, None));
}

#[test]
fn windows_hold_their_ends() {
    assert!(Window::around(333.15, 2.0).contains(unit("°C").to_si(62.0)));
    assert!(Window::around(0.8e-3, 0.01e-3).contains(unit("g").to_si(0.79)));
    assert!(!Window::at_most(1.0).contains(1.000_001));
    assert!(!Window::default().contains(f64::NAN));
    assert!(Window::at_least(2.0).and(Window::at_most(1.0)).is_empty());
    assert_eq!(Interval::new(1.0, 2.0).minus(Interval::point(0.5)), Interval::new(0.5, 1.5));
}

fn any_unit() -> impl Strategy<Value = Unit> {
    let texts: Vec<&str> = Kind::ALL.iter().map(|kind| kind.usual()).filter(|text| !text.is_empty()).collect();
    let more = ["psig", "US gpm", "imp gal", "°F", "inHg", "lb/ft³", "hp", "µm(ACFTD)", "mg/kg", "ft²/s"];
    prop::sample::select([texts, more.to_vec()].concat()).prop_map(unit)
}

proptest! {
    #[test]
    fn there_and_back(unit in any_unit(), value in -1e6_f64..1e6) {
        let near = |one: f64, other: f64| (one - other).abs() <= 1e-9 * other.abs().max(1.0);
        prop_assert!(near(unit.from_si(unit.to_si(value)), value));
        prop_assert!(near(unit.from_si_difference(unit.to_si_difference(value)), value));
    }

    #[test]
    fn any_text_is_a_unit_or_an_error(text in "\\PC{0,20}") {
        if let Ok(unit) = Unit::parse(&text) {
            prop_assert!(unit.factor.to_f64() > 0.0);
        }
    }

    #[test]
    fn unit_like_text_is_a_unit_or_an_error(parts in prop::collection::vec(prop::sample::select(vec![
        "L", "min", "/", " per ", "·", " ", "100", "µm", "(c)", "gal", "kPa", "gauge", "²", "3", "°C", "%", "by mass", "US",
    ]), 0..8)) {
        let text = parts.concat();
        match Unit::parse(&text) {
            Ok(unit) => prop_assert_eq!(unit.text.as_str(), text.trim()),
            Err(UnitError::Unknown { suggestions, .. }) => {
                for suggestion in suggestions {
                    prop_assert!(Unit::parse(&suggestion).is_ok(), "{} for {}", suggestion, text);
                }
            }
            Err(_) => {}
        }
    }

    #[test]
    fn a_printed_window_is_never_wider(unit in any_unit(), centre in -1e4_f64..1e4, half in 1e-3_f64..1e2, decimals in 0_usize..4) {
        let window = Window::between(unit.to_si(centre - half), unit.to_si(centre + half));
        let (low, high) = inward(&window, &unit, decimals, false);
        let (low, high) = (low.unwrap(), high.unwrap());
        prop_assert!(window.contains(low.si()), "{} in {:?}", low, window);
        prop_assert!(window.contains(high.si()), "{} in {:?}", high, window);
        prop_assert!(low.value <= high.value);
    }

    #[test]
    fn a_written_number_keeps_its_digits(whole in 0_u32..1_000_000, decimals in "[0-9]{1,6}") {
        let text = format!("{whole}.{decimals}");
        let quantity = Quantity::new(&text, unit("g")).unwrap();
        prop_assert_eq!(quantity.to_string(), format!("{text} g"));
        prop_assert_eq!(quantity.decimals(), decimals.len());
    }
}
