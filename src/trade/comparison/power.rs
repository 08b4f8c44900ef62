//! How many specimens it takes to see a difference, and what difference a number of specimens can show.
//!
//! Two of `groups` groups of n specimens each are compared by a two-sided t test on the pooled standard deviation, with
//! ν = groups·(n − 1). With λ = δ/(σ√(2/n)) the power is P(|T| > t) for the non-central t law, computed as the mean over
//! S = √(χ²_ν/ν) of Φ(λ − tS) + Φ(−λ − tS). For several comparisons give a stricter confidence (error over the number of
//! pairs is on the safe side). Source: the non-central t law; checked against `statsmodels`.

use super::{ComparisonError, count_of_groups, positive};
use crate::trade::{
    confidence::Confidence,
    distribution::{mean_over_estimated_sd, normal_cdf, student_quantile, threshold},
};

/// More specimens than this in each group are not asked for.
const MOST_SPECIMENS: usize = 100_000;

/// Probability that a true difference shows. `ratio` is the difference over the standard deviation between specimens.
///
/// Domain: ratio ≥ 0, 2 to 100 groups, n ≥ 2.
pub fn power(ratio: f64, groups: usize, specimens: usize, confidence: Confidence) -> Result<f64, ComparisonError> {
    if specimens < 2 {
        return Err(ComparisonError::Specimens);
    }
    if ratio.is_nan() || ratio < 0.0 {
        return Err(ComparisonError::NotPositive { what: "a difference", found: ratio });
    }
    let degrees_of_freedom = (count_of_groups(groups)? * (specimens - 1)) as f64;
    let t = student_quantile(1.0 - confidence.tail(), degrees_of_freedom)?;
    let shift = ratio.min(1e6) * (specimens as f64 / 2.0).sqrt();
    let seen = |s: f64| normal_cdf(shift - t * s) + normal_cdf(-shift - t * s);
    Ok(mean_over_estimated_sd(degrees_of_freedom, seen)?.clamp(0.0, 1.0))
}

/// The smallest number of specimens in each group that shows `difference` with the wanted power.
///
/// Both in the unit of the readings. Domain: both above zero, power between the error probability and 1; at most 100 000
/// specimens.
pub fn specimens_needed(
    difference: f64,
    sd: f64,
    groups: usize,
    confidence: Confidence,
    wanted_power: f64,
) -> Result<usize, ComparisonError> {
    let ratio = positive("a difference", difference)? / positive("a standard deviation", sd)?;
    let wanted = reachable(wanted_power, confidence)?;
    let shows = |n: usize| Ok::<bool, ComparisonError>(power(ratio, groups, n, confidence)? >= wanted);
    let mut high = 2;
    while !shows(high)? {
        if high >= MOST_SPECIMENS {
            return Err(ComparisonError::OutOfReach(MOST_SPECIMENS));
        }
        high = (high * 2).min(MOST_SPECIMENS);
    }
    let mut low = high / 2;
    while high - low > 1 {
        let middle = usize::midpoint(low, high);
        if shows(middle)? {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(high.max(2))
}

/// The smallest difference that n specimens in each group show with the wanted power, in the unit of `sd`. Domain as
/// [`specimens_needed`], n ≥ 2.
pub fn smallest_difference(
    sd: f64,
    groups: usize,
    specimens: usize,
    confidence: Confidence,
    wanted_power: f64,
) -> Result<f64, ComparisonError> {
    let sd = positive("a standard deviation", sd)?;
    let wanted = reachable(wanted_power, confidence)?;
    let shows = |ratio: f64| power(ratio, groups, specimens, confidence).is_ok_and(|found| found >= wanted);
    power(0.0, groups, specimens, confidence)?;
    // With two specimens and a strict confidence even this many standard deviations may not show.
    let most = 1e5;
    if shows(most) { Ok(threshold(0.0, most, shows) * sd) } else { Err(ComparisonError::Power(wanted_power)) }
}

fn reachable(power: f64, confidence: Confidence) -> Result<f64, ComparisonError> {
    if power > confidence.error() && power < 1.0 - 1e-9 { Ok(power) } else { Err(ComparisonError::Power(power)) }
}
