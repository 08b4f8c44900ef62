//! Quantities as they are typed at a bench: `15 mm2/s`, `15mm²/s`, `20 L ± 0.5 L`, `55 to 65 kPa`.

use crate::quantity::{Kind, Mismatch, NumberError, Quantity, Unit, UnitError, read_number};

use super::super::view::{Refusal, sig};

/// A quantity and, where one was typed behind `±`, how far it may be off (in SI, a difference).
#[derive(Debug, Clone)]
pub(in super::super) struct Measured {
    pub(in super::super) quantity: Quantity,
    pub(in super::super) half: Option<f64>,
    /// As it is shown among the numbers used.
    pub(in super::super) said: String,
}

impl Measured {
    /// A temperature in K; everything else in its coherent unit.
    pub(in super::super) fn si(&self) -> f64 {
        self.quantity.si()
    }

    /// How far it may be off, relative to it; zero where nothing was said.
    pub(in super::super) fn relative(&self) -> f64 {
        self.half.map_or(0.0, |half| (half / self.si()).abs())
    }
}

/// The words of an argument as one text with single spaces: quotation marks around a quantity are not needed.
pub(in super::super) fn joined(words: &[String]) -> String {
    words.iter().flat_map(|word| word.split_whitespace()).collect::<Vec<_>>().join(" ")
}

/// A quantity of a kind. `name` is what it is, as in `the flow`.
pub(in super::super) fn quantity(name: &str, text: &str, kind: Kind) -> Result<Quantity, Refusal> {
    let (number, unit) = split(text);
    let value = number_of(name, text, number, unit, kind.example())?;
    let unit = unit_of(name, number, unit, kind)?;
    let quantity = Quantity { number: number.replace('−', "-"), value, unit };
    let size = kind.si(&quantity).abs();
    if quantity.unit.is_linear() && (size.is_nan() || size >= 1e30) {
        return Err(Refusal::new(
            format!("{name} is {quantity}, which no bench meets"),
            "a slip of some powers of ten gives an answer that looks like any other",
            format!("check the number and its unit; usual is something like `{}`", kind.example()),
        ));
    }
    let must_be_there =
        matches!(kind, Kind::Flow | Kind::Volume | Kind::Density | Kind::KinematicViscosity | Kind::DynamicViscosity);
    let below = matches!(kind, Kind::Mass | Kind::Time) && value < 0.0;
    if below || (must_be_there && value <= 0.0) {
        return Err(Refusal::new(
            format!("{name} is {quantity}"),
            format!("{} is above zero, or there is nothing to reckon with", kind.name()),
            format!("check the number; usual is something like `{}`", kind.example()),
        ));
    }
    Ok(quantity)
}

/// A quantity that may have `± how much` behind it, in its own unit or in per cent.
pub(in super::super) fn measured(name: &str, text: &str, kind: Kind) -> Result<Measured, Refusal> {
    let (front, behind) = match plus_minus(text) {
        Some((front, behind)) => (front, Some(behind)),
        None => (text, None),
    };
    let quantity = quantity(name, front, kind)?;
    let Some(behind) = behind else {
        let said = quantity.to_string();
        return Ok(Measured { quantity, half: None, said });
    };
    let half = tolerance(&format!("the ± of {}", name.trim_start_matches("the ")), behind, &quantity, kind)?;
    let said = format!("{quantity} ± {}", behind.trim());
    Ok(Measured { quantity, half: Some(half), said })
}

/// What stands before and behind `±`, `+-`, `+/-` or `within`.
pub(in super::super) fn plus_minus(text: &str) -> Option<(&str, &str)> {
    ["±", "+/-", "+-", " within "].iter().find_map(|sign| text.split_once(sign)).map(|(a, b)| (a.trim(), b.trim()))
}

/// A target and its tolerance, where one stands behind it.
pub(in super::super) fn split_target(text: &str) -> (String, Option<String>) {
    match plus_minus(text) {
        Some((target, tolerance)) => (target.to_owned(), Some(tolerance.to_owned())),
        None => (text.to_owned(), None),
    }
}

