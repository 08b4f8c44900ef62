//! `loopleaf reckon units`: a number in every unit of its kind, and the slip that explains a number nobody expected.

use clap::Args;

use super::input::{joined, number_and_unit, quantity, range, si, viscosity_si};
use super::view::{Answer, Refusal, Value, sig, trimmed};
use crate::audit;
use crate::quantity::{Dimension, Kind, Mark, Quantity, SizeBasis, Unit, Window};
use crate::trade::size_scale::{C_PER_B, Correspondence, Scale};
use crate::trade::viscosity::saybolt_universal;

pub(super) const EXAMPLES: &str = "\
Examples:
  loopleaf reckon units 8.7 psi
  loopleaf reckon units 150 SUS at 100 F --density 870 kg/m3
  loopleaf reckon units 8.7 expected 55 to 65 kPa      what happened to a number that was read";

const QUESTION: &str = "units";

#[derive(Debug, Args)]
pub(super) struct Options {
    /// A number and its unit; or a number, the word `expected`, and the two ends with their unit
    #[arg(required = true, num_args = 1.., value_name = "NUMBER UNIT", allow_negative_numbers = true)]
    number: Vec<String>,
    /// Density, to go between mm²/s and mPa·s
    #[arg(long, num_args = 1.., value_name = "DENSITY")]
    density: Vec<String>,
}

/// The units in use beside one another, by what they measure.
const IN_USE: &[(Dimension, &[&str])] = &[
    (Dimension::PRESSURE, &["kPa", "bar", "psi", "mbar", "MPa", "Pa", "inH2O", "mmH2O", "inHg", "mmHg", "atm"]),
    (Dimension::FLOW, &["L/min", "L/h", "L/s", "m³/h", "mL/min", "US gpm", "imp gpm"]),
    (Dimension::VOLUME, &["L", "mL", "m³", "US gal", "US qt", "US fl oz", "imp gal", "imp pt", "imp fl oz"]),
    (Dimension::MASS, &["g", "mg", "kg", "µg", "grain", "oz", "lb"]),
    (Dimension::LENGTH, &["mm", "µm", "cm", "m", "in", "ft"]),
    (Dimension::AREA, &["cm²", "mm²", "m²", "in²", "ft²"]),
    (Dimension::TIME, &["s", "min", "h", "days"]),
    (Dimension::TEMPERATURE, &["°C", "°F", "K"]),
    (Dimension::KINEMATIC_VISCOSITY, &["mm²/s", "cSt", "m²/s", "St"]),
    (Dimension::DYNAMIC_VISCOSITY, &["mPa·s", "cP", "Pa·s", "P", "reyn"]),
    (Dimension::DENSITY, &["mg/L", "g/L", "kg/m³", "g/mL", "mg/mL", "grain/US gal", "lb/ft³"]),
    (Dimension::COUNT_CONCENTRATION, &["per mL", "per 100 mL", "per L"]),
    (Dimension::TORQUE, &["N·m", "lbf·ft", "lbf·in", "J"]),
    (Dimension::POWER, &["W", "kW", "hp"]),
    (Dimension::FORCE, &["N", "kN", "lbf", "kgf"]),
    (Dimension::VELOCITY, &["m/s", "mm/s", "ft/s", "ft/min"]),
    (Dimension::SPEED, &["rpm", "turns/s"]),
    (Dimension::TEMPERATURE_RATE, &["K/min", "K/s", "K/h"]),
    (Dimension::PRESSURE_RATE, &["kPa/min", "kPa/s", "bar/min", "psi/min"]),
    (Dimension::MASS_RATE, &["g/min", "mg/min", "g/h"]),
    (Dimension::SURFACE_TENSION, &["mN/m", "N/m"]),
    (Dimension::CONDUCTIVITY, &["pS/m", "S/m"]),
];

/// The pressure of the standard atmosphere, Pa.
const ATMOSPHERE: f64 = 101_325.0;

