//! What a count says of its expectation, when particles arrive independently of each other.

use serde::{Deserialize, Serialize};

use super::CountingError;
use crate::trade::{
    confidence::{Confidence, Interval},
    distribution::{chi_squared_quantile, chi_squared_survival},
};

/// The largest count treated; the chi-squared quantile is good to 10⁻¹¹ up to here.
pub(super) const MOST: u64 = 1_000_000_000;

/// Exact (Garwood) interval of a Poisson expectation with equal tails: χ²(α/2; 2n)/2 to χ²(1 − α/2; 2n + 2)/2, the low
/// limit 0 for n = 0. In counts; it covers with at least the stated confidence.
///
/// Domain n ≤ 10⁹. Source: Garwood, *Biometrika* 28 (1936) 437; NIST/SEMATECH e-Handbook, section 6.3.3.1.
pub fn interval(count: u64, confidence: Confidence) -> Result<Interval, CountingError> {
    Ok(Interval { low: low_limit(count, confidence.tail())?, high: high_limit(count, confidence.tail())? })
}

/// Exact one-sided upper bound, χ²(1 − α; 2n + 2)/2; for n = 0 it is −ln α (3.0 at 95 %). Domain and source as
/// [`interval`].
pub fn upper_bound(count: u64, confidence: Confidence) -> Result<f64, CountingError> {
    high_limit(count, confidence.error())
}

/// Exact one-sided lower bound, χ²(α; 2n)/2; 0 for n = 0. Domain and source as [`interval`].
pub fn lower_bound(count: u64, confidence: Confidence) -> Result<f64, CountingError> {
    low_limit(count, confidence.error())
}

/// Standard deviation of a count relative to it, 1/√n. Domain n ≥ 1. Source: Poisson law.
pub fn relative_standard_uncertainty(count: u64) -> Result<f64, CountingError> {
    if count == 0 { Err(CountingError::NothingCounted) } else { Ok(1.0 / (count as f64).sqrt()) }
}

fn low_limit(count: u64, tail: f64) -> Result<f64, CountingError> {
    match within(count)? {
        0.0 => Ok(0.0),
        n => Ok(chi_squared_quantile(tail, 2.0 * n)? / 2.0),
    }
}

fn high_limit(count: u64, tail: f64) -> Result<f64, CountingError> {
    match within(count)? {
        0.0 => Ok(-tail.ln()),
        n => Ok(chi_squared_quantile(1.0 - tail, 2.0 * n + 2.0)? / 2.0),
    }
}

fn within(count: u64) -> Result<f64, CountingError> {
    if count <= MOST { Ok(count as f64) } else { Err(CountingError::TooMany) }
}

/// Do repeated counts of one liquid scatter more than counting alone explains?
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Dispersion {
    /// Variance over mean, 1 for counting alone.
    pub index: f64,
    /// P(an index as large or larger) by counting alone. Small: bubbles, settling, carry-over.
    pub p_value: f64,
}

/// Index of dispersion Σ(n − n̄)²/((k − 1)n̄) of k counts in equal volumes, with its chi-squared test.
///
/// Domain: two counts or more, not all zero. Source: Fisher's index-of-dispersion test (common practice for counts).
pub fn dispersion(counts: &[u64]) -> Result<Dispersion, CountingError> {
    if counts.len() < 2 {
        return Err(CountingError::TooFew { needed: 2, found: counts.len() });
    }
    let values = counts.iter().map(|n| within(*n)).collect::<Result<Vec<f64>, _>>()?;
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    if mean == 0.0 {
        return Err(CountingError::NothingCounted);
    }
    let squares: f64 = values.iter().map(|n| (n - mean).powi(2)).sum();
    let freedom = (values.len() - 1) as f64;
    let p_value = chi_squared_survival(squares / mean, freedom)?;
    Ok(Dispersion { index: squares / mean / freedom, p_value })
}
