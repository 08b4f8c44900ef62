//! Counts over sizes, and counts over time.

use super::CountingError;
use crate::quantity::si::Time;

/// Counts between neighbouring sizes from counts at and above each: n(a..b) = N(≥a) − N(≥b), the last class open.
///
/// Sizes ascend; counts in any one unit. Domain: one count or more, finite, ≥ 0, none above its predecessor.
pub fn differential(cumulative: &[f64]) -> Result<Vec<f64>, CountingError> {
    check_counts(cumulative)?;
    let next = || cumulative.iter().skip(1).chain(std::iter::once(&0.0));
    match cumulative.iter().zip(cumulative.iter().skip(1)).position(|(this, next)| next > this) {
        Some(position) => Err(CountingError::Growing { position: position + 2 }),
        None => Ok(cumulative.iter().zip(next()).map(|(this, next)| this - next).collect()),
    }
}

/// Counts at and above each size from counts per size class, the last class open: N(≥a) = Σ n of its class and above.
///
/// Sizes ascend; counts in any one unit. Domain: one count or more, finite, ≥ 0.
pub fn cumulative(differential: &[f64]) -> Result<Vec<f64>, CountingError> {
    check_counts(differential)?;
    let mut sums: Vec<f64> = differential
        .iter()
        .rev()
        .scan(0.0, |sum, n| {
            *sum += n;
            Some(*sum)
        })
        .collect();
    sums.reverse();
    Ok(sums)
}

/// Mean of counts read over equal intervals of time, as over the reporting intervals of a loading test. Domain as
/// [`cumulative`].
pub fn interval_average(counts: &[f64]) -> Result<f64, CountingError> {
    check_counts(counts)?;
    Ok(counts.iter().sum::<f64>() / counts.len() as f64)
}

/// Mean over time of counts read at moments: trapezoidal integral over the span. Domain: two moments or more, ascending.
pub fn time_average(times: &[Time], counts: &[f64]) -> Result<f64, CountingError> {
    if times.len() != counts.len() {
        return Err(CountingError::Lengths { times: times.len(), values: counts.len() });
    }
    if times.len() < 2 {
        return Err(CountingError::TooFew { needed: 2, found: times.len() });
    }
    check_counts(counts)?;
    let steps = || times.iter().zip(times.iter().skip(1)).map(|(from, to)| (*to - *from).value);
    if let Some(position) = steps().position(|step| !(step > 0.0 && step.is_finite())) {
        return Err(CountingError::Times { position: position + 2 });
    }
    let heights = counts.iter().zip(counts.iter().skip(1)).map(|(a, b)| a / 2.0 + b / 2.0);
    Ok(steps().zip(heights).map(|(step, height)| step * height).sum::<f64>() / steps().sum::<f64>())
}

fn check_counts(counts: &[f64]) -> Result<(), CountingError> {
    if counts.is_empty() {
        return Err(CountingError::TooFew { needed: 1, found: 0 });
    }
    match counts.iter().position(|n| !(*n >= 0.0 && *n < 1e100)) {
        Some(position) => Err(CountingError::Count { position: position + 1 }),
        None => Ok(()),
    }
}
