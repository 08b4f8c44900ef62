//! One-way analysis of variance: do groups differ by more than the scatter within them explains?
//!
//! SS between = Σ nᵢ(x̄ᵢ − x̄)², SS within = ΣΣ(xᵢⱼ − x̄ᵢ)², F = MS between / MS within with k − 1 and N − k degrees of
//! freedom. Domain: two groups or more, none empty, one with a repeat; some scatter within. Assumes independent readings
//! with one standard deviation for all groups. Source: NIST/SEMATECH e-Handbook, section 7.4.3; certified by the NIST
//! analysis-of-variance sets (sums in double-double arithmetic, so that constant leading digits do no harm).

use serde::{Deserialize, Serialize};
use thiserror::Error;
use twofloat::TwoFloat;

use super::{
    descriptive::{exact_mean, squares_about, summable},
    distribution::{DistributionError, fisher_survival},
};

/// Groups that cannot be compared.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum AnovaError {
    #[error("two groups are needed at least, and there is {0}")]
    TooFewGroups(usize),
    #[error("group {group} has no readings")]
    EmptyGroup { group: usize },
    #[error("no group has more than one reading, so nothing is known of the scatter")]
    NoRepeats,
    #[error("the readings within each group are all equal, so nothing is known of the scatter")]
    NoScatter,
    #[error("reading {position} of group {group} is no number to compute with")]
    NotFinite { group: usize, position: usize },
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// One line of the table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Variation {
    pub sum_of_squares: f64,
    pub degrees_of_freedom: usize,
    pub mean_square: f64,
}

/// The table of a one-way analysis of variance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Anova {
    pub between: Variation,
    pub within: Variation,
    /// Mean square between over mean square within.
    pub f: f64,
    /// P(F or more) if all groups were one population.
    pub p_value: f64,
    /// Share of the total sum of squares that lies between groups.
    pub r_squared: f64,
    /// Standard deviation within groups, pooled.
    pub residual_sd: f64,
    /// Means and sizes in the order of the groups.
    pub groups: Vec<Group>,
}

/// One group's mean and number of readings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Group {
    pub mean: f64,
    pub size: usize,
}

/// The analysis of the given groups.
pub fn one_way(groups: &[&[f64]]) -> Result<Anova, AnovaError> {
    check(groups)?;
    let all: Vec<f64> = groups.iter().flat_map(|group| group.iter().copied()).collect();
    let grand = exact_mean(&all);
    let means: Vec<TwoFloat> = groups.iter().map(|group| exact_mean(group)).collect();
    let pairs = || groups.iter().zip(&means);
    let total = |terms: &mut dyn Iterator<Item = TwoFloat>| terms.fold(TwoFloat::from(0.0), |sum, term| sum + term);
    let between = total(&mut pairs().map(|(group, mean)| (*mean - grand) * (*mean - grand) * group.len() as f64));
    let within = total(&mut pairs().map(|(group, mean)| squares_about(group, *mean)));
    if within <= 0.0 {
        return Err(AnovaError::NoScatter);
    }
    let between_line = variation(between, groups.len() - 1);
    let within_line = variation(within, all.len() - groups.len());
    let f = between_line.mean_square / within_line.mean_square;
    let freedom = |line: &Variation| line.degrees_of_freedom as f64;
    Ok(Anova {
        f,
        p_value: fisher_survival(f, freedom(&between_line), freedom(&within_line))?,
        r_squared: f64::from(between / (between + within)),
        residual_sd: within_line.mean_square.sqrt(),
        groups: pairs().map(|(group, mean)| Group { mean: f64::from(*mean), size: group.len() }).collect(),
        between: between_line,
        within: within_line,
    })
}

fn variation(squares: TwoFloat, degrees_of_freedom: usize) -> Variation {
    let mean_square = f64::from(squares / degrees_of_freedom as f64);
    Variation { sum_of_squares: f64::from(squares), degrees_of_freedom, mean_square }
}

fn check(groups: &[&[f64]]) -> Result<(), AnovaError> {
    if groups.len() < 2 {
        return Err(AnovaError::TooFewGroups(groups.len()));
    }
    for (index, readings) in groups.iter().enumerate() {
        let group = index + 1;
        if readings.is_empty() {
            return Err(AnovaError::EmptyGroup { group });
        }
        if let Some(position) = readings.iter().position(|x| !summable(*x)) {
            return Err(AnovaError::NotFinite { group, position: position + 1 });
        }
    }
    if groups.iter().all(|group| group.len() == 1) { Err(AnovaError::NoRepeats) } else { Ok(()) }
}
