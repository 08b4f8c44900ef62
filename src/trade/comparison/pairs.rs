//! All pairs of groups, with the error of the family held.

use super::{
    ComparisonError, Difference, count_of_groups, positive,
    studentized::{range_probability, range_quantile},
};
use crate::trade::{
    anova::{Anova, Group},
    confidence::{Confidence, Interval},
    distribution::{student_quantile, student_two_sided},
};

/// Difference of two means above which one pair, chosen beforehand, differs: LSD = t·s·√(1/n₁ + 1/n₂).
///
/// In the unit of s. Domain: s > 0, n ≥ 1, ν > 0. With several pairs it finds differences that are not there. Source:
/// Fisher; common practice.
pub fn least_significant_difference(
    residual_sd: f64,
    degrees_of_freedom: f64,
    sizes: (usize, usize),
    confidence: Confidence,
) -> Result<f64, ComparisonError> {
    let sd = positive("a standard deviation", residual_sd)?;
    let (first, second) = (positive("a group's size", sizes.0 as f64)?, positive("a group's size", sizes.1 as f64)?);
    let t = student_quantile(1.0 - confidence.tail(), degrees_of_freedom)?;
    positive("a least significant difference", t * sd * (1.0 / first + 1.0 / second).sqrt())
}

/// All pairs by Tukey's studentized range, with Kramer's form for unequal sizes: difference ± q·s·√((1/n₁ + 1/n₂)/2).
///
/// Exact for equal sizes, on the safe side otherwise. Domain: 2 to 100 groups. Source: NIST/SEMATECH e-Handbook, section
/// 7.4.7.1; Kramer, *Biometrics* 12 (1956) 307.
pub fn tukey_kramer(anova: &Anova, confidence: Confidence) -> Result<Vec<Difference>, ComparisonError> {
    let groups = count_of_groups(anova.groups.len())?;
    let freedom = anova.within.degrees_of_freedom as f64;
    let critical = range_quantile(confidence, groups, freedom)? / std::f64::consts::SQRT_2;
    pairs(anova)
        .map(|pair| {
            let q = pair.ratio() * std::f64::consts::SQRT_2;
            let p_value = 1.0 - range_probability(q, groups, freedom)?;
            Ok(pair.decided(p_value, Some(critical), confidence))
        })
        .collect()
}

/// All pairs by t tests with Holm's step-down adjustment, which makes no use of the pairs' dependence.
///
/// No less powerful than Bonferroni, somewhat less than [`tukey_kramer`] for all pairs; gives no intervals. Source: Holm,
/// *Scandinavian Journal of Statistics* 6 (1979) 65.
pub fn holm(anova: &Anova, confidence: Confidence) -> Result<Vec<Difference>, ComparisonError> {
    count_of_groups(anova.groups.len())?;
    let freedom = anova.within.degrees_of_freedom as f64;
    let pairs: Vec<Pair> = pairs(anova).collect();
    let raw = pairs.iter().map(|pair| student_two_sided(pair.ratio(), freedom)).collect::<Result<Vec<f64>, _>>()?;
    let adjusted = holm_adjusted(&raw)?;
    Ok(pairs.iter().zip(adjusted).map(|(pair, p_value)| pair.decided(p_value, None, confidence)).collect())
}

/// Holm's adjustment of any p-values: in ascending order, the largest so far of (m − i)·pᵢ, at most 1; returned in the
/// given order. Domain: probabilities. Source as [`holm`].
pub fn holm_adjusted(p_values: &[f64]) -> Result<Vec<f64>, ComparisonError> {
    if let Some(position) = p_values.iter().position(|p| !(0.0..=1.0).contains(p)) {
        return Err(ComparisonError::Probability { position: position + 1 });
    }
    let mut order: Vec<(usize, f64)> = p_values.iter().copied().enumerate().collect();
    order.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut highest = 0.0_f64;
    for (still_open, (_, p)) in (1..=order.len()).rev().zip(&mut order) {
        highest = highest.max(still_open as f64 * *p).min(1.0);
        *p = highest;
    }
    order.sort_by_key(|(place, _)| *place);
    Ok(order.into_iter().map(|(_, p)| p).collect())
}

/// Two groups before the verdict.
pub(super) struct Pair {
    first: usize,
    second: usize,
    difference: f64,
    standard_error: f64,
}

impl Pair {
    pub(super) fn new(first: (usize, &Group), second: (usize, &Group), residual_sd: f64) -> Self {
        let inverse_sizes = 1.0 / first.1.size as f64 + 1.0 / second.1.size as f64;
        Self {
            first: first.0,
            second: second.0,
            difference: first.1.mean - second.1.mean,
            standard_error: residual_sd * inverse_sizes.sqrt(),
        }
    }

    /// |t|, the difference over its standard error.
    pub(super) fn ratio(&self) -> f64 {
        (self.difference / self.standard_error).abs()
    }

    pub(super) fn decided(&self, p_value: f64, critical: Option<f64>, confidence: Confidence) -> Difference {
        let p_value = p_value.clamp(0.0, 1.0);
        Difference {
            first: self.first,
            second: self.second,
            difference: self.difference,
            standard_error: self.standard_error,
            interval: critical.map(|k| Interval::about(self.difference, k * self.standard_error)),
            p_value,
            // By the critical value where there is one, so that verdict and interval never contradict each other.
            differs: critical.map_or(p_value < confidence.error(), |k| self.ratio() > k),
        }
    }
}

fn pairs(anova: &Anova) -> impl Iterator<Item = Pair> {
    let numbered = || anova.groups.iter().enumerate();
    numbered().flat_map(move |first| {
        numbered().skip(first.0 + 1).map(move |second| Pair::new(first, second, anova.residual_sd))
    })
}