/// A tolerance of a quantity, in SI as a difference: in per cent of it, in its own unit, or bare in its own unit.
pub(in super::super) fn tolerance(name: &str, text: &str, of: &Quantity, kind: Kind) -> Result<f64, Refusal> {
    let (number, unit) = split(text);
    let half = match unit.trim() {
        "%" => number_of(name, text, number, unit, "3 %")? / 100.0 * of.value.abs() * of.unit.to_si_difference(1.0),
        "" => of.unit.to_si_difference(number_of(name, text, number, unit, "3 %")?),
        _ => {
            let difference = kind.difference();
            difference.si(&quantity(name, text, difference)?)
        }
    };
    if half >= 0.0 && half.is_finite() {
        return Ok(half);
    }
    Err(Refusal::new(
        format!("{name} is `{text}`, below zero"),
        "a value may be off to either side by as much as stands behind the ±",
        format!("write `{of} ± {}`", text.trim_start_matches(['-', '−'])),
    ))
}

/// Two ends: `55 to 65 kPa`, `55 kPa to 65 kPa`, `55-65 kPa`.
pub(in super::super) fn range(name: &str, text: &str, kind: Option<Kind>) -> Result<(Quantity, Quantity), Refusal> {
    let parted =
        text.split_once(" to ").or_else(|| text.split_once("…")).or_else(|| text.split_once("..")).or_else(|| {
            let at = text.char_indices().skip(1).find(|(_, c)| matches!(c, '-' | '–'))?.0;
            let end = text.get(at..)?.chars().next()?.len_utf8();
            Some((text.get(..at)?, text.get(at + end..)?))
        });
    let Some((low, high)) = parted else {
        let example = kind.map_or("55 to 65 kPa", Kind::example);
        return Err(Refusal::new(
            format!("{name} is `{text}`, which has one end only"),
            "between two ends a value can be weighed; against one number it cannot",
            format!(
                "write both ends, as in `{}`",
                if kind.is_none() { example.to_owned() } else { format!("… to {example}") }
            ),
        ));
    };
    let high_unit = split(high).1.trim().to_owned();
    let low = if split(low).1.trim().is_empty() { format!("{low} {high_unit}") } else { low.to_owned() };
    let read = |text: &str| match kind {
        Some(kind) => quantity(name, text, kind),
        None => number_and_unit(name, text),
    };
    let (low, high) = (read(&low)?, read(high)?);
    if low.si() > high.si() {
        return Err(Refusal::new(
            format!("{name} runs from {low} down to {high}"),
            "the lower end stands first, so that a swapped pair is seen",
            format!("write `{} to {low}`", high),
        ));
    }
    Ok((low, high))
}

/// A number with whatever unit it has.
pub(in super::super) fn number_and_unit(name: &str, text: &str) -> Result<Quantity, Refusal> {
    let (number, unit) = split(text);
    let value = number_of(name, text, number, unit, "8.7 psi")?;
    let unit = unit.trim();
    let parsed = if unit.is_empty() { Ok(Unit::none()) } else { Unit::parse(unit) };
    let unit = match parsed {
        Ok(parsed) => parsed,
        Err(error) => match Unit::by_habit(unit).as_slice() {
            [only] => only.clone(),
            _ => return Err(unknown_unit(name, number, unit, &error, &[])),
        },
    };
    Ok(Quantity { number: number.replace('−', "-"), value, unit })
}

/// A share: `98 %` or `0.98`, from 0 to 1.
pub(in super::super) fn share(name: &str, text: &str) -> Result<f64, Refusal> {
    let (number, unit) = split(text);
    let value = number_of(name, text, number, unit, "98 %")?;
    let share = match unit.trim() {
        "%" => value / 100.0,
        "" => value,
        other => {
            return Err(Refusal::new(
                format!("{name} is `{text}`, and `{other}` is no share"),
                "a share is a part of a whole and has no unit but %",
                format!("write `{number} %`"),
            ));
        }
    };
    if (0.0..=1.0).contains(&share) {
        return Ok(share);
    }
    let bare = unit.trim().is_empty() && share > 1.0 && share <= 100.0;
    Err(Refusal::new(
        format!("{name} is `{text}`; a share lies from 0 to 1, or 0 % to 100 %"),
        "more than the whole can be neither removed nor kept",
        if bare { format!("write `{number} %` if per cent are meant") } else { "write for example `98 %`".to_owned() },
    ))
}