pub(super) fn answer(options: &Options) -> Result<Answer, Refusal> {
    let text = joined(&options.number);
    match text.split_once(" expected ").or_else(|| text.split_once(" expect ")) {
        Some((read, expected)) => unexpected(read.trim(), expected.trim()),
        None => listed(&text, &joined(&options.density)),
    }
}

fn listed(text: &str, density: &str) -> Result<Answer, Refusal> {
    let (text, at) = match super::input::at(text) {
        Some((text, at)) => (text, Some(quantity("the temperature", &at, Kind::Temperature)?)),
        None => (text.to_owned(), None),
    };
    let read = number_and_unit("the number", &text)?;
    if read.unit.text.is_empty() {
        return Err(Refusal::new(
            format!("`{text}` has no unit"),
            "a number alone may be anything",
            format!(
                "write its unit, as in `{text} psi`; to find out what it may be, write what was expected, as in `{text} expected 55 to 65 kPa`"
            ),
        ));
    }
    let density = match density {
        "" => None,
        text => Some(quantity("the density", text, Kind::Density)?),
    };
    let viscous = [Dimension::KINEMATIC_VISCOSITY, Dimension::DYNAMIC_VISCOSITY].contains(&read.unit.dimension);
    let mut found = match read.unit.mark {
        Mark::Basis(basis) => sizes(&read, basis)?,
        Mark::Saybolt => Vec::new(),
        _ => same_kind(&read)?,
    };
    if viscous {
        found.extend(viscosities(&read, at.as_ref(), density.as_ref())?);
    }
    match read.unit.mark {
        Mark::Gauge => found.push(against_vacuum(&read, ATMOSPHERE, "absolute")),
        Mark::Absolute => found.push(against_vacuum(&read, -ATMOSPHERE, "gauge")),
        Mark::TemperaturePoint => found.extend(difference(&read)),
        _ => {}
    }
    let first: Vec<&str> =
        found.iter().filter(|value| value.name.starts_with("in ")).take(3).map(|value| value.text.as_str()).collect();
    if first.is_empty() {
        return Err(Refusal::new(
            format!("no other unit of {} is in use", Kind::of(&read.unit).map_or("this kind", Kind::name)),
            "only units of one kind can stand for one another",
            "check the unit, or ask for one that benches use",
        ));
    }
    let there = at.as_ref().map_or(String::new(), |at| format!(" at {at}"));
    let mut answer =
        Answer::new(QUESTION, format!("{read}{there} = {}", first.join(" = "))).used("number", read.to_string());
    if let Some(at) = at {
        answer = answer.used("temperature", at.to_string());
    }
    if let Some(density) = &density {
        answer = answer.used("density", density.to_string());
    }
    answer = answer.values(found);
    if !matches!(read.unit.mark, Mark::Basis(_) | Mark::Saybolt) {
        answer = answer.formula(
            "number × factor of one unit ÷ factor of the other; temperatures with their zero",
            "exact by definition: inch and pound of 1959, US gallon 231 in³, imperial gallon 4.54609 L, g = 9.80665 m/s²; columns of liquid as in NIST SP 811",
        );
    }
    Ok(limits(answer, &read, viscous, density.is_some()))
}

fn limits(mut answer: Answer, read: &Quantity, viscous: bool, density: bool) -> Answer {
    let dimension = read.unit.dimension;
    if viscous {
        answer = answer.formula("Saybolt seconds by their equation, at the temperature", "ASTM D2161");
        if !density {
            answer = answer
                .limit("Between mm²/s and mPa·s lies the density, 10 to 15 % for oil: add --density to go across.");
        }
    }
    if dimension == Dimension::PRESSURE {
        answer = answer.limit(match read.unit.mark {
            Mark::Gauge | Mark::Absolute => "Gauge and absolute by the standard atmosphere, 101.325 kPa. Read your barometer: the air varies by 5 kPa, and by 12 kPa per 1000 m of height.",
            _ => "As a differential pressure. A line pressure says `gauge` or `absolute` behind its unit.",
        });
    }
    if matches!(read.unit.mark, Mark::Basis(_)) {
        answer = answer.formula(
            "tables between the scales, straight lines between their pairs",
            "ISO 11171 (table from memory: replace when the standard is bought)",
        );
        answer = answer.limit(
            "The scales cross near 10 µm: below it the µm(c) of a particle is the larger number, above it the smaller.",
        );
    }
    if dimension == Dimension::COUNT_CONCENTRATION {
        answer =
            answer.limit("A count per volume with its size: at and above a size, or between two, is not said here.");
    }
    if dimension == Dimension::FLOW || dimension == Dimension::VOLUME {
        answer = answer.limit("An imperial gallon is a fifth larger than a US one.");
    }
    answer
}

