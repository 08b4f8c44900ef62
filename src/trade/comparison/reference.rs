//! Every group against one reference group.

use super::{ComparisonError, Difference, count_of_groups, pairs::Pair, studentized::reaching};
use crate::trade::{
    anova::Anova,
    confidence::Confidence,
    distribution::{integrate, mean_over_estimated_sd, normal_cdf, normal_density},
};

/// All groups against the reference (its place counted from 0), two-sided, by Dunnett's test for any sizes.
///
/// More powerful than all pairs when only the reference matters. Domain: 2 to 100 groups. Source: Dunnett, *Journal of the
/// American Statistical Association* 50 (1955) 1096; integral form as in [`dunnett_probability`].
pub fn dunnett(anova: &Anova, reference: usize, confidence: Confidence) -> Result<Vec<Difference>, ComparisonError> {
    count_of_groups(anova.groups.len())?;
    let Some(of_reference) = anova.groups.get(reference) else {
        return Err(ComparisonError::NoSuchGroup(reference));
    };
    let others = || anova.groups.iter().enumerate().filter(|(place, _)| *place != reference);
    let sizes: Vec<usize> = others().map(|(_, group)| group.size).collect();
    let freedom = anova.within.degrees_of_freedom as f64;
    let probability = |d: f64| dunnett_probability(d, &sizes, of_reference.size, freedom);
    let critical = reaching(confidence, probability)?;
    others()
        .map(|other| {
            let pair = Pair::new(other, (reference, of_reference), anova.residual_sd);
            let p_value = 1.0 - probability(pair.ratio())?;
            Ok(pair.decided(p_value, Some(critical), confidence))
        })
        .collect()
}

/// P(every |tᵢ| ≤ d) for groups of the given sizes against a reference of size n₀ and ν degrees of freedom.
///
/// tᵢS = √(1 − λᵢ²)Zᵢ − λᵢZ₀ with λᵢ = √(nᵢ/(nᵢ + n₀)): given the reference's Z₀ the groups are independent, so the
/// probability is the mean over Z₀ and S of Π(Φ((λᵢZ₀ + dS)/√(1 − λᵢ²)) − Φ((λᵢZ₀ − dS)/√(1 − λᵢ²))). Domain: d ≥ 0,
/// 1 to 99 groups of one specimen or more, ν > 0.
pub fn dunnett_probability(
    d: f64,
    sizes: &[usize],
    reference_size: usize,
    degrees_of_freedom: f64,
) -> Result<f64, ComparisonError> {
    count_of_groups(sizes.len() + 1)?;
    if reference_size == 0 || sizes.contains(&0) {
        return Err(ComparisonError::NotPositive { what: "a group's size", found: 0.0 });
    }
    if d.is_nan() || d < 0.0 {
        return Err(ComparisonError::NotPositive { what: "a critical value", found: d });
    }
    // (λ, √(1 − λ²)) of each group.
    let share = |part: usize, size: usize| (part as f64 / (size + reference_size) as f64).sqrt();
    let loads: Vec<(f64, f64)> = sizes.iter().map(|n| (share(*n, *n), share(reference_size, *n))).collect();
    let all_within = |z: f64, width: f64| -> f64 {
        let one = |(shared, own): &(f64, f64)| {
            normal_cdf((shared * z + width) / own) - normal_cdf((shared * z - width) / own)
        };
        loads.iter().map(one).product()
    };
    // The steeper the limits in z, the finer the panels.
    let steepest = loads.iter().map(|(shared, own)| shared / own).fold(1.0, f64::max);
    let panels = (4.0 * steepest).min(200.0) as u32;
    let over_reference = |width: f64| integrate(-8.5, 8.5, panels, |z| normal_density(z) * all_within(z, width));
    Ok(mean_over_estimated_sd(degrees_of_freedom, |s| over_reference(d.min(1e6) * s))?.clamp(0.0, 1.0))
}