/// A share that is known, or known to lie between two: `98 %`, `90 % to 98 %`, `0.9 to 0.98`. Above zero.
pub(in super::super) fn shares(name: &str, text: &str) -> Result<(f64, f64), Refusal> {
    let (least, most) = match text.split_once(" to ") {
        Some((least, most)) => {
            let unit = if most.trim().ends_with('%') && !least.contains('%') { " %" } else { "" };
            (share(name, &format!("{least}{unit}"))?, share(name, most)?)
        }
        None => {
            let one = share(name, text)?;
            (one, one)
        }
    };
    if least > 0.0 && least <= most {
        return Ok((least, most));
    }
    Err(Refusal::new(
        format!("{name} is `{text}`"),
        "from a share of nothing nothing follows, and of two ends the lower stands first",
        "write it as in `98 %`, or between two ends as in `90 % to 98 %`",
    ))
}

/// A number without a unit.
pub(in super::super) fn bare(name: &str, text: &str, example: &str) -> Result<f64, Refusal> {
    let (number, unit) = split(text);
    let value = number_of(name, text, number, unit, example)?;
    if unit.trim().is_empty() {
        return Ok(value);
    }
    Err(Refusal::new(
        format!("{name} is `{text}`, but it has no unit"),
        "a unit where none belongs says that another number was meant",
        format!("write `{number}`, or check which number belongs here"),
    ))
}

/// Particles that were counted: a whole number.
pub(in super::super) fn count(name: &str, text: &str) -> Result<u64, Refusal> {
    let refused = |instead: String| {
        Refusal::new(
            format!("{name} is `{text}`, and a count is a whole number of particles"),
            "the interval follows from how many particles were really seen; a number per mL, or one that was rounded, hides that",
            instead,
        )
    };
    let digits = text.trim();
    if let Some(head) = digits.strip_suffix(|c: char| !c.is_ascii_digit()) {
        let head = head.trim_end_matches(|c: char| !c.is_ascii_digit());
        return Err(refused(format!(
            "write the raw count from the counter's print-out, as in `{}`",
            if head.is_empty() { "1000" } else { head }
        )));
    }
    digits.parse().map_err(|_| {
        refused(match read_number(digits) {
            Ok(value) if value > 0.0 => {
                format!("write the raw count, and the counted volume with --volume; {} mL at {digits} per mL are {} particles", 10, sig(value * 10.0, 4))
            }
            _ => "write the digits alone, without comma, point or space, as in `1000`".to_owned(),
        })
    })
}

/// The number and what stands behind it.
fn split(text: &str) -> (&str, &str) {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|(at, c)| !(c.is_ascii_digit() || matches!(c, '.' | ',') || (*at == 0 && matches!(c, '-' | '−' | '+'))))
        .map_or(text.len(), |(at, _)| at);
    let (number, unit) = text.split_at_checked(end).unwrap_or((text, ""));
    (number.strip_prefix('+').unwrap_or(number), unit.trim())
}

fn number_of(name: &str, text: &str, number: &str, unit: &str, example: &str) -> Result<f64, Refusal> {
    let refused = |what: String, instead: String| {
        Err(Refusal::new(
            what,
            "a number that can be read in two ways is answered in the wrong one half of the time",
            instead,
        ))
    };
    if number.is_empty() || number == "-" || number == "−" {
        return refused(
            format!("{name} is `{text}`, which does not begin with a number"),
            format!("write a number and its unit, as in `{example}`"),
        );
    }
    if unit.starts_with(|c: char| c.is_ascii_digit()) {
        let together = text.replace(' ', "");
        return refused(
            format!("{name} is `{text}`, a number with a gap in it"),
            format!("write the digits together, as in `{together}`"),
        );
    }
    if let Some(power) = unit
        .strip_prefix(['e', 'E'])
        .filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+'))
    {
        return refused(
            format!("{name} is `{text}`, with a power of ten (`e{power}`)"),
            format!("write the number in full, as in `{example}`"),
        );
    }
    match read_number(number) {
        Ok(value) => Ok(value),
        Err(NumberError::Comma) if number.split(',').skip(1).any(|group| group.len() != 3) => refused(
            format!("{name} is `{text}`, with a comma"),
            format!("write `{}`", format!("{} {unit}", number.replacen(',', ".", 1).replace(',', "")).trim_end()),
        ),
        Err(NumberError::Comma) => refused(
            format!("{name} is `{text}`, with a comma"),
            format!(
                "write `{}` for a decimal, or `{}` for thousands",
                number.replacen(',', ".", 1).replace(',', ""),
                number.replace(',', "")
            ),
        ),
        Err(NumberError::BarePoint) => {
            let whole =
                if number.starts_with('.') { format!("0{number}") } else { number.trim_end_matches('.').to_owned() };
            refused(
                format!("{name} is `{text}`, with a bare point"),
                format!("write `{}`", format!("{whole} {unit}").trim_end()),
            )
        }
        Err(NumberError::NotANumber) => refused(
            format!("{name} is `{text}`, and `{number}` is not a number"),
            format!("write for example `{example}`"),
        ),
    }
}