/// Every unit in use for the same, the written one left out.
fn same_kind(read: &Quantity) -> Result<Vec<Value>, Refusal> {
    let reference = match read.unit.mark {
        Mark::Gauge => " gauge",
        Mark::Absolute => " absolute",
        _ => "",
    };
    let listed =
        IN_USE.iter().find(|(dimension, _)| *dimension == read.unit.dimension).map_or(&[][..], |(_, units)| units);
    let mut values = Vec::new();
    for text in listed {
        let Ok(unit) = Unit::parse(&format!("{text}{reference}")) else { continue };
        if unit.text == read.unit.text || (unit.text == "cSt" && read.unit.text == "mm2/s") {
            continue;
        }
        let Ok(value) = read.convert(&unit, false) else { continue };
        values.push(Value::exact(kind_of_unit(text), value, &unit.text, 5));
    }
    if let Some(below) = below_zero(read) {
        return Err(below);
    }
    Ok(values)
}

fn below_zero(read: &Quantity) -> Option<Refusal> {
    let cold = read.unit.mark == Mark::TemperaturePoint && read.si() < 0.0;
    let vacuum = read.unit.mark == Mark::Absolute && read.si() < 0.0;
    (cold || vacuum).then(|| {
        Refusal::new(
            format!("{read} lies below absolute zero"),
            "nothing can be colder or emptier than that, so the number or its unit is a slip",
            "check the number; a pressure below that of the room is a gauge pressure",
        )
    })
}

fn kind_of_unit(text: &str) -> String {
    format!("in {text}")
}

fn against_vacuum(read: &Quantity, air: f64, word: &str) -> Value {
    let unit = Unit::parse("kPa").unwrap_or_else(|_| Unit::none());
    Value::new(
        format!("{word}, standard air"),
        unit.from_si_difference(read.unit.to_si_difference(read.value) + air),
        &format!("kPa {word}"),
        5,
    )
}

/// The same number as a rise or a tolerance.
fn difference(read: &Quantity) -> Vec<Value> {
    let si = read.si_difference();
    vec![Value::said("as a rise or tolerance", format!("{} K = {} °F", trimmed(si, 5), trimmed(si * 1.8, 5)))]
}

fn viscosities(read: &Quantity, at: Option<&Quantity>, density: Option<&Quantity>) -> Result<Vec<Value>, Refusal> {
    let mut values = Vec::new();
    let kinematic = if read.unit.mark == Mark::Saybolt {
        let Some(at) = at else {
            return Err(Refusal::new(
                format!("`{read}` does not say at which temperature"),
                "Saybolt seconds are read at a temperature, mostly 100 °F or 210 °F, and mean another viscosity at each",
                format!("write `{read} at 100 F`"),
            ));
        };
        Some(viscosity_si(read, at.si())?)
    } else if read.unit.dimension == Dimension::KINEMATIC_VISCOSITY {
        Some(read.si())
    } else {
        density.map(|density| read.si() / density.si())
    };
    let Some(nu) = kinematic else { return Ok(values) };
    if read.unit.mark == Mark::Saybolt || read.unit.dimension == Dimension::DYNAMIC_VISCOSITY {
        values.push(Value::new("in mm²/s", nu * 1e6, "mm²/s", 5));
    }
    if let Some(density) = density
        && read.unit.dimension == Dimension::KINEMATIC_VISCOSITY
    {
        values.push(Value::new("in mPa·s, at this density", nu * density.si() * 1e3, "mPa·s", 5));
    }
    for (fahrenheit, kelvin) in [(100.0, 310.927_777_8), (210.0, 372.038_888_9)] {
        let same = read.unit.mark == Mark::Saybolt && at.is_some_and(|at| (at.si() - kelvin).abs() < 0.01);
        if let Ok(seconds) = saybolt_universal(si::viscosity(nu), si::temperature(kelvin))
            && !same
        {
            values.push(Value::new(format!("if it is at {fahrenheit:.0} °F"), seconds.value, "SUS", 5));
        }
    }
    Ok(values)
}

