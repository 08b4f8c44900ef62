//! What an uncertainty does to a decision: is the reading good enough for the tolerance, and how often is one wrong?
//!
//! T is the half-width of a tolerance, U the expanded uncertainty with k = 2, TUR = T/U their ratio. Risks are those of
//! JCGM 106:2012 for a normal population and a normal error; guard bands as named at each function.

use super::{UncertaintyError, positive};
use crate::trade::distribution::{integrate, normal_cdf, normal_density, normal_quantile, threshold};

/// TUR = T/U. Domain: both above zero. Common reading: 4 or more is comfortable, below 1 nothing can be decided.
pub fn uncertainty_ratio(tolerance_half_width: f64, expanded_k2: f64) -> Result<f64, UncertaintyError> {
    let ratio = positive("a tolerance", tolerance_half_width)? / positive("an expanded uncertainty", expanded_k2)?;
    positive("a test uncertainty ratio", ratio)
}

/// How often a decision is wrong, as shares of all items decided on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risk {
    /// Accepted although outside the tolerance.
    pub false_accept: f64,
    /// Rejected although inside.
    pub false_reject: f64,
}

/// Global risks of accepting within ± `acceptance`·T (1: no guard band), when a share `in_tolerance` of all items,
/// normally distributed about the middle, truly lies within ± T.
///
/// Note that a TUR of 4 does not keep false accepts below 2 % for every population (the worst is 2.24 %). Domain: 0.01 ≤ TUR ≤
/// 1000, 0 < in_tolerance < 1, 0 ≤ acceptance ≤ 1. Source: JCGM 106:2012, section 9.5 (formulas from memory).
pub fn global_risk(ratio: f64, in_tolerance: f64, acceptance: f64) -> Result<Risk, UncertaintyError> {
    if !(0.01..=1000.0).contains(&ratio) {
        return Err(UncertaintyError::RatioRange(ratio));
    }
    if !(0.0..=1.0).contains(&acceptance) {
        return Err(UncertaintyError::Fraction { what: "an acceptance limit", found: acceptance });
    }
    let error = 1.0 / (2.0 * ratio);
    // In units of T: the population's standard deviation, and a step that resolves both it and the error.
    let spread = 1.0 / normal_quantile(f64::midpoint(1.0, fraction("a share in tolerance", in_tolerance)?))?;
    let accepted = |x: f64| normal_cdf((acceptance - x) / error) - normal_cdf((-acceptance - x) / error);
    let population = |x: f64| normal_density(x / spread) / spread;
    let end = (10.0 * spread).max(1.0);
    let panels = |from: f64, to: f64| ((to - from) / spread.min(error)).ceil().clamp(8.0, 4096.0) as u32;
    // Where the error is no longer felt, acceptance is 1 or 0: cut the integrals there.
    let outer = end.min(1.0 + 10.0 * error);
    let false_accept = 2.0 * integrate(1.0, outer, panels(1.0, outer), |x| population(x) * accepted(x));
    let inner = (acceptance - 10.0 * error).max(0.0);
    let rejected = |x: f64| normal_cdf((x - acceptance) / error) + normal_cdf((-acceptance - x) / error);
    let false_reject = 2.0 * integrate(inner, 1.0, panels(inner, 1.0), |x| population(x) * rejected(x));
    Ok(Risk { false_accept: false_accept.clamp(0.0, 1.0), false_reject: false_reject.clamp(0.0, 1.0) })
}

/// P(the item is beyond an upper limit) after a reading, with nothing known beforehand: Φ((reading − limit)/u), u > 0.
///
/// Source: JCGM 106:2012, section 7.4. For a lower limit swap reading and limit.
pub fn specific_risk(reading: f64, limit: f64, standard_uncertainty: f64) -> Result<f64, UncertaintyError> {
    let u = positive("a standard uncertainty", standard_uncertainty)?;
    let distance = (reading - limit) / u;
    if distance.is_nan() { Err(UncertaintyError::Model) } else { Ok(normal_cdf(distance)) }
}

/// Acceptance limit over T with a guard band of U: 1 − 1/TUR. Domain TUR ≥ 1.
///
/// Keeps the risk at the acceptance limit below 2.3 %. Source: ILAC-G8:09/2019 (rule from memory).
pub fn guard_band_full(ratio: f64) -> Result<f64, UncertaintyError> {
    Ok(1.0 - 1.0 / at_least_one(ratio)?)
}

/// Acceptance limit over T with the root-sum-of-squares band: √(1 − 1/TUR²). Domain TUR ≥ 1. Common practice, from memory.
pub fn guard_band_root(ratio: f64) -> Result<f64, UncertaintyError> {
    Ok((1.0 - at_least_one(ratio)?.powi(2).recip()).sqrt())
}

/// The widest acceptance limit over T, at most 1, that keeps false accepts at or below `risk`. Domain as [`global_risk`],
/// 0 < risk < 1.
pub fn guard_band_for_risk(ratio: f64, in_tolerance: f64, risk: f64) -> Result<f64, UncertaintyError> {
    let risk = fraction("a risk", risk)?;
    if global_risk(ratio, in_tolerance, 1.0)?.false_accept <= risk {
        return Ok(1.0);
    }
    let exceeds =
        |acceptance: f64| global_risk(ratio, in_tolerance, acceptance).is_ok_and(|found| found.false_accept > risk);
    // The first limit that exceeds; a part in 10⁹ of T below it keeps the promise in spite of rounding.
    Ok((threshold(0.0, 1.0, exceeds) - 1e-9).max(0.0))
}

fn fraction(what: &'static str, found: f64) -> Result<f64, UncertaintyError> {
    if found > 1e-9 && found < 1.0 - 1e-9 { Ok(found) } else { Err(UncertaintyError::Fraction { what, found }) }
}

fn at_least_one(ratio: f64) -> Result<f64, UncertaintyError> {
    if ratio >= 1.0 && ratio.is_finite() { Ok(ratio) } else { Err(UncertaintyError::Undecidable(ratio)) }
}