fn unit_of(name: &str, number: &str, text: &str, kind: Kind) -> Result<Unit, Refusal> {
    let parsed = if text.is_empty() { Ok(Unit::none()) } else { Unit::parse(text) };
    if let Ok(unit) = &parsed
        && kind.accepts(unit).is_ok()
    {
        return Ok(unit.clone());
    }
    let mut meant: Vec<Unit> = Unit::by_habit(text).into_iter().filter(|unit| kind.accepts(unit).is_ok()).collect();
    meant.dedup_by(|one, other| one.same_as(other));
    match (meant.as_slice(), parsed) {
        ([only], _) => Ok(only.clone()),
        (several, Err(error)) => Err(unknown_unit(name, number, text, &error, several)),
        (_, Ok(unit)) => {
            let mismatch = kind.accepts(&unit).err().unwrap_or(Mismatch::NoUnit { expected: kind });
            Err(misfit(name, number, &unit, kind, &mismatch))
        }
    }
}

fn unknown_unit(name: &str, number: &str, text: &str, error: &UnitError, several: &[Unit]) -> Refusal {
    let what = format!("{name} is `{number} {text}`, and {error}");
    let listed =
        |units: &[String]| units.iter().map(|unit| format!("`{number} {unit}`")).collect::<Vec<_>>().join(" or ");
    let instead = match error {
        UnitError::WhichGallon { word } => format!("write `{number} US {word}` or `{number} imp {word}`"),
        _ if !several.is_empty() => {
            format!("write {}", listed(&several.iter().map(|unit| unit.text.clone()).collect::<Vec<_>>()))
        }
        UnitError::Unknown { suggestions, .. } if !suggestions.is_empty() => {
            format!("did you mean {}?", listed(suggestions))
        }
        _ => "write a unit that the bench knows, as kPa, L/min, mm2/s, C or mg/L".to_owned(),
    };
    let why = match error {
        UnitError::WhichGallon { .. } => "the imperial gallon is a fifth larger than the US one",
        _ => "a unit that is guessed may be wrong by a factor that nobody sees in the answer",
    };
    Refusal::new(what, why, instead)
}

fn misfit(name: &str, number: &str, unit: &Unit, kind: Kind, mismatch: &Mismatch) -> Refusal {
    let written = format!("{number} {unit}").trim_end().to_owned();
    let what = format!("{name} is `{written}`: {mismatch}");
    let (why, instead) = match mismatch {
        Mismatch::NoUnit { .. } => (
            "a number without its unit is the commonest slip of all",
            format!("write the unit behind it, as in `{number} {}`", kind.usual()),
        ),
        Mismatch::NeedsDensity { found: Kind::DynamicViscosity, .. } => (
            "mm²/s and mPa·s differ by the density, 10 to 15 % for oil",
            format!("divide by the density in g/mL; at 0.87 g/mL write `{}`", in_mm2(number, unit)),
        ),
        Mismatch::NeedsDensity { .. } => (
            "mm²/s and mPa·s differ by the density, 10 to 15 % for oil",
            "multiply by the density in g/mL and write the result in mPa·s".to_owned(),
        ),
        Mismatch::WrongReference { expected: Kind::DifferentialPressure, .. } => {
            let plain = unit.text.trim_end_matches(" gauge").trim_end_matches(" absolute");
            let plain = if plain.starts_with("psi") { "psi" } else { plain };
            (
                "between a gauge, an absolute and a differential pressure lie up to 101 kPa of air",
                format!("write `{number} {plain}` if it was read between the two ports"),
            )
        }
        Mismatch::WrongReference { .. } | Mismatch::WhichPressure { .. } => (
            "between a gauge, an absolute and a differential pressure lie up to 101 kPa of air",
            format!("write {}, as in `{}`", kind.name(), kind.example()),
        ),
        Mismatch::PerWhatVolume => (
            "per mL and per 100 mL differ by a factor of a hundred",
            format!("write `{number} per mL` or `{number} per 100 mL`"),
        ),
        _ => (
            "another kind of quantity stands here, so that another number may be missing",
            format!("write {}, as in `{}`", kind.name(), kind.example()),
        ),
    };
    Refusal::new(what, why, instead)
}

