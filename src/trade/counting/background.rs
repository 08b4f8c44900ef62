//! What is left of a count when its background is taken off, with the uncertainty of both.

use serde::{Deserialize, Serialize};

use super::{CountingError, poisson};
use crate::trade::confidence::{Confidence, Interval};

/// A count less its background, in counts of the sample's volume. Below zero when the sample happened to show fewer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct NetCount {
    pub value: f64,
    pub variance: f64,
}

impl NetCount {
    pub fn standard_uncertainty(&self) -> f64 {
        self.variance.sqrt()
    }
}

/// N = S − kB with variance S + k²B, k being the sample's volume over the background's, and the interval of N.
///
/// The interval recovers its width from the exact limits of S and B (the "MOVER" of Zou and Donner, *Statistics in
/// Medicine* 27 (2008) 1693): low = N − √((S − s)² + k²(b' − B)²), high likewise, so it is right where √S is not: at
/// small counts and at zero. It may begin below zero. Domain: S, B ≤ 10⁹; k > 0.
pub fn subtract_background(
    sample: u64,
    background: u64,
    volume_ratio: f64,
    confidence: Confidence,
) -> Result<(NetCount, Interval), CountingError> {
    let k = scale(volume_ratio)?;
    let (s, b) = (sample as f64, background as f64);
    let of_sample = poisson::interval(sample, confidence)?;
    let of_background = poisson::interval(background, confidence)?;
    let net = NetCount { value: s - k * b, variance: s + k * k * b };
    let down = (s - of_sample.low).hypot(k * (of_background.high - b));
    let up = (of_sample.high - s).hypot(k * (b - of_background.low));
    Ok((net, Interval { low: net.value - down, high: net.value + up }))
}

/// N = S − kB̄ for n blank bottles filled and counted alike, k being the sample's volume over a blank's.
///
/// Bottles differ by more than counting explains. Their variance v = max(s²_B, B̄) enters twice: as that of the mean,
/// k²v/n, and, for what exceeds counting, as that of the one bottle that held the sample, k²(v − B̄); so the variance is
/// S + k²(v/n + v − B̄). Domain: one blank or more (with one, v = B̄: counting only). Source: propagation of variance,
/// JCGM 100:2008 section 5.1; no standard's clause.
pub fn subtract_bottle_blank(sample: u64, blanks: &[u64], volume_ratio: f64) -> Result<NetCount, CountingError> {
    let k = scale(volume_ratio)?;
    if blanks.is_empty() {
        return Err(CountingError::TooFew { needed: 1, found: 0 });
    }
    if sample.max(blanks.iter().copied().max().unwrap_or_default()) > poisson::MOST {
        return Err(CountingError::TooMany);
    }
    let n = blanks.len() as f64;
    let mean = blanks.iter().map(|b| *b as f64).sum::<f64>() / n;
    let squares: f64 = blanks.iter().map(|b| (*b as f64 - mean).powi(2)).sum();
    let spread = if blanks.len() > 1 { (squares / (n - 1.0)).max(mean) } else { mean };
    Ok(NetCount { value: sample as f64 - k * mean, variance: sample as f64 + k * k * (spread / n + spread - mean) })
}

fn scale(ratio: f64) -> Result<f64, CountingError> {
    if ratio > 0.0 && ratio < 1e50 { Ok(ratio) } else { Err(CountingError::Scale(ratio)) }
}
