//! Quantiles and tail probabilities that the rest of `trade` asks for.
//!
//! `statrs` gives the normal, chi-squared, Student and F laws. Its incomplete beta function loses digits once both
//! parameters pass some thousands (at a = b = 10⁶ it is wrong in the second figure, and its inverse may not return),
//! which particle counts reach on every sample. Beta quantiles are therefore integrated here, and Student's t beyond
//! ν = 10³ comes from its expansion.

use std::{num::NonZeroUsize, sync::LazyLock};

use gauss_quad::GaussLegendre;
use statrs::{
    distribution::{ChiSquared, Continuous, ContinuousCDF, FisherSnedecor, Normal, StudentsT},
    function::erf::{erfc, erfc_inv},
};
use thiserror::Error;

/// A law that does not exist for the parameters given.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum DistributionError {
    #[error("degrees of freedom must be 1 or more, not {0}")]
    DegreesOfFreedom(f64),
    #[error("a probability must lie between 0 and 1, not at {0}")]
    Probability(f64),
    #[error("an F ratio with {0} and {1} degrees of freedom is beyond what this program computes")]
    TooLarge(f64, f64),
}

/// Beyond this many degrees of freedom Student's t is expanded about the normal law; error below 10⁻⁹.
const STUDENT_EXPANSION: f64 = 1e3;

/// Beyond this many degrees of freedom on both sides an F ratio is refused.
const MOST_FISHER: f64 = 1e4;

static RULE: LazyLock<GaussLegendre> = LazyLock::new(|| GaussLegendre::new(NonZeroUsize::MIN.saturating_add(19)));

/// The integral of `f` over [a, b] by the 20-point Gauss–Legendre rule on `panels` equal panels.
pub(crate) fn integrate(a: f64, b: f64, panels: u32, f: impl Fn(f64) -> f64) -> f64 {
    let width = (b - a) / f64::from(panels);
    let panel = |i: u32| RULE.integrate(a + width * f64::from(i), a + width * f64::from(i + 1), &f);
    (0..panels).map(panel).sum()
}

/// The same, where each panel is halved until its halves together agree with it within a tolerance: for what has a step in it.
fn integrate_stepped(a: f64, b: f64, panels: u32, tolerance: f64, f: impl Fn(f64) -> f64) -> f64 {
    let width = (b - a) / f64::from(panels);
    let mut open: Vec<(f64, f64, f64, u32)> = (0..panels)
        .map(|i| (a + width * f64::from(i), a + width * f64::from(i + 1)))
        .map(|(low, high)| (low, high, RULE.integrate(low, high, &f), 0))
        .collect();
    let mut sum = 0.0;
    while let Some((low, high, whole, depth)) = open.pop() {
        let middle = f64::midpoint(low, high);
        let halves = (RULE.integrate(low, middle, &f), RULE.integrate(middle, high, &f));
        if (halves.0 + halves.1 - whole).abs() <= tolerance || depth >= 24 {
            sum += halves.0 + halves.1;
        } else {
            open.push((low, middle, halves.0, depth + 1));
            open.push((middle, high, halves.1, depth + 1));
        }
    }
    sum
}

/// The smallest x of [low, high] with `reached(x)`, for a statement that once true stays true; by bisection to the
/// last bit.
pub(crate) fn threshold(low: f64, high: f64, reached: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (low, high);
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return high;
        }
        if reached(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
}

/// Density of the standard normal law.
pub(crate) fn normal_density(x: f64) -> f64 {
    (-x * x / 2.0).exp() / std::f64::consts::TAU.sqrt()
}

/// P(X ≤ x) of the standard normal law.
pub(crate) fn normal_cdf(x: f64) -> f64 {
    erfc(-x / std::f64::consts::SQRT_2) / 2.0
}

/// x with P(X ≤ x) = p for the standard normal law.
pub(crate) fn normal_quantile(p: f64) -> Result<f64, DistributionError> {
    let p = probability(p)?;
    // The tail probability is kept small so that no digits are lost near 1.
    Ok(if p < 0.5 { -std::f64::consts::SQRT_2 * erfc_inv(2.0 * p) } else { Normal::standard().inverse_cdf(p) })
}

