//! What a row of readings says of itself: mean, spread, serial correlation, and their robust counterparts.
//!
//! Sums are carried in double-double arithmetic (`twofloat`), so that readings with many constant leading digits lose
//! nothing here: the certified NIST sets come out to the last digit that the readings themselves hold as `f64`.
//! All results are in the unit of the readings. Source of the definitions: NIST/SEMATECH e-Handbook of Statistical
//! Methods, sections 1.3.5.1 (location), 1.3.5.6 (scale) and 1.3.5.12 (autocorrelation).

use thiserror::Error;
use twofloat::TwoFloat;

/// Readings from which the asked statistic cannot be had.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum DescriptiveError {
    #[error("{needed} readings are needed at least, and there are {found}")]
    TooFew { needed: usize, found: usize },
    #[error("reading {position} is no number to compute with")]
    NotFinite { position: usize },
    #[error("all readings are equal, so they have no correlation")]
    NoSpread,
    #[error("the two rows of readings have {first} and {second} entries")]
    Lengths { first: usize, second: usize },
}

/// Arithmetic mean, Σx/n. At least one reading.
pub fn mean(readings: &[f64]) -> Result<f64, DescriptiveError> {
    check(readings, 1)?;
    Ok(f64::from(exact_mean(readings)))
}

/// Sample standard deviation, √(Σ(x − x̄)²/(n − 1)). At least two readings.
pub fn standard_deviation(readings: &[f64]) -> Result<f64, DescriptiveError> {
    check(readings, 2)?;
    let variance = squares_about(readings, exact_mean(readings)) / (readings.len() - 1) as f64;
    Ok(f64::from(variance).max(0.0).sqrt())
}

/// Autocorrelation at lag 1, Σ(xᵢ − x̄)(xᵢ₊₁ − x̄)/Σ(xᵢ − x̄)². At least two readings that are not all equal.
///
/// Near zero for readings that know nothing of each other; near one for a drift.
pub fn lag1_autocorrelation(readings: &[f64]) -> Result<f64, DescriptiveError> {
    check(readings, 2)?;
    let mean = exact_mean(readings);
    let squares = f64::from(squares_about(readings, mean));
    // Squares this small have lost their digits, or are none at all.
    if squares.is_nan() || squares < f64::MIN_POSITIVE / f64::EPSILON {
        return Err(DescriptiveError::NoSpread);
    }
    let neighbours = readings.iter().zip(readings.iter().skip(1));
    let products: TwoFloat = neighbours.map(|(a, b)| (mean - *a) * (mean - *b)).fold(ZERO, |sum, term| sum + term);
    Ok(f64::from(products) / squares)
}

/// Correlation of two rows read at the same time, Σ(x − x̄)(y − ȳ)/√(Σ(x − x̄)² Σ(y − ȳ)²).
///
/// Also the correlation of their means (JCGM 100:2008, 5.2.3). At least two pairs, neither row constant.
pub fn correlation(first: &[f64], second: &[f64]) -> Result<f64, DescriptiveError> {
    if first.len() != second.len() {
        return Err(DescriptiveError::Lengths { first: first.len(), second: second.len() });
    }
    check(first, 2)?;
    check(second, 2)?;
    let (mean_a, mean_b) = (exact_mean(first), exact_mean(second));
    let squares = f64::from(squares_about(first, mean_a)).sqrt() * f64::from(squares_about(second, mean_b)).sqrt();
    if squares == 0.0 {
        return Err(DescriptiveError::NoSpread);
    }
    let products =
        first.iter().zip(second).map(|(a, b)| (mean_a - *a) * (mean_b - *b)).fold(ZERO, |sum, term| sum + term);
    Ok((f64::from(products) / squares).clamp(-1.0, 1.0))
}

/// Median: the middle reading, or the mean of the two middle ones. At least one reading.
pub fn median(readings: &[f64]) -> Result<f64, DescriptiveError> {
    check(readings, 1)?;
    let mut sorted = readings.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    let at = |i: usize| sorted.get(i).copied().unwrap_or_default();
    Ok(if sorted.len() % 2 == 1 { at(middle) } else { at(middle - 1) / 2.0 + at(middle) / 2.0 })
}

/// Median absolute deviation from the median, unscaled (multiply by 1.4826 to compare it with a normal standard
/// deviation). At least one reading.
pub fn median_absolute_deviation(readings: &[f64]) -> Result<f64, DescriptiveError> {
    let centre = median(readings)?;
    let deviations: Vec<f64> = readings.iter().map(|x| (x - centre).abs()).collect();
    median(&deviations)
}

const ZERO: TwoFloat = TwoFloat::from_f64(0.0);

/// The mean with about 30 digits.
pub(super) fn exact_mean(readings: &[f64]) -> TwoFloat {
    readings.iter().fold(ZERO, |sum, x| sum + *x) / readings.len() as f64
}

/// Σ(x − centre)² with about 30 digits.
pub(super) fn squares_about(readings: &[f64], centre: TwoFloat) -> TwoFloat {
    readings.iter().map(|x| centre - *x).fold(ZERO, |sum, step| sum + step * step)
}

fn check(readings: &[f64], needed: usize) -> Result<(), DescriptiveError> {
    if readings.len() < needed {
        return Err(DescriptiveError::TooFew { needed, found: readings.len() });
    }
    match readings.iter().position(|x| !summable(*x)) {
        Some(position) => Err(DescriptiveError::NotFinite { position: position + 1 }),
        None => Ok(()),
    }
}

/// Whether a sum of squares of such numbers stays a number.
pub(super) fn summable(x: f64) -> bool {
    x.abs() < 1e150
}
