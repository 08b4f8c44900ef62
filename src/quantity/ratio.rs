//! Exact fractions, so that no factor is rounded before it is used.

use serde::{Deserialize, Serialize};

/// A fraction in lowest terms with a positive denominator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Ratio {
    numerator: i128,
    denominator: i128,
}

impl Ratio {
    /// One.
    pub const ONE: Self = Self { numerator: 1, denominator: 1 };
    /// Zero.
    pub const ZERO: Self = Self { numerator: 0, denominator: 1 };

    /// The fraction, or nothing when the denominator is zero or doesn't fit.
    pub fn new(numerator: i128, denominator: i128) -> Option<Self> {
        let divisor = greatest_common_divisor(numerator.checked_abs()?, denominator.checked_abs()?);
        if denominator == 0 || divisor == 0 {
            return None;
        }
        let sign = denominator.signum();
        Some(Self { numerator: sign * numerator / divisor, denominator: sign * denominator / divisor })
    }

    /// The upper number.
    pub fn numerator(self) -> i128 {
        self.numerator
    }

    /// The lower number, above zero.
    pub fn denominator(self) -> i128 {
        self.denominator
    }

    /// The product, unless it doesn't fit.
    pub fn times(self, other: Self) -> Option<Self> {
        // Reducing crosswise first keeps the numbers small.
        let left = Self::new(self.numerator, other.denominator)?;
        let right = Self::new(other.numerator, self.denominator)?;
        Self::new(left.numerator.checked_mul(right.numerator)?, left.denominator.checked_mul(right.denominator)?)
    }

    /// The quotient, unless it doesn't fit or divides by zero.
    pub fn over(self, other: Self) -> Option<Self> {
        self.times(Self::new(other.denominator, other.numerator)?)
    }

    /// The difference, unless it doesn't fit.
    pub fn minus(self, other: Self) -> Option<Self> {
        let left = self.numerator.checked_mul(other.denominator)?;
        let right = other.numerator.checked_mul(self.denominator)?;
        Self::new(left.checked_sub(right)?, self.denominator.checked_mul(other.denominator)?)
    }

    /// A whole power, unless it doesn't fit.
    pub fn power(self, power: u8) -> Option<Self> {
        (0..power).try_fold(Self::ONE, |product, _| product.times(self))
    }

    /// The nearest number, to the last bit when both parts are below 2⁵³.
    #[expect(clippy::cast_precision_loss, reason = "the parts are rounded once; see the doc")]
    pub fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }
}

fn greatest_common_divisor(mut left: i128, mut right: i128) -> i128 {
    while right != 0 {
        (left, right) = (right, left % right);
    }
    left
}
