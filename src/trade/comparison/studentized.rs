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
        k * integrate(-8.5, 8.5, 7, one_highest)
    };
    Ok(mean_over_estimated_sd(degrees_of_freedom, |s| within(q.min(1e6) * s))?.clamp(0.0, 1.0))
}

/// q with P(Q ≤ q) = confidence. Domain: 2 ≤ k ≤ 100, ν ≥ 1. Source as [`range_probability`].
pub fn range_quantile(confidence: Confidence, groups: usize, degrees_of_freedom: f64) -> Result<f64, ComparisonError> {
    positive("a number of degrees of freedom", degrees_of_freedom)?;
    count_of_groups(groups)?;
    smallest_reaching(confidence, |q| range_probability(q, groups, degrees_of_freedom))
}

/// The smallest q ≥ 0 whose probability reaches the confidence, found to a part in 10¹².
pub(super) fn smallest_reaching(
    confidence: Confidence,
    probability: impl Fn(f64) -> Result<f64, ComparisonError>,
) -> Result<f64, ComparisonError> {
    let wanted = confidence.probability();
    let mut high = 4.0;
    while probability(high)? < wanted {
        high *= 2.0;
        if high > 1e5 {
            return Err(ComparisonError::NotPositive { what: "the room above a critical value of 10⁵", found: 0.0 });
        }
    }
    // Steps of a part in 10¹² of the bracket: what is finer is noise of the quadrature.
    let step = high * 1e-12;
    let reached = |n: f64| probability(n * step).is_ok_and(|p| p >= wanted);
    Ok(threshold_in_steps(high / step, reached) * step)
}

fn threshold_in_steps(steps: f64, reached: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, steps);
    while high - low > 1.0 {
        let middle = f64::midpoint(low, high);
        if reached(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}
