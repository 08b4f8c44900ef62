//! A unit as it is written: its factor to SI, its dimension, and what it says beyond them.

use std::fmt;

use iso_currency::Currency;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use thiserror::Error;

use super::catalogue;
use super::suggest::{habits, suggestions};
use super::{Dimension, Ratio};

/// The longest text that is looked at as a unit, in bytes.
const LONGEST: usize = 48;

/// Which calibration a particle size is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum SizeBasis {
    /// ISO 11171, written µm(c).
    Iso11171C,
    /// The b sizes of ISO 11171:2016, written µm(b); the edition of 2020 went back to µm(c) alone.
    Iso11171B,
    /// The longest chord on air cleaner fine test dust, ISO 4402, written µm(ACFTD).
    Acftd,
}

/// What a unit says beyond its dimension.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Mark {
    /// Nothing.
    None,
    /// A pressure above that of the room.
    Gauge,
    /// A pressure above vacuum.
    Absolute,
    /// A pressure between two ports.
    Differential,
    /// °C, °F or K by itself: a point on the scale, or a difference where one is wanted.
    TemperaturePoint,
    /// A particle size on one calibration.
    Basis(SizeBasis),
    /// Money in one currency, by its ISO 4217 code.
    Currency(Currency4217),
    /// Saybolt universal seconds: no factor leads to mm²/s; the trade's equation does, at a temperature.
    Saybolt,
    /// Mass in mass.
    MassFraction,
    /// Volume in volume.
    VolumeFraction,
}

/// A currency by the three letters of ISO 4217.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Currency4217([char; 3]);

impl Currency4217 {
    /// The currency with this code, when ISO 4217 has it.
    fn find(code: &str) -> Option<Self> {
        Currency::from_code(code)?;
        let mut letters = code.chars();
        Some(Self([letters.next()?, letters.next()?, letters.next()?]))
    }
}

impl fmt::Display for Currency4217 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|letter| write!(f, "{letter}"))
    }
}

/// A unit as it is written. Two units with different spellings are different values; [`Unit::same_as`] compares what
/// they mean.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Unit {
    /// As written.
    pub text: String,
    /// What it measures.
    pub dimension: Dimension,
    /// One of it in coherent SI.
    pub factor: Ratio,
    /// What is added to a point on its scale, in the unit itself, before the factor: 273.15 for °C, 459.67 for °F.
    pub offset: Ratio,
    /// What it says beyond the dimension.
    pub mark: Mark,
}

/// Why a text is no unit.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnitError {
    /// Nothing is written.
    #[error("no unit is written")]
    Empty,
    /// A gallon, quart, pint or fluid ounce that doesn't say whether US or imperial.
    #[error("`{word}` does not say whether US or imperial")]
    WhichGallon {
        /// The word.
        word: String,
    },
    /// No unit of this name.
    #[error("`{text}` is not a known unit")]
    Unknown {
        /// As written.
        text: String,
        /// What may have been meant, best first, every one a unit.
        suggestions: Vec<String>,
    },
}

impl Unit {
    /// The unit of a bare number.
    pub fn none() -> Self {
        Self {
            text: String::new(),
            dimension: Dimension::NONE,
            factor: Ratio::ONE,
            offset: Ratio::ZERO,
            mark: Mark::None,
        }
    }

    /// Reads a unit: words separated by single spaces.
    ///
    /// # Errors
    /// When nothing is written, when a gallon doesn't say which, when the unit is unknown.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        Self::read(text, true)
    }

    /// The units that a text means by habit of the trade where it is none by itself: `lpm`, `C`, `KPA`. Several where it
    /// may mean several; the caller chooses by what its place wants, or asks.
    pub fn by_habit(text: &str) -> Vec<Self> {
        habits(text.trim()).iter().filter_map(|text| Self::read(text, false).ok()).collect()
    }

    /// As [`Unit::parse`]; without looking for suggestions when not `advise`.
    pub(super) fn read(text: &str, advise: bool) -> Result<Self, UnitError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(UnitError::Empty);
        }
        // Greek mu and the dot operator look like the micro sign and the middle dot, and keyboards give either.
        let tidy = text.replace('μ', "µ").replace(['⋅', '∙'], "·");
        let unknown = || UnitError::Unknown {
            text: text.to_owned(),
            suggestions: if advise && text.len() <= LONGEST { suggestions(&tidy) } else { Vec::new() },
        };
        if text.len() > LONGEST {
            return Err(unknown());
        }
        let unit = match pressure_word(&tidy) {
            Some((rest, mark)) => with_reference(expression(rest)?, mark),
            None => expression(&tidy)?,
        };
        unit.map(|unit| Self { text: text.to_owned(), ..unit }).ok_or_else(unknown)
    }

    /// Every spelling of a named unit; compound units are made of them.
    pub fn spellings() -> impl Iterator<Item = &'static str> {
        catalogue::NAMED.iter().flat_map(|named| named.spellings).copied()
    }

    /// Whether a factor (and an offset) leads to SI. Only Saybolt seconds are not linear.
    pub fn is_linear(&self) -> bool {
        self.mark != Mark::Saybolt
    }

    /// Whether both mean the same, however they are spelt.
    pub fn same_as(&self, other: &Self) -> bool {
        (self.dimension, self.factor, self.offset, self.mark)
            == (other.dimension, other.factor, other.offset, other.mark)
    }

    fn times(self, other: Self) -> Option<Self> {
        self.combine(other, Dimension::mul, Ratio::times)
    }

    fn over(self, other: Self) -> Option<Self> {
        let fraction = match (self.dimension, other.dimension) {
            (Dimension::MASS, Dimension::MASS) => Some(Mark::MassFraction),
            (Dimension::VOLUME, Dimension::VOLUME) => Some(Mark::VolumeFraction),
            _ => None,
        };
        let unit = self.combine(other, Dimension::div, Ratio::over)?;
        Some(Self { mark: fraction.unwrap_or(unit.mark), ..unit })
    }

    /// A product or quotient. A temperature in it is a difference; of the other marks only a currency survives.
    fn combine(
        self,
        other: Self,
        dimension: fn(Dimension, Dimension) -> Dimension,
        factor: fn(Ratio, Ratio) -> Option<Ratio>,
    ) -> Option<Self> {
        let mark = match (self.mark, other.mark) {
            (Mark::None | Mark::TemperaturePoint, Mark::None | Mark::TemperaturePoint) => Mark::None,
            (Mark::Currency(currency), Mark::None) => Mark::Currency(currency),
            _ => return None,
        };
        Some(Self {
            text: String::new(),
            dimension: dimension(self.dimension, other.dimension),
            factor: factor(self.factor, other.factor)?,
            offset: Ratio::ZERO,
            mark,
        })
    }
}

