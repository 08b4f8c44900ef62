//! Small tools the physics shares: an input refused with a reason, a root found to the last bit, a number as a bench
//! writes it.

/// An input that no formula should see: not a number, or outside what the quantity can be.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what} is {}: {must}", plain(*.value))]
pub struct Unfit {
    /// The quantity with the unit of `value`.
    pub what: &'static str,
    pub value: f64,
    /// What it has to be, and what to do.
    pub must: &'static str,
}

/// No bench meets a quantity outside these in SI units, and inside them no product of a formula overflows.
const SMALLEST: f64 = 1e-30;
const LARGEST: f64 = 1e30;

pub(super) fn above_zero(what: &'static str, value: f64) -> Result<f64, Unfit> {
    let must = "it must be a number above zero; check the value and its unit";
    if (SMALLEST..=LARGEST).contains(&value) { Ok(value) } else { Err(Unfit { what, value, must }) }
}

pub(super) fn zero_or_more(what: &'static str, value: f64) -> Result<f64, Unfit> {
    let must = "it must be a number, zero or more; check the value and its unit";
    if value == 0.0 || (SMALLEST..=LARGEST).contains(&value) { Ok(value) } else { Err(Unfit { what, value, must }) }
}

pub(super) fn a_number(what: &'static str, value: f64) -> Result<f64, Unfit> {
    let must = "it must be a number; check the value and its unit";
    if value.abs() <= LARGEST { Ok(value) } else { Err(Unfit { what, value, must }) }
}

/// A share of a whole: 0 to 1.
pub(super) fn share(what: &'static str, value: f64) -> Result<f64, Unfit> {
    let must = "a share lies from 0 to 1; check whether it was meant in per cent";
    if value == 0.0 || (SMALLEST..=1.0).contains(&value) { Ok(value) } else { Err(Unfit { what, value, must }) }
}

/// √(Σ x²): independent contributions to a standard uncertainty (JCGM 100:2008, 5.1.2).
pub(super) fn rooted_squares(contributions: impl IntoIterator<Item = f64>) -> f64 {
    contributions.into_iter().fold(0.0_f64, f64::hypot)
}

/// The point between `low` and `high` at which `f` passes from below to above zero, or from above to below.
///
/// Bisection until no number lies between the ends: slow by a few microseconds, and it cannot miss. `None` when `f` has
/// the same sign at both ends or is not a number at either.
pub(super) fn root(f: impl Fn(f64) -> f64, low: f64, high: f64) -> Option<f64> {
    let (at_low, at_high) = (f(low), f(high));
    if at_low == 0.0 {
        return Some(low);
    }
    if at_high == 0.0 {
        return Some(high);
    }
    if at_low.is_nan() || at_high.is_nan() || at_low.signum() == at_high.signum() {
        return None;
    }
    let (mut low, mut high) = (low, high);
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return Some(middle);
        }
        if f(middle) * at_low.signum() > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// A number with five significant digits, without an exponent where a bench would write none.
pub(super) fn plain(x: f64) -> String {
    if x == 0.0 || !x.is_finite() {
        return x.to_string();
    }
    let magnitude = x.abs().log10().floor();
    if !(-4.0..9.0).contains(&magnitude) {
        return format!("{x:.4e}");
    }
    let decimals = (4.0 - magnitude).max(0.0) as usize;
    let text = format!("{x:.decimals$}");
    if decimals == 0 { text } else { text.trim_end_matches('0').trim_end_matches('.').to_owned() }
}

#[cfg(test)]
mod tests {
    use super::{plain, root};

    #[test]
    fn a_root_is_found_to_the_last_bit_and_refused_where_there_is_none() {
        let found = root(|x| x * x - 2.0, 0.0, 2.0);
        assert!(found.is_some_and(|x| (x - 2.0_f64.sqrt()).abs() < 4e-16));
        assert_eq!(root(|x| 1.0 - x, 0.0, 1.0), Some(1.0));
        assert_eq!(root(|x| x * x + 1.0, -1.0, 1.0), None);
        assert_eq!(root(|_| f64::NAN, -1.0, 1.0), None);
    }

    #[test]
    fn numbers_are_written_as_a_bench_writes_them() {
        for (x, text) in [
            (15.0, "15"),
            (0.21, "0.21"),
            (14.26991, "14.27"),
            (2e7, "20000000"),
            (-4.76729, "-4.7673"),
            (1e-9, "1.0000e-9"),
        ] {
            assert_eq!(plain(x), text);
        }
    }
}
