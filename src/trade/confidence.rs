//! How sure, and between what: the confidence of a statement and the interval that carries it.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The probability with which a stated interval or bound holds, strictly between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Confidence(f64);

impl Confidence {
    /// 95 %, the level of most reports.
    pub const P95: Self = Self(0.95);
    /// 95.45 %, the level for which a normal quantity has k = 2.
    pub const P95_45: Self = Self(0.954_499_736_103_641_6);
    /// 99 %.
    pub const P99: Self = Self(0.99);

    /// A confidence from a probability. Domain 0 < p < 1, and not so near to 1 that its complement is lost in rounding
    /// (1 − p ≥ 10⁻⁹).
    pub fn new(probability: f64) -> Result<Self, ConfidenceError> {
        if probability > 0.0 && probability <= 1.0 - 1e-9 {
            Ok(Self(probability))
        } else {
            Err(ConfidenceError { probability })
        }
    }

    /// The probability itself.
    pub fn probability(self) -> f64 {
        self.0
    }

    /// The probability of error, α = 1 − p.
    pub fn error(self) -> f64 {
        1.0 - self.0
    }

    /// What lies beyond one end of an interval with equal tails, α/2.
    pub(crate) fn tail(self) -> f64 {
        self.error() / 2.0
    }

    /// The same statement made `count` times at once, each held with the probability that keeps the whole at this
    /// level whatever their dependence (Bonferroni): 1 − α/count.
    pub(crate) fn shared_by(self, count: usize) -> Self {
        Self(1.0 - self.error() / count.max(1) as f64)
    }
}

impl TryFrom<f64> for Confidence {
    type Error = ConfidenceError;

    fn try_from(probability: f64) -> Result<Self, ConfidenceError> {
        Self::new(probability)
    }
}

impl From<Confidence> for f64 {
    fn from(confidence: Confidence) -> f64 {
        confidence.0
    }
}

/// A confidence that is no probability between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[error("a confidence must lie between 0 and 0.999999999 (0.95 for 95 %), not at {probability}")]
pub struct ConfidenceError {
    pub probability: f64,
}

/// Two finite limits, low ≤ high, in the unit of the quantity they enclose.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    pub low: f64,
    pub high: f64,
}

impl Interval {
    /// The interval of half-width `half` about `centre`.
    pub fn about(centre: f64, half: f64) -> Self {
        Self { low: centre - half.abs(), high: centre + half.abs() }
    }

    pub fn contains(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Both limits multiplied by a factor of zero or more, as when counts become counts per volume.
    pub fn scaled(self, factor: f64) -> Self {
        Self { low: self.low * factor, high: self.high * factor }
    }
}