/// Splits `kPa gauge` into the unit and what the pressure is measured against.
fn pressure_word(text: &str) -> Option<(&str, Mark)> {
    let (rest, word) = text.rsplit_once(' ')?;
    let mark = match word {
        "gauge" => Mark::Gauge,
        "absolute" => Mark::Absolute,
        "differential" => Mark::Differential,
        _ => return None,
    };
    Some((rest, mark))
}

fn with_reference(unit: Option<Unit>, mark: Mark) -> Option<Unit> {
    let unit = unit.filter(|unit| unit.dimension == Dimension::PRESSURE && unit.mark == Mark::None)?;
    Some(Unit { mark, ..unit })
}

/// A named unit, or products and quotients of named units; nothing when some part is unknown.
fn expression(text: &str) -> Result<Option<Unit>, UnitError> {
    if let Some(unit) = name(text)? {
        return Ok(Some(unit));
    }
    let text = text.strip_prefix("per ").map_or_else(|| text.to_owned(), |rest| format!("/{rest}"));
    let text = text.replace(" per ", "/");
    let mut parts = text.split('/');
    let first = parts.next().unwrap_or("").trim();
    let mut unit = if first.is_empty() { name("particles")? } else { product(first)? };
    let mut divided = false;
    for part in parts {
        let part = part.trim();
        // "per 100 mL": laboratories count in a hundred millilitres.
        let (hundreds, part) = part.strip_prefix("100 ").map_or((1, part), |rest| (100, rest));
        let below =
            product(part)?.and_then(|unit| Some(Unit { factor: unit.factor.times(Ratio::new(hundreds, 1)?)?, ..unit }));
        unit = unit.zip(below).and_then(|(above, below)| above.over(below));
        divided = true;
    }
    let nothing = first.is_empty() && !divided;
    Ok(unit.filter(|unit| !nothing && (!first.is_empty() || unit.dimension == Dimension::COUNT_CONCENTRATION)))
}

/// Named units joined by `·` or `.`.
fn product(text: &str) -> Result<Option<Unit>, UnitError> {
    let mut unit: Option<Unit> = None;
    for factor in text.split(['·', '.']) {
        let Some(next) = name(factor)? else {
            return Ok(None);
        };
        unit = match unit {
            None => Some(next),
            Some(unit) => match unit.times(next) {
                Some(product) => Some(product),
                None => return Ok(None),
            },
        };
    }
    Ok(unit)
}

/// One named unit, with a square or cube when it has one.
fn name(text: &str) -> Result<Option<Unit>, UnitError> {
    if catalogue::is_gallon_without_country(text) {
        return Err(UnitError::WhichGallon { word: text.to_owned() });
    }
    if let Some(unit) = plain_name(text) {
        return Ok(Some(unit));
    }
    let (base, power) = if let Some(base) = text.strip_suffix(['²', '2']) {
        (base, 2_u8)
    } else if let Some(base) = text.strip_suffix(['³', '3']) {
        (base, 3_u8)
    } else {
        return Ok(None);
    };
    let raised = plain_name(base)
        .filter(|unit| unit.mark == Mark::None)
        .filter(|unit| [Dimension::LENGTH, Dimension::TIME].contains(&unit.dimension))
        .and_then(|unit| {
            let dimension = (1..power).fold(unit.dimension, |product, _| product.mul(unit.dimension));
            Some(Unit { dimension, factor: unit.factor.power(power)?, ..unit })
        });
    Ok(raised)
}

fn plain_name(text: &str) -> Option<Unit> {
    if let Some(named) = catalogue::find(text) {
        let (numerator, denominator) = named.factor;
        return Some(Unit {
            text: text.to_owned(),
            dimension: named.dimension,
            factor: Ratio::new(numerator, denominator)?,
            offset: zero(text)?,
            mark: named.mark,
        });
    }
    let currency = Currency4217::find(text)?;
    Some(Unit { text: text.to_owned(), dimension: Dimension::MONEY, mark: Mark::Currency(currency), ..Unit::none() })
}

/// How far the zero of a temperature scale lies above absolute zero, in its own degrees.
fn zero(text: &str) -> Option<Ratio> {
    match text {
        "°C" | "degC" => Ratio::new(27_315, 100),
        "°F" | "degF" => Ratio::new(45_967, 100),
        _ => Some(Ratio::ZERO),
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        if text.is_empty() {
            return Ok(Self::none());
        }
        Self::parse(&text).map_err(serde::de::Error::custom)
    }
}
