//! Two ends between which a predicted number lies.

use serde::Serialize;

/// A number known to lie between two others, in SI; never upside down.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Span {
    pub low: f64,
    pub high: f64,
}

impl Span {
    /// Between two numbers, in either order.
    pub fn between(a: f64, b: f64) -> Self {
        Self { low: a.min(b), high: a.max(b) }
    }

    /// A number without doubt.
    pub fn exactly(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// A number, give or take a share of itself.
    pub fn about(value: f64, share: f64) -> Self {
        Self::between(value * (1.0 - share), value * (1.0 + share))
    }

    /// The sum, each end with its own.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self { low: self.low + other.low, high: self.high + other.high }
    }

    /// The product of two spans that are zero or more.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        Self { low: self.low * other.low, high: self.high * other.high }
    }

    /// The quotient of two spans that are zero or more; `None` where the divisor may be zero.
    pub fn over(self, other: Self) -> Option<Self> {
        (other.low > 0.0).then(|| Self { low: self.low / other.high, high: self.high / other.low })
    }

    /// The smallest span that holds both.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// The geometric middle of a span above zero, the arithmetic one otherwise.
    pub fn middle(self) -> f64 {
        if self.low > 0.0 { (self.low * self.high).sqrt() } else { f64::midpoint(self.low, self.high) }
    }
}
