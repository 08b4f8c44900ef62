//! The law of a difference: how probable it is by chance, and what could have been seen.

use crate::results::estimate::{Estimate, Source};
use crate::trade::distribution::{
    mean_over_estimated_sd, normal_cdf, normal_quantile, student_quantile, student_two_sided,
};
use crate::trade::uncertainty::Shape;

/// The error that a whole family may make: two equal specimens are called different in one campaign of twenty.
pub(crate) const FAMILY_ERROR: f64 = 0.05;

/// How often a difference of the resolvable size shows.
const POWER: f64 = 0.8;

/// Effective degrees of freedom after Welch and Satterthwaite (JCGM 100:2008, G.4.1); infinite where nothing is estimated.
///
/// Rectangular errors count as normal ones of the same standard uncertainty, which is on the safe side.
pub(crate) fn freedom(estimate: &Estimate) -> f64 {
    let total = estimate.standard;
    let reciprocal: f64 = estimate
        .sources
        .iter()
        .map(|source| match source.shape {
            Shape::Student { freedom } => (source.contribution / total).powi(4) / freedom.max(1.0),
            _ => 0.0,
        })
        .sum();
    if reciprocal > 1e-9 { (1.0 / reciprocal).max(1.0) } else { f64::INFINITY }
}

/// The probability of a difference at least as large by chance; `None` where its doubt is not known.
pub(crate) fn p_value(difference: &Estimate) -> Option<f64> {
    let ratio = difference.value / difference.standard;
    if !(difference.standard > 0.0 && ratio.is_finite()) {
        return None;
    }
    let freedom = freedom(difference);
    let p = if freedom.is_finite() { student_two_sided(ratio, freedom).ok()? } else { 2.0 * normal_cdf(-ratio.abs()) };
    p.is_finite().then_some(p.clamp(0.0, 1.0))
}

/// How many standard uncertainties an interval reaches to either side that errs with probability `error`.
fn reach(freedom: f64, error: f64) -> Option<f64> {
    let p = 1.0 - error / 2.0;
    let found = if freedom.is_finite() { student_quantile(p, freedom) } else { normal_quantile(p) };
    found.ok().filter(|found| found.is_finite())
}

/// The interval of an estimate that errs with probability `error`: of one statement of a family its part (Bonferroni).
pub(crate) fn family_interval(estimate: &Estimate, error: f64) -> Option<(f64, f64)> {
    let half = reach(freedom(estimate), error)? * estimate.standard;
    half.is_finite().then_some((estimate.value - half, estimate.value + half))
}

/// The true difference that would have shown in eight of ten cases, where a difference is as doubtful as this one and a
/// verdict may err with probability `error`.
pub(crate) fn resolvable(difference: &Estimate, error: f64) -> Option<f64> {
    let freedom = freedom(difference);
    let t = reach(freedom, error)?;
    let shown = |shift: f64, s: f64| normal_cdf(shift - t * s) + normal_cdf(-shift - t * s);
    let power = |shift: f64| {
        if freedom.is_finite() {
            mean_over_estimated_sd(freedom, |s| shown(shift, s)).ok()
        } else {
            Some(shown(shift, 1.0))
        }
    };
    let reached = |shift: f64| power(shift).is_some_and(|power| power >= POWER);
    let mut high = t + 1.0;
    while !reached(high) {
        high *= 2.0;
        if high > 1e9 {
            return None;
        }
    }
    let mut low = 0.0;
    while high - low > 1e-6 * high {
        let middle = f64::midpoint(low, high);
        if reached(middle) { high = middle } else { low = middle }
    }
    (difference.standard > 0.0).then_some(high * difference.standard)
}

/// This less another, where the doubt of either may be larger to one side than to the other: what counts is the side on which
/// the other one lies (the square-and-add interval of Zou and Donner, *Statistics in Medicine* 27 (2008) 1693).
pub(crate) fn difference(first: &Estimate, second: &Estimate) -> Estimate {
    let above = first.value >= second.value;
    towards(first, !above).less(&towards(second, above))
}

/// An estimate with the doubt that it has upwards or downwards.
fn towards(estimate: &Estimate, upwards: bool) -> Estimate {
    let mut estimate = estimate.clone();
    if estimate.sources.is_empty() && estimate.standard > 0.0 {
        estimate.sources.push(Source::normal("its doubt", estimate.standard));
    }
    let (below, above) = (estimate.value - estimate.interval.low, estimate.interval.high - estimate.value);
    let (half, other) = if upwards { (above, below) } else { (below, above) };
    // Nearly even: the sources say it all.
    if (half - other).abs() <= 0.05 * half.max(other) || estimate.factor <= 0.0 {
        return estimate;
    }
    let even = Estimate::new(estimate.value, estimate.sources.clone());
    let own = even.interval.high - even.value;
    // An end that stops at what can exist makes nothing surer.
    let scale = if own > 0.0 { half / own } else { 1.0 };
    if scale.is_finite() && scale > 1.0 {
        for source in &mut estimate.sources {
            source.contribution *= scale;
        }
    }
    estimate
}
