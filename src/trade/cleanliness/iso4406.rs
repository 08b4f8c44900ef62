//! ISO 4406: scale numbers for the particles at and above 4, 6 and 14 µm(c), or 5 and 15 µm under a microscope.
//!
//! Each scale number stands for a band, "more than … up to and including …", of particles per millilitre. The bands come
//! from the table: doubling from 0.01 would miscode 2 to 5 % above almost every limit from 1.28 up. Status: table, sizes and
//! the rule for low counts from public text; `*`, `-` and ">28" from memory; the standard itself not read.

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

use super::CleanlinessError;
use crate::trade::counting::Concentration;

/// Fewer raw counts than this and the figure is marked "≥".
pub const FEW_COUNTS: u64 = 20;

/// Upper limits, inclusive, in particles per millilitre, of scale numbers 0 to 28.
const LIMITS: [f64; 29] = [
    0.01,
    0.02,
    0.04,
    0.08,
    0.16,
    0.32,
    0.64,
    1.3,
    2.5,
    5.0,
    10.0,
    20.0,
    40.0,
    80.0,
    160.0,
    320.0,
    640.0,
    1300.0,
    2500.0,
    5000.0,
    10_000.0,
    20_000.0,
    40_000.0,
    80_000.0,
    160_000.0,
    320_000.0,
    640_000.0,
    1_300_000.0,
    2_500_000.0,
];

/// One place of a code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum ScaleNumber {
    /// 0 to 28.
    Band(u8),
    /// More than the table reaches, ">28".
    Above28,
    /// Too numerous to count, "*".
    TooNumerous,
    /// Not counted, or no requirement, "-".
    NotCounted,
}

/// The particles per millilitre that a scale number stands for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Band {
    pub more_than: f64,
    /// Absent above the table.
    pub up_to: Option<f64>,
}

impl ScaleNumber {
    /// The scale number of a concentration.
    pub fn of(at_and_above: Concentration) -> Self {
        let count = at_and_above.in_millilitre();
        let band = LIMITS.iter().zip(0..).find(|(limit, _)| count <= **limit);
        band.map_or(Self::Above28, |(_, number)| Self::Band(number))
    }

    /// The band it stands for; absent where nothing was counted, or too much to count.
    pub fn band(self) -> Option<Band> {
        let limit = |number: u8| LIMITS.get(usize::from(number)).copied();
        match self {
            Self::Band(number) => {
                let more_than = number.checked_sub(1).and_then(limit).unwrap_or(0.0);
                Some(Band { more_than, up_to: Some(limit(number)?) })
            }
            Self::Above28 => Some(Band { more_than: limit(28)?, up_to: None }),
            Self::TooNumerous | Self::NotCounted => None,
        }
    }
}

/// A scale number with its mark: "≥" when fewer than 20 particles were counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Figure {
    pub number: ScaleNumber,
    pub few_counts: bool,
}

impl Figure {
    /// From a concentration and the number of particles really counted for it.
    pub fn of(at_and_above: Concentration, raw_count: u64) -> Self {
        Self { number: ScaleNumber::of(at_and_above), few_counts: raw_count < FEW_COUNTS }
    }

    /// From a concentration whose raw count is not known, so that no mark can be given.
    pub fn unmarked(at_and_above: Concentration) -> Self {
        Self { number: ScaleNumber::of(at_and_above), few_counts: false }
    }

    pub const NOT_COUNTED: Self = Self { number: ScaleNumber::NotCounted, few_counts: false };
}

/// A code: three figures at 4, 6 and 14 µm(c) from an automatic counter, or `-` and two at 5 and 15 µm under a microscope.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Code(pub [Figure; 3]);

impl Code {
    /// From concentrations at and above 4, 6 and 14 µm(c), each with its raw count.
    pub fn automatic(at_4_6_14: [(Concentration, u64); 3]) -> Self {
        Self(at_4_6_14.map(|(concentration, raw)| Figure::of(concentration, raw)))
    }

    /// From concentrations at and above 5 and 15 µm, each with its raw count.
    pub fn microscope(at_5: (Concentration, u64), at_15: (Concentration, u64)) -> Self {
        Self([Figure::NOT_COUNTED, Figure::of(at_5.0, at_5.1), Figure::of(at_15.0, at_15.1)])
    }

    /// The bands of the three figures.
    pub fn bands(&self) -> [Option<Band>; 3] {
        self.0.map(|figure| figure.number.band())
    }
}

impl fmt::Display for ScaleNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Band(number) => number.fmt(f),
            Self::Above28 => f.write_str(">28"),
            Self::TooNumerous => f.write_str("*"),
            Self::NotCounted => f.write_str("-"),
        }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", if self.few_counts { "≥" } else { "" }, self.number)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [first, second, third] = &self.0;
        write!(f, "{first}/{second}/{third}")
    }
}

impl FromStr for Figure {
    type Err = CleanlinessError;

    fn from_str(text: &str) -> Result<Self, CleanlinessError> {
        let text = text.trim();
        let bare = text.strip_prefix('≥').or_else(|| text.strip_prefix(">="));
        let number = match bare.unwrap_or(text).trim_start() {
            ">28" => ScaleNumber::Above28,
            "*" => ScaleNumber::TooNumerous,
            "-" => ScaleNumber::NotCounted,
            digits if digits.starts_with(|c: char| c.is_ascii_digit()) => match digits.parse() {
                Ok(number @ 0..=28) => ScaleNumber::Band(number),
                _ => return Err(CleanlinessError::ScaleNumber(text.into())),
            },
            _ => return Err(CleanlinessError::ScaleNumber(text.into())),
        };
        // "≥-" and "≥*" would mark what was never coded.
        match (bare, number) {
            (Some(_), ScaleNumber::TooNumerous | ScaleNumber::NotCounted) => {
                Err(CleanlinessError::ScaleNumber(text.into()))
            }
            _ => Ok(Self { number, few_counts: bare.is_some() }),
        }
    }
}

impl FromStr for Code {
    type Err = CleanlinessError;

    fn from_str(text: &str) -> Result<Self, CleanlinessError> {
        let figures = text.split('/').map(str::parse).collect::<Result<Vec<Figure>, _>>()?;
        <[Figure; 3]>::try_from(figures).map(Self).map_err(|_| CleanlinessError::Code(text.into()))
    }
}

impl TryFrom<String> for Code {
    type Error = CleanlinessError;

    fn try_from(text: String) -> Result<Self, CleanlinessError> {
        text.parse()
    }
}

impl From<Code> for String {
    fn from(code: Code) -> Self {
        code.to_string()
    }
}
