//! Intervals of a ratio that hold at any count, zero downstream included.

use super::{RatioError, RatioInterval, volume_ratio};
use crate::trade::{
    confidence::{Confidence, Interval},
    counting::{Counted, NetCount, subtract_background},
    distribution::beta_quantile,
};

/// Exact interval of β with equal tails, by conditioning on the total.
///
/// Given x_u + x_d particles in all, x_u is binomial with p = ρ/(1 + ρ), ρ being the ratio of expected counts; the
/// Clopper–Pearson limits of p, turned back, are those of ρ, and times V_d/V_u those of β. Nothing downstream leaves the
/// high limit open. It covers with at least the stated confidence. Domain: particles counted upstream. Sources:
/// Przyborowski and Wilenski, *Biometrika* 31 (1940) 313; Clopper and Pearson, *Biometrika* 26 (1934) 404.
pub fn interval(up: Counted, down: Counted, confidence: Confidence) -> Result<RatioInterval, RatioError> {
    Ok(RatioInterval { low: low_limit(up, down, confidence.tail())?, high: high_limit(up, down, confidence.tail())? })
}

/// One-sided lower bound of β: "at least this". Construction, domain and source as [`interval`].
pub fn lower_bound(up: Counted, down: Counted, confidence: Confidence) -> Result<f64, RatioError> {
    low_limit(up, down, confidence.error())
}

/// One-sided upper bound of β, absent with nothing downstream. Construction, domain and source as [`interval`].
pub fn upper_bound(up: Counted, down: Counted, confidence: Confidence) -> Result<Option<f64>, RatioError> {
    high_limit(up, down, confidence.error())
}

/// Exact interval of the efficiency, 1 − 1/β at both ends of [`interval`]; reaches 1 with nothing downstream.
pub fn efficiency_interval(up: Counted, down: Counted, confidence: Confidence) -> Result<Interval, RatioError> {
    let ratio = interval(up, down, confidence)?;
    Ok(Interval { low: 1.0 - 1.0 / ratio.low, high: 1.0 - ratio.high.map_or(0.0, f64::recip) })
}

fn low_limit(up: Counted, down: Counted, tail: f64) -> Result<f64, RatioError> {
    if up.count == 0 {
        return Err(RatioError::NothingUpstream);
    }
    Ok(odds(up.count as f64, down.count as f64 + 1.0, (tail, 1.0 - tail))? * volume_ratio(up, down))
}

fn high_limit(up: Counted, down: Counted, tail: f64) -> Result<Option<f64>, RatioError> {
    match (up.count, down.count) {
        (0, _) => Err(RatioError::NothingUpstream),
        (_, 0) => Ok(None),
        (counted_up, counted_down) => {
            let odds = odds(counted_up as f64 + 1.0, counted_down as f64, (1.0 - tail, tail))?;
            Ok(Some(odds * volume_ratio(up, down)))
        }
    }
}

/// p/(1 − p) for the share p upstream with the given probabilities (below, above) under the beta law with a and b. The
/// smaller of the two shares is the one computed, so that no digits are lost when nearly all particles lie on one side.
fn odds(a: f64, b: f64, (below, above): (f64, f64)) -> Result<f64, RatioError> {
    if a < b {
        let share_up = beta_quantile(below, a, b)?;
        Ok(share_up / (1.0 - share_up))
    } else {
        let share_down = beta_quantile(above, b, a)?;
        Ok((1.0 - share_down) / share_down)
    }
}

/// A count and the background counted at the same place, each in its volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BackgroundPair {
    pub sample: Counted,
    pub background: Counted,
}

impl BackgroundPair {
    fn net(&self, confidence: Confidence) -> Result<(NetCount, Interval), RatioError> {
        let scale = self.sample.volume().value / self.background.volume().value;
        Ok(subtract_background(self.sample.count, self.background.count, scale, confidence)?)
    }
}

/// β of the net counts and its interval: the value is absent when nothing is left downstream.
///
/// Both net counts are enclosed with half the error each (Bonferroni), and the interval runs from the lowest upstream
/// over the highest downstream to the reverse; it is wide on purpose, for four counts are uncertain at once. When the
/// downstream interval reaches zero the high limit is open; when the upstream one does, the low limit is zero. Domain: the
/// upstream net count is above zero, and the downstream sample not plainly cleaner than its background. Source: the limits of [`subtract_background`]; no standard's clause.
pub fn net_ratio(
    up: BackgroundPair,
    down: BackgroundPair,
    confidence: Confidence,
) -> Result<(Option<f64>, RatioInterval), RatioError> {
    let each = confidence.shared_by(2);
    let ((net_up, of_up), (net_down, of_down)) = (up.net(each)?, down.net(each)?);
    if net_up.value <= 0.0 {
        return Err(RatioError::BackgroundUpstream);
    }
    if of_down.high <= 0.0 {
        return Err(RatioError::BackgroundDownstream);
    }
    let volumes = volume_ratio(up.sample, down.sample);
    let value = (net_down.value > 0.0).then(|| net_up.value / net_down.value * volumes);
    // A net count cannot truly be negative, so limits below zero say no more than zero does.
    let low = of_up.low.max(0.0) / of_down.high * volumes;
    let high = (of_down.low > 0.0).then(|| of_up.high / of_down.low * volumes);
    Ok((value, RatioInterval { low, high }))
}