/// t with P(T ≤ t) = p for Student's law.
pub(crate) fn student_quantile(p: f64, dof: f64) -> Result<f64, DistributionError> {
    let p = probability(p)?;
    if dof > STUDENT_EXPANSION {
        return Ok(student_expansion(normal_quantile(p)?, dof));
    }
    let law = StudentsT::new(0.0, 1.0, freedom(dof)?).map_err(|_| DistributionError::DegreesOfFreedom(dof))?;
    Ok(law.inverse_cdf(p))
}

/// Student's quantile from the normal one in powers of 1/ν (Abramowitz and Stegun 26.7.5).
fn student_expansion(z: f64, dof: f64) -> f64 {
    let square = z * z;
    let first = z * (square + 1.0) / 4.0;
    let second = z * ((5.0 * square + 16.0) * square + 3.0) / 96.0;
    let third = z * (((3.0 * square + 19.0) * square + 17.0) * square - 15.0) / 384.0;
    let fourth = z * ((((79.0 * square + 776.0) * square + 1482.0) * square - 1920.0) * square - 945.0) / 92160.0;
    z + (first + (second + (third + fourth / dof) / dof) / dof) / dof
}

/// P(|T| ≥ |t|) for Student's law.
pub(crate) fn student_two_sided(t: f64, dof: f64) -> Result<f64, DistributionError> {
    if dof > STUDENT_EXPANSION {
        return mean_over_estimated_sd(dof, |s| 2.0 * normal_cdf(-t.abs() * s));
    }
    let law = StudentsT::new(0.0, 1.0, freedom(dof)?).map_err(|_| DistributionError::DegreesOfFreedom(dof))?;
    Ok((2.0 * law.sf(t.abs())).clamp(0.0, 1.0))
}

/// x with P(X ≤ x) = p for the chi-squared law.
pub(crate) fn chi_squared_quantile(p: f64, dof: f64) -> Result<f64, DistributionError> {
    let (law, p) = (chi_squared(dof)?, probability(p)?);
    Ok(chi_squared_near(&law, p, dof).unwrap_or_else(|| law.inverse_cdf(p)))
}

/// The same by Newton's steps from Wilson and Hilferty's cube (*PNAS* 17 (1931) 684); `None` where they do not settle.
fn chi_squared_near(law: &ChiSquared, p: f64, dof: f64) -> Option<f64> {
    let part = 2.0 / (9.0 * dof);
    let mut x = dof * (1.0 - part + normal_quantile(p).ok()? * part.sqrt()).powi(3);
    for _ in 0..12 {
        // The density itself overflows on its way where ν is some hundreds.
        let density = law.ln_pdf(x).exp();
        // The smaller of the two tails keeps its digits.
        let off = if p < 0.5 { law.cdf(x) - p } else { 1.0 - p - law.sf(x) };
        let step = off / density;
        let next = x - step;
        if !(next.is_finite() && next > 0.0) {
            return None;
        }
        x = next;
        if step.abs() <= 1e-14 * x {
            return Some(x);
        }
    }
    None
}

/// P(X ≥ x) for the chi-squared law.
pub(crate) fn chi_squared_survival(x: f64, dof: f64) -> Result<f64, DistributionError> {
    Ok(chi_squared(dof)?.sf(x.max(0.0)))
}

/// P(F ≥ f) for the F law.
pub(crate) fn fisher_survival(f: f64, above: f64, below: f64) -> Result<f64, DistributionError> {
    if freedom(above)?.min(freedom(below)?) > MOST_FISHER {
        return Err(DistributionError::TooLarge(above, below));
    }
    let law = FisherSnedecor::new(above, below).map_err(|_| DistributionError::TooLarge(above, below))?;
    Ok(law.sf(f.max(0.0)).clamp(0.0, 1.0))
}

