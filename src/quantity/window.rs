//! Windows in which a value must lie, and intervals in which it is known to lie.

use serde::{Deserialize, Serialize};

use super::{Quantity, Unit};

/// How far outside a bound a value may lie through rounding of the arithmetic alone, relative to the bound.
const ROUNDING: f64 = 1e-12;

/// A window, ends included, in SI of its kind. An open end is no demand.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Not below this.
    pub low: Option<f64>,
    /// Not above this.
    pub high: Option<f64>,
}

impl Window {
    /// Both ends.
    pub fn between(low: f64, high: f64) -> Self {
        Self { low: Some(low), high: Some(high) }
    }

    /// A centre, plus or minus.
    pub fn around(centre: f64, half_width: f64) -> Self {
        Self::between(centre - half_width, centre + half_width)
    }

    /// At most.
    pub fn at_most(high: f64) -> Self {
        Self { low: None, high: Some(high) }
    }

    /// At least.
    pub fn at_least(low: f64) -> Self {
        Self { low: Some(low), high: None }
    }

    /// Whether a value is inside, ends included; an excess that the arithmetic alone explains (1 in 10¹²) is inside.
    pub fn contains(&self, value: f64) -> bool {
        let slack = |bound: f64| ROUNDING * bound.abs().max(value.abs());
        self.low.is_none_or(|low| value >= low - slack(low))
            && self.high.is_none_or(|high| value <= high + slack(high))
            && !value.is_nan()
    }

    /// Whether nothing can be inside.
    pub fn is_empty(&self) -> bool {
        matches!((self.low, self.high), (Some(low), Some(high)) if low > high)
    }

    /// What is in both.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            low: self.low.into_iter().chain(other.low).reduce(f64::max),
            high: self.high.into_iter().chain(other.high).reduce(f64::min),
        }
    }

    /// From end to end, when both are closed.
    pub fn width(&self) -> Option<f64> {
        Some(self.high? - self.low?)
    }
}

/// The ends of a window in a unit, the lower one rounded up and the upper one down, so that a printed window is never
/// wider than the true one. Where that would leave nothing, more decimals are kept (up to six more).
pub fn inward(
    window: &Window,
    unit: &Unit,
    decimals: usize,
    as_difference: bool,
) -> (Option<Quantity>, Option<Quantity>) {
    let mut ends = (None, None);
    for decimals in decimals..=decimals + 6 {
        let end = |si: Option<f64>, up: bool| Some(end(si?, window, unit, decimals, as_difference, up));
        ends = (end(window.low, true), end(window.high, false));
        match &ends {
            (Some(low), Some(high)) if low.value > high.value => {}
            _ => break,
        }
    }
    ends
}

/// One end, rounded to the inside.
fn end(si: f64, window: &Window, unit: &Unit, decimals: usize, as_difference: bool, up: bool) -> Quantity {
    let exact = if as_difference { unit.from_si_difference(si) } else { unit.from_si(si) };
    let step = 0.1_f64.powi(i32::try_from(decimals).unwrap_or(i32::MAX));
    let rounded = Quantity::rounded(exact, unit, decimals);
    let true_side = |quantity: &Quantity| {
        let si = if as_difference { quantity.si_difference() } else { quantity.si() };
        if up { Window { high: None, ..*window }.contains(si) } else { Window { low: None, ..*window }.contains(si) }
    };
    if true_side(&rounded) {
        return rounded;
    }
    Quantity::rounded(if up { rounded.value + step } else { rounded.value - step }, unit, decimals)
}

/// What is known of a value: it lies between these, ends included.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Between two values, in either order.
    pub fn new(one: f64, other: f64) -> Self {
        Self { low: one.min(other), high: one.max(other) }
    }

    /// Known exactly.
    pub fn point(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// The sum of both.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self { low: self.low + other.low, high: self.high + other.high }
    }

    /// The difference of both, taken as independent.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        Self { low: self.low - other.high, high: self.high - other.low }
    }

    /// Times a number.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self::new(self.low * factor, self.high * factor)
    }

    /// The smallest interval that holds both.
    #[must_use]
    pub fn hull(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// Whether a value may be the one.
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// From end to end.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }
}
