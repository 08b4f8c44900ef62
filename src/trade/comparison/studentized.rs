//! The studentized range: the spread of k means over their standard error, both estimated.

use super::{ComparisonError, count_of_groups, positive};
use crate::trade::{
    confidence::Confidence,
    distribution::{integrate, mean_over_estimated_sd, normal_cdf, normal_density},
};

/// P(Q ≤ q) for k means and ν degrees of freedom: the mean over S = √(χ²_ν/ν) of k∫φ(z)(Φ(z) − Φ(z − qS))ᵏ⁻¹dz.
///
/// Domain: q ≥ 0, 2 ≤ k ≤ 100, ν > 0. Absolute error below 10⁻⁹ (against `scipy`). Source: Tukey (1953); Copenhaver and
/// Holland, *Journal of Statistical Computation and Simulation* 30 (1988) 1.
pub fn range_probability(q: f64, groups: usize, degrees_of_freedom: f64) -> Result<f64, ComparisonError> {
    let k = count_of_groups(groups)? as f64;
    if q.is_nan() || q < 0.0 {
        return Err(ComparisonError::NotPositive { what: "a studentized range", found: q });
    }
    let within = |width: f64| {
        let one_highest = |z: f64| normal_density(z) * (normal_cdf(z) - normal_cdf(z - width)).powf(k - 1.0);
        k * integrate(-8.5, 8.5, 4, one_highest)
    };
    Ok(mean_over_estimated_sd(degrees_of_freedom, |s| within(q.min(1e6) * s))?.clamp(0.0, 1.0))
}

/// q with P(Q ≤ q) = confidence. Domain: 2 ≤ k ≤ 100, ν ≥ 1. Source as [`range_probability`].
pub fn range_quantile(confidence: Confidence, groups: usize, degrees_of_freedom: f64) -> Result<f64, ComparisonError> {
    positive("a number of degrees of freedom", degrees_of_freedom)?;
    count_of_groups(groups)?;
    reaching(confidence, |q| range_probability(q, groups, degrees_of_freedom))
}

/// The q ≥ 0 at which a growing probability reaches the confidence, to a part in 10¹¹: false position with the end that
/// stays halved in weight (the Illinois rule), since each probability is a double integral.
pub(super) fn reaching(
    confidence: Confidence,
    probability: impl Fn(f64) -> Result<f64, ComparisonError>,
) -> Result<f64, ComparisonError> {
    const LARGEST: f64 = 1e5;
    let excess = |q: f64| Ok::<f64, ComparisonError>(probability(q)? - confidence.probability());
    let (mut low, mut below) = (0.0, -confidence.probability());
    let (mut high, mut above) = (4.0, excess(4.0)?);
    while above < 0.0 {
        (low, below) = (high, above);
        high *= 2.0;
        above = excess(high)?;
        if high > LARGEST {
            return Err(ComparisonError::Critical(LARGEST));
        }
    }
    let mut low_moved = false;
    for _ in 0..60 {
        let guess = (low * above - high * below) / (above - below);
        if high - low <= 1e-11 * high || !(low < guess && guess < high) {
            break;
        }
        let found = excess(guess)?;
        if found.abs() < 1e-11 {
            return Ok(guess);
        }
        if found < 0.0 {
            (low, below) = (guess, found);
            above /= if low_moved { 2.0 } else { 1.0 };
            low_moved = true;
        } else {
            (high, above) = (guess, found);
            below /= if low_moved { 1.0 } else { 2.0 };
            low_moved = false;
        }
    }
    Ok(high)
}
