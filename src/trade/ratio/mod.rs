//! Filtration ratio and efficiency from counts before and after a filter.
//!
//! β = c_u/c_d, E = 1 − 1/β, penetration P = 1/β, with c a count over the volume in which it was counted. With few
//! particles downstream β is a number of no use without its interval, and with none it has a lower bound only; both come
//! from [`exact`]. Cumulative counts give the usual ratio at and above a size; [`between_sizes`] gives that of a size
//! class, which is another number. Source of the terms: ISO 16889 (relations in public text).

mod approximate;
mod exact;

use serde::{Deserialize, Serialize};
use thiserror::Error;

pub use approximate::{EqualRates, equal_rates, log_normal_interval, score_interval};
pub use exact::{BackgroundPair, efficiency_interval, interval, lower_bound, net_ratio, upper_bound};

use super::{
    counting::{Counted, CountingError, interval_average},
    distribution::DistributionError,
};

/// Counts from which no such ratio can be had.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum RatioError {
    #[error("no particle was counted upstream, so the filter was not challenged at this size")]
    NothingUpstream,
    #[error("no particle was counted downstream, so the ratio has a lower bound and no value")]
    NothingDownstream,
    #[error("the background leaves nothing of the upstream count")]
    BackgroundUpstream,
    #[error("the downstream sample is plainly cleaner than its background, so the background does not belong to it")]
    BackgroundDownstream,
    #[error("a filtration ratio must be above zero and finite, not {0}")]
    Ratio(f64),
    #[error("an efficiency must lie below 1 for a ratio to exist, and not at {0}")]
    Efficiency(f64),
    #[error("there are {up} counts upstream and {down} downstream; each upstream count needs its partner")]
    Unpaired { up: usize, down: usize },
    #[error(transparent)]
    Counting(#[from] CountingError),
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// Limits of a filtration ratio. No high limit: the counts do not exclude a filter that lets nothing through.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RatioInterval {
    pub low: f64,
    pub high: Option<f64>,
}

/// β = c_u/c_d. Domain: particles counted on both sides (none downstream: take [`lower_bound`]).
pub fn filtration_ratio(up: Counted, down: Counted) -> Result<f64, RatioError> {
    match (up.count, down.count) {
        (0, _) => Err(RatioError::NothingUpstream),
        (_, 0) => Err(RatioError::NothingDownstream),
        (counted_up, counted_down) => Ok(counted_up as f64 / counted_down as f64 * volume_ratio(up, down)),
    }
}

/// E = 1 − c_d/c_u, from −∞ (the filter sheds) to 1. Domain: particles counted upstream.
pub fn efficiency(up: Counted, down: Counted) -> Result<f64, RatioError> {
    if up.count == 0 {
        return Err(RatioError::NothingUpstream);
    }
    Ok(1.0 - down.count as f64 / up.count as f64 / volume_ratio(up, down))
}

/// E = 1 − 1/β. Domain β > 0.
pub fn efficiency_from_ratio(ratio: f64) -> Result<f64, RatioError> {
    let efficiency = 1.0 - 1.0 / ratio;
    if ratio > 0.0 && ratio.is_finite() && efficiency.is_finite() {
        Ok(efficiency)
    } else {
        Err(RatioError::Ratio(ratio))
    }
}

/// β = 1/(1 − E). Domain E < 1.
pub fn ratio_from_efficiency(efficiency: f64) -> Result<f64, RatioError> {
    if efficiency < 1.0 && efficiency.is_finite() {
        Ok(1.0 / (1.0 - efficiency))
    } else {
        Err(RatioError::Efficiency(efficiency))
    }
}

/// Ratio of the average counts over all intervals of a test, in one unit: mean(c_u)/mean(c_d).
///
/// Never the mean of the ratios, which a few clean intervals blow up (58 % too high on ordinary data). Source: ISO 16889
/// (rule from memory).
pub fn ratio_of_averages(up: &[f64], down: &[f64]) -> Result<f64, RatioError> {
    if up.len() != down.len() {
        return Err(RatioError::Unpaired { up: up.len(), down: down.len() });
    }
    quotient(interval_average(up)?, interval_average(down)?)
}

/// Ratio of a size class from cumulative concentrations at its two ends: (c_u(≥a) − c_u(≥b))/(c_d(≥a) − c_d(≥b)).
///
/// Each pair is (at the smaller size, at the larger). Domain: neither pair grows with size; particles in both classes.
pub fn between_sizes(up: (f64, f64), down: (f64, f64)) -> Result<f64, RatioError> {
    let class = |(smaller, larger): (f64, f64)| {
        let classes = super::counting::differential(&[smaller, larger])?;
        classes.first().copied().ok_or(RatioError::NothingUpstream)
    };
    quotient(class(up)?, class(down)?)
}

fn quotient(up: f64, down: f64) -> Result<f64, RatioError> {
    match (up > 0.0, down > 0.0) {
        (false, _) => Err(RatioError::NothingUpstream),
        (_, false) => Err(RatioError::NothingDownstream),
        _ if !(up / down).is_finite() => Err(RatioError::Ratio(up / down)),
        _ => Ok(up / down),
    }
}

/// Downstream volume over upstream volume: turns a ratio of counts into one of concentrations.
fn volume_ratio(up: Counted, down: Counted) -> f64 {
    down.volume().value / up.volume().value
}