/// A particle size on the other calibrations.
fn sizes(read: &Quantity, basis: SizeBasis) -> Result<Vec<Value>, Refusal> {
    let table = Correspondence::from_memory();
    let scale = |basis: SizeBasis| match basis {
        SizeBasis::Iso11171C => Scale::C,
        SizeBasis::Iso11171B => Scale::B,
        SizeBasis::Acftd => Scale::Older,
    };
    let mut values = Vec::new();
    for (other, unit) in
        [(SizeBasis::Iso11171C, "µm(c)"), (SizeBasis::Iso11171B, "µm(b)"), (SizeBasis::Acftd, "µm(ACFTD)")]
    {
        if other == basis {
            continue;
        }
        match table.convert(si::length(read.si()), scale(basis), scale(other)) {
            Ok(size) => values.push(Value::new(format!("in {unit}"), size.value * 1e6, unit, 3)),
            Err(error) if basis == SizeBasis::Acftd => {
                return Err(Refusal::new(
                    error,
                    "the older scale was fixed by a dust that is no longer made, and only where it was counted",
                    "ask for 1 to 40 µm(ACFTD)",
                ));
            }
            Err(_) => {}
        }
    }
    values.push(Value::said("µm(c) per µm(b)", format!("{C_PER_B} (from memory)")));
    Ok(values)
}

/// What may have happened to a number that lies outside what was expected.
fn unexpected(read: &str, expected: &str) -> Result<Answer, Refusal> {
    let (low, high) = range("what was expected", expected, None)?;
    let unit = high.unit.clone();
    if unit.text.is_empty() || !unit.is_linear() || low.unit.dimension != unit.dimension {
        return Err(Refusal::new(
            format!("`{expected}` is no window in one unit"),
            "a slip of units shows only against a unit",
            "write for example `8.7 expected 55 to 65 kPa`",
        ));
    }
    let number = number_and_unit("the number read", read)?;
    let written = number.number.clone();
    let own = if number.unit.text.is_empty() { unit.clone() } else { number.unit.clone() };
    if own.dimension != unit.dimension {
        return Err(Refusal::new(
            format!("`{read}` and `{expected}` measure different things"),
            "no slip turns one kind of quantity into another",
            format!("write the number alone, as in `{written} expected {expected}`"),
        ));
    }
    let window = Window::between(low.si(), high.si());
    let shown = format!("{} to {} {unit}", trimmed(low.value, 5), trimmed(high.value, 5));
    let base = |text: String| {
        Answer::new(QUESTION, text)
            .used("number read", read)
            .used("expected", format!("{low} to {high}"))
            .formula("the number taken for one of another unit, reference or volume, or with one slip of the pen, kept where it lands inside", "the same search as in `loopleaf audit`")
            .limit("A proposal is no proof: ask who read it, and look at the instrument. Nothing is ever corrected by itself.")
    };
    if window.contains(own.to_si(number.value)) {
        return Ok(base(format!("{read} lies inside {shown}: there is nothing to explain")));
    }
    let mut causes = Vec::new();
    if unit.dimension == Dimension::PRESSURE {
        causes.extend(reference(&number, &own, &window, &unit));
    }
    if unit.dimension == Dimension::COUNT_CONCENTRATION {
        causes.extend(per_volume(&number, &own, &window, &unit));
    }
    let mut explained = audit::explanations(&written, &unit, window);
    // A number in its own unit that was read right is no longer to be taken for another.
    if !number.unit.text.is_empty() && !number.unit.same_as(&unit) {
        explained.insert(
            0,
            format!(
                "it was read in {}, and {} were expected: {read} is {} {unit}",
                number.unit,
                unit,
                sig(unit.from_si(own.to_si(number.value)), 4)
            ),
        );
    }
    let units_first = explained.iter().position(|words| !words.contains(" box: ")).unwrap_or(explained.len());
    for (at, cause) in causes.into_iter().enumerate() {
        explained.insert(units_first + at, cause);
    }
    explained.dedup();
    Ok(match explained.first() {
        None => base(format!("none of the usual slips takes {read} into {shown}"))
            .limit("Looked at: other units of the kind, gauge against absolute, per mL against per 100 mL, and slips of the pen."),
        Some(first) => {
            let others = explained.iter().skip(1).take(4).enumerate();
            let mut answer = base(format!("most likely: {first}"));
            for (at, cause) in others {
                answer = answer.value(Value::said(format!("{}. possibly", at + 2), cause));
            }
            answer
        }
    })
}