fn in_mm2(number: &str, unit: &Unit) -> String {
    read_number(number)
        .map_or_else(|_| "15 mm2/s".to_owned(), |value| format!("{} mm2/s", sig(unit.to_si(value) / 870.0 * 1e6, 3)))
}

#[cfg(test)]
mod tests {
    use super::{count, measured, quantity, range, share};
    use crate::quantity::Kind;

    #[test]
    fn quantities_are_understood_as_they_are_typed() {
        for (text, kind, si) in [
            ("15 mm2/s", Kind::KinematicViscosity, 15e-6),
            ("15mm²/s", Kind::KinematicViscosity, 15e-6),
            ("15 cst", Kind::KinematicViscosity, 15e-6),
            ("40 C", Kind::Temperature, 313.15),
            ("-5 C", Kind::Temperature, 268.15),
            ("−5 °C", Kind::Temperature, 268.15),
            ("104F", Kind::Temperature, 313.15),
            ("40 lpm", Kind::Flow, 40e-3 / 60.0),
            ("40 l/min", Kind::Flow, 40e-3 / 60.0),
            ("100 KPA", Kind::DifferentialPressure, 1e5),
            ("20 l", Kind::Volume, 0.02),
        ] {
            let got = quantity("it", text, kind).map(|quantity| quantity.si());
            assert!(got.as_ref().is_ok_and(|got| (got - si).abs() < 1e-12 * si.abs()), "{text}: {got:?}");
        }
        for (text, kind) in [
            ("15", Kind::KinematicViscosity),
            ("15 mPa", Kind::KinematicViscosity),
            ("15,5 mm2/s", Kind::KinematicViscosity),
            ("1 500 mm2/s", Kind::KinematicViscosity),
            ("1e3 mm2/s", Kind::KinematicViscosity),
            ("3 gpm", Kind::Flow),
            ("8 mpa", Kind::DifferentialPressure),
            ("8 psig", Kind::DifferentialPressure),
            ("x", Kind::Volume),
            ("", Kind::Volume),
            (".5 L", Kind::Volume),
        ] {
            assert!(quantity("it", text, kind).is_err(), "{text}");
        }
    }

    #[test]
    fn tolerances_and_ends() {
        let volume = measured("it", "20 L ± 0.5 L", Kind::Volume);
        assert!(volume.is_ok_and(|volume| volume.half.is_some_and(|half| (half - 5e-4).abs() < 1e-15)));
        let relative = measured("it", "20 L +- 2 %", Kind::Volume);
        assert!(relative.is_ok_and(|volume| (volume.relative() - 0.02).abs() < 1e-12));
        let warm = measured("it", "40 C ± 1 C", Kind::Temperature);
        assert!(warm.is_ok_and(|warm| warm.half == Some(1.0)));
        for text in ["55 to 65 kPa", "55 kPa to 65 kPa", "55-65 kPa", "55–65kPa"] {
            assert!(range("it", text, None).is_ok_and(|(low, high)| low.value == 55.0 && high.value == 65.0), "{text}");
        }
        assert!(range("it", "65 to 55 kPa", None).is_err());
        assert!(range("it", "60 kPa", None).is_err());
    }

    #[test]
    fn shares_and_counts() {
        assert!(share("it", "98 %").is_ok_and(|share| (share - 0.98).abs() < 1e-15));
        assert!(share("it", "0.98").is_ok_and(|share| share == 0.98));
        assert!(share("it", "98").is_err_and(|refusal| refusal.instead.contains("98 %")));
        assert_eq!(count("it", "1000").ok(), Some(1000));
        for text in ["1,000", "12.5", "1000 per mL", "-3", ""] {
            assert!(count("it", text).is_err(), "{text}");
        }
    }
}
