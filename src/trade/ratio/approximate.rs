//! Quicker limits for large counts, and the test whether a filter does anything at all.

use serde::{Deserialize, Serialize};

use super::{RatioError, RatioInterval, filtration_ratio, volume_ratio};
use crate::trade::{
    confidence::{Confidence, Interval},
    counting::Counted,
    distribution::{normal_cdf, normal_quantile},
};

/// β·exp(±z√(1/x_u + 1/x_d)). Fair above some 20 counts on either side; the exact interval is never worse.
///
/// Domain: particles on both sides. Source: delta method on ln β; common practice.
pub fn log_normal_interval(up: Counted, down: Counted, confidence: Confidence) -> Result<Interval, RatioError> {
    let ratio = filtration_ratio(up, down)?;
    let z = normal_quantile(1.0 - confidence.tail())?;
    let factor = (z * (1.0 / up.count as f64 + 1.0 / down.count as f64).sqrt()).exp();
    Ok(Interval { low: ratio / factor, high: ratio * factor })
}

/// The ratios ρ that a score test does not reject: (x_u − ρx_d)² ≤ z²ρ(x_u + x_d), solved for ρ, times V_d/V_u.
///
/// Near the stated confidence on average, not at least it. Nothing downstream leaves the high limit open. Domain:
/// particles upstream. Source: Graham, Mengersen and Morton, *Statistics in Medicine* 22 (2003) 2071.
pub fn score_interval(up: Counted, down: Counted, confidence: Confidence) -> Result<RatioInterval, RatioError> {
    let (x_u, x_d) = (up.count as f64, down.count as f64);
    if up.count == 0 {
        return Err(RatioError::NothingUpstream);
    }
    let z2 = normal_quantile(1.0 - confidence.tail())?.powi(2);
    let half = x_u * x_d + z2 * (x_u + x_d) / 2.0;
    // x_d²ρ² − 2·half·ρ + x_u² = 0; the smaller root in the form that does not cancel.
    let root = (half * half - (x_u * x_d).powi(2)).max(0.0).sqrt();
    let volumes = volume_ratio(up, down);
    let high = (down.count > 0).then(|| (half + root) / (x_d * x_d) * volumes);
    Ok(RatioInterval { low: x_u * x_u / (half + root) * volumes, high })
}

/// Outcome of [`equal_rates`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct EqualRates {
    /// Standardised difference, above zero when there are more particles upstream.
    pub z: f64,
    /// P(a difference as large or larger, either way) if both sides were alike.
    pub p_value: f64,
}

/// Score test that both sides hold the same concentration: z = (x_u − x_d·d)/√((x_u + x_d)d), d = V_u/V_d.
///
/// Domain: a particle somewhere. Fair above some ten counts in all. Source as [`score_interval`].
pub fn equal_rates(up: Counted, down: Counted) -> Result<EqualRates, RatioError> {
    let total = up.count as f64 + down.count as f64;
    if total == 0.0 {
        return Err(RatioError::NothingUpstream);
    }
    let volumes = 1.0 / volume_ratio(up, down);
    let z = (up.count as f64 - down.count as f64 * volumes) / (total * volumes).sqrt();
    Ok(EqualRates { z, p_value: 2.0 * normal_cdf(-z.abs()) })
}