/// A gauge that shows absolute pressure, or the other way round.
fn reference(number: &Quantity, own: &Unit, window: &Window, unit: &Unit) -> Vec<String> {
    let si = own.to_si(number.value);
    let with = |air: f64, what: &str| {
        let meant = si + air;
        window.contains(meant).then(|| {
            format!(
                "{what}: {} {} 101.3 kPa of air is {} {unit}",
                number,
                if air > 0.0 { "plus" } else { "less" },
                sig(unit.from_si(meant), 4)
            )
        })
    };
    [
        with(ATMOSPHERE, "a gauge pressure where an absolute one was expected"),
        with(-ATMOSPHERE, "an absolute pressure where a gauge one was expected"),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Per mL against per 100 mL, and a dilution that was forgotten.
fn per_volume(number: &Quantity, own: &Unit, window: &Window, unit: &Unit) -> Vec<String> {
    let si = own.to_si(number.value);
    let hundred = [(0.01, "a number per 100 mL read as one per mL"), (100.0, "a number per mL read as one per 100 mL")];
    let dilutions = [2.0, 4.0, 5.0, 8.0, 10.0, 16.0, 20.0, 25.0, 50.0];
    let volumes = hundred
        .into_iter()
        .filter(|(factor, _)| window.contains(si * factor))
        .map(|(factor, what)| format!("{what}: it would be {} {unit}", sig(unit.from_si(si * factor), 4)));
    let diluted = dilutions.into_iter().filter(|factor| window.contains(si * factor)).map(|factor| {
        format!(
            "a dilution of 1 in {factor} that was not multiplied back: it would be {} {unit}",
            sig(unit.from_si(si * factor), 4)
        )
    });
    volumes.chain(diluted).collect()
}

#[cfg(test)]
mod tests {
    use super::{Options, answer};

    fn said(number: &str) -> String {
        let options = Options { number: vec![number.to_owned()], density: Vec::new() };
        answer(&options).map_or_else(|refusal| refusal.what, |answer| answer.answer)
    }

    #[test]
    fn psi_in_a_kilopascal_box_is_found_first() {
        assert!(
            said("8.7 expected 55 to 65 kPa").contains("8.7 psi is 60.0 kPa"),
            "{}",
            said("8.7 expected 55 to 65 kPa")
        );
        assert!(said("160.1 expected 55 to 65 kPa").contains("absolute"), "{}", said("160.1 expected 55 to 65 kPa"));
        assert!(
            said("130000 expected 1000 to 1500 per mL").contains("per 100 mL"),
            "{}",
            said("130000 expected 1000 to 1500 per mL")
        );
        assert!(said("60 expected 55 to 65 kPa").contains("inside"));
        assert!(said("3 expected 55 to 65 kPa").len() > 10);
    }
}
