//! A number with its unit.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{ConvertError, Unit};

/// Why a text is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NumberError {
    /// A comma inside: 1,250.
    #[error("a number has no commas")]
    Comma,
    /// Begins or ends with the point: .5 or 5.
    #[error("a number has digits on both sides of its point")]
    BarePoint,
    /// Something else.
    #[error("this is not a number")]
    NotANumber,
}

/// Reads a number: digits, at most one point with digits on both sides, perhaps a minus sign before.
///
/// # Errors
/// When the text is written otherwise.
pub fn read_number(text: &str) -> Result<f64, NumberError> {
    let plain = text.replacen('−', "-", 1);
    let digits = plain.strip_prefix('-').unwrap_or(&plain);
    if digits.contains(',') {
        return Err(NumberError::Comma);
    }
    let (whole, decimals) = digits.split_once('.').unwrap_or((digits, "0"));
    let all_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if !all_digits(whole) || !all_digits(decimals) {
        return Err(NumberError::NotANumber);
    }
    if whole.is_empty() || decimals.is_empty() {
        return Err(if digits.len() > 1 { NumberError::BarePoint } else { NumberError::NotANumber });
    }
    plain.parse().ok().filter(|value: &f64| value.is_finite()).ok_or(NumberError::NotANumber)
}

/// A number as it is written, its value, and its unit. `0.800 g` keeps its zeros.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// As written.
    pub number: String,
    /// In the unit.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
}

impl Quantity {
    /// A written number in a unit.
    ///
    /// # Errors
    /// When the text is no number.
    pub fn new(number: &str, unit: Unit) -> Result<Self, NumberError> {
        Ok(Self { number: number.to_owned(), value: read_number(number)?, unit })
    }

    /// A value in a unit, rounded to so many decimals; the value is the rounded one.
    pub fn rounded(value: f64, unit: &Unit, decimals: usize) -> Self {
        let mut number = format!("{value:.decimals$}");
        if number.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.')) {
            number = number.replace('-', "");
        }
        let value = number.parse().unwrap_or(value);
        Self { number, value, unit: unit.clone() }
    }

    /// A value in SI, in a unit, rounded to so many decimals; a temperature is a point.
    pub fn from_si(si: f64, unit: &Unit, decimals: usize) -> Self {
        Self::rounded(unit.from_si(si), unit, decimals)
    }

    /// A difference in SI, in a unit, rounded to so many decimals.
    pub fn from_si_difference(si: f64, unit: &Unit, decimals: usize) -> Self {
        Self::rounded(unit.from_si_difference(si), unit, decimals)
    }

    /// In coherent SI; a temperature as a point, in K. NaN for Saybolt seconds.
    pub fn si(&self) -> f64 {
        self.unit.to_si(self.value)
    }

    /// In coherent SI as a difference: the factor only. NaN for Saybolt seconds.
    pub fn si_difference(&self) -> f64 {
        self.unit.to_si_difference(self.value)
    }

    /// The value in another unit.
    ///
    /// # Errors
    /// When the units measure different things, have different references, or are not linear.
    pub fn convert(&self, to: &Unit, as_difference: bool) -> Result<f64, ConvertError> {
        self.unit.convert(self.value, to, as_difference)
    }

    /// How many digits are written after the point.
    pub fn decimals(&self) -> usize {
        self.number.split_once('.').map_or(0, |(_, decimals)| decimals.len())
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.number)?;
        if self.unit.text.is_empty() { Ok(()) } else { write!(f, " {}", self.unit) }
    }
}