/// x with P(X ≤ x) = p for the beta law with a, b ≥ 1, by integrating its density.
///
/// The density is divided by its value at the mode, so that no gamma function is needed, and integrated where it is
/// above e⁻⁶⁰ of that value. Relative error below 10⁻¹² up to a, b = 10⁹.
pub(crate) fn beta_quantile(p: f64, a: f64, b: f64) -> Result<f64, DistributionError> {
    const PANELS: u32 = 32;
    let p = probability(p)?;
    let (before, after) = (a.max(1.0) - 1.0, b.max(1.0) - 1.0);
    let density = |x: f64| beta_log_density(x, before, after).exp();
    let mode = beta_mode(before, after);
    let low = threshold(0.0, mode, |x| beta_log_density(x, before, after) > -60.0);
    let high = threshold(mode, 1.0, |x| beta_log_density(x, before, after) < -60.0);
    let width = (high - low) / f64::from(PANELS);
    let edge = |i: u32| low + width * f64::from(i);
    let pieces: Vec<f64> = (0..PANELS).map(|i| integrate(edge(i), edge(i + 1), 1, density)).collect();
    let wanted = p * pieces.iter().sum::<f64>();
    let mut passed = 0.0;
    for (i, piece) in (0..PANELS).zip(&pieces) {
        if passed + piece >= wanted {
            let reached = |x: f64| passed + integrate(edge(i), x, 1, density) >= wanted;
            return Ok(threshold(edge(i), edge(i + 1), reached));
        }
        passed += piece;
    }
    Ok(high)
}

fn beta_mode(before: f64, after: f64) -> f64 {
    if before + after == 0.0 { 0.5 } else { before / (before + after) }
}

/// ln of the beta density over its value at the mode.
fn beta_log_density(x: f64, before: f64, after: f64) -> f64 {
    let mode = beta_mode(before, after);
    let term = |power: f64, at_mode: f64, step: f64| match (power == 0.0, at_mode + step > 0.0) {
        (true, _) => 0.0,
        (false, true) => power * (step / at_mode).ln_1p(),
        (false, false) => f64::NEG_INFINITY,
    };
    term(before, mode, x - mode) + term(after, 1.0 - mode, mode - x)
}

/// The mean of f(S) over S = √(χ²_ν/ν), the law of an estimated standard deviation over its true value.
///
/// Integrated over ln S, where the density exp(ν(t − (e²ᵗ − 1)/2)) has its mode at 0 and one shape for every ν, from and to
/// where it is e⁻⁴⁰ of that. With few degrees of freedom a limit is so wide that f is nearly a step; the panels follow it.
pub(crate) fn mean_over_estimated_sd(dof: f64, f: impl Fn(f64) -> f64) -> Result<f64, DistributionError> {
    let dof = freedom(dof)?;
    let log_density = |t: f64| dof * (t - (2.0 * t).exp_m1() / 2.0);
    let low = threshold(-40.0 / dof - 1.0, 0.0, |t| log_density(t) > -40.0);
    let high = threshold(0.0, 40.0, |t| log_density(t) < -40.0);
    let panels = 3 + ((high - low) / 2.0) as u32;
    let weight = |t: f64| log_density(t).exp();
    let total = integrate(low, high, panels, weight);
    Ok(integrate_stepped(low, high, panels, 1e-12 * total, |t| weight(t) * f(t.exp())) / total)
}

fn chi_squared(dof: f64) -> Result<ChiSquared, DistributionError> {
    ChiSquared::new(freedom(dof)?).map_err(|_| DistributionError::DegreesOfFreedom(dof))
}

fn freedom(dof: f64) -> Result<f64, DistributionError> {
    if (1.0..1e12).contains(&dof) { Ok(dof) } else { Err(DistributionError::DegreesOfFreedom(dof)) }
}

fn probability(p: f64) -> Result<f64, DistributionError> {
    if p > 0.0 && p < 1.0 { Ok(p) } else { Err(DistributionError::Probability(p)) }
}
